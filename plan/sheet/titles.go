package sheet

import (
	"strings"
	"unicode"
)

// what a column of the table is about. Its frequency, tone and width come twice,
// for receive and for transmit: see [side].
type what uint8

const (
	none what = iota
	zone
	number
	function
	name
	assignment
	frequencies
	tones
	widths
	mode
	remarks
	system
	site
	bare // a title that says receive or transmit, and not of what
)

// side tells receive from transmit.
type side uint8

const (
	noSide side = iota
	rxSide
	txSide
	inSide  // "in": of a radio it is receive, of a repeater transmit
	outSide // the other one
)

// column is what a column is taken for.
type column struct {
	what what
	side side
}

// radio tells whether the column is about receiving or transmitting.
func (c column) radio() bool {
	return c.what == frequencies || c.what == tones || c.what == widths || c.what == bare
}

// titleWords are the words of which titles are made, those of form ICS 205,
// block 4 (ics_forms.csv, secondary) and of the dialects in use (common
// practice). A cell with any other word is no title, but for what [titleOf]
// says.
var titleWords = map[string]column{
	"rx": {bare, rxSide}, "receive": {bare, rxSide}, "receiving": {bare, rxSide}, "receiver": {bare, rxSide}, "rcv": {bare, rxSide},
	"recv": {bare, rxSide}, "rec": {bare, rxSide}, "rcvr": {bare, rxSide}, "recieve": {bare, rxSide},
	"tx": {bare, txSide}, "transmit": {bare, txSide}, "transmitting": {bare, txSide}, "transmitter": {bare, txSide}, "xmit": {bare, txSide},
	"trans": {bare, txSide}, "xmt": {bare, txSide}, "xmtr": {bare, txSide},
	"in": {bare, inSide}, "input": {bare, inSide}, "out": {bare, outSide}, "output": {bare, outSide},
	"decode": {tones, rxSide}, "dec": {tones, rxSide}, "decoder": {tones, rxSide},
	"encode": {tones, txSide}, "enc": {tones, txSide}, "encoder": {tones, txSide},
	"freq": {frequencies, 0}, "freqs": {frequencies, 0}, "frequency": {frequencies, 0}, "frequencies": {frequencies, 0}, "mhz": {frequencies, 0},
	"tone": {tones, 0}, "tones": {tones, 0}, "nac": {tones, 0}, "squelch": {tones, 0}, "ctcss": {tones, 0}, "pl": {tones, 0},
	"dpl": {tones, 0}, "dcs": {tones, 0}, "cdcss": {tones, 0}, "code": {tones, 0}, "hz": {tones, 0}, "access": {tones, 0}, "subtone": {tones, 0}, "ct": {tones, 0},
	"width": {widths, 0}, "bandwidth": {widths, 0}, "bw": {widths, 0}, "nw": {widths, 0}, "narrow": {widths, 0}, "wide": {widths, 0}, "khz": {widths, 0},
	"band": {widths, 0}, "narrowband": {widths, 0}, "wideband": {widths, 0},
	"zone": {zone, 0}, "grp": {zone, 0}, "group": {zone, 0}, "bank": {zone, 0}, "gp": {zone, 0},
	"ch": {number, 0}, "chan": {number, 0}, "channel": {number, 0}, "chn": {number, 0}, "chnl": {number, 0}, "no": {number, 0}, "num": {number, 0},
	"number": {number, 0}, "nr": {number, 0}, "position": {number, 0}, "pos": {number, 0}, "slot": {number, 0}, "line": {number, 0}, "item": {number, 0}, "knob": {number, 0},
	"function": {function, 0}, "use": {function, 0}, "usage": {function, 0}, "purpose": {function, 0}, "net": {function, 0},
	"name": {name, 0}, "talkgroup": {name, 0}, "tg": {name, 0}, "display": {name, 0}, "displayname": {name, 0}, "alias": {name, 0}, "label": {name, 0},
	"assignment": {assignment, 0}, "assigned": {assignment, 0}, "division": {assignment, 0}, "divisions": {assignment, 0}, "div": {assignment, 0},
	"divs": {assignment, 0}, "who": {assignment, 0}, "branch": {assignment, 0}, "assign": {assignment, 0}, "asgmt": {assignment, 0}, "assignments": {assignment, 0},
	"mode": {mode, 0}, "analog": {mode, 0}, "digital": {mode, 0}, "mixed": {mode, 0}, "modulation": {mode, 0},
	"system": {system, 0}, "trunked": {system, 0},
	"remarks": {remarks, 0}, "remark": {remarks, 0}, "comments": {remarks, 0}, "comment": {remarks, 0}, "notes": {remarks, 0}, "note": {remarks, 0},
	"site": {site, 0}, "repeater": {site, 0}, "rptr": {site, 0}, "location": {site, 0},
	// Words that say nothing by themselves.
	"a": {}, "d": {}, "m": {}, "n": {}, "w": {}, "r": {}, "t": {}, "or": {}, "and": {}, "of": {}, "the": {}, "to": {}, "radio": {}, "id": {}, "text": {},
	"used": {}, "for": {}, "information": {}, "info": {}, "type": {}, "if": {}, "any": {}, "by": {}, "side": {},
}

