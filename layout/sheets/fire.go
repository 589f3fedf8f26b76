package sheets

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"slotcard/fonts"
	"slotcard/layout"
	"slotcard/layout/frame"
	"slotcard/layout/set"
	"slotcard/layout/words"
	"slotcard/plan"
	"slotcard/plan/finding"
)

// The sheet of the fire, for the briefing: a ring of divisions in their order,
// clockwise from the foot of the page, functional groups outside along those they
// work beside, and at both sides what each of them talks on and hears. What all
// of them have in common stands over it.

// FireOptions say how to lay out the sheet of the fire.
type FireOptions struct {
	Paper layout.Size      // used across; the zero Size: letter
	Words *words.FireWords // nil: English

	Lines    bool           // show what disturbs what
	Troubles []plan.Trouble // as the rules say it
}

const (
	fireGrow  = 1.7  // most of all type, times the least
	fireName  = 1.9  // most of ids and display names
	fireRing  = 0.34 // of the width, at least, for the ring
	fireBand  = 0.24 // of the ring's half width, how wide the band of divisions is
	mostDense = 2
	fireSteps = 72 // corners of the outline of the ring
)

// Fire lays out the sheet of the fire on one page. What it does not hold at its
// least size is a finding, and then there is no document.
func Fire(r *plan.Resolved, o FireOptions) (*layout.Document, finding.List) {
	frame.Settle(&o.Paper, &o.Words, &words.EnglishFire)
	o.Paper = o.Paper.Across()
	t := set.NewSearch(func(s growth) *fire { return layFire(r, o, s) }, func(w, best *fire) bool {
		return w.Fits() && (!best.Fits() || w.broken <= best.broken)
	})
	for dense := 1; dense <= mostDense && !t.Best.Fits(); dense++ {
		t.Vary(func(s *growth) { s.dense = dense })
	}
	if len(t.Best.Misfits) > 0 {
		return nil, t.Best.findings()
	}
	enlarge(t)
	return t.Best.Finish(), nil
}

// fire is the sheet at a size of type.
type fire struct {
	frame.Frame
	o     FireOptions
	at    growth
	said  *words.FireWords
	line  []*plan.Division // those of the ring, in order
	posts []*firePost

	cx, cy, rx, ry float64            // of the ring's outer edge
	band, arc      float64            // widths of divisions and of groups
	letters        float64            // cap height of the ids on the ring, mm
	broken         int                // further lines that ids and display names take
	below          map[int][2]float64 // line of the plan where a slot stands, and its place over the ring
}

// firePost is a division, or a group, with its box.
type firePost struct {
	plan.Post
	turn   float64  // where it is on the ring, in turns from its foot; 1: not on it
	along  []int    // divisions of the ring that a group stands beside
	layer  int      // of a group, from 0
	blocks set.Pile // of the box
	x, y   float64  // of the box
	w      float64
}

func (w *fire) findings() finding.List {
	var papers []set.Remedy
	for _, p := range layout.Larger(layout.PaperSizes(), w.Paper) {
		o := w.o
		o.Paper = p.Across()
		papers = append(papers, set.Remedy{Key: "fits", Value: p.Name, Help: fmt.Sprintf("the smallest paper that holds it is %s: --paper %s", p.Name, p.Name),
			Holds: func(set.Misfit) bool { return len(layFire(w.Resolved, o, growth{dense: mostDense}).Misfits) == 0 }})
	}
	return w.Findings(set.Notice{
		Message: func(m set.Misfit) string {
			return fmt.Sprintf("%s %q does not fit the sheet of the fire on %s", m.What, set.Short(m.Text), w.Paper.Name)
		},
		Data: func(m set.Misfit) map[string]any {
			return map[string]any{"text": m.Text, "sheet": "fire", "paper": w.Paper.Name}
		},
		Remedies: [][]set.Remedy{papers},
		None:     "no paper that slotcard knows holds it: shorten names, or look at the wall sheet as a grid (--wall=grid)",
	})
}

