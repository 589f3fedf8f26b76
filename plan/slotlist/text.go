package slotlist

import (
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"golang.org/x/text/unicode/norm"

	"slotcard/plan/radio"
)

// version of the grammar of the list text.
const version = "1"

// minute is the layout of a time of the period: local, to the minute.
const minute = "2006-01-02T15:04"

// Canonical is the text that the read-back code is computed over: for each slot
// one line of fields joined by TAB. It holds all that is programmed and who uses
// it, and nothing of the head.
func (l List) Canonical() string {
	var b strings.Builder
	for i, s := range l.Lines {
		rx, tx := strconv.FormatInt(int64(s.Rx), 10), strconv.FormatInt(int64(s.Tx), 10)
		if s.Trunked() {
			rx, tx = s.talkgroup(), "-"
		}
		b.WriteString(strings.Join([]string{
			strconv.Itoa(i + 1), s.Name, s.Use.String(), strings.Join(s.Divisions, ","),
			rx, tx, s.RxTone.String(), s.TxTone.String(), s.Mode.String(), s.Width.String(),
		}, "\t"))
		b.WriteByte('\n')
	}
	return norm.NFC.String(b.String())
}

// Code is the read-back code of the list.
func (l List) Code() Code { return codeOf(l.Canonical()) }

// Encode writes the list text, which is printable ASCII in lines ended by LF.
// Names and ids must be valid: see [Line]; the program refuses others as it reads a plan.
func (l List) Encode() string {
	var b strings.Builder
	fmt.Fprintf(&b, "SLOTS %s %s/%s", version, head(l.Incident, true), l.issue())
	if l.Exercise {
		b.WriteString(exerciseMark)
	}
	b.WriteByte('\n')
	fmt.Fprintf(&b, "%s/%s LOAD %s\n", l.From.Format(minute), l.To.Format(minute), head(l.Edition, false))
	for i, s := range l.Lines {
		fmt.Fprintf(&b, "%d %s", i+1, s.Use.Code())
		if len(s.Divisions) > 0 {
			b.WriteString(":" + strings.Join(s.Divisions, ","))
		}
		b.WriteString(" " + s.Name + " ")
		switch {
		case s.Trunked():
			b.WriteString(s.talkgroup())
		case s.Rx == s.Tx:
			b.WriteString(s.Rx.String())
		default:
			b.WriteString(s.Rx.String() + "/" + s.Tx.String())
		}
		b.WriteString(" " + s.RxTone.String() + "/" + s.TxTone.String())
		switch s.Mode {
		case radio.Digital:
			b.WriteString(" D")
		case radio.Mixed:
			b.WriteString(" M")
		}
		if s.Width == radio.Wide {
			b.WriteString(" W")
		}
		b.WriteByte('\n')
	}
	b.WriteString("=" + string(l.Code()) + "\n")
	return b.String()
}

// exerciseMark ends the first line of a list that is an exercise's.
const exerciseMark = " EXERCISE"

// issue is the period, from revision 2 on with the revision: "2", "2.3".
func (l List) issue() string {
	if l.Revision < firstRevision {
		return strconv.Itoa(l.Period)
	}
	return fmt.Sprintf("%d.%d", l.Period, l.Revision)
}

// firstRevision is the least number that a revision can have: what a period
// begins with has none.
const firstRevision = 2

// SyntaxError is a list text that is not one: which line, from 1, and why.
type SyntaxError struct {
	Line   int
	Reason string
	err    error
}

func (e *SyntaxError) Error() string { return fmt.Sprintf("line %d: %s", e.Line, e.Reason) }

// Unwrap gives [ErrVersion] for a text of another version.
func (e *SyntaxError) Unwrap() error { return e.err }

// ErrVersion marks a list text that may be sound, but of a version of the
// grammar that this package does not read.
var ErrVersion = errors.New("version not supported")

// CodeError is a list whose code does not fit it: a line was changed, or lost,
// after the code had been computed.
type CodeError struct{ Stated, Computed Code }

func (e *CodeError) Error() string {
	return fmt.Sprintf("the text says code %s, but its slots give %s", e.Stated.Pairs(), e.Computed.Pairs())
}