// wordsOf are the words of a title, in small letters; # is "no".
func wordsOf(text string) (words []string) {
	text = strings.ReplaceAll(text, "#", " no ")
	for _, w := range strings.FieldsFunc(strings.ToLower(text), func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsDigit(r) }) {
		if _, ok := titleWords[w]; !ok {
			// RXFreq, txtone: two words without a space.
			for _, start := range []string{"rx", "tx", "receive", "transmit", "ch"} {
				if rest, cut := strings.CutPrefix(w, start); cut {
					if _, ok := titleWords[rest]; ok {
						words = append(words, start)
						w = rest
						break
					}
				}
			}
		}
		words = append(words, w)
	}
	return words
}

// titleOf is the column that words are the title of; loose takes words that no
// title has as well, where the others say enough.
func titleOf(words []string, loose bool) (c column, ok bool) {
	if len(words) == 0 || len(words) > 14 {
		return column{}, false
	}
	has := map[what]bool{}
	word := map[string]bool{}
	for _, w := range words {
		t, known := titleWords[w]
		if !known && !loose {
			return column{}, false
		}
		word[w] = true
		has[t.what] = true
		if t.side != noSide && (c.side == noSide || c.side == inSide || c.side == outSide) {
			c.side = t.side
		}
	}
	letters := word["n"] && word["w"] || word["nw"]
	if word["r"] && (has[frequencies] || has[tones]) {
		c.side = rxSide
	}
	if word["t"] && (has[frequencies] || has[tones]) {
		c.side = txSide
	}
	delete(has, none)
	switch {
	case has[remarks]:
		c.what = remarks
	case has[name] && !(has[system] && len(has) == 2 && !word["talkgroup"]), word["talkgroup"]:
		c.what = name
	case word["a"] && word["d"] || has[mode]:
		c.what = mode
	case has[frequencies]:
		c.what = frequencies
	case has[tones]:
		c.what = tones
	case letters, has[widths]:
		c.what = widths
	case has[assignment]:
		c.what = assignment
	case has[function]:
		c.what = function
	case has[site] && c.side == noSide:
		c.what = site
	case has[system]:
		c.what = system
	case c.side != noSide && !has[number]:
		c.what = bare
	case has[zone]:
		c.what = zone
	case has[number]:
		c.what = number
	case c.side != noSide:
		c.what = bare
	default:
		return column{}, false
	}
	if !c.radio() {
		c.side = noSide
	}
	return c, true
}

// block is a row of titles, or up to three rows that are one together.
type block struct {
	first, last int // rows of the grid
	columns     []column
	texts       []string // of each column, for people
}

// mostTitleRows is how many rows titles stand over at most.
const mostTitleRows = 3

