package strips

import (
	"cmp"
	"math"

	"slotcard/layout"
	"slotcard/layout/set"
	"slotcard/plan/changes"
)

// Strips on labels. On an endless roll a strip is as wide as the roll and as long as it
// needs to be; where that is too narrow, it lies along the roll. Of labels of a size each
// holds as many as fit, one below the other, to be cut apart.

const (
	// rollHang is how high a strip on an endless roll is for larger type, mm: less than a
	// card, so that its list is still seen.
	rollHang = 36.0
	// rollAlong is how long a strip is that lies along an endless roll, mm: not wider than
	// the smallest card.
	rollAlong = 85.0
)

// enoughType is the cap height from which type need not grow at the cost of labels, mm:
// 20 arcmin at 350 mm.
const enoughType = 2.0

// onRoll is the arrangement on the fewest labels in type that is large enough, then with
// the largest type, and then the largest code.
func onRoll(c *changes.Changes, o Options, some []*strip) *stripSheet {
	var best *stripSheet
	better := func(k *stripSheet) bool {
		switch {
		case best == nil:
			return true
		case len(k.bad) > 0 || len(best.bad) > 0:
			return len(k.bad) < len(best.bad)
		}
		return cmp.Or(cmp.Compare(min(k.small, enoughType), min(best.small, enoughType)), cmp.Compare(k.cols*k.rows, best.cols*best.rows),
			cmp.Compare(k.small, best.small), cmp.Compare(k.module, best.module)) > 0
	}
	try := func(k *stripSheet) {
		if better(k) {
			best = k
		}
	}
	base := stripSheet{c: c, o: o, words: o.Words, pad: layout.Safe, clear: layout.Safe, reach: layout.Safe}
	ways := base.labelsOf()
	for i, way := range ways {
		for _, module := range way.modules(some) {
			k := way
			k.module = module
			if k.fill(some) {
				try(&k)
			}
		}
		if best != nil && len(best.bad) == 0 && (o.Roll.Height == 0 || i == len(ways)-1) {
			return best // of an endless roll the first that holds all
		}
	}
	if best == nil || len(best.bad) > 0 {
		best = nil // without a code
		for _, way := range ways {
			k := way
			if k.fill(some) {
				try(&k)
			}
		}
	}
	return best // the narrowest label is higher than the lowest strip
}

// labelsOf are the ways in which strips may stand on a roll, without their modules.
func (k stripSheet) labelsOf() (ways []stripSheet) {
	r := k.o.Roll
	way := func(w, h float64, cols int) {
		of := k
		of.paper = layout.Size{Width: r.Down(w), Height: r.Down(h)}
		of.cols, of.w = cols, r.Down(w/float64(cols))
		ways = append(ways, of)
	}
	if r.Height == 0 {
		way(r.Width, 0, 1)
		way(rollAlong, r.Width, 1)
		return ways
	}
	across := func(w float64) int { return max(1, int(w/stripWide)) }
	way(r.Width, r.Height, across(r.Width))
	way(r.Height, r.Width, across(r.Height))
	return ways
}

// modules are those of whole dots, mm, the smallest first.
func (k *stripSheet) modules(some []*strip) (all []float64) {
	for _, s := range some {
		if _, ok := layout.SymbolSize(s.card.New.List.Text, layout.LevelM); !ok {
			return nil
		}
	}
	dot := k.o.Roll.Dot()
	for n := math.Ceil(layout.LeastDotted/dot - 1e-6); n*dot <= layout.EnoughModule; n++ {
		all = append(all, n*dot)
	}
	return all
}

// fill finds how high strips are, how many stand on a label, and the largest type; not
// where the label is too low.
func (k *stripSheet) fill(some []*strip) bool {
	if k.paper.Height == 0 {
		k.rows = 1
		high := func(small float64) (most float64) {
			k.small, k.bad = small, nil
			for _, p := range k.parts(some) {
				most = max(most, p.h)
			}
			return most
		}
		limit := max(rollHang, high(layout.CapLeast))
		if len(k.bad) > 0 {
			return true
		}
		small, _ := set.Largest(layout.CapLeast, stripMost, 0.05, func(small float64) bool {
			return high(small) <= limit+set.Tolerance && len(k.bad) == 0
		})
		k.small, k.bad = small, nil
		return true
	}
	least := 2 * k.pad
	for _, s := range some {
		least = max(least, k.symbolSide(s)+2*k.symbolEdge())
	}
	if k.module == 0 {
		least = max(least, stripLeast)
	}
	if k.rows = int((k.paper.Height + set.Tolerance) / least); k.rows == 0 {
		return false
	}
	k.h = k.o.Roll.Down(k.paper.Height / float64(k.rows))
	k.grow(some)
	return true
}

// dots is a length as whole dots of the printer, where that is known.
func (k *stripSheet) dots(mm float64) float64 {
	if k.o.Roll == nil {
		return mm
	}
	return math.Ceil(mm/k.o.Roll.Dot()-1e-6) * k.o.Roll.Dot()
}

// labels are the pages of a roll.
func (k *stripSheet) labels(parts []stripPart) *layout.Document {
	d := &layout.Document{}
	per := k.cols * k.rows
	unit := ""
	for from := 0; from < len(parts); from += per {
		c := &set.Canvas{}
		some := parts[from:min(from+per, len(parts))]
		panel := &layout.Panel{Width: k.w * float64(k.cols), Height: some[0].h * float64(k.rows)}
		k.paper = layout.Size{Width: panel.Width, Height: panel.Height}
		var bookmarks []layout.Bookmark
		for i, p := range some {
			x, y := float64(i%k.cols)*k.w, float64(i/k.cols)*p.h
			r := layout.Rect{X: x, Y: y, W: k.w, H: p.h}
			k.cuts(c, r, i == len(some)-1 || i%k.cols == k.cols-1, from+i+k.cols >= from+len(some))
			panel.Areas = append(panel.Areas, layout.Area{Rect: r, Line: p.card.New.Unit.At("name").Line})
			k.draw(c, p, x, y)
			if name := p.card.Old.Unit.Name; name != unit {
				unit = name
				bookmarks = append(bookmarks, layout.Bookmark{Title: name})
			}
		}
		panel.Items = c.Items
		page := k.o.Roll.Page(panel)
		page.Bookmarks = bookmarks
		d.Pages = append(d.Pages, page)
	}
	return d
}
