package main

import (
	"fmt"
	"io"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/chromedp/chromedp/kb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/net/html"

	"slotcard/layout/words"
)

// fieldsOf are the names of what can be typed, ticked or chosen in the main part of a
// page, as their help is found; and helpsOf what is said about each.
func fieldsOf(t *testing.T, page string) (fields []string, helps map[string]string) {
	t.Helper()
	root, err := html.Parse(strings.NewReader(page))
	require.NoError(t, err)
	helps = map[string]string{}
	numbered := regexp.MustCompile(`[0-9]+$`)
	for n := range root.Descendants() {
		if n.Type != html.ElementNode {
			continue
		}
		attr := map[string]string{}
		for _, a := range n.Attr {
			attr[a.Key] = a.Val
		}
		if of, ok := attr["data-help-of"]; ok {
			var text strings.Builder
			for in := range n.Descendants() {
				if in.Type == html.TextNode && in.Parent.Data != "dt" {
					text.WriteString(in.Data)
				}
			}
			helps[of] = strings.TrimSpace(text.String())
		}
		if n.Data != "input" && n.Data != "select" && n.Data != "textarea" || attr["type"] == "hidden" {
			continue
		}
		name := attr["name"]
		if h, ok := attr["data-help"]; ok {
			name = h
		}
		if name = numbered.ReplaceAllString(name, ""); name != "" {
			fields = append(fields, name)
		}
	}
	return fields, helps
}

// Every field of every screen says what the trade means by it. A view with a new field
// names in help.go of the desk the key, the flag or the rule that it belongs to.
func TestDeskHelps(t *testing.T) {
	_, v := visit(t)
	all := 0
	for name, path := range screens {
		if strings.Contains(path, "broken.toml") {
			continue // written by the test of the screens
		}
		fields, helps := fieldsOf(t, v.get(path))
		for _, f := range fields {
			assert.NotEmpty(t, helps[f], "%s: the field %s has no help: say in help.go of the desk where it comes from", name, f)
		}
		for f, text := range helps {
			assert.NotEmpty(t, text, "%s: the help of %s is empty", name, f)
			assert.NotContains(t, text, "--", "%s: the help of %s speaks of flags", name, f)
		}
		all += len(fields)
	}
	assert.Greater(t, all, 100)
	// The words are those of the file's keys, and of the catalogue of rules.
	_, helps := fieldsOf(t, v.get("/incident/thimble-gulch/plan.toml"))
	assert.Contains(t, helps["contact"], "How to reach the communications unit, such as a phone number.")
	assert.Contains(t, helps["to"], "An operational period is no longer than 24 hours.")
}

// The fields of the incident are edits of the file: what is not changed stays byte for
// byte, what is refused changes nothing, and what the checks say stands at the field.
func TestDeskIncident(t *testing.T) {
	dir, v := visit(t)
	const at = "/incident/thimble-gulch/plan.toml"
	file := filepath.Join(dir, "thimble-gulch", "plan.toml")
	read := func() string {
		text, err := os.ReadFile(file)
		require.NoError(t, err)
		return string(text)
	}
	first := read()
	// As a browser sends the form: every field as the page has it, but for the changes.
	send := func(changes map[string]string) (string, int) {
		root, err := html.Parse(strings.NewReader(v.get(at)))
		require.NoError(t, err)
		form := url.Values{"do": {"set"}}
		for n := range root.Descendants() {
			attr := map[string]string{}
			for _, a := range n.Attr {
				attr[a.Key] = a.Val
			}
			switch {
			case n.Data == "textarea" && n.FirstChild != nil:
				attr["value"] = n.FirstChild.Data
			case n.Data == "textarea":
			case n.Data != "input":
				continue
			}
			_, checked := attr["checked"]
			if attr["name"] != "" && (attr["type"] != "checkbox" || checked) {
				form.Set(attr["name"], attr["value"])
			}
		}
		for k, s := range changes {
			form.Set(k, s)
		}
		r, err := v.client.PostForm(v.origin+at, form)
		require.NoError(t, err)
		defer r.Body.Close()
		data, err := io.ReadAll(r.Body)
		require.NoError(t, err)
		return string(data), r.StatusCode
	}
	_, status := send(nil)
	assert.Equal(t, 200, status)
	assert.Equal(t, first, read(), "nothing was changed, nothing is written")
	_, status = send(map[string]string{"contact": "base, 555-0142", "aircraft": ""})
	assert.Equal(t, 200, status)
	lines := func(s string) map[string]bool {
		all := map[string]bool{}
		for _, l := range strings.Split(s, "\n") {
			all[l] = true
		}
		return all
	}
	now := lines(read())
	lost := 0
	for l := range lines(first) {
		if !now[l] {
			lost++
			assert.Regexp(t, `^(contact|aircraft) `, l)
		}
	}
	assert.NotZero(t, lost)
	assert.Contains(t, read(), `"base, 555-0142"`)
	before := read()
	page, status := send(map[string]string{"to": "yesterday", "number": "typed"})
	assert.Equal(t, 422, status)
	assert.Contains(t, page, "is no time: write day and time")
	assert.Contains(t, page, `value="typed"`, "what was typed is still there")
	page, status = send(map[string]string{"name": ""})
	assert.Equal(t, 422, status)
	assert.Contains(t, page, "a plan must say that")
	assert.Equal(t, before, read())
	page, status = send(map[string]string{"to": "2027-01-01T00:00"})
	assert.Equal(t, 200, status)
	assert.Regexp(t, `(?s)name="to" value="2027-01-01T00:00".*?class="at-row error"`, page)
}

