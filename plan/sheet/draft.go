package sheet

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"slotcard/plan"
	"slotcard/plan/radio"
)

// Options say what the sheet does not: what is set wins over the sheet.
type Options struct {
	LoadPath string // of the load, as the plan is to name it; with slashes
	Source   string // name of the sheet's file, for a comment

	Name, Number         string // of the incident
	Period               int
	From, To, PreparedAt string // dates and times, as on a sheet
	PreparedBy           string
	Offset               string // from UTC, such as -06:00, of times without one
	Exercise, Aircraft   *bool
}

// Draft is a plan drafted from a sheet: always readable, but not decided where
// Open says so.
type Draft struct {
	TOML  []byte
	Slots int
	Open  []Open // in order of the draft
}

// Open is something that a person must decide, written so that the checks point
// at it as well.
type Open struct {
	Line  int    // of the draft, from 1
	Row   int    // line of the sheet; 0: not about a line
	Where string // such as "slot 3", or a key of the incident
	What  string // one line, lower case, no full stop
}

// drafter writes a draft.
type drafter struct {
	sheet *Sheet
	load  *plan.Load
	o     Options
	b     strings.Builder
	lines int
	open  []Open

	divisions []*division // in order
}

// division is one that the sheet names.
type division struct {
	id, name, supervisor string
	functional           bool
	beside               string
	listed               bool   // in a line of its own above the table
	from                 string // the words that the id was made from, where it was
}

// Draft looks every row up in the load and writes a plan. It is the same each
// time.
func (s *Sheet) Draft(l *plan.Load, o Options) *Draft {
	d := &drafter{sheet: s, load: l, o: o}
	d.listDivisions()
	slots := make([]*slot, len(s.Rows))
	for i, r := range s.Rows {
		slots[i] = d.slot(r)
	}
	slots = ordered(slots)

	source := "a communications plan sheet"
	if o.Source != "" {
		source = o.Source
	}
	d.comment("Drafted by \"slotcard draft\" from %s. Compare it with the sheet", source)
	d.comment("line by line. Where it says DECIDE, a person must; slotcard check points there too.")
	d.line("")
	d.line("load = %s", quote(o.LoadPath))
	d.line("")
	d.incident(slots)
	d.line("")
	d.comment("The incident's list, in order: command first, guard last.")
	for i, sl := range slots {
		d.write(i, sl)
	}
	d.writeDivisions()
	d.alsos()
	d.line("")
	d.comment("Still to add, for cards: who sits where, and what each seat listens to.")
	for _, l := range strings.Split(strings.TrimSpace(seatsExample), "\n") {
		d.comment("%s", l)
	}
	return &Draft{TOML: []byte(d.b.String()), Slots: len(slots), Open: d.open}
}

const seatsExample = `
[[position]]
name     = "Engine boss"
priority = "own"
scan     = ["neighbours", "command"]

[[unit]]
name     = "Engine 1"
division = "A"
seats    = { "Engine boss" = 1 }
`

func (d *drafter) line(format string, args ...any) {
	d.b.WriteString(strings.TrimRight(fmt.Sprintf(format, args...), " "))
	d.b.WriteByte('\n')
	d.lines++
}

// comment writes a comment; nothing out of the sheet can end it.
func (d *drafter) comment(format string, args ...any) {
	d.line("# %s", clean2(fmt.Sprintf(format, args...)))
}

// clean2 keeps the spaces of a line but nothing that would break it.
func clean2(s string) string {
	return strings.Map(func(r rune) rune {
		if r < ' ' || r == 0x7f || r == 0x85 || r == 0x2028 || r == 0x2029 {
			return ' '
		}
		return r
	}, s)
}

// undecided notes that something on the next line, or on the one lines further,
// is for a person to decide.
func (d *drafter) undecided(row int, where, what string) {
	d.open = append(d.open, Open{Line: d.lines + 1, Row: row, Where: where, What: what})
}

// quote is a TOML basic string.
func quote(s string) string {
	var b strings.Builder
	b.WriteByte('"')
	for _, r := range s {
		switch {
		case r == '"' || r == '\\':
			b.WriteByte('\\')
			b.WriteRune(r)
		case r < ' ' || r == 0x7f:
			fmt.Fprintf(&b, `\u%04X`, r)
		default:
			b.WriteRune(r)
		}
	}
	b.WriteByte('"')
	return b.String()
}

