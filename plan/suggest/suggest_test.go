package suggest_test

import (
	"fmt"
	"os"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"slotcard/plan"
	"slotcard/plan/plantest"
	"slotcard/plan/rules"
	"slotcard/plan/suggest"
)

func sound(t testing.TB, name string) string {
	t.Helper()
	data, err := os.ReadFile("../../testdata/sound/" + name)
	require.NoError(t, err)
	return string(data)
}

func open(t testing.TB, text, load string) (*plan.Resolved, []string) {
	t.Helper()
	r, found, err := rules.Open("plan.toml", plan.Options{ReadFile: func(name string) ([]byte, error) {
		switch name {
		case "plan.toml":
			return []byte(text), nil
		case "load.toml":
			return []byte(load), nil
		}
		return nil, os.ErrNotExist
	}})
	require.NoError(t, err)
	require.NotNil(t, r)
	var ids []string
	for _, f := range found {
		ids = append(ids, f.Rule)
	}
	return r, ids
}

// edit replaces text in the sound plan, pairs of old and new.
func edit(t testing.TB, text string, edits ...string) string {
	t.Helper()
	for i := 0; i < len(edits); i += 2 {
		require.Contains(t, text, edits[i])
		text = strings.Replace(text, edits[i], edits[i+1], 1)
	}
	return text
}

// said is a proposal as short text.
func said(p suggest.Proposal) []string {
	var out []string
	for i, c := range p.Choices {
		s := c.Division.ID + " " + c.Why + ": "
		switch {
		case c.Channel == nil:
			s += "nothing"
		case c.Slot != nil:
			s += c.Channel.Name + " of the plan"
		case p.Replaces(i) != nil:
			s += c.Channel.Name + " in its place"
		default:
			s += c.Channel.Name + " added"
		}
		out = append(out, s)
	}
	return out
}

var (
	block = regexp.MustCompile(`(?m)^# (in place of|remove|new, before) the \[\[slot\]\].* in? ?(?:of \S+ in )?line (\d+)\n((?:[^#\n].*\n)*)`)
	slots = regexp.MustCompile(`(?m)^\[\[slot\]\]\n(?:[^\[\n].*\n)*`)
)

// paste does with a plan what a proposal says.
func paste(t *testing.T, text, toml string) string {
	t.Helper()
	blocks := block.FindAllStringSubmatch(toml, -1)
	require.NotEmpty(t, blocks, toml)
	covered := 0
	lines := strings.SplitAfter(text, "\n")
	for _, b := range slices.Backward(blocks) { // from below, so that lines stay where they are
		covered += len(b[0])
		line, err := strconv.Atoi(b[2])
		require.NoError(t, err)
		require.Equal(t, "[[slot]]\n", lines[line-1], "line %d", line)
		head, rest := strings.Join(lines[:line-1], ""), strings.Join(lines[line-1:], "")
		if b[1] != "new, before" {
			rest = strings.TrimPrefix(rest, slots.FindString(rest))
		}
		lines = strings.SplitAfter(head+b[3]+rest, "\n")
	}
	require.Equal(t, len(toml), covered, "every line of what is to be pasted has its place:\n%s", toml)
	return strings.Join(lines, "")
}

// tacticalRules are those that a proposal should settle.
var tacticalRules = []string{"division-without-tactical", "group-without-slot", "neighbours-share-tactical", "overlap"}

