package sheets

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"slotcard/fonts"
	"slotcard/layout"
	"slotcard/layout/frame"
	"slotcard/layout/set"
	"slotcard/layout/strips"
	"slotcard/layout/words"
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
	Paper layout.Size        // used across; the zero Size: letter
	Words *words.ChangeWords // nil: English

	Strips int // cards that are changed by strips, which go with it
}

// Slot numbers and names of the change sheet are read in the hand, at 20 arcmin
// from 500 mm, and larger where the pages hold it; the rest as on the wall sheet.
const (
	changeLeast = layout.SheetNear // mm
	changeGrow  = 2.4              // most, times the least size
	changeBody  = 1.35
)

// growth is the steps by which the type of names and of the rest has grown, and how
// dense the sheet is: 1 has no facts in the head and less white, 2, of the fire, no
// names that stand elsewhere on it.
type growth struct{ key, body, dense int }

// enlarge makes all type as large as the pages hold it, then that of names alone.
func enlarge[T any](t *set.Search[growth, T]) {
	t.Grow(0, frame.GrowSteps, func(s *growth, n int) { s.key, s.body = n, n })
	t.Grow(t.At.key, frame.GrowSteps, func(s *growth, n int) { s.key = n })
}

// ChangeSheet lays out what changes between two plans on as few pages as hold
// it, one as a rule. A text that does not fit is a finding, and then there is no
// document.
func ChangeSheet(c *changes.Changes, o ChangeOptions) (*layout.Document, finding.List) {
	frame.Settle(&o.Paper, &o.Words, &words.EnglishChanges)
	o.Paper = o.Paper.Across()
	t := set.NewSearch(func(steps growth) *changeSheet { return layChanges(c, o, steps) }, func(s, best *changeSheet) bool {
		return s.Fits() && len(s.Pages) <= len(best.Pages)
	})
	if len(t.Best.Misfits) > 0 {
		return nil, t.Best.findings()
	}
	enlarge(t)
	return t.Best.Finish(), nil
}

// changeSheet is a change sheet at a size of type.
type changeSheet struct {
	frame.Frame
	said *words.ChangeWords
	c    *changes.Changes
	row  float64 // cap height of slot numbers and names, mm

	strips int // cards that are changed by strips
}

// changeColumns is how many columns a page has, and changeGutter the white
// between them in body heights.
const (
	changeColumns = 2
	changeGutter  = 3.5
)

// newChanges is such a sheet with nothing on it.
func newChanges(c *changes.Changes, o ChangeOptions, title string, steps growth) changeSheet {
	return changeSheet{Frame: frame.Near(c.New, o.Words.WallWords, title, frame.Grown(steps.body, changeBody)), said: o.Words, c: c,
		row: layout.CapAt(changeLeast, layout.ArcminKey) * frame.Grown(steps.key, changeGrow)}
}

// layChanges lays everything out, the list and the rest grown by some steps.
func layChanges(c *changes.Changes, o ChangeOptions, steps growth) *changeSheet {
	laid := newChanges(c, o, o.Words.SheetTitle(c), steps)
	s := &laid
	s.strips = o.Strips
	if !s.Begin(o.Paper, true) {
		return s
	}
	s.NewPage()
	s.notices()
	gap := s.Body * changeGutter
	blocks := s.list((s.Width() - gap*(changeColumns-1)) / changeColumns)
	if s.Fits() {
		s.Flow(set.Flow{Blocks: blocks, Columns: changeColumns, Gutter: gap, Even: true, Mark: s.said.Slots, Head: s.goesOn})
	}
	return s
}

// goesOn is the heading of a page that begins within a part of the sheet.
func (s *changeSheet) goesOn(p set.Part) set.Pile {
	i := slices.IndexFunc(p.Blocks, func(b set.Block) bool { return !b.Gap })
	if !p.Again || i < 0 || p.Blocks[i].Key == "" {
		return nil
	}
	head := s.Bold(1.3)
	return set.Pile{head.Stack(p.Blocks[i].Key+", "+s.Words.Again, s.Width(), head.Cap()*1.6).Block(s.Body * 1.2)}
}

// part names the blocks from one on, but their heading, by it.
func part(blocks []set.Block, title string) {
	headed := false
	for i := range blocks {
		if headed {
			blocks[i].Key = title
		}
		headed = headed || !blocks[i].Gap
	}
}

// notices stand over everything, white on black.
func (s *changeSheet) notices() {
	for _, n := range s.said.Notices(s.c) {
		style := s.Bold(1.3).On(layout.White)
		pad := s.Body * 0.9
		text := style.Stack(capital(n), s.Width()-2*pad, style.Cap()*1.6)
		h := text.Height() + 2*pad
		s.Page().Bar(s.Left(), s.Y, s.Width(), h)
		text.Draw(&s.Page().Canvas, s.Left()+pad, s.Y+pad)
		s.Y += h + s.Body*0.5
	}
	s.Space(s.Body * 1.5)
}

// capital begins a sentence of its own.
func capital(s string) string {
	for i, r := range s {
		return strings.ToUpper(string(r)) + s[i+len(string(r)):]
	}
	return s
}

