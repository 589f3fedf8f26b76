package papers

import (
	"bytes"
	"cmp"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"time"

	"slotcard/cmd/internal/files"
	"slotcard/cmd/internal/publish"
	"slotcard/cmd/internal/report"
	"slotcard/cmd/internal/voice"
	"slotcard/fonts"
	"slotcard/layout"
	"slotcard/layout/cards"
	"slotcard/layout/wall"
	"slotcard/layout/words"
	"slotcard/plan"
	"slotcard/plan/finding"
	"slotcard/plan/published"
	"slotcard/plan/rules"
	plansheet "slotcard/plan/sheet"
	"slotcard/render"
)

// WallCSV is the file of print --csv.
const WallCSV = "wall.csv"

// Refused ends a job where something was found that nobody should carry.
type Refused struct {
	Found finding.List
	Cause error // a file that cannot be read, too; may be nil
}

func (r *Refused) Error() string {
	if r.Cause != nil {
		return r.Cause.Error()
	}
	return "findings of severity error"
}

func (r *Refused) Unwrap() error { return r.Cause }

// Job is one making of papers, from the file of a plan or load to documents and their
// bytes. Its steps are [Job.Open], [Job.LayOut] and [Job.Ink].
type Job struct {
	Name    string // of the plan or load
	Request *Request

	Plan *plan.Resolved // nil: the book of a load is made
	Load *plan.Load     // nil: the papers of a plan are made

	Before  *Since       // nil: not compared with another plan
	Numbers *Numbering   // of the cards; nil for a load
	Notes   []string     // said at the end
	Found   finding.List // up to now
	Sheets  []*Sheet     // what is made
	Outs    []publish.File

	reader  *files.Reader
	voice   *voice.Voice // says how far the work has come
	some    *someCards   // nil: those of all seats
	set     settings
	symbols *layout.Symbols // cards and wall sheet show the same codes
}

// ready makes ready what every job needs, on another core while the plan is read.
var ready = sync.OnceFunc(func() {
	published.Ready()
	fonts.Ready()
	render.Ready()
})

// NewJob is one of which nothing is done yet.
func NewJob(r *files.Reader, v *voice.Voice, name string, f *Request) *Job {
	go ready()
	return &Job{Name: filepath.Clean(name), Request: f, reader: r, voice: v, symbols: new(layout.Symbols)}
}

// Open reads, checks and chooses: then it is known which papers there will be. What
// stands in the way is a [Refused], or an error about a file or the request.
func (j *Job) Open() error {
	for _, step := range []func() error{j.read, j.compare, j.settle, j.choose} {
		if err := step(); err != nil {
			return err
		}
	}
	return nil
}

// read opens and checks the plan or load.
func (j *Job) read() error {
	if err := j.Request.check(); err != nil {
		return err
	}
	isLoad, err := IsLoad(j.reader, j.Name)
	if err != nil {
		return err
	}
	if err := j.Request.fit(j.Name, isLoad); err != nil {
		return err
	}
	if isLoad {
		j.Load, j.Found, err = rules.OpenLoad(j.Name, Options(j.reader))
	} else {
		j.Plan, j.Found, err = Open(j.reader, j.Name)
	}
	if err != nil {
		return &Refused{j.Found, err}
	}
	if j.Plan == nil && j.Load == nil {
		return j.refused()
	}
	return j.judge()
}

// refused is the end of a job by what was found.
func (j *Job) refused() error { return &Refused{Found: j.Found} }

// judge ends a job where something was found that nobody should carry.
func (j *Job) judge() error {
	j.Found.Group()
	if j.Request.Strict {
		j.Found = report.Strictly(j.Found)
	}
	if j.Found.HasErrors() {
		return j.refused()
	}
	return nil
}

// compare reads the plan of --since, and numbers the cards.
func (j *Job) compare() (err error) {
	if j.Plan == nil {
		return nil
	}
	if j.Before, err = j.since(); err != nil {
		return err
	}
	if j.Before == nil {
		j.Numbers, err = Number(j.reader, j.Name, j.Plan)
	} else {
		j.Numbers, err = NumberBoth(j.reader, filepath.Clean(j.Request.Since), j.Name, j.Before.Changes)
	}
	return err
}

// settle takes the settings that flags and plan ask for.
func (j *Job) settle() error {
	if j.Load != nil {
		j.set.sheets.Paper, _ = layout.PaperSize(cmp.Or(j.Request.Paper, layout.DefaultPaper))
		j.set.language = cmp.Or(j.Request.Language, "en")
		j.set.words, _ = words.Speak(j.set.language)
		return j.speak()
	}
	var err error
	if j.some, err = j.Request.some(j.Plan); err != nil {
		return err
	}
	var unknown finding.List
	if _, err := j.Request.roll(&j.Plan.Plan.Card); err != nil && (j.Request.Roll != "" || j.Plan.Plan.Card.Roll == "") {
		return err
	}
	j.set, unknown = settingsOf(j.Plan, j.Request)
	j.Found.Add(unknown...)
	if err := j.judge(); err != nil {
		return err
	}
	return j.speak()
}

