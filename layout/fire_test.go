package layout_test

import (
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"slotcard/fonts"
	"slotcard/layout"
	"slotcard/layout/sheets"
	"slotcard/layout/words"
	"slotcard/plan"
	"slotcard/plan/plantest"
	"slotcard/plan/rules"
)

// fireFaults are the faults of a sheet of the fire. Parts of the ring and slanted
// lines are not the rectangles around them, so text may stand in these.
func fireFaults(p layout.Page) []string {
	p.Items = slices.DeleteFunc(slices.Clone(p.Items), func(it layout.Item) bool {
		switch it := it.(type) {
		case layout.Shape:
			return true
		case layout.Line:
			return it.X1 != it.X2 && it.Y1 != it.Y2 || it.Weight == 0.3 || it.Weight == 0.45
		}
		return false
	})
	return sheetFaults(p, 9.9)
}

// fireBoxes are what the box of each division says, by the line of the plan.
func fireBoxes(t require.TestingT, p layout.Page) map[int]string {
	said := map[int]string{}
	for i, a := range p.Areas {
		for _, b := range p.Areas[:i] {
			apart := a.X+a.W <= b.X+1e-6 || b.X+b.W <= a.X+1e-6 || a.Y+a.H <= b.Y+1e-6 || b.Y+b.H <= a.Y+1e-6
			require.True(t, apart, "two boxes overlap")
		}
		for _, it := range p.Items {
			if tx, ok := it.(layout.Text); ok && tx.X >= a.X && tx.X+tx.Width() <= a.X+a.W && tx.Y > a.Y && tx.Y < a.Y+a.H {
				said[a.Line] += tx.S + " "
			}
		}
	}
	return said
}

// sectors are the parts of the ring that divisions have, in the order of drawing.
func sectors(p layout.Page) (all []layout.Shape) {
	for _, it := range p.Items {
		if s, ok := it.(layout.Shape); ok && s.Stroke == 0.5 && s.Fill {
			all = append(all, s)
		}
	}
	return all
}

// checkRing checks that the divisions go clockwise around the ring, from its foot
// on, and that neighbors touch.
func checkRing(t require.TestingT, p layout.Page, n int) {
	if n < 2 {
		return
	}
	all := sectors(p)
	require.Len(t, all, n)
	var cx, cy float64
	for _, s := range all {
		for _, g := range s.Segments[:len(s.Segments)/2] {
			cx, cy = cx+g.X/float64(n*len(s.Segments)/2), cy+g.Y/float64(n*len(s.Segments)/2)
		}
	}
	before := -1.0
	for i, s := range all {
		half := len(s.Segments) / 2
		m := s.Segments[half/2]
		turn := math.Atan2(cx-m.X, m.Y-cy) / (2 * math.Pi) // clockwise from the foot, as the page is seen
		if turn < 0 {
			turn++
		}
		require.Greater(t, turn, before, "division %d comes after the one before", i+1)
		before = turn
		next := all[(i+1)%n].Segments[0]
		end := s.Segments[half-1]
		require.InDelta(t, 0, math.Hypot(end.X-next.X, end.Y-next.Y), 1e-6, "division %d touches the next one", i+1)
	}
}

func lineDivisions(r *plan.Resolved) (n int) {
	for _, d := range r.Plan.Divisions {
		if !d.Functional {
			n++
		}
	}
	return n
}

// The sheet says of each division what its cards do, counted from the cards.
func TestFireOfExamples(t *testing.T) {
	for _, name := range []string{"thimble-gulch", "first-hour"} {
		r := example(t, name)
		d, found := sheets.Fire(r, sheets.FireOptions{})
		require.Empty(t, found)
		require.Len(t, d.Pages, 1)
		p := d.Pages[0]
		assert.Empty(t, fireFaults(p))
		checkRing(t, p, lineDivisions(r))
		boxes := fireBoxes(t, p)
		for _, dv := range r.Plan.Divisions {
			box := boxes[dv.At("").Line]
			assert.Contains(t, box, dv.ID)
			assert.Contains(t, box, dv.Name)
			assert.Contains(t, box, dv.Supervisor)
			heard := map[string]bool{}
			for _, c := range r.Cards {
				if c.Division == dv {
					assert.Contains(t, flat(box), c.Unit.Name)
					for i, m := range c.Marks {
						if m.Talk || m.Priority || m.Scan {
							heard[fmt.Sprintf("%d %s", i+1, c.List.Slots[i].Channel.Name)] = true
						}
					}
				}
			}
			for slot := range heard {
				assert.Contains(t, flat(box), slot, "of division %s", dv.ID)
			}
		}
		for _, s := range r.Slots {
			assert.Contains(t, said(d), s.Channel.Name)
		}
	}
}

