package changes

import (
	"cmp"
	"slices"
	"strings"

	"slotcard/plan"
)

// Kind is what happened to a slot.
type Kind uint8

const (
	Added      Kind = iota // was in the list at no position
	Removed                // is in the list at no position
	Moved                  // stands elsewhere, out of the old order; see [Shift] for the others
	Retuned                // same display name, other programming
	Replaced               // another channel for the same use and divisions
	Reassigned             // other use, or other divisions
)

var kindNames = [...]string{"added", "removed", "moved", "retuned", "replaced", "reassigned"}

func (k Kind) String() string { return kindNames[k] }

// List is what changes in a list.
type List struct {
	Old, New *plan.List // nil: nobody carried it, nobody carries it
	Slots    []*Slot    // that changed: in the order of the new list, removed ones last
	Shifts   []Shift    // runs that only stand further down or up
	Rebuild  []int      // positions of the new list that are not programmed as they were, from 1
	Clear    []int      // positions of the old list behind the end of the new one, from 1
}

// Slot is a slot that changed.
type Slot struct {
	Was, Is  int                // positions, from 1; 0: none
	Old, New *plan.ResolvedSlot // nil: none
	Kinds    []Kind             // ascending
}

// Has tells whether the slot changed in this way.
func (s *Slot) Has(k Kind) bool { return slices.Contains(s.Kinds, k) }

// Shift is a run of slots of the old list, programmed as before, whose order
// stays: each is By positions further down, or up where By is negative.
type Shift struct{ From, To, By int }

// CodeChanged tells whether the read-back code differs.
func (l *List) CodeChanged() bool { return l.Old == nil || l.New == nil || l.Old.Code != l.New.Code }

// Same tells whether nothing differs.
func (l *List) Same() bool {
	return l.Old != nil && l.New != nil && len(l.Slots)+len(l.Shifts)+len(l.Rebuild)+len(l.Clear) == 0 && !l.CodeChanged()
}

// Name of the list where a plan has several; "" where there is one.
func (c *Changes) Name(l *List) string {
	if l.New != nil {
		return l.New.Name(c.New)
	}
	return l.Old.Name(c.Old)
}

// lists pairs the lists of both plans by the divisions that carry them.
func (c *Changes) lists() {
	type pair struct{ old, new *plan.List }
	var pairs []pair
	add := func(old, new *plan.List) {
		if p := (pair{old, new}); old != nil && new != nil && !slices.Contains(pairs, p) {
			pairs = append(pairs, p)
		}
	}
	switch {
	case len(c.Old.Lists) == 1 && len(c.New.Lists) == 1:
		add(c.Old.Lists[0], c.New.Lists[0])
	default:
		for _, l := range c.New.Lists {
			for _, d := range l.Divisions {
				if o := division(c.Old, d.ID); o != nil {
					add(c.Old.ListOf(o), l)
				}
			}
			if l.Shared {
				add(c.Old.ListOf(nil), l)
			}
		}
	}
	for _, l := range c.New.Lists {
		if !slices.ContainsFunc(pairs, func(p pair) bool { return p.new == l }) {
			pairs = append(pairs, pair{nil, l})
		}
	}
	order := func(p pair) int { return slices.Index(c.New.Lists, p.new) }
	slices.SortStableFunc(pairs, func(a, b pair) int { return cmp.Compare(order(a), order(b)) })
	for _, l := range c.Old.Lists {
		if !slices.ContainsFunc(pairs, func(p pair) bool { return p.old == l }) {
			pairs = append(pairs, pair{l, nil})
		}
	}
	for _, p := range pairs {
		c.Lists = append(c.Lists, compare(p.old, p.new))
	}
}

// positions compares two lists position by position, as a radio holds them.
func positions(old, new *plan.List) (rebuild, clear []int) {
	was, is := slotsOf(old), slotsOf(new)
	for i, s := range is {
		if i >= len(was) || TuningOf(was[i]) != TuningOf(s) {
			rebuild = append(rebuild, i+1)
		}
	}
	for i := len(is); i < len(was); i++ {
		clear = append(clear, i+1)
	}
	return rebuild, clear
}

func slotsOf(l *plan.List) []*plan.ResolvedSlot {
	if l == nil {
		return nil
	}
	return l.Slots
}

