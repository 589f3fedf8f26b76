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
