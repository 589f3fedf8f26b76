package sheets

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"slotcard/fonts"
	"slotcard/layout"
	"slotcard/layout/set"
	"slotcard/layout/words"
	"slotcard/plan"
	"slotcard/plan/finding"
)

// HandoutOptions say how to lay out the hand-out sheet.
type HandoutOptions struct {
	Paper layout.Size         // used upright; the zero Size: letter
	Words *words.HandoutWords // nil: English

	Reprint bool // the cards are printed again, of some units alone
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
func Handout(r *plan.Resolved, o HandoutOptions) (*layout.Document, finding.List) {
	if o.Paper == (layout.Size{}) {
		o.Paper, _ = layout.PaperSize(layout.DefaultPaper)
	}
	across := o.Paper.Across()
	if o.Words == nil {
		o.Words = &words.EnglishHandout
	}
	h := &handout{r: r, words: o.Words}
	if in := &r.Plan.Incident; o.Reprint && !in.RevisedAt.IsZero() {
		h.reprint = words.Filled(o.Words.Reprint, "time", o.Words.Clock(in, in.RevisedAt))
	}
	h.Paper, h.Margin = layout.Size{Name: across.Name, Width: across.Height, Height: across.Width}, handoutMargin
	h.form()
	foot := h.footing()
	teams := h.teams()
	in := &r.Plan.Incident
	for _, t := range teams {
		if h.heading(t, true).H+foot.H+h.columnsHead().H > 0.6*(h.Paper.Height-2*h.Margin) {
			h.Add(set.Misfit{At: in.At("name"), What: "the heading of", Subject: in.Name, Text: t.name})
			return nil, h.findings("shorten the names of incident and team, or print the sheet on larger paper")
		}
	}
	for _, t := range teams {
		h.Open = h.opening(t, foot)
		h.Flow(set.Flow{Blocks: h.rows(t), Begin: true})
	}
	if len(teams) == 0 {
		h.Open = h.opening(&team{name: in.Name}, foot)
		h.NewPage()
	}
	if len(h.Misfits) > 0 {
		return nil, h.findings("shorten it, or print the sheet on larger paper")
	}
	from, to, _ := words.Times(in)
	s := h.bold(1)
	return h.Document(h.words.Title+": "+in.Name, h.words.Numbered(h.words.Period, in)+", "+h.words.Span(from, to), h.words.Language,
		func(c *set.Canvas, i, n int) {
			y := h.Paper.Height - h.Margin - foot.H + handoutFootTop + s.Cap()
			c.TextRight(h.Right(), y, s, h.words.PageOf(i, n))
		}), nil
}

// findings tells of each misfit.
func (h *handout) findings(help string) finding.List {
	return h.Findings(set.Notice{None: help, Message: func(m set.Misfit) string {
		return fmt.Sprintf("%s %q does not fit the hand-out sheet on %s", m.What, set.Short(m.Text), h.Paper.Name)
	}})
}

// handout is a hand-out sheet on its way.
type handout struct {
	set.Pager
	r     *plan.Resolved
	words *words.HandoutWords

	reprint string // in each row; "": nothing

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

func (h *handout) regular(f float64) set.Style { return set.CapStyle(fonts.Regular, handoutBody*f) }
func (h *handout) bold(f float64) set.Style    { return set.CapStyle(fonts.Bold, handoutBody*f) }
func (h *handout) mono(f float64) set.Style    { return set.CapStyle(fonts.MonoBold, handoutBody*f) }

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
		units = words.Filled(h.words.ManyUnits, "n", strconv.Itoa(len(t.units)))
	}
	if len(t.cards) != 1 {
		cards = words.Filled(h.words.ManyCards, "n", strconv.Itoa(len(t.cards)))
	}
	return units + ", " + cards + " " + words.Filled(h.words.Whole, "cards", strconv.Itoa(len(h.r.Cards)))
}

// tickHeads are the heads of the columns of boxes.
func (h *handout) tickHeads() []string {
	return []string{h.words.Batteries, words.Filled(h.words.Label, "color", h.r.Load.About.Colour), h.words.Built, h.words.ReadBack}
}

