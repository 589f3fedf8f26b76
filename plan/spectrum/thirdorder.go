package spectrum

import (
	"cmp"
	"slices"

	"slotcard/plan/radio"
)

// Channel is what the arithmetic of a list needs of a slot. Rx is zero where
// nothing is received, Tx where nothing is transmitted.
type Channel struct {
	Rx, Tx radio.Hertz
	Mode   radio.Mode
	Width  radio.Width
	Use    radio.Use // guard and command are the victims that matter most
}

// Receive and Transmit are the signals on the channel's two frequencies.
func (c Channel) Receive() Signal  { return Signal{c.Rx, Bandwidth(c.Mode, c.Width)} }
func (c Channel) Transmit() Signal { return Signal{c.Tx, Bandwidth(c.Mode, c.Width)} }

// Hit is a third-order product that falls into a channel of the list: numbers
// are indices into it.
type Hit struct {
	Victim       int
	Transmitters []int       // 2f1 - f2: f1, f2; f1 + f2 - f3: f1, f2, f3
	Product      radio.Hertz // where the product falls
	Off          radio.Hertz // from the victim's receive frequency, signed
}

// Signals is 2 or 3. The products of three signals are 6 dB stronger, but three
// have to transmit at once (H. Hausman in a trade journal, secondary).
func (h Hit) Signals() int { return len(h.Transmitters) }

// twoSignal and threeSignal are the frequencies of third-order products.
func twoSignal(f1, f2 radio.Hertz) radio.Hertz       { return 2*f1 - f2 }
func threeSignal(f1, f2, f3 radio.Hertz) radio.Hertz { return f1 + f2 - f3 }

// ThirdOrder finds the third-order products of the transmit frequencies that
// fall within half a channel of a receive frequency. A channel that takes part
// in the product is not its victim: somebody transmits there anyway. Channels
// that transmit on one frequency count once.
//
// Two-signal products come first, then guard and command as victims, then what
// falls nearest; the order is the same each time. Time grows with the third
// power of the number of channels.
func ThirdOrder(list []Channel) []Hit { return sorted(list, thirdOrder(list, -1)) }

// Products are those of [ThirdOrder] in no order that means anything, for who counts
// them: sorting takes most of the time where there are many.
func Products(list []Channel) []Hit { return thirdOrder(list, -1) }

// ThirdOrderOf are those of [ThirdOrder] in which channel at takes part, as a
// transmitter or as the victim.
func ThirdOrderOf(list []Channel, at int) []Hit { return sorted(list, thirdOrder(list, at)) }

// sorted puts hits in their order.
func sorted(list []Channel, hits []Hit) []Hit {
	slices.SortStableFunc(hits, func(a, b Hit) int {
		return cmp.Or(
			cmp.Compare(a.Signals(), b.Signals()),
			cmp.Compare(rank(list[a.Victim].Use), rank(list[b.Victim].Use)),
			cmp.Compare(Apart(a.Off, 0), Apart(b.Off, 0)),
			cmp.Compare(a.Victim, b.Victim),
			slices.Compare(a.Transmitters, b.Transmitters),
		)
	})
	return hits
}

// thirdOrder finds the products in which a channel takes part; all, if it is -1.
func thirdOrder(list []Channel, only int) []Hit {
	var tx []int
	seen := map[radio.Hertz]bool{}
	for i, c := range list {
		if c.Tx > 0 && !seen[c.Tx] {
			seen[c.Tx] = true
			tx = append(tx, i)
		}
	}
	m := mixer{list: list, only: only}
	for i, c := range list {
		if c.Rx > 0 {
			m.victims = append(m.victims, i)
		}
	}
	slices.SortStableFunc(m.victims, func(a, b int) int { return cmp.Compare(list[a].Rx, list[b].Rx) })
	for n, a := range tx {
		for k, b := range tx {
			if a == b {
				continue
			}
			m.add(twoSignal(list[a].Tx, list[b].Tx), a, b)
			if k < n {
				continue // f1 and f2 of three signals may be swapped
			}
			for _, c := range tx {
				if c != a && c != b {
					m.add(threeSignal(list[a].Tx, list[b].Tx, list[c].Tx), a, b, c)
				}
			}
		}
	}
	return m.hits
}

// rank orders victims: guard, command, the rest.
func rank(u radio.Use) int {
	switch u {
	case radio.Guard:
		return 0
	case radio.Command:
		return 1
	}
	return 2
}

// mixer collects the hits of a list.
type mixer struct {
	list    []Channel
	victims []int // in order of their receive frequency
	only    int   // the channel that must take part, or -1
	hits    []Hit
}

// add appends the channels of the list into which a product falls.
func (m *mixer) add(product radio.Hertz, transmitters ...int) {
	widest := spacing(radio.Wide) / 2
	others := m.only >= 0 && !slices.Contains(transmitters, m.only)
	if others && Apart(product, m.list[m.only].Rx) > widest {
		return
	}
	first, _ := slices.BinarySearchFunc(m.victims, product-widest, func(i int, low radio.Hertz) int { return cmp.Compare(m.list[i].Rx, low) })
	for _, i := range m.victims[first:] {
		c := m.list[i]
		off := product - c.Rx
		if off < -widest {
			return
		}
		if Apart(off, 0) > spacing(c.Width)/2 || others && i != m.only {
			continue
		}
		takesPart := false
		for _, t := range transmitters {
			takesPart = takesPart || t == i || m.list[t].Tx == c.Tx
		}
		if !takesPart {
			m.hits = append(m.hits, Hit{i, slices.Clone(transmitters), product, off})
		}
	}
}
