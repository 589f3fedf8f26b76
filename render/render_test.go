package render

import (
	"bytes"
	"errors"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"math"
	"runtime"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"slotcard/fonts"
	"slotcard/layout"
	"slotcard/render/rendertest"
)

// listText is the example of a list text in the list's grammar.
const listText = `SLOTS 1 THIMBLE GULCH/2
2027-08-14T06:00/2027-08-14T18:00 LOAD 2027
1 CMD QB CMD 1 152.4125/157.6725 103.5/146.2
2 TAC:A VFIRE21 154.2800 -/156.7
3 TAC:Z VFIRE23 154.2950 -/156.7
4 A/G QB AG 1 151.8575 -/-
5 GUARD AIRGUARD 168.6250 -/110.9
=J2MX
`

var created = time.Date(2027, 8, 13, 20, 30, 0, 0, time.FixedZone("", -6*3600))

// sample is a document with every kind of item: a panel that is placed four
// times, once for each turn, one that is placed once, and two sizes of page.
func sample(t testing.TB) *layout.Document {
	symbol, err := layout.EncodeSymbol(listText, layout.LevelM)
	require.NoError(t, err)
	back := &layout.Panel{Width: 60, Height: 40, Items: []layout.Item{
		layout.Box{W: 60, H: 40, Stroke: 0.2},
		layout.Text{X: 4, Y: 8, Face: fonts.MonoBold, Size: 11, S: "QB CMD 1"},
		layout.Modules{X: 4, Y: 12, Module: 0.4, Symbol: symbol},
		layout.Text{X: 32, Y: 20, Face: fonts.Regular, Size: 9.25, S: "Bellwether, tone 4"},
		layout.Box{X: 32, Y: 24, W: 20, H: 6, Radius: 3, Stroke: 0.3},
	}}
	once := &layout.Panel{Width: 30, Height: 20, Items: []layout.Item{
		layout.Box{W: 30, H: 20, Fill: true},
		layout.Text{X: 2, Y: 10, Face: fonts.Bold, Size: 12, Ink: layout.White, S: "TALK Div A"},
		layout.Shape{Fill: true, FillInk: layout.White, Segments: []layout.Segment{
			{Move: true, X: 4, Y: 13}, {X: 8, Y: 15}, {X: 4, Y: 17}}},
	}}
	return &layout.Document{
		Title: "Thimble Gulch – cards", Subject: "Période 2 (é)", Language: "en-US",
		Pages: []layout.Page{
			{
				Width: 215.9, Height: 279.4,
				Bookmarks: []layout.Bookmark{{Title: "Engine 611", Y: 20}, {Title: "Engine boss", Level: 1, Y: 104}},
				Items: []layout.Item{
					layout.Text{X: 20, Y: 14, Face: fonts.Bold, Size: 18, S: "THIMBLE GULCH"},
					layout.Text{X: 120, Y: 14, Face: fonts.Mono, Size: 10.5, S: "152.4125 ±½°"},
					layout.Placed{X: 20, Y: 20, Panel: back},
					layout.Placed{X: 100, Y: 20, Turn: 1, Panel: back},
					layout.Placed{X: 20, Y: 90, Turn: 2, Panel: back},
					layout.Placed{X: 100, Y: 90, Turn: 3, Panel: back},
					layout.Placed{X: 150, Y: 30, Turn: 1, Panel: once},
					layout.Box{X: 20, Y: 170, W: 50, H: 10, Fill: true},
					layout.Box{X: 80, Y: 170, W: 50, H: 10, Radius: 2, Fill: true, FillInk: layout.Ink{R: 128, G: 128, B: 128}, Stroke: 1},
					layout.Line{X1: 20, Y1: 190, X2: 130, Y2: 190, Weight: 0.5},
					layout.Line{X1: 20, Y1: 195, X2: 130, Y2: 195, Weight: 0.5, Dash: 2},
					layout.Line{X1: 20, Y1: 200, X2: 60, Y2: 230, Weight: 0.25},
					layout.Shape{Fill: true, Segments: []layout.Segment{{Move: true, X: 80, Y: 205}, {X: 100, Y: 205},
						{Curve: true, X1: 108, Y1: 210, X2: 108, Y2: 220, X: 100, Y: 225}, {X: 80, Y: 225},
						{Move: true, X: 85, Y: 210}, {X: 85, Y: 220}, {X: 95, Y: 220}, {X: 95, Y: 210}}},
					layout.Shape{Stroke: 1.5, Segments: []layout.Segment{{Move: true, X: 120, Y: 225}, {X: 130, Y: 205}, {X: 140, Y: 225}}},
				},
			},
			{
				Width: 88.9, Height: 50.8,
				Bookmarks: []layout.Bookmark{{Title: "Engine 612", Y: 5}},
				Items:     []layout.Item{layout.Text{X: 5, Y: 10, Face: fonts.Regular, Size: 9, S: "Div Z right flank"}},
			},
		},
	}
}

