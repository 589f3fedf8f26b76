// Package sheets lays out the sheets of a plan beside that for the wall: for handing
// out cards ([Handout]), of what changes ([ChangeSheet], [Comparison]), and
// of the fire ([Fire]).
package sheets

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"slotcard/fonts"
	"slotcard/layout"
	"slotcard/layout/frame"
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
// [layout.SheetLeast]. Boxes and rows leave room for a gloved hand with a pen.
const (
	handoutMargin   = 10.0
	handoutBody     = 2.35 // capitals
	handoutPitch    = handoutBody * 1.75
	handoutTight    = 8.0  // least height of a row
	handoutRow      = 9.0  // the same where room is left
	handoutRoomy    = 11.0 // most of that
	handoutSlot     = 4.7  // width of a field for a slot
	handoutInitials = 22.0 // least width of the field for initials
	handoutTick     = 5.0  // side of a box to tick
	handoutGap      = 2.6  // between columns
	handoutFootTop  = 4.0  // from the top of the foot to its first line
)

// Handout lays out the sheet on which the strike team leader hands the cards out
// and collects initials: upright, a new page for each team, a row for each
// card. Units without a team stand together, last, on the page of the last team where
// that holds them. Rows are as high as the fewest pages allow, small units stay on one
// page where that takes no page more, and pages of a team are filled evenly where the
// last one would be nearly empty.
func Handout(r *plan.Resolved, o HandoutOptions) (*layout.Document, finding.List) {
	frame.Settle(&o.Paper, &o.Words, &words.EnglishHandout)
	across := o.Paper.Across()
	h := &handout{r: r, words: o.Words, overs: map[pageOf]set.Pile{}}
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
	h.rowLeast = handoutTight
	fewest := h.lay(teams, foot, false)
	for _, h.whole = range []bool{true, false} {
		least, ok := set.Largest(handoutTight, handoutRoomy, 0.5, func(row float64) bool {
			h.rowLeast = row
			return h.lay(teams, foot, false) <= fewest
		})
		if h.rowLeast = least; ok {
			break
		}
	}
	h.lay(teams, foot, true)
	if len(teams) == 0 {
		h.Open = h.opening(&team{name: in.Name}, foot, 0)
		h.NewPage()
	}
	if len(h.Misfits) > 0 {
		return nil, h.findings("shorten it, or print the sheet on larger paper")
	}
	from, to, _ := words.Times(in)
	s := h.bold(1)
	return h.Document(h.words.Title+": "+in.Name, h.words.Numbered(h.words.Period, in)+", "+h.words.Span(from, to), h.words.Language,
		func(c *set.Canvas, i, n int) {
			y := h.Paper.Height - h.Margin - foot.H
			foot.Put(c, h.Left(), y)
			c.TextRight(h.Right(), y+handoutFootTop+s.Cap(), s, h.words.PageOf(i, n))
		}), nil
}

// lay places all teams, to be drawn or on trial, and tells on how many pages.
func (h *handout) lay(teams []*team, foot set.Block, drawn bool) int {
	h.Pages, h.Misfits = nil, nil
	for i, t := range teams {
		rows := h.rows(t)
		if i > 0 && t.none && h.follows(t, rows) {
			continue
		}
		from := len(h.Pages)
		place := func(white float64, drawn bool) (pages int, used float64) {
			h.Pages, h.Trial = h.Pages[:from], !drawn
			h.Open = h.opening(t, foot, white)
			h.Flow(set.Flow{Blocks: rows, Begin: true, After: h.close})
			return len(h.Pages) - from, 1 - h.Room()/(h.Bottom-h.under)
		}
		even := func(n int) float64 {
			white, _ := set.Largest(0, h.Bottom-h.under-3*handoutRow, handoutTight/4, func(white float64) bool {
				pages, _ := place(white, false)
				return pages <= n
			})
			return white
		}
		pages, used := place(0, false)
		white := 0.0
		if pages > 1 && used < handoutUsed {
			white = even(pages)
			place(white, false)
		}
		// Rather than a last page of few rows, the last team shares one more with them.
		if i+1 < len(teams) && teams[i+1].none && !h.holds(teams[i+1]) {
			more := even(pages + 1)
			if n, _ := place(more, false); n == pages+1 && h.holds(teams[i+1]) {
				white = more
			}
		}
		place(white, drawn)
	}
	return len(h.Pages)
}

