package sheet_test

import (
	"bytes"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"github.com/xuri/excelize/v2"

	"slotcard/plan/sheet"
)

// A workbook as a general-purpose library writes it: titles over two rows under
// merged cells, a function over several rows, numbers and dates as numbers, a
// frequency shown with two digits, a second sheet and a hidden one.
func TestWorkbook(t *testing.T) {
	f := excelize.NewFile()
	defer f.Close()
	require.NoError(t, f.SetSheetName("Sheet1", "ICS 205"))
	date, err := f.NewStyle(&excelize.Style{NumFmt: 22}) // m/d/yy h:mm: ECMA-376, 18.8.30
	require.NoError(t, err)
	short, err := f.NewStyle(&excelize.Style{NumFmt: 2}) // 0.00
	require.NoError(t, err)
	for i, row := range [][]any{
		{"Incident Radio Communications Plan"},
		{"1. Incident Name", "Thimble Gulch", nil, "2. Date/Time Prepared", time.Date(2027, 8, 13, 20, 30, 0, 0, time.UTC)},
		{},
		{"Function", "Channel Name", "Assignment", "Receive", nil, "Transmit", nil, "Mode"},
		{nil, nil, nil, "Freq", "Tone", "Freq", "Tone", nil},
		{"Command", "QB CMD 1", nil, 152.4125, 103.5, 157.6725, 146.2, "A"},
		{"Tactical", "VFIRE21", "Div A", 154.28, "CSQ", 154.28, 156.7, "A"},
		{nil, "QB TAC 2", "Div B", 153.74, "CSQ", 153.74, "CSQ", "A"},
		{"Guard", "AIRGUARD", nil, 168.625, "CSQ", 168.625, 110.9, "A"},
		{"ICS 205", "IAP Page 3"},
	} {
		for k, v := range row {
			if v != nil {
				cell, err := excelize.CoordinatesToCellName(k+1, i+1)
				require.NoError(t, err)
				require.NoError(t, f.SetCellValue("ICS 205", cell, v))
			}
		}
	}
	for _, m := range [][2]string{{"A4", "A5"}, {"B4", "B5"}, {"C4", "C5"}, {"D4", "E4"}, {"F4", "G4"}, {"H4", "H5"}, {"A7", "A8"}, {"A1", "H1"}} {
		require.NoError(t, f.MergeCell("ICS 205", m[0], m[1]))
	}
	require.NoError(t, f.SetCellStyle("ICS 205", "E2", "E2", date))
	require.NoError(t, f.SetCellStyle("ICS 205", "D6", "D9", short))
	for _, name := range []string{"ICS 204", "Lists"} {
		_, err := f.NewSheet(name)
		require.NoError(t, err)
		require.NoError(t, f.SetCellValue(name, "A1", "Resources assigned"))
	}
	require.NoError(t, f.SetSheetVisible("Lists", false))
	var b bytes.Buffer
	require.NoError(t, f.Write(&b))
	fourSlots(t, b.Bytes(), "sheet.xlsx", func(d *sheet.Draft) {
		assert.Contains(t, string(d.TOML), "from sheet.xlsx, sheet ICS 205. Compare")
		assert.Contains(t, string(d.TOML), `prepared_at = 2027-08-13T20:30:00-06:00`)
		assert.Equal(t, []string{"sheet ICS 204, 1 row", "sheet Lists, 1 row, which the file hides"}, d.Others)
		assert.Empty(t, d.NotRead, string(d.TOML))
		assert.Contains(t, string(d.TOML), "# row 8 of the sheet: Tactical | QB TAC 2 |")
	})
}

