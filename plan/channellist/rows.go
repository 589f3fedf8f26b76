package channellist

import (
	"fmt"
	"path"
	"regexp"
	"slices"
	"strings"

	"slotcard/plan/cells"
	"slotcard/plan/radio"
)

// reading is how far the rows of a sheet have been read: tables go on over pages.
type reading struct {
	list    *List
	t       *table
	group   *Group
	section string
	zone    string // of the last row whose column said it
	zoneNo  int

	splitNames bool // display names have their number in front
	headings   headings
	inOrder    bool // the sheet has no numbers
}

// headings is how the lines between the channels are meant.
type headings uint8

const (
	noHeadings  headings = iota
	zoneHeading          // those that begin with zone, group or bank name groups
	lineHeading          // every line does
	sectionOnly          // channel numbers go on across them: parts of one group
)

// readChannels reads the rows of a table of channels.
func (l *List) readChannels(t *table) {
	r := &reading{list: l, t: t, inOrder: !slices.ContainsFunc(t.columns, func(c Column) bool { return c.Field == Number })}
	r.splitNames = r.inOrder && r.numbersInNames()
	if r.splitNames {
		r.inOrder = false
	}
	r.headings = r.meaning()
	if last := l.last; last != nil && last.t.sheet == t.sheet && last.t.key() == t.key() { // the next page
		r.group, r.section, r.zone, r.zoneNo = last.group, last.section, last.zone, last.zoneNo
	}
	l.last = r
	r.above()
	for _, row := range t.rows {
		switch {
		case r.isChannel(row):
			r.channel(row)
			t.read++
		case r.isHeading(row):
			r.heading(row)
		default:
			r.leftOver(row)
		}
	}
}

// at is the cell of a row that holds a field.
func (r *reading) at(row int, f Field) (cells.Cell, int) {
	for _, c := range r.t.columns {
		if c.Field == f {
			return r.t.cell(row, c.Index), c.Index
		}
	}
	return cells.Cell{}, -1
}

func (r *reading) text(row int, f Field) string {
	c, _ := r.at(row, f)
	return c.Text
}

// column is the title of the column that holds a field.
func (r *reading) title(f Field) string {
	for _, c := range r.t.columns {
		if c.Field == f {
			return c.Title
		}
	}
	return ""
}

var digitText = regexp.MustCompile(`\d`)

// isChannel tells whether a row holds a channel: a frequency that is one or is
// meant to be, or a talkgroup; and more than that.
func (r *reading) isChannel(row int) bool {
	if len(r.t.filled(row)) < 2 {
		return false
	}
	rx, _ := r.at(row, Rx)
	tx, _ := r.at(row, Tx)
	if !blank(rx) && digitText.MatchString(rx.Text) || !blank(tx) && digitText.MatchString(tx.Text) {
		return true
	}
	tg := r.text(row, Talkgroup)
	return !dashes[tg] && r.text(row, Name) != ""
}

var spareText = compiled(`(?i)^\W*(?:\d+\W+)?(?:spare|blank|unused|not used|reserved|open|vacant|empty|unprogrammed|future|tbd|do not use)\W*$`)

// isHeading tells whether a row is a line of its own with channels below it.
func (r *reading) isHeading(row int) bool {
	text, ok := r.line(row)
	if !ok || spareText().MatchString(text) || !strings.ContainsFunc(text, func(c rune) bool { return c >= 'A' && c <= 'z' || c > 0x7f }) && !groupText().MatchString(text) {
		return false
	}
	at := slices.Index(r.t.rows, row)
	for _, next := range r.t.rows[at+1:] {
		if r.isChannel(next) {
			return true
		}
		if _, ok := r.line(next); ok {
			return groupText().MatchString(text) // "Zone 1" above, its name below
		}
	}
	return false
}

// line is the text of a row that is one line: a single cell, or up to three that
// begin with zone, group or bank.
func (r *reading) line(row int) (string, bool) {
	filled := r.t.filled(row)
	first := r.t.cell(row, filled[0]).Text
	if len(filled) == 1 {
		return first, true
	}
	if len(filled) > 3 || !groupText().MatchString(first) {
		return "", false
	}
	var parts []string
	for _, c := range filled {
		parts = append(parts, r.t.cell(row, c).Text)
	}
	return strings.Join(parts, " "), true
}

