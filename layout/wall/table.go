package wall

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"slotcard/fonts"
	"slotcard/layout"
	"slotcard/layout/frame"
	"slotcard/layout/set"
	"slotcard/layout/words"
	"slotcard/plan"
	"slotcard/plan/radio"
)

// The tables of the wall sheet: a row for each slot, its position white on a black
// strip, its name and divisions large beside it, then the plan sheet's columns. Lists
// that share most of their slots share a table, with a strip for each list.

// table is one or several lists.
type table struct {
	lists []*plan.List
	rows  []tableRow
}

// tableRow is a slot in words.
type tableRow struct {
	tuning
	slot      *plan.ResolvedSlot
	at        []string // its position in each list; "": not in it
	name, ids string   // ids of its divisions
	use       string
}

// tuning is how a channel is programmed, in words.
type tuning struct {
	place            string // group and channel number
	rx, tx           string
	rxWidth, txWidth string
	rxTone, txTone   string
	mode             string
	system, group    string // of a talkgroup, in place of frequencies
	remarks          string
}

// tablesOf puts lists together that share most of their slots, up to so many.
func tablesOf(r *plan.Resolved, w *words.WallWords, most int) (tables []*table) {
	for _, l := range r.Lists {
		into := slices.IndexFunc(tables, func(t *table) bool { return len(t.lists) < most && 2*t.shares(l) > len(l.Slots) })
		if into < 0 {
			tables = append(tables, &table{lists: []*plan.List{l}})
			continue
		}
		tables[into].lists = append(tables[into].lists, l)
	}
	for _, t := range tables {
		for _, s := range r.Slots {
			row := tableRow{slot: s, name: s.Channel.Name, use: w.Uses[s.Use]}
			var places []string
			in := false
			for _, l := range t.lists {
				n := slices.Index(l.Slots, s)
				row.at = append(row.at, "")
				if n < 0 {
					continue
				}
				in = true
				row.at[len(row.at)-1] = strconv.Itoa(n + 1)
				if p := l.Place(n).Place(); !slices.Contains(places, p) {
					places = append(places, p)
				}
			}
			if !in {
				continue
			}
			var l *plan.List
			if len(t.lists) == 1 {
				l = t.lists[0]
			}
			row.tuning = tuningOf(r, w, l, s.Channel, s.Repeater, s.TxTone, s.ToneNumber)
			row.place = strings.Join(places, ", ")
			if row.remarks == w.DirectNote && s.Use == radio.Tactical {
				row.remarks = "" // as tacticals are
			}
			var ids, carriers []string
			for _, d := range s.Users {
				ids = append(ids, d.ID)
			}
			for _, d := range s.Carriers {
				carriers = append(carriers, d.ID)
			}
			row.ids = strings.Join(ids, ", ")
			if l != nil && len(carriers) > 0 {
				row.remarks = joinedBy("; ", row.remarks, words.Filled(w.CarriedBy, "ids", strings.Join(carriers, ", ")))
			}
			t.rows = append(t.rows, row)
		}
	}
	return tables
}

// position is that in the first list that holds the slot.
func (r *tableRow) position() int {
	for _, at := range r.at {
		if n, err := strconv.Atoi(at); err == nil {
			return n
		}
	}
	return 0
}

// shares counts the slots of a list that a table holds.
func (t *table) shares(l *plan.List) (n int) {
	for _, s := range l.Slots {
		if slices.ContainsFunc(t.lists, func(o *plan.List) bool { return slices.Contains(o.Slots, s) }) {
			n++
		}
	}
	return n
}

// joinedBy joins what is not empty.
func joinedBy(by string, parts ...string) string {
	return strings.Join(slices.DeleteFunc(parts, func(s string) bool { return s == "" }), by)
}

