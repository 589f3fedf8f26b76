package radio_test

import (
	"cmp"
	"encoding/csv"
	"fmt"
	"math"
	"math/big"
	"math/rand/v2"
	"os"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"slotcard/plan/finding"
	"slotcard/plan/radio"
)

// table reads a reference table of the folder testdata; its rows carry their
// source and how it is known.
func table(t testing.TB, name string) []map[string]string {
	file, err := os.Open("../../testdata/" + name)
	require.NoError(t, err)
	defer file.Close()
	rows, err := csv.NewReader(file).ReadAll()
	require.NoError(t, err)
	require.Greater(t, len(rows), 1)
	var out []map[string]string
	for _, row := range rows[1:] {
		m := map[string]string{}
		for i, key := range rows[0] {
			m[key] = row[i]
		}
		out = append(out, m)
	}
	return out
}

func TestHertzRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		h := radio.Hertz(rapid.Int64Range(1, int64(radio.MaxFrequency)).Draw(t, "hertz"))
		back, err := radio.ParseMHz(h.String())
		require.NoError(t, err)
		require.Equal(t, h, back)
		_, frac, _ := strings.Cut(h.String(), ".")
		require.GreaterOrEqual(t, len(frac), 4)
	})
}

// The exact value is computed by math/big, an independent library.
func TestParseMHzIsExact(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := rapid.StringMatching(`[0-9]{1,7}(\.[0-9]{0,9})?`).Draw(t, "MHz")
		exact, ok := new(big.Rat).SetString(strings.TrimSuffix(s, "."))
		require.True(t, ok)
		exact.Mul(exact, big.NewRat(1_000_000, 1))
		h, err := radio.ParseMHz(s)
		switch {
		case exact.Sign() == 0, !exact.IsInt(), exact.Num().Cmp(big.NewInt(int64(radio.MaxFrequency))) > 0:
			require.Error(t, err, s)
		default:
			require.NoError(t, err, s)
			require.Equal(t, exact.Num().Int64(), int64(h), s)
		}
	})
}

// A hundred thousand whole hertz, written in MHz, read as a float and taken back.
func TestFloatsOfMHzAreExact(t *testing.T) {
	random := rand.New(rand.NewPCG(2027, 814))
	for range 100_000 {
		want := radio.Hertz(1 + random.Int64N(int64(6_000_000_000)))
		f, err := strconv.ParseFloat(want.String(), 64)
		require.NoError(t, err)
		got, err := radio.FromMHz(f)
		if err != nil || got != want {
			t.Fatalf("%s: got %d, %v", want, got, err)
		}
	}
}

// Every frequency of the national interoperability channels (source and how in
// the table) is read from text and from a number alike, and printed as there.
func TestInteroperabilityFrequencies(t *testing.T) {
	n := 0
	for _, row := range table(t, "interop_channels.csv") {
		for _, key := range []string{"mobile_rx_mhz", "mobile_tx_mhz"} {
			f, err := strconv.ParseFloat(row[key], 64)
			if err != nil {
				continue // a remark in place of a number
			}
			n++
			var text, number radio.Hertz
			require.NoError(t, text.UnmarshalTOML(row[key]), row["name"])
			require.NoError(t, number.UnmarshalTOML(f), row["name"])
			assert.Equal(t, text, number)
			assert.Equal(t, f, float64(text)/1e6)
		}
	}
	assert.Greater(t, n, 50)
}

