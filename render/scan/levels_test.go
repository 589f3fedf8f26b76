package scan_test

import (
	"fmt"
	"math/rand/v2"
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"slotcard/layout"
	"slotcard/render/rendertest"
	"slotcard/render/scan"
)

// list has 391 characters: nine slots of the invented region, as many as a card
// often has.
const list = `SLOTS 1 THIMBLE GULCH/2
2027-08-14T06:00/2027-08-14T18:00 LOAD 2027
1 CMD QB CMD 1 152.4125/157.6725 103.5/146.2
2 CMD QB CMD 2 152.4275/157.6875 103.5/151.4
3 TAC:A VFIRE21 154.2800 -/156.7
4 TAC:B VFIRE22 154.2650 -/156.7
5 TAC:M VFIRE23 154.2950 -/156.7
6 TAC:Z QB TAC 9 151.1375 -/67.0
7 A/G QB AG 1 151.8575 -/-
8 SUP QB SUPPLY 152.33125 -/167.9
9 GUARD AIRGUARD 168.6250 -/110.9
=J2MX
`

// TestLevels asks which level of error correction a camera reads best, where the
// place for the symbol is given: a higher level repairs more dirt, and its modules
// are smaller. The same photographs are taken at each level. Of cards with up to 4 %
// of dirt, which is a worn card, level M is read most often.
func TestLevels(t *testing.T) {
	counts, table := levelTable(t, 8, 0.04, false)
	t.Log(table)
	assert.GreaterOrEqual(t, counts[layout.LevelM], counts[layout.LevelQ])
	assert.Greater(t, counts[layout.LevelM], counts[layout.LevelH])
}

// BenchmarkLevels is that with 80 photographs, and by a second reader where that is
// asked for.
func BenchmarkLevels(b *testing.B) {
	for b.Loop() {
		_, table := levelTable(b, 80, 0.08, os.Getenv(rendertest.SecondOpinions) != "")
		b.Log(table)
	}
}

// levelTable takes so many photographs of a list in a square of 36 mm at each level,
// with dirt up to a share, and counts those that are read.
func levelTable(t testing.TB, shots int, dirt float64, second bool) (counts [3]int, table string) {
	require.Len(t, list, 391)
	const side = 36 // mm
	var lines strings.Builder
	fmt.Fprintf(&lines, "the same list in %d mm, %d photographs a level:", side, shots)
	levels := []layout.Level{layout.LevelM, layout.LevelQ, layout.LevelH}
	const groups = 4
	var heads [groups]string
	for g := range heads {
		heads[g] = fmt.Sprintf("dirt to %g %%", 100*dirt*float64(g+1)/groups)
	}
	for _, ecc := range levels {
		card := coded(t, list, ecc, side)
		photos := make([][]byte, shots)
		for i := range photos {
			photos[i] = levelShot(t, card, i, dirt*float64(i)/float64(shots))
		}
		var ours, others [groups]int
		for i, photo := range photos {
			codes, err := read(photo)
			if err != nil {
				require.ErrorIs(t, err, scan.ErrNoCode)
			}
			for _, c := range codes {
				assert.Equal(t, list, c.Text, "something else is read than what is there")
				ours[i*groups/shots]++
			}
		}
		if second {
			for i, texts := range rendertest.Zbar(t).Photographs(t, photos) {
				if len(texts) > 0 {
					others[i*groups/shots]++
				}
			}
		}
		size, _ := layout.SymbolSize(list, ecc)
		fmt.Fprintf(&lines, "\n  %v, %3d modules of %.2f mm:", ecc, size, float64(side)/float64(size))
		sum, sums := 0, 0
		for g, head := range heads {
			fmt.Fprintf(&lines, "  %s: %2d", head, ours[g])
			if second {
				fmt.Fprintf(&lines, " (zbar %2d)", others[g])
			}
			sum, sums = sum+ours[g], sums+others[g]
		}
		fmt.Fprintf(&lines, "  all: %2d", sum)
		if second {
			fmt.Fprintf(&lines, " (zbar %2d)", sums)
		}
		counts[ecc] = sum
	}
	return counts, lines.String()
}

// levelShot is a photograph with so much dirt, from 4.5 to 8.5 pixels for a
// millimeter, a little out of focus and askew, in noise: the same at all levels.
func levelShot(t testing.TB, card *print, i int, dirt float64) []byte {
	rng := rand.New(rand.NewPCG(391, uint64(i)))
	c := camera{
		width: 720, height: 540,
		dirt:  dirt,
		scale: 4.5 + 4*rng.Float64(),
		turn:  360 * rng.Float64(),
		tilt:  20 * rng.Float64(),
		blur:  0.4 + 0.8*rng.Float64(),
		noise: 4 + 8*rng.Float64(),
		shade: 0.3 * rng.Float64(),
	}
	// The symbol stands in the middle.
	x := card.width/2 - 6 - 18
	y := 15 + 18 - card.height/2
	return c.shoot(t, []lying{{print: card, x: -x, y: -y}}, rng)
}
