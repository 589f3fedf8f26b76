package channellist

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"slotcard/plan/cells"
)

// contents count what the cells of a column look like.
type contents struct {
	filled   int // neither empty nor a dash
	dashes   int
	freq     int // can be a frequency
	sure     int // cannot be a tone
	tone     int
	ints     int
	pairs    int // 1-01: a group and a number
	numbered int // "1 MC LOCAL"
	uses     int
	codes    int // just the word or code of a use
	modes    int
	widths   int
	yes      int
	letters  int // holds a letter
	longest  int
	distinct map[string]bool
}

// share of the filled cells.
func (c contents) most(n int) bool { return c.filled > 0 && 10*n >= 6*c.filled }

func (c *contents) add(cell cells.Cell) {
	if blank(cell) {
		if !cell.Empty() {
			c.dashes++
		}
		return
	}
	c.filled++
	count := func(n *int, ok bool) {
		if ok {
			*n++
		}
	}
	_, ok := frequencyOf(cell)
	count(&c.freq, ok)
	count(&c.sure, surelyFrequency(cell))
	_, ok = toneOf(cell, "", false)
	count(&c.tone, ok)
	_, ok = integerOf(cell.Text)
	count(&c.ints, ok)
	count(&c.pairs, compositeText().MatchString(cell.Text))
	_, _, ok = numbered(cell.Text)
	count(&c.numbered, ok)
	_, ok = useOfWord(cell.Text)
	count(&c.uses, ok)
	count(&c.codes, ok && onlyUse(cell.Text))
	_, _, ok = modeOf(cell.Text)
	count(&c.modes, ok)
	_, ok = widthOf(cell.Text)
	count(&c.widths, ok)
	count(&c.yes, yesText().MatchString(cell.Text) || noText().MatchString(cell.Text))
	count(&c.letters, strings.ContainsFunc(cell.Text, func(r rune) bool { return r >= 'A' && r <= 'z' }))
	c.longest = max(c.longest, len(cell.Text))
	c.distinct[cell.Text] = true
}

// understand gives every table its columns and its kind. Tables with the same
// titles are one table on several pages, and their contents count together.
func (l *List) understand(tables []*table, o Options) []*table {
	byKey := map[string][]*table{}
	var keys []string
	for _, t := range tables {
		k := fmt.Sprint(t.left, "\t", t.key()) // a column is known by where it stands
		if len(t.titles) == 0 || slices.ContainsFunc(o.Map, func(m Mapping) bool { return m.At != (Place{}) && m.of(t) }) {
			k = t.place(t.first(), t.left).String() + t.source.Name // without titles, or where something is said of it, each stands for itself
		}
		if byKey[k] == nil {
			keys = append(keys, k)
		}
		byKey[k] = append(byKey[k], t)
	}
	for _, k := range keys {
		same := byKey[k]
		m := newMapper(same, o)
		kind, columns := m.columns()
		for _, t := range same {
			t.kind = kind
			t.columns = slices.Clone(columns)
			for i := range t.columns {
				c := &t.columns[i]
				c.Filled = 0
				for _, row := range t.rows {
					if !t.cell(row, c.Index).Empty() {
						c.Filled++
					}
				}
			}
		}
	}
	for i, t := range tables {
		t.sole = !slices.ContainsFunc(tables, func(u *table) bool { return u != t && u.source == t.source && u.sheet != t.sheet && u.kind == Channels })
		_ = i
	}
	return tables
}

// mapper finds what the columns of a table hold.
type mapper struct {
	tables   []*table
	o        Options
	left     int
	titles   []title
	contents []contents
	fields   []Field
	why      []string
	fixed    []bool // said by a person
	names    []int  // how well a title says that the column has display names
}

func newMapper(same []*table, o Options) *mapper {
	t := same[0]
	m := &mapper{tables: same, o: o, left: t.left}
	for c := t.left; c <= t.right; c++ {
		m.titles = append(m.titles, titleOf(t.titleAt(c)))
		m.contents = append(m.contents, contents{distinct: map[string]bool{}})
	}
	for _, t := range same {
		for _, row := range t.rows {
			if len(t.filled(row)) < 2 {
				continue
			}
			for i := range m.contents {
				m.contents[i].add(t.cell(row, m.left+i))
			}
		}
	}
	n := len(m.titles)
	m.fields, m.why, m.fixed, m.names = make([]Field, n), make([]string, n), make([]bool, n), make([]int, n)
	return m
}

