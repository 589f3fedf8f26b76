package scan_test

import (
	"bytes"
	"image"
	"image/color"
	"image/jpeg"
	"math"
	"math/rand/v2"
	"os"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"slotcard/fonts"
	"slotcard/layout"
	"slotcard/plan"
	"slotcard/render"
)

// Photographs are made here: cards on a desk, seen by a camera that stands askew,
// out of focus, in bad light, and packs what it sees. Seeds are fixed, so every run
// sees the same pictures.

func example(t testing.TB, name string) *plan.Resolved {
	t.Helper()
	p, l, found, err := plan.Read("../../examples/"+name, plan.Options{ReadFile: os.ReadFile})
	require.NoError(t, err)
	require.False(t, found.HasErrors(), "%v", found)
	r, found := plan.Resolve(p, l)
	require.False(t, found.HasErrors(), "%v", found)
	return r
}

// desk is how bright a desk is, of 255, where paper is 255 and ink 0.
const desk = 150

// print is a piece of paper as a printer makes it, at several resolutions.
type print struct {
	width, height float64 // mm
	text          string  // of its code
	levels        []level // the finest first
}

type level struct {
	img   *image.Gray
	perMM float64 // pixels
}

// printed is a panel on white paper.
func printed(t testing.TB, p *layout.Panel, text string) *print {
	t.Helper()
	const perMM = 20
	page := &layout.Page{Width: p.Width, Height: p.Height, Items: []layout.Item{
		layout.Box{W: p.Width, H: p.Height, Fill: true, FillInk: layout.White},
		layout.Placed{Panel: p},
	}}
	img, err := render.Image(page, perMM*25.4)
	require.NoError(t, err)
	grey, ok := img.(*image.Gray)
	require.True(t, ok)
	out := &print{width: p.Width, height: p.Height, text: text}
	for scale := float64(perMM); ; scale /= 2 {
		out.levels = append(out.levels, level{grey, scale})
		if scale < 5 {
			return out
		}
		grey = halved(grey)
	}
}

// halved gives each pixel the mean of four.
func halved(m *image.Gray) *image.Gray {
	out := image.NewGray(image.Rect(0, 0, m.Rect.Dx()/2, m.Rect.Dy()/2))
	for y := range out.Rect.Dy() {
		for x := range out.Rect.Dx() {
			a, b := m.Pix[2*y*m.Stride+2*x:], m.Pix[(2*y+1)*m.Stride+2*x:]
			out.Pix[y*out.Stride+x] = uint8((int(a[0]) + int(a[1]) + int(b[0]) + int(b[1]) + 2) / 4)
		}
	}
	return out
}

// coded is a card of 100 by 60 mm with a symbol of that side, quiet zone not
// counted, and lines of text beside it, as a card's back has.
func coded(t testing.TB, text string, ecc layout.Level, side float64) *print {
	t.Helper()
	symbol, err := layout.EncodeSymbol(text, ecc)
	require.NoError(t, err)
	p := &layout.Panel{Width: side + 64, Height: side + 24}
	p.Items = append(p.Items,
		layout.Box{X: 0.4, Y: 0.4, W: p.Width - 0.8, H: p.Height - 0.8, Stroke: 0.3},
		layout.Box{X: 4, Y: 4, W: p.Width - 8, H: 5, Fill: true},
		layout.Modules{X: p.Width - side - 6, Y: 15, Module: side / float64(symbol.Size), Symbol: symbol})
	for i, line := range slicesOf(text, 20) {
		if y := 15 + 4*float64(i); y < p.Height-4 {
			p.Items = append(p.Items, layout.Text{X: 6, Y: y, Face: fonts.MonoBold, Size: 9, S: line})
		}
	}
	return printed(t, p, text)
}

// slicesOf are pieces of a text, on one line each.
func slicesOf(text string, n int) (out []string) {
	runes := []rune(text)
	for c := range slices.Chunk(runes, n) {
		out = append(out, string(bytes.ReplaceAll([]byte(string(c)), []byte("\n"), []byte(" "))))
	}
	return out
}

// lying is a print on the desk: where its middle is, mm from the desk's, and how it
// is turned.
type lying struct {
	*print
	x, y float64
	turn float64 // degrees
}

