package wall

import (
	"slices"

	"slotcard/fonts"
	"slotcard/layout"
	"slotcard/layout/frame"
	"slotcard/layout/set"
	"slotcard/plan"
)

// The read-back codes of the wall sheet and their symbols: one below the other right
// of something, or side by side below it.

// codeBlock is a code, or several, and the room that they take.
type codeBlock struct {
	w, h float64
	draw func(c *set.Canvas, x, y float64)
}

// symbol is a QR symbol that has its place but is not made yet: making one
// takes longer than all else, and most sheets that are tried are not taken.
type symbol struct {
	text         string
	module, side float64 // mm
}

// symbol is the QR symbol of a list. Its error correction is M: a symbol that is read
// from afar wants large modules first.
func (w *wall) symbol(l *plan.List) symbol {
	size, _ := layout.SymbolSize(l.Text, layout.LevelM) // symbolFaults has looked
	return symbol{l.Text, w.at.module, w.at.module * float64(size)}
}

// quiet is the light margin that the symbol needs, mm.
func (s symbol) quiet() float64 { return s.module*layout.QuietModules + 0.3 }

// placedSymbol is where a symbol belongs when it is made.
type placedSymbol struct {
	canvas *set.Canvas
	item   int
	symbol
}

// place puts a symbol on the page.
func (w *wall) place(c *set.Canvas, x, y float64, s symbol) {
	w.symbols = append(w.symbols, placedSymbol{c, len(c.Items), s})
	c.Add(layout.Modules{X: x, Y: y, Module: s.module, Alt: w.Words.CodePicture})
}

// makeSymbols makes all symbols of the sheet.
func (w *wall) makeSymbols() {
	for _, s := range w.symbols {
		m := s.canvas.Items[s.item].(layout.Modules)
		var err error
		if m.Symbol, err = w.o.Symbols.Encode(s.text, layout.LevelM); err != nil {
			panic("layout: " + err.Error()) // its size and its letters have been looked at
		}
		s.canvas.Items[s.item] = m
	}
}

// codesHead is what is said once over several codes: what they are, and how to scan them;
// clear is the white that what stands below asks for, mm.
func (w *wall) codesHead(width, clear float64, again bool) set.Block {
	if len(w.Resolved.Lists) == 1 {
		return set.Block{} // it stands at the code
	}
	said := w.Words.ReadBackCode
	if again {
		said += ", " + w.Words.Again
	}
	use := set.Words(w.Small(1), w.Words.ScanSymbol)
	pieces := set.Words(w.Bold(1), said)
	pieces[len(pieces)-1].Space = w.Body * 1.3
	lines, _ := set.BreakLines(soft(append(pieces, use...)), width, width)
	return set.Stack{Lines: lines, Cap: w.Body, Pitch: w.line()}.Block(max(w.Body*1.5, clear+w.Body*set.Descender))
}

// codeTexts are what stands beside or above a symbol, in a width.
func (w *wall) codeTexts(l *plan.List, width float64) codeBlock {
	head := w.Bold(1)
	said, scan := w.Words.ReadBackCode, w.Words.ScanSymbol
	if len(w.Resolved.Lists) > 1 {
		said, scan = w.Words.ListName(l, w.Resolved), ""
	}
	title := head.Stack(said, width, head.Cap()*1.55)
	code, _ := set.Shrink(set.Style{Face: fonts.MonoBold}, l.Code.Pairs(), w.Key*1.8, w.Body, width*0.84)
	boxW := min(width, code.Width(l.Code.Pairs())+code.Cap()*1.2)
	boxH := code.Cap() * 1.7
	spelled := w.Bold(1).Stack(w.Words.Spelled(l.Code), width, w.Body*1.55)
	use := w.Small(1).Stack(scan, width, w.Fine*1.6)
	boxY := title.Height() + w.Body*0.9
	spelledY := boxY + boxH + w.Body*0.9
	useY := spelledY + spelled.Height()
	if scan != "" {
		useY += w.Body * 0.9
	}
	return codeBlock{w: width, h: useY + use.Height() + w.Fine*set.Descender, draw: func(c *set.Canvas, x, y float64) {
		title.Draw(c, x, y)
		c.Frame(x, y+boxY, boxW, boxH, frame.RuleHeavy)
		c.TextMid(x+boxW/2, y+boxY+(boxH+code.Cap())/2, code, l.Code.Pairs())
		spelled.Draw(c, x, y+spelledY)
		use.Draw(c, x, y+useY)
	}}
}

