package layout

import (
	"fmt"
	"strconv"
	"strings"

	"slotcard/fonts"
	"slotcard/plan"
	"slotcard/plan/changes"
	"slotcard/plan/finding"
)

// The change sheet: what is not as it was, for the briefing before the next
// operational period. It is of the wall sheet's family and borrows its heading,
// foot and styles. The list stands first, its numbers white on black where a
// slot is not programmed as before.

// ChangeOptions say how to lay out the change sheet.
type ChangeOptions struct {
	Paper Size         // used across; the zero Size: letter
	Words *ChangeWords // nil: English
}

// Slot numbers and names of the change sheet are read in the hand, at 20 arcmin
// from 500 mm, and larger where the pages hold it; the rest as on the wall sheet.
const (
	changeLeast = wallNear // mm
	changeGrow  = 2.4      // most, times the least size
	changeBody  = 1.35
)

// ChangeSheet lays out what changes between two plans on as few pages as hold
// it, one as a rule. A text that does not fit is a finding, and then there is no
// document.
func ChangeSheet(c *changes.Changes, o ChangeOptions) (*Document, finding.List) {
	if o.Paper == (Size{}) {
		o.Paper, _ = PaperSize("letter")
	}
	o.Paper = o.Paper.Across()
	if o.Words == nil {
		o.Words = &EnglishChanges
	}
	best := layChanges(c, o, 0, 0)
	if len(best.misfits) > 0 {
		return nil, best.unfit()
	}
	try := func(row, body float64) bool {
		s := layChanges(c, o, row, body)
		if len(s.misfits) > 0 || len(s.pages) > len(best.pages) {
			return false
		}
		best = s
		return true
	}
	// Everything as large as these pages hold it, then the list alone.
	both, _ := largest(0, growSteps, 1, func(n float64) bool { return n == 0 || try(n, n) })
	largest(both, growSteps, 1, func(n float64) bool { return n == both || try(n, both) })
	return best.finish(), nil
}

// CardChanges is what each card of the new plan says of the list before.
func CardChanges(c *changes.Changes) map[*plan.Card]Change {
	out := make(map[*plan.Card]Change, len(c.New.Cards))
	for _, u := range c.Units {
		for _, card := range u.Cards {
			out[card.New] = Change{Period: c.Old.Plan.Incident.Period, Slots: u.Rebuild, Clear: u.Clear,
				First: card.First, NewCode: card.Code(), Listen: !card.First && card.Listen()}
		}
	}
	return out
}

// changeSheet is a change sheet at a size of type.
type changeSheet struct {
	wall
	w   *ChangeWords
	c   *changes.Changes
	row float64 // cap height of slot numbers and names, mm
}

// changeColumns is how many columns a page has, and changeGutter the white
// between them in body heights.
const (
	changeColumns = 2
	changeGutter  = 3.5
)

// layChanges lays everything out, the list and the rest grown by some steps.
func layChanges(c *changes.Changes, o ChangeOptions, row, body float64) *changeSheet {
	grown := func(steps, most float64) float64 { return 1 + (most-1)*steps/growSteps }
	words := o.Words.WallWords
	words.Title = filled(o.Words.Sheet, "period", strconv.Itoa(c.Old.Plan.Incident.Period))
	s := &changeSheet{w: o.Words, c: c, row: CapAt(changeLeast, arcminKey) * grown(row, changeGrow)}
	s.wall = wall{r: c.New, w: &words, o: WallOptions{Paper: o.Paper, Distance: 1}}
	s.body = SheetLeast() * grown(body, changeBody)
	s.mid = CapAt(1000, arcminKey)
	s.key = s.mid * 1.5
	s.paper = o.Paper
	s.margin = max(10, 0.045*o.Paper.Height)
	s.headFirst, s.headNext, s.foot = s.heading(true), s.heading(false), s.footing()
	if in := c.New.Plan.Incident; s.headFirst.h+s.foot.h > 0.6*(s.paper.Height-2*s.margin) {
		s.misfit(in.At("name"), "heading", in.Name)
		return s
	}
	s.open = func(p *pager) {
		head := s.headNext
		if len(p.pages) == 1 {
			head = s.headFirst
		}
		ink := &p.now().canvas
		head.draw(ink, p.left(), p.y)
		s.foot.draw(ink, p.left(), p.bottom-s.foot.h)
		p.y += head.h
		p.bottom -= s.foot.h
	}
	s.turn()
	s.notices()
	gap := s.body * changeGutter
	width := (s.width() - gap*(changeColumns-1)) / changeColumns
	blocks := s.blocks(width)
	if len(s.misfits) == 0 {
		s.columns(s.w.Slots, changeColumns, gap, nil, blocks)
	}
	return s
}