// head is the first value of a title of the sheet, and its line.
func (d *drafter) head(is Title) (values []string, line int) {
	for _, h := range d.sheet.Heads {
		if h.Is == is && len(h.Values) > 0 {
			return h.Values, h.Line
		}
	}
	return nil, 0
}

// numbered finds the number of a period in words such as "2" or "period 2".
var numbered = compiled(`(?i)^(?:(?:operational )?period|op|no\.?|#)? *#?(\d{1,3})$`)

func (d *drafter) incident(slots []*slot) {
	d.line("[incident]")
	text := func(key, flag string, is Title, need string) {
		value := flag
		if values, _ := d.head(is); value == "" && values != nil {
			value = values[0]
			if is == PreparedBy {
				value = strings.TrimSpace(strings.TrimPrefix(value, "Name:"))
			}
		}
		switch {
		case value != "":
			d.line("%-11s = %s", key, quote(value))
		case need != "":
			d.missing(key, need)
		}
	}
	text("name", d.o.Name, IncidentName, `"..."`)
	text("number", d.o.Number, IncidentNumber, "")
	d.yes("exercise", d.o.Exercise, Exercise, "")

	values, _ := d.head(Period)
	period := d.o.Period
	if period == 0 && len(values) > 0 {
		if m := numbered().FindStringSubmatch(values[0]); m != nil {
			period, _ = strconv.Atoi(m[1])
			values = values[1:]
		}
	}
	if period > 0 {
		d.line("%-11s = %d", "period", period)
	} else {
		d.missing("period", "1")
	}
	span, ok := momentsOf(strings.Join(values, " "), d.o.Offset)
	for i, key := range []string{"from", "to"} {
		flag := []string{d.o.From, d.o.To}[i]
		switch {
		case flag != "":
			d.moment(key, flag, nil)
		case ok && len(span) == 2 && sameDayForward(span):
			d.moment(key, "", &span[i])
		default:
			d.missingMoment(key, strings.Join(values, " "))
		}
	}
	text("prepared_by", d.o.PreparedBy, PreparedBy, `"name, position"`)
	prepared, _ := d.head(Prepared)
	at, ok := momentsOf(strings.Join(prepared, " "), d.o.Offset)
	switch {
	case d.o.PreparedAt != "":
		d.moment("prepared_at", d.o.PreparedAt, nil)
	case ok && len(at) == 1:
		d.moment("prepared_at", "", &at[0])
	default:
		d.missingMoment("prepared_at", strings.Join(prepared, " "))
	}
	overhead := slices.ContainsFunc(slots, func(s *slot) bool { return s.use == radio.AirToGround })
	why := ""
	if overhead {
		why = "the sheet has an air-to-ground channel"
	}
	d.yes("aircraft", d.o.Aircraft, Aircraft, why)
	if said, _ := d.head(Instructions); said != nil {
		d.line("%s = %s", "instructions", quote(strings.Join(said, " ")))
	}
}

// sameDayForward tells whether a period ends after it begins. A night shift
// with one date for both ends does not say so.
func sameDayForward(span []moment) bool {
	return span[0].date+span[0].clock < span[1].date+span[1].clock
}

// yes writes a key that is true or absent.
func (d *drafter) yes(key string, flag *bool, is Title, because string) {
	values, _ := d.head(is)
	switch {
	case flag != nil:
		d.line("%-11s = %t", key, *flag)
	case values != nil:
		switch strings.ToLower(values[0]) {
		case "yes", "true", "y", "x":
			d.line("%-11s = true", key)
		}
	case because != "":
		d.line("%-11s = true   # %s", key, because)
	}
}

// missing leaves a required key out, so that the checks say so, with a line to
// complete.
func (d *drafter) missing(key, example string) {
	d.undecided(0, key, key+" is not on the sheet")
	d.comment("DECIDE: not on the sheet; take the # away and complete")
	d.comment("%-11s = %s", key, example)
}

func (d *drafter) missingMoment(key, said string) {
	if said == "" {
		d.missing(key, "2027-08-14T06:00:00-06:00")
		return
	}
	d.undecided(0, key, key+" cannot be told from the sheet: "+said)
	d.comment("DECIDE: the sheet says: %s", said)
	d.comment("%-11s = 2027-08-14T06:00:00-06:00", key)
}

