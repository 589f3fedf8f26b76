package sheet

import (
	"slices"
	"strings"
	"unicode"
)

// What an assignment says, as people write it: "Div. C/Left flank", "Branch II
// Div Z", "Divs. A thru D", "Structure Group".

// assigned is what an assignment was understood as.
type assigned struct {
	ids     []string // of divisions
	notes   []string // how it was read, where that is not plain
	unknown bool     // it names a division, a branch or a group, and was not understood
	other   bool     // it names none of them: air operations, a camp
}

var (
	everyone = compiled(`(?i)^(all( (divisions|divs|units|resources|personnel|groups|incident|hands))?|everybody|everyone|entire incident|incident( ?-? ?wide)?|-+|–|—|n/?a|none|all (divisions|divs)( (and|&) groups)?)$`)
	// Before the words are taken apart: a letter glued to its word, and words that
	// mean one thing.
	gluedText  = compiled(`(?i)\b(divs?|division|grp|group|br|branch)[-.:#_]+([a-z0-9])`)
	gluedPlain = compiled(`\b([Dd][Ii][Vv])([A-RT-Z])\b`)
	possessive = compiled(`(?i)\b(div|division)['’]s\b`)
	rangeText  = compiled(`(?i)\b([a-z]{1,2})\s*(?:-|–|—|\bthru\b|\bthrough\b|\bto\b|\.\.+)\s*([a-z]{1,2})\b`)
	tokenText  = compiled(`[\pL\pN'’]+|[^\s\pL\pN]`)
)

// phonetic is the spelling alphabet (ITU Radio Regulations, appendix 14), and
// what people write for it.
var phonetic = map[string]string{"alpha": "A", "alfa": "A", "bravo": "B", "charlie": "C", "delta": "D", "echo": "E", "foxtrot": "F", "golf": "G",
	"hotel": "H", "india": "I", "juliet": "J", "juliett": "J", "kilo": "K", "lima": "L", "mike": "M", "november": "N", "oscar": "O", "papa": "P",
	"quebec": "Q", "romeo": "R", "sierra": "S", "tango": "T", "uniform": "U", "victor": "V", "whiskey": "W", "xray": "X", "yankee": "Y", "zulu": "Z"}

// wordClass is what a word of an assignment is.
type wordClass uint8

const (
	otherWord    wordClass = iota
	divisionWord           // division, div
	branchWord             // branch, br
	groupWord              // group, grp
	joinWord               // and, comma, slash
	noiseWord              // only, tactical: says nothing about which
	turnWord               // except, until: turns the meaning around
	placeWord              // left, flank, head: what a division is called
)

var wordClasses = map[string]wordClass{
	"division": divisionWord, "divisions": divisionWord, "div": divisionWord, "divs": divisionWord,
	"branch": branchWord, "branches": branchWord, "br": branchWord,
	"group": groupWord, "groups": groupWord, "grp": groupWord, "grps": groupWord, "gp": groupWord,
	"functional": noiseWord,
	"and":        joinWord, "&": joinWord, "+": joinWord, ",": joinWord, ";": joinWord, "/": joinWord, "|": joinWord,
	"tac": noiseWord, "tactical": noiseWord, "only": noiseWord, "ops": noiseWord, "operations": noiseWord, "line": noiseWord, "supervisor": noiseWord,
	"resources": noiseWord, "crews": noiseWord, "units": noiseWord, ".": noiseWord, "the": noiseWord, "of": noiseWord, "assigned": noiseWord,
	"for": noiseWord, "with": noiseWord, "is": noiseWord, "are": noiseWord, "at": noiseWord, "by": noiseWord, "use": noiseWord, "uses": noiseWord,
	"everybody": noiseWord, "everyone": noiseWord,
	"to": noiseWord, "all": noiseWord, "in": noiseWord, "on": noiseWord,
	"except": turnWord, "not": turnWord, "no": turnWord, "without": turnWord, "until": turnWord, "til": turnWord, "till": turnWord, "then": turnWord,
	"after": turnWord, "before": turnWord, "from": turnWord, "or": turnWord, "if": turnWord, "but": turnWord, "excluding": turnWord, "less": turnWord,
	"minus": turnWord, "was": turnWord, "former": turnWord, "formerly": turnWord, "old": turnWord, "break": turnWord, "between": turnWord,
	"adjoining": turnWord, "near": turnWord, "x": otherWord, "?": turnWord,
	"left": placeWord, "right": placeWord, "flank": placeWord, "head": placeWord, "heel": placeWord, "upper": placeWord, "lower": placeWord,
	"north": placeWord, "south": placeWord, "east": placeWord, "west": placeWord, "side": placeWord, "top": placeWord, "bottom": placeWord,
	"(": noiseWord, ")": noiseWord, "-": noiseWord, ":": noiseWord, "–": noiseWord, "—": noiseWord,
}

