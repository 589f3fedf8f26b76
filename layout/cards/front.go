package cards

import (
	"slices"
	"strconv"

	"slotcard/fonts"
	"slotcard/layout"
	"slotcard/layout/set"
	"slotcard/layout/words"
	"slotcard/plan"
)

// The front of a card: head, list, foot. The list takes what head and foot
// leave. Its geometry is worked out once for all cards of a list, so that a
// slot stands at the same place on every card of a crew.

// front is the geometry of the fronts of all cards of a list.
type front struct {
	words    *words.CardWords
	size     layout.Size
	rows     []row
	key      float64 // cap height of numbers and names, mm
	small    float64 // cap height of the rest, mm
	columns  int
	stacked  bool // a row has two lines
	outlined bool // no fills: frames in their place
	edges
	wording int     // of wordings
	plate   float64 // height of the highest mark
	ink     rowInk
}

// rowInk is how far the ink of rows reaches above and below their baselines, in cap
// heights: of names, and of the rest.
type rowInk struct{ nameUp, nameDown, up, down float64 }

func inkOfRows(rows []row) (ink rowInk) {
	const at = 10.0 // mm
	rise := func(face fonts.Face, texts ...string) (up, down float64) {
		s := set.CapStyle(face, at)
		for _, t := range texts {
			u, d := s.Rise(t)
			up, down = max(up, u/s.Cap()), max(down, d/s.Cap())
		}
		return up, down
	}
	for _, r := range rows {
		u, d := rise(fonts.MonoBold, r.number, r.name)
		ink.nameUp, ink.nameDown = max(ink.nameUp, u), max(ink.nameDown, d)
		u, d = rise(fonts.Bold, r.lead)
		v, e := rise(fonts.Regular, r.rests.division, r.rests.guard, r.rests.opens, r.place)
		ink.up, ink.down = max(ink.up, u, v), max(ink.down, d, e)
	}
	return ink
}

const (
	rowTight   = 0.78 // part of a row's height that its capitals take at most, at their least size
	rowEasy    = 0.70 // the same where they are comfortable
	keyMost    = 7.0  // mm: larger capitals help nobody at arm's length
	smallMost  = 2.9  // mm
	stackedAir = 1.3  // above and below the lines of a stacked row, in small cap heights
	standOut   = 1.65 // cap height of names in those of the rest, where the card has room
	smallStep  = 0.05 // mm
	ruleHeavy  = 0.4  // mm
	ruleLight  = 0.15 // mm
	talkFrame  = 0.5  // mm: weight of the frame of a row without fills, half of it outside above and below
	// A copy of a copy closes white letters first. The name of one's own row, and whom it
	// reaches, stand in white windows, with so much air about them, and so much black at
	// least between a window and the edge of the row, mm.
	windowAir   = 0.3
	windowFrame = 0.12

	cellPad = 0.5 // beside a word in a cell of that frame, in small cap heights

	frameAir = 0.155 // least white between this frame and what stands in it, in small cap heights
)

func (f *front) left() float64  { return layout.Safe }
func (f *front) right() float64 { return f.size.Width - layout.Safe }

func (f *front) keyStyle() set.Style   { return set.CapStyle(fonts.MonoBold, f.key) }
func (f *front) smallStyle() set.Style { return set.CapStyle(fonts.Regular, f.small) }

// columnWidth is the width of a column of rows.
func (f *front) columnWidth() float64 {
	return (f.right() - f.left() - float64(f.columns-1)*f.gutter()) / float64(f.columns)
}

func (f *front) gutter() float64 { return 2.5 * f.small }
func (f *front) perColumn() int  { return (len(f.rows) + f.columns - 1) / f.columns }
func (f *front) pitch() float64  { return (f.bottom - f.top) / float64(f.perColumn()) }

// pad is free at either end of a row, within the frame of an outlined one.
func (f *front) pad() float64 {
	if f.outlined {
		return 0.35*f.small + talkFrame
	}
	return 0.35 * f.small
}

