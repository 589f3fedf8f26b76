package render

import (
	"bytes"
	"encoding/base64"
	"encoding/xml"
	"fmt"
	"io"
	"strconv"
	"strings"

	"slotcard/fonts"
	"slotcard/layout"
)

// SVGOptions say how a page becomes SVG.
type SVGOptions struct {
	Label    string // what the page shows, for those who do not see it
	Language string // of its text, BCP 47

	// Linked leaves the faces out: the page that holds the SVG serves them, by
	// [SVGStyle]. Such an SVG has no style of its own, as a strict content
	// security policy demands. Otherwise the faces that are used are in the file,
	// and it needs nothing else.
	Linked bool
}

// SVG writes a page as a picture in SVG 1.1, as large as the paper: text stays
// text, and stands where [PDF] sets it. An area of the layout becomes an
// invisible rectangle of class slotcard-area above all, with the attributes
// data-slot and data-line: the page that holds the SVG may outline it, or let it
// take clicks. The same page gives
// the same bytes. Nothing is written if there is an error.
func SVG(w io.Writer, p *layout.Page, o SVGOptions) error {
	var c checker
	if err := c.page(p); err != nil {
		return err
	}
	if o.Language != "" && !language.MatchString(o.Language) {
		return fmt.Errorf("language %q is not a tag such as en or en-US", o.Language)
	}
	k := &svg{}
	k.say(`<svg xmlns="http://www.w3.org/2000/svg" class="slotcard" role="group" width="`)
	k.number(p.Width)
	k.say(`mm" height="`)
	k.number(p.Height)
	k.say(`mm" viewBox="0 0 `)
	k.number(p.Width)
	k.say(` `)
	k.number(p.Height)
	k.say(`" xml:space="preserve"`)
	if o.Language != "" {
		k.attribute("lang", o.Language)
		k.attribute("xml:lang", o.Language)
	}
	if o.Label != "" {
		k.attribute("aria-label", o.Label)
	}
	k.say(">")
	if !o.Linked {
		if o.Label != "" {
			k.say("<title>")
			k.text(o.Label)
			k.say("</title>")
		}
		if faces := c.faces(); len(faces) > 0 {
			k.say("<style>")
			k.say(svgStyle(faces, func(f fonts.Face) string {
				return "data:font/ttf;base64," + base64.StdEncoding.EncodeToString(f.Data())
			}))
			k.say("</style>")
		}
	}
	k.say(`<rect class="slotcard-paper"`)
	k.rect(0, 0, p.Width, p.Height)
	k.say(` fill="#fff"/>` + "\n")
	k.items(p.Items)
	k.areas(p.Areas)
	k.say("</svg>\n")
	_, err := w.Write(k.buf)
	return err
}

// SVGStyle is the style sheet of a page that holds linked SVG: where its faces
// are, in TrueType, and how text is set with them.
func SVGStyle(address func(fonts.Face) string) string { return svgStyle(fonts.All(), address) }

