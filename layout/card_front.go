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
			rest = w.divisionName(s.Users[0])
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
		return false, false, &misfit{text: f.rows[len(f.rows)-1].name}
	}
	for _, r := range f.rows {
		rest, ok := f.rest(r)
		if !ok || f.stacked && !f.firstLine(r) {
			return false, false, &misfit{text: r.name + " " + f.leadText(r, true)}
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
