package scan

import (
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"
)

// Numbers are those of the standard library's parser, which reads nearly all of them
// much slower.
func TestNumbers(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		word := rapid.StringMatching(`[-+.]?[0-9]{0,16}[.]?[0-9]{0,16}([e.-][0-9])?`).Filter(func(s string) bool { return s != "" }).Draw(t, "word")
		want, err := strconv.ParseFloat(word, 64)
		got, ok := numberOf([]byte(word))
		assert.Equal(t, err == nil && len(word) <= 32 && want <= 1e10 && want >= -1e10, ok)
		if ok {
			assert.Equal(t, want, got)
		}
	})
}
