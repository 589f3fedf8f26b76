package lookup

import (
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"slotcard/plan"
	"slotcard/plan/finding"
	"slotcard/plan/radio"
)

// What can be asked. Each word, or two words that belong together, becomes a
// term; a channel is found where all terms are true of it.

// match is what a term has to say about a channel.
type match struct {
	ok    bool
	near  bool          // it is only near
	rank  int           // the less the better
	why   string        // near: the reason
	place *plan.Channel // of several places the one that was asked for
}

// Ranks of what a word can be, from what was surely meant on.
const (
	rankWhole = iota
	rankTransmit
	rankWord
	rankPart
	rankUse
	rankSite
	rankGroup
	rankOther
	rankNear
)

// term is one condition.
type term struct {
	said  string // as it was asked
	word  bool   // it may be a part of a name
	match func(e *entry) match
	here  func(c *plan.Channel) bool // nil, or a condition on the place: several have to be true of one
}

var (
	placeText = regexp.MustCompile(`^(\d{1,4})-(\d{1,4})$`)
	// slotText is a line of the list text, as a scanner types it.
	slotText = regexp.MustCompile(`^\d+ (?:CMD|TAC|A/G|GUARD|SUP|TRAV|MED)(?::\S+)? (.+ \S*\d\S* \S+/\S+?)(?: [DM])?(?: W)?$`)
)

// parse takes a question apart, and says what its tones, groups and sites are.
func (x *Index) parse(query string) (terms []term, notes []string) {
	if m := slotText.FindStringSubmatch(query); m != nil {
		query = m[1]
	}
	words := x.spoken(strings.Fields(query))
	if whole := plan.Squeeze(query); len(words) > 1 && slices.ContainsFunc(x.entries, func(e *entry) bool { return e.squeezed == whole }) {
		words = []string{strings.Join(words, "")} // V FIRE 23
	}
	for i := 0; i < len(words); i++ {
		w := words[i]
		next := ""
		if i+1 < len(words) {
			next = words[i+1]
		}
		n, err := strconv.Atoi(next)
		isNumber := err == nil && n >= 0
		var t term
		var note string
		two := true // the term takes the next word as well
		switch lower := strings.ToLower(w); {
		case next != "" && slices.Contains([]string{"group", "grp", "zone"}, lower) && isNumber:
			t, note = x.groupTerm(n)
		case next != "" && lower == "group":
			t = x.groupNameTerm(next)
		case next != "" && (lower == "channel" || lower == "ch") && isNumber:
			t = x.numberTerm(n)
		case next != "" && (lower == "tone" || toneWords[lower] != "" && !x.known[lower]):
			t, note = x.toneTerm(withLetter(lower, next))
		case next != "" && lower == "site":
			t, note = x.siteTerm(next)
		case next != "" && sides[lower] && hasMHz(next):
			t, _ = x.sideTerm(lower, next)
		default:
			two = false
			if unit := strings.ToLower(next); readsNumber(w) && (unit == "mhz" || unit == "hz") {
				two = true
			}
			t, note = x.wordTerm(w)
		}
		if two {
			if t.said == "" {
				t.said = w + " " + next
			}
			i++
		} else {
			t.said = w
		}
		terms = append(terms, t)
		if note != "" && !slices.Contains(notes, note) {
			notes = append(notes, note)
		}
	}
	return terms, notes
}

// toneWords are words before a tone, and the letter with which its code is written.
var toneWords = map[string]string{"pl": " ", "ctcss": " ", "dcs": "D", "nac": "N"}

// withLetter is a DCS code or a NAC as it is written, from how it was said.
func withLetter(word, value string) string {
	letter := strings.TrimSpace(toneWords[word])
	if letter != "" && !strings.HasPrefix(strings.ToUpper(value), letter) {
		return letter + value
	}
	return value
}

// sides are words for one side of a pair of frequencies.
var sides = map[string]bool{"rx": true, "receive": true, "output": true, "tx": true, "transmit": true, "input": true}

