package plan_test

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
	"slotcard/plan/finding"
	"slotcard/plan/plantest"
	"slotcard/plan/radio"
	"slotcard/plan/slotlist"
)

const loadHead = `
[load]
name = "Quillback Range cooperators"
edition = "2027"
colour = "orange"
effective = 2027-03-01
expires = 2028-03-31
[radio]
list_positions = 16
name_length = 10
bands = [[136.0, 174.0]]
modes = ["analog", "digital"]
[[tone]]
number = 4
hz = 146.2
[[tone]]
number = 7
hz = 162.2
[[site]]
name = "Bellwether"
tone = 4
channels = ["QB CMD 1", "QB CMD 2"]
[[site]]
name = "Hobnail"
tone = 162.2
channels = ["QB CMD 1"]
`

// loadRows are the channels of a test load: group, number, name, use and the
// rest as TOML.
var loadRows = [][]string{
	{"1", "1", "QB CMD 1", "command", "rx = 152.4125", "tx = 157.6725", "rx_tone = 103.5", `tx_tone = "site"`},
	{"1", "2", "QB CMD 2", "command", "rx = 153.1550", "tx = 158.5725", "tx_tone = 146.2"},
	{"1", "3", "QB TAC 1", "tactical", "rx = 151.3475"},
	{"1", "4", "QB TAC 2", "tactical", "rx = 153.7400"},
	{"1", "5", "QB AG 1", "air-to-ground", "rx = 151.8575"},
	{"1", "6", "AIRGUARD", "guard", "rx = 168.6250", "tx_tone = 110.9"},
	{"1", "7", "QB TRAV 27", "travel", "rx = 158.3025", "edition_mark = true"},
	{"1", "8", "QB LOCAL", "support", "rx = 155.5350"},
	{"1", "9", "COUNTY 2", "support", `system = "QB county"`, `talkgroup = "FIRE 2"`},
	{"2", "1", "VFIRE21", "tactical", "rx = 154.2800", "tx_tone = 156.7"},
	{"2", "2", "VFIRE22", "tactical", "rx = 154.2650", "tx_tone = 156.7"},
	{"2", "3", "VFIRE23", "tactical", "rx = 154.2950", "tx_tone = 156.7"},
	{"2", "4", "QB LOCAL", "support", "rx = 155.5350", "rx_tone = 118.8"},
	{"2", "6", "AIRGUARD", "guard", "rx = 168.6250", "tx_tone = 110.9"},
	{"2", "7", "QB TRAV 27", "travel", "rx = 158.3025", "edition_mark = true"},
	{"3", "1", "VFIRE21", "tactical", "rx = 154.2800", "tx_tone = 156.7"},
	{"3", "2", "QB RESCUE", "medical", "rx = 155.5350", "tx_tone = 179.9"},
}

func testLoad() string {
	var b strings.Builder
	b.WriteString(loadHead)
	group := ""
	for _, row := range loadRows {
		if row[0] != group {
			group = row[0]
			fmt.Fprintf(&b, "[[group]]\nnumber = %s\nname = \"Group %s\"\n", group, group)
		}
		fmt.Fprintf(&b, "[[group.channel]]\nnumber = %s\nname = %q\nuse = %q\n%s\n", row[1], row[2], row[3], strings.Join(row[4:], "\n"))
	}
	return b.String()
}

const planHead = `load = "load.toml"
[incident]
name = "Thimble Gulch"
period = 2
from = 2027-08-14T06:00:00-06:00
to = 2027-08-14T18:00:00-06:00
prepared_by = "R. Okafor"
prepared_at = 2027-08-13T20:30:00-06:00
`

// resolve reads and resolves a plan with this text after its head. Reading must
// find nothing wrong.
func resolve(t testing.TB, text string) (*plan.Resolved, finding.List) {
	t.Helper()
	p, l, found, err := plan.Read("plan.toml", plan.Options{ReadFile: func(name string) ([]byte, error) {
		return []byte(map[string]string{"plan.toml": planHead + text, "load.toml": testLoad()}[name]), nil
	}})
	require.NoError(t, err)
	require.Empty(t, found)
	return plan.Resolve(p, l)
}

// sound is resolve where nothing may be wrong.
func sound(t testing.TB, text string) *plan.Resolved {
	t.Helper()
	r, found := resolve(t, text)
	require.Empty(t, found)
	return r
}

