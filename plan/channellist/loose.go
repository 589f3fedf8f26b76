package channellist

import (
	"slices"
	"strings"

	"slotcard/plan/cells"
)

// tightened takes lines apart that hold channels with single spaces between, as
// they are copied out of a document: number, name, frequencies and tones, the
// rest. Other sheets come back as they are.
func tightened(s *cells.Sheet) *cells.Sheet {
	loose, filled := 0, 0
	for _, r := range s.Rows {
		text, ok := looseLine(r)
		if ok && len(looseCells(text)) > 2 {
			loose++
		}
		if text != "" {
			filled++
		}
	}
	t := &table{sheet: s, right: s.Width() - 1}
	if loose == 0 || 2*loose < filled || slices.ContainsFunc(indexes(s), t.isTitles) {
		return s
	}
	out := &cells.Sheet{Name: s.Name, Hidden: s.Hidden}
	for _, r := range s.Rows {
		if text, ok := looseLine(r); ok {
			if apart := looseCells(text); len(apart) > 2 {
				r.Cells = apart
			}
		}
		out.Rows = append(out.Rows, r)
	}
	return out
}

var labeledText = compiled(`(?i)^((?:rx|tx|receive|transmit|xmit)[ :]+)?\d{2,3}[.]\d{3}`)

// looseLine is a row as one line: of one cell, or with a cell such as "RX 151.2200" or
// "151.2200 simplex".
func looseLine(r cells.Row) (string, bool) {
	var texts []string
	labeled := false
	for _, c := range r.Cells {
		if !c.Empty() {
			texts = append(texts, c.Text)
			if m := labeledText().FindStringSubmatch(c.Text); m != nil {
				_, single := frequencyOf(c)
				labeled = labeled || m[1] != "" || !single
			}
		}
	}
	return strings.Join(texts, " "), labeled || len(texts) == 1
}

// loose is what a line says: each in a column of its own, so that lines which say
// more and less stand below each other.
type loose struct {
	number, name     string
	frequency, tones [2]string // received, transmitted
	width, mode      string
	rest             string
	toneSides        []int // of each tone: the frequency that stood before it
	found            []string
}

// looseCells are the cells of a line with a channel: its number, its name, each
// frequency and tone, and the rest as a remark; nil where it holds no frequency.
func looseCells(line string) []cells.Cell {
	words := strings.Fields(line)
	first := slices.IndexFunc(words, func(w string) bool {
		m := numberText().FindStringSubmatch(w)
		return m != nil && len(m[2]) >= 3 && surelyFrequency(cells.Cell{Text: w})
	})
	if first < 1 {
		return nil
	}
	l := loose{}
	name := words[:first]
	if _, ok := integerOf(words[0]); ok && first > 1 {
		l.number, name = words[0], words[1:first]
	}
	if _, ok := sideOf(name[len(name)-1]); ok && len(name) > 1 {
		name, first = name[:len(name)-1], first-1
	}
	l.name = strings.Join(name, " ")
	l.read(words[first:])
	row := []cells.Cell{}
	for _, text := range []string{l.number, l.name, l.frequency[0], l.tones[0], l.frequency[1], l.tones[1], l.width, l.mode, l.rest} {
		row = append(row, cells.Cell{Text: text})
	}
	for len(row) > 0 && row[len(row)-1].Empty() {
		row = row[:len(row)-1]
	}
	return row
}

// sideOf is 0 for a word that announces what is received, 1 for transmitted.
func sideOf(word string) (side int, ok bool) {
	switch strings.ToUpper(strings.Trim(word, ":=")) {
	case "RX", "RECEIVE":
		return 0, true
	case "TX", "TRANSMIT", "XMIT":
		return 1, true
	}
	return 0, false
}

// read takes the words behind the name, up to the first that is no value.
func (l *loose) read(words []string) {
	side := -1 // said by a word
	last := 0  // side of the last frequency
	for i := 0; i < len(words); i++ {
		w := words[i]
		if s, ok := sideOf(w); ok && i+1 < len(words) && !strings.EqualFold(words[i+1], "only") {
			side = s
			continue
		}
		if len(w) > 2 && sameText().MatchString(w) { // what is not transmitted elsewhere needs no frequency
			l.rest = strings.TrimSpace(l.rest + " " + w)
			continue
		}
		n := 1
		if i+1 < len(words) && toneWords[strings.ToUpper(w)] {
			n = 2
		}
		text := strings.Join(words[i:i+n], " ")
		s, used := l.value(text, side, last)
		if !used {
			l.rest = strings.TrimSpace(l.rest + " " + strings.Join(words[i:], " "))
			break
		}
		last, side = s, -1
		i += n - 1
	}
	l.settleTones()
}

var toneWords = map[string]bool{"PL": true, "CTCSS": true, "TPL": true, "DPL": true, "DCS": true, "NAC": true, "TONE": true}

// value keeps one value. It returns the side of the last frequency.
func (l *loose) value(text string, side, last int) (int, bool) {
	c := cells.Cell{Text: text}
	_, freq := frequencyOf(c)
	_, tone := toneOf(c, "", false)
	_, width := widthOf(text)
	_, _, mode := modeOf(text)
	switch {
	case freq && (surelyFrequency(c) || !tone):
		if side < 0 {
			if side = 0; l.frequency[0] != "" {
				side = 1
			}
		}
		if l.frequency[side] != "" {
			return last, false
		}
		l.frequency[side] = text
		return side, true
	case tone && len(l.found) < 2:
		if side >= 0 {
			last = side
		}
		l.found, l.toneSides = append(l.found, text), append(l.toneSides, last)
		return last, true
	case width && l.width == "":
		l.width = text
		return last, true
	case mode && l.mode == "":
		l.mode = text
		return last, true
	}
	return last, false
}

// settleTones gives the tones of a line to their frequencies: of two the first
// is received; one alone opens repeaters, unless it stands between both
// frequencies.
func (l *loose) settleTones() {
	switch {
	case len(l.found) == 2 && l.toneSides[0] == 1 && l.toneSides[1] == 0:
		l.tones = [2]string{l.found[1], l.found[0]}
	case len(l.found) == 2:
		l.tones = [2]string{l.found[0], l.found[1]}
	case len(l.found) == 1 && l.toneSides[0] == 0 && l.frequency[1] != "":
		l.tones = [2]string{l.found[0], "CSQ"} // said, so that a column of tones alone is not taken for the other one
	case len(l.found) == 1:
		l.tones[1] = l.found[0]
	}
}
