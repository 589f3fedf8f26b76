// Package book lays out the book of a load, pages in reading order. Start with
// [Book]; package impose folds it.
package book

import (
	"fmt"
	"slices"
	"strings"

	"slotcard/fonts"
	"slotcard/layout"
	"slotcard/layout/set"
	"slotcard/layout/words"
	"slotcard/plan"
	"slotcard/plan/finding"
)

// Options say how to lay out the book of a load.
type Options struct {
	Format layout.Size      // of a page, upright; the zero Size: a6
	Words  *words.BookWords // nil: English
}

// bookFormat is a size of pages, with its margins in mm.
type bookFormat struct {
	layout.Size
	spine float64 // beside the fold, where the staples are
	edge  float64 // at the other edges: no text lies beyond
	grow  float64 // type above its least height, where that fits
}

// bookFormats, smallest first. Sources: testdata/paper.csv (ISO 216, half
// letter; secondary). Half letter fills its paper to the edge, which printers
// leave white for some millimeters (common practice).
var bookFormats = []bookFormat{
	{layout.Size{Name: "a7", Width: 74, Height: 105}, 7, 3.2, 1},
	{layout.Size{Name: "a6", Width: 105, Height: 148}, 9, 4, 1},
	{layout.Size{Name: "half-letter", Width: 5.5 * layout.Inch, Height: 8.5 * layout.Inch}, 13, 6.5, 1.25},
}

// DefaultFormat is that of a book where nobody says.
const DefaultFormat = "a6"

// Formats are the sizes of pages that go by a name, smallest first.
func Formats() []layout.Size {
	sizes := make([]layout.Size, len(bookFormats))
	for i, f := range bookFormats {
		sizes[i] = f.Size
	}
	return sizes
}

// Format looks a format up by its name.
func Format(name string) (layout.Size, bool) { return layout.ByName(Formats(), name) }

// formatOf is the format of a size; one without a name has the margins of the
// default.
func formatOf(s layout.Size) bookFormat {
	named := func(name string) bookFormat {
		return bookFormats[slices.IndexFunc(bookFormats, func(f bookFormat) bool { return f.Name == name })]
	}
	if s == (layout.Size{}) {
		return named(DefaultFormat)
	}
	if _, ok := Format(s.Name); ok {
		return named(s.Name)
	}
	f := named(DefaultFormat)
	f.Size = s
	return f
}

// Book lays out the book of a load, pages in reading order and a multiple of
// four: cover, groups, each group's channels, tones and sites, the indexes by
// receive frequency and by name, notes where there is room, and how to read it on the back. Heights
// of type are those of the cards. What does not fit is a finding that names the
// text and the smallest format that holds it; then there is no document.
// [Booklet] imposes the pages for folding.
func Book(l *plan.Load, o Options) (*layout.Document, finding.List) {
	if o.Words == nil {
		o.Words = &words.EnglishBook
	}
	b := layBook(l, o.Words, formatOf(o.Format))
	if len(b.Misfits) == 0 {
		return b.document(), nil
	}
	findings := b.findings()
	findings.Sort()
	return nil, findings
}

// findings tells of each misfit, and on which format, verified, it fits.
func (b *book) findings() finding.List {
	laid := map[string][]set.Misfit{}
	var formats []set.Remedy
	for _, size := range layout.Larger(Formats(), b.Paper) {
		formats = append(formats, set.Remedy{Key: "fits", Value: size.Name,
			Help: fmt.Sprintf("the smallest format that holds it is %s: --format %s; or shorten the text", size.Name, size.Name),
			Holds: func(m set.Misfit) bool {
				if _, done := laid[size.Name]; !done {
					laid[size.Name] = layBook(b.load, b.words, formatOf(size)).Misfits
				}
				return !slices.Contains(laid[size.Name], m)
			}})
	}
	return b.Findings(set.Notice{
		Message: func(m set.Misfit) string {
			return fmt.Sprintf("the book does not fit on pages of %s at its smallest legible type: no room for %q", b.Paper.Name, m.Text)
		},
		Data:     func(m set.Misfit) map[string]any { return map[string]any{"size": b.Paper.Name, "text": m.Text} },
		Remedies: [][]set.Remedy{formats},
		None:     "no format holds it: shorten the text",
	})
}