// tuningOf a channel; the list is the one that it stands in, nil: none, or several.
func tuningOf(r *plan.Resolved, w *words.WallWords, l *plan.List, ch *plan.Channel, site *plan.Site, tone radio.Squelch, number int) tuning {
	letter := [...]string{w.NarrowLetter, w.WideLetter}[ch.Width]
	t := tuning{place: ch.Place(), mode: w.ModeLetters[ch.Mode]}
	remarks := w.FillText(r, ch.Remarks, l)
	said := ""
	switch {
	case ch.Trunked():
		t.system, t.group = ch.System, ch.Talkgroup
	case ch.Repeated():
		said = w.Repeated
		if site != nil {
			said = words.Filled(w.RepeatedBy, "site", site.Name)
		}
		if number > 0 {
			said += fmt.Sprintf(", %s%s%d", w.Tone, layout.NoBreak, number)
		}
	case !slices.ContainsFunc(strings.FieldsFunc(remarks, func(r rune) bool { return strings.ContainsRune(" ,;.", r) }), func(s string) bool {
		return strings.EqualFold(s, w.DirectNote)
	}):
		said = w.DirectNote
	}
	if !ch.Trunked() {
		f := ch.Figures(tone)
		t.rx, t.tx, t.rxTone, t.txTone = f.Rx, f.Tx, f.RxTone, f.TxTone
		t.rxWidth, t.txWidth = letter, letter
		if ch.RxTone.IsZero() {
			t.rxTone = w.NoTone
		}
		if tone.IsZero() {
			t.txTone = w.NoTone
		}
	}
	t.remarks = joinedBy("; ", said, remarks)
	return t
}

// tuner is the geometry of a column of tunings: receive above transmit, so that
// the eye compares digit with digit, or one beside the other.
type tuner struct {
	one                     bool    // on one line
	freq, width, tone, mode float64 // left edges
	second                  float64 // that of transmit, beside receive
	total                   float64
}

func (w *wall) tuner(rows []tableRow, one bool) tuner {
	mono, gap := w.Mono(), w.Body*1.1
	freq, tone := w.Body*4, mono.Width("000.0")
	for _, t := range rows {
		freq = max(freq, mono.Width(t.rx), mono.Width(t.tx))
		tone = max(tone, mono.Width(t.rxTone), mono.Width(t.txTone))
	}
	label := w.Regular(1)
	u := tuner{one: one}
	if !one {
		u.freq = max(label.Width(w.Words.ReceiveShort), label.Width(w.Words.TransmitShort)) + w.Body*0.7
	}
	u.width = u.freq + freq + mono.Space()*0.6
	u.tone = max(u.width+mono.Space()*1.9, u.freq+w.Small(1).Width(w.Words.Frequency)+w.Body*0.5)
	end := max(u.tone+tone, u.tone+w.Small(1).Width(w.Words.ToneNAC)) + gap
	u.mode = end
	if one {
		u.second = end
		u.mode = 2 * end
	}
	u.total = u.mode + max(mono.Space(), w.Small(1).Width(w.Words.Mode))
	return u
}

// head sets the titles of the columns on a baseline.
func (w *wall) tunerHead(c *set.Canvas, u tuner, x, y float64) {
	s := w.Small(1)
	heads := []string{w.Words.Frequency}
	if u.one {
		heads = []string{w.Words.ReceiveShort, w.Words.TransmitShort}
	}
	for i, said := range heads {
		c.Text(x+float64(i)*u.second+u.freq, y, s, said)
		c.Text(x+float64(i)*u.second+u.tone, y, s, w.Words.ToneNAC)
	}
	c.Text(x+u.mode, y, s, w.Words.Mode)
}

// talkgroupLines stand where a conventional channel has its frequencies and tones.
func (w *wall) talkgroupLines(u tuner, t tuning) []set.Line {
	return set.Paragraph(u.mode-w.Body*0.6,
		w.Regular(1).Say(w.Words.System+" "), w.Bold(1).Say(t.system), w.Regular(1).Say(" "+w.Words.Talkgroup+" "), w.Bold(1).Say(t.group))
}

// tunerHeight is from the top of the first line to the last baseline.
func (w *wall) tunerHeight(u tuner, t tuning) float64 {
	lines := 2
	switch {
	case t.system != "":
		lines = len(w.talkgroupLines(u, t))
	case u.one:
		lines = 1
	}
	return w.Body + float64(lines-1)*w.line()
}