func slots(entries ...string) string {
	return "[[slot]]\n" + strings.Join(entries, "\n[[slot]]\n") + "\n"
}

func TestSlotByNamePlaceAndFrequency(t *testing.T) {
	r := sound(t, slots(
		`channel = "QB TAC 1"`,
		"group = 1\nnumber = 4",
		"rx = 154.2650",
		"rx = 155.5350\nrx_tone = 118.8",
		"rx = 155.5350\ntx_tone = 179.9",
		"rx = 155.5350\nrx_tone = \"-\"\ntx_tone = \"-\"",
		"rx = 153.1550\ntx = 158.5725",
		"rx = 152.4125\ntx_tone = 162.2", // the plan sheet's tone chooses the site
		`channel = "COUNTY 2"`,
	))
	var got []string
	for _, s := range r.Slots {
		got = append(got, s.Channel.Place()+" "+s.Channel.Name)
	}
	assert.Equal(t, []string{
		"1-03 QB TAC 1", "1-04 QB TAC 2", "2-02 VFIRE22", "2-04 QB LOCAL", "3-02 QB RESCUE", "1-08 QB LOCAL",
		"1-02 QB CMD 2", "1-01 QB CMD 1", "1-09 COUNTY 2",
	}, got)
	assert.Equal(t, radio.Support, r.Slots[3].Use)
	assert.Equal(t, "Hobnail", r.Slots[7].Repeater.Name)
	assert.Equal(t, radio.Tone(1622), r.Slots[7].TxTone)
	assert.Equal(t, 7, r.Slots[7].ToneNumber)
	assert.Equal(t, "Bellwether", r.Slots[6].Repeater.Name, "the only site that repeats it with its own tone")
	assert.Nil(t, r.Slots[0].Repeater)
	assert.Empty(t, r.Unresolved)
}

func TestOneChannelInSeveralPlaces(t *testing.T) {
	r := sound(t, slots(`channel = "VFIRE21"`))
	require.Len(t, r.Slots[0].Places, 2)
	assert.Equal(t, "2-01", r.Slots[0].Places[0].Place())
	assert.Equal(t, "3-01", r.Slots[0].Places[1].Place())
}

