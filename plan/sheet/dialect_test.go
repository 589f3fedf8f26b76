package sheet_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"slotcard/plan"
	"slotcard/plan/radio"
	"slotcard/plan/sheet"
)

// The layouts and wordings of this file are invented after what goes around
// (common practice): titles over one to three rows, in any order, under merged
// cells, repeated, with footers, in the words of many programs.

// layoutRows are three channels in each layout of TestLayouts: by the letters of
// the columns.
var layoutRows = []map[string]string{
	{"f": "Command", "n": "QB CMD 1", "a": "", "r": "152.4125", "R": "103.5", "t": "157.6725", "T": "146.2", "w": "N", "W": "N", "m": "A", "#": "1", "z": "", "k": ""},
	{"f": "Tactical", "n": "VFIRE21", "a": "Div A", "r": "154.2800", "R": "CSQ", "t": "154.2800", "T": "156.7", "w": "N", "W": "N", "m": "A", "#": "2", "z": "", "k": ""},
	{"f": "Tactical", "n": "QB TAC 2", "a": "Div B", "r": "153.7400", "R": "CSQ", "t": "153.7400", "T": "CSQ", "w": "N", "W": "N", "m": "A", "#": "3", "z": "", "k": ""},
	{"f": "Guard", "n": "AIRGUARD", "a": "", "r": "168.6250", "R": "CSQ", "t": "168.6250", "T": "110.9", "w": "N", "W": "N", "m": "A", "#": "4", "z": "", "k": ""},
}