// meaning finds out what the lines between the channels are.
func (r *reading) meaning() headings {
	if r.hasZones() {
		return sectionOnly
	}
	lines, restarts, last, pending := 0, 0, 0, false
	for _, row := range r.t.rows {
		if r.isChannel(row) {
			n := r.number(row)
			if pending && last > 0 && n > 0 && n <= last {
				restarts++
			}
			last, pending = n, false
			continue
		}
		if r.isHeading(row) {
			text, _ := r.line(row)
			if namesGroup(text) {
				return zoneHeading
			}
			lines++
			pending = last > 0 || pending
		}
	}
	switch {
	case lines == 0:
		return noHeadings
	case last == 0 || restarts > 0 || lines == 1 && r.isHeading(r.t.rows[0]):
		return lineHeading
	}
	return sectionOnly
}

// hasZones tells whether a column names the groups.
func (r *reading) hasZones() bool {
	return slices.ContainsFunc(r.t.columns, func(c Column) bool { return (c.Field == GroupName || c.Field == GroupNumber) && c.Filled > 0 })
}

// number of a row; 0 where it says none.
func (r *reading) number(row int) int {
	if r.splitNames {
		n, _, _ := numbered(r.text(row, Name))
		return n
	}
	text := r.text(row, Number)
	if n, ok := integerOf(text); ok {
		return n
	}
	if m := compositeText().FindStringSubmatch(text); m != nil {
		n, _ := integerOf(m[2])
		return n
	}
	return 0
}

var compositeText = compiled(`^(?i:ZONE|Z|GROUP|G)?[ ]*(\d{1,3})[ ]*[-./: ][ ]*(?i:CH|C)?[ ]*(\d{1,3})$`)

// numbersInNames tells whether the display names have their numbers in front:
// they all have one, and it counts up.
func (r *reading) numbersInNames() bool {
	all, with, up, last := 0, 0, 0, 0
	for _, row := range r.t.rows {
		if !r.isChannel(row) {
			continue
		}
		all++
		if n, _, ok := numbered(r.text(row, Name)); ok {
			with++
			if n == last+1 || n == 1 || n > last {
				up++
			}
			last = n
		}
	}
	return all > 0 && with == all && up == with
}

// above reads the lines above the titles: the last may name the group, others may
// say when the load is valid.
func (r *reading) above() {
	lines := slices.Clone(r.t.above)
	for i, row := range lines {
		text := r.joined(row)
		l := r.list
		switch {
		case l.headLine(text):
		case namesGroup(text) && !r.hasZones():
			r.setGroup(text, row)
		case i == len(lines)-1 && !r.hasZones() && r.namesTable(row):
			r.setGroup(text, row)
		case spareText().MatchString(text):
			l.notRead(r.t.place(row, r.t.filled(row)[0]), text, "an empty place")
		default:
			l.notRead(r.t.place(row, r.t.filled(row)[0]), text, "a line above the table")
		}
	}
}

func (r *reading) joined(row int) string {
	var parts []string
	for _, c := range r.t.filled(row) {
		parts = append(parts, r.t.cell(row, c).Text)
	}
	return strings.Join(parts, " ")
}

// namesTable tells whether the line right above the titles names the group of
// the channels below them, and not the whole list.
func (r *reading) namesTable(row int) bool {
	if len(r.t.filled(row)) > 1 || r.headings == zoneHeading {
		return false
	}
	if r.headings == lineHeading { // the first channels would have no heading
		return !r.isHeading(r.t.rows[0])
	}
	return r.list.tablesOn(r.t.sheet) > 1
}

// tablesOn counts the tables of channels on a sheet.
func (l *List) tablesOn(s *cells.Sheet) int { return l.perSheet[s] }

// setGroup begins a group that a line names.
func (r *reading) setGroup(text string, row int) {
	n, name := groupOf(text)
	r.group = r.list.groupOf(n, name, "a line of its own: "+r.t.place(row, -1).String())
	r.section = ""
}

