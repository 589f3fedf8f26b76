package layout

// Marks drawn as shapes, because no typeface holds them.

// Widths of marks in heights.
const (
	stationsWide = 1.7
	guardWide    = 1.1
)

// mark is a shape that stands on a baseline like a letter.
type mark struct {
	wide float64 // width in heights
	draw func(c *canvas, x, y, h float64, ink Ink)
}

// advance is the width of the mark and the room behind it, at a height in mm.
func (m *mark) advance(h float64) float64 { return (m.wide + 0.45) * h }

var (
	markDirect   = &mark{stationsWide, drawDirect}
	markRepeated = &mark{stationsWide, drawRepeated}
	markTick     = &mark{1, drawTick}
	markGuard    = &mark{guardWide, drawGuard}
	markChanged  = &mark{1, drawChanged}
	markSame     = &mark{1.15, drawSame}
)

// direct: two stations and a straight line between them.
func drawDirect(c *canvas, x, y, h float64, ink Ink) {
	w, r := stationsWide*h, h*0.21
	c.dot(x+r, y-h/2, r, ink)
	c.dot(x+w-r, y-h/2, r, ink)
	c.add(Line{X1: x + r, Y1: y - h/2, X2: x + w - r, Y2: y - h/2, Weight: h * 0.14, Ink: ink})
}

// repeated: two stations at the foot of a mountain, and the way over its top.
func drawRepeated(c *canvas, x, y, h float64, ink Ink) {
	w, r, s := stationsWide*h, h*0.21, h*0.14
	c.dot(x+r, y-r, r, ink)
	c.dot(x+w-r, y-r, r, ink)
	c.add(Line{X1: x + r, Y1: y - r, X2: x + w/2, Y2: y - h + s, Weight: s, Ink: ink},
		Line{X1: x + w/2, Y1: y - h + s, X2: x + w - r, Y2: y - r, Weight: s, Ink: ink})
	c.add(Shape{Fill: true, FillInk: ink, Segments: []Segment{
		{Move: true, X: x + w/2 - r*1.5, Y: y - h + r*1.9}, {X: x + w/2, Y: y - h}, {X: x + w/2 + r*1.5, Y: y - h + r*1.9}}})
}

// guard: an open triangle on its point.
func drawGuard(c *canvas, x, y, h float64, ink Ink) {
	s := h * 0.2
	w := guardWide * h
	c.add(Shape{Stroke: s, StrokeInk: ink, Segments: []Segment{
		{Move: true, X: x + s*0.8, Y: y - h + s/2}, {X: x + w - s*0.8, Y: y - h + s/2}, {X: x + w/2, Y: y - s}}})
}

// changed: a filled diamond.
func drawChanged(c *canvas, x, y, h float64, ink Ink) {
	r := h / 2
	c.add(Shape{Fill: true, FillInk: ink, Segments: []Segment{
		{Move: true, X: x + r, Y: y - h}, {X: x + h, Y: y - r}, {X: x + r, Y: y}, {X: x, Y: y - r}}})
}

// same: two level bars.
func drawSame(c *canvas, x, y, h float64, ink Ink) {
	for _, at := range []float64{0.32, 0.68} {
		c.add(Line{X1: x, Y1: y - h*at, X2: x + h, Y2: y - h*at, Weight: h * 0.2, Ink: ink})
	}
}

// swatch is a mark in a colour, framed so that it stays where the colour
// vanishes: under a red lamp, in a copy. The colour's name stands beside it.
func swatch(colour Ink) *mark {
	return &mark{1.6, func(c *canvas, x, y, h float64, ink Ink) {
		const weight = 0.15
		c.add(Box{X: x + weight/2, Y: y - h + weight/2, W: 1.6*h - weight, H: h - weight, Fill: true, FillInk: colour, Stroke: weight, StrokeInk: ink})
	}}
}

// tick: an open square to tick.
func drawTick(c *canvas, x, y, h float64, ink Ink) {
	const weight = 0.2
	c.add(Box{X: x + weight/2, Y: y - h + weight/2, W: h - weight, H: h - weight, Stroke: weight, StrokeInk: ink})
}

// dot is a filled circle about x, y.
func (c *canvas) dot(x, y, r float64, ink Ink) {
	const k = 0.5522847498 // control length of a quarter circle
	c.add(Shape{Fill: true, FillInk: ink, Segments: []Segment{
		{Move: true, X: x + r, Y: y},
		{Curve: true, X1: x + r, Y1: y + k*r, X2: x + k*r, Y2: y + r, X: x, Y: y + r},
		{Curve: true, X1: x - k*r, Y1: y + r, X2: x - r, Y2: y + k*r, X: x - r, Y: y},
		{Curve: true, X1: x - r, Y1: y - k*r, X2: x - k*r, Y2: y - r, X: x, Y: y - r},
		{Curve: true, X1: x + k*r, Y1: y - r, X2: x + r, Y2: y - k*r, X: x + r, Y: y},
	}})
}

// NamedPanel is a panel with the name of what it shows.
type NamedPanel struct {
	Name  string
	Panel *Panel
}

// Marks are all marks that cards and sheets use, each alone on a panel, h mm
// high with as much white around: for a legend, or to see that none is taken
// for another.
func Marks(h float64) []NamedPanel {
	var out []NamedPanel
	show := func(name string, wide float64, draw func(c *canvas, x, y float64)) {
		c := &canvas{}
		draw(c, h, 2*h)
		out = append(out, NamedPanel{name, &Panel{Width: 2*h + wide*h, Height: 3 * h, Items: c.items}})
	}
	for _, m := range []struct {
		name string
		mark *mark
	}{{"direct", markDirect}, {"repeated", markRepeated}, {"guard", markGuard}, {"changed", markChanged}, {"same", markSame}, {"tick", markTick}} {
		show(m.name, m.mark.wide, func(c *canvas, x, y float64) { m.mark.draw(c, x, y, h, Black) })
	}
	show("talk", 0.8, func(c *canvas, x, y float64) { c.pointer(x, y, h, Black) })
	show("priority", 1.7, func(c *canvas, x, y float64) { c.bar(x, y-h, 1.7*h, h) })
	show("scan", 1.7, func(c *canvas, x, y float64) {
		const weight = 0.25
		c.add(Box{X: x + weight/2, Y: y - h + weight/2, W: 1.7*h - weight, H: h - weight, Radius: (h - weight) / 2, Stroke: weight})
	})
	return out
}
