package rules

import (
	"fmt"
	"strings"

	"slotcard/plan"
	"slotcard/plan/finding"
)

// Open reads, resolves and checks a plan. The findings are all that reading,
// resolving and the rules have to say, sorted. The result is nil where plan or
// load could not be understood at all; otherwise it is there even with errors,
// but then it must not be printed: see [finding.List.HasErrors]. The error is
// set where a file could not be read.
func Open(name string, o plan.Options) (*plan.Resolved, finding.List, error) {
	p, l, found, err := plan.Read(name, o)
	if err != nil {
		return nil, found, err
	}
	r, more := plan.Resolve(p, l)
	found.Add(more...)
	if r != nil {
		found.Add(Check(r)...)
	}
	found.Sort()
	return r, found, nil
}

// OpenLoad reads and checks a load by itself. With findings of severity error
// the load is filled as far as it could be read. The error is set where the file
// could not be read.
func OpenLoad(name string, o plan.Options) (*plan.Load, finding.List, error) {
	l, found, err := plan.ReadLoad(name, o)
	if err != nil {
		return nil, found, err
	}
	found.Add(CheckLoad(l)...)
	found.Sort()
	return l, found, nil
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

func (c *collector) reportAs(rule Rule, least finding.Severity) func(finding.Finding) {
	return func(f finding.Finding) {
		f.Rule, f.Severity = rule.ID, rule.Severity
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
// [CheckLoad]: who holds the plan cannot act on it. Findings come sorted, the
// same each time.
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
	c.found.Sort()
	return c.found
}

// CheckLoad applies the rules for loads.
func CheckLoad(l *plan.Load) finding.List {
	c := collector{seen: map[meeting]bool{}}
	for _, rule := range All() {
		if rule.CheckLoad != nil {
			rule.CheckLoad(l, c.reportAs(rule, finding.Advice))
		}
	}
	c.found.Sort()
	return c.found
}

// accept lowers what the plan accepts to notes, and looks at the acceptances.
func accept(r *plan.Resolved, found *finding.List) {
	r.Exceptions = nil
	for _, a := range r.Plan.Accepts {
		if a.Rule == "" || a.Subject == "" {
			continue // reading has said so
		}
		rule, known := Get(a.Rule)
		switch {
		case !known:
			found.Add(unknownRule(a))
			continue
		case !rule.Acceptable:
			found.Add(finding.Finding{
				Rule: "accept-not-possible", Severity: finding.Error, Place: a.At("rule"), Subject: a.Rule,
				Message: fmt.Sprintf("%s cannot be accepted", a.Rule),
				Help:    []string{"remove this [[accept]] and correct the plan: " + rule.Fix},
				Data:    map[string]any{"rule": a.Rule, "subject": a.Subject},
			})
			continue
		}
		used := false
		var others []string
		for i := range *found {
			f := &(*found)[i]
			if f.Rule != a.Rule {
				continue
			}
			if f.Subject != a.Subject {
				others = append(others, fmt.Sprintf("%q", f.Subject))
				continue
			}
			used = true
			if f.Severity != finding.Note {
				f.Severity = finding.Note
				f.Help = []string{fmt.Sprintf("accepted by %s: %s", a.By, a.Because)}
				f.Related = append(f.Related, finding.Related{Place: a.At(""), Message: "accepted here"})
			}
			r.Exceptions = append(r.Exceptions, plan.Exception{Accept: a, Message: f.Message})
		}
		// What is not resolved may be just what was accepted.
		if !used && !incomplete(r) {
			help := "remove it: the plan no longer breaks this rule"
			if others != nil {
				help = "the rule is broken by " + strings.Join(others, ", ") + ": write one of these as subject, or remove it"
			}
			found.Add(finding.Finding{
				Rule: "accept-unused", Severity: finding.Warning, Place: a.At("subject"), Subject: a.Subject,
				Message: fmt.Sprintf("nothing to accept: %s finds no fault with %q", a.Rule, a.Subject),
				Help:    []string{help},
				Data:    map[string]any{"rule": a.Rule, "subject": a.Subject},
			})
		}
	}
}

func unknownRule(a *plan.Accept) finding.Finding {
	help := "slotcard explain lists all rules"
	closest := Closest(a.Rule)
	if len(closest) > 0 {
		help = "did you mean " + strings.Join(closest, " or ") + "?"
	}
	return finding.Finding{
		Rule: "accept-unknown-rule", Severity: finding.Error, Place: a.At("rule"), Subject: a.Rule,
		Message: fmt.Sprintf("no rule %q to accept", a.Rule), Help: []string{help},
		Data: map[string]any{"rule": a.Rule, "closest": append([]string{}, closest...)},
	}
}
