package layout_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"slotcard/layout/words"
)

// Two lists with one code are not "the same code": the change sheet and diff say so.
func TestCodeByChance(t *testing.T) {
	c := periods(t)
	said := 0
	for _, l := range c.Lists {
		if l.Old == nil || l.New == nil || l.Same() || !l.CodeChanged() {
			continue
		}
		l.New.Code = l.Old.Code
		for _, language := range []string{"en", "es", "fr"} {
			w, ok := words.Speak(language)
			require.True(t, ok)
			var text string
			for _, p := range w.Changes.CodeLine(l) {
				text += p.T
			}
			want := map[string]string{"en": "by chance", "es": "por casualidad", "fr": "par hasard"}[language]
			assert.Contains(t, text, want)
			assert.Contains(t, text, words.Whole(l.New.Code.Pairs()))
		}
		said++
	}
	assert.Positive(t, said)
}
