package compare

import (
	"testing"

	"pgregory.net/rapid"

	"slotcard/plan/radio"
	"slotcard/plan/slotlist"
)

// Two lines cost nothing where no field differs, and something where one does.
func TestPairCostAgreesWithFields(t *testing.T) {
	line := rapid.Custom(func(t *rapid.T) slotlist.Line {
		pick := func(name string) int { return rapid.IntRange(0, 1).Draw(t, name) }
		return slotlist.Line{
			Name: []string{"A", "B"}[pick("name")], Use: radio.Use(1 + pick("use")), Rx: radio.Hertz(pick("rx")), Tx: radio.Hertz(pick("tx")),
			Mode: radio.Mode(pick("mode")), Width: radio.Width(pick("width")), System: []string{"", "S"}[pick("system")],
			TxTone: radio.Tone(1000 + pick("tone")), Divisions: [][]string{nil, {"A"}}[pick("division")],
		}
	})
	rapid.Check(t, func(t *rapid.T) {
		a, b := line.Draw(t, "a"), line.Draw(t, "b")
		differ, cost := fields(a, b), pairCost(a, b)
		if (len(differ) == 0) != (cost == 0) || cost != pairCost(b, a) {
			t.Fatalf("%v cost %d", differ, cost)
		}
	})
}
