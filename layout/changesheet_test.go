package layout_test

import (
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"slotcard/fonts"
	"slotcard/layout"
	"slotcard/layout/cards"
	"slotcard/layout/sheets"
	"slotcard/layout/words"
	"slotcard/plan"
	"slotcard/plan/changes"
	"slotcard/plan/plantest"
	"slotcard/plan/rules"
)

// periods are the second and the third period of the example.
func periods(t testing.TB) *changes.Changes {
	t.Helper()
	r, findings, err := rules.Open(filepath.Join("..", "examples", "thimble-gulch", "period-3.toml"), plan.Options{ReadFile: os.ReadFile, Prints: fonts.Prints})
	require.NoError(t, err)
	require.False(t, findings.HasErrors(), "%v", findings)
	return changes.Between(example(t, "thimble-gulch"), r)
}

// unbroken is a text without white, as what was broken into lines is compared.
func unbroken(s string) string {
	return strings.ToLower(joinedLetters(strings.ReplaceAll(s, "\u00a0", " ")))
}

// holdsText tells whether a page holds a text, or two do: one its beginning,
// the next one, behind its heading, the rest.
func holdsText(all, s string) bool {
	if strings.Contains(all, s) {
		return true
	}
	for k := len(s) - 1; k > 0; k-- {
		if i := strings.Index(all, s[:k]); i >= 0 && strings.Contains(all[i+k:], s[k:]) {
			return true
		}
	}
	return false
}

// changesSaid checks that a sheet holds every slot, and every sentence that the
// plain text has of divisions, units and cards.
func changesSaid(t require.TestingT, c *changes.Changes, d *layout.Document) {
	all := unbroken(said(d))
	texts := words.EnglishChanges.Text(c)
	for _, part := range texts[1:] {
		require.Contains(t, all, unbroken(part.Title))
		if strings.HasPrefix(part.Title, "Slots") {
			continue // these are rows of a table
		}
		for _, l := range part.Lines {
			require.True(t, holdsText(all, unbroken(l)), l)
		}
	}
	for _, n := range texts[0].Lines[:len(texts[0].Lines)-1] {
		require.Contains(t, all, unbroken(n))
	}
	least := layout.CapAt(500, 20)
	for _, l := range c.Lists {
		if l.New == nil || l.Same() {
			continue
		}
		require.Contains(t, all, unbroken(l.New.Code.Pairs()))
		for i, s := range l.New.Slots {
			require.True(t, tall(d, strconv.Itoa(i+1), least), "slot %d is too small", i+1)
			require.True(t, tall(d, s.Channel.Name, least), "%s is too small", s.Channel.Name)
		}
		for _, s := range l.Slots {
			if s.Old != nil && s.Is == 0 {
				require.Contains(t, all, unbroken(fmt.Sprintf("slot %d of the old list, %s, is gone", s.Was, s.Old.Channel.Name)))
			}
		}
	}
}

func TestChangeSheetOfExample(t *testing.T) {
	c := periods(t)
	for _, size := range layout.PaperSizes() {
		t.Run(size.Name, func(t *testing.T) {
			d, findings := sheets.ChangeSheet(c, sheets.ChangeOptions{Paper: size})
			require.Empty(t, findings)
			require.Len(t, d.Pages, 1)
			p := d.Pages[0]
			assert.Greater(t, p.Width, p.Height)
			assert.Empty(t, sheetFaults(p, 10))
			changesSaid(t, c, d)
			all := flat(said(d))
			for _, s := range []string{"Change sheet, since operational period 2", "Operational period 3", "Read-back code MT S9 , was XS JT",
				"Div R : new in the list", "Div Y : in place of QB TAC 4; was slot 5", "Guard : was slot 10", "EXERCISE"} {
				assert.Contains(t, all, s)
			}
			for _, note := range words.EnglishSheet.SheetNotes {
				assert.Contains(t, all, note)
			}
		})
	}
}

