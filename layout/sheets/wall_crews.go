package sheets

import (
	"cmp"
	"slices"
	"strconv"
	"strings"

	"slotcard/fonts"
	"slotcard/layout"
	"slotcard/layout/set"
	"slotcard/plan"
)

// The blocks of the wall sheet behind the list: who works where, who scans
// what, and what is said in sentences.

// title is the heading of a block, again on each further page.
func (w *wall) title(text string, more float64, draw func(c *set.Canvas, x, y float64, used int)) func(again bool, used int) set.Block {
	head := w.bold(1.3)
	return func(again bool, used int) set.Block {
		said := text
		if again {
			said += ", " + w.words.Again
		}
		h := head.Cap() + w.body*1.5
		return set.Drawn(h+more, func(c *set.Canvas, x, y float64) {
			c.Text(x, y+head.Cap(), head, said)
			if draw != nil {
				draw(c, x, y+h, used)
			}
		})
	}
}

// crewForm is the geometry of a column of assignments. Left edges count from the
// column's own.
type crewForm struct {
	key, mid, num       set.Style // division; name and number of a channel
	size                float64   // of what is said of a division, in parts of the body's
	channel             float64   // left edge of the channels
	plateW, nameW, colW float64
	textX, textW        float64
	under               bool // no room beside: the text goes below the letter's line
}

// post is a slot that a division uses.
type post struct{ number, name string }

// posts are the slots that a crew uses.
func posts(cr plan.Crew) (out []post) {
	if cr.Division == nil || cr.List == nil {
		return nil
	}
	for n, s := range cr.List.Slots {
		if s.UsedBy(cr.Division) {
			out = append(out, post{strconv.Itoa(n + 1), s.Channel.Name})
		}
	}
	return out
}

// assignments places divisions with supervisor, channel and units.
func (w *wall) assignments() {
	crews := w.r.Crews()
	if len(crews) == 0 {
		return
	}
	f := crewForm{key: set.CapStyle(fonts.Bold, w.key), mid: set.CapStyle(fonts.MonoBold, w.mid),
		num: set.CapStyle(fonts.MonoBold, max(w.mid*0.8, w.body)), size: grown(w.at.crew, growBody), nameW: w.body * 10}
	idW := w.regular(1).Width(w.words.DivisionHead)
	for _, cr := range crews {
		if d := cr.Division; d != nil {
			if idW = max(idW, f.key.Width(d.ID)); f.key.Width(d.ID) > w.Width() {
				w.misfit(d.At("id"), "division", d.ID)
			}
		}
		for _, p := range posts(cr) {
			pw, _, _ := set.PlateSize(f.num, p.number)
			f.plateW, f.nameW = max(f.plateW, pw), max(f.nameW, f.mid.Width(p.name))
		}
	}
	if idW > w.Width() {
		return
	}
	gap, gutter := w.gutter(), w.gutter()*1.8
	f.channel = idW + gap
	fixed := f.channel + f.plateW + w.body + f.nameW + gap
	n := max(1, int((w.Width()+gutter)/(fixed+36*w.body*f.size+gutter)))
	n = min(n, max(1, (len(crews)+1)/2))
	f.colW = (w.Width() - gutter*float64(n-1)) / float64(n)
	f.textX, f.textW = fixed, f.colW-fixed
	if f.under = f.textW < 24*w.body*f.size; f.under {
		f.textX, f.textW = 0, f.colW
	}
	if fixed-gap > f.colW+set.Tolerance { // only at large sizes of type
		w.misfit(w.r.Plan.Incident.At("name"), "assignments", w.words.Assignments)
		return
	}
	var blocks []set.Block
	for _, cr := range crews {
		blocks = append(blocks, w.crewBlocks(f, cr)...)
	}
	s := w.regular(1)
	head := w.title(w.words.Assignments, w.body*2.1, func(c *set.Canvas, x, y float64, used int) {
		for i := range used {
			x := x + float64(i)*(f.colW+gutter)
			c.Text(x, y+s.Cap(), s, w.words.DivisionHead)
			c.Text(x+f.channel, y+s.Cap(), s, w.words.Tactical)
			if !f.under {
				c.Text(x+f.textX, y+s.Cap(), s, w.words.CrewHead)
			}
		}
	})
	w.Space(w.between())
	w.columns(w.words.Assignments, n, gutter, head, blocks)
}

