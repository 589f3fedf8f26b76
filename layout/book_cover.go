package layout

import (
	"fmt"
	"strings"

	"golang.org/x/image/colornames"

	"slotcard/fonts"
	"slotcard/plan/finding"
)

// Cover, list of groups, notes, and how to read the book.

// CoverInk is the ink of a colour by its name, as the web names colours (SVG
// 1.1, kept by golang.org/x/image/colornames). Not ok: nobody knows the name,
// and the cover carries it in words alone.
func CoverInk(colour string) (ink Ink, ok bool) {
	c, ok := colornames.Map[strings.NewReplacer(" ", "", "-", "").Replace(strings.ToLower(colour))]
	return Ink{c.R, c.G, c.B}, ok
}

// paragraph is a text of several lines in one style, with white above it.
func (b *book) paragraph(s style, text string, above float64, at finding.Place) block {
	return b.lines(words(s, text), s.cap(), above, at, text)
}

func (b *book) lines(pieces []piece, high, above float64, at finding.Place, subject string) block {
	lines := b.wrap(pieces, b.width(), at, subject)
	pitch := high * (ascender + descender + 0.02)
	return drawn(above+high*(1+descender)+float64(max(len(lines), 1)-1)*pitch, func(c *canvas, x, y float64) {
		c.lines(x, y+above+high, pitch, lines)
	})
}

// fitted is the largest style up to most mm in which every word of
// the text fits on a line, and the text on n lines.
func (b *book) fitted(face fonts.Face, text string, most float64, n int) style {
	mm, _ := largest(CapKey, max(most, CapKey), 0.1, func(mm float64) bool {
		lines, bad := wrap(words(capStyle(face, mm), text), b.width())
		return bad == "" && len(lines) <= n
	})
	return capStyle(face, mm)
}

// cover is page 1. Its colour helps, and carries nothing: its name stands on a
// white plate, because red, orange and yellow turn white under a red lamp.
func (b *book) cover() {
	a := &b.load.About
	p := b.newPage()
	b.bare[p] = true
	p.bookmark(a.Name, 0, 0)
	x := b.leftOf(p)
	y := b.format.edge
	if a.Exercise {
		y = b.exercise(p, y)
	}
	y = b.colour(p, y)
	// As large as goes in: titles first give way, then the text.
	var up, low pile
	foot, ok := 0.0, false
	for _, mm := range []float64{b.key, CapKey, CapLeast} {
		for titles := 1.0; titles > 0.4 && !ok; titles -= 0.1 {
			misfits := len(b.misfits)
			up, low = b.coverText(titles*b.format.Height/148, mm)
			foot = b.format.Height - b.format.edge - b.key - low.height()
			if ok = y+up.height()+0.5*b.key <= foot; !ok {
				b.misfits = b.misfits[:misfits]
			}
		}
	}
	if !ok {
		b.misfit(a.At("name"), a.Name, a.Name)
		return
	}
	up.put(&p.canvas, x, y)
	p.rule(x, x+b.width(), foot, 0.5)
	low.put(&p.canvas, x, foot+b.key)
}

// colour draws the band in the load's colour and returns its lower edge.
func (b *book) colour(p *page, y float64) float64 {
	a := &b.load.About
	x, width := b.leftOf(p), b.width()
	high := 0.175 * b.format.Height
	const frame = 0.5
	ink, known := CoverInk(a.Colour)
	p.add(Box{X: x + frame/2, Y: y + frame/2, W: width - frame, H: high - frame, Fill: known, FillInk: ink, Stroke: frame})
	name := strings.ToUpper(a.Colour)
	mm, ok := largest(CapKey, high/4, 0.1, func(mm float64) bool {
		return capStyle(fonts.Bold, mm).width(name)+3*mm <= width-2
	})
	if !ok {
		b.misfit(a.At("color"), a.Colour, name)
	}
	s := capStyle(fonts.Bold, mm)
	wide, plate := s.width(name)+1.6*mm, 2*mm
	p.add(Box{X: x + (width-wide)/2, Y: y + (high-plate)/2, W: wide, H: plate, Fill: true, FillInk: White, Stroke: frame})
	p.textMid(x+width/2, y+(high+s.cap())/2, s, name)
	return y + high
}

