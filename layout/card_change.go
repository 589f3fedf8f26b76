package layout

import (
	"fmt"
	"slices"
	"strings"
)

// Change is what a card has to say about the list its holder had before.
type Change struct {
	Period  int   // the operational period compared with
	Slots   []int // positions to build anew, from 1, ascending
	Clear   []int // positions behind the end of the list that must be emptied, ascending
	First   bool  // the holder had no list before
	NewCode bool  // the read-back code differs
	Listen  bool  // the holder talks, gives priority or scans elsewhere
}

// Rebuild tells whether the list must be built anew in some slot.
func (c Change) Rebuild() bool { return c.First || len(c.Slots)+len(c.Clear) > 0 }

// has tells whether slot i, from 0, has changed.
func (c Change) has(i int) bool { return !c.First && slices.Contains(c.Slots, i+1) }

// plateNumbers are the most slots, or runs of slots, that stand on a plate with
// the word: more may need to go on in the next line.
const plateNumbers = 5

// chunks are what the card says of the change.
func (c Change) chunks(w *Words, s style) []piece {
	if c.First {
		return []piece{pieceOf(0, run{style: s, s: w.BuildList, plate: true})}
	}
	var out []piece
	numbers := func(positions []int) []string { return strings.Split(numberRuns(positions), ", ") }
	if len(c.Slots) > 0 {
		head, slots := w.Rebuild, numbers(c.Slots)
		if len(c.Slots) == 1 {
			head = w.RebuildOne
		}
		if len(slots) <= plateNumbers {
			out = append(out, pieceOf(s.space(), run{style: s, s: head + " " + strings.Join(slots, ", "), plate: true}))
		} else {
			out = append(out, pieceOf(s.space(), run{style: s, s: head, plate: true}))
			out = append(out, words(s, strings.Join(slots, ", "))...)
		}
	}
	var rest []string
	if len(c.Slots)+len(c.Clear) == 0 {
		rest = append(rest, fmt.Sprintf("%s %d", w.SameList, c.Period))
		if c.NewCode {
			rest = append(rest, w.NewCode)
		}
	}
	switch len(c.Clear) {
	case 0:
	case 1:
		rest = append(rest, w.ClearOne+" "+numberRuns(c.Clear))
	default:
		rest = append(rest, w.ClearMany+" "+numberRuns(c.Clear))
	}
	if c.Listen {
		rest = append(rest, w.ListenElsewhere)
	}
	for i, t := range rest {
		r := s.say(t)
		if i < len(rest)-1 {
			r.s += ","
		}
		if i == 0 && !c.Rebuild() {
			r.mark = markSame
		}
		out = append(out, pieceOf(s.space(), r))
	}
	return out
}
