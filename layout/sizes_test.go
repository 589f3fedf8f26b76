package layout_test

import (
	"encoding/csv"
	"os"
	"path/filepath"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"slotcard/layout"
)

// Sizes against the published ones (testdata/paper.csv; ISO 216, ISO/IEC 7810
// and ANSI/ASME Y14.1 secondary; business and index cards from memory).
func TestSizesByPublishedValues(t *testing.T) {
	f, err := os.Open(filepath.Join("..", "testdata", "paper.csv"))
	require.NoError(t, err)
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	require.NoError(t, err)
	published := map[string]layout.Size{}
	for _, row := range rows[1:] {
		w, errW := strconv.ParseFloat(row[1], 64)
		h, errH := strconv.ParseFloat(row[2], 64)
		if errW != nil || errH != nil {
			continue
		}
		if row[3] == "in" {
			w, h = w*25.4, h*25.4
		}
		published[row[0]] = layout.Size{Width: w, Height: h}.Across()
	}
	for name, as := range map[string]string{
		"id-1": "ID-1", "business": "US business card", "a7": "A7", "index-3x5": "Index card 3x5", "a6": "A6", "index-4x6": "Index card 4x6",
		"letter": "Letter (ANSI A)", "a4": "A4", "legal": "Legal", "tabloid": "Tabloid / Ledger (ANSI B)", "a3": "A3", "a2": "A2",
	} {
		want, ok := published[as]
		require.True(t, ok, as)
		got, isCard := layout.CardSize(name)
		if !isCard {
			got, ok = layout.PaperSize(name)
			require.True(t, ok, name)
		}
		got = got.Across()
		assert.InDelta(t, want.Width, got.Width, 0.01, name)
		assert.InDelta(t, want.Height, got.Height, 0.01, name)
	}
	assert.Len(t, layout.CardSizes(), 7, "one of them is named by its measures")
	assert.Len(t, layout.PaperSizes(), 6)
}

func TestCardSizeOfOnesOwn(t *testing.T) {
	s, ok := layout.CardSize("55x90.5")
	require.True(t, ok)
	assert.Equal(t, layout.Size{Name: "55x90.5", Width: 90.5, Height: 55}, s, "its long side is level")
	for _, bad := range []string{"", "x", "90", "90x", "x55", "90x55x3", "ax55", "-90x-55", "0x0", "90x49", "201x60", "NaNx60", "Infx60", "1e3x60", "90 x 55"} {
		_, ok := layout.CardSize(bad)
		assert.False(t, ok, bad)
	}
}
