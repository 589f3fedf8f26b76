package layout

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"slotcard/fonts"
	"slotcard/plan"
	"slotcard/plan/finding"
)

// What the wall sheet and the change sheet share: measures, heading and foot.

// frame is a sheet of that family, in the making.
type frame struct {
	pager
	r         *plan.Resolved
	words     *WallWords
	key       float64 // cap heights, mm: slot, name, division
	mid       float64 // channels in the assignments
	body      float64 // the rest
	headFirst block
	headNext  block
	foot      block
	out       bool // this setting leaves too little room: another one is asked for
}

// frameOn prepares the pages of a frame whose type has its size; the first head
// is large to be seen from afar, or not. Not ok: head and foot leave no room.
func (w *frame) frameOn(paper Size, large bool) bool {
	w.paper = paper
	w.margin = max(10, 0.045*paper.Height)
	w.headFirst, w.headNext, w.foot = w.headingWith(large, true), w.headingWith(false, false), w.footing()
	if w.headFirst.h+w.foot.h > 0.6*(w.paper.Height-2*w.margin) {
		in := &w.r.Plan.Incident
		w.misfit(in.At("name"), "heading", in.Name)
		return false
	}
	w.open = func() {
		head := w.headNext
		if len(w.pages) == 1 {
			head = w.headFirst
		}
		c := &w.page().canvas
		head.put(c, w.left(), w.y)
		w.foot.put(c, w.left(), w.bottom-w.foot.h)
		w.y += head.h
		w.bottom -= w.foot.h
	}
	return true
}

func (w *frame) misfit(at finding.Place, what, text string) {
	w.add(misfit{at: at, what: what, text: text})
}

// fits tells whether the frame is a sheet.
func (w *frame) fits() bool { return !w.out && len(w.misfits) == 0 }

// columns sets blocks in columns of even height, under a head that is repeated.
func (w *frame) columns(mark string, n int, gutter float64, head func(again bool, used int) block, b []block) {
	f := flow{blocks: b, columns: n, gutter: gutter, even: true, mark: mark}
	if head != nil {
		f.head = func(p part) pile { return pile{{h: head(p.again, n).h}} }
		f.after = func(p part) { head(p.again, p.columns).put(&p.page.canvas, w.left(), p.top) }
	}
	w.flow(f)
}

// texts collects headings and sentences, one below the other in a column.
type texts struct {
	*frame
	wide   float64
	above  float64 // white above a heading
	blocks []block
}

func (t *texts) add(b ...block) { t.blocks = append(t.blocks, b...) }

// white between others.
func (t *texts) white(h float64) { t.add(block{h: h, gap: true}) }

func (t *texts) heading(said string) {
	if len(t.blocks) > 0 {
		t.white(t.above)
	}
	s := t.bold(1.3)
	b := s.stack(said, t.wide, s.cap()*1.6).block(t.body * 1.2)
	b.keep = true
	t.add(b)
}

// say adds a paragraph, a block for each line, so that a long one may go on in
// the next column but leaves no line alone; it stays with what follows it, or not.
func (t *texts) say(keep bool, said ...run) {
	lines := set(t.wide, said...)
	for i, l := range lines {
		b := drawn(t.pitch(), func(c *canvas, x, y float64) { c.line(x, y+t.body, l) })
		b.keep = keep && i == len(lines)-1 || i == 0 && len(lines) > 1 || i == len(lines)-2
		t.add(b)
	}
}

// finish makes the document and numbers its pages.
func (w *frame) finish() *Document {
	in := &w.r.Plan.Incident
	s := w.bold(1)
	from, to, _ := times(in)
	return w.document(w.words.Title+": "+in.Name, fmt.Sprintf("%s %d, %s", w.words.OperationalPeriod, in.Period, w.words.span(from, to)),
		w.words.Language, func(c *canvas, i, n int) {
			y := w.paper.Height - w.margin - w.foot.h + w.footTop() + s.cap()
			c.textRight(w.right(), y, s, w.words.page(i, n))
		})
}

// Styles, their size in parts of the body's.
func (w *frame) regular(f float64) style { return capStyle(fonts.Regular, w.body*f) }
func (w *frame) bold(f float64) style    { return capStyle(fonts.Bold, w.body*f) }
func (w *frame) mono() style             { return capStyle(fonts.Mono, w.body) }

// Distances.
func (w *frame) pitch() float64   { return w.body * 1.85 } // of lines of text
func (w *frame) tight() float64   { return w.body * 1.75 } // of lines in a table
func (w *frame) between() float64 { return w.body * 3.0 }  // between blocks
func (w *frame) gutter() float64  { return w.key * 0.55 }

