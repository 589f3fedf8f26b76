package rendertest_test

import (
	"bytes"
	"flag"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"slotcard/fonts"
	"slotcard/layout"
	"slotcard/layout/book"
	"slotcard/layout/cards"
	"slotcard/layout/impose"
	"slotcard/layout/sheets"
	"slotcard/layout/strips"
	"slotcard/layout/wall"
	"slotcard/layout/words"
	"slotcard/plan"
	"slotcard/plan/changes"
	"slotcard/plan/plantest"
	"slotcard/plan/rules"
	"slotcard/render"
	"slotcard/render/rendertest"
)

var (
	manyPlans = flag.Int("plans", 16, "random plans whose papers are read by another engine")
	firstPlan = flag.Uint64("first", 0, "seed of the first of them")
)

// read is a document that another engine reads, and what it must show.
type read struct {
	about  string
	doc    *layout.Document
	says   []string  // each stands on some page
	names  []string  // of slots: each stands on some page as large as its distance asks for
	from   []float64 // m, from how far each page is read
	edge   float64   // mm of the page's edge that bear no ink
	text   float64   // mm that bear no text; 0: the same
	least  float64   // mm: the smallest capitals
	tiles  bool      // pages cut text, but no symbol
	bleeds bool      // marks for the thumb reach over the edge of the page
	struck bool      // rules strike text out, or lead from one to another
}

// Every paper of random plans, some extreme but all legal, and of the examples, in random
// languages, sizes of paper and of card, and ways of front and back, as another engine
// (MuPDF) draws it: no text stands over another, on the edge of a ground, on a rule or
// near a symbol; nothing lies where a printer does not reach; every value of the plan is
// found; and no type is smaller than can be read from where the paper is read.
//
// -plans 300 tries so many.
func TestPapersByAnotherEngine(t *testing.T) {
	mutool := rendertest.Mutool(t)
	check := func(t *testing.T, all []read) {
		t.Helper()
		doc := &layout.Document{Title: "papers", Language: "en"}
		for _, r := range all {
			doc.Pages = append(doc.Pages, r.doc.Pages...)
		}
		var pdf bytes.Buffer
		require.NoError(t, render.PDF(&pdf, doc, time.Date(2027, 8, 13, 20, 30, 0, 0, time.UTC)))
		pages := mutool.Ink(t, pdf.Bytes())
		require.Len(t, pages, len(doc.Pages))
		for _, r := range all {
			n := len(r.doc.Pages)
			r.check(t, pages[:n])
			pages = pages[n:]
		}
	}
	for _, name := range []string{"first-hour", "thimble-gulch"} {
		t.Run(name, func(t *testing.T) {
			next := "plan.toml"
			if name == "thimble-gulch" {
				next = "period-3.toml"
			}
			for i, language := range words.Languages() {
				c := changes.Between(opened(t, name, "plan.toml"), opened(t, name, next))
				check(t, papersOf(t, c, language, rand.New(rand.NewPCG(uint64(i), 1)), true))
			}
		})
	}
	for seed := *firstPlan; seed < *firstPlan+uint64(*manyPlans); seed++ {
		t.Run(strconv.FormatUint(seed, 10), func(t *testing.T) {
			rng := rand.New(rand.NewPCG(seed, 300))
			all := words.Languages()
			check(t, papersOf(t, randomPair(t, rng, seed), all[rng.IntN(len(all))], rng, false))
		})
	}
}

func opened(t *testing.T, folder, name string) *plan.Resolved {
	t.Helper()
	r, found, err := rules.Open(filepath.Join("..", "..", "examples", folder, name), plan.Options{ReadFile: os.ReadFile, Prints: fonts.Prints})
	require.NoError(t, err)
	require.False(t, found.HasErrors(), "%v", found)
	return r
}

