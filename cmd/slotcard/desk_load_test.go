package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"html"
	"io"
	"mime/multipart"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The box of a load answers as find does.
func TestDeskFinds(t *testing.T) {
	dir, v := visit(t)
	const load = "thimble-gulch/load.toml"
	places := regexp.MustCompile(`data-pick [^>]*><span class="code">([0-9]+-[0-9]+)</span>`)
	for _, query := range []string{"qb cmd 1", "vtac", "154.28", "152.4125/157.6725", "tone 4", "bellwether command", "3-07", "154.256", "edition", "nothing like this"} {
		var out bytes.Buffer
		run([]string{"find", "--json", filepath.Join(dir, filepath.FromSlash(load)), query}, nil, &out, io.Discard)
		type channel struct {
			Place string `json:"place"`
			Why   string `json:"why"`
		}
		var doc struct {
			Exact, Near []channel
			Notes       []string
			Edition     struct {
				ShownBy []channel `json:"shown_by"`
			}
		}
		require.NoError(t, json.Unmarshal(out.Bytes(), &doc))
		page := html.UnescapeString(v.get("/load/" + load + "?q=" + url.QueryEscape(query)))
		var want, got []string
		for i, c := range append(append(doc.Exact, doc.Edition.ShownBy...), doc.Near...) {
			if i < len(doc.Exact)+len(doc.Edition.ShownBy)+8 {
				want = append(want, c.Place)
			}
			assert.Contains(t, strings.ToLower(page), strings.ToLower(c.Why), query)
		}
		for _, m := range places.FindAllStringSubmatch(page, -1) {
			got = append(got, m[1])
		}
		assert.Equal(t, want, got, query)
	}
}

func (v *visitor) sheet(path, name string, data []byte) string {
	v.t.Helper()
	var b bytes.Buffer
	form := multipart.NewWriter(&b)
	require.NoError(v.t, form.WriteField("do", "read"))
	w, err := form.CreateFormFile("file", name)
	require.NoError(v.t, err)
	_, err = w.Write(data)
	require.NoError(v.t, err)
	require.NoError(v.t, form.Close())
	return html.UnescapeString(v.read(v.client.Post(v.origin+path, form.FormDataContentType(), &b)))
}

// A channel list becomes the load that import makes of it, byte by byte, also where
// somebody says what a column holds.
func TestDeskImports(t *testing.T) {
	lists, err := filepath.Abs(filepath.Join("..", "..", "testdata", "lists"))
	require.NoError(t, err)
	dir, v := visit(t)
	for name, c := range map[string]struct {
		flags []string
		form  url.Values
	}{
		"quillback.xlsx": {[]string{"--edition", "2028", "--name", "Quillback Range cooperators", "--list-positions", "16", "--effective", "2028-03-01"},
			url.Values{"edition": {"2028"}, "name": {"Quillback Range cooperators"}, "positions": {"16"}, "effective": {"2028-03-01"}}},
		"four.ods":          {nil, url.Values{}},
		"four.pdf":          {nil, url.Values{}},
		"two-agencies.xlsx": {nil, url.Values{}},
		"hobnail.csv":       {[]string{"--map", "Zone=-"}, url.Values{"map": {"", "Zone=-"}}},
		"quillback.txt":     {[]string{"--since", filepath.Join(dir, "thimble-gulch", "load.toml")}, url.Values{"since": {"thimble-gulch/load.toml"}}},
	} {
		data, err := os.ReadFile(filepath.Join(lists, name))
		require.NoError(t, err)
		page := v.sheet("/import/", name, data)
		assert.Contains(t, page, "→ name", name)
		assert.Contains(t, page, "→ rx", name)
		want := filepath.Join(t.TempDir(), "load.toml")
		require.Equal(t, exitFine, run(append([]string{"import", filepath.Join(lists, name), "-o", want}, c.flags...), strings.NewReader(""), io.Discard, io.Discard), name)
		c.form.Set("do", "import")
		c.form.Set("made", value(t, page, "made"))
		page = html.UnescapeString(v.post("/import/", c.form)) // looked at again
		for _, m := range c.form["map"] {
			assert.Contains(t, page, `value="`+m+`"`, name)
		}
		c.form.Set("write", "1")
		c.form.Set("file", "made-"+strings.ReplaceAll(name, ".", "-"))
		page = v.post("/import/", c.form)
		assert.Contains(t, page, "Group 1", name)
		expected, err := os.ReadFile(want)
		require.NoError(t, err)
		got, err := os.ReadFile(filepath.Join(dir, c.form.Get("file")+".toml"))
		require.NoError(t, err)
		assert.Equal(t, string(expected), string(got), name)
		// Never over one that is there.
		again, err := v.client.PostForm(v.origin+"/import/", c.form)
		require.NoError(t, err)
		again.Body.Close()
		assert.Equal(t, http.StatusUnprocessableEntity, again.StatusCode, name)
	}
	// Of two tables with the same titles, a column holds something else in one of them.
	data, err := os.ReadFile(filepath.Join(lists, "two-agencies.xlsx"))
	require.NoError(t, err)
	made := value(t, v.sheet("/import/", "two-agencies.xlsx", data), "made")
	said := "two-agencies.xlsx\tQuillback\t1\tNote=use"
	both := url.Values{"do": {"import"}, "made": {made}, "map": {said}, "file": {"two"}}
	assert.Contains(t, html.UnescapeString(v.post("/import/", both)), `value="`+said+`" selected`)
	both.Set("write", "1")
	v.post("/import/", both)
	two, err := os.ReadFile(filepath.Join(dir, "two.toml"))
	require.NoError(t, err)
	assert.Regexp(t, `name = "QB TAC 1", use = "tactical"`, string(two))
	assert.NotContains(t, string(two), `remarks = "Tactical"`)
	assert.Contains(t, string(two), `remarks = "Guard the old mill"`, "the other table is as it was")

	// Cells as a spreadsheet copies them: tabs between, one with a line break in quotes
	// (as LibreOffice Calc and others write it; from memory).
	page := html.UnescapeString(v.post("/import/", url.Values{"do": {"read"}, "text": {"Name\tRX\tRemarks\r\nQB TAC 1\t153.7400\t\"in the\nvalley\"\r\nQB TAC 2\t154.9500\t\r\n"}}))
	assert.Contains(t, page, "2 channels in 1 group")
	assert.Contains(t, page, "in the valley")
	// Pasted cells, and what is no list.
	page = html.UnescapeString(v.post("/import/", url.Values{"do": {"read"}, "text": {"Name\tRX\tTX\tMystery\nQB TAC 1\t153.7400\t\tx\nQB TAC 2\t154.9500\t\ty\n"}}))
	assert.Contains(t, page, "2 channels in 1 group")
	assert.Contains(t, page, "Not read")
	for _, text := range []string{"", "just words\n", "[load]\nname = \"x\"\n[[group]]\nnumber = 1\n"} {
		r, err := v.client.PostForm(v.origin+"/import/", url.Values{"do": {"read"}, "text": {text}})
		require.NoError(t, err)
		r.Body.Close()
		assert.Equal(t, http.StatusUnprocessableEntity, r.StatusCode, text)
	}
}