// moment writes a date and time. Without an offset from UTC it is written as it
// is, and the checks ask for it.
func (d *drafter) moment(key, said string, m *moment) {
	if m == nil {
		found, ok := momentsOf(said, d.o.Offset)
		if !ok || len(found) != 1 {
			d.missingMoment(key, said)
			return
		}
		m = &found[0]
	}
	if m.complete() {
		d.line("%-11s = %s", key, m)
		return
	}
	d.undecided(0, key, key+" has no UTC offset")
	d.line("%-11s = %s   # DECIDE: put the UTC offset behind it, such as -06:00", key, m)
}

// ValidMoment tells whether a date and time can be understood, such as
// 08/14/2027 06:00 or 2027-08-14T06:00-06:00.
func ValidMoment(s string) bool {
	found, ok := momentsOf(s, "")
	return ok && len(found) == 1
}

// ParseOffset is a UTC offset such as -6, -06:00 or Z as TOML writes it; ok is
// false where it is none.
func ParseOffset(s string) (offset string, ok bool) {
	if offset = offsetOf(s); offset == "" {
		return "", false
	}
	_, err := time.Parse("Z07:00", offset)
	return offset, err == nil
}

// write writes a slot, and what is to be said about it.
func (d *drafter) write(i int, s *slot) {
	d.line("")
	d.comment("line %d of the sheet%s", s.row.Line, said(s.row))
	for _, n := range s.notes {
		d.comment("%s", n)
	}
	for _, q := range s.open {
		d.comment("DECIDE: %s", q.what)
		for _, c := range q.choices {
			d.comment("  %s", c)
		}
	}
	for _, q := range s.open {
		d.open = append(d.open, Open{Line: d.lines + 1, Row: s.row.Line, Where: fmt.Sprintf("slot %d", i+1), What: q.what})
	}
	d.line("[[slot]]")
	width := 0
	for _, k := range s.keys {
		width = max(width, len(k.key))
	}
	for _, k := range s.keys {
		d.line("%-*s = %s", width, k.key, k.value)
	}
}

// said is what a row says, for a look.
func said(r Row) string {
	var parts []string
	for _, p := range []string{r.Function, r.Name, r.Assignment, r.System, r.Rx, r.RxTone, r.Tx, r.TxTone, r.Mode} {
		if p != "" {
			parts = append(parts, p)
		}
	}
	return ": " + strings.Join(parts, " | ")
}

// ordered moves command first and guard last, where they are not, and leaves
// all else as the sheet has it.
func ordered(slots []*slot) []*slot {
	var guards, rest []*slot
	for i, s := range slots {
		if s.use == radio.Guard {
			if slices.ContainsFunc(slots[i:], func(t *slot) bool { return t.use != radio.Guard }) {
				s.notes = append(s.notes, "moved to the end: guard stands last")
			}
			guards = append(guards, s)
		} else {
			rest = append(rest, s)
		}
	}
	if i := slices.IndexFunc(rest, func(s *slot) bool { return s.use == radio.Command }); i > 0 {
		command := rest[i]
		command.notes = append(command.notes, "moved to the top: command stands first")
		rest = slices.Concat([]*slot{command}, rest[:i], rest[i+1:])
	}
	return append(rest, guards...)
}

// alsos writes the channels that are beside the list.
func (d *drafter) alsos() {
	for _, h := range d.sheet.Heads {
		if h.Is != NotInList || len(h.Values) == 0 {
			continue
		}
		d.line("")
		d.comment("line %d of the sheet: not in the list", h.Line)
		when := "..."
		if len(h.Values) > 1 {
			when = h.Values[1]
		} else {
			d.undecided(h.Line, h.Values[0], "the sheet does not say when to use it")
			when = ""
		}
		d.line("[[also]]")
		d.line("channel = %s", quote(h.Values[0]))
		if len(h.Values) > 2 {
			if site, ok := strings.CutPrefix(h.Values[2], "repeated by "); ok {
				d.line("site    = %s", quote(site))
			} else if n, ok := strings.CutPrefix(h.Values[2], "tone "); ok {
				if _, err := strconv.Atoi(n); err == nil {
					d.line("tone    = %s", n)
				}
			}
		}
		d.line("when    = %s", quote(when))
	}
}