func pdfOf(t testing.TB, d *layout.Document) []byte {
	var b bytes.Buffer
	require.NoError(t, PDF(&b, d, created))
	return b.Bytes()
}

// placedText is a text of a page with the place and direction that it should
// have there.
type placedText struct {
	layout.Text
	turn int
}

func texts(items []layout.Item) []placedText {
	var out []placedText
	for _, it := range items {
		switch it := it.(type) {
		case layout.Text:
			out = append(out, placedText{Text: it})
		case layout.Placed:
			for _, inner := range texts(it.Panel.All()) {
				// By hand, and not by the code under test: clockwise quarter turns.
				u, v, w, h := inner.X, inner.Y, it.Panel.Width, it.Panel.Height
				at := [4][2]float64{{u, v}, {h - v, u}, {w - u, h - v}, {v, w - u}}[it.Turn]
				inner.X, inner.Y, inner.turn = it.X+at[0], it.Y+at[1], it.Turn
				out = append(out, inner)
			}
		}
	}
	return out
}

// PDFium is the other engine: github.com/klippa-app/go-pdfium.

func TestPDFText(t *testing.T) {
	d := sample(t)
	doc := rendertest.Open(t, pdfOf(t, d))
	require.Equal(t, len(d.Pages), doc.Pages())
	for i, p := range d.Pages {
		runs := doc.Text(i)
		want := texts(p.Items)
		assert.Len(t, runs, len(want), "%v", runs)
		for _, w := range want {
			found := false
			for _, r := range runs {
				if r.S != w.S || math.Abs(r.OriginX-w.X) > 0.1 || math.Abs(r.Baseline-w.Y) > 0.1 {
					continue
				}
				found = true
				assert.InDelta(t, w.Size, r.Size, 0.005, "%v", r)
				assert.Equal(t, "utf8"+strings.ToLower(w.Face.String()), r.Font)
				assert.InDelta(t, w.Width(), r.Advance, 0.1, "%v", r)
				if w.turn%2 == 0 {
					assert.Greater(t, r.W, r.H, "%v", r)
				} else {
					assert.Greater(t, r.H, r.W, "%v", r)
				}
			}
			assert.True(t, found, "page %d: %q at %g, %g is not among %v", i, w.S, w.X, w.Y, runs)
		}
	}
}

func TestPDFAboutTheDocument(t *testing.T) {
	d := sample(t)
	doc := rendertest.Open(t, pdfOf(t, d))
	assert.Equal(t, d.Title, doc.Meta("Title"))
	assert.Equal(t, d.Subject, doc.Meta("Subject"))
	assert.Equal(t, d.Language, doc.Language())
	for _, tag := range []string{"CreationDate", "ModDate"} {
		assert.Equal(t, "D:20270814023000Z", doc.Meta(tag), "20:30 at -06:00, in UTC")
	}
	for i, p := range d.Pages {
		w, h := doc.Size(i)
		assert.InDelta(t, p.Width, w, 0.01)
		assert.InDelta(t, p.Height, h, 0.01)
		left, bottom, right, top := doc.TrimBox(i)
		assert.InDeltaSlice(t, []float64{0, 0, p.Width, p.Height}, []float64{left, bottom, right, top}, 0.01)
	}
	marks := doc.Bookmarks()
	require.Len(t, marks, 3)
	for i, want := range []rendertest.Bookmark{{Title: "Engine 611", Page: 0, Y: 20}, {Title: "Engine boss", Level: 1, Page: 0, Y: 104}, {Title: "Engine 612", Page: 1, Y: 5}} {
		assert.InDelta(t, want.Y, marks[i].Y, 0.01, want.Title)
		want.Y = marks[i].Y
		assert.Equal(t, want, marks[i])
	}
}

func TestPDFBookmarkAtTheHeightThatMeansElse(t *testing.T) {
	d := sample(t)
	d.Pages[0].Bookmarks[0].Y = d.Pages[0].Height - d.Pages[1].Height - 1 // becomes -1 in fpdf's terms
	marks := rendertest.Open(t, pdfOf(t, d)).Bookmarks()
	assert.InDelta(t, d.Pages[0].Bookmarks[0].Y, marks[0].Y, 0.01)
}

// dark tells where, in mm along a level line, a picture is darker than half.
func darkSpan(img image.Image, y, from, to float64, dpi int) (first, last float64) {
	s := float64(dpi) / 25.4
	first, last = math.NaN(), math.NaN()
	for x := int(from * s); x < int(to*s); x++ {
		if color.GrayModel.Convert(img.At(x, int(y*s))).(color.Gray).Y < 128 {
			if math.IsNaN(first) {
				first = float64(x) / s
			}
			last = float64(x+1) / s
		}
	}
	return first, last
}

