package render

import (
	"fmt"
	"image"
	"image/color"
	"image/png"
	"io"
	"math"

	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"
	"golang.org/x/image/vector"

	"slotcard/fonts"
	"slotcard/layout"
)

// maxPixels bounds a picture: an A2 sheet at 400 dpi is 62 million.
const maxPixels = 200_000_000

// PNG writes a picture of a page for a look on a screen; print the PDF.
// Nothing is written if there is an error.
func PNG(w io.Writer, p *layout.Page, dpi float64) error {
	img, err := Image(p, dpi)
	if err != nil {
		return err
	}
	if m, ok := img.(*image.RGBA); ok {
		img = fewColours(m)
	}
	return (&png.Encoder{CompressionLevel: png.BestSpeed}).Encode(w, img)
}

// fewColours is the picture with a palette, a third of the size, where it holds
// no more colors than one has room for. Each channel is rounded for it, see
// [shade]: antialiasing has more shades than anybody sees.
func fewColours(m *image.RGBA) image.Image {
	index := map[color.RGBA]uint8{}
	var palette color.Palette
	out := image.NewPaletted(m.Rect, nil)
	last, at := color.RGBA{}, uint8(0)
	for i := range out.Pix {
		p := m.Pix[4*i : 4*i+4 : 4*i+4]
		c := color.RGBA{shade(p[0]), shade(p[1]), shade(p[2]), p[3]}
		if c != last || palette == nil {
			var known bool
			if at, known = index[c]; !known {
				if len(palette) == 256 {
					return m
				}
				at = uint8(len(palette))
				index[c] = at
				palette = append(palette, c)
			}
			last = c
		}
		out.Pix[i] = at
	}
	out.Palette = palette
	return out
}

// shade rounds a channel to a multiple of 5: 52 values, black and white among
// them.
func shade(v uint8) uint8 { return uint8((int(v) + 2) / 5 * 5) }

// Image draws a page, on white, with so many pixels an inch: an [image.Gray]
// where all inks are grey, otherwise an [image.RGBA]. QR modules begin and end
// on whole pixels, all else is antialiased.
func Image(p *layout.Page, dpi float64) (image.Image, error) {
	if err := checkPage(p); err != nil {
		return nil, err
	}
	if !finite(dpi) || dpi <= 0 {
		return nil, fmt.Errorf("a picture with %g pixels an inch cannot be drawn", dpi)
	}
	scale := dpi / 25.4
	w, h := math.Max(1, math.Round(p.Width*scale)), math.Max(1, math.Round(p.Height*scale))
	if w*h > maxPixels {
		return nil, fmt.Errorf("a picture of %g by %g mm with %g pixels an inch is larger than %d million pixels: ask for fewer pixels an inch",
			p.Width, p.Height, dpi, maxPixels/1_000_000)
	}
	r := &raster{scale: scale, bounds: image.Rect(0, 0, int(w), int(h))}
	var img image.Image
	if coloured(p.Items) {
		m := image.NewRGBA(r.bounds)
		r.pix, r.stride, r.channels, img = m.Pix, m.Stride, 4, m
	} else {
		m := image.NewGray(r.bounds)
		r.pix, r.stride, r.channels, img = m.Pix, m.Stride, 1, m
	}
	for i := range r.pix {
		r.pix[i] = 0xFF
	}
	r.items(p.Items, affine{a: 1, d: 1})
	return img, nil
}

// colored tells whether any ink is not grey.
func coloured(items []layout.Item) bool {
	hue := func(i layout.Ink) bool { return i.R != i.G || i.G != i.B }
	for _, it := range items {
		switch it := it.(type) {
		case layout.Text:
			if hue(it.Ink) {
				return true
			}
		case layout.Line:
			if hue(it.Ink) {
				return true
			}
		case layout.Box:
			if it.Fill && hue(it.FillInk) || it.Stroke > 0 && hue(it.StrokeInk) {
				return true
			}
		case layout.Shape:
			if it.Fill && hue(it.FillInk) || it.Stroke > 0 && hue(it.StrokeInk) {
				return true
			}
		case layout.Placed:
			if coloured(it.Panel.All()) {
				return true
			}
		}
	}
	return false
}

