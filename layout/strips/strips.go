// Package strips lays out, in place of new cards, what changes on those that people
// have, and the page that is read on the radio with them: begin at [Lay].
package strips

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"sync"

	"slotcard/fonts"
	"slotcard/layout"
	"slotcard/layout/frame"
	"slotcard/layout/set"
	"slotcard/layout/words"
	"slotcard/plan"
	"slotcard/plan/changes"
	"slotcard/plan/finding"
)

// Strips: in place of new cards, what changes on those that people have. A strip
// hangs from the foot of its card, over the old code, and says of each slot that is
// another what stood in the build table. Strip and old card together are the new list.

// Options say how to lay out strips.
type Options struct {
	Paper   layout.Size       // the zero Size: letter
	Roll    *layout.Roll      // of labels, in place of paper; nil: none
	Words   *words.StripWords // nil: English
	Symbols *layout.Symbols   // made so far; nil: none
}

// Count is what became of the cards.
type Count struct {
	Cards    int          // that get a strip
	Full     []*plan.Card // that no strip can change
	PerPage  int
	Pages    int  // of strips; behind them stands what is read on the radio
	Scanned  bool // strips carry the code to scan
	NoStrips bool // no strip can say it: print the cards
}

// Measures of strips, mm.
const (
	stripEdge  = 4.8  // of the outermost strips from the edge of the paper: what is printed on them lies further in
	stripLeast = 24.0 // height of a strip without a symbol
	stripWide  = 84.0 // least width
	stripPad   = 1.8  // between an edge of a strip of paper and text
	stripMost  = 2.35 // capitals of small print, at most
	stripMany  = 16   // to a page: with fewer, the symbol is left out
	stripCut   = 0.15
)

// Lay lays out the strips of all cards that change, and on paper behind them the page
// that is read on the radio; beside a roll that is [RadioPage]. There is no document where
// no strip can say it. What does not fit is a finding, and then there is no document either.
func Lay(c *changes.Changes, o Options) (*layout.Document, Count, finding.List) {
	frame.Settle(&o.Paper, &o.Words, &words.EnglishStrips)
	if o.Symbols == nil {
		o.Symbols = new(layout.Symbols)
	}
	some, full := stripsOf(c)
	n := Count{Cards: len(some)}
	for _, s := range full {
		n.Full = append(n.Full, s.card.New)
	}
	if c.Fresh() || len(some) == 0 {
		n.NoStrips = true
		return nil, n, nil
	}
	k, placed := fitted(c, o, some)
	if len(k.bad) > 0 {
		return nil, n, k.findings()
	}
	radio, findings := radioPage(c, o, some, full)
	if radio == nil {
		return nil, n, findings
	}
	d := k.pages(placed)
	n.Pages, n.PerPage, n.Scanned = len(d.Pages), k.cols*k.rows, k.module > 0
	if o.Roll != nil {
		d.Duplex = layout.Simplex
	} else {
		d.Pages = append(d.Pages, radio.Pages...)
	}
	d.Title, d.Subject, d.Language = radio.Title, radio.Subject, radio.Language
	return d, n, nil
}

// RadioPage is the page alone that is read on the radio.
func RadioPage(c *changes.Changes, o Options) (*layout.Document, finding.List) {
	frame.Settle(&o.Paper, &o.Words, &words.EnglishStrips)
	some, full := stripsOf(c)
	return radioPage(c, o, some, full)
}

// fitted is the sheet of some strips.
func fitted(c *changes.Changes, o Options, some []*strip) (*stripSheet, []stripPart) {
	if o.Roll != nil {
		k := onRoll(c, o, some)
		return k, k.parts(some)
	}
	k := &stripSheet{c: c, o: o, words: o.Words, pad: stripPad, reach: layout.PrintEdge}
	k.form(some)
	return k, k.grow(some)
}

// grow is the strips in the largest type that holds each in one part.
func (k *stripSheet) grow(some []*strip) []stripPart {
	k.small, _ = set.Largest(layout.CapLeast, stripMost, 0.05, func(small float64) bool {
		k.small, k.bad = small, nil
		parts := k.parts(some)
		return len(k.bad) == 0 && len(parts) == len(some)
	})
	k.bad = nil
	return k.parts(some)
}

