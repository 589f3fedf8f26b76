package channellist_test

import (
	"bytes"
	"flag"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"github.com/xuri/excelize/v2"

	"slotcard/plan"
	"slotcard/plan/cells"
	"slotcard/plan/channellist"
	"slotcard/plan/finding"
	"slotcard/plan/radio"
)

// The files of testdata/lists hold the load of the example, and more channels up
// to 120, in the forms that agencies keep their lists in. All of it is invented,
// but for the national channels. "go test ./plan/channellist -run Lists -update"
// writes them anew.

var update = flag.Bool("update", false, "write the files of testdata/lists anew")

const lists = "../../testdata/lists"

// exampleLoad is the load of the example with channels added up to 120.
func exampleLoad(t testing.TB) *plan.Load {
	t.Helper()
	o := plan.Options{ReadFile: os.ReadFile}
	l, found, err := plan.ReadLoad("../../examples/thimble-gulch/load.toml", o)
	require.NoError(t, err)
	require.False(t, found.HasErrors())
	f := radio.Hertz(150_995_000)
	for z := 0; len(l.Channels()) < 120; z++ {
		g := &plan.Group{Number: 11 + z, Name: fmt.Sprintf("District %d", z+1)}
		for n := 1; n <= 16 && len(l.Channels())+len(g.Channels) < 120; n++ {
			f += 15_000
			c := &plan.Channel{Number: n, Name: fmt.Sprintf("D%d TAC %d", z+1, n), Use: radio.Tactical, Rx: f, Tx: f, Group: g}
			if n == 1 {
				c.Name, c.Use, c.Tx, c.RxTone, c.TxTone = fmt.Sprintf("D%d CMD 1", z+1), radio.Command, f+5_002_500, radio.Tone(1035), l.Tones[z].Hz
			}
			g.Channels = append(g.Channels, c)
		}
		l.Groups = append(l.Groups, g)
	}
	return l
}

var answers = channellist.Answers{Name: "Quillback Range cooperators", Edition: "2027", Color: "orange", Effective: "2027-03-01",
	Expires: "2028-03-31", ListPositions: 16, EditionChannel: "QB TRAV 27"}

// row of the sheets of testdata/lists.
func sheetRow(l *plan.Load, c *plan.Channel, column string) string {
	tone := func(s radio.Squelch) string {
		switch {
		case s == radio.Site:
			return "SITE"
		case s.IsZero():
			return "CSQ"
		}
		if n := l.ToneNumber(s); n > 0 && column == "tx tone by number" {
			return fmt.Sprintf("Tone %d", n)
		}
		return s.String()
	}
	switch column {
	case "zone":
		return fmt.Sprintf("%d %s", c.Group.Number, c.Group.Name)
	case "number":
		return fmt.Sprint(c.Number)
	case "name":
		return c.Name
	case "use":
		return c.Use.String()
	case "rx":
		if c.Trunked() {
			return ""
		}
		return c.Rx.String()
	case "tx", "tx or blank":
		switch {
		case c.Trunked(), c.Tx == c.Rx && column == "tx or blank" && !c.ReceiveOnly:
			return ""
		case c.ReceiveOnly:
			return "RX only"
		}
		return c.Tx.String()
	case "rx tone", "tx tone", "tx tone by number":
		switch {
		case c.Trunked():
			return ""
		case column == "rx tone":
			return tone(c.RxTone)
		}
		return tone(c.TxTone)
	case "width":
		return map[radio.Width]string{radio.Narrow: "N", radio.Wide: "W"}[c.Width]
	case "mode":
		return strings.ToUpper(c.Mode.String()[:1])
	case "system":
		return c.System
	case "talkgroup":
		return c.Talkgroup
	}
	return c.Remarks
}

func sheetRows(l *plan.Load, g *plan.Group, columns []string) [][]string {
	var rows [][]string
	for _, c := range g.Channels {
		var row []string
		for _, k := range columns {
			row = append(row, sheetRow(l, c, k))
		}
		rows = append(rows, row)
	}
	return rows
}

// angle is decimal degrees as degrees, minutes and seconds.
func angle(v float64, letters string) string {
	letter := letters[:1]
	if v < 0 {
		v, letter = -v, letters[1:]
	}
	seconds := int(math.Round(v * 3600))
	return fmt.Sprintf("%d°%02d'%02d\"%s", seconds/3600, seconds/60%60, seconds%60, letter)
}

func siteRows(l *plan.Load) [][]string {
	rows := [][]string{{"Site", "Access tone", "Latitude", "Longitude", "Elev (ft)", "Channels"}}
	for _, s := range l.Sites {
		rows = append(rows, []string{s.Name, fmt.Sprint(s.Tone.Number), angle(*s.Latitude, "NS"), angle(*s.Longitude, "EW"),
			fmt.Sprintf("%.0f", *s.Elevation/0.3048), strings.Join(s.Channels, ", ")})
	}
	return rows
}

