package main

import (
	"cmp"
	"context"
	"fmt"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"slotcard/layout"
	"slotcard/plan"
	"slotcard/plan/finding"
	"slotcard/plan/rules"
)

// The book of a load: what print makes of a load in place of a plan.

// bookFlags are the flags of print that are about the book.
type bookFlags struct {
	format string
	pages  bool
	given  []string // names of all flags on the command line
}

// ofBooks are the flags of print that a load has a use for.
var ofBooks = []string{"force", "format", "long", "out", "pages", "paper", "png", "strict"}

// remember notes which flags somebody has typed.
func (f *bookFlags) remember(cmd *cobra.Command) {
	cmd.Flags().Visit(func(flag *pflag.Flag) { f.given = append(f.given, flag.Name) })
}

func (f *bookFlags) add(cmd *cobra.Command) {
	cmd.Flags().StringVar(&f.format, "format", "", "for the book of a load: `SIZE` of its pages: "+strings.Join(sizeNames(layout.BookFormats()), ", ")+" (default a6)")
	cmd.Flags().BoolVar(&f.pages, "pages", false, "for the book of a load: pages in order, one by one, not imposed for folding")
	completeFlag(cmd, "format", sizeNames(layout.BookFormats()))
}

// check refuses a format that does not exist.
func (f *bookFlags) check() error {
	if f.format == "" {
		return nil
	}
	if _, ok := layout.BookFormat(f.format); !ok {
		return unknown("format", f.format, sizeNames(layout.BookFormats()))
	}
	return nil
}

// notForPlan refuses flags that a plan has no use for.
func (f *bookFlags) notForPlan(name string) error {
	switch {
	case f.format != "":
		return usagef("--format is for the book of a load, and %s is a plan; the size of its cards is --size", typed(name))
	case f.pages:
		return usagef("--pages is for the book of a load, and %s is a plan", typed(name))
	}
	return nil
}

// notForLoad refuses flags that a load has no use for.
func (f printFlags) notForLoad(name string) error {
	switch {
	case f.size != "":
		return usagef("--size is for the cards of a plan, and %s is a load; the size of its book is --format", typed(name))
	case f.book.pages && f.paper != "":
		return usagef("--paper and --pages do not go together: plain pages are as large as the book")
	}
	for _, flag := range f.book.given {
		if !slices.Contains(ofBooks, flag) {
			return usagef("--%s is for a plan, and %s is a load", flag, typed(name))
		}
	}
	return nil
}

// stopsBook tells whether some error keeps a load's book from being printed: any
// but those that a plan on the load could accept. A load has no place to accept
// them, and the book only lists what the radios hold.
func stopsBook(found finding.List) bool {
	return slices.ContainsFunc(found, func(f finding.Finding) bool {
		rule, known := rules.Get(f.Rule)
		return f.Severity == finding.Error && !(known && rule.Acceptable)
	})
}

// runBook checks a load and prints its book.
func (a *app) runBook(ctx context.Context, name string, f printFlags, d depth) error {
	if err := f.notForLoad(name); err != nil {
		return err
	}
	dir := cmp.Or(f.out, filepath.Join(filepath.Dir(name), "out"))
	over := overOurs
	if f.force {
		over = overAny
	}
	l, found, err := rules.OpenLoad(name, a.planOptions())
	if err != nil {
		a.voice.findings(found, d)
		return err
	}
	if f.strict {
		found = strictly(found)
	}
	if stopsBook(found) {
		return a.refuseBook(found, d)
	}
	if err := checkTargets(dir, []string{"book.pdf"}, over); err != nil {
		return err
	}
	format, _ := layout.BookFormat(f.book.format)
	paper, _ := layout.PaperSize(cmp.Or(f.paper, defaultPaper))
	book, pages := bookOf(l, format, paper, f.book.pages)
	book.doc, book.findings, book.err = book.lay()
	if book.err != nil {
		return book.err
	}
	found.Add(placed(book.findings, name)...)
	if stopsBook(found) {
		return a.refuseBook(found, d)
	}
	found.Sort()
	a.voice.findings(found, d)
	if err := a.voice.flush(); err != nil {
		return err
	}
	one := []*sheet{book}
	if err := inParallel(ctx, one, func(s *sheet) { s.outs, s.err = s.ink(bookDate(l), f.png, a.voice) }); err != nil {
		return err
	}
	if book.err != nil {
		return book.err
	}
	if err := publish(ctx, dir, book.outs, over); err != nil {
		return err
	}
	a.voice.tell("%s  %s", filepath.Join(dir, "book.pdf"), book.say(book.doc))
	if n := len(book.outs) - 1; n > 0 {
		a.voice.tell("%s  %s, for a look", filepath.Join(dir, "book-*.png"), count(n, "picture", "pictures"))
	}
	if sheets := pages() / 4; sheets > layout.StapledSheets && !f.book.pages {
		a.voice.tell("%d folded sheets are more than a stapler takes (about %d): a larger --format has fewer, or bind what --pages prints", sheets, layout.StapledSheets)
	}
	if len(found) > 0 {
		a.voice.tell("printed, with %s", tally(found))
	}
	return nil
}

// refuseBook prints the findings and says that there is no book.
func (a *app) refuseBook(found finding.List, d depth) error {
	found.Sort()
	a.voice.findings(found, d)
	if err := a.voice.flush(); err != nil {
		return err
	}
	a.voice.tell("nothing printed: %s", tally(found))
	return errFindings
}

// bookDate is the date that the file bears: the first day of the edition.
func bookDate(l *plan.Load) time.Time {
	e := l.About.Effective
	return time.Date(e.Year, e.Month, e.Day, 0, 0, 0, 0, time.UTC)
}

// bookOf is the book as a document of print, and its pages before they are
// imposed.
func bookOf(l *plan.Load, format, paper layout.Size, plain bool) (book *sheet, pages func() int) {
	var inOrder *layout.Document
	return &sheet{
		name: "book",
		lay: func() (doc *layout.Document, found finding.List, err error) {
			inOrder, found = layout.Book(l, layout.BookOptions{Format: format})
			if inOrder == nil || plain {
				return inOrder, found, nil
			}
			doc, err = layout.Booklet(inOrder, paper)
			return doc, found, err
		},
		say: func(d *layout.Document) string {
			said := fmt.Sprintf("book of %s, %s", count(len(inOrder.Pages), "page", "pages"), cmp.Or(format.Name, "a6"))
			if plain {
				return said + ", in order"
			}
			return said + fmt.Sprintf(", on %s of %s: print at actual size, on both sides, flipped on the long edge; cut, fold and staple",
				count(len(d.Pages)/2, "sheet", "sheets"), paper.Name)
		},
		pictures: func(*layout.Document) []picture {
			return pagePictures(inOrder)
		},
	}, func() int { return len(inOrder.Pages) }
}
