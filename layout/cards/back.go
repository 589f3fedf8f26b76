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

// The back of a card: the QR symbol with the list text, the table from which
// the list is built, the code in words, the checks before leaving, the
// cautions. It says nothing of a seat: all cards of a list share one back.

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
}

func tableOf(w *words.CardWords, rows []build, small float64, form tableForm) *table {
	t := &table{words: w, rows: rows, small: small, form: form}
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
	return t
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

// width is the least width of the table.
func (t *table) width() float64 {
	g := t.gap()
	left := t.number + g*0.6
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
	return t.small * (set.Ascender + 0.56)
}

// draw sets the table with its top left corner at x, y into width mm, its own
// at least, and spreads the rows over height mm as far as that looks well.
func (t *table) draw(c *set.Canvas, x, y, width, height float64) {
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
		base := y + (h-t.small*((t.lines(r)-1)*tableLine+1))/2 + t.small
		second := base + t.small*tableLine
		c.TextRight(x+t.number, base, bold, r.number)
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

// notesOf are the words of the back: code, checks, cautions, legend.
func notesOf(w *words.CardWords, r *plan.Resolved, l *plan.List, changed bool, form tableForm, small float64, said brevity) [][]set.Piece {
	s := set.CapStyle(fonts.Regular, small)
	bold := s.In(fonts.Bold)
	var code []set.Piece
	if r.Plan.Incident.Exercise {
		code = append(code, set.PieceOf(s.Space()*2.5, set.Run{Style: bold, S: w.Exercise, Plate: true}))
	}
	code = append(code, set.PieceOf(s.Space()*2.5, s.Say(w.Code+" "), bold.Say(w.Spelled(l.Code))))
	if name := w.ListName(l, r); name != "" {
		code = append(code, set.PieceOf(s.Space()*2.5, s.Say(w.List+" "), bold.Say(name)))
	}
	fill := strings.NewReplacer("%color%", r.Load.About.Colour, "%edition%", r.Load.About.Edition, "%code%", l.Code.Pairs())
	var checks []set.Piece
	for _, t := range w.Checks {
		checks = append(checks, set.PieceOf(s.Space()*3, set.Run{Style: s, S: fill.Replace(t), Mark: set.MarkTick}))
	}
	cautions := w.Cautions
	if said > inFull {
		cautions = w.CautionsShort
	}
	var caution []set.Piece
	if said := w.Accepted(len(r.Exceptions)); said != "" {
		caution = set.Words(bold, said)
	}
	for _, t := range cautions {
		caution = append(caution, set.Words(s, t)...)
	}
	explain := func(m *set.Mark, t string, shown bool) {
		if shown {
			code = append(code, set.PieceOf(s.Space()*2.5, set.Run{Style: s, S: t, Mark: m}))
		}
	}
	has := func(is func(*plan.ResolvedSlot) bool) bool { return slices.ContainsFunc(l.Slots, is) }
	explain(set.MarkDirect, w.LegendDirect, has(func(s *plan.ResolvedSlot) bool { return !s.Repeated() && !s.Channel.Trunked() }))
	explain(set.MarkRepeated, w.LegendRepeated, has((*plan.ResolvedSlot).Repeated))
	explain(set.MarkGuard, w.LegendGuard, has(func(s *plan.ResolvedSlot) bool { return s.Use == radio.Guard }))
	explain(set.MarkChanged, w.LegendChanged, changed)
	explain(nil, "D "+w.LegendDigital, has(func(s *plan.ResolvedSlot) bool { return s.Channel.Mode == radio.Digital }))
	explain(nil, "M "+w.LegendMixed, has(func(s *plan.ResolvedSlot) bool { return s.Channel.Mode == radio.Mixed }))
	explain(nil, "W "+w.LegendWide, has(func(s *plan.ResolvedSlot) bool { return s.Channel.Width == radio.Wide }))
	explain(nil, w.ToneCol, form != wide && said < briefest) // the wide form says it above its column
	return [][]set.Piece{code, checks, caution}
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

// back is one way to arrange symbol, table and notes.
type back struct {
	size   layout.Size
	small  float64
	way    backWay
	table  *table
	lines  []set.Line
	said   brevity // how much the notes say
	spare  float64 // height left over with the smallest symbol, mm
	level  layout.Level
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
func symbolGap(module float64) float64 { return layout.QuietModules * module }

// need is the height that the back takes with a symbol of side mm, and the
// lines of its notes.
func (b *back) need(side, module float64, paragraphs [][]set.Piece) (height float64, why *set.Misfit) {
	W := b.size.Width - 2*layout.Safe
	gap := symbolGap(module)
	beside := W - side - gap
	wrapIn := func(width float64) bool {
		var bad string
		b.lines, bad = noteLines(paragraphs, width)
		if bad != "" {
			why = &set.Misfit{Text: bad}
		}
		return bad == ""
	}
	tableIn := func(width float64) bool {
		if b.table.width() > width+set.Tolerance {
			why = &set.Misfit{Text: b.table.rows[0].name + " " + b.table.rows[0].receive + " " + b.table.rows[0].transmit}
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
	return b.small*noteTop + float64(len(b.lines)-1)*b.notePitch() + b.small*set.Descender
}

// noteTop is the room above the baseline of the first note, in cap heights: a
// plate may stand in it.
const noteTop = 1 + (set.PlateHeight-1)/2

func (b *back) notePitch() float64 { return b.small * set.Leading }

// backOf works out the back of the cards of a list: the largest type that holds
// everything, then the symbol with the highest error correction and the
// largest modules that the rest leaves.
func backOf(o *Options, size layout.Size, r *plan.Resolved, l *plan.List) (*back, *set.Misfit) {
	w := o.Words
	rows := buildOf(w, l)
	least, ok := layout.SymbolSize(l.Text, layout.LevelM)
	if !ok {
		return nil, &set.Misfit{Text: "the list text in a QR code"}
	}
	x := backSearch{words: w, changed: o.Changes != nil, size: size, r: r, list: l, rows: rows, least: least}
	var best *back
	var why *set.Misfit
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
	words   *words.CardWords
	changed bool // the fronts may mark changed slots
	size    layout.Size
	r       *plan.Resolved
	list    *plan.List
	rows    []build
	least   int // modules of the smallest symbol
}

// largest is the arrangement with the largest type for a form of the table.
func (x *backSearch) largest(form tableForm) (best *back, why *set.Misfit) {
	at := func(small float64) bool {
		var b *back
		if b, why = x.at(form, small); b != nil {
			best = b
		}
		return b != nil
	}
	small, ok := set.Largest(layout.CapLeast, smallMost, smallStep, at)
	if !ok {
		return nil, why
	}
	at(small)
	best.growSymbol(x.size.Height-2*layout.Safe, x.list.Text, notesOf(x.words, x.r, x.list, x.changed, form, small, best.said))
	return best, nil
}

// at finds the best arrangement at a size of type, cautions in full first.
func (x *backSearch) at(form tableForm, small float64) (best *back, why *set.Misfit) {
	H := x.size.Height - 2*layout.Safe
	t := tableOf(x.words, x.rows, small, form)
	for _, said := range []brevity{inFull, brief, briefest} {
		notes := notesOf(x.words, x.r, x.list, x.changed, form, small, said)
		for way := range backWays {
			b := &back{size: x.size, small: small, way: way, table: t, said: said, level: layout.LevelM, count: x.least, module: layout.LeastModule}
			h, m := b.need(float64(x.least)*layout.LeastModule, layout.LeastModule, notes)
			if m == nil && h > H+set.Tolerance {
				m = &set.Misfit{Text: x.rows[len(x.rows)-1].name}
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

func (b *back) growSymbol(height float64, text string, notes [][]set.Piece) {
	fits := func(side, module float64) bool {
		h, m := b.need(side, module, notes)
		return m == nil && h <= height+set.Tolerance
	}
	for level := layout.LevelH; level > layout.LevelM; level-- {
		count, ok := layout.SymbolSize(text, level)
		if ok && fits(float64(count)*layout.LeastModule, layout.LeastModule) {
			b.level, b.count = level, count
			break
		}
	}
	b.module, _ = set.Largest(layout.LeastModule, moduleMost, 0.01, func(m float64) bool { return fits(float64(b.count)*m, m) })
	b.need(float64(b.count)*b.module, b.module, notes) // the lines for the final size
}

func (b *back) draw(c *set.Canvas, symbol *layout.Symbol) {
	left, top := layout.Safe, layout.Safe
	W, H := b.size.Width-2*layout.Safe, b.size.Height-2*layout.Safe
	side, gap := float64(b.count)*b.module, symbolGap(b.module)
	notes := func(x, y float64) {
		c.Lines(x, y+b.small*noteTop, b.notePitch(), b.lines)
	}
	bottomNotes := top + H - b.notesHeight()
	switch b.way {
	case notesBelow:
		c.Add(layout.Modules{X: left, Y: top, Module: b.module, Symbol: symbol, Alt: b.table.words.CodePicture})
		b.table.draw(c, left+side+gap, top, W-side-gap, bottomNotes-top-b.small*0.8)
		notes(left, bottomNotes)
	case notesUnderText:
		c.Add(layout.Modules{X: left, Y: top, Module: b.module, Symbol: symbol, Alt: b.table.words.CodePicture})
		b.table.draw(c, left+side+gap, top, W-side-gap, bottomNotes-top-b.small*0.9)
		notes(left+side+gap, bottomNotes)
	case notesUnderCode:
		c.Add(layout.Modules{X: left, Y: top, Module: b.module, Symbol: symbol, Alt: b.table.words.CodePicture})
		b.table.draw(c, left+side+gap, top, W-side-gap, H)
		notes(left, bottomNotes)
	case tableAbove:
		foot := max(side, b.notesHeight())
		b.table.draw(c, left, top, W, H-foot-gap)
		c.Add(layout.Modules{X: left, Y: top + H - foot + (foot-side)/2, Module: b.module, Symbol: symbol, Alt: b.table.words.CodePicture})
		notes(left+side+gap, bottomNotes)
	}
}
