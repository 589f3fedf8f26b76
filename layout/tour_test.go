package layout_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"slotcard/fonts"
	"slotcard/layout"
	"slotcard/layout/sheets"
	"slotcard/layout/words"
)

// The page for a first-time user is one page in every language, holds every word at a
// size that can be read, and nothing off the paper.
func TestTour(t *testing.T) {
	where := [10]string{"Channels, Book", "New fire, Paste a sheet, Incident", "List", "List", "List, Divisions", "Roster, Who listens", "Findings, Print", "Cards", "Prove it, Check-in", "Next period, Change now"}
	for _, tag := range words.Languages() {
		l, _ := words.Speak(tag)
		for _, name := range []string{"letter", "a4"} {
			paper, ok := layout.PaperSize(name)
			require.True(t, ok)
			d := sheets.Tour(sheets.TourOptions{Paper: paper, Words: &l.Tour, Where: where})
			require.Len(t, d.Pages, 1, "%s on %s", tag, name)
			page := d.Pages[0]
			assert.Less(t, page.Width, page.Height)
			var text strings.Builder
			for _, item := range page.Items {
				if said, ok := item.(layout.Text); ok {
					text.WriteString(said.S + " ")
					assert.GreaterOrEqual(t, fonts.CapMM(said.Size), layout.SheetLeast()-1e-6, said.S)
					assert.LessOrEqual(t, said.X+said.Face.Width(said.S, said.Size), page.Width-10, said.S)
					assert.Less(t, said.Y, page.Height-10, said.S)
				}
			}
			all := strings.Join(strings.Fields(text.String()), " ")
			for i := range l.Tour.What {
				for _, s := range []string{l.Tour.What[i], l.Tour.How[i], where[i]} {
					assert.Contains(t, all, s, "%s on %s", tag, name)
				}
			}
			assert.Contains(t, all, l.Tour.Care)
		}
	}
}