func layFire(r *plan.Resolved, o FireOptions, steps growth) *fire {
	w := &fire{Frame: frame.Near(r, o.Words.WallWords, o.Words.Title, frame.Grown(steps.body, fireGrow)), o: o, at: steps, said: o.Words,
		below: map[int][2]float64{}}
	w.Bare = steps.dense > 0
	w.Key = max(layout.CapAt(layout.SheetNear, layout.ArcminKey)*frame.Grown(steps.key, fireName), w.Body)
	if !w.Begin(o.Paper, false) {
		return w
	}
	w.NewPage()
	w.read()
	c := &w.Page().Canvas
	common := w.common(w.Width())
	common.Put(c, w.Left(), w.Y)
	w.Y += common.H + w.Body
	key := w.keyTo()
	w.Bottom -= key.H
	key.Put(c, w.Left(), w.Bottom)
	troubles := w.troubles(w.Width())
	w.Bottom -= troubles.Height()
	troubles.Put(c, w.Left(), w.Bottom)
	if w.Fits() && w.columns() {
		w.draw(c)
	}
	return w
}

// read takes the posts of the plan, in order around the ring.
func (w *fire) read() {
	for _, d := range w.Resolved.Plan.Divisions {
		if !d.Functional {
			w.line = append(w.line, d)
		}
	}
	n := float64(len(w.line))
	for _, p := range w.Resolved.Posts() {
		post := &firePost{Post: p, turn: 1}
		if p.Division != nil {
			if i := slices.Index(w.line, p.Division); i >= 0 {
				post.turn = (float64(i) + 0.5) / n
			} else {
				post.along = w.beside(p)
				post.turn = w.middle(post.along)
			}
		}
		w.posts = append(w.posts, post)
	}
	slices.SortStableFunc(w.posts, func(a, b *firePost) int {
		switch {
		case a.turn < b.turn:
			return -1
		case a.turn > b.turn:
			return 1
		}
		return 0
	})
	// Groups along the same divisions lie one outside of the other.
	taken := map[[2]int]bool{}
	for _, p := range w.posts {
		for slices.ContainsFunc(p.along, func(i int) bool { return taken[[2]int{p.layer, i}] }) {
			p.layer++
		}
		for _, i := range p.along {
			taken[[2]int{p.layer, i}] = true
		}
	}
}

// beside are the places in the ring of those a group stands beside; where it
// stands beside other groups alone, of those that these stand beside.
func (w *fire) beside(p plan.Post) (along []int) {
	take := func(ds []*plan.Division) {
		for _, d := range ds {
			if i := slices.Index(w.line, d); i >= 0 && !slices.Contains(along, i) {
				along = append(along, i)
			}
		}
	}
	if take(p.Beside); along == nil {
		for _, g := range p.Beside {
			take(w.Resolved.Neighbors(g))
		}
	}
	slices.Sort(along)
	return along
}

// middle is where on the ring the middle of some places is; 1: nowhere.
func (w *fire) middle(along []int) float64 {
	if len(along) == 0 {
		return 1
	}
	n := float64(len(w.line))
	var x, y float64
	for _, i := range along {
		sin, cos := math.Sincos((float64(i) + 0.5) / n * 2 * math.Pi)
		x, y = x+cos, y+sin
	}
	if math.Hypot(x, y) < 1e-6 { // all around
		return (float64(along[0]) + 0.5) / n
	}
	t := math.Atan2(y, x) / (2 * math.Pi)
	return t - math.Floor(t)
}

// slot is the number of a slot on a black plate, or in a round frame, and its name.
func (w *fire) slot(n int, name string, talk bool) set.Piece {
	bold, regular := w.Bold(1), w.Regular(1)
	said := ""
	if n > 0 {
		said = strconv.Itoa(n)
	}
	wide, _, _ := set.PlateSize(bold, said)
	runs := []set.Run{regular.Say(name)}
	if talk {
		large := set.CapStyle(fonts.MonoBold, w.Key)
		runs = []set.Run{large.Say(name)}
		bold = set.CapStyle(fonts.Bold, w.Key*0.8)
		wide, _, _ = set.PlateSize(bold, said)
	}
	if n > 0 {
		mark := set.Run{Wide: wide + w.Body*0.5, Drawn: func(c *set.Canvas, x, y float64) {
			if talk {
				c.Plate(x, y-(w.Key-bold.Cap())/2, bold, said, false)
			} else {
				c.Ring(x, y, bold, said, false)
			}
		}}
		runs = append([]set.Run{mark}, runs...)
	}
	return set.PieceOf(w.Body*1.3, runs...)
}