func hasMHz(s string) bool {
	_, ok := mhz(s)
	return ok && strings.ContainsAny(s, ".,")
}

func (x *Index) wordTerm(w string) (term, string) {
	if m := placeText.FindStringSubmatch(strings.Replace(w, "/", "-", 1)); m != nil {
		group, _ := strconv.Atoi(m[1])
		number, _ := strconv.Atoi(m[2])
		return x.placeTerm(group, number, w)
	}
	if left, right, ok := strings.Cut(w, "/"); ok {
		if t, ok := x.pairTerm(left, right); ok {
			return t, ""
		}
	}
	if s, ok := codeOf(w); ok {
		if !slices.Contains(x.tones, s) {
			return x.toneTerm(w)
		}
		return x.toneIs(s), x.toneNote(s)
	}
	if readsNumber(w) && (strings.ContainsAny(w, ".,") || len(w) > 4) {
		return x.numericTerm(w)
	}
	return x.textTerm(w)
}

// readsNumber tells whether a text is digits with at most one point or comma.
func readsNumber(s string) bool {
	digits := strings.Map(func(r rune) rune {
		if r == '.' || r == ',' {
			return -1
		}
		return r
	}, s)
	return digits != "" && len(s)-len(digits) <= 1 && strings.Trim(digits, "0123456789") == ""
}

// mhz reads a frequency as people write it, with a point or a comma.
func mhz(s string) (radio.Hertz, bool) {
	f, err := radio.ParseMHz(strings.Replace(s, ",", ".", 1))
	return f, err == nil
}

// hertz reads a tone in hertz.
func hertz(s string) (radio.Squelch, bool) {
	s = strings.Replace(s, ",", ".", 1)
	if !readsNumber(s) {
		return radio.Squelch{}, false
	}
	t, err := radio.ParseSquelch(s)
	return t, err == nil
}

// codeOf reads a DCS code or a NAC; $ may stand for N.
func codeOf(s string) (radio.Squelch, bool) {
	s = strings.ToUpper(s)
	if rest, ok := strings.CutPrefix(s, "$"); ok {
		s = "N" + rest
	}
	t, err := radio.ParseSquelch(s)
	return t, err == nil && (t.Kind == radio.DCS || t.Kind == radio.NAC)
}

// numericTerm is a number with decimals: a frequency, or a tone where the load
// has such a one.
func (x *Index) numericTerm(w string) (term, string) {
	freq := x.frequencyTerm(w)
	tone, ok := hertz(w)
	if !ok || !slices.Contains(x.tones, tone) {
		near := x.nearTones(w)
		return term{match: func(e *entry) match {
			m := freq.match(e)
			if m.ok {
				return m
			}
			for _, n := range near {
				if carries(e, n.tone) {
					return match{ok: true, near: true, rank: rankNear + 60, why: n.why}
				}
			}
			return m
		}}, ""
	}
	byTone := x.toneIs(tone)
	return term{match: func(e *entry) match {
		if m := byTone.match(e); m.ok {
			return m
		}
		return freq.match(e)
	}}, x.toneNote(tone)
}

type nearTone struct {
	tone radio.Squelch
	why  string
}

// nearTones are the tones of the load one slip away from what was typed. A digit
// too few or wrong is not looked for: of three or four digits too many tones are
// that near.
func (x *Index) nearTones(w string) (near []nearTone) {
	t, ok := hertz(w)
	if !ok {
		return nil
	}
	slips := plan.Slips(t.String())
	for _, tone := range x.tones {
		switch slip := slips[tone.String()]; slip {
		case plan.Swapped, plan.Doubled:
			near = append(near, nearTone{tone, "tone " + tone.String() + ": " + slip.String()})
		}
	}
	return near
}

