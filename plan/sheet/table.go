package sheet

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"slotcard/plan/radio"
)

// grid is a sheet as cells: rows as long as they happen to be.
type grid struct {
	lines []int // of the file, for each row
	rows  [][]string
	below func(i, k int) string // what a cell shows that is merged with one above it

	turned bool // rows are the sheet's columns: a table with its titles in the first one
}

// place is where a cell of the grid stands on the sheet.
func (g grid) place(i, k int) (line, column int) {
	if g.turned {
		return g.lines[k], i + 1
	}
	return g.lines[i], k + 1
}

// line is the line of a row; of a grid that is turned, the column.
func (g grid) line(i int) int {
	if g.turned {
		return i + 1
	}
	return g.lines[i]
}

// turn makes rows of columns.
func (g grid) turn() grid {
	width := 0
	for _, row := range g.rows {
		width = max(width, len(row))
	}
	t := grid{lines: g.lines, turned: true, rows: make([][]string, width)}
	for k := range t.rows {
		t.rows[k] = make([]string, len(g.rows))
		for i, row := range g.rows {
			if k < len(row) {
				t.rows[k][i] = row[k]
			}
		}
	}
	return t
}

// table is one table of a sheet: its titles, and the rows below them that are
// its own.
type table struct {
	block
	from, to int // its columns: [from, to)
	end      int // the row behind its last one
	hasTone  bool
	taken    []string
}

// reader makes a sheet of a grid.
type reader struct {
	*finder
	grid
	tables []*table
	rowOf  map[int]bool // rows of the grid that are channels
	titled bool         // there are titles, be there channels below them or not
	out    *Sheet
}

// readGrid reads a grid. The score says how much of it was understood, to choose
// between ways of taking a file apart.
func readGrid(f *finder, g grid) (s *Sheet, score int, titled bool) {
	r := &reader{finder: f, grid: g, rowOf: map[int]bool{}, out: &Sheet{find: f}}
	r.findTables()
	for _, t := range r.tables {
		r.settle(t)
	}
	r.readRows()
	r.readHeads()
	for _, row := range r.out.Rows {
		score += 4 + len(row.Cells) - 2*len(row.NotRead)
	}
	for _, h := range r.out.Heads {
		score += len(h.Values)
	}
	return r.out, score, r.titled
}

// findTables finds the blocks of titles that stand above channels; where there
// are none, the rows that show by themselves that they are channels.
func (r *reader) findTables() {
	var blocks []block
	for i := 0; i < len(r.rows); i++ {
		if b, ok := r.blockAt(r.rows, i); ok {
			blocks = append(blocks, b)
			i = b.last
		}
	}
	r.titled = len(blocks) > 0
	for i, b := range blocks {
		end := len(r.rows)
		if i+1 < len(blocks) {
			end = blocks[i+1].first
		}
		if !r.hasChannels(b, end) {
			continue
		}
		bands := bandsOf(b)
		last := &bands[len(bands)-1]
		for _, row := range r.rows[b.first:end] { // columns without a title
			last[1] = max(last[1], len(row))
		}
		for _, band := range bands {
			r.tables = append(r.tables, &table{block: b, from: band[0], to: band[1], end: end})
		}
	}
	if len(r.tables) > 0 {
		r.untitledAbove()
		return
	}
	first := slices.IndexFunc(r.rows, r.showsChannel)
	if first < 0 {
		return
	}
	width := 0
	for _, row := range r.rows[first:] {
		width = max(width, len(row))
	}
	b := block{first: first, last: first - 1, columns: make([]column, width), texts: make([]string, width)}
	if first > 0 && r.likeTitles(first-1, width) {
		b = blockOf(r.rows, first-1, first-1)
	}
	r.tables = []*table{{block: b, to: width, end: len(r.rows)}}
}

// likeTitles tells whether a row that stands right above channels can be of
// titles that nobody knows: it fills most columns, and with words.
func (r *reader) likeTitles(at, width int) bool {
	filled := 0
	for _, c := range r.rows[at] {
		if c == "" {
			continue
		}
		if parts, _ := labelsOf(c); len(parts) > 0 || hasDigit(c) && len(wordsOf(c)) < 2 || furniture().MatchString(c) {
			return false
		}
		filled++
	}
	return filled >= 3 && 2*filled > width
}

