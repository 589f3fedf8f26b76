package layout_test

import (
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"slotcard/fonts"
	"slotcard/layout"
	"slotcard/layout/sheets"
	"slotcard/layout/wall"
	"slotcard/layout/words"
	"slotcard/plan"
	"slotcard/plan/finding"
	"slotcard/plan/plantest"
	"slotcard/plan/rules"
)

var update = flag.Bool("update", false, "write the golden files anew")

// example is the plan of an example that is printed as it stands.
func example(t testing.TB, name string) *plan.Resolved {
	t.Helper()
	r, findings, err := rules.Open(filepath.Join("..", "examples", name, "plan.toml"), plan.Options{ReadFile: os.ReadFile, Prints: fonts.Prints})
	require.NoError(t, err)
	require.False(t, findings.HasErrors(), "%v", findings)
	return r
}

// golden compares a document with its dump in testdata.
func golden(t *testing.T, name string, d *layout.Document) {
	t.Helper()
	file, got := filepath.Join("testdata", name), layout.Dump(d)
	if *update {
		require.NoError(t, os.MkdirAll("testdata", 0o755))
		require.NoError(t, os.WriteFile(file, []byte(got), 0o644))
	}
	want, err := os.ReadFile(file)
	require.NoError(t, err, "run the test with -update")
	if string(want) == got {
		return
	}
	wants, gots := strings.Split(string(want), "\n"), strings.Split(got, "\n")
	for i := range min(len(wants), len(gots)) {
		if wants[i] != gots[i] {
			t.Fatalf("%s:%d:\nwant %s\ngot  %s\nlook at the pages, then run the test with -update", file, i+1, wants[i], gots[i])
		}
	}
	t.Fatalf("%s has %d lines, not %d", file, len(wants), len(gots))
}

// sheetFaults are the faults of a page that hangs on a wall or lies on a table:
// those of any paper, with a margin for printers that cannot print to the edge,
// and type no smaller than 16 arcmin at 500 mm. Capitals begin at the margin,
// what stands above them may overshoot it by a sixth of their height.
func sheetFaults(p layout.Page, margin float64) []string {
	return sheetFaultsAt(p, margin, layout.CapAt(500, 16))
}

// sheetFaultsAt are those with another least height of capitals, mm.
func sheetFaultsAt(p layout.Page, margin, least float64) []string {
	in := inspect(&layout.Panel{Width: p.Width, Height: p.Height, Items: p.Items})
	faults := in.faults(layout.Size{Width: p.Width, Height: p.Height})
	inner := rect{0, 0, p.Width, p.Height}.grow(-margin)
	for i, t := range in.texts {
		if over := fonts.CapMM(t.Size) * 0.17; !in.inks[i].inside(inner.grow(over)) {
			faults = append(faults, fmt.Sprintf("%q at %s leaves the margin", t.S, in.inks[i]))
		}
		if c := fonts.CapMM(t.Size); c < least-1e-9 {
			faults = append(faults, fmt.Sprintf("%q has capitals of %.3f mm", t.S, c))
		}
		if strings.TrimSpace(t.S) == "" {
			faults = append(faults, "a text of spaces only")
		}
		for j, o := range in.other { // text stands on ink or off it, never across its edge
			if in.inks[i].overlaps(o) && !in.inks[i].inside(o) {
				faults = append(faults, fmt.Sprintf("%q %s crosses the edge of item %d at %s", t.S, in.inks[i], j, o))
			}
		}
	}
	for _, o := range append(in.other, in.modules...) {
		if !o.inside(inner.grow(0.5)) {
			faults = append(faults, fmt.Sprintf("ink at %s leaves the margin", o))
		}
	}
	return faults
}

// said is all that a document says, a text a line.
func said(d *layout.Document) string {
	var b strings.Builder
	for _, p := range d.Pages {
		for _, it := range p.Items {
			if t, ok := it.(layout.Text); ok {
				b.WriteString(t.S + "\n")
			}
		}
	}
	return b.String()
}

// flat makes line ends spaces, so that a text that was broken is found.
func flat(s string) string { return strings.Join(strings.Fields(s), " ") }

// letters leaves out all white, so that a word that was broken is found too.
func joinedLetters(s string) string { return strings.Join(strings.Fields(s), "") }

