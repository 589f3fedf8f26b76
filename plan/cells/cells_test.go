package cells

import (
	"archive/zip"
	"bytes"
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"github.com/xuri/excelize/v2"
)

// texts of a sheet, a line a row, with | between cells and the row's number first.
func texts(s *Sheet) string {
	var b strings.Builder
	for _, r := range s.Rows {
		fmt.Fprintf(&b, "%d:", r.Number)
		for i, c := range r.Cells {
			if i > 0 {
				b.WriteByte('|')
			}
			b.WriteString(c.Text)
		}
		b.WriteByte('\n')
	}
	return b.String()
}

func read(t *testing.T, data []byte, name string) *Book {
	t.Helper()
	b, err := Read(data, name)
	require.NoError(t, err)
	return b
}

func TestTextIsTakenApart(t *testing.T) {
	const want = "1:Ch|Name|RX\n2:1|QB TAC 1|154.2800\n"
	utf16 := func(s string, bom bool) []byte {
		var b []byte
		if bom {
			b = append(b, 0xff, 0xfe)
		}
		for _, r := range s {
			b = append(b, byte(r), byte(r>>8))
		}
		return b
	}
	comma := "Ch,Name,RX\n1,QB TAC 1,154.2800\n"
	for name, c := range map[string]struct {
		data   []byte
		file   string
		format Format
	}{
		"comma":               {[]byte(comma), "a.csv", CSV},
		"comma, no name":      {[]byte(comma), "", CSV},
		"comma, CR LF, BOM":   {[]byte("\ufeff" + strings.ReplaceAll(comma, "\n", "\r\n")), "a.csv", CSV},
		"semicolon":           {[]byte(strings.ReplaceAll(comma, ",", ";")), "a.csv", CSV},
		"tab":                 {[]byte(strings.ReplaceAll(comma, ",", "\t")), "a.txt", CSV},
		"bar":                 {[]byte("| Ch | Name | RX |\n"), "a.txt", CSV},
		"quoted":              {[]byte("Ch,\"Name\",RX\n1,\"QB TAC 1\",154.2800\n"), "a.csv", CSV},
		"sep=":                {[]byte("sep=;\nCh;Name;RX\n1;QB TAC 1;154.2800\n"), "a.csv", CSV},
		"UTF-16":              {utf16(comma, true), "a.csv", CSV},
		"UTF-16 without mark": {utf16(comma, false), "a.csv", CSV},
		"spaces":              {[]byte("Ch  Name      RX\n1   QB TAC 1  154.2800\n"), "a.txt", Text},
	} {
		t.Run(name, func(t *testing.T) {
			b := read(t, c.data, c.file)
			assert.Equal(t, c.format, b.Format)
			want := want
			switch name {
			case "sep=":
				want = "2:Ch|Name|RX\n3:1|QB TAC 1|154.2800\n"
			case "bar":
				want = "1:Ch|Name|RX\n"
			}
			assert.Equal(t, want, texts(b.Sheets[0]))
		})
	}
}

func TestDecimalCommasDoNotSplitCells(t *testing.T) {
	b := read(t, []byte("Ch;Name;RX;TX\n1;A;154,28;159,5\n2;B;154,29;159,6\n"), "a.csv")
	assert.Equal(t, "1:Ch|Name|RX|TX\n2:1|A|154,28|159,5\n3:2|B|154,29|159,6\n", texts(b.Sheets[0]))
}

func TestWindows1252(t *testing.T) {
	b := read(t, []byte("Ch,Name,Remarks\n1,A,Pe\xf1a \x96 north\n"), "a.csv")
	assert.Equal(t, "Peña – north", b.Sheets[0].Rows[1].Cells[2].Text)
}

// A table copied from a page: what is empty stays empty, because the other lines
// show where the columns are.
func TestPastedColumnsStandBelowEachOther(t *testing.T) {
	b := read(t, []byte(strings.Join([]string{
		"QB COOPERATORS",
		"Ch  Name      RX        RX tone  TX        TX tone  Remarks",
		"",
		"1   QB CMD 1  152.4125  103.5    157.6725           repeated",
		"2   QB TAC 1  153.7400           153.7400  156.7",
		"3   QB TAC 2  154.9500",
	}, "\n")), "")
	assert.Equal(t, Text, b.Format)
	assert.Equal(t, strings.Join([]string{
		"1:QB COOPERATORS",
		"2:Ch|Name|RX|RX tone|TX|TX tone|Remarks",
		"4:1|QB CMD 1|152.4125|103.5|157.6725||repeated",
		"5:2|QB TAC 1|153.7400||153.7400|156.7",
		"6:3|QB TAC 2|154.9500",
		"",
	}, "\n"), texts(b.Sheets[0]))
}