// numbersColumns tells whether a row numbers the columns.
func numbersColumns(cells []string) bool {
	n := 0
	for _, c := range cells {
		if c == "" {
			continue
		}
		n++
		if strings.Trim(c, "()") != strconv.Itoa(n) {
			return false
		}
	}
	return n > 3
}

// untitledAbove adds the channels that stand above the first titles: a sheet
// whose second page alone repeats them.
func (r *reader) untitledAbove() {
	first := r.tables[0]
	at := slices.IndexFunc(r.rows[:first.first], r.showsChannel)
	if at < 0 {
		return
	}
	b := first.block
	b.first, b.last = at, at-1
	b.columns = slices.Clone(b.columns)
	r.tables = slices.Insert(r.tables, 0, &table{block: b, from: first.from, to: first.to, end: first.first})
}

// showsChannel tells whether a row shows by itself that it is a channel's: it
// has a cell that is a frequency, or a name of the load.
func (r *reader) showsChannel(row []string) bool {
	if !slices.ContainsFunc(row, func(c string) bool { return evidence(r.kindOf(c)) }) {
		return false
	}
	labels, _ := labelsOf(first(row))
	return len(labels) == 0
}

// hasChannels tells whether rows below titles are channels: by themselves, or by
// a function and a name.
func (r *reader) hasChannels(b block, end int) bool {
	for _, row := range r.rows[b.last+1 : end] {
		if r.showsChannel(row) {
			return true
		}
		known, other := false, false
		var place Row
		for i, cell := range row {
			if cell == "" || i >= len(b.columns) {
				continue
			}
			k := r.kindOf(cell)
			if into := place.field(b.columns[i]); into != nil {
				*into = cell
			}
			switch b.columns[i].what {
			case name, frequencies, number, zone:
				other = true
				known = known || evidence(k)
			case function:
				other = other || known
				known = known || k&isFunction != 0
			case assignment:
				other = other || known
				known = known || k&isAssigned != 0
			}
		}
		if _, _, ok := placeOf(place); known && other || ok {
			return true
		}
	}
	return false
}

// bandsOf are the tables side by side that a block is the titles of: where the
// first of its titles come again, another one begins.
func bandsOf(b block) [][2]int {
	width := len(b.columns)
	one := [][2]int{{0, width}}
	start := slices.IndexFunc(b.columns, func(c column) bool { return c.what != none })
	if start < 0 {
		return one
	}
	complete := func(from, to int) bool {
		n := 0
		for _, c := range b.columns[from:to] {
			if c.what == name || c.what == frequencies || c.what == number {
				n++
			}
		}
		return n >= 2
	}
	var bands [][2]int
	from := 0
	for k := start + 1; k < width; k++ {
		if b.texts[k] == b.texts[start] && complete(from, k) && complete(k, width) && sameTitles(b, start, k) {
			bands = append(bands, [2]int{from, k})
			from = k
		}
	}
	if bands == nil {
		return one
	}
	return append(bands, [2]int{from, width})
}

// sameTitles tells whether the two titles from one place on are those from
// another on.
func sameTitles(b block, from, again int) bool {
	return again+1 < len(b.texts) && b.texts[from+1] == b.texts[again+1] && b.texts[from+1] != ""
}

// body are the rows below a table's titles that can be its own.
func (r *reader) body(t *table) [][]string { return r.rows[t.last+1 : t.end] }

// band is a row's part in a table.
func (t *table) band(row []string) []string {
	if t.from >= len(row) {
		return nil
	}
	return row[t.from:min(t.to, len(row))]
}

// settle decides what each column of a table is: by its title and by what it
// holds, and, where these leave it open which side a column is of, by what fits
// the load.
func (r *reader) settle(t *table) {
	var rows [][]string
	for _, row := range r.body(t) {
		if part := t.band(row); r.showsChannel(part) {
			rows = append(rows, part)
		}
	}
	width := t.to - t.from
	for len(t.columns) < t.to {
		t.columns, t.texts = append(t.columns, column{}), append(t.texts, "")
	}
	cols := slices.Clone(t.columns[t.from:t.to])
	held := make([]profile, width)
	for i := range cols {
		cells := make([]string, 0, len(rows))
		for _, row := range rows {
			if i < len(row) {
				cells = append(cells, row[i])
			}
		}
		held[i] = r.profileOf(cells)
	}
	byContent(cols, held)
	bySide(cols)
	r.byLoad(cols, rows)
	r.turnSides(cols, t.columns[t.from:t.to], rows)
	onlyOnce(cols)
	for i, c := range cols {
		was := t.columns[t.from+i]
		if c.what != none && (c.what != was.what && was.what != bare && !(was.what == number && c.what == name) || c.radio() && c.side != was.side && (was.side == inSide || was.side == outSide || c.what == tones)) {
			t.taken = append(t.taken, fmt.Sprintf("column %s is taken for %s", titled(t.from+i, t.texts[t.from+i]), c))
		}
		t.hasTone = t.hasTone || c.what == tones
	}
	copy(t.columns[t.from:t.to], cols)
}

