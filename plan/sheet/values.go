package sheet

import (
	"fmt"
	"strconv"
	"strings"
	"time"

	"slotcard/plan"
	"slotcard/plan/radio"
)

// What stands in the cells, as people write it.

var numberText = compiled(`^(\d+)(?:[.,](\d+))?$`)

// frequency reads a cell such as "154.2800 N", "154,28" or "154.28 MHz"; the
// letter of the width is returned apart. Empty is none.
func frequency(cell string) (f radio.Hertz, width string, ok bool) {
	s := strings.ToUpper(strings.NewReplacer("(", " ", ")", " ").Replace(cell))
	s = strings.TrimSpace(strings.TrimSuffix(strings.TrimSpace(s), "MHZ"))
	for _, w := range []string{"N", "W"} {
		if rest, cut := strings.CutSuffix(s, w); cut {
			s, width = strings.TrimSpace(rest), w
		}
	}
	s = strings.TrimSpace(strings.TrimSuffix(s, "MHZ"))
	m := numberText().FindStringSubmatch(s)
	if m == nil {
		return 0, "", s == ""
	}
	f, err := radio.ParseMHz(m[1] + "." + m[2])
	return f, width, err == nil
}

// toneCell is what a cell says about a tone.
type toneCell struct {
	said    bool
	number  int // an agency's number for it; 0: value holds it
	value   radio.Squelch
	unknown bool // what it says cannot be read
}

// carrierWords stand for no tone: carrier squelch. CSQ is what plan sheets
// print (NIFOG); the others are common practice.
var carrierWords = map[string]bool{
	"CSQ": true, "CS": true, "CARRIER": true, "CARRIER SQUELCH": true, "NONE": true, "NO TONE": true, "-": true, "--": true,
	"–": true, "—": true, "0": true, "0.0": true, "N/A": true, "NA": true,
}

var (
	toneWord = compiled(`^TONE *#? *(\d{1,3})$`)
	dcsText  = compiled(`^(?:DCS *|D)(\d{3}) *(N|I|INV|INVERTED)?$`)
	nacText  = compiled(`^(?:NAC *|N|\$ *|NAC *\$)([0-9A-F]{3})$`)
	hexText  = compiled(`^[0-9A-F]{3}$`)
)

// leastTone is the lowest CTCSS tone of any published set in hertz, rounded
// down (ctcss.csv): a smaller whole number is an agency's number of a tone.
const leastTone = 60

// tone reads a cell such as "156.7", "156,7 Hz", "CSQ", "D023", "$293" or "tone
// 5". Of a digital channel three hex digits alone are a NAC.
func tone(cell string, mode radio.Mode) toneCell {
	s := strings.ToUpper(cell)
	for _, cut := range []string{"CTCSS", "HZ"} {
		s = strings.TrimSpace(strings.TrimSuffix(strings.TrimPrefix(s, cut), cut))
	}
	bad := toneCell{said: true, unknown: true}
	switch {
	case s == "" && cell == "":
		return toneCell{}
	case carrierWords[s]:
		return toneCell{said: true}
	}
	if m := toneWord().FindStringSubmatch(s); m != nil {
		n, _ := strconv.Atoi(m[1])
		return toneCell{said: true, number: n, unknown: n == 0}
	}
	if m := dcsText().FindStringSubmatch(s); m != nil {
		code := "D" + m[1]
		if strings.HasPrefix(m[2], "I") {
			code += "I"
		}
		v, err := radio.ParseSquelch(code)
		return toneCell{said: true, value: v, unknown: err != nil}
	}
	if m := nacText().FindStringSubmatch(s); m != nil {
		v, err := radio.ParseSquelch("N" + m[1])
		return toneCell{said: true, value: v, unknown: err != nil}
	}
	if mode == radio.Digital && hexText().MatchString(s) {
		v, err := radio.ParseSquelch("N" + s)
		return toneCell{said: true, value: v, unknown: err != nil}
	}
	m := numberText().FindStringSubmatch(s)
	if m == nil {
		return bad
	}
	if n, err := strconv.Atoi(s); err == nil && n < leastTone {
		return toneCell{said: true, number: n}
	}
	v, err := radio.ParseSquelch(m[1] + "." + m[2] + strings.Repeat("0", b2i(m[2] == "")))
	return toneCell{said: true, value: v, unknown: err != nil}
}

func b2i(b bool) int {
	if b {
		return 1
	}
	return 0
}

// in is the tone with an agency's number looked up; not ok where the load has
// none of that number.
func (t toneCell) in(l *plan.Load) (radio.Squelch, bool) {
	if t.number == 0 {
		return t.value, true
	}
	for _, known := range l.Tones {
		if known.Number == t.number {
			return known.Hz, true
		}
	}
	return radio.Squelch{}, false
}

// modeOf reads A, D or M, or the word.
func modeOf(cell string) (m radio.Mode, said, ok bool) {
	if cell == "" {
		return 0, false, true
	}
	switch strings.ToUpper(cell) {
	case "A", "ANALOG", "ANALOGUE", "FM":
		return radio.Analog, true, true
	case "D", "DIGITAL":
		return radio.Digital, true, true
	case "M", "MIXED":
		return radio.Mixed, true, true
	}
	return 0, true, false
}

