package edit_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/BurntSushi/toml"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"slotcard/plan/edit"
	"slotcard/plan/tomlfile"
)

// text draws a TOML file of tables, some of them several, with comments, blank
// lines, braces, dotted keys and values of several lines between.
func text(t *rapid.T) string {
	var b strings.Builder
	draw := func(label string, of ...string) string { return rapid.SampledFrom(of).Draw(t, label) }
	filler := func() {
		for range rapid.IntRange(0, 2).Draw(t, "filler") {
			b.WriteString(draw("line", "", "", "# é remark", "  # x = 1", "\t"))
			b.WriteString("\n")
		}
	}
	keys := func() {
		for _, key := range []string{"a", "b", "\"c d\"", "e.f", "e.g"} {
			if !rapid.Bool().Draw(t, key) {
				continue
			}
			fmt.Fprintf(&b, "%s%s%s= %s%s\n", draw("indent", "", "", "  "), key, draw("space", " ", "   "),
				draw("value", "1", "1.5", `"text # no remark"`, "'x'", "true", "2027-08-14T06:00:00-06:00", "[]", "[1, 2,3]", "[\n  1, # one\n  2,\n]",
					"{}", `{ x = 1, "y z" = [1], w.v = 2 }`, "\"\"\"\n# no comment\n[no.header]\n\"\"\""), draw("remark", "", "  # remark"))
			filler()
		}
	}
	filler()
	keys()
	for i := range rapid.IntRange(0, 6).Draw(t, "tables") {
		switch header := draw("header", "[[s]]", "[[s]]", "[[s]]", "[[s.sub]]", "[[u]]", "[t%d]", "[t%d.sub]"); {
		case header == "[[s.sub]]" && !strings.Contains(b.String(), "[[s]]"):
			continue
		case strings.Contains(header, "%"):
			fmt.Fprintf(&b, header+"\n", i)
		default:
			b.WriteString(header + draw("behind", "", " # remark") + "\n")
		}
		filler()
		keys()
	}
	s := b.String()
	if rapid.Bool().Draw(t, "no line end") {
		s = strings.TrimSuffix(s, "\n")
	}
	if rapid.Bool().Draw(t, "crlf") {
		s = strings.ReplaceAll(s, "\n", "\r\n")
	}
	return s
}

// model is what another reader of TOML finds in a text.
func model(t require.TestingT, text string) map[string]any {
	m := map[string]any{}
	_, err := toml.Decode(text, &m)
	require.NoError(t, err, "%q", text)
	return m
}

// tables are all tables of a file in which keys can be set, with the same table
// in the model.
func tables(at tomlfile.Table, m map[string]any, visit func(tomlfile.Table, map[string]any)) {
	visit(at, m)
	for _, key := range at.KeysWritten() {
		if sub, ok := at.TableIn(key); ok {
			tables(sub, m[key].(map[string]any), visit)
		}
		several, _ := m[key].([]map[string]any)
		for i, item := range at.TablesIn(key) {
			tables(item, several[i], visit)
		}
	}
}

// Reading the edited text gives what was read before with just that change, and
// no line changes but those of the edit.
func TestAnEditChangesOneThing(t *testing.T) {
	done := map[string]int{}
	for _, what := range []string{"set", "delete", "rename"} { // each as often as the others
		rapid.Check(t, func(t *rapid.T) { editChangesOneThing(t, what, done) })
	}
	for what, least := range map[string]int{"set": 20, "delete": 5, "rename": 5} {
		assert.Greater(t, done[what], least, "%s of %v", what, done)
	}
}

