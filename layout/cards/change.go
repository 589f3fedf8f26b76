package cards

import (
	"fmt"
	"slices"
	"slotcard/layout/set"
	"slotcard/layout/words"
	"slotcard/plan"
	"slotcard/plan/changes"
	"strings"
)

// Change is what a card has to say about the list its holder had before.
type Change struct {
	Period  int   // the operational period compared with
	Issue   int   // the revision compared with, where it is of the same period; 0: another period
	Slots   []int // positions to build anew, from 1, ascending
	Clear   []int // positions behind the end of the list that must be emptied, ascending
	First   bool  // the holder had no list before
	NewCode bool  // the read-back code differs
	Listen  bool  // the holder talks, gives priority or scans elsewhere
}

// rebuild tells whether the list must be built anew in some slot.
func (c Change) rebuild() bool { return c.First || len(c.Slots)+len(c.Clear) > 0 }

// has tells whether slot i, from 0, has changed.
func (c Change) has(i int) bool { return !c.First && slices.Contains(c.Slots, i+1) }

// plateNumbers are the most slots, or runs of slots, that stand on a plate with
// the word: more may need to go on in the next line.
const plateNumbers = 5

// chunks are what the card says of the change.
func (c Change) chunks(w *words.CardWords, s set.Style) []set.Piece {
	if c.First {
		return []set.Piece{set.PieceOf(0, set.Run{Style: s, S: w.BuildList, Plate: true})}
	}
	var out []set.Piece
	numbers := func(positions []int) []string { return strings.Split(words.NumberRuns(positions), ", ") }
	if len(c.Slots) > 0 {
		head, slots := w.Rebuild, numbers(c.Slots)
		if len(c.Slots) == 1 {
			head = w.RebuildOne
		}
		if len(slots) <= plateNumbers {
			out = append(out, set.PieceOf(s.Space(), set.Run{Style: s, S: head + " " + strings.Join(slots, ", "), Plate: true}))
		} else {
			out = append(out, set.PieceOf(s.Space(), set.Run{Style: s, S: head, Plate: true}))
			out = append(out, set.Words(s, strings.Join(slots, ", "))...)
		}
	}
	var rest []string
	if len(c.Slots)+len(c.Clear) == 0 {
		if c.Issue > 0 {
			rest = append(rest, fmt.Sprintf("%s %d", w.SameAsRevision, c.Issue))
		} else {
			rest = append(rest, fmt.Sprintf("%s %d", w.SameList, c.Period))
		}
		if c.NewCode {
			rest = append(rest, w.NewCode)
		}
	}
	switch len(c.Clear) {
	case 0:
	case 1:
		rest = append(rest, w.ClearOne+" "+words.NumberRuns(c.Clear))
	default:
		rest = append(rest, w.ClearMany+" "+words.NumberRuns(c.Clear))
	}
	if c.Listen {
		rest = append(rest, w.ListenElsewhere)
	}
	for i, t := range rest {
		r := s.Say(t)
		if i < len(rest)-1 {
			r.S += ","
		}
		if i == 0 && !c.rebuild() {
			r.Mark = set.MarkSame
		}
		out = append(out, set.PieceOf(s.Space(), r))
	}
	return out
}

// CardChanges is what each card of the new plan says of the list before.
func CardChanges(c *changes.Changes) map[*plan.Card]Change {
	out := make(map[*plan.Card]Change, len(c.New.Cards))
	issue := 0
	if c.Revision {
		issue = max(1, c.Old.Plan.Incident.Revision)
	}
	for _, u := range c.Units {
		for _, card := range u.Cards {
			out[card.New] = Change{Period: c.Old.Plan.Incident.Period, Issue: issue, Slots: u.Rebuild, Clear: u.Clear,
				First: card.First, NewCode: card.Code(), Listen: !card.First && card.Listen()}
		}
	}
	return out
}
