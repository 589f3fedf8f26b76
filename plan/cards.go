package plan

import (
	"fmt"
	"slices"
	"strings"

	"slotcard/plan/edit"
	"slotcard/plan/finding"
	"slotcard/plan/radio"
)

// Neighbors is the selector of what the neighbors work on; neighbors is read as
// well.
const Neighbors = "neighbors"

// spelled is a selector in the spelling that is compared.
func spelled(s string) string {
	if s == "neighbours" {
		return Neighbors
	}
	return s
}

// SelectorWords are the words that a position may write in priority and scan;
// anything else is taken for a display name.
func SelectorWords() []string {
	words := []string{"own", Neighbors, "all"}
	for _, u := range radio.UseNames() {
		if u != radio.Travel.String() {
			words = append(words, u)
		}
	}
	return words
}

// Matches are the indices of the slots of list l, ascending, that a selector
// means for someone of division d (nil: of none).
//
//   - own: the tacticals that d works on; where it has none, the slot that it
//     talks on. Without a division: the slot talked on.
//   - neighbors: what is own to each of the neighbors.
//   - command: the command slots of d where it has any, else all of them.
//   - another use: the slots of that use. all: every slot.
//   - a display name: the slots of that channel.
func (r *Resolved) Matches(selector string, l *List, d *Division) []int {
	selector = spelled(selector)
	var hit func(i int, s *ResolvedSlot) bool
	use, isUse := radio.ParseUse(selector)
	switch {
	case selector == "own":
		return l.own(d)
	case selector == Neighbors:
		near := map[int]bool{}
		for _, n := range r.Neighbors(d) {
			for _, i := range l.WorkingOn(n) {
				near[i] = true
			}
		}
		hit = func(i int, _ *ResolvedSlot) bool { return near[i] }
	case selector == "all":
		hit = func(int, *ResolvedSlot) bool { return true }
	case use == radio.Command:
		own := slices.ContainsFunc(l.Slots, func(s *ResolvedSlot) bool { return s.Use == use && s.UsedBy(d) })
		hit = func(_ int, s *ResolvedSlot) bool { return s.Use == use && (!own || s.UsedBy(d)) }
	case isUse && use != radio.Travel:
		hit = func(_ int, s *ResolvedSlot) bool { return s.Use == use }
	default:
		hit = func(_ int, s *ResolvedSlot) bool { return s.Channel.Name == selector }
	}
	var out []int
	for i, s := range l.Slots {
		if hit(i, s) {
			out = append(out, i)
		}
	}
	return out
}

// WorkingOn are the indices of the slots of the list that division d works on: its
// tacticals, or whatever names it where no tactical does, as a functional group may
// have.
func (l *List) WorkingOn(d *Division) []int {
	if d == nil {
		return nil
	}
	var tactical, other []int
	for i, s := range l.Slots {
		switch {
		case !s.UsedBy(d):
		case s.Use == radio.Tactical:
			tactical = append(tactical, i)
		default:
			other = append(other, i)
		}
	}
	if tactical != nil {
		return tactical
	}
	return other
}

func (l *List) own(d *Division) []int {
	if w := l.WorkingOn(d); w != nil {
		return w
	}
	if i := l.TalkSlot(d); i >= 0 {
		return []int{i}
	}
	return nil
}

// TalkSlot is the index of the slot that someone of division d talks on: the
// first that the division works on; in a plan without divisions the tactical, if
// there is just one; else the first command slot, else the first slot. It is -1
// for an empty list.
func (l *List) TalkSlot(d *Division) int {
	if w := l.WorkingOn(d); w != nil {
		return w[0]
	}
	if l.undivided {
		isTactical := func(s *ResolvedSlot) bool { return s.Use == radio.Tactical }
		i := slices.IndexFunc(l.Slots, isTactical)
		if i >= 0 && !slices.ContainsFunc(l.Slots[i+1:], isTactical) {
			return i
		}
	}
	for i, s := range l.Slots {
		if s.Use == radio.Command {
			return i
		}
	}
	if len(l.Slots) == 0 {
		return -1
	}
	return 0
}

