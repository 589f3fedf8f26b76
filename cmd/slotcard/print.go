package main

import (
	"bytes"
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"hash/crc32"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"slotcard/layout"
	"slotcard/plan"
	"slotcard/plan/finding"
	"slotcard/plan/tomlfile"
	"slotcard/render"
)

// ourMarks are what a PDF and a PNG of ours hold and others do not: the
// producer of the one (ISO 32000-1, 14.3.3), the software of the other (PNG
// specification, 11.3.3.2).
var ourMarks = [][]byte{[]byte("/Producer (slotcard)"), []byte(pngMark)}

const pngMark = "tEXtSoftware\x00slotcard"

// signPNG puts our mark into a PNG, behind its header (length, type and 13
// bytes of data, checksum, behind the 8 of the signature).
func signPNG(png []byte) []byte {
	const header = 8 + 4 + 4 + 13 + 4
	chunk := binary.BigEndian.AppendUint32(nil, uint32(len(pngMark)-len("tEXt")))
	chunk = append(chunk, pngMark...)
	chunk = binary.BigEndian.AppendUint32(chunk, crc32.ChecksumIEEE([]byte(pngMark)))
	return slices.Concat(png[:header], chunk, png[header:])
}

// defaultPaper is in the printer where neither plan nor flags say.
const defaultPaper = "letter"

// printFlags are the flags of print.
type printFlags struct {
	out, size, paper   string
	sides, order, sort string
	language           string
	only               []string
	copies             int
	bleed              float64
	plain              bool
	png, csv           bool
	force, strict      bool
	wall               wallFlags
	book               bookFlags
	since              sinceFlags
}