func editChangesOneThing(t *rapid.T, what string, done map[string]int) {
	before := text(t)
	file, _ := tomlfile.Decode("plan.toml", []byte(before), new(struct{}))
	want := model(t, before)
	type pair struct {
		at tomlfile.Table
		m  map[string]any
	}
	var all []pair
	tables(file.Root(), want, func(at tomlfile.Table, m map[string]any) { all = append(all, pair{at, m}) })
	p := rapid.SampledFrom(all).Draw(t, "table")
	keys := []string{"x", "new"}
	for _, key := range []string{"a", "b", "c d", "e", "f"} {
		if _, there := p.m[key]; there || what == "set" {
			keys = append(keys, key)
		}
	}
	key := rapid.SampledFrom(keys).Draw(t, "key")
	e := edit.Open(file)
	lines := 0 // by how many the file grows
	_, there := p.m[key]
	switch what {
	case "set":
		e.Set(p.at, key, "another")
		p.m[key] = "another"
		if !there && p.at.Form() != tomlfile.InBraces {
			lines = 1
		}
	case "delete":
		if p.at.Form() == tomlfile.Dotted && len(p.m) == 1 {
			return // without keys a table of dotted keys is no table
		}
		e.Delete(p.at, key)
		delete(p.m, key)
		lines = -1
	case "rename":
		e.Rename(p.at, key, "z.z")
		p.m["z.z"] = p.m[key]
		delete(p.m, key)
	}
	after, err := e.Text()
	if err != nil {
		done["refused"]++
		return
	}
	done[what]++
	assert.Equal(t, want, model(t, string(after)), "%q\nbecame %q", before, after)
	changes, err := e.Changes()
	require.NoError(t, err)
	old, now := strings.SplitAfter(before, "\n"), strings.SplitAfter(string(after), "\n")
	switch {
	case lines == 1 && len(old) > 1 && old[len(old)-1] == "" && len(changes) == 1:
		first := changes[0].From.Line - 1
		assert.Equal(t, old[:first], now[:first])
		grown := len(now) - len(old)
		assert.True(t, grown == 1 || grown == 2 && p.at.Form() == tomlfile.AtTop)
		assert.Equal(t, old[first:], now[first+grown:])
	case lines == 0 && len(changes) == 1:
		c := changes[0]
		assert.Equal(t, old[:c.From.Line-1], now[:c.From.Line-1])
		assert.Equal(t, old[c.To.Line:], now[len(now)-len(old)+c.To.Line:])
	case lines == -1:
		for _, line := range now {
			if line != "" && strings.HasSuffix(line, "\n") && !strings.Contains(line, "{") && !strings.Contains(line, "[") {
				assert.Contains(t, old, line, "%q became %q", before, after)
			}
		}
	}
}

// Moving and removing a table takes its lines and no others, and all comments
// that belong to nobody stay where they are.
func TestTablesMoveWhole(t *testing.T) {
	done := map[string]int{}
	kinds := []string{"before", "after", "delete", "insert"}
	for _, what := range kinds { // each as often as the others
		rapid.Check(t, func(t *rapid.T) { tableMovesWhole(t, what, done) })
	}
	for _, what := range kinds {
		assert.Greater(t, done[what], 10, "%v", done)
	}
}

func tableMovesWhole(t *rapid.T, what string, done map[string]int) {
	before := text(t)
	file, _ := tomlfile.Decode("plan.toml", []byte(before), new(struct{}))
	want := model(t, before)
	slots := file.Root().TablesIn("s")
	if len(slots) == 0 {
		return
	}
	items := want["s"].([]map[string]any)
	i := rapid.IntRange(0, len(slots)-1).Draw(t, "i")
	j := rapid.IntRange(0, len(slots)-1).Draw(t, "j")
	e := edit.Open(file)
	moved := items[i]
	rest := slices.Delete(slices.Clone(items), i, i+1)
	to := j
	if j > i {
		to--
	}
	switch what {
	case "before":
		e.MoveBefore(slots[i], slots[j])
	case "after":
		e.MoveAfter(slots[i], slots[j])
		to++
	case "delete":
		e.DeleteTable(slots[i])
	case "insert":
		e.InsertAfter(slots[i], edit.Table{Header: "[[s]]", Keys: tomlfile.Pairs{{Key: "new", Value: int64(1)}}})
		rest, to, moved = items, i+1, map[string]any{"new": int64(1)}
	}
	switch {
	case what == "delete":
		want["s"] = rest
		if len(rest) == 0 {
			delete(want, "s")
		}
	case i == j && what != "insert":
	default:
		want["s"] = slices.Insert(slices.Clone(rest), to, moved)
	}
	after, err := e.Text()
	if err != nil {
		done["refused"]++
		return
	}
	done[what]++
	require.Equal(t, want, model(t, string(after)), "%q\nbecame %q", before, after)
	ink := func(text string) []string {
		var lines []string
		for line := range strings.Lines(text) {
			if line = strings.TrimSpace(line); line != "" {
				lines = append(lines, line)
			}
		}
		slices.Sort(lines)
		return lines
	}
	switch what {
	case "before", "after":
		assert.Equal(t, ink(before), ink(string(after)), "%q\nbecame %q", before, after)
	case "insert":
		assert.Len(t, ink(string(after)), len(ink(before))+2)
	}
	if strings.Contains(before, "\r\n") {
		assert.Equal(t, strings.Count(string(after), "\n"), strings.Count(string(after), "\r\n"))
	}
}
