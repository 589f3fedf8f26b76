package layout_test

import (
	"os"
	"testing"

	"github.com/stretchr/testify/require"

	"slotcard/fonts"
	"slotcard/layout/book"
	"slotcard/layout/cards"
	"slotcard/layout/sheets"
	"slotcard/layout/wall"
	"slotcard/plan"
	"slotcard/plan/rules"
)

// FuzzSheets: a plan without errors, whatever it says, becomes cards and sheets
// or findings, and nothing crashes.
func FuzzSheets(f *testing.F) {
	read := func(name string) []byte {
		data, err := os.ReadFile("../testdata/sound/" + name)
		require.NoError(f, err)
		return data
	}
	load := read("load.toml")
	f.Add(read("plan.toml"))
	f.Fuzz(func(t *testing.T, data []byte) {
		r, found, err := rules.Open("plan.toml", plan.Options{
			ReadFile: func(name string) ([]byte, error) {
				switch name {
				case "plan.toml":
					return data, nil
				case "load.toml":
					return load, nil
				}
				return nil, os.ErrNotExist
			},
			Prints: fonts.Prints,
		})
		if err != nil || r == nil || found.HasErrors() || len(r.Cards) > 50 {
			return
		}
		deck, found := cards.Deal(r, cards.Options{})
		require.Equal(t, deck == nil, found.HasErrors())
		if deck != nil {
			require.Len(t, deck.Faces, len(r.Cards))
		}
		wall, found := docOf(wall.List(r, wall.Options{}))
		require.Equal(t, wall == nil, found.HasErrors())
		sheets, found := sheets.Handout(r, sheets.HandoutOptions{})
		require.Equal(t, sheets == nil, found.HasErrors())
		book, found := book.Book(r.Load, book.Options{})
		require.Equal(t, book == nil, found.HasErrors())
	})
}