// assigned understands an assignment. It adds the divisions that it names.
func (d *drafter) assigned(text string) (a assigned) {
	if text == "" || everyone().MatchString(text) {
		return a
	}
	if v := d.named(text); v != nil {
		v.seen = true
		a.ids = []string{v.id}
		return a
	}
	names := namesDivision().MatchString(text) || loneLetters(text) || letterAndPlace(text)
	p := &assignParser{drafter: d, text: text}
	if !p.parse() || len(p.found) == 0 {
		a.unknown, a.other = names, !names
		return a
	}
	for _, f := range p.found {
		v := d.division(f.id)
		if v == nil {
			v = &division{id: f.id, functional: f.functional, from: f.from}
			d.divisions = append(d.divisions, v)
		}
		v.seen = true
		if !slices.Contains(a.ids, v.id) {
			a.ids = append(a.ids, v.id)
		}
	}
	if p.name != "" {
		v := d.division(a.ids[0])
		switch {
		case v.name == "" && v.from == "" && !strings.EqualFold(v.id, p.name):
			v.name = p.name
		case !strings.EqualFold(v.name, p.name) && !strings.EqualFold(v.from, p.name):
			a.notes = append(a.notes, "the sheet calls it "+p.name+" here")
		}
	}
	a.notes = append(a.notes, p.notes...)
	return a
}

// loneLetters tells whether a text is letters of divisions and nothing else.
func loneLetters(text string) bool { return lettersText().MatchString(text) }

// letterAndPlace tells whether a text is the letter of a division and where it
// lies, and nothing else: "Left flank / Z".
func letterAndPlace(text string) bool {
	letters, places := 0, 0
	for _, w := range tokenText().FindAllString(text, -1) {
		switch class := wordClasses[strings.ToLower(w)]; {
		case class == placeWord:
			places++
		case class == joinWord || class == noiseWord:
		case plainLetters().MatchString(w):
			letters++
		default:
			return false
		}
	}
	return letters == 1 && places > 0
}

// compass are the letters that may be a direction: "N flank".
const compass = "NSEW"

// plainLetters are the letters of a division without its word: A to Z, and from
// AA on twice the same (reported practice, secondary). Other pairs mean something
// else as often: IC, HQ; and II is a branch.
var (
	plainLetters = compiled(`^(?:[A-Z]|` + twiceTheSame() + `)$`)
	lettersText  = compiled(`^(?:[A-Z]|` + twiceTheSame() + `)(?:\s*(?:[,;/&+-]|and|\s)\s*(?:[A-Z]|` + twiceTheSame() + `))*$`)
)

// twiceTheSame matches AA to ZZ, but not II.
func twiceTheSame() string {
	var all []string
	for c := 'A'; c <= 'Z'; c++ {
		if c != 'I' {
			all = append(all, string(c)+string(c))
		}
	}
	return strings.Join(all, "|")
}

// foundDivision is a division that an assignment names.
type foundDivision struct {
	id, from   string
	functional bool
}

// assignParser takes an assignment apart.
type assignParser struct {
	*drafter
	text  string
	found []foundDivision
	name  string // what the one division is called beside its letter
	notes []string
}

// token is a word of an assignment.
type token struct {
	text  string
	class wordClass
}

