// Package frame is what the sheets of one family share, the wall sheet, the change
// sheet, the sheet of the fire and the page behind strips: head, foot, measures and
// styles, and misfits. [Frame.Begin] prepares the pages, [Frame.Finish] makes the
// document.
package frame

import (
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"slotcard/fonts"
	"slotcard/layout"
	"slotcard/layout/set"
	"slotcard/layout/words"
	"slotcard/plan"
	"slotcard/plan/finding"
)

// Frame is a sheet of that family, in the making. Whoever makes one sets what it says
// and its sizes, then calls [Frame.Begin].
type Frame struct {
	set.Pager
	Resolved *plan.Resolved
	Words    *words.WallWords
	Key      float64   // cap heights, mm: slot, name, division
	Mid      float64   // the incident in the head, where that is not large
	Body     float64   // the rest
	Fine     float64   // fine print of head and foot, read near by
	Bare     bool      // the first head has no facts
	Farthest float64   // m: the most that a page may say from how far it is read; 0: none says it
	From     []float64 // that distance of each page, m
	Out      bool      // this setting leaves too little room: another one is asked for
	Heads    *Heads    // made so far, by frames that differ in their sizes alone; nil: none are kept

	headFirst, headNext, foot set.Block
}

// Heads are heads and feet that were made, by the sizes of which they are.
type Heads struct {
	made map[headKey]madeHead
}

type headKey struct {
	key, mid, body, fine float64
	what                 headKind
}

type headKind uint8

const (
	headLarge headKind = 1 << iota
	headFacts
	foot
)

type madeHead struct {
	set.Block
	out bool
}

// made is a head or foot of the frame's sizes.
func (w *Frame) made(what headKind) set.Block {
	if w.Heads == nil {
		w.Heads = new(Heads)
	}
	key := headKey{w.Key, w.Mid, w.Body, w.Fine, what}
	if what == foot && w.Farthest > 0 { // of all pages alike, whatever their sizes
		key.key, key.mid, key.body = 0, 0, 0
	}
	m, known := w.Heads.made[key]
	if !known {
		if what == foot {
			m.Block = w.footing()
		} else {
			m.Block, m.out = w.headingWith(what&headLarge > 0, what&headFacts > 0)
		}
		if w.Heads.made == nil {
			w.Heads.made = map[headKey]madeHead{}
		}
		w.Heads.made[key] = m
	}
	w.Out = w.Out || m.out
	return m.Block
}

// Weights of rules, mm.
const (
	RuleHeavy = 0.9 // below the heading
	RuleMid   = 0.5
	RuleLight = 0.18
)

// Settle fills in what the options of a sheet leave open: the default paper, and
// English.
func Settle[Words any](paper *layout.Size, said **Words, english *Words) {
	if *paper == (layout.Size{}) {
		*paper, _ = layout.PaperSize(layout.DefaultPaper)
	}
	if *said == nil {
		*said = english
	}
}

// Near is a frame that is read in the hand, all but the incident in its head: its body so
// many times the least size.
func Near(r *plan.Resolved, said words.WallWords, title string, times float64) Frame {
	said.Title = title
	mid := layout.CapAt(1000, layout.ArcminKey)
	body := layout.SheetLeast() * times
	return Frame{Resolved: r, Words: &said, Key: mid * 1.5, Mid: mid, Body: body, Fine: body}
}

// GrowSteps is in how many steps type grows where a list is short or the paper large.
const GrowSteps = 8

// Grown is how many times its least size type has after steps.
func Grown(steps int, most float64) float64 { return 1 + (most-1)*float64(steps)/GrowSteps }

// Begin prepares the pages of a frame whose type has its size; the first head
// is large to be seen from afar, or not. Not ok: head and foot leave no room.
func (w *Frame) Begin(paper layout.Size, large bool) bool {
	w.Paper = paper
	w.Margin = max(10, 0.045*paper.Height)
	first := headKind(0)
	if large {
		first |= headLarge
	}
	if !w.Bare {
		first |= headFacts
	}
	w.headFirst, w.headNext, w.foot = w.made(first), w.made(0), w.made(foot)
	if w.headFirst.H+w.foot.H > 0.6*(w.Paper.Height-2*w.Margin) {
		in := &w.Resolved.Plan.Incident
		w.Misfit(in.At("name"), "heading", in.Name)
		return false
	}
	w.Open = func() {
		head := w.headNext
		if len(w.Pages) == 1 {
			head = w.headFirst
		}
		if c := &w.Page().Canvas; !w.Trial {
			head.Put(c, w.Left(), w.Y)
		}
		w.Y += head.H
		w.Bottom -= w.foot.H
	}
	return true
}

