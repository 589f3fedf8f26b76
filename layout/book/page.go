package book

import (
	"fmt"
	"slices"
	"strings"

	"slotcard/fonts"
	"slotcard/layout"
	"slotcard/layout/set"
	"slotcard/plan/finding"
)

// What all pages of the book share: margins, bars, thumb marks, foot.

// onRight tells whether a page lies to the right of the fold: odd ones do.
func onRight(p *set.Page) bool { return p.Number%2 == 1 }

// leftOf is the left edge of what lies between the margins of a page.
func (b *book) leftOf(p *set.Page) float64 {
	left, _ := b.Sides(p.Number)
	return left
}

// footHigh is the height of page number and exercise mark.
func (b *book) footHigh() float64 { return 1.6 * layout.CapKey * b.format.grow }

// Distances of lines.
func (b *book) pitch() float64     { return b.small * (set.Ascender + set.Descender + 0.02) }
func (b *book) underKey() float64  { return b.key*set.Descender + b.small*set.Ascender + 0.08 } // from a key line to a small one
func (b *book) gap() float64       { return 1.3 * b.small }
func (b *book) keyGap() float64    { return 0.65 * b.key }
func (b *book) rowTop() float64    { return 0.32 * b.key }
func (b *book) smallFoot() float64 { return b.small*set.Descender + 0.2*b.key }
func (b *book) keyFoot() float64   { return b.key*set.Descender + 0.16*b.key }
func (b *book) keyPitch() float64  { return b.key * (set.Ascender + set.Descender + 0.04) }
func (b *book) headHigh() float64  { return 2 * b.small }
func (b *book) tabStyle() set.Style {
	return set.CapStyle(fonts.MonoBold, layout.CapLeast*b.format.grow).On(layout.White)
}
func (b *book) placeStyle() set.Style            { return b.keyMono }
func (b *book) barSmall() set.Style              { return b.smallText.On(layout.White) }
func (b *book) barPad() float64                  { return 0.42 * b.key }
func (b *book) barMono() set.Style               { return b.keyName.On(layout.White) }
func (b *book) barName() set.Style               { return b.keyBold.On(layout.White) }
func (b *book) hair(c *set.Canvas, x, y float64) { c.Rule(x, x+b.Width(), y, hairline) }

const hairline = 0.12 // mm

// bookBar is the black bar over a group or over a page of an index. The number
// and the name stand towards the outer edge, what is less needed at the fold.
type bookBar struct {
	number string
	name   string
	mono   bool   // the name is one of figures
	inner  string // left out where there is no room
	at     finding.Place
}

// barLines breaks the name of a bar.
func (b *book) barLines(r bookBar) (lines []set.Line, inner string) {
	s := b.barName()
	if r.mono {
		s = b.barMono()
	}
	room := b.Width() - 2*b.barPad()
	if r.number != "" {
		room -= b.barMono().Width(r.number) + b.keyGap()
	}
	if r.inner != "" && s.Width(r.name)+2*b.keyGap()+b.barSmall().Width(r.inner) <= room {
		return []set.Line{set.LineOf(set.Words(s, r.name)...)}, r.inner
	}
	return b.wrap(set.Words(s, r.name), room, r.at, r.name), ""
}

func (b *book) barHigh(lines int) float64 {
	return 2*b.barPad() + b.key + float64(max(lines, 1)-1)*b.keyPitch()
}

// bar draws a bar at the height y of a page and returns its lower edge.
func (b *book) bar(p *set.Page, y float64, r bookBar) float64 {
	lines, inner := b.barLines(r)
	x, w, h := b.leftOf(p), b.Width(), b.barHigh(len(lines))
	p.Bar(x, y, w, h)
	base := y + b.barPad() + b.key
	numberWide := 0.0
	if r.number != "" {
		numberWide = b.barMono().Width(r.number) + b.keyGap()
	}
	if onRight(p) {
		p.TextRight(x+w-b.barPad(), base, b.barMono(), r.number)
		p.Text(x+b.barPad(), base, b.barSmall(), inner)
	} else {
		p.Text(x+b.barPad(), base, b.barMono(), r.number)
		p.TextRight(x+w-b.barPad(), base, b.barSmall(), inner)
	}
	if onRight(p) {
		p.LinesRight(x+w-b.barPad()-numberWide, base, b.keyPitch(), lines)
	} else {
		p.Lines(x+b.barPad()+numberWide, base, b.keyPitch(), lines)
	}
	return y + h
}