// tall tells whether a document holds a text with capitals of at least mm.
func tall(d *layout.Document, s string, mm float64) bool {
	for _, p := range d.Pages {
		for _, it := range p.Items {
			if t, ok := it.(layout.Text); ok && fonts.CapMM(t.Size) >= mm-1e-9 && slices.Contains(strings.FieldsFunc(t.S, func(r rune) bool { return r == ',' }), s) {
				return true
			}
		}
	}
	return false
}

// sizedAsSaid checks that all that a page holds but fine print is sized for the distance
// that it says it is read from: what is looked for first at 20 arcmin, the rest at 16
// (NUREG-0700 1.3.1-4, secondary: 16 least, 20 to 22 preferred).
func sizedAsSaid(t assert.TestingT, d *wall.Sheet, fine float64) {
	for i, p := range d.Pages {
		assert.Contains(t, flat(said(&layout.Document{Pages: d.Pages[i : i+1]})), fmt.Sprintf("readable from %g m", d.From[i]))
		for _, it := range p.Items {
			if tx, ok := it.(layout.Text); ok && tx.S != words.English.Exercise && tx.S != words.EnglishSheet.ExerciseNote {
				c := fonts.CapMM(tx.Size)
				assert.True(t, c >= layout.CapAt(d.From[i]*1000, 16)-1e-9 || c <= fine*1.11,
					"page %d: %q has capitals of %.2f mm, too small for %g m, no fine print", i+1, tx.S, c, d.From[i])
			}
		}
	}
}

// wallSays checks that a wall sheet holds what blocks 1 to 6 of ICS 205 and the
// assignments ask for, and its key texts at 20 arcmin from the distance that it says.
func wallSays(t assert.TestingT, r *plan.Resolved, d *wall.Sheet) {
	listKey, key := layout.CapAt(d.From[0]*1000, 20), layout.CapAt(slices.Min(d.From)*1000, 20)
	all := joinedLetters(said(d.Document))
	says := func(what, s string) {
		s = joinedLetters(s)
		// The end of a long text may stand on the next page, behind its heading.
		found := strings.Contains(all, s)
		for i := 1; i < len(s) && !found; i++ {
			found = strings.Contains(all, s[:i]) && strings.Contains(all, s[i:])
		}
		assert.True(t, found, "%s: %q is missing", what, s)
	}
	in := r.Plan.Incident
	says("block 1", in.Name)
	says("block 2", in.PreparedAt.Format("2 Jan 2006 15:04"))
	says("block 3", "Operational period "+strconv.Itoa(in.Period))
	says("block 3", in.From.Format("2 Jan 2006 15:04"))
	says("block 3", in.To.Format("15:04"))
	// A slot stands in place of each name in braces, and no brace is left.
	instructions := in.Instructions
	for i, s := range r.Lists[0].Slots {
		instructions = strings.ReplaceAll(instructions, "{"+s.Channel.Name+"}", fmt.Sprintf("%s, slot %d", s.Channel.Name, i+1))
	}
	says("block 5", instructions)
	assert.NotContains(t, all, "{")
	says("block 6", in.PreparedBy)
	for _, l := range r.Lists {
		for i, s := range l.Slots {
			ch := s.Channel
			assert.True(t, tall(d.Document, strconv.Itoa(i+1), listKey), "slot %d is too small", i+1)
			assert.True(t, tall(d.Document, ch.Name, listKey), "%q is too small", ch.Name)
			place := l.Place(i)
			says("group and channel", fmt.Sprintf("%d-%02d", place.Group.Number, place.Number))
			if ch.Trunked() {
				says("talkgroup", ch.Talkgroup)
				continue
			}
			says("receive", ch.Rx.String())
			says("transmit", ch.Tx.String())
			if !s.TxTone.IsZero() {
				says("transmit tone", s.TxTone.String())
			}
			if s.Repeater != nil {
				says("site", s.Repeater.Name)
			}
			says("remarks", ch.Remarks)
		}
		says("read-back code", l.Code.Pairs())
		says("spelling", l.Code.Words())
		assert.True(t, slices.ContainsFunc(d.Pages, func(p layout.Page) bool {
			return slices.ContainsFunc(p.Items, func(it layout.Item) bool {
				m, ok := it.(layout.Modules)
				return ok && m.Symbol.Payload == l.Text
			})
		}), "the QR code of a list is missing")
	}
	for _, dv := range r.Plan.Divisions {
		says("name", dv.Name)
		says("supervisor", dv.Supervisor)
		assert.True(t, tall(d.Document, dv.ID, key), "division %s is too small", dv.ID)
	}
	for _, u := range r.Plan.Units {
		says("unit", u.Name)
	}
	for _, c := range r.Cards {
		says("position", c.Position.Name)
	}
	for _, a := range r.Also {
		says("also", a.Channel.Name)
		says("also", a.When)
	}
	for _, e := range r.Exceptions {
		says("exception", e.Accept.Because)
		says("exception", e.Accept.By)
		says("exception", e.Accept.Subject)
	}
	for i := range d.Pages {
		page := flat(said(&layout.Document{Pages: d.Pages[i : i+1]}))
		for _, note := range words.EnglishSheet.SheetNotes {
			assert.Contains(t, page, note, "page %d", i+1)
		}
		assert.Contains(t, page, fmt.Sprintf("page %d of %d", i+1, len(d.Pages)))
		assert.Equal(t, in.Exercise, strings.Contains(page, "EXERCISE"), "page %d", i+1)
	}
}