// uses are the net functions of plan sheets, by their first letters. Command,
// tactical, ground-to-air, support and dispatch: instructions of form ICS 205
// (ics_forms.csv, memory); the others common practice.
var uses = []struct {
	start string
	use   radio.Use
}{
	{"air-to-ground", radio.AirToGround}, {"air to ground", radio.AirToGround}, {"air/ground", radio.AirToGround},
	{"ground-to-air", radio.AirToGround}, {"ground to air", radio.AirToGround}, {"a/g", radio.AirToGround}, {"a-g", radio.AirToGround},
	{"air guard", radio.Guard}, {"guard", radio.Guard}, {"emergency guard", radio.Guard},
	{"command", radio.Command}, {"cmd", radio.Command},
	{"tac", radio.Tactical},
	{"support", radio.Support}, {"sup", radio.Support}, {"dispatch", radio.Support}, {"logistics", radio.Support},
	{"travel", radio.Travel}, {"trav", radio.Travel},
	{"med", radio.Medical}, {"ems", radio.Medical},
}

// useOf is the use that a function means; 0 where it is none that a plan has.
func useOf(function string) radio.Use {
	function = strings.ToLower(function)
	for _, u := range uses {
		if strings.HasPrefix(function, u.start) {
			return u.use
		}
	}
	return 0
}

// moments are the dates and times of a text, as they stand there.
var (
	offsetText = compiled(`(?i)(?:(?:UTC|GMT) ?)?([+\-−])(\d{1,2})(?::?(\d{2}))?$`)
	isoText    = compiled(`(\d{4})-(\d{1,2})-(\d{1,2})`)
	usText     = compiled(`(\d{1,2})/(\d{1,2})/(\d{4}|\d{2})`) // month/day/year: ics_forms.csv, secondary
	wordText   = compiled(`(?i)(\d{1,2}) (jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec)[a-z]*\.? (\d{4})`)
	clockText  = compiled(`\b([01]?\d|2[0-4]):?([0-5]\d)(?::([0-5]\d))?\b`)
	zuluText   = compiled(`(\d)[Zz]\b`)
	zoneAfter  = compiled(`^(?::\d{2})? ?(?:(?:UTC|GMT) ?)?([+\-−]\d{1,2}:?\d{2}|[Zz]\b)`)
)

// moment is a date and time of a sheet; Offset is "" where the sheet has none.
type moment struct {
	date, clock string // 2027-08-14, 06:00:00
	offset      string // -06:00
}

func (m moment) String() string { return m.date + "T" + m.clock + m.offset }

// complete tells whether it has a UTC offset.
func (m moment) complete() bool { return m.offset != "" }

const months = "janfebmaraprmayjunjulaugsepoctnovdec"

// momentsOf finds the dates and times of a text. Dates and times pair up in
// their order, whether they alternate or all dates come first. ok is false where
// they do not.
func momentsOf(text, offset string) (found []moment, ok bool) {
	text = zuluText().ReplaceAllString(text, "$1 Z")
	var dates, clocks, offsets []string
	take := func(at []int, date string) {
		dates = append(dates, date)
		text = text[:at[0]] + strings.Repeat(" ", at[1]-at[0]) + text[at[1]:]
	}
	for {
		if m := isoText().FindStringSubmatchIndex(text); m != nil {
			date := day(text[m[2]:m[3]], text[m[4]:m[5]], text[m[6]:m[7]])
			if m[1] < len(text) && (text[m[1]] == 'T' || text[m[1]] == 't') {
				m[1]++
			}
			take(m[:2], date)
			continue
		}
		if m := usText().FindStringSubmatchIndex(text); m != nil {
			year := text[m[6]:m[7]]
			if len(year) == 2 {
				year = "20" + year
			}
			take(m[:2], day(year, text[m[2]:m[3]], text[m[4]:m[5]]))
			continue
		}
		if m := wordText().FindStringSubmatchIndex(text); m != nil {
			month := strings.Index(months, strings.ToLower(text[m[4]:m[5]]))/3 + 1
			take(m[:2], day(text[m[6]:m[7]], strconv.Itoa(month), text[m[2]:m[3]]))
			continue
		}
		break
	}
	rest := text
	for {
		m := clockText().FindStringSubmatchIndex(rest)
		if m == nil {
			break
		}
		second := "00"
		if m[6] >= 0 {
			second = rest[m[6]:m[7]]
		}
		clocks = append(clocks, two(rest[m[2]:m[3]])+":"+rest[m[4]:m[5]]+":"+second)
		rest = rest[m[1]:]
		zone := ""
		if z := zoneAfter().FindStringSubmatchIndex(rest); z != nil {
			zone = offsetOf(rest[z[2]:z[3]])
			rest = rest[z[1]:]
		}
		offsets = append(offsets, zone)
	}
	if len(dates) == 0 || len(clocks) < len(dates) {
		return nil, false
	}
	for i, clock := range clocks {
		date := dates[min(i, len(dates)-1)]
		m := moment{date, clock, offsets[i]}
		if m.offset == "" {
			m.offset = offset
		}
		if _, err := time.Parse("2006-01-02T15:04:05", m.date+"T"+m.clock); err != nil {
			return nil, false
		}
		found = append(found, m)
	}
	return found, len(dates) <= len(clocks)
}

func day(year, month, day string) string { return year + "-" + two(month) + "-" + two(day) }

// two is a number of one or two digits with two.
func two(s string) string { return strings.Repeat("0", 2-min(len(s), 2)) + s }

// offsetOf is a UTC offset as TOML writes it; "" where it is none.
func offsetOf(s string) string {
	if strings.EqualFold(s, "z") || strings.EqualFold(s, "utc") {
		return "Z"
	}
	m := offsetText().FindStringSubmatch(strings.TrimSpace(s))
	if m == nil {
		return ""
	}
	hours, _ := strconv.Atoi(m[2])
	minutes, _ := strconv.Atoi(m[3])
	if hours > 14 || minutes > 59 { // no clock on Earth is further off
		return ""
	}
	sign := "-"
	if m[1] == "+" {
		sign = "+"
	}
	return fmt.Sprintf("%s%02d:%02d", sign, hours, minutes)
}
