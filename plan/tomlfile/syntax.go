package tomlfile

import (
	"bytes"
	"cmp"
	"fmt"
	"regexp"
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

// syntaxFault reports, in our own words, a statement that begins at start and
// cannot be read at offset at; message is the parser's.
func (f *File) syntaxFault(start, at int, message string) {
	line := f.line(start)
	end := f.lineEnd(line)
	first := string(f.data[start:end])
	has := func(parts ...string) bool {
		for _, p := range parts {
			if strings.Contains(message, p) {
				return true
			}
		}
		return false
	}
	key, value, assigned := strings.Cut(first, "=")
	key, value = strings.TrimSpace(key), strings.TrimSpace(value)
	valueAt := f.skip(start+strings.IndexByte(first, '=')+1, " \t")
	r, size := utf8.DecodeRune(f.data[min(at, len(f.data)):])
	here := span{at, at + max(1, size)}
	say := func(s span, message string, help ...string) *finding.Finding {
		return f.add(s, RuleSyntax, message, help...)
	}

	if date := zonedDate.FindStringSubmatch(value); date != nil && f.line(at) == line {
		f.zoneFault(span{valueAt, valueAt + len(date[0])}, date[1], date[2], date[3])
		return
	}
	if at < len(f.data) && strings.ContainsRune("“”„‘’‚«»", r) {
		fault := say(here, "the typographic quotation mark "+string(r)+" cannot enclose text")
		f.offer(fault, `write "`, f.straightQuotes(line)...)
		return
	}
	if date := slashedDate.FindString(value); date != "" && f.line(at) == line {
		say(span{valueAt, valueAt + len(date)}, date+" is not how a date is written", "write a day as 2027-03-01, a date and time as 2027-08-14T06:00:00-06:00")
		return
	}
	switch {
	case has("levels deep"):
		f.tooDeep(here)
	case has("terminated by"):
		say(span{valueAt, valueAt + 3}, "the text that begins here is not closed",
			"put "+string(f.data[min(valueAt, len(f.data)):min(valueAt+3, len(f.data))])+" behind its last line")
	case has("unterminated", "cannot have new lines"):
		quote := f.openQuote(start, at)
		fault := say(span{quote, at}, "the text that begins here is not closed in its line")
		mark := string(f.data[quote : quote+1])
		stop := f.valueEnd(quote)
		f.replace(fault, "put "+mark+" behind it; text of several lines stands between \"\"\" and \"\"\"", span{stop, stop}, mark)
	case has("escape", "need a character after"):
		say(here, "a backslash in text must be written twice", `write \\ for \, or put the text between ' and '`)
	case has("too many quotes"):
		say(here, "there are too many quotation marks at the end of the text", "close it with three")
	case has("to close table name", "to close array table name"):
		brackets := "]"
		if strings.HasPrefix(first, "[[") {
			brackets = "]]"
		}
		fault := say(span{start, end}, "the header is not closed with "+brackets)
		shut := closedHeader(first, brackets)
		f.replace(fault, "write "+shut, span{start, f.valueEnd(start)}, shut)
	case has("expected '=' after key") && r == ':':
		text := strings.TrimSpace(string(f.data[at+1 : f.lineEnd(f.line(at))]))
		fault := say(here, "a colon stands where an equals sign belongs")
		f.replace(fault, "write "+f.wordBefore(start, at)+" = "+short(cmp.Or(text, "...")), here, " =")
	case has("expected '=' after key") && f.inBraces(start, at):
		words, value, _ := strings.Cut(f.pairAround(start, at), "=")
		say(here, "a name of several words must stand in quotes", fmt.Sprintf("write %q = %s", short(strings.TrimSpace(words)), short(cmp.Or(strings.TrimSpace(value), "..."))))
	case has("expected '=' after key"):
		say(here, "an equals sign is missing after "+f.wordBefore(start, at), "write KEY = VALUE; text of several words as a key stands in quotes")
	case has("invalid character at start of key", "expected key but"):
		switch {
		case strings.HasPrefix(first, "["):
			say(span{start, end}, "the header has no name that can be read", "write a name of letters, digits, - and _ in brackets, or put it in quotes")
		case assigned && at != start:
			say(here, "the key "+key+" has a character that must stand in quotes", "write keys of letters, digits, - and _")
		default:
			say(here, "a line must begin with a key or a [header], not with "+character(r), "a remark begins with #")
		}
	case has("number after sign", "expected digit", "radix prefix", "underscores", "leading zeroes", "decimal point", "exponent"):
		token := f.word(f.wordStart(at))
		if bare := strings.TrimLeft(f.source(token), "0"); has("leading zeroes") && bare != "" {
			if bare[0] < '1' || bare[0] > '9' {
				bare = "0" + bare
			}
			say(token, f.source(token)+" begins with a zero", fmt.Sprintf("write %s; or %q, in quotes, where text belongs", bare, f.source(token)))
			return
		}
		help := "write digits, with a decimal point where needed"
		say(token, f.source(token)+" is not a number", help)
	case has("array is incomplete"), has("expected ',' or ']'") && f.line(at) > line && statementLine.Match(f.data[f.lines[f.line(at)]:f.lineEnd(f.line(at))]):
		say(span{valueAt, end}, "the list that begins here is not closed with ]", "put ] behind its last value")
	case has("inline table is incomplete"), has("expected ',' or '}'") && f.line(at) > line:
		say(span{valueAt, end}, "the table that begins here is not closed with }", "put } behind its last value")
	case has("expected ',' or ']'", "expected ',' or '}'"):
		fault := say(here, "a comma is missing before "+character(r))
		behind := len(bytes.TrimRight(f.data[:at], " \t\r\n"))
		f.replace(fault, "put commas between the values", span{behind, behind}, ",")
	case has("unexpected comma", "expected value but got"):
		f.replace(say(here, "there is no value before this comma"), "delete the comma", here, "")
	case has("not end of input", "at start of value", "expected keyword", "strings must be quoted"):
		token := f.word(f.wordStart(at))
		switch {
		case at >= len(f.data) || r == '\n' || r == '\r' || r == '#':
			say(span{start, end}, "there is no value after "+key+" =", "write one; text stands in quotes, and a key without value is left out")
		case token.to > token.from && unicode.IsLetter(firstRune(f.data[token.from:])):
			if l := f.line(token.from); l == line && token.from == valueAt {
				token = span{token.from, f.valueEnd(token.from)}
			}
			word := f.source(token)
			if lower := strings.ToLower(word); lower == "true" || lower == "false" {
				f.replace(say(token, word+" must be written in small letters"), "write "+lower, token, lower)
				return
			}
			if truth, ok := truths[strings.ToLower(word)]; ok {
				fault := say(token, word+" is neither true nor false, and no text in quotes")
				f.replace(fault, "write "+truth, token, truth)
				f.replace(fault, "write "+strconv.Quote(word)+" where text belongs", token, strconv.Quote(word))
				return
			}
			if radio := strings.HasSuffix(key, "_tone") || key == "tone"; radio && noTone[strings.ToLower(word)] {
				say(token, word+" is no tone", "delete the line: a channel without tone has no "+key)
				return
			}
			text := strconv.Quote(string(f.data[token.from:token.to]))
			f.replace(say(token, "the text "+word+" must stand in quotes"), "write "+strconv.Quote(word), token, text)
		case r == '.':
			f.replace(say(here, "a number must begin with a digit"), "write 0 before the point", span{at, at}, "0")
		default:
			say(here, "no value begins with "+character(r), "text stands in quotes")
		}
	case has("expected newline"):
		switch {
		case r == ',' && decimalComma.MatchString(value):
			fault := say(here, "a number is written with a decimal point, not with a comma")
			number := span{valueAt, f.valueEnd(valueAt)}
			point := decimalComma.ReplaceAllString(f.source(number), "$1.$2")
			f.replace(fault, "write "+key+" = "+point, number, point)
		case strings.HasPrefix(first, "["):
			behind := strings.TrimSpace(string(f.data[at:end]))
			header := strings.TrimSpace(string(f.data[start:at]))
			help := "write # before it, or delete it"
			if statementLine.MatchString(behind) {
				help = "write " + short(behind) + " in the next line"
			}
			say(span{at, end}, "there is something behind "+short(header)+" in its line", help)
		default:
			say(here, "there is something behind the value of "+key, "put one key and its value on a line; text stands in quotes, a remark begins with #")
		}
	default:
		say(here, "this line cannot be read", "write KEY = VALUE or [HEADER]")
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
