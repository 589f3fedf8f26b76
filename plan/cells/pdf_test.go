package cells

import (
	"bytes"
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// smallPDF is a page with these operators on it, after ISO 32000-1, 7.5.
func smallPDF(content string) []byte {
	var b bytes.Buffer
	offsets := []int{0}
	object := func(body string) {
		offsets = append(offsets, b.Len())
		fmt.Fprintf(&b, "%d 0 obj\n%s\nendobj\n", len(offsets)-1, body)
	}
	b.WriteString("%PDF-1.7\n")
	object("<< /Type /Catalog /Pages 2 0 R >>")
	object("<< /Type /Pages /Kids [3 0 R] /Count 1 >>")
	object("<< /Type /Page /Parent 2 0 R /MediaBox [0 0 792 612] /Contents 4 0 R /Resources << /Font << /F1 5 0 R >> >> >>")
	object(fmt.Sprintf("<< /Length %d >>\nstream\n%s\nendstream", len(content), content))
	object("<< /Type /Font /Subtype /Type1 /BaseFont /Helvetica /Encoding /WinAnsiEncoding /FirstChar 32 /LastChar 126 /Widths [" + strings.Repeat("500 ", 95) + "] >>")
	at := b.Len()
	fmt.Fprintf(&b, "xref\n0 %d\n0000000000 65535 f \n", len(offsets))
	for _, o := range offsets[1:] {
		fmt.Fprintf(&b, "%010d 00000 n \n", o)
	}
	fmt.Fprintf(&b, "trailer\n<< /Size %d /Root 1 0 R >>\nstartxref\n%d\n%%%%EOF\n", len(offsets), at)
	return b.Bytes()
}

const table = "BT /F1 8 Tf 20 500 Td (Name) Tj 100 0 Td (RX) Tj 100 0 Td (Tone) Tj ET\n" +
	"BT /F1 8 Tf 20 480 Td (VFIRE21) Tj 100 0 Td (154.28) Tj 100 0 Td (156.7) Tj ET\n" +
	"BT /F1 8 Tf 20 460 Td (QB ) Tj 12 0 Td (CMD 1) Tj 188 0 Td (146.2) Tj ET\n"

// Text comes out in the columns in which it stands, an empty cell stays empty, and
// words drawn one by one are one text.
func TestPDFColumns(t *testing.T) {
	book, err := Read(smallPDF(table), "plan.pdf")
	require.NoError(t, err)
	assert.Equal(t, PDF, book.Format)
	var got []string
	for _, r := range book.Sheets[0].Rows {
		var cells []string
		for _, c := range r.Cells {
			cells = append(cells, c.Text)
		}
		got = append(got, strings.Join(cells, "|"))
	}
	assert.Equal(t, []string{"Name|RX|Tone", "VFIRE21|154.28|156.7", "QB CMD 1||146.2"}, got)
}

// Whatever is done to a PDF, it is read or refused.
func TestDamagedPDF(t *testing.T) {
	whole := smallPDF(table)
	rng := rand.New(rand.NewPCG(1, 2))
	for range 400 {
		data := bytes.Clone(whole)
		for range 1 + rng.IntN(6) {
			switch rng.IntN(3) {
			case 0:
				data[rng.IntN(len(data))] = byte(rng.IntN(256))
			case 1:
				data = data[:1+rng.IntN(len(data))]
			case 2:
				at := rng.IntN(len(data))
				data = append(data[:at:at], append([]byte(fmt.Sprint(rng.IntN(1e9))), data[at:]...)...)
			}
		}
		if book, err := Read(data, "plan.pdf"); err != nil {
			assert.NotContains(t, err.Error(), "\n")
			assert.Nil(t, book)
		}
	}
}
