package papers

import (
	"bytes"
	"fmt"
	"image"
	"math"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"slotcard/cmd/internal/files"
	"slotcard/layout"
	"slotcard/layout/cards"
	"slotcard/layout/impose"
	"slotcard/layout/strips"
	"slotcard/plan"
	"slotcard/plan/changes"
	"slotcard/plan/plantest"
	"slotcard/render"
	"slotcard/render/rendertest"
)

// Drawn by another engine (PDFium) with the dots of the printer, each module of a
// code on a roll is a square of as many whole dots, black or white with less than a
// twentieth between; and another decoder (gozxing) reads it.
func TestRollsAreMadeOfWholeDots(t *testing.T) {
	r := plantest.Make(t, plantest.Shape{Slots: 6, NameLength: 8, Divisions: 2, WordLength: 5, Words: 1, Units: 1, Exercise: true})
	for _, c := range []struct {
		size string
		roll layout.Roll
	}{
		{"business", layout.Roll{Width: 62, Gap: 3, DPI: 300}},
		{"a7", layout.Roll{Width: 102, Gap: 0, DPI: 203}},
		{"a7", layout.Roll{Width: 4 * layout.Inch, Height: 6 * layout.Inch, DPI: 203}},
		{"a6", layout.Roll{Width: 4.2 * layout.Inch, Height: 6 * layout.Inch, DPI: 300}},
		{"index-4x6", layout.Roll{Width: 4 * layout.Inch, Height: 6 * layout.Inch, DPI: 300}},
	} {
		t.Run(fmt.Sprintf("%s on %s at %d", c.size, c.roll.String(), c.roll.DPI), func(t *testing.T) {
			size, ok := layout.CardSize(c.size)
			require.True(t, ok)
			d, findings := cards.Deal(r, cards.Options{Size: size, Dot: c.roll.Dot()})
			require.NotNil(t, d, "%v", findings)
			doc, err := impose.Cards(d, impose.Options{Roll: &c.roll})
			require.NoError(t, err)
			require.Len(t, doc.Pages, 2*len(d.Faces))
			require.Equal(t, layout.Simplex, doc.Duplex)
			assert.InDelta(t, c.roll.Width, doc.Pages[0].Width, c.roll.Dot())
			page := doc.Pages[1]
			at := page.Items[0].(layout.Placed)
			at.Y += 0.0005 // the page is that much smaller than its dots
			m := modulesOf(at.Panel.All())
			dots := m.Module / c.roll.Dot()
			require.InDelta(t, math.Round(dots), dots, 1e-6)
			require.GreaterOrEqual(t, m.Module, 0.33)
			t.Logf("%v dots, %.3f mm, %d modules", dots, m.Module, m.Symbol.Size)
			n, s := int(math.Round(dots)), m.Symbol
			x, y := at.X+m.X, at.Y+m.Y
			if at.Turn == 1 {
				x, y = at.X+at.Panel.Height-m.Y-float64(s.Size)*m.Module, at.Y+m.X
			}
			left, top := int(math.Round(x/c.roll.Dot())), int(math.Round(y/c.roll.Dot()))

			var pdf bytes.Buffer
			require.NoError(t, render.PDF(&pdf, doc, time.Unix(0, 0)))
			img := rendertest.Open(t, pdf.Bytes()).Image(1, c.roll.DPI)
			for row := range s.Size {
				for col := range s.Size {
					u, v := col, row
					if at.Turn == 1 { // clockwise: the first row is the last column
						u, v = s.Size-1-row, col
					}
					want := uint8(0xff)
					if s.Dark(col, row) {
						want = 0
					}
					for i := range n * n {
						px, py := left+u*n+i%n, top+v*n+i/n
						require.InDelta(t, want, img.GrayAt(px, py).Y, 12, "module %d, %d of %d dots, at %d, %d", col, row, n, px, py)
					}
				}
			}
			q := layout.QuietModules * n
			read, err := rendertest.DecodeQR(img, image.Rect(left-q, top-q, left+s.Size*n+q, top+s.Size*n+q))
			require.NoError(t, err)
			assert.Equal(t, []string{s.Payload}, read)
		})
	}
	size, _ := layout.CardSize("a6")
	d, _ := cards.Deal(r, cards.Options{Size: size})
	_, err := impose.Cards(d, impose.Options{Roll: &layout.Roll{Width: 62, DPI: 300}})
	require.ErrorContains(t, err, "does not fit on a roll 62 mm wide")
}

func modulesOf(items []layout.Item) layout.Modules {
	for _, it := range items {
		if m, ok := it.(layout.Modules); ok {
			return m
		}
	}
	return layout.Modules{}
}

