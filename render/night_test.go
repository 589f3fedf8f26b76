package render_test

import (
	"encoding/csv"
	"image"
	"image/color"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"slotcard/layout"
	"slotcard/layout/set"
	"slotcard/render"
	"slotcard/render/rendertest"
)

// red is what a red headlamp shows of a picture: its red channel, in which red,
// orange and yellow ink are as light as paper.
func red(img image.Image) *image.Gray {
	return mapped(img, func(c color.Color) uint8 { r, _, _, _ := c.RGBA(); return uint8(r >> 8) })
}

// grey is what a copier makes of a picture.
func grey(img image.Image) *image.Gray {
	return mapped(img, func(c color.Color) uint8 { return color.GrayModel.Convert(c).(color.Gray).Y })
}

func mapped(img image.Image, of func(color.Color) uint8) *image.Gray {
	b := img.Bounds()
	out := image.NewGray(b)
	for y := b.Min.Y; y < b.Max.Y; y++ {
		for x := b.Min.X; x < b.Max.X; x++ {
			out.SetGray(x, y, color.Gray{Y: of(img.At(x, y))})
		}
	}
	return out
}

// blackOnly drops what bears color.
func blackOnly(items []layout.Item) (kept []layout.Item) {
	grey := func(i layout.Ink) bool { return i.R == i.G && i.G == i.B }
	for _, item := range items {
		if b, ok := item.(layout.Box); ok && b.Fill && !grey(b.FillInk) {
			b.FillInk = layout.White
			item = b
		}
		kept = append(kept, item)
	}
	return kept
}

// Black on white carries everything: under a red lamp and in a grey copy the
// codes are read, and each text looks just as it does where no color is.
func TestNightAndCopy(t *testing.T) {
	all, err := examples()
	require.NoError(t, err)
	const dpi = 320 // at 300 the other decoder rounds the size of one of the symbols to none
	for name, e := range all {
		coloured := 0
		for _, panel := range []*layout.Panel{e.deck.Faces[0].Front, e.deck.Faces[0].Back} {
			page := &layout.Page{Width: panel.Width, Height: panel.Height, Items: panel.All()}
			img, err := render.Image(page, dpi)
			require.NoError(t, err)
			if _, ok := img.(*image.RGBA); ok {
				coloured++
			}
			plain, err := render.Image(&layout.Page{Width: panel.Width, Height: panel.Height, Items: blackOnly(panel.All())}, dpi)
			require.NoError(t, err)
			want := grey(plain)
			for how, seen := range map[string]*image.Gray{"red lamp": red(img), "grey copy": grey(img)} {
				for _, item := range panel.All() {
					switch it := item.(type) {
					case layout.Modules:
						side := float64(it.Symbol.Size) * it.Module
						got, err := rendertest.DecodeQR(seen, rendertest.Pixels(it.X-1.6, it.Y-1.6, side+3.2, side+3.2, dpi))
						require.NoError(t, err, "%s: %s", name, how)
						assert.Equal(t, []string{it.Symbol.Payload}, got)
					case layout.Text:
						at := rendertest.Pixels(it.X, it.Y-it.Size*0.3, it.Width(), it.Size*0.4, dpi).Intersect(seen.Bounds())
						for y := at.Min.Y; y < at.Max.Y; y++ {
							for x := at.Min.X; x < at.Max.X; x++ {
								if d := int(want.GrayAt(x, y).Y) - int(seen.GrayAt(x, y).Y); d < -8 || d > 8 {
									t.Fatalf("%s: %s: %q is touched by color", name, how, it.S)
								}
							}
						}
					}
				}
			}
		}
		assert.Positive(t, coloured, "the load's color is shown on some side")
	}
}

// luminance and contrast by the WCAG formula.
func luminance(i layout.Ink) float64 {
	linear := func(c uint8) float64 {
		v := float64(c) / 255
		if v <= 0.04045 {
			return v / 12.92
		}
		return math.Pow((v+0.055)/1.055, 2.4)
	}
	return 0.2126*linear(i.R) + 0.7152*linear(i.G) + 0.0722*linear(i.B)
}

func contrast(a, b layout.Ink) float64 {
	x, y := luminance(a), luminance(b)
	return (math.Max(x, y) + 0.05) / (math.Min(x, y) + 0.05)
}

// The formula against its worked values (WCAG, testdata/legibility.csv, computed).
func TestContrastFormula(t *testing.T) {
	f, err := os.Open(filepath.Join("..", "testdata", "legibility.csv"))
	require.NoError(t, err)
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	require.NoError(t, err)
	hex := func(s string) layout.Ink {
		v, err := strconv.ParseUint(strings.TrimPrefix(s, "#"), 16, 32)
		require.NoError(t, err)
		return layout.Ink{R: uint8(v >> 16), G: uint8(v >> 8), B: uint8(v)}
	}
	n := 0
	for _, row := range rows {
		words := strings.Fields(row[0])
		if len(words) == 4 && words[0] == "contrast" {
			want, err := strconv.ParseFloat(row[1], 64)
			require.NoError(t, err)
			assert.InDelta(t, want, contrast(hex(words[1]), hex(words[3])), 0.0001, row[0])
			n++
		}
	}
	assert.Greater(t, n, 8)
}

