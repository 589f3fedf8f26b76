package layout_test

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"sync"

	"golang.org/x/image/font"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"

	"slotcard/fonts"
	"slotcard/layout"
)

// rect is a field of ink, mm.
type rect struct{ x0, y0, x1, y1 float64 }

func (r rect) String() string { return fmt.Sprintf("(%.2f,%.2f)-(%.2f,%.2f)", r.x0, r.y0, r.x1, r.y1) }

func (r rect) overlaps(s rect) bool {
	const touch = 0.01 // mm
	return r.x0 < s.x1-touch && s.x0 < r.x1-touch && r.y0 < s.y1-touch && s.y0 < r.y1-touch
}

func (r rect) inside(s rect) bool {
	const touch = 0.01 // mm
	return r.x0 >= s.x0-touch && r.y0 >= s.y0-touch && r.x1 <= s.x1+touch && r.y1 <= s.y1+touch
}

func (r rect) grow(d float64) rect { return rect{r.x0 - d, r.y0 - d, r.x1 + d, r.y1 + d} }

var parsed = sync.OnceValue(func() map[fonts.Face]*sfnt.Font {
	m := map[fonts.Face]*sfnt.Font{}
	for _, f := range fonts.All() {
		parsed, err := sfnt.Parse(f.Data())
		if err != nil {
			panic(err)
		}
		m[f] = parsed
	}
	return m
})

var glyphs sync.Map // glyphKey -> extent

type glyphKey struct {
	face fonts.Face
	r    rune
}

// extent of a glyph's ink above and below the baseline, in em.
type extent struct{ up, down float64 }

// inkOf is the field that a text's glyphs really darken, by the outlines in
// the font file: an independent measure of what the layout believes.
func inkOf(t layout.Text) rect {
	em := t.Size * fonts.PointMM
	up, down := 0.0, 0.0
	for _, r := range t.S {
		key := glyphKey{t.Face, r}
		e, ok := glyphs.Load(key)
		if !ok {
			f := parsed()[t.Face]
			var buf sfnt.Buffer
			g, err := f.GlyphIndex(&buf, r)
			if err != nil || g == 0 {
				panic(fmt.Sprintf("%s has no %q", t.Face, r))
			}
			b, _, err := f.GlyphBounds(&buf, g, fixed.I(1000), font.HintingNone)
			if err != nil {
				panic(err)
			}
			e = extent{-float64(b.Min.Y) / 64000, float64(b.Max.Y) / 64000}
			glyphs.Store(key, e)
		}
		up, down = math.Max(up, e.(extent).up), math.Max(down, e.(extent).down)
	}
	return rect{t.X, t.Y - up*em, t.X + t.Width(), t.Y + down*em}
}

// inspected is a panel taken apart.
type inspected struct {
	texts   []layout.Text
	inks    []rect // of the texts
	modules []rect // of QR symbols, without quiet zone
	quiet   []rect // of QR symbols, with quiet zone
	symbols []layout.Modules
	other   []rect // lines, boxes, shapes
}

func inspect(p *layout.Panel) inspected {
	var in inspected
	for _, item := range p.All() {
		switch it := item.(type) {
		case layout.Text:
			in.texts = append(in.texts, it)
			in.inks = append(in.inks, inkOf(it))
		case layout.Modules:
			side := float64(it.Symbol.Size) * it.Module
			m := rect{it.X, it.Y, it.X + side, it.Y + side}
			in.modules = append(in.modules, m)
			in.quiet = append(in.quiet, m.grow(layout.QuietModules*it.Module))
			in.symbols = append(in.symbols, it)
		case layout.Line:
			r := rect{math.Min(it.X1, it.X2), math.Min(it.Y1, it.Y2), math.Max(it.X1, it.X2), math.Max(it.Y1, it.Y2)}
			switch h := it.Weight / 2; {
			case it.Y1 == it.Y2: // butt ends
				r.y0, r.y1 = r.y0-h, r.y1+h
			case it.X1 == it.X2:
				r.x0, r.x1 = r.x0-h, r.x1+h
			default:
				r = r.grow(h)
			}
			in.other = append(in.other, r)
		case layout.Box:
			in.other = append(in.other, rect{it.X, it.Y, it.X + it.W, it.Y + it.H}.grow(it.Stroke/2))
		case layout.Shape:
			r := rect{math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)}
			for _, s := range it.Segments {
				r = rect{math.Min(r.x0, s.X), math.Min(r.y0, s.Y), math.Max(r.x1, s.X), math.Max(r.y1, s.Y)}
			}
			in.other = append(in.other, r)
		}
	}
	return in
}

// faults of a panel of the given size that any paper may have: ink outside,
// texts over each other, type too small, a symbol without its quiet zone.
func (in inspected) faults(size layout.Size) (faults []string) {
	say := func(format string, args ...any) { faults = append(faults, fmt.Sprintf(format, args...)) }
	trim := rect{0, 0, size.Width, size.Height}
	safe := trim.grow(-layout.Safe)
	for i, t := range in.texts {
		if ink := in.inks[i]; !ink.inside(safe) {
			say("%q at %s lies outside of the safe area %s", t.S, ink, safe)
		}
		if c := fonts.CapMM(t.Size); c < layout.CapLeast-1e-9 {
			say("%q has capitals of %.3f mm", t.S, c)
		}
		for j := range i {
			if in.inks[i].overlaps(in.inks[j]) {
				say("%q %s overlaps %q %s", t.S, in.inks[i], in.texts[j].S, in.inks[j])
			}
		}
	}
	for k, q := range in.quiet {
		if !in.modules[k].inside(safe) || !q.inside(trim) {
			say("the symbol %s leaves the card", q)
		}
		if m := in.symbols[k].Module; m < layout.LeastModule-1e-9 {
			say("a module is %.3f mm", m)
		}
		for i, t := range in.texts {
			if q.overlaps(in.inks[i]) {
				say("%q %s stands in the quiet zone %s", t.S, in.inks[i], q)
			}
		}
		for _, o := range in.other {
			if q.overlaps(o) {
				say("ink at %s stands in the quiet zone %s", o, q)
			}
		}
	}
	for _, o := range in.other {
		if !o.inside(trim) {
			say("ink at %s leaves the card", o)
		}
	}
	return faults
}

// says tells whether a run of text is s or, for what is more than a number,
// holds it; a sentence may run over lines.
func (in inspected) says(s string) bool {
	var all []string
	for _, t := range in.texts {
		if t.S == s || len(s) > 2 && strings.Contains(t.S, s) || slices.Contains(strings.FieldsFunc(t.S, notWord), s) {
			return true
		}
		all = append(all, t.S)
	}
	return strings.Contains(s, " ") && strings.Contains(strings.Join(all, " "), s)
}

func notWord(r rune) bool { return r == ' ' || r == ',' }
