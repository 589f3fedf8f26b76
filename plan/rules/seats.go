package rules

import (
	"cmp"
	"fmt"
	"strconv"
	"strings"

	"slotcard/plan"
	"slotcard/plan/edit"
	"slotcard/plan/finding"
)

// Who carries a card, and what each seat listens to.
func init() {
	register(
		Rule{
			ID:         "priority-none",
			Severity:   finding.Warning,
			Statement:  "the priority of a position is a slot of the list that the seat carries",
			Why:        "the seat has no priority channel: a scan stops on whatever comes first",
			Bad:        "[[position]]\nname = \"Lookout\"\npriority = \"medical\"     # and no slot of use medical",
			Good:       "[[position]]\nname = \"Lookout\"\npriority = \"own\"",
			Fix:        "choose another selector, or give the unit a division",
			Acceptable: true,
			Check:      priorityNone,
		},
		Rule{
			ID:         "no-priority",
			Severity:   finding.Advice,
			Statement:  "every position has a priority, as a rule its own division's tactical",
			Why:        "without it a call on the own tactical waits until the scan has finished with another channel",
			Bad:        "[[position]]\nname = \"Firefighter\"\nscan = [\"own\", \"command\"]",
			Good:       "[[position]]\nname = \"Firefighter\"\npriority = \"own\"",
			Fix:        "write priority = \"own\"",
			Acceptable: true,
			Check:      noPriority,
		},
		Rule{
			ID:        "scan-limit",
			Severity:  finding.Warning,
			Statement: "a seat scans no more slots than the limit, three unless [card] scan_limit says otherwise",
			Why: "scanning too much is as bad as too little: traffic is missed, or answered on the wrong channel " +
				"(the number is our choice)",
			Bad:        "scan = [\"all\"]",
			Good:       "scan = [\"neighbors\", \"command\"]",
			Fix:        "scan fewer, or set scan_limit in [card]",
			Acceptable: true,
			Check:      scanLimit,
		},
		Rule{
			ID:         "team-without-division",
			Severity:   finding.Advice,
			Statement:  "where there are divisions, the units of a team work in one of them",
			Why:        "cards of a unit without a division say to talk on command",
			Bad:        "[[unit]]\nname = \"Engine 611\"\nteam = \"Strike team 6100C\"     # no division",
			Good:       "[[unit]]\nname = \"Engine 611\"\nteam = \"Strike team 6100C\"\ndivision = \"A\"",
			Fix:        "write the division of the unit; accept it for a team in staging",
			Acceptable: true,
			Check:      teamWithoutDivision,
		},
		Rule{
			ID:         "many-seats",
			Severity:   finding.Warning,
			Statement:  "a unit has no more than 50 seats",
			Why:        "a hand crew has about 20: a larger number is mostly a typing error, and each seat is a card",
			Bad:        "seats = { \"Crew boss\" = 1, \"Firefighter\" = 180 }",
			Good:       "seats = { \"Crew boss\" = 1, \"Firefighter\" = 18 }",
			Fix:        "correct the number, or write each crew as a unit of its own",
			Acceptable: true,
			Check:      manySeats,
		},
		Rule{
			ID:         "no-units",
			Severity:   finding.Advice,
			Statement:  "a plan has units, so that there are cards",
			Why:        "a wall sheet alone does not leave the tent",
			Bad:        "# no [[unit]]",
			Good:       "[[unit]]\nname = \"Engine 611\"\nseats = { \"Engine boss\" = 1, \"Firefighter\" = 2 }",
			Fix:        "add a [[unit]] with its seats",
			Acceptable: true,
			Check:      noUnits,
		},
	)
}

// seatKind is what two cards with the same marks have in common.
type seatKind struct {
	position *plan.Position
	division *plan.Division
}

// kinds are the cards of a plan, one for each kind of seat, in order.
func kinds(r *plan.Resolved) []*plan.Card {
	seen := map[seatKind]bool{}
	var out []*plan.Card
	for _, c := range r.Cards {
		if k := (seatKind{c.Position, c.Division}); !seen[k] {
			seen[k] = true
			out = append(out, c)
		}
	}
	return out
}

