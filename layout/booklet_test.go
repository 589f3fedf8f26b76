package layout_test

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"slotcard/fonts"
	"slotcard/layout"
	"slotcard/layout/book"
	"slotcard/layout/impose"
)

// numbered is a document whose pages bear their number and nothing else.
func numbered(pages int, size layout.Size) *layout.Document {
	d := &layout.Document{Title: "Numbers", Language: "en"}
	for i := range pages {
		d.Pages = append(d.Pages, layout.Page{Width: size.Width, Height: size.Height, Items: []layout.Item{
			layout.Text{X: size.Width / 2, Y: size.Height / 2, Face: fonts.Bold, Size: 12, S: fmt.Sprint(i + 1)}}})
	}
	return d
}

// numberOf is the number that a page in its place bears, 0 where it is no page.
func numberOf(p layout.Placed) (n int) {
	if len(p.Panel.Items) == 1 {
		fmt.Sscan(p.Panel.Items[0].(layout.Text).S, &n)
	}
	return n
}

func numbersOn(p layout.Page) (all []int) {
	for _, pl := range placedOn(p) {
		if n := numberOf(pl); n > 0 {
			all = append(all, n)
		}
	}
	return all
}

// The order of a booklet of two sheets, as anyone finds it who folds two sheets
// of paper, numbers the pages and unfolds them; and the rule of saddle stitching
// for sheet i of n, counted from 0: front 4n-2i | 2i+1, back 2i+2 | 4n-2i-1
// (published; common practice of printers).
func TestBookletFollowsTheRule(t *testing.T) {
	a6, _ := book.Format("a6")
	letter, _ := layout.PaperSize("letter")
	d, err := impose.Booklet(numbered(8, a6), letter, nil)
	require.NoError(t, err)
	var got [][]int
	for _, p := range d.Pages {
		got = append(got, numbersOn(p))
	}
	assert.Equal(t, [][]int{{8, 1}, {2, 7}, {6, 3}, {4, 5}}, got)

	for pages := 4; pages <= 64; pages += 4 {
		d, err := impose.Booklet(numbered(pages, a6), letter, nil)
		require.NoError(t, err)
		n := pages / 4
		require.Len(t, d.Pages, 2*n)
		for i := range n {
			assert.Equal(t, []int{4*n - 2*i, 2*i + 1}, numbersOn(d.Pages[2*i]), "%d pages, sheet %d, front", pages, i)
			assert.Equal(t, []int{2*i + 2, 4*n - 2*i - 1}, numbersOn(d.Pages[2*i+1]), "%d pages, sheet %d, back", pages, i)
		}
	}
}

// Pages that are missing for a whole sheet are blank and come last.
func TestBookletOfAnyNumberOfPages(t *testing.T) {
	a6, _ := book.Format("a6")
	letter, _ := layout.PaperSize("letter")
	d, err := impose.Booklet(numbered(5, a6), letter, nil)
	require.NoError(t, err)
	assert.Equal(t, []int{1}, numbersOn(d.Pages[0]), "page 8 is blank")
	assert.Equal(t, []int{4, 5}, numbersOn(d.Pages[3]))
	_, err = impose.Booklet(&layout.Document{}, letter, nil)
	require.EqualError(t, err, "there are no pages to make a booklet of")
	half, _ := book.Format("half-letter")
	a4, _ := layout.PaperSize("a4")
	_, err = impose.Booklet(numbered(4, half), a4, nil)
	require.EqualError(t, err, "two pages side by side, 279.4 x 215.9 mm, do not fit on paper of size a4, 210.0 x 297.0 mm")
	mixed := numbered(4, a6)
	mixed.Pages[2].Width++
	_, err = impose.Booklet(mixed, letter, nil)
	require.ErrorContains(t, err, "page 3 is 106.0 x 148.0 mm")
}