func TestHertzFromTOML(t *testing.T) {
	for _, c := range []struct {
		in   any
		want string // the frequency, or rule and reason
		help string
	}{
		{152.4125, "152.4125", ""},
		{"152.41250", "152.4125", ""},
		{int64(154), "154.0000", ""},
		{769.14375, "769.14375", ""},
		{154.2999995, "is not a whole number of hertz", "a frequency in MHz has at most six decimals"},
		{"154.1234567", "is not a whole number of hertz", "a frequency in MHz has at most six decimals"},
		{"154,28", "is not a decimal number of MHz", "write a decimal point: 154.28"},
		{"1,154,28", "is not a decimal number of MHz", "write MHz, such as 154.2800"},
		{"154.28 MHz", "is not a decimal number of MHz", "write 154.28"},
		{"", "is not a decimal number of MHz", "write MHz, such as 154.2800"},
		{".", "is not a decimal number of MHz", "write MHz, such as 154.2800"},
		{"-154.28", "is not a decimal number of MHz", "write MHz, such as 154.2800"},
		{math.NaN(), "is not a decimal number of MHz", "write MHz, such as 154.2800"},
		{math.Inf(1), "is not a decimal number of MHz", "write MHz, such as 154.2800"},
		{0.0, "out-of-range: is not greater than zero", "write MHz, or leave the key out"},
		{int64(0), "out-of-range: is not greater than zero", "write MHz, or leave the key out"},
		{int64(math.MinInt64), "out-of-range: is not greater than zero", "write MHz, or leave the key out"},
		{"0", "out-of-range: is not greater than zero", "write MHz, or leave the key out"},
		{int64(154280000), "out-of-range: is not a frequency in MHz: it is too large", "write 154.2800"},
		{int64(154295), "out-of-range: is not a frequency in MHz: it is too large", "write 154.2950"},
		{"154295", "out-of-range: is not a frequency in MHz: it is too large", "write 154.2950"},
		{int64(20_000), "out-of-range: is not a frequency in MHz: it is too large", "frequencies are in MHz, such as 154.2800"},
		{1e300, "out-of-range: is not a frequency in MHz: it is too large", "frequencies are in MHz, such as 154.2800"},
		{true, "wrong-type: is not a frequency", "write MHz as a number, such as 154.2800"},
		{nil, "wrong-type: is not a frequency", "write MHz as a number, such as 154.2800"},
	} {
		var h radio.Hertz
		check(t, c.in, &h, h.UnmarshalTOML(c.in), c.want, c.help)
	}
}

func check(t *testing.T, in any, got fmt.Stringer, err error, want, help string) {
	t.Helper()
	if err == nil {
		assert.Equal(t, want, got.String(), "%v", in)
		assert.Empty(t, help)
		return
	}
	var fault *finding.ValueError
	require.ErrorAs(t, err, &fault, "%v", in)
	said := fault.Reason
	if fault.Rule != "" {
		said = fault.Rule + ": " + said
	}
	assert.Equal(t, want, said, "%v", in)
	helps := append(fault.Help, fault.Choices...)
	for _, other := range fault.Instead {
		helps = append(helps, cmp.Or(other.Title, "write "+other.Value))
	}
	assert.Equal(t, help, strings.Join(helps, ", "), "%v", in)
}

func TestSquelchFromTOML(t *testing.T) {
	const codes = `write hertz as a number, or "D023", "D023I" or "N293"`
	for _, c := range []struct {
		in         any
		want, help string
	}{
		{103.5, "103.5", ""},
		{int64(100), "100.0", ""},
		{"D023", "D023", ""},
		{"D023I", "D023I", ""},
		{"N293", "N293", ""},
		{"NF7E", "NF7E", ""},
		{"site", "site", ""},
		{"-", "-", ""},
		{"103.5", "wrong-type: is a tone written as text", "write it without quotes: 103.5"},
		{103.55, "out-of-range: is not a tone between 0.1 and 999.9 Hz with at most one decimal", codes},
		{int64(-5), "out-of-range: is not a tone between 0.1 and 999.9 Hz with at most one decimal", codes},
		{math.NaN(), "out-of-range: is not a tone between 0.1 and 999.9 Hz with at most one decimal", codes},
		{math.Inf(-1), "out-of-range: is not a tone between 0.1 and 999.9 Hz with at most one decimal", codes},
		{"D28", "is not a DCS code: D and three digits 0 to 7, with I behind it if inverted", codes},
		{"D088", "is not a DCS code: D and three digits 0 to 7, with I behind it if inverted", codes},
		{"N29G", "is not a network access code: N and three hex digits", codes},
		{"n293", "is not a tone: a number of hertz, D and three digits, or N and three hex digits", `write "N293"`},
		{"Nf7e", "is not a network access code: N and three hex digits", `write "NF7E"`},
		{"d023i", "is not a tone: a number of hertz, D and three digits, or N and three hex digits", `write "D023I"`},
		{"SITE", "is not a tone: a number of hertz, D and three digits, or N and three hex digits", `write "site"`},
		{"", "is not a tone: a number of hertz, D and three digits, or N and three hex digits", codes},
		{[]any{}, "wrong-type: is not a tone", codes},
	} {
		var s radio.Squelch
		check(t, c.in, &s, s.UnmarshalTOML(c.in), c.want, c.help)
	}
}

