package cards

import (
	"strconv"

	"slotcard/fonts"
	"slotcard/layout"
	"slotcard/layout/set"
	"slotcard/layout/words"
	"slotcard/plan"
)

// leastGap is the white between any two texts that are not lines of one paragraph, mm:
// 0.6, and what places lose by rounding.
const leastGap = 0.62

// build is a row of the build table.
type build struct {
	line                int // of the plan's file
	number, name, place string
	receive, transmit   string
	tones               string
	kind                string // mode and width where they are not analog and narrow
	direct, trunked     bool
}

func buildOf(w *words.CardWords, l *plan.List) []build {
	rows := make([]build, len(l.Slots))
	for i, s := range l.Slots {
		c := s.Channel
		b := build{line: s.At("").Line, number: strconv.Itoa(i + 1), name: c.Name, place: l.Place(i).Place(), kind: words.Kind(c)}
		if c.Trunked() {
			b.receive, b.transmit, b.trunked = c.System, c.Talkgroup, true
		} else {
			f := c.Figures(s.TxTone)
			b.receive, b.transmit, b.direct, b.tones = f.Rx, f.Tx, f.Direct, f.Tones()
			if f.Direct {
				b.transmit = w.Direct
			}
		}
		rows[i] = b
	}
	return rows
}

// tableForm is how many lines the build table spends on a slot.
type tableForm uint8

const (
	wide    tableForm = iota // one line, transmit in a column of its own
	folded                   // one line where the slot is direct, else two
	doubled                  // two lines
	tableForms
)

// table is the geometry of the build table.
type table struct {
	words *words.CardWords
	rows  []build
	small float64 // cap height, mm
	form  tableForm
	// widths of the columns, mm
	number, name, place, receive, transmit, tones, kind float64
	figures                                             float64 // of the frequencies in receive: a system's name may be wider
	ticks                                               bool    // a square to tick before each slot
	line, row                                           float64 // pitch of the lines of a slot, and of slots of one line, mm
}

func tableOf(w *words.CardWords, rows []build, small float64, form tableForm, ticks bool) *table {
	t := &table{words: w, rows: rows, small: small, form: form, ticks: ticks}
	mono, bold := t.mono(), t.bold()
	widest := func(s set.Style, head string, of func(build) string) float64 {
		x := 0.0
		if form == wide {
			x = s.In(fonts.Regular).Width(head)
		}
		for _, r := range rows {
			x = max(x, s.Width(of(r)))
		}
		return x
	}
	t.number = widest(bold, "", func(r build) string { return r.number })
	t.name = widest(bold, "", func(r build) string { return r.name })
	t.place = widest(mono, w.Where, func(r build) string { return r.place })
	t.receive = widest(mono, w.Receive, func(r build) string { return r.receive })
	t.figures = widest(mono, "", func(r build) string {
		if r.trunked {
			return ""
		}
		return r.receive
	})
	t.transmit = widest(mono, w.Transmit, func(r build) string {
		if form == folded && r.direct {
			return ""
		}
		return r.transmit
	})
	t.tones = widest(mono, w.ToneCol, func(r build) string {
		if form == folded && !r.direct {
			return "" // stands on the second line
		}
		return r.tones
	})
	t.kind = widest(mono, "", func(r build) string { return r.kind })
	t.pitches()
	return t
}

// pitches sets lines so far apart that the ink of two keeps its distance.
func (t *table) pitches() {
	up, down, second := 0.0, 0.0, 0.0
	for _, r := range t.rows {
		for _, s := range []string{r.name, r.place, r.receive, r.transmit, r.tones, r.kind} {
			u, d := t.mono().Rise(s)
			bu, bd := t.bold().Rise(s)
			if up, down = max(up, u, bu), max(down, d, bd); s != r.name {
				second = max(second, u)
			}
		}
	}
	t.line = max(t.small*tableLine, down+second+leastGap)
	t.row = max(t.small*(tableLine+tableRow), up+down+leastGap)
}

func (t *table) mono() set.Style  { return set.CapStyle(fonts.Mono, t.small) }
func (t *table) bold() set.Style  { return set.CapStyle(fonts.MonoBold, t.small) }
func (t *table) plain() set.Style { return set.CapStyle(fonts.Regular, t.small) }

func (t *table) gap() float64 { return t.small * 0.85 }

// after is a column and the gap before it, nothing where the column is empty.
func (t *table) after(w float64) float64 {
	if w == 0 {
		return 0
	}
	return t.gap() + w
}

// left is the width of tick and number.
func (t *table) left() float64 {
	if t.ticks {
		return set.MarkTick.Advance(t.small) + t.number
	}
	return t.number
}