// speak takes the words of a table where one is given, and says which of them it
// lacks.
func (j *Job) speak() error {
	name := j.Request.Words
	if name == "" {
		return nil
	}
	data, err := j.reader.ReadFile(name)
	if err != nil {
		return err
	}
	t, err := words.ReadTable(data, name)
	if err != nil {
		var all []error
		for line := range strings.SplitSeq(err.Error(), "\n") {
			all = append(all, files.Fail(name, line, err))
		}
		return errors.Join(all...)
	}
	j.set.words, j.set.language = t.Language, t.Tag
	if n := len(t.Missing); n > 0 {
		stand, as := "stand", "in English"
		if t.Spoken {
			as = "as slotcard says them"
		}
		if n == 1 {
			stand, as = "stands", strings.Replace(as, "them", "it", 1)
		}
		j.Notes = append(j.Notes, fmt.Sprintf("%s: %s no row or nothing in it, and %s on paper %s: %s", voice.Name(name),
			voice.Count(n, "word has", "words have"), stand, as, few(t.Missing, 5)))
	}
	return nil
}

// few are the first of some names, and how many more there are.
func few(names []string, most int) string {
	if len(names) <= most {
		return strings.Join(names, ", ")
	}
	return fmt.Sprintf("%s and %d more", strings.Join(names[:most], ", "), len(names)-most)
}

// choose says which sheets are made.
func (j *Job) choose() error {
	for _, p := range j.chosen() {
		if s := p.sheet(j); s != nil {
			j.Sheets = append(j.Sheets, s)
		}
		if p.beside != nil {
			if s := p.beside(j); s != nil {
				j.Sheets = append(j.Sheets, s)
			}
		}
	}
	switch {
	case len(j.Sheets) > 0 || j.Request.CSV:
		return nil
	case len(j.Plan.Cards) == 0:
		return files.Fail(j.Name, "has no units, so that there is no card and nothing to hand out", nil)
	default: // --changed-only
		return files.Fail(j.Name, "replaces none of these cards: the old ones can be kept", nil)
	}
}

// Targets are the files that come of a job, of a split one the name that it is split
// from.
func (j *Job) Targets() (names []string) {
	for _, s := range j.Sheets {
		names = append(names, s.Name+".pdf")
	}
	if j.Request.CSV {
		names = append(names, WallCSV)
	}
	return names
}

// chosen are the papers that are asked for: those whose flags are given, or all; of
// some cards alone, just these cards.
func (j *Job) chosen() (papers []*Paper) {
	named := j.Request.Named()
	for _, p := range j.Request.Papers {
		switch {
		case p.Load != (j.Load != nil):
		case named && !j.Request.asks(p.Name):
		case !named && (p.extra || j.some != nil && p.Name != "cards"):
		default:
			papers = append(papers, p)
		}
	}
	return papers
}

// Some tells whether the cards of some units alone are made.
func (j *Job) Some() bool { return j.some != nil }

// LayOut gives everything its place; what does not fit is a finding.
func (j *Job) LayOut(ctx context.Context) error {
	if err := inParallel(ctx, j.Sheets, func(s *Sheet) { s.Doc, s.Findings, s.err = s.lay() }); err != nil {
		return err
	}
	for _, s := range j.Sheets {
		j.Found.Add(placed(s.Findings, j.Name)...)
	}
	return j.judge()
}

// Language is that of the fixed words, BCP 47.
func (j *Job) Language() string { return j.set.language }

// created is the date that the files bear, never that of the clock.
func (j *Job) created() time.Time {
	if j.Load != nil {
		return bookDate(j.Load)
	}
	return j.Plan.Plan.Incident.PreparedAt
}

// Ink makes the bytes of all files.
func (j *Job) Ink(ctx context.Context) error {
	date := j.created()
	attached, err := j.attachments()
	if err != nil {
		return err
	}
	attached = render.Shared(attached)
	if err := inParallel(ctx, j.Sheets, func(s *Sheet) { s.Outs, s.err = s.ink(date, attached, j.Request.PNG, j.voice) }); err != nil {
		return err
	}
	for _, s := range j.Sheets {
		j.Outs = append(j.Outs, s.Outs...)
	}
	if j.Request.CSV {
		var b bytes.Buffer
		if err := plansheet.Write(&b, j.Plan); err != nil {
			return err
		}
		j.Outs = append(j.Outs, publish.File{Name: WallCSV, Data: b.Bytes()})
	}
	return nil
}

