package layout

import "slices"

// The one flow of blocks over pages. A paper describes itself as blocks; a
// [pager] opens pages, and a [flow] fills their columns: it takes the next
// block, asks whether the room holds it, and places it or ends the column.

// page is a page that is being filled.
type page struct {
	canvas
	number int // from 1
	marks  []Bookmark
}

// bookmark marks a height of the page.
func (p *page) bookmark(title string, level int, y float64) {
	p.marks = append(p.marks, Bookmark{Title: title, Level: level, Y: y})
}

// pager opens pages, one after the other.
type pager struct {
	faults
	paper  Size
	margin float64
	sides  func(number int) (left, right float64) // margins of a page; nil: margin
	pages  []*page
	top    float64 // of the room for blocks
	bottom float64
	y      float64 // where the next block goes
	open   func()  // nil, or draws head and foot of a new page and takes their room from y and bottom
}

func (p *pager) margins() (left, right float64) {
	if p.sides == nil {
		return p.margin, p.margin
	}
	return p.sides(max(1, len(p.pages)))
}

func (p *pager) left() float64 {
	left, _ := p.margins()
	return left
}

func (p *pager) right() float64 {
	_, right := p.margins()
	return p.paper.Width - right
}

func (p *pager) width() float64 { return p.right() - p.left() }
func (p *pager) room() float64  { return p.bottom - p.y }

// page is the one that is being filled.
func (p *pager) page() *page { return p.pages[len(p.pages)-1] }

// newPage opens a page.
func (p *pager) newPage() *page {
	p.pages = append(p.pages, &page{number: len(p.pages) + 1})
	p.y, p.bottom = p.margin, p.paper.Height-p.margin
	if p.open != nil {
		p.open()
	}
	p.top = p.y
	return p.page()
}

// fresh tells whether nothing stands on the page yet.
func (p *pager) fresh() bool { return p.y <= p.top }

// space leaves room before a block, unless it begins the page.
func (p *pager) space(h float64) {
	if !p.fresh() {
		p.y += h
	}
}

// document makes the pages one, calling number for each with its number from 1
// and how many there are; nil: pages are not numbered.
func (p *pager) document(title, subject, language string, number func(c *canvas, i, n int)) *Document {
	d := &Document{Title: title, Subject: subject, Language: language}
	for i, pg := range p.pages {
		if number != nil {
			number(&pg.canvas, i+1, len(p.pages))
		}
		d.Pages = append(d.Pages, Page{Width: p.paper.Width, Height: p.paper.Height, Items: pg.items, Bookmarks: pg.marks})
	}
	return d
}

// block is a piece of a paper that stays whole.
type block struct {
	h    float64
	draw func(c *canvas, x, y, h float64) // top left corner, and the height that it got
	keep bool                             // stays with the next one where a column holds both
	gap  bool                             // white between others: none at the top of a column
	asks float64                          // room that it asks for, where that is more than its height
	key  string                           // by which a page's head names it
	what misfit                           // what it is where no page holds it
	rule func(c *canvas, x, y float64)    // drawn above it unless it begins its column

	first *block // what stands in its place where it begins a column
}

// put draws a block at its own height.
func (b block) put(c *canvas, x, y float64) {
	if b.draw != nil {
		b.draw(c, x, y, b.h)
	}
}

// drawn is a block that takes no notice of more height than it asks for.
func drawn(h float64, draw func(c *canvas, x, y float64)) block {
	return block{h: h, draw: func(c *canvas, x, y, _ float64) { draw(c, x, y) }}
}

// block is lines as a block, with white below them.
func (t stack) block(below float64) block { return drawn(t.height()+below, t.draw) }

// pile is blocks one below the other.
type pile []block

func (p pile) height() (h float64) {
	for _, b := range p {
		h += b.h
	}
	return h
}

// put draws a pile and returns its lower edge.
func (p pile) put(c *canvas, x, y float64) float64 {
	for _, b := range p {
		b.put(c, x, y)
		y += b.h
	}
	return y
}

// runHeight of the blocks that begin with the first one and must stay together,
// at the top of a column or not, and how many they are.
func runHeight(b []block, top bool) (h float64, n int) {
	for n < len(b) {
		k := b[n]
		if top && n == 0 && k.first != nil {
			k = *k.first
		}
		h += max(k.h, k.asks)
		n++
		if !k.keep {
			break
		}
	}
	return h, n
}

// placed is a block with its column and its height in that.
type placed struct {
	block
	col  int
	y, h float64
	top  bool // begins its column
}