// svgStyle sets text as the layout has measured it: without kerning and
// ligatures, and not fitted to the pixels of the screen.
func svgStyle(faces []fonts.Face, address func(fonts.Face) string) string {
	var b strings.Builder
	for _, f := range faces {
		// A quotation mark or a line break would end the address.
		at := strings.NewReplacer(`\`, "%5C", `"`, "%22", "\n", "%0A", "\r", "%0D", "<", "%3C").Replace(address(f))
		fmt.Fprintf(&b, "@font-face{font-family:%s;src:url(\"%s\") format(\"truetype\");font-weight:%s}\n", family(f), at, weight(f))
	}
	b.WriteString(".slotcard text{white-space:pre;font-kerning:none;font-variant-ligatures:none;text-rendering:geometricPrecision}\n")
	for _, f := range faces {
		generic := "sans-serif"
		if f == fonts.Mono || f == fonts.MonoBold {
			generic = "monospace"
		}
		fmt.Fprintf(&b, ".slotcard .%s{font-family:%s,%s;font-weight:%s}\n", class(f), family(f), generic, weight(f))
	}
	return b.String()
}

// family is the name of a typeface, one for regular and bold.
func family(f fonts.Face) string {
	name, _, _ := strings.Cut(f.String(), "-")
	return `"Slotcard ` + name + `"`
}

func weight(f fonts.Face) string {
	if f == fonts.Bold || f == fonts.MonoBold {
		return "700"
	}
	return "400"
}

// class of a text in a face.
func class(f fonts.Face) string { return "slotcard-" + strings.ToLower(f.String()) }

// faces are those that what was checked uses.
func (c *checker) faces() []fonts.Face {
	var out []fonts.Face
	for _, f := range fonts.All() {
		if c.runes[f] != nil {
			out = append(out, f)
		}
	}
	return out
}

// svg is a picture being written. Lengths are millimeters, those of the page.
type svg struct{ buf []byte }

func (k *svg) say(s string) { k.buf = append(k.buf, s...) }

// number writes a length with four decimals at most.
func (k *svg) number(v float64) { k.buf = appendNumber(k.buf, v) }

// set writes an attribute that is a length.
func (k *svg) set(name string, v float64) {
	k.buf = append(append(append(k.buf, ' '), name...), `="`...)
	k.number(v)
	k.buf = append(k.buf, '"')
}

func (k *svg) attribute(name, value string) {
	k.buf = append(append(append(k.buf, ' '), name...), `="`...)
	k.text(value)
	k.buf = append(k.buf, '"')
}

// text writes characters so that they are nothing else. What XML cannot hold
// becomes U+FFFD; that is never printed, so it is only in labels.
func (k *svg) text(s string) {
	if !strings.ContainsAny(s, `<>&"'`) && !strings.ContainsFunc(s, func(r rune) bool { return r < ' ' || r >= 0x7F }) {
		k.say(s)
		return
	}
	var b bytes.Buffer
	if err := xml.EscapeText(&b, []byte(s)); err != nil {
		panic(err) // a buffer takes everything
	}
	k.buf = append(k.buf, b.Bytes()...)
}

func (k *svg) rect(x, y, w, h float64) {
	k.set("x", x)
	k.set("y", y)
	k.set("width", w)
	k.set("height", h)
}

// ink writes a color under a name, nothing where it is black and the name is fill.
func (k *svg) ink(name string, i layout.Ink) {
	if name == "fill" && i == layout.Black {
		return
	}
	const hex = "0123456789abcdef"
	k.buf = append(append(append(k.buf, ' '), name...), `="#`...)
	for _, v := range []uint8{i.R, i.G, i.B} {
		k.buf = append(k.buf, hex[v>>4], hex[v&15])
	}
	k.buf = append(k.buf, '"')
}

// paint writes how a box or a shape is filled and stroked.
func (k *svg) paint(fill bool, fillInk layout.Ink, stroke float64, strokeInk layout.Ink) {
	if fill {
		k.ink("fill", fillInk)
	} else {
		k.say(` fill="none"`)
	}
	if stroke > 0 {
		k.ink("stroke", strokeInk)
		k.set("stroke-width", stroke)
	}
}

func (k *svg) items(items []layout.Item) {
	for _, it := range items {
		k.item(it)
	}
}

func (k *svg) item(it layout.Item) {
	switch it := it.(type) {
	case layout.Text:
		k.run(it)
	case layout.Line:
		k.say("<path")
		k.ink("stroke", it.Ink)
		k.set("stroke-width", it.Weight)
		if it.Dash > 0 {
			k.set("stroke-dasharray", it.Dash)
		}
		k.say(` d="M`)
		k.point(it.X1, it.Y1)
		k.say("L")
		k.point(it.X2, it.Y2)
		k.say("\"/>\n")
	case layout.Box:
		if !it.Fill && it.Stroke == 0 {
			return
		}
		k.say("<rect")
		k.rect(it.X, it.Y, it.W, it.H)
		if it.Radius > 0 {
			k.set("rx", min(it.Radius, it.W/2, it.H/2))
		}
		k.paint(it.Fill, it.FillInk, it.Stroke, it.StrokeInk)
		k.say("/>\n")
	case layout.Shape:
		if len(it.Segments) == 0 || !it.Fill && it.Stroke == 0 {
			return
		}
		k.say("<path")
		k.paint(it.Fill, it.FillInk, it.Stroke, it.StrokeInk)
		if it.Stroke > 0 {
			k.set("stroke-miterlimit", miterLimit)
		}
		k.say(` d="`)
		k.path(it.Segments)
		k.say("\"/>\n")
	case layout.Modules:
		k.modules(it)
	case layout.Placed:
		k.placed(it)
	}
}

// run writes a text. Its length is given, too: a browser that has another face
// yet, or none of ours, sets it no wider than its place.
func (k *svg) run(it layout.Text) {
	if strings.Trim(it.S, " ") == "" {
		return
	}
	k.say(`<text class="`)
	k.say(class(it.Face))
	k.say(`"`)
	k.set("x", it.X)
	k.set("y", it.Y)
	k.set("font-size", it.Size*fonts.PointMM)
	k.set("textLength", it.Width())
	k.say(` lengthAdjust="spacingAndGlyphs"`)
	k.ink("fill", it.Ink)
	k.say(">")
	k.text(it.S)
	k.say("</text>\n")
}

func (k *svg) point(x, y float64) {
	k.number(x)
	k.say(" ")
	k.number(y)
}

func (k *svg) path(segments []layout.Segment) {
	for i, s := range segments {
		switch {
		case s.Move:
			if i > 0 {
				k.say("Z")
			}
			k.say("M")
		case s.Curve:
			k.say("C")
			k.point(s.X1, s.Y1)
			k.say(" ")
			k.point(s.X2, s.Y2)
			k.say(" ")
		default:
			k.say("L")
		}
		k.point(s.X, s.Y)
	}
	k.say("Z")
}

// modules writes a symbol as one path with one fill, whose edges stand on whole
// pixels: separate rectangles show hairlines, and those cost reads.
func (k *svg) modules(it layout.Modules) {
	k.say(`<path role="img" aria-label="QR" shape-rendering="crispEdges" transform="matrix(`)
	for _, v := range []float64{it.Module, 0, 0, it.Module, it.X, it.Y} {
		k.number(v)
		k.say(" ")
	}
	k.say(`)" d="`)
	for y := range it.Symbol.Size {
		for x := 0; x < it.Symbol.Size; x++ {
			start := x
			for it.Symbol.Dark(x, y) {
				x++
			}
			if n := x - start; n > 0 {
				k.buf = fmt.Appendf(k.buf, "M%d %dh%dv1h-%dz", start, y, n, n)
			}
		}
	}
	k.say("\"/>\n")
}

// placed writes a panel in its place. A picture inside of the picture cuts what
// leaves it, without a name that another one on the same screen may have, too.
func (k *svg) placed(it layout.Placed) {
	t := placing(it)
	k.say(`<g transform="matrix(`)
	for _, v := range []float64{t.a, t.b, t.c, t.d, t.e, t.f} {
		k.number(v)
		k.say(" ")
	}
	k.say(")\">\n")
	c := it.Clip
	if c != (layout.Rect{}) {
		k.say("<svg")
		k.rect(c.X, c.Y, c.W, c.H)
		k.say(` viewBox="`)
		k.point(c.X, c.Y)
		k.say(" ")
		k.point(c.W, c.H)
		k.say(`" overflow="hidden">` + "\n")
	}
	k.items(it.Panel.All())
	k.areas(it.Panel.Areas)
	if c != (layout.Rect{}) {
		k.say("</svg>\n")
	}
	k.say("</g>\n")
}

func (k *svg) areas(areas []layout.Area) {
	for _, a := range areas {
		k.say(`<rect class="slotcard-area" fill="none" pointer-events="none"`)
		if a.Slot > 0 {
			k.attribute("data-slot", strconv.Itoa(a.Slot))
		}
		if a.Line > 0 {
			k.attribute("data-line", strconv.Itoa(a.Line))
		}
		k.rect(a.X, a.Y, a.W, a.H)
		k.say("/>\n")
	}
}
