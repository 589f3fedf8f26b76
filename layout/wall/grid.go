package wall

import (
	"slices"
	"strings"

	"slotcard/fonts"
	"slotcard/layout"
	"slotcard/layout/frame"
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

// Grid lays out the grid: landscape, all divisions and lists on one page, in type
// as large as that allows. Where the names of positions are too many for that, letters
// stand for them, with a key below. Faults are as of [List].
func Grid(r *plan.Resolved, o Options) (*Sheet, finding.List) {
	return searched(r, o, (*search).grid)
}

// grid is the grid with names, or with letters where that saves pages.
func (s *search) grid() *wall {
	lay := func(letters bool) *wall {
		m, _, ok := s.largest(MostDistance, func(m float64) outcome { return s.layGrid(m, letters, 0, false).outcome() })
		w := s.layGrid(m, letters, 0, true)
		if !ok {
			return w
		}
		for white := min(0.97*w.restLeft/float64(max(1, w.rows)), w.Key*1.5); white > 0.1; white *= 0.7 {
			if more := s.layGrid(m, letters, white, true); more.Fits() && len(more.Pages) == len(w.Pages) {
				return more
			}
		}
		return w
	}
	named := lay(false)
	if named.Fits() && len(named.Pages) == 1 {
		return named
	}
	lettered := lay(true)
	if named.Fits() && (!lettered.Fits() || len(named.Pages) <= len(lettered.Pages)) {
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
func (s *search) layGrid(meters float64, letters bool, white float64, drawn bool) *wall {
	w, ok := s.newWall(settings{list: meters}, meters, drawn)
	if !ok {
		return w
	}
	g := &gridder{wall: w}
	if letters {
		g.letters = map[string]string{}
		for _, p := range s.r.Plan.Positions {
			if seated := func(c *plan.Card) bool { return c.Position == p }; slices.ContainsFunc(s.r.Cards, seated) {
				g.letters[p.Name] = letter(len(g.letters))
			}
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
			g.form.colW = min((w.Width()-g.form.from+g.form.gap)/float64(to-from), w.Body*40)
		}
		for j, t := range w.tables {
			g.band(t, i > 0, j == 0, white)
		}
	}
	g.letterKey()
	w.restLeft, w.listPages = w.Room(), len(w.Pages)
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
		return g.Words.Everyone
	case g.letters != nil:
		return strings.Join(yes, " ")
	case len(yes) > 2 && len(no) < len(yes)-1:
		return words.Filled(g.Words.AllBut, "names", strings.Join(no, ", "))
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
	regular, bold := g.Regular(1).On(ink), g.Bold(1).On(ink)
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
	if c.talk && talks != "" && talks != g.Words.Everyone {
		add(regular.Say(talks))
	}
	if c.talk && len(s.Positions) == 0 {
		add(regular.Say(g.Words.NoCards))
	}
	// What the frame says by its shape needs no word.
	switch alone := !c.talk && scans == ""; {
	case alone && priority != "":
		add(regular.Say(priority))
	case priority == talks && g.letters != nil:
	case priority != "" && (priority != talks || talks != g.Words.Everyone):
		add(bold.Say(g.Words.PriorityKey), regular.Say(" "), regular.Say(priority))
	case priority != "":
		add(bold.Say(g.Words.PriorityKey))
	}
	switch alone := !c.talk && priority == ""; {
	case alone && scans != "":
		add(regular.Say(scans))
	case scans != "":
		add(bold.Say(g.Words.ScanKey), regular.Say(" "), regular.Say(scans))
	}
	c.h = c.text.Height()
	if c.talk {
		wide := talkWord + g.Bold(1).Width(g.Words.Talk)/g.Bold(1).Cap()
		size := min(g.Key, max(g.Body, inner/wide*0.99))
		c.word = set.CapStyle(fonts.Bold, size).On(layout.White)
		c.wordless = wide*c.word.Cap() > inner+f.pad
		c.h += c.word.Cap()
		if len(c.text.Lines) > 0 {
			c.h += g.Body * 0.7
		}
	}
	if c.h > 0 {
		c.h += 2 * f.pad
	}
	return c
}

// inset is the white above and below a field.
func (g *gridder) inset() float64 { return max(0.5, g.Body*0.2) }

// nameHeight is that of the name of a slot and, where there is room, its use below.
func (g *gridder) nameHeight() float64 {
	if g.letters != nil {
		return g.Key
	}
	return g.Key + g.drop() + g.Body
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
		c.Pill(x, y, width, h, min(g.Body*1.6, h/2), gridLight)
	}
	top := y + (h-(cell.h-2*f.pad))/2
	x += f.pad
	if cell.talk {
		s := cell.word
		c.Pointer(x, top+s.Cap(), s.Cap(), layout.White)
		if !cell.wordless {
			c.Text(x+s.Cap()*talkWord, top+s.Cap(), s, g.Words.Talk)
		}
		top += s.Cap() + g.Body*0.7
	}
	cell.text.Draw(c, x, top)
}

// shape finds the left edges, and how many divisions stand side by side; not ok: not
// even one does.
func (g *gridder) shape() (most int, ok bool) {
	key, mono := set.CapStyle(fonts.Bold, g.Key), set.CapStyle(fonts.MonoBold, g.Key)
	f := &g.form
	lists := 1
	number := g.Small(1).Width(g.Words.Slot) + g.Body
	f.nameW = g.Small(1).Width(g.Words.Name)
	for _, t := range g.tables {
		lists = max(lists, len(t.lists))
		for _, r := range t.rows {
			for _, at := range r.at {
				number = max(number, mono.Width(at)+g.Key*0.6)
			}
			f.nameW = max(f.nameW, mono.Width(r.name), g.Regular(1).Width(r.use))
		}
	}
	f.strip = number
	f.name = f.strip*float64(lists) + g.Key*0.5
	f.from = f.name + f.nameW + g.Key*0.9
	f.gap, f.pad = g.Body*0.7, g.Body*0.55
	if len(g.columns) == 0 {
		return 0, f.from <= g.Width()
	}
	word := max(g.Body*4, g.Bold(1).Width(g.Words.Talk)+talkWord*g.Body)
	see := func(text string) {
		for _, t := range strings.Fields(text) {
			word = max(word, g.Bold(1).Width(t))
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
		see(g.Words.PriorityKey + " " + g.Words.ScanKey + " " + g.Words.NoDivision)
	}
	least = max(least, word+2*f.pad+f.gap)
	room := g.Width() - f.from + f.gap
	if g.letters != nil { // words may be broken rather than divisions parted
		least = min(least, max(room/float64(len(g.columns)), g.Body*7))
	}
	most = int(room/least + set.Tolerance)
	if g.letters == nil && most < len(g.columns) && g.meters > g.o.least()+set.Tolerance {
		return 0, false
	}
	return most, most > 0
}

// band places the table of some lists.
func (g *gridder) band(t *table, again, first bool, white float64) {
	title := g.Words.GridTitle
	if len(t.lists) == 1 {
		title = words.Joined(title, g.Words.OneList(t.lists[0], g.Resolved))
	}
	head := g.head(t, title, again, first)
	over := max(head.H, g.head(t, title, true, true).H)
	cells := make([][]gridCell, len(t.rows))
	blocks := make([]set.Block, len(t.rows))
	all := 0.0
	for i, r := range t.rows {
		h := g.nameHeight() + g.Body
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
		if h+over > g.FirstRoom() {
			g.Out = true
			if g.meters <= g.o.least()+set.Tolerance && g.o.Distance == 0 && g.letters != nil {
				g.Misfit(r.slot.At("channel"), "what is said of the slot", r.name)
			}
			return
		}
		form := g.form
		columns := *g
		blocks[i] = set.Block{H: h, Rule: func(c *set.Canvas, x, y float64) {
			c.Rule(x+form.strip*float64(len(t.lists)), g.Right(), y, frame.RuleLight)
		}, Draw: func(c *set.Canvas, x, y, h float64) {
			c.Area(x, y, g.Width(), h, r.position(), r.slot.At("").Line)
			columns.drawRow(c, r, cells[i], x, y, h)
		}}
	}
	flow := set.Flow{Blocks: blocks, Begin: !g.Fresh() && head.H+all > g.Room() && head.H+all <= g.PageRoom()}
	if !again {
		flow.Mark = title
	}
	flow.Head = func(p set.Part) set.Pile {
		return set.Pile{g.head(t, title, again || p.Again, first || p.Again || p.Page != nil && g.Fresh()),
			set.Drawn(0, func(c *set.Canvas, x, y float64) { c.Rule(x, g.Right(), y, frame.RuleMid) })}
	}
	flow.Share = evenly(g.PageRoom() - over)
	flow.After = func(p set.Part) {
		p.Page.Rule(g.Left(), g.Right(), g.Y, frame.RuleMid)
		if len(g.From) != g.counted {
			g.rows, g.counted = 0, len(g.From)
		}
		g.rows += len(p.Blocks)
	}
	g.Space(g.Body * 1.8)
	g.Flow(flow)
}

func (g *gridder) drawRow(c *set.Canvas, r tableRow, cells []gridCell, x, y, h float64) {
	mono := set.CapStyle(fonts.MonoBold, g.Key)
	const slit = 0.5 // mm of white between the numbers
	large := g.nameHeight()
	top := y + (h-large)/2
	g.drawPositions(c, r.at, g.form.strip, x, y+slit/2, h-slit, y+h/2)
	c.Text(x+g.form.name, top+g.Key, mono, r.name)
	if g.letters == nil {
		c.Text(x+g.form.name, top+large, g.Regular(1), r.use)
	}
	for i, cell := range cells {
		g.drawCell(c, cell, x+g.form.from+float64(i)*g.form.colW, y, h)
	}
}

// head is the title with the codes of the lists, over the first band the key to the
// fields, and the divisions with their names.
func (g *gridder) head(t *table, title string, again, first bool) set.Block {
	if again {
		title += ", " + g.Words.Again
	}
	f := g.form
	bold, small := g.Bold(1), g.Small(1)
	key, code := set.CapStyle(fonts.Bold, g.Key), set.CapStyle(fonts.MonoBold, g.Body)
	pieces := set.Words(bold, title)
	pieces[len(pieces)-1].Space = g.Body * 1.6
	for i, l := range t.lists {
		said := g.Words.ReadBackCode
		if len(t.lists) > 1 {
			if said = g.shortName(l); i == 0 {
				said = g.Words.ReadBackCode + " " + said
			}
		}
		pieces = append(pieces, set.Words(g.Regular(1), said)...)
		pieces = append(pieces, set.PieceOf(g.Body*1.6, code.Say(strings.ReplaceAll(l.Code.Pairs(), " ", layout.NoBreak))))
	}
	broken := func(p []set.Piece) []set.Line {
		lines, _ := set.BreakLines(soft(p), g.Width(), g.Width())
		return lines
	}
	lines := broken(pieces)
	if first && len(g.columns) > 0 { // the key is not broken where that takes no line more
		key := g.legend()
		apart := slices.Concat(lines, broken(key))
		if lines = broken(append(pieces, key...)); len(apart) <= len(lines) {
			lines = apart
		}
	}
	titles := set.Stack{Lines: lines, Cap: g.Body, Pitch: g.Body * 2.2}
	names := make([]set.Stack, len(g.columns))
	under, large := 0.0, 0.0
	for i, s := range g.columns {
		width := f.colW - f.gap
		switch {
		case s.Division == nil:
			names[i] = bold.Stack(g.Words.NoDivision, width, g.line())
		case s.Division.Name != "" && g.letters == nil:
			names[i] = g.Regular(1).Stack(s.Division.Name, width, g.line())
		}
		if s.Division != nil {
			large = g.Key
		}
		under = max(under, names[i].Height())
	}
	if !first && len(g.tables) > 1 { // the names stand over the first band
		names, under = make([]set.Stack, len(g.columns)), 0
	}
	keyY := titles.Height() + g.Body*1.4
	namesY := keyY + large
	if under > 0 && large > 0 {
		namesY += g.drop()
	}
	base := max(namesY+under, keyY+g.Fine)
	labels := make([]set.Stack, len(t.lists))
	if len(t.lists) > 1 {
		for i, l := range t.lists {
			inner := f.strip - g.Body*0.4
			one := g.Bold(1)
			labels[i] = one.Stack(g.shortName(l), inner, one.Cap()*1.5)
			base = max(base, titles.Height()+g.Body+labels[i].Height())
		}
	}
	columns := g.columns
	return set.Drawn(base+max(g.Fine, g.Body*0.6), func(c *set.Canvas, x, y float64) {
		titles.Draw(c, x, y)
		for i := range t.lists {
			middle := x + (float64(i)+0.5)*f.strip
			if len(t.lists) == 1 {
				c.TextMid(middle, y+base, small, g.Words.Slot)
			}
			for j, l := range labels[i].Lines {
				c.Line(middle-l.Wide/2, y+base-float64(len(labels[i].Lines)-1-j)*labels[i].Pitch, l)
			}
		}
		c.Text(x+f.name, y+base, small, g.Words.Name)
		for i, s := range columns {
			cx := x + f.from + float64(i)*f.colW
			if s.Division != nil {
				c.Text(cx, y+keyY+g.Key, key, s.Division.ID)
				names[i].Draw(c, cx, y+namesY)
			} else {
				names[i].Draw(c, cx, y+base-names[i].Height())
			}
		}
	})
}

// legend explains the fields.
func (g *gridder) legend() (pieces []set.Piece) {
	boxW, boxH := g.Body*2.6, g.Body*1.4
	for i, said := range []string{g.Words.TalkKey, g.Words.PriorityKey, g.Words.ScanKey} {
		box := set.Run{Style: g.Regular(1), Wide: boxW, Drawn: func(c *set.Canvas, x, y float64) {
			top := y - g.Body/2 - boxH/2
			switch i {
			case 0:
				c.Bar(x, top, boxW, boxH)
				c.Pointer(x+g.Body*0.9, y-g.Body*0.1, g.Body*0.8, layout.White)
			case 1:
				c.Frame(x, top, boxW, boxH, gridHeavy)
			case 2:
				c.Pill(x, top, boxW, boxH, boxH/2, gridLight)
			}
		}}
		pieces = append(pieces, set.PieceOf(g.Body*1.6, box, g.white(g.Body*0.6), g.Regular(1).Say(strings.ReplaceAll(said, " ", layout.NoBreak))))
	}
	return pieces
}

// letterKey explains letters, and names the divisions where the columns do not.
func (g *gridder) letterKey() {
	if g.letters == nil || !g.Fits() {
		return
	}
	var pieces []set.Piece
	add := func(what, said string) {
		pieces = append(pieces, set.PieceOf(g.Bold(1).Space(), g.Bold(1).Say(what)))
		pieces = append(pieces, set.Words(g.Regular(1), said)...)
		pieces[len(pieces)-1].Space = g.Body * 1.6
	}
	for _, p := range g.Resolved.Plan.Positions {
		if l := g.letters[p.Name]; l != "" {
			add(l, p.Name)
		}
	}
	for _, d := range g.Resolved.Plan.Divisions {
		if d.Name != "" {
			add(d.ID, d.Name)
		}
	}
	if pieces == nil {
		return
	}
	lines, _ := set.BreakLines(soft(pieces), g.Width(), g.Width())
	g.Space(g.Body * 1.6)
	var blocks []set.Block
	for _, l := range lines {
		s := set.Stack{Lines: []set.Line{l}, Cap: g.Body}
		blocks = append(blocks, set.Drawn(g.line(), s.Draw))
	}
	g.Flow(set.Flow{Blocks: blocks})
}

const (
	talkWord  = 1.1  // capitals from the pointer to its word
	gridHeavy = 0.8  // mm: frame of what has priority
	gridLight = 0.35 // of what is scanned
)