// Every text of the cards stands out from its ground by at least 7 : 1 (WCAG
// AAA).
func TestContrastOfCards(t *testing.T) {
	all, err := examples()
	require.NoError(t, err)
	for _, e := range all {
		for _, f := range e.deck.Faces {
			for _, panel := range []*layout.Panel{f.Front, f.Back} {
				for i, item := range panel.All() {
					if text, ok := item.(layout.Text); ok {
						ground := groundOf(panel.All()[:i], text)
						assert.GreaterOrEqual(t, contrast(text.Ink, ground), 7.0, "%q", text.S)
					}
				}
			}
		}
	}
}

// groundOf is the ink of the last filled box below the middle of a text.
func groundOf(below []layout.Item, text layout.Text) layout.Ink {
	x, y := text.X+text.Width()/2, text.Y-text.Size*0.1
	ground := layout.White
	for _, item := range below {
		if b, ok := item.(layout.Box); ok && b.Fill && x > b.X && x < b.X+b.W && y > b.Y && y < b.Y+b.H {
			ground = b.FillInk
		}
	}
	return ground
}

// No mark can be taken for another, at 1.6 mm in a grey copy of 100 dpi: their
// pictures, laid over each other at their best, differ in a good part of the
// ink of the smaller one.
func TestMarksDiffer(t *testing.T) {
	const h, dpi = 1.6, 100
	marks := marks(h)
	pictures := map[string]*image.Gray{}
	for _, m := range marks {
		img, err := render.Image(m.page, dpi)
		require.NoError(t, err)
		pictures[m.name] = grey(img)
		assert.Greater(t, ink(pictures[m.name]), 3.0, "%s leaves hardly a trace", m.name)
	}
	for i, a := range marks {
		for _, b := range marks[:i] {
			x, y := pictures[a.name], pictures[b.name]
			best := math.Inf(1)
			for dx := -3; dx <= 3; dx++ {
				for dy := -1; dy <= 1; dy++ {
					best = math.Min(best, distance(x, y, dx, dy))
				}
			}
			share := best / math.Min(ink(x), ink(y))
			t.Logf("%-8s %-8s differ by %3.0f %%", a.name, b.name, 100*share)
			assert.Greater(t, share, 0.3, "%s and %s look alike", a.name, b.name)
		}
	}
}

// namedMark is a mark alone on a page.
type namedMark struct {
	name string
	page *layout.Page
}

// marks are all marks that cards and sheets use, h mm high with as much white around.
func marks(h float64) []namedMark {
	var out []namedMark
	show := func(name string, width float64, draw func(c *set.Canvas, x, y float64)) {
		c := &set.Canvas{}
		draw(c, h, 2*h)
		out = append(out, namedMark{name, &layout.Page{Width: 2*h + width, Height: 3 * h, Items: c.Items}})
	}
	for _, m := range []struct {
		name string
		mark *set.Mark
	}{{"direct", set.MarkDirect}, {"repeated", set.MarkRepeated}, {"guard", set.MarkGuard}, {"changed", set.MarkChanged}, {"same", set.MarkSame}, {"tick", set.MarkTick}} {
		show(m.name, m.mark.Advance(h), func(c *set.Canvas, x, y float64) { m.mark.Draw(c, x, y, h, layout.Black) })
	}
	show("talk", 0.8*h, func(c *set.Canvas, x, y float64) { c.Pointer(x, y, h, layout.Black) })
	show("priority", 1.7*h, func(c *set.Canvas, x, y float64) { c.Bar(x, y-h, 1.7*h, h) })
	show("scan", 1.7*h, func(c *set.Canvas, x, y float64) {
		const weight = 0.25
		c.Add(layout.Box{X: x + weight/2, Y: y - h + weight/2, W: 1.7*h - weight, H: h - weight, Radius: (h - weight) / 2, Stroke: weight})
	})
	return out
}

// ink is how many pixels' worth of black a picture holds.
func ink(img *image.Gray) (sum float64) {
	for _, p := range img.Pix {
		sum += float64(255-p) / 255
	}
	return sum
}

// distance is the ink in which a and b, shifted, differ.
func distance(a, b *image.Gray, dx, dy int) (sum float64) {
	r := a.Bounds().Union(b.Bounds()).Inset(-4)
	at := func(img *image.Gray, x, y int) float64 {
		if !(image.Point{X: x, Y: y}).In(img.Bounds()) {
			return 255
		}
		return float64(img.GrayAt(x, y).Y)
	}
	for y := r.Min.Y; y < r.Max.Y; y++ {
		for x := r.Min.X; x < r.Max.X; x++ {
			sum += math.Abs(at(a, x, y)-at(b, x-dx, y-dy)) / 255
		}
	}
	return sum
}