// randomPair are two plans, of which the second follows the first.
func randomPair(t *testing.T, rng *rand.Rand, seed uint64) *changes.Changes {
	n := func(lo, hi int) int { return lo + rng.IntN(hi-lo+1) }
	shape := plantest.Shape{Seed: seed, Slots: n(3, 20), NameLength: n(4, 14), Divisions: n(0, 9), Functional: n(0, 2) == 0,
		WordLength: n(2, 12), Words: n(1, 4), Units: n(1, 8), Seats: n(1, 3), PerSeat: n(1, 2), Also: n(0, 3),
		Exercise: n(0, 1) == 0, Overnight: n(0, 1) == 0, Digital: n(0, 2) == 0, Mixed: n(0, 3) == 0}
	old := plantest.Make(t, shape)
	switch n(0, 2) {
	case 0:
		shape.Slots++
	case 1:
		shape.Slots = max(3, shape.Slots-2)
		shape.Units++
	default:
		shape.Divisions++
	}
	after := plantest.Make(t, shape)
	for _, r := range []*plan.Resolved{old, after} {
		in := &r.Plan.Incident
		if n(0, 1) == 0 {
			in.Instructions = "Medical: call command, say MEDICAL, then wait for the slot that dispatch names. Lookouts pass warnings on the own tactical."
		}
		if n(0, 1) == 0 {
			in.Contact = "Dispatch 555-0142"
		}
	}
	if n(0, 1) == 0 {
		after.Plan.Incident.Revision = 2
		after.Plan.Incident.RevisedAt = after.Plan.Incident.From.Add(3 * time.Hour)
	} else {
		after.Plan.Incident.Period++
	}
	return changes.Between(old, after)
}