// titleAt is the title of a column, from all rows of titles. An upper title that
// says receive or transmit goes on over empty cells, as spreadsheets export merged
// ones.
func (t *table) titleAt(column int) string {
	var parts []string
	for i, row := range t.titles {
		text := t.sheet.Shown(row, column).Text
		if text == "" && i < len(t.titles)-1 && !t.cell(t.titles[len(t.titles)-1], column).Empty() {
			for c := column - 1; c >= t.left && text == ""; c-- {
				text = t.cell(row, c).Text
			}
			if over := titleOf(text); over.rx == over.tx {
				text = ""
			}
		}
		if text != "" && !slices.Contains(parts, text) {
			parts = append(parts, text)
		}
	}
	return strings.Join(parts, " ")
}

// columns decides what the table holds, and what each of its columns.
func (m *mapper) columns() (Kind, []Column) {
	kind := m.kind()
	switch kind {
	case Channels:
		m.channelColumns()
	case Sites:
		m.siteColumns()
	case Tones:
		m.toneColumns()
	}
	for i := range m.titles {
		for _, g := range m.o.Map {
			if g.of(m.tables[0]) && g.Field.in(kind) && g.fits(Column{Index: m.left + i, Title: m.titles[i].text}) {
				m.take(i, g.Field, "as you said")
				m.fixed[i] = true
			}
		}
	}
	columns := make([]Column, len(m.fields))
	for i := range columns {
		if m.titles[i].flipped && m.why[i] == "" {
			m.why[i] = "its title is about the repeater"
		}
		columns[i] = Column{Index: m.left + i, Title: m.titles[i].text, Field: m.fields[i], Why: m.why[i]}
	}
	return kind, columns
}

// take gives a column a field; another that had it loses it, where a field has
// one column only.
func (m *mapper) take(i int, f Field, why string) {
	for k := range m.fields {
		if k != i && m.fields[k] == f && f != NotUsed && f != Remarks && f != SiteOf && f != Marked && f != Carried {
			m.fields[k] = NotUsed
		}
	}
	m.fields[i], m.why[i] = f, why
}

func (m *mapper) has(f Field) bool { return slices.Contains(m.fields, f) }

// word tells whether a title of the table speaks of something.
func (m *mapper) word(kinds ...string) bool {
	return slices.ContainsFunc(m.titles, func(t title) bool {
		return slices.ContainsFunc(kinds, func(k string) bool { return t.words[k] })
	})
}

// kind tells lists of channels, sites and tones apart.
func (m *mapper) kind() Kind {
	frequencies, tones, talkgroups := 0, 0, false
	for i, c := range m.contents {
		if c.most(c.sure) && c.sure > 0 && !m.titles[i].words["lat"] && !m.titles[i].words["lon"] {
			frequencies++
		}
		if c.most(c.tone) && !c.most(c.ints) {
			tones++
		}
		talkgroups = talkgroups || m.titles[i].words["talkgroup"]
	}
	switch role := m.tables[0].source.Role; {
	case role == SiteTable && m.filled() > 0:
		return Sites
	case role == ToneTable && m.filled() > 0:
		return Tones
	case m.word("lat", "lon", "latlong", "elev") && m.word("site", "name"):
		return Sites
	case frequencies == 0 && tones == 1 && m.filled() <= 4 && m.toneNumbers() >= 0 && !m.word("rx", "tx", "site", "name", "display"):
		return Tones
	case frequencies > 0, talkgroups && m.filled() > 1, m.word("freq") && m.filled() > 1, m.word("rx") && m.word("name", "display", "channel") && m.filled() > 1:
		return Channels
	case m.word("site") && m.word("tone", "hz", "channels"):
		return Sites
	}
	return 0
}

// filled is the number of columns that hold something.
func (m *mapper) filled() int {
	n := 0
	for _, c := range m.contents {
		if c.filled > 0 {
			n++
		}
	}
	return n
}

func (m *mapper) channelColumns() {
	for i := range m.titles {
		m.byTitle(i)
	}
	m.frequencies()
	m.oneEach()
	m.namesAndNumbers()
	m.toneDirections()
	m.byContents()
}