// handoutWhole is how many cards a unit has at most whose rows are rather not parted.
const handoutWhole = 8

// handoutUsed is the share of a team's last page below which its pages are filled evenly.
const handoutUsed = 0.45

// holds tells whether the page of the last team has room for the units without a team.
func (h *handout) holds(t *team) bool {
	high := h.noTeamHead(t).H
	for _, b := range h.rows(t) {
		high += b.H
	}
	name, tally := h.bold(1.6), h.regular(1)
	return high <= h.Room()+h.white && name.Width(t.name)+tally.Width(h.tally(t))+8 <= h.Width() && h.named(t.lists())
}

// noTeamHead is the heading of units without a team below the last team.
func (h *handout) noTeamHead(t *team) set.Block {
	name, tally := h.bold(1.6), h.regular(1)
	return set.Drawn(handoutBody*5.2+name.Cap(), func(c *set.Canvas, x, y float64) {
		base := y + handoutBody*3.6 + name.Cap()
		c.Text(x, base, name, t.name)
		c.TextRight(x+h.Width(), base, tally, h.tally(t))
	})
}

// follows places units without a team below the last team, where its page holds them.
func (h *handout) follows(t *team, rows []set.Block) bool {
	if !h.holds(t) {
		return false
	}
	if !h.Trial {
		h.Page().Bookmark(t.name, 0, h.Y)
	}
	h.Bottom += h.white
	h.Flow(set.Flow{Blocks: append([]set.Block{h.noTeamHead(t)}, rows...), After: h.close})
	return true
}

// named tells whether the page names the codes of all lists.
func (h *handout) named(lists []*plan.List) bool {
	for _, l := range lists {
		if !slices.Contains(h.codes, l) {
			return false
		}
	}
	return true
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

	reprint  string  // in each row; "": nothing
	rowLeast float64 // least height of a row
	whole    bool    // units of few cards stay on one page
	white    float64 // left free at the foot of the page
	under    float64 // lower edge of the heads of the last page
	codes    []*plan.List
	overs    map[pageOf]set.Pile
	slots    int  // columns for the slots of a list, in place of one box for all; 0: no room
	coded    bool // each row has the code of its list

	// Left edges of the columns, and the widths of those whose text wraps.
	unit, seat, division, code, ticks, initials float64
	unitW, seatW, divisionW, codeW, tickW       float64
}

// pageOf is the first page of a team, or another one.
type pageOf struct {
	*team
	again bool
}

// team is a team, or all units without one, and its cards.
type team struct {
	name  string
	none  bool // of the units without a team
	units []*plan.Unit
	cards []*plan.Card
}

func (h *handout) regular(f float64) set.Style { return set.CapStyle(fonts.Regular, handoutBody*f) }
func (h *handout) bold(f float64) set.Style    { return set.CapStyle(fonts.Bold, handoutBody*f) }
func (h *handout) mono(f float64) set.Style    { return set.CapStyle(fonts.MonoBold, handoutBody*f) }

// teams in the order of their first unit, then the units without a team.
func (h *handout) teams() []*team {
	var teams []*team
	none := &team{name: h.words.NoTeam, none: true}
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
	heads := []string{h.words.Batteries, words.Filled(h.words.Label, "color", h.r.Load.About.Colour)}
	if h.slots == 0 {
		heads = append(heads, h.words.Built)
	}
	return append(heads, h.words.ReadBack)
}