// stripSheet is sheets of strips in the making.
type stripSheet struct {
	c     *changes.Changes
	o     Options
	words *words.StripWords

	paper      layout.Size
	cols, rows int
	w, h       float64 // of a strip; h 0: as high as it needs to be
	pad        float64 // between an edge and text
	clear      float64 // between an edge and a symbol, more than its quiet zone
	reach      float64 // of the printer from the edge of the page
	module     float64 // of its symbol, mm; 0: none
	small      float64 // capitals of small print, mm
	bad        []set.Misfit
}

// form chooses how many strips go on a page: with their symbol, where at least
// [stripMany] do.
func (k *stripSheet) form(strips []*strip) {
	most := 0
	for _, s := range strips {
		size, ok := layout.SymbolSize(s.card.New.List.Text, layout.LevelM)
		if !ok {
			size = math.MaxInt16
		}
		most = max(most, size)
	}
	need := (float64(most) + 2*layout.QuietModules) * layout.LeastModule
	across := k.o.Paper.Across()
	upright := layout.Size{Name: across.Name, Width: across.Height, Height: across.Width}
	try := func(least float64) {
		for _, p := range []layout.Size{across, upright} {
			cols := int((p.Width - 2*stripEdge) / stripWide)
			rows := int((p.Height - 2*stripEdge + set.Tolerance) / least)
			if cols*rows > k.cols*k.rows {
				k.paper, k.cols, k.rows = p, cols, rows
			}
		}
	}
	try(need)
	if k.cols*k.rows >= stripMany {
		k.h = min((k.paper.Height-2*stripEdge)/float64(k.rows), need*1.08)
		k.module = math.Floor(k.h/(float64(most)+2*layout.QuietModules)*1000) / 1000
	} else {
		k.cols, k.rows = 0, 0
		try(stripLeast)
		k.h = stripLeast
	}
	k.w = min((k.paper.Width-2*stripEdge)/float64(k.cols), 105)
}

// stripPart is a strip of paper: some rows of a card's strip.
type stripPart struct {
	*strip
	h     float64
	lines []stripLine
	i, n  int // of the strips of this card
}

// stripLine is a line of a strip, and the height that it takes.
type stripLine struct {
	h    float64
	draw func(c *set.Canvas, x, y float64) // y of its baseline
}

// textLeft is where text begins.
func (k *stripSheet) textLeft(s *strip) float64 {
	if k.module == 0 {
		return k.pad
	}
	return k.symbolEdge() + k.symbolSide(s) + k.module*layout.QuietModules + stripPad*0.4
}

// symbolEdge is free between the edge of a strip and its symbol.
func (k *stripSheet) symbolEdge() float64 { return max(k.module*layout.QuietModules, k.clear) }

// symbolSide is the side of a strip's symbol; 0: it has none.
func (k *stripSheet) symbolSide(s *strip) float64 {
	size, _ := layout.SymbolSize(s.card.New.List.Text, layout.LevelM)
	return k.module * float64(size)
}

// height that a part needs.
func (k *stripSheet) height(p stripPart) float64 {
	text := 2*k.pad + lineSum(p.lines) + lineSum(k.footLines(p.strip, k.textWidth(p.strip)))
	if k.module == 0 {
		return text
	}
	return max(text, k.symbolSide(p.strip)+2*k.symbolEdge())
}

// textWidth is the width of the text of a strip.
func (k *stripSheet) textWidth(s *strip) float64 { return k.w - k.textLeft(s) - k.pad }

func (k *stripSheet) regular() set.Style { return set.CapStyle(fonts.Regular, k.small) }
func (k *stripSheet) bold() set.Style    { return set.CapStyle(fonts.Bold, k.small) }
func (k *stripSheet) mono() set.Style    { return set.CapStyle(fonts.Mono, k.small) }

// misfit notes a text that a strip does not hold.
func (k *stripSheet) misfit(at finding.Place, what, text string) {
	k.bad = append(k.bad, set.Misfit{At: at, What: what, Text: text})
}

