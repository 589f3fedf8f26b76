package layout_test

import (
	"math"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"slotcard/fonts"
	"slotcard/layout"
	"slotcard/layout/sheets"
	"slotcard/plan"
	"slotcard/plan/changes"
)

// seenRow is a slot as it stands on a comparison.
type seenRow struct {
	number, name string
	y            float64 // its middle
	black        bool
	struck       bool
}

// seenLink is a line between two lists, by rows.
type seenLink struct {
	from, to      int
	dashed, heavy bool
}

// seen reads a page of a comparison by geometry alone: what stands in mono type at
// the left is the old list, at the right the new one; several lists follow.
func seen(t require.TestingT, p layout.Page) (old, new []seenRow, links []seenLink) {
	left := 10.0 + 0.4*(p.Width-20)
	var number layout.Text
	for _, it := range p.Items {
		tx, ok := it.(layout.Text)
		if !ok || tx.Face != fonts.MonoBold {
			continue
		}
		if _, err := strconv.Atoi(tx.S); err == nil && (number.S == "" || math.Abs(number.Y-tx.Y) > 1e-6 || tx.X < number.X) {
			number = tx
			continue
		}
		r := seenRow{number: number.S, name: tx.S, y: tx.Y - fonts.CapMM(tx.Size)/2, black: number.Ink == layout.White}
		if tx.X < left {
			old = append(old, r)
		} else {
			new = append(new, r)
		}
		number = layout.Text{}
	}
	at := func(rows []seenRow, y float64) int {
		for i, r := range rows {
			if math.Abs(r.y-y) < 0.05 {
				return i
			}
		}
		require.Fail(t, "a line ends at no row")
		return 0
	}
	for _, it := range p.Items {
		l, ok := it.(layout.Line)
		switch {
		case !ok:
		case l.X1 > left-p.Width*0.1 && l.X1 < left && l.X2 > left && l.X2 < p.Width*0.55 && l.X2-l.X1 > p.Width*0.08 && l.X2-l.X1 < p.Width*0.2 && (l.Weight == 0.25 || l.Weight == 0.5 || l.Weight == 0.9) && l.Y1 < p.Height*0.9 && within(old, l.Y1):
			links = append(links, seenLink{at(old, l.Y1), at(new, l.Y2), l.Dash > 0, l.Weight == 0.9})
		case l.Y1 == l.Y2 && l.X2 < left:
			for i := range old {
				if math.Abs(old[i].y-l.Y1) < 0.05 {
					old[i].struck = true
				}
			}
		}
	}
	return old, new, links
}

func within(rows []seenRow, y float64) bool {
	for _, r := range rows {
		if math.Abs(r.y-y) < 0.05 {
			return true
		}
	}
	return false
}

// checkComparison checks a comparison of single lists; what must be known first may
// stand on a page before them.
func checkComparison(t require.TestingT, c *changes.Changes, d *layout.Document) {
	old, new, links := seen(t, d.Pages[0])
	for i := 1; len(old) == 0 && i < len(d.Pages); i++ {
		old, new, links = seen(t, d.Pages[i])
	}
	was, is := c.Old.Lists[0].Slots, c.New.Lists[0].Slots
	require.Len(t, old, len(was))
	require.Len(t, new, len(is))
	for i, r := range old {
		require.Equal(t, strconv.Itoa(i+1), r.number)
		require.Equal(t, was[i].Channel.Name, r.name)
	}
	joined, from := map[int]bool{}, map[int]bool{}
	for _, l := range links {
		require.False(t, joined[l.to] || from[l.from], "a slot has one line")
		joined[l.to], from[l.from] = true, true
		same := changes.TuningOf(was[l.from]) == changes.TuningOf(is[l.to])
		require.Equal(t, !same, l.dashed, "%s to %s", was[l.from].Channel.Name, is[l.to].Channel.Name)
	}
	for i, r := range new {
		require.Equal(t, is[i].Channel.Name, r.name)
		same := i < len(was) && changes.TuningOf(was[i]) == changes.TuningOf(is[i])
		require.Equal(t, !same || c.Fresh(), r.black, "slot %d is white on black where it must be built", i+1)
	}
	for i, r := range old {
		require.Equal(t, !from[i], r.struck, "slot %d of the old list is struck out where nothing is in its place", i+1)
		for k := range new { // what has no line is nowhere else
			if !c.Fresh() && !from[i] && !joined[k] {
				require.NotEqual(t, changes.TuningOf(was[i]), changes.TuningOf(is[k]))
			}
		}
	}
}