// in is where a seat works, inside a sentence.
func in(d *plan.Division) string {
	if d == nil {
		return "in units without a division"
	}
	return "in " + d.Title()
}

// byPosition reports once for each position, with a row of details for each
// further division in which it is the same.
func byPosition(found []seatFinding, report func(finding.Finding)) {
	order := []*plan.Position{}
	grouped := map[*plan.Position][]seatFinding{}
	for _, f := range found {
		if grouped[f.card.Position] == nil {
			order = append(order, f.card.Position)
		}
		grouped[f.card.Position] = append(grouped[f.card.Position], f)
	}
	for _, p := range order {
		all := grouped[p]
		f := all[0].finding
		for _, o := range all {
			if o.row != "" || len(all) > 1 {
				f.Details = append(f.Details, cmp.Or(o.row, o.finding.Message))
			}
		}
		if n := len(all) - 1; n > 0 {
			f.Message += fmt.Sprintf(" (and %s)", plural(n, "other division", "other divisions"))
		}
		report(f)
	}
}

type seatFinding struct {
	card    *plan.Card
	finding finding.Finding
	row     string // of the details; empty: the message
}

func priorityNone(r *plan.Resolved, report func(finding.Finding)) {
	if incomplete(r) || len(r.Slots) == 0 { // what is wrong with the slots is said elsewhere
		return
	}
	var found []seatFinding
	for _, c := range kinds(r) {
		p := c.Position
		if p.Priority == "" || len(r.Matches(p.Priority, c.List, c.Division)) > 0 || !selectorKnown(r, p.Priority) {
			continue
		}
		found = append(found, seatFinding{card: c, finding: finding.Finding{
			Place: p.At("priority"), Subject: p.Name, Cause: finding.Cause{Name: p.Priority},
			Message: fmt.Sprintf("%s %s: priority %q is no slot of the list", p.Name, in(c.Division), p.Priority),
			Related: []finding.Related{related(c.Unit.At("seats"), "a seat of %s", c.Unit.Name)},
			Data:    facts{"position": p.Name, "priority": p.Priority, "unit": c.Unit.Name},
		}})
		found[len(found)-1].finding.Offer(priorityHelp(p))
	}
	byPosition(found, report)
}

// priorityHelp is what to write in place of a priority that finds no slot.
func priorityHelp(p *plan.Position) finding.Edit {
	if p.Priority == "own" {
		return words("give the division a slot of use tactical, or the unit a division; or write another selector: " +
			strings.Join(plan.SelectorWords()[1:], ", "))
	}
	own := edit.In(p.Table).Set(p.Table, "priority", "own")
	return own.Edit("write priority = \"own\", or another selector: " + strings.Join(plan.SelectorWords(), ", "))
}

// selectorKnown tells whether a selector is a word or names a slot; if not,
// resolving has said so.
func selectorKnown(r *plan.Resolved, selector string) bool {
	for _, w := range plan.SelectorWords() {
		if w == selector {
			return true
		}
	}
	for _, s := range r.Slots {
		if s.Channel.Name == selector {
			return true
		}
	}
	return false
}

func noPriority(r *plan.Resolved, report func(finding.Finding)) {
	for _, p := range r.Plan.Positions {
		if p.Has("priority") || p.Name == "" {
			continue
		}
		report(offering(finding.Finding{
			Place: p.At("name"), Subject: p.Name,
			Message: fmt.Sprintf("position %q has no priority", p.Name),
			Data:    facts{"position": p.Name},
		}, edit.In(p.Table).Set(p.Table, "priority", "own").Edit("")))
	}
}

// limit is how many slots a seat may scan.
func limit(r *plan.Resolved) int {
	if l := r.Plan.Card.ScanLimit; l != nil {
		return *l
	}
	return plan.DefaultScanLimit
}

