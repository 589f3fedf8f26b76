package strips

import (
	"slices"

	"slotcard/plan"
	"slotcard/plan/changes"
)

// What strips say: position by position, what the old card does not.

// kind is what a row of a strip says of a position.
type kind uint8

const (
	rowNow   kind = iota // another channel, or programmed otherwise: all of it
	rowStays             // the channel stays; who uses it, or what the holder hears, does not
	rowClear             // behind the end of the new list
)

// row is one position of a strip.
type row struct {
	kind     kind
	position int // from 1
	slot     *plan.ResolvedSlot
	place    string
	lead     bool // whom it is for is said
	marks    bool // what the holder hears is said
	mark     plan.Mark
}

// strip is what one card is to be changed by; why is set where no strip can say it.
type strip struct {
	card *changes.Card
	rows []row
	why  why
}

// why is why a card is printed in full.
type why uint8

const (
	whyNone    why = iota
	whyNewSeat     // who had no list before
	whyMoved       // to another division or unit
	whyTooMuch     // of the list is another
	whyBeside      // channels beside the list are others
)

// rowsBetween are the positions in which two lists differ.
func rowsBetween(old, new *plan.List) (rows []row) {
	for i, s := range new.Slots {
		r := row{position: i + 1, slot: s, place: new.Place(i).Place(), lead: true}
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
				r.kind = rowStays
			}
		}
		rows = append(rows, r)
	}
	for i := len(new.Slots); i < len(old.Slots); i++ {
		rows = append(rows, row{kind: rowClear, position: i + 1})
	}
	return rows
}

// tooMuch tells whether so much of a list is another that it is faster, and safer,
// to read a new card.
func tooMuch(rows []row, new *plan.List) bool {
	n := 0
	for _, r := range rows {
		if r.kind != rowStays {
			n++
		}
	}
	return n > len(new.Slots)/2
}

// stripOf is the strip of a card; nil where the old card is right.
func stripOf(c *changes.Changes, card *changes.Card) *strip {
	s := &strip{card: card}
	switch {
	case !card.Replace():
		return nil
	case card.First || card.Old == nil:
		s.why = whyNewSeat
	case card.Unit.Elsewhere():
		s.why = whyMoved
	case c.Also:
		s.why = whyBeside
	}
	if s.why != whyNone {
		return s
	}
	old, new := card.Old, card.New
	changed := rowsBetween(old.List, new.List)
	if tooMuch(changed, new.List) {
		s.why = whyTooMuch
		return s
	}
	for i, slot := range new.List.Slots {
		at := slices.IndexFunc(changed, func(r row) bool { return r.position == i+1 })
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
			s.rows = append(s.rows, row{kind: rowStays, position: i + 1, slot: slot, mark: now, marks: true})
		}
	}
	for _, r := range changed {
		if r.kind == rowClear {
			s.rows = append(s.rows, r)
		}
	}
	return s
}

// Cards is how many cards a strip can change.
func Cards(c *changes.Changes) int {
	if c.Fresh() {
		return 0
	}
	some, _ := stripsOf(c)
	return len(some)
}

// stripsOf are the strips of all cards, in the order of the cards, and the cards that
// are to be printed in full.
func stripsOf(c *changes.Changes) (strips, full []*strip) {
	for _, u := range c.Units {
		for _, card := range u.Cards {
			switch s := stripOf(c, card); {
			case s == nil:
			case s.why != whyNone:
				full = append(full, s)
			default:
				strips = append(strips, s)
			}
		}
	}
	return strips, full
}
