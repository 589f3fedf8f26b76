package layout_test

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"slotcard/layout"
	"slotcard/layout/cards"
	"slotcard/layout/impose"
	"slotcard/plan/plantest"
)

func placedOn(p layout.Page) (out []layout.Placed) {
	for _, item := range p.Items {
		if at, ok := item.(layout.Placed); ok {
			out = append(out, at)
		}
	}
	return out
}

// Ten business cards on a letter sheet: side margins 0.75 in, top and bottom
// 0.5 in (arithmetic, testdata/paper.csv).
func TestCardsPerSheet(t *testing.T) {
	count := func(paper, card string) int {
		p, _ := layout.PaperSize(paper)
		c, _ := layout.CardSize(card)
		return impose.PerSheet(c, impose.Options{Paper: p})
	}
	assert.Equal(t, 10, count("letter", "business"))
	assert.Equal(t, 10, count("a4", "business"))
	assert.Equal(t, 9, count("letter", "id-1"))
	assert.Equal(t, 8, count("letter", "96x62"))
	assert.Equal(t, 8, count("a4", "96x62"))
	assert.Equal(t, 4, count("letter", "a7"))
	assert.Equal(t, 4, count("letter", "index-3x5"))
	assert.Equal(t, 2, count("letter", "a6"))
	assert.Equal(t, 2, count("letter", "index-4x6"))
}

func deckOf(t *testing.T, size layout.Size, units int) *cards.Deck {
	t.Helper()
	r := plantest.Make(t, plantest.Shape{Slots: 5, NameLength: 7, Divisions: 2, WordLength: 4, Words: 1, Units: units, Seats: 1})
	d, findings := cards.Deal(r, cards.Options{Size: size})
	require.NotNil(t, d, "%v", findings)
	return d
}

// corner of a panel that is its top left one when read, after turning.
func corner(p layout.Placed) (x, y float64) {
	w, h := p.Panel.Width, p.Panel.Height
	switch p.Turn {
	case 1:
		return p.X + h, p.Y
	case 2:
		return p.X + w, p.Y + h
	case 3:
		return p.X, p.Y + w
	}
	return p.X, p.Y
}

// Flipped on either edge, a card's back lies on its front with its head behind
// the front's head: the back's top left corner lies behind the front's top
// right one.
func TestBackLiesBehindFront(t *testing.T) {
	for _, paper := range layout.PaperSizes() {
		for _, size := range layout.CardSizes() {
			d := deckOf(t, size, 13)
			for _, sides := range []impose.Sides{impose.LongEdge, impose.ShortEdge} {
				for _, order := range []impose.Order{impose.AcrossSheet, impose.ThroughStack} {
					doc, err := impose.Cards(d, impose.Options{Paper: paper, Sides: sides, Order: order})
					require.NoError(t, err)
					require.Zero(t, len(doc.Pages)%2)
					seen := map[*layout.Panel]bool{}
					for p := 0; p < len(doc.Pages); p += 2 {
						front, back := placedOn(doc.Pages[p]), placedOn(doc.Pages[p+1])
						require.Len(t, back, len(front))
						for i, f := range front {
							seen[f.Panel] = true
							b := back[i]
							fx, fy := corner(layout.Placed{X: f.X, Y: f.Y, Turn: f.Turn, Panel: f.Panel})
							// The front's top right corner, as it lies on the sheet.
							dx, dy := [4]float64{1, 0, -1, 0}[f.Turn], [4]float64{0, 1, 0, -1}[f.Turn]
							fx, fy = fx+dx*f.Panel.Width, fy+dy*f.Panel.Width
							bx, by := corner(b)
							if sides == impose.LongEdge {
								bx = paper.Width - bx
							} else {
								by = paper.Height - by
							}
							assert.InDelta(t, fx, bx, 0.05, "%s on %s, %s edge", size.Name, paper.Name, sides)
							assert.InDelta(t, fy, by, 0.05, "%s on %s, %s edge", size.Name, paper.Name, sides)
							w, h := size.Width, size.Height
							if f.Turn%2 == 1 {
								w, h = h, w
							}
							white := 0.0
							if f.Turn == 0 {
								white = 3 // at its sides
							}
							assert.GreaterOrEqual(t, f.X+white, 6.35)
							assert.LessOrEqual(t, f.X+w-white, paper.Width-6.35)
							assert.GreaterOrEqual(t, f.Y, 6.35)
							assert.LessOrEqual(t, f.Y+h, paper.Height-6.35)
						}
					}
					assert.Len(t, seen, len(d.Faces), "every card stands on some sheet")
				}
			}
		}
	}
}