// coverText are the texts below the band, and those at the foot of the cover:
// titles larger by a scale, the rest in capitals of mm.
func (b *book) coverText(scale, mm float64) (up, low pile) {
	a, w := &b.load.About, b.words
	text, bold := capStyle(fonts.Regular, mm), capStyle(fonts.Bold, mm)
	none := finding.Place{}
	up = pile{
		b.paragraph(b.fitted(fonts.Bold, a.Name, 6*scale, 3), a.Name, 4.5*scale, a.At("name")),
		b.paragraph(text, w.Title, 1.5*scale, none),
		b.paragraph(text, w.EditionHead, 4*scale, none),
		b.paragraph(b.fitted(fonts.MonoBold, a.Edition, 13*scale, 1), a.Edition, 1.2*scale, a.At("edition")),
		b.paragraph(bold, filled(w.Valid, "from", w.calendar(a.Effective), "to", w.calendar(a.Expires)), 0.6*scale, none),
		b.paragraph(text, b.holds(), 0.8*scale, none),
	}
	low = pile{
		b.paragraph(b.keyBold, w.Current, 0, none),
		b.lines(b.turnTo(text), max(mm, b.key), 0.4*b.key, none, w.Current),
		b.paragraph(b.smallText, w.CautionsShort[0], b.key, none),
	}
	return up, low
}

// exercise draws the mark of invented data over the width of a page, and below
// it what it means; it returns the lower edge.
func (b *book) exercise(p *page, y float64) float64 {
	h := 2.6 * b.key
	p.exerciseBand(b.leftOf(p), y, b.width(), h, strings.ToUpper(b.words.Exercise), "")
	s := b.smallBold
	base := y + h + s.cap()*ascender + 0.4
	p.textMid(b.leftOf(p)+b.width()/2, base, s, b.words.ExerciseNote)
	return base + s.cap()
}

// holds counts what is in the load.
func (b *book) holds() string {
	channels := 0
	for _, g := range b.load.Groups {
		channels += len(g.Channels)
	}
	return filled(b.words.Holds,
		"groups", counted(len(b.load.Groups), b.words.OneGroup, b.words.ManyGroups),
		"channels", counted(channels, b.words.OneChannel, b.words.ManyChannels))
}

// turnTo says on which channel a radio shows its edition, and the label's colour.
func (b *book) turnTo(s style) []piece {
	var out []piece
	var marked []*bookEntry
	for _, e := range b.entries {
		if e.EditionMark {
			marked = append(marked, e)
		}
	}
	if len(marked) > 0 {
		before, after, _ := strings.Cut(b.words.Turn, "%names%")
		out = append(out, words(s, before)...)
		for i, e := range marked {
			mark := ""
			if i+1 < len(marked) {
				mark = ","
			}
			out = append(out, pieceOf(s.space(), b.keyName.say(e.Name)),
				pieceOf(s.space(), b.keyMono.say(placeOf(e.places[0])+mark)))
		}
		out = append(out, words(s, after)...)
	}
	return append(out, words(s, filled(b.words.Label, "colour", b.load.About.Colour))...)
}

