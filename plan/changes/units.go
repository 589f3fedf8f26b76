package changes

import (
	"cmp"
	"slices"

	"slotcard/plan"
)

// Division is what changes for a division.
type Division struct {
	Old, New         *plan.Division // nil: it is new, it is gone
	WasOn, IsOn      []Place        // the tacticals that it works on, or what names it where none does
	WasNear, IsNear  []string       // ids of its neighbors, in plan order
	Channels         bool           // works on other channels than before
	Neighbors        bool           // has other neighbors
	Named, Commanded bool           // has another name, another supervisor
}

// ID of the division.
func (d *Division) ID() string {
	if d.New != nil {
		return d.New.ID
	}
	return d.Old.ID
}

// Place is a slot and its position in a list, from 1.
type Place struct {
	Position int
	Slot     *plan.ResolvedSlot
}

func division(r *plan.Resolved, id string) *plan.Division {
	for _, d := range r.Plan.Divisions {
		if d.ID == id {
			return d
		}
	}
	return nil
}

// working are the slots that a division works on.
func working(r *plan.Resolved, d *plan.Division) (on []Place) {
	l := r.ListOf(d)
	if l == nil {
		return nil
	}
	for _, i := range l.WorkingOn(d) {
		on = append(on, Place{i + 1, l.Slots[i]})
	}
	return on
}

func samePlaces(a, b []Place) bool {
	return slices.EqualFunc(a, b, func(a, b Place) bool { return TuningOf(a.Slot) == TuningOf(b.Slot) })
}

func (c *Changes) divisions() {
	for _, d := range c.New.Plan.Divisions {
		o := division(c.Old, d.ID)
		change := &Division{Old: o, New: d, IsOn: working(c.New, d), IsNear: ids(c.New.Neighbors(d))}
		if o != nil {
			change.WasOn, change.WasNear = working(c.Old, o), ids(c.Old.Neighbors(o))
			change.Channels = !samePlaces(change.WasOn, change.IsOn)
			change.Neighbors = !sameSet(change.WasNear, change.IsNear)
			change.Named, change.Commanded = o.Name != d.Name, o.Supervisor != d.Supervisor
		}
		if o == nil || change.Channels || change.Neighbors || change.Named || change.Commanded {
			c.Divisions = append(c.Divisions, change)
		}
	}
	for _, o := range c.Old.Plan.Divisions {
		if division(c.New, o.ID) == nil {
			c.Divisions = append(c.Divisions, &Division{Old: o, WasOn: working(c.Old, o), WasNear: ids(c.Old.Neighbors(o))})
		}
	}
}

func sameSet(a, b []string) bool {
	return len(a) == len(b) && !slices.ContainsFunc(a, func(s string) bool { return !slices.Contains(b, s) })
}

// Unit is what changes for a unit. All its seats carry one list.
type Unit struct {
	Old, New *plan.Unit     // nil: it is new, it is gone
	Was, Is  *plan.Division // where it works; nil: nowhere
	OldList  *plan.List     // nil: it had none
	List     *plan.List     // nil: it has none
	First    bool           // all its seats build the list for the first time
	Rebuild  []int          // positions of its list that are not programmed as they were, from 1
	Clear    []int          // positions of its old list behind the end of the new one, from 1
	Cards    []*Card        // of the new plan
	Gone     []*plan.Card   // of the old plan, without one in the new
	changes  *Changes
}

// Name of the unit.
func (u *Unit) Name() string {
	if u.New != nil {
		return u.New.Name
	}
	return u.Old.Name
}

// Changed tells whether the unit's radios must be touched: built anew, or for
// the first time.
func (u *Unit) Changed() bool { return u.First || len(u.Rebuild)+len(u.Clear) > 0 }

// Code tells whether a unit that had a list has another read-back code now.
func (u *Unit) Code() bool {
	return u.OldList != nil && u.List != nil && u.OldList.Code != u.List.Code
}

// Elsewhere tells whether the unit works in another division than before.
func (u *Unit) Elsewhere() bool {
	return u.Old != nil && u.New != nil && u.Old.Division != u.New.Division
}

// Same tells whether every seat of the unit can keep its card.
func (u *Unit) Same() bool {
	return u.Old != nil && u.New != nil && !u.Changed() && !u.Code() && !u.Elsewhere() && len(u.Gone) == 0 &&
		!slices.ContainsFunc(u.Cards, (*Card).Replace)
}

// Card is what changes for the holder of a card. The card of a seat is found by
// unit, position, and which of the unit's seats of this position it is; its old
// list is the one that the unit carried.
type Card struct {
	Unit                 *Unit
	Old, New             *plan.Card // Old is nil for a seat that the old plan does not have
	First                bool       // its holder has no list yet
	Talk, Priority, Scan Ear
}

