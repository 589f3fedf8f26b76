package words

import (
	"strconv"
	"strings"
	"unicode"

	"slotcard/plan"
	"slotcard/plan/radio"
	"slotcard/plan/slotlist"
)

// StripWords are the fixed words of the strips that change a card in the hand, and
// of the page that is read on the radio with them. %name% stands for what is
// filled in.
type StripWords struct {
	WallWords

	Title             string // of the page
	Now, Stays, Clear string // behind a slot, on a strip
	Unheard           string // of a slot that the holder neither talks on nor scans any more
	PartOf            string // %i% %n%: one of several strips for a card
	SetOn             string // how strips are set on
	Read              string // heading of the sentence

	SaidExercise       string // first, where it is one
	SaidFor            string // %list%: one of several lists
	SaidNow, SaidStays string // %slot% %name% %lead%
	SaidClear          string // %slot%
	SaidCode           string // %code%
	SaidAcknowledge    string

	Acknowledge             string // heading: who
	OneStrip, ManyStrips    string // %n%
	Whole                   string // heading: a full card in place of a strip
	Collect                 string // heading: cards to take back
	NewSeat, Moved, TooMuch string // why
	Beside                  string
}

// EnglishStrips are the English words of the strips.
var EnglishStrips = StripWords{
	WallWords: EnglishWall,

	Title: "Change on the radio",
	Now:   "NOW", Stays: "STAYS", Clear: "CLEAR",
	Unheard: "no talk, no scan",
	PartOf:  "strip %i% of %n%",
	SetOn: "Staple or tape the upper edge of each strip over the foot of its card: no slot may be covered, but the old code must be. " +
		"Rebuild the slot, read back the new code.",
	Read:         "Read on the radio",
	SaidExercise: "Exercise, exercise.",
	SaidFor:      "List of %list%:",
	SaidNow:      "Slot %slot% is now %name%.", SaidStays: "Slot %slot% stays %name%, now for %lead%.",
	SaidClear:       "Clear slot %slot%.",
	SaidCode:        "Code %code%.",
	SaidAcknowledge: "Acknowledge by unit.",
	Acknowledge:     "Must acknowledge", OneStrip: "1 strip", ManyStrips: "%n% strips",
	Whole:   "A full card, no strip",
	Collect: "Take the cards back",
	NewSeat: "has no card yet", Moved: "works in another division",
	TooMuch: "the list is another one in most slots", Beside: "a channel beside the list is another one",
}

// aloud is a display name as it is said: a group of letters that has a vowel is a
// word, any other is letters, figures one by one. A single V or U before such a word,
// as in names of published channels, is a letter (common practice).
func (w *CardWords) aloud(name string) string {
	var said []string
	runes := []rune(name)
	for i := 0; i < len(runes); {
		j := i
		for j < len(runes) && unicode.IsLetter(runes[j]) {
			j++
		}
		switch {
		case j > i:
			said = append(said, aloudLetters(string(runes[i:j]))...)
			i = j
		case runes[i] >= '0' && runes[i] <= '9':
			said = append(said, w.Digits[runes[i]-'0'])
			i++
		default:
			i++
		}
	}
	return strings.Join(said, " ")
}

func aloudLetters(group string) []string {
	const vowels = "AEIOUYÀÁÉÈÍÓÚÜ"
	upper := strings.ToUpper(group)
	runes := []rune(upper)
	word := func(s string) bool { return len([]rune(s)) >= 3 && strings.ContainsAny(s, vowels) }
	switch {
	case len(runes) > 3 && (runes[0] == 'V' || runes[0] == 'U') && !strings.ContainsRune(vowels, runes[1]) && word(string(runes[1:])):
		return []string{string(runes[:1]), strings.ToLower(string(runes[1:]))}
	case word(upper):
		return []string{strings.ToLower(upper)}
	}
	out := make([]string, len(runes))
	for i, r := range runes {
		out[i] = string(r)
	}
	return out
}

// figures is a number as it is said, figure by figure.
func (w *CardWords) figures(n int) string { return w.aloud(strconv.Itoa(n)) }

// saidUse is what a slot is for, as it is said.
func (w *StripWords) saidUse(s *plan.ResolvedSlot) string {
	var said []string
	if len(s.Users) == 0 || s.Use != radio.Tactical {
		said = append(said, strings.ToLower(w.Uses[s.Use]))
	}
	for _, d := range s.Users {
		kind := w.Division
		if d.Functional {
			kind = w.Group
		}
		said = append(said, strings.ToLower(kind)+" "+w.spelledID(d.ID))
	}
	return strings.Join(said, ", ")
}

// spelledID is the id of a division by the spelling alphabet.
func (w *StripWords) spelledID(id string) string {
	plain := strings.Map(func(r rune) rune {
		if r >= '0' && r <= '9' || r >= 'A' && r <= 'Z' {
			return r
		}
		return -1
	}, strings.ToUpper(id))
	if plain == "" {
		return id
	}
	return w.Spelled(slotlist.Code(plain))
}

// SayNow, SayStays and SayClear are what is said of a slot.
func (w *StripWords) SayNow(n int, s *plan.ResolvedSlot) string {
	return Filled(w.SaidNow, "slot", w.figures(n), "name", w.aloud(s.Channel.Name))
}

func (w *StripWords) SayStays(n int, s *plan.ResolvedSlot) string {
	return Filled(w.SaidStays, "slot", w.figures(n), "name", w.aloud(s.Channel.Name), "lead", w.saidUse(s))
}

func (w *StripWords) SayClear(n int) string { return Filled(w.SaidClear, "slot", w.figures(n)) }

// SayCode is a read-back code in the sentence.
func (w *StripWords) SayCode(c slotlist.Code) string { return Filled(w.SaidCode, "code", w.Spelled(c)) }
