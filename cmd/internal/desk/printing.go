package desk

import (
	"bytes"
	"crypto/rand"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"maps"
	"net/http"
	"path"
	"path/filepath"
	"slices"
	"strings"
	"sync"

	"slotcard/cmd/internal/papers"
	"slotcard/cmd/internal/publish"
	"slotcard/cmd/internal/report"
	"slotcard/cmd/internal/voice"
	"slotcard/layout"
	"slotcard/layout/book"
	"slotcard/layout/wall"
)

func init() {
	register(&View{Name: "print", Title: "Print", Place: 50, Kinds: []string{"plan", "load"}, Last: true, Data: printData,
		Do:    map[string]func(*Page) (string, error){"open": openPapers, "save": savePapers},
		Parts: map[string]func(*Page, http.ResponseWriter) error{"file": givePaper}})
}

// kept are the last results of a kind, by a name that nobody guesses.
type kept[T any] struct {
	mu  sync.Mutex
	all map[string]*T
	ids []string
}

// printed are the papers that were made, proofs what was proven.
type (
	printed = kept[printRun]
	proofs  = kept[Proof]
)

// printRun is one print: files that are open in the browser, or were saved.
type printRun struct {
	Files   []publish.File // in memory; nil where they are saved
	Saved   []string       // names in the folder
	Said    []string
	Folder  string
	Address []Choice
}

// mostKept bounds them: of papers each is some megabytes.
const mostKept = 6

func (k *kept[T]) keep(r *T) string {
	id := rand.Text()[:16]
	k.again(id, r)
	return id
}

// again keeps one under the name that it had, and gives the one that is kept.
func (k *kept[T]) again(id string, r *T) *T {
	k.mu.Lock()
	defer k.mu.Unlock()
	if there := k.all[id]; there != nil {
		return there
	}
	if k.all == nil {
		k.all = map[string]*T{}
	}
	if len(k.ids) == mostKept {
		delete(k.all, k.ids[0])
		k.ids = k.ids[1:]
	}
	k.all[id] = r
	k.ids = append(k.ids, id)
	return r
}

func (k *kept[T]) get(id string) *T {
	k.mu.Lock()
	defer k.mu.Unlock()
	return k.all[id]
}

// Printing is the dialog.
type Printing struct {
	Load     bool
	Asked    map[string]string // flag to value
	Papers   []Box
	Forms    [][]Box // of papers that have several: one of each, or none
	Sizes    []string
	Size     string // own, width x height; "": one of the table or none
	PaperIn  []string
	Sides    []Side
	Formats  []string
	Plans    []string // to compare with
	Words    []string // tables of words
	Roll     bool     // the plan asks for a roll
	Units    []string
	Counts   []Counted
	Pages    int
	Sheets   int
	Not      string
	Refused  bool // the plan has errors
	Run      *printRun
	Mixed    string // what in the folder out is not of one print
	Settings []Setting

	Least, Most float64 // meters from which a wall sheet is read
}

// Box is a paper that can be ticked.
type Box struct {
	Flag, Value, Name string
	Ticked            bool
}

// Side is a way in which front and back come onto paper.
type Side struct {
	Value, Name, Says string
	Chosen            bool
}

// Counted is what a paper takes.
type Counted struct {
	Name, Said    string
	Pages, Sheets int
	Paper         string
}

// Setting is a flag that is given or not.
type Setting struct {
	Flag, Name string
	Ticked     bool
}

// sides are the ways to turn paper, as a person at the printer thinks of them.
var sides = []Side{
	{Value: "", Name: "As the plan says"},
	{Value: "long", Name: "Both sides, long edge", Says: "turns like the page of a book"},
	{Value: "short", Name: "Both sides, short edge", Says: "turns like a notepad"},
	{Value: "fold", Name: "One side, to fold", Says: "front and back side by side, folded"},
	{Value: "front", Name: "Fronts only", Says: "no back, no code to scan"},
	{Value: "each", Name: "A card on each page", Says: "for card printers"},
}

// askable are the flags that the dialog sets: no other reaches the program.
var askable = []string{"cards", "wall", "handout", "changes", "compare", "strips", "fire", "size", "paper", "sides", "order", "sort", "language",
	"copies", "plain", "png", "csv", "since", "changed-only", "only", "bleed", "no-attach", "wall-paper", "distance", "tile", "format", "pages",
	"edge", "roll", "gap", "dpi", "words"}

// flagsAsked are the flags of a form, checked only as far as files are concerned.
func (p *Page) flagsAsked() map[string]string {
	flags := map[string]string{}
	beside := p.PlansBeside
	for _, name := range askable {
		v := strings.TrimSpace(p.Ask(name))
		switch {
		case v == "" || name == "copies" && v == "1" || name == "bleed" && (v == "0" || p.Ask("sides") != "each"):
		case name == "since" && !slices.Contains(beside(), v):
		case name == "words" && !slices.Contains(p.wordsBeside(), v):
		case name == "language" && p.Ask("words") != "":
		case (name == "gap" || name == "dpi") && p.Ask("roll") == "" || name == "gap" && v == "0":
		default:
			flags[name] = v
		}
	}
	return flags
}

