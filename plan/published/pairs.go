package published

import (
	"strconv"
	"sync"

	"slotcard/plan/radio"
)

// Clear is a stretch of the band, both ends included, on which ground crews never
// transmit.
type Clear struct {
	Low, High radio.Hertz
	For       string // what it is kept clear for
	Origin
}

var clears = sync.OnceValue(func() (all []Clear) {
	for _, row := range rows("clear.csv") {
		all = append(all, Clear{mhz(row["low_mhz"]), mhz(row["high_mhz"]), row["for"], origin(row)})
	}
	return all
})

// KeptClear tells whether a frequency is kept clear of all but distress calls or
// broadcasts, and for what.
func KeptClear(f radio.Hertz) (Clear, bool) {
	for _, c := range clears() {
		if c.Low <= f && f <= c.High {
			return c, true
		}
	}
	return Clear{}, false
}

// Pairing is a stretch of the band in which repeaters transmit, and where, so far
// above, they listen: below it where Offset is negative.
type Pairing struct {
	Low, High radio.Hertz
	Offset    radio.Hertz
	Origin
}

var pairings = sync.OnceValue(func() (all []Pairing) {
	for _, row := range rows("pairs.csv") {
		offset, err := strconv.ParseInt(row["offset_hz"], 10, 64)
		if err != nil {
			panic(err)
		}
		all = append(all, Pairing{mhz(row["low_mhz"]), mhz(row["high_mhz"]), radio.Hertz(offset), origin(row)})
	}
	return all
})

// PairReversed tells whether a radio with these two frequencies listens where the
// band plan has the repeater listen, and transmits where it transmits, just one
// offset apart; and where the plan says so.
func PairReversed(rx, tx radio.Hertz) (Pairing, bool) {
	for _, p := range pairings() {
		if p.Low <= tx && tx <= p.High && rx == tx+p.Offset {
			return p, true
		}
	}
	return Pairing{}, false
}
