package rules_test

import (
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"slotcard/plan"
	"slotcard/plan/finding"
	"slotcard/plan/rules"
)

var update = flag.Bool("update", false, "write the golden files anew")

const broken = "../../testdata/broken"

// inBroken reads files below testdata/broken, so that findings name them the
// same on every machine.
var inBroken = plan.Options{ReadFile: func(name string) ([]byte, error) {
	return os.ReadFile(filepath.Join(broken, name))
}}

// withoutFile are the rules that have no plan in testdata/broken, and why.
var withoutFile = map[string]string{
	"too-large":     "the file would have a megabyte; tested in plan/tomlfile",
	"does-not-fit":  "known only when a card is laid out; tested in layout",
	"sheet-differs": "raised where a load is proved against a sheet; tested in cmd/slotcard",
}

// checkBroken gives all findings of testdata/broken for a rule: of the plan
// with its name, or, where there is none, of the load.
func checkBroken(t *testing.T, id string) finding.List {
	t.Helper()
	_, found, err := rules.Open(id+".toml", inBroken)
	if errors.Is(err, fs.ErrNotExist) && found == nil {
		_, found, err = rules.OpenLoad(filepath.Join("loads", id+".toml"), inBroken)
	}
	if errors.Is(err, fs.ErrNotExist) && found == nil {
		t.Errorf("no plan in testdata/broken breaks %s", id)
		return nil
	}
	require.NoError(t, err)
	return found
}

func write(b *strings.Builder, f finding.Finding) {
	fmt.Fprintln(b, f)
	for _, d := range f.Details {
		fmt.Fprintln(b, "  detail:", d)
	}
	for _, r := range f.Related {
		fmt.Fprintf(b, "  %s: %s\n", r.Place, r.Message)
	}
	for _, h := range f.Help {
		fmt.Fprintln(b, "  help:", h)
	}
	writeEdits(b, f)
}

func TestEachRuleHasAPlanThatBreaksOnlyIt(t *testing.T) {
	var all strings.Builder
	for _, r := range rules.All() {
		if withoutFile[r.ID] != "" {
			continue
		}
		found := checkBroken(t, r.ID)
		var text strings.Builder
		for _, f := range found {
			write(&text, f)
		}
		if assert.Len(t, found, 1, "%s:\n%s", r.ID, &text) {
			f := found[0]
			assert.Equal(t, r.ID, f.Rule)
			assert.Equal(t, r.Severity, f.Severity, r.ID)
			assert.NotEmpty(t, f.Help, r.ID)
			assert.Positive(t, f.Place.Line, r.ID)
			f.Place.File = "plan.toml"
			assert.LessOrEqual(t, len([]rune(f.String())), 140, "a line is read as a whole: %s", f)
		}
		all.WriteString(text.String())
	}
	golden := filepath.Join(broken, "findings.txt")
	if *update {
		require.NoError(t, os.WriteFile(golden, []byte(all.String()), 0o644))
	}
	want, err := os.ReadFile(golden)
	require.NoError(t, err)
	wanted, got := strings.Split(string(want), "\n"), strings.Split(all.String(), "\n")
	for i := range min(len(wanted), len(got)) {
		require.Equal(t, wanted[i], got[i], "line %d of findings.txt; -update writes it anew", i+1)
	}
	assert.Len(t, got, len(wanted))
}

func TestEachBrokenFileHasARule(t *testing.T) {
	files, err := filepath.Glob(filepath.Join(broken, "*.toml"))
	require.NoError(t, err)
	loads, err := filepath.Glob(filepath.Join(broken, "loads", "*.toml"))
	require.NoError(t, err)
	assert.Greater(t, len(files), 40)
	for _, name := range slices.Concat(files, loads) {
		id := strings.TrimSuffix(filepath.Base(name), ".toml")
		_, known := rules.Get(id)
		assert.True(t, known, name)
	}
}

// The order of findings, and of what they hold, never depends on a map.
func TestSameFindingsEachTime(t *testing.T) {
	var first string
	for i := range 20 {
		var b strings.Builder
		for _, id := range []string{"encoding", "scan-limit", "priority-none", "ambiguous-channel", "position-differs", "neighbours-share-tactical"} {
			for _, f := range checkBroken(t, id) {
				write(&b, f)
				text, err := json.Marshal(f)
				require.NoError(t, err)
				b.Write(text)
			}
		}
		for _, f := range everythingWrong(t) {
			write(&b, f)
		}
		if i == 0 {
			first = b.String()
		}
		require.Equal(t, first, b.String())
	}
}

// everythingWrong is what is said about a plan with many faults at once.
func everythingWrong(t *testing.T) finding.List {
	t.Helper()
	_, found, err := rules.Open("plan.toml", files(map[string]string{
		"load.toml": soundLoad(t), "plan.toml": `load = "load.toml"
[incident]
name = "Thimble Gulch"
period = 2
from = 2029-08-14T06:00:00-06:00
to = 2029-08-16T06:00:00-06:00
prepared_by = "R. Okafor"
prepared_at = 2029-08-15T06:00:00-06:00
aircraft = true
[[slot]]
channel = "QB CMD 2"
use = "tactical"
division = ["A", "B", "C"]
[[slot]]
channel = "VFIRE21"
[[slot]]
channel = "VFIRE21"
[[slot]]
channel = "QB BASE"
[[division]]
id = "A"
[[division]]
id = "B"
[[position]]
name = "Engine boss"
priority = "medical"
scan = ["all", "nobody"]
[[unit]]
name = "Engine 611"
team = "Strike team 6100C"
seats = { "Engine boss" = 2, "Captain" = 1 }
`}))
	require.NoError(t, err)
	return found
}

func TestEverythingWrongIsSaidAtOnce(t *testing.T) {
	var got []string
	for _, f := range everythingWrong(t) {
		got = append(got, fmt.Sprintf("%d %s", f.Place.Line, f.Rule))
	}
	assert.Equal(t, []string{
		"6 load-expired", "6 period-long", "8 prepared-late",
		"10 no-site", "12 command-first", "12 tactical-repeated",
		"13 neighbours-share-tactical", "13 unknown-division", "17 channel-twice",
		"18 no-air-to-ground", "18 no-guard", "19 receive-only",
		"26 priority-none", "27 scan-limit", "27 unknown-selector",
		"29 team-without-division", "30 no-travel", "31 unknown-position",
	}, got)
}
