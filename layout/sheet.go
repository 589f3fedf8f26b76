package layout

import (
	"fmt"
	"math"

	"slotcard/fonts"
)

// Sheets of paper hold as many cards as fit, head upwards or turned a quarter,
// with crop marks. Pages are always upright: the long edge is the left one, so
// that "flip on the long edge" means one thing to every printer.

// SheetOptions say how cards are placed on paper.
type SheetOptions struct {
	Paper Size // upright
}

const (
	sheetSide   = 7.0  // mm: least margin beside the cards, room for crop marks
	sheetTop    = 7.0  // mm
	sheetBottom = 12.5 // mm: room for the rule that checks the scale
	cropLength  = 4.0  // mm
	cropGap     = 1.0  // mm between trim and crop mark
	cropWeight  = 0.15 // mm
	scaleLength = 50.0 // mm: the rule that checks the printer's scale
)

// grid is where the cards of a sheet stand.
type grid struct {
	paper      Size
	w, h       float64 // of a place
	cols, rows int
	x, y       float64 // top left corner of the first place
	turned     bool
}

// gridOf places cards of a size on paper; not ok where none fits.
func gridOf(paper, card Size) (g grid, ok bool) {
	best := grid{paper: paper}
	for _, turned := range []bool{false, true} {
		w, h := card.Width, card.Height
		if turned {
			w, h = h, w
		}
		cols := int(math.Floor((paper.Width - 2*sheetSide + tolerance) / w))
		rows := int(math.Floor((paper.Height - sheetTop - sheetBottom + tolerance) / h))
		if cols > 0 && rows > 0 && cols*rows > best.cols*best.rows {
			best = grid{paper: paper, w: w, h: h, cols: cols, rows: rows, turned: turned}
		}
	}
	if best.cols == 0 {
		return best, false
	}
	best.x = (paper.Width - float64(best.cols)*best.w) / 2
	best.y = min((paper.Height-float64(best.rows)*best.h)/2, paper.Height-sheetBottom-float64(best.rows)*best.h)
	return best, true
}

func (g grid) perSheet() int { return g.cols * g.rows }

// place is the top left corner of place i, row by row from the left; on the
// back of the sheet, flipped on its long edge, the columns run from the right.
func (g grid) place(i int, back bool) (x, y float64) {
	col, row := i%g.cols, i/g.cols
	x = g.x + float64(col)*g.w
	if back {
		x = g.paper.Width - x - g.w
	}
	return x, g.y + float64(row)*g.h
}

// turns of the panels on either side: opposite quarter turns, so that head
// stands behind head.
func (g grid) turns(back bool) int {
	switch {
	case !g.turned:
		return 0
	case back:
		return 1
	}
	return 3
}

// CardsPerSheet is how many cards of a size a sheet of paper holds.
func CardsPerSheet(paper, card Size) int {
	g, ok := gridOf(paper, card)
	if !ok {
		return 0
	}
	return g.perSheet()
}

// Sheets places the deck on paper: a front page, then its back, sheet by sheet.
func (d *Deck) Sheets(o SheetOptions) (*Document, error) {
	g, ok := gridOf(o.Paper, d.Size)
	if !ok {
		return nil, fmt.Errorf("a card of size %s does not fit on paper of size %s", d.Size.Name, o.Paper.Name)
	}
	n := g.perSheet()
	sheets := (len(d.Faces) + n - 1) / n
	doc := &Document{Title: d.Title, Language: d.Words.Language, Pages: make([]Page, 0, 2*sheets)}
	unit := ""
	for s := range sheets {
		faces := d.Faces[s*n : min((s+1)*n, len(d.Faces))]
		for _, back := range []bool{false, true} {
			page := Page{Width: o.Paper.Width, Height: o.Paper.Height}
			c := &canvas{items: make([]Item, 0, len(faces)+2*(g.cols+g.rows)+8)}
			for i, f := range faces {
				x, y := g.place(i, back)
				panel := f.Front
				if back {
					panel = f.Back
				}
				c.add(Placed{X: x, Y: y, Turn: g.turns(back), Panel: panel})
				if !back && f.Card.Unit.Name != unit {
					unit = f.Card.Unit.Name
					page.Bookmarks = append(page.Bookmarks, Bookmark{Title: unit, Y: y})
				}
			}
			g.crops(c)
			if !back {
				g.scale(c, d.Words, fmt.Sprintf("%s %d/%d", d.Words.Sheet, s+1, sheets))
			}
			page.Items = c.items
			doc.Pages = append(doc.Pages, page)
		}
	}
	return doc, nil
}

// crops draws the marks along which the cards are cut, outside of all cards.
func (g grid) crops(c *canvas) {
	right, bottom := g.x+float64(g.cols)*g.w, g.y+float64(g.rows)*g.h
	line := func(x1, y1, x2, y2 float64) { c.add(Line{X1: x1, Y1: y1, X2: x2, Y2: y2, Weight: cropWeight}) }
	for i := range g.cols + 1 {
		x := g.x + float64(i)*g.w
		line(x, g.y-cropGap-cropLength, x, g.y-cropGap)
		line(x, bottom+cropGap, x, bottom+cropGap+cropLength)
	}
	for i := range g.rows + 1 {
		y := g.y + float64(i)*g.h
		line(g.x-cropGap-cropLength, y, g.x-cropGap, y)
		line(right+cropGap, y, right+cropGap+cropLength, y)
	}
}

// scale draws a rule of 50 mm and how to print, below the cards.
func (g grid) scale(c *canvas, w *Words, sheet string) {
	s := capStyle(fonts.Regular, CapLeast)
	bottom := g.y + float64(g.rows)*g.h
	y := bottom + cropGap + cropLength + s.cap() + 1
	const tick = 1.1
	x := g.x
	c.rule(x, x+scaleLength, y-s.cap()/2, 0.2)
	for i := range 6 {
		tx := x + float64(i)*scaleLength/5
		c.add(Line{X1: tx, Y1: y - s.cap()/2 - tick, X2: tx, Y2: y - s.cap()/2 + tick, Weight: 0.2})
	}
	c.text(x+scaleLength+2, y, s, w.ScaleNote)
	c.textRight(g.x+float64(g.cols)*g.w, y, s, sheet)
}