func (f *front) markGap() float64 { return 0.6 * f.small }

// numberWidth is the width of the column of slot numbers.
func (f *front) numberWidth() float64 {
	return f.keyStyle().Width("0") * float64(len(strconv.Itoa(len(f.rows))))
}

// nameWidth is the width of the column of display names.
func (f *front) nameWidth() float64 {
	w := 0.0
	for _, r := range f.rows {
		w = max(w, f.keyStyle().Width(r.name))
	}
	return w
}

func (f *front) keyGap() float64 { return 0.55 * f.key }

// detailLeft is where use and division begin, from the left of a column.
func (f *front) detailLeft() float64 {
	if f.stacked {
		return f.pad() + f.numberWidth() + f.keyGap()
	}
	return f.pad() + f.numberWidth() + f.keyGap() + f.nameWidth() + f.keyGap()*1.2
}

// markSize is the width and height of what marks priority or scan, which stands at
// the right.
func (f *front) markSize(m plan.Mark) (w, h float64) {
	bold := f.smallStyle().In(fonts.Bold)
	switch {
	case m.Priority && f.outlined && m.Talk: // a cell of the row's frame
		up, down := bold.Rise(f.priority())
		return bold.Width(f.priority()) + 2*cellPad*f.small + talkFrame, up + down
	case m.Priority && f.outlined:
		return set.OutlineSize(bold, f.priority())
	case m.Priority:
		w, _, h = set.PlateSize(bold, f.priority())
	case m.Scan:
		w, _, h = set.PlateSize(bold, f.words.Scan)
	}
	return w, h
}

func (f *front) placeWidth() float64 {
	w := 0.0
	for _, r := range f.rows {
		w = max(w, f.smallStyle().In(fonts.Mono).Width(r.place))
	}
	return w
}

// detailWidth is the width of a row's words on a card with a mark.
func (f *front) detailWidth(r row, m plan.Mark) float64 {
	s := f.smallStyle()
	w := s.In(fonts.Bold).Width(f.leadText(r, m.Talk))
	if m.Talk && !f.outlined {
		w += 2 * windowAir
	}
	for _, m := range r.marks {
		w += m.Advance(s.Cap())
	}
	if r.changed {
		w += set.MarkChanged.Advance(s.Cap())
	}
	if rest := f.rest(r, m.Talk); rest != "" {
		w += s.Space() + s.Width(rest)
	}
	return w
}

func (f *front) leadText(r row, talk bool) string {
	if talk {
		return f.words.Talk + " " + r.lead
	}
	return r.lead
}

// rest is what follows the lead of a row.
func (f *front) rest(r row, talk bool) string {
	return r.rests.in(wordings[f.wording], talk && (f.head.named || f.block.own))
}

// priority is the word that marks it, in the wording that f has.
func (f *front) priority() string {
	if wordings[f.wording].short {
		return f.words.PriorityShort
	}
	return f.words.Priority
}

// fitting is what rows need at a size of small type: the widths of the group and channel
// numbers, and of each row's mark and words on each kind of card; and how high marks are.
// It is worked out once for all sizes of names.
type fitting struct {
	place, plate  float64
	marks, detail [][]float64
	short         bool // of the short words
}

func (f *front) fitting() *fitting {
	n := &fitting{place: f.placeWidth(), marks: make([][]float64, len(f.rows)), detail: make([][]float64, len(f.rows))}
	for i, r := range f.rows {
		n.marks[i] = make([]float64, len(r.marked))
		n.detail[i] = make([]float64, len(r.marked))
	}
	f.measureMarks(n)
	return n
}

func (f *front) measureMarks(n *fitting) {
	n.plate, n.short = 0, wordings[f.wording].short
	for i, r := range f.rows {
		for j, m := range r.marked {
			w, h := f.markSize(m)
			if n.plate = max(n.plate, h); w > 0 {
				w += f.markGap()
			}
			n.marks[i][j] = w
		}
	}
}

