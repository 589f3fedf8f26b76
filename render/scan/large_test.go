//go:build unix

package scan_test

import (
	"bytes"
	"fmt"
	"image"
	"image/jpeg"
	"image/png"
	"math/rand/v2"
	"os"
	"runtime/debug"
	"strings"
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
		"41 megapixels":          twice(b, shot(14, lies(0, 0))),
		"color noise":            noise(),
		"symbols that are sound": sheet(layout.LevelM, list, func(int, int) bool { return false }),
		"symbols struck out":     sheet(layout.LevelM, list, struck),
		"large ones struck out":  sheet(layout.LevelM, long, struck),
	} {
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs()
			var seen scan.Seen
			least := resident(b)
			begin := worked(b)
			for b.Loop() {
				var err error
				if seen, err = scan.Picture(b.Context(), photo); err != nil {
					require.ErrorIs(b, err, scan.ErrNoCode)
				}
			}
			b.ReportMetric(float64((worked(b)-begin).Milliseconds())/float64(b.N), "cpu-ms/op")
			b.ReportMetric(float64(len(seen.Codes)), "codes")
			if least != nil {
				b.ReportMetric(least(), "peak-MB")
			}
		})
	}
}

// twice is a photograph with as many pixels in place of each in both directions as make
// about 41 million of 12.
func twice(t testing.TB, photo []byte) []byte {
	m, err := jpeg.Decode(bytes.NewReader(photo))
	require.NoError(t, err)
	gray, ok := m.(*image.Gray)
	require.True(t, ok)
	const w, h = 7400, 5550
	img := image.NewYCbCr(image.Rect(0, 0, w, h), image.YCbCrSubsampleRatio420)
	for y := range h {
		row := gray.Pix[y*gray.Rect.Dy()/h*gray.Stride:]
		for x := range w {
			img.Y[y*img.YStride+x] = row[x*gray.Rect.Dx()/w]
		}
	}
	for i := range img.Cb {
		img.Cb[i], img.Cr[i] = 128, 128
	}
	var file bytes.Buffer
	require.NoError(t, jpeg.Encode(&file, img, nil))
	return file.Bytes()
}

// resident begins to measure the most memory that the process has at a time, and returns
// what tells it, in MB beyond what it has now; nil where the system does not say.
func resident(t testing.TB) func() float64 {
	field := func(name string) float64 {
		status, err := os.ReadFile("/proc/self/status")
		require.NoError(t, err)
		_, value, ok := strings.Cut(string(status), "\n"+name+":")
		require.True(t, ok)
		var kB float64
		_, err = fmt.Sscan(value, &kB)
		require.NoError(t, err)
		return kB / 1024
	}
	debug.FreeOSMemory()
	// 5 sets the peak back to what it is now (proc(5)).
	if os.WriteFile("/proc/self/clear_refs", []byte("5"), 0) != nil {
		return nil
	}
	now := field("VmRSS")
	return func() float64 { return field("VmHWM") - now }
}

// worked is how long all processors have worked for this process: that of a machine
// with other work to do, too, is about the same.
func worked(t testing.TB) time.Duration {
	var u syscall.Rusage
	require.NoError(t, syscall.Getrusage(syscall.RUSAGE_SELF, &u))
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}