func printData(p *Page) (any, error) {
	v := &Printing{Load: p.State.Kind == "load", Asked: p.flagsAsked(), PaperIn: papers.SizeNames(layout.PaperSizes()), Run: p.desk.printed.get(p.Ask("made"))}
	v.Refused = p.State.Broken()
	if out := path.Join(path.Dir(p.File), "out"); p.desk.mayWrite(out) == nil {
		if mixed := publish.Look(filepath.FromSlash(out)).Mixed(); mixed != "" {
			v.Mixed = out + " " + mixed
		}
	}
	if v.Load {
		v.Formats = papers.SizeNames(book.Formats())
		v.Settings = []Setting{{Flag: "pages", Name: "Pages one by one, not arranged for folding", Ticked: v.Asked["pages"] != ""}}
	} else {
		v.forPlan(p)
	}
	if p.State.Good == nil {
		return v, nil
	}
	m, err := p.State.Good.make(p.Ctx(), v.Asked, false)
	if err != nil {
		v.Not = whyNot(err).Error()
		return v, nil
	}
	for _, s := range m.job.Sheets {
		c := paperCount(s)
		v.Counts = append(v.Counts, Counted{s.Name, s.Said(), c.Pages, c.Sheets, c.Paper})
		v.Pages += c.Pages
		v.Sheets += c.Sheets
	}
	return v, nil
}

// wordsBeside are the tables of words beside the file, by their first column.
func (p *Page) wordsBeside() (names []string) {
	root := p.desk.Folder.FS()
	tables, _ := fs.Glob(root, path.Join(path.Dir(p.File), "*.csv"))
	for _, name := range tables {
		f, err := root.Open(name)
		if err != nil {
			continue
		}
		head := make([]byte, len("\xef\xbb\xbf")+len("key,"))
		n, _ := io.ReadFull(f, head)
		f.Close()
		if line := strings.TrimPrefix(string(head[:n]), "\xef\xbb\xbf"); strings.HasPrefix(line, "key,") || strings.HasPrefix(line, "key;") {
			names = append(names, name)
		}
	}
	return names
}

func (v *Printing) forPlan(p *Page) {
	v.Sizes = papers.SizeNames(layout.CardSizes())
	if s := v.Asked["size"]; !slices.Contains(v.Sizes, s) {
		v.Size = s
	}
	v.Plans, v.Words = p.PlansBeside(), p.wordsBeside()
	v.Roll = p.State.Good != nil && p.State.Good.Plan != nil && p.State.Good.Plan.Plan.Card.Roll != ""
	v.Least, v.Most = wall.LeastDistance, wall.MostDistance
	for _, s := range sides {
		s.Chosen = s.Value == v.Asked["sides"]
		v.Sides = append(v.Sides, s)
	}
	for _, k := range p.kinds() {
		if k.since && v.Asked["since"] == "" {
			continue
		}
		for flag, value := range k.flags {
			if slices.Contains(askable, flag) {
				v.Papers = append(v.Papers, Box{flag, value, k.choice.Name, v.Asked[flag] == value})
			}
		}
	}
	// Of a paper with several forms one is printed: they are a list to choose from.
	for i := 0; i < len(v.Papers); {
		n := i + 1
		for n < len(v.Papers) && v.Papers[n].Flag == v.Papers[i].Flag {
			n++
		}
		if n-i == 1 {
			i = n
			continue
		}
		v.Forms = append(v.Forms, slices.Clone(v.Papers[i:n]))
		v.Papers = slices.Delete(v.Papers, i, n)
	}
	if g := p.State.Good; g != nil && g.Plan != nil {
		for _, u := range g.Plan.Plan.Units {
			if !slices.Contains(v.Units, u.Name) {
				v.Units = append(v.Units, u.Name)
			}
		}
	}
	v.Settings = []Setting{
		{Flag: "plain", Name: "Frames in place of black bars, to save toner"},
		{Flag: "png", Name: "Pictures for phones, too"},
		{Flag: "csv", Name: "The list for a spreadsheet, too"},
		{Flag: "no-attach", Name: "Do not attach plan and load to the PDFs"},
	}
	if v.Asked["since"] != "" {
		v.Settings = append(v.Settings, Setting{Flag: "changed-only", Name: "Only cards that must be replaced"})
	}
	for i := range v.Settings {
		v.Settings[i].Ticked = v.Asked[v.Settings[i].Flag] != ""
	}
}

// errRefused is why a plan with errors is not printed.
var errRefused = errors.New("nothing is printed while the plan has errors: see Findings")