// crewBlocks are a division with its channels and the first lines of what is said
// of it, then each line that may go to the next page.
func (w *wall) crewBlocks(f crewForm, cr plan.Crew) []set.Block {
	const whole = 10 // lines that stay together
	text := set.Stack{Lines: w.crewLines(cr, f.textW, f.size), Cap: w.body * 1.15 * f.size, Pitch: w.pitch() * f.size}
	more := text.Lines[min(whole, len(text.Lines)):]
	text.Lines = text.Lines[:len(text.Lines)-len(more)]
	pad := max(w.key*0.24, w.body*0.5*f.size)
	posts := posts(cr)
	_, _, plateH := set.PlateSize(f.num, "0")
	pitch := plateH + w.body*0.7
	large := 0.0
	var none set.Stack
	if cr.Division != nil {
		large = max(w.key, float64(len(posts))*pitch-w.body*0.7)
		if len(posts) == 0 {
			none = w.regular(1).Stack(w.words.NoSlot, f.plateW+w.body+f.nameW, w.tight())
			large = max(large, none.Height())
		}
	}
	h, textY := max(large, text.Height())+2*pad, pad
	switch {
	case f.under && large > 0:
		textY = pad + large + w.body*1.6
		h = textY + text.Height() + pad
	case !f.under && text.Height() < w.key: // small text stands on the letter's middle
		textY = pad + (max(large, text.Height())-text.Height())/2
	}
	blocks := []set.Block{set.Drawn(h, func(c *set.Canvas, x, y float64) {
		c.Rule(x, x+f.colW, y, wallLight)
		if cr.Division != nil {
			c.Text(x, y+pad+w.key, f.key, cr.Division.ID)
		}
		px, py := x+f.channel, y+pad+w.key/2 // middle of the first channel
		for _, p := range posts {
			pw, _, _ := set.PlateSize(f.num, p.number)
			c.Plate(px+f.plateW-pw, py+f.num.Cap()/2, f.num, p.number, false)
			c.Text(px+f.plateW+w.body, py+f.mid.Cap()/2, f.mid, p.name)
			py += pitch
		}
		none.Draw(c, px, y+pad+max(w.key, none.Height())/2-none.Height()/2)
		text.Draw(c, x+f.textX, y+textY)
	})}
	for _, l := range more {
		s := set.Stack{Lines: []set.Line{l}, Cap: w.body * f.size}
		blocks = append(blocks, set.Drawn(w.pitch()*f.size, func(c *set.Canvas, x, y float64) { s.Draw(c, x+f.textX, y) }))
	}
	return blocks
}

// crewLines are the name of a division, its supervisor, and its units by team, at
// a size in parts of the body's.
func (w *wall) crewLines(cr plan.Crew, width, size float64) []set.Line {
	title, bold, regular := w.bold(1.15*size), w.bold(size), w.regular(size)
	var lines []set.Line
	if d := cr.Division; d == nil {
		lines = append(lines, set.Paragraph(width, title.Say(w.words.NoDivision))...)
	} else {
		name := d.Name
		if name == "" {
			name = w.words.Called(d)
		}
		para := []set.Run{title.Say(name)}
		if d.Supervisor != "" {
			para = append(para, regular.Say("  "+d.Supervisor))
		} else {
			para = append(para, regular.Say("  "+w.words.NoSupervisor))
		}
		lines = append(lines, set.Paragraph(width, para...)...)
	}
	var teams []string
	byTeam := map[string][]string{}
	for _, u := range cr.Units {
		if byTeam[u.Team] == nil {
			teams = append(teams, u.Team)
		}
		byTeam[u.Team] = append(byTeam[u.Team], u.Name)
	}
	for _, t := range teams {
		var para []set.Run
		if t != "" {
			para = append(para, bold.Say(t+": "))
		}
		lines = append(lines, set.Paragraph(width, append(para, regular.Say(strings.Join(byTeam[t], ", ")))...)...)
	}
	if len(w.r.Lists) > 1 && cr.List != nil {
		lines = append(lines, set.Paragraph(width, []set.Run{
			regular.Say(w.words.ReadBackCode + " "), set.CapStyle(fonts.MonoBold, w.body*size).Say(cr.List.Code.Pairs()),
		}...)...)
	}
	return lines
}

// ear is what the seats of one position in one division listen to.
type ear struct {
	number               string
	talk, priority, scan bool
}

func (e ear) rank() int {
	switch {
	case e.talk:
		return 0
	case e.priority:
		return 1
	}
	return 2
}

