package cards

import (
	"slotcard/layout"
	"slotcard/layout/set"
	"slotcard/layout/words"
	"slotcard/plan"
)

// The back of a card: the QR symbol with the list text, the table from which
// the list is built, the code in words, the checks before leaving, the
// cautions. It says nothing of a seat: all cards of a list share one back.

// back is one way to arrange symbol, table and notes.
type back struct {
	size  layout.Size
	form  layout.SymbolForm
	small float64
	way   backWay
	table *table
	lines []set.Line
	said  brevity // how much the notes say
	spare float64 // height left over, mm

	instructed bool // the special instructions of the plan stand here
}

// backWay is where the blocks stand.
type backWay uint8

const (
	notesBelow     backWay = iota // symbol beside table, notes below both
	notesUnderText                // symbol beside a column of table and notes
	notesUnderCode                // a column of symbol and notes beside the table
	tableAbove                    // table, and below it symbol beside notes
	backWays
)

// symbolGap keeps the quiet zone beside the symbol free, and half a module more: ink
// spreads.
func symbolGap(module float64) float64 { return (layout.QuietModules + 0.5) * module }

// need is the height that the back takes, and the lines of its notes.
func (b *back) need(paragraphs [][]set.Piece) (height float64, why *set.Misfit) {
	W := b.size.Width - 2*layout.Safe
	side, gap := b.form.Side(), symbolGap(b.form.Module)
	beside := W - side - gap
	wrapIn := func(width float64) bool {
		var bad string
		b.lines, bad = noteLines(paragraphs, width)
		if bad != "" {
			why = &set.Misfit{Text: bad}
		}
		return bad == ""
	}
	tableIn := func(width float64) bool {
		if b.table.width() > width+set.Tolerance {
			why = &set.Misfit{Text: b.table.rows[0].name + " " + b.table.rows[0].receive + " " + b.table.rows[0].transmit}
			return false
		}
		return true
	}
	th := b.table.height()
	switch b.way {
	case notesBelow:
		if !tableIn(beside) || !wrapIn(W) {
			return 0, why
		}
		return max(side+gap, th+b.small*0.8) + b.notesHeight(), nil
	case notesUnderText:
		if !tableIn(beside) || !wrapIn(beside) {
			return 0, why
		}
		return max(side, th+b.small*0.9+b.notesHeight()), nil
	case notesUnderCode:
		if !tableIn(beside) || !wrapIn(b.codeColumn()) {
			return 0, why
		}
		return max(side+gap+b.notesHeight(), th), nil
	}
	if !tableIn(W) || !wrapIn(beside) {
		return 0, why
	}
	return th + gap + max(side, b.notesHeight()), nil
}

// codeColumn is the width of the column of symbol and notes: what the table leaves, so
// that a smaller symbol never needs more lines.
func (b *back) codeColumn() float64 {
	return max(b.form.Side(), b.size.Width-2*layout.Safe-symbolGap(b.form.Module)-b.table.width())
}

func (b *back) notesHeight() float64 {
	return b.small*noteTop + float64(len(b.lines)-1)*b.notePitch() + b.small*set.Descender
}

// noteTop is the room above the baseline of the first note, in cap heights: a
// plate may stand in it.
const noteTop = 1 + (set.PlateHeight-1)/2

func (b *back) notePitch() float64 { return pitchOf(b.small, b.lines) }

// backSearch is what the search for an arrangement looks at.
type backSearch struct {
	words *words.CardWords
	size  layout.Size
	notes notes
	rows  []build
	forms []layout.SymbolForm

	tables map[tableKey]*table // worked out so far, whatever the symbol beside them
	said   map[noteKey][][]set.Piece
}

type tableKey struct {
	form  tableForm
	small float64
	ticks bool
}

type noteKey struct {
	form   tableForm
	small  float64
	said   brevity
	extras int
}

