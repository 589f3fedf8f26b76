package impose

import (
	"fmt"
	"math"
	"strconv"

	"slotcard/fonts"
	"slotcard/layout"
	"slotcard/layout/set"
	"slotcard/layout/words"
)

// Tiles: a page for a large printer, cut up for a small one. Every tile shows a
// window of the page, which overlaps its neighbors' windows. Cut a tile along
// the left and upper edge of its window and lay it on the tile to the left, then
// row on row: the edge lies on a mark of the tile below, and both halves of the
// mark make one.

// Measures of tiles, mm.
const (
	TileOverlap = 10.0 // of neighbors
	tileSide    = 8.0  // margin left, right and above, for the marks
	tileEdge    = 4.5  // of the paper, which not every printer reaches
	tileMark    = 3.0  // length of a mark
	tileGap     = 0.5  // between window and mark
	tilePitch   = 3.8  // of the lines of a label
)

// TileGrid is how pages are cut: every window as large as the others.
type TileGrid struct {
	Columns, Rows int
	Paper         layout.Size // upright or across, as it takes fewer tiles
	X, Y          float64     // of the first window, in the page's millimeters
	Left, Top     float64     // of a window on its tile, mm
	Width, Height float64     // of a window, whole mm
}

// Count of tiles for a page.
func (g TileGrid) Count() int { return g.Columns * g.Rows }

// Window is what tile i shows of the page, from 0, row by row.
func (g TileGrid) Window(i int) layout.Rect {
	return layout.Rect{X: g.X + float64(i%g.Columns)*(g.Width-TileOverlap), Y: g.Y + float64(i/g.Columns)*(g.Height-TileOverlap), W: g.Width, H: g.Height}
}

// tileGrid finds the fewest tiles of a paper that hold all ink of all pages.
func tileGrid(d *layout.Document, paper layout.Size, w *words.WallWords) (TileGrid, error) {
	var ink layout.Rect
	for i := range d.Pages {
		r := layout.InkOf(d.Pages[i].Items)
		if i == 0 {
			ink = r
			continue
		}
		x, y := min(ink.X, r.X), min(ink.Y, r.Y)
		ink = layout.Rect{X: x, Y: y, W: max(ink.X+ink.W, r.X+r.W) - x, H: max(ink.Y+ink.H, r.Y+r.H) - y}
	}
	var best TileGrid
	for _, p := range []layout.Size{{Name: paper.Name, Width: min(paper.Width, paper.Height), Height: max(paper.Width, paper.Height)}, paper.Across()} {
		g := TileGrid{Paper: p, Left: tileSide, Top: tileSide, Width: math.Floor(p.Width - 2*tileSide)}
		label := set.Stack{Lines: g.label(w, 99, 99, 99), Cap: layout.SheetLeast(), Pitch: tilePitch}
		foot := tileGap + tileMark + 1 + label.Height() + layout.SheetLeast()*set.Descender + tileEdge
		g.Height = math.Floor(p.Height - tileSide - foot)
		if min(g.Width, g.Height) < 3*TileOverlap {
			return best, fmt.Errorf("tiles of %g by %g mm are too small to be glued together", p.Width, p.Height)
		}
		count := func(length, window float64) int {
			return max(1, int(math.Ceil((length-TileOverlap)/(window-TileOverlap)-set.Tolerance)))
		}
		g.Columns, g.Rows = count(ink.W, g.Width), count(ink.H, g.Height)
		// The ink in the middle, at whole millimeters.
		g.X = math.Floor(ink.X - (float64(g.Columns)*(g.Width-TileOverlap)+TileOverlap-ink.W)/2)
		g.Y = math.Floor(ink.Y - (float64(g.Rows)*(g.Height-TileOverlap)+TileOverlap-ink.H)/2)
		if best.Columns == 0 || g.Count() < best.Count() {
			best = g
		}
	}
	return best, nil
}