// Each layout is titles, and the letters of the columns below them. All give the
// same four slots, and nothing is left to decide. With the transmit tone of the
// tactical wrong, just that slot is.
func TestLayouts(t *testing.T) {
	for _, c := range []struct{ titles, columns string }{
		{"#|Function|Channel|Assignment|RX Freq|RX|TX Freq|TX\n||||N or W|Tone/NAC|N or W|Tone/NAC", "# f n a r R t T"},
		{"Zone|Ch #|Function|Channel Name|Assignment|RX Freq|RX|TX Freq|TX|Mode|Remarks\nGrp.|||||N or W|Tone/NAC|N or W|Tone/NAC|(A, D, or M)|", "z # f n a r R t T m k"},
		{"||||Receive||Transmit|\nCh|Function|Channel Name|Assignment|Freq|Tone|Freq|Tone", "# f n a r R t T"},
		{"|||Receive|||Transmit||\nFunction|Name|Assignment|Freq|N/W|Tone|Freq|N/W|Tone", "f n a r w R t W T"},
		{"Radio|||RX|RX|TX|TX\nChannel|Function|Assigned|Freq|Tone|Freq|Tone\n|||MHz|Hz|MHz|Hz", "n f a r R t T"},
		{"Channel|RX|TX|RX|TX|Function|Assignment", "n r t R T f a"},
		{"Channel|RX Freq|Tone In|TX Freq|Tone Out|Function|Assignment", "n r R t T f a"},
		{"Channel|RX Freq|TX Freq|Decode|Encode|Function|Assignment", "n r t R T f a"},
		{"Channel|RX|Decode|TX|Encode|Use|Division", "n r R t T f a"},
		{"Channel|Receive|Transmit|Tone|Tone|Function|Assignment", "n r t R T f a"},
		{"Channel|Receive|Tone|Transmit|Tone|Function|Assignment", "n r R t T f a"},
		{"Display Name|Rx Frequency (MHz)|Rx CTCSS (Hz)|Tx Frequency (MHz)|Tx CTCSS (Hz)|Net|Assigned To", "n r R t T f a"},
		{"Channel|Input|Output|Input Tone|Output Tone|Function|Assignment", "n t r T R f a"},
		{"Function|Channel Name|Assignment|RX|N or W|Tone|TX|N or W|Tone", "f n a r w R t W T"},
		{"Function|Channel Name|Assignment|RXFreq|RXTone|TXFreq|TXTone", "f n a r R t T"},
		{"TX PL|TX|RX PL|RX|Function|Assignment|Label", "T t R r f a n"},
		{"Assignment|Function|Zone|Name|Receive Frequency|Receive Tone|Transmit Frequency|Transmit Tone|Mode", "a f z n r R t T m"},
		{"Recv Freq|Recv PL|Xmit Freq|Xmit PL|Alias|Purpose|Div/Grp", "r R t T n f a"},
		{"Channel|Column one|Column two|Column three|Column four|Function|Assignment", "n r R t T f a"}, // by what they hold
		{"", "f n a r R t T"}, // no titles at all
		{"", "n r t R T f a"},
		{"", "a r t R T f"},   // nor names
		{"", "f n a t T r R"}, // nor receive first
		{"1|2|3|4|5|6|7\nFunction|Channel|Assignment|RX|PL|TX|PL", "f n a r R t T"},
		{"Function|Channel|Assignment|RX|PL|TX|PL\n1|2|3|4|5|6|7", "f n a r R t T"},
		{"RX||TX||\nFreq|Tone|Freq|Tone|Channel|Function|Assignment", "r R t T n f a"},
		{"Repeater Output|Output Tone|Repeater Input|Input Tone|Channel|Function|Assignment", "r R t T n f a"},
	} {
		columns := strings.Fields(c.columns)
		for _, wrong := range []bool{false, true} {
			var text strings.Builder
			text.WriteString("Incident Radio Communications Plan\n1. Incident Name:|Thimble Gulch\n\n" + c.titles)
			if c.titles != "" {
				text.WriteString("\n")
			}
			for i, row := range layoutRows {
				var cells []string
				for _, col := range columns {
					cell := row[col]
					if wrong && i == 1 && col == "T" {
						cell = "110.9"
					}
					cells = append(cells, cell)
				}
				text.WriteString(strings.Join(cells, "|") + "\n")
			}
			text.WriteString("ICS 205|IAP Page 3\n")
			s := read(t, strings.ReplaceAll(text.String(), "|", "\t"))
			o := settled("load.toml")
			o.Name = ""
			d := s.Draft(o)
			if !assert.Equal(t, 4, d.Slots, c.titles) {
				continue
			}
			if wrong {
				if assert.Len(t, d.Open, 1, "%s\n%s", c.titles, d.TOML) {
					assert.Equal(t, "slot 2", d.Open[0].Where, c.titles)
				}
				assert.NotContains(t, string(d.TOML), "no transmit tone", c.titles)
				continue
			}
			assert.Empty(t, d.Open, c.titles)
			assert.Empty(t, d.NotRead, "%s\n%s", c.titles, d.TOML)
			p, faults := drafted(t, d, readLoad(t, examples+"thimble-gulch/load.toml"))
			assert.Empty(t, faults, c.titles)
			var got []string
			for _, s := range p.Slots {
				got = append(got, fmt.Sprint(s.Channel.Name, " ", s.Use, " ", s.TxTone, " ", len(s.Users)))
			}
			assert.Equal(t, []string{"QB CMD 1 command 146.2 0", "VFIRE21 tactical 156.7 1", "QB TAC 2 tactical - 1", "AIRGUARD guard 110.9 0"}, got, c.titles)
		}
	}
}

