package scan_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"slotcard/layout"
	"slotcard/layout/wall"
	"slotcard/plan"
	"slotcard/plan/plantest"
	"slotcard/render/scan"
)

// BenchmarkWall tells from how far the codes of a wall sheet on letter paper are read in
// photographs of 12 megapixels, of a camera that sees 67 degrees across (common practice
// of phones), a little out of focus and askew.
func BenchmarkWall(b *testing.B) {
	letter, _ := layout.PaperSize("letter")
	for name, r := range map[string]*plan.Resolved{
		"example":             example(b, "thimble-gulch/plan.toml"),
		"12 slots in 4 lists": plantest.Make(b, plantest.Shape{Seed: 3, Slots: 12, NameLength: 10, Divisions: 4, WordLength: 6, Words: 2, Units: 8, Seats: 3, PerSeat: 1, DistinctList: true}),
	} {
		sheet, found := wall.List(r, wall.Options{Paper: letter})
		require.False(b, found.HasErrors())
		for n, page := range sheet.Pages {
			codes, module := 0, math.Inf(1)
			for _, item := range page.Items {
				if m, ok := item.(layout.Modules); ok {
					codes++
					module = min(module, m.Module)
				}
			}
			if codes == 0 {
				continue
			}
			b.Run(fmt.Sprintf("%s/page %d", name, n+1), func(b *testing.B) {
				paper := printed(b, &layout.Panel{Width: page.Width, Height: page.Height, Items: page.Items}, "")
				for b.Loop() {
					for _, meters := range []float64{0.6, 0.8, 1, 1.2, 1.5, 1.8} {
						scale := 4000 / (2 * 1000 * meters * math.Tan(67.0/2*math.Pi/180))
						c := camera{width: 4000, height: 3000, scale: scale, tilt: 10, blur: 0.7, noise: 3, shade: 0.2}
						seen, err := scan.Picture(b.Context(), c.shoot(b, []lying{{print: paper}}, rand.New(rand.NewPCG(5, uint64(n)))))
						if err != nil {
							require.ErrorIs(b, err, scan.ErrNoCode)
						}
						b.Logf("%g m: modules of %.2f mm and %.1f pixels, %d of %d codes read, more: %v", meters, module, module*scale, len(seen.Codes), codes, seen.More)
					}
				}
			})
		}
	}
}
