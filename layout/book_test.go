package layout_test

import (
	"flag"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"slotcard/fonts"
	"slotcard/layout"
	"slotcard/layout/book"
	"slotcard/layout/set"
	"slotcard/plan"
	"slotcard/plan/finding"
	"slotcard/plan/plantest"
	"slotcard/plan/radio"
)

var loads = flag.Int("loads", 16, "random loads of the property test of the book")

// pageOfBook inspects a page of the book as a panel.
func pageOfBook(d *layout.Document, i int) inspected {
	p := &d.Pages[i]
	return inspect(&layout.Panel{Width: p.Width, Height: p.Height, Items: p.Items})
}

// bookIndex is what the pages of a book hold, by the title of their part.
type bookIndex struct {
	pages  []inspected
	starts map[string]int // page, from 1, on which a bookmark stands
}

func readBook(d *layout.Document) bookIndex {
	b := bookIndex{starts: map[string]int{}}
	for i := range d.Pages {
		b.pages = append(b.pages, pageOfBook(d, i))
		for _, m := range d.Pages[i].Bookmarks {
			b.starts[m.Title] = i + 1
		}
	}
	return b
}

// lines are the texts of a page from the top, those of one baseline together.
func (in inspected) lines() []string {
	texts := slices.Clone(in.texts)
	slices.SortStableFunc(texts, func(a, b layout.Text) int {
		if math.Abs(a.Y-b.Y) > 0.01 {
			return cmpFloat(a.Y, b.Y)
		}
		return cmpFloat(a.X, b.X)
	})
	var out []string
	for i, t := range texts {
		if i > 0 && math.Abs(t.Y-texts[i-1].Y) <= 0.01 {
			out[len(out)-1] += " " + t.S
		} else {
			out = append(out, t.S)
		}
	}
	return out
}

func cmpFloat(a, b float64) int {
	switch {
	case a < b:
		return -1
	case a > b:
		return 1
	}
	return 0
}

// wordSet are texts, and the words of texts.
type wordSet map[string]bool

func saidOn(pages []inspected) wordSet {
	all := wordSet{}
	for _, p := range pages {
		for _, t := range p.texts {
			all[t.S] = true
			for _, w := range strings.Fields(t.S) {
				all[w] = true
			}
		}
	}
	return all
}

// from are the pages from the one with a bookmark to the one before the other.
func (b bookIndex) from(title, next string) []inspected {
	return b.pages[b.starts[title]-1 : b.starts[next]-1]
}

// checkBook inspects every page: all inside, nothing over anything else, no type
// too small, every channel in its group and in both indexes.
func checkBook(t *testing.T, l *plan.Load, d *layout.Document, about string) {
	t.Helper()
	require.Zero(t, len(d.Pages)%4, "%s: %d pages", about, len(d.Pages))
	b := readBook(d)
	size := layout.Size{Width: d.Pages[0].Width, Height: d.Pages[0].Height}
	keys := map[string]bool{}
	for _, c := range l.Channels() {
		keys[c.Name] = true
	}
	for i, p := range b.pages {
		require.Empty(t, p.faults(size), "%s: page %d", about, i+1)
		for _, text := range p.texts {
			if keys[text.S] || text.Face == fonts.MonoBold && isNumber(text.S) && text.Ink == layout.Black {
				require.GreaterOrEqual(t, fonts.CapMM(text.Size), layout.CapKey-1e-9, "%s: %q on page %d", about, text.S, i+1)
			}
		}
		if i > 0 && i < len(b.pages)-1 {
			require.True(t, saidOn(b.pages[i : i+1])[strconv.Itoa(i+1)], "%s: page %d bears no number", about, i+1)
		}
		if l.About.Exercise {
			require.True(t, p.says("EXERCISE"), "%s: page %d is not marked", about, i+1)
		}
	}
	for gi, g := range l.Groups {
		at := b.starts[fmt.Sprintf("%d %s", g.Number, g.Name)]
		require.Positive(t, at, about)
		require.True(t, b.pages[at-1].says(g.Name), "%s: page %d does not name %s", about, at, g.Name)
		end := len(b.pages)
		if gi+1 < len(l.Groups) {
			end = b.starts[fmt.Sprintf("%d %s", l.Groups[gi+1].Number, l.Groups[gi+1].Name)]
		}
		texts := saidOn(b.pages[at-1 : end])
		for _, c := range g.Channels {
			want := []string{c.Name, strconv.Itoa(c.Number)}
			if !c.Trunked() {
				want = append(want, c.Rx.String(), tonesOf(c))
				if c.Rx != c.Tx {
					want = append(want, c.Tx.String())
				}
			}
			for _, s := range want {
				require.True(t, texts[s], "%s: group %d does not say %q", about, g.Number, s)
			}
		}
	}
	numeric := saidOn(b.from("Index by receive frequency", "Index by name"))
	behind := "Notes"
	if b.starts[behind] == 0 {
		behind = "How to read this book"
		require.False(t, b.pages[1].says("Notes"), "%s: the contents name pages that there are not", about)
	} else {
		require.LessOrEqual(t, b.starts["How to read this book"]-b.starts[behind], 3, "%s: a sheet of nothing but notes", about)
	}
	byName := saidOn(b.from("Index by name", behind))
	for _, c := range l.Channels() {
		want := []string{c.Name, c.Place()}
		for _, s := range want {
			require.True(t, byName[s], "%s: no %q by name", about, s)
		}
		if c.Trunked() {
			want = append(want, strings.Fields(c.Talkgroup)...)
		} else {
			want = append(want, c.Rx.String(), tonesOf(c))
		}
		for _, s := range want {
			require.True(t, numeric[s], "%s: no %q by frequency", about, s)
		}
	}
	require.True(t, slices.IsSorted(firstFrequencies(b)), "%s: the numeric index is in order", about)
	sites := ""
	if len(l.Sites) > 0 {
		for _, p := range b.from("Repeater sites", "Index by receive frequency") {
			sites += " " + strings.Join(textsOf(p), " ")
		}
	}
	for _, s := range l.Sites {
		require.Contains(t, sites, s.Name, about)
	}
}