// tokens are the words of a text, ranges of letters written out.
func (p *assignParser) tokens() (all []token, ok bool) {
	s := possessive().ReplaceAllString(p.text, "${1}s")
	s = gluedText().ReplaceAllString(s, "$1 $2")
	s = gluedPlain().ReplaceAllString(s, "$1 $2")
	if m := rangeText().FindStringSubmatchIndex(s); m != nil && (namesDivision().MatchString(s[:m[0]]) || lettersText().MatchString(s) || namesDivision().MatchString(s)) {
		low, high := strings.ToUpper(s[m[2]:m[3]]), strings.ToUpper(s[m[4]:m[5]])
		inWord := m[0] > 0 && s[m[0]-1] == '-'
		if wordClasses[strings.ToLower(low)] == otherWord && wordClasses[strings.ToLower(high)] == otherWord && !inWord && plausible(s[m[2]:m[3]], s[m[4]:m[5]]) {
			if len(low) != 1 || len(high) != 1 || low >= high {
				return nil, false
			}
			var ids []string
			for c := low[0]; c <= high[0]; c++ {
				if id := string(rune(c)); !p.listed() || p.division(id) != nil || c == low[0] || c == high[0] {
					ids = append(ids, id)
				}
			}
			if len(ids) < 2 {
				return nil, false
			}
			p.notes = append(p.notes, "read as divisions "+strings.Join(ids, ", ")+": "+s[m[0]:m[1]])
			s = s[:m[0]] + strings.Join(ids, ", ") + s[m[1]:]
		}
	}
	for _, w := range tokenText().FindAllString(s, -1) {
		all = append(all, token{w, wordClasses[strings.ToLower(w)]})
	}
	return all, true
}

// plausible tells whether two texts are letters of divisions: capitals, or both
// small ones alone.
func plausible(a, b string) bool {
	return strings.ToUpper(a) == a && strings.ToUpper(b) == b || len(a) == 1 && len(b) == 1
}

// listed tells whether the sheet, or the old plan, lists all divisions.
func (d *drafter) listed() bool {
	return slices.ContainsFunc(d.divisions, func(v *division) bool { return v.listed || v.old })
}

// idOf is the id that a word can be: a letter or two in capitals, a letter of the
// spelling alphabet, a number behind its word.
func (p *assignParser) idOf(w string, sorted bool) string {
	if id, ok := phonetic[strings.ToLower(w)]; ok {
		return id
	}
	if v := p.division(w); v != nil {
		return v.id
	}
	switch {
	case plainLetters().MatchString(w):
		return w
	case sorted && len(w) == 2 && strings.ToUpper(w) == w && validID(w):
		return w
	case sorted && len(w) == 1 && unicode.IsLetter(rune(w[0])) && w[0] < 0x80:
		return strings.ToUpper(w)
	case sorted && len(w) <= 4 && validID(w) && strings.IndexFunc(w, func(r rune) bool { return unicode.IsLower(r) }) < 0:
		return w
	}
	return ""
}

// parse takes the words from left to right. It is false where something is not
// understood.
func (p *assignParser) parse() bool {
	words, ok := p.tokens()
	if !ok || len(words) > 40 {
		return false
	}
	sort := otherWord    // what was named last: divisions, branches, groups
	var extra [][]string // words that are no id, in stretches
	open := false
	for i := 0; i < len(words); i++ {
		w := words[i]
		switch w.class {
		case turnWord:
			return false
		case divisionWord, branchWord, groupWord:
			if w.class == groupWord {
				if n, ok := p.groupNamed(words, i, &extra, open); ok {
					i, open, sort = n, false, otherWord
					continue
				}
			}
			// "C Division": the letter stood before.
			if w.class == divisionWord && sort == otherWord && len(extra) > 0 && open && len(extra[len(extra)-1]) == 1 {
				last := extra[len(extra)-1][0]
				if id := p.idOf(last, true); id != "" && len(id) <= 2 {
					extra = extra[:len(extra)-1]
					p.found = append(p.found, foundDivision{id: id})
					open = false
					continue
				}
			}
			sort, open = w.class, false
			continue
		case joinWord, noiseWord:
			open = false
			continue
		}
		id := p.idOf(w.text, sort != otherWord)
		next := i+1 < len(words) && (words[i+1].class == otherWord || words[i+1].class == placeWord)
		switch {
		case sort == branchWord:
			// "Branch II": says where the division is, and is no division.
			p.notes = append(p.notes, "of branch "+w.text)
			sort, open = otherWord, false
		case id != "" && w.class == otherWord && (sort != otherWord || len(p.found) > 0 || allLetters(words) || besidePlace(words)) && !(next && sort == otherWord && !allLetters(words) && !besidePlace(words)):
			p.found = append(p.found, foundDivision{id: id, functional: sort == groupWord})
			open = false
		default:
			if !open {
				extra = append(extra, nil)
			}
			extra[len(extra)-1] = append(extra[len(extra)-1], w.text)
			open = true
		}
	}
	return p.leftOver(extra)
}

// allLetters tells whether all words are letters of divisions, or between them.
func allLetters(words []token) bool {
	for _, w := range words {
		if w.class == otherWord && (len(w.text) > 2 || strings.ToUpper(w.text) != w.text) && phonetic[strings.ToLower(w.text)] == "" {
			return false
		}
		if w.class == placeWord {
			return false
		}
	}
	return true
}