// Origin is what the papers are made of: it tells a print from one of another state of
// the plan, its load or its station file.
func (j *Job) Origin() (publish.Origin, error) {
	names := []string{j.Name}
	o := publish.Origin{Load: j.Load != nil}
	if p := j.Plan; p != nil {
		in := p.Plan.Incident
		o.Incident, o.Period, o.Revision, o.Exercise = in.Name, in.Period, in.Revision, in.Exercise || p.Load.About.Exercise
		beside := func(name string) string {
			return filepath.Join(filepath.Dir(p.Plan.Path), filepath.FromSlash(name))
		}
		names = append(names, beside(p.Plan.Load))
		if p.Plan.Station != nil {
			names = append(names, beside(p.Plan.Base))
		}
	} else {
		o.Incident = j.Load.About.Name
	}
	h := sha256.New()
	for _, name := range names {
		data, err := j.reader.ReadFile(name)
		if err != nil {
			return o, err
		}
		fmt.Fprintf(h, "%d\n", len(data)) // so that no two files read as two others
		h.Write(data)
	}
	o.State = hex.EncodeToString(h.Sum(nil))
	return o, nil
}

// IsLoad tells a load from a plan, and refuses what is no file.
func IsLoad(r *files.Reader, name string) (bool, error) {
	data, err := r.ReadFile(name)
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
func onePlan(r *files.Reader, name string) error {
	isLoad, err := IsLoad(r, name)
	if isLoad {
		return files.Fail(name, "is a load; here a plan is needed: name one that uses it", nil)
	}
	return err
}

// Open reads and checks a plan. An error is one about a file that it names.
func Open(r *files.Reader, name string) (*plan.Resolved, finding.List, error) {
	p, found, err := rules.Open(name, Options(r))
	var file *files.Error
	if errors.As(err, &file) && file.Name != name {
		what := "load"
		if errors.Is(err, plan.ErrStation) {
			what = "station file"
		}
		err = files.Fail(name, "its "+what+" cannot be read: "+file.Error(), err)
	}
	return p, found, err
}

// Sound reads a plan that must have no errors: they are returned, and then the
// plan is nil. What is less grave is left to check.
func Sound(r *files.Reader, name string) (*plan.Resolved, finding.List, error) {
	if err := onePlan(r, name); err != nil {
		return nil, nil, err
	}
	p, found, err := Open(r, name)
	found = slices.DeleteFunc(found, func(f finding.Finding) bool { return f.Severity != finding.Error })
	if err != nil || len(found) > 0 {
		return nil, found, err
	}
	return p, nil, nil
}

// Options are how plans are read from files, for paper that these fonts print.
func Options(r *files.Reader) plan.Options {
	return plan.Options{ReadFile: r.ReadFile, Prints: fonts.Prints}
}

// Check checks a load, a station file or a plan, whichever the file is: what kind it
// is comes as "load", "station" or "plan". A plan that could be understood at all
// comes resolved.
func Check(r *files.Reader, name string) (kind string, p *plan.Resolved, found finding.List, err error) {
	kind, p, found, _, err = check(r, name, false)
	return kind, p, found, err
}

// CheckForPrint is [Check], and where the plan has no errors, the job of printing it
// without flags, open. It is nil where it would not come to that.
func CheckForPrint(r *files.Reader, name string) (kind string, p *plan.Resolved, found finding.List, j *Job, err error) {
	return check(r, name, true)
}

func check(r *files.Reader, name string, print bool) (kind string, p *plan.Resolved, found finding.List, j *Job, err error) {
	data, err := r.ReadFile(name)
	if err != nil {
		return "", nil, nil, nil, err
	}
	switch plan.KindOf(data) {
	case plan.LoadFile:
		_, found, err = rules.OpenLoad(name, Options(r))
		return "load", nil, found, nil, err
	case plan.StationFile:
		found, err = rules.OpenStation(name, Options(r))
		return "station", nil, found, nil, err
	}
	p, found, err = Open(r, name)
	opened := slices.Clone(found)
	if p != nil {
		set, unknown := settingsOf(p, &Request{})
		found.Add(unknown...)
		found.Add(wall.SymbolFaults(p)...)
		if !found.HasErrors() { // as print would lay it out, where it comes to that
			found.Add(placed(cards.Fits(p, set.cards()), name)...)
			if print && err == nil && !found.HasErrors() {
				j = openedJob(r, name, p, opened)
			}
		}
	}
	return "plan", p, found, j, err
}

// openedJob is the job of printing a plan that was read and checked; nil where it
// cannot be opened.
func openedJob(r *files.Reader, name string, p *plan.Resolved, found finding.List) *Job {
	request, err := Ask(nil)
	if err != nil {
		return nil
	}
	j := NewJob(r, voice.New(io.Discard, io.Discard), name, request)
	j.Plan, j.Found = p, found
	for _, step := range []func() error{j.judge, j.compare, j.settle, j.choose} {
		if step() != nil {
			return nil
		}
	}
	return j
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