// say takes the words of a wording.
func (f *front) say(n *fitting, wording int) {
	if f.wording = wording; wordings[wording].short != n.short {
		f.measureMarks(n)
	}
	for i, r := range f.rows {
		for j, m := range r.marked {
			n.detail[i][j] = f.detailWidth(r, m)
		}
	}
}

// misfit is what does not fit in the wording that f has.
func (f *front) misfit(n *fitting) *set.Misfit {
	if f.rowHeight(n.plate) > f.pitch()+set.Tolerance {
		return &set.Misfit{Text: f.rows[len(f.rows)-1].name}
	}
	room := f.columnWidth() - f.detailLeft() - f.pad() - n.place - f.markGap()
	before := f.pad()*2 + f.numberWidth() + f.keyGap()
	for i, r := range f.rows {
		for j, m := range r.marked {
			// The words of a row fit into its line; of a stacked row, into both its lines.
			holds := n.detail[i][j] <= room-n.marks[i][j]
			if f.stacked {
				holds = n.detail[i][j] <= room && before+f.keyStyle().Width(r.name)+n.marks[i][j] <= f.columnWidth()
			}
			if !holds {
				return &set.Misfit{Text: r.name + " " + f.leadText(r, m.Talk)}
			}
		}
	}
	return nil
}

// nameRow is the least height of a row by its name: where there is room for larger names
// than the least, they share it with the white above and below them.
func nameRow(key float64) float64 {
	if key >= comfortable {
		return key / rowEasy
	}
	share := (key - layout.CapKey) / (comfortable - layout.CapKey)
	return (1-share)*layout.CapKey/rowTight + share*comfortable/rowEasy
}

// rowHeight is the least height of a row with marks so high.
func (f *front) rowHeight(plate float64) float64 {
	if f.stacked {
		above, below := f.stackedEdges(plate)
		share := min(1, (f.key-layout.CapKey)/(comfortable-layout.CapKey)) // of the white where names are large
		return f.key + f.stackedPitch() + max(above+below, f.small*stackedAir*share)
	}
	key := f.key * max(f.ink.nameUp+f.ink.nameDown, 1)
	least := max(nameRow(f.key), key+leastGap, f.small*(f.ink.up+f.ink.down)+leastGap, plate+0.12*f.small)
	if f.outlined {
		frame := 2 * (talkFrame/2 + frameAir*f.small)
		least = max(least, key+frame, f.small*(f.ink.up+f.ink.down)+frame, plate+talkFrame+0.12*f.small)
	}
	return least
}

// stackedEdges are from the edges of a stacked row to the capitals of its name, which a
// mark may reach over, and to the line below it.
func (f *front) stackedEdges(plate float64) (above, below float64) {
	above = max(f.key*max(f.ink.nameUp-1, 0), (plate-f.key)/2)
	below = f.small * f.ink.down
	edge := leastGap / 2
	if f.outlined {
		edge = talkFrame/2 + frameAir*f.small
	}
	return above + edge, below + edge
}

// stackedPitch is from the baseline of a name to that of the line below it.
func (f *front) stackedPitch() float64 {
	return max(f.small*set.Leading, f.key*f.ink.nameDown+leastGap+f.small*f.ink.up)
}

// comfortable is the cap height of names beyond which there is more to wish for than
// larger ones, mm: 24 arcmin at 400 mm.
const comfortable = 2.8

// grow finds the largest key size for the form and small size that f has, with as
// many words as there is room for at good type; or says what does not fit at
// the least.
func (f *front) grow() *set.Misfit {
	n := f.fitting()
	largest := func(w int) (key float64, ok bool) {
		f.say(n, w)
		f.plate = n.plate
		return set.Largest(layout.CapKey, keyMost, keyStep, func(key float64) bool {
			f.key = key
			return f.misfit(n) == nil
		})
	}
	last := len(wordings) - 1
	if !f.hasShort() {
		last--
	}
	room, ok := largest(last)
	if !ok {
		f.key = layout.CapKey
		return f.misfit(n)
	}
	enough := min(room*worthNames, keyBeside)
	for w := range last + 1 {
		if wordings[w].short && !f.hasShort() {
			continue
		}
		if key, ok := largest(w); ok && (key >= enough || w == last) {
			f.key = key
			return nil
		}
	}
	f.wording, f.key = last, room
	return nil
}

