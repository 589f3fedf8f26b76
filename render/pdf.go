package render

import (
	"cmp"
	"fmt"
	"io"
	"math"
	"regexp"
	"strconv"
	"sync"
	"time"

	"slotcard/fonts"
	"slotcard/layout"
)

// Rules of this file: nothing is drawn that check has not passed, and a page or a
// panel begins with nothing known about the state. The faces are subset in face.go,
// contents are drawn on all cores in streams.go, and file.go puts them into a file.

// language is the shape of a BCP 47 tag; it is written without escaping.
var language = regexp.MustCompile(`^[A-Za-z]{1,8}(-[A-Za-z0-9]{1,8})*$`)

// PDF writes a document with embedded subsets of its faces, and the files that it
// was made from attached. The same document, date and files give the same bytes,
// however many cores work on it; created, in any zone, is the date of creation and
// of change that the file bears. A panel that is placed more than once is written
// once. Nothing is written if there is an error.
func PDF(w io.Writer, d *layout.Document, created time.Time, attached ...Attachment) error {
	runes, err := checkDocument(d)
	if err != nil {
		return err
	}
	if created.IsZero() {
		return fmt.Errorf("the document has no date of creation")
	}
	p := &pdf{}
	p.share(d)
	if err := p.embed(runes); err != nil {
		return err
	}
	return p.write(w, d, created, attached)
}

// MostCopies is the largest number of copies that a document can ask a print dialog
// for (ISO 32000-1, table 150).
const MostCopies = 5

// checkDocument returns the characters that a document prints in each face, or why it
// cannot be drawn.
func checkDocument(d *layout.Document) (runes [faceCount]*plane, err error) {
	if len(d.Pages) == 0 {
		return runes, fmt.Errorf("the document has no pages")
	}
	if err := checkText(d.Title, fonts.All()...); err != nil {
		return runes, fmt.Errorf("title %w", err)
	}
	if err := checkText(d.Subject, fonts.All()...); err != nil {
		return runes, fmt.Errorf("subject %w", err)
	}
	if d.Language != "" && !language.MatchString(d.Language) {
		return runes, fmt.Errorf("language %q is not a tag such as en or en-US", d.Language)
	}
	if d.Copies != 0 && (d.Copies < 2 || d.Copies > MostCopies) {
		return runes, fmt.Errorf("a print dialog cannot be asked for %d copies", d.Copies)
	}
	level := -1
	var c checker
	for i := range d.Pages {
		if err := c.page(&d.Pages[i]); err != nil {
			return runes, fmt.Errorf("page %d: %w", i+1, err)
		}
		for _, b := range d.Pages[i].Bookmarks {
			if b.Level < 0 || b.Level > level+1 {
				return runes, fmt.Errorf("page %d: bookmark %q is at level %d under none of level %d", i+1, b.Title, b.Level, b.Level-1)
			}
			level = b.Level
		}
	}
	return c.runes, nil
}

// pdf is a document being written.
type pdf struct {
	faces [faceCount]subset // nil: not used
	forms map[*layout.Panel]*form
	list  []*form // in the order in which they are first placed
}

// pageContent is the number of what stands on a page, in its drawing and in the
// structure of the document.
const pageContent = 0

// share finds the panels that are drawn once and referred to: those that are
// placed in several places, and what several panels have in common.
func (p *pdf) share(d *layout.Document) {
	placed := map[*layout.Panel]int{}
	var order []*layout.Panel
	for i := range d.Pages {
		for _, it := range d.Pages[i].Items {
			if it, ok := it.(layout.Placed); ok {
				if placed[it.Panel]++; placed[it.Panel] == 1 {
					order = append(order, it.Panel)
				}
			}
		}
	}
	p.forms = map[*layout.Panel]*form{}
	common := map[*layout.Panel]int{}
	for _, panel := range order {
		if placed[panel] == 1 && panel.Common != nil {
			common[panel.Common]++
		}
	}
	for _, panel := range order {
		switch {
		case placed[panel] > 1:
			p.form(panel)
		case common[panel.Common] > 1 && p.forms[panel.Common] == nil:
			p.form(panel.Common)
		}
	}
}

