package desk

import (
	"flag"
	"fmt"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"slotcard/plan"
	"slotcard/plan/build"
	"slotcard/plan/tomlfile"
)

// twin is a plan that is built twice: by posts of the desk's pages, and by plan/build
// on a text in memory. Texts are those that the file has had, at where it stands now.
type twin struct {
	t     *rapid.T
	d     *desk
	file  string // as the desk names it
	load  *plan.Load
	texts []string
	at    int
	away  int // comments may be gone: tables were deleted
}

func (w *twin) text() string { return w.texts[w.at] }

func (w *twin) model() *build.Work {
	m, err := build.Open(w.file, []byte(w.text()), w.load, nil)
	require.NoError(w.t, err)
	return m
}

// change posts a form, and makes the same change in memory: both do it, to the same
// bytes, or both refuse it, and the file is as it was.
func (w *twin) change(view string, direct func(m *build.Work) error, pairs ...string) {
	w.t.Helper()
	m := w.model()
	refused := direct(m)
	form := url.Values{}
	for i := 0; i < len(pairs); i += 2 {
		form.Add(pairs[i], pairs[i+1])
	}
	r := answer(w.d, ask(w.d, http.MethodPost, "/"+view+"/"+w.file, form))
	if refused != nil {
		require.Equal(w.t, http.StatusUnprocessableEntity, r.StatusCode, "%v: %v", form, refused)
	} else {
		require.Equal(w.t, http.StatusSeeOther, r.StatusCode, form)
		if now := string(m.Text()); now != w.text() {
			w.texts = append(w.texts[:w.at+1:w.at+1], now)
			w.at++
		}
	}
	w.same()
}

func (w *twin) turn(do string, by int) {
	w.t.Helper()
	r := answer(w.d, ask(w.d, http.MethodPost, "/history/"+w.file, url.Values{"do": {do}}))
	if to := w.at + by; to < 0 || to >= len(w.texts) {
		require.Equal(w.t, http.StatusUnprocessableEntity, r.StatusCode, do)
	} else {
		require.Equal(w.t, http.StatusSeeOther, r.StatusCode, do)
		w.at = to
	}
	w.same()
}

// same holds the file to the text, and the text to what the program reads.
func (w *twin) same() {
	w.t.Helper()
	now, err := os.ReadFile(filepath.FromSlash(w.file))
	require.NoError(w.t, err)
	require.Equal(w.t, w.text(), string(now))
	f, _ := tomlfile.Decode(w.file, now, new(plan.Plan))
	require.NotNil(w.t, f)
	require.False(w.t, f.Broken())
}

// name is what somebody may type into a field.
func name(t *rapid.T) string {
	return rapid.OneOf(rapid.SampledFrom([]string{"A", "B", "M", "K", "é \"quoted\" #", "two  spaces", "", " ", "a\\b", "'", "[[slot]]"}), rapid.StringN(1, 6, 12)).Draw(t, "name")
}