func (a *app) printCommand() *cobra.Command {
	var f printFlags
	cmd := &cobra.Command{
		Use:   "print PLAN|LOAD",
		Short: "checks a plan, then writes cards, wall sheet and hand-out sheets as PDF; of a load its book",
		Long: `print checks a plan and, where there is no error, writes three files:
  cards.pdf    a card for every seat, fronts and backs, as many to a sheet as fit
  wall.pdf     the wall sheet
  handout.pdf  a sheet for each team, to tick off and initial
They go into the folder out beside the plan, or into the one that -o names, all
or none. Files that slotcard wrote are replaced, others only with --force. What
has more than 1000 pages is split: cards-1.pdf, cards-2.pdf and so on.

With --since OLD, the plan of the period before, every card says on its front
what to rebuild, or that the list is the same, changed slots bear a diamond, and
changes.pdf, the change sheet, is written too. --changed-only prints only the
cards that must be replaced; the others can be kept.

Of a load in place of a plan, print writes book.pdf: the groups, their channels,
and indexes by frequency and by name, imposed for folding and stapling.

Print at actual size (100 %), never fit to page: the cards bear a 50 mm rule to
measure. Print the cards on both sides, flipped on the long edge.

Exit status: 0 printed, 1 errors found and nothing written, 2 a file that cannot
be read or written.`,
		Example: `  slotcard print plan.toml
  slotcard print plan.toml -o period2 --size a7 --paper a4
  slotcard print period-3.toml --since period-2.toml --changed-only
  slotcard print load.toml           the book of the load`,
		Args: func(cmd *cobra.Command, args []string) error {
			if len(args) == 0 {
				return usagef("name the plan to print, such as: slotcard print %s", likelyPlan())
			}
			return atMost(1, "one plan")(cmd, args)
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			f.book.remember(cmd)
			return a.runPrint(cmd.Context(), args[0], f, a.depth(cmd))
		},
		ValidArgsFunction: tomlArgs,
	}
	cmd.Flags().StringVarP(&f.out, "out", "o", "", "folder `DIR` for the files (default: out beside the plan)")
	cmd.Flags().StringVar(&f.size, "size", "", "card `SIZE`: "+strings.Join(sizeNames(layout.CardSizes()), ", ")+",\nor width x height in mm, such as 90x55\n(default: the plan's, or the smallest that holds every card)")
	cmd.Flags().StringVar(&f.paper, "paper", "", "paper `SIZE`: "+strings.Join(sizeNames(layout.PaperSizes()), ", ")+"\n(default: the plan's, or letter)")
	cmd.Flags().StringVar(&f.sides, "sides", "", "`WAY` in which front and back come onto paper:\nlong or short (both sides, flipped on that edge), fold (one side, to fold),\nfront (one side, fronts only), each (a card a page, for card printers)")
	cmd.Flags().StringVar(&f.order, "order", "", "`ORDER` on the sheets: sheet (row by row), or stack (piles lie in order after cutting)")
	cmd.Flags().StringVar(&f.sort, "sort", "", "`ORDER` of the cards: unit (as in the plan), team or seat")
	cmd.Flags().StringVar(&f.language, "language", "", "`LANGUAGE` of the fixed words: en, es or fr (default: the plan's, or en)")
	cmd.Flags().StringArrayVar(&f.only, "only", nil, "only the cards of this `UNIT`; may be repeated")
	cmd.Flags().IntVar(&f.copies, "copies", 1, "`N` copies of each card")
	cmd.Flags().Float64Var(&f.bleed, "bleed", 0, "`MM` of paper beyond the card on each side, up to 3, with --sides each")
	cmd.Flags().BoolVar(&f.plain, "plain", false, "frames in place of black fills, to save toner")
	cmd.Flags().BoolVar(&f.png, "png", false, "write a picture of every side of a card, sized for a phone, and of every page of the sheets")
	cmd.Flags().BoolVar(&f.csv, "csv", false, "write wall.csv as well: the list in the columns of form ICS 205, block 4")
	cmd.Flags().BoolVar(&f.force, "force", false, "overwrite files that slotcard did not write")
	f.wall.add(cmd)
	f.book.add(cmd)
	f.since.add(cmd)
	addFindingFlags(cmd, &f.strict)
	completeFlag(cmd, "size", sizeNames(layout.CardSizes()))
	completeFlag(cmd, "paper", sizeNames(layout.PaperSizes()))
	completeFlag(cmd, "sides", layout.SidesNames())
	completeFlag(cmd, "order", layout.OrderNames())
	completeFlag(cmd, "sort", sortNames())
	completeFlag(cmd, "language", layout.Languages())
	if err := cmd.MarkFlagDirname("out"); err != nil {
		panic(err) // a flag that this command does not define
	}
	return cmd
}

func sizeNames(sizes []layout.Size) []string {
	names := make([]string, len(sizes))
	for i, s := range sizes {
		names[i] = s.Name
	}
	return names
}

// sheet is one of the documents of a plan.
type sheet struct {
	name string // of the file, without extension
	lay  func() (*layout.Document, finding.List, error)
	say  func(d *layout.Document) string // what it holds and how to print it
	// pictures are what --png draws.
	pictures func(d *layout.Document) []picture

	doc      *layout.Document
	findings finding.List
	outs     []output
	files    int // how many of outs are PDFs
	err      error
}