// contents lists the groups and what stands behind them, with thumb marks and
// pages.
func (b *book) contents() {
	type entry struct {
		tab, name, note string
		begins          int
		at              finding.Place
	}
	var all []entry
	for i, g := range b.load.Groups {
		all = append(all, entry{b.tabs[i], g.Name, fmt.Sprint(len(g.Channels)), i, g.At("name")})
	}
	for i, name := range []string{b.words.TonesAndSites, b.words.ByFrequency, b.words.ByName, b.words.Notes, b.words.HowToRead} {
		e := entry{name: name, begins: b.part(i)}
		if i == partTones && len(b.load.Tones)+len(b.load.Sites) == 0 {
			continue
		}
		if e.begins < len(b.tabs) {
			e.tab = b.tabs[e.begins]
		}
		all = append(all, e)
	}
	tabWide := 0.0
	for _, t := range b.tabs {
		tabWide = max(tabWide, b.keyName.width(t))
	}
	tabWide += 1.4 * b.key
	page := b.keyMono.width("000")
	indent := tabWide + b.keyGap()
	room := b.width() - indent - page - b.gap()
	var rows []block
	for _, e := range all {
		s := b.keyBold
		if e.note == "" {
			s = b.keyBold.in(fonts.Regular)
		}
		lines := b.wrapAfter(words(s, e.name), room, room, e.at, e.name)
		more := float64(len(lines)-1) * b.keyPitch()
		rows = append(rows, drawn(b.rowTop()*2+b.key+more+b.keyFoot(), func(c *canvas, x, y float64) {
			base := y + 2*b.rowTop() + b.key
			if e.tab != "" {
				c.bar(x, base-1.35*b.key, tabWide, 1.7*b.key)
				c.textMid(x+tabWide/2, base, b.keyName.on(White), e.tab)
			}
			c.lines(x+indent, base, b.keyPitch(), lines)
			from := x + indent + lines[len(lines)-1].wide + b.gap()
			last, right, mono := base+more, x+b.width(), b.keyMono
			c.add(Line{X1: from, Y1: last - 0.15, X2: max(from, right-page-b.gap()), Y2: last - 0.15, Weight: 0.2, Dash: 0.8})
			b.later = append(b.later, func() { c.textRight(right, last, mono, fmt.Sprint(b.begins[e.begins])) })
		}))
	}
	b.flow(flow{blocks: rows, begin: true, mark: b.words.Contents, head: func(p part) pile {
		return pile{b.barBlock(p, 1, bookBar{name: b.words.Contents, inner: b.words.PageHead}), {h: 0.5 * b.key}}
	}})
}

// notes are ruled pages, one at least, and as many more as make the number of
// pages one of a booklet.
func (b *book) notes() {
	for first := true; first || (len(b.pages)+1)%4 != 0; first = false {
		p := b.newPage()
		if first {
			b.begins[b.part(partNotes)] = p.number
			p.bookmark(b.words.Notes, 0, b.y)
		}
		y := b.bar(p, b.y, bookBar{name: b.words.Notes})
		pitch := 7.0 * b.key / CapKey
		for y += pitch; y <= b.bottom; y += pitch {
			b.hair(&p.canvas, b.leftOf(p), y)
		}
	}
}

// back is the last page, the outside of the folded book: how to read it, and
// the cautions. Its foot stays free for the note of the booklet.
func (b *book) back() {
	p := b.newPage()
	b.bare[p] = true
	b.begins[b.part(partReading)] = p.number
	p.bookmark(b.words.HowToRead, 0, b.y)
	x := b.leftOf(p)
	y := b.format.edge
	if b.load.About.Exercise {
		y = b.exercise(p, y)
	}
	y = b.bar(p, y, bookBar{name: b.words.HowToRead}) + 0.4*b.key
	foot := b.format.Height - 2*Safe - noteRoom(capStyle(fonts.Regular, CapLeast))
	var blocks pile
	legend := func(mm float64) (bottom float64) {
		text, bold := capStyle(fonts.Regular, mm), capStyle(fonts.Bold, mm)
		air := 0.5 * mm
		blocks = nil
		put := func(chunks []piece, above float64, subject string) {
			blocks = append(blocks, b.lines(chunks, mm, above, finding.Place{}, subject))
		}
		for _, m := range []struct {
			mark *mark
			text string
		}{{markDirect, b.words.LegendDirectNote}, {markRepeated, b.words.LegendRepeatedNote}} {
			all := words(text, m.text)
			first := all[0].runs[0]
			first.mark = m.mark
			all[0] = pieceOf(all[0].space, first)
			put(all, air, m.text)
		}
		for _, l := range b.words.Legend {
			put(append(words(bold, l[0]), words(text, l[1])...), air, l[0])
		}
		for i, caution := range b.words.BookCautions {
			above := air
			if i == 0 {
				above = 3 * air
			}
			put(words(bold, caution), above, caution)
		}
		return y + blocks.height()
	}
	mm, ok := largest(CapLeast, b.key, 0.05, func(mm float64) bool { return legend(mm) <= foot })
	if !ok {
		b.misfit(finding.Place{}, b.words.HowToRead, b.words.HowToRead)
	}
	legend(mm)
	blocks.put(&p.canvas, x, y)
}