func toneRows(l *plan.Load) [][]string {
	rows := [][]string{{"Tone", "Hz"}}
	for _, t := range l.Tones {
		rows = append(rows, []string{fmt.Sprint(t.Number), t.Hz.String()})
	}
	return rows
}

// workbook has a sheet a group with titles over two rows, sites and tones.
func workbook(t testing.TB, l *plan.Load) []byte {
	t.Helper()
	f := excelize.NewFile()
	columns := []string{"number", "name", "use", "rx", "rx tone", "tx", "tx tone", "mode", "width", "system", "talkgroup", "remarks"}
	sheet := func(name string, rows [][]string) {
		_, err := f.NewSheet(name)
		require.NoError(t, err)
		for r, row := range rows {
			for c, text := range row {
				at, _ := excelize.CoordinatesToCellName(c+1, r+1)
				var v any = text
				var number float64
				if n, err := fmt.Sscanf(text, "%g", &number); n == 1 && err == nil && !strings.ContainsAny(text, " °ND") {
					v = number
				}
				if text != "" {
					require.NoError(t, f.SetCellValue(name, at, v))
				}
			}
		}
	}
	for _, g := range l.Groups {
		name := fmt.Sprintf("%d %s", g.Number, g.Name)
		sheet(name, slices.Concat([][]string{
			{"Quillback Range cooperators: " + g.Name},
			{"Ch", "Display", "Function", "Receive", "", "Transmit", "", "Mode", "N/W", "System", "Talkgroup", "Remarks"},
			{"", "", "", "Freq", "Tone", "Freq", "Tone"},
		}, sheetRows(l, g, columns)))
		require.NoError(t, f.MergeCell(name, "D2", "E2"))
		require.NoError(t, f.MergeCell(name, "F2", "G2"))
	}
	sheet("Sites", siteRows(l))
	sheet("Tones", toneRows(l))
	require.NoError(t, f.DeleteSheet("Sheet1"))
	var b bytes.Buffer
	require.NoError(t, f.Write(&b))
	return b.Bytes()
}

// semicolons is one table with a column of zones, in UTF-16, transmit blank where
// it is as receive, tones by number.
func semicolons(l *plan.Load) []byte {
	columns := []string{"zone", "number", "name", "tx or blank", "tx tone by number", "rx", "rx tone", "mode", "system", "talkgroup", "remarks"}
	lines := []string{"Zone;Ch;Channel Name;TX Freq;TX Tone;RX Freq;RX Tone;A/D;System;TG;Comments"}
	for _, g := range l.Groups {
		for _, row := range sheetRows(l, g, columns) {
			for i, c := range row {
				if strings.Contains(c, ";") {
					row[i] = `"` + c + `"`
				}
			}
			lines = append(lines, strings.Join(row, ";"))
		}
	}
	b := []byte{0xff, 0xfe}
	for _, r := range strings.Join(lines, "\r\n") + "\r\n" {
		b = append(b, byte(r), byte(r>>8))
	}
	return b
}

// pasted is text as it comes out of a document: headings, columns by spaces.
func pasted(l *plan.Load) []byte {
	columns := []string{"number", "name", "rx", "rx tone", "tx", "tx tone", "mode", "system", "talkgroup"}
	var b strings.Builder
	b.WriteString("Quillback Range cooperators\nEdition: 2027   Effective: 03/01/2027\n\n")
	format := "%-3s  %-10s  %-8s  %-5s  %-8s  %-5s  %-4s  %-17s  %s"
	for _, g := range l.Groups {
		fmt.Fprintf(&b, "ZONE %d - %s\n", g.Number, g.Name)
		for _, row := range slices.Concat([][]string{{"Ch", "Name", "RX", "Tone", "TX", "Tone", "Mode", "System", "Talkgroup"}}, sheetRows(l, g, columns)) {
			var args []any
			for _, c := range row {
				args = append(args, c)
			}
			b.WriteString(strings.TrimRight(fmt.Sprintf(format, args...), " ") + "\n")
		}
		b.WriteString("\n")
	}
	return []byte(b.String())
}

func commas(rows [][]string) []byte {
	var b strings.Builder
	for _, r := range rows {
		for i, c := range r {
			if strings.ContainsAny(c, ",\"") {
				r[i] = `"` + strings.ReplaceAll(c, `"`, `""`) + `"`
			}
		}
		b.WriteString(strings.Join(r, ",") + "\n")
	}
	return []byte(b.String())
}

// sources are files of testdata/lists.
func listSources(t testing.TB, names ...string) []channellist.Source {
	t.Helper()
	var all []channellist.Source
	for _, n := range names {
		data, err := os.ReadFile(filepath.Join(lists, n))
		require.NoError(t, err)
		all = append(all, source(t, n, data))
	}
	return all
}