var variants = []struct {
	name  string
	edits []string
	want  []string
	slots int // of the longest list afterwards
}{
	{"nothing to do", nil, nil, 7},
	{"line division without a tactical", []string{"[[division]]\nid   = \"B\"", "[[division]]\nid = \"M\"\n[[division]]\nid   = \"B\""},
		[]string{"M has no tactical: QB TAC 3 added"}, 8},
	{"functional group without a slot", []string{"division = \"SP\"\n", "division = \"Z\"\n"},
		[]string{"SP has no slot of its own: QB TAC 3 added"}, 8},
	{"neighbors on one", []string{"division = \"A\"", "division = [\"A\", \"B\"]", "channel  = \"VFIRE22\"\ndivision = \"B\"", "channel  = \"QB TAC 3\"\ndivision = \"SP\""},
		[]string{"B shares QB TAC 1 with division A: QB TAC 5 added"}, 8},
	{"three on one", []string{"division = \"A\"", "division = [\"A\", \"B\", \"Z\"]", "[[slot]]\nchannel  = \"VFIRE22\"\ndivision = \"B\"\n", "", "[[slot]]\nchannel  = \"QB TAC 4\"\ndivision = \"Z\"\n", ""},
		[]string{"B shares QB TAC 1 with division A: QB TAC 3 added", "Z shares QB TAC 1 with division A: QB TAC 4 added"}, 7},
	{"a functional group and its neighbor", []string{"division = \"A\"", "division = [\"B\", \"SP\"]", "channel  = \"VFIRE22\"\ndivision = \"B\"", "channel  = \"VFIRE22\"\ndivision = \"A\"",
		"[[slot]]\nchannel  = \"QB TAC 2\"\ndivision = \"SP\"\n", ""},
		[]string{"SP shares QB TAC 1 with division B: QB TAC 2 added"}, 7},
	{"a tactical that nobody uses yet", []string{"channel  = \"VFIRE22\"\ndivision = \"B\"", "channel  = \"VFIRE22\""},
		[]string{"B has no tactical: VFIRE22 of the plan"}, 7},
	{"accepted", []string{"channel  = \"VFIRE22\"\ndivision = \"B\"", "channel  = \"VFIRE22\"\ndivision = \"A\"",
		"[[also]]", "[[accept]]\nrule = \"division-without-tactical\"\nsubject = \"B\"\nbecause = \"spot fires only\"\nby = \"R. Okafor\"\n[[also]]"}, nil, 7},
	{"accepted for another", []string{"channel  = \"VFIRE22\"\ndivision = \"B\"", "channel  = \"VFIRE22\"\ndivision = \"A\"",
		"[[also]]", "[[accept]]\nrule = \"division-without-tactical\"\nsubject = \"Z\"\nbecause = \"spot fires only\"\nby = \"R. Okafor\"\n[[also]]"},
		[]string{"B has no tactical: QB TAC 3 added"}, 8},
}

func TestProposals(t *testing.T) {
	load := sound(t, "load.toml")
	for _, v := range variants {
		t.Run(v.name, func(t *testing.T) {
			text := edit(t, sound(t, "plan.toml"), v.edits...)
			r, _ := open(t, text, load)
			p := suggest.Tacticals(r)
			assert.Equal(t, v.want, said(p))
			assert.Equal(t, v.slots, p.Longest())
			assert.True(t, p.Proven)
			assert.True(t, p.Exact)
			assert.False(t, p.Incomplete)
			assert.Equal(t, p.TOML(), func() string { q := suggest.Tacticals(r); return q.TOML() }(), "the same each time")
			if v.want == nil {
				assert.Empty(t, p.TOML())
				return
			}
			settled(t, text, load, &p)
		})
	}
}

// settled pastes a proposal, and wants the plan free of what it is to settle,
// with as many third-order products as it said.
func settled(t *testing.T, text, load string, p *suggest.Proposal) {
	t.Helper()
	after, ids := open(t, paste(t, text, p.TOML()), load)
	for _, id := range tacticalRules {
		assert.NotContains(t, ids, id, p.TOML())
	}
	again := suggest.Tacticals(after)
	assert.Empty(t, again.Choices)
	assert.Equal(t, p.After, again.Before)
	longest := 0
	for _, l := range after.Lists {
		longest = max(longest, len(l.Slots))
	}
	assert.Equal(t, longest, p.Longest())
}

