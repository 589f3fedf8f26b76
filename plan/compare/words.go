package compare

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"slotcard/plan"
	"slotcard/plan/finding"
	"slotcard/plan/radio"
	"slotcard/plan/slotlist"
)

// This file puts facts into words: lower case, without full stops, the slot
// first, then card, then plan. The card is whatever was read: a card, a wall
// sheet or a list that somebody sent.

// Say is all that differs, a line each: the head first, because a card of
// another incident or period is no card with mistakes. It is empty where all is
// the same.
func (r *Report) Say() (lines []string) {
	for _, h := range r.Head {
		if h.Field == Times && r.otherPeriod() {
			continue // goes without saying
		}
		lines = append(lines, h.String())
	}
	if r.Other != nil {
		lines = append(lines, fmt.Sprintf("this is the list of %s, not of %s", lowerFirst(r.Other.Name(r.plan)), lowerFirst(r.List.Name(r.plan))))
	}
	for _, d := range r.Differences {
		lines = append(lines, r.SayDifference(d))
	}
	return lines
}

func (r *Report) otherPeriod() bool {
	return slices.ContainsFunc(r.Head, func(h Head) bool { return h.Field == Period })
}

func (h Head) String() string {
	switch h.Field {
	case Times:
		return fmt.Sprintf("other times of the period: card %s, plan %s", h.Card, h.Plan)
	case Exercise:
		if h.Card == "exercise" {
			return "the card is of an exercise, the plan is for a real incident: do not use this card"
		}
		return "the plan is an exercise, the card is of a real incident"
	case Revision:
		age := "an older"
		if atoi(h.Card) > atoi(h.Plan) {
			age = "a newer"
		}
		return fmt.Sprintf("%s revision of the plan: card %s, plan %s", age, h.Card, h.Plan)
	}
	return fmt.Sprintf("another %s: card %s, plan %s", h.Field, h.Card, h.Plan)
}

// SayDifference is one difference in words.
func (r *Report) SayDifference(d Difference) string {
	switch d.Kind {
	case Missing:
		return fmt.Sprintf("slot %d is missing: plan %s, %s", d.Slot, channel(*d.Plan), r.role(*d.Plan))
	case Extra:
		return fmt.Sprintf("slot %d of the card is not in the plan: %s, %s", d.CardSlot, channel(*d.Card), r.role(*d.Card))
	case Moved:
		return fmt.Sprintf("slot %d, %s, is in the wrong place: the card has it in slot %d", d.Slot, d.Plan.Name, d.CardSlot)
	case Swapped:
		return fmt.Sprintf("slots %d and %d are swapped: the card has %s in slot %d and %s in slot %d", d.Slot, d.To, d.Card.Name, d.Slot, d.Plan.Name, d.To)
	case Shifted:
		s := fmt.Sprintf("slot %d is", d.Slot)
		if d.To > d.Slot {
			s = fmt.Sprintf("slots %d-%d are", d.Slot, d.To)
		}
		off, way := d.Slot-d.CardSlot, "low"
		if off < 0 {
			off, way = -off, "high"
		}
		return fmt.Sprintf("%s %s too %s: %s", s, inWords(off), way, causes(d.Causes))
	}
	return r.changed(d)
}

// changed says what another channel, or another value of one, stands in a slot.
func (r *Report) changed(d Difference) string {
	where := fmt.Sprintf("slot %d", d.Slot)
	if d.CardSlot != d.Slot {
		where += fmt.Sprintf(" (slot %d on the card)", d.CardSlot)
	}
	other := slices.Contains(d.Fields, Name)
	if !other {
		where += ", " + d.Plan.Name
	}
	side := func(l slotlist.Line) (parts []string) {
		if other {
			parts = append(parts, channel(l))
		}
		for _, f := range d.Fields {
			if f == Transmit && slices.Contains(d.Fields, Receive) && l.Tx == l.Rx {
				continue // direct, before and behind: one frequency says it
			}
			if v := value(l, f, other); v != "" {
				parts = append(parts, v)
			}
		}
		return parts
	}
	card, plan := side(*d.Card), side(*d.Plan)
	if slices.Contains(d.Fields, Use) || slices.Contains(d.Fields, Divisions) {
		card, plan = append(card, r.role(*d.Card)), append(plan, r.role(*d.Plan))
		return fmt.Sprintf("%s: card %s; plan %s", where, strings.Join(card, ", "), strings.Join(plan, ", "))
	}
	apart := ", "
	if len(card) > 1 || len(plan) > 1 {
		apart = "; "
	}
	return fmt.Sprintf("%s: card %s", where, strings.Join(card, ", ")) + apart +
		"plan " + strings.Join(plan, ", ") + apart + r.role(*d.Plan)
}

