package sheets

import (
	"strings"

	"slotcard/fonts"
	"slotcard/layout"
	"slotcard/layout/set"
	"slotcard/layout/words"
	"slotcard/plan"
	"slotcard/plan/finding"
)

// The grid: the second form of the wall sheet, for the briefing. Slots go down,
// as in the list; divisions go across. A black field is where a division talks,
// a frame is what it listens to, and the positions that do so stand in it. The
// frames have the shapes of the marks on cards: square for priority, round ends
// for scan.

// WallGrid lays out the grid: landscape, a table for each list, on as few pages
// as hold it, in type as large as these pages allow. Slot, name and division
// are read from the distance, as on the list. What cannot be printed at its
// least size is a finding of rule does-not-fit, and then there is no document.
func WallGrid(r *plan.Resolved, o WallOptions) (*layout.Document, finding.List) {
	t := trials(r, o, layGrid)
	if len(t.Best.Misfits) > 0 {
		return nil, t.Best.findings()
	}
	growAll(t)
	return t.Best.finish(), nil
}

// layGrid lays out a table for each list.
func layGrid(r *plan.Resolved, o WallOptions, s settings) *wall {
	w, ok := newWall(r, o, s, layGrid, false)
	if !ok {
		return w
	}
	w.NewPage()
	for i, l := range r.Lists {
		w.grid(l, i == len(r.Lists)-1)
	}
	return w
}

// who names the positions that do something: all, all but a few, or each.
func (w *wall) who(s plan.Holders, slot int, does func(plan.Mark) bool) string {
	var yes, no []string
	for i, p := range s.Positions {
		if does(s.Marks[i][slot]) {
			yes = append(yes, p)
		} else {
			no = append(no, p)
		}
	}
	switch {
	case len(yes) == 0:
		return ""
	case len(no) == 0:
		return w.words.Everyone
	case len(yes) > 2 && len(no) < len(yes)-1:
		return words.Filled(w.words.AllBut, "names", strings.Join(no, ", "))
	}
	return strings.Join(yes, ", ")
}

// gridCell is what a division does on a slot.
type gridCell struct {
	talk     bool
	priority bool // square, not round
	text     set.Stack
	word     set.Style // of the word in a field where one talks
	h        float64
}

// gridForm is the geometry of a table. Left edges count from the table's own.
type gridForm struct {
	strip, name, nameW float64
	from               float64 // of the first division
	colW, gap, pad     float64
	longest            float64 // word in the fields, mm
	text               float64 // size of the text in the fields, in parts of the body's
}

func (w *wall) gridCell(f gridForm, l *plan.List, s plan.Holders, slot int) (c gridCell) {
	talks := w.who(s, slot, func(m plan.Mark) bool { return m.Talk })
	priority := w.who(s, slot, func(m plan.Mark) bool { return m.Priority })
	scans := w.who(s, slot, func(m plan.Mark) bool { return m.Scan })
	c.talk = talks != "" || s.Division != nil && l.Slots[slot].UsedBy(s.Division)
	c.priority = priority != ""
	inner := f.colW - f.gap - 2*f.pad
	var ink layout.Ink
	if c.talk {
		ink = layout.White
	}
	regular, bold := w.regular(f.text).On(ink), w.bold(f.text).On(ink)
	add := func(para ...set.Run) {
		for i, r := range para { // names stay whole where they can
			names := strings.Split(r.S, ", ")
			for j, n := range names {
				if r.Style.Width(n+",") <= inner {
					names[j] = strings.ReplaceAll(n, " ", layout.NoBreak)
				}
			}
			para[i].S = strings.Join(names, ", ")
		}
		c.text.Lines = append(c.text.Lines, set.Paragraph(inner, para...)...)
	}
	c.text.Cap, c.text.Pitch = regular.Cap(), regular.Cap()*1.75
	if c.talk && talks != "" && talks != w.words.Everyone {
		add(regular.Say(talks))
	}
	if c.talk && len(s.Positions) == 0 {
		add(regular.Say(w.words.NoCards))
	}
	// What the frame says by its shape needs no word.
	switch alone := !c.talk && scans == ""; {
	case alone && priority != "":
		add(regular.Say(priority))
	case priority != "" && (priority != talks || talks != w.words.Everyone):
		add(bold.Say(w.words.PriorityKey), regular.Say(" "), regular.Say(priority))
	case priority != "":
		add(bold.Say(w.words.PriorityKey))
	}
	switch alone := !c.talk && priority == ""; {
	case alone && scans != "":
		add(regular.Say(scans))
	case scans != "":
		add(bold.Say(w.words.ScanKey), regular.Say(" "), regular.Say(scans))
	}
	c.h = c.text.Height()
	if c.talk {
		c.word = set.CapStyle(fonts.Bold, w.mid).On(layout.White)
		if wide := talkWord + c.word.Width(w.words.Talk)/c.word.Cap(); wide*w.mid > inner {
			c.word = set.CapStyle(fonts.Bold, max(w.body, inner/wide*0.99)).On(layout.White)
		}
		c.h += c.word.Cap()
		if len(c.text.Lines) > 0 {
			c.h += w.body * 1.2
		}
	}
	if c.h > 0 {
		c.h += 2 * f.pad
	}
	return c
}

