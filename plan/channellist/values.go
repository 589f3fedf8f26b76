package channellist

import (
	"math"
	"regexp"
	"strconv"
	"strings"
	"sync"

	"slotcard/plan/cells"
	"slotcard/plan/published"
	"slotcard/plan/radio"
)

// What stands in the cells, as people write it.

// pattern is compiled when a list is read: most commands read none.
type pattern func() *regexp.Regexp

func compiled(expr string) pattern {
	return sync.OnceValue(func() *regexp.Regexp { return regexp.MustCompile(expr) })
}

// absent stand for nothing: carrier squelch where a tone is expected.
var absent = map[string]bool{
	"": true, "-": true, "--": true, "---": true, "–": true, "—": true, "CSQ": true, "CS": true, "CARRIER": true, "CARRIER SQUELCH": true,
	"NONE": true, "NO TONE": true, "NO PL": true, "OFF": true, "0": true, "0.0": true, "N/A": true, "NA": true, "NIL": true, "OPEN": true, "ALL CALL": true,
}

// dashes stand for an empty cell, whatever is expected.
var dashes = map[string]bool{"": true, "-": true, "--": true, "---": true, "–": true, "—": true, ".": true, "\"": true}

// blank tells whether a cell says nothing at all.
func blank(c cells.Cell) bool { return dashes[c.Text] }

// frequency is what a cell says about frequencies.
type frequency struct {
	rx, tx  radio.Hertz // tx: the second one of a pair
	width   string      // N, W or ""
	rounded bool        // the sheet shows fewer digits than it holds
}

var (
	unitText   = compiled(`(?i)\s*(MHZ|KHZ|HZ)\b\.?`)
	widthText  = compiled(`(?i)^(?:(N|W|NB|WB|NFM|WFM|FM|NARROW|WIDE)[ :]+)?(.*?)(?:\s*\(?\b(N|W|NB|WB|NFM|WFM|FM|NARROW|WIDE)\)?|([NW]))?$`)
	numberText = compiled(`^(\d+)(?:[.,](\d*))?$`)
)

// frequencyOf reads a cell such as "154.2800 N", "154,28", "154280 kHz" or
// "152.4125/157.6725". Of a cell that shows fewer digits than it holds, what it
// holds counts.
func frequencyOf(c cells.Cell) (f frequency, ok bool) {
	text := strings.TrimSpace(c.Text)
	if a, b, pair := strings.Cut(text, "/"); pair && !strings.Contains(b, "/") {
		one, ok1 := oneFrequency(a, "")
		two, ok2 := oneFrequency(b, "")
		one.tx = two.rx
		if one.width == "" {
			one.width = two.width
		}
		return one, ok1 && ok2
	}
	return oneFrequency(text, c.Stored)
}

func oneFrequency(text, stored string) (f frequency, ok bool) {
	s := strings.TrimSpace(strings.TrimPrefix(strings.TrimSpace(text), "'"))
	if len(s) > 40 || !strings.ContainsAny(s, "0123456789") {
		return f, false
	}
	unit := ""
	bare := strings.Trim(s, "0123456789.,") == "" // most are: there is nothing to look for
	if !bare {
		if m := unitText().FindStringSubmatch(s); m != nil {
			unit = strings.ToUpper(m[1])
			s = strings.TrimSpace(strings.Replace(s, m[0], " ", 1))
		}
		if m := widthText().FindStringSubmatch(s); m != nil {
			s, f.width = strings.TrimSpace(m[2]), strings.ToUpper(m[1]+m[3]+m[4])
			if f.width != "" {
				f.width = map[byte]string{'N': "N", 'W': "W", 'F': ""}[f.width[0]]
			}
		}
	}
	m := numberText().FindStringSubmatch(s)
	if m == nil {
		return f, false
	}
	if stored != "" && len(m[2]) < 6 && unit == "" {
		if v, err := strconv.ParseFloat(stored, 64); err == nil {
			if h, err := radio.FromMHz(v); err == nil && plausible(h) {
				f.rx, f.rounded = h, true
				return f, true
			}
		}
	}
	f.rx, ok = scaled(m[1], m[2], unit)
	return f, ok
}