// tunerDraw draws a tuning with the first line's baseline on y.
func (w *wall) tunerDraw(c *set.Canvas, u tuner, t tuning, x, y float64) {
	mono := w.Mono()
	line := func(x, y float64, label, freq, width, tone string) {
		if !u.one {
			c.Text(x, y, w.Regular(1), label)
		}
		c.TextRight(x+u.width-mono.Space()*0.6, y, mono, freq)
		c.Text(x+u.width, y, mono, width)
		c.Text(x+u.tone, y, mono, tone)
	}
	switch {
	case t.system != "":
		c.Lines(x, y, w.line(), w.talkgroupLines(u, t))
	case u.one:
		line(x, y, "", t.rx, t.rxWidth, t.rxTone)
		line(x+u.second, y, "", t.tx, t.txWidth, t.txTone)
	default:
		line(x, y, w.Words.ReceiveShort, t.rx, t.rxWidth, t.rxTone)
		line(x, y+w.line(), w.Words.TransmitShort, t.tx, t.txWidth, t.txTone)
	}
	c.Text(x+u.mode, y, mono, t.mode)
}

// line is the pitch of lines on the wall.
func (w *wall) line() float64 { return w.Body * 1.6 }

// tableForm is the geometry of a table. Left edges count from the table's own.
type tableForm struct {
	strip    float64 // width of a column of positions
	name     float64
	ids      float64
	idsW     float64 // 0: no slot has a division
	tuner    float64
	place    float64 // of group and channel number
	said     float64 // of use and remarks
	saidW    float64
	under    bool // these stand below the name
	deep     bool // and the tuning below them, in type that leaves no room beside
	right    float64
	u        tuner
	gap      float64
	heights  []float64
	total    float64 // of all rows
	saids    []set.Stack
	idStacks []set.Stack
}

// tableForm is the form in which a table is lowest in a width; not ok: in none it
// is narrow enough.
func (w *wall) tableForm(t *table, width float64) (tableForm, bool) {
	key := formKey{t, w.meters, w.slot, width}
	f := w.forms[key]
	if f == nil {
		f = new(formed)
		f.tableForm, f.ok = w.findForm(t, width)
		w.forms[key] = f
	}
	return f.tableForm, f.ok
}

func (w *wall) findForm(t *table, width float64) (best tableForm, ok bool) {
	key, mono := set.CapStyle(fonts.Bold, w.slot), set.CapStyle(fonts.MonoBold, w.slot)
	number, name, ids, one, place := 0.0, w.Small(1).Width(w.Words.Name), 0.0, 0.0, w.Small(1).Width(w.Words.GroupChannel)
	for _, r := range t.rows {
		for _, at := range r.at {
			number = max(number, mono.Width(at))
		}
		name = max(name, mono.Width(r.name))
		ids = max(ids, key.Width(r.ids))
		for _, d := range r.slot.Users {
			one = max(one, key.Width(d.ID+","))
		}
		place = max(place, w.Mono().Width(r.place))
	}
	gap := w.Key * 0.7
	f := tableForm{right: width, gap: gap}
	f.strip = max(number+w.slot*0.8, w.Small(1).Width(w.Words.Slot)+w.Body)
	f.name = f.strip*float64(len(t.lists)) + gap*0.8
	f.ids = f.name + name + max(gap, w.slot*1.1) // so that a letter is not read as part of the name
	widths := []float64{0}
	if ids > 0 {
		head := w.Small(1).Width(w.Words.DivisionHead)
		widths = []float64{max(ids, head)}
		if least := max(one, min(ids, width*0.12), head); least < ids {
			widths = append(widths, least)
		}
	}
	for _, idsW := range widths {
		for _, oneLine := range []bool{false, true} {
			for _, where := range []struct{ under, deep bool }{{}, {under: true}, {true, true}} {
				if where.deep && ok {
					continue
				}
				try := f
				try.idsW, try.under, try.deep, try.u = idsW, where.under, where.deep, w.tuner(t.rows, oneLine)
				if try.arrange(w, place) && w.measure(&try, t) && (!ok || try.total < best.total-set.Tolerance) {
					best, ok = try, true
				}
			}
		}
	}
	return best, ok
}

