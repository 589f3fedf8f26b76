package render

import (
	"bytes"
	"fmt"
	"math"
	"os"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"slotcard/fonts"
	"slotcard/layout"
	"slotcard/layout/book"
	"slotcard/layout/impose"
	"slotcard/plan"
	"slotcard/plan/plantest"
	"slotcard/render/rendertest"
)

// Booklets as another engine reads them: PDFium finds the page numbers in the
// PDF with their places and directions, and from these alone the sheets are
// stacked, folded and leafed through.

// onPaper is a page number where PDFium finds it.
type onPaper struct {
	number int
	x, y   float64 // mm
	dx, dy float64 // direction in which it is read
}

// numbersIn are the page numbers on a side of paper.
func numbersIn(t *testing.T, doc *rendertest.Doc, page int) (all []onPaper) {
	t.Helper()
	for _, r := range doc.Text(page) {
		s, ok := strings.CutPrefix(r.S, "p")
		n, err := strconv.Atoi(s)
		if !ok || err != nil {
			continue
		}
		// PDFium counts angles clockwise, seen on the page.
		sin, cos := math.Sincos(r.Angle * math.Pi / 180)
		all = append(all, onPaper{n, r.OriginX, r.Baseline, math.Round(cos), math.Round(sin)})
	}
	return all
}

// spreadsOf pairs the numbers of a side: two that stand on one line, as they
// are read, are a spread, the first one left. Spreads are in order from the top
// of the paper.
func spreadsOf(t *testing.T, all []onPaper) (spreads [][2]onPaper) {
	t.Helper()
	for len(all) > 0 {
		a := all[0]
		i := slices.IndexFunc(all, func(b onPaper) bool {
			across := (b.x-a.x)*a.dy - (b.y-a.y)*a.dx
			return b.number != a.number && math.Abs(across) < 0.5
		})
		require.Positive(t, i, "page %d stands alone", a.number)
		b := all[i]
		if (b.x-a.x)*a.dx+(b.y-a.y)*a.dy < 0 {
			a, b = b, a
		}
		require.Equal(t, []float64{a.dx, a.dy}, []float64{b.dx, b.dy}, "pages %d and %d are read in one direction", a.number, b.number)
		spreads = append(spreads, [2]onPaper{a, b})
		all = slices.Delete(all, i, i+1)[1:]
	}
	slices.SortStableFunc(spreads, func(p, q [2]onPaper) int {
		return int(math.Round(min(p[0].y, p[1].y) - min(q[0].y, q[1].y)))
	})
	return spreads
}

func TestFoldedBookletReadsInOrder(t *testing.T) {
	t.Parallel()
	for _, c := range []struct{ format, paper string }{{"a6", "letter"}, {"a7", "letter"}, {"half-letter", "letter"}, {"a6", "a4"}, {"half-letter", "tabloid"}} {
		size, ok := book.Format(c.format)
		require.True(t, ok)
		paper, ok := layout.PaperSize(c.paper)
		require.True(t, ok)
		for pages := 4; pages <= 64; pages += 4 {
			if c.format != "a6" && pages%20 != 4 {
				continue
			}
			about := fmt.Sprintf("%d pages of %s on %s", pages, c.format, c.paper)
			in := &layout.Document{Title: about, Language: "en"}
			for i := range pages {
				// In the middle, so that a number and the one behind it coincide.
				s := fmt.Sprintf("p%d", i+1)
				in.Pages = append(in.Pages, layout.Page{Width: size.Width, Height: size.Height, Items: []layout.Item{
					layout.Text{X: size.Width / 2, Y: size.Height / 2, Face: fonts.Mono, Size: 12, S: s}}})
			}
			out, err := impose.Booklet(in, paper, nil)
			require.NoError(t, err, about)
			var pdf bytes.Buffer
			require.NoError(t, PDF(&pdf, out, created))
			t.Run(about, func(t *testing.T) { leafThrough(t, rendertest.Open(t, pdf.Bytes()), paper.Width, pages, about) })
		}
	}
}