func (r *reading) heading(row int) {
	text, _ := r.line(row)
	switch {
	case r.headings == lineHeading, r.headings == zoneHeading && namesGroup(text):
		r.setGroup(text, row)
	case r.headings == zoneHeading && r.group != nil && len(r.group.Channels) == 0 && groupNumberText().MatchString(r.group.Name):
		r.group.Name = text // "Zone 1" above, its name below
	default:
		r.section = text
		r.list.notRead(r.t.place(row, r.t.filled(row)[0]), text, "a heading among the channels of one group")
	}
}

// leftOver says of a row without a channel what it holds.
func (r *reading) leftOver(row int) {
	filled := r.t.filled(row)
	at := r.t.place(row, filled[0])
	text := r.joined(row)
	l := r.list
	switch {
	case len(filled) == 1 && l.headLine(text):
	case slices.ContainsFunc(filled, func(c int) bool { return spareText().MatchString(r.t.cell(row, c).Text) }):
		l.notRead(at, text, "an empty place")
	case len(filled) == 1 && r.number(row) > 0:
		l.notRead(at, text, "a number without a channel")
	case r.text(row, Name) != "" && len(filled) > 1:
		l.notRead(at, text, "no frequency and no talkgroup: no channel was made of it")
	default:
		l.notRead(at, text, "a line among the channels")
	}
}

// groupFor is the group of a row.
func (r *reading) groupFor(row int) *Group {
	l := r.list
	if r.hasZones() {
		name, no := r.text(row, GroupName), r.text(row, GroupNumber)
		if _, c := r.at(row, GroupName); name == "" && c >= 0 {
			name = r.t.sheet.Shown(row, c).Text
		}
		n, isNumber := integerOf(no)
		switch {
		case name == "" && no == "": // as the row above
		case name == "":
			r.zone, r.zoneNo = "Group "+no, n
			if !isNumber {
				r.zone = no
			}
		default:
			r.zoneNo, r.zone = groupOf(name)
			if isNumber {
				r.zoneNo = n
				if r.zone != name && !strings.HasPrefix(name, no) {
					r.zone = name
				}
			}
		}
		if r.zone != "" {
			return l.groupOf(r.zoneNo, r.zone, "the column "+first(r.title(GroupName), r.title(GroupNumber)))
		}
	}
	if r.group == nil {
		r.group = r.group0(row)
	}
	return r.group
}

func first(texts ...string) string {
	for _, t := range texts {
		if t != "" {
			return t
		}
	}
	return ""
}

var plainSheet = compiled(`(?i)^(?:sheet|table|tabelle|page|channels?(?: list)?|load|list|data|export)[ _]*\d*$`)

// group0 is the group of channels that no line and no column gives one: the
// sheet's name is its, or the file's.
func (r *reading) group0(row int) *Group {
	if m := compositeText().FindStringSubmatch(r.text(row, Number)); m != nil {
		n, _ := integerOf(m[1])
		return r.list.groupOf(n, fmt.Sprintf("Group %d", n), "the channel numbers")
	}
	if s := r.t.sheet.Name; s != "" && !plainSheet().MatchString(s) {
		n, name := groupOf(s)
		return r.list.groupOf(n, name, "the sheet's name")
	}
	base := path.Base(r.t.source.Name)
	name := strings.TrimSuffix(base, path.Ext(base))
	if name = strings.TrimSpace(strings.NewReplacer("_", " ", "-", " ").Replace(name)); name == "" {
		name = "Channels"
	}
	n, name := groupOf(name)
	return r.list.groupOf(n, name, "the file's name")
}

// groupOf is the group of that number and name, which is made where there is none.
func (l *List) groupOf(number int, name, from string) *Group {
	for _, g := range l.Groups {
		if strings.EqualFold(g.Name, name) && (number == 0 || g.Number == 0 || g.Number == number) {
			if g.Number == 0 {
				g.Number = number
			}
			return g
		}
	}
	g := &Group{Number: number, Name: name, From: from}
	l.Groups = append(l.Groups, g)
	return g
}

