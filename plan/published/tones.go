package published

import (
	"strings"
	"sync"

	"slotcard/plan/radio"
)

// Tone is a CTCSS tone of at least one of six published sets.
type Tone struct {
	Squelch radio.Squelch
	Sets    []string // such as classic_38, extended_50
	Origin
}

var tones = sync.OnceValue(func() (all []Tone) {
	for _, row := range rows("ctcss.csv") {
		all = append(all, Tone{squelch(row["hz"]), strings.Fields(row["sets"]), origin(row)})
	}
	return all
})

// CTCSS tells whether a tone stands in a published set, and which published
// tone is nearest: the tone itself if it is known, of two equally near ones the
// lower.
func CTCSS(tone radio.Squelch) (known bool, nearest radio.Squelch) {
	off := func(t Tone) int { return max(t.Squelch.Value-tone.Value, tone.Value-t.Squelch.Value) }
	all := tones()
	best := all[0]
	for _, t := range all {
		if off(t) < off(best) {
			best = t
		}
	}
	return off(best) == 0, best.Squelch
}

// NetworkCode is a network access code with a meaning of its own.
type NetworkCode struct {
	Name    string // receive-any or repeater-any
	Meaning string
	Origin
}

var networkCodes = sync.OnceValue(func() map[int]NetworkCode {
	all := map[int]NetworkCode{}
	for _, row := range rows("nac.csv") {
		all[squelch("N"+row["nac"]).Value] = NetworkCode{row["name"], row["meaning"], origin(row)}
	}
	return all
})

// ReservedNAC tells whether a network access code is one that opens receivers
// or repeaters to any code: such a one is never for transmit. No other reserved
// code is known from a text that could be read.
func ReservedNAC(nac int) (NetworkCode, bool) {
	code, ok := networkCodes()[nac]
	return code, ok
}
