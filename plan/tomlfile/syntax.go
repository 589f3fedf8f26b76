package tomlfile

import (
	"bytes"
	"cmp"
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"slotcard/plan/finding"
)

// decimalComma is a number such as 152,4125.
var decimalComma = regexp.MustCompile(`(\d+),(\d+)`)

// slashedDate is a day such as 8/14/2027 or 14.08.2027 at the beginning of a value.
var slashedDate = regexp.MustCompile(`^(?:\d{1,2}/\d{1,2}/\d{2,4}|\d{1,2}\.\d{1,2}\.\d{2,4}|\d{4}/\d{1,2}/\d{1,2})`)

// truths are the words that people write for true and false.
var truths = map[string]string{"yes": "true", "on": "true", "no": "false", "off": "false"}

// unread is a statement that cannot be read.
type unread struct {
	f          *File
	message    string // the parser's
	start, end int    // of its first line
	at         int    // where reading stopped
	line       int    // of its beginning
	first      string // its first line
	key, value string // in that, as far as there is an equals sign
	assigned   bool
	valueAt    int
	r          rune // at which reading stopped
	here       span // of that
}

// says tells whether the parser's message has one of these parts.
func (s *unread) says(parts ...string) bool {
	return slices.ContainsFunc(parts, func(p string) bool { return strings.Contains(s.message, p) })
}

func (s *unread) say(at span, message string, help ...string) *finding.Finding {
	return s.f.add(at, RuleSyntax, message, help...)
}

// unreadAt is the statement that begins at start.
func (f *File) unreadAt(start, at int, message string) *unread {
	s := &unread{f: f, message: message, start: start, at: at, line: f.line(start)}
	s.end = f.lineEnd(s.line)
	s.first = string(f.data[start:s.end])
	key, value, assigned := strings.Cut(s.first, "=")
	s.key, s.value, s.assigned = strings.TrimSpace(key), strings.TrimSpace(value), assigned
	s.valueAt = f.skip(start+strings.IndexByte(s.first, '=')+1, " \t")
	r, size := utf8.DecodeRune(f.data[min(at, len(f.data)):])
	s.r, s.here = r, span{at, at + max(1, size)}
	return s
}

