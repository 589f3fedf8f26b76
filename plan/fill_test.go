package plan_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"slotcard/plan"
)

func TestFill(t *testing.T) {
	r := sound(t, slots(
		"channel = \"QB CMD 1\"\nsite = \"Hobnail\"",
		"channel = \"QB TAC 1\"\ndivision = \"A\"\ncarried_by = [\"A\"]",
		"channel = \"QB TAC 2\"\ndivision = \"Z\"",
		"channel = \"QB AG 1\"\nuse = \"medical\"",
	)+divisions("A", "Z")+"[[also]]\nchannel = \"QB TRAV 27\"\nwhen = \"on the road\"\n")
	a, z := r.Plan.Divisions[0], r.Plan.Divisions[1]
	la, lz := r.ListOf(a), r.ListOf(z)
	for _, c := range []struct{ text, a, z, all string }{
		{"plain", "plain", "plain", "plain"},
		{"to {QB AG 1}.", "to QB AG 1, slot 4.", "to QB AG 1, slot 3.", "to QB AG 1, slot 4 (Division A) or QB AG 1, slot 3 (Division Z)."},
		{"{medical}", "QB AG 1, slot 4", "QB AG 1, slot 3", "QB AG 1, slot 4 (Division A) or QB AG 1, slot 3 (Division Z)"},
		{"{command}", "QB CMD 1, slot 1", "QB CMD 1, slot 1", "QB CMD 1, slot 1"},
		{"{own}", "QB TAC 1, slot 2", "QB TAC 2, slot 2", "your own tactical"},
		{"{A}", "QB TAC 1, slot 2", "QB TAC 1 (not in this list)", "QB TAC 1, slot 2"},
		{"{QB TAC 1}", "QB TAC 1, slot 2", "QB TAC 1 (not in this list)", "QB TAC 1, slot 2"},
		{"{QB TRAV 27}", "QB TRAV 27", "QB TRAV 27", "QB TRAV 27"},
		{"{{own} {{{own}}", "{own} {QB TAC 1, slot 2}", "{own} {QB TAC 2, slot 2}", "{own} {your own tactical}"},
	} {
		assert.Equal(t, c.a, r.Fill(c.text, la, a, nil), c.text)
		assert.Equal(t, c.z, r.Fill(c.text, lz, z, nil), c.text)
		assert.Equal(t, c.all, r.Fill(c.text, nil, nil, nil), c.text)
	}
	assert.Equal(t, "your own tactical", r.Fill("{own}", la, nil, nil), "for readers of several divisions")
	assert.Equal(t, "QB AG 1 and {", plan.Unbraced("{QB AG 1} and {{"))
	spanish := plan.EnglishFill
	spanish.Slot = "posición %n%"
	assert.Equal(t, "QB CMD 1, posición 1", r.Fill("{command}", la, a, &spanish))
}

func TestNamesInBraces(t *testing.T) {
	for text, want := range map[string]string{
		"Move to {QB TAC 1}, {own}, {command}, {Z}.": "",
		"A {{brace} is one":                          "",
		"Move to {QB TAC 11}.":                       "instructions has {QB TAC 11}, which names no slot, division or use; the closest is QB TAC 1 / did you mean {QB TAC 1}? / write {{ where a brace is meant",
		"Move to {VFIRE22}.":                         "instructions has {VFIRE22}, which is in the load, but in no slot of this plan / write {{ where a brace is meant",
		"Move to {medical}.":                         "instructions has {medical}, but no slot of the plan is for medical / add the slot, or take the name out of the text",
		"Move to {QB TAC 1":                          "instructions has a brace that is not closed in its line / write {{ for a brace, or } behind the name of a channel",
		"Move to {}.":                                "instructions has {}, which names no slot, division or use / write {{ where a brace is meant",
		"All go to {neighbors}.":                     "instructions has {neighbors}, which names no slot, division or use / write {{ where a brace is meant",
	} {
		_, found := resolve(t, strings.Replace(slots("channel = \"QB CMD 1\"\nsite = \"Hobnail\"", "channel = \"QB TAC 1\"\ndivision = \"Z\""), "[[slot]]", "instructions = '"+text+"'\n[[slot]]", 1)+divisions("Z"))
		var said []string
		for _, f := range found {
			said = append(said, f.Message+" / "+strings.Join(f.Help, " / "))
			assert.Equal(t, plan.RuleBrace, f.Rule)
		}
		assert.Equal(t, want, strings.Join(said, "\n"), text)
	}
}

// No text brings a crash; one without faults leaves no name in braces, and one
// without braces stays as it is.
func TestFillAnything(t *testing.T) {
	r := sound(t, slots("channel = \"QB CMD 1\"\nsite = \"Hobnail\"", "channel = \"QB TAC 1\"\ndivision = \"A\"")+divisions("A"))
	names := r.FillNames()
	rapid.Check(t, func(t *rapid.T) {
		part := rapid.OneOf(rapid.StringMatching(`[ a-z{}\n]{0,5}`), rapid.SampledFrom(names), rapid.Just("{"), rapid.Just("}"))
		text := strings.Join(rapid.SliceOf(part).Draw(t, "parts"), "")
		for _, l := range append([]*plan.List{nil}, r.Lists...) {
			got := r.Fill(text, l, nil, nil)
			if !strings.Contains(text, "{") {
				require.Equal(t, text, got)
			}
		}
		require.Equal(t, strings.ReplaceAll(text, "{", "")+"", strings.ReplaceAll(r.Fill(strings.ReplaceAll(text, "{", ""), nil, nil, nil), "{", ""))
	})
}

func TestBareNumbers(t *testing.T) {
	var said []string
	for _, b := range plan.BareNumbers("Slot 9, slot 9, channel #3, CH 12; group 2 channel 4; slots 5; time slot 0900; 9 slots; slot9") {
		said = append(said, b.Words)
	}
	assert.Equal(t, []string{"Slot 9", "slot 9", "channel #3", "CH 12", "slot9"}, said)
}
