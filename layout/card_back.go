package layout

import (
	"slices"
	"strconv"
	"strings"

	"slotcard/fonts"
	"slotcard/plan"
	"slotcard/plan/radio"
)

// The back of a card: the QR symbol with the list text, the table from which
// the list is built, the code in words, the checks before leaving, the
// cautions. It says nothing of a seat: all cards of a list share one back.

// build is a row of the build table.
type build struct {
	number, name, place string
	receive, transmit   string
	tones               string
	kind                string // mode and width where they are not analog and narrow
	direct, trunked     bool
}

func buildOf(w *Words, l *plan.List) []build {
	rows := make([]build, len(l.Slots))
	for i, s := range l.Slots {
		c := s.Channel
		b := build{number: strconv.Itoa(i + 1), name: c.Name, place: placeOf(l.Place(i)), kind: kindOf(c)}
		if c.Trunked() {
			b.receive, b.transmit, b.trunked = c.System, c.Talkgroup, true
		} else {
			b.receive, b.transmit = c.Rx.String(), c.Tx.String()
			if c.Rx == c.Tx {
				b.transmit, b.direct = w.Direct, true
			}
			b.tones = c.RxTone.String() + "/" + s.TxTone.String()
		}
		rows[i] = b
	}
	return rows
}

// kindOf is the mode and width of a channel as the list text abbreviates them,
// "" for analog and narrow.
func kindOf(c *plan.Channel) string {
	var parts []string
	switch c.Mode {
	case radio.Digital:
		parts = append(parts, "D")
	case radio.Mixed:
		parts = append(parts, "M")
	}
	if c.Width == radio.Wide {
		parts = append(parts, "W")
	}
	return strings.Join(parts, " ")
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
	words *Words
	rows  []build
	small float64 // cap height, mm
	form  tableForm
	// widths of the columns, mm
	number, name, place, receive, transmit, tones, kind float64
	figures                                             float64 // of the frequencies in receive: a system's name may be wider
}

