package cards

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"slotcard/layout"
	"slotcard/layout/words"
	"slotcard/plan"
	"slotcard/plan/plantest"
)

// What a card takes from another one is what it has when it is set by itself: the same
// items at the same places, also where the number of the card turns into a longer one.
func TestCardsTakeWhatTheyWouldHave(t *testing.T) {
	taken, wrapped := 0, 0
	for seed := range uint64(30) {
		r := plantest.Make(t, plantest.Shape{Seed: seed, Slots: 6, NameLength: 8, Divisions: 1 + int(seed)%3, WordLength: 5 + int(seed), Words: 1 + int(seed)%2,
			Units: 12, Seats: 2, PerSeat: 2, Also: int(seed) % 4, Exercise: seed%2 == 0, DistinctList: seed == 3, Own: seed == 5})
		r.Plan.Incident.Revision = int(seed) % 3
		for i, c := range r.Cards {
			c.Number = 1 + i*i*i // up to five figures
		}
		changes := map[*plan.Card]Change{}
		if seed == 4 {
			changes[r.Cards[7]] = Change{}
		}
		for j, tag := range words.Languages() {
			l, _ := words.Speak(tag)
			o := Options{Words: &l.Card, Changes: changes}
			for n, size := range layout.CardSizes() {
				if (int(seed)+j+n)%11 > 0 {
					continue // each language and size with several plans, not all with all
				}
				by, unfit := dealLists(r, size, &o, false, nil)
				if len(unfit) > 0 {
					continue
				}
				f := newFrames(r, by, &o, size)
				for _, c := range r.Cards {
					items, at := f.of(c)
					alone := f.draw(c, f.feet[c.List])
					require.Equal(t, alone.items, items, "plan %d in %s on %s: card %d", seed, tag, size.Name, c.Number)
					require.Equal(t, alone.at, at)
				}
				taken += len(r.Cards) - len(f.made)
				for k := range f.made {
					if k.wraps {
						wrapped++
					}
				}
			}
		}
	}
	assert.Greater(t, taken, 100, "most cards take from others")
	assert.Positive(t, wrapped, fmt.Sprint("a number that stands on a line of its own, of ", taken))
}