// notices stand over everything, white on black.
func (s *changeSheet) notices() {
	for _, n := range s.w.notices(s.c) {
		style := s.bold(1.3).on(White)
		pad := s.body * 0.9
		text := column{lines: breakSpans(plain(style, capital(n)), s.width()-2*pad), cap: style.cap(), pitch: style.cap() * 1.6}
		h := text.height() + 2*pad
		c := &s.now().canvas
		c.bar(s.left(), s.y, s.width(), h)
		text.draw(c, s.left()+pad, s.y+pad)
		s.y += h + s.body*0.5
	}
	if s.y > s.top {
		s.y += s.body * 1.5
	}
}

// capital begins a sentence of its own.
func capital(s string) string {
	for i, r := range s {
		return strings.ToUpper(string(r)) + s[i+len(string(r)):]
	}
	return s
}

// blocks are the parts of the sheet, one below the other in a column.
func (s *changeSheet) blocks(width float64) []block {
	b := &changeBlocks{s: s, width: width}
	for _, l := range s.c.Lists {
		title := s.w.Slots
		if name := s.c.Name(l); name != "" {
			title += ", " + strings.ToLower(s.w.List) + " " + name
		}
		from := len(b.all)
		b.heading(title)
		b.list(l, from)
	}
	for _, part := range []struct {
		title string
		lines []sentence
		must  bool
	}{
		{s.w.Divisions, s.w.divisionLines(s.c), true},
		{s.w.Units, s.w.unitLines(s.c), true},
		{s.w.Elsewhere, s.w.elsewhere(s.c), false},
	} {
		if len(part.lines) == 0 && !part.must {
			continue
		}
		b.heading(part.title)
		if len(part.lines) == 0 {
			b.say(quiet(capital(s.w.NothingElse)), false)
		}
		for i, l := range part.lines {
			if i > 0 {
				b.all = append(b.all, block{h: s.body * 0.75, gap: true})
			}
			b.say(l, false)
		}
	}
	return b.all
}

// changeBlocks collects the blocks of a column.
type changeBlocks struct {
	s     *changeSheet
	width float64
	all   []block
}

func (b *changeBlocks) heading(title string) {
	s := b.s
	if len(b.all) > 0 {
		b.all = append(b.all, block{h: s.body * 2.2, gap: true})
	}
	style := s.bold(1.3)
	text := column{lines: breakSpans(plain(style, title), b.width), cap: style.cap(), pitch: style.cap() * 1.6}
	b.all = append(b.all, block{h: text.height() + s.body*1.2, keep: true, draw: func(c *canvas, x, y float64) { text.draw(c, x, y) }})
}

// spans of a sentence: what is loud is bold.
func (s *changeSheet) spans(said sentence) (out []span) {
	for i, p := range said {
		style, t := s.regular(1), p.t
		if p.loud {
			style = s.bold(1)
		}
		if i == 0 {
			t = capital(t)
		}
		if t != "" {
			out = append(out, span{style, t})
		}
	}
	return out
}

// spaced breaks spans into lines; no-break spaces have done their work then.
func spaced(para []span, width float64) [][]span {
	lines := breakSpans(para, width)
	for _, l := range lines {
		for i := range l {
			l[i].t = strings.ReplaceAll(l[i].t, nbsp, " ")
		}
	}
	return lines
}

