package sheets

import (
	"slices"
	"strconv"
	"strings"

	"slotcard/fonts"
	"slotcard/layout"
	"slotcard/layout/frame"
	"slotcard/layout/set"
	"slotcard/layout/words"
	"slotcard/plan"
	"slotcard/plan/changes"
	"slotcard/plan/finding"
)

// The comparison: what the change sheet says as a picture. The old list stands at
// the left, the new one at the right, and lines join what is the same channel, or
// stands in its place. What happened to a slot is told by the kind of line, and
// in words, never by color.

// Comparison lays out the lists of two plans side by side, each pair on a page
// that it may share with others. A list that no page holds is a finding, and then
// there is no document.
func Comparison(c *changes.Changes, o ChangeOptions) (*layout.Document, finding.List) {
	frame.Settle(&o.Paper, &o.Words, &words.EnglishChanges)
	o.Paper = o.Paper.Across()
	t := set.NewSearch(func(steps growth) *comparison { return layComparison(c, o, steps) }, func(s, best *comparison) bool {
		return s.Fits() && len(s.Pages) <= len(best.Pages)
	})
	if len(t.Best.Misfits) > 0 {
		return nil, t.Best.findings()
	}
	if bare := (growth{dense: 1}); len(t.Best.Pages) > 1 { // a head without facts, where that saves a page
		if s := t.Lay(bare); s.Fits() && len(s.Pages) < len(t.Best.Pages) {
			t.At, t.Best = bare, s
		}
	}
	enlarge(t)
	return t.Best.Finish(), nil
}

// comparison is such a sheet at a size of type.
type comparison struct{ changeSheet }

func layComparison(c *changes.Changes, o ChangeOptions, steps growth) *comparison {
	s := &comparison{newChanges(c, o, o.Words.Comparison, steps)}
	s.Bare = steps.dense > 0
	if !s.Begin(o.Paper, false) {
		return s
	}
	s.NewPage()
	s.notices()
	var blocks []set.Block
	for i, l := range c.Lists {
		if i > 0 {
			blocks = append(blocks, set.Block{H: s.Body * 3, Gap: true})
		}
		blocks = append(blocks, s.pair(l))
	}
	if !s.Fits() {
		return s
	}
	key := s.lineKey()
	s.Flow(set.Flow{Blocks: append(blocks, set.Block{H: s.Body * 2, Gap: true}, key)})
	return s
}

// sideRow is a slot of one of two lists.
type sideRow struct {
	number, name string
	said         set.Stack
	loud         bool // must be built anew
	gone         bool // is struck out
	line         int  // of the new plan's file
	y, h         float64
}

// link joins a slot of the old list with one of the new.
type link struct {
	from, to int // from 0
	moved    bool
	other    bool // another channel, or programmed otherwise
}

// links between two lists, in the order of the old one.
func (s *comparison) links(l *changes.List) (all []link) {
	if l.Old == nil || l.New == nil || s.c.Fresh() {
		return nil
	}
	for i := range l.Old.Slots {
		n := link{from: i, to: i}
		for _, run := range l.Shifts {
			if run.From <= i+1 && i+1 <= run.To {
				n.to = i + run.By
			}
		}
		if at := slices.IndexFunc(l.Slots, func(c *changes.Slot) bool { return c.Was == i+1 }); at >= 0 {
			c := l.Slots[at]
			if c.Is == 0 {
				continue
			}
			n.to, n.moved, n.other = c.Is-1, c.Has(changes.Moved), c.Has(changes.Replaced) || c.Has(changes.Retuned)
		}
		all = append(all, n)
	}
	return all
}