// titled is a column by its letter and its title.
func titled(i int, text string) string {
	if text == "" {
		return letterOf(i+1) + " (without a title)"
	}
	return fmt.Sprintf("%s %q", letterOf(i+1), text)
}

func (c column) String() string {
	words := [...]string{"nothing", "the group", "the channel number", "the function", "the channel's name", "the assignment",
		"frequency", "tone", "N or W", "the mode", "remarks", "the trunked system", "the site", "nothing"}
	if !c.radio() {
		return words[c.what]
	}
	return "the " + [...]string{"", "receive ", "transmit ", "", ""}[c.side] + words[c.what]
}

// byContent joins what titles say with what the cells hold.
func byContent(cols []column, held []profile) {
	named := slices.ContainsFunc(cols, func(c column) bool { return c.what == name })
	for i := range cols {
		c, h := &cols[i], held[i]
		holds := h.what()
		switch c.what {
		case none:
			if holds != mode && holds != name || !named {
				c.what = holds
			}
			c.side = noSide
		case bare:
			switch {
			case holds == frequencies || holds == tones || holds == widths:
				c.what = holds
			case slices.ContainsFunc(cols[:i], func(o column) bool { return o.side == c.side && o.what == frequencies }):
				c.what = tones
			default:
				c.what = frequencies
			}
		case frequencies:
			if holds == tones || holds == widths {
				c.what = holds
			}
		case tones, widths:
			if holds == frequencies || holds == tones || holds == widths {
				c.what = holds
			}
		case zone, function, assignment, mode, number, site:
			switch {
			case holds == name && !named:
				c.what, named = name, true
			case (c.what == zone || c.what == mode) && holds == assignment:
				c.what = assignment
			case holds == frequencies || holds == tones && c.what != number:
				*c = column{what: holds}
			}
		case name:
			if holds == frequencies || holds == tones {
				*c = column{what: holds}
			}
		}
	}
	// Another column holds the load's names: the one that says Name holds others.
	own := slices.IndexFunc(cols, func(c column) bool { return c.what == name })
	other := slices.IndexFunc(held, func(h profile) bool { return h.what() == name })
	if own >= 0 && other >= 0 && own != other && held[own].is[isName] == 0 {
		cols[own], cols[other] = column{}, column{what: name}
	}
}

// bySide gives sides to columns without: a frequency alone is received, widths
// and tones belong to the frequency before them.
func bySide(cols []column) {
	free := func(w what, s side) bool { return !slices.Contains(cols, column{w, s}) }
	for i := range cols {
		if cols[i].what != frequencies || cols[i].side != noSide {
			continue
		}
		if cols[i].side = txSide; free(frequencies, rxSide) {
			cols[i].side = rxSide
		}
	}
	for i := range cols {
		if cols[i].what != widths || cols[i].side != noSide {
			continue
		}
		last := rxSide
		for _, c := range cols[:i] {
			if c.what == frequencies {
				last = c.side
			}
		}
		cols[i].side = last
	}
}

// open are the columns of which it is to be found out whether they receive or
// transmit.
func open(cols []column) (at []int) {
	for i, c := range cols {
		if c.radio() && (c.side == noSide && c.what == tones || c.side == inSide || c.side == outSide) {
			at = append(at, i)
		}
	}
	return at
}

// mostOpen bounds how many columns without a side are tried against the load.
const mostOpen = 6

