package layout

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"slotcard/plan"
	"slotcard/plan/finding"
	"slotcard/plan/radio"
)

// The numeric index, the index by name, numbered tones and sites.

// indexRow is a line of an index, and what names it at the head of the page.
type indexRow struct {
	bookRow
	rule  bool                          // a hairline above it
	whole int                           // rows from this one that stay on one page, 1 or more
	again func(c *canvas, x, y float64) // drawn as well where it is the first of its page
}

// index lays rows out over pages, in columns, each page under a bar with its
// first and last key. It begins a new page.
func (b *book) index(part int, title, short string, columns int, gutter float64, head func(c *canvas, x, y float64), rows []indexRow) {
	if len(rows) == 0 {
		rows = append(rows, indexRow{bookRow: b.sentence(b.w.NoChannels)})
	}
	first := true
	for len(rows) > 0 {
		p := b.turn()
		p.tab(b.part(part))
		if first {
			b.begins[b.part(part)] = p.number
			p.bookmark(title, 0, b.y)
			first = false
		}
		top := b.y + b.barHigh(1)
		y0 := top
		if head != nil {
			head(&p.canvas, b.left(p), top)
			y0 += b.headHigh()
		}
		width := (b.width() - float64(columns-1)*gutter) / float64(columns)
		taken := 0
		for col := range columns {
			x, y := b.left(p)+float64(col)*(width+gutter), y0
			for start := true; taken < len(rows); {
				n := max(rows[taken].whole, 1)
				high := 0.0
				for _, r := range rows[taken : taken+n] {
					high += r.h
				}
				if y+high > b.bottom()+tolerance {
					if !start {
						break
					}
					n = 1 // what is higher than a page goes on overleaf
					if y+rows[taken].h > b.bottom()+tolerance {
						b.misfit(finding.Place{}, rows[taken].key, rows[taken].key)
					}
				}
				for _, r := range rows[taken : taken+n] {
					if start && r.again != nil {
						r.again(&p.canvas, x, y)
					}
					if !start && r.rule {
						p.rule(x, x+width, y, 0.12)
					}
					r.draw(&p.canvas, x, y)
					y += r.h
					start = false
				}
				taken += n
			}
		}
		b.bar(p, b.y, b.guide(rows[:taken], title, short))
		rows = rows[taken:]
	}
	b.y = b.bottom()
}

// guide is the bar of a page of an index: its first and last key where they go
// in beside the title.
func (b *book) guide(rows []indexRow, title, short string) bookBar {
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
	var rows []indexRow
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
		c.textRight(x+k.rx, base, b.smallText, b.w.Receive)
		if k.beside {
			c.textRight(x+k.txEnd, base, b.smallText, b.w.Transmit)
			c.textRight(x+k.tonesEnd, base, b.smallText, b.w.ToneCol)
		} else if s := b.smallText; k.name+s.width(b.w.FiguresBelow)+b.gap() <= b.width()-s.width(b.w.Where) {
			c.text(x+k.name, base, s, b.w.FiguresBelow)
		}
		c.textRight(x+b.width(), base, b.smallText, b.w.Where)
	}
	b.index(partFrequency, b.w.ByFrequency, b.w.Frequencies, 1, 0, head, rows)
}

// compareTuned orders by receive frequency, then by what differs.
func compareTuned(x, y *bookEntry) int {
	return cmp.Or(cmp.Compare(x.Rx, y.Rx), cmp.Compare(x.Tx, y.Tx), compareSquelch(x.RxTone, y.RxTone), compareSquelch(x.TxTone, y.TxTone), natural(x.Name, y.Name))
}

func compareSquelch(x, y radio.Squelch) int {
	return cmp.Or(cmp.Compare(x.Kind, y.Kind), cmp.Compare(x.Value, y.Value))
}