// side is the rows of a list in a width, and the head above them.
func (s *comparison) side(title string, slots []*plan.ResolvedSlot, width float64, row func(i int, slot *plan.ResolvedSlot) (said []set.Run, loud, gone bool)) (head set.Stack, rows []sideRow, strip, name float64) {
	mono := set.CapStyle(fonts.MonoBold, s.row)
	numberW, nameW := mono.Width("0"), 0.0
	for i, slot := range slots {
		numberW = max(numberW, mono.Width(strconv.Itoa(i+1)))
		nameW = max(nameW, mono.Width(slot.Channel.Name))
	}
	strip, name = numberW+s.row*0.9, numberW+s.row*1.5
	textX := name + nameW + s.row*0.8
	textW := width - textX
	for _, slot := range slots {
		if textW < s.Body*10 && mono.Width(slot.Channel.Name) >= nameW {
			s.Misfit(slot.At("channel"), "display name", slot.Channel.Name)
			return head, nil, strip, name
		}
	}
	head = s.Bold(1).Stack(title, width, s.Tight())
	y := head.Height() + s.Body*1.4
	for i, slot := range slots {
		said, loud, gone := row(i, slot)
		r := sideRow{number: strconv.Itoa(i + 1), name: slot.Channel.Name, loud: loud, gone: gone, line: slot.At("").Line, y: y,
			said: set.Stack{Lines: set.Paragraph(textW, said...), Cap: s.Body, Pitch: s.Tight()}}
		r.h = max(s.row*1.3, r.said.Height()) + s.Body*1.2
		y += r.h
		rows = append(rows, r)
	}
	return head, rows, strip, textX
}

// Widths of the two lists and of what is between them, in parts of the page's.
const (
	oldPart  = 0.33
	linePart = 0.15
)

// pair is the two forms of a list, side by side.
func (s *comparison) pair(l *changes.List) set.Block {
	title := func(r *plan.Resolved, l *plan.List) string {
		in := &r.Plan.Incident
		said := s.said.Numbered(s.said.Period, in)
		if in.Name != s.c.New.Plan.Incident.Name {
			said = in.Name + ", " + said
		}
		if l == nil {
			return said
		}
		return words.Joined(said, s.said.OneList(l, r)) + ", " + strings.ToLower(s.said.ReadBackCode) + " " + words.Whole(l.Code.Pairs())
	}
	var old, new []*plan.ResolvedSlot
	if l.Old != nil {
		old = l.Old.Slots
	}
	if l.New != nil {
		new = l.New.Slots
	}
	lead := func(slot *plan.ResolvedSlot) set.Run { return s.Bold(1).Say(words.Whole(s.said.Lead(slot))) }
	links := s.links(l)
	oldW := s.Width() * oldPart
	from := s.Width() * (oldPart + linePart)
	oldHead, oldRows, oldStrip, oldText := s.side(title(s.c.Old, l.Old), old, oldW, func(i int, slot *plan.ResolvedSlot) (said []set.Run, loud, gone bool) {
		gone = !slices.ContainsFunc(links, func(n link) bool { return n.from == i })
		said = []set.Run{lead(slot)}
		if gone {
			said = append(said, s.Regular(1).Say(": "+s.said.GoneWord))
		}
		return said, false, gone
	})
	var was [][]string
	if l.Old != nil && l.New != nil && !s.c.Fresh() {
		was = s.became(l)
	}
	newHead, newRows, newStrip, newText := s.side(title(s.c.New, l.New), new, s.Width()-from, func(i int, slot *plan.ResolvedSlot) (said []set.Run, loud, gone bool) {
		said = []set.Run{lead(slot)}
		if was == nil {
			said = append(said, s.Regular(1).Say(": "+s.said.New))
		} else if len(was[i]) > 0 {
			said = append(said, s.Regular(1).Say(": "+strings.Join(was[i], "; ")))
		}
		return said, slices.Contains(l.Rebuild, i+1) || s.c.Fresh(), false
	})
	end := func(head set.Stack, rows []sideRow) float64 {
		if len(rows) == 0 {
			return head.Height()
		}
		last := rows[len(rows)-1]
		return last.y + last.h
	}
	var clear set.Stack // what lies behind the end of the new list
	newEnd := end(newHead, newRows)
	h := max(end(oldHead, oldRows), newEnd)
	if l.New != nil && len(l.Clear) > 0 && !s.c.Fresh() {
		clear = s.Bold(1).Stack(capital(s.said.Some(s.said.ClearEnd, s.said.ClearEnds, l.Clear)), s.Width()-from, s.Tight())
		h = max(h, newEnd+s.Body*1.2+clear.Height())
	}
	b := set.Drawn(h, func(c *set.Canvas, x, y float64) {
		oldHead.Draw(c, x, y)
		newHead.Draw(c, x+from, y)
		clear.Draw(c, x+from, y+newEnd+s.Body*1.2)
		for _, n := range links {
			a, b := oldRows[n.from], newRows[n.to]
			line := layout.Line{X1: x + oldW + s.Body*0.6, Y1: y + a.y + a.h/2, X2: x + from - s.Body*0.6, Y2: y + b.y + b.h/2, Weight: lineSame}
			if n.moved {
				line.Weight = lineMoved
			}
			if n.other {
				line.Weight, line.Dash = lineOther, dashOther
			}
			c.Add(line)
		}
		s.drawSide(c, x, y, oldW, oldStrip, oldText, oldRows, false)
		s.drawSide(c, x+from, y, s.Width()-from, newStrip, newText, newRows, true)
	})
	b.What = set.Misfit{At: s.c.New.Plan.Incident.At("name"), What: "the list of", Text: s.c.New.Plan.Incident.Name}
	if name := s.c.Name(l); name != "" {
		b.What.Text = name
	}
	return b
}