// After cutting a stack, the piles laid on each other give the cards in order,
// and only the last sheet has places left free.
func TestThroughStackOrder(t *testing.T) {
	size, _ := layout.CardSize("business")
	paper, _ := layout.PaperSize("letter")
	d := deckOf(t, size, 23) // 23 cards, 10 to a sheet: 3 sheets
	doc, err := impose.Cards(d, impose.Options{Paper: paper, Order: impose.ThroughStack})
	require.NoError(t, err)
	require.Len(t, doc.Pages, 6)
	type spot struct{ x, y float64 }
	piles := map[spot][]*layout.Panel{}
	var order []spot
	for p := 0; p < len(doc.Pages); p += 2 {
		for _, at := range placedOn(doc.Pages[p]) {
			s := spot{at.X, at.Y}
			if piles[s] == nil {
				order = append(order, s)
			}
			piles[s] = append(piles[s], at.Panel)
		}
	}
	var got []*layout.Panel
	for _, s := range order {
		got = append(got, piles[s]...)
	}
	require.Len(t, got, len(d.Faces))
	for i, f := range d.Faces {
		assert.Same(t, f.Front, got[i], "card %d", i+1)
	}
}

// To be folded, the back stands beside the front in reading direction, head level
// with head, or below it, foot to foot and head down, on one page: either way it is
// upright when the card is turned over like a page.
func TestFold(t *testing.T) {
	for _, paper := range layout.PaperSizes() {
		for _, size := range layout.CardSizes() {
			d := deckOf(t, size, 3)
			doc, err := impose.Cards(d, impose.Options{Paper: paper, Sides: impose.Fold})
			if err != nil {
				assert.Contains(t, err.Error(), size.Name)
				continue
			}
			n := 0
			for _, page := range doc.Pages {
				at := placedOn(page)
				for i := 0; i < len(at); i += 2 {
					f, b := at[i], at[i+1]
					assert.Same(t, d.Faces[n].Front, f.Panel)
					assert.Same(t, d.Faces[n].Back, b.Panel)
					fx, fy := corner(f)
					bx, by := corner(b)
					dx, dy := [4]float64{1, 0, -1, 0}[f.Turn], [4]float64{0, 1, 0, -1}[f.Turn]
					wantX, wantY := fx+dx*size.Width, fy+dy*size.Width
					if f.Turn != b.Turn { // by half a turn: it begins at the far corner
						assert.Equal(t, (f.Turn+2)%4, b.Turn)
						wantX, wantY = wantX-dy*2*size.Height, wantY+dx*2*size.Height
					}
					assert.InDelta(t, wantX, bx, 1e-9)
					assert.InDelta(t, wantY, by, 1e-9)
					n++
				}
			}
			assert.Equal(t, len(d.Faces), n)
		}
	}
}

// A card that is too long for the paper beside its back stands above it: two sides of
// A6 are 148 x 210 mm (ISO 216, secondary).
func TestFoldAlongTheOtherSide(t *testing.T) {
	letter, _ := layout.PaperSize("letter")
	a6, _ := layout.CardSize("a6")
	assert.Equal(t, 1, impose.PerSheet(a6, impose.Options{Paper: letter, Sides: impose.Fold}))
	doc, err := impose.Cards(deckOf(t, a6, 2), impose.Options{Paper: letter, Sides: impose.Fold})
	require.NoError(t, err)
	at := placedOn(doc.Pages[0])
	assert.NotEqual(t, at[0].Turn, at[1].Turn)
}

// Cut marks, the rule of 50 mm and its words stay a quarter of an inch from every
// edge of the paper, which office printers leave white (common practice).
func TestMarksArePrinted(t *testing.T) {
	const edge = 6.35
	for _, paper := range layout.PaperSizes() {
		for _, size := range layout.CardSizes() {
			d := deckOf(t, size, 13)
			for _, sides := range []impose.Sides{impose.LongEdge, impose.ShortEdge, impose.Fold, impose.FrontOnly} {
				doc, err := impose.Cards(d, impose.Options{Paper: paper, Sides: sides})
				if err != nil {
					continue
				}
				for _, page := range doc.Pages {
					marks := slices.DeleteFunc(slices.Clone(page.Items), func(i layout.Item) bool { _, card := i.(layout.Placed); return card })
					in := inspect(&layout.Panel{Items: marks})
					for _, ink := range append(in.inks, in.other...) {
						assert.True(t, ink.inside(rect{edge - 0.1, edge - 0.1, paper.Width - edge + 0.1, paper.Height - edge + 0.1}),
							"%s on %s, %s: ink at %s", size.Name, paper.Name, sides, ink)
					}
					for i := range in.inks {
						for k := range i {
							assert.False(t, in.inks[i].overlaps(in.inks[k]), "%s on %s, %s: %q over %q", size.Name, paper.Name, sides, in.texts[i].S, in.texts[k].S)
						}
					}
				}
			}
		}
	}
}

