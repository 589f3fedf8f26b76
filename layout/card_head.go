package layout

import (
	"fmt"
	"strings"

	"slotcard/fonts"
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
func headOf(w *Words, r *plan.Resolved) head {
	in := &r.Plan.Incident
	return head{
		incident: in.Name,
		period:   fmt.Sprintf("%s %d  %s", w.Period, in.Period, w.hours(in.From, in.To)),
		exercise: in.Exercise,
	}
}

// of is the head of a card, given what all heads say.
func (h head) of(w *Words, c *plan.Card) head {
	h.unit, h.seat = c.Unit.Name, c.Position.Name
	if c.Division != nil {
		h.division = w.title(c.Division)
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
	h := f.large*ascender + f.small*leading*1.15 + f.small*0.85
	if f.three {
		h += f.small * leading
	}
	return h
}

func (h head) seatWidth(s style) float64 {
	w := s.width(h.seat)
	if h.division != "" {
		w += s.width(", ") + s.in(fonts.Bold).width(h.division)
	}
	return w
}

func (h head) exerciseWidth(w *Words, s style) float64 {
	if !h.exercise {
		return 0
	}
	x, _, _ := plateSize(s.in(fonts.Bold), w.Exercise)
	return x + s.cap()*0.8
}

// misfit tells what of a head does not fit in the form.
func (h head) misfit(w *Words, f headForm, width float64) *misfit {
	large, small := capStyle(fonts.Bold, f.large), capStyle(fonts.Regular, f.small)
	gap := f.small * 1.6
	if large.width(h.incident)+gap+large.width(h.unit) > width {
		return &misfit{text: h.incident + " " + h.unit}
	}
	left, exercise, right := small.width(h.period), h.exerciseWidth(w, small), h.seatWidth(small)
	switch {
	case !f.three && left+exercise+gap+right > width:
		return &misfit{text: h.period + " " + h.seat}
	case f.three && exercise+gap+right > width:
		return &misfit{text: strings.TrimSuffix(h.seat+", "+h.division, ", ")}
	case f.three && left > width:
		return &misfit{text: h.period}
	}
	return nil
}

// headFormOf finds the largest form that holds every head, given the small size.
func headFormOf(w *Words, heads []head, small, width float64) (headForm, *misfit) {
	var why *misfit
	for _, three := range []bool{false, true} {
		f := headForm{small: small, three: three}
		large, ok := largest(small, small*1.75, smallStep, func(large float64) bool {
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

func (h head) draw(c *canvas, w *Words, f headForm, x0, x1, y float64) {
	large, small := capStyle(fonts.Bold, f.large), capStyle(fonts.Regular, f.small)
	bold := small.in(fonts.Bold)
	base := y + f.large*ascender
	c.text(x0, base, large, h.incident)
	c.textRight(x1, base, large, h.unit)
	base += f.small * leading * 1.15
	x := c.text(x1-h.seatWidth(small), base, small, h.seat)
	if h.division != "" {
		x = c.text(x, base, small, ", ")
		c.text(x, base, bold, h.division)
	}
	x = x0
	if !f.three {
		x = c.text(x0, base, small, h.period) + small.cap()*0.8
	}
	if h.exercise {
		c.plate(x, base, bold, w.Exercise, false)
	}
	if f.three {
		c.text(x0, base+f.small*leading, small, h.period)
	}
}

// The striped band of an exercise runs along the upper edge, mm.
const (
	exerciseTop  = 1.0 // from the trim
	exerciseHigh = 1.3
)
