package sheet

import (
	"errors"
	"fmt"
	"strings"

	"slotcard/plan"
	"slotcard/plan/cells"
)

// Read reads a plan sheet: a workbook, CSV or text, as [cells.Read] takes it
// apart. The ending of its name tells CSV from text, and the load helps to tell
// what is what. Of several sheets in a workbook it is the one on which most is
// understood. An error completes the sentence that begins with the file's name.
func Read(data []byte, fileName string, l *plan.Load) (*Sheet, error) {
	book, err := cells.Read(data, fileName)
	if err != nil {
		return nil, err
	}
	f := newFinder(l)
	var best *Sheet
	most, titled := 0, false
	var all []*Sheet
	for _, page := range book.Sheets {
		if page.Hidden {
			all = append(all, &Sheet{Name: page.Name, lines: len(page.Rows), hidden: true})
			continue
		}
		g, err := gridOf(page)
		if err != nil {
			return nil, err
		}
		s, score, hasTitles := readGrid(f, g)
		if book.Format == cells.Text || book.Format == cells.PDF {
			if byLines, better := readLines(f, g); better > score || len(s.Rows) == 0 {
				s, score = byLines, better
			}
		}
		turned := false
		if !hasTitles && page.Width() > 1 && len(page.Rows) <= mostColumns {
			if t, better, has := readGrid(f, g.turn()); has && better > score && len(t.Rows) > 0 {
				s, score, turned = t, better, true
			}
		}
		s.Name, s.lines = page.Name, len(page.Rows)
		s.word = wordOf(page)
		if turned {
			s.word = "column"
		}
		all = append(all, s)
		titled = titled || hasTitles
		if len(s.Rows) > 0 && (best == nil || score > most) {
			best, most = s, score
		}
	}
	switch {
	case best == nil && titled:
		return nil, errors.New("has the titles of a plan sheet, but no channel below them")
	case best == nil:
		return nil, errors.New("has no line that names a channel of the load or a frequency: it needs a table with the names or the " +
			"frequencies of channels, such as Function, Channel Name, Assignment, RX Freq N or W, RX Tone/NAC, TX Freq N or W, TX Tone/NAC")
	case len(best.Rows) > MaxRows:
		return nil, fmt.Errorf("has more than %d channels; no list holds as many", MaxRows)
	}
	for _, s := range all {
		if s != best && s.lines > 0 {
			best.Others = append(best.Others, s.whole())
		}
	}
	return best, nil
}

// wordOf is what the lines of a sheet are called.
func wordOf(page *cells.Sheet) string {
	if page.Name == "" {
		return "line"
	}
	return "row"
}

// whole says of a sheet that nothing of it was read.
func (s *Sheet) whole() string {
	what := fmt.Sprintf("sheet %s, %d rows", s.Name, s.lines)
	if s.lines == 1 {
		what = fmt.Sprintf("sheet %s, 1 row", s.Name)
	}
	switch {
	case s.hidden:
		return what + ", which the file hides"
	case len(s.Rows) > 0:
		return what + fmt.Sprintf(", of which %d may be channels", len(s.Rows))
	}
	return what
}

// Bounds of what is looked at for a plan sheet, far beyond any. Our choice.
const (
	mostLines   = 2000
	mostColumns = 100
	mostText    = 1 << 20 // bytes, in all cells
)

// gridOf is a sheet as a grid of texts.
func gridOf(page *cells.Sheet) (g grid, err error) {
	if len(page.Rows) > mostLines || page.Width() > mostColumns {
		where := "has"
		if page.Name != "" {
			where = "has, on sheet " + page.Name + ","
		}
		return g, fmt.Errorf("%s more than %d lines or %d columns: that is no plan sheet", where, mostLines, mostColumns)
	}
	size := 0
	for _, row := range page.Rows {
		for _, c := range row.Cells {
			size += len(c.Text)
		}
		if size > mostText {
			return g, fmt.Errorf("holds more than %d kB of text: that is no plan sheet", mostText>>10)
		}
		texts := make([]string, len(row.Cells))
		for k, c := range row.Cells {
			texts[k] = c.Text
			// A number that is shown with fewer digits than it has: 151.14 of 151.1375.
			if c.Stored != "" && numberText().MatchString(c.Text) && numberText().MatchString(c.Stored) && decimals(c.Stored) <= 6 {
				texts[k] = c.Stored
			}
		}
		g.lines, g.rows = append(g.lines, row.Number), append(g.rows, texts)
	}
	g.below = func(i, k int) string {
		m, ok := page.MergedAt(i, k)
		if !ok || m.Left != k || m.Top == page.Rows[i].Number {
			return ""
		}
		return page.Shown(i, k).Text
	}
	return g, nil
}

// clean is a text on one line, without spaces at its ends or two in a row.
func clean(s string) string { return strings.Join(strings.Fields(s), " ") }
