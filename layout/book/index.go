package book

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"slotcard/layout/set"
	"slotcard/layout/words"
	"slotcard/plan"
	"slotcard/plan/radio"
)

// The numeric index, the index by name, numbered tones and sites.

// index lays rows out over pages, in columns, each page under a bar with its
// first and last key. It begins a new page.
func (b *book) index(behind int, title, short string, columns int, gutter float64, head func(c *set.Canvas, x, y float64), rows []set.Block) {
	if len(rows) == 0 {
		rows = append(rows, b.sentence(b.words.NoChannels))
	}
	over := set.Pile{{H: b.barHigh(1)}}
	if head != nil {
		over = append(over, set.Drawn(b.headHigh(), head))
	}
	b.Flow(set.Flow{Blocks: rows, Columns: columns, Gutter: gutter, Begin: true, Mark: title,
		Head: func(set.Part) set.Pile { return over },
		After: func(p set.Part) {
			if !p.Again {
				b.begins[b.part(behind)] = p.Page.Number
			}
			b.tab(p.Page, b.part(behind))
			b.bar(p.Page, p.Top, b.guide(p.Blocks, title, short))
		}})
}

// guide is the bar of a page of an index: its first and last key where they go
// in beside the title.
func (b *book) guide(rows []set.Block, title, short string) bookBar {
	var keys []string
	for _, r := range rows {
		if r.Key != "" && (len(keys) == 0 || keys[len(keys)-1] != r.Key) {
			keys = append(keys, r.Key)
		}
	}
	if len(keys) == 0 {
		return bookBar{name: title}
	}
	span := keys[0]
	if n := len(keys); n > 1 {
		span += " – " + keys[n-1]
	}
	room := b.Width() - 2*b.barPad() - 2*b.keyGap()
	for _, said := range []string{span, keys[0]} {
		for _, inner := range []string{title, short} {
			if b.barMono().Width(said)+b.barSmall().Width(inner) <= room {
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
	slices.SortStableFunc(trunked, func(x, y *bookEntry) int { return Natural(x.Name, y.Name) })

	k := b.frequencyColumns(tuned)
	if !k.beside {
		b.form = 1
	}
	var rows []set.Block
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
	head := func(c *set.Canvas, x, y float64) {
		base := y + 1.5*b.small
		c.TextRight(x+k.rx, base, b.smallText, b.words.Receive)
		if k.beside {
			c.TextRight(x+k.txEnd, base, b.smallText, b.words.Transmit)
			c.TextRight(x+k.tonesEnd, base, b.smallText, b.words.ToneCol)
		} else if s := b.smallText; k.name+s.Width(b.words.FiguresBelow)+b.gap() <= b.Width()-s.Width(b.words.Where) {
			c.Text(x+k.name, base, s, b.words.FiguresBelow)
		}
		c.TextRight(x+b.Width(), base, b.smallText, b.words.Where)
	}
	b.index(partFrequency, b.words.ByFrequency, b.words.Frequencies, 1, 0, head, rows)
}

// compareTuned orders by receive frequency, then by what differs.
func compareTuned(x, y *bookEntry) int {
	return cmp.Or(cmp.Compare(x.Rx, y.Rx), cmp.Compare(x.Tx, y.Tx), compareSquelch(x.RxTone, y.RxTone), compareSquelch(x.TxTone, y.TxTone), Natural(x.Name, y.Name))
}

func compareSquelch(x, y radio.Squelch) int {
	return cmp.Or(cmp.Compare(x.Kind, y.Kind), cmp.Compare(x.Value, y.Value))
}

func (b *book) frequencyColumns(all []*bookEntry) (k frequencyColumns) {
	rx, tx, tones := 0.0, b.smallText.Width(b.words.Transmit), b.smallText.Width(b.words.ToneCol)
	name, where := 0.0, 0.0
	bold := b.smallMono.In(b.keyName.Face)
	for _, e := range all {
		rx = max(rx, b.keyName.Width(receiveOf(e.Channel)))
		said, figures := b.transmitOf(e.Channel)
		if figures {
			tx = max(tx, bold.Width(said))
		} else {
			tx = max(tx, b.smallText.Width(said))
		}
		tones = max(tones, bold.Width(b.tonesOf(e.Channel)))
		name = max(name, b.keyName.Width(e.Name))
		where = max(where, b.placeStyle().Width(e.places[0].Place()))
	}
	rx = max(rx, b.smallText.Width(b.words.Receive))
	g := b.gap()
	k.rx = rx
	spare := (b.Width() - (rx + tx + tones + name + where + 4*g)) / 4
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
func (b *book) sharing(all []*bookEntry, k frequencyColumns) []set.Block {
	differ := func(of func(c *plan.Channel) string) bool {
		return slices.ContainsFunc(all, func(e *bookEntry) bool { return of(e.Channel) != of(all[0].Channel) })
	}
	transmits := differ(func(c *plan.Channel) string { s, _ := b.transmitOf(c); return s })
	tones := differ(b.tonesOf)
	rows := make([]set.Block, len(all))
	for i, e := range all {
		rows[i] = b.tunedRow(e, k, i == 0, transmits, tones)
		rows[i].Keep = i < len(all)-1
	}
	return rows
}

func (b *book) tunedRow(e *bookEntry, k frequencyColumns, first, boldTx, boldTones bool) set.Block {
	width := b.Width()
	rx := receiveOf(e.Channel)
	base := b.rowTop() + b.key
	// A name that does not go in beside the frequency stands below it.
	name, nameBase := k.name, base
	room := width - name - b.keyName.Width(e.Name)
	if room < -set.Tolerance {
		name, nameBase = 0, base+b.keyPitch()
		room = width - k.rx
		if b.keyName.Width(e.Name) > width+set.Tolerance {
			b.misfit(e.At("name"), e.Name, e.Name)
		}
	}
	said, figures := b.transmitOf(e.Channel)
	txStyle := b.smallText
	switch {
	case figures && boldTx:
		txStyle = b.smallMono.In(b.keyName.Face)
	case figures:
		txStyle = b.smallMono
	case boldTx:
		txStyle = b.smallBold
	}
	tones := b.tonesOf(e.Channel)
	toneStyle := b.smallMono
	if boldTones {
		toneStyle = toneStyle.In(b.keyName.Face)
	}
	lines := b.wrapAfter(b.placesOf(e), room-b.gap(), width-k.name, e.At("number"), e.Name)
	// Below: transmit and tones, then the places that are left.
	figuresAt, at := 0.0, nameBase+b.keyPitch()
	h := nameBase + b.keyFoot()
	if !k.beside {
		figuresAt = nameBase + b.underKey()
		at = figuresAt + b.small*set.Descender + b.key*set.Ascender + 0.08
		h = figuresAt + b.smallFoot()
		if k.name+txStyle.Width(said)+b.gap()+toneStyle.Width(tones) > width+set.Tolerance {
			b.misfit(e.At("tx_tone"), e.Name, said+" "+tones)
		}
	}
	if len(lines) > 1 {
		h = at + float64(len(lines)-2)*b.keyPitch() + b.keyFoot()
	}
	row := b.row(h, rx, func(c *set.Canvas, x, y float64) {
		if first {
			c.TextRight(x+k.rx, y+base, b.keyName, rx)
		}
		c.Text(x+name, y+nameBase, b.keyName, e.Name)
		if k.beside {
			c.TextRight(x+k.txEnd, y+base, txStyle, said)
			c.TextRight(x+k.tonesEnd, y+base, toneStyle, tones)
		} else {
			c.Text(x+k.name, y+figuresAt, txStyle, said)
			c.TextRight(x+width, y+figuresAt, toneStyle, tones)
		}
		c.LineRight(x+width, y+base, lines[0])
		c.LinesRight(x+width, y+at, b.keyPitch(), lines[1:])
	})
	if !first { // the frequency again where the row begins a page
		again := set.Drawn(h, func(c *set.Canvas, x, y float64) {
			c.TextRight(x+k.rx, y+base, b.keyMono, rx)
			row.Draw(c, x, y, h)
		})
		row.First, row.Rule = &again, nil
	}
	return row
}

// talkgroupRow is a talkgroup at the end of the numeric index.
func (b *book) talkgroupRow(e *bookEntry, first bool) set.Block {
	width := b.Width()
	nameEnd := b.keyName.Width(e.Name)
	if nameEnd > width+set.Tolerance {
		b.misfit(e.At("name"), e.Name, e.Name)
	}
	lines := b.wrapAfter(b.placesOf(e), width-nameEnd-b.gap(), width, e.At("number"), e.Name)
	about := set.Words(b.smallMono.In(b.keyName.Face), e.Talkgroup)
	about = append(about, set.Words(b.smallText, b.words.OfSystem+" "+e.System)...)
	text := b.wrap(about, width, e.At("talkgroup"), e.Name)
	top := 0.0
	if first {
		top = b.headHigh() + b.rowTop()
	}
	base := top + b.rowTop() + b.key
	last := base + float64(len(lines)-1)*b.keyPitch()
	below := last + b.underKey()
	h := below + float64(len(text)-1)*b.pitch() + b.smallFoot()
	return b.row(h, "", func(c *set.Canvas, x, y float64) {
		if first {
			c.Text(x, y+1.5*b.small+b.rowTop(), b.smallBold, b.words.Talkgroups)
		}
		c.Text(x, y+base, b.keyName, e.Name)
		c.LinesRight(x+width, y+base, b.keyPitch(), lines)
		c.Lines(x, y+below, b.pitch(), text)
	})
}

// byName lays out the index by name, in as many columns as have room for the
// longest name and a place beside it.
func (b *book) byName() {
	all := slices.Clone(b.entries)
	slices.SortStableFunc(all, func(x, y *bookEntry) int { return cmp.Or(Natural(x.Name, y.Name), compareTuned(x, y)) })
	count := map[string]int{}
	name, where := 0.0, 0.0
	for _, e := range all {
		count[e.Name]++
		name = max(name, b.keyName.Width(e.Name))
		for _, c := range e.places {
			where = max(where, b.placeStyle().Width(c.Place()))
		}
	}
	gutter := 2 * b.gap()
	columns := 1
	for n := 2; (b.Width()-float64(n-1)*gutter)/float64(n) >= name+b.gap()+where; n++ {
		columns = n
	}
	width := (b.Width() - float64(columns-1)*gutter) / float64(columns)
	rows := make([]set.Block, len(all))
	for i, e := range all {
		rows[i] = b.nameRow(e, width, count[e.Name] > 1)
	}
	b.index(partName, b.words.ByName, b.words.Names, columns, gutter, nil, rows)
}

// nameRow is a name with its places; with its figures where the name alone is
// ambiguous.
func (b *book) nameRow(e *bookEntry, width float64, ambiguous bool) set.Block {
	nameEnd := b.keyName.Width(e.Name)
	if nameEnd > width+set.Tolerance {
		b.misfit(e.At("name"), e.Name, e.Name)
	}
	lines := b.wrapAfter(b.placesOf(e), width-nameEnd-b.gap(), width, e.At("number"), e.Name)
	base := b.rowTop() + b.key
	last := base + float64(len(lines)-1)*b.keyPitch()
	h := last + b.keyFoot()
	var text []set.Line
	if ambiguous {
		text = b.wrap(b.programmed(e.Channel), width, e.At("name"), e.Name)
		h = last + b.underKey() + float64(len(text)-1)*b.pitch() + b.smallFoot()
	}
	row := b.row(h, e.Name, func(c *set.Canvas, x, y float64) {
		c.Text(x, y+base, b.keyName, e.Name)
		c.LinesRight(x+width, y+base, b.keyPitch(), lines)
		c.Lines(x, y+last+b.underKey(), b.pitch(), text)
	})
	row.Rule = func(c *set.Canvas, x, y float64) { c.Rule(x, x+width, y, hairline) }
	return row
}

// programmed are the figures of a channel in a row.
func (b *book) programmed(c *plan.Channel) []set.Piece {
	if c.Trunked() {
		return append(set.Words(b.smallMono, c.Talkgroup), set.Words(b.smallText, b.words.OfSystem+" "+c.System)...)
	}
	said, figures := b.transmitOf(c)
	s := b.smallText
	if figures {
		s = b.smallMono
	}
	out := []set.Piece{
		set.PieceOf(b.gap(), b.smallMono.Say(receiveOf(c))),
		set.PieceOf(b.gap(), s.Say(said)),
		set.PieceOf(b.gap(), b.smallMono.Say(b.tonesOf(c))),
	}
	for _, set := range b.unusual(c) {
		out = append(out, set...)
	}
	return out
}

// Natural compares names as people sort them: figures by their value.
func Natural(x, y string) int {
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
		rows  set.Pile
	}
	var sections []section
	if len(b.load.Tones) > 0 {
		sections = append(sections, section{b.words.Tones, b.toneRows()})
	}
	if len(b.load.Sites) > 0 {
		sections = append(sections, section{b.words.Sites, b.siteRows()})
	}
	for i, s := range sections {
		if i == 0 || b.Room() < between+b.barHigh(1)+s.rows.Height() {
			b.NewPage()
		} else {
			b.Y += between
		}
		if i == 0 {
			b.begins[b.part(partTones)] = b.Page().Number
		}
		b.Flow(set.Flow{Blocks: s.rows, Mark: s.title, After: func(p set.Part) { b.tab(p.Page, b.part(partTones)) },
			Head: func(p set.Part) set.Pile { return set.Pile{b.barBlock(p, 1, bookBar{name: s.title})} }})
	}
}

// toneRows are the numbered tones, each with the sites that it opens.
func (b *book) toneRows() set.Pile {
	tones := slices.Clone(b.load.Tones)
	slices.SortStableFunc(tones, func(x, y *plan.Tone) int { return cmp.Compare(x.Number, y.Number) })
	number, value := 0.0, 0.0
	for _, t := range tones {
		number = max(number, b.keyName.Width(fmt.Sprint(t.Number)))
		value = max(value, b.keyMono.Width(t.Hz.String()))
	}
	indent := number + b.keyGap() + value + b.gap()
	var rows set.Pile
	for _, t := range tones {
		var opened []string
		for _, s := range b.load.Sites {
			if s.Squelch == t.Hz {
				opened = append(opened, s.Name)
			}
		}
		said := fmt.Sprint(t.Number)
		lines := b.wrap(set.Words(b.smallText, strings.Join(opened, ", ")), b.Width()-indent, t.At("number"), said)
		base := b.rowTop() + b.key
		h := max(base+b.keyFoot(), base+float64(len(lines)-1)*b.pitch()+b.smallFoot())
		rows = append(rows, b.row(h, said, func(c *set.Canvas, x, y float64) {
			c.TextRight(x+number, y+base, b.keyName, said)
			c.TextRight(x+number+b.keyGap()+value, y+base, b.keyMono, t.Hz.String())
			c.Lines(x+indent, y+base, b.pitch(), lines)
		}))
	}
	return rows
}

// siteRows are the repeater sites: the tone that opens each, where it is, and
// the channels that it carries.
func (b *book) siteRows() set.Pile {
	places := map[string][]*bookEntry{}
	for _, e := range b.entries {
		places[e.Name] = append(places[e.Name], e)
	}
	var rows set.Pile
	for _, s := range b.load.Sites {
		rows = append(rows, b.siteOf(s, places)...)
	}
	return rows
}

// siteOf are the rows of a site: what it is, then its channels, under its name
// again where they go on overleaf.
func (b *book) siteOf(s *plan.Site, places map[string][]*bookEntry) (rows set.Pile) {
	width := b.Width()
	tone := set.LineOf(b.toneOf(s)...)
	name := b.wrapAfter(set.Words(b.keyBold, s.Name), width-tone.Wide-b.gap(), width, s.At("name"), s.Name)
	where := b.wrap(set.Words(b.smallText, b.coordinates(s)), width, s.At("latitude"), s.Name)
	channels := b.wrap(b.carried(s, places), width, s.At("channels"), s.Name)
	base := b.rowTop() + b.key
	last := base + float64(len(name)-1)*b.keyPitch()
	text := last + b.underKey()
	end := last + b.keyFoot()
	if len(where) > 0 {
		end = text + float64(len(where)-1)*b.pitch() + b.smallFoot()
	}
	title := func(c *set.Canvas, x, y float64) {
		c.LineRight(x+width, y+base, tone)
		c.Lines(x, y+base, b.keyPitch(), name)
	}
	head := b.row(end, s.Name, func(c *set.Canvas, x, y float64) {
		title(c, x, y)
		c.Lines(x, y+text, b.pitch(), where)
	})
	if len(channels) == 0 {
		return set.Pile{head}
	}
	for i, l := range channels {
		row := b.row(b.keyPitch(), s.Name, func(c *set.Canvas, x, y float64) { c.Line(x, y+b.key*set.Ascender, l) })
		if i == len(channels)-1 {
			row.H += 0.3 * b.key
		}
		over, above := title, last+b.keyFoot() // again over what goes on overleaf
		if i == 0 {                            // stays with its head
			over, above = func(c *set.Canvas, x, y float64) { head.Put(c, x, y) }, head.H
		}
		alone := row
		both := b.row(above+row.H, s.Name, func(c *set.Canvas, x, y float64) {
			over(c, x, y)
			alone.Put(c, x, y+above)
		})
		if i == 0 {
			row = both
		} else {
			row.Rule, row.First = nil, &both
		}
		rows = append(rows, row)
	}
	return rows
}

// carried are the channels of a site, with their places.
func (b *book) carried(s *plan.Site, places map[string][]*bookEntry) (out []set.Piece) {
	for _, n := range s.Channels {
		for _, e := range places[n] {
			all := b.placesOf(e)
			all[0] = set.PieceOf(all[0].Space, b.keyName.Say(n), b.placeStyle().Say(" "+e.places[0].Place()))
			all[len(all)-1].Space = 2 * b.gap()
			out = append(out, all...)
		}
	}
	return out
}

// toneOf is the tone that opens a site, by number and value.
func (b *book) toneOf(s *plan.Site) []set.Piece {
	number := s.Tone.Number
	if number == 0 {
		number = b.load.ToneNumber(s.Squelch)
	}
	out := set.Words(b.keyBold, b.words.Tone)
	if number > 0 {
		out = append(out, set.PieceOf(b.gap(), b.keyName.Say(fmt.Sprint(number))))
	}
	return append(out, set.PieceOf(0, b.keyMono.Say(s.Squelch.String())))
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
		parts = append(parts, words.Filled(b.words.Meters, "n", fmt.Sprintf("%.0f", *s.Elevation)))
	}
	return strings.Join(parts, ", ")
}
