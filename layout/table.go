package layout

import (
	"math"
	"slotcard/fonts"
	"strings"
)

// span is a piece of text in one style; a paragraph is a row of spans.
type span struct {
	s style
	t string
}

// spansWidth is the width of spans set one after the other.
func spansWidth(line []span) (w float64) {
	for _, s := range line {
		w += s.s.width(s.t)
	}
	return w
}

// spansText sets spans one after the other from x on the baseline y.
func (c *canvas) spansText(x, y float64, line []span) {
	for _, s := range line {
		x = c.text(x, y, s.s, s.t)
	}
}

// breakSpans breaks a paragraph into lines that are no wider than width. Lines
// break at spaces and at line feeds; a word that is wider than a whole line is
// broken where it must be, because nothing is ever cut.
func breakSpans(para []span, width float64) [][]span {
	var lines [][]span
	var line []span
	used, gap := 0.0, span{}
	flush := func() {
		lines = append(lines, line)
		line, used, gap = nil, 0, span{}
	}
	put := func(s span) {
		s.t = strings.ReplaceAll(s.t, noBreak, " ")
		if n := len(line) - 1; n >= 0 && line[n].s == s.s {
			line[n].t += s.t
		} else {
			line = append(line, s)
		}
		used += s.s.width(s.t)
	}
	var word []span // may change its style in the middle
	end := func() {
		if len(word) == 0 {
			return
		}
		w := spansWidth(word)
		if len(line) > 0 && used+gap.s.width(gap.t)+w > width+1e-6 {
			flush()
		}
		if gap.t != "" && len(line) > 0 {
			put(gap)
		}
		gap = span{}
		for _, s := range word {
			for used+s.s.width(s.t) > width+1e-6 {
				n := fitting(s, width-used)
				if n == 0 && len(line) == 0 {
					n = len(string([]rune(s.t)[:1])) // a line narrower than a letter
				}
				if n > 0 {
					put(span{s.s, s.t[:n]})
				}
				if s.t = s.t[n:]; s.t == "" {
					break
				}
				flush()
			}
			if s.t != "" {
				put(s)
			}
		}
		word = nil
	}
	for _, s := range para {
		rest := s.t
		for rest != "" {
			i := strings.IndexAny(rest, " \n\t")
			if i < 0 {
				word = append(word, span{s.s, rest})
				break
			}
			if i > 0 {
				word = append(word, span{s.s, rest[:i]})
			}
			end()
			if rest[i] == '\n' {
				flush()
			} else {
				gap = span{s.s, " "}
			}
			rest = rest[i+1:]
		}
	}
	end()
	if len(line) > 0 || len(lines) == 0 {
		flush()
	}
	return lines
}

// noBreak stands for a space at which no line breaks.
const noBreak = "\u00a0"

// fitting is how many bytes of a span fit into width: a whole number of letters.
func fitting(s span, width float64) int {
	n := 0
	for i, r := range s.t {
		end := i + len(string(r))
		if s.s.width(s.t[:end]) > width+1e-6 {
			break
		}
		n = end
	}
	return n
}

// plain is a paragraph in a single style.
func plain(s style, t string) []span { return []span{{s, t}} }

// column is a stack of lines at one pitch: the content of a table's cell.
type column struct {
	lines [][]span
	cap   float64 // height of the capitals of its first line
	pitch float64
}

// height from the top of the first line's capitals to the last baseline.
func (t column) height() float64 {
	if len(t.lines) == 0 {
		return 0
	}
	return t.cap + float64(len(t.lines)-1)*t.pitch
}

// draw sets the lines with the first line's capitals at the height y.
func (t column) draw(c *canvas, x, y float64) {
	y += t.cap
	for _, l := range t.lines {
		c.spansText(x, y, l)
		y += t.pitch
	}
}

func (t column) width() (w float64) {
	for _, l := range t.lines {
		w = max(w, spansWidth(l))
	}
	return w
}

// shrink is the largest style of a face, capitals between most and least mm
// high, in which t is no wider than width. Not ok: it is wider at least too.
func shrink(s style, t string, most, least, width float64) (style, bool) {
	fit := capStyle(s.face, most).on(s.ink)
	if w := fit.width(t); w > width {
		// Down to a size that a PDF can say, never up.
		fit.pt = math.Floor(fit.pt*width/w*100) / 100
	}
	if low := capStyle(s.face, least).on(s.ink); fit.pt < low.pt {
		return low, low.width(t) <= width+1e-6
	}
	return fit, true
}

// stripes fills a rectangle with slanted bars: the ground of the exercise mark,
// which no other part of the paper looks like.
func (c *canvas) stripes(x, y, w, h float64) {
	n := math.Floor((w - h) / h)
	if n < 1 {
		return
	}
	step := (w - h) / (n - 0.5)
	if n == 1 {
		step = w - h
	}
	bar := step / 2
	var path []Segment
	for i := range int(n) {
		left := x + float64(i)*step
		path = append(path,
			Segment{Move: true, X: left, Y: y + h},
			Segment{X: left + h, Y: y},
			Segment{X: left + h + bar, Y: y},
			Segment{X: left + bar, Y: y + h},
			Segment{X: left, Y: y + h})
	}
	c.add(Shape{Segments: path, Fill: true})
}