func tonesOf(c *plan.Channel) string { return c.RxTone.String() + "/" + c.TxTone.String() }

func textsOf(p inspected) (all []string) {
	for _, t := range p.texts {
		all = append(all, t.S)
	}
	return all
}

func isNumber(s string) bool {
	_, err := strconv.Atoi(s)
	return err == nil
}

// firstFrequencies are the bold frequencies of the numeric index, in hertz, as
// they follow each other.
func firstFrequencies(b bookIndex) (all []radio.Hertz) {
	for _, p := range b.pages[b.starts["Index by receive frequency"]-1 : b.starts["Index by name"]-1] {
		texts := slices.Clone(p.texts)
		slices.SortStableFunc(texts, func(a, c layout.Text) int { return cmpFloat(a.Y, c.Y) })
		key := 0.0 // names and frequencies have the largest type
		for _, t := range texts {
			if t.Face == fonts.MonoBold && t.Ink == layout.Black {
				key = max(key, t.Size)
			}
		}
		for _, t := range texts {
			if t.Face == fonts.MonoBold && t.Ink == layout.Black && t.Size == key {
				if h, err := radio.ParseMHz(t.S); err == nil && strings.Contains(t.S, ".") {
					all = append(all, h)
				}
			}
		}
	}
	return all
}

// A load of 1 to 50 groups and up to 2,000 channels, some with long names and
// remarks, some digital or trunked, some in several groups, many sharing a
// frequency: none on any format leaves its page, or a finding names what does.
func TestBooksOfRandomLoads(t *testing.T) {
	t.Parallel()
	fits, unfit := map[string]int{}, map[string]int{}
	for seed := range uint64(*loads) {
		r := rand.New(rand.NewPCG(seed, 5))
		n := func(lo, hi int) int { return lo + r.IntN(hi-lo+1) }
		s := plantest.LoadShape{Seed: seed, Groups: n(1, 12), Channels: n(1, 40), NameLength: n(4, 24), WordLength: n(3, 11), Words: n(1, 4),
			Remarks: n(0, 14), Sites: n(0, 6), Tones: n(0, 16), Digital: n(0, 1) == 1, Trunked: n(0, 1) == 1, Exercise: n(0, 1) == 1}
		if seed == 0 {
			s.Groups, s.Channels = 50, 40
		}
		l := plantest.Load(s)
		formats := book.Formats()
		if seed == 0 {
			formats = formats[1:2] // large enough to take a while
		}
		for _, size := range formats {
			about := fmt.Sprintf("load %d %+v on %s", seed, s, size.Name)
			d, findings := book.Book(l, book.Options{Format: size})
			if d != nil {
				require.Empty(t, findings)
				fits[size.Name]++
				checkBook(t, l, d, about)
				continue
			}
			unfit[size.Name]++
			require.NotEmpty(t, findings, about)
			for _, f := range findings {
				require.Equal(t, "does-not-fit", f.Rule)
				require.NotEmpty(t, f.Data["text"], about)
				require.NotEmpty(t, f.Help, about)
			}
			checkNamedFormat(t, l, findings, about)
		}
	}
	for _, size := range book.Formats() {
		t.Logf("%-12s fits %3d, does not fit %3d", size.Name, fits[size.Name], unfit[size.Name])
		assert.Positive(t, fits[size.Name], "no random load fits on %s", size.Name)
	}
}

