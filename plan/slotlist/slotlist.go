// Package slotlist writes and reads an ordered slot list as text, and computes
// the four-character read-back code over it. Start with [List.Encode] and
// [Parse]. The formats are fixed: the grammar is version 1, see README.md.
package slotlist

import (
	"time"

	"slotcard/plan/radio"
)

// Line is one slot of a list: what is programmed, and who uses it.
type Line struct {
	Name              string // display name: printable ASCII, no space at either end, no two in a row
	Use               radio.Use
	Divisions         []string    // ids, in plan order
	Rx, Tx            radio.Hertz // both zero for a talkgroup
	RxTone, TxTone    radio.Squelch
	Mode              radio.Mode
	Width             radio.Width
	System, Talkgroup string // of a talkgroup; empty otherwise
}

// List is a slot list with the head that says what it is for.
type List struct {
	Incident string
	Period   int
	From, To time.Time // the period in the plan's local time
	Edition  string    // of the load
	Lines    []Line
}

// Code is a read-back code: four digits of Crockford's base 32, without space.
type Code string
