package cards

import (
	"fmt"
	"slices"
	"strconv"

	"slotcard/fonts"
	"slotcard/layout"
	"slotcard/layout/set"
	"slotcard/layout/words"
	"slotcard/plan"
	"slotcard/plan/finding"
)

// sides is the geometry of both sides of the cards of a list.
type sides struct {
	cards []*plan.Card
	front *front
	back  *back
}

// edges are what stands above and below the list of a front.
type edges struct {
	head        headForm
	foot        footForm
	block       blockForm
	top, bottom float64 // of the list, mm from the card's upper edge
}

// fitter works out the edges of the fronts of a list.
type fitter struct {
	o     *Options
	r     *plan.Resolved
	list  *plan.List
	size  layout.Size
	cards []*plan.Card
	heads []head // those that need the most room
	ink   headInk
	feet  []*plan.Card // whose feet may need the most room
	block block

	ends   map[float64]ends // at sizes of small type
	blocks map[blockKey]blocked
}

// ends are head and foot at a size of small type, or why there is none.
type ends struct {
	head headForm
	foot footForm
	why  *set.Misfit
}

// blocked is the block in between, the same.
type blocked struct {
	form blockForm
	why  *set.Misfit
}

type blockKey struct {
	small float64
	shown [extras]bool
	own   bool
}

// edges at a size of small type. Each of them is worked out once.
func (x *fitter) edges(small float64) (e edges, why *set.Misfit) {
	width := x.size.Width - 2*layout.Safe
	of, known := x.ends[small]
	if !known {
		of.head, of.foot, of.why = x.headAndFoot(small, width)
		x.ends[small] = of
	}
	if e.head, e.foot = of.head, of.foot; of.why != nil {
		return e, of.why
	}
	key := blockKey{small, x.block.shown, x.block.own}
	b, known := x.blocks[key]
	if !known {
		b.form, b.why = x.block.form(x.cards, small, width)
		x.blocks[key] = b
	}
	if e.block = b.form; b.why != nil {
		return e, b.why
	}
	e.top = layout.Safe + e.head.height()
	e.bottom = x.size.Height - layout.Safe - e.foot.height() - e.block.height()
	return e, nil
}

func (x *fitter) headAndFoot(small, width float64) (head headForm, foot footForm, why *set.Misfit) {
	w := x.o.Words
	if head, why = headFormOf(w, x.heads, x.ink, true, small, width); why != nil || head.three {
		if head, why = headFormOf(w, x.heads, x.ink, false, small, width); why != nil {
			return head, foot, why
		}
	}
	found := false
	for _, way := range footWays { // the lowest
		of, m := x.foot(small, width, way)
		switch {
		case m != nil:
			why = m
		case !found || of.height() < foot.height()-set.Tolerance:
			foot, found = of, true
		}
	}
	if !found {
		return head, foot, why
	}
	return head, foot, nil
}

// foot is that of all cards.
func (x *fitter) foot(small, width float64, way footWay) (foot footForm, why *set.Misfit) {
	text := footTextOf(x.o.Words, x.r, x.list, set.CapStyle(fonts.Regular, small), way)
	lines, pitch := 0, 0.0
	for _, c := range x.feet {
		if foot, why = footFormOf(text.of(c, x.o.Changes), x.list.Code.Pairs(), text.issue, small, width); why != nil {
			return foot, why
		}
		lines, pitch = max(lines, foot.lines), max(pitch, foot.pitch)
	}
	foot.lines, foot.pitch, foot.way = lines, pitch, way
	return foot, nil
}

// form is a front of which nothing is worked out yet.
func (x *fitter) form() front {
	rows := rowsOf(x.o.Words, x.list, x.cards, x.o.Changes)
	return front{words: x.o.Words, outlined: x.o.Plain, size: x.size, rows: rows, ink: inkOfRows(rows)}
}