// ears are the marks of the first card of a position in a division: all cards
// of both have the same.
func (w *wall) ears(p *plan.Position, d *plan.Division) []ear {
	for _, c := range w.r.Cards {
		if c.Position != p || c.Division != d {
			continue
		}
		var ears []ear
		for i, m := range c.Marks {
			if m.Talk || m.Priority || m.Scan {
				ears = append(ears, ear{strconv.Itoa(i + 1), m.Talk, m.Priority, m.Scan})
			}
		}
		// Where one talks and what has priority come first, so that they line up.
		slices.SortStableFunc(ears, func(a, b ear) int { return cmp.Compare(a.rank(), b.rank()) })
		return ears
	}
	return nil
}

func (w *wall) earStyle() set.Style { return w.bold(1) }

// piece is a slot number in the mark of what is done there: a plate for
// priority, round ends for scan, a pointer before it where one talks.
func (w *wall) piece(e ear) set.Piece {
	s := w.earStyle()
	wide, _, _ := set.PlateSize(s, e.number)
	if !e.priority && !e.scan {
		wide = s.Width(e.number)
	}
	pointer := 0.0
	if e.talk {
		pointer = w.body * 1.15
	}
	p := set.PieceOf(w.body*0.5, set.Run{Wide: wide + pointer, Drawn: func(c *set.Canvas, x, y float64) {
		if e.talk {
			c.Pointer(x, y, s.Cap(), layout.Black)
		}
		switch x += pointer; {
		case e.priority:
			c.Plate(x, y, s, e.number, false)
		case e.scan:
			c.Ring(x, y, s, e.number, false)
		default:
			c.Text(x, y, s, e.number)
		}
	}})
	p.Soft = true // where a field is narrower, it stands there all the same
	return p
}

// pieces are all marks of a field.
func (w *wall) pieces(ears []ear) []set.Piece {
	out := make([]set.Piece, len(ears))
	for i, e := range ears {
		out[i] = w.piece(e)
	}
	return out
}

// listening is who scans what: positions down, divisions across, in several
// tables where the width does not hold all divisions.
func (w *wall) listening(width float64, narrow bool) (tables []matrix) {
	var positions []*plan.Position
	for _, p := range w.r.Plan.Positions {
		for _, c := range w.r.Cards {
			if c.Position == p {
				positions = append(positions, p)
				break
			}
		}
	}
	var divisions []*plan.Division
	for _, d := range append(append([]*plan.Division{}, w.r.Plan.Divisions...), nil) {
		for _, c := range w.r.Cards {
			if c.Division == d {
				divisions = append(divisions, d)
				break
			}
		}
	}
	if len(positions) == 0 || len(divisions) == 0 {
		return nil
	}
	gap := w.body * 1.6
	name := w.bold(1)
	nameW := name.Width(w.words.PositionHead)
	need := w.body * 9 // of a column
	for _, p := range positions {
		nameW = max(nameW, name.Width(p.Name))
		for _, d := range divisions {
			need = max(need, set.LineOf(w.pieces(w.ears(p, d))...).Wide)
		}
	}
	nameW = min(nameW, width*0.26)
	need = min(need, width-nameW-gap)
	letter := set.CapStyle(fonts.Bold, w.mid)
	fits := min(len(divisions), int((width-nameW)/(need+gap)))
	if fits < len(divisions) { // cells of several lines, before a second table
		fits = max(fits, min(len(divisions), int((width-nameW)/(w.body*10+gap))))
	}
	fits = max(1, fits)
	for len(divisions) > 0 {
		n := min(fits, len(divisions))
		some := divisions[:n]
		divisions = divisions[n:]
		// No wider than the marks ask for: they belong together.
		cellW := min((width-nameW)/float64(n)-gap, max(need, w.body*14)*1.25)
		if narrow {
			cellW = min(cellW, need)
		}
		t := matrix{head: w.listeningHead(some, nameW, cellW, gap, letter), width: nameW + float64(n)*(cellW+gap)}
		t.width = max(t.width, w.legend(new(set.Canvas), w.legendLeft(true), 0)) // measured on a scrap of paper
		if t.width > w.Width()+1e-6 {
			w.misfit(w.r.Plan.Incident.At("name"), "key to the marks", w.words.Listening)
		}
		used := slices.DeleteFunc(slices.Clone(positions), func(p *plan.Position) bool {
			return !slices.ContainsFunc(some, func(d *plan.Division) bool { return len(w.ears(p, d)) > 0 })
		})
		t.rows = w.listeningRows(used, some, nameW, cellW, gap)
		if len(t.rows) > 0 {
			tables = append(tables, t)
		}
	}
	return tables
}

