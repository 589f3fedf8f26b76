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
	"slotcard/plan/radio"
)

// The front of a card: head, list, foot. The list takes what head and foot
// leave. Its geometry is worked out once for all cards of a list, so that a
// slot stands at the same place on every card of a crew.

// row is a slot of the list in words.
type row struct {
	line         int // of the plan's file
	number, name string
	marks        []*set.Mark // before the lead: the way it takes, guard
	lead         string      // use or division
	rests        []string    // what may follow the lead, the fullest first; the last is the least that must be said
	place        string      // group and channel number in the load
	talk         bool        // some card of the list talks here
	priority     bool        // some card has its priority here
	scan         bool        // some card scans it
	changed      bool        // some card must be told that it has changed
}

// front is the geometry of the fronts of all cards of a list.
type front struct {
	words    *words.CardWords
	size     layout.Size
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
	keyMost    = 7.0  // mm: larger capitals help nobody at arm's length
	smallMost  = 2.9  // mm
	stackedAir = 1.3  // above and below the lines of a stacked row, in small cap heights
	standOut   = 1.65 // cap height of names in those of the rest, where the card has room
	smallStep  = 0.05 // mm
	ruleHeavy  = 0.4  // mm
	ruleLight  = 0.15 // mm
)

func (f *front) left() float64  { return layout.Safe }
func (f *front) right() float64 { return f.size.Width - layout.Safe }

func (f *front) keyStyle() set.Style   { return set.CapStyle(fonts.MonoBold, f.key) }
func (f *front) smallStyle() set.Style { return set.CapStyle(fonts.Regular, f.small) }

