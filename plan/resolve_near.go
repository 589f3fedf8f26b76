package plan

import (
	"cmp"
	"slices"
	"strings"

	"github.com/hbollon/go-edlib"

	"slotcard/plan/radio"
)

// NearWidth is how far a frequency may be off to count as near: a channel of
// the old 25 kHz raster and the narrowband one between two of them are 12.5 kHz
// apart, so one wrong last digit stays within it (47 CFR 90.210, secondary).
const NearWidth radio.Hertz = 12_500

// Closest returns at most limit of the known words that word may have been
// meant to be, the closest first, case ignored. The distance counts letters
// added, dropped, changed or swapped with their neighbour (optimal string
// alignment); a third of the letters of the word may be wrong, at least two.
func Closest(word string, known []string, limit int) []string {
	type hit struct {
		word     string
		distance int
	}
	fold := func(s string) string { return strings.ToUpper(strings.Join(strings.Fields(s), " ")) }
	bare := func(s string) string { return strings.NewReplacer(" ", "", "-", "").Replace(fold(s)) }
	most := max(2, len([]rune(word))/3)
	var hits []hit
	seen := map[string]bool{}
	for _, k := range known {
		if k == "" || seen[k] {
			continue
		}
		seen[k] = true
		d := edlib.OSADamerauLevenshteinDistance(fold(word), fold(k))
		if bare(word) == bare(k) {
			d = 0 // only case, spaces or hyphens differ
		}
		if d <= most && d < max(len([]rune(k)), len([]rune(word))) {
			hits = append(hits, hit{k, d})
		}
	}
	slices.SortStableFunc(hits, func(a, b hit) int {
		return cmp.Or(cmp.Compare(a.distance, b.distance), cmp.Compare(a.word, b.word))
	})
	var words []string
	for _, h := range hits[:min(limit, len(hits))] {
		words = append(words, h.word)
	}
	return words
}

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
	for _, s := range swappedDigits(f) {
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

// swappedDigits are the frequencies that differ from f by one swapped pair of
// neighbouring digits, as the frequency is written with its decimals.
func swappedDigits(f radio.Hertz) []radio.Hertz {
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