// syntaxFault reports, in our own words, a statement that begins at start and
// cannot be read at offset at; message is the parser's.
func (f *File) syntaxFault(start, at int, message string) {
	s := f.unreadAt(start, at, message)
	if date := zonedDate.FindStringSubmatch(s.value); date != nil && s.f.line(s.at) == s.line {
		s.f.zoneFault(span{s.valueAt, s.valueAt + len(date[0])}, date[1], date[2], date[3])
		return
	}
	if s.at < len(s.f.data) && strings.ContainsRune("“”„‘’‚«»", s.r) {
		fault := s.say(s.here, "the typographic quotation mark "+string(s.r)+" cannot enclose text")
		s.f.offer(fault, `write "`, s.f.straightQuotes(s.line)...)
		return
	}
	if date := slashedDate.FindString(s.value); date != "" && s.f.line(s.at) == s.line {
		s.say(span{s.valueAt, s.valueAt + len(date)}, date+" is not how a date is written", "write a day as 2027-03-01, a date and time as 2027-08-14T06:00:00-06:00")
		return
	}
	switch {
	case s.says("levels deep"):
		s.f.tooDeep(s.here)
	case s.says("terminated by"):
		s.say(span{s.valueAt, s.valueAt + 3}, "the text that begins here is not closed",
			"put "+string(s.f.data[min(s.valueAt, len(s.f.data)):min(s.valueAt+3, len(s.f.data))])+" behind its last line")
	case s.says("unterminated", "cannot have new lines"):
		quote := s.f.openQuote(s.start, s.at)
		fault := s.say(span{quote, s.at}, "the text that begins here is not closed in its line")
		mark := string(s.f.data[quote : quote+1])
		stop := s.f.valueEnd(quote)
		s.f.replace(fault, "put "+mark+" behind it; text of several lines stands between \"\"\" and \"\"\"", span{stop, stop}, mark)
	case s.says("escape", "need a character after"):
		s.say(s.here, "a backslash in text must be written twice", `write \\ for \, or put the text between ' and '`)
	case s.says("too many quotes"):
		s.say(s.here, "there are too many quotation marks at the end of the text", "close it with three")
	case s.says("to close table name", "to close array table name"):
		brackets := "]"
		if strings.HasPrefix(s.first, "[[") {
			brackets = "]]"
		}
		fault := s.say(span{s.start, s.end}, "the header is not closed with "+brackets)
		shut := closedHeader(s.first, brackets)
		s.f.replace(fault, "write "+shut, span{s.start, s.f.valueEnd(s.start)}, shut)
	case s.says("expected '=' after key", "invalid character at start of key", "expected key but"):
		s.keyFault()
	case s.says("number after sign", "expected digit", "radix prefix", "underscores", "leading zeroes", "decimal point", "exponent"):
		s.numberFault()
	case s.says("array is incomplete"), s.says("expected ',' or ']'") && s.f.line(s.at) > s.line && statementLine.Match(s.f.data[s.f.lines[s.f.line(s.at)]:s.f.lineEnd(s.f.line(s.at))]):
		s.say(span{s.valueAt, s.end}, "the list that begins here is not closed with ]", "put ] behind its last value")
	case s.says("inline table is incomplete"), s.says("expected ',' or '}'") && s.f.line(s.at) > s.line:
		s.say(span{s.valueAt, s.end}, "the table that begins here is not closed with }", "put } behind its last value")
	case s.says("expected ',' or ']'", "expected ',' or '}'"):
		fault := s.say(s.here, "a comma is missing before "+character(s.r))
		behind := len(bytes.TrimRight(s.f.data[:s.at], " \t\r\n"))
		s.f.replace(fault, "put commas between the values", span{behind, behind}, ",")
	case s.says("unexpected comma", "expected value but got"):
		s.f.replace(s.say(s.here, "there is no value before this comma"), "delete the comma", s.here, "")
	case s.says("not end of input", "at start of value", "expected keyword", "strings must be quoted"):
		s.valueFault()
	case s.says("expected newline"):
		s.behindFault()
	default:
		s.say(s.here, "this line cannot be read", "write KEY = VALUE or [HEADER]")
	}
}

// keyFault is a key, or a header's, that cannot be read.
func (s *unread) keyFault() {
	switch {
	case s.says("expected '=' after key") && s.r == ':':
		text := strings.TrimSpace(string(s.f.data[s.at+1 : s.f.lineEnd(s.f.line(s.at))]))
		fault := s.say(s.here, "a colon stands where an equals sign belongs")
		s.f.replace(fault, "write "+s.f.wordBefore(s.start, s.at)+" = "+short(cmp.Or(text, "...")), s.here, " =")
	case s.says("expected '=' after key") && s.f.inBraces(s.start, s.at):
		words, rest, _ := strings.Cut(s.f.pairAround(s.start, s.at), "=")
		s.say(s.here, "a name of several words must stand in quotes", fmt.Sprintf("write %q = %s", short(strings.TrimSpace(words)), short(cmp.Or(strings.TrimSpace(rest), "..."))))
	case s.says("expected '=' after key"):
		s.say(s.here, "an equals sign is missing after "+s.f.wordBefore(s.start, s.at), "write KEY = VALUE; text of several words as a key stands in quotes")
	case strings.HasPrefix(s.first, "["):
		s.say(span{s.start, s.end}, "the header has no name that can be read", "write a name of letters, digits, - and _ in brackets, or put it in quotes")
	case s.assigned && s.at != s.start:
		s.say(s.here, "the key "+s.key+" has a character that must stand in quotes", "write keys of letters, digits, - and _")
	default:
		s.say(s.here, "a line must begin with a key or a [header], not with "+character(s.r), "a remark begins with #")
	}
}

