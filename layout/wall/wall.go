// Package wall lays out the sheet for the wall: as a list ([List]) or a grid ([Grid]).
package wall

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"slotcard/layout"
	"slotcard/layout/frame"
	"slotcard/layout/set"
	"slotcard/layout/words"
	"slotcard/plan"
	"slotcard/plan/finding"
)

// The wall sheet. A list is one page, in type as large as the page allows: all that
// is on a page is sized by one distance, slots, names and divisions at 20 arcmin,
// the rest at 16, and the page says from how far it is read. Only what one walks up
// to, the facts of the head and the cautions of the foot, is fine print.

// Options say how to lay out the wall sheet.
type Options struct {
	Paper    layout.Size      // used across, or upright where that takes fewer pages; the zero Size: letter
	Distance float64          // meters from which it is read; 0: as far as a page for each list allows
	Clip     bool             // for a clipboard: everything on one upright page, read in the hand
	Symbols  *layout.Symbols  // shared with the cards; nil: made afresh
	Words    *words.WallWords // nil: English

	upright bool
	tight   bool // rows with little white
}

// Sheet is a wall sheet, and what came of it.
type Sheet struct {
	*layout.Document
	From []float64 // m: from how far each page is read

	// Where a distance was asked for, or a clipboard holds it on one page only if
	// the paper is larger: what makes it as few pages as there can be.
	Asked  float64   // m; 0: none
	Fewest int       // pages that it takes where no distance is asked for
	Else   []float64 // m, from how far these are read
	Paper  string    // smallest paper that holds it on as many from there; "": none does
	TooFar bool      // it cannot be read from there on this paper
}

// Distances, in meters, from which a wall sheet can be read, and a sheet in the hand.
const (
	LeastDistance = 0.5
	MostDistance  = 10
	handDistance  = 0.35
	stepDistance  = 0.05
)

// Modules of the symbols, mm, the largest first: one of 1.4 mm is 2.7 pixels of a
// photograph from 1.5 m, 4000 pixels wide over 69 degrees (common for phones; from
// memory); [layout.LeastModule] is what any paper has.
var modules = []float64{1.4, 1.15, 0.95, 0.75, 0.6, 0.5, layout.LeastModule}

// List lays out the sheet for the wall: all that blocks 1 to 6 of form ICS 205 hold.
// A list is one page, or lists that share most of their slots are one table on one;
// the rest follows on as few pages as hold it. What cannot be printed at its least
// size is a finding of rule does-not-fit, and then there is no document; a distance
// that cannot be had is none.
func List(r *plan.Resolved, o Options) (*Sheet, finding.List) {
	return searched(r, o, (*search).arrange)
}

// searched is the best sheet that a search finds.
func searched(r *plan.Resolved, o Options, find func(*search) *wall) (*Sheet, finding.List) {
	o = o.settled()
	if found := SymbolFaults(r); len(found) > 0 {
		return nil, found
	}
	asked := o.Distance
	o.Distance = 0
	tables := tablesOf(r, o.Words, len(r.Lists))
	either := func(o Options) *wall { return eitherWay(r, o, tables, find) }
	best := either(o)
	for _, most := range [...]int{12, 4, 1} { // a column for each list may leave no room for names
		if len(best.Misfits) == 0 {
			break
		}
		if more := tablesOf(r, o.Words, most); len(more) > len(tables) {
			tables = more
			best = either(o)
		}
	}
	if len(best.Misfits) > 0 {
		return nil, best.findings()
	}
	sheet := &Sheet{Fewest: len(best.Pages), Else: best.From}
	if asked > 0 {
		sheet.Asked = asked
		o.Distance = asked
		if at := either(o); at.Fits() {
			best = at
		} else {
			sheet.TooFar = true
		}
	}
	if asked > 0 && (sheet.TooFar || len(best.Pages) > sheet.Fewest) || o.Clip && len(best.Pages) > 1 {
		for _, p := range layout.Larger(layout.PaperSizes(), o.Paper) {
			o.Paper = p
			if at := either(o); at.Fits() && (sheet.TooFar || len(at.Pages) <= max(1, sheet.Fewest) && asked > 0 || len(at.Pages) == 1) {
				sheet.Paper = p.Name
				break
			}
		}
	}
	sheet.Document, sheet.From = best.finish(), best.From
	return sheet, nil
}

// A sheet of more lists than that is not laid out in other ways: they take long.
const mostTurned = 8

