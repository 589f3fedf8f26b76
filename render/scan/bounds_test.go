package scan_test

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"hash/crc32"
	"image"
	"image/png"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"slotcard/render/scan"
)

// A small file that would fill the memory is not unpacked: it is told by what
// it says of itself.
func TestPictureBombs(t *testing.T) {
	const refused = "no camera or scanner packs so much into so little, and it is not unpacked"
	claim := func(side uint32, depth, colour byte) []byte { // color as PNG numbers them
		data := claiming(side, side)
		data[24], data[25] = depth, colour
		return binary.BigEndian.AppendUint32(data[:29], crc32.ChecksumIEEE(data[12:29]))
	}
	for name, c := range map[string]struct {
		data []byte
		want string
	}{
		"grey":                       {claim(7200, 8, 0), "is a picture of 7200 by 7200 pixels in 1 kB: " + refused},
		"bits":                       {claim(7200, 1, 0), refused},
		"colours":                    {claim(3600, 8, 6), refused},
		"colors of 16 bits":          {claim(2600, 16, 6), refused},
		"a page at 600 dots an inch": {claim(5800, 8, 0), "is a damaged picture"},
		"a photograph of 12 million": {claim(3500, 8, 2), "is a damaged picture"},
		"as much as its bytes hold":  {append(claim(9000, 8, 0), make([]byte, 1<<20)...), "is a damaged picture"},
	} {
		_, err := read(c.data)
		assert.ErrorContains(t, err, c.want, name)
	}
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
