package render_test

import (
	"bytes"
	"encoding/xml"
	"fmt"
	"image"
	"image/draw"
	"io"
	"iter"
	"maps"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"slotcard/fonts"
	"slotcard/layout"
	"slotcard/layout/book"
	"slotcard/layout/cards"
	"slotcard/layout/impose"
	"slotcard/layout/sheets"
	"slotcard/layout/strips"
	"slotcard/layout/wall"
	"slotcard/render"
	"slotcard/render/rendertest"
)

func svgOf(t require.TestingT, p *layout.Page, o render.SVGOptions) []byte {
	var b bytes.Buffer
	require.NoError(t, render.SVG(&b, p, o))
	return b.Bytes()
}

// element is an element of an SVG as encoding/xml reads it.
type element struct {
	name string
	attr map[string]string
	text string
}

// elements of an SVG, which must be well-formed, in order.
func elements(t require.TestingT, svg []byte) (all []*element) {
	dec := xml.NewDecoder(bytes.NewReader(svg))
	var open []*element
	for {
		tok, err := dec.Token()
		if err == io.EOF {
			return all
		}
		require.NoError(t, err)
		switch tok := tok.(type) {
		case xml.StartElement:
			e := &element{name: tok.Name.Local, attr: map[string]string{}}
			for _, a := range tok.Attr {
				name := strings.TrimPrefix(a.Name.Space+":", ":") + a.Name.Local
				require.NotContains(t, e.attr, name, "an attribute stands once")
				if a.Name.Space == "" {
					e.attr[a.Name.Local] = a.Value
				}
			}
			all, open = append(all, e), append(open, e)
		case xml.EndElement:
			open = open[:len(open)-1]
		case xml.CharData:
			if len(open) > 0 {
				open[len(open)-1].text += string(tok)
			}
		}
	}
}

func (e *element) number(t require.TestingT, name string) float64 {
	v, err := strconv.ParseFloat(e.attr[name], 64)
	require.NoError(t, err, "%s of %s", name, e.name)
	return v
}

// A card as SVG, read by encoding/xml: as large as the paper, every text with its
// place, size and face, one path for the QR code, an area for each slot.
func TestSVGOfCards(t *testing.T) {
	all, err := examples()
	require.NoError(t, err)
	for name, e := range all {
		for i, panel := range []*layout.Panel{e.deck.Faces[0].Front, e.deck.Faces[0].Back} {
			p := panel.Page()
			read := elements(t, svgOf(t, &p, render.SVGOptions{Label: "Card 1 & its <back>", Language: "en"}))
			root := read[0]
			assert.Equal(t, "svg", root.name)
			assert.Equal(t, fmt.Sprintf("%gmm", p.Width), root.attr["width"])
			assert.Equal(t, fmt.Sprintf("%gmm", p.Height), root.attr["height"])
			assert.Equal(t, fmt.Sprintf("0 0 %g %g", p.Width, p.Height), root.attr["viewBox"])
			assert.Equal(t, "Card 1 & its <back>", root.attr["aria-label"])
			assert.Equal(t, "title", read[1].name)
			assert.Equal(t, "Card 1 & its <back>", read[1].text)

			var texts []*element
			slots := map[int]int{}
			codes := 0
			for _, el := range read {
				switch {
				case el.name == "text":
					texts = append(texts, el)
				case el.attr["aria-label"] == "QR":
					codes++
				case el.attr["data-slot"] != "":
					slots[int(el.number(t, "data-slot"))] = int(el.number(t, "data-line"))
				}
			}
			k := 0
			for _, it := range p.Items {
				want, ok := it.(layout.Text)
				if !ok {
					continue
				}
				got := texts[k]
				k++
				assert.Equal(t, want.S, got.text)
				assert.InDelta(t, want.X, got.number(t, "x"), 0.0001)
				assert.InDelta(t, want.Y, got.number(t, "y"), 0.0001)
				assert.InDelta(t, want.Size*fonts.PointMM, got.number(t, "font-size"), 0.0001)
				assert.InDelta(t, want.Width(), got.number(t, "textLength"), 0.0001)
			}
			assert.Len(t, texts, k)
			assert.Equal(t, i, codes, "the back alone has a code")

			// Each slot of the list has its area, which holds its display name.
			list := e.deck.Faces[0].Card.List
			assert.Len(t, slots, len(list.Slots))
			source, err := os.ReadFile(filepath.Join("..", "examples", name, "plan.toml"))
			require.NoError(t, err)
			lines := strings.Split(string(source), "\n")
			for _, a := range p.Areas {
				s := list.Slots[a.Slot-1]
				assert.Equal(t, "[[slot]]", strings.TrimSpace(lines[a.Line-1]), "line %d", a.Line)
				assert.Contains(t, strings.Join(lines[a.Line:a.Line+5], "\n"), s.Channel.Name)
				assert.True(t, slices.ContainsFunc(p.Items, func(it layout.Item) bool {
					text, ok := it.(layout.Text)
					return ok && text.S == s.Channel.Name && text.X >= a.X && text.X+text.Width() <= a.X+a.W && text.Y >= a.Y && text.Y <= a.Y+a.H
				}), "%s stands in its area", s.Channel.Name)
			}
		}
	}
}