// Whole sheets in layouts of their own: side by side, turned, by sections, with
// several values in a cell. All hold the same four channels.
func TestSheets(t *testing.T) {
	for _, text := range []string{
		"Ch,Name,RX,Tone,TX,Tone,Div,,Ch,Name,RX,Tone,TX,Tone,Div\n1,QB CMD 1,152.4125,103.5,157.6725,146.2,,,3,QB TAC 2,153.7400,,153.7400,,B\n2,VFIRE21,154.2800,,154.2800,156.7,A,,4,AIRGUARD,168.6250,,168.6250,110.9,\n",
		"Use,Channel,Freq,Who\nCommand,QB CMD 1,152.4125/157.6725 PL 146.2,all\nTac,VFIRE21,154.2800 N (156.7),Div A\nTac,QB TAC 2,153.7400 CSQ,Div. B\nGuard,AIRGUARD,168.6250 N / 110.9,\n",
		"Channel,Frequency (RX/TX),Tone (RX/TX),Division\nQB CMD 1,152.4125 / 157.6725,103.5 / 146.2,\nVFIRE21,154.2800 / 154.2800,CSQ / 156.7,A\nQB TAC 2,153.7400 / 153.7400,CSQ / CSQ,B\nAIRGUARD,168.6250 / 168.6250,- / 110.9,\n",
		"COMMAND,,,,,\nChannel,RX,RX PL,TX,TX PL,Assignment\nQB CMD 1,152.4125,103.5,157.6725,146.2,\nTACTICAL,,,,,\nVFIRE21,154.2800,,154.2800,156.7,Div A\nQB TAC 2,153.7400,,153.7400,,Div B\nAIR,,,,,\nAIRGUARD,168.6250,,168.6250,110.9,\nMonitor command at all times,,,,,\n",
		"Channel,QB CMD 1,VFIRE21,QB TAC 2,AIRGUARD\nFunction,Command,Tactical,Tactical,Guard\nAssignment,,Div A,Div B,\nRX Freq,152.4125,154.2800,153.7400,168.6250\nRX Tone,103.5,CSQ,CSQ,CSQ\nTX Freq,157.6725,154.2800,153.7400,168.6250\nTX Tone,146.2,156.7,CSQ,110.9\n",
		"Function,Channel Name,RX Freq,RX Tone,TX Freq,TX Tone,Assignment\nCommand,QB CMD 1,152.4125,103.5,157.6725,146.2,\nTactical,VFIRE21,154.2800,CSQ,154.2800,156.7,Division A\n\nSupport channels,,,,,,\nName,Function,Receive,Transmit,Tone,,Division\nQB TAC 2,Tactical,153.7400,153.7400,CSQ,,B\nAIRGUARD,Guard,168.6250,168.6250,110.9,,\n",
		"Branch,Division,Function,Channel,RX,RX Tone,TX,TX Tone\n,,Command,QB CMD 1,152.4125,103.5,157.6725,146.2\nII,A,Tactical,VFIRE21,154.2800,CSQ,154.2800,156.7\nII,B,Tactical,QB TAC 2,153.7400,CSQ,153.7400,CSQ\n,,Guard,AIRGUARD,168.6250,CSQ,168.6250,110.9\n",
		"Channel,RX,TX,PL\nCMD - QB CMD 1,N 152.4125,N 157.6725,TX 146.2 Hz\nVFIRE21,154.2800N,154.2800N,PL 156.7\nQB TAC 2,153.74 N,153.74 N,none\nAIRGUARD,168.625 MHz,168.625 MHz,110.9 Hz\n",
	} {
		d := read(t, text).Draft(settled("load.toml"))
		assert.Empty(t, d.Open, "%s\n%s", text, d.TOML)
		p, faults := drafted(t, d, readLoad(t, examples+"thimble-gulch/load.toml"))
		assert.Empty(t, faults, text)
		var got []string
		for _, s := range p.Slots {
			ids := ""
			for _, d := range s.Users {
				ids += d.ID
			}
			got = append(got, fmt.Sprint(s.Channel.Name, " ", s.TxTone, " ", ids))
		}
		want := []string{"QB CMD 1 146.2 ", "VFIRE21 156.7 A", "QB TAC 2 - B", "AIRGUARD 110.9 "}
		if !strings.Contains(text, "Div") {
			want[1], want[2] = "VFIRE21 156.7 ", "QB TAC 2 - "
		}
		assert.Equal(t, want, got, "%s\n%s", text, d.TOML)
	}
}

// drafted resolves a draft.
func drafted(t require.TestingT, d *sheet.Draft, l *plan.Load) (*plan.Resolved, []string) {
	p, _, found, err := plan.Read("plan.toml", plan.Options{ReadFile: func(string) ([]byte, error) { return d.TOML, nil }})
	require.NoError(t, err)
	var faults []string
	for _, f := range found {
		if f.Rule != plan.RuleWrongFile { // the load is not read here
			faults = append(faults, f.String())
		}
	}
	r, more := plan.Resolve(p, l)
	for _, f := range more {
		faults = append(faults, f.String())
	}
	return r, faults
}

