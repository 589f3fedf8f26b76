package sheet_test

import (
	"bytes"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"slotcard/plan"
	"slotcard/plan/finding"
	"slotcard/plan/radio"
	"slotcard/plan/rules"
	"slotcard/plan/sheet"
	"slotcard/plan/tomlfile"
)

const sheets = "../../testdata/sheets/"

func read(t testing.TB, text string) *sheet.Sheet {
	t.Helper()
	s, err := sheet.Read([]byte(text), "sheet.csv", readLoad(t, examples+"thimble-gulch/load.toml"))
	require.NoError(t, err)
	return s
}

// Files that another general-purpose program wrote, in dialects of its own (see
// their README.md): all say the same, and draft to the same lists.
func TestDialects(t *testing.T) {
	l := readLoad(t, examples+"thimble-gulch/load.toml")
	var first *plan.Resolved
	for _, name := range []string{"comma-utf8.csv", "comma-utf8-bom.csv", "semicolon-windows-1252.csv", "tab-utf16.csv", "tab-utf16be-unmarked.csv"} {
		data, err := os.ReadFile(sheets + name)
		require.NoError(t, err)
		s, err := sheet.Read(data, "sheet.csv", l)
		require.NoError(t, err, name)
		d := s.Draft(sheet.Options{LoadPath: "load.toml"})
		assert.Empty(t, d.Open, name)
		r, said := asPlan(t, d.TOML)
		assert.NotContains(t, strings.Join(said, "\n"), "error:", name)
		assert.Equal(t, "Thimble Gulch – été", r.Plan.Incident.Name, name)
		assert.Len(t, r.Slots, 5, name)
		if first == nil {
			first = r
		}
		sameLists(t, first, r)
	}
}

// Python's csv module, an independent writer, writes the list of an example in
// every dialect that it offers.
func TestDialectsOfPython(t *testing.T) {
	python, err := exec.LookPath("python3")
	if err != nil {
		if os.Getenv("SLOTCARD_SECOND_OPINIONS") != "" {
			t.Fatal("python3 is not here to write CSV: install it, or unset SLOTCARD_SECOND_OPINIONS")
		}
		t.Skip("skipped: no python3 here to write CSV")
	}
	was, _, err := rules.Open(examples+"thimble-gulch/plan.toml", plan.Options{ReadFile: os.ReadFile})
	require.NoError(t, err)
	var ours bytes.Buffer
	require.NoError(t, sheet.Write(&ours, was))
	const script = `
import csv, io, sys
rows = list(csv.reader(io.StringIO(sys.stdin.buffer.read().decode("utf-8-sig"), newline="")))
n = 0
for delimiter in ",;\t":
    for quoting in (csv.QUOTE_MINIMAL, csv.QUOTE_ALL, csv.QUOTE_NONNUMERIC):
        for end in ("\r\n", "\n", "\r"):
            for encoding in ("utf-8", "utf-8-sig", "cp1252", "utf-16", "utf-16-le", "utf-16-be"):
                out = io.StringIO(newline="")
                csv.writer(out, delimiter=delimiter, quoting=quoting, lineterminator=end).writerows(rows)
                open("%s/%d.csv" % (sys.argv[1], n), "wb").write(out.getvalue().encode(encoding))
                n += 1
print(n)
`
	dir := t.TempDir()
	cmd := exec.Command(python, "-c", script, dir)
	cmd.Stdin = bytes.NewReader(ours.Bytes())
	out, err := cmd.CombinedOutput()
	require.NoError(t, err, string(out))
	require.Equal(t, "162\n", string(out))
	names, err := filepath.Glob(filepath.Join(dir, "*.csv"))
	require.NoError(t, err)
	require.Len(t, names, 162)
	want := ""
	for _, name := range names {
		data, err := os.ReadFile(name)
		require.NoError(t, err)
		s, err := sheet.Read(data, "sheet.csv", was.Load)
		require.NoError(t, err)
		got := string(s.Draft(sheet.Options{LoadPath: "load.toml"}).TOML)
		if want == "" {
			want = got
			is, _ := asPlan(t, []byte(got))
			sameLists(t, was, is)
		}
		require.Equal(t, want, got)
	}
}