// matrix is a table with a head that is repeated.
type matrix struct {
	head  func(again bool, used int) set.Block
	rows  []set.Block
	width float64
}

// listeningAndTexts places who scans what, and the texts: side by side where
// that is wanted and the page has the room, else one below the other.
func (w *wall) listeningAndTexts() {
	if w.at.beside && w.beside() {
		return
	}
	mark := w.words.Listening
	for i, t := range w.listening(w.Width(), false) {
		w.Space(w.between())
		if i > 0 {
			mark = ""
		}
		w.columns(mark, 1, 0, t.head, t.rows)
	}
	n, gap := w.textColumns(w.Width())
	w.Space(w.between())
	w.columns(w.words.Instructions, n, gap, nil, w.texts((w.Width()-gap*float64(n-1))/float64(n)))
}

// textColumns is how many columns of a readable width stand in a width.
func (w *wall) textColumns(width float64) (n int, gap float64) {
	gap = w.gutter() * 1.8
	return max(1, int((width+gap)/(44*w.body+gap))), gap
}

// beside tells whether it could place the texts right of who scans what.
func (w *wall) beside() bool {
	tables := w.listening(w.Width(), true)
	if len(tables) != 1 {
		return false
	}
	t := tables[0]
	gutter := w.gutter() * 2.2
	x := t.width + gutter
	width := w.Width() - x
	if width < 36*w.body {
		return false
	}
	n, gap := w.textColumns(width)
	texts := set.Flow{Blocks: w.texts((width - gap*float64(n-1)) / float64(n)), Columns: n, Gutter: gap, Even: true, X: x, W: width}
	head := t.head(false, 1)
	h := head.H
	for _, r := range t.rows {
		h += r.H
	}
	fits := func(room float64) bool {
		_, ok := texts.Fits(room)
		return ok && h <= room
	}
	if !fits(w.pageRoom()) {
		return false
	}
	w.Space(w.between())
	if !fits(w.Room()) {
		w.NewPage()
	}
	w.Page().Bookmark(w.words.Listening, 0, w.Y)
	w.Page().Bookmark(w.words.Instructions, 0, w.Y)
	top := w.Y
	w.Flow(set.Flow{Blocks: append([]set.Block{head}, t.rows...)})
	low := w.Y
	w.Y = top
	w.Flow(texts)
	w.Y = max(w.Y, low)
	return true
}

// listeningHead is the title with the key to the marks, and the divisions.
func (w *wall) listeningHead(divisions []*plan.Division, nameW, cellW, gap float64, letter set.Style) func(bool, int) set.Block {
	small := w.regular(1)
	heads := make([]set.Stack, len(divisions))
	h := small.Cap()
	for i, d := range divisions {
		if d == nil {
			heads[i] = w.bold(1).Stack(w.words.NoDivision, cellW, w.tight())
		} else {
			s, _ := set.Shrink(letter, d.ID, letter.Cap(), w.body, cellW)
			heads[i] = s.Stack(d.ID, cellW, s.Cap()*1.5)
		}
		h = max(h, heads[i].Height())
	}
	head := w.bold(1.3)
	more := h + w.body*1.6
	return func(again bool, used int) set.Block {
		b := w.title(w.words.Listening, more, func(c *set.Canvas, x, y float64, _ int) {
			base := y + w.body*0.4 + h
			c.Text(x, base, small, w.words.PositionHead)
			for i, col := range heads {
				col.Draw(c, x+nameW+gap+float64(i)*(cellW+gap), base-col.Height())
			}
		})(again, used)
		title := b.Draw
		b.Draw = func(c *set.Canvas, x, y, h float64) {
			title(c, x, y, h)
			w.legend(c, x+w.legendLeft(again), y+head.Cap())
		}
		return b
	}
}

// legendLeft is where the key to the marks begins, behind its heading.
func (w *wall) legendLeft(again bool) float64 {
	said := w.words.Listening
	if again {
		said += ", " + w.words.Again
	}
	return w.bold(1.3).Width(said) + w.body*4
}

// legend explains the marks, on one line, and returns its right end.
func (w *wall) legend(c *set.Canvas, x, y float64) float64 {
	small := w.regular(1)
	for _, k := range []struct {
		ear  ear
		said string
	}{
		{ear{"1", false, true, false}, w.words.PriorityKey},
		{ear{"1", false, false, true}, w.words.ScanKey},
	} {
		mark := set.LineOf(w.piece(k.ear))
		c.Line(x, y, mark)
		x = c.Text(x+mark.Wide+w.body*0.8, y, small, k.said) + w.body*2.6
	}
	c.Pointer(x, y, w.earStyle().Cap(), layout.Black)
	return c.Text(x+w.body*1.6, y, small, w.words.TalkKey)
}

