package sheet

import (
	"slices"
	"strings"
)

// Text without columns, as it is copied out of a message or of a page: any line
// with a name of the load or a frequency is a candidate, tones are told by their
// form, and the rest is shown.

// piece is a word or some of a line, and what it was taken for.
type piece struct {
	from, to int // of the line's words
	what     what
	side     side
	text     string
}

// readLines reads a text line by line.
func readLines(f *finder, g grid) (s *Sheet, score int) {
	r := &reader{finder: f, grid: g, rowOf: map[int]bool{}, out: &Sheet{find: f}}
	running := false
	for i, cells := range r.rows {
		text := strings.Join(strings.Fields(strings.Join(cells, " ")), " ")
		if parts, _ := labelsOf(text); len(parts) > 0 {
			running = slices.ContainsFunc(parts, func(p part) bool { return p.is == Instructions })
			continue
		}
		if running || furniture().MatchString(text) || len(text) > longestLine {
			continue
		}
		row, ok := r.channelIn(text)
		if !ok {
			continue
		}
		row.Line, row.position = r.line(i), len(r.out.Rows)+1
		for k := range row.Cells {
			row.Cells[k].Line = row.Line
		}
		for k := range row.NotRead {
			row.NotRead[k].Line = row.Line
		}
		r.rowOf[i] = true
		if len(r.out.Rows) <= MaxRows {
			r.out.Rows = append(r.out.Rows, row)
		}
	}
	r.readHeads()
	for _, row := range r.out.Rows {
		score += 4 + 3 - 2*len(row.NotRead)
	}
	return r.out, score
}

// longestLine is the longest line that is looked at: a channel takes less.
const longestLine = 400

// channelIn makes a row of a line; not ok where it shows no channel.
func (r *reader) channelIn(text string) (row Row, ok bool) {
	words := strings.FieldsFunc(text, func(c rune) bool { return c == ' ' || c == '|' || c == ';' })
	pieces := r.pieces(words)
	count := func(w what) (n int) {
		for _, p := range pieces {
			if p.what == w {
				n++
			}
		}
		return n
	}
	names := count(name)
	if count(frequencies) == 0 && (names == 0 || names > 1 || count(none) > 3) {
		return row, false
	}
	row.cells = map[what][]Cell{}
	row.Cells = []Cell{{Text: text}}
	r.sidesOf(pieces)
	put := func(into *string, p piece) bool {
		if *into != "" {
			return false
		}
		*into = p.text
		return true
	}
	for _, p := range pieces {
		cell := Cell{Text: p.text}
		used := false
		if into := row.field(column{p.what, p.side}); into != nil {
			used = put(into, p)
		}
		if !used && p.what == none && fillWords().MatchString(p.text) {
			continue
		}
		if !used {
			row.NotRead = append(row.NotRead, cell)
			continue
		}
		row.cells[p.what] = append(row.cells[p.what], cell)
	}
	// A line without a tone may have one in words that were not read.
	row.byLine, row.toneless = true, row.RxTone+row.TxTone == ""
	return row, true
}

// fillWords say nothing of a channel.
var fillWords = compiled(`(?i)^(?:(?:is|are|on|at|the|use|uses|using|for|and|with|channel|ch|freq|tone|pl|[-:=,.()@/]+)\s*)+$`)

// pieces takes the words of a line apart, the longest name first.
func (r *reader) pieces(words []string) (all []piece) {
	const longest = 6
	said := noSide // RX: or TX: before a value
	for i := 0; i < len(words); {
		if s := sideWord(words[i]); s != noSide && i+1 < len(words) {
			said = s
			i++
			continue
		}
		p := piece{from: i, to: i + 1, text: strings.Trim(words[i], ",")}
		for n := min(longest, len(words)-i); n > 0; n-- {
			text := strings.Trim(strings.Join(words[i:i+n], " "), ",:")
			if w, value := r.pieceOf(text, n, all); w != none {
				p.to, p.what, p.text = i+n, w, value
				break
			}
		}
		if p.what == frequencies || p.what == tones {
			p.side, said = said, noSide
		}
		if p.what == none && len(all) > 0 && all[len(all)-1].what == none {
			all[len(all)-1].text += " " + p.text
			all[len(all)-1].to = p.to
		} else {
			all = append(all, p)
		}
		i = p.to
	}
	for i := range all { // the words between values: an assignment, or nothing known
		if p := &all[i]; p.what == none && (namesDivision().MatchString(p.text) || everyone().MatchString(p.text)) {
			p.what = assignment
		}
	}
	return all
}

