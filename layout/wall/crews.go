package wall

import (
	"cmp"
	"slices"
	"strconv"
	"strings"

	"slotcard/fonts"
	"slotcard/layout"
	"slotcard/layout/frame"
	"slotcard/layout/set"
	"slotcard/layout/words"
	"slotcard/plan"
)

// What stands behind the lists of the wall sheet: each division with its channel,
// who works there and what each position scans, and what is said in sentences.

// rest places all of it in columns of even height, and the codes beside or below it.
func (w *wall) rest() {
	lists := w.Resolved.Lists
	width, rail := w.Width(), codeBlock{}
	w.Space(w.Body * 3)
	if w.at.codes == codesBesideRest {
		rail = w.codeRail(lists)
		if rail.w > w.Width()*0.55 || rail.h > w.Room() {
			w.Out = true
			return
		}
		width -= rail.w
	}
	top := w.Y
	f, ok := w.restFlow(width)
	if !ok {
		return
	}
	pages := len(w.Pages)
	w.Flow(f)
	if rail.h > 0 {
		w.drawRail(rail, w.Pages[pages-1], top)
		if len(w.Pages) == pages {
			w.Y = max(w.Y, top+rail.h)
		}
	}
	if w.at.codes == codesBelowRest {
		w.Space(max(w.Body*3, w.apart(lists)))
		w.placeCodes(lists, false)
	}
}

// restFlow sets divisions and texts in the number of columns in which they are lowest.
func (w *wall) restFlow(width float64) (set.Flow, bool) {
	key := restKey{w.meters, width, w.at.restWhite}
	f := w.rests[key]
	if f == nil {
		f = new(rested)
		f.Flow, f.ok = w.findRest(width)
		f.crews = w.crews
		w.rests[key] = f
	}
	w.crews = f.crews
	if !f.ok {
		w.tooWideDivision()
	}
	return f.Flow, f.ok
}

func (w *wall) findRest(width float64) (best set.Flow, ok bool) {
	const least, most = 26, 62 // widths of a column, in cap heights
	gutter := w.Body * 2.4
	low := 0.0
	for n := 1; n <= 4; n++ {
		colW := (width - gutter*float64(n-1)) / float64(n)
		if n > 1 && colW < least*w.Body {
			break
		}
		if colW > most*w.Body && n < 4 {
			continue
		}
		blocks, crews := w.restBlocks(colW)
		if crews < 0 {
			continue
		}
		f := set.Flow{Blocks: blocks, Columns: n, Gutter: gutter, Even: true, W: width}
		h, fits := f.Fits(w.PageRoom())
		if !fits { // more columns hold more
			h = w.PageRoom() * 2 / float64(n)
		}
		if !ok || h < low-set.Tolerance {
			best, low, ok = f, h, true
			w.crews = (crews + n - 1) / n
		}
	}
	if !ok {
		return best, false
	}
	best.Mark = w.Words.Instructions
	if w.crews > 0 {
		best.Mark = w.Words.Assignments
		best.Head = func(p set.Part) set.Pile { return set.Pile{w.crewsHead(p.Again, width)} }
	}
	return best, true
}

// restBlocks are divisions and texts in a column; crews is how many divisions there
// are, less than none where an id is too wide.
func (w *wall) restBlocks(colW float64) (blocks []set.Block, crews int) {
	said := w.said()
	key := set.CapStyle(fonts.Bold, w.Key)
	idW := 0.0
	for _, cr := range said.crews {
		if cr.Division != nil {
			idW = max(idW, key.Width(cr.Division.ID)+w.Key*0.6)
		}
	}
	if idW > colW*0.5 {
		return nil, -1
	}
	for _, cr := range said.crews {
		blocks = append(blocks, w.crewBlocks(cr, colW, idW)...)
	}
	texts := w.texts(colW, said.texts)
	if len(said.crews) > 0 && len(texts) > 0 {
		blocks = append(blocks, set.Block{H: w.Body * 1.6, Gap: true})
	}
	return append(blocks, texts...), len(said.crews)
}

func (w *wall) tooWideDivision() {
	if w.meters > w.o.least()+set.Tolerance || w.at.codes == codesBesideRest || w.o.Distance > 0 {
		w.Out = true
		return
	}
	d := slices.MaxFunc(w.Resolved.Plan.Divisions, func(a, b *plan.Division) int { return len(a.ID) - len(b.ID) })
	w.Misfit(d.At("id"), "division", d.ID)
}

