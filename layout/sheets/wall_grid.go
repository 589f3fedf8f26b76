package sheets

import (
	"slices"
	"strings"

	"slotcard/fonts"
	"slotcard/layout"
	"slotcard/layout/set"
	"slotcard/layout/words"
	"slotcard/plan"
	"slotcard/plan/finding"
)

// The grid: the second form of the wall sheet, for the briefing. Slots go down,
// as in the list, lists that share little as bands; divisions go across. A black field
// is where a division talks, a frame is what it listens to, and the positions that do
// so stand in it. The frames have the shapes of the marks on cards: square for
// priority, round ends for scan.

// WallGrid lays out the grid: landscape, all divisions and lists on one page, in type
// as large as that allows. Where the names of positions are too many for that, letters
// stand for them, with a key below. Faults are as of [Wall].
func WallGrid(r *plan.Resolved, o WallOptions) (*WallSheet, finding.List) {
	return searched(r, o, (*wallSearch).grid)
}

// grid is the grid with names, or with letters where that saves pages.
func (s *wallSearch) grid() *wall {
	lay := func(letters bool) (*wall, float64) {
		m, _, ok := s.largest(MostDistance, func(m float64) *wall { return s.layGrid(m, letters, 0) })
		w := s.layGrid(m, letters, 0)
		if !ok {
			return w, m
		}
		for white := min(0.97*w.restLeft/float64(max(1, w.rows)), w.key*1.5); white > 0.1; white *= 0.7 {
			if more := s.layGrid(m, letters, white); more.fits() && len(more.Pages) == len(w.Pages) {
				return more, m
			}
		}
		return w, m
	}
	named, _ := lay(false)
	if named.fits() && len(named.Pages) == 1 {
		return named
	}
	lettered, _ := lay(true)
	if named.fits() && (!lettered.fits() || len(named.Pages) <= len(lettered.Pages)) {
		return named
	}
	return lettered
}

// gridder is a grid in the making.
type gridder struct {
	*wall
	columns []plan.Holders
	lists   []*plan.List // that of each column
	letters map[string]string
	form    gridForm
}

// layGrid lays out the grid, to be read from a distance.
func (s *wallSearch) layGrid(meters float64, letters bool, white float64) *wall {
	w, ok := s.newWall(settings{list: meters}, meters)
	if !ok {
		return w
	}
	g := &gridder{wall: w}
	if letters {
		g.letters = map[string]string{}
		for i, p := range s.r.Plan.Positions {
			g.letters[p.Name] = letter(i)
		}
	}
	for _, d := range append(slices.Clone(s.r.Plan.Divisions), nil) {
		for _, l := range s.r.Lists {
			for _, h := range s.r.HoldersOf(l) {
				if h.Division == d {
					g.columns, g.lists = append(g.columns, h), append(g.lists, l)
				}
			}
		}
	}
	w.NewPage()
	// All divisions side by side, or as many as the width holds.
	most, ok := g.shape()
	if !ok {
		g.tooWide(w.tables[0])
		return w
	}
	columns, lists := g.columns, g.lists
	tables := max(1, (len(columns)+most-1)/max(1, most))
	for i := range tables {
		from, to := len(columns)*i/tables, len(columns)*(i+1)/tables
		g.columns, g.lists = columns[from:to], lists[from:to]
		if to > from {
			g.form.colW = min((w.Width()-g.form.from+g.form.gap)/float64(to-from), w.body*40)
		}
		for j, t := range w.tables {
			g.band(t, i > 0, j == 0, white)
		}
	}
	g.letterKey()
	w.restLeft = w.Room()
	return w
}

// letter is a, b, ..., z, aa, ab, ...
func letter(i int) string {
	if i >= 26 {
		return letter(i/26-1) + letter(i%26)
	}
	return string(rune('a' + i))
}

