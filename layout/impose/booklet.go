package impose

import (
	"fmt"

	"slotcard/fonts"
	"slotcard/layout"
	"slotcard/layout/set"
	"slotcard/layout/words"
)

// A booklet is stapled through its fold: every sheet of paper carries four
// pages, two on each side, and the sheets lie inside each other. Of n sheets,
// sheet i, counted from 0 at the outside, has the pages
//
//	front  4n-2i | 2i+1        back  2i+2 | 4n-2i-1
//
// (the rule of saddle stitching). Pages of paper are upright and flipped on the
// long edge, as those of the cards are, so that one setting of the printer does
// for all; a spread that fits only across is turned a quarter.

// StapledSheets is about how many sheets of office paper a stapler takes and a
// fold bears (common practice).
const StapledSheets = 20

// Booklet imposes a document of pages of one size as a saddle-stitched booklet
// on upright paper. As many spreads as fit go onto a sheet of paper, so that the
// piles lie in order after cutting. Missing pages at the end are blank. The words are
// those of the note how to print; nil: English.
func Booklet(d *layout.Document, paper layout.Size, w *words.BookWords) (*layout.Document, error) {
	if len(d.Pages) == 0 {
		return nil, fmt.Errorf("there are no pages to make a booklet of")
	}
	if w == nil {
		w = &words.EnglishBook
	}
	width, h := d.Pages[0].Width, d.Pages[0].Height
	panels := make([]*layout.Panel, (len(d.Pages)+3)/4*4)
	for i := range d.Pages {
		p := &d.Pages[i]
		if p.Width != width || p.Height != h {
			return nil, fmt.Errorf("page %d is %.1f x %.1f mm, others are %.1f x %.1f mm", i+1, p.Width, p.Height, width, h)
		}
		panels[i] = &layout.Panel{Width: width, Height: h, Items: p.Items}
	}
	s := spreads{w: width, h: h}
	if !s.fit(paper) {
		return nil, fmt.Errorf("two pages side by side, %.1f x %.1f mm, do not fit on paper of size %s, %.1f x %.1f mm",
			2*width, h, paper.Name, paper.Width, paper.Height)
	}
	n := len(panels) / 4
	per := s.perSheet()
	papers := (n + per - 1) / per
	out := &layout.Document{Title: d.Title, Subject: d.Subject, Language: d.Language, Duplex: layout.FlipLongEdge,
		Pages: make([]layout.Page, 0, 2*papers)}
	for sheet := range papers {
		for _, back := range []bool{false, true} {
			c := &set.Canvas{}
			for place := range per {
				i := place*papers + sheet // the piles follow each other
				if i >= n {
					continue
				}
				left, right := 4*n-2*i, 2*i+1
				if back {
					left, right = 2*i+2, 4*n-2*i-1
				}
				s.put(c, place, back, panels[left-1], panels[right-1])
			}
			s.marks(c)
			if !back {
				s.note(c, w, fmt.Sprintf("%s %d/%d", w.Sheet, sheet+1, papers), sheet == 0)
			}
			out.Pages = append(out.Pages, layout.Page{Width: paper.Width, Height: paper.Height, Items: c.Items})
		}
	}
	return out, nil
}

// spreads are the places of two pages side by side on paper.
type spreads struct {
	grid
	w, h float64 // of a page
	full bool    // the spread takes the paper's whole width or height
}

// fit finds as many places as the paper has room for, with margins; or one
// without, where a spread is as large as the paper.
func (s *spreads) fit(paper layout.Size) bool {
	var ok bool
	if s.grid, ok = gridOf(paper, 2*s.w, s.h, layout.PrintEdge, layout.PrintEdge+marksRoom, false, true); ok {
		return true
	}
	const close = 0.1 // mm: paper is no more exact
	for _, turned := range []bool{false, true} {
		w, h := 2*s.w, s.h
		if turned {
			w, h = h, w
		}
		if w <= paper.Width+close && h <= paper.Height+close {
			s.grid = grid{paper: paper, w: w, h: h, cols: 1, rows: 1, turned: turned, x: (paper.Width - w) / 2, y: (paper.Height - h) / 2}
			s.full = true
			return true
		}
	}
	return false
}

// halves are where the two pages of a spread lie: turned clockwise the left
// page is above, turned the other way below.
func (s *spreads) halves(place int, back bool) (lx, ly, rx, ry float64, turn int) {
	x, y := s.place(place, back, LongEdge)
	switch turn = s.turns(back, LongEdge); turn {
	case 1:
		return x, y, x, y + s.w, turn
	case 3:
		return x, y + s.w, x, y, turn
	}
	return x, y, x + s.w, y, turn
}

