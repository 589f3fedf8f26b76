package sheets

import (
	"slotcard/layout"
	"slotcard/layout/frame"
	"slotcard/layout/strips"
	"slotcard/layout/words"
	"slotcard/plan"
	"slotcard/plan/changes"
	"slotcard/plan/finding"
)

// StripOptions say how to lay out strips.
type StripOptions struct {
	Paper   layout.Size       // the zero Size: letter
	Words   *words.StripWords // nil: English
	Symbols *layout.Symbols   // made so far; nil: none
}

// StripCount is what became of the cards.
type StripCount struct {
	Cards    int          // that get a strip
	Full     []*plan.Card // that no strip can change
	PerPage  int
	Pages    int  // of strips; behind them stands what is read on the radio
	Scanned  bool // strips carry the code to scan
	Radio    bool
	NoStrips bool // no strip can say it: print the cards
}

// StripCards is how many cards a strip can change.
func StripCards(c *changes.Changes) int {
	if c.Fresh() {
		return 0
	}
	some, _ := strips.Of(c)
	return len(some)
}

// Strips lays out the strips of all cards that change, and behind them the page that
// is read on the radio. There is no document where no strip can say it.
func Strips(c *changes.Changes, o StripOptions) (*layout.Document, StripCount, finding.List) {
	frame.Settle(&o.Paper, &o.Words, &words.EnglishStrips)
	if o.Symbols == nil {
		o.Symbols = new(layout.Symbols)
	}
	some, full := strips.Of(c)
	n := StripCount{Cards: len(some)}
	for _, s := range full {
		n.Full = append(n.Full, s.Card.New)
	}
	if c.Fresh() || len(some) == 0 {
		n.NoStrips = true
		return nil, n, nil
	}
	d, perPage, scanned, findings := strips.Lay(c, strips.Options(o), some)
	if d == nil {
		return nil, n, findings
	}
	n.Pages, n.PerPage, n.Scanned = len(d.Pages), perPage, scanned
	radio, findings := radioPage(c, o, some, full)
	if radio == nil {
		return nil, n, findings
	}
	n.Radio = true
	d.Pages = append(d.Pages, radio.Pages...)
	d.Title, d.Subject, d.Language = radio.Title, radio.Subject, radio.Language
	return d, n, nil
}
