package main

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"sync"

	"github.com/spf13/cobra"
	"golang.org/x/term"

	"slotcard/cmd/internal/checkin"
	"slotcard/cmd/internal/files"
	"slotcard/cmd/internal/papers"
	"slotcard/cmd/internal/report"
	"slotcard/cmd/internal/voice"
	"slotcard/plan"
	"slotcard/plan/compare"
	"slotcard/plan/finding"
	"slotcard/plan/slotlist"
	"slotcard/render/scan"
)

func init() { registerCommand(70, (*app).verifyCommand) }

func (a *app) verifyCommand() *cobra.Command {
	var asJSON, watch bool
	var journal string
	cmd := &cobra.Command{
		Use:   "verify PLAN [FILE...]",
		Short: "compares scanned lists, photographs of cards and printed PDFs with a plan",
		Long: `verify says whether a list is the plan's: the same, or which slots differ and
how. FILE is one of these, told apart by what is in it:
  a text     one list or several, as a phone or a scanner shows the QR code;
             without FILE, or with -, it is read from standard input
  a picture  PNG, JPEG or WebP up to about 40 megapixels: a photograph or a scan
             with one code or several, turned, at an angle, folded, in uneven or
             red light; HEIC is not read: save it as JPEG. Of a code that is worn
             or in bad light name several photographs: where none can be read
             alone, they are read together
  a PDF      that slotcard wrote: every code drawn in it, without a printer; in
             place of the plan, the plan that is attached to it
A plan with several lists is compared with the closest one, which is named.
Another incident, period, revision or load edition is said before anything else.

--watch is for the check-in table: lists come in from a keyboard scanner, one
after the other, and each is answered with one line. Beside lists it takes
  card 12    the number on the card whose list comes next; 12 alone will do
  who        who has not been seen yet
  done       the end, as is the end of input: who has not been seen
Of a card that is scanned again the last answer counts. --journal FILE keeps
each answer, one line of JSON, on disk before it is shown: it survives whatever
happens to the computer, and the same command takes it up again.

Exit status: 0 all the same, 1 a list that differs or is damaged, 2 wrong usage,
or a file that cannot be read or holds no list.

--json prints one document:
  {"plan":  {"file": "...", "incident": "...", "period": 2, "revision": 2, "edition": "2027",
             "lists": [{"code": "J2MX", "words": "...", "of": "..."}]},
   "files": [{"file": "...", "kind": "picture", "codes": 1, "pages": 0}],
   "lists": [{"file": "...", "together": ["..."], "copies": 1,
              "result": "differs", "code": "...",
              "incident": "...", "period": 2, "revision": 2, "times": "...",
              "edition": "...",
              "compared_with": {"code": "J2MX", "words": "...", "of": "..."},
              "head": [{"field": "period", "card": "1", "plan": "2"}],
              "differences": [{"kind": "changed", "slot": 3, "to": 3,
                               "card_slot": 3, "fields": ["name"],
                               "card": "...", "plan": "...", "message": "..."}]}],
   "same":  false}
"result" is same, same-list (the slots are the plan's, the head is not), differs
or damaged, with "problem". "together" are the other pictures, of a list that only several
tell. "kind" of a difference is changed, missing, extra, moved, swapped or
shifted. "kind" of a file is text, picture or pdf; one that cannot be read has
"problem" in its place. A plan with errors gives "findings" as check does, and
no lists. Fields that would be empty are left out.`,
		Example: `  slotcard verify plan.toml photo.jpg
  slotcard verify plan.toml out/cards.pdf
  slotcard verify out/cards.pdf photo.jpg
  slotcard verify plan.toml --watch --journal checkin.jsonl`,
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) == 0 {
				return usagef("name the plan to compare with, such as: slotcard verify %s photo.jpg", likelyPlan())
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			switch {
			case watch && len(args) > 1:
				return usagef("--watch reads standard input; %s is one too many", voice.Typed(args[1]))
			case watch && asJSON:
				return usagef("--watch answers with lines, not with --json; --journal FILE keeps the answers as JSON")
			case journal != "" && !watch:
				return usagef("--journal goes with --watch")
			case args[0] == files.Stdin && (watch || len(args) == 1 || slices.Contains(args[1:], files.Stdin)):
				return usagef("plan and lists cannot both come from standard input")
			case watch:
				return a.runWatch(cmd.Context(), args[0], journal, a.depth(cmd))
			}
			return a.runVerify(cmd.Context(), args[0], args[1:], asJSON, a.depth(cmd))
		},
		ValidArgsFunction: func(cmd *cobra.Command, args []string, s string) ([]string, cobra.ShellCompDirective) {
			if len(args) == 0 {
				return tomlArgs(cmd, args, s)
			}
			return []string{"txt", "png", "jpg", "jpeg", "webp", "pdf"}, cobra.ShellCompDirectiveFilterFileExt
		},
	}
	cmd.Flags().BoolVar(&asJSON, "json", false, "print one JSON document and nothing else")
	cmd.Flags().BoolVar(&watch, "watch", false, "read list after list from standard input and answer each")
	cmd.Flags().StringVar(&journal, "journal", "", "with --watch: keep the answers in `FILE`, and take it up again")
	return cmd
}

