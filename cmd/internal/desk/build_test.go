package desk

import (
	"net/http"
	"net/url"
	"os"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"slotcard/plan"
)

// post sends a form of a view, and gives where it leads to.
func post(t *testing.T, d *desk, target string, pairs ...string) string {
	t.Helper()
	form := url.Values{}
	for i := 0; i < len(pairs); i += 2 {
		form.Add(pairs[i], pairs[i+1])
	}
	r := answer(d, ask(d, http.MethodPost, target, form))
	if r.StatusCode != http.StatusSeeOther {
		text := body(t, r)
		_, text, _ = strings.Cut(text, `role="alert"><b>`)
		text, _, _ = strings.Cut(text, "</b>")
		return text
	}
	return r.Header.Get("Location")
}

func planText(t *testing.T) string {
	t.Helper()
	text, err := os.ReadFile("fire/plan.toml")
	require.NoError(t, err)
	return string(text)
}

// Each post of the list is an edit of the file, and undo takes back each.
func TestBuildList(t *testing.T) {
	d := opened(t)
	const at = "/list/fire/plan.toml"
	first := planText(t)
	texts := []string{first}
	step := func(want func(before string) string, pairs ...string) {
		t.Helper()
		require.Equal(t, at, post(t, d, at, pairs...))
		assert.Equal(t, want(texts[len(texts)-1]), planText(t))
		texts = append(texts, planText(t))
	}
	// The channel's place is its name, its frequency or where it stands in the load; it
	// goes behind its like, before guard.
	step(func(s string) string {
		return strings.Replace(s, "division = \"SP\"\n\n", "division = \"SP\"\n\n[[slot]]\nchannel = \"QB TAC 7\"\n\n", 1)
	}, "do", "add", "q", "qb tac 7")
	step(func(s string) string {
		return strings.Replace(s, `channel = "QB TAC 7"`+"\n", "channel = \"QB TAC 7\"\ndivision = \"A\"\n", 1)
	}, "do", "letter", "i", "7", "name", "QB TAC 7", "letter", "A")
	step(func(s string) string {
		return strings.Replace(strings.Replace(s, "[[slot]]\nchannel = \"QB AG 1\"\n\n", "", 1), "[[slot]]\nchannel = \"QB TAC 7\"", "[[slot]]\nchannel = \"QB AG 1\"\n\n[[slot]]\nchannel = \"QB TAC 7\"", 1)
	}, "do", "move", "i", "8", "name", "QB AG 1", "to", "7")
	step(func(s string) string { return strings.Replace(s, "[[slot]]\nchannel = \"QB MED\"\n\n", "", 1) }, "do", "delete", "i", "9", "name", "QB MED")

	// What is about another row than stands there is refused.
	assert.Contains(t, post(t, d, at, "do", "delete", "i", "0", "name", "QB MED"), "has changed")
	assert.Contains(t, post(t, d, at, "do", "add", "q", "QB TAC 7"), "in the list already")
	assert.Equal(t, texts[len(texts)-1], planText(t))
	// What may be several channels is asked, and so is a repeater.
	assert.Equal(t, at+"?q=tac", post(t, d, at, "do", "add", "q", "tac"))
	assert.Contains(t, post(t, d, at, "do", "add", "q", "QB CMD 2"), at)
	for planText(t) != first {
		require.Equal(t, at, post(t, d, "/history/fire/plan.toml", "do", "undo", "back", "list"))
	}
	for planText(t) != texts[len(texts)-1] {
		require.Equal(t, at, post(t, d, "/history/fire/plan.toml", "do", "redo", "back", "list"))
	}
	page := body(t, answer(d, ask(d, http.MethodGet, "/history/fire/plan.toml", nil)))
	assert.Contains(t, page, "Bring this version back")
	// The folder of versions is nothing that the desk shows as a file.
	page = body(t, answer(d, ask(d, http.MethodGet, "/folder/", nil)))
	assert.NotContains(t, page, "history")
}

