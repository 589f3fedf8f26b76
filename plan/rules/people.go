package rules

import (
	"fmt"
	"slices"
	"strings"

	"slotcard/plan"
	"slotcard/plan/edit"
	"slotcard/plan/finding"
	"slotcard/plan/radio"
)

// Who works where, and what was left from the draft.
func init() {
	register(
		Rule{
			ID:        "guard-division",
			Severity:  finding.Error,
			Statement: "guard belongs to no division",
			Why:       "a division named there talks on guard, and ordinary traffic covers a call for help",
			Bad:       "[[slot]]\nchannel = \"AIRGUARD\"\ndivision = \"Z\"",
			Good:      "[[slot]]\nchannel = \"AIRGUARD\"",
			Fix:       "remove division from the slot of guard, and give the division a tactical",
			Check:     guardDivision,
		},
		Rule{
			ID:         "no-divisions",
			Severity:   finding.Warning,
			Statement:  "a plan with several tacticals has divisions",
			Why:        "without them no card says which tactical is whose: every card says to talk on command",
			Bad:        "[[slot]]\nchannel = \"VFIRE21\"\n[[slot]]\nchannel = \"VFIRE23\"     # and no [[division]]",
			Good:       "[[slot]]\nchannel = \"VFIRE21\"\ndivision = \"A\"\n[[slot]]\nchannel = \"VFIRE23\"\ndivision = \"Z\"\n[[division]]\nid = \"A\"\n[[division]]\nid = \"Z\"",
			Fix:        "add a [[division]] for each flank, and name it in the slot of its tactical and in its units",
			Acceptable: true,
			Check:      noDivisions,
		},
		Rule{
			ID:         "division-empty",
			Severity:   finding.Advice,
			Statement:  "every division has a unit or a supervisor",
			Why:        "nobody carries a card of it: its units were forgotten, or its letter was mistyped in one of them",
			Bad:        "[[division]]\nid = \"Z\"     # no supervisor, and no unit with division = \"Z\"",
			Good:       "[[division]]\nid = \"Z\"\nsupervisor = \"M. Idowu\"",
			Fix:        "add the supervisor or the units; remove a division in which nobody works",
			Acceptable: true,
			Check:      divisionEmpty,
		},
		Rule{
			ID:         "placeholder",
			Severity:   finding.Warning,
			Statement:  "what the new plan came with has been replaced",
			Why:        "the card shows the name of an example where somebody looks for the person who decides",
			Bad:        "prepared_by = \"your name and position\"",
			Good:       "prepared_by = \"R. Okafor, communications unit leader\"",
			Fix:        "write what the approved plan says",
			Acceptable: true,
			Check:      placeholder,
		},
	)
}

func guardDivision(r *plan.Resolved, report func(finding.Finding)) {
	for _, s := range r.Slots {
		if s.Use != radio.Guard || len(s.Division) == 0 || slices.ContainsFunc(s.Users, func(d *plan.Division) bool { return onTwin(r, d) }) {
			continue // another channel is wanted in its place: see channel-twice
		}
		f := finding.Finding{
			Place: s.At("division"), Subject: s.Channel.Name,
			Message: fmt.Sprintf("slot %d: %s is guard, but a division is to work on it", number(r, s), s.Channel.Name),
			Data:    facts{"channel": s.Channel.Name, "divisions": []string(s.Division)},
		}
		const remove = "remove division from this [[slot]]"
		if d := idle(r, s); d == nil {
			f.Offer(edit.In(s.Table).Delete(s.Table, "division").Edit(remove))
		} else {
			f.Help = []string{fmt.Sprintf("%s, and give %s a tactical", remove, d.Title())}
			f.Related = []finding.Related{related(d.At("id"), "%s has no tactical", d.Title())}
		}
		report(f)
	}
}

// idle is a line division among the users of guard that has no tactical.
func idle(r *plan.Resolved, guard *plan.ResolvedSlot) *plan.Division {
	for _, d := range guard.Users {
		if !d.Functional && !slices.ContainsFunc(r.Slots, func(s *plan.ResolvedSlot) bool { return s.Use == radio.Tactical && s.UsedBy(d) }) {
			return d
		}
	}
	return nil
}