// byLoad settles the columns without a side: of all ways the one with which most
// rows fit a channel of the load; of several the one that titles and order make
// likely.
func (r *reader) byLoad(cols []column, rows [][]string) {
	at := open(cols)
	if len(at) > mostOpen {
		at = at[:mostOpen]
	}
	if len(at) == 0 {
		return
	}
	likely := make([]side, len(at))
	for k, i := range at {
		likely[k] = likelySide(cols, at, k, i)
	}
	try := slices.Clone(cols)
	best, most := likely, -1
	for ways := range 1 << len(at) {
		sides := make([]side, len(at))
		for k, i := range at {
			sides[k] = likely[k]
			if ways>>k&1 == 1 {
				sides[k] = rxSide + txSide - likely[k]
			}
			try[i].side = sides[k]
		}
		if twice(try) && ways > 0 {
			continue
		}
		fit := 0
		for _, row := range rows {
			if r.fits(rowOf(try, row)) {
				fit++
			}
		}
		if fit > most {
			best, most = sides, fit
		}
	}
	for k, i := range at {
		cols[i].side = best[k]
	}
}

// turnSides exchanges receive and transmit where no title says which is which and
// more rows fit the other way round.
func (r *reader) turnSides(cols, titled []column, rows [][]string) {
	fits := func(cols []column) (n int) {
		for _, row := range rows {
			if r.fits(rowOf(cols, row)) {
				n++
			}
		}
		return n
	}
	guessed := func(i int) bool { return cols[i].radio() && titled[i].side == noSide }
	pair := 0
	for i, c := range cols {
		if c.what == frequencies && guessed(i) {
			pair++
		}
	}
	if pair < 2 {
		return
	}
	turned := slices.Clone(cols)
	for i := range turned {
		switch {
		case !guessed(i):
		case turned[i].what == tones: // to be found out anew
			turned[i].side = noSide
		default:
			turned[i].side = rxSide + txSide - turned[i].side
		}
	}
	r.byLoad(turned, rows)
	if fits(turned) > fits(cols) {
		copy(cols, turned)
	}
}

// twice tells whether two columns are the same thing.
func twice(cols []column) bool {
	for i, c := range cols {
		if c.radio() && slices.Contains(cols[:i], c) {
			return true
		}
	}
	return false
}

// likelySide is the side of the k-th open column, i, by its title and its place:
// in is received and out transmitted; tones stand in the order of the
// frequencies; one tone alone is transmitted (common practice).
func likelySide(cols []column, open []int, k, i int) side {
	switch cols[i].side {
	case inSide:
		return rxSide
	case outSide:
		return txSide
	}
	var others []int // open tones, in order
	for _, o := range open {
		if cols[o].what == tones && cols[o].side == noSide {
			others = append(others, o)
		}
	}
	_ = k
	before := side(noSide) // of the frequency next before
	for _, c := range cols[:i] {
		if c.what == frequencies && (c.side == rxSide || c.side == txSide) {
			before = c.side
		}
	}
	switch {
	case slices.Contains(cols, column{tones, rxSide}):
		return txSide
	case slices.Contains(cols, column{tones, txSide}):
		return rxSide
	case len(others) == 1:
		return txSide
	case i > 0 && cols[i-1].radio() && before != noSide && alternate(cols):
		return before
	case i == others[0]:
		return rxSide
	}
	return txSide
}

// alternate tells whether frequencies and tones take turns.
func alternate(cols []column) bool {
	last := none
	for _, c := range cols {
		if c.what != frequencies && c.what != tones {
			continue
		}
		if c.what == last {
			return false
		}
		last = c.what
	}
	return true
}

// onlyOnce leaves the first of several columns that are the same thing; of the
// others nothing is known. Assignments and remarks may stand in several.
func onlyOnce(cols []column) {
	for i, c := range cols {
		if c.what != none && c.what != assignment && c.what != remarks && c.what != site && slices.Contains(cols[:i], c) {
			cols[i] = column{}
		}
	}
}

// fits tells whether a row as it is taken leads to a channel with all of its
// numbers.
func (f *finder) fits(row Row) bool {
	n, unread := f.numbers(row)
	if len(unread) > 0 {
		return false
	}
	candidates := f.byName(row)
	if len(candidates) == 0 {
		candidates = f.onRx[n.rx]
	}
	return slices.ContainsFunc(candidates, func(c *channel) bool { return f.misfit(c, n) == "" })
}

