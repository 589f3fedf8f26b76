package set

import (
	"strings"

	"golang.org/x/image/colornames"
	"slotcard/layout"
)

// Marks drawn as shapes, because no typeface holds them.

// Widths of marks in heights.
const (
	stationsWide = 1.7
	guardWide    = 1.1
)

// Mark is a shape that stands on a baseline like a letter.
type Mark struct {
	wide float64 // width in heights
	Draw func(c *Canvas, x, y, h float64, ink layout.Ink)
}

// Advance is the width of the mark and the room behind it, at a height in mm.
func (m *Mark) Advance(h float64) float64 { return (m.wide + 0.45) * h }

var (
	MarkDirect   = &Mark{stationsWide, drawDirect}
	MarkRepeated = &Mark{stationsWide, drawRepeated}
	MarkTick     = &Mark{1, drawTick}
	MarkGuard    = &Mark{guardWide, drawGuard}
	MarkChanged  = &Mark{1, drawChanged}
	MarkSame     = &Mark{1.15, drawSame}
)

// drawDirect draws two stations and a straight line between them.
func drawDirect(c *Canvas, x, y, h float64, ink layout.Ink) {
	w, r := stationsWide*h, h*0.21
	c.dot(x+r, y-h/2, r, ink)
	c.dot(x+w-r, y-h/2, r, ink)
	c.Add(layout.Line{X1: x + r, Y1: y - h/2, X2: x + w - r, Y2: y - h/2, Weight: h * 0.14, Ink: ink})
}

// drawRepeated draws two stations at the foot of a mountain, and the way over its top.
func drawRepeated(c *Canvas, x, y, h float64, ink layout.Ink) {
	w, r, s := stationsWide*h, h*0.21, h*0.14
	c.dot(x+r, y-r, r, ink)
	c.dot(x+w-r, y-r, r, ink)
	c.Add(layout.Line{X1: x + r, Y1: y - r, X2: x + w/2, Y2: y - h + s, Weight: s, Ink: ink},
		layout.Line{X1: x + w/2, Y1: y - h + s, X2: x + w - r, Y2: y - r, Weight: s, Ink: ink})
	c.Add(layout.Shape{Fill: true, FillInk: ink, Segments: []layout.Segment{
		{Move: true, X: x + w/2 - r*1.5, Y: y - h + r*1.9}, {X: x + w/2, Y: y - h}, {X: x + w/2 + r*1.5, Y: y - h + r*1.9}}})
}

// drawGuard draws an open triangle on its point.
func drawGuard(c *Canvas, x, y, h float64, ink layout.Ink) {
	s := h * 0.2
	w := guardWide * h
	c.Add(layout.Shape{Stroke: s, StrokeInk: ink, Segments: []layout.Segment{
		{Move: true, X: x + s*0.8, Y: y - h + s/2}, {X: x + w - s*0.8, Y: y - h + s/2}, {X: x + w/2, Y: y - s}}})
}

// drawChanged draws a filled diamond.
func drawChanged(c *Canvas, x, y, h float64, ink layout.Ink) {
	r := h / 2
	c.Add(layout.Shape{Fill: true, FillInk: ink, Segments: []layout.Segment{
		{Move: true, X: x + r, Y: y - h}, {X: x + h, Y: y - r}, {X: x + r, Y: y}, {X: x, Y: y - r}}})
}

// drawSame draws two level bars.
func drawSame(c *Canvas, x, y, h float64, ink layout.Ink) {
	for _, at := range []float64{0.32, 0.68} {
		c.Add(layout.Line{X1: x, Y1: y - h*at, X2: x + h, Y2: y - h*at, Weight: h * 0.2, Ink: ink})
	}
}

// CoverInk is the ink of a color by its name, as the web names colors (SVG
// 1.1, kept by golang.org/x/image/colornames). Not ok: nobody knows the name,
// and the cover carries it in words alone.
func CoverInk(colour string) (ink layout.Ink, ok bool) {
	c, ok := colornames.Map[oneWord.Replace(strings.ToLower(colour))]
	return layout.Ink{R: c.R, G: c.G, B: c.B}, ok
}

// oneWord writes a color's name as the web does.
var oneWord = strings.NewReplacer(" ", "", "-", "")

// Swatch is a mark in a color, framed so that it stays where the color
// vanishes: under a red lamp, in a copy. The color's name stands beside it.
func Swatch(colour layout.Ink) *Mark {
	return &Mark{1.6, func(c *Canvas, x, y, h float64, ink layout.Ink) {
		const weight = 0.15
		c.Add(layout.Box{X: x + weight/2, Y: y - h + weight/2, W: 1.6*h - weight, H: h - weight, Fill: true, FillInk: colour, Stroke: weight, StrokeInk: ink})
	}}
}

// drawTick draws an open square to tick.
func drawTick(c *Canvas, x, y, h float64, ink layout.Ink) {
	const weight = 0.2
	c.Add(layout.Box{X: x + weight/2, Y: y - h + weight/2, W: h - weight, H: h - weight, Stroke: weight, StrokeInk: ink})
}

// dot is a filled circle about x, y.
func (c *Canvas) dot(x, y, r float64, ink layout.Ink) {
	const k = 0.5522847498 // control length of a quarter circle
	c.Add(layout.Shape{Fill: true, FillInk: ink, Segments: []layout.Segment{
		{Move: true, X: x + r, Y: y},
		{Curve: true, X1: x + r, Y1: y + k*r, X2: x + k*r, Y2: y + r, X: x, Y: y + r},
		{Curve: true, X1: x - k*r, Y1: y + r, X2: x - r, Y2: y + k*r, X: x - r, Y: y},
		{Curve: true, X1: x - r, Y1: y - k*r, X2: x - k*r, Y2: y - r, X: x, Y: y - r},
		{Curve: true, X1: x + k*r, Y1: y - r, X2: x + r, Y2: y - k*r, X: x + r, Y: y},
	}})
}
