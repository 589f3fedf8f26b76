package layout_test

import (
	"fmt"
	"math"
	"reflect"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"slotcard/layout"
	"slotcard/layout/sheets"
	"slotcard/layout/wall"
	"slotcard/layout/words"
	"slotcard/plan"
	"slotcard/plan/plantest"
)

// foreign replaces every word of a struct of words by one of another alphabet's
// letters, keeping the %names%.
func foreign(words any) {
	var walk func(v reflect.Value)
	walk = func(v reflect.Value) {
		switch v.Kind() {
		case reflect.String:
			fields := strings.Fields(v.String())
			for i, f := range fields {
				if !strings.Contains(f, "%") {
					fields[i] = strings.Repeat("ø", max(1, len(f)/2))
				}
			}
			v.SetString(strings.Join(fields, " "))
		case reflect.Slice: // shared with the English ones
			c := reflect.MakeSlice(v.Type(), v.Len(), v.Len())
			reflect.Copy(c, v)
			v.Set(c)
			fallthrough
		case reflect.Array:
			for i := range v.Len() {
				walk(v.Index(i))
			}
		case reflect.Struct:
			for i := range v.NumField() {
				walk(v.Field(i))
			}
		}
	}
	walk(reflect.ValueOf(words).Elem())
}

// ownWords checks that every word of letters on paper is the plan's own or foreign.
func ownWords(t *testing.T, r *plan.Resolved, all string) {
	t.Helper()
	own := map[string]bool{"QB-0412": true}
	add := func(texts ...string) {
		for _, s := range texts {
			for _, w := range strings.FieldsFunc(s, notLetter) {
				own[w] = true
			}
		}
	}
	in, about := r.Plan.Incident, r.Load.About
	add(in.Name, in.Number, in.PreparedBy, in.Instructions, about.Name, about.Edition, about.Colour)
	for _, g := range r.Load.Groups {
		for _, c := range g.Channels {
			add(c.Name, c.Remarks, c.System, c.Talkgroup)
		}
	}
	for _, s := range r.Load.Sites {
		add(s.Name)
	}
	for _, d := range r.Plan.Divisions {
		add(d.ID, d.Name, d.Supervisor)
	}
	for _, p := range r.Plan.Positions {
		add(p.Name)
	}
	for _, u := range r.Plan.Units {
		add(u.Name, u.Kind, u.Team)
	}
	for _, a := range r.Also {
		add(a.When)
	}
	for _, l := range r.Lists {
		add(l.Code.Pairs(), l.Code.Words())
	}
	for _, e := range r.Exceptions {
		add(e.Message, e.Accept.Because, e.Accept.By, e.Accept.Subject)
	}
	for _, w := range strings.FieldsFunc(all, notLetter) {
		if strings.Trim(w, "ø") != "" && strings.ContainsFunc(w, isLetter) {
			assert.True(t, own[w], "%q is neither the plan's nor in the table of words", w)
		}
	}
}

func isLetter(r rune) bool  { return r >= 'A' && r <= 'Z' || r >= 'a' && r <= 'z' || r == 'ø' }
func notLetter(r rune) bool { return !isLetter(r) && (r < '0' || r > '9') }