// raster draws items into the pixels of a picture.
type raster struct {
	scale    float64         // pixels per mm
	bounds   image.Rectangle // what may be drawn on
	pix      []uint8
	stride   int
	channels int // 1 grey, 4 red green blue alpha

	glyphs glyphs
	z      vector.Rasterizer
	mask   []uint8
	path   []layout.Segment // of the item at work, kept for its memory
}

func (r *raster) items(items []layout.Item, t affine) {
	for _, it := range items {
		r.item(it, t)
	}
}

func (r *raster) item(it layout.Item, t affine) {
	r.path = r.path[:0]
	switch it := it.(type) {
	case layout.Text:
		x := it.X
		for _, c := range it.S {
			g := r.glyphs.of(it.Face, c)
			em := it.Size * fonts.PointMM
			for _, s := range g.outline {
				s.X1, s.Y1 = x+s.X1*em, it.Y+s.Y1*em
				s.X2, s.Y2 = x+s.X2*em, it.Y+s.Y2*em
				s.X, s.Y = x+s.X*em, it.Y+s.Y*em
				r.path = append(r.path, s)
			}
			x += g.advance * em
		}
		r.fill(r.path, t, it.Ink)
	case layout.Line:
		r.line(it)
		r.fill(r.path, t, it.Ink)
	case layout.Box:
		if it.Fill {
			r.fill(outline(it.X, it.Y, it.W, it.H, it.Radius), t, it.FillInk)
		}
		if it.Stroke > 0 {
			r.fill(frame(it), t, it.StrokeInk)
		}
	case layout.Shape:
		if it.Fill {
			r.fill(it.Segments, t, it.FillInk)
		}
		if it.Stroke > 0 {
			r.stroke(it.Segments, it.Stroke/2)
			r.fill(r.path, t, it.StrokeInk)
		}
	case layout.Modules:
		r.modules(it, t)
	case layout.Placed:
		r.placed(it)
	}
}

// placed draws a panel, cut to whole pixels where it is clipped.
func (r *raster) placed(it layout.Placed) {
	t, all := placing(it), r.bounds
	if c := it.Clip; c != (layout.Rect{}) {
		x0, y0 := t.apply(c.X, c.Y)
		x1, y1 := t.apply(c.X+c.W, c.Y+c.H)
		px := func(mm float64) int { return int(math.Round(mm * r.scale)) }
		r.bounds = image.Rect(px(x0), px(y0), px(x1), px(y1)).Intersect(all)
	}
	r.items(it.Panel.All(), t)
	r.bounds = all
}

// line makes the path of a line, or of its dashes.
func (r *raster) line(l layout.Line) {
	length := math.Hypot(l.X2-l.X1, l.Y2-l.Y1)
	if length == 0 {
		return
	}
	dx, dy := (l.X2-l.X1)/length, (l.Y2-l.Y1)/length
	if l.Dash*r.scale < 0.01 { // none, or finer than can be seen
		r.bar(l.X1, l.Y1, l.X2, l.Y2, l.Weight/2)
		return
	}
	for at := 0.0; at < length; at += 2 * l.Dash {
		end := math.Min(at+l.Dash, length)
		r.bar(l.X1+dx*at, l.Y1+dy*at, l.X1+dx*end, l.Y1+dy*end, l.Weight/2)
	}
}

// bar adds a rectangle along a line, half its weight to either side. All
// pieces of a stroke turn the same way, so that where they overlap they add.
func (r *raster) bar(x1, y1, x2, y2, half float64) {
	length := math.Hypot(x2-x1, y2-y1)
	if length == 0 {
		return
	}
	nx, ny := -(y2-y1)/length*half, (x2-x1)/length*half
	r.polygon(x1+nx, y1+ny, x1-nx, y1-ny, x2-nx, y2-ny, x2+nx, y2+ny)
}