func TestWallOfExamples(t *testing.T) {
	for _, name := range []string{"thimble-gulch", "first-hour"} {
		r := example(t, name)
		for _, size := range layout.PaperSizes() {
			t.Run(name+" "+size.Name, func(t *testing.T) {
				d, findings := wall.List(r, wall.Options{Paper: size})
				require.Empty(t, findings)
				assert.LessOrEqual(t, len(d.Pages), 2)
				for i, p := range d.Pages {
					assert.Greater(t, p.Width, p.Height)
					assert.Empty(t, sheetFaults(p, 10), "page %d", i+1)
				}
				wallSays(t, r, d)
				sizedAsSaid(t, d, layout.SheetLeast())
			})
		}
	}
}

// A distance is had on as many pages as it takes, and what saves pages is true; one
// that cannot be had blocks nothing.
func TestWallDistance(t *testing.T) {
	r := example(t, "thimble-gulch")
	letter, _ := layout.PaperSize("letter")
	free, _ := wall.List(r, wall.Options{Paper: letter})
	for _, m := range []float64{0.5, 1, 3, 10} {
		d, findings := wall.List(r, wall.Options{Paper: letter, Distance: m})
		require.Empty(t, findings)
		wallSays(t, r, d)
		assert.Equal(t, m, d.Asked)
		assert.Equal(t, len(free.Pages), d.Fewest)
		if !d.TooFar {
			for _, from := range d.From {
				assert.Equal(t, m, from)
			}
		} else {
			assert.Equal(t, free.From, d.From)
		}
		if paper, ok := layout.PaperSize(d.Paper); ok {
			on, _ := wall.List(r, wall.Options{Paper: paper, Distance: m})
			assert.False(t, on.TooFar)
			assert.True(t, d.TooFar || len(on.Pages) <= d.Fewest, "%s holds it on %d pages", d.Paper, len(on.Pages))
		}
	}
}

// For a clipboard all is on one upright page, read in the hand.
func TestWallClip(t *testing.T) {
	for _, name := range []string{"thimble-gulch", "first-hour"} {
		r := example(t, name)
		d, findings := wall.List(r, wall.Options{Clip: true})
		require.Empty(t, findings)
		require.Len(t, d.Pages, 1)
		assert.Less(t, d.Pages[0].Width, d.Pages[0].Height)
		assert.GreaterOrEqual(t, d.From[0], 0.35)
		assert.Empty(t, sheetFaultsAt(d.Pages[0], 10, layout.CapAt(350, 16)))
		wallSays(t, r, d)
		sizedAsSaid(t, d, layout.CapAt(350, 16))
	}
}