// isTitles tells whether a row of cells can be of titles, and how many are.
func (f *finder) isTitles(cells []string) (n int, ok bool) {
	filled := 0
	for _, c := range cells {
		if c == "" {
			continue
		}
		filled++
		k := f.kindOf(c)
		if k&(isFrequency|isName|isTone|maybeTone) != 0 {
			return 0, false
		}
		if k&(isMode|isWidth|isCarrier) != 0 || k&isAssigned != 0 && lonelyLetter(c) {
			continue // a value, not a title
		}
		if _, ok := titleOf(wordsOf(c), false); ok {
			n++
		}
	}
	return n, n > 0 && 2*n >= filled
}

// lonelyLetter tells whether a text ends with a letter alone, as in "Division A".
func lonelyLetter(s string) bool {
	words := strings.Fields(s)
	return len(words) > 1 && len(words[len(words)-1]) == 1
}

// blockAt is the block of titles that begins with a row; not ok where none does.
func (f *finder) blockAt(rows [][]string, at int) (b block, ok bool) {
	best := 0
	for n := 1; n <= mostTitleRows && at+n <= len(rows); n++ {
		if _, ok := f.isTitles(rows[at+n-1]); !ok {
			break
		}
		found := blockOf(rows, at, at+n-1)
		score := 0
		has := map[what]bool{}
		for _, c := range found.columns {
			if c.what == none {
				continue
			}
			score += 2
			if c.what == bare || c.radio() && c.side == noSide {
				score--
			}
			has[c.what] = true
		}
		if score < 3 || score < 4 && !has[name] && !has[frequencies] && !has[bare] && !has[number] {
			continue
		}
		// A further row that says nothing new is a repetition: it is part of the
		// titles all the same.
		if score >= best {
			best, b, ok = score, found, true
		}
	}
	return b, best > 0
}

// blockOf joins the titles of rows into columns.
func blockOf(rows [][]string, first, last int) block {
	width := 0
	for _, r := range rows[first : last+1] {
		width = max(width, len(r))
	}
	b := block{first: first, last: last, columns: make([]column, width), texts: make([]string, width)}
	cell := func(row, col int) string {
		if col < len(rows[row]) {
			return rows[row][col]
		}
		return ""
	}
	for col := range width {
		var words, texts []string
		var own column // what the lowest row says by itself
		for row := last; row >= first; row-- {
			text := cell(row, col)
			if text == "" {
				continue
			}
			texts = append([]string{text}, texts...)
			words = append(wordsOf(text), words...)
			if len(texts) == 1 {
				own, _ = titleOf(words, false)
			}
		}
		b.texts[col] = strings.Join(texts, " ")
		switch c, ok := titleOf(words, false); {
		case own.what != none && !own.radio() && own.what != number && own.what != zone, own.radio() && own.what != bare && own.what != widths && own.side != noSide:
			b.columns[col] = own
		case ok:
			b.columns[col] = c
		default:
			// Words that no title has: only with a word of the radio beside them.
			if c, ok := titleOf(words, true); ok && c.radio() && (c.what != bare || len(words) < 4) && c.what != widths {
				b.columns[col] = c
			}
		}
		if c := &b.columns[col]; c.radio() && c.side == noSide {
			c.side = sideAbove(rows, first, last, col)
		}
		if b.texts[col] == "" && b.columns[col].what == none {
			b.columns[col].side = noSide
		}
	}
	return b
}

// sideAbove is the side that a title over several columns gives to those under
// it: the next one to the left in a row above, where nothing else stands between.
func sideAbove(rows [][]string, first, last, col int) side {
	for row := last - 1; row >= first; row-- {
		for k := min(col, len(rows[row])-1); k >= 0; k-- {
			if rows[row][k] == "" {
				continue
			}
			if c, ok := titleOf(wordsOf(rows[row][k]), false); ok && c.side != noSide {
				return c.side
			}
			break
		}
	}
	return noSide
}