func TestEdges(t *testing.T) {
	const dpi = 300
	pixel := 25.4 / dpi
	d := sample(t)
	ours, err := Image(&d.Pages[0], dpi)
	require.NoError(t, err)
	for name, img := range map[string]image.Image{
		"pdfium": rendertest.Open(t, pdfOf(t, d)).Image(0, dpi),
		"ours":   ours,
	} {
		for _, c := range []struct {
			what              string
			y, from, to, a, b float64
		}{
			{"filled box", 175, 15, 75, 20, 70},
			{"row above it", 169.8, 15, 75, math.NaN(), math.NaN()},
			{"row below it", 180.2, 15, 75, math.NaN(), math.NaN()},
			{"left stroke of a box, centered on its edge", 175, 76, 82, 79.5, 80.5},
			{"right stroke of a box", 175, 128, 134, 129.5, 130.5},
			{"rounded corner cuts the corner of the stroke", 169.7, 76, 134, 81.2, 128.8},
			{"line with butt ends", 190, 15, 135, 20, 130},
			{"first dash", 195, 15, 23, 20, 22},
			{"second dash", 195, 23, 27, 24, 26},
			{"shape", 208, 78, 110, 80, 103.3},
			{"left of its hole", 215, 78, 90, 80, 85},
			{"right of its hole", 215, 90, 110, 95, 106},
			// Legs of 10 by 20 mm: the mitre reaches 0.75 / sin(atan(10/20)) = 1.677 mm beyond the corner at 205.
			{"mitred tip of a stroke", 203.9, 120, 140, 129.71, 130.29},
			{"above the tip", 203.2, 120, 140, math.NaN(), math.NaN()},
			{"stroke of a panel placed upright", 30, 15, 22, 19.9, 20.1},
			{"strokes of a panel turned once", 75, 95, 150, 99.9, 140.1},
		} {
			a, b := darkSpan(img, c.y, c.from, c.to, dpi)
			if math.IsNaN(c.a) {
				assert.True(t, math.IsNaN(a), "%s: %s is dark at %g", name, c.what, a)
				continue
			}
			tol := 1.01 * pixel
			if strings.HasPrefix(c.what, "rounded") || c.what == "shape" {
				tol = 0.35
			}
			assert.InDelta(t, c.a, a, tol, "%s: %s begins", name, c.what)
			assert.InDelta(t, c.b, b, tol, "%s: %s ends", name, c.what)
		}
	}
}

// symbolPlaces are the rectangles of the four symbols with their quiet zones.
func symbolPlaces(d *layout.Document, dpi int) []image.Rectangle {
	var out []image.Rectangle
	for _, it := range d.Pages[0].Items {
		p, ok := it.(layout.Placed)
		if !ok {
			continue
		}
		for _, inner := range p.Panel.All() {
			if m, ok := inner.(layout.Modules); ok {
				side, quiet := float64(m.Symbol.Size)*m.Module, layout.QuietModules*m.Module
				w, h := p.Panel.Width, p.Panel.Height
				at := [4][2]float64{{m.X, m.Y}, {h - m.Y - side, m.X}, {w - m.X - side, h - m.Y - side}, {m.Y, w - m.X - side}}[p.Turn]
				out = append(out, rendertest.Pixels(p.X+at[0]-quiet, p.Y+at[1]-quiet, side+2*quiet, side+2*quiet, dpi))
			}
		}
	}
	return out
}

// gozxing is the other decoder: github.com/makiuchi-d/gozxing. A module has
// 2.4 pixels at 150 dpi: enough where they are whole pixels, as ours are.
func TestSymbolsAreRead(t *testing.T) {
	d := sample(t)
	doc := rendertest.Open(t, pdfOf(t, d))
	want := []string{listText, listText, listText, listText}
	for _, dpi := range []int{200, 300} {
		read, err := rendertest.DecodeQR(doc.Image(0, dpi), symbolPlaces(d, dpi)...)
		require.NoError(t, err, "PDF at %d dpi", dpi)
		assert.Equal(t, want, read, "PDF at %d dpi", dpi)
	}
	for _, dpi := range []int{150, 200} {
		img, err := Image(&d.Pages[0], float64(dpi))
		require.NoError(t, err)
		read, err := rendertest.DecodeQR(img, symbolPlaces(d, dpi)...)
		require.NoError(t, err, "picture at %d dpi", dpi)
		assert.Equal(t, want, read, "picture at %d dpi", dpi)
	}
	found, err := rendertest.DecodeQR(doc.Image(0, 200))
	require.NoError(t, err)
	assert.Contains(t, found, listText, "the reader of many codes finds ours on the whole page")
}