func tableOf(w *Words, rows []build, small float64, form tableForm) *table {
	t := &table{words: w, rows: rows, small: small, form: form}
	mono, bold := t.mono(), t.bold()
	widest := func(s style, head string, of func(build) string) float64 {
		x := 0.0
		if form == wide {
			x = s.in(fonts.Regular).width(head)
		}
		for _, r := range rows {
			x = max(x, s.width(of(r)))
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
	return t
}

func (t *table) mono() style  { return capStyle(fonts.Mono, t.small) }
func (t *table) bold() style  { return capStyle(fonts.MonoBold, t.small) }
func (t *table) plain() style { return capStyle(fonts.Regular, t.small) }

func (t *table) gap() float64 { return t.small * 0.85 }

// after is a column and the gap before it, nothing where the column is empty.
func (t *table) after(w float64) float64 {
	if w == 0 {
		return 0
	}
	return t.gap() + w
}

// width is the least width of the table.
func (t *table) width() float64 {
	g := t.gap()
	left := t.number + g*0.6
	switch t.form {
	case folded:
		second := 0.0
		for _, r := range t.rows {
			if !r.direct {
				second = max(second, markRepeated.advance(t.small)+t.mono().width(r.transmit)+t.after(t.mono().width(r.tones)))
			}
		}
		return left + max(t.name+t.after(t.place)+g+markDirect.advance(t.small)+t.receive+t.after(t.tones)+t.after(t.kind), second)
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
func (t *table) rowHeight(r build) float64 { return t.small * (t.lines(r)*tableLine + tableRow) }

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
	return t.small * (ascender + 0.56)
}

// draw sets the table with its top left corner at x, y into width mm, its own
// at least, and spreads the rows over height mm as far as that looks well.
func (t *table) draw(c *canvas, x, y, width, height float64) {
	spread := min(max((height-t.height())/float64(len(t.rows)), 0), t.small*0.7)
	right := x + width
	nameX := x + t.number + t.gap()*0.6
	mono, bold := t.mono(), t.bold()
	g := t.gap()
	var placeX, receiveX, transmitX, tonesX float64 // right edges of the columns of the wide form
	if t.form == wide {
		g += min((width-t.width())/4, t.small*2.2)
		placeX = nameX + t.name + g + t.place
		receiveX = placeX + g + t.receive
		transmitX = receiveX + g + t.transmit
		tonesX = transmitX + g + t.tones
		right = tonesX + t.after(t.kind)
		head := t.plain()
		c.textRight(placeX, y+t.small*ascender, head, t.words.Where)
		c.textRight(receiveX, y+t.small*ascender, head, t.words.Receive)
		c.textRight(transmitX, y+t.small*ascender, head, t.words.Transmit)
		c.textRight(tonesX, y+t.small*ascender, head, t.words.ToneCol)
		y += t.headHeight()
	}
	for i, r := range t.rows {
		h := t.rowHeight(r) + spread
		if i > 0 || t.form == wide {
			c.rule(x, right, y, ruleLight)
		}
		base := y + (h-t.small*((t.lines(r)-1)*tableLine+1))/2 + t.small
		second := base + t.small*tableLine
		c.textRight(x+t.number, base, bold, r.number)
		c.text(nameX, base, bold, r.name)
		transmit := mono
		if r.direct {
			transmit = t.plain()
		}
		switch t.form {
		case wide:
			c.textRight(placeX, base, mono, r.place)
			c.textRight(receiveX, base, mono, r.receive)
			c.textRight(transmitX, base, transmit, r.transmit)
			c.textRight(tonesX, base, mono, r.tones)
			c.textRight(right, base, mono, r.kind)
		case folded:
			c.textRight(right, base, mono, r.kind)
			edge := right - t.after(t.kind)
			receive := edge - t.after(t.tones)
			if r.direct {
				c.textRight(edge, base, mono, r.tones)
				markDirect.draw(c, receive-t.figures-markDirect.advance(t.small), base, t.small, Black)
			} else {
				column := t.figures
				if r.trunked {
					column = mono.width(r.receive)
				}
				transmitX := receive - max(column, mono.width(r.transmit))
				transmitX = min(transmitX, right-mono.width(r.tones)-t.gap()-mono.width(r.transmit))
				c.text(transmitX, second, mono, r.transmit)
				if !r.trunked {
					markRepeated.draw(c, transmitX-markRepeated.advance(t.small), second, t.small, Black)
				}
				c.textRight(right, second, mono, r.tones)
			}
			c.textRight(receive, base, mono, r.receive)
			c.text(nameX+t.name+t.gap(), base, mono, r.place)
		case doubled:
			c.textRight(right, base, mono, r.place)
			c.textRight(right-t.after(t.place), base, mono, r.kind)
			c.text(nameX, second, mono, r.receive)
			c.text(nameX+t.receive+t.gap(), second, transmit, r.transmit)
			c.textRight(right, second, mono, r.tones)
		}
		y += h
	}
}

// notes are the words of the back: code, checks, cautions, legend.
func notesOf(w *Words, r *plan.Resolved, l *plan.List, changed bool, form tableForm, small float64, said brevity) [][]piece {
	s := capStyle(fonts.Regular, small)
	bold := s.in(fonts.Bold)
	var code []piece
	if r.Plan.Incident.Exercise {
		code = append(code, pieceOf(s.space()*2.5, run{style: bold, s: w.Exercise, plate: true}))
	}
	code = append(code, pieceOf(s.space()*2.5, s.say(w.Code+" "), bold.say(w.spelled(l.Code))))
	if name := w.listName(l, r); name != "" {
		code = append(code, pieceOf(s.space()*2.5, s.say(w.List+" "), bold.say(name)))
	}
	fill := strings.NewReplacer("%colour%", r.Load.About.Colour, "%edition%", r.Load.About.Edition, "%code%", l.Code.Pairs())
	var checks []piece
	for _, t := range w.Checks {
		checks = append(checks, pieceOf(s.space()*3, run{style: s, s: fill.Replace(t), mark: markTick}))
	}
	cautions := w.Cautions
	if said > inFull {
		cautions = w.CautionsShort
	}
	var caution []piece
	for _, t := range cautions {
		caution = append(caution, words(s, t)...)
	}
	explain := func(m *mark, t string, shown bool) {
		if shown {
			code = append(code, pieceOf(s.space()*2.5, run{style: s, s: t, mark: m}))
		}
	}
	has := func(is func(*plan.ResolvedSlot) bool) bool { return slices.ContainsFunc(l.Slots, is) }
	explain(markDirect, w.LegendDirect, has(func(s *plan.ResolvedSlot) bool { return !s.Repeated() && !s.Channel.Trunked() }))
	explain(markRepeated, w.LegendRepeated, has((*plan.ResolvedSlot).Repeated))
	explain(markGuard, w.LegendGuard, has(func(s *plan.ResolvedSlot) bool { return s.Use == radio.Guard }))
	explain(markChanged, w.LegendChanged, changed)
	explain(nil, "D "+w.LegendDigital, has(func(s *plan.ResolvedSlot) bool { return s.Channel.Mode == radio.Digital }))
	explain(nil, "M "+w.LegendMixed, has(func(s *plan.ResolvedSlot) bool { return s.Channel.Mode == radio.Mixed }))
	explain(nil, "W "+w.LegendWide, has(func(s *plan.ResolvedSlot) bool { return s.Channel.Width == radio.Wide }))
	explain(nil, w.ToneCol, form != wide && said < briefest) // the wide form says it above its column
	return [][]piece{code, checks, caution}
}

// noteLines wraps the paragraphs of the notes.
func noteLines(paragraphs [][]piece, width float64) ([]line, string) {
	var all []line
	for _, p := range paragraphs {
		lines, bad := wrap(p, width)
		if bad != "" {
			return nil, bad
		}
		all = append(all, lines...)
	}
	return all, ""
}

// back is one way to arrange symbol, table and notes.
type back struct {
	size   Size
	small  float64
	way    backWay
	table  *table
	lines  []line
	said   brevity // how much the notes say
	spare  float64 // height left over with the smallest symbol, mm
	level  Level
	count  int     // modules on a side of the symbol
	module float64 // mm
}

// brevity is how much the notes say, the fullest first.
type brevity uint8

const (
	inFull   brevity = iota
	brief            // cautions in their short form
	briefest         // and not what the order of the tones is: receive first, as everywhere
)

// backWay is where the blocks stand.
type backWay uint8

const (
	notesBelow     backWay = iota // symbol beside table, notes below both
	notesUnderText                // symbol beside a column of table and notes
	notesUnderCode                // a column of symbol and notes beside the table
	tableAbove                    // table, and below it symbol beside notes
	backWays
)

// symbolGap keeps the quiet zone beside the symbol free.
func symbolGap(module float64) float64 { return QuietModules * module }

// need is the height that the back takes with a symbol of side mm, and the
// lines of its notes.
func (b *back) need(side, module float64, paragraphs [][]piece) (height float64, why *misfit) {
	W := b.size.Width - 2*Safe
	gap := symbolGap(module)
	beside := W - side - gap
	wrapIn := func(width float64) bool {
		var bad string
		b.lines, bad = noteLines(paragraphs, width)
		if bad != "" {
			why = &misfit{text: bad}
		}
		return bad == ""
	}
	tableIn := func(width float64) bool {
		if b.table.width() > width+tolerance {
			why = &misfit{text: b.table.rows[0].name + " " + b.table.rows[0].receive + " " + b.table.rows[0].transmit}
			return false
		}
		return true
	}
	th := b.table.height()
	switch b.way {
	case notesBelow:
		if !tableIn(beside) || !wrapIn(W) {
			return 0, why
		}
		return max(side+gap, th+b.small*0.8) + b.notesHeight(), nil
	case notesUnderText:
		if !tableIn(beside) || !wrapIn(beside) {
			return 0, why
		}
		return max(side, th+b.small*0.9+b.notesHeight()), nil
	case notesUnderCode:
		if !tableIn(beside) || !wrapIn(side) {
			return 0, why
		}
		return max(side+gap+b.notesHeight(), th), nil
	}
	if !tableIn(W) || !wrapIn(beside) {
		return 0, why
	}
	return th + gap + max(side, b.notesHeight()), nil
}

func (b *back) notesHeight() float64 {
	return b.small*noteTop + float64(len(b.lines)-1)*b.notePitch() + b.small*descender
}

// noteTop is the room above the baseline of the first note, in cap heights: a
// plate may stand in it.
const noteTop = 1 + (plateHeight-1)/2

func (b *back) notePitch() float64 { return b.small * leading }

// backOf works out the back of the cards of a list: the largest type that holds
// everything, then the symbol with the highest error correction and the
// largest modules that the rest leaves.
func backOf(o *CardOptions, size Size, r *plan.Resolved, l *plan.List) (*back, *misfit) {
	w := o.Words
	rows := buildOf(w, l)
	least, ok := SymbolSize(len(l.Text), LevelM)
	if !ok {
		return nil, &misfit{text: "the list text in a QR code"}
	}
	x := backSearch{words: w, changed: o.Changes != nil, size: size, r: r, list: l, rows: rows, least: least}
	var best *back
	var why *misfit
	for form := range tableForms {
		b, m := x.largest(form)
		switch {
		case b == nil && why == nil:
			why = m
		case b != nil && (best == nil || b.small > best.small*worthALine):
			best = b
		}
	}
	if best == nil {
		return nil, why
	}
	return best, nil
}

// worthALine is how much larger the type must become for a slot of the build
// table to take a second line.
const worthALine = 1.15

// backSearch is what the search for an arrangement looks at.
type backSearch struct {
	words   *Words
	changed bool // the fronts may mark changed slots
	size    Size
	r       *plan.Resolved
	list    *plan.List
	rows    []build
	least   int // modules of the smallest symbol
}

// largest is the arrangement with the largest type for a form of the table.
func (x *backSearch) largest(form tableForm) (best *back, why *misfit) {
	at := func(small float64) bool {
		var b *back
		if b, why = x.at(form, small); b != nil {
			best = b
		}
		return b != nil
	}
	small, ok := largest(CapLeast, smallMost, smallStep, at)
	if !ok {
		return nil, why
	}
	at(small)
	best.growSymbol(x.size.Height-2*Safe, len(x.list.Text), notesOf(x.words, x.r, x.list, x.changed, form, small, best.said))
	return best, nil
}

// at finds the best arrangement at a size of type, cautions in full first.
func (x *backSearch) at(form tableForm, small float64) (best *back, why *misfit) {
	H := x.size.Height - 2*Safe
	t := tableOf(x.words, x.rows, small, form)
	for _, said := range []brevity{inFull, brief, briefest} {
		notes := notesOf(x.words, x.r, x.list, x.changed, form, small, said)
		for way := range backWays {
			b := &back{size: x.size, small: small, way: way, table: t, said: said, level: LevelM, count: x.least, module: LeastModule}
			h, m := b.need(float64(x.least)*LeastModule, LeastModule, notes)
			if m == nil && h > H+tolerance {
				m = &misfit{text: x.rows[len(x.rows)-1].name}
			}
			if m != nil {
				why = m
				continue
			}
			if b.spare = H - h; best == nil || b.spare > best.spare {
				best = b
			}
		}
		if best != nil {
			return best, nil
		}
	}
	return nil, why
}

// moduleMost is the largest module: larger ones read no better from a card.
const moduleMost = 0.7

func (b *back) growSymbol(H float64, length int, notes [][]piece) {
	fits := func(side, module float64) bool {
		h, m := b.need(side, module, notes)
		return m == nil && h <= H+tolerance
	}
	for level := LevelH; level > LevelM; level-- {
		count, ok := SymbolSize(length, level)
		if ok && fits(float64(count)*LeastModule, LeastModule) {
			b.level, b.count = level, count
			break
		}
	}
	b.module, _ = largest(LeastModule, moduleMost, 0.01, func(m float64) bool { return fits(float64(b.count)*m, m) })
	b.need(float64(b.count)*b.module, b.module, notes) // the lines for the final size
}

func (b *back) draw(c *canvas, symbol *Symbol) {
	left, top := Safe, Safe
	W, H := b.size.Width-2*Safe, b.size.Height-2*Safe
	side, gap := float64(b.count)*b.module, symbolGap(b.module)
	notes := func(x, y float64) {
		c.lines(x, y+b.small*noteTop, b.notePitch(), b.lines)
	}
	bottomNotes := top + H - b.notesHeight()
	switch b.way {
	case notesBelow:
		c.add(Modules{X: left, Y: top, Module: b.module, Symbol: symbol})
		b.table.draw(c, left+side+gap, top, W-side-gap, bottomNotes-top-b.small*0.8)
		notes(left, bottomNotes)
	case notesUnderText:
		c.add(Modules{X: left, Y: top, Module: b.module, Symbol: symbol})
		b.table.draw(c, left+side+gap, top, W-side-gap, bottomNotes-top-b.small*0.9)
		notes(left+side+gap, bottomNotes)
	case notesUnderCode:
		c.add(Modules{X: left, Y: top, Module: b.module, Symbol: symbol})
		b.table.draw(c, left+side+gap, top, W-side-gap, H)
		notes(left, bottomNotes)
	case tableAbove:
		foot := max(side, b.notesHeight())
		b.table.draw(c, left, top, W, H-foot-gap)
		c.add(Modules{X: left, Y: top + H - foot + (foot-side)/2, Module: b.module, Symbol: symbol})
		notes(left+side+gap, bottomNotes)
	}
}