func scanLimit(r *plan.Resolved, report func(finding.Finding)) {
	most := limit(r)
	if most < 1 {
		return // out-of-range says so
	}
	longest := 0
	var found []seatFinding
	for _, c := range kinds(r) {
		p := c.Position
		var slots []string
		for i, m := range c.Marks {
			if m.Scan {
				slots = append(slots, strconv.Itoa(i+1))
			}
		}
		if longest = max(longest, len(slots)); len(slots) <= most {
			continue
		}
		f := finding.Finding{
			Place: p.At("scan"), Subject: p.Name,
			Message: fmt.Sprintf("%s %s scans %s, but the limit is %d", p.Name, in(c.Division), plural(len(slots), "slot", "slots"), most),
			Data:    facts{"position": p.Name, "scanned": len(slots), "limit": most},
		}
		if r.Plan.Card.ScanLimit != nil {
			f.Related = []finding.Related{related(r.Plan.Card.At("scan_limit"), "the limit")}
		}
		found = append(found, seatFinding{c, f, fmt.Sprintf("%s %s: slots %s", p.Name, in(c.Division), and(slots))})
	}
	help := []string{"scan fewer: what is scanned beside one's own is missed when both talk",
		fmt.Sprintf("or, if all of it must be heard, write scan_limit = %d in [card]", longest)} // enough for every seat
	cause := finding.Cause{Name: "scan_limit", Help: help, Message: fmt.Sprintf("%%d positions scan more than %s, up to %d", plural(most, "slot", "slots"), longest)}
	for i := range found {
		found[i].finding.Help, found[i].finding.Cause = help, cause
	}
	byPosition(found, report)
}

func teamWithoutDivision(r *plan.Resolved, report func(finding.Finding)) {
	if len(r.Plan.Divisions) == 0 {
		return
	}
	for _, u := range r.Plan.Units {
		if u.Team == "" || u.Has("division") {
			continue
		}
		report(finding.Finding{
			Place: u.At("name"), Subject: u.Name, Cause: finding.Cause{Name: u.Team},
			Message: fmt.Sprintf("%s of %s has no division: its cards talk on command", u.Name, u.Team),
			Help:    []string{"write division = \"" + r.Plan.Divisions[0].ID + "\", or the one it works in"},
			Data:    facts{"unit": u.Name, "team": u.Team},
		})
	}
}

func noUnits(r *plan.Resolved, report func(finding.Finding)) {
	if len(r.Plan.Units) > 0 || incomplete(r) {
		return
	}
	report(finding.Finding{
		Place: r.Plan.Incident.At(""), Subject: r.Plan.Incident.Name,
		Message: "the plan has no units, so no card is printed",
		Help:    []string{"add a [[unit]] with name and seats"},
		Data:    facts{"incident": r.Plan.Incident.Name},
	})
}

// mostSeats is how many seats of a unit are no typing error: two hand crews of about 20
// fit (common practice; the number is our choice).
const mostSeats = 50

func manySeats(r *plan.Resolved, report func(finding.Finding)) {
	cards := 0
	var found []finding.Finding
	for _, u := range r.Plan.Units {
		all, largest := 0, 0
		for i, s := range u.Seats {
			all += s.Count
			if s.Count > u.Seats[largest].Count {
				largest = i
			}
		}
		if cards += all; all <= mostSeats {
			continue
		}
		found = append(found, finding.Finding{
			Place: u.AtItem("seats", largest), Subject: u.Name, Value: strconv.Itoa(all),
			Message: fmt.Sprintf("unit %q has %d seats, so %d cards", u.Name, all, all),
			Help: []string{fmt.Sprintf("correct how many seats of %s it has", u.Seats[largest].Position),
				"or write each crew as a unit of its own"},
			Data: facts{"unit": u.Name, "seats": all},
		})
	}
	if cards > plan.MaxCards {
		return // too-many-cards says so
	}
	for _, f := range found {
		report(f)
	}
}
