package book

import (
	"fmt"

	"slotcard/layout/set"
	"slotcard/plan"
	"slotcard/plan/finding"
	"slotcard/plan/radio"
)

// The channels of each group: on the first line number, display name, and as
// many of the figures as every channel has room for; below, what it is for.

// channelColumns are the columns of the first line, the same in all groups.
type channelColumns struct {
	form              int     // see below
	number, name      float64 // widths
	rx, tx, tones     float64
	rxEnd, txEnd, end float64 // right edges of the figures, from the left of the page
}

// Forms of a channel's row, the widest first.
const (
	figuresBeside = iota // number, name, receive, transmit, tones
	tonesBelow           // tones on the second line
	figuresBelow         // number and name; all figures on the second line
)

// transmitOf is what the column for transmit says.
func (b *book) transmitOf(c *plan.Channel) (said string, figures bool) {
	switch {
	case c.Trunked():
		return "", true
	case c.ReceiveOnly:
		return b.words.NoTransmit, false
	case !c.Repeated():
		return b.words.Direct, false
	}
	return c.Tx.String(), true
}

func receiveOf(c *plan.Channel) string { return c.Figures(c.TxTone).Rx }

func (b *book) tonesOf(c *plan.Channel) string {
	if c.Trunked() {
		return ""
	}
	f := c.Figures(c.TxTone)
	if c.TxTone == radio.Site {
		f.TxTone = b.words.SiteTone
	}
	return f.Tones()
}

// figureWidths are the widths of the three columns of figures.
func (b *book) figureWidths() (rx, tx, tones float64) {
	rx, tx, tones = b.smallText.Width(b.words.Receive), b.smallText.Width(b.words.Transmit), b.smallText.Width(b.words.ToneCol)
	for _, e := range b.entries {
		rx = max(rx, b.smallMono.Width(receiveOf(e.Channel)))
		said, figures := b.transmitOf(e.Channel)
		if figures {
			tx = max(tx, b.smallMono.Width(said))
		} else {
			tx = max(tx, b.smallText.Width(said))
		}
		tones = max(tones, b.smallMono.Width(b.tonesOf(e.Channel)))
	}
	return rx, tx, tones
}

func (b *book) channelColumns() channelColumns {
	var k channelColumns
	k.rx, k.tx, k.tones = b.figureWidths()
	for _, e := range b.entries {
		for _, c := range e.places {
			k.number = max(k.number, b.keyName.Width(fmt.Sprint(c.Number)))
			k.name = max(k.name, b.keyName.Width(c.Name))
		}
	}
	g, w := b.gap(), b.Width()
	key := k.number + b.keyGap() + k.name
	switch {
	case key+3*g+k.rx+k.tx+k.tones <= w:
		k.end = w
		spare := (w - (key + 3*g + k.rx + k.tx + k.tones)) / 3
		k.rxEnd = key + g + spare + k.rx
		k.txEnd = k.rxEnd + g + spare + k.tx
	case key+2*g+k.rx+k.tx <= w:
		k.form = tonesBelow
		k.end, k.txEnd = w, w
		k.rxEnd = w - k.tx - g - (w-key-2*g-k.rx-k.tx)/2
	default:
		k.form = figuresBelow
		k.end = w
		k.txEnd = w - k.tones - g
		k.rxEnd = k.txEnd - k.tx - g
		if k.rxEnd < k.rx {
			for _, e := range b.entries { // figures of a page narrower than any
				b.misfit(e.At("rx"), e.Name, receiveOf(e.Channel))
			}
		}
	}
	return k
}

// groups lays out all groups.
func (b *book) groups() {
	b.columns = b.channelColumns()
	b.form = b.columns.form
	b.NewPage()
	for _, g := range b.load.Groups {
		b.group(g)
	}
}

// fewest rows of a group that goes on overleaf stand where it begins.
const fewest = 4

// breaks tells whether a group of a height goes over several pages in any case.
func (b *book) breaks(rows []set.Block, high float64) bool {
	return len(rows) > fewest && high > b.Bottom-b.format.edge
}

// white between two groups on a page, or between tones and sites, mm.
const between = 3

