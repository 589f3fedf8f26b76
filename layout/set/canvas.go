package set

import (
	"math"

	"slotcard/fonts"
	"slotcard/layout"
)

// How far letters reach beyond their capitals, in cap heights (measured on the
// embedded faces by a test).
const (
	Ascender  = 1.14 // b, d, f above the baseline
	Descender = 0.36 // g, p, Q below it
)

// Leading is the pitch of lines of small print, in cap heights.
const Leading = 1.48

// Canvas collects items. Its methods are the vocabulary that cards and sheets
// share, so that they look like one family.
type Canvas struct {
	Items []layout.Item
	Areas []layout.Area
}

func (c *Canvas) Add(items ...layout.Item) { c.Items = append(c.Items, items...) }

// Area notes what stands in a rectangle: a slot of a list, or 0, and the line of
// the plan's file that says it.
func (c *Canvas) Area(x, y, w, h float64, slot, line int) {
	c.Areas = append(c.Areas, layout.Area{Rect: layout.Rect{X: x, Y: y, W: w, H: h}, Slot: slot, Line: line})
}

// Style is a face at a size, in an ink.
type Style struct {
	pt   float64
	Face fonts.Face
	ink  layout.Ink
}

// CapStyle is a style whose capitals are at least mm high.
func CapStyle(face fonts.Face, mm float64) Style { return Style{Face: face, pt: fonts.SizeForCap(mm)} }

func (s Style) Width(t string) float64 { return s.Face.Width(t, s.pt) }
func (s Style) Cap() float64           { return fonts.CapMM(s.pt) }
func (s Style) On(i layout.Ink) Style  { s.ink = i; return s }
func (s Style) In(f fonts.Face) Style  { s.Face = f; return s }
func (s Style) Space() float64         { return s.Width(" ") }

// Text sets t with its left end at x on the baseline y, and returns its right end.
func (c *Canvas) Text(x, y float64, s Style, t string) float64 {
	if t != "" {
		c.Add(layout.Text{X: x, Y: y, Face: s.Face, Size: s.pt, Ink: s.ink, S: t})
	}
	return x + s.Width(t)
}

// TextRight sets t with its right end at x.
func (c *Canvas) TextRight(x, y float64, s Style, t string) { c.Text(x-s.Width(t), y, s, t) }

// TextMid sets t centered on x.
func (c *Canvas) TextMid(x, y float64, s Style, t string) { c.Text(x-s.Width(t)/2, y, s, t) }

// Rule draws a level line from x1 to x2.
func (c *Canvas) Rule(x1, x2, y, weight float64) {
	c.Add(layout.Line{X1: x1, Y1: y, X2: x2, Y2: y, Weight: weight})
}

// Bar fills a rectangle with black.
func (c *Canvas) Bar(x, y, w, h float64) { c.Add(layout.Box{X: x, Y: y, W: w, H: h, Fill: true}) }

// Frame strokes a rectangle, the stroke inside of it.
func (c *Canvas) Frame(x, y, w, h, weight float64) {
	c.Add(layout.Box{X: x + weight/2, Y: y + weight/2, W: w - weight, H: h - weight, Stroke: weight})
}

// Pill is an open frame with round corners.
func (c *Canvas) Pill(x, y, w, h, radius, weight float64) {
	c.Add(layout.Box{X: x + weight/2, Y: y + weight/2, W: w - weight, H: h - weight, Radius: radius, Stroke: weight})
}

// Rise is how far the ink of t reaches above and below its baseline, mm.
func (s Style) Rise(t string) (up, down float64) { return s.Face.Rise(t, s.pt) }

// outlineWeight is that of the frame of an outlined plate, mm, and outlineAir what
// stays free inside of it, in cap heights.
const (
	outlineWeight = 0.35
	outlineAir    = 0.32
)

