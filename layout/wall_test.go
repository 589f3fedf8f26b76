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
	"slotcard/layout/words"
	"slotcard/plan"
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
	in := inspect(&layout.Panel{Width: p.Width, Height: p.Height, Items: p.Items})
	faults := in.faults(layout.Size{Width: p.Width, Height: p.Height})
	inner := rect{0, 0, p.Width, p.Height}.grow(-margin)
	for i, t := range in.texts {
		if over := fonts.CapMM(t.Size) * 0.17; !in.inks[i].inside(inner.grow(over)) {
			faults = append(faults, fmt.Sprintf("%q at %s leaves the margin", t.S, in.inks[i]))
		}
		if c := fonts.CapMM(t.Size); c < layout.CapAt(500, 16)-1e-9 {
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

// wallSays checks that a wall sheet holds what blocks 1 to 6 of ICS 205 and the
// assignments ask for, and its key texts at 20 arcmin from the distance
// (NUREG-0700 1.3.1-4, secondary: preferred 20 to 22).
func wallSays(t assert.TestingT, r *plan.Resolved, d *layout.Document, distance float64) {
	all := joinedLetters(said(d))
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
	key := layout.CapAt(distance*1000, 20)
	for _, l := range r.Lists {
		for i, s := range l.Slots {
			ch := s.Channel
			assert.True(t, tall(d, strconv.Itoa(i+1), key), "slot %d is too small", i+1)
			assert.True(t, tall(d, ch.Name, key), "%q is too small", ch.Name)
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
		assert.True(t, tall(d, dv.ID, key), "division %s is too small", dv.ID)
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
			for _, distance := range []float64{1, 2, 3} {
				t.Run(fmt.Sprintf("%s %s %g", name, size.Name, distance), func(t *testing.T) {
					d, findings := sheets.Wall(r, sheets.WallOptions{Paper: size, Distance: distance})
					if d == nil {
						require.NotEmpty(t, findings)
						assert.Greater(t, distance, 2.0, "%v", findings)
						return
					}
					require.Empty(t, findings)
					for i, p := range d.Pages {
						assert.Greater(t, p.Width, p.Height)
						assert.Empty(t, sheetFaults(p, 10), "page %d", i+1)
					}
					wallSays(t, r, d, distance)
				})
			}
		}
	}
}

func TestWallGolden(t *testing.T) {
	tabloid, _ := layout.PaperSize("tabloid")
	d, findings := sheets.Wall(example(t, "thimble-gulch"), sheets.WallOptions{Paper: tabloid})
	require.Empty(t, findings)
	golden(t, "wall-thimble-gulch.txt", d)
	assert.Equal(t, layout.Dump(d), layout.Dump(must(sheets.Wall(example(t, "thimble-gulch"), sheets.WallOptions{Paper: tabloid}))), "same plan, same sheet")
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
		distance := rapid.SampledFrom([]float64{0.5, 1, 1.5, 2, 2, 2.5, 3}).Draw(rt, "distance")
		d, findings := sheets.Wall(r, sheets.WallOptions{Paper: size, Distance: distance, Symbols: symbols})
		if d == nil {
			require.NotEmpty(rt, findings)
			for _, f := range findings {
				require.Equal(rt, "does-not-fit", f.Rule)
				require.NotEmpty(rt, f.Help)
				if name, ok := f.Data["fits"].(string); ok {
					larger, _ := layout.PaperSize(name)
					_, again := sheets.Wall(r, sheets.WallOptions{Paper: larger, Distance: distance, Symbols: symbols})
					for _, g := range again {
						require.NotEqual(rt, f.Subject, g.Subject, "said to fit on %s", name)
					}
				}
			}
			return
		}
		for i, p := range d.Pages {
			require.Empty(rt, sheetFaults(p, 10), "page %d", i+1)
		}
		wallSays(rt, r, d, distance)
	})
}

func must(d *layout.Document, _ any) *layout.Document { return d }

// A name that cannot stand at its size on the paper is named, with the smallest
// paper on which it can.
func TestWallDoesNotFit(t *testing.T) {
	r := plantest.Make(t, plantest.Shape{Seed: 1, Slots: 5, NameLength: 16, Divisions: 2, WordLength: 5, Units: 2})
	letter, _ := layout.PaperSize("letter")
	d, findings := sheets.Wall(r, sheets.WallOptions{Paper: letter, Distance: 3})
	require.Nil(t, d)
	require.NotEmpty(t, findings)
	f := findings[0]
	assert.Equal(t, "does-not-fit", f.Rule)
	assert.Equal(t, r.Lists[0].Slots[0].Channel.Name, f.Subject)
	assert.Contains(t, f.Message, `on letter at 3 m`)
	// 16 characters of Mono Bold at 17.45 mm capitals take 264 mm, the strip of
	// numbers 33 mm: legal has 336 mm, and room for divisions.
	require.Equal(t, "legal", f.Data["fits"])
	legal, _ := layout.PaperSize("legal")
	d, findings = sheets.Wall(r, sheets.WallOptions{Paper: legal, Distance: 3})
	require.Empty(t, findings)
	require.NotNil(t, d)
}

// A zero of options means letter, across, to be read from 2 m.
func TestWallDefaults(t *testing.T) {
	r := example(t, "first-hour")
	letter, _ := layout.PaperSize("letter")
	assert.Equal(t, layout.Dump(must(sheets.Wall(r, sheets.WallOptions{Paper: letter, Distance: 2}))),
		layout.Dump(must(sheets.Wall(r, sheets.WallOptions{}))))
}

// Other words than English reach every place: none is left behind in the code.
func TestWallWordsAreAllInOnePlace(t *testing.T) {
	r := example(t, "thimble-gulch")
	w := words.EnglishWall
	foreign(&w)
	d, findings := sheets.Wall(r, sheets.WallOptions{Words: &w})
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
				sheets.Wall(r, sheets.WallOptions{Paper: size})
			}
		})
	}
}