// exerciseBand draws a word, and a note behind it, between stripes over the
// whole width: the mark of exercise and demonstration data. It stands where
// nothing else is.
func (c *canvas) exerciseBand(x, y, w, h float64, word, note string) {
	least := CapAt(500, 16)
	s, _ := shrink(style{face: fonts.Bold}, word, h*0.74, least, w*0.4)
	n, _ := shrink(style{face: fonts.Regular}, note, h*0.42, least, w*0.4)
	tw, gap := s.width(word), h*0.6
	if note != "" {
		tw += s.space() + n.width(note)
	}
	side := (w-tw)/2 - gap
	c.stripes(x, y, side, h)
	end := c.text(x+(w-tw)/2, y+(h+s.cap())/2, s, word)
	c.text(end+s.space(), y+(h+s.cap())/2, n, note)
	c.stripes(x+w-side, y, side, h)
}

// pointer draws a filled triangle that points to the right: talk here.
func (c *canvas) pointer(x, y, h float64, ink Ink) {
	c.add(Shape{Fill: true, FillInk: ink, Segments: []Segment{
		{Move: true, X: x, Y: y - h}, {X: x + h*0.8, Y: y - h/2}, {X: x, Y: y}, {X: x, Y: y - h},
	}})
}

// pager lays blocks one below the other over as many pages as they take.
type pager struct {
	paper  Size
	margin float64
	pages  []*page
	top    float64 // of the room for blocks
	bottom float64
	y      float64        // where the next block goes
	open   func(p *pager) // starts a page: draws its head and foot, sets y and bottom
}

type page struct {
	canvas
	marks []Bookmark
}

func (p *pager) left() float64  { return p.margin }
func (p *pager) right() float64 { return p.paper.Width - p.margin }
func (p *pager) width() float64 { return p.right() - p.left() }
func (p *pager) room() float64  { return p.bottom - p.y }

// now is the page that is being filled.
func (p *pager) now() *page { return p.pages[len(p.pages)-1] }

// turn starts a new page.
func (p *pager) turn() {
	p.pages = append(p.pages, &page{})
	p.y, p.bottom = p.margin, p.paper.Height-p.margin
	p.open(p)
	p.top = p.y
}

// space leaves room before a block, unless it starts the page.
func (p *pager) space(h float64) {
	if p.y > p.top {
		p.y += h
	}
}

// bookmark marks the present height.
func (p *pager) bookmark(title string, level int) {
	n := p.now()
	n.marks = append(n.marks, Bookmark{Title: title, Level: level, Y: p.y})
}

// document makes the pages one, calling number for each with its number from 1
// and how many there are.
func (p *pager) document(title, subject, language string, number func(c *canvas, i, n int)) *Document {
	d := &Document{Title: title, Subject: subject, Language: language}
	for i, pg := range p.pages {
		number(&pg.canvas, i+1, len(p.pages))
		d.Pages = append(d.Pages, Page{Width: p.paper.Width, Height: p.paper.Height, Items: pg.items, Bookmarks: pg.marks})
	}
	return d
}

// block is a piece that stays whole.
type block struct {
	h    float64
	draw func(c *canvas, x, y float64) // top left corner
	keep bool                          // stays with the next one
	gap  bool                          // white between others: none at the top of a column
}

// blocksHeight of the run that starts at i and must stay together.
func runHeight(b []block, i int) (h float64, n int) {
	for ; i < len(b); i++ {
		h += b[i].h
		n++
		if !b[i].keep {
			break
		}
	}
	return h, n
}

// fill puts blocks into n columns of height h and tells how many went in, and
// how high the fullest column is. draw may be nil to measure only.
func fill(b []block, n int, h float64, draw func(b block, col int, y float64)) (done int, most float64) {
	for col := 0; col < n && done < len(b); col++ {
		y := 0.0
		for done < len(b) {
			if b[done].gap && y == 0 {
				done++
				continue
			}
			run, count := runHeight(b, done)
			if y+run > h+1e-6 {
				break
			}
			for range count {
				if draw != nil {
					draw(b[done], col, y)
				}
				y += b[done].h
				done++
			}
		}
		most = max(most, y)
	}
	return done, most
}

// evenly is the least height, no more than most, in which n columns hold all
// blocks, taken that they do at most.
func evenly(b []block, n int, most float64) float64 {
	low, high := 0.0, most
	for high-low > 0.05 {
		mid := (low + high) / 2
		if d, _ := fill(b, n, mid, nil); d == len(b) {
			high = mid
		} else {
			low = mid
		}
	}
	return high
}

// columns sets blocks in n columns with gap mm between them, filled evenly on
// the last page, under a bookmark unless it is "". head, if any, stands over all
// columns and again, told so, on each further page; used tells it over how many.
func (p *pager) columns(mark string, n int, gap float64, head func(again bool, used int) block, b []block) {
	colW := (p.width() - gap*float64(n-1)) / float64(n)
	for again := false; len(b) > 0; again = true {
		var hd block
		if head != nil {
			hd = head(again, n)
		}
		first, _ := runHeight(b, 0)
		if again || p.room() < hd.h+first {
			p.turn()
		}
		room := p.room() - hd.h
		room = max(room, first) // a run higher than a page: the caller reports it
		done, _ := fill(b, n, room, nil)
		if done == len(b) { // all of it: even columns
			room = evenly(b, n, room)
		}
		if mark != "" && !again {
			p.bookmark(mark, 0)
		}
		c, top, used := &p.now().canvas, p.y+hd.h, 0
		done, most := fill(b, n, room, func(b block, col int, y float64) {
			used = col + 1
			if b.draw != nil {
				b.draw(c, p.left()+float64(col)*(colW+gap), top+y)
			}
		})
		if head != nil {
			head(again, used).draw(c, p.left(), p.y)
		}
		b = b[done:]
		p.y = top + most
	}
}
