package layout

import (
	"fmt"
	"math"
)

// Roll is what a label printer prints on, one page a label. A printer of labels has no
// shades: what is not made of whole dots is rounded, line by line, and a QR symbol whose
// modules come out unequal is the one that does not read. So a module is a whole number
// of dots here, and begins on one.
type Roll struct {
	Width  float64 // mm
	Height float64 // of a label, mm; 0: endless, each page as long as what it holds
	Gap    float64 // white between what an endless roll holds, mm
	DPI    int     // dots an inch of the printer
}

// Limits of a roll, mm and dots an inch. Labels narrower than the smallest card hold
// none; the printers that are sold for labels print 203, 300 or 600 dots an inch
// (common practice).
const (
	LeastRoll, MostRoll = 25.0, 300.0
	MostGap             = 50.0
	LeastDPI, MostDPI   = 150, 1200
)

// LeastDotted is the smallest module of whole dots, mm: sharper than one that a
// printer rounds, it is read where that has to be larger (measured: from 2.4 dots of a
// camera a module, which is 0.33 mm with 200 to an inch).
const LeastDotted = 0.33

// Dot is the side of a dot, mm.
func (r *Roll) Dot() float64 { return Inch / float64(r.DPI) }

// Down is the largest whole number of dots in a length, mm.
func (r *Roll) Down(mm float64) float64 { return math.Floor(mm/r.Dot()+1e-6) * r.Dot() }

// Takes tells whether a rectangle goes on a label, upright or turned a quarter.
func (r *Roll) Takes(w, h float64) bool {
	on := func(w, h float64) bool { return w <= r.Width+1e-6 && (r.Height == 0 || h <= r.Height+1e-6) }
	return on(w, h) || on(h, w)
}

// String is what a roll is called.
func (r *Roll) String() string {
	if r.Height == 0 {
		return fmt.Sprintf("a roll %.4g mm wide", r.Width)
	}
	return fmt.Sprintf("labels of %.4g x %.4g mm", r.Width, r.Height)
}

// hair is what a page is smaller than its dots, mm: a program that rounds its size up
// must not find a dot more.
const hair = 0.0005

// Page is a label with a panel in its middle, turned a quarter where that is how it
// fits; moved by less than a dot, so that its first symbol begins on one.
func (r *Roll) Page(p *Panel) Page {
	at := Placed{Panel: p}
	w, h := p.Width, p.Height
	if w > r.Width+1e-6 || r.Height > 0 && h > r.Height+1e-6 {
		w, h, at.Turn = h, w, 1
	}
	page := Page{Width: r.Down(r.Width), Height: r.Down(r.Height)}
	if r.Height == 0 {
		page.Height = r.Down(h + r.Gap + r.Dot())
	}
	page.Width, page.Height = page.Width-hair, page.Height-hair
	at.X, at.Y = (page.Width-w)/2, (page.Height-h)/2
	r.snap(&at)
	at.Y -= hair // a PDF counts from the foot
	page.Items = []Item{at}
	return page
}

// snap moves a panel by less than a dot, so that its first symbol begins on one.
func (r *Roll) snap(at *Placed) {
	for _, it := range at.Panel.All() {
		m, ok := it.(Modules)
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
