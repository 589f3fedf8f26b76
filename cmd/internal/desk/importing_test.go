package desk

import (
	"os"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A file of slotcard's own in place of a sheet is named as what it is, whatever page it
// comes to, and nothing is written.
func TestOwnFilesAreNoSheets(t *testing.T) {
	d := opened(t)
	const station = "[[position]]\nname = \"Engine boss\"\npriority = \"own\"\n"
	for text, want := range map[string]string{loadText(t): "load", planText(t): "plan", station: "station file"} {
		says := "What you pasted is a " + want + ", not a channel list: put it into the folder"
		if want == "load" {
			says = "What you pasted is a load already"
		}
		assert.Contains(t, post(t, d, "/import/", "do", "read", "text", text), says)
		assert.Contains(t, post(t, d, "/draft/", "do", "make", "load", loadFile, "text", text), "That is a "+want+", not a plan sheet")
	}
	entries, err := os.ReadDir(".")
	require.NoError(t, err)
	assert.Len(t, entries, 1, "the folder of the fire alone")
}