// tallCode is a code with its symbol below, texts that high at least above it.
func (w *wall) tallCode(l *plan.List, least float64) codeBlock {
	s := w.symbol(l)
	wide := max(s.side, w.Body*11, w.Fine*16)
	texts := w.codeTexts(l, wide)
	texts.h = max(texts.h, least)
	return codeBlock{w: wide, h: texts.h + s.quiet() + s.side + s.quiet() + w.Body*0.6, draw: func(c *set.Canvas, x, y float64) {
		texts.draw(c, x, y)
		w.place(c, x, y+texts.h+s.quiet(), s)
	}}
}

// wideCode is a code with its symbol on the left.
func (w *wall) wideCode(l *plan.List) codeBlock {
	s := w.symbol(l)
	wide := max(w.Body*17, w.Fine*20)
	if len(w.Resolved.Lists) > 1 { // its texts are short
		wide = w.Body * 12
	}
	texts := w.codeTexts(l, wide)
	left := s.side + s.quiet() + w.Body
	return codeBlock{w: left + texts.w, h: max(texts.h, s.side) + s.quiet() + w.Body*0.6, draw: func(c *set.Canvas, x, y float64) {
		w.place(c, x, y, s)
		texts.draw(c, x+left, y)
	}}
}

// apart is the white between codes, and between them and what is left of them.
func (w *wall) apart(lists []*plan.List) float64 {
	return max(w.symbol(lists[0]).quiet()+frame.RuleMid, w.Body*1.6)
}

// codeRail is codes one below the other, with the white to the left of them.
func (w *wall) codeRail(lists []*plan.List) (rail codeBlock) {
	gap := w.apart(lists)
	var all []codeBlock
	for _, l := range lists {
		b := w.tallCode(l, 0)
		all = append(all, b)
		rail.w = max(rail.w, b.w+gap)
		rail.h += b.h
	}
	rail.h += float64(len(all)-1) * w.Body
	head := w.codesHead(rail.w-gap, 0, false)
	rail.h += head.H
	rail.draw = func(c *set.Canvas, x, y float64) {
		head.Put(c, x+gap, y)
		y += head.H
		for _, b := range all {
			b.draw(c, x+gap, y)
			y += b.h + w.Body
		}
	}
	return rail
}

// drawRail draws a rail on the right of a page, down from a height.
func (w *wall) drawRail(rail codeBlock, on *set.Page, y float64) {
	if !w.Trial {
		rail.draw(&on.Canvas, w.Right()-rail.w, y)
	}
}

// placeCodes places codes side by side, in as many rows as they take, each as a tall
// block or a wide one, whichever makes them lower.
func (w *wall) placeCodes(lists []*plan.List, last bool) {
	var best []set.Block
	low, most, clear := 0.0, 0.0, 0.0
	quiet := w.symbol(lists[0]).quiet()
	for _, l := range lists { // symbols stand on one line
		b := w.tallCode(l, 0)
		most = max(most, b.h-w.symbol(l).side)
	}
	above := most - 2*quiet - w.Body*0.6
	tall := func(l *plan.List) codeBlock { return w.tallCode(l, above) }
	for i, make := range []func(*plan.List) codeBlock{w.wideCode, tall} {
		over := [...]float64{quiet, 0}[i]
		blocks, h, ok := w.codeRows(lists, over, make)
		if h += w.codesHead(w.Width(), over, false).H; ok && (best == nil || h < low) {
			best, low, clear = blocks, h, over
		}
	}
	if best == nil {
		w.Out = true
		return
	}
	w.Flow(set.Flow{Blocks: best, Mark: w.Words.ReadBackCode, Head: func(p set.Part) set.Pile { return set.Pile{w.codesHead(w.Width(), clear, p.Again)} }})
}

// codeRows are codes in rows; not ok: a row is wider or higher than a page.
func (w *wall) codeRows(lists []*plan.List, clear float64, block func(*plan.List) codeBlock) (rows []set.Block, total float64, ok bool) {
	gap := w.apart(lists)
	all := make([]codeBlock, len(lists))
	wide := 0.0
	for i, l := range lists {
		all[i] = block(l)
		wide = max(wide, all[i].w)
	}
	n := int((w.Width() + gap) / (wide + gap))
	if n < 1 {
		return nil, 0, false
	}
	n = min(n, (len(lists)+(len(lists)+n-1)/n-1)/((len(lists)+n-1)/n)) // rows even
	step := min((w.Width()+gap)/float64(n), (wide+gap)*1.6)
	for some := range slices.Chunk(all, n) {
		h := 0.0
		for _, b := range some {
			h = max(h, b.h)
		}
		if h+w.codesHead(w.Width(), clear, true).H > w.PageRoom() {
			return nil, 0, false
		}
		total += h
		rows = append(rows, set.Drawn(h, func(c *set.Canvas, x, y float64) {
			for i, b := range some {
				b.draw(c, x+float64(i)*step, y)
			}
		}))
	}
	return rows, total, true
}
