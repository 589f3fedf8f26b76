package layout

import (
	"cmp"
	"fmt"
	"strconv"
	"strings"

	"slotcard/fonts"
	"slotcard/plan"
	"slotcard/plan/radio"
)

// The list of the wall sheet: what the eye must find first. Its numbers stand
// white on a black strip, names and divisions large beside it, and the rest of
// the plan sheet's columns small behind them, in as many lines as the paper's
// width asks for.

// tuning is how a channel is programmed, in words.
type tuning struct {
	place            string // group and channel number
	rx, tx           string
	rxWidth, txWidth string
	rxTone, txTone   string
	mode             string
	talkgroup        []run // in place of frequencies
	remarks          string
}

func (w *wall) tuning(ch, place *plan.Channel, site *plan.Site, tone radio.Squelch, number int) tuning {
	letter := [...]string{w.words.NarrowLetter, w.words.WideLetter}[ch.Width]
	sq := func(s radio.Squelch) string {
		if s.IsZero() {
			return w.words.NoTone
		}
		return s.String()
	}
	t := tuning{place: placeOf(place), mode: w.words.ModeLetters[ch.Mode]}
	var remarks []string
	switch {
	case ch.Trunked():
		t.talkgroup = []run{
			w.regular(1).say(w.words.System + " "), w.bold(1).say(ch.System), w.regular(1).say(" " + w.words.Talkgroup + " "), w.bold(1).say(ch.Talkgroup),
		}
	case ch.Repeated():
		said := w.words.Repeated
		if site != nil {
			said = filled(w.words.RepeatedBy, "site", site.Name)
		}
		if number > 0 {
			said += fmt.Sprintf(", %s%s%d", w.words.Tone, noBreak, number)
		}
		remarks = append(remarks, said)
	default:
		remarks = append(remarks, w.words.DirectNote)
	}
	if !ch.Trunked() {
		t.rx, t.tx = ch.Rx.String(), ch.Tx.String()
		t.rxWidth, t.txWidth = letter, letter
		t.rxTone, t.txTone = sq(ch.RxTone), sq(tone)
	}
	if ch.Remarks != "" {
		remarks = append(remarks, ch.Remarks)
	}
	t.remarks = strings.Join(remarks, "; ")
	return t
}

// tuner is the geometry of a column of tunings: receive above transmit, so that
// the eye compares digit with digit.
type tuner struct {
	freq, width, tone, mode float64 // left edges
	total                   float64
}

func (w *wall) tuner(all []tuning) tuner {
	small, mono, gap := w.regular(1), w.mono(), w.body*1.1
	freq, tone := w.body*6, 0.0
	for _, t := range all {
		freq = max(freq, mono.width(t.rx), mono.width(t.tx))
		tone = max(tone, mono.width(t.rxTone), mono.width(t.txTone))
	}
	var u tuner
	u.freq = max(small.width(w.words.ReceiveShort), small.width(w.words.TransmitShort)) + w.body*0.7
	u.width = u.freq + freq + mono.space()*0.8
	u.tone = max(u.width+mono.space(), u.freq+small.width(w.words.Frequency)) + gap
	u.mode = u.tone + max(tone, small.width(w.words.ToneNAC)) + gap
	u.total = u.mode + small.width(w.words.Mode)
	return u
}

// head sets the titles of the columns on a baseline.
func (w *wall) tunerHead(c *canvas, u tuner, x, y float64) {
	s := w.regular(1)
	c.text(x+u.freq, y, s, w.words.Frequency)
	c.text(x+u.tone, y, s, w.words.ToneNAC)
	c.text(x+u.mode, y, s, w.words.Mode)
}

// talkgroupLines are the lines that stand where a conventional channel has its
// frequencies and tones.
func (w *wall) talkgroupLines(u tuner, t tuning) []line {
	return set(u.mode-w.body, t.talkgroup...)
}

func (w *wall) tunerLines(u tuner, t tuning) int {
	if t.talkgroup != nil {
		return len(w.talkgroupLines(u, t))
	}
	return 2
}

// tunerDraw draws a tuning with the first line's baseline on y.
func (w *wall) tunerDraw(c *canvas, u tuner, t tuning, x, y float64) {
	mono, small := w.mono(), w.regular(1)
	c.text(x+u.mode, y, mono, t.mode)
	if t.talkgroup != nil {
		c.lines(x, y, w.tight(), w.talkgroupLines(u, t))
		return
	}
	line := func(y float64, label, freq, width, tone string) {
		c.text(x, y, small, label)
		c.textRight(x+u.width-mono.space()*0.8, y, mono, freq)
		c.text(x+u.width, y, mono, width)
		c.text(x+u.tone, y, mono, tone)
	}
	line(y, w.words.ReceiveShort, t.rx, t.rxWidth, t.rxTone)
	line(y+w.tight(), w.words.TransmitShort, t.tx, t.txWidth, t.txTone)
}

