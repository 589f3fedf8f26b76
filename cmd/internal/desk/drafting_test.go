package desk

import (
	"context"
	"net/http"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// What was looked at and decided of a sheet is there when the desk starts anew; of many
// sheets the oldest go.
func TestDraftedIsKept(t *testing.T) {
	d := opened(t)
	sheet := func() *Drafted {
		return &Drafted{File: "fire/plan.toml", Slots: 10, Around: []*SheetCell{{Line: 1, Text: "INCIDENT RADIO"}, {Line: 2, Text: "call the base"}},
			Rows: []*SheetRow{{Line: 4, Cells: []*SheetCell{{Text: "CMD", Read: true}, {Text: "odd", Title: "Zone"}}, Slot: -1}, {Line: 5, Slot: 0}}}
	}
	p := &Page{Request: ask(d, http.MethodGet, "/draft/", nil), desk: d}
	first := sheet()
	id := d.drafts.keep(first)
	require.NoError(t, p.keepDraft(id, first))
	require.Equal(t, "/draft/?made="+id, post(t, d, "/draft/", "do", "seen", "made", id, "n", "1"))
	page := look(t, d, "/draft/?made="+id)
	assert.Contains(t, page, "2 cells were not read and not looked at yet")

	anew := newDesk(context.Background(), d.Options, 7000, "token")
	defer anew.close()
	assert.Equal(t, page, look(t, anew, "/draft/?made="+id), "the page is as it was")
	require.Equal(t, "/draft/?made="+id, post(t, anew, "/draft/", "do", "seen", "made", id, "n", "0"))
	assert.Contains(t, look(t, anew, "/draft/?made="+id), "1 cell was not read and not looked at yet")

	for _, wrong := range []string{"", "../../fire/plan", "AAAAAAAAAAAAAAAA"} {
		assert.Nil(t, anew.drafted(wrong), wrong)
	}
	for range 25 {
		one := sheet()
		require.NoError(t, p.keepDraft(d.drafts.keep(one), one))
	}
	kept, err := filepath.Glob(filepath.Join(".slotcard", "sheets", "*.json"))
	require.NoError(t, err)
	assert.Len(t, kept, 20)
	require.NoError(t, os.Remove(filepath.FromSlash("fire/plan.toml")))
	again := newDesk(context.Background(), d.Options, 7000, "token")
	defer again.close()
	assert.Nil(t, again.drafted(filepath.Base(kept[0])[:16]), "its plan is gone")
}
