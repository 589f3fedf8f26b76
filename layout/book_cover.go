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

// coverBlock is a piece of the cover, in order from its head.
type coverBlock struct {
	h, above float64
	draw     func(c *canvas, x, y float64)
}

// paragraph is a text of several lines in one style.
func (b *book) paragraph(s style, text string, above float64, at finding.Place) coverBlock {
	return b.lines(words(s, text), s.cap(), above, at, text)
}

func (b *book) lines(chunks []chunk, high, above float64, at finding.Place, subject string) coverBlock {
	lines, bad := wrap(chunks, b.width())
	if bad != "" {
		b.misfit(at, subject, bad)
	}
	pitch := high * (ascender + descender + 0.02)
	return coverBlock{above: above, h: high*(1+descender) + float64(max(len(lines), 1)-1)*pitch, draw: func(c *canvas, x, y float64) {
		for i, l := range lines {
			c.line(x, y+high+float64(i)*pitch, l)
		}
	}}
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
	a := &b.l.About
	p := b.turn()
	p.bare = true
	p.bookmark(a.Name, 0, 0)
	x := b.left(p)
	y := b.f.edge
	if a.Exercise {
		y = b.exercise(p, y)
	}
	y = b.colour(p, y)
	// As large as goes in: titles first give way, then the text.
	var up, low []coverBlock
	foot, ok := 0.0, false
	for _, mm := range []float64{b.key, CapKey, CapLeast} {
		for titles := 1.0; titles > 0.4 && !ok; titles -= 0.1 {
			misfits := len(b.misfits)
			up, low = b.coverText(titles*b.f.Height/148, mm)
			end := y
			for _, k := range up {
				end += k.above + k.h
			}
			foot = b.f.Height - b.f.edge - b.key
			for _, k := range low {
				foot -= k.above + k.h
			}
			if ok = end+0.5*b.key <= foot; !ok {
				b.misfits = b.misfits[:misfits]
			}
		}
	}
	if !ok {
		b.misfit(a.At("name"), a.Name, a.Name)
		return
	}
	for _, k := range up {
		k.draw(&p.canvas, x, y+k.above)
		y += k.above + k.h
	}
	p.rule(x, x+b.width(), foot, 0.5)
	foot += b.key
	for _, k := range low {
		k.draw(&p.canvas, x, foot+k.above)
		foot += k.above + k.h
	}
}

