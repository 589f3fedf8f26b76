package plan_test

import (
	"errors"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"slotcard/plan"
)

// A plan whose people are in the station file that it names as its base.
const (
	basedPlan = `load = "load.toml"
base = "../station.toml"
[incident]
name = "Thimble Gulch"
period = 2
from = 2027-08-14T06:00:00-06:00
to = 2027-08-14T18:00:00-06:00
prepared_by = "R. Okafor"
prepared_at = 2027-08-13T20:30:00-06:00
[[slot]]
channel = "VFIRE21"
[[slot]]
channel = "QB AG 1"
`
	stationText = `[[position]]
name = "Engine boss"
priority = "own"
scan = ["neighbours", "all"]
[[unit]]
name = "Engine 611"
seats = { "Engine boss" = 2 }
[[also]]
channel = "QB AG 1"
when = "on the road"
[[accept]]
rule = "few-tacticals"
subject = "list"
because = "one crew"
by = "R. Okafor"
[card]
size = "a6"
[stock]
width = 85
height = 55
columns = 2
rows = 5
left = 20
top = 12
`
)

func based(t *testing.T, planText, station string) (*plan.Plan, *plan.Load, []string, error) {
	t.Helper()
	in := files{"fire/plan.toml": planText, "fire/load.toml": sample(t, "load.toml"), "station.toml": station}
	p, l, found, err := plan.Read("fire/plan.toml", in.options())
	return p, l, said(found), err
}

func TestBaseGivesWhatThePlanLacks(t *testing.T) {
	p, l, found, err := based(t, basedPlan, stationText)
	require.NoError(t, err)
	require.Empty(t, found)
	require.NotNil(t, p.Station)
	assert.Equal(t, "station.toml", p.Station.Path)
	require.Len(t, p.Units, 1)
	assert.Equal(t, plan.Names{plan.Neighbors, "all"}, p.Positions[0].Scan, "either spelling")
	assert.Equal(t, "on the road", p.Also[0].When)
	assert.Equal(t, "few-tacticals", p.Accepts[0].Rule)
	assert.Equal(t, "a6", p.Card.Size)
	assert.Equal(t, 5, p.Stock.Rows)
	assert.Equal(t, "station.toml:6:8", p.Units[0].At("name").String())

	r, more := plan.Resolve(p, l)
	require.Empty(t, said(more))
	assert.Len(t, r.Cards, 2)

	own := basedPlan + "[[unit]]\nname = \"Crew 9\"\nseats = { \"Engine boss\" = 1 }\n[card]\npaper = \"a4\"\n"
	p, _, found, err = based(t, own, stationText)
	require.NoError(t, err)
	require.Empty(t, found)
	require.Len(t, p.Units, 1)
	assert.Equal(t, "Crew 9", p.Units[0].Name, "units of the plan alone")
	assert.Equal(t, []string{"", "a4"}, []string{p.Card.Size, p.Card.Paper}, "the card of the plan alone")
	assert.Equal(t, "Engine boss", p.Positions[0].Name, "positions of the station")
}

func TestFaultsOfABase(t *testing.T) {
	for _, c := range []struct{ plan, station, want string }{
		{basedPlan, strings.Replace(stationText, `priority = "own"`, `priorty = "own"`, 1),
			`station.toml:3:1: error: there is no key "priorty" in [position]; the closest is priority [unknown-key]`},
		{basedPlan, stationText + "[[slot]]\nchannel = \"VFIRE21\"\n",
			`fire/plan.toml:2:8: error: ../station.toml is a plan, not a station file [wrong-file]`},
		{basedPlan, "[load]\nname = \"x\"\n", `fire/plan.toml:2:8: error: ../station.toml is a load, not a station file [wrong-file]`},
		{basedPlan, stationText + "[[division]]\nid = \"A\"\n",
			`station.toml:25:1: error: there is no key "division" at the top of the file [unknown-key]`},
		{strings.Replace(basedPlan, "../station.toml", "/station.toml", 1), stationText,
			`fire/plan.toml:2:8: error: base is an absolute path, which no other machine has [load-path]`},
		{basedPlan, strings.Replace(stationText, "= 2 }", "= 0 }", 1),
			`station.toml:7:11: error: seats "Engine boss" has 0 seats; 1 to 999 are possible [out-of-range]`},
	} {
		_, _, found, err := based(t, c.plan, c.station)
		require.NoError(t, err)
		assert.Equal(t, []string{c.want}, found)
	}
	in := files{"plan.toml": strings.Replace(basedPlan, "../station", "stat", 1), "load.toml": sample(t, "load.toml")}
	p, l, _, err := plan.Read("plan.toml", in.options())
	assert.ErrorIs(t, err, plan.ErrStation)
	assert.False(t, errors.Is(err, nil))
	assert.NotNil(t, p)
	assert.NotNil(t, l, "the load is read all the same")
}

