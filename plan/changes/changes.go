// Package changes tells what changes between two plans, as from one operational
// period to the next: for each list, for each division, for each unit and card.
// Start with [Between].
//
// What is programmed and who uses it are kept apart. A radio's list must be built
// anew only where the programming at some position differs; the read-back code
// differs as well where only use or divisions do.
package changes

import (
	"slices"
	"strings"

	"slotcard/plan"
	"slotcard/plan/radio"
)

// Changes is what a new plan changes in an old one.
type Changes struct {
	Old, New *plan.Resolved

	Exercise      bool // one plan is an exercise and the other is real: two incidents, whatever their names
	OtherIncident bool // the plans are for two incidents
	OtherLoad     bool // the radios carry another load, or another edition of it
	Revision      bool // they are two revisions of one period
	Backwards     bool // the new plan begins before the old one, or is an older revision: perhaps the two are swapped
	Also          bool // the channels beside the list differ

	Numbers []Number // bare slot numbers in texts of the new plan that mean another channel than before

	Lists     []*List     // in the order of the new plan, then those that nobody carries any more
	Divisions []*Division // that changed, in the order of the new plan, then those that are gone
	Units     []*Unit     // all of the new plan, in its order, then those that are gone
}

// Between compares two plans without errors.
func Between(old, new *plan.Resolved) *Changes {
	c := &Changes{Old: old, New: new}
	was, is := &old.Plan.Incident, &new.Plan.Incident
	c.Exercise = was.Exercise != is.Exercise
	c.OtherIncident = !SameIncident(was, is)
	c.OtherLoad = old.Load.About.Name != new.Load.About.Name || old.Load.About.Edition != new.Load.About.Edition
	c.Revision = !c.OtherIncident && was.Period == is.Period && was.Revision != is.Revision
	c.Backwards = is.From.Before(was.From) || c.Revision && is.Revision < was.Revision
	c.Also = !slices.EqualFunc(old.Also, new.Also, func(a, b *plan.AlsoChannel) bool {
		return a.When == b.When && alsoTuning(a) == alsoTuning(b)
	})
	c.numbers()
	c.lists()
	c.divisions()
	c.units()
	return c
}

// SameIncident tells whether two plans are for one incident: by its number where both
// have one, for a name may be corrected, else by its name. An exercise is none of the
// real ones.
func SameIncident(a, b *plan.Incident) bool {
	if a.Exercise != b.Exercise {
		return false
	}
	if a.Number != "" && b.Number != "" {
		return a.Number == b.Number
	}
	return a.Name == b.Name
}

// Number is a slot that a text of the new plan names by its number alone, and
// that was another channel.
type Number struct {
	plan.BareNumber
	Was, Is *plan.ResolvedSlot
}

func (c *Changes) numbers() {
	if c.Fresh() {
		return
	}
	texts := []string{c.New.Plan.Incident.Instructions}
	for _, a := range c.New.Also {
		texts = append(texts, a.When)
	}
	for _, bare := range plan.BareNumbers(strings.Join(texts, "\n")) {
		was, is := slotAt(c.Old, bare.N), slotAt(c.New, bare.N)
		if was != nil && is != nil && TuningOf(was) != TuningOf(is) {
			c.Numbers = append(c.Numbers, Number{bare, was, is})
		}
	}
}

// slotAt is what stands in position n of the first list that is so long.
func slotAt(r *plan.Resolved, n int) *plan.ResolvedSlot {
	for _, l := range r.Lists {
		if n > 0 && n <= len(l.Slots) {
			return l.Slots[n-1]
		}
	}
	return nil
}

// Fresh tells whether no list of the old plan is worth anything now: the list
// is built fresh for each incident (common practice), and from the load that the
// radio carries.
func (c *Changes) Fresh() bool { return c.OtherIncident || c.OtherLoad }

// Empty tells whether nothing that anybody carries differs. The number and the
// hours of the period do not count.
func (c *Changes) Empty() bool {
	return !c.Fresh() && !c.Also && len(c.Divisions) == 0 &&
		!slices.ContainsFunc(c.Lists, func(l *List) bool { return !l.Same() }) &&
		!slices.ContainsFunc(c.Units, func(u *Unit) bool { return !u.Same() })
}

// Counts are numbers of cards. One card may count in several but First.
type Counts struct {
	Cards   int // of the new plan
	First   int // whose holder has no list yet
	Rebuild int // whose holder must build the list anew in some position, or clear one
	Listen  int // whose holder talks, gives priority or scans elsewhere
	Code    int // with another read-back code
	Replace int // that must be replaced: see [Card.Replace]
	Keep    int // the others
	Gone    int // of the old plan, without one in the new
}

// Counts over all cards.
func (c *Changes) Counts() (n Counts) {
	add := func(count *int, yes bool) {
		if yes {
			*count++
		}
	}
	for _, u := range c.Units {
		n.Gone += len(u.Gone)
		for _, card := range u.Cards {
			n.Cards++
			add(&n.First, card.First)
			add(&n.Rebuild, card.Rebuild())
			add(&n.Listen, card.Listen())
			add(&n.Code, card.Code())
			add(&n.Replace, card.Replace())
			add(&n.Keep, !card.Replace())
		}
	}
	return n
}

// Tuning is what a slot programs into a radio. Two slots are the same to a radio
// where it is equal.
type Tuning struct{ plan.Programming }

// TuningOf a slot, with the transmit tone that the incident chose.
func TuningOf(s *plan.ResolvedSlot) Tuning { return tuning(s.Channel, s.TxTone) }

func alsoTuning(a *plan.AlsoChannel) Tuning { return tuning(a.Channel, a.TxTone) }

func tuning(c *plan.Channel, tx radio.Squelch) Tuning {
	p := c.Programming()
	p.TxTone, p.ReceiveOnly = tx, false // the code does not know it either
	return Tuning{p}
}

// ids of divisions, in plan order.
func ids(divisions []*plan.Division) []string {
	out := make([]string, len(divisions))
	for i, d := range divisions {
		out[i] = d.ID
	}
	return out
}

func sameUsers(a, b *plan.ResolvedSlot) bool {
	return a.Use == b.Use && slices.Equal(ids(a.Users), ids(b.Users))
}
