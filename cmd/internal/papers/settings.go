package papers

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"slotcard/cmd/internal/voice"
	"slotcard/layout"
	"slotcard/layout/cards"
	"slotcard/layout/impose"
	"slotcard/layout/words"
	"slotcard/plan"
	"slotcard/plan/finding"
	"slotcard/plan/tomlfile"
)

// settings are how a plan is printed: what flags, then the plan, ask for.
type settings struct {
	card     layout.Size // zero: the one that serves best
	sheets   impose.Options
	words    *words.Language
	language string // of those words, BCP 47
	plain    bool
	flagWins bool // the size under [card] does not count
	copies   int
	sort     string
}

// sorts are the keys by which cards can be ordered.
var sorts = map[string]func(*plan.Card) string{
	"team": func(c *plan.Card) string { return c.Unit.Team },
	"unit": func(*plan.Card) string { return "" }, // as in the plan
	"seat": func(c *plan.Card) string { return c.Position.Name },
}

// sortNames are the keys by which cards can be ordered, the usual one first.
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
func settingsOf(r *plan.Resolved, f *Request) (s settings, found finding.List) {
	c := &r.Plan.Card
	pick := func(key, value string, known []string, what string, ok bool) {
		if value != "" && !ok {
			found.Add(unknownSize(what, value, c.At(key), known))
		}
	}
	var ok bool
	if name := cmp.Or(f.Size, c.Size); name != "" {
		s.card, ok = cardSize(name)
		pick("size", name, SizeNames(layout.CardSizes()), "card size", ok)
	}
	s.sheets.Paper, ok = layout.PaperSize(cmp.Or(f.Paper, c.Paper, layout.DefaultPaper))
	pick("paper", cmp.Or(f.Paper, c.Paper), SizeNames(layout.PaperSizes()), "paper", ok)
	s.sheets.Sides, ok = impose.ParseSides(cmp.Or(f.Sides, c.Sides, impose.LongEdge.String()))
	pick("sides", cmp.Or(f.Sides, c.Sides), impose.SidesNames(), "way to print", ok)
	s.sheets.Order, ok = impose.ParseOrder(cmp.Or(f.Order, c.Order, impose.AcrossSheet.String()))
	pick("order", cmp.Or(f.Order, c.Order), impose.OrderNames(), "order", ok)
	s.language = cmp.Or(f.Language, c.Language, "en")
	s.words, ok = words.Speak(s.language)
	pick("language", cmp.Or(f.Language, c.Language), words.Languages(), "language", ok)
	s.sheets.Bleed = f.Bleed
	s.sheets.Edge = cmp.Or(f.Edge, c.Edge)
	if stock := &r.Plan.Stock; stock.Columns > 0 && f.Size == "" && s.sheets.Sides != impose.EachPage {
		s.card = layout.Size{Name: fmt.Sprintf("%gx%g", stock.Width, stock.Height), Width: stock.Width, Height: stock.Height}
		s.sheets.Stock = &impose.Stock{Columns: stock.Columns, Rows: stock.Rows, Left: stock.Left, Top: stock.Top, GutterX: stock.GutterX, GutterY: stock.GutterY}
	}
	roll, err := f.roll(c)
	if err != nil { // flags are checked before
		found.Add(finding.Finding{Rule: tomlfile.RuleBadValue, Severity: finding.Error, Place: c.At("roll"), Subject: c.Roll, Message: err.Error(),
			Help: []string{"correct what stands under [card], or print on sheets of paper: --roll none"}})
	}
	if roll != nil {
		s.sheets.Roll, s.sheets.Stock = roll, nil
		if f.Size == "" && f.Roll != "" || c.Size == "" && f.Size == "" {
			s.card = layout.Size{} // one that fills it
		}
	}
	s.flagWins = f.Size != "" || s.sheets.Stock != nil || roll != nil && f.Roll != ""
	s.plain, s.copies, s.sort = f.Plain, f.Copies, f.Sort
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

// cards are the options by which cards are laid out: where no size is asked for, in
// the one that holds everything on the fewest sheets, or of a roll on the shortest label.
func (s settings) cards() cards.Options {
	o := cards.Options{Size: s.card, Words: &s.words.Card, Plain: s.plain, FlagWins: s.flagWins, FrontsOnly: s.sheets.Sides == impose.FrontOnly}
	if roll := s.sheets.Roll; roll != nil {
		o.Sizes, o.Dot = impose.RollSizes(roll), roll.Dot()
	}
	if s.sheets.Sides != impose.EachPage || s.sheets.Roll != nil {
		o.Sheets = func(size layout.Size, n int) int { return impose.Sheets(size, n*max(s.copies, 1), s.sheets) }
		o.Elsewhere = func(size layout.Size) (what, flag string) { return impose.Elsewhere(size, s.sheets) }
	}
	return o
}

// say is what the cards are printed on, what they have no room for, what the next
// best size would take, and how to print them.
func (s settings) say(d *cards.Deck, doc *layout.Document) string {
	on := voice.Count(len(doc.Pages), "page", "pages")
	what := fmt.Sprintf("%s of size %s%s", voice.Count(len(d.Faces), "card", "cards"), d.Size.Name, without(d.Omits))
	if len(d.Omits) > 0 {
		what += ","
	}
	if roll := s.sheets.Roll; roll != nil {
		sides := "front, then back"
		if s.sheets.Sides == impose.FrontOnly {
			sides = "fronts only, no codes to scan"
		}
		return fmt.Sprintf("%s on %s for %s, %s: print at actual size on a printer of %d dots an inch", what, on, roll, sides, roll.DPI)
	}
	if s.sheets.Sides != impose.EachPage {
		on += " of " + s.sheets.Paper.Name
	}
	said := what + " on " + on
	if n := d.Next; n != nil && n.Sheets > 0 {
		pages := n.Sheets
		if s.sheets.Sides == impose.LongEdge || s.sheets.Sides == impose.ShortEdge {
			pages *= 2
		}
		said += fmt.Sprintf(" (%s%s: %d)", n.Size.Name, without(n.Omits), pages)
	}
	said += ": " + sidesSaid[s.sheets.Sides]
	if s.sheets.Edge > 0 && s.sheets.Edge < layout.PrintEdge {
		said += fmt.Sprintf(", by a printer that reaches to within %g mm of the edge of the paper", s.sheets.Edge)
	}
	return said
}

// nearer says how many pages less the cards take by a printer that reaches nearer to the
// edge of the paper; "" where that saves nothing.
func (s settings) nearer(d *cards.Deck) string {
	edge, per := impose.Nearer(d.Size, s.sheets)
	now := impose.Sheets(d.Size, len(d.Faces), s.sheets)
	if per == 0 || (len(d.Faces)+per-1)/per >= now {
		return ""
	}
	sheets := (len(d.Faces) + per - 1) / per
	return fmt.Sprintf("the cards go on %s in place of %d, %d on each, by a printer that reaches to within %g mm of the edge of the paper: --edge %g",
		voice.Count(sheets, "sheet", "sheets"), now, per, edge, edge)
}

// without says what cards have no room for.
func without(omits []cards.Omission) string {
	if len(omits) == 0 {
		return ""
	}
	said := make([]string, len(omits))
	for i, o := range omits {
		said[i] = string(o)
	}
	return ", without " + strings.Join(said, ", ")
}

// most copies of a card: a slip of a finger should not print a forest.
const mostCopies = 100

// checkSettings refuses values that no flag can have.
func (f *Request) checkSettings() error {
	switch {
	case f.Sides != "" && !slices.Contains(impose.SidesNames(), f.Sides):
		return voice.Unknown("way to print", f.Sides, impose.SidesNames())
	case f.Order != "" && !slices.Contains(impose.OrderNames(), f.Order):
		return voice.Unknown("order", f.Order, impose.OrderNames())
	case f.Sort != "" && sorts[f.Sort] == nil:
		return voice.Unknown("order of cards", f.Sort, sortNames())
	case f.Language != "" && f.Words != "":
		return voice.Usagef("leave out --language: the table of --words says which it is")
	case f.Language != "" && !slices.Contains(words.Languages(), f.Language):
		return voice.Unknown("language", f.Language, words.Languages())
	case f.Copies < 1 || f.Copies > mostCopies:
		return voice.Usagef("--copies %d: print 1 to %d copies of each card, such as --copies 2", f.Copies, mostCopies)
	case f.Bleed < 0 || f.Bleed > impose.MostBleed:
		return voice.Usagef("--bleed %g: 0 to %g mm, such as --bleed 3", f.Bleed, impose.MostBleed)
	case f.Bleed > 0 && f.Sides != impose.EachPage.String():
		return voice.Usagef("--bleed is for one card a page: add --sides each")
	case f.asks("edge") && !(f.Edge >= impose.LeastEdge && f.Edge <= impose.MostEdge):
		return voice.Usagef("--edge %g: %g to %g mm, such as --edge 5", f.Edge, impose.LeastEdge, impose.MostEdge)
	case f.asks("dpi") && (f.DPI < layout.LeastDPI || f.DPI > layout.MostDPI):
		return voice.Usagef("--dpi %d: %d to %d, such as 203 or 300", f.DPI, layout.LeastDPI, layout.MostDPI)
	case !(f.Gap >= 0 && f.Gap <= layout.MostGap):
		return voice.Usagef("--gap %g: 0 to %g mm, such as --gap 3", f.Gap, layout.MostGap)
	}
	return nil
}

// noRoll is the roll that stands for sheets of paper, where a plan asks for a roll.
const noRoll = "none"

// roll is the roll of labels that flags, then the plan, ask for; nil: none.
func (f *Request) roll(c *plan.CardOptions) (*layout.Roll, error) {
	said := cmp.Or(f.Roll, c.Roll)
	if said == "" || said == noRoll {
		if f.asks("gap") || f.asks("dpi") {
			return nil, voice.Usagef("--gap and --dpi are for a roll of labels: add --roll 62 or --roll 4x6in")
		}
		return nil, nil
	}
	r := &layout.Roll{Gap: f.Gap, DPI: cmp.Or(f.DPI, c.DPI)}
	if !f.asks("gap") && f.Roll == "" {
		r.Gap = c.Gap
	}
	size, unit := strings.ToLower(strings.ReplaceAll(said, " ", "")), 1.0
	if inches, ok := strings.CutSuffix(size, "in"); ok {
		size, unit = inches, layout.Inch
	}
	sides := strings.Split(strings.TrimSuffix(size, "mm"), "x")
	var mm [2]float64
	for i, side := range sides {
		v, err := strconv.ParseFloat(side, 64)
		if v *= unit; err != nil || i > 1 || !(v >= layout.LeastRoll && v <= layout.MostRoll) {
			return nil, voice.Usagef("roll %s: the width of an endless roll, or width x height of its labels, each %g to %g mm, such as 62 or 102x152 or 4x6in",
				voice.Typed(said), layout.LeastRoll, layout.MostRoll)
		}
		mm[i] = v
	}
	r.Width, r.Height = mm[0], mm[1]
	switch {
	case r.DPI == 0:
		return nil, voice.Usagef("say how many dots an inch the printer of the roll prints: --dpi 203 or --dpi 300, as its data sheet says, or dpi = 203 under [card]; the code is made of whole dots")
	case f.asks("gap") && r.Height > 0:
		return nil, voice.Usagef("--gap is for an endless roll; labels of a size have their own")
	case f.Sides != "" && f.Sides != impose.EachPage.String() && f.Sides != impose.FrontOnly.String():
		return nil, voice.Usagef("a roll takes a side of a card a page: leave out --sides, or print --sides front")
	case f.Bleed > 0:
		return nil, voice.Usagef("--bleed is for card printers, not for rolls")
	}
	if r.Height > 0 {
		r.Gap = 0
	}
	return r, nil
}