// form makes a form of a panel.
func (p *pdf) form(panel *layout.Panel) {
	// A form cuts what leaves its box: make the box as large as the ink.
	x0, y0, x1, y1 := bounds(panel)
	f := &form{name: "X" + strconv.Itoa(len(p.list)), panel: panel, dx: x0, dy: y0, width: x1 - x0, height: y1 - y0}
	p.forms[panel] = f
	p.list = append(p.list, f)
}

// form is a panel that is written once, and the corner of it, in the panel's
// millimeters, that is the form's top left.
type form struct {
	name          string
	panel         *layout.Panel
	dx, dy        float64
	width, height float64
}

// formNames are the forms by their names, whose objects begin at a number.
func (p *pdf) formNames(first int) (b []byte) {
	for i, f := range p.list {
		b = fmt.Appendf(b, "/%s %d 0 R", f.name, first+i)
	}
	return b
}

// fontNames are the faces by their names; 0 is one that is not used.
func (p *pdf) fontNames(objects [faceCount]int) (b []byte) {
	for f, n := range objects {
		if n > 0 {
			b = fmt.Appendf(b, "/F%d %d 0 R", f, n)
		}
	}
	return b
}

// embed makes the subsets of the faces that are used, side by side.
func (p *pdf) embed(runes [faceCount]*plane) error {
	var wg sync.WaitGroup
	var errs [faceCount]error
	for _, f := range fonts.All() {
		if runes[f] != nil {
			wg.Go(func() { p.faces[f], errs[f] = subsetOf(f, runes[f].all()) })
		}
	}
	wg.Wait()
	return cmp.Or(errs[:]...)
}

// page draws what stands on a page.
func (k *ink) page(pg *layout.Page) {
	k.buf = fmt.Appendf(k.buf, "/Sect<</MCID %d>>BDC\n", pageContent)
	for _, it := range pg.Items {
		if placed, ok := it.(layout.Placed); ok {
			k.place(placed)
		} else {
			k.item(it)
		}
	}
	k.op("EMC")
}

// place draws a panel: by reference if the document places it elsewhere too.
func (k *ink) place(it layout.Placed) {
	if f := k.forms[it.Panel]; f != nil {
		k.within(placing(it), f.height, f.dx, f.dy, func() {
			k.clip(it.Clip, f.height, f.dx, f.dy)
			k.op("/" + f.name + " Do")
		})
		return
	}
	k.within(placing(it), k.height, 0, 0, func() {
		k.clip(it.Clip, k.height, 0, 0)
		k.inline(it.Panel)
	})
}

// inline draws a panel on a page, what it has in common with others by
// reference.
func (k *ink) inline(p *layout.Panel) {
	f := k.forms[p.Common]
	if f == nil {
		k.items(p.All())
		return
	}
	before, behind := p.Apart()
	k.items(before)
	k.within(affine{a: 1, d: 1}, f.height, f.dx, f.dy, func() { k.op("/" + f.name + " Do") })
	k.items(behind)
}

func (k *ink) items(items []layout.Item) {
	for _, it := range items {
		k.item(it)
	}
}

// bounds is a rectangle in whole millimeters that holds a panel and its ink.
func bounds(p *layout.Panel) (x0, y0, x1, y1 float64) {
	ink := layout.InkOf(p.All())
	return math.Floor(math.Min(0, ink.X)), math.Floor(math.Min(0, ink.Y)),
		math.Ceil(math.Max(math.Max(p.Width, 1), ink.X+ink.W)), math.Ceil(math.Max(math.Max(p.Height, 1), ink.Y+ink.H))
}

// miterLimit of strokes: that of PDF where none is set (ISO 32000-1 table 52; from memory).
const miterLimit = 10

// ink writes operators of a page or a form. It keeps what it has set, so that
// nothing is set twice.
type ink struct {
	*pdf
	buf    []byte
	height float64 // of the page or form, mm
	dx, dy float64 // what stands at its top left, mm
	now    state
}

// begin starts a page or a form of that height, what stands at dx, dy at its top
// left. What was written before is dropped.
func (k *ink) begin(height, dx, dy float64) {
	k.buf, k.height, k.dx, k.dy, k.now = k.buf[:0], height, dx, dy, state{dash: -1}
}