func TestKinds(t *testing.T) {
	for text, want := range map[string]plan.Kind{
		basedPlan:                       plan.PlanFile,
		stationText:                     plan.StationFile,
		"[card]\nsize = \"a6\"\n":       plan.StationFile,
		"":                              plan.PlanFile,
		"[load]\n":                      plan.LoadFile,
		"load = \"x\"\n[card]\n":        plan.PlanFile,
		"[[group]]\nnumber = 1\n":       plan.LoadFile,
		"[[accept]]\n[[division]]\n":    plan.PlanFile,
		"base = \"x.toml\"\n[[also]]\n": plan.PlanFile,
	} {
		assert.Equal(t, want, plan.KindOf([]byte(text)), text)
	}
	_, _, found, err := plan.Read("station.toml", files{"station.toml": stationText}.options())
	require.NoError(t, err)
	assert.Equal(t, []string{"station.toml: error: this file is a station file, not a plan [wrong-file]"}, said(found))
	_, found, err = plan.ReadStation("plan.toml", files{"plan.toml": basedPlan}.options())
	require.NoError(t, err)
	assert.Equal(t, []string{"plan.toml: error: this file is a plan, not a station file [wrong-file]"}, said(found))
}

func TestRevision(t *testing.T) {
	for _, c := range []struct{ keys, want string }{
		{"revision = 2\nrevised_at = 2027-08-14T13:05:00-06:00", ""},
		{"revision = 2\nrevised_at = 2027-08-14T19:05:00Z", ""},
		{"revision = 3\nrevised_at = 2027-08-14T06:00:00-06:00", ""},
		{"revision = 1", "plan.toml:10:12: error: revision 1 is what every period begins with [out-of-range]"},
		{"revision = 0", "plan.toml:10:12: error: revision 0 is not between 2 and 9999 [out-of-range]"},
		{"revision = 2", "plan.toml:10:12: error: revision 2 does not say when it was made [revision]"},
		{"revised_at = 2027-08-14T13:05:00-06:00", "plan.toml:10:14: error: revised_at stands without revision [revision]"},
		{"revision = 2\nrevised_at = 2027-08-14T05:59:00-06:00",
			"plan.toml:11:14: error: revised_at 2027-08-14T05:59:00-06:00 is not within the period, from 2027-08-14T06:00:00-06:00 to 2027-08-14T18:00:00-06:00 [revision]"},
		{"revision = 2\nrevised_at = 2027-08-14T13:05:00", "plan.toml:11:14: error: revised_at has no UTC offset [no-offset]"},
		{"elevation_ft = 5905.5", ""},
		{"elevation_ft = 29600", "plan.toml:10:16: error: elevation_ft 29600 is not between -1640 and 29527 feet [out-of-range]"},
		{"elevation_m = 1800\nelevation_ft = 5905", "plan.toml:11:16: error: elevation_m and elevation_ft both give the elevation [elevation-twice]"},
		{"contact = \"555 0100\"", ""},
	} {
		text := strings.Replace(basedPlan, "base = \"../station.toml\"\n", "", 1)
		text = strings.Replace(text, "[[slot]]", c.keys+"\n[[slot]]", 1)
		text = strings.Replace(text, "[incident]", "\n[incident]", 1)
		p, l, found, err := plan.Read("plan.toml", files{"plan.toml": text, "load.toml": sample(t, "load.toml")}.options())
		require.NoError(t, err)
		assert.Equal(t, c.want, strings.Join(said(found), "\n"), c.keys)
		if c.want != "" {
			continue
		}
		r, _ := plan.Resolve(p, l)
		head, _, _ := strings.Cut(r.Lists[0].Text, "\n")
		want := "SLOTS 1 THIMBLE GULCH/2"
		if n := p.Incident.Revision; n > 0 {
			want += "." + string(rune('0'+n))
		}
		assert.Equal(t, want, head)
		if p.Incident.ElevationFt != nil {
			assert.InDelta(t, 1800, *p.Incident.Elevation, 0.01, "1,800 m are 5,905.5 ft")
		}
	}
}