// Text that would be markup stays text, wherever it stands.
func TestSVGTakesNoMarkup(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		said := rapid.StringOf(rapid.SampledFrom([]rune(`<>&"'/=;- ]!xé½`))).Draw(t, "text")
		label := rapid.String().Draw(t, "label")
		p := layout.Page{Width: 50, Height: 20, Items: []layout.Item{layout.Text{X: 1, Y: 10, Face: fonts.Regular, Size: 8, S: said}}}
		read := elements(t, svgOf(t, &p, render.SVGOptions{Label: label, Linked: true}))
		names, texts := []string{}, []string{}
		for _, e := range read {
			names = append(names, e.name)
			if e.name == "text" {
				texts = append(texts, e.text)
			}
		}
		if strings.Trim(said, " ") == "" {
			require.Equal(t, []string{"svg", "rect"}, names)
			return
		}
		require.Equal(t, []string{"svg", "rect", "text"}, names)
		require.Equal(t, []string{said}, texts)
	})
}

// Linked SVG has no style of its own: a policy that allows none would drop it.
func TestLinkedSVGHasNoStyle(t *testing.T) {
	all, err := examples()
	require.NoError(t, err)
	p := all["thimble-gulch"].deck.Faces[0].Front.Page()
	for _, e := range elements(t, svgOf(t, &p, render.SVGOptions{Label: "front", Linked: true})) {
		assert.NotEqual(t, "style", e.name)
		assert.NotContains(t, e.attr, "style")
		assert.NotContains(t, e.attr, "id", "two cards on one screen share no name")
	}
	css := render.SVGStyle(func(f fonts.Face) string { return "/fonts/" + f.String() + ".ttf" })
	for _, f := range fonts.All() {
		assert.Contains(t, css, `url("/fonts/`+f.String()+`.ttf")`)
	}
	assert.NotContains(t, render.SVGStyle(func(fonts.Face) string { return "a\")}</style><script>" }), "</style>")
}

func TestSVGRefuses(t *testing.T) {
	for name, c := range map[string]struct {
		page layout.Page
		o    render.SVGOptions
		want string
	}{
		"no size":   {layout.Page{}, render.SVGOptions{}, "a page of 0 by 0 mm cannot be drawn"},
		"character": {layout.Page{Width: 9, Height: 9, Items: []layout.Item{layout.Text{Size: 8, S: "→"}}}, render.SVGOptions{}, "which the typeface cannot draw"},
		"language":  {layout.Page{Width: 9, Height: 9}, render.SVGOptions{Language: `en" onload="`}, "is not a tag such as en or en-US"},
	} {
		var b bytes.Buffer
		assert.ErrorContains(t, render.SVG(&b, &c.page, c.o), c.want, name)
		assert.Zero(t, b.Len(), name)
	}
}

