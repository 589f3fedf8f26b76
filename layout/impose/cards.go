// Package impose places what is laid out on sheets of paper: cards for cutting
// ([Cards], also onto rolls of labels), pages for folding ([Booklet]), a large page in tiles ([Tiles]).
package impose

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"slotcard/fonts"
	"slotcard/layout"
	"slotcard/layout/cards"
	"slotcard/layout/set"
	"slotcard/layout/words"
)

// Sheets of paper hold as many cards as fit, head upwards or turned a quarter,
// with crop marks. Pages are always upright: the long edge is the left one, so
// that "flip on the long edge" means one thing to every printer.

// Sides is how front and back come onto paper.
type Sides uint8

const (
	LongEdge  Sides = iota // both sides, flipped on the long edge
	ShortEdge              // both sides, flipped on the short edge
	Fold                   // one-sided: front and back side by side, to fold between them
	FrontOnly              // one-sided: fronts, no backs
	EachPage               // one card on a page of its own size, front then back, for card printers
)

var sidesNames = []string{"long", "short", "fold", "front", "each"}

func (s Sides) String() string { return sidesNames[s] }

// duplex is what a printer must do for it. A card printer knows by itself.
func (s Sides) duplex() layout.Duplex {
	return [...]layout.Duplex{layout.FlipLongEdge, layout.FlipShortEdge, layout.Simplex, layout.Simplex, layout.DuplexUnsaid}[s]
}

// SidesNames are the names of the ways, as flags and plans write them.
func SidesNames() []string { return slices.Clone(sidesNames) }

// ParseSides reads a name of [SidesNames].
func ParseSides(s string) (Sides, bool) {
	i := slices.Index(sidesNames, s)
	return Sides(max(i, 0)), i >= 0
}

// Order is the order of cards on the sheets.
type Order uint8

const (
	AcrossSheet  Order = iota // row by row, sheet by sheet
	ThroughStack              // through the stack: piles lie in order after cutting
)

var orderNames = []string{"sheet", "stack"}

func (o Order) String() string { return orderNames[o] }

// OrderNames are the names of the orders, as flags and plans write them.
func OrderNames() []string { return slices.Clone(orderNames) }

// ParseOrder reads a name of [OrderNames].
func ParseOrder(s string) (Order, bool) {
	i := slices.Index(orderNames, s)
	return Order(max(i, 0)), i >= 0
}

// Stock is pre-perforated paper: where its cards are, in millimeters. Its
// cards have the size of the deck.
type Stock struct {
	Columns, Rows    int
	Left, Top        float64 // margins
	GutterX, GutterY float64
}

// Options say how cards are placed on paper.
type Options struct {
	Paper layout.Size // upright
	Sides Sides
	Order Order
	Stock *Stock       // nil: as many as fit
	Roll  *layout.Roll // nil: sheets of paper
	Bleed float64      // mm of paper beyond the trim on each side, EachPage only
	Edge  float64      // mm from the edge of the paper that the printer reaches; 0: [layout.PrintEdge]
}

func (o Options) edge() float64 {
	if o.Edge == 0 {
		return layout.PrintEdge
	}
	return o.Edge
}

const (
	// LeastEdge and MostEdge are what can be said of how near the edge of the paper the
	// printer reaches, mm: the ink of a card is never nearer to its trim than the least.
	LeastEdge = layout.Safe
	MostEdge  = 15.0

	cropLength  = 4.0  // mm
	cropLeast   = 1.5  // mm: where there is no room for more
	cropGap     = 1.0  // mm between trim and crop mark
	cropWeight  = 0.15 // mm
	scaleLength = 50.0 // mm: the rule that checks the printer's scale
	rulerWeight = 0.2  // mm: of its lines
	scaleGap    = 0.8  // mm between the crop marks and what is printed below them
)

// marksRoom is what cut marks take at least between the cards of a sheet and where the
// printer reaches, mm.
const marksRoom = cropGap + cropLeast

// scaleRoom is what the rule that checks the scale takes below the crop marks, mm.
func scaleRoom() float64 {
	s := scaleStyle()
	return scaleGap + s.Cap()*(1+set.Descender)
}

