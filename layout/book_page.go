package layout

import (
	"fmt"
	"slices"
	"strings"

	"slotcard/fonts"
	"slotcard/plan/finding"
)

// What all pages of the book share: margins, bars, thumb marks, foot.

// now is the page that is being filled.
func (b *book) now() *bookPage { return b.pages[len(b.pages)-1] }

// right tells whether the page lies to the right of the fold: odd ones do.
func (p *bookPage) right() bool { return p.number%2 == 1 }

func (b *book) turn() *bookPage {
	b.pages = append(b.pages, &bookPage{number: len(b.pages) + 1})
	b.y = b.f.edge
	return b.now()
}

// left and width of what lies between the margins of a page.
func (b *book) left(p *bookPage) float64 {
	if p.right() {
		return b.f.spine
	}
	return b.outer
}

func (b *book) width() float64 { return b.f.Width - b.f.spine - b.outer }

// bottom of the room for contents: above the foot.
func (b *book) bottom() float64 {
	return b.f.Height - b.f.edge - b.footHigh() - 1
}

// footHigh is the height of page number and exercise mark.
func (b *book) footHigh() float64 { return 1.6 * CapKey * b.f.grow }

func (b *book) room() float64 { return b.bottom() - b.y }

// Distances of lines.
func (b *book) pitch() float64               { return b.small * (ascender + descender + 0.02) }
func (b *book) underKey() float64            { return b.key*descender + b.small*ascender + 0.08 } // from a key line to a small one
func (b *book) gap() float64                 { return 1.3 * b.small }
func (b *book) keyGap() float64              { return 0.65 * b.key }
func (b *book) rowTop() float64              { return 0.32 * b.key }
func (b *book) smallFoot() float64           { return b.small*descender + 0.2*b.key }
func (b *book) keyFoot() float64             { return b.key*descender + 0.16*b.key }
func (b *book) keyPitch() float64            { return b.key * (ascender + descender + 0.04) }
func (b *book) headHigh() float64            { return 2 * b.small }
func (b *book) tabStyle() style              { return capStyle(fonts.MonoBold, CapLeast*b.f.grow).on(White) }
func (b *book) placeStyle() style            { return b.keyMono }
func (b *book) barSmall() style              { return b.smallText.on(White) }
func (b *book) barPad() float64              { return 0.42 * b.key }
func (b *book) barMono() style               { return b.keyName.on(White) }
func (b *book) barName() style               { return b.keyBold.on(White) }
func (b *book) hair(c *canvas, x, y float64) { c.rule(x, x+b.width(), y, 0.12) }

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
func (b *book) barLines(r bookBar) (lines [][]chunk, inner string) {
	s := b.barName()
	if r.mono {
		s = b.barMono()
	}
	room := b.width() - 2*b.barPad()
	if r.number != "" {
		room -= b.barMono().width(r.number) + b.keyGap()
	}
	if r.inner != "" && s.width(r.name)+2*b.keyGap()+b.barSmall().width(r.inner) <= room {
		return [][]chunk{words(s, r.name)}, r.inner
	}
	lines, bad := wrap(words(s, r.name), room)
	if bad != "" {
		b.misfit(r.at, r.name, bad)
		return [][]chunk{nil}, ""
	}
	return lines, ""
}

func (b *book) barHigh(lines int) float64 {
	return 2*b.barPad() + b.key + float64(max(lines, 1)-1)*b.keyPitch()
}

// bar draws a bar at the height y of a page and returns its lower edge.
func (b *book) bar(p *bookPage, y float64, r bookBar) float64 {
	lines, inner := b.barLines(r)
	x, w, h := b.left(p), b.width(), b.barHigh(len(lines))
	p.bar(x, y, w, h)
	base := y + b.barPad() + b.key
	numberWide := 0.0
	if r.number != "" {
		numberWide = b.barMono().width(r.number) + b.keyGap()
	}
	if p.right() {
		p.textRight(x+w-b.barPad(), base, b.barMono(), r.number)
		p.text(x+b.barPad(), base, b.barSmall(), inner)
	} else {
		p.text(x+b.barPad(), base, b.barMono(), r.number)
		p.textRight(x+w-b.barPad(), base, b.barSmall(), inner)
	}
	for i, l := range lines {
		at := x + b.barPad() + numberWide
		if p.right() {
			at = x + w - b.barPad() - numberWide - lineWidth(l)
		}
		p.line(at, base+float64(i)*b.keyPitch(), l)
	}
	return y + h
}

