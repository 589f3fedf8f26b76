package render_test

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"slotcard/fonts"
	"slotcard/layout"
	"slotcard/layout/book"
	"slotcard/layout/cards"
	"slotcard/layout/impose"
	"slotcard/layout/wall"
	"slotcard/layout/words"
	"slotcard/plan"
	"slotcard/plan/rules"
	"slotcard/render"
	"slotcard/render/rendertest"
)

// bracedExample is the example with names in braces wherever a text may hold them.
func bracedExample(t *testing.T) *plan.Resolved {
	t.Helper()
	dir := filepath.Join("..", "examples", "thimble-gulch")
	read := func(name string) ([]byte, error) {
		data, err := os.ReadFile(name)
		text := string(data)
		for _, edit := range [][2]string{
			{`"on the road"`, `"on the road, then {command}"`},
			{"Lookouts hear air-to-ground", "Lookouts hear {air-to-ground}, divisions {own}, the head {M}, {{as said}"},
			{`remarks = "north and middle"`, `remarks = "north and middle, else {medical}"`},
		} {
			text = strings.Replace(text, edit[0], edit[1], 1)
		}
		return []byte(text), err
	}
	r, findings, err := rules.Open(filepath.Join(dir, "period-2-rev-2.toml"), plan.Options{ReadFile: read, Prints: fonts.Prints})
	require.NoError(t, err)
	require.False(t, findings.HasErrors(), "%v", findings)
	return r
}

// textOf is all text of a PDF, without white, as another program reads it.
func textOf(t *testing.T, d *layout.Document) string {
	t.Helper()
	var pdf bytes.Buffer
	require.NoError(t, render.PDF(&pdf, d, time.Date(2027, 8, 13, 20, 30, 0, 0, time.UTC)))
	doc := rendertest.Open(t, pdf.Bytes())
	var all strings.Builder
	for i := range doc.Pages() {
		for _, run := range doc.Text(i) {
			all.WriteString(run.S)
		}
	}
	return packed(all.String())
}

func packed(s string) string { return strings.Join(strings.Fields(s), "") }

// Slots stand in place of the names in braces in the printed file, in every
// language, and no brace is left but the one that is meant.
func TestBracesAreFilledOnPaper(t *testing.T) {
	r := bracedExample(t)
	for tag, want := range map[string]struct{ command, med, ag, own, head string }{
		"en": {"QB CMD 1, slot 1", "QB MED, slot 9", "QB AG 1, slot 8", "your own tactical", "QB TAC 3, slot 4"},
		"es": {"QB CMD 1, posición 1", "QB MED, posición 9", "QB AG 1, posición 8", "su propio canal táctico", "QB TAC 3, posición 4"},
		"fr": {"QB CMD 1, position 1", "QB MED, position 9", "QB AG 1, position 8", "votre propre canal tactique", "QB TAC 3, position 4"},
	} {
		l, _ := words.Speak(tag)
		deck, findings := cards.Deal(r, cards.Options{Words: &l.Card})
		require.Empty(t, findings)
		said := map[*plan.Division]bool{} // cards of a division say the same of the plan
		deck.Keep(func(c *plan.Card) bool {
			first := !said[c.Division]
			said[c.Division] = true
			return first
		})
		letter, _ := layout.PaperSize("letter")
		placed, err := impose.Cards(deck, impose.Options{Paper: letter})
		require.NoError(t, err)
		text := textOf(t, placed)
		assert.Greater(t, len(deck.Faces), 3)
		assert.Equal(t, len(deck.Faces), strings.Count(text, packed("on the road, then "+want.command)), tag)
		assert.NotContains(t, strings.ReplaceAll(text, "{assaid}", ""), "{", "but the brace that is written twice")

		wall, findings := wall.List(r, wall.Options{Words: &l.Wall})
		require.Empty(t, findings)
		text = textOf(t, wall.Document)
		for _, s := range []string{"on the road, then " + want.command, "move to " + want.med, "hear " + want.ag, "divisions " + want.own,
			"the head " + want.head, "middle, else " + want.med} {
			assert.Contains(t, text, packed(s), tag)
		}
		assert.Equal(t, 1, strings.Count(text, "{"), "the brace that is written twice")
		assert.Contains(t, text, "{assaid}")
	}
	pages, findings := book.Book(r.Load, book.Options{})
	require.Empty(t, findings)
	text := textOf(t, pages)
	assert.Contains(t, text, packed("else medical"), "a book has no slots")
	assert.NotContains(t, text, "{")
}
