package rules

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"slotcard/plan/spectrum"
)

// The work of looking for better channels is the same for lists of any length: the
// longer one is tried with fewer.
func TestBenchIsBounded(t *testing.T) {
	for slots, tries := range map[int]int{16: 976, 32: 122, mostSlots: 15} {
		b := &bench{air: make([]spectrum.Channel, slots), left: mostProducts}
		n := 0
		for b.afford() {
			n++
		}
		assert.Equal(t, tries, n, "%d slots", slots)
	}
}