// common is what stands over the ring: the slots that no division has to itself,
// command first as in the list.
func (w *fire) common(width float64) set.Block {
	pad := w.Body * 0.8
	head := w.Bold(1)
	pieces := []set.Piece{set.PieceOf(w.Body*1.6, head.Say(w.said.ForAll))}
	slots := w.Resolved.Common()
	for _, s := range slots {
		p := w.slot(w.Resolved.Position(s), s.Channel.Name, true)
		what := w.Words.Uses[s.Use]
		if openers := w.Words.Openers(s.Repeater, s.ToneNumber, s.TxTone); s.Repeated() && len(openers) > 0 {
			what += " " + openers[0]
		}
		p.Runs = append(p.Runs, w.Regular(1).Say(" "+strings.ReplaceAll(what, " ", layout.NoBreak)))
		pieces = append(pieces, set.PieceOf(w.Body*2, p.Runs...))
	}
	if len(slots) == 0 {
		pieces = append(pieces, set.PieceOf(0, w.Regular(1).Say(w.Words.NoSlot)))
	}
	lines, bad := set.Wrap(pieces, width-2*pad)
	if bad != "" {
		w.Misfit(slots[0].At("channel"), "display name", bad)
		return set.Block{}
	}
	w.broken += len(lines) - 1
	stack := set.Stack{Lines: lines, Cap: w.Key, Pitch: w.Key * 1.9}
	h := stack.Height() + 2*pad + w.Key*0.3
	return set.Drawn(h, func(c *set.Canvas, x, y float64) {
		c.Frame(x, y, width, h, 0.7)
		stack.Draw(c, x+pad, y+pad+w.Key*0.15)
		for i, s := range slots {
			w.below[s.At("").Line] = [2]float64{x + width*(0.3+0.4*(float64(i)+0.5)/float64(len(slots))), y + h}
		}
	})
}

// keyTo says what order the ring has, and explains plate and frame.
func (w *fire) keyTo() set.Block {
	s := w.Bold(1)
	frame, _, _ := set.PlateSize(s, "1")
	key := set.LineOf(
		set.PieceOf(w.Body*3, set.Run{Style: s, S: "1", Plate: true}, w.Regular(1).Say("  "+w.Words.TalkKey)),
		set.PieceOf(0, set.Run{Wide: frame, Drawn: func(c *set.Canvas, x, y float64) { c.Ring(x, y, s, "1", false) }}, w.Regular(1).Say("  "+w.said.HearsKey)))
	order := w.Regular(1).Stack(w.said.Order, w.Width()-key.Wide-w.Body*3, w.Tight())
	h := w.Body*1.2 + order.Height()
	return set.Drawn(h, func(c *set.Canvas, x, y float64) {
		if len(w.line) > 1 {
			order.Draw(c, x, y+w.Body*1.2)
		}
		c.LineRight(w.Right(), y+w.Body*2.2, key)
	})
}

// troubles are the sentences to the lines.
func (w *fire) troubles(width float64) set.Pile {
	if !w.o.Lines {
		return nil
	}
	const columns = 2
	gap := w.Body * 3
	colW := (width - gap) / columns
	said := []string{}
	for _, t := range w.o.Troubles {
		said = append(said, w.said.Disturbs(t))
	}
	explained := w.said.LinesKey
	if len(said) == 0 {
		explained = w.said.NoTroubles
	}
	head := set.Stack{Lines: set.Paragraph(width, w.Bold(1).Say(w.said.Troubles+": "), w.Regular(1).Say(explained)), Cap: w.Body, Pitch: w.Tight()}
	pile := set.Pile{set.Drawn(head.Height()+w.Body*1.9, func(c *set.Canvas, x, y float64) { head.Draw(c, x, y+w.Body) })}
	if len(said) == 0 {
		return pile
	}
	numbers := w.Bold(1).Width("00") + w.Body
	var blocks []set.Block
	for i, t := range said {
		text := w.Regular(1).Stack(t, colW-numbers, w.Tight())
		blocks = append(blocks, set.Drawn(text.Height()+w.Tight()-w.Body, func(c *set.Canvas, x, y float64) {
			c.Text(x, y+w.Body, w.Bold(1), strconv.Itoa(i+1))
			text.Draw(c, x+numbers, y)
		}))
	}
	half := (len(blocks) + 1) / 2
	left, right := set.Pile(blocks[:half]), set.Pile(blocks[half:])
	return append(pile, set.Drawn(max(left.Height(), right.Height()), func(c *set.Canvas, x, y float64) {
		left.Put(c, x, y)
		right.Put(c, x+colW+gap, y)
	}))
}

