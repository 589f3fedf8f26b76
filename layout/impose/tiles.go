package impose

import (
	"cmp"
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
	tileOverlap = 10.0 // of neighbors, at least
	tileSide    = 8.0  // margin left, right and above, for the marks
	tileEdge    = 4.5  // of the paper, which not every printer reaches
	tileMark    = 3.0  // length of a mark
	tileGap     = 0.5  // between window and mark
	tilePitch   = 3.8  // of the lines of a label
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
// that overlap hold what stands between two ends, and cut costs what a seam there cuts.
func seams(from, to, window float64, n int, cut func(at float64) float64) (at []float64, cost float64) {
	slack := math.Floor(float64(n)*(window-tileOverlap) + tileOverlap - (to - from))
	first := math.Floor(from - slack/2) // the ink in the middle
	if n > 1 {
		first = math.Floor(from - min(slack/float64(n), tileOverlap))
		slack -= from - first
	}
	at = []float64{first}
	for i := 1; i < n; i++ {
		latest := at[i-1] + window - tileOverlap
		best, least := latest, math.Inf(1)
		for y := latest; y >= latest-math.Floor(max(0, slack)) && y > at[i-1]+2*tileOverlap; y-- {
			if c := cut(y); c < least {
				best, least = y, c
			}
		}
		slack -= latest - best
		at, cost = append(at, best), cost+least
	}
	return at, cost
}

// What a seam costs: a slot of a list more than a symbol, and this more than all text,
// which costs the height of its capitals in mm.
const (
	cutSlot   = 10_000
	cutSymbol = 1000
	seamWhite = 0.6 // mm at the edges of a slot, or of text, that may be cut
)

// cuts is what a seam costs, level or upright.
func cuts(p *layout.Page, level bool) func(at float64) float64 {
	type piece struct{ from, to, cost float64 }
	var pieces []piece
	add := func(r layout.Rect, cost float64) {
		if level {
			pieces = append(pieces, piece{r.Y, r.Y + r.H, cost})
		} else {
			pieces = append(pieces, piece{r.X, r.X + r.W, cost})
		}
	}
	if level {
		for _, a := range p.Areas {
			add(a.Rect, cutSlot)
		}
	}
	for _, it := range p.Items {
		switch it := it.(type) {
		case layout.Text:
			add(layout.InkOf([]layout.Item{it}), fonts.CapMM(it.Size))
		case layout.Modules:
			add(layout.InkOf([]layout.Item{it}), cutSymbol)
		}
	}
	return func(at float64) (sum float64) {
		for _, p := range pieces {
			if p.from+seamWhite < at && at < p.to-seamWhite {
				sum += p.cost
			}
		}
		return sum
	}
}

// tileGrids find the fewest tiles of a paper that hold all ink of all pages, for each
// page where they begin: a row or a column of tiles more where only then no slot is cut.
// Of as many tiles those are taken that cut no symbol, and the least text.
func tileGrids(d *layout.Document, paper layout.Size, w *words.WallWords) ([]tileGrid, error) {
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
	type tiling struct {
		grids        []tileGrid // of each page
		slots, codes bool       // a seam cuts a slot, or a symbol
		count        int        // of tiles for a page
		texts        float64    // what seams cut of texts
	}
	var best *tiling
	for _, p := range []layout.Size{{Name: paper.Name, Width: min(paper.Width, paper.Height), Height: max(paper.Width, paper.Height)}, paper.Across()} {
		g := tileGrid{paper: p, left: tileSide, top: tileSide, width: math.Floor(p.Width - 2*tileSide)}
		label := set.Stack{Lines: g.label(w, 99, 99, 99), Cap: layout.SheetLeast(), Pitch: tilePitch}
		foot := tileGap + tileMark + 1 + label.Height() + layout.SheetLeast()*set.Descender + tileEdge
		g.height = math.Floor(p.Height - tileSide - foot)
		if min(g.width, g.height) < 3*tileOverlap {
			return nil, fmt.Errorf("tiles of %g by %g mm are too small to be glued together", p.Width, p.Height)
		}
		count := func(length, window float64) int {
			return max(1, int(math.Ceil((length-tileOverlap)/(window-tileOverlap)-set.Tolerance)))
		}
		columns, rows := count(ink.W, g.width), count(ink.H, g.height)
		for _, more := range [][2]int{{0, 0}, {0, 1}, {1, 0}} {
			g.columns, g.rows = columns+more[0], rows+more[1]
			if columns*rows == 1 && g.count() > 1 {
				continue // one tile cuts nothing
			}
			t := &tiling{count: g.count()}
			for i := range d.Pages {
				var across, down float64
				g.x, across = seams(ink.X, ink.X+ink.W, g.width, g.columns, cuts(&d.Pages[i], false))
				g.y, down = seams(ink.Y, ink.Y+ink.H, g.height, g.rows, cuts(&d.Pages[i], true))
				t.grids = append(t.grids, g)
				t.slots = t.slots || down >= cutSlot
				t.codes = t.codes || across >= cutSymbol || math.Mod(down, cutSlot) >= cutSymbol
				t.texts += across + down
			}
			if best == nil || cmp.Or(falseFirst(t.slots, best.slots), cmp.Compare(t.count, best.count), falseFirst(t.codes, best.codes), cmp.Compare(t.texts, best.texts)) < 0 {
				best = t
			}
		}
	}
	return best.grids, nil
}

func falseFirst(a, b bool) int {
	switch {
	case a == b:
		return 0
	case b:
		return -1
	}
	return 1
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
			label := set.Stack{Lines: g.label(w, i, n+1, len(d.Pages)), Cap: layout.SheetLeast(), Pitch: tilePitch}
			label.Draw(c, g.left, g.paper.Height-tileEdge-layout.SheetLeast()*set.Descender-label.Height())
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
func (g tileGrid) label(w *words.WallWords, i, page, pages int) []set.Line {
	bold, s := set.CapStyle(fonts.Bold, layout.SheetLeast()), set.CapStyle(fonts.Regular, layout.SheetLeast())
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
