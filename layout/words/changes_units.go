package words

import (
	"slices"
	"strconv"
	"strings"

	"slotcard/plan"
	"slotcard/plan/changes"
)

// What changes for divisions, units and cards, in sentences. What many share is
// said once, and whom it concerns behind it.

// on names slots with their positions, or without them those of the old list,
// whose positions mean nothing any more.
func on(places []changes.Place, numbered bool) Sentence {
	var parts []Sentence
	for _, p := range places {
		name := p.Slot.Channel.Name
		if numbered {
			name = strconv.Itoa(p.Position) + " " + name
		}
		parts = append(parts, Sentence{{T: Whole(name), Loud: numbered}})
	}
	return joinSentences(parts, ", ")
}

func (w *ChangeWords) orNone(s Sentence) Sentence {
	if len(s) == 0 {
		return Quiet(w.None)
	}
	return s
}

func (w *ChangeWords) DivisionLines(c *changes.Changes) (lines []Sentence) {
	for _, d := range c.Divisions {
		var parts []Sentence
		add := func(text string, pairs ...any) { parts = append(parts, FillIn(text, pairs...)) }
		near := func(ids []string) Sentence { return w.orNone(quietList(ids)) }
		of := d.New
		switch {
		case d.Old == nil:
			parts = append(parts, Quiet(w.DivisionNew))
			if d.New.Name != "" {
				parts[0] = append(parts[0], phrase{T: ": " + d.New.Name})
			}
			if d.New.Supervisor != "" {
				add(w.Under, "new", d.New.Supervisor)
			}
			if len(d.IsOn) > 0 {
				add(w.WorksOn, "on", on(d.IsOn, true))
			}
			if len(d.IsNear) > 0 {
				add(w.Beside, "ids", near(d.IsNear))
			}
		case d.New == nil:
			of = d.Old
			parts = append(parts, Quiet(w.DivisionGone))
			if len(d.WasOn) > 0 {
				add(w.WorkedOn, "old", on(d.WasOn, false))
			}
		default:
			if d.Channels {
				add(w.WorksNow, "on", w.orNone(on(d.IsOn, true)), "old", w.orNone(on(d.WasOn, false)))
			}
			if d.Neighbors {
				add(w.BesideNow, "ids", near(d.IsNear), "old", near(d.WasNear))
			}
			if d.Named {
				add(w.NowCalled, "new", orDash(d.New.Name, w.None), "old", orDash(d.Old.Name, w.None))
			}
			if d.Commanded {
				add(w.NowUnder, "new", orDash(d.New.Supervisor, w.None), "old", orDash(d.Old.Supervisor, w.None))
			}
		}
		line := Loud(Whole(w.Called(of)))
		if d.Old == nil || d.New == nil {
			line = append(line, phrase{T: " "})
		} else {
			line = append(line, phrase{T: ": "})
		}
		lines = append(lines, append(line, joinSentences(parts, "; ")...))
	}
	return lines
}

func quietList(texts []string) Sentence {
	if len(texts) == 0 {
		return nil
	}
	return Quiet(strings.Join(texts, ", "))
}

func orDash(s, none string) string {
	if s == "" {
		return none
	}
	return s
}

// concern collects whom a sentence concerns.
type concern struct {
	said  Sentence
	key   string
	units []*changes.Unit
	cards []*changes.Card
}

// concerns keeps them in the order in which they were met.
type concerns []*concern

func (g *concerns) add(said Sentence, u *changes.Unit, cards ...*changes.Card) {
	key := flatten([]Sentence{said})[0]
	i := slices.IndexFunc(*g, func(o *concern) bool { return o.key == key })
	if i < 0 {
		i = len(*g)
		*g = append(*g, &concern{said: said, key: key})
	}
	if o := (*g)[i]; !slices.Contains(o.units, u) {
		o.units = append(o.units, u)
	}
	(*g)[i].cards = append((*g)[i].cards, cards...)
}

// manyUnits are more than one wants to read where all are meant.
const manyUnits = 4

