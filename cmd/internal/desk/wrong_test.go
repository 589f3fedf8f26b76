package desk

import (
	"os"
	"strings"
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

// What is wrong on the screen of a new fire is said at once, and no folder is left.
func TestNewFireSaysAllThatIsWrong(t *testing.T) {
	d := opened(t)
	said := post(t, d, "/newfire/", "do", "make", "fire", "Fire", "hours", "0", "from", "2027-08-14T06:00", "offset", "-06:00", "latitude", "444", "longitude", "-114", "load", loadFile)
	for _, want := range []string{"There is a folder fire already", "say who prepares the plan", "the latitude is a number of degrees from -90 to 90, such as 44.1", "1 to 72 hours", "confirm the offset"} {
		assert.Contains(t, said, want)
	}
	entries, err := os.ReadDir(".")
	require.NoError(t, err)
	assert.Len(t, entries, 1)
	assert.Equal(t, "duwr-fork-e", folderName("Düwr Fork é 火"))
	assert.Equal(t, "etc", folderName("../../etc"))
	assert.Equal(t, "fire", folderName("火"))
	assert.LessOrEqual(t, len(folderName(strings.Repeat("long name ", 30))), longestFolder)
}

// Pages that show the file as it is do not say that they show an older one.
func TestStandingOfAFileWithErrors(t *testing.T) {
	d := opened(t)
	d.shelf.get("fire/plan.toml")
	require.NoError(t, os.WriteFile("fire/plan.toml", []byte(strings.Replace(planText(t), "QB TAC 3", "QB TAX 3", 1)), 0o644))
	for _, view := range []string{"cards", "sizes", "fire", "sheets", "print"} {
		assert.Contains(t, look(t, d, "/"+view+"/fire/plan.toml"), "The file has errors: what you see is from", view)
	}
	for _, view := range []string{"list", "divisions", "roster", "listen", "incident", "details", "file"} {
		assert.Contains(t, look(t, d, "/"+view+"/fire/plan.toml"), "The file has errors: nothing can be printed until they are gone", view)
	}
}

// A sentence begins with a capital, and the name of a file is written as it is.
func TestUpperFirst(t *testing.T) {
	for said, want := range map[string]string{"": "", "one": "One", "é": "É", "one. two": "One. two", "fire/plan.toml is there": "fire/plan.toml is there", "list.csv: no": "list.csv: no", "slot 5: x": "Slot 5: x"} {
		assert.Equal(t, want, upperFirst(said))
	}
	d := opened(t)
	assert.Equal(t, "fire/plan.toml is there already: give another name; nothing was written.", post(t, d, "/next/fire/plan.toml", "do", "make", "name", "plan"))
	assert.Equal(t, "it opens; if it is both, choose tone", forDesk(`it opens; if it is both, say --map "Tone=tone"`))
}
