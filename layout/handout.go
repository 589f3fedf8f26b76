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
		o.Paper, _ = PaperSize("letter")
	}
	across := o.Paper.Across()
	if o.Words == nil {
		o.Words = &EnglishHandout
	}
	h := &handout{r: r, w: o.Words}
	h.paper, h.margin = Size{across.Name, across.Height, across.Width}, handoutMargin
	h.open = h.opened
	h.form()
	teams := h.teams()
	in := r.Plan.Incident
	for _, t := range teams {
		if h.heading(t, true).h+h.footing().h+h.columnsHead().h > 0.6*(h.paper.Height-2*h.margin) {
			return nil, finding.List{{
				Rule: "does-not-fit", Severity: finding.Error, Place: in.At("name"), Subject: in.Name,
				Message: fmt.Sprintf("the heading of %q does not fit the hand-out sheet on %s", short(t.name), h.paper.Name),
				Help:    []string{"shorten the names of incident and team, or print the sheet on larger paper"},
			}}
		}
	}
	for _, t := range teams {
		h.team(t)
	}
	if len(h.pages) == 0 {
		h.current = &team{name: in.Name}
		h.turn()
	}
	from, to, _ := times(&in)
	s := h.bold(1)
	return h.document(h.w.Title+": "+in.Name, fmt.Sprintf("%s %d, %s", h.w.Period, in.Period, h.w.span(from, to)), h.w.Language,
		func(c *canvas, i, n int) {
			y := h.paper.Height - h.margin - h.footing().h + handoutFootTop + s.cap()
			c.textRight(h.right(), y, s, h.pageText(i, n))
		}), nil
}

