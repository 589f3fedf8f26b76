package papers

import (
	"fmt"
	"slices"
	"strings"

	"slotcard/cmd/internal/voice"
	"slotcard/layout"
	"slotcard/layout/cards"
	"slotcard/layout/impose"
	"slotcard/plan"
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
			if doc, err = impose.Cards(deck, j.set.sheets); err != nil {
				err = j.orSize(err)
			}
			return doc, found, err
		},
		say: func(d *layout.Document) string {
			return j.set.say(deck, d)
		},
		then: func(v *voice.Voice) {
			if said := j.set.nearer(deck); said != "" {
				v.Tell("%s", said)
			}
		},
		pictures: func(*layout.Document) []picture {
			small, _ := j.deal(cards.Options{Words: &j.set.words.Card, Plain: j.set.plain})
			if small == nil {
				small = deck
			}
			return cardPictures(deck, small)
		},
	}
}

// orSize adds to why a card does not go on its paper the largest size that does, and that
// holds the cards.
func (j *Job) orSize(err error) error {
	o := j.set.cards()
	if o.Sheets == nil || j.set.sheets.Stock != nil {
		return err
	}
	sizes := layout.CardSizes()
	slices.Reverse(sizes)
	chosen := j.Before.cards(j.Plan)
	for _, o.Size = range slices.Concat(o.Sizes, sizes) {
		if o.Sheets(o.Size, 1) > 0 && len(cards.Fits(chosen, o)) == 0 {
			return fmt.Errorf("%w; or print on cards of size %s: --size %s", err, o.Size.Name, o.Size.Name)
		}
	}
	return err
}

// Deal lays out the cards that are asked for, in their order, before they come onto
// paper. Where they do not fit, the deck is nil.
func (j *Job) Deal() (*cards.Deck, finding.List) {
	deck, found := j.deal(j.set.cards())
	if deck != nil {
		j.set.arrange(deck)
	}
	return deck, found
}

// deal lays out the cards.
func (j *Job) deal(o cards.Options) (*cards.Deck, finding.List) {
	chosen := j.Before.cards(j.Plan)
	o.Symbols, o.Changes, o.Done = j.symbols, j.Before.marks(), j.voice.Progress("cards", len(chosen.Cards))
	deck, found := cards.Deal(chosen, o)
	if deck != nil && j.some != nil {
		j.some.keep(deck)
		deck.Next = nil // of all cards
	}
	return deck, found
}

// phonePixels are across the picture of a card: a phone shows it dot by dot.
const phonePixels = 1440

// phoneDPI is the resolution at which a card is as wide as a phone's screen.
func phoneDPI(d *cards.Deck) float64 { return phonePixels / (d.Size.Width / 25.4) }

// cardPictures are the front of every card by the number on it and its seat,
// "-07-engine-611-firefighter-2-front", the same for a phone, "-phone", and the back
// of every list by its code, "-back-j2mx": cards of a list share theirs. Those for a
// phone are of a deck in the smallest size, whose type is the largest on a screen.
func cardPictures(d, small *cards.Deck) []picture {
	phones := map[*plan.Card]*layout.Page{}
	if small != nil {
		for _, f := range small.Faces {
			phones[f.Card] = phonePage(f)
		}
	}
	pics := make([]picture, 0, 2*len(d.Faces)+4)
	drawn := map[any]bool{} // cards, for there may be copies, and backs
	last := 0
	for _, f := range d.Faces {
		last = max(last, f.Card.Number)
	}
	for _, f := range d.Faces {
		if !drawn[f.Card] {
			drawn[f.Card] = true
			unit, seat := f.Card.Unit.Name, numbers.Seat(f.Card)
			of := fmt.Sprintf("-%0*d-%s-%s", width(last), f.Card.Number, slug(unit, []string{unit}), slug(seat, []string{seat}))
			pics = append(pics, picture{of + "-front", pageOf(f.Front), phoneDPI(d)})
			if p := phones[f.Card]; p != nil {
				pics = append(pics, picture{of + "-phone", p, phoneDPI(small)})
			}
		}
		if !drawn[f.Back] && len(f.Back.Items) > 0 {
			drawn[f.Back] = true
			pics = append(pics, picture{"-back-" + strings.ToLower(string(f.Card.List.Code)), pageOf(f.Back), phoneDPI(d)})
		}
	}
	return pics
}

// phonePage is a card for the screen of a phone that is held upright: the front, and
// below it the code of the list as large as the front is wide.
func phonePage(f cards.Faces) *layout.Page {
	p := pageOf(f.Front)
	for _, it := range f.Back.Items {
		m, ok := it.(layout.Modules)
		if !ok {
			continue
		}
		m.Module = p.Width / float64(m.Symbol.Size+2*layout.QuietModules)
		quiet := m.Module * layout.QuietModules
		m.X, m.Y = quiet, p.Height+quiet
		p.Height += p.Width
		p.Items = append(slices.Clone(p.Items), m)
		break
	}
	return p
}

func pageOf(p *layout.Panel) *layout.Page {
	return &layout.Page{Width: p.Width, Height: p.Height, Items: p.All()}
}
