package render_test

import (
	"bytes"
	"image"
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"slotcard/layout"
	"slotcard/layout/impose"
	"slotcard/layout/wall"
	"slotcard/render"
	"slotcard/render/rendertest"
)

// reassembled glues pictures of tiles together as their clips say, with so many
// pixels a millimeter, later tiles on earlier ones. It returns too how many
// pixels of the overlaps differed before they were covered.
func reassembled(t *testing.T, whole layout.Page, tiles []layout.Page, pictures []image.Image, px int) (sheet *image.Gray, differ int) {
	t.Helper()
	round := func(mm float64) int {
		require.InDelta(t, math.Round(mm), mm, 1e-6, "windows lie on whole millimeters")
		return int(math.Round(mm)) * px
	}
	sheet = image.NewGray(image.Rect(0, 0, int(math.Ceil(whole.Width))*px, int(math.Ceil(whole.Height))*px))
	for i := range sheet.Pix {
		sheet.Pix[i] = 0xFF
	}
	laid := make([]bool, len(sheet.Pix))
	for i, tile := range tiles {
		var from layout.Placed
		for _, it := range tile.Items {
			if p, ok := it.(layout.Placed); ok {
				from = p
			}
		}
		x0, y0, x1, y1 := round(from.Clip.X), round(from.Clip.Y), round(from.Clip.X+from.Clip.W), round(from.Clip.Y+from.Clip.H)
		dx, dy := round(from.X), round(from.Y)
		for y := max(0, y0); y < min(y1, sheet.Rect.Dy()); y++ {
			for x := max(0, x0); x < min(x1, sheet.Rect.Dx()); x++ {
				v := at(pictures[i], x+dx, y+dy)
				k := y*sheet.Stride + x
				if laid[k] && far(sheet.Pix[k], v) {
					differ++
				}
				sheet.Pix[k], laid[k] = v, true
			}
		}
	}
	return sheet, differ
}

func at(m image.Image, x, y int) uint8 { return m.(*image.Gray).GrayAt(x, y).Y }

func far(a, b uint8) bool { return max(a, b)-min(a, b) > 48 }

// apart is how many pixels of two pictures differ, and how many are dark.
func apart(a image.Image, b *image.Gray) (differ, dark int) {
	for y := range min(a.Bounds().Dy(), b.Rect.Dy()) {
		for x := range min(a.Bounds().Dx(), b.Rect.Dx()) {
			v := at(a, x, y)
			if v < 128 {
				dark++
			}
			if far(v, b.GrayAt(x, y).Y) {
				differ++
			}
		}
	}
	return differ, dark
}

// tiled is a wall sheet in whole and in tiles.
func tiled(t *testing.T, name string, paper, tile layout.Size) (whole, tiles *layout.Document) {
	t.Helper()
	all, err := examples()
	require.NoError(t, err)
	wall, findings := wall.List(all[name].resolved, wall.Options{Paper: paper})
	require.NotNil(t, wall, "%v", findings)
	whole = wall.Document
	tiles, err = impose.Tiles(whole, tile, nil)
	require.NoError(t, err)
	require.Zero(t, len(tiles.Pages)%len(whole.Pages))
	return whole, tiles
}

// Glued together, tiles are the whole page again, and where they overlap they
// show the same.
func TestTilesReassemble(t *testing.T) {
	for _, c := range []struct {
		paper, tile string
		count       int // by arithmetic: paper less the sheet's margins, windows less overlaps of 10 mm
	}{{"a3", "letter", 4}, {"tabloid", "a4", 3}} {
		t.Run(c.paper+" on "+c.tile, func(t *testing.T) {
			const px = 4
			paper, _ := layout.PaperSize(c.paper)
			tile, _ := layout.PaperSize(c.tile)
			whole, tiles := tiled(t, "thimble-gulch", paper, tile)
			n := len(tiles.Pages) / len(whole.Pages)
			assert.Equal(t, c.count, n)
			for i := range whole.Pages {
				want, err := render.Image(&whole.Pages[i], px*25.4)
				require.NoError(t, err)
				pages := tiles.Pages[i*n : (i+1)*n]
				pictures := make([]image.Image, n)
				for k := range pages {
					pictures[k], err = render.Image(&pages[k], px*25.4)
					require.NoError(t, err)
				}
				sheet, overlap := reassembled(t, whole.Pages[i], pages, pictures, px)
				assert.Zero(t, overlap, "pixels that differ in the overlaps")
				differ, dark := apart(want, sheet)
				assert.Zero(t, differ, "page %d", i+1)
				assert.Greater(t, dark, 10_000)
			}
		})
	}
}

// The same by another engine, out of the PDF: 5 pixels a millimeter are its 127
// an inch. Papers are whole points and pixels large: it would stretch others.
func TestTilesReassembleByAnotherEngine(t *testing.T) {
	whole, tiles := tiled(t, "first-hour", layout.Size{Width: 17 * 25.4, Height: 11 * 25.4}, layout.Size{Width: 6 * 25.4, Height: 8 * 25.4})
	const px = 5
	open := func(d *layout.Document) *rendertest.Doc {
		var b bytes.Buffer
		require.NoError(t, render.PDF(&b, d, time.Date(2027, 8, 13, 20, 30, 0, 0, time.UTC)))
		return rendertest.Open(t, b.Bytes())
	}
	want := open(whole).Image(0, 127)
	doc := open(tiles)
	n := len(tiles.Pages) / len(whole.Pages)
	require.Greater(t, n, 1)
	pictures := make([]image.Image, n)
	for k := range n {
		pictures[k] = doc.Image(k, 127)
	}
	sheet, overlap := reassembled(t, whole.Pages[0], tiles.Pages[:n], pictures, px)
	differ, dark := apart(want, sheet)
	assert.Greater(t, dark, 100_000)
	assert.Less(t, differ, dark/200, "pixels that differ of %d dark ones", dark)
	assert.Less(t, overlap, dark/200)
}