const (
	moduleMost = 0.7 // mm: larger modules read no better from a card
	// worthWords is the module for which the notes are cut short, mm.
	worthWords = 0.45
	// worthALine is how much larger the type must become for a slot of the build
	// table to take a second line.
	worthALine = 1.15
	// comfortableBack is the cap height from which type on the back need not grow
	// before the symbol, or at the cost of words, mm: 20 arcmin at 350 mm.
	comfortableBack = 2.0
	// largeBack is that from which it need not grow before modules that are larger than
	// enough, or more error correction: 20 arcmin at 400 mm.
	largeBack = 2.3
)

// backSearchOf begins to look for the back of the cards of a list.
func backSearchOf(o *Options, size layout.Size, r *plan.Resolved, l *plan.List) *backSearch {
	return &backSearch{words: o.Words, size: size, rows: buildOf(o.Words, l),
		notes:  notes{words: o.Words, r: r, list: l, changed: o.Changes != nil},
		forms:  layout.SymbolForms(l.Text, moduleMost, o.Dot),
		tables: map[tableKey]*table{}, said: map[noteKey][][]set.Piece{}}
}

// holds says what keeps a back from being worked out.
func (x *backSearch) holds() *set.Misfit {
	if len(x.forms) == 0 {
		return &set.Misfit{Text: "the list text in a QR code"}
	}
	b, why := x.any(x.forms[0], layout.CapLeast, briefest)
	if b != nil {
		return nil
	}
	return why
}

// best works out the back: the symbol first, then the largest type beside it.
// What the fronts have no room for stands here, where there is.
func (x *backSearch) best(fronts block) (*back, *set.Misfit) {
	if why := x.holds(); why != nil {
		return nil, why
	}
	form := x.symbol()
	best, instructed := x.withType(form), false
	r, l := x.notes.r, x.notes.list
	for _, e := range []struct {
		extra
		text string
	}{{instructions, x.words.FillText(r, r.Plan.Incident.Instructions, l)}, {contact, words.Titled(x.words.Contact, r.Plan.Incident.Contact)}} {
		if fronts.shown[e.extra] || e.text == "" {
			continue
		}
		before := x.notes.extras
		x.notes.extras = append(before[:len(before):len(before)], e.text)
		if b := x.largest(form, best.said); b != nil && b.small >= min(best.small, extraBack) {
			best = b
			instructed = instructed || e.extra == instructions
		} else {
			x.notes.extras = before
		}
	}
	best.instructed = instructed
	return best, nil
}

// extraBack is the cap height of type on the back that an extra leaves at least, mm.
const extraBack = 1.8

// symbol is the one that the size has room for. What is taken the largest of here
// never falls as a card grows, so that a larger card has no smaller symbol.
func (x *backSearch) symbol() layout.SymbolForm {
	most := func(said brevity, small float64) int {
		n, ok := set.Largest(0, float64(len(x.forms)-1), 1, func(n float64) bool {
			b, _ := x.any(x.forms[int(n)], small, said)
			return b != nil
		})
		if !ok {
			return -1
		}
		return int(n)
	}
	upTo := func(n int, module float64) int { // with level M
		for n > 0 && (x.forms[n].Level > x.forms[0].Level || x.forms[n].Module > module+set.Tolerance) {
			n--
		}
		return n
	}
	n := upTo(most(briefest, layout.CapLeast), worthWords)
	n = max(n, upTo(most(brief, layout.CapLeast), layout.EnoughModule), most(brief, largeBack))
	return x.forms[n]
}

// withType is the arrangement with the largest type beside a symbol, and with as many
// words as there are: they give way only to type that is not comfortable.
func (x *backSearch) withType(form layout.SymbolForm) (best *back) {
	for said := range brevities {
		b := x.largest(form, said)
		switch {
		case b == nil:
		case b.small >= comfortableBack:
			if best == nil || best.small < comfortableBack {
				return b
			}
			return best
		case best == nil || b.small > best.small*worthWord:
			best = b
		}
	}
	return best
}

// worthWord is how much larger small type must become for fewer words.
const worthWord = 1.08

