package strips

import (
	"slices"

	"slotcard/plan"
	"slotcard/plan/changes"
)

// What strips say: position by position, what the old card does not.

// Kind is what a row of a strip says of a position.
type Kind uint8

const (
	Now   Kind = iota // another channel, or programmed otherwise: all of it
	Stays             // the channel stays; who uses it, or what the holder hears, does not
	Clear             // behind the end of the new list
)

// Row is one position of a strip.
type Row struct {
	Kind     Kind
	Position int // from 1
	Slot     *plan.ResolvedSlot
	place    string
	lead     bool // whom it is for is said
	marks    bool // what the holder hears is said
	mark     plan.Mark
}

// Strip is what one card is to be changed by; Why is set where no strip can say it.
type Strip struct {
	Card *changes.Card
	rows []Row
	Why  Why
}

// Why is why a card is printed in full.
type Why uint8

const (
	Says Why = iota
	NewSeat
	Moved
	TooMuch
	Beside
)

// RowsBetween are the positions in which two lists differ.
func RowsBetween(old, new *plan.List) (rows []Row) {
	for i, s := range new.Slots {
		r := Row{Position: i + 1, Slot: s, place: new.Place(i).Place(), lead: true}
		if i < len(old.Slots) {
			o := old.Slots[i]
			users := func(s *plan.ResolvedSlot) (ids []string) {
				for _, d := range s.Users {
					ids = append(ids, d.ID)
				}
				return ids
			}
			if o.Channel.Name == s.Channel.Name && changes.TuningOf(o) == changes.TuningOf(s) {
				if o.Use == s.Use && slices.Equal(users(o), users(s)) {
					continue
				}
				r.Kind = Stays
			}
		}
		rows = append(rows, r)
	}
	for i := len(new.Slots); i < len(old.Slots); i++ {
		rows = append(rows, Row{Kind: Clear, Position: i + 1})
	}
	return rows
}

// tooMuch tells whether so much of a list is another that it is faster, and safer,
// to read a new card.
func tooMuch(rows []Row, new *plan.List) bool {
	n := 0
	for _, r := range rows {
		if r.Kind != Stays {
			n++
		}
	}
	return n > len(new.Slots)/2
}

// stripOf is the strip of a card; nil where the old card is right.
func stripOf(c *changes.Changes, card *changes.Card) *Strip {
	s := &Strip{Card: card}
	switch {
	case !card.Replace():
		return nil
	case card.First || card.Old == nil:
		s.Why = NewSeat
	case card.Unit.Elsewhere():
		s.Why = Moved
	case c.Also:
		s.Why = Beside
	}
	if s.Why != Says {
		return s
	}
	old, new := card.Old, card.New
	changed := RowsBetween(old.List, new.List)
	if tooMuch(changed, new.List) {
		s.Why = TooMuch
		return s
	}
	for i, slot := range new.List.Slots {
		at := slices.IndexFunc(changed, func(r Row) bool { return r.Position == i+1 })
		var before plan.Mark
		if i < len(old.Marks) {
			before = old.Marks[i]
		}
		now := new.Marks[i]
		switch {
		case at >= 0:
			r := changed[at]
			r.mark, r.marks = now, now != (plan.Mark{}) || before != (plan.Mark{})
			s.rows = append(s.rows, r)
		case before != now:
			s.rows = append(s.rows, Row{Kind: Stays, Position: i + 1, Slot: slot, mark: now, marks: true})
		}
	}
	for _, r := range changed {
		if r.Kind == Clear {
			s.rows = append(s.rows, r)
		}
	}
	return s
}

// Of are the strips of all cards, in the order of the cards, and the cards that
// are to be printed in full.
func Of(c *changes.Changes) (strips, full []*Strip) {
	for _, u := range c.Units {
		for _, card := range u.Cards {
			switch s := stripOf(c, card); {
			case s == nil:
			case s.Why != Says:
				full = append(full, s)
			default:
				strips = append(strips, s)
			}
		}
	}
	return strips, full
}