// The national fire tacticals stand 7.5 kHz apart and are 11 kHz wide (NIFOG 2.02
// through a transcription, secondary; 47 CFR 2.202(g)).
func TestOverlapOfNeighbors(t *testing.T) {
	load := edit(t, sound(t, "load.toml"), `"VFIRE22"`, `"VFIRE24"`, "154.2650", "154.2725")
	fires := []string{`channel  = "QB TAC 1"`, `channel  = "VFIRE21"`, `channel  = "VFIRE22"`, `channel  = "VFIRE24"`}
	text := edit(t, sound(t, "plan.toml"), fires...)
	r, ids := open(t, text, load)
	require.Equal(t, []string{"overlap"}, ids)
	p := suggest.Tacticals(r)
	assert.Equal(t, []string{"B is on VFIRE24, which overlaps with VFIRE21 of division A: QB TAC 1 in its place"}, said(p))
	assert.Equal(t, "# in place of the [[slot]] in line 21\n[[slot]]\nchannel  = \"QB TAC 1\"\ndivision = \"B\"\n", p.TOML())
	settled(t, text, load, &p)

	// A tactical that nobody uses takes the place, and the old slot goes.
	text = edit(t, text, "division = \"SP\"\n", "division = \"SP\"\n[[slot]]\nchannel = \"QB TAC 5\"\n")
	r, _ = open(t, text, load)
	p = suggest.Tacticals(r)
	assert.Equal(t, []string{"B is on VFIRE24, which overlaps with VFIRE21 of division A: QB TAC 5 of the plan"}, said(p))
	assert.Contains(t, p.TOML(), "# remove the [[slot]] in line 21\n")
	assert.Equal(t, 7, p.Longest())
	settled(t, text, load, &p)

	// What is in both its neighbors' way moves itself: one change, not two.
	load = edit(t, sound(t, "load.toml"), `"QB TAC 3"`, `"VFIRE24"`, "156.5100", "154.2725", `"QB TAC 4"`, `"VFIRE25"`, "159.1425", "154.2875")
	text = edit(t, sound(t, "plan.toml"), `channel  = "VFIRE22"`, `channel  = "VFIRE21"`, `channel  = "QB TAC 1"`, `channel  = "VFIRE24"`, `"QB TAC 4"`, `"VFIRE25"`)
	r, _ = open(t, text, load)
	p = suggest.Tacticals(r)
	assert.Equal(t, []string{"B is on VFIRE21, which overlaps with VFIRE24 of division A: QB TAC 1 in its place"}, said(p))

	// Those who answer for an overlap keep it.
	accepted := "[[accept]]\nrule = \"overlap\"\nsubject = \"VFIRE24 and VFIRE21\"\nbecause = \"a ridge between\"\nby = \"R. Okafor\"\n[[also]]"
	r, _ = open(t, edit(t, text, "[[also]]", accepted), load)
	p = suggest.Tacticals(r)
	assert.Equal(t, []string{"Z is on VFIRE25, which overlaps with VFIRE21 of division B: QB TAC 1 in its place"}, said(p))
}