func (a *app) runWatch(ctx context.Context, name, journal string, d report.Depth) error {
	name, err := papers.Attached(a.reader, name)
	if err != nil {
		return err
	}
	a.closes.Store(true)
	r, found, err := a.planFor("verify", name)
	if err != nil {
		return err
	}
	if found.HasErrors() {
		return a.unsound("verified", found, d)
	}
	n, err := papers.Number(a.reader, name, r)
	if err != nil {
		return err
	}
	table := checkin.Table{Plan: r, Held: n.Now}
	siblings, unread := papers.Siblings(a.reader, name, r)
	for _, s := range siblings {
		table.Others = append(table.Others, checkin.Others{File: s.File, Held: s.Held})
	}
	for _, err := range unread {
		a.voice.Complain(err)
	}
	switch allSame, err := checkin.Run(ctx, a.voice, a.reader.Stdin(), table, journal); {
	case err != nil:
		return err
	case !allSame:
		return errDiffers
	}
	return nil
}

// errDiffers ends a run that found a list which is not the plan's.
var errDiffers = fmt.Errorf("a list differs: %w", errFindings)

func (a *app) runVerify(ctx context.Context, name string, names []string, asJSON bool, d report.Depth) error {
	if papers.IsPDF(name) && len(names) == 0 {
		names = []string{name} // its codes against the plan in it
	}
	name, err := papers.Attached(a.reader, name)
	if err != nil {
		return err
	}
	r, found, err := a.planFor("verify", name)
	if err != nil {
		return err
	}
	if found.HasErrors() {
		if asJSON {
			found.Sort()
			if err := a.voice.JSON(report.VerifyDocument{Plan: report.VerifyPlan{File: name}, Files: []report.VerifiedFile{}, Lists: []report.VerifiedList{}, Findings: found}); err != nil {
				return err
			}
			return errFindings
		}
		return a.unsound("verified", found, d)
	}
	if len(names) == 0 {
		names = []string{files.Stdin}
		if f, ok := a.reader.Stdin().(*os.File); ok && term.IsTerminal(int(f.Fd())) {
			a.voice.Tell("scan a list, or paste its text; end with %s", endOfInput())
		}
	}
	looked, err := a.look(ctx, names)
	if err != nil {
		return err
	}

	doc := report.VerifyDocument{Plan: report.AboutPlan(name, r), Files: []report.VerifiedFile{}, Lists: []report.VerifiedList{}, Same: true}
	var unreadable []error
	lists := compare.Of(r)
	for _, l := range looked {
		doc.Files = append(doc.Files, l.file)
		if l.err != nil {
			unreadable = append(unreadable, l.err)
			doc.Same = false
		}
		for _, t := range l.texts {
			if ctx.Err() != nil {
				return ctx.Err()
			}
			v := report.Verified(r, lists, nil, t.text)
			v.File, v.Copies, v.Together = l.file.File, t.copies, t.with
			doc.Lists = append(doc.Lists, v)
			doc.Same = doc.Same && v.Result == report.Same
		}
	}
	if err := a.tellVerified(r, doc, looked, asJSON); err != nil {
		return err
	}
	for _, err := range unreadable {
		a.voice.Complain(err)
	}
	if !asJSON && len(doc.Lists) > 0 {
		a.voice.Tell("%s compared with %s: %s", voice.Count(len(doc.Lists), "list", "lists"), voice.Name(name), report.Sum(doc.Lists))
	}
	switch {
	case len(unreadable) > 0:
		return errTold
	case !doc.Same:
		return errDiffers
	}
	return nil
}

// tellVerified says what came of each list, and what was not looked at.
func (a *app) tellVerified(r *plan.Resolved, doc report.VerifyDocument, looked []lookedAt, asJSON bool) error {
	if asJSON {
		if err := a.voice.JSON(doc); err != nil {
			return err
		}
	} else {
		report.Compared(a.voice, r, doc)
		if err := a.voice.Flush(); err != nil {
			return err
		}
	}
	var dirs []string
	for _, l := range looked {
		if dir := filepath.Dir(l.file.File); l.file.Kind == "pdf" && !slices.Contains(dirs, dir) {
			dirs = append(dirs, dir)
			a.tellMixed(dir)
		}
		if l.file.More && !asJSON {
			a.voice.Tell("%s: shows more codes than were read; photograph the others again, from closer", files.Shown(l.file.File))
		}
		if l.seen.Cut && l.err == nil && !asJSON {
			a.voice.Tell("%s: holds more that looks like codes than is looked at; photograph fewer cards at once", files.Shown(l.file.File))
		}
		if l.others > 0 && !asJSON {
			a.voice.Tell("%s: passed over %s that no list is in", files.Shown(l.file.File), voice.Count(l.others, "code", "codes"))
		}
	}
	return nil
}

