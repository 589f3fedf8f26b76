package layout

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"slotcard/plan"
	"slotcard/plan/radio"
)

// The numeric index, the index by name, numbered tones and sites.

// index lays rows out over pages, in columns, each page under a bar with its
// first and last key. It begins a new page.
func (b *book) index(behind int, title, short string, columns int, gutter float64, head func(c *canvas, x, y float64), rows []block) {
	if len(rows) == 0 {
		rows = append(rows, b.sentence(b.words.NoChannels))
	}
	over := pile{{h: b.barHigh(1)}}
	if head != nil {
		over = append(over, drawn(b.headHigh(), head))
	}
	b.flow(flow{blocks: rows, columns: columns, gutter: gutter, begin: true, mark: title,
		head: func(part) pile { return over },
		after: func(p part) {
			if !p.again {
				b.begins[b.part(behind)] = p.page.number
			}
			b.tab(p.page, b.part(behind))
			b.bar(p.page, p.top, b.guide(p.blocks, title, short))
		}})
}

// guide is the bar of a page of an index: its first and last key where they go
// in beside the title.
func (b *book) guide(rows []block, title, short string) bookBar {
	var keys []string
	for _, r := range rows {
		if r.key != "" && (len(keys) == 0 || keys[len(keys)-1] != r.key) {
			keys = append(keys, r.key)
		}
	}
	if len(keys) == 0 {
		return bookBar{name: title}
	}
	span := keys[0]
	if n := len(keys); n > 1 {
		span += " – " + keys[n-1]
	}
	room := b.width() - 2*b.barPad() - 2*b.keyGap()
	for _, said := range []string{span, keys[0]} {
		for _, inner := range []string{title, short} {
			if b.barMono().width(said)+b.barSmall().width(inner) <= room {
				return bookBar{name: said, mono: true, inner: inner}
			}
		}
	}
	return bookBar{name: title}
}

// frequencyColumns are the columns of the numeric index.
type frequencyColumns struct {
	beside          bool    // all on one line; else transmit and tones below the name
	rx              float64 // right edges
	txEnd, tonesEnd float64
	name            float64 // left edge of the name, and of further lines
}

func (b *book) byFrequency() {
	var tuned, trunked []*bookEntry
	for _, e := range b.entries {
		if e.Trunked() {
			trunked = append(trunked, e)
		} else {
			tuned = append(tuned, e)
		}
	}
	slices.SortStableFunc(tuned, compareTuned)
	slices.SortStableFunc(trunked, func(x, y *bookEntry) int { return natural(x.Name, y.Name) })

	k := b.frequencyColumns(tuned)
	if !k.beside {
		b.form = 1
	}
	var rows []block
	for i := 0; i < len(tuned); {
		n := 1
		for i+n < len(tuned) && tuned[i+n].Rx == tuned[i].Rx {
			n++
		}
		rows = append(rows, b.sharing(tuned[i:i+n], k)...)
		i += n
	}
	for i, e := range trunked {
		rows = append(rows, b.talkgroupRow(e, i == 0))
	}
	head := func(c *canvas, x, y float64) {
		base := y + 1.5*b.small
		c.textRight(x+k.rx, base, b.smallText, b.words.Receive)
		if k.beside {
			c.textRight(x+k.txEnd, base, b.smallText, b.words.Transmit)
			c.textRight(x+k.tonesEnd, base, b.smallText, b.words.ToneCol)
		} else if s := b.smallText; k.name+s.width(b.words.FiguresBelow)+b.gap() <= b.width()-s.width(b.words.Where) {
			c.text(x+k.name, base, s, b.words.FiguresBelow)
		}
		c.textRight(x+b.width(), base, b.smallText, b.words.Where)
	}
	b.index(partFrequency, b.words.ByFrequency, b.words.Frequencies, 1, 0, head, rows)
}

// compareTuned orders by receive frequency, then by what differs.
func compareTuned(x, y *bookEntry) int {
	return cmp.Or(cmp.Compare(x.Rx, y.Rx), cmp.Compare(x.Tx, y.Tx), compareSquelch(x.RxTone, y.RxTone), compareSquelch(x.TxTone, y.TxTone), natural(x.Name, y.Name))
}