// papers are the first pages of every paper, and both sides of cards, by name.
func papers(t *testing.T) map[string][]layout.Page {
	t.Helper()
	all, err := examples()
	require.NoError(t, err)
	r, changed := all["thimble-gulch"].resolved, revision(t)
	out := map[string][]layout.Page{}
	add := func(name string, d *layout.Document, err error) *layout.Document {
		require.NoError(t, err, name)
		require.NotNil(t, d, name)
		out[name] = []layout.Page{d.Pages[0]}
		return d
	}
	for _, size := range layout.CardSizes() {
		resolved := r
		if size.Width < 100 {
			resolved = all["first-hour"].resolved // a small card holds a short list
		}
		d, found := cards.Deal(resolved, cards.Options{Size: size})
		require.NotNil(t, d, "%s: %v", size.Name, found)
		out["card "+size.Name] = []layout.Page{d.Faces[0].Front.Page(), d.Faces[0].Back.Page()}
	}
	for _, paper := range layout.PaperSizes() {
		list, _ := wall.List(r, wall.Options{Paper: paper})
		add("wall "+paper.Name, list.Document, nil)
		grid, _ := wall.Grid(r, wall.Options{Paper: paper})
		add("grid "+paper.Name, grid.Document, nil)
		fire, _ := sheets.Fire(r, sheets.FireOptions{Paper: paper})
		add("fire "+paper.Name, fire, nil)
		if paper.Width > 216 {
			continue
		}
		handout, _ := sheets.Handout(r, sheets.HandoutOptions{Paper: paper})
		add("hand-out "+paper.Name, handout, nil)
		change, _ := sheets.ChangeSheet(changed, sheets.ChangeOptions{Paper: paper})
		add("change sheet "+paper.Name, change, nil)
		compared, _ := sheets.Comparison(changed, sheets.ChangeOptions{Paper: paper})
		add("comparison "+paper.Name, compared, nil)
		strips, _, _ := strips.Lay(changed, strips.Options{Paper: paper})
		add("strips "+paper.Name, strips, nil)
		cards, err := impose.Cards(all["thimble-gulch"].deck, impose.Options{Paper: paper})
		add("cards on "+paper.Name, cards, err)
	}
	for _, format := range book.Formats() {
		b, _ := book.Book(r.Load, book.Options{Format: format})
		add("book "+format.Name, b, nil)
	}
	a6, _ := book.Format("a6")
	letter, _ := layout.PaperSize("letter")
	pages, _ := book.Book(r.Load, book.Options{Format: a6})
	booklet, err := impose.Booklet(pages, letter, nil)
	add("booklet", booklet, err)
	a2, _ := layout.PaperSize("a2")
	list, _ := wall.List(r, wall.Options{Paper: a2})
	tiles, err := impose.Tiles(list.Document, letter, nil)
	add("tiles", tiles, err)
	return out
}