// checkNamedFormat tries the format that findings name: where all name one, the
// largest of them holds the book.
func checkNamedFormat(t *testing.T, l *plan.Load, findings finding.List, about string) {
	t.Helper()
	var largest layout.Size
	for _, f := range findings {
		name, ok := f.Data["fits"].(string)
		if !ok {
			return
		}
		size, ok := book.Format(name)
		require.True(t, ok)
		if size.Height > largest.Height {
			largest = size
		}
	}
	d, more := book.Book(l, book.Options{Format: largest})
	require.NotNil(t, d, "%s: %v", about, more)
}

// A name that no page holds is named, with the format that holds it.
func TestBookSaysWhatDoesNotFit(t *testing.T) {
	l := plantest.Load(plantest.LoadShape{Groups: 1, Channels: 2, NameLength: 5, WordLength: 5, Words: 1})
	l.Groups[0].Channels[1].Name = "A NAME OF TWENTY-NINE LETTERS"
	a7, _ := book.Format("a7")
	d, findings := book.Book(l, book.Options{Format: a7})
	require.Nil(t, d)
	require.NotEmpty(t, findings)
	assert.Equal(t, `the book does not fit on pages of a7 at its smallest legible type: no room for "A NAME OF TWENTY-NINE LETTERS"`, findings[0].Message)
	assert.Equal(t, []string{"the smallest format that holds it is a6: --format a6; or shorten the text"}, findings[0].Help)
	assert.Equal(t, "a6", findings[0].Data["fits"])
	d, findings = book.Book(l, book.Options{})
	require.NotNil(t, d, "%v", findings)

	l.Groups[0].Channels[1].Remarks = strings.Repeat("x", 200)
	_, findings = book.Book(l, book.Options{})
	require.Len(t, findings, 1)
	assert.Equal(t, []string{"no format holds it: shorten the text"}, findings[0].Help)
}

// Two channels with one frequency and different tones stand together, and what
// differs is bold.
func TestNumericIndexTellsChannelsApart(t *testing.T) {
	l := plantest.Load(plantest.LoadShape{Groups: 1, Channels: 3, NameLength: 5, WordLength: 5, Words: 1})
	c := l.Groups[0].Channels
	c[0].Name, c[1].Name, c[2].Name = "ALPHA", "BRAVO", "CHARLIE"
	for i, tone := range []int{1035, 1273, 1035} {
		c[i].Rx, c[i].Tx, c[i].RxTone, c[i].TxTone = 154_280_000, 154_280_000, radio.Squelch{}, radio.Tone(tone)
	}
	c[2].Rx, c[2].Tx = 154_295_000, 154_295_000
	d, findings := book.Book(l, book.Options{})
	require.NotNil(t, d, "%v", findings)
	b := readBook(d)
	page := b.pages[b.starts["Index by receive frequency"]-1]
	var said []string
	for _, line := range page.lines() {
		if strings.Contains(line, "1-0") {
			said = append(said, line)
		}
	}
	assert.Equal(t, []string{"154.2800 direct -/103.5 ALPHA 1-01", "direct -/127.3 BRAVO 1-02", "154.2950 direct -/103.5 CHARLIE 1-03"}, said)
	for _, text := range page.texts {
		switch text.S {
		case "-/127.3":
			assert.Equal(t, fonts.MonoBold, text.Face)
		case "direct":
			assert.Equal(t, fonts.Regular, text.Face, "both are direct")
		}
	}
}