// wallRow is a slot of a list in words.
type wallRow struct {
	tuning
	slot         *plan.ResolvedSlot
	number, name string
	ids          string // of its divisions
	use, assign  string
}

func (w *wall) rowsOf(l *plan.List) []wallRow {
	rows := make([]wallRow, len(l.Slots))
	for i, s := range l.Slots {
		row := wallRow{
			tuning: w.tuning(s.Channel, l.Place(i), s.Repeater, s.TxTone, s.ToneNumber),
			slot:   s, number: strconv.Itoa(i + 1), name: s.Channel.Name, use: w.words.Uses[s.Use],
		}
		var ids, names []string
		for _, d := range s.Users {
			ids = append(ids, d.ID)
			if d.Name != "" {
				names = append(names, d.Name)
			}
		}
		row.ids, row.assign = strings.Join(ids, ", "), strings.Join(names, ", ")
		if len(ids) == 0 {
			row.assign = w.words.Everybody
		}
		if len(s.Carriers) > 0 {
			var carriers []string
			for _, d := range s.Carriers {
				carriers = append(carriers, d.ID)
			}
			row.remarks += "; " + filled(w.words.CarriedBy, "ids", strings.Join(carriers, ", "))
		}
		rows[i] = row
	}
	return rows
}

// listForm is the geometry of a list. Left edges count from the list's own.
type listForm struct {
	strip     float64 // width of the black strip
	name      float64
	ids, idsW float64 // 0: no slot has a division
	function  float64 // of function and assignment
	functionW float64
	place     float64 // of group and channel number
	tuner     float64
	remarks   float64
	remarksW  float64 // 0: below function or all else
	stacked   bool    // all in one narrow column
	below     bool    // details stand below number and name
	right     float64
	u         tuner
}

// listForm finds the form with the fewest lines for a width; not ok: number,
// name and division do not even fit in their line.
func (w *wall) listForm(rows []wallRow, width float64) (f listForm, ok bool) {
	key, mono := capStyle(fonts.Bold, w.key), capStyle(fonts.MonoBold, w.key)
	number, name, ids := 0.0, w.regular(1).width(w.words.Name), 0.0
	place := w.regular(1).width(w.words.GroupChannel)
	var all []tuning
	for _, r := range rows {
		number = max(number, mono.width(r.number))
		name = max(name, mono.width(r.name))
		ids = max(ids, key.width(r.ids))
		place = max(place, w.mono().width(r.place))
		all = append(all, r.tuning)
	}
	g := w.gutter()
	f = listForm{right: width, u: w.tuner(all)}
	f.strip = max(number+w.key*0.9, w.regular(1).width(w.words.Slot)+w.body)
	f.name = f.strip + g*0.9
	f.ids = f.name + name + g
	if w.at.wide && ids > 0 { // so that a letter is not read as part of the name
		f.ids += w.key * 0.8
	}
	if ids == 0 {
		return w.detailForm(f, f.ids, place), f.ids-g <= width+1e-6
	}
	// Divisions of a slot on one line, unless all else would need more of them.
	least := max(min(ids, max(w.longestID(rows), width*0.16)), w.regular(1).width(w.words.DivisionHead))
	bare := f
	for _, idsW := range []float64{least, max(ids, least)} {
		try := bare
		try.idsW = idsW
		from := f.ids + idsW + g
		if from-g > width+1e-6 {
			break
		}
		if try = w.detailForm(try, from, place); !ok || !try.below && try.stacked == f.stacked {
			f, ok = try, true
		}
	}
	return f, ok
}

// detailForm arranges what stands behind name and division, from a left edge
// on, or below them where that leaves too little room.
func (w *wall) detailForm(f listForm, from, place float64) listForm {
	b, gap := w.body, w.body*2.2
	const function, remarks = 16, 22 // least widths, in cap heights
	compact := function*b + gap + place + gap + f.u.total
	wide := compact + gap + remarks*b
	rest := f.right - from
	if f.below = rest < max(f.u.total, 20*b); f.below {
		from = f.name
		rest = f.right - from
	}
	f.function, f.functionW, f.tuner = from, rest, from
	switch {
	case rest >= wide:
		f.functionW = function*b + (rest-wide)*0.4
		f.remarks = from + f.functionW + compact - function*b + gap
		f.remarksW = f.right - f.remarks
	case rest >= compact:
		f.functionW = function*b + rest - compact
	default:
		f.stacked = true
		return f
	}
	f.place = from + f.functionW + gap
	f.tuner = f.place + place + gap
	return f
}