func scaleStyle() set.Style { return set.CapStyle(fonts.Regular, layout.CapLeast) }

// MostBleed is the largest bleed, mm.
const MostBleed = 3.0

// grid is where the places of a sheet are. A place holds a card or, to be
// folded, its front beside its back.
type grid struct {
	paper            layout.Size
	w, h             float64 // of a place
	cols, rows       int
	x, y             float64 // top left corner of the first place
	gutterX, gutterY float64
	turned           bool
	above            bool    // to be folded, a front stands above its back, not beside it
	edge             float64 // how near the edge of the paper anything is printed
	crop, cropAcross float64 // length of the marks above and below the cards, and beside them; 0: none
}

// gridOf puts places of w by h on paper, head upwards or turned, with a margin beside them
// at least; not ok where none fits.
func gridOf(paper layout.Size, width, height, edge, beside float64, ways ...bool) (g grid, ok bool) {
	best := grid{paper: paper, edge: edge}
	for _, turned := range ways {
		w, h := width, height
		if turned {
			w, h = h, w
		}
		cols := int(math.Floor((paper.Width - 2*beside + set.Tolerance) / w))
		rows := int(math.Floor((paper.Height - 2*(edge+marksRoom) - scaleRoom() + set.Tolerance) / h))
		if cols > 0 && rows > 0 && cols*rows > best.cols*best.rows {
			best = grid{paper: paper, edge: edge, w: w, h: h, cols: cols, rows: rows, turned: turned}
		}
	}
	if best.cols == 0 {
		return best, false
	}
	best.x = (paper.Width - best.width()) / 2
	best.y = (paper.Height - best.height() - scaleRoom()) / 2
	best.crop = min(cropLength, best.y-edge-cropGap)
	if best.cropAcross = min(cropLength, best.x-edge-cropGap); best.cropAcross < cropLeast-set.Tolerance {
		best.cropAcross = 0
	}
	return best, true
}

// cardGrid is that for cards: where more of them go on a sheet, without marks beside them,
// and so far out that only the white at their sides lies where the printer does not reach. Rows
// are then cut along marks between the columns, so there must be two.
func cardGrid(width, height float64, o Options) (g grid, ok bool) {
	edge := o.edge()
	g, ok = gridOf(o.Paper, width, height, edge, edge+marksRoom, false, true)
	if close, fits := gridOf(o.Paper, width, height, edge, max(0, edge-layout.Safe), false); fits && close.cols > 1 && close.perSheet() > g.perSheet() {
		return close, true
	}
	return g, ok
}

// fitted puts as many cards on paper as it holds; to be folded, along either side of
// the card.
func fitted(card layout.Size, o Options) (g grid, ok bool) {
	if o.Sides != Fold {
		return cardGrid(card.Width, card.Height, o)
	}
	g, ok = cardGrid(2*card.Width, card.Height, o)
	if above, fits := cardGrid(card.Width, 2*card.Height, o); fits && (!ok || above.perSheet() > g.perSheet()) {
		g, ok = above, true
		g.above = true
	}
	return g, ok
}

// stockGrid takes the places from the measures of a stock.
func stockGrid(paper layout.Size, s *Stock, w, h float64) (grid, error) {
	g := grid{paper: paper, w: w, h: h, cols: s.Columns, rows: s.Rows, x: s.Left, y: s.Top, gutterX: s.GutterX, gutterY: s.GutterY}
	if g.x+g.width() > paper.Width+set.Tolerance || g.y+g.height() > paper.Height+set.Tolerance {
		return g, fmt.Errorf("the stock is %.1f x %.1f mm large with its margins, the paper (%s) %.1f x %.1f mm",
			g.x+g.width(), g.y+g.height(), paper.Name, paper.Width, paper.Height)
	}
	return g, nil
}

func (g grid) width() float64  { return float64(g.cols)*g.w + float64(g.cols-1)*g.gutterX }
func (g grid) height() float64 { return float64(g.rows)*g.h + float64(g.rows-1)*g.gutterY }
func (g grid) perSheet() int   { return g.cols * g.rows }