// numberFault is a number that cannot be read.
func (s *unread) numberFault() {
	token := s.f.word(s.f.wordStart(s.at))
	if bare := strings.TrimLeft(s.f.source(token), "0"); s.says("leading zeroes") && bare != "" {
		if bare[0] < '1' || bare[0] > '9' {
			bare = "0" + bare
		}
		s.say(token, s.f.source(token)+" begins with a zero", fmt.Sprintf("write %s; or %q, in quotes, where text belongs", bare, s.f.source(token)))
		return
	}
	help := "write digits, with a decimal point where needed"
	s.say(token, s.f.source(token)+" is not a number", help)
}

// valueFault is a value that is missing, or that is no value.
func (s *unread) valueFault() {
	token := s.f.word(s.f.wordStart(s.at))
	switch {
	case s.at >= len(s.f.data) || s.r == '\n' || s.r == '\r' || s.r == '#':
		s.say(span{s.start, s.end}, "there is no value after "+s.key+" =", "write one; text stands in quotes, and a key without value is left out")
	case token.to > token.from && unicode.IsLetter(firstRune(s.f.data[token.from:])):
		if l := s.f.line(token.from); l == s.line && token.from == s.valueAt {
			token = span{token.from, s.f.valueEnd(token.from)}
		}
		word := s.f.source(token)
		if lower := strings.ToLower(word); lower == "true" || lower == "false" {
			s.f.replace(s.say(token, word+" must be written in small letters"), "write "+lower, token, lower)
			return
		}
		if truth, ok := truths[strings.ToLower(word)]; ok {
			fault := s.say(token, word+" is neither true nor false, and no text in quotes")
			s.f.replace(fault, "write "+truth, token, truth)
			s.f.replace(fault, "write "+strconv.Quote(word)+" where text belongs", token, strconv.Quote(word))
			return
		}
		if radio := strings.HasSuffix(s.key, "_tone") || s.key == "tone"; radio && noTone[strings.ToLower(word)] {
			s.say(token, word+" is no tone", "delete the line: a channel without tone has no "+s.key)
			return
		}
		text := strconv.Quote(string(s.f.data[token.from:token.to]))
		s.f.replace(s.say(token, "the text "+word+" must stand in quotes"), "write "+strconv.Quote(word), token, text)
	case s.r == '.':
		s.f.replace(s.say(s.here, "a number must begin with a digit"), "write 0 before the point", span{s.at, s.at}, "0")
	default:
		s.say(s.here, "no value begins with "+character(s.r), "text stands in quotes")
	}
}

// behindFault is something that stands behind a value or a header.
func (s *unread) behindFault() {
	switch {
	case s.r == ',' && decimalComma.MatchString(s.value):
		fault := s.say(s.here, "a number is written with a decimal point, not with a comma")
		number := span{s.valueAt, s.f.valueEnd(s.valueAt)}
		point := decimalComma.ReplaceAllString(s.f.source(number), "$1.$2")
		s.f.replace(fault, "write "+s.key+" = "+point, number, point)
	case strings.HasPrefix(s.first, "["):
		behind := strings.TrimSpace(string(s.f.data[s.at:s.end]))
		header := strings.TrimSpace(string(s.f.data[s.start:s.at]))
		help := "write # before it, or delete it"
		if statementLine.MatchString(behind) {
			help = "write " + short(behind) + " in the next line"
		}
		s.say(span{s.at, s.end}, "there is something behind "+short(header)+" in its line", help)
	default:
		s.say(s.here, "there is something behind the value of "+s.key, "put one key and its value on a line; text stands in quotes, a remark begins with #")
	}
}

// straightQuotes are the changes that make the typographic quotation marks of a
// line plain ones.
func (f *File) straightQuotes(line int) []finding.Change {
	var changes []finding.Change
	for i, r := range string(f.data[f.lines[line]:f.lineEnd(line)]) {
		if strings.ContainsRune("“”„", r) {
			at := f.lines[line] + i
			changes = append(changes, f.Change(Span{at, at + utf8.RuneLen(r)}, `"`))
		}
	}
	return changes
}

// zonedDate is a date and time with the letters of a zone behind it.
var zonedDate = regexp.MustCompile(`^(\d{4}-\d\d-\d\d)[T ](\d\d:\d\d(?::\d\d)?)\s*([A-Za-z]{2,5})\b`)