// colour draws the band in the load's colour and returns its lower edge.
func (b *book) colour(p *bookPage, y float64) float64 {
	a := &b.l.About
	x, width := b.left(p), b.width()
	high := 0.175 * b.f.Height
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
func (b *book) coverText(scale, mm float64) (up, low []coverBlock) {
	a, w := &b.l.About, b.w
	text, bold := capStyle(fonts.Regular, mm), capStyle(fonts.Bold, mm)
	none := finding.Place{}
	up = []coverBlock{
		b.paragraph(b.fitted(fonts.Bold, a.Name, 6*scale, 3), a.Name, 4.5*scale, a.At("name")),
		b.paragraph(text, w.Title, 1.5*scale, none),
		b.paragraph(text, w.EditionHead, 4*scale, none),
		b.paragraph(b.fitted(fonts.MonoBold, a.Edition, 13*scale, 1), a.Edition, 1.2*scale, a.At("edition")),
		b.paragraph(bold, filled(w.Valid, "from", w.calendar(a.Effective), "to", w.calendar(a.Expires)), 0.6*scale, none),
		b.paragraph(text, b.holds(), 0.8*scale, none),
	}
	low = []coverBlock{
		b.paragraph(b.keyBold, w.Current, 0, none),
		b.lines(b.turnTo(text), max(mm, b.key), 0.4*b.key, none, w.Current),
		b.paragraph(b.smallText, w.CautionsShort[0], b.key, none),
	}
	return up, low
}

// exercise draws the mark of invented data over the width of a page, and below
// it what it means; it returns the lower edge.
func (b *book) exercise(p *bookPage, y float64) float64 {
	h := 2.6 * b.key
	p.exerciseBand(b.left(p), y, b.width(), h, strings.ToUpper(b.w.Exercise), "")
	s := b.smallBold
	base := y + h + s.cap()*ascender + 0.4
	p.textMid(b.left(p)+b.width()/2, base, s, b.w.ExerciseNote)
	return base + s.cap()
}

// holds counts what is in the load.
func (b *book) holds() string {
	channels := 0
	for _, g := range b.l.Groups {
		channels += len(g.Channels)
	}
	return filled(b.w.Holds,
		"groups", counted(len(b.l.Groups), b.w.OneGroup, b.w.ManyGroups),
		"channels", counted(channels, b.w.OneChannel, b.w.ManyChannels))
}

// turnTo says on which channel a radio shows its edition, and the label's colour.
func (b *book) turnTo(s style) []chunk {
	var out []chunk
	var marked []*bookEntry
	for _, e := range b.entries {
		if e.EditionMark {
			marked = append(marked, e)
		}
	}
	if len(marked) > 0 {
		before, after, _ := strings.Cut(b.w.Turn, "%names%")
		out = append(out, words(s, before)...)
		for i, e := range marked {
			mark := ""
			if i+1 < len(marked) {
				mark = ","
			}
			out = append(out, chunkOf(s.space(), run{style: b.keyName, s: e.Name}),
				chunkOf(s.space(), run{style: b.keyMono, s: placeOf(e.places[0]) + mark}))
		}
		out = append(out, words(s, after)...)
	}
	return append(out, words(s, filled(b.w.Label, "colour", b.l.About.Colour))...)
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
	for i, g := range b.l.Groups {
		all = append(all, entry{b.tabs[i], g.Name, fmt.Sprint(len(g.Channels)), i, g.At("name")})
	}
	for i, name := range []string{b.w.TonesAndSites, b.w.ByFrequency, b.w.ByName, b.w.Notes, b.w.HowToRead} {
		e := entry{name: name, begins: b.part(i)}
		if i == partTones && len(b.l.Tones)+len(b.l.Sites) == 0 {
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
	bar := bookBar{name: b.w.Contents, inner: b.w.PageHead}
	b.turn()
	b.now().bookmark(b.w.Contents, 0, b.y)
	y := b.bar(b.now(), b.y, bar) + 0.5*b.key
	for _, e := range all {
		s := b.keyBold
		if e.note == "" {
			s = b.keyBold.in(fonts.Regular)
		}
		lines, bad := wrap(words(s, e.name), room)
		if bad != "" {
			b.misfit(e.at, e.name, bad)
			continue
		}
		h := b.rowTop()*2 + b.key + float64(max(len(lines), 1)-1)*b.keyPitch() + b.keyFoot()
		if y+h > b.bottom() {
			b.turn()
			y = b.bar(b.now(), b.y, bar) + 0.5*b.key
		}
		p := b.now()
		x := b.left(p)
		base := y + 2*b.rowTop() + b.key
		if e.tab != "" {
			p.bar(x, base-1.35*b.key, tabWide, 1.7*b.key)
			p.textMid(x+tabWide/2, base, b.keyName.on(White), e.tab)
		}
		end := 0.0
		for i, l := range lines {
			p.line(x+indent, base+float64(i)*b.keyPitch(), l)
			end = x + indent + lineWidth(l)
		}
		last := base + float64(max(len(lines), 1)-1)*b.keyPitch()
		right := x + b.width()
		p.add(Line{X1: end + b.gap(), Y1: last - 0.15, X2: max(end+b.gap(), right-page-b.gap()), Y2: last - 0.15, Weight: 0.2, Dash: 0.8})
		mono := b.keyMono
		b.later = append(b.later, func() {
			p.textRight(right, last, mono, fmt.Sprint(b.begins[e.begins]))
		})
		y += h
	}
	b.y = b.bottom()
}

// notes are ruled pages, one at least, and as many more as make the number of
// pages one of a booklet.
func (b *book) notes() {
	for first := true; first || (len(b.pages)+1)%4 != 0; first = false {
		p := b.turn()
		if first {
			b.begins[b.part(partNotes)] = p.number
			p.bookmark(b.w.Notes, 0, b.y)
		}
		y := b.bar(p, b.y, bookBar{name: b.w.Notes})
		pitch := 7.0 * b.key / CapKey
		for y += pitch; y <= b.bottom(); y += pitch {
			b.hair(&p.canvas, b.left(p), y)
		}
	}
}

// back is the last page, the outside of the folded book: how to read it, and
// the cautions. Its foot stays free for the note of the booklet.
func (b *book) back() {
	p := b.turn()
	p.bare = true
	b.begins[b.part(partReading)] = p.number
	p.bookmark(b.w.HowToRead, 0, b.y)
	x := b.left(p)
	y := b.f.edge
	if b.l.About.Exercise {
		y = b.exercise(p, y)
	}
	y = b.bar(p, y, bookBar{name: b.w.HowToRead}) + 0.4*b.key
	foot := b.f.Height - 2*Safe - noteRoom(capStyle(fonts.Regular, CapLeast))
	var blocks []coverBlock
	legend := func(mm float64) (bottom float64) {
		text, bold := capStyle(fonts.Regular, mm), capStyle(fonts.Bold, mm)
		air := 0.5 * mm
		blocks = nil
		put := func(chunks []chunk, above float64, subject string) {
			blocks = append(blocks, b.lines(chunks, mm, above, finding.Place{}, subject))
		}
		for _, m := range []struct {
			mark *mark
			text string
		}{{markDirect, b.w.LegendDirectNote}, {markRepeated, b.w.LegendRepeatedNote}} {
			all := words(text, m.text)
			first := all[0].runs[0]
			first.mark = m.mark
			all[0] = chunkOf(all[0].space, first)
			put(all, air, m.text)
		}
		for _, l := range b.w.Legend {
			put(append(words(bold, l[0]), words(text, l[1])...), air, l[0])
		}
		for i, caution := range b.w.BookCautions {
			above := air
			if i == 0 {
				above = 3 * air
			}
			put(words(bold, caution), above, caution)
		}
		bottom = y
		for _, k := range blocks {
			bottom += k.above + k.h
		}
		return bottom
	}
	mm, ok := largest(CapLeast, b.key, 0.05, func(mm float64) bool { return legend(mm) <= foot })
	if !ok {
		b.misfit(finding.Place{}, b.w.HowToRead, b.w.HowToRead)
	}
	legend(mm)
	for _, k := range blocks {
		k.draw(&p.canvas, x, y+k.above)
		y += k.above + k.h
	}
}