// rowsOf puts the slots of a list into words.
func rowsOf(w *words.CardWords, l *plan.List, cards []*plan.Card, changes map[*plan.Card]Change) []row {
	rows := make([]row, len(l.Slots))
	for i, s := range l.Slots {
		r := row{
			line:   s.At("").Line,
			number: strconv.Itoa(i + 1),
			name:   s.Channel.Name,
			lead:   w.Lead(s),
			place:  l.Place(i).Place(),
		}
		rest := ""
		switch {
		case s.Use == radio.Guard:
			rest = w.GuardRest
		case len(s.Users) == 1:
			rest = w.DivisionName(s.Users[0])
		}
		switch {
		case s.Channel.Trunked():
			r.rests = []string{w.Talkgroup}
		case s.Repeated():
			r.marks = append(r.marks, set.MarkRepeated)
			openers := w.Openers(s.Repeater, s.ToneNumber, s.TxTone)
			for _, o := range openers {
				r.rests = append(r.rests, words.Joined(rest, o))
			}
			if len(openers) > 0 {
				r.rests = append(r.rests, openers[len(openers)-1])
			}
		default:
			r.marks = append(r.marks, set.MarkDirect)
			r.rests = []string{words.Joined(rest, w.Direct), rest}
			if short, _, cut := strings.Cut(rest, ","); cut {
				r.rests = append(r.rests, short)
			}
			r.rests = append(r.rests, "")
		}
		if s.Use == radio.Guard {
			r.marks = append(r.marks, set.MarkGuard)
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

// markWidth is the width of the widest mark of a row: it stands at the right.
func (f *front) markWidth(r row) float64 {
	bold := f.smallStyle().In(fonts.Bold)
	w := 0.0
	if r.priority {
		w, _, _ = set.PlateSize(bold, f.words.Priority)
	}
	if r.scan {
		s, _, _ := set.PlateSize(bold, f.words.Scan)
		w = max(w, s)
	}
	return w
}

func (f *front) placeWidth() float64 {
	w := 0.0
	for _, r := range f.rows {
		w = max(w, f.smallStyle().In(fonts.Mono).Width(r.place))
	}
	return w
}

// detailWidth is the width of a row's words with the given rest.
func (f *front) detailWidth(r row, rest string) float64 {
	s := f.smallStyle()
	w := s.In(fonts.Bold).Width(f.leadText(r, true))
	for _, m := range r.marks {
		w += m.Advance(s.Cap())
	}
	if r.changed {
		w += set.MarkChanged.Advance(s.Cap())
	}
	if rest != "" {
		w += s.Space() + s.Width(rest)
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
	w := f.pad()*2 + f.numberWidth() + f.keyGap() + f.keyStyle().Width(r.name)
	if m := f.markWidth(r); m > 0 {
		w += m + f.markGap()
	}
	return w <= f.columnWidth()
}

// fits tells whether every row says at least what it must; full, whether every
// row has room for its second-fullest wording, which names the division or site.
func (f *front) fits() (ok, full bool, why *set.Misfit) {
	full = true
	if f.rowHeight() > f.pitch()+set.Tolerance {
		return false, false, &set.Misfit{Text: f.rows[len(f.rows)-1].name}
	}
	for _, r := range f.rows {
		rest, ok := f.rest(r)
		if !ok || f.stacked && !f.firstLine(r) {
			return false, false, &set.Misfit{Text: r.name + " " + f.leadText(r, true)}
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
		return f.key + f.small*(set.Leading+stackedAir)
	}
	return max(f.key/rowFill, f.small*set.PlateHeight*1.12)
}

// comfortable is the cap height of names beyond which full wording of the rows
// is worth more than larger names, mm: 24 arcmin at 400 mm.
const comfortable = 2.8

// grow finds the largest key size for the form and small size that f has, or
// says what does not fit at the least.
func (f *front) grow() *set.Misfit {
	f.key = layout.CapKey
	if _, _, why := f.fits(); why != nil {
		return why
	}
	at := func(key float64) (ok, full bool) {
		f.key = key
		ok, full, _ = f.fits()
		return ok, full
	}
	const step = 0.05
	room, _ := set.Largest(layout.CapKey, keyMost, step, func(key float64) bool { ok, _ := at(key); return ok })
	full, found := set.Largest(layout.CapKey, keyMost, step, func(key float64) bool { ok, full := at(key); return ok && full })
	f.key = min(room, comfortable)
	if found {
		f.key = max(f.key, full)
	}
	return nil
}

// frontOf works out the geometry for the cards of a list, whose head and foot
// may each take their own height at a small size.
func frontOf(o *Options, size layout.Size, rows []row, edges func(small float64) (top, bottom float64, why *set.Misfit)) (*front, *set.Misfit) {
	var best *front
	var why *set.Misfit
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
func growSmall(o *Options, size layout.Size, rows []row, columns int, stacked bool, edges func(float64) (float64, float64, *set.Misfit)) (*front, *set.Misfit) {
	at := func(small float64) (f *front, why *set.Misfit) {
		f = &front{words: o.Words, outlined: o.Plain, size: size, rows: rows, columns: columns, stacked: stacked, small: small}
		if f.top, f.bottom, why = edges(small); why == nil {
			why = f.grow()
		}
		return f, why
	}
	f, why := at(layout.CapLeast)
	if why != nil {
		return nil, why
	}
	small, _ := set.Largest(layout.CapLeast, smallMost, smallStep, func(small float64) bool {
		g, why := at(small)
		return why == nil && g.key >= standOut*small
	})
	if small > layout.CapLeast {
		f, _ = at(small)
	}
	return f, nil
}

// draw sets the rows of a card, which are those of all cards of the list with the
// same marks and changes.
func (f *front) draw(c *set.Canvas, card *plan.Card, change Change) {
	small := f.smallStyle()
	bold, mono := small.In(fonts.Bold), small.In(fonts.Mono)
	key, pitch := f.keyStyle(), f.pitch()
	n := f.perColumn()
	for i, r := range f.rows {
		col, line := i/n, i%n
		x0 := f.left() + float64(col)*(f.columnWidth()+f.gutter())
		x1 := x0 + f.columnWidth()
		y0 := f.top + float64(line)*pitch
		c.Area(x0, y0, x1-x0, pitch, i+1, r.line)
		mark := card.Marks[i]
		ink := layout.Black
		if mark.Talk {
			if f.outlined {
				c.Frame(x0, y0, x1-x0, pitch, 0.7)
			} else {
				c.Bar(x0, y0, x1-x0, pitch)
				ink = layout.White
			}
		} else if line > 0 && !card.Marks[i-1].Talk {
			c.Rule(x0, x1, y0, ruleLight)
		}
		keyLine := y0 + (pitch+f.key)/2
		smallLine := y0 + (pitch+small.Cap())/2
		markLine := smallLine
		if f.stacked {
			spare := pitch - f.key - f.small*set.Leading
			keyLine = y0 + spare*0.46 + f.key
			smallLine = keyLine + f.small*set.Leading + spare*0.1
			markLine = keyLine - (f.key-small.Cap())/2
		}
		c.TextRight(x0+f.pad()+f.numberWidth(), keyLine, key.On(ink), r.number)
		c.Text(x0+f.pad()+f.numberWidth()+f.keyGap(), keyLine, key.On(ink), r.name)

		x := x0 + f.detailLeft()
		marks := r.marks
		if change.has(i) {
			marks = append(slices.Clip(marks), set.MarkChanged)
		}
		for _, m := range marks {
			m.Draw(c, x, smallLine, small.Cap(), ink)
			x += m.Advance(small.Cap())
		}
		x = c.Text(x, smallLine, bold.On(ink), f.leadText(r, mark.Talk))
		if rest, _ := f.rest(r); rest != "" {
			c.Text(x+small.Space(), smallLine, small.On(ink), rest)
		}
		right := x1 - f.pad()
		c.TextRight(right, smallLine, mono.On(ink), r.place)
		if !f.stacked {
			right -= f.placeWidth() + f.markGap()
		}
		switch {
		case mark.Priority:
			w, _, _ := set.PlateSize(bold, f.words.Priority)
			if f.outlined {
				c.SquarePlate(right-w, markLine, bold, f.words.Priority)
			} else {
				c.Plate(right-w, markLine, bold, f.words.Priority, mark.Talk)
			}
		case mark.Scan:
			w, _, _ := set.PlateSize(bold, f.words.Scan)
			c.Ring(right-w, markLine, bold, f.words.Scan, mark.Talk && !f.outlined)
		}
	}
	for col := range f.columns {
		x0 := f.left() + float64(col)*(f.columnWidth()+f.gutter())
		x1 := x0 + f.columnWidth()
		c.Rule(x0, x1, f.top, ruleHeavy)
		rows := min(n, len(f.rows)-col*n)
		c.Rule(x0, x1, f.top+float64(rows)*pitch, ruleHeavy)
	}
}