// flipped is where the grid lies on either side of the sheet.
func (g grid) flipped(back bool, sides Sides) grid {
	switch {
	case back && sides == LongEdge:
		g.x = g.paper.Width - g.x - g.width()
	case back && sides == ShortEdge:
		g.y = g.paper.Height - g.y - g.height()
	}
	return g
}

// place is the top left corner of place i, row by row from the left. On the
// back of the sheet columns run from the right where it is flipped on the long
// edge, rows from the foot where it is flipped on the short one.
func (g grid) place(i int, back bool, sides Sides) (x, y float64) {
	col, row := i%g.cols, i/g.cols
	x = g.x + float64(col)*(g.w+g.gutterX)
	y = g.y + float64(row)*(g.h+g.gutterY)
	switch {
	case back && sides == LongEdge:
		x = g.paper.Width - x - g.w
	case back && sides == ShortEdge:
		y = g.paper.Height - y - g.h
	}
	return x, y
}

// turns of the panels on either side, so that head stands behind head: a flip
// on the long edge exchanges left and right, one on the short edge head and foot.
func (g grid) turns(back bool, sides Sides) int {
	switch {
	case g.turned && back && sides == LongEdge:
		return 1
	case g.turned:
		return 3
	case back && sides == ShortEdge:
		return 2
	}
	return 0
}

// PerSheet is how many cards of a size a sheet holds; 0: none. One card is on a
// sheet where each side has a page of its own, or a label of a roll.
func PerSheet(card layout.Size, o Options) int {
	if o.Roll != nil {
		if !o.Roll.Takes(card.Width, card.Height) {
			return 0
		}
		return 1
	}
	if o.Sides == EachPage {
		return 1
	}
	if o.Stock != nil {
		return o.Stock.Columns * o.Stock.Rows
	}
	g, ok := fitted(card.Across(), o)
	if !ok {
		return 0
	}
	return g.perSheet()
}

// Nearer is the edge that a printer would have to reach for more cards on a sheet, in
// tenths of a millimeter, and how many these were; 0: none would do, or the printer does.
func Nearer(card layout.Size, o Options) (edge float64, per int) {
	if o.Sides == EachPage || o.Stock != nil || o.Roll != nil {
		return 0, 0
	}
	least := o
	least.Edge = LeastEdge
	g, ok := fitted(card.Across(), least)
	if !ok || g.perSheet() <= PerSheet(card, o) {
		return 0, 0
	}
	for tenths := math.Floor(o.edge() * 10); tenths >= LeastEdge*10; tenths-- {
		least.Edge = tenths / 10
		if PerSheet(card, least) == g.perSheet() {
			return least.Edge, g.perSheet()
		}
	}
	return 0, 0
}

// Sheets is how many sheets so many cards of a size take; 0: none holds one.
func Sheets(card layout.Size, n int, o Options) int {
	per := PerSheet(card, o)
	if per == 0 {
		return 0
	}
	return (n + per - 1) / per
}

// Cards places a deck on paper: a front page, then its back, sheet by sheet.
func Cards(d *cards.Deck, o Options) (*layout.Document, error) {
	if o.Roll != nil {
		return rolled(d, o)
	}
	if o.Sides == EachPage {
		return eachPage(d, min(max(o.Bleed, 0), MostBleed)), nil
	}
	g, err := gridFor(d, o)
	if err != nil {
		return nil, err
	}
	n := g.perSheet()
	sheets := (len(d.Faces) + n - 1) / n
	doc := &layout.Document{Title: d.Title, Language: d.Words.Language, Duplex: o.Sides.duplex(), Pages: make([]layout.Page, 0, 2*sheets)}
	unit := ""
	for s := range sheets {
		for _, back := range []bool{false, true} {
			if back && o.Sides != LongEdge && o.Sides != ShortEdge {
				continue
			}
			page := layout.Page{Width: o.Paper.Width, Height: o.Paper.Height}
			c := &set.Canvas{Items: make([]layout.Item, 0, 2*n+2*(g.cols+g.rows)+12)}
			for i := range n {
				k := s*n + i
				if o.Order == ThroughStack {
					k = i*sheets + s
				}
				if k >= len(d.Faces) {
					continue
				}
				f := d.Faces[k]
				x, y := g.place(i, back, o.Sides)
				g.put(c, x, y, f, back, o.Sides)
				if !back && f.Card.Unit.Name != unit {
					unit = f.Card.Unit.Name
					page.Bookmarks = append(page.Bookmarks, layout.Bookmark{Title: unit, Y: y})
				}
			}
			if o.Stock == nil {
				g.flipped(back, o.Sides).crops(c)
			}
			if !back && o.Stock == nil {
				g.scale(c, d.Words, o.Sides, fmt.Sprintf("%s %d/%d", d.Words.Sheet, s+1, sheets))
			}
			page.Items = c.Items
			doc.Pages = append(doc.Pages, page)
		}
	}
	return doc, nil
}

