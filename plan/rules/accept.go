package rules

import (
	"fmt"
	"strings"

	"slotcard/plan"
	"slotcard/plan/finding"
)

// HowToAccept is a line of help that shows the acceptance which lowers f to a
// note. It is empty where f cannot be accepted, or is accepted already.
func HowToAccept(f finding.Finding) string {
	r, known := Get(f.Rule)
	if !known || !r.Acceptable || f.Severity == finding.Note || f.Subject == "" {
		return ""
	}
	return fmt.Sprintf(`or, if somebody answers for it, add to the plan: [[accept]] rule = %q, subject = %q, because = "...", by = "..."`,
		f.Rule, f.Subject)
}

// mostNamed bounds what a line of help lists, and for how many words the rule
// that was meant is looked for: more is not read.
const mostNamed = 100

// breach is what an acceptance names.
type breach struct{ rule, subject string }

// accept lowers what the plan accepts to notes, and looks at the acceptances.
func accept(r *plan.Resolved, found *finding.List) {
	r.Exceptions = nil
	broken := map[breach][]int{}      // which findings
	subjects := map[string][]string{} // by rule, quoted, in order
	for i, f := range *found {
		b := breach{f.Rule, f.Subject}
		if broken[b] == nil {
			subjects[f.Rule] = append(subjects[f.Rule], fmt.Sprintf("%q", f.Subject))
		}
		broken[b] = append(broken[b], i)
	}
	unknown := 0
	for _, a := range r.Plan.Accepts {
		if a.Rule == "" || a.Subject == "" {
			continue // reading has said so
		}
		rule, known := Get(a.Rule)
		switch {
		case !known:
			unknown++
			found.Add(unknownRule(a, unknown <= mostNamed))
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
		places := broken[breach{a.Rule, a.Subject}]
		for _, i := range places {
			f := &(*found)[i]
			if f.Severity != finding.Note {
				f.Severity = finding.Note
				f.Help = []string{fmt.Sprintf("accepted by %s: %s", a.By, a.Because)}
				f.Related = append(f.Related, finding.Related{Place: a.At(""), Message: "accepted here"})
			}
			r.Exceptions = append(r.Exceptions, plan.Exception{Accept: a, Message: f.Message})
		}
		// What is not resolved may be just what was accepted.
		if len(places) == 0 && !incomplete(r) {
			help := "remove it: the plan no longer breaks this rule"
			if others := subjects[a.Rule]; others != nil {
				more := ""
				if n := len(others) - mostNamed; n > 0 {
					others, more = others[:mostNamed], fmt.Sprintf(" and %d more", n)
				}
				help = "the rule is broken by " + strings.Join(others, ", ") + more + ": write one of these as subject, or remove it"
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

func unknownRule(a *plan.Accept, look bool) finding.Finding {
	help := "slotcard explain lists all rules"
	var closest []string
	if look {
		closest = Closest(a.Rule)
	}
	if len(closest) > 0 {
		help = "did you mean " + strings.Join(closest, " or ") + "?"
	}
	return finding.Finding{
		Rule: "accept-unknown-rule", Severity: finding.Error, Place: a.At("rule"), Subject: a.Rule,
		Message: fmt.Sprintf("no rule %q to accept", a.Rule), Help: []string{help},
		Data: map[string]any{"rule": a.Rule, "closest": append([]string{}, closest...)},
	}
}
