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
}

func buildOf(w *Words, l *plan.List) []build {
	rows := make([]build, len(l.Slots))
	for i, s := range l.Slots {
		c := s.Channel
		b := build{number: strconv.Itoa(i + 1), name: c.Name, place: placeOf(l.Place(i)), kind: kindOf(c)}
		if c.Trunked() {
			b.receive, b.transmit = c.System, c.Talkgroup
		} else {
			b.receive, b.transmit = c.Rx.String(), c.Tx.String()
			if c.Rx == c.Tx {
				b.transmit = w.Direct
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

// table is the geometry of the build table.
type table struct {
	words  *Words
	rows   []build
	small  float64 // cap height, mm
	double bool    // a slot takes two lines
	// widths of the columns, mm
	number, name, place, receive, transmit, tones, kind float64
}

func tableOf(w *Words, rows []build, small float64, double bool) *table {
	t := &table{words: w, rows: rows, small: small, double: double}
	mono, bold := capStyle(fonts.Mono, small), capStyle(fonts.MonoBold, small)
	widest := func(s style, head string, of func(build) string) float64 {
		x := 0.0
		if !double {
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
	t.transmit = widest(mono, w.Transmit, func(r build) string { return r.transmit })
	t.tones = widest(mono, w.ToneCol, func(r build) string { return r.tones })
	t.kind = widest(mono, "", func(r build) string { return r.kind })
	return t
}

func (t *table) gap() float64 { return t.small * 0.85 }

func (t *table) kindGap() float64 {
	if t.kind == 0 {
		return 0
	}
	return t.gap()
}

// width is the least width of the table.
func (t *table) width() float64 {
	g := t.gap()
	if t.double {
		return t.number + g*0.6 + max(t.name+g+t.place+t.kindGap()+t.kind, t.receive+g+t.transmit+g+t.tones)
	}
	return t.number + g*0.6 + t.name + g + t.place + g + t.receive + g + t.transmit + g + t.tones + t.kindGap() + t.kind
}

func (t *table) pitch() float64 {
	if t.double {
		return t.small * 2 * 1.46
	}
	return t.small * 1.55
}

// height of the table from the top of its head to its closing rule.
func (t *table) height() float64 { return t.headHeight() + float64(len(t.rows))*t.pitch() }

func (t *table) headHeight() float64 {
	if t.double {
		return 0
	}
	return t.small * 1.6
}

// draw sets the table with its top left corner at x, y into a width of at
// least its own; what is over goes between the columns.
func (t *table) draw(c *canvas, x, y, width, pitch float64) {
	mono, bold, head := capStyle(fonts.Mono, t.small), capStyle(fonts.MonoBold, t.small), capStyle(fonts.Regular, t.small)
	g := t.gap()
	right := x + width
	nameX := x + t.number + g*0.6
	if t.double {
		for i, r := range t.rows {
			if i > 0 {
				c.rule(x, right, y, ruleLight)
			}
			spare := pitch - t.small*2 - t.small*0.46
			base := y + spare*0.44 + t.small
			c.textRight(x+t.number, base, bold, r.number)
			c.text(nameX, base, bold, r.name)
			c.textRight(right, base, mono, strings.TrimSpace(r.kind+"  "+r.place))
			base += t.small * 1.46
			c.text(nameX, base, mono, r.receive)
			c.text(nameX+t.receive+g, base, mono, r.transmit)
			c.textRight(right, base, mono, r.tones)
			y += pitch
		}
		return
	}
	spare := (width - t.width()) / 4
	g += min(spare, t.small*2.2)
	placeX := nameX + t.name + g + t.place
	receiveX := placeX + g + t.receive
	transmitX := receiveX + g + t.transmit
	tonesX := transmitX + g + t.tones
	base := y + t.small
	c.textRight(placeX, base, head, t.words.Where)
	c.textRight(receiveX, base, head, t.words.Receive)
	c.textRight(transmitX, base, head, t.words.Transmit)
	c.textRight(tonesX, base, head, t.words.ToneCol)
	end := tonesX
	if t.kind > 0 {
		end += t.kindGap() + t.kind
	}
	y += t.headHeight()
	for _, r := range t.rows {
		c.rule(x, end, y, ruleLight)
		base := y + (pitch+t.small)/2
		c.textRight(x+t.number, base, bold, r.number)
		c.text(nameX, base, bold, r.name)
		c.textRight(placeX, base, mono, r.place)
		c.textRight(receiveX, base, mono, r.receive)
		c.textRight(transmitX, base, mono, r.transmit)
		c.textRight(tonesX, base, mono, r.tones)
		c.textRight(end, base, mono, r.kind)
		y += pitch
	}
}

// notes are the words of the back: code, checks, cautions, legend.
func notesOf(w *Words, r *plan.Resolved, l *plan.List, small float64, brief bool) [][]chunk {
	s := capStyle(fonts.Regular, small)
	bold := s.in(fonts.Bold)
	var code []chunk
	if r.Plan.Incident.Exercise {
		pw, _, _ := plateSize(bold, w.Exercise)
		code = append(code, chunk{runs: []run{{style: bold, s: w.Exercise, plate: true}}, space: max(s.space()*2, pw*0.1)})
	}
	code = append(code, chunk{runs: []run{{style: s, s: w.Code + " "}, {style: bold, s: l.Code.Words()}}, space: s.space() * 2.5})
	if name := l.Name(r); name != "" {
		code = append(code, chunk{runs: []run{{style: s, s: w.List + " "}, {style: bold, s: name}}})
	}
	fill := strings.NewReplacer("%colour%", r.Load.About.Colour, "%edition%", r.Load.About.Edition, "%code%", l.Code.Pairs())
	var checks []chunk
	for _, t := range w.Checks {
		checks = append(checks, chunk{runs: []run{{style: s, s: fill.Replace(t), mark: markTick}}, space: s.space() * 3})
	}
	cautions := w.Cautions
	if brief {
		cautions = w.CautionsShort
	}
	var caution []chunk
	for _, t := range cautions {
		caution = append(caution, words(s, t)...)
	}
	var legend []chunk
	direct := slices.ContainsFunc(l.Slots, func(s *plan.ResolvedSlot) bool { return !s.Repeated() && !s.Channel.Trunked() })
	repeated := slices.ContainsFunc(l.Slots, func(s *plan.ResolvedSlot) bool { return s.Repeated() })
	if direct {
		legend = append(legend, chunk{runs: []run{{style: s, s: w.LegendDirect, mark: markDirect}}, space: s.space() * 3})
	}
	if repeated {
		legend = append(legend, chunk{runs: []run{{style: s, s: w.LegendRepeated, mark: markRepeated}}, space: s.space() * 3})
	}
	return [][]chunk{code, checks, caution, legend}
}

// noteLines wraps the paragraphs of the notes.
func noteLines(paragraphs [][]chunk, width float64) ([][]chunk, string) {
	var all [][]chunk
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
	lines  [][]chunk
	level  Level
	count  int     // modules on a side of the symbol
	module float64 // mm
}

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
func (b *back) need(side, module float64, paragraphs [][]chunk) (height float64, why *misfit) {
	W := b.size.Width - 2*Safe
	gap := symbolGap(module)
	beside := W - side - gap
	wrapIn := func(width float64) bool {
		var bad string
		b.lines, bad = noteLines(paragraphs, width)
		if bad != "" {
			why = &misfit{bad}
		}
		return bad == ""
	}
	tableIn := func(width float64) bool {
		if b.table.width() > width+tolerance {
			why = &misfit{b.table.rows[0].name + " " + b.table.rows[0].receive + " " + b.table.rows[0].transmit}
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
	return b.small + float64(len(b.lines)-1)*b.notePitch() + b.small*0.3
}

func (b *back) notePitch() float64 { return b.small * leading }

// backOf works out the back of the cards of a list: the largest type that holds
// everything, then the symbol with the highest error correction and the
// largest modules that the rest leaves.
func backOf(w *Words, size Size, r *plan.Resolved, l *plan.List) (*back, *misfit) {
	rows := buildOf(w, l)
	least, ok := SymbolSize(len(l.Text), LevelM)
	if !ok {
		return nil, &misfit{"the list text in a QR code"}
	}
	H := size.Height - 2*Safe
	var why *misfit
	var best *back
	for small := smallMost; best == nil; small -= 0.08 {
		small = max(small, CapLeast)
		for _, brief := range []bool{false, true} {
			notes := notesOf(w, r, l, small, brief)
			for _, double := range []bool{false, true} {
				for way := range backWays {
					b := &back{size: size, small: small, way: way, table: tableOf(w, rows, small, double)}
					side := float64(least) * LeastModule
					h, m := b.need(side, LeastModule, notes)
					if m == nil && h > H+tolerance {
						m = &misfit{b.table.rows[len(rows)-1].name}
					}
					if m != nil {
						if why == nil || small == CapLeast {
							why = m
						}
						continue
					}
					b.level, b.count, b.module = LevelM, least, LeastModule
					b.growSymbol(H, len(l.Text), notes)
					if best == nil || b.better(best) {
						best = b
					}
				}
			}
			if best != nil {
				break // cautions in full come first at this size of type
			}
		}
		if small == CapLeast {
			break
		}
	}
	if best == nil {
		return nil, why
	}
	return best, nil
}

// better prefers the higher error correction, then a single line for each
// slot, then larger modules.
func (b *back) better(than *back) bool {
	if b.level != than.level {
		return b.level > than.level
	}
	if b.table.double != than.table.double {
		return !b.table.double
	}
	return b.module > than.module+0.01
}

// moduleMost is the largest module: larger ones read no better from a card.
const moduleMost = 0.7

func (b *back) growSymbol(H float64, length int, notes [][]chunk) {
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
	for m := LeastModule; m <= moduleMost+tolerance; m += 0.01 {
		if fits(float64(b.count)*m, m) {
			b.module = m
		}
	}
	b.need(float64(b.count)*b.module, b.module, notes) // the lines for the final size
}

func (b *back) draw(c *canvas, symbol *Symbol) {
	left, top := Safe, Safe
	W, H := b.size.Width-2*Safe, b.size.Height-2*Safe
	side, gap := float64(b.count)*b.module, symbolGap(b.module)
	notes := func(x, y float64) {
		y += b.small
		for _, l := range b.lines {
			c.line(x, y, l)
			y += b.notePitch()
		}
	}
	bottomNotes := top + H - b.notesHeight()
	rows := float64(len(b.table.rows))
	// stretch gives the table's rows some of the room that is left over.
	stretch := func(room float64) float64 {
		return min(max((room-b.table.headHeight())/rows, b.table.pitch()), b.table.pitch()*1.35)
	}
	switch b.way {
	case notesBelow:
		c.add(Modules{X: left, Y: top, Module: b.module, Symbol: symbol})
		b.table.draw(c, left+side+gap, top, W-side-gap, stretch(bottomNotes-top-b.small*0.8))
		notes(left, bottomNotes)
	case notesUnderText:
		c.add(Modules{X: left, Y: top, Module: b.module, Symbol: symbol})
		b.table.draw(c, left+side+gap, top, W-side-gap, stretch(bottomNotes-top-b.small*0.9))
		notes(left+side+gap, bottomNotes)
	case notesUnderCode:
		c.add(Modules{X: left, Y: top, Module: b.module, Symbol: symbol})
		b.table.draw(c, left+side+gap, top, W-side-gap, stretch(H))
		notes(left, bottomNotes)
	case tableAbove:
		foot := max(side, b.notesHeight())
		pitch := stretch(H - foot - gap)
		b.table.draw(c, left, top, W, pitch)
		c.add(Modules{X: left, Y: top + H - foot + (foot-side)/2, Module: b.module, Symbol: symbol})
		notes(left+side+gap, bottomNotes)
	}
}
