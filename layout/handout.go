package layout

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"slotcard/fonts"
	"slotcard/plan"
	"slotcard/plan/finding"
)

// HandoutOptions say how to lay out the hand-out sheet.
type HandoutOptions struct {
	Paper Size          // used upright; the zero Size: letter
	Words *HandoutWords // nil: English
}

// Measures of the hand-out sheet in mm. Its type is read at 500 mm: see
// [SheetLeast]. Boxes and rows leave room for a gloved hand with a pen.
const (
	handoutMargin   = 12.0
	handoutBody     = 2.35 // capitals
	handoutPitch    = handoutBody * 1.75
	handoutRow      = 9.0  // least height of a row
	handoutInitials = 22.0 // least width of the field for initials
	handoutTick     = 5.0  // side of a box to tick
	handoutGap      = 2.6  // between columns
	handoutFootTop  = 4.4  // from the top of the foot to its first line
)

// Handout lays out the sheet on which the strike team leader hands the cards out
// and collects initials: upright, a new page for each team, a row for each
// card. Units without a team stand together, last.
func Handout(r *plan.Resolved, o HandoutOptions) (*Document, finding.List) {
	if o.Paper == (Size{}) {
		o.Paper, _ = PaperSize(defaultPaper)
	}
	across := o.Paper.Across()
	if o.Words == nil {
		o.Words = &EnglishHandout
	}
	h := &handout{r: r, words: o.Words}
	h.paper, h.margin = Size{across.Name, across.Height, across.Width}, handoutMargin
	h.form()
	foot := h.footing()
	teams := h.teams()
	in := &r.Plan.Incident
	for _, t := range teams {
		if h.heading(t, true).h+foot.h+h.columnsHead().h > 0.6*(h.paper.Height-2*h.margin) {
			h.add(misfit{at: in.At("name"), what: "the heading of", subject: in.Name, text: t.name})
			return nil, h.findings("shorten the names of incident and team, or print the sheet on larger paper")
		}
	}
	for _, t := range teams {
		h.open = h.opening(t, foot)
		h.flow(flow{blocks: h.rows(t), begin: true})
	}
	if len(teams) == 0 {
		h.open = h.opening(&team{name: in.Name}, foot)
		h.newPage()
	}
	if len(h.misfits) > 0 {
		return nil, h.findings("shorten it, or print the sheet on larger paper")
	}
	from, to, _ := times(in)
	s := h.bold(1)
	return h.document(h.words.Title+": "+in.Name, fmt.Sprintf("%s %d, %s", h.words.Period, in.Period, h.words.span(from, to)), h.words.Language,
		func(c *canvas, i, n int) {
			y := h.paper.Height - h.margin - foot.h + handoutFootTop + s.cap()
			c.textRight(h.right(), y, s, h.words.page(i, n))
		}), nil
}

// findings tells of each misfit.
func (h *handout) findings(help string) finding.List {
	return h.asFindings(notice{none: help, message: func(m misfit) string {
		return fmt.Sprintf("%s %q does not fit the hand-out sheet on %s", m.what, short(m.text), h.paper.Name)
	}})
}

// handout is a hand-out sheet on its way.
type handout struct {
	pager
	r     *plan.Resolved
	words *HandoutWords

	// Left edges of the columns, and the widths of those whose text wraps.
	unit, seat, division, code, ticks, initials float64
	unitW, seatW, divisionW, codeW, tickW       float64
}

// team is a team, or all units without one, and its cards.
type team struct {
	name  string
	units []*plan.Unit
	cards []*plan.Card
}

func (h *handout) regular(f float64) style { return capStyle(fonts.Regular, handoutBody*f) }
func (h *handout) bold(f float64) style    { return capStyle(fonts.Bold, handoutBody*f) }
func (h *handout) mono(f float64) style    { return capStyle(fonts.MonoBold, handoutBody*f) }

// teams in the order of their first unit, then the units without a team.
func (h *handout) teams() []*team {
	var teams []*team
	none := &team{name: h.words.NoTeam}
	byName := map[string]*team{"": none}
	byUnit := map[*plan.Unit][]*plan.Card{}
	for _, c := range h.r.Cards {
		byUnit[c.Unit] = append(byUnit[c.Unit], c)
	}
	for _, u := range h.r.Plan.Units {
		t := byName[u.Team]
		if t == nil {
			t = &team{name: u.Team}
			byName[u.Team] = t
			teams = append(teams, t)
		}
		t.units = append(t.units, u)
		t.cards = append(t.cards, byUnit[u]...)
	}
	return slices.DeleteFunc(append(teams, none), func(t *team) bool { return len(t.cards) == 0 })
}

