package rules

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"slotcard/plan"
	"slotcard/plan/edit"
	"slotcard/plan/finding"
)

// HowToAccept is help that shows the acceptance which lowers f to a note: a line
// that says where it goes, then what to paste there. It is empty where f cannot be
// accepted, or is accepted already.
func HowToAccept(f finding.Finding) []string {
	r, known := Get(f.Rule)
	if !known || !r.Acceptable || f.Severity == finding.Note || f.Subject == "" {
		return nil
	}
	file := "plan"
	if r.Check == nil {
		file = "load, for every plan on it, or to a plan"
	}
	help := []string{"or, if somebody answers for it, add to the end of the " + file + ":"}
	for _, subject := range AcceptableAs(f) {
		help = append(help, "[[accept]]", fmt.Sprintf("rule    = %q", f.Rule), fmt.Sprintf("subject = %q", subject), `because = "..."`, `by      = "..."`)
	}
	return help
}

// AcceptableAs are the subjects to write for a finding: one, or where it was put
// together of several that are not one thing, one for each.
func AcceptableAs(f finding.Finding) []string {
	if f.Value != "" || !byValue[f.Rule] || len(f.Parts()) == 1 {
		return []string{withValue(f.Subject, f.Value)}
	}
	var all []string
	for _, p := range f.Parts() {
		if s := withValue(p.Subject, p.Value); !slices.Contains(all, s) {
			all = append(all, s)
		}
	}
	return all
}

// acceptedHere is said of the place of an acceptance.
const acceptedHere = "accepted here"

// mostNamed bounds what a line of help lists, and for how many words the rule
// that was meant is looked for: more is not read.
const mostNamed = 100

// breach is what an acceptance names: a subject, or a subject and its value.
type breach struct{ rule, subject string }

// breaches are the names under which a finding may be accepted.
func breaches(f finding.Finding) []breach {
	var all []breach
	for _, name := range []string{f.Subject, f.Cause.Name} {
		if name == "" {
			continue
		}
		all = append(all, breach{f.Rule, withValue(name, f.Value)})
		if f.Value != "" && !byValue[f.Rule] {
			all = append(all, breach{f.Rule, name})
		}
	}
	return all
}

// acceptances are the findings that acceptances apply to.
type acceptances struct {
	found    *finding.List
	broken   map[breach][]int    // which findings
	subjects map[string][]string // by rule, quoted, in order
	unknown  int                 // acceptances of rules that do not exist
}

func newAcceptances(found *finding.List) *acceptances {
	x := &acceptances{found: found, broken: map[breach][]int{}, subjects: map[string][]string{}}
	for i, f := range *found {
		for n, b := range breaches(f) {
			if n == 0 && x.broken[b] == nil {
				x.subjects[f.Rule] = append(x.subjects[f.Rule], fmt.Sprintf("%q", b.subject))
			}
			if at := x.broken[b]; len(at) == 0 || at[len(at)-1] != i {
				x.broken[b] = append(at, i)
			}
		}
	}
	return x
}

// accept lowers to notes what the plan accepts, its station file for every plan,
// and its load for every plan on it, and looks at the acceptances. Only one of
// the plan itself must match a finding: the others are for other plans, too.
func accept(r *plan.Resolved, found *finding.List) {
	r.Exceptions = nil
	x := newAcceptances(found)
	for _, a := range r.Plan.Accepts {
		places, ok := x.apply(a, "plan")
		var lowered finding.List
		for _, i := range places {
			lowered.Add((*found)[i])
		}
		r.Exceptions = append(r.Exceptions, exceptions(a, lowered)...)
		standing := r.Plan.Station != nil && a.File() == r.Plan.Station.File()
		if ok && len(places) == 0 && !standing && !incomplete(r) { // what is not resolved may be just what was accepted
			x.unused(a, "plan")
		}
	}
	uses := touched(r)
	for _, a := range r.Load.Accepts {
		places, _ := x.apply(a, "load")
		var lowered finding.List
		for _, i := range places {
			if f := (*found)[i]; uses[f.Subject] {
				lowered.Add(f)
			}
		}
		r.Exceptions = append(r.Exceptions, exceptions(a, lowered)...)
	}
}

// exceptions are what an acceptance lowered, one for each cause.
func exceptions(a *plan.Accept, lowered finding.List) (out []plan.Exception) {
	lowered.Group()
	for _, f := range lowered {
		out = append(out, plan.Exception{Accept: a, Message: f.Message})
	}
	return out
}

