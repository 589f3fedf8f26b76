package layout_test

import (
	"encoding/csv"
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"slotcard/fonts"
	"slotcard/layout"
	"slotcard/layout/cards"
	"slotcard/layout/words"
	"slotcard/plan"
	"slotcard/plan/plantest"
)

var filledIn = regexp.MustCompile(`%[a-z]+%`)

// The table of words is complete: a row for each word of the code with its
// English, a translation in each language that fills in the same values and
// that the typeface can print, and how it is known.
func TestWordsTable(t *testing.T) {
	f, err := os.Open("words/words.csv")
	require.NoError(t, err)
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	require.NoError(t, err)
	require.Equal(t, append(append([]string{"key"}, words.Languages()...), "how"), rows[0])
	table := map[string][]string{}
	for _, row := range rows[1:] {
		require.NotContains(t, table, row[0], "twice in the table")
		table[row[0]] = row
		for i, text := range row[1 : len(row)-1] {
			assert.NotEmpty(t, text, "%s in %s", row[0], words.Languages()[i])
			assert.ElementsMatch(t, filledIn.FindAllString(row[1], -1), filledIn.FindAllString(text, -1), "%s in %s", row[0], words.Languages()[i])
			for _, r := range text {
				assert.True(t, fonts.Prints(r), "%s in %s: no typeface has %q", row[0], words.Languages()[i], r)
			}
		}
		assert.NotEmpty(t, row[len(row)-1], "%s does not say how it is known", row[0])
	}
	english := words.EnglishWords()
	for key, text := range english {
		if row, ok := table[key]; assert.True(t, ok, "%s (%q) has no row", key, text) {
			assert.Equal(t, text, row[1], "the English of %s has changed: look at its translations", key)
		}
	}
	assert.Len(t, table, len(english), "rows that no word uses")
}

func TestSpeak(t *testing.T) {
	for _, tag := range words.Languages() {
		l, ok := words.Speak(tag)
		require.True(t, ok, tag)
		assert.Equal(t, tag, l.Card.Language)
		assert.Equal(t, tag, l.Changes.Language)
	}
	_, ok := words.Speak("de")
	assert.False(t, ok)
	en, _ := words.Speak("en")
	es, _ := words.Speak("es")
	assert.Equal(t, "fresh batteries", en.Card.Checks[0], "one language never writes into another")
	assert.Equal(t, "baterías nuevas", es.Card.Checks[0])
	assert.Equal(t, en.Card, words.English)
}

// Cards of random plans in every language, as in English; longer words may need
// a larger card, and then a finding says which: that one holds them.
func TestCardsInOtherLanguages(t *testing.T) {
	t.Parallel()
	symbols := new(layout.Symbols)
	for _, tag := range words.Languages()[1:] {
		l, _ := words.Speak(tag)
		fits := 0
		for seed := range uint64(12) {
			r := plantest.Make(t, shapeOf(seed))
			followed := map[string]bool{}
			for _, size := range layout.CardSizes() {
				o := cards.Options{Size: size, Words: &l.Card, Symbols: symbols, Plain: seed%3 == 0}
				d, findings := cards.Deal(r, o)
				if d == nil {
					require.NotEmpty(t, findings)
					if name, ok := findings[0].Data["fits"].(string); ok && !followed[name] {
						followed[name] = true
						o.Size, _ = layout.CardSize(name)
						d, _ := cards.Deal(r, o)
						require.NotNil(t, d, "%s, plan %d: %s", tag, seed, findings[0])
					}
					continue
				}
				fits++
				backs := map[*layout.Panel]bool{} // cards of a list share theirs
				for _, f := range d.Faces {
					front := inspect(f.Front)
					require.Empty(t, front.faults(d.Size), "%s, plan %d on %s", tag, seed, size.Name)
					if !backs[f.Back] {
						backs[f.Back] = true
						require.Empty(t, inspect(f.Back).faults(d.Size), "%s, plan %d on %s", tag, seed, size.Name)
					}
					for _, word := range []string{l.Card.Talk, l.Card.Period, l.Card.Load} {
						require.True(t, front.says(word), "%s: %q", tag, word)
					}
					for _, english := range []string{"TALK", "PRIORITY", "SCAN", "EXERCISE", "Card", "Load"} {
						require.False(t, front.says(english), "%s: %q is left", tag, english)
					}
				}
			}
		}
		assert.Greater(t, fits, 20, tag)
	}
}

// A list's name in English is the one that the rest of the program uses.
func TestListNames(t *testing.T) {
	r := plantest.Make(t, plantest.Shape{Slots: 6, NameLength: 6, Divisions: 4, Functional: true, Units: 5, Mixed: true, DistinctList: true})
	require.Greater(t, len(r.Lists), 1)
	es, _ := words.Speak("es")
	for _, list := range r.Lists {
		assert.Equal(t, list.Name(r), list.NameIn(r, words.English.Lists))
		assert.False(t, strings.HasPrefix(list.NameIn(r, es.Card.Lists), "Division "))
	}
	assert.True(t, slices.ContainsFunc(r.Lists, func(l *plan.List) bool { return strings.HasPrefix(l.NameIn(r, es.Card.Lists), "División") }))
}
