package main

import (
	"io"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/net/html"
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
