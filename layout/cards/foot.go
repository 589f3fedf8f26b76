package cards

import (
	"slices"
	"strconv"
	"strings"

	"slotcard/fonts"
	"slotcard/layout"
	"slotcard/layout/set"
	"slotcard/layout/words"
	"slotcard/plan"
)

// footKeep is what stands on one line: that a name shows the edition, with the channel
// that it is said of.
type footKeep uint8

const (
	keepChannel footKeep = iota // all of it
	keepSaid                    // what is said, behind the channel or below it
	keepNothing
)

// footOrder is where the channel that shows the edition stands among those beside the list.
type footOrder uint8

const (
	asPlanned footOrder = iota
	markLast
	markFirst
)

// footWay is how the foot is broken into lines.
type footWay struct {
	keep  footKeep
	order footOrder
}

// footWays, the best first, of as many lines.
var footWays = []footWay{
	{keepChannel, asPlanned}, {keepChannel, markLast}, {keepChannel, markFirst},
	{keepSaid, asPlanned}, {keepSaid, markLast}, {keepSaid, markFirst},
	{keepNothing, asPlanned},
}

// The foot of a card: load, the way there, caution, read-back code.

// footText is what the feet of all cards of a list say: the load and how to see
// its edition, the way there; and the caution.
type footText struct {
	words      *words.CardWords
	small      set.Style
	said, note []set.Piece
	issue      string // beside the code: which revision; "" for the first issue
}

func footTextOf(w *words.CardWords, r *plan.Resolved, l *plan.List, small set.Style, in footWay) footText {
	bold, mono := small.In(fonts.Bold), small.In(fonts.Mono)
	about := &r.Load.About
	t := footText{words: w, small: small, note: set.Words(small, w.FrontNote), issue: w.Issue(&r.Plan.Incident)}
	say := func(pieces ...set.Piece) { t.said = append(t.said, set.Parted(small, pieces)...) }
	whole := func(runs ...set.Run) set.Piece { return set.PieceOf(0, runs...) }
	edition := bold.Say(about.Edition + " " + about.Colour)
	if ink, ok := set.CoverInk(about.Colour); ok {
		edition.Mark = set.Swatch(ink)
	}
	say(whole(small.Say(w.Load+" "), edition))
	// What the edition's channel is for and that its name shows the edition is said at once.
	before, colon, after := turnTo(w)
	mark := -1
	if len(r.EditionMarks) > 0 {
		name := r.EditionMarks[0].Name
		mark = slices.IndexFunc(r.Also, func(a *plan.AlsoChannel) bool { return a.Channel.Name == name })
		if mark < 0 {
			to := set.PieceOf(small.Space(), bold.Say(name), small.Say(colon))
			say(slices.Concat(set.Words(small, before), in.keep.join(small, to, after))...)
		}
	}
	for _, i := range in.order.of(len(r.Also), mark) {
		a := r.Also[i]
		way := whole(small.Say(w.FillText(r, a.When, l)+" "), bold.Say(a.Channel.Name+" "), mono.Say(a.Channel.Place()))
		if i != mark {
			say(way)
			continue
		}
		way = set.PieceOf(small.Space(), append(way.Runs, small.Say(colon))...)
		say(in.keep.join(small, way, after)...)
	}
	if name := w.ListName(l, r); name != "" {
		say(whole(small.Say(w.List+" "), bold.Say(name)))
	}
	t.said = slices.Clip(t.said) // cards append to it
	return t
}

// of are n channels in their order, of which one shows the edition; -1: none.
func (o footOrder) of(n, mark int) (order []int) {
	for i := range n {
		if i != mark || o == asPlanned {
			order = append(order, i)
		}
	}
	switch {
	case mark < 0 || o == asPlanned:
		return order
	case o == markLast:
		return append(order, mark)
	}
	return append([]int{mark}, order...)
}

// join is a channel and what is said of it.
func (k footKeep) join(small set.Style, channel set.Piece, said string) []set.Piece {
	switch k {
	case keepChannel:
		return []set.Piece{set.PieceOf(channel.Space, append(slices.Clone(channel.Runs), small.Say(" "+said))...)}
	case keepSaid:
		return []set.Piece{channel, set.PieceOf(small.Space(), small.Say(said))}
	}
	return append([]set.Piece{channel}, set.Words(small, said)...)
}

