package scan_test

import (
	"bytes"
	"context"
	"encoding/binary"
	"fmt"
	"hash/crc32"
	"image"
	"image/color"
	"image/png"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"slotcard/layout"
	"slotcard/render/scan"
)

// What would take too much is not unpacked: it is told by what it says of itself,
// and how to go on.
func TestPicturesThatAskForTooMuch(t *testing.T) {
	const tooMuch = "too large or too closely packed to be read; "
	claim := func(w, h uint32, depth, colour byte) []byte { // color as PNG numbers them
		data := claiming(w, h)
		data[24], data[25] = depth, colour
		return binary.BigEndian.AppendUint32(data[:29], crc32.ChecksumIEEE(data[12:29]))
	}
	const damaged = "is a damaged picture: it breaks off"
	for name, c := range map[string]struct {
		data []byte
		want string
	}{
		"a page in grey at 600 dots an inch":  {claim(5100, 6600, 8, 0), damaged},
		"a page in color at 600 dots an inch": {claim(5100, 6600, 8, 2), "is a picture of 5100 by 6600 pixels, " + tooMuch + "save it in shades of gray, or at half the width and height"},
		"a page in color at 300 dots an inch": {claim(2550, 3300, 8, 2), damaged},
		"100 million in grey":                 {claim(10_000, 10_000, 8, 0), tooMuch + "save it at half the width and height"},
		"as deep as can be":                   {claim(3600, 3600, 16, 6), tooMuch + "save it in shades of gray"},
		"two shades, 100 million":             {claim(10_000, 10_000, 1, 0), tooMuch + "save it at half"},

		"a photograph of 12 million":               {jpegOf(4000, 3000, 0xC0, 0x22, 1, 0), damaged},
		"a photograph of 41 million":               {jpegOf(7400, 5550, 0xC0, 0x22, 1, 8<<20), damaged},
		"a photograph of 100 million":              {jpegOf(11_500, 8_700, 0xC0, 0x22, 1, 0), tooMuch + "save it at half the width and height"},
		"noise in 30 million":                      {jpegOf(6000, 5000, 0xC0, 0x22, 1, 25<<20), tooMuch + "save it at half the width and height"},
		"a progressive photograph of 12 million":   {jpegOf(4000, 3000, 0xC2, 0x22, 10, 0), damaged},
		"a progressive photograph of 30 million":   {jpegOf(6500, 4600, 0xC2, 0x22, 10, 0), tooMuch + "save it as a JPEG that is not progressive, or at half the width and height"},
		"20,000 scans of a million":                {jpegOf(1000, 1000, 0xC2, 0x22, 20_000, 0), tooMuch + "save it as a JPEG that is not progressive"},
		"a plain photograph that is sent 50 times": {jpegOf(1000, 2000, 0xC0, 0x11, 50, 0), tooMuch + "save it at half"},
	} {
		_, err := read(c.data)
		assert.ErrorContains(t, err, c.want, name)
	}
}

// jpegOf is a JPEG that says it is so large, of that kind of coding and sampling,
// with so many scans and bytes in them, and holds nothing.
func jpegOf(w, h uint16, coding, sampling byte, scans, bytes int) []byte {
	out := []byte{0xFF, 0xD8, 0xFF, coding, 0, 17, 8, byte(h >> 8), byte(h), byte(w >> 8), byte(w), 3,
		1, sampling, 0, 2, 0x11, 0, 3, 0x11, 0}
	for range scans {
		out = append(out, 0xFF, 0xDA, 0, 12, 3, 1, 0, 2, 0, 3, 0, 0, 63, 0, 0x55)
	}
	return append(append(out, make([]byte, bytes)...), 0xFF, 0xD9)
}

// A small picture in which everything looks like a corner of a code: corners and
// symbols are counted, and that not all of it was looked at is said.
func TestPictureOfCorners(t *testing.T) {
	const module, apart = 3, 9 // pixels, modules
	img := image.NewGray(image.Rect(0, 0, 3000, 2000))
	for y := range 2000 {
		for x := range 3000 {
			u, v := x/module%apart-3, y/module%apart-3
			if r := max(u, -u, v, -v); r == 2 || r > 3 {
				img.Pix[y*img.Stride+x] = 255
			}
		}
	}
	var file bytes.Buffer
	require.NoError(t, png.Encode(&file, img))
	seen, err := scan.Picture(t.Context(), file.Bytes())
	assert.ErrorIs(t, err, scan.ErrNoCode)
	assert.True(t, seen.Cut)

	// A code among them is found, and what is left is said.
	symbol, err := layout.EncodeSymbol(list, layout.LevelM)
	require.NoError(t, err)
	at := image.Pt(1200, 800)
	for y := -8 * module; y < (symbol.Size+8)*module; y++ {
		for x := -8 * module; x < (symbol.Size+8)*module; x++ {
			img.SetGray(at.X+x, at.Y+y, color.Gray{Y: 255})
			if x >= 0 && y >= 0 && symbol.Dark(x/module, y/module) {
				img.SetGray(at.X+x, at.Y+y, color.Gray{})
			}
		}
	}
	file.Reset()
	require.NoError(t, png.Encode(&file, img))
	seen, err = scan.Picture(t.Context(), file.Bytes())
	if err == nil {
		require.Len(t, seen.Codes, 1)
		assert.Equal(t, list, seen.Codes[0].Text)
	}
	assert.True(t, seen.Cut)
}