func noDivisions(r *plan.Resolved, report func(finding.Finding)) {
	if len(r.Plan.Divisions) > 0 || len(r.Cards) == 0 || incomplete(r) {
		return
	}
	var tacticals []*plan.ResolvedSlot
	for _, s := range r.Slots {
		if s.Use == radio.Tactical {
			tacticals = append(tacticals, s)
		}
	}
	if len(tacticals) < 2 {
		return
	}
	f := finding.Finding{
		Place: slotPlace(tacticals[0]), Subject: r.Plan.Incident.Name,
		Message: "without divisions every card says to talk on command, and no tactical is anybody's",
		Help:    []string{"add a [[division]] for each flank, and write division = ID in the [[slot]] of its tactical and in its [[unit]]s"},
		Data:    facts{"tacticals": len(tacticals)},
	}
	for _, s := range tacticals {
		f.Related = append(f.Related, related(slotPlace(s), "slot %d: %s", number(r, s), s.Channel.Name))
	}
	report(f)
}

func divisionEmpty(r *plan.Resolved, report func(finding.Finding)) {
	if len(r.Plan.Units) == 0 || incomplete(r) {
		return
	}
	known, manned := map[string]bool{}, map[string]bool{}
	for _, d := range r.Plan.Divisions {
		known[d.ID] = true
	}
	for _, u := range r.Plan.Units {
		if u.Division == "" && u.Team != "" || u.Division != "" && !known[u.Division] {
			return // it may be the one that is missing here, and another rule asks for it
		}
		manned[u.Division] = true
	}
	for _, d := range r.Plan.Divisions {
		idle := !slices.ContainsFunc(r.Slots, func(s *plan.ResolvedSlot) bool { return s.UsedBy(d) }) // said by other rules
		if d.ID == "" || manned[d.ID] || d.Has("supervisor") || idle {
			continue
		}
		report(finding.Finding{
			Place: d.At("id"), Subject: d.ID,
			Message: fmt.Sprintf("%s has no supervisor and no unit", d.Title()),
			Help:    []string{fmt.Sprintf("write supervisor = NAME, or division = %q in the units that work there", d.ID)},
			Data:    facts{"division": d.ID},
		})
	}
}

// What "slotcard new" writes where something is to be replaced.
const (
	exampleIncident = "Example Creek"
	exampleNumber   = "EX-0001"
	exampleAuthor   = "your name and position"
	draftedAuthor   = "name, position" // what a draft asks for
	exampleLeader   = "name of the supervisor"
	exampleReason   = "why it is safe here"
	exampleAnswerer = "who answers for it"
	exampleLoad     = "Example cooperators"
)

// dots tells a text that somebody meant to fill in, as the help of findings
// writes it.
func dots(text string) bool {
	t := strings.ToUpper(text)
	return len(t) > 1 && strings.Trim(t, ".?_-X ") == "" || t == "TODO" || t == "NAME"
}

// placeholder looks for what a new plan came with. Untouched, and marked as an
// exercise, it prints as it is.
func placeholder(r *plan.Resolved, report func(finding.Finding)) {
	in := &r.Plan.Incident
	if in.Exercise && in.Name == exampleIncident {
		return
	}
	var places []finding.Related
	var texts []string
	look := func(place finding.Place, text, example string) {
		if text == example || dots(text) {
			places, texts = append(places, related(place, "%q", text)), append(texts, text)
		}
	}
	look(in.At("name"), in.Name, exampleIncident)
	look(in.At("number"), in.Number, exampleNumber)
	author := exampleAuthor
	if in.PreparedBy == draftedAuthor {
		author = draftedAuthor
	}
	look(in.At("prepared_by"), in.PreparedBy, author)
	for _, d := range r.Plan.Divisions {
		look(d.At("supervisor"), d.Supervisor, exampleLeader)
	}
	for _, a := range r.Plan.Accepts {
		look(a.At("because"), a.Because, exampleReason)
		look(a.At("by"), a.By, exampleAnswerer)
	}
	look(r.Load.About.At("name"), r.Load.About.Name, exampleLoad)
	if places == nil {
		return
	}
	f := finding.Finding{
		Place: places[0].Place, Subject: in.Name,
		Message: fmt.Sprintf("%s is still to be replaced", places[0].Message),
		Help:    []string{"write what the approved plan says"},
		Data:    facts{"places": len(places), "texts": texts},
	}
	if more := len(places) - 1; more > 0 {
		f.Message = fmt.Sprintf("%s and %s are still to be replaced", places[0].Message, plural(more, "more text", "more texts"))
		f.Related = places[1:]
	}
	report(f)
}