// frequencyTerm is a receive or transmit frequency.
func (x *Index) frequencyTerm(w string) term {
	f, ok := mhz(w)
	typed := strings.Replace(w, ",", ".", 1)
	if !ok || !strings.Contains(typed, ".") {
		return x.withoutPoint(typed)
	}
	reasons := map[*entry]match{}
	note := func(near []plan.Near, rank int, prefix string) {
		for i, n := range near {
			e := x.of[n.Channel]
			if _, ok := reasons[e]; !ok {
				reasons[e] = match{ok: true, near: true, rank: rank + i, why: prefix + n.Why}
			}
		}
	}
	note(plan.NearIn(x.channels, f, rx), rankNear, "")
	note(plan.NearIn(x.channels, f, otherTx), rankNear+20, "transmit: ")
	if point := strings.IndexByte(typed, '.'); len(typed)-point <= 4 && x.byRx[f] == nil {
		for i, e := range x.entries { // what was not typed to its end
			if c := e.channel(); c.Rx != f && strings.HasPrefix(c.Rx.String(), typed) {
				reasons[e] = match{ok: true, near: true, rank: rankNear + i - len(x.entries), why: "begins with " + typed}
			}
		}
	}
	return term{match: func(e *entry) match {
		switch c := e.channel(); f {
		case c.Rx:
			return match{ok: true, rank: rankWhole}
		case c.Tx:
			return match{ok: true, rank: rankTransmit, why: f.String() + " is its transmit frequency"}
		}
		return reasons[e]
	}}
}

func rx(c *plan.Channel) radio.Hertz { return c.Rx }

// otherTx is the transmit frequency where it is another than the receive one.
func otherTx(c *plan.Channel) radio.Hertz {
	if c.Tx == c.Rx {
		return 0
	}
	return c.Tx
}

// withoutPoint is a row of digits: with a point in it it may be a frequency.
func (x *Index) withoutPoint(digits string) term {
	meant := map[radio.Hertz]bool{}
	for i := 2; i < len(digits) && !strings.Contains(digits, "."); i++ {
		if f, ok := mhz(digits[:i] + "." + digits[i:]); ok {
			meant[f] = true
		}
	}
	return term{match: func(e *entry) match {
		c := e.channel()
		return match{ok: meant[c.Rx] || meant[c.Tx], near: true, rank: rankNear, why: "with a decimal point it is " + c.Rx.String()}
	}}
}

// pairTerm is receive and transmit, of frequencies or of tones.
func (x *Index) pairTerm(left, right string) (term, bool) {
	f, ok1 := mhz(left)
	g, ok2 := mhz(right)
	tone := func(s string) (radio.Squelch, bool) {
		if s == "-" || s == "" {
			return radio.Squelch{}, true
		}
		if t, ok := codeOf(s); ok {
			return t, true
		}
		return hertz(s)
	}
	a, ok3 := tone(left)
	b, ok4 := tone(right)
	if !(ok1 && ok2) && !(ok3 && ok4) || left+right == "" {
		return term{}, false
	}
	slips := map[*entry]string{}
	if ok1 && ok2 {
		for _, n := range plan.NearIn(x.channels, f, rx) {
			slips[x.of[n.Channel]] = n.Why
		}
	}
	return term{match: func(e *entry) match {
		c := e.channel()
		near := func(rank int, why string) match { return match{ok: true, near: true, rank: rankNear + rank, why: why} }
		switch {
		case ok3 && ok4 && !c.Trunked() && c.RxTone == a && (c.TxTone == b || c.TxTone == radio.Site && !b.IsZero() && carries(e, b)):
			return match{ok: true}
		case !ok1 || !ok2 || c.Rx == 0:
			return match{}
		case c.Rx == f && c.Tx == g:
			return match{ok: true}
		case c.Rx == g && c.Tx == f:
			return near(0, "receive and transmit exchanged")
		case c.Rx == f:
			return near(1, "receive fits, transmit is another")
		case c.Tx == g && slips[e] != "":
			return near(2, "receive: "+slips[e])
		case c.Tx == g:
			return near(3, "transmit fits, receive is another")
		case slips[e] != "":
			return near(4, "receive: "+slips[e]+"; transmit is another")
		}
		return match{}
	}}, true
}

