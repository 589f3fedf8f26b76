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
		h.division = w.Called(c.Division)
	}
	return h
}

// headForm is how a head is set: sizes and in how many lines.
type headForm struct {
	large float64 // cap height of incident and unit, mm
	small float64
	three bool // the period stands on a line of its own
}

// height of the head, from the safe edge to the rule above the list.
func (f headForm) height() float64 {
	h := f.large*set.Ascender + f.small*set.Leading*1.15 + f.small*0.85
	if f.three {
		h += f.small * set.Leading
	}
	return h
}

func (h head) seatWidth(s set.Style) float64 {
	w := s.Width(h.seat)
	if h.division != "" {
		w += s.Width(", ") + s.In(fonts.Bold).Width(h.division)
	}
	return w
}

func (h head) exerciseWidth(w *words.CardWords, s set.Style) float64 {
	if !h.exercise {
		return 0
	}
	x, _, _ := set.PlateSize(s.In(fonts.Bold), w.Exercise)
	return x + s.Cap()*0.8
}

// misfit tells what of a head does not fit in the form.
func (h head) misfit(w *words.CardWords, f headForm, width float64) *set.Misfit {
	large, small := set.CapStyle(fonts.Bold, f.large), set.CapStyle(fonts.Regular, f.small)
	gap := f.small * 1.6
	if large.Width(h.incident)+gap+large.Width(h.unit) > width {
		return &set.Misfit{Text: h.incident + " " + h.unit}
	}
	left, exercise, right := small.Width(h.period), h.exerciseWidth(w, small), h.seatWidth(small)
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

// headFormOf finds the largest form that holds every head, given the small size.
func headFormOf(w *words.CardWords, heads []head, small, width float64) (headForm, *set.Misfit) {
	var why *set.Misfit
	for _, three := range []bool{false, true} {
		f := headForm{small: small, three: three}
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

func (h head) draw(c *set.Canvas, w *words.CardWords, f headForm, x0, x1, y float64) {
	large, small := set.CapStyle(fonts.Bold, f.large), set.CapStyle(fonts.Regular, f.small)
	bold := small.In(fonts.Bold)
	base := y + f.large*set.Ascender
	c.Text(x0, base, large, h.incident)
	c.TextRight(x1, base, large, h.unit)
	base += f.small * set.Leading * 1.15
	x := c.Text(x1-h.seatWidth(small), base, small, h.seat)
	if h.division != "" {
		x = c.Text(x, base, small, ", ")
		c.Text(x, base, bold, h.division)
	}
	x = x0
	if !f.three {
		x = c.Text(x0, base, small, h.period) + small.Cap()*0.8
	}
	if h.exercise {
		c.Plate(x, base, bold, w.Exercise, false)
	}
	if f.three {
		c.Text(x0, base+f.small*set.Leading, small, h.period)
	}
}

// The striped band of an exercise runs along the upper edge, mm.
const (
	exerciseTop  = 1.0 // from the trim
	exerciseHigh = 1.3
)
