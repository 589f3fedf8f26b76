package book

import (
	"fmt"
	"strings"

	"slotcard/fonts"
	"slotcard/layout"
	"slotcard/layout/set"
	"slotcard/layout/words"
	"slotcard/plan/finding"
)

// Cover, list of groups, notes, and how to read the book.

// paragraph is a text of several lines in one style, with white above it.
func (b *book) paragraph(s set.Style, text string, above float64, at finding.Place) set.Block {
	return b.lines(set.Words(s, text), s.Cap(), above, at, text)
}

func (b *book) lines(pieces []set.Piece, high, above float64, at finding.Place, subject string) set.Block {
	lines := b.wrap(pieces, b.Width(), at, subject)
	pitch := high * (set.Ascender + set.Descender + 0.02)
	return set.Drawn(above+high*(1+set.Descender)+float64(max(len(lines), 1)-1)*pitch, func(c *set.Canvas, x, y float64) {
		c.Lines(x, y+above+high, pitch, lines)
	})
}

// fitted is the largest style up to most mm in which every word of
// the text fits on a line, and the text on n lines.
func (b *book) fitted(face fonts.Face, text string, most float64, n int) set.Style {
	mm, _ := set.Largest(layout.CapKey, max(most, layout.CapKey), 0.1, func(mm float64) bool {
		lines, bad := set.Wrap(set.Words(set.CapStyle(face, mm), text), b.Width())
		return bad == "" && len(lines) <= n
	})
	return set.CapStyle(face, mm)
}

// cover is page 1. Its color helps, and carries nothing: its name stands on a
// white plate, because red, orange and yellow turn white under a red lamp.
func (b *book) cover() {
	a := &b.load.About
	p := b.NewPage()
	b.bare[p] = true
	p.Bookmark(a.Name, 0, 0)
	x := b.leftOf(p)
	y := b.format.edge
	if a.Exercise {
		y = b.exercise(p, y)
	}
	y = b.colour(p, y)
	// As large as goes in: titles first give way, then the text.
	var up, low set.Pile
	foot, ok := 0.0, false
	for _, mm := range []float64{b.key, layout.CapKey, layout.CapLeast} {
		for titles := 1.0; titles > 0.4 && !ok; titles -= 0.1 {
			misfits := len(b.Misfits)
			up, low = b.coverText(titles*b.format.Height/148, mm)
			foot = b.format.Height - b.format.edge - b.key - low.Height()
			if ok = y+up.Height()+0.5*b.key <= foot; !ok {
				b.Misfits = b.Misfits[:misfits]
			}
		}
	}
	if !ok {
		b.misfit(a.At("name"), a.Name, a.Name)
		return
	}
	up.Put(&p.Canvas, x, y)
	p.Rule(x, x+b.Width(), foot, 0.5)
	low.Put(&p.Canvas, x, foot+b.key)
}

// color draws the band in the load's color and returns its lower edge.
func (b *book) colour(p *set.Page, y float64) float64 {
	a := &b.load.About
	x, width := b.leftOf(p), b.Width()
	high := 0.175 * b.format.Height
	const frame = 0.5
	ink, known := set.CoverInk(a.Colour)
	p.Add(layout.Box{X: x + frame/2, Y: y + frame/2, W: width - frame, H: high - frame, Fill: known, FillInk: ink, Stroke: frame})
	name := strings.ToUpper(a.Colour)
	mm, ok := set.Largest(layout.CapKey, high/4, 0.1, func(mm float64) bool {
		return set.CapStyle(fonts.Bold, mm).Width(name)+3*mm <= width-2
	})
	if !ok {
		b.misfit(a.At("color"), a.Colour, name)
	}
	s := set.CapStyle(fonts.Bold, mm)
	wide, plate := s.Width(name)+1.6*mm, 2*mm
	p.Add(layout.Box{X: x + (width-wide)/2, Y: y + (high-plate)/2, W: wide, H: plate, Fill: true, FillInk: layout.White, Stroke: frame})
	p.TextMid(x+width/2, y+(high+s.Cap())/2, s, name)
	return y + high
}