// box sets what is said of a post in a width.
func (w *fire) box(p *firePost, width float64) (blocks set.Pile) {
	add := func(lines []set.Line, cap, pitch, above float64) {
		s := set.Stack{Lines: lines, Cap: cap, Pitch: pitch}
		blocks = append(blocks, set.Drawn(above+s.Height(), func(c *set.Canvas, x, y float64) { s.Draw(c, x, y+above) }))
	}
	wrap := func(at finding.Place, what string, pieces []set.Piece, cap, pitch, above float64) {
		lines, bad := set.Wrap(pieces, width)
		if bad != "" {
			w.Misfit(at, what, bad)
			return
		}
		if cap == w.Key {
			w.broken += len(lines) - 1
		}
		if lines != nil {
			add(lines, cap, pitch, above)
		}
	}
	regular, bold, large := w.Regular(1), w.Bold(1), set.CapStyle(fonts.Bold, w.Key)
	at := w.Resolved.Plan.Incident.At("name")
	title := w.Words.NoDivision
	if d := p.Division; d != nil {
		at = d.At("id")
		title = w.Words.Div + " " + d.ID
		if d.Functional {
			title = w.Words.Grp + " " + d.ID
		}
	}
	pieces := []set.Piece{set.PieceOf(w.Key, large.Say(title))}
	for _, i := range p.Talks {
		pieces = append(pieces, w.slot(i+1, p.List.Slots[i].Channel.Name, true))
	}
	if len(p.Talks) == 0 {
		pieces = append(pieces, set.PieceOf(w.Body*1.3, regular.Say(w.Words.NoSlot)))
	}
	var hears []set.Piece
	// Where all have one list, a number is the same slot everywhere on the sheet.
	numbers := w.at.dense > 1 && len(w.Resolved.Lists) == 1
	if len(p.Hears) > 0 {
		hears = append(hears, set.PieceOf(w.Body*0.9, regular.Say(w.said.Hears)))
		for _, i := range p.Hears {
			if numbers {
				s := w.slot(i+1, "", false)
				hears = append(hears, set.PieceOf(w.Body*0.2, s.Runs[0]))
			} else {
				hears = append(hears, w.slot(i+1, p.List.Slots[i].Channel.Name, false))
			}
		}
	}
	if numbers {
		pieces = append(pieces, hears...)
		hears = nil
	}
	wrap(at, "division", pieces, w.Key, w.Key*1.75, 0)
	gap := w.Tight() - w.Body
	var who []set.Run
	if d := p.Division; d != nil {
		if d.Name != "" {
			who = append(who, bold.Say(d.Name), regular.Say("  "))
		}
		if d.Supervisor != "" {
			who = append(who, regular.Say(d.Supervisor))
		} else {
			who = append(who, regular.Say(w.Words.NoSupervisor))
		}
	}
	var units []string
	for _, u := range p.Units {
		units = append(units, strings.ReplaceAll(u.Name, " ", layout.NoBreak))
	}
	names := strings.Join(units, ", ")
	if names == "" {
		names = w.said.NoUnits
	}
	if who != nil && w.at.dense > 0 {
		who = append(who, regular.Say("  "+names))
	} else if who == nil {
		who = []set.Run{regular.Say(names)}
	}
	add(set.Paragraph(width, who...), w.Body, w.Tight(), gap*1.3)
	if p.Division != nil && w.at.dense == 0 {
		add(set.Paragraph(width, regular.Say(names)), w.Body, w.Tight(), gap)
	}
	wrap(at, "display name", hears, w.Body, w.Body*1.95, gap*1.4)
	if d := p.Division; d != nil && d.Functional && (w.at.dense == 0 || p.along == nil) { // the ring shows it, too
		if said := w.said.BesideWhom(p.Post); said != "" {
			add(set.Paragraph(width, regular.Say(said)), w.Body, w.Tight(), gap)
		}
	}
	return blocks
}

// pad is the white inside of a box.
func (w *fire) pad() float64 {
	if w.at.dense > 0 {
		return w.Body * 0.5
	}
	return w.Body * 0.8
}