func (k *stripSheet) findings() finding.List {
	var f set.Faults
	for _, m := range k.bad {
		f.Add(m)
	}
	notice := set.Notice{None: "shorten it, or print the cards in place of strips", Message: func(m set.Misfit) string {
		return fmt.Sprintf("%s %q does not fit a strip", m.What, set.Short(m.Text))
	}, Data: func(set.Misfit) map[string]any { return map[string]any{} }}
	if roll := k.o.Roll; roll != nil {
		notice.Message = func(m set.Misfit) string {
			return fmt.Sprintf("%s %q does not fit a strip on %s", m.What, set.Short(m.Text), roll)
		}
		onPaper := sync.OnceValue(func() bool {
			o := k.o
			o.Roll = nil
			some, _ := stripsOf(k.c)
			paper, _ := fitted(k.c, o, some)
			return len(paper.bad) == 0
		})
		notice.Remedies = [][]set.Remedy{{{Help: "on paper it does: --roll none", Key: "roll", Value: "none", Holds: func(set.Misfit) bool { return onPaper() }}}}
	}
	return f.Findings(notice)
}

// parts breaks strips into as many pieces as their rows take.
func (k *stripSheet) parts(strips []*strip) (all []stripPart) {
	for _, s := range strips {
		width := k.textWidth(s)
		room := k.h - 2*k.pad - lineSum(k.headLines(s, width, 1, 2)) - lineSum(k.footLines(s, width))
		var parts []stripPart
		var lines []stripLine
		for _, r := range s.rows {
			row := k.rowLines(r, width)
			if k.h == 0 {
				lines = append(lines, row...)
				continue
			}
			if lineSum(row) > room+set.Tolerance {
				k.misfit(r.slot.At("channel"), "slot "+strconv.Itoa(r.position), r.slot.Channel.Name)
			}
			if lineSum(lines)+lineSum(row) > room+set.Tolerance {
				parts, lines = append(parts, stripPart{strip: s, lines: lines}), nil
			}
			lines = append(lines, row...)
		}
		parts = append(parts, stripPart{strip: s, lines: lines})
		for i := range parts {
			parts[i].i, parts[i].n = i+1, len(parts)
			parts[i].lines = append(k.headLines(s, width, i+1, len(parts)), parts[i].lines...)
			if parts[i].h = k.h; k.h == 0 {
				parts[i].h = k.height(parts[i])
			}
		}
		all = append(all, parts...)
	}
	return all
}

func lineSum(lines []stripLine) (h float64) {
	for _, l := range lines {
		h += l.h
	}
	return h
}

// headLines say whose strip it is.
func (k *stripSheet) headLines(s *strip, width float64, i, n int) []stripLine {
	bold, regular := k.bold(), k.regular()
	card := s.card.Old
	number := k.words.Card + " " + strconv.Itoa(card.Number)
	if n > 1 {
		number += ", " + words.Filled(k.words.PartOf, "i", strconv.Itoa(i), "n", strconv.Itoa(n))
	}
	lines := wrapped(width, append(set.Words(bold, card.Unit.Name), set.Words(regular, card.Position.Name+", "+words.Whole(number))...))
	if lines == nil {
		k.misfit(card.Unit.At("name"), "unit", card.Unit.Name)
	}
	return k.plain(lines)
}

// wrapped are the lines of pieces; nil where one does not fit.
func wrapped(width float64, pieces []set.Piece) []set.Line {
	lines, bad := set.Wrap(pieces, width)
	if bad != "" {
		return nil
	}
	return lines
}

func (k *stripSheet) plain(lines []set.Line) (out []stripLine) {
	for _, l := range lines {
		out = append(out, stripLine{k.small * set.Leading, func(c *set.Canvas, x, y float64) { c.Line(x, y, l) }})
	}
	return out
}

// Of a line's height its ink stands lineRise above the baseline, lineAir mm clear of what
// hangs down from the line before.
const (
	lineRise = 0.82
	lineAir  = 0.2
)

