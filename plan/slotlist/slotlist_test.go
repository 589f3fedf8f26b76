package slotlist

import (
	"crypto/sha256"
	"encoding/csv"
	"encoding/hex"
	"fmt"
	"os"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"slotcard/plan/radio"
)

// vectorText is the list of the format's description, with its true code.
const vectorText = `SLOTS 1 THIMBLE GULCH/2
2027-08-14T06:00/2027-08-14T18:00 LOAD 2027
1 CMD QB CMD 1 152.4125/157.6725 103.5/146.2
2 TAC:A VFIRE21 154.2800 -/156.7
3 TAC:Z VFIRE23 154.2950 -/156.7
4 A/G QB AG 1 151.8575 -/-
5 GUARD AIRGUARD 168.6250 -/110.9
=J2MX
`

func vector() List {
	zone := time.FixedZone("", -6*3600)
	return List{
		Incident: "Thimble Gulch", Period: 2, Edition: "2027",
		From: time.Date(2027, 8, 14, 6, 0, 0, 0, zone),
		To:   time.Date(2027, 8, 14, 18, 0, 0, 0, zone),
		Lines: []Line{
			{Name: "QB CMD 1", Use: radio.Command, Rx: 152_412_500, Tx: 157_672_500, RxTone: radio.Tone(1035), TxTone: radio.Tone(1462)},
			{Name: "VFIRE21", Use: radio.Tactical, Divisions: []string{"A"}, Rx: 154_280_000, Tx: 154_280_000, TxTone: radio.Tone(1567)},
			{Name: "VFIRE23", Use: radio.Tactical, Divisions: []string{"Z"}, Rx: 154_295_000, Tx: 154_295_000, TxTone: radio.Tone(1567)},
			{Name: "QB AG 1", Use: radio.AirToGround, Rx: 151_857_500, Tx: 151_857_500},
			{Name: "AIRGUARD", Use: radio.Guard, Rx: 168_625_000, Tx: 168_625_000, TxTone: radio.Tone(1109)},
		},
	}
}

func TestVector(t *testing.T) {
	assert.Equal(t, vectorText, vector().Encode())
	assert.Equal(t, Code("J2MX"), vector().Code())
	assert.Equal(t, "1\tQB CMD 1\tcommand\t\t152412500\t157672500\t103.5\t146.2\tanalog\tnarrow\n",
		strings.SplitAfter(vector().Canonical(), "\n")[0])

	got, code, err := Parse(vectorText)
	require.NoError(t, err)
	assert.Equal(t, Code("J2MX"), code)
	assert.Equal(t, vector().asRead(), got)
}

// The head of a revision and of an exercise; the code covers neither.
func TestRevisionAndExercise(t *testing.T) {
	for _, c := range []struct {
		exercise bool
		revision int
		head     string
	}{
		{false, 0, "SLOTS 1 THIMBLE GULCH/2"},
		{false, 2, "SLOTS 1 THIMBLE GULCH/2.2"},
		{true, 0, "SLOTS 1 THIMBLE GULCH/2 EXERCISE"},
		{true, 13, "SLOTS 1 THIMBLE GULCH/2.13 EXERCISE"},
	} {
		l := vector()
		l.Exercise, l.Revision = c.exercise, c.revision
		text := l.Encode()
		assert.Equal(t, strings.Replace(vectorText, "SLOTS 1 THIMBLE GULCH/2", c.head, 1), text)
		got, code, err := Parse(text)
		require.NoError(t, err)
		assert.Equal(t, l.asRead(), got)
		assert.Equal(t, Code("J2MX"), code)
	}
}

// standard reads a value of the reference table.
func standard(t *testing.T, file, item string) []string {
	t.Helper()
	f, err := os.Open("../../testdata/" + file)
	require.NoError(t, err)
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	require.NoError(t, err)
	for _, row := range rows {
		if row[0] == item {
			return row
		}
	}
	t.Fatalf("%s has no row %q", file, item)
	return nil
}

