package layout

import (
	"fmt"
	"strings"
)

// Dump writes a document down as text, an item a line in the order of drawing,
// lengths in mm with two decimals and type in pt: what golden files hold,
// because it reads well, differs little and does not depend on a PDF writer.
// Panels that are placed several times stand once, behind the pages.
func Dump(d *Document) string {
	var b dumper
	b.line("document %q subject %q language %s", d.Title, d.Subject, d.Language)
	for i := range d.Pages {
		p := &d.Pages[i]
		b.line("page %d %.2f x %.2f", i+1, p.Width, p.Height)
		for _, m := range p.Bookmarks {
			b.line("  bookmark level %d y %.2f %q", m.Level, m.Y, m.Title)
		}
		b.items(p.Items)
	}
	for i := 0; i < len(b.panels); i++ {
		p := b.panels[i]
		b.line("panel %d %.2f x %.2f", i+1, p.Width, p.Height)
		b.items(p.All())
	}
	return b.String()
}

type dumper struct {
	strings.Builder
	panels []*Panel
	number map[*Panel]int
}

func (b *dumper) line(format string, args ...any) { fmt.Fprintf(b, format+"\n", args...) }

func (b *dumper) items(items []Item) {
	for _, item := range items {
		switch it := item.(type) {
		case Text:
			b.line("  text %.2f %.2f %s %.2f pt%s %q", it.X, it.Y, it.Face, it.Size, inked(" ink", it.Ink), it.S)
		case Line:
			dash := ""
			if it.Dash > 0 {
				dash = fmt.Sprintf(" dash %.2f", it.Dash)
			}
			b.line("  line %.2f %.2f to %.2f %.2f weight %.2f%s%s", it.X1, it.Y1, it.X2, it.Y2, it.Weight, dash, inked(" ink", it.Ink))
		case Box:
			round := ""
			if it.Radius > 0 {
				round = fmt.Sprintf(" radius %.2f", it.Radius)
			}
			b.line("  box %.2f %.2f size %.2f x %.2f%s%s", it.X, it.Y, it.W, it.H, round, painted(it.Fill, it.FillInk, it.Stroke, it.StrokeInk))
		case Shape:
			var path strings.Builder
			for _, s := range it.Segments {
				switch {
				case s.Move:
					fmt.Fprintf(&path, " M %.2f %.2f", s.X, s.Y)
				case s.Curve:
					fmt.Fprintf(&path, " C %.2f %.2f %.2f %.2f %.2f %.2f", s.X1, s.Y1, s.X2, s.Y2, s.X, s.Y)
				default:
					fmt.Fprintf(&path, " L %.2f %.2f", s.X, s.Y)
				}
			}
			b.line("  shape%s%s", painted(it.Fill, it.FillInk, it.Stroke, it.StrokeInk), path.String())
		case Modules:
			b.line("  modules %.2f %.2f module %.3f size %d level %s %q", it.X, it.Y, it.Module, it.Symbol.Size, it.Symbol.Level, it.Symbol.Payload)
		case Placed:
			if b.number == nil {
				b.number = map[*Panel]int{}
			}
			if b.number[it.Panel] == 0 {
				b.panels = append(b.panels, it.Panel)
				b.number[it.Panel] = len(b.panels)
			}
			clip := ""
			if c := it.Clip; c != (Rect{}) {
				clip = fmt.Sprintf(" clip %.2f %.2f size %.2f x %.2f", c.X, c.Y, c.W, c.H)
			}
			b.line("  placed %.2f %.2f turn %d panel %d%s", it.X, it.Y, it.Turn, b.number[it.Panel], clip)
		}
	}
}

// inked names an ink that is not black.
func inked(label string, i Ink) string {
	if i == Black {
		return ""
	}
	return fmt.Sprintf("%s #%02X%02X%02X", label, i.R, i.G, i.B)
}

func painted(fill bool, fillInk Ink, stroke float64, strokeInk Ink) string {
	s := ""
	if fill {
		s += " fill" + inked("", fillInk)
	}
	if stroke > 0 {
		s += fmt.Sprintf(" stroke %.2f%s", stroke, inked("", strokeInk))
	}
	return s
}
