package build_test

import (
	"fmt"
	"os"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"slotcard/plan"
	"slotcard/plan/build"
)

// example is the example plan and its load.
func example(t require.TestingT) (*build.Work, *plan.Load) {
	const dir = "../../examples/thimble-gulch/"
	load, found, err := plan.ReadLoad(dir+"load.toml", plan.Options{ReadFile: os.ReadFile})
	require.NoError(t, err)
	require.False(t, found.HasErrors())
	text, err := os.ReadFile(dir + "plan.toml")
	require.NoError(t, err)
	w, err := build.Open("plan.toml", text, load, nil)
	require.NoError(t, err)
	return w, load
}

func named(l *plan.Load, name string) *plan.Channel {
	for _, c := range l.Channels() {
		if c.Name == name {
			return c
		}
	}
	return nil
}

// Command goes first and guard last, by themselves, whatever the order in which they
// are added (common practice: both are found in the dark by turning the knob to its
// end), and one position of the radio stays empty.
func TestOrderOfSlots(t *testing.T) {
	w, load := example(t)
	for len(w.Plan().Slots) > 0 {
		require.NoError(t, w.DeleteSlot(0))
	}
	for _, name := range []string{"AIRGUARD", "QB TAC 2", "QB AG 1", "QB CMD 1", "QB MED", "VFIRE21"} {
		c := named(load, name)
		require.NotNil(t, c, name)
		site := ""
		if build.NeedsSite(load, c) {
			_, err := w.AddSlot(c, "")
			require.ErrorContains(t, err, "choose the repeater")
			site = load.SitesOf(c)[0].Name
		}
		_, err := w.AddSlot(c, site)
		require.NoError(t, err, name)
	}
	var names []string
	for i := range w.Plan().Slots {
		names = append(names, w.Name(i))
	}
	assert.Equal(t, []string{"QB CMD 1", "QB TAC 2", "VFIRE21", "QB AG 1", "QB MED", "AIRGUARD"}, names)
	left := w.Left()
	assert.Equal(t, load.Radio.ListPositions-1-6, left)
	for _, c := range load.Channels() {
		if w.Left() == 0 {
			_, err := w.AddSlot(c, "")
			assert.Error(t, err)
			continue
		}
		site := ""
		if sites := load.SitesOf(c); len(sites) > 0 && build.NeedsSite(load, c) {
			site = sites[0].Name
		}
		_, _ = w.AddSlot(c, site)
	}
	assert.Len(t, w.Plan().Slots, load.Radio.ListPositions-1)
}

// A letter that changes takes along all that names it, and nothing else is touched.
func TestRenameDivision(t *testing.T) {
	w, _ := example(t)
	before := string(w.Text())
	i := slices.IndexFunc(w.Plan().Divisions, func(d *plan.Division) bool { return d.ID == "M" })
	d := w.Plan().Divisions[i]
	require.NoError(t, w.SetDivision(i, build.Division{ID: "H", Name: d.Name, Supervisor: d.Supervisor}))
	want := strings.NewReplacer(`division = "M"`, `division = "H"`, `id         = "M"`, `id         = "H"`, `beside     = ["M"]`, `beside     = "H"`).Replace(before)
	assert.Equal(t, want, string(w.Text()))
}

// The station's roster becomes the plan's own as soon as it changes; the station's
// file is not touched, and its unit's seats are those of the plan.
func TestRosterFromStation(t *testing.T) {
	_, load := example(t)
	station := &plan.Station{Units: []*plan.Unit{
		{Name: "Engine 1", Kind: "engine type 3", Seats: plan.Seats{{Position: "Engine boss", Count: 1}}},
		{Name: "Engine 2", Seats: plan.Seats{{Position: "Engine boss", Count: 1}, {Position: "Firefighter", Count: 2}}},
	}}
	w, err := build.Open("plan.toml", []byte("load = \"load.toml\"\n\n[incident]\nname = \"X\"\n\n[[slot]]\nchannel = \"QB TAC 2\" # why\n\n[[division]]\nid = \"A\"\n"), load, station)
	require.NoError(t, err)
	require.Len(t, w.Units(), 2)
	r := build.Row{Name: "Engine 2", Division: "A", Seats: plan.Seats{{Position: "Engine boss", Count: 1}, {Position: "Firefighter", Count: 3}}}
	require.NoError(t, w.SetUnit(1, r))
	require.Len(t, w.Plan().Units, 2)
	assert.Equal(t, "engine type 3", w.Plan().Units[0].Kind)
	assert.Equal(t, r.Seats, w.Plan().Units[1].Seats)
	assert.Equal(t, "A", w.Plan().Units[1].Division)
	assert.Contains(t, string(w.Text()), `channel = "QB TAC 2" # why`)
	before := string(w.Text())
	assert.ErrorContains(t, w.SetUnit(0, build.Row{Name: "Engine 1", Division: "Q"}), "no division Q")
	assert.ErrorContains(t, w.AddUnit(build.Row{Name: "Engine  2"}), "already")
	assert.Equal(t, before, string(w.Text()), "what is refused changes nothing")
}