// Misfit notes a text that does not fit.
func (w *Frame) Misfit(at finding.Place, what, text string) {
	w.Add(set.Misfit{At: at, What: what, Text: text})
}

// Fits tells whether the frame is a sheet.
func (w *Frame) Fits() bool { return !w.Out && len(w.Misfits) == 0 }

// Texts begins a column of headings and sentences.
func (w *Frame) Texts(wide, above float64) *set.Texts {
	return &set.Texts{Wide: wide, Above: above, Head: w.Bold(1.3), Below: w.Body * 1.2, Cap: w.Body, Pitch: w.Pitch()}
}

// Finish makes the document, with the foot of each page, which is read last, and its number.
func (w *Frame) Finish() *layout.Document {
	in := &w.Resolved.Plan.Incident
	s := w.strong(1)
	from, to, _ := words.Times(in)
	return w.Document(w.Words.Title+": "+in.Name, w.Words.Numbered(w.Words.OperationalPeriod, in)+", "+w.Words.Span(from, to),
		w.Words.Language, func(c *set.Canvas, i, n int) {
			top := w.Paper.Height - w.Margin - w.foot.H
			w.foot.Put(c, w.Left(), top)
			y := top + w.footTop() + s.Cap()
			if w.Farthest > 0 {
				for _, said := range w.readFrom(w.From[i-1]) {
					c.TextRight(w.Right(), y, w.Small(1), said)
					y += w.Fine * 1.75
				}
			}
			c.TextRight(w.Right(), y, s, w.Words.PageOf(i, n))
		})
}

// Regular, Bold and Mono are styles, the first two with a size in parts of the body's.
func (w *Frame) Regular(f float64) set.Style { return set.CapStyle(fonts.Regular, w.Body*f) }
func (w *Frame) Bold(f float64) set.Style    { return set.CapStyle(fonts.Bold, w.Body*f) }
func (w *Frame) Mono() set.Style             { return set.CapStyle(fonts.Mono, w.Body) }

// Small and strong are the same of fine print.
func (w *Frame) Small(f float64) set.Style  { return set.CapStyle(fonts.Regular, w.Fine*f) }
func (w *Frame) strong(f float64) set.Style { return set.CapStyle(fonts.Bold, w.Fine*f) }

// Pitch is the distance of lines of text, Tight that of lines in a table, mm.
func (w *Frame) Pitch() float64 { return w.Body * 1.85 }
func (w *Frame) Tight() float64 { return w.Body * 1.75 }

func (w *Frame) gutter() float64 { return w.Key * 0.55 }

// Resize makes the heads of further pages anew where the type has changed.
func (w *Frame) Resize() {
	if w.foot.H > 0 {
		w.headNext = w.made(0)
	}
}

// Continue makes the first head one of further pages.
func (w *Frame) Continue() { w.headFirst = w.headNext }

// PageRoom is the height that blocks have on a page after the first.
func (w *Frame) PageRoom() float64 {
	return w.Paper.Height - 2*w.Margin - w.headNext.H - w.foot.H
}

// FirstRoom is that height on the first page.
func (w *Frame) FirstRoom() float64 {
	return w.Paper.Height - 2*w.Margin - max(w.headFirst.H, w.headNext.H) - w.foot.H
}

// rightMost is the share of the width that the period may take beside the name.
const rightMost = 0.8