// width is the least width of the table.
func (t *table) width() float64 {
	g := t.gap()
	left := t.left() + g*0.6
	switch t.form {
	case folded:
		second := 0.0
		for _, r := range t.rows {
			if !r.direct {
				second = max(second, set.MarkRepeated.Advance(t.small)+t.mono().Width(r.transmit)+t.after(t.mono().Width(r.tones)))
			}
		}
		return left + max(t.name+t.after(t.place)+g+set.MarkDirect.Advance(t.small)+t.receive+t.after(t.tones)+t.after(t.kind), second)
	case doubled:
		return left + max(t.name+t.after(t.kind)+t.after(t.place), t.receive+t.after(t.transmit)+t.after(t.tones))
	}
	return left + t.name + t.after(t.place) + t.after(t.receive) + t.after(t.transmit) + t.after(t.tones) + t.after(t.kind)
}

// lines of a row.
func (t *table) lines(r build) float64 {
	if t.form == doubled || t.form == folded && !r.direct {
		return 2
	}
	return 1
}

// Line pitch of the table in cap heights: between the lines of a slot, and
// what a row adds.
const (
	tableLine = 1.4
	tableRow  = 0.22
)

// rowHeight is the least height of a row.
func (t *table) rowHeight(r build) float64 { return t.row + (t.lines(r)-1)*t.line }

// height of the table from the top of its head to its foot.
func (t *table) height() float64 {
	h := t.headHeight()
	for _, r := range t.rows {
		h += t.rowHeight(r)
	}
	return h
}

func (t *table) headHeight() float64 {
	if t.form != wide {
		return 0
	}
	return t.small * (set.Ascender + 0.56)
}

// draw sets the table with its top left corner at x, y into width mm, its own
// at least, and spreads the rows over height mm as far as that looks well.
func (t *table) draw(c *set.Canvas, x, y, width, height float64) {
	spread := min(max((height-t.height())/float64(len(t.rows)), 0), t.small*0.9)
	right := x + width
	nameX := x + t.left() + t.gap()*0.6
	mono, bold := t.mono(), t.bold()
	g := t.gap()
	var placeX, receiveX, transmitX, tonesX float64 // right edges of the columns of the wide form
	if t.form == wide {
		gaps := 4.0
		if t.kind > 0 {
			gaps++
		}
		g += (width - t.width()) / gaps
		placeX = nameX + t.name + g + t.place
		receiveX = placeX + g + t.receive
		transmitX = receiveX + g + t.transmit
		tonesX = transmitX + g + t.tones
		head := t.plain()
		c.TextRight(placeX, y+t.small*set.Ascender, head, t.words.Where)
		c.TextRight(receiveX, y+t.small*set.Ascender, head, t.words.Receive)
		c.TextRight(transmitX, y+t.small*set.Ascender, head, t.words.Transmit)
		c.TextRight(tonesX, y+t.small*set.Ascender, head, t.words.ToneCol)
		y += t.headHeight()
	}
	for i, r := range t.rows {
		h := t.rowHeight(r) + spread
		if i > 0 || t.form == wide {
			c.Rule(x, right, y, ruleLight)
		}
		c.Area(x, y, right-x, h, i+1, r.line)
		base := y + (h-t.small-(t.lines(r)-1)*t.line)/2 + t.small
		second := base + t.line
		if t.ticks {
			set.MarkTick.Draw(c, x, base, t.small, layout.Black)
		}
		c.TextRight(x+t.left(), base, bold, r.number)
		c.Text(nameX, base, bold, r.name)
		transmit := mono
		if r.direct {
			transmit = t.plain()
		}
		switch t.form {
		case wide:
			c.TextRight(placeX, base, mono, r.place)
			c.TextRight(receiveX, base, mono, r.receive)
			c.TextRight(transmitX, base, transmit, r.transmit)
			c.TextRight(tonesX, base, mono, r.tones)
			c.TextRight(right, base, mono, r.kind)
		case folded:
			c.TextRight(right, base, mono, r.kind)
			edge := right - t.after(t.kind)
			receive := edge - t.after(t.tones)
			if r.direct {
				c.TextRight(edge, base, mono, r.tones)
				set.MarkDirect.Draw(c, receive-t.figures-set.MarkDirect.Advance(t.small), base, t.small, layout.Black)
			} else {
				column := t.figures
				if r.trunked {
					column = mono.Width(r.receive)
				}
				transmitX := receive - max(column, mono.Width(r.transmit))
				transmitX = min(transmitX, right-mono.Width(r.tones)-t.gap()-mono.Width(r.transmit))
				c.Text(transmitX, second, mono, r.transmit)
				if !r.trunked {
					set.MarkRepeated.Draw(c, transmitX-set.MarkRepeated.Advance(t.small), second, t.small, layout.Black)
				}
				c.TextRight(right, second, mono, r.tones)
			}
			c.TextRight(receive, base, mono, r.receive)
			c.Text(nameX+t.name+t.gap(), base, mono, r.place)
		case doubled:
			c.TextRight(right, base, mono, r.place)
			c.TextRight(right-t.after(t.place), base, mono, r.kind)
			c.Text(nameX, second, mono, r.receive)
			c.Text(nameX+t.receive+t.gap(), second, transmit, r.transmit)
			c.TextRight(right, second, mono, r.tones)
		}
		y += h
	}
}
