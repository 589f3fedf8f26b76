package set

import (
	"math"
	"slices"

	"slotcard/plan/finding"
)

// The one fit, and the one misfit: type grows until something does not fit, and
// what does not fit at its least size becomes a finding.

// Largest is the largest of lo, lo+step, ... up to hi for which ok holds, by
// bisection: ok must not hold again once it has failed. It is not found where
// even lo fails.
func Largest(lo, hi, step float64, ok func(float64) bool) (x float64, found bool) {
	if !ok(lo) {
		return lo, false
	}
	a, b := 0, int((hi-lo)/step+Tolerance)+1 // ok(a), not ok(b)
	for b-a > 1 {
		m := (a + b) / 2
		if ok(lo + float64(m)*step) {
			a = m
		} else {
			b = m
		}
	}
	return lo + float64(a)*step, true
}

// Search lays a paper out in many settings and keeps the best.
type Search[S, P any] struct {
	Lay    func(S) P
	better func(p, best P) bool // or as good
	At     S                    // settings of the best
	Best   P
}

// NewSearch searches from the zero settings on.
func NewSearch[S, P any](lay func(S) P, better func(p, best P) bool) *Search[S, P] {
	s := &Search[S, P]{Lay: lay, better: better}
	s.Best = lay(s.At)
	return s
}

// Vary tries other settings than the best ones.
func (s *Search[S, P]) Vary(set func(*S)) bool {
	at := s.At
	set(&at)
	p := s.Lay(at)
	if !s.better(p, s.Best) {
		return false
	}
	s.At, s.Best = at, p
	return true
}

// Grow sets a number of steps, from those there are on up to most, as far as it goes.
func (s *Search[S, P]) Grow(from, most int, set func(at *S, n int)) {
	Largest(float64(from), float64(most), 1, func(n float64) bool {
		return int(n) == from || s.Vary(func(at *S) { set(at, int(n)) })
	})
}

// Shrink is the largest style of a face, capitals between most and least mm
// high, in which t is no wider than width. Not ok: it is wider at least too.
func Shrink(s Style, t string, most, least, width float64) (Style, bool) {
	fit := CapStyle(s.Face, most).On(s.ink)
	if w := fit.Width(t); w > width {
		// Down to a size that a PDF can say, never up.
		fit.pt = math.Floor(fit.pt*width/w*100) / 100
	}
	if low := CapStyle(s.Face, least).On(s.ink); fit.pt < low.pt {
		return low, low.Width(t) <= width+1e-6
	}
	return fit, true
}

// Misfit is a text that a paper does not hold at its least size of type.
type Misfit struct {
	At      finding.Place
	What    string // what kind of text, such as display name, or the side of a card
	Subject string // of the finding; "": the text
	Text    string
}

// Faults are the misfits of a paper, each once.
type Faults struct{ Misfits []Misfit }

func (m *Faults) Add(one Misfit) {
	if !slices.Contains(m.Misfits, one) {
		m.Misfits = append(m.Misfits, one)
	}
}

// Remedy is something to try for a text that does not fit.
type Remedy struct {
	Holds func(Misfit) bool
	Help  string
	Key   string // in the finding's data
	Value any
}

// Notice is how a paper tells of its misfits.
type Notice struct {
	Message  func(Misfit) string
	Data     func(Misfit) map[string]any
	Remedies [][]Remedy // kinds of remedies: of each, the first that holds the text
	None     string     // what helps where none does
}

// Findings are the misfits as findings of rule does-not-fit.
func (m Faults) Findings(n Notice) (list finding.List) {
	for _, one := range m.Misfits {
		f := finding.Finding{Rule: "does-not-fit", Severity: finding.Error, Place: one.At, Subject: one.Subject,
			Message: n.Message(one)}
		if f.Subject == "" {
			f.Subject = one.Text
		}
		if n.Data != nil {
			f.Data = n.Data(one)
		}
		for _, kind := range n.Remedies {
			if i := slices.IndexFunc(kind, func(r Remedy) bool { return r.Holds(one) }); i >= 0 {
				f.Help = append(f.Help, kind[i].Help)
				f.Data[kind[i].Key] = kind[i].Value
			}
		}
		if len(f.Help) == 0 {
			f.Help = []string{n.None}
		}
		list.Add(f)
	}
	return list
}

// Short is a text at a length that a finding can hold.
func Short(t string) string {
	if runes := []rune(t); len(runes) > 40 {
		return string(runes[:39]) + "…"
	}
	return t
}
