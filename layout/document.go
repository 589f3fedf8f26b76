// Package layout is a finished layout: a [Document] of pages with items at fixed
// places, in millimeters, which render only inks; with the sizes of paper and type
// and the QR symbols that all papers share. It knows no PDF. The papers are laid
// out in its rooms: cards, sheets, book and impose, in the kit of set, with the
// fixed words of words.
//
// The origin of a page or panel is its top left corner, y grows downwards.
// Text stands on its baseline. Sizes of type are points of the em, rounded to
// 0.01 pt, because that is what a PDF can say.
package layout

import (
	"math"
	"slices"

	"slotcard/fonts"
)

// Document is a finished layout.
type Document struct {
	Title    string
	Subject  string
	Language string // BCP 47, such as en
	Pages    []Page
	Duplex   Duplex // as the pages need it
	Copies   int    // to be printed of the whole, 2 to 5; 0: whoever prints says
}

// Duplex is how front and back come onto a sheet of paper.
type Duplex uint8

const (
	DuplexUnsaid  Duplex = iota // whoever prints says
	Simplex                     // one page on each sheet
	FlipLongEdge                // two, the sheet turned at its long edge
	FlipShortEdge               // two, the sheet turned at its short edge
)

// Page is one side of a sheet of paper, in millimeters.
type Page struct {
	Width, Height float64
	Trim          float64 // how far the trimmed size lies inside of the page on each side
	Items         []Item
	Bookmarks     []Bookmark
	Areas         []Area
}

// Area is a place that stands for something in the plan. It is not printed: a
// screen outlines it, or is asked what stands there.
type Area struct {
	Rect
	Slot int // number in its list; 0: not a slot
	Line int // where the plan's file says it, from 1; 0: nowhere
}

// Bookmark is an entry of the document's outline, at height Y of its page.
type Bookmark struct {
	Title string
	Level int
	Y     float64
}

// Panel is a piece of paper that is laid out once and placed one or many
// times: the back of all cards of one list is a single panel.
type Panel struct {
	Width, Height float64
	Items         []Item // of its own
	Areas         []Area

	// Common is what this panel has in common with others, nil for nothing: it is
	// drawn behind the first CommonAt of the items here. A renderer may draw it once.
	Common   *Panel
	CommonAt int
}

// All are the items of a panel with those in common, in the order of drawing.
func (p *Panel) All() []Item {
	if p.Common == nil {
		return p.Items
	}
	before, behind := p.Apart()
	return slices.Concat(before, p.Common.Items, behind)
}

// Apart are a panel's own items before those in common, and behind them.
func (p *Panel) Apart() (before, behind []Item) {
	if p.Common == nil {
		return p.Items, nil
	}
	return p.Items[:p.CommonAt], p.Items[p.CommonAt:]
}

// Page is the panel as a page of its own.
func (p *Panel) Page() Page {
	return Page{Width: p.Width, Height: p.Height, Items: p.All(), Areas: p.Areas}
}

// Item is one of Text, Line, Box, Shape, Modules and Placed; a panel holds no
// Placed.
type Item interface{ item() }

// Ink is a color. The zero value is black.
type Ink struct{ R, G, B uint8 }

// Black carries everything; White only stands on black.
var (
	Black = Ink{}
	White = Ink{255, 255, 255}
)

// Text is a run of text in one face and size; X is its left end, Y its baseline.
type Text struct {
	X, Y float64
	Face fonts.Face
	Size float64 // pt
	Ink  Ink
	S    string
}

// Width of the run in millimeters.
func (t Text) Width() float64 { return t.Face.Width(t.S, t.Size) }

// Line is a straight rule with butt ends.
type Line struct {
	X1, Y1, X2, Y2 float64
	Weight         float64 // mm
	Dash           float64 // mm of dash and gap; 0: solid
	Ink            Ink
}

// Box is a rectangle, filled, stroked or both. The stroke is centered on the edge.
type Box struct {
	X, Y, W, H float64
	Radius     float64 // of the corners, mm
	Fill       bool
	FillInk    Ink
	Stroke     float64 // weight in mm; 0: none
	StrokeInk  Ink
}

// Shape is a closed path of straight and curved segments: marks that no
// typeface holds. Points are absolute.
type Shape struct {
	Segments  []Segment
	Fill      bool
	FillInk   Ink
	Stroke    float64 // weight in mm; 0: none
	StrokeInk Ink
}

// Segment goes to the point X, Y: Move starts a subpath, Curve is a cubic with
// two control points, otherwise a straight line.
type Segment struct {
	Move, Curve          bool
	X1, Y1, X2, Y2, X, Y float64
}

// Modules is a QR symbol; X, Y is the top left of its first module, without
// the quiet zone.
type Modules struct {
	X, Y   float64
	Module float64 // width of a module, mm
	Symbol *Symbol
	Alt    string // what it is, for somebody who does not see it; "": nothing is said
}

// Placed is a panel on a page, turned by a number of quarter turns clockwise.
// X, Y is the top left corner of the place it takes after turning: Width by
// Height for an even number of turns, Height by Width for an odd one.
type Placed struct {
	X, Y  float64
	Turn  int // quarter turns clockwise, 0 to 3
	Panel *Panel
	Clip  Rect // what shows, in the panel's own millimeters; zero: all of it
}

// Rect is a rectangle by its top left corner and its size, in millimeters.
type Rect struct{ X, Y, W, H float64 }

func (Text) item()    {}
func (Line) item()    {}
func (Box) item()     {}
func (Shape) item()   {}
func (Modules) item() {}
func (Placed) item()  {}

// InkOf is a rectangle that holds all ink of items, close to it; zero where
// there is none.
func InkOf(items []Item) Rect {
	x0, y0, x1, y1 := math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)
	take := func(x, y, margin float64) {
		x0, x1 = min(x0, x-margin), max(x1, x+margin)
		y0, y1 = min(y0, y-margin), max(y1, y+margin)
	}
	for _, it := range items {
		switch it := it.(type) {
		case Text:
			em := it.Size * fonts.PointMM
			take(it.X, it.Y-em, em*0.05)
			take(it.X+it.Width(), it.Y+em*0.32, em*0.05)
		case Line:
			take(it.X1, it.Y1, it.Weight/2)
			take(it.X2, it.Y2, it.Weight/2)
		case Box:
			take(it.X, it.Y, it.Stroke/2)
			take(it.X+it.W, it.Y+it.H, it.Stroke/2)
		case Shape:
			for _, s := range it.Segments {
				take(s.X, s.Y, it.Stroke*5) // a mitred corner reaches ten times half the weight
				if s.Curve {
					take(s.X1, s.Y1, it.Stroke)
					take(s.X2, s.Y2, it.Stroke)
				}
			}
		case Modules:
			side := float64(it.Symbol.Size) * it.Module
			take(it.X, it.Y, 0)
			take(it.X+side, it.Y+side, 0)
		case Placed:
			w, h := it.Panel.Width, it.Panel.Height
			if it.Turn%2 == 1 {
				w, h = h, w
			}
			take(it.X, it.Y, 0)
			take(it.X+w, it.Y+h, 0)
		}
	}
	if x1 < x0 {
		return Rect{}
	}
	return Rect{x0, y0, x1 - x0, y1 - y0}
}