func TestFireGolden(t *testing.T) {
	d, found := sheets.Fire(example(t, "thimble-gulch"), sheets.FireOptions{})
	require.Empty(t, found)
	golden(t, "fire-thimble-gulch.txt", d)
}

func TestFireOfManyPlans(t *testing.T) {
	fits, tried := 0, 0
	rapid.Check(t, func(rt *rapid.T) {
		tried++
		s := shapes(rt)
		s.WordLength, s.Words = min(s.WordLength, 9), min(s.Words, 3)
		r := plantest.Make(t, s)
		l, _ := words.Speak(rapid.SampledFrom(words.Languages()).Draw(rt, "language"))
		o := sheets.FireOptions{Words: &l.Fire, Lines: rapid.Bool().Draw(rt, "lines")}
		o.Paper = rapid.SampledFrom(layout.PaperSizes()).Draw(rt, "paper")
		o.Troubles = rules.Troubles(r, rules.Check(r))
		d, found := sheets.Fire(r, o)
		if d == nil {
			require.NotEmpty(rt, found)
			for _, f := range found {
				require.Equal(rt, "does-not-fit", f.Rule)
				require.NotEmpty(rt, f.Help)
			}
			return
		}
		fits++
		require.Len(rt, d.Pages, 1)
		require.Empty(rt, fireFaults(d.Pages[0]))
		checkRing(rt, d.Pages[0], lineDivisions(r))
		all := flat(said(d))
		for _, p := range r.Posts() {
			if p.Division != nil {
				require.Contains(rt, all, flat(p.Division.Name))
			}
			for _, i := range p.Talks {
				require.Contains(rt, all, strconv.Itoa(i+1)+" "+p.List.Slots[i].Channel.Name)
			}
			for _, u := range p.Units {
				require.Contains(rt, joinedLetters(all), joinedLetters(u.Name))
			}
		}
	})
	assert.Greater(t, 100*fits, 30*tried, "too few have a sheet")
}

func TestFireDoesNotFit(t *testing.T) {
	r := plantest.Make(t, plantest.Shape{Seed: 1, Slots: 12, NameLength: 8, Divisions: 60, WordLength: 8, Words: 3, Units: 60, Seats: 1, PerSeat: 1})
	d, found := sheets.Fire(r, sheets.FireOptions{})
	assert.Nil(t, d)
	require.Len(t, found, 1)
	assert.Contains(t, found[0].Message, "does not fit the sheet of the fire on letter")
	assert.NotEmpty(t, found[0].Help)
}

// What disturbs what, of published channels (NIFOG, secondary: VFIRE21 154.2800,
// VFIRE22 154.2650, VFIRE23 154.2950 MHz): twice the middle one less either
// outer one is the other, by hand.
func TestFireLines(t *testing.T) {
	r, found, err := rules.Open(filepath.Join("..", "testdata", "broken", "intermodulation.toml"), plan.Options{ReadFile: os.ReadFile, Prints: fonts.Prints})
	require.NoError(t, err)
	troubles := rules.Troubles(r, found)
	require.Len(t, troubles, 2)
	for _, x := range troubles {
		require.True(t, x.ThirdOrder())
		assert.Equal(t, 2*x.From[0].Channel.Tx-x.From[1].Channel.Tx, x.Onto.Channel.Rx)
	}
	plain, _ := sheets.Fire(r, sheets.FireOptions{Troubles: troubles})
	lines, _ := sheets.Fire(r, sheets.FireOptions{Troubles: troubles, Lines: true})
	count := func(d *layout.Document, dashed bool) (n int) {
		for _, it := range d.Pages[0].Items {
			if l, ok := it.(layout.Line); ok && l.Weight == 0.45 && (l.Dash > 0) == dashed {
				n++
			}
		}
		return n
	}
	assert.Zero(t, count(plain, true)+count(plain, false), "only where it is asked for")
	assert.Equal(t, 4, count(lines, true), "from each who talks")
	assert.Equal(t, 2, count(lines, false), "to whom it disturbs")
	all := strings.ReplaceAll(said(lines), layout.NoBreak, " ")
	assert.Contains(t, all, "2 × VFIRE21 − VFIRE23 falls on VFIRE22")
	assert.Contains(t, all, "2 × VFIRE21 − VFIRE22 falls on VFIRE23")

	none := example(t, "thimble-gulch")
	assert.Empty(t, rules.Troubles(none, rules.Check(none)))
	d, _ := sheets.Fire(none, sheets.FireOptions{Lines: true})
	assert.Contains(t, flat(said(d)), words.EnglishFire.NoTroubles)
}

func BenchmarkFire(b *testing.B) {
	r := example(b, "thimble-gulch")
	for b.Loop() {
		sheets.Fire(r, sheets.FireOptions{})
	}
}