// who names the positions that do something: all, all but a few, or each.
func (g *gridder) who(s plan.Holders, slot int, does func(plan.Mark) bool) string {
	var yes, no []string
	for i, p := range s.Positions {
		if g.letters != nil {
			p = g.letters[p]
		}
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
		return g.words.Everyone
	case g.letters != nil:
		return strings.Join(yes, " ")
	case len(yes) > 2 && len(no) < len(yes)-1:
		return words.Filled(g.words.AllBut, "names", strings.Join(no, ", "))
	}
	return strings.Join(yes, ", ")
}

// gridCell is what a division does on a slot.
type gridCell struct {
	talk     bool
	priority bool // square, not round
	text     set.Stack
	word     set.Style // of the word in a field where one talks
	wordless bool      // no room for it: the pointer alone
	h        float64
}

// gridForm is the geometry of the grid. Left edges count from the table's own.
type gridForm struct {
	strip, name, nameW float64
	from               float64 // of the first division
	colW, gap, pad     float64
}

func (g *gridder) cell(l *plan.List, s plan.Holders, slot int) (c gridCell) {
	f := g.form
	talks := g.who(s, slot, func(m plan.Mark) bool { return m.Talk })
	priority := g.who(s, slot, func(m plan.Mark) bool { return m.Priority })
	scans := g.who(s, slot, func(m plan.Mark) bool { return m.Scan })
	c.talk = talks != "" || s.Division != nil && l.Slots[slot].UsedBy(s.Division)
	c.priority = priority != ""
	inner := f.colW - f.gap - 2*f.pad
	var ink layout.Ink
	if c.talk {
		ink = layout.White
	}
	regular, bold := g.regular(1).On(ink), g.bold(1).On(ink)
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
	c.text.Cap, c.text.Pitch = regular.Cap(), g.line()
	if c.talk && talks != "" && talks != g.words.Everyone {
		add(regular.Say(talks))
	}
	if c.talk && len(s.Positions) == 0 {
		add(regular.Say(g.words.NoCards))
	}
	// What the frame says by its shape needs no word.
	switch alone := !c.talk && scans == ""; {
	case alone && priority != "":
		add(regular.Say(priority))
	case priority == talks && g.letters != nil:
	case priority != "" && (priority != talks || talks != g.words.Everyone):
		add(bold.Say(g.words.PriorityKey), regular.Say(" "), regular.Say(priority))
	case priority != "":
		add(bold.Say(g.words.PriorityKey))
	}
	switch alone := !c.talk && priority == ""; {
	case alone && scans != "":
		add(regular.Say(scans))
	case scans != "":
		add(bold.Say(g.words.ScanKey), regular.Say(" "), regular.Say(scans))
	}
	c.h = c.text.Height()
	if c.talk {
		wide := talkWord + g.bold(1).Width(g.words.Talk)/g.bold(1).Cap()
		size := min(g.key, max(g.body, inner/wide*0.99))
		c.word = set.CapStyle(fonts.Bold, size).On(layout.White)
		c.wordless = wide*c.word.Cap() > inner+f.pad
		c.h += c.word.Cap()
		if len(c.text.Lines) > 0 {
			c.h += g.body * 0.7
		}
	}
	if c.h > 0 {
		c.h += 2 * f.pad
	}
	return c
}

// inset is the white above and below a field.
func (g *gridder) inset() float64 { return max(0.5, g.body*0.2) }

// nameHeight is that of the name of a slot and, where there is room, its use below.
func (g *gridder) nameHeight() float64 {
	if g.letters != nil {
		return g.wall.key
	}
	return g.wall.key + g.drop() + g.body
}

// drawCell fills a field of the table.
func (g *gridder) drawCell(c *set.Canvas, cell gridCell, x, y, h float64) {
	f := g.form
	width := f.colW - f.gap
	y, h = y+g.inset(), h-2*g.inset()
	switch {
	case cell.talk:
		c.Bar(x, y, width, h)
	case len(cell.text.Lines) == 0:
		return
	case cell.priority:
		c.Frame(x, y, width, h, gridHeavy)
	default:
		c.Pill(x, y, width, h, min(g.body*1.6, h/2), gridLight)
	}
	top := y + (h-(cell.h-2*f.pad))/2
	x += f.pad
	if cell.talk {
		s := cell.word
		c.Pointer(x, top+s.Cap(), s.Cap(), layout.White)
		if !cell.wordless {
			c.Text(x+s.Cap()*talkWord, top+s.Cap(), s, g.words.Talk)
		}
		top += s.Cap() + g.body*0.7
	}
	cell.text.Draw(c, x, top)
}

