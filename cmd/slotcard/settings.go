package main

import (
	"cmp"
	"fmt"
	"slices"

	"slotcard/cmd/internal/voice"
	"slotcard/layout"
	"slotcard/layout/cards"
	"slotcard/layout/impose"
	"slotcard/layout/words"
	"slotcard/plan"
	"slotcard/plan/finding"
)

// settings are how a plan is printed: what flags, then the plan, ask for.
type settings struct {
	card   layout.Size // zero: the smallest that holds every card
	sheets impose.Options
	words  *words.Language
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
var sidesSaid = map[impose.Sides]string{
	impose.LongEdge:  "print at actual size, on both sides, flipped on the long edge",
	impose.ShortEdge: "print at actual size, on both sides, flipped on the short edge",
	impose.Fold:      "print at actual size, on one side, fold along the broken line",
	impose.FrontOnly: "fronts only, no codes to scan: print at actual size, on one side",
	impose.EachPage:  "one side of a card on each page, front then back: print at actual size",
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
	s.sheets.Sides, ok = impose.ParseSides(cmp.Or(f.sides, c.Sides, impose.LongEdge.String()))
	pick("sides", cmp.Or(f.sides, c.Sides), impose.SidesNames(), "way to print", ok)
	s.sheets.Order, ok = impose.ParseOrder(cmp.Or(f.order, c.Order, impose.AcrossSheet.String()))
	pick("order", cmp.Or(f.order, c.Order), impose.OrderNames(), "order", ok)
	s.words, ok = words.Speak(cmp.Or(f.language, c.Language, "en"))
	pick("language", cmp.Or(f.language, c.Language), words.Languages(), "language", ok)
	s.sheets.Bleed = f.bleed
	if stock := &r.Plan.Stock; stock.Columns > 0 && f.size == "" && s.sheets.Sides != impose.EachPage {
		s.card = layout.Size{Name: fmt.Sprintf("%gx%g", stock.Width, stock.Height), Width: stock.Width, Height: stock.Height}
		s.sheets.Stock = &impose.Stock{Columns: stock.Columns, Rows: stock.Rows, Left: stock.Left, Top: stock.Top, GutterX: stock.GutterX, GutterY: stock.GutterY}
	}
	s.plain, s.copies, s.sort = f.plain, f.copies, f.sort
	return s, found
}

// arrange orders and repeats the cards of a deck as asked for.
func (s settings) arrange(d *cards.Deck) {
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
	if s.sheets.Sides == impose.EachPage {
		return fmt.Sprintf("%s of size %s on %s: %s", what, size, voice.Count(len(doc.Pages), "page", "pages"), sidesSaid[s.sheets.Sides])
	}
	return fmt.Sprintf("%s of size %s on %s of %s: %s", what, size, voice.Count(len(doc.Pages), "page", "pages"), s.sheets.Paper.Name, sidesSaid[s.sheets.Sides])
}

// most copies of a card: a slip of a finger should not print a forest.
const mostCopies = 100

// checkSettings refuses values that no flag can have.
func (f printFlags) checkSettings() error {
	switch {
	case f.sides != "" && !slices.Contains(impose.SidesNames(), f.sides):
		return unknown("way to print", f.sides, impose.SidesNames())
	case f.order != "" && !slices.Contains(impose.OrderNames(), f.order):
		return unknown("order", f.order, impose.OrderNames())
	case f.sort != "" && sorts[f.sort] == nil:
		return unknown("order of cards", f.sort, sortNames())
	case f.language != "" && !slices.Contains(words.Languages(), f.language):
		return unknown("language", f.language, words.Languages())
	case f.copies < 1 || f.copies > mostCopies:
		return usagef("--copies %d: print 1 to %d copies of each card, such as --copies 2", f.copies, mostCopies)
	case f.bleed < 0 || f.bleed > impose.MostBleed:
		return usagef("--bleed %g: 0 to %g mm, such as --bleed 3", f.bleed, impose.MostBleed)
	case f.bleed > 0 && f.sides != impose.EachPage.String():
		return usagef("--bleed is for one card a page: add --sides each")
	}
	return nil
}