// handout is a hand-out sheet on its way.
type handout struct {
	pager
	r       *plan.Resolved
	w       *HandoutWords
	current *team // whose page it is
	again   bool  // a further page of the team

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

func (h *handout) pageText(i, n int) string {
	return filled(h.w.Page, "i", strconv.Itoa(i), "n", strconv.Itoa(n))
}

// teams in the order of their first unit, then the units without a team.
func (h *handout) teams() []*team {
	var teams []*team
	none := &team{name: h.w.NoTeam}
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
	units, cards := h.w.OneUnit, h.w.OneCard
	if len(t.units) != 1 {
		units = filled(h.w.ManyUnits, "n", strconv.Itoa(len(t.units)))
	}
	if len(t.cards) != 1 {
		cards = filled(h.w.ManyCards, "n", strconv.Itoa(len(t.cards)))
	}
	return units + ", " + cards + " " + filled(h.w.Whole, "cards", strconv.Itoa(len(h.r.Cards)))
}

// ticks are the heads of the columns of boxes.
func (h *handout) tickHeads() []string {
	return []string{h.w.Batteries, filled(h.w.Label, "colour", h.r.Load.About.Colour), h.w.Built, h.w.ReadBack}
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
	number := widest(s.width(h.w.CardHead), h.mono(1), numbers)
	h.tickW = min(widest(handoutTick, s, words), 20)
	h.codeW = widest(s.width(h.w.ListCode), h.mono(1.15), codes)
	initials := max(handoutInitials, s.width(h.w.Initials))
	ticks := float64(len(h.tickHeads()))
	rest := h.width() - number - h.codeW - initials - ticks*(h.tickW+handoutGap*0.8) - 6*handoutGap
	want := []float64{
		widest(s.width(h.w.Unit), h.bold(1), units),
		widest(s.width(h.w.Seat), s, seats),
		widest(s.width(h.w.DivisionHead), h.bold(1.3), ids),
	}
	want[2] = min(want[2], max(rest*0.25, s.width(h.w.DivisionHead)))
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
	return filled(h.w.NthOf, "i", strconv.Itoa(c.Nth), "n", strconv.Itoa(c.Of))
}

func (h *handout) opened(p *pager) {
	head, foot, titles := h.heading(h.current, h.again), h.footing(), h.columnsHead()
	c := &p.now().canvas
	p.bookmarkFirst(h.current.name, h.again)
	head.draw(c, p.left(), p.y)
	p.y += head.h
	if len(h.current.cards) > 0 {
		titles.draw(c, p.left(), p.y)
		p.y += titles.h
	}
	foot.draw(c, p.left(), p.bottom-foot.h)
	p.bottom -= foot.h
}

// bookmarkFirst marks the first page of a section.
func (p *pager) bookmarkFirst(title string, again bool) {
	if !again {
		p.bookmark(title, 0)
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
	number, zone, period := fmt.Sprintf("%s %d", h.w.Period, in.Period), ", "+h.w.zone(from), h.w.span(from, to)
	rightW := max(hours.width(period), h.bold(1).width(number)+label.width(zone))
	para := func(text string, most, width float64) column {
		s, ok := shrink(h.bold(1), text, most, handoutBody*1.5, width)
		col := column{lines: [][]span{plain(s, text)}, cap: s.cap(), pitch: s.cap() * 1.55}
		if !ok {
			col.lines = breakSpans(col.lines[0], width)
		}
		return col
	}
	incident := para(in.Name, handoutBody*2, h.width()-rightW-8)
	name := t.name
	if again {
		name += ", " + h.w.Again
	}
	tally := h.tally(t)
	team := para(name, handoutBody*2.6, h.width()-label.width(tally)-8)
	codes := column{cap: handoutBody, pitch: handoutPitch}
	for _, l := range t.lists() {
		said := []span{{label, h.w.ReadBackCode + " "}, {h.mono(1), l.Code.Pairs()}, {label, joined(", "+h.w.spelled(l.Code), h.w.listOf(l, h.r))}}
		codes.lines = append(codes.lines, breakSpans(said, h.width())...)
	}
	howTo := breakSpans(plain(label, h.w.HowTo), h.width())
	codes.lines = append(codes.lines, howTo...)

	labelY := top + label.cap()
	incidentY := labelY + handoutBody*1.5
	ruleY := incidentY + max(incident.height(), hours.cap()) + handoutBody*1.7
	teamY := ruleY + wallMid + handoutBody*2.2
	codesY := teamY + team.height() + handoutBody*1.9
	return block{h: codesY + codes.height() + handoutBody*2.6, draw: func(c *canvas, x, y float64) {
		r := x + h.width()
		if band > 0 {
			c.exerciseBand(x, y, h.width(), band, h.w.Exercise, h.w.ExerciseNote)
		}
		c.text(x, y+labelY, label, h.w.Title)
		c.textRight(r, y+labelY, label, zone)
		c.textRight(r-label.width(zone), y+labelY, h.bold(1), number)
		incident.draw(c, x, y+incidentY)
		c.textRight(r, y+incidentY+incident.height(), hours, period)
		c.rule(x, r, y+ruleY+wallMid/2, wallMid)
		team.draw(c, x, y+teamY)
		c.textRight(r, y+teamY+team.height(), label, tally)
		codes.draw(c, x, y+codesY)
	}}
}

// columnsHead are the titles of the columns, their last lines on one baseline.
func (h *handout) columnsHead() block {
	s := h.regular(1)
	heads := h.tickHeads()
	cells := make([]column, len(heads))
	tall := s.cap()
	for i, t := range heads {
		cells[i] = column{lines: breakSpans(plain(s, t), h.tickW), cap: s.cap(), pitch: handoutPitch}
		tall = max(tall, cells[i].height())
	}
	height := tall + handoutBody*1.1
	return block{h: height + wallMid, draw: func(c *canvas, x, y float64) {
		base := y + tall
		c.text(x, base, s, h.w.CardHead)
		c.text(x+h.unit, base, s, h.w.Unit)
		c.text(x+h.seat, base, s, h.w.Seat)
		c.text(x+h.division, base, s, h.w.DivisionHead)
		c.text(x+h.code, base, s, h.w.ListCode)
		for i, col := range cells {
			middle := x + h.tickX(i) + h.tickW/2
			for j, l := range col.lines {
				ly := base - float64(len(col.lines)-1-j)*handoutPitch
				c.spansText(middle-spansWidth(l)/2, ly, l)
			}
		}
		c.text(x+h.initials, base, s, h.w.Initials)
		c.rule(x, x+h.width(), y+height+wallMid/2, wallMid)
	}}
}

// tickX is the left edge of a column of boxes.
func (h *handout) tickX(i int) float64 { return h.ticks + float64(i)*(h.tickW+handoutGap*0.8) }

// footing carries the cautions and, once more, the exercise mark.
func (h *handout) footing() block {
	s := h.regular(1)
	notes := column{lines: breakSpans(plain(s, strings.Join(h.w.SheetNotes, " ")), h.width()-h.bold(1).width(h.pageText(100, 100))-8),
		cap: s.cap(), pitch: handoutPitch}
	height, band := handoutFootTop+notes.height()+handoutBody*0.4, 0.0
	if h.r.Plan.Incident.Exercise {
		band = 5.0
		height += handoutBody*1.4 + band
	}
	return block{h: height, draw: func(c *canvas, x, y float64) {
		notes.draw(c, x, y+handoutFootTop)
		if band > 0 {
			c.exerciseBand(x, y+height-band, h.width(), band, h.w.Exercise, "")
		}
	}}
}

// team places the rows of a team, from a new page on.
func (h *handout) team(t *team) {
	h.current, h.again = t, false
	h.turn()
	h.again = true
	var before *plan.Unit
	for _, card := range t.cards {
		row := h.row(card)
		if h.room() < row(true).h {
			h.turn()
			before = nil
		}
		c := &h.now().canvas
		if h.y > h.top { // a rule between cards, a stronger one between units
			weight := wallLight
			x := h.left() + h.seat
			if card.Unit != before {
				weight, x = wallMid*0.8, h.left()
			}
			c.rule(x, h.right(), h.y, weight)
		}
		b := row(card.Unit != before)
		b.draw(c, h.left(), h.y)
		h.y += b.h
		before = card.Unit
	}
	h.now().rule(h.left(), h.right(), h.y, wallMid)
}

// row is a card's row; it names the unit if named.
func (h *handout) row(card *plan.Card) func(named bool) block {
	regular, bold, id := h.regular(1), h.bold(1), h.bold(1.3)
	cell := func(s style, t string, width float64) column {
		return column{lines: breakSpans(plain(s, t), width), cap: s.cap(), pitch: s.cap() * 1.75}
	}
	unit := cell(bold, card.Unit.Name, h.unitW)
	if card.Unit.Kind != "" {
		unit.lines = append(unit.lines, breakSpans(plain(regular, card.Unit.Kind), h.unitW)...)
	}
	seat := cell(regular, h.seatText(card), h.seatW)
	if len(seat.lines) > 1 && card.Of > 1 { // which of several stays whole
		seat = cell(regular, card.Position.Name+",", h.seatW)
		seat.lines = append(seat.lines, breakSpans(plain(regular, h.nth(card)), h.seatW)...)
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
		return block{h: height, draw: func(c *canvas, x, y float64) {
			middle := y + height/2
			top := func(col column) float64 { return middle - col.height()/2 }
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
		}}
	}
}
