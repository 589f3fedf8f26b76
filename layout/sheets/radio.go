package sheets

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"slotcard/layout"
	"slotcard/layout/frame"
	"slotcard/layout/set"
	"slotcard/layout/strips"
	"slotcard/layout/words"
	"slotcard/plan"
	"slotcard/plan/changes"
	"slotcard/plan/finding"
)

// The page behind the strips: the sentence that is read on the radio, who must
// acknowledge it, and who needs a card in place of a strip. Of the wall sheet's family.

// radioSheet is that page in the making.
type radioSheet struct {
	frame.Frame
	said  *words.StripWords
	c     *changes.Changes
	strip []*strips.Strip
	full  []*strips.Strip
}

// radioGrow is the most that the type of the page grows, times the least.
const radioGrow = 1.6

// radioPage lays the page out as large as one page holds it.
func radioPage(c *changes.Changes, o StripOptions, some, full []*strips.Strip) (*layout.Document, finding.List) {
	lay := func(steps int) *radioSheet {
		fixed := o.Words.WallWords
		fixed.Title = o.Words.Title
		s := &radioSheet{said: o.Words, c: c, strip: some, full: full}
		s.Resolved, s.Words = c.New, &fixed
		s.Body = layout.SheetLeast() * grown(steps, radioGrow)
		s.Fine = s.Body
		s.Mid = layout.CapAt(1000, layout.ArcminKey)
		s.Key = s.Mid * 1.5
		if s.Begin(o.Paper.Across(), true) {
			s.NewPage()
			s.all()
		}
		return s
	}
	best := lay(0)
	pages := len(best.Pages)
	if len(best.Misfits) == 0 {
		set.Largest(0, growSteps, 1, func(n float64) bool {
			s := lay(int(n))
			if !s.Fits() || len(s.Pages) > pages {
				return false
			}
			best = s
			return true
		})
	}
	if len(best.Misfits) > 0 {
		return nil, best.Findings(set.Notice{None: "shorten it, or print on larger paper", Message: func(m set.Misfit) string {
			return fmt.Sprintf("%s %q does not fit the page of the strips on %s", m.What, set.Short(m.Text), best.Paper.Name)
		}})
	}
	return best.Finish(), nil
}

// all is the content of the page.
func (s *radioSheet) all() {
	t := s.Texts(s.Width(), s.Body*2)
	t.Heading(s.said.Read)
	loud := s.Bold(1.9)
	for _, line := range s.sentences() {
		stack := loud.Stack(line, s.Width(), loud.Cap()*1.7)
		t.Add(stack.Block(loud.Cap() * 0.9))
	}
	t.Say(false, s.Regular(1).Say(s.said.SetOn))
	s.Flow(set.Flow{Blocks: t.Blocks, Mark: s.said.Read})
	const columns = 3
	gap := s.Body * 3.5
	wide := (s.Width() - gap*(columns-1)) / columns
	t = s.Texts(wide, s.Body*2.2)
	s.Space(s.Body * 2.5)
	t.Heading(s.said.Acknowledge)
	s.acknowledge(t)
	s.inFull(t)
	s.collect(t)
	s.Flow(set.Flow{Blocks: t.Blocks, Columns: columns, Gutter: gap, Even: true, Mark: s.said.Acknowledge})
}

// sentences are what is read, a paragraph for each list that changes.
func (s *radioSheet) sentences() (out []string) {
	for _, l := range s.c.Lists {
		if l.Old == nil || l.New == nil || !slices.ContainsFunc(s.strip, func(p *strips.Strip) bool { return p.Card.Old.List == l.Old && p.Card.New.List == l.New }) {
			continue
		}
		rows := strips.RowsBetween(l.Old, l.New)
		if len(rows) == 0 {
			continue
		}
		var said []string
		if s.Resolved.Plan.Incident.Exercise {
			said = append(said, s.said.SaidExercise)
		}
		if name := s.said.ListName(l.New, s.Resolved); name != "" {
			said = append(said, words.Filled(s.said.SaidFor, "list", name))
		}
		for _, r := range rows {
			switch r.Kind {
			case strips.Now:
				said = append(said, s.said.SayNow(r.Position, r.Slot))
			case strips.Stays:
				said = append(said, s.said.SayStays(r.Position, r.Slot))
			case strips.Clear:
				said = append(said, s.said.SayClear(r.Position))
			}
		}
		out = append(out, strings.Join(append(said, s.said.SayCode(l.New.Code), s.said.SaidAcknowledge), " "))
	}
	return out
}

// acknowledge are the units whose radios or ears change, each with a box.
func (s *radioSheet) acknowledge(t *set.Texts) {
	type unit struct {
		*plan.Unit
		is     *plan.Division
		strips int
	}
	var units []*unit
	for _, p := range s.strip {
		card := p.Card.New
		if n := len(units); n == 0 || units[n-1].Unit != card.Unit {
			units = append(units, &unit{card.Unit, card.Division, 0})
		}
		units[len(units)-1].strips++
	}
	for _, u := range units {
		count := s.said.OneStrip
		if u.strips != 1 {
			count = words.Filled(s.said.ManyStrips, "n", strconv.Itoa(u.strips))
		}
		if u.is != nil {
			count = s.said.Called(u.is) + ", " + count
		}
		s.box(t, s.Bold(1.15).Say(words.Whole(u.Name)), s.Regular(1).Say("  "+count))
	}
}

// box is a line with a box to tick.
func (s *radioSheet) box(t *set.Texts, said ...set.Run) {
	side := s.Body * 1.7
	left := side + s.Body*1.1
	stack := set.Stack{Lines: set.Paragraph(t.Wide-left, said...), Cap: s.Body * 1.15, Pitch: s.Tight()}
	h := max(side, stack.Height()) + s.Body*1.2
	t.Add(set.Drawn(h, func(c *set.Canvas, x, y float64) {
		c.Frame(x, y, side, side, 0.4)
		stack.Draw(c, x+left, y+(side-stack.Cap)/2)
	}))
}

// inFull are the cards that no strip can change, by unit and why.
func (s *radioSheet) inFull(t *set.Texts) {
	if len(s.full) == 0 {
		return
	}
	t.Heading(s.said.Whole)
	for i := 0; i < len(s.full); {
		p, n := s.full[i], 0
		var numbers []int
		for ; i < len(s.full) && s.full[i].Card.New.Unit == p.Card.New.Unit && s.full[i].Why == p.Why; i++ {
			numbers = append(numbers, s.full[i].Card.New.Number)
			n++
		}
		slices.Sort(numbers)
		why := [...]string{"", s.said.NewSeat, s.said.Moved, s.said.TooMuch, s.said.Beside}[p.Why]
		s.box(t, s.Bold(1.15).Say(words.Whole(p.Card.New.Unit.Name)),
			s.Regular(1).Say("  "+s.said.Card+" "+words.NumberRuns(numbers)+": "+why))
	}
}

// collect are the units, or seats of them, that carry no card any more.
func (s *radioSheet) collect(t *set.Texts) {
	first := true
	for _, u := range s.c.Units {
		if len(u.Gone) == 0 {
			continue
		}
		if first {
			t.Heading(s.said.Collect)
			first = false
		}
		var numbers []int
		for _, card := range u.Gone {
			numbers = append(numbers, card.Number)
		}
		slices.Sort(numbers)
		s.box(t, s.Bold(1.15).Say(words.Whole(u.Name())), s.Regular(1).Say("  "+s.said.Card+" "+words.NumberRuns(numbers)))
	}
}