// MarksFor are the marks of a position on the slots of list l, for division d.
func (r *Resolved) MarksFor(p *Position, l *List, d *Division) []Mark {
	marks := make([]Mark, len(l.Slots))
	if i := l.TalkSlot(d); i >= 0 {
		marks[i].Talk = true
	}
	if p.Priority != "" {
		if m := r.Matches(p.Priority, l, d); len(m) > 0 {
			marks[m[0]].Priority = true
		}
	}
	for _, selector := range p.Scan {
		for _, i := range r.Matches(selector, l, d) {
			marks[i].Scan = !marks[i].Priority
		}
	}
	return marks
}

// makeCards gives each seat of each unit its card.
func (x *resolver) makeCards(r *Resolved) {
	positions := map[string]*Position{}
	var names []string
	for _, p := range r.Plan.Positions {
		names = append(names, p.Name)
		if positions[p.Name] == nil {
			positions[p.Name] = p
		}
		x.checkSelectors(r, p)
	}
	type seatKind struct {
		position *Position
		division *Division
	}
	marks := map[seatKind][]Mark{}
	for _, u := range r.Plan.Units {
		d := x.division(u.Table, "division", 0, u.Division, fmt.Sprintf("unit %q", u.Name))
		list := r.ListOf(d)
		for i, seat := range u.Seats {
			p := positions[seat.Position]
			if p == nil {
				x.unknownPosition(u, i, seat.Position, names)
				continue
			}
			if u.Division != "" && d == nil || list == nil || seat.Count < 1 {
				continue
			}
			if len(r.Cards)+seat.Count > MaxCards {
				x.fault(RuleTooManyCards, u.At("seats"), u.Name,
					fmt.Sprintf("unit %q: more than %d cards in one plan", u.Name, MaxCards), "correct the numbers of seats, or split the plan")
				return
			}
			kind := seatKind{p, d}
			if marks[kind] == nil {
				marks[kind] = r.MarksFor(p, list, d)
			}
			for n := 1; n <= seat.Count; n++ {
				r.Cards = append(r.Cards, &Card{
					Number: len(r.Cards) + 1, Unit: u, Position: p, Nth: n, Of: seat.Count,
					Division: d, List: list, Marks: marks[kind],
				})
			}
		}
	}
}

func (x *resolver) unknownPosition(u *Unit, i int, name string, names []string) {
	if x.planBroken {
		return
	}
	f := x.fault(RuleUnknownPosition, u.AtItem("seats", i), u.Name+", "+name, fmt.Sprintf("unit %q: no position %q in the plan", u.Name, name))
	seats, _ := u.TableIn("seats")
	for _, other := range finding.Closest(name, names, 3) {
		e := edit.In(u.Table)
		if written := seats.KeysWritten(); i < len(written) {
			e.Rename(seats, written[i], other)
		}
		f.Offer(e.Edit(fmt.Sprintf("did you mean %q?", other)))
	}
	if len(f.Help) == 0 {
		f.Help = []string{fmt.Sprintf("add [[position]] with name = %q and what it listens to", name)}
	}
	f.Data = map[string]any{"unit": u.Name, "position": name}
	f.Cause.Name = name
}

// checkSelectors reports selectors that are neither a word nor a slot's name.
func (x *resolver) checkSelectors(r *Resolved, p *Position) {
	check := func(key string, i int, selector string) {
		if selector == "" || slices.Contains(SelectorWords(), spelled(selector)) {
			return
		}
		var slots []string
		for _, s := range r.Slots {
			slots = append(slots, s.Channel.Name)
		}
		for _, s := range r.Unresolved {
			if s.Channel == "" {
				return // it may be the one that is meant
			}
			slots = append(slots, s.Channel)
		}
		if slices.Contains(slots, selector) || x.planBroken || x.loadBroken {
			return
		}
		message := fmt.Sprintf("position %q: %s %q is neither a selector nor a slot", p.Name, key, selector)
		if x.names[selector] != nil {
			message = fmt.Sprintf("position %q: %s %s is in the load, but in no slot of this plan", p.Name, key, selector)
		}
		f := x.fault(RuleUnknownSelector, p.AtItem(key, i), p.Name, message)
		offerClosest(f, p.Table, key, selector, append(SelectorWords(), slots...), i)
		f.Help = append(f.Help, "selectors are "+strings.Join(SelectorWords(), ", ")+", or the display name of a slot")
		f.Data = map[string]any{"position": p.Name, "key": key, "selector": selector}
		f.Cause.Name = selector
	}
	check("priority", 0, p.Priority)
	for i, s := range p.Scan {
		check("scan", i, s)
	}
}
