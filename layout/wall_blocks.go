package layout

import (
	"cmp"
	"slices"
	"strconv"
	"strings"

	"slotcard/fonts"
	"slotcard/plan"
)

// The blocks of the wall sheet behind the list: who works where, who scans
// what, and what is said in sentences.

// title is the heading of a block, again on each further page.
func (w *wall) title(text string, more float64, draw func(c *canvas, x, y float64, used int)) func(again bool, used int) block {
	head := w.bold(1.3)
	return func(again bool, used int) block {
		said := text
		if again {
			said += ", " + w.words.Again
		}
		h := head.cap() + w.body*1.5
		return drawn(h+more, func(c *canvas, x, y float64) {
			c.text(x, y+head.cap(), head, said)
			if draw != nil {
				draw(c, x, y+h, used)
			}
		})
	}
}

// crew is a division and who works in it.
type crew struct {
	division *plan.Division // nil: none
	list     *plan.List     // nil: nobody there carries a card
	units    []*plan.Unit
}

// crews are all divisions in the order of the plan, then the units without one.
func (w *wall) crews() []crew {
	var crews []crew
	for _, d := range append(append([]*plan.Division{}, w.r.Plan.Divisions...), nil) {
		cr := crew{division: d}
		for _, u := range w.r.Plan.Units {
			if d == nil && u.Division == "" || d != nil && u.Division == d.ID {
				cr.units = append(cr.units, u)
			}
		}
		for _, l := range w.r.Lists {
			for _, carrier := range l.Divisions {
				if carrier == d && d != nil {
					cr.list = l
				}
			}
			if d == nil && l.Shared {
				cr.list = l
			}
		}
		if d != nil || len(cr.units) > 0 {
			crews = append(crews, cr)
		}
	}
	return crews
}

// assignments places divisions with supervisor, channel and units.
func (w *wall) assignments() {
	key, mid := capStyle(fonts.Bold, w.key), capStyle(fonts.MonoBold, w.mid)
	num := capStyle(fonts.MonoBold, max(w.mid*0.8, w.body))
	size := grown(w.at.crew, growBody) // of what is said of a division
	crews := w.crews()
	if len(crews) == 0 {
		return
	}
	type post struct{ number, name string }
	posts := make([][]post, len(crews))
	idW, plateW, nameW := w.regular(1).width(w.words.DivisionHead), 0.0, w.body*10
	for i, cr := range crews {
		if cr.division == nil {
			continue
		}
		idW = max(idW, key.width(cr.division.ID))
		if cr.list == nil {
			continue
		}
		for n, s := range cr.list.Slots {
			if !s.UsedBy(cr.division) {
				continue
			}
			p := post{strconv.Itoa(n + 1), s.Channel.Name}
			posts[i] = append(posts[i], p)
			pw, _, _ := plateSize(num, p.number)
			plateW = max(plateW, pw)
			nameW = max(nameW, mid.width(p.name))
		}
	}
	if idW > w.width() {
		for _, cr := range crews {
			if d := cr.division; d != nil && key.width(d.ID) > w.width() {
				w.misfit(d.At("id"), "division", d.ID)
			}
		}
		return
	}
	gap, gutter := w.gutter(), w.gutter()*1.8
	fixed := idW + gap + plateW + w.body + nameW + gap
	n := max(1, int((w.width()+gutter)/(fixed+36*w.body*size+gutter)))
	n = min(n, max(1, (len(crews)+1)/2))
	colW := (w.width() - gutter*float64(n-1)) / float64(n)
	textX, textW := fixed, colW-fixed
	under := textW < 24*w.body*size // no room beside: the text goes below the letter's line
	if under {
		textX, textW = 0, colW
	}
	if idW+gap+plateW+w.body+nameW > colW+1e-6 { // only at large sizes of type
		w.misfit(w.r.Plan.Incident.At("name"), "assignments", w.words.Assignments)
		return
	}

	_, _, plateH := plateSize(num, "0")
	var blocks []block
	for i, cr := range crews {
		text := stack{lines: w.crewLines(cr, textW, size), cap: w.body * 1.15 * size, pitch: w.pitch() * size}
		const whole = 10 // lines that stay together; what follows may go to the next page
		more := text.lines[min(whole, len(text.lines)):]
		text.lines = text.lines[:len(text.lines)-len(more)]
		pad := max(w.key*0.24, w.body*0.5*size)
		postPitch := plateH + w.body*0.7
		large := 0.0
		if cr.division != nil {
			large = max(w.key, float64(len(posts[i]))*postPitch-w.body*0.7)
		}
		var none stack
		if cr.division != nil && len(posts[i]) == 0 {
			s := w.regular(1)
			none = s.stack(w.words.NoSlot, plateW+w.body+nameW, w.tight())
			large = max(large, none.height())
		}
		h := max(large, text.height()) + 2*pad
		textY := pad
		if under && large > 0 {
			textY = pad + large + w.body*1.6
			h = textY + text.height() + pad
		}
		if !under && text.height() < w.key { // small text stands on the letter's middle
			textY = pad + (max(large, text.height())-text.height())/2
		}
		blocks = append(blocks, drawn(h, func(c *canvas, x, y float64) {
			c.rule(x, x+colW, y, wallLight)
			if cr.division != nil {
				c.text(x, y+pad+w.key, key, cr.division.ID)
			}
			px, py := x+idW+gap, y+pad+w.key/2 // middle of the first channel
			for _, p := range posts[i] {
				pw, _, _ := plateSize(num, p.number)
				c.plate(px+plateW-pw, py+num.cap()/2, num, p.number, false)
				c.text(px+plateW+w.body, py+mid.cap()/2, mid, p.name)
				py += postPitch
			}
			none.draw(c, px, y+pad+max(w.key, none.height())/2-none.height()/2)
			text.draw(c, x+textX, y+textY)
		}))
		for _, l := range more {
			s := stack{lines: []line{l}, cap: w.body * size, pitch: w.pitch() * size}
			blocks = append(blocks, drawn(w.pitch()*size, func(c *canvas, x, y float64) { s.draw(c, x+textX, y) }))
		}
	}
	s := w.regular(1)
	head := w.title(w.words.Assignments, w.body*2.1, func(c *canvas, x, y float64, used int) {
		for i := range used {
			x := x + float64(i)*(colW+gutter)
			c.text(x, y+s.cap(), s, w.words.DivisionHead)
			c.text(x+idW+gap, y+s.cap(), s, w.words.Tactical)
			if !under {
				c.text(x+textX, y+s.cap(), s, w.words.CrewHead)
			}
		}
	})
	w.space(w.between())
	w.columns(w.words.Assignments, n, gutter, head, blocks)
}