// hasShort tells whether the language has short words for where there is little room.
func (f *front) hasShort() bool {
	return f.words.ToneShort != f.words.Tone || f.words.PriorityShort != f.words.Priority
}

// worthNames is the share of their size that names of slots keep at least for more
// words behind them, where they are small as it is.
const worthNames = 0.85

// keyStep is by how much names grow, mm.
const keyStep = 0.05

// atEdges works out the edges of a front at a size of small type.
type atEdges func(small float64) (edges, *set.Misfit)

// forms in which rows may stand: how many columns, and on one line or two.
var forms = []struct {
	columns int
	stacked bool
}{{1, false}, {1, true}, {2, true}, {2, false}}

// frontOf works out the geometry for the cards of a list, whose head and foot
// may each take their own height at a small size.
func frontOf(f front, edges atEdges) (*front, *set.Misfit) {
	var best *front
	var why *set.Misfit
	for _, form := range forms {
		f.columns, f.stacked = form.columns, form.stacked
		f, m := f.growSmall(edges)
		if m != nil {
			if why == nil {
				why = m
			}
			continue
		}
		// Another form must be clearly better: a single column is found faster.
		if best == nil || f.wording <= best.wording && f.key > best.key*1.12 && f.small >= best.small*0.95 ||
			f.wording < best.wording && f.key >= min(best.key, comfortable) {
			best = f
		}
	}
	if best == nil {
		return nil, why
	}
	return best, nil
}

// holdsFront says what keeps a front from being worked out.
func holdsFront(f front, edges atEdges) (why *set.Misfit) {
	for _, form := range forms {
		f.columns, f.stacked = form.columns, form.stacked
		_, m := f.at(layout.CapLeast, edges)
		if m == nil {
			return nil
		}
		if why == nil {
			why = m
		}
	}
	return why
}

// at is the front at a size of small type.
func (f front) at(small float64, edges atEdges) (_ *front, why *set.Misfit) {
	f.small = small
	if f.edges, why = edges(small); why == nil {
		why = f.grow()
	}
	return &f, why
}

// growSmall finds the largest small size at which names still stand out.
func (f front) growSmall(edges atEdges) (*front, *set.Misfit) {
	best, why := f.at(layout.CapLeast, edges)
	if why != nil {
		return nil, why
	}
	least := best.wording
	set.Largest(layout.CapLeast, smallMost, smallStep, func(small float64) bool {
		if small == layout.CapLeast {
			return best.key >= standOut*small
		}
		g, why := f.at(small, edges)
		if why != nil || g.key < standOut*small || g.wording > least {
			return false
		}
		best = g
		return true
	})
	return best, nil
}

// draw sets the rows of a card, which are those of all cards of the list with the
// same marks and changes.
func (f *front) draw(c *set.Canvas, card *plan.Card, change Change) {
	n := f.perColumn()
	for i := range f.rows {
		col, line := i/n, i%n
		x0 := f.left() + float64(col)*(f.columnWidth()+f.gutter())
		y0 := f.top + float64(line)*f.pitch()
		if line > 0 && !card.Marks[i].Talk && !card.Marks[i-1].Talk {
			c.Rule(x0, x0+f.columnWidth(), y0, ruleLight)
		}
		f.drawRow(c, i, x0, y0, card.Marks[i], change.has(i))
	}
	for col := range f.columns {
		x0 := f.left() + float64(col)*(f.columnWidth()+f.gutter())
		rows := min(n, len(f.rows)-col*n)
		c.Rule(x0, x0+f.columnWidth(), f.top, ruleHeavy)
		c.Rule(x0, x0+f.columnWidth(), f.top+float64(rows)*f.pitch(), ruleHeavy)
	}
}