// SHA-256("abc") is the example of FIPS 180-4 (the table has it from memory, and
// "" as computed).
func TestSHA256(t *testing.T) {
	want := standard(t, "codes_hash.csv", `SHA-256("abc")`)[1]
	sum := sha256.Sum256([]byte("abc"))
	assert.Equal(t, want, hex.EncodeToString(sum[:]))

	// ba7816: 10111 01001 11100 00001 are 23, 9, 28, 1.
	assert.Equal(t, Code("Q9W1"), codeOf("abc"))
}

// Crockford's alphabet, read on his page.
func TestAlphabet(t *testing.T) {
	assert.Equal(t, standard(t, "codes_hash.csv", "Crockford base32 alphabet")[1], alphabet)
	assert.Len(t, alphabet, 32)
}

// Letters: ITU Radio Regulations, Appendix 14, section 1 (secondary). Figures
// are plain English; the ITU's code words end in them, from zero to nine.
func TestSpellingWords(t *testing.T) {
	for r, word := range spelling {
		row := standard(t, "phonetic.csv", string(r))
		if r <= '9' {
			assert.True(t, strings.HasSuffix(strings.ToLower(row[1]), word), "%c: %s, %s", r, row[1], word)
			continue
		}
		assert.Equal(t, strings.ToLower(row[1]), word)
	}
	assert.Len(t, spelling, 36)
	assert.Equal(t, "seven kilo four quebec", Code("7K4Q").Words())
	assert.Equal(t, "7K 4Q", Code("7K4Q").Pairs())
	assert.Equal(t, "juliett two mike x-ray", Code("J2MX").Words())
}

func TestParseCode(t *testing.T) {
	for in, want := range map[string]Code{
		"J2MX": "J2MX", "j2mx": "J2MX", "j2 mx": "J2MX", " J2-MX ": "J2MX",
		"oOiL": "0011", "lIoO": "1100", "7K 4Q": "7K4Q",
	} {
		got, err := ParseCode(in)
		require.NoError(t, err, in)
		assert.Equal(t, want, got, in)
	}
	for in, reason := range map[string]string{
		"":       `read-back code "" has 0 digits: it needs 4`,
		"J2M":    `read-back code "J2M" has 3 digits: it needs 4`,
		"J2MXX":  `read-back code "J2MXX" has 5 digits: it needs 4`,
		"U2MX":   `read-back code "U2MX" holds 'U': its digits are 0 to 9 and A to Z without I, L, O and U`,
		"J2.MX":  `read-back code "J2.MX" holds '.': its digits are 0 to 9 and A to Z without I, L, O and U`,
		"é2MX":   `read-back code "é2MX" holds 'É': its digits are 0 to 9 and A to Z without I, L, O and U`,
		"J2\nMX": `read-back code "J2\nMX" holds '\n': its digits are 0 to 9 and A to Z without I, L, O and U`,
	} {
		_, err := ParseCode(in)
		assert.EqualError(t, err, reason)
	}
}

func TestHeadIsPlainASCII(t *testing.T) {
	for in, want := range map[string]string{
		"Thimble Gulch":     "THIMBLE GULCH",
		"Cañon del Río":     "CANON DEL RIO",
		"Can\u0303on":       "CANON",
		"ﬁre \u2460":        "FIRE 1",
		"Æ–1":               "??1",
		"a/b\tc":            "A/B?C",
		"  two   blanks ":   "TWO BLANKS",
		"\u0301":            "?",
		"":                  "?",
		"no\u00a0break 火":   "NO BREAK ?",
		"bad \xff byte":     "BAD ? BYTE",
		"dotless \u0131 ok": "DOTLESS I OK",
		// full capitals: SpecialCasing.txt of Unicode, from memory
		"Großer Berg":  "GROSSER BERG",
		"GROẞER":       "GROSSER",
		"\u01f0\u0149": "J?N",
		"1ª":           "1A",
	} {
		l := vector()
		l.Incident = in
		first, _, _ := strings.Cut(l.Encode(), "\n")
		assert.Equal(t, "SLOTS 1 "+want+"/2", first)
	}
}