func TestWhatCannotBeResolved(t *testing.T) {
	for _, c := range []struct {
		slot, rule, message string
		help                []string
	}{
		{
			`channel = "VFIER21"`, "unknown-channel", `slot 1: no channel "VFIER21" in the load`,
			[]string{`did you mean "VFIRE21" (2-01, 154.2800)?`, `did you mean "VFIRE22" (2-02, 154.2650)?`, `did you mean "VFIRE23" (2-03, 154.2950)?`},
		}, {
			`channel = "qb cmd 1"`, "unknown-channel", `slot 1: no channel "qb cmd 1" in the load`,
			[]string{`did you mean "QB CMD 1" (1-01, 152.4125/157.6725)?`},
		}, {
			`channel = "154.2800"`, "unknown-channel", `slot 1: no channel "154.2800" in the load`,
			[]string{"for a frequency write rx = 154.2800 in place of channel"},
		}, {
			`channel = "NOTHING LIKE IT"`, "unknown-channel", `slot 1: no channel "NOTHING LIKE IT" in the load`,
			[]string{"write the display name just as the load has it"},
		}, {
			`channel = "QB LOCAL"`, "ambiguous-channel", `slot 1: "QB LOCAL" may be 2 different channels of the load`,
			[]string{
				"write group = 1 and number = 8 for 1-08 QB LOCAL 155.5350",
				"write group = 2 and number = 4 for 2-04 QB LOCAL 155.5350 118.8/-",
			},
		}, {
			`rx = 155.5350`, "ambiguous-channel", `slot 1: 155.5350 may be 3 different channels of the load`,
			[]string{
				"write group = 1 and number = 8 for 1-08 QB LOCAL 155.5350",
				"write group = 2 and number = 4 for 2-04 QB LOCAL 155.5350 118.8/-",
				"write group = 3 and number = 2 for 3-02 QB RESCUE 155.5350 -/179.9",
			},
		}, {
			`rx = 154.256`, "unknown-channel", "slot 1: no channel of the load receives on 154.2560",
			[]string{"two digits swapped: 2-02 VFIRE22 154.2650 -/156.7"},
		}, {
			`rx = 154.2725`, "unknown-channel", "slot 1: no channel of the load receives on 154.2725",
			[]string{"7.5 kHz above: 2-01 VFIRE21 154.2800 -/156.7", "7.5 kHz below: 2-02 VFIRE22 154.2650 -/156.7", "7.5 kHz above: 3-01 VFIRE21 154.2800 -/156.7"},
		}, {
			`rx = 157.6725`, "unknown-channel", "slot 1: no channel of the load receives on 157.6725",
			[]string{"it is the transmit frequency of 1-01 QB CMD 1 152.4125/157.6725 103.5/site: rx is what the radio receives"},
		}, {
			`rx = 160.0`, "unknown-channel", "slot 1: no channel of the load receives on 160.0000",
			[]string{"no channel is within 12.5 kHz or one slip of a digit; compare it with the plan sheet"},
		}, {
			"rx = 154.2800\ntx_tone = 136.5", "channel-contradicts", "slot 1: no channel on 154.2800 has tx_tone 136.5",
			[]string{"the load has 2-01 VFIRE21 154.2800 -/156.7"},
		}, {
			"rx = 152.4125\ntx = 157.6750", "channel-contradicts", "slot 1: no channel on 152.4125 has tx 157.6750",
			[]string{"the load has 1-01 QB CMD 1 152.4125/157.6725 103.5/site"},
		}, {
			"rx = 152.4125\ntx_tone = 118.8", "channel-contradicts", "slot 1: no channel on 152.4125 has tx_tone 118.8",
			[]string{
				"the load has 1-01 QB CMD 1 152.4125/157.6725 103.5/site",
				`write site = "Bellwether" (tone 4, 146.2)`, `write site = "Hobnail" (tone 7, 162.2)`,
			},
		}, {
			"group = 1\nnumber = 12", "unknown-channel", "slot 1: no channel 12 in group 1 of the load",
			[]string{`group 1 "Group 1" has channels 1 to 9`},
		}, {
			"group = 4\nnumber = 1", "unknown-channel", "slot 1: no group 4 in the load",
			[]string{"the load has groups 1, 2, 3", "group and number exchanged is 1-04 QB TAC 2 153.7400"},
		}, {
			`channel = "QB CMD 1"`, "no-site", "slot 1: no repeater chosen for QB CMD 1",
			[]string{`write site = "Bellwether" (tone 4, 146.2)`, `write site = "Hobnail" (tone 7, 162.2)`},
		}, {
			"channel = \"QB CMD 2\"\nsite = \"Hobnail\"", "site-not-carrying", "slot 1: QB CMD 2 is not repeated at Hobnail",
			[]string{`write site = "Bellwether" (tone 4, 146.2)`},
		}, {
			"channel = \"QB CMD 1\"\nsite = \"Bellweather\"", "unknown-site", `slot 1: no site "Bellweather" in the load`,
			[]string{`did you mean "Bellwether"?`},
		}, {
			"channel = \"QB CMD 1\"\ntone = 6", "unknown-tone", "slot 1: no tone 6 in the load",
			[]string{"the load has tones 4 (146.2), 7 (162.2)"},
		}, {
			"channel = \"VFIRE21\"\ntone = 4", "site-not-needed", "slot 1: VFIRE21 always transmits 156.7 Hz, so no tone can be chosen",
			[]string{"delete tone", "or correct tx_tone of the channel in the load, if its repeater is chosen by site"},
		}, {
			"channel = \"QB TAC 1\"\ntone = 4", "site-not-needed", "slot 1: QB TAC 1 always transmits without a tone, so no tone can be chosen",
			[]string{"delete tone", "or correct tx_tone of the channel in the load, if its repeater is chosen by site"},
		},
	} {
		_, found := resolve(t, slots(c.slot))
		if assert.Len(t, found, 1, c.slot) {
			assert.Equal(t, c.rule, found[0].Rule, c.slot)
			assert.Equal(t, c.message, found[0].Message)
			assert.Equal(t, c.help, found[0].Help, c.slot)
			assert.Equal(t, finding.Error, found[0].Severity)
			assert.GreaterOrEqual(t, found[0].Place.Line, 9)
		}
	}
}

func TestChoosingWhatTheChannelTransmitsAnywayIsFine(t *testing.T) {
	r := sound(t, slots("channel = \"QB CMD 2\"\nsite = \"Bellwether\"", "channel = \"QB CMD 2\"\ntone = 4"))
	for _, s := range r.Slots {
		assert.Equal(t, "Bellwether", s.Repeater.Name)
		assert.Equal(t, 4, s.ToneNumber)
	}
}