// openPapers makes the papers for the browser's viewer: the same bytes as print, and
// the numbers of the cards are kept as print keeps them.
func openPapers(p *Page) (string, error) {
	if p.State.Broken() {
		return "", errRefused
	}
	flags := p.flagsAsked()
	request, err := papers.Ask(flags)
	if err != nil {
		return "", err
	}
	j := papers.NewJob(p.State.Good.reader, voice.New(io.Discard, io.Discard), p.State.Good.file, request)
	for _, step := range []func() error{j.Open, func() error { return j.LayOut(p.Ctx()) }, func() error { return j.Ink(p.Ctx()) }} {
		if err := step(); err != nil {
			return "", whyNot(err)
		}
	}
	sets, err := j.KeepNumbers(nil)
	if err != nil {
		return "", err
	}
	for _, s := range sets {
		if err := p.desk.mayWrite(filepath.ToSlash(s.Dir)); err != nil {
			return "", err
		}
	}
	if len(sets) > 0 { // the numbers are new, or others
		if err := publish.Sets(p.Ctx(), sets...); err != nil {
			return "", err
		}
	}
	r := &printRun{Files: j.Outs}
	for _, s := range j.Sheets {
		r.Said = append(r.Said, s.Files()+": "+s.Said())
	}
	r.Said = append(r.Said, j.Notes...)
	id := p.desk.printed.keep(r)
	for _, f := range r.Files {
		r.Address = append(r.Address, Choice{Name: f.Name, Address: p.At("print", "part", "file", "made", id, "name", f.Name)})
	}
	return p.printAddress(flags, id), nil
}

func (p *Page) printAddress(flags map[string]string, id string) string {
	pairs := []any{"made", id}
	for _, name := range slices.Sorted(maps.Keys(flags)) {
		pairs = append(pairs, name, flags[name])
	}
	return p.At("print", pairs...)
}

// savePapers is the command print, which writes into the folder out beside the plan.
func savePapers(p *Page) (string, error) {
	flags := p.flagsAsked()
	if err := p.desk.mayWrite(path.Join(path.Dir(p.File), "out")); err != nil {
		return "", err
	}
	args := []string{"print", filepath.FromSlash(p.File), "--json"}
	for _, name := range slices.Sorted(maps.Keys(flags)) {
		args = append(args, "--"+name+"="+flags[name])
	}
	var doc struct {
		report.PrintDocument
		report.FailedDocument
		Findings []struct{ Message string } `json:"findings"`
	}
	if err := p.desk.answer(p, args, nil, &doc); err != nil {
		return "", err
	}
	if !doc.Printed {
		return "", errRefused
	}
	r := &printRun{Said: append(doc.Said, doc.Earlier...), Folder: doc.Folder}
	for _, f := range doc.Files {
		r.Saved = append(r.Saved, f.File)
	}
	return p.printAddress(flags, p.desk.printed.keep(r)), nil
}

// answer runs the program with --json, and takes its document.
func (d *desk) answer(p *Page, args []string, stdin []byte, document any) error {
	var out, said bytes.Buffer
	status := d.Run(p.Ctx(), d.Folder, args, bytes.NewReader(stdin), &out, &said)
	var failed report.FailedDocument
	if err := json.Unmarshal(out.Bytes(), &failed); err != nil {
		return fmt.Errorf("%s: status %d", strings.TrimSpace(strings.TrimPrefix(said.String(), "slotcard: ")), status)
	}
	if status == 2 && len(failed.Problems) > 0 {
		var all []string
		for _, p := range failed.Problems {
			all = append(all, p.Problem)
		}
		return errors.New(strings.Join(all, "; "))
	}
	return json.Unmarshal(out.Bytes(), document)
}

// mayWrite refuses a folder that leads out of the one that is open.
func (d *desk) mayWrite(dir string) error {
	if !isLocal(dir) {
		return errors.New("the folder to write to lies outside of the one that is open: nothing was written")
	}
	if _, err := d.Folder.Lstat(dir); err == nil {
		if info, err := d.Folder.Stat(dir); err != nil || !info.IsDir() {
			return fmt.Errorf("%s is no folder, or leads out of the one that is open: nothing was written", dir)
		}
	}
	return nil
}

// pdfPolicy is for the browser's own viewer, which sets styles of its own.
const pdfPolicy = "default-src 'self'; object-src 'self'; style-src 'self' 'unsafe-inline'; frame-ancestors 'none'"

// givePaper gives a file of a print to the browser.
func givePaper(p *Page, w http.ResponseWriter) error {
	r := p.desk.printed.get(p.Ask("made"))
	if r == nil {
		return errors.New("that print is gone: print again")
	}
	for _, f := range r.Files {
		if f.Name != p.Ask("name") {
			continue
		}
		kinds := map[string]string{".pdf": "application/pdf", ".png": "image/png", ".csv": "text/csv; charset=utf-8"}
		w.Header().Set("Content-Type", kinds[path.Ext(f.Name)])
		w.Header().Set("Content-Disposition", fmt.Sprintf("inline; filename=%q", f.Name))
		if path.Ext(f.Name) == ".pdf" {
			w.Header().Set("Content-Security-Policy", pdfPolicy)
		}
		_, err := w.Write(f.Data)
		return err
	}
	return errors.New("that print has no such file")
}