// readRows takes the channels out of the tables.
func (r *reader) readRows() {
	for _, t := range r.tables {
		r.out.Taken = append(r.out.Taken, t.taken...)
		cols := t.columns[t.from:t.to]
		title := t.texts[t.from:t.to]
		section := "" // a function that stands alone above its channels
		for i := t.last + 1; i < t.end; i++ {
			part := r.shown(t, i)
			row := rowOf(cols, byTitle(cols, title, part))
			row.Line = r.line(i)
			if !r.isChannel(row, part) {
				if alone, ok := onlyCell(part); ok && useOf(alone) != 0 && r.kindOf(alone)&isName == 0 {
					section = alone
					r.rowOf[i] = true
				} else if ok {
					section = ""
				}
				continue
			}
			r.rowOf[i] = true
			row.position = len(r.out.Rows) + 1
			row.cells = map[what][]Cell{}
			row.toneless = !t.hasTone
			if row.Function == "" && section != "" && !slices.ContainsFunc(cols, func(c column) bool { return c.what == function }) {
				row.Function = section
			}
			for k, text := range part {
				if text == "" {
					continue
				}
				cell := Cell{Title: title[k], Text: text}
				cell.Line, cell.Column = r.place(i, t.from+k)
				row.Cells = append(row.Cells, cell)
				if cols[k].what == none {
					row.NotRead = append(row.NotRead, cell)
					continue
				}
				row.cells[cols[k].what] = append(row.cells[cols[k].what], cell)
			}
			if len(r.out.Rows) <= MaxRows { // one more shows that there are too many
				r.out.Rows = append(r.out.Rows, row)
			}
		}
	}
}

// shown is a row's part in a table, with what it shares with the rows above it.
func (r *reader) shown(t *table, i int) []string {
	part := t.band(r.rows[i])
	if r.below == nil || !r.showsChannel(part) {
		return part
	}
	full := make([]string, t.to-t.from)
	copy(full, part)
	for k, c := range t.columns[t.from:t.to] {
		if full[k] == "" && !c.radio() && c.what != none {
			full[k] = r.below(i, t.from+k)
		}
	}
	return full
}

// byTitle says in the cells of assignments what their titles do: a branch, or a
// division.
func byTitle(cols []column, titles, cells []string) []string {
	if !slices.ContainsFunc(cols, func(c column) bool { return c.what == assignment }) {
		return cells
	}
	cells = slices.Clone(cells)
	for k, text := range cells {
		if k >= len(cols) || cols[k].what != assignment || text == "" || namesDivision().MatchString(text) || everyone().MatchString(text) {
			continue
		}
		words := wordsOf(titles[k])
		has := func(some ...string) bool {
			return slices.ContainsFunc(words, func(w string) bool { return slices.Contains(some, w) })
		}
		switch divisions := has("division", "divisions", "div", "divs"); {
		case has("branch") && !divisions:
			cells[k] = "Branch " + text
		case divisions && !has("group", "grp", "branch"):
			cells[k] = "Division " + text
		}
	}
	return cells
}

// onlyCell is the text of a row with one filled cell.
func onlyCell(cells []string) (text string, ok bool) {
	for _, c := range cells {
		if c != "" {
			if ok {
				return "", false
			}
			text, ok = c, true
		}
	}
	return text, ok
}

// isChannel tells whether a row below titles is a channel, and not a footer, a
// heading or a line of instructions.
func (r *reader) isChannel(row Row, cells []string) bool {
	filled := 0
	for _, c := range cells {
		if c == "" {
			continue
		}
		filled++
		if furniture().MatchString(c) && !r.known[firstFrequency(row)] {
			return false
		}
	}
	if filled == 0 || numbersColumns(cells) {
		return false
	}
	if labels, _ := labelsOf(first(cells)); len(labels) > 0 && firstFrequency(row) == 0 {
		return false
	}
	if _, ok := r.isTitles(cells); ok {
		return false
	}
	named := row.Name != "" && (len(r.byName(row)) > 0 || filled > 1 && len(row.Name) <= longestName)
	switch {
	case row.Rx != "" && hasDigit(row.Rx), row.Tx != "" && hasDigit(row.Tx):
		return true
	case named:
		return row.Name != "" && (filled > 1 || r.kindOf(row.Name)&isName != 0)
	case row.System != "" && r.systems[strings.ToUpper(row.System)], row.Rx != "" && r.systems[strings.ToUpper(row.Rx)]:
		return true
	case useOf(row.Function) != 0 && filled > 1 && row.Channel == "" && row.Zone == "":
		return true
	case useOf(row.Function) != 0 && (row.Assignment != "" || row.RxTone+row.TxTone != ""):
		return true
	case row.Name == "" && row.Zone != "" && row.Channel != "":
		_, _, ok := placeOf(row)
		return ok && filled == 2
	}
	return false
}