// Slots that must be built anew stand white on black, and no others.
func TestChangeSheetMarksSlots(t *testing.T) {
	d, findings := sheets.ChangeSheet(periods(t), sheets.ChangeOptions{})
	require.Empty(t, findings)
	ink := map[string]layout.Ink{}
	for _, it := range d.Pages[0].Items {
		if t, ok := it.(layout.Text); ok && t.Face == fonts.MonoBold {
			if _, err := strconv.Atoi(t.S); err == nil {
				ink[t.S] = t.Ink
			}
		}
	}
	require.Len(t, ink, 11)
	for i := 1; i <= 11; i++ {
		want := layout.Black
		if i >= 5 {
			want = layout.White
		}
		assert.Equal(t, want, ink[strconv.Itoa(i)], "slot %d", i)
	}
}

// What must be known first stands on the sheet and in the text.
func TestChangeNoticesFirst(t *testing.T) {
	shape := plantest.Shape{Seed: 1, Slots: 5, NameLength: 8, Divisions: 2, WordLength: 5, Units: 2}
	old, other := plantest.Make(t, shape), plantest.Make(t, shape)
	other.Plan.Incident.Number = "QB-0500"
	other.Load.About.Edition = "2028"
	other.Plan.Incident.From = other.Plan.Incident.From.Add(-3600e9)
	c := changes.Between(old, other)
	lines := words.EnglishChanges.Text(c)[0].Lines
	require.Len(t, lines, 5)
	assert.Equal(t, "the first plan begins after the second: are the two swapped?", lines[0])
	assert.Contains(t, lines[1], "another incident: ")
	assert.Contains(t, lines[1], "QB-0500, was ")
	assert.Equal(t, "another load: Quillback Range cooperators 2028 orange, was Quillback Range cooperators 2027 orange", lines[2])
	assert.Equal(t, "no old list is worth anything: clear it and build this one", lines[3])
	d, findings := sheets.ChangeSheet(c, sheets.ChangeOptions{})
	require.Empty(t, findings)
	changesSaid(t, c, d)
	assert.Contains(t, said(d), "Clear the old list, build this one: ")
	for i := range old.Lists[0].Slots { // the lists are equal, and yet nothing of the old one is kept
		assert.Contains(t, whiteNumbers(d), strconv.Itoa(i+1))
	}
	for _, change := range cards.CardChanges(c) {
		assert.True(t, change.First)
	}
}

// whiteNumbers are the slot numbers that stand white on black.
func whiteNumbers(d *layout.Document) (out []string) {
	for _, p := range d.Pages {
		for _, it := range p.Items {
			if t, ok := it.(layout.Text); ok && t.Face == fonts.MonoBold && t.Ink == layout.White {
				out = append(out, t.S)
			}
		}
	}
	return out
}

// pairOf draws two plans that may differ in everything, or in little.
func pairOf(t *testing.T, rt *rapid.T) *changes.Changes {
	shape := shapes(rt)
	old := plantest.Make(t, shape)
	switch rapid.IntRange(0, 2).Draw(rt, "other") {
	case 0:
		shape.Slots = min(16, shape.Slots+1)
		shape.Divisions++
	case 1:
		shape.Slots = max(3, shape.Slots-2)
		shape.Units++
	default:
		shape = shapes(rt)
	}
	return changes.Between(old, plantest.Make(t, shape))
}

func TestChangeSheetOfManyPlans(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		c := pairOf(t, rt)
		size := rapid.SampledFrom(layout.PaperSizes()).Draw(rt, "paper")
		d, findings := sheets.ChangeSheet(c, sheets.ChangeOptions{Paper: size})
		require.Empty(rt, findings)
		for i, p := range d.Pages {
			require.Empty(rt, sheetFaults(p, 10), "page %d", i+1)
		}
		changesSaid(rt, c, d)
	})
}

// A heading that leaves no room is a finding.
func TestChangeSheetDoesNotFit(t *testing.T) {
	r := plantest.Make(t, plantest.Shape{Seed: 1, Slots: 5, NameLength: 8, Divisions: 2, WordLength: 5, Units: 2})
	r.Plan.Incident.Name = strings.Repeat("Long name ", 300)
	d, findings := sheets.ChangeSheet(changes.Between(r, r), sheets.ChangeOptions{})
	require.Nil(t, d)
	require.Len(t, findings, 1)
	assert.Equal(t, "does-not-fit", findings[0].Rule)
}