// Titles of the form, as the published table of its blocks gives them
// (ics_forms.csv, secondary).
func TestTitlesAreThoseOfTheForm(t *testing.T) {
	data, err := os.ReadFile("../../testdata/ics_forms.csv")
	require.NoError(t, err)
	for i, title := range sheet.Titles() {
		if strings.Contains(title, ",") {
			title = `"` + title + `"`
		}
		assert.Regexp(t, fmt.Sprintf(`(?m)^ICS 205,4,column %d,`, i+1), string(data))
		assert.Contains(t, string(data), fmt.Sprintf("ICS 205,4,column %d,%s,", i+1, title))
	}
	assert.Len(t, sheet.Titles(), 11)
}

// What cells look like, and what the draft makes of them.
func TestCells(t *testing.T) {
	const titles = "Function;Channel Name;Assignment;RX Freq;RX Tone/NAC;TX Freq;TX Tone/NAC;Mode;Remarks;Zone Grp.;Ch #\n"
	for _, c := range []struct{ row, slot, open string }{
		{"Tactical;VFIRE21;Div A;154,28;CSQ;154,28;156,7;A", `channel = "VFIRE21" division = "A"`, ""},
		{"TAC;vfire 21;;154.2800N;none;154.28 MHz N;156.7 Hz;analog", `channel = "VFIRE21"`, ""},
		{"Tactical;;;154.2800;;;;", `channel = "VFIRE21"`, ""},
		{";;;;;;;;;2;1", `channel = "VFIRE21"`, ""},
		{"Command;QB CMD 1;;152.4125;103.5;157.6725;tone 4", `channel = "QB CMD 1" site = "Bellwether"`, ""},
		{"Command;QB CMD 1;;152.4125;103.5;157.6725;4", `channel = "QB CMD 1" site = "Bellwether"`, ""},
		{"Command;QB CMD 1;;152.4125;103.5;157.6725;Tone 4 (146.2)", `channel = "QB CMD 1" site = "Bellwether"`, ""},
		{"Command;QB CMD 1;;152.4125;103.5;157.6725;146.2 Hz (Tone #4)", `channel = "QB CMD 1" site = "Bellwether"`, ""},
		{"Command;QB CMD 1;;152.4125;103.5;157.6725;Tone 4 (127.3)", `rx = 152.4125 tx = 157.6725 rx_tone = 103.5 tx_tone = "Tone 4 (127.3)" use = "command"`, `cannot be read: tx_tone "Tone 4 (127.3)"`},
		{"Tactical;VFIRE21;;154.28;;154.28;Tone 77 (156.7)", `channel = "VFIRE21"`, ""},
		{"Command;QB CMD 1;;;;;;;use the Thornback repeater", `channel = "QB CMD 1" site = "Thornback"`, ""},
		{"Command;QB CMD 1", `channel = "QB CMD 1"`, "no repeater chosen for QB CMD 1"},
		{"Command;QB CMD 1;;152.4125;103.5;157.6725;146.2;;Lantern", `channel = "QB CMD 1"`, "the sheet's transmit tone 146.2 opens Bellwether, but its remarks name Lantern"},
		{"Command;QB CMD 1;;152.4125;103.5;157.6725;141.3", `rx = 152.4125 tx = 157.6725 rx_tone = 103.5 tx_tone = 141.3 use = "command"`, "transmit tone differs from the load's"},
		{"Command;QB CMD 1;;;;;141.3", `channel = "QB CMD 1" tx_tone = 141.3 use = "command"`, "the load's channel has another tone or transmit frequency than the sheet"},
		{"Command;QB CMD 1;;152.4125;CSQ;157.6725;146.2", `rx = 152.4125 tx = 157.6725 rx_tone = "-" tx_tone = 146.2 use = "command"`, "receive tone differs from the load's"},
		{"Tactical;VFIRE21;;154.2950", `channel = "VFIRE21" rx = 154.2950 use = "tactical"`, "name and frequency do not belong together"},
		{"Tactical;VFIRE21;;154.2080", `rx = 154.2080 use = "tactical"`, "not in the load: 154.2080; VFIRE21 has another frequency"},
		{"Tactical;VFIRE21;;154.28oo", `rx = "154.28oo" use = "tactical"`, `cannot be read: rx "154.28oo"`},
		{"Tactical;VFIRE21;;154.2800;;;two", `rx = 154.2800 tx_tone = "two" use = "tactical"`, `cannot be read: tx_tone "two"`},
		{"Tactical;VFIRE21;;154.2800;;;;D", `channel = "VFIRE21" rx = 154.2800 use = "tactical"`, "mode or width differs from the load's: the sheet says digital"},
		{"Tactical;VFIRE21;;154.2800 W", `channel = "VFIRE21" rx = 154.2800 use = "tactical"`, "mode or width differs from the load's: the sheet says wide"},
		{"Tactical;OF TAC 1;;151.7675;$2C4;151.7675;2c4;D", `channel = "OF TAC 1"`, ""},
		{"Support;QB LOG;;155.61;D131;155.61;DCS 131", `channel = "QB LOG"`, ""},
		{"Tactical;VTAC36;;151.1375", `channel = "VTAC36" use = "tactical"`, ""},
		{"Tactical;;;151.1375", `rx = 151.1375 use = "tactical"`, "2 channels of the load fit"},
		{"Tactical;;;151.1375;;;;;;2;8", `channel = "VTAC11"`, ""},
		{"Dispatch;DISPATCH 1;;Quillback trunked", `channel = "QB DISP"`, ""},
		{"Dispatch;DISPATCH 9;;Quillback trunked", `channel = "DISPATCH 9" use = "support"`, `not in the load: "DISPATCH 9" of system "Quillback trunked"`},
		{"Tactical;;;;;154.2800", `tx = 154.2800 use = "tactical"`, "a transmit frequency was read, but no receive frequency and no name"},
		{"Tactical;;Division A", `use = "tactical" division = "A"`, "no name and no frequency was read on this line"},
		{";;;;;;;;;9;1", `group = 9 number = 1`, "the load has no channel 1 in group 9"},
		{"Air-to-Air;QB SUP 1", `channel = "QB SUP 1"`, ""},
		{"Tactical;VFIRE21;Divisions A, B and C", `channel = "VFIRE21" division = ["A", "B", "C"]`, ""},
		{"Tactical;VFIRE21;DIV A / DIV B", `channel = "VFIRE21" division = ["A", "B"]`, ""},
		{"Tactical;VFIRE21;Structure Protection Group", `channel = "VFIRE21" division = "SP"`, ""},
		{"Tactical;VFIRE21;All", `channel = "VFIRE21"`, ""},
		{"Tactical;VFIRE21;Branch II", `channel = "VFIRE21" division = "Branch II"`, "the assignment is not understood: Branch II"},
	} {
		d := read(t, titles+c.row+"\n").Draft(sheet.Options{LoadPath: "load.toml", Name: "x", Period: 1, From: "2027-08-14T06:00Z",
			To: "2027-08-14T18:00Z", PreparedAt: "2027-08-14T05:00Z", PreparedBy: "x"})
		_, text, ok := strings.Cut(string(d.TOML), "[[slot]]\n")
		require.True(t, ok, c.row)
		text, _, _ = strings.Cut(text, "\n\n")
		slot := strings.Join(strings.Fields(strings.ReplaceAll(text, "\n", " ")), " ")
		assert.Equal(t, c.slot, slot, c.row)
		open := ""
		for _, o := range d.Open {
			assert.Equal(t, "slot 1", o.Where)
			assert.Equal(t, 2, o.Row)
			assert.Equal(t, "[[slot]]", strings.Split(string(d.TOML), "\n")[o.Line-1])
			open += o.What
		}
		assert.Equal(t, c.open, open, c.row)
	}
}

