// Package sheet reads a radio communications plan sheet (form ICS 205, block 4)
// that somebody has saved as CSV, drafts a plan from it, and writes the list of
// a plan as such a sheet. Start with [Read], then [Sheet.Draft]; the other way
// is [Write].
//
// What a person must decide stays open in a draft: it is written so that the
// checks point at just that place, with what there is to choose from beside it.
// Nothing is guessed in silence.
package sheet

import (
	"strings"
	"unicode"
)

// Sheet is a plan sheet as it was read: text, not yet looked up.
type Sheet struct {
	Heads []Head // what stands above and below the table, in order
	Rows  []Row  // of the table, without empty ones
}

// Head is something that stands outside of the table: what it is, and the cells
// behind its title that are not empty.
type Head struct {
	Line   int // of the file, from 1
	Is     Title
	Values []string
}

// Row is a line of the table: the text of its cells, without space at the ends,
// line breaks as spaces.
type Row struct {
	Line           int // of the file, from 1
	Zone, Channel  string
	Function, Name string
	Assignment     string
	Rx, RxWidth    string
	RxTone         string
	Tx, TxWidth    string
	TxTone         string
	Mode, Remarks  string
	System         string
}

// MaxRows bounds what is taken for a plan sheet. Our choice: a radio's list
// holds a few dozen channels.
const MaxRows = 500

// column is one of the table. Titles are those of form ICS 205, block 4
// (ics_forms.csv, secondary), matched without case, spaces and punctuation.
type column uint8

const (
	none column = iota
	zone
	number
	function
	name
	assignment
	rx
	rxWidth
	rxTone
	tx
	txWidth
	txTone
	mode
	remarks
	system
	width // N or W; of which frequency its place says
)

// titles are the columns' titles on the form, in its order, as [Write] sets
// them.
var titles = []string{
	"Zone Grp.", "Ch #", "Function", "Channel Name/Trunked Radio System Talkgroup", "Assignment",
	"RX Freq N or W", "RX Tone/NAC", "TX Freq N or W", "TX Tone/NAC", "Mode (A, D, or M)", "Remarks",
}

// Titles are the titles of block 4, in the order of the form.
func Titles() []string { return append([]string(nil), titles...) }

var titlePatterns = []struct {
	column  column
	pattern pattern
}{
	{rxWidth, compiled(`^(rx|receive|rcv)(norw|nw|width|bandwidth)$`)},
	{txWidth, compiled(`^(tx|transmit|xmit)(norw|nw|width|bandwidth)$`)},
	{width, compiled(`^(norw|nw|width|bandwidth)$`)},
	{rxTone, compiled(`^(rx|receive|rcv).*(tone|nac|squelch|ctcss|code)`)},
	{txTone, compiled(`^(tx|transmit|xmit).*(tone|nac|squelch|ctcss|code)`)},
	{rx, compiled(`^(rx|receive|rcv)(freq.*|mhz)?$`)},
	{tx, compiled(`^(tx|transmit|xmit)(freq.*|mhz)?$`)},
	{zone, compiled(`^(zone.*|gr(ou)?p(no|number)?)$`)},
	{number, compiled(`^ch(an(nel)?)?(no|nr|num(ber)?)?$`)},
	{name, compiled(`^(channelname.*|name.*|talkgroup.*|displayname|channel/.*|chname)$`)},
	{function, compiled(`^(function|use|netfunction)$`)},
	{assignment, compiled(`^(assignment|assignedto|division(s|group)?)$`)},
	{mode, compiled(`^mode.*`)},
	{system, compiled(`^(trunked)?(radio)?system.*`)},
	{remarks, compiled(`^(remarks?|comments?|notes?)$`)},
}

// columnOf is the column that a cell is the title of.
func columnOf(cell string) column {
	plain := strings.Map(func(r rune) rune {
		if unicode.IsLetter(r) || unicode.IsDigit(r) {
			return unicode.ToLower(r)
		}
		return -1
	}, cell)
	if plain == "" || len(plain) > 60 {
		return none
	}
	for _, t := range titlePatterns {
		if t.pattern().MatchString(plain) {
			return t.column
		}
	}
	return none
}
