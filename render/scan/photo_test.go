package scan_test

import (
	"fmt"
	"math/rand/v2"
	"os"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"slotcard/layout"
	"slotcard/render/rendertest"
	"slotcard/render/scan"
)

// class is photographs with one fault each, at rising strength: the first is what
// anybody takes, of the last hardly any is read by any program.
type class struct {
	name      string
	strengths []float64
	camera    func(strength float64, c camera) camera
	cards     bool // the strength is how many lie on the desk
	// Of the photographs of TestPhotographs: how many codes zbarimg 0.23.92 reads
	// and how many are read here. The second may only be raised.
	bar, ours int
}

var classes = []class{
	{name: "tilt, degrees", strengths: []float64{15, 30, 40, 50, 58, 65},
		camera: func(s float64, c camera) camera { c.tilt = s; return c },
		bar:    4, ours: 5},
	{name: "blur, pixels", strengths: []float64{0.8, 1.1, 1.4, 1.7, 2, 2.4},
		camera: func(s float64, c camera) camera { c.blur = s; return c },
		bar:    2, ours: 4},
	{name: "contrast", strengths: []float64{0.5, 0.3, 0.2, 0.14, 0.1, 0.07},
		camera: func(s float64, c camera) camera { c.contrast, c.noise = s, 1.5; return c },
		bar:    6, ours: 6},
	{name: "dim red light", strengths: []float64{0.6, 0.4, 0.25, 0.15, 0.1, 0.06},
		camera: func(s float64, c camera) camera { c.light, c.noise = [3]float64{s, 0.08 * s, 0.05 * s}, 2; return c },
		bar:    2, ours: 6},
	{name: "shade", strengths: []float64{0.5, 0.7, 0.8, 0.88, 0.93, 0.96},
		camera: func(s float64, c camera) camera { c.shade, c.noise = s, 2; return c },
		bar:    6, ours: 6},
	{name: "fold, degrees", strengths: []float64{10, 25, 40, 55, 70, 85},
		camera: func(s float64, c camera) camera { c.fold = s; return c },
		bar:    4, ours: 6},
	{name: "bow, degrees", strengths: []float64{20, 40, 60, 80, 100, 120},
		camera: func(s float64, c camera) camera { c.bow = s; return c },
		bar:    3, ours: 6},
	{name: "noise, of 255", strengths: []float64{15, 30, 45, 60, 75, 90},
		camera: func(s float64, c camera) camera { c.noise = s; return c },
		bar:    0, ours: 4},
	{name: "dirt, share", strengths: []float64{0.005, 0.01, 0.02, 0.03, 0.04, 0.06},
		camera: func(s float64, c camera) camera { c.dirt = s; return c },
		bar:    5, ours: 5},
	{name: "pixels a module", strengths: []float64{3, 2.5, 2.2, 2, 1.8, 1.6},
		camera: func(s float64, c camera) camera { c.scale, c.blur = s*c.scale/pixelsAModule, 0.3; return c },
		bar:    3, ours: 6},
	{name: "quality of JPEG", strengths: []float64{40, 25, 15, 10, 7, 5},
		camera: func(s float64, c camera) camera { c.quality = int(s); return c },
		bar:    3, ours: 6},
	{name: "cards", strengths: []float64{2, 4, 6, 8, 9, 12}, cards: true,
		camera: func(_ float64, c camera) camera { c.width, c.height, c.scale = 2000, 1500, 5; return c },
		bar:    21, ours: 21},
}

// pixelsAModule is how wide a module is in a photograph without a fault.
const pixelsAModule = 3.3

// shot is a photograph, and the texts of the codes that it shows.
type shot struct {
	strength float64
	photo    []byte
	texts    []string
}

// studio is the cards that are photographed.
func studio(t testing.TB) (cards []*print) {
	t.Helper()
	for i := range 12 {
		text := strings.Replace(list, "/2\n", fmt.Sprintf("/%d\n", i+1), 1)
		cards = append(cards, coded(t, text, layout.LevelM, 36))
	}
	return cards
}

// take takes a photograph of a class: the same for the same strength and number.
func (k class) take(t testing.TB, cards []*print, strength float64, n int) shot {
	rng := rand.New(rand.NewPCG(uint64(strength*1000)+1, uint64(n)))
	module := 36.0 / 77 // mm, of 391 characters at level M
	c := k.camera(strength, camera{width: 800, height: 600, scale: pixelsAModule / module, noise: 3, blur: 0.5, turn: 360 * rng.Float64()})
	s := shot{strength: strength}
	var on []lying
	if k.cards {
		c.turn = 90 * float64(rng.IntN(4))
		across := []int{2: 2, 4: 2, 6: 3, 8: 3, 9: 3, 12: 4}[int(strength)]
		down := (int(strength) + across - 1) / across
		c.scale = min(2000/(float64(across)*108), 1500/(float64(down)*68))
		if c.turn == 90 || c.turn == 270 {
			c.width, c.height = c.height, c.width
		}
		for i := range int(strength) {
			on = append(on, lying{print: cards[i],
				x: (float64(i%across)-float64(across-1)/2)*106 + 3*rng.Float64(), y: (float64(i/across)-float64(down-1)/2)*66 + 3*rng.Float64(),
				turn: 6 * (rng.Float64() - 0.5)})
		}
	} else {
		card := cards[0]
		on = append(on, lying{print: card, x: 24 - card.width/2 + 8*rng.Float64() - 4, y: card.height/2 - 33 + 8*rng.Float64() - 4})
	}
	for _, p := range on {
		s.texts = append(s.texts, p.text)
	}
	s.photo = c.shoot(t, on, rng)
	return s
}

// reading is what comes out of many photographs.
type reading struct {
	codes, of int
	took      []time.Duration
	wrong     []string
}

