package layout_test

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"slotcard/layout"
	"slotcard/layout/impose"
	"slotcard/layout/wall"
)

// Every tile shows its window, overlaps its neighbors' by 5 mm at least, and bears
// marks and label outside of the window, on paper that printers reach.
func TestTiles(t *testing.T) {
	r := example(t, "thimble-gulch")
	for _, c := range []struct {
		paper, tile string
		count       int
	}{{"a2", "letter", 6}, {"a2", "a4", 6}, {"a2", "tabloid", 3}, {"tabloid", "letter", 4}, {"legal", "a4", 2}} {
		t.Run(c.paper+" on "+c.tile, func(t *testing.T) {
			paper, _ := layout.PaperSize(c.paper)
			tile, _ := layout.PaperSize(c.tile)
			whole := must(docOf(wall.List(r, wall.Options{Paper: paper})))
			d, err := impose.Tiles(whole, tile, nil)
			require.NoError(t, err)
			n := len(d.Pages) / len(whole.Pages)
			assert.Equal(t, c.count, n)
			marks := 0
			for i := range whole.Pages {
				ink := layout.InkOf(whole.Pages[i].Items)
				covered := rect{ink.X + ink.W, ink.Y + ink.H, ink.X, ink.Y}
				var before layout.Rect
				for k := range n {
					p := d.Pages[i*n+k]
					marks += len(p.Bookmarks)
					at := placedOn(p)
					require.Len(t, at, 1)
					win := at[0].Clip
					shown := rect{win.X + at[0].X, win.Y + at[0].Y, win.X + at[0].X + win.W, win.Y + at[0].Y + win.H}
					require.True(t, shown.inside(rect{0, 0, p.Width, p.Height}.grow(-8)))
					in := inspect(&layout.Panel{Width: p.Width, Height: p.Height, Items: p.Items})
					assert.Empty(t, in.faults(layout.Size{Width: p.Width, Height: p.Height}), "tile %d", k+1)
					for _, o := range append(in.inks, in.other...) {
						assert.False(t, o.overlaps(shown), "%s stands in the window", o)
						assert.True(t, o.inside(rect{0, 0, p.Width, p.Height}.grow(-layout.PrintEdge)), "%s on paper %g by %g", o, p.Width, p.Height)
						for _, text := range in.inks {
							assert.True(t, o == text || !o.overlaps(text), "%s overlaps %s", o, text)
						}
					}
					text := flat(said(&layout.Document{Pages: d.Pages[i*n+k : i*n+k+1]}))
					assert.Contains(t, text, fmt.Sprintf("page %d of %d, tile %d of %d", i+1, len(whole.Pages), k+1, n))
					if k > 0 && win.Y == before.Y {
						assert.GreaterOrEqual(t, before.X+before.W-win.X, 5.0, "overlap with the tile to the left")
					}
					if k > 0 && win.Y > before.Y {
						assert.GreaterOrEqual(t, before.Y+before.H-win.Y, 5.0, "overlap with the row above")
						for _, a := range whole.Pages[i].Areas {
							assert.False(t, a.Y+0.7 < win.Y && win.Y < a.Y+a.H-0.7, "slot %d is cut", a.Slot)
						}
					}
					for _, it := range whole.Pages[i].Items {
						if m, ok := it.(layout.Modules); ok {
							side := m.Module * float64(m.Symbol.Size)
							assert.False(t, m.Y+0.7 < win.Y && win.Y < m.Y+side-0.7 || m.X+0.7 < win.X && win.X < m.X+side-0.7, "a symbol is cut")
						}
					}
					before = win
					covered = rect{min(covered.x0, win.X), min(covered.y0, win.Y), max(covered.x1, win.X+win.W), max(covered.y1, win.Y+win.H)}
				}
				assert.True(t, rect{ink.X, ink.Y, ink.X + ink.W, ink.Y + ink.H}.inside(covered), "tiles hold all ink")
			}
			bookmarks := 0
			for _, p := range whole.Pages {
				bookmarks += len(p.Bookmarks)
			}
			assert.Equal(t, bookmarks, marks, "every bookmark is kept, once")
		})
	}
}

// What cannot be cut is said, not drawn wrong.
func TestTilesRefuse(t *testing.T) {
	d := must(docOf(wall.List(example(t, "first-hour"), wall.Options{})))
	_, err := impose.Tiles(d, layout.Size{Name: "own", Width: 40, Height: 40}, nil)
	require.ErrorContains(t, err, "too small")
	d.Pages[0].Items = append(d.Pages[0].Items, layout.Placed{Panel: &layout.Panel{Width: 1, Height: 1}})
	letter, _ := layout.PaperSize("letter")
	_, err = impose.Tiles(d, letter, nil)
	require.ErrorContains(t, err, "page 1")
}
