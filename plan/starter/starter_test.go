package starter_test

import (
	"os"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"slotcard/plan"
	"slotcard/plan/finding"
	"slotcard/plan/rules"
	"slotcard/plan/starter"
)

const templates = "../../cmd/slotcard/starter/"

// start writes the files of a load.
func start(t *testing.T, load []byte) (planText, station string, found finding.List) {
	t.Helper()
	files := map[string][]byte{"load.toml": load}
	o := plan.Options{ReadFile: func(name string) ([]byte, error) { return files[name], nil }}
	l, faults, err := rules.OpenLoad("load.toml", o)
	require.NoError(t, err)
	require.False(t, faults.HasErrors(), "%v", faults)
	var from starter.Templates
	from.Plan, err = os.ReadFile(templates + "plan.toml")
	require.NoError(t, err)
	from.Station, err = os.ReadFile(templates + "station.toml")
	require.NoError(t, err)
	files["plan.toml"], files["station.toml"], err = starter.Write(from, l, load, "load.toml")
	require.NoError(t, err)
	_, found, err = rules.Open("plan.toml", o)
	require.NoError(t, err)
	return string(files["plan.toml"]), string(files["station.toml"]), found
}

// The plan of a real load is sound as it stands, and every name in it, in
// comments too, is one of the load's.
func TestStart(t *testing.T) {
	load, err := os.ReadFile("../../examples/thimble-gulch/load.toml")
	require.NoError(t, err)
	p, s, found := start(t, load)
	assert.Empty(t, found)
	assert.Contains(t, p, "[[slot]]\nchannel = \"QB CMD 1\"\nsite    = \"Bellwether\"")
	assert.Contains(t, p, "# also at Thornback, Lantern\n")
	assert.Contains(t, p, `{QB MED} prints "QB MED, slot 5"`)
	assert.Contains(t, p, "QB CMD 2 (Hobnail, Lantern)")
	assert.Contains(t, s, `channel = "QB TRAV 27"`)
	assert.Contains(t, s, `# subject = "QB TRAV 27"`)
	for _, text := range []string{p, s} {
		for _, name := range regexp.MustCompile(`\b[A-Z]{2} (?:CMD|TAC|AG|MED|TRAV|DISP|FG)(?: \w+)?\b`).FindAllString(text, -1) {
			assert.Contains(t, string(load), `"`+strings.TrimSuffix(name, " and")+`"`)
		}
		assert.NotContains(t, text, `"EX `)
	}
}

// A load that lacks much still makes a plan that can be read; what is missing is
// what the checks say.
func TestStartOfLittle(t *testing.T) {
	const load = `
[load]
name = "Little"
edition = "2031"
color = "blue"
effective = 2031-01-01
expires = 2031-12-31
[radio]
list_positions = 16
name_length = 10
bands = [[136.0, 174.0]]
modes = ["analog"]
[[group]]
number = 1
name = "All"
channel = [
  {number = 1, name = "L CMD", use = "command", rx = 151.0400, tx = 159.3600, tx_tone = 103.5},
  {number = 2, name = "L TAC 2", use = "tactical", rx = 153.7400},
  {number = 3, name = "L CMD", use = "tactical", rx = 153.8900},
  {number = 4, name = "L TAC 3", use = "tactical", rx = 153.9500},
]
`
	p, s, found := start(t, []byte(load))
	for _, f := range found {
		if f.Severity == finding.Error {
			assert.Equal(t, "no-guard", f.Rule, "%s", f)
		}
	}
	assert.Contains(t, p, "[[slot]]\ngroup  = 1\nnumber = 1\n", "the name alone stands for two channels")
	assert.Contains(t, p, "from        = 2031-01-01T06:00:00-06:00")
	assert.Contains(t, p, "aircraft    = false")
	assert.NotContains(t, s, "[[also]]\n")
}
