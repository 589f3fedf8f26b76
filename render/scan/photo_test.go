package scan_test

import (
	"bytes"
	"fmt"
	"image"
	"image/jpeg"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"slotcard/layout"
	"slotcard/layout/cards"
	"slotcard/plan"
	"slotcard/render"
	"slotcard/render/rendertest"
	"slotcard/render/scan"
)

// Photographs are made here: a card that layout dealt and render drew, seen by
// a camera that stands askew, out of focus, in bad light, and packs what it
// sees. Seeds are fixed, so every run sees the same pictures.

func example(t testing.TB, name string) *plan.Resolved {
	t.Helper()
	p, l, found, err := plan.Read("../../examples/"+name, plan.Options{ReadFile: os.ReadFile})
	require.NoError(t, err)
	require.False(t, found.HasErrors(), "%v", found)
	r, found := plan.Resolve(p, l)
	require.False(t, found.HasErrors(), "%v", found)
	return r
}

// desk is a card's back on a desk of 150 by 110 mm, and what its code holds.
func desk(t testing.TB, size string) (*image.Gray, string) {
	t.Helper()
	r := example(t, "thimble-gulch/plan.toml")
	s, ok := layout.CardSize(size)
	require.True(t, ok)
	deck, found := cards.Deal(r, cards.Options{Size: s})
	require.Empty(t, found)
	back := deck.Faces[0].Back
	page := &layout.Page{Width: 150, Height: 110, Items: []layout.Item{
		layout.Box{W: 150, H: 110, Fill: true, FillInk: layout.Ink{R: 150, G: 150, B: 150}},
		layout.Box{X: (150 - back.Width) / 2, Y: (110 - back.Height) / 2, W: back.Width, H: back.Height, Fill: true, FillInk: layout.White},
		layout.Placed{X: (150 - back.Width) / 2, Y: (110 - back.Height) / 2, Panel: back},
	}}
	img, err := render.Image(page, 400)
	require.NoError(t, err)
	return img.(*image.Gray), deck.Faces[0].Card.List.Text
}

// camera is how a photograph is taken.
type camera struct {
	width   int     // pixels of the photograph; its height is three quarters of that
	turn    float64 // degrees
	tilt    float64 // how much shorter the far edge is than the near one, as a share
	blur    float64 // standard deviation, pixels
	noise   float64 // standard deviation, of 255
	shade   float64 // how much less light falls on one corner than on the other
	quality int     // of JPEG; 0: 85
}

// shoot takes a photograph as JPEG.
func (c camera) shoot(t testing.TB, scene *image.Gray, rng *rand.Rand) []byte {
	t.Helper()
	w, h := c.width, c.width*3/4
	sw, sh := float64(scene.Rect.Dx()), float64(scene.Rect.Dy())
	turn := (c.turn + 6*(rng.Float64()-0.5)) * math.Pi / 180
	sin, cos := math.Sincos(turn)
	way := 2 * math.Pi * rng.Float64() // where the far edge is
	tx, ty := math.Cos(way), math.Sin(way)
	px := make([]float64, w*h)
	for y := range h {
		for x := range w {
			// From -1 to 1 across the width, then to the plane of the desk.
			u, v := 2*float64(x)/float64(w)-1, (2*float64(y)-float64(h))/float64(w)
			far := 1 - c.tilt/2*(u*tx+v*ty)
			u, v = u/far, v/far
			u, v = u*cos+v*sin, v*cos-u*sin
			px[y*w+x] = sample(scene, (u+1)*sw/2, v*sw/2+sh/2)
		}
	}
	px = blurred(px, w, h, c.blur)
	out := image.NewGray(image.Rect(0, 0, w, h))
	sx, sy := math.Cos(way+1), math.Sin(way+1)
	for y := range h {
		for x := range w {
			u, v := float64(x)/float64(w)-0.5, float64(y)/float64(h)-0.5
			light := 1 - c.shade*(0.5+(u*sx+v*sy)/math.Sqrt2)
			out.Pix[y*w+x] = uint8(math.Round(min(255, max(0, (20+0.85*px[y*w+x])*light+c.noise*rng.NormFloat64()))))
		}
	}
	quality := c.quality
	if quality == 0 {
		quality = 85
	}
	var b bytes.Buffer
	require.NoError(t, jpeg.Encode(&b, out, &jpeg.Options{Quality: quality}))
	return b.Bytes()
}

