package suggest

import (
	"fmt"
	"strconv"
	"strings"

	"slotcard/plan"
	"slotcard/plan/radio"
)

// Replaces is the slot of the plan whose place the channel of a choice takes: the
// one that it leaves, if nobody stays there. It is nil where a slot is added, or
// where the channel stands in the plan already.
func (p *Proposal) Replaces(i int) *plan.ResolvedSlot {
	c := p.Choices[i]
	if c.Leaves == nil || c.Channel == nil || c.Slot != nil || len(p.stayers(c.Leaves)) > 0 {
		return nil
	}
	for _, before := range p.Choices[:i] {
		if before.Leaves == c.Leaves && before.Slot == nil {
			return nil // it has taken that place
		}
	}
	return c.Leaves
}

// Longest is how many slots the longest list of the plan has with all that is
// proposed; slots that are added are carried by everybody.
func (p *Proposal) Longest() int {
	longest := 0
	for _, l := range p.r.Lists {
		n := len(l.Slots)
		for _, s := range l.Slots {
			if p.removed(s) {
				n--
			}
		}
		longest = max(longest, n)
	}
	for i := range p.Choices {
		if p.added(i) {
			longest++
		}
	}
	return longest
}

func (p *Proposal) added(i int) bool {
	c := p.Choices[i]
	return c.Channel != nil && c.Slot == nil && p.Replaces(i) == nil
}

// removed tells that everybody leaves a slot, and nothing takes its place.
func (p *Proposal) removed(s *plan.ResolvedSlot) bool {
	if len(s.Users) == 0 || len(p.stayers(s)) > 0 {
		return false
	}
	for i := range p.Choices {
		if p.Replaces(i) == s {
			return false
		}
	}
	return true
}

// TOML is what to paste into the plan, with comments that say where: slots in
// place of what is there, in the order of the file, then slots that are new.
// It is empty where nothing is proposed.
func (p *Proposal) TOML() string {
	var b strings.Builder
	for _, s := range p.r.Slots {
		users, changed := p.stayers(s), false
		changed = len(users) < len(s.Users)
		var channel *plan.Channel
		for i, c := range p.Choices {
			if c.Channel != nil && c.Slot == s {
				users, changed = append(users, c.Division), true
			}
			if p.Replaces(i) == s {
				users, channel = append(users, c.Division), c.Channel
			}
		}
		if !changed {
			continue
		}
		line := s.At("").Line
		if len(users) == 0 {
			fmt.Fprintf(&b, "# remove the [[slot]] in line %d\n", line)
			continue
		}
		fmt.Fprintf(&b, "# in place of the [[slot]] in line %d\n", line)
		writeSlot(&b, s, channel, users)
	}
	header := false
	for i, c := range p.Choices {
		if !p.added(i) {
			continue
		}
		if !header {
			header = true
			if last := p.r.Slots[len(p.r.Slots)-1]; last.Use == radio.Guard {
				fmt.Fprintf(&b, "# new, before the [[slot]] of %s in line %d\n", last.Channel.Name, last.At("").Line)
			} else {
				fmt.Fprintf(&b, "# new, after the [[slot]] of %s in line %d\n", last.Channel.Name, last.At("").Line)
			}
		}
		writeSlot(&b, nil, c.Channel, []*plan.Division{c.Division})
	}
	return b.String()
}

// writeSlot writes a slot: s with other divisions, or, where channel is set,
// with that channel; s may be nil.
func writeSlot(b *strings.Builder, s *plan.ResolvedSlot, channel *plan.Channel, users []*plan.Division) {
	write := func(key, value string) { fmt.Fprintf(b, "%-8s = %s\n", key, value) }
	b.WriteString("[[slot]]\n")
	switch {
	case channel != nil:
		write("channel", strconv.Quote(channel.Name))
	case s.Slot.Channel != "":
		write("channel", strconv.Quote(s.Slot.Channel))
	default:
		write("group", strconv.Itoa(s.Channel.Group.Number))
		write("number", strconv.Itoa(s.Channel.Number))
	}
	if channel == nil {
		if s.Has("use") {
			write("use", strconv.Quote(s.Use.String()))
		}
		if s.Site != "" {
			write("site", strconv.Quote(s.Site))
		}
		if s.Tone != nil {
			write("tone", strconv.Itoa(*s.Tone))
		}
	}
	ids := make([]string, len(users))
	for i, d := range users {
		ids[i] = strconv.Quote(d.ID)
	}
	if len(ids) == 1 {
		write("division", ids[0])
	} else {
		write("division", "["+strings.Join(ids, ", ")+"]")
	}
	if s != nil && s.CarriedBy != nil {
		carried := make([]string, len(s.CarriedBy))
		for i, id := range s.CarriedBy {
			carried[i] = strconv.Quote(id)
		}
		write("carried_by", "["+strings.Join(carried, ", ")+"]")
	}
}