// say adds a sentence, a block for each line, so that a long one may go on in
// the next column but leaves no line alone.
func (b *changeBlocks) say(said sentence, keep bool) {
	s := b.s
	lines := spaced(s.spans(said), b.width)
	for i, l := range lines {
		together := keep && i == len(lines)-1 || i == 0 && len(lines) > 1 || i == len(lines)-2
		b.all = append(b.all, block{h: s.pitch(), keep: together, draw: func(c *canvas, x, y float64) {
			c.spansText(x, y+s.body, l)
		}})
	}
}

// list adds the rows of a list, and what is gone from it. Its heading is block
// from on.
func (b *changeBlocks) list(l *changes.List, from int) {
	s := b.s
	switch {
	case l.New == nil:
		b.say(fillIn(s.w.GoneList, "list", l.Old.Name(s.c.Old)), false)
		return
	case l.Same() && !s.c.Fresh():
		b.say(append(quiet(s.w.SameList+", "), s.w.codeLine(l)...), false)
		return
	case l.Old == nil:
		b.say(fillIn(s.w.CodeNew, "new", loud(whole(l.New.Code.Pairs()))), true)
	default:
		b.say(s.w.codeLine(l), true)
		if len(l.Rebuild)+len(l.Clear) == 0 && !s.c.Fresh() {
			b.say(loud(s.w.CodeAlone), true)
		}
	}
	b.all = append(b.all, block{h: s.body * 0.6, keep: true})
	b.rows(l)
	b.all = append(b.all, block{h: s.body * 0.9, keep: true})
	for _, c := range l.Slots {
		if c.Has(changes.Removed) {
			b.say(fillIn(s.w.SlotGone, "slot", strconv.Itoa(c.Was), "name", loud(whole(c.Old.Channel.Name))), false)
		}
	}
	if len(l.Clear) > 0 {
		b.say(loud(s.w.some(s.w.ClearEnd, s.w.ClearEnds, l.Clear)), false)
	}
	if len(l.Rebuild) > 0 && len(l.Rebuild) < len(l.New.Slots) && !s.c.Fresh() {
		b.say(quiet(s.w.Key), false)
	}
	b.together(from)
}

// rows adds a row for each slot of the new list: number, name, what it is for,
// and what has changed.
func (b *changeBlocks) rows(l *changes.List) {
	s := b.s
	mono := capStyle(fonts.MonoBold, s.row)
	numberW, nameW := 0.0, 0.0
	for i, slot := range l.New.Slots {
		numberW = max(numberW, mono.width(strconv.Itoa(i+1)))
		nameW = max(nameW, mono.width(slot.Channel.Name))
	}
	strip := numberW + s.row*0.9
	name := strip + s.row*0.6
	text := name + nameW + s.row*0.8
	textW := b.width - text
	if textW < s.body*11 {
		if s.row > CapAt(changeLeast, arcminKey)+1e-6 {
			s.misfit(finding.Place{}, "row", "") // this size is out
			return
		}
		text, textW = name, b.width-name // below the name
	}
	under := text == name
	if nameW > b.width-name {
		for _, slot := range l.New.Slots {
			if mono.width(slot.Channel.Name) > b.width-name {
				s.misfit(slot.At("channel"), "display name", slot.Channel.Name)
			}
		}
		return
	}
	was := s.became(l)
	rebuild := map[int]bool{}
	for _, p := range l.Rebuild {
		rebuild[p] = true
	}
	for i, slot := range l.New.Slots {
		para := []span{{s.bold(1), whole(s.w.lead(slot))}}
		if len(was[i]) > 0 {
			para = append(para, span{s.regular(1), ": " + strings.Join(was[i], "; ")})
		}
		said := column{lines: spaced(para, textW), cap: s.body, pitch: s.tight()}
		pad := s.body * 0.62
		h := max(s.row*1.3, said.height()) + 2*pad
		if under {
			h = s.row*1.3 + s.body*0.8 + said.height() + 2*pad
		}
		last := i == len(l.New.Slots)-1
		b.all = append(b.all, block{h: h, keep: i == 0 && !last || i == len(l.New.Slots)-2, draw: func(c *canvas, x, y float64) {
			const slit = 0.4 // mm of white between the numbers
			ink := Black
			if rebuild[i+1] || s.c.Fresh() {
				c.bar(x, y+slit/2, strip, h-slit)
				ink = White
			}
			if i == 0 {
				c.rule(x, x+b.width, y, wallMid)
			} else {
				c.rule(x+strip, x+b.width, y, wallLight)
			}
			if last {
				c.rule(x, x+b.width, y+h, wallMid)
			}
			middle := y + h/2
			top := middle - said.height()/2
			if under {
				middle = y + pad + s.row*0.65
				top = y + pad + s.row*1.3 + s.body*0.8
			}
			c.textMid(x+strip/2, middle+s.row/2, mono.on(ink), strconv.Itoa(i+1))
			c.text(x+name, middle+s.row/2, mono, slot.Channel.Name)
			said.draw(c, x+text, top)
		}})
	}
}