// form works out the columns for all pages: with one for each slot where they fit, and
// with that of the code where there are several lists.
func (h *handout) form() {
	h.coded = len(h.r.Lists) > 1
	for _, l := range h.r.Lists {
		h.slots = max(h.slots, len(l.Slots))
	}
	if h.columns() {
		return
	}
	h.slots = 0
	h.columns()
}

// columns places the columns; not ok: texts break that need not without some of them.
func (h *handout) columns() bool {
	s := h.regular(1)
	widest := func(least float64, face set.Style, texts []string) float64 {
		for _, t := range texts {
			least = max(least, face.Width(t))
		}
		return least
	}
	var words, numbers, units, kinds, seats, ids, codes []string
	for _, t := range h.tickHeads() {
		words = append(words, strings.Fields(t)...)
	}
	for _, c := range h.r.Cards {
		numbers = append(numbers, strconv.Itoa(c.Number))
		units = append(units, c.Unit.Name)
		kinds = append(kinds, c.Unit.Kind)
		seats = append(seats, h.seatText(c), h.reprint)
		if c.Division != nil {
			ids = append(ids, c.Division.ID)
		}
		codes = append(codes, c.List.Code.Pairs())
	}
	// What must not wrap is as wide as it is; unit, seat and division share the rest.
	number := widest(s.Width(h.words.CardHead), h.mono(1), numbers)
	h.tickW = min(widest(handoutTick, s, words), 20)
	h.codeW = 0
	if h.coded {
		h.codeW = widest(s.Width(h.words.ListCode), h.mono(1.15), codes) + handoutGap
	}
	slotsW := 0.0
	if h.slots > 0 {
		slotsW = float64(h.slots)*handoutSlot + handoutGap
	}
	initials := max(handoutInitials, s.Width(h.words.Initials))
	ticks := float64(len(h.tickHeads()))
	rest := h.Width() - number - h.codeW - slotsW - initials - ticks*(h.tickW+handoutGap*0.8) - 5*handoutGap
	want := []float64{
		widest(widest(s.Width(h.words.Unit), h.bold(1), units), s, kinds),
		widest(s.Width(h.words.Seat), s, seats),
		widest(s.Width(h.words.DivisionHead), h.bold(1.3), ids),
	}
	whole := want[0]+want[1]+want[2] <= rest
	if h.slots > 0 && !whole {
		return false
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
	h.ticks = h.initials - handoutGap - ticks*(h.tickW+handoutGap*0.8) - slotsW
	h.code = h.ticks - handoutGap - max(0, h.codeW-handoutGap)
	h.unit = number + handoutGap
	h.division = h.code - handoutGap - want[2]
	if !h.coded {
		h.division += handoutGap
	}
	h.seat = h.unit + want[0] + handoutGap
	h.seat += (h.division - handoutGap - want[1] - h.seat) / 2
	return whole
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
func (h *handout) opening(t *team, foot set.Block, white float64) func() {
	again := false
	return func() {
		c := &h.Page().Canvas
		if h.Trial {
			c = nil
		} else if !again {
			h.Page().Bookmark(t.name, 0, h.Y)
		}
		h.Y = h.over(t, again).Put(c, h.Left(), h.Y)
		h.Bottom -= foot.H
		h.Bottom -= white
		h.white = white
		h.under, h.codes = h.Y, t.lists()
		again = true
	}
}

// over is what stands over the rows of a page.
func (h *handout) over(t *team, again bool) set.Pile {
	key := pageOf{t, again}
	if h.overs[key] == nil {
		over := set.Pile{h.heading(t, again)}
		if len(t.cards) > 0 {
			over = append(over, h.columnsHead())
		}
		h.overs[key] = over
	}
	return h.overs[key]
}

// heading says whose sheet it is.
func (h *handout) heading(t *team, again bool) set.Block {
	in := h.r.Plan.Incident
	from, to, _ := words.Times(&in)
	label, hours := h.regular(1), h.bold(1.3)
	band, top := 0.0, 0.0
	if in.Exercise {
		band = 9.0
		top = band + 4
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
	beside := len(codes.Lines) == 1 && codes.Lines[0].Wide+howTo[0].Wide+handoutBody*2.5 <= h.Width()
	if !beside {
		codes.Lines = append(codes.Lines, howTo...)
	}

	labelY := top + label.Cap()
	incidentY := labelY + handoutBody*1.5
	ruleY := incidentY + max(incident.Height(), hours.Cap()) + handoutBody*1.7
	teamY := ruleY + frame.RuleMid + handoutBody*2.2
	codesY := teamY + team.Height() + handoutBody*1.9
	return set.Drawn(codesY+codes.Height()+handoutBody*2.2, func(c *set.Canvas, x, y float64) {
		r := x + h.Width()
		if band > 0 {
			c.ExerciseBand(x, y, h.Width(), band, h.words.Exercise, h.words.ExerciseNote)
		}
		c.Text(x, y+labelY, label, h.words.Title)
		c.TextRight(r-label.Width(zone), y+labelY, h.bold(1), number)
		c.TextRight(r, y+labelY, label, zone)
		incident.Draw(c, x, y+incidentY)
		c.TextRight(r, y+incidentY+incident.Height(), hours, period)
		c.Rule(x, r, y+ruleY+frame.RuleMid/2, frame.RuleMid)
		team.Draw(c, x, y+teamY)
		c.TextRight(r, y+teamY+team.Height(), label, tally)
		codes.Draw(c, x, y+codesY)
		if beside {
			c.TextRight(r, y+codesY+codes.Cap, label, h.words.HowTo)
		}
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
	each := set.Stack{}
	if h.slots > 0 {
		each = s.Stack(h.words.EachSlot, float64(h.slots)*handoutSlot+handoutGap, handoutPitch)
		tall = max(tall, each.Height()+handoutPitch)
	}
	height := tall + handoutBody*1.1
	return set.Drawn(height+frame.RuleMid, func(c *set.Canvas, x, y float64) {
		base := y + tall
		c.Text(x, base, s, h.words.CardHead)
		c.Text(x+h.unit, base, s, h.words.Unit)
		c.Text(x+h.seat, base, s, h.words.Seat)
		c.Text(x+h.division, base, s, h.words.DivisionHead)
		if h.coded {
			c.Text(x+h.code, base, s, h.words.ListCode)
		}
		for i := range h.slots {
			c.TextMid(x+h.slotX(i)+handoutSlot/2, base, s, strconv.Itoa(i+1))
		}
		each.Draw(c, x+h.slotX(0), base-handoutPitch-each.Height()+s.Cap()-handoutBody)
		for i, col := range cells {
			middle := x + h.tickX(i) + h.tickW/2
			for j, l := range col.Lines {
				ly := base - float64(len(col.Lines)-1-j)*handoutPitch
				c.Line(middle-l.Wide/2, ly, l)
			}
		}
		c.Text(x+h.initials, base, s, h.words.Initials)
		c.Rule(x, x+h.Width(), y+height+frame.RuleMid/2, frame.RuleMid)
	})
}

// tickX is the left edge of a column of boxes.
func (h *handout) tickX(i int) float64 {
	x := h.ticks + float64(i)*(h.tickW+handoutGap*0.8)
	if h.slots > 0 && i > 1 { // behind the slots
		x += float64(h.slots)*handoutSlot + handoutGap
	}
	return x
}

// slotX is that of the column of a slot, from 0.
func (h *handout) slotX(i int) float64 {
	return h.ticks + 2*(h.tickW+handoutGap*0.8) + float64(i)*handoutSlot
}

// footing carries the cautions and, once more, the exercise mark.
func (h *handout) footing() set.Block {
	s := h.regular(1)
	notes := s.Stack(strings.Join(h.words.SheetNotes, " "), h.Width()-h.bold(1).Width(h.words.PageOf(100, 100))-8, handoutPitch)
	band := 0.0
	if h.r.Plan.Incident.Exercise {
		band = 5
	}
	return frame.Foot(notes, notes.Height(), h.Width(), handoutFootTop, handoutBody, handoutBody*1.4, band, h.words.Exercise)
}

// rows are the cards of a team. The first one of a page names its unit, too, and
// every one asks for the room that this takes.
func (h *handout) rows(t *team) []set.Block {
	var rows []set.Block
	var before *plan.Unit
	seats := map[*plan.Unit]int{}
	for _, c := range t.cards {
		seats[c.Unit]++
	}
	for i, card := range t.cards {
		single := i == len(t.cards)-1 || t.cards[i+1].Unit != card.Unit
		row := h.row(card, single, i > 0 && t.cards[i-1].Unit == card.Unit && (i == 1 || t.cards[i-2].Unit != card.Unit))
		named := row(true, true)
		b := row(card.Unit != before, false)
		weight, x := frame.RuleLight, h.seat // between cards; a stronger one between units
		if card.Unit != before {
			weight, x = frame.RuleMid*0.8, 0
		}
		b.Rule = func(c *set.Canvas, left, y float64) { c.Rule(left+x, h.Right(), y, weight) }
		b.Asks, b.First = named.H, &named
		b.What = set.Misfit{At: card.Unit.At("name"), What: "the row of", Text: card.Unit.Name}
		b.Keep = h.whole && !single && seats[card.Unit] <= handoutWhole
		rows = append(rows, b)
		before = card.Unit
	}
	return rows
}

// close draws the rule below the rows of a page.
func (h *handout) close(set.Part) {
	if !h.Trial {
		h.Page().Rule(h.Left(), h.Right(), h.Y, frame.RuleMid)
	}
}

// row is a card's row; it names the unit if named. The kind of the unit stands below its
// name where the row is the only one of the unit, or begins the page; else in the second
// row, which has the room.
func (h *handout) row(card *plan.Card, single, second bool) func(named, first bool) set.Block {
	regular, bold, id := h.regular(1), h.bold(1), h.bold(1.3)
	cell := func(s set.Style, t string, width float64) set.Stack {
		return s.Stack(t, width, s.Cap()*1.75)
	}
	name, kind := cell(bold, card.Unit.Name, h.unitW), set.Stack{}
	whole := name
	if card.Unit.Kind != "" {
		kind = cell(regular, card.Unit.Kind, h.unitW)
		whole.Lines = slices.Concat(name.Lines, kind.Lines)
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
	return func(named, first bool) set.Block {
		unit := set.Stack{}
		switch {
		case named && (single || first):
			unit = whole
		case named:
			unit = name
		case second:
			unit = kind
		}
		pad := handoutBody * 1.6
		if h.rowLeast < handoutRow {
			pad = handoutBody
		}
		height := max(h.rowLeast, seat.Height()+pad, where.Height()+pad, unit.Height()+pad)
		return set.Drawn(height, func(c *set.Canvas, x, y float64) {
			middle := y + height/2
			top := func(col set.Stack) float64 { return middle - col.Height()/2 }
			c.Text(x, middle+h.mono(1).Cap()/2, h.mono(1), strconv.Itoa(card.Number))
			unit.Draw(c, x+h.unit, top(unit))
			seat.Draw(c, x+h.seat, top(seat))
			if division != "" {
				where.Draw(c, x+h.division, top(where))
			}
			if code := h.mono(1.15); h.coded {
				c.Text(x+h.code, middle+code.Cap()/2, code, card.List.Code.Pairs())
			}
			if h.slots > 0 {
				for i := range card.List.Slots {
					c.Frame(x+h.slotX(i), middle-handoutTick/2, handoutSlot+0.2, handoutTick, 0.2)
				}
			}
			for i := range h.tickHeads() {
				const weight = 0.35
				left := x + h.tickX(i) + (h.tickW-handoutTick)/2
				c.Add(layout.Box{X: left + weight/2, Y: middle - handoutTick/2 + weight/2, W: handoutTick - weight, H: handoutTick - weight, Stroke: weight})
			}
		})
	}
}
