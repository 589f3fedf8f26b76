package rules

import (
	"fmt"
	"slices"

	"slotcard/plan"
	"slotcard/plan/radio"
	"slotcard/plan/spectrum"
)

// mostSlots bounds the radio arithmetic, whose time grows with the third power
// of the slots: what stands behind them in a list takes no part. It is twice as
// many as a hand can find by feel.
const mostSlots = 32

// mostTried bounds how many channels of a large load are tried in place of one.
const mostTried = 100

// OnAir is what the radio arithmetic needs of a slot's channel; nothing of a
// talkgroup, nor of a channel whose frequencies could not be read.
func OnAir(c *plan.Channel, use radio.Use) spectrum.Channel {
	if c.Trunked() || unread(c) {
		return spectrum.Channel{Use: use}
	}
	out := spectrum.Channel{Rx: c.Rx, Tx: c.Tx, Mode: c.Mode, Width: c.Width, Use: use}
	if c.ReceiveOnly {
		out.Tx = 0
	}
	return out
}

// airOf is the list as the radio arithmetic sees it. Travel channels are used on
// the road, not beside the others, and take no part; nor does a channel that
// stands in the list already, about which another rule has its say.
func airOf(l *plan.List) []spectrum.Channel {
	out := make([]spectrum.Channel, min(len(l.Slots), mostSlots))
	for i := range out {
		s := l.Slots[i]
		out[i].Use = s.Use
		twice := slices.ContainsFunc(l.Slots[:i], func(first *plan.ResolvedSlot) bool { return sameOnAir(first, s) })
		if s.Use != radio.Travel && !twice {
			out[i] = OnAir(s.Channel, s.Use)
		}
	}
	return out
}

// sameOnAir tells that two slots are programmed alike but for their names.
func sameOnAir(a, b *plan.ResolvedSlot) bool {
	p, q := a.Channel.Programming(), b.Channel.Programming()
	p.Name, q.Name = "", ""
	return p == q && a.TxTone == b.TxTone
}

// deafens tells that two radios side by side, on channels of different use, keep
// each other from hearing. Those of one use work in different places.
func deafens(a, b spectrum.Channel) bool {
	_, deaf := spectrum.Desense(a, b)
	return a.Use != b.Use && deaf
}

// trouble weighs what is wrong with slot i among the others.
func trouble(air []spectrum.Channel, i int) int {
	sum := 0
	for j, other := range air {
		if j == i {
			continue
		}
		if spectrum.Clash(air[i], other) > 0 {
			sum += 10_000
		}
		if spectrum.HearsInput(air[i], other) || spectrum.HearsInput(other, air[i]) {
			sum += 1_000
		}
		if deafens(air[i], other) {
			sum += 1_000
		}
	}
	return sum
}

// bench looks for better channels for one list.
type bench struct {
	r     *plan.Resolved
	l     *plan.List
	air   []spectrum.Channel
	found map[int]*plan.Channel // what was found for a slot, nothing special wanted
}

func newBench(r *plan.Resolved, l *plan.List) *bench {
	return &bench{r, l, airOf(l), map[int]*plan.Channel{}}
}

// better finds a channel of the load to take in place of slot i: of the same
// use and mode, direct or repeated like it, not in the plan, and without trouble among
// the other slots. Those of the same group are tried first, and of equal ones
// the order of the load decides. Wanted has to agree as well; where it is nil, a
// channel that brings no more serious third-order products is preferred.
func (b *bench) better(i int, wanted func([]spectrum.Channel) bool) *plan.Channel {
	if wanted != nil {
		return b.search(i, wanted)
	}
	c, ok := b.found[i]
	if !ok {
		c = b.search(i, nil)
		b.found[i] = c
	}
	return c
}

func (b *bench) search(i int, wanted func([]spectrum.Channel) bool) *plan.Channel {
	r, l, air := b.r, b.l, b.air
	s := l.Slots[i]
	group := l.Place(i).Group
	used := map[string]bool{}
	for _, other := range r.Slots {
		used[other.Channel.Name] = true
	}
	var same, others []*plan.Channel
	for _, c := range r.Load.Channels() {
		switch {
		case c.Use != s.Use || c.Mode != s.Channel.Mode || c.Repeated() != s.Repeated() || c.Trunked() || c.ReceiveOnly || unread(c) || used[c.Name]:
		case c.TxTone == radio.Site && (s.Repeater == nil || !slices.Contains(s.Repeater.Channels, c.Name)):
		case c.Group == group:
			same = append(same, c)
		default:
			others = append(others, c)
		}
	}
	var second *plan.Channel
	preferred := wanted == nil
	if preferred {
		now := serious(air, spectrum.ThirdOrder(air))
		wanted = func(with []spectrum.Channel) bool { return serious(with, spectrum.ThirdOrder(with)) <= now }
	}
	with := slices.Clone(air)
	all := append(same, others...)
	for _, c := range all[:min(len(all), mostTried)] {
		with[i] = OnAir(c, s.Use)
		switch {
		case trouble(with, i) > 0:
		case wanted(with):
			return c
		case preferred && second == nil:
			second = c
		}
	}
	return second
}

// yields orders slots by how easily they change: a tactical first, command and
// guard last.
func yields(u radio.Use) int {
	return slices.Index([]radio.Use{radio.Guard, radio.Command, radio.AirToGround, radio.Medical, radio.Support, radio.Travel, radio.Tactical}, u)
}

// betterOf tries the slots in turn, those first that change more easily, and of
// equal ones the later. It gives the slot to change, and the channel to take.
func (b *bench) betterOf(slots []int, wanted func([]spectrum.Channel) bool) (int, *plan.Channel) {
	slots = slices.Clone(slots)
	slices.SortFunc(slots, func(i, j int) int {
		if d := yields(b.air[j].Use) - yields(b.air[i].Use); d != 0 {
			return d
		}
		return j - i
	})
	for _, i := range slots {
		if c := b.better(i, wanted); c != nil && b.air[i].Use != radio.Guard {
			return i, c
		}
	}
	return slots[0], nil
}

// take says what to type to change slot i.
func take(r *plan.Resolved, l *plan.List, i int, c *plan.Channel) string {
	place := fmt.Sprintf("%s, %s", c.Ref(), pair(c.Rx, c.Tx))
	return fmt.Sprintf("in %s write channel = %q (%s)", slotName(r, l, i), c.Name, place)
}

// named is a slot inside a sentence: "slot 3 VFIRE21".
func named(r *plan.Resolved, l *plan.List, i int) string {
	return fmt.Sprintf("slot %d %s", i+1, l.Slots[i].Channel.Name) + ofList(r, l)
}