// Fields on the way: of a frequency or tone whose direction is not yet known.
const (
	someFrequency Field = 100 + iota
	someTone
)

// byTitle takes a title at its word, where the contents agree.
func (m *mapper) byTitle(i int) {
	t, c := m.titles[i], m.contents[i]
	w := t.words
	direct := func(rx, tx, none Field) Field {
		switch {
		case t.rx && !t.tx:
			return rx
		case t.tx && !t.rx:
			return tx
		}
		return none
	}
	switch {
	case len(w) == 0:
	case w["only"] && t.rx, w["only"] && c.most(c.yes) && c.filled > 0:
		m.fields[i] = ReceiveOnly
	case w["remarks"] && !w["freq"] && !w["tone"]:
		m.fields[i] = Remarks
		if w["display"] || w["name"] {
			m.names[i] = 1
		}
	case w["offset"]:
		m.fields[i] = Offset
	case w["talkgroup"]:
		m.fields[i] = Talkgroup
	case w["system"]:
		m.fields[i] = System
	case (w["tone"] || w["hz"] && !w["freq"]) && !(c.sure > 0 && c.most(c.sure)):
		m.fields[i] = direct(RxTone, TxTone, someTone)
	case w["freq"]:
		m.fields[i] = direct(Rx, Tx, someFrequency)
	case t.rx != t.tx && (w["mode"] || w["width"] || w["hz"] || len(w) == 1 || w["channel"] && !w["name"]):
		m.byDirection(i, direct)
	case (w["width"] || w["n"] && len(w) == 1) && (c.filled == 0 || c.most(c.widths)):
		m.fields[i] = Width
	case w["width"] && c.most(c.modes), w["mode"]:
		m.fields[i] = Mode
	default:
		m.byPlaceTitle(i)
	}
}

// byDirection reads titles such as RX and TX alone: their contents tell whether
// they are frequencies, tones or widths.
func (m *mapper) byDirection(i int, direct func(rx, tx, none Field) Field) {
	switch c := m.contents[i]; {
	case c.most(c.sure):
		m.fields[i] = direct(Rx, Tx, NotUsed)
	case c.most(c.widths):
		m.fields[i] = direct(RxWidth, TxWidth, NotUsed)
	case c.most(c.modes):
		m.fields[i] = Mode
	case c.most(c.tone):
		m.fields[i] = direct(RxTone, TxTone, NotUsed)
	case c.most(c.freq):
		m.fields[i] = direct(Rx, Tx, NotUsed)
	case c.most(c.yes) && m.titles[i].rx && c.filled > 0:
		m.fields[i] = ReceiveOnly
	case len(m.titles[i].words) == 1 && !m.has(direct(Rx, Tx, NotUsed)): // nothing that can be read: a person decides
		m.fields[i] = direct(Rx, Tx, NotUsed)
	}
}

// byPlaceTitle reads the titles of names, numbers, groups, uses and sites.
func (m *mapper) byPlaceTitle(i int) {
	w, c := m.titles[i].words, m.contents[i]
	switch {
	case w["use"], w["svc"]:
		switch {
		case c.filled > 0 && 3*c.uses >= c.filled:
			m.fields[i] = Use
		case c.most(c.modes):
			m.fields[i] = Mode
		case w["use"] && !c.most(c.ints) && c.longest > 2 && !sameDirect(c):
			m.fields[i] = Use
		}
	case w["group"] && !w["channel"]:
		if m.fields[i] = GroupName; c.most(c.ints) || w["number"] && !w["name"] {
			m.fields[i] = GroupNumber
		}
	case w["site"] && !w["display"]:
		m.fields[i] = SiteOf
	case w["display"]:
		m.names[i] = 5
	case w["name"] && w["channel"]:
		m.names[i] = 4
	case w["name"]:
		m.names[i] = 3
	case w["number"] && (c.filled == 0 || c.most(c.ints) || c.most(c.pairs)):
		m.fields[i] = Number
	case w["channel"] || w["number"]:
		if c.most(c.ints) || c.most(c.pairs) {
			m.fields[i] = Number
		} else {
			m.names[i] = 2
		}
	}
}