// handoutSays checks that each card has a row with all that it needs.
func handoutSays(t require.TestingT, r *plan.Resolved, d *layout.Document) {
	teams := map[string]int{} // cards of a team
	for _, c := range r.Cards {
		team := c.Unit.Team
		if team == "" {
			team = "Units without a team"
		}
		teams[team]++
	}
	marks := map[string]int{}
	section := ""
	rows := map[string]int{}
	for i, p := range d.Pages {
		page := said(&layout.Document{Pages: []layout.Page{p}})
		low := p.Height // below it, another section
		if n := len(p.Bookmarks); n > 0 {
			require.LessOrEqual(t, n, 2, "page %d", i+1)
			const top = 20 // mm: there a page begins
			if first := p.Bookmarks[0]; first.Y < top {
				section = first.Title
				marks[section]++
			}
			if last := p.Bookmarks[n-1]; last.Y >= top {
				require.Equal(t, "Units without a team", last.Title)
				marks[last.Title]++
				rows[last.Title] += tickRows(p, last.Y, p.Height)
				low = last.Y
			}
		} else {
			require.Contains(t, joinedLetters(page), joinedLetters(section+", continued"), "page %d", i+1)
		}
		require.Contains(t, joinedLetters(page), joinedLetters(section))
		require.Contains(t, joinedLetters(page), joinedLetters(r.Plan.Incident.Name))
		require.Contains(t, page, fmt.Sprintf("page %d of %d", i+1, len(d.Pages)))
		for _, head := range []string{"Card", "Unit", "Seat", "Division", "Initials"} {
			require.Contains(t, page, head+"\n", "page %d", i+1)
		}
		for _, note := range words.EnglishSheet.SheetNotes {
			require.Contains(t, flat(page), note, "page %d", i+1)
		}
		require.Equal(t, r.Plan.Incident.Exercise, strings.Contains(page, "EXERCISE"))
		rows[section] += tickRows(p, 0, low)
	}
	require.Equal(t, len(teams), len(marks))
	for team, n := range teams {
		require.Equal(t, 1, marks[team], "%q begins once", team)
		require.Equal(t, n, rows[team], "%q has a row for each card", team)
	}
	all := joinedLetters(said(d))
	for _, c := range r.Cards {
		seat := c.Position.Name
		if c.Of > 1 {
			seat += fmt.Sprintf(", %d of %d", c.Nth, c.Of)
		}
		require.Contains(t, all, joinedLetters(seat))
		require.Contains(t, all, joinedLetters(c.Unit.Name))
		require.Contains(t, all, joinedLetters(c.List.Code.Pairs()))
		require.Contains(t, said(d), fmt.Sprintf("%d\n", c.Number))
	}
}

// tickRows counts the rows of boxes to tick on a page, three and a field for each slot or
// four, between two heights, and is 0 where a row is lower than 8 mm or has less than
// 18 mm beside its boxes for initials.
func tickRows(p layout.Page, high, low float64) int {
	type row struct {
		boxes int
		right float64
	}
	at := map[float64]row{}
	for _, it := range p.Items {
		if b, ok := it.(layout.Box); ok && !b.Fill && b.W == b.H && b.Radius == 0 && b.Y >= high && b.Y < low {
			r := at[b.Y]
			at[b.Y] = row{r.boxes + 1, math.Max(r.right, b.X+b.W)}
		}
	}
	for y, r := range at {
		if r.boxes != 3 && r.boxes != 4 || p.Width-10-r.right < 18 {
			return 0
		}
		for z := range at {
			if y != z && math.Abs(y-z) < 8-1e-6 {
				return 0
			}
		}
	}
	return len(at)
}

func TestHandoutOfExamples(t *testing.T) {
	for _, name := range []string{"thimble-gulch", "first-hour"} {
		r := example(t, name)
		for _, size := range layout.PaperSizes() {
			t.Run(name+" "+size.Name, func(t *testing.T) {
				d, findings := sheets.Handout(r, sheets.HandoutOptions{Paper: size})
				require.Empty(t, findings)
				for i, p := range d.Pages {
					assert.Greater(t, p.Height, p.Width)
					assert.Empty(t, sheetFaults(p, 10), "page %d", i+1)
				}
				handoutSays(t, r, d)
			})
		}
	}
}

func TestHandoutGolden(t *testing.T) {
	d, findings := sheets.Handout(example(t, "first-hour"), sheets.HandoutOptions{})
	require.Empty(t, findings)
	golden(t, "handout-first-hour.txt", d)
}

func TestHandoutOfManyPlans(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		r := plantest.Make(t, shapes(rt))
		dressed(rt, r)
		size := rapid.SampledFrom(layout.PaperSizes()).Draw(rt, "paper")
		d, findings := sheets.Handout(r, sheets.HandoutOptions{Paper: size})
		require.Empty(rt, findings)
		for i, p := range d.Pages {
			require.Empty(rt, sheetFaults(p, 10), "page %d", i+1)
		}
		if len(r.Cards) > 0 {
			handoutSays(rt, r, d)
		}
	})
}

// A heading that leaves no room for rows is a finding, not a broken page.
func TestHandoutDoesNotFit(t *testing.T) {
	r := plantest.Make(t, plantest.Shape{Seed: 1, Slots: 5, NameLength: 8, Divisions: 2, WordLength: 5, Units: 2})
	r.Plan.Incident.Name = strings.Repeat("Long name ", 300)
	d, findings := sheets.Handout(r, sheets.HandoutOptions{})
	require.Nil(t, d)
	require.Len(t, findings, 1)
	assert.Equal(t, "does-not-fit", findings[0].Rule)
	d, findings = docOf(wall.List(r, wall.Options{}))
	require.Nil(t, d)
	require.NotEmpty(t, findings)
}