func TestIncident(t *testing.T) {
	const table = "\nChannel Name,RX Freq,TX Tone\nVFIRE21,154.28,156.7\n"
	for _, c := range []struct {
		head string
		o    sheet.Options
		want []string // lines of the draft
	}{
		{"", sheet.Options{}, []string{`# name        = "..."`, `# period      = 1`, `# from        = 2027-08-14T06:00:00-06:00`, `# prepared_by = "name, position"`}},
		{"1. Incident Name: Thimble Gulch,3. Operational Period: 2", sheet.Options{}, []string{`name        = "Thimble Gulch"`, `period      = 2`}},
		{"Incident Name,Operational Period\nThimble Gulch,Period 2", sheet.Options{}, []string{`name        = "Thimble Gulch"`, `period      = 2`}},
		{"Operational Period,2,08/14/2027 0600 to 08/15/27 06:00", sheet.Options{Offset: "-06:00"},
			[]string{`from        = 2027-08-14T06:00:00-06:00`, `to          = 2027-08-15T06:00:00-06:00`}},
		{"Operational Period,14 Aug 2027 06:00–18:00", sheet.Options{},
			[]string{`from        = 2027-08-14T06:00:00   # DECIDE: put the UTC offset behind it, such as -06:00`, `to          = 2027-08-14T18:00:00   # DECIDE: put the UTC offset behind it, such as -06:00`}},
		{"Operational Period,08/14/2027 1800 to 0600", sheet.Options{}, []string{`# DECIDE: the sheet says: 08/14/2027 1800 to 0600`}},
		{"Operational Period,14/08/2027 0600 to 1800", sheet.Options{}, []string{`# DECIDE: the sheet says: 14/08/2027 0600 to 1800`}},
		{"Incident Name,Elsewhere", sheet.Options{Name: `The "Gulch"`, Period: 3, From: "2027-08-14T06:00-0600", PreparedBy: "R. Okafor"},
			[]string{`name        = "The \"Gulch\""   # as given; the sheet says: Elsewhere`, `period      = 3`, `from        = 2027-08-14T06:00:00-06:00`, `prepared_by = "R. Okafor"`}},
		{"Prepared By (Communications Unit Leader),Name: R. Okafor,Signature:", sheet.Options{}, []string{`prepared_by = "R. Okafor"`}},
		{"Date/Time Prepared,2027-08-13 20:30:00 +00:00", sheet.Options{}, []string{`prepared_at = 2027-08-13T20:30:00+00:00`}},
		{"Exercise,yes\nAircraft,no", sheet.Options{}, []string{`exercise    = true`}},
	} {
		d := read(t, c.head+table).Draft(c.o)
		lines := strings.Split(string(d.TOML), "\n")
		for _, want := range c.want {
			assert.Contains(t, lines, want, c.head)
		}
		_, said := asPlan(t, d.TOML)
		for _, o := range d.Open { // the checks object to each, and to nothing else of the incident
			assert.True(t, strings.Contains(strings.Join(said, "\n"), o.Where), "%s in %v", o.Where, said)
		}
		for _, f := range said {
			if strings.Contains(f, "[missing-key]") || strings.Contains(f, "[no-offset]") {
				found := false
				for _, o := range d.Open {
					found = found || strings.Contains(f, o.Where)
				}
				assert.True(t, found, f)
			}
		}
	}
}