// rowLines are the lines of a slot: its number on black, its name large, how it is
// built, whom it is for, and what the holder does there.
func (k *stripSheet) rowLines(r row, width float64) []stripLine {
	bold, regular, mono := k.bold(), k.regular(), k.mono()
	verb := [...]string{rowNow: k.words.Now, rowStays: k.words.Stays, rowClear: k.words.Clear}[r.kind]
	plate := set.Run{Style: set.CapStyle(fonts.Bold, k.small*1.15), S: strings.ToUpper(k.words.Slot) + " " + strconv.Itoa(r.position) + " " + verb, Plate: true}
	pieces := []set.Piece{set.PieceOf(k.small, plate)}
	if r.kind == rowClear {
		return k.spaced(wrapped(width, pieces), k.small*2.3)
	}
	factor := 1.9
	if r.kind == rowStays {
		factor = 1.35
	}
	large, ok := set.Shrink(set.Style{Face: fonts.MonoBold}, r.slot.Channel.Name, max(k.small*factor, layout.CapKey), layout.CapKey, width)
	if !ok {
		k.misfit(r.slot.At("channel"), "display name", r.slot.Channel.Name)
	}
	pieces = append(pieces, set.PieceOf(k.small, large.Say(r.slot.Channel.Name)))
	high := max(large.Cap()*1.5, (set.PlateRise(plate.Style, plate.S)+lineAir)/lineRise) // an accent makes the plate higher
	out := k.spaced(wrapped(width, pieces), high)
	var below []set.Piece
	if r.kind == rowNow {
		for _, t := range Built(r.place, r.slot) {
			below = append(below, set.PieceOf(k.small*1.1, mono.Say(t)))
		}
	}
	if r.lead {
		below = append(below, set.PieceOf(k.small, bold.Say(k.words.Lead(r.slot))))
	}
	if r.marks {
		below = append(below, k.marks(r.mark, bold, regular)...)
	}
	lines := wrapped(width, below)
	if lines == nil {
		k.misfit(r.slot.At("channel"), "what is said of slot "+strconv.Itoa(r.position), k.words.Lead(r.slot))
	}
	return append(out, k.spaced(lines, k.small*1.85)...)
}

// Built is how a slot is built, in the order of the build table: group and channel,
// receive and transmit, tones, and what is not analog and narrow.
func Built(place string, s *plan.ResolvedSlot) (said []string) {
	c := s.Channel
	all := []string{place, c.System, c.Talkgroup, words.Kind(c)}
	if !c.Trunked() {
		f := c.Figures(s.TxTone)
		all = []string{place, f.Frequencies(), f.Tones(), words.Kind(c)}
	}
	for _, t := range all {
		if t != "" {
			said = append(said, t)
		}
	}
	return said
}

// marks are what the holder does on a slot.
func (k *stripSheet) marks(m plan.Mark, bold, regular set.Style) (out []set.Piece) {
	for _, one := range []struct {
		is   bool
		said string
	}{{m.Talk, k.words.Talk}, {m.Priority, k.words.Priority}, {m.Scan && !m.Priority, k.words.Scan}} {
		if one.is {
			out = append(out, set.PieceOf(k.small, set.Run{Style: bold, S: one.said, Plate: true}))
		}
	}
	if out == nil {
		out = append(out, set.PieceOf(0, regular.Say(k.words.Unheard)))
	}
	return out
}

// spaced are lines at a height of their own.
func (k *stripSheet) spaced(lines []set.Line, h float64) (out []stripLine) {
	for _, l := range lines {
		out = append(out, stripLine{h, func(c *set.Canvas, x, y float64) { c.Line(x, y, l) }})
	}
	return out
}

// footLines are the new code in its box, which print the strip is of, and the mark of
// an exercise.
func (k *stripSheet) footLines(s *strip, width float64) []stripLine {
	bold, code := k.bold(), set.CapStyle(fonts.MonoBold, k.small*1.35)
	said := s.card.New.List.Code.Pairs()
	wide := code.Width(said) + k.small
	box := set.Run{Style: code, Wide: wide, Drawn: func(c *set.Canvas, x, y float64) {
		c.Frame(x, y-code.Cap()-k.small*0.45, wide, code.Cap()+k.small*0.9, 0.35)
		c.Text(x+k.small*0.5, y, code, said)
	}}
	pieces := []set.Piece{set.PieceOf(k.small, bold.Say(k.words.NewCode+" "), box), set.PieceOf(k.small, bold.Say(k.issue()))}
	if k.c.New.Plan.Incident.Exercise {
		pieces = append(pieces, set.PieceOf(0, set.Run{Style: bold, S: k.words.Exercise, Plate: true}))
	}
	lines := wrapped(width, pieces)
	if len(lines) > 1 { // the box alone, so that it is found
		lines = append(wrapped(width, pieces[:1]), wrapped(width, pieces[1:])...)
	}
	if lines == nil {
		k.misfit(k.c.New.Plan.Incident.At("period"), "period", k.issue())
	}
	return k.spaced(lines, k.small*2.3)
}