// drawGridCell fills a field of the table.
func (w *wall) drawGridCell(c *set.Canvas, f gridForm, cell gridCell, x, y, h float64) {
	width := f.colW - f.gap
	inset := w.body * 0.35
	y, h = y+inset, h-2*inset
	switch {
	case cell.talk:
		c.Bar(x, y, width, h)
	case len(cell.text.Lines) == 0:
		return
	case cell.priority:
		c.Frame(x, y, width, h, gridHeavy)
	default:
		c.Pill(x, y, width, h, min(w.body*1.6, h/2), gridLight)
	}
	top := y + (h-(cell.h-2*f.pad))/2
	x += f.pad
	if cell.talk {
		s := cell.word
		c.Pointer(x, top+s.Cap(), s.Cap(), layout.White)
		c.Text(x+s.Cap()*talkWord, top+s.Cap(), s, w.words.Talk)
		top += s.Cap() + w.body*1.2
	}
	cell.text.Draw(c, x, top)
}

// gridForms finds how wide a division's column must be, and the rest of the
// form; not ok: not even one column fits.
func (w *wall) gridForms(rows []wallRow, columns []plan.Holders) (f gridForm, least float64, ok bool) {
	key, mono := set.CapStyle(fonts.Bold, w.key), set.CapStyle(fonts.MonoBold, w.key)
	number := w.regular(1).Width(w.words.Slot) + w.body
	f.nameW = w.regular(1).Width(w.words.Name)
	for _, r := range rows {
		number = max(number, mono.Width(r.number)+w.key*0.5)
		f.nameW = max(f.nameW, mono.Width(r.name), w.bold(1).Width(r.use))
	}
	f.strip = number
	f.name = f.strip + w.gutter()*0.8
	f.from = f.name + f.nameW + w.gutter()*0.8
	f.gap, f.pad = w.body*0.8, w.body*0.9
	if len(columns) == 0 {
		return f, 0, f.from <= w.Width()
	}
	words := w.body * 6
	small := w.bold(1)
	see := func(text string) {
		for _, t := range strings.Fields(text) {
			words = max(words, small.Width(t))
		}
	}
	words = max(words, small.Width(w.words.Talk)+talkWord*w.body)
	see(w.words.PriorityKey + " " + w.words.ScanKey)
	for _, s := range columns {
		if s.Division == nil {
			see(w.words.NoDivision)
		} else {
			least = max(least, key.Width(s.Division.ID)+f.gap)
		}
		for _, p := range s.Positions {
			see(p + ",")
		}
	}
	f.longest = words
	room := w.Width() - f.from + f.gap
	least = max(least, min(words+2*f.pad+f.gap, room))
	return f, least, least <= room+1e-6 && room > w.body*9
}