func TestPastedColumnsAreCountedWhereTheyDoNot(t *testing.T) {
	b := read(t, []byte("1  QB TAC 1  154.28  none\n2  QB TACTICAL TEN  154.295  none\n"), "")
	assert.Equal(t, "1:1|QB TAC 1|154.28|none\n2:2|QB TACTICAL TEN|154.295|none\n", texts(b.Sheets[0]))
}

func TestProseIsNoCSV(t *testing.T) {
	b := read(t, []byte("Command is QB CMD 1, tone 5.\nDivision A on VFIRE21, please.\n"), "")
	assert.Equal(t, Text, b.Format)
	assert.Equal(t, "1:Command is QB CMD 1, tone 5.\n2:Division A on VFIRE21, please.\n", texts(b.Sheets[0]))
}

// workbook is an XLSX as people make them: merged titles over two rows, numbers
// with formats, a date, a formula with its result, what is hidden, a second sheet.
func workbook(t testing.TB) []byte {
	t.Helper()
	f := excelize.NewFile()
	require.NoError(t, f.SetSheetName("Sheet1", "Local"))
	set := func(cell string, v any) { require.NoError(t, f.SetCellValue("Local", cell, v)) }
	set("B2", "RX")
	require.NoError(t, f.MergeCell("Local", "B2", "C2"))
	set("A3", "Name")
	set("B3", "Freq")
	set("C3", "Tone")
	set("A4", "QB\nTAC 1")
	set("B4", 154.28)
	four, err := f.NewStyle(&excelize.Style{CustomNumFmt: new("0.0000")})
	require.NoError(t, err)
	require.NoError(t, f.SetCellStyle("Local", "B4", "B4", four))
	set("C4", 156.7)
	set("B5", 151.1375)
	two, err := f.NewStyle(&excelize.Style{NumFmt: 2})
	require.NoError(t, err)
	require.NoError(t, f.SetCellStyle("Local", "B5", "B5", two))
	day, err := f.NewStyle(&excelize.Style{CustomNumFmt: new("yyyy-mm-dd")})
	require.NoError(t, err)
	set("D4", time.Date(2027, 3, 1, 0, 0, 0, 0, time.UTC))
	require.NoError(t, f.SetCellStyle("Local", "D4", "D4", day))
	require.NoError(t, f.SetRowVisible("Local", 5, false))
	require.NoError(t, f.SetColVisible("Local", "D", false))
	_, err = f.NewSheet("Old")
	require.NoError(t, err)
	require.NoError(t, f.SetCellValue("Old", "A1", "x"))
	require.NoError(t, f.SetSheetVisible("Old", false))
	var b bytes.Buffer
	require.NoError(t, f.Write(&b))
	return b.Bytes()
}

func TestWorkbook(t *testing.T) {
	b := read(t, workbook(t), "list.xlsx")
	assert.Equal(t, XLSX, b.Format)
	require.Len(t, b.Sheets, 2)
	s := b.Sheets[0]
	assert.Equal(t, "2:|RX\n3:Name|Freq|Tone\n4:QB TAC 1|154.2800|156.7|2027-03-01\n5:|151.14\n", texts(s))
	assert.Equal(t, []string{"QB", "TAC 1"}, s.Rows[2].Cell(0).Lines())
	assert.Equal(t, "151.1375", s.Rows[3].Cell(1).Stored, "shown with two digits")
	assert.Empty(t, s.Rows[2].Cell(1).Stored)
	assert.Equal(t, []Range{{2, 1, 2, 2}}, s.Merged)
	assert.Equal(t, "RX", s.Shown(0, 2).Text)
	assert.True(t, s.Shown(1, 5).Empty())
	assert.True(t, s.Rows[3].Hidden)
	assert.False(t, s.Rows[2].Hidden)
	assert.True(t, s.hidden[3])
	assert.True(t, b.Sheets[1].Hidden)
	assert.False(t, s.Hidden)
	assert.Equal(t, "sheet Local, row 5, column B", s.place(5, 1))
	assert.Equal(t, "AB", ColumnName(27))
}

func TestFormulasShowTheirResults(t *testing.T) {
	data := packed(t, map[string]string{
		"xl/workbook.xml": `<workbook xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main" ` +
			`xmlns:r="http://schemas.openxmlformats.org/officeDocument/2006/relationships"><sheets><sheet name="A" sheetId="1" r:id="rId1"/></sheets></workbook>`,
		"_rels/.rels": `<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Id="rId1" ` +
			`Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/officeDocument" Target="xl/workbook.xml"/></Relationships>`,
		"xl/_rels/workbook.xml.rels": `<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">` +
			`<Relationship Id="rId1" Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/worksheet" Target="worksheets/sheet1.xml"/></Relationships>`,
		"[Content_Types].xml": `<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types"></Types>`,
		"xl/worksheets/sheet1.xml": `<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><sheetData>` +
			`<row r="2"><c r="B2"><f>A1+5</f><v>159.5</v></c><c r="C2" t="str"><f>"a"</f><v>text</v></c><c r="D2"><v>154.28000000000003</v></c></row>` +
			`<row r="1048576"><c r="A1048576" s="0"/></row></sheetData></worksheet>`,
	})
	b := read(t, data, "")
	assert.Equal(t, "2:|159.5|text|154.28\n", texts(b.Sheets[0]))
}

