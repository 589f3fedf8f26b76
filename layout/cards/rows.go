package cards

import (
	"slices"
	"strconv"
	"strings"

	"slotcard/layout/set"
	"slotcard/layout/words"
	"slotcard/plan"
	"slotcard/plan/radio"
)

// row is a slot of the list in words.
type row struct {
	line         int // of the plan's file
	number, name string
	marks        []*set.Mark // before the lead: the way it takes, guard
	lead         string      // use or division
	rests        restWords   // what may follow the lead
	place        string      // group and channel number in the load
	marked       []plan.Mark // what cards of the list do with it, each once
	changed      bool        // some card must be told that it has changed
}

// restWords are the parts of what follows the lead of a row.
type restWords struct {
	division, short string // name of the division, and what stands before its comma
	guard           string
	opens, least    string // what opens the repeater: with its site, and what must be said
	brief           string // that in the short words
}

// wording is what rows leave out for room: all of them or none, so that what one of
// them lacks is not taken for something that it is not.
type wording struct {
	division uint8 // the name of the division is whole, or short, or left out
	site     bool  // the repeater's site is left out
	guard    bool  // that guard is for emergencies is left out
	short    bool  // words that have a short form stand in it, and priority too
}

const (
	wholeName uint8 = iota
	shortName
	noName
)

// wordings, the fullest first.
var wordings = []wording{
	{}, {division: shortName}, {site: true}, {division: shortName, site: true},
	{site: true, short: true}, {division: shortName, site: true, short: true},
	{division: noName}, {division: noName, site: true}, {division: noName, site: true, short: true},
	{division: noName, site: true, guard: true}, {division: noName, site: true, guard: true, short: true},
}

// in is what follows the lead; own: without the name of the division, which stands
// in the head.
func (r restWords) in(w wording, own bool) string {
	said := [...]string{r.division, r.short, ""}[w.division]
	if own {
		said = ""
	}
	if !w.guard {
		said = words.Joined(said, r.guard)
	}
	switch {
	case w.short:
		return words.Joined(said, r.brief)
	case w.site:
		return words.Joined(said, r.least)
	}
	return words.Joined(said, r.opens)
}

// Omission is a kind of words that the cards of a deck lack for room.
type Omission string

// The kinds of words that cards may lack.
const (
	DivisionNames Omission = "names of divisions"
	LongNames     Omission = "what follows a comma in names of divisions"
	Sites         Omission = "sites of repeaters"
	GuardWords    Omission = "what guard is for"
	FirstChecks   Omission = "how to find the last slot"
	Instructions  Omission = "special instructions"
	// SomeInstructions is where the cards of some lists have room for them, others not.
	SomeInstructions Omission = "special instructions on some cards"
)

// omitted are the kinds of words that rows lack in a wording.
func omitted(rows []row, w wording) (kinds []Omission) {
	has := func(lacks func(restWords) bool) bool {
		for _, r := range rows {
			if lacks(r.rests) {
				return true
			}
		}
		return false
	}
	add := func(kind Omission, out bool, lacks func(restWords) bool) {
		if out && has(lacks) {
			kinds = append(kinds, kind)
		}
	}
	add(LongNames, w.division == shortName, func(r restWords) bool { return r.short != r.division })
	add(DivisionNames, w.division == noName, func(r restWords) bool { return r.division != "" })
	add(Sites, w.site, func(r restWords) bool { return r.opens != r.least })
	add(GuardWords, w.guard, func(r restWords) bool { return r.guard != "" })
	return kinds
}

// rowsOf puts the slots of a list into words.
func rowsOf(w *words.CardWords, l *plan.List, cards []*plan.Card, changes map[*plan.Card]Change) []row {
	rows, short := make([]row, len(l.Slots)), w.Short()
	for i, s := range l.Slots {
		r := row{
			line:   s.At("").Line,
			number: strconv.Itoa(i + 1),
			name:   s.Channel.Name,
			lead:   w.Lead(s),
			place:  l.Place(i).Place(),
		}
		switch {
		case s.Use == radio.Guard:
			r.rests.guard = w.GuardRest
		case len(s.Users) == 1:
			r.rests.division = w.DivisionName(s.Users[0])
			r.rests.short, _, _ = strings.Cut(r.rests.division, ",")
		}
		switch {
		case s.Channel.Trunked():
			r.rests.opens, r.rests.least, r.rests.brief = w.Talkgroup, w.Talkgroup, w.Talkgroup
		case s.Repeated():
			r.marks = append(r.marks, set.MarkRepeated)
			openers := w.Openers(s.Repeater, s.ToneNumber, s.TxTone)
			brief := short.Openers(s.Repeater, s.ToneNumber, s.TxTone)
			r.rests.opens, r.rests.least, r.rests.brief = openers[0], openers[len(openers)-1], brief[len(brief)-1]
		default:
			r.marks = append(r.marks, set.MarkDirect)
		}
		if s.Use == radio.Guard {
			r.marks = append(r.marks, set.MarkGuard)
		}
		for _, c := range cards {
			if !slices.Contains(r.marked, c.Marks[i]) {
				r.marked = append(r.marked, c.Marks[i])
			}
			r.changed = r.changed || changes[c].has(i)
		}
		rows[i] = r
	}
	return rows
}
