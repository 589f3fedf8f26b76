package finding_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"

	"slotcard/plan/finding"
)

func TestClosest(t *testing.T) {
	keys := []string{"channel", "group", "number", "rx", "tx", "rx_tone", "tx_tone", "division", "carried_by"}
	for _, c := range []struct {
		word string
		n    int
		want []string
	}{
		{"chanel", 1, []string{"channel"}},
		{"CHANNEL", 1, []string{"channel"}},
		{" channel ", 1, []string{"channel"}},
		{"RX_TONE", 2, []string{"rx_tone"}}, // only case differs: nothing else was meant
		{"chnanel", 1, []string{"channel"}}, // two swapped letters count once
		{"nubmre", 1, []string{"number"}},
		{"rx_ton", 2, []string{"rx_tone", "tx_tone"}}, // nearest first
		{"div", 1, []string{"division"}},              // a beginning
		{"di", 1, nil},
		{"xr", 1, []string{"rx"}},
		{"helicopter", 3, nil},
		{"", 3, nil},
		{"rx", 0, nil},
		{strings.Repeat("x", 100_000), 3, nil},
	} {
		assert.Equal(t, c.want, finding.Closest(c.word, keys, c.n), "%q", c.word)
	}
	assert.Nil(t, finding.Closest("x", nil, 1))
}

func TestValueError(t *testing.T) {
	var err error = &finding.ValueError{Reason: "is not a color"}
	assert.EqualError(t, err, "is not a color")
}