func (w *wall) listeningRows(positions []*plan.Position, divisions []*plan.Division, nameW, cellW, gap float64) []set.Block {
	s := w.bold(1)
	_, _, plateH := set.PlateSize(w.earStyle(), "0")
	pitch := plateH + w.body*0.6
	var rows []set.Block
	for _, p := range positions {
		name := s.Stack(p.Name, nameW, w.pitch())
		cells := make([][]set.Line, len(divisions))
		lines := 1
		for i, d := range divisions {
			cells[i], _ = set.BreakLines(w.pieces(w.ears(p, d)), cellW, cellW)
			lines = max(lines, len(cells[i]))
		}
		w.parts += lines - 1
		pad := w.body * 0.5
		h := max(float64(lines)*pitch-w.body*0.6, name.Height()+plateH-s.Cap()) + 2*pad
		rows = append(rows, set.Drawn(h, func(c *set.Canvas, x, y float64) {
			c.Rule(x, x+nameW+float64(len(divisions))*(cellW+gap), y, wallLight)
			base := y + pad + (plateH+s.Cap())/2
			name.Draw(c, x, base-s.Cap())
			for i, cell := range cells {
				c.Lines(x+nameW+gap+float64(i)*(cellW+gap), base, pitch, cell)
			}
		}))
	}
	return rows
}

// texts is what is said in sentences: special instructions, accepted
// exceptions, channels beside the list.
func (w *wall) texts(colW float64) []set.Block {
	bold, regular := w.bold(1), w.regular(1)
	t := w.frame.texts(colW, w.body*1.5)
	t.Heading(w.words.Instructions)
	said := strings.TrimSpace(w.fill(w.r.Plan.Incident.Instructions, nil))
	if said == "" {
		said = w.words.NoInstructions
	}
	for i, para := range strings.Split(said, "\n") {
		if para = strings.TrimSpace(para); para == "" {
			continue
		}
		if i > 0 {
			t.White(w.body * 0.7)
		}
		t.Say(false, regular.Say(para))
	}

	t.Heading(w.words.Exceptions)
	if len(w.r.Exceptions) == 0 {
		t.Say(false, regular.Say(w.words.NoExceptions))
	}
	for i, e := range w.r.Exceptions {
		if i > 0 {
			t.White(w.body * 0.7)
		}
		t.Say(false, bold.Say(e.Accept.Subject), regular.Say(": "+e.Message+", "+w.words.Because+": "), regular.Say(e.Accept.Because),
			regular.Say(" ("+w.words.AnsweredBy+" "), bold.Say(e.Accept.By), regular.Say(")"))
	}
	if len(w.r.Also) > 0 {
		t.Heading(w.words.OutOfList)
		w.also(t)
	}
	return t.Blocks
}

// also adds the channels beside the list, each with how it is programmed.
func (w *wall) also(t *set.Texts) {
	var all []tuning
	for _, a := range w.r.Also {
		all = append(all, w.tuningOf(nil, a.Channel, a.Channel, a.Repeater, a.TxTone, a.ToneNumber))
	}
	u := w.tuner(all)
	s, name := w.regular(1), set.CapStyle(fonts.MonoBold, w.body*1.15)
	head := set.Drawn(w.pitch(), func(c *set.Canvas, x, y float64) { w.tunerHead(c, u, x, y+s.Cap()) })
	head.Keep = true
	t.Add(head)
	for i, a := range w.r.Also {
		said := set.Stack{Lines: set.Paragraph(t.Wide, name.Say(a.Channel.Name), w.mono().Say("  "+all[i].place), s.Say("  "+w.fill(a.When, nil)+"; "+all[i].remarks)),
			Cap: name.Cap(), Pitch: w.pitch()}
		tunerY := said.Height() + w.tight()
		b := set.Drawn(tunerY+float64(w.tunerLines(u, all[i])-1)*w.tight()+w.body*1.5, func(c *set.Canvas, x, y float64) {
			said.Draw(c, x, y)
			w.tunerDraw(c, u, all[i], x, y+tunerY)
		})
		b.Keep = i < len(w.r.Also)-1 && len(w.r.Also) <= 4
		t.Add(b)
	}
}