// What a check of the load calls an error is not proposed.
func TestFaultyChannelsAreNotProposed(t *testing.T) {
	text := edit(t, sound(t, "plan.toml"), "[[division]]\nid   = \"B\"", "[[division]]\nid = \"M\"\n[[division]]\nid   = \"B\"")
	tac3 := "name    = \"QB TAC 3\"\nuse     = \"tactical\"\nrx      = 156.5100"
	for what, instead := range map[string]string{
		"outside the bands":          "name = \"QB TAC 3\"\nuse = \"tactical\"\nrx = 458.5100",
		"a mode nobody has":          "name = \"QB TAC 3\"\nuse = \"tactical\"\nrx = 156.5100\nmode = \"digital\"",
		"a name too long":            "name = \"QB TACTICAL 3\"\nuse = \"tactical\"\nrx = 156.5100",
		"wide":                       "name = \"QB TAC 3\"\nuse = \"tactical\"\nrx = 156.5100\nwidth = \"wide\"",
		"receive only":               "name = \"QB TAC 3\"\nuse = \"tactical\"\nrx = 156.5100\nreceive_only = true",
		"repeated":                   "name = \"QB TAC 3\"\nuse = \"tactical\"\nrx = 156.5100\ntx = 159.5100",
		"for another use":            "name = \"QB TAC 3\"\nuse = \"support\"\nrx = 156.5100",
		"on the frequency of a slot": "name = \"QB TAC 3\"\nuse = \"tactical\"\nrx = 160.5675\nrx_tone = 100.0",
		"over the guard channel":     "name = \"QB TAC 3\"\nuse = \"tactical\"\nrx = 168.6200",
		"one name for two":           "name = \"QB TAC 3\"\nuse = \"tactical\"\nrx = 156.5100\n[[group.channel]]\nnumber = 99\nname = \"QB TAC 3\"\nuse = \"tactical\"\nrx = 156.7500",
		"a talkgroup":                "name = \"QB TAC 3\"\nuse = \"tactical\"\nsystem = \"Range\"\ntalkgroup = \"Three\"",
	} {
		r, _ := open(t, text, edit(t, sound(t, "load.toml"), tac3, instead))
		p := suggest.Tacticals(r)
		assert.Equal(t, []string{"M has no tactical: QB TAC 5 added"}, said(p), what)
	}
}

func TestNothingFits(t *testing.T) {
	// Only two free tacticals are left for three divisions.
	load := sound(t, "load.toml")
	for _, name := range []string{"QB TAC 3", "QB TAC 5"} {
		load = edit(t, load, fmt.Sprintf("name    = %q\nuse     = \"tactical\"", name), fmt.Sprintf("name    = %q\nuse     = \"support\"", name))
	}
	text := edit(t, sound(t, "plan.toml"), "[[division]]\nid         = \"SP\"",
		"[[division]]\nid = \"L\"\n[[division]]\nid = \"M\"\n[[division]]\nid = \"N\"\n[[division]]\nid         = \"SP\"")
	r, _ := open(t, text, load)
	p := suggest.Tacticals(r)
	require.Len(t, p.Choices, 3)
	assert.Equal(t, []string{"L has no tactical: VFIRE21 added", "M has no tactical: VFIRE23 added", "N has no tactical: nothing"}, said(p))
	assert.True(t, p.Proven)
	assert.Equal(t, 9, p.Longest())
}

func TestIncomplete(t *testing.T) {
	text := edit(t, sound(t, "plan.toml"), `channel  = "VFIRE22"`, `channel  = "VFIRE2"`)
	r, _ := open(t, text, sound(t, "load.toml"))
	p := suggest.Tacticals(r)
	assert.True(t, p.Incomplete)
	assert.Empty(t, p.Choices)
	assert.Empty(t, p.TOML())
}

// Beyond sixteen divisions one is served after the other, and nothing is claimed.
func TestManyDivisions(t *testing.T) {
	p, l := plantest.Written(plantest.Shape{Seed: 3, Slots: 6, NameLength: 8, Divisions: 22, Functional: true, WordLength: 5, Units: 2, Seats: 1})
	for _, s := range p.Slots {
		s.Division = nil
	}
	r, _ := plan.Resolve(p, l)
	got := suggest.Tacticals(r)
	require.Len(t, got.Choices, 23)
	assert.False(t, got.Exact)
	assert.False(t, got.Proven)
	given := map[string]bool{}
	for _, c := range got.Choices {
		require.NotNil(t, c.Channel, c.Division.ID)
		assert.False(t, given[c.Channel.Name], c.Channel.Name)
		given[c.Channel.Name] = true
	}
	assert.NotEmpty(t, got.TOML())
}

func BenchmarkTacticals(b *testing.B) {
	p, l := plantest.Written(plantest.Shape{Seed: 3, Slots: 8, NameLength: 8, Divisions: 16, WordLength: 5, Units: 2, Seats: 1})
	for _, s := range p.Slots {
		s.Division = nil
	}
	r, _ := plan.Resolve(p, l)
	for b.Loop() {
		suggest.Tacticals(r)
	}
}