// longestName is the longest text under a channel's name that is taken for one:
// longer than any display shows, shorter than a sentence.
const longestName = 40

func hasDigit(s string) bool { return strings.ContainsAny(s, "0123456789") }

func first(cells []string) string {
	for _, c := range cells {
		if c != "" {
			return c
		}
	}
	return ""
}

// firstFrequency is a row's receive frequency, else its transmit frequency.
func firstFrequency(row Row) radio.Hertz {
	for _, cell := range []string{row.Rx, row.Tx} {
		if h, _, ok := frequency(cell); ok && h != 0 {
			return h
		}
	}
	return 0
}

// rowOf puts cells where their columns say.
func rowOf(cols []column, cells []string) (r Row) {
	hasName := slices.ContainsFunc(cols, func(c column) bool { return c.what == name })
	for i, cell := range cells {
		if cell == "" || i >= len(cols) {
			continue
		}
		into := r.field(cols[i])
		if into == nil {
			continue
		}
		if *into != "" {
			cell = *into + "; " + cell
		}
		if cols[i].what == assignment && *into == "" {
			cell = strings.TrimSpace(cell)
		}
		*into = cell
	}
	// Where no column has the names, one that says Channel may hold them.
	if r.Name == "" && !hasName && namesChannel(r.Channel) {
		r.Name, r.Channel = r.Channel, ""
	}
	r.apart(cols)
	return r
}

// field is where a column's cells go.
func (r *Row) field(c column) *string {
	if c.radio() {
		switch {
		case c.what == frequencies && c.side == rxSide:
			return &r.Rx
		case c.what == frequencies && c.side == txSide:
			return &r.Tx
		case c.what == tones && c.side == rxSide:
			return &r.RxTone
		case c.what == tones && c.side == txSide:
			return &r.TxTone
		case c.what == widths && c.side == rxSide:
			return &r.RxWidth
		case c.what == widths && c.side == txSide:
			return &r.TxWidth
		}
		return nil
	}
	return map[what]*string{zone: &r.Zone, number: &r.Channel, function: &r.Function, name: &r.Name, assignment: &r.Assignment,
		mode: &r.Mode, remarks: &r.Remarks, system: &r.System, site: &r.Site}[c.what]
}

// apart takes cells apart that hold more than their column says: a frequency
// with its tone, a pair of frequencies, a tone of each side.
func (r *Row) apart(cols []column) {
	has := func(w what, s side) bool { return slices.Contains(cols, column{w, s}) }
	if a, b, ok := pair(r.Rx); ok && r.Tx == "" && !has(frequencies, txSide) {
		r.Rx, r.Tx = a, b
	}
	for _, s := range []struct {
		freq, tone *string
	}{{&r.Rx, &r.RxTone}, {&r.Tx, &r.TxTone}} {
		if f, t, ok := withTone(*s.freq); ok && *s.tone == "" {
			*s.freq = f
			if s.freq == &r.Rx && !has(frequencies, txSide) && r.TxTone == "" {
				r.TxTone = t // one frequency and one tone: what opens it
			} else {
				*s.tone = t
			}
		}
	}
	if _, _, ok := frequency(r.Rx); !ok && !has(frequencies, txSide) {
		r.several()
	}
	rx, tx := sides(r.RxTone)
	switch {
	case tx == "":
	case r.TxTone == "":
		r.RxTone, r.TxTone = rx, tx
	}
	rx, tx = sides(r.TxTone)
	switch {
	case rx == "" && tx == "":
	case r.RxTone == "" && rx != "":
		r.RxTone, r.TxTone = rx, tx
	case rx == "":
		r.TxTone = tx
	}
	if rx, tx = sides(r.RxTone); rx != "" && tx == "" {
		r.RxTone = rx
	}
}