// scaled is a number as a frequency. Without a unit its size tells MHz, kHz and
// hertz apart: no radio of this trade works below 25 MHz or above 1 GHz.
func scaled(whole, fraction, unit string) (radio.Hertz, bool) {
	if unit == "" {
		switch n := len(strings.TrimLeft(whole, "0")); {
		case n <= 4:
			unit = "MHZ"
		case n <= 7:
			unit = "KHZ"
		default:
			unit = "HZ"
		}
	}
	shift := map[string]int{"MHZ": 6, "KHZ": 3, "HZ": 0}[unit]
	fraction = strings.TrimRight(fraction, "0")
	if len(fraction) > shift || len(whole) > 12 {
		return 0, false
	}
	n, err := strconv.ParseInt(whole+fraction+strings.Repeat("0", shift-len(fraction)), 10, 64)
	if err != nil || !plausible(radio.Hertz(n)) {
		return 0, false
	}
	return radio.Hertz(n), true
}

func plausible(h radio.Hertz) bool { return h >= 25_000_000 && h <= 1_000_000_000 }

var (
	offsetText   = compiled(`(?i)^([+\-−–])[ ]*(\d{1,5})(?:[.,](\d{1,6}))?[ ]*(MHZ|KHZ)?$`)
	noOffsetText = compiled(`(?i)^(?:0+(?:[.,]0*)?(?: *[MK]HZ)?|NONE|OFF|N/?A|S|SIMPLEX|SIMP|SPLX|DIRECT)$`)
)

// offsetOf reads an offset such as +5.26, "-600 kHz": its sign has to be said, and
// without a unit it is MHz where it has a fraction or is below 30.
func offsetOf(text string) (radio.Hertz, bool) {
	m := offsetText().FindStringSubmatch(text)
	if m == nil {
		return 0, false
	}
	shift := 6
	if strings.EqualFold(m[4], "kHz") || m[4] == "" && m[3] == "" && len(m[2]) > 2 {
		shift = 3
	}
	fraction := strings.TrimRight(m[3], "0")
	if len(fraction) > shift {
		return 0, false
	}
	n, err := strconv.ParseInt(m[2]+fraction+strings.Repeat("0", shift-len(fraction)), 10, 64)
	if m[1] != "+" {
		n = -n
	}
	return radio.Hertz(n), err == nil && n != 0
}

// surelyFrequency tells a frequency from a tone by its form: three digits or
// more behind the point, or a size that no tone has.
func surelyFrequency(c cells.Cell) bool {
	f, ok := frequencyOf(c)
	if !ok {
		return false
	}
	if f.tx > 0 || f.rounded {
		return true
	}
	m := numberText().FindStringSubmatch(strings.TrimSpace(c.Text))
	return m == nil || len(m[2]) >= 2 || len(m[1]) > 3 || f.rx > 260_000_000 && m[2] != ""
}

// tone is what a cell says about a tone.
type tone struct {
	number int // an agency's number; 0: value holds it
	value  radio.Squelch
	site   bool // the incident chooses the repeater
	none   bool // carrier squelch, said or not
}

var (
	toneWord  = compiled(`^(?:TONE|T|PL|#|NO\.?) *#? *(\d{1,3})$`)
	toneLabel = compiled(`^(?:CTCSS|TPL|PL|TONE|TX|RX|ENC|DEC)[ :]+`)
	dcsText   = compiled(`^(?:DCS|DPL|CDCSS|D)[ :#-]*([0-7]{1,3})[ -]*(N|I|R|INV|INVERTED|NORMAL|NORM)?$`)
	dcsSuffix = compiled(`^([0-7]{3})[ -]?(N|I|R|INV|INVERTED)$`)
	nacText   = compiled(`^(?:NAC|N|\$|X|0X|NAC *\$)[ :#-]*([0-9A-F]{1,3})H?$`)
	hexText   = compiled(`^[0-9A-F]{3}$`)
	siteText  = compiled(`^(?:(?:BY|PER|SEE|SELECT(?: BY)?|USER|CHOOSE) )?SITES?(?: (?:TONES?|SELECT(?:ED)?|TABLE))?$|^(?:SEE|PER) TONES?(?: TABLE)?$|^TONE SELECT$|^SELECT(?: TONE)?$`)
)