// Random sequences of edits by the pages and by plan/build: equal bytes, a file that is
// read after each, the comments there, and the way back by undo ends at the first byte.
// More of them: go test ./cmd/internal/desk -run RandomEdits -rapid.checks 200
func TestRandomEdits(t *testing.T) {
	d := opened(t)
	first := planText(t)
	load := d.shelf.get("fire/plan.toml").Load
	channels := load.Channels()
	var comments []string
	for line := range strings.SplitSeq(first, "\n") {
		if strings.HasPrefix(line, "#") {
			comments = append(comments, line)
		}
	}
	for name, few := range map[string]string{"rapid.checks": "8", "rapid.steps": "10"} { // each step is a post
		if f := flag.Lookup(name); f.Value.String() == f.DefValue {
			require.NoError(t, f.Value.Set(few))
			t.Cleanup(func() { _ = f.Value.Set(f.DefValue) })
		}
	}
	plans := 0
	rapid.Check(t, func(t *rapid.T) {
		plans++ // one of its own for each, with a history of its own
		w := &twin{t: t, d: d, file: fmt.Sprintf("fire/random-%d.toml", plans), load: load, texts: []string{first}}
		require.NoError(t, os.WriteFile(filepath.FromSlash(w.file), []byte(first), 0o600))
		defer func() {
			os.Remove(filepath.FromSlash(w.file))
			os.RemoveAll(filepath.Join("fire", hidden, "history", filepath.Base(w.file)))
		}()
		index := func(n int) int { return rapid.IntRange(0, max(0, n-1)).Draw(t, "index") }
		slot := func(do string, direct func(m *build.Work, i int) error, pairs ...string) {
			m := w.model()
			i := index(len(m.Plan().Slots))
			w.change("list", func(m *build.Work) error { return direct(m, i) }, append(pairs, "do", do, "i", strconv.Itoa(i), "name", m.Name(i))...)
		}
		division := func(view, do string, direct func(m *build.Work, i int) error, pairs ...string) {
			all := w.model().Plan().Divisions
			if len(all) == 0 {
				return
			}
			i := index(len(all))
			w.change(view, func(m *build.Work) error { return direct(m, i) }, append(pairs, "do", do, "i", strconv.Itoa(i), "name", all[i].ID)...)
		}
		t.Repeat(map[string]func(*rapid.T){
			"add a slot": func(*rapid.T) {
				c := channels[index(len(channels))]
				site := ""
				if build.NeedsSite(load, c) {
					sites := load.SitesOf(c)
					site = sites[index(len(sites))].Name
				}
				w.change("list", func(m *build.Work) error { _, err := m.AddSlot(c, site); return err }, "do", "add", "ref", c.Place(), "site", site)
			},
			"move a slot": func(*rapid.T) {
				to := index(len(w.model().Plan().Slots))
				slot("move", func(m *build.Work, i int) error { return m.MoveSlot(i, to) }, "to", strconv.Itoa(to))
			},
			"delete a slot": func(*rapid.T) {
				if len(w.model().Plan().Slots) > 1 {
					w.away++
					slot("delete", func(m *build.Work, i int) error { return m.DeleteSlot(i) })
				}
			},
			"give a letter": func(*rapid.T) {
				if all := w.model().Plan().Divisions; len(all) > 0 {
					id := all[index(len(all))].ID
					slot("letter", func(m *build.Work, i int) error { return m.ToggleUse(i, id) }, "letter", id)
				}
			},
			"add a division": func(t *rapid.T) {
				div := build.Division{ID: name(t), Name: name(t), Supervisor: name(t)}
				w.change("divisions", func(m *build.Work) error { return m.AddDivision(-1, div) }, "do", "add", "id", div.ID, "called", div.Name, "supervisor", div.Supervisor)
			},
			"say what a division is": func(t *rapid.T) {
				div := build.Division{ID: name(t), Name: name(t), Functional: rapid.Bool().Draw(t, "functional")}
				functional := ""
				if div.Functional {
					functional, div.Beside = "1", plan.Names{"A"}
				}
				division("divisions", "set", func(m *build.Work, i int) error { return m.SetDivision(i, div) }, "id", div.ID, "called", div.Name, "functional", functional, "beside", strings.Join(div.Beside, ","))
			},
			"move a division": func(*rapid.T) {
				to := index(len(w.model().Plan().Divisions))
				division("divisions", "move", func(m *build.Work, i int) error { return m.MoveDivision(i, to) }, "to", strconv.Itoa(to))
			},
			"delete a division": func(*rapid.T) {
				w.away++
				division("divisions", "delete", func(m *build.Work, i int) error { return m.DeleteDivision(i) })
			},
			"a unit": func(t *rapid.T) {
				m := w.model()
				r := build.Row{Name: name(t), Kind: name(t), Team: name(t), Division: name(t)}
				pairs := []string{"kind", r.Kind, "team", r.Team, "division", r.Division}
				for i, p := range positionsOf(m) {
					if n := rapid.IntRange(0, 3).Draw(t, "seats"); n > 0 {
						pairs = append(pairs, fmt.Sprintf("seat%d", i), strconv.Itoa(n))
						r.Seats = append(r.Seats, plan.Seat{Position: p, Count: n})
					}
				}
				w.change("roster", func(m *build.Work) error { return m.AddUnit(r) }, append(pairs, "do", "add", "unit", r.Name)...)
			},
			"delete a unit": func(*rapid.T) {
				if all := w.model().Units(); len(all) > 1 {
					w.away++
					i := index(len(all))
					w.change("roster", func(m *build.Work) error { return m.DeleteUnit(i) }, "do", "delete", "i", strconv.Itoa(i), "name", all[i].Name)
				}
			},
			"who listens": func(t *rapid.T) {
				all := w.model().Positions()
				p, s := all[index(len(all))], rapid.SampledFrom(plan.SelectorWords()).Draw(t, "selector")
				own := s
				for _, is := range p.Scan {
					if written(is) == s {
						own = is
					}
				}
				w.change("listen", func(m *build.Work) error { return m.ToggleScan(p.Name, own) }, "do", "toggle", "mark", p.Name+"\t"+s)
			},
			"who has priority": func(t *rapid.T) {
				all := w.model().Positions()
				p, s := all[index(len(all))], rapid.SampledFrom(append(plan.SelectorWords(), "")).Draw(t, "selector")
				w.change("listen", func(m *build.Work) error { return m.SetPriority(p.Name, s) }, "do", "priority", "position", p.Name, "priority", s)
			},
			"undo": func(*rapid.T) { w.turn("undo", -1) },
			"redo": func(*rapid.T) { w.turn("redo", 1) },
			"": func(t *rapid.T) {
				if w.away == 0 {
					for _, c := range comments {
						require.Contains(t, w.text(), c)
					}
				}
			},
		})
		for w.at > 0 {
			w.turn("undo", -1)
		}
		require.Equal(t, first, w.text())
	})
}
