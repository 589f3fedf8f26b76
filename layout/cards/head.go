package cards

import (
	"fmt"
	"strings"

	"slotcard/fonts"
	"slotcard/layout/set"
	"slotcard/layout/words"
	"slotcard/plan"
)

// head of a card: incident and unit, period and seat.
type head struct {
	incident, unit string
	period         string
	exercise       bool
	seat, division string // division is "Division A" or ""
	name           string // of the division; "" where it has none
}

// headOf is what the heads of all cards of a plan say.
func headOf(w *words.CardWords, r *plan.Resolved) head {
	in := &r.Plan.Incident
	return head{
		incident: in.Name,
		period:   fmt.Sprintf("%s %d  %s", w.Period, in.Period, w.Hours(in.From, in.To)),
		exercise: in.Exercise,
	}
}

// of is the head of a card, given what all heads say.
func (h head) of(w *words.CardWords, c *plan.Card) head {
	h.unit, h.seat = c.Unit.Name, c.Position.Name
	if c.Division != nil {
		h.division, h.name = w.Called(c.Division), w.DivisionName(c.Division)
	}
	return h
}

// headInk is how far the ink of the heads of a list reaches above and below the
// baselines of their lines, in cap heights.
type headInk struct{ up, down [3]float64 }

// inkOf is the ink of all heads of a list's cards.
func inkOf(w *words.CardWords, r *plan.Resolved, cards []*plan.Card) (ink headInk) {
	take := func(line int, face fonts.Face, t string) {
		s := set.CapStyle(face, 10)
		up, down := s.Rise(t)
		ink.up[line], ink.down[line] = max(ink.up[line], up/s.Cap()), max(ink.down[line], down/s.Cap())
	}
	all := headOf(w, r)
	take(0, fonts.Bold, all.incident)
	take(1, fonts.Regular, all.period)
	take(2, fonts.Regular, all.period)
	for _, c := range cards {
		h := all.of(w, c)
		take(0, fonts.Bold, h.unit)
		take(1, fonts.Regular, h.seat)
		take(1, fonts.Bold, h.division)
		take(1, fonts.Regular, h.name)
	}
	if all.exercise { // on a plate, whose edge may come nearer than a text
		s := set.CapStyle(fonts.Bold, 10)
		ink.up[1] = max(ink.up[1], set.PlateRise(s, w.Exercise)/s.Cap()-plateSlack)
		ink.down[1] = max(ink.down[1], (set.PlateHeight-1)/2-plateSlack)
	}
	return ink
}

// plateSlack is how much nearer the edge of a plate may come to a text than
// another text, in cap heights.
const plateSlack = 0.12

// headForm is how a head is set: sizes and in how many lines.
type headForm struct {
	large float64 // cap height of incident and unit, mm
	small float64
	three bool // the period stands on a line of its own
	named bool // the name of the division stands behind its letter, and so need not stand in its row
	ink   headInk
}

// baselines of the lines, from the safe edge, mm.
func (f headForm) baselines() (lines [3]float64) {
	lines[0] = f.large * max(f.ink.up[0], 1)
	lines[1] = lines[0] + max(f.small*set.Leading, f.large*f.ink.down[0]+leastGap+f.small*f.ink.up[1])
	lines[2] = lines[1]
	if f.three {
		lines[2] += max(f.small*set.Leading, f.small*(f.ink.down[1]+f.ink.up[2])+leastGap)
	}
	return lines
}

// height of the head, from the safe edge to the rule above the list.
func (f headForm) height() float64 { return f.baselines()[2] + f.small*0.85 }

func (h head) seatWidth(s set.Style, named bool) float64 {
	w := s.Width(h.seat)
	if h.division != "" {
		w += s.Width(", ") + s.In(fonts.Bold).Width(h.division)
	}
	if named && h.name != "" {
		w += s.Space() + s.Width(h.name)
	}
	return w
}

func (h head) exerciseWidth(w *words.CardWords, s set.Style) float64 {
	if !h.exercise {
		return 0
	}
	return set.BarredWidth(s.In(fonts.Bold), w.Exercise) + s.Cap()*0.8
}

// misfit tells what of a head does not fit in the form.
func (h head) misfit(w *words.CardWords, f headForm, width float64) *set.Misfit {
	large, small := set.CapStyle(fonts.Bold, f.large), set.CapStyle(fonts.Regular, f.small)
	gap := f.small * 1.6
	if large.Width(h.incident)+gap+large.Width(h.unit) > width {
		return &set.Misfit{Text: h.incident + " " + h.unit}
	}
	left, exercise, right := small.Width(h.period), h.exerciseWidth(w, small), h.seatWidth(small, f.named)
	switch {
	case !f.three && left+exercise+gap+right > width:
		return &set.Misfit{Text: h.period + " " + h.seat}
	case f.three && exercise+gap+right > width:
		return &set.Misfit{Text: strings.TrimSuffix(h.seat+", "+h.division, ", ")}
	case f.three && left > width:
		return &set.Misfit{Text: h.period}
	}
	return nil
}

// headFormOf finds the largest form that holds every head, given the small size; with
// the names of divisions or without.
func headFormOf(w *words.CardWords, heads []head, ink headInk, named bool, small, width float64) (headForm, *set.Misfit) {
	var why *set.Misfit
	for _, three := range []bool{false, true} {
		f := headForm{small: small, three: three, named: named, ink: ink}
		large, ok := set.Largest(small, small*1.75, smallStep, func(large float64) bool {
			f.large = large
			for _, h := range heads {
				if m := h.misfit(w, f, width); m != nil {
					why = m
					return false
				}
			}
			return true
		})
		if ok {
			f.large = large
			return f, nil
		}
	}
	return headForm{}, why
}

// draw sets the head, and returns which item the unit is.
func (h head) draw(c *set.Canvas, w *words.CardWords, f headForm, x0, x1, y float64) (unit int) {
	large, small := set.CapStyle(fonts.Bold, f.large), set.CapStyle(fonts.Regular, f.small)
	bold := small.In(fonts.Bold)
	lines := f.baselines()
	c.Text(x0, y+lines[0], large, h.incident)
	unit = len(c.Items)
	c.TextRight(x1, y+lines[0], large, h.unit)
	base := y + lines[1]
	x := c.Text(x1-h.seatWidth(small, f.named), base, small, h.seat)
	if h.division != "" {
		x = c.Text(x, base, small, ", ")
		x = c.Text(x, base, bold, h.division)
	}
	if f.named && h.name != "" {
		c.Text(x+small.Space(), base, small, h.name)
	}
	x = x0
	if !f.three {
		x = c.Text(x0, base, small, h.period) + small.Cap()*0.8
	}
	if h.exercise {
		c.Barred(x, base, bold, w.Exercise)
	}
	if f.three {
		c.Text(x0, y+lines[2], small, h.period)
	}
	return unit
}

// The striped band of an exercise runs along the upper edge, mm.
const (
	exerciseTop  = 1.0 // from the trim
	exerciseHigh = 1.3
)
