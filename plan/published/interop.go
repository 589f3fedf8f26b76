package published

import (
	"slices"
	"strings"
	"sync"

	"slotcard/plan/radio"
)

// Channel is a national interoperability channel, as a mobile radio has it.
type Channel struct {
	Name   string
	Rx, Tx radio.Hertz

	// RxTones and TxTones are the squelch values that agree with a source; a
	// receiver may well be left without tone. Nil where sources say nothing.
	RxTones, TxTones []radio.Squelch

	// RxUnsure and TxUnsure tell that sources disagree which of the values it is:
	// all of them are listed, and any other is wrong.
	RxUnsure, TxUnsure bool

	Mode   radio.Mode // digital where its tones are network access codes
	Direct bool       // nobody repeats it
	Origin
}

// Tables are read when something asks for them: most commands ask for none.
var interop = sync.OnceValues(func() (all []Channel, byName map[string]Channel) {
	byName = map[string]Channel{}
	for _, row := range rows("interop.csv") {
		c := Channel{
			Name: row["name"], Rx: mhz(row["rx_mhz"]), Tx: mhz(row["tx_mhz"]),
			RxTones: squelches(row["rx_tones"]), TxTones: squelches(row["tx_tones"]),
			RxUnsure: strings.HasPrefix(row["rx_tones"], "?"), TxUnsure: strings.HasPrefix(row["tx_tones"], "?"),
			Direct: row["kind"] == "direct", Origin: origin(row),
		}
		if slices.ContainsFunc(c.TxTones, func(q radio.Squelch) bool { return q.Kind == radio.NAC }) {
			c.Mode = radio.Digital
		}
		all = append(all, c)
	}
	for _, c := range all {
		byName[bareName(c.Name)] = c
	}
	// A repeated channel with D behind its name is direct on the receive
	// frequency (ANS 1.104, from memory); what tones it has the table does not say.
	for _, c := range slices.Clone(all) {
		name := bareName(c.Name) + "D"
		if _, printed := byName[name]; c.Direct || printed {
			continue
		}
		d := Channel{Name: c.Name + "D", Rx: c.Rx, Tx: c.Rx, Mode: c.Mode, Direct: true, Origin: c.Origin}
		byName[name] = d
		all = append(all, d)
	}
	return all, byName
})

func interopChannels() []Channel {
	all, _ := interop()
	return all
}

// bareName is a name without spaces and hyphens and in capitals: IR 1 is IR1, and
// VFIRE-23 is VFIRE23.
func bareName(s string) string {
	return strings.ToUpper(strings.ReplaceAll(strings.Join(strings.Fields(s), ""), "-", ""))
}

// Interop is the national interoperability channel of a name; spaces, hyphens and case are
// ignored. A repeated channel's name with D behind it is understood as direct on its
// receive frequency.
func Interop(name string) (Channel, bool) {
	_, byName := interop()
	c, ok := byName[bareName(name)]
	return c, ok
}

// InteropByFrequency are the national interoperability channels with just these
// two frequencies.
func InteropByFrequency(rx, tx radio.Hertz) []Channel {
	var found []Channel
	for _, c := range interopChannels() {
		if c.Rx == rx && c.Tx == tx {
			found = append(found, c)
		}
	}
	return found
}
