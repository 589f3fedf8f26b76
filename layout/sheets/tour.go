package sheets

import (
	"strconv"

	"slotcard/fonts"
	"slotcard/layout"
	"slotcard/layout/frame"
	"slotcard/layout/set"
	"slotcard/layout/words"
)

// TourOptions say how to lay out the page for a first-time user.
type TourOptions struct {
	Paper layout.Size      // used upright; the zero Size: letter
	Words *words.TourWords // nil: English
	Where [10]string       // the views of the desk, for each step
}

const (
	tourMargin = 14.0 // mm
	tourGrow   = 1.5  // the most that the type grows, times the least
)

// tour is that page in the making.
type tour struct {
	set.Pager
	o    TourOptions
	body float64 // cap height, mm
}

// Tour lays out the ten steps of the job, as large as one page holds them; small paper
// takes several. It is of no plan and no load.
func Tour(o TourOptions) *layout.Document {
	frame.Settle(&o.Paper, &o.Words, &words.EnglishTour)
	best := layTour(o, 0)
	pages := len(best.Pages)
	set.Largest(0, frame.GrowSteps, 1, func(n float64) bool {
		t := layTour(o, int(n))
		if len(t.Pages) > pages {
			return false
		}
		best = t
		return true
	})
	return best.Document(o.Words.Title, o.Words.Lead, o.Words.Language, nil)
}

func layTour(o TourOptions, steps int) *tour {
	t := &tour{o: o, body: layout.SheetLeast() * frame.Grown(steps, tourGrow)}
	across := o.Paper.Across()
	t.Paper, t.Margin = layout.Size{Name: across.Name, Width: across.Height, Height: across.Width}, tourMargin
	t.NewPage()
	regular, bold := set.CapStyle(fonts.Regular, t.body), set.CapStyle(fonts.Bold, t.body)
	title, pitch := set.CapStyle(fonts.Bold, t.body*2.6), t.body*1.8
	blocks := []set.Block{
		title.Stack(o.Words.Title, t.Width(), title.Cap()*1.5).Block(t.body * 1.5),
		regular.Stack(o.Words.Lead, t.Width(), pitch).Block(t.body * 2.2),
	}
	for i := range o.Words.What {
		blocks = append(blocks, t.step(i))
	}
	rule := set.Drawn(t.body*2.5, func(c *set.Canvas, x, y float64) { c.Rule(x, x+t.Width(), y, frame.RuleMid) })
	rule.Keep = true
	blocks = append(blocks, rule,
		regular.Stack(o.Words.Help, t.Width(), pitch).Block(t.body*1.6),
		bold.Stack(o.Words.Care, t.Width(), pitch).Block(0))
	t.Flow(set.Flow{Blocks: blocks, Mark: o.Words.Title})
	return t
}

// step is a row: its number, what it is and what there is to do, and where at the right.
func (t *tour) step(i int) set.Block {
	number := set.CapStyle(fonts.Bold, t.body*2.4)
	head, text, place := set.CapStyle(fonts.Bold, t.body*1.35), set.CapStyle(fonts.Regular, t.body), set.CapStyle(fonts.Bold, t.body)
	left, gap := number.Width("10")+t.body*2, t.body*2.5
	right := t.Width() * 0.24
	wide := t.Width() - left - gap - right
	what := head.Stack(t.o.Words.What[i], wide, head.Cap()*1.5)
	how := text.Stack(t.o.Words.How[i], wide, t.body*1.75)
	where := text.Stack(t.o.Words.Where, right, t.body*1.75)
	views := place.Stack(t.o.Where[i], right, t.body*1.75)
	between := t.body * 1.1
	high := max(what.Height()+between+how.Height(), where.Height()+between+views.Height(), number.Cap())
	above := t.body * 1.5
	return set.Drawn(high+2*above, func(c *set.Canvas, x, y float64) {
		c.Rule(x, x+t.Width(), y, frame.RuleLight)
		y += above
		c.TextRight(x+number.Width("10"), y+number.Cap(), number, strconv.Itoa(i+1))
		what.Draw(c, x+left, y)
		how.Draw(c, x+left, y+what.Height()+between)
		at := x + left + wide + gap
		where.Draw(c, at, y)
		views.Draw(c, at, y+where.Height()+between)
	})
}