// camera is how a photograph is taken. Zero is a good one: from straight above, in
// focus, in good light.
type camera struct {
	width, height int     // pixels
	scale         float64 // pixels for a millimeter in the middle
	turn          float64 // of the camera, degrees
	tilt          float64 // from straight above, degrees, in any direction
	fold          float64 // of the paper through the middle, degrees
	bow           float64 // of the paper around a cylinder, degrees for 100 mm
	blur          float64 // standard deviation, pixels
	noise         float64 // standard deviation, of 255
	shade         float64 // how much less light falls on one corner than on the other
	contrast      float64 // of ink on paper, as a share; 0: all of it
	light         [3]float64
	dirt          float64 // share of the paper under specks
	quality       int     // of JPEG; 0: 85
}

// blot is a speck on the desk, mm.
type blot struct{ x, y, r, shade float64 }

// shoot takes a photograph as JPEG.
func (c camera) shoot(t testing.TB, on []lying, rng *rand.Rand) []byte {
	t.Helper()
	w, h := c.width, c.height
	px := blurred(c.seen(on, rng), w, h, c.blur)
	contrast := c.contrast
	if contrast == 0 {
		contrast = 1
	}
	way := 2 * math.Pi * rng.Float64()
	sx, sy := math.Cos(way), math.Sin(way)
	lit := func(x, y int) float64 {
		u, v := float64(x)/float64(w)-0.5, float64(y)/float64(h)-0.5
		light := 1 - c.shade*(0.5+(u*sx+v*sy)/math.Sqrt2)
		return (128 + contrast*(20+0.85*px[y*w+x]-128)) * light
	}
	grain := func(v float64) uint8 {
		return uint8(math.Round(min(255, max(0, v+c.noise*rng.NormFloat64()))))
	}
	var img image.Image
	if c.light == [3]float64{} {
		out := image.NewGray(image.Rect(0, 0, w, h))
		for y := range h {
			for x := range w {
				out.Pix[y*w+x] = grain(lit(x, y))
			}
		}
		img = out
	} else {
		out := image.NewRGBA(image.Rect(0, 0, w, h))
		for y := range h {
			for x := range w {
				v := lit(x, y)
				out.SetRGBA(x, y, color.RGBA{grain(v * c.light[0]), grain(v * c.light[1]), grain(v * c.light[2]), 255})
			}
		}
		img = out
	}
	quality := c.quality
	if quality == 0 {
		quality = 85
	}
	var b bytes.Buffer
	require.NoError(t, jpeg.Encode(&b, img, &jpeg.Options{Quality: quality}))
	return b.Bytes()
}

// seen is what falls on each pixel: the camera is a pinhole a width of the picture
// and a half above the desk, the paper a sheet that bends in one direction.
func (c camera) seen(on []lying, rng *rand.Rand) []float64 {
	w, h := c.width, c.height
	away := 1.5 * float64(w) / c.scale // mm
	sinT, cosT := math.Sincos(c.tilt * math.Pi / 180)
	sinW, cosW := math.Sincos(2 * math.Pi * rng.Float64())                      // which way it is tilted
	sinR, cosR := math.Sincos((c.turn + 6*(rng.Float64()-0.5)) * math.Pi / 180) // how it is turned
	sinF, cosF := math.Sincos(2 * math.Pi * rng.Float64())                      // across the fold
	rise := math.Tan(c.fold / 2 * math.Pi / 180)                                // of both halves
	radius := math.Inf(1)                                                       // of the cylinder
	if c.bow > 0 {
		radius = 100 / (c.bow * math.Pi / 180)
	}
	blots := c.blots(on, rng)
	// A print is sampled where its pixels are as large as the photograph's.
	chosen := make([]level, len(on))
	for i, p := range on {
		chosen[i] = p.levels[0]
		for _, l := range p.levels {
			if l.perMM >= c.scale*0.9 {
				chosen[i] = l
			}
		}
	}
	px := make([]float64, w*h)
	for y := range h {
		for x := range w {
			u, v := (float64(x)+0.5-float64(w)/2)/c.scale, (float64(y)+0.5-float64(h)/2)/c.scale
			u, v = u*cosR+v*sinR, v*cosR-u*sinR
			// Along the tilt and across it; the camera looks at the middle of the desk.
			a, b := u*cosW+v*sinW, v*cosW-u*sinW
			da, db, dz := a*cosT-away*sinT, b, -away*cosT-a*sinT
			ca, cz := away*sinT, away*cosT
			dx, dy := da*cosW-db*sinW, da*sinW+db*cosW
			cx, cy := ca*cosW, ca*sinW
			light := 1.0
			px[y*w+x] = desk
			if dz >= -1e-6 {
				continue
			}
			k := -cz / dz
			mx, my := cx+k*dx, cy+k*dy
			if c.fold > 0 || c.bow > 0 {
				// Where the ray meets the paper: its height depends on where that is.
				var s float64
				for range 12 {
					s = mx*cosF + my*sinF
					z := -math.Abs(s) * rise
					if c.bow > 0 {
						z = math.Sqrt(max(0, radius*radius-s*s)) - radius
					}
					k = (z - cz) / dz
					mx, my = cx+k*dx, cy+k*dy
				}
				along := s
				if c.bow > 0 {
					if math.Abs(s) > radius*0.98 {
						continue
					}
					along = radius * math.Asin(s/radius)
					light = 0.75 + 0.25*math.Cos(s/radius-0.6)
				} else {
					along = s * math.Sqrt(1+rise*rise)
					light = 0.75 + 0.25*math.Cos(math.Copysign(math.Atan(rise), s)-0.6)
				}
				mx, my = mx+(along-s)*cosF, my+(along-s)*sinF
			}
			for i, p := range on {
				if shade, ok := p.at(chosen[i], mx, my); ok {
					px[y*w+x] = shade * light
				}
			}
			for _, b := range blots[cell(mx, my)] {
				if math.Hypot(mx-b.x, my-b.y) < b.r {
					px[y*w+x] = b.shade * light
				}
			}
		}
	}
	return px
}