// barBlock is a bar of so many lines at the head of a part.
func (b *book) barBlock(p set.Part, lines int, r bookBar) set.Block {
	return set.Drawn(b.barHigh(lines), func(_ *set.Canvas, _, y float64) { b.bar(p.Page, y, r) })
}

// wrap breaks pieces into lines; one that none holds is a misfit.
func (b *book) wrap(pieces []set.Piece, width float64, at finding.Place, subject string) []set.Line {
	lines, bad := set.Wrap(pieces, width)
	if bad != "" {
		b.misfit(at, subject, bad)
	}
	return lines
}

// wrapAfter is wrap with a first line of another width, which may stay empty.
func (b *book) wrapAfter(pieces []set.Piece, first, width float64, at finding.Place, subject string) []set.Line {
	lines, bad := set.BreakLines(pieces, first, width)
	if bad != "" {
		b.misfit(at, subject, bad)
	}
	return lines
}

// tab gives a page a thumb mark.
func (b *book) tab(p *set.Page, i int) {
	if !slices.Contains(b.thumbs[p], i) {
		b.thumbs[p] = append(b.thumbs[p], i)
	}
}

// marks adds what is known when all pages are there: thumb marks and the foot.
func (b *book) marks(p *set.Page) {
	b.drawThumbs(p)
	if b.bare[p] {
		return
	}
	x, w := b.leftOf(p), b.Width()
	base := b.format.Height - b.format.edge - b.key*set.Descender
	number := fmt.Sprint(p.Number)
	var from, to float64
	share := 0.35 // of the width
	if b.load.About.Exercise {
		share = 0.2
	}
	edition := b.editionNote(w * share)
	if onRight(p) {
		p.TextRight(x+w, base, b.keyBold, number)
		from = p.Text(x, base, b.smallText, edition)
		to = x + w - b.keyBold.Width(number)
	} else {
		from = p.Text(x, base, b.keyBold, number)
		to = x + w - b.smallText.Width(edition)
		p.Text(to, base, b.smallText, edition)
	}
	if b.load.About.Exercise {
		const air = 2
		h := b.footHigh()
		p.ExerciseBand(from+air, base+b.key*set.Descender-h, to-from-2*air, h, strings.ToUpper(b.words.Exercise), "")
	}
}

// editionNote names the edition in a width, in as many words as go in.
func (b *book) editionNote(width float64) string {
	a := &b.load.About
	for _, s := range []string{b.words.Load + " " + a.Edition + " " + a.Colour, a.Edition + " " + a.Colour, a.Edition} {
		if b.smallText.Width(s) <= width {
			return s
		}
	}
	return "" // it is on the cover
}

// drawThumbs draws the thumb marks of a page at its outer edge: each group has its
// height, the same through the whole book.
func (b *book) drawThumbs(p *set.Page) {
	const widest = 9.0
	s := b.tabStyle()
	least := s.Cap() * 1.7
	top, bottom := b.format.edge, b.Bottom
	step := min(widest*b.format.Height/148, (bottom-top)/float64(len(b.tabs)))
	h := max(step-0.6, least)
	slices.Sort(b.thumbs[p])
	free := 0.0 // below the marks drawn so far
	for _, i := range b.thumbs[p] {
		y := top + (float64(i)+0.5)*step - h/2
		y = min(max(y, top), bottom-h)
		if y < free {
			continue // hidden by the one above it
		}
		free = y + h
		x, at := 0.0, b.format.edge
		if onRight(p) {
			x = b.format.Width - b.tabWide
			at = b.format.Width - b.format.edge - s.Width(b.tabs[i])
		}
		p.Bar(x, y, b.tabWide, h)
		p.Text(at, y+(h+s.Cap())/2, s, b.tabs[i])
	}
}

// placesOf are the places of a channel as chunks.
func (b *book) placesOf(e *bookEntry) []set.Piece {
	var all []set.Piece
	s := b.placeStyle()
	for _, c := range e.places {
		all = append(all, set.PieceOf(b.keyGap(), s.Say(c.Place())))
	}
	return all
}