// compare says how the new list came from the old one, in few operations.
func compare(old, new *plan.List) *List {
	l := &List{Old: old, New: new}
	l.Rebuild, l.Clear = positions(old, new)
	was, is := slotsOf(old), slotsOf(new)
	from := match(was, is)
	stays := inOrder(from)
	taken := make([]bool, len(was))
	for i, s := range is {
		if from[i] < 0 {
			l.Slots = append(l.Slots, &Slot{Is: i + 1, New: s, Kinds: []Kind{Added}})
			continue
		}
		o := was[from[i]]
		taken[from[i]] = true
		change := &Slot{Was: from[i] + 1, Is: i + 1, Old: o, New: s}
		tuned := TuningOf(o) != TuningOf(s)
		if !stays[i] {
			change.Kinds = append(change.Kinds, Moved)
		}
		switch {
		case tuned && o.Channel.Name == s.Channel.Name:
			change.Kinds = append(change.Kinds, Retuned)
		case tuned:
			change.Kinds = append(change.Kinds, Replaced)
		}
		if !sameUsers(o, s) {
			change.Kinds = append(change.Kinds, Reassigned)
		}
		if len(change.Kinds) > 0 {
			l.Slots = append(l.Slots, change)
		}
		if by := i - from[i]; by != 0 && stays[i] && !tuned {
			l.shift(from[i]+1, by)
		}
	}
	for i, o := range was {
		if !taken[i] {
			l.Slots = append(l.Slots, &Slot{Was: i + 1, Old: o, Kinds: []Kind{Removed}})
		}
	}
	return l
}

// shift adds a slot of the old list to the last run, or begins one.
func (l *List) shift(position, by int) {
	if n := len(l.Shifts) - 1; n >= 0 && l.Shifts[n].By == by && l.Shifts[n].To == position-1 {
		l.Shifts[n].To = position
		return
	}
	l.Shifts = append(l.Shifts, Shift{position, position, by})
}

// match finds, for each slot of the new list, the index of the old slot that it
// came from, or -1: the one with the same programming, else with the same
// display name, else the only one left over for the same use and divisions.
func match(was, is []*plan.ResolvedSlot) []int {
	from := make([]int, len(is))
	for i := range from {
		from[i] = -1
	}
	taken := make([]bool, len(was))
	pair := func(key func(s *plan.ResolvedSlot) any, alone bool) {
		free, wanted := map[any][]int{}, map[any]int{}
		for i, o := range was {
			if k := key(o); !taken[i] {
				free[k] = append(free[k], i)
			}
		}
		for i, s := range is {
			if from[i] < 0 {
				wanted[key(s)]++
			}
		}
		for i, s := range is {
			k := key(s)
			if from[i] >= 0 || len(free[k]) == 0 || alone && (wanted[k] > 1 || len(free[k]) > 1) {
				continue
			}
			from[i], taken[free[k][0]] = free[k][0], true
			free[k] = free[k][1:]
		}
	}
	pair(func(s *plan.ResolvedSlot) any { return TuningOf(s) }, false)
	pair(func(s *plan.ResolvedSlot) any { return s.Channel.Name }, false)
	pair(func(s *plan.ResolvedSlot) any { return [2]string{s.Use.String(), strings.Join(ids(s.Users), ",")} }, true)
	return from
}

// inOrder tells which of the new slots came from the old list in its order: as
// many as possible, and of equal ways the one with most slots at their old
// position. The others have moved.
func inOrder(from []int) []bool {
	type way struct{ count, still, before int }
	best := make([]way, len(from))
	end := -1
	better := func(a, b way) bool { return a.count > b.count || a.count == b.count && a.still > b.still }
	for i, f := range from {
		if f < 0 {
			continue
		}
		best[i] = way{before: -1}
		for j := range i {
			if from[j] >= 0 && from[j] < f && better(best[j], way{best[i].count, best[i].still, 0}) {
				best[i] = way{best[j].count, best[j].still, j}
			}
		}
		best[i].count++
		if f == i {
			best[i].still++
		}
		if end < 0 || better(best[i], best[end]) {
			end = i
		}
	}
	stays := make([]bool, len(from))
	for ; end >= 0; end = best[end].before {
		stays[end] = true
	}
	return stays
}