// cell is a square centimeter of the desk.
func cell(x, y float64) image.Point {
	return image.Pt(int(math.Floor(x/10)), int(math.Floor(y/10)))
}

// blots are specks of dust and scratches, dark and light, by where they lie. A
// larger share has all those of a smaller one.
func (c camera) blots(on []lying, rng *rand.Rand) map[image.Point][]blot {
	out := map[image.Point][]blot{}
	own := rand.New(rand.NewPCG(rng.Uint64(), 1))
	for _, p := range on {
		for area := 0.0; area < c.dirt*p.width*p.height; {
			b := blot{
				x: p.x + (own.Float64()-0.5)*p.width, y: p.y + (own.Float64()-0.5)*p.height,
				r: 0.15 + 0.85*own.Float64()*own.Float64(), shade: float64(own.IntN(2)) * 230,
			}
			area += math.Pi * b.r * b.r
			for dy := -1.0; dy <= 1; dy++ {
				for dx := -1.0; dx <= 1; dx++ {
					at := cell(b.x+dx*b.r, b.y+dy*b.r)
					if !slices.Contains(out[at], b) {
						out[at] = append(out[at], b)
					}
				}
			}
		}
	}
	return out
}

// at is how bright a print is at a place on the desk.
func (p lying) at(l level, x, y float64) (shade float64, ok bool) {
	x, y = x-p.x, y-p.y
	if p.turn != 0 {
		sin, cos := math.Sincos(p.turn * math.Pi / 180)
		x, y = x*cos+y*sin, y*cos-x*sin
	}
	x, y = (x+p.width/2)*l.perMM-0.5, (y+p.height/2)*l.perMM-0.5
	x0, y0 := math.Floor(x), math.Floor(y)
	i, j := int(x0), int(y0)
	if x < 0 || y < 0 || i+1 >= l.img.Rect.Dx() || j+1 >= l.img.Rect.Dy() {
		return 0, false
	}
	fx, fy := x-x0, y-y0
	a, b := l.img.Pix[j*l.img.Stride+i:], l.img.Pix[(j+1)*l.img.Stride+i:]
	return (float64(a[0])*(1-fx)+float64(a[1])*fx)*(1-fy) + (float64(b[0])*(1-fx)+float64(b[1])*fx)*fy, true
}

// blurred is a Gaussian blur.
func blurred(px []float64, w, h int, sigma float64) []float64 {
	if sigma == 0 {
		return px
	}
	r := int(math.Ceil(3 * sigma))
	kernel := make([]float64, 2*r+1)
	total := 0.0
	for i := range kernel {
		kernel[i] = math.Exp(-float64((i-r)*(i-r)) / (2 * sigma * sigma))
		total += kernel[i]
	}
	pass := func(in []float64, n, step, lines, stride int) []float64 {
		out := make([]float64, len(in))
		for l := range lines {
			for i := range n {
				sum := 0.0
				for k, weight := range kernel {
					sum += weight * in[l*stride+min(n-1, max(0, i+k-r))*step]
				}
				out[l*stride+i*step] = sum / total
			}
		}
		return out
	}
	return pass(pass(px, w, 1, h, w), h, w, w, 1)
}
