package spectrum

import "slotcard/plan/radio"

// Clash is how much of the band two channels share: where they are received, or,
// where both are repeated, where the repeaters listen; 0 if they keep clear of
// each other.
func Clash(a, b Channel) radio.Hertz {
	shared := overlap(a.Receive(), b.Receive())
	if a.repeated() && b.repeated() {
		shared = max(shared, overlap(a.Transmit(), b.Transmit()))
	}
	return shared
}

func (c Channel) repeated() bool { return c.Rx != c.Tx }

// HearsInput tells that b receives what a sends to its repeater. Who talks on b,
// if b is direct, goes into that repeater.
func HearsInput(a, b Channel) bool {
	return a.repeated() && overlap(a.Transmit(), b.Receive()) > 0
}

// DesenseWidth is how near a transmitter beside a receiver deafens it, whatever
// the receiver's selectivity: common practice, without a source.
const DesenseWidth radio.Hertz = 500_000

// Desense is how far, at the nearest, the transmitter of one channel is from the
// receiver of the other, and whether that is within [DesenseWidth].
func Desense(a, b Channel) (apart radio.Hertz, deaf bool) {
	apart = DesenseWidth + 1
	for _, pair := range [][2]radio.Hertz{{a.Tx, b.Rx}, {b.Tx, a.Rx}} {
		if pair[0] > 0 && pair[1] > 0 {
			apart = min(apart, Apart(pair[0], pair[1]))
		}
	}
	return apart, apart <= DesenseWidth
}
