package layout_test

import (
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"slotcard/fonts"
	"slotcard/layout"
	"slotcard/layout/cards"
	"slotcard/layout/sheets"
	"slotcard/layout/wall"
	"slotcard/layout/words"
	"slotcard/plan"
	"slotcard/plan/changes"
	"slotcard/plan/finding"
	"slotcard/plan/rules"
)

// revised is the second period of the example and its revision of 13:05.
func revised(t testing.TB) *changes.Changes {
	t.Helper()
	r, findings, err := rules.Open(filepath.Join("..", "examples", "thimble-gulch", "period-2-rev-2.toml"), plan.Options{ReadFile: os.ReadFile, Prints: fonts.Prints})
	require.NoError(t, err)
	require.Empty(t, findings)
	return changes.Between(example(t, "thimble-gulch"), r)
}

// A revision stands on every paper, in every language; what has none says nothing.
func TestRevisionStandsOnEveryPaper(t *testing.T) {
	c := revised(t)
	for tag, want := range map[string]string{"en": "rev 2 13:05", "es": "rev. 2 13:05", "fr": "rév. 2 13:05"} {
		l, _ := words.Speak(tag)
		for _, r := range []*plan.Resolved{c.Old, c.New} {
			says := r == c.New
			deck, findings := cards.Deal(r, cards.Options{Words: &l.Card, Changes: cards.CardChanges(changes.Between(c.Old, r))})
			require.Empty(t, findings)
			for _, f := range deck.Faces {
				require.Equal(t, says, inspect(f.Front).says(want), "card %d in %s", f.Card.Number, tag)
				require.Empty(t, inspect(f.Front).faults(deck.Size))
			}
			for _, lay := range []func() (*layout.Document, finding.List){
				func() (*layout.Document, finding.List) {
					return docOf(wall.List(r, wall.Options{Words: &l.Wall}))
				},
				func() (*layout.Document, finding.List) {
					return docOf(wall.Grid(r, wall.Options{Words: &l.Wall}))
				},
				func() (*layout.Document, finding.List) {
					return sheets.Handout(r, sheets.HandoutOptions{Words: &l.Handout})
				},
			} {
				d, findings := lay()
				require.Empty(t, findings)
				for i := range d.Pages {
					page := *d
					page.Pages = d.Pages[i : i+1]
					assert.Equal(t, says, holdsText(unbroken(said(&page)), unbroken(want)), "%s in %s, page %d", d.Title, tag, i+1)
				}
			}
		}
		d, findings := sheets.ChangeSheet(c, sheets.ChangeOptions{Words: &l.Changes})
		require.Empty(t, findings)
		assert.Contains(t, unbroken(said(d)), unbroken(want))
		assert.Contains(t, unbroken(said(d)), unbroken(words.Filled(l.Changes.SheetRevised, "old", "1", "period", "2")))
	}
}

// The clock of a revision is that of the period's start, whatever offset it was
// written with; a period of more than a day says the day.
func TestClockOfARevision(t *testing.T) {
	from := time.Date(2027, 8, 14, 6, 0, 0, 0, time.FixedZone("", -6*3600))
	in := plan.Incident{Period: 2, Revision: 2, From: from, To: from.Add(24 * time.Hour), RevisedAt: time.Date(2027, 8, 14, 19, 5, 0, 0, time.UTC)}
	assert.Equal(t, "rev 2 13:05", words.English.Issue(&in))
	assert.Equal(t, "Period 2, rev 2 13:05", words.English.Numbered("Period", &in))
	in.To = in.To.Add(time.Hour)
	assert.Equal(t, "rev 2 14 Aug 13:05", words.English.Issue(&in))
	in.Revision = 0
	assert.Empty(t, words.English.Issue(&in))
	assert.Equal(t, "Period 2", words.English.Numbered("Period", &in))
}

// A reprint says when, where the plan does.
func TestReprintSaysItsTime(t *testing.T) {
	c := revised(t)
	for _, o := range []struct {
		r       *plan.Resolved
		reprint bool
		want    bool
	}{{c.New, true, true}, {c.New, false, false}, {c.Old, true, false}} {
		d, findings := sheets.Handout(o.r, sheets.HandoutOptions{Reprint: o.reprint})
		require.Empty(t, findings)
		n := 0
		for _, p := range d.Pages {
			for _, it := range p.Items {
				if s, ok := it.(layout.Text); ok && s.S == "reprint 13:05" {
					n++
				}
			}
		}
		want := 0
		if o.want {
			want = len(o.r.Cards)
		}
		assert.Equal(t, want, n)
	}
}

// The change sheet builds the slot: what stands in the build table, now and before,
// for slots that must be rebuilt and for no others.
func TestChangeSheetBuildsTheSlot(t *testing.T) {
	c := revised(t)
	d, findings := sheets.ChangeSheet(c, sheets.ChangeOptions{})
	require.Empty(t, findings)
	all := flat(said(d))
	assert.Contains(t, all, "now 1-08 156.0300 -/-")
	assert.Contains(t, all, "was 1-07 155.5350 -/-")
	assert.NotContains(t, all, "152.4125", "command is built as before")
}

// Another repeater is another tone, and the sheet says what to do.
func TestChangeSheetSaysAnotherSite(t *testing.T) {
	c := revised(t)
	slots := *c.New.Lists[0]
	moved := *slots.Slots[0]
	site := *moved.Repeater
	site.Name, moved.TxTone = "Tin Cup", c.Old.Load.Tones[0].Hz
	require.NotEqual(t, moved.TxTone, c.Old.Lists[0].Slots[0].TxTone)
	moved.Repeater = &site
	slots.Slots = append([]*plan.ResolvedSlot{&moved}, slots.Slots[1:]...)
	r := *c.New
	r.Lists = []*plan.List{&slots}
	r.Cards, r.Plan = nil, c.New.Plan
	d, findings := sheets.ChangeSheet(changes.Between(c.Old, &r), sheets.ChangeOptions{})
	require.Empty(t, findings)
	assert.True(t, holdsText(unbroken(said(d)), unbroken("Tin Cup repeats it, not Bellwether: set transmit tone "+moved.TxTone.String())))
}