// longestID is the width of the widest single division id.
func (w *wall) longestID(rows []wallRow) (most float64) {
	key := capStyle(fonts.Bold, w.key)
	for _, r := range rows {
		for _, d := range r.slot.Users {
			most = max(most, key.width(d.ID+","))
		}
	}
	return most
}

// cells are the measured paragraphs of a row.
type cells struct {
	ids, function, remarks stack
	tunerAt                float64 // from the top of the details
	remarksAt              float64
	remarksEnd             bool
	details                float64 // height of the details
	h                      float64 // least height of the row
}

// White above and below number and name of a row, in parts of the key height.
const (
	rowLeast = 0.36
	rowBest  = 0.52
	rowMost  = 0.95
)

func (w *wall) cells(f listForm, r wallRow) (c cells) {
	bold, regular := w.bold(1), w.regular(1)
	text := func(para []run, width float64) stack {
		return stack{lines: set(width, para...), cap: w.body, pitch: w.tight()}
	}
	key := capStyle(fonts.Bold, w.key)
	if r.ids != "" {
		c.ids = key.stack(r.ids, f.idsW, key.cap()*1.4)
	}
	function := []run{bold.say(r.use)}
	if r.assign != "" {
		function = append(function, regular.say(" "+r.assign))
	}
	tunerH := w.body + float64(w.tunerLines(f.u, r.tuning)-1)*w.tight()
	gap := w.tight() - w.body
	switch {
	case f.stacked:
		c.function = text(function, f.functionW-w.mono().width(r.place)-w.body*1.5)
		c.tunerAt = c.function.height() + gap
		c.details = c.tunerAt + tunerH
		// Short remarks stand at the end of the last line.
		if r.talkgroup == nil && f.u.mode+regular.width(r.remarks) <= f.functionW {
			c.remarksEnd = true
			break
		}
		c.remarks = text([]run{regular.say(r.remarks)}, f.functionW)
		c.remarksAt = c.details + gap
		c.details = c.remarksAt + c.remarks.height()
	case f.remarksW > 0:
		c.function = text(function, f.functionW)
		c.remarks = text([]run{regular.say(r.remarks)}, f.remarksW)
		c.details = max(c.function.height(), tunerH, c.remarks.height())
	default:
		c.function = text(function, f.functionW)
		c.remarks = text([]run{regular.say(r.remarks)}, f.functionW)
		c.remarksAt = c.function.height() + gap
		c.details = max(c.remarksAt+c.remarks.height(), tunerH)
	}
	large := max(w.key, c.ids.height())
	if strings.Contains(r.ids, ",") {
		large += w.key * 0.13 // what hangs below the line stays clear of the rule
	}
	if f.below {
		c.h = w.key*rowLeast + large + w.drop() + c.details + w.body*1.3
	} else {
		c.h = max(large+w.key*rowLeast, c.details+w.body*1.3)
	}
	return c
}

// drop is the white between number and name and the details below them: what
// hangs below the line of large letters stays clear.
func (w *wall) drop() float64 { return max(w.body*1.3, w.key*0.26) }