// What a printer reaches beyond a quarter of an inch puts more cards on a sheet: two A7 side
// by side are 210 mm wide (ISO 216, secondary), letter is 215.9 (ANSI/ASME Y14.1,
// secondary), and the ink of a card begins 3 mm from its trim. All ink stays within reach.
func TestCardsNearerToTheEdge(t *testing.T) {
	letter, _ := layout.PaperSize("letter")
	a4, _ := layout.PaperSize("a4")
	for _, c := range []struct {
		size   string
		paper  layout.Size
		per    int
		nearer float64
		then   int
	}{{"a7", letter, 4, 5.9, 6}, {"a7", a4, 4, 3, 6}, {"100x60", letter, 8, 0, 0}, {"business", letter, 10, 0, 0}} {
		size, _ := layout.CardSize(c.size)
		o := impose.Options{Paper: c.paper}
		assert.Equal(t, c.per, impose.PerSheet(size, o), c.size)
		edge, per := impose.Nearer(size, o)
		assert.InDelta(t, c.nearer, edge, 1e-9, c.size)
		assert.Equal(t, c.then, per, c.size)
		if edge > 0 {
			o.Edge = edge + 0.1
			assert.Equal(t, c.per, impose.PerSheet(size, o), "%s: no more than it must", c.size)
			o.Edge = edge
			assert.Equal(t, per, impose.PerSheet(size, o), c.size)
		} else {
			o.Edge = layout.PrintEdge
		}
		d := deckOf(t, size, 13)
		doc, err := impose.Cards(d, o)
		require.NoError(t, err)
		for n, page := range doc.Pages {
			for _, p := range placedOn(page) {
				require.Zero(t, p.Turn, "head upwards: the white of a card is at its sides")
				assert.True(t, p.X >= -1e-6 && p.Y >= 0 && p.X+p.Panel.Width <= page.Width+1e-6 && p.Y+p.Panel.Height <= page.Height)
				ink := layout.InkOf(p.Panel.All()) // a little more than there is
				assert.True(t, p.X+ink.X > o.Edge-0.35 && p.X+ink.X+ink.W < page.Width-o.Edge+0.35, "%s, page %d: %+v", c.size, n, ink)
			}
			marks := slices.DeleteFunc(slices.Clone(page.Items), func(i layout.Item) bool { _, card := i.(layout.Placed); return card })
			in := inspect(&layout.Panel{Items: marks})
			for _, ink := range append(in.inks, in.other...) {
				assert.True(t, ink.inside(rect{o.Edge - 0.1, o.Edge - 0.1, page.Width - o.Edge + 0.1, page.Height - o.Edge + 0.1}), "%s: %s", c.size, ink)
			}
			assert.GreaterOrEqual(t, len(in.other), 4, "marks to cut along")
		}
	}
}

// A card printer takes one side a page, with a bleed around the trim.
func TestEachPage(t *testing.T) {
	size, _ := layout.CardSize("id-1")
	d := deckOf(t, size, 2)
	doc, err := impose.Cards(d, impose.Options{Sides: impose.EachPage, Bleed: 3})
	require.NoError(t, err)
	require.Len(t, doc.Pages, 4)
	for _, p := range doc.Pages {
		assert.InDelta(t, size.Width+6, p.Width, 1e-9)
		assert.InDelta(t, size.Height+6, p.Height, 1e-9)
		assert.InDelta(t, 3, p.Trim, 1e-9)
		require.Len(t, p.Items, 1, "no marks on a card")
	}
}

// Stock takes its cards where its measures say, or says that they leave the paper.
func TestStock(t *testing.T) {
	size, _ := layout.CardSize("business")
	paper, _ := layout.PaperSize("letter")
	d := deckOf(t, size, 3)
	// 2 by 5 with 0.75 in and 0.5 in margins: arithmetic, testdata/paper.csv.
	s := &impose.Stock{Columns: 2, Rows: 5, Left: 19.05, Top: 12.7}
	doc, err := impose.Cards(d, impose.Options{Paper: paper, Stock: s})
	require.NoError(t, err)
	at := placedOn(doc.Pages[0])
	assert.InDelta(t, 19.05, at[0].X, 1e-9)
	assert.InDelta(t, 19.05+88.9, at[1].X, 1e-9)
	assert.InDelta(t, 12.7+50.8, at[2].Y, 1e-9)
	assert.Len(t, doc.Pages[0].Items, len(at), "no marks on perforated stock")
	s.Columns = 3
	_, err = impose.Cards(d, impose.Options{Paper: paper, Stock: s})
	require.ErrorContains(t, err, "letter")
}