// flow is blocks on their way onto pages.
type flow struct {
	blocks  []block
	columns int     // 0: one
	gutter  float64 // between columns
	even    bool    // columns end at one height where the flow does
	x, w    float64 // where the columns stand, from the left margin, and how wide; w 0: all the width
	mark    string  // bookmark at the beginning; "": none
	begin   bool    // on a new page

	need  float64                        // least room with which to begin on a page that is not new
	head  func(part part) pile           // nil, or what stands over the columns of each page
	after func(part part)                // nil, or draws what is known when the page is filled
	share func(part part) (int, float64) // nil, or how many blocks go on the page, and how much white each gets
}

// part is what a flow puts on one page.
type part struct {
	page    *page
	again   bool    // not the first part
	blocks  []block // those that stand here; to share, all that are left
	columns int     // that hold any
	top     float64 // of the head
	room    float64 // below the head
	h       float64 // of the fullest column
}

// fill puts blocks into columns of a height as far as they go.
func fill(b []block, columns int, h float64) (out []placed, done int, most float64) {
	for col := 0; col < columns && done < len(b); col++ {
		y := 0.0
		for top := true; done < len(b); {
			if b[done].gap && top {
				done++
				continue
			}
			run, n := runHeight(b[done:], top)
			if y+run > h+tolerance {
				break
			}
			for range n {
				k := b[done]
				if top && k.first != nil {
					k = *k.first
				}
				out = append(out, placed{k, col, y, k.h, top})
				y += k.h
				done, top = done+1, false
			}
		}
		most = max(most, y)
	}
	return out, done, most
}

// fits tells whether columns of a height hold all of the flow, and the least
// such height.
func (f *flow) fits(h float64) (least float64, ok bool) {
	all := func(h float64) bool {
		_, done, _ := fill(f.blocks, max(1, f.columns), h)
		return done == len(f.blocks)
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
// than all of it is broken, and a block that is stands there all the same.
func (p *pager) distribute(f *flow, part part) ([]placed, int, float64) {
	if f.share != nil {
		var out []placed
		y := 0.0
		n, white := f.share(part)
		for i, b := range part.blocks[:n] {
			out = append(out, placed{b, 0, y, b.h + white, i == 0})
			y += b.h + white
		}
		return out, n, y
	}
	columns := max(1, f.columns)
	if run, n := runHeight(part.blocks, true); run > part.room+tolerance {
		loose := slices.Clone(part.blocks[:n])
		for i := range loose {
			loose[i].keep = false
		}
		least, _ := runHeight(loose, true)
		if least > part.room+tolerance && loose[0].what != (misfit{}) {
			p.add(loose[0].what)
		}
		return fill(loose, columns, max(part.room, least))
	}
	if f.even {
		rest := flow{blocks: part.blocks, columns: columns}
		if least, ok := rest.fits(part.room); ok {
			return fill(part.blocks, columns, least)
		}
	}
	return fill(part.blocks, columns, part.room)
}

func (f *flow) headOf(p part) pile {
	if f.head == nil {
		return nil
	}
	return f.head(p)
}

// flow places blocks from the present height on, over as many pages as they take.
func (p *pager) flow(f flow) {
	columns := float64(max(1, f.columns))
	for again := false; len(f.blocks) > 0; again = true {
		part := part{again: again, blocks: f.blocks, columns: f.columns}
		high := f.headOf(part).height()
		run, _ := runHeight(f.blocks, true)
		if again || f.begin || p.room() < max(high+run, f.need)-tolerance {
			p.newPage()
		}
		if f.mark != "" && !again {
			p.page().bookmark(f.mark, 0, p.y)
		}
		part.page, part.top, part.room = p.page(), p.y, p.room()-high
		placed, n, most := p.distribute(&f, part)
		part.blocks, part.h, part.columns = f.blocks[:n], most, 0
		for _, b := range placed {
			part.columns = max(part.columns, b.col+1)
		}
		c := &part.page.canvas
		top := f.headOf(part).put(c, p.left()+f.x, p.y)
		width := f.w
		if width == 0 {
			width = p.width()
		}
		step := (width-f.gutter*(columns-1))/columns + f.gutter
		y := 0.0
		for _, b := range placed {
			if b.top {
				y = top
			}
			x := p.left() + f.x + float64(b.col)*step
			if b.rule != nil && !b.top {
				b.rule(c, x, y)
			}
			if b.draw != nil {
				b.draw(c, x, y, b.h)
			}
			y += b.h
		}
		f.blocks = f.blocks[n:]
		p.y = top + most
		if f.after != nil {
			f.after(part)
		}
	}
}
