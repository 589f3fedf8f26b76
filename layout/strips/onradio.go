package strips

import (
	"slices"
	"strconv"
	"strings"

	"slotcard/layout/words"
	"slotcard/plan"
	"slotcard/plan/changes"
)

// Radio is a change within a period as it goes over the air: the page behind the strips
// before it is laid out.
type Radio struct {
	Sentences []string // to read, one for each list that changes
	Groups    []BoxGroup
	Strips    bool // a strip can say it on some card
}

// BoxGroup is a heading with boxes to tick under it.
type BoxGroup struct {
	Heading string
	Boxes   []UnitBox
}

// UnitBox is a box to tick for a unit.
type UnitBox struct {
	Unit, Says string
}

// OnRadio is what is read of a change, who must acknowledge it, who needs a full card,
// and whose cards are taken back. It is nil where the cards are of another incident or
// load: then no sentence can say it.
func OnRadio(c *changes.Changes, w *words.StripWords) *Radio {
	if c.Fresh() {
		return nil
	}
	some, full := stripsOf(c)
	return radioOf(c, w, some, full)
}

func radioOf(c *changes.Changes, w *words.StripWords, some, full []*strip) *Radio {
	r := &Radio{Sentences: sentences(c, w, some), Strips: len(some) > 0}
	for _, g := range []BoxGroup{{w.Acknowledge, acknowledge(w, some)}, {w.Whole, inFull(w, full)}, {w.Collect, collect(c, w)}} {
		if len(g.Boxes) > 0 {
			r.Groups = append(r.Groups, g)
		}
	}
	return r
}

// sentences are what is read, a paragraph for each list that changes.
func sentences(c *changes.Changes, w *words.StripWords, some []*strip) (out []string) {
	for _, l := range c.Lists {
		if l.Old == nil || l.New == nil || !slices.ContainsFunc(some, func(p *strip) bool { return p.card.Old.List == l.Old && p.card.New.List == l.New }) {
			continue
		}
		rows := rowsBetween(l.Old, l.New)
		if len(rows) == 0 {
			continue
		}
		var said []string
		if c.New.Plan.Incident.Exercise {
			said = append(said, w.SaidExercise)
		}
		if name := w.ListName(l.New, c.New); name != "" {
			said = append(said, words.Filled(w.SaidFor, "list", name))
		}
		for _, r := range rows {
			switch r.kind {
			case rowNow:
				said = append(said, w.SayNow(r.position, r.slot))
			case rowStays:
				said = append(said, w.SayStays(r.position, r.slot))
			case rowClear:
				said = append(said, w.SayClear(r.position))
			}
		}
		out = append(out, strings.Join(append(said, w.SayCode(l.New.Code), w.SaidAcknowledge), " "))
	}
	return out
}

// acknowledge are the units whose radios or ears change.
func acknowledge(w *words.StripWords, some []*strip) (boxes []UnitBox) {
	type unit struct {
		*plan.Unit
		is     *plan.Division
		strips int
	}
	var units []*unit
	for _, p := range some {
		card := p.card.New
		if n := len(units); n == 0 || units[n-1].Unit != card.Unit {
			units = append(units, &unit{card.Unit, card.Division, 0})
		}
		units[len(units)-1].strips++
	}
	for _, u := range units {
		count := w.OneStrip
		if u.strips != 1 {
			count = words.Filled(w.ManyStrips, "n", strconv.Itoa(u.strips))
		}
		if u.is != nil {
			count = w.Called(u.is) + ", " + count
		}
		boxes = append(boxes, UnitBox{u.Name, count})
	}
	return boxes
}

// inFull are the cards that no strip can change, by unit and why.
func inFull(w *words.StripWords, full []*strip) (boxes []UnitBox) {
	for i := 0; i < len(full); {
		p := full[i]
		var numbers []int
		for ; i < len(full) && full[i].card.New.Unit == p.card.New.Unit && full[i].why == p.why; i++ {
			numbers = append(numbers, full[i].card.New.Number)
		}
		slices.Sort(numbers)
		why := [...]string{whyNewSeat: w.NewSeat, whyMoved: w.Moved, whyTooMuch: w.TooMuch, whyBeside: w.Beside}[p.why]
		boxes = append(boxes, UnitBox{p.card.New.Unit.Name, w.Card + " " + words.NumberRuns(numbers) + ": " + why})
	}
	return boxes
}

// collect are the units, or seats of them, that carry no card any more.
func collect(c *changes.Changes, w *words.StripWords) (boxes []UnitBox) {
	for _, u := range c.Units {
		if len(u.Gone) == 0 {
			continue
		}
		var numbers []int
		for _, card := range u.Gone {
			numbers = append(numbers, card.Number)
		}
		slices.Sort(numbers)
		boxes = append(boxes, UnitBox{u.Name(), w.Card + " " + words.NumberRuns(numbers)})
	}
	return boxes
}