// calcCells is how LibreOffice Calc puts two cells by two rows on the clipboard as HTML,
// one with a line break in it (its filter for HTML; from memory).
const calcCells = `<!DOCTYPE HTML PUBLIC "-//W3C//DTD HTML 4.0 Transitional//EN"><html><head><meta http-equiv="content-type" content="text/html; charset=utf-8"/><meta name="generator" content="LibreOffice"/></head>
<body text="#000000"><table cellspacing="0" border="0"><colgroup span="2" width="85"></colgroup>
<tr><td height="17" align="left">engine type 4</td><td align="left">ST<br>9100C</td></tr>
<tr><td height="17" align="left">engine type 6</td><td align="left"></td></tr></table></body></html>`

// The roster by keys, and cells from a spreadsheet and to it.
func TestDeskRosterCells(t *testing.T) {
	b := browse(t)
	b.to("/roster/thimble-gulch/plan.toml")
	b.soon(`document.getElementById("live").textContent === "up to date with the file"`)
	cell := func(row, column int) string {
		return fmt.Sprintf(`document.querySelectorAll("[data-row]")[%d].querySelector('[data-col="%d"]')`, row, column)
	}
	key := func(on, key, more string) {
		t.Helper()
		is[bool](b, fmt.Sprintf(`(() => { const e = %s; e.focus(); e.dispatchEvent(new KeyboardEvent("keydown", {key: %q, bubbles: true, cancelable: true, %s})); return true })()`, on, key, more))
	}
	// Help stands below the row, and the same key takes it away.
	is[bool](b, cell(0, 1)+`.focus(), true`)
	b.press(kb.F1)
	b.soon(cell(0, 1) + `.closest("tr").nextElementSibling.textContent.includes("Kind and type, such as engine type 3.")`)
	b.press(kb.F1)
	b.soon(`document.getElementById("help-text") === null`)

	key(`document.querySelectorAll("[data-row]")[0]`, "m", "")
	b.soon(cell(0, 3) + `.value === "M"`)
	first, second := is[string](b, cell(0, 0)+`.value`), is[string](b, cell(1, 0)+`.value`)
	key(cell(0, 0), "ArrowDown", "altKey: true")
	b.soon(cell(0, 0) + fmt.Sprintf(`.value === %q && `, second) + cell(1, 0) + fmt.Sprintf(`.value === %q`, first))

	is[bool](b, fmt.Sprintf(`(() => { const d = new DataTransfer(); d.setData("text/html", %q); d.setData("text/plain", "engine type 4\t\"ST\n9100C\"\nengine type 6\t\n");
		const e = %s; e.focus(); e.dispatchEvent(new ClipboardEvent("paste", {clipboardData: d, bubbles: true, cancelable: true})); return true })()`, calcCells, cell(0, 1)))
	b.soon(cell(0, 2) + `.value === "ST 9100C" && ` + cell(1, 1) + `.value === "engine type 6" && ` + cell(1, 2) + `.value === ""`)
	assert.Equal(t, []string{second, first}, []string{is[string](b, cell(0, 0)+`.value`), is[string](b, cell(1, 0)+`.value`)})

	// What is copied can be pasted: as text with tabs, and as a table.
	is[bool](b, `navigator.clipboard.write = (items) => { window.taken = items[0]; return Promise.resolve() }, true`)
	key(`document.querySelectorAll("[data-row]")[0]`, "c", "ctrlKey: true")
	text := is[string](b, `window.taken.getType("text/plain").then(t => t.text())`)
	assert.True(t, strings.HasPrefix(text, second+"\tengine type 4\tST 9100C\t"), text)
	is[bool](b, `document.querySelector("[data-copy]").click(), true`)
	text = is[string](b, `window.taken.getType("text/plain").then(t => t.text())`)
	assert.True(t, strings.HasPrefix(text, "Unit\tKind\tTeam\tDivision\t"), text)
	assert.Equal(t, is[int](b, `document.querySelectorAll("[data-row]").length`)+1, strings.Count(text, "\n"))
	table := is[string](b, `window.taken.getType("text/html").then(t => t.text())`)
	assert.Contains(t, table, "<td>ST 9100C</td>")
	assert.Empty(t, b.elsewhere())
}

// The page for a first-time user is offered in the folder, one sheet of paper in each
// language; poppler reads the ten steps and the caution from it, in the order in which
// they are drawn.
func TestDeskTour(t *testing.T) {
	program, err := exec.LookPath("pdftotext")
	if err != nil {
		if os.Getenv("SLOTCARD_SECOND_OPINIONS") != "" {
			t.Fatal("pdftotext is not here: a second opinion is missing")
		}
		t.Skip("without poppler, the page is not read")
	}
	dir, v := visit(t)
	offered := regexp.MustCompile(`href="(/folder/\?part=tour[^"]*)"`).FindAllStringSubmatch(v.get("/folder/"), -1)
	require.Len(t, offered, 4)
	languages := words.Languages()
	for _, link := range offered {
		address := html.UnescapeString(link[1])
		file := filepath.Join(dir, "tour.pdf")
		require.NoError(t, os.WriteFile(file, []byte(v.get(address)), 0o644))
		out, err := exec.Command(program, "-raw", file, "-").Output()
		require.NoError(t, err, address)
		assert.Equal(t, 1, strings.Count(string(out), "\f"), "%s is one page", address)
		text := strings.Join(strings.Fields(string(out)), " ")
		tag := languages[0]
		if _, asked, ok := strings.Cut(address, "language="); ok {
			tag = asked
		}
		l, ok := words.Speak(tag)
		require.True(t, ok, tag)
		for i, what := range l.Tour.What {
			assert.Contains(t, text, what, "%s, step %d", address, i+1)
		}
		assert.Contains(t, text, l.Tour.Care)
		assert.Contains(t, text, "Who listens")
	}
}
