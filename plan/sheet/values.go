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

// What stands in the cells, as people write it.

var (
	numberText = compiled(`^(\d+)(?:[.,](\d+))?$`)
	// A frequency with the width before or behind it, and its unit.
	frequencyText = compiled(`^(?:(N|W|NB|WB|NARROW|WIDE)[ :]*)?(?:F(?:REQ)?[ :]+)?(\d+)(?:[.,](\d+))? *(?:MHZ|M)? *(?:[/,-]? *(N|W|NB|WB|NARROW(?:BAND)?|WIDE(?:BAND)?))? *(?:MHZ)?$`)
)

// frequency reads a cell such as "154.2800 N", "N 154.28", "154,28" or "154.28
// MHz"; the letter of the width is returned apart. Empty is none.
func frequency(cell string) (f radio.Hertz, width string, ok bool) {
	s := strings.TrimSpace(strings.ToUpper(strings.NewReplacer("(", " ", ")", " ").Replace(cell)))
	if s == "" {
		return 0, "", true
	}
	m := frequencyText().FindStringSubmatch(s)
	if m == nil || m[1] != "" && m[4] != "" && m[1][0] != m[4][0] {
		return 0, "", false
	}
	if width = m[1] + m[4]; width != "" {
		width = width[:1]
	}
	f, err := radio.ParseMHz(m[2] + "." + m[3])
	return f, width, err == nil
}

// toneCell is what a cell says about a tone.
type toneCell struct {
	said    bool
	number  int           // an agency's number for it; 0: the cell has none
	value   radio.Squelch // zero beside a number: the cell has nothing else
	unknown bool          // what it says cannot be read
}

// carrierWords stand for no tone: carrier squelch. CSQ is what plan sheets
// print (NIFOG); the others are common practice.
var carrierWords = map[string]bool{
	"CSQ": true, "CS": true, "CARRIER": true, "CARRIER SQUELCH": true, "CARRIER SQ": true, "NONE": true, "NO TONE": true, "NO PL": true, "-": true,
	"--": true, "---": true, "–": true, "—": true, "0": true, "0.0": true, "00.0": true, "000.0": true, "N/A": true, "NA": true, "OFF": true, "NIL": true,
	"NO": true, "OPEN": true, "(NONE)": true, "NULL": true, "N.A.": true,
}

var (
	toneWord = compiled(`^(?:TONE|T) *(?:#|NO\.?)? *(\d{1,2})$`)
	// A tone by its number and in hertz, the one beside the other.
	toneBoth  = compiled(`^(TONE *(?:#|NO\.?)? *\d{1,2}) *[(,:=/-] *(\d{2,3}(?:[.,]\d+)? *(?:HZ)?)\)?$`)
	toneBoth2 = compiled(`^(\d{2,3}(?:[.,]\d+)? *(?:HZ)?) *[(,:=/-] *(TONE *(?:#|NO\.?)? *\d{1,2})\)?$`)
	dcsText   = compiled(`^(?:(?:DCS|DPL|CDCSS) *D?|D)(\d{3}) *(N|I|INV|INVERTED|NORMAL)?$`)
	nacText   = compiled(`^(?:NAC *[:=]? *\$?|N|\$ *|0X|X)([0-9A-F]{3})$`)
	hexText   = compiled(`^[0-9A-F]{3}$`)
	// The words about a CTCSS tone before its number, and its unit behind it.
	toneFrame = compiled(`^(?:(?:CTCSS|PL|SUBTONE|TONE)[ :#=]*)?(?:TONE[ :]+)?(\d+(?:[.,]\d+)?) *(?:HZ)?(?: *(?:CTCSS|PL|TONE))?$`)
)

// leastTone is the lowest CTCSS tone of any published set in hertz, rounded
// down (ctcss.csv): a smaller whole number is an agency's number of a tone.
const leastTone = 60