// together keeps a list, its heading and what is said below it in one column,
// where a column holds them; a size of type that asks for more is out.
func (b *changeBlocks) together(from int) {
	s := b.s
	if from < len(b.all) && b.all[from].gap { // the white above the heading
		from++
	}
	h := 0.0
	for _, k := range b.all[from:] {
		h += k.h
	}
	switch {
	case h <= s.room():
		for i := from; i < len(b.all)-1; i++ {
			b.all[i].keep = true
		}
	case s.row > CapAt(changeLeast, arcminKey)+1e-6:
		s.misfit(finding.Place{}, "list", "")
	}
}

// became says of each slot of the new list what it was.
func (s *changeSheet) became(l *changes.List) [][]string {
	out := make([][]string, len(l.New.Slots))
	for _, c := range l.Slots {
		if c.Is == 0 {
			continue
		}
		if c.Has(changes.Added) {
			out[c.Is-1] = []string{s.w.New}
			continue
		}
		out[c.Is-1] = s.w.became(c)
		if c.Was != c.Is {
			out[c.Is-1] = append(out[c.Is-1], s.wasSlot(c.Was))
		}
	}
	for _, run := range l.Shifts {
		for p := run.From; p <= run.To; p++ {
			if at := &out[p+run.By-1]; len(*at) == 0 {
				*at = []string{s.wasSlot(p)}
			}
		}
	}
	return out
}

func (s *changeSheet) wasSlot(p int) string {
	return whole(filled(s.w.WasSlot, "old", strconv.Itoa(p)))
}

// unfit are the findings of what does not fit.
func (s *changeSheet) unfit() (list finding.List) {
	for _, m := range s.misfits {
		list.Add(finding.Finding{
			Rule: "does-not-fit", Severity: finding.Error, Place: m.place, Subject: m.text,
			Message: fmt.Sprintf("%s %q does not fit the change sheet on %s", m.what, short(m.text), s.paper.Name),
			Help:    []string{"shorten it, or print the sheet on larger paper"},
			Data:    map[string]any{"text": m.text, "sheet": "changes", "paper": s.paper.Name},
		})
	}
	return list
}

// finish makes the document.
func (s *changeSheet) finish() *Document {
	in := s.c.New.Plan.Incident
	from, to, _ := times(&in)
	page := s.bold(1)
	return s.document(s.wall.w.Title+": "+in.Name, fmt.Sprintf("%s %d, %s", s.wall.w.OperationalPeriod, in.Period, s.wall.w.span(from, to)),
		s.wall.w.Language, func(c *canvas, i, n int) {
			y := s.paper.Height - s.margin - s.foot.h + s.footTop() + page.cap()
			c.textRight(s.right(), y, page, s.pageText(i, n))
		})
}
