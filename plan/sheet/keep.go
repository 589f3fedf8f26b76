package sheet

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"slotcard/plan"
	"slotcard/plan/tomlfile"
)

// What a draft takes over from the plan of an earlier period, and from a roster:
// who sits where does not stand on a plan sheet.

// seedDivisions makes the divisions of the old plan known, so that the sheet's
// words are understood as they were then. Which of them are still there, the
// sheet says.
func (d *drafter) seedDivisions() {
	if d.o.Keep == nil {
		return
	}
	for _, v := range d.o.Keep.Divisions {
		if v.ID == "" || d.division(v.ID) != nil {
			continue
		}
		d.divisions = append(d.divisions, &division{id: v.ID, name: v.Name, supervisor: v.Supervisor, functional: v.Functional,
			beside: strings.Join(v.Beside, ", "), old: true})
	}
}

// present are the divisions of the new plan: those of the old one that the sheet
// names, in their old order, and its own.
func (d *drafter) present() (all []*division) {
	for _, v := range d.divisions {
		if !v.old || v.seen {
			all = append(all, v)
		}
	}
	return all
}

// keepIncident writes what the old plan says of the incident and the sheet does
// not.
func (d *drafter) keepIncident() {
	k := d.o.Keep
	if k == nil {
		return
	}
	for _, c := range []struct {
		key   string
		value *float64
	}{{"latitude", k.Incident.Latitude}, {"longitude", k.Incident.Longitude}} {
		if c.value != nil {
			d.Line("%-11s = %s", c.key, number64(*c.value))
		}
	}
	switch {
	case k.Incident.ElevationFt != nil:
		d.Line("%-11s = %s", "elevation_ft", number64(*k.Incident.ElevationFt))
	case k.Incident.Elevation != nil:
		d.Line("%-11s = %s", "elevation_m", number64(*k.Incident.Elevation))
	}
}

// number64 is a number as TOML writes one that is not whole.
func number64(f float64) string {
	s := strconv.FormatFloat(f, 'f', -1, 64)
	if !strings.Contains(s, ".") {
		s += ".0"
	}
	return s
}

// seats writes positions and units, and all that hangs on them.
func (d *drafter) seats() {
	k := d.o.Keep
	if k == nil && d.o.Roster == nil {
		d.Line("")
		d.Comment("Still to add, for cards: who sits where, and what each seat listens to.")
		for _, l := range strings.Split(strings.TrimSpace(seatsExample), "\n") {
			d.Comment("%s", l)
		}
		return
	}
	var units []*plan.Unit
	var positions []*plan.Position
	base := ""
	if k != nil {
		units, positions, base = k.Units, k.Positions, d.o.Base
	}
	if d.o.Roster != nil {
		units = d.o.Roster.Units
	}
	d.positions(positions, units, base != "")
	if len(units) > 0 || base == "" {
		d.units(units)
	}
	if k != nil {
		d.keepCard(k)
	}
}

// positions writes what each seat listens to; of those that only a roster names
// a person must say.
func (d *drafter) positions(known []*plan.Position, units []*plan.Unit, elsewhere bool) {
	for _, p := range known {
		d.Line("")
		d.Line("[[position]]")
		d.Line("name     = %s", tomlfile.Quote(p.Name))
		if p.Priority != "" {
			d.Line("priority = %s", tomlfile.Quote(p.Priority))
		}
		if len(p.Scan) > 0 {
			d.Line("scan     = [%s]", tomlfile.QuoteList(p.Scan))
		}
	}
	if elsewhere && len(known) == 0 { // they are in the station file
		return
	}
	var asked []string
	for _, u := range units {
		for _, s := range u.Seats {
			if slices.Contains(asked, s.Position) || slices.ContainsFunc(known, func(p *plan.Position) bool { return p.Name == s.Position }) {
				continue
			}
			asked = append(asked, s.Position)
			d.Line("")
			d.Comment("DECIDE: what this seat listens to: priority such as \"own\", scan such as [\"neighbors\", \"command\"]")
			d.undecided(0, "position "+s.Position, "what it listens to was found nowhere")
			d.Line("[[position]]")
			d.Line("name     = %s", tomlfile.Quote(s.Position))
			d.Line("priority = %s", tomlfile.Quote("DECIDE"))
		}
	}
}