// crewsHead is the heading of the divisions, with the key to the marks.
func (w *wall) crewsHead(again bool, width float64) set.Block {
	said := w.Words.Assignments
	if again {
		said += ", " + w.Words.Again
	}
	pieces := set.Words(w.Bold(1), said)
	if len(w.Resolved.Cards) > 0 {
		pieces[len(pieces)-1].Space = w.Body * 2
		for _, k := range []struct {
			ear  ear
			said string
		}{{ear{number: "1", talk: true}, w.Words.TalkKey}, {ear{number: "1", priority: true}, w.Words.PriorityKey}, {ear{number: "1", scan: true}, w.Words.ScanKey}} {
			mark := w.piece(k.ear)
			mark.Runs = append(mark.Runs, w.Regular(1).Say(layout.NoBreak+strings.ReplaceAll(k.said, " ", layout.NoBreak)))
			mark = set.PieceOf(w.Body*1.6, mark.Runs...)
			mark.Soft = true
			pieces = append(pieces, mark)
		}
	}
	lines, _ := set.BreakLines(pieces, width, width)
	if again && len(lines) > 1 { // the key stands on the first page
		lines, _ = set.BreakLines(set.Words(w.Bold(1), said), width, width)
	}
	text := set.Stack{Lines: lines, Cap: w.Body, Pitch: w.Body * 2.2}
	return text.Block(w.Body * 1.3)
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

// said is what is said of the rest at a distance, whatever the width of its columns.
type said struct {
	crews []*saidCrew
	texts []saidText
}

// saidCrew is a division, and the paragraphs of what is said of it.
type saidCrew struct {
	plan.Crew
	first, units []set.Piece
	ears         []saidEars
	code         []set.Piece
}

// saidEars are positions that do the same: their names, the marks of what they do, and
// the last name with all marks in one.
type saidEars struct {
	names, marks []set.Piece
	whole        set.Piece
}

// saidText is a paragraph of running text, with a heading above it, or with white.
type saidText struct {
	heading string
	white   bool
	runs    []set.Run
}

// said is that, put together once for each distance.
func (w *wall) said() *said {
	all := w.saids[w.meters]
	if all == nil {
		all = new(said)
		for _, cr := range w.Resolved.Crews() {
			all.crews = append(all.crews, w.saidOf(cr))
		}
		w.sayTexts(all)
		w.saids[w.meters] = all
	}
	return all
}

// crewBlocks are a division with the first lines of what is said of it, then each line
// that may go to the next column.
func (w *wall) crewBlocks(cr *saidCrew, colW, idW float64) []set.Block {
	lines := w.crewLines(cr, colW-idW)
	pitch := w.Body * 1.85
	whole := max(1, min(9, int(w.PageRoom()*0.6/pitch))) // lines that stay together
	key := set.CapStyle(fonts.Bold, w.Key)
	more := lines[min(whole, len(lines)):]
	text := set.Stack{Lines: lines[:len(lines)-len(more)], Cap: w.Body, Pitch: pitch}
	pad := w.Body * 0.75
	h := max(w.Key, text.Height()+(w.Key-w.Body)/2) + 2*pad
	if len(more) > 0 {
		h = pad + (w.Key-w.Body)/2 + float64(len(text.Lines))*pitch
	} else {
		h += w.at.restWhite
	}
	blocks := []set.Block{set.Drawn(h, func(c *set.Canvas, x, y float64) {
		c.Rule(x, x+colW, y, frame.RuleLight)
		if cr.Division != nil {
			c.Text(x, y+pad+w.Key, key, cr.Division.ID)
		}
		text.Draw(c, x+idW, y+pad+(w.Key-w.Body)/2)
	})}
	blocks[0].Keep = len(more) > 0
	for i, l := range more {
		s, h := set.Stack{Lines: []set.Line{l}, Cap: w.Body}, pitch
		if i == len(more)-1 {
			h += pad + w.at.restWhite
		}
		blocks = append(blocks, set.Drawn(h, func(c *set.Canvas, x, y float64) { s.Draw(c, x+idW, y) }))
	}
	return blocks
}

// crewLines are the channels of a division, its name and supervisor, its units by team,
// and what its positions scan.
func (w *wall) crewLines(cr *saidCrew, width float64) (lines []set.Line) {
	add := func(pieces []set.Piece) {
		if len(pieces) > 0 {
			broken, _ := set.BreakLines(pieces, width, width)
			lines = append(lines, broken...)
		}
	}
	add(cr.first)
	add(cr.units)
	var ears []set.Piece
	for _, e := range cr.ears { // the last name and its marks stay together where a line holds them
		if last := len(e.names) - 1; e.whole.Wide() <= width {
			ears = append(append(ears, e.names[:last]...), e.whole)
		} else {
			ears = append(append(ears, e.names...), e.marks...)
			ears[len(ears)-1].Space = e.whole.Space
		}
	}
	add(ears)
	add(cr.code)
	return lines
}

// saidOf is what is said of a crew.
func (w *wall) saidOf(cr plan.Crew) *saidCrew {
	bold, regular, mono := w.Bold(1), w.Regular(1), set.CapStyle(fonts.MonoBold, w.Body)
	said := &saidCrew{Crew: cr, units: soft(w.unitsOf(cr)), ears: w.earsOf(cr)}
	apart := func() {
		if n := len(said.first); n > 0 {
			said.first[n-1].Space = w.Body * 1.3
		}
	}
	say := func(pieces ...set.Piece) { said.first = append(said.first, pieces...) }
	if cr.Division == nil {
		say(set.Words(bold, w.Words.NoDivision)...)
	} else {
		posts := posts(cr)
		for _, p := range posts {
			say(w.piece(ear{number: p.number, priority: true}))
			say(set.Words(mono, p.name)...)
			apart()
		}
		if len(posts) == 0 {
			say(set.Words(regular, w.Words.NoSlot)...)
			apart()
		}
		if name := cmp.Or(cr.Division.Name, w.Words.Called(cr.Division)); name != "" {
			say(set.Words(bold, name)...)
			apart()
		}
		say(set.Words(regular, together(cmp.Or(cr.Division.Supervisor, w.Words.NoSupervisor)))...)
	}
	soft(said.first)
	if len(w.Resolved.Lists) > 1 && cr.List != nil {
		said.code = soft(append(set.Words(regular, w.Words.ReadBackCode), set.PieceOf(0, mono.Say(strings.ReplaceAll(cr.List.Code.Pairs(), " ", layout.NoBreak)))))
	}
	return said
}

// soft lets pieces be broken between letters: where a field is narrower, they stand
// there all the same.
func soft(pieces []set.Piece) []set.Piece {
	for i := range pieces {
		pieces[i].Soft = true
	}
	return pieces
}

// together keeps a short name on one line.
func together(name string) string {
	if len(name) <= 20 {
		return strings.ReplaceAll(name, " ", layout.NoBreak)
	}
	return name
}

// unitsOf names the units of a division, by team.
func (w *wall) unitsOf(cr plan.Crew) (said []set.Piece) {
	var teams []string
	byTeam := map[string][]string{}
	for _, u := range cr.Units {
		if byTeam[u.Team] == nil {
			teams = append(teams, u.Team)
		}
		byTeam[u.Team] = append(byTeam[u.Team], strings.ReplaceAll(u.Name, " ", layout.NoBreak))
	}
	for i, t := range teams {
		if t != "" {
			said = append(said, set.Words(w.Bold(1), t+":")...)
		}
		end := ""
		if i < len(teams)-1 {
			end = ";"
		}
		said = append(said, set.Words(w.Regular(1), strings.Join(byTeam[t], ", ")+end)...)
	}
	return said
}

// earsOf is what the positions of a division talk on and listen to: those that do
// the same together.
func (w *wall) earsOf(cr plan.Crew) (said []saidEars) {
	type group struct {
		names []string
		ears  []ear
	}
	var groups []group
	for _, p := range w.Resolved.Plan.Positions {
		ears := w.ears(p, cr.Division)
		if ears == nil {
			continue
		}
		i := slices.IndexFunc(groups, func(g group) bool { return slices.Equal(g.ears, ears) })
		if i < 0 {
			groups = append(groups, group{nil, ears})
			i = len(groups) - 1
		}
		groups[i].names = append(groups[i].names, strings.ReplaceAll(p.Name, " ", layout.NoBreak))
	}
	for _, g := range groups {
		e := saidEars{names: soft(set.Words(w.Regular(1), strings.Join(g.names, ", ")))}
		runs := slices.Clone(e.names[len(e.names)-1].Runs)
		for _, ear := range g.ears {
			p := w.piece(ear)
			e.marks = append(e.marks, p)
			runs = append(runs, w.white(w.Body*0.45), p.Runs[0])
		}
		e.whole = set.PieceOf(w.Body*1.5, runs...)
		e.whole.Soft = true
		said = append(said, e)
	}
	return said
}

// white is a run that prints nothing.
func (w *wall) white(wide float64) set.Run {
	return set.Run{Style: w.Regular(1), Wide: wide, Drawn: func(*set.Canvas, float64, float64) {}}
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
// of both have the same. Not nil where there is a card.
func (w *wall) ears(p *plan.Position, d *plan.Division) []ear {
	for _, c := range w.Resolved.Cards {
		if c.Position != p || c.Division != d {
			continue
		}
		ears := []ear{}
		for i, m := range c.Marks {
			if m.Talk || m.Priority || m.Scan {
				ears = append(ears, ear{strconv.Itoa(i + 1), m.Talk, m.Priority, m.Scan})
			}
		}
		// Where one talks and what has priority come first.
		slices.SortStableFunc(ears, func(a, b ear) int { return cmp.Compare(a.rank(), b.rank()) })
		return ears
	}
	return nil
}

// piece is a slot number in the mark of what is done there: a plate for
// priority, round ends for scan, a pointer before it where one talks.
func (w *wall) piece(e ear) set.Piece {
	s := w.Bold(1)
	wide, _, _ := set.PlateSize(s, e.number)
	if !e.priority && !e.scan {
		wide = s.Width(e.number)
	}
	pointer := 0.0
	if e.talk {
		pointer = s.Cap() * 1.15
	}
	p := set.PieceOf(w.Body*0.45, set.Run{Style: s, Wide: wide + pointer, Drawn: func(c *set.Canvas, x, y float64) {
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

// texts are paragraphs in a column.
func (w *wall) texts(colW float64, said []saidText) []set.Block {
	t := w.Frame.Texts(colW, w.Body*1.6)
	t.Head, t.Below, t.Pitch = w.Bold(1), w.Body*0.9, w.line()
	for _, s := range said {
		if s.heading != "" {
			t.Heading(s.heading)
		}
		if s.white {
			t.White(w.Body * 0.6)
		}
		t.Say(false, s.runs...)
	}
	return t.Blocks
}

// sayTexts adds what is said in sentences: special instructions, accepted exceptions,
// channels beside the list.
func (w *wall) sayTexts(all *said) {
	bold, regular := w.Bold(1), w.Regular(1)
	heading := ""
	say := func(runs ...set.Run) {
		all.texts = append(all.texts, saidText{heading, heading == "", runs})
		heading = ""
	}
	if said := strings.TrimSpace(w.Words.FillText(w.Resolved, w.Resolved.Plan.Incident.Instructions, nil)); said != "" {
		heading = w.Words.Instructions
		for _, para := range strings.Split(said, "\n") {
			if para = strings.TrimSpace(para); para != "" {
				say(regular.Say(para))
			}
		}
	}
	for i, e := range w.Resolved.Exceptions {
		if i == 0 {
			heading = w.Words.Exceptions
		}
		say(bold.Say(e.Accept.Subject), regular.Say(": "+e.Message+", "+w.Words.Because+": "), regular.Say(e.Accept.Because),
			regular.Say(" ("+w.Words.AnsweredBy+" "), bold.Say(e.Accept.By), regular.Say(")"))
	}
	for i, a := range w.Resolved.Also {
		if i == 0 {
			heading = w.Words.OutOfList
		}
		say(w.also(a)...)
	}
}

// also is a channel beside the list, with how it is programmed.
func (w *wall) also(a *plan.AlsoChannel) []set.Run {
	n := tuningOf(w.Resolved, w.Words, nil, a.Channel, a.Repeater, a.TxTone, a.ToneNumber)
	s, mono := w.Regular(1), w.Mono()
	said := []set.Run{set.CapStyle(fonts.MonoBold, w.Body).Say(words.Whole(a.Channel.Name)), mono.Say("  " + n.place),
		s.Say("  " + joinedBy("; ", w.Words.FillText(w.Resolved, a.When, nil), n.remarks))}
	if n.system != "" {
		return append(said, s.Say("\n"+w.Words.System+" "), w.Bold(1).Say(n.system), s.Say(" "+w.Words.Talkgroup+" "), w.Bold(1).Say(n.group), s.Say(";"+layout.NoBreak), mono.Say(n.mode))
	}
	one := func(label, freq, width, tone string) []set.Run {
		return []set.Run{s.Say(label + layout.NoBreak), mono.Say(freq + layout.NoBreak + width + layout.NoBreak + tone)}
	}
	said = append(said, s.Say("\n"))
	said = append(said, one(w.Words.ReceiveShort, n.rx, n.rxWidth, n.rxTone)...)
	said = append(said, s.Say("; "))
	said = append(said, one(w.Words.TransmitShort, n.tx, n.txWidth, n.txTone)...)
	return append(said, s.Say(";"+layout.NoBreak), mono.Say(n.mode))
}
