package layout

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"slotcard/fonts"
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
	p := newPress(r, o, layWall)
	if len(p.best.misfits) > 0 {
		return nil, p.best.findings()
	}
	// The codes beside the list rather than below it, unless that costs a page
	// or breaks the list; then the list as large as it goes, then the rest.
	p.try(knobs{rail: true})
	p.try(knobs{rail: p.best.knobs.rail, beside: true})
	p.turn(func(k *knobs) { k.wide = true })
	p.grow()
	p.growBy(0, func(k *knobs, n int) { k.crew = n })
	k := p.best.knobs
	k.fill = true
	if w := p.lay(k); slices.EqualFunc(w.pages, p.best.pages, func(a, b *page) bool { return len(a.marks) == len(b.marks) }) {
		p.best = w
	}
	return p.best.finish(), nil
}

// settled are the options with what they leave open.
func (o WallOptions) settled() WallOptions {
	if o.Paper == (Size{}) {
		o.Paper, _ = PaperSize("letter")
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
type layer func(r *plan.Resolved, o WallOptions, k knobs) *wall

// press tries sheets of one form and keeps the best.
type press struct {
	lay  func(k knobs) *wall
	best *wall
}

func newPress(r *plan.Resolved, o WallOptions, form layer) *press {
	o = o.settled()
	p := &press{lay: func(k knobs) *wall { return form(r, o, k) }}
	p.best = p.lay(knobs{})
	return p
}

// try takes a sheet on no more pages, in no more pieces.
func (p *press) try(k knobs) bool {
	w := p.lay(k)
	if len(w.misfits) > 0 || len(w.pages) > len(p.best.pages) || len(w.pages) == len(p.best.pages) && w.parts > p.best.parts {
		return false
	}
	p.best = w
	return true
}

// turn tries the best sheet's knobs with one of them turned.
func (p *press) turn(set func(k *knobs)) bool {
	k := p.best.knobs
	set(&k)
	return p.try(k)
}

// growBy turns a knob from a step on as far as it goes.
func (p *press) growBy(from int, set func(k *knobs, n int)) {
	k := p.best.knobs
	largest(float64(from), growSteps, 1, func(n float64) bool {
		grown := k
		set(&grown, int(n))
		return int(n) == from || p.try(grown)
	})
}

// grow makes all type as large as the pages allow, then what is small alone.
func (p *press) grow() {
	p.growBy(0, func(k *knobs, n int) { k.key, k.body = n, n })
	p.growBy(p.best.knobs.key, func(k *knobs, n int) { k.body = n })
}

// knobs are what may be turned to use the paper well.
type knobs struct {
	key, body int  // steps by which the type has grown
	crew      int  // steps by which that of the assignments has, more than the rest
	wide      bool // more room between name and division
	rail      bool // codes stand right of the list, not below it
	beside    bool // texts stand right of who scans what
	fill      bool // rows of a list fill their page
}

// wall is a wall sheet at given sizes of type.
type wall struct {
	pager
	form      layer
	knobs     knobs
	r         *plan.Resolved
	o         WallOptions
	w         *WallWords
	key       float64 // cap heights, mm: slot, name, division
	mid       float64 // channels in the assignments
	body      float64 // the rest
	headFirst block
	headNext  block
	foot      block
	misfits   []wallMisfit
	symbols   []placedSymbol
	parts     int // pieces in which lists and rows of marks stand, above one
}

// wallMisfit is a text that does not fit.
type wallMisfit struct {
	place finding.Place
	what  string // what kind of text, such as display name
	text  string
}

// layWall lays out the list and all blocks behind it.
func layWall(r *plan.Resolved, o WallOptions, k knobs) *wall {
	w := newWall(r, o, k, layWall, true)
	if len(w.misfits) > 0 {
		return w
	}
	w.turn()
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
func newWall(r *plan.Resolved, o WallOptions, k knobs, form layer, large bool) *wall {
	w := &wall{r: r, o: o, w: o.Words, knobs: k, form: form,
		key:  CapAt(o.Distance*1000, arcminKey) * grown(k.key, growKey),
		mid:  CapAt(o.Distance*500, arcminKey) * grown(k.key, growKey),
		body: SheetLeast() * grown(k.body, growBody),
	}
	w.mid = max(w.mid, w.body)
	w.paper = o.Paper
	w.margin = max(10, 0.045*o.Paper.Height)
	w.headFirst, w.headNext, w.foot = w.headingWith(large, true), w.heading(false), w.footing()
	if w.headFirst.h+w.foot.h > 0.6*(w.paper.Height-2*w.margin) {
		in := r.Plan.Incident
		w.misfit(in.At("name"), "heading", in.Name)
	}
	w.open = func(p *pager) {
		head := w.headNext
		if len(p.pages) == 1 {
			head = w.headFirst
		}
		c := &p.now().canvas
		head.draw(c, p.left(), p.y)
		w.foot.draw(c, p.left(), p.bottom-w.foot.h)
		p.y += head.h
		p.bottom -= w.foot.h
	}
	return w
}

func (w *wall) misfit(at finding.Place, what, text string) {
	m := wallMisfit{at, what, text}
	if !slices.Contains(w.misfits, m) {
		w.misfits = append(w.misfits, m)
	}
}

// findings tells of each misfit, and on which paper, and from how near, verified,
// it fits.
func (w *wall) findings() (list finding.List) {
	papers := slices.DeleteFunc(PaperSizes(), func(s Size) bool { return s.Width*s.Height <= w.paper.Width*w.paper.Height })
	slices.SortStableFunc(papers, func(a, b Size) int { return cmp.Compare(a.Width*a.Height, b.Width*b.Height) })
	laid := map[WallOptions]*wall{}
	fits := func(m wallMisfit, o WallOptions) bool {
		if laid[o] == nil {
			laid[o] = w.form(w.r, o, knobs{})
		}
		return !slices.Contains(laid[o].misfits, m)
	}
	for _, m := range w.misfits {
		f := finding.Finding{
			Rule: "does-not-fit", Severity: finding.Error, Place: m.place, Subject: m.text,
			Message: fmt.Sprintf("%s %q does not fit the wall sheet on %s at %g m", m.what, short(m.text), w.paper.Name, w.o.Distance),
			Data:    map[string]any{"text": m.text, "sheet": "wall", "paper": w.paper.Name, "distance_m": w.o.Distance},
		}
		for _, p := range papers {
			o := w.o
			if o.Paper = p.Across(); fits(m, o) {
				f.Help = append(f.Help, fmt.Sprintf("the smallest paper that holds it is %s: --wall-paper %s", p.Name, p.Name))
				f.Data["fits"] = p.Name
				break
			}
		}
		for o := w.o; o.Distance > LeastDistance; {
			o.Distance = max(LeastDistance, math.Ceil(o.Distance*2-1)/2)
			if fits(m, o) {
				f.Help = append(f.Help, fmt.Sprintf("to be read from %g m it fits this paper: --distance %g", o.Distance, o.Distance))
				f.Data["fits_at_m"] = o.Distance
				break
			}
		}
		if len(f.Help) == 0 {
			f.Help = append(f.Help, "shorten it: no paper that slotcard knows holds it at this distance")
		}
		list.Add(f)
	}
	return list
}

// short is a text at a length that a finding can hold.
func short(t string) string {
	if runes := []rune(t); len(runes) > 40 {
		return string(runes[:39]) + "…"
	}
	return t
}

// finish makes the document.
func (w *wall) finish() *Document {
	w.makeSymbols()
	in := w.r.Plan.Incident
	s := w.bold(1)
	return w.document(
		w.w.Title+": "+in.Name, fmt.Sprintf("%s %d, %s", w.w.OperationalPeriod, in.Period, w.w.span(first2(times(&in)))),
		w.w.Language,
		func(c *canvas, i, n int) {
			y := w.paper.Height - w.margin - w.foot.h + w.footTop() + s.cap()
			c.textRight(w.right(), y, s, w.pageText(i, n))
		})
}

func first2[T any](a, b, _ T) (T, T) { return a, b }

func (w *wall) pageText(i, n int) string {
	return filled(w.w.Page, "i", fmt.Sprint(i), "n", fmt.Sprint(n))
}

// Styles, their size in parts of the body's.
func (w *wall) regular(f float64) style { return capStyle(fonts.Regular, w.body*f) }
func (w *wall) bold(f float64) style    { return capStyle(fonts.Bold, w.body*f) }
func (w *wall) mono() style             { return capStyle(fonts.Mono, w.body) }

// Distances.
func (w *wall) pitch() float64   { return w.body * 1.85 } // of lines of text
func (w *wall) tight() float64   { return w.body * 1.75 } // of lines in a table
func (w *wall) between() float64 { return w.body * 3.0 }  // between blocks
func (w *wall) gutter() float64  { return w.key * 0.55 }

// pageRoom is the height that blocks have on a page after the first.
func (w *wall) pageRoom() float64 {
	return w.paper.Height - 2*w.margin - w.headNext.h - w.foot.h
}

const (
	wallHeavy = 0.9 // mm: rule below the heading
	wallMid   = 0.5
	wallLight = 0.18
)

// heading is the head of the first page, with all facts, or of a further one.
func (w *wall) heading(first bool) block { return w.headingWith(first, first) }

// headingWith is the head of a page, large to be seen from afar, or on one line
// where that holds it, with or without the facts below.
func (w *wall) headingWith(large, facts bool) block {
	in := w.r.Plan.Incident
	from, to, prepared := times(&in)
	label := w.regular(1.1)
	most := w.mid
	if large {
		most = min(w.key, w.paper.Height*0.05)
	}
	hours := w.w.span(from, to)
	hoursS, _ := shrink(w.bold(1), hours, most*0.6, w.body*1.1, w.width()*0.5)
	period, number, zone := w.bold(1.1), fmt.Sprintf("%s %d", w.w.OperationalPeriod, in.Period), ", "+w.w.zone(from)
	labelW := period.width(number) + label.width(zone)
	rightW := max(hoursS.width(hours), labelW)

	least := max(most*0.5, w.body*1.25)
	between := w.body * 2
	nameS, ok := shrink(w.bold(1), in.Name, most, least, w.width()-hoursS.width(hours)-between-labelW-w.key)
	single := !large && ok
	nameW := w.width() - rightW - w.key
	if !single {
		nameS, ok = shrink(w.bold(1), in.Name, most, least, nameW)
	}
	name := column{lines: [][]span{plain(nameS, in.Name)}, cap: nameS.cap(), pitch: nameS.cap() * 1.5}
	if !ok {
		name.lines = breakSpans(name.lines[0], nameW)
	}

	var below block
	if facts {
		below = w.facts(prepared)
	}
	band, bandGap := 0.0, 0.0
	if in.Exercise {
		band, bandGap = w.bandHeight(), w.body*1.6
	}
	nameTop := band + bandGap
	if !single {
		nameTop += label.cap() + w.body*1.5
	}
	nameTop += max(0, hoursS.cap()-name.height()) // both on one baseline
	lineY := nameTop + name.height() + max(w.body*1.7, nameS.cap()*0.4)
	h := lineY + wallHeavy + below.h + w.body*2.5
	return block{h: h, draw: func(c *canvas, x, y float64) {
		r := x + w.width()
		if in.Exercise {
			c.exerciseBand(x, y, w.width(), band, w.w.Exercise, w.w.ExerciseNote)
		}
		base := y + nameTop + name.height()
		name.draw(c, x, y+nameTop)
		c.textRight(r, base, hoursS, hours)
		if single {
			r -= hoursS.width(hours) + between
		} else {
			base = y + band + bandGap + label.cap()
			c.text(x, base, label, w.w.Title)
		}
		c.textRight(r, base, label, zone)
		c.textRight(r-label.width(zone), base, period, number)
		r = x + w.width()
		c.rule(x, r, y+lineY+wallHeavy/2, wallHeavy)
		if below.draw != nil {
			below.draw(c, x, y+lineY+wallHeavy)
		}
	}}
}

// facts are the label-and-value pairs below the heading.
func (w *wall) facts(prepared time.Time) block {
	in, load := w.r.Plan.Incident, w.r.Load.About
	loaded := strings.TrimSpace(load.Name + " " + load.Edition + " " + load.Colour)
	var marks []string
	for _, c := range w.r.EditionMarks {
		if !slices.Contains(marks, c.Name) {
			marks = append(marks, c.Name)
		}
	}
	if len(marks) > 0 {
		loaded += ", " + filled(w.w.EditionShown, "names", strings.Join(marks, ", "))
	}
	type fact struct{ label, value string }
	facts := []fact{
		{w.w.Number, in.Number},
		{w.w.Prepared, w.w.stamp(prepared)},
		{w.w.PreparedBy, in.PreparedBy},
		{w.w.LoadEdition, loaded},
	}
	facts = slices.DeleteFunc(facts, func(f fact) bool { return f.value == "" })
	label, value := w.regular(1), w.bold(1)
	gap := w.gutter() * 0.8
	room := w.width() - gap*float64(len(facts)-1)
	widths, least, sum := make([]float64, len(facts)), 0.0, 0.0
	for i, f := range facts {
		widths[i] = max(label.width(f.label), value.width(f.value))
		sum += widths[i]
		least += label.width(f.label)
	}
	for i, f := range facts { // what is left over between them, or each its share
		if sum <= room {
			widths[i] += (room - sum) / float64(len(facts))
		} else {
			l := label.width(f.label)
			widths[i] = l + (widths[i]-l)*(room-least)/(sum-least)
		}
	}
	top, values := w.body*1.4, label.cap()+w.body*1.2
	cells := make([]column, len(facts))
	h := 0.0
	for i, f := range facts {
		cells[i] = column{lines: breakSpans(plain(value, f.value), widths[i]), cap: value.cap(), pitch: w.pitch()}
		h = max(h, cells[i].height())
	}
	return block{h: top + values + h, draw: func(c *canvas, x, y float64) {
		for i, f := range facts {
			c.text(x, y+top+label.cap(), label, f.label)
			cells[i].draw(c, x, y+top+values)
			x += widths[i] + gap
		}
	}}
}

// bandHeight is the height of the exercise band at the head.
func (w *wall) bandHeight() float64 { return min(w.mid*1.75, w.paper.Height*0.042) }

// footTop is the room from the foot's top to its first line of text.
func (w *wall) footTop() float64 { return w.body * 1.9 }

// footing is the foot of every page: each may hang alone, so each carries the
// cautions and the exercise mark.
func (w *wall) footing() block {
	s := w.regular(1)
	pageW := w.bold(1).width(w.pageText(10, 10))
	notes := column{lines: breakSpans(plain(s, strings.Join(w.w.SheetNotes, " ")), w.width()-pageW-w.gutter()*2),
		cap: s.cap(), pitch: w.tight()}
	h := w.footTop() + notes.height() + w.body*0.4
	band := 0.0
	if w.r.Plan.Incident.Exercise {
		band = w.bandHeight() * 0.5
		h += w.body*1.2 + band
	}
	return block{h: h, draw: func(c *canvas, x, y float64) {
		notes.draw(c, x, y+w.footTop())
		if band > 0 {
			c.exerciseBand(x, y+h-band, w.width(), band, w.w.Exercise, "")
		}
	}}
}