// grid places the table of a list; the last one fills its page.
func (w *wall) grid(l *plan.List, last bool) {
	rows, columns := w.rowsOf(l), w.r.HoldersOf(l)
	f, least, ok := w.gridForms(rows, columns)
	if !ok {
		w.gridMisfits(rows, columns)
		return
	}
	fits := len(columns)
	if fits > 0 {
		fits = max(1, int((w.Width()-f.from+f.gap)/least+1e-9))
	}
	title := words.Joined(w.words.GridTitle, w.words.OneList(l, w.r))
	// As many divisions side by side as can be, fewer where rows grow too high.
	for ; ; fits-- {
		tables := make([]gridTable, max(1, ceilDiv(len(columns), max(fits, 1))))
		tooHigh := -1
		for t := range tables {
			some := columns[len(columns)*t/len(tables) : len(columns)*(t+1)/len(tables)]
			f := f
			if len(some) > 0 {
				f.colW = min((w.Width()-f.from+f.gap)/float64(len(some)), max(least, w.body*40))
			}
			tables[t] = w.gridTable(f, l, len(rows), some)
			head := w.gridHead(f, l, some, title, true)
			for i, h := range tables[t].heights {
				if h > w.Paper.Height-2*w.Margin-max(w.headFirst.H, w.headNext.H)-w.foot.H-head.H {
					tooHigh = i
				}
			}
		}
		if tooHigh >= 0 && fits > 1 {
			continue
		}
		if tooHigh >= 0 {
			w.misfit(rows[tooHigh].slot.At("channel"), "what is said of the slot", rows[tooHigh].name)
			return
		}
		for t, table := range tables {
			w.placeGrid(table, l, rows, title, t > 0, last && t == len(tables)-1)
		}
		return
	}
}

// gridTable is a table with what its fields say.
type gridTable struct {
	gridForm
	columns []plan.Holders
	cells   [][]gridCell // by row, then column
	heights []float64    // least ones, of the rows
}

// gridRow is the least height of a row: name, and use below it.
func (w *wall) gridRow() float64 { return w.key + w.drop() + w.body + 2*max(w.key*0.1, w.body*0.6) }

func ceilDiv(a, b int) int { return (a + b - 1) / b }

// gridTable measures the table of some columns.
func (w *wall) gridTable(f gridForm, l *plan.List, rows int, columns []plan.Holders) gridTable {
	t := gridTable{gridForm: f, columns: columns, cells: make([][]gridCell, rows), heights: make([]float64, rows)}
	measure := func(size float64) (highest float64) {
		t.text = size
		for i := range rows {
			t.cells[i], t.heights[i] = nil, w.gridRow()
			for _, s := range columns {
				c := w.gridCell(t.gridForm, l, s, i)
				t.cells[i] = append(t.cells[i], c)
				t.heights[i] = max(t.heights[i], c.h+w.body*0.7)
			}
			highest = max(highest, t.heights[i])
		}
		return highest
	}
	// The fields' text as large as it costs no row height, nor breaks a word.
	size, _ := set.Largest(1, gridText, 0.1, func(size float64) bool {
		return size == 1 || f.longest*size <= f.colW-f.gap-2*f.pad && measure(size) <= w.gridRow()
	})
	measure(size)
	return t
}