// Every tone and code of the published tables (source and how stand there) is
// read, and written as it was.
func TestPublishedTonesAndCodes(t *testing.T) {
	for _, row := range table(t, "ctcss.csv") {
		hz, err := strconv.ParseFloat(row["hz"], 64)
		require.NoError(t, err)
		var s radio.Squelch
		require.NoError(t, s.UnmarshalTOML(hz))
		assert.Equal(t, radio.CTCSS, s.Kind)
		assert.Equal(t, row["hz"], s.String())
	}
	for _, row := range table(t, "dcs_codes.csv") {
		for _, suffix := range []string{"", "I"} {
			var s radio.Squelch
			require.NoError(t, s.UnmarshalTOML("D"+row["code"]+suffix))
			assert.Equal(t, "D"+row["code"]+suffix, s.String())
			assert.Equal(t, suffix == "I", s.Inverted)
		}
	}
	// 293 hex is 659 decimal (nac.csv).
	for _, row := range table(t, "nac.csv") {
		if row["item"] == "default" {
			s, err := radio.ParseSquelch("N" + row["value"])
			require.NoError(t, err)
			assert.Equal(t, "decimal "+strconv.Itoa(s.Value), row["note"])
		}
	}
}

func TestSquelchRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := rapid.OneOf(
			rapid.Custom(func(t *rapid.T) radio.Squelch { return radio.Tone(rapid.IntRange(1, 9999).Draw(t, "tenths")) }),
			rapid.Custom(func(t *rapid.T) radio.Squelch {
				return radio.Squelch{Kind: radio.DCS, Value: rapid.IntRange(0, 0o777).Draw(t, "code"), Inverted: rapid.Bool().Draw(t, "inverted")}
			}),
			rapid.Custom(func(t *rapid.T) radio.Squelch {
				return radio.Squelch{Kind: radio.NAC, Value: rapid.IntRange(0, 0xfff).Draw(t, "code")}
			}),
			rapid.Just(radio.Squelch{}),
		).Draw(t, "squelch")
		back, err := radio.ParseSquelch(s.String())
		require.NoError(t, err)
		require.Equal(t, s, back)
	})
}

func TestNamesFromTOML(t *testing.T) {
	var u radio.Use
	check(t, "tactical", &u, u.UnmarshalTOML("tactical"), "tactical", "")
	check(t, "comand", &u, u.UnmarshalTOML("comand"), "is not a use of a channel", "command, tactical, air-to-ground, guard, support, travel, medical")
	check(t, "", &u, u.UnmarshalTOML(""), "is not a use of a channel", "command, tactical, air-to-ground, guard, support, travel, medical")
	check(t, 3, &u, u.UnmarshalTOML(int64(3)), "wrong-type: is not a use of a channel", "command, tactical, air-to-ground, guard, support, travel, medical")
	var m radio.Mode
	check(t, "mixed", &m, m.UnmarshalTOML("mixed"), "mixed", "")
	check(t, "Digital", &m, m.UnmarshalTOML("Digital"), "is not a mode", "analog, digital, mixed")
	var w radio.Width
	check(t, "wide", &w, w.UnmarshalTOML("wide"), "wide", "")
	check(t, false, &w, w.UnmarshalTOML(false), "wrong-type: is not a channel width", "narrow, wide")
}

func FuzzParseMHz(f *testing.F) {
	for _, s := range []string{"152.4125", "0", ".", "1e3", "154,28", "99999999", "0.0000001", "١٥٤", "-1", "1000000.000000", "1000000.000001"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		h, err := radio.ParseMHz(s)
		if err != nil {
			require.Zero(t, h)
			return
		}
		require.Positive(t, h)
		require.LessOrEqual(t, h, radio.MaxFrequency)
		exact, ok := new(big.Rat).SetString("0" + strings.TrimSuffix(s, "."))
		require.True(t, ok, s)
		require.Zero(t, exact.Cmp(big.NewRat(int64(h), 1_000_000)), s)
	})
}

func FuzzParseSquelch(f *testing.F) {
	for _, s := range []string{"103.5", "100", "D023", "D023I", "N293", "-", "site", "D+23", "N+1f", "D0_3", "1e2", "0.1", "999.95", "D7777", ".", "5."} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		squelch, err := radio.ParseSquelch(s)
		if err != nil {
			return
		}
		require.NotEqual(t, radio.BySite, squelch.Kind)
		back, err := radio.ParseSquelch(squelch.String())
		require.NoError(t, err)
		require.Equal(t, squelch, back)
		if squelch.Kind != radio.CTCSS {
			require.Equal(t, s, squelch.String(), "codes have one spelling")
		}
	})
}
