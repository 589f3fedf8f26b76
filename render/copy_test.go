package render_test

import (
	"image"
	"image/color"
	"math"
	"slices"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"slotcard/fonts"
	"slotcard/layout"
	"slotcard/layout/words"
	"slotcard/render"
	"slotcard/render/rendertest"
)

// copied is what a copier set dark makes of a page: its optics blur by sigma mm, and all
// that is darker than a light gray comes out black, with a soft edge.
func copied(img *image.Gray, sigma, dpi, level float64) *image.Gray {
	px := sigma / 25.4 * dpi
	n := int(math.Ceil(3 * px))
	kernel := make([]float64, 2*n+1)
	sum := 0.0
	for i := range kernel {
		kernel[i] = math.Exp(-float64((i-n)*(i-n)) / (2 * px * px))
		sum += kernel[i]
	}
	b := img.Bounds()
	pass := func(in []float64, dx, dy int) []float64 {
		out := make([]float64, len(in))
		for y := range b.Dy() {
			for x := range b.Dx() {
				v := 0.0
				for i, k := range kernel {
					xx, yy := min(max(x+(i-n)*dx, 0), b.Dx()-1), min(max(y+(i-n)*dy, 0), b.Dy()-1)
					v += k * in[yy*b.Dx()+xx]
				}
				out[y*b.Dx()+x] = v / sum
			}
		}
		return out
	}
	v := make([]float64, b.Dx()*b.Dy())
	for y := range b.Dy() {
		for x := range b.Dx() {
			v[y*b.Dx()+x] = float64(img.GrayAt(b.Min.X+x, b.Min.Y+y).Y) / 255
		}
	}
	v = pass(pass(v, 1, 0), 0, 1)
	out := image.NewGray(image.Rect(0, 0, b.Dx(), b.Dy()))
	for i, l := range v {
		l = 1 / (1 + math.Exp(-(l-level)*24))
		out.SetGray(i%b.Dx(), i/b.Dx(), color.Gray{Y: uint8(l * 255)})
	}
	return out
}

// alike is the correlation of two pictures, from -1 to 1; 0 where one is of one tone.
func alike(a, b *image.Gray) float64 {
	r := image.Rect(0, 0, min(a.Bounds().Dx(), b.Bounds().Dx()), min(a.Bounds().Dy(), b.Bounds().Dy()))
	var n, sa, sb, aa, bb, ab float64
	for y := range r.Dy() {
		for x := range r.Dx() {
			va := float64(a.GrayAt(a.Bounds().Min.X+x, a.Bounds().Min.Y+y).Y)
			vb := float64(b.GrayAt(b.Bounds().Min.X+x, b.Bounds().Min.Y+y).Y)
			n, sa, sb, aa, bb, ab = n+1, sa+va, sb+vb, aa+va*va, bb+vb*vb, ab+va*vb
		}
	}
	of := (n*aa - sa*sa) * (n*bb - sb*sb)
	if of <= 0 {
		return 0
	}
	return (n*ab - sa*sb) / math.Sqrt(of)
}

// On a dark copy of a dark copy, position and name of each slot, above all of the own
// one, where to talk, what has priority, what is scanned, and the mark of the exercise
// are each still told from all that could stand in their place. Blur and darkness are of
// an office copier set two steps too dark (from memory).
func TestDarkCopyOfCopy(t *testing.T) {
	const dpi, blur, level = 200, 0.09, 0.68
	all, err := examples()
	require.NoError(t, err)
	for name, e := range all {
		said := &words.English
		marks := []string{said.Priority, said.Scan, said.Exercise, "PERIOD", "SCAM", "TALL", "WALK"}
		var numbers, names []string
		for i := range 16 {
			numbers = append(numbers, strconv.Itoa(i+1))
		}
		for _, g := range e.resolved.Load.Groups {
			for _, c := range g.Channels {
				names = append(names, c.Name)
			}
		}
		for _, d := range e.resolved.Plan.Divisions {
			marks = append(marks, said.Talk+" Div "+d.ID)
		}
		slices.Sort(names)
		names = slices.Compact(names)
		for _, f := range e.deck.Faces[1:2] {
			p := f.Front
			items := p.All()
			img, err := render.Image(&layout.Page{Width: p.Width, Height: p.Height, Items: items}, dpi)
			require.NoError(t, err)
			copy := copied(copied(grey(img), blur, dpi, level), blur, dpi, level)
			read := map[string]bool{}
			for i, item := range items {
				it, ok := item.(layout.Text)
				if !ok {
					continue
				}
				var others []string
				for _, kind := range [][]string{marks, numbers, names} {
					if slices.Contains(kind, it.S) {
						others = kind
					}
				}
				if others == nil {
					continue
				}
				cap := fonts.CapMM(it.Size)
				at := rendertest.Pixels(it.X, it.Y-cap, it.Width(), cap, dpi).Intersect(copy.Bounds())
				seen := copy.SubImage(at).(*image.Gray)
				best, most := "", math.Inf(-1)
				for _, s := range others {
					if len(s) != len(it.S) {
						continue
					}
					one := it
					one.S, one.X, one.Y = s, 0, cap
					w, h := it.Width(), cap
					clean, err := render.Image(&layout.Page{Width: w, Height: h, Items: []layout.Item{
						layout.Box{W: w, H: h, Fill: true, FillInk: groundOf(items[:i], it)}, one}}, dpi)
					require.NoError(t, err)
					if like := alike(seen, grey(clean)); like > most {
						best, most = s, like
					}
				}
				assert.Equal(t, it.S, best, "%s, %s", name, f.Card.Unit.Name)
				read[it.S] = true
			}
			for i, s := range f.Card.List.Slots {
				assert.True(t, read[strconv.Itoa(i+1)] && read[s.Channel.Name], "%s: slot %d", name, i+1)
			}
			assert.True(t, read[said.Exercise] && read[said.Priority], name)
			if d := f.Card.Division; d != nil {
				assert.True(t, read[said.Talk+" Div "+d.ID], name)
			}
		}
	}
}
