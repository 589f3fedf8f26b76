package cards

import (
	"testing"

	"github.com/stretchr/testify/require"

	"slotcard/fonts"
	"slotcard/layout"
	"slotcard/layout/set"
	"slotcard/layout/words"
	"slotcard/plan"
	"slotcard/plan/plantest"
)

// The feet that are worked out stand for all: none of the others takes more lines, at any
// width, though figures are not all as wide and cards say what changes.
func TestWidestFeet(t *testing.T) {
	r := plantest.Make(t, plantest.Shape{Slots: 8, NameLength: 8, Divisions: 3, WordLength: 6, Words: 1, Units: 12, Seats: 2, Also: 2})
	changed := map[*plan.Card]Change{}
	for i, c := range r.Cards {
		c.Number = 100 - i // kept from a print before
		if i%5 > 0 {
			changed[c] = Change{Period: 1, Slots: []int{1, 4}[:i%3], Listen: i%2 == 0, NewCode: i%4 == 0}
		}
	}
	for _, changes := range []map[*plan.Card]Change{nil, changed} {
		l := r.Cards[0].List
		feet := widestFeet(r.Cards, changes)
		require.Less(t, len(feet), len(r.Cards)/2)
		small := set.CapStyle(fonts.Regular, layout.CapLeast)
		for _, way := range footWays {
			text := footTextOf(&words.English, r, l, small, way)
			lines := func(c *plan.Card, width float64) int {
				f, why := footFormOf(text.of(c, changes), l.Code.Pairs(), text.issue, layout.CapLeast, width)
				if why != nil {
					return 99 // this way does not fit
				}
				return f.lines
			}
			for width := 60.0; width < 150; width += 0.37 {
				most := 0
				for _, c := range feet {
					most = max(most, lines(c, width))
				}
				for _, c := range r.Cards {
					require.LessOrEqual(t, lines(c, width), most, "card %d at %g mm", c.Number, width)
				}
			}
		}
	}
}