// polygon adds a polygon of points x, y, turned to wind like all others.
func (r *raster) polygon(points ...float64) {
	n := len(points) / 2
	area := 0.0
	for i := range n {
		j := (i + 1) % n
		area += points[2*i]*points[2*j+1] - points[2*j]*points[2*i+1]
	}
	for i := range n {
		j := i
		if area < 0 {
			j = n - 1 - i
		}
		r.path = append(r.path, layout.Segment{Move: i == 0, X: points[2*j], Y: points[2*j+1]})
	}
}

// frame is the stroke of a box: its outer edge, and its inner one the other way.
func frame(b layout.Box) []layout.Segment {
	half := b.Stroke / 2
	radius := math.Min(b.Radius, math.Min(b.W, b.H)/2)
	outer := 0.0
	if radius > 0 {
		outer = radius + half
	}
	path := outline(b.X-half, b.Y-half, b.W+b.Stroke, b.H+b.Stroke, outer)
	if b.W <= b.Stroke || b.H <= b.Stroke {
		return path
	}
	return append(path, reversed(outline(b.X+half, b.Y+half, b.W-b.Stroke, b.H-b.Stroke, math.Max(0, radius-half)))...)
}

// reversed is a single closed subpath walked the other way.
func reversed(path []layout.Segment) []layout.Segment {
	n := len(path)
	out := []layout.Segment{{Move: true, X: path[n-1].X, Y: path[n-1].Y}}
	for i := n - 1; i > 0; i-- {
		s := path[i]
		out = append(out, layout.Segment{Curve: s.Curve, X1: s.X2, Y1: s.Y2, X2: s.X1, Y2: s.Y1, X: path[i-1].X, Y: path[i-1].Y})
	}
	return out
}

// stroke adds the stroke of closed subpaths, with mitred corners.
func (r *raster) stroke(segments []layout.Segment, half float64) {
	var points [][2]float64
	finish := func() {
		n := len(points)
		if n > 1 && points[0] == points[n-1] {
			n--
		}
		for i := range n {
			a, b, c := points[i], points[(i+1)%n], points[(i+2)%n]
			r.bar(a[0], a[1], b[0], b[1], half)
			r.corner(a, b, c, half)
		}
		points = points[:0]
	}
	to := func(x, y float64) {
		if n := len(points); n == 0 || points[n-1] != [2]float64{x, y} {
			points = append(points, [2]float64{x, y})
		}
	}
	for _, s := range segments {
		switch {
		case s.Move:
			finish()
			to(s.X, s.Y)
		case s.Curve:
			from := points[len(points)-1]
			steps := 2 + int(math.Sqrt(r.scale*(math.Hypot(s.X1-from[0], s.Y1-from[1])+
				math.Hypot(s.X2-s.X1, s.Y2-s.Y1)+math.Hypot(s.X-s.X2, s.Y-s.Y2)))*2)
			for i := 1; i <= steps; i++ {
				t := float64(i) / float64(steps)
				u := 1 - t
				to(u*u*u*from[0]+3*u*u*t*s.X1+3*u*t*t*s.X2+t*t*t*s.X,
					u*u*u*from[1]+3*u*u*t*s.Y1+3*u*t*t*s.Y2+t*t*t*s.Y)
			}
		default:
			to(s.X, s.Y)
		}
	}
	finish()
}