func compareSquelch(x, y radio.Squelch) int {
	return cmp.Or(cmp.Compare(x.Kind, y.Kind), cmp.Compare(x.Value, y.Value))
}

func (b *book) frequencyColumns(all []*bookEntry) (k frequencyColumns) {
	rx, tx, tones := 0.0, b.smallText.width(b.words.Transmit), b.smallText.width(b.words.ToneCol)
	name, where := 0.0, 0.0
	bold := b.smallMono.in(b.keyName.face)
	for _, e := range all {
		rx = max(rx, b.keyName.width(receiveOf(e.Channel)))
		said, figures := b.transmitOf(e.Channel)
		if figures {
			tx = max(tx, bold.width(said))
		} else {
			tx = max(tx, b.smallText.width(said))
		}
		tones = max(tones, bold.width(b.tonesOf(e.Channel)))
		name = max(name, b.keyName.width(e.Name))
		where = max(where, b.placeStyle().width(placeOf(e.places[0])))
	}
	rx = max(rx, b.smallText.width(b.words.Receive))
	g := b.gap()
	k.rx = rx
	spare := (b.width() - (rx + tx + tones + name + where + 4*g)) / 4
	if k.beside = spare >= 0; k.beside {
		k.txEnd = rx + g + spare + tx
		k.tonesEnd = k.txEnd + g + spare + tones
		k.name = k.tonesEnd + g + spare
		return k
	}
	k.name = rx + g
	return k
}

// sharing are the rows of all channels that share a receive frequency. What
// tells them apart is bold.
func (b *book) sharing(all []*bookEntry, k frequencyColumns) []block {
	differ := func(of func(c *plan.Channel) string) bool {
		return slices.ContainsFunc(all, func(e *bookEntry) bool { return of(e.Channel) != of(all[0].Channel) })
	}
	transmits := differ(func(c *plan.Channel) string { s, _ := b.transmitOf(c); return s })
	tones := differ(b.tonesOf)
	rows := make([]block, len(all))
	for i, e := range all {
		rows[i] = b.tunedRow(e, k, i == 0, transmits, tones)
		rows[i].keep = i < len(all)-1
	}
	return rows
}

func (b *book) tunedRow(e *bookEntry, k frequencyColumns, first, boldTx, boldTones bool) block {
	width := b.width()
	rx := receiveOf(e.Channel)
	base := b.rowTop() + b.key
	// A name that does not go in beside the frequency stands below it.
	name, nameBase := k.name, base
	room := width - name - b.keyName.width(e.Name)
	if room < -tolerance {
		name, nameBase = 0, base+b.keyPitch()
		room = width - k.rx
		if b.keyName.width(e.Name) > width+tolerance {
			b.misfit(e.At("name"), e.Name, e.Name)
		}
	}
	said, figures := b.transmitOf(e.Channel)
	txStyle := b.smallText
	switch {
	case figures && boldTx:
		txStyle = b.smallMono.in(b.keyName.face)
	case figures:
		txStyle = b.smallMono
	case boldTx:
		txStyle = b.smallBold
	}
	tones := b.tonesOf(e.Channel)
	toneStyle := b.smallMono
	if boldTones {
		toneStyle = toneStyle.in(b.keyName.face)
	}
	lines := b.wrapAfter(b.placesOf(e), room-b.gap(), width-k.name, e.At("number"), e.Name)
	// Below: transmit and tones, then the places that are left.
	figuresAt, at := 0.0, nameBase+b.keyPitch()
	h := nameBase + b.keyFoot()
	if !k.beside {
		figuresAt = nameBase + b.underKey()
		at = figuresAt + b.small*descender + b.key*ascender + 0.08
		h = figuresAt + b.smallFoot()
		if k.name+txStyle.width(said)+b.gap()+toneStyle.width(tones) > width+tolerance {
			b.misfit(e.At("tx_tone"), e.Name, said+" "+tones)
		}
	}
	if len(lines) > 1 {
		h = at + float64(len(lines)-2)*b.keyPitch() + b.keyFoot()
	}
	row := b.row(h, rx, func(c *canvas, x, y float64) {
		if first {
			c.textRight(x+k.rx, y+base, b.keyName, rx)
		}
		c.text(x+name, y+nameBase, b.keyName, e.Name)
		if k.beside {
			c.textRight(x+k.txEnd, y+base, txStyle, said)
			c.textRight(x+k.tonesEnd, y+base, toneStyle, tones)
		} else {
			c.text(x+k.name, y+figuresAt, txStyle, said)
			c.textRight(x+width, y+figuresAt, toneStyle, tones)
		}
		c.lineRight(x+width, y+base, lines[0])
		c.linesRight(x+width, y+at, b.keyPitch(), lines[1:])
	})
	if !first { // the frequency again where the row begins a page
		again := drawn(h, func(c *canvas, x, y float64) {
			c.textRight(x+k.rx, y+base, b.keyMono, rx)
			row.draw(c, x, y, h)
		})
		row.first, row.rule = &again, nil
	}
	return row
}

