// Package set is the kit in which every paper is set: text, rows and pages, in one
// way. A paragraph is pieces that [BreakLines] breaks into lines; a paper is
// blocks that a [Flow] puts into the columns of pages, which a [Pager] opens; type
// grows with [Largest] or a [Search]; what does not fit even at its least size is
// a [Misfit], which becomes a finding in [Faults.Findings].
//
// Start with [Pager]; supervisors_test.go writes a new sheet in a page of code.
package set

import (
	"slices"

	"slotcard/layout"
)

// The one flow of blocks over pages. A paper describes itself as blocks; a
// [Pager] opens pages, and a [Flow] fills their columns: it takes the next
// block, asks whether the room holds it, and places it or ends the column.

// Page is a page that is being filled.
type Page struct {
	Canvas
	Number int // from 1
	marks  []layout.Bookmark
}

// Bookmark marks a height of the page.
func (p *Page) Bookmark(title string, level int, y float64) {
	p.marks = append(p.marks, layout.Bookmark{Title: title, Level: level, Y: y})
}

// Pager opens pages, one after the other.
type Pager struct {
	Faults
	Paper  layout.Size
	Margin float64
	Sides  func(number int) (left, right float64) // margins of a page; nil: margin
	Pages  []*Page
	top    float64 // of the room for blocks
	Bottom float64
	Y      float64 // where the next block goes
	Open   func()  // nil, or draws head and foot of a new page and takes their room from y and bottom
	Trial  bool    // nothing is drawn: it is only asked what fits
}

func (p *Pager) margins() (left, right float64) {
	if p.Sides == nil {
		return p.Margin, p.Margin
	}
	return p.Sides(max(1, len(p.Pages)))
}

func (p *Pager) Left() float64 {
	left, _ := p.margins()
	return left
}

func (p *Pager) Right() float64 {
	_, right := p.margins()
	return p.Paper.Width - right
}

func (p *Pager) Width() float64 { return p.Right() - p.Left() }
func (p *Pager) Room() float64  { return p.Bottom - p.Y }

// Page is the one that is being filled.
func (p *Pager) Page() *Page { return p.Pages[len(p.Pages)-1] }

// NewPage opens a page.
func (p *Pager) NewPage() *Page {
	p.Pages = append(p.Pages, &Page{Number: len(p.Pages) + 1})
	p.Y, p.Bottom = p.Margin, p.Paper.Height-p.Margin
	if p.Open != nil {
		p.Open()
	}
	p.top = p.Y
	return p.Page()
}

// Fresh tells whether nothing stands on the page yet.
func (p *Pager) Fresh() bool { return p.Y <= p.top }

// Space leaves room before a block, unless it begins the page.
func (p *Pager) Space(h float64) {
	if !p.Fresh() {
		p.Y += h
	}
}

// Document makes the pages one, calling number for each with its number from 1
// and how many there are; nil: pages are not numbered. They are for one side of paper.
func (p *Pager) Document(title, subject, language string, number func(c *Canvas, i, n int)) *layout.Document {
	d := &layout.Document{Title: title, Subject: subject, Language: language, Duplex: layout.Simplex}
	for i, pg := range p.Pages {
		if number != nil {
			number(&pg.Canvas, i+1, len(p.Pages))
		}
		d.Pages = append(d.Pages, layout.Page{Width: p.Paper.Width, Height: p.Paper.Height, Items: pg.Items, Bookmarks: pg.marks, Areas: pg.Areas})
	}
	return d
}

// Block is a piece of a paper that stays whole.
type Block struct {
	H    float64
	Draw func(c *Canvas, x, y, h float64) // top left corner, and the height that it got
	Keep bool                             // stays with the next one where a column holds both
	Gap  bool                             // white between others: none at the top of a column
	Asks float64                          // room that it asks for, where that is more than its height
	Key  string                           // by which a page's head names it
	What Misfit                           // what it is where no page holds it
	Rule func(c *Canvas, x, y float64)    // drawn above it unless it begins its column

	First *Block // what stands in its place where it begins a column
}

// Put draws a block at its own height.
func (b Block) Put(c *Canvas, x, y float64) {
	if b.Draw != nil {
		b.Draw(c, x, y, b.H)
	}
}

// Drawn is a block that takes no notice of more height than it asks for.
func Drawn(h float64, draw func(c *Canvas, x, y float64)) Block {
	return Block{H: h, Draw: func(c *Canvas, x, y, _ float64) { draw(c, x, y) }}
}

// Block is lines as a block, with white below them.
func (t Stack) Block(below float64) Block { return Drawn(t.Height()+below, t.Draw) }

// Pile is blocks one below the other.
type Pile []Block

func (p Pile) Height() (h float64) {
	for _, b := range p {
		h += b.H
	}
	return h
}

// Put draws a pile and returns its lower edge; on no canvas it only tells that.
func (p Pile) Put(c *Canvas, x, y float64) float64 {
	for _, b := range p {
		if c != nil {
			b.Put(c, x, y)
		}
		y += b.H
	}
	return y
}

// runHeight of the blocks that begin with the first one and must stay together,
// at the top of a column or not, and how many they are.
func runHeight(b []Block, top bool) (h float64, n int) {
	for n < len(b) {
		k := &b[n]
		if top && n == 0 && k.First != nil {
			k = k.First
		}
		h += max(k.H, k.Asks)
		n++
		if !k.Keep {
			break
		}
	}
	return h, n
}