// corner fills the outer wedge between the strokes a-b and b-c.
func (r *raster) corner(a, b, c [2]float64, half float64) {
	l1, l2 := math.Hypot(b[0]-a[0], b[1]-a[1]), math.Hypot(c[0]-b[0], c[1]-b[1])
	if l1 == 0 || l2 == 0 {
		return
	}
	ux, uy, vx, vy := (b[0]-a[0])/l1, (b[1]-a[1])/l1, (c[0]-b[0])/l2, (c[1]-b[1])/l2
	cross, dot := ux*vy-uy*vx, ux*vx+uy*vy
	if math.Abs(cross) < 1e-9 {
		return
	}
	side := half // the outer side is to the left of a turn to the right
	if cross > 0 {
		side = -half
	}
	px, py := b[0]-uy*side, b[1]+ux*side
	qx, qy := b[0]-vy*side, b[1]+vx*side
	// Miter length over weight is 1/sin of half the angle between the strokes.
	if cosHalf := math.Sqrt((1 + dot) / 2); cosHalf > 1.0/miterLimit {
		mx, my := -(uy + vy), ux+vx
		l := math.Hypot(mx, my)
		reach := side / cosHalf
		r.polygon(b[0], b[1], px, py, b[0]+mx/l*reach, b[1]+my/l*reach, qx, qy)
	} else {
		r.polygon(b[0], b[1], px, py, qx, qy)
	}
}

// fill fills closed subpaths, given in millimeters before the transform.
func (r *raster) fill(path []layout.Segment, t affine, ink layout.Ink) {
	if len(path) == 0 {
		return
	}
	x0, y0, x1, y1 := math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)
	px := func(x, y float64) (float64, float64) {
		x, y = t.apply(x, y)
		return x * r.scale, y * r.scale
	}
	take := func(x, y float64) {
		x, y = px(x, y)
		x0, x1 = math.Min(x0, x), math.Max(x1, x)
		y0, y1 = math.Min(y0, y), math.Max(y1, y)
	}
	for _, s := range path {
		take(s.X, s.Y)
		if s.Curve {
			take(s.X1, s.Y1)
			take(s.X2, s.Y2)
		}
	}
	box := image.Rect(int(math.Floor(x0)), int(math.Floor(y0)), int(math.Ceil(x1)), int(math.Ceil(y1))).Intersect(r.bounds)
	if box.Empty() {
		return
	}
	ox, oy := float64(box.Min.X), float64(box.Min.Y)
	at := func(x, y float64) (float32, float32) {
		x, y = px(x, y)
		return float32(x - ox), float32(y - oy)
	}
	r.z.Reset(box.Dx(), box.Dy())
	for i, s := range path {
		x, y := at(s.X, s.Y)
		switch {
		case s.Move:
			if i > 0 {
				r.z.ClosePath()
			}
			r.z.MoveTo(x, y)
		case s.Curve:
			bx, by := at(s.X1, s.Y1)
			cx, cy := at(s.X2, s.Y2)
			r.z.CubeTo(bx, by, cx, cy, x, y)
		default:
			r.z.LineTo(x, y)
		}
	}
	r.z.ClosePath()
	n := box.Dx() * box.Dy()
	if cap(r.mask) < n {
		r.mask = make([]uint8, n)
	}
	m := &image.Alpha{Pix: r.mask[:n], Stride: box.Dx(), Rect: image.Rect(0, 0, box.Dx(), box.Dy())}
	clear(m.Pix)
	r.z.Draw(m, m.Rect, image.Opaque, image.Point{})
	r.blend(m, box, ink)
}

// blend lays an ink over the picture as far as the mask lets it through.
func (r *raster) blend(m *image.Alpha, box image.Rectangle, ink layout.Ink) {
	c := color.RGBA{ink.R, ink.G, ink.B, 0xFF}
	over := func(dst *uint8, v, a uint8) {
		*dst = uint8((uint32(*dst)*(255-uint32(a)) + uint32(v)*uint32(a) + 127) / 255)
	}
	for y := range box.Dy() {
		i := (box.Min.Y+y)*r.stride + box.Min.X*r.channels
		for _, a := range m.Pix[y*m.Stride : y*m.Stride+box.Dx()] {
			if a != 0 {
				over(&r.pix[i], c.R, a)
				if r.channels == 4 {
					over(&r.pix[i+1], c.G, a)
					over(&r.pix[i+2], c.B, a)
				}
			}
			i += r.channels
		}
	}
}