// On every paper that holds the format: no page leaves the paper or lies over
// another, behind each page lies the one that is read next, head behind head,
// and no mark lies on a page but the ticks of the fold.
func TestBookletBacksLieBehindFronts(t *testing.T) {
	const pages = 24
	held := map[string]int{}
	for _, size := range book.Formats() {
		for _, paper := range layout.PaperSizes() {
			d, err := impose.Booklet(numbered(pages, size), paper, nil)
			if err != nil {
				continue
			}
			held[size.Name]++
			seen := map[int]bool{}
			for s := 0; s < len(d.Pages); s += 2 {
				about := fmt.Sprintf("%s on %s, sheet %d", size.Name, paper.Name, s/2)
				backs := map[rect]layout.Placed{}
				var fields []rect
				for _, b := range placedOn(d.Pages[s+1]) {
					r := fieldOf(b)
					backs[roundRect(rect{paper.Width - r.x1, r.y0, paper.Width - r.x0, r.y1})] = b
				}
				for _, f := range placedOn(d.Pages[s]) {
					if numberOf(f) == 0 {
						continue
					}
					r := fieldOf(f)
					require.True(t, r.inside(rect{0, 0, paper.Width, paper.Height}), about)
					for _, o := range fields {
						require.False(t, r.overlaps(o), about)
					}
					fields = append(fields, r)
					b, ok := backs[roundRect(r)]
					require.True(t, ok, "%s: nothing lies behind page %d", about, numberOf(f))
					front, back := numberOf(f), numberOf(b)
					seen[front], seen[back] = true, true
					if front%2 == 1 {
						require.Equal(t, front+1, back, about)
					} else {
						require.Equal(t, front-1, back, about)
					}
					// Seen through the paper, left and right change places.
					require.Equal(t, 0, (f.Turn+b.Turn)%4, about)
				}
				require.NotEmpty(t, fields, about)
				for _, it := range d.Pages[s].Items {
					if l, ok := it.(layout.Line); ok && l.Dash == 0 {
						line := rect{min(l.X1, l.X2), min(l.Y1, l.Y2), max(l.X1, l.X2), max(l.Y1, l.Y2)}
						for _, f := range fields {
							require.False(t, line.overlaps(f), "%s: a mark at %s lies on a page at %s", about, line, f)
						}
					}
				}
			}
			require.Len(t, seen, pages, "%s on %s", size.Name, paper.Name)
		}
	}
	for _, size := range book.Formats() {
		assert.GreaterOrEqual(t, held[size.Name], 4, "papers that hold %s", size.Name)
	}
}

func fieldOf(p layout.Placed) rect {
	w, h := p.Panel.Width, p.Panel.Height
	if p.Turn%2 == 1 {
		w, h = h, w
	}
	return rect{p.X, p.Y, p.X + w, p.Y + h}
}

func roundRect(r rect) rect {
	round := func(v float64) float64 { return float64(int(v*100+0.5)) / 100 }
	return rect{round(r.x0), round(r.y0), round(r.x1), round(r.y1)}
}

// What stands on the paper beside the pages says how to print and fold, also
// where the book fills the paper: there on the foot of the last page, which the
// book leaves free.
func TestBookletSaysHowToPrintAndFold(t *testing.T) {
	l := exampleLoad(t)
	letter, _ := layout.PaperSize("letter")
	for _, size := range book.Formats() {
		book, findings := book.Book(l, book.Options{Format: size})
		require.NotNil(t, book, "%v", findings)
		d, err := impose.Booklet(book, letter, nil)
		require.NoError(t, err)
		said := ""
		for _, it := range d.Pages[0].Items {
			switch it := it.(type) {
			case layout.Text:
				said += it.S + " "
			case layout.Placed:
				if it.Panel.Height < size.Height { // the note on the last page
					for _, i := range it.Panel.All() {
						if text, ok := i.(layout.Text); ok {
							said += text.S + " "
						}
					}
					note := fieldOf(it)
					last := placedOn(d.Pages[0])[0]
					in := inspect(last.Panel)
					require.True(t, note.inside(fieldOf(last)), size.Name)
					up := it.Panel.Height + layout.PrintEdge
					for k, ink := range in.inks {
						require.LessOrEqual(t, ink.y1, size.Height-up, "%q stands where the note goes", in.texts[k].S)
					}
				}
			}
		}
		assert.Contains(t, said, "flip on the long edge", size.Name)
		assert.Contains(t, said, "staple", size.Name)
	}
}