// eitherWay is the best sheet across, or where a list takes more than a page, or all more
// than two, upright or with less white in its rows, if that saves pages.
func eitherWay(r *plan.Resolved, o Options, tables []*table, find func(*search) *wall) *wall {
	best := find(newSearch(r, o.settled(), tables))
	for _, way := range []Options{{upright: true}, {tight: true}, {upright: true, tight: true}} {
		if n := len(best.Pages); o.Clip || !best.Fits() || len(r.Lists) > mostTurned || n <= 2 && best.listPages <= max(1, len(tables)) {
			continue
		}
		o.upright, o.tight = way.upright, way.tight
		if at := find(newSearch(r, o.settled(), tables)); at.Fits() &&
			(len(at.Pages) < len(best.Pages) || len(at.Pages) == len(best.Pages) && at.listPages < best.listPages) {
			best = at
		}
	}
	return best
}

// settled are the options with what they leave open.
func (o Options) settled() Options {
	frame.Settle(&o.Paper, &o.Words, &words.EnglishWall)
	o.Paper = o.Paper.Across()
	if o.Clip || o.upright {
		o.Paper.Width, o.Paper.Height = o.Paper.Height, o.Paper.Width
	}
	if o.Symbols == nil {
		o.Symbols = new(layout.Symbols)
	}
	return o
}

// least is the least distance from which the sheet is read, m.
func (o Options) least() float64 {
	if o.Clip {
		return handDistance
	}
	return LeastDistance
}

// codesAt is where the read-back codes and their symbols stand.
type codesAt uint8

const (
	codesNowhere     codesAt = iota // only while something else is measured
	codesBesideLists                // right of the tables
	codesBelowLists
	codesBesideRest // right of who works where
	codesBelowRest
)

// settings are what may be changed to use the paper well.
type settings struct {
	list, rest float64 // m, from which lists and the rest are read
	codes      codesAt
	module     float64 // of the symbols, mm, where these are no wider than half the page
	own        bool    // the rest begins a page of its own
	names      float64 // numbers and names of slots, times what the distance asks for; 0: once
	rowWhite   float64 // mm added to each row of the tables
	restWhite  float64 // mm added to each division
}

// parts of a sheet that are laid out.
type parts uint8

const (
	partLists parts = 1 << iota
	partRest
)

// search looks for the best arrangement of a wall sheet.
type search struct {
	r      *plan.Resolved
	o      Options
	tables []*table
	known  map[trial]outcome // what has come of trials
	forms  map[formKey]*formed
	rests  map[restKey]*rested
	saids  map[float64]*said // by meters
	heads  *frame.Heads
}

func newSearch(r *plan.Resolved, o Options, tables []*table) *search {
	return &search{r: r, o: o, tables: tables,
		known: map[trial]outcome{}, forms: map[formKey]*formed{}, rests: map[restKey]*rested{}, saids: map[float64]*said{}, heads: new(frame.Heads)}
}

// formKey is all on which the form of a table depends, restKey the same of the rest.
type formKey struct {
	*table
	meters, slot, width float64
}

type restKey struct{ meters, width, white float64 }

// formed is the form of a table, rested the flow of the rest; not ok: there is none.
type formed struct {
	tableForm
	ok bool
}

type rested struct {
	set.Flow
	crews int
	ok    bool
}

// trial is parts of a sheet in a setting.
type trial struct {
	settings
	parts
}

// outcome is what a trial tells.
type outcome struct {
	pages               int
	fits                bool
	body                float64 // cap height of what stands last, mm
	rows, crews         int     // as in wall
	listSpare, restLeft float64 // as in wall
}

func (w *wall) outcome() outcome {
	return outcome{len(w.Pages), w.Fits(), w.Body, w.rows, w.crews, w.listSpare, w.restLeft}
}

// wall is a wall sheet in the making.
type wall struct {
	frame.Frame
	*search
	at      settings
	slot    float64 // cap height of numbers and names of slots, mm
	meters  float64 // from which the page in the making is read
	symbols []placedSymbol

	listPages           int
	counted             int     // pages when rows were counted
	rows, crews         int     // that can take white: on a page, and in a column
	listSpare, restLeft float64 // mm left on the pages of both
}

// newWall is an empty sheet, read from a distance, to be drawn or on trial.
func (s *search) newWall(at settings, meters float64, drawn bool) (w *wall, ok bool) {
	w = &wall{search: s, at: at}
	w.Resolved, w.Words, w.Farthest, w.Trial = s.r, s.o.Words, MostDistance, !drawn
	w.Heads = s.heads
	w.Fine = layout.SheetLeast()
	if s.o.Clip {
		w.Fine = layout.CapAt(handDistance*1000, layout.ArcminLeast)
	}
	w.scale(meters)
	ok = w.Begin(s.o.Paper, false)
	open := w.Open
	w.Open = func() {
		open()
		w.From = append(w.From, w.meters)
	}
	return w, ok
}