// zones are the letters of zones with their offset from UTC: those of the United
// States (15 U.S.C. 261 and 260a, from memory), and of UTC itself.
var zones = map[string]string{
	"UTC": "+00:00", "GMT": "+00:00",
	"AST": "-04:00", "EST": "-05:00", "EDT": "-04:00", "CST": "-06:00", "CDT": "-05:00", "MST": "-07:00", "MDT": "-06:00",
	"PST": "-08:00", "PDT": "-07:00", "AKST": "-09:00", "AKDT": "-08:00", "HST": "-10:00", "SST": "-11:00",
}

// zoneFault reports letters in place of an offset.
func (f *File) zoneFault(at span, day, clock, zone string) {
	if len(clock) == len("15:04") {
		clock += ":00"
	}
	fault := f.add(at, RuleSyntax, zone+" is not how a zone is written")
	if offset, ok := zones[strings.ToUpper(zone)]; ok {
		text := day + "T" + clock + offset
		f.replace(fault, "write "+text, at, text)
		return
	}
	fault.Help = []string{"write the offset from UTC in its place, such as -06:00"}
}

// noTone are words for carrier squelch that people write without quotes.
var noTone = map[string]bool{"csq": true, "none": true, "carrier": true}

// short bounds what a line of help repeats.
func short(s string) string {
	const longest = 60
	if r := []rune(s); len(r) > longest {
		return string(r[:longest]) + "…"
	}
	return s
}

// inBraces tells whether offset at is inside of a { that opens behind start.
func (f *File) inBraces(start, at int) bool {
	text := f.data[start:min(at, len(f.data))]
	return bytes.Count(text, []byte{'{'}) > bytes.Count(text, []byte{'}'})
}

// pairAround is what stands around offset at, up to the separators of an inline table.
func (f *File) pairAround(start, at int) string {
	from, to := min(at, len(f.data)), min(at, len(f.data))
	for from > start && strings.IndexByte("{},\n", f.data[from-1]) < 0 {
		from--
	}
	for to < len(f.data) && strings.IndexByte("{},\n", f.data[to]) < 0 {
		to++
	}
	return string(f.data[from:to])
}

func firstRune(b []byte) rune { r, _ := utf8.DecodeRune(b); return r }

// character names one in a message.
func character(r rune) string {
	switch {
	case r == utf8.RuneError || r == '\n' || r == '\r':
		return "the end of the line"
	case unicode.IsGraphic(r):
		return string(r)
	}
	return "U+" + strings.ToUpper(strconv.FormatInt(int64(r), 16))
}

func closedHeader(line, brackets string) string {
	line, _, _ = strings.Cut(line, "#")
	return strings.TrimRight(line, " \t]") + brackets
}

// openQuote is the last quotation mark that opens a text between start and at.
func (f *File) openQuote(start, at int) int {
	open, quote := start, byte(0)
	for i := start; i < min(at, len(f.data)); i++ {
		switch c := f.data[i]; {
		case quote == 0 && (c == '"' || c == '\''):
			open, quote = i, c
		case quote == '"' && c == '\\':
			i++
		case c == quote:
			quote = 0
		}
	}
	return open
}

const wordEnds = " \t\r\n,#=[]{}"

func (f *File) wordStart(at int) int {
	at = min(at, len(f.data))
	for at > 0 && strings.IndexByte(wordEnds, f.data[at-1]) < 0 {
		at--
	}
	return at
}

// word is what stands between blanks, commas and brackets.
func (f *File) word(from int) span {
	to := from
	for to < len(f.data) && strings.IndexByte(wordEnds, f.data[to]) < 0 {
		to++
	}
	return span{from, to}
}

// valueEnd is the end of the line's value, before a remark.
func (f *File) valueEnd(from int) int {
	text := string(f.data[from:f.lineEnd(f.line(from))])
	text, _, _ = strings.Cut(text, "#")
	return from + len(strings.TrimRight(text, " \t"))
}

func (f *File) wordBefore(start, at int) string {
	text := strings.TrimSpace(string(f.data[start:min(at, len(f.data))]))
	if text = text[strings.LastIndexByte(text, '\n')+1:]; text != "" {
		return text
	}
	return "the key"
}