// lists of a team's cards, each once.
func (t *team) lists() (lists []*plan.List) {
	for _, c := range t.cards {
		if !slices.Contains(lists, c.List) {
			lists = append(lists, c.List)
		}
	}
	return lists
}

// tally counts the units and cards of a team.
func (h *handout) tally(t *team) string {
	units, cards := h.words.OneUnit, h.words.OneCard
	if len(t.units) != 1 {
		units = filled(h.words.ManyUnits, "n", strconv.Itoa(len(t.units)))
	}
	if len(t.cards) != 1 {
		cards = filled(h.words.ManyCards, "n", strconv.Itoa(len(t.cards)))
	}
	return units + ", " + cards + " " + filled(h.words.Whole, "cards", strconv.Itoa(len(h.r.Cards)))
}

// ticks are the heads of the columns of boxes.
func (h *handout) tickHeads() []string {
	return []string{h.words.Batteries, filled(h.words.Label, "colour", h.r.Load.About.Colour), h.words.Built, h.words.ReadBack}
}

// form works out the columns for all pages.
func (h *handout) form() {
	s := h.regular(1)
	widest := func(least float64, face style, texts []string) float64 {
		for _, t := range texts {
			least = max(least, face.width(t))
		}
		return least
	}
	var words, numbers, units, seats, ids, codes []string
	for _, t := range h.tickHeads() {
		words = append(words, strings.Fields(t)...)
	}
	for _, c := range h.r.Cards {
		numbers = append(numbers, strconv.Itoa(c.Number))
		units = append(units, c.Unit.Name)
		seats = append(seats, h.seatText(c))
		if c.Division != nil {
			ids = append(ids, c.Division.ID)
		}
		codes = append(codes, c.List.Code.Pairs())
	}
	// What must not wrap is as wide as it is; unit, seat and division share the rest.
	number := widest(s.width(h.words.CardHead), h.mono(1), numbers)
	h.tickW = min(widest(handoutTick, s, words), 20)
	h.codeW = widest(s.width(h.words.ListCode), h.mono(1.15), codes)
	initials := max(handoutInitials, s.width(h.words.Initials))
	ticks := float64(len(h.tickHeads()))
	rest := h.width() - number - h.codeW - initials - ticks*(h.tickW+handoutGap*0.8) - 6*handoutGap
	want := []float64{
		widest(s.width(h.words.Unit), h.bold(1), units),
		widest(s.width(h.words.Seat), s, seats),
		widest(s.width(h.words.DivisionHead), h.bold(1.3), ids),
	}
	want[2] = min(want[2], max(rest*0.25, s.width(h.words.DivisionHead)))
	if text := rest - want[2]; want[0]+want[1] > text {
		want[0] = max(text*want[0]/(want[0]+want[1]), text*0.3)
		want[1] = text - want[0]
	} else {
		initials += min(text-want[0]-want[1], 12) // a wider field, then white
	}
	h.unitW, h.seatW, h.divisionW = want[0], want[1], want[2]
	h.initials = h.width() - initials
	h.ticks = h.initials - handoutGap - ticks*(h.tickW+handoutGap*0.8)
	h.code = h.ticks - handoutGap - h.codeW
	h.unit = number + handoutGap
	spare := (h.code - handoutGap - (h.unit + want[0] + want[1] + want[2] + 2*handoutGap)) / 2
	h.seat = h.unit + want[0] + handoutGap + spare
	h.division = h.code - handoutGap - want[2]
}

// seatText is the position of a card, and which of several it is.
func (h *handout) seatText(c *plan.Card) string {
	if c.Of < 2 {
		return c.Position.Name
	}
	return c.Position.Name + ", " + h.nth(c)
}

func (h *handout) nth(c *plan.Card) string {
	return filled(h.words.NthOf, "i", strconv.Itoa(c.Nth), "n", strconv.Itoa(c.Of))
}