// group lays out the channels of a group: under the one before where they fit
// there as a whole, or fit on no page; else from a new page.
func (b *book) group(g *plan.Group) {
	k := b.columns
	var rows set.Pile
	for _, c := range g.Channels {
		row := b.channelRow(c, k)
		row.What = set.Misfit{At: c.At("remarks"), Subject: c.Name, Text: c.Remarks}
		rows = append(rows, row)
	}
	if len(rows) == 0 {
		rows = append(rows, b.sentence(b.words.NoChannels))
	}
	bar := bookBar{number: fmt.Sprint(g.Number), name: g.Name, at: g.At("name")}
	lines, _ := b.barLines(bar)
	top := b.barHigh(len(lines)) + b.headHigh()
	all, some := top+rows.Height(), top+rows[:min(fewest, len(rows))].Height() // of all rows, and of so many as may begin a group
	switch {
	case len(b.thumbs[b.Page()]) == 0: // a fresh page
	case b.Room() >= between+all, b.breaks(rows, all) && b.Room() >= between+some:
		b.Y += between
	default:
		b.NewPage()
	}
	b.begins[b.tabOf[g]] = b.Page().Number
	b.Flow(set.Flow{Blocks: rows, Mark: fmt.Sprintf("%d %s", g.Number, g.Name),
		Head: func(p set.Part) set.Pile {
			bar := bar
			if n := len(p.Blocks); p.Again || n < len(rows) {
				bar.inner = p.Blocks[0].Key + "–" + p.Blocks[n-1].Key
			}
			return set.Pile{b.barBlock(p, len(lines), bar), set.Drawn(b.headHigh(), func(c *set.Canvas, x, y float64) { b.heads(c, x, y, k) })}
		},
		After: func(p set.Part) { b.tab(p.Page, b.tabOf[g]) }})
}

// heads names the columns of figures.
func (b *book) heads(c *set.Canvas, x, y float64, k channelColumns) {
	base := y + 0.5*b.small + b.small
	s := b.smallText
	switch {
	case k.form != tonesBelow:
		c.TextRight(x+k.end, base, s, b.words.ToneCol)
	case s.Width(b.words.TonesBelow)+b.gap() <= k.rxEnd-s.Width(b.words.Receive):
		c.Text(x, base, s, b.words.TonesBelow)
	}
	c.TextRight(x+k.rxEnd, base, s, b.words.Receive)
	c.TextRight(x+k.txEnd, base, s, b.words.Transmit)
}

// figures draws receive, transmit and, unless they go below, tones.
func (b *book) figures(cv *set.Canvas, x, base float64, c *plan.Channel, k channelColumns) {
	cv.TextRight(x+k.rxEnd, base, b.smallMono, receiveOf(c))
	said, figures := b.transmitOf(c)
	s := b.smallText
	if figures {
		s = b.smallMono
	}
	cv.TextRight(x+k.txEnd, base, s, said)
	if k.form != tonesBelow {
		cv.TextRight(x+k.end, base, b.smallMono, b.tonesOf(c))
	}
}

func (b *book) channelRow(c *plan.Channel, k channelColumns) set.Block {
	indent := k.number + b.keyGap()
	width := b.Width()
	if b.keyName.Width(c.Name) > width-indent+set.Tolerance {
		b.misfit(c.At("name"), c.Name, c.Name)
	}
	first := width - indent
	tones := ""
	if k.form == tonesBelow && !c.Trunked() {
		tones = b.tonesOf(c)
		first -= b.smallMono.Width(tones) + b.gap()
	}
	lines := b.wrapAfter(b.about(c), first, width-indent, c.At("remarks"), c.Name)
	base := b.rowTop() + b.key
	second := base + b.underKey()
	text := second
	if k.form == figuresBelow && !c.Trunked() {
		text += b.pitch()
	}
	if lines[0].Empty() && tones == "" {
		lines = lines[1:]
	}
	h := text + float64(len(lines)-1)*b.pitch() + b.smallFoot()
	return b.row(h, fmt.Sprint(c.Number), func(cv *set.Canvas, x, y float64) {
		cv.TextRight(x+k.number, y+base, b.keyName, fmt.Sprint(c.Number))
		cv.Text(x+indent, y+base, b.keyName, c.Name)
		if k.form == figuresBelow {
			b.figures(cv, x, y+second, c, k)
		} else {
			b.figures(cv, x, y+base, c, k)
		}
		cv.TextRight(x+width, y+second, b.smallMono, tones)
		cv.Lines(x+indent, y+text, b.pitch(), lines)
	})
}

