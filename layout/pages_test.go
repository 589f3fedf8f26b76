package layout_test

import (
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"slotcard/fonts"
	"slotcard/layout"
	"slotcard/layout/sheets"
	"slotcard/layout/wall"
	"slotcard/layout/words"
	"slotcard/plan"
	"slotcard/plan/plantest"
	"slotcard/plan/rules"
)

// A page with less used is one too many where its content fits elsewhere.
const leastUsed = 1.0 / 3

// usedOf is what share of the height between its head and its foot a sheet's page uses.
func usedOf(p layout.Page) float64 {
	in := inspect(&layout.Panel{Width: p.Width, Height: p.Height, Items: p.Items})
	foot, top := p.Height, p.Height
	for i, t := range in.texts {
		if strings.HasPrefix(words.EnglishSheet.SheetNotes[0], strings.TrimRight(t.S, " ")) && len(t.S) > 20 {
			foot = min(foot, in.inks[i].y0)
		}
	}
	for _, it := range p.Items { // the rule below the head
		if b, ok := it.(layout.Line); ok && b.Y1 == b.Y2 && b.Weight >= 0.5 && b.Y1 > 12 {
			top = min(top, b.Y1)
		}
	}
	low := top
	for _, b := range slices.Concat(in.inks, in.other, in.modules) {
		if b.y1 <= foot {
			low = max(low, b.y1)
		}
	}
	return (low - top) / (foot - top)
}

// fourLists is a plan of four lists of ten and of twelve slots.
func fourLists(t testing.TB) *plan.Resolved {
	r, found, err := rules.Open(filepath.Join("testdata", "four-lists.toml"), plan.Options{ReadFile: os.ReadFile, Prints: fonts.Prints})
	require.NoError(t, err)
	require.False(t, found.HasErrors(), "%v", found)
	return r
}

// usualPlans are plans of many measures, as fires have them: the same ones each time.
func usualPlans(t testing.TB, n int) (all []*plan.Resolved) {
	rng := rand.New(rand.NewPCG(15, 1))
	for i := range n {
		divisions := 1 + rng.IntN(7)
		r := plantest.Make(t, plantest.Shape{
			Seed: rng.Uint64(), Slots: max(5, divisions+3) + rng.IntN(7), NameLength: 5 + rng.IntN(6), Divisions: divisions,
			Functional: i%4 == 0, WordLength: 3 + rng.IntN(6), Words: 1 + rng.IntN(2), Units: 2 + rng.IntN(14), Seats: 1 + rng.IntN(5),
			PerSeat: 1 + rng.IntN(3), Also: rng.IntN(3), Exercise: i%3 == 0, Overnight: i%2 == 0, Digital: i%5 == 0,
			DistinctList: i%6 == 1 && divisions < 5, Mixed: i%6 == 3,
		})
		if i%2 == 0 {
			r.Plan.Incident.Instructions = "Medical: call command, say MEDICAL, then wait for the slot that dispatch names. Lookouts pass warnings on the own tactical."
		}
		all = append(all, r)
	}
	return all
}

// How many pages the sheets of the examples and of usual plans take, and how much of
// them is used, is a table that must not grow.
func TestPages(t *testing.T) {
	var got strings.Builder
	fmt.Fprintln(&got, "# pages of the wall sheet, share used of each, m it is read from; of the grid; for a clipboard; of the hand-out, share used of each")
	count := func(d *layout.Document) string {
		var said []string
		for _, p := range d.Pages {
			said = append(said, strconv.FormatFloat(usedOf(p), 'f', 2, 64))
		}
		return fmt.Sprintf("%d (%s)", len(d.Pages), strings.Join(said, " "))
	}
	look := func(name string, r *plan.Resolved) {
		symbols := new(layout.Symbols)
		list, found := wall.List(r, wall.Options{Symbols: symbols})
		require.Empty(t, found, name)
		grid, found := wall.Grid(r, wall.Options{Symbols: symbols})
		require.Empty(t, found, name)
		clip, found := wall.List(r, wall.Options{Clip: true, Symbols: symbols})
		require.Empty(t, found, name)
		handout, found := sheets.Handout(r, sheets.HandoutOptions{})
		require.Empty(t, found, name)
		fmt.Fprintf(&got, "%-16s wall %s %v  grid %s %v  clip %s %v  hand-out %s\n", name, count(list.Document), list.From, count(grid.Document), grid.From,
			count(clip.Document), clip.From, count(handout))
		assert.LessOrEqual(t, len(list.Pages), 2, "%s: wall", name)
		for i, d := range []*layout.Document{list.Document, grid.Document, clip.Document, handout} {
			for j, p := range d.Pages {
				if len(d.Pages) > 1 {
					assert.Greater(t, usedOf(p), leastUsed, "%s: %s, page %d", name, []string{"wall", "grid", "clip", "hand-out"}[i], j+1)
				}
			}
		}
	}
	for _, name := range []string{"thimble-gulch", "first-hour"} {
		look(name, example(t, name))
	}
	look("four lists", fourLists(t))
	for i, r := range usualPlans(t, 60) {
		look(fmt.Sprintf("%d: %dx%d", i+1, len(r.Lists), len(r.Slots)), r)
	}
	file := filepath.Join("testdata", "pages.txt")
	if *update {
		require.NoError(t, os.WriteFile(file, []byte(got.String()), 0o644))
	}
	want, err := os.ReadFile(file)
	require.NoError(t, err)
	assert.Equal(t, string(want), got.String())
}