func (s *spreads) put(c *set.Canvas, place int, back bool, left, right *layout.Panel) {
	lx, ly, rx, ry, turn := s.halves(place, back)
	if left != nil {
		c.Add(layout.Placed{X: lx, Y: ly, Turn: turn, Panel: left})
	}
	if right != nil {
		c.Add(layout.Placed{X: rx, Y: ry, Turn: turn, Panel: right})
	}
}

// marks draws where to cut and, broken, where to fold: outside of the pages
// where there is paper, else for a few millimeters into the fold.
func (s *spreads) marks(c *set.Canvas) {
	const dash = 0.8
	if !s.full {
		s.crops(c)
	} else {
		s.cropsInRoom(c)
	}
	fold := func(x1, y1, x2, y2 float64) {
		c.Add(layout.Line{X1: x1, Y1: y1, X2: x2, Y2: y2, Weight: 2 * cropWeight, Dash: dash})
	}
	right, bottom := s.x+s.width(), s.y+s.height()
	const length = cropLength + cropGap
	ends := func(at float64) (from, to float64) {
		if at-cropGap-cropLeast < layout.PrintEdge-set.Tolerance { // in the fold
			return max(at, layout.PrintEdge), max(at, layout.PrintEdge) + length
		}
		return at - cropGap, max(at-length, layout.PrintEdge)
	}
	if s.turned {
		from, to := ends(s.x)
		for row := range s.rows {
			y := s.y + (float64(row)+0.5)*s.grid.h
			fold(min(from, to), y, max(from, to), y)
			fold(right-(max(from, to)-s.x), y, right-(min(from, to)-s.x), y)
		}
		return
	}
	from, to := ends(s.y)
	for col := range s.cols {
		x := s.x + (float64(col)+0.5)*s.grid.w
		fold(x, min(from, to), x, max(from, to))
		fold(x, bottom-(max(from, to)-s.y), x, bottom-(min(from, to)-s.y))
	}
}

// cropsInRoom are crop marks on those sides on which there is paper for them, within what
// the printer reaches: on the very edge of the pages, where nothing else is.
func (s *spreads) cropsInRoom(c *set.Canvas) {
	const length = cropLength + cropGap
	line := func(x1, y1, x2, y2 float64) { c.Add(layout.Line{X1: x1, Y1: y1, X2: x2, Y2: y2, Weight: cropWeight}) }
	if s.y > length { // cut above and below: marks at the sides would lie on the pages
		for _, y := range []float64{s.y, s.y + s.height()} {
			line(layout.PrintEdge, y, layout.PrintEdge+cropLength, y)
			line(s.paper.Width-layout.PrintEdge-cropLength, y, s.paper.Width-layout.PrintEdge, y)
		}
	}
	if s.x > length {
		for _, x := range []float64{s.x, s.x + s.width()} {
			line(x, layout.PrintEdge, x, layout.PrintEdge+cropLength)
			line(x, s.paper.Height-layout.PrintEdge-cropLength, x, s.paper.Height-layout.PrintEdge)
		}
	}
}

// note says below the spreads how to print and fold. Where there is no paper
// below, it stands on the foot of the last page, which [Book] leaves free.
func (s *spreads) note(c *set.Canvas, w *words.BookWords, sheet string, first bool) {
	st := set.CapStyle(fonts.Regular, layout.CapLeast)
	texts := []string{w.SpreadNote[0] + ", " + sheet, w.SpreadNote[1]}
	if s.perSheet() > 1 {
		texts = append(texts, w.PilesNote)
	}
	// draw puts the first text beside the rule, and returns where the last line ends.
	draw := func(c *set.Canvas, x, y, width float64) (end float64) {
		ruler(c, x, y, st)
		at := scaleLength + 2
		for _, text := range texts {
			for _, l := range set.Paragraph(width-at, st.Say(text)) {
				c.Line(x+at, y, l)
				end = y + st.Cap()*set.Descender
				y += st.Cap() * set.Leading
			}
			at = 0
		}
		return end
	}
	below := &set.Canvas{}
	x := max(s.x, layout.PrintEdge+rulerWeight/2)
	if end := draw(below, x, s.y+s.height()+cropGap+cropLength+st.Cap()+1, s.paper.Width-2*x); end <= s.paper.Height-layout.PrintEdge {
		c.Add(below.Items...)
		return
	}
	if !first {
		return
	}
	p := &set.Canvas{}
	room := set.NoteRoom(st)
	const beside = layout.PrintEdge + rulerWeight/2
	draw(p, beside, st.Cap()+0.3, s.w-2*beside)
	lx, ly, _, _, turn := s.halves(0, false)
	up := s.h - layout.PrintEdge - room // from the head of the page
	panel := &layout.Panel{Width: s.w, Height: room, Items: p.Items}
	switch turn {
	case 3: // heads to the left
		c.Add(layout.Placed{X: lx + up, Y: ly, Turn: turn, Panel: panel})
	default:
		c.Add(layout.Placed{X: lx, Y: ly + up, Turn: turn, Panel: panel})
	}
}
