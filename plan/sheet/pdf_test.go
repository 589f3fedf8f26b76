package sheet_test

import (
	"bytes"
	"fmt"
	"os"
	"strings"
	"testing"

	"github.com/go-pdf/fpdf"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"slotcard/plan/sheet"
)

// formRows are a plan sheet as the form has it.
var formRows = [][]string{
	{"1", "1", "Command", "QB CMD 1", "", "152.4125 N", "103.5", "157.6725 N", "146.2", "A", "Bellwether"},
	{"2", "1", "Tactical", "VFIRE21", "Division A", "154.2800 N", "CSQ", "154.2800 N", "156.7", "A", ""},
	{"", "3", "Tactical", "QB TAC 2", "Division B", "153.7400 N", "CSQ", "153.7400 N", "CSQ", "A", ""},
	{"", "4", "Guard", "AIRGUARD", "", "168.6250 N", "CSQ", "168.6250 N", "110.9", "A", ""},
}

var formWidths = []float64{12, 10, 22, 30, 28, 26, 18, 26, 18, 12, 40}

// drawn is the sheet as another general-purpose library draws it: with a
// standard face, or with an embedded one, whose text is two bytes a glyph.
func drawn(t *testing.T, embedded bool) []byte {
	t.Helper()
	p := fpdf.New("L", "mm", "Letter", "")
	face := "Helvetica"
	if embedded {
		data, err := os.ReadFile("../../fonts/data/AtkinsonHyperlegibleNext-Regular.ttf")
		require.NoError(t, err)
		face = "next"
		p.AddUTF8FontFromBytes(face, "", data)
	}
	p.AddPage()
	p.SetFont(face, "", 9)
	p.CellFormat(0, 6, "Incident Radio Communications Plan (ICS 205)", "", 1, "C", false, 0, "")
	p.CellFormat(80, 6, "1. Incident Name: Thimble Gulch", "1", 0, "L", false, 0, "")
	p.CellFormat(80, 6, "2. Date/Time Prepared: 08/13/2027 2030", "1", 1, "L", false, 0, "")
	row := func(cells []string) {
		for i, c := range cells {
			p.CellFormat(formWidths[i], 7, c, "1", 0, "L", false, 0, "")
		}
		p.Ln(-1)
	}
	row([]string{"Zone", "Ch #", "Function", "Channel Name", "Assignment", "RX Freq", "RX Tone", "TX Freq", "TX Tone", "Mode", "Remarks"})
	for _, r := range formRows {
		row(r)
	}
	p.CellFormat(120, 6, "5. Special Instructions: Say MEDICAL on command.", "1", 1, "L", false, 0, "")
	p.CellFormat(60, 6, "ICS 205", "", 0, "L", false, 0, "")
	p.CellFormat(60, 6, "IAP Page 3", "", 1, "L", false, 0, "")
	var b bytes.Buffer
	require.NoError(t, p.Output(&b))
	return b.Bytes()
}

// formPDF is a form whose fields are filled: what is drawn on its page are only
// the titles. Written after ISO 32000-1, 12.7.
func formPDF() []byte {
	var b bytes.Buffer
	offsets := []int{0}
	object := func(body string) {
		offsets = append(offsets, b.Len())
		fmt.Fprintf(&b, "%d 0 obj\n%s\nendobj\n", len(offsets)-1, body)
	}
	b.WriteString("%PDF-1.7\n")
	var refs, content strings.Builder
	n := 6
	x := func(i int) float64 {
		at := 20.0
		for _, w := range formWidths[:i] {
			at += w * 2.8
		}
		return at
	}
	for i, title := range sheet.Titles() {
		short := strings.Split(title, "/Trunked")[0]
		fmt.Fprintf(&content, "BT /F1 6 Tf %.1f 500 Td (%s) Tj ET\n", x(i), strings.NewReplacer("(", `\(`, ")", `\)`).Replace(short))
	}
	var bodies []string
	for k, row := range formRows {
		for i, text := range row {
			y := 480 - 16*float64(k)
			bodies = append(bodies, fmt.Sprintf("<< /Type /Annot /Subtype /Widget /FT /Tx /T (f%d) /V (%s) /Rect [%.1f %.1f %.1f %.1f] >>",
				n, text, x(i), y, x(i)+formWidths[i]*2.8, y+14))
			fmt.Fprintf(&refs, "%d 0 R ", n)
			n++
		}
	}
	object("<< /Type /Catalog /Pages 2 0 R /AcroForm << /Fields [" + refs.String() + "] >> >>")
	object("<< /Type /Pages /Kids [3 0 R] /Count 1 >>")
	object("<< /Type /Page /Parent 2 0 R /MediaBox [0 0 792 612] /Contents 4 0 R /Resources << /Font << /F1 5 0 R >> >> /Annots [" + refs.String() + "] >>")
	object(fmt.Sprintf("<< /Length %d >>\nstream\n%s\nendstream", content.Len(), content.String()))
	widths := strings.Repeat("500 ", 224)
	object("<< /Type /Font /Subtype /Type1 /BaseFont /Helvetica /Encoding /WinAnsiEncoding /FirstChar 32 /LastChar 255 /Widths [" + widths + "] >>")
	for _, body := range bodies {
		object(body)
	}
	at := b.Len()
	fmt.Fprintf(&b, "xref\n0 %d\n0000000000 65535 f \n", len(offsets))
	for _, o := range offsets[1:] {
		fmt.Fprintf(&b, "%010d 00000 n \n", o)
	}
	fmt.Fprintf(&b, "trailer\n<< /Size %d /Root 1 0 R >>\nstartxref\n%d\n%%%%EOF\n", len(offsets), at)
	return b.Bytes()
}

// A sheet in a PDF, drawn with either kind of face, or filled in as a form, gives
// the slots of the sheet.
func TestPDF(t *testing.T) {
	l := readLoad(t, examples+"thimble-gulch/load.toml")
	for name, data := range map[string][]byte{"standard face": drawn(t, false), "embedded face": drawn(t, true), "form": formPDF()} {
		s, err := sheet.Read(data, "sheet.pdf", l)
		require.NoError(t, err, name)
		o := settled("load.toml")
		if name != "form" {
			o.Name = ""
		}
		d := s.Draft(o)
		assert.Empty(t, d.Open, "%s\n%s", name, d.TOML)
		p, faults := drafted(t, d, l)
		assert.Empty(t, faults, name)
		var got []string
		for _, s := range p.Slots {
			ids := ""
			for _, d := range s.Users {
				ids += d.ID
			}
			got = append(got, fmt.Sprint(s.Channel.Name, " ", s.TxTone, " ", ids))
		}
		assert.Equal(t, []string{"QB CMD 1 146.2 ", "VFIRE21 156.7 A", "QB TAC 2 - B", "AIRGUARD 110.9 "}, got, "%s\n%s", name, d.TOML)
	}
}

// A page without text is a picture, and said to be one.
func TestScannedPDF(t *testing.T) {
	p := fpdf.New("P", "mm", "Letter", "")
	p.AddPage()
	p.Rect(10, 10, 50, 50, "F")
	var b bytes.Buffer
	require.NoError(t, p.Output(&b))
	_, err := sheet.Read(b.Bytes(), "sheet.pdf", readLoad(t, examples+"thimble-gulch/load.toml"))
	assert.ErrorContains(t, err, "is a PDF without text: a scanned picture")
}
