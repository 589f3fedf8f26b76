package layout

import (
	"cmp"
	"fmt"
	"strings"

	"golang.org/x/image/colornames"

	"slotcard/fonts"
	"slotcard/plan"
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

// fitted is the largest style between most and least mm in which every word of
// the text fits on a line, and the text on n lines.
func (b *book) fitted(face fonts.Face, text string, most, least float64, n int) style {
	mm, _ := largest(least, most, 0.1, func(mm float64) bool {
		lines, bad := wrap(words(capStyle(face, mm), text), b.width())
		return bad == "" && len(lines) <= n
	})
	return capStyle(face, mm)
}

// cover is page 1. Its colour helps, and carries nothing: its name stands on a
// white plate, because red, orange and yellow turn white under a red lamp.
func (b *book) cover() {
	a := &b.l.About
	w := b.w
	p := b.turn()
	p.bare = true
	p.bookmark(a.Name, 0, 0)
	x, width := b.left(p), b.width()
	scale := b.f.Height / 148
	y := b.f.edge
	if a.Exercise {
		h := 2.6 * b.key
		b.exercise(p, y, h)
		y += h + 1.5*scale
	}
	high := 26 * scale
	const frame = 0.5
	ink, known := CoverInk(a.Colour)
	p.add(Box{X: x + frame/2, Y: y + frame/2, W: width - frame, H: high - frame, Fill: known, FillInk: ink, Stroke: frame})
	name := strings.ToUpper(a.Colour)
	label := capStyle(fonts.Bold, b.key)
	if mm, ok := largest(b.key, 7*scale, 0.1, func(mm float64) bool {
		s := capStyle(fonts.Bold, mm)
		return s.width(name)+3*s.cap() <= width-4
	}); ok {
		label = capStyle(fonts.Bold, mm)
	} else {
		b.misfit(a.At("colour"), a.Colour, name)
	}
	plate := label.cap() * 2
	wide := label.width(name) + 1.6*label.cap()
	p.add(Box{X: x + (width-wide)/2, Y: y + (high-plate)/2, W: wide, H: plate, Fill: true, FillInk: White, Stroke: frame})
	p.textMid(x+width/2, y+(high+label.cap())/2, label, name)
	y += high

	edition := b.fitted(fonts.MonoBold, a.Edition, 13*scale, b.key, 1)
	blocks := []coverBlock{
		b.paragraph(b.fitted(fonts.Bold, a.Name, 6*scale, b.key, 3), a.Name, 5*scale, a.At("name")),
		b.paragraph(b.smallText, w.Title, 1.5*scale, finding.Place{}),
		b.paragraph(b.smallText, w.EditionHead, 5*scale, finding.Place{}),
		b.paragraph(edition, a.Edition, 1.2*scale, a.At("edition")),
		b.paragraph(b.smallBold, filled(w.Valid, "from", w.calendar(a.Effective), "to", w.calendar(a.Expires)), 1.5*scale, finding.Place{}),
		b.paragraph(b.smallText, b.holds(), 0.8*scale, finding.Place{}),
	}
	low := []coverBlock{
		b.paragraph(b.keyBold, w.Current, 0, finding.Place{}),
		b.lines(b.turnTo(), b.key, 0.5*b.key, finding.Place{}, w.Current),
		b.lines(words(b.smallText, w.CautionsShort[0]), b.small, 1.2*b.key, finding.Place{}, w.CautionsShort[0]),
	}
	for _, k := range blocks {
		k.draw(&p.canvas, x, y+k.above)
		y += k.above + k.h
	}
	foot := b.f.Height - b.f.edge
	for _, k := range low {
		foot -= k.above + k.h
	}
	foot -= b.key
	if foot < y+b.key {
		b.misfit(a.At("name"), a.Name, a.Name)
	}
	p.rule(x, x+width, foot, 0.5)
	foot += b.key
	for _, k := range low {
		k.draw(&p.canvas, x, foot+k.above)
		foot += k.above + k.h
	}
}

// exercise draws the mark of invented data over the width of a page.
func (b *book) exercise(p *bookPage, y, h float64) {
	word, note := strings.ToUpper(b.w.Exercise), b.w.ExerciseNote
	if style := capStyle(fonts.Bold, CapKey); b.width() < 3*style.width(word)+2*h {
		note = ""
	}
	p.exerciseBand(b.left(p), y, b.width(), h, word, note)
	if note == "" {
		return
	}
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
func (b *book) turnTo() []chunk {
	var out []chunk
	var marked []*bookEntry
	for _, e := range b.entries {
		if e.EditionMark {
			marked = append(marked, e)
		}
	}
	if len(marked) > 0 {
		before, after, _ := strings.Cut(b.w.Turn, "%names%")
		out = append(out, words(b.smallText, before)...)
		for i, e := range marked {
			place := " " + placeOf(e.places[0])
			out = append(out, chunkOf(b.smallText.space(), run{style: b.keyName, s: e.Name}))
			mark := ""
			if i+1 < len(marked) {
				mark = ","
			}
			out = append(out, chunkOf(b.smallText.space(), run{style: b.keyMono, s: strings.TrimSpace(place) + mark}))
		}
		after = strings.TrimSpace(after)
		if rest := strings.TrimLeft(after, ":,. "); rest != after {
			out[len(out)-1] = closed(out[len(out)-1], strings.TrimSpace(after[:len(after)-len(rest)]))
			after = rest
		}
		out = append(out, words(b.smallText, after)...)
	}
	return append(out, words(b.smallText, filled(b.w.Label, "colour", b.l.About.Colour))...)
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
	top := b.barHigh(1)
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
		b.later = append(b.later, func() {
			p.textRight(right, last, b.keyMono, fmt.Sprint(b.begins[e.begins]))
		})
		y += h
	}
	_ = top
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
		h := 2 * b.key
		b.exercise(p, y, h)
		y += h + 1.5
	}
	y = b.bar(p, y, bookBar{name: b.w.HowToRead}) + 0.4*b.key
	put := func(chunks []chunk, above float64, subject string) {
		k := b.lines(chunks, b.small, above, finding.Place{}, subject)
		k.draw(&p.canvas, x, y+k.above)
		y += k.above + k.h
	}
	air := 0.35 * b.key
	for _, m := range []struct {
		mark *mark
		text string
	}{{markDirect, b.w.LegendDirectNote}, {markRepeated, b.w.LegendRepeatedNote}} {
		all := words(b.smallText, m.text)
		all[0].runs[0].mark = m.mark
		all[0] = chunkOf(all[0].space, all[0].runs...)
		put(all, air, m.text)
	}
	for _, l := range b.w.Legend {
		put(append(words(b.smallBold, l[0]), words(b.smallText, l[1])...), air, l[0])
	}
	y += air
	for _, caution := range b.w.BookCautions {
		put(words(b.smallBold, caution), air, caution)
	}
	if y > b.f.Height-2*Safe-noteRoom(capStyle(fonts.Regular, CapLeast)) {
		b.misfit(finding.Place{}, b.w.HowToRead, b.w.HowToRead)
	}
}

var _ = cmp.Or[int]
var _ plan.Date