// columns places the boxes at both sides of the ring, the left ones upwards and
// the right ones downwards, as they come around it.
func (w *fire) columns() bool {
	room := w.Bottom - w.Y
	layers := 0
	for _, p := range w.posts {
		if len(p.along) > 0 {
			layers = max(layers, p.layer+1)
		}
	}
	w.arc = w.Body * 2.1
	for _, p := range w.posts {
		if len(p.along) > 0 { // upright letters where the ring runs up and down
			w.arc = min(max(w.arc, set.CapStyle(fonts.Bold, layout.SheetLeast()).Width(p.Division.ID)*1.5), w.Body*6)
		}
	}
	w.arc += 0.8
	ring := max(w.Width()*(fireRing-0.04*float64(w.at.dense)), 60)
	if len(w.line) == 0 {
		ring = w.Body * 4
	}
	gap, pad := w.Body*2.2, w.pad()
	colW := (w.Width() - ring - 2*gap) / 2
	least := pad // between boxes
	height := func(posts []*firePost) (h float64) {
		for _, p := range posts {
			h += p.blocks.Height() + 2*pad + least
		}
		return h - least
	}
	for _, p := range w.posts {
		p.blocks, p.w = w.box(p, colW-2*pad), colW
	}
	if len(w.Misfits) > 0 {
		return false
	}
	// Split where the ring does, or one further where that is more even.
	at := len(slices.DeleteFunc(slices.Clone(w.posts), func(p *firePost) bool { return p.turn >= 0.5-1e-9 }))
	best, split := math.Inf(1), at
	for k := range len(w.posts) + 1 {
		h := max(height(w.posts[:k]), height(w.posts[k:]))
		off := 0.0
		if k < at || k > at+1 || k == at+1 && w.posts[at].turn > 0.5+1e-9 {
			off = room // only where all else is too high
		}
		if h > room {
			off += 10 * room
		}
		if h+off < best-1e-9 {
			best, split = h+off, k
		}
	}
	for side, posts := range [][]*firePost{w.posts[:split], w.posts[split:]} {
		spare := room - height(posts)
		if spare < -set.Tolerance {
			long := slices.MaxFunc(posts, func(a, b *firePost) int { return int(a.blocks.Height()*100) - int(b.blocks.Height()*100) })
			at, what, id := w.Resolved.Plan.Incident.At("name"), "what is said of", w.Words.NoDivision
			if d := long.Division; d != nil {
				at, what, id = d.At("id"), "what is said of division", d.ID
			}
			if n := len(w.posts); n > 2 {
				what = fmt.Sprintf("together with that of %d others, %s", n-1, what)
			}
			w.Misfit(at, what, id)
			return false
		}
		each := min(spare/float64(len(posts)+1), w.Key*5)
		edge := (spare - each*float64(len(posts)-1)) / 2
		y, x := w.Y+edge, w.Left()
		order := slices.Clone(posts)
		if side == 0 {
			slices.Reverse(order)
		} else {
			x = w.Right() - colW
		}
		for _, p := range order {
			p.x, p.y = x, y
			y += p.blocks.Height() + 2*pad + least + each
		}
	}
	w.cx = w.Left() + w.Width()/2
	w.cy = w.Y + room/2
	w.rx = ring/2 - float64(layers)*w.arc
	w.ry = min(room/2-float64(layers)*w.arc-w.Body*0.5, w.rx*1.45)
	w.band = max(w.rx*2*fireBand, layout.SheetLeast()*4.2)
	if w.o.Lines { // room for them inside
		w.band = max(w.rx*2*fireBand*0.75, layout.SheetLeast()*4.2)
	}
	if len(w.line) > 0 && (w.rx < w.band*1.2 || w.ry < w.band*1.2) {
		w.Misfit(w.Resolved.Plan.Incident.At("name"), "the ring of", w.Resolved.Plan.Incident.Name)
		return false
	}
	return true
}

// on is the point of the ring at a turn, out mm outside of its edge.
func (w *fire) on(turn, out float64) (x, y float64) {
	sin, cos := math.Sincos(turn * 2 * math.Pi)
	return w.cx - (w.rx+out)*sin, w.cy + (w.ry+out)*cos
}

// piece is the outline of a part of the ring between two turns, and two
// distances from its edge.
func (w *fire) piece(from, to, in, out float64) []layout.Segment {
	n := max(4, int(math.Ceil((to-from)*fireSteps)))
	var path []layout.Segment
	for i := range n + 1 {
		x, y := w.on(from+(to-from)*float64(i)/float64(n), out)
		path = append(path, layout.Segment{Move: i == 0, X: x, Y: y})
	}
	for i := range n + 1 {
		x, y := w.on(to-(to-from)*float64(i)/float64(n), in)
		path = append(path, layout.Segment{X: x, Y: y})
	}
	return path
}