func TestAllFields(t *testing.T) {
	l := vector()
	l.Lines = []Line{
		{Name: "A", Use: radio.Command, Divisions: []string{"A", "B:1"}, Rx: 769_143_750, Tx: 799_143_750, Mode: radio.Digital, RxTone: radio.Squelch{Kind: radio.NAC, Value: 0xF7E}, TxTone: radio.Squelch{Kind: radio.NAC, Value: 0x293}},
		{Name: "B W", Use: radio.Medical, Rx: 155_340_000, Tx: 155_340_000, Mode: radio.Mixed, Width: radio.Wide},
		{Name: "C D", Use: radio.Travel, Rx: 155_340_000, Tx: 155_340_000, Width: radio.Wide, RxTone: radio.Squelch{Kind: radio.DCS, Value: 0o23, Inverted: true}, TxTone: radio.Squelch{Kind: radio.DCS, Value: 0o47}},
		{Name: "T", Use: radio.Support, System: "Quillback trunk", Talkgroup: "Ops 1/2", Mode: radio.Digital},
		{Name: "N", Use: radio.Support, System: "800", Talkgroup: "1234", Mode: radio.Digital},
	}
	text := l.Encode()
	lines := strings.Split(text, "\n")
	assert.Equal(t, []string{
		"1 CMD:A,B:1 A 769.14375/799.14375 NF7E/N293 D",
		"2 MED B W 155.3400 -/- M W",
		"3 TRAV C D 155.3400 D023I/D047 W",
		"4 SUP T Quillback_trunk/Ops_1/2 -/- D",
		"5 SUP N 800/1234 -/- D",
	}, lines[2:7])
	got, _, err := Parse(text)
	require.NoError(t, err)
	assert.Equal(t, l.asRead(), got)
	assert.Contains(t, l.Canonical(), "4\tT\tsupport\t\tQuillback_trunk/Ops_1/2\t-\t-\t-\tdigital\tnarrow\n")
}

func TestTolerantReading(t *testing.T) {
	for name, text := range map[string]string{
		"crlf":             strings.ReplaceAll(vectorText, "\n", "\r\n"),
		"trailing blanks":  strings.ReplaceAll(vectorText, "\n", " \t \n"),
		"blanks then crlf": strings.ReplaceAll(vectorText, "\n", "  \r\n"),
		"no final newline": strings.TrimSuffix(vectorText, "\n"),
		"blank end":        vectorText + "\n \r\n",
	} {
		got, _, err := Parse(text)
		require.NoError(t, err, name)
		assert.Equal(t, vector().asRead(), got, name)
	}
}