func (a *app) runPrint(ctx context.Context, name string, f printFlags, d depth) error {
	if err := f.check(); err != nil {
		return err
	}
	name = filepath.Clean(name)
	isLoad, err := a.isLoad(name)
	if err != nil {
		return err
	}
	if isLoad && f.csv {
		return usagef("flag --csv writes the list of a plan; %s is a load", typed(name))
	}
	if isLoad {
		return a.runBook(ctx, name, f, d)
	}
	if err := f.book.notForPlan(name); err != nil {
		return err
	}
	dir := f.out
	if dir == "" {
		dir = filepath.Join(filepath.Dir(name), "out")
	}
	over := overOurs
	if f.force {
		over = overAny
	}
	r, found, err := a.open(name)
	if err != nil {
		a.voice.findings(found, d)
		return err
	}
	if f.strict {
		found = strictly(found)
	}
	if found.HasErrors() || r == nil {
		return a.refuse(found, d, dir)
	}
	before, err := a.since(f.since, r, d, dir)
	if err != nil {
		return err
	}
	// Known before the work: what stands in the way of the files.
	targets := []string{"cards.pdf", "wall.pdf", "handout.pdf"}
	if before != nil {
		targets = append(targets, "changes.pdf")
	}
	if f.csv {
		targets = append(targets, wallCSV)
	}
	if err := checkTargets(dir, targets, over); err != nil {
		return err
	}

	if err := f.checkUnits(r); err != nil {
		return err
	}
	set, unknown := settingsOf(r, f)
	if found.Add(unknown...); found.HasErrors() {
		return a.refuse(found, d, dir)
	}
	set.done = a.voice.progress("cards", len(before.cards(r).Cards))
	sheets := before.sheets(sheetsOf(r, set, before), set)
	if err := inParallel(ctx, sheets, func(s *sheet) { s.doc, s.findings, s.err = s.lay() }); err != nil {
		return err
	}
	for _, s := range sheets {
		if s.err != nil {
			return s.err
		}
		found.Add(placed(s.findings, name)...)
	}
	if f.strict {
		found = strictly(found)
	}
	if found.HasErrors() {
		return a.refuse(found, d, dir)
	}
	found.Sort()
	a.voice.findings(found, d)
	if err := a.voice.flush(); err != nil {
		return err
	}

	created := r.Plan.Incident.PreparedAt
	if err := inParallel(ctx, sheets, func(s *sheet) { s.outs, s.err = s.ink(created, f.png, a.voice) }); err != nil {
		return err
	}
	var outs []output
	for _, s := range sheets {
		if s.err != nil {
			return s.err
		}
		outs = append(outs, s.outs...)
	}
	if f.csv {
		data, err := sheetOf(r)
		if err != nil {
			return err
		}
		outs = append(outs, output{wallCSV, data})
	}
	if err := publish(ctx, dir, outs, over); err != nil {
		return err
	}
	for _, s := range sheets {
		a.voice.tell("%-*s  %s", len(filepath.Join(dir, "handout.pdf")), filepath.Join(dir, s.pdfs()), s.say(s.doc))
		if n := len(s.outs) - s.files; n > 0 {
			a.voice.tell("%s  %s, for a look", filepath.Join(dir, s.name+"-*.png"), count(n, "picture", "pictures"))
		}
	}
	if f.csv {
		a.voice.tell("%-*s  the list as a plan sheet, for a spreadsheet or slotcard draft", len(filepath.Join(dir, "handout.pdf")), filepath.Join(dir, wallCSV))
	}
	if len(r.Cards) == 0 {
		a.voice.tell("no cards.pdf and no handout.pdf: the plan has no units")
	}
	before.tell(a.voice)
	if old := leftovers(dir, outs); len(old) > 0 {
		a.voice.tell("slotcard: from an earlier run, not of this plan: %s; remove them before they are handed out", strings.Join(old, ", "))
	}
	if len(found) > 0 {
		a.voice.tell("printed, with %s", tally(found))
	}
	return nil
}

// check refuses sizes that do not exist.
func (f printFlags) check() error {
	if err := f.since.check(); err != nil {
		return err
	}
	if err := f.book.check(); err != nil {
		return err
	}
	if err := f.wall.check(); err != nil {
		return err
	}
	if err := f.checkSettings(); err != nil {
		return err
	}
	if f.size != "" {
		if _, ok := layout.CardSize(f.size); !ok {
			return usagef("unknown card size %q; %s", f.size, knownCardSizes(f.size))
		}
	}
	if f.paper != "" {
		if _, ok := layout.PaperSize(f.paper); !ok {
			return unknown("paper", f.paper, sizeNames(layout.PaperSizes()))
		}
	}
	return nil
}

// isLoad tells a load from a plan, and refuses what is no file.
func (a *app) isLoad(name string) (bool, error) {
	data, err := a.reader.ReadFile(name)
	if err != nil {
		var file *fileError
		if plan := filepath.Join(name, "plan.toml"); errors.As(err, &file) && isFile(plan) {
			return false, &fileError{name, "is a folder; type: slotcard print " + typed(plan), err}
		}
		return false, err
	}
	return plan.IsLoad(data), nil
}