func TestSymbolsAreWholePixels(t *testing.T) {
	symbol, err := layout.EncodeSymbol(listText, layout.LevelM)
	require.NoError(t, err)
	img, err := Image(&layout.Page{Width: 60, Height: 60, Items: []layout.Item{
		layout.Modules{X: 5.03, Y: 5.07, Module: 0.4, Symbol: symbol}}}, 150)
	require.NoError(t, err)
	for _, v := range img.(*image.Gray).Pix {
		require.True(t, v == 0 || v == 255, "a grey pixel: %d", v)
	}
}

// The picture that we draw and the one that PDFium draws of the PDF are of the
// same page. What differs is how edges are softened.
func TestImageAgreesWithPDF(t *testing.T) {
	const dpi = 150
	d := sample(t)
	doc := rendertest.Open(t, pdfOf(t, d))
	for i := range d.Pages {
		img, err := Image(&d.Pages[i], dpi)
		require.NoError(t, err)
		ours, theirs := img.(*image.Gray), doc.Image(i, dpi)
		w, h := min(ours.Rect.Dx(), theirs.Rect.Dx()), min(ours.Rect.Dy(), theirs.Rect.Dy())
		require.InDelta(t, ours.Rect.Dx(), theirs.Rect.Dx(), 1)
		require.InDelta(t, ours.Rect.Dy(), theirs.Rect.Dy(), 1)
		// Blocks of 8 by 8 pixels, 1.35 mm, even out the edges: no block may
		// hold what the other lacks.
		worst, sum, n := 0.0, 0.0, 0
		for by := 0; by+8 <= h; by += 8 {
			for bx := 0; bx+8 <= w; bx += 8 {
				a, b := 0, 0
				for y := by; y < by+8; y++ {
					for x := bx; x < bx+8; x++ {
						a += int(ours.GrayAt(x, y).Y)
						b += int(theirs.GrayAt(x, y).Y)
					}
				}
				diff := math.Abs(float64(a-b)) / 64
				worst, sum, n = math.Max(worst, diff), sum+diff, n+1
			}
		}
		t.Logf("page %d: mean %.2f, worst block %.0f of 255", i, sum/float64(n), worst)
		assert.Less(t, sum/float64(n), 1.0)
		assert.Less(t, worst, 60.0)
	}
}

func TestPDFSameBytes(t *testing.T) {
	d := sample(t)
	want := pdfOf(t, d)
	var wg sync.WaitGroup
	got := make([][]byte, 3)
	errs := make([]error, 3)
	for i := range got {
		wg.Go(func() {
			var b bytes.Buffer
			errs[i] = PDF(&b, d, created)
			got[i] = b.Bytes()
		})
	}
	wg.Wait()
	require.NoError(t, errors.Join(errs...))
	for i := range got {
		assert.True(t, bytes.Equal(want, got[i]), "run %d differs", i)
	}
	var b bytes.Buffer
	require.NoError(t, PDF(&b, d, created.UTC()))
	assert.True(t, bytes.Equal(want, b.Bytes()), "the same moment in another zone differs")
	b.Reset()
	require.NoError(t, PDF(&b, d, created.Add(time.Second)))
	assert.False(t, bytes.Equal(want, b.Bytes()), "the date is not written")
}

// Contents are drawn on as many cores as there are; the bytes do not tell.
func TestPDFSameBytesOnAnyNumberOfCores(t *testing.T) {
	d := sample(t)
	for range 30 { // more pages than cores
		d.Pages = append(d.Pages, d.Pages[0])
	}
	before := runtime.GOMAXPROCS(1)
	defer runtime.GOMAXPROCS(before)
	want := pdfOf(t, d)
	for _, n := range []int{2, 8} {
		runtime.GOMAXPROCS(n)
		assert.True(t, bytes.Equal(want, pdfOf(t, d)), "%d cores", n)
	}
}

// strconv writes the same numbers, with zeros at the end.
func TestNumbers(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		v := rapid.Float64Range(-1e5, 1e5).Draw(r, "v")
		for decimals, write := range map[int]func([]byte, float64) []byte{4: appendNumber, 2: appendHundredths} {
			got := string(write(nil, v))
			near, err := strconv.ParseFloat(got, 64)
			require.NoError(r, err)
			assert.InDelta(r, v, near, 0.5000001*math.Pow10(-decimals))
			want := strings.TrimRight(strings.TrimRight(strconv.FormatFloat(near, 'f', decimals, 64), "0"), ".")
			assert.Equal(r, want, got)
		}
	})
	assert.Equal(t, "0", string(appendNumber(nil, -0.00001)), "not -0")
}

// fpdf writes into the bytes of a face; those that all measure with stay as they are.
func TestFacesStayAsTheyAre(t *testing.T) {
	var before [][]byte
	for _, f := range fonts.All() {
		before = append(before, bytes.Clone(f.Data()))
	}
	pdfOf(t, sample(t))
	for i, f := range fonts.All() {
		assert.True(t, bytes.Equal(before[i], f.Data()), f.String())
	}
}

