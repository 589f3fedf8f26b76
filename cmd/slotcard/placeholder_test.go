package main

import (
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"slotcard/plan"
	"slotcard/plan/finding"
	"slotcard/plan/rules"
)

// What "slotcard new" marks with "# replace" is what the rule on texts of the
// example looks for: nothing as long as it is an untouched exercise, all of it
// once the plan is meant.
func TestTextsToReplaceAreFound(t *testing.T) {
	placeholders := func(text string) finding.List {
		in := map[string]string{"plan.toml": text, "station.toml": string(starterStation), "load.toml": string(starterLoad)}
		_, found, err := rules.Open("plan.toml", plan.Options{ReadFile: func(name string) ([]byte, error) {
			if text, ok := in[name]; ok {
				return []byte(text), nil
			}
			return nil, os.ErrNotExist
		}})
		require.NoError(t, err)
		var out finding.List
		for _, f := range found {
			if f.Rule == "placeholder" {
				out = append(out, f)
			}
		}
		return out
	}
	text := string(starterPlan)
	assert.Empty(t, placeholders(text))

	name := "Example Creek"
	require.Contains(t, text, name)
	meant := strings.Replace(text, name, "Thimble Gulch", 1)
	found := placeholders(meant)
	require.Len(t, found, 1)
	lines := map[int]bool{found[0].Place.Line: true}
	for _, r := range found[0].Related {
		if r.Place.File == "plan.toml" {
			lines[r.Place.Line] = true
		}
	}
	marked := 0
	for i, line := range strings.Split(meant, "\n") {
		if strings.HasSuffix(line, "# replace") && !strings.Contains(line, "Thimble Gulch") {
			marked++
			assert.True(t, lines[i+1], "line %d: %s", i+1, line)
		}
	}
	assert.GreaterOrEqual(t, marked, 1)
}
