package main

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A desk that is open for days: in two tabs, beside an editor, back and forth.
func TestDeskOverTime(t *testing.T) {
	b := browse(t)
	const list = "/list/thimble-gulch/plan.toml"
	file := filepath.Join(b.dir, "thimble-gulch", "plan.toml")
	b.to(list)
	ctx, cancel := chromedp.NewContext(b.ctx) // another tab of the same browser
	t.Cleanup(cancel)
	other := &deskTab{t: t, dir: b.dir, origin: b.origin, ctx: ctx}
	other.to(list)
	for _, tab := range []*deskTab{b, other} {
		tab.soon(`document.getElementById("live").textContent === "up to date with the file"`)
	}
	row := func(name string) string { return fmt.Sprintf(`document.getElementById("slot-%s") !== null`, name) }
	text := func() string {
		t.Helper()
		data, err := os.ReadFile(file)
		require.NoError(t, err)
		return string(data)
	}
	add := func(tab *deskTab, name string) {
		t.Helper()
		tab.soon(focused("#q"))
		tab.press(name)
		tab.soon(`document.querySelector("[data-pick]:not(:disabled)") !== null`)
		tab.press(kb.Enter)
	}

	// What one tab does, the other shows; both go on from there.
	add(b, "qb tac 7")
	b.soon(row("QB TAC 7"))
	other.soon(row("QB TAC 7"))
	add(other, "vfire22")
	other.soon(row("VFIRE22"))
	b.soon(row("VFIRE22"))

	// An editor saves while something is typed here: the page says so, what is typed
	// stays, and is added to what the editor wrote.
	b.soon(focused("#q"))
	b.press("vtac11")
	b.soon(`document.querySelector("[data-pick]:not(:disabled)") !== null`)
	edited := strings.ReplaceAll(text(), "Left flank, lower", "Left flank, by hand")
	require.NoError(t, os.WriteFile(file, []byte(edited), 0o644))
	b.soon(`document.getElementById("live").textContent.includes("what you typed here is not saved yet")`)
	assert.Equal(t, "vtac11", is[string](b, `document.getElementById("q").value`))
	b.press(kb.Enter)
	b.soon(row("VTAC11") + ` && document.getElementById("live").textContent === "up to date with the file"`)
	assert.Contains(t, text(), "Left flank, by hand")
	assert.Contains(t, text(), `"VTAC11"`)

	// A page that was asked for before a change comes after it: it is not shown.
	is[bool](b, `(() => {
		const real = window.fetch;
		window.held = [];
		window.fetch = async (...asked) => {
			const answer = await real(...asked);
			if (asked.some((a) => a && a.headers && new Headers(a.headers).has("X-Again"))) await new Promise((go) => held.push(go));
			return answer;
		};
		document.addEventListener("htmx:before:swap", (e) => { if (e.defaultPrevented) window.dropped = true; });
		return true;
	})()`)
	require.NoError(t, os.WriteFile(file, []byte(text()+"# by an editor\n"), 0o644))
	b.soon(`held.length === 1`)
	is[bool](b, `document.getElementById("slot-QB TAC 7").focus(), true`)
	b.press(kb.Delete)
	b.soon("!(" + row("QB TAC 7") + ")")
	is[bool](b, `held[0](), true`)
	b.soon("window.dropped && !(" + row("QB TAC 7") + ")")
	b.to(list)

	// The text of the file, typed over while an editor saved another: nothing is written,
	// and what was typed is still there.
	b.to("/file/thimble-gulch/plan.toml")
	b.soon(`document.getElementById("live").textContent === "up to date with the file"`)
	is[bool](b, `document.querySelector("textarea").focus(), document.querySelector("textarea").setSelectionRange(0, 0), true`)
	b.press("# typed here" + kb.Enter)
	byEditor := text() + "# by an editor\n"
	require.NoError(t, os.WriteFile(file, []byte(byEditor), 0o644))
	b.soon(`document.getElementById("live").textContent.includes("what you typed here is not saved yet")`)
	is[bool](b, `document.querySelector("main form button[value=save]").focus(), true`)
	b.press(kb.Enter)
	b.soon(`document.querySelector("[role=alert]") !== null`)
	assert.Contains(t, is[string](b, `document.querySelector("[role=alert]").textContent`), "has changed since this page showed it")
	assert.True(t, strings.HasPrefix(is[string](b, `document.querySelector("textarea").value`), "# typed here\n"))
	assert.Equal(t, byEditor, text())

	// Back and forth: a page that is come back to shows the file as it is.
	b.to(list)
	b.soon(`document.getElementById("live").textContent === "up to date with the file"`)
	b.do(chromedp.Click(`nav.views a[href^="/cards/"]`))
	b.soon(`location.pathname.startsWith("/cards/") && document.querySelector(".paper") !== null`)
	other.soon(`document.getElementById("slot-VTAC11") !== null`)
	is[bool](other, `document.querySelector("[id='slot-VFIRE22']").focus(), true`)
	other.press(kb.Delete)
	other.soon("!(" + row("VFIRE22") + ")")
	b.do(chromedp.NavigateBack())
	b.soon(fmt.Sprintf("location.pathname === %q && !(%s) && %s", list, row("VFIRE22"), row("VTAC11")))
	b.do(chromedp.NavigateForward())
	b.soon(`location.pathname.startsWith("/cards/") && document.querySelector(".paper") !== null`)

	// A stick that is pulled: said, with the last good cards; back again, it goes on.
	folder := filepath.Dir(file)
	require.NoError(t, os.Rename(folder, folder+"-away"))
	b.soon(`document.querySelector("main").textContent.includes("is not there any more") && document.querySelector(".paper") !== null`)
	require.NoError(t, os.Rename(folder+"-away", folder))
	b.soon(`!document.querySelector("main").textContent.includes("is not there any more") && document.querySelector(".paper") !== null`)
	b.to(list)
	add(b, "qb tac 5")
	b.soon(row("QB TAC 5"))
	assert.Empty(t, b.elsewhere())
}
