package rules_test

import (
	"fmt"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"slotcard/plan"
	"slotcard/plan/finding"
	"slotcard/plan/plantest"
	"slotcard/plan/rules"
)

var disk = plan.Options{ReadFile: os.ReadFile}

func TestExamplesBreakNoRule(t *testing.T) {
	plans, err := filepath.Glob("../../examples/*/*.toml")
	require.NoError(t, err)
	require.NotEmpty(t, plans)
	for _, name := range plans {
		data, err := os.ReadFile(name)
		require.NoError(t, err)
		if plan.IsLoad(data) {
			_, found, err := rules.OpenLoad(name, disk)
			require.NoError(t, err)
			assert.Empty(t, found, name)
			continue
		}
		r, found, err := rules.Open(name, disk)
		require.NoError(t, err)
		require.NotNil(t, r)
		for _, f := range found {
			t.Errorf("%s help: %s", f, f.Help)
		}
	}
}

func TestSoundPlanAndLoad(t *testing.T) {
	r, found, err := rules.Open("../../testdata/sound/plan.toml", disk)
	require.NoError(t, err)
	assert.Empty(t, found)
	require.NotNil(t, r)
	assert.Len(t, r.Cards, 7)
	_, found, err = rules.OpenLoad("../../testdata/sound/load.toml", disk)
	require.NoError(t, err)
	assert.Empty(t, found)
}

// files reads from memory.
func files(content map[string]string) plan.Options {
	return plan.Options{ReadFile: func(name string) ([]byte, error) {
		text, ok := content[name]
		if !ok {
			return nil, &os.PathError{Op: "open", Path: name, Err: os.ErrNotExist}
		}
		return []byte(text), nil
	}}
}

func soundLoad(t testing.TB) string {
	t.Helper()
	data, err := os.ReadFile("../../testdata/sound/load.toml")
	require.NoError(t, err)
	return string(data)
}

func soundPlan(t testing.TB) string {
	t.Helper()
	data, err := os.ReadFile("../../testdata/sound/plan.toml")
	require.NoError(t, err)
	return string(data)
}

// 16 slots, 40 divisions, 120 cards.
func BenchmarkCheck(b *testing.B) {
	r := plantest.Make(b, plantest.Shape{
		Seed: 1, Slots: 16, NameLength: 8, Divisions: 40, Functional: true, WordLength: 6, Units: 40, Seats: 3, PerSeat: 1,
	})
	b.ReportAllocs()
	for b.Loop() {
		rules.Check(r)
	}
}

// The same size from the files on: 16 slots, 40 divisions, 120 cards.
func BenchmarkOpenLarge(b *testing.B) {
	channels := []string{command, airway, guard}
	for i := range 30 {
		channels = append(channels, fmt.Sprintf(`name = "QB TAC %d"; use = "tactical"; rx = %d.%04d`, i+1, 153+i/10, 75*(i*i+1)))
	}
	var text strings.Builder
	text.WriteString(`load = "load.toml"
[incident]
name = "Thimble Gulch"
period = 2
from = 2027-08-14T06:00:00-06:00
to = 2027-08-14T18:00:00-06:00
prepared_by = "R. Okafor, communications unit leader"
prepared_at = 2027-08-13T20:30:00-06:00
[[slot]]
channel = "QB CMD 1"
site = "Bellwether"
`)
	id := func(i int) string { return strings.Repeat(string(rune('A'+i%26)), 1+i/26) }
	for i := range 13 {
		fmt.Fprintf(&text, "[[slot]]\nchannel = \"QB TAC %d\"\ndivision = [", i+1)
		for d := i; d < 40; d += 13 {
			fmt.Fprintf(&text, "%q, ", id(d))
		}
		text.WriteString("]\n")
	}
	text.WriteString("[[slot]]\nchannel = \"QB AG 1\"\n[[slot]]\nchannel = \"AIRGUARD\"\n")
	for _, p := range []string{"Engine boss", "Firefighter", "Lookout"} {
		fmt.Fprintf(&text, "[[position]]\nname = %q\npriority = \"own\"\nscan = [\"neighbors\", \"command\"]\n", p)
	}
	for i := range 40 {
		fmt.Fprintf(&text, "[[division]]\nid = %q\n[[unit]]\nname = \"Engine %d\"\ndivision = %q\nseats = { \"Engine boss\" = 1, \"Firefighter\" = 1, \"Lookout\" = 1 }\n", id(i), 600+i, id(i))
	}
	in := files(map[string]string{"plan.toml": text.String(), "load.toml": loadWith(channels...)})
	r, _, err := rules.Open("plan.toml", in)
	require.NoError(b, err)
	require.Len(b, r.Slots, 16)
	require.Len(b, r.Cards, 120)
	require.Len(b, r.Plan.Divisions, 40)
	b.ReportAllocs()
	for b.Loop() {
		_, _, err := rules.Open("plan.toml", in)
		require.NoError(b, err)
	}
}