// Each file of testdata/lists makes the load again that it was made from, and no
// edit is needed beside the seven answers but for uses that no sheet can tell.
func TestLists(t *testing.T) {
	l := exampleLoad(t)
	if *update {
		require.NoError(t, os.MkdirAll(lists, 0o755))
		for name, data := range map[string][]byte{"quillback.xlsx": workbook(t, l), "quillback-utf16.csv": semicolons(l), "quillback.txt": pasted(l),
			"sites.csv": commas(siteRows(l)), "tones.csv": commas(toneRows(l))} {
			require.NoError(t, os.WriteFile(filepath.Join(lists, name), data, 0o644))
		}
	}
	for _, c := range []struct {
		files []string
		open  int // uses to decide
	}{
		{[]string{"quillback.xlsx"}, 0},
		{[]string{"quillback-utf16.csv", "sites.csv", "tones.csv"}, -1},
		{[]string{"quillback.txt", "sites.csv", "tones.csv"}, -1},
	} {
		t.Run(c.files[0], func(t *testing.T) {
			list, err := channellist.Read(listSources(t, c.files...), channellist.Options{})
			require.NoError(t, err)
			require.NoError(t, list.MarkEdition(answers.EditionChannel))
			d := list.TOML(answers)
			for _, o := range d.Open {
				assert.Contains(t, o.What, ": use: ")
			}
			if c.open >= 0 {
				assert.Len(t, d.Open, c.open)
			}
			t.Logf("%d edits beside the seven answers; uses %v", len(d.Open), list.UsesBy())
			got, found, err := plan.ReadLoad("load.toml", plan.Options{ReadFile: func(string) ([]byte, error) { return d.TOML, nil }})
			require.NoError(t, err)
			assert.Equal(t, len(d.Open), found.Count(finding.Error), "%v", found)
			sameLoad(t, l, got, c.files[0] != "quillback.txt")
		})
	}
}

// sameLoad holds a load that was made from sheets against the one that they were
// made from.
func sameLoad(t *testing.T, want, got *plan.Load, remarks bool) {
	t.Helper()
	require.Len(t, got.Groups, len(want.Groups))
	for i, g := range want.Groups {
		assert.Equal(t, g.Number, got.Groups[i].Number)
		assert.Equal(t, g.Name, got.Groups[i].Name)
		require.Len(t, got.Groups[i].Channels, len(g.Channels), g.Name)
		for k, c := range g.Channels {
			o := got.Groups[i].Channels[k]
			assert.Equal(t, c.Number, o.Number, c.Name)
			assert.Equal(t, c.Programming(), o.Programming())
			if o.Use != 0 {
				assert.Equal(t, c.Use, o.Use, "use of %s", c.Name)
			}
			if remarks {
				assert.Equal(t, c.Remarks, o.Remarks)
			}
			assert.Equal(t, c.Name == answers.EditionChannel, o.EditionMark)
		}
	}
	require.Len(t, got.Sites, len(want.Sites))
	for i, s := range want.Sites {
		o := got.Sites[i]
		assert.Equal(t, s.Name, o.Name)
		assert.Equal(t, s.Squelch, o.Squelch)
		assert.Equal(t, s.Channels, o.Channels)
		assert.InDelta(t, *s.Latitude, *o.Latitude, 0.0002)
		assert.InDelta(t, *s.Longitude, *o.Longitude, 0.0002)
		assert.InDelta(t, *s.Elevation, *o.Elevation, 1)
	}
	require.Len(t, got.Tones, len(want.Tones))
	for i, tone := range want.Tones {
		assert.Equal(t, tone.Number, got.Tones[i].Number)
		assert.Equal(t, tone.Hz, got.Tones[i].Hz)
	}
}

// BenchmarkImport300 is from bytes to the load as TOML.
func BenchmarkImport300(b *testing.B) {
	l := exampleLoad(b)
	f := radio.Hertz(156_000_000)
	for z := 0; len(l.Channels()) < 300; z++ {
		g := &plan.Group{Number: 40 + z, Name: fmt.Sprintf("More %d", z)}
		for n := 1; n <= 16; n++ {
			f += 7_500
			g.Channels = append(g.Channels, &plan.Channel{Number: n, Name: fmt.Sprintf("M%d TAC %d", z, n), Use: radio.Tactical, Rx: f, Tx: f, Group: g})
		}
		l.Groups = append(l.Groups, g)
	}
	for name, data := range map[string][]byte{"xlsx": workbook(b, l), "csv": semicolons(l)} {
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				book, err := cells.Read(data, "list."+name)
				require.NoError(b, err)
				list, err := channellist.Read([]channellist.Source{{Name: "list", Book: book}}, channellist.Options{})
				require.NoError(b, err)
				require.Greater(b, list.Len(), 299)
				list.TOML(answers)
			}
		})
	}
}