// Every paper in every size, as SVG in a browser and as PDF by Poppler: the two
// pictures differ by less than an edge's width. In a picture an edge is two pixels
// wide: on a card 0.26 mm, more on what is read from further away.
func TestSVGInTheBrowser(t *testing.T) {
	chromium, poppler := rendertest.Chromium(t), rendertest.Poppler(t)
	all := papers(t)
	resolution := func(p layout.Page) int {
		switch long := max(p.Width, p.Height); {
		case long < 200: // mm: a card, a page of the book
			return 192
		case long < 360:
			return 144
		}
		return 96
	}
	for _, dpi := range []int{192, 144, 96} {
		var pages []layout.Page
		var names []string
		for _, name := range slices.Sorted(maps.Keys(all)) {
			for i, p := range all[name] {
				if resolution(p) == dpi {
					pages, names = append(pages, p), append(names, fmt.Sprintf("%s, page %d", name, i+1))
				}
			}
		}
		require.NotEmpty(t, pages)
		pdf := pdfPages(t, pages)
		for done, few := range inBrowser(t, chromium, pages, dpi) {
			for i, browser := range few {
				i += done
				other := poppler.Image(t, pdf, i, dpi)
				much, some := beyondEdge(browser, other)
				cut := 0
				if strings.HasPrefix(names[i], "tiles") {
					cut = 4 // where a window cuts through a letter, within a pixel
				}
				assert.LessOrEqual(t, much, cut, "%s: pixels that differ by more than an edge", names[i])
				assert.LessOrEqual(t, some, len(other.Pix)/60, "%s: pixels that differ by more than a quarter", names[i])
				if i == 0 { // the measure sees an edge's width
					much, _ = beyondEdge(moved(browser, 2), other)
					assert.Greater(t, much, 100, "%s, moved by two pixels", names[i])
				}
			}
		}
	}
}

// A file of its own, with the faces in it, looks the same.
func TestSVGFileInTheBrowser(t *testing.T) {
	chromium := rendertest.Chromium(t)
	all, err := examples()
	require.NoError(t, err)
	const dpi = 192
	p := all["thimble-gulch"].deck.Faces[0].Back.Page()
	w, h := pixels(p.Width, dpi), pixels(p.Height, dpi)
	svg := svgOf(t, &p, render.SVGOptions{Label: "back", Language: "en"})
	got := grey(chromium.Image(t, "back.svg", svg, w, h, dpi))
	much, _ := beyondEdge(got, rendertest.Open(t, pdfPages(t, []layout.Page{p})).Image(0, dpi))
	assert.Zero(t, much)
	read, err := rendertest.DecodeQR(got, got.Rect)
	require.NoError(t, err)
	assert.Equal(t, []string{all["thimble-gulch"].deck.Faces[0].Card.List.Text}, read)
}

func pdfPages(t *testing.T, pages []layout.Page) []byte {
	t.Helper()
	d := &layout.Document{}
	for _, p := range pages {
		p.Bookmarks = nil
		d.Pages = append(d.Pages, p)
	}
	var b bytes.Buffer
	require.NoError(t, render.PDF(&b, d, time.Date(2027, 8, 14, 0, 0, 0, 0, time.UTC)))
	return b.Bytes()
}

func pixels(mm float64, dpi int) int { return int(math.Ceil(mm * float64(dpi) / 25.4)) }

// inBrowser draws pages as linked SVG, some below each other in one page of HTML,
// and gives the pictures of each of these with the number of those before.
func inBrowser(t *testing.T, c rendertest.ChromiumTool, pages []layout.Page, dpi int) iter.Seq2[int, []*image.Gray] {
	t.Helper()
	const high = 8000 // pixels of a page of HTML
	var style strings.Builder
	dir := t.TempDir()
	style.WriteString("<!doctype html><meta charset=utf-8><style>body{margin:0}div{position:absolute;left:0;line-height:0}\n")
	style.WriteString(render.SVGStyle(func(f fonts.Face) string {
		path := filepath.Join(dir, f.String()+".ttf")
		require.NoError(t, os.WriteFile(path, f.Data(), 0o600))
		return "file://" + path
	}))
	style.WriteString("</style>")
	return func(yield func(int, []*image.Gray) bool) {
		for done := 0; done < len(pages); {
			html := bytes.NewBufferString(style.String())
			y, wide := 0, 0
			var at []image.Rectangle
			for i := done; i < len(pages) && (i == done || y+pixels(pages[i].Height, dpi) < high); i++ {
				w, h := pixels(pages[i].Width, dpi), pixels(pages[i].Height, dpi)
				fmt.Fprintf(html, "<div style='top:%gpx'>", float64(y)*96/float64(dpi))
				require.NoError(t, render.SVG(html, &pages[i], render.SVGOptions{Linked: true}))
				html.WriteString("</div>")
				at = append(at, image.Rect(0, y, w, y+h))
				y += (h + 7) / 4 * 4 // whole pixels of CSS
				wide = max(wide, w)
			}
			img := c.Image(t, "page.html", html.Bytes(), wide, y, dpi)
			var pictures []*image.Gray
			for _, r := range at {
				pictures = append(pictures, greyOf(img, r))
			}
			if !yield(done, pictures) {
				return
			}
			done += len(at)
		}
	}
}