// endOfInput is the keys that end what is typed.
func endOfInput() string {
	if runtime.GOOS == "windows" {
		return "Ctrl-Z and Enter"
	}
	return "Ctrl-D"
}

// planFor reads and checks the plan that a command works with.
func (a *app) planFor(command, name string) (*plan.Resolved, finding.List, error) {
	data, err := a.reader.ReadFile(name)
	if err != nil {
		var file *files.Error
		if plan := filepath.Join(name, "plan.toml"); errors.As(err, &file) && files.IsRegular(plan) {
			return nil, nil, files.Fail(name, "is a folder; the plan in it is "+voice.Typed(plan), err)
		}
		return nil, nil, err
	}
	switch kind, what := scan.KindOf(data); {
	case kind != scan.Text:
		return nil, nil, files.Fail(name, "is a "+what+", not a plan; the plan comes first: slotcard "+command+" "+likelyPlan()+" "+voice.Typed(name), nil)
	case strings.HasPrefix(string(data), "SLOTS "):
		return nil, nil, files.Fail(name, "is a list, not a plan; the plan comes first: slotcard "+command+" "+likelyPlan()+" "+voice.Typed(name), nil)
	case plan.KindOf(data) == plan.LoadFile:
		return nil, nil, files.Fail(name, "is a load; "+command+" takes a plan, which names its load", nil)
	case plan.KindOf(data) == plan.StationFile:
		return nil, nil, files.Fail(name, "is a station file; "+command+" takes a plan, which names it as its base", nil)
	}
	r, found, err := a.open(name)
	if err != nil {
		return nil, nil, err
	}
	if r != nil && !found.HasErrors() && len(r.Lists) == 0 {
		return nil, nil, files.Fail(name, "has no list", nil)
	}
	return r, found, nil
}

// unsound prints the findings of a plan that nothing can be done with.
func (a *app) unsound(done string, found finding.List, d report.Depth) error {
	found.Sort()
	report.Findings(a.voice, found, d)
	if err := a.voice.Flush(); err != nil {
		return err
	}
	a.voice.Tell("nothing %s: the plan has %s", done, report.Tally(found))
	return errFindings
}

// lookedAt is a file and the texts of the codes in it.
type lookedAt struct {
	file   report.VerifiedFile
	texts  []copies
	others int       // codes that hold no list
	seen   scan.Seen // of a picture
	err    error
}

// copies is a text and how often a file holds it.
type copies struct {
	text   string
	copies int
	with   []string // the other pictures, where only several together tell it
}

// look reads all files, several at a time, and then what no picture tells alone.
func (a *app) look(ctx context.Context, names []string) ([]lookedAt, error) {
	out := make([]lookedAt, len(names))
	done := make(chan error, 1)
	go func() {
		var wg sync.WaitGroup
		turns := make(chan struct{}, min(4, runtime.GOMAXPROCS(0)))
		for i, name := range names {
			turns <- struct{}{}
			if ctx.Err() != nil {
				break
			}
			wg.Go(func() {
				defer func() { <-turns }()
				out[i] = a.lookAt(ctx, name)
			})
		}
		wg.Wait()
		done <- join(ctx, out)
	}()
	select {
	case err := <-done:
		return out, cmp.Or(err, ctx.Err())
	case <-ctx.Done():
		return nil, ctx.Err()
	}
}

// join adds the lists that only several pictures together tell. What the codes say
// has to be a list with its own code.
func join(ctx context.Context, looked []lookedAt) error {
	pictures := make([]scan.Seen, len(looked))
	for i, l := range looked {
		pictures[i] = l.seen
	}
	joined, err := scan.Join(ctx, pictures, func(text string) bool {
		_, _, err := slotlist.Parse(text)
		return err == nil
	})
	if err != nil {
		return err
	}
	for _, j := range joined {
		first := &looked[j.From[0]]
		told := copies{text: j.Text}
		for _, i := range j.From {
			l := &looked[i]
			l.file.Kind, l.file.Problem, l.err = "picture", "", nil
			l.seen, l.file.More = pictures[i], pictures[i].More
			l.file.Codes++
			switch name := l.file.File; {
			case i == j.From[0]:
				told.copies++
			case !slices.Contains(told.with, name):
				told.with = append(told.with, name)
			}
		}
		first.texts = append(first.texts, told)
	}
	return nil
}

