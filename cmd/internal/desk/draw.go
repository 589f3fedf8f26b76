package desk

import (
	"html/template"
	"strings"

	"slotcard/layout"
	"slotcard/render"
)

// Drawing is a page of paper as it will print, at true size.
type Drawing struct {
	Label         string
	Width, Height float64 // mm
	SVG           template.HTML
}

// draw draws a page. The faces are those that the desk serves.
func draw(p *layout.Page, label, language string) (Drawing, error) {
	var b strings.Builder
	if err := render.SVG(&b, p, render.SVGOptions{Label: label, Language: language, Linked: true}); err != nil {
		return Drawing{}, err
	}
	// Our own drawing: what a plan says is escaped in it.
	return Drawing{label, p.Width, p.Height, template.HTML(b.String())}, nil
}

// drawPanel draws a side of a card.
func drawPanel(p *layout.Panel, label, language string) (Drawing, error) {
	page := p.Page()
	return draw(&page, label, language)
}