// gridFor is where the cards of a deck are.
func gridFor(d *cards.Deck, o Options) (grid, error) {
	w, h := d.Size.Width, d.Size.Height
	if o.Stock != nil {
		if o.Sides == Fold {
			w *= 2
		}
		return stockGrid(o.Paper, o.Stock, w, h)
	}
	g, ok := fitted(d.Size, o)
	if !ok {
		on := ""
		if paper := larger(d.Size, o); paper != "" {
			on = fmt.Sprintf(": the smallest paper that holds it is %s, --paper %s", paper, paper)
		}
		return g, fmt.Errorf("a card of size %s does not fit on paper of size %s%s", cmp.Or(d.Size.Name, "of its own"), o.Paper.Name, on)
	}
	return g, nil
}

// Elsewhere is what holds a card in the way it is printed, where that which it is printed
// on does not: a wider roll, or the smallest paper that is larger; and the flag that asks
// for it. "": there is none.
func Elsewhere(card layout.Size, o Options) (what, flag string) {
	if o.Roll != nil {
		wide := math.Ceil(min(card.Width, card.Height)*10-1e-6) / 10
		if wide > layout.MostRoll {
			return "", ""
		}
		return "a wider roll", fmt.Sprintf("--roll %g", max(wide, layout.LeastRoll))
	}
	if paper := larger(card, o); paper != "" {
		return "larger paper", "--paper " + paper
	}
	return "", ""
}

// larger is the smallest paper that holds a card in the way it is printed, larger than
// the one it does not fit on; "": there is none.
func larger(card layout.Size, o Options) string {
	for _, paper := range layout.Larger(layout.PaperSizes(), o.Paper) {
		on := o
		if on.Paper = paper; PerSheet(card, on) > 0 {
			return paper.Name
		}
	}
	return ""
}

// put places one card; to be folded, with its back beside it.
func (g grid) put(c *set.Canvas, x, y float64, f cards.Faces, back bool, sides Sides) {
	turn := g.turns(back, sides)
	if sides != Fold {
		panel := f.Front
		if back {
			panel = f.Back
		}
		c.Add(layout.Placed{X: x, Y: y, Turn: turn, Panel: panel})
		return
	}
	if g.above {
		g.putAbove(c, x, y, f, turn)
		return
	}
	if !g.turned {
		half := g.w / 2
		c.Add(layout.Placed{X: x, Y: y, Panel: f.Front}, layout.Placed{X: x + half, Y: y, Panel: f.Back},
			g.foldLine(x+half, y, x+half, y+g.h))
		return
	}
	// Turned so that heads point to the left: the front's right half lies above.
	half := g.h / 2
	c.Add(layout.Placed{X: x, Y: y + half, Turn: turn, Panel: f.Front}, layout.Placed{X: x, Y: y, Turn: turn, Panel: f.Back},
		g.foldLine(x, y+half, x+g.w, y+half))
}

// foldLine is broken, and as long as the printer reaches.
func (g grid) foldLine(x1, y1, x2, y2 float64) layout.Line {
	within := func(x float64) float64 { return min(max(x, g.edge), g.paper.Width-g.edge) }
	return layout.Line{X1: within(x1), Y1: y1, X2: within(x2), Y2: y2, Weight: cropWeight, Dash: 1.5}
}

