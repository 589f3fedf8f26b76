package main

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"slotcard/cmd/internal/files"
	"slotcard/cmd/internal/publish"
	"slotcard/cmd/internal/report"
	"slotcard/cmd/internal/voice"
	"slotcard/layout"
	"slotcard/layout/impose"
	"slotcard/layout/words"
	"slotcard/plan"
	"slotcard/plan/finding"
	"slotcard/plan/rules"
	"slotcard/plan/tomlfile"
)

// defaultPaper is in the printer where neither plan nor flags say.
const defaultPaper = "letter"

// printFlags are the flags of print.
type printFlags struct {
	out, size, paper   string
	sides, order, sort string
	language           string
	copies             int
	bleed              float64
	plain              bool
	png, csv, json     bool
	force, strict      bool
	since              sinceFlags
	some               someFlags

	papers []*paper // with their own flags
	given  []string // names of all flags on the command line
}

func init() { registerCommand(30, (*app).printCommand) }

func (a *app) printCommand() *cobra.Command {
	f := printFlags{papers: newPapers()}
	cmd := &cobra.Command{
		Use:   "print PLAN|LOAD",
		Short: "checks a plan, then writes cards, wall sheet and hand-out sheets as PDF; for a load, its book",
		Long: `print checks a plan and, where there is no error, writes three files:
  cards.pdf    a card for every seat, fronts and backs, as many to a sheet as fit
  wall.pdf     the wall sheet
  handout.pdf  a sheet for each team, to tick off and initial
They go into the folder out beside the plan, or into the one you name with -o, all
or none. Files that slotcard wrote are replaced, others only with --force. What
has more than 1000 pages is split: cards-1.pdf, cards-2.pdf and so on.

With --since OLD, the plan of the period before, every card says on its front
what to rebuild, or that the list is the same, changed slots bear a diamond, and
changes.pdf, the change sheet, is written too. --changed-only prints only the
cards that must be replaced; the others can be kept. --strips prints strips in place
of new cards: staple each over the foot of its card. Behind them stands the sentence
to read on the radio, and who must acknowledge it.

Which number is whose is kept beside the plan, in plan.cards.csv of plan.toml, with
each print of cards: seats keep their numbers, and with --since those of OLD.

Given a load, print makes the book: book.pdf has the groups, their channels, and
indexes by frequency and by name, arranged for folding and stapling.

--cards, --wall, --handout and --changes print only what they name. --only, --team
and --division print the cards of some units again, into a file beside the full set,
such as cards-engine-611.pdf; with --handout also their hand-out sheet.

Print at actual size (100 %), never fit to page: the cards bear a 50 mm rule to
measure. Print the cards on both sides, flipped on the long edge.

Exit status: 0 printed, 1 errors found and nothing written, 2 a file that cannot
be read or written.

--json prints one document:
  {"file": "plan.toml", "kind": "plan", "printed": true, "folder": "out",
   "files": [{"file": "out/cards.pdf", "paper": "cards", "kind": "pdf"}],
   "said": ["..."], "earlier": ["..."], "findings": [...], "counts": {...},
   "strict": false}
"findings" and "counts" are as in check; "said" is how to print each paper and what
else is to be known, "earlier" what still lies there from another run. "kind" of a
file is pdf, picture or csv.`,
		Example: `  slotcard print plan.toml
  slotcard print plan.toml -o period2 --size a7 --paper a4
  slotcard print plan.toml --only "Engine 611"
  slotcard print plan.toml --wall=grid
  slotcard print period-3.toml --since period-2.toml --changed-only
  slotcard print plan-2.toml --since plan.toml --strips
  slotcard print load.toml           the book of the load`,
		Args: func(cmd *cobra.Command, args []string) error {
			if len(args) == 0 {
				return usagef("name the plan to print, such as: slotcard print %s", likelyPlan())
			}
			return atMost(1, "one plan")(cmd, args)
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			cmd.Flags().Visit(func(flag *pflag.Flag) { f.given = append(f.given, flag.Name) })
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
	f.some.add(cmd, a)
	cmd.Flags().IntVar(&f.copies, "copies", 1, "`N` copies of each card")
	cmd.Flags().Var(&measure{&f.bleed, "mm"}, "bleed", "`MM` of paper beyond the card on each side, up to 3, with --sides each")
	cmd.Flags().BoolVar(&f.plain, "plain", false, "frames in place of black fills, to save toner")
	cmd.Flags().BoolVar(&f.png, "png", false, "write a picture of every side of a card, sized for a phone, and of every page of the sheets")
	cmd.Flags().BoolVar(&f.csv, "csv", false, "write wall.csv as well: the list in the columns of form ICS 205, block 4")
	cmd.Flags().BoolVar(&f.force, "force", false, "overwrite files that slotcard did not write")
	f.since.add(cmd)
	for _, p := range f.papers {
		if !p.load {
			p.addFlag(cmd)
		}
		if p.flags != nil {
			p.flags(cmd)
		}
	}
	cmd.Flags().BoolVar(&f.json, "json", false, "print one JSON document and nothing else")
	addFindingFlags(cmd, &f.strict)
	completeFlag(cmd, "size", sizeNames(layout.CardSizes()))
	completeFlag(cmd, "paper", sizeNames(layout.PaperSizes()))
	completeFlag(cmd, "sides", impose.SidesNames())
	completeFlag(cmd, "order", impose.OrderNames())
	completeFlag(cmd, "sort", sortNames())
	completeFlag(cmd, "language", words.Languages())
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

// job is one run of print, from the file on the command line to the files in the
// folder.
type job struct {
	*app
	flags printFlags
	depth report.Depth
	name  string // of the plan or load
	dir   string // where the files go
	over  publish.Over

	plan *plan.Resolved // nil: the book of a load is printed
	some *someCards     // nil: those of all seats
	load *plan.Load     // nil: a plan is printed

	before  *since     // nil: not compared with another plan
	numbers *numbering // of the cards; nil for a load
	notes   []string   // said at the end
	set     settings
	symbols *layout.Symbols // cards and wall sheet show the same codes

	found  finding.List
	sheets []*sheet
	outs   []publish.File
}

// runPrint takes the steps of a print one after the other. Up to the last but one
// nothing is written.
func (a *app) runPrint(ctx context.Context, name string, f printFlags, d report.Depth) error {
	j := &job{app: a, flags: f, depth: d, name: filepath.Clean(name), symbols: new(layout.Symbols)}
	for _, step := range []func(context.Context) error{
		j.read, j.compare, j.settle, j.choose, j.layOut, j.showFindings, j.ink, j.publish, j.tell,
	} {
		if err := step(ctx); err != nil {
			return err
		}
	}
	return nil
}

// read opens and checks the plan or load.
func (j *job) read(context.Context) error {
	if err := j.flags.check(); err != nil {
		return err
	}
	isLoad, err := j.isLoad(j.name)
	if err != nil {
		return err
	}
	if err := j.flags.fit(j.name, isLoad); err != nil {
		return err
	}
	j.dir = cmp.Or(j.flags.out, filepath.Join(filepath.Dir(j.name), "out"))
	if j.over = publish.Ours; j.flags.force {
		j.over = publish.Any
	}
	if isLoad {
		j.load, j.found, err = rules.OpenLoad(j.name, j.planOptions())
	} else {
		j.plan, j.found, err = j.open(j.name)
	}
	if err != nil {
		if !j.flags.json {
			report.Findings(j.voice, j.found, j.depth)
		}
		return err
	}
	if j.plan == nil && j.load == nil {
		return j.refuse()
	}
	return j.judge()
}

// judge ends the run where something was found that nobody should carry.
func (j *job) judge() error {
	j.found.Group()
	if j.flags.strict {
		j.found = report.Strictly(j.found)
	}
	if j.found.HasErrors() {
		return j.refuse()
	}
	return nil
}

// compare reads the plan of --since, and numbers the cards.
func (j *job) compare(context.Context) (err error) {
	if j.plan == nil {
		return nil
	}
	if j.before, err = j.since(); err != nil {
		return err
	}
	if j.before == nil {
		j.numbers, err = j.number(j.name, j.plan)
	} else {
		j.numbers, err = j.numberBoth(filepath.Clean(j.flags.since.old), j.name, j.before.Changes)
	}
	return err
}

// settle takes the settings that flags and plan ask for.
func (j *job) settle(context.Context) error {
	if j.load != nil {
		j.set.sheets.Paper, _ = layout.PaperSize(cmp.Or(j.flags.paper, defaultPaper))
		return nil
	}
	var err error
	if j.some, err = j.flags.some.of(j.plan); err != nil {
		return err
	}
	var unknown finding.List
	j.set, unknown = settingsOf(j.plan, j.flags)
	j.found.Add(unknown...)
	return j.judge()
}

// choose says which sheets are printed, and looks whether anything stands in the
// way of their files: that is better known before the work.
func (j *job) choose(context.Context) error {
	var targets []string
	for _, p := range j.chosen() {
		if s := p.sheet(j); s != nil {
			j.sheets = append(j.sheets, s)
			targets = append(targets, s.name+".pdf")
		}
	}
	if j.flags.csv {
		targets = append(targets, wallCSV)
	}
	switch {
	case len(targets) > 0:
	case len(j.plan.Cards) == 0:
		return files.Fail(j.name, "has no units, so that there is no card and nothing to hand out", nil)
	default: // --changed-only
		return files.Fail(j.name, "replaces none of these cards: the old ones can be kept", nil)
	}
	return publish.Check(j.dir, targets, j.over)
}

// chosen are the papers that are asked for: those whose flags are given, or all; of
// some cards alone, just these cards.
func (j *job) chosen() (papers []*paper) {
	named := j.named()
	for _, p := range j.flags.papers {
		switch {
		case p.load != (j.load != nil):
		case named && !j.flags.asks(p.name):
		case !named && (p.extra || j.some != nil && p.name != "cards"):
		default:
			papers = append(papers, p)
		}
	}
	return papers
}

// named tells whether any paper is asked for by its flag.
func (j *job) named() bool {
	return slices.ContainsFunc(j.flags.papers, func(p *paper) bool { return !p.load && j.flags.asks(p.name) })
}

// layOut gives everything its place; what does not fit is a finding.
func (j *job) layOut(ctx context.Context) error {
	if err := inParallel(ctx, j.sheets, func(s *sheet) { s.doc, s.findings, s.err = s.lay() }); err != nil {
		return err
	}
	for _, s := range j.sheets {
		j.found.Add(placed(s.findings, j.name)...)
	}
	return j.judge()
}

// showFindings prints what was found and does not stop the run.
func (j *job) showFindings(context.Context) error {
	j.found.Sort()
	if !j.flags.json {
		report.Findings(j.voice, j.found, j.depth)
	}
	return j.voice.Flush()
}

// ink makes the bytes of all files.
func (j *job) ink(ctx context.Context) error {
	var created time.Time // never that of the clock
	if j.load != nil {
		created = bookDate(j.load)
	} else {
		created = j.plan.Plan.Incident.PreparedAt
	}
	if err := inParallel(ctx, j.sheets, func(s *sheet) { s.outs, s.err = s.ink(created, j.flags.png, j.voice) }); err != nil {
		return err
	}
	for _, s := range j.sheets {
		j.outs = append(j.outs, s.outs...)
	}
	if j.flags.csv {
		data, err := sheetOf(j.plan)
		if err != nil {
			return err
		}
		j.outs = append(j.outs, publish.File{Name: wallCSV, Data: data})
	}
	return nil
}

// publish writes all files, or none: the numbers of the cards with them.
func (j *job) publish(ctx context.Context) error {
	sets, err := j.keepNumbers([]publish.Set{{Dir: j.dir, Files: j.outs, Over: j.over}})
	if err != nil {
		return err
	}
	return publish.Sets(ctx, sets...)
}

// tell says what was written and how to print it.
func (j *job) tell(context.Context) error {
	if j.flags.json {
		return j.document(true)
	}
	longest := 0
	for _, p := range j.flags.papers {
		if p.load == (j.load != nil) {
			longest = max(longest, len(filepath.Join(j.dir, p.name+".pdf")))
		}
	}
	for _, s := range j.sheets {
		longest = max(longest, len(filepath.Join(j.dir, s.name+".pdf")))
	}
	line := func(file, said string) { j.voice.Tell("%-*s  %s", longest, filepath.Join(j.dir, file), said) }
	for _, s := range j.sheets {
		line(s.pdfs(), s.say(s.doc))
		if n := len(s.outs) - s.files; n > 0 {
			j.voice.Tell("%s  %s, for a look", filepath.Join(j.dir, s.name+"-*.png"), voice.Count(n, "picture", "pictures"))
		}
	}
	if j.flags.csv {
		line(wallCSV, "the list as a plan sheet, for a spreadsheet or slotcard draft")
	}
	for _, s := range j.sheets {
		if s.then != nil {
			s.then(j.voice)
		}
	}
	if j.plan != nil {
		if len(j.plan.Cards) == 0 {
			j.voice.Tell("no cards.pdf and no handout.pdf: the plan has no units")
		}
		j.before.tell(j.voice)
		j.numbers.tellApart(j.voice, j.flags.since.old)
		for _, note := range j.notes {
			j.voice.Tell("%s", note)
		}
		switch old := j.leftovers(); {
		case len(old) == 0:
		case j.named() || j.some != nil:
			j.voice.Tell("from an earlier run, and left as it was: %s", saidLeftovers(old))
		default:
			j.voice.Tell("slotcard: from an earlier run, not written by this one: %s; remove them before they are handed out", saidLeftovers(old))
		}
	}
	if len(j.found) > 0 {
		j.voice.Tell("printed, with %s", report.Tally(j.found))
	}
	return nil
}

// refuse prints the findings and says that nothing was written.
func (j *job) refuse() error {
	j.found.Sort()
	if j.flags.json {
		return cmp.Or(j.document(false), errFindings)
	}
	report.Findings(j.voice, j.found, j.depth)
	if err := j.voice.Flush(); err != nil {
		return err
	}
	j.voice.Tell("nothing printed: %s", report.Tally(j.found))
	if old := j.leftovers(); j.load == nil && len(old) > 0 {
		j.voice.Tell("slotcard: the folder still holds an earlier print, which is not of this plan: do not hand it out: %s", saidLeftovers(old))
	}
	return errFindings
}

// document prints what came of the run as JSON.
func (j *job) document(printed bool) error {
	d := report.PrintDocument{File: j.name, Kind: "plan", Folder: j.dir, Printed: printed, Strict: j.flags.strict,
		Files: []report.PrintedFile{}, Findings: append(finding.List{}, j.found...), Counts: report.Counts(j.found)}
	if j.load != nil {
		d.Kind = "load"
	} else {
		for _, l := range j.leftovers() {
			d.Earlier = append(d.Earlier, l.String())
		}
	}
	for _, s := range j.sheets {
		for i, o := range s.outs {
			f := report.PrintedFile{File: filepath.Join(j.dir, o.Name), Paper: s.name, Kind: "pdf"}
			if i >= s.files {
				f.Kind = "picture"
			}
			d.Files = append(d.Files, f)
		}
		if s.outs != nil {
			d.Said = append(d.Said, s.pdfs()+": "+s.say(s.doc))
		}
	}
	if printed {
		d.Said = append(d.Said, j.notes...)
	}
	if printed && j.flags.csv {
		d.Files = append(d.Files, report.PrintedFile{File: filepath.Join(j.dir, wallCSV), Paper: "wall", Kind: "csv"})
	}
	return j.voice.JSON(d)
}

// leftover is a file of an earlier run in the folder.
type leftover struct{ name, about string }

func (l leftover) String() string {
	if l.about == "" {
		return l.name
	}
	return l.name + " (" + l.about + ")"
}

// leftovers are files of an earlier run in the folder that this run did not write,
// each with what it says of itself.
func (j *job) leftovers() (old []leftover) {
	for _, p := range j.flags.papers {
		if p.load {
			continue
		}
		for _, ext := range []string{".pdf", ".png", ".csv"} {
			names, _ := filepath.Glob(filepath.Join(files.GlobSafe(j.dir), p.name+"*"+ext))
			for _, n := range names {
				isNew := func(o publish.File) bool { return o.Name == filepath.Base(n) }
				if !slices.ContainsFunc(j.outs, isNew) && files.IsRegular(n) && publish.IsOurs(n) {
					old = append(old, leftover{n, publish.About(n)})
				}
			}
		}
	}
	return old
}

// saidLeftovers names them; of many pictures of one print the first and the last.
func saidLeftovers(old []leftover) string {
	var said []string
	for i := 0; i < len(old); {
		k := i
		for k+1 < len(old) && filepath.Ext(old[i].name) == ".png" && filepath.Ext(old[k+1].name) == ".png" && old[k+1].about == old[i].about {
			k++
		}
		if k-i < 2 {
			said = append(said, old[i].String())
			i++
			continue
		}
		last := leftover{filepath.Base(old[k].name), old[k].about}
		said = append(said, fmt.Sprintf("%d pictures, %s to %s", k-i+1, old[i].name, last))
		i = k + 1
	}
	return strings.Join(said, ", ")
}

// asks tells whether a flag stands on the command line.
func (f *printFlags) asks(flag string) bool { return slices.Contains(f.given, flag) }

// check refuses sizes that do not exist.
func (f printFlags) check() error {
	if err := f.since.check(); err != nil {
		return err
	}
	for _, p := range f.papers {
		if p.check != nil {
			if err := p.check(&f); err != nil {
				return err
			}
		}
	}
	if err := f.checkSettings(); err != nil {
		return err
	}
	if f.size != "" {
		if _, ok := cardSize(f.size); !ok {
			if problem := outside(f.size); problem != "" {
				return usagef("card size %s", problem)
			}
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
		var file *files.Error
		if plan := filepath.Join(name, "plan.toml"); errors.As(err, &file) && files.IsRegular(plan) {
			return false, files.Fail(name, "is a folder; type: slotcard print "+voice.Typed(plan), err)
		}
		return false, err
	}
	return plan.IsLoad(data), nil
}

// onePlan refuses what is no plan before anything is made of it.
func (a *app) onePlan(name string) error {
	isLoad, err := a.isLoad(name)
	if isLoad {
		return files.Fail(name, "is a load, not a plan, which names its load", nil)
	}
	return err
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

// cardSize is the card of a name, or of width x height, with or without mm.
func cardSize(name string) (layout.Size, bool) { return layout.CardSize(plainSize(name)) }

// plainSize is a size as the table of sizes has it.
func plainSize(name string) string {
	s := strings.ToLower(strings.ReplaceAll(strings.ReplaceAll(name, "×", "x"), " ", ""))
	if bare := strings.ReplaceAll(s, "mm", ""); measured.MatchString(bare) {
		return bare
	}
	return name
}

// measured is a size as width and height in mm.
var measured = regexp.MustCompile(`^([0-9]+(?:\.[0-9]+)?)x([0-9]+(?:\.[0-9]+)?)$`)

// outside says that a size of one's own is too small or too large; "" for what is no
// such size.
func outside(name string) string {
	m := measured.FindStringSubmatch(plainSize(name))
	if m == nil || nearNamed(name) != nil {
		return ""
	}
	how := "too large"
	for _, side := range m[1:] {
		if mm, err := strconv.ParseFloat(side, 64); err == nil && mm < layout.LeastCard {
			how = "too small"
		}
	}
	return fmt.Sprintf("%s is %s: width and height are %d to %d mm, such as 90x55", name, how, layout.LeastCard, layout.MostCard)
}

func unknownSize(what, name string, at finding.Place, known []string) finding.Finding {
	help := voice.DidYouMean(finding.Closest(name, known, 3)) + "known: " + strings.Join(known, ", ")
	message := fmt.Sprintf("%s %q is not known", what, name)
	if what == "card size" {
		help = knownCardSizes(name)
		message = cmp.Or(outside(name), message)
	}
	return finding.Finding{
		Rule: tomlfile.RuleBadValue, Severity: finding.Error, Place: at, Subject: name,
		Message: message,
		Help:    []string{help},
		Data:    map[string]any{"known": known},
	}
}

// nearNamed are the sizes that are called by their measures: 3x5 is said for
// index-3x5.
func nearNamed(word string) (near []string) {
	for _, s := range layout.CardSizes() {
		if strings.HasSuffix(s.Name, "-"+strings.ToLower(word)) {
			near = append(near, s.Name)
		}
	}
	return near
}

// knownCardSizes is what may be written in place of a card size that is none.
func knownCardSizes(word string) string {
	names := sizeNames(layout.CardSizes())
	near := nearNamed(word)
	if near == nil {
		near = finding.Closest(word, names, 3)
	}
	return voice.DidYouMean(near) + "known: " + strings.Join(names, ", ") +
		fmt.Sprintf(", or width x height in mm, from %d to %d, such as 90x55", layout.LeastCard, layout.MostCard)
}