func TestAlsoAndEditionMark(t *testing.T) {
	r, found := resolve(t, slots(`channel = "VFIRE21"`)+`
[[also]]
channel = "QB CMD 1"
site = "Hobnail"
when = "to dispatch"
[[also]]
channel = "COUNTY 2"
when = "in town"
[[also]]
channel = "QB CMD 1"
when = "never"
[[also]]
channel = "QB NONE"
when = "never"
`)
	require.Len(t, r.Also, 3)
	assert.Equal(t, radio.Tone(1622), r.Also[0].TxTone)
	assert.Equal(t, "Hobnail", r.Also[0].Repeater.Name)
	assert.True(t, r.Also[1].Channel.Trunked())
	require.Len(t, found, 2)
	assert.Equal(t, "[[also]] 3: no repeater chosen for QB CMD 1", found[0].Message)
	assert.Equal(t, `[[also]] 4: no channel "QB NONE" in the load`, found[1].Message)
	require.Len(t, r.EditionMarks, 1, "in two groups, but one channel")
	assert.Equal(t, "1-07", r.EditionMarks[0].Place())
}

func divisions(ids ...string) string {
	var b strings.Builder
	for _, id := range ids {
		id, beside, functional := strings.Cut(id, "|")
		fmt.Fprintf(&b, "[[division]]\nid = %q\n", id)
		if functional {
			b.WriteString("functional = true\n")
			if beside != "" {
				fmt.Fprintf(&b, "beside = [%s]\n", beside)
			}
		}
	}
	return b.String()
}

func TestNeighbors(t *testing.T) {
	for _, c := range []struct {
		ids  []string
		want string // of each division, in order
	}{
		{[]string{"A"}, "A:"},
		{[]string{"A", "Z"}, "A:Z Z:A"},
		{[]string{"A", "B", "Z"}, "A:B,Z B:A,Z Z:A,B"},
		{[]string{"A", "B", "M", "Z"}, "A:B,Z B:A,M M:B,Z Z:A,M"},
		{[]string{"A", `SP|"B"`, "B", "M", "Z"}, "A:B,Z SP:B B:A,SP,M M:B,Z Z:A,M"},
		{[]string{"A", "Z", "AIR|", `SP|"A", "ST"`, "ST|"}, "A:Z,SP Z:A AIR: SP:A,ST ST:SP"},
		{[]string{"A", `SP|"A", "A"`}, ""}, // refused by reading: a name twice
	} {
		if c.want == "" {
			continue
		}
		r := sound(t, slots(`channel = "VFIRE21"`)+divisions(c.ids...))
		var got []string
		for _, d := range r.Plan.Divisions {
			var near []string
			for _, n := range r.Neighbors(d) {
				near = append(near, n.ID)
			}
			got = append(got, d.ID+":"+strings.Join(near, ","))
		}
		assert.Equal(t, c.want, strings.Join(got, " "))
		assert.Nil(t, r.Neighbors(nil))
	}
}

func TestNeighborhoodIsMutual(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := &plan.Plan{}
		n := rapid.IntRange(1, 9).Draw(t, "divisions")
		for i := range n {
			d := &plan.Division{ID: string(rune('A' + i)), Functional: rapid.Bool().Draw(t, "functional")}
			if d.Functional {
				for _, k := range rapid.SliceOfDistinct(rapid.IntRange(0, n-1), func(k int) int { return k }).Draw(t, "beside") {
					d.Beside = append(d.Beside, string(rune('A'+k)))
				}
			}
			p.Divisions = append(p.Divisions, d)
		}
		r := &plan.Resolved{Plan: p}
		for _, d := range p.Divisions {
			lineNeighbors := 0
			for _, o := range r.Neighbors(d) {
				if o == d {
					t.Fatalf("%s is its own neighbor", d.ID)
				}
				back := r.Neighbors(o)
				if !assert.Contains(t, back, d) {
					t.FailNow()
				}
				if !d.Functional && !o.Functional {
					lineNeighbors++
				}
			}
			if lineNeighbors > 2 {
				t.Fatalf("%s has %d neighbors on the line", d.ID, lineNeighbors)
			}
		}
	})
}