// ods packs a content.xml as programs write it.
func odsFile(t testing.TB, sheets string) []byte {
	return packed(t, map[string]string{
		"mimetype": "application/vnd.oasis.opendocument.spreadsheet",
		"content.xml": `<?xml version="1.0" encoding="UTF-8"?><office:document-content xmlns:office="` + odsOffice + `" xmlns:table="` + odsTable +
			`" xmlns:text="` + odsText + `" xmlns:style="` + odsStyle + `" xmlns:dc="http://purl.org/dc/elements/1.1/"><office:automatic-styles>` +
			`<style:style style:name="ta2" style:family="table"><style:table-properties table:display="false"/></style:style></office:automatic-styles>` +
			`<office:body><office:spreadsheet>` + sheets + `</office:spreadsheet></office:body></office:document-content>`,
	})
}

func packed(t testing.TB, parts map[string]string) []byte {
	t.Helper()
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	for name, text := range parts {
		w, err := z.Create(name)
		require.NoError(t, err)
		_, err = w.Write([]byte(text))
		require.NoError(t, err)
	}
	require.NoError(t, z.Close())
	return b.Bytes()
}

func TestODS(t *testing.T) {
	b := read(t, odsFile(t, `<table:table table:name="Local"><table:table-column/><table:table-column table:visibility="collapse"/>`+
		`<table:table-row table:number-rows-repeated="2"><table:table-cell table:number-columns-repeated="16384"/></table:table-row>`+
		`<table:table-row><table:table-cell table:number-columns-spanned="2"><office:annotation><dc:creator>x</dc:creator><text:p>note</text:p></office:annotation>`+
		`<text:p>RX <text:span>Freq</text:span><text:s/></text:p></table:table-cell><table:covered-table-cell/>`+
		`<table:table-cell table:number-columns-repeated="2"><text:p>A</text:p><text:p>B</text:p></table:table-cell></table:table-row>`+
		`<table:table-row table:visibility="filter"><table:table-cell office:value-type="float" office:value="151.1375"><text:p>151.14</text:p></table:table-cell></table:table-row>`+
		`<table:table-row table:number-rows-repeated="1048570"><table:table-cell table:number-columns-repeated="16384"/></table:table-row></table:table>`+
		`<table:table table:name="Old" table:style-name="ta2"><table:table-row><table:table-cell><text:p>x</text:p></table:table-cell></table:table-row></table:table>`), "a.ods")
	assert.Equal(t, ODS, b.Format)
	require.Len(t, b.Sheets, 2)
	s := b.Sheets[0]
	assert.Equal(t, "3:RX Freq||A B|A B\n4:151.14\n", texts(s))
	assert.Equal(t, "RX Freq", s.Shown(0, 1).Text)
	assert.Equal(t, []string{"A", "B"}, s.Rows[0].Cell(2).Lines())
	assert.Equal(t, "151.1375", s.Rows[1].Cell(0).Stored)
	assert.True(t, s.Rows[1].Hidden)
	assert.True(t, s.hidden[1])
	assert.True(t, b.Sheets[1].Hidden)
}