// modules sets whole pixels: a soft edge between modules costs reads.
func (r *raster) modules(it layout.Modules, t affine) {
	px := func(u, v int) image.Point {
		x, y := t.apply(it.X+float64(u)*it.Module, it.Y+float64(v)*it.Module)
		return image.Pt(int(math.Round(x*r.scale)), int(math.Round(y*r.scale)))
	}
	for y := range it.Symbol.Size {
		for x := 0; x < it.Symbol.Size; x++ {
			start := x
			for it.Symbol.Dark(x, y) {
				x++
			}
			if x == start {
				continue
			}
			box := image.Rectangle{px(start, y), px(x, y+1)}.Canon().Intersect(r.bounds)
			for yy := box.Min.Y; yy < box.Max.Y; yy++ {
				for xx := box.Min.X; xx < box.Max.X; xx++ {
					i := yy*r.stride + xx*r.channels
					for c := range min(r.channels, 3) {
						r.pix[i+c] = 0
					}
				}
			}
		}
	}
}

// glyph is the outline and advance of a character, in parts of the em.
type glyph struct {
	outline []layout.Segment
	advance float64
}

type glyphKey struct {
	face fonts.Face
	r    rune
}

// glyphs keeps the outlines that a picture has used.
type glyphs struct {
	buf   sfnt.Buffer
	faces map[fonts.Face]*sfnt.Font
	made  map[glyphKey]glyph
}

// of is the glyph of a character that the face has.
func (g *glyphs) of(face fonts.Face, r rune) glyph {
	if made, ok := g.made[glyphKey{face, r}]; ok {
		return made
	}
	if g.made == nil {
		g.made, g.faces = map[glyphKey]glyph{}, map[fonts.Face]*sfnt.Font{}
	}
	f := g.faces[face]
	if f == nil {
		var err error
		if f, err = sfnt.Parse(face.Data()); err != nil {
			panic("render: embedded face " + face.String() + ": " + err.Error()) // our own file
		}
		g.faces[face] = f
	}
	made := glyph{advance: face.Width(string(r), 1) / fonts.PointMM}
	em := float64(f.UnitsPerEm())
	if index, err := f.GlyphIndex(&g.buf, r); err == nil {
		if segments, err := f.LoadGlyph(&g.buf, index, fixed.I(int(em)), nil); err == nil {
			made.outline = cubics(segments, em*64)
		}
	}
	g.made[glyphKey{face, r}] = made
	return made
}

// cubics turns a glyph's segments, in units of 1/em, into ours.
func cubics(segments sfnt.Segments, em float64) []layout.Segment {
	var out []layout.Segment
	var x, y float64
	for _, s := range segments {
		p := func(i int) (float64, float64) { return float64(s.Args[i].X) / em, float64(s.Args[i].Y) / em }
		var to layout.Segment
		switch s.Op {
		case sfnt.SegmentOpMoveTo:
			to.Move = true
			to.X, to.Y = p(0)
		case sfnt.SegmentOpLineTo:
			to.X, to.Y = p(0)
		case sfnt.SegmentOpQuadTo:
			qx, qy := p(0)
			to.Curve = true
			to.X, to.Y = p(1)
			to.X1, to.Y1 = x+(qx-x)*2/3, y+(qy-y)*2/3
			to.X2, to.Y2 = to.X+(qx-to.X)*2/3, to.Y+(qy-to.Y)*2/3
		case sfnt.SegmentOpCubeTo:
			to.Curve = true
			to.X1, to.Y1 = p(0)
			to.X2, to.Y2 = p(1)
			to.X, to.Y = p(2)
		}
		out = append(out, to)
		x, y = to.X, to.Y
	}
	return out
}