// toneOf reads a cell such as "156.7", "PL 110.9", "CSQ", "D023", "023N" under a
// title that says DCS, "$293" or "Tone 5".
func toneOf(c cells.Cell, title string, digital bool) (t tone, ok bool) {
	s := strings.ToUpper(strings.TrimSpace(c.Text))
	s = strings.TrimSpace(strings.TrimSuffix(s, "HZ"))
	if absent[s] || dashes[s] {
		return tone{none: true}, true
	}
	if siteText().MatchString(s) {
		return tone{site: true}, true
	}
	if m := toneWord().FindStringSubmatch(s); m != nil {
		n, _ := strconv.Atoi(m[1])
		return tone{number: n}, n > 0 && (n < leastTone || strings.HasPrefix(s, "TONE"))
	}
	title = strings.ToUpper(title)
	for _, p := range []pattern{dcsText, dcsSuffix} {
		if m := p().FindStringSubmatch(s); m != nil {
			code := "D" + strings.Repeat("0", 3-len(m[1])) + m[1]
			if strings.HasPrefix(m[2], "I") || m[2] == "R" {
				code += "I"
			}
			v, err := radio.ParseSquelch(code)
			return tone{value: v}, err == nil
		}
	}
	if m := nacText().FindStringSubmatch(s); m != nil && (len(m[1]) == 3 || strings.Contains(s, "NAC")) {
		v, err := radio.ParseSquelch("N" + strings.Repeat("0", 3-len(m[1])) + m[1])
		return tone{value: v}, err == nil
	}
	if hexText().MatchString(s) && (digital || strings.Contains(title, "NAC") && !strings.Contains(title, "TONE") && !strings.Contains(title, "CTCSS")) {
		v, err := radio.ParseSquelch("N" + s)
		return tone{value: v}, err == nil
	}
	s = strings.TrimSpace(toneLabel().ReplaceAllString(s, ""))
	m := numberText().FindStringSubmatch(s)
	if m == nil {
		return t, false
	}
	return numericTone(s, m, title)
}

// leastTone is the lowest CTCSS tone of any published set in hertz, rounded
// down (ctcss.csv): a smaller whole number is an agency's number of a tone.
const leastTone = 60

func numericTone(s string, m []string, title string) (t tone, ok bool) {
	fraction := strings.TrimRight(m[2], "0")
	v, err := radio.ParseSquelch(m[1] + "." + fraction + strings.Repeat("0", 1-min(1, len(fraction))))
	known := false
	if err == nil {
		known, _ = published.CTCSS(v)
	}
	if n, bad := strconv.Atoi(s); bad == nil {
		switch dcs := strings.Contains(title, "DCS") || strings.Contains(title, "DPL"); {
		case n < leastTone && s[0] != '0':
			return tone{number: n}, n > 0
		case known && !(dcs && !strings.Contains(title, "CTCSS") && !strings.Contains(title, "PL/")):
			return tone{value: v}, true
		case dcs && len(s) == 3:
			v, err := radio.ParseSquelch("D" + s)
			return tone{value: v}, err == nil
		}
		return t, false // 131 may be 131.8, D131 or N131
	}
	return tone{value: v}, err == nil
}