// turnTo is what is said of where the edition shows, before the name of the channel and
// after it: up to the first space, and on.
func turnTo(w *words.CardWords) (before, colon, after string) {
	before, behind, _ := strings.Cut(w.TurnTo, "%name%")
	trimmed := strings.TrimLeft(behind, " ")
	colon, after, _ = strings.Cut(trimmed, " ")
	return before, behind[:len(behind)-len(trimmed)] + colon, after
}

// number is the number of a card, as it stands behind what all say.
func (t footText) number(c *plan.Card) string { return t.words.Card + " " + strconv.Itoa(c.Number) }

// of are the paragraphs of a card: what changes, what all say and the number of
// the card, the caution.
func (t footText) of(c *plan.Card, changes map[*plan.Card]Change) [][]set.Piece {
	number := set.PieceOf(0, t.small.Say(t.number(c)))
	paragraphs := [][]set.Piece{append(t.said, number), t.note}
	if change, ok := changes[c]; ok {
		paragraphs = append([][]set.Piece{change.chunks(t.words, t.small.In(fonts.Bold))}, paragraphs...)
	}
	return paragraphs
}

// footForm is the geometry of the foot.
type footForm struct {
	small    float64
	code     float64 // cap height of the code, mm
	boxWidth float64
	issue    float64 // width of the plate with the revision, beside the box on the first line; 0: none
	lines    int
	pitch    float64 // of the lines, mm
	way      footWay
}

func (f footForm) boxHeight() float64 { return f.code * 1.75 }

// height of the foot, from the rule below the list to the safe edge.
func (f footForm) height() float64 {
	text := f.small*(1+set.Descender) + float64(f.lines-1)*f.pitch
	return f.small*0.75 + max(f.boxHeight(), text)
}

// wrap breaks the paragraphs beside the box; the revision takes the end of the
// first line.
func (f footForm) wrap(paragraphs [][]set.Piece, width float64) (all []set.Line, bad string) {
	room := f.room(false, width)
	if f.issue == 0 {
		return noteLines(paragraphs, room)
	}
	for i, p := range paragraphs {
		lines, bad := set.BreakLines(p, f.room(i == 0, width), room)
		if bad != "" {
			return nil, bad
		}
		all = append(all, lines...)
	}
	return all, ""
}

// room is that of a line, mm.
func (f footForm) room(first bool, width float64) float64 {
	width -= f.boxWidth + f.small*1.2
	if first && f.issue > 0 {
		width -= f.issue + f.small*1.2
	}
	return width
}

func footFormOf(paragraphs [][]set.Piece, code, issue string, small, width float64) (footForm, *set.Misfit) {
	f := footForm{small: small, code: small * 2.1}
	box := set.CapStyle(fonts.MonoBold, f.code)
	f.boxWidth = box.Width(code) + f.code*1.1
	if issue != "" {
		f.issue, _, _ = set.PlateSize(set.CapStyle(fonts.Bold, small), issue)
		if f.issue > width-f.boxWidth-small*1.2 {
			return f, &set.Misfit{Text: issue}
		}
	}
	lines, bad := f.wrap(paragraphs, width)
	if bad != "" {
		return f, &set.Misfit{Text: bad}
	}
	f.lines, f.pitch = len(lines), pitchOf(small, lines)
	return f, nil
}

func (f footForm) draw(c *set.Canvas, paragraphs [][]set.Piece, code, issue string, x0, x1, bottom float64) {
	h := f.boxHeight()
	const weight = 0.45
	c.Add(layout.Box{X: x1 - f.boxWidth + weight/2, Y: bottom - h + weight/2, W: f.boxWidth - weight, H: h - weight, Stroke: weight})
	c.TextMid(x1-f.boxWidth/2, bottom-h/2+f.code/2, set.CapStyle(fonts.MonoBold, f.code), code)
	lines, _ := f.wrap(paragraphs, x1-x0)
	y := bottom - f.small*set.Descender - float64(len(lines)-1)*f.pitch
	c.Lines(x0, y, f.pitch, lines)
	if f.issue > 0 {
		c.Plate(x1-f.boxWidth-f.small*1.2-f.issue, y, set.CapStyle(fonts.Bold, f.small), issue, false)
	}
}