// drawRow sets row i with its upper left corner at x0, y0.
func (f *front) drawRow(c *set.Canvas, i int, x0, y0 float64, mark plan.Mark, changed bool) {
	r, pitch, key, small := f.rows[i], f.pitch(), f.keyStyle(), f.smallStyle()
	bold, mono := small.In(fonts.Bold), small.In(fonts.Mono)
	x1 := x0 + f.columnWidth()
	c.Area(x0, y0, x1-x0, pitch, i+1, r.line)
	ink := layout.Black
	switch {
	case mark.Talk && f.outlined:
		c.Frame(x0, y0-talkFrame/2, x1-x0, pitch+talkFrame, talkFrame)
	case mark.Talk:
		c.Bar(x0, y0, x1-x0, pitch)
		ink = layout.White
	}
	keyLine := y0 + (pitch+f.key)/2
	smallLine := y0 + (pitch+small.Cap())/2
	markMid := y0 + pitch/2
	if f.stacked {
		above, below := f.stackedEdges(f.plate)
		spare := pitch - above - f.key - f.stackedPitch() - below
		keyLine = y0 + above + spare*0.46 + f.key
		smallLine = keyLine + f.stackedPitch() + spare*0.1
		markMid = keyLine - f.key/2
	}
	numberRight := x0 + f.pad() + f.numberWidth()
	right := x1 - f.pad()
	nameLeft := numberRight + f.keyGap()
	window := func(x, line, up, down, wide float64) {
		top, bottom := max(line-up-windowAir, y0+windowFrame), min(line+down+windowAir, y0+pitch-windowFrame)
		c.Add(layout.Box{X: x - windowAir, Y: top, W: wide + 2*windowAir, H: bottom - top, Fill: true, FillInk: layout.White})
	}
	if mark.Talk && !f.outlined {
		window(nameLeft, keyLine, f.key*f.ink.nameUp, f.key*f.ink.nameDown, key.Width(r.name))
	}
	c.TextRight(numberRight, keyLine, key.On(ink), r.number)
	c.Text(nameLeft, keyLine, key, r.name)

	x := x0 + f.detailLeft()
	marks := r.marks
	if changed {
		marks = append(slices.Clip(marks), set.MarkChanged)
	}
	for _, m := range marks {
		m.Draw(c, x, smallLine, small.Cap(), ink)
		x += m.Advance(small.Cap())
	}
	lead := f.leadText(r, mark.Talk)
	if mark.Talk && !f.outlined {
		up, down := bold.Rise(lead)
		x += windowAir
		window(x, smallLine, up, down, bold.Width(lead))
		x = c.Text(x, smallLine, bold, lead) + windowAir
	} else {
		x = c.Text(x, smallLine, bold.On(ink), lead)
	}
	c.Text(x+small.Space(), smallLine, small.On(ink), f.rest(r, mark.Talk))

	c.TextRight(right, smallLine, mono.On(ink), r.place)
	if !f.stacked {
		right -= f.placeWidth() + f.markGap()
	}
	w, _ := f.markSize(mark)
	switch {
	case mark.Priority && f.outlined && mark.Talk:
		up, down := bold.Rise(f.priority())
		cell := layout.Rect{X: right - w, Y: y0 - talkFrame/2, W: w, H: pitch + talkFrame}
		if f.stacked { // in the corner
			cell.W = x1 - cell.X
			cell.H = markMid + (up+down)/2 + frameAir*f.small + talkFrame - cell.Y
		}
		c.Frame(cell.X, cell.Y, cell.W, cell.H, talkFrame)
		c.TextMid(cell.X+cell.W/2, markMid+(up-down)/2, bold, f.priority())
	case mark.Priority && f.outlined:
		c.Outline(right-w, markMid, bold, f.priority())
	case mark.Priority:
		c.PlateMid(right-w, markMid, bold, f.priority(), mark.Talk)
	case mark.Scan:
		c.RingMid(right-w, markMid, bold, f.words.Scan, mark.Talk && !f.outlined)
	}
}