// channel is a slot's channel as a person tells it from another: by its name
// and where it is.
func channel(l slotlist.Line) string {
	if l.Trunked() {
		return l.Name + " " + l.System + "/" + l.Talkgroup
	}
	return l.Name + " " + plan.FiguresOf(l.Rx, l.Tx, l.RxTone, l.TxTone).Frequencies()
}

// value is what a slot has in a field; "" for what is said in other words, or,
// named, with the name of the channel.
func value(l slotlist.Line, f Field, named bool) string {
	switch f {
	case Receive, Transmit:
		switch {
		case named:
			return ""
		case l.Trunked():
			return "talkgroup " + l.System + "/" + l.Talkgroup
		case f == Receive && l.Rx == l.Tx:
			return l.Rx.String()
		case f == Receive:
			return "receive " + l.Rx.String()
		case l.Rx == l.Tx:
			return "transmit as receive, " + l.Tx.String()
		}
		return "transmit " + l.Tx.String()
	case RxTone:
		return tone("receive", l.RxTone)
	case TxTone:
		return tone("transmit", l.TxTone)
	case Mode:
		return l.Mode.String()
	case Width:
		return l.Width.String()
	}
	return ""
}

func tone(way string, q radio.Squelch) string {
	switch q.Kind {
	case radio.Carrier:
		return "no " + way + " tone"
	case radio.CTCSS:
		return way + " tone " + q.String()
	}
	return way + " code " + q.String()
}

// role is who uses a slot: "tactical of division Z".
func (r *Report) role(l slotlist.Line) string {
	if len(l.Divisions) == 0 {
		return l.Use.String()
	}
	of := make([]*plan.Division, len(l.Divisions))
	for i, id := range l.Divisions {
		of[i] = &plan.Division{ID: id} // perhaps the card's alone
		if at := slices.IndexFunc(r.plan.Plan.Divisions, func(d *plan.Division) bool { return d.ID == id }); at >= 0 {
			of[i] = r.plan.Plan.Divisions[at]
		}
	}
	return l.Use.String() + " of " + finding.And(plan.EnglishLists.Phrases(of, finding.And))
}

// causes is what has pushed slots out of their place.
func causes(list []Difference) string {
	var missing, moved, extra []string
	for _, d := range list {
		switch d.Kind {
		case Missing:
			missing = append(missing, number(d.Slot))
		case Moved:
			moved = append(moved, number(d.Slot))
		case Extra:
			extra = append(extra, number(d.CardSlot))
		}
	}
	var parts []string
	for _, p := range []struct {
		ids        []string
		one, many  string
		after, aft string
	}{
		{missing, "slot ", "slots ", " is missing", " are missing"},
		{moved, "slot ", "slots ", " stands elsewhere", " stand elsewhere"},
		{extra, "slot ", "slots ", " of the card is too many", " of the card are too many"},
	} {
		switch len(p.ids) {
		case 0:
		case 1:
			parts = append(parts, p.one+p.ids[0]+p.after)
		default:
			parts = append(parts, p.many+finding.And(p.ids)+p.aft)
		}
	}
	return strings.Join(parts, ", ")
}

func interval(l slotlist.List) string {
	const day, minute = "2006-01-02", "15:04"
	if l.From.Format(day) == l.To.Format(day) {
		return l.From.Format(day+" "+minute) + " to " + l.To.Format(minute)
	}
	return l.From.Format(day+" "+minute) + " to " + l.To.Format(day+" "+minute)
}

func number(n int) string { return strconv.Itoa(n) }

// atoi is the number that [number] has written.
func atoi(s string) int {
	n, _ := strconv.Atoi(s)
	return n
}

// inWords is a small number as it is said.
func inWords(n int) string {
	words := []string{"none", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine"}
	if n < len(words) {
		return words[n]
	}
	return number(n)
}

func lowerFirst(s string) string {
	if s == "" {
		return "the plan"
	}
	return strings.ToLower(s[:1]) + s[1:]
}