// list places a list, and its code beside or below it.
func (w *wall) list(l *plan.List) {
	rows := w.rowsOf(l)
	width := w.width()
	var side struct {
		h    float64
		draw func(c *canvas, x, y, h float64)
	}
	gap := w.gutter() * 1.6
	if w.at.rail {
		sideW := min(max(w.width()*0.2, 50), 110)
		if s, ok := w.symbol(l, sideW); ok {
			gap = max(gap, s.quiet()+wallMid)
		}
		side.h, side.draw = w.codeRail(l, sideW)
		width -= sideW + gap
	}
	f, ok := w.listForm(rows, width)
	if !ok {
		w.listMisfits(rows, width)
		return
	}
	onFresh := w.fresh() && side.h > w.room() // would leave the first page empty
	if w.at.rail && (f.below || f.stacked || side.h > w.pageRoom() || onFresh) {
		w.out = true
		return
	}
	title := joined(w.words.Channels, w.words.listOf(l, w.r))
	measured := make([]cells, len(rows))
	for i, r := range rows {
		measured[i] = w.cells(f, r)
		if measured[i].h > 0.7*w.pageRoom() {
			w.misfit(r.slot.At("channel"), "what is said of the slot", r.name)
		}
	}
	if len(w.misfits) > 0 {
		return
	}
	var bands []block // large first
	if !w.at.rail {
		side := min(max(w.width()*0.2, 50), 90)
		for _, try := range []struct{ side, box float64 }{{side, 9}, {side, 6.4}, {50, 6.4}} {
			bands = append(bands, w.codeBand(l, try.side, w.key*try.box))
		}
	}
	w.space(w.between())
	band := w.placeList(rows, measured, f, title, bands, side.h, func(c *canvas, top float64) {
		if w.at.rail {
			w.y = max(w.y, top+side.h)
			side.draw(c, w.left()+width+gap, top, w.y-top)
		}
	})
	if !w.at.rail {
		white := w.between() * 0.75
		if w.room() < band.h+white-tolerance {
			w.newPage()
		} else {
			w.y += white
		}
		w.flow(flow{blocks: []block{band}})
	}
}

// placeList places the rows of a list, with what stands beside them below a
// height, and chooses the code below them.
func (w *wall) placeList(rows []wallRow, measured []cells, f listForm, title string, bands []block, side float64, beside func(c *canvas, top float64)) (band block) {
	blocks := make([]block, len(rows))
	for i, m := range measured {
		blocks[i] = block{h: m.h, rule: func(c *canvas, x, y float64) { c.rule(x+f.strip, x+f.right, y, wallLight) },
			draw: func(c *canvas, x, y, h float64) { w.drawRow(c, f, rows[i], m, x, y, h) }}
	}
	head := func(p part) pile {
		return pile{w.listHead(f, title, p.again), drawn(0, func(c *canvas, x, y float64) { c.rule(x, x+f.right, y, wallMid) })}
	}
	w.flow(flow{blocks: blocks, mark: title, need: side, head: head,
		share: func(p part) (int, float64) {
			least, below := 0.0, 0.0
			for _, b := range p.blocks {
				least += b.h
			}
			for _, b := range bands {
				if band = b; least+b.h+w.between()*0.75 <= p.room {
					break
				}
				band = bands[1]
			}
			if len(bands) > 0 {
				below = band.h + w.between()*0.75
			}
			return w.share(p.blocks, p.room, side-head(p).height(), below, p.again)
		},
		after: func(p part) {
			w.parts++
			p.page.rule(w.left(), w.left()+f.right, w.y, wallMid)
			beside(&p.page.canvas, p.top)
		}})
	return band
}

// share tells how many rows go on the page, and how much white more than their
// least each gets: what is best, less where that holds the list together or
// keeps the code below it, below mm high, on the page, and more where the list
// ends with the code beside it, side mm high.
func (w *wall) share(rows []block, room, side, below float64, again bool) (n int, white float64) {
	best, most := w.key*(rowBest-rowLeast), w.key*(rowMost-rowLeast)
	sum := 0.0
	for _, b := range rows {
		sum += b.h
	}
	all := float64(len(rows))
	switch {
	case w.at.fill && !again && sum <= room:
		return len(rows), min((room-sum)/all, most)
	case below > 0 && sum+below <= room:
		return len(rows), min((room-below-sum)/all, best)
	case sum+all*best <= room:
		return len(rows), max(best, min((side-sum)/all, most))
	case sum <= room:
		return len(rows), (room - sum) / all
	}
	for sum = 0; n < len(rows) && sum+rows[n].h+float64(n+1)*best*0.25 <= room+tolerance; n++ {
		sum += rows[n].h
	}
	n = max(n, 1) // no row is higher than a page
	return n, max(0, min((room-sum)/float64(n), best))
}

// listMisfits names the texts that are too wide for their line.
func (w *wall) listMisfits(rows []wallRow, width float64) {
	before := len(w.misfits)
	for _, r := range rows {
		if _, ok := w.listForm([]wallRow{r}, width); ok {
			continue
		}
		bare := r
		bare.ids, bare.slot = "", &plan.ResolvedSlot{}
		if _, ok := w.listForm([]wallRow{bare}, width); ok {
			w.misfit(r.slot.At("division"), "the divisions of a slot", r.ids)
		} else {
			w.misfit(r.slot.At("channel"), "display name", r.name)
		}
	}
	if len(w.misfits) == before { // each alone would: the widest name gives way
		widest := rows[0]
		for _, r := range rows[1:] {
			if len(r.name) > len(widest.name) {
				widest = r
			}
		}
		w.misfit(widest.slot.At("channel"), "display name", widest.name)
	}
}

