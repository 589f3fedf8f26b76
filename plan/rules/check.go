package rules

import (
	"slotcard/plan"
	"slotcard/plan/finding"
)

// Open reads, resolves and checks a plan. The findings are all that reading,
// resolving and the rules have to say, one for each cause, sorted. The result is
// nil where plan or load could not be understood at all; otherwise it is there
// even with errors, but then it must not be printed: see
// [finding.List.HasErrors]. The error is set where a file could not be read. Each
// edit that a finding offers has been tried, see vet.go.
func Open(name string, o plan.Options) (*plan.Resolved, finding.List, error) {
	again := func(o plan.Options) (*plan.Resolved, *plan.Load, finding.List, error) {
		r, found, err := open(name, o)
		return r, nil, found, err
	}
	kept, o := keepFiles(o)
	r, found, err := open(name, o)
	if err == nil {
		vet(found, r, nil, kept, o, again)
	}
	return r, found, err
}

func open(name string, o plan.Options) (*plan.Resolved, finding.List, error) {
	p, l, found, err := plan.Read(name, o)
	if err != nil {
		return nil, found, err
	}
	r, more := plan.Resolve(p, l)
	found.Add(more...)
	if r != nil {
		found.Add(Check(r)...)
	}
	found.Group()
	return r, found, nil
}

// OpenLoad reads and checks a load by itself. With findings of severity error
// the load is filled as far as it could be read. The error is set where the file
// could not be read.
func OpenLoad(name string, o plan.Options) (*plan.Load, finding.List, error) {
	again := func(o plan.Options) (*plan.Resolved, *plan.Load, finding.List, error) {
		l, found, err := openLoad(name, o)
		return nil, l, found, err
	}
	kept, o := keepFiles(o)
	l, found, err := openLoad(name, o)
	if err == nil {
		vet(found, nil, l, kept, o, again)
	}
	return l, found, err
}

func openLoad(name string, o plan.Options) (*plan.Load, finding.List, error) {
	l, found, err := plan.ReadLoad(name, o)
	if err != nil {
		return nil, found, err
	}
	found.Add(CheckLoad(l)...)
	found.Group()
	return l, found, nil
}

// OpenStation reads and checks a station file by itself: what it names in plan and
// load is looked up where a plan has it as its base. The error is set where the
// file could not be read.
func OpenStation(name string, o plan.Options) (finding.List, error) {
	again := func(o plan.Options) (*plan.Resolved, *plan.Load, finding.List, error) {
		found, err := openStation(name, o)
		return nil, nil, found, err
	}
	kept, o := keepFiles(o)
	found, err := openStation(name, o)
	if err == nil {
		vet(found, nil, nil, kept, o, again)
	}
	return found, err
}

func openStation(name string, o plan.Options) (finding.List, error) {
	s, found, err := plan.ReadStation(name, o)
	if err != nil {
		return found, err
	}
	x := newAcceptances(&found)
	for _, a := range s.Accepts {
		x.apply(a, "plan")
	}
	found.Sort()
	return found, nil
}

// collector takes the findings of one rule after another. A fault that several
// lists share is met several times: only the first is kept.
type collector struct {
	found finding.List
	seen  map[meeting]bool
}

type meeting struct {
	rule, subject string
	place         finding.Place
}

// reportAs fills in the rule, and its severity where the finding has not lowered
// it; what is below the least severity is dropped.
func (c *collector) reportAs(rule Rule, least finding.Severity) func(finding.Finding) {
	return func(f finding.Finding) {
		if f.Rule = rule.ID; f.Severity == finding.Note || f.Severity > rule.Severity {
			f.Severity = rule.Severity
		}
		f.Value = valueOf(f)
		m := meeting{f.Rule, f.Subject, f.Place}
		if f.Severity < least || c.seen[m] {
			return
		}
		c.seen[m] = true
		c.found.Add(f)
	}
}

// Check applies all rules to a resolved plan and to its load, and then what the
// plan accepts: r.Exceptions are filled anew. Advice about the load is left to
// [CheckLoad]: who holds the plan cannot act on it; and faults of the load that
// the plan does not touch are no more than one line. Findings come grouped and
// sorted, the same each time.
func Check(r *plan.Resolved) finding.List {
	c := collector{seen: map[meeting]bool{}}
	for _, rule := range All() {
		if rule.Check != nil {
			rule.Check(r, c.reportAs(rule, finding.Advice))
		}
		if rule.CheckLoad != nil {
			rule.CheckLoad(r.Load, c.reportAs(rule, finding.Warning))
		}
	}
	c.found.Sort()
	accept(r, &c.found)
	c.found.Group()
	return elsewhere(r, c.found)
}

// CheckLoad applies the rules for loads, and then what the load accepts.
// Findings come grouped and sorted.
func CheckLoad(l *plan.Load) finding.List {
	c := collector{seen: map[meeting]bool{}}
	for _, rule := range All() {
		if rule.CheckLoad != nil {
			rule.CheckLoad(l, c.reportAs(rule, finding.Advice))
		}
	}
	c.found.Sort()
	acceptInLoad(l, &c.found)
	c.found.Group()
	return c.found
}
