package channellist_test

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"github.com/xuri/excelize/v2"

	"slotcard/plan/cells"
	"slotcard/plan/channellist"
	"slotcard/plan/radio"
)

// Lists of channels in many layouts, made from known channels: each value has to
// be found again, or to be shown as not read or as to be decided. Never a wrong one.

// known is a channel that a sheet was made from. All of it is invented.
type known struct {
	zone, number   int
	zoneName, name string
	use            radio.Use
	rx, tx         radio.Hertz
	rxTone, txTone radio.Squelch
	mode           radio.Mode
	width          radio.Width
	receiveOnly    bool
	remarks        string
	toneNumber     int // of txTone, as an agency numbers it
}

var zoneNames = []string{"Quillback Local", "Hobnail", "National", "Air"}

// invented are channels as an agency has them: command with a pair and tones,
// tacticals direct, air, medical, weather that is received only.
func invented(rnd *rand.Rand, zones int) []known {
	var all []known
	tones := []int{1035, 1273, 1318, 1413, 1462, 1514, 1622, 1738}
	for z := 1; z <= zones; z++ {
		for n := 1; n <= 6+rnd.IntN(6); n++ {
			k := known{zone: z, zoneName: zoneNames[(z-1)%len(zoneNames)], number: n}
			k.rx = radio.Hertz(150_815_000 + 7_500*int64(rnd.IntN(900)))
			k.tx = k.rx
			switch n % 6 {
			case 1:
				k.name, k.use = fmt.Sprintf("QB CMD %d%d", z, n), radio.Command
				k.tx = radio.Hertz(155_000_000 + 7_500*int64(rnd.IntN(500)))
				k.rxTone = radio.Tone(tones[rnd.IntN(len(tones))])
				k.toneNumber = 1 + rnd.IntN(len(tones))
				k.txTone = radio.Tone(tones[k.toneNumber-1])
			case 2, 3:
				k.name, k.use = fmt.Sprintf("QB TAC %d%d", z, n), radio.Tactical
				if n%2 == 0 {
					k.toneNumber = 1 + rnd.IntN(len(tones))
					k.txTone = radio.Tone(tones[k.toneNumber-1])
					k.rxTone = k.txTone
				}
			case 4:
				k.name, k.use = fmt.Sprintf("QB AG %d%d", z, n), radio.AirToGround
			case 5:
				k.name, k.use, k.remarks = fmt.Sprintf("QB MED %d%d", z, n), radio.Medical, "hospital and ambulance"
			case 0:
				k.name, k.use, k.width = fmt.Sprintf("QB WX %d%d", z, n), radio.Support, radio.Wide
				k.receiveOnly, k.remarks = true, "RX only"
			}
			all = append(all, k)
		}
	}
	return all
}

// layout is a way to write a list down.
type layout struct {
	name    string
	titles  [][]string // rows of titles
	columns []string   // what each column holds
	opts    style
}

// style is how cells are written.
type style struct {
	zones       string // column, heading, sheet, titled: a heading and titles anew for each
	blankTx     bool   // direct channels have no transmit frequency
	csq         string // for no tone
	suffix      bool   // N and W behind frequencies
	units       string // MHz, kHz, Hz, comma
	toneNumbers bool   // Tone 5
	tonePrefix  string
	numbered    bool // names have their numbers in front
	footer      bool
	above       []string
	mergedTop   bool // the first row of titles is merged in XLSX
}

func mhz(h radio.Hertz, s style) string {
	text := h.String()
	switch s.units {
	case "kHz":
		text = fmt.Sprintf("%.1f", float64(h)/1e3)
	case "kHz unit":
		text = fmt.Sprintf("%.1f kHz", float64(h)/1e3)
	case "Hz":
		text = fmt.Sprint(int64(h))
	case "MHz unit":
		text += " MHz"
	case "comma":
		text = strings.Replace(text, ".", ",", 1)
	}
	return text
}

func squelch(q radio.Squelch, number int, s style) string {
	switch {
	case q.IsZero():
		return s.csq
	case s.toneNumbers && number > 0:
		return fmt.Sprintf("Tone %d", number)
	}
	return s.tonePrefix + q.String()
}