// shape finds the left edges, and how many divisions stand side by side; not ok: not
// even one does.
func (g *gridder) shape() (most int, ok bool) {
	key, mono := set.CapStyle(fonts.Bold, g.key), set.CapStyle(fonts.MonoBold, g.key)
	f := &g.form
	lists := 1
	number := g.small(1).Width(g.words.Slot) + g.body
	f.nameW = g.small(1).Width(g.words.Name)
	for _, t := range g.tables {
		lists = max(lists, len(t.lists))
		for _, r := range t.rows {
			for _, at := range r.at {
				number = max(number, mono.Width(at)+g.key*0.6)
			}
			f.nameW = max(f.nameW, mono.Width(r.name), g.regular(1).Width(r.use))
		}
	}
	f.strip = number
	f.name = f.strip*float64(lists) + g.key*0.5
	f.from = f.name + f.nameW + g.key*0.9
	f.gap, f.pad = g.body*0.7, g.body*0.55
	if len(g.columns) == 0 {
		return 0, f.from <= g.Width()
	}
	word := max(g.body*4, g.bold(1).Width(g.words.Talk)+talkWord*g.body)
	see := func(text string) {
		for _, t := range strings.Fields(text) {
			word = max(word, g.bold(1).Width(t))
		}
	}
	least := 0.0
	for _, s := range g.columns {
		if s.Division != nil {
			least = max(least, key.Width(s.Division.ID)+f.gap)
		}
		for _, p := range s.Positions {
			if g.letters == nil {
				see(p + ",")
			}
		}
	}
	if g.letters == nil {
		see(g.words.PriorityKey + " " + g.words.ScanKey + " " + g.words.NoDivision)
	}
	least = max(least, word+2*f.pad+f.gap)
	room := g.Width() - f.from + f.gap
	if g.letters != nil { // words may be broken rather than divisions parted
		least = min(least, max(room/float64(len(g.columns)), g.body*7))
	}
	most = int(room/least + set.Tolerance)
	if g.letters == nil && most < len(g.columns) && g.meters > g.o.least()+set.Tolerance {
		return 0, false
	}
	return most, most > 0
}

// band places the table of some lists.
func (g *gridder) band(t *table, again, first bool, white float64) {
	title := g.words.GridTitle
	if len(t.lists) == 1 {
		title = words.Joined(title, g.words.OneList(t.lists[0], g.r))
	}
	head := g.head(t, title, again, first)
	over := max(head.H, g.head(t, title, true, true).H)
	cells := make([][]gridCell, len(t.rows))
	blocks := make([]set.Block, len(t.rows))
	all := 0.0
	for i, r := range t.rows {
		h := g.nameHeight() + g.body
		for j, s := range g.columns {
			cell := gridCell{}
			if n := slices.Index(g.lists[j].Slots, r.slot); n >= 0 && slices.Contains(t.lists, g.lists[j]) {
				cell = g.cell(g.lists[j], s, n)
			}
			cells[i] = append(cells[i], cell)
			h = max(h, cell.h+2*g.inset())
		}
		h += white
		all += h
		if h+over > g.firstRoom() {
			g.out = true
			if g.meters <= g.o.least()+set.Tolerance && g.o.Distance == 0 && g.letters != nil {
				g.misfit(r.slot.At("channel"), "what is said of the slot", r.name)
			}
			return
		}
		form := g.form
		columns := *g
		blocks[i] = set.Block{H: h, Rule: func(c *set.Canvas, x, y float64) {
			c.Rule(x+form.strip*float64(len(t.lists)), g.Right(), y, wallLight)
		}, Draw: func(c *set.Canvas, x, y, h float64) {
			c.Area(x, y, g.Width(), h, r.position(), r.slot.At("").Line)
			columns.drawRow(c, r, cells[i], x, y, h)
		}}
	}
	flow := set.Flow{Blocks: blocks, Begin: !g.Fresh() && head.H+all > g.Room() && head.H+all <= g.pageRoom()}
	if !again {
		flow.Mark = title
	}
	flow.Head = func(p set.Part) set.Pile {
		return set.Pile{g.head(t, title, again || p.Again, first || p.Again || p.Page != nil && g.Fresh()),
			set.Drawn(0, func(c *set.Canvas, x, y float64) { c.Rule(x, g.Right(), y, wallMid) })}
	}
	flow.Share = func(p set.Part) (n int, _ float64) {
		pages := pagesOf(p.Blocks, p.Room, g.pageRoom()-over)
		even := (len(p.Blocks) + pages - 1) / pages
		for sum := 0.0; n < len(p.Blocks) && (n < even || pages == 1) && (n == 0 || sum+p.Blocks[n].H <= p.Room+set.Tolerance); n++ {
			sum += p.Blocks[n].H
		}
		return n, 0
	}
	flow.After = func(p set.Part) {
		p.Page.Rule(g.Left(), g.Right(), g.Y, wallMid)
		if len(g.from) != g.counted {
			g.rows, g.counted = 0, len(g.from)
		}
		g.rows += len(p.Blocks)
	}
	g.Space(g.body * 1.8)
	g.Flow(flow)
}