// listHead is the heading of the list and the titles of its columns.
func (w *wall) listHead(f listForm, title string, again bool) block {
	if again {
		title += ", " + w.words.Again
	}
	head, s := w.bold(1.3), w.regular(1)
	base := head.cap() + w.body*2.3
	h := base + w.body*1.1
	if f.below {
		h += w.tight()
	}
	return drawn(h, func(c *canvas, x, y float64) {
		c.text(x, y+head.cap(), head, title)
		y += base
		c.textMid(x+f.strip/2, y, s, w.words.Slot)
		c.text(x+f.name, y, s, w.words.Name)
		if f.idsW > 0 {
			c.text(x+f.ids, y, s, w.words.DivisionHead)
		}
		if f.below {
			y += w.tight()
		}
		if f.stacked {
			w.tunerHead(c, f.u, x+f.tuner, y)
			return
		}
		c.text(x+f.function, y, s, w.words.Function)
		c.text(x+f.place, y, s, w.words.GroupChannel)
		w.tunerHead(c, f.u, x+f.tuner, y)
		if f.remarksW > 0 {
			c.text(x+f.remarks, y, s, w.words.Remarks)
		}
	})
}

func (w *wall) drawRow(c *canvas, f listForm, r wallRow, cell cells, x, y, h float64) {
	mono := capStyle(fonts.MonoBold, w.key)
	const slit = 0.5 // mm of white between the numbers
	c.bar(x, y+slit/2, f.strip, h-slit)
	middle, top := y+h/2, y+(h-cell.details)/2
	c.textMid(x+f.strip/2, middle+w.key/2, mono.on(White), r.number)
	if f.below {
		large := max(w.key, cell.ids.height())
		middle = y + (h-cell.h+w.key*rowLeast+large)/2
		top = middle + large/2 + w.drop()
	}
	c.text(x+f.name, middle+w.key/2, mono, r.name)
	if cell.ids.lines != nil {
		cell.ids.draw(c, x+f.ids, middle-cell.ids.height()/2)
	}
	base := top + w.body
	cell.function.draw(c, x+f.function, top)
	if f.stacked {
		c.textRight(x+f.right, base, w.mono(), r.place)
		w.tunerDraw(c, f.u, r.tuning, x+f.tuner, base+cell.tunerAt)
		if cell.remarksEnd {
			c.textRight(x+f.right, base+cell.tunerAt+w.tight(), w.regular(1), r.remarks)
		}
		cell.remarks.draw(c, x+f.function, top+cell.remarksAt)
		return
	}
	c.text(x+f.place, base, w.mono(), r.place)
	w.tunerDraw(c, f.u, r.tuning, x+f.tuner, base)
	if f.remarksW > 0 {
		cell.remarks.draw(c, x+f.remarks, top)
	} else {
		cell.remarks.draw(c, x+f.function, top+cell.remarksAt)
	}
}

// wallSymbol is a QR symbol that has its place but is not made yet: making one
// takes longer than all else, and most sheets that are tried are not taken.
type wallSymbol struct {
	text   string
	level  Level
	module float64 // mm
}

// symbol chooses the QR symbol of a list for a square of side mm: error
// correction as high as leaves modules of [MostModule], else M, since a symbol
// that is read from further away than a card wants large modules first.
func (w *wall) symbol(l *plan.List, side float64) (wallSymbol, bool) {
	for _, try := range []struct {
		level Level
		least float64
	}{{LevelH, MostModule}, {LevelQ, MostModule}, {LevelM, LeastModule}} {
		size, ok := SymbolSize(len(l.Text), try.level)
		if ok && side/float64(size) >= try.least && encodable(l.Text) == nil {
			return wallSymbol{l.Text, try.level, side / float64(size)}, true
		}
	}
	w.misfit(w.r.Plan.Incident.At("name"), "QR code of the list", cmp.Or(l.Name(w.r), w.r.Plan.Incident.Name))
	return wallSymbol{}, false
}

// quiet is the light margin that the symbol needs, mm.
func (s wallSymbol) quiet() float64 { return s.module * QuietModules }

// place puts a symbol on the page.
func (w *wall) place(c *canvas, x, y float64, s wallSymbol) {
	w.symbols = append(w.symbols, placedSymbol{c, len(c.items), s})
	c.add(Modules{X: x, Y: y, Module: s.module})
}

