package impose

import (
	"cmp"
	"fmt"
	"math"

	"slotcard/layout"
	"slotcard/layout/cards"
)

// RollSizes are those of a card that fills a roll, its head along the longer side: the
// label's, or on an endless roll as long as it needs to be, shortest first.
func RollSizes(r *layout.Roll) (all []layout.Size) {
	size := func(w, h float64) layout.Size {
		w, h = math.Floor(w*10+1e-6)/10, math.Floor(h*10+1e-6)/10
		return layout.Size{Name: fmt.Sprintf("%gx%g", w, h), Width: w, Height: h}
	}
	if r.Height > 0 {
		return []layout.Size{size(max(r.Width, r.Height), min(r.Width, r.Height))}
	}
	for _, times := range []float64{1.4, 1.6, 1.8, 2, 2.3, 2.6, 3} {
		if long := r.Width * times; long >= layout.LeastCard && long <= layout.MostCard {
			all = append(all, size(long, r.Width))
		}
	}
	return all
}

// rolled puts each side of each card on a label of its own. The deck is dealt for the
// dots of the printer.
func rolled(d *cards.Deck, o Options) (*layout.Document, error) {
	r := o.Roll
	if !r.Takes(d.Size.Width, d.Size.Height) {
		return nil, fmt.Errorf("a card of size %s, %.1f x %.1f mm, does not fit on %s", cmp.Or(d.Size.Name, "of its own"), d.Size.Width, d.Size.Height, r)
	}
	doc := &layout.Document{Title: d.Title, Language: d.Words.Language, Duplex: layout.Simplex}
	unit := ""
	for _, f := range d.Faces {
		for _, panel := range []*layout.Panel{f.Front, f.Back} {
			if panel == f.Back && o.Sides == FrontOnly {
				continue
			}
			p := r.Page(panel)
			if panel == f.Front && f.Card.Unit.Name != unit {
				unit = f.Card.Unit.Name
				p.Bookmarks = []layout.Bookmark{{Title: unit}}
			}
			doc.Pages = append(doc.Pages, p)
		}
	}
	return doc, nil
}