// form works out the columns for all pages.
func (h *handout) form() {
	s := h.regular(1)
	widest := func(least float64, face set.Style, texts []string) float64 {
		for _, t := range texts {
			least = max(least, face.Width(t))
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
		seats = append(seats, h.seatText(c), h.reprint)
		if c.Division != nil {
			ids = append(ids, c.Division.ID)
		}
		codes = append(codes, c.List.Code.Pairs())
	}
	// What must not wrap is as wide as it is; unit, seat and division share the rest.
	number := widest(s.Width(h.words.CardHead), h.mono(1), numbers)
	h.tickW = min(widest(handoutTick, s, words), 20)
	h.codeW = widest(s.Width(h.words.ListCode), h.mono(1.15), codes)
	initials := max(handoutInitials, s.Width(h.words.Initials))
	ticks := float64(len(h.tickHeads()))
	rest := h.Width() - number - h.codeW - initials - ticks*(h.tickW+handoutGap*0.8) - 6*handoutGap
	want := []float64{
		widest(s.Width(h.words.Unit), h.bold(1), units),
		widest(s.Width(h.words.Seat), s, seats),
		widest(s.Width(h.words.DivisionHead), h.bold(1.3), ids),
	}
	want[2] = min(want[2], max(rest*0.25, s.Width(h.words.DivisionHead)))
	if text := rest - want[2]; want[0]+want[1] > text {
		want[0] = max(text*want[0]/(want[0]+want[1]), text*0.3)
		want[1] = text - want[0]
	} else {
		initials += min(text-want[0]-want[1], 12) // a wider field, then white
	}
	h.unitW, h.seatW, h.divisionW = want[0], want[1], want[2]
	h.initials = h.Width() - initials
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
	return words.Filled(h.words.NthOf, "i", strconv.Itoa(c.Nth), "n", strconv.Itoa(c.Of))
}

// opening opens the pages of a team.
func (h *handout) opening(t *team, foot set.Block) func() {
	again := false
	return func() {
		c := &h.Page().Canvas
		if !again {
			h.Page().Bookmark(t.name, 0, h.Y)
		}
		over := []set.Block{h.heading(t, again)}
		if len(t.cards) > 0 {
			over = append(over, h.columnsHead())
		}
		for _, b := range over {
			b.Put(c, h.Left(), h.Y)
			h.Y += b.H
		}
		h.Bottom -= foot.H
		foot.Put(c, h.Left(), h.Bottom)
		again = true
	}
}

// heading says whose sheet it is.
func (h *handout) heading(t *team, again bool) set.Block {
	in := h.r.Plan.Incident
	from, to, _ := words.Times(&in)
	label, hours := h.regular(1), h.bold(1.3)
	band, top := 0.0, 0.0
	if in.Exercise {
		band = 9.0
		top = band + 4.5
	}
	number, zone, period := h.words.Numbered(h.words.Period, &in), ", "+h.words.ZoneOf(from), h.words.Span(from, to)
	rightW := max(hours.Width(period), h.bold(1).Width(number)+label.Width(zone))
	para := func(text string, most, width float64) set.Stack {
		s, ok := set.Shrink(h.bold(1), text, most, handoutBody*1.5, width)
		col := set.Stack{Lines: []set.Line{s.Line(text)}, Cap: s.Cap(), Pitch: s.Cap() * 1.55}
		if !ok {
			col.Lines = set.Paragraph(width, s.Say(text))
		}
		return col
	}
	incident := para(in.Name, handoutBody*2, h.Width()-rightW-8)
	name := t.name
	if again {
		name += ", " + h.words.Again
	}
	tally := h.tally(t)
	team := para(name, handoutBody*2.6, h.Width()-label.Width(tally)-8)
	codes := set.Stack{Cap: handoutBody, Pitch: handoutPitch}
	for _, l := range t.lists() {
		said := []set.Run{label.Say(h.words.ReadBackCode + " "), h.mono(1).Say(l.Code.Pairs()), label.Say(words.Joined(", "+h.words.Spelled(l.Code), h.words.OneList(l, h.r)))}
		codes.Lines = append(codes.Lines, set.Paragraph(h.Width(), said...)...)
	}
	howTo := set.Paragraph(h.Width(), label.Say(h.words.HowTo))
	codes.Lines = append(codes.Lines, howTo...)

	labelY := top + label.Cap()
	incidentY := labelY + handoutBody*1.5
	ruleY := incidentY + max(incident.Height(), hours.Cap()) + handoutBody*1.7
	teamY := ruleY + wallMid + handoutBody*2.2
	codesY := teamY + team.Height() + handoutBody*1.9
	return set.Drawn(codesY+codes.Height()+handoutBody*2.6, func(c *set.Canvas, x, y float64) {
		r := x + h.Width()
		if band > 0 {
			c.ExerciseBand(x, y, h.Width(), band, h.words.Exercise, h.words.ExerciseNote)
		}
		c.Text(x, y+labelY, label, h.words.Title)
		c.TextRight(r, y+labelY, label, zone)
		c.TextRight(r-label.Width(zone), y+labelY, h.bold(1), number)
		incident.Draw(c, x, y+incidentY)
		c.TextRight(r, y+incidentY+incident.Height(), hours, period)
		c.Rule(x, r, y+ruleY+wallMid/2, wallMid)
		team.Draw(c, x, y+teamY)
		c.TextRight(r, y+teamY+team.Height(), label, tally)
		codes.Draw(c, x, y+codesY)
	})
}

// columnsHead are the titles of the columns, their last lines on one baseline.
func (h *handout) columnsHead() set.Block {
	s := h.regular(1)
	heads := h.tickHeads()
	cells := make([]set.Stack, len(heads))
	tall := s.Cap()
	for i, t := range heads {
		cells[i] = s.Stack(t, h.tickW, handoutPitch)
		tall = max(tall, cells[i].Height())
	}
	height := tall + handoutBody*1.1
	return set.Drawn(height+wallMid, func(c *set.Canvas, x, y float64) {
		base := y + tall
		c.Text(x, base, s, h.words.CardHead)
		c.Text(x+h.unit, base, s, h.words.Unit)
		c.Text(x+h.seat, base, s, h.words.Seat)
		c.Text(x+h.division, base, s, h.words.DivisionHead)
		c.Text(x+h.code, base, s, h.words.ListCode)
		for i, col := range cells {
			middle := x + h.tickX(i) + h.tickW/2
			for j, l := range col.Lines {
				ly := base - float64(len(col.Lines)-1-j)*handoutPitch
				c.Line(middle-l.Wide/2, ly, l)
			}
		}
		c.Text(x+h.initials, base, s, h.words.Initials)
		c.Rule(x, x+h.Width(), y+height+wallMid/2, wallMid)
	})
}

// tickX is the left edge of a column of boxes.
func (h *handout) tickX(i int) float64 { return h.ticks + float64(i)*(h.tickW+handoutGap*0.8) }

// footing carries the cautions and, once more, the exercise mark.
func (h *handout) footing() set.Block {
	s := h.regular(1)
	notes := s.Stack(strings.Join(h.words.SheetNotes, " "), h.Width()-h.bold(1).Width(h.words.PageOf(100, 100))-8, handoutPitch)
	band := 0.0
	if h.r.Plan.Incident.Exercise {
		band = 5
	}
	return footOf(notes, h.Width(), handoutFootTop, handoutBody, handoutBody*1.4, band, h.words.Exercise)
}

// rows are the cards of a team. The first one of a page names its unit, too, and
// every one asks for the room that this takes.
func (h *handout) rows(t *team) []set.Block {
	var rows []set.Block
	var before *plan.Unit
	for _, card := range t.cards {
		row := h.row(card)
		named := row(true)
		b := row(card.Unit != before)
		weight, x := wallLight, h.seat // between cards; a stronger one between units
		if card.Unit != before {
			weight, x = wallMid*0.8, 0
		}
		b.Rule = func(c *set.Canvas, left, y float64) { c.Rule(left+x, h.Right(), y, weight) }
		b.Asks, b.First = named.H, &named
		b.What = set.Misfit{At: card.Unit.At("name"), What: "the row of", Text: card.Unit.Name}
		rows = append(rows, b)
		before = card.Unit
	}
	return append(rows, set.Drawn(0, func(c *set.Canvas, x, y float64) { c.Rule(x, h.Right(), y, wallMid) }))
}

// row is a card's row; it names the unit if named.
func (h *handout) row(card *plan.Card) func(named bool) set.Block {
	regular, bold, id := h.regular(1), h.bold(1), h.bold(1.3)
	cell := func(s set.Style, t string, width float64) set.Stack {
		return s.Stack(t, width, s.Cap()*1.75)
	}
	unit := cell(bold, card.Unit.Name, h.unitW)
	if card.Unit.Kind != "" {
		unit.Lines = append(unit.Lines, set.Paragraph(h.unitW, regular.Say(card.Unit.Kind))...)
	}
	seat := cell(regular, h.seatText(card), h.seatW)
	if len(seat.Lines) > 1 && card.Of > 1 { // which of several stays whole
		seat = cell(regular, card.Position.Name+",", h.seatW)
		seat.Lines = append(seat.Lines, set.Paragraph(h.seatW, regular.Say(h.nth(card)))...)
	}
	if h.reprint != "" {
		seat.Lines = append(seat.Lines, set.Paragraph(h.seatW, bold.Say(h.reprint))...)
	}
	division := ""
	if card.Division != nil {
		division = card.Division.ID
	}
	where := cell(id, division, h.divisionW)
	return func(named bool) set.Block {
		height := max(handoutRow, seat.Height()+handoutBody*2.4, where.Height()+handoutBody*2.4)
		if named {
			height = max(height, unit.Height()+handoutBody*2.4)
		}
		return set.Drawn(height, func(c *set.Canvas, x, y float64) {
			middle := y + height/2
			top := func(col set.Stack) float64 { return middle - col.Height()/2 }
			c.Text(x, middle+h.mono(1).Cap()/2, h.mono(1), strconv.Itoa(card.Number))
			if named {
				unit.Draw(c, x+h.unit, top(unit))
			}
			seat.Draw(c, x+h.seat, top(seat))
			if division != "" {
				where.Draw(c, x+h.division, top(where))
			}
			code := h.mono(1.15)
			c.Text(x+h.code, middle+code.Cap()/2, code, card.List.Code.Pairs())
			for i := range h.tickHeads() {
				const weight = 0.35
				left := x + h.tickX(i) + (h.tickW-handoutTick)/2
				c.Add(layout.Box{X: left + weight/2, Y: middle - handoutTick/2 + weight/2, W: handoutTick - weight, H: handoutTick - weight, Stroke: weight})
			}
		})
	}
}
