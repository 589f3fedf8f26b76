package impose

import (
	"cmp"
	"fmt"
	"math"

	"slotcard/layout"
	"slotcard/layout/cards"
	"slotcard/layout/set"
)

// Roll is what a label printer prints on: a page for each side of a card.
type Roll struct {
	Width  float64 // mm
	Height float64 // of a label, mm; 0: endless, each page as long as its card
	Gap    float64 // white between cards of an endless roll, mm
	DPI    int     // dots an inch of the printer
}

// Dot is the side of a dot, mm.
func (r *Roll) Dot() float64 { return 25.4 / float64(r.DPI) }

// down is the largest whole number of dots in a length.
func (r *Roll) down(mm float64) float64 { return math.Floor(mm/r.Dot()+1e-6) * r.Dot() }

// Sizes are those of a card that fills the roll, its head along the longer side: the
// label's, or on an endless roll as long as it needs to be, shortest first.
func (r *Roll) Sizes() (all []layout.Size) {
	size := func(w, h float64) layout.Size {
		w, h = math.Round(w*10)/10, math.Round(h*10)/10
		return layout.Size{Name: fmt.Sprintf("%gx%g", w, h), Width: w, Height: h}
	}
	if r.Height > 0 {
		return []layout.Size{size(max(r.Width, r.Height), min(r.Width, r.Height))}
	}
	for _, times := range []float64{1.4, 1.6, 1.8, 2, 2.3} {
		if long := r.Width * times; long >= layout.LeastCard && long <= layout.MostCard {
			all = append(all, size(long, r.Width))
		}
	}
	return all
}

// Limits of a roll, mm and dots an inch. Labels narrower than the smallest card hold
// none; the printers that are sold for labels print 203, 300 or 600 dots an inch
// (common practice).
const (
	LeastRoll, MostRoll = 25.0, 300.0
	MostGap             = 50.0
	LeastDPI, MostDPI   = 150, 1200
)

// rolled puts each side of each card on a page of its own. A printer of labels has no
// shades: what is not made of whole dots is rounded, line by line, and a code whose
// modules come out unequal is the one that does not read. So a module is a whole
// number of dots here, and begins on one.
func rolled(d *cards.Deck, o Options) (*layout.Document, error) {
	r := o.Roll
	w, h := d.Size.Width, d.Size.Height
	turned := w > r.Width+set.Tolerance || r.Height > 0 && h > r.Height+set.Tolerance
	if turned {
		w, h = h, w
	}
	if w > r.Width+set.Tolerance || r.Height > 0 && h > r.Height+set.Tolerance {
		return nil, fmt.Errorf("a card of size %s, %.1f x %.1f mm, does not fit on %s: choose another --size", cmp.Or(d.Size.Name, "of its own"), d.Size.Width, d.Size.Height, r)
	}
	page := layout.Page{Width: r.down(r.Width), Height: r.down(r.Height)}
	if r.Height == 0 {
		page.Height = r.down(h + r.Gap + r.Dot())
	}
	// A program that rounds the size of a page up must not find a dot more.
	page.Width, page.Height = page.Width-hair, page.Height-hair
	turn := 0
	if turned {
		turn = 1
	}
	doc := &layout.Document{Title: d.Title, Language: d.Words.Language, Duplex: layout.Simplex}
	dotted := map[*layout.Panel]*layout.Panel{}
	unit := ""
	for _, f := range d.Faces {
		for _, panel := range []*layout.Panel{f.Front, f.Back} {
			if panel == f.Back && o.Sides == FrontOnly {
				continue
			}
			if dotted[panel] == nil {
				made, err := r.dots(panel)
				if err != nil {
					return nil, err
				}
				dotted[panel] = made
			}
			at := layout.Placed{X: (page.Width - w) / 2, Y: (page.Height - h) / 2, Turn: turn, Panel: dotted[panel]}
			r.snap(&at)
			p := layout.Page{Width: page.Width, Height: page.Height, Items: []layout.Item{at}}
			at.Y -= hair // a PDF counts from the foot
			p.Items[0] = at
			if panel == f.Front && f.Card.Unit.Name != unit {
				unit = f.Card.Unit.Name
				p.Bookmarks = []layout.Bookmark{{Title: unit}}
			}
			doc.Pages = append(doc.Pages, p)
		}
	}
	return doc, nil
}

// hair is what a page is smaller than its dots, mm.
const hair = 0.0005

// String is what a roll is called.
func (r *Roll) String() string {
	if r.Height == 0 {
		return fmt.Sprintf("a roll %.4g mm wide", r.Width)
	}
	return fmt.Sprintf("labels of %.4g x %.4g mm", r.Width, r.Height)
}

// leastDotted is the smallest module of whole dots, mm: sharper than one that a
// printer rounds, it is read where that has to be larger (measured: from 2.4 dots of a
// camera a module, which is 0.33 mm with 200 to an inch).
const leastDotted = 0.33

// dots is a panel whose symbols have modules of whole dots, in the middle of where
// they stood. A module that is smaller than one can be is an error.
func (r *Roll) dots(p *layout.Panel) (*layout.Panel, error) {
	all := p.All()
	made := &layout.Panel{Width: p.Width, Height: p.Height, Items: make([]layout.Item, len(all))}
	for i, it := range all {
		if m, ok := it.(layout.Modules); ok {
			module := r.down(m.Module)
			if module < leastDotted-1e-9 {
				more := math.Ceil(leastDotted/r.Dot()-1e-6) * r.Dot()
				return nil, fmt.Errorf("at %d dots an inch a module of the QR code takes %.2f mm, and this card has room for %.2f: choose a larger --size",
					r.DPI, more, m.Module)
			}
			spare := (m.Module - module) * float64(m.Symbol.Size) / 2
			m.X, m.Y, m.Module = m.X+spare, m.Y+spare, module
			it = m
		}
		made.Items[i] = it
	}
	return made, nil
}

// snap moves a panel by less than a dot, so that its first symbol begins on one.
func (r *Roll) snap(at *layout.Placed) {
	for _, it := range at.Panel.All() {
		m, ok := it.(layout.Modules)
		if !ok {
			continue
		}
		x, y := at.X+m.X, at.Y+m.Y
		if at.Turn == 1 { // clockwise: what was at the left is above
			x, y = at.X+at.Panel.Height-m.Y-float64(m.Symbol.Size)*m.Module, at.Y+m.X
		}
		near := func(mm float64) float64 { return math.Round(mm/r.Dot())*r.Dot() - mm }
		at.X, at.Y = at.X+near(x), at.Y+near(y)
		return
	}
}