// channel reads one row.
func (r *reading) channel(row int) {
	c := &Channel{At: r.t.place(row, -1), section: r.section}
	if r.t.sheet.Rows[row].Hidden {
		r.list.note("%s is hidden in the spreadsheet, and was read", c.At)
	}
	g := r.groupFor(row)
	if m := compositeText().FindStringSubmatch(r.text(row, Number)); m != nil && r.group == g && !r.hasZones() && g.From == "the channel numbers" {
		if n, _ := integerOf(m[1]); n != g.Number {
			r.group = nil
			g = r.groupFor(row)
		}
	}
	r.nameAndNumber(c, g, row)
	r.frequencies(c, row)
	r.modeAndWidth(c, row)
	r.tones(c, row)
	r.useAndRemarks(c, row)
	r.receiveOnly(c, row)
	r.elsewhere(c, row)
	g.Channels = append(g.Channels, c)
}

func (r *reading) nameAndNumber(c *Channel, g *Group, row int) {
	c.Name = strings.TrimSpace(strings.Trim(r.text(row, Name), "'\""))
	switch n := r.number(row); {
	case r.splitNames:
		c.Number, c.Name, _ = numbered(c.Name)
	case n > 0:
		c.Number = n
		if m, rest, ok := numbered(c.Name); ok && m == n && r.everyNameNumbered() {
			c.Name = rest
		}
	case r.inOrder:
		c.Number = 1
		if k := len(g.Channels); k > 0 {
			c.Number = g.Channels[k-1].Number + 1
		}
		r.list.note("the list has no channel numbers: they count in its order")
	default:
		c.open("number", "the sheet says "+said(r.text(row, Number)))
	}
	if c.Name == "" {
		c.open("name", "the sheet has no name here")
	}
}

// everyNameNumbered tells whether all names repeat the number beside them.
func (r *reading) everyNameNumbered() bool {
	for _, row := range r.t.rows {
		if r.isChannel(row) {
			if n, _, ok := numbered(r.text(row, Name)); !ok || n != r.number(row) {
				return false
			}
		}
	}
	return true
}

// said is a cell inside a sentence.
func said(text string) string {
	if text == "" {
		return "nothing"
	}
	return text
}

func (r *reading) frequencies(c *Channel, row int) {
	rx, _ := r.at(row, Rx)
	tx, txColumn := r.at(row, Tx)
	if tg := r.text(row, Talkgroup); blank(rx) && blank(tx) && !dashes[tg] {
		c.Talkgroup, c.System = tg, r.text(row, System)
		if dashes[c.System] {
			c.System = ""
			c.open("system", "the sheet does not name the trunked system")
		}
		return
	}
	r.unusedTrunk(row)
	f, ok := frequencyOf(rx)
	switch {
	case blank(rx):
		c.open("rx", "the sheet has a transmit frequency only")
	case !ok:
		c.open("rx", "the sheet says "+said(rx.Text))
	}
	if f.rounded {
		r.list.note("%s shows %s, and holds %s: taken as it holds", r.t.place(row, -1), rx.Text, f.rx)
	}
	c.Rx, c.Tx = f.rx, f.rx
	r.width(c, f.width)
	if f.tx > 0 {
		c.Tx = f.tx
	}
	text := strings.TrimSpace(tx.Text)
	switch {
	case txColumn < 0:
	case blank(tx):
		c.txBlank = true
		if f.tx > 0 {
			break
		}
	case receiveOnlyText().MatchString(text):
		c.ReceiveOnly, c.rxOnlySaid = true, true
	case sameText().MatchString(text):
	default:
		r.transmit(c, tx, row)
	}
	r.offset(c, row, txColumn >= 0 && !c.txBlank || f.tx > 0)
	if c.Tx == c.Rx && !c.txBlank && txColumn >= 0 {
		c.txSame = true
	}
}

// offset puts the transmit frequency above or below the receive frequency, where
// the sheet has no transmit frequency; beside one it is not read, and that is said.
func (r *reading) offset(c *Channel, row int, transmits bool) {
	cell, at := r.at(row, Offset)
	text := strings.TrimSpace(cell.Text)
	switch {
	case at < 0 || blank(cell) || noOffsetText().MatchString(text):
		return
	case transmits:
		r.list.notRead(r.t.place(row, at), text, "the sheet has the transmit frequency")
		return
	case receiveOnlyText().MatchString(text):
		c.ReceiveOnly, c.rxOnlySaid = true, true
		return
	}
	c.txBlank = false
	by, ok := offsetOf(text)
	tx := c.Rx + by
	if !ok || c.Rx == 0 || !plausible(tx) {
		c.open("tx", "the sheet says offset "+text)
		return
	}
	c.Tx = tx
	r.list.note("transmit frequencies are the receive frequency and the offset of the sheet")
}

