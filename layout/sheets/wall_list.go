package sheets

import (
	"cmp"
	"fmt"
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
	talkgroup        []set.Run // in place of frequencies
	remarks          string
}

// tuningOf a channel; the list is the one that it stands in, nil: none.
func (w *wall) tuningOf(l *plan.List, ch, place *plan.Channel, site *plan.Site, tone radio.Squelch, number int) tuning {
	letter := [...]string{w.words.NarrowLetter, w.words.WideLetter}[ch.Width]
	t := tuning{place: place.Place(), mode: w.words.ModeLetters[ch.Mode]}
	var remarks []string
	switch {
	case ch.Trunked():
		t.talkgroup = []set.Run{
			w.regular(1).Say(w.words.System + " "), w.bold(1).Say(ch.System), w.regular(1).Say(" " + w.words.Talkgroup + " "), w.bold(1).Say(ch.Talkgroup),
		}
	case ch.Repeated():
		said := w.words.Repeated
		if site != nil {
			said = words.Filled(w.words.RepeatedBy, "site", site.Name)
		}
		if number > 0 {
			said += fmt.Sprintf(", %s%s%d", w.words.Tone, layout.NoBreak, number)
		}
		remarks = append(remarks, said)
	default:
		remarks = append(remarks, w.words.DirectNote)
	}
	if !ch.Trunked() {
		f := ch.Figures(tone)
		t.rx, t.tx, t.rxTone, t.txTone = f.Rx, f.Tx, f.RxTone, f.TxTone
		t.rxWidth, t.txWidth = letter, letter
		if ch.RxTone.IsZero() {
			t.rxTone = w.words.NoTone
		}
		if tone.IsZero() {
			t.txTone = w.words.NoTone
		}
	}
	if ch.Remarks != "" {
		remarks = append(remarks, w.fill(ch.Remarks, l))
	}
	t.remarks = strings.Join(remarks, "; ")
	return t
}

// fill puts slots in place of the names in braces of a text, for readers of a list;
// nil: for everybody.
func (w *wall) fill(text string, l *plan.List) string { return w.words.FillText(w.r, text, l) }

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
		freq = max(freq, mono.Width(t.rx), mono.Width(t.tx))
		tone = max(tone, mono.Width(t.rxTone), mono.Width(t.txTone))
	}
	var u tuner
	u.freq = max(small.Width(w.words.ReceiveShort), small.Width(w.words.TransmitShort)) + w.body*0.7
	u.width = u.freq + freq + mono.Space()*0.8
	u.tone = max(u.width+mono.Space(), u.freq+small.Width(w.words.Frequency)) + gap
	u.mode = u.tone + max(tone, small.Width(w.words.ToneNAC)) + gap
	u.total = u.mode + small.Width(w.words.Mode)
	return u
}

// tunerHead sets the titles of the columns on a baseline.
func (w *wall) tunerHead(c *set.Canvas, u tuner, x, y float64) {
	s := w.regular(1)
	c.Text(x+u.freq, y, s, w.words.Frequency)
	c.Text(x+u.tone, y, s, w.words.ToneNAC)
	c.Text(x+u.mode, y, s, w.words.Mode)
}

// talkgroupLines are the lines that stand where a conventional channel has its
// frequencies and tones.
func (w *wall) talkgroupLines(u tuner, t tuning) []set.Line {
	return set.Paragraph(u.mode-w.body, t.talkgroup...)
}

func (w *wall) tunerLines(u tuner, t tuning) int {
	if t.talkgroup != nil {
		return len(w.talkgroupLines(u, t))
	}
	return 2
}