// fourSlots drafts a file that holds layoutRows.
func fourSlots(t *testing.T, data []byte, name string, more func(*sheet.Draft)) {
	t.Helper()
	l := readLoad(t, examples+"thimble-gulch/load.toml")
	s, err := sheet.Read(data, name, l)
	require.NoError(t, err, name)
	d := s.Draft(sheet.Options{LoadPath: "load.toml", Source: name, Offset: "-06:00", Period: 1, From: "2027-08-14T06:00Z", To: "2027-08-14T18:00Z", PreparedBy: "x"})
	assert.Empty(t, d.Open, "%s\n%s", name, d.TOML)
	p, faults := drafted(t, d, l)
	assert.Empty(t, faults, "%s\n%s", name, d.TOML)
	var got []string
	for _, s := range p.Slots {
		ids := ""
		for _, d := range s.Users {
			ids += d.ID
		}
		got = append(got, fmt.Sprint(s.Channel.Name, " ", s.Use, " ", s.TxTone, " ", ids))
	}
	assert.Equal(t, []string{"QB CMD 1 command 146.2 ", "VFIRE21 tactical 156.7 A", "QB TAC 2 tactical - B", "AIRGUARD guard 110.9 "}, got, "%s\n%s", name, d.TOML)
	more(d)
}

// openpyxl, an independent writer of workbooks, writes the same sheet.
func TestWorkbookOfPython(t *testing.T) {
	python := ""
	for _, name := range []string{"python3", "/usr/bin/python3"} { // the second is Debian's, which the package is for
		if exec.Command(name, "-c", "import openpyxl").Run() == nil {
			python = name
			break
		}
	}
	if python == "" {
		if os.Getenv("SLOTCARD_SECOND_OPINIONS") != "" {
			t.Fatal("python3 with openpyxl is not here to write workbooks: install python3-openpyxl, or unset SLOTCARD_SECOND_OPINIONS")
		}
		t.Skip("skipped: no python3 with openpyxl here to write workbooks")
	}
	const script = `
import datetime, openpyxl, sys
book = openpyxl.Workbook()
page = book.active
page.title = "Plan"
for row in [
    ["Incident Name:", "Thimble Gulch", None, "Date/Time Prepared:", datetime.datetime(2027, 8, 13, 20, 30)],
    [],
    ["Function", "Channel Name", "Assignment", "RX Freq", "RX", "TX Freq", "TX"],
    [None, None, None, "N or W", "Tone/NAC", "N or W", "Tone/NAC"],
    ["Command", "QB CMD 1", None, "152.4125 N", 103.5, "157.6725 N", 146.2],
    ["Tactical", "VFIRE21", "Div A", "154.2800 N", "CSQ", "154.2800 N", 156.7],
    ["Tactical", "QB TAC 2", "Div B", "153.7400 N", "CSQ", "153.7400 N", "CSQ"],
    ["Guard", "AIRGUARD", None, "168.6250 N", "CSQ", "168.6250 N", 110.9],
]:
    page.append(row)
page.merge_cells("A3:A4")
book.save(sys.argv[1])
`
	name := filepath.Join(t.TempDir(), "plan.xlsx")
	out, err := exec.Command(python, "-c", script, name).CombinedOutput()
	require.NoError(t, err, string(out))
	data, err := os.ReadFile(name)
	require.NoError(t, err)
	fourSlots(t, data, "plan.xlsx", func(d *sheet.Draft) {
		assert.Contains(t, string(d.TOML), `prepared_at = 2027-08-13T20:30:00-06:00`)
	})
}

// A spreadsheet that shows two decimals everywhere shows tones as 103.50.
func TestTwoDecimals(t *testing.T) {
	d := read(t, "Function,Channel Name,Assignment,Receive,,Transmit,\n,,,Freq,Tone,Freq,Tone\n"+
		"Command,QB CMD 1,All,152.4125,103.50,157.6725,146.20\nTactical,VFIRE21,Div A,154.28,,154.28,156.70\nGuard,AIRGUARD,All,168.625,,168.625,110.90\n").Draft(settled("load.toml"))
	assert.Empty(t, d.Open)
	assert.NotContains(t, string(d.TOML), "not read")
	assert.Contains(t, string(d.TOML), `site    = "Bellwether"`)
}