// lineWidth is the width of a line of chunks.
func lineWidth(l []chunk) (w float64) {
	for i, c := range l {
		w += c.wide
		if i+1 < len(l) {
			w += c.space
		}
	}
	return w
}

// bookRow is a piece of a page that stays whole.
type bookRow struct {
	h    float64
	draw func(c *canvas, x, y float64) // its top left corner
	key  string                        // by which it is found: for the head of an index page

	joined bool     // belongs to the row above it: no hairline between them
	over   *bookRow // stands over it again where it begins a page
}

// tab gives the page a thumb mark.
func (p *bookPage) tab(i int) {
	if !slices.Contains(p.tabs, i) {
		p.tabs = append(p.tabs, i)
	}
}

func (p *bookPage) bookmark(title string, level int, y float64) {
	p.marks = append(p.marks, Bookmark{Title: title, Level: level, Y: y})
}

// frame adds what is known when all pages are there: thumb marks and the foot.
func (b *book) frame(p *bookPage) {
	b.thumbs(p)
	if p.bare {
		return
	}
	x, w := b.left(p), b.width()
	base := b.f.Height - b.f.edge - b.key*descender
	number := fmt.Sprint(p.number)
	var from, to float64
	share := 0.35 // of the width
	if b.l.About.Exercise {
		share = 0.2
	}
	edition := b.editionNote(w * share)
	if p.right() {
		p.textRight(x+w, base, b.keyBold, number)
		from = p.text(x, base, b.smallText, edition)
		to = x + w - b.keyBold.width(number)
	} else {
		from = p.text(x, base, b.keyBold, number)
		to = x + w - b.smallText.width(edition)
		p.text(to, base, b.smallText, edition)
	}
	if b.l.About.Exercise {
		const air = 2
		h := b.footHigh()
		p.exerciseBand(from+air, base+b.key*descender-h, to-from-2*air, h, strings.ToUpper(b.w.Exercise), "")
	}
}

// editionNote names the edition in a width, in as many words as go in.
func (b *book) editionNote(width float64) string {
	a := &b.l.About
	for _, s := range []string{b.w.Load + " " + a.Edition + " " + a.Colour, a.Edition + " " + a.Colour, a.Edition} {
		if b.smallText.width(s) <= width {
			return s
		}
	}
	return "" // it is on the cover
}

// thumbs draws the thumb marks of a page at its outer edge: each group has its
// height, the same through the whole book.
func (b *book) thumbs(p *bookPage) {
	const widest = 9.0
	s := b.tabStyle()
	least := s.cap() * 1.7
	top, bottom := b.f.edge, b.bottom()
	step := min(widest*b.f.Height/148, (bottom-top)/float64(len(b.tabs)))
	h := max(step-0.6, least)
	slices.Sort(p.tabs)
	free := 0.0 // below the marks drawn so far
	for _, i := range p.tabs {
		y := top + (float64(i)+0.5)*step - h/2
		y = min(max(y, top), bottom-h)
		if y < free {
			continue // hidden by the one above it
		}
		free = y + h
		x, at := 0.0, b.f.edge
		if p.right() {
			x = b.f.Width - b.tabWide
			at = b.f.Width - b.f.edge - s.width(b.tabs[i])
		}
		p.bar(x, y, b.tabWide, h)
		p.text(at, y+(h+s.cap())/2, s, b.tabs[i])
	}
}

// wrapAfter is wrap with a first line of another width, which stays empty where
// it has no room for the first chunk.
func wrapAfter(chunks []chunk, first, width float64) (lines [][]chunk, misfit string) {
	var line []chunk
	x := 0.0
	for i := 0; i < len(chunks) && x+chunks[i].wide <= first+tolerance; i++ {
		line = append(line, chunks[i])
		x += chunks[i].wide + chunks[i].space
	}
	rest, misfit := wrap(chunks[len(line):], width)
	return append([][]chunk{line}, rest...), misfit
}

// placesOf are the places of a channel as chunks.
func (b *book) placesOf(e *bookEntry) []chunk {
	var all []chunk
	s := b.placeStyle()
	for _, c := range e.places {
		all = append(all, chunkOf(b.keyGap(), run{style: s, s: placeOf(c)}))
	}
	return all
}
