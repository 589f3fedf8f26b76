package main

import (
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"slotcard/cmd/internal/files"
	"slotcard/cmd/internal/voice"
	"slotcard/plan"
)

// focused is an expression that tells whether the focus is on what a selector means.
func focused(selector string) string {
	return fmt.Sprintf("document.activeElement.matches(%q)", selector)
}

// tabTo presses Tab until the focus is on what a selector means, and looks that it can
// be seen there: something is drawn around it that is not there without the focus.
func (c *counted) tabTo(selector string) {
	c.t.Helper()
	var way []string
	for range 150 {
		if is[bool](c.deskTab, focused(selector)) {
			ring := is[string](c.deskTab, `(e => { const s = getComputedStyle(e); return s.outlineStyle + " " + s.outlineWidth; })(document.activeElement)`)
			assert.NotContains(c.t, ring, "none", "the focus on %s is seen", selector)
			assert.NotContains(c.t, ring, " 0px", "the focus on %s is seen", selector)
			return
		}
		c.hit(kb.Tab)
		way = append(way, is[string](c.deskTab, `document.activeElement.outerHTML.slice(0, 70)`))
	}
	c.t.Fatalf("no tab leads to %s, but to\n%s", selector, strings.Join(way, "\n"))
}

// leave goes out of a box, where letters are typed.
func (c *counted) leave() {
	c.t.Helper()
	if is[bool](c.deskTab, focused("input:not([type=checkbox], [type=radio]), textarea, select")) {
		c.hit(kb.Escape)
	}
	c.soon("!" + focused("input:not([type=checkbox], [type=radio]), textarea, select"))
}

// view goes to another view of the file by the navigation.
func (c *counted) view(name string) {
	c.t.Helper()
	link, way := fmt.Sprintf("nav.views a[href^=%q]", "/"+name+"/"), kb.ArrowRight
	c.leave()
	c.hit("v")
	c.soon(focused("nav.views [aria-current]"))
	if is[bool](c.deskTab, fmt.Sprintf("!!(document.activeElement.compareDocumentPosition(document.querySelector(%q)) & Node.DOCUMENT_POSITION_PRECEDING)", link)) {
		way = kb.ArrowLeft
	}
	for range 20 {
		if is[bool](c.deskTab, focused(link)) {
			break
		}
		c.hit(way)
	}
	c.hit(kb.Enter)
	c.soon(fmt.Sprintf("location.pathname.startsWith(%q) && document.querySelector('nav.views [aria-current]').pathname === location.pathname", "/"+name+"/"))
}

// step says how many keys were pressed since the one before.
func (c *counted) step(name string) {
	c.t.Logf("%-14s %3d keys", name, c.keys-c.said)
	c.said = c.keys
}

// carried is what a plan is to those who carry its cards: lists, and what each seat
// talks on, gives priority to and scans.
func carried(t *testing.T, file string) string {
	t.Helper()
	r, found, err := (&app{voice: voice.New(io.Discard, io.Discard), reader: files.NewReader(t.Context(), nil)}).open(file)
	require.NoError(t, err)
	require.False(t, found.HasErrors(), found)
	var b strings.Builder
	for _, l := range r.Lists {
		fmt.Fprintln(&b, l.Text)
	}
	for _, d := range r.Plan.Divisions {
		fmt.Fprintln(&b, d.ID, d.Name, d.Supervisor, d.Functional, d.Beside)
	}
	for _, c := range r.Cards {
		fmt.Fprint(&b, c.Unit.Name, " ", c.Unit.Kind, " ", c.Unit.Team, " ", c.Unit.Division, " ", c.Position.Name, ":")
		for i, m := range c.Marks {
			if m != (plan.Mark{}) {
				fmt.Fprintf(&b, " %d%+v", i+1, m)
			}
		}
		fmt.Fprintln(&b)
	}
	return b.String()
}

