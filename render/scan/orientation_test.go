package scan

import (
	"bytes"
	"fmt"
	"image"
	"image/jpeg"
	"os"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Files that another program tagged; a third one turns all eight upright to the
// same picture: see testdata/photos/README.md.
func TestOrientation(t *testing.T) {
	for o := 1; o <= 8; o++ {
		data, err := os.ReadFile(fmt.Sprintf("../../testdata/photos/orientation-%d.jpg", o))
		require.NoError(t, err)
		require.Equal(t, o, orientation(data))
		img, err := jpeg.Decode(bytes.NewReader(data))
		require.NoError(t, err)
		up := upright(grey(img), o)
		require.Equal(t, image.Rect(0, 0, 48, 32), up.Rect)
		for y := range 32 {
			for x := range 48 {
				switch inside := x < 14 && y < 9; {
				case inside:
					assert.Less(t, up.GrayAt(x, y).Y, uint8(64), "orientation %d at %d, %d", o, x, y)
				case x >= 18 || y >= 13:
					assert.Greater(t, up.GrayAt(x, y).Y, uint8(192), "orientation %d at %d, %d", o, x, y)
				}
			}
		}
		// Whatever is cut off or damaged, a picture stays as it is stored.
		for cut := range data {
			assert.Contains(t, []int{1, o}, orientation(data[:cut]))
			damaged := bytes.Clone(data)
			damaged[cut] ^= 0xFF
			orientation(damaged)
		}
	}
	assert.Equal(t, 1, orientation(nil))
}

func TestTurns(t *testing.T) {
	img := image.NewGray(image.Rect(0, 0, 3, 2))
	copy(img.Pix, []uint8{1, 2, 3, 4, 5, 6})
	assert.Equal(t, []uint8{4, 1, 5, 2, 6, 3}, quarter(img).Pix)
	assert.Equal(t, []uint8{3, 2, 1, 6, 5, 4}, mirrored(img).Pix)
}