// truth is a row of a plan, and how the sheet writes each of its values.
type truth struct {
	channel   *plan.Channel
	tx        radio.Squelch // of the site that was chosen
	divisions []string
	use       radio.Use
}

// writer draws a dialect and writes sheets in it.
type writer struct {
	rt    *rapid.T
	load  *plan.Load
	comma string
}

func (w *writer) one(what string, of ...string) string { return rapid.SampledFrom(of).Draw(w.rt, what) }

func (w *writer) yes(what string) bool { return rapid.Bool().Draw(w.rt, what) }

// frequency writes a frequency.
func (w *writer) frequency(h radio.Hertz, width radio.Width) string {
	letter := [...]string{"N", "W"}[width]
	s := h.String()
	short := strings.TrimRight(s, "0")
	return w.one("frequency", s, s+" "+letter, letter+" "+short, s+letter, s+" MHz", s+" MHz "+letter, "("+letter+") "+s, short+"0"+" "+letter, s+" ("+letter+")", " "+s+" ")
}

// tone writes a tone.
func (w *writer) tone(s radio.Squelch) string {
	v := s.String()
	switch s.Kind {
	case radio.CTCSS:
		return w.one("tone", v, v, v+" Hz", "PL "+v, "CTCSS "+v, "Tone "+v, v+"Hz", "PL: "+v)
	case radio.DCS:
		return w.one("dcs", v, "DCS "+v[1:], "DPL "+v[1:])
	case radio.NAC:
		return w.one("nac", "$"+v[1:], v, "NAC "+v[1:], "NAC $"+v[1:])
	}
	return w.one("none", "CSQ", "csq", "none", "-", "Carrier", "N/A", "0", "No tone")
}

// assignment writes divisions.
func (w *writer) assignment(ids []string) string {
	switch len(ids) {
	case 0:
		return w.one("everybody", "", "All", "All divisions", "Incident wide")
	case 1:
		id := ids[0]
		return w.one("division", "Division "+id, "Div "+id, "DIV. "+id, id, "Div-"+id, "Div. "+id+"/Left flank", "Branch II Div "+id, id+" Division",
			"Br 2 / Div "+id, "Div "+id+" tactical", "Division "+id+" (Head)", "Right flank - Div "+id, "Division "+id+" near the road camp of Branch 3")
	}
	last := len(ids) - 1
	return w.one("divisions", "Divisions "+strings.Join(ids, ", "), "Div "+strings.Join(ids, "/"), strings.Join(ids, " & "), "Divs. "+strings.Join(ids[:last], ", ")+" and "+ids[last],
		"DIV "+strings.Join(ids, ","), "Div "+strings.Join(ids, " and Div "), "Branch I, Divisions "+strings.Join(ids, " + "), "Divs "+strings.Join(ids, " or "))
}

// columnKind is a column of the sheet: its titles, over up to three rows, and its
// cells.
type columnKind struct {
	titles [][]string // each way of titling it, by rows
	cell   func(truth, int) string
}

