package lookup

import (
	"regexp"
	"slices"
	"strconv"
	"strings"
	"unicode"

	"slotcard/plan"
	"slotcard/plan/radio"
)

// How people say a question, and what they abbreviate. What is said is brought
// into the words that parse knows; a word that the load's own names hold is
// left as it is.

// digits are the figures as they are spelled: in plain words, and as the ICAO
// and the ITU have them said over the air (phonetic.csv, read).
var digits = map[string]int{
	"zero": 0, "one": 1, "two": 2, "three": 3, "four": 4, "five": 5, "six": 6, "seven": 7, "eight": 8, "nine": 9,
	"wun": 1, "too": 2, "tree": 3, "fower": 4, "fife": 5, "ait": 8, "niner": 9,
}

var teens = map[string]int{
	"ten": 10, "eleven": 11, "twelve": 12, "thirteen": 13, "fourteen": 14, "fifteen": 15,
	"sixteen": 16, "seventeen": 17, "eighteen": 18, "nineteen": 19,
}

var tens = map[string]int{
	"twenty": 20, "thirty": 30, "forty": 40, "fifty": 50, "sixty": 60, "seventy": 70, "eighty": 80, "ninety": 90,
}

// together are words that belong together, and the one word for them.
var together = []struct {
	said []string
	word string
}{
	{[]string{"air", "to", "ground"}, "air-to-ground"},
	{[]string{"air", "ground"}, "air-to-ground"},
	{[]string{"receive", "only"}, "receive-only"},
	{[]string{"rx", "only"}, "receive-only"},
	{[]string{"talk", "group"}, "talkgroup"},
	{[]string{"carrier", "squelch"}, "csq"},
	{[]string{"no", "tone"}, "csq"},
}

// alike are words for one thing: a load uses one, people ask with the other.
var alike = map[string][]string{
	"weather": {"wx", "noaa"}, "wx": {"weather"}, "noaa": {"wx", "weather"},
	"dispatch": {"disp"}, "disp": {"dispatch"},
	"repeater": {"repeated"}, "rpt": {"repeated"}, "rptr": {"repeated"}, "duplex": {"repeated"},
	"simplex": {"direct"}, "medic": {"med", "medical"}, "ems": {"med", "medical"},
	"trunked": {"talkgroup"}, "road": {"travel"}, "convoy": {"travel"},
	"a2g": {"air-to-ground"}, "comand": {"command"}, "cmnd": {"command"},
}

var (
	suffixed = regexp.MustCompile(`^(\d{2,4}[.,]\d+)([nw])$`) // 154.280N
	short    = regexp.MustCompile(`^[a-zA-Z]\d{1,4}$`)
	glued    = regexp.MustCompile(`^([a-z]+)(\d{1,4})$`)                   // tac3, ch3, g2
	tone     = regexp.MustCompile(`^(pl|ctcss|dcs|nac)-?(\d[0-9a-f.,]*)$`) // PL156.7
)

// spoken brings the words of a question into those that parse knows.
func (x *Index) spoken(words []string) []string {
	out := make([]string, 0, len(words))
	for i := 0; i < len(words); i++ {
		if word, n := joined(words[i:]); n > 0 {
			out = append(out, word)
			i += n - 1
			continue
		}
		if number, n := x.figures(words[i:]); n > 0 {
			out = append(out, number)
			i += n - 1
			continue
		}
		if i+1 < len(words) && len(words[i]) == 1 && short.MatchString(words[i]+words[i+1]) {
			if joint := strings.ToLower(words[i] + words[i+1]); !x.known[strings.ToLower(words[i])] && x.inName(joint) {
				out = append(out, joint) // V 23
				i++
				continue
			}
		}
		out = append(out, x.unglued(words[i])...)
	}
	return out
}

// joined is the one word for the first n words.
func joined(words []string) (word string, n int) {
	for _, t := range together {
		if len(words) >= len(t.said) && slices.EqualFunc(words[:len(t.said)], t.said, strings.EqualFold) {
			return t.word, len(t.said)
		}
	}
	return "", 0
}

// figures reads the number that the first n words spell: "two three" and
// "twenty three" are both 23.
func (x *Index) figures(words []string) (number string, n int) {
	for n < len(words) {
		w := strings.ToLower(words[n])
		if x.known[w] {
			break
		}
		if d, ok := digits[w]; ok {
			number += strconv.Itoa(d)
		} else if t, ok := teens[w]; ok && n == 0 {
			return strconv.Itoa(t), 1
		} else if t, ok := tens[w]; ok && n == 0 {
			if len(words) > 1 {
				if d := digits[strings.ToLower(words[1])]; d > 0 {
					return strconv.Itoa(t + d), 2
				}
			}
			return strconv.Itoa(t), 1
		} else {
			break
		}
		n++
	}
	return number, n
}