func (g *gridder) drawRow(c *set.Canvas, r tableRow, cells []gridCell, x, y, h float64) {
	mono := set.CapStyle(fonts.MonoBold, g.key)
	const slit = 0.5 // mm of white between the numbers
	large := g.nameHeight()
	top := y + (h-large)/2
	g.drawPositions(c, r.at, g.form.strip, x, y+slit/2, h-slit, y+h/2)
	c.Text(x+g.form.name, top+g.key, mono, r.name)
	if g.letters == nil {
		c.Text(x+g.form.name, top+large, g.regular(1), r.use)
	}
	for i, cell := range cells {
		g.drawCell(c, cell, x+g.form.from+float64(i)*g.form.colW, y, h)
	}
}

// head is the title with the codes of the lists, over the first band the key to the
// fields, and the divisions with their names.
func (g *gridder) head(t *table, title string, again, first bool) set.Block {
	if again {
		title += ", " + g.words.Again
	}
	f := g.form
	bold, small := g.bold(1), g.small(1)
	key, code := set.CapStyle(fonts.Bold, g.key), set.CapStyle(fonts.MonoBold, g.body)
	pieces := set.Words(bold, title)
	pieces[len(pieces)-1].Space = g.body * 1.6
	for i, l := range t.lists {
		said := g.words.ReadBackCode
		if len(t.lists) > 1 {
			if said = g.shortName(l); i == 0 {
				said = g.words.ReadBackCode + " " + said
			}
		}
		pieces = append(pieces, set.Words(g.regular(1), said)...)
		pieces = append(pieces, set.PieceOf(g.body*1.6, code.Say(strings.ReplaceAll(l.Code.Pairs(), " ", layout.NoBreak))))
	}
	if first {
		pieces = append(pieces, g.legend()...)
	}
	for i := range pieces {
		pieces[i].Soft = true
	}
	lines, _ := set.BreakLines(pieces, g.Width(), g.Width())
	titles := set.Stack{Lines: lines, Cap: g.body, Pitch: g.body * 2.2}
	names := make([]set.Stack, len(g.columns))
	under, large := 0.0, 0.0
	for i, s := range g.columns {
		width := f.colW - f.gap
		switch {
		case s.Division == nil:
			names[i] = bold.Stack(g.words.NoDivision, width, g.line())
		case s.Division.Name != "" && g.letters == nil:
			names[i] = g.regular(1).Stack(s.Division.Name, width, g.line())
		}
		if s.Division != nil {
			large = g.key
		}
		under = max(under, names[i].Height())
	}
	if !first && len(g.tables) > 1 { // the names stand over the first band
		names, under = make([]set.Stack, len(g.columns)), 0
	}
	keyY := titles.Height() + g.body*1.4
	namesY := keyY + large
	if under > 0 && large > 0 {
		namesY += g.drop()
	}
	base := max(namesY+under, keyY+g.fine)
	labels := make([]set.Stack, len(t.lists))
	if len(t.lists) > 1 {
		for i, l := range t.lists {
			inner := f.strip - g.body*0.4
			one := g.bold(1)
			labels[i] = one.Stack(g.shortName(l), inner, one.Cap()*1.5)
			base = max(base, titles.Height()+g.body+labels[i].Height())
		}
	}
	columns := g.columns
	return set.Drawn(base+max(g.fine, g.body*0.6), func(c *set.Canvas, x, y float64) {
		titles.Draw(c, x, y)
		for i := range t.lists {
			middle := x + (float64(i)+0.5)*f.strip
			if len(t.lists) == 1 {
				c.TextMid(middle, y+base, small, g.words.Slot)
			}
			for j, l := range labels[i].Lines {
				c.Line(middle-l.Wide/2, y+base-float64(len(labels[i].Lines)-1-j)*labels[i].Pitch, l)
			}
		}
		c.Text(x+f.name, y+base, small, g.words.Name)
		for i, s := range columns {
			cx := x + f.from + float64(i)*f.colW
			if s.Division != nil {
				c.Text(cx, y+keyY+g.key, key, s.Division.ID)
				names[i].Draw(c, cx, y+namesY)
			} else {
				names[i].Draw(c, cx, y+base-names[i].Height())
			}
		}
	})
}