func (w *writer) columns() []columnKind {
	c := map[string]columnKind{
		"number":     {[][]string{{"Ch #"}, {"#"}, {"Pos"}, {"Ch", "#"}, {"Channel No."}}, func(_ truth, i int) string { return fmt.Sprint(i + 1) }},
		"function":   {[][]string{{"Function"}, {"Use"}, {"Net Function"}, {"Channel", "Use"}, {"Purpose"}}, func(r truth, _ int) string { return w.function(r.use) }},
		"name":       {[][]string{{"Channel Name/Trunked Radio System Talkgroup"}, {"Channel"}, {"Channel", "Name"}, {"Name"}, {"Display"}, {"Alias"}}, func(r truth, _ int) string { return r.channel.Name }},
		"assignment": {[][]string{{"Assignment"}, {"Assigned to"}, {"Assignment", ""}, {"Assigned", "to"}}, func(r truth, _ int) string { return w.assignment(r.divisions) }},
		"mode":       {[][]string{{"Mode (A, D, or M)"}, {"Mode"}, {"Mode", "A, D or M"}, {"Analog/Digital"}}, func(r truth, _ int) string { return [...]string{"A", "D", "M"}[r.channel.Mode] }},
		"remarks":    {[][]string{{"Remarks"}, {"Comments"}, {"Notes"}}, func(_ truth, _ int) string { return w.one("remark", "", "", "keep it short", "see block 5") }},
		"odd":        {[][]string{{"Svc"}, {"Owner"}, {"Priority"}, {""}}, func(_ truth, _ int) string { return w.one("odd", "", "USF", "x7", "blue") }},
	}
	rx := func(r truth, _ int) string { return w.frequency(r.channel.Rx, r.channel.Width) }
	tx := func(r truth, _ int) string { return w.frequency(r.channel.Tx, r.channel.Width) }
	rxTone := func(r truth, _ int) string { return w.tone(r.channel.RxTone) }
	txTone := func(r truth, _ int) string { return w.tone(r.tx) }
	words := rapid.SampledFrom([][4][]string{
		{{"RX Freq N or W"}, {"RX Tone/NAC"}, {"TX Freq N or W"}, {"TX Tone/NAC"}},
		{{"RX Freq", "N or W"}, {"RX", "Tone/NAC"}, {"TX Freq", "N or W"}, {"TX", "Tone/NAC"}},
		{{"Receive", "Freq"}, {"", "Tone"}, {"Transmit", "Freq"}, {"", "Tone"}},
		{{"Receive", "", "Freq"}, {"Receive", "", "Tone"}, {"Transmit", "", "Freq"}, {"Transmit", "", "Tone"}},
		{{"RX Freq"}, {"Tone In"}, {"TX Freq"}, {"Tone Out"}},
		{{"RX"}, {"Decode"}, {"TX"}, {"Encode"}},
		{{"RX"}, {"RX"}, {"TX"}, {"TX"}},
		{{"Receive"}, {"Receive PL"}, {"Transmit"}, {"Transmit PL"}},
		{{"Rx MHz"}, {"Rx CTCSS"}, {"Tx MHz"}, {"Tx CTCSS"}},
		{{"Recv", "Freq", "MHz"}, {"Recv", "Tone", "Hz"}, {"Xmit", "Freq", "MHz"}, {"Xmit", "Tone", "Hz"}},
		{{"RX Freq"}, {"Tone"}, {"TX Freq"}, {"Tone"}},
		{{"Output"}, {"Output PL"}, {"Input"}, {"Input PL"}},
		{{"RX Freq"}, {"What"}, {"TX Freq"}, {"Ever"}},
		{{""}, {""}, {""}, {""}},
	}).Draw(w.rt, "words of the radio")
	radios := []columnKind{{[][]string{words[0]}, rx}, {[][]string{words[1]}, rxTone}, {[][]string{words[2]}, tx}, {[][]string{words[3]}, txTone}}
	if len(words[0]) == 1 && words[1][0] != "" && words[1][0] != "Tone" && w.yes("tones behind") {
		radios = []columnKind{radios[0], radios[2], radios[1], radios[3]}
	}
	if w.yes("no tones") && w.yes("no tones, really") {
		radios = []columnKind{{[][]string{words[0]}, rx}, {[][]string{words[2]}, tx}}
	}
	var others []columnKind
	for _, name := range []string{"number", "function", "assignment", "mode", "remarks", "odd"} {
		if w.yes(name) {
			others = append(others, c[name])
		}
	}
	if w.yes("names") || len(radios) == 0 {
		others = append(others, c["name"])
	}
	others = rapid.Permutation(others).Draw(w.rt, "order")
	at := rapid.IntRange(0, len(others)).Draw(w.rt, "radio at")
	return slices.Concat(others[:at], radios, others[at:])
}

func (w *writer) function(u radio.Use) string {
	return map[radio.Use]string{radio.Command: w.one("cmd", "Command", "CMD"), radio.Tactical: w.one("tac", "Tactical", "TAC"), radio.AirToGround: w.one("ag", "Air-to-Ground", "Ground-to-Air", "A/G"),
		radio.Guard: w.one("guard", "Emergency guard", "Guard"), radio.Support: w.one("support", "Support", "Dispatch"), radio.Travel: "Travel", radio.Medical: w.one("med", "Medical", "EMS")}[u]
}

