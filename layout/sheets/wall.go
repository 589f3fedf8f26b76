// Package sheets lays out the sheets of a plan: for the wall as a list ([Wall]) or
// a grid ([WallGrid]), for handing out cards ([Handout]), and of what changes
// ([ChangeSheet]).
package sheets

import (
	"fmt"
	"math"
	"slices"

	"slotcard/layout"
	"slotcard/layout/set"
	"slotcard/layout/words"
	"slotcard/plan"
	"slotcard/plan/finding"
)

// WallOptions say how to lay out the wall sheet.
type WallOptions struct {
	Paper    layout.Size      // used across; the zero Size: letter
	Distance float64          // meters from which slot, name and division are read; 0: 2
	Symbols  *layout.Symbols  // shared with the cards; nil: made afresh
	Words    *words.WallWords // nil: English
}

// wallDistance is that from which slot numbers, display names and divisions are
// read, m, at 20 arcmin; what one walks up to, channel numbers in the assignments,
// is read at 20 arcmin from half of it; everything else near by.
const wallDistance = 2.0

// Distances, in meters, from which a wall sheet can be read.
const (
	LeastDistance = 0.5
	MostDistance  = 10
)

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
func Wall(r *plan.Resolved, o WallOptions) (*layout.Document, finding.List) {
	t := trials(r, o, layWall)
	if len(t.Best.Misfits) > 0 {
		return nil, t.Best.findings()
	}
	// The codes beside the list rather than below it, unless that costs a page
	// or breaks the list; then the list as large as it goes, then the rest.
	t.Vary(func(s *settings) { s.rail = true })
	t.Vary(func(s *settings) { s.beside = true })
	t.Vary(func(s *settings) { s.wide = true })
	growAll(t)
	t.Grow(0, growSteps, func(s *settings, n int) { s.crew = n })
	full := t.At
	full.fill = true
	if w := t.Lay(full); slices.EqualFunc(w.Pages, t.Best.Pages, func(a, b *set.Page) bool { return len(a.Marks) == len(b.Marks) }) {
		t.Best = w
	}
	return t.Best.finish(), nil
}

// settled are the options with what they leave open.
func (o WallOptions) settled() WallOptions {
	if o.Paper == (layout.Size{}) {
		o.Paper, _ = layout.PaperSize(layout.DefaultPaper)
	}
	o.Paper = o.Paper.Across()
	if o.Distance <= 0 {
		o.Distance = wallDistance
	}
	if o.Symbols == nil {
		o.Symbols = new(layout.Symbols)
	}
	if o.Words == nil {
		o.Words = &words.EnglishWall
	}
	return o
}

// layer lays out one form of the wall sheet.
type layer func(r *plan.Resolved, o WallOptions, s settings) *wall

// trials keep the best sheet of one form: on the fewest pages, in the fewest
// pieces.
func trials(r *plan.Resolved, o WallOptions, form layer) *set.Search[settings, *wall] {
	o = o.settled()
	return set.NewSearch(func(s settings) *wall { return form(r, o, s) }, func(w, best *wall) bool {
		return w.fits() && (len(w.Pages) < len(best.Pages) || len(w.Pages) == len(best.Pages) && w.parts <= best.parts)
	})
}

// growAll makes all type as large as the pages allow, then what is small alone.
func growAll(t *set.Search[settings, *wall]) {
	t.Grow(0, growSteps, func(s *settings, n int) { s.key, s.body = n, n })
	t.Grow(t.At.key, growSteps, func(s *settings, n int) { s.body = n })
}

// settings are what may be changed to use the paper well.
type settings struct {
	key, body int  // steps by which the type has grown
	crew      int  // steps by which that of the assignments has, more than the rest
	wide      bool // more room between name and division
	rail      bool // codes stand right of the list, not below it
	beside    bool // texts stand right of who scans what
	fill      bool // rows of a list fill their page
	dense     int  // 1: no facts in the head, less white; 2: of the fire, no names that stand elsewhere on it
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
	w.NewPage()
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
	w.key = layout.CapAt(o.Distance*1000, layout.ArcminKey) * grown(s.key, growKey)
	w.mid = layout.CapAt(o.Distance*500, layout.ArcminKey) * grown(s.key, growKey)
	w.body = layout.SheetLeast() * grown(s.body, growBody)
	w.mid = max(w.mid, w.body)
	return w, w.frameOn(o.Paper, large)
}

// findings tells of each misfit, and on which paper, and from how near, verified,
// it fits.
func (w *wall) findings() finding.List {
	laid := map[WallOptions][]set.Misfit{}
	try := func(o WallOptions, key string, value any, help string) set.Remedy {
		return set.Remedy{Key: key, Value: value, Help: help, Holds: func(m set.Misfit) bool {
			if _, done := laid[o]; !done {
				laid[o] = w.form(w.r, o, settings{}).Misfits
			}
			return !slices.Contains(laid[o], m)
		}}
	}
	var papers, nearer []set.Remedy
	for _, p := range layout.Larger(layout.PaperSizes(), w.Paper) {
		o := w.o
		o.Paper = p.Across()
		papers = append(papers, try(o, "fits", p.Name, fmt.Sprintf("the smallest paper that holds it is %s: --wall-paper %s", p.Name, p.Name)))
	}
	for o := w.o; o.Distance > LeastDistance; {
		o.Distance = max(LeastDistance, math.Ceil(o.Distance*2-1)/2)
		nearer = append(nearer, try(o, "fits_at_m", o.Distance, fmt.Sprintf("to be read from %g m it fits this paper: --distance %g", o.Distance, o.Distance)))
	}
	return w.Findings(set.Notice{
		Message: func(m set.Misfit) string {
			return fmt.Sprintf("%s %q does not fit the wall sheet on %s at %g m", m.What, set.Short(m.Text), w.Paper.Name, w.o.Distance)
		},
		Data: func(m set.Misfit) map[string]any {
			return map[string]any{"text": m.Text, "sheet": "wall", "paper": w.Paper.Name, "distance_m": w.o.Distance}
		},
		Remedies: [][]set.Remedy{papers, nearer},
		None:     "shorten it: no paper that slotcard knows holds it at this distance",
	})
}

// finish makes the QR symbols and the document.
func (w *wall) finish() *layout.Document {
	w.makeSymbols()
	return w.frame.finish()
}
