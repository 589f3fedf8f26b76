package plan_test

import (
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/require"
	"golang.org/x/text/unicode/norm"

	"slotcard/plan"
	"slotcard/plan/finding"
)

// Whatever stands in a file: no crash, every place inside of the text, and a
// plan or load without findings holds what the rest of the program relies on.

func FuzzReadPlan(f *testing.F) {
	load := bigLoad(1, 1)
	f.Add([]byte(sample(f, "plan.toml")))
	f.Fuzz(func(t *testing.T, data []byte) {
		p, _, found, err := plan.Read("plan.toml", files{"plan.toml": string(data), "load.toml": load}.options())
		checkPlaces(t, found)
		if err != nil || len(found) > 0 {
			return
		}
		require.NotEmpty(t, p.Slots)
		require.NotEmpty(t, p.Incident.Name)
		require.True(t, norm.NFC.IsNormalString(p.Incident.Name))
		require.False(t, p.Incident.From.IsZero() && p.Incident.To.IsZero() && p.Incident.PreparedAt.IsZero())
		for _, s := range p.Slots {
			require.True(t, s.Channel != "" || s.Rx > 0 || *s.Group > 0 && *s.Number > 0)
		}
		for _, u := range p.Units {
			for _, s := range u.Seats {
				require.Positive(t, s.Count)
				require.NotEmpty(t, s.Position)
			}
		}
	})
}

func FuzzReadLoad(f *testing.F) {
	f.Add([]byte(sample(f, "load.toml")))
	f.Fuzz(func(t *testing.T, data []byte) {
		load, found, err := plan.ReadLoad("load.toml", files{"load.toml": string(data)}.options())
		require.NoError(t, err)
		checkPlaces(t, found)
		plan.IsLoad(data)
		if len(found) > 0 {
			return
		}
		require.NotEmpty(t, load.Groups)
		require.Positive(t, load.Radio.ListPositions)
		for _, g := range load.Groups {
			for _, c := range g.Channels {
				require.Same(t, g, c.Group)
				require.NotZero(t, c.Use)
				require.Equal(t, c.Trunked(), c.Rx == 0)
				require.Equal(t, c.Rx == 0, c.Tx == 0)
				require.Regexp(t, `^[!-~]+( [!-~]+)*$`, c.Name)
			}
		}
		for _, s := range load.Sites {
			require.False(t, s.Squelch.IsZero())
		}
	})
}

func checkPlaces(t *testing.T, found finding.List) {
	for _, f := range found {
		require.NotEmpty(t, f.Rule)
		require.True(t, utf8.ValidString(f.Message), "%q", f.Message)
		if f.Place.Line > 0 {
			require.Positive(t, f.Place.Column)
			require.LessOrEqual(t, f.Place.Column, utf8.RuneCountInString(f.Place.Text)+1)
		}
	}
}