// A search ends with its context.
func TestSearchEnds(t *testing.T) {
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	seen, err := scan.Picture(ctx, photo(t, "two-cards.jpg"))
	assert.ErrorIs(t, err, context.Canceled)
	assert.Empty(t, seen.Codes)
	_, err = scan.PDF(ctx, file("<< /Pages << /Kids [3 0 R] >> >>", "<< /Producer (slotcard) >>", "<< /Type /Page >>"))
	assert.ErrorIs(t, err, context.Canceled)
}

// Slivers hold no code, however long they are.
func TestSlivers(t *testing.T) {
	for _, size := range [][2]int{{1, 1000}, {1, 1_000_000}, {2, 1000}, {3, 4000}, {1000, 1}, {1000, 3}, {20, 3000}, {21, 200_000}, {22, 1500}, {60, 60}} {
		img := image.NewGray(image.Rect(0, 0, size[0], size[1]))
		for i := range img.Pix {
			img.Pix[i] = uint8(i * 31) // not of one shade
		}
		var b bytes.Buffer
		require.NoError(t, png.Encode(&b, img))
		_, err := read(b.Bytes())
		assert.ErrorIs(t, err, scan.ErrNoCode, "%d by %d", size[0], size[1])
	}
}

// file is a PDF of those objects, numbered from 1: the first is the root, the
// second the information.
func file(objects ...string) []byte {
	var b strings.Builder
	b.WriteString("%PDF-1.3\n")
	var at []int
	for i, o := range objects {
		at = append(at, b.Len())
		fmt.Fprintf(&b, "%d 0 obj\n%s\nendobj\n", i+1, o)
	}
	xref := b.Len()
	fmt.Fprintf(&b, "xref\n0 %d\n0000000000 65535 f \n", len(at)+1)
	for _, a := range at {
		fmt.Fprintf(&b, "%010d 00000 n \n", a)
	}
	fmt.Fprintf(&b, "trailer\n<< /Root 1 0 R /Info 2 0 R >>\nstartxref\n%d\n%%%%EOF\n", xref)
	return []byte(b.String())
}

// What a small PDF can ask for without being packed: the same work many times.
func TestPDFAsksForTooMuch(t *testing.T) {
	const info = "<< /Producer (slotcard) >>"
	page := func(contents, resources int) string {
		return fmt.Sprintf("<< /Type /Page /MediaBox [0 0 300 300] /Contents %d 0 R /Resources %d 0 R >>", contents, resources)
	}
	stream := func(head, s string) string {
		return fmt.Sprintf("<< %s /Length %d >>\nstream\n%s\nendstream", head, len(s), s)
	}
	root := func(pages int) string {
		return "<< /Pages << /Kids [" + strings.Repeat("3 0 R ", pages) + "] >> >>"
	}
	none := "<< /XObject << >> >>"

	_, err := scan.PDF(t.Context(), file(root(10_000), info, page(4, 5), stream("", strings.Repeat("0 g ", 5000)), none))
	assert.ErrorContains(t, err, "it unpacks to more than 16 MB", "a stream for all pages")

	long := "/Long (" + strings.Repeat("x", 100_000) + ")"
	_, err = scan.PDF(t.Context(), file(root(1000), info, page(4, 5), stream(long, ""), none))
	assert.ErrorContains(t, err, "its objects stand inside of each other", "a head of a stream for all pages")

	_, err = scan.PDF(t.Context(), file(root(10_000), info, strings.Replace(page(4, 5), "/Type", long+" /Type", 1), stream("", ""), none))
	assert.ErrorIs(t, err, scan.ErrNoCode, "a page that stands for all is read once")

	_, err = scan.PDF(t.Context(), file(root(1), info, page(4, 5), stream("", strings.Repeat("0 0 21 1 re\n", 100_000)+"f"), none))
	assert.ErrorIs(t, err, scan.ErrNoCode, "a path of more than a symbol")

	// Symbols that cost more to keep than to draw: the first is refused.
	_, err = scan.PDF(t.Context(), file(root(1), info, page(4, 5), stream("", strings.Repeat("0 176 177 1 re f\n", 50_000)), none))
	assert.ErrorContains(t, err, "page 1: a code is drawn on it that cannot be read")
}
