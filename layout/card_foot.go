package layout

import (
	"slices"
	"strconv"

	"slotcard/fonts"
	"slotcard/plan"
)

// The foot of a card: load, the way there, caution, read-back code.

// footText is what the feet of all cards of a list say: the load and how to see
// its edition, the way there; and the caution.
type footText struct {
	words      *Words
	small      style
	said, note []piece
}

func footTextOf(w *Words, r *plan.Resolved, l *plan.List, small style) footText {
	bold, mono := small.in(fonts.Bold), small.in(fonts.Mono)
	about := &r.Load.About
	t := footText{words: w, small: small, note: words(small, w.FrontNote)}
	say := func(runs ...run) { t.said = append(t.said, pieceOf(t.gap(), runs...)) }
	edition := bold.say(about.Edition + " " + about.Colour)
	if ink, ok := CoverInk(about.Colour); ok {
		edition.mark = swatch(ink)
	}
	say(small.say(w.Load+" "), edition)
	if len(r.EditionMarks) > 0 {
		say(small.say(w.ShownBy+" "), bold.say(r.EditionMarks[0].Name))
	}
	for _, a := range r.Also {
		say(small.say(a.When+" "), bold.say(a.Channel.Name+" "), mono.say(placeOf(a.Channel)))
	}
	if name := w.listName(l, r); name != "" {
		say(small.say(w.List+" "), bold.say(name))
	}
	t.said = slices.Clip(t.said) // cards append to it
	return t
}

func (t footText) gap() float64 { return t.small.space() * 2.5 }

// of are the paragraphs of a card: what changes, what all say and the number of
// the card, the caution.
func (t footText) of(c *plan.Card, changes map[*plan.Card]Change) [][]piece {
	number := pieceOf(t.gap(), t.small.say(t.words.Card+" "+strconv.Itoa(c.Number)))
	paragraphs := [][]piece{append(t.said, number), t.note}
	if change, ok := changes[c]; ok {
		paragraphs = append([][]piece{change.chunks(t.words, t.small.in(fonts.Bold))}, paragraphs...)
	}
	return paragraphs
}

// footForm is the geometry of the foot.
type footForm struct {
	small    float64
	code     float64 // cap height of the code, mm
	boxWidth float64
	lines    int
}

func (f footForm) boxHeight() float64 { return f.code * 1.75 }

// height of the foot, from the rule below the list to the safe edge.
func (f footForm) height() float64 {
	text := float64(f.lines)*f.small*leading - f.small*(leading-1) + f.small*descender
	return f.small*0.75 + max(f.boxHeight(), text)
}

func footFormOf(paragraphs [][]piece, code string, small, width float64) (footForm, *misfit) {
	f := footForm{small: small, code: small * 2.1}
	box := capStyle(fonts.MonoBold, f.code)
	f.boxWidth = box.width(code) + f.code*1.1
	lines, bad := noteLines(paragraphs, width-f.boxWidth-small*1.2)
	if bad != "" {
		return f, &misfit{text: bad}
	}
	f.lines = len(lines)
	return f, nil
}

func (f footForm) draw(c *canvas, paragraphs [][]piece, code string, x0, x1, bottom float64) {
	h := f.boxHeight()
	const weight = 0.45
	c.add(Box{X: x1 - f.boxWidth + weight/2, Y: bottom - h + weight/2, W: f.boxWidth - weight, H: h - weight, Stroke: weight})
	c.textMid(x1-f.boxWidth/2, bottom-h/2+f.code/2, capStyle(fonts.MonoBold, f.code), code)
	lines, _ := noteLines(paragraphs, x1-x0-f.boxWidth-f.small*1.2)
	y := bottom - f.small*descender - float64(len(lines)-1)*f.small*leading
	c.lines(x0, y, f.small*leading, lines)
}
