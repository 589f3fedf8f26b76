package cards

import (
	"slices"
	"strings"

	"slotcard/fonts"
	"slotcard/layout"
	"slotcard/layout/set"
	"slotcard/layout/words"
	"slotcard/plan"
)

// What a captain else wants to have at hand stands between list and foot, where
// there is room beside slots in good type: first come, first served.

// extra is one such thing.
type extra uint8

// Extras in the order in which they are given room.
const (
	instructions extra = iota
	supervisor
	contact
	neighbors
	pencil // blank lines, never in place of anything else
	extras // how many there are
)

const (
	// keyBeside is the cap height of names that an extra leaves at least, mm; where
	// they are smaller without it, it leaves these.
	keyBeside = 2.4
	// pencilPitch is between blank lines, mm; pencilLines is how many there are.
	pencilPitch = 6.0
	pencilLines = 2
)

// block are the extras of the fronts of a list's cards.
type block struct {
	words *words.CardWords
	r     *plan.Resolved
	list  *plan.List
	shown [extras]bool
	own   bool // the name of the holder's division stands here, and so need not stand in its row

	instructions map[*plan.Division]string // on the cards of each
}

func blockOf(w *words.CardWords, r *plan.Resolved, l *plan.List, cards []*plan.Card) block {
	b := block{words: w, r: r, list: l, instructions: map[*plan.Division]string{}}
	for _, c := range onePerDivision(cards) {
		b.instructions[c.Division] = w.FillFor(r, r.Plan.Incident.Instructions, l, c.Division)
	}
	return b
}

// has tells whether there is anything to say on some of the cards.
func (b block) has(e extra, cards []*plan.Card) bool {
	if e == pencil {
		return true
	}
	for _, c := range onePerDivision(cards) {
		if b.text(e, c) != "" {
			return true
		}
	}
	return false
}

// text of an extra on a card, without its title.
func (b block) text(e extra, c *plan.Card) string {
	in, d := &b.r.Plan.Incident, c.Division
	switch {
	case e == instructions:
		return b.instructions[d]
	case e == contact:
		return in.Contact
	case d == nil:
	case e == supervisor:
		return d.Supervisor
	case e == neighbors:
		var said []string
		for _, n := range b.r.Neighbors(d) {
			if n.Supervisor != "" {
				said = append(said, words.Whole(n.ID+": "+n.Supervisor))
			}
		}
		return strings.Join(said, ", ")
	}
	return ""
}

// paragraphs of a card: the instructions, and who is who.
func (b block) paragraphs(c *plan.Card, s set.Style) (all [][]set.Piece) {
	if t := b.text(instructions, c); b.shown[instructions] && t != "" {
		all = append(all, set.Words(s, t))
	}
	if who := b.who(c, s); len(who) > 0 {
		all = append(all, who)
	}
	return all
}

// who is who, as a paragraph.
func (b block) who(c *plan.Card, s set.Style) (who []set.Piece) {
	if d := c.Division; b.own && d != nil && b.words.DivisionName(d) != "" {
		who = append(who, set.Words(s.In(fonts.Bold), b.words.Called(d))...)
		who = append(who, set.Words(s, b.words.DivisionName(d))...)
		who = set.Parted(s, who)
	}
	titles := map[extra]string{supervisor: b.words.Supervisor, contact: b.words.Contact, neighbors: b.words.Beside}
	for e := supervisor; e <= neighbors; e++ {
		if !b.shown[e] {
			continue
		}
		t := b.text(e, c)
		if t == "" {
			continue
		}
		who = append(who, set.Words(s, titles[e])...)
		who = append(who, unbroken(s.In(fonts.Bold), t)...)
		who = set.Parted(s, who)
	}
	return who
}

// unbroken are the words of a text that breaks at plain spaces alone.
func unbroken(s set.Style, t string) (pieces []set.Piece) {
	for _, word := range strings.Split(t, " ") {
		pieces = append(pieces, set.PieceOf(s.Space(), s.Say(word)))
	}
	return pieces
}

// onePerDivision are cards of which each says something else: what a card says of
// its plan depends on its division alone.
func onePerDivision(cards []*plan.Card) (some []*plan.Card) {
	seen := map[*plan.Division]bool{}
	for _, c := range cards {
		if !seen[c.Division] {
			seen[c.Division] = true
			some = append(some, c)
		}
	}
	return some
}

// blockForm is the geometry of the extras.
type blockForm struct {
	block
	small float64
	lines int     // of the card that has most
	pitch float64 // of the lines, mm
}

func (b block) form(cards []*plan.Card, small, width float64) (f blockForm, why *set.Misfit) {
	f = blockForm{block: b, small: small}
	s := set.CapStyle(fonts.Regular, small)
	told := map[string][]set.Line{} // instructions: those of most divisions are the same
	for _, c := range onePerDivision(cards) {
		var lines []set.Line
		bad := ""
		if t := b.text(instructions, c); b.shown[instructions] && t != "" {
			if told[t] == nil {
				told[t], bad = set.Wrap(set.Words(s, t), width)
			}
			lines = told[t]
		}
		if bad == "" {
			var who []set.Line
			who, bad = set.Wrap(b.who(c, s), width)
			lines = slices.Concat(lines, who)
		}
		if bad != "" {
			return f, &set.Misfit{Text: bad}
		}
		f.lines, f.pitch = max(f.lines, len(lines)), max(f.pitch, pitchOf(small, lines))
	}
	return f, nil
}

// height from the rule below the list to the foot.
func (f blockForm) height() (h float64) {
	if f.lines > 0 {
		h = f.small*(blockTop+1+set.Descender) + float64(f.lines-1)*f.pitch
	}
	if f.shown[pencil] {
		h += pencilLines * pencilPitch
	}
	return h
}

// blockTop is free above the capitals of the first line, in cap heights.
const blockTop = 0.75

func (f blockForm) draw(c *set.Canvas, card *plan.Card, x0, x1, top float64) {
	lines, _ := noteLines(f.paragraphs(card, set.CapStyle(fonts.Regular, f.small)), x1-x0)
	c.Lines(x0, top+f.small*(blockTop+1), f.pitch, lines)
	if f.shown[pencil] {
		bottom := top + f.height()
		for i := range pencilLines {
			c.Add(layout.Line{X1: x0, Y1: bottom - float64(i)*pencilPitch, X2: x1, Y2: bottom - float64(i)*pencilPitch, Weight: ruleLight})
		}
	}
}