const crew = `
[[position]]
name = "Engine boss"
priority = "own"
scan = ["neighbours", "command"]
[[position]]
name = "Lookout"
priority = "AIRGUARD"
scan = ["own", "all"]
[[unit]]
name = "Engine 611"
division = "A"
seats = { "Engine boss" = 1, "Lookout" = 2 }
[[unit]]
name = "Structure 1"
division = "SP"
seats = { "Engine boss" = 1 }
[[unit]]
name = "Command post"
seats = { "Engine boss" = 1, "Lookout" = 1 }
`

// marks writes what a card does with each slot: t talks, p priority, s scans.
func marks(c *plan.Card) string {
	var b strings.Builder
	for i, m := range c.Marks {
		fmt.Fprintf(&b, " %d", i+1)
		for _, f := range []struct {
			on bool
			s  string
		}{{m.Talk, "t"}, {m.Priority, "p"}, {m.Scan, "s"}} {
			if f.on {
				b.WriteString(f.s)
			}
		}
	}
	return strings.TrimSpace(b.String())
}

func TestCardsAndMarks(t *testing.T) {
	r := sound(t, slots(
		"channel = \"QB CMD 1\"\nsite = \"Bellwether\"",
		"channel = \"VFIRE21\"\ndivision = \"A\"",
		"channel = \"VFIRE22\"\ndivision = [\"B\", \"A\"]",
		"channel = \"VFIRE23\"\ndivision = \"Z\"",
		"group = 1\nnumber = 8\ndivision = \"SP\"",
		`channel = "QB AG 1"`,
		`channel = "AIRGUARD"`,
	)+divisions("A", "B", "Z", `SP|"A"`)+crew)
	var got []string
	for _, c := range r.Cards {
		got = append(got, fmt.Sprintf("%d %s, %s %d/%d: %s", c.Number, c.Unit.Name, c.Position.Name, c.Nth, c.Of, marks(c)))
	}
	assert.Equal(t, []string{
		"1 Engine 611, Engine boss 1/1: 1s 2tp 3s 4s 5s 6 7",
		"2 Engine 611, Lookout 1/2: 1s 2ts 3s 4s 5s 6s 7p",
		"3 Engine 611, Lookout 2/2: 1s 2ts 3s 4s 5s 6s 7p",
		"4 Structure 1, Engine boss 1/1: 1s 2s 3s 4 5tp 6 7",
		"5 Command post, Engine boss 1/1: 1tp 2 3 4 5 6 7",
		"6 Command post, Lookout 1/1: 1ts 2s 3s 4s 5s 6s 7p",
	}, got)
	assert.Equal(t, "A", r.Cards[0].Division.ID)
	assert.Nil(t, r.Cards[4].Division)
	assert.Equal(t, []string{"A", "B"}, []string{r.Slots[2].Users[0].ID, r.Slots[2].Users[1].ID}, "in plan order")
	assert.Len(t, r.Lists, 1)
	assert.Empty(t, r.Lists[0].Name(r))
	assert.True(t, r.Lists[0].Shared)
}

func TestListsByDivision(t *testing.T) {
	r := sound(t, slots(
		"channel = \"QB CMD 1\"\nsite = \"Bellwether\"",
		"channel = \"VFIRE21\"\ndivision = \"A\"\ncarried_by = [\"B\", \"A\"]",
		"channel = \"VFIRE22\"\ndivision = \"B\"\ncarried_by = [\"A\", \"B\"]",
		"channel = \"VFIRE23\"\ndivision = \"Z\"\ncarried_by = [\"Z\", \"SP\"]",
		"channel = \"QB TAC 1\"\ndivision = \"SP\"\ncarried_by = [\"Z\", \"SP\"]",
		`channel = "AIRGUARD"`,
	)+divisions("A", "Z", "B", `SP|"Z"`, "M")+crew)
	var got []string
	for _, l := range r.Lists {
		var names []string
		for _, s := range l.Slots {
			names = append(names, s.Channel.Name)
		}
		got = append(got, l.Name(r)+": "+strings.Join(names, ", "))
		decoded, code, err := slotlist.Parse(l.Text)
		require.NoError(t, err)
		assert.Equal(t, l.Code, code)
		assert.Len(t, decoded.Lines, len(l.Slots))
	}
	assert.Equal(t, []string{
		"Divisions A, B: QB CMD 1, VFIRE21, VFIRE22, AIRGUARD",
		"Division Z and functional group SP: QB CMD 1, VFIRE23, QB TAC 1, AIRGUARD",
		"Division M and units without a division: QB CMD 1, AIRGUARD",
	}, got)
	assert.NotEqual(t, r.Lists[0].Code, r.Lists[1].Code)
	for _, d := range r.Plan.Divisions {
		assert.Contains(t, r.ListOf(d).Divisions, d)
	}
	assert.Same(t, r.Lists[2], r.ListOf(nil))
	// A neighbor's tactical that is not in the list cannot be marked.
	assert.Equal(t, "1s 2tp 3 4", marks(r.Cards[0]), "Z and M are beside A")
}