// onePlan refuses what is no plan before anything is made of it.
func (a *app) onePlan(name string) error {
	isLoad, err := a.isLoad(name)
	if isLoad {
		return &fileError{name, "is a load, not a plan, which names its load", nil}
	}
	return err
}

func isFile(name string) bool {
	info, err := os.Stat(name)
	return err == nil && info.Mode().IsRegular()
}

// refuse prints the findings and says that nothing was written.
func (a *app) refuse(found finding.List, d depth, dir string) error {
	found.Sort()
	a.voice.findings(found, d)
	if err := a.voice.flush(); err != nil {
		return err
	}
	a.voice.tell("nothing printed: %s", tally(found))
	if old := leftovers(dir, nil); len(old) > 0 {
		a.voice.tell("slotcard: from an earlier run, not of this plan: %s", strings.Join(old, ", "))
	}
	return errFindings
}

// leftovers are files of an earlier run in dir that this run did not write.
func leftovers(dir string, outs []output) (old []string) {
	for _, pattern := range []string{"cards*", "wall*", "handout*", "changes*"} {
		for _, ext := range []string{".pdf", ".png", ".csv"} {
			names, _ := filepath.Glob(filepath.Join(globSafe(dir), pattern+ext))
			for _, n := range names {
				isNew := func(o output) bool { return o.name == filepath.Base(n) }
				if !slices.ContainsFunc(outs, isNew) && isFile(n) && ours(n) {
					old = append(old, n)
				}
			}
		}
	}
	return old
}

// globSafe is a folder's name in which no character is a wildcard.
func globSafe(dir string) string {
	return strings.NewReplacer(`[`, `[[]`, `*`, `[*]`, `?`, `[?]`).Replace(dir)
}

// placed gives findings that are about no line of a file the plan as their place.
func placed(l finding.List, name string) finding.List {
	l = slices.Clone(l)
	for i := range l {
		if l[i].Place.IsZero() {
			l[i].Place.File = name
		}
	}
	return l
}

func unknownSize(what, name string, at finding.Place, known []string) finding.Finding {
	help := didYouMean(finding.Closest(name, known, 3)) + "known: " + strings.Join(known, ", ")
	if what == "card size" {
		help = knownCardSizes(name)
	}
	return finding.Finding{
		Rule: tomlfile.RuleBadValue, Severity: finding.Error, Place: at, Subject: name,
		Message: fmt.Sprintf("%s %q is not known", what, name),
		Help:    []string{help},
		Data:    map[string]any{"known": known},
	}
}

// knownCardSizes is what may be written in place of a card size that is none.
func knownCardSizes(word string) string {
	names := sizeNames(layout.CardSizes())
	var near []string
	for _, n := range names { // 3x5 is said for index-3x5
		if strings.HasSuffix(n, "-"+strings.ToLower(word)) {
			near = append(near, n)
		}
	}
	if near == nil {
		near = finding.Closest(word, names, 3)
	}
	return didYouMean(near) + "known: " + strings.Join(names, ", ") +
		fmt.Sprintf(", or width x height in mm, from %d to %d, such as 90x55", layout.LeastCard, layout.MostCard)
}