// scale sizes what follows for a distance, m.
func (w *wall) scale(meters float64) {
	w.meters = meters
	w.Key = layout.CapAt(meters*1000, layout.ArcminKey)
	w.slot = w.Key * max(1, w.at.names)
	w.Mid, w.Body = w.Key, max(layout.CapAt(meters*1000, layout.ArcminLeast), w.Fine)
	w.Resize()
}

// try lays out parts of the sheet on trial, once for each setting.
func (s *search) try(at settings, p parts) (o outcome) {
	if at.own && p == partLists|partRest { // neither has to do with the other
		if o = s.try(at, partLists); !o.fits {
			return o
		}
		rest := s.try(at, partRest)
		o.pages, o.fits, o.body = o.pages+rest.pages, rest.fits, rest.body
		o.crews, o.restLeft = rest.crews, rest.restLeft
		return o
	}
	at.names = max(1, at.names)
	switch at.own = false; p { // what it has nothing to do with
	case partLists:
		at.rest, at.restWhite = 0, 0
		if at.codes != codesBesideLists && at.codes != codesBelowLists {
			at.codes, at.module = codesNowhere, 0
		}
	case partRest:
		at.list, at.names, at.rowWhite = 0, 0, 0
		if at.codes != codesBesideRest && at.codes != codesBelowRest {
			at.codes, at.module = codesNowhere, 0
		}
	}
	key := trial{at, p}
	if o, known := s.known[key]; known {
		return o
	}
	o = s.lay(at, p, false).outcome()
	s.known[key] = o
	return o
}

// lay lays out parts of the sheet, to be drawn or on trial.
func (s *search) lay(at settings, p parts, drawn bool) *wall {
	meters := at.list
	if p == partRest {
		meters = at.rest
	}
	w, ok := s.newWall(at, meters, drawn)
	if !ok {
		return w
	}
	if p == partRest {
		w.Continue() // it is no first page
	}
	w.NewPage()
	if p&partLists != 0 {
		w.lists()
		w.listPages, w.listSpare = len(w.Pages), w.Room()
	}
	if p&partRest != 0 && w.Fits() {
		if p&partLists != 0 && at.own {
			w.scale(at.rest)
			w.NewPage()
		}
		w.rest()
		w.restLeft = w.Room()
	}
	return w
}

// farthest is the largest distance from which parts are read on as few pages as they
// take when they are smallest; not ok: they cannot be had.
func (s *search) farthest(most float64, p parts, at settings) (m float64, pages int, ok bool) {
	return s.largest(most, func(m float64) outcome { return s.from(at, m, p) })
}

// from is [search.try] with all to be read from a distance.
func (s *search) from(at settings, m float64, p parts) outcome {
	at.list, at.rest = m, m
	return s.try(at, p)
}

// largest is that distance for sheets that are tried in some way.
func (s *search) largest(most float64, try func(m float64) outcome) (m float64, pages int, ok bool) {
	least := s.o.least()
	if s.o.Distance > 0 {
		o := try(s.o.Distance)
		return s.o.Distance, o.pages, o.fits
	}
	o := try(least)
	if !o.fits {
		return least, 0, false
	}
	pages = o.pages
	m, _ = set.Largest(least, max(least, most), stepDistance, func(m float64) bool {
		if m == least {
			return true
		}
		o := try(m)
		return o.fits && o.pages <= pages
	})
	return math.Round(m/stepDistance) / (1 / stepDistance), pages, true
}

// arrange finds the arrangement with the fewest pages, and among these the one with
// the largest symbols; then all type is as large as these pages hold.
func (s *search) arrange() *wall {
	list, listPages, ok := s.farthest(MostDistance, partLists, settings{own: true})
	if !ok {
		return s.lay(settings{list: list, rest: list, own: true}, partLists, true)
	}
	if at, ok := s.onePage(list, listPages); ok {
		return s.spread(at)
	}
	at := s.twoParts(list, listPages)
	if s.o.Distance == 0 {
		if flown, ok := s.flowing(at); ok {
			at = flown
		}
	}
	return s.spread(at)
}

