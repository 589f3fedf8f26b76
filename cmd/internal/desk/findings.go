package desk

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"maps"
	"path"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/rogpeppe/go-internal/diff"

	"slotcard/cmd/internal/files"
	"slotcard/cmd/internal/history"
	"slotcard/cmd/internal/publish"
	"slotcard/cmd/internal/voice"
	"slotcard/layout"
	"slotcard/plan/edit"
	"slotcard/plan/finding"
	"slotcard/plan/rules"
)

func init() {
	register(&View{Name: "findings", Title: "Findings", Place: 20, Kinds: []string{"plan", "load", "station"}, Data: findingsData,
		Do: map[string]func(*Page) (string, error){"apply": applyEdit, "accept": acceptFinding}})
}

// Findings is what the checks say of a file.
type Findings struct {
	Groups []Group
	Key    string // of the text that they are about
	Lines  []Line // around a problem that no finding places; nil: none
}

// Group is findings of one severity.
type Group struct {
	Severity string
	Found    []Found
}

// Found is a finding. What is below its message is there where it is open.
type Found struct {
	finding.Finding
	Number  int // in the list, from 1
	Address string
	Open    bool
	Lines   []Line
	Rule    rules.Rule
	Accept  bool // somebody may answer for it
	Edits   []Offered
	ByHand  bool // the edits are for a person who knows the plan
	Card    *Drawing
	Whose   string // card that is shown
}

// Line is a line of a file.
type Line struct {
	Number             int
	Before, Mark, Rest string // Mark is what a finding is about
	Here               bool
}

// Offered is an edit that a finding offers.
type Offered struct {
	Title  string
	Number int
	Before []string // lines that go
	After  []string // lines that come
	ByHand bool     // only a person may do it, in the file
	Key    string   // to press; "": none
}

var groupNames = map[finding.Severity]string{
	finding.Error: "errors", finding.Warning: "warnings", finding.Advice: "advice", finding.Note: "notes",
}

func findingsData(p *Page) (any, error) {
	v := &Findings{Key: p.State.Key()}
	open, _ := strconv.Atoi(p.Ask("n"))
	if open == 0 && len(p.State.Findings) > 0 {
		open = worst(p.State.Findings)
	}
	groups := map[finding.Severity]*Group{}
	for _, s := range []finding.Severity{finding.Error, finding.Warning, finding.Advice, finding.Note} {
		groups[s] = &Group{Severity: groupNames[s]}
	}
	for i, f := range p.State.Findings {
		x := Found{Finding: f, Number: i + 1, Address: p.With("n", i+1) + "#finding", Open: i+1 == open}
		if x.Open {
			p.fill(&x)
		}
		g := groups[f.Severity]
		g.Found = append(g.Found, x)
	}
	for _, s := range []finding.Severity{finding.Error, finding.Warning, finding.Advice, finding.Note} {
		if len(groups[s].Found) > 0 {
			v.Groups = append(v.Groups, *groups[s])
		}
	}
	return v, nil
}

// worst is the number of the first finding of the gravest kind.
func worst(l finding.List) int {
	grave, _ := l.Worst()
	return 1 + slices.IndexFunc(l, func(f finding.Finding) bool { return f.Severity == grave })
}

// around is how many lines are shown before and after.
const around = 3

// fill adds what is shown of a finding that is open.
func (p *Page) fill(x *Found) {
	x.Rule, _ = rules.Get(x.Finding.Rule)
	x.Accept = rules.HowToAccept(x.Finding) != nil
	text := p.text(x.Place.File)
	x.Lines = excerpt(string(text), x.Place)
	for i, e := range x.Finding.Edits {
		o := Offered{Title: e.Title, Number: i, ByHand: e.ByHand}
		o.Before, o.After = p.lines(e)
		if !e.ByHand {
			o.Key = "a"
			if len(x.Finding.Edits) > 1 {
				o.Key = strconv.Itoa(i + 1)
			}
		}
		x.Edits, x.ByHand = append(x.Edits, o), x.ByHand || e.ByHand
	}
	x.Card, x.Whose = p.cardOf(x.Place)
}