// wrongTexts are texts that are not a list, and what is said about them.
func wrongTexts() []struct{ text, want string } {
	lines := strings.Split(strings.TrimSuffix(vectorText, "\n"), "\n")
	with := func(n int, line string) string {
		changed := append([]string(nil), lines...)
		changed[n-1] = line
		return strings.Join(changed, "\n")
	}
	return []struct{ text, want string }{
		{"", "line 1: is not the head of a slot list: SLOTS, version, incident, / and period"},
		{"hello", "line 1: is not the head of a slot list: SLOTS, version, incident, / and period"},
		{with(1, "SLOTS 2 THIMBLE GULCH/2"), "line 1: is a slot list of version 2, and only version 1 can be read"},
		{with(1, "SLOTS 1 THIMBLE GULCH"), "line 1: has no / and period behind the incident"},
		{with(1, "SLOTS 1 Thimble Gulch/2"), `line 1: incident "Thimble Gulch" is not in capitals with single spaces`},
		{with(1, "SLOTS 1 THIMBLE  GULCH/2"), `line 1: incident "THIMBLE  GULCH" is not in capitals with single spaces`},
		{with(1, "SLOTS 1 THIMBLE GULCH/02"), `line 1: period "02" is not a number`},
		{with(1, "SLOTS 1 THIMBLE GULCH/2.1"), `line 1: revision "1" is not a number from 2`},
		{with(1, "SLOTS 1 THIMBLE GULCH/2."), `line 1: revision "" is not a number from 2`},
		{with(1, "SLOTS 1 THIMBLE GULCH/2.02"), `line 1: revision "02" is not a number from 2`},
		{with(1, "SLOTS 1 THIMBLE GULCH/2.2.2"), `line 1: revision "2.2" is not a number from 2`},
		{with(1, "SLOTS 1 THIMBLE GULCH/2 Exercise"), `line 1: period "2 Exercise" is not a number`},
		{with(1, "SLOTS 1 THIMBLE GULCH/2  EXERCISE"), `line 1: period "2 " is not a number`},
		{with(1, "SLOTS 1 THIMBLE GULCH EXERCISE"), "line 1: has no / and period behind the incident"},
		{lines[0], "line 2: is missing: the period as an interval, LOAD and the edition"},
		{with(2, "2027-08-14T06:00 LOAD 2027"), "line 2: is not an interval of two times joined by /, LOAD and the edition"},
		{with(2, "2027-08-14T6:00/2027-08-14T18:00 LOAD 2027"), `line 2: "2027-08-14T6:00" is not a local time such as 2027-08-14T06:00`},
		{with(2, "2027-08-14T06:00/2027-08-34T18:00 LOAD 2027"), `line 2: "2027-08-34T18:00" is not a local time such as 2027-08-14T06:00`},
		{strings.Join(lines[:2], "\n"), "line 2: ends without a read-back code: = and 4 digits"},
		{strings.Join(lines[:7], "\n"), "line 7: ends without a read-back code: = and 4 digits"},
		{strings.Join(append(lines[:2:2], "=J2MX"), "\n"), "line 3: has the read-back code before any slot"},
		{with(4, ""), "line 4: is empty"},
		{with(4, "2 TAC:A  VFIRE21 154.2800 -/156.7"), "line 4: has a blank too many"},
		{with(4, "2 TAC:A 154.2800 -/156.7"), "line 4: is not a slot: position, use, display name, frequency, squelch"},
		{with(4, "W"), "line 4: is not a slot: position, use, display name, frequency, squelch"},
		{with(4, "3 TAC:A VFIRE21 154.2800 -/156.7"), `line 4: begins with "3" where position 2 is due`},
		{with(4, "2 TACT:A VFIRE21 154.2800 -/156.7"), `line 4: "TACT" is not a use: CMD, TAC, A/G, GUARD, SUP, TRAV or MED`},
		{with(4, "2 TAC: VFIRE21 154.2800 -/156.7"), `line 4: division "" is empty`},
		{with(4, "2 TAC:A,A VFIRE21 154.2800 -/156.7"), `line 4: names division "A" twice`},
		{with(4, "2 TAC:A VFIRE21 154.28 -/156.7"), `line 4: frequency "154.28" is not written as 154.2800`},
		{with(4, "2 TAC:A VFIRE21 154.2800/154.2800 -/156.7"), "line 4: writes a transmit frequency that does not differ from receive"},
		{with(4, "2 TAC:A VFIRE21 154.2800/154.29 -/156.7"), `line 4: frequency "154.29" is not written as 154.2900`},
		{with(4, "2 TAC:A VFIRE21 154.28x0 -/156.7"), `line 4: frequency "154.28x0" is not a decimal number of MHz`},
		{with(4, "2 TAC:A VFIRE21 154.2800/ -/156.7"), `line 4: "154.2800/" is neither a frequency nor a system and a talkgroup`},
		{with(4, "2 TAC:A VFIRE21 154.2800 156.7"), `line 4: "156.7" is not a receive and a transmit squelch joined by /`},
		{with(4, "2 TAC:A VFIRE21 154.2800 -/156"), `line 4: squelch "156" is not written as 156.0`},
		{with(4, "2 TAC:A VFIRE21 154.2800 -/site"), `line 4: squelch "site" is not a tone: a number of hertz, D and three digits, or N and three hex digits`},
		{with(4, "2 TAC:A VFIRÉ21 154.2800 -/156.7"), "line 4: holds 'É': a list text is printable ASCII"},
		{with(4, "2 TAC:A VFIRE21\t154.2800 -/156.7"), `line 4: holds '\t': a list text is printable ASCII`},
		{with(8, "=j2mx"), `line 8: read-back code "j2mx" is not written as =J2MX`},
		{with(8, "=J2M"), `line 8: read-back code "J2M" has 3 digits: it needs 4`},
		{vectorText + "=J2MX", "line 9: stands after the read-back code"},
		{"\ufeff" + vectorText, `line 1: holds '\ufeff': a list text is printable ASCII`},
	}
}