// Parse reads a list text and the code it states. It accepts CR LF, blanks at
// the end of a line or of the text, and a missing final newline. Times are given
// as UTC: the text has no offset. The error is a [*SyntaxError], or a
// [*CodeError] together with the list that was read.
func Parse(text string) (List, Code, error) {
	lines := strings.Split(strings.TrimRight(text, " \t\r\n"), "\n")
	for i, line := range lines {
		line = strings.TrimRight(strings.TrimSuffix(line, "\r"), " \t")
		lines[i] = line
		for _, r := range line {
			if r < ' ' || r > '~' {
				return List{}, "", wrong(i, "holds %q: a list text is printable ASCII", r)
			}
		}
	}
	var l List
	var code Code
	if err := l.parseHead(lines); err != nil {
		return List{}, "", err
	}
	for i := 2; ; i++ {
		switch {
		case i == len(lines):
			return List{}, "", wrong(i-1, "ends without a read-back code: = and %d digits", codeDigits)
		case strings.HasPrefix(lines[i], "="):
			stated, err := ParseCode(lines[i][1:])
			switch {
			case len(l.Lines) == 0:
				return List{}, "", wrong(i, "has the read-back code before any slot")
			case err != nil:
				return List{}, "", wrong(i, "%v", err)
			case string(stated) != lines[i][1:]:
				return List{}, "", wrong(i, "read-back code %.40q is not written as =%s", lines[i][1:], stated)
			case i+1 < len(lines):
				return List{}, "", wrong(i+1, "stands after the read-back code")
			}
			code = stated
		default:
			line, reason := parseLine(lines[i], i-1)
			if reason != "" {
				return List{}, "", wrong(i, "%s", reason)
			}
			l.Lines = append(l.Lines, line)
			continue
		}
		break
	}
	if computed := l.Code(); computed != code {
		return l, code, &CodeError{Stated: code, Computed: computed}
	}
	return l, code, nil
}

// wrong is an error in line i, from 0.
func wrong(i int, format string, args ...any) *SyntaxError {
	return &SyntaxError{Line: i + 1, Reason: fmt.Sprintf(format, args...)}
}

func (l *List) parseHead(lines []string) error {
	first, ok := strings.CutPrefix(lines[0], "SLOTS ")
	v, first, ok2 := strings.Cut(first, " ")
	switch {
	case !ok || v == "":
		return wrong(0, "is not the head of a slot list: SLOTS, version, incident, / and period")
	case v != version && isDigits(v):
		return &SyntaxError{1, fmt.Sprintf("is a slot list of version %.9s, and", v) + " only version " + version + " can be read", ErrVersion}
	case v != version || !ok2:
		return wrong(0, "is not the head of a slot list: SLOTS, version, incident, / and period")
	}
	if err := l.parseIncident(first); err != nil {
		return err
	}
	if len(lines) < 2 {
		return wrong(1, "is missing: the period as an interval, LOAD and the edition")
	}
	interval, edition, ok := strings.Cut(lines[1], " LOAD ")
	from, to, ok2 := strings.Cut(interval, "/")
	if !ok || !ok2 {
		return wrong(1, "is not an interval of two times joined by /, LOAD and the edition")
	}
	if head(edition, false) != edition {
		return wrong(1, "edition %.40q is not written with single spaces", edition)
	}
	l.Edition = edition
	for _, t := range []struct {
		text string
		time *time.Time
	}{{from, &l.From}, {to, &l.To}} {
		parsed, err := time.Parse(minute, t.text)
		if err != nil || parsed.Format(minute) != t.text {
			return wrong(1, "%.40q is not a local time such as 2027-08-14T06:00", t.text)
		}
		*t.time = parsed
	}
	return nil
}

// parseIncident reads what stands behind the version: incident, period, revision,
// and the mark of an exercise, from the right.
func (l *List) parseIncident(text string) error {
	text, l.Exercise = strings.CutSuffix(text, exerciseMark)
	slash := strings.LastIndexByte(text, '/')
	if slash < 0 {
		return wrong(0, "has no / and period behind the incident")
	}
	name := text[:slash]
	number, revision, revised := strings.Cut(text[slash+1:], ".")
	if head(name, true) != name {
		return wrong(0, "incident %.40q is not in capitals with single spaces", name)
	}
	var ok bool
	if l.Period, ok = parseCount(number); !ok {
		return wrong(0, "period %.40q is not a number", number)
	}
	if l.Revision, ok = parseCount(revision); revised && (!ok || l.Revision < firstRevision) {
		return wrong(0, "revision %.40q is not a number from %d", revision, firstRevision)
	}
	l.Incident = name
	return nil
}