// sideWord is the side that a word announces.
func sideWord(w string) side {
	switch strings.ToUpper(strings.Trim(w, ":=,(")) {
	case "RX", "RECEIVE", "RCV", "R":
		return rxSide
	case "TX", "TRANSMIT", "XMIT", "T":
		return txSide
	}
	return noSide
}

// pieceOf tells what some words of a line are, by their form and by what stands
// before them.
func (r *reader) pieceOf(text string, words int, before []piece) (w what, value string) {
	k := r.kindOf(text)
	last := none
	if len(before) > 0 {
		last = before[len(before)-1].what
	}
	afterRadio := slices.ContainsFunc(before, func(p piece) bool { return p.what == frequencies })
	switch {
	case k&isName != 0:
		return name, text
	case k&isFrequency != 0 && words <= 3:
		return frequencies, text
	case k&isTone != 0 && words <= 3, k&maybeTone != 0 && words == 1, k&isCarrier != 0 && afterRadio && text != "-" && words <= 2:
		return tones, text
	case k&isWidth != 0 && last == frequencies && words == 1:
		return widths, text
	case k&isMode != 0 && afterRadio && (words > 1 || len(text) > 1 || last == tones || last == frequencies || last == widths):
		return mode, text
	case k&isFunction != 0 && words <= 3 && exactUse(text):
		return function, text
	case k&isInteger != 0 && words == 1 && len(before) == 0:
		return number, text
	}
	return none, ""
}

// exactUse tells whether words are a net function and nothing else.
func exactUse(text string) bool {
	return functionText().MatchString(text)
}

var functionText = compiled(`(?i)^(?:command|cmd|tactical|tac|(?:air|ground)[- ]?(?:to|/)[- ]?(?:ground|air)|a/g|(?:air |emergency )?guard|support|dispatch|logistics|travel|medical|med|ems)$`)

// sidesOf gives sides to the frequencies and tones of a line: receive stands
// before transmit, and a tone behind its frequency. Where that fits no channel,
// and another way does, it is the other way.
func (r *reader) sidesOf(pieces []piece) {
	free := func(w what, s side) bool {
		return !slices.ContainsFunc(pieces, func(p piece) bool { return p.what == w && p.side == s })
	}
	next := func(w what) side {
		if free(w, rxSide) {
			return rxSide
		}
		if free(w, txSide) {
			return txSide
		}
		return noSide
	}
	var open []int // tones
	freqs := 0
	for i := range pieces {
		p := &pieces[i]
		switch p.what {
		case frequencies:
			freqs++
			if p.side == noSide {
				p.side = next(frequencies)
			}
		case widths:
			p.side = rxSide
			if freqs > 1 {
				p.side = txSide
			}
		case tones:
			if p.side == noSide {
				open = append(open, i)
			}
		}
	}
	if len(open) == 0 || len(open) > 2 {
		return
	}
	likely := []side{rxSide, txSide}
	if len(open) == 1 {
		likely = []side{txSide}
	}
	for _, turned := range []bool{false, true} {
		for k, i := range open {
			pieces[i].side = likely[k]
			if turned {
				pieces[i].side = rxSide + txSide - likely[k]
			}
		}
		var row Row
		for _, p := range pieces {
			if into := row.field(column{p.what, p.side}); into != nil && *into == "" {
				*into = p.text
			}
		}
		if r.fits(row) {
			return
		}
	}
	for k, i := range open {
		pieces[i].side = likely[k]
	}
}