// opening opens the pages of a team.
func (h *handout) opening(t *team, foot block) func() {
	again := false
	return func() {
		c := &h.page().canvas
		if !again {
			h.page().bookmark(t.name, 0, h.y)
		}
		over := []block{h.heading(t, again)}
		if len(t.cards) > 0 {
			over = append(over, h.columnsHead())
		}
		for _, b := range over {
			b.put(c, h.left(), h.y)
			h.y += b.h
		}
		h.bottom -= foot.h
		foot.put(c, h.left(), h.bottom)
		again = true
	}
}

// heading says whose sheet it is.
func (h *handout) heading(t *team, again bool) block {
	in := h.r.Plan.Incident
	from, to, _ := times(&in)
	label, hours := h.regular(1), h.bold(1.3)
	band, top := 0.0, 0.0
	if in.Exercise {
		band = 9.0
		top = band + 4.5
	}
	number, zone, period := fmt.Sprintf("%s %d", h.words.Period, in.Period), ", "+h.words.zone(from), h.words.span(from, to)
	rightW := max(hours.width(period), h.bold(1).width(number)+label.width(zone))
	para := func(text string, most, width float64) stack {
		s, ok := shrink(h.bold(1), text, most, handoutBody*1.5, width)
		col := stack{lines: []line{s.line(text)}, cap: s.cap(), pitch: s.cap() * 1.55}
		if !ok {
			col.lines = set(width, s.say(text))
		}
		return col
	}
	incident := para(in.Name, handoutBody*2, h.width()-rightW-8)
	name := t.name
	if again {
		name += ", " + h.words.Again
	}
	tally := h.tally(t)
	team := para(name, handoutBody*2.6, h.width()-label.width(tally)-8)
	codes := stack{cap: handoutBody, pitch: handoutPitch}
	for _, l := range t.lists() {
		said := []run{label.say(h.words.ReadBackCode + " "), h.mono(1).say(l.Code.Pairs()), label.say(joined(", "+h.words.spelled(l.Code), h.words.listOf(l, h.r)))}
		codes.lines = append(codes.lines, set(h.width(), said...)...)
	}
	howTo := set(h.width(), label.say(h.words.HowTo))
	codes.lines = append(codes.lines, howTo...)

	labelY := top + label.cap()
	incidentY := labelY + handoutBody*1.5
	ruleY := incidentY + max(incident.height(), hours.cap()) + handoutBody*1.7
	teamY := ruleY + wallMid + handoutBody*2.2
	codesY := teamY + team.height() + handoutBody*1.9
	return drawn(codesY+codes.height()+handoutBody*2.6, func(c *canvas, x, y float64) {
		r := x + h.width()
		if band > 0 {
			c.exerciseBand(x, y, h.width(), band, h.words.Exercise, h.words.ExerciseNote)
		}
		c.text(x, y+labelY, label, h.words.Title)
		c.textRight(r, y+labelY, label, zone)
		c.textRight(r-label.width(zone), y+labelY, h.bold(1), number)
		incident.draw(c, x, y+incidentY)
		c.textRight(r, y+incidentY+incident.height(), hours, period)
		c.rule(x, r, y+ruleY+wallMid/2, wallMid)
		team.draw(c, x, y+teamY)
		c.textRight(r, y+teamY+team.height(), label, tally)
		codes.draw(c, x, y+codesY)
	})
}

// columnsHead are the titles of the columns, their last lines on one baseline.
func (h *handout) columnsHead() block {
	s := h.regular(1)
	heads := h.tickHeads()
	cells := make([]stack, len(heads))
	tall := s.cap()
	for i, t := range heads {
		cells[i] = s.stack(t, h.tickW, handoutPitch)
		tall = max(tall, cells[i].height())
	}
	height := tall + handoutBody*1.1
	return drawn(height+wallMid, func(c *canvas, x, y float64) {
		base := y + tall
		c.text(x, base, s, h.words.CardHead)
		c.text(x+h.unit, base, s, h.words.Unit)
		c.text(x+h.seat, base, s, h.words.Seat)
		c.text(x+h.division, base, s, h.words.DivisionHead)
		c.text(x+h.code, base, s, h.words.ListCode)
		for i, col := range cells {
			middle := x + h.tickX(i) + h.tickW/2
			for j, l := range col.lines {
				ly := base - float64(len(col.lines)-1-j)*handoutPitch
				c.line(middle-l.wide/2, ly, l)
			}
		}
		c.text(x+h.initials, base, s, h.words.Initials)
		c.rule(x, x+h.width(), y+height+wallMid/2, wallMid)
	})
}

