//go:build unix

package scan_test

import (
	"bytes"
	"image"
	"image/jpeg"
	"image/png"
	"math/rand/v2"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"slotcard/layout"
	"slotcard/render/scan"
)

// BenchmarkLarge reads what is as large, or as full, as it comes: photographs of 12
// megapixels, and pictures that are made to take long.
func BenchmarkLarge(b *testing.B) {
	card := coded(b, list, layout.LevelM, 36)
	// shot is a photograph of 4000 by 3000 pixels, in which a millimeter is so many.
	shot := func(scale float64, on ...lying) []byte {
		c := camera{width: 4000, height: 3000, scale: scale, turn: 20, tilt: 15, blur: 1, noise: 4, shade: 0.3}
		return c.shoot(b, on, rand.New(rand.NewPCG(12, 1)))
	}
	lies := func(x, y float64) lying { return lying{print: card, x: x, y: y} }
	sheet := func(level layout.Level, text string, of func(x, y int) bool) []byte {
		symbol, err := layout.EncodeSymbol(text, level)
		require.NoError(b, err)
		img := image.NewGray(image.Rect(0, 0, 4000, 3000))
		for y := range 3000 {
			for x := range 4000 {
				u, v := x/3%(symbol.Size+8)-4, y/3%(symbol.Size+8)-4
				if u < 0 || v < 0 || u >= symbol.Size || v >= symbol.Size || !of(u, v) && !symbol.Dark(u, v) {
					img.Pix[y*img.Stride+x] = 255
				}
			}
		}
		var file bytes.Buffer
		require.NoError(b, png.Encode(&file, img))
		return file.Bytes()
	}
	noise := func() []byte {
		rng := rand.New(rand.NewPCG(12, 2))
		img := image.NewYCbCr(image.Rect(0, 0, 4000, 3000), image.YCbCrSubsampleRatio420)
		for _, plane := range [][]uint8{img.Y, img.Cb, img.Cr} {
			for i := range plane {
				plane[i] = uint8(rng.Uint32())
			}
		}
		var file bytes.Buffer
		require.NoError(b, jpeg.Encode(&file, img, nil))
		return file.Bytes()
	}
	// A stripe across the data of each: corners, timing and alignment are sound.
	struck := func(x, y int) bool { return x > 10 && y > 10 && (x+y)%3 == 0 }
	long := string(bytes.Repeat([]byte("7 SUP QB SUPPLY 152.33125 -/167.9\n"), 60))
	for name, photo := range map[string][]byte{
		"a card over the whole":  shot(38, lies(0, 0)),
		"a card over a third":    shot(14, lies(0, 0)),
		"a card over a sixth":    shot(7, lies(10, 5)),
		"six cards":              shot(12, lies(-110, -35), lies(0, -35), lies(110, -35), lies(-110, 35), lies(0, 35), lies(110, 35)),
		"no card":                shot(14),
		"color noise":            noise(),
		"symbols that are sound": sheet(layout.LevelM, list, func(int, int) bool { return false }),
		"symbols struck out":     sheet(layout.LevelM, list, struck),
		"large ones struck out":  sheet(layout.LevelM, long, struck),
	} {
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs()
			var seen scan.Seen
			begin := worked(b)
			for b.Loop() {
				var err error
				if seen, err = scan.Picture(b.Context(), photo); err != nil {
					require.ErrorIs(b, err, scan.ErrNoCode)
				}
			}
			b.ReportMetric(float64((worked(b)-begin).Milliseconds())/float64(b.N), "cpu-ms/op")
			b.ReportMetric(float64(len(seen.Codes)), "codes")
		})
	}
}

// worked is how long all processors have worked for this process: that of a machine
// with other work to do, too, is about the same.
func worked(t testing.TB) time.Duration {
	var u syscall.Rusage
	require.NoError(t, syscall.Getrusage(syscall.RUSAGE_SELF, &u))
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}