func TestSyntaxErrors(t *testing.T) {
	for _, c := range wrongTexts() {
		_, _, err := Parse(c.text)
		var syntax *SyntaxError
		require.ErrorAs(t, err, &syntax, c.text)
		assert.EqualError(t, err, c.want)
	}
	_, _, err := Parse(strings.Replace(vectorText, "SLOTS 1", "SLOTS 2", 1))
	assert.ErrorIs(t, err, ErrVersion)
	_, _, err = Parse("hello")
	assert.NotErrorIs(t, err, ErrVersion)
}

func TestCodeError(t *testing.T) {
	got, code, err := Parse(strings.Replace(vectorText, "=J2MX", "=7K4Q", 1))
	var wrongCode *CodeError
	require.ErrorAs(t, err, &wrongCode)
	assert.Equal(t, CodeError{Stated: "7K4Q", Computed: "J2MX"}, *wrongCode)
	assert.EqualError(t, err, "the text says code 7K 4Q, but its slots give J2 MX")
	assert.Equal(t, Code("7K4Q"), code)
	assert.Equal(t, vector().asRead(), got, "the list is returned all the same")
}

// Every change of a single character in the slot lines and the code is caught;
// one in the head, which the code does not cover, is caught or shows as another
// head.
func TestSingleCharacterChanges(t *testing.T) {
	want := vector().asRead()
	headEnd := strings.Index(vectorText, "\n1 CMD") + 1
	for i := range len(vectorText) - 1 {
		for c := byte(0); c < 0x80; c++ {
			if c == vectorText[i] {
				continue
			}
			text := vectorText[:i] + string(rune(c)) + vectorText[i+1:]
			got, _, err := Parse(text)
			if err != nil {
				continue
			}
			if i >= headEnd {
				t.Fatalf("character %d changed to %q was not noticed", i, c)
			}
			require.Equal(t, want.Lines, got.Lines)
			require.NotEqual(t, want, got, "character %d changed to %q does not show", i, c)
		}
	}
}

func TestValidity(t *testing.T) {
	for id, want := range map[string]string{
		"A": "", "B:1": "", "Struct": "",
		"": "is empty", "A,B": `holds ",", which separates ids`, "A B": `holds " ", which separates ids`,
		"Ä": "holds 'Ä', and displays show printable ASCII only",
	} {
		check(t, want, validID(id))
	}
	for pair, want := range map[[2]string]string{
		{"QB trunk", "Ops 1"}: "", {"800", "1234"}: "", {"A", "B/C"}: "",
		{"", "B"}: "needs both a system and a talkgroup", {"A", ""}: "needs both a system and a talkgroup",
		{"A/B", "C"}:        "has a slash in the name of its system",
		{"152.4", "157.67"}: "reads like a pair of frequencies",
	} {
		check(t, want, ValidTalkgroup(pair[0], pair[1]))
	}
}

func check(t *testing.T, want string, err error) {
	t.Helper()
	if want == "" {
		assert.NoError(t, err)
		return
	}
	assert.EqualError(t, err, want)
}

