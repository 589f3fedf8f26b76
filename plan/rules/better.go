package rules

import (
	"fmt"
	"slices"

	"slotcard/plan"
	"slotcard/plan/finding"
	"slotcard/plan/radio"
	"slotcard/plan/spectrum"
)

// mostSlots bounds the radio arithmetic, whose time grows with the third power
// of the slots: what stands behind them in a plan takes no part. It is four lists
// of sixteen that have nothing in common.
const mostSlots = 64

// mostTried bounds how many channels of a large load are tried in place of one.
const mostTried = 100

// mostProducts bounds the third-order products that are computed to find better
// channels: some tenths of a second. A list of sixteen is tried with a thousand
// channels, one of sixty-four with fifteen.
const mostProducts = 2_000_000

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

// sameOnAir tells that two slots are programmed alike but for their names, or
// are one repeated pair of frequencies that opens another site with another tone.
func sameOnAir(a, b *plan.ResolvedSlot) bool {
	p, q := a.Channel.Programming(), b.Channel.Programming()
	p.Name, q.Name = "", ""
	return p == q && (a.TxTone == b.TxTone || a.Repeated())
}

// tooNear is how near a transmitter spills over into a narrow channel, whatever
// the distance of the two radios on a fire: within it lie the two channels on
// either side. Our choice.
const tooNear radio.Hertz = 30_000

// matters tells that a channel of this use carries orders, aircraft or calls for
// help: there a weak voice must be heard.
func matters(u radio.Use) bool {
	return u == radio.Command || u == radio.AirToGround || u == radio.Guard
}

// deafens tells that a radio on one of two channels of different use keeps one
// beside it from hearing command, air-to-ground or guard, and how far apart the
// two frequencies are. Those of one use work in different places.
func deafens(a, b spectrum.Channel) (apart radio.Hertz, deaf bool) {
	apart = tooNear
	for _, p := range [][2]spectrum.Channel{{a, b}, {b, a}} {
		if from, to := p[0], p[1]; from.Use != to.Use && matters(to.Use) && from.Tx > 0 && to.Rx > 0 {
			apart = min(apart, spectrum.Apart(from.Tx, to.Rx))
		}
	}
	return apart, apart < tooNear
}

// because is the cause of what is found about two slots: the one that is to change.
func because(l *plan.List, at int) finding.Cause {
	return finding.Cause{Name: l.Slots[at].Channel.Name}
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
		if _, deaf := deafens(air[i], other); deaf {
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
	heard [][]bool              // slot, division: heard there from nearby
	spare map[radio.Use][]*plan.Channel
	now   int // serious products of the list as it is; -1: not counted yet
	left  int // products that may be computed still
}

// afford counts the products of one list more, and tells whether they may be computed.
func (b *bench) afford() bool {
	n := len(b.air)
	b.left -= n * n * n / 2
	return b.left >= 0
}

func newBench(r *plan.Resolved, l *plan.List) *bench {
	b := &bench{r: r, l: l, air: airOf(l), found: map[int]*plan.Channel{}, spare: map[radio.Use][]*plan.Channel{}, now: -1, left: mostProducts}
	near := make([][]*plan.Division, len(r.Plan.Divisions))
	for d, division := range r.Plan.Divisions {
		near[d] = append(r.Neighbors(division), division)
	}
	for _, s := range l.Slots[:len(b.air)] {
		heard := make([]bool, len(near))
		for d := range near {
			heard[d] = len(s.Users) == 0 || slices.ContainsFunc(near[d], s.UsedBy)
		}
		b.heard = append(b.heard, heard)
	}
	return b
}

// meet tells that all who take part in a product are in reach of one place: they
// work in one division or beside it, or everybody uses the channel.
func (b *bench) meet(h spectrum.Hit) bool {
	if len(b.r.Plan.Divisions) == 0 {
		return true
	}
	for d := range b.r.Plan.Divisions {
		here := b.heard[h.Victim][d]
		for _, t := range h.Transmitters {
			here = here && b.heard[t][d]
		}
		if here {
			return true
		}
	}
	return false
}

// better finds a channel of the load to take in place of tactical slot i: direct
// or repeated and of the mode like it, spare, and without trouble among the other
// slots. Those of the same group are tried first, and of equal ones
// the order of the load decides. Wanted has to agree as well; where it is nil, a
// channel that brings no more serious third-order products is preferred.
func (b *bench) better(i int, wanted wish) *plan.Channel {
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

// wish tells whether the slots with another channel in slot i are as wanted.
type wish func(i int, with []spectrum.Channel) bool

func (b *bench) search(i int, wanted wish) *plan.Channel {
	r, l, air := b.r, b.l, b.air
	s := l.Slots[i]
	group := l.Place(i).Group
	var same, others []*plan.Channel
	if _, known := b.spare[s.Use]; !known {
		b.spare[s.Use] = spare(r, s.Use)
	}
	for _, c := range b.spare[s.Use] {
		switch {
		case c.Mode != s.Channel.Mode || c.Repeated() != s.Repeated():
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
		if b.now < 0 {
			b.now = len(b.serious(spectrum.Products(air), air))
		}
		wanted = func(_ int, with []spectrum.Channel) bool {
			return len(b.serious(spectrum.Products(with), with)) <= b.now
		}
	}
	with := slices.Clone(air)
	all := append(same, others...)
	for _, c := range all[:min(len(all), mostTried)] {
		with[i] = OnAir(c, s.Use)
		switch {
		case trouble(with, i) > 0:
		case b.afford() && wanted(i, with):
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

// betterOf tries the tacticals among the slots in turn, of equal ones the later
// first. It gives the slot to change, and the channel to take. Who is on command,
// with aircraft, on guard or with the medics has agreed on a channel with others:
// no arithmetic moves that, nor what support is told to use.
func (b *bench) betterOf(slots []int, wanted wish) (int, *plan.Channel) {
	slots = slices.Clone(slots)
	slices.SortFunc(slots, func(i, j int) int {
		if d := yields(b.air[j].Use) - yields(b.air[i].Use); d != 0 {
			return d
		}
		return j - i
	})
	for _, i := range slots {
		if b.air[i].Use != radio.Tactical {
			continue
		}
		if c := b.better(i, wanted); c != nil {
			return i, c
		}
	}
	return slots[0], nil
}

// take says what to type to change slot i.
func take(r *plan.Resolved, l *plan.List, i int, c *plan.Channel) string {
	place := fmt.Sprintf("%s, %s", c.Place(), pair(c.Rx, c.Tx))
	return fmt.Sprintf("in %s write channel = %q (%s)", slotName(r, l, i), c.Name, place)
}

// taking is [take] as an edit, or the words where no channel was found.
func taking(r *plan.Resolved, l *plan.List, i int, c *plan.Channel, otherwise string) finding.Edit {
	if c == nil {
		return words(otherwise)
	}
	return put(l.Slots[i], c, take(r, l, i, c))
}

// named is a slot inside a sentence: "slot 3 VFIRE21".
func named(r *plan.Resolved, l *plan.List, i int) string {
	return fmt.Sprintf("slot %d %s", i+1, l.Slots[i].Channel.Name) + ofList(r, l)
}
