package scan

import (
	"fmt"
	"math/rand/v2"
	"testing"

	"github.com/makiuchi-d/gozxing/common/reedsolomon"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"slotcard/layout"
)

// The encoder of another library makes blocks; up to as many are spoiled as can be
// repaired, and what is put right is what was made.
func TestBlocksAreRepaired(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	encoder := reedsolomon.NewReedSolomonEncoder(reedsolomon.GenericGF_QR_CODE_FIELD_256)
	for range 300 {
		data, checks := 1+rng.IntN(120), 7+rng.IntN(24)
		made := make([]int, data+checks)
		for i := range data {
			made[i] = rng.IntN(256)
		}
		require.NoError(t, encoder.Encode(made, checks))
		want := make([]byte, len(made))
		for i, c := range made {
			want[i] = byte(c)
		}
		places := rng.Perm(len(want))
		left := min(rng.IntN(checks+1), len(want))
		most := (checks - left) / 2
		others := min(rng.IntN(most+1), len(want)-left)
		spoiled := append([]byte{}, want...)
		for i, at := range places[:left+others] {
			if i >= left || rng.IntN(2) == 0 { // one that is left out may be right
				spoiled[at] ^= byte(1 + rng.IntN(255))
			}
		}
		got, ok := solved(spoiled, checks, places[:left], most)
		if assert.True(t, ok, "%d of %d left out, %d others of %d", left, checks, others, most) {
			assert.Equal(t, want, got)
		}
	}
}

// Symbols of another library's encoder, of each level and many sizes, are read block
// by block as they are.
func TestSymbolsAreReadByBlocks(t *testing.T) {
	for n := 10; n < 500; n += 97 {
		for _, level := range []layout.Level{layout.LevelM, layout.LevelQ, layout.LevelH} {
			text := ""
			for i := 0; len(text) < n; i++ {
				text += fmt.Sprintf("%d QB CMD\n", i)
			}
			symbol, err := layout.EncodeSymbol(text, level)
			require.NoError(t, err)
			s := shades{symbol.Size, make([]float32, symbol.Size*symbol.Size)}
			for i := range s.v {
				s.v[i] = 1
				if symbol.Dark(i%symbol.Size, i/symbol.Size) {
					s.v[i] = -1
				}
			}
			_, got, ok := s.repaired()
			assert.True(t, ok, "%d characters, level %v", n, level)
			assert.Equal(t, text, got)
		}
	}
}