func TestPDFSharesPanelsAndFaces(t *testing.T) {
	d := sample(t)
	assert.Equal(t, 1, bytes.Count(pdfOf(t, d), []byte("/Subtype/Form")), "four places, one form; the panel placed once is none")
	assert.Equal(t, 4, bytes.Count(pdfOf(t, d), []byte("/FontFile2")))
	d.Pages = d.Pages[1:]
	assert.Equal(t, 1, bytes.Count(pdfOf(t, d), []byte("/FontFile2")), "only the face that is used")
	assert.Less(t, len(pdfOf(t, d)), len(fonts.Regular.Data()), "a subset of it")
}

// What panels have in common is written once, and looks as it does when each
// panel draws it for itself.
func TestPDFSharesWhatPanelsHaveInCommon(t *testing.T) {
	common := &layout.Panel{Width: 60, Height: 40, Items: []layout.Item{
		layout.Box{X: -1, W: 62, H: 12, Fill: true},
		layout.Text{X: 4, Y: 8, Face: fonts.MonoBold, Size: 11, Ink: layout.White, S: "QB TAC 4"},
		layout.Line{X1: 0, Y1: 30, X2: 60, Y2: 30, Weight: 0.5, Dash: 2},
	}}
	page := layout.Page{Width: 200, Height: 100}
	alone := page
	for i := range 3 {
		own := []layout.Item{layout.Text{X: 4, Y: 20, Face: fonts.Bold, Size: 9, S: "Engine 61"}, layout.Box{X: 2, Y: 14, W: 30, H: 8, Stroke: 0.3}}
		foot := layout.Text{X: 4, Y: 36, Face: fonts.Regular, Size: 9, S: fmt.Sprintf("Card %d", i+1)}
		p := &layout.Panel{Width: 60, Height: 40, Common: common, CommonAt: len(own)}
		p.Items = append(append(p.Items, own...), foot)
		before, behind := p.Apart()
		assert.Equal(t, own, before)
		assert.Equal(t, []layout.Item{foot}, behind)
		assert.Equal(t, append(append(own, common.Items...), foot), p.All())
		at := layout.Placed{X: 5 + 65*float64(i), Y: 10, Turn: i, Panel: p}
		page.Items = append(page.Items, at)
		at.Panel = &layout.Panel{Width: p.Width, Height: p.Height, Items: p.All()}
		alone.Items = append(alone.Items, at)
	}
	shared, apart := pdfOf(t, &layout.Document{Pages: []layout.Page{page}}), pdfOf(t, &layout.Document{Pages: []layout.Page{alone}})
	assert.Equal(t, 1, bytes.Count(shared, []byte("/Subtype/Form")))
	assert.Equal(t, 0, bytes.Count(apart, []byte("/Subtype/Form")))
	assert.Equal(t, rendertest.Open(t, apart).Image(0, 150).Pix, rendertest.Open(t, shared).Image(0, 150).Pix)

	page.Items = page.Items[:1]
	assert.Zero(t, bytes.Count(pdfOf(t, &layout.Document{Pages: []layout.Page{page}}), []byte("/Subtype/Form")), "nobody to share with")
	wrong := *page.Items[0].(layout.Placed).Panel
	wrong.CommonAt = 4
	page.Items[0] = layout.Placed{Panel: &wrong}
	assert.Error(t, PDF(&bytes.Buffer{}, &layout.Document{Pages: []layout.Page{page}}, created))
}

// What leaves a panel is not cut, placed once or many times.
func TestPanelsCutNothing(t *testing.T) {
	p := &layout.Panel{Width: 20, Height: 20, Items: []layout.Item{layout.Box{X: -5, Y: -3, W: 32, H: 8, Fill: true}}}
	for _, places := range [][]float64{{20}, {20, 70}} {
		page := layout.Page{Width: 120, Height: 40}
		for _, x := range places {
			page.Items = append(page.Items, layout.Placed{X: x, Y: 10, Panel: p})
		}
		img := rendertest.Open(t, pdfOf(t, &layout.Document{Pages: []layout.Page{page}})).Image(0, 200)
		for _, x := range places {
			a, b := darkSpan(img, 8, x-15, x+30, 200)
			assert.InDelta(t, x-5, a, 0.13)
			assert.InDelta(t, x+27, b, 0.13)
		}
	}
}