// carries tells whether a channel has a tone: by itself, or to open one of the
// sites that repeat it.
func carries(e *entry, s radio.Squelch) bool {
	c := e.channel()
	if c.RxTone == s || c.TxTone == s {
		return !c.Trunked()
	}
	return c.TxTone == radio.Site && slices.ContainsFunc(e.sites, func(site *plan.Site) bool { return site.Squelch == s })
}

func (x *Index) toneIs(s radio.Squelch) term {
	return term{match: func(e *entry) match { return match{ok: carries(e, s)} }}
}

// toneTerm is "tone 4", or "tone 146.2".
func (x *Index) toneTerm(w string) (term, string) {
	if number, err := strconv.Atoi(w); err == nil {
		for _, t := range x.load.Tones {
			if t.Number == number {
				return x.toneIs(t.Hz), x.toneNote(t.Hz)
			}
		}
		if s, ok := hertz(w); !ok || !slices.Contains(x.tones, s) {
			return nothing(), fmt.Sprintf("the load has no tone %d%s", number, x.toneNumbers())
		}
	}
	if s, ok := codeOf(w); ok && slices.Contains(x.tones, s) {
		return x.toneIs(s), x.toneNote(s)
	}
	s, ok := hertz(w)
	if ok && slices.Contains(x.tones, s) {
		return x.toneIs(s), x.toneNote(s)
	}
	near := x.nearTones(w)
	return term{match: func(e *entry) match {
		for i, n := range near {
			if carries(e, n.tone) {
				return match{ok: true, near: true, rank: rankNear + i, why: n.why}
			}
		}
		return match{}
	}}, "no channel or site of the load has tone " + w
}

func nothing() term { return term{match: func(*entry) match { return match{} }} }

func (x *Index) toneNumbers() string {
	var numbers []int
	for _, t := range x.load.Tones {
		numbers = append(numbers, t.Number)
	}
	return has(numbers)
}

// has says which numbers there are, as short as it can.
func has(numbers []int) string {
	if len(numbers) == 0 {
		return ""
	}
	slices.Sort(numbers)
	numbers = slices.Compact(numbers)
	first, last := numbers[0], numbers[len(numbers)-1]
	if last-first == len(numbers)-1 && len(numbers) > 2 {
		return fmt.Sprintf("; it has %d to %d", first, last)
	}
	words := make([]string, len(numbers))
	for i, n := range numbers {
		words[i] = strconv.Itoa(n)
	}
	return "; it has " + strings.Join(words, ", ")
}

// toneNote says what a tone is and what it opens.
func (x *Index) toneNote(s radio.Squelch) string {
	note := ""
	if n := x.load.ToneNumber(s); n != 0 {
		note = fmt.Sprintf("tone %d is %s", n, s)
	}
	var sites []string
	for _, site := range x.load.Sites {
		if site.Squelch == s {
			sites = append(sites, site.Name)
		}
	}
	switch {
	case sites == nil && note != "" && !x.some(func(e *entry) match { return match{ok: carries(e, s)} }):
		return note + "; no channel or site of the load uses it"
	case sites == nil:
		return note
	case note == "":
		return s.String() + " opens " + strings.Join(sites, " and ")
	}
	return note + " and opens " + strings.Join(sites, " and ")
}

func (x *Index) groupTerm(number int) (term, string) {
	var numbers []int
	note := ""
	for _, g := range x.load.Groups {
		numbers = append(numbers, g.Number)
		if g.Number == number {
			note = fmt.Sprintf("group %d is %s", number, g.Name)
		}
	}
	if note == "" {
		note = fmt.Sprintf("the load has no group %d%s", number, has(numbers))
	}
	return x.at(func(c *plan.Channel) bool { return c.Group.Number == number }), note
}