// row is a row of a page, with a hairline over it unless it is the first.
func (b *book) row(h float64, key string, draw func(c *set.Canvas, x, y float64)) set.Block {
	row := set.Drawn(h, draw)
	row.Key, row.What = key, set.Misfit{Subject: key, Text: key}
	row.Rule = b.hair
	return row
}

// about says what the figures do not: what a channel is for, what is not usual
// in it, and the sites that repeat it.
func (b *book) about(c *plan.Channel) []set.Piece {
	use := b.smallBold.Say(b.words.Uses[c.Use]) // its mark as on the cards
	switch {
	case c.Trunked(), c.ReceiveOnly:
	case c.Repeated():
		use.Mark = set.MarkRepeated
	default:
		use.Mark = set.MarkDirect
	}
	space := b.smallText.Space()
	all := []set.Piece{set.PieceOf(2*space, use)}
	if c.ReceiveOnly {
		all = append(all, set.PieceOf(2*space, set.Run{Style: b.smallBold, S: b.words.ReceiveOnly, Plate: true}))
	}
	sets := b.unusual(c)
	if c.Use == radio.Guard {
		sets = append(sets, set.Words(b.smallText, b.words.GuardRest))
	}
	if c.EditionMark {
		sets = append(sets, set.Words(b.smallBold, b.words.ShowsEdition))
	}
	if c.Trunked() {
		group := set.Words(b.smallText, b.words.Talkgroup)
		group = append(group, set.Words(b.smallMono.In(b.keyName.Face), c.Talkgroup)...)
		group = append(group, set.Words(b.smallText, b.words.OfSystem+" "+c.System)...)
		sets = append(sets, group)
	}
	if c.TxTone == radio.Site {
		for _, s := range b.load.SitesOf(c) {
			sets = append(sets, append(set.Words(b.smallText, s.Name), b.whole(b.words.Openers(nil, b.load.ToneNumber(s.Squelch), s.Squelch)[0])))
		}
	} else if n := b.load.ToneNumber(c.TxTone); n > 0 {
		sets = append(sets, []set.Piece{b.whole(fmt.Sprintf("%s %d", b.words.Tone, n))})
	}
	if c.Remarks != "" {
		sets = append(sets, set.Words(b.smallText, plan.Unbraced(c.Remarks)))
	}
	for i, set := range sets {
		mark := ","
		if c.Remarks != "" && i == len(sets)-2 {
			mark = ";"
		}
		if i < len(sets)-1 {
			set[len(set)-1] = closed(set[len(set)-1], mark)
		}
		all = append(all, set...)
	}
	return all
}

// whole is a text of small type that stays on one line.
func (b *book) whole(text string) set.Piece {
	return set.PieceOf(b.smallText.Space(), b.smallText.Say(text))
}

// unusual are the words for what is not analog and narrow.
func (b *book) unusual(c *plan.Channel) (sets [][]set.Piece) {
	if c.Mode != radio.Analog {
		sets = append(sets, set.Words(b.smallBold, b.words.ModeWords[c.Mode]))
	}
	if c.Width != radio.Narrow {
		sets = append(sets, set.Words(b.smallBold, b.words.WidthWords[c.Width]))
	}
	return sets
}

// closed is a piece with a mark of punctuation at its end.
func closed(c set.Piece, mark string) set.Piece {
	last := c.Runs[len(c.Runs)-1]
	last.S += mark
	return set.PieceOf(c.Space, append(c.Runs[:len(c.Runs)-1:len(c.Runs)-1], last)...)
}

// sentence is a row with a line of small text.
func (b *book) sentence(text string) set.Block {
	lines := b.wrap(set.Words(b.smallText, text), b.Width(), finding.Place{}, text)
	base := b.rowTop() + b.small
	return set.Drawn(base+float64(len(lines)-1)*b.pitch()+b.smallFoot(), func(c *set.Canvas, x, y float64) { c.Lines(x, y+base, b.pitch(), lines) })
}