// The cover names the load, its edition and its days, the color in words, and
// the channel that shows the edition.
func TestCoverOfTheBook(t *testing.T) {
	l := plantest.Load(plantest.LoadShape{Groups: 1, Channels: 3, NameLength: 5, WordLength: 5, Words: 1})
	l.About.Name, l.About.Colour = "Quillback Range cooperators", "orange"
	l.Groups[0].Channels[1].Name, l.Groups[0].Channels[1].EditionMark = "QB TRAV 27", true
	for _, size := range book.Formats() {
		d, findings := book.Book(l, book.Options{Format: size})
		require.NotNil(t, d, "%v", findings)
		cover := pageOfBook(d, 0)
		for _, s := range []string{"ORANGE", "2027", "valid 1 Mar 2027 to 31 Mar 2028", "Is this radio current?", "QB TRAV 27", "1-02", "like this cover."} {
			assert.True(t, cover.says(s), "%s: %q", size.Name, s)
		}
		assert.True(t, cover.says("Quillback Range cooperators") || cover.says("Quillback Range"), size.Name)
	}
}

// The word for the color stands on a white plate on the band, so that its
// contrast is 21 to 1 whatever the color (WCAG 2, testdata/legibility.csv), and
// a color that nobody knows is a band without one.
func TestCoverCarriesTheColourInWords(t *testing.T) {
	l := plantest.Load(plantest.LoadShape{Groups: 1, Channels: 3, NameLength: 5, WordLength: 5, Words: 1})
	for colour, want := range map[string]struct {
		ink   layout.Ink
		known bool
	}{
		// Colors of SVG 1.1 (W3C), read from memory.
		"red": {layout.Ink{R: 255}, true}, "Yellow": {layout.Ink{R: 255, G: 255}, true}, "dark green": {layout.Ink{G: 100}, true},
		"light-blue": {layout.Ink{R: 173, G: 216, B: 230}, true}, "smokejumper beige": {}, "black": {layout.Ink{}, true},
	} {
		ink, known := set.CoverInk(colour)
		assert.Equal(t, want.known, known, colour)
		assert.Equal(t, want.ink, ink, colour)
		l.About.Colour = colour
		d, findings := book.Book(l, book.Options{})
		require.NotNil(t, d, "%v", findings)
		var band, plate, word rect
		for _, it := range d.Pages[0].Items {
			switch it := it.(type) {
			case layout.Box:
				r := rect{it.X, it.Y, it.X + it.W, it.Y + it.H}
				if it.FillInk == layout.White && it.Fill {
					plate = r
				} else if r.y1-r.y0 > 10 {
					band = r
					assert.Equal(t, want.known, it.Fill, colour)
					assert.Equal(t, want.ink, it.FillInk, colour)
				}
			case layout.Text:
				assert.Equal(t, layout.Black, it.Ink, "%q is black", it.S)
				if it.S == strings.ToUpper(colour) {
					word = inkOf(it)
				} else {
					assert.False(t, inkOf(it).overlaps(band), "%q stands on the color", it.S)
				}
			}
		}
		assert.True(t, word != rect{} && word.inside(plate) && plate.inside(band), "%s: %s in %s in %s", colour, word, plate, band)
	}
}

// The book of the example, as a text dump.
func TestBookOfTheExample(t *testing.T) {
	l := exampleLoad(t)
	d, findings := book.Book(l, book.Options{})
	require.NotNil(t, d, "%v", findings)
	checkBook(t, l, d, "example")
	golden(t, "book-thimble-gulch.txt", d)
}

func exampleLoad(t testing.TB) *plan.Load {
	t.Helper()
	dir := filepath.Join("..", "examples", "thimble-gulch")
	l, findings, err := plan.ReadLoad(filepath.Join(dir, "load.toml"), plan.Options{ReadFile: os.ReadFile})
	require.NoError(t, err)
	require.False(t, findings.HasErrors(), "%v", findings)
	return l
}

func BenchmarkBook(b *testing.B) {
	for _, size := range []struct{ groups, channels int }{{6, 16}, {50, 40}} {
		l := plantest.Load(plantest.LoadShape{Groups: size.groups, Channels: size.channels, NameLength: 10, WordLength: 7, Words: 2, Remarks: 4, Sites: 20, Tones: 16, Trunked: true})
		b.Run(fmt.Sprintf("channels=%d", len(l.Channels())), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if d, findings := book.Book(l, book.Options{}); d == nil {
					b.Fatal(findings)
				}
			}
		})
	}
}