// at is true of channels at some place of the load, which then is the one shown.
func (x *Index) at(here func(*plan.Channel) bool) term {
	return term{here: here, match: func(e *entry) match {
		i := slices.IndexFunc(e.places, here)
		if i < 0 {
			return match{}
		}
		return match{ok: true, rank: rankWhole, place: e.places[i]}
	}}
}

func (x *Index) groupNameTerm(word string) term {
	word = fold(word)
	return x.at(func(c *plan.Channel) bool { return strings.Contains(fold(c.Group.Name), word) })
}

func (x *Index) numberTerm(number int) term {
	return x.at(func(c *plan.Channel) bool { return c.Number == number })
}

func (x *Index) placeTerm(group, number int, w string) (term, string) {
	text := x.named(fold(w))
	place := x.at(func(c *plan.Channel) bool { return c.Group.Number == group && c.Number == number })
	t := term{match: func(e *entry) match {
		if m := place.match(e); m.ok {
			return m
		}
		return text(e)
	}}
	for _, g := range x.load.Groups {
		if g.Number != group {
			continue
		}
		var numbers []int
		for _, c := range g.Channels {
			numbers = append(numbers, c.Number)
		}
		if !slices.Contains(numbers, number) {
			return t, fmt.Sprintf("group %d has no channel %d%s", group, number, has(numbers))
		}
		return t, ""
	}
	_, note := x.groupTerm(group)
	return t, note
}

// siteTerm is "site Bellwether".
func (x *Index) siteTerm(word string) (term, string) {
	word = fold(word)
	note := ""
	for _, s := range x.load.Sites {
		if strings.Contains(fold(s.Name), word) {
			note = x.siteNote(s)
			break
		}
	}
	return term{match: func(e *entry) match { return match{ok: atSite(e, word), rank: rankSite} }}, note
}

func (x *Index) siteNote(s *plan.Site) string {
	if n := x.load.ToneNumber(s.Squelch); n != 0 {
		return fmt.Sprintf("%s is opened by tone %d, %s", s.Name, n, s.Squelch)
	}
	return fmt.Sprintf("%s is opened by %s", s.Name, s.Squelch)
}

func atSite(e *entry, word string) bool {
	return slices.ContainsFunc(e.sites, func(s *plan.Site) bool { return strings.Contains(fold(s.Name), word) })
}

// properties are words that say what a channel is.
var properties = map[string]func(e *entry) bool{
	"direct":   func(e *entry) bool { return !e.channel().Repeated() && !e.channel().Trunked() },
	"repeated": func(e *entry) bool { return e.channel().Repeated() },
	"analog":   func(e *entry) bool { return e.channel().Mode == radio.Analog },
	"digital":  func(e *entry) bool { return e.channel().Mode == radio.Digital },
	"mixed":    func(e *entry) bool { return e.channel().Mode == radio.Mixed },
	"narrow":   func(e *entry) bool { return e.channel().Width == radio.Narrow },
	"wide":     func(e *entry) bool { return e.channel().Width == radio.Wide },

	"talkgroup":    func(e *entry) bool { return e.channel().Trunked() },
	"receive-only": func(e *entry) bool { return e.channel().ReceiveOnly },
	"csq":          func(e *entry) bool { return e.channel().RxTone.IsZero() && !e.channel().Trunked() },
}

// named is how a word is part of a name. A number has to be a whole number of
// the name: 1 is no part of VFIRE21.
func (x *Index) named(word string) func(e *entry) match {
	squeezed := plan.Squeeze(word)
	number := strings.Trim(word, "0123456789") == ""
	return func(e *entry) match {
		switch {
		case e.name == word || squeezed != "" && e.squeezed == squeezed:
			return match{ok: true, rank: rankWhole}
		case number && slices.Contains(e.numbers, strings.TrimLeft(word, "0")), number && slices.Contains(e.numbers, word):
			return match{ok: true, rank: rankWord}
		case number:
			return match{}
		case slices.Contains(e.words, word):
			return match{ok: true, rank: rankWord}
		case len(word) > 1 && wholeNumbers(e.name, word): // a single letter is part of anything
			return match{ok: true, rank: rankPart}
		case len(squeezed) > 2 && wholeNumbers(e.squeezed, squeezed):
			return match{ok: true, rank: rankPart}
		}
		return match{}
	}
}