func TestBuildRoster(t *testing.T) {
	d := opened(t)
	const at = "/roster/fire/plan.toml"
	before := planText(t)
	// Cells as a spreadsheet writes them: tabs between, a line end behind each row
	// (LibreOffice Calc, unformatted text; from memory).
	require.Equal(t, at, post(t, d, at, "do", "paste", "cells", "Unit\tKind\tDivision\tEngine boss\tFirefighter\nEngine 611\tengine type 3\tB\t1\t2\nEngine 99\tengine type 6\tA\t1\t1\n"))
	after := planText(t)
	assert.Contains(t, after, "[[unit]]\nname     = \"Engine 99\"\nkind     = \"engine type 6\"\ndivision = \"A\"\nseats    = { \"Engine boss\" = 1, Firefighter = 1 }")
	st := d.shelf.get("fire/plan.toml")
	assert.Equal(t, "B", st.Plan.Plan.Units[indexOf(st, "Engine 611")].Division)
	for _, line := range strings.Split(before, "\n") {
		if strings.HasPrefix(line, "#") {
			assert.Contains(t, after, line)
		}
	}
	assert.Contains(t, post(t, d, at, "do", "paste", "cells", "Unit\tEngine boss\nEngine 98\tmany\n"), "hat was pasted")
	assert.Contains(t, post(t, d, at, "do", "paste", "cells", "Unit\tDivision\tEngine boss\nEngine 98\tQ\t1\n"), "no division Q")
	assert.Equal(t, after, planText(t))
	// A row without titles is in the order of the table.
	require.Equal(t, at, post(t, d, at, "do", "paste", "cells", "Engine 98\tengine type 4\t\tA\t1\n"))

	// Into a column, they go into the rows that are there, and no further.
	unit := func(i int) *plan.Unit { return d.shelf.get("fire/plan.toml").Plan.Plan.Units[i] }
	n := len(d.shelf.get("fire/plan.toml").Plan.Plan.Units)
	first, second := unit(n-2).Name, unit(n-1).Name
	require.Equal(t, []string{"Engine 99", "Engine 98"}, []string{first, second})
	last := []string{"from", "3", "row", strconv.Itoa(n - 2)}
	require.Equal(t, at, post(t, d, at, append([]string{"do", "paste", "cells", "B\t1\t3\n\t2\t\n"}, last...)...))
	assert.Equal(t, "B", unit(n-2).Division)
	assert.Equal(t, "", unit(n-1).Division)
	assert.Equal(t, "engine type 4", unit(n-1).Kind)
	before = planText(t)
	assert.Contains(t, post(t, d, at, append([]string{"do", "paste", "cells", "A\nA\nA"}, last...)...), "3 rows were pasted, and from Engine 99 on the table has 2")
	assert.Contains(t, post(t, d, at, append([]string{"do", "paste", "cells", "A\tmany"}, last...)...), "is no number of seats")
	assert.Contains(t, post(t, d, at, "do", "paste", "cells", "A\nB", "from", "3", "row", ""), "new row begins with its unit")
	assert.Equal(t, before, planText(t))
	// A letter sets the division, and a row moves.
	require.Equal(t, at, post(t, d, at, "do", "letter", "i", strconv.Itoa(n-1), "name", second, "letter", "A"))
	assert.Equal(t, "A", unit(n-1).Division)
	require.Equal(t, at, post(t, d, at, "do", "move", "i", strconv.Itoa(n-1), "name", second, "to", strconv.Itoa(n-2)))
	assert.Equal(t, []string{second, first}, []string{unit(n - 2).Name, unit(n - 1).Name})
}

func indexOf(st *State, unit string) int {
	for i, u := range st.Plan.Plan.Units {
		if u.Name == unit {
			return i
		}
	}
	return -1
}

func TestBuildOthers(t *testing.T) {
	d := opened(t)
	const at, listen = "/divisions/fire/plan.toml", "/listen/fire/plan.toml"
	require.Equal(t, at, post(t, d, at, "do", "add", "id", "K", "called", "New line"))
	require.Equal(t, at, post(t, d, at, "do", "tactical", "i", "6", "name", "K", "slot", "2"))
	assert.Contains(t, planText(t), "channel  = \"QB TAC 2\"\ndivision = [\"B\", \"K\"]")
	require.Equal(t, at, post(t, d, at, "do", "set", "i", "6", "name", "K", "id", "L", "called", "New line", "supervisor", "N. Ode"))
	assert.Contains(t, planText(t), "division = [\"B\", \"L\"]")
	assert.Contains(t, post(t, d, at, "do", "add", "id", "A"), "already")
	require.Equal(t, listen, post(t, d, listen, "do", "toggle", "mark", "Lookout\tmedical"))
	assert.Contains(t, planText(t), "scan     = [\"command\", \"air-to-ground\", \"medical\"]")
	require.Equal(t, listen, post(t, d, listen, "do", "priority", "position", "Lookout", "priority", "command"))
	for _, view := range []string{"list", "list?q=tac", "divisions", "roster", "listen", "history"} {
		name, q, _ := strings.Cut(view, "?")
		r := answer(d, ask(d, http.MethodGet, "/"+name+"/fire/plan.toml?"+q, nil))
		assert.Equal(t, http.StatusOK, r.StatusCode, view)
		assert.NotContains(t, body(t, r), "role=\"alert\"", view)
	}
}

// The former versions say what changed in the words of the trade: those of the change
// sheet, for the plan before and after.
func TestHistorySays(t *testing.T) {
	d := opened(t)
	const list = "/list/fire/plan.toml"
	was := d.shelf.get("fire/plan.toml").Plan
	require.Equal(t, list, post(t, d, list, "do", "add", "q", "qb tac 7"))
	require.Equal(t, list, post(t, d, list, "do", "letter", "i", "7", "name", "QB TAC 7", "letter", "A"))
	require.Equal(t, "/roster/fire/plan.toml", post(t, d, "/roster/fire/plan.toml", "do", "add", "unit", "Engine 99", "division", "A", "seat1", "2"))
	page := body(t, answer(d, ask(d, http.MethodGet, "/history/fire/plan.toml", nil)))
	rows := strings.Split(page, "<h2>Until ")[1:]
	require.Len(t, rows, 3)
	is := d.shelf.get("fire/plan.toml").Plan
	require.NotNil(t, is)
	assert.Contains(t, rows[0], "<li>New here, build the list: Engine 99</li>")
	assert.Contains(t, rows[1], "<li>Read-back code "+is.Lists[0].Code.Pairs()+", was ")
	assert.Contains(t, rows[1], "<li>Slot 8 QB TAC 7, Div A: was for Tactical</li>")
	assert.Contains(t, rows[2], "<li>Slot 8 is new: QB TAC 7, Tactical</li>")
	assert.Contains(t, rows[2], "<li>Read-back code ")
	assert.Contains(t, rows[2], ", was "+was.Lists[0].Code.Pairs()+"</li>")
	for _, row := range rows {
		assert.NotContains(t, row, "must be replaced", "no card need be printed yet")
	}
}