// units writes the units. One whose division is gone, and a division without a
// unit, are left to decide.
func (d *drafter) units(units []*plan.Unit) {
	here := d.present()
	manned := map[string]bool{}
	for _, u := range units {
		v := d.division(u.Division)
		gone := u.Division != "" && (v == nil || !slices.Contains(here, v))
		d.Line("")
		if gone {
			d.Comment("DECIDE: its division %s was not read on the sheet; here are %s", u.Division, idsOf(here))
			d.undecided(0, "unit "+u.Name, "its division "+u.Division+" was not read on the sheet")
		}
		if len(u.Seats) == 0 {
			d.Comment("DECIDE: the roster gives it no seats; add seats = { \"Engine boss\" = 1 }")
			d.undecided(0, "unit "+u.Name, "no seats were found for it")
		}
		d.Line("[[unit]]")
		d.Line("name     = %s", tomlfile.Quote(u.Name))
		if u.Kind != "" {
			d.Line("kind     = %s", tomlfile.Quote(u.Kind))
		}
		if u.Team != "" {
			d.Line("team     = %s", tomlfile.Quote(u.Team))
		}
		switch {
		case gone:
			d.Line("division = %s", tomlfile.Quote(u.Division))
		case v != nil:
			manned[v.id] = true
			d.Line("division = %s", tomlfile.Quote(v.id))
		}
		if len(u.Seats) > 0 {
			parts := make([]string, len(u.Seats))
			for i, s := range u.Seats {
				parts[i] = fmt.Sprintf("%s = %d", tomlfile.Quote(s.Position), s.Count)
			}
			d.Line("seats    = { %s }", strings.Join(parts, ", "))
		}
	}
	for _, v := range here {
		if manned[v.id] {
			continue
		}
		d.Line("")
		d.Comment("DECIDE: no unit works in division %s; complete this one, or delete it", v.id)
		d.undecided(0, "division "+v.id, "no unit works in it")
		d.Line("[[unit]]")
		d.Line("division = %s", tomlfile.Quote(v.id))
	}
}

// idsOf names divisions.
func idsOf(all []*division) string {
	if len(all) == 0 {
		return "none"
	}
	ids := make([]string, len(all))
	for i, v := range all {
		ids[i] = v.id
	}
	return strings.Join(ids, ", ")
}

// keepCard writes the channels beside the list and how to print.
func (d *drafter) keepCard(k *plan.Plan) {
	for _, a := range k.Also {
		d.Line("")
		d.Line("[[also]]")
		switch a.Key() {
		case "channel":
			d.Line("channel = %s", tomlfile.Quote(a.Channel))
		case "group":
			d.Line("group   = %d", *a.Group)
			d.Line("number  = %d", *a.Number)
		case "rx":
			d.Line("rx      = %s", a.Rx)
			if a.Tx != 0 {
				d.Line("tx      = %s", a.Tx)
			}
			if a.RxTone != nil {
				d.Line("rx_tone = %s", a.RxTone.TOML())
			}
			if a.TxTone != nil {
				d.Line("tx_tone = %s", a.TxTone.TOML())
			}
		}
		if a.Site != "" {
			d.Line("site    = %s", tomlfile.Quote(a.Site))
		}
		if a.Tone != nil {
			d.Line("tone    = %d", *a.Tone)
		}
		d.Line("when    = %s", tomlfile.Quote(a.When))
	}
	c := k.Card
	var card []keyValue
	for _, t := range []keyValue{{"size", c.Size}, {"paper", c.Paper}, {"sides", c.Sides}, {"order", c.Order}, {"language", c.Language}, {"roll", c.Roll}} {
		if t.value != "" {
			card = append(card, keyValue{t.key, tomlfile.Quote(t.value)})
		}
	}
	for _, mm := range []struct {
		key   string
		value float64
	}{{"edge", c.Edge}, {"gap", c.Gap}} {
		if mm.value != 0 {
			card = append(card, keyValue{mm.key, number64(mm.value)})
		}
	}
	if c.DPI != 0 {
		card = append(card, keyValue{"dpi", strconv.Itoa(c.DPI)})
	}
	if c.ScanLimit != nil {
		card = append(card, keyValue{"scan_limit", strconv.Itoa(*c.ScanLimit)})
	}
	d.settings("card", card)
	if s := k.Stock; s.Columns > 0 {
		d.settings("stock", []keyValue{{"width", number64(s.Width)}, {"height", number64(s.Height)}, {"columns", strconv.Itoa(s.Columns)}, {"rows", strconv.Itoa(s.Rows)},
			{"left", number64(s.Left)}, {"top", number64(s.Top)}, {"gutter_x", number64(s.GutterX)}, {"gutter_y", number64(s.GutterY)}})
	}
	if n := len(k.Accepts); n > 0 {
		d.Line("")
		d.Comment("Not taken over: what the old plan accepts (%d). Whoever answers for it decides anew.", n)
	}
}

func (d *drafter) settings(table string, keys []keyValue) {
	if len(keys) == 0 {
		return
	}
	d.Line("")
	d.Line("[%s]", table)
	for _, k := range keys {
		d.Line("%-10s = %s", k.key, k.value)
	}
}
