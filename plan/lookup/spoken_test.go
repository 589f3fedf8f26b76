package lookup_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

// What a captain types or says for a channel (common practice: the short forms
// of the trade), and the display name that has to come first.
func TestFindAsPeopleSayIt(t *testing.T) {
	x := example(t)
	for _, c := range []struct {
		query, first string
		exact        int // how many fit, 0: not said
	}{
		{"tac3", "QB TAC 3", 3},
		{"TAC three", "QB TAC 3", 4},
		{"tac tree", "QB TAC 3", 4},
		{"tacs", "QB TAC 1", 0},
		{"t5", "QB TAC 5", 0},
		{"ag1", "QB AG 1", 3},
		{"air to ground", "QB AG 1", 0},
		{"air ground 2", "QB AG 2", 0},
		{"a/g", "QB AG 1", 0},
		{"v23", "VFIRE23", 1},
		{"V 23", "VFIRE23", 1},
		{"v fire 23", "VFIRE23", 1},
		{"vfire twenty three", "VFIRE23", 1},
		{"vfire two three", "VFIRE23", 1},
		{"V-FIRE-23", "VFIRE23", 1},
		{"cmd1", "QB CMD 1", 0},
		{"command one", "QB CMD 1", 0},
		{"air guard", "AIRGUARD", 1},
		{"weather", "QB WX", 1},
		{"noaa", "QB WX", 1},
		{"disp", "QB DISP", 1},
		{"receive only", "QB WX", 0},
		{"simplex tac", "QB TAC 1", 0},
		{"154", "QB TAC 3", 0},
		{"154.280N", "VFIRE21", 1},
		{"rx 154.28", "VFIRE21", 1},
		{"input 157.6725", "QB CMD 1", 1},
		{"PL 156.7", "VFIRE21", 0},
		{"PL156.7", "VFIRE21", 0},
		{"ctcss 156.7", "VFIRE21", 0},
		{"dcs 131", "QB LOG", 1},
		{"nac 2c1", "OF CMD 1", 2},
		{"2/3", "VFIRE23", 1},
		{"g2", "VFIRE21", 0},
		{"zone 2", "VFIRE21", 0},
	} {
		a := x.Find(c.query)
		if !assert.NotEmpty(t, a.Exact, c.query) {
			continue
		}
		assert.Equal(t, c.first, a.Exact[0].Channel.Name, c.query)
		if c.exact > 0 {
			assert.Len(t, a.Exact, c.exact, c.query)
		}
	}
}

// A repeater's input is no answer to what receives on it, and says so.
func TestFindOneSide(t *testing.T) {
	a := example(t).Find("rx 157.6725")
	assert.Empty(t, a.Exact)
	assert.Equal(t, "1-01 QB CMD 1: 157.6725 is its transmit frequency", said(a.Near[:1]))
}

func TestCodeThatTheLoadLacksIsSaid(t *testing.T) {
	for query, note := range map[string]string{
		"D023":    "no channel or site of the load has tone D023",
		"nac 293": "no channel or site of the load has tone N293",
	} {
		a := example(t).Find(query)
		assert.False(t, a.Found(), query)
		assert.Equal(t, []string{note}, a.Notes, query)
	}
}