// issue is which print a strip is of.
func (k *stripSheet) issue() string {
	in := &k.c.New.Plan.Incident
	if k.c.Old.Plan.Incident.Period != in.Period { // the card has the hours of the old one
		from, to, _ := words.Times(in)
		return k.words.Numbered(k.words.Period, in) + ", " + k.words.Hours(from, to)
	}
	if said := k.words.Issue(in); said != "" {
		return said
	}
	return k.words.Numbered(k.words.Period, in)
}

// pages places the strips.
func (k *stripSheet) pages(parts []stripPart) *layout.Document {
	if k.o.Roll != nil {
		return k.labels(parts)
	}
	d := &layout.Document{}
	per := k.cols * k.rows
	left := (k.paper.Width - float64(k.cols)*k.w) / 2
	top := (k.paper.Height - float64(k.rows)*k.h) / 2
	unit := ""
	for from := 0; from < len(parts); from += per {
		c := &set.Canvas{}
		page := layout.Page{Width: k.paper.Width, Height: k.paper.Height}
		for i, p := range parts[from:min(from+per, len(parts))] {
			x, y := left+float64(i%k.cols)*k.w, top+float64(i/k.cols)*k.h
			last := i == min(per, len(parts)-from)-1
			k.cuts(c, layout.Rect{X: x, Y: y, W: k.w, H: k.h}, last || i%k.cols == k.cols-1, from+i+k.cols >= min(from+per, len(parts)))
			page.Areas = append(page.Areas, layout.Area{Rect: layout.Rect{X: x, Y: y, W: k.w, H: k.h}, Line: p.card.New.Unit.At("name").Line})
			k.draw(c, p, x, y)
			if name := p.card.Old.Unit.Name; name != unit {
				unit = name
				page.Bookmarks = append(page.Bookmarks, layout.Bookmark{Title: name, Y: y})
			}
		}
		page.Items = c.Items
		d.Pages = append(d.Pages, page)
	}
	return d
}

// cuts draws the lines along which a strip is cut: above and to the left of it, to the
// right and below where no other strip is. A strip on the edge of the page needs none
// there, where the printer does not reach: it is so much larger.
func (k *stripSheet) cuts(c *set.Canvas, r layout.Rect, right, below bool) {
	within := func(mm, most float64) float64 { return min(max(mm, k.reach), most-k.reach) }
	x0, x1 := within(r.X, k.paper.Width), within(r.X+r.W, k.paper.Width)
	y0, y1 := within(r.Y, k.paper.Height), within(r.Y+r.H, k.paper.Height)
	cut := func(is bool, x1, y1, x2, y2 float64) {
		if is {
			c.Add(layout.Line{X1: x1, Y1: y1, X2: x2, Y2: y2, Weight: stripCut})
		}
	}
	cut(y0 == r.Y, x0, y0, x1, y0)
	cut(x0 == r.X, x0, y0, x0, y1)
	cut(right && x1 == r.X+r.W, x1, y0, x1, y1)
	cut(below && y1 == r.Y+r.H, x0, y1, x1, y1)
}

// draw sets a strip with its top left corner at x, y.
func (k *stripSheet) draw(c *set.Canvas, p stripPart, x, y float64) {
	l := p.card.New.List
	if k.module > 0 {
		symbol, err := k.o.Symbols.Encode(l.Text, layout.LevelM)
		if err != nil {
			panic("layout: " + err.Error()) // its size was computed from the same text
		}
		side := float64(symbol.Size) * k.module
		c.Add(layout.Modules{X: x + k.dots(k.symbolEdge()), Y: y + k.dots((p.h-side)/2), Module: k.module, Symbol: symbol, Alt: k.words.CodePicture})
	}
	left := x + k.textLeft(p.strip)
	at := y + k.pad
	foot := k.footLines(p.strip, k.textWidth(p.strip))
	spare := (p.h - 2*k.pad - lineSum(foot) - lineSum(p.lines)) / float64(len(p.lines))
	spare = min(max(0, spare), k.small*0.6)
	for _, line := range p.lines {
		at += line.h
		line.draw(c, left, at-line.h*(1-lineRise))
		at += spare
	}
	at = y + p.h - k.pad - lineSum(foot)
	for _, line := range foot {
		at += line.h
		line.draw(c, left, at-k.small*0.55)
	}
}
