package papers

import (
	"bytes"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"slotcard/layout"
	"slotcard/render"
	"slotcard/render/scan"
)

var created = time.Date(2027, 8, 13, 20, 30, 0, 0, time.UTC)

func TestParts(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 60).Draw(t, "pages")
		most := rapid.IntRange(1, 20).Draw(t, "most")
		whole := &layout.Document{Title: "Thimble Gulch", Pages: make([]layout.Page, n)}
		level := -1
		for i := range whole.Pages {
			whole.Pages[i] = layout.Page{Width: 100, Height: float64(100 + i)}
			for range rapid.IntRange(0, 2).Draw(t, "bookmarks") {
				level = rapid.IntRange(0, min(level+1, 3)).Draw(t, "level")
				whole.Pages[i].Bookmarks = append(whole.Pages[i].Bookmarks, layout.Bookmark{Title: "Engine", Level: level})
			}
		}
		before := make([]int, n)
		for i := range whole.Pages {
			before[i] = len(whole.Pages[i].Bookmarks)
		}
		var names []string
		var heights []float64
		for _, p := range render.Parts("cards", whole, most) {
			names = append(names, p.Name)
			require.LessOrEqual(t, len(p.Document.Pages), most)
			for i := range p.Document.Pages {
				heights = append(heights, p.Document.Pages[i].Height)
			}
			// The renderer refuses an outline whose levels do not follow.
			require.NoError(t, render.PDF(&bytes.Buffer{}, p.Document, created))
		}
		require.Len(t, heights, n)
		require.True(t, slices.IsSorted(heights), "pages keep their order")
		require.True(t, slices.IsSorted(names), "files sort as they were made")
		if n <= most {
			require.Equal(t, []string{"cards.pdf"}, names)
		}
		for i := range whole.Pages {
			require.Len(t, whole.Pages[i].Bookmarks, before[i], "the document itself stays as it is")
		}
	})
	assert.Zero(t, render.MostPages%2, "a front and its back stay together")
}

// Every file of a split deck is whole: all codes are read in it.
func TestPartsAreWhole(t *testing.T) {
	r := deckOf(t, 40, 5)
	cards := sheetsOf(r, "cards")[0]
	doc, findings, err := cards.lay()
	require.NoError(t, err)
	require.Empty(t, findings)
	codes := 0
	for _, p := range render.Parts("cards", doc, 4) {
		var b bytes.Buffer
		require.NoError(t, render.PDF(&b, p.Document, created))
		pages, err := scan.PDF(t.Context(), b.Bytes())
		require.NoError(t, err, p.Name)
		require.Len(t, pages, len(p.Document.Pages))
		for _, page := range pages {
			codes += len(page)
		}
	}
	assert.Equal(t, 40, codes)
}