func TestColour(t *testing.T) {
	orange := layout.Ink{R: 230, G: 120, B: 20}
	p := layout.Page{Width: 20, Height: 20, Items: []layout.Item{layout.Box{X: 5, Y: 5, W: 10, H: 10, Fill: true, FillInk: orange}}}
	img, err := Image(&p, 100)
	require.NoError(t, err)
	assert.Equal(t, color.RGBA{230, 120, 20, 255}, img.At(40, 40))
	assert.Equal(t, color.RGBA{255, 255, 255, 255}, img.At(5, 5))
	grey := rendertest.Open(t, pdfOf(t, &layout.Document{Pages: []layout.Page{p}})).Image(0, 100)
	// ITU-R BT.601 luma, as PDFium's grey pictures take it (from memory).
	assert.InDelta(t, 0.299*230+0.587*120+0.114*20, float64(grey.GrayAt(40, 40).Y), 4)
}

func TestPNG(t *testing.T) {
	d := sample(t)
	var b bytes.Buffer
	require.NoError(t, PNG(&b, &d.Pages[1], 200))
	img, err := png.Decode(&b)
	require.NoError(t, err)
	assert.Equal(t, image.Pt(700, 400), img.Bounds().Size(), "3.5 by 2 inches")
	want, err := Image(&d.Pages[1], 200)
	require.NoError(t, err)
	assert.Equal(t, want.(*image.Gray).Pix, img.(*image.Gray).Pix)
}

func TestRefusals(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	panel := &layout.Panel{Width: 10, Height: 10}
	inner := &layout.Panel{Width: 10, Height: 10, Items: []layout.Item{layout.Placed{Panel: panel}}}
	for _, c := range []struct {
		item layout.Item
		says []string
	}{
		{layout.Text{Size: 9, S: "Div → Z"}, []string{`text "Div → Z"`, "U+2192", "typeface"}},
		{layout.Text{Size: 9, S: "a\tb"}, []string{`text "a\tb"`, "U+0009"}},
		{layout.Text{Size: 9, S: "line\nbreak"}, []string{"U+000A"}},
		{layout.Text{Size: 9, S: "\U0001F525"}, []string{"U+1F525"}},
		{layout.Text{Size: 9, S: "cafe\u0301"}, []string{"U+0301"}},
		{layout.Text{Size: 9, S: "soft\u00adhyphen"}, []string{"U+00AD"}},
		{layout.Text{Size: 9, S: "zero\u200bwidth"}, []string{"U+200B"}},
		{layout.Text{Size: 9, S: "broken \xe2\x86"}, []string{`"broken \xe2\x86"`, "UTF-8"}},
		{layout.Text{X: nan, Size: 9, S: "nowhere"}, []string{`"nowhere"`, "NaN"}},
		{layout.Text{Y: inf, Size: 9, S: "nowhere"}, []string{`"nowhere"`, "Inf"}},
		{layout.Text{S: "no size"}, []string{`"no size"`, "0 pt"}},
		{layout.Line{X1: nan, Weight: 1}, []string{"line"}},
		{layout.Line{X2: 5}, []string{"line", "weight 0"}},
		{layout.Line{X2: 5, Weight: 1, Dash: -1}, []string{"dash -1"}},
		{layout.Box{W: -1, H: 1, Fill: true}, []string{"box", "-1"}},
		{layout.Box{W: inf, H: 1, Fill: true}, []string{"box"}},
		{layout.Shape{Fill: true, Segments: []layout.Segment{{X: 1}}}, []string{"shape"}},
		{layout.Shape{Fill: true, Segments: []layout.Segment{{Move: true}, {Curve: true, X1: nan}}}, []string{"segment 2"}},
		{layout.Modules{Module: 0.4}, []string{"QR"}},
		{layout.Modules{Module: nan, Symbol: &layout.Symbol{Size: 21}}, []string{"QR"}},
		{layout.Placed{X: 1}, []string{"panel"}},
		{layout.Placed{Panel: panel, Turn: 4}, []string{"panel", "4"}},
		{layout.Placed{Panel: inner}, []string{"panel", "inside"}},
		{nil, []string{"item"}},
	} {
		page := layout.Page{Width: 100, Height: 100, Items: []layout.Item{c.item}}
		refused(t, &layout.Document{Pages: []layout.Page{{Width: 10, Height: 10}, page}}, append(c.says, "page 2")...)
		_, err := Image(&page, 100)
		require.Error(t, err)
		assert.Contains(t, err.Error(), c.says[0])
	}
	ok := layout.Page{Width: 100, Height: 100}
	mark := func(title string, level int) layout.Page {
		return layout.Page{Width: 100, Height: 100, Bookmarks: []layout.Bookmark{{Title: title, Level: level}}}
	}
	for _, c := range []struct {
		d    layout.Document
		says []string
	}{
		{layout.Document{}, []string{"no pages"}},
		{layout.Document{Pages: []layout.Page{{}}}, []string{"page 1", "0 by 0 mm"}},
		{layout.Document{Pages: []layout.Page{{Width: nan, Height: 1}}}, []string{"page 1"}},
		{layout.Document{Pages: []layout.Page{{Width: 1, Height: 5081}}}, []string{"page 1", "5081"}},
		{layout.Document{Pages: []layout.Page{ok}, Title: "a\U0001F525"}, []string{"title", "U+1F525"}},
		{layout.Document{Pages: []layout.Page{ok}, Subject: "a\x00"}, []string{"subject", "U+0000"}},
		{layout.Document{Pages: []layout.Page{ok}, Language: "en)"}, []string{"language"}},
		{layout.Document{Pages: []layout.Page{mark("→", 0)}}, []string{"bookmark", "U+2192"}},
		{layout.Document{Pages: []layout.Page{mark("deep", 1)}}, []string{"bookmark", "deep", "level 1"}},
		{layout.Document{Pages: []layout.Page{mark("a", 0), mark("deep", 2)}}, []string{"page 2", "level 2"}},
		{layout.Document{Pages: []layout.Page{mark("a", -1)}}, []string{"level -1"}},
	} {
		refused(t, &c.d, c.says...)
	}
	var b bytes.Buffer
	require.ErrorContains(t, PDF(&b, &layout.Document{Pages: []layout.Page{ok}}, time.Time{}), "date")
	for _, dpi := range []float64{0, -1, nan, inf, 1e5} {
		require.Error(t, PNG(&b, &ok, dpi), "%g dpi", dpi)
	}
	assert.Zero(t, b.Len(), "nothing is written after a refusal")
}