// coverText are the texts below the band, and those at the foot of the cover:
// titles larger by a scale, the rest in capitals of mm.
func (b *book) coverText(scale, mm float64) (up, low set.Pile) {
	a, w := &b.load.About, b.words
	text, bold := set.CapStyle(fonts.Regular, mm), set.CapStyle(fonts.Bold, mm)
	none := finding.Place{}
	up = set.Pile{
		b.paragraph(b.fitted(fonts.Bold, a.Name, 6*scale, 3), a.Name, 4.5*scale, a.At("name")),
		b.paragraph(text, w.Title, 1.5*scale, none),
		b.paragraph(text, w.EditionHead, 4*scale, none),
		b.paragraph(b.fitted(fonts.MonoBold, a.Edition, 13*scale, 1), a.Edition, 1.2*scale, a.At("edition")),
		b.paragraph(bold, words.Filled(w.Valid, "from", w.Calendar(a.Effective), "to", w.Calendar(a.Expires)), 0.6*scale, none),
		b.paragraph(text, b.holds(), 0.8*scale, none),
	}
	low = set.Pile{
		b.paragraph(b.keyBold, w.Current, 0, none),
		b.lines(b.turnTo(text), max(mm, b.key), 0.4*b.key, none, w.Current),
		b.paragraph(b.smallText, w.CautionsShort[0], b.key, none),
	}
	return up, low
}

// exercise draws the mark of invented data over the width of a page, and below
// it what it means; it returns the lower edge.
func (b *book) exercise(p *set.Page, y float64) float64 {
	h := 2.6 * b.key
	p.ExerciseBand(b.leftOf(p), y, b.Width(), h, strings.ToUpper(b.words.Exercise), "")
	s := b.smallBold
	base := y + h + s.Cap()*set.Ascender + 0.4
	p.TextMid(b.leftOf(p)+b.Width()/2, base, s, b.words.ExerciseNote)
	return base + s.Cap()
}

// holds counts what is in the load.
func (b *book) holds() string {
	channels := 0
	for _, g := range b.load.Groups {
		channels += len(g.Channels)
	}
	return words.Filled(b.words.Holds,
		"groups", words.Counted(len(b.load.Groups), b.words.OneGroup, b.words.ManyGroups),
		"channels", words.Counted(channels, b.words.OneChannel, b.words.ManyChannels))
}

// turnTo says on which channel a radio shows its edition, and the label's color.
func (b *book) turnTo(s set.Style) []set.Piece {
	var out []set.Piece
	var marked []*bookEntry
	for _, e := range b.entries {
		if e.EditionMark {
			marked = append(marked, e)
		}
	}
	if len(marked) > 0 {
		before, after, _ := strings.Cut(b.words.Turn, "%names%")
		out = append(out, set.Words(s, before)...)
		for i, e := range marked {
			mark := ""
			if i+1 < len(marked) {
				mark = ","
			}
			out = append(out, set.PieceOf(s.Space(), b.keyName.Say(e.Name)),
				set.PieceOf(s.Space(), b.keyMono.Say(e.places[0].Place()+mark)))
		}
		out = append(out, set.Words(s, after)...)
	}
	return append(out, set.Words(s, words.Filled(b.words.Label, "color", b.load.About.Colour))...)
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
		if i == partTones && len(b.load.Tones)+len(b.load.Sites) == 0 || i == partNotes && b.noNotes {
			continue
		}
		if e.begins < len(b.tabs) {
			e.tab = b.tabs[e.begins]
		}
		all = append(all, e)
	}
	tabWide := 0.0
	for _, t := range b.tabs {
		tabWide = max(tabWide, b.keyName.Width(t))
	}
	tabWide += 1.4 * b.key
	page := b.keyMono.Width("000")
	indent := tabWide + b.keyGap()
	room := b.Width() - indent - page - b.gap()
	var rows []set.Block
	for _, e := range all {
		s := b.keyBold
		if e.note == "" {
			s = b.keyBold.In(fonts.Regular)
		}
		lines := b.wrapAfter(set.Words(s, e.name), room, room, e.at, e.name)
		more := float64(len(lines)-1) * b.keyPitch()
		rows = append(rows, set.Drawn(b.rowTop()*2+b.key+more+b.keyFoot(), func(c *set.Canvas, x, y float64) {
			base := y + 2*b.rowTop() + b.key
			if e.tab != "" {
				c.Bar(x, base-1.35*b.key, tabWide, 1.7*b.key)
				c.TextMid(x+tabWide/2, base, b.keyName.On(layout.White), e.tab)
			}
			c.Lines(x+indent, base, b.keyPitch(), lines)
			from := x + indent + lines[len(lines)-1].Wide + b.gap()
			last, right, mono := base+more, x+b.Width(), b.keyMono
			c.Add(layout.Line{X1: from, Y1: last - 0.15, X2: max(from, right-page-b.gap()), Y2: last - 0.15, Weight: 0.2, Dash: 0.8})
			b.later = append(b.later, func() { c.TextRight(right, last, mono, fmt.Sprint(b.begins[e.begins])) })
		}))
	}
	b.Flow(set.Flow{Blocks: rows, Begin: true, Mark: b.words.Contents, Head: func(p set.Part) set.Pile {
		return set.Pile{b.barBlock(p, 1, bookBar{name: b.words.Contents, inner: b.words.PageHead}), {H: 0.5 * b.key}}
	}})
}