// write writes a sheet; lines gives the line of each row.
func (w *writer) write(rows []truth) (text string, lines []int, cells [][]string) {
	columns := w.columns()
	titles := make([][]string, len(columns))
	deep := 1
	for i, c := range columns {
		titles[i] = rapid.SampledFrom(c.titles).Draw(w.rt, "title")
		deep = max(deep, len(titles[i]))
	}
	var out [][]string
	add := func(cells ...string) { out = append(out, cells) }
	if w.yes("form") {
		add("Incident Radio Communications Plan (ICS 205)")
		add("1. Incident Name:", "Thimble Gulch", "2. Date/Time Prepared:", "08/13/2027 2030")
		add("3. Operational Period:", "2", "Date From: 08/14/2027 Date To: 08/14/2027", "Time From: 0600 Time To: 1800")
		add("4. Basic Radio Channel Use:")
	}
	head := func() {
		for row := range deep {
			cells := make([]string, len(columns))
			for i := range columns {
				// Shorter titles stand at the top, as merged cells come out, or at the bottom.
				if k := row; k < len(titles[i]) {
					cells[i] = titles[i][k]
				}
			}
			add(cells...)
		}
	}
	head()
	again := w.yes("titles again")
	for i, r := range rows {
		if again && i == len(rows)/2 && i > 0 {
			add("ICS 205", "IAP Page 3")
			head()
		}
		row := make([]string, len(columns))
		for k, c := range columns {
			row[k] = c.cell(r, i)
		}
		add(row...)
		lines = append(lines, len(out))
		if w.yes("empty line") && w.yes("empty line, really") {
			add(make([]string, len(columns))...)
		}
	}
	if w.yes("footer") {
		add("5. Special Instructions:", "Say MEDICAL on command.")
		add("6. Prepared by (Communications Unit Leader):", "Name: R. Okafor", "Signature:")
		add("ICS 205", "IAP Page 3", "Date/Time:")
	}
	var b strings.Builder
	for _, row := range out {
		for i, cell := range row {
			if strings.Contains(cell, w.comma) {
				row[i] = `"` + cell + `"`
			}
		}
		b.WriteString(strings.Join(row, w.comma) + "\n")
	}
	return b.String(), lines, out
}

// Random sheets in random dialects, made from random lists: each value is found
// again, or is shown as not read, or is left to decide; no slot that is decided
// is another channel or has other divisions, and what a comment says of a line is
// true of it.
func TestNothingIsLost(t *testing.T) {
	l := readLoad(t, examples+"thimble-gulch/load.toml")
	var channels []*plan.Channel
	for _, c := range l.Channels() {
		if !c.Trunked() {
			channels = append(channels, c)
		}
	}
	total, decided := 0, 0
	rapid.Check(t, func(rt *rapid.T) {
		w := &writer{rt: rt, load: l, comma: rapid.SampledFrom([]string{",", ";", "\t"}).Draw(rt, "comma")}
		var rows []truth
		for range rapid.IntRange(3, 8).Draw(rt, "rows") {
			c := rapid.SampledFrom(channels).Draw(rt, "channel")
			r := truth{channel: c, tx: c.TxTone, use: c.Use}
			if c.TxTone == radio.Site {
				r.tx = rapid.SampledFrom(l.SitesOf(c)).Draw(rt, "site").Squelch
			}
			for _, id := range []string{"A", "B", "M", "Z"} {
				if c.Use == radio.Tactical && w.yes(id) && w.yes(id+" really") {
					r.divisions = append(r.divisions, id)
				}
			}
			rows = append(rows, r)
		}
		text, lines, cells := w.write(rows)
		s, err := sheet.Read([]byte(text), "sheet.csv", l)
		require.NoError(rt, err, text)
		d := s.Draft(settled("load.toml"))
		require.Equal(rt, len(rows), d.Slots, "%s\n%s", text, d.TOML)
		r, _ := drafted(rt, d, l)
		check := &lost{rt, text, d, r, s}
		for i, row := range rows {
			total++
			if check.row(row, lines[i], cells[lines[i]-1]) {
				decided++
			}
		}
		check.heads(cells)
	})
	t.Logf("%d of %d rows decided by the draft", decided, total)
}