// cell is what a column says about a channel.
func (k known) cell(column string, s style) string {
	suffix := map[radio.Width]string{radio.Narrow: "N", radio.Wide: "W"}[k.width]
	switch column {
	case "zone":
		return k.zoneName
	case "zone no":
		return fmt.Sprint(k.zone)
	case "zone both":
		return fmt.Sprintf("%d %s", k.zone, k.zoneName)
	case "number":
		return fmt.Sprint(k.number)
	case "number 2":
		return fmt.Sprintf("%02d", k.number)
	case "ch":
		return fmt.Sprintf("Ch %d", k.number)
	case "name":
		if s.numbered {
			return fmt.Sprintf("%d %s", k.number, k.name)
		}
		return k.name
	case "long name":
		return "Quillback " + k.use.String()
	case "use":
		return k.use.String()
	case "use code":
		return k.use.Code()
	case "rx":
		if s.suffix {
			return mhz(k.rx, s) + " " + suffix
		}
		return mhz(k.rx, s)
	case "tx":
		switch {
		case k.receiveOnly && s.blankTx:
			return ""
		case k.receiveOnly:
			return "RX only"
		case k.tx == k.rx && s.blankTx:
			return ""
		case s.suffix:
			return mhz(k.tx, s) + " " + suffix
		}
		return mhz(k.tx, s)
	case "rx tone":
		return squelch(k.rxTone, 0, s)
	case "tx tone":
		return squelch(k.txTone, k.toneNumber, s)
	case "width":
		return suffix
	case "mode":
		return map[radio.Mode]string{radio.Analog: "A", radio.Digital: "D", radio.Mixed: "M"}[k.mode]
	case "remarks":
		return k.remarks
	case "junk":
		return "x" + fmt.Sprint(k.number*7)
	}
	return ""
}

// sheets writes channels down: names of sheets and their rows.
func (l layout) sheets(all []known) (names []string, rows map[string][][]string) {
	rows = map[string][][]string{}
	add := func(sheet string, cells ...string) {
		if !slices.Contains(names, sheet) {
			names = append(names, sheet)
		}
		rows[sheet] = append(rows[sheet], cells)
	}
	zone := 0
	const one = "Channels"
	titles := func(sheet string) {
		for _, t := range l.titles {
			add(sheet, t...)
		}
	}
	for _, a := range l.opts.above {
		add(one, a)
	}
	if l.opts.zones != "sheet" && l.opts.zones != "titled" {
		titles(one)
	}
	for _, k := range all {
		sheet := one
		if l.opts.zones == "sheet" {
			sheet = k.zoneName
		}
		if k.zone != zone {
			zone = k.zone
			switch l.opts.zones {
			case "heading":
				add(sheet, fmt.Sprintf("ZONE %d - %s", k.zone, k.zoneName))
			case "bare":
				add(sheet, k.zoneName)
			case "numbered":
				add(sheet, fmt.Sprintf("%d %s", k.zone, k.zoneName))
			case "titled":
				add(sheet)
				add(sheet, fmt.Sprintf("Zone %d: %s", k.zone, k.zoneName))
				titles(sheet)
			case "sheet":
				titles(sheet)
			}
		}
		var cells []string
		for _, c := range l.columns {
			cells = append(cells, k.cell(c, l.opts))
		}
		add(sheet, cells...)
	}
	if l.opts.footer {
		add(names[len(names)-1], "Page 1 of 1, printed 3/1/2027")
	}
	return names, rows
}

