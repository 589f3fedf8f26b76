package channellist

import (
	"regexp"
	"slices"
	"strings"

	"slotcard/plan/cells"
)

// table is a rectangle of a sheet: rows below one set of titles, or without any.
type table struct {
	source      *Source
	sheet       *cells.Sheet
	left, right int   // columns, inclusive
	titles      []int // indexes of the rows that hold titles
	above       []int // lines above the titles, or above the first row
	rows        []int // indexes of the rows below, headings among them
	columns     []Column
	kind        Kind
	read        int
	sole        bool // its sheet is the only one of the file with a table
}

func (t *table) cell(row, column int) cells.Cell { return t.sheet.Rows[row].Cell(column) }

// filled are the columns of a row that hold something.
func (t *table) filled(row int) []int {
	var at []int
	for c := t.left; c <= min(t.right, len(t.sheet.Rows[row].Cells)-1); c++ {
		if !t.cell(row, c).Empty() {
			at = append(at, c)
		}
	}
	return at
}

func (t *table) place(row, column int) Place {
	return Place{t.source.Name, t.sheet.Name, t.sheet.Rows[row].Number, column}
}

// first is the index of the table's first row.
func (t *table) first() int {
	switch {
	case len(t.titles) > 0:
		return t.titles[0]
	case len(t.rows) > 0:
		return t.rows[0]
	}
	return t.above[0]
}

// key tells tables with the same titles.
func (t *table) key() string {
	var b strings.Builder
	for _, row := range t.titles {
		for c := t.left; c <= t.right; c++ {
			b.WriteString(strings.ToLower(t.cell(row, c).Text) + "\t")
		}
		b.WriteByte('\n')
	}
	return b.String()
}

// tablesOf finds the tables of a sheet. Tables stand below each other, each with
// titles of its own, or beside each other with an empty column between.
func tablesOf(source *Source, s *cells.Sheet) []*table {
	if len(s.Rows) == 0 {
		return nil
	}
	var found []*table
	for _, b := range beside(source, s) {
		for _, t := range below(source, s, b[0], b[1]) {
			found = append(found, t.apart()...)
		}
	}
	return found
}

// apart are the tables of a table whose titles say the same twice or more, side by
// side: a long list on one page. Lines above them belong to the first, and so does
// a line across all of them.
func (t *table) apart() []*table {
	period := t.period()
	if period == 0 {
		return []*table{t}
	}
	var parts []*table
	for left := t.left; left <= t.right; left += period {
		p := &table{source: t.source, sheet: t.sheet, left: left, right: min(left+period-1, t.right), titles: t.titles}
		for _, row := range t.rows {
			if len(p.filled(row)) > 0 {
				p.rows = append(p.rows, row)
			}
		}
		for _, row := range t.above {
			if len(p.filled(row)) > 0 {
				p.above = append(p.above, row)
			}
		}
		parts = append(parts, p)
	}
	return parts
}

// period is the number of columns after which the titles repeat; 0 where they do
// not, or where what repeats names no channels: tones beside frequencies.
func (t *table) period() int {
	if len(t.titles) == 0 {
		return 0
	}
	width := t.right - t.left + 1
	title := func(i int) string { return strings.ToLower(t.titleAt(t.left + i)) }
	for width > 0 && title(width-1) == "" {
		width--
	}
	for p := 2; 2*p <= width; p++ {
		same, names, frequencies := width%p == 0, false, false
		for i := 0; i < width && same; i++ {
			w := titleOf(title(i)).words
			names = names || w["name"] || w["display"] || w["channel"]
			frequencies = frequencies || w["freq"] || w["rx"] || w["talkgroup"]
			same = title(i) == title(i%p)
		}
		if same && names && frequencies {
			return p
		}
	}
	return 0
}

// beside are the first and last columns of tables that stand beside each other.
// Each must have titles of its own, or frequencies: a list may have empty columns.
func beside(source *Source, s *cells.Sheet) [][2]int {
	width := s.Width()
	used := make([]int, width)
	for _, r := range s.Rows {
		filled := 0
		for _, c := range r.Cells {
			if !c.Empty() {
				filled++
			}
		}
		for i, c := range r.Cells {
			if !c.Empty() && filled > 2 { // a heading may stand anywhere
				used[i]++
			}
		}
	}
	var parts [][2]int
	start := 0
	for i := 0; i <= width; i++ {
		if i < width && used[i] > 0 {
			continue
		}
		if i > start {
			parts = append(parts, [2]int{start, i - 1})
		}
		start = i + 1
	}
	if len(parts) < 2 {
		return [][2]int{{0, width - 1}}
	}
	for _, p := range parts {
		t := &table{source: source, sheet: s, left: p[0], right: p[1]}
		if !slices.ContainsFunc(indexes(s), t.isTitles) {
			return [][2]int{{0, width - 1}}
		}
	}
	for i := range parts { // what stands between belongs to the one on its left
		if i+1 < len(parts) {
			parts[i][1] = parts[i+1][0] - 1
		} else {
			parts[i][1] = width - 1
		}
	}
	parts[0][0] = 0
	return parts
}

func indexes(s *cells.Sheet) []int {
	all := make([]int, len(s.Rows))
	for i := range all {
		all[i] = i
	}
	return all
}