// part draws such a part of the ring: one that goes all around has no seam.
func (w *fire) part(c *set.Canvas, from, to, in, out, stroke float64) {
	outline := w.piece(from, to, in, out)
	if to-from < 1-1e-9 {
		c.Add(layout.Shape{Segments: outline, Fill: true, FillInk: layout.White, Stroke: stroke})
		return
	}
	half := len(outline) / 2
	inner := slices.Clone(outline[half:])
	inner[0].Move = true
	c.Add(layout.Shape{Segments: outline, Fill: true, FillInk: layout.White},
		layout.Shape{Segments: outline[:half-1], Stroke: stroke}, layout.Shape{Segments: inner[:half-1], Stroke: stroke})
}

// runs are the stretches of the ring along which a group lies, in turns.
func (p *firePost) runs(n int) (out [][2]float64) {
	for k, i := range p.along {
		from, to := float64(i)/float64(n), float64(i+1)/float64(n)
		if k > 0 && p.along[k-1] == i-1 {
			out[len(out)-1][1] = to
		} else {
			out = append(out, [2]float64{from, to})
		}
	}
	if m := len(out); m > 1 && out[0][0] == 0 && out[m-1][1] == 1 { // over the foot
		out[m-1][1] += out[0][1]
		out = out[1:]
	}
	return out
}

func (w *fire) draw(c *set.Canvas) {
	for _, p := range w.posts {
		w.leader(c, p)
	}
	numbers := w.interference(c)
	n := len(w.line)
	const stroke = 0.5
	w.letters = 9 // mm; all letters as large as the least room allows
	for _, p := range w.posts {
		if p.Division != nil && p.along == nil && p.turn < 1 {
			if l, ok := w.fitting(p, p.turn, w.band, w.around(1/float64(n)), w.letters); ok {
				w.letters = l.id.Cap()
			}
		}
	}
	for _, p := range w.posts {
		if p.Division == nil {
			continue
		}
		if len(p.along) > 0 {
			in := float64(p.layer)*w.arc + 0.8
			for _, run := range p.runs(n) {
				apart := 0.004 // turns between two groups
				if run[1]-run[0] > 1-1e-9 {
					apart = 0
				}
				w.part(c, run[0]+apart, run[1]-apart, in, in+w.arc-0.8, 0.3)
				w.label(c, p, (run[0]+run[1])/2, in+(w.arc-0.8)/2, w.arc-0.8, w.around(run[1]-run[0]))
			}
			continue
		}
		if p.turn >= 1 {
			continue
		}
		from, to := p.turn-0.5/float64(n), p.turn+0.5/float64(n)
		w.part(c, from, to, -w.band, 0, stroke)
		w.label(c, p, p.turn, -w.band/2, w.band, w.around(to-from))
	}
	for _, p := range w.posts {
		w.boxed(c, p)
	}
	numbers()
}

// around is how long a part of the ring is, mm, about.
func (w *fire) around(turns float64) float64 {
	return turns * math.Pi * (w.rx + w.ry - w.band)
}

// label is the id of a post on the ring, and on a division the numbers of the
// slots that it talks on, below it or beside it.
type label struct {
	id, plate  set.Style
	said       string
	wide, high float64
	below      bool
}

// labelOf a post whose ids are so high, below each other or side by side; bare: the
// id alone.
func (w *fire) labelOf(p *firePost, high float64, below, bare bool) label {
	l := label{id: set.CapStyle(fonts.Bold, high), plate: set.CapStyle(fonts.Bold, max(layout.SheetLeast(), high*0.66)), below: below}
	l.wide, l.high = l.id.Width(p.Division.ID), l.id.Cap()
	if len(p.along) > 0 || bare {
		return l
	}
	var numbers []string
	for _, i := range p.Talks {
		numbers = append(numbers, strconv.Itoa(i+1))
	}
	if l.said = strings.Join(numbers, ","); l.said == "" {
		return l
	}
	pw, _, ph := set.PlateSize(l.plate, l.said)
	if below {
		l.wide, l.high = max(l.wide, pw), l.high*1.3+ph
	} else {
		l.wide, l.high = l.wide+l.id.Cap()*0.4+pw, max(l.high, ph)
	}
	return l
}