// tunerDraw draws a tuning with the first line's baseline on y.
func (w *wall) tunerDraw(c *set.Canvas, u tuner, t tuning, x, y float64) {
	mono, small := w.mono(), w.regular(1)
	c.Text(x+u.mode, y, mono, t.mode)
	if t.talkgroup != nil {
		c.Lines(x, y, w.tight(), w.talkgroupLines(u, t))
		return
	}
	line := func(y float64, label, freq, width, tone string) {
		c.Text(x, y, small, label)
		c.TextRight(x+u.width-mono.Space()*0.8, y, mono, freq)
		c.Text(x+u.width, y, mono, width)
		c.Text(x+u.tone, y, mono, tone)
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
			tuning: w.tuningOf(l, s.Channel, l.Place(i), s.Repeater, s.TxTone, s.ToneNumber),
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
			row.remarks += "; " + words.Filled(w.words.CarriedBy, "ids", strings.Join(carriers, ", "))
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
	key, mono := set.CapStyle(fonts.Bold, w.key), set.CapStyle(fonts.MonoBold, w.key)
	number, name, ids := 0.0, w.regular(1).Width(w.words.Name), 0.0
	place := w.regular(1).Width(w.words.GroupChannel)
	var all []tuning
	for _, r := range rows {
		number = max(number, mono.Width(r.number))
		name = max(name, mono.Width(r.name))
		ids = max(ids, key.Width(r.ids))
		place = max(place, w.mono().Width(r.place))
		all = append(all, r.tuning)
	}
	g := w.gutter()
	f = listForm{right: width, u: w.tuner(all)}
	f.strip = max(number+w.key*0.9, w.regular(1).Width(w.words.Slot)+w.body)
	f.name = f.strip + g*0.9
	f.ids = f.name + name + g
	if w.at.wide && ids > 0 { // so that a letter is not read as part of the name
		f.ids += w.key * 0.8
	}
	if ids == 0 {
		return w.detailForm(f, f.ids, place), f.ids-g <= width+1e-6
	}
	// Divisions of a slot on one line, unless all else would need more of them.
	least := max(min(ids, max(w.longestID(rows), width*0.16)), w.regular(1).Width(w.words.DivisionHead))
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
	key := set.CapStyle(fonts.Bold, w.key)
	for _, r := range rows {
		for _, d := range r.slot.Users {
			most = max(most, key.Width(d.ID+","))
		}
	}
	return most
}

// cells are the measured paragraphs of a row.
type cells struct {
	ids, function, remarks set.Stack
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
	text := func(para []set.Run, width float64) set.Stack {
		return set.Stack{Lines: set.Paragraph(width, para...), Cap: w.body, Pitch: w.tight()}
	}
	key := set.CapStyle(fonts.Bold, w.key)
	if r.ids != "" {
		c.ids = key.Stack(r.ids, f.idsW, key.Cap()*1.4)
	}
	function := []set.Run{bold.Say(r.use)}
	if r.assign != "" {
		function = append(function, regular.Say(" "+r.assign))
	}
	tunerH := w.body + float64(w.tunerLines(f.u, r.tuning)-1)*w.tight()
	gap := w.tight() - w.body
	switch {
	case f.stacked:
		c.function = text(function, f.functionW-w.mono().Width(r.place)-w.body*1.5)
		c.tunerAt = c.function.Height() + gap
		c.details = c.tunerAt + tunerH
		// Short remarks stand at the end of the last line.
		if r.talkgroup == nil && f.u.mode+regular.Width(r.remarks) <= f.functionW {
			c.remarksEnd = true
			break
		}
		c.remarks = text([]set.Run{regular.Say(r.remarks)}, f.functionW)
		c.remarksAt = c.details + gap
		c.details = c.remarksAt + c.remarks.Height()
	case f.remarksW > 0:
		c.function = text(function, f.functionW)
		c.remarks = text([]set.Run{regular.Say(r.remarks)}, f.remarksW)
		c.details = max(c.function.Height(), tunerH, c.remarks.Height())
	default:
		c.function = text(function, f.functionW)
		c.remarks = text([]set.Run{regular.Say(r.remarks)}, f.functionW)
		c.remarksAt = c.function.Height() + gap
		c.details = max(c.remarksAt+c.remarks.Height(), tunerH)
	}
	large := max(w.key, c.ids.Height())
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
	width := w.Width()
	var side struct {
		h    float64
		draw func(c *set.Canvas, x, y, h float64)
	}
	gap := w.gutter() * 1.6
	if w.at.rail {
		sideW := min(max(w.Width()*0.2, 50), 110)
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
	onFresh := w.Fresh() && side.h > w.Room() // would leave the first page empty
	if w.at.rail && (f.below || f.stacked || side.h > w.pageRoom() || onFresh) {
		w.out = true
		return
	}
	title := words.Joined(w.words.Channels, w.words.OneList(l, w.r))
	measured := make([]cells, len(rows))
	for i, r := range rows {
		measured[i] = w.cells(f, r)
		if measured[i].h > 0.7*w.pageRoom() {
			w.misfit(r.slot.At("channel"), "what is said of the slot", r.name)
		}
	}
	if len(w.Misfits) > 0 {
		return
	}
	var bands []set.Block // large first
	if !w.at.rail {
		side := min(max(w.Width()*0.2, 50), 90)
		for _, try := range []struct{ side, box float64 }{{side, 9}, {side, 6.4}, {50, 6.4}} {
			bands = append(bands, w.codeBand(l, try.side, w.key*try.box))
		}
	}
	w.Space(w.between())
	band := w.placeList(rows, measured, f, title, bands, side.h, func(c *set.Canvas, top float64) {
		if w.at.rail {
			w.Y = max(w.Y, top+side.h)
			side.draw(c, w.Left()+width+gap, top, w.Y-top)
		}
	})
	if !w.at.rail {
		white := w.between() * 0.75
		if w.Room() < band.H+white-set.Tolerance {
			w.NewPage()
		} else {
			w.Y += white
		}
		w.Flow(set.Flow{Blocks: []set.Block{band}})
	}
}

// placeList places the rows of a list, with what stands beside them below a
// height, and chooses the code below them.
func (w *wall) placeList(rows []wallRow, measured []cells, f listForm, title string, bands []set.Block, side float64, beside func(c *set.Canvas, top float64)) (band set.Block) {
	blocks := make([]set.Block, len(rows))
	for i, m := range measured {
		blocks[i] = set.Block{H: m.h, Rule: func(c *set.Canvas, x, y float64) { c.Rule(x+f.strip, x+f.right, y, wallLight) },
			Draw: func(c *set.Canvas, x, y, h float64) {
				c.Area(x, y, f.right, h, i+1, rows[i].slot.At("").Line)
				w.drawRow(c, f, rows[i], m, x, y, h)
			}}
	}
	head := func(p set.Part) set.Pile {
		return set.Pile{w.listHead(f, title, p.Again), set.Drawn(0, func(c *set.Canvas, x, y float64) { c.Rule(x, x+f.right, y, wallMid) })}
	}
	w.Flow(set.Flow{Blocks: blocks, Mark: title, Need: side, Head: head,
		Share: func(p set.Part) (int, float64) {
			least, below := 0.0, 0.0
			for _, b := range p.Blocks {
				least += b.H
			}
			for _, b := range bands {
				if band = b; least+b.H+w.between()*0.75 <= p.Room {
					break
				}
				band = bands[1]
			}
			if len(bands) > 0 {
				below = band.H + w.between()*0.75
			}
			return w.share(p.Blocks, p.Room, side-head(p).Height(), below, p.Again)
		},
		After: func(p set.Part) {
			w.parts++
			p.Page.Rule(w.Left(), w.Left()+f.right, w.Y, wallMid)
			beside(&p.Page.Canvas, p.Top)
		}})
	return band
}

// share tells how many rows go on the page, and how much white more than their
// least each gets: what is best, less where that holds the list together or
// keeps the code below it, below mm high, on the page, and more where the list
// ends with the code beside it, side mm high.
func (w *wall) share(rows []set.Block, room, side, below float64, again bool) (n int, white float64) {
	best, most := w.key*(rowBest-rowLeast), w.key*(rowMost-rowLeast)
	sum := 0.0
	for _, b := range rows {
		sum += b.H
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
	for sum = 0; n < len(rows) && sum+rows[n].H+float64(n+1)*best*0.25 <= room+set.Tolerance; n++ {
		sum += rows[n].H
	}
	n = max(n, 1) // no row is higher than a page
	return n, max(0, min((room-sum)/float64(n), best))
}

// listMisfits names the texts that are too wide for their line.
func (w *wall) listMisfits(rows []wallRow, width float64) {
	before := len(w.Misfits)
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
	w.widest(before, rows)
}

// widest is the misfit where each row alone would fit: the widest name gives way.
func (w *wall) widest(before int, rows []wallRow) {
	if len(w.Misfits) > before {
		return
	}
	r := slices.MaxFunc(rows, func(a, b wallRow) int { return cmp.Compare(len(a.name), len(b.name)) })
	w.misfit(r.slot.At("channel"), "display name", r.name)
}

// listHead is the heading of the list and the titles of its columns.
func (w *wall) listHead(f listForm, title string, again bool) set.Block {
	if again {
		title += ", " + w.words.Again
	}
	head, s := w.bold(1.3), w.regular(1)
	base := head.Cap() + w.body*2.3
	h := base + w.body*1.1
	if f.below {
		h += w.tight()
	}
	return set.Drawn(h, func(c *set.Canvas, x, y float64) {
		c.Text(x, y+head.Cap(), head, title)
		y += base
		c.TextMid(x+f.strip/2, y, s, w.words.Slot)
		c.Text(x+f.name, y, s, w.words.Name)
		if f.idsW > 0 {
			c.Text(x+f.ids, y, s, w.words.DivisionHead)
		}
		if f.below {
			y += w.tight()
		}
		if f.stacked {
			w.tunerHead(c, f.u, x+f.tuner, y)
			return
		}
		c.Text(x+f.function, y, s, w.words.Function)
		c.Text(x+f.place, y, s, w.words.GroupChannel)
		w.tunerHead(c, f.u, x+f.tuner, y)
		if f.remarksW > 0 {
			c.Text(x+f.remarks, y, s, w.words.Remarks)
		}
	})
}

func (w *wall) drawRow(c *set.Canvas, f listForm, r wallRow, cell cells, x, y, h float64) {
	mono := set.CapStyle(fonts.MonoBold, w.key)
	const slit = 0.5 // mm of white between the numbers
	c.Bar(x, y+slit/2, f.strip, h-slit)
	middle, top := y+h/2, y+(h-cell.details)/2
	c.TextMid(x+f.strip/2, middle+w.key/2, mono.On(layout.White), r.number)
	if f.below {
		large := max(w.key, cell.ids.Height())
		middle = y + (h-cell.h+w.key*rowLeast+large)/2
		top = middle + large/2 + w.drop()
	}
	c.Text(x+f.name, middle+w.key/2, mono, r.name)
	if cell.ids.Lines != nil {
		cell.ids.Draw(c, x+f.ids, middle-cell.ids.Height()/2)
	}
	base := top + w.body
	cell.function.Draw(c, x+f.function, top)
	if f.stacked {
		c.TextRight(x+f.right, base, w.mono(), r.place)
		w.tunerDraw(c, f.u, r.tuning, x+f.tuner, base+cell.tunerAt)
		if cell.remarksEnd {
			c.TextRight(x+f.right, base+cell.tunerAt+w.tight(), w.regular(1), r.remarks)
		}
		cell.remarks.Draw(c, x+f.function, top+cell.remarksAt)
		return
	}
	c.Text(x+f.place, base, w.mono(), r.place)
	w.tunerDraw(c, f.u, r.tuning, x+f.tuner, base)
	if f.remarksW > 0 {
		cell.remarks.Draw(c, x+f.remarks, top)
	} else {
		cell.remarks.Draw(c, x+f.function, top+cell.remarksAt)
	}
}

// wallSymbol is a QR symbol that has its place but is not made yet: making one
// takes longer than all else, and most sheets that are tried are not taken.
type wallSymbol struct {
	text   string
	level  layout.Level
	module float64 // mm
}

// symbol chooses the QR symbol of a list for a square of side mm: error
// correction as high as leaves modules of [GoodModule], else M, since a symbol
// that is read from further away than a card wants large modules first.
func (w *wall) symbol(l *plan.List, side float64) (wallSymbol, bool) {
	for _, try := range []struct {
		level layout.Level
		least float64
	}{{layout.LevelH, layout.GoodModule}, {layout.LevelQ, layout.GoodModule}, {layout.LevelM, layout.LeastModule}} {
		size, ok := layout.SymbolSize(l.Text, try.level)
		if ok && side/float64(size) >= try.least {
			return wallSymbol{l.Text, try.level, side / float64(size)}, true
		}
	}
	w.misfit(w.r.Plan.Incident.At("name"), "QR code of the list", cmp.Or(l.Name(w.r), w.r.Plan.Incident.Name))
	return wallSymbol{}, false
}

// quiet is the light margin that the symbol needs, mm.
func (s wallSymbol) quiet() float64 { return s.module * layout.QuietModules }

// place puts a symbol on the page.
func (w *wall) place(c *set.Canvas, x, y float64, s wallSymbol) {
	w.symbols = append(w.symbols, placedSymbol{c, len(c.Items), s})
	c.Add(layout.Modules{X: x, Y: y, Module: s.module, Alt: w.words.CodePicture})
}

// placedSymbol is where a symbol belongs when it is made.
type placedSymbol struct {
	canvas *set.Canvas
	item   int
	wallSymbol
}

// makeSymbols makes all symbols of the sheet.
func (w *wall) makeSymbols() {
	for _, s := range w.symbols {
		m := s.canvas.Items[s.item].(layout.Modules)
		var err error
		if m.Symbol, err = w.o.Symbols.Encode(s.text, s.level); err != nil {
			panic("layout: " + err.Error()) // its size and its letters have been looked at
		}
		s.canvas.Items[s.item] = m
	}
}

// codeBox draws the read-back code in its box, w mm wide, and returns its height.
func (w *wall) codeBox(width float64) (s set.Style, h float64) {
	s, _ = set.Shrink(set.Style{Face: fonts.MonoBold}, "00 00", w.key*1.6, w.key*0.5, width*0.82)
	return s, s.Cap() * 1.75
}

func (w *wall) drawCodeBox(c *set.Canvas, l *plan.List, x, y, width float64) {
	s, h := w.codeBox(width)
	c.Add(layout.Box{X: x + wallHeavy/2, Y: y + wallHeavy/2, W: width - wallHeavy, H: h - wallHeavy, Stroke: wallHeavy})
	c.TextMid(x+width/2, y+(h+s.Cap())/2, s, l.Code.Pairs())
}

// codeWords are the spelling words in a width, and what the symbol is for.
func (w *wall) codeWords(l *plan.List, width float64) (said, use set.Stack) {
	s, ok := set.Shrink(w.bold(1), w.words.Spelled(l.Code), w.mid, max(w.mid*0.6, w.body), width)
	if !ok {
		s = set.CapStyle(fonts.Bold, max(w.mid*0.6, w.body*1.3))
	}
	said = s.Stack(w.words.Spelled(l.Code), width, s.Cap()*1.75)
	use = set.Stack{Lines: set.Paragraph(width, w.regular(1).Say(w.words.ScanSymbol)), Cap: w.body, Pitch: w.tight()}
	return said, use
}

func (w *wall) codeTitle(l *plan.List) string {
	return words.Joined(w.words.ReadBackCode, w.words.OneList(l, w.r))
}

// codeRail is code, words and symbol one below the other, right of the list:
// the box at the top of its rows, the symbol at the foot.
func (w *wall) codeRail(l *plan.List, width float64) (h float64, draw func(c *set.Canvas, x, y, h float64)) {
	symbol, ok := w.symbol(l, width)
	if !ok {
		return 0, nil
	}
	head := w.bold(1.3)
	titles := head.Stack(w.codeTitle(l), width, head.Cap()*1.75)
	said, use := w.codeWords(l, width)
	_, boxH := w.codeBox(width)
	boxY := titles.Height() + w.body*3.4
	saidY := boxY + boxH + w.body*2
	useY := saidY + said.Height() + w.body*2.2
	quiet := symbol.quiet()
	under := max(0, quiet+wallMid-w.footTop()) // what the white above the foot lacks
	h = useY + use.Height() + max(w.body*2.5, quiet+w.body*0.5) + width + under
	return h, func(c *set.Canvas, x, y, h float64) {
		titles.Draw(c, x, y)
		w.drawCodeBox(c, l, x, y+boxY, width)
		said.Draw(c, x, y+saidY)
		use.Draw(c, x, y+useY)
		w.place(c, x, y+h-under-width, symbol)
	}
}

// codeBand is code, words and symbol side by side, below the list; side is the
// width of the symbol, box the most of the code's.
func (w *wall) codeBand(l *plan.List, side, box float64) set.Block {
	symbol, ok := w.symbol(l, side)
	if !ok {
		return set.Block{}
	}
	quiet := symbol.quiet()
	head := w.bold(1.3)
	left := max(side+quiet+w.body, side+w.key*0.7)
	width := w.Width() - left
	boxW := min(width*0.6, box)
	said, use := w.codeWords(l, width)
	titles := head.Stack(w.codeTitle(l), width, head.Cap()*1.75)
	_, boxH := w.codeBox(boxW)
	boxY := titles.Height() + w.body*1.8
	saidY := boxY + boxH + w.body*2.2
	useY := saidY + said.Height() + w.body*2.2
	h := max(side, useY+use.Height())
	return set.Drawn(h+quiet, func(c *set.Canvas, x, y float64) {
		w.place(c, x, y, symbol)
		x += left
		titles.Draw(c, x, y)
		w.drawCodeBox(c, l, x, y+boxY, boxW)
		said.Draw(c, x, y+saidY)
		use.Draw(c, x, y+useY)
	})
}