// OutlineSize is the width and height of a plate in outline.
func OutlineSize(s Style, t string) (w, h float64) {
	up, down := s.Rise(t)
	in := outlineWeight + outlineAir*s.Cap()
	return s.Width(t) + 2*(in+outlineAir*s.Cap()), outlineRise(s, up) + max(s.Cap()*outlineAir, down+plateAir*s.Cap()) + 2*outlineWeight
}

// outlineRise is how far the white in the frame reaches above the baseline of its word.
func outlineRise(s Style, up float64) float64 {
	return max(s.Cap()*(1+outlineAir), up+plateAir*s.Cap())
}

// Outline draws a word in a frame with square corners, about the height mid.
func (c *Canvas) Outline(x, mid float64, s Style, t string) {
	w, h := OutlineSize(s, t)
	up, _ := s.Rise(t)
	c.Frame(x, mid-h/2, w, h, outlineWeight)
	c.Text(x+(w-s.Width(t))/2, mid-h/2+outlineWeight+outlineRise(s, up), s, t)
}

// Plate draws a word on a filled plate with square corners, its left edge at x
// and its text on the baseline y, and returns its right edge. On black ground
// the plate is white.
func (c *Canvas) Plate(x, y float64, s Style, t string, onBlack bool) float64 {
	w, pad, h := PlateSize(s, t)
	fill, ink := layout.Black, layout.White
	if onBlack {
		fill, ink = layout.White, layout.Black
	}
	c.Add(layout.Box{X: x, Y: y - PlateRise(s, t), W: w, H: h, Fill: true, FillInk: fill})
	c.Text(x+pad, y, s.On(ink), t)
	return x + w
}

// The bars of a barred word and the white between them and the word, in cap heights.
const (
	barWide = 0.75
	barAir  = 0.4
)

// BarredWidth is the width of a barred word.
func BarredWidth(s Style, t string) float64 { return s.Width(t) + 2*(barWide+barAir)*s.Cap() }

// Barred draws a word between two black bars as high as a plate, which stay, and so does
// the word, where a dark copy closes the white letters of a plate. It returns its right edge.
func (c *Canvas) Barred(x, y float64, s Style, t string) float64 {
	_, _, h := PlateSize(s, t)
	w, bar, top := BarredWidth(s, t), barWide*s.Cap(), y-PlateRise(s, t)
	c.Bar(x, top, bar, h)
	c.Bar(x+w-bar, top, bar, h)
	c.Text(x+(barWide+barAir)*s.Cap(), y, s, t)
	return x + w
}

// Barred is a barred word in a line.
func Barred(s Style, t string) Run {
	return Run{Style: s, Wide: BarredWidth(s, t), Drawn: func(c *Canvas, x, y float64) { c.Barred(x, y, s, t) }}
}

// PlateMid is [Canvas.Plate] with the plate about the height mid.
func (c *Canvas) PlateMid(x, mid float64, s Style, t string, onBlack bool) {
	_, _, h := PlateSize(s, t)
	c.Plate(x, mid-h/2+PlateRise(s, t), s, t, onBlack)
}

// ringWeight is that of the frame of a ring, mm.
const ringWeight = 0.25

// Ring draws a word inside an open plate with round ends: the counterpart of
// plate that differs in shape, not in color.
func (c *Canvas) Ring(x, y float64, s Style, t string, onBlack bool) float64 {
	w, _, h := PlateSize(s, t)
	c.ring(layout.Rect{X: x + ringWeight/2, Y: y - PlateRise(s, t) + ringWeight/2, W: w - ringWeight, H: h - ringWeight}, s, t, y, onBlack)
	return x + w
}

// RingMid is a ring about the height mid whose frame stands half outside of the size of
// its plate, so that more white is left inside.
func (c *Canvas) RingMid(x, mid float64, s Style, t string, onBlack bool) {
	w, _, h := PlateSize(s, t)
	c.ring(layout.Rect{X: x, Y: mid - h/2, W: w, H: h}, s, t, mid-h/2+PlateRise(s, t), onBlack)
}

