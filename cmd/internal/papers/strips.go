package papers

import (
	"fmt"
	"slices"
	"strings"

	"slotcard/cmd/internal/files"
	"slotcard/cmd/internal/voice"
	"slotcard/layout"
	"slotcard/layout/strips"
	"slotcard/plan"
	"slotcard/plan/finding"
)

func init() { register(45, stripsPaper) }

// stripsPaper is strips to set on the cards that people have, in place of new cards.
func stripsPaper() *Paper {
	return &Paper{Name: "strips", What: "strips that change the cards of the plan of --since,\nand the page to read on the radio", extra: true, deals: true,
		sheet: stripSheets, beside: radioSheet, check: func(f *Request) error {
			if f.asks("strips") && f.Since == "" {
				return voice.Usagef("--strips needs the plan to compare with: --since OLD")
			}
			return nil
		}}
}

func stripSheets(j *Job) *Sheet {
	if j.Before == nil {
		return nil
	}
	var n strips.Count
	paper, roll := j.set.sheets.Paper, j.set.sheets.Roll
	on := paper.Name
	if roll != nil {
		on = roll.String()
	}
	return &Sheet{
		Name:  "strips",
		Paper: on,
		lay: func() (*layout.Document, finding.List, error) {
			var d *layout.Document
			var found finding.List
			d, n, found = strips.Lay(j.Before.Changes, strips.Options{Paper: paper, Roll: roll, Words: &j.set.words.Strips, Symbols: j.symbols})
			if n.NoStrips {
				return nil, nil, j.noStrips(n)
			}
			return d, found, nil
		},
		say: func(d *layout.Document) string {
			if roll != nil {
				return fmt.Sprintf("strips for %s, %s, on %s for %s: print at actual size on a printer of %d dots an inch%s",
					voice.Count(n.Cards, "card", "cards"), perLabel(n.PerPage), voice.Count(len(d.Pages), "page", "pages"), roll, roll.DPI, cutApart(n.PerPage))
			}
			return fmt.Sprintf("strips for %s, %d to a page, and the page to read on the radio; %s of %s: print at actual size, on one side, cut along the lines",
				voice.Count(n.Cards, "card", "cards"), n.PerPage, voice.Count(len(d.Pages), "page", "pages"), paper.Name)
		},
		pictures: pagePictures,
		then: func(v *voice.Voice) {
			if !n.Scanned {
				v.Tell("no code to scan on the strips: the list is too long for a code that is read from so small a strip")
			}
			if len(n.Full) > 0 {
				v.Tell("no strip can change %s; print new ones: slotcard print %s --since %s%s", cardsOf(n.Full),
					voice.Typed(j.Name), voice.Typed(j.Request.Since), onlyUnits(n.Full))
			}
		},
	}
}

// perLabel says how many strips are on a label.
func perLabel(n int) string {
	if n == 1 {
		return "one to a label"
	}
	return fmt.Sprintf("%d to a label", n)
}

// cutApart says that strips on one label are to be cut.
func cutApart(n int) string {
	if n == 1 {
		return ""
	}
	return ", cut along the lines"
}

// radioSheet is the page to read on the radio, where the strips are on a roll.
func radioSheet(j *Job) *Sheet {
	if j.Before == nil || j.set.sheets.Roll == nil || strips.Cards(j.Before.Changes) == 0 {
		return nil
	}
	paper := j.set.sheets.Paper
	return &Sheet{
		Name:  "strips-radio",
		Paper: paper.Name,
		lay: func() (*layout.Document, finding.List, error) {
			d, found := strips.RadioPage(j.Before.Changes, strips.Options{Paper: paper, Words: &j.set.words.Strips})
			return d, found, nil
		},
		say: func(d *layout.Document) string {
			return fmt.Sprintf("the page to read on the radio; %s of %s: print at actual size, on one side",
				voice.Count(len(d.Pages), "page", "pages"), paper.Name)
		},
		pictures: pagePictures,
	}
}

// OnRadio is the change since the plan of --since as it goes over the air, in the words
// of the strips; nil where there is no such plan, or where no sentence can say it.
func (j *Job) OnRadio() *strips.Radio {
	if j.Before == nil {
		return nil
	}
	return strips.OnRadio(j.Before.Changes, &j.set.words.Strips)
}

// noStrips says why there is not a single strip.
func (j *Job) noStrips(n strips.Count) error {
	c := j.Before.Changes
	cards := "print the cards: slotcard print " + voice.Typed(j.Name)
	switch {
	case c.Exercise:
		return files.Fail(j.Name, "no strip can change the cards: one of the two plans is an exercise, the other is for a real incident; "+cards, nil)
	case c.OtherIncident:
		return files.Fail(j.Name, "no strip can change the cards: they are of another incident; "+cards, nil)
	case c.OtherLoad:
		return files.Fail(j.Name, "no strip can change the cards: they are of another load; "+cards, nil)
	case len(n.Full) > 0:
		return files.Fail(j.Name, fmt.Sprintf("no strip can change %s: too much is another; %s --since %s --changed-only",
			voice.Count(len(n.Full), "card", "cards"), cards, voice.Typed(j.Request.Since)), nil)
	}
	return files.Fail(j.Name, "changes none of the cards: the old ones can be kept", nil)
}

// unitsOf are the units of cards, each once.
func unitsOf(cards []*plan.Card) (names []string) {
	for _, c := range cards {
		if !slices.Contains(names, c.Unit.Name) {
			names = append(names, c.Unit.Name)
		}
	}
	return names
}

// cardsOf counts cards and names their units, as far as one reads on.
func cardsOf(cards []*plan.Card) string {
	names := unitsOf(cards)
	const most = 6
	more := ""
	if len(names) > most {
		more = fmt.Sprintf(" and %d more", len(names)-most)
		names = names[:most]
	}
	return voice.Count(len(cards), "card", "cards") + " (" + strings.Join(names, ", ") + more + ")"
}

// onlyUnits are the flags that print the cards of these units.
func onlyUnits(cards []*plan.Card) string {
	names := unitsOf(cards)
	if len(names) > 6 {
		return " --changed-only"
	}
	said := ""
	for _, n := range names {
		said += " --only " + voice.Typed(n)
	}
	return said
}