// Ear is what a holder does on other channels than before: talk, give priority,
// or scan.
type Ear struct {
	Now    []Place // in the new list, ascending
	Before []Place // in the old list, ascending: not any more
}

// Differs tells whether anything changed.
func (e Ear) Differs() bool { return len(e.Now)+len(e.Before) > 0 }

// Rebuild tells whether the holder must change the list in the radio.
func (c *Card) Rebuild() bool { return !c.First && c.Unit.Changed() }

// Listen tells whether the holder talks, gives priority or scans elsewhere.
func (c *Card) Listen() bool { return c.Talk.Differs() || c.Priority.Differs() || c.Scan.Differs() }

// Code tells whether the read-back code differs from the one on the old card.
func (c *Card) Code() bool { return !c.First && c.Unit.Code() }

// Replace tells whether the old card must not be used any more: the list, what
// its holder listens to, the read-back code, the division or a channel beside
// the list differ. A card that differs in period, hours and number alone can be
// kept.
func (c *Card) Replace() bool {
	return c.First || c.Rebuild() || c.Listen() || c.Code() || c.Unit.Elsewhere() || c.Unit.changes.Also
}

// Renumbered tells whether the number differs from the one on the old card.
func (c *Card) Renumbered() bool { return c.Old != nil && c.Old.Number != c.New.Number }

type seat struct {
	unit, position string
	nth            int
}

func seatOf(c *plan.Card) seat { return seat{c.Unit.Name, c.Position.Name, c.Nth} }

func (c *Changes) units() {
	oldUnits := map[string]*plan.Unit{}
	for _, u := range c.Old.Plan.Units {
		oldUnits[u.Name] = cmp.Or(oldUnits[u.Name], u)
	}
	oldCards := map[seat]*plan.Card{}
	for _, card := range c.Old.Cards {
		oldCards[seatOf(card)] = card
	}
	all := map[string]*Unit{}
	for _, u := range c.New.Plan.Units {
		if all[u.Name] != nil {
			continue
		}
		o := oldUnits[u.Name]
		unit := &Unit{Old: o, New: u, Is: division(c.New, u.Division), First: o == nil || c.Fresh(), changes: c}
		unit.List = c.New.ListOf(unit.Is)
		if o != nil {
			unit.Was = division(c.Old, o.Division)
			unit.OldList = c.Old.ListOf(unit.Was)
		}
		if !unit.First {
			unit.Rebuild, unit.Clear = positions(unit.OldList, unit.List)
		}
		all[u.Name] = unit
		c.Units = append(c.Units, unit)
	}
	for _, o := range c.Old.Plan.Units {
		if all[o.Name] == nil {
			was := division(c.Old, o.Division)
			all[o.Name] = &Unit{Old: o, Was: was, OldList: c.Old.ListOf(was), changes: c}
			c.Units = append(c.Units, all[o.Name])
		}
	}
	kept := map[*plan.Card]bool{}
	matched := map[[2]*plan.List][]int{}
	for _, card := range c.New.Cards {
		unit := all[card.Unit.Name]
		change := &Card{Unit: unit, New: card, Old: oldCards[seatOf(card)]}
		change.First = unit.First || change.Old == nil
		if change.Old != nil {
			kept[change.Old] = true
			lists := [2]*plan.List{change.Old.List, card.List}
			if matched[lists] == nil {
				matched[lists] = match(lists[0].Slots, lists[1].Slots)
			}
			from := matched[lists]
			change.Talk = ear(from, change.Old, card, func(m plan.Mark) bool { return m.Talk })
			change.Priority = ear(from, change.Old, card, func(m plan.Mark) bool { return m.Priority })
			change.Scan = ear(from, change.Old, card, func(m plan.Mark) bool { return m.Scan })
		}
		unit.Cards = append(unit.Cards, change)
	}
	for _, card := range c.Old.Cards {
		if !kept[card] {
			unit := all[card.Unit.Name]
			unit.Gone = append(unit.Gone, card)
		}
	}
}

// ear compares by channel: one that only stands at another position, or is
// tuned anew under its name, is heard as before.
func ear(from []int, old, new *plan.Card, marked func(plan.Mark) bool) (e Ear) {
	heard := map[int]bool{} // positions of the old list that are heard on
	for i, s := range new.List.Slots {
		if !marked(new.Marks[i]) {
			continue
		}
		if k := from[i]; k >= 0 && marked(old.Marks[k]) && old.List.Slots[k].Channel.Name == s.Channel.Name {
			heard[k] = true
			continue
		}
		e.Now = append(e.Now, Place{i + 1, s})
	}
	for k, s := range old.List.Slots {
		if marked(old.Marks[k]) && !heard[k] {
			e.Before = append(e.Before, Place{k + 1, s})
		}
	}
	return e
}