// tone reads a cell such as "156.7", "156,7 Hz", "CSQ", "D023", "$293" or "tone
// 5". Of a digital channel three hex digits alone are a NAC.
func tone(cell string, mode radio.Mode) toneCell {
	s := strings.Trim(strings.ToUpper(cell), " ()")
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
	if m := toneBoth().FindStringSubmatch(s); m != nil {
		return bothTones(m[1], m[2])
	}
	if m := toneBoth2().FindStringSubmatch(s); m != nil {
		return bothTones(m[2], m[1])
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
	frame := toneFrame().FindStringSubmatch(s)
	if frame == nil {
		return bad
	}
	m := numberText().FindStringSubmatch(frame[1])
	if n, err := strconv.Atoi(frame[1]); err == nil && n < leastTone {
		return toneCell{said: true, number: n, unknown: n == 0 || strings.Contains(s, "HZ")}
	}
	tenths := strings.TrimRight(m[2], "0")
	v, err := radio.ParseSquelch(m[1] + "." + tenths + strings.Repeat("0", b2i(tenths == "")))
	return toneCell{said: true, value: v, unknown: err != nil}
}

// bothTones is a tone that a cell gives by its number and in hertz.
func bothTones(number, hertz string) toneCell {
	t, value := tone(number, radio.Analog), tone(hertz, radio.Analog)
	t.value, t.unknown = value.value, t.unknown || value.unknown || value.number != 0
	return t
}

func b2i(b bool) int {
	if b {
		return 1
	}
	return 0
}

// in is the tone with an agency's number looked up; not ok where the load has
// none of that number, and the cell nothing else, or has another tone under it.
func (t toneCell) in(l *plan.Load) (radio.Squelch, bool) {
	if t.number == 0 {
		return t.value, true
	}
	for _, known := range l.Tones {
		if known.Number == t.number {
			return known.Hz, t.value.IsZero() || t.value == known.Hz
		}
	}
	return t.value, !t.value.IsZero()
}

// modeOf reads A, D or M, or the word.
func modeOf(cell string) (m radio.Mode, said, ok bool) {
	if cell == "" {
		return 0, false, true
	}
	switch strings.ToUpper(cell) {
	case "A", "ANALOG", "ANALOGUE", "FM", "ANLG", "NFM", "A (ANALOG)":
		return radio.Analog, true, true
	case "D", "DIGITAL", "P25", "DIG", "D (DIGITAL)":
		return radio.Digital, true, true
	case "M", "MIXED", "MIX", "M (MIXED)", "MIXED MODE", "A/D":
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
	{"air-to-ground", radio.AirToGround}, {"air to ground", radio.AirToGround}, {"air/ground", radio.AirToGround}, {"air-ground", radio.AirToGround},
	{"ground-to-air", radio.AirToGround}, {"ground to air", radio.AirToGround}, {"ground/air", radio.AirToGround}, {"a/g", radio.AirToGround}, {"a-g", radio.AirToGround},
	{"air guard", radio.Guard}, {"guard", radio.Guard}, {"emergency guard", radio.Guard}, {"airguard", radio.Guard},
	{"command", radio.Command}, {"cmd", radio.Command}, {"incident command", radio.Command},
	{"tac", radio.Tactical}, {"division tac", radio.Tactical}, {"line tac", radio.Tactical},
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
	isoText    = compiled(`\b(\d{4})-(\d{1,2})-(\d{1,2})`)
	usText     = compiled(`\b(\d{1,2})/(\d{1,2})/(\d{4}|\d{2})\b`) // month/day/year: ics_forms.csv, secondary
	wordText   = compiled(`(?i)\b(\d{1,2})[ -](jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec)[a-z]*\.?,?[ -](\d{4})\b`)
	monthFirst = compiled(`(?i)\b(jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec)[a-z]*\.? (\d{1,2})(?:st|nd|rd|th)?,? (\d{4})\b`)
	clockText  = compiled(`(?i)\b([01]?\d|2[0-4]):?([0-5]\d)(?::([0-5]\d))?(?: ?([ap])\.?m\b\.?|h(?:rs?|ours)?\b|\b)`)
	zuluText   = compiled(`(\d)[Zz]\b`)
	// Behind a time: a zone by its letters, or an offset. Without a space before
	// it, or without a colon, it would be the end of a span: 0600-1800.
	zoneAfter = compiled(`(?i)^(?: ?(?:hrs|hours|hr|h)\b)?(?: ?(?:UTC|GMT) ?([+\-−]\d{1,2}(?::?\d{2})?)| ([+\-−]\d{1,2}:\d{2})| ?\(?\b(Z|UTC|GMT|[AHPMCE][DS]T|AK[DS]T)\b\)?)`)
	isoOffset = compiled(`^[+\-−]\d{2}:?\d{2}\b`)
)

// zoneOffsets are the zones of the United States by their letters (15 U.S.C.
// 260a and 261; the letters are common practice).
var zoneOffsets = map[string]string{"Z": "Z", "UTC": "Z", "GMT": "Z", "EST": "-05:00", "EDT": "-04:00", "CST": "-06:00", "CDT": "-05:00",
	"MST": "-07:00", "MDT": "-06:00", "PST": "-08:00", "PDT": "-07:00", "AKST": "-09:00", "AKDT": "-08:00", "HST": "-10:00"}

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
// they do not. What is neither is left in rest.
func momentsOf(text, offset string) (found []moment, rest string, ok bool) {
	text = zuluText().ReplaceAllString(text, "$1 Z")
	dates, iso, text := datesOf(text)
	var clocks, offsets []string
	for {
		m := clockText().FindStringSubmatchIndex(text)
		if m == nil {
			break
		}
		hour, second := text[m[2]:m[3]], "00"
		if m[6] >= 0 {
			second = text[m[6]:m[7]]
		}
		if m[8] >= 0 {
			hour = twelve(hour, strings.EqualFold(text[m[8]:m[9]], "p"))
		}
		clocks = append(clocks, two(hour)+":"+text[m[4]:m[5]]+":"+second)
		zone, end := "", m[1]
		behind := text[m[1]:]
		if z := isoOffset().FindString(behind); z != "" && iso[m[0]] && offsetOf(z) != "" {
			zone, end = offsetOf(z), m[1]+len(z)
		} else if z := zoneAfter().FindStringSubmatchIndex(behind); z != nil && zoneOf(behind, z) != "" {
			zone, end = zoneOf(behind, z), m[1]+z[1]
		}
		offsets = append(offsets, zone)
		text = text[:m[0]] + strings.Repeat(" ", end-m[0]) + text[end:]
	}
	rest = strings.Join(strings.Fields(fillerText().ReplaceAllString(text, " ")), " ")
	if len(dates) == 0 || len(clocks) < len(dates) {
		return nil, rest, false
	}
	// One zone behind the last time is that of all.
	last := offsets[len(offsets)-1]
	for i, clock := range clocks {
		m := moment{dates[min(i, len(dates)-1)], clock, offsets[i]}
		if m.offset == "" {
			m.offset = last
		}
		if m.offset == "" {
			m.offset = offset
		}
		if _, err := time.Parse("2006-01-02T15:04:05", m.date+"T"+m.clock); err != nil {
			return nil, rest, false
		}
		found = append(found, m)
	}
	return found, rest, len(dates) <= len(clocks)
}

// fillerText are words between dates and times.
var fillerText = compiled(`(?i)\b(from|to|date|time|hrs?|hours|local|thru|through|until|at|on|and|t|h)\b|[-–—:;,/.()]`)

// datesOf takes the dates out of a text. Where a time follows an ISO date after
// its T, iso holds the place.
func datesOf(text string) (dates []string, iso map[int]bool, rest string) {
	iso = map[int]bool{}
	var at []int
	take := func(from, to int, date string) {
		dates, at = append(dates, date), append(at, from)
		text = text[:from] + strings.Repeat(" ", to-from) + text[to:]
	}
	for {
		if m := isoText().FindStringSubmatchIndex(text); m != nil {
			end := m[1]
			if end < len(text) && (text[end] == 'T' || text[end] == 't') {
				end++
				iso[end] = true
			}
			take(m[0], end, day(text[m[2]:m[3]], text[m[4]:m[5]], text[m[6]:m[7]]))
			continue
		}
		if m := usText().FindStringSubmatchIndex(text); m != nil {
			year := text[m[6]:m[7]]
			if len(year) == 2 {
				year = "20" + year
			}
			take(m[0], m[1], day(year, text[m[2]:m[3]], text[m[4]:m[5]]))
			continue
		}
		if m := wordText().FindStringSubmatchIndex(text); m != nil {
			take(m[0], m[1], day(text[m[6]:m[7]], monthOf(text[m[4]:m[5]]), text[m[2]:m[3]]))
			continue
		}
		if m := monthFirst().FindStringSubmatchIndex(text); m != nil {
			take(m[0], m[1], day(text[m[6]:m[7]], monthOf(text[m[2]:m[3]]), text[m[4]:m[5]]))
			continue
		}
		break
	}
	// In the order of the text, whatever way each is written.
	order := make([]int, len(dates))
	for i := range order {
		order[i] = i
	}
	slices.SortFunc(order, func(a, b int) int { return at[a] - at[b] })
	sorted := make([]string, len(dates))
	for i, k := range order {
		sorted[i] = dates[k]
	}
	return sorted, iso, text
}

// monthOf is the number of a month by its first three letters.
func monthOf(word string) string {
	return strconv.Itoa(strings.Index(months, strings.ToLower(word[:3]))/3 + 1)
}

// twelve is an hour of a clock with twelve hours, morning or afternoon.
func twelve(hour string, afternoon bool) string {
	h, _ := strconv.Atoi(hour)
	switch {
	case h < 1 || h > 12:
		return "99" // no hour: 18:00 PM
	case h == 12 && !afternoon:
		h = 0
	case h < 12 && afternoon:
		h += 12
	}
	return strconv.Itoa(h)
}

// zoneOf is the offset that zoneAfter has found.
func zoneOf(text string, at []int) string {
	for k := 2; k < 8; k += 2 {
		if at[k] < 0 {
			continue
		}
		said := text[at[k]:at[k+1]]
		if offset, ok := zoneOffsets[strings.ToUpper(said)]; ok {
			return offset
		}
		return offsetOf(said)
	}
	return ""
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
