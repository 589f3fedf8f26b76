package render_test

import (
	"bytes"
	"fmt"
	"image"
	"image/png"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"slotcard/layout"
	"slotcard/render/rendertest"
	"slotcard/render/scan"
)

// pocketPhoto is a photograph of a square symbol, side mm wide, taken at a number
// of pixels a millimeter: turned, out of focus, noisy, and with specks of dirt over
// a share of it. The same seed puts the same specks in the same place.
func pocketPhoto(s *layout.Symbol, side, perMM, dirt float64, seed uint64) *image.Gray {
	rng := rand.New(rand.NewPCG(seed, 15))
	type speck struct{ x, y, r, grey float64 }
	var specks []speck
	for covered := 0.0; covered < dirt*side*side; {
		d := speck{side * rng.Float64(), side * rng.Float64(), 0.3 + 1.2*rng.Float64(), 60 + 120*rng.Float64()}
		specks, covered = append(specks, d), covered+math.Pi*d.r*d.r
	}
	sin, cos := math.Sincos(2 * math.Pi * rng.Float64())
	blur, noise, tilt := 0.35+0.55*rng.Float64(), 2+8*rng.Float64(), 0.15*rng.Float64()
	n := int(side * 1.7 * perMM)
	light := func(x, y float64) float64 { // mm from the symbol's corner
		for _, d := range specks {
			if (x-d.x)*(x-d.x)+(y-d.y)*(y-d.y) < d.r*d.r {
				return d.grey
			}
		}
		module := side / float64(s.Size)
		if s.Dark(int(math.Floor(x/module)), int(math.Floor(y/module))) {
			return 35
		}
		return 220
	}
	px := make([]float64, n*n)
	for y := range n {
		for x := range n {
			sum := 0.0
			for sub := range 4 {
				u := (float64(x)+0.25+0.5*float64(sub%2))/perMM - side*0.85
				v := (float64(y)+0.25+0.5*float64(sub/2))/perMM - side*0.85
				far := 1 - tilt*u/side
				u, v = u/far, v/far
				sum += light(u*cos+v*sin+side/2, v*cos-u*sin+side/2)
			}
			px[y*n+x] = sum / 4
		}
	}
	out := image.NewGray(image.Rect(0, 0, n, n))
	reach := int(math.Ceil(2.5 * blur))
	smooth := func(at func(i, k int) float64, i int) float64 {
		sum, all := 0.0, 0.0
		for k := -reach; k <= reach; k++ {
			w := math.Exp(-float64(k*k) / (2 * blur * blur))
			sum, all = sum+w*at(i, k), all+w
		}
		return sum / all
	}
	inside := func(i int) int { return min(n-1, max(0, i)) }
	rows := make([]float64, n*n)
	for i := range px {
		rows[i] = smooth(func(i, k int) float64 { return px[i/n*n+inside(i%n+k)] }, i)
	}
	for i := range px {
		v := smooth(func(i, k int) float64 { return rows[inside(i/n+k)*n+i%n] }, i)
		out.Pix[i] = uint8(min(255, max(0, v+noise*rng.NormFloat64())))
	}
	return out
}

// Which level of error correction reads best in a square of given size: the same
// photographs of the same list at every level, by the package's own reader and by
// another decoder (github.com/makiuchi-d/gozxing). It decides what
// [layout.SymbolForms] does.
//
//	go test ./render -run '^$' -bench SymbolLevel -benchtime 1x
func BenchmarkSymbolLevel(b *testing.B) {
	var list strings.Builder
	list.WriteString("SLOTS 1 THIMBLE GULCH/2 EXERCISE\n2027-08-14T06:00/2027-08-14T18:00 LOAD 2027\n")
	for i := 1; list.Len() < 386; i++ {
		fmt.Fprintf(&list, "%d TAC:%c QB TAC %d 154.%04d -/156.7\n", i, 'A'+i, i, 1000+i*75)
	}
	text := (list.String() + strings.Repeat("X", 8))[:391]
	for _, c := range []struct{ side, from, to, dirt float64 }{
		{36, 6, 11, 0.08}, {45, 5, 9, 0.08}, {45, 9, 11, 0.15}, {58, 4, 7, 0.08}, {58, 7, 9, 0.2},
	} {
		for _, level := range []layout.Level{layout.LevelM, layout.LevelQ, layout.LevelH} {
			symbol, err := layout.EncodeSymbol(text, level)
			require.NoError(b, err)
			b.Run(fmt.Sprintf("%g mm, %g to %g px a mm, dirt to %g %%/%s", c.side, c.from, c.to, c.dirt*100, level), func(b *testing.B) {
				const photos = 24
				own, other := 0, 0
				for range b.N {
					own, other = 0, 0
					for i := range uint64(photos) {
						share := float64(i) / (photos - 1)
						img := pocketPhoto(symbol, c.side, c.from+(c.to-c.from)*float64(i*7%photos)/(photos-1), c.dirt*share, i)
						var photo bytes.Buffer
						require.NoError(b, png.Encode(&photo, img))
						seen, _ := scan.Picture(b.Context(), photo.Bytes())
						for _, code := range seen.Codes {
							if code.Text == text {
								own++
							}
						}
						if read, err := rendertest.DecodeQR(img, img.Rect); err == nil && read[0] == text {
							other++
						}
					}
				}
				b.ReportMetric(c.side/float64(symbol.Size), "mm/module")
				b.ReportMetric(float64(own), "read-of-24")
				b.ReportMetric(float64(other), "other-of-24")
				b.ReportMetric(0, "ns/op")
			})
		}
	}
}