// greyOf is a part of a picture in grey.
func greyOf(img image.Image, r image.Rectangle) *image.Gray {
	g := image.NewGray(image.Rect(0, 0, r.Dx(), r.Dy()))
	pix, stride := []uint8(nil), 0
	switch m := img.(type) {
	case *image.RGBA: // opaque
		pix, stride = m.Pix, m.Stride
	case *image.NRGBA:
		pix, stride = m.Pix, m.Stride
	default:
		draw.Draw(g, g.Rect, img, r.Min, draw.Src)
		return g
	}
	for y := range r.Dy() {
		for x := range r.Dx() {
			i := (r.Min.Y+y)*stride + (r.Min.X+x)*4
			g.Pix[y*g.Stride+x] = uint8((299*int(pix[i]) + 587*int(pix[i+1]) + 114*int(pix[i+2])) / 1000)
		}
	}
	return g
}

// moved is a picture with everything so many pixels further right.
func moved(m *image.Gray, by int) *image.Gray {
	out := image.NewGray(m.Rect)
	draw.Draw(out, out.Rect, image.White, image.Point{}, draw.Src)
	draw.Draw(out, out.Rect.Add(image.Pt(by, 0)), m, m.Rect.Min, draw.Src)
	return out
}

// beyondEdge counts the pixels of either picture that no pixel at the same place or
// beside it in the other one comes near to: by two thirds of the way from black
// to white, and by a quarter.
func beyondEdge(a, b *image.Gray) (much, some int) {
	r := a.Rect.Intersect(b.Rect)
	count := func(a, b *image.Gray) {
		for y := r.Min.Y; y < r.Max.Y; y++ {
			for x := r.Min.X; x < r.Max.X; x++ {
				v := int(a.Pix[y*a.Stride+x])
				if d := v - int(b.Pix[y*b.Stride+x]); -64 <= d && d <= 64 {
					continue
				}
				lo, hi := 255, 0
				for yy := max(y-1, r.Min.Y); yy <= min(y+1, r.Max.Y-1); yy++ {
					for xx := max(x-1, r.Min.X); xx <= min(x+1, r.Max.X-1); xx++ {
						w := int(b.Pix[yy*b.Stride+xx])
						lo, hi = min(lo, w), max(hi, w)
					}
				}
				switch d := max(lo-v, v-hi); {
				case d > 170:
					much++
				case d > 64:
					some++
				}
			}
		}
	}
	count(a, b)
	count(b, a)
	return much, some
}

// The front of a card as the desk shows it, and a wall sheet.
func BenchmarkSVG(b *testing.B) {
	all, err := examples()
	require.NoError(b, err)
	e := all["thimble-gulch"]
	list, _ := wall.List(e.resolved, wall.Options{})
	for _, c := range []struct {
		name string
		page layout.Page
	}{{"front", e.deck.Faces[0].Front.Page()}, {"back", e.deck.Faces[0].Back.Page()}, {"wall", list.Pages[0]}} {
		for _, linked := range []bool{true, false} {
			b.Run(fmt.Sprintf("%s/linked=%t", c.name, linked), func(b *testing.B) {
				b.ReportAllocs()
				n := 0
				for b.Loop() {
					n = len(svgOf(b, &c.page, render.SVGOptions{Linked: linked}))
				}
				b.ReportMetric(float64(n), "B/svg")
			})
		}
	}
}