// talkgroupRow is a talkgroup at the end of the numeric index.
func (b *book) talkgroupRow(e *bookEntry, first bool) block {
	width := b.width()
	nameEnd := b.keyName.width(e.Name)
	if nameEnd > width+tolerance {
		b.misfit(e.At("name"), e.Name, e.Name)
	}
	lines := b.wrapAfter(b.placesOf(e), width-nameEnd-b.gap(), width, e.At("number"), e.Name)
	about := words(b.smallMono.in(b.keyName.face), e.Talkgroup)
	about = append(about, words(b.smallText, b.words.OfSystem+" "+e.System)...)
	text := b.wrap(about, width, e.At("talkgroup"), e.Name)
	top := 0.0
	if first {
		top = b.headHigh() + b.rowTop()
	}
	base := top + b.rowTop() + b.key
	last := base + float64(len(lines)-1)*b.keyPitch()
	below := last + b.underKey()
	h := below + float64(len(text)-1)*b.pitch() + b.smallFoot()
	return b.row(h, "", func(c *canvas, x, y float64) {
		if first {
			c.text(x, y+1.5*b.small+b.rowTop(), b.smallBold, b.words.Talkgroups)
		}
		c.text(x, y+base, b.keyName, e.Name)
		c.linesRight(x+width, y+base, b.keyPitch(), lines)
		c.lines(x, y+below, b.pitch(), text)
	})
}

// byName lays out the index by name, in as many columns as have room for the
// longest name and a place beside it.
func (b *book) byName() {
	all := slices.Clone(b.entries)
	slices.SortStableFunc(all, func(x, y *bookEntry) int { return cmp.Or(natural(x.Name, y.Name), compareTuned(x, y)) })
	count := map[string]int{}
	name, where := 0.0, 0.0
	for _, e := range all {
		count[e.Name]++
		name = max(name, b.keyName.width(e.Name))
		for _, c := range e.places {
			where = max(where, b.placeStyle().width(placeOf(c)))
		}
	}
	gutter := 2 * b.gap()
	columns := 1
	for n := 2; (b.width()-float64(n-1)*gutter)/float64(n) >= name+b.gap()+where; n++ {
		columns = n
	}
	width := (b.width() - float64(columns-1)*gutter) / float64(columns)
	rows := make([]block, len(all))
	for i, e := range all {
		rows[i] = b.nameRow(e, width, count[e.Name] > 1)
	}
	b.index(partName, b.words.ByName, b.words.Names, columns, gutter, nil, rows)
}

// nameRow is a name with its places; with its figures where the name alone is
// ambiguous.
func (b *book) nameRow(e *bookEntry, width float64, ambiguous bool) block {
	nameEnd := b.keyName.width(e.Name)
	if nameEnd > width+tolerance {
		b.misfit(e.At("name"), e.Name, e.Name)
	}
	lines := b.wrapAfter(b.placesOf(e), width-nameEnd-b.gap(), width, e.At("number"), e.Name)
	base := b.rowTop() + b.key
	last := base + float64(len(lines)-1)*b.keyPitch()
	h := last + b.keyFoot()
	var text []line
	if ambiguous {
		text = b.wrap(b.programmed(e.Channel), width, e.At("name"), e.Name)
		h = last + b.underKey() + float64(len(text)-1)*b.pitch() + b.smallFoot()
	}
	row := b.row(h, e.Name, func(c *canvas, x, y float64) {
		c.text(x, y+base, b.keyName, e.Name)
		c.linesRight(x+width, y+base, b.keyPitch(), lines)
		c.lines(x, y+last+b.underKey(), b.pitch(), text)
	})
	row.rule = func(c *canvas, x, y float64) { c.rule(x, x+width, y, hairline) }
	return row
}