// model is what the file should say after each change.
type model struct {
	slots     []string // names
	uses      map[string][]string
	divisions []string
	units     []string
	of        map[string]string // division of a unit
}

func modelOf(w *build.Work) model {
	m := model{uses: map[string][]string{}, of: map[string]string{}}
	for i, s := range w.Plan().Slots {
		m.slots = append(m.slots, w.Name(i))
		m.uses[w.Name(i)] = slices.Sorted(slices.Values(s.Division))
	}
	for _, d := range w.Plan().Divisions {
		m.divisions = append(m.divisions, d.ID)
	}
	for _, u := range w.Plan().Units {
		m.units = append(m.units, u.Name)
		m.of[u.Name] = u.Division
	}
	return m
}

func moved(list []string, i, to int) []string {
	list = slices.Clone(list)
	s := list[i]
	return slices.Insert(slices.Delete(list, i, i+1), to, s)
}

// Random sequences of changes: the file says what the model says, it can be read
// after each, and each comment line that does not belong to a table that was deleted
// is there.
func TestRandomChanges(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w, load := example(t)
		channels := load.Channels()
		m, letters := modelOf(w), 0
		comments := map[string]bool{}
		for line := range strings.SplitSeq(string(w.Text()), "\n") {
			if strings.HasPrefix(line, "#") {
				comments[line] = true
			}
		}
		index := func(n int) int { return rapid.IntRange(0, n-1).Draw(t, "index") }
		deleted := false
		for range rapid.IntRange(1, 12).Draw(t, "changes") {
			var err error
			switch rapid.IntRange(0, 9).Draw(t, "change") {
			case 0:
				c := channels[index(len(channels))]
				site := ""
				if build.NeedsSite(load, c) {
					site = load.SitesOf(c)[0].Name
				}
				at, problem := w.AddSlot(c, site)
				if problem != nil {
					break
				}
				m.slots = slices.Insert(m.slots, at, w.Name(at))
				m.uses[w.Name(at)] = nil
			case 1:
				if len(m.slots) > 1 {
					i := index(len(m.slots))
					err = w.DeleteSlot(i)
					m.slots, deleted = slices.Delete(slices.Clone(m.slots), i, i+1), true
				}
			case 2:
				i, to := index(len(m.slots)), index(len(m.slots))
				err = w.MoveSlot(i, to)
				m.slots = moved(m.slots, i, to)
			case 3:
				if len(m.divisions) > 0 {
					i, id := index(len(m.slots)), m.divisions[index(len(m.divisions))]
					err = w.ToggleUse(i, id)
					ids := slices.Clone(m.uses[m.slots[i]])
					if k := slices.Index(ids, id); k >= 0 {
						ids = slices.Delete(ids, k, k+1)
					} else {
						ids = append(ids, id)
					}
					slices.Sort(ids)
					m.uses[m.slots[i]] = ids
				}
			case 4:
				letters++
				id, at := fmt.Sprintf("N%d", letters), index(len(m.divisions)+1)
				err = w.AddDivision(at, build.Division{ID: id, Name: "é \"new\" #"})
				m.divisions = slices.Insert(slices.Clone(m.divisions), at, id)
			case 5:
				if len(m.divisions) > 0 {
					i := index(len(m.divisions))
					letters++
					old, id := m.divisions[i], fmt.Sprintf("R%d", letters)
					err = w.SetDivision(i, build.Division{ID: id, Name: rapid.String().Draw(t, "name")})
					m.replace(old, id)
					m.divisions[i] = id
				}
			case 6:
				if len(m.divisions) > 1 {
					i := index(len(m.divisions))
					err = w.DeleteDivision(i)
					m.replace(m.divisions[i], "")
					m.divisions, deleted = slices.Delete(m.divisions, i, i+1), true
				}
			case 7:
				if len(m.divisions) > 0 {
					i, to := index(len(m.divisions)), index(len(m.divisions))
					err = w.MoveDivision(i, to)
					m.divisions = moved(m.divisions, i, to)
				}
			case 8:
				i := index(len(m.units))
				u := w.Units()[i]
				id := ""
				if len(m.divisions) > 0 {
					id = m.divisions[index(len(m.divisions))]
				}
				err = w.SetUnit(i, build.Row{Name: u.Name, Kind: u.Kind, Team: u.Team, Division: id, Seats: plan.Seats{{Position: "Engine boss", Count: 2}}})
				m.of[u.Name] = id
			case 9:
				letters++
				name := fmt.Sprintf("Engine %d", 9000+letters)
				err = w.AddUnit(build.Row{Name: name, Kind: "engine type 6"})
				m.units = append(m.units, name)
				m.of[name] = ""
			}
			require.NoError(t, err)
			got := modelOf(w)
			require.Equal(t, m.slots, got.slots)
			require.Equal(t, m.divisions, got.divisions)
			require.Equal(t, m.units, got.units)
			for _, u := range m.units {
				require.Equal(t, m.of[u], got.of[u], u)
			}
			for _, s := range m.slots {
				require.ElementsMatch(t, m.uses[s], got.uses[s], s)
			}
		}
		if !deleted {
			for c := range comments {
				require.Contains(t, string(w.Text()), c)
			}
		}
		// Whoever reads the file as the program does finds nothing that cannot be read.
		_, _, found, err := plan.Read("plan.toml", plan.Options{ReadFile: func(name string) ([]byte, error) {
			if name == "plan.toml" {
				return w.Text(), nil
			}
			return os.ReadFile("../../examples/thimble-gulch/" + name)
		}})
		require.NoError(t, err)
		for _, f := range found {
			require.NotEqual(t, "syntax", f.Rule, f.Message)
		}
	})
}