// crewLines are the name of a division, its supervisor, and its units by team, at
// a size in parts of the body's.
func (w *wall) crewLines(cr crew, width, size float64) []line {
	title, bold, regular := w.bold(1.15*size), w.bold(size), w.regular(size)
	var lines []line
	if d := cr.division; d == nil {
		lines = append(lines, set(width, title.say(w.words.NoDivision))...)
	} else {
		name := d.Name
		if name == "" {
			name = w.words.title(d)
		}
		para := []run{title.say(name)}
		if d.Supervisor != "" {
			para = append(para, regular.say("  "+d.Supervisor))
		} else {
			para = append(para, regular.say("  "+w.words.NoSupervisor))
		}
		lines = append(lines, set(width, para...)...)
	}
	var teams []string
	byTeam := map[string][]string{}
	for _, u := range cr.units {
		if byTeam[u.Team] == nil {
			teams = append(teams, u.Team)
		}
		byTeam[u.Team] = append(byTeam[u.Team], u.Name)
	}
	for _, t := range teams {
		var para []run
		if t != "" {
			para = append(para, bold.say(t+": "))
		}
		lines = append(lines, set(width, append(para, regular.say(strings.Join(byTeam[t], ", ")))...)...)
	}
	if len(w.r.Lists) > 1 && cr.list != nil {
		lines = append(lines, set(width, []run{
			regular.say(w.words.ReadBackCode + " "), capStyle(fonts.MonoBold, w.body*size).say(cr.list.Code.Pairs()),
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

func (w *wall) earStyle() style { return w.bold(1) }

// piece is a slot number in the mark of what is done there: a plate for
// priority, round ends for scan, a pointer before it where one talks.
func (w *wall) piece(e ear) piece {
	s := w.earStyle()
	wide, _, _ := plateSize(s, e.number)
	if !e.priority && !e.scan {
		wide = s.width(e.number)
	}
	pointer := 0.0
	if e.talk {
		pointer = w.body * 1.15
	}
	p := pieceOf(w.body*0.5, run{wide: wide + pointer, drawn: func(c *canvas, x, y float64) {
		if e.talk {
			c.pointer(x, y, s.cap(), Black)
		}
		switch x += pointer; {
		case e.priority:
			c.plate(x, y, s, e.number, false)
		case e.scan:
			c.ring(x, y, s, e.number, false)
		default:
			c.text(x, y, s, e.number)
		}
	}})
	p.soft = true // where a field is narrower, it stands there all the same
	return p
}

// pieces are all marks of a field.
func (w *wall) pieces(ears []ear) []piece {
	out := make([]piece, len(ears))
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
	nameW := name.width(w.words.PositionHead)
	need := w.body * 9 // of a column
	for _, p := range positions {
		nameW = max(nameW, name.width(p.Name))
		for _, d := range divisions {
			need = max(need, lineOf(w.pieces(w.ears(p, d))...).wide)
		}
	}
	nameW = min(nameW, width*0.26)
	need = min(need, width-nameW-gap)
	letter := capStyle(fonts.Bold, w.mid)
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
		t.width = max(t.width, w.legend(new(canvas), w.legendLeft(true), 0)) // measured on a scrap of paper
		if t.width > w.width()+1e-6 {
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
	head  func(again bool, used int) block
	rows  []block
	width float64
}

// listeningAndTexts places who scans what, and the texts: side by side where
// that is wanted and the page has the room, else one below the other.
func (w *wall) listeningAndTexts() {
	if w.at.beside && w.beside() {
		return
	}
	mark := w.words.Listening
	for i, t := range w.listening(w.width(), false) {
		w.space(w.between())
		if i > 0 {
			mark = ""
		}
		w.columns(mark, 1, 0, t.head, t.rows)
	}
	n, gap := w.textColumns(w.width())
	w.space(w.between())
	w.columns(w.words.Instructions, n, gap, nil, w.texts((w.width()-gap*float64(n-1))/float64(n)))
}

// textColumns is how many columns of a readable width stand in a width.
func (w *wall) textColumns(width float64) (n int, gap float64) {
	gap = w.gutter() * 1.8
	return max(1, int((width+gap)/(44*w.body+gap))), gap
}

// beside tells whether it could place the texts right of who scans what.
func (w *wall) beside() bool {
	tables := w.listening(w.width(), true)
	if len(tables) != 1 {
		return false
	}
	t := tables[0]
	gutter := w.gutter() * 2.2
	x := t.width + gutter
	width := w.width() - x
	if width < 36*w.body {
		return false
	}
	n, gap := w.textColumns(width)
	texts := flow{blocks: w.texts((width - gap*float64(n-1)) / float64(n)), columns: n, gutter: gap, even: true, x: x, w: width}
	head := t.head(false, 1)
	h := head.h
	for _, r := range t.rows {
		h += r.h
	}
	fits := func(room float64) bool {
		_, ok := texts.fits(room)
		return ok && h <= room
	}
	if !fits(w.pageRoom()) {
		return false
	}
	w.space(w.between())
	if !fits(w.room()) {
		w.newPage()
	}
	w.page().bookmark(w.words.Listening, 0, w.y)
	w.page().bookmark(w.words.Instructions, 0, w.y)
	top := w.y
	w.flow(flow{blocks: append([]block{head}, t.rows...)})
	low := w.y
	w.y = top
	w.flow(texts)
	w.y = max(w.y, low)
	return true
}

// listeningHead is the title with the key to the marks, and the divisions.
func (w *wall) listeningHead(divisions []*plan.Division, nameW, cellW, gap float64, letter style) func(bool, int) block {
	small := w.regular(1)
	heads := make([]stack, len(divisions))
	h := small.cap()
	for i, d := range divisions {
		if d == nil {
			heads[i] = w.bold(1).stack(w.words.NoDivision, cellW, w.tight())
		} else {
			s, _ := shrink(letter, d.ID, letter.cap(), w.body, cellW)
			heads[i] = s.stack(d.ID, cellW, s.cap()*1.5)
		}
		h = max(h, heads[i].height())
	}
	head := w.bold(1.3)
	more := h + w.body*1.6
	return func(again bool, used int) block {
		b := w.title(w.words.Listening, more, func(c *canvas, x, y float64, _ int) {
			base := y + w.body*0.4 + h
			c.text(x, base, small, w.words.PositionHead)
			for i, col := range heads {
				col.draw(c, x+nameW+gap+float64(i)*(cellW+gap), base-col.height())
			}
		})(again, used)
		title := b.draw
		b.draw = func(c *canvas, x, y, h float64) {
			title(c, x, y, h)
			w.legend(c, x+w.legendLeft(again), y+head.cap())
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
	return w.bold(1.3).width(said) + w.body*4
}

// legend explains the marks, on one line, and returns its right end.
func (w *wall) legend(c *canvas, x, y float64) float64 {
	small := w.regular(1)
	for _, k := range []struct {
		ear  ear
		said string
	}{
		{ear{"1", false, true, false}, w.words.PriorityKey},
		{ear{"1", false, false, true}, w.words.ScanKey},
	} {
		mark := lineOf(w.piece(k.ear))
		c.line(x, y, mark)
		x = c.text(x+mark.wide+w.body*0.8, y, small, k.said) + w.body*2.6
	}
	c.pointer(x, y, w.earStyle().cap(), Black)
	return c.text(x+w.body*1.6, y, small, w.words.TalkKey)
}

func (w *wall) listeningRows(positions []*plan.Position, divisions []*plan.Division, nameW, cellW, gap float64) []block {
	s := w.bold(1)
	_, _, plateH := plateSize(w.earStyle(), "0")
	pitch := plateH + w.body*0.6
	var rows []block
	for _, p := range positions {
		name := s.stack(p.Name, nameW, w.pitch())
		cells := make([][]line, len(divisions))
		lines := 1
		for i, d := range divisions {
			cells[i], _ = breakLines(w.pieces(w.ears(p, d)), cellW, cellW)
			lines = max(lines, len(cells[i]))
		}
		w.parts += lines - 1
		pad := w.body * 0.5
		h := max(float64(lines)*pitch-w.body*0.6, name.height()+plateH-s.cap()) + 2*pad
		rows = append(rows, drawn(h, func(c *canvas, x, y float64) {
			c.rule(x, x+nameW+float64(len(divisions))*(cellW+gap), y, wallLight)
			base := y + pad + (plateH+s.cap())/2
			name.draw(c, x, base-s.cap())
			for i, cell := range cells {
				c.lines(x+nameW+gap+float64(i)*(cellW+gap), base, pitch, cell)
			}
		}))
	}
	return rows
}

// texts is what is said in sentences: special instructions, accepted
// exceptions, channels beside the list.
func (w *wall) texts(colW float64) []block {
	bold, regular := w.bold(1), w.regular(1)
	t := &texts{frame: &w.frame, wide: colW, above: w.body * 1.5}
	t.heading(w.words.Instructions)
	said := strings.TrimSpace(w.r.Plan.Incident.Instructions)
	if said == "" {
		said = w.words.NoInstructions
	}
	for i, para := range strings.Split(said, "\n") {
		if para = strings.TrimSpace(para); para == "" {
			continue
		}
		if i > 0 {
			t.white(w.body * 0.7)
		}
		t.say(false, regular.say(para))
	}

	t.heading(w.words.Exceptions)
	if len(w.r.Exceptions) == 0 {
		t.say(false, regular.say(w.words.NoExceptions))
	}
	for i, e := range w.r.Exceptions {
		if i > 0 {
			t.white(w.body * 0.7)
		}
		t.say(false, bold.say(e.Accept.Subject), regular.say(": "+e.Message+", "+w.words.Because+": "), regular.say(e.Accept.Because),
			regular.say(" ("+w.words.AnsweredBy+" "), bold.say(e.Accept.By), regular.say(")"))
	}
	if len(w.r.Also) > 0 {
		t.heading(w.words.OutOfList)
		w.also(t)
	}
	return t.blocks
}

// also adds the channels beside the list, each with how it is programmed.
func (w *wall) also(t *texts) {
	var all []tuning
	for _, a := range w.r.Also {
		all = append(all, w.tuning(a.Channel, a.Channel, a.Repeater, a.TxTone, a.ToneNumber))
	}
	u := w.tuner(all)
	s, name := w.regular(1), capStyle(fonts.MonoBold, w.body*1.15)
	head := drawn(w.pitch(), func(c *canvas, x, y float64) { w.tunerHead(c, u, x, y+s.cap()) })
	head.keep = true
	t.add(head)
	for i, a := range w.r.Also {
		said := stack{set(t.wide, name.say(a.Channel.Name), w.mono().say("  "+all[i].place), s.say("  "+a.When+"; "+all[i].remarks)),
			name.cap(), w.pitch()}
		tunerY := said.height() + w.tight()
		b := drawn(tunerY+float64(w.tunerLines(u, all[i])-1)*w.tight()+w.body*1.5, func(c *canvas, x, y float64) {
			said.draw(c, x, y)
			w.tunerDraw(c, u, all[i], x, y+tunerY)
		})
		b.keep = i < len(w.r.Also)-1 && len(w.r.Also) <= 4
		t.add(b)
	}
}