// On an endless roll cards are as short as holds everything; where none does, they are
// the shortest with the fewest kinds of words left out, and that is said.
func TestRollsTakeTheShortestThatHoldsAll(t *testing.T) {
	longer, lost := 0, 0
	for name, r := range map[string]*plan.Resolved{
		"short": plantest.Make(t, plantest.Shape{Slots: 6, NameLength: 8, Divisions: 2, WordLength: 5, Words: 1, Units: 2}),
		"long":  plantest.Make(t, plantest.Shape{Slots: 9, NameLength: 10, Divisions: 4, WordLength: 8, Words: 2, Units: 2, Also: 1}),
		"full":  plantest.Make(t, plantest.Shape{Slots: 14, NameLength: 8, Divisions: 5, WordLength: 8, Words: 3, Units: 2}),
	} {
		for _, width := range []string{"62", "80"} {
			request, err := Ask(map[string]string{"roll": width, "dpi": "300"})
			require.NoError(t, err)
			set, found := settingsOf(r, request)
			require.Empty(t, found)
			o := set.cards()
			sizes := o.Sizes
			require.Greater(t, len(sizes), 2)
			d, _ := cards.Deal(r, o)
			var best layout.Size
			least := 99
			for _, o.Size = range sizes {
				one, _ := cards.Deal(r, o)
				if one != nil && len(one.Omits) < least {
					best, least = o.Size, len(one.Omits)
				}
			}
			if least == 99 {
				require.Nil(t, d)
				continue
			}
			require.NotNil(t, d)
			assert.Equal(t, best, d.Size, "%s on %s", name, width)
			doc, err := impose.Cards(d, set.sheets)
			require.NoError(t, err)
			assert.Contains(t, set.say(d, doc), "of size "+best.Name+without(d.Omits))
			t.Logf("%s: %s", name, set.say(d, doc))
			if best != sizes[0] {
				longer++
			}
			if least > 0 {
				lost++
			}
		}
	}
	assert.Positive(t, longer, "no plan needs more than the shortest")
}

// Strips on a roll: one for each card that changes; each code is of whole dots as another
// engine (PDFium) draws it, and holds the new list as another decoder (gozxing) reads it.
func TestStripsOnRolls(t *testing.T) {
	open := func(name string) *plan.Resolved {
		r, _, err := Open(files.NewReader(t.Context(), strings.NewReader("")), "../../../examples/thimble-gulch/"+name)
		require.NoError(t, err)
		return r
	}
	before, after := open("plan.toml"), open("period-2-rev-2.toml")
	for _, some := range []*plan.Resolved{before, after} {
		some.Cards = some.Cards[:8]
	}
	c := changes.Between(before, after)
	for _, roll := range []layout.Roll{
		{Width: 62, Gap: 3, DPI: 203}, {Width: 62, DPI: 300}, {Width: 38, DPI: 300},
		{Width: 4 * layout.Inch, Height: 6 * layout.Inch, DPI: 203}, {Width: 62, Height: 100, DPI: 300},
	} {
		about := fmt.Sprintf("%s, %d dots an inch", roll.String(), roll.DPI)
		d, n, found := strips.Lay(c, strips.Options{Roll: &roll})
		require.Empty(t, found, about)
		require.NotNil(t, d, about)
		assert.True(t, n.Scanned, about)
		assert.Equal(t, (n.Cards+n.PerPage-1)/n.PerPage, n.Pages, about)
		assert.Len(t, d.Pages, n.Pages, "%s: the page that is read on the radio is no label", about)
		var pdf bytes.Buffer
		require.NoError(t, render.PDF(&pdf, d, time.Unix(0, 0)))
		drawn := rendertest.Open(t, pdf.Bytes())
		seen := 0
		for i, page := range d.Pages {
			assert.InDelta(t, roll.Width, page.Width, roll.Dot(), about)
			at := page.Items[0].(layout.Placed)
			for _, it := range at.Panel.All() {
				m, ok := it.(layout.Modules)
				if !ok {
					continue
				}
				seen++
				dots := m.Module / roll.Dot()
				require.InDelta(t, math.Round(dots), dots, 1e-6, about)
				require.GreaterOrEqual(t, m.Module, layout.LeastDotted)
				assert.Equal(t, after.Cards[0].List.Text, m.Symbol.Payload)
				side := float64(m.Symbol.Size) * m.Module
				assert.GreaterOrEqual(t, min(m.X, m.Y), layout.Safe, about)
				assert.GreaterOrEqual(t, at.Panel.Height-m.Y-side, layout.Safe-roll.Dot(), about)
				if i > 0 {
					continue
				}
				x, y := at.X+m.X, at.Y+m.Y+0.0005
				if at.Turn == 1 {
					x, y = at.X+at.Panel.Height-m.Y-side, at.Y+m.X+0.0005
				}
				img := drawn.Image(1, roll.DPI)
				left, top, wide := int(math.Round(x/roll.Dot())), int(math.Round(y/roll.Dot())), int(math.Round(side/roll.Dot()))
				for row := top; row < top+wide; row++ {
					for col := left; col < left+wide; col++ {
						v := img.GrayAt(col, row).Y
						require.True(t, v < 12 || v > 243, "%s: a dot is gray: %d at %d, %d", about, v, col, row)
					}
				}
				q := layout.QuietModules * int(math.Round(dots))
				read, err := rendertest.DecodeQR(img, image.Rect(left-q, top-q, left+wide+q, top+wide+q))
				require.NoError(t, err, about)
				assert.Equal(t, []string{m.Symbol.Payload}, read, about)
			}
		}
		assert.Equal(t, n.Cards, seen, about)
		t.Logf("%s: %d to a label of %.1f x %.1f mm", about, n.PerPage, d.Pages[0].Width, d.Pages[0].Height)
	}
}