// acceptInLoad lowers to notes what a load accepts, where it is checked by itself.
func acceptInLoad(l *plan.Load, found *finding.List) {
	x := newAcceptances(found)
	for _, a := range l.Accepts {
		if places, ok := x.apply(a, "load"); ok && len(places) == 0 {
			x.unused(a, "load")
		}
	}
}

// apply lowers what an acceptance of a file names, and gives the indices of these
// findings. It is not ok where the acceptance itself is at fault.
func (x *acceptances) apply(a *plan.Accept, file string) (places []int, ok bool) {
	if a.Rule == "" || a.Subject == "" {
		return nil, false // reading has said so
	}
	rule, known := Get(a.Rule)
	impossible := func(message string, help ...finding.Edit) {
		x.found.Add(offering(finding.Finding{
			Rule: "accept-not-possible", Severity: finding.Error, Place: a.At("rule"), Subject: a.Rule,
			Message: message, Data: map[string]any{"rule": a.Rule, "subject": a.Subject},
		}, help...))
	}
	switch {
	case !known:
		x.unknown++
		x.found.Add(unknownRule(a, x.unknown <= mostNamed))
		return nil, false
	case !rule.Acceptable:
		impossible(a.Rule+" cannot be accepted", remove(a.Table, "remove this [[accept]]"), words("correct the "+file+": "+rule.Fix))
		return nil, false
	case file == "load" && rule.CheckLoad == nil:
		impossible(a.Rule+" is a rule for plans, which a load cannot answer for", words("move this [[accept]] to the plan, or to the station file that is its base"))
		return nil, false
	}
	places = x.broken[breach{a.Rule, a.Subject}]
	for _, i := range places {
		f := &(*x.found)[i]
		if f.Severity != finding.Note {
			f.Severity = finding.Note
			f.Help = []string{fmt.Sprintf("accepted by %s: %s", a.By, a.Because)}
			f.Data = maps.Clone(f.Data)
			if f.Data == nil {
				f.Data = facts{}
			}
			f.Data["accepted_by"], f.Data["because"] = a.By, a.Because
			f.Related = append(f.Related, finding.Related{Place: a.At(""), Message: acceptedHere})
		}
	}
	return places, true
}

// unused reports an acceptance that matches no finding.
func (x *acceptances) unused(a *plan.Accept, file string) {
	help := remove(a.Table, "remove it: the "+file+" no longer breaks this rule")
	if others := x.subjects[a.Rule]; others != nil {
		more := ""
		if n := len(others) - mostNamed; n > 0 {
			others, more = others[:mostNamed], fmt.Sprintf(" and %d more", n)
		}
		help = words("the rule is broken by " + strings.Join(others, ", ") + more + ": write one of these as subject, or remove it")
	}
	message := fmt.Sprintf("nothing to accept: %s finds no fault with %q", a.Rule, a.Subject)
	if now := x.nowWith(a); now != "" {
		message = fmt.Sprintf("%q does not say what is accepted of it; now that is %q", a.Subject, now)
		if strings.Contains(a.Subject, ": ") {
			message = fmt.Sprintf("%q was accepted, but now it is %q", a.Subject, now)
		}
		help = words(fmt.Sprintf("if somebody answers for that, too, write subject = %q", now))
	}
	x.found.Add(offering(finding.Finding{
		Rule: "accept-unused", Severity: finding.Warning, Place: a.At("subject"), Subject: a.Subject,
		Message: message,
		Data:    map[string]any{"rule": a.Rule, "subject": a.Subject},
	}, help))
}

// nowWith is the subject of a finding about the same thing as an acceptance that
// matches none, with the value that it has now; "" where there is none.
func (x *acceptances) nowWith(a *plan.Accept) string {
	name, _, _ := strings.Cut(a.Subject, ": ")
	for _, f := range *x.found {
		if f.Rule == a.Rule && f.Severity > finding.Note && f.Value != "" && (f.Subject == name || f.Subject == a.Subject) {
			return withValue(f.Subject, f.Value)
		}
	}
	return ""
}

func unknownRule(a *plan.Accept, look bool) finding.Finding {
	var closest []string
	if look {
		closest = Closest(a.Rule)
	}
	f := finding.Finding{
		Rule: "accept-unknown-rule", Severity: finding.Error, Place: a.At("rule"), Subject: a.Rule,
		Message: fmt.Sprintf("no rule %q to accept", a.Rule),
		Data:    map[string]any{"rule": a.Rule, "closest": append([]string{}, closest...)},
	}
	for _, other := range closest {
		f.Offer(edit.In(a.Table).Set(a.Table, "rule", other).Edit("did you mean " + other + "?"))
	}
	f.Help = append(f.Help, "slotcard explain lists all rules")
	return f
}
