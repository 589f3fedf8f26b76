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
	loose := 0
	for _, r := range s.Rows {
		if len(r.Cells) == 1 && len(looseCells(r.Cells[0].Text)) > 2 {
			loose++
		}
	}
	if loose == 0 || 2*loose < len(s.Rows) {
		return s
	}
	out := &cells.Sheet{Name: s.Name, Hidden: s.Hidden}
	for _, r := range s.Rows {
		if len(r.Cells) == 1 {
			if apart := looseCells(r.Cells[0].Text); len(apart) > 2 {
				r.Cells = apart
			}
		}
		out.Rows = append(out.Rows, r)
	}
	return out
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
	number, name := "", words[:first]
	if _, ok := integerOf(words[0]); ok && first > 1 {
		number, name = words[0], words[1:first]
	}
	row := []cells.Cell{{Text: number}, {Text: strings.Join(name, " ")}}
	for i := first; i < len(words); i++ {
		w := words[i]
		if i+1 < len(words) && strings.EqualFold(w, "RX") && strings.EqualFold(words[i+1], "only") {
			row = append(row, cells.Cell{Text: w + " " + words[i+1]})
			i++
			continue
		}
		c := cells.Cell{Text: w}
		_, freq := frequencyOf(c)
		_, tone := toneOf(c, "", false)
		_, width := widthOf(w)
		_, _, mode := modeOf(w)
		if !freq && !tone && !width && !mode {
			return append(row, cells.Cell{Text: strings.Join(words[i:], " ")})
		}
		row = append(row, c)
	}
	return row
}
