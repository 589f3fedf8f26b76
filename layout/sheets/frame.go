package sheets

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

// What the wall sheet and the change sheet share: measures, heading and foot.

// frame is a sheet of that family, in the making.
type frame struct {
	set.Pager
	r         *plan.Resolved
	words     *words.WallWords
	key       float64 // cap heights, mm: slot, name, division
	mid       float64 // the incident in the head, where that is not large
	body      float64 // the rest
	fine      float64 // fine print of head and foot, read near by
	headFirst set.Block
	headNext  set.Block
	foot      set.Block
	bare      bool      // the first head has no facts
	far       bool      // each page says from how far it is read
	from      []float64 // that distance of each page, m
	out       bool      // this setting leaves too little room: another one is asked for
}

// frameOn prepares the pages of a frame whose type has its size; the first head
// is large to be seen from afar, or not. Not ok: head and foot leave no room.
func (w *frame) frameOn(paper layout.Size, large bool) bool {
	w.Paper = paper
	w.Margin = max(10, 0.045*paper.Height)
	w.headFirst, w.headNext, w.foot = w.headingWith(large, !w.bare), w.headingWith(false, false), w.footing()
	if w.headFirst.H+w.foot.H > 0.6*(w.Paper.Height-2*w.Margin) {
		in := &w.r.Plan.Incident
		w.misfit(in.At("name"), "heading", in.Name)
		return false
	}
	w.Open = func() {
		head := w.headNext
		if len(w.Pages) == 1 {
			head = w.headFirst
		}
		c := &w.Page().Canvas
		head.Put(c, w.Left(), w.Y)
		w.foot.Put(c, w.Left(), w.Bottom-w.foot.H)
		w.Y += head.H
		w.Bottom -= w.foot.H
	}
	return true
}

func (w *frame) misfit(at finding.Place, what, text string) {
	w.Add(set.Misfit{At: at, What: what, Text: text})
}

// fits tells whether the frame is a sheet.
func (w *frame) fits() bool { return !w.out && len(w.Misfits) == 0 }

// columns sets blocks in columns of even height, under a head that is repeated.
func (w *frame) columns(mark string, n int, gutter float64, head func(again bool, used int) set.Block, b []set.Block) {
	f := set.Flow{Blocks: b, Columns: n, Gutter: gutter, Even: true, Mark: mark}
	if head != nil {
		f.Head = func(p set.Part) set.Pile { return set.Pile{{H: head(p.Again, n).H}} }
		f.After = func(p set.Part) { head(p.Again, p.Columns).Put(&p.Page.Canvas, w.Left(), p.Top) }
	}
	w.Flow(f)
}

// texts begins a column of headings and sentences.
func (w *frame) texts(wide, above float64) *set.Texts {
	return &set.Texts{Wide: wide, Above: above, Head: w.bold(1.3), Below: w.body * 1.2, Cap: w.body, Pitch: w.pitch()}
}

// finish makes the document and numbers its pages.
func (w *frame) finish() *layout.Document {
	in := &w.r.Plan.Incident
	s := w.strong(1)
	from, to, _ := words.Times(in)
	return w.Document(w.words.Title+": "+in.Name, w.words.Numbered(w.words.OperationalPeriod, in)+", "+w.words.Span(from, to),
		w.words.Language, func(c *set.Canvas, i, n int) {
			y := w.Paper.Height - w.Margin - w.foot.H + w.footTop() + s.Cap()
			if w.far {
				for _, said := range w.readFrom(w.from[i-1]) {
					c.TextRight(w.Right(), y, w.small(1), said)
					y += w.fine * 1.75
				}
			}
			c.TextRight(w.Right(), y, s, w.words.PageOf(i, n))
		})
}

// Styles, their size in parts of the body's.
func (w *frame) regular(f float64) set.Style { return set.CapStyle(fonts.Regular, w.body*f) }
func (w *frame) bold(f float64) set.Style    { return set.CapStyle(fonts.Bold, w.body*f) }
func (w *frame) mono() set.Style             { return set.CapStyle(fonts.Mono, w.body) }