// book is a book being laid out.
type book struct {
	set.Pager
	load    *plan.Load
	words   *words.BookWords
	format  bookFormat
	entries []*bookEntry
	tabs    []string // what the thumb marks say, from the head of the edge
	tabOf   map[*plan.Group]int

	columns channelColumns
	form    int   // of the rows laid out last, 0 the widest
	begins  []int // page on which what a thumb mark stands for begins; then notes, how to read

	later  []func()
	thumbs map[*set.Page][]int // thumb marks that a page bears
	bare   map[*set.Page]bool  // has neither foot nor page number

	ruled   int  // pages for notes
	noNotes bool // there are none

	key, small float64 // heights of capitals
	outer      float64 // margin at the outer edge, with room for a thumb mark
	tabWide    float64

	keyName, keyMono, keyBold, smallText, smallBold, smallMono set.Style
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

// layBook lays out a book. Notes fill its last sheet; they take none for themselves.
func layBook(l *plan.Load, w *words.BookWords, f bookFormat) *book {
	b := newBook(l, w, f)
	b.lay()
	if b.ruled < pagesOfSheet {
		return b
	}
	without := newBook(l, w, f)
	without.noNotes = true
	if without.lay(); without.ruled > 0 { // its list of groups takes a page less
		return b
	}
	return without
}

// pagesOfSheet are the pages of a folded sheet.
const pagesOfSheet = 4

func newBook(l *plan.Load, w *words.BookWords, f bookFormat) *book {
	b := &book{load: l, words: w, format: f, tabOf: map[*plan.Group]int{}, thumbs: map[*set.Page][]int{}, bare: map[*set.Page]bool{}}
	b.Paper, b.Margin = f.Size, f.edge
	b.scale(f.grow)
	for _, g := range l.Groups {
		b.tabOf[g] = len(b.tabs)
		b.tabs = append(b.tabs, fmt.Sprint(g.Number))
	}
	b.tabs = append(b.tabs, w.TabTones, w.TabFrequency, w.TabName)
	said := 0.0
	for _, t := range b.tabs {
		said = max(said, b.tabStyle().Width(t))
	}
	b.tabWide = b.format.edge + said + 1
	b.outer = b.tabWide + 1.2
	b.Sides = func(number int) (left, right float64) {
		if number%2 == 1 {
			return f.spine, b.outer
		}
		return b.outer, f.spine
	}
	b.Open = func() { b.Bottom = f.Height - f.edge - b.footHigh() - 1 }
	b.entries = entriesOf(l)
	b.begins = make([]int, len(b.tabs)+2)
	return b
}

// scale sets heights of type, as a multiple of the least ones.
func (b *book) scale(grow float64) {
	b.key, b.small = layout.CapKey*grow, layout.CapLeast*grow
	b.keyName = set.CapStyle(fonts.MonoBold, b.key)
	b.keyMono = set.CapStyle(fonts.Mono, b.key)
	b.keyBold = set.CapStyle(fonts.Bold, b.key)
	b.smallText = set.CapStyle(fonts.Regular, b.small)
	b.smallBold = set.CapStyle(fonts.Bold, b.small)
	b.smallMono = set.CapStyle(fonts.Mono, b.small)
}

// mostGrowth is how much larger than its least height type may be.
const mostGrowth = 1.4 // our choice

// section lays out a part of the book that begins a page, in the largest type that
// takes no page more than the format's own does and breaks no row that it does not.
func (b *book) section(lay func()) {
	pages, later, misfits := len(b.Pages), len(b.later), len(b.Misfits)
	try := func(grow float64) (n int, ok bool) {
		b.Pages, b.later, b.Misfits = b.Pages[:pages], b.later[:later], b.Misfits[:misfits]
		b.scale(grow)
		b.form = 0
		lay()
		return len(b.Pages) - pages, len(b.Misfits) == misfits
	}
	least := b.format.grow
	n, ok := try(least)
	if !ok && least > 1 {
		least = 1
		n, ok = try(least)
	}
	if ok {
		form, last := b.form, least
		best, _ := set.Largest(least, mostGrowth*b.format.grow, 0.02, func(grow float64) bool {
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
	for _, p := range b.Pages {
		b.marks(p)
	}
}

// document makes the pages one.
func (b *book) document() *layout.Document {
	a := &b.load.About
	d := b.Pager.Document(a.Name+", "+strings.ToLower(b.words.EditionHead)+" "+a.Edition, b.words.Title+", "+a.Colour, b.words.Language, nil)
	d.Duplex = layout.DuplexUnsaid // for a screen or a binder, unless it is folded
	return d
}

func (b *book) misfit(at finding.Place, subject, text string) {
	b.Add(set.Misfit{At: at, Subject: subject, Text: text})
}
