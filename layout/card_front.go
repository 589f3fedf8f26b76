package layout

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"slotcard/fonts"
	"slotcard/plan"
	"slotcard/plan/radio"
)

// The front of a card: head, list, foot. The list takes what head and foot
// leave. Its geometry is worked out once for all cards of a list, so that a
// slot stands at the same place on every card of a crew.

// misfit says which text does not fit. A nil misfit fits.
type misfit struct{ text string }

// row is a slot of the list in words.
type row struct {
	number, name string
	marks        []*mark  // before the lead: the way it takes, guard
	lead         string   // use or division
	rests        []string // what may follow the lead, the fullest first; the last is the least that must be said
	place        string   // group and channel number in the load
	talk         bool     // some card of the list talks here
	priority     bool     // some card has its priority here
	scan         bool     // some card scans it
	changed      bool     // some card must be told that it has changed
}

// front is the geometry of the fronts of all cards of a list.
type front struct {
	words    *Words
	size     Size
	rows     []row
	key      float64 // cap height of numbers and names, mm
	small    float64 // cap height of the rest, mm
	columns  int
	stacked  bool    // a row has two lines
	outlined bool    // no fills: frames in their place
	top      float64 // of the list
	bottom   float64
}

const (
	rowFill    = 0.78 // part of a row's height that its capitals take at most
	leading    = 1.48 // line pitch in cap heights
	keyMost    = 7.0  // mm: larger capitals help nobody at arm's length
	smallMost  = 2.9  // mm
	stackedAir = 1.3  // above and below the lines of a stacked row, in small cap heights
	standOut   = 1.65 // cap height of names in those of the rest, where the card has room
	smallStep  = 0.05 // mm
	ruleHeavy  = 0.4  // mm
	ruleLight  = 0.15 // mm
)

func (f *front) left() float64  { return Safe }
func (f *front) right() float64 { return f.size.Width - Safe }

func (f *front) keyStyle() style   { return capStyle(fonts.MonoBold, f.key) }
func (f *front) smallStyle() style { return capStyle(fonts.Regular, f.small) }

// rowsOf puts the slots of a list into words.
func rowsOf(w *Words, l *plan.List, cards []*plan.Card, changes map[*plan.Card]Change) []row {
	rows := make([]row, len(l.Slots))
	for i, s := range l.Slots {
		r := row{
			number: strconv.Itoa(i + 1),
			name:   s.Channel.Name,
			lead:   w.lead(s),
			place:  placeOf(l.Place(i)),
		}
		rest := ""
		switch {
		case s.Use == radio.Guard:
			rest = w.GuardRest
		case len(s.Users) == 1:
			rest = s.Users[0].Name
		}
		switch {
		case s.Channel.Trunked():
			r.rests = []string{w.Talkgroup}
		case s.Repeated():
			r.marks = append(r.marks, markRepeated)
			openers := w.openers(s.Repeater, s.ToneNumber, s.TxTone)
			for _, o := range openers {
				r.rests = append(r.rests, joined(rest, o))
			}
			if len(openers) > 0 {
				r.rests = append(r.rests, openers[len(openers)-1])
			}
		default:
			r.marks = append(r.marks, markDirect)
			r.rests = []string{joined(rest, w.Direct), rest}
			if short, _, cut := strings.Cut(rest, ","); cut {
				r.rests = append(r.rests, short)
			}
			r.rests = append(r.rests, "")
		}
		if s.Use == radio.Guard {
			r.marks = append(r.marks, markGuard)
		}
		for _, c := range cards {
			m := c.Marks[i]
			r.talk = r.talk || m.Talk
			r.priority = r.priority || m.Priority
			r.scan = r.scan || m.Scan
			r.changed = r.changed || changes[c].has(i)
		}
		rows[i] = r
	}
	return rows
}

func joined(a, b string) string {
	if a == "" || b == "" {
		return a + b
	}
	return a + ", " + b
}

// placeOf writes where a channel stands in the load: group and channel number.
func placeOf(c *plan.Channel) string { return fmt.Sprintf("%d-%02d", c.Group.Number, c.Number) }

