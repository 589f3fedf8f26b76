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
// mark make one. Where a window may begin earlier, it begins where its edge cuts no
// slot of a list and no symbol, and else as little text as can be.

// Measures of tiles, mm.
const (
	tileOverlap  = 10.0 // of neighbors
	leastOverlap = 5.0  // the same where that spares a symbol, or a tile
	tileSide     = 9.0  // margin left, right and above, for the marks within what a printer reaches
	tileEdge     = layout.PrintEdge
	tileMark     = 2.2                           // length of a mark
	leastAdvance = 20                            // of a window to the next
	tileGap      = 0.4                           // between window and mark
	tilePitch    = layout.CapLeast * set.Leading // of the lines of a label, which is read in the hand
)

// tileGrid is how a page is cut: every window as large as the others.
type tileGrid struct {
	columns, rows int
	paper         layout.Size // upright or across, as it takes fewer tiles
	x, y          []float64   // of the columns and rows of windows, in the page's whole millimeters
	left, top     float64     // of a window on its tile, mm
	width, height float64     // of a window, whole mm
}

// count of tiles for a page.
func (g tileGrid) count() int { return g.columns * g.rows }

// window is what tile i shows of the page, from 0, row by row.
func (g tileGrid) window(i int) layout.Rect {
	return layout.Rect{X: g.x[i%g.columns], Y: g.y[i/g.columns], W: g.width, H: g.height}
}

// seams are where the windows of a row, or of a column, begin: n windows of a length
// that overlap hold what stands between two ends. Of all such places they cost the least,
// and of these a window begins as late as it can.
func seams(from, to, window float64, n int, cut costs) (at []float64, cost float64) {
	first := math.Floor(from)
	if n == 1 {
		return []float64{math.Floor(from - (window-(to-from))/2)}, 0 // the ink in the middle
	}
	step := int(window - leastOverlap)
	last := int(math.Ceil(to - window - first)) // the last window begins here at least
	type way struct {
		cost   float64
		before int // where the window before begins
	}
	ways := make([][]way, n) // by window and by mm behind the first
	ways[0] = []way{{}}
	for i := 1; i < n; i++ {
		ways[i] = make([]way, i*step+1)
		for k := range ways[i] {
			ways[i][k].cost = math.Inf(1)
			for before := min(k-leastAdvance, len(ways[i-1])-1); before >= max(0, k-step); before-- {
				c := ways[i-1][before].cost
				if float64(k-before) > window-tileOverlap {
					c += cutOverlap
				}
				if c < ways[i][k].cost {
					ways[i][k] = way{c, before}
				}
			}
			ways[i][k].cost += cut.at(first + float64(k))
		}
	}
	best := len(ways[n-1]) - 1
	for k := best; k >= max(0, last); k-- {
		if ways[n-1][k].cost < ways[n-1][best].cost {
			best = k
		}
	}
	cost = ways[n-1][best].cost
	at = make([]float64, n)
	for i := n - 1; i > 0; i-- {
		at[i] = first + float64(best)
		best = ways[i][best].before
	}
	at[0] = first - max(0, min(window-tileOverlap-(at[1]-first), tileOverlap)) // white before the ink
	return at, cost
}

// What a seam costs: a slot of a list more than a symbol, this more than the white around
// it, and that more than all text, which costs the height of its capitals in mm.
const (
	cutSlot    = 1_000_000
	cutSymbol  = 10_000
	cutQuiet   = 500
	cutOverlap = 100 // of less than tileOverlap
	seamWhite  = 0.6 // mm at the edges of a slot, or of text, that may be cut
)

// costs are what a seam costs, by the page's whole millimeters.
type costs []float64

func (c costs) at(mm float64) float64 {
	if i := int(mm); i >= 0 && i < len(c) {
		return c[i]
	}
	return 0
}

// cuts is what a seam costs, level or upright.
func cuts(p *layout.Page, level bool) costs {
	c := make(costs, int(math.Max(p.Width, p.Height))+1)
	add := func(r layout.Rect, cost float64) {
		from, to := r.X, r.X+r.W
		if level {
			from, to = r.Y, r.Y+r.H
		}
		for i := max(0, int(math.Floor(from+seamWhite))+1); i < len(c) && float64(i) < to-seamWhite; i++ {
			c[i] += cost
		}
	}
	if level {
		for _, a := range p.Areas {
			add(a.Rect, cutSlot)
		}
	}
	for _, it := range p.Items {
		ink := layout.InkOf([]layout.Item{it})
		switch it := it.(type) {
		case layout.Text:
			add(ink, fonts.CapMM(it.Size))
		case layout.Modules:
			add(ink, cutSymbol)
			quiet := layout.QuietModules * it.Module
			add(layout.Rect{X: ink.X - quiet, Y: ink.Y - quiet, W: ink.W + 2*quiet, H: ink.H + 2*quiet}, cutQuiet)
		}
	}
	return c
}

// tileGrids find, for each page, the tiles of a paper that hold its ink, upright or across:
// a row and a column more where only then no slot and no symbol is cut. Of those that cut
// neither the fewest are taken, and of as many those that cut the least text.
func tileGrids(d *layout.Document, paper layout.Size, w *words.WallWords) (grids []tileGrid, err error) {
	for i := range d.Pages {
		g, err := pageTiles(&d.Pages[i], paper, w)
		if err != nil {
			return nil, err
		}
		grids = append(grids, g)
	}
	return grids, nil
}