func TestRefused(t *testing.T) {
	l := readLoad(t, examples+"thimble-gulch/load.toml")
	for _, c := range []struct{ text, want string }{
		{"", "is empty"},
		{"Function,Assignment\na,b\n", "has the titles of a plan sheet, but no channel below them"},
		{"Channel Name,RX Freq\n,\n", "has the titles of a plan sheet, but no channel below them"},
		{"Channel Name,RX Freq\n\"VFIRE21,154.28\nVFIRE22,154.265\n", "line 2 has a quotation mark that does not belong there, or lacks one"},
		{"Channel Name,RX Freq\nVFIRE21,154.28 \"N\"\n", "line 2 has a quotation mark that does not belong there, or lacks one"},
		{"PK\x03\x04xxxx", "is damaged, or no spreadsheet; save it again as XLSX or CSV"},
		{"%PDF-1.7", "is a PDF"},
		{"Channel Name,RX Freq\nVFIRE\x00,154.28\n", "is no text"},
		{"Channel Name,RX Freq\n" + strings.Repeat("VFIRE21,154.28\n", sheet.MaxRows+1), "has more than 300 channels"},
	} {
		s, err := sheet.Read([]byte(c.text), "sheet.csv", l)
		assert.Nil(t, s)
		assert.ErrorContains(t, err, c.want)
	}
}

// Rows are found wherever the table stands, and nothing else is taken for one.
func TestWhatIsARow(t *testing.T) {
	s := read(t, "Incident Name,Thimble Gulch,,,\n\nFunction,Channel Name,Assignment,RX Freq,Remarks\nTactical,VFIRE21,A,154.28,\n,,,,\n"+
		"Function,Channel Name,Assignment,RX Freq,Remarks\nSupport,AIRCRAFT,,151.8575,\nAircraft,yes\n5. Special Instructions:,Say MEDICAL.\nThen move.\n6. Prepared by:,R. Okafor\n")
	require.Len(t, s.Rows, 2)
	assert.Equal(t, []string{"VFIRE21", "AIRCRAFT"}, []string{s.Rows[0].Name, s.Rows[1].Name})
	assert.Equal(t, []int{4, 7}, []int{s.Rows[0].Line, s.Rows[1].Line})
	var heads []string
	for _, h := range s.Heads {
		heads = append(heads, fmt.Sprint(h.Is, " ", strings.Join(h.Values, "|")))
	}
	assert.Equal(t, []string{
		fmt.Sprint(sheet.IncidentName, " Thimble Gulch"), fmt.Sprint(sheet.Aircraft, " yes"),
		fmt.Sprint(sheet.Instructions, " Say MEDICAL.|Then move."), fmt.Sprint(sheet.PreparedBy, " R. Okafor"),
	}, heads)
}