// tickX is the left edge of a column of boxes.
func (h *handout) tickX(i int) float64 { return h.ticks + float64(i)*(h.tickW+handoutGap*0.8) }

// footing carries the cautions and, once more, the exercise mark.
func (h *handout) footing() block {
	s := h.regular(1)
	notes := s.stack(strings.Join(h.words.SheetNotes, " "), h.width()-h.bold(1).width(h.words.page(100, 100))-8, handoutPitch)
	height, band := handoutFootTop+notes.height()+handoutBody*0.4, 0.0
	if h.r.Plan.Incident.Exercise {
		band = 5.0
		height += handoutBody*1.4 + band
	}
	return drawn(height, func(c *canvas, x, y float64) {
		notes.draw(c, x, y+handoutFootTop)
		if band > 0 {
			c.exerciseBand(x, y+height-band, h.width(), band, h.words.Exercise, "")
		}
	})
}

// rows are the cards of a team. The first one of a page names its unit, too, and
// every one asks for the room that this takes.
func (h *handout) rows(t *team) []block {
	var rows []block
	var before *plan.Unit
	for _, card := range t.cards {
		row := h.row(card)
		named := row(true)
		b := row(card.Unit != before)
		weight, x := wallLight, h.seat // between cards; a stronger one between units
		if card.Unit != before {
			weight, x = wallMid*0.8, 0
		}
		b.rule = func(c *canvas, left, y float64) { c.rule(left+x, h.right(), y, weight) }
		b.asks, b.first = named.h, &named
		b.what = misfit{at: card.Unit.At("name"), what: "the row of", text: card.Unit.Name}
		rows = append(rows, b)
		before = card.Unit
	}
	return append(rows, drawn(0, func(c *canvas, x, y float64) { c.rule(x, h.right(), y, wallMid) }))
}

// row is a card's row; it names the unit if named.
func (h *handout) row(card *plan.Card) func(named bool) block {
	regular, bold, id := h.regular(1), h.bold(1), h.bold(1.3)
	cell := func(s style, t string, width float64) stack {
		return s.stack(t, width, s.cap()*1.75)
	}
	unit := cell(bold, card.Unit.Name, h.unitW)
	if card.Unit.Kind != "" {
		unit.lines = append(unit.lines, set(h.unitW, regular.say(card.Unit.Kind))...)
	}
	seat := cell(regular, h.seatText(card), h.seatW)
	if len(seat.lines) > 1 && card.Of > 1 { // which of several stays whole
		seat = cell(regular, card.Position.Name+",", h.seatW)
		seat.lines = append(seat.lines, set(h.seatW, regular.say(h.nth(card)))...)
	}
	division := ""
	if card.Division != nil {
		division = card.Division.ID
	}
	where := cell(id, division, h.divisionW)
	return func(named bool) block {
		height := max(handoutRow, seat.height()+handoutBody*2.4, where.height()+handoutBody*2.4)
		if named {
			height = max(height, unit.height()+handoutBody*2.4)
		}
		return drawn(height, func(c *canvas, x, y float64) {
			middle := y + height/2
			top := func(col stack) float64 { return middle - col.height()/2 }
			c.text(x, middle+h.mono(1).cap()/2, h.mono(1), strconv.Itoa(card.Number))
			if named {
				unit.draw(c, x+h.unit, top(unit))
			}
			seat.draw(c, x+h.seat, top(seat))
			if division != "" {
				where.draw(c, x+h.division, top(where))
			}
			code := h.mono(1.15)
			c.text(x+h.code, middle+code.cap()/2, code, card.List.Code.Pairs())
			for i := range h.tickHeads() {
				const weight = 0.35
				left := x + h.tickX(i) + (h.tickW-handoutTick)/2
				c.add(Box{X: left + weight/2, Y: middle - handoutTick/2 + weight/2, W: handoutTick - weight, H: handoutTick - weight, Stroke: weight})
			}
		})
	}
}
