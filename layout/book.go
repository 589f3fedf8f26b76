package layout

import (
	"fmt"
	"slices"
	"strings"

	"slotcard/fonts"
	"slotcard/plan"
	"slotcard/plan/finding"
)

// BookOptions say how to lay out the book of a load.
type BookOptions struct {
	Format Size       // of a page, upright; the zero Size: a6
	Words  *BookWords // nil: English
}

// bookFormat is a size of pages, with its margins in mm.
type bookFormat struct {
	Size
	spine float64 // beside the fold, where the staples are
	edge  float64 // at the other edges: no text lies beyond
	grow  float64 // type above its least height, where that fits
}

// bookFormats, smallest first. Sources: testdata/paper.csv (ISO 216, half
// letter; secondary). Half letter fills its paper to the edge, which printers
// leave white for some millimetres (common practice).
var bookFormats = []bookFormat{
	{Size{"a7", 74, 105}, 7, 3.2, 1},
	{Size{"a6", 105, 148}, 9, 4, 1},
	{Size{"half-letter", 5.5 * inch, 8.5 * inch}, 13, 6.5, 1.25},
}

const defaultBookFormat = "a6"

// BookFormats are the sizes of pages that go by a name, smallest first.
func BookFormats() []Size {
	sizes := make([]Size, len(bookFormats))
	for i, f := range bookFormats {
		sizes[i] = f.Size
	}
	return sizes
}

// BookFormat looks a format up by its name.
func BookFormat(name string) (Size, bool) { return byName(BookFormats(), name) }

// formatOf is the format of a size; one without a name has the margins of the
// default.
func formatOf(s Size) bookFormat {
	named := func(name string) bookFormat {
		return bookFormats[slices.IndexFunc(bookFormats, func(f bookFormat) bool { return f.Name == name })]
	}
	if s == (Size{}) {
		return named(defaultBookFormat)
	}
	if _, ok := BookFormat(s.Name); ok {
		return named(s.Name)
	}
	f := named(defaultBookFormat)
	f.Size = s
	return f
}

// Book lays out the book of a load, pages in reading order and a multiple of
// four: cover, groups, each group's channels, tones and sites, the indexes by
// receive frequency and by name, notes, and how to read it on the back. Heights
// of type are those of the cards. What does not fit is a finding that names the
// text and the smallest format that holds it; then there is no document.
// [Booklet] imposes the pages for folding.
func Book(l *plan.Load, o BookOptions) (*Document, finding.List) {
	if o.Words == nil {
		o.Words = &EnglishBook
	}
	b := layBook(l, o.Words, formatOf(o.Format))
	if len(b.misfits) == 0 {
		return b.document(), nil
	}
	findings := b.findings()
	findings.Sort()
	return nil, findings
}

// findings tells of each misfit, and on which format, verified, it fits.
func (b *book) findings() finding.List {
	laid := map[string][]misfit{}
	var formats []remedy
	for _, size := range larger(BookFormats(), b.paper) {
		formats = append(formats, remedy{key: "fits", value: size.Name,
			help: fmt.Sprintf("the smallest format that holds it is %s: --format %s; or shorten the text", size.Name, size.Name),
			holds: func(m misfit) bool {
				if _, done := laid[size.Name]; !done {
					laid[size.Name] = layBook(b.load, b.words, formatOf(size)).misfits
				}
				return !slices.Contains(laid[size.Name], m)
			}})
	}
	return b.asFindings(notice{
		message: func(m misfit) string {
			return fmt.Sprintf("the book does not fit on pages of %s at its smallest legible type: no room for %q", b.paper.Name, m.text)
		},
		data:     func(m misfit) map[string]any { return map[string]any{"size": b.paper.Name, "text": m.text} },
		remedies: [][]remedy{formats},
		none:     "no format holds it: shorten the text",
	})
}

// book is a book being laid out.
type book struct {
	pager
	load    *plan.Load
	words   *BookWords
	format  bookFormat
	entries []*bookEntry
	tabs    []string // what the thumb marks say, from the head of the edge
	tabOf   map[*plan.Group]int

	columns channelColumns
	form    int   // of the rows laid out last, 0 the widest
	begins  []int // page on which what a thumb mark stands for begins; then notes, how to read

	later  []func()
	thumbs map[*page][]int // thumb marks that a page bears
	bare   map[*page]bool  // has neither foot nor page number

	key, small float64 // heights of capitals
	outer      float64 // margin at the outer edge, with room for a thumb mark
	tabWide    float64

	keyName, keyMono, keyBold, smallText, smallBold, smallMono style
}