// pageRoom is the height that blocks have on a page after the first.
func (w *frame) pageRoom() float64 {
	return w.paper.Height - 2*w.margin - w.headNext.h - w.foot.h
}

const (
	wallHeavy = 0.9 // mm: rule below the heading
	wallMid   = 0.5
	wallLight = 0.18
)

// headingWith is the head of a page, large to be seen from afar, or on one line
// where that holds it, with or without the facts below.
func (w *frame) headingWith(large, facts bool) block {
	in := w.r.Plan.Incident
	from, to, prepared := times(&in)
	label := w.regular(1.1)
	most := w.mid
	if large {
		most = min(w.key, w.paper.Height*0.05)
	}
	hours := w.words.span(from, to)
	hoursS, _ := shrink(w.bold(1), hours, most*0.6, w.body*1.1, w.width()*0.5)
	period, number, zone := w.bold(1.1), fmt.Sprintf("%s %d", w.words.OperationalPeriod, in.Period), ", "+w.words.zone(from)
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
	name := stack{lines: []line{nameS.line(in.Name)}, cap: nameS.cap(), pitch: nameS.cap() * 1.5}
	if !ok {
		name.lines = set(nameW, nameS.say(in.Name))
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
	return drawn(h, func(c *canvas, x, y float64) {
		r := x + w.width()
		if in.Exercise {
			c.exerciseBand(x, y, w.width(), band, w.words.Exercise, w.words.ExerciseNote)
		}
		base := y + nameTop + name.height()
		name.draw(c, x, y+nameTop)
		c.textRight(r, base, hoursS, hours)
		if single {
			r -= hoursS.width(hours) + between
		} else {
			base = y + band + bandGap + label.cap()
			c.text(x, base, label, w.words.Title)
		}
		c.textRight(r, base, label, zone)
		c.textRight(r-label.width(zone), base, period, number)
		r = x + w.width()
		c.rule(x, r, y+lineY+wallHeavy/2, wallHeavy)
		below.put(c, x, y+lineY+wallHeavy)
	})
}

// facts are the label-and-value pairs below the heading.
func (w *frame) facts(prepared time.Time) block {
	in, load := w.r.Plan.Incident, w.r.Load.About
	loaded := strings.TrimSpace(load.Name + " " + load.Edition + " " + load.Colour)
	var marks []string
	for _, c := range w.r.EditionMarks {
		if !slices.Contains(marks, c.Name) {
			marks = append(marks, c.Name)
		}
	}
	if len(marks) > 0 {
		loaded += ", " + filled(w.words.EditionShown, "names", strings.Join(marks, ", "))
	}
	type fact struct{ label, value string }
	facts := []fact{
		{w.words.Number, in.Number},
		{w.words.Prepared, w.words.stamp(prepared)},
		{w.words.PreparedBy, in.PreparedBy},
		{w.words.LoadEdition, loaded},
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
	cells := make([]stack, len(facts))
	h := 0.0
	for i, f := range facts {
		cells[i] = value.stack(f.value, widths[i], w.pitch())
		h = max(h, cells[i].height())
	}
	return drawn(top+values+h, func(c *canvas, x, y float64) {
		for i, f := range facts {
			c.text(x, y+top+label.cap(), label, f.label)
			cells[i].draw(c, x, y+top+values)
			x += widths[i] + gap
		}
	})
}

// bandHeight is the height of the exercise band at the head.
func (w *frame) bandHeight() float64 { return min(w.mid*1.75, w.paper.Height*0.042) }

// footTop is the room from the foot's top to its first line of text.
func (w *frame) footTop() float64 { return w.body * 1.9 }

// footing is the foot of every page: each may hang alone, so each carries the
// cautions and the exercise mark.
func (w *frame) footing() block {
	s := w.regular(1)
	pageW := w.bold(1).width(w.words.page(10, 10))
	notes := s.stack(strings.Join(w.words.SheetNotes, " "), w.width()-pageW-w.gutter()*2, w.tight())
	h := w.footTop() + notes.height() + w.body*0.4
	band := 0.0
	if w.r.Plan.Incident.Exercise {
		band = w.bandHeight() * 0.5
		h += w.body*1.2 + band
	}
	return drawn(h, func(c *canvas, x, y float64) {
		notes.draw(c, x, y+w.footTop())
		if band > 0 {
			c.exerciseBand(x, y+h-band, w.width(), band, w.words.Exercise, "")
		}
	})
}