// notes are ruled pages, as many as make the number of pages one of a booklet; where
// that is none, a sheet of them, unless the book does without.
func (b *book) notes() {
	for ; !b.noNotes && b.ruled == 0 || (len(b.Pages)+1)%pagesOfSheet != 0; b.ruled++ {
		p := b.NewPage()
		if b.ruled == 0 {
			b.begins[b.part(partNotes)] = p.Number
			p.Bookmark(b.words.Notes, 0, b.Y)
		}
		y := b.bar(p, b.Y, bookBar{name: b.words.Notes})
		pitch := 7.0 * b.key / layout.CapKey
		for y += pitch; y <= b.Bottom; y += pitch {
			b.hair(&p.Canvas, b.leftOf(p), y)
		}
	}
}

// back is the last page, the outside of the folded book: how to read it, and
// the cautions. Its foot stays free for the note of the booklet.
func (b *book) back() {
	p := b.NewPage()
	b.bare[p] = true
	b.begins[b.part(partReading)] = p.Number
	p.Bookmark(b.words.HowToRead, 0, b.Y)
	x := b.leftOf(p)
	y := b.format.edge
	if b.load.About.Exercise {
		y = b.exercise(p, y)
	}
	y = b.bar(p, y, bookBar{name: b.words.HowToRead}) + 0.4*b.key
	foot := b.format.Height - layout.PrintEdge - set.NoteRoom(set.CapStyle(fonts.Regular, layout.CapLeast))
	var blocks set.Pile
	legend := func(mm float64) (bottom float64) {
		text, bold := set.CapStyle(fonts.Regular, mm), set.CapStyle(fonts.Bold, mm)
		air := 0.5 * mm
		blocks = nil
		put := func(chunks []set.Piece, above float64, subject string) {
			blocks = append(blocks, b.lines(chunks, mm, above, finding.Place{}, subject))
		}
		for _, m := range []struct {
			mark *set.Mark
			text string
		}{{set.MarkDirect, b.words.LegendDirectNote}, {set.MarkRepeated, b.words.LegendRepeatedNote}} {
			all := set.Words(text, m.text)
			first := all[0].Runs[0]
			first.Mark = m.mark
			all[0] = set.PieceOf(all[0].Space, first)
			put(all, air, m.text)
		}
		for _, l := range b.words.Legend {
			put(append(set.Words(bold, l[0]), set.Words(text, l[1])...), air, l[0])
		}
		for i, caution := range b.words.BookCautions {
			above := air
			if i == 0 {
				above = 3 * air
			}
			put(set.Words(bold, caution), above, caution)
		}
		return y + blocks.Height()
	}
	mm, ok := set.Largest(layout.CapLeast, b.key, 0.05, func(mm float64) bool { return legend(mm) <= foot })
	if !ok {
		b.misfit(finding.Place{}, b.words.HowToRead, b.words.HowToRead)
	}
	legend(mm)
	blocks.Put(&p.Canvas, x, y)
}