func TestListsWithoutDivisionsAndUnits(t *testing.T) {
	r := sound(t, slots(`channel = "VFIRE21"`))
	require.Len(t, r.Lists, 1)
	assert.True(t, r.Lists[0].Shared)
	assert.Empty(t, r.Lists[0].Divisions)

	r = sound(t, slots(`channel = "VFIRE21"`)+divisions("A"))
	require.Len(t, r.Lists, 1)
	assert.False(t, r.Lists[0].Shared, "nobody is without a division")
	assert.Nil(t, r.ListOf(nil))
}

// The vector of the list text's grammar, through a plan and a load.
func TestListTextOfAPlan(t *testing.T) {
	r := sound(t, slots(
		"channel = \"QB CMD 1\"\nsite = \"Bellwether\"",
		"channel = \"VFIRE21\"\ndivision = \"A\"",
		"channel = \"VFIRE23\"\ndivision = \"Z\"",
		`channel = "QB AG 1"`,
		`channel = "AIRGUARD"`,
	)+divisions("A", "Z"))
	assert.Equal(t, `SLOTS 1 THIMBLE GULCH/2
2027-08-14T06:00/2027-08-14T18:00 LOAD 2027
1 CMD QB CMD 1 152.4125/157.6725 103.5/146.2
2 TAC:A VFIRE21 154.2800 -/156.7
3 TAC:Z VFIRE23 154.2950 -/156.7
4 A/G QB AG 1 151.8575 -/-
5 GUARD AIRGUARD 168.6250 -/110.9
=J2MX
`, r.Lists[0].Text)
	assert.Equal(t, slotlist.Code("J2MX"), r.Lists[0].Code)
}

func TestPlaceInTheGroupThatHoldsMost(t *testing.T) {
	place := func(entries ...string) string {
		r := sound(t, slots(entries...))
		l := r.Lists[0]
		var got []string
		for i := range l.Slots {
			got = append(got, l.Place(i).Place())
		}
		return strings.Join(got, " ")
	}
	local := []string{"channel = \"QB TAC 1\"", "channel = \"QB TAC 2\"", "channel = \"VFIRE22\"", "channel = \"AIRGUARD\""}
	fire := []string{"channel = \"QB TAC 1\"", "channel = \"VFIRE21\"", "channel = \"VFIRE22\"", "channel = \"AIRGUARD\""}
	assert.Equal(t, "1-03 1-04 2-02 1-06", place(local...), "group 1 holds three, group 2 two")
	assert.Equal(t, "1-03 2-01 2-02 2-06", place(fire...), "group 2 holds three, group 1 two")
	assert.Equal(t, "1-06", place("channel = \"AIRGUARD\""), "of equal groups the lowest number")
	assert.Equal(t, "1-06", place("group = 2\nnumber = 6"), "wherever it was named")
	assert.Equal(t, "3-02 3-01", place("channel = \"QB RESCUE\"", "channel = \"VFIRE21\""), "group 3 holds two, group 2 one")
}