var layouts = []layout{
	{name: "plain", titles: [][]string{{"Zone", "Ch", "Name", "RX Freq", "RX Tone", "TX Freq", "TX Tone", "N/W", "Remarks"}},
		columns: []string{"zone", "number", "name", "rx", "rx tone", "tx", "tx tone", "width", "remarks"}, opts: style{csq: "CSQ"}},
	{name: "order swapped", titles: [][]string{{"Display", "Transmit", "TX CTCSS", "Receive", "RX CTCSS", "BW", "Group", "Position", "Notes"}},
		columns: []string{"name", "tx", "tx tone", "rx", "rx tone", "width", "zone both", "number", "remarks"}, opts: style{csq: "-"}},
	{name: "two rows, spread", titles: [][]string{{"", "", "Receive", "", "", "Transmit", "", "", ""}, {"Chan", "Channel Name", "Freq", "N/W", "Tone", "Freq", "N/W", "Tone", "Comments"}},
		columns: []string{"number", "name", "rx", "width", "rx tone", "tx", "width", "tx tone", "remarks"}, opts: style{zones: "heading", mergedTop: true}},
	{name: "two rows, form", titles: [][]string{{"Ch #", "Function", "Channel Name", "RX Freq", "RX", "TX Freq", "TX", "Remarks"}, {"", "", "", "N or W", "Tone/NAC", "N or W", "Tone/NAC", ""}},
		columns: []string{"number", "use", "name", "rx", "rx tone", "tx", "tx tone", "remarks"}, opts: style{zones: "heading", suffix: true, csq: "CSQ"}},
	{name: "bare second RX and TX", titles: [][]string{{"No.", "Alias", "RX", "RX", "TX", "TX", "W"}},
		columns: []string{"number", "name", "rx", "rx tone", "tx", "tx tone", "width"}, opts: style{zones: "numbered", csq: "-"}},
	{name: "encode and decode", titles: [][]string{{"Zone Name", "Channel Number", "Label", "Rx MHz", "Decode", "Tx MHz", "Encode", "Bandwidth", "Description"}},
		columns: []string{"zone", "number", "name", "rx", "rx tone", "tx", "tx tone", "width", "remarks"}, opts: style{csq: "none", tonePrefix: "PL "}},
	{name: "tone in and out", titles: [][]string{{"Zone", "Ch", "Name", "RX Freq", "TX Freq", "Tone In", "Tone Out", "N/W", "Notes"}},
		columns: []string{"zone", "number", "name", "rx", "tx", "rx tone", "tx tone", "width", "remarks"}},
	{name: "tones beside", titles: [][]string{{"Zone", "Ch", "Name", "RX Freq", "Tone", "TX Freq", "Tone", "N/W", "Notes"}},
		columns: []string{"zone", "number", "name", "rx", "rx tone", "tx", "tx tone", "width", "remarks"}},
	{name: "sheet per zone", titles: [][]string{{"Ch", "Display Name", "Receive Frequency", "Receive Tone", "Transmit Frequency", "Transmit Tone", "Narrow/Wide", "Use", "Svc"}},
		columns: []string{"number", "name", "rx", "rx tone", "tx", "tx tone", "width", "use code", "junk"}, opts: style{zones: "sheet", csq: "-"}},
	{name: "titles for each zone", titles: [][]string{{"#", "Name", "RX", "RX Tone", "TX", "TX Tone", "Width", "Remarks"}},
		columns: []string{"number", "name", "rx", "rx tone", "tx", "tx tone", "width", "remarks"}, opts: style{zones: "titled", footer: true, above: []string{"QUILLBACK RANGE COOPERATORS", "Radio load, Edition 2027"}}},
	{name: "bare headings", titles: [][]string{{"Ch", "Name", "RX", "RX Tone", "TX", "TX Tone", "Width", "Remarks"}},
		columns: []string{"number 2", "name", "rx", "rx tone", "tx", "tx tone", "width", "remarks"}, opts: style{zones: "bare", footer: true, above: []string{"Radio channels"}}},
	{name: "blank TX is RX", titles: [][]string{{"Zone", "Ch", "Name", "RX", "RX PL", "TX", "TX PL", "N/W", "Remarks"}},
		columns: []string{"zone", "ch", "name", "rx", "rx tone", "tx", "tx tone", "width", "remarks"}, opts: style{blankTx: true}},
	{name: "suffix and kHz", titles: [][]string{{"Zone", "Ch", "Name", "Receive", "Rx Tone", "Transmit", "Tx Tone", "Remarks"}},
		columns: []string{"zone", "number", "name", "rx", "rx tone", "tx", "tx tone", "remarks"}, opts: style{suffix: true, units: "kHz", csq: "CSQ"}},
	{name: "Hz", titles: [][]string{{"Zone", "Ch", "Name", "Receive (Hz)", "Rx Tone", "Transmit (Hz)", "Tx Tone", "BW", "Remarks"}},
		columns: []string{"zone", "number", "name", "rx", "rx tone", "tx", "tx tone", "width", "remarks"}, opts: style{units: "Hz", csq: "0"}},
	{name: "MHz in cells, decimal comma", titles: [][]string{{"Zone No", "Zone", "Ch", "Name", "Receive", "Rx Tone", "Transmit", "Tx Tone", "BW", "Remarks"}},
		columns: []string{"zone no", "zone", "number", "name", "rx", "rx tone", "tx", "tx tone", "width", "remarks"}, opts: style{units: "comma"}},
	{name: "numbers in names", titles: [][]string{{"Channel", "Rx", "Rx CTCSS", "Tx", "Tx CTCSS", "Wide/Narrow", "Remarks"}},
		columns: []string{"name", "rx", "rx tone", "tx", "tx tone", "width", "remarks"}, opts: style{zones: "heading", numbered: true}},
	{name: "numbered tones", titles: [][]string{{"Zone", "Ch", "Name", "RX Freq", "RX Tone", "TX Freq", "TX Tone", "N/W", "Remarks"}},
		columns: []string{"zone", "number", "name", "rx", "rx tone", "tx", "tx tone", "width", "remarks"}, opts: style{toneNumbers: true, csq: "CSQ"}},
	{name: "long name too", titles: [][]string{{"Zone", "Ch", "Channel Name", "Display", "RX Freq", "RX Tone", "TX Freq", "TX Tone", "N/W", "Remarks"}},
		columns: []string{"zone", "number", "long name", "name", "rx", "rx tone", "tx", "tx tone", "width", "remarks"}, opts: style{csq: "CSQ"}},
	{name: "no titles", columns: []string{"number", "name", "rx", "rx tone", "tx", "tx tone", "width", "remarks"}, opts: style{zones: "heading", csq: "CSQ"}},
	{name: "output and input", titles: [][]string{{"Zone", "Ch", "Name", "Output", "Output tone", "Input", "Input tone", "N/W", "Remarks"}},
		columns: []string{"zone", "number", "name", "rx", "rx tone", "tx", "tx tone", "width", "remarks"}, opts: style{csq: "CSQ"}},
	{name: "three rows", titles: [][]string{{"", "", "Receive", "", "Transmit", "", "", ""}, {"Channel", "Display", "Frequency", "Tone", "Frequency", "Tone", "Band", "Remarks"}, {"No.", "Name", "MHz", "Hz", "MHz", "Hz", "width", ""}},
		columns: []string{"number", "name", "rx", "rx tone", "tx", "tx tone", "width", "remarks"}, opts: style{zones: "heading"}},
}