// papersOf are all papers of a plan; what does not fit is a finding, and none of them.
// Of an example every size of card is tried.
func papersOf(t *testing.T, c *changes.Changes, language string, rng *rand.Rand, every bool) (all []read) {
	t.Helper()
	r, in := c.New, &c.New.Plan.Incident
	l, ok := words.Speak(language)
	require.True(t, ok)
	pick := func() layout.Size {
		sizes := layout.PaperSizes()
		return sizes[rng.IntN(len(sizes))]
	}
	hours := []string{in.From.Format("15:04"), in.To.Format("15:04")}
	head := append([]string{in.Name}, hours...)
	if in.Exercise {
		head = append(head, l.Card.Exercise)
	}
	var lists, names, divisions, tuned, codes []string
	for _, list := range r.Lists {
		codes = append(codes, list.Code.Pairs())
		for i, s := range list.Slots {
			lists = append(lists, strconv.Itoa(i+1), list.Place(i).Place())
			names = append(names, s.Channel.Name)
			if s.Channel.Talkgroup == "" {
				tuned = append(tuned, s.Channel.Rx.String(), s.Channel.Tx.String(), s.TxTone.String(), s.Channel.RxTone.String())
			}
		}
	}
	for _, d := range r.Plan.Divisions {
		divisions = append(divisions, d.ID, d.Name)
	}
	sheet := func(about string, paper layout.Size, d *layout.Document, says ...[]string) *read {
		if d == nil {
			return nil
		}
		all = append(all, read{about: fmt.Sprintf("%s in %s on %s", about, language, paper.Name), doc: d, says: slices.Concat(says...),
			edge: layout.PrintEdge, least: layout.SheetLeast()})
		return &all[len(all)-1]
	}

	// Walls, also in tiles.
	walls := func(about string, paper layout.Size, s *wall.Sheet, least float64, says ...[]string) {
		if s == nil {
			return
		}
		w := sheet(about, paper, s.Document, says...)
		w.least = least
		w.names, w.from = names, s.From
		small := pick()
		if small.Width >= paper.Width {
			return
		}
		tiles, err := impose.Tiles(s.Document, small, &l.Wall)
		require.NoError(t, err, about)
		w = sheet(about+" of "+paper.Name+", in tiles", small, tiles)
		w.tiles, w.least = true, min(least, layout.CapLeast)
	}
	w := wall.Options{Words: &l.Wall, Symbols: new(layout.Symbols)}
	w.Paper = pick()
	list, _ := wall.List(r, w)
	walls("wall list", w.Paper, list, layout.SheetLeast(), head, lists, names, tuned, codes, divisions)
	w.Paper = pick()
	grid, _ := wall.Grid(r, w)
	walls("wall grid", w.Paper, grid, layout.SheetLeast(), head, names, divisions, codes)
	w.Paper, w.Clip = pick(), true
	clip, _ := wall.List(r, w)
	walls("sheet for a clipboard", w.Paper, clip, layout.CapLeast, head, lists, names, tuned, codes, divisions)

	paper := pick()
	d, _ := sheets.Handout(r, sheets.HandoutOptions{Paper: paper, Words: &l.Handout})
	var holders []string
	for _, card := range r.Cards {
		holders = append(holders, strconv.Itoa(card.Number), card.Unit.Name, card.Position.Name, card.List.Code.Pairs())
	}
	sheet("hand-out", paper, d, head, holders)

	paper = pick()
	d, _ = sheets.ChangeSheet(c, sheets.ChangeOptions{Paper: paper, Words: &l.Changes})
	var changed, codesOfChanged []string
	for _, list := range c.Lists {
		if list.New == nil || list.Same() {
			continue
		}
		codesOfChanged = append(codesOfChanged, list.New.Code.Pairs())
		for i, s := range list.New.Slots {
			changed = append(changed, strconv.Itoa(i+1), s.Channel.Name)
		}
	}
	sheet("change sheet", paper, d, head, changed, codesOfChanged)

	paper = pick()
	d, _ = sheets.Comparison(c, sheets.ChangeOptions{Paper: paper, Words: &l.Changes})
	if s := sheet("comparison", paper, d, head, changed); s != nil {
		s.struck = true
	}

	paper = pick()
	for _, lines := range []bool{false, true} {
		d, _ = sheets.Fire(r, sheets.FireOptions{Paper: paper, Words: &l.Fire, Lines: lines})
		if s := sheet(fmt.Sprintf("fire, lines %t", lines), paper, d, head, divisions); s != nil {
			s.struck = lines
		}
	}

	paper = pick()
	d, _, _ = strips.Lay(c, strips.Options{Paper: paper, Words: &l.Strips})
	if s := sheet("strips", paper, d, []string{in.Name}); s != nil {
		s.least = layout.CapLeast // on a card
	}
	labels := rollOf(rng)
	d, _, _ = strips.Lay(c, strips.Options{Paper: paper, Roll: labels, Words: &l.Strips})
	if s := sheet("strips on "+labels.String(), paper, d); s != nil {
		s.edge, s.text, s.least = 0, layout.Safe-0.2, layout.CapLeast
	}
	sheet("tour", paper, sheets.Tour(sheets.TourOptions{Paper: paper, Words: &l.Tour}))

	// The book, as pages and to be folded.
	var channels []string
	for _, g := range r.Load.Groups {
		for _, ch := range g.Channels {
			channels = append(channels, ch.Name)
			if ch.Talkgroup == "" {
				channels = append(channels, ch.Rx.String(), ch.Tx.String())
			}
		}
	}
	formats := book.Formats()
	format := formats[rng.IntN(len(formats))]
	if pages, _ := book.Book(r.Load, book.Options{Format: format, Words: &l.Book}); pages != nil {
		b := sheet("book of "+format.Name, format, pages, channels)
		b.edge, b.least = 0, layout.CapLeast
		b.text = layout.Safe
		paper = pick()
		if folded, err := impose.Booklet(pages, paper, &l.Book); err == nil {
			f := sheet("folded book of "+format.Name, paper, folded, channels)
			f.least, f.bleeds = layout.CapLeast, true
		}
	}

	sizes := layout.CardSizes()
	from := rng.IntN(len(sizes))
	o := cards.Options{Words: &l.Card, Plain: rng.IntN(2) == 0, Symbols: new(layout.Symbols)}
	if rng.IntN(3) == 0 {
		o.Changes = cards.CardChanges(c)
	}
	modules := map[layout.Size]float64{}
	for i, size := range sizes {
		if i < from && !every {
			continue
		}
		o.Size = size
		deck, _ := cards.Deal(r, o)
		if deck == nil {
			continue
		}
		modules[size] = moduleOf(deck.Faces[0].Back)
		for small, module := range modules {
			if small.Width <= size.Width && small.Height <= size.Height && module > modules[size]+1e-6 {
				t.Errorf("%s: modules of the symbol are %.3f mm on %s, and %.3f on the smaller %s", language, modules[size], size.Name, module, small.Name)
			}
		}
		about := fmt.Sprintf("cards of %s, plain %t, changes %t", size.Name, o.Plain, o.Changes != nil)
		// Of each list the card with the longest head.
		widest := map[any]cards.Faces{}
		for _, f := range deck.Faces {
			if was, ok := widest[f.Card.List]; !ok || len(f.Card.Unit.Name+f.Card.Position.Name) > len(was.Card.Unit.Name+was.Card.Position.Name) {
				widest[f.Card.List] = f
			}
		}
		deck.Faces = slices.DeleteFunc(deck.Faces, func(f cards.Faces) bool { return widest[f.Card.List].Card != f.Card })
		each, err := impose.Cards(deck, impose.Options{Sides: impose.EachPage})
		require.NoError(t, err)
		for k, f := range deck.Faces {
			front, back := cardSays(r, &l.Card, f.Card)
			var onCard []string
			for _, s := range f.Card.List.Slots {
				onCard = append(onCard, s.Channel.Name)
			}
			for side, says := range [][]string{front, back} {
				if side == 1 {
					onCard = nil // the back is read while the list is built
				}
				one := &layout.Document{Pages: each.Pages[2*k+side:][:1]}
				all = append(all, read{about: fmt.Sprintf("%s, %s in %s", about, []string{"front", "back"}[side], language), doc: one, says: says,
					text: layout.Safe, least: layout.CapLeast, names: onCard, from: []float64{0.395}})
			}
		}
		ways := impose.SidesNames()
		sides, _ := impose.ParseSides(ways[rng.IntN(len(ways)-1)]) // not each on a page of its own
		p := pick()
		if on, err := impose.Cards(deck, impose.Options{Paper: p, Sides: sides}); err == nil {
			sheet(fmt.Sprintf("%s, sides %s", about, sides), p, on).least = layout.CapLeast
		}
		roll := rollOf(rng)
		if on, err := impose.Cards(deck, impose.Options{Roll: roll}); err == nil {
			s := sheet(about+" on "+roll.String(), p, on)
			s.edge, s.text, s.least = 0, layout.Safe-0.2, layout.CapLeast
		}
		if !every {
			break
		}
	}
	return all
}