func TestUnknownNamesInThePlan(t *testing.T) {
	_, found := resolve(t, slots(
		"channel = \"VFIRE21\"\ndivision = [\"A\", \"Q\"]\ncarried_by = \"a\"",
	)+divisions("A", `SP|"AA"`)+`
[[position]]
name = "Engine boss"
priority = "travel"
scan = ["neighbor", "VFIRE22", "VFIRE21", "own"]
[[unit]]
name = "Engine 611"
division = "S"
seats = { "Engine bosss" = 1, "Engine boss" = 1, "Pilot" = 1 }
`)
	var got []string
	for _, f := range found {
		got = append(got, fmt.Sprintf("%s / %s", f.Message, strings.Join(f.Help, " / ")))
	}
	const selectors = "selectors are own, neighbors, all, command, tactical, air-to-ground, guard, support, medical, or the display name of a slot"
	assert.Equal(t, []string{
		`slot 1: division: no division "Q" in the plan / the plan has "A", "SP"; or add [[division]] with id = "Q"`,
		`slot 1: carried_by: no division "a" in the plan / did you mean "A"?`,
		`functional group SP: beside: no division "AA" in the plan / did you mean "A"?`,
		`position "Engine boss": priority "travel" is neither a selector nor a slot / ` + selectors,
		`position "Engine boss": scan "neighbor" is neither a selector nor a slot / did you mean "neighbors"? / ` + selectors,
		`position "Engine boss": scan VFIRE22 is in the load, but in no slot of this plan / did you mean "VFIRE21"? / ` + selectors,
		`unit "Engine 611": no division "S" in the plan / the plan has "A", "SP"; or add [[division]] with id = "S"`,
		`unit "Engine 611": no position "Engine bosss" in the plan / did you mean "Engine boss"?`,
		`unit "Engine 611": no position "Pilot" in the plan / add [[position]] with name = "Pilot" and what it listens to`,
	}, got)
}

func TestResolveGoesOnWithHalfAPlan(t *testing.T) {
	r, found := plan.Resolve(nil, nil)
	assert.Nil(t, r)
	assert.Nil(t, found)
	r, _ = plan.Resolve(&plan.Plan{}, &plan.Load{})
	assert.Nil(t, r, "a load without a channel resolves nothing")
	r, found = plan.Resolve(&plan.Plan{Slots: []*plan.Slot{{}}, Units: []*plan.Unit{{}}, Divisions: []*plan.Division{{}}},
		&plan.Load{Groups: []*plan.Group{{Channels: []*plan.Channel{{}}}}})
	require.NotNil(t, r)
	assert.Empty(t, found, "reading has said what is missing")
	assert.Len(t, r.Unresolved, 1)
	assert.Empty(t, r.Cards)
}

// Swapped digits, worked by hand: 154.2560 has eight pairs of neighbors, two
// channels of the load are one swap away.
func TestNearFrequency(t *testing.T) {
	l := &plan.Load{Groups: []*plan.Group{{Number: 1}}}
	for i, mhz := range []string{"154.2650", "145.2560", "154.2685", "154.2435", "154.2434", "154.2686", "154.2560", "154.5260"} {
		f, err := radio.ParseMHz(mhz)
		require.NoError(t, err)
		l.Groups[0].Channels = append(l.Groups[0].Channels, &plan.Channel{Number: i + 1, Rx: f, Tx: f})
	}
	var got []string
	for _, n := range l.NearFrequency(154_256_000) {
		got = append(got, n.Channel.Rx.String()+" "+n.Why)
	}
	assert.Equal(t, []string{
		"154.2650 two digits swapped",
		"154.5260 two digits swapped",
		"145.2560 two digits swapped",
		"154.2685 12.5 kHz above",
		"154.2435 12.5 kHz below",
	}, got)
}

// Other slips, worked by hand: a digit too many, too few, or wrong, the last only
// where nothing else is near.
func TestNearFrequencyAfterASlip(t *testing.T) {
	l := &plan.Load{Groups: []*plan.Group{{Number: 1, Channels: []*plan.Channel{
		{Number: 1, Rx: 154_280_000, Tx: 154_280_000}, {Number: 2, Rx: 155_340_000, Tx: 150_340_000}, {Number: 3},
	}}}}
	for typed, want := range map[radio.Hertz]string{
		154_228_000:   "154.2800 a digit doubled",
		1_544_280_000: "154.2800 a digit doubled",
		15_280_000:    "154.2800 a digit left out",
		15_340_000:    "155.3400 a digit left out",
		154_800_000:   "154.2800 a digit left out",
		154_380_000:   "154.2800 one digit wrong",
		154_275_000:   "154.2800 5 kHz above",
	} {
		near := l.NearFrequency(typed)
		require.Len(t, near, 1, typed)
		assert.Equal(t, want, near[0].Channel.Rx.String()+" "+near[0].Why)
	}
	assert.Empty(t, l.NearFrequency(154_391_000))
	byTx := plan.NearIn(l.Channels(), 150_430_000, func(c *plan.Channel) radio.Hertz { return c.Tx })
	require.Len(t, byTx, 1)
	assert.Equal(t, plan.Swapped, byTx[0].Slip)
}

