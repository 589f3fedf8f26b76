package rules_test

import (
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/require"

	"slotcard/plan"
	"slotcard/plan/rules"
)

// FuzzOpen: whatever stands in a plan and its load, they are read, resolved and
// checked without a crash, and what has no error has lists that can be carried.
func FuzzOpen(f *testing.F) {
	p, l := soundPlan(f), soundLoad(f)
	f.Add(p, l)
	f.Add(p+"[[accept]]\nrule = \"no-guard\"\nsubject = \"x\"\nbecause = \"y\"\nby = \"z\"\n", l)
	f.Add("load = \"load.toml\"\n", "[load]\n")
	f.Fuzz(func(t *testing.T, p, l string) {
		r, found, err := rules.Open("plan.toml", files(map[string]string{"plan.toml": p, "load.toml": l}))
		for _, f := range found {
			require.NotEmpty(t, f.Rule)
			require.True(t, utf8.ValidString(f.String()), "%q", f.String())
			require.NotContains(t, f.Message, "\n")
		}
		again, same, _ := rules.Open("plan.toml", files(map[string]string{"plan.toml": p, "load.toml": l}))
		require.Equal(t, found, same)
		require.Equal(t, r == nil, again == nil)
		if err != nil || found.HasErrors() || r == nil {
			return
		}
		require.NotEmpty(t, r.Lists)
		for _, l := range r.Lists {
			require.NotEmpty(t, l.Text)
			require.LessOrEqual(t, len(l.Slots), r.Load.Radio.ListPositions)
		}
		require.LessOrEqual(t, len(r.Cards), plan.MaxCards)
		rules.CheckLoad(r.Load)
	})
}