func (b *book) frequencyColumns(all []*bookEntry) (k frequencyColumns) {
	rx, tx, tones := 0.0, b.smallText.width(b.w.Transmit), b.smallText.width(b.w.ToneCol)
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
	rx = max(rx, b.smallText.width(b.w.Receive))
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
func (b *book) sharing(all []*bookEntry, k frequencyColumns) []indexRow {
	differ := func(of func(c *plan.Channel) string) bool {
		return slices.ContainsFunc(all, func(e *bookEntry) bool { return of(e.Channel) != of(all[0].Channel) })
	}
	transmits := differ(func(c *plan.Channel) string { s, _ := b.transmitOf(c); return s })
	tones := differ(b.tonesOf)
	rows := make([]indexRow, len(all))
	for i, e := range all {
		rows[i] = b.tunedRow(e, k, i == 0, transmits, tones)
		rows[i].rule = i == 0
		if i == 0 {
			rows[i].whole = len(all)
		}
	}
	return rows
}

func (b *book) tunedRow(e *bookEntry, k frequencyColumns, first, boldTx, boldTones bool) indexRow {
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
	lines, bad := wrapAfter(b.placesOf(e), room-b.gap(), width-k.name)
	if bad != "" {
		b.misfit(e.At("number"), e.Name, bad)
	}
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
	row := indexRow{bookRow: bookRow{h: h, key: rx, draw: func(c *canvas, x, y float64) {
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
		for i, l := range lines {
			line := y + base
			if i > 0 {
				line = y + at + float64(i-1)*b.keyPitch()
			}
			c.line(x+width-lineWidth(l), line, l)
		}
	}}}
	if !first {
		row.again = func(c *canvas, x, y float64) { c.textRight(x+k.rx, y+base, b.keyMono, rx) }
	}
	return row
}

// talkgroupRow is a talkgroup at the end of the numeric index.
func (b *book) talkgroupRow(e *bookEntry, first bool) indexRow {
	width := b.width()
	nameEnd := b.keyName.width(e.Name)
	if nameEnd > width+tolerance {
		b.misfit(e.At("name"), e.Name, e.Name)
	}
	lines, bad := wrapAfter(b.placesOf(e), width-nameEnd-b.gap(), width)
	if bad != "" {
		b.misfit(e.At("number"), e.Name, bad)
	}
	about := words(b.smallMono.in(b.keyName.face), e.Talkgroup)
	about = append(about, words(b.smallText, b.w.OfSystem+" "+e.System)...)
	text, bad := wrap(about, width)
	if bad != "" {
		b.misfit(e.At("talkgroup"), e.Name, bad)
	}
	top := 0.0
	if first {
		top = b.headHigh() + b.rowTop()
	}
	base := top + b.rowTop() + b.key
	last := base + float64(len(lines)-1)*b.keyPitch()
	below := last + b.underKey()
	h := below + float64(len(text)-1)*b.pitch() + b.smallFoot()
	return indexRow{rule: true, bookRow: bookRow{h: h, draw: func(c *canvas, x, y float64) {
		if first {
			c.text(x, y+1.5*b.small+b.rowTop(), b.smallBold, b.w.Talkgroups)
		}
		c.text(x, y+base, b.keyName, e.Name)
		for i, l := range lines {
			c.line(x+width-lineWidth(l), y+base+float64(i)*b.keyPitch(), l)
		}
		for i, l := range text {
			c.line(x, y+below+float64(i)*b.pitch(), l)
		}
	}}}
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
	rows := make([]indexRow, len(all))
	for i, e := range all {
		rows[i] = b.nameRow(e, width, count[e.Name] > 1)
		rows[i].rule = true
	}
	b.index(partName, b.w.ByName, b.w.Names, columns, gutter, nil, rows)
}

// nameRow is a name with its places; with its figures where the name alone is
// ambiguous.
func (b *book) nameRow(e *bookEntry, width float64, ambiguous bool) indexRow {
	nameEnd := b.keyName.width(e.Name)
	if nameEnd > width+tolerance {
		b.misfit(e.At("name"), e.Name, e.Name)
	}
	lines, bad := wrapAfter(b.placesOf(e), width-nameEnd-b.gap(), width)
	if bad != "" {
		b.misfit(e.At("number"), e.Name, bad)
	}
	base := b.rowTop() + b.key
	last := base + float64(len(lines)-1)*b.keyPitch()
	h := last + b.keyFoot()
	var text [][]chunk
	if ambiguous {
		if text, bad = wrap(b.programmed(e.Channel), width); bad != "" {
			b.misfit(e.At("name"), e.Name, bad)
		}
		h = last + b.underKey() + float64(len(text)-1)*b.pitch() + b.smallFoot()
	}
	return indexRow{bookRow: bookRow{h: h, key: e.Name, draw: func(c *canvas, x, y float64) {
		c.text(x, y+base, b.keyName, e.Name)
		for i, l := range lines {
			c.line(x+width-lineWidth(l), y+base+float64(i)*b.keyPitch(), l)
		}
		for i, l := range text {
			c.line(x, y+last+b.underKey()+float64(i)*b.pitch(), l)
		}
	}}}
}

// programmed are the figures of a channel in a row.
func (b *book) programmed(c *plan.Channel) []chunk {
	if c.Trunked() {
		return append(words(b.smallMono, c.Talkgroup), words(b.smallText, b.w.OfSystem+" "+c.System)...)
	}
	said, figures := b.transmitOf(c)
	s := b.smallText
	if figures {
		s = b.smallMono
	}
	out := []chunk{
		chunkOf(b.gap(), run{style: b.smallMono, s: receiveOf(c)}),
		chunkOf(b.gap(), run{style: s, s: said}),
		chunkOf(b.gap(), run{style: b.smallMono, s: b.tonesOf(c)}),
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
	type sheet struct {
		title string
		rows  []bookRow
	}
	var sheets []sheet
	if len(b.l.Tones) > 0 {
		sheets = append(sheets, sheet{b.w.Tones, b.toneRows()})
	}
	if len(b.l.Sites) > 0 {
		sheets = append(sheets, sheet{b.w.Sites, b.siteRows()})
	}
	top := b.barHigh(1)
	for i, s := range sheets {
		high := top
		for _, r := range s.rows {
			high += r.h
		}
		const between = 3
		if i == 0 || b.room() < between+high {
			b.turn()
		} else {
			b.y += between
		}
		if i == 0 {
			b.begins[b.part(partTones)] = b.now().number
		}
		b.now().bookmark(s.title, 0, b.y)
		for rows := s.rows; ; {
			p := b.now()
			p.tab(b.part(partTones))
			n, h := 0, 0.0
			for n < len(rows) && (n == 0 || h+rows[n].h <= b.room()-top) {
				h += rows[n].h
				n++
			}
			if h > b.room()-top+tolerance {
				b.misfit(finding.Place{}, rows[0].key, rows[0].key)
			}
			b.rows(p, b.bar(p, b.y, bookBar{name: s.title}), rows[:n])
			b.y += top + h
			if rows = rows[n:]; len(rows) == 0 {
				break
			}
			if over := rows[0].over; over != nil {
				rows = slices.Insert(slices.Clone(rows), 0, *over)
			}
			b.turn()
		}
	}
}

// toneRows are the numbered tones, each with the sites that it opens.
func (b *book) toneRows() []bookRow {
	tones := slices.Clone(b.l.Tones)
	slices.SortStableFunc(tones, func(x, y *plan.Tone) int { return cmp.Compare(x.Number, y.Number) })
	number, value := 0.0, 0.0
	for _, t := range tones {
		number = max(number, b.keyName.width(fmt.Sprint(t.Number)))
		value = max(value, b.keyMono.width(t.Hz.String()))
	}
	indent := number + b.keyGap() + value + b.gap()
	var rows []bookRow
	for _, t := range tones {
		var opened []string
		for _, s := range b.l.Sites {
			if s.Squelch == t.Hz {
				opened = append(opened, s.Name)
			}
		}
		lines, bad := wrap(words(b.smallText, strings.Join(opened, ", ")), b.width()-indent)
		if bad != "" {
			b.misfit(t.At("number"), fmt.Sprint(t.Number), bad)
		}
		base := b.rowTop() + b.key
		h := max(base+b.keyFoot(), base+float64(len(lines)-1)*b.pitch()+b.smallFoot())
		rows = append(rows, bookRow{h: h, key: fmt.Sprint(t.Number), draw: func(c *canvas, x, y float64) {
			c.textRight(x+number, y+base, b.keyName, fmt.Sprint(t.Number))
			c.textRight(x+number+b.keyGap()+value, y+base, b.keyMono, t.Hz.String())
			for i, l := range lines {
				c.line(x+indent, y+base+float64(i)*b.pitch(), l)
			}
		}})
	}
	return rows
}

// siteRows are the repeater sites: the tone that opens each, where it is, and
// the channels that it carries.
func (b *book) siteRows() []bookRow {
	places := map[string][]*bookEntry{}
	for _, e := range b.entries {
		places[e.Name] = append(places[e.Name], e)
	}
	var rows []bookRow
	width := b.width()
	for _, s := range b.l.Sites {
		tone := b.toneOf(s)
		name, bad := wrapAfter(words(b.keyBold, s.Name), width-lineWidth(tone)-b.gap(), width)
		if bad != "" {
			b.misfit(s.At("name"), s.Name, bad)
		}
		where, bad := wrap(words(b.smallText, b.coordinates(s)), width)
		if bad != "" {
			b.misfit(s.At("latitude"), s.Name, bad)
		}
		var carried []chunk
		for _, n := range s.Channels {
			for _, e := range places[n] {
				places := b.placesOf(e)
				places[0] = chunkOf(places[0].space, run{style: b.keyName, s: n}, run{style: b.placeStyle(), s: " " + placeOf(e.places[0])})
				places[len(places)-1].space = 2 * b.gap()
				carried = append(carried, places...)
			}
		}
		channels, bad := wrap(carried, width)
		if bad != "" {
			b.misfit(s.At("channels"), s.Name, bad)
		}
		base := b.rowTop() + b.key
		last := base + float64(len(name)-1)*b.keyPitch()
		text := last + b.underKey()
		end := last + b.keyFoot()
		if len(where) > 0 {
			end = text + float64(len(where)-1)*b.pitch() + b.smallFoot()
		}
		title := func(c *canvas, x, y float64) {
			c.line(x+width-lineWidth(tone), y+base, tone)
			for i, l := range name {
				c.line(x, y+base+float64(i)*b.keyPitch(), l)
			}
		}
		over := &bookRow{h: last + b.keyFoot(), key: s.Name, draw: title} // again over what goes on overleaf
		head := bookRow{h: end, key: s.Name, draw: func(c *canvas, x, y float64) {
			title(c, x, y)
			for i, l := range where {
				c.line(x, y+text+float64(i)*b.pitch(), l)
			}
		}}
		for i, l := range channels {
			row := bookRow{h: b.keyPitch(), key: s.Name, joined: true, over: over, draw: func(c *canvas, x, y float64) {
				c.line(x, y+b.key*ascender, l)
			}}
			if i == len(channels)-1 {
				row.h += 0.3 * b.key
			}
			if i == 0 { // stays with its head
				first := row
				row = bookRow{h: head.h + first.h, key: s.Name, draw: func(c *canvas, x, y float64) {
					head.draw(c, x, y)
					first.draw(c, x, y+head.h)
				}}
			}
			rows = append(rows, row)
		}
		if len(channels) == 0 {
			rows = append(rows, head)
		}
	}
	return rows
}

// toneOf is the tone that opens a site, by number and value.
func (b *book) toneOf(s *plan.Site) []chunk {
	number := s.Tone.Number
	if number == 0 {
		number = b.l.ToneNumber(s.Squelch)
	}
	out := words(b.keyBold, b.w.Tone)
	if number > 0 {
		out = append(out, chunkOf(b.gap(), run{style: b.keyName, s: fmt.Sprint(number)}))
	}
	return append(out, chunkOf(0, run{style: b.keyMono, s: s.Squelch.String()}))
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
		parts = append(parts, half(*s.Latitude, b.w.North, b.w.South), half(*s.Longitude, b.w.East, b.w.West))
	}
	if s.Elevation != nil {
		parts = append(parts, filled(b.w.Metres, "n", fmt.Sprintf("%.0f", *s.Elevation)))
	}
	return strings.Join(parts, ", ")
}
