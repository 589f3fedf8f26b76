package plan

import (
	"cmp"
	"slices"

	"slotcard/plan/radio"
)

// NearWidth is how far a frequency may be off to count as near: a channel of
// the old 25 kHz raster and the narrowband one between two of them are 12.5 kHz
// apart, so one wrong last digit stays within it (47 CFR 90.210, secondary).
const NearWidth radio.Hertz = 12_500

// Near is a channel that may have been meant by a frequency, and why.
type Near struct {
	Channel *Channel
	Why     string      // such as "two digits swapped"
	Off     radio.Hertz // how far its receive frequency is from the one asked for, signed
	Swapped bool        // one swapped pair of digits leads to it
}

// NearFrequency finds the channels whose receive frequency one swapped pair of
// neighbouring digits leads to, or that lie within [NearWidth] of f: swapped
// ones first, then by distance, then in order of the load. Channels on f itself
// are not near.
func (l *Load) NearFrequency(f radio.Hertz) []Near {
	swaps := map[radio.Hertz]bool{}
	for _, s := range SwappedDigits(f) {
		swaps[s] = true
	}
	var near []Near
	for _, g := range l.Groups {
		for _, c := range g.Channels {
			off := c.Rx - f
			switch {
			case c.Rx == 0 || off == 0:
			case swaps[c.Rx]:
				near = append(near, Near{c, "two digits swapped", off, true})
			case off > 0 && off <= NearWidth:
				near = append(near, Near{c, off.KHz() + " kHz above", off, false})
			case off < 0 && -off <= NearWidth:
				near = append(near, Near{c, (-off).KHz() + " kHz below", off, false})
			}
		}
	}
	slices.SortStableFunc(near, func(a, b Near) int {
		if a.Swapped != b.Swapped {
			return cmp.Compare(b2i(b.Swapped), b2i(a.Swapped))
		}
		return cmp.Compare(max(a.Off, -a.Off), max(b.Off, -b.Off))
	})
	return near
}

func b2i(b bool) int {
	if b {
		return 1
	}
	return 0
}

// SwappedDigits are the frequencies that differ from f by one swapped pair of
// neighbouring digits, as the frequency is written with its decimals.
func SwappedDigits(f radio.Hertz) []radio.Hertz {
	text := []byte(f.String())
	var at []int
	for i, b := range text {
		if b != '.' {
			at = append(at, i)
		}
	}
	var out []radio.Hertz
	for n := 1; n < len(at); n++ {
		i, j := at[n-1], at[n]
		if text[i] == text[j] {
			continue
		}
		text[i], text[j] = text[j], text[i]
		if h, err := radio.ParseMHz(string(text)); err == nil {
			out = append(out, h)
		}
		text[i], text[j] = text[j], text[i]
	}
	return out
}