// programmed are the figures of a channel in a row.
func (b *book) programmed(c *plan.Channel) []piece {
	if c.Trunked() {
		return append(words(b.smallMono, c.Talkgroup), words(b.smallText, b.words.OfSystem+" "+c.System)...)
	}
	said, figures := b.transmitOf(c)
	s := b.smallText
	if figures {
		s = b.smallMono
	}
	out := []piece{
		pieceOf(b.gap(), b.smallMono.say(receiveOf(c))),
		pieceOf(b.gap(), s.say(said)),
		pieceOf(b.gap(), b.smallMono.say(b.tonesOf(c))),
	}
	for _, set := range b.unusual(c) {
		out = append(out, set...)
	}
	return out
}

// natural compares names as people sort them: figures by their value.
func natural(x, y string) int {
	a, b := x, y
	for a != "" && b != "" {
		m, n := figures(a), figures(b)
		if m > 0 && n > 0 {
			p, q := strings.TrimLeft(a[:m], "0"), strings.TrimLeft(b[:n], "0")
			if d := cmp.Or(cmp.Compare(len(p), len(q)), cmp.Compare(p, q)); d != 0 {
				return d
			}
			a, b = a[m:], b[n:]
			continue
		}
		if a[0] != b[0] {
			return cmp.Compare(a[0], b[0])
		}
		a, b = a[1:], b[1:]
	}
	return cmp.Or(cmp.Compare(len(a), len(b)), cmp.Compare(x, y))
}

// figures is how many figures a text begins with.
func figures(s string) int { return len(s) - len(strings.TrimLeft(s, "0123456789")) }

// tonesAndSites lays out the numbered tones, then the sites, from a new page.
func (b *book) tonesAndSites() {
	type section struct {
		title string
		rows  pile
	}
	var sections []section
	if len(b.load.Tones) > 0 {
		sections = append(sections, section{b.words.Tones, b.toneRows()})
	}
	if len(b.load.Sites) > 0 {
		sections = append(sections, section{b.words.Sites, b.siteRows()})
	}
	for i, s := range sections {
		if i == 0 || b.room() < between+b.barHigh(1)+s.rows.height() {
			b.newPage()
		} else {
			b.y += between
		}
		if i == 0 {
			b.begins[b.part(partTones)] = b.page().number
		}
		b.flow(flow{blocks: s.rows, mark: s.title, after: func(p part) { b.tab(p.page, b.part(partTones)) },
			head: func(p part) pile { return pile{b.barBlock(p, 1, bookBar{name: s.title})} }})
	}
}

// toneRows are the numbered tones, each with the sites that it opens.
func (b *book) toneRows() pile {
	tones := slices.Clone(b.load.Tones)
	slices.SortStableFunc(tones, func(x, y *plan.Tone) int { return cmp.Compare(x.Number, y.Number) })
	number, value := 0.0, 0.0
	for _, t := range tones {
		number = max(number, b.keyName.width(fmt.Sprint(t.Number)))
		value = max(value, b.keyMono.width(t.Hz.String()))
	}
	indent := number + b.keyGap() + value + b.gap()
	var rows pile
	for _, t := range tones {
		var opened []string
		for _, s := range b.load.Sites {
			if s.Squelch == t.Hz {
				opened = append(opened, s.Name)
			}
		}
		said := fmt.Sprint(t.Number)
		lines := b.wrap(words(b.smallText, strings.Join(opened, ", ")), b.width()-indent, t.At("number"), said)
		base := b.rowTop() + b.key
		h := max(base+b.keyFoot(), base+float64(len(lines)-1)*b.pitch()+b.smallFoot())
		rows = append(rows, b.row(h, said, func(c *canvas, x, y float64) {
			c.textRight(x+number, y+base, b.keyName, said)
			c.textRight(x+number+b.keyGap()+value, y+base, b.keyMono, t.Hz.String())
			c.lines(x+indent, y+base, b.pitch(), lines)
		}))
	}
	return rows
}