// legend explains the fields.
func (g *gridder) legend() (pieces []set.Piece) {
	boxW, boxH := g.body*2.6, g.body*1.4
	for i, said := range []string{g.words.TalkKey, g.words.PriorityKey, g.words.ScanKey} {
		box := set.Run{Style: g.regular(1), Wide: boxW, Drawn: func(c *set.Canvas, x, y float64) {
			top := y - g.body/2 - boxH/2
			switch i {
			case 0:
				c.Bar(x, top, boxW, boxH)
				c.Pointer(x+g.body*0.9, y-g.body*0.1, g.body*0.8, layout.White)
			case 1:
				c.Frame(x, top, boxW, boxH, gridHeavy)
			case 2:
				c.Pill(x, top, boxW, boxH, boxH/2, gridLight)
			}
		}}
		pieces = append(pieces, set.PieceOf(g.body*1.6, box, g.white(g.body*0.6), g.regular(1).Say(strings.ReplaceAll(said, " ", layout.NoBreak))))
	}
	return pieces
}

// letterKey explains letters, and names the divisions where the columns do not.
func (g *gridder) letterKey() {
	if g.letters == nil || !g.fits() {
		return
	}
	var pieces []set.Piece
	add := func(what, said string) {
		pieces = append(pieces, set.PieceOf(g.bold(1).Space(), g.bold(1).Say(what)))
		pieces = append(pieces, set.Words(g.regular(1), said)...)
		pieces[len(pieces)-1].Space = g.body * 1.6
	}
	used := map[string]bool{}
	for _, c := range g.r.Cards {
		used[c.Position.Name] = true
	}
	for _, p := range g.r.Plan.Positions {
		if used[p.Name] {
			add(g.letters[p.Name], p.Name)
		}
	}
	for _, d := range g.r.Plan.Divisions {
		if d.Name != "" {
			add(d.ID, d.Name)
		}
	}
	for i := range pieces {
		pieces[i].Soft = true
	}
	if pieces == nil {
		return
	}
	lines, _ := set.BreakLines(pieces, g.Width(), g.Width())
	g.Space(g.body * 1.6)
	var blocks []set.Block
	for _, l := range lines {
		s := set.Stack{Lines: []set.Line{l}, Cap: g.body}
		blocks = append(blocks, set.Drawn(g.line(), s.Draw))
	}
	g.Flow(set.Flow{Blocks: blocks})
}

const (
	talkWord  = 1.1  // capitals from the pointer to its word
	gridHeavy = 0.8  // mm: frame of what has priority
	gridLight = 0.35 // of what is scanned
)