// UnitLines say what each unit has to do, where so many of the cards are changed by strips
// that go with them.
func (w *ChangeWords) UnitLines(c *changes.Changes, strips int) (lines []Sentence) {
	lines = append(lines, w.summary(c, strips))
	if c.Also {
		var also []string
		for _, a := range c.New.Also {
			also = append(also, w.FillText(c.New, a.When, nil)+" "+Whole(a.Channel.Name))
		}
		lines = append(lines, FillIn(w.AlsoChanged, "also", w.orNone(quietList(also))))
	}
	all := w.concernsOf(c)
	names := func(g *concern) string {
		if len(g.units) == all.before && all.before > manyUnits && g.units[0].Old != nil && g.units[0].New != nil {
			return Filled(w.AllUnits, "n", strconv.Itoa(all.before))
		}
		return unitNames(g.units)
	}
	for _, g := range all.rebuild {
		lines = append(lines, append(g.said, phrase{T: ": " + names(g)}))
	}
	for _, g := range all.first {
		text := w.Builds
		if c.Fresh() {
			text = w.BuildsFresh
		}
		lines = append(lines, FillIn(text, "units", unitNames(g.units)))
	}
	for _, g := range all.code {
		u := g.units[0]
		lines = append(lines, FillIn(w.CodeOnly, "code", Loud(Whole(u.List.Code.Pairs())), "old", Whole(u.OldList.Code.Pairs()), "units", names(g)))
	}
	for _, g := range all.moved {
		lines = append(lines, append(g.said, phrase{T: unitNames(g.units)}))
	}
	lines = append(lines, w.seatLines(c)...)
	for _, g := range all.gone {
		lines = append(lines, FillIn(w.Gone, "units", unitNames(g.units)))
	}
	for _, g := range all.same {
		lines = append(lines, FillIn(w.Unchanged, "units", names(g)))
	}
	return lines
}

// summary counts the cards that are replaced, and those that can be kept.
func (w *ChangeWords) summary(c *changes.Changes, strips int) Sentence {
	n := c.Counts()
	said := Sentence{{Whole(w.cards(n.Cards)), true}, {T: ": "}}
	if strips > 0 {
		said = append(said, FillIn(w.SummaryStrips, "strips", Loud(strconv.Itoa(strips)))...)
		if n.Replace > strips {
			said = append(said, phrase{T: ", "})
		}
	}
	if n.Replace > strips || strips == 0 {
		said = append(said, FillIn(w.Summary, "replace", Loud(strconv.Itoa(n.Replace-strips)))...)
	}
	if n.Keep > 0 {
		said = append(said, phrase{T: ", "})
		was, text := &c.Old.Plan.Incident, w.SummaryKeep
		if c.Revision {
			text = w.SummaryKeepRevision
		}
		said = append(said, FillIn(text, "keep", strconv.Itoa(n.Keep), "period", strconv.Itoa(was.Period), "old", strconv.Itoa(max(1, was.Revision)))...)
	}
	return said
}

// allConcerns are the units by what they have to do, those that do the same together.
type allConcerns struct {
	rebuild, first, code, same, moved, gone concerns
	before                                  int // units of both plans
}

// concernsOf sorts the units. One that works elsewhere is there twice.
func (w *ChangeWords) concernsOf(c *changes.Changes) (all allConcerns) {
	for _, u := range c.Units {
		if u.Old != nil && u.New != nil {
			all.before++
		}
		switch {
		case u.New == nil:
			all.gone.add(Quiet(""), u)
			continue
		case u.First:
			all.first.add(Quiet(""), u)
		case u.Changed():
			all.rebuild.add(Loud(w.rebuilds(u)), u)
		case u.Code():
			all.code.add(FillIn("%c%|%o%", "c", u.List.Code.Pairs(), "o", u.OldList.Code.Pairs()), u)
		default:
			all.same.add(Quiet(""), u)
		}
		if u.Elsewhere() {
			said := FillIn(w.NowIn, "division", Loud(w.where(u.Is)), "old", w.where(u.Was))
			all.moved.add(said, u)
		}
	}
	return all
}

// rebuilds says which slots a unit builds anew, and which it clears.
func (w *ChangeWords) rebuilds(u *changes.Unit) string {
	var what []string
	if len(u.Rebuild) > 0 {
		what = append(what, Filled(w.Rebuilds, "slots", w.Some(w.OneSlot, w.ManySlots, u.Rebuild)))
	}
	switch len(u.Clear) {
	case 0:
	case 1:
		what = append(what, w.ClearOne+" "+NumberRuns(u.Clear))
	default:
		what = append(what, w.ClearMany+" "+NumberRuns(u.Clear))
	}
	return strings.Join(what, ", ")
}