// siteRows are the repeater sites: the tone that opens each, where it is, and
// the channels that it carries.
func (b *book) siteRows() pile {
	places := map[string][]*bookEntry{}
	for _, e := range b.entries {
		places[e.Name] = append(places[e.Name], e)
	}
	var rows pile
	for _, s := range b.load.Sites {
		rows = append(rows, b.siteOf(s, places)...)
	}
	return rows
}

// siteOf are the rows of a site: what it is, then its channels, under its name
// again where they go on overleaf.
func (b *book) siteOf(s *plan.Site, places map[string][]*bookEntry) (rows pile) {
	width := b.width()
	tone := lineOf(b.toneOf(s)...)
	name := b.wrapAfter(words(b.keyBold, s.Name), width-tone.wide-b.gap(), width, s.At("name"), s.Name)
	where := b.wrap(words(b.smallText, b.coordinates(s)), width, s.At("latitude"), s.Name)
	channels := b.wrap(b.carried(s, places), width, s.At("channels"), s.Name)
	base := b.rowTop() + b.key
	last := base + float64(len(name)-1)*b.keyPitch()
	text := last + b.underKey()
	end := last + b.keyFoot()
	if len(where) > 0 {
		end = text + float64(len(where)-1)*b.pitch() + b.smallFoot()
	}
	title := func(c *canvas, x, y float64) {
		c.lineRight(x+width, y+base, tone)
		c.lines(x, y+base, b.keyPitch(), name)
	}
	head := b.row(end, s.Name, func(c *canvas, x, y float64) {
		title(c, x, y)
		c.lines(x, y+text, b.pitch(), where)
	})
	if len(channels) == 0 {
		return pile{head}
	}
	for i, l := range channels {
		row := b.row(b.keyPitch(), s.Name, func(c *canvas, x, y float64) { c.line(x, y+b.key*ascender, l) })
		if i == len(channels)-1 {
			row.h += 0.3 * b.key
		}
		over, above := title, last+b.keyFoot() // again over what goes on overleaf
		if i == 0 {                            // stays with its head
			over, above = func(c *canvas, x, y float64) { head.put(c, x, y) }, head.h
		}
		alone := row
		both := b.row(above+row.h, s.Name, func(c *canvas, x, y float64) {
			over(c, x, y)
			alone.put(c, x, y+above)
		})
		if i == 0 {
			row = both
		} else {
			row.rule, row.first = nil, &both
		}
		rows = append(rows, row)
	}
	return rows
}

// carried are the channels of a site, with their places.
func (b *book) carried(s *plan.Site, places map[string][]*bookEntry) (out []piece) {
	for _, n := range s.Channels {
		for _, e := range places[n] {
			all := b.placesOf(e)
			all[0] = pieceOf(all[0].space, b.keyName.say(n), b.placeStyle().say(" "+placeOf(e.places[0])))
			all[len(all)-1].space = 2 * b.gap()
			out = append(out, all...)
		}
	}
	return out
}

// toneOf is the tone that opens a site, by number and value.
func (b *book) toneOf(s *plan.Site) []piece {
	number := s.Tone.Number
	if number == 0 {
		number = b.load.ToneNumber(s.Squelch)
	}
	out := words(b.keyBold, b.words.Tone)
	if number > 0 {
		out = append(out, pieceOf(b.gap(), b.keyName.say(fmt.Sprint(number))))
	}
	return append(out, pieceOf(0, b.keyMono.say(s.Squelch.String())))
}

// coordinates of a site, WGS 84, and its elevation; "" where they are not known.
func (b *book) coordinates(s *plan.Site) string {
	var parts []string
	if s.Latitude != nil && s.Longitude != nil {
		half := func(v float64, pos, neg string) string {
			if v < 0 {
				return fmt.Sprintf("%.4f° %s", -v, neg)
			}
			return fmt.Sprintf("%.4f° %s", v, pos)
		}
		parts = append(parts, half(*s.Latitude, b.words.North, b.words.South), half(*s.Longitude, b.words.East, b.words.West))
	}
	if s.Elevation != nil {
		parts = append(parts, filled(b.words.Metres, "n", fmt.Sprintf("%.0f", *s.Elevation)))
	}
	return strings.Join(parts, ", ")
}