// text is a file of the folder, as it was read for this page.
func (p *Page) text(local string) []byte {
	if filepath.ToSlash(local) == p.File {
		return p.State.Text
	}
	data, _ := files.ReadWithin(p.desk.Folder, local, files.MaxTOML)
	return data
}

func excerpt(text string, at finding.Place) (lines []Line) {
	if at.Line == 0 {
		return nil
	}
	all := strings.Split(text, "\n")
	for n := max(1, at.Line-around); n <= min(len(all), at.Line+around); n++ {
		s := strings.TrimSuffix(all[n-1], "\r")
		l := Line{Number: n, Before: s, Here: n == at.Line}
		if r := []rune(s); l.Here && at.Column >= 1 && at.Column-1 <= len(r) {
			from := at.Column - 1
			to := min(len(r), from+max(1, at.Length))
			l.Before, l.Mark, l.Rest = string(r[:from]), string(r[from:to]), string(r[to:])
		}
		lines = append(lines, l)
	}
	return lines
}

// applied are the files as an edit leaves them, by their names.
func (p *Page) applied(e finding.Edit) (before, after map[string][]byte, err error) {
	byFile := map[string][]finding.Change{}
	for _, c := range e.Changes {
		byFile[c.File] = append(byFile[c.File], c)
	}
	before, after = map[string][]byte{}, map[string][]byte{}
	for name, changes := range byFile {
		before[name] = p.text(name)
		if after[name], err = edit.Apply(before[name], changes); err != nil {
			return nil, nil, err
		}
	}
	return before, after, nil
}

// lines are those that an edit takes away and puts in.
func (p *Page) lines(e finding.Edit) (gone, come []string) {
	before, after, err := p.applied(e)
	if err != nil {
		return nil, nil
	}
	for _, name := range slices.Sorted(maps.Keys(after)) {
		for i, line := range strings.Split(string(diff.Diff(name, before[name], name, after[name])), "\n") {
			switch {
			case i < 3: // its head
			case strings.HasPrefix(line, "-"):
				gone = append(gone, strings.TrimSuffix(line[1:], "\r"))
			case strings.HasPrefix(line, "+"):
				come = append(come, strings.TrimSuffix(line[1:], "\r"))
			}
		}
	}
	return gone, come
}

// cardOf is a card that shows what a line of the plan says, with its slot outlined.
func (p *Page) cardOf(at finding.Place) (*Drawing, string) {
	g, err := p.good()
	if err != nil || filepath.ToSlash(at.File) != p.File {
		return nil, ""
	}
	m, err := g.make(p.Ctx(), nil, true)
	if err != nil {
		return nil, ""
	}
	// Cards are of the last good text: the table must stand there as here.
	header, ok := tableOf(string(p.State.Text), string(g.text()), at.Line)
	if !ok {
		return nil, ""
	}
	for _, f := range m.deck.Faces {
		has := slices.ContainsFunc(f.Front.Areas, func(a layout.Area) bool { return a.Line == header })
		if !has {
			continue
		}
		d, err := drawPanel(f.Front, "front of the card of "+f.Card.Unit.Name+", "+seat(f.Card), m.job.Language())
		if err != nil {
			return nil, ""
		}
		d, hit := d.outlined(header)
		if !hit {
			return nil, ""
		}
		return &d, f.Card.Unit.Name + ", " + seat(f.Card)
	}
	return nil, ""
}

// tableOf is the line on which the table of a line begins, where both texts have the
// same table there.
func tableOf(text, other string, line int) (header int, ok bool) {
	a, b := strings.Split(text, "\n"), strings.Split(other, "\n")
	for n := min(line, len(a)); n >= 1; n-- {
		if strings.HasPrefix(strings.TrimSpace(a[n-1]), "[") {
			return n, n <= len(b) && strings.TrimSpace(a[n-1]) == strings.TrimSpace(b[n-1])
		}
	}
	return 0, false
}

