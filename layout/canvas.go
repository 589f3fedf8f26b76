package layout

import (
	"math"

	"slotcard/fonts"
)

// Legibility on a card. Sources: NUREG-0700 Rev. 2 1.3.1-4 and ISO 9241-3
// (16 arcmin least, 20 preferred; secondary); heights computed by H = D tan MA.
const (
	CapKey   = 2.3  // mm: slot numbers and display names, 20 arcmin at 400 mm
	CapLeast = 1.63 // mm: everything else, 16 arcmin at 350 mm
	Safe     = 3.0  // mm from the trim that hold no text
)

// How far letters reach beyond their capitals, in cap heights (measured on the
// embedded faces by a test).
const (
	ascender  = 1.14 // b, d, f above the baseline
	descender = 0.36 // g, p, Q below it
)

// CapAt is the height of capitals in millimetres that subtends arcmin minutes
// of arc at a distance of mm millimetres.
func CapAt(mm, arcmin float64) float64 { return mm * math.Tan(arcmin/60*math.Pi/180) }

// canvas collects items. Its methods are the vocabulary that cards and sheets
// share, so that they look like one family.
type canvas struct{ items []Item }

func (c *canvas) add(items ...Item) { c.items = append(c.items, items...) }

// style is a face at a size, in an ink.
type style struct {
	face fonts.Face
	pt   float64
	ink  Ink
}

// capStyle is a style whose capitals are at least mm high.
func capStyle(face fonts.Face, mm float64) style { return style{face: face, pt: fonts.SizeForCap(mm)} }

func (s style) width(t string) float64 { return s.face.Width(t, s.pt) }
func (s style) cap() float64           { return fonts.CapMM(s.pt) }
func (s style) on(i Ink) style         { s.ink = i; return s }
func (s style) in(f fonts.Face) style  { s.face = f; return s }
func (s style) space() float64         { return s.width(" ") }

// text sets t with its left end at x on the baseline y, and returns its right end.
func (c *canvas) text(x, y float64, s style, t string) float64 {
	if t != "" {
		c.add(Text{X: x, Y: y, Face: s.face, Size: s.pt, Ink: s.ink, S: t})
	}
	return x + s.width(t)
}

// textRight sets t with its right end at x.
func (c *canvas) textRight(x, y float64, s style, t string) { c.text(x-s.width(t), y, s, t) }

// textMid sets t centred on x.
func (c *canvas) textMid(x, y float64, s style, t string) { c.text(x-s.width(t)/2, y, s, t) }

// rule draws a level line from x1 to x2.
func (c *canvas) rule(x1, x2, y, weight float64) {
	c.add(Line{X1: x1, Y1: y, X2: x2, Y2: y, Weight: weight})
}

// bar fills a rectangle with black.
func (c *canvas) bar(x, y, w, h float64) { c.add(Box{X: x, Y: y, W: w, H: h, Fill: true}) }

// frame strokes a rectangle, the stroke inside of it.
func (c *canvas) frame(x, y, w, h, weight float64) {
	c.add(Box{X: x + weight/2, Y: y + weight/2, W: w - weight, H: h - weight, Stroke: weight})
}

// squarePlate is plate in outline.
func (c *canvas) squarePlate(x, y float64, s style, t string) {
	w, pad, h := plateSize(s, t)
	c.frame(x, y-s.cap()-(h-s.cap())/2, w, h, 0.5)
	c.text(x+pad, y, s, t)
}

// plate draws a word on a filled plate with square corners, its left edge at x
// and its text on the baseline y, and returns its right edge. On black ground
// the plate is white.
func (c *canvas) plate(x, y float64, s style, t string, onBlack bool) float64 {
	w, pad, h := plateSize(s, t)
	fill, ink := Black, White
	if onBlack {
		fill, ink = White, Black
	}
	c.add(Box{X: x, Y: y - s.cap() - (h-s.cap())/2, W: w, H: h, Fill: true, FillInk: fill})
	c.text(x+pad, y, s.on(ink), t)
	return x + w
}

// ring draws a word inside an open plate with round ends: the counterpart of
// plate that differs in shape, not in colour.
func (c *canvas) ring(x, y float64, s style, t string, onBlack bool) float64 {
	w, pad, h := plateSize(s, t)
	ink := Black
	if onBlack {
		ink = White
	}
	const weight = 0.25
	c.add(Box{X: x + weight/2, Y: y - s.cap() - (h-s.cap())/2 + weight/2, W: w - weight, H: h - weight,
		Radius: (h - weight) / 2, Stroke: weight, StrokeInk: ink})
	c.text(x+pad, y, s.on(ink), t)
	return x + w
}

// plateHeight is the height of a plate in cap heights of its word.
const plateHeight = 1.55

// plateSize is the width, the padding at the sides, and the height of a plate.
func plateSize(s style, t string) (w, pad, h float64) {
	h = s.cap() * plateHeight
	pad = h * 0.42
	return s.width(t) + 2*pad, pad, h
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