// fitting is the label of a post in the way that is largest on its part of the
// ring, its ids no higher than most; not ok: none fits.
func (w *fire) fitting(p *firePost, turn, band, along, most float64) (best label, ok bool) {
	sin, cos := math.Sincos(turn * 2 * math.Pi)
	nx, ny := math.Abs(sin)*w.ry, math.Abs(cos)*w.rx // square to the ring
	length := math.Hypot(nx, ny)
	nx, ny = nx/length, ny/length
	if len(p.along) > 0 {
		most = min(most, band*0.6)
	}
	for _, way := range [][2]bool{{false, false}, {true, false}, {false, true}} {
		if way[1] && ok { // the id alone, only where there is no room for more
			break
		}
		fits := func(high float64) bool {
			l := w.labelOf(p, high, way[0], way[1])
			return l.wide*nx+l.high*ny <= band*0.84 && l.wide*ny+l.high*nx <= along*0.76
		}
		if high, found := set.Largest(layout.SheetLeast(), max(most, layout.SheetLeast()), 0.1, fits); found && (!ok || high > best.id.Cap()+0.05) {
			best, ok = w.labelOf(p, high, way[0], way[1]), true
		}
	}
	return best, ok
}

// label sets a label about a point of the ring. Where there is no room for one the
// box says it.
func (w *fire) label(c *set.Canvas, p *firePost, turn, out, band, along float64) {
	l, ok := w.fitting(p, turn, band, along, w.letters)
	if !ok {
		return
	}
	x, y := w.on(turn, out)
	pw, _, ph := set.PlateSize(l.plate, l.said)
	switch id := p.Division.ID; {
	case l.said == "":
		c.TextMid(x, y+l.id.Cap()/2, l.id, id)
	case l.below:
		c.TextMid(x, y-l.high/2+l.id.Cap(), l.id, id)
		c.Plate(x-pw/2, y+l.high/2-(ph-l.plate.Cap())/2, l.plate, l.said, false)
	default:
		c.Text(x-l.wide/2, y+l.id.Cap()/2, l.id, id)
		c.Plate(x+l.wide/2-pw, y+l.plate.Cap()/2, l.plate, l.said, false)
	}
}

// inner is the point of a box's edge that looks at the ring.
func (w *fire) inner(p *firePost) (x, y float64) {
	x = p.x
	if p.x < w.cx {
		x += p.w
	}
	return x, p.y + w.pad() + w.Key*0.5
}

// leader joins a box with its part of the ring, at the nearest point of it.
func (w *fire) leader(c *set.Canvas, p *firePost) {
	n := len(w.line)
	var runs [][2]float64
	out := 0.0
	switch {
	case p.Division == nil || p.turn >= 1 || n == 0:
		return
	case len(p.along) > 0:
		runs, out = p.runs(n), float64(p.layer+1)*w.arc
	default:
		runs = [][2]float64{{p.turn - 0.5/float64(n), p.turn + 0.5/float64(n)}}
	}
	x0, y0 := w.inner(p)
	for _, run := range runs {
		best, bx, by := math.Inf(1), 0.0, 0.0
		for i := range 21 {
			x, y := w.on(run[0]+(run[1]-run[0])*(0.2+0.6*float64(i)/20), out-0.5)
			if d := math.Hypot(x-x0, y-y0); d < best {
				best, bx, by = d, x, y
			}
		}
		c.Add(layout.Line{X1: x0, Y1: y0, X2: bx, Y2: by, Weight: 0.3})
	}
}

// boxed draws a box: square corners for a division, round ones for a group.
func (w *fire) boxed(c *set.Canvas, p *firePost) {
	pad := w.pad()
	h := p.blocks.Height() + 2*pad
	radius, line := 0.0, 0
	if d := p.Division; d != nil {
		line = d.At("").Line
		if d.Functional {
			radius = min(h, p.w) * 0.12
		}
	}
	c.Area(p.x, p.y, p.w, h, 0, line)
	c.Add(layout.Box{X: p.x, Y: p.y, W: p.w, H: h, Radius: radius, Fill: true, FillInk: layout.White, Stroke: 0.3})
	p.blocks.Put(c, p.x+pad, p.y+pad)
}