// placedSymbol is where a symbol belongs when it is made.
type placedSymbol struct {
	canvas *canvas
	item   int
	wallSymbol
}

// makeSymbols makes all symbols of the sheet.
func (w *wall) makeSymbols() {
	for _, s := range w.symbols {
		m := s.canvas.items[s.item].(Modules)
		var err error
		if m.Symbol, err = w.o.Symbols.Encode(s.text, s.level); err != nil {
			panic("layout: " + err.Error()) // its size and its letters have been looked at
		}
		s.canvas.items[s.item] = m
	}
}

// codeBox draws the read-back code in its box, w mm wide, and returns its height.
func (w *wall) codeBox(width float64) (s style, h float64) {
	s, _ = shrink(style{face: fonts.MonoBold}, "00 00", w.key*1.6, w.key*0.5, width*0.82)
	return s, s.cap() * 1.75
}

func (w *wall) drawCodeBox(c *canvas, l *plan.List, x, y, width float64) {
	s, h := w.codeBox(width)
	c.add(Box{X: x + wallHeavy/2, Y: y + wallHeavy/2, W: width - wallHeavy, H: h - wallHeavy, Stroke: wallHeavy})
	c.textMid(x+width/2, y+(h+s.cap())/2, s, l.Code.Pairs())
}

// codeWords are the spelling words in a width, and what the symbol is for.
func (w *wall) codeWords(l *plan.List, width float64) (said, use stack) {
	s, ok := shrink(w.bold(1), w.words.spelled(l.Code), w.mid, max(w.mid*0.6, w.body), width)
	if !ok {
		s = capStyle(fonts.Bold, max(w.mid*0.6, w.body*1.3))
	}
	said = s.stack(w.words.spelled(l.Code), width, s.cap()*1.75)
	use = stack{lines: set(width, w.regular(1).say(w.words.ScanSymbol)), cap: w.body, pitch: w.tight()}
	return said, use
}

func (w *wall) codeTitle(l *plan.List) string {
	return joined(w.words.ReadBackCode, w.words.listOf(l, w.r))
}

// codeRail is code, words and symbol one below the other, right of the list:
// the box at the top of its rows, the symbol at the foot.
func (w *wall) codeRail(l *plan.List, width float64) (h float64, draw func(c *canvas, x, y, h float64)) {
	symbol, ok := w.symbol(l, width)
	if !ok {
		return 0, nil
	}
	head := w.bold(1.3)
	titles := head.stack(w.codeTitle(l), width, head.cap()*1.75)
	said, use := w.codeWords(l, width)
	_, boxH := w.codeBox(width)
	boxY := titles.height() + w.body*3.4
	saidY := boxY + boxH + w.body*2
	useY := saidY + said.height() + w.body*2.2
	quiet := symbol.quiet()
	under := max(0, quiet+wallMid-w.footTop()) // what the white above the foot lacks
	h = useY + use.height() + max(w.body*2.5, quiet+w.body*0.5) + width + under
	return h, func(c *canvas, x, y, h float64) {
		titles.draw(c, x, y)
		w.drawCodeBox(c, l, x, y+boxY, width)
		said.draw(c, x, y+saidY)
		use.draw(c, x, y+useY)
		w.place(c, x, y+h-under-width, symbol)
	}
}

// codeBand is code, words and symbol side by side, below the list; side is the
// width of the symbol, box the most of the code's.
func (w *wall) codeBand(l *plan.List, side, box float64) block {
	symbol, ok := w.symbol(l, side)
	if !ok {
		return block{}
	}
	quiet := symbol.quiet()
	head := w.bold(1.3)
	left := max(side+quiet+w.body, side+w.key*0.7)
	width := w.width() - left
	boxW := min(width*0.6, box)
	said, use := w.codeWords(l, width)
	titles := head.stack(w.codeTitle(l), width, head.cap()*1.75)
	_, boxH := w.codeBox(boxW)
	boxY := titles.height() + w.body*1.8
	saidY := boxY + boxH + w.body*2.2
	useY := saidY + said.height() + w.body*2.2
	h := max(side, useY+use.height())
	return drawn(h+quiet, func(c *canvas, x, y float64) {
		w.place(c, x, y, symbol)
		x += left
		titles.draw(c, x, y)
		w.drawCodeBox(c, l, x, y+boxY, boxW)
		said.draw(c, x, y+saidY)
		use.draw(c, x, y+useY)
	})
}