// drawList draws a list that is valid in everything a plan may hold.
func drawList(t *rapid.T) List {
	squelch := rapid.Custom(func(t *rapid.T) radio.Squelch {
		switch radio.SquelchKind(rapid.IntRange(0, 3).Draw(t, "kind")) {
		case radio.CTCSS:
			return radio.Tone(rapid.IntRange(1, 9999).Draw(t, "tenths"))
		case radio.DCS:
			return radio.Squelch{Kind: radio.DCS, Value: rapid.IntRange(0, 0o777).Draw(t, "dcs"), Inverted: rapid.Bool().Draw(t, "inverted")}
		case radio.NAC:
			return radio.Squelch{Kind: radio.NAC, Value: rapid.IntRange(0, 0xFFF).Draw(t, "nac")}
		}
		return radio.Squelch{}
	})
	hertz := rapid.Custom(func(t *rapid.T) radio.Hertz {
		return radio.Hertz(rapid.Int64Range(1, int64(radio.MaxFrequency)).Draw(t, "hertz"))
	})
	valid := func(pattern string, check func(string) error) *rapid.Generator[string] {
		return rapid.StringMatching(pattern).Filter(func(s string) bool { return check(s) == nil })
	}
	line := rapid.Custom(func(t *rapid.T) Line {
		l := Line{
			Name:      rapid.StringMatching(`[!-~]{1,4}( [!-~]{1,4}){0,3}`).Draw(t, "name"),
			Use:       radio.Use(rapid.IntRange(int(radio.Command), int(radio.Medical)).Draw(t, "use")),
			Divisions: rapid.SliceOfNDistinct(valid(`[!-+\--~]{1,3}`, validID), -1, 4, rapid.ID[string]).Draw(t, "divisions"),
			RxTone:    squelch.Draw(t, "rx tone"),
			TxTone:    squelch.Draw(t, "tx tone"),
			Mode:      radio.Mode(rapid.IntRange(0, 2).Draw(t, "mode")),
			Width:     radio.Width(rapid.IntRange(0, 1).Draw(t, "width")),
		}
		if len(l.Divisions) == 0 {
			l.Divisions = nil
		}
		if rapid.Bool().Draw(t, "trunked") {
			pair := rapid.Custom(func(t *rapid.T) [2]string {
				return [2]string{rapid.StringN(1, 8, -1).Draw(t, "system"), rapid.StringN(1, 8, -1).Draw(t, "talkgroup")}
			}).Filter(func(p [2]string) bool {
				// A name of nothing but combining marks leaves nothing to write.
				return ValidTalkgroup(p[0], p[1]) == nil && word(p[0]) != "" && word(p[1]) != ""
			}).Draw(t, "pair")
			l.System, l.Talkgroup = pair[0], pair[1]
			return l
		}
		l.Rx = hertz.Draw(t, "rx")
		if l.Tx = l.Rx; rapid.Bool().Draw(t, "repeated") {
			l.Tx = hertz.Draw(t, "tx")
		}
		return l
	})
	from := time.Date(2027, 1, 1, 0, 0, 0, 0, time.FixedZone("", rapid.IntRange(-12, 14).Draw(t, "offset")*3600)).
		Add(time.Duration(rapid.Int64Range(0, 1e9).Draw(t, "from")) * time.Second)
	return List{
		Incident: rapid.String().Draw(t, "incident"),
		Period:   rapid.IntRange(0, 999).Draw(t, "period"),
		From:     from, To: from.Add(12 * time.Hour),
		Edition: rapid.String().Draw(t, "edition"),
		Lines:   rapid.SliceOfN(line, 1, 20).Draw(t, "lines"),
	}
}

func TestRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := drawList(t)
		text := l.Encode()
		got, code, err := Parse(text)
		require.NoError(t, err, text)
		require.Equal(t, l.Code(), code)
		require.Equal(t, l.asRead(), got)
		require.Equal(t, text, got.Encode(), "what was read is written as it was")
	})
}