// headingWith is the head of a page, large to be seen from afar, or on one line
// where that holds it, with or without the facts below. Out: there is no room for it.
func (w *Frame) headingWith(large, facts bool) (_ set.Block, out bool) {
	in := w.Resolved.Plan.Incident
	from, to, prepared := words.Times(&in)
	label := w.Small(1.1)
	most := w.Mid
	if large {
		most = min(w.Key, w.Paper.Height*0.05)
	}
	hours := w.Words.Span(from, to)
	hoursS, _ := set.Shrink(w.Bold(1), hours, most*0.6, w.Body*1.1, w.Width()*0.5)
	period, number, zone := w.strong(1.1), w.Words.Numbered(w.Words.OperationalPeriod, &in), ", "+w.Words.ZoneOf(from)
	labelW := period.Width(number) + label.Width(zone)
	rightW := max(hoursS.Width(hours), labelW)
	if rightW > w.Width()*rightMost { // no size of the name could stand beside that
		out = true
	}

	least := max(most*0.5, w.Body*1.25)
	between := w.Fine * 2
	nameS, ok := set.Shrink(w.Bold(1), in.Name, most, least, w.Width()-hoursS.Width(hours)-between-labelW-w.Key)
	single := !large && ok
	nameW := w.Width() - rightW - w.Key
	if !single {
		nameS, ok = set.Shrink(w.Bold(1), in.Name, most, least, nameW)
	}
	name := set.Stack{Lines: []set.Line{nameS.Line(in.Name)}, Cap: nameS.Cap(), Pitch: nameS.Cap() * 1.5}
	if !ok {
		name.Lines = set.Paragraph(nameW, nameS.Say(in.Name))
	}

	var below set.Block
	if facts {
		below = w.facts(prepared)
	}
	band, bandGap := 0.0, 0.0
	if in.Exercise {
		band, bandGap = w.bandHeight(), w.Fine*1.6
	}
	nameTop := band + bandGap
	var title set.Stack // beside the period
	if !single {
		title = label.Stack(w.Words.Title, w.Width()-labelW-w.Key, w.Fine*1.85)
		nameTop += title.Height() + w.Fine*1.5
	}
	nameTop += max(0, hoursS.Cap()-name.Height()) // both on one baseline
	lineY := nameTop + name.Height() + max(w.Fine*1.7, nameS.Cap()*0.4)
	h := lineY + RuleHeavy + below.H + w.Fine*2.5
	return set.Drawn(h, func(c *set.Canvas, x, y float64) {
		r := x + w.Width()
		if in.Exercise {
			c.ExerciseBand(x, y, w.Width(), band, w.Words.Exercise, w.Words.ExerciseNote)
		}
		base := y + nameTop + name.Height()
		name.Draw(c, x, y+nameTop)
		c.TextRight(r, base, hoursS, hours)
		if single {
			r -= hoursS.Width(hours) + between
		} else {
			base = y + band + bandGap + label.Cap()
			title.Draw(c, x, y+band+bandGap)
		}
		c.TextRight(r-label.Width(zone), base, period, number)
		c.TextRight(r, base, label, zone)
		r = x + w.Width()
		c.Rule(x, r, y+lineY+RuleHeavy/2, RuleHeavy)
		below.Put(c, x, y+lineY+RuleHeavy)
	}), out
}

// facts are the label-and-value pairs below the heading.
func (w *Frame) facts(prepared time.Time) set.Block {
	in, load := w.Resolved.Plan.Incident, w.Resolved.Load.About
	loaded := strings.TrimSpace(load.Name + " " + load.Edition + " " + load.Colour)
	var marks []string
	for _, c := range w.Resolved.EditionMarks {
		if !slices.Contains(marks, c.Name) {
			marks = append(marks, c.Name)
		}
	}
	if len(marks) > 0 {
		loaded += ", " + words.Filled(w.Words.EditionShown, "names", strings.Join(marks, ", "))
	}
	type fact struct{ label, value string }
	facts := []fact{
		{w.Words.Number, in.Number},
		{w.Words.Prepared, w.Words.Stamp(prepared)},
		{w.Words.PreparedBy, in.PreparedBy},
		{w.Words.LoadEdition, loaded},
	}
	facts = slices.DeleteFunc(facts, func(f fact) bool { return f.value == "" })
	label, value := w.Small(1), w.strong(1)
	gap := w.gutter() * 0.8
	room := w.Width() - gap*float64(len(facts)-1)
	widths, least, sum := make([]float64, len(facts)), 0.0, 0.0
	for i, f := range facts {
		widths[i] = max(label.Width(f.label), value.Width(f.value))
		sum += widths[i]
		least += label.Width(f.label)
	}
	for i, f := range facts { // what is left over between them, or each its share
		if sum <= room {
			widths[i] += (room - sum) / float64(len(facts))
		} else {
			l := label.Width(f.label)
			widths[i] = l + (widths[i]-l)*(room-least)/(sum-least)
		}
	}
	top, values := w.Fine*1.4, label.Cap()+w.Fine*1.2
	cells := make([]set.Stack, len(facts))
	h := 0.0
	for i, f := range facts {
		cells[i] = value.Stack(f.value, widths[i], w.Fine*1.85)
		h = max(h, cells[i].Height())
	}
	return set.Drawn(top+values+h, func(c *set.Canvas, x, y float64) {
		for i, f := range facts {
			c.Text(x, y+top+label.Cap(), label, f.label)
			cells[i].Draw(c, x, y+top+values)
			x += widths[i] + gap
		}
	})
}