// state is what the operators have set; its zero value is nothing.
type state struct {
	fill, stroke struct {
		set bool
		ink layout.Ink
	}
	weight float64 // mm; 0: not set
	dash   float64 // mm; -1: not set
	face   fonts.Face
	size   float64 // pt; 0: not set
}

// within draws inside of the transform t. Its content takes form space, whose
// height is given and whose top left is dx, dy, for the panel's.
func (k *ink) within(t affine, height, dx, dy float64, draw func()) {
	before := k.now
	const pt = 1 / fonts.PointMM
	k.op("q")
	k.op("cm",
		t.a, -t.b, -t.c, t.d,
		pt*(t.a*dx+t.c*(height+dy)+t.e),
		pt*(k.height-t.b*dx-t.d*(height+dy)-t.f))
	k.now = state{dash: -1}
	draw()
	k.op("Q")
	k.now = before
}

// clip cuts what follows, up to the end of within, to a rectangle in the space
// of its content; the zero rectangle cuts nothing.
func (k *ink) clip(c layout.Rect, height, dx, dy float64) {
	if c != (layout.Rect{}) {
		const pt = 1 / fonts.PointMM
		k.op("re", (c.X-dx)*pt, (height-(c.Y+c.H-dy))*pt, c.W*pt, c.H*pt)
		k.op("W n")
	}
}

// op writes an operator after its operands.
func (k *ink) op(name string, operands ...float64) {
	for _, v := range operands {
		k.buf = appendNumber(k.buf, v)
		k.buf = append(k.buf, ' ')
	}
	k.buf = append(k.buf, name...)
	k.buf = append(k.buf, '\n')
}

// appendNumber writes a number with at most four decimals: 0.000035 mm.
func appendNumber(b []byte, v float64) []byte { return appendFixed(b, v, 4) }

// appendHundredths writes a number with at most two decimals, as many as sizes
// of type have.
func appendHundredths(b []byte, v float64) []byte { return appendFixed(b, v, 2) }

// appendFixed writes a number with at most so many decimals and without zeros
// at its end. Lengths on paper are far within the range of an int64.
func appendFixed(b []byte, v float64, decimals int) []byte {
	scale := [...]int64{1, 10, 100, 1000, 10000}[decimals]
	n := int64(math.Round(v * float64(scale)))
	if n < 0 {
		b = append(b, '-')
		n = -n
	}
	b = strconv.AppendInt(b, n/scale, 10)
	n %= scale
	if n == 0 {
		return b
	}
	b = append(b, '.')
	for n > 0 {
		scale /= 10
		b = append(b, '0'+byte(n/scale))
		n %= scale
	}
	return b
}

// x and y are places in points from the bottom left.
func (k *ink) x(mm float64) float64 { return (mm - k.dx) / fonts.PointMM }
func (k *ink) y(mm float64) float64 { return (k.height - (mm - k.dy)) / fonts.PointMM }

func (k *ink) fillWith(i layout.Ink) {
	if s := &k.now.fill; !s.set || s.ink != i {
		s.set, s.ink = true, i
		k.colour("g", "rg", i)
	}
}

func (k *ink) strokeWith(i layout.Ink, weight, dash float64) {
	if s := &k.now.stroke; !s.set || s.ink != i {
		s.set, s.ink = true, i
		k.colour("G", "RG", i)
	}
	if k.now.weight != weight {
		k.now.weight = weight
		k.op("w", weight/fonts.PointMM)
	}
	if k.now.dash != dash {
		k.now.dash = dash
		if dash == 0 {
			k.op("[] 0 d")
		} else {
			k.buf = append(k.buf, '[')
			k.buf = appendNumber(k.buf, dash/fonts.PointMM)
			k.op("] 0 d")
		}
	}
}

func (k *ink) colour(gray, rgb string, i layout.Ink) {
	if i.R == i.G && i.G == i.B {
		k.op(gray, float64(i.R)/255)
	} else {
		k.op(rgb, float64(i.R)/255, float64(i.G)/255, float64(i.B)/255)
	}
}

