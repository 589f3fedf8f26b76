package plan

import (
	"cmp"
	"slices"

	"slotcard/plan/radio"
)

// nearWidth is how far a frequency may be off to count as near: a channel of
// the old 25 kHz raster and the narrowband one between two of them are 12.5 kHz
// apart, so one wrong last digit stays within it (47 CFR 90.210, secondary).
const nearWidth radio.Hertz = 12_500

// Slip is how a number is written down wrong: one slip of the hand or the ear.
type Slip uint8

const (
	NoSlip  Slip = iota
	Swapped      // two neighboring digits swapped
	Doubled      // a digit written twice
	Missing      // a digit left out
	Changed      // one digit wrong
)

var slipNames = [...]string{"", "two digits swapped", "a digit doubled", "a digit left out", "one digit wrong"}

func (s Slip) String() string { return slipNames[s] }

// Near is a channel that may have been meant by a frequency, and why.
type Near struct {
	Channel *Channel
	Why     string      // such as "two digits swapped"
	Off     radio.Hertz // how far its frequency is from the one asked for, signed
	Slip    Slip        // that leads to it; NoSlip: it is within [nearWidth]
}

// NearFrequency finds the channels that may have been meant by a receive
// frequency f: those to which one swapped pair of digits, a digit too many or a
// digit too few leads, or that lie within [nearWidth]; where there are none,
// those that differ in one digit. Slips come first, then by distance, then in
// order of the load. Channels on f itself are not near.
func (l *Load) NearFrequency(f radio.Hertz) []Near {
	return NearIn(l.Channels(), f, func(c *Channel) radio.Hertz { return c.Rx })
}

// NearIn is [Load.NearFrequency] over some channels and one of their
// frequencies; those whose frequency is 0 are passed over.
func NearIn(channels []*Channel, f radio.Hertz, of func(*Channel) radio.Hertz) []Near {
	slips := map[radio.Hertz]Slip{}
	for text, slip := range Slips(f.String()) {
		h, err := radio.ParseMHz(text)
		if old, ok := slips[h]; err == nil && (!ok || slip < old) {
			slips[h] = slip
		}
	}
	var near, changed []Near
	for _, c := range channels {
		at := of(c)
		off := at - f
		slip := slips[at]
		close := off <= nearWidth && -off <= nearWidth
		switch {
		case at == 0 || off == 0:
		case slip == Swapped, !close && (slip == Doubled || slip == Missing):
			near = append(near, Near{c, slip.String(), off, slip})
		case close && off > 0:
			near = append(near, Near{c, off.KHz() + " kHz above", off, NoSlip})
		case close:
			near = append(near, Near{c, (-off).KHz() + " kHz below", off, NoSlip})
		case slip == Changed:
			changed = append(changed, Near{c, slip.String(), off, slip})
		}
	}
	if near == nil {
		near = changed
	}
	rank := func(n Near) Slip {
		if n.Slip == NoSlip {
			return Changed
		}
		return n.Slip
	}
	slices.SortStableFunc(near, func(a, b Near) int {
		return cmp.Or(cmp.Compare(rank(a), rank(b)), cmp.Compare(max(a.Off, -a.Off), max(b.Off, -b.Off)))
	})
	return near
}

func b2i(b bool) int {
	if b {
		return 1
	}
	return 0
}

// Slips are the texts that one slip of the hand may have turned into this one,
// digits with or without a point, each with the likeliest slip.
func Slips(text string) map[string]Slip {
	out := map[string]Slip{}
	add := func(s string, slip Slip) {
		if old, ok := out[s]; s != text && (!ok || slip < old) {
			out[s] = slip
		}
	}
	digit := func(i int) bool { return i >= 0 && i < len(text) && '0' <= text[i] && text[i] <= '9' }
	var at []int
	for i := range len(text) {
		if digit(i) {
			at = append(at, i)
		}
	}
	b := []byte(text)
	for n, i := range at {
		if n > 0 {
			h := at[n-1]
			b[h], b[i] = b[i], b[h]
			add(string(b), Swapped)
			b[h], b[i] = b[i], b[h]
			if b[h] == b[i] {
				add(text[:i]+text[i+1:], Doubled)
			}
		}
		for d := byte('0'); d <= '9'; d++ {
			add(text[:i]+string(d)+text[i:], Missing)
			if !digit(i + 1) {
				add(text[:i+1]+string(d)+text[i+1:], Missing)
			}
			add(text[:i]+string(d)+text[i+1:], Changed)
		}
	}
	return out
}

// SwappedDigits are the frequencies that differ from f by one swapped pair of
// neighboring digits, as the frequency is written with its decimals: in order
// of the pairs.
func SwappedDigits(f radio.Hertz) []radio.Hertz {
	text := f.String()
	var out []radio.Hertz
	last := -1
	for i := range len(text) {
		if text[i] == '.' {
			continue
		}
		if last >= 0 && text[last] != text[i] {
			swapped := text[:last] + text[i:i+1] + text[last+1:i] + text[last:last+1] + text[i+1:]
			if h, err := radio.ParseMHz(swapped); err == nil {
				out = append(out, h)
			}
		}
		last = i
	}
	return out
}