// The code depends on what is programmed and who uses it, and on nothing else.
func TestCodeDependsOnSlotsOnly(t *testing.T) {
	a, b := vector(), vector()
	b.Incident, b.Period, b.Edition, b.To = "Other", 9, "1999", b.To.Add(time.Hour)
	assert.Equal(t, a.Code(), b.Code())
	for name, change := range map[string]func(*Line){
		"name": func(l *Line) { l.Name = "VFIRE22" }, "use": func(l *Line) { l.Use = radio.Support },
		"divisions": func(l *Line) { l.Divisions = nil }, "rx": func(l *Line) { l.Rx++ }, "tx": func(l *Line) { l.Tx++ },
		"rx tone": func(l *Line) { l.RxTone = radio.Tone(1567) }, "tx tone": func(l *Line) { l.TxTone = radio.Tone(1566) },
		"mode": func(l *Line) { l.Mode = radio.Mixed }, "width": func(l *Line) { l.Width = radio.Wide },
		"talkgroup": func(l *Line) { l.Rx, l.Tx, l.System, l.Talkgroup = 0, 0, "S", "T" },
	} {
		c := vector()
		change(&c.Lines[1])
		assert.NotEqual(t, a.Code(), c.Code(), name)
	}
	c := vector()
	c.Lines[1], c.Lines[2] = c.Lines[2], c.Lines[1]
	assert.NotEqual(t, a.Code(), c.Code(), "order")
}

func FuzzParse(f *testing.F) {
	f.Add(vectorText)
	f.Add(strings.ReplaceAll(vectorText, "\n", "\r\n"))
	f.Add("SLOTS 1 X/1\n2027-08-14T06:00/2027-08-14T18:00 LOAD 1\n1 SUP T S/T -/- D W\n=0000\n")
	for _, c := range wrongTexts() {
		f.Add(c.text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		l, code, err := Parse(text)
		switch err := err.(type) {
		case nil:
			again, code2, err2 := Parse(l.Encode())
			require.NoError(t, err2)
			require.Equal(t, code, code2)
			require.Equal(t, l, again)
		case *CodeError:
			require.Equal(t, l.Code(), err.Computed)
			require.NotEqual(t, err.Computed, err.Stated)
		case *SyntaxError:
			require.Positive(t, err.Line)
			require.NotEmpty(t, err.Reason)
			require.LessOrEqual(t, err.Line, strings.Count(text, "\n")+2)
		default:
			t.Fatalf("unexpected error %T", err)
		}
	})
}

func BenchmarkCode(b *testing.B) {
	l := vector()
	for b.Loop() {
		_ = l.Code()
	}
}

func BenchmarkParse(b *testing.B) {
	for b.Loop() {
		_, _, _ = Parse(vectorText)
	}
}

func ExampleList_Encode() {
	fmt.Print(vector().Encode())
	// Output:
	// SLOTS 1 THIMBLE GULCH/2
	// 2027-08-14T06:00/2027-08-14T18:00 LOAD 2027
	// 1 CMD QB CMD 1 152.4125/157.6725 103.5/146.2
	// 2 TAC:A VFIRE21 154.2800 -/156.7
	// 3 TAC:Z VFIRE23 154.2950 -/156.7
	// 4 A/G QB AG 1 151.8575 -/-
	// 5 GUARD AIRGUARD 168.6250 -/110.9
	// =J2MX
}

// asRead is the list as [Parse] returns it from the list's own text: incident
// in capitals, underscores for spaces in talkgroups, everything in ASCII, times
// without seconds and offset. Compare a list that was read with this.
func (l List) asRead() List {
	l.Incident = head(l.Incident, true)
	l.Edition = head(l.Edition, false)
	l.From, l.To = wallClock(l.From), wallClock(l.To)
	lines := make([]Line, len(l.Lines))
	for i, line := range l.Lines {
		if line.Trunked() {
			line.System, line.Talkgroup = word(line.System), word(line.Talkgroup)
		}
		line.Divisions = append([]string(nil), line.Divisions...)
		lines[i] = line
	}
	l.Lines = lines
	return l
}

// wallClock keeps what a clock on the wall shows, to the minute.
func wallClock(t time.Time) time.Time {
	return time.Date(t.Year(), t.Month(), t.Day(), t.Hour(), t.Minute(), 0, 0, time.UTC)
}