func pageTiles(page *layout.Page, paper layout.Size, w *words.WallWords) (best tileGrid, err error) {
	ink := layout.InkOf(page.Items)
	across, down := cuts(page, false), cuts(page, true)
	count := func(from, to, window float64) int {
		return max(1, int(math.Ceil((to-math.Floor(from)-leastOverlap)/(window-leastOverlap)-set.Tolerance)))
	}
	least := math.Inf(1)
	for _, p := range []layout.Size{{Name: paper.Name, Width: min(paper.Width, paper.Height), Height: max(paper.Width, paper.Height)}, paper.Across()} {
		g := tileGrid{paper: p, left: tileSide, top: tileSide, width: math.Floor(p.Width - 2*tileSide)}
		label := set.Stack{Lines: g.label(w, 99, 99, 99), Cap: layout.CapLeast, Pitch: tilePitch}
		foot := tileGap + tileMark + tileGap + label.Height() + layout.CapLeast*set.Descender + tileEdge
		g.height = math.Floor(p.Height - tileSide - foot)
		if min(g.width, g.height) < 3*tileOverlap {
			return best, fmt.Errorf("tiles of %g by %g mm are too small to be glued together", p.Width, p.Height)
		}
		columns, rows := count(ink.X, ink.X+ink.W, g.width), count(ink.Y, ink.Y+ink.H, g.height)
		for _, more := range [][2]int{{0, 0}, {0, 1}, {1, 0}, {1, 1}} {
			g.columns, g.rows = columns+more[0], rows+more[1]
			var costX, costY float64
			g.x, costX = seams(ink.X, ink.X+ink.W, g.width, g.columns, across)
			g.y, costY = seams(ink.Y, ink.Y+ink.H, g.height, g.rows, down)
			// A tile costs about as much as all that is cut of text, and less than a symbol.
			if cost := costX + costY + float64(g.count())*cutQuiet; cost < least {
				best, least = g, cost
			}
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
	grids, err := tileGrids(d, paper, w)
	if err != nil {
		return nil, err
	}
	out := &layout.Document{Title: d.Title, Subject: d.Subject, Language: d.Language, Duplex: layout.Simplex}
	for n := range d.Pages {
		whole, g := &d.Pages[n], grids[n]
		for _, it := range whole.Items {
			if _, ok := it.(layout.Placed); ok {
				return nil, fmt.Errorf("page %d is put together from panels and cannot be cut into tiles", n+1)
			}
		}
		panel := &layout.Panel{Width: whole.Width, Height: whole.Height, Items: whole.Items, Areas: whole.Areas}
		for i := range g.count() {
			page := layout.Page{Width: g.paper.Width, Height: g.paper.Height}
			win := g.window(i)
			c := &set.Canvas{}
			c.Add(layout.Placed{X: g.left - win.X, Y: g.top - win.Y, Panel: panel, Clip: win})
			if g.count() > 1 {
				g.marks(c, i)
			}
			label := set.Stack{Lines: g.label(w, i, n+1, len(d.Pages)), Cap: layout.CapLeast, Pitch: tilePitch}
			label.Draw(c, g.left, g.paper.Height-tileEdge-layout.CapLeast*set.Descender-label.Height())
			for _, b := range whole.Bookmarks {
				if y := b.Y - win.Y; i%g.columns == 0 && y >= 0 && (y < win.H && i/g.columns == g.rows-1 || i/g.columns < g.rows-1 && b.Y < g.y[i/g.columns+1]) || i == 0 && y < 0 {
					page.Bookmarks = append(page.Bookmarks, layout.Bookmark{Title: b.Title, Level: b.Level, Y: max(0, y+g.top)})
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
func (g tileGrid) marks(c *set.Canvas, i int) {
	right, bottom := g.left+g.width, g.top+g.height
	upright := func(x float64) {
		butterfly(c, x, g.top-tileGap-tileMark/2, false)
		butterfly(c, x, bottom+tileGap+tileMark/2, false)
	}
	level := func(y float64) {
		butterfly(c, g.left-tileGap-tileMark/2, y, true)
		butterfly(c, right+tileGap+tileMark/2, y, true)
	}
	if i%g.columns > 0 {
		upright(g.left)
	}
	if i%g.columns < g.columns-1 {
		upright(g.left + g.x[i%g.columns+1] - g.x[i%g.columns])
	}
	if i/g.columns > 0 {
		level(g.top)
	}
	if i/g.columns < g.rows-1 {
		level(g.top + g.y[i/g.columns+1] - g.y[i/g.columns])
	}
}

// butterfly draws the mark about its middle: a line to cut or lay along, and a
// wing on each side, of which a cut leaves one.
func butterfly(c *set.Canvas, x, y float64, level bool) {
	const half, wing, spread = tileMark / 2, 2.4, 1.0
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
func (g tileGrid) label(w *words.WallWords, i, page, pages int) []set.Line {
	bold, s := set.CapStyle(fonts.Bold, layout.CapLeast), set.CapStyle(fonts.Regular, layout.CapLeast)
	which := words.Filled(w.Tile, "i", strconv.Itoa(i+1), "n", strconv.Itoa(max(g.count(), i)))
	if pages > 1 {
		which = words.Filled(w.Page, "i", strconv.Itoa(page), "n", strconv.Itoa(pages)) + ", " + which
	}
	if g.count() == 1 {
		return set.Paragraph(g.width, bold.Say(which))
	}
	columns := max(g.columns, 1)
	where := words.Filled(w.TilePlace, "row", strconv.Itoa(i/columns+1), "column", strconv.Itoa(i%columns+1))
	return set.Paragraph(g.width, bold.Say(which), s.Say(", "+where+". "+w.TileNote))
}
