package set_test

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"slotcard/fonts"
	"slotcard/layout"
	. "slotcard/layout/set"
	"slotcard/plan"
	"slotcard/plan/finding"
)

// supervisors is the exercise: a sheet of its own, in this one function. Who
// commands which division stands in two columns, under a head and over a foot on
// as many pages as it takes, in type as large as one page holds.
func supervisors(in *plan.Incident, divisions []*plan.Division, paper layout.Size) (*layout.Document, finding.List) {
	lay := func(mm float64) *Pager {
		p := &Pager{Paper: paper, Margin: 15}
		bold, text := CapStyle(fonts.Bold, mm), CapStyle(fonts.Regular, mm)
		head := bold.Stack(in.Name+": supervisors", p.Width(), 2*mm).Block(2 * mm)
		p.Open = func() {
			head.Put(&p.Page().Canvas, p.Left(), p.Y)
			p.Y += head.H
			p.Bottom -= 3 * mm
			p.Page().Text(p.Left(), p.Paper.Height-p.Margin, text, "The approved plan decides.")
		}
		column := (p.Width() - 8) / 2
		var rows []Block
		for _, d := range divisions {
			row := Stack{Lines: Paragraph(column, bold.Say(d.Title()+" "), text.Say(d.Supervisor)), Cap: mm, Pitch: 1.75 * mm}.Block(mm)
			row.What = Misfit{At: d.At("supervisor"), Text: d.Supervisor}
			row.Rule = func(c *Canvas, x, y float64) { c.Rule(x, x+column, y-mm/2, 0.2) }
			rows = append(rows, row)
		}
		p.Flow(Flow{Blocks: rows, Columns: 2, Gutter: 8, Even: true, Mark: "Supervisors"})
		return p
	}
	mm, _ := Largest(layout.SheetLeast(), 8, 0.1, func(mm float64) bool { return len(lay(mm).Pages) <= 1 })
	p := lay(mm)
	if len(p.Misfits) > 0 {
		return nil, p.Findings(Notice{None: "shorten it", Message: func(m Misfit) string {
			return fmt.Sprintf("supervisor %q does not fit on %s", Short(m.Text), paper.Name)
		}})
	}
	return p.Document("Supervisors: "+in.Name, "", "en", func(c *Canvas, i, n int) {
		s := CapStyle(fonts.Regular, layout.SheetLeast())
		c.TextRight(p.Right(), paper.Height-p.Margin, s, fmt.Sprintf("%d/%d", i, n))
	}), nil
}

func sheetOf(t *testing.T, n int, name string) (*layout.Document, finding.List) {
	letter, ok := layout.PaperSize("letter")
	require.True(t, ok)
	var divisions []*plan.Division
	for i := range n {
		divisions = append(divisions, &plan.Division{ID: strconv.Itoa(i + 1), Supervisor: name})
	}
	return supervisors(&plan.Incident{Name: "Thimble Gulch"}, divisions, letter)
}

// texts are the runs of a page, each with its size.
func texts(p layout.Page) (said []string, sizes []float64) {
	for _, it := range p.Items {
		if text, ok := it.(layout.Text); ok {
			said, sizes = append(said, text.S), append(sizes, text.Size)
		}
	}
	return said, sizes
}

// A list of supervisors, as an exercise in the kit: type grows where there is
// room, pages break where there is none, and every page has head and foot.
func TestNewSheet(t *testing.T) {
	few, found := sheetOf(t, 4, "R. Okafor")
	require.Empty(t, found)
	require.Len(t, few.Pages, 1)
	many, found := sheetOf(t, 300, "R. Okafor")
	require.Empty(t, found)
	require.Greater(t, len(many.Pages), 1)
	_, large := texts(few.Pages[0])
	_, small := texts(many.Pages[0])
	assert.Greater(t, slices.Max(large), 2*slices.Max(small), "few names stand larger than many")
	rows := 0
	for i, p := range many.Pages {
		said, _ := texts(p)
		all := strings.Join(said, "\n")
		assert.Contains(t, all, "Thimble Gulch: supervisors")
		assert.Contains(t, all, "The approved plan decides.")
		assert.Contains(t, all, fmt.Sprintf("%d/%d", i+1, len(many.Pages)))
		rows += strings.Count(all, "R. Okafor")
		right := false
		for _, it := range p.Items {
			ink := layout.InkOf([]layout.Item{it})
			assert.LessOrEqual(t, ink.Y+ink.H, p.Height-10)
			right = right || ink.X > p.Width/2
		}
		assert.True(t, right, "both columns are used")
	}
	assert.Equal(t, 300, rows, "every row stands somewhere, once")
	assert.Equal(t, "Supervisors", many.Pages[0].Bookmarks[0].Title)
}

// What no page holds is a finding, and then there is no sheet.
func TestNewSheetDoesNotFit(t *testing.T) {
	d, found := sheetOf(t, 2, strings.Repeat("Okafor ", 2000))
	assert.Nil(t, d)
	require.Len(t, found, 1)
	assert.Equal(t, "does-not-fit", found[0].Rule)
	assert.Contains(t, found[0].Message, "does not fit on letter")
	assert.Equal(t, []string{"shorten it"}, found[0].Help)
}
