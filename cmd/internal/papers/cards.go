package papers

import (
	"fmt"
	"slices"

	"slotcard/layout"
	"slotcard/layout/cards"
	"slotcard/layout/impose"
	"slotcard/plan/finding"
	"slotcard/plan/numbers"
)

func init() { register(10, cardsPaper) }

// cardsPaper is the deck: a card for every seat.
func cardsPaper() *Paper {
	return &Paper{Name: "cards", What: "the cards", deals: true, ofSome: true, sheet: cardSheets}
}

func cardSheets(j *Job) *Sheet {
	chosen := j.Before.cards(j.Plan)
	if !slices.ContainsFunc(chosen.Cards, j.some.has) {
		return nil
	}
	var deck *cards.Deck
	on, roll := j.set.sheets.Paper.Name, j.set.sheets.Roll
	if roll != nil {
		on = roll.String()
	}
	return &Sheet{
		Name:      "cards" + j.some.suffix(),
		Paper:     on,
		BothSides: roll == nil && j.set.sheets.Sides != impose.Fold && j.set.sheets.Sides != impose.FrontOnly,
		lay: func() (doc *layout.Document, found finding.List, err error) {
			if deck, found = j.Deal(); deck == nil {
				return nil, found, nil
			}
			doc, err = impose.Cards(deck, j.set.sheets)
			return doc, found, err
		},
		say: func(d *layout.Document) string {
			return j.set.say(len(deck.Faces), deck.Size.Name, d)
		},
		pictures: func(*layout.Document) []picture { return cardPictures(deck) },
	}
}

// Deal lays out the cards that are asked for, in their order, before they come onto
// paper. Where they do not fit, the deck is nil.
func (j *Job) Deal() (*cards.Deck, finding.List) {
	chosen := j.Before.cards(j.Plan)
	o := cards.Options{Size: j.set.card, Words: &j.set.words.Card, Plain: j.set.plain, Symbols: j.symbols,
		Changes: j.Before.marks(), Done: j.voice.Progress("cards", len(chosen.Cards))}
	sizes := []layout.Size{o.Size}
	if roll := j.set.sheets.Roll; roll != nil && o.Size == (layout.Size{}) {
		sizes = roll.Sizes()
	}
	var deck *cards.Deck
	var found finding.List
	for _, o.Size = range sizes {
		if deck, found = cards.Deal(chosen, o); deck != nil {
			break
		}
	}
	if deck != nil {
		j.some.keep(deck)
		j.set.arrange(deck)
	}
	return deck, found
}

// phonePixels are across the picture of a card: a phone held level shows it dot
// by dot.
const phonePixels = 1440

// phoneDPI is the resolution at which a card is as wide as a phone's screen.
func phoneDPI(d *cards.Deck) float64 { return phonePixels / (d.Size.Width / 25.4) }

// cardPictures are the two sides of every card, by the number on the card and its
// seat: "-07-engine-611-firefighter-2-front".
func cardPictures(d *cards.Deck) []picture {
	pics := make([]picture, 0, 2*len(d.Faces))
	backs := map[*layout.Panel]*layout.Page{} // cards of a list share theirs
	last := 0
	for _, f := range d.Faces {
		last = max(last, f.Card.Number)
	}
	for _, f := range d.Faces {
		unit, seat := f.Card.Unit.Name, numbers.Seat(f.Card)
		of := fmt.Sprintf("-%0*d-%s-%s", width(last), f.Card.Number, slug(unit, []string{unit}), slug(seat, []string{seat}))
		if backs[f.Back] == nil {
			backs[f.Back] = pageOf(f.Back)
		}
		pics = append(pics, picture{of + "-front", pageOf(f.Front), phoneDPI(d)}, picture{of + "-back", backs[f.Back], phoneDPI(d)})
	}
	return pics
}

func pageOf(p *layout.Panel) *layout.Page {
	return &layout.Page{Width: p.Width, Height: p.Height, Items: p.Items}
}
