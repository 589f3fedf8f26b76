package main

import (
	"bufio"
	"bytes"
	"io"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"

	"slotcard/cmd/internal/voice"
)

// At the keyboard the clock is proposed where it can be right, and asked for again
// until an answer is a time of the period.
func TestRevisedAtIsAsked(t *testing.T) {
	from := time.Date(2027, 8, 14, 18, 0, 0, 0, time.FixedZone("", -6*3600))
	to := from.Add(12 * time.Hour)
	during, after := time.Date(2027, 8, 15, 7, 30, 20, 0, time.UTC), to.Add(time.Hour)
	for _, c := range []struct {
		now                time.Time
		typed, asked, want string
	}{
		{during, "\n", "when was the plan revised? 01:30 (or nothing):\n", "2027-08-15T01:30:00-06:00"},
		{during, "1:15\n", "", "2027-08-15T01:15:00-06:00"},
		{after, "20:00\n", "when was the plan revised, such as 00:00?\n", "2027-08-14T20:00:00-06:00"},
		{after, "12:00\n20:00\n", "12:00 is not within the period, from 2027-08-14 18:00 -06:00 to 2027-08-15 06:00 -06:00\n", "2027-08-14T20:00:00-06:00"},
		{after, "\n", "", "say when the plan was revised, such as: --at 00:00"},
		{after, "", "", "say when the plan was revised, such as: --at 00:00"},
	} {
		var said bytes.Buffer
		k := &asker{t.Context(), bufio.NewReader(strings.NewReader(c.typed)), voice.New(io.Discard, &said)}
		when, err := k.revisedAt(c.now, from, to)
		got := when.Format(time.RFC3339)
		if err != nil {
			got = err.Error()
		}
		assert.Equal(t, c.want, got, "%q", c.typed)
		assert.Contains(t, said.String(), c.asked)
	}
}