// Weights of the lines, mm: what is the same, what stands out of its order, and
// what is another.
const (
	lineSame  = 0.25
	lineMoved = 0.9
	lineOther = 0.5
	dashOther = 1.3
)

// drawSide draws the rows of a list: the number white on black where the slot must
// be built anew, the name struck out where it is gone.
func (s *comparison) drawSide(c *set.Canvas, x, y, width, strip, text float64, rows []sideRow, areas bool) {
	mono := set.CapStyle(fonts.MonoBold, s.row)
	for i, r := range rows {
		const slit = 0.4 // mm of white between the numbers
		top, ink := y+r.y, layout.Black
		if areas {
			c.Area(x, top, width, r.h, i+1, r.line)
		}
		if r.loud {
			c.Bar(x, top+slit/2, strip, r.h-slit)
			ink = layout.White
		}
		weight := frame.RuleLight
		if i == 0 {
			weight = frame.RuleMid
		}
		c.Rule(x, x+width, top, weight)
		if i == len(rows)-1 {
			c.Rule(x, x+width, top+r.h, frame.RuleMid)
		}
		middle := top + r.h/2
		c.TextMid(x+strip/2, middle+s.row/2, mono.On(ink), r.number)
		end := c.Text(x+strip+s.row*0.6, middle+s.row/2, mono, r.name)
		if r.gone {
			c.Rule(x+strip+s.row*0.3, end+s.row*0.3, middle, s.row*0.16)
		}
		r.said.Draw(c, x+text, middle-r.said.Height()/2)
	}
}

// lineKey explains the lines, and the numbers on black.
func (s *comparison) lineKey() set.Block {
	regular := s.Regular(1)
	var pieces []set.Piece
	if !s.c.Fresh() {
		for _, k := range []struct {
			weight, dash float64
			said         string
		}{{lineSame, 0, s.said.LineSame}, {lineMoved, 0, s.said.LineMoved}, {lineOther, dashOther, s.said.LineOther}} {
			wide := s.Body * 4
			pieces = append(pieces, set.PieceOf(s.Body*2.5, set.Run{Wide: wide + s.Body*0.7, Drawn: func(c *set.Canvas, x, y float64) {
				c.Add(layout.Line{X1: x, Y1: y - s.Body/2, X2: x + wide, Y2: y - s.Body/2, Weight: k.weight, Dash: k.dash})
			}}, regular.Say(words.Whole(k.said))))
		}
	}
	lines, bad := set.Wrap(pieces, s.Width())
	lines = append(lines, set.Paragraph(s.Width(), regular.Say(s.said.Key))...)
	if bad != "" {
		s.Misfit(s.c.New.Plan.Incident.At("name"), "key to the lines", bad)
		return set.Block{}
	}
	return set.Stack{Lines: lines, Cap: s.Body, Pitch: s.Pitch()}.Block(0)
}

// findings are those of what does not fit.
func (s *comparison) findings() finding.List {
	found := s.changeSheet.findings()
	for i := range found {
		found[i].Message = strings.Replace(found[i].Message, "the change sheet", "the comparison", 1)
		found[i].Data["sheet"] = "compare"
	}
	return found
}