// unusedTrunk reports what stands in the columns of talkgroups beside a frequency.
func (r *reading) unusedTrunk(row int) {
	for _, f := range []Field{System, Talkgroup} {
		text, at := r.at(row, f)
		if blank(text) || strings.HasPrefix(strings.ToUpper(text.Text), "CONV") {
			continue
		}
		r.list.notRead(r.t.place(row, at), text.Text, "the channel has frequencies, and no talkgroup")
	}
}

func (r *reading) transmit(c *Channel, tx cells.Cell, row int) {
	f, ok := frequencyOf(tx)
	switch {
	case !ok && absent[strings.ToUpper(tx.Text)]:
		c.open("tx", "the sheet says "+tx.Text+"; write receive_only = true in its place, or the frequency")
	case !ok || f.tx > 0:
		c.open("tx", "the sheet says "+tx.Text)
	default:
		c.Tx = f.rx
		r.width(c, f.width)
		if f.rounded {
			r.list.note("%s shows %s, and holds %s: taken as it holds", r.t.place(row, -1), tx.Text, f.rx)
		}
	}
}

// width takes what a cell says about it; two that differ are to be decided.
func (r *reading) width(c *Channel, text string) {
	if text == "" {
		return
	}
	w, ok := widthOf(text)
	switch {
	case !ok:
		c.open("width", "the sheet says "+text)
	case c.widthSaid && c.Width != w:
		c.open("width", "the sheet says narrow and wide")
	default:
		c.Width, c.widthSaid = w, true
	}
}

func (r *reading) modeAndWidth(c *Channel, row int) {
	for _, f := range []Field{Width, RxWidth, TxWidth} {
		if cell, _ := r.at(row, f); !blank(cell) {
			r.width(c, cell.Text)
		}
	}
	cell, _ := r.at(row, Mode)
	if blank(cell) {
		return
	}
	m, w, ok := modeOf(cell.Text)
	if !ok {
		if _, width := widthOf(cell.Text); width {
			r.width(c, cell.Text)
			return
		}
		c.open("mode", "the sheet says "+cell.Text)
		return
	}
	c.Mode, c.modeSaid = m, true
	r.width(c, w)
}

func (r *reading) tones(c *Channel, row int) {
	both, at := r.at(row, BothTones)
	if at >= 0 {
		r.tone(c, "tx_tone", both, BothTones)
		if both := strings.ToUpper(both.Text); !siteText().MatchString(both) {
			r.tone(c, "rx_tone", r.t.cell(row, at), BothTones)
		}
	}
	if cell, at := r.at(row, RxTone); at >= 0 {
		r.tone(c, "rx_tone", cell, RxTone)
	}
	if cell, at := r.at(row, TxTone); at >= 0 {
		r.tone(c, "tx_tone", cell, TxTone)
	}
	if !c.modeSaid && (c.RxTone.Kind == radio.NAC || c.TxTone.Kind == radio.NAC) {
		c.Mode = radio.Digital
		r.list.note("channels with a network access code and no mode are taken as digital")
	}
}

// tone reads a cell for one direction. Of a talkgroup nothing is written.
func (r *reading) tone(c *Channel, key string, cell cells.Cell, f Field) {
	t, ok := toneOf(cell, r.title(f), c.Mode == radio.Digital)
	if c.Talkgroup != "" {
		if ok && !t.none || !ok {
			r.list.notRead(c.At, cell.Text, "a talkgroup has no "+key)
		}
		return
	}
	value := t.value
	if ok && t.number > 0 {
		if value, ok = r.list.toneValue(t.number); !ok {
			c.open(key, fmt.Sprintf("the sheet says %s, and no table of tones has number %d", cell.Text, t.number))
			return
		}
	}
	switch {
	case !ok:
		c.open(key, "the sheet says "+cell.Text)
	case t.site && key == "rx_tone":
		c.open(key, "the sheet says "+cell.Text+"; only the transmit tone can be the site's")
	case t.site:
		c.TxTone = radio.Site
	case key == "rx_tone":
		c.RxTone = value
	default:
		c.TxTone = value
	}
}