// Whatever a row says, right or wrong: the checks object to a slot exactly where
// the draft says that it is to be decided, and a slot that is decided agrees
// with its row.
func TestChecksPointWhereTheDraftDoes(t *testing.T) {
	l := readLoad(t, examples+"thimble-gulch/load.toml")
	channels := l.Channels()
	rapid.Check(t, func(rt *rapid.T) {
		var text strings.Builder
		text.WriteString("Function\tChannel Name\tAssignment\tRX Freq\tRX Tone\tTX Freq\tTX Tone\tMode\tRemarks\tZone\tCh\n")
		maybe := func(what, right string, wrong ...string) string {
			return rapid.SampledFrom(append([]string{right, right, right, ""}, wrong...)).Draw(rt, what)
		}
		rows := rapid.IntRange(1, 8).Draw(rt, "rows")
		for range rows {
			c := rapid.SampledFrom(channels).Draw(rt, "channel")
			other := rapid.SampledFrom(channels).Draw(rt, "other")
			rx, tx := c.Rx.String(), c.Tx.String()
			if c.Trunked() {
				rx, tx = c.System, ""
			}
			txTone := c.TxTone.String()
			if c.TxTone == radio.Site {
				txTone = l.SitesOf(c)[0].Squelch.String()
			}
			fmt.Fprintf(&text, "%s\t%s\t%s\t%s\t%s\t%s\t%s\t%s\t%s\t%s\t%s\n",
				rapid.SampledFrom([]string{"Tactical", "Command", "Support", "Dispatch", "x"}).Draw(rt, "function"),
				maybe("name", c.Name, other.Name, strings.ToLower(c.Name), "QB TAC 12", `?\`),
				maybe("assignment", "Division A", "Branch II", "B, C", "Group SP"),
				maybe("rx", rx, other.Rx.String(), "154.2590", "15.2x", "none"),
				maybe("rx tone", c.RxTone.String(), "67.0", "$293", "D023", "??", "5", "99"),
				maybe("tx", tx, other.Tx.String(), "154.2590", "-"),
				maybe("tx tone", txTone, "146.2", "CSQ", "tone 12", "??", "3"),
				maybe("mode", strings.ToUpper(c.Mode.String()[:1]), "A", "D", "Q"),
				maybe("remarks", "", "Bellwether", "Lantern", "only in the list of A"),
				maybe("zone", fmt.Sprint(c.Group.Number), "9", "x"), maybe("ch", fmt.Sprint(c.Number), "99"))
		}
		s, err := sheet.Read([]byte(text.String()), "sheet.csv", l)
		if err != nil { // nothing but empty rows
			require.ErrorContains(rt, err, "no channel below them")
			return
		}
		d := s.Draft(sheet.Options{LoadPath: "load.toml", Name: "x", Period: 1, From: "2027-08-14T06:00Z",
			To: "2027-08-14T18:00Z", PreparedAt: "2027-08-14T05:00Z", PreparedBy: "x"})
		require.Equal(rt, len(s.Rows), d.Slots)

		p, _, found, err := plan.Read("plan.toml", plan.Options{ReadFile: func(string) ([]byte, error) { return d.TOML, nil }})
		require.NoError(rt, err)
		var faults finding.List
		for _, f := range found {
			if f.Rule != plan.RuleWrongFile { // the load is not read here
				faults.Add(f)
			}
		}
		r, more := plan.Resolve(p, l)
		faults.Add(more...)
		slots := make([]int, len(p.Slots))
		for i, slot := range p.Slots {
			slots[i] = slot.At("").Line
		}
		objected, open := map[int]bool{}, map[int]bool{}
		for _, f := range faults {
			at := 0
			for _, line := range slots {
				if line <= f.Place.Line {
					at = line
				}
			}
			objected[at] = true
		}
		for _, o := range d.Open {
			open[o.Line] = true
		}
		require.Equal(rt, open, objected, "%s\n%v", d.TOML, faults)

		bySlot := map[int]*plan.ResolvedSlot{}
		for _, rs := range r.Slots {
			bySlot[rs.At("").Line] = rs
		}
		lines := strings.Split(string(d.TOML), "\n")
		for _, line := range slots {
			if open[line] {
				continue
			}
			rs := bySlot[line]
			require.NotNil(rt, rs)
			row := rowAbove(rt, s, lines, line)
			for _, agree := range [][2]string{{row.Rx, rs.Channel.Rx.String()}, {row.Tx, rs.Channel.Tx.String()}} {
				if f, err := radio.ParseMHz(agree[0]); err == nil && !rs.Channel.Trunked() {
					require.Equal(rt, agree[1], f.String(), row)
				}
			}
			if tone, err := radio.ParseSquelch(row.TxTone); err == nil && strings.Contains(row.TxTone, ".") && !rs.Channel.Trunked() {
				require.Equal(rt, tone, rs.TxTone, row)
			}
		}
	})
}

// rowAbove is the row of the sheet that the comment above a slot names.
func rowAbove(t require.TestingT, s *sheet.Sheet, lines []string, line int) sheet.Row {
	for i := line - 2; i >= 0; i-- {
		var n int
		if _, err := fmt.Sscanf(lines[i], "# line %d of the sheet", &n); err == nil {
			for _, r := range s.Rows {
				if r.Line == n {
					return r
				}
			}
		}
	}
	require.Fail(t, "no row above the slot")
	return sheet.Row{}
}

// FuzzReadSheet: nothing panics, and a draft of whatever could be read is TOML
// that a plan can be read from.
func FuzzReadSheet(f *testing.F) {
	names, err := filepath.Glob(sheets + "*.csv")
	require.NoError(f, err)
	require.NotEmpty(f, names)
	for _, name := range names {
		data, err := os.ReadFile(name)
		require.NoError(f, err)
		f.Add(data)
	}
	for _, text := range []string{
		"Channel Name,RX Freq\n\"a\nb\",154.28\n", "name;rx\n=1+1;@\n", "\xff\xfen\x00", "Name\tRX\n\u202e\t\x7f\n",
		"Division,A\nName,RX\nVFIRE21,154.28\n", "Operational Period,1,99/99/9999 2460\nName,RX,Assignment\nx,1,é Group\n",
		"Not in the list,x,y,tone 4\nName,RX\nx,1\n", "Name,RX,Remarks\nx,1,only in the list of \n", "Name,Assignment,TX\n,\"Group \u00df, Group\",1\n",
	} {
		f.Add([]byte(text))
	}
	l := readLoad(f, examples+"thimble-gulch/load.toml")
	f.Fuzz(func(t *testing.T, data []byte) {
		s, err := sheet.Read(data, "sheet.csv", l)
		if err != nil {
			require.Nil(t, s)
			require.NotContains(t, err.Error(), "\n")
			return
		}
		d := s.Draft(sheet.Options{LoadPath: "load.toml", Source: "sheet.csv"})
		require.Equal(t, len(s.Rows), d.Slots)
		var p plan.Plan
		file, faults := tomlfile.Decode("plan.toml", d.TOML, &p)
		require.False(t, file.Broken(), "%v\n%s", faults, d.TOML)
		require.Len(t, p.Slots, d.Slots)
		require.Equal(t, d.TOML, s.Draft(sheet.Options{LoadPath: "load.toml", Source: "sheet.csv"}).TOML)
	})
}

func BenchmarkDraft(b *testing.B) {
	l := readLoad(b, examples+"thimble-gulch/load.toml")
	data, err := os.ReadFile(sheets + "ten-rows.csv")
	require.NoError(b, err)
	for b.Loop() {
		s, err := sheet.Read(data, "sheet.csv", l)
		require.NoError(b, err)
		s.Draft(sheet.Options{LoadPath: "load.toml"})
	}
}

// A column that says Channel holds names as often as numbers.
func TestNamesUnderChannel(t *testing.T) {
	s := read(t, "Channel,RX Freq\n,154.28\nQB CMD 1,\nAIRGUARD,168.625\nCh 4,151.8575\n3-07,152.3075\n")
	var got []string
	for _, r := range s.Rows {
		got = append(got, r.Name+"|"+r.Channel+"|"+r.Rx)
	}
	assert.Equal(t, []string{"||154.28", "QB CMD 1||", "AIRGUARD||168.625", "|Ch 4|151.8575", "|3-07|152.3075"}, got)

	s = read(t, "Channel,Channel Name,RX Freq\nA/G,QB AG 1,\nx,,154.28\n")
	assert.Equal(t, "A/G", s.Rows[0].Channel, "a column of its own has the names")
	assert.Empty(t, s.Rows[1].Name)
}