// Keys that have two spellings: either is read, not both.
func TestTwoSpellings(t *testing.T) {
	read := func(old, new string) (*plan.Load, []string) {
		text := strings.Replace(sample(t, "load.toml"), old, new, 1)
		require.NotEqual(t, sample(t, "load.toml"), text)
		l, found, err := plan.ReadLoad("load.toml", files{"load.toml": text}.options())
		require.NoError(t, err)
		return l, said(found)
	}
	l, found := read("colour    =", "color     =")
	assert.Empty(t, found)
	assert.Equal(t, "orange", l.About.Colour)
	assert.Equal(t, "load.toml:5:13", l.About.At("color").String())
	l, found = read(`colour    = "orange"`, "color = \"red\"\ncolour = \"orange\"")
	assert.Equal(t, []string{"load.toml:6:1: error: color and colour are one key; color stands in line 5 [duplicate-key]"}, found)
	assert.Equal(t, "red", l.About.Colour)
	_, found = read(`colour    = "orange"`, "colour = 3")
	assert.Equal(t, []string{"load.toml:5:10: error: colour must be text in quotes, not the number 3 [wrong-type]"}, found)
	_, found = read(`colour    = "orange"`, "colour = ''")
	assert.Equal(t, []string{"load.toml:5:10: error: colour is empty [empty-text]"}, found)
	l, found = read("[radio]", "[radio]\nraster = \"none\"")
	assert.Empty(t, found)
	assert.Equal(t, plan.NoRaster, l.Radio.Raster)
	_, found = read("[radio]", "[radio]\nraster = \"12.5\"")
	assert.Equal(t, []string{"load.toml:10:10: error: raster \"12.5\" is no raster [bad-value]"}, found)
	l, found = read("elevation_m = 2500", "elevation_ft = 8202.1")
	assert.Empty(t, found)
	assert.InDelta(t, 2500, *l.Sites[0].Elevation, 0.01)
}

// A division's own command where it has one; the only tactical where the plan has
// no divisions.
func TestCommandAndTheOnlyTactical(t *testing.T) {
	r := sound(t, slots("channel = \"QB CMD 2\"\ndivision = \"A\"\nsite = \"Bellwether\"", "channel = \"QB CMD 1\"\nsite = \"Hobnail\"", "channel = \"QB TAC 1\"")+divisions("A", "Z"))
	l, a, z := r.Lists[0], r.Plan.Divisions[0], r.Plan.Divisions[1]
	assert.Equal(t, []int{0}, r.Matches("command", l, a))
	assert.Equal(t, []int{0, 1}, r.Matches("command", l, z))
	assert.Equal(t, []int{0, 1}, r.Matches("command", l, nil))
	assert.Equal(t, r.Matches("neighbours", l, a), r.Matches("neighbors", l, a))

	alone := sound(t, slots("channel = \"QB CMD 1\"\nsite = \"Hobnail\"", "channel = \"QB TAC 1\"", "channel = \"AIRGUARD\""))
	assert.Equal(t, 1, alone.Lists[0].TalkSlot(nil))
	assert.Equal(t, []int{1}, alone.Matches("own", alone.Lists[0], nil))
	two := sound(t, slots("channel = \"QB CMD 1\"\nsite = \"Hobnail\"", "channel = \"QB TAC 1\"", "channel = \"QB TAC 2\""))
	assert.Equal(t, 0, two.Lists[0].TalkSlot(nil), "two tacticals: command")
	divided := sound(t, slots("channel = \"QB CMD 1\"\nsite = \"Hobnail\"", "channel = \"QB TAC 1\"\ndivision = \"A\"")+divisions("A"))
	assert.Equal(t, 0, divided.Lists[0].TalkSlot(nil), "the tactical is the division's")
}