// lastYear is the example's load as it may have been a year before.
func lastYear(t *testing.T, dir string) []byte {
	t.Helper()
	text, err := os.ReadFile(filepath.Join(dir, "thimble-gulch", "load.toml"))
	require.NoError(t, err)
	return []byte(strings.NewReplacer(`"2027"`, `"2026"`, "2027-03-01", "2026-03-01", "2028-03-31", "2027-02-28", "QB TRAV 27", "QB TRAV 26", "158.7825", "158.7900", "\nhz     = 118.8", "\nhz     = 107.2").Replace(string(text)))
}

// Two loads are compared in the words of diff, last year's by itself.
func TestDeskComparesLoads(t *testing.T) {
	dir, v := visit(t)
	old := filepath.Join(dir, "thimble-gulch", "load-2026.toml")
	require.NoError(t, os.WriteFile(old, lastYear(t, dir), 0o644))
	var out bytes.Buffer
	require.Equal(t, exitFindings, run([]string{"diff", old, filepath.Join(dir, "thimble-gulch", "load.toml"), "--json"}, nil, &out, io.Discard))
	var doc struct {
		Load     []string
		Channels []struct{ Says string }
	}
	require.NoError(t, json.Unmarshal(out.Bytes(), &doc))
	require.Len(t, doc.Channels, 2)
	require.Len(t, doc.Load, 4)
	page := html.UnescapeString(v.get("/since/thimble-gulch/load.toml"))
	for _, c := range doc.Channels {
		assert.Contains(t, page, c.Says)
	}
	for _, l := range doc.Load {
		assert.Contains(t, strings.ToLower(page), strings.ToLower(l))
	}
	page = html.UnescapeString(v.get("/since/thimble-gulch/load-2026.toml"))
	assert.Contains(t, page, "No other load of this folder took effect before this one")
}