func BenchmarkOpen(b *testing.B) {
	b.ReportAllocs()
	for b.Loop() {
		_, _, err := rules.Open("../../examples/thimble-gulch/plan.toml", disk)
		require.NoError(b, err)
	}
}

// Whatever line is lost or halved, the rest is checked: no panic, no finding of
// an unknown rule, and what is reported has a place and says what to do.
func TestAnyLineMayBeLost(t *testing.T) {
	sound := map[string]string{"plan.toml": soundPlan(t), "load.toml": soundLoad(t)}
	for name, text := range sound {
		all := strings.SplitAfter(text, "\n")
		for i, line := range all {
			if name == "load.toml" && i%3 != 0 {
				continue // its lines are much alike
			}
			for _, instead := range []string{"", line[:len(line)/2] + "\n"} {
				changed := maps.Clone(sound)
				changed[name] = strings.Join(slices.Concat(all[:i], []string{instead}, all[i+1:]), "")
				_, found, err := rules.Open("plan.toml", files(changed))
				if err != nil {
					require.ErrorIs(t, err, fs.ErrNotExist) // the line that names the load
					continue
				}
				for _, f := range found {
					_, known := rules.Get(f.Rule)
					require.True(t, known, f)
					require.NotEmpty(t, f.Place.File, f)
				}
				if !strings.HasPrefix(line, "#") && strings.TrimSpace(line) != "" && instead != "" {
					require.NotEmpty(t, found, "%s:%d halved", name, i+1)
				}
			}
		}
	}
}

func TestSlotsAreCountedAsWritten(t *testing.T) {
	_, found := check(t,
		`channel = "QB CMD 1"`, `channel = "QB CMD 9"`,
		`channel  = "QB TAC 2"`, "channel  = \"QB CMD 3\"\nuse      = \"tactical\"")
	require.Len(t, found, 2)
	assert.Equal(t, "slot 5: tactical QB CMD 3 is repeated: transmits on 145.2375, receives on 159.7575", found[1].Message)
}

// With carried_by one channel may have a slot for each of two divisions: the
// rules look at what is programmed, not at the [[slot]].
func TestOneChannelInTwoSlots(t *testing.T) {
	const a, b, z = "channel  = \"QB TAC 1\"\ndivision = \"A\"\n", "channel  = \"VFIRE22\"\ndivision = \"B\"\n", "channel  = \"QB TAC 4\"\ndivision = \"Z\"\n"
	for _, c := range []struct {
		name     string
		old, new []string
		rule     string
		want     []string
	}{
		{
			"neighbors, a slot each", []string{a, b},
			[]string{a + "carried_by = \"A\"\n", "channel = \"QB TAC 1\"\ndivision = \"B\"\ncarried_by = [\"B\", \"SP\"]\n[[slot]]\nchannel = \"VFIRE22\"\ncarried_by = \"Z\"\n"},
			"neighbours-share-tactical",
			[]string{"slots 2 and 3: neighbors division A and division B both work on QB TAC 1"},
		}, {
			"a position for each list", []string{z},
			[]string{z + "carried_by = [\"B\", \"Z\", \"SP\"]\n[[slot]]\nchannel = \"QB TAC 3\"\ncarried_by = \"A\"\n[[slot]]\nchannel = \"QB TAC 4\"\ncarried_by = \"A\"\n"},
			"position-differs",
			[]string{"3 channels are not in the same slot of every list: QB TAC 4 and QB TAC 3, not carried by all, stand before them"},
		},
	} {
		text := soundPlan(t)
		for i, old := range c.old {
			require.Contains(t, text, old, c.name)
			text = strings.Replace(text, old, c.new[i], 1)
		}
		_, found, err := rules.Open("plan.toml", files(map[string]string{"plan.toml": text, "load.toml": soundLoad(t)}))
		require.NoError(t, err, c.name)
		var got []string
		for _, f := range found {
			if f.Rule == c.rule {
				got = append(got, f.Message)
			}
		}
		assert.Subset(t, got, c.want, "%s: %s", c.name, found)
	}
}

// Plans as experts write them, one for each kind of fire: nothing is wrong with
// any. Advice may be given; what is accepted is noted.
func TestSoundPlansOfManyKinds(t *testing.T) {
	plans, err := filepath.Glob("../../testdata/sound/*.toml")
	require.NoError(t, err)
	require.Greater(t, len(plans), 10)
	advised := 0
	for _, name := range plans {
		data, err := os.ReadFile(name)
		require.NoError(t, err)
		if plan.IsLoad(data) || filepath.Base(name) == "station.toml" {
			continue
		}
		r, found, err := rules.Open(name, disk)
		require.NoError(t, err)
		require.NotNil(t, r, name)
		assert.NotEmpty(t, r.Cards, name)
		for _, f := range found {
			assert.LessOrEqual(t, f.Severity, finding.Advice, f)
			if f.Severity == finding.Advice {
				advised++
			}
		}
	}
	assert.Less(t, advised, len(plans)/2)
}