func TestComparisonOfExample(t *testing.T) {
	c := periods(t)
	d, found := sheets.Comparison(c, sheets.ChangeOptions{})
	require.Empty(t, found)
	require.Len(t, d.Pages, 1)
	checkComparison(t, c, d)
	_, _, links := seen(t, d.Pages[0])
	assert.Len(t, links, 10, "slot 5 of the new list is new")
	golden(t, "compare-thimble-gulch.txt", d)
}

// Slots that are swapped, added and removed by hand.
func TestComparisonOfMoves(t *testing.T) {
	old, fresh := example(t, "thimble-gulch"), example(t, "thimble-gulch")
	l := fresh.Lists[0]
	s := l.Slots
	moved := []*plan.ResolvedSlot{s[0], s[2], s[3], s[4], s[5], s[1], s[6], s[7], s[9]} // 2 goes down to 6, 9 is gone
	l.Slots = moved
	c := changes.Between(old, fresh)
	d, found := sheets.Comparison(c, sheets.ChangeOptions{})
	require.Empty(t, found)
	assert.Empty(t, sheetFaults(withoutLinks(d.Pages[0]), 10))
	checkComparison(t, c, d)
	_, _, links := seen(t, d.Pages[0])
	heavy := 0
	for _, k := range links {
		if k.heavy {
			heavy++
			assert.Equal(t, seenLink{1, 5, false, true}, k)
		}
	}
	assert.Equal(t, 1, heavy)
	assert.Contains(t, said(d), ": gone")
}

func TestComparisonOfManyPlans(t *testing.T) {
	single := 0
	rapid.Check(t, func(rt *rapid.T) {
		c := pairOf(t, rt)
		size := rapid.SampledFrom(layout.PaperSizes()).Draw(rt, "paper")
		d, found := sheets.Comparison(c, sheets.ChangeOptions{Paper: size})
		if d == nil {
			require.NotEmpty(rt, found)
			for _, f := range found {
				require.Equal(rt, "does-not-fit", f.Rule)
				require.NotEmpty(rt, f.Help)
			}
			return
		}
		for i, p := range d.Pages {
			require.Empty(rt, sheetFaults(withoutLinks(p), 10), "page %d", i+1)
		}
		if len(c.Old.Lists) == 1 && len(c.New.Lists) == 1 {
			single++
			checkComparison(rt, c, d)
		}
	})
	assert.Greater(t, single, 10)
}

// withoutLinks is a page without what crosses text because it strikes it out, and
// without slanted lines, which are not the rectangles around them.
func withoutLinks(p layout.Page) layout.Page {
	var items []layout.Item
	for _, it := range p.Items {
		if l, ok := it.(layout.Line); ok && (l.Y1 != l.Y2 || strikes(p, l)) {
			continue
		}
		items = append(items, it)
	}
	p.Items = items
	return p
}

func strikes(p layout.Page, l layout.Line) bool {
	for _, it := range p.Items {
		if t, ok := it.(layout.Text); ok && t.Face == fonts.MonoBold && math.Abs(t.Y-fonts.CapMM(t.Size)/2-l.Y1) < 0.05 && l.X1 < t.X && t.X < l.X2 {
			return true
		}
	}
	return false
}
