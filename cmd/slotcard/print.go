package main

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"slotcard/cmd/internal/files"
	"slotcard/cmd/internal/papers"
	"slotcard/cmd/internal/publish"
	"slotcard/cmd/internal/report"
	"slotcard/cmd/internal/voice"
	"slotcard/plan"
	"slotcard/plan/finding"
)

// printFlags are the flags of print: what is asked of the papers, and of the run.
type printFlags struct {
	*papers.Request
	out         string
	json, force bool
}

func init() { registerCommand(30, (*app).printCommand) }

func (a *app) printCommand() *cobra.Command {
	var f printFlags
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
cards that must be replaced; the others can be kept. --compare prints the old list
beside the new one, with lines between them. --strips prints strips in place
of new cards: staple each over the foot of its card. Behind them stands the sentence
to read on the radio, and who must acknowledge it.

Which number is whose is kept beside the plan, in plan.cards.csv of plan.toml, with
each print of cards: seats keep their numbers, and with --since those of OLD.

Given a load, print makes the book: book.pdf has the groups, their channels, and
indexes by frequency and by name, arranged for folding and stapling.

--fire prints fire.pdf, for the briefing: the divisions in order around the fire, and
what each talks on and hears; --fire=lines shows what disturbs what too. "slotcard
fire" says the same as text.

--cards, --wall, --handout and --changes print only what they name. --only, --team
and --division print the cards of some units again, into a file beside the full set,
such as cards-engine-611.pdf; with --handout also their hand-out sheet.

Plan, load, station file and the numbers of the cards are attached to each PDF,
unless --no-attach is given: in place of the plan, print takes such a PDF, and so do
revise, next, diff, verify and --since. It then reads nothing but what is attached.

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
  slotcard print plan.toml --fire
  slotcard print period-3.toml --since period-2.toml --changed-only
  slotcard print plan-2.toml --since plan.toml --strips
  slotcard print plan.toml --cards --roll 62 --gap 3 --dpi 300
  slotcard print out/cards.pdf --only "Engine 611"
  slotcard print load.toml           the book of the load`,
		Args: func(cmd *cobra.Command, args []string) error {
			if len(args) == 0 {
				return usagef("name the plan to print, such as: slotcard print %s", likelyPlan())
			}
			return atMost(1, "one plan")(cmd, args)
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			cmd.Flags().Visit(func(flag *pflag.Flag) { f.Given = append(f.Given, flag.Name) })
			return a.runPrint(cmd.Context(), args[0], f, a.depth(cmd))
		},
		ValidArgsFunction: tomlArgs,
	}
	f.Request = papers.NewRequest(papers.Flags{FlagSet: cmd.Flags(), Complete: func(flag string, words []string) { completeFlag(cmd, flag, words) }})
	for _, ask := range papers.Asked {
		err := cmd.RegisterFlagCompletionFunc(ask.Flag, func(_ *cobra.Command, args []string, _ string) ([]string, cobra.ShellCompDirective) {
			return a.unitValues(args, ask.Of), cobra.ShellCompDirectiveNoFileComp
		})
		if err != nil {
			panic(err) // a flag that this command does not define
		}
	}
	cmd.Flags().StringVarP(&f.out, "out", "o", "", "folder `DIR` for the files (default: out beside the plan)")
	cmd.Flags().BoolVar(&f.force, "force", false, "overwrite files that slotcard did not write")
	cmd.Flags().BoolVar(&f.json, "json", false, "print one JSON document and nothing else")
	addFindingFlags(cmd, &f.Strict)
	if err := cmd.MarkFlagFilename("since", "toml"); err != nil {
		panic(err) // a flag that this command does not define
	}
	if err := cmd.MarkFlagDirname("out"); err != nil {
		panic(err) // a flag that this command does not define
	}
	return cmd
}

// unitValues completes a flag with what units of the plan have.
func (a *app) unitValues(args []string, of func(*plan.Unit) string) []string {
	name := likelyPlan()
	if len(args) > 0 {
		name = args[0]
	}
	r, _, err := a.open(name)
	if err != nil || r == nil {
		return nil
	}
	return papers.ValuesOf(r, of)
}

// withForms joins a flag and the form behind it, "--wall grid", which is how it was
// written while a form was all that the flag was for. A word that is a file, or looks
// like one, is the plan.
func withForms(args []string) []string {
	formed := map[string]bool{}
	for _, p := range papers.All() {
		if p.Forms != nil {
			formed["--"+p.Name] = true
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

// job is one run of print: papers are made, then written and told of.
type job struct {
	*papers.Job
	*app
	flags printFlags
	depth report.Depth
	dir   string // where the files go
	mixed bool   // not all that lies there is of one print, and that is told
}

// runPrint takes the steps of a print one after the other. Up to the last but one
// nothing is written.
func (a *app) runPrint(ctx context.Context, name string, f printFlags, d report.Depth) error {
	dir := filepath.Join(filepath.Dir(filepath.Clean(name)), "out")
	if papers.IsPDF(name) { // it stands among the others
		dir = filepath.Dir(filepath.Clean(name))
	}
	name, err := papers.Attached(a.reader, name)
	if err != nil {
		return err
	}
	if f.Since, err = papers.Attached(a.reader, f.Since); err != nil {
		return err
	}
	j := &job{Job: papers.NewJob(a.reader, a.voice, name, f.Request), app: a, flags: f, depth: d}
	j.dir = cmp.Or(f.out, dir)
	err = j.make(ctx)
	var refused *papers.Refused
	switch {
	case err == nil:
	case !errors.As(err, &refused):
		return err
	case refused.Cause != nil:
		if !f.json {
			report.Findings(j.voice, refused.Found, j.depth)
		}
		return refused.Cause
	default:
		return j.refuse()
	}
	for _, step := range []func(context.Context) error{j.showFindings, j.Ink, j.publish, j.tell} {
		if err := step(ctx); err != nil {
			return err
		}
	}
	return nil
}

// make lays the papers out. Whether anything stands in the way of their files is
// better known before the work.
func (j *job) make(ctx context.Context) error {
	if err := j.Open(); err != nil {
		return err
	}
	if err := publish.Check(j.dir, j.Targets(), j.over()); err != nil {
		return err
	}
	return j.LayOut(ctx)
}

// over is what may be overwritten.
func (j *job) over() publish.Over {
	if j.flags.force {
		return publish.Any
	}
	return publish.Ours
}

// showFindings prints what was found and does not stop the run.
func (j *job) showFindings(context.Context) error {
	j.Found.Sort()
	if !j.flags.json {
		report.Findings(j.voice, j.Found, j.depth)
	}
	return j.voice.Flush()
}

// publish writes all files, or none: the numbers of the cards with them.
func (j *job) publish(ctx context.Context) error {
	of, err := j.Origin()
	if err != nil {
		return err
	}
	sets, err := j.KeepNumbers([]publish.Set{{Dir: j.dir, Files: j.Outs, Over: j.over(), Of: &of}})
	if err != nil {
		return err
	}
	before := publish.Look(j.dir)
	if err := publish.Sets(ctx, sets...); err != nil {
		return err
	}
	now := publish.Look(j.dir)
	dir := voice.Name(j.dir)
	if newer := before.Newer(of); newer != nil {
		j.Notes = append(j.Notes, fmt.Sprintf("slotcard: %s had a newer print: %s; this one is of %s: see which is to be handed out", dir, newer, of))
	}
	switch was, is := before.Mixed(), now.Mixed(); {
	case is != "" && (j.flags.Named() || j.Some()): // else what is left over is named
		j.mixed = true
		j.Notes = append(j.Notes, fmt.Sprintf("slotcard: %s %s; print all papers again before any is handed out", dir, is))
	case is == "" && was != "":
		j.Notes = append(j.Notes, fmt.Sprintf("%s %s; now all is of one print", dir, publish.Past(was)))
	}
	return nil
}

// tell says what was written and how to print it.
func (j *job) tell(context.Context) error {
	if j.flags.json {
		return j.document(true)
	}
	longest := 0
	for _, p := range j.flags.Papers {
		if p.Load == (j.Load != nil) {
			longest = max(longest, len(filepath.Join(j.dir, p.Name+".pdf")))
		}
	}
	for _, s := range j.Sheets {
		longest = max(longest, len(filepath.Join(j.dir, s.Name+".pdf")))
	}
	line := func(file, said string) { j.voice.Tell("%-*s  %s", longest, filepath.Join(j.dir, file), said) }
	for _, s := range j.Sheets {
		line(s.Files(), s.Said())
		if n := len(s.Outs) - s.PDFs; n > 0 {
			j.voice.Tell("%s  %s, for a look", filepath.Join(j.dir, s.Name+"-*.png"), voice.Count(n, "picture", "pictures"))
		}
	}
	if j.flags.CSV {
		line(papers.WallCSV, "the list as a plan sheet, for a spreadsheet or slotcard draft")
	}
	for _, s := range j.Sheets {
		s.Then(j.voice)
	}
	if pdf := j.reader.Pack(j.Name); pdf != "" {
		j.voice.Tell("made from what is attached to %s, whole as its checksums say", voice.Name(pdf))
	}
	if j.Plan != nil {
		if len(j.Plan.Cards) == 0 {
			j.voice.Tell("no cards.pdf and no handout.pdf: the plan has no units")
		}
		j.Before.Tell(j.voice)
		j.Numbers.TellApart(j.voice, papers.Given(j.reader, j.flags.Since))
		j.tellNotes()
		switch old := j.leftovers(); {
		case len(old) == 0, j.mixed:
		case j.flags.Named() || j.Some():
			j.voice.Tell("from an earlier run, and left as it was: %s", saidLeftovers(old))
		default:
			j.voice.Tell("slotcard: from an earlier run, not written by this one: %s; remove them before they are handed out", saidLeftovers(old))
		}
	}
	if j.Load != nil {
		j.tellNotes()
	}
	if len(j.Found) > 0 {
		j.voice.Tell("printed, with %s", report.Tally(j.Found))
	}
	return nil
}

func (j *job) tellNotes() {
	for _, note := range j.Notes {
		j.voice.Tell("%s", note)
	}
}

// refuse prints the findings and says that nothing was written.
func (j *job) refuse() error {
	j.Found.Sort()
	if j.flags.json {
		return cmp.Or(j.document(false), errFindings)
	}
	report.Findings(j.voice, j.Found, j.depth)
	if err := j.voice.Flush(); err != nil {
		return err
	}
	j.voice.Tell("nothing printed: %s", report.Tally(j.Found))
	if old := j.leftovers(); j.Load == nil && len(old) > 0 {
		j.voice.Tell("slotcard: the folder still holds an earlier print; do not take it for this one: %s", saidLeftovers(old))
	}
	return errFindings
}

// document prints what came of the run as JSON.
func (j *job) document(printed bool) error {
	d := report.PrintDocument{File: j.Name, Kind: "plan", Folder: j.dir, Printed: printed, Strict: j.flags.Strict,
		Files: []report.PrintedFile{}, Findings: append(finding.List{}, j.Found...), Counts: report.Counts(j.Found)}
	if j.Load != nil {
		d.Kind = "load"
	} else {
		for _, l := range j.leftovers() {
			d.Earlier = append(d.Earlier, l.String())
		}
	}
	for _, s := range j.Sheets {
		for i, o := range s.Outs {
			f := report.PrintedFile{File: filepath.Join(j.dir, o.Name), Paper: s.Name, Kind: "pdf"}
			if i >= s.PDFs {
				f.Kind = "picture"
			}
			d.Files = append(d.Files, f)
		}
		if s.Outs != nil {
			d.Said = append(d.Said, s.Files()+": "+s.Said())
		}
	}
	if printed {
		d.Said = append(d.Said, j.Notes...)
	}
	if printed && j.flags.CSV {
		d.Files = append(d.Files, report.PrintedFile{File: filepath.Join(j.dir, papers.WallCSV), Paper: "wall", Kind: "csv"})
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
	there, _ := os.ReadDir(j.dir) // in order
	for _, p := range j.flags.Papers {
		if p.Load {
			continue
		}
		for _, ext := range []string{".pdf", ".png", ".csv"} {
			for _, e := range there {
				name := e.Name()
				isNew := func(o publish.File) bool { return o.Name == name }
				if !strings.HasPrefix(name, p.Name) || filepath.Ext(name) != ext || slices.ContainsFunc(j.Outs, isNew) {
					continue
				}
				if n := filepath.Join(j.dir, name); files.IsRegular(n) && publish.IsOurs(n) {
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
