// Package render inks a finished layout: [PDF] writes a document, [PNG] a
// picture of one page and [Image] the picture itself. Nothing is measured or
// moved here.
//
// A document that cannot be drawn as it stands is an error that names the page
// and the text or the item, and nothing is written: a character that the
// typeface lacks would otherwise come out as an empty box.
package render

import (
	"fmt"
	"math"
	"math/bits"
	"unicode"
	"unicode/utf8"

	"slotcard/fonts"
	"slotcard/layout"
)

// maxSide is the longest side of a page, mm: 14400 points, the limit of
// readers of PDF up to version 1.7 (ISO 32000-1 annex C; from memory).
const maxSide = 14400 * fonts.PointMM

// checker finds what cannot be drawn, and notes the characters that can. Panels that
// are placed many times are looked at once, and so is each character of a face.
type checker struct {
	panels map[*layout.Panel]bool
	runes  [faceCount]*plane // nil: nothing is said in the face
}

const faceCount = int(fonts.MonoBold) + 1

// plane are characters of the basic multilingual plane, a bit each; no face goes beyond.
type plane [1 << 16 / 64]uint64

func (p *plane) has(r rune) bool { return int(r/64) < len(p) && p[r/64]&(1<<(r%64)) != 0 }
func (p *plane) add(r rune)      { p[r/64] |= 1 << (r % 64) }

// all are the characters of the plane in order.
func (p *plane) all() (runes []rune) {
	for i, left := range p {
		for ; left != 0; left &= left - 1 {
			runes = append(runes, rune(i*64+bits.TrailingZeros64(left)))
		}
	}
	return runes
}

// checkPage returns the first reason why a page cannot be drawn.
func checkPage(p *layout.Page) error { return new(checker).page(p) }

func (c *checker) page(p *layout.Page) error {
	if !finite(p.Width, p.Height) || p.Width <= 0 || p.Height <= 0 || p.Width > maxSide || p.Height > maxSide {
		return fmt.Errorf("a page of %g by %g mm cannot be drawn", p.Width, p.Height)
	}
	for _, b := range p.Bookmarks {
		if !finite(b.Y) {
			return fmt.Errorf("bookmark %q stands at no place", b.Title)
		}
		if err := checkText(b.Title, fonts.All()...); err != nil {
			return fmt.Errorf("bookmark %w", err)
		}
	}
	return c.items(p.Items, true)
}

// panel checks the items of a panel that it has not checked before.
func (c *checker) panel(p *layout.Panel) error {
	if c.panels[p] {
		return nil
	}
	if c.panels == nil {
		c.panels = map[*layout.Panel]bool{}
	}
	c.panels[p] = true
	if common := p.Common; common != nil {
		if p.CommonAt < 0 || p.CommonAt > len(p.Items) {
			return fmt.Errorf("what a panel has in common with others stands at no place in it")
		}
		if common.Common != nil {
			return fmt.Errorf("what panels have in common has itself something in common")
		}
		if err := c.panel(common); err != nil {
			return err
		}
	}
	before, behind := p.Apart()
	if err := c.items(before, false); err != nil {
		return err
	}
	return c.items(behind, false)
}

func (c *checker) items(items []layout.Item, onPage bool) error {
	for _, it := range items {
		if err := c.item(it, onPage); err != nil {
			return err
		}
	}
	return nil
}

func (c *checker) item(it layout.Item, onPage bool) error {
	switch it := it.(type) {
	case layout.Text:
		if !finite(it.X, it.Y, it.Size) || it.Size <= 0 {
			return fmt.Errorf("text %q stands at %g, %g mm in %g pt", it.S, it.X, it.Y, it.Size)
		}
		if err := c.text(it); err != nil {
			return fmt.Errorf("text %w", err)
		}
	case layout.Line:
		if !finite(it.X1, it.Y1, it.X2, it.Y2, it.Weight, it.Dash) || it.Weight <= 0 || it.Dash < 0 {
			return fmt.Errorf("a line from %g, %g to %g, %g mm has weight %g and dash %g mm",
				it.X1, it.Y1, it.X2, it.Y2, it.Weight, it.Dash)
		}
	case layout.Box:
		if !finite(it.X, it.Y, it.W, it.H, it.Radius, it.Stroke) || it.W < 0 || it.H < 0 || it.Radius < 0 || it.Stroke < 0 {
			return fmt.Errorf("a box at %g, %g mm is %g by %g mm with radius %g and stroke %g mm",
				it.X, it.Y, it.W, it.H, it.Radius, it.Stroke)
		}
	case layout.Shape:
		if !finite(it.Stroke) || it.Stroke < 0 {
			return fmt.Errorf("a shape has a stroke of %g mm", it.Stroke)
		}
		for i, s := range it.Segments {
			if !finite(s.X1, s.Y1, s.X2, s.Y2, s.X, s.Y) {
				return fmt.Errorf("segment %d of a shape goes to %g, %g mm", i+1, s.X, s.Y)
			}
			if i == 0 && !s.Move {
				return fmt.Errorf("a shape begins at no place")
			}
		}
	case layout.Modules:
		if !finite(it.X, it.Y, it.Module) || it.Module <= 0 || it.Symbol == nil || it.Symbol.Size <= 0 {
			return fmt.Errorf("a QR code at %g, %g mm with modules of %g mm holds nothing", it.X, it.Y, it.Module)
		}
		if !utf8.ValidString(it.Alt) {
			return fmt.Errorf("a QR code at %g, %g mm is described by %q, which is not valid UTF-8", it.X, it.Y, it.Alt)
		}
	case layout.Placed:
		if !onPage {
			return fmt.Errorf("a panel stands inside another one at %g, %g mm", it.X, it.Y)
		}
		if it.Panel == nil || !finite(it.X, it.Y, it.Panel.Width, it.Panel.Height) || it.Turn < 0 || it.Turn > 3 {
			return fmt.Errorf("a panel at %g, %g mm, turned %d times, cannot be placed", it.X, it.Y, it.Turn)
		}
		if c := it.Clip; !finite(c.X, c.Y, c.W, c.H) || c != (layout.Rect{}) && (c.W <= 0 || c.H <= 0) {
			return fmt.Errorf("a panel at %g, %g mm is cut to %g by %g mm", it.X, it.Y, c.W, c.H)
		}
		return c.panel(it.Panel)
	default:
		return fmt.Errorf("an item of type %T cannot be drawn", it)
	}
	return nil
}