func rollOf(rng *rand.Rand) *layout.Roll {
	roll := &layout.Roll{Width: []float64{62, 102, 4 * layout.Inch}[rng.IntN(3)], DPI: []int{203, 300}[rng.IntN(2)], Gap: 3}
	if roll.Width > 102-1e-9 && rng.IntN(2) == 0 {
		roll.Height = 6 * layout.Inch
	}
	return roll
}

func moduleOf(p *layout.Panel) float64 {
	for _, it := range p.Items {
		if m, ok := it.(layout.Modules); ok {
			return m.Module
		}
	}
	return 0
}

// cardSays is what the two sides of a card must show.
func cardSays(r *plan.Resolved, w *words.CardWords, c *plan.Card) (front, back []string) {
	in := &r.Plan.Incident
	front = []string{in.Name, c.Unit.Name, c.Position.Name, in.From.Format("15:04"), in.To.Format("15:04"),
		r.Load.About.Edition, r.Load.About.Colour, c.List.Code.Pairs(), strconv.Itoa(c.Number)}
	back = []string{w.Spelled(c.List.Code)}
	if in.Exercise {
		front, back = append(front, w.Exercise), append(back, w.Exercise)
	}
	for _, a := range r.Also {
		front = append(front, a.When, a.Channel.Name)
	}
	for i, s := range c.List.Slots {
		place := c.List.Place(i).Place()
		front = append(front, strconv.Itoa(i+1), s.Channel.Name, place)
		back = append(back, strconv.Itoa(i+1), s.Channel.Name, place, s.Channel.Rx.String(), s.Channel.Tx.String(), s.Channel.RxTone.String()+"/"+s.TxTone.String())
		for _, u := range s.Users {
			front = append(front, u.ID)
		}
	}
	return front, back
}

