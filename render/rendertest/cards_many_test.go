package rendertest_test

import (
	"bytes"
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"slotcard/layout"
	"slotcard/layout/cards"
	"slotcard/layout/impose"
	"slotcard/layout/words"
	"slotcard/plan/plantest"
	"slotcard/render"
	"slotcard/render/rendertest"
)

// manyPlans are tried by another engine, which reads their cards from one file.
const manyPlans = 300

// Of 300 random plans, some extreme but all legal, in a random size, language and ground,
// another engine (Poppler) reads every value on the cards: of each list, of the one with the
// longest head, from both sides; and nothing of a text stands nearer to the edge of the
// card than a printer that cuts askew may come.
func TestManyPlansByAnotherEngine(t *testing.T) {
	poppler := rendertest.Poppler(t)
	type side struct {
		about string
		says  []string
		size  layout.Size
	}
	var sides []side
	var doc *layout.Document
	plans := 0
	for seed := uint64(0); plans < manyPlans; seed++ {
		require.Less(t, seed, uint64(2*manyPlans), "most plans fit the size that is tried")
		rng := rand.New(rand.NewPCG(seed, 300))
		n := func(lo, hi int) int { return lo + rng.IntN(hi-lo+1) }
		shape := plantest.Shape{Seed: seed, Slots: n(3, 20), NameLength: n(4, 14), Divisions: n(0, 9), Functional: n(0, 2) == 0,
			WordLength: n(2, 12), Words: n(1, 4), Units: n(1, 4), Seats: n(1, 2), PerSeat: 1, Also: n(0, 3),
			Exercise: n(0, 1) == 0, Overnight: n(0, 1) == 0, Digital: n(0, 2) == 0, Mixed: n(0, 3) == 0}
		r := plantest.Make(t, shape)
		language := words.Languages()[n(0, len(words.Languages())-1)]
		l, _ := words.Speak(language)
		o := cards.Options{Words: &l.Card, Plain: n(0, 1) == 0}
		var deck *cards.Deck
		sizes := layout.CardSizes()
		for _, o.Size = range sizes[n(0, len(sizes)-1):] {
			if deck, _ = cards.Deal(r, o); deck != nil {
				break
			}
		}
		if deck == nil {
			continue // no size from there on holds it
		}
		plans++
		widest := map[any]cards.Faces{}
		for _, f := range deck.Faces {
			if was, ok := widest[f.Card.List]; !ok || len(f.Card.Unit.Name+f.Card.Position.Name) > len(was.Card.Unit.Name+was.Card.Position.Name) {
				widest[f.Card.List] = f
			}
		}
		deck.Faces = slices.DeleteFunc(deck.Faces, func(f cards.Faces) bool { return widest[f.Card.List].Card != f.Card })
		about := fmt.Sprintf("plan %d in %s on %s, plain %t", seed, language, deck.Size.Name, o.Plain)
		for _, f := range deck.Faces {
			c, in := f.Card, &r.Plan.Incident
			front := []string{in.Name, c.Unit.Name, c.Position.Name, in.From.Format("15:04"), in.To.Format("15:04"),
				r.Load.About.Edition, r.Load.About.Colour, c.List.Code.Pairs(), fmt.Sprint(c.Number)}
			back := []string{l.Card.Spelled(c.List.Code)}
			if in.Exercise {
				front, back = append(front, l.Card.Exercise), append(back, l.Card.Exercise)
			}
			for _, a := range r.Also {
				front = append(front, a.When, a.Channel.Name)
			}
			for i, s := range c.List.Slots {
				place := c.List.Place(i).Place()
				front = append(front, fmt.Sprint(i+1), s.Channel.Name, place)
				back = append(back, fmt.Sprint(i+1), s.Channel.Name, place, s.Channel.Rx.String(), s.Channel.Tx.String(), s.Channel.RxTone.String()+"/"+s.TxTone.String())
				for _, u := range s.Users {
					front = append(front, u.ID)
				}
			}
			sides = append(sides, side{about + ", front", front, deck.Size}, side{about + ", back", back, deck.Size})
		}
		pages, err := impose.Cards(deck, impose.Options{Sides: impose.EachPage})
		require.NoError(t, err)
		if doc == nil {
			doc = pages
		} else {
			doc.Pages = append(doc.Pages, pages.Pages...)
		}
	}
	var pdf bytes.Buffer
	require.NoError(t, render.PDF(&pdf, doc, time.Date(2027, 8, 13, 20, 30, 0, 0, time.UTC)))
	pages := poppler.Words(t, pdf.Bytes())
	require.Len(t, pages, len(sides))
	t.Logf("%d plans, %d sides of cards, %d kB", plans, len(sides), pdf.Len()/1000)
	for i, want := range sides {
		var text []string
		for _, w := range pages[i] {
			text = append(text, w.S)
			// Poppler's boxes are as high as the face, not as its ink.
			require.True(t, w.X0 >= layout.Safe-0.1 && w.X1 <= want.size.Width-layout.Safe+0.1 &&
				w.Y0+(w.Y1-w.Y0)/4 >= 1 && w.Y1-(w.Y1-w.Y0)/4 <= want.size.Height-1, "%s: %v", want.about, w)
		}
		slices.Sort(want.says)
		said := strings.Join(text, " ")
		for _, s := range slices.Compact(want.says) {
			for word := range strings.FieldsSeq(s) {
				require.Contains(t, said, word, "%s: %q", want.about, s)
			}
		}
	}
}