// sameDirect tells columns of S and R, simplex and repeated: no uses.
func sameDirect(c contents) bool {
	for v := range c.distinct {
		switch strings.ToUpper(v) {
		case "S", "R", "D", "SIMPLEX", "DUPLEX", "REPEATER", "REPEATED", "RPTR", "SIMP", "DIRECT", "HALF DUPLEX", "CONVENTIONAL":
		default:
			return false
		}
	}
	return len(c.distinct) > 0
}

// frequencies gives the columns of frequencies their directions. Of two without
// one the first receives: that is the order of the trade (form ICS 205).
func (m *mapper) frequencies() {
	for i, c := range m.contents {
		if m.fields[i] == NotUsed && m.names[i] == 0 && len(m.titles[i].words) == 0 && c.sure > 0 && c.most(c.sure) {
			m.fields[i] = someFrequency
		}
	}
	for i := range m.fields {
		if m.fields[i] != someFrequency {
			continue
		}
		switch {
		case !m.has(Rx):
			m.take(i, Rx, "")
		case !m.has(Tx):
			m.take(i, Tx, "the second column of frequencies")
		default:
			m.fields[i] = NotUsed
		}
	}
	for i, f := range m.fields {
		if f == Tx && !m.has(Rx) {
			m.take(i, Rx, "the only column of frequencies")
		}
	}
}

// oneEach keeps of two columns with the same field the one that holds more. Of
// two transmit tones side by side one may be of codes: it is not read, and said.
func (m *mapper) oneEach() {
	for f := GroupName; f < Remarks; f++ {
		best := -1
		for i := range m.fields {
			if m.fields[i] != f {
				continue
			}
			if best >= 0 && m.contents[best].filled >= m.contents[i].filled {
				m.fields[i], m.why[i] = NotUsed, "a second column of "+f.String()
				continue
			}
			if best >= 0 {
				m.fields[best], m.why[best] = NotUsed, "a second column of "+f.String()
			}
			best = i
		}
	}
	if m.has(GroupNumber) && !m.has(GroupName) { // a zone that has a number and no name
		return
	}
}

// namesAndNumbers finds the display names: by title, or the column that holds
// the most different short texts.
func (m *mapper) namesAndNumbers() {
	order := make([]int, 0, len(m.names))
	for i, n := range m.names {
		if n > 0 && m.contents[i].filled > 0 {
			order = append(order, i)
		}
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(m.names[b], m.names[a]) })
	for _, i := range order {
		c := m.contents[i]
		switch {
		case !m.has(Name) && !c.most(c.sure) && c.letters > 0 && 2*c.letters >= c.filled:
			m.fields[i] = Name
		case !m.has(Number) && c.most(c.ints):
			m.fields[i] = Number
		case !m.has(Name) && m.names[i] >= 3 && c.filled > 0:
			m.fields[i] = Name
		case c.letters > 0:
			m.fields[i], m.why[i] = Remarks, "another column has the display names"
		}
	}
	if m.has(Name) {
		return
	}
	best := -1
	for i, c := range m.contents {
		free := m.fields[i] == NotUsed || m.fields[i] == Remarks && c.longest <= 20
		if free && 2*c.letters > c.filled && !c.most(c.codes) && !c.most(c.modes) && !c.most(c.tone) && !c.most(c.widths) && (best < 0 || len(c.distinct) > len(m.contents[best].distinct)) {
			best = i
		}
	}
	if best >= 0 {
		m.fields[best], m.why[best] = Name, "by what it holds"
	}
}

