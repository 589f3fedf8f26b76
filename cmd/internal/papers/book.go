package papers

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"time"

	"slotcard/cmd/internal/voice"
	"slotcard/layout"
	"slotcard/layout/book"
	"slotcard/layout/impose"
	"slotcard/plan"
	"slotcard/plan/finding"
	"slotcard/render"
)

// The book of a load: what print makes of a load in place of a plan.

func init() { register(50, bookPaper) }

// bookPaper is the book of a load.
func bookPaper() *Paper {
	f := new(bookFlags)
	return &Paper{Name: "book", Load: true, flags: f.add, check: f.check, sheet: f.sheet}
}

// bookFlags are the flags of print that are about the book.
type bookFlags struct {
	format string
	pages  bool
}

// ofBooks are the flags of print that a load has a use for.
var ofBooks = []string{"copies", "force", "format", "json", "language", "long", "no-attach", "out", "pages", "paper", "png", "strict", "words"}

func (f *bookFlags) add(to Flags) {
	to.StringVar(&f.format, "format", "", "for the book of a load: `SIZE` of its pages: "+strings.Join(SizeNames(book.Formats()), ", ")+" (default "+book.DefaultFormat+")")
	to.BoolVar(&f.pages, "pages", false, "for the book of a load: write the pages one by one in reading order, not arranged for folding")
	to.Complete("format", SizeNames(book.Formats()))
}

// check refuses a format that does not exist.
func (f *bookFlags) check(*Request) error {
	if f.format == "" {
		return nil
	}
	if _, ok := book.Format(f.format); !ok {
		return voice.Unknown("format", f.format, SizeNames(book.Formats()))
	}
	return nil
}

// fit refuses flags that a plan, or a load, has no use for.
func (f *Request) fit(name string, isLoad bool) error {
	switch {
	case !isLoad && f.asks("format"):
		return voice.Usagef("--format is for the book of a load, and %s is a plan; the size of its cards is --size", voice.Typed(name))
	case !isLoad && f.asks("pages"):
		return voice.Usagef("--pages is for the book of a load, and %s is a plan", voice.Typed(name))
	case !isLoad:
		return nil
	case f.CSV:
		return voice.Usagef("--csv writes the list of a plan, and %s is a load", voice.Typed(name))
	case f.asks("size"):
		return voice.Usagef("--size is for the cards of a plan, and %s is a load; the size of its book is --format", voice.Typed(name))
	case f.asks("pages") && f.asks("paper"):
		return voice.Usagef("leave out --paper or --pages: with --pages, the paper is the size of the book")
	}
	if f.Copies > render.MostCopies {
		return voice.Usagef("--copies %d: the print dialog can be asked for %d books at most", f.Copies, render.MostCopies)
	}
	for _, flag := range f.Given {
		if !slices.Contains(ofBooks, flag) {
			return voice.Usagef("--%s is for a plan, and %s is a load", flag, voice.Typed(name))
		}
	}
	return nil
}

// bookDate is the date that the file bears: the first day of the edition.
func bookDate(l *plan.Load) time.Time {
	e := l.About.Effective
	return time.Date(e.Year, e.Month, e.Day, 0, 0, 0, 0, time.UTC)
}

// sheet is the book, imposed for folding unless plain pages are asked for.
func (f *bookFlags) sheet(j *Job) *Sheet {
	format, _ := book.Format(f.format)
	paper := j.set.sheets.Paper
	on := paper.Name
	if f.pages {
		on = cmp.Or(format.Name, book.DefaultFormat)
	}
	var inOrder *layout.Document // the pages before they are imposed
	return &Sheet{
		Name:      "book",
		Paper:     on,
		BothSides: true,
		lay: func() (doc *layout.Document, found finding.List, err error) {
			inOrder, found = book.Book(j.Load, book.Options{Format: format, Words: &j.set.words.Book})
			if inOrder == nil {
				return nil, found, nil
			}
			if doc = inOrder; !f.pages {
				doc, err = impose.Booklet(inOrder, paper, &j.set.words.Book)
			}
			if err == nil && j.Request.Copies > 1 {
				doc.Copies = j.Request.Copies // asked of the print dialog
			}
			return doc, found, err
		},
		say: func(d *layout.Document) string {
			said := fmt.Sprintf("book of %s, %s", voice.Count(len(inOrder.Pages), "page", "pages"), cmp.Or(format.Name, book.DefaultFormat))
			if f.pages {
				return said + ", in order"
			}
			return said + fmt.Sprintf(", on %s of %s: print at actual size, on both sides, flipped on the long edge; cut, fold and staple",
				voice.Count(len(d.Pages)/2, "sheet", "sheets"), paper.Name)
		},
		pictures: func(*layout.Document) []picture { return pagePictures(inOrder) },
		then: func(v *voice.Voice) {
			if sheets := len(inOrder.Pages) / 4; sheets > impose.StapledSheets && !f.pages {
				v.Tell("%d folded sheets are too many for a stapler (about %d): choose a larger --format, or bind what --pages prints", sheets, impose.StapledSheets)
			}
		},
	}
}