// A channel is looked up, changed, moved and put back by keys alone.
func TestDeskLoadByKeyboard(t *testing.T) {
	b := browse(t)
	file := filepath.Join(b.dir, "thimble-gulch", "load.toml")
	text := func() string {
		data, err := os.ReadFile(file)
		require.NoError(t, err)
		return string(data)
	}
	first := text()
	told := func() { b.do(chromedp.Sleep(700 * time.Millisecond)) } // the page is told of the change, and comes anew
	b.to("/folder/")
	for range 60 {
		if is[bool](b, `document.activeElement.matches('a.row[href="/load/thimble-gulch/load.toml"]')`) {
			break
		}
		b.press(kb.Tab)
	}
	b.press(kb.Enter)
	b.soon(`document.activeElement.id === "q" && document.querySelectorAll(".channels > li").length === 16`)
	b.press("qb tac 7")
	b.soon(`document.querySelectorAll(".channels > li").length === 1`)
	b.press(kb.ArrowDown)
	b.soon(`document.activeElement.matches("[data-pick]")`)
	b.press(kb.Enter)
	b.soon(`document.activeElement.name === "called"`)
	b.press(kb.End + "7" + kb.Enter)
	b.soon(`document.querySelector(".channel-form") === null`)
	require.Equal(t, strings.Replace(first, `"QB TAC 7"`, `"QB TAC 77"`, 1), text())
	b.soon(`document.activeElement.matches("[data-pick]")`)
	told()
	b.press("u")
	b.soon(`document.querySelector(".channels b").textContent === "QB TAC 7" && document.querySelectorAll(".channels > li").length === 1`)
	require.Equal(t, first, text())
	told()
	// Escape closes a form.
	b.to("/load/thimble-gulch/load.toml?edit=9")
	b.soon(`document.activeElement.name === "called"`)
	b.press(kb.Escape)
	b.soon(`document.querySelector(".channel-form") === null && document.activeElement.matches('[data-pick][data-i="9"]')`)
	// Down in its group with Alt: nothing names these two by their place.
	b.to("/load/thimble-gulch/load.toml")
	b.soon(`document.activeElement.id === "q"`)
	b.press(kb.ArrowDown)
	b.soon(`document.activeElement.matches('[data-pick][data-i="0"]')`)
	b.do(chromedp.KeyEvent(kb.ArrowDown, chromedp.KeyModifiers(chromedp.ModifierAlt)))
	b.soon(`document.querySelectorAll(".channels b")[1].textContent === "QB CMD 1" && document.activeElement.matches('[data-pick][data-i="1"]')`)
	require.NotEqual(t, first, text())
	told()
	b.soon(`document.activeElement.matches('[data-pick][data-i="1"]')`)
	b.do(chromedp.KeyEvent(kb.ArrowUp, chromedp.KeyModifiers(chromedp.ModifierAlt)))
	b.soon(`document.querySelectorAll(".channels b")[0].textContent === "QB CMD 1" && document.activeElement.matches('[data-pick][data-i="0"]')`)
	require.Equal(t, first, text())
	told()
	// One that plans have stays until somebody ticks it.
	b.soon(`document.activeElement.matches('[data-pick][data-i="0"]')`)
	for i := range 4 {
		b.press(kb.ArrowDown)
		b.soon(fmt.Sprintf(`document.activeElement.matches('[data-pick][data-i="%d"]')`, i+1))
	}
	b.press(kb.Delete)
	b.soon(`document.querySelector('[role="alert"]') !== null && document.querySelector('[name="sure"]') !== null`)
	require.Equal(t, first, text())

	// A list is pasted, a column is connected otherwise, and a load comes of it.
	b.to("/import/")
	is[bool](b, `document.querySelector("textarea").value = "Name\tRX\tTX\tMystery\nQB TAC 1\t153.7400\t153.7400\tone\nQB TAC 2\t154.9500\t154.9500\ttwo\n", document.querySelector("textarea").focus(), true`)
	b.press(kb.Tab + kb.Enter)
	b.soon(`document.querySelectorAll("select[name=map]").length === 4 && document.querySelectorAll(".taken .unread").length === 1`)
	is[bool](b, `document.querySelectorAll("select[name=map]")[3].focus(), true`)
	b.press("rem") // as a person types in a list of choices
	b.soon(`document.querySelectorAll(".taken td")[3].textContent.includes("→ remarks")`)
	is[bool](b, `document.querySelector("input[name=file]").focus(), true`)
	b.press("typed-list" + kb.Tab + kb.Enter)
	b.soon(`location.pathname === "/load/typed-list.toml" && document.querySelector("details.itself").open`)
	made, err := os.ReadFile(filepath.Join(b.dir, "typed-list.toml"))
	require.NoError(t, err)
	assert.Contains(t, string(made), `name = "QB TAC 1", use = "tactical", rx = 153.7400, remarks = "one"`)
	if dir := os.Getenv(shotsEnv); dir != "" {
		png, err := chromedp.Run(b.ctx, chromedp.FullScreenshot(100))
		require.NoError(t, err)
		require.NoError(t, os.WriteFile(filepath.Join(dir, "load-made.png"), png, 0o644))
	}
	assert.Empty(t, b.elsewhere())
}
