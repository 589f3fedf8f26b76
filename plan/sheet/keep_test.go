package sheet_test

import (
	"os"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"slotcard/plan"
	"slotcard/plan/sheet"
	"slotcard/plan/tomlfile"
)

// oldPlan is an example as its file has it.
func oldPlan(t *testing.T) *plan.Plan {
	t.Helper()
	data, err := os.ReadFile(examples + "thimble-gulch/plan.toml")
	require.NoError(t, err)
	var p plan.Plan
	_, found := tomlfile.Decode("plan.toml", data, &p)
	require.False(t, found.HasErrors(), found)
	return &p
}

const nextPeriod = `1. Incident Name:,Thimble Gulch,2. Date/Time Prepared:,08/14/2027 2030
3. Operational Period:,3,Date From: 08/15/2027  Date To: 08/15/2027,Time From: 0600  Time To: 1800
Function,Channel,Assignment,RX,RX Tone,TX,TX Tone
Command,QB CMD 1,,152.4125,103.5,157.6725,146.2
Tactical,VFIRE21,Div A,154.28,CSQ,154.28,156.7
Tactical,QB TAC 2,Div B,153.74,CSQ,153.74,CSQ
Tactical,QB TAC 3,Div M,154.95,CSQ,154.95,CSQ
Tactical,QB TAC 6,Div. Z,,,,
Tactical,QB TAC 4,C,,,,
Tactical,QB TAC 8,Structure Group,,,,
Air-to-ground,QB AG 1,,,,,
Medical,QB MED,,,,,
Guard,AIRGUARD,,,,,
6. Prepared by:,R. Okafor
`

// With the plan of the period before, only what the sheet has changed is left to
// decide: the units of a division that is gone, and a division without units.
func TestKeep(t *testing.T) {
	old := oldPlan(t)
	d := read(t, nextPeriod).Draft(sheet.Options{LoadPath: "load.toml", Keep: old, KeepSource: "plan.toml"})
	var open []string
	for _, o := range d.Open {
		open = append(open, o.Where+": "+o.What)
	}
	assert.Equal(t, []string{
		"unit Dozer 622: its division Y was not read on the sheet",
		"unit Overhead Y: its division Y was not read on the sheet",
		"division C: no unit works in it",
	}, open)

	_, said := asPlan(t, d.TOML)
	var errors []string
	for _, f := range said {
		if strings.Contains(f, "error:") {
			errors = append(errors, f)
		}
	}
	// The checks object there, and nowhere else. The two units are one cause.
	require.Len(t, errors, 3, errors)
	assert.Contains(t, errors[0], `unit "Dozer 622": no division "Y" in the plan (and 1 more place)`)
	for i, key := range []string{"name", "seats"} {
		assert.Contains(t, errors[1+i], key+" is missing in [unit]")
	}

	var is plan.Plan
	_, found := tomlfile.Decode("new.toml", d.TOML, &is)
	require.NotNil(t, found)
	assert.Len(t, is.Units, len(old.Units)+1)
	for i, u := range old.Units {
		assert.Equal(t, []any{u.Name, u.Kind, u.Team, u.Division, u.Seats}, []any{is.Units[i].Name, is.Units[i].Kind, is.Units[i].Team, is.Units[i].Division, is.Units[i].Seats})
	}
	for i, p := range old.Positions {
		assert.Equal(t, []any{p.Name, p.Priority, p.Scan}, []any{is.Positions[i].Name, is.Positions[i].Priority, is.Positions[i].Scan})
	}
	for i, a := range old.Also {
		assert.Equal(t, []any{a.Channel, a.Site, a.When}, []any{is.Also[i].Channel, is.Also[i].Site, is.Also[i].When})
	}
	assert.Equal(t, old.Incident.Instructions, is.Incident.Instructions)
	assert.Equal(t, old.Incident.Latitude, is.Incident.Latitude)
	assert.True(t, is.Incident.Exercise)
	assert.Equal(t, 3, is.Incident.Period)
	assert.Equal(t, "2027-08-15T06:00:00-06:00", is.Incident.From.Format(time.RFC3339))
	var ids []string
	for _, v := range is.Divisions {
		ids = append(ids, v.ID+" "+v.Supervisor)
	}
	assert.Equal(t, []string{"A J. Marsh", "B P. Castellane", "M D. Wren", "Z M. Idowu", "SP L. Quennell", "C "}, ids)
}