// write makes a file of the sheets.
func write(t testing.TB, format string, names []string, rows map[string][][]string, merged bool) []byte {
	t.Helper()
	var b bytes.Buffer
	switch format {
	case "xlsx":
		f := excelize.NewFile()
		for i, n := range names {
			if i == 0 {
				require.NoError(t, f.SetSheetName("Sheet1", n))
			} else {
				_, err := f.NewSheet(n)
				require.NoError(t, err)
			}
			for r, row := range rows[n] {
				for c, text := range row {
					at, _ := excelize.CoordinatesToCellName(c+1, r+1)
					var v any = text
					var number float64
					if _, err := fmt.Sscanf(text, "%g", &number); err == nil && fmt.Sprint(number) == text {
						v = number // as people type numbers
					}
					if text != "" {
						require.NoError(t, f.SetCellValue(n, at, v))
					}
				}
			}
			if merged {
				require.NoError(t, f.MergeCell(n, "C1", "E1"))
				require.NoError(t, f.MergeCell(n, "F1", "H1"))
			}
		}
		require.NoError(t, f.Write(&b))
	case "pasted":
		for _, n := range names {
			widths := map[int]int{}
			for _, row := range rows[n] {
				for c, text := range row {
					if len(row) > 1 {
						widths[c] = max(widths[c], len(text))
					}
				}
			}
			for _, row := range rows[n] {
				for c, text := range row {
					if len(row) > 1 {
						text = fmt.Sprintf("%-*s  ", widths[c], text)
					}
					b.WriteString(text)
				}
				b.WriteString("\n")
			}
		}
	default:
		w := csv.NewWriter(&b)
		w.Comma = rune(format[0])
		for _, n := range names {
			for _, row := range rows[n] {
				require.NoError(t, w.Write(append(row, "")))
			}
		}
		w.Flush()
	}
	return b.Bytes()
}

