package main

import (
	"cmp"
	"fmt"
	"slices"

	"slotcard/cmd/internal/voice"
	"slotcard/layout"
	"slotcard/plan"
	"slotcard/plan/finding"
)

// settings are how a plan is printed: what flags, then the plan, ask for.
type settings struct {
	card   layout.Size // zero: the smallest that holds every card
	sheets layout.SheetOptions
	words  *layout.Language
	plain  bool
	copies int
	sort   string
}

// sorts are the keys by which cards can be ordered.
var sorts = map[string]func(*plan.Card) string{
	"team": func(c *plan.Card) string { return c.Unit.Team },
	"unit": func(*plan.Card) string { return "" }, // as in the plan
	"seat": func(c *plan.Card) string { return c.Position.Name },
}

func sortNames() []string { return []string{"unit", "team", "seat"} }

// sidesSaid are how to print the cards, by the way that front and back come
// onto paper.
var sidesSaid = map[layout.Sides]string{
	layout.LongEdge:  "print at actual size, on both sides, flipped on the long edge",
	layout.ShortEdge: "print at actual size, on both sides, flipped on the short edge",
	layout.Fold:      "print at actual size, on one side, fold along the broken line",
	layout.FrontOnly: "fronts only, no codes to scan: print at actual size, on one side",
	layout.EachPage:  "one side of a card a page, front then back: print at actual size",
}

// settingsOf takes what flags and plan ask for. What the plan asks for and
// nobody knows is a finding; flags are checked before.
func settingsOf(r *plan.Resolved, f printFlags) (s settings, found finding.List) {
	c := &r.Plan.Card
	pick := func(key, value string, known []string, what string, ok bool) {
		if value != "" && !ok {
			found.Add(unknownSize(what, value, c.At(key), known))
		}
	}
	var ok bool
	if name := cmp.Or(f.size, c.Size); name != "" {
		s.card, ok = cardSize(name)
		pick("size", name, sizeNames(layout.CardSizes()), "card size", ok)
	}
	s.sheets.Paper, ok = layout.PaperSize(cmp.Or(f.paper, c.Paper, defaultPaper))
	pick("paper", cmp.Or(f.paper, c.Paper), sizeNames(layout.PaperSizes()), "paper", ok)
	s.sheets.Sides, ok = layout.ParseSides(cmp.Or(f.sides, c.Sides, layout.LongEdge.String()))
	pick("sides", cmp.Or(f.sides, c.Sides), layout.SidesNames(), "way to print", ok)
	s.sheets.Order, ok = layout.ParseOrder(cmp.Or(f.order, c.Order, layout.AcrossSheet.String()))
	pick("order", cmp.Or(f.order, c.Order), layout.OrderNames(), "order", ok)
	s.words, ok = layout.Speak(cmp.Or(f.language, c.Language, "en"))
	pick("language", cmp.Or(f.language, c.Language), layout.Languages(), "language", ok)
	s.sheets.Bleed = f.bleed
	if stock := &r.Plan.Stock; stock.Columns > 0 && f.size == "" && s.sheets.Sides != layout.EachPage {
		s.card = layout.Size{Name: fmt.Sprintf("%gx%g", stock.Width, stock.Height), Width: stock.Width, Height: stock.Height}
		s.sheets.Stock = &layout.Stock{Columns: stock.Columns, Rows: stock.Rows, Left: stock.Left, Top: stock.Top, GutterX: stock.GutterX, GutterY: stock.GutterY}
	}
	s.plain, s.copies, s.sort = f.plain, f.copies, f.sort
	return s, found
}

// arrange orders and repeats the cards of a deck as asked for.
func (s settings) arrange(d *layout.Deck) {
	if s.sort != "" {
		d.Sort(sorts[s.sort])
	}
	if s.copies > 1 {
		d.Copies(s.copies)
	}
}

// say is what the cards are printed on, and how to print them.
func (s settings) say(cards int, size string, doc *layout.Document) string {
	what := voice.Count(cards, "card", "cards")
	if s.sheets.Sides == layout.EachPage {
		return fmt.Sprintf("%s of size %s on %s: %s", what, size, voice.Count(len(doc.Pages), "page", "pages"), sidesSaid[s.sheets.Sides])
	}
	return fmt.Sprintf("%s of size %s on %s of %s: %s", what, size, voice.Count(len(doc.Pages), "page", "pages"), s.sheets.Paper.Name, sidesSaid[s.sheets.Sides])
}

// most copies of a card: a slip of a finger should not print a forest.
const mostCopies = 100

// checkSettings refuses values that no flag can have.
func (f printFlags) checkSettings() error {
	switch {
	case f.sides != "" && !slices.Contains(layout.SidesNames(), f.sides):
		return unknown("way to print", f.sides, layout.SidesNames())
	case f.order != "" && !slices.Contains(layout.OrderNames(), f.order):
		return unknown("order", f.order, layout.OrderNames())
	case f.sort != "" && sorts[f.sort] == nil:
		return unknown("order of cards", f.sort, sortNames())
	case f.language != "" && !slices.Contains(layout.Languages(), f.language):
		return unknown("language", f.language, layout.Languages())
	case f.copies < 1 || f.copies > mostCopies:
		return usagef("--copies %d: print 1 to %d copies of each card, such as --copies 2", f.copies, mostCopies)
	case f.bleed < 0 || f.bleed > layout.MostBleed:
		return usagef("--bleed %g: 0 to %g mm, such as --bleed 3", f.bleed, layout.MostBleed)
	case f.bleed > 0 && f.sides != layout.EachPage.String():
		return usagef("--bleed is for one card a page: add --sides each")
	}
	return nil
}