const (
	textAir   = 0.1  // mm from a text to another, to a rule, to the edge of its ground
	engineOff = 0.02 // mm that places in a PDF are rounded
	halfLine  = 0.1  // mm: half a mark that stands just where a printer reaches
	tail      = 0.15 // mm that a q reaches out of its place
	quietOff  = 0.12 // mm: half a line that stands just where a quiet zone ends, and what places are rounded
)

// check holds pages to what was promised. One fault of a kind is told for each page.
func (r read) check(t *testing.T, pages []rendertest.Page) {
	t.Helper()
	var said strings.Builder
	large := map[string]bool{} // what is read from where its page is read
	for i, p := range pages {
		at := fmt.Sprintf("%s, page %d", r.about, i+1)
		told := map[string]bool{}
		say := func(kind, format string, args ...any) {
			if !told[kind] {
				told[kind] = true
				t.Errorf("%s: %s: %s", at, kind, fmt.Sprintf(format, args...))
			}
		}
		edge := rendertest.Field{X1: p.Width, Y1: p.Height}
		printed, safe := edge.Grow(halfLine-r.edge), edge.Grow(tail-max(r.edge, r.text))
		for k, d := range p.Drawn {
			bleeds := r.bleeds && d.Fill && !d.Inside(edge.Grow(-engineOff))
			if d.Light < 0.99 && !bleeds && !d.Inside(printed) {
				say("ink where a printer does not reach", "%s, page of %.1f x %.1f mm", d, p.Width, p.Height)
			}
			if d.S == "" {
				continue
			}
			said.WriteString(strings.ReplaceAll(d.S, "\u00a0", " "))
			if !d.Inside(safe) {
				say("text at the edge", "%s", d)
			}
			if d.Cap < r.least-engineOff/4 {
				say("small type", "%s: capitals of %.3f mm, not %.3f", d, d.Cap, r.least)
			}
			if len(r.names) > 0 && d.Cap >= layout.CapAt(r.from[i]*1000, layout.ArcminKey)*0.99 {
				large[strings.TrimSpace(d.S)] = true
			}
			ground := 1.0
			for j, e := range p.Drawn {
				switch {
				case j == k || !d.Overlaps(e.Grow(textAir)):
				case e.S != "" && j < k && d.Whole && e.Whole && !oneLine(d, e):
					if d.Grow(-engineOff).Overlaps(e.Field) {
						say("texts over each other", "%s and %s", d, e)
					}
				case e.S != "":
				case e.Fill && j < k && e.Parts > 20 && e.Light < 0.5:
					say("text on a symbol", "%s and %s", d, e)
				case e.Fill && j < k && d.Inside(e.Field) && e.Parts == 1:
					ground = e.Light
				case e.Light > 0.99 || e.Round || r.struck || r.tiles:
				case e.Fill && d.Overlaps(e.Field), !e.Fill && !frame(d, e) && d.Overlaps(e.Field):
					say("text on the edge of something", "%s and %s", d, e)
				}
			}
			if gap := d.Light - ground; gap*gap < 0.4*0.4 {
				say("text on a ground as light", "%s: %.2f on %.2f", d, d.Light, ground)
			}
		}
		if !r.tiles {
			for _, m := range symbolsOn(&r.doc.Pages[i]) {
				quiet := m.field.Grow(layout.QuietModules*m.module - quietOff)
				if !quiet.Inside(edge) {
					say("no quiet zone to the edge", "%v", m.field)
				}
				for _, d := range p.Drawn {
					if d.Light < 0.99 && d.Overlaps(quiet) && !(d.Fill && d.S == "" && d.Parts > 20 && d.Inside(m.field.Grow(engineOff))) {
						say("ink in a quiet zone", "%s, of modules of %.3f mm: %v", d, m.module, m.field)
					}
				}
			}
		}
		if r.tiles {
			for _, it := range r.doc.Pages[i].Items {
				if placed, ok := it.(layout.Placed); ok && placed.Clip != (layout.Rect{}) {
					cutsNoSymbol(placed, func(m layout.Rect) { say("a symbol is cut", "%v by the tile that begins at %v", m, placed.Clip) })
				}
			}
		}
	}
	for _, name := range r.names {
		if !large[name] {
			t.Errorf("%s: %q is too small to be read from %g m", r.about, name, r.from)
		}
	}
	shown := unspaced(said.String())
	for _, s := range slices.Compact(slices.Sorted(slices.Values(r.says))) {
		for word := range strings.FieldsSeq(s) {
			if !strings.Contains(shown, unspaced(word)) {
				t.Errorf("%s: a value is missing: %q", r.about, s)
				break
			}
		}
	}
}