func refused(t *testing.T, d *layout.Document, says ...string) {
	t.Helper()
	var b bytes.Buffer
	err := PDF(&b, d, created)
	require.Error(t, err, "%v", says)
	for _, s := range says {
		assert.Contains(t, err.Error(), s)
	}
	assert.Zero(t, b.Len(), "nothing is written after a refusal")
}

type broken struct{}

func (broken) Write([]byte) (int, error) { return 0, errors.New("disk full") }

func TestWriteErrorsComeBack(t *testing.T) {
	d := sample(t)
	require.ErrorContains(t, PDF(broken{}, d, created), "disk full")
	require.ErrorContains(t, PNG(broken{}, &d.Pages[1], 50), "disk full")
}

// Whatever a layout holds, render draws it or refuses it.
func TestNeverPanics(t *testing.T) {
	hostileText := rapid.OneOf(rapid.String(), rapid.SampledFrom([]string{"\xff", "→", "a\x00", "\U0001F525"}))
	hostileNumber := rapid.SampledFrom([]float64{0, math.NaN(), math.Inf(1), math.Inf(-1), -1, 1e5, 1e9, 1e-9, math.MaxFloat64})
	drawn, refused := 0, 0
	rapid.Check(t, func(r *rapid.T) {
		hostile := rapid.Bool().Draw(r, "hostile")
		odd := func() bool { return hostile && rapid.IntRange(0, 9).Draw(r, "odd") == 0 }
		number := func(low, high float64) float64 {
			if odd() {
				return hostileNumber.Draw(r, "number")
			}
			return rapid.Float64Range(low, high).Draw(r, "number")
		}
		text := func() string {
			if odd() {
				return hostileText.Draw(r, "text")
			}
			return rapid.StringMatching(`[ -~é½]{0,12}`).Draw(r, "text")
		}
		place := func() float64 { return number(-100, 200) }
		size := func() float64 { return number(0.001, 100) }
		item := func() layout.Item {
			switch rapid.IntRange(0, 5).Draw(r, "kind") {
			case 0:
				return layout.Text{X: place(), Y: place(), Size: size(), S: text()}
			case 1:
				return layout.Line{X1: place(), Y1: place(), X2: place(), Y2: place(), Weight: size(), Dash: number(0.5, 5)}
			case 2:
				return layout.Box{X: place(), Y: place(), W: size(), H: size(), Radius: size(), Fill: rapid.Bool().Draw(r, "fill"), Stroke: size()}
			case 3:
				segments := []layout.Segment{{Move: true, X: place(), Y: place()}}
				for range rapid.IntRange(0, 5).Draw(r, "segments") {
					segments = append(segments, layout.Segment{Move: odd(), Curve: rapid.Bool().Draw(r, "curve"),
						X1: place(), Y1: place(), X2: place(), Y2: place(), X: place(), Y: place()})
				}
				return layout.Shape{Fill: true, Stroke: number(0, 3), Segments: segments}
			case 4:
				return layout.Modules{X: place(), Y: place(), Module: size(), Symbol: &layout.Symbol{Size: 21}}
			}
			return layout.Placed{X: place(), Y: place(), Turn: rapid.IntRange(0, 3).Draw(r, "turn"), Panel: &layout.Panel{Width: size(), Height: size(),
				Items: []layout.Item{layout.Text{X: place(), Y: place(), Size: size(), S: text()}}}}
		}
		page := layout.Page{Width: number(1, 200), Height: number(1, 200), Bookmarks: []layout.Bookmark{{Title: text(), Y: place()}}}
		for range rapid.IntRange(0, 5).Draw(r, "items") {
			page.Items = append(page.Items, item())
			if p, ok := page.Items[len(page.Items)-1].(layout.Placed); ok && rapid.Bool().Draw(r, "again") {
				page.Items = append(page.Items, p)
			}
		}
		var b bytes.Buffer
		err := PDF(&b, &layout.Document{Title: text(), Pages: []layout.Page{page}}, created)
		switch {
		case err == nil:
			drawn++
		case b.Len() > 0:
			r.Fatalf("half a file after %v", err)
		case !hostile:
			r.Fatalf("a fair page is refused: %v", err)
		default:
			refused++
		}
		_, _ = Image(&page, 20)
	})
	assert.NotZero(t, drawn)
	assert.NotZero(t, refused)
}

