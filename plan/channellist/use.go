package channellist

import (
	"slices"
	"strings"
	"unicode"

	"slotcard/plan/published"
	"slotcard/plan/radio"
)

// useWords are the words that names, remarks and columns tell a use by. Command,
// tactical, ground-to-air, support and dispatch: instructions of form ICS 205
// (from memory); the others common practice.
var useWords = map[string]radio.Use{
	"command": radio.Command, "cmd": radio.Command, "cmnd": radio.Command, "comd": radio.Command,
	"tactical": radio.Tactical, "tac": radio.Tactical, "tact": radio.Tactical, "tacs": radio.Tactical, "tacticals": radio.Tactical,
	"fireground": radio.Tactical, "fg": radio.Tactical,
	"ag": radio.AirToGround, "a2g": radio.AirToGround, "g2a": radio.AirToGround, "airtoground": radio.AirToGround, "groundtoair": radio.AirToGround, "airground": radio.AirToGround,
	"guard": radio.Guard, "airguard": radio.Guard,
	"support": radio.Support, "dispatch": radio.Support, "disp": radio.Support, "logistics": radio.Support,
	"weather": radio.Support, "wx": radio.Support, "noaa": radio.Support, "admin": radio.Support, "administration": radio.Support, "camp": radio.Support,
	"travel": radio.Travel, "trav": radio.Travel, "trvl": radio.Travel, "convoy": radio.Travel,
	"medical": radio.Medical, "med": radio.Medical, "ems": radio.Medical, "medevac": radio.Medical, "ambulance": radio.Medical, "hospital": radio.Medical, "hosp": radio.Medical,
	"medic": radio.Medical, "medics": radio.Medical,
}

type usePhrase struct {
	text string
	use  radio.Use
}

// joined are pairs of words that mean one thing.
var joined = []usePhrase{
	{"air to ground", radio.AirToGround}, {"ground to air", radio.AirToGround}, {"air ground", radio.AirToGround}, {"a g", radio.AirToGround},
	{"air 2 ground", radio.AirToGround}, {"air gnd", radio.AirToGround}, {"air to gnd", radio.AirToGround},
	{"air guard", radio.Guard}, {"fire ground", radio.Tactical},
}

// usesIn are the uses that a text names, each once, in its order.
func usesIn(text string) []radio.Use {
	words := strings.FieldsFunc(strings.ToLower(text), func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsDigit(r) })
	line := " " + strings.Join(words, " ") + " "
	var found []radio.Use
	add := func(u radio.Use) {
		if !slices.Contains(found, u) {
			found = append(found, u)
		}
	}
	for _, j := range joined {
		if strings.Contains(line, " "+j.text+" ") {
			add(j.use)
			line = strings.Replace(line, " "+j.text+" ", " ", 1)
		}
	}
	for _, w := range strings.Fields(line) {
		if u, ok := useWords[w]; ok {
			add(u)
			continue
		}
		if u, ok := useWords[strings.TrimRight(w, "0123456789")]; ok {
			add(u) // TAC2
		}
	}
	return found
}

// useOfWord reads a cell of a column of uses: just one use, in words or codes.
func useOfWord(text string) (radio.Use, bool) {
	s := strings.TrimSpace(text)
	if u, ok := radio.ParseUse(strings.ToLower(s)); ok {
		return u, true
	}
	if u, ok := radio.ParseUseCode(strings.ToUpper(s)); ok {
		return u, true
	}
	found := usesIn(s)
	if len(found) == 1 && len(s) <= 32 {
		return found[0], true
	}
	return 0, false
}

// onlyUse tells whether a text is a use and nothing else: no number, no name.
func onlyUse(text string) bool {
	words := strings.FieldsFunc(strings.ToLower(text), func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsDigit(r) })
	if _, ok := radio.ParseUseCode(strings.ToUpper(strings.TrimSpace(text))); ok {
		return true
	}
	return len(words) == 1 && useWords[words[0]] != 0 || len(words) > 1 && slices.ContainsFunc(joined, func(j usePhrase) bool { return j.text == strings.Join(words, " ") })
}

// nameWords tell a use in display names only: in a sentence they mean other
// things, too.
var nameWords = map[string]radio.Use{"sup": radio.Support, "supp": radio.Support, "log": radio.Support, "logs": radio.Support, "shop": radio.Support}

// useOfName tells a use from a display name: by its words, or because it is a
// national channel whose name tells it (VFIRE21, VMED28).
func useOfName(name string) (radio.Use, bool) {
	if found := usesIn(name); len(found) == 1 {
		return found[0], true
	}
	for _, w := range strings.FieldsFunc(strings.ToLower(name), func(r rune) bool { return !unicode.IsLetter(r) }) {
		if u := nameWords[w]; u != 0 {
			return u, true
		}
	}
	if _, ok := published.Interop(name); ok {
		bare := strings.ToUpper(strings.Join(strings.Fields(name), ""))
		for _, p := range []struct {
			word string
			use  radio.Use
		}{{"AIRGUARD", radio.Guard}, {"FIRE", radio.Tactical}, {"TAC", radio.Tactical}, {"MED", radio.Medical}} {
			if strings.Contains(bare, p.word) {
				return p.use, true
			}
		}
	}
	return 0, false
}

// denied are words that turn what a remark says about.
var denied = compiled(`(?i)\b(?:not?|never|except|instead|former(?:ly)?|don'?t|without|unless)\b`)

// deriveUse finds the use of a channel whose sheet has none for it. Of remarks
// only those that name one use tell it.
func (c *Channel) deriveUse(group string) {
	if c.Use != 0 {
		return
	}
	if slices.ContainsFunc(c.Open, func(o Open) bool { return o.Key == "use" }) {
		return // the sheet says something that nobody understands
	}
	if u, ok := useOfName(c.Name); ok {
		if u == radio.Tactical && c.Rx != c.Tx {
			c.open("use", "its name says tactical, and it is repeated; tacticals are direct")
			return
		}
		c.Use, c.UseBy = u, ByName
		return
	}
	var hints []string
	for _, h := range append(slices.Clone(c.hints), c.Remarks, c.section, group) {
		if h != "" {
			hints = append(hints, h)
		}
	}
	for _, h := range hints {
		switch found := usesIn(h); len(found) {
		case 0:
			continue
		case 1:
			if denied().MatchString(h) {
				c.open("use", "the sheet says: "+h)
				return
			}
			c.Use, c.UseBy = found[0], ByRemark
			return
		default:
			names := make([]string, len(found))
			for i, u := range found {
				names[i] = u.String()
			}
			c.open("use", "the sheet names "+strings.Join(names, " and "))
			return
		}
	}
	c.open("use", "neither its name nor a remark tells what it is for")
}

func (c *Channel) open(key, format string) { c.Open = append(c.Open, Open{key, format}) }
