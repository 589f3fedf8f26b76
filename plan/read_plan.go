package plan

import (
	"fmt"
	"strconv"
	"strings"
	"time"

	"slotcard/plan/edit"
	"slotcard/plan/finding"
	"slotcard/plan/radio"
	"slotcard/plan/tomlfile"
)

// Bounds of a plan, far beyond what any incident has: what is larger is a slip
// of a program, and work grows with the square of it.
const (
	maxSlots     = 300
	maxDivisions = 300
	maxUnits     = 3000
)

// atMost keeps the first n entries and says where the others begin.
func atMost[T any](r *reader, list []T, key string, n int, at func(T) tomlfile.Table) []T {
	if len(list) <= n {
		return list
	}
	r.fault(at(list[n]).At(""), tomlfile.RuleOutOfRange, "", fmt.Sprintf("more than %d [[%s]] entries; those from here on are not read", n, key),
		"split the file, or look for the program that wrote it")
	return list[:n]
}

// plan normalizes and checks a plan by itself. What it names in the load, and
// what it names in itself, is looked up by [Resolve].
func (r *reader) plan(p *Plan) {
	p.Slots = atMost(r, p.Slots, "slot", maxSlots, func(s *Slot) tomlfile.Table { return s.Table })
	p.Divisions = atMost(r, p.Divisions, "division", maxDivisions, func(d *Division) tomlfile.Table { return d.Table })
	r.bound(&p.Positions, &p.Units, &p.Also, &p.Accepts)
	r.texts(p)
	r.incident(&p.Incident)
	for _, s := range p.Slots {
		r.pick(s.Table, &s.Pick, "slot")
		r.siteOrTone(s.Table, s.Site, s.Tone)
		r.ids(s.Table, "division", s.Division)
		r.ids(s.Table, "carried_by", s.CarriedBy)
		if s.OK("carried_by") && len(s.CarriedBy) == 0 {
			f := r.fault(s.At("carried_by"), RuleEmptyList, s.Channel, "carried_by is empty: nobody would have the slot in the list")
			f.Offer(unless("name the divisions that carry it"), edit.In(s.Table).Delete(s.Table, "carried_by").Edit("or delete the key: then everybody does"))
		}
	}
	ids := newUnique("division")
	for _, d := range p.Divisions {
		if d.OK("id") && d.ID != "" {
			r.divisionID(d.Table, d.ID)
			ids.add(r, fold(d.ID), d.ID, d.At("id"))
		}
		r.ids(d.Table, "beside", d.Beside)
		if d.Has("beside") && !d.Functional && !d.Doubtful() {
			f := r.fault(d.At("beside"), RuleBesideDivision, d.ID, fmt.Sprintf("beside is for functional groups, and division %s is none", d.ID))
			f.Offer(edit.In(d.Table).Delete(d.Table, "beside").Edit(""), edit.In(d.Table).Set(d.Table, "functional", true).Edit(""))
		}
	}
	r.people(p.Positions, p.Units, p.Also)
	r.printing(&p.Card, &p.Stock)
}

// station normalizes and checks a station file by itself.
func (r *reader) station(s *Station) {
	r.bound(&s.Positions, &s.Units, &s.Also, &s.Accepts)
	r.texts(s)
	r.people(s.Positions, s.Units, s.Also)
	r.printing(&s.Card, &s.Stock)
}

// bound cuts the tables that plans and station files share.
func (r *reader) bound(positions *[]*Position, units *[]*Unit, also *[]*Also, accepts *[]*Accept) {
	*positions = atMost(r, *positions, "position", maxDivisions, func(s *Position) tomlfile.Table { return s.Table })
	*units = atMost(r, *units, "unit", maxUnits, func(u *Unit) tomlfile.Table { return u.Table })
	*also = atMost(r, *also, "also", maxDivisions, func(a *Also) tomlfile.Table { return a.Table })
	*accepts = atMost(r, *accepts, "accept", maxDivisions, func(a *Accept) tomlfile.Table { return a.Table })
}

// people checks who carries a card, and what stands on it beside the list.
func (r *reader) people(list []*Position, crews []*Unit, also []*Also) {
	for _, a := range also {
		r.pick(a.Table, &a.Pick, "entry")
		r.siteOrTone(a.Table, a.Site, a.Tone)
	}
	positions := newUnique("position")
	for _, s := range list {
		if s.OK("name") && s.Name != "" {
			positions.add(r, fold(s.Name), s.Name, s.At("name"))
			r.lookAlike(s.At("name"), "name", s.Name, s.Name, false)
		}
		s.Priority = spelled(s.Priority)
		for i := range s.Scan {
			s.Scan[i] = spelled(s.Scan[i])
		}
		r.noRepeats(s.Table, "scan", s.Scan)
	}
	units := newUnique("unit")
	for _, u := range crews {
		if u.OK("name") && u.Name != "" {
			units.add(r, fold(u.Name), u.Name, u.At("name"))
			r.lookAlike(u.At("name"), "name", u.Name, u.Name, false)
		}
		if u.OK("division") {
			r.lookAlike(u.At("division"), "division", u.Division, u.Division, true)
		}
	}
}