var (
	pairText = compiled(`^(\S+(?: ?MHz)?(?: [NW])?)\s*(?:/|\||;|\s-\s|\s)\s*(\S+(?: ?MHz)?(?: [NW])?)$`)
	withText = compiled(`(?i)^([NW]?\s*\d+[.,]\d+(?:\s*mhz)?(?:\s*[NW])?)\s*(?:[/;,(|+@-]|\s)\s*((?:pl|ctcss|tone|dcs|dpl|nac|d|csq|\d)[^/()]*?)\)?$`)
	sideText = compiled(`(?i)^(?:(?:rx|r|receive|dec(?:ode)?)[ :=.]+([^/;,]+?))?\s*[/;,]?\s*(?:\b(?:tx|t|transmit|enc(?:ode)?)[ :=.]+([^/;,]+?))?$`)
	bothText = compiled(`^([^/]+?)\s*/\s*([^/]+)$`)
)

// several takes a cell apart that holds one or two frequencies and tones, and
// nothing else: "152.4125/157.6725 PL 146.2".
func (r *Row) several() {
	var freqs, tones []string
	prefix := ""
	for _, w := range strings.FieldsFunc(r.Rx, func(c rune) bool { return strings.ContainsRune(" /;|(),", c) }) {
		upper := strings.ToUpper(strings.Trim(w, ":="))
		h, _, isFrequency := frequency(w)
		t := tone(strings.TrimSpace(prefix+" "+w), radio.Analog)
		switch {
		case upper == "MHZ" || upper == "HZ" || widthOf(w) != "":
		case upper == "PL" || upper == "CTCSS" || upper == "TONE" || upper == "DCS" || upper == "DPL" || upper == "NAC":
			prefix = upper
			continue
		case prefix == "" && isFrequency && h != 0 && decimals(w) > 1:
			freqs = append(freqs, w)
		case t.said && !t.unknown:
			tones = append(tones, strings.TrimSpace(prefix+" "+w))
		default:
			return
		}
		prefix = ""
	}
	if len(freqs) == 0 || len(freqs) > 2 || len(tones) > 2 || prefix != "" || len(tones) > 0 && r.RxTone+r.TxTone != "" {
		return
	}
	r.Rx = freqs[0]
	if len(freqs) == 2 {
		r.Tx = freqs[1]
	}
	if len(tones) == 2 {
		r.RxTone = tones[0]
	}
	if len(tones) > 0 {
		r.TxTone = tones[len(tones)-1]
	}
}

// pair takes a cell with two frequencies apart, receive before transmit.
func pair(cell string) (rx, tx string, ok bool) {
	m := pairText().FindStringSubmatch(cell)
	if m == nil {
		return "", "", false
	}
	a, _, okA := frequency(m[1])
	b, _, okB := frequency(m[2])
	const apart = 254_100_000 // no tone is higher: ctcss.csv
	return m[1], m[2], okA && okB && a != 0 && b != 0 && (b > apart || decimals(m[2]) > 1)
}

// decimals is how many digits stand behind the point.
func decimals(s string) int {
	_, d, _ := strings.Cut(numberIn().FindString(strings.ReplaceAll(s, ",", ".")), ".")
	return len(d)
}

// withTone takes a cell with a frequency and a tone apart.
func withTone(cell string) (freq, t string, ok bool) {
	m := withText().FindStringSubmatch(cell)
	if m == nil {
		return "", "", false
	}
	if h, _, ok := frequency(m[1]); !ok || h == 0 {
		return "", "", false
	}
	t = strings.TrimSpace(m[2])
	read := tone(t, radio.Analog)
	return strings.TrimSpace(m[1]), t, read.said && !read.unknown && decimals(t) < 2
}

// sides takes a cell with tones of both sides apart, or takes the word for the
// side off one.
func sides(cell string) (rx, tx string) {
	if m := sideText().FindStringSubmatch(cell); m != nil && m[1]+m[2] != "" {
		return strings.TrimSpace(m[1]), strings.TrimSpace(m[2])
	}
	if m := bothText().FindStringSubmatch(cell); m != nil {
		a, b := tone(m[1], radio.Analog), tone(m[2], radio.Analog)
		if a.said && b.said && !a.unknown && !b.unknown {
			return m[1], m[2]
		}
	}
	return "", ""
}

// plainNumber is a channel number as people write it: 4, 04, Ch 4, 3-07, 12A.
var plainNumber = compiled(`(?i)^(?:ch(?:an(?:nel)?)?|no|nr)?[ .#]*[\d ./-]*[a-z]?$`)

// namesChannel tells a channel's name from its number.
func namesChannel(cell string) bool { return cell != "" && !plainNumber().MatchString(cell) }