// anchor is the end of a line; that at a group lies outside of the ring, and the
// line goes over it.
type anchor struct {
	x, y float64
	over bool
}

// anchors are where lines to a slot end: at the divisions that work on it, or below
// what all have in common.
func (w *fire) anchors(s *plan.ResolvedSlot) (points []anchor) {
	for _, p := range w.posts {
		if p.Division == nil || !s.UsedBy(p.Division) || p.turn >= 1 {
			continue
		}
		out := -w.band
		if len(p.along) > 0 {
			out = float64(p.layer) * w.arc
		}
		x, y := w.on(p.turn, out)
		points = append(points, anchor{x, y, len(p.along) > 0})
	}
	if points == nil {
		if at, ok := w.below[s.At("").Line]; ok {
			points = append(points, anchor{at[0], at[1], false})
		}
	}
	return points
}

// interference draws what disturbs what: a number inside the ring, broken lines
// to it from those who talk, and an arrow from it to who is disturbed; between two
// that are too close arrows to both. What it returns draws what lies above the ring.
func (w *fire) interference(c *set.Canvas) (numbers func()) {
	if !w.o.Lines || len(w.o.Troubles) == 0 || len(w.line) == 0 {
		return func() {}
	}
	r := w.Body * 0.95
	inX, inY := w.rx-w.band-r*1.5, w.ry-w.band-r*1.5
	perColumn := max(1, int(2*inY/(r*2.8)))
	columns := (len(w.o.Troubles) + perColumn - 1) / perColumn
	if inX < r || float64(columns)*r*2.8 > 2*inX+r*2.8 {
		w.Misfit(w.Resolved.Plan.Incident.At("name"), strconv.Itoa(len(w.o.Troubles))+" lines inside the ring of", w.Resolved.Plan.Incident.Name)
		return func() {}
	}
	type mark struct{ x, y float64 }
	marks := make([]mark, len(w.o.Troubles))
	var above []layout.Item
	pitch := min(2*inY/float64(min(perColumn, len(marks))), r*4.5)
	for i, t := range w.o.Troubles {
		col, row := i/perColumn, i%perColumn
		rows := min(perColumn, len(w.o.Troubles)-col*perColumn)
		m := mark{w.cx + (float64(col)-float64(columns-1)/2)*r*2.8, w.cy + (float64(row)-float64(rows-1)/2)*pitch}
		if columns == 1 && rows > 1 { // so that no line hides behind a number
			m.x += inX * 0.3 * float64(2*(row%2)-1)
		}
		marks[i] = m
		for k, s := range append(slices.Clone(t.From), t.Onto) {
			dash := 0.0
			if t.ThirdOrder() && k < len(t.From) {
				dash = 1.2
			}
			for _, at := range w.anchors(s) {
				line := layout.Line{X1: m.x, Y1: m.y, X2: at.x, Y2: at.y, Weight: 0.45, Dash: dash}
				if at.over {
					above = append(above, line)
				} else {
					c.Add(line)
				}
			}
		}
	}
	return func() {
		c.Add(above...)
		s := w.Bold(1)
		for i, m := range marks {
			t := w.o.Troubles[i]
			for _, at := range w.anchors(t.Onto) {
				w.tip(c, m.x, m.y, at.x, at.y)
			}
			if !t.ThirdOrder() {
				for _, at := range w.anchors(t.From[0]) {
					w.tip(c, m.x, m.y, at.x, at.y)
				}
			}
			c.Add(layout.Box{X: m.x - r, Y: m.y - r, W: 2 * r, H: 2 * r, Radius: r, Fill: true, FillInk: layout.White, Stroke: 0.3})
			c.TextMid(m.x, m.y+s.Cap()/2, s, strconv.Itoa(i+1))
		}
	}
}

// tip draws the head of an arrow at the end of a line.
func (w *fire) tip(c *set.Canvas, fromX, fromY, x, y float64) {
	length := math.Hypot(x-fromX, y-fromY)
	if length == 0 {
		return
	}
	l := w.Body * 0.9
	ux, uy := (x-fromX)/length*l, (y-fromY)/length*l
	c.Add(layout.Shape{Fill: true, Segments: []layout.Segment{
		{Move: true, X: x, Y: y}, {X: x - ux - uy*0.45, Y: y - uy + ux*0.45}, {X: x - ux + uy*0.45, Y: y - uy - ux*0.45}}})
}