// A roster replaces the units: with how many of each position, or one person a
// row; what it does not say is left to decide.
func TestRoster(t *testing.T) {
	for _, text := range []string{
		"Unit,Type,Strike Team,Division,Engine boss,Firefighter,Phone\nEngine 611,engine type 3,ST 6100C,Div A,1,3,555-0100\nEngine 612,engine type 3,ST 6100C,B,1,2,\nTotal,,,,2,5,\n",
		"Resource;Kind;Team;Assignment;Position;Name\nEngine 611;engine type 3;ST 6100C;A;Engine boss;K. Ames\n;;;;Firefighter;B. Otis\n;;;;Firefighter;C. Lund\n;;;;Firefighter;D. Reyes\n" +
			"Engine 612;engine type 3;ST 6100C;Division B;Engine boss;E. Moss\n;;;;Firefighter;F. Hale\n;;;;Firefighter;G. Pike\n",
	} {
		r, err := sheet.ReadRoster([]byte(text), "roster.csv")
		require.NoError(t, err)
		require.Len(t, r.Units, 2)
		assert.Equal(t, "Engine 611", r.Units[0].Name)
		assert.Equal(t, "engine type 3", r.Units[0].Kind)
		assert.Equal(t, "ST 6100C", r.Units[0].Team)
		assert.Equal(t, "A", r.Units[0].Division)
		assert.Equal(t, plan.Seats{{Position: "Engine boss", Count: 1}, {Position: "Firefighter", Count: 3}}, r.Units[0].Seats)
		assert.Equal(t, "B", r.Units[1].Division)
		assert.Equal(t, plan.Seats{{Position: "Engine boss", Count: 1}, {Position: "Firefighter", Count: 2}}, r.Units[1].Seats)
		assert.NotEmpty(t, r.NotRead)

		// With the positions of the old plan nothing is asked but the divisions without
		// a unit; without it, what each position listens to.
		d := read(t, nextPeriod).Draft(sheet.Options{LoadPath: "load.toml", Keep: oldPlan(t), Roster: r})
		for _, o := range d.Open {
			assert.Equal(t, "no unit works in it", o.What)
		}
		d = read(t, nextPeriod).Draft(sheet.Options{LoadPath: "load.toml", Roster: r, Offset: "-06:00"})
		assert.Equal(t, "position Engine boss", d.Open[0].Where)
		assert.Equal(t, "position Firefighter", d.Open[1].Where)
		_, said := asPlan(t, d.TOML)
		assert.Contains(t, strings.Join(said, "\n"), `"DECIDE"`)
	}
	for text, want := range map[string]string{
		"a,b\n1,2\n":                     "has no row with the titles of a roster",
		"Unit,Kind\nEngine 611,3\n":      "but no seats",
		"Unit,Position\n":                "has the titles of a roster, but no unit below them",
		"Unit,Engine boss\nEngine 1,x\n": "",
	} {
		_, err := sheet.ReadRoster([]byte(text), "roster.csv")
		if want == "" {
			assert.NoError(t, err)
			continue
		}
		assert.ErrorContains(t, err, want)
	}
}

// The computer's zone is proposed once, in words, and is not taken in silence.
func TestComputersZone(t *testing.T) {
	d := read(t, nextPeriod).Draft(sheet.Options{LoadPath: "load.toml", Local: time.FixedZone("MDT", -6*3600)})
	require.Len(t, d.Open, 1)
	assert.Equal(t, "from", d.Open[0].Where)
	assert.Equal(t, "no UTC offset was read; this computer's is Mountain daylight, UTC-06:00", d.Open[0].What)
	_, said := asPlan(t, d.TOML)
	assert.Contains(t, strings.Join(said, "\n"), "from has no UTC offset [no-offset]")
	assert.NotContains(t, strings.Join(said, "\n"), "prepared_at has no UTC offset")

	// Letters whose offset is another's are not put into words.
	d = read(t, nextPeriod).Draft(sheet.Options{LoadPath: "load.toml", Local: time.FixedZone("CST", 8*3600)})
	assert.Contains(t, d.Open[0].What, "this computer's is UTC+08:00")
}