// placeGrid places one table, over as many pages as it takes, each as full as
// the others.
func (w *wall) placeGrid(t gridTable, l *plan.List, rows []wallRow, title string, again, last bool) {
	w.Space(w.between())
	blocks := make([]set.Block, len(rows))
	all := 0.0
	for i, h := range t.heights {
		all += h
		blocks[i] = set.Block{H: h, Rule: func(c *set.Canvas, x, y float64) { c.Rule(x+t.strip, w.Right(), y, wallLight) },
			Draw: func(c *set.Canvas, x, y, h float64) {
				c.Area(x, y, w.Width(), h, i+1, rows[i].slot.At("").Line)
				w.drawGridRow(c, t.gridForm, rows[i], t.cells[i], x, y, h)
			}}
	}
	first := w.gridHead(t.gridForm, l, t.columns, title, again)
	f := set.Flow{Blocks: blocks, Begin: !w.Fresh() && first.H+all > w.Room()}
	if !again {
		f.Mark = title
	}
	f.Head = func(p set.Part) set.Pile {
		return set.Pile{w.gridHead(t.gridForm, l, t.columns, title, again || p.Again),
			set.Drawn(0, func(c *set.Canvas, x, y float64) { c.Rule(x, w.Right(), y, wallMid) })}
	}
	f.Share = func(p set.Part) (n int, white float64) {
		head := w.gridHead(t.gridForm, l, t.columns, title, again || p.Again).H
		pages := pagesOf(p.Blocks, p.Room, w.pageRoom()-head)
		sum := 0.0
		for n < len(p.Blocks) && (n < ceilDiv(len(p.Blocks), pages) || pages == 1) && (n == 0 || sum+p.Blocks[n].H <= p.Room) {
			sum += p.Blocks[n].H
			n++
		}
		if n < len(p.Blocks) || last || p.Again {
			white = max(0, min((p.Room-sum)/float64(n), w.key*1.1))
		}
		return n, white
	}
	f.After = func(p set.Part) {
		p.Page.Rule(w.Left(), w.Right(), w.Y, wallMid)
		w.parts++
	}
	w.Flow(f)
}

// pagesOf is how many pages rows take, with so much room on the first and on
// each other one.
func pagesOf(rows []set.Block, first, other float64) int {
	pages, used, room := 1, 0.0, first
	for i, b := range rows {
		if used+b.H > room && i > 0 && used > 0 {
			pages, used, room = pages+1, 0, other
		}
		used += b.H
	}
	return pages
}

func (w *wall) drawGridRow(c *set.Canvas, f gridForm, r wallRow, cells []gridCell, x, y, h float64) {
	mono := set.CapStyle(fonts.MonoBold, w.key)
	const slit = 0.5 // mm of white between the numbers
	c.Bar(x, y+slit/2, f.strip, h-slit)
	c.TextMid(x+f.strip/2, y+(h+w.key)/2, mono.On(layout.White), r.number)
	large := w.key + w.drop() + w.body
	top := y + (h-large)/2
	c.Text(x+f.name, top+w.key, mono, r.name)
	c.Text(x+f.name, top+large, w.bold(1), r.use)
	for i, cell := range cells {
		w.drawGridCell(c, f, cell, x+f.from+float64(i)*f.colW, y, h)
	}
}

