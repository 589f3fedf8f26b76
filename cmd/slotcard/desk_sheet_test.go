package main

import (
	"html"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A sheet of twelve rows, three of which a person must decide and two of which hold a
// cell that nothing was made of, by keyboard alone: pasted in the folder, decided, looked
// at, and left for the plan. The view is not left before every such cell was looked at.
func TestDeskSheet(t *testing.T) {
	sheet, err := os.ReadFile(filepath.Join("..", "..", "testdata", "sheets", "twelve-rows.csv"))
	require.NoError(t, err)
	b := browse(t)
	c := &counted{deskTab: b}
	b.to("/folder/")
	b.soon(`document.getElementById("live").textContent === "up to date with the file"`)
	// As Ctrl-V does: a browser without a window has no clipboard.
	quoted := "`" + strings.ReplaceAll(string(sheet), "`", "'") + "`"
	is[bool](b, `(() => { const d = new DataTransfer(); d.setData("text/plain", `+quoted+`); return document.body.dispatchEvent(new ClipboardEvent("paste", {clipboardData: d, bubbles: true, cancelable: true})) === false })()`)
	c.keys++
	b.soon(`document.querySelectorAll(".beside > li").length === 12`)
	left := func(decisions, cells string) {
		t.Helper()
		b.soon(`document.querySelectorAll(".decide").length === ` + decisions + ` && document.querySelectorAll(".unread:not(.seen)").length === ` + cells)
	}
	left("3", "2")
	file := filepath.Join(b.dir, strings.TrimSpace(is[string](b, `document.querySelector(".drafted [role=status] b").textContent.match(/written to (.*)\.$/)[1]`)))
	assert.Equal(t, "1 Bellwether (tone 4, 146.2)", is[string](b, `document.querySelector('.choices [data-key="1"]').textContent`))
	c.hit("1") // the repeater of command
	left("2", "2")
	c.hit("1") // two digits swapped
	left("1", "2")
	// Nothing leads away while cells are marked: the way out goes to the next of them.
	c.hit("g")
	b.soon(`document.querySelector(".unread [data-key=s]") !== null && location.pathname === "/draft/"`)
	c.hit("s")
	left("1", "1")
	c.hit("s")
	left("1", "0")
	c.hit("1") // the name that is close
	left("0", "0")
	c.hit("g")
	b.soon(`location.pathname.startsWith("/findings/") || location.pathname.startsWith("/list/")`)
	t.Logf("%d keystrokes for a sheet of 12 rows with 3 decisions and 2 cells that were not read", c.keys)
	assert.LessOrEqual(t, c.keys, 12)
	text, err := os.ReadFile(file)
	require.NoError(t, err)
	for _, want := range []string{`channel = "QB CMD 1"` + "\n" + `site`, `"Bellwether"`, `"VFIRE23"`, `"QB TAC 1"`, `"AIRGUARD"`} {
		assert.Contains(t, string(text), want)
	}
	assert.NotContains(t, string(text), "rx ")
	assert.Empty(t, b.elsewhere())
}

// What a row asks is decided in the plan: who uses a slot, which channel it is, whose
// repeater; and a line can be left out, after which the others are still their own.
func TestDeskDecides(t *testing.T) {
	dir, v := visit(t)
	sheet := "Function,Channel Name,Assignment,RX Freq,TX Tone,Remarks\n" +
		"Command,QB CMD 9,,,,\n" +
		"Tactical,VFIRE21,Division A,154.2800,156.7,\n" +
		"Tactical,QB TAX 2,Division B,,,\n" +
		"Tactical,QB TAC 3,Division ?!,,,\n" +
		"Emergency guard,AIRGUARD,,168.6250,110.9,see map\n"
	page := v.post("/draft/", url.Values{"do": {"make"}, "load": {"thimble-gulch/load.toml"}, "text": {sheet}})
	text := func() string {
		data, err := os.ReadFile(filepath.Join(dir, "thimble-gulch", "from-sheet.toml"))
		require.NoError(t, err)
		return string(data)
	}
	button := regexp.MustCompile(`(?s)name="row" value="(\d+)"><input type="hidden" name="choice" value="(\d+)"><input type="hidden" name="what" value="([^"]*)"><button [^>]*>(?:<kbd>\d</kbd> )?([^<]*)</button>`)
	pick := func(row, says string) {
		t.Helper()
		for _, m := range button.FindAllStringSubmatch(page, -1) {
			if m[1] == row && strings.Contains(html.UnescapeString(m[4]), says) {
				page = v.post("/draft/", url.Values{"do": {"pick"}, "made": {value(t, page, "made")}, "row": {row}, "choice": {m[2]}, "what": {html.UnescapeString(m[3])}})
				return
			}
		}
		t.Fatalf("row %s has no choice %s in %s", row, says, page)
	}
	made := value(t, page, "made")
	pick("0", "QB CMD 1")
	assert.Contains(t, page, "no repeater chosen for QB CMD 1")
	pick("0", "Thornback")
	assert.Regexp(t, `channel += "QB CMD 1"\nuse += "command"\nsite += "Thornback"`, text())
	assert.Contains(t, text(), `# decided: not in the load: "QB CMD 9"`)
	page = v.post("/draft/", url.Values{"do": {"leave"}, "made": {made}, "row": {"2"}})
	assert.NotContains(t, text(), `"QB TAX 2"`)
	assert.Contains(t, page, "Left out of the list.")
	pick("3", "for everybody")
	assert.NotContains(t, text(), `division = "Division ?!"`)
	assert.NotContains(t, page, "DECIDE")
	// Not before the cell that was not read was looked at.
	page = v.post("/draft/", url.Values{"do": {"go"}, "made": {made}})
	require.Contains(t, page, "1 cell was not read and not looked at yet")
	page = v.post("/draft/", url.Values{"do": {"seen"}, "made": {made}, "n": {"0"}})
	assert.NotContains(t, page, "not looked at yet")
	assert.NotContains(t, v.post("/draft/", url.Values{"do": {"go"}, "made": {made}}), "Paste a sheet")
}