// seatLines say of the seats that units have gained and lost.
func (w *ChangeWords) seatLines(c *changes.Changes) (lines []Sentence) {
	if said := seatsOf(c, func(u *changes.Unit) []*plan.Card {
		var cards []*plan.Card
		for _, card := range u.Cards {
			if card.First && !u.First {
				cards = append(cards, card.New)
			}
		}
		return cards
	}); said != "" {
		lines = append(lines, FillIn(w.Seats, "units", said))
	}
	if said := seatsOf(c, func(u *changes.Unit) []*plan.Card {
		if u.New == nil {
			return nil
		}
		return u.Gone
	}); said != "" {
		lines = append(lines, FillIn(w.FewerSeats, "units", said))
	}
	return lines
}

func (w *ChangeWords) where(d *plan.Division) string {
	if d == nil {
		return w.NoDivisionAtAll
	}
	return w.Called(d)
}

func unitNames(units []*changes.Unit) string {
	names := make([]string, len(units))
	for i, u := range units {
		names[i] = Whole(u.Name())
	}
	return strings.Join(names, ", ")
}

// seatsOf names the chosen seats of each unit: "Engine 611 (Firefighter, 2)".
func seatsOf(c *changes.Changes, choose func(u *changes.Unit) []*plan.Card) string {
	var all []string
	for _, u := range c.Units {
		var seats []string
		count := map[string]int{}
		for _, card := range choose(u) {
			if count[card.Position.Name]++; count[card.Position.Name] == 1 {
				seats = append(seats, card.Position.Name)
			}
		}
		for i, s := range seats {
			if count[s] > 1 {
				seats[i] = strconv.Itoa(count[s]) + " " + s
			}
		}
		if seats != nil {
			all = append(all, Whole(u.Name())+" ("+strings.Join(seats, ", ")+")")
		}
	}
	return strings.Join(all, ", ")
}

// ElsewhereLines say who talks, gives priority or scans on other channels than
// before.
func (w *ChangeWords) ElsewhereLines(c *changes.Changes) (lines []Sentence) {
	var all concerns
	for _, u := range c.Units {
		for _, card := range u.Cards {
			if !card.First && card.Listen() {
				all.add(w.listens(card), u, card)
			}
		}
	}
	for _, g := range all {
		line := Sentence{{w.holders(g), true}, {T: ": "}}
		lines = append(lines, append(line, g.said...))
	}
	return lines
}

// listens says what a holder does elsewhere; marks that change alike are named
// together.
func (w *ChangeWords) listens(card *changes.Card) Sentence {
	var parts []Sentence
	var marks [][]string
	for _, m := range []struct {
		name string
		ear  changes.Ear
	}{{w.Talk, card.Talk}, {w.Priority, card.Priority}, {w.Scan, card.Scan}} {
		if !m.ear.Differs() {
			continue
		}
		text := w.MarksNow
		switch {
		case len(m.ear.Before) == 0:
			text = w.MarksAlso
		case len(m.ear.Now) == 0:
			text = w.MarksNoLonger
		}
		said := FillIn(text, "marks", Sentence{{T: "%"}}, "now", on(m.ear.Now, true), "old", on(m.ear.Before, false))
		key := flatten([]Sentence{said})[0]
		if i := slices.IndexFunc(parts, func(s Sentence) bool { return flatten([]Sentence{s})[0] == key }); i >= 0 {
			marks[i] = append(marks[i], m.name)
			continue
		}
		parts, marks = append(parts, said), append(marks, []string{m.name})
	}
	for i, p := range parts {
		for j := range p {
			if p[j].T == "%" {
				p[j].T = strings.Join(marks[i], " "+w.And+" ")
			}
		}
	}
	return joinSentences(parts, "; ")
}

// holders names who is concerned: units, with the positions where not all seats
// of a unit are.
func (w *ChangeWords) holders(g *concern) string {
	type who struct{ units, seats string }
	var all []who
	for _, u := range g.units {
		var seats []string
		concerned, had := 0, 0
		for _, card := range u.Cards {
			if !card.First {
				had++
			}
			if slices.Contains(g.cards, card) {
				concerned++
				if !slices.Contains(seats, card.New.Position.Name) {
					seats = append(seats, card.New.Position.Name)
				}
			}
		}
		h := who{units: Whole(u.Name())}
		if concerned < had {
			h.seats = strings.Join(seats, ", ")
		}
		if n := len(all) - 1; n >= 0 && all[n].seats == h.seats {
			all[n].units += ", " + h.units
		} else {
			all = append(all, h)
		}
	}
	var parts []string
	for _, h := range all {
		if h.seats != "" {
			h.units += " (" + h.seats + ")"
		}
		parts = append(parts, h.units)
	}
	return strings.Join(parts, ", ")
}
