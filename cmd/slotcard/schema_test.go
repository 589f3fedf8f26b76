package main

import (
	"encoding/json"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"slotcard/cmd/internal/papers"
	"slotcard/layout"
	"slotcard/layout/impose"
	"slotcard/layout/words"
	"slotcard/plan/schema"
)

// The values that the schema offers under [card] are those that print knows.
func TestSchemaKnowsWhatPrintKnows(t *testing.T) {
	type value struct {
		Enum  []string
		AnyOf []struct{ Enum []string }
	}
	for name, text := range map[string][]byte{"plan": schema.Plan(), "station": schema.Station()} {
		var file struct {
			Properties struct {
				Card struct{ Properties map[string]value }
			}
		}
		require.NoError(t, json.Unmarshal(text, &file))
		card := file.Properties.Card.Properties
		assert.Equal(t, impose.SidesNames(), card["sides"].Enum, name)
		assert.Equal(t, impose.OrderNames(), card["order"].Enum, name)
		assert.Equal(t, words.Languages(), card["language"].Enum, name)
		require.NotEmpty(t, card["size"].AnyOf, name)
		assert.ElementsMatch(t, papers.SizeNames(layout.CardSizes()), card["size"].AnyOf[0].Enum, name)
		require.NotEmpty(t, card["paper"].AnyOf, name)
		assert.ElementsMatch(t, papers.SizeNames(layout.PaperSizes()), card["paper"].AnyOf[0].Enum, name)
	}
}