// largest is the arrangement with the largest type; nil: none fits.
func (x *backSearch) largest(form layout.SymbolForm, said brevity) (best *back) {
	for table := range tableForms {
		small, ok := set.Largest(layout.CapLeast, smallMost, smallStep, func(small float64) bool {
			b, _ := x.at(form, table, small, said)
			return b != nil
		})
		if !ok {
			continue
		}
		if b, _ := x.at(form, table, small, said); best == nil || b.small > best.small*worthALine {
			best = b
		}
	}
	return best
}

// any is an arrangement with any form of the table.
func (x *backSearch) any(form layout.SymbolForm, small float64, said brevity) (b *back, why *set.Misfit) {
	for table := range tableForms {
		if b, why = x.at(form, table, small, said); b != nil {
			return b, nil
		}
	}
	return nil, why
}

// table is the build table in a form.
func (x *backSearch) table(form tableForm, small float64, ticks bool) *table {
	key := tableKey{form, small, ticks}
	if x.tables[key] == nil {
		x.tables[key] = tableOf(x.words, x.rows, small, form, ticks)
	}
	return x.tables[key]
}

// paragraphs are the notes beside a form of the table.
func (x *backSearch) paragraphs(form tableForm, small float64, said brevity) [][]set.Piece {
	key := noteKey{form, small, said, len(x.notes.extras)}
	if x.said[key] == nil {
		x.said[key] = x.notes.at(form, small, said)
	}
	return x.said[key]
}

// at is the arrangement that leaves the most room at a size of type.
func (x *backSearch) at(form layout.SymbolForm, table tableForm, small float64, said brevity) (best *back, why *set.Misfit) {
	H := x.size.Height - 2*layout.Safe
	t, paragraphs := x.table(table, small, said.walks()), x.paragraphs(table, small, said)
	for way := range backWays {
		b := &back{size: x.size, form: form, small: small, way: way, table: t, said: said}
		h, m := b.need(paragraphs)
		if m == nil && h > H+set.Tolerance {
			m = &set.Misfit{Text: x.rows[len(x.rows)-1].name}
		}
		if m != nil {
			why = m
			continue
		}
		if b.spare = H - h; best == nil || b.spare > best.spare {
			best = b
		}
	}
	return best, why
}

func (b *back) draw(c *set.Canvas, symbol *layout.Symbol) {
	left, top := layout.Safe, layout.Safe
	W, H := b.size.Width-2*layout.Safe, b.size.Height-2*layout.Safe
	side, gap := b.form.Side(), symbolGap(b.form.Module)
	notes := func(x, y float64) {
		c.Lines(x, y+b.small*noteTop, b.notePitch(), b.lines)
	}
	bottomNotes := top + H - b.notesHeight()
	switch b.way {
	case notesBelow:
		c.Add(layout.Modules{X: left, Y: top, Module: b.form.Module, Symbol: symbol, Alt: b.table.words.CodePicture})
		b.table.draw(c, left+side+gap, top, W-side-gap, bottomNotes-top-b.small*0.8)
		notes(left, bottomNotes)
	case notesUnderText:
		c.Add(layout.Modules{X: left, Y: top, Module: b.form.Module, Symbol: symbol, Alt: b.table.words.CodePicture})
		b.table.draw(c, left+side+gap, top, W-side-gap, bottomNotes-top-b.small*0.9)
		notes(left+side+gap, bottomNotes)
	case notesUnderCode:
		c.Add(layout.Modules{X: left, Y: top, Module: b.form.Module, Symbol: symbol, Alt: b.table.words.CodePicture})
		b.table.draw(c, left+b.codeColumn()+gap, top, W-b.codeColumn()-gap, H)
		notes(left, bottomNotes)
	case tableAbove:
		foot := max(side, b.notesHeight())
		b.table.draw(c, left, top, W, H-foot-gap)
		c.Add(layout.Modules{X: left, Y: top + H - foot + (foot-side)/2, Module: b.form.Module, Symbol: symbol, Alt: b.table.words.CodePicture})
		notes(left+side+gap, bottomNotes)
	}
}
