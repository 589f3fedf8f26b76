// Package slotlist writes and reads an ordered slot list as text, and computes
// the four-character read-back code over it. Start with [List.Encode] and
// [Parse]. The formats are fixed: the grammar is version 1, see README.md.
package slotlist

import (
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/cases"
	"golang.org/x/text/language"
	"golang.org/x/text/unicode/norm"

	"slotcard/plan/radio"
)

// Line is one slot of a list: what is programmed, and who uses it.
type Line struct {
	Name              string // display name: printable ASCII, no space at an end, no two in a row
	Use               radio.Use
	Divisions         []string    // ids, in plan order: printable ASCII without space and comma
	Rx, Tx            radio.Hertz // both zero for a talkgroup
	RxTone, TxTone    radio.Squelch
	Mode              radio.Mode
	Width             radio.Width
	System, Talkgroup string // of a talkgroup: see [ValidTalkgroup]; empty otherwise
}

// List is a slot list with the head that says what it is for.
type List struct {
	Incident string
	Exercise bool // of an exercise: nobody may take the list for a real one
	Period   int
	Revision int       // of the plan within the period, from 2; 0: the first
	From, To time.Time // the period in the plan's local time
	Edition  string    // of the load
	Lines    []Line
}

// Trunked tells whether the line is a talkgroup.
func (l Line) Trunked() bool { return l.System != "" || l.Talkgroup != "" }

// talkgroup is system/talkgroup in the form of the list text. The canonical
// text uses the same form, because a reader of the list text, who cannot tell a
// space from an underscore, has to arrive at the same code.
func (l Line) talkgroup() string { return word(l.System) + "/" + word(l.Talkgroup) }

// plain is s in printable ASCII: in full capitals (the SpecialCasing of Unicode:
// ß is SS) where capitals are wanted, decomposed by NFKD, combining marks
// dropped, whatever is then not printable ASCII as "?".
func plain(s string, capitals bool) string {
	if capitals && !isASCII(s) {
		s = cases.Upper(language.Und).String(strings.ReplaceAll(s, "\u1e9e", "\u00df")) // capital sharp s: SS as well
	}
	var b strings.Builder
	for _, r := range norm.NFKD.String(s) {
		if unicode.Is(unicode.M, r) {
			continue
		}
		if capitals {
			r = unicode.ToUpper(r)
		}
		if r < ' ' || r > '~' {
			r = '?'
		}
		b.WriteRune(r)
	}
	return b.String()
}

func isASCII(s string) bool {
	for i := range len(s) {
		if s[i] >= utf8.RuneSelf {
			return false
		}
	}
	return true
}

// head is a text of the two head lines: single spaces and none at the ends, so
// that it reads back as it was; never empty.
func head(s string, capitals bool) string {
	if s = strings.Join(strings.Fields(plain(s, capitals)), " "); s == "" {
		return "?"
	}
	return s
}

func word(s string) string { return strings.ReplaceAll(plain(s, false), " ", "_") }