// list is the parts of the sheet, one below the other in a column.
func (s *changeSheet) list(width float64) []set.Block {
	t := s.Texts(width, s.Body*2.2)
	for _, l := range s.c.Lists {
		from := len(t.Blocks)
		t.Heading(s.said.SlotsTitle(s.c, l))
		s.slots(t, l, from)
		part(t.Blocks[from:], s.said.SlotsTitle(s.c, l))
	}
	for _, p := range []struct {
		title string
		lines []words.Sentence
		must  bool
	}{
		{s.said.Divisions, s.said.DivisionLines(s.c), true},
		{s.said.Units, s.said.UnitLines(s.c, s.strips), true},
		{s.said.Elsewhere, s.said.ElsewhereLines(s.c), false},
	} {
		if len(p.lines) == 0 && !p.must {
			continue
		}
		from := len(t.Blocks)
		t.Heading(p.title)
		if len(p.lines) == 0 {
			s.say(t, words.Quiet(s.said.NothingElse), false)
		}
		for i, l := range p.lines {
			if i > 0 {
				t.White(s.Body * 0.75)
			}
			s.say(t, l, false)
		}
		part(t.Blocks[from:], p.title)
	}
	return t.Blocks
}

// say adds a sentence: what is loud is bold.
func (s *changeSheet) say(t *set.Texts, said words.Sentence, keep bool) {
	var runs []set.Run
	for i, p := range said {
		style, text := s.Regular(1), p.T
		if p.Loud {
			style = s.Bold(1)
		}
		if i == 0 {
			text = capital(text)
		}
		runs = append(runs, style.Say(text))
	}
	t.Say(keep, runs...)
}

// slots adds the rows of a list, and what is gone from it. Its heading is block
// from on.
func (s *changeSheet) slots(t *set.Texts, l *changes.List, from int) {
	switch {
	case l.New == nil:
		s.say(t, words.FillIn(s.said.GoneList, "list", l.Old.Name(s.c.Old)), false)
		return
	case l.Same() && !s.c.Fresh():
		s.say(t, append(words.Quiet(s.said.SameList+", "), s.said.CodeLine(l)...), false)
		return
	case l.Old == nil:
		s.say(t, words.FillIn(s.said.CodeNew, "new", words.Loud(words.Whole(l.New.Code.Pairs()))), true)
	default:
		s.say(t, s.said.CodeLine(l), true)
		if len(l.Rebuild)+len(l.Clear) == 0 && !s.c.Fresh() {
			s.say(t, words.Loud(s.said.CodeAlone), true)
		}
	}
	t.Add(set.Block{H: s.Body * 0.6, Keep: true})
	s.rows(t, l)
	t.Add(set.Block{H: s.Body * 0.9, Keep: true})
	for _, c := range l.Slots {
		if c.Has(changes.Removed) {
			s.say(t, words.FillIn(s.said.SlotGone, "slot", strconv.Itoa(c.Was), "name", words.Loud(words.Whole(c.Old.Channel.Name))), false)
		}
	}
	if len(l.Clear) > 0 {
		s.say(t, words.Loud(s.said.Some(s.said.ClearEnd, s.said.ClearEnds, l.Clear)), false)
	}
	if len(l.Rebuild) > 0 && len(l.Rebuild) < len(l.New.Slots) && !s.c.Fresh() {
		s.say(t, words.Quiet(s.said.Key), false)
	}
	s.together(t, from)
}

// grownRows tells whether rows have more than their least size.
func (s *changeSheet) grownRows() bool {
	return s.row > layout.CapAt(changeLeast, layout.ArcminKey)+set.Tolerance
}

// rows adds a row for each slot of the new list: number, name, what it is for,
// and what has changed.
func (s *changeSheet) rows(t *set.Texts, l *changes.List) {
	mono := set.CapStyle(fonts.MonoBold, s.row)
	numberW, nameW := 0.0, 0.0
	for i, slot := range l.New.Slots {
		numberW = max(numberW, mono.Width(strconv.Itoa(i+1)))
		nameW = max(nameW, mono.Width(slot.Channel.Name))
	}
	strip := numberW + s.row*0.9
	name := strip + s.row*0.6
	text := name + nameW + s.row*0.8
	textW := t.Wide - text
	if textW < s.Body*11 {
		if s.grownRows() {
			s.Out = true
			return
		}
		text, textW = name, t.Wide-name // below the name
	}
	under := text == name
	if nameW > t.Wide-name {
		for _, slot := range l.New.Slots {
			if mono.Width(slot.Channel.Name) > t.Wide-name {
				s.Misfit(slot.At("channel"), "display name", slot.Channel.Name)
			}
		}
		return
	}
	was := s.became(l)
	for i, slot := range l.New.Slots {
		said := []set.Run{s.Bold(1).Say(words.Whole(s.said.Lead(slot)))}
		if len(was[i]) > 0 {
			said = append(said, s.Regular(1).Say(": "+strings.Join(was[i], "; ")))
		}
		if slices.Contains(l.Rebuild, i+1) || s.c.Fresh() {
			said = append(said, s.builds(l, i)...)
		}
		r := changeRow{number: strconv.Itoa(i + 1), name: slot.Channel.Name, said: set.Stack{Lines: set.Paragraph(textW, said...), Cap: s.Body, Pitch: s.Tight()},
			mono: mono, strip: strip, nameX: name, textX: text, under: under,
			loud: slices.Contains(l.Rebuild, i+1) || s.c.Fresh(), first: i == 0, last: i == len(l.New.Slots)-1}
		b := s.rowBlock(r, t.Wide)
		b.Keep = i == 0 && !r.last || i == len(l.New.Slots)-2
		t.Add(b)
	}
}

