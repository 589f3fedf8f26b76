package rules

import (
	"bytes"
	"errors"
	"fmt"
	"maps"
	"runtime"
	"slices"
	"strings"
	"sync"

	"slotcard/plan"
	"slotcard/plan/edit"
	"slotcard/plan/finding"
	"slotcard/plan/radio"
	"slotcard/plan/tomlfile"
)

// An edit is a promise: with it the finding is gone, and none that is as grave
// as a warning stands in its place. No rule can know that of all plans, so each
// edit is tried before it is shown: the files are read again with it, in memory,
// and all rules look at what comes out. What does not keep the promise is not
// offered, and its words are not said.

// vetBudget bounds, in bytes, what is read again to try edits: half a second of work
// for files of any size. A finding takes about as long to come by as findingCost bytes
// take to read, and a combination of three slots, of which radio arithmetic tries all, as
// long as airCost bytes. Edits beyond the budget are not offered; their
// words stay.
const (
	vetBudget   = 3 << 19
	findingCost = 1 << 10
	airCost     = 4
)

// reopen reads and checks the same files once more.
type reopen func(o plan.Options) (*plan.Resolved, *plan.Load, finding.List, error)

// files keeps what was read, so that it can be read again with other text.
type files struct {
	read func(string) ([]byte, error)
	mu   sync.Mutex
	kept map[string][]byte
	size int
}

func keepFiles(o plan.Options) (*files, plan.Options) {
	f := &files{read: o.ReadFile, kept: map[string][]byte{}}
	o.ReadFile = f.readFile
	return f, o
}

func (f *files) readFile(name string) ([]byte, error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	if data, ok := f.kept[name]; ok {
		return data, nil
	}
	data, err := f.read(name)
	if err == nil {
		f.kept[name] = data
		f.size += len(data)
	}
	return data, err
}

// with is reading with the changes made. It fails where a change is of a file
// that was not read, or not of the text that was.
func (f *files) with(o plan.Options, changes []finding.Change) (plan.Options, error) {
	byFile := map[string][]finding.Change{}
	for _, c := range changes {
		byFile[c.File] = append(byFile[c.File], c)
	}
	edited := map[string][]byte{}
	for _, name := range slices.Sorted(maps.Keys(byFile)) {
		f.mu.Lock()
		text, ok := f.kept[name]
		f.mu.Unlock()
		if !ok {
			return o, fmt.Errorf("%s was not read", name)
		}
		after, err := edit.Apply(text, byFile[name])
		if err != nil {
			return o, err
		}
		if bytes.Equal(after, text) {
			return o, errors.New("nothing changes")
		}
		edited[name] = after
	}
	o.ReadFile = func(name string) ([]byte, error) {
		if text, ok := edited[name]; ok {
			return text, nil
		}
		return f.readFile(name)
	}
	return o, nil
}

// tried is what became of one edit.
type tried struct {
	finding, edit int
	keep, byHand  bool
}

// vet tries all edits of the findings and drops those that do not keep their
// promise. It also tells which must be left to a person: see [finding.Edit].
func vet(found finding.List, r *plan.Resolved, l *plan.Load, f *files, o plan.Options, again reopen) {
	var all []tried
	cost := f.size
	for i := range found {
		cost += findingCost * len(found[i].Parts())
		for j := range found[i].Edits {
			all = append(all, tried{finding: i, edit: j})
		}
	}
	if len(all) == 0 {
		return
	}
	if r != nil {
		n := min(len(r.Slots), mostSlots)
		cost += airCost * n * n * n
	}
	limit := vetBudget / max(1, cost)
	before := guardedOf(r, l)
	var wait sync.WaitGroup
	var next int
	var mu sync.Mutex
	for range min(runtime.GOMAXPROCS(0), len(all)) {
		wait.Go(func() {
			for {
				mu.Lock()
				i := next
				next++
				mu.Unlock()
				if i >= min(len(all), limit) {
					return
				}
				all[i].try(found, before, f, o, again)
			}
		})
	}
	wait.Wait()
	settle(found, all, limit)
}

// try makes one edit and looks what comes of it.
func (t *tried) try(found finding.List, before guarded, f *files, o plan.Options, again reopen) {
	fault := found[t.finding]
	with, err := f.with(o, fault.Edits[t.edit].Changes)
	if err != nil {
		return
	}
	r, l, after, err := again(with)
	if err != nil || !better(fault, fault.Edits[t.edit], found, after) {
		return
	}
	t.keep = true
	t.byHand = before.touched(guardedOf(r, l), fault)
}

// settle keeps the edits that were found good.
func settle(found finding.List, all []tried, limit int) {
	verdict := map[int][]tried{}
	for i, t := range all {
		if i >= limit {
			found[t.finding].Edits = nil // its words stay
			continue
		}
		verdict[t.finding] = append(verdict[t.finding], t)
	}
	for i, tries := range verdict {
		if len(found[i].Edits) == 0 {
			continue
		}
		n := -1
		for j := range found[i].Edits {
			found[i].Edits[j].ByHand = tries[j].byHand
		}
		found[i].Keep(func(finding.Edit) bool {
			n++
			return tries[n].keep
		})
		if rule, ok := Get(found[i].Rule); ok && len(found[i].Help) == 0 {
			found[i].Help = []string{rule.Fix}
		}
	}
}