func (r *reader) printing(card *CardOptions, stock *Stock) {
	if card.ScanLimit != nil {
		r.within(card.Table, "scan_limit", *card.ScanLimit, 1, maxListPositions)
	}
	for _, m := range []struct {
		key         string
		mm          float64
		least, most float64
		help        string
	}{
		{"edge", card.Edge, 3, 15, "measure the white that the printer leaves beside a page that is black all over"},
		{"gap", card.Gap, 0, 50, "the white between two cards, in millimeters"},
	} {
		if card.OK(m.key) && !(m.mm >= m.least && m.mm <= m.most) {
			r.fault(card.At(m.key), tomlfile.RuleOutOfRange, "", fmt.Sprintf("%s %g mm is not between %g and %g", m.key, m.mm, m.least, m.most), m.help)
		}
	}
	r.within(card.Table, "dpi", card.DPI, 150, 1200)
	r.stock(stock)
}

func (r *reader) incident(in *Incident) {
	r.within(in.Table, "period", in.Period, 1, maxNumber)
	r.coordinates(in.Table, "", in.Latitude, in.Longitude)
	in.Elevation = r.elevation(in.Table, "", in.Elevation, in.ElevationFt)
	r.revision(in)
}

// revision checks that a change within the period says which, and when.
func (r *reader) revision(in *Incident) {
	switch {
	case in.OK("revision") && in.Revision == 1:
		r.fault(in.At("revision"), tomlfile.RuleOutOfRange, "", "revision 1 is what every period begins with", "delete revision; the first change is revision = 2")
	case in.OK("revision") && !r.within(in.Table, "revision", in.Revision, FirstRevision, maxNumber):
	case in.Has("revision") && !in.Has("revised_at") && !in.Doubtful():
		help := "add revised_at = ..., the time of the change with its UTC offset"
		if in.OK("from") {
			help += ", in the form of from: " + in.From.Format(time.RFC3339)
		}
		r.fault(in.At("revision"), RuleRevision, "", fmt.Sprintf("revision %d does not say when it was made", in.Revision), help)
	case in.Has("revised_at") && !in.Has("revision") && !in.Doubtful():
		r.fault(in.At("revised_at"), RuleRevision, "", "revised_at stands without revision", "add revision = 2, or the number that it has by now; or delete revised_at")
	}
	if in.OK("revised_at") && in.OK("from") && in.OK("to") && !in.To.Before(in.From) && (in.RevisedAt.Before(in.From) || in.RevisedAt.After(in.To)) {
		r.fault(in.At("revised_at"), RuleRevision, "",
			fmt.Sprintf("revised_at %s is not within the period, from %s to %s", in.RevisedAt.Format(time.RFC3339), in.From.Format(time.RFC3339), in.To.Format(time.RFC3339)),
			"write the time of the change; what changes before the period begins needs no revision, what changes after it is another period")
	}
}

// pick checks that a channel is named in exactly one way.
func (r *reader) pick(t tomlfile.Table, p *Pick, what string) {
	for _, tone := range []struct {
		key   string
		value *radio.Squelch
	}{{"rx_tone", p.RxTone}, {"tx_tone", p.TxTone}} {
		if tone.value != nil && *tone.value == radio.Site {
			r.fault(t.At(tone.key), RuleSiteTone, p.Channel, tone.key+` cannot be "site" in a plan: the plan is where the site is chosen`,
				`write site = "..." with the name of the site`)
		}
	}
	for key, n := range map[string]*int{"group": p.Group, "number": p.Number} {
		if n != nil {
			r.within(t, key, *n, 1, maxNumber)
		}
	}
	if t.Doubtful() {
		return
	}
	var ways []string
	if t.Has("channel") {
		ways = append(ways, "channel")
	}
	if t.Has("group") || t.Has("number") {
		ways = append(ways, "group and number")
	}
	if t.Has("rx") {
		ways = append(ways, "rx")
	}
	const help = `write channel = "DISPLAY NAME", or group = 1 and number = 1, or rx = 152.4125`
	switch {
	case len(ways) == 0:
		r.fault(t.At(""), RuleSlotChannel, "", "the "+what+" names no channel", help)
		return
	case len(ways) > 1:
		f := r.fault(t.At(""), RuleSlotChannel, p.Channel, fmt.Sprintf("the %s names its channel in %d ways: by %s", what, len(ways), strings.Join(ways, ", by ")))
		for _, way := range ways {
			f.Offer(keepWay(t, way))
		}
		return
	}
	switch {
	case t.Has("group") && !t.Has("number"):
		r.fault(t.At("group"), RuleSlotChannel, "", "group stands without number", "add number = ..., the channel number in the group")
	case t.Has("number") && !t.Has("group"):
		r.fault(t.At("number"), RuleSlotChannel, "", "number stands without group", "add group = ..., the number of the group")
	}
	if t.Has("rx") {
		return
	}
	for _, key := range []string{"tx", "rx_tone", "tx_tone"} {
		if t.Has(key) {
			f := r.fault(t.At(key), RuleSlotChannel, p.Channel, fmt.Sprintf("%s says which channel is meant only beside rx: the load decides what a named channel transmits", key))
			f.Offer(edit.In(t).Delete(t, key).Edit(""), unless("or name the channel by rx"))
		}
	}
}