// Lists that share most slots are one table, in which each slot has its position in each.
func TestWallSharesATable(t *testing.T) {
	r := plantest.Make(t, plantest.Shape{Seed: 3, Slots: 12, NameLength: 8, Divisions: 4, WordLength: 5, Words: 2, Units: 6, Seats: 3, DistinctList: true})
	require.Len(t, r.Lists, 4)
	d, findings := wall.List(r, wall.Options{})
	require.Empty(t, findings)
	assert.LessOrEqual(t, len(d.Pages), 2)
	wallSays(t, r, d)
	positions := map[string]int{}
	for _, it := range d.Pages[0].Items {
		if tx, ok := it.(layout.Text); ok && tx.Ink == layout.White {
			positions[tx.S]++
		}
	}
	for i := range r.Lists[0].Slots {
		assert.Equal(t, len(r.Lists), positions[strconv.Itoa(i+1)], "position %d", i+1)
	}
}

// A list whose text no symbol holds is one finding, with what to do.
func TestWallSymbolTooLong(t *testing.T) {
	r := plantest.Make(t, plantest.Shape{Seed: 3, Slots: 60, NameLength: 16, Divisions: 12, WordLength: 5, Words: 2})
	require.Greater(t, len(r.Lists[0].Text), 2331) // ISO/IEC 18004, version 40-M (secondary)
	d, findings := wall.List(r, wall.Options{})
	require.Nil(t, d)
	require.Len(t, findings, 1)
	assert.Equal(t, "does-not-fit", findings[0].Rule)
	assert.Equal(t, findings, wall.SymbolFaults(r))
}

func TestWallGolden(t *testing.T) {
	tabloid, _ := layout.PaperSize("tabloid")
	d, findings := docOf(wall.List(example(t, "thimble-gulch"), wall.Options{Paper: tabloid}))
	require.Empty(t, findings)
	golden(t, "wall-thimble-gulch.txt", d)
	assert.Equal(t, layout.Dump(d), layout.Dump(must(docOf(wall.List(example(t, "thimble-gulch"), wall.Options{Paper: tabloid})))), "same plan, same sheet")
}

// From a distance that is asked for, the hours in the head fit, or the sheet says that it
// cannot be had.
func TestWallHoursFit(t *testing.T) {
	r := plantest.Make(t, plantest.Shape{Slots: 3, NameLength: 5, Divisions: 7, WordLength: 2, Words: 1, Units: 16, Seats: 8, PerSeat: 3, Also: 3, Overnight: true})
	tooFar := 0
	for _, size := range layout.PaperSizes() {
		for _, m := range []float64{2, 3, 4} {
			d, findings := wall.List(r, wall.Options{Paper: size, Distance: m})
			require.Empty(t, findings, size.Name)
			if d.TooFar {
				tooFar++
			}
			for i, p := range d.Pages {
				assert.Empty(t, sheetFaultsAt(p, 10, layout.SheetLeast()), "%s from %g m, page %d", size.Name, m, i+1)
			}
		}
	}
	assert.Positive(t, tooFar)
}

// shapes are plans of very different measures, all of which fit at 2 m.
func shapes(t *rapid.T) plantest.Shape {
	return plantest.Shape{
		Seed:         rapid.Uint64().Draw(t, "seed"),
		Slots:        rapid.IntRange(3, 16).Draw(t, "slots"),
		NameLength:   rapid.IntRange(5, 12).Draw(t, "name length"),
		Divisions:    rapid.IntRange(0, 12).Draw(t, "divisions"),
		Functional:   rapid.Bool().Draw(t, "functional"),
		WordLength:   rapid.IntRange(1, 14).Draw(t, "word length"),
		Words:        rapid.IntRange(1, 6).Draw(t, "words"),
		Units:        rapid.IntRange(0, 20).Draw(t, "units"),
		Seats:        rapid.IntRange(1, 8).Draw(t, "seats"),
		PerSeat:      rapid.IntRange(1, 3).Draw(t, "per seat"),
		Also:         rapid.IntRange(0, 6).Draw(t, "also"),
		Exercise:     rapid.Bool().Draw(t, "exercise"),
		Overnight:    rapid.Bool().Draw(t, "overnight"),
		Digital:      rapid.Bool().Draw(t, "digital"),
		Mixed:        rapid.Bool().Draw(t, "mixed"),
		DistinctList: rapid.IntRange(0, 3).Draw(t, "distinct") == 0,
	}
}

