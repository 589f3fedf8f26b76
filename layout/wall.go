package layout

import (
	"fmt"
	"math"
	"slices"

	"slotcard/plan"
	"slotcard/plan/finding"
)

// WallOptions say how to lay out the wall sheet.
type WallOptions struct {
	Paper    Size       // used across; the zero Size: letter
	Distance float64    // metres from which slot, name and division are read; 0: 2
	Symbols  *Symbols   // shared with the cards; nil: made afresh
	Words    *WallWords // nil: English
}

// Legibility of the wall sheet. Slot numbers, display names and divisions are
// read from the distance at 20 arcmin; what one walks up to, channel numbers in
// the assignments, at 20 arcmin from half of it; everything else from 500 mm at
// 16 arcmin. Sources as for [CapKey].
const (
	wallDistance = 2.0 // m
	wallNear     = 500 // mm
	arcminKey    = 20
	arcminLeast  = 16
)

// Distances, in metres, from which a wall sheet can be read.
const (
	LeastDistance = 0.5
	MostDistance  = 10
)

// SheetLeast is the least height of capitals on wall and hand-out sheets, mm.
func SheetLeast() float64 { return CapAt(wallNear, arcminLeast) }

// Type may grow where a list is short or the paper large, in these steps.
const (
	growSteps = 8
	growKey   = 1.4 // most, times the least size
	growBody  = 1.6
)

// Wall lays out the sheet for the wall: landscape, with all that blocks 1 to 6
// of form ICS 205 hold, on as few pages as hold it, in type as large as these
// pages allow. What cannot be printed at its least size is a finding of rule
// does-not-fit, and then there is no document.
func Wall(r *plan.Resolved, o WallOptions) (*Document, finding.List) {
	t := trials(r, o, layWall)
	if len(t.best.misfits) > 0 {
		return nil, t.best.findings()
	}
	// The codes beside the list rather than below it, unless that costs a page
	// or breaks the list; then the list as large as it goes, then the rest.
	t.vary(func(s *settings) { s.rail = true })
	t.vary(func(s *settings) { s.beside = true })
	t.vary(func(s *settings) { s.wide = true })
	growAll(t)
	t.grow(0, growSteps, func(s *settings, n int) { s.crew = n })
	full := t.at
	full.fill = true
	if w := t.lay(full); slices.EqualFunc(w.pages, t.best.pages, func(a, b *page) bool { return len(a.marks) == len(b.marks) }) {
		t.best = w
	}
	return t.best.finish(), nil
}

// settled are the options with what they leave open.
func (o WallOptions) settled() WallOptions {
	if o.Paper == (Size{}) {
		o.Paper, _ = PaperSize(defaultPaper)
	}
	o.Paper = o.Paper.Across()
	if o.Distance <= 0 {
		o.Distance = wallDistance
	}
	if o.Symbols == nil {
		o.Symbols = new(Symbols)
	}
	if o.Words == nil {
		o.Words = &EnglishWall
	}
	return o
}

// layer lays out one form of the wall sheet.
type layer func(r *plan.Resolved, o WallOptions, s settings) *wall

// trials keep the best sheet of one form: on the fewest pages, in the fewest
// pieces.
func trials(r *plan.Resolved, o WallOptions, form layer) *search[settings, *wall] {
	o = o.settled()
	return begin(func(s settings) *wall { return form(r, o, s) }, func(w, best *wall) bool {
		return w.fits() && (len(w.pages) < len(best.pages) || len(w.pages) == len(best.pages) && w.parts <= best.parts)
	})
}

// growAll makes all type as large as the pages allow, then what is small alone.
func growAll(t *search[settings, *wall]) {
	t.grow(0, growSteps, func(s *settings, n int) { s.key, s.body = n, n })
	t.grow(t.at.key, growSteps, func(s *settings, n int) { s.body = n })
}

// settings are what may be changed to use the paper well.
type settings struct {
	key, body int  // steps by which the type has grown
	crew      int  // steps by which that of the assignments has, more than the rest
	wide      bool // more room between name and division
	rail      bool // codes stand right of the list, not below it
	beside    bool // texts stand right of who scans what
	fill      bool // rows of a list fill their page
}

// wall is a wall sheet at given sizes of type.
type wall struct {
	frame
	at      settings
	form    layer
	o       WallOptions
	symbols []placedSymbol
	parts   int // pieces in which lists and rows of marks stand, above one
}

// layWall lays out the list and all blocks behind it.
func layWall(r *plan.Resolved, o WallOptions, s settings) *wall {
	w, ok := newWall(r, o, s, layWall, true)
	if !ok {
		return w
	}
	w.newPage()
	for _, l := range r.Lists {
		w.list(l)
	}
	w.assignments()
	w.listeningAndTexts()
	return w
}

// grown is how many times its least size type has after steps.
func grown(steps int, most float64) float64 { return 1 + (most-1)*float64(steps)/growSteps }

// newWall is an empty sheet with its heads, the first one large or not, and feet.
func newWall(r *plan.Resolved, o WallOptions, s settings, form layer, large bool) (w *wall, ok bool) {
	w = &wall{o: o, at: s, form: form}
	w.r, w.words = r, o.Words
	w.key = CapAt(o.Distance*1000, arcminKey) * grown(s.key, growKey)
	w.mid = CapAt(o.Distance*500, arcminKey) * grown(s.key, growKey)
	w.body = SheetLeast() * grown(s.body, growBody)
	w.mid = max(w.mid, w.body)
	return w, w.frameOn(o.Paper, large)
}

// findings tells of each misfit, and on which paper, and from how near, verified,
// it fits.
func (w *wall) findings() finding.List {
	laid := map[WallOptions][]misfit{}
	try := func(o WallOptions, key string, value any, help string) remedy {
		return remedy{key: key, value: value, help: help, holds: func(m misfit) bool {
			if _, done := laid[o]; !done {
				laid[o] = w.form(w.r, o, settings{}).misfits
			}
			return !slices.Contains(laid[o], m)
		}}
	}
	var papers, nearer []remedy
	for _, p := range larger(PaperSizes(), w.paper) {
		o := w.o
		o.Paper = p.Across()
		papers = append(papers, try(o, "fits", p.Name, fmt.Sprintf("the smallest paper that holds it is %s: --wall-paper %s", p.Name, p.Name)))
	}
	for o := w.o; o.Distance > LeastDistance; {
		o.Distance = max(LeastDistance, math.Ceil(o.Distance*2-1)/2)
		nearer = append(nearer, try(o, "fits_at_m", o.Distance, fmt.Sprintf("to be read from %g m it fits this paper: --distance %g", o.Distance, o.Distance)))
	}
	return w.asFindings(notice{
		message: func(m misfit) string {
			return fmt.Sprintf("%s %q does not fit the wall sheet on %s at %g m", m.what, short(m.text), w.paper.Name, w.o.Distance)
		},
		data: func(m misfit) map[string]any {
			return map[string]any{"text": m.text, "sheet": "wall", "paper": w.paper.Name, "distance_m": w.o.Distance}
		},
		remedies: [][]remedy{papers, nearer},
		none:     "shorten it: no paper that slotcard knows holds it at this distance",
	})
}

// finish makes the QR symbols and the document.
func (w *wall) finish() *Document {
	w.makeSymbols()
	return w.frame.finish()
}
