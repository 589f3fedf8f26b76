package main

import (
	"bytes"
	"cmp"
	"context"
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"slotcard/cmd/internal/files"
	"slotcard/cmd/internal/publish"
	"slotcard/cmd/internal/voice"
	"slotcard/layout"
	"slotcard/plan/finding"
	"slotcard/render"
)

// paper is a kind of document that print makes, a file of its own. Each is
// registered in one place, in its own file: that gives it a flag which asks for it
// alone, a target that is looked at before the work, layout and ink beside the
// others, its line in what is said at the end, and a place among what may be left of
// an earlier run.
type paper struct {
	name   string   // of the file, without extension, and of the flag
	what   string   // it is, in the help of the flag, with `FORM` where it has forms
	forms  []string // values that the flag may have, the usual one first; nil: none
	load   bool     // of a load, in place of a plan; it has no flag, being alone
	extra  bool     // printed only where its flag asks for it
	deals  bool     // its papers are with their seats from then on, under their numbers
	ofSome bool     // can be of some cards alone, beside that of all

	flags func(cmd *cobra.Command)  // adds further ones; may be nil
	check func(f *printFlags) error // refuses values that they cannot have; may be nil
	sheet func(j *job) *sheet       // the document of a run, or nil where it has none

	form string // as asked for
}

// addFlag adds the flag that asks for a paper alone.
func (p *paper) addFlag(cmd *cobra.Command) {
	if p.forms == nil {
		cmd.Flags().Bool(p.name, false, "print only "+p.what)
		return
	}
	cmd.Flags().StringVar(&p.form, p.name, p.forms[0], "print only "+p.what)
	flag := cmd.Flags().Lookup(p.name)
	flag.NoOptDefVal = p.forms[0]
	flag.DefValue = "" // said in the words of the help
	completeFlag(cmd, p.name, p.forms)
}

// withForms joins a flag and the form behind it, "--wall grid", which is how it was
// written while a form was all that the flag was for. A word that is a file, or looks
// like one, is the plan.
func withForms(args []string) []string {
	formed := map[string]bool{}
	for _, p := range newPapers() {
		if p.forms != nil {
			formed["--"+p.name] = true
		}
	}
	var out []string
	for i := 0; i < len(args); i++ {
		a := args[i]
		if a == "--" {
			return append(out, args[i:]...)
		}
		if formed[a] && i+1 < len(args) {
			next := args[i+1]
			if !strings.HasPrefix(next, "-") && !strings.ContainsAny(next, `./\`) && !(next != "" && files.IsThere(next)) {
				a += "=" + next
				i++
			}
		}
		out = append(out, a)
	}
	return out
}

// paperMakers are the papers by their place in what is said; each run makes its own,
// because a paper holds the values of its flags.
var paperMakers = map[int]func() *paper{}

// registerPaper adds a paper; to be called from init.
func registerPaper(place int, make func() *paper) {
	if paperMakers[place] != nil {
		panic(fmt.Sprintf("two papers at place %d", place))
	}
	paperMakers[place] = make
}

// newPapers are all papers, for one run.
func newPapers() []*paper {
	return ordered(paperMakers, func(make func() *paper) *paper { return make() })
}

// ordered are the values of a register by their place.
func ordered[T, U any](register map[int]T, of func(T) U) []U {
	var all []U
	for _, place := range slices.Sorted(maps.Keys(register)) {
		all = append(all, of(register[place]))
	}
	return all
}

// sheet is a document in the making.
type sheet struct {
	name string // of the file, without extension
	lay  func() (*layout.Document, finding.List, error)
	say  func(d *layout.Document) string // what it holds and how to print it
	// pictures are what --png draws.
	pictures func(d *layout.Document) []picture
	then     func(v *voice.Voice) // says what else is to be known when all is written; may be nil

	doc      *layout.Document
	findings finding.List
	outs     []publish.File
	files    int // how many of outs are PDFs
	err      error
}

// ink makes the files of a sheet: its PDF first.
func (s *sheet) ink(created time.Time, png bool, v *voice.Voice) ([]publish.File, error) {
	var outs []publish.File
	for _, p := range render.Parts(s.name, s.doc, render.MostPages) {
		var pdf bytes.Buffer
		if err := render.PDF(&pdf, p.Document, created); err != nil {
			return nil, fmt.Errorf("%s: %w", p.Name, err)
		}
		outs = append(outs, publish.File{Name: p.Name, Data: pdf.Bytes()})
	}
	s.files = len(outs)
	if !png {
		return outs, nil
	}
	drawn := map[*layout.Page][]byte{}
	pictures := s.pictures(s.doc)
	done := v.Progress("pictures of "+s.name, len(pictures))
	for _, p := range pictures {
		name := s.name + p.suffix + ".png"
		if drawn[p.page] == nil {
			var b bytes.Buffer
			if err := render.PNG(&b, p.page, p.dpi); err != nil {
				return nil, fmt.Errorf("%s: %w", name, err)
			}
			drawn[p.page] = publish.SignPNG(b.Bytes(), cmp.Or(s.doc.Subject, s.doc.Title))
		}
		outs = append(outs, publish.File{Name: name, Data: drawn[p.page]})
		done(1)
	}
	return outs, nil
}

// pdfs are the names of the PDFs of a sheet, as one says them.
func (s *sheet) pdfs() string {
	parts := render.Parts(s.name, s.doc, render.MostPages)
	if len(parts) == 1 {
		return parts[0].Name
	}
	return parts[0].Name + " to " + parts[len(parts)-1].Name
}

// inParallel does work on all sheets at once, and gives up waiting when the run is
// interrupted: nothing is on disk yet. It returns the first error of a sheet.
func inParallel(ctx context.Context, sheets []*sheet, work func(*sheet)) error {
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
