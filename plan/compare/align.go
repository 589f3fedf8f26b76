package compare

import (
	"slices"

	"slotcard/plan/slotlist"
)

// step pairs a slot of the card with one of the plan, both from 0; -1 stands
// for none.
type step struct{ card, plan int }

// Costs of an alignment. Our choice: another channel in a place is cheaper than
// one slot lost and one gained, and dearer than one alone; a slot in which less
// differs is more likely to be the one that is meant.
const (
	gapCost  = 4
	mostCost = 6

	costName    = 2
	costReceive = 2 // or transmit, where only that differs
	costOther   = 1
)

func pairCost(card, plan slotlist.Line) (cost int) {
	add := func(differs bool, n int) {
		if differs {
			cost += n
		}
	}
	receive := card.Rx != plan.Rx || card.System != plan.System || card.Talkgroup != plan.Talkgroup
	add(card.Name != plan.Name, costName)
	add(receive, costReceive)
	add(card.Tx != plan.Tx && card.Rx == plan.Rx, costReceive)
	add(card.RxTone != plan.RxTone, costOther)
	add(card.TxTone != plan.TxTone, costOther)
	add(card.Mode != plan.Mode, costOther)
	add(card.Width != plan.Width, costOther)
	add(card.Use != plan.Use, costOther)
	add(!slices.Equal(card.Divisions, plan.Divisions), costOther)
	return min(cost, mostCost)
}

// align pairs the slots of two lists at the least cost, in order (Needleman and
// Wunsch 1970). Where that costs as much, slots stay in their place.
func align(card, plan []slotlist.Line) (steps []step, cost int) {
	if s, c, ok := inPlace(card, plan); ok {
		steps, cost = s, c
	}
	n, m := len(card), len(plan)
	best := make([][]int, n+1) // cost of what lies behind i of the card and j of the plan
	for i := range best {
		best[i] = make([]int, m+1)
	}
	for i := n; i >= 0; i-- {
		for j := m; j >= 0; j-- {
			switch {
			case i == n:
				best[i][j] = (m - j) * gapCost
			case j == m:
				best[i][j] = (n - i) * gapCost
			default:
				best[i][j] = min(best[i+1][j+1]+pairCost(card[i], plan[j]), best[i+1][j]+gapCost, best[i][j+1]+gapCost)
			}
		}
	}
	if steps != nil && cost <= best[0][0] {
		return steps, cost
	}
	steps = make([]step, 0, max(n, m))
	for i, j := 0, 0; i < n || j < m; {
		switch {
		case i < n && j < m && best[i][j] == best[i+1][j+1]+pairCost(card[i], plan[j]):
			steps = append(steps, step{i, j})
			i, j = i+1, j+1
		case j < m && best[i][j] == best[i][j+1]+gapCost:
			steps = append(steps, step{-1, j})
			j++
		default:
			steps = append(steps, step{i, -1})
			i++
		}
	}
	return steps, best[0][0]
}

// inPlace pairs each slot with the one of its number, for lists of one length.
// Two that stand in each other's place cost as much as one that is lost.
func inPlace(card, plan []slotlist.Line) (steps []step, cost int, ok bool) {
	if len(card) != len(plan) {
		return nil, 0, false
	}
	steps = make([]step, len(card))
	for i := range card {
		steps[i] = step{i, i}
		if swappedWith(card, plan, i) < 0 {
			cost += pairCost(card[i], plan[i])
		} else if swappedWith(card, plan, i) > i {
			cost += gapCost
		}
	}
	return steps, cost, true
}

// swappedWith is the slot that stands in the place of slot i, and it in that
// one's; -1 if there is none.
func swappedWith(card, plan []slotlist.Line, i int) int {
	if same(card[i], plan[i]) {
		return -1
	}
	for j := range min(len(card), len(plan)) {
		if j != i && same(card[i], plan[j]) && same(card[j], plan[i]) && !same(card[j], plan[j]) {
			return j
		}
	}
	return -1
}

// differences tells what an alignment shows.
func differences(steps []step, card, plan []slotlist.Line) (out []Difference) {
	moved := movedSlots(steps, card, plan)
	stays := map[int]bool{} // slots that are paired with the one of their number
	for _, s := range steps {
		if s.card == s.plan {
			stays[s.plan] = true
		}
	}
	var causes []Difference // of the shift at work
	var shift *Difference
	for _, s := range steps {
		if s.card >= 0 && s.plan >= 0 && s.card != s.plan && same(card[s.card], plan[s.plan]) {
			if shift == nil || shift.To != s.plan || shift.CardSlot-shift.Slot != s.card-s.plan {
				out = append(out, Difference{
					Kind: Shifted, Slot: s.plan + 1, CardSlot: s.card + 1,
					Card: &card[s.card], Plan: &plan[s.plan], Causes: slices.Clone(causes),
				})
				shift = &out[len(out)-1]
			}
			shift.To = s.plan + 1
			continue
		}
		shift = nil
		d := Difference{Slot: s.plan + 1, To: s.plan + 1, CardSlot: s.card + 1}
		if s.plan >= 0 {
			d.Plan = &plan[s.plan]
		}
		if s.card >= 0 {
			d.Card = &card[s.card]
		}
		switch {
		case s.card < 0:
			d.Kind = Missing
			if at, ok := moved[s.plan]; ok {
				d.Kind, d.Card, d.CardSlot = Moved, &card[at], at+1
			}
			causes = append(causes, d)
		case s.plan < 0:
			d.Kind = Extra
			if from := movedFrom(moved, s.card); from >= 0 {
				d.Kind, d.Slot = Moved, from+1
				causes = append(causes, d)
				continue // said where the plan has it
			}
			causes = append(causes, d)
		case same(*d.Card, *d.Plan):
			causes = nil // in its place again
			continue
		default:
			if s.card == s.plan {
				causes = nil
				if j := swappedWith(card, plan, s.card); j >= 0 && stays[j] {
					if j < s.card {
						continue // said of the other
					}
					d.Kind, d.To = Swapped, j+1
					break
				}
			}
			d.Kind, d.Fields = Changed, fields(*d.Card, *d.Plan)
		}
		out = append(out, d)
	}
	return out
}

// movedSlots are the slots of the plan that the alignment lost and gained
// elsewhere, and where the card has them.
func movedSlots(steps []step, card, plan []slotlist.Line) map[int]int {
	moved := map[int]int{}
	for _, lost := range steps {
		if lost.card >= 0 {
			continue
		}
		for _, gained := range steps {
			if gained.plan < 0 && movedFrom(moved, gained.card) < 0 && same(card[gained.card], plan[lost.plan]) {
				moved[lost.plan] = gained.card
				break
			}
		}
	}
	return moved
}

// movedFrom is the slot of the plan that the card has at a place; -1 for none.
func movedFrom(moved map[int]int, at int) int {
	for from, m := range moved {
		if m == at {
			return from
		}
	}
	return -1
}