// Tiles cuts every page of a document into tiles of a paper, to be glued
// together. A page that one tile holds becomes that tile. Words say how; nil:
// English. Pages that place panels cannot be cut.
func Tiles(d *layout.Document, paper layout.Size, w *words.WallWords) (*layout.Document, error) {
	if w == nil {
		w = &words.EnglishWall
	}
	g, err := tileGrid(d, paper, w)
	if err != nil {
		return nil, err
	}
	out := &layout.Document{Title: d.Title, Subject: d.Subject, Language: d.Language, Duplex: layout.Simplex}
	for n := range d.Pages {
		whole := &d.Pages[n]
		for _, it := range whole.Items {
			if _, ok := it.(layout.Placed); ok {
				return nil, fmt.Errorf("page %d is put together from panels and cannot be cut into tiles", n+1)
			}
		}
		panel := &layout.Panel{Width: whole.Width, Height: whole.Height, Items: whole.Items, Areas: whole.Areas}
		for i := range g.Count() {
			page := layout.Page{Width: g.Paper.Width, Height: g.Paper.Height}
			win := g.Window(i)
			c := &set.Canvas{}
			c.Add(layout.Placed{X: g.Left - win.X, Y: g.Top - win.Y, Panel: panel, Clip: win})
			if g.Count() > 1 {
				g.marks(c, i)
			}
			label := set.Stack{Lines: g.label(w, i, n+1, len(d.Pages)), Cap: layout.SheetLeast(), Pitch: tilePitch}
			label.Draw(c, g.Left, g.Paper.Height-tileEdge-layout.SheetLeast()*set.Descender-label.Height())
			for _, b := range whole.Bookmarks {
				if y := b.Y - win.Y; i%g.Columns == 0 && y >= 0 && y < win.H-TileOverlap || i == 0 && y < 0 {
					page.Bookmarks = append(page.Bookmarks, layout.Bookmark{Title: b.Title, Level: b.Level, Y: max(0, y+g.Top)})
				}
			}
			page.Items = c.Items
			out.Pages = append(out.Pages, page)
		}
	}
	return out, nil
}

// marks draws, in the margins beside the window, where the tile is cut and
// where its neighbors are laid on it.
func (g TileGrid) marks(c *set.Canvas, i int) {
	right, bottom := g.Left+g.Width, g.Top+g.Height
	upright := func(x float64) {
		butterfly(c, x, g.Top-tileGap-tileMark/2, false)
		butterfly(c, x, bottom+tileGap+tileMark/2, false)
	}
	level := func(y float64) {
		butterfly(c, g.Left-tileGap-tileMark/2, y, true)
		butterfly(c, right+tileGap+tileMark/2, y, true)
	}
	if i%g.Columns > 0 {
		upright(g.Left)
	}
	if i%g.Columns < g.Columns-1 {
		upright(right - TileOverlap)
	}
	if i/g.Columns > 0 {
		level(g.Top)
	}
	if i/g.Columns < g.Rows-1 {
		level(bottom - TileOverlap)
	}
}

// butterfly draws the mark about its middle: a line to cut or lay along, and a
// wing on each side, of which a cut leaves one.
func butterfly(c *set.Canvas, x, y float64, level bool) {
	const half, wing, spread = tileMark / 2, 2.4, 1.3
	at := func(along, across float64) layout.Segment {
		if level {
			return layout.Segment{X: x + along, Y: y + across}
		}
		return layout.Segment{X: x + across, Y: y + along}
	}
	from, to := at(-half, 0), at(half, 0)
	c.Add(layout.Line{X1: from.X, Y1: from.Y, X2: to.X, Y2: to.Y, Weight: cropWeight})
	start := at(0, 0)
	start.Move = true
	c.Add(layout.Shape{Fill: true, Segments: []layout.Segment{start, at(-spread, wing), at(spread, wing), at(0, 0), start, at(spread, -wing), at(-spread, -wing), at(0, 0)}})
}

// label says, in lines as wide as the window, which tile this is, and how to
// put tiles together.
func (g TileGrid) label(w *words.WallWords, i, page, pages int) []set.Line {
	bold, s := set.CapStyle(fonts.Bold, layout.SheetLeast()), set.CapStyle(fonts.Regular, layout.SheetLeast())
	which := words.Filled(w.Tile, "i", strconv.Itoa(i+1), "n", strconv.Itoa(max(g.Count(), i)))
	if pages > 1 {
		which = words.Filled(w.Page, "i", strconv.Itoa(page), "n", strconv.Itoa(pages)) + ", " + which
	}
	if g.Count() == 1 {
		return set.Paragraph(g.Width, bold.Say(which))
	}
	columns := max(g.Columns, 1)
	where := words.Filled(w.TilePlace, "row", strconv.Itoa(i/columns+1), "column", strconv.Itoa(i%columns+1))
	return set.Paragraph(g.Width, bold.Say(which), s.Say(", "+where+". "+w.TileNote))
}