// arrange puts what stands behind the divisions side by side; not ok: that is too wide.
func (f *tableForm) arrange(w *wall, place float64) bool {
	x := f.ids
	if f.idsW > 0 {
		x += f.idsW + f.gap
	}
	const said = 13 // least width of use and remarks, in cap heights
	if f.deep {
		f.said, f.saidW, f.tuner = f.name, f.right-f.name, f.name
		f.place = f.name + f.u.total + f.gap
		return x-f.gap <= f.right && f.place+place <= f.right && f.saidW >= said*w.Body
	}
	if f.under {
		f.said, f.saidW = f.name, x-f.gap-f.name
		if f.saidW < said*w.Body { // a short name stands beside much white
			x = f.name + said*w.Body + f.gap
			f.saidW = said * w.Body
		}
		f.place = f.right - place
		f.tuner = f.place - f.gap - f.u.total
		if extra := f.tuner - x; extra > 0 {
			f.saidW += extra
		}
		return f.tuner >= x-set.Tolerance
	}
	f.tuner = x
	f.place = x + f.u.total + f.gap
	f.said = f.place + place + f.gap
	f.saidW = f.right - f.said
	return f.saidW >= max(said*w.Body, w.Small(1).Width(w.Words.Function))
}

// measure sets the rows in a form; not ok: a word in them is too wide.
func (w *wall) measure(f *tableForm, t *table) bool {
	bold, regular, key := w.Bold(1), w.Regular(1), set.CapStyle(fonts.Bold, w.slot)
	for _, r := range t.rows {
		said := []set.Run{bold.Say(r.use)}
		if r.remarks != "" {
			said = append(said, regular.Say("  "+r.remarks))
		}
		s := set.Stack{Lines: set.Paragraph(f.saidW, said...), Cap: w.Body, Pitch: w.line()}
		ids := set.Stack{}
		if r.ids != "" {
			ids = key.Stack(r.ids, f.idsW, key.Cap()*1.4)
		}
		large := max(w.slot, ids.Height())
		if strings.Contains(r.ids, ",") {
			large += w.slot * 0.13 // what hangs below the line stays clear of the rule
		}
		details := w.tunerHeight(f.u, r.tuning)
		if f.under {
			large += w.drop() + s.Height()
		}
		if f.deep {
			large, details = large+w.Body*0.7+details, 0
		}
		if !f.under {
			details = max(details, s.Height())
		}
		above := max(w.air(set.CapStyle(fonts.MonoBold, w.slot), r.name), w.air(key, r.ids)) // of what is large
		beside := max(w.air(bold, r.use), w.air(regular, r.remarks+r.system+r.group))
		if f.under {
			above = max(above, beside)
		}
		h := max(large+above, details+beside)
		f.heights = append(f.heights, h)
		f.saids, f.idStacks = append(f.saids, s), append(f.idStacks, ids)
		f.total += h
	}
	return true
}

// air is the white above and below a text together in its row: in tight rows only what
// keeps its ink clear of the rules.
func (w *wall) air(s set.Style, t string) float64 {
	if !w.o.tight {
		return max(w.Body*1.05, w.Body*0.3+1.6)
	}
	up, down := s.Rise(t)
	return 2 * max(w.Body*0.3, max(up-s.Cap(), down)+0.35)
}

// drop is the white between large letters and small ones below them: what hangs
// below the line of the large ones stays clear.
func (w *wall) drop() float64 { return w.slot*0.3 + w.Body*0.35 }

// lists places the tables, and the codes beside or below each.
func (w *wall) lists() {
	for i, t := range w.tables {
		width, rail := w.Width(), codeBlock{}
		if w.at.codes == codesBesideLists {
			if rail = w.codeRail(t.lists); rail.w > w.Width()*0.55 || rail.h > w.PageRoom() {
				w.Out = true
				return
			}
			width -= rail.w
		}
		f, ok := w.tableForm(t, width)
		if !ok {
			w.tooWide(t)
			return
		}
		if i > 0 {
			w.Space(w.Body * 3)
		}
		w.placeTable(t, f, rail)
		if w.at.codes == codesBelowLists {
			w.Space(max(w.Body*3*0.6, w.apart(t.lists)))
			w.placeCodes(t.lists, i < len(w.tables)-1)
		}
		if !w.Fits() {
			return
		}
	}
}

