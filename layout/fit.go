package layout

import (
	"math"
	"slices"

	"slotcard/plan/finding"
)

// The one fit, and the one misfit: type grows until something does not fit, and
// what does not fit at its least size becomes a finding.

// largest is the largest of lo, lo+step, ... up to hi for which ok holds, by
// bisection: ok must not hold again once it has failed. It is not found where
// even lo fails.
func largest(lo, hi, step float64, ok func(float64) bool) (x float64, found bool) {
	if !ok(lo) {
		return lo, false
	}
	a, b := 0, int((hi-lo)/step+tolerance)+1 // ok(a), not ok(b)
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

// search lays a paper out in many settings and keeps the best.
type search[S, P any] struct {
	lay    func(S) P
	better func(p, best P) bool // or as good
	at     S                    // settings of the best
	best   P
}

// begin searches from the zero settings on.
func begin[S, P any](lay func(S) P, better func(p, best P) bool) *search[S, P] {
	s := &search[S, P]{lay: lay, better: better}
	s.best = lay(s.at)
	return s
}

// vary tries other settings than the best ones.
func (s *search[S, P]) vary(set func(*S)) bool {
	at := s.at
	set(&at)
	p := s.lay(at)
	if !s.better(p, s.best) {
		return false
	}
	s.at, s.best = at, p
	return true
}

// grow sets a number of steps, from those there are on up to most, as far as it goes.
func (s *search[S, P]) grow(from, most int, set func(at *S, n int)) {
	largest(float64(from), float64(most), 1, func(n float64) bool {
		return int(n) == from || s.vary(func(at *S) { set(at, int(n)) })
	})
}

// shrink is the largest style of a face, capitals between most and least mm
// high, in which t is no wider than width. Not ok: it is wider at least too.
func shrink(s style, t string, most, least, width float64) (style, bool) {
	fit := capStyle(s.face, most).on(s.ink)
	if w := fit.width(t); w > width {
		// Down to a size that a PDF can say, never up.
		fit.pt = math.Floor(fit.pt*width/w*100) / 100
	}
	if low := capStyle(s.face, least).on(s.ink); fit.pt < low.pt {
		return low, low.width(t) <= width+1e-6
	}
	return fit, true
}

// misfit is a text that a paper does not hold at its least size of type.
type misfit struct {
	at      finding.Place
	what    string // what kind of text, such as display name, or the side of a card
	subject string // of the finding; "": the text
	text    string
}

// faults are the misfits of a paper, each once.
type faults struct{ misfits []misfit }

func (m *faults) add(one misfit) {
	if !slices.Contains(m.misfits, one) {
		m.misfits = append(m.misfits, one)
	}
}

// remedy is something to try for a text that does not fit.
type remedy struct {
	holds func(misfit) bool
	help  string
	key   string // in the finding's data
	value any
}

// notice is how a paper tells of its misfits.
type notice struct {
	message  func(misfit) string
	data     func(misfit) map[string]any
	remedies [][]remedy // kinds of remedies: of each, the first that holds the text
	none     string     // what helps where none does
}

// findings are the misfits as findings of rule does-not-fit.
func (m faults) asFindings(n notice) (list finding.List) {
	for _, one := range m.misfits {
		f := finding.Finding{Rule: "does-not-fit", Severity: finding.Error, Place: one.at, Subject: one.subject,
			Message: n.message(one)}
		if f.Subject == "" {
			f.Subject = one.text
		}
		if n.data != nil {
			f.Data = n.data(one)
		}
		for _, kind := range n.remedies {
			if i := slices.IndexFunc(kind, func(r remedy) bool { return r.holds(one) }); i >= 0 {
				f.Help = append(f.Help, kind[i].help)
				f.Data[kind[i].key] = kind[i].value
			}
		}
		if len(f.Help) == 0 {
			f.Help = []string{n.none}
		}
		list.Add(f)
	}
	return list
}

// short is a text at a length that a finding can hold.
func short(t string) string {
	if runes := []rune(t); len(runes) > 40 {
		return string(runes[:39]) + "…"
	}
	return t
}
