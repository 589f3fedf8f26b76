package rules_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"slotcard/plan/rules"
)

// Frequencies in the instructions are told from tones, times, distances, positions and
// telephone numbers, of which the digits may be the same.
func TestFrequenciesInInstructions(t *testing.T) {
	r, _ := check(t)
	for text, want := range map[string]string{
		"Medevac on 155.3400.":                     "the instructions name 155.3400, which no slot and no [[also]] has",
		"Medevac 155.3400/155.3475, hold 152.4125": "the instructions name 155.3400 and 155.3475, which no slot and no [[also]] has",
		"Move to 154.28 MHz at 14.30":              "the instructions name 154.2800, which no slot and no [[also]] has",
		"Call 150.123 first":                       "the instructions name 150.1230, which no slot and no [[also]] has",
		"Hoist at 44.1234, -150.1234 or 150.1234°": "",
		"Phone 150.155.3400, or 1150.1550":         "",
		"Tone 156.7, 151.4 Hz; 150.12 acres":       "",
		"Air attack is on 122.9250":                "",
	} {
		r.Plan.Incident.Instructions = text
		got := ""
		for _, f := range rules.Check(r) {
			if f.Rule == "instructions-channel" {
				got = f.Message
			}
		}
		assert.Equal(t, want, got, text)
	}
}
