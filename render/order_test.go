package render_test

import (
	"bytes"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"slotcard/layout"
	"slotcard/layout/sheets"
	"slotcard/layout/wall"
	"slotcard/layout/words"
	"slotcard/render"
	"slotcard/render/rendertest"
)

// Sheets are read aloud in the order in which a person reads them, as poppler gives the
// text of a PDF: what the sheet is, then row after row, each from left to right, and the
// cautions of the foot last on each page.
func TestSecondOpinionReadingOrder(t *testing.T) {
	poppler := rendertest.Poppler(t)
	all, err := examples()
	require.NoError(t, err)
	for name, e := range all {
		r := e.resolved
		check := func(what string, d *layout.Document, want []string) {
			var pdf bytes.Buffer
			require.NoError(t, render.PDF(&pdf, d, time.Date(2027, 8, 13, 20, 30, 0, 0, time.UTC)))
			read := poppler.InOrder(t, pdf.Bytes())
			at := 0
			packedRead := packed(read)
			for _, s := range want {
				found := strings.Index(packedRead[at:], packed(s))
				require.GreaterOrEqual(t, found, 0, "%s: %s: %q is not behind those before it in\n%s", name, what, s, read)
				at += found + len(packed(s))
			}
			for i, page := range strings.Split(strings.TrimSuffix(read, "\f"), "\f") {
				foot := strings.Index(packed(page), packed(words.EnglishSheet.SheetNotes[0]))
				require.Positive(t, foot, "%s: %s, page %d", name, what, i+1)
				assert.Less(t, len(packed(page))-foot, 500, "%s: %s, page %d: something stands behind the foot", name, what, i+1)
			}
		}
		list, found := wall.List(r, wall.Options{})
		require.Empty(t, found)
		in := &r.Plan.Incident
		want := []string{in.Name, words.EnglishWall.Numbered(words.EnglishWall.OperationalPeriod, in), words.EnglishWall.Channels}
		for i, s := range r.Lists[0].Slots {
			want = append(want, strconv.Itoa(i+1), s.Channel.Name)
			for _, u := range s.Users {
				want = append(want, u.ID)
			}
			want = append(want, s.Channel.Rx.String(), s.Channel.Tx.String(), "A", r.Lists[0].Place(i).Place())
		}
		check("wall", list.Document, append(want, words.EnglishWall.Assignments, r.Lists[0].Code.Pairs()))

		handout, found := sheets.Handout(r, sheets.HandoutOptions{})
		require.Empty(t, found)
		want = []string{words.EnglishHandout.Title, words.EnglishHandout.Numbered(words.EnglishHandout.Period, in), in.Name}
		for _, c := range r.Cards {
			if c.Unit.Team != "" {
				want = append(want, strconv.Itoa(c.Number), c.Position.Name)
			}
		}
		check("hand-out", handout, want)
	}
}