// fail says why nothing of a file is compared.
func (l *lookedAt) fail(problem string, cause error) {
	l.file.Kind, l.file.Problem, l.err = "", problem, files.Fail(l.file.File, problem, cause)
}

// lookAt reads a file.
func (a *app) lookAt(ctx context.Context, name string) lookedAt {
	l := lookedAt{file: report.VerifiedFile{File: name}}
	var data []byte
	var err error
	if name == files.Stdin {
		data, err = files.ReadStdin(ctx, a.reader.Stdin(), scan.MaxFile)
	} else {
		data, err = files.ReadRegular(name, scan.MaxFile)
	}
	if err != nil {
		var file *files.Error
		if errors.As(err, &file) {
			l.fail(file.Problem, err)
		} else {
			l.fail(err.Error(), err)
		}
		return l
	}
	kind, what := scan.KindOf(data)
	var texts []string
	switch kind {
	case scan.Unknown:
		l.fail("is a picture of the kind "+what+", which is not read; save it as JPEG or PNG", nil)
	case scan.Text:
		texts = l.text(data)
	case scan.Photo:
		texts = l.picture(ctx, data)
	case scan.Paper:
		texts = l.pdf(ctx, data)
	}
	if l.err == nil {
		l.count(texts, kind == scan.Text)
	}
	return l
}

// text is the lists in a text.
func (l *lookedAt) text(data []byte) []string {
	l.file.Kind = "text"
	if len(data) > maxTexts {
		l.fail(fmt.Sprintf("is larger than %d MB, and neither a picture nor a PDF: that is no list", maxTexts>>20), nil)
		return nil
	}
	texts, err := slotlist.Texts(data)
	if err != nil {
		if kind, own := plan.OwnFile(l.file.File, data); own {
			l.fail("is a "+kind.String()+", not a list; the plan comes first, then what was scanned, such as: slotcard verify "+likelyPlan()+" photo.jpg", nil)
		} else {
			l.fail(err.Error(), nil)
		}
	}
	return texts
}

// picture is the texts of the codes in a photograph.
func (l *lookedAt) picture(ctx context.Context, data []byte) (texts []string) {
	l.file.Kind = "picture"
	var err error
	l.seen, err = scan.Picture(ctx, data)
	l.file.More, l.file.Codes = l.seen.More, len(l.seen.Codes)
	switch {
	case errors.Is(err, scan.ErrNoCode):
		again := "no QR code is read in it; photograph the card again from straight above, so that the code fills half the picture, sharp and without glare"
		switch {
		case l.seen.More:
			again += "; it shows a code, and several photographs of it, named together, may tell what each alone does not"
		case l.seen.Cut:
			again += "; it holds more that looks like codes than is looked at, so photograph fewer cards at once"
		}
		l.fail(again, err)
	case err != nil:
		l.fail(err.Error(), err)
	}
	for _, c := range l.seen.Codes {
		texts = append(texts, c.Text)
	}
	return texts
}

// pdf is the texts of the codes that are drawn in a PDF.
func (l *lookedAt) pdf(ctx context.Context, data []byte) (texts []string) {
	l.file.Kind = "pdf"
	pages, err := scan.PDF(ctx, data)
	switch {
	case errors.Is(err, scan.ErrNoCode):
		l.fail("no QR code is drawn in it; cards.pdf and wall.pdf have them", err)
		return nil
	case err != nil:
		l.fail(err.Error(), err)
		return nil
	}
	l.file.Pages = len(pages)
	for _, p := range pages {
		l.file.Codes += len(p)
		for _, c := range p {
			texts = append(texts, c.Text)
		}
	}
	return texts
}

// count tells lists from other codes, and counts those that are equal.
func (l *lookedAt) count(texts []string, all bool) {
	at := map[string]int{} // where in l.texts
	for _, text := range texts {
		if !all && !strings.HasPrefix(text, "SLOTS") {
			l.others++
			continue
		}
		if i, ok := at[text]; ok {
			l.texts[i].copies++
			continue
		}
		at[text] = len(l.texts)
		l.texts = append(l.texts, copies{text: text, copies: 1})
	}
	switch n := len(l.texts); {
	case n > maxLists:
		l.texts = nil
		l.fail(fmt.Sprintf("holds %d different lists; up to %d are compared at once: split the file", n, maxLists), nil)
	case n == 0:
		l.fail("its QR code holds no list; the list is on the back of a card and on the wall sheet", nil)
	}
}

// maxLists bounds the different lists of a file. Our choice: far more than are scanned
// in a day.
const maxLists = 1000

// maxTexts bounds a text with lists: a thousand lists of a thousand characters.
const maxTexts = 1 << 20
