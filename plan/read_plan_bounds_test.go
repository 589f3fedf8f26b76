package plan_test

import (
	"fmt"
	"io/fs"
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"slotcard/plan"
	"slotcard/plan/tomlfile"
)

// A plan that a runaway program wrote is cut where no incident has as much, and
// says so once for each kind of entry, so that its check ends in good time.
func TestPlanIsBounded(t *testing.T) {
	load, err := os.ReadFile("../testdata/sound/load.toml")
	require.NoError(t, err)
	sound, err := os.ReadFile("../testdata/sound/plan.toml")
	require.NoError(t, err)
	var b strings.Builder
	b.Write(sound)
	for i := range 4000 {
		fmt.Fprintf(&b, "\n[[division]]\nid = \"X%d\"\n[[unit]]\nname = \"U %d\"\nseats = {}\n", i, i)
	}
	files := map[string][]byte{"plan.toml": []byte(b.String()), "load.toml": load}
	p, _, found, err := plan.Read("plan.toml", plan.Options{ReadFile: func(name string) ([]byte, error) {
		if data, ok := files[name]; ok {
			return data, nil
		}
		return nil, fs.ErrNotExist
	}})
	require.NoError(t, err)
	var said []string
	for _, f := range found {
		if f.Rule == tomlfile.RuleOutOfRange {
			said = append(said, f.Message)
		}
	}
	require.Len(t, said, 2)
	assert.Contains(t, said[0], "more than 300 [[division]] entries")
	assert.Contains(t, said[1], "more than 3000 [[unit]] entries")
	assert.Len(t, p.Divisions, 300)
	assert.Len(t, p.Units, 3000)
}

// A load, too, is cut where no radio holds as much, channels of all groups together.
func TestLoadIsBounded(t *testing.T) {
	sound, err := os.ReadFile("../testdata/sound/load.toml")
	require.NoError(t, err)
	var b strings.Builder
	b.Write(sound)
	for g := range 3 {
		fmt.Fprintf(&b, "\n[[group]]\nnumber = %d\nname = \"G %d\"\n", 100+g, g)
		for c := range 2000 {
			fmt.Fprintf(&b, "[[group.channel]]\nnumber = %d\nname = \"G%d C%d\"\nuse = \"tactical\"\nrx = 154.28\n", c+1, g, c)
		}
	}
	for i := range 1001 {
		fmt.Fprintf(&b, "[[tone]]\nnumber = %d\nhz = 100.0\n[[site]]\nname = \"S %d\"\ntone = 100.0\nchannels = []\n", 1000+i, i)
	}
	load, found, err := plan.ReadLoad("load.toml", plan.Options{ReadFile: func(string) ([]byte, error) { return []byte(b.String()), nil }})
	require.NoError(t, err)
	var said []string
	for _, f := range found {
		if f.Rule == tomlfile.RuleOutOfRange {
			said = append(said, f.Message)
		}
	}
	require.Len(t, said, 3)
	assert.Equal(t, "more than 5000 channels; those from here on are not read", said[0])
	assert.Contains(t, said[1], "more than 1000 [[tone]] entries")
	assert.Contains(t, said[2], "more than 1000 [[site]] entries")
	assert.Len(t, load.Channels(), 5000)
	assert.Len(t, load.Tones, 1000)
	assert.Len(t, load.Sites, 1000)
}