// isTitles tells whether a row holds titles: at least two cells that look like
// it, most of those that are filled, and no frequency.
func (t *table) isTitles(row int) bool {
	filled := t.filled(row)
	known, distinct := 0, map[string]bool{}
	for _, c := range filled {
		cell := t.cell(row, c)
		if manyDigits.MatchString(cell.Text) {
			return false
		}
		if titled(cell.Text) {
			known++
			distinct[strings.ToLower(cell.Text)] = true
		}
	}
	return len(distinct) >= 2 && 2*known >= len(filled)
}

// manyDigits stand in no title: frequencies have them, also those with a slip.
var manyDigits = regexp.MustCompile(`\d{3}`)

// moreTitles tells whether a row beside titles goes on with them: all that it holds
// looks like titles.
func (t *table) moreTitles(row int) bool {
	filled := t.filled(row)
	for _, c := range filled {
		if !titled(t.cell(row, c).Text) || namesGroup(t.cell(row, c).Text) {
			return false
		}
	}
	return len(filled) > 1
}

// below are the tables of some columns that stand below each other.
func below(source *Source, s *cells.Sheet, left, right int) []*table {
	var found []*table
	fresh := func() *table { return &table{source: source, sheet: s, left: left, right: right} }
	t := fresh()
	for row := 0; row < len(s.Rows); row++ {
		filled := t.filled(row)
		if len(filled) == 0 {
			continue
		}
		if t.isTitles(row) {
			above := lonely(t, row)
			t.rows = t.rows[:len(t.rows)-len(above)]
			titles := []int{row}
			for len(above) > 0 && t.moreTitles(above[len(above)-1]) && len(titles) < 3 {
				titles = append([]int{above[len(above)-1]}, titles...)
				above = above[:len(above)-1]
			}
			for row+1 < len(s.Rows) && len(titles) < 3 && (t.moreTitles(row+1) || t.isTitles(row+1)) {
				row++
				titles = append(titles, row)
			}
			if len(t.rows)+len(t.titles)+len(t.above) > 0 {
				found = append(found, t)
			}
			next := fresh()
			next.titles, next.above = titles, above
			t = next
			continue
		}
		t.rows = append(t.rows, row)
	}
	return append(found, t)
}

// lonely are the last rows of a table, before row, that hold no channel: they
// belong to the titles that follow.
func lonely(t *table, row int) []int {
	var above []int
	for i := len(t.rows) - 1; i >= 0; i-- {
		r := t.rows[i]
		filled := t.filled(r)
		data := slices.ContainsFunc(filled, func(c int) bool { return surelyFrequency(t.cell(r, c)) })
		zone := len(filled) <= 3 && groupText().MatchString(t.cell(r, filled[0]).Text)
		if data || len(filled) > 2 && !zone && !t.moreTitles(r) {
			break
		}
		above = append([]int{r}, above...)
	}
	return above
}

var groupText = compiled(`(?i)^\W*(?:ZONE|GROUP|GRP|BANK)\b`)

// namesGroup tells whether a line is the heading of a group by its first word.
func namesGroup(text string) bool { return groupText().MatchString(text) && splitsGroup(text) }

// splitsGroup tells a heading from titles such as "Zone" or "Group Name".
func splitsGroup(text string) bool {
	for _, w := range splitWords(text)[1:] {
		if titleWords[w] == "" || strings.ContainsAny(w, "0123456789") {
			return true
		}
	}
	return regexp.MustCompile(`\d`).MatchString(text)
}

var (
	groupNumberText = compiled(`(?i)^\W*(?:ZONE|GROUP|GRP|BANK|Z|G)?[ #.:]*0*(\d{1,4})\W*$`)
	groupBothText   = compiled(`(?i)^\W*(?:ZONE|GROUP|GRP|BANK|Z|G)?[ #.:]*0*(\d{1,4})(?:\s*[-–—:.,)(/|]+\s*|\s+)(?:NAME\s*:?\s*)?(\S.*?)\W*$`)
	groupAfterText  = compiled(`(?i)^\W*(\S.*?)\s*[-–—:.,(/|]+\s*(?:ZONE|GROUP|GRP|BANK)[ #.:]*0*(\d{1,4})\W*$`)
	groupLabelText  = compiled(`(?i)^\W*(?:ZONE|GROUP|GRP|BANK)(?:\s*NAME)?\s*[-–—:=]\s*(\S.*?)\s*$`)
)

// groupOf takes the name of a group apart: "ZONE 1 - LOCAL", "1 MC LOCAL",
// "Local (zone 1)", "Zone: Local". Number is 0 where it says none.
func groupOf(text string) (number int, name string) {
	text = strings.Trim(strings.TrimSpace(text), "*=_~")
	text = strings.TrimSpace(text)
	for _, p := range []struct {
		pattern      pattern
		number, name int
	}{{groupNumberText, 1, 0}, {groupBothText, 1, 2}, {groupAfterText, 2, 1}, {groupLabelText, 0, 1}} {
		m := p.pattern().FindStringSubmatch(text)
		if m == nil {
			continue
		}
		if p.number > 0 {
			number, _ = integerOf(m[p.number])
		}
		name = text
		if p.name > 0 {
			name = m[p.name]
			if strings.Count(name, "(") < strings.Count(text, ")") && strings.Contains(name, "(") {
				name += ")"
			}
		}
		if number > 0 && p.name == 0 && name == m[1] {
			name = "Group " + m[1]
		}
		return number, name
	}
	return 0, text
}