// The same of fine print.
func (w *frame) small(f float64) set.Style  { return set.CapStyle(fonts.Regular, w.fine*f) }
func (w *frame) strong(f float64) set.Style { return set.CapStyle(fonts.Bold, w.fine*f) }

// Distances.
func (w *frame) pitch() float64   { return w.body * 1.85 } // of lines of text
func (w *frame) tight() float64   { return w.body * 1.75 } // of lines in a table
func (w *frame) between() float64 { return w.body * 3.0 }  // between blocks
func (w *frame) gutter() float64  { return w.key * 0.55 }

// pageRoom is the height that blocks have on a page after the first.
func (w *frame) pageRoom() float64 {
	return w.Paper.Height - 2*w.Margin - w.headNext.H - w.foot.H
}

// firstRoom is that height on the first page.
func (w *frame) firstRoom() float64 {
	return w.Paper.Height - 2*w.Margin - max(w.headFirst.H, w.headNext.H) - w.foot.H
}

const (
	wallHeavy = 0.9 // mm: rule below the heading
	wallMid   = 0.5
	wallLight = 0.18
)

// headingWith is the head of a page, large to be seen from afar, or on one line
// where that holds it, with or without the facts below.
func (w *frame) headingWith(large, facts bool) set.Block {
	in := w.r.Plan.Incident
	from, to, prepared := words.Times(&in)
	label := w.small(1.1)
	most := w.mid
	if large {
		most = min(w.key, w.Paper.Height*0.05)
	}
	hours := w.words.Span(from, to)
	hoursS, _ := set.Shrink(w.bold(1), hours, most*0.6, w.body*1.1, w.Width()*0.5)
	period, number, zone := w.strong(1.1), w.words.Numbered(w.words.OperationalPeriod, &in), ", "+w.words.ZoneOf(from)
	labelW := period.Width(number) + label.Width(zone)
	rightW := max(hoursS.Width(hours), labelW)

	least := max(most*0.5, w.body*1.25)
	between := w.fine * 2
	nameS, ok := set.Shrink(w.bold(1), in.Name, most, least, w.Width()-hoursS.Width(hours)-between-labelW-w.key)
	single := !large && ok
	nameW := w.Width() - rightW - w.key
	if !single {
		nameS, ok = set.Shrink(w.bold(1), in.Name, most, least, nameW)
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
		band, bandGap = w.bandHeight(), w.fine*1.6
	}
	nameTop := band + bandGap
	if !single {
		nameTop += label.Cap() + w.fine*1.5
	}
	nameTop += max(0, hoursS.Cap()-name.Height()) // both on one baseline
	lineY := nameTop + name.Height() + max(w.fine*1.7, nameS.Cap()*0.4)
	h := lineY + wallHeavy + below.H + w.fine*2.5
	return set.Drawn(h, func(c *set.Canvas, x, y float64) {
		r := x + w.Width()
		if in.Exercise {
			c.ExerciseBand(x, y, w.Width(), band, w.words.Exercise, w.words.ExerciseNote)
		}
		base := y + nameTop + name.Height()
		name.Draw(c, x, y+nameTop)
		c.TextRight(r, base, hoursS, hours)
		if single {
			r -= hoursS.Width(hours) + between
		} else {
			base = y + band + bandGap + label.Cap()
			c.Text(x, base, label, w.words.Title)
		}
		c.TextRight(r, base, label, zone)
		c.TextRight(r-label.Width(zone), base, period, number)
		r = x + w.Width()
		c.Rule(x, r, y+lineY+wallHeavy/2, wallHeavy)
		below.Put(c, x, y+lineY+wallHeavy)
	})
}

