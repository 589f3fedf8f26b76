package cards

import (
	"slices"
	"strings"

	"slotcard/fonts"
	"slotcard/layout/set"
	"slotcard/layout/words"
	"slotcard/plan"
	"slotcard/plan/radio"
)

// brevity is how much the notes of the back say, the fullest first.
type brevity uint8

const (
	inFull    brevity = iota
	brief             // cautions in their short form
	terse             // and no walk of two people
	briefest          // nor how the last slot is found, nor what the order of the tones is: receive first, as everywhere
	brevities         // how many there are
)

func (b brevity) walks() bool    { return b < terse }
func (b brevity) explains() bool { return b < briefest }

// notes are the words of the back of a list's cards: code and legend, checks,
// cautions.
type notes struct {
	words   *words.CardWords
	r       *plan.Resolved
	list    *plan.List
	changed bool     // the fronts may mark changed slots
	extras  []string // paragraphs of the plan's own for which there is room
}

// at are the paragraphs at a size of type.
func (n *notes) at(form tableForm, small float64, said brevity) [][]set.Piece {
	s := set.CapStyle(fonts.Regular, small)
	cautions := n.words.Cautions
	if said > inFull {
		cautions = n.words.CautionsShort
	}
	var caution []set.Piece
	if said := n.words.Accepted(len(n.r.Exceptions)); said != "" {
		caution = set.Words(s.In(fonts.Bold), said)
	}
	for _, t := range cautions {
		caution = append(caution, set.Words(s, t)...)
	}
	all := [][]set.Piece{n.code(s, form, said), n.checks(s, said)}
	for _, t := range n.extras {
		all = append(all, set.Words(s, t))
	}
	return append(all, caution)
}

// code is the read-back code as it is said, the name of the list, and the legend.
func (n *notes) code(s set.Style, form tableForm, said brevity) (code []set.Piece) {
	w, l := n.words, n.list
	bold := s.In(fonts.Bold)
	say := func(runs ...set.Run) { code = append(code, set.PieceOf(s.Space()*2.5, runs...)) }
	if n.r.Plan.Incident.Exercise {
		say(set.Barred(bold, w.Exercise))
	}
	say(s.Say(w.Code+" "), bold.Say(w.Spelled(l.Code)))
	if name := w.ListName(l, n.r); name != "" {
		say(s.Say(w.List+" "), bold.Say(name))
	}
	explain := func(m *set.Mark, t string, shown bool) {
		if shown {
			say(set.Run{Style: s, S: t, Mark: m})
		}
	}
	has := func(is func(*plan.ResolvedSlot) bool) bool { return slices.ContainsFunc(l.Slots, is) }
	explain(set.MarkDirect, w.LegendDirect, has(func(s *plan.ResolvedSlot) bool { return !s.Repeated() && !s.Channel.Trunked() }))
	explain(set.MarkRepeated, w.LegendRepeated, has((*plan.ResolvedSlot).Repeated))
	explain(set.MarkGuard, w.LegendGuard, has(func(s *plan.ResolvedSlot) bool { return s.Use == radio.Guard }))
	explain(set.MarkChanged, w.LegendChanged, n.changed)
	explain(nil, "D "+w.LegendDigital, has(func(s *plan.ResolvedSlot) bool { return s.Channel.Mode == radio.Digital }))
	explain(nil, "M "+w.LegendMixed, has(func(s *plan.ResolvedSlot) bool { return s.Channel.Mode == radio.Mixed }))
	explain(nil, "W "+w.LegendWide, has(func(s *plan.ResolvedSlot) bool { return s.Channel.Width == radio.Wide }))
	explain(nil, w.ToneCol, form != wide && said.explains()) // the wide form says it above its column
	return code
}

// checks in the order in which they are done, a square to tick before each.
func (n *notes) checks(s set.Style, said brevity) (checks []set.Piece) {
	w, about := n.words, &n.r.Load.About
	fill := strings.NewReplacer("%color%", about.Colour, "%edition%", about.Edition, "%code%", n.list.Code.Pairs(),
		"%name%", words.Whole(n.list.Slots[len(n.list.Slots)-1].Channel.Name))
	whole := func(texts ...string) {
		for _, t := range texts {
			checks = append(checks, set.PieceOf(s.Space()*3, set.Run{Style: s, S: fill.Replace(t), Mark: set.MarkTick}))
		}
	}
	long := func(t string) { // may go on in the next line
		of := unbroken(s, fill.Replace(t))
		of[0] = set.PieceOf(s.Space(), set.Run{Style: s, S: of[0].Runs[0].S, Mark: set.MarkTick})
		of[len(of)-1].Space = s.Space() * 3
		checks = append(checks, of...)
	}
	whole(w.Checks...)
	if said.walks() {
		long(w.Walk)
	}
	if last := w.LastSlot; said.explains() {
		if n.r.Load.Radio.ListPositions > len(n.list.Slots) {
			last = w.LastSlotEmpty
		}
		long(last)
	}
	whole(w.ChecksThen...)
	return checks
}

// noteLines wraps the paragraphs of the notes.
func noteLines(paragraphs [][]set.Piece, width float64) ([]set.Line, string) {
	var all []set.Line
	for _, p := range paragraphs {
		lines, bad := set.Wrap(p, width)
		if bad != "" {
			return nil, bad
		}
		all = append(all, lines...)
	}
	return all, ""
}

// pitchOf is the pitch of lines of small type in which no accent touches the line
// above, mm.
func pitchOf(small float64, lines []set.Line) float64 {
	up, down := 0.0, 0.0
	for _, l := range lines {
		u, d := l.Rise()
		up, down = max(up, u), max(down, d)
	}
	return max(small*set.Leading, up+down+small*0.05)
}