// source is a file in memory.
func source(t testing.TB, name string, data []byte) channellist.Source {
	t.Helper()
	book, err := cells.Read(data, name)
	require.NoError(t, err)
	return channellist.Source{Name: name, Sum: "0", Book: book}
}

var toneTable = "Tone,Hz\n1,103.5\n2,127.3\n3,131.8\n4,141.3\n5,146.2\n6,151.4\n7,162.2\n8,173.8\n"

func TestLayouts(t *testing.T) {
	for _, l := range layouts {
		for _, format := range []string{"xlsx", ",.csv", ";.csv", "\t.tsv", "pasted"} {
			if format == ",.csv" && l.opts.units == "comma" || format == "pasted" && (len(l.titles) > 1 || l.opts.zones == "sheet") {
				continue // the columns of such titles do not stand below each other
			}
			if l.opts.zones == "sheet" && format != "xlsx" {
				continue
			}
			t.Run(l.name+" "+strings.TrimSpace(format), func(t *testing.T) {
				rnd := rand.New(rand.NewPCG(uint64(len(l.name)), 7))
				all := invented(rnd, 3)
				names, rows := l.sheets(all)
				data := write(t, format, names, rows, l.opts.mergedTop)
				sources := []channellist.Source{source(t, "list."+format[strings.LastIndex(format, ".")+1:], data)}
				if l.opts.toneNumbers {
					sources = append(sources, source(t, "tones.csv", []byte(toneTable)))
				}
				list, err := channellist.Read(sources, channellist.Options{})
				require.NoError(t, err)
				compare(t, l, all, list)
			})
		}
	}
}

// compare holds a list against what it was made from.
func compare(t *testing.T, l layout, all []known, list *channellist.List) {
	t.Helper()
	byName := map[string]*channellist.Channel{}
	groups := map[string]*channellist.Group{}
	for _, g := range list.Groups {
		for _, c := range g.Channels {
			byName[c.Name] = c
			groups[c.Name] = g
		}
	}
	require.Equal(t, len(all), list.Len(), "channels; not read: %v", list.NotRead)
	has := func(column string) bool { return slices.Contains(l.columns, column) }
	for _, k := range all {
		c := byName[k.name]
		if !assert.NotNil(t, c, "%s is missing", k.name) {
			continue
		}
		assert.Empty(t, c.Open, k.name)
		assert.Equal(t, k.number, c.Number, "number of %s", k.name)
		assert.Equal(t, k.rx, c.Rx, "rx of %s", k.name)
		if !k.receiveOnly {
			assert.Equal(t, k.tx, c.Tx, "tx of %s", k.name)
		}
		assert.Equal(t, k.rxTone, c.RxTone, "rx tone of %s", k.name)
		assert.Equal(t, k.txTone, c.TxTone, "tx tone of %s", k.name)
		assert.Equal(t, k.use, c.Use, "use of %s", k.name)
		if has("width") || l.opts.suffix {
			assert.Equal(t, k.width, c.Width, "width of %s", k.name)
		}
		assert.Equal(t, k.receiveOnly, c.ReceiveOnly, "receive only of %s", k.name)
		if has("remarks") {
			assert.True(t, strings.Contains(c.Remarks, k.remarks), "remarks of %s: %q", k.name, c.Remarks)
		}
		assert.Equal(t, k.zoneName, groups[k.name].Name, "group of %s", k.name)
		if l.opts.zones != "bare" && l.opts.zones != "sheet" && !has("zone") {
			assert.Equal(t, k.zone, groups[k.name].Number, "group number of %s", k.name)
		}
	}
}