// putAbove places a front with its back below it, head down, so that it stands head
// up behind the front when it is folded.
func (g grid) putAbove(c *set.Canvas, x, y float64, f cards.Faces, turn int) {
	back := layout.Placed{X: x, Y: y, Turn: (turn + 2) % 4, Panel: f.Back}
	fold := g.foldLine(x, y+g.h/2, x+g.w, y+g.h/2)
	if back.Y += g.h / 2; g.turned { // its foot points to the right
		back.X, back.Y = x+g.w/2, y
		fold = g.foldLine(x+g.w/2, y, x+g.w/2, y+g.h)
	}
	c.Add(layout.Placed{X: x, Y: y, Turn: turn, Panel: f.Front}, back, fold)
}

// eachPage puts each side of each card on a page of its own, larger by the bleed.
func eachPage(d *cards.Deck, bleed float64) *layout.Document {
	doc := &layout.Document{Title: d.Title, Language: d.Words.Language, Pages: make([]layout.Page, 0, 2*len(d.Faces))}
	unit := ""
	for _, f := range d.Faces {
		for _, panel := range []*layout.Panel{f.Front, f.Back} {
			page := layout.Page{Width: d.Size.Width + 2*bleed, Height: d.Size.Height + 2*bleed, Trim: bleed,
				Items: []layout.Item{layout.Placed{X: bleed, Y: bleed, Panel: panel}}}
			if panel == f.Front && f.Card.Unit.Name != unit {
				unit = f.Card.Unit.Name
				page.Bookmarks = []layout.Bookmark{{Title: unit}}
			}
			doc.Pages = append(doc.Pages, page)
		}
	}
	return doc
}

// crops draws the marks along which the cards are cut, outside of all cards.
func (g grid) crops(c *set.Canvas) {
	right, bottom := g.x+g.width(), g.y+g.height()
	line := func(x1, y1, x2, y2 float64) { c.Add(layout.Line{X1: x1, Y1: y1, X2: x2, Y2: y2, Weight: cropWeight}) }
	for i := range g.cols + 1 {
		x := g.x + float64(i)*g.w
		if x < g.edge-set.Tolerance || x > g.paper.Width-g.edge+set.Tolerance {
			continue // where the printer does not reach
		}
		line(x, g.y-cropGap-g.crop, x, g.y-cropGap)
		line(x, bottom+cropGap, x, bottom+cropGap+g.crop)
	}
	for i := range g.rows + 1 {
		y := g.y + float64(i)*g.h
		if g.cropAcross == 0 {
			for k := 1; k < g.cols; k++ { // in the white of the cards
				x := g.x + float64(k)*g.w
				line(x-cropLeast, y, x+cropLeast, y)
			}
			continue
		}
		line(g.x-cropGap-g.cropAcross, y, g.x-cropGap, y)
		line(right+cropGap, y, right+cropGap+g.cropAcross, y)
	}
}

// scale draws a rule of 50 mm and how to print, below the cards: where they stand
// too far right for the words, further left.
func (g grid) scale(c *set.Canvas, w *words.CardWords, sides Sides, sheet string) {
	s := scaleStyle()
	note := w.ScaleNotes[sides]
	y := g.y + g.height() + cropGap + g.crop + scaleGap + s.Cap()
	wide := scaleLength + 2 + s.Width(note) + 4 + s.Width(sheet)
	x := max(g.edge+rulerWeight/2, min(g.x, g.paper.Width-g.edge-wide))
	ruler(c, x, y, s)
	c.Text(x+scaleLength+2, y, s, note)
	c.TextRight(min(max(g.x+g.width(), x+wide), g.paper.Width-g.edge), y, s, sheet)
}

// ruler draws the 50 mm that check the printer's scale, on the middle of a line
// of text with the baseline y.
func ruler(c *set.Canvas, x, y float64, s set.Style) {
	const tick = 1.1
	mid := y - s.Cap()/2
	c.Rule(x, x+scaleLength, mid, rulerWeight)
	for i := range 6 {
		tx := math.Min(x+scaleLength, x+float64(i)*scaleLength/5)
		c.Add(layout.Line{X1: tx, Y1: mid - tick, X2: tx, Y2: mid + tick, Weight: rulerWeight})
	}
}