// tooWide: a larger size of type asks for a smaller one, the least for other paper.
func (w *wall) tooWide(t *table) {
	if w.meters > w.o.least()+set.Tolerance || w.at.codes == codesBesideLists || w.o.Distance > 0 {
		w.Out = true
		return
	}
	r := slices.MaxFunc(t.rows, func(a, b tableRow) int { return len(a.name) + len(a.ids) - len(b.name) - len(b.ids) })
	w.Misfit(r.slot.At("channel"), "display name", r.name)
}

// placeTable places the rows of a table, on more than one page only where it must.
func (w *wall) placeTable(t *table, f tableForm, rail codeBlock) {
	title := w.Words.Channels
	if len(t.lists) == 1 {
		title = words.Joined(w.Words.Channels, w.Words.OneList(t.lists[0], w.Resolved))
	}
	over := w.tableHead(t, f, title, true).H
	blocks := make([]set.Block, len(t.rows))
	for i := range t.rows {
		blocks[i] = set.Block{H: f.heights[i] + w.at.rowWhite,
			Rule: func(c *set.Canvas, x, y float64) {
				c.Rule(x+f.strip*float64(len(t.lists)), x+f.right, y, frame.RuleLight)
			},
			Draw: func(c *set.Canvas, x, y, h float64) {
				c.Area(x, y, f.right, h, t.rows[i].position(), t.rows[i].slot.At("").Line)
				w.drawRow(c, f, t, i, x, y, h)
			}}
		if f.heights[i]+over > w.FirstRoom() {
			w.Out = true
			if w.meters <= w.o.least()+set.Tolerance && w.o.Distance == 0 {
				w.Misfit(t.rows[i].slot.At("channel"), "what is said of the slot", t.rows[i].name)
			}
			return
		}
	}
	head := func(p set.Part) set.Pile {
		return set.Pile{w.tableHead(t, f, title, p.Again), set.Drawn(0, func(c *set.Canvas, x, y float64) { c.Rule(x, x+f.right, y, frame.RuleMid) })}
	}
	first := head(set.Part{}).Height()
	flow := set.Flow{Blocks: blocks, Mark: title, Head: head, Need: rail.h,
		// A table that a new page holds is not broken.
		Begin: !w.Fresh() && first+f.total > w.Room() && first+f.total <= w.PageRoom(),
		Share: evenly(w.PageRoom() - first)}
	flow.After = func(p set.Part) {
		p.Page.Rule(w.Left(), w.Left()+f.right, w.Y, frame.RuleMid)
		if rail.draw != nil && !p.Again {
			w.drawRail(rail, p.Page, p.Top)
			w.Y = max(w.Y, p.Top+rail.h)
		}
		w.rows = len(p.Blocks)
	}
	w.Flow(flow)
}

// evenly shares the rows of a table among as few pages as hold them, so many on each; room
// is that of a page behind the table's first.
func evenly(room float64) func(set.Part) (int, float64) {
	return func(p set.Part) (n int, _ float64) {
		pages := pagesOf(p.Blocks, p.Room, room)
		even := (len(p.Blocks) + pages - 1) / pages
		for sum := 0.0; n < len(p.Blocks) && (n < even || pages == 1) && (n == 0 || sum+p.Blocks[n].H <= p.Room+set.Tolerance); n++ {
			sum += p.Blocks[n].H
		}
		return n, 0
	}
}

// pagesOf is how many pages rows take, with so much room on the first and on
// each other one.
func pagesOf(rows []set.Block, first, other float64) int {
	pages, used, room := 1, 0.0, first
	for i, b := range rows {
		if used+b.H > room+set.Tolerance && i > 0 && used > 0 {
			pages, used, room = pages+1, 0, other
		}
		used += b.H
	}
	return pages
}