// lost looks for what a draft has lost.
type lost struct {
	rt   *rapid.T
	text string
	d    *sheet.Draft
	r    *plan.Resolved
	s    *sheet.Sheet
}

// row compares a slot with the truth; it tells whether the draft decided it.
func (c *lost) row(want truth, line int, cells []string) bool {
	lines := strings.Split(string(c.d.TOML), "\n")
	at := slices.IndexFunc(lines, func(s string) bool { return strings.HasPrefix(s, fmt.Sprintf("# line %d of the sheet:", line)) })
	require.GreaterOrEqual(c.rt, at, 0, "line %d is no slot\n%s\n%s", line, c.text, c.d.TOML)
	for _, cell := range cells {
		cell = strings.Join(strings.Fields(strings.Trim(cell, `"`)), " ")
		require.Contains(c.rt, lines[at], cell, c.text)
	}
	comments := ""
	slotAt := at
	for ; lines[slotAt] != "[[slot]]"; slotAt++ {
		comments += lines[slotAt] + "\n"
	}
	for _, o := range c.d.Open {
		if o.Row == line {
			for _, odd := range []string{"USF", "x7", "blue", "keep it short", "see block 5"} {
				if slices.Contains(cells, odd) {
					require.Contains(c.rt, comments, ": "+odd+"\n", c.text)
				}
			}
			return false
		}
	}
	i := slices.IndexFunc(c.r.Slots, func(s *plan.ResolvedSlot) bool { return s.At("").Line == slotAt+1 })
	require.GreaterOrEqual(c.rt, i, 0, "slot of line %d does not resolve\n%s\n%s", line, c.text, c.d.TOML)
	slot := c.r.Slots[i]
	say := func() string { return fmt.Sprintf("line %d\n%s\n%s", line, c.text, c.d.TOML) }
	require.Equal(c.rt, want.channel.Programming(), slot.Channel.Programming(), say())
	if strings.Contains(strings.Join(cells, " "), want.tx.String()) {
		require.Equal(c.rt, want.tx, slot.TxTone, say())
	}
	var ids []string
	for _, d := range slot.Users {
		ids = append(ids, d.ID)
	}
	// The sheet may have no column of assignments; where it has, all are there.
	for _, id := range want.divisions {
		if !slices.Contains(ids, id) {
			named := slices.ContainsFunc(c.s.Rows, func(r sheet.Row) bool { return r.Line == line && r.Assignment != "" })
			require.False(c.rt, named, say())
		}
	}
	for _, id := range ids {
		require.Contains(c.rt, want.divisions, id, say())
	}
	c.claims(comments, want, cells, say)
	return true
}

// claims checks what comments say of a line.
func (c *lost) claims(comments string, want truth, cells []string, say func() string) {
	all := strings.Join(cells, " ")
	if strings.Contains(comments, "no receive tone was read") && want.channel.RxTone.Kind == radio.CTCSS && want.channel.RxTone != want.tx {
		require.NotContains(c.rt, all, want.channel.RxTone.String(), say())
	}
	if strings.Contains(comments, "no transmit tone was read") && want.tx.Kind == radio.CTCSS && want.channel.RxTone != want.tx {
		require.NotContains(c.rt, all, want.tx.String(), say())
	}
	if strings.Contains(comments, "no name was read") {
		for _, cell := range cells {
			require.NotEqual(c.rt, want.channel.Name, cell, say())
		}
	}
	for _, odd := range []string{"USF", "x7", "blue", "keep it short", "see block 5"} {
		if slices.Contains(cells, odd) {
			require.Regexp(c.rt, "(?m)^# not read: column [A-Z]+ .*: "+odd+"$", comments, say())
		}
	}
}

// heads looks for the values around the table.
func (c *lost) heads(cells [][]string) {
	for _, row := range cells {
		for _, cell := range row {
			for _, value := range []string{"Thimble Gulch", "Say MEDICAL on command.", "R. Okafor", "2027-08-13T20:30"} {
				if strings.Contains(cell, value) {
					require.Contains(c.rt, string(c.d.TOML), value, c.text)
				}
			}
		}
	}
}