// text checks the characters of a text that were not seen before in its face.
func (c *checker) text(it layout.Text) error {
	if c.runes[it.Face] == nil {
		c.runes[it.Face] = new(plane)
	}
	seen := c.runes[it.Face]
	known := utf8.ValidString(it.S)
	for _, r := range it.S {
		known = known && seen.has(r)
	}
	if known {
		return nil
	}
	if err := checkText(it.S, it.Face); err != nil {
		return err
	}
	for _, r := range it.S {
		seen.add(r)
	}
	return nil
}

// checkText returns why a text cannot be drawn with the faces. The error
// begins with the text.
func checkText(s string, faces ...fonts.Face) error {
	if !utf8.ValidString(s) {
		return fmt.Errorf("%q is not valid UTF-8", s)
	}
	for _, r := range s {
		if r > unicode.MaxASCII && unicode.In(r, unicode.Mn, unicode.Me, unicode.Cf) {
			return fmt.Errorf("%q holds %U, which changes its neighbors and cannot be drawn alone", s, r)
		}
		for _, f := range faces {
			if !f.Has(r) {
				return fmt.Errorf("%q holds %s, which the typeface cannot draw", s, named(r))
			}
		}
	}
	return nil
}

// named is a character as a message shows it.
func named(r rune) string {
	if unicode.IsPrint(r) {
		return fmt.Sprintf("%q (%U)", string(r), r)
	}
	return fmt.Sprintf("%U", r)
}

// finite tells whether lengths are numbers that a page can have to do with:
// a hundred meters at most.
func finite(vs ...float64) bool {
	for _, v := range vs {
		if !(math.Abs(v) <= 1e5) { // so that NaN fails
			return false
		}
	}
	return true
}

// affine maps the point u, v to a·u + c·v + e, b·u + d·v + f, in millimeters
// with y downwards.
type affine struct{ a, b, c, d, e, f float64 }

// placing maps a panel's own millimeters to those of its page.
func placing(p layout.Placed) affine {
	w, h := p.Panel.Width, p.Panel.Height
	switch p.Turn {
	case 1:
		return affine{0, 1, -1, 0, p.X + h, p.Y}
	case 2:
		return affine{-1, 0, 0, -1, p.X + w, p.Y + h}
	case 3:
		return affine{0, -1, 1, 0, p.X, p.Y + w}
	}
	return affine{1, 0, 0, 1, p.X, p.Y}
}

func (t affine) apply(u, v float64) (x, y float64) {
	return t.a*u + t.c*v + t.e, t.b*u + t.d*v + t.f
}

// kappa places the control points of a quarter circle drawn as a cubic.
const kappa = 0.5522847498307936

// outline is the edge of a box, with its corners rounded, as segments.
func outline(x, y, w, h, r float64) []layout.Segment {
	r = math.Min(r, math.Min(w, h)/2)
	if r <= 0 {
		return []layout.Segment{{Move: true, X: x, Y: y}, {X: x + w, Y: y}, {X: x + w, Y: y + h}, {X: x, Y: y + h}}
	}
	k := r * (1 - kappa)
	return []layout.Segment{
		{Move: true, X: x + r, Y: y},
		{X: x + w - r, Y: y},
		{Curve: true, X1: x + w - k, Y1: y, X2: x + w, Y2: y + k, X: x + w, Y: y + r},
		{X: x + w, Y: y + h - r},
		{Curve: true, X1: x + w, Y1: y + h - k, X2: x + w - k, Y2: y + h, X: x + w - r, Y: y + h},
		{X: x + r, Y: y + h},
		{Curve: true, X1: x + k, Y1: y + h, X2: x, Y2: y + h - k, X: x, Y: y + h - r},
		{X: x, Y: y + r},
		{Curve: true, X1: x, Y1: y + k, X2: x + k, Y2: y, X: x + r, Y: y},
	}
}