// shortName is what a list is called over its column: the ids of its divisions.
func (w *wall) shortName(l *plan.List) string {
	var ids []string
	for _, d := range l.Divisions {
		ids = append(ids, d.ID)
	}
	if l.Shared {
		ids = append(ids, w.Words.Lists.Others)
	}
	return strings.Join(ids, " ")
}

// tableHead is the heading of a table and the titles of its columns.
func (w *wall) tableHead(t *table, f tableForm, title string, again bool) set.Block {
	if again {
		title += ", " + w.Words.Again
	}
	head, s := w.Bold(1), w.Small(1)
	titles := head.Stack(title, f.right, head.Cap()*1.6)
	names := make([]set.Stack, len(t.lists))
	tall := s.Cap()
	for i, l := range t.lists {
		if len(t.lists) > 1 {
			inner := f.strip - w.Body*0.4
			one := w.Bold(1)
			names[i] = one.Stack(w.shortName(l), inner, one.Cap()*1.5)
			tall = max(tall, names[i].Height())
		}
	}
	base := titles.Height() + w.Body*1.1 + tall
	return set.Drawn(base+w.Fine*1.0, func(c *set.Canvas, x, y float64) {
		titles.Draw(c, x, y)
		y += base
		for i, n := range names {
			middle := x + (float64(i)+0.5)*f.strip
			if len(t.lists) == 1 {
				c.TextMid(middle, y, s, w.Words.Slot)
				continue
			}
			for j, l := range n.Lines {
				c.Line(middle-l.Wide/2, y-float64(len(n.Lines)-1-j)*n.Pitch, l)
			}
		}
		c.Text(x+f.name, y, s, w.Words.Name)
		if f.idsW > 0 {
			c.Text(x+f.ids, y, s, w.Words.DivisionHead)
		}
		if f.deep {
			return
		}
		w.tunerHead(c, f.u, x+f.tuner, y)
		c.Text(x+f.place, y, s, w.Words.GroupChannel)
		if !f.under {
			c.Text(x+f.said, y, s, w.Words.Function)
		}
	})
}

func (w *wall) drawRow(c *set.Canvas, f tableForm, t *table, i int, x, y, h float64) {
	mono, r := set.CapStyle(fonts.MonoBold, w.slot), t.rows[i]
	const slit = 0.5 // mm of white between the numbers
	ids, said := f.idStacks[i], f.saids[i]
	large := max(w.slot, ids.Height())
	top := y + (h-large)/2
	tuner := w.tunerHeight(f.u, r.tuning)
	base := y + (h-tuner)/2 + w.Body
	if f.under {
		below := w.drop() + said.Height()
		if f.deep {
			below += w.Body*0.7 + tuner
		}
		top = y + (h-large-below)/2
		if f.deep {
			base = top + large + below - tuner + w.Body
		}
	}
	w.drawPositions(c, r.at, f.strip, x, y+slit/2, h-slit, top+large/2)
	c.Text(x+f.name, top+large/2+w.slot/2, mono, r.name)
	ids.Draw(c, x+f.ids, top+(large-ids.Height())/2)
	w.tunerDraw(c, f.u, r.tuning, x+f.tuner, base)
	c.Text(x+f.place, base, w.Mono(), r.place)
	if f.under {
		said.Draw(c, x+f.said, top+large+w.drop())
	} else {
		said.Draw(c, x+f.said, y+(h-said.Height())/2)
	}
}

// drawPositions draws the position of a slot in each list, white on black, with
// their middle at a height.
func (w *wall) drawPositions(c *set.Canvas, at []string, strip, x, y, h, middle float64) {
	mono := set.CapStyle(fonts.MonoBold, w.slot)
	for n, position := range at {
		if position == "" {
			continue
		}
		left := x + float64(n)*strip
		wide := strip
		if n < len(at)-1 {
			wide -= 0.5
		}
		c.Bar(left, y, wide, h)
		c.TextMid(left+strip/2, middle+w.slot/2, mono.On(layout.White), position)
	}
}