// parseCount reads a whole number that is written as this package writes it.
func parseCount(s string) (n int, ok bool) {
	n, err := strconv.Atoi(s)
	return n, err == nil && n >= 0 && strconv.Itoa(n) == s
}

// parseLine reads the line of the slot at a position, from the left up to the
// display name and from the right down to it; the reason says what is wrong.
func parseLine(text string, position int) (l Line, reason string) {
	fields := strings.Split(text, " ")
	if slices.Contains(fields, "") {
		if text == "" {
			return l, "is empty"
		}
		return l, "has a blank too many"
	}
	last := func() string {
		if len(fields) == 0 {
			return ""
		}
		return fields[len(fields)-1]
	}
	if last() == "W" {
		l.Width = radio.Wide
		fields = fields[:len(fields)-1]
	}
	switch last() {
	case "D":
		l.Mode = radio.Digital
		fields = fields[:len(fields)-1]
	case "M":
		l.Mode = radio.Mixed
		fields = fields[:len(fields)-1]
	}
	if len(fields) < 5 {
		return l, "is not a slot: position, use, display name, frequency, squelch"
	}
	n := len(fields)
	if fields[0] != strconv.Itoa(position) {
		return l, fmt.Sprintf("begins with %.40q where position %d is due", fields[0], position)
	}

	use, ids, divided := strings.Cut(fields[1], ":")
	var ok bool
	if l.Use, ok = radio.ParseUseCode(use); !ok {
		return l, fmt.Sprintf("%.40q is not a use: CMD, TAC, A/G, GUARD, SUP, TRAV or MED", use)
	}
	if divided {
		l.Divisions = strings.Split(ids, ",")
		for i, id := range l.Divisions {
			if err := validID(id); err != nil {
				return l, fmt.Sprintf("division %.40q %v", id, err)
			}
			if slices.Contains(l.Divisions[:i], id) {
				return l, fmt.Sprintf("names division %.40q twice", id)
			}
		}
	}
	l.Name = strings.Join(fields[2:n-2], " ")
	if reason = l.parseFrequency(fields[n-2]); reason != "" {
		return l, reason
	}
	rx, tx, ok := strings.Cut(fields[n-1], "/")
	if !ok {
		return l, fmt.Sprintf("%.40q is not a receive and a transmit squelch joined by /", fields[n-1])
	}
	if l.RxTone, reason = parseSquelch(rx); reason != "" {
		return l, reason
	}
	l.TxTone, reason = parseSquelch(tx)
	return l, reason
}

func (l *Line) parseFrequency(text string) (reason string) {
	rx, tx, pair := strings.Cut(text, "/")
	if pair && !likeFrequencies(rx, tx) {
		if rx == "" || tx == "" {
			return fmt.Sprintf("%.40q is neither a frequency nor a system and a talkgroup", text)
		}
		l.System, l.Talkgroup = rx, tx
		return ""
	}
	if l.Rx, reason = parseMHz(rx); reason != "" {
		return reason
	}
	if l.Tx = l.Rx; pair {
		if l.Tx, reason = parseMHz(tx); reason != "" {
			return reason
		}
		if l.Tx == l.Rx {
			return "writes a transmit frequency that does not differ from receive"
		}
	}
	return ""
}

// parseMHz takes a frequency only as the list text writes it, so that a lost
// digit is not taken for another frequency.
func parseMHz(s string) (h radio.Hertz, reason string) {
	h, err := radio.ParseMHz(s)
	switch {
	case err != nil:
		return 0, fmt.Sprintf("frequency %.40q %v", s, err)
	case h.String() != s:
		return 0, fmt.Sprintf("frequency %.40q is not written as %s", s, h)
	}
	return h, ""
}

func parseSquelch(s string) (q radio.Squelch, reason string) {
	q, err := radio.ParseSquelch(s)
	switch {
	case err != nil:
		return q, fmt.Sprintf("squelch %.40q %v", s, err)
	case q.String() != s:
		return q, fmt.Sprintf("squelch %.40q is not written as %s", s, q)
	}
	return q, ""
}

func isDigits(s string) bool { return s != "" && strings.Trim(s, "0123456789") == "" }
