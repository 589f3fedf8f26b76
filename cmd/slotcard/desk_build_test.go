package main

import (
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/chromedp/kb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// counted presses keys one after another and counts them; what is typed as a name, or
// into the box of channels, is not a keystroke of the job.
type counted struct {
	*deskTab
	keys int
	said int // of them, at the last step
}

func (c *counted) hit(keys ...string) {
	c.t.Helper()
	for _, k := range keys {
		c.press(k)
		c.keys++
	}
}

// A five-engine initial attack on a known load, by keyboard alone, from a folder with
// the load and the station's file to the print dialog. The list is that of the command
// line for the same load.
func TestDeskInitialAttack(t *testing.T) {
	b := browse(t)
	c := &counted{deskTab: b}
	seats := ""
	for i := range 5 {
		seats += fmt.Sprintf("[[unit]]\nname = \"Engine 61%d\"\nkind = \"engine type 3\"\nseats = { \"Engine boss\" = 1, Firefighter = 2 }\n\n", i+1)
	}
	station := "[[position]]\nname = \"Engine boss\"\npriority = \"own\"\nscan = [\"command\"]\n\n[[position]]\nname = \"Firefighter\"\npriority = \"own\"\n\n" + seats
	require.NoError(t, os.WriteFile(filepath.Join(b.dir, "station.toml"), []byte(station), 0o644))
	b.to("/folder/")
	b.soon(`document.getElementById("live").textContent === "up to date with the file"`)
	c.hit("n")
	b.soon(`document.querySelector("input[name=fire]") !== null`)
	b.soon(`document.activeElement && document.activeElement.name === "fire"`)
	b.press("Dry Fork")
	c.hit(kb.Tab)
	b.press("QB-0500")
	c.hit(kb.Tab)
	b.press("J. Marsh, engine captain")
	// The example's load is not in effect before 2027: the clock of this computer cannot
	// be taken as it would be with the load of the year.
	is[bool](b, `document.querySelector("input[name=from]").value = "2027-07-01T02:40", true`)
	for range 20 {
		if is[bool](b, `document.activeElement.name === "sure"`) {
			break
		}
		c.hit(kb.Tab)
	}
	c.hit(" ")
	c.hit(kb.Enter)
	b.soon(`location.pathname === "/list/dry-fork/plan.toml" && document.querySelectorAll("[data-row]").length > 3`)
	text, err := os.ReadFile(filepath.Join(b.dir, "dry-fork", "plan.toml"))
	require.NoError(t, err)
	assert.Contains(t, string(text), `base = "../station.toml"`)
	require.NoFileExists(t, filepath.Join(b.dir, "dry-fork", "station.toml"))

	// A third tactical, by a part of its name, to division A.
	b.soon(`document.activeElement && document.activeElement.id === "q"`)
	rows := is[int](b, `document.querySelectorAll("[data-row]").length`)
	b.press("qb tac 5")
	b.soon(`document.querySelectorAll("[data-pick]").length > 0`)
	c.hit(kb.Enter)
	b.soon(fmt.Sprintf(`document.querySelectorAll("[data-row]").length === %d`, rows+1))
	// To the print dialog.
	b.soon(`document.querySelector('nav.views a[href^="/print/"]') !== null`)
	t.Logf("%d keystrokes beside the names from the folder to the plan that prints", c.keys)
	assert.LessOrEqual(t, c.keys, 40)
	var said lines
	status := run([]string{"print", filepath.Join(b.dir, "dry-fork", "plan.toml"), "-o", t.TempDir()}, nil, io.Discard, &said)
	require.Equal(t, exitFine, status, said.String())

	// The same data by the command line make the same list.
	other := filepath.Join(b.dir, "other")
	load := is[string](b, `fetch("/newfire/").then(r => r.text()).then(t => new DOMParser().parseFromString(t, "text/html").querySelector("input[name=load]").value)`)
	require.Equal(t, exitFine, run([]string{"new", "--load", filepath.Join(b.dir, filepath.FromSlash(load)), other}, nil, io.Discard, io.Discard))
	want, err := os.ReadFile(filepath.Join(other, "plan.toml"))
	require.NoError(t, err)
	slots := func(s string) string { return s[strings.Index(s, "[[slot]]"):strings.Index(s, "[[division]]")] }
	assert.Equal(t, slots(string(want)), slots(string(text)))

	// Rows move by keys, and one key takes it back.
	before, err := os.ReadFile(filepath.Join(b.dir, "dry-fork", "plan.toml"))
	require.NoError(t, err)
	second := func(pressed string) string {
		return fmt.Sprintf(`document.activeElement.dataset.i === "1" && document.activeElement.querySelector("[data-letter=Z]").getAttribute("aria-pressed") === %q`, pressed)
	}
	c.hit(kb.ArrowDown, kb.ArrowDown)
	b.soon(second("false"))
	c.hit("z")
	b.soon(second("true"))
	c.hit(kb.Delete)
	b.soon(fmt.Sprintf(`document.querySelectorAll("[data-row]").length === %d && document.activeElement.dataset.i === "1"`, rows))
	c.hit("u")
	b.soon(fmt.Sprintf(`document.querySelectorAll("[data-row]").length === %d`, rows+1))
	c.hit("u")
	b.soon(`document.querySelectorAll("[data-row]")[1].querySelector("[data-letter=Z]").getAttribute("aria-pressed") === "false"`)
	after, err := os.ReadFile(filepath.Join(b.dir, "dry-fork", "plan.toml"))
	require.NoError(t, err)
	assert.Equal(t, string(before), string(after))
	assert.Empty(t, b.elsewhere())
}