// front is the best front: with every extra for which there is room.
func (x *fitter) front() (*front, *set.Misfit) {
	form := x.form()
	best, why := frontOf(form, x.edges)
	if why != nil {
		return nil, why
	}
	if wordings[best.wording].division != wholeName {
		x.block.own = true
		f, why := frontOf(form, x.edges)
		if x.block.own = why == nil && f.wording < best.wording; x.block.own {
			best = f
		}
	}
	least, all := min(best.key, keyBeside), true
	for e := range extras {
		if !x.block.has(e, x.cards) {
			continue
		}
		if e == pencil {
			if !all {
				break
			}
			least = min(best.key, comfortable)
		}
		x.block.shown[e] = true
		f, why := frontOf(form, x.edges)
		if why != nil || f.key < least-set.Tolerance || f.wording > best.wording {
			x.block.shown[e], all = false, false
			continue
		}
		best = f
	}
	return best, nil
}

// fit works out both sides for the cards of a list, or only asks whether there is room
// for them.
func (s *sides) fit(r *plan.Resolved, size layout.Size, l *plan.List, o *Options, asks bool) (bad []set.Misfit) {
	add := func(side string, m *set.Misfit) {
		what := side + " of the cards"
		if name := l.Name(r); name != "" {
			what += " of the list of " + name
		}
		at := r.Plan.Card.At("size")
		if at.IsZero() {
			at = finding.Place{File: r.Plan.Path}
		}
		bad = append(bad, set.Misfit{At: at, What: what, Text: m.Text})
	}
	x := &fitter{o: o, r: r, list: l, size: size, cards: s.cards, heads: widestHeads(o.Words, r, s.cards),
		ink: inkOf(o.Words, r, s.cards), block: blockOf(o.Words, r, l, s.cards),
		ends: map[float64]ends{}, blocks: map[blockKey]blocked{}}
	x.feet = widestFeet(s.cards, o.Changes)
	back := backSearchOf(o, size, r, l)
	var why *set.Misfit
	if asks {
		why = holdsFront(x.form(), x.edges)
	} else {
		s.front, why = x.front()
	}
	if why != nil {
		add("front", why)
	}
	if why = nil; !asks {
		s.back, why = back.best(x.block)
	} else if !o.FrontsOnly {
		why = back.holds()
	}
	if why != nil && !o.FrontsOnly {
		add("back", why)
	}
	return bad
}

// omits are the kinds of words for which the cards of a list have no room.
func (s *sides) omits(o *Options) []Omission {
	kinds := omitted(s.front.rows, wordings[s.front.wording])
	if !o.FrontsOnly && !s.back.said.explains() {
		kinds = append(kinds, FirstChecks)
	}
	return kinds
}

// widestFeet are those of the cards of a list whose feet need the most room: of the ones
// that say the same, that with the widest number.
func widestFeet(cards []*plan.Card, changes map[*plan.Card]Change) (feet []*plan.Card) {
	s := set.CapStyle(fonts.Regular, layout.CapLeast)
	at := map[string]int{}
	var widths []float64
	for _, c := range cards {
		says := ""
		if change, ok := changes[c]; ok {
			says = fmt.Sprint(change)
		}
		width := s.Width(strconv.Itoa(c.Number))
		i, known := at[says]
		switch {
		case !known:
			at[says] = len(feet)
			feet, widths = append(feet, c), append(widths, width)
		case width > widths[i]:
			feet[i], widths[i] = c, width
		}
	}
	return feet
}

// widestHeads are those of the heads of a list's cards that need the most room:
// for the unit, and for seat and division with its name and without. Widths grow with the size of type, so
// that they are the same heads at any size.
func widestHeads(w *words.CardWords, r *plan.Resolved, cards []*plan.Card) []head {
	all := headOf(w, r)
	s := set.CapStyle(fonts.Regular, layout.CapLeast)
	bold := s.In(fonts.Bold)
	var unit, seat, bare head
	unitWidth, seatWidth, bareWidth := -1.0, -1.0, -1.0
	for _, c := range cards {
		h := all.of(w, c)
		if x := bold.Width(h.unit); x > unitWidth {
			unit, unitWidth = h, x
		}
		if x := h.seatWidth(s, true); x > seatWidth {
			seat, seatWidth = h, x
		}
		if x := h.seatWidth(s, false); x > bareWidth {
			bare, bareWidth = h, x
		}
	}
	return slices.Compact([]head{unit, seat, bare})
}