func (m *model) replace(old, id string) {
	for s, ids := range m.uses {
		if k := slices.Index(ids, old); k >= 0 {
			ids = slices.Delete(slices.Clone(ids), k, k+1)
			if id != "" {
				ids = append(ids, id)
			}
			slices.Sort(ids)
			m.uses[s] = ids
		}
	}
	for u, d := range m.of {
		if d == old {
			m.of[u] = id
		}
	}
}

// Where nothing is said yet, whoever leads hears others, as far as the limit allows; a
// column is marked in all rows by one change.
func TestListening(t *testing.T) {
	w, load := example(t)
	text := string(w.Text())
	add := "[[position]]\nname = \"Safety officer\"\n\n[[position]]\nname = \"Scribe\"\n\n"
	text = strings.Replace(text, "[[position]]", add+"[[position]]", 1)
	open := func(text string) *build.Work {
		w, err := build.Open("plan.toml", []byte(text), load, nil)
		require.NoError(t, err)
		return w
	}
	w = open(text)
	said := map[string]plan.Position{}
	for _, p := range w.ProposeListening() {
		said[p.Name] = p
	}
	leader, scribe := said["Safety officer"], said["Scribe"]
	require.Len(t, said, 2, "the others say it themselves")
	assert.Equal(t, "own", leader.Priority)
	assert.Equal(t, "own", scribe.Priority)
	assert.Empty(t, scribe.Scan)
	assert.Contains(t, []string(leader.Scan), "command")
	assert.Contains(t, []string(leader.Scan), "air-to-ground", "aircraft work the fire")
	require.NoError(t, w.TakeListening())
	assert.Contains(t, string(w.Text()), "[[position]]\nname = \"Scribe\"\npriority = \"own\"\n")
	assert.Empty(t, w.ProposeListening())
	assert.ErrorContains(t, w.TakeListening(), "nothing is proposed")

	marked := func() (n int) {
		for _, p := range w.Positions() {
			if slices.Contains(p.Scan, "medical") {
				n++
			}
		}
		return n
	}
	require.NoError(t, w.ToggleColumn("medical"))
	assert.Equal(t, len(w.Positions()), marked())
	require.NoError(t, w.ToggleColumn("medical"))
	assert.Zero(t, marked())

	before := slices.Clone(w.Positions()[0].Scan)
	name := w.Positions()[0].Name
	require.NoError(t, w.ToggleRow(name))
	for _, word := range plan.SelectorWords() {
		assert.Equal(t, word != "all" || slices.Contains(before, "all"), slices.Contains(w.Positions()[0].Scan, word), word)
	}
	require.NoError(t, w.ToggleRow(name))
	assert.Empty(t, w.Positions()[0].Scan)
	assert.ErrorContains(t, w.ToggleRow("nobody"), "no position nobody any more")
}
