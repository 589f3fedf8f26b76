package plan

import (
	"fmt"

	"slotcard/plan/radio"
)

// Place is where the channel stands in its load, by group and channel number, as
// paper and terminal show it: 2-05. It is "" for a channel outside of a group.
func (c *Channel) Place() string {
	if c.Group == nil {
		return ""
	}
	return PlaceOf(c.Group.Number, c.Number)
}

// PlaceOf is the place of a group's number and a channel's in it.
func PlaceOf(group, number int) string { return fmt.Sprintf("%d-%02d", group, number) }

// Figures are what is programmed for a channel, in figures; a talkgroup has none.
type Figures struct {
	Rx, Tx         string // MHz
	RxTone, TxTone string // "-" without one
	Direct         bool   // receive and transmit are the same
}

// Figures of the channel with a transmit tone: its own, or that of the site that
// repeats it.
func (c *Channel) Figures(txTone radio.Squelch) Figures {
	if c.Trunked() {
		return Figures{}
	}
	return FiguresOf(c.Rx, c.Tx, c.RxTone, txTone)
}

// FiguresOf are those of what is programmed, wherever it was read.
func FiguresOf(rx, tx radio.Hertz, rxTone, txTone radio.Squelch) Figures {
	return Figures{rx.String(), tx.String(), rxTone.String(), txTone.String(), rx == tx}
}

// Frequencies are both, receive first, or the one where they are the same.
func (f Figures) Frequencies() string {
	if f.Direct {
		return f.Rx
	}
	return f.Rx + "/" + f.Tx
}

// Tones are both tones, receive first.
func (f Figures) Tones() string { return f.RxTone + "/" + f.TxTone }