// bookEntry is a channel and all the places where it stands in the load.
type bookEntry struct {
	*plan.Channel
	places []*plan.Channel
}

// What stands behind the groups, in the order of their thumb marks; the last two
// have none.
const (
	partTones = iota
	partFrequency
	partName
	partNotes
	partReading
)

// part is the place of one of them among thumb marks and beginnings.
func (b *book) part(i int) int { return len(b.load.Groups) + i }

// layBook lays out a book.
func layBook(l *plan.Load, w *BookWords, f bookFormat) *book {
	b := newBook(l, w, f)
	b.lay()
	return b
}

func newBook(l *plan.Load, w *BookWords, f bookFormat) *book {
	b := &book{load: l, words: w, format: f, tabOf: map[*plan.Group]int{}, thumbs: map[*page][]int{}, bare: map[*page]bool{}}
	b.paper, b.margin = f.Size, f.edge
	b.scale(f.grow)
	for _, g := range l.Groups {
		b.tabOf[g] = len(b.tabs)
		b.tabs = append(b.tabs, fmt.Sprint(g.Number))
	}
	b.tabs = append(b.tabs, w.TabTones, w.TabFrequency, w.TabName)
	said := 0.0
	for _, t := range b.tabs {
		said = max(said, b.tabStyle().width(t))
	}
	b.tabWide = b.format.edge + said + 1
	b.outer = b.tabWide + 1.2
	b.sides = func(number int) (left, right float64) {
		if number%2 == 1 {
			return f.spine, b.outer
		}
		return b.outer, f.spine
	}
	b.open = func() { b.bottom = f.Height - f.edge - b.footHigh() - 1 }
	b.entries = entriesOf(l)
	b.begins = make([]int, len(b.tabs)+2)
	return b
}

// scale sets heights of type, as a multiple of the least ones.
func (b *book) scale(grow float64) {
	b.key, b.small = CapKey*grow, CapLeast*grow
	b.keyName = capStyle(fonts.MonoBold, b.key)
	b.keyMono = capStyle(fonts.Mono, b.key)
	b.keyBold = capStyle(fonts.Bold, b.key)
	b.smallText = capStyle(fonts.Regular, b.small)
	b.smallBold = capStyle(fonts.Bold, b.small)
	b.smallMono = capStyle(fonts.Mono, b.small)
}

// mostGrowth is how much larger than its least height type may be.
const mostGrowth = 1.4 // our choice

// section lays out a part of the book that begins a page, in the largest type that
// takes no page more than the format's own does and breaks no row that it does not.
func (b *book) section(lay func()) {
	pages, later, misfits := len(b.pages), len(b.later), len(b.misfits)
	try := func(grow float64) (n int, ok bool) {
		b.pages, b.later, b.misfits = b.pages[:pages], b.later[:later], b.misfits[:misfits]
		b.scale(grow)
		b.form = 0
		lay()
		return len(b.pages) - pages, len(b.misfits) == misfits
	}
	least := b.format.grow
	n, ok := try(least)
	if !ok && least > 1 {
		least = 1
		n, ok = try(least)
	}
	if ok {
		form, last := b.form, least
		best, _ := largest(least, mostGrowth*b.format.grow, 0.02, func(grow float64) bool {
			if grow == least {
				return true
			}
			last = grow
			m, ok := try(grow)
			return ok && m <= n && b.form <= form
		})
		if best != last {
			try(best)
		}
	}
	b.scale(b.format.grow)
}

// entriesOf are the channels of a load, each once, in order of the load.
func entriesOf(l *plan.Load) []*bookEntry {
	by := map[plan.Programming]*bookEntry{}
	var all []*bookEntry
	for _, g := range l.Groups {
		for _, c := range g.Channels {
			e := by[c.Programming()]
			if e == nil {
				e = &bookEntry{Channel: c}
				by[c.Programming()] = e
				all = append(all, e)
			}
			e.places = append(e.places, c)
		}
	}
	return all
}

func (b *book) lay() {
	b.cover()
	b.section(b.contents)
	b.section(b.groups)
	b.section(b.tonesAndSites)
	b.section(b.byFrequency)
	b.section(b.byName)
	b.notes()
	b.back()
	for _, do := range b.later {
		do()
	}
	for _, p := range b.pages {
		b.marks(p)
	}
}

// document makes the pages one.
func (b *book) document() *Document {
	a := &b.load.About
	return b.pager.document(a.Name+", "+strings.ToLower(b.words.EditionHead)+" "+a.Edition, b.words.Title+", "+a.Colour, b.words.Language, nil)
}

func (b *book) misfit(at finding.Place, subject, text string) {
	b.add(misfit{at: at, subject: subject, text: text})
}