// besidePlace tells whether the words are a letter, no direction, and a place.
func besidePlace(words []token) bool {
	var text []string
	for _, w := range words {
		if w.class == otherWord && strings.Contains(compass, w.text) {
			return false
		}
		text = append(text, w.text)
	}
	return letterAndPlace(strings.Join(text, " "))
}

// groupNamed understands "Structure Protection Group", whose words stand before
// the word group, and "Group SP" and "Group Structure", where they stand behind.
// It returns the place of the last word that it took.
func (p *assignParser) groupNamed(words []token, at int, extra *[][]string, open bool) (last int, ok bool) {
	if open && len(*extra) > 0 {
		before := (*extra)[len(*extra)-1]
		*extra = (*extra)[:len(*extra)-1]
		return at, p.addGroup(before, words[at].text)
	}
	// An id that stood right before, as in "SP Group".
	if n := len(p.found); at > 0 && n > 0 && strings.EqualFold(words[at-1].text, p.found[n-1].id) && !p.found[n-1].functional && (at < 2 || words[at-2].class != divisionWord) {
		p.found[n-1].functional = true
		return at, true
	}
	var behind []string
	i := at + 1
	for ; i < len(words) && (words[i].class == otherWord || words[i].class == placeWord); i++ {
		behind = append(behind, words[i].text)
	}
	if len(behind) == 0 {
		return at, false
	}
	if len(behind) == 1 {
		if id := p.idOf(behind[0], true); id != "" {
			p.found = append(p.found, foundDivision{id: id, functional: true})
			return i - 1, true
		}
	}
	return i - 1, p.addGroup(behind, "group")
}

// initials of words: "Structure protection" is SP.
func initials(words string) string {
	var b strings.Builder
	for _, w := range strings.Fields(words) {
		b.WriteString(strings.ToUpper(string([]rune(w)[:1])))
	}
	return b.String()
}

// partsOf takes a list of ids apart.
var partsOf = compiled(`\s*(?:[,;/&+]|\band\b)\s*`)

// addGroup adds a functional group that is named by words.
func (p *assignParser) addGroup(words []string, word string) bool {
	if len(words) > 4 {
		return false
	}
	name := strings.Join(words, " ")
	for _, v := range p.divisions {
		if v.functional && (strings.EqualFold(v.name, name) || strings.EqualFold(v.from, name+" "+word) || strings.EqualFold(v.from, name) || strings.EqualFold(v.name, name+" "+word)) {
			p.found = append(p.found, foundDivision{id: v.id, functional: true})
			return true
		}
	}
	// "Structure Group" where the one group is Structure protection.
	var like []*division
	for _, v := range p.divisions {
		if v.functional && len(v.name) > len(name) && strings.EqualFold(v.name[:len(name)], name) && v.name[len(name)] == ' ' {
			like = append(like, v)
		}
	}
	if len(like) == 1 {
		p.found = append(p.found, foundDivision{id: like[0].id, functional: true})
		p.notes = append(p.notes, name+" "+word+" is taken for functional group "+like[0].id+", "+like[0].name)
		return true
	}
	if len(words) == 1 {
		if id := p.idOf(words[0], false); id != "" {
			p.found = append(p.found, foundDivision{id: id, functional: true})
			return true
		}
	}
	id := initials(name)
	if len(words) == 1 { // a single letter would be taken for a division's
		id = strings.ToUpper(string([]rune(name)[:min(3, len([]rune(name)))]))
	}
	if !validID(id) || p.division(id) != nil {
		return false
	}
	p.found = append(p.found, foundDivision{id: id, functional: true, from: name + " " + word})
	return true
}

// leftOver judges the words that are no id: beside one division they are what it
// is called.
func (p *assignParser) leftOver(extra [][]string) bool {
	switch {
	case len(extra) == 0:
		return true
	case len(extra) > 1 || len(p.found) != 1 || len(extra[0]) > 4:
		return false
	}
	name := strings.Join(extra[0], " ")
	if hasDigit(name) || len(name) < 3 {
		return false
	}
	if w := extra[0][0]; wordClasses[strings.ToLower(w)] != placeWord && strings.ToLower(w) == w {
		p.notes = append(p.notes, "not taken for the division's name: "+name) // words of a sentence
		return true
	}
	p.name = name
	return true
}
