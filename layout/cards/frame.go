package cards

import (
	"slices"
	"strings"
	"sync"

	"slotcard/fonts"
	"slotcard/layout"
	"slotcard/layout/set"
	"slotcard/plan"
)

// What stands around the rows of a front: head, block and foot. Cards of one seat in
// one division differ there in the unit and the number alone, so that one of them is
// set, and the others take what it has: thousands of cards are mostly the same.

// frames sets what stands around the rows of the fronts. It is for several goroutines.
type frames struct {
	plan   *plan.Resolved
	by     map[*plan.List]*sides
	o      *Options
	size   layout.Size
	x0, x1 float64 // between which everything stands, mm
	head   head
	feet   map[*plan.List]foot

	mu   sync.Mutex
	made map[alike]*frame
}

// foot is what the feet of a list's cards have in common.
type foot struct {
	footText
	wide float64 // of the line that the number goes on behind, with the white before it, mm
	room float64 // of that line, mm
}

// alike is what cards are alike in that differ in unit and number alone.
type alike struct {
	list     *plan.List
	position *plan.Position
	division *plan.Division
	wraps    bool // the number stands on a line of its own
}

// frame is what stands around the rows of one card, in the order of drawing.
type frame struct {
	items        []layout.Item
	at           int // how many are before the rows
	unit, number int // of the items; number is -1 where none stands by itself
}

func newFrames(r *plan.Resolved, by map[*plan.List]*sides, o *Options, size layout.Size) *frames {
	f := &frames{plan: r, by: by, o: o, size: size, x0: layout.Safe, x1: size.Width - layout.Safe,
		head: headOf(o.Words, r), feet: make(map[*plan.List]foot, len(by)), made: map[alike]*frame{}}
	for l, s := range by {
		text := footTextOf(o.Words, r, l, set.CapStyle(fonts.Regular, s.front.foot.small), s.front.foot.way)
		lines, _ := s.front.foot.wrap([][]set.Piece{text.said}, f.x1-f.x0)
		last := lines[len(lines)-1]
		f.feet[l] = foot{footText: text, wide: last.Wide + text.said[len(text.said)-1].Space,
			room: s.front.foot.room(len(lines) == 1, f.x1-f.x0)}
	}
	return f
}

// of are the items around the rows of a card, and how many are before the rows.
func (f *frames) of(card *plan.Card) (items []layout.Item, at int) {
	foot := f.feet[card.List]
	if _, ok := f.o.Changes[card]; ok || card.Unit.Name == "" { // it says more, or less
		made := f.draw(card, foot)
		return made.items, made.at
	}
	number := foot.number(card)
	k := alike{card.List, card.Position, card.Division, foot.wide+foot.small.Width(number) > foot.room+set.Tolerance}
	f.mu.Lock()
	like := f.made[k]
	f.mu.Unlock()
	if like == nil {
		made := f.draw(card, foot)
		if made.number >= 0 {
			f.mu.Lock()
			f.made[k] = made
			f.mu.Unlock()
		}
		return made.items, made.at
	}
	items = slices.Clone(like.items)
	unit := items[like.unit].(layout.Text)
	unit.S = card.Unit.Name
	unit.X = f.x1 - unit.Width()
	items[like.unit] = unit
	said := items[like.number].(layout.Text)
	said.S = printed(number)
	items[like.number] = said
	return items, like.at
}

// draw sets head, block and foot of a card.
func (f *frames) draw(card *plan.Card, foot foot) *frame {
	s, w := f.by[card.List].front, f.o.Words
	c := &set.Canvas{}
	made := &frame{unit: f.head.of(w, card).draw(c, w, s.head, f.x0, f.x1, layout.Safe)}
	made.at = len(c.Items)
	s.block.draw(c, card, f.x0, f.x1, s.bottom)
	s.foot.draw(c, foot.of(card, f.o.Changes), card.List.Code.Pairs(), foot.issue, f.x0, f.x1, f.size.Height-layout.Safe)
	number := printed(foot.number(card))
	for made.number = len(c.Items) - 1; made.number >= 0; made.number-- { // near the end
		if text, ok := c.Items[made.number].(layout.Text); ok && text.S == number {
			break
		}
	}
	made.items = slices.Clip(c.Items)
	return made
}

// printed is a text as it stands on paper.
func printed(t string) string { return strings.ReplaceAll(t, layout.NoBreak, " ") }