// keepWay deletes all keys that name the channel in another way.
func keepWay(t tomlfile.Table, way string) finding.Edit {
	e := edit.In(t)
	keys := map[string][]string{"channel": {"channel"}, "group and number": {"group", "number"}, "rx": {"rx", "tx", "rx_tone", "tx_tone"}}
	for _, other := range []string{"channel", "group and number", "rx"} {
		for _, key := range keys[other] {
			if other != way && t.Has(key) {
				e.Delete(t, key)
			}
		}
	}
	return e.Edit("keep " + way)
}

func (r *reader) siteOrTone(t tomlfile.Table, site string, tone *int) {
	if t.Has("site") && t.Has("tone") {
		r.fault(t.At("tone"), RuleSiteOrTone, site, "site and tone both choose the repeater").
			Offer(edit.In(t).Delete(t, "tone").Edit("delete tone: then the site decides"), edit.In(t).Delete(t, "site").Edit("delete site: then the tone decides"))
	}
	if tone != nil {
		r.within(t, "tone", *tone, 1, maxNumber)
	}
}

// toneNumbers says which number a tone has, where a slot was given the tone
// itself: 146.2 is not tone 146, and any other number opens another repeater.
func (r *reader) toneNumbers(p *Plan, l *Load) {
	if l == nil {
		return
	}
	say := func(t tomlfile.Table) {
		at := t.At("tone")
		if !t.Has("tone") || t.OK("tone") {
			return
		}
		text := []rune(at.Text)
		written := string(text[min(at.Column-1, len(text)):min(at.Column-1+at.Length, len(text))])
		tone, err := radio.ParseSquelch(strings.Trim(written, `"'`))
		if err != nil {
			return
		}
		help := fmt.Sprintf("the load has no number for %s: write site = \"...\" with the name of the site", tone)
		if n := l.ToneNumber(tone); n != 0 {
			help = fmt.Sprintf("write tone = %d: that is the load's number for %s", n, tone)
		}
		for i := range r.findings {
			if f := &r.findings[i]; f.Place == at && f.Rule == tomlfile.RuleWrongType {
				f.Help, f.Edits = []string{help}, nil
			}
		}
	}
	for _, s := range p.Slots {
		say(s.Table)
	}
	for _, a := range p.Also {
		say(a.Table)
	}
}

// ids checks a list of division ids.
func (r *reader) ids(t tomlfile.Table, key string, ids Names) {
	for i, id := range ids {
		r.lookAlike(t.AtItem(key, i), key, id, id, true)
	}
	r.noRepeats(t, key, ids)
}

func (r *reader) noRepeats(t tomlfile.Table, key string, names Names) {
	once := newUnique(key)
	for i, name := range names {
		if name != "" {
			once.add(r, name, strconv.Quote(name), t.AtItem(key, i))
		}
	}
}

// stock checks the measures of pre-perforated paper one by one; whether they
// fit on the paper is the layout's to say.
func (r *reader) stock(s *Stock) {
	const maxCards, maxMeasure = 50, 600
	r.within(s.Table, "columns", s.Columns, 1, maxCards)
	r.within(s.Table, "rows", s.Rows, 1, maxCards)
	for key, mm := range map[string]float64{"width": s.Width, "height": s.Height, "left": s.Left, "top": s.Top, "gutter_x": s.GutterX, "gutter_y": s.GutterY} {
		least := 0.0
		if key == "width" || key == "height" {
			least = 1
		}
		if s.OK(key) && (mm < least || mm > maxMeasure) {
			r.fault(s.At(key), tomlfile.RuleOutOfRange, "", fmt.Sprintf("%s %g mm is not between %g and %d", key, mm, least, maxMeasure), "measure the paper in millimeters")
		}
	}
}