// flowing lets the rest begin on the last page of the lists, where that saves a page.
func (s *search) flowing(parted settings) (at settings, ok bool) {
	pages := s.try(parted, partLists|partRest).pages
	if pages <= 2 {
		return at, false
	}
	for _, codes := range []codesAt{codesBelowRest, codesBesideRest, codesBelowLists, codesBesideLists} {
		module, fits := largestModule(s.modules(), func(module float64) bool {
			o := s.from(settings{codes: codes, module: module}, s.o.least(), partLists|partRest)
			return o.fits && o.pages < pages
		})
		if fits && module > at.module {
			at = settings{codes: codes, module: module}
		}
	}
	if at.module == 0 {
		return at, false
	}
	at.list, _, _ = s.farthest(parted.list, partLists|partRest, at)
	at.rest = at.list
	return at, true
}

const (
	namesMost = 1.6
	oneLeast  = 0.75 // lists give up no more than that of their distance for the rest
)

// compromise is the distance down to which lists, or the rest, go for large symbols.
func (s *search) compromise(list float64) float64 {
	if s.o.Distance > 0 {
		return s.o.Distance
	}
	return max(s.o.least(), list*oneLeast)
}

// onePage is everything on the page of the lists, where these do not get much smaller.
func (s *search) onePage(list float64, listPages int) (at settings, ok bool) {
	m := s.compromise(list)
	if s.o.Clip {
		m = s.o.least()
	}
	if listPages > 1 && s.o.Distance == 0 {
		return at, false
	}
	holds := func(codes codesAt, module float64) bool {
		o := s.from(settings{codes: codes, module: module}, m, partLists|partRest)
		return o.fits && o.pages == 1
	}
	modules := s.modules()
	var arrangements []codesAt
	for _, codes := range []codesAt{codesBesideRest, codesBelowRest, codesBesideLists, codesBelowLists} {
		if holds(codes, modules[len(modules)-1]) {
			arrangements = append(arrangements, codes)
		}
	}
	for _, codes := range arrangements {
		if module, ok := largestModule(modules, func(module float64) bool { return holds(codes, module) }); ok && module > at.module {
			at = settings{codes: codes, module: module}
		}
	}
	if at.module == 0 {
		return at, false
	}
	at.list, _, _ = s.farthest(list, partLists|partRest, at)
	at.rest = at.list
	return at, true
}

// largestModule is the first of some modules, the largest first, that something holds.
func largestModule(modules []float64, holds func(float64) bool) (module float64, ok bool) {
	n, ok := set.Largest(0, float64(len(modules)-1), 1, func(n float64) bool { return holds(modules[len(modules)-1-int(n)]) })
	return modules[len(modules)-1-int(n)], ok
}

// modules are those that symbols may have. In the hand, none needs to be large.
func (s *search) modules() []float64 {
	if s.o.Clip {
		return []float64{0.5, layout.LeastModule}
	}
	return modules
}

// twoParts is lists on pages of their own, the rest behind them.
func (s *search) twoParts(list float64, listPages int) settings {
	modules := s.modules()
	low := s.o.least()
	if s.o.Distance > 0 {
		low = s.o.Distance
	}
	smallest := modules[len(modules)-1]
	rest := map[codesAt]int{}
	fewest := 0
	for _, codes := range []codesAt{codesBesideRest, codesBelowRest, codesNowhere} {
		if o := s.from(settings{codes: codes, module: smallest}, low, partRest); o.fits {
			rest[codes] = o.pages
			if fewest == 0 || o.pages < fewest {
				fewest = o.pages
			}
		}
	}
	var best settings
	take := func(at settings) {
		if best.list == 0 || worth(at) > worth(best) {
			best = at
		}
	}
	for _, codes := range []codesAt{codesBesideRest, codesBelowRest} {
		if rest[codes] != fewest {
			continue
		}
		for _, m := range slices.Compact([]float64{s.compromise(list), low}) {
			at := settings{codes: codes, list: list, own: true}
			module, ok := largestModule(modules, func(module float64) bool {
				at.module = module
				o := s.from(at, m, partRest)
				return o.fits && o.pages == fewest
			})
			if at.module = module; ok {
				at.rest, _, _ = s.farthest(list, partRest, at)
				take(at)
			}
		}
	}
	for _, codes := range []codesAt{codesBelowLists, codesBesideLists} {
		if rest[codesNowhere] != fewest {
			continue
		}
		at := settings{codes: codes, own: true}
		module, ok := largestModule(modules, func(module float64) bool {
			at.module = module
			o := s.from(at, s.compromise(list), partLists)
			return o.fits && o.pages == listPages
		})
		if at.module = module; ok {
			at.list, _, _ = s.farthest(list, partLists, at)
			at.rest, _, _ = s.farthest(at.list, partRest, settings{codes: codesNowhere})
			take(at)
		}
	}
	if best.list == 0 {
		at := settings{list: list, rest: low, own: true, codes: codesBelowRest}
		at.module, _ = largestModule(modules, func(module float64) bool {
			at.module = module
			o := s.from(at, low, partRest)
			return module == smallest || o.fits && o.pages <= rest[codesBelowRest]
		})
		return at
	}
	return best
}

