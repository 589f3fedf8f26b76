package plan

import (
	"slotcard/plan/radio"
	"slotcard/plan/slotlist"
)

// Resolved is a plan with every name looked up: what is checked, then printed.
type Resolved struct {
	Plan       *Plan
	Load       *Load
	Slots      []*ResolvedSlot // every slot of the plan that could be resolved, in plan order
	Unresolved []*Slot         // the others; then there are errors, and nothing is printed
	Lists      []*List         // distinct lists, in order of the divisions that carry them
	Cards      []*Card         // one for each seat, in order of the units
	Also       []*AlsoChannel
	Exceptions []Exception // accepted, in the order of the plan; filled by the rules

	// EditionMarks are the channels whose display name carries the edition.
	EditionMarks []*Channel
}

// ResolvedSlot is a slot with its channel, and what this incident chose for it.
type ResolvedSlot struct {
	*Slot
	Channel    *Channel
	Places     []*Channel // the same channel wherever it stands in the load, Channel among them
	Use        radio.Use
	TxTone     radio.Squelch // with the site's tone in place of "site"
	Repeater   *Site         // nil: none chosen
	ToneNumber int           // the agency's number of TxTone; 0: none
	Users      []*Division   // the divisions that use it, in plan order
	Carriers   []*Division   // the divisions whose list holds it; nil: everybody
}

// Repeated tells whether a repeater carries this slot: see [Channel.Repeated].
func (s *ResolvedSlot) Repeated() bool { return s.Channel.Repeated() }

// UsedBy tells whether division d works on this slot.
func (s *ResolvedSlot) UsedBy(d *Division) bool {
	for _, u := range s.Users {
		if u == d {
			return true
		}
	}
	return false
}

// List is an ordered slot list, and the divisions that carry it.
type List struct {
	Slots     []*ResolvedSlot // position 1 first
	Divisions []*Division     // that carry it, in plan order
	Shared    bool            // units without a division carry it too
	Code      slotlist.Code
	Text      string // the list text, as the QR code holds it

	undivided bool // of a plan without divisions
}

// Place is where slot i of the list, from 0, stands in the load: of a channel
// that stands in several groups, in the group that holds most of the list, so
// that fingers stay in one group.
func (l *List) Place(i int) *Channel { return bestPlace(l, i) }

// Name tells lists apart on paper: "" where the plan has a single list.
func (l *List) Name(r *Resolved) string { return listName(l, r) }

// Card is what one seat carries.
type Card struct {
	Number   int // from 1, over the whole plan
	Unit     *Unit
	Position *Position
	Nth, Of  int       // which of the unit's seats of this position, from 1
	Division *Division // nil: none
	List     *List
	Marks    []Mark // one for each slot of the list
}

// Mark is what a card's holder does with a slot.
type Mark struct {
	Talk     bool // talks here
	Priority bool // has priority when scanning
	Scan     bool // is scanned
}

// AlsoChannel is a channel on the card that is not in the list.
type AlsoChannel struct {
	*Also
	Channel    *Channel
	TxTone     radio.Squelch
	Repeater   *Site
	ToneNumber int
}

// Exception is a finding that an [Accept] lowered to a note.
type Exception struct {
	Accept  *Accept
	Message string // of the finding
}