func TestHostile(t *testing.T) {
	whole := workbook(t)
	row := `<table:table-row table:number-rows-repeated="1048576"><table:table-cell table:number-columns-repeated="500"><text:p>x</text:p></table:table-cell></table:table-row>`
	laughs := `<!DOCTYPE l [<!ENTITY a "ha"><!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;">]>`
	for name, c := range map[string]struct {
		data []byte
		want string
	}{
		"empty":              {nil, "is empty"},
		"blanks":             {[]byte(" \n\t\n"), "is empty"},
		"zeros":              {make([]byte, 100), "is no text"},
		"too large":          {make([]byte, MaxFile+1), "is larger than 16 MB"},
		"PDF":                {[]byte("%PDF-1.7\n"), "is a PDF"},
		"old or locked":      {[]byte("\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"), "is locked"},
		"half a zip":         {whole[:len(whole)/2], "is damaged"},
		"a zip of nothing":   {packed(t, map[string]string{"a": "b"}), "is damaged"},
		"zip bomb":           {packed(t, map[string]string{"content.xml": strings.Repeat("\x00", mostUnzip+1)}), "unpacks to more than 32 MB"},
		"quote":              {[]byte("a,b,c\n1,\"2,3\n"), "line 2 has a quotation mark"},
		"repeated rows":      {odsFile(t, `<table:table table:name="A">`+row+`</table:table>`), "has more than"},
		"billion laughs":     {packed(t, map[string]string{"content.xml": laughs + "<x>&b;</x>"}), "is damaged"},
		"columns":            {[]byte(strings.Repeat("a,", mostColumns+1) + "a\n"), "has more than 128 columns at line 1"},
		"long cell":          {[]byte("a;b\n" + strings.Repeat("x", mostCell+1) + ";c\n"), "has more than 4000 characters in one cell, at line 2, column A"},
		"rows":               {[]byte(strings.Repeat("a;b\n", mostRows+1)), "has more than 6000 rows"},
		"truncated document": {packed(t, map[string]string{"content.xml": "<a><b>"}), "is damaged"},
	} {
		t.Run(name, func(t *testing.T) {
			b, err := Read(c.data, "x.csv")
			require.Error(t, err)
			assert.Nil(t, b)
			assert.Contains(t, err.Error(), c.want)
		})
	}
}

// The library takes damage for the end of a sheet; rows behind it would be lost
// in silence.
func TestDamagedSheetIsNoShortSheet(t *testing.T) {
	z, err := zip.NewReader(bytes.NewReader(workbook(t)), int64(len(workbook(t))))
	require.NoError(t, err)
	parts := map[string]string{}
	for _, f := range z.File {
		r, err := f.Open()
		require.NoError(t, err)
		var b bytes.Buffer
		_, err = b.ReadFrom(r)
		require.NoError(t, err)
		parts[f.Name] = b.String()
	}
	const sheet = "xl/worksheets/sheet1.xml"
	at := strings.Index(parts[sheet], `<row r="4"`)
	require.Positive(t, at)
	parts[sheet] = parts[sheet][:at] + "<broken" + parts[sheet][at:]
	_, err = Read(packed(t, parts), "")
	assert.ErrorContains(t, err, "is damaged")
}

func FuzzRead(f *testing.F) {
	f.Add(workbook(f), "a.xlsx")
	f.Add(odsFile(f, `<table:table table:name="A"><table:table-row><table:table-cell><text:p>x</text:p></table:table-cell></table:table-row></table:table>`), "a.ods")
	f.Add([]byte("Ch,Name,RX\n1,QB TAC 1,154.28\n"), "a.csv")
	f.Add([]byte("1  QB TAC 1  154.28\n2   QB   154.3"), "")
	f.Fuzz(func(t *testing.T, data []byte, name string) {
		b, err := Read(data, name)
		if err != nil {
			return
		}
		for _, s := range b.Sheets {
			last := 0
			for i, r := range s.Rows {
				if r.Number <= last {
					t.Fatalf("row %d after row %d", r.Number, last)
				}
				last = r.Number
				if len(r.Cells) == 0 || r.Cells[len(r.Cells)-1].Empty() {
					t.Fatalf("row %d ends with nothing", r.Number)
				}
				s.Shown(i, 0)
			}
		}
	})
}

func BenchmarkReadXLSX300(b *testing.B) {
	f := excelize.NewFile()
	for i := range 300 {
		for c := range 12 {
			name, _ := excelize.CoordinatesToCellName(c+1, i+1)
			_ = f.SetCellValue("Sheet1", name, fmt.Sprintf("cell %d %d", i, c))
		}
	}
	var data bytes.Buffer
	require.NoError(b, f.Write(&data))
	for b.Loop() {
		if _, err := Read(data.Bytes(), ""); err != nil {
			b.Fatal(err)
		}
	}
}

// A formula that nobody computed shows as it is written: the cell is not empty.
func TestFormulaWithoutResult(t *testing.T) {
	f := excelize.NewFile()
	for cell, v := range map[string]any{"A1": "Channel", "B1": "RX", "A2": "QB TAC 1"} {
		require.NoError(t, f.SetCellValue("Sheet1", cell, v))
	}
	require.NoError(t, f.SetCellFormula("Sheet1", "B2", "151.3475+0"))
	require.NoError(t, f.SetCellFormula("Sheet1", "D2", "B2"))
	var data bytes.Buffer
	require.NoError(t, f.Write(&data))
	b, err := Read(data.Bytes(), "list.xlsx")
	require.NoError(t, err)
	var row []string
	for _, c := range b.Sheets[0].Rows[1].Cells {
		row = append(row, c.Text)
	}
	assert.Equal(t, []string{"QB TAC 1", "=151.3475+0", "", "=B2"}, row)
}
