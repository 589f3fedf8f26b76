package scan

import (
	"image"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"
	"golang.org/x/image/draw"
)

// Transparent and colored pixels are as bright as the general way makes them.
func TestGreyOfColours(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	n := image.NewNRGBA(image.Rect(0, 0, 40, 30))
	for i := range n.Pix {
		n.Pix[i] = uint8(rng.Uint32())
	}
	m := image.NewRGBA(n.Rect)
	draw.Draw(m, m.Rect, n, image.Point{}, draw.Src)
	want := image.NewGray(n.Rect)
	draw.Draw(want, want.Rect, image.White, image.Point{}, draw.Src)
	draw.Draw(want, want.Rect, m, image.Point{}, draw.Over)
	for _, img := range []image.Image{n, m, n.SubImage(image.Rect(5, 7, 31, 22))} {
		got := grey(img)
		b := img.Bounds()
		require.Equal(t, image.Rect(0, 0, b.Dx(), b.Dy()), got.Rect)
		for y := range b.Dy() {
			for x := range b.Dx() {
				require.InDelta(t, want.GrayAt(b.Min.X+x, b.Min.Y+y).Y, got.GrayAt(x, y).Y, 2, "%T %d,%d", img, x, y)
			}
		}
	}
}