// bandHeight is the height of the exercise band at the head.
func (w *Frame) bandHeight() float64 {
	high := w.Mid * 1.75
	if w.Farthest > 0 { // of all pages alike, whatever distance each is read from
		high = w.Fine * 3.4
	}
	return max(min(high, w.Paper.Height*0.042), min(w.Paper.Width, w.Paper.Height)*0.03)
}

// footTop is the room from the foot's top to its first line of text.
func (w *Frame) footTop() float64 { return w.Fine * 1.9 }

// footing is the foot of every page: each may hang alone, so each carries the
// cautions and the exercise mark.
func (w *Frame) footing() set.Block {
	s, pitch := w.Small(1), w.Fine*1.75
	beside, lines, gap := w.strong(1).Width(w.Words.PageOf(10, 10)), 1, w.gutter()*2
	if w.Farthest > 0 {
		gap = w.Fine * 4 // on all pages alike
		said := w.readFrom(w.Farthest + 0.05)
		beside, lines = max(beside, widest(s, said)), len(said)+1
	}
	wide := w.Width() - beside - gap
	notes := s.Stack(strings.Join(w.Words.SheetNotes, " "), wide, pitch)
	// One thing more, where the last line has room for it.
	if more := s.Stack(strings.Join(w.Words.SheetNotes, " ")+" "+w.Words.StepApart, wide, pitch); len(more.Lines) == len(notes.Lines) {
		notes = more
	}
	band := 0.0
	if w.Resolved.Plan.Incident.Exercise {
		band = w.bandHeight() * 0.5
	}
	h := max(notes.Height(), s.Cap()+float64(lines-1)*pitch)
	return Foot(notes, h, w.Width(), w.footTop(), w.Fine, w.Fine*1.2, band, w.Words.Exercise)
}

// readFrom says from how far a page is read, and its fine print.
func (w *Frame) readFrom(m float64) []string {
	far := []string{words.Filled(w.Words.ReadFrom, "m", strconv.FormatFloat(m, 'f', -1, 64))}
	if near := w.finePrint(); near < m {
		far = append(far, words.Filled(w.Words.FinePrint, "m", strconv.FormatFloat(near, 'f', -1, 64)))
	}
	return far
}

// finePrint is from where fine print is read, m.
func (w *Frame) finePrint() float64 {
	return math.Floor(w.Fine/layout.CapAt(1000, layout.ArcminLeast)*100+set.Tolerance) / 100
}

func widest(s set.Style, texts []string) (most float64) {
	for _, t := range texts {
		most = max(most, s.Width(t))
	}
	return most
}

// Foot is a foot with its notes from top on, high mm with what stands beside them;
// where there is a band, it stands below, a gap away.
func Foot(notes set.Stack, high, width, top, body, gap, band float64, word string) set.Block {
	h := top + high + body*0.4
	if band > 0 {
		h += gap + band
	}
	return set.Drawn(h, func(c *set.Canvas, x, y float64) {
		notes.Draw(c, x, y+top)
		if band > 0 {
			c.ExerciseBand(x, y+h-band, width, band, word, "")
		}
	})
}
