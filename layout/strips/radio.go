package strips

import (
	"fmt"

	"slotcard/layout"
	"slotcard/layout/frame"
	"slotcard/layout/set"
	"slotcard/layout/words"
	"slotcard/plan/changes"
	"slotcard/plan/finding"
)

// The page behind the strips: the sentence that is read on the radio, who must
// acknowledge it, and who needs a card in place of a strip. Of the wall sheet's family.

// radioSheet is that page in the making.
type radioSheet struct {
	frame.Frame
	Radio
	said *words.StripWords
}

// radioGrow is the most that the type of the page grows, times the least.
const radioGrow = 1.6

// radioPage lays the page out as large as one page holds it.
func radioPage(c *changes.Changes, o Options, some, full []*strip) (*layout.Document, finding.List) {
	radio := *radioOf(c, o.Words, some, full)
	lay := func(steps int) *radioSheet {
		s := &radioSheet{Frame: frame.Near(c.New, o.Words.WallWords, o.Words.Title, frame.Grown(steps, radioGrow)), said: o.Words, Radio: radio}
		if s.Begin(o.Paper.Across(), true) {
			s.NewPage()
			s.all()
		}
		return s
	}
	best := lay(0)
	pages := len(best.Pages)
	if len(best.Misfits) == 0 {
		set.Largest(0, frame.GrowSteps, 1, func(n float64) bool {
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
	for _, line := range s.Sentences {
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
	for _, g := range s.Groups {
		t.Heading(g.Heading)
		for _, b := range g.Boxes {
			s.box(t, s.Bold(1.15).Say(words.Whole(b.Unit)), s.Regular(1).Say("  "+b.Says))
		}
	}
	s.Flow(set.Flow{Blocks: t.Blocks, Columns: columns, Gutter: gap, Even: true, Mark: s.said.Acknowledge})
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
