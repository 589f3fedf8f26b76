package render_test

import (
	"bytes"
	"fmt"
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"slotcard/fonts"
	"slotcard/layout"
	"slotcard/layout/cards"
	"slotcard/layout/impose"
	"slotcard/layout/words"
	"slotcard/plan"
	"slotcard/plan/plantest"
	"slotcard/render"
	"slotcard/render/rendertest"
)

const (
	leastGap  = 0.6  // mm between texts that are not lines of one paragraph
	leastAir  = 0.25 // mm between a text and the frame or the edge of the ground around it
	engineEps = 0.05 // mm: what the engine's boxes are off
)

// What another engine says of the ink of every glyph, in every language, with fills
// and without, in every size, for the examples and for random plans: texts keep their
// distance, stay within the black or the frame around them, and leave a symbol the
// four modules that ISO/IEC 18004 asks for: to texts, to rules, to the card's edge.
func TestCardsKeepTheirDistance(t *testing.T) {
	var plans []*plan.Resolved
	all, err := examples()
	require.NoError(t, err)
	for _, name := range []string{"first-hour", "thimble-gulch"} {
		plans = append(plans, all[name].resolved)
	}
	for seed := range uint64(4) {
		plans = append(plans, plantest.Make(t, plantest.Shape{Seed: 40 + seed, Slots: 5 + 3*int(seed), NameLength: 8 + int(seed), Divisions: 1 + 2*int(seed),
			Functional: seed%2 == 0, WordLength: 5 + int(seed), Words: 2, Units: 3, Seats: 2, PerSeat: 1, Also: int(seed), Exercise: seed%2 == 1, Overnight: seed > 1, Digital: seed > 1, Mixed: seed == 3}))
	}
	checked := 0
	for i, r := range plans {
		for j, tag := range words.Languages() {
			for k, plain := range []bool{false, true} {
				for n, size := range layout.CardSizes() {
					if i > 1 && (i+j+k+n)%4 != 0 || i < 2 && (i+j+n)%2 != k {
						continue // each language, size and ground with several plans, not all with all
					}
					l, _ := words.Speak(tag)
					deck, _ := cards.Deal(r, cards.Options{Size: size, Words: &l.Card, Plain: plain})
					if deck == nil {
						continue
					}
					first := map[*plan.Division]bool{}
					deck.Keep(func(c *plan.Card) bool {
						keep := !first[c.Division] && len(first) < 2
						first[c.Division] = true
						return keep
					})
					checked += len(deck.Faces)
					about := fmt.Sprintf("plan %d in %s on %s, plain %t", i, tag, size.Name, plain)
					t.Run(about, func(t *testing.T) { keepsDistance(t, deck, about) }) // frees the engine
				}
			}
		}
	}
	assert.Greater(t, checked, 60)
}

func keepsDistance(t *testing.T, deck *cards.Deck, about string) {
	t.Helper()
	doc, err := impose.Cards(deck, impose.Options{Sides: impose.EachPage})
	require.NoError(t, err)
	var pdf bytes.Buffer
	require.NoError(t, render.PDF(&pdf, doc, time.Date(2027, 8, 13, 20, 30, 0, 0, time.UTC)))
	read := rendertest.Open(t, pdf.Bytes())
	seen := map[*layout.Panel]bool{}
	for i, f := range deck.Faces {
		for side, panel := range []*layout.Panel{f.Front, f.Back} {
			if seen[panel] {
				continue
			}
			seen[panel] = true
			page := fmt.Sprintf("%s, card %d, %s", about, f.Card.Number, []string{"front", "back"}[side])
			runs := read.Text(2*i + side)
			require.NotEmpty(t, runs, page)
			for a := range runs {
				for b := range a {
					farApart(t, runs[a], runs[b], page)
				}
			}
			for _, item := range panel.All() {
				switch it := item.(type) {
				case layout.Box:
					for _, run := range runs {
						within(t, run, it, page)
					}
				case layout.Modules:
					quiet(t, it, panel, runs, page)
				}
			}
		}
	}
}

// farApart holds two texts to their distance: unless they are one phrase, of which the
// second begins where the first ends, or lines of one paragraph, in one size and a
// line's pitch apart.
func farApart(t *testing.T, a, b rendertest.TextRun, page string) {
	t.Helper()
	if a.W <= 0 || b.W <= 0 {
		return
	}
	if a.OriginX > b.OriginX {
		a, b = b, a
	}
	dx := math.Max(b.X-(a.X+a.W), a.X-(b.X+b.W))
	dy := math.Max(b.Y-(a.Y+a.H), a.Y-(b.Y+b.H))
	lines := math.Abs(a.Baseline - b.Baseline)
	if ends := a.OriginX + a.Advance; lines < 0.01 && (math.Abs(ends-b.OriginX) < 0.1 || a.Font == b.Font && b.OriginX-ends < 0.3+0.5*fonts.CapMM(a.Size)) {
		return // the engine breaks a word behind some letters
	}
	pitch := lines / fonts.CapMM(a.Size)
	if a.Size == b.Size && pitch > 1.45 && pitch < 1.75 && isProse(a) && isProse(b) {
		assert.GreaterOrEqual(t, math.Max(dx, dy), -engineEps, "%s: %s touches %s", page, a, b)
		return
	}
	assert.GreaterOrEqual(t, math.Max(dx, dy), leastGap-engineEps, "%s: %s and %s", page, a, b)
}

// isProse tells running text from names and figures, which are in the other family.
func isProse(r rendertest.TextRun) bool {
	return !bytes.Contains([]byte(r.Font), []byte("Mono")) || r.S == "" || len(r.S) <= 5
}

// within holds a text whose middle lies in a box to its edges.
func within(t *testing.T, r rendertest.TextRun, b layout.Box, page string) {
	t.Helper()
	if x, y := r.X+r.W/2, r.Y+r.H/2; x < b.X || x > b.X+b.W || y < b.Y || y > b.Y+b.H {
		return
	}
	air := leastAir
	if b.Fill {
		air = 0.15
	}
	least := math.Min(math.Min(r.X-b.X, b.X+b.W-r.X-r.W), math.Min(r.Y-b.Y, b.Y+b.H-r.Y-r.H)) - b.Stroke/2
	assert.GreaterOrEqual(t, least, air-engineEps, "%s: %s and the edge around it", page, r)
}

func quiet(t *testing.T, m layout.Modules, panel *layout.Panel, runs []rendertest.TextRun, page string) {
	t.Helper()
	side := float64(m.Symbol.Size) * m.Module
	far := func(what any, x0, y0, x1, y1 float64) {
		d := math.Max(math.Max(x0-(m.X+side), m.X-x1), math.Max(y0-(m.Y+side), m.Y-y1))
		assert.GreaterOrEqual(t, d/m.Module, float64(layout.QuietModules)-0.02, "%s: modules from the symbol to %v", page, what)
	}
	edge := math.Min(math.Min(m.X, m.Y), math.Min(panel.Width-m.X-side, panel.Height-m.Y-side))
	assert.GreaterOrEqual(t, edge/m.Module, float64(layout.QuietModules), "%s: modules from the symbol to the card's edge", page)
	for _, r := range runs {
		far(r, r.X, r.Y, r.X+r.W, r.Y+r.H)
	}
	for _, item := range panel.All() {
		if l, ok := item.(layout.Line); ok {
			far(l, math.Min(l.X1, l.X2), math.Min(l.Y1, l.Y2)-l.Weight/2, math.Max(l.X1, l.X2), math.Max(l.Y1, l.Y2)+l.Weight/2)
		}
	}
}