// kind is what makes two findings the same although lines have moved.
type kind struct {
	rule, subject string
}

// counted counts what a list says that is as grave as a warning.
func counted(l finding.List) map[kind]int {
	n := map[kind]int{}
	for _, f := range l {
		if f.Severity >= finding.Warning {
			n[kind{rule: f.Rule, subject: f.Subject}]++
		}
	}
	return n
}

// better tells that the finding is gone and that no other stands in its place.
func better(fault finding.Finding, e finding.Edit, before, after finding.List) bool {
	count := func(l finding.List) (n int) {
		for _, f := range l {
			if f.Rule == fault.Rule && f.Subject == fault.Subject && f.Severity >= fault.Severity {
				n++
			}
		}
		return n
	}
	if count(after) >= count(before) {
		return false
	}
	was := counted(before)
	for k, n := range counted(after) {
		if n > was[k] && !((ofReading[fault.Rule] || ofResolving[fault.Rule]) && uncovered(k, e, after)) {
			return false
		}
	}
	return true
}

// ofReading are the rules of the text itself. While one of them is broken, what
// the rest of the file says is not looked at, and faults elsewhere come to light
// when it is mended: they do not stand in its place.
var ofReading = map[string]bool{
	tomlfile.RuleEncoding: true, tomlfile.RuleSyntax: true, tomlfile.RuleDuplicateKey: true, tomlfile.RuleUnknownKey: true,
	tomlfile.RuleKeyCase: true, tomlfile.RuleWrongType: true, tomlfile.RuleBadValue: true, tomlfile.RuleNoOffset: true,
}

// ofResolving are the rules of what a plan names: while a name is wrong, rules that
// need the whole list hold their peace, so here too faults come to light.
var ofResolving = map[string]bool{
	plan.RuleUnknownChannel: true, plan.RuleUnknownSite: true, plan.RuleUnknownTone: true, plan.RuleNoSite: true,
	plan.RuleSiteNotCarrying: true, plan.RuleUnknownDivision: true, plan.RuleUnknownPosition: true,
}

// uncovered tells that none of these findings has to do with a line that the edit
// changed, or with what it wrote.
func uncovered(k kind, e finding.Edit, after finding.List) bool {
	for _, f := range after {
		if f.Rule != k.rule || f.Subject != k.subject {
			continue
		}
		places := []finding.Place{f.Place}
		for _, r := range f.Related {
			places = append(places, r.Place)
		}
		for _, c := range e.Changes {
			of := func(p finding.Place) bool { return p.File == c.File && p.Line >= c.From.Line && p.Line <= c.To.Line }
			if slices.ContainsFunc(places, of) || f.Subject != "" && strings.Contains(c.New, f.Subject) {
				return false
			}
		}
	}
	return true
}

// guarded are what only a person may change: the channels that lives hang on, and
// what radios call their channels; and all frequencies, where there is a choice.
type guarded struct {
	known  bool
	vital  []string
	names  []string
	tuning []string
}

// vitalUses are those that a fire calls for help on.
var vitalUses = []radio.Use{radio.Command, radio.AirToGround, radio.Medical, radio.Guard}

func guardedOf(r *plan.Resolved, l *plan.Load) guarded {
	f := guarded{known: r != nil || l != nil}
	if r != nil {
		l = r.Load
		for _, s := range r.Slots {
			tuned := fmt.Sprintf("%v %v %v", s.Use, s.Channel.Programming(), s.TxTone)
			f.tuning = append(f.tuning, tuned)
			if slices.Contains(vitalUses, s.Use) {
				f.vital = append(f.vital, tuned)
			}
		}
	}
	if l != nil {
		for _, c := range l.Channels() {
			f.names = append(f.names, c.Name)
			tuned := fmt.Sprintf("load: %v %v", c.Use, c.Programming())
			f.tuning = append(f.tuning, tuned)
			if slices.Contains(vitalUses, c.Use) {
				f.vital = append(f.vital, tuned)
			}
		}
	}
	slices.Sort(f.vital)
	slices.Sort(f.names)
	slices.Sort(f.tuning)
	return f
}

// touched tells that an edit for the fault changes what only a person may. Where
// the text itself is at fault and there is one way to mend it, the person has
// said all of it already.
func (f guarded) touched(after guarded, fault finding.Finding) bool {
	switch {
	case ofReading[fault.Rule] && len(fault.Edits) == 1:
		return false
	case !f.known || !after.known:
		return true
	}
	return !slices.Equal(f.vital, after.vital) || !slices.Equal(f.names, after.names) ||
		len(fault.Edits) > 1 && !slices.Equal(f.tuning, after.tuning)
}