func TestSecondOpinionPoppler(t *testing.T) {
	poppler, d := rendertest.Poppler(t), sample(t)
	pdf := pdfOf(t, d)
	text := poppler.Text(t, pdf, 0)
	for _, w := range texts(d.Pages[0].Items) {
		if w.turn == 0 {
			assert.Contains(t, text, w.S)
		}
	}
	assert.Contains(t, poppler.Info(t, pdf), "Thimble Gulch – cards")
	read, err := rendertest.DecodeQR(poppler.Image(t, pdf, 0, 300), symbolPlaces(d, 300)...)
	require.NoError(t, err)
	assert.Equal(t, []string{listText, listText, listText, listText}, read)
}

func TestSecondOpinionZbar(t *testing.T) {
	zbar, d := rendertest.Zbar(t), sample(t)
	img, err := Image(&d.Pages[0], 200)
	require.NoError(t, err)
	for i, p := range symbolPlaces(d, 200) {
		assert.Equal(t, listText, zbar.Decode(t, img.(*image.Gray).SubImage(p)), "symbol %d", i)
	}
}

func TestSecondOpinionStructure(t *testing.T) {
	d := sample(t)
	pdf := pdfOf(t, d)
	t.Run("qpdf", func(t *testing.T) { rendertest.Qpdf(t).Check(t, pdf) })
	t.Run("mutool", func(t *testing.T) {
		text := rendertest.Mutool(t).Text(t, pdf, 0)
		for _, w := range texts(d.Pages[0].Items) {
			assert.Contains(t, text, w.S)
		}
	})
}

// benchDocument is a job of n pages with ten cards each.
func benchDocument(b *testing.B, n int) *layout.Document {
	symbol, err := layout.EncodeSymbol(listText, layout.LevelM)
	require.NoError(b, err)
	back := &layout.Panel{Width: 88.9, Height: 50.8, Items: []layout.Item{layout.Modules{X: 5, Y: 5, Module: 0.4, Symbol: symbol}}}
	d := &layout.Document{Title: "bench"}
	for p := range n {
		page := layout.Page{Width: 215.9, Height: 279.4}
		for c := range 10 {
			x, y := 15+float64(c%2)*90, 10+float64(c/2)*52
			if p%2 == 1 {
				page.Items = append(page.Items, layout.Placed{X: x, Y: y, Panel: back})
				continue
			}
			for row := range 8 {
				base := y + 8 + float64(row)*5
				page.Items = append(page.Items,
					layout.Text{X: x, Y: base, Face: fonts.Bold, Size: 10, S: fmt.Sprint(row + 1)},
					layout.Text{X: x + 6, Y: base, Face: fonts.MonoBold, Size: 10, S: "QB TAC 4"},
					layout.Text{X: x + 30, Y: base, Face: fonts.Regular, Size: 7, S: "Div A tactical"},
					layout.Text{X: x + 70, Y: base, Face: fonts.Mono, Size: 7, S: "1-07"},
					layout.Line{X1: x, Y1: base + 1, X2: x + 80, Y2: base + 1, Weight: 0.1})
			}
		}
		d.Pages = append(d.Pages, page)
	}
	return d
}

func BenchmarkPDF(b *testing.B) {
	for _, n := range []int{1, 14, 200} {
		d := benchDocument(b, n)
		b.Run(fmt.Sprintf("%d pages", n), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				var out bytes.Buffer
				require.NoError(b, PDF(&out, d, created))
				b.ReportMetric(float64(out.Len()), "bytes/file")
			}
		})
	}
}

func BenchmarkPNG(b *testing.B) {
	d := benchDocument(b, 2)
	for _, dpi := range []float64{150, 300} {
		for i, side := range []string{"fronts", "backs"} {
			b.Run(fmt.Sprintf("%s at %g dpi", side, dpi), func(b *testing.B) {
				b.ReportAllocs()
				for b.Loop() {
					require.NoError(b, PNG(&bytes.Buffer{}, &d.Pages[i], dpi))
				}
			})
		}
	}
}