// dressed gives a resolved plan the texts that plantest leaves out.
func dressed(t *rapid.T, r *plan.Resolved) {
	word := rapid.StringMatching(`[A-Za-z0-9,.]{1,14}`)
	sentence := func(label string, most int) string {
		return strings.Join(rapid.SliceOfN(word, 1, most).Draw(t, label), " ")
	}
	r.Plan.Incident.Instructions = sentence("instructions", 120)
	for i := range rapid.IntRange(0, 3).Draw(t, "exceptions") {
		r.Exceptions = append(r.Exceptions, plan.Exception{Message: sentence("message", 12),
			Accept: &plan.Accept{Rule: "tactical-repeated", Subject: fmt.Sprintf("TAC %d", i), Because: sentence("because", 20), By: sentence("by", 4)}})
	}
	for _, s := range r.Slots {
		if rapid.IntRange(0, 4).Draw(t, "remarks") == 0 {
			s.Channel.Remarks = sentence("remark", 10)
		}
	}
	for i, u := range r.Plan.Units {
		if i%3 == 2 {
			u.Team = ""
		}
	}
}

func TestWallOfManyPlans(t *testing.T) {
	symbols := new(layout.Symbols)
	rapid.Check(t, func(rt *rapid.T) {
		r := plantest.Make(t, shapes(rt))
		dressed(rt, r)
		size := rapid.SampledFrom(layout.PaperSizes()).Draw(rt, "paper")
		distance := rapid.SampledFrom([]float64{0, 0, 0, 0, 0, 0.5, 1, 3}).Draw(rt, "distance")
		clip := rapid.IntRange(0, 4).Draw(rt, "clip") == 0
		d, findings := wall.List(r, wall.Options{Paper: size, Distance: distance, Clip: clip, Symbols: symbols})
		require.Empty(rt, findings)
		fine := layout.SheetLeast()
		if clip {
			fine = layout.CapAt(350, 16)
		}
		for i, p := range d.Pages {
			require.Empty(rt, sheetFaultsAt(p, 10, fine), "page %d", i+1)
		}
		wallSays(rt, r, d)
		sizedAsSaid(rt, d, fine)
	})
}

func must(d *layout.Document, _ any) *layout.Document { return d }

// docOf is the document of a wall sheet.
func docOf(s *wall.Sheet, found finding.List) (*layout.Document, finding.List) {
	if s == nil {
		return nil, found
	}
	return s.Document, found
}

// A zero of options means letter, across, as large as a page for the list allows.
func TestWallDefaults(t *testing.T) {
	r := example(t, "first-hour")
	letter, _ := layout.PaperSize("letter")
	assert.Equal(t, layout.Dump(must(docOf(wall.List(r, wall.Options{Paper: letter})))),
		layout.Dump(must(docOf(wall.List(r, wall.Options{})))))
}

// Other words than English reach every place: none is left behind in the code.
func TestWallWordsAreAllInOnePlace(t *testing.T) {
	r := example(t, "thimble-gulch")
	w := words.EnglishWall
	foreign(&w)
	d, findings := docOf(wall.List(r, wall.Options{Words: &w}))
	require.Empty(t, findings)
	ownWords(t, r, said(d))
	w2 := words.EnglishHandout
	foreign(&w2)
	d, findings = sheets.Handout(r, sheets.HandoutOptions{Words: &w2})
	require.Empty(t, findings)
	ownWords(t, r, said(d))
}

func BenchmarkWall(b *testing.B) {
	r := example(b, "thimble-gulch")
	for _, name := range []string{"letter", "tabloid", "a2"} {
		size, _ := layout.PaperSize(name)
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				wall.List(r, wall.Options{Paper: size})
			}
		})
	}
}

// Many lists that share most of their slots are several tables: in one, the columns of
// their positions would leave no room for the names.
func TestWallOfManyLists(t *testing.T) {
	r := plantest.Make(t, plantest.Shape{Seed: 1, Slots: 14, NameLength: 8, Divisions: 24, WordLength: 6, Words: 2,
		Units: 20, Seats: 2, PerSeat: 5, Exercise: true, DistinctList: true, Own: true})
	sheet, findings := wall.List(r, wall.Options{})
	require.Empty(t, findings)
	for i, p := range sheet.Pages {
		assert.Empty(t, sheetFaults(p, 10), "page %d", i+1)
	}
	sizedAsSaid(t, sheet, layout.SheetLeast())
}