// placedSymbol is where a symbol stands on a page, and how large its modules are, mm.
type placedSymbol struct {
	field  rendertest.Field
	module float64
}

// symbolsOn are the symbols of a page, in the panels that are placed on it, too.
func symbolsOn(p *layout.Page) (all []placedSymbol) {
	add := func(it layout.Item, place func(layout.Rect) layout.Rect) {
		if m, ok := it.(layout.Modules); ok {
			side := float64(m.Symbol.Size) * m.Module
			r := place(layout.Rect{X: m.X, Y: m.Y, W: side, H: side})
			all = append(all, placedSymbol{rendertest.Field{X0: r.X, Y0: r.Y, X1: r.X + r.W, Y1: r.Y + r.H}, m.Module})
		}
	}
	for _, it := range p.Items {
		at, ok := it.(layout.Placed)
		if !ok {
			add(it, func(r layout.Rect) layout.Rect { return r })
			continue
		}
		w, h := at.Panel.Width, at.Panel.Height
		for _, it := range at.Panel.All() {
			add(it, func(r layout.Rect) layout.Rect {
				switch at.Turn { // quarters, clockwise
				case 1:
					r.X, r.Y = h-r.Y-r.H, r.X
				case 2:
					r.X, r.Y = w-r.X-r.W, h-r.Y-r.H
				case 3:
					r.X, r.Y = r.Y, w-r.X-r.W
				}
				r.X, r.Y = at.X+r.X, at.Y+r.Y
				return r
			})
		}
	}
	return all
}

// cutsNoSymbol tells of a symbol that a tile begins in: there it is glued on another.
func cutsNoSymbol(tile layout.Placed, cut func(layout.Rect)) {
	w := tile.Clip
	for _, it := range tile.Panel.Items {
		if _, ok := it.(layout.Modules); !ok {
			continue
		}
		m := layout.InkOf([]layout.Item{it})
		const white = 0.7
		if m.X+white < w.X && w.X < m.X+m.W-white || m.Y+white < w.Y && w.Y < m.Y+m.H-white {
			cut(m)
		}
	}
}

// unspaced is a text without white, and without the case of letters: heads stand in
// capitals, and a word too long for its column goes on in the next line.
func unspaced(s string) string { return strings.ToLower(strings.Join(strings.Fields(s), "")) }

// oneLine tells whether two runs stand one behind the other in one line.
func oneLine(a, b rendertest.Drawn) bool {
	if a.X0 > b.X0 {
		a, b = b, a
	}
	return a.X1-b.X0 < 0.6 && a.Y0 < b.Y1 && b.Y0 < a.Y1 && a.X1 < b.X1 && a.X1 < b.X0+0.3
}

// frame tells whether a text lies within a frame, not on it.
func frame(d, e rendertest.Drawn) bool {
	return d.Inside(e.Grow(-textAir))
}