func (c *Canvas) ring(r layout.Rect, s Style, t string, baseline float64, onBlack bool) {
	ink := layout.Black
	if onBlack {
		ink = layout.White
	}
	c.Add(layout.Box{X: r.X, Y: r.Y, W: r.W, H: r.H, Radius: r.H / 2, Stroke: ringWeight, StrokeInk: ink})
	c.Text(r.X+(r.W-s.Width(t))/2, baseline, s.On(ink), t)
}

// PlateHeight is the height of a plate in cap heights of its word, where no accent
// rises above its capitals.
const PlateHeight = 1.55

// plateAir is what stays free between an accent and the edge of its plate, in cap
// heights.
const plateAir = 0.2

// PlateRise is how far a plate reaches above the baseline of its word: over an accent
// on a capital too.
func PlateRise(s Style, t string) float64 {
	up, _ := s.Rise(t)
	return max(s.Cap()*(1+(PlateHeight-1)/2), up+plateAir*s.Cap())
}

// PlateSize is the width, the padding at the sides, and the height of a plate.
func PlateSize(s Style, t string) (w, pad, h float64) {
	_, down := s.Rise(t)
	h = PlateRise(s, t) + max(s.Cap()*(PlateHeight-1)/2, down+plateAir*0.5*s.Cap())
	pad = s.Cap() * PlateHeight * 0.42
	return s.Width(t) + 2*pad, pad, h
}

// Stripes fills a rectangle with slanted bars: the ground of the exercise mark,
// which no other part of the paper looks like.
func (c *Canvas) Stripes(x, y, w, h float64) {
	n := math.Floor((w - h) / h)
	if n < 1 {
		return
	}
	step := (w - h) / (n - 0.5)
	if n == 1 {
		step = w - h
	}
	bar := step / 2
	path := make([]layout.Segment, 0, 5*int(n))
	for i := range int(n) {
		left := x + float64(i)*step
		path = append(path,
			layout.Segment{Move: true, X: left, Y: y + h},
			layout.Segment{X: left + h, Y: y},
			layout.Segment{X: left + h + bar, Y: y},
			layout.Segment{X: left + bar, Y: y + h},
			layout.Segment{X: left, Y: y + h})
	}
	c.Add(layout.Shape{Segments: path, Fill: true})
}

// ExerciseBand draws a word, and a note behind it, between stripes over the
// whole width: the mark of exercise and demonstration data. It stands where
// nothing else is.
func (c *Canvas) ExerciseBand(x, y, w, h float64, word, note string) {
	least := layout.CapAt(500, 16)
	s, _ := Shrink(Style{Face: fonts.Bold}, word, h*0.74, least, w*0.4)
	n, _ := Shrink(Style{Face: fonts.Regular}, note, h*0.42, least, w*0.4)
	tw, gap := s.Width(word), h*0.6
	if note != "" {
		tw += s.Space() + n.Width(note)
	}
	side := (w-tw)/2 - gap
	c.Stripes(x, y, side, h)
	end := c.Text(x+(w-tw)/2, y+(h+s.Cap())/2, s, word)
	c.Text(end+s.Space(), y+(h+s.Cap())/2, n, note)
	c.Stripes(x+w-side, y, side, h)
}

// Pointer draws a filled triangle that points to the right: talk here.
func (c *Canvas) Pointer(x, y, h float64, ink layout.Ink) {
	c.Add(layout.Shape{Fill: true, FillInk: ink, Segments: []layout.Segment{
		{Move: true, X: x, Y: y - h}, {X: x + h*0.8, Y: y - h/2}, {X: x, Y: y}, {X: x, Y: y - h},
	}})
}

// NoteRoom is the height that the note of a booklet takes, mm: the book leaves it
// free, and impose fills it.
func NoteRoom(s Style) float64 { return s.Cap() * (3*Leading + 1) }
