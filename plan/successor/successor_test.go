package successor_test

import (
	"os"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"slotcard/plan/successor"
)

const second = `# Thimble Gulch
load = "load.toml"       # beside this file
base = "../station.toml"

[incident]
name        = "Thimble Gulch"   # as dispatch says it
period      = 2
revision    = 3                 # the tactical was noisy
revised_at  = 2027-08-14T13:05:00-06:00
from        = 2027-08-14T06:00:00-06:00   # day
to          = 2027-08-14T18:00:00-06:00
prepared_by = "R. Okafor, communications unit leader"
prepared_at = 2027-08-13T20:30:00-06:00
`

func TestNext(t *testing.T) {
	got, i, err := successor.Next("plan.toml", []byte(second), successor.Paths{Load: "../load.toml"})
	require.NoError(t, err)
	assert.Equal(t, `# Thimble Gulch
load = "../load.toml"       # beside this file
base = "../station.toml"

[incident]
name        = "Thimble Gulch"   # as dispatch says it
period      = 3
from        = 2027-08-14T18:00:00-06:00   # day
to          = 2027-08-15T06:00:00-06:00
prepared_by = "R. Okafor, communications unit leader"
prepared_at = 2027-08-14T08:30:00-06:00
`, string(got))
	assert.Equal(t, 3, i.Period)
	assert.Equal(t, 12*time.Hour, i.To.Sub(i.From))
}

// Periods follow each other without a gap, and only the lines of these keys
// change, in the plans of the examples.
func TestNextOfTheExamples(t *testing.T) {
	for _, name := range []string{"../../examples/thimble-gulch/plan.toml", "../../examples/first-hour/plan.toml"} {
		text, err := os.ReadFile(name)
		require.NoError(t, err)
		got, _, err := successor.Next("plan.toml", text, successor.Paths{})
		require.NoError(t, err)
		left := map[string]int{}
		for line := range strings.Lines(string(text)) {
			left[line]++
		}
		for line := range strings.Lines(string(got)) {
			if left[line]--; left[line] < 0 {
				key, _, _ := strings.Cut(line, " ")
				assert.Contains(t, []string{"period", "from", "to", "prepared_at"}, key)
			}
		}
	}
}

func TestNextRefuses(t *testing.T) {
	for text, want := range map[string]string{
		"":                                       "has no period that can be read",
		"[incident]\nperiod = 1":                 "has no from that can be read",
		strings.Replace(second, "T18", "T05", 1): "ends its period before it begins",
		strings.Replace(second, "period      = 2", "period = \"DECIDE\"", 1): "has no period that can be read",
	} {
		out, _, err := successor.Next("plan.toml", []byte(text), successor.Paths{})
		require.ErrorContains(t, err, want)
		assert.Nil(t, out)
	}
}

func TestRevise(t *testing.T) {
	at := func(s string) time.Time {
		when, err := time.Parse(time.RFC3339, s)
		require.NoError(t, err)
		return when
	}
	got, i, err := successor.Revise("plan.toml", []byte(second), successor.Paths{}, at("2027-08-14T15:40:00-06:00"))
	require.NoError(t, err)
	assert.Equal(t, strings.NewReplacer("revision    = 3", "revision    = 4", "T13:05", "T15:40").Replace(second), string(got))
	assert.Equal(t, 4, i.Revision)

	first := strings.Replace(second, "revision    = 3                 # the tactical was noisy\nrevised_at  = 2027-08-14T13:05:00-06:00\n", "", 1)
	got, i, err = successor.Revise("plan.toml", []byte(first), successor.Paths{}, at("2027-08-14T13:05:00-06:00"))
	require.NoError(t, err)
	assert.Equal(t, first+"revision    = 2\nrevised_at  = 2027-08-14T13:05:00-06:00\n", string(got), "comments and columns stay")
	assert.Equal(t, 2, i.Revision)

	for when, want := range map[string]string{
		"2027-08-14T18:01:00-06:00": "and 2027-08-14 18:01 -06:00 is not in it",
		"2027-08-14T05:59:00-06:00": "and 2027-08-14 05:59 -06:00 is not in it",
		"2027-08-14T13:04:00-06:00": "was revised at 2027-08-14 13:05 -06:00, and its next revision cannot be earlier",
	} {
		_, _, err = successor.Revise("plan.toml", []byte(second), successor.Paths{}, at(when))
		require.ErrorContains(t, err, want)
	}
}

// A time of day is taken in the period, by its offset, past midnight, too.
func TestAt(t *testing.T) {
	from := time.Date(2027, 8, 14, 18, 0, 0, 0, time.FixedZone("", -6*3600))
	night, long := from.Add(12*time.Hour), from.Add(30*time.Hour)
	for _, c := range []struct {
		word string
		to   time.Time
		want string
	}{
		{"18:00", night, "2027-08-14T18:00:00-06:00"},
		{"23:59", night, "2027-08-14T23:59:00-06:00"},
		{"0:30", night, "2027-08-15T00:30:00-06:00"},
		{" 06:00", night, "2027-08-15T06:00:00-06:00"},
		{"06:01", night, "06:01 is not within the period, from 2027-08-14 18:00 -06:00 to 2027-08-15 06:00 -06:00"},
		{"20:00", long, "20:00 comes more than once in the period, from 2027-08-14 18:00 -06:00 to 2027-08-16 00:00 -06:00; write the day, too: 2027-08-14T20:00:00-06:00"},
		{"2027-08-15T20:00:00-06:00", long, "2027-08-15T20:00:00-06:00"},
		{"2027-08-15 02:00Z", night, "2027-08-15T02:00:00Z"},
		{"soon", night, `"soon" is no time; write the time of day, such as 18:00, or all of it: 2027-08-14T18:00:00-06:00`},
		{"2027-08-14T20:00", night, `"2027-08-14T20:00" is no time; write the time of day, such as 18:00, or all of it: 2027-08-14T18:00:00-06:00`},
	} {
		at, err := successor.At(c.word, from, c.to)
		if err != nil {
			assert.EqualError(t, err, c.want)
			continue
		}
		assert.Equal(t, c.want, at.Format(time.RFC3339))
	}
}