// worth of an arrangement: the type counts most, of the lists twice as much, and the
// symbols as much as the type of the rest.
func worth(at settings) float64 {
	return math.Log(at.list) + 0.5*math.Log(at.rest) + 0.5*math.Log(at.module)
}

// spread gives rows and divisions the white that their pages have left, and draws
// the sheet.
func (s *search) spread(at settings) *wall {
	const all = partLists | partRest
	best := s.try(at, all)
	if !best.fits {
		return s.lay(at, all, true)
	}
	white := at
	if at.own {
		white.restWhite = min(0.97*best.restLeft/float64(max(1, best.crews)), best.body*2.5)
	}
	// Numbers and names as large as that leaves all else alone.
	at.names, _ = set.Largest(1, namesMost, 0.05, func(n float64) bool {
		try := at
		try.names = n
		o := s.try(try, all)
		if n > 1 && (!o.fits || o.pages > best.pages) {
			return false
		}
		best = o
		return true
	})
	white.names = at.names
	left := best.restLeft
	if at.own {
		left = best.listSpare
	}
	white.rowWhite = max(0, min(0.97*left/float64(max(1, best.rows)), layout.CapAt(at.list*1000, layout.ArcminKey)*0.9))
	for range 3 {
		if o := s.try(white, all); o.fits && o.pages == best.pages {
			return s.lay(white, all, true)
		}
		white.restWhite, white.rowWhite = white.restWhite*0.6, white.rowWhite*0.6
	}
	return s.lay(at, all, true)
}

// findings tells of each misfit, and on which paper it fits.
func (w *wall) findings() finding.List {
	laid := map[string][]set.Misfit{}
	var papers []set.Remedy
	for _, p := range layout.Larger(layout.PaperSizes(), w.Paper) {
		papers = append(papers, set.Remedy{Key: "fits", Value: p.Name,
			Help: fmt.Sprintf("the smallest paper that holds it is %s: --wall-paper %s", p.Name, p.Name),
			Holds: func(m set.Misfit) bool {
				if _, done := laid[p.Name]; !done {
					o := w.o
					o.Paper = p
					o = o.settled()
					laid[p.Name] = newSearch(w.Resolved, o, w.tables).lay(settings{list: o.least(), rest: o.least(), module: layout.LeastModule, codes: codesBelowRest}, partLists|partRest, false).Misfits
				}
				return !slices.Contains(laid[p.Name], m)
			}})
	}
	return w.Findings(set.Notice{
		Message: func(m set.Misfit) string {
			return fmt.Sprintf("%s %q does not fit the wall sheet on %s", m.What, set.Short(m.Text), w.Paper.Name)
		},
		Data: func(m set.Misfit) map[string]any {
			return map[string]any{"text": m.Text, "sheet": "wall", "paper": w.Paper.Name}
		},
		Remedies: [][]set.Remedy{papers},
		None:     "shorten it: no paper that slotcard knows holds it",
	})
}

// SymbolFaults are the lists whose text no QR symbol holds, as findings of rule
// does-not-fit: no paper can carry them.
func SymbolFaults(r *plan.Resolved) finding.List {
	var found finding.List
	for _, l := range r.Lists {
		if _, ok := layout.SymbolSize(l.Text, layout.LevelM); ok {
			continue
		}
		var faults set.Faults
		faults.Add(set.Misfit{At: l.Slots[len(l.Slots)-1].At("channel"), Subject: cmp.Or(l.Name(r), r.Plan.Incident.Name)})
		found = append(found, faults.Findings(set.Notice{
			Message: func(set.Misfit) string {
				return fmt.Sprintf("the text of a list of %d slots, %d characters, does not fit a QR code, which holds %d", len(l.Slots), len(l.Text), layout.MostSymbol())
			},
			Data: func(set.Misfit) map[string]any {
				return map[string]any{"slots": len(l.Slots), "characters": len(l.Text), "most": layout.MostSymbol()}
			},
			None: "shorten the list, or give divisions lists of their own with carried_by",
		})...)
	}
	return found
}

// finish makes the QR symbols and the document.
func (w *wall) finish() *layout.Document {
	w.makeSymbols()
	return w.Frame.Finish()
}