// leafThrough flips, cuts, stacks and folds what PDFium has read.
func leafThrough(t *testing.T, doc *rendertest.Doc, width float64, pages int, about string) {
	t.Helper()
	papers := doc.Pages() / 2
	type sheet struct{ front, back [2]int }
	var piles [][]sheet // by place on the paper
	for s := range papers {
		fronts, backs := spreadsOf(t, numbersIn(t, doc, 2*s)), spreadsOf(t, numbersIn(t, doc, 2*s+1))
		require.Len(t, backs, len(fronts), about)
		for place, f := range fronts {
			b := backs[place]
			// Flipped on the long edge, left and right change places: behind the
			// right page lies the left one of the back, head behind head.
			for k, other := range []int{1, 0} {
				require.InDelta(t, width-f[k].x, b[other].x, 0.5, "%s: behind page %d", about, f[k].number)
				require.InDelta(t, f[k].y, b[other].y, 0.5, "%s: behind page %d", about, f[k].number)
				// What reads to the right reads to the left from behind; what
				// reads upwards goes on reading downwards, with heads together.
				if f[k].dx != 0 {
					require.Equal(t, f[k].dx, b[other].dx, about)
				} else {
					require.Equal(t, -f[k].dy, b[other].dy, about)
				}
			}
			if place == len(piles) {
				piles = append(piles, nil)
			}
			piles[place] = append(piles[place], sheet{[2]int{f[0].number, f[1].number}, [2]int{b[0].number, b[1].number}})
		}
	}
	stack := slices.Concat(piles...) // the outermost first, its front outside
	var read []int
	for _, s := range stack {
		read = append(read, s.front[1], s.back[0])
	}
	for _, s := range slices.Backward(stack) {
		read = append(read, s.back[1], s.front[0])
	}
	require.Len(t, read, pages, about)
	for i, n := range read {
		require.Equal(t, i+1, n, "%s: leaf through %v", about, read)
	}
}

// The pages of the example's book bear their numbers at the outer edge, right
// on odd pages and left on even ones, as PDFium reads them.
func TestBookOfTheExampleIsNumbered(t *testing.T) {
	t.Parallel()
	l, findings, err := plan.ReadLoad("../examples/thimble-gulch/load.toml", plan.Options{ReadFile: os.ReadFile})
	require.NoError(t, err)
	require.Empty(t, findings)
	book, findings := book.Book(l, book.Options{})
	require.NotNil(t, book, "%v", findings)
	var pdf bytes.Buffer
	require.NoError(t, PDF(&pdf, book, time.Date(2027, 3, 1, 0, 0, 0, 0, time.UTC)))
	doc := rendertest.Open(t, pdf.Bytes())
	require.Equal(t, len(book.Pages), doc.Pages())
	for i := 1; i < doc.Pages()-1; i++ {
		w, h := doc.Size(i)
		found := false
		for _, r := range doc.Text(i) {
			if r.S != strconv.Itoa(i+1) || r.Baseline < h-6 {
				continue
			}
			found = true
			if i%2 == 0 {
				assert.Greater(t, r.OriginX, w*0.85, "page %d", i+1)
			} else {
				assert.Less(t, r.OriginX, w*0.15, "page %d", i+1)
			}
		}
		assert.True(t, found, "page %d bears no number", i+1)
	}
	assert.Contains(t, doc.Meta("Title"), "edition 2027")
	marks := doc.Bookmarks()
	assert.Equal(t, "Quillback Range cooperators", marks[0].Title)
	assert.Equal(t, "1 Quillback local", marks[2].Title)
}

func BenchmarkBookOf2000Channels(b *testing.B) {
	l := plantest.Load(plantest.LoadShape{Groups: 50, Channels: 40, NameLength: 10, WordLength: 7, Words: 2, Remarks: 4, Sites: 20, Tones: 16, Trunked: true})
	b.ReportAllocs()
	for b.Loop() {
		book, findings := book.Book(l, book.Options{})
		if book == nil {
			b.Fatal(findings)
		}
		letter, _ := layout.PaperSize("letter")
		imposed, err := impose.Booklet(book, letter, nil)
		if err != nil {
			b.Fatal(err)
		}
		var pdf bytes.Buffer
		if err := PDF(&pdf, imposed, created); err != nil {
			b.Fatal(err)
		}
	}
}
