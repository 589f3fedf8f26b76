package rules

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"slotcard/plan"
	"slotcard/plan/finding"
)

// Faults of a load on which a plan does not depend. They are for who holds the
// load; the cards of this plan are right in spite of them.
func init() {
	register(Rule{
		ID:        "load-elsewhere",
		Severity:  finding.Warning,
		Statement: "a load has no fault on channels that the plan does not use",
		Why:       "the cards of this plan do not depend on them, but the next plan may",
		Bad:       "name = \"QB LOG\"     # in no slot of the plan\nrx   = 154.2560",
		Good:      "name = \"QB LOG\"\nrx   = 154.2650",
		Fix:       "check the load by itself, and correct or accept there what it finds",
	})
}

// touched are the names under which findings of a load speak of what the plan
// uses: channels, sites and tones.
func touched(r *plan.Resolved) map[string]bool {
	names := map[string]bool{}
	add := func(c *plan.Channel, site *plan.Site, tone string) {
		for _, name := range []string{c.Name, c.RxTone.String(), c.TxTone.String(), tone} {
			names[name] = true
		}
		if site != nil {
			names[site.Name], names[site.Tone.Squelch.String()] = true, true
		}
	}
	for _, s := range r.Slots {
		add(s.Channel, s.Repeater, s.TxTone.String())
	}
	for _, a := range r.Also {
		add(a.Channel, a.Repeater, a.TxTone.String())
	}
	for _, s := range r.Unresolved {
		names[s.Channel] = true
	}
	return names
}

// elsewhere puts one line in place of the load's faults that the plan does not
// touch, and says nothing of those that the load accepts itself. What the plan
// accepts stays: it speaks of it.
func elsewhere(r *plan.Resolved, found finding.List) finding.List {
	uses := touched(r)
	var kept, apart finding.List
	for _, f := range found {
		rule, _ := Get(f.Rule)
		switch {
		case rule.CheckLoad == nil, slices.ContainsFunc(f.Parts(), func(p finding.Finding) bool { return uses[p.Subject] }):
			kept.Add(f)
		case f.Severity > finding.Note:
			apart.Add(f)
		case slices.ContainsFunc(f.Related, func(o finding.Related) bool { return o.Message == acceptedHere && o.Place.File != f.Place.File }):
			kept.Add(f)
		}
	}
	if len(apart) == 0 {
		return kept
	}
	file := apart[0].Place.File
	where := file
	if strings.ContainsAny(file, " '\"\\") {
		where = strconv.Quote(file)
	}
	channels := map[string]bool{}
	for _, c := range r.Load.Channels() {
		channels[c.Name] = true
	}
	what := "channels"
	for _, a := range apart {
		for _, p := range a.Parts() {
			if !channels[p.Subject] {
				what = "what" // a tone, a site
			}
		}
	}
	f := finding.Finding{
		Rule: "load-elsewhere", Severity: finding.Warning, Place: r.Plan.At("load"), Subject: file,
		Message: fmt.Sprintf("%s on %s this plan does not use: slotcard check %s", plural(len(apart), "finding", "findings"), what, where),
		Help:    []string{"this plan does not depend on them; slotcard check " + where + " shows them"},
		Data:    facts{"load": file, "errors": apart.Count(finding.Error), "warnings": apart.Count(finding.Warning)},
	}
	if !apart.HasErrors() {
		f.Severity = finding.Advice
	}
	if f.Place.IsZero() { // the plan was put together by a program
		f.Place = finding.Place{File: r.Plan.Path}
	}
	for _, a := range apart {
		f.Related = append(f.Related, related(a.Place, "%s: %s", a.Severity, a.Message))
	}
	kept.Add(f)
	kept.Sort()
	return kept
}