// toneDirections finds out of what the tones beside the frequencies are: a tone
// without direction belongs to the frequency on its left, and a single one is
// the tone that opens the repeater.
func (m *mapper) toneDirections() {
	view := m.repeatersView()
	var open []int
	for i := range m.fields {
		w := m.titles[i].words
		switch {
		case m.fields[i] == NotUsed && m.names[i] == 0 && len(w) == 0 && m.contents[i].filled > 0 && m.contents[i].most(m.contents[i].tone) && !m.contents[i].most(m.contents[i].ints):
			open = append(open, i)
		case m.fields[i] != someTone:
		case w["in"] != w["out"]:
			f := RxTone
			if w["in"] == view {
				f = TxTone
			}
			m.take(i, f, "as the radio hears and sends")
			if view {
				m.why[i] = "as the repeater hears and sends"
			}
		default:
			open = append(open, i)
		}
	}
	switch {
	case len(open) == 0:
	case len(open) == 1 && !m.has(RxTone) && !m.has(TxTone):
		m.take(open[0], TxTone, `the only column of tones: it opens repeaters, and receivers stay without; if it is both, say --map "`+m.called(open[0])+`=tone"`)
	case len(open) == 1 && m.has(RxTone) != m.has(TxTone):
		f := RxTone
		if m.has(RxTone) {
			f = TxTone
		}
		m.take(open[0], f, "the other column of tones says "+map[Field]string{RxTone: "transmit", TxTone: "receive"}[f])
	default:
		m.beside(open)
	}
	for i, f := range m.fields {
		if f == someTone {
			m.fields[i] = NotUsed
		}
	}
}

// repeatersView tells whether in and out are meant as a repeater has them.
func (m *mapper) repeatersView() bool {
	for i, t := range m.titles {
		text := strings.ToLower(t.text)
		if (m.fields[i] == Rx || m.fields[i] == Tx) && (strings.Contains(text, "input") || strings.Contains(text, "output")) {
			return true
		}
	}
	return false
}

// beside gives tones to the frequencies on their left.
func (m *mapper) beside(open []int) {
	order := []Field{RxTone, TxTone}
	if rx, tx := slices.Index(m.fields, Rx), slices.Index(m.fields, Tx); tx >= 0 && tx < rx {
		order = []Field{TxTone, RxTone}
	}
	for k, i := range open {
		f := NotUsed
		for j := i - 1; j >= 0 && f == NotUsed; j-- {
			switch m.fields[j] {
			case Rx:
				f = RxTone
			case Tx:
				f = TxTone
			}
		}
		if f == NotUsed || m.has(f) {
			if f = NotUsed; k < len(order) && !m.has(order[k]) {
				f = order[k]
			}
		}
		if k == 0 && len(open) > 1 && f == TxTone && order[0] == RxTone && !m.has(RxTone) && open[0] > slices.Index(m.fields, Rx) {
			f = RxTone // both tones stand behind both frequencies, in their order
		}
		if f != NotUsed {
			m.take(i, f, "by its place")
		}
	}
}

// called is how a person names a column in --map.
func (m *mapper) called(i int) string {
	if t := m.titles[i].text; t != "" {
		return t
	}
	return cells.ColumnName(m.left + i)
}

// byContents finds what titles do not say: numbers, modes, widths, uses.
func (m *mapper) byContents() {
	for i, c := range m.contents {
		if m.fields[i] != NotUsed || m.names[i] > 0 || c.filled == 0 || m.why[i] != "" {
			continue
		}
		plain := len(m.titles[i].words) == 0
		rows := m.rows()
		switch {
		case plain && !m.has(Number) && c.most(c.ints) && i < slices.Index(m.fields, Rx) && 10*c.filled >= 8*rows:
			m.take(i, Number, "by what it holds")
		case plain && !m.has(Use) && 10*c.codes >= 8*c.filled && c.longest > 1 && len(c.distinct) > 1 && 2*c.filled >= rows:
			m.take(i, Use, "by what it holds")
		case plain && !m.has(Mode) && 10*c.modes >= 9*c.filled && !onlyLetters(c, "N", "W"):
			m.take(i, Mode, "by what it holds")
		case plain && !m.has(Width) && !m.has(RxWidth) && 10*c.widths >= 9*c.filled && onlyLetters(c, "N", "W", "NARROW", "WIDE"):
			m.take(i, Width, "by what it holds")
		case len(m.tables[0].titles) == 0 && 2*c.letters > c.filled && i > slices.Index(m.fields, Name):
			m.fields[i], m.why[i] = Remarks, "text behind the name"
		}
	}
}

func onlyLetters(c contents, words ...string) bool {
	for v := range c.distinct {
		if !slices.Contains(words, strings.ToUpper(v)) {
			return false
		}
	}
	return true
}

// rows is the number of rows that hold more than one cell.
func (m *mapper) rows() int {
	n := 0
	for _, c := range m.contents {
		n = max(n, c.filled+c.dashes)
	}
	return n
}