// facts are the label-and-value pairs below the heading.
func (w *frame) facts(prepared time.Time) set.Block {
	in, load := w.r.Plan.Incident, w.r.Load.About
	loaded := strings.TrimSpace(load.Name + " " + load.Edition + " " + load.Colour)
	var marks []string
	for _, c := range w.r.EditionMarks {
		if !slices.Contains(marks, c.Name) {
			marks = append(marks, c.Name)
		}
	}
	if len(marks) > 0 {
		loaded += ", " + words.Filled(w.words.EditionShown, "names", strings.Join(marks, ", "))
	}
	type fact struct{ label, value string }
	facts := []fact{
		{w.words.Number, in.Number},
		{w.words.Prepared, w.words.Stamp(prepared)},
		{w.words.PreparedBy, in.PreparedBy},
		{w.words.LoadEdition, loaded},
	}
	facts = slices.DeleteFunc(facts, func(f fact) bool { return f.value == "" })
	label, value := w.small(1), w.strong(1)
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
	top, values := w.fine*1.4, label.Cap()+w.fine*1.2
	cells := make([]set.Stack, len(facts))
	h := 0.0
	for i, f := range facts {
		cells[i] = value.Stack(f.value, widths[i], w.fine*1.85)
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
func (w *frame) bandHeight() float64 {
	high := w.mid * 1.75
	if w.far { // of all pages alike, whatever distance each is read from
		high = w.fine * 3.4
	}
	return max(min(high, w.Paper.Height*0.042), min(w.Paper.Width, w.Paper.Height)*0.03)
}

// footTop is the room from the foot's top to its first line of text.
func (w *frame) footTop() float64 { return w.fine * 1.9 }

// footing is the foot of every page: each may hang alone, so each carries the
// cautions and the exercise mark.
func (w *frame) footing() set.Block {
	s, pitch := w.small(1), w.fine*1.75
	beside, lines, gap := w.strong(1).Width(w.words.PageOf(10, 10)), 1, w.gutter()*2
	if w.far {
		gap = w.fine * 4 // on all pages alike
		said := w.readFrom(MostDistance + 0.05)
		beside, lines = max(beside, widest(s, said)), len(said)+1
	}
	wide := w.Width() - beside - gap
	notes := s.Stack(strings.Join(w.words.SheetNotes, " "), wide, pitch)
	// One thing more, where the last line has room for it.
	if more := s.Stack(strings.Join(w.words.SheetNotes, " ")+" "+w.words.StepApart, wide, pitch); len(more.Lines) == len(notes.Lines) {
		notes = more
	}
	band := 0.0
	if w.r.Plan.Incident.Exercise {
		band = w.bandHeight() * 0.5
	}
	h := max(notes.Height(), s.Cap()+float64(lines-1)*pitch)
	return footOf(notes, h, w.Width(), w.footTop(), w.fine, w.fine*1.2, band, w.words.Exercise)
}

// readFrom says from how far a page is read, and its fine print.
func (w *frame) readFrom(m float64) []string {
	far := []string{words.Filled(w.words.ReadFrom, "m", strconv.FormatFloat(m, 'f', -1, 64))}
	if near := w.finePrint(); near < m {
		far = append(far, words.Filled(w.words.FinePrint, "m", strconv.FormatFloat(near, 'f', -1, 64)))
	}
	return far
}

// finePrint is from where fine print is read, m.
func (w *frame) finePrint() float64 {
	return math.Floor(w.fine/layout.CapAt(1000, layout.ArcminLeast)*100+set.Tolerance) / 100
}

func widest(s set.Style, texts []string) (most float64) {
	for _, t := range texts {
		most = max(most, s.Width(t))
	}
	return most
}

// footOf is a foot with its notes from top on, high mm with what stands beside them;
// where there is a band, it stands below, a gap away.
func footOf(notes set.Stack, high, width, top, body, gap, band float64, word string) set.Block {
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

// paperOr is the paper that options name, or the default where they name none.
func paperOr(paper layout.Size) layout.Size {
	if paper == (layout.Size{}) {
		paper, _ = layout.PaperSize(layout.DefaultPaper)
	}
	return paper
}