func (l *List) toneValue(number int) (radio.Squelch, bool) {
	for _, t := range l.Tones {
		if t.Number == number {
			return t.Value, true
		}
	}
	return radio.Squelch{}, false
}

func (r *reading) useAndRemarks(c *Channel, row int) {
	if text := r.text(row, Use); !dashes[text] {
		if u, ok := useOfWord(text); ok {
			c.Use, c.UseBy = u, ByColumn
		} else {
			c.open("use", "the sheet says "+text)
		}
	}
	var remarks []string
	for _, col := range r.t.columns {
		text := r.t.cell(row, col.Index).Text
		if dashes[text] {
			continue
		}
		switch col.Field {
		case Remarks:
			if text != c.Name {
				remarks = append(remarks, text)
			}
		case SiteOf:
			c.sites = append(c.sites, splitNames(text)...)
			c.siteText = text
		}
	}
	c.Remarks = strings.Join(remarks, "; ")
}

var (
	looseFrequency = compiled(`\b\d{2,3}[.,]\d{3,6}\b`)
	looseTone      = compiled(`(?i)(?:^|[^\w.])\d{2,3}\.\d(?:[^\d.]|$)`)
	labeledTone    = compiled(`(?i)\b(?:pl|ctcss|tpl|dpl|dcs|nac|tone)[ :]*#?[0-9]`)
)

// elsewhere asks where a sheet without a column of transmit frequencies, or a row
// without a tone, has one among the remarks or in a column that was not understood.
func (r *reading) elsewhere(c *Channel, row int) {
	if c.Talkgroup != "" || c.ReceiveOnly {
		return
	}
	_, tx := r.at(row, Tx)
	column, said := false, false // of tones
	for _, f := range []Field{RxTone, TxTone, BothTones} {
		cell, at := r.at(row, f)
		column, said = column || at >= 0, said || !cell.Empty()
	}
	for _, col := range r.t.columns {
		if col.Field != NotUsed && col.Field != Remarks {
			continue
		}
		text := r.t.cell(row, col.Index).Text
		for _, f := range looseFrequency().FindAllString(text, -1) {
			if h, ok := frequencyOf(cells.Cell{Text: f}); ok && tx < 0 && h.rx != c.Rx && c.Tx == c.Rx {
				c.open("tx", "the sheet says "+text+", too; if that is not what is transmitted, delete the key")
				break
			}
		}
		if !said && labeledTone().MatchString(text) || !column && looseTone().MatchString(text) {
			c.open("tx_tone", "the sheet says "+text+", too; if that is no tone, delete the key")
		}
	}
}

var listText = compiled(`\s*(?:[,;\n]|\s&\s|\band\b)\s*`)

// splitNames takes a list in a cell apart.
func splitNames(text string) []string {
	var names []string
	for _, n := range listText().Split(text, -1) {
		if n = strings.TrimSpace(n); n != "" {
			names = append(names, n)
		}
	}
	return names
}

var weatherText = compiled(`(?i)\b(?:wx|weather|noaa|nws|atis|awos)`)

// receiveOnly finds out whether the radio may transmit.
func (r *reading) receiveOnly(c *Channel, row int) {
	cell, at := r.at(row, ReceiveOnly)
	switch text := cell.Text; {
	case at < 0 || blank(cell):
	case yesText().MatchString(text):
		c.ReceiveOnly = true
	case !noText().MatchString(text):
		c.open("receive_only", "the sheet says "+text)
	default:
		return // it says no
	}
	if receiveOnlyText().MatchString(c.Remarks) || receiveOnlyText().MatchString(c.Name) || receiveOnlyText().MatchString(r.text(row, Use)) {
		c.ReceiveOnly = true
	}
	if c.txBlank && !c.ReceiveOnly && (weatherText().MatchString(c.Name) || weatherText().MatchString(c.Remarks)) {
		c.open("receive_only", "the sheet has no transmit frequency: true if the radio must not transmit, else delete the key")
	}
}
