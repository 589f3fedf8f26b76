package scan_test

import (
	"bytes"
	"encoding/binary"
	"hash/crc32"
	"image"
	"image/png"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"slotcard/render/scan"
)

// FuzzHeaders changes what pictures say of themselves, and keeps them whole otherwise:
// sizes, depths, kinds of color, sampling and scans. Each is answered or refused.
func FuzzHeaders(f *testing.F) {
	for _, size := range [][2]uint16{{1, 1000}, {2, 1000}, {1000, 3}, {21, 60_000}, {60_000, 22}, {65_535, 65_535}, {640, 480}} {
		f.Add(size[0], size[1], uint8(8), uint8(0), uint8(0x22), uint16(1), false)
		f.Add(size[0], size[1], uint8(1), uint8(3), uint8(0x11), uint16(20_000), true)
		f.Add(size[0], size[1], uint8(16), uint8(6), uint8(0x41), uint16(3), true)
	}
	f.Fuzz(func(t *testing.T, w, h uint16, depth, colour, sampling uint8, scans uint16, progressive bool) {
		head := claiming(uint32(w), uint32(h))
		head[24], head[25] = depth, colour
		head = binary.BigEndian.AppendUint32(head[:29], crc32.ChecksumIEEE(head[12:29]))
		coding := byte(0xC0)
		if progressive {
			coding = 0xC2
		}
		for _, data := range [][]byte{head, jpegOf(w, h, coding, sampling, int(scans), 0)} {
			seen, err := scan.Picture(t.Context(), data)
			assert.Error(t, err, "there is nothing in it")
			assert.Empty(t, seen.Codes)
		}

		// Pixels that belong to it: stripes that differ with each number.
		if int(w)*int(h) > 200_000 || w == 0 || h == 0 {
			return
		}
		img := image.NewGray(image.Rect(0, 0, int(w), int(h)))
		for i := range img.Pix {
			img.Pix[i] = uint8(i / int(sampling|1) * int(depth|3))
		}
		var file bytes.Buffer
		require.NoError(t, png.Encode(&file, img))
		seen, err := scan.Picture(t.Context(), file.Bytes())
		assert.ErrorIs(t, err, scan.ErrNoCode)
		assert.Empty(t, seen.Codes)
	})
}