func (k *ink) item(it layout.Item) {
	switch it := it.(type) {
	case layout.Text:
		k.text(it)
	case layout.Line:
		k.strokeWith(it.Ink, it.Weight, it.Dash)
		k.op("m", k.x(it.X1), k.y(it.Y1))
		k.op("l", k.x(it.X2), k.y(it.Y2))
		k.op("S")
	case layout.Box:
		k.paint(it.Fill, it.FillInk, it.Stroke, it.StrokeInk, func() {
			if it.Radius == 0 {
				k.op("re", k.x(it.X), k.y(it.Y+it.H), it.W/fonts.PointMM, it.H/fonts.PointMM)
			} else {
				k.path(outline(it.X, it.Y, it.W, it.H, it.Radius))
			}
		})
	case layout.Shape:
		if len(it.Segments) > 0 {
			k.paint(it.Fill, it.FillInk, it.Stroke, it.StrokeInk, func() { k.path(it.Segments) })
		}
	case layout.Modules:
		k.modules(it)
	}
}

func (k *ink) text(it layout.Text) {
	if it.S == "" {
		return
	}
	k.fillWith(it.Ink)
	k.buf = append(k.buf, "BT\n"...)
	if k.now.face != it.Face || k.now.size != it.Size {
		k.now.face, k.now.size = it.Face, it.Size
		k.buf = append(k.buf, '/', 'F', '0'+byte(it.Face), ' ')
		k.buf = append(appendHundredths(k.buf, it.Size), " Tf\n"...)
	}
	k.buf = append(appendHundredths(k.buf, k.x(it.X)), ' ')
	k.buf = append(appendHundredths(k.buf, k.y(it.Y)), " Td\n("...)
	for _, r := range it.S { // its code in two bytes, the higher one first
		k.buf = appendEscaped(appendEscaped(k.buf, byte(r>>8)), byte(r))
	}
	k.buf = append(k.buf, ") Tj\nET\n"...)
}

// appendEscaped writes a byte of a text in brackets (ISO 32000-1, 7.3.4.2).
func appendEscaped(b []byte, c byte) []byte {
	switch c {
	case '\\', '(', ')':
		b = append(b, '\\', c)
	case '\r':
		b = append(b, '\\', 'r')
	default:
		b = append(b, c)
	}
	return b
}

// paint fills and strokes the path that draw writes.
func (k *ink) paint(fill bool, fillInk layout.Ink, stroke float64, strokeInk layout.Ink, draw func()) {
	how := ""
	if stroke > 0 {
		k.strokeWith(strokeInk, stroke, 0)
		how = "S"
	}
	if fill {
		k.fillWith(fillInk)
		how = map[string]string{"": "f", "S": "B"}[how]
	}
	if how != "" {
		draw()
		k.op(how)
	}
}

// path writes segments, of which there is at least one.
func (k *ink) path(segments []layout.Segment) {
	for i, s := range segments {
		switch {
		case s.Move:
			if i > 0 {
				k.op("h")
			}
			k.op("m", k.x(s.X), k.y(s.Y))
		case s.Curve:
			k.op("c", k.x(s.X1), k.y(s.Y1), k.x(s.X2), k.y(s.Y2), k.x(s.X), k.y(s.Y))
		default:
			k.op("l", k.x(s.X), k.y(s.Y))
		}
	}
	k.op("h")
}

// modules draws a symbol as one path with one fill: separate rectangles show
// hairlines in some rasterizers, and those cost reads.
func (k *ink) modules(it layout.Modules) {
	if it.Alt != "" { // said in place of the picture (ISO 32000-1, 14.9.3)
		k.op("/Span<</Alt" + wide(it.Alt) + ">>BDC")
		defer k.op("EMC")
	}
	k.op("q")
	k.op("g", 0)
	m := it.Module / fonts.PointMM
	k.op("cm", m, 0, 0, -m, k.x(it.X), k.y(it.Y))
	for y := range it.Symbol.Size {
		for x := 0; x < it.Symbol.Size; x++ {
			start := x
			for it.Symbol.Dark(x, y) {
				x++
			}
			if x > start {
				k.op("re", float64(start), float64(y), float64(x-start), 1)
			}
		}
	}
	k.op("f")
	k.op("Q")
}