// Other words than English reach every place.
func TestChangeWordsAreAllInOnePlace(t *testing.T) {
	c := periods(t)
	w := words.EnglishChanges
	foreign(&w)
	d, findings := sheets.ChangeSheet(c, sheets.ChangeOptions{Words: &w})
	require.Empty(t, findings)
	ownWords(t, c.New, strings.NewReplacer("XS JT", "", "QB TAC 4", "").Replace(said(d)))
}

// Cards say what their holders have to do, at every size that holds them.
func TestCardsSayWhatChanges(t *testing.T) {
	for _, c := range []struct {
		change cards.Change
		says   []string
		marked []int
	}{
		{cards.Change{Period: 1, Slots: []int{2, 3}}, []string{"REBUILD: slots 2, 3"}, []int{2, 3}},
		{cards.Change{Period: 1, Slots: []int{3}}, []string{"REBUILD: slot 3"}, []int{3}},
		{cards.Change{Period: 1, Slots: []int{2, 3, 4, 5}, Listen: true}, []string{"REBUILD: slots 2–5", "listen elsewhere"}, []int{2, 3, 4, 5}},
		{cards.Change{Period: 1, Slots: []int{2}, Clear: []int{6}}, []string{"REBUILD: slot 2", "clear slot 6"}, []int{2}},
		{cards.Change{Period: 1, Clear: []int{6, 7}}, []string{"clear slots 6, 7"}, nil},
		{cards.Change{Period: 1}, []string{"same list as period 1"}, nil},
		{cards.Change{Period: 1, NewCode: true}, []string{"same list as period 1, new code"}, nil},
		{cards.Change{Period: 1, NewCode: true, Listen: true}, []string{"same list as period 1, new code, listen elsewhere"}, nil},
		{cards.Change{Period: 1, First: true, Slots: []int{1, 2}}, []string{"BUILD the list"}, nil},
	} {
		r := plantest.Make(t, plantest.Shape{Seed: 1, Slots: 5, NameLength: 8, Divisions: 2, WordLength: 5, Words: 1, Units: 1})
		for _, size := range layout.CardSizes() {
			deck, findings := cards.Deal(r, cards.Options{Size: size, Changes: map[*plan.Card]cards.Change{r.Cards[0]: c.change}})
			require.Empty(t, findings)
			front := inspect(deck.Faces[0].Front)
			assert.Empty(t, front.faults(deck.Size), size.Name)
			for _, s := range c.says {
				assert.True(t, front.says(s), "%s: %q", size.Name, s)
			}
			plain, findings := cards.Deal(r, cards.Options{Size: size})
			require.Empty(t, findings)
			diamonds := shapes4(deck.Faces[0].Front) - shapes4(plain.Faces[0].Front)
			assert.Equal(t, len(c.marked), diamonds, "%s: a diamond for each changed slot", size.Name)
		}
	}
}

// shapes4 counts filled shapes of four straight segments from a point: diamonds.
func shapes4(p *layout.Panel) (n int) {
	for _, it := range p.All() {
		if s, ok := it.(layout.Shape); ok && s.Fill && len(s.Segments) == 4 && !s.Segments[1].Curve {
			n++
		}
	}
	return n
}

// TestCardChanges: what each card is told agrees with its list and its holder's.
func TestCardChanges(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		c := pairOf(t, rt)
		told := cards.CardChanges(c)
		require.Len(rt, told, len(c.New.Cards))
		for _, u := range c.Units {
			for _, card := range u.Cards {
				change := told[card.New]
				require.Equal(rt, card.First || card.Rebuild(), change.First || len(change.Slots)+len(change.Clear) > 0)
				require.Equal(rt, card.First, change.First)
				require.Equal(rt, c.Old.Plan.Incident.Period, change.Period)
			}
		}
	})
}