// placed is a block with its column and its height in that.
type placed struct {
	Block
	col  int
	y, h float64
	top  bool // begins its column
}

// Flow is blocks on their way onto pages.
type Flow struct {
	Blocks  []Block
	Columns int     // 0: one
	Gutter  float64 // between columns
	Even    bool    // columns end at one height where the flow does
	W       float64 // how wide the columns stand from the left margin; 0: all the width
	Mark    string  // bookmark at the beginning; "": none
	Begin   bool    // on a new page

	Need  float64                        // least room with which to begin on a page that is not new
	Head  func(part Part) Pile           // nil, or what stands over the columns of each page
	After func(part Part)                // nil, or draws what is known when the page is filled
	Share func(part Part) (int, float64) // nil, or how many blocks go on the page, and how much white each gets
}

// Part is what a flow puts on one page.
type Part struct {
	Page   *Page
	Again  bool    // not the first part
	Blocks []Block // those that stand here; to share, all that are left
	Top    float64 // of the head
	Room   float64 // below the head
}

// fill puts blocks into columns of a height as far as they go: place is told of each,
// nil: of none.
func fill(b []Block, columns int, h float64, place func(placed)) (done int, most float64) {
	for col := 0; col < columns && done < len(b); col++ {
		y := 0.0
		for top := true; done < len(b); {
			if b[done].Gap && top {
				done++
				continue
			}
			run, n := runHeight(b[done:], top)
			if y+run > h+Tolerance {
				break
			}
			for range n {
				k := &b[done]
				if top && k.First != nil {
					k = k.First
				}
				if place != nil {
					place(placed{*k, col, y, k.H, top})
				}
				y += k.H
				done, top = done+1, false
			}
		}
		most = max(most, y)
	}
	return done, most
}

// Fits tells whether columns of a height hold all of the flow, and the least
// such height.
func (f *Flow) Fits(h float64) (least float64, ok bool) {
	all := func(h float64) bool {
		done, _ := fill(f.Blocks, max(1, f.Columns), h, nil)
		return done == len(f.Blocks)
	}
	if !all(h) {
		return h, false
	}
	low, high := 0.0, h
	for high-low > 0.05 {
		if mid := (low + high) / 2; all(mid) {
			high = mid
		} else {
			low = mid
		}
	}
	return high, true
}

// distribute chooses what goes into the room of a page: a run that is higher
// than all of it is broken, and a block that is stands there all the same. On trial,
// it does not say where.
func (p *Pager) distribute(f *Flow, part Part) (out []placed, done int, most float64) {
	place := func(b placed) { out = append(out, b) }
	if p.Trial {
		place = nil
	}
	if f.Share != nil {
		n, white := f.Share(part)
		for i, b := range part.Blocks[:n] {
			if place != nil {
				place(placed{b, 0, most, b.H + white, i == 0})
			}
			most += b.H + white
		}
		return out, n, most
	}
	columns := max(1, f.Columns)
	blocks, h := part.Blocks, part.Room
	if run, n := runHeight(blocks, true); run > h+Tolerance {
		loose := slices.Clone(blocks[:n])
		for i := range loose {
			loose[i].Keep = false
		}
		least, _ := runHeight(loose, true)
		if least > h+Tolerance && loose[0].What != (Misfit{}) {
			p.Add(loose[0].What)
		}
		blocks, h = loose, max(h, least)
	} else if f.Even {
		rest := Flow{Blocks: blocks, Columns: columns}
		if least, ok := rest.Fits(h); ok {
			h = least
		}
	}
	done, most = fill(blocks, columns, h, place)
	return out, done, most
}

func (f *Flow) headOf(p Part) Pile {
	if f.Head == nil {
		return nil
	}
	return f.Head(p)
}

// Flow places blocks from the present height on, over as many pages as they take.
func (p *Pager) Flow(f Flow) {
	columns := float64(max(1, f.Columns))
	for again := false; len(f.Blocks) > 0; again = true {
		part := Part{Again: again, Blocks: f.Blocks}
		high := f.headOf(part).Height()
		run, _ := runHeight(f.Blocks, true)
		if again || f.Begin || p.Room() < max(high+run, f.Need)-Tolerance {
			p.NewPage()
		}
		if f.Mark != "" && !again && !p.Trial {
			p.Page().Bookmark(f.Mark, 0, p.Y)
		}
		part.Page, part.Top, part.Room = p.Page(), p.Y, p.Room()-high
		placed, n, most := p.distribute(&f, part)
		part.Blocks = f.Blocks[:n]
		c := &part.Page.Canvas
		if p.Trial {
			c = nil
		}
		top := f.headOf(part).Put(c, p.Left(), p.Y)
		width := f.W
		if width == 0 {
			width = p.Width()
		}
		step := (width-f.Gutter*(columns-1))/columns + f.Gutter
		y := 0.0
		for _, b := range placed {
			if b.top {
				y = top
			}
			x := p.Left() + float64(b.col)*step
			if b.Rule != nil && !b.top {
				b.Rule(c, x, y)
			}
			if b.Draw != nil {
				b.Draw(c, x, y, b.h)
			}
			y += b.h
		}
		f.Blocks = f.Blocks[n:]
		p.Y = top + most
		if f.After != nil {
			f.After(part)
		}
	}
}
