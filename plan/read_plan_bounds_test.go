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
