package render_test

import (
	"bytes"
	"flag"
	"image"
	"image/color"
	"image/draw"
	"image/png"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"slotcard/layout"
	"slotcard/layout/cards"
	"slotcard/plan"
	"slotcard/plan/plantest"
	"slotcard/render"
)

var update = flag.Bool("update", false, "write the golden picture anew")

// A golden picture of one card in all sizes, with 5 and with 16 slots, both
// sides: what changes in the look of the cards is seen in it. Sizes that do not
// hold 16 slots stay empty. It is small; differences of a rasterizer's rounding
// are allowed.
func TestContactSheet(t *testing.T) {
	path := filepath.Join("..", "examples", "pictures", "contact-sheet.png")
	got := contactSheet(t)
	if *update {
		var b bytes.Buffer
		enc := png.Encoder{CompressionLevel: png.BestCompression}
		require.NoError(t, enc.Encode(&b, sixteen(got)))
		require.NoError(t, os.WriteFile(path, b.Bytes(), 0o644))
		return
	}
	f, err := os.Open(path)
	require.NoError(t, err)
	defer f.Close()
	want, err := png.Decode(f)
	require.NoError(t, err)
	require.Equal(t, want.Bounds(), got.Bounds(), "renew it: go test ./render -run ContactSheet -update")
	differ := 0
	for y := range got.Bounds().Dy() {
		for x := range got.Bounds().Dx() {
			w := color.GrayModel.Convert(want.At(x, y)).(color.Gray).Y
			if d := int(w) - int(got.GrayAt(x, y).Y); d < -40 || d > 40 {
				differ++
			}
		}
	}
	assert.Less(t, differ, 40, "the cards look different: look at them, then renew it: go test ./render -run ContactSheet -update")
}

// contactSheet draws it: a row for each size, 5 slots at the left, 16 at the right.
func contactSheet(t *testing.T) *image.Gray {
	t.Helper()
	const dpi, gap = 60, 8
	sizes := layout.CardSizes()
	var plans []*plan.Resolved
	for _, slots := range []int{5, 16} {
		plans = append(plans, plantest.Make(t, plantest.Shape{Seed: 3, Slots: slots, NameLength: 8, Divisions: 5, Functional: true,
			WordLength: 6, Words: 1, Units: 2, Seats: 1, PerSeat: 1, Also: 1, Exercise: true}))
	}
	px := func(mm float64) int { return int(mm * dpi / 25.4) }
	wide, height := 0, gap
	for _, s := range sizes {
		wide = max(wide, px(s.Width))
		height += px(s.Height) + gap
	}
	sheet := image.NewGray(image.Rect(0, 0, 4*wide+5*gap, height))
	draw.Draw(sheet, sheet.Bounds(), image.NewUniform(color.Gray{Y: 190}), image.Point{}, draw.Src)
	y := gap
	for _, s := range sizes {
		for i, r := range plans {
			d, findings := cards.Deal(r, cards.Options{Size: s})
			if d == nil {
				require.NotEmpty(t, findings)
				continue
			}
			for j, p := range []*layout.Panel{d.Faces[0].Front, d.Faces[0].Back} {
				img, err := render.Image(&layout.Page{Width: p.Width, Height: p.Height, Items: p.All()}, dpi)
				require.NoError(t, err)
				x := gap + (2*i+j)*(wide+gap)
				draw.Draw(sheet, image.Rect(x, y, x+px(s.Width), y+px(s.Height)), grey(img), image.Point{}, draw.Src)
			}
		}
		y += px(s.Height) + gap
	}
	for i, p := range sheet.Pix {
		sheet.Pix[i] = p / 17 * 17 // sixteen greys: half the size
	}
	return sheet
}

// sixteen is a picture of sixteen greys with four bits a pixel.
func sixteen(img *image.Gray) image.Image {
	var greys color.Palette
	for v := range 16 {
		greys = append(greys, color.Gray{Y: uint8(v * 17)})
	}
	out := image.NewPaletted(img.Bounds(), greys)
	draw.Draw(out, img.Bounds(), img, image.Point{}, draw.Src)
	return out
}