// modeOf reads a mode, or a designator of emission (ITU Radio Regulations,
// appendix 1: bandwidth, then F3 for analog speech, F1 for digital).
func modeOf(text string) (m radio.Mode, width string, ok bool) {
	s := strings.ToUpper(strings.TrimSpace(text))
	switch s {
	case "A", "ANALOG", "ANALOGUE", "ANLG", "ANA", "FM", "CONV", "CONVENTIONAL":
		return radio.Analog, "", true
	case "NFM", "FMN", "FM-N", "FM N", "ANALOG NARROW", "AN":
		return radio.Analog, "N", true
	case "WFM", "FM-W", "ANALOG WIDE", "AW":
		return radio.Analog, "W", true
	case "D", "DIGITAL", "DIG", "P25", "DIGITAL P25", "P25 DIGITAL", "PROJECT 25", "C4FM":
		return radio.Digital, "", true
	case "M", "MIXED", "MIX", "A/D", "D/A", "AD", "MIXED MODE", "DUAL", "ANALOG/DIGITAL":
		return radio.Mixed, "", true
	}
	if e := emissionText().FindStringSubmatch(s); e != nil {
		width = "N"
		if hz, err := strconv.ParseFloat(strings.Replace(e[1], "K", ".", 1), 64); err == nil && hz > 12.5 {
			width = "W"
		}
		if e[2] == "F3" {
			return radio.Analog, width, true
		}
		return radio.Digital, width, true
	}
	return 0, "", false
}

var emissionText = compiled(`^(\d{1,2}K\d{1,2})(F3|F1|F2|G1|FX)[A-Z]$`)

// widthOf reads N, W, 12.5 or 25 kHz. All that is 12.5 kHz or less is narrow.
func widthOf(text string) (w radio.Width, ok bool) {
	s := strings.ToUpper(strings.TrimSpace(text))
	s = strings.TrimSpace(strings.TrimSuffix(strings.TrimSuffix(s, "KHZ"), "K"))
	switch s {
	case "N", "NB", "NARROW", "NARROWBAND", "NFM", "12.5", "12,5", "12", "6.25", "11.25":
		return radio.Narrow, true
	case "W", "WB", "WIDE", "WIDEBAND", "WFM", "25", "25.0", "20", "25,0":
		return radio.Wide, true
	}
	return 0, false
}

var (
	receiveOnlyText = compiled(`(?i)\b(?:(?:RX|RCV|RECEIVE|RECV|LISTEN|MONITOR)[ -]*ONLY|RXO|NO[ -]*(?:TX|TRANSMIT|XMIT)|(?:TX|TRANSMIT)[ -]*(?:INHIBIT(?:ED)?|DISABLED|OFF|NONE)|DO NOT TRANSMIT)\b`)
	sameText        = compiled(`(?i)^(?:SAME(?: AS RX)?|=|SIMPLEX|SIMP|S|DIRECT|DITTO|RX|= ?RX)$`)
	yesText         = compiled(`(?i)^(?:Y|YES|X|TRUE|1|✓|✔|RX ONLY|RXO)$`)
	noText          = compiled(`(?i)^(?:N|NO|FALSE|0|-|)$`)
)

var integerText = compiled(`^(?i:CH(?:AN(?:NEL)?)?|NO|NR|#|POS(?:ITION)?|MEM(?:ORY)?)?[ .#:]*0*(\d{1,4})\.?$`)

// integerOf reads a number as lists write it: 4, 04, Ch 4, #4.
func integerOf(text string) (int, bool) {
	m := integerText().FindStringSubmatch(strings.TrimSpace(text))
	if m == nil {
		if f, err := strconv.ParseFloat(text, 64); err == nil && f == math.Trunc(f) && f > 0 && f < 10_000 {
			return int(f), true
		}
		return 0, false
	}
	n, err := strconv.Atoi(m[1])
	return n, err == nil
}

// numbered takes "1 MC LOCAL", "3. National" or "Z2 - Fire" apart.
var numberedText = compiled(`^(?i:ZONE|GROUP|GRP|BANK|Z|G)?[ #]*(\d{1,3})(?:[ ]*[.:)–—-][ ]*|[ ]+)(\S.*)$`)

func numbered(text string) (n int, name string, ok bool) {
	m := numberedText().FindStringSubmatch(strings.TrimSpace(text))
	if m == nil {
		return 0, text, false
	}
	n, _ = strconv.Atoi(m[1])
	return n, strings.TrimSpace(m[2]), n > 0
}