// add counts the codes that were read in a photograph.
func (r *reading) add(s shot, texts []string) {
	r.of += len(s.texts)
	for _, want := range s.texts {
		if slices.Contains(texts, want) {
			r.codes++
		}
	}
	for _, text := range texts {
		if !slices.Contains(s.texts, text) {
			r.wrong = append(r.wrong, text)
		}
	}
}

func (r *reading) read(t testing.TB, s shot) {
	begin := time.Now()
	codes, err := read(s.photo)
	r.took = append(r.took, time.Since(begin))
	if err != nil {
		assert.ErrorIs(t, err, scan.ErrNoCode)
	}
	var texts []string
	for _, c := range codes {
		texts = append(texts, c.Text)
	}
	r.add(s, texts)
}

// few are the photographs of a class that every run looks at.
func (k class) few(t testing.TB, cards []*print) (all []shot) {
	n := 2
	if k.cards {
		n = 1
	}
	for _, s := range []int{1, 3, 4} {
		for i := range n {
			all = append(all, k.take(t, cards, k.strengths[s], i))
		}
	}
	return all
}

// taken are the photographs of every class, which two tests look at.
var taken struct {
	sync.Once
	of [][]shot
}

// photographs are those that every run looks at, by the number of their class.
func photographs(t testing.TB) [][]shot {
	taken.Do(func() {
		cards := studio(t)
		taken.of = make([][]shot, len(classes))
		each(func(i int) { taken.of[i] = classes[i].few(t, cards) })
	})
	require.NotEmpty(t, taken.of)
	return taken.of
}

// each does something for every class, two at a time.
func each(do func(class int)) {
	var wg sync.WaitGroup
	turns := make(chan struct{}, 2)
	for i := range classes {
		turns <- struct{}{}
		wg.Go(func() {
			defer func() { <-turns }()
			do(i)
		})
	}
	wg.Wait()
}

// What is read in each class is no less than a second reader reads, and nothing else
// than what is there.
func TestPhotographs(t *testing.T) {
	shots, readings := photographs(t), make([]reading, len(classes))
	each(func(i int) {
		for _, s := range shots[i] {
			readings[i].read(t, s)
		}
	})
	ours, bar := 0, 0
	for i, k := range classes {
		r := readings[i]
		t.Logf("%-16s %2d of %2d, zbar %2d", k.name, r.codes, r.of, k.bar)
		assert.Empty(t, r.wrong, "nothing else is read than what is there")
		assert.GreaterOrEqual(t, r.codes, k.ours, "fewer than before: %s", k.name)
		assert.GreaterOrEqual(t, r.codes, k.bar, "behind the second reader: %s", k.name)
		ours, bar = ours+r.codes, bar+k.bar
	}
	assert.Greater(t, ours, bar+10, "in all")
}

// The same photographs by another decoder: what is recorded of it is true.
func TestPhotographsByZbar(t *testing.T) {
	zbar := rendertest.Zbar(t)
	for class, shots := range photographs(t) {
		k := classes[class]
		var r reading
		for i, texts := range zbar.Photographs(t, photosOf(shots)) {
			r.add(shots[i], texts)
		}
		assert.InDelta(t, k.bar, r.codes, 2, "%s: another release may differ a little", k.name)
		t.Logf("%-16s %2d", k.name, r.codes)
	}
}

func photosOf(shots []shot) (photos [][]byte) {
	for _, s := range shots {
		photos = append(photos, s.photo)
	}
	return photos
}

// BenchmarkPhotographs prints the table of all classes, by strength, beside that of
// a second reader where it is asked for.
func BenchmarkPhotographs(b *testing.B) {
	cards := studio(b)
	second := os.Getenv(rendertest.SecondOpinions) != ""
	for b.Loop() {
		var took []time.Duration
		sum, of, bars := 0, 0, 0
		var lines strings.Builder
		for _, k := range classes {
			n := 6
			if k.cards {
				n = 2
			}
			fmt.Fprintf(&lines, "\n%-16s", k.name)
			var all, bar reading
			for _, strength := range k.strengths {
				var shots []shot
				for i := range n {
					shots = append(shots, k.take(b, cards, strength, i))
				}
				var ours, other reading
				for _, s := range shots {
					ours.read(b, s)
				}
				fmt.Fprintf(&lines, "  %5g: %2d", strength, ours.codes)
				if second {
					for i, texts := range rendertest.Zbar(b).Photographs(b, photosOf(shots)) {
						other.add(shots[i], texts)
					}
					fmt.Fprintf(&lines, "(%2d)", other.codes)
				}
				require.Empty(b, ours.wrong)
				all.codes, all.of, all.took = all.codes+ours.codes, all.of+ours.of, append(all.took, ours.took...)
				bar.codes += other.codes
			}
			slices.Sort(all.took)
			fmt.Fprintf(&lines, "   all %3d", all.codes)
			if second {
				fmt.Fprintf(&lines, " (zbar %3d)", bar.codes)
			}
			fmt.Fprintf(&lines, " of %3d, %.2f s", all.of, all.took[len(all.took)/2].Seconds())
			sum, of, bars, took = sum+all.codes, of+all.of, bars+bar.codes, append(took, all.took...)
		}
		slices.Sort(took)
		b.ReportMetric(float64(sum), "codes")
		b.ReportMetric(took[len(took)/2].Seconds(), "median-s")
		b.ReportMetric(took[len(took)-1].Seconds(), "worst-s")
		b.Logf("%s\nall: %d (zbar %d) of %d; median %.2f s, worst %.2f s", lines.String(), sum, bars, of, took[len(took)/2].Seconds(), took[len(took)-1].Seconds())
	}
}