// unglued takes apart what is written without a space.
func (x *Index) unglued(w string) []string {
	lower := strings.ToLower(w)
	if m := suffixed.FindStringSubmatch(lower); m != nil {
		return []string{m[1], map[string]string{"n": "narrow", "w": "wide"}[m[2]]}
	}
	if m := tone.FindStringSubmatch(lower); m != nil && !x.known[lower] {
		return []string{m[1], m[2]}
	}
	if m := glued.FindStringSubmatch(lower); m != nil && !x.inName(lower) {
		switch m[1] {
		case "ch", "chan", "channel":
			return []string{"channel", m[2]}
		case "g", "grp", "group", "zone", "z":
			return []string{"group", m[2]}
		case "tone":
			return []string{"tone", m[2]}
		}
	}
	return []string{w}
}

// inName tells whether some channel's name holds or abbreviates a word.
func (x *Index) inName(word string) bool {
	named, short := x.named(word), abbreviated(word)
	return slices.ContainsFunc(x.entries, func(e *entry) bool { return named(e).ok || short(e) })
}

// abbreviated tells of which names a word such as v23 or t5 is short: letters
// that one of the name's words begins with, then a whole number behind it.
func abbreviated(word string) func(e *entry) bool {
	m := glued.FindStringSubmatch(word)
	if m == nil {
		return func(*entry) bool { return false }
	}
	return func(e *entry) bool {
		for at, w := range e.words {
			if !strings.HasPrefix(w, m[1]) {
				continue
			}
			behind := numbers(strings.Join(e.words[at:], " "))
			if len(behind) > 0 && strings.TrimLeft(behind[0], "0") == strings.TrimLeft(m[2], "0") {
				return true
			}
		}
		return false
	}
}

// shortTone is the tone that t5 may mean beside a channel.
func (x *Index) shortTone(word string) (radio.Squelch, bool) {
	m := glued.FindStringSubmatch(word)
	if m == nil || m[1] != "t" {
		return radio.Squelch{}, false
	}
	number, _ := strconv.Atoi(m[2])
	for _, t := range x.load.Tones {
		if t.Number == number {
			return t.Hz, true
		}
	}
	return radio.Squelch{}, false
}

// sideTerm is a frequency on one side only: "rx 154.28", "input 157.6725". A
// repeater's input is what radios transmit on.
func (x *Index) sideTerm(side, w string) (term, bool) {
	f, ok := mhz(w)
	if !ok {
		return term{}, false
	}
	of := func(c *plan.Channel) radio.Hertz { return c.Rx }
	switch side {
	case "tx", "transmit", "input":
		of = func(c *plan.Channel) radio.Hertz { return c.Tx }
	case "rx", "receive", "output":
	default:
		return term{}, false
	}
	any := x.frequencyTerm(w)
	return term{match: func(e *entry) match {
		c := e.channel()
		if of(c) == f {
			return match{ok: true, rank: rankWhole}
		}
		m := any.match(e)
		switch {
		case !m.ok || m.near:
		case c.Rx == f:
			m.near, m.why = true, f.String()+" is its receive frequency"
		default:
			m.near = true
		}
		return m
	}}, true
}

// beginningTerm is the whole megahertz of a frequency: 154 is anything from
// 154.0000 to 154.9999, where no channel has that number in its name.
func (x *Index) beginningTerm(w string) (term, bool) {
	if len(w) < 2 || len(w) > 3 || strings.Trim(w, "0123456789") != "" {
		return term{}, false
	}
	begins := func(f radio.Hertz) bool { return f != 0 && strings.HasPrefix(f.String(), w+".") }
	t := term{match: func(e *entry) match {
		switch c := e.channel(); {
		case begins(c.Rx):
			return match{ok: true, rank: rankPart}
		case begins(c.Tx):
			return match{ok: true, rank: rankTransmit + rankPart, why: "transmits on " + c.Tx.String()}
		}
		return match{}
	}}
	return t, slices.ContainsFunc(x.entries, func(e *entry) bool { return t.match(e).ok })
}

// wholeNumbers tells whether word stands in text so that no run of digits of
// text goes on beyond it: tac3 stands in qbtac3, not in vtac36.
func wholeNumbers(text, word string) bool {
	for from := 0; ; {
		i := strings.Index(text[from:], word)
		if i < 0 || word == "" {
			return false
		}
		i += from
		end := i + len(word)
		before := i > 0 && isDigit(text[i-1]) && isDigit(word[0])
		after := end < len(text) && isDigit(text[end]) && isDigit(word[len(word)-1])
		if !before && !after {
			return true
		}
		from = i + 1
	}
}

func isDigit(c byte) bool { return c < 0x80 && unicode.IsDigit(rune(c)) }