func sheetsOf(r *plan.Resolved, set settings, before *since) []*sheet {
	paper := set.sheets.Paper
	var deck *layout.Deck
	symbols := new(layout.Symbols) // cards and wall sheet show the same codes
	sheets := []*sheet{
		{
			name: "cards",
			lay: func() (doc *layout.Document, found finding.List, err error) {
				if deck, found = layout.Deal(before.cards(r), layout.CardOptions{Size: set.card, Words: &set.words.Card, Plain: set.plain, Symbols: symbols, Changes: before.marks(), Done: set.done}); deck == nil {
					return nil, found, nil
				}
				set.arrange(deck)
				doc, err = deck.Sheets(set.sheets)
				return doc, found, err
			},
			say: func(d *layout.Document) string {
				return set.say(len(deck.Faces), deck.Size.Name, d)
			},
			pictures: func(*layout.Document) []picture { return cardPictures(deck) },
		},
		set.wall.sheet(r, &set.words.Wall, symbols),
		{
			name: "handout",
			lay: func() (*layout.Document, finding.List, error) {
				d, found := layout.Handout(r, layout.HandoutOptions{Paper: paper, Words: &set.words.Handout})
				return d, found, nil
			},
			say: func(d *layout.Document) string {
				return fmt.Sprintf("hand-out sheets, %s of %s: print at actual size, on one side", count(len(d.Pages), "page", "pages"), paper.Name)
			},
			pictures: pagePictures,
		},
	}
	if len(r.Cards) == 0 {
		return sheets[1:2] // nothing to hand out
	}
	return sheets
}

// picture is a page to be drawn as a PNG, and what its file name ends in.
type picture struct {
	suffix string
	page   *layout.Page
	dpi    float64
}

const (
	phonePixels = 1440 // across a card: a phone held level shows it dot by dot
	pageDPI     = 150  // a page can be read, and its codes
)

// phoneDPI is the resolution at which a card is as wide as a phone's screen.
func phoneDPI(d *layout.Deck) float64 { return phonePixels / (d.Size.Width / 25.4) }

func pagePictures(d *layout.Document) []picture {
	pics := make([]picture, len(d.Pages))
	for i := range d.Pages {
		pics[i] = picture{fmt.Sprintf("-%0*d", width(len(d.Pages)), i+1), &d.Pages[i], pageDPI}
	}
	return pics
}

// cardPictures are the two sides of every card, by the number on the card.
func cardPictures(d *layout.Deck) []picture {
	pics := make([]picture, 0, 2*len(d.Faces))
	backs := map[*layout.Panel]*layout.Page{} // cards of a list share theirs
	for _, f := range d.Faces {
		number := fmt.Sprintf("-%0*d", width(len(d.Faces)), f.Card.Number)
		if backs[f.Back] == nil {
			backs[f.Back] = pageOf(f.Back)
		}
		pics = append(pics, picture{number + "-front", pageOf(f.Front), phoneDPI(d)}, picture{number + "-back", backs[f.Back], phoneDPI(d)})
	}
	return pics
}

func pageOf(p *layout.Panel) *layout.Page {
	return &layout.Page{Width: p.Width, Height: p.Height, Items: p.Items}
}

// width is how many digits a count has.
func width(n int) int { return len(strconv.Itoa(n)) }

// inParallel does work on all sheets at once, and gives up waiting when the
// run is interrupted: nothing is on disk yet.
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
	return nil
}

// ink makes the files of a sheet: its PDF first.
func (s *sheet) ink(created time.Time, png bool, v *voice) ([]output, error) {
	var outs []output
	for _, p := range partsOf(s.name, s.doc, mostPages) {
		var pdf bytes.Buffer
		if err := render.PDF(&pdf, p.doc, created); err != nil {
			return nil, fmt.Errorf("%s: %w", p.name, err)
		}
		outs = append(outs, output{p.name, pdf.Bytes()})
	}
	s.files = len(outs)
	if !png {
		return outs, nil
	}
	drawn := map[*layout.Page][]byte{}
	pictures := s.pictures(s.doc)
	done := v.progress("pictures of "+s.name, len(pictures))
	for _, p := range pictures {
		name := s.name + p.suffix + ".png"
		if drawn[p.page] == nil {
			var b bytes.Buffer
			if err := render.PNG(&b, p.page, p.dpi); err != nil {
				return nil, fmt.Errorf("%s: %w", name, err)
			}
			drawn[p.page] = signPNG(b.Bytes())
		}
		outs = append(outs, output{name, drawn[p.page]})
		done(1)
	}
	return outs, nil
}