// errChanged is what an edit ends in that was offered for another text.
var errChanged = errors.New("the file has changed since this page showed it: nothing was written; look again")

// applyEdit makes an edit that a finding of this page offers, and no other.
func applyEdit(p *Page) (string, error) {
	if p.Ask("key") != p.State.Key() {
		return "", errChanged
	}
	n, _ := strconv.Atoi(p.Ask("n"))
	k, err := strconv.Atoi(p.Ask("edit"))
	if err != nil || n < 1 || n > len(p.State.Findings) || k < 0 || k >= len(p.State.Findings[n-1].Edits) {
		return "", errors.New("that edit is not offered any more: nothing was written")
	}
	e := p.State.Findings[n-1].Edits[k]
	if e.ByHand {
		return "", errors.New("only a person who knows the plan may change that, in the file: nothing was written")
	}
	before, after, err := p.applied(e)
	if err != nil {
		return "", err
	}
	if err := p.write(before, after); err != nil {
		return "", err
	}
	return p.At("findings"), nil
}

// write writes files that were edited, whole, those of one folder all or none. One
// that somebody else has changed meanwhile stops it. It is the one way in which the
// desk changes a plan or a load.
func (p *Page) write(before, after map[string][]byte) error {
	p.desk.writing.Lock()
	defer p.desk.writing.Unlock()
	sets, expect := map[string][]publish.File{}, map[string]map[string][]byte{}
	for _, name := range slices.Sorted(maps.Keys(after)) {
		slashed := filepath.ToSlash(name)
		if !p.desk.mayOpen(slashed) {
			return fmt.Errorf("%s lies outside of the folder that is open: nothing was written", name)
		}
		now, err := files.ReadWithin(p.desk.Folder, name, files.MaxTOML)
		if err != nil {
			return err
		}
		if !bytes.Equal(now, before[name]) {
			return errChanged
		}
		target, err := p.desk.target(slashed)
		if err != nil {
			return err
		}
		if err := history.Keep(p.whole(), p.desk.Folder, filepath.FromSlash(target), before[name], time.Now()); err != nil {
			return err
		}
		dir := filepath.FromSlash(path.Dir(target))
		sets[dir] = append(sets[dir], publish.File{Name: path.Base(target), Data: after[name]})
		if expect[dir] == nil {
			expect[dir] = map[string][]byte{}
		}
		expect[dir][path.Base(target)] = before[name]
	}
	var all []publish.Set
	for _, dir := range slices.Sorted(maps.Keys(sets)) {
		all = append(all, publish.Set{Dir: dir, Files: sets[dir], Over: publish.Any, Expect: expect[dir]})
	}
	if err := publish.Sets(p.whole(), all...); errors.Is(err, publish.ErrChanged) {
		return errChanged // by an editor, while the former version was kept
	} else if err != nil {
		return err
	}
	p.desk.pages.wake()
	return nil
}

// whole is for what is done to its end, though the page that asked is gone.
func (p *Page) whole() context.Context { return context.WithoutCancel(p.Ctx()) }

// target is the file that a name means, behind symbolic links, within the folder.
func (d *desk) target(name string) (string, error) {
	for range 20 {
		info, err := d.Folder.Lstat(name)
		if err != nil {
			return "", files.Fail(name, voice.Reason(err), err)
		}
		if info.Mode().IsRegular() {
			return name, nil
		}
		to, err := d.Folder.Readlink(name)
		if err != nil {
			return "", err
		}
		if name = path.Join(path.Dir(name), filepath.ToSlash(to)); filepath.IsAbs(to) || !isLocal(name) {
			break
		}
	}
	return "", fmt.Errorf("%s cannot be written: it is a link that leads elsewhere", name)
}