// sample is the brightness of a scene between its pixels; beyond it is desk.
func sample(m *image.Gray, x, y float64) float64 {
	x0, y0 := math.Floor(x-0.5), math.Floor(y-0.5)
	fx, fy := x-0.5-x0, y-0.5-y0
	at := func(x, y int) float64 {
		if !image.Pt(x, y).In(m.Rect) {
			return 150
		}
		return float64(m.Pix[y*m.Stride+x])
	}
	i, j := int(x0), int(y0)
	return (at(i, j)*(1-fx)+at(i+1, j)*fx)*(1-fy) + (at(i, j+1)*(1-fx)+at(i+1, j+1)*fx)*fy
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

// shots is how many photographs of each kind are taken.
const shots = 4

// kinds of photographs, and how many of them are to be read: what was read when
// this was written. A number may only be raised. The card's modules are 0.4 mm:
// at 1200 pixels they are 3.2 pixels wide.
var kinds = []struct {
	name         string
	camera       camera
	gozxing, bar int // of shots: by this package, by zbarimg
}{
	{"straight", camera{width: 1200}, 4, 4},
	{"turned by 30 degrees", camera{width: 1200, turn: 30}, 4, 4},
	{"turned by a quarter", camera{width: 1200, turn: 90}, 4, 4},
	{"upside down", camera{width: 1200, turn: 180}, 4, 4},
	{"at an angle", camera{width: 1200, tilt: 0.25}, 4, 4},
	{"at a steep angle", camera{width: 1200, tilt: 0.5}, 4, 3},
	{"out of focus", camera{width: 1200, blur: 1.2}, 2, 2},
	{"in the dark", camera{width: 1200, noise: 25}, 4, 4},
	{"half in the shade", camera{width: 1200, shade: 0.8}, 4, 4},
	{"packed hard", camera{width: 1200, quality: 15}, 4, 4},
	{"from afar", camera{width: 800}, 3, 4},
	{"a large photograph", camera{width: 2000, turn: 15, tilt: 0.2, blur: 1.7, noise: 12, shade: 0.5}, 4, 0},
	{"by a tired hand", camera{width: 1400, turn: -20, tilt: 0.25, blur: 1, noise: 10, shade: 0.6, quality: 50}, 4, 4},
}

// photographs are all of a kind.
func photographs(t testing.TB, scene *image.Gray, kind int) [][]byte {
	out := make([][]byte, shots)
	for i := range out {
		out[i] = kinds[kind].camera.shoot(t, scene, rand.New(rand.NewPCG(uint64(kind), uint64(i))))
	}
	return out
}

// table takes, for each kind, how many of its photographs are read as the text,
// and holds them to what is recorded.
func table(t *testing.T, reader string, recorded func(kind int) int, read func(photo []byte) []string) {
	scene, want := desk(t, "a7")
	got := make([]int, len(kinds))
	var wrong []string
	var mu sync.Mutex
	var wg sync.WaitGroup
	turns := make(chan struct{}, 2)
	for kind := range kinds {
		turns <- struct{}{}
		wg.Go(func() {
			defer func() { <-turns }()
			for _, photo := range photographs(t, scene, kind) {
				texts := read(photo)
				mu.Lock()
				for _, text := range texts {
					if text != want {
						wrong = append(wrong, text)
					}
				}
				if len(texts) > 0 && texts[0] == want {
					got[kind]++
				}
				mu.Unlock()
			}
		})
	}
	wg.Wait()
	assert.Empty(t, wrong, "nothing else is read than what is there")
	lines := []string{"photographs read by " + reader + ":"}
	sum, of := 0, 0
	for i, k := range kinds {
		lines = append(lines, fmt.Sprintf("  %-22s %d of %d", k.name, got[i], shots))
		assert.GreaterOrEqual(t, got[i], recorded(i), k.name)
		sum, of = sum+got[i], of+shots
	}
	t.Log(strings.Join(append(lines, fmt.Sprintf("  %-22s %d of %d", "all", sum, of)), "\n"))
}

func TestPhotographs(t *testing.T) {
	table(t, "scan", func(kind int) int { return kinds[kind].gozxing }, func(photo []byte) (texts []string) {
		codes, more, err := scan.PictureOfMany(photo)
		if err != nil {
			assert.ErrorIs(t, err, scan.ErrNoCode)
		}
		assert.False(t, more, "a photograph of one card claims to show more")
		for _, c := range codes {
			texts = append(texts, c.Text)
		}
		return texts
	})
}

// The same photographs by another decoder, so that a poor share is told to be
// the photograph's fault or ours.
func TestPhotographsByZbar(t *testing.T) {
	if os.Getenv(rendertest.SecondOpinions) == "" {
		t.Skipf("second opinion of zbarimg skipped: set %s to ask for it", rendertest.SecondOpinions)
	}
	zbar, err := exec.LookPath("zbarimg")
	require.NoError(t, err, "zbarimg of zbar-tools has to be installed")
	dir, n := t.TempDir(), 0
	var mu sync.Mutex
	table(t, "zbarimg", func(kind int) int { return kinds[kind].bar }, func(photo []byte) []string {
		mu.Lock()
		n++
		name := filepath.Join(dir, fmt.Sprintf("%d.jpg", n))
		mu.Unlock()
		assert.NoError(t, os.WriteFile(name, photo, 0o600))
		out, err := exec.Command(zbar, "--quiet", "--raw", "--oneshot", "-Sbinary", "-Sdisable", "-Sqrcode.enable", name).Output()
		if err != nil || len(out) == 0 {
			return nil // it ends with 4 where it reads nothing
		}
		return []string{string(out)}
	})
}