// builds says how slot i of the new list is built, on lines of their own: what it is
// now, what it was where it is another channel or programmed otherwise, and what to do
// where another site repeats it.
func (s *changeSheet) builds(l *changes.List, i int) []set.Run {
	slot := l.New.Slots[i]
	line := func(word, place string, slot *plan.ResolvedSlot) []set.Run {
		return []set.Run{s.Regular(1).Say("\n" + word + " "), s.Mono().Say(strings.Join(strips.Built(place, slot), " "))}
	}
	said := line(s.said.NowBuilt, l.New.Place(i).Place(), slot)
	at := slices.IndexFunc(l.Slots, func(c *changes.Slot) bool { return c.Is == i+1 && c.Old != nil })
	if at < 0 || s.c.Fresh() {
		return said
	}
	c := l.Slots[at]
	if c.Has(changes.Replaced) || c.Has(changes.Retuned) {
		said = append(said, line(s.said.WasBuilt, l.Old.Place(c.Was-1).Place(), c.Old)...)
	}
	if slot.Repeated() && slot.Repeater != nil && c.Old.Repeater != nil && slot.Repeater.Name != c.Old.Repeater.Name {
		said = append(said, s.Bold(1).Say("\n"+words.Filled(s.said.OtherSite, "site", slot.Repeater.Name, "old", c.Old.Repeater.Name, "tone", slot.TxTone.String())))
	}
	return said
}

// changeRow is a slot of the new list, and where its parts stand.
type changeRow struct {
	number, name        string
	said                set.Stack
	mono                set.Style
	strip, nameX, textX float64
	under               bool // what is said stands below the name
	loud                bool // must be built anew
	first, last         bool
}

// rowBlock is a row as a block.
func (s *changeSheet) rowBlock(r changeRow, width float64) set.Block {
	pad := s.Body * 0.62
	h := max(s.row*1.3, r.said.Height()) + 2*pad
	if r.under {
		h = s.row*1.3 + s.Body*0.8 + r.said.Height() + 2*pad
	}
	return set.Drawn(h, func(c *set.Canvas, x, y float64) {
		const slit = 0.4 // mm of white between the numbers
		ink := layout.Black
		if r.loud {
			c.Bar(x, y+slit/2, r.strip, h-slit)
			ink = layout.White
		}
		if r.first {
			c.Rule(x, x+width, y, frame.RuleMid)
		} else {
			c.Rule(x+r.strip, x+width, y, frame.RuleLight)
		}
		if r.last {
			c.Rule(x, x+width, y+h, frame.RuleMid)
		}
		middle := y + h/2
		top := middle - r.said.Height()/2
		if r.under {
			middle = y + pad + s.row*0.65
			top = y + pad + s.row*1.3 + s.Body*0.8
		}
		c.TextMid(x+r.strip/2, middle+s.row/2, r.mono.On(ink), r.number)
		c.Text(x+r.nameX, middle+s.row/2, r.mono, r.name)
		r.said.Draw(c, x+r.textX, top)
	})
}

// together keeps a list, its heading and what is said below it in one column,
// where a column holds them; a size of type that asks for more is out.
func (s *changeSheet) together(t *set.Texts, from int) {
	if from < len(t.Blocks) && t.Blocks[from].Gap { // the white above the heading
		from++
	}
	h := 0.0
	for _, b := range t.Blocks[from:] {
		h += b.H
	}
	switch {
	case h <= s.Room():
		for i := from; i < len(t.Blocks)-1; i++ {
			t.Blocks[i].Keep = true
		}
	case s.grownRows():
		s.Out = true
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
			out[c.Is-1] = []string{s.said.New}
			continue
		}
		out[c.Is-1] = s.said.Became(c)
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
	return words.Whole(words.Filled(s.said.WasSlot, "old", strconv.Itoa(p)))
}

// findings are those of what does not fit.
func (s *changeSheet) findings() finding.List {
	return s.Findings(set.Notice{
		Message: func(m set.Misfit) string {
			return fmt.Sprintf("%s %q does not fit the change sheet on %s", m.What, set.Short(m.Text), s.Paper.Name)
		},
		Data: func(m set.Misfit) map[string]any {
			return map[string]any{"text": m.Text, "sheet": "changes", "paper": s.Paper.Name}
		},
		None: "shorten it, or print the sheet on larger paper",
	})
}