// gridHead is the title with the code of the list, the key to the fields, and
// the divisions with their names.
func (w *wall) gridHead(f gridForm, l *plan.List, columns []plan.Holders, title string, again bool) set.Block {
	if again {
		title += ", " + w.words.Again
	}
	head, small := w.bold(1.3), w.regular(1)
	key, code := set.CapStyle(fonts.Bold, w.key), set.CapStyle(fonts.MonoBold, min(w.mid, w.body*2))
	names := make([]set.Stack, len(columns))
	under := 0.0
	for i, s := range columns {
		para, width := []set.Run{w.bold(1).Say(w.words.NoDivision)}, f.colW-f.gap
		if d := s.Division; d != nil {
			para = []set.Run{small.Say(d.Name)}
			if d.Name == "" {
				continue
			}
		}
		names[i] = set.Stack{Lines: set.Paragraph(width, para...), Cap: w.body, Pitch: w.tight()}
		under = max(under, names[i].Height())
	}
	titles := head.Stack(title, w.Width(), head.Cap()*1.75)
	said := set.LineOf(set.PieceOf(0, small.Say(w.words.ReadBackCode+"  "), code.Say(l.Code.Pairs())))
	// Title, key and code on one line, or the key on its own, or each.
	const apart = 4 // capitals
	_, legendW := w.gridLegend(nil, 0, 0, w.Width())
	legendX, titleY, codeY := titles.Width()+w.body*apart, max(titles.Height(), code.Cap()), 0.0
	legendY := titleY - w.body
	codeY = titleY
	switch need := titles.Width() + w.body*apart + said.Wide; {
	case need+w.body*apart+legendW <= w.Width():
	case need <= w.Width():
		legendX, legendY = 0, titleY+w.body*2.2
	default:
		titleY = titles.Height()
		codeY = titleY + w.body*1.2 + code.Cap()
		legendX, legendY = 0, codeY+w.body*2.2
	}
	lines, _ := w.gridLegend(nil, 0, 0, w.Width()-legendX)
	keyY := max(legendY+float64(lines-1)*w.body*2.4+w.body, codeY) + w.body*2.2
	large := 0.0
	for _, s := range columns {
		if s.Division != nil {
			large = w.key
		}
	}
	namesY := keyY + large
	if under > 0 && large > 0 {
		namesY += w.drop()
	}
	base := max(namesY+under, keyY+w.body)
	return set.Drawn(base+w.body*1.1, func(c *set.Canvas, x, y float64) {
		titles.Draw(c, x, y+titleY-titles.Height())
		left := x
		if codeY == titleY {
			left = x + w.Width() - said.Wide
		}
		c.Line(left, y+codeY, said)
		w.gridLegend(c, x+legendX, y+legendY, w.Width()-legendX)
		c.TextMid(x+f.strip/2, y+base, small, w.words.Slot)
		c.Text(x+f.name, y+base, small, w.words.Name)
		for i, s := range columns {
			cx := x + f.from + float64(i)*f.colW
			if s.Division != nil {
				c.Text(cx, y+keyY+w.key, key, s.Division.ID)
				names[i].Draw(c, cx, y+namesY)
			} else {
				names[i].Draw(c, cx, y+base-names[i].Height())
			}
		}
	})
}

// gridLegend explains the fields in a width from x on, its first line's capitals
// at y, and tells how many lines it takes, and how wide they are; c may be nil
// to measure only.
func (w *wall) gridLegend(c *set.Canvas, x, y, width float64) (lines int, most float64) {
	small := w.regular(1)
	boxW, boxH := w.body*3.4, w.body*1.8
	left, gap := x, w.body*2.6
	lines = 1
	for i, said := range []string{w.words.TalkKey, w.words.PriorityKey, w.words.ScanKey} {
		wide := boxW + w.body*0.9 + small.Width(said)
		if x > left && x+wide > left+width+set.Tolerance {
			x = left
			y += w.body * 2.4
			lines++
		}
		if c != nil {
			top := y + w.body/2 - boxH/2
			switch i {
			case 0:
				c.Bar(x, top, boxW, boxH)
				c.Pointer(x+w.body*1.2, y+w.body, w.body, layout.White)
			case 1:
				c.Frame(x, top, boxW, boxH, gridHeavy)
			case 2:
				c.Pill(x, top, boxW, boxH, boxH/2, gridLight)
			}
			c.Text(x+boxW+w.body*0.9, y+w.body, small, said)
		}
		most = max(most, x+wide-left)
		x += wide + gap
	}
	return lines, most
}

const (
	talkWord  = 1.1  // capitals from the pointer to its word
	gridText  = 1.5  // most, times the body's size
	gridHeavy = 0.8  // mm: frame of what has priority
	gridLight = 0.35 // of what is scanned
)

// gridMisfits names what is too wide for the table.
func (w *wall) gridMisfits(rows []wallRow, columns []plan.Holders) {
	before := len(w.Misfits)
	for _, r := range rows {
		if _, _, ok := w.gridForms([]wallRow{r}, nil); !ok {
			w.misfit(r.slot.At("channel"), "display name", r.name)
		}
	}
	for _, s := range columns {
		if d := s.Division; d != nil && set.CapStyle(fonts.Bold, w.key).Width(d.ID) > w.Width()*0.4 {
			w.misfit(d.At("id"), "division", d.ID)
		}
	}
	w.widest(before, rows)
}