// textTerm is a word: of a name, a use, a site, a group or remarks, or what a
// name is abbreviated to.
func (x *Index) textTerm(w string) (term, string) {
	word := fold(w)
	note := ""
	for _, s := range x.load.Sites {
		if len([]rune(word)) > 2 && fold(s.Name) == word {
			note = x.siteNote(s)
		}
	}
	is := x.anyOf(append([]string{word}, alike[word]...))
	if x.some(is) {
		return term{word: true, match: is}, note
	}
	if one, plural := strings.CutSuffix(word, "s"); plural && len(one) > 1 {
		if is := x.anyOf([]string{one}); x.some(is) {
			return term{word: true, match: is}, ""
		}
	}
	short := abbreviated(word)
	is = func(e *entry) match { return match{ok: short(e), rank: rankWord} }
	if s, ok := x.shortTone(word); ok {
		note = x.toneNote(s)
		is = func(e *entry) match {
			if short(e) {
				return match{ok: true, rank: rankWord}
			}
			return match{ok: carries(e, s), rank: rankOther, why: "tone " + s.String()}
		}
	}
	if x.some(is) {
		return term{word: true, match: is}, note
	}
	if t, ok := x.beginningTerm(word); ok {
		return t, ""
	}
	return x.closeTerm(word), note
}

// some tells whether any channel matches.
func (x *Index) some(is func(e *entry) match) bool {
	return slices.ContainsFunc(x.entries, func(e *entry) bool { return is(e).ok })
}

// anyOf is true of channels that one of several words for one thing fits, the
// first one best.
func (x *Index) anyOf(words []string) func(e *entry) match {
	var each []func(e *entry) match
	for _, w := range words {
		each = append(each, x.exactly(w))
	}
	return func(e *entry) match {
		for _, is := range each {
			if m := is(e); m.ok {
				return m
			}
		}
		return match{}
	}
}

// exactly is true of channels that a word fits as it stands.
func (x *Index) exactly(word string) func(e *entry) match {
	named, property := x.named(word), properties[word]
	use, isUse := radio.ParseUse(word)
	if !isUse {
		use, isUse = radio.ParseUseCode(strings.ToUpper(word))
	}
	short := len([]rune(word)) < 3
	return func(e *entry) match {
		if m := named(e); m.ok {
			return m
		}
		switch {
		case isUse && slices.ContainsFunc(e.places, func(c *plan.Channel) bool { return c.Use == use }):
			return match{ok: true, rank: rankUse}
		case property != nil && property(e):
			return match{ok: true, rank: rankUse}
		case short: // of one or two letters anything is a part
			return match{}
		case atSite(e, word):
			return match{ok: true, rank: rankSite}
		}
		for _, c := range e.places {
			if strings.Contains(strings.ToLower(c.Group.Name), word) {
				return match{ok: true, rank: rankGroup, place: c}
			}
		}
		return match{ok: strings.Contains(e.other, word), rank: rankOther}
	}
}

// closeTerm is true of what a misspelled word may have been meant to be.
func (x *Index) closeTerm(word string) term {
	closest := finding.Closest(word, x.words, 5)
	return term{word: true, match: func(e *entry) match {
		for i, c := range closest {
			switch {
			case e.name == c:
				return match{ok: true, near: true, rank: rankNear + i, why: "the name is close"}
			case slices.Contains(e.words, c):
				return match{ok: true, near: true, rank: rankNear + 10 + i, why: fmt.Sprintf("%q is close", strings.ToUpper(c))}
			case atSite(e, c):
				return match{ok: true, near: true, rank: rankNear + 20 + i, why: "the site's name is close"}
			}
		}
		return match{}
	}}
}
