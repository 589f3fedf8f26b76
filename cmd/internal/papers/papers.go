// Package papers makes the papers of a plan or a load: which there are, what can be
// asked of them, and the way from a file to documents and their bytes. It opens and
// reads, and writes nothing. Start with [Job]; each [Paper] is a file that registers
// itself.
package papers

import (
	"bytes"
	"cmp"
	"context"
	"fmt"
	"maps"
	"slices"
	"strconv"
	"time"

	"slotcard/cmd/internal/publish"
	"slotcard/cmd/internal/voice"
	"slotcard/layout"
	"slotcard/plan/finding"
	"slotcard/render"
)

// Paper is a kind of document that print makes, a file of its own. Each is
// registered in one place, in its own file: that gives it a flag which asks for it
// alone, a target that is looked at before the work, layout and ink beside the
// others, its line in what is said at the end, and a place among what may be left of
// an earlier run.
type Paper struct {
	Name   string   // of the file, without extension, and of the flag
	What   string   // it is, in the help of the flag, with `FORM` where it has forms
	Forms  []string // values that the flag may have, the usual one first; nil: none
	Load   bool     // of a load, in place of a plan; it has no flag, being alone
	extra  bool     // printed only where its flag asks for it
	deals  bool     // its papers are with their seats from then on, under their numbers
	ofSome bool     // can be of some cards alone, beside that of all

	flags func(f Flags)          // adds further ones; may be nil
	check func(f *Request) error // refuses values that they cannot have; may be nil
	sheet func(j *Job) *Sheet    // the document of a run, or nil where it has none
	// beside is a further document, which is on other paper; may be nil, and give nil.
	beside func(j *Job) *Sheet

	form string // as asked for
}

// addFlag adds the flag that asks for a paper alone.
func (p *Paper) addFlag(f Flags) {
	if p.Forms == nil {
		f.Bool(p.Name, false, "print only "+p.What)
		return
	}
	f.StringVar(&p.form, p.Name, p.Forms[0], "print only "+p.What)
	flag := f.Lookup(p.Name)
	flag.NoOptDefVal = p.Forms[0]
	flag.DefValue = "" // said in the words of the help
	f.Complete(p.Name, p.Forms)
}

// makers are the papers by their place in what is said; each run makes its own,
// because a paper holds the values of its flags.
var makers = map[int]func() *Paper{}

// register adds a paper; to be called from init.
func register(place int, make func() *Paper) {
	if makers[place] != nil {
		panic(fmt.Sprintf("two papers at place %d", place))
	}
	makers[place] = make
}

// All are all papers, for one run.
func All() (all []*Paper) {
	for _, place := range slices.Sorted(maps.Keys(makers)) {
		all = append(all, makers[place]())
	}
	return all
}

// Sheet is a document in the making.
type Sheet struct {
	Name      string // of the file, without extension
	Paper     string // that it is printed on
	BothSides bool   // of the paper are printed
	lay       func() (*layout.Document, finding.List, error)
	say       func(d *layout.Document) string // what it holds and how to print it
	// pictures are what --png draws.
	pictures func(d *layout.Document) []picture
	then     func(v *voice.Voice) // says what else is to be known when all is written; may be nil

	Doc      *layout.Document
	Findings finding.List
	Outs     []publish.File // PDFs first
	PDFs     int            // how many of them are PDFs
	err      error
}

// ink makes the files of a sheet: its PDF first.
func (s *Sheet) ink(created time.Time, attached []render.Attachment, png bool, v *voice.Voice) ([]publish.File, error) {
	var outs []publish.File
	for _, p := range render.Parts(s.Name, s.Doc, render.MostPages) {
		var pdf bytes.Buffer
		if err := render.PDF(&pdf, p.Document, created, attached...); err != nil {
			return nil, fmt.Errorf("%s: %w", p.Name, err)
		}
		outs = append(outs, publish.File{Name: p.Name, Data: pdf.Bytes()})
	}
	s.PDFs = len(outs)
	if !png {
		return outs, nil
	}
	drawn := map[*layout.Page][]byte{}
	pictures := s.pictures(s.Doc)
	done := v.Progress("pictures of "+s.Name, len(pictures))
	for _, p := range pictures {
		name := s.Name + p.suffix + ".png"
		if drawn[p.page] == nil {
			var b bytes.Buffer
			if err := render.PNG(&b, p.page, p.dpi); err != nil {
				return nil, fmt.Errorf("%s: %w", name, err)
			}
			drawn[p.page] = publish.SignPNG(b.Bytes(), cmp.Or(s.Doc.Subject, s.Doc.Title))
		}
		outs = append(outs, publish.File{Name: name, Data: drawn[p.page]})
		done(1)
	}
	return outs, nil
}

// Files are the names of the PDFs of a sheet, as one says them.
func (s *Sheet) Files() string {
	parts := render.Parts(s.Name, s.Doc, render.MostPages)
	if len(parts) == 1 {
		return parts[0].Name
	}
	return parts[0].Name + " to " + parts[len(parts)-1].Name
}

// Leaves is how many sheets of paper a sheet takes.
func (s *Sheet) Leaves() int {
	if s.BothSides {
		return (len(s.Doc.Pages) + 1) / 2
	}
	return len(s.Doc.Pages)
}

// Said is what a sheet holds and how to print it.
func (s *Sheet) Said() string { return s.say(s.Doc) }

// Then says what else is to be known when all is written.
func (s *Sheet) Then(v *voice.Voice) {
	if s.then != nil {
		s.then(v)
	}
}

// inParallel does work on all sheets at once, and gives up waiting when the run is
// interrupted: nothing is on disk yet. It returns the first error of a sheet.
func inParallel(ctx context.Context, sheets []*Sheet, work func(*Sheet)) error {
	done := make(chan struct{}, len(sheets))
	for _, s := range sheets {
		go func() {
			work(s)
			done <- struct{}{}
		}()
	}
	for range sheets {
		select {
		case <-done:
		case <-ctx.Done():
			return ctx.Err()
		}
	}
	for _, s := range sheets {
		if s.err != nil {
			return s.err
		}
	}
	return nil
}

// picture is a page to be drawn as a PNG, and what its file name ends in.
type picture struct {
	suffix string
	page   *layout.Page
	dpi    float64
}

// pageDPI is the resolution at which a page can be read, and its codes.
const pageDPI = 150

func pagePictures(d *layout.Document) []picture {
	pics := make([]picture, len(d.Pages))
	for i := range d.Pages {
		pics[i] = picture{fmt.Sprintf("-%0*d", width(len(d.Pages)), i+1), &d.Pages[i], pageDPI}
	}
	return pics
}

// width is how many digits a count has.
func width(n int) int { return len(strconv.Itoa(n)) }
