package rules

import (
	"fmt"
	"slices"

	"slotcard/plan"
	"slotcard/plan/edit"
	"slotcard/plan/finding"
	"slotcard/plan/radio"
)

// What no seat of the plan listens to.
func init() {
	register(
		Rule{
			ID:         "command-unheard",
			Severity:   finding.Warning,
			Statement:  "some seat talks on command, or has it in priority or scan",
			Why:        "orders of the incident commander are called into the air, and no card says to listen",
			Bad:        "[[position]]\nname = \"Engine boss\"\npriority = \"own\"\nscan = [\"neighbors\"]     # and no other position has command",
			Good:       "[[position]]\nname = \"Engine boss\"\npriority = \"own\"\nscan = [\"neighbors\", \"command\"]",
			Fix:        "add \"command\" to the scan of those who lead",
			Acceptable: true,
			Check: func(r *plan.Resolved, report func(finding.Finding)) {
				unheard(r, radio.Command, "no seat listens to command", report)
			},
		},
		Rule{
			ID:         "aircraft-unheard",
			Severity:   finding.Warning,
			Statement:  "when aircraft work the fire, some seat has air-to-ground in priority or scan",
			Why:        "a pilot who warns of a drop is heard by nobody on the ground",
			Source:     "NWCG 6 Minutes for Safety, Aviation Communication: fire personnel monitor the air-to-ground frequency, read",
			Bad:        "[incident]\naircraft = true\n[[position]]\nname = \"Lookout\"\npriority = \"own\"\nscan = [\"command\"]     # and nobody else has air-to-ground",
			Good:       "[incident]\naircraft = true\n[[position]]\nname = \"Lookout\"\npriority = \"own\"\nscan = [\"command\", \"air-to-ground\"]",
			Fix:        "add \"air-to-ground\" to the scan of lookouts and of those who lead",
			Acceptable: true,
			Check: func(r *plan.Resolved, report func(finding.Finding)) {
				if r.Plan.Incident.Aircraft {
					unheard(r, radio.AirToGround, "aircraft work the fire, but no seat listens to air-to-ground", report)
				}
			},
		},
		Rule{
			ID:         "scan-none",
			Severity:   finding.Warning,
			Statement:  "what a position is to scan stands in a list",
			Why:        "the seat is meant to listen to something that is not in its radio, and nobody notices",
			Bad:        "[[position]]\nname = \"Lookout\"\npriority = \"own\"\nscan = [\"command\", \"medical\"]     # and no slot of use medical",
			Good:       "[[slot]]\nchannel = \"QB MED\"\nuse = \"medical\"",
			Fix:        "add the slot, or take the word out of scan",
			Acceptable: true,
			Check:      scanNone,
		},
	)
}

// unheard reports once that there is a slot of this use, and cards, but no card
// that talks on it, gives it priority or scans it.
func unheard(r *plan.Resolved, use radio.Use, message string, report func(finding.Finding)) {
	i := slices.IndexFunc(r.Slots, func(s *plan.ResolvedSlot) bool { return s.Use == use })
	if i < 0 || len(r.Cards) == 0 || incomplete(r) {
		return
	}
	seats := kinds(r)
	for _, c := range seats {
		for k, m := range c.Marks {
			if c.List.Slots[k].Use == use && (m.Talk || m.Priority || m.Scan) {
				return
			}
		}
	}
	s := r.Slots[i]
	f := finding.Finding{
		Place: slotPlace(s), Subject: r.Plan.Incident.Name, Message: message,
		Data: facts{"use": use.String(), "slot": number(r, s), "channel": s.Channel.Name},
	}
	p, most := quietest(r, seats, use)
	add := fmt.Sprintf("add %q to scan of [[position]] %q", use, p.Name)
	switch {
	case most > limit(r):
		f.Help = []string{fmt.Sprintf("%s, and write scan_limit = %d in [card]", add, most)}
	case p.Has("scan"):
		f.Offer(edit.In(p.Table).AddItem(p.Table, "scan", use.String()).Edit(add))
	default:
		f.Offer(edit.In(p.Table).Set(p.Table, "scan", []string{use.String()}).Edit(add))
	}
	f.Related = []finding.Related{related(p.At("name"), "position %q", p.Name)}
	report(f)
}

// quietest is the position that would scan least with the slots of a use added,
// and how many that would be.
func quietest(r *plan.Resolved, seats []*plan.Card, use radio.Use) (*plan.Position, int) {
	most := map[*plan.Position]int{}
	for _, c := range seats {
		n := count(c.List, use)
		for _, m := range c.Marks {
			if m.Scan {
				n++
			}
		}
		most[c.Position] = max(most[c.Position], n)
	}
	var least *plan.Position
	for _, p := range r.Plan.Positions {
		if n, ok := most[p]; ok && (least == nil || n < most[least]) {
			least = p
		}
	}
	return least, most[least]
}

func scanNone(r *plan.Resolved, report func(finding.Finding)) {
	if incomplete(r) || len(r.Slots) == 0 {
		return
	}
	for _, p := range r.Plan.Positions {
		for i, selector := range p.Scan {
			// The others either find something in every list, or what is
			// missing is said elsewhere.
			if selector != radio.Medical.String() && selector != radio.Support.String() {
				continue
			}
			use, _ := radio.ParseUse(selector)
			if slices.ContainsFunc(r.Slots, func(s *plan.ResolvedSlot) bool { return s.Use == use }) || !seated(r, p) || p.Priority == selector {
				continue
			}
			f := finding.Finding{
				Place: p.AtItem("scan", i), Subject: p.Name,
				Message: fmt.Sprintf("%s is to scan %s, but no list has a slot of this use", p.Name, selector),
				Data:    facts{"position": p.Name, "selector": selector},
			}
			if len(p.Scan) == 1 {
				f.Offer(edit.In(p.Table).Delete(p.Table, "scan").Edit("remove scan, or add the [[slot]]"))
			} else {
				f.Offer(edit.In(p.Table).DeleteItem(p.Table, "scan", i).Edit(fmt.Sprintf("remove %q from scan, or add the [[slot]]", selector)))
			}
			report(f)
		}
	}
}

// seated tells whether anybody sits in a position.
func seated(r *plan.Resolved, p *plan.Position) bool {
	return slices.ContainsFunc(r.Cards, func(c *plan.Card) bool { return c.Position == p })
}
