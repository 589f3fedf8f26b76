package render_test

import (
	"image"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"slotcard/layout"
	"slotcard/layout/cards"
	"slotcard/layout/impose"
	"slotcard/plan/plantest"
	"slotcard/render"
)

// Crop marks of front and back, seen in pictures, lie on each other when the
// sheet is flipped: within 0.05 mm, for every card, paper and edge.
func TestRegistrationOfEverySheet(t *testing.T) {
	r := plantest.Make(t, plantest.Shape{Slots: 4, NameLength: 5, Divisions: 2, WordLength: 4, Words: 1, Units: 1})
	const dpi, within = 127, 0.05
	for _, size := range layout.CardSizes() {
		d, findings := cards.Deal(r, cards.Options{Size: size})
		require.NotNil(t, d, "%v", findings)
		for _, paper := range layout.PaperSizes() {
			for _, sides := range []impose.Sides{impose.LongEdge, impose.ShortEdge} {
				doc, err := impose.Cards(d, impose.Options{Paper: paper, Sides: sides})
				require.NoError(t, err)
				frontX, frontY := cropMarks(t, doc.Pages[0], dpi)
				backX, backY := cropMarks(t, doc.Pages[1], dpi)
				if sides == impose.LongEdge {
					backX = flipped(backX, paper.Width)
				} else {
					backY = flipped(backY, paper.Height)
				}
				about := size.Name + " on " + paper.Name + ", " + sides.String() + " edge"
				require.Len(t, backX, len(frontX), about)
				require.Len(t, backY, len(frontY), about)
				assert.InDeltaSlice(t, frontX, backX, within, about)
				assert.InDeltaSlice(t, frontY, backY, within, about)
				// And the cards stand between the marks, of which there are none where the printer
				// does not reach.
				for _, item := range doc.Pages[0].Items {
					if p, ok := item.(layout.Placed); ok {
						if p.X > layout.PrintEdge-within {
							assert.InDelta(t, p.X, nearest(frontX, p.X), within, about)
						}
						assert.InDelta(t, p.Y, nearest(frontY, p.Y), within, about)
					}
				}
			}
		}
	}
}

func flipped(at []float64, side float64) []float64 {
	out := make([]float64, len(at))
	for i, v := range at {
		out[len(at)-1-i] = side - v
	}
	return out
}

func nearest(at []float64, v float64) float64 {
	return slices.MinFunc(at, func(a, b float64) int {
		if da, db := max(a-v, v-a), max(b-v, v-b); da < db {
			return -1
		} else if da > db {
			return 1
		}
		return 0
	})
}

// cropMarks are where the marks above the cards (x) and left of them (y) are
// seen in a picture of a page, mm.
func cropMarks(t *testing.T, page layout.Page, dpi int) (x, y []float64) {
	t.Helper()
	above, left := image.Rectangle{}, image.Rectangle{}
	var lines []layout.Item
	scale := float64(dpi) / 25.4
	px := func(mm float64) int { return int(mm * scale) }
	for _, item := range page.Items {
		l, ok := item.(layout.Line)
		if !ok || l.Weight > 0.16 {
			continue
		}
		lines = append(lines, l)
		switch {
		case l.X1 == l.X2 && l.Y1 < page.Height/2:
			above = above.Union(image.Rect(0, px(l.Y1)+1, px(page.Width), px(l.Y2)))
		case l.Y1 == l.Y2 && l.X1 < page.Width/2:
			left = left.Union(image.Rect(px(l.X1)+1, 0, px(l.X2), px(page.Height)))
		}
	}
	img, err := render.Image(&layout.Page{Width: page.Width, Height: page.Height, Items: lines}, float64(dpi))
	require.NoError(t, err)
	grey := img.(*image.Gray)
	profile := func(strip image.Rectangle, along, across int, dark func(i, j int) float64) []float64 {
		sums := make([]float64, along)
		for i := range sums {
			for j := range across {
				sums[i] += dark(i, j)
			}
		}
		return centers(sums, scale)
	}
	at := func(x, y int) float64 { return 255 - float64(grey.GrayAt(x, y).Y) }
	x = profile(above, above.Dx(), above.Dy(), func(i, j int) float64 { return at(above.Min.X+i, above.Min.Y+j) })
	y = profile(left, left.Dy(), left.Dx(), func(i, j int) float64 { return at(left.Min.X+j, left.Min.Y+i) })
	return x, y
}

// centers are the centers of ink of the runs of a profile, mm.
func centers(profile []float64, scale float64) (out []float64) {
	sum, moment := 0.0, 0.0
	for i := 0; i <= len(profile); i++ {
		if i < len(profile) && profile[i] > 0 {
			sum += profile[i]
			moment += profile[i] * (float64(i) + 0.5)
			continue
		}
		if sum > 0 {
			out = append(out, moment/sum/scale)
			sum, moment = 0, 0
		}
	}
	return out
}