// Whatever the plan, every card has one slot to talk on, at most one priority,
// and scans no slot that has priority.
func TestMarksOfAnyPlan(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		r := plantest.Make(t, plantest.Shape{
			Seed: rapid.Uint64().Draw(rt, "seed"), Slots: rapid.IntRange(3, 16).Draw(rt, "slots"), NameLength: 8,
			Divisions: rapid.IntRange(0, 12).Draw(rt, "divisions"), Functional: rapid.Bool().Draw(rt, "functional"),
			WordLength: 4, Units: 3, Seats: 3, PerSeat: 2, Mixed: rapid.Bool().Draw(rt, "mixed"),
		})
		require.Len(rt, r.Cards, 18)
		for i, c := range r.Cards {
			require.Equal(rt, i+1, c.Number)
			require.Len(rt, c.Marks, len(c.List.Slots))
			talk, priority := 0, 0
			for _, m := range c.Marks {
				talk += count(m.Talk)
				priority += count(m.Priority)
				require.False(rt, m.Priority && m.Scan)
			}
			require.Equal(rt, 1, talk)
			require.Equal(rt, 1, priority)
			require.Same(rt, r.ListOf(c.Division), c.List)
		}
	})
}

func count(b bool) int {
	if b {
		return 1
	}
	return 0
}

func BenchmarkResolve(b *testing.B) {
	p, l, found, err := plan.Read("../examples/thimble-gulch/plan.toml", plan.Options{ReadFile: os.ReadFile})
	require.NoError(b, err)
	require.Empty(b, found)
	for b.Loop() {
		plan.Resolve(p, l)
	}
}

// A load of invented channels makes every plan on it an exercise.
func TestLoadMakesAnExercise(t *testing.T) {
	p, l := plantest.Written(plantest.Shape{Slots: 4, NameLength: 6, Divisions: 2, Units: 1})
	l.About.Exercise = true
	r, found := plan.Resolve(p, l)
	require.Empty(t, found)
	assert.True(t, r.Plan.Incident.Exercise)
}

// On a small fire with one tactical and no divisions everybody talks on that;
// with two, nobody can say on which, and command it is.
func TestTheOneTacticalWithoutDivisions(t *testing.T) {
	const seats = `[[position]]
name = "Firefighter"
priority = "own"
[[unit]]
name = "Engine 611"
seats = { "Firefighter" = 1 }
`
	talks := func(r *plan.Resolved) int {
		require.Len(t, r.Cards, 1)
		return slices.IndexFunc(r.Cards[0].Marks, func(m plan.Mark) bool { return m.Talk })
	}
	one := []string{"channel = \"QB CMD 1\"\nsite = \"Bellwether\"", `channel = "VFIRE21"`, `channel = "AIRGUARD"`}
	r := sound(t, slots(one...)+seats)
	assert.Equal(t, 1, talks(r))
	assert.True(t, r.Cards[0].Marks[1].Priority)
	assert.Equal(t, 0, talks(sound(t, slots(slices.Insert(one, 2, `channel = "VFIRE23"`)...)+seats)))
	assert.Equal(t, 0, talks(sound(t, slots(one...)+"[[division]]\nid = \"A\"\n"+seats)), "who is in no division of several talks on command")
}

// A command repeater for each side of a large fire: command is one's own.
func TestCommandOfTheOwnDivision(t *testing.T) {
	r := sound(t, slots(
		"channel = \"QB CMD 1\"\nsite = \"Bellwether\"\ndivision = \"A\"", "rx = 153.1550\ntx = 158.5725\nuse = \"command\"\ndivision = \"Z\"",
		"channel = \"VFIRE21\"\ndivision = \"A\"", "channel = \"VFIRE22\"\ndivision = [\"Z\", \"B\"]",
	)+"[[division]]\nid = \"A\"\n[[division]]\nid = \"Z\"\n[[division]]\nid = \"B\"\n")
	require.Len(t, r.Lists, 1)
	for i, want := range [][]int{{0}, {1}, {0, 1}} {
		assert.Equal(t, want, r.Matches("command", r.Lists[0], r.Plan.Divisions[i]), r.Plan.Divisions[i].ID)
	}
	assert.Equal(t, []int{0, 1}, r.Matches("command", r.Lists[0], nil))
	assert.Equal(t, 2, r.Lists[0].TalkSlot(r.Plan.Divisions[0]), "the tactical comes before command")
}