// columnWidth is the width of a column of rows.
func (f *front) columnWidth() float64 {
	return (f.right() - f.left() - float64(f.columns-1)*f.gutter()) / float64(f.columns)
}

func (f *front) gutter() float64  { return 2.5 * f.small }
func (f *front) perColumn() int   { return (len(f.rows) + f.columns - 1) / f.columns }
func (f *front) pitch() float64   { return (f.bottom - f.top) / float64(f.perColumn()) }
func (f *front) pad() float64     { return 0.35 * f.small }
func (f *front) markGap() float64 { return 0.6 * f.small }

// numberWidth is the width of the column of slot numbers.
func (f *front) numberWidth() float64 {
	return f.keyStyle().width("0") * float64(len(strconv.Itoa(len(f.rows))))
}

// nameWidth is the width of the column of display names.
func (f *front) nameWidth() float64 {
	w := 0.0
	for _, r := range f.rows {
		w = max(w, f.keyStyle().width(r.name))
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

// widest mark and the place stand at the right.
func (f *front) markWidth(r row) float64 {
	bold := f.smallStyle().in(fonts.Bold)
	w := 0.0
	if r.priority {
		w, _, _ = plateSize(bold, f.words.Priority)
	}
	if r.scan {
		s, _, _ := plateSize(bold, f.words.Scan)
		w = max(w, s)
	}
	return w
}

func (f *front) placeWidth() float64 {
	w := 0.0
	for _, r := range f.rows {
		w = max(w, f.smallStyle().in(fonts.Mono).width(r.place))
	}
	return w
}

// detailWidth is the width of a row's words with the given rest.
func (f *front) detailWidth(r row, rest string) float64 {
	s := f.smallStyle()
	w := s.in(fonts.Bold).width(f.leadText(r, true))
	for _, m := range r.marks {
		w += m.advance(s.cap())
	}
	if r.changed {
		w += markChanged.advance(s.cap())
	}
	if rest != "" {
		w += s.space() + s.width(rest)
	}
	return w
}

func (f *front) leadText(r row, talk bool) string {
	if talk && r.talk {
		return f.words.Talk + " " + r.lead
	}
	return r.lead
}

// rest is the fullest rest of a row that the column holds; fits is false where
// even the least does not.
func (f *front) rest(r row) (rest string, fits bool) {
	room := f.columnWidth() - f.detailLeft() - f.pad()
	if f.stacked {
		room -= f.placeWidth() + f.markGap()
	} else {
		room -= f.placeWidth() + f.markGap()
		if m := f.markWidth(r); m > 0 {
			room -= m + f.markGap()
		}
	}
	for _, rest = range r.rests {
		if f.detailWidth(r, rest) <= room {
			return rest, true
		}
	}
	return rest, false
}

// firstLine tells whether number, name and mark of a stacked row fit.
func (f *front) firstLine(r row) bool {
	w := f.pad()*2 + f.numberWidth() + f.keyGap() + f.keyStyle().width(r.name)
	if m := f.markWidth(r); m > 0 {
		w += m + f.markGap()
	}
	return w <= f.columnWidth()
}

// fits tells whether every row says at least what it must; full, whether every
// row has room for its second-fullest wording, which names the division or site.
func (f *front) fits() (ok, full bool, why *misfit) {
	full = true
	if f.rowHeight() > f.pitch()+tolerance {
		return false, false, &misfit{f.rows[len(f.rows)-1].name}
	}
	for _, r := range f.rows {
		rest, ok := f.rest(r)
		if !ok || f.stacked && !f.firstLine(r) {
			return false, false, &misfit{r.name + " " + f.leadText(r, true)}
		}
		if len(r.rests) > 1 && rest == r.rests[len(r.rests)-1] && rest != r.rests[len(r.rests)-2] {
			full = false
		}
	}
	return true, full, nil
}

// rowHeight is the least height of a row.
func (f *front) rowHeight() float64 {
	if f.stacked {
		return f.key + f.small*(leading+stackedAir)
	}
	return max(f.key/rowFill, f.small*plateHeight*1.12)
}

// comfortable is the cap height of names beyond which full wording of the rows
// is worth more than larger names, mm: 24 arcmin at 400 mm.
const comfortable = 2.8

// grow finds the largest key size for the form and small size that f has, or
// says what does not fit at the least.
func (f *front) grow() *misfit {
	f.key = CapKey
	if _, _, why := f.fits(); why != nil {
		return why
	}
	at := func(key float64) (ok, full bool) {
		f.key = key
		ok, full, _ = f.fits()
		return ok, full
	}
	const step = 0.05
	room, _ := largest(CapKey, keyMost, step, func(key float64) bool { ok, _ := at(key); return ok })
	full, found := largest(CapKey, keyMost, step, func(key float64) bool { ok, full := at(key); return ok && full })
	f.key = min(room, comfortable)
	if found {
		f.key = max(f.key, full)
	}
	return nil
}

// frontOf works out the geometry for the cards of a list, whose head and foot
// may each take their own height at a small size.
func frontOf(o *CardOptions, size Size, rows []row, edges func(small float64) (top, bottom float64, why *misfit)) (*front, *misfit) {
	var best *front
	var why *misfit
	for _, form := range []struct {
		columns int
		stacked bool
	}{{1, false}, {1, true}, {2, true}, {2, false}} {
		f, m := growSmall(o, size, rows, form.columns, form.stacked, edges)
		if m != nil {
			if why == nil {
				why = m
			}
			continue
		}
		// Another form must be clearly better: a single column is found faster.
		if best == nil || f.key > best.key*1.12 && f.small >= best.small*0.95 {
			best = f
		}
	}
	if best == nil {
		return nil, why
	}
	return best, nil
}

// growSmall finds the largest small size at which names still stand out.
func growSmall(o *CardOptions, size Size, rows []row, columns int, stacked bool, edges func(float64) (float64, float64, *misfit)) (*front, *misfit) {
	at := func(small float64) (f *front, why *misfit) {
		f = &front{words: o.Words, outlined: o.Plain, size: size, rows: rows, columns: columns, stacked: stacked, small: small}
		if f.top, f.bottom, why = edges(small); why == nil {
			why = f.grow()
		}
		return f, why
	}
	f, why := at(CapLeast)
	if why != nil {
		return nil, why
	}
	small, _ := largest(CapLeast, smallMost, smallStep, func(small float64) bool {
		g, why := at(small)
		return why == nil && g.key >= standOut*small
	})
	if small > CapLeast {
		f, _ = at(small)
	}
	return f, nil
}

// draw sets the rows of a card, which are those of all cards of the list with the
// same marks and changes.
func (f *front) draw(c *canvas, card *plan.Card, change Change) {
	small := f.smallStyle()
	bold, mono := small.in(fonts.Bold), small.in(fonts.Mono)
	key, pitch := f.keyStyle(), f.pitch()
	n := f.perColumn()
	for i, r := range f.rows {
		col, line := i/n, i%n
		x0 := f.left() + float64(col)*(f.columnWidth()+f.gutter())
		x1 := x0 + f.columnWidth()
		y0 := f.top + float64(line)*pitch
		mark := card.Marks[i]
		ink := Black
		if mark.Talk {
			if f.outlined {
				c.frame(x0, y0, x1-x0, pitch, 0.7)
			} else {
				c.bar(x0, y0, x1-x0, pitch)
				ink = White
			}
		} else if line > 0 && !card.Marks[i-1].Talk {
			c.rule(x0, x1, y0, ruleLight)
		}
		keyLine := y0 + (pitch+f.key)/2
		smallLine := y0 + (pitch+small.cap())/2
		markLine := smallLine
		if f.stacked {
			spare := pitch - f.key - f.small*leading
			keyLine = y0 + spare*0.46 + f.key
			smallLine = keyLine + f.small*leading + spare*0.1
			markLine = keyLine - (f.key-small.cap())/2
		}
		c.textRight(x0+f.pad()+f.numberWidth(), keyLine, key.on(ink), r.number)
		c.text(x0+f.pad()+f.numberWidth()+f.keyGap(), keyLine, key.on(ink), r.name)

		x := x0 + f.detailLeft()
		marks := r.marks
		if change.has(i) {
			marks = append(slices.Clip(marks), markChanged)
		}
		for _, m := range marks {
			m.draw(c, x, smallLine, small.cap(), ink)
			x += m.advance(small.cap())
		}
		x = c.text(x, smallLine, bold.on(ink), f.leadText(r, mark.Talk))
		if rest, _ := f.rest(r); rest != "" {
			c.text(x+small.space(), smallLine, small.on(ink), rest)
		}
		right := x1 - f.pad()
		c.textRight(right, smallLine, mono.on(ink), r.place)
		if !f.stacked {
			right -= f.placeWidth() + f.markGap()
		}
		switch {
		case mark.Priority:
			w, _, _ := plateSize(bold, f.words.Priority)
			if f.outlined {
				c.squarePlate(right-w, markLine, bold, f.words.Priority)
			} else {
				c.plate(right-w, markLine, bold, f.words.Priority, mark.Talk)
			}
		case mark.Scan:
			w, _, _ := plateSize(bold, f.words.Scan)
			c.ring(right-w, markLine, bold, f.words.Scan, mark.Talk && !f.outlined)
		}
	}
	for col := range f.columns {
		x0 := f.left() + float64(col)*(f.columnWidth()+f.gutter())
		x1 := x0 + f.columnWidth()
		c.rule(x0, x1, f.top, ruleHeavy)
		rows := min(n, len(f.rows)-col*n)
		c.rule(x0, x1, f.top+float64(rows)*pitch, ruleHeavy)
	}
}

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
		return &misfit{h.incident + " " + h.unit}
	}
	left, exercise, right := small.width(h.period), h.exerciseWidth(w, small), h.seatWidth(small)
	switch {
	case !f.three && left+exercise+gap+right > width:
		return &misfit{h.period + " " + h.seat}
	case f.three && exercise+gap+right > width:
		return &misfit{strings.TrimSuffix(h.seat+", "+h.division, ", ")}
	case f.three && left > width:
		return &misfit{h.period}
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

// footText is what the feet of all cards of a list say: the load and how to see
// its edition, the way there; and the caution.
type footText struct {
	words      *Words
	small      style
	said, note []chunk
}

func footTextOf(w *Words, r *plan.Resolved, l *plan.List, small style) footText {
	bold, mono := small.in(fonts.Bold), small.in(fonts.Mono)
	about := &r.Load.About
	t := footText{words: w, small: small, note: words(small, w.FrontNote)}
	say := func(runs ...run) { t.said = append(t.said, chunkOf(t.gap(), runs...)) }
	edition := run{style: bold, s: about.Edition + " " + about.Colour}
	if ink, ok := CoverInk(about.Colour); ok {
		edition.mark = swatch(ink)
	}
	say(run{style: small, s: w.Load + " "}, edition)
	if len(r.EditionMarks) > 0 {
		say(run{style: small, s: w.ShownBy + " "}, run{style: bold, s: r.EditionMarks[0].Name})
	}
	for _, a := range r.Also {
		say(run{style: small, s: a.When + " "}, run{style: bold, s: a.Channel.Name + " "}, run{style: mono, s: placeOf(a.Channel)})
	}
	if name := w.listName(l, r); name != "" {
		say(run{style: small, s: w.List + " "}, run{style: bold, s: name})
	}
	t.said = slices.Clip(t.said) // cards append to it
	return t
}

func (t footText) gap() float64 { return t.small.space() * 2.5 }

// of are the paragraphs of a card: what changes, what all say and the number of
// the card, the caution.
func (t footText) of(c *plan.Card, changes map[*plan.Card]Change) [][]chunk {
	number := chunkOf(t.gap(), run{style: t.small, s: t.words.Card + " " + strconv.Itoa(c.Number)})
	paragraphs := [][]chunk{append(t.said, number), t.note}
	if change, ok := changes[c]; ok {
		paragraphs = append([][]chunk{change.chunks(t.words, t.small.in(fonts.Bold))}, paragraphs...)
	}
	return paragraphs
}

// Change is what a card has to say about the list its holder had before.
type Change struct {
	Period  int   // the operational period compared with
	Slots   []int // positions to build anew, from 1, ascending
	Clear   []int // positions behind the end of the list that must be emptied, ascending
	First   bool  // the holder had no list before
	NewCode bool  // the read-back code differs
	Listen  bool  // the holder talks, gives priority or scans elsewhere
}

// Rebuild tells whether the list must be built anew in some slot.
func (c Change) Rebuild() bool { return c.First || len(c.Slots)+len(c.Clear) > 0 }

// has tells whether slot i, from 0, has changed.
func (c Change) has(i int) bool { return !c.First && slices.Contains(c.Slots, i+1) }

// plateNumbers are the most slots, or runs of slots, that stand on a plate with
// the word: more may need to go on in the next line.
const plateNumbers = 5

// chunks are what the card says of the change.
func (c Change) chunks(w *Words, s style) []chunk {
	if c.First {
		return []chunk{chunkOf(0, run{style: s, s: w.BuildList, plate: true})}
	}
	var out []chunk
	numbers := func(positions []int) []string { return strings.Split(numberRuns(positions), ", ") }
	if len(c.Slots) > 0 {
		head, slots := w.Rebuild, numbers(c.Slots)
		if len(c.Slots) == 1 {
			head = w.RebuildOne
		}
		if len(slots) <= plateNumbers {
			out = append(out, chunkOf(s.space(), run{style: s, s: head + " " + strings.Join(slots, ", "), plate: true}))
		} else {
			out = append(out, chunkOf(s.space(), run{style: s, s: head, plate: true}))
			out = append(out, words(s, strings.Join(slots, ", "))...)
		}
	}
	var rest []string
	if len(c.Slots)+len(c.Clear) == 0 {
		rest = append(rest, fmt.Sprintf("%s %d", w.SameList, c.Period))
		if c.NewCode {
			rest = append(rest, w.NewCode)
		}
	}
	switch len(c.Clear) {
	case 0:
	case 1:
		rest = append(rest, w.ClearOne+" "+numberRuns(c.Clear))
	default:
		rest = append(rest, w.ClearMany+" "+numberRuns(c.Clear))
	}
	if c.Listen {
		rest = append(rest, w.ListenElsewhere)
	}
	for i, t := range rest {
		r := run{style: s, s: t}
		if i < len(rest)-1 {
			r.s += ","
		}
		if i == 0 && !c.Rebuild() {
			r.mark = markSame
		}
		out = append(out, chunkOf(s.space(), r))
	}
	return out
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

func footFormOf(paragraphs [][]chunk, code string, small, width float64) (footForm, *misfit) {
	f := footForm{small: small, code: small * 2.1}
	box := capStyle(fonts.MonoBold, f.code)
	f.boxWidth = box.width(code) + f.code*1.1
	lines, bad := noteLines(paragraphs, width-f.boxWidth-small*1.2)
	if bad != "" {
		return f, &misfit{bad}
	}
	f.lines = len(lines)
	return f, nil
}

func (f footForm) draw(c *canvas, paragraphs [][]chunk, code string, x0, x1, bottom float64) {
	h := f.boxHeight()
	const weight = 0.45
	c.add(Box{X: x1 - f.boxWidth + weight/2, Y: bottom - h + weight/2, W: f.boxWidth - weight, H: h - weight, Stroke: weight})
	c.textMid(x1-f.boxWidth/2, bottom-h/2+f.code/2, capStyle(fonts.MonoBold, f.code), code)
	lines, _ := noteLines(paragraphs, x1-x0-f.boxWidth-f.small*1.2)
	y := bottom - f.small*descender - float64(len(lines)-1)*f.small*leading
	for _, l := range lines {
		c.line(x0, y, l)
		y += f.small * leading
	}
}