// The whole job by keyboard alone, from an empty folder: the plan that comes of it is
// to those who carry its cards what the command line makes of the same data, written
// as a sheet and a roster; its papers are those of print, and the plans that follow it
// those of next and revise.
func TestDeskTenSteps(t *testing.T) {
	b := browseIn(t, func(*testing.T, string) {})
	c := &counted{deskTab: b}
	slotcard := func(args ...string) {
		t.Helper()
		var said lines
		require.Equal(t, exitFine, run(args, nil, io.Discard, &said), said.String())
	}
	type_ := func(texts ...string) { // names, field by field
		t.Helper()
		for i, s := range texts {
			if i > 0 {
				c.hit(kb.Tab)
			}
			b.press(s)
		}
	}
	file := filepath.Join(b.dir, "dry-fork", "plan.toml")
	rows := func(n int) string { return fmt.Sprintf(`document.querySelectorAll("[data-row]").length === %d`, n) }
	at := func(path string) string {
		return fmt.Sprintf("location.pathname === %q && !document.querySelector('.htmx-request')", path)
	}

	// Of nothing, an example load.
	c.tabTo(`main a[href="/new/"]`)
	c.hit(kb.Enter)
	b.soon(focused(`input[name="name"]`))
	b.press("a", chromedp.ModifierCtrl) // in place of the name that stands there
	c.keys++
	type_("station")
	c.hit(kb.Enter)
	b.soon(at("/cards/station/plan.toml"))
	c.tabTo(`nav.views a[href="/folder/"]`)
	c.hit(kb.Enter)
	b.soon(at("/folder/"))
	c.step("a load")

	c.hit("n")
	b.soon(focused(`input[name="fire"]`))
	type_("Dry Fork", "QB-0500", "J. Marsh, engine captain")
	c.tabTo(`input[name="from"]`)
	for _, part := range []string{"07", "01", "2027" + kb.ArrowRight, "02", "40", "A"} {
		c.hit(part)
	}
	assert.Equal(t, "2027-07-01T02:40", is[string](b, `document.activeElement.value`))
	c.tabTo(`input[name="sure"]`)
	c.hit(" ", kb.Enter)
	b.soon(at("/list/dry-fork/plan.toml") + "&&" + focused("#q"))
	c.step("new fire")

	b.press("vfire21")
	b.soon(`document.querySelector("[data-pick]") !== null`)
	c.hit(kb.Enter)
	b.soon(rows(7) + "&&" + focused("#q"))
	b.soon(`document.activeElement.value === ""`) // the next channel can be typed at once
	// To the row by arrows; a letter gives it to a division, and the row keeps the focus.
	row := func(name string) string { return fmt.Sprintf("[data-row][id=%q]", "slot-"+name) }
	for range 4 {
		c.hit(kb.ArrowDown)
	}
	b.soon(focused(row("VFIRE21")))
	c.hit("z")
	b.soon(`document.activeElement.querySelector("[data-letter=Z]").getAttribute("aria-pressed") === "true"`)
	b.soon(focused(row("VFIRE21")))
	b.press(kb.ArrowUp, chromedp.ModifierAlt) // before the other of Z
	c.keys++
	b.soon(focused(row("VFIRE21")) + ` && document.activeElement.dataset.i === "2"`)
	c.step("list")

	c.view("divisions")
	c.hit("/")
	type_("B", "Head", "P. Sorrel")
	c.hit(kb.Enter)
	b.soon(rows(3))
	b.soon(`[...document.querySelectorAll("form.typed input:not([type=checkbox])")].every((i) => i.value === "")`)
	c.hit(kb.ArrowUp)
	b.soon(focused("#division-B"))
	b.press(kb.ArrowUp, chromedp.ModifierAlt) // between A and Z
	c.keys++
	b.soon(focused(`#division-B`) + ` && document.activeElement.dataset.i === "1"`)
	c.hit("3")
	b.soon(focused("#division-B") + ` && document.activeElement.querySelector("[name=slot][value='2']").getAttribute("aria-pressed") === "true"`)
	c.step("divisions")

	c.view("roster")
	c.hit("/")
	type_("Engine 103", "engine type 6", "Strike team 100", "B", "", "1", "2")
	c.hit(kb.Enter)
	b.soon(`document.getElementById("unit-Engine 103") !== null`)
	b.soon(focused(`input[form=new][name=unit]`) + ` && document.activeElement.value === "" && document.getElementById("live").textContent === "up to date with the file"`)
	c.step("roster")

	c.view("listen")
	for range 4 { // into the page, to the first row, to the third
		c.hit(kb.ArrowDown)
	}
	b.soon(focused(`[id="listen-Firefighter"]`))
	c.hit("c")
	b.soon(focused(`[id="listen-Firefighter"]`) + ` && document.querySelector('[aria-label="Firefighter listens to command"]').getAttribute("aria-pressed") === "true"`)
	c.step("who listens")

	// The tactical of B is Z's, too: that is read, and mended at the list.
	c.view("findings")
	b.soon(`document.querySelector(".open .said").textContent.includes("neighbors division B and division Z both work on VFIRE21")`)
	c.view("list")
	b.soon(focused("#q"))
	for range 3 {
		c.hit(kb.ArrowDown)
	}
	b.soon(focused(row("VFIRE21")))
	c.hit("z")
	b.soon(focused(row("VFIRE21")) + ` && document.activeElement.querySelector("[data-letter=Z]").getAttribute("aria-pressed") === "false"`)
	c.view("findings")
	b.soon(`document.querySelector(".group.errors") === null`)
	c.step("findings")

	c.view("print")
	b.soon(`document.querySelector(".counts .row") !== null`)
	c.hit("s")
	b.soon(`document.querySelector(".say.fine") !== null`)
	c.step("print")
	printed := filepath.Join(t.TempDir(), "out")
	slotcard("print", file, "-o", printed)
	for _, name := range []string{"cards.pdf", "wall.pdf", "handout.pdf"} {
		want, err := os.ReadFile(filepath.Join(printed, name))
		require.NoError(t, err)
		got, err := os.ReadFile(filepath.Join(b.dir, "dry-fork", "out", name))
		require.NoError(t, err)
		assert.True(t, string(want) == string(got), "%s is that of print", name)
	}

	// A change at half past three: division A moves to another tactical.
	c.view("revise")
	c.hit("a")
	is[bool](b, `document.activeElement.select(), true`) // the clock of this machine is not within the period
	b.press("03:30")
	c.hit(kb.Enter)
	b.soon(`location.pathname.startsWith("/revise/dry-fork/period-1-rev")`)
	revision := filepath.Join(b.dir, filepath.FromSlash(strings.TrimPrefix(is[string](b, "location.pathname"), "/revise/")))
	same := func(made string, args ...string) {
		t.Helper()
		byHand := strings.TrimSuffix(made, ".toml") + "-by-hand.toml"
		slotcard(append(args, "-o", byHand)...)
		want, err := os.ReadFile(byHand)
		require.NoError(t, err)
		got, err := os.ReadFile(made)
		require.NoError(t, err)
		require.Equal(t, string(want), string(got))
		require.NoError(t, os.Remove(byHand))
	}
	same(revision, "revise", file, "--at=03:30")
	c.view("list")
	b.soon(focused("#q"))
	b.press("vfire22")
	b.soon(`document.querySelector("[data-pick]:not(:disabled)") !== null`)
	c.hit(kb.Enter)
	b.soon(rows(8) + ` && document.querySelector("[data-pick]") === null`)
	for range 2 {
		c.hit(kb.ArrowDown)
	}
	b.soon(focused(row("EX TAC 1")))
	c.hit(kb.Delete)
	b.soon(rows(7) + "&&" + focused(row("VFIRE21"))) // the row that stands in its place
	for range 2 {
		c.hit(kb.ArrowDown)
	}
	b.soon(focused(row("VFIRE22")))
	c.hit("a")
	b.soon(focused(row("VFIRE22")) + ` && document.activeElement.querySelector("[data-letter=A]").getAttribute("aria-pressed") === "true"`)
	c.view("compare")
	b.soon(`document.querySelector(".words") !== null`)
	var diff lines
	require.Equal(t, exitFindings, run([]string{"diff", file, revision}, nil, &diff, io.Discard))
	assert.Contains(t, diff.String(), "VFIRE22")
	assert.Equal(t, strings.TrimSpace(diff.String()), strings.TrimSpace(is[string](b, `document.querySelector(".words").textContent`)))
	c.step("change now")

	c.view("next")
	c.hit(kb.ArrowDown)
	c.tabTo(`input[name="name"]`)
	c.hit(kb.Enter)
	b.soon(at("/file/dry-fork/period-2.toml"))
	same(filepath.Join(b.dir, "dry-fork", "period-2.toml"), "next", revision)
	c.step("next period")

	c.tabTo(`nav.views a[href="/folder/"]`)
	c.hit(kb.Enter)
	b.soon(at("/folder/"))
	c.tabTo(`a.row[href="/cards/dry-fork/plan.toml"]`)
	c.hit(kb.Enter)
	b.soon(at("/cards/dry-fork/plan.toml"))
	c.view("prove")
	list := deskList(t, file)
	c.hit("c")
	b.press(list[len(list)-4:])
	c.hit(kb.Enter)
	b.soon(`document.querySelector(".proof.fine") !== null`)
	c.step("prove it")
	t.Logf("%d keys beside the names in all", c.keys)
	assert.Empty(t, b.elsewhere())

	// The same data by the command line: a sheet of the list, a roster, and what does
	// not stand on a sheet, as a plan before.
	other := filepath.Join(b.dir, "other")
	require.NoError(t, os.Mkdir(other, 0o755))
	for name, text := range map[string]string{
		"sheet.csv": `Incident Name,Dry Fork
Operational Period,From 07/01/2027 02:40 to 07/01/2027 14:40
Ch #,Function,Channel Name,Assignment,RX Freq,RX Tone,TX Freq,TX Tone,Mode,Remarks
1,Command,EX CMD 1,,152.4125,103.5,157.6725,146.2,A,
2,Tactical,EX TAC 1,Division A,153.7400,,153.7400,,A,
3,Tactical,VFIRE21,Division B,154.2800,,154.2800,156.7,A,
4,Tactical,EX TAC 2,Division Z,154.9500,,154.9500,,A,
5,Air-to-Ground,EX AG 1,,151.8575,,151.8575,,A,
6,Medical,EX MED,,153.0125,,153.0125,,A,
7,Guard,AIRGUARD,,168.6250,,168.6250,110.9,A,
`,
		"roster.csv": `Unit,Kind,Team,Division,Incident commander,Engine boss,Firefighter
Chief 100,overhead,,,1,,
Engine 101,engine type 3,Strike team 100,A,,1,3
Engine 102,engine type 3,Strike team 100,Z,,1,3
Engine 103,engine type 6,Strike team 100,B,,1,2
`,
		"before.toml": `load = "../station/load.toml"
[incident]
name = "Dry Fork"
number = "QB-0500"
period = 1
from = 2027-06-30T02:40:00-06:00
to = 2027-06-30T14:40:00-06:00
prepared_by = "J. Marsh"
prepared_at = 2027-06-30T02:40:00-06:00
aircraft = false
instructions = "Medical: call command and say MEDICAL, then move to {medical}."
[[slot]]
channel = "EX CMD 1"
site = "North Top"
[[slot]]
channel = "EX TAC 1"
division = "A"
[[slot]]
channel = "EX TAC 2"
division = "B"
[[slot]]
channel = "VFIRE22"
division = "Z"
[[slot]]
channel = "EX MED"
[[slot]]
channel = "AIRGUARD"
[[division]]
id = "A"
name = "Left flank"
[[division]]
id = "B"
name = "Head"
supervisor = "P. Sorrel"
[[division]]
id = "Z"
name = "Right flank"
[[position]]
name = "Incident commander"
priority = "command"
scan = ["tactical", "air-to-ground"]
[[position]]
name = "Engine boss"
priority = "own"
scan = ["neighbors", "command"]
[[position]]
name = "Firefighter"
priority = "own"
scan = ["command"]
[[unit]]
name = "Chief 100"
seats = { "Incident commander" = 1 }
[[unit]]
name = "Engine 101"
division = "A"
seats = { Firefighter = 1 }
[[unit]]
name = "Engine 102"
division = "Z"
seats = { Firefighter = 1 }
[[unit]]
name = "Engine 103"
division = "B"
seats = { Firefighter = 1 }
[[also]]
channel = "EX TRAV 27"
when = "on the road"
[[also]]
channel = "EX DISP"
when = "to reach the dispatcher"
`} {
		require.NoError(t, os.WriteFile(filepath.Join(other, name), []byte(text), 0o644))
	}
	byHand := filepath.Join(other, "plan.toml")
	slotcard("draft", filepath.Join(b.dir, "station", "load.toml"), filepath.Join(other, "sheet.csv"), "--keep", filepath.Join(other, "before.toml"),
		"--roster", filepath.Join(other, "roster.csv"), "--period=1", "--offset=-06:00", "--number=QB-0500", "--prepared-by=J. Marsh, engine captain",
		"--prepared-at=2027-07-01T02:40-06:00", "--aircraft", "--exercise=false", "-o", byHand)
	assert.Equal(t, carried(t, byHand), carried(t, file))
	require.Equal(t, exitFine, run([]string{"diff", byHand, file}, nil, io.Discard, io.Discard))
}
