package sheet_test

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"slotcard/plan"
	"slotcard/plan/plantest"
	"slotcard/plan/rules"
	"slotcard/plan/sheet"
)

const examples = "../../examples/"

func readLoad(t testing.TB, name string) *plan.Load {
	t.Helper()
	l, found, err := plan.ReadLoad(name, plan.Options{ReadFile: os.ReadFile})
	require.NoError(t, err)
	require.False(t, found.HasErrors(), found)
	return l
}

// asPlan opens a draft as if it stood beside the example's load.
func asPlan(t testing.TB, draft []byte) (*plan.Resolved, []string) {
	t.Helper()
	const name = examples + "thimble-gulch/draft.toml"
	r, found, err := rules.Open(name, plan.Options{ReadFile: func(path string) ([]byte, error) {
		if filepath.Base(path) == "draft.toml" {
			return draft, nil
		}
		return os.ReadFile(path)
	}})
	require.NoError(t, err)
	var said []string
	for _, f := range found {
		said = append(said, strings.TrimPrefix(f.String(), name+":"))
	}
	return r, said
}

// The plans of both examples, written as a sheet and drafted again, give the
// same lists, word for word, and so the same read-back codes.
func TestRoundTrip(t *testing.T) {
	for _, name := range []string{"thimble-gulch/plan.toml", "thimble-gulch/period-3.toml", "first-hour/plan.toml"} {
		t.Run(name, func(t *testing.T) {
			was, found, err := rules.Open(examples+name, plan.Options{ReadFile: os.ReadFile})
			require.NoError(t, err)
			require.False(t, found.HasErrors(), found)
			var csv bytes.Buffer
			require.NoError(t, sheet.Write(&csv, was))

			s, err := sheet.Read(csv.Bytes(), "sheet.csv", was.Load)
			require.NoError(t, err)
			d := s.Draft(sheet.Options{LoadPath: "load.toml"})
			assert.Empty(t, d.Open)
			assert.Equal(t, len(was.Slots), d.Slots)
			is, said := asPlan(t, d.TOML)
			assert.NotContains(t, strings.Join(said, "\n"), "error:", string(d.TOML))
			sameLists(t, was, is)
			assert.Equal(t, was.Plan.Incident.Number, is.Plan.Incident.Number)
			assert.Equal(t, was.Plan.Incident.PreparedBy, is.Plan.Incident.PreparedBy)
			assert.True(t, was.Plan.Incident.PreparedAt.Equal(is.Plan.Incident.PreparedAt))
			assert.Equal(t, was.Plan.Incident.Exercise, is.Plan.Incident.Exercise)
			assert.Equal(t, was.Plan.Incident.Aircraft, is.Plan.Incident.Aircraft)
			assert.Equal(t, len(was.Also), len(is.Also))
			for i, v := range was.Plan.Divisions {
				assert.Equal(t, []any{v.ID, v.Name, v.Supervisor, v.Functional, v.Beside},
					[]any{is.Plan.Divisions[i].ID, is.Plan.Divisions[i].Name, is.Plan.Divisions[i].Supervisor, is.Plan.Divisions[i].Functional, is.Plan.Divisions[i].Beside})
			}

			// And the sheet of the draft is the sheet it came from.
			var again bytes.Buffer
			require.NoError(t, sheet.Write(&again, is))
			cut := func(s string) string { return strings.Split(s, "Special Instructions")[0] }
			assert.Equal(t, cut(csv.String()), cut(again.String()))
		})
	}
}

// sameLists compares the lists that divisions carry.
func sameLists(t require.TestingT, was, is *plan.Resolved) {
	texts := func(r *plan.Resolved) (out []string) {
		for _, l := range r.Lists {
			if len(l.Divisions) > 0 || len(r.Plan.Divisions) == 0 {
				out = append(out, l.Text)
			}
		}
		return out
	}
	require.Equal(t, texts(was), texts(is))
}

// So does any plan, whatever its channels, divisions and lists.
func TestRoundTripOfAnyPlan(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		was := plantest.Make(t, plantest.Shape{
			Seed: rapid.Uint64().Draw(rt, "seed"), Slots: rapid.IntRange(3, 20).Draw(rt, "slots"), NameLength: rapid.IntRange(4, 12).Draw(rt, "name"),
			Divisions: rapid.IntRange(1, 12).Draw(rt, "divisions"), Functional: rapid.Bool().Draw(rt, "functional"),
			WordLength: 5, Words: 2, Digital: rapid.Bool().Draw(rt, "digital"), Mixed: rapid.Bool().Draw(rt, "mixed"),
			Overnight: rapid.Bool().Draw(rt, "overnight"), Exercise: rapid.Bool().Draw(rt, "exercise"), Also: rapid.IntRange(0, 2).Draw(rt, "also"),
		})
		var csv bytes.Buffer
		require.NoError(rt, sheet.Write(&csv, was))
		s, err := sheet.Read(csv.Bytes(), "sheet.csv", was.Load)
		require.NoError(rt, err)
		d := s.Draft(sheet.Options{LoadPath: "load.toml"})
		require.Empty(rt, d.Open, string(d.TOML))
		p, _, found, err := plan.Read("plan.toml", plan.Options{ReadFile: func(name string) ([]byte, error) {
			if name == "plan.toml" {
				return d.TOML, nil
			}
			return os.ReadFile(examples + "thimble-gulch/load.toml")
		}})
		require.NoError(rt, err)
		require.Empty(rt, found)
		is, faults := plan.Resolve(p, was.Load)
		require.Empty(rt, faults)
		sameLists(rt, was, is)
	})
}
