package published

import (
	"encoding/csv"
	"fmt"
	"os"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"slotcard/plan/radio"
)

// reference reads a reference table of the repository, of which the embedded
// ones are a part. Its source and how columns name where each value comes from.
func reference(t *testing.T, name string) []map[string]string {
	t.Helper()
	f, err := os.Open("../../testdata/" + name)
	require.NoError(t, err)
	defer f.Close()
	all, err := csv.NewReader(f).ReadAll()
	require.NoError(t, err)
	var out []map[string]string
	for _, record := range all[1:] {
		row := map[string]string{}
		for i, key := range all[0] {
			row[key] = record[i]
		}
		out = append(out, row)
	}
	require.NotEmpty(t, out)
	return out
}

func fact(t *testing.T, file, item string) string {
	t.Helper()
	for _, row := range reference(t, file) {
		if row["item"] == item {
			return row["value"]
		}
	}
	t.Fatalf("%s has no %q", file, item)
	return ""
}

func TestEveryValueHasItsOrigin(t *testing.T) {
	how := map[string]bool{"read": true, "secondary": true, "computed": true, "memory": true}
	for _, name := range []string{"ctcss.csv", "dcs.csv", "interop.csv", "nac.csv", "raster.csv"} {
		for _, row := range rows(name) {
			assert.NotEmpty(t, row["source"], name)
			assert.True(t, how[row["how"]], "%s: %v", name, row)
		}
	}
	assert.Equal(t, "A, from memory", Origin{"A", "memory"}.String())
	assert.Equal(t, "A", Origin{"A", "secondary"}.String())
}

func TestCTCSS(t *testing.T) {
	sets := []string{"eia_rs220_37", "classic_38", "chip_standard_39", "chip_47", "extended_50", "uk_mpt1306_32"}
	size := map[string]int{}
	for _, row := range reference(t, "ctcss.csv") {
		var in []string
		for _, s := range sets {
			if row[s] == "1" {
				in = append(in, s)
				size[s]++
			}
		}
		known, nearest := CTCSS(squelch(row["hz"]))
		assert.Equal(t, in != nil, known, row["hz"])
		if known {
			assert.Equal(t, squelch(row["hz"]), nearest)
			found := false
			for _, tone := range tones() {
				if tone.Squelch == nearest {
					found = true
					assert.Equal(t, in, tone.Sets, row["hz"])
				}
			}
			assert.True(t, found)
		}
	}
	// The names of the sets say how many tones they have.
	for set, n := range size {
		assert.True(t, strings.HasSuffix(set, fmt.Sprintf("_%d", n)), "%s has %d tones", set, n)
	}
	for tone, want := range map[int]int{1460: 1462, 1465: 1462, 1035: 1035, 1: 670, 9999: 2541, 1002: 1000, 1567: 1567, 625: 670} {
		known, nearest := CTCSS(radio.Tone(tone))
		assert.Equal(t, tone == want, known)
		assert.Equal(t, radio.Tone(want), nearest, tone)
	}
}

func TestDCSTable(t *testing.T) {
	counts := map[string]int{}
	in106 := map[string]bool{}
	table := reference(t, "dcs_codes.csv")
	for _, row := range table {
		in106[row["code"]] = row["listed_106"] == "1"
	}
	for _, row := range table {
		code := octal(t, row["code"])
		word, err := strconv.ParseUint(row["word23_hex_parity11_100_code9"], 0, 32)
		require.NoError(t, err)
		assert.Equal(t, uint32(word), dcsWord(code), row["code"])
		assert.Equal(t, row["alias_all_octal"], codes(dcsAliases(code)), row["code"])
		assert.Equal(t, row["inverse_all_octal"], codes(dcsInverses(code)), row["code"])

		entry, listed := dcsListed(code)
		assert.Equal(t, row["listed_106"] == "1", listed, row["code"])
		assert.Equal(t, listed, DCSKnown(code))
		if !listed {
			continue
		}
		assert.Equal(t, row["classic_83"] == "1", entry.List == "classic", row["code"])
		counts[entry.List]++
		// Each of the 106 has its inverse in the 106.
		inverse, ok := dcsInverse(code)
		require.True(t, ok, row["code"])
		assert.Contains(t, row["inverse_in_list"], fmt.Sprintf("%03o", inverse))
		assert.True(t, in106[fmt.Sprintf("%03o", inverse)])
		back, ok := dcsInverse(inverse)
		assert.True(t, ok)
		assert.Equal(t, code, back, "inverting twice")
		for _, alias := range dcsAliases(code) {
			assert.False(t, in106[fmt.Sprintf("%03o", alias)], "%03o is another writing of %s", alias, row["code"])
		}
	}
	assert.Equal(t, map[string]int{"classic": 83, "extended": 23}, counts)
	// One public table of 112 carries these as well (dcs_facts.csv, secondary).
	assert.Contains(t, fact(t, "dcs_facts.csv", "longer_wild_lists"), "006 007 015 021 141 214")
	for _, code := range []int{0o6, 0o7, 0o15, 0o21, 0o141, 0o214} {
		entry, ok := dcsListed(code)
		assert.True(t, ok)
		assert.Equal(t, "longer", entry.List)
	}
	all, _ := dcsTables()
	assert.Len(t, all, 112)
}

// The parity equations of a text of 1995 (dcs_facts.csv, secondary; P11 was cut
// off in the copy and is computed) against the polynomial division, for all 512
// codes. C1 is the least significant code bit, P1 the least significant parity
// bit.
func TestGolayConstruction(t *testing.T) {
	text, _, _ := strings.Cut(fact(t, "dcs_facts.csv", "parity_equations"), "; all modulo 2")
	p11, _, _ := strings.Cut(fact(t, "dcs_facts.csv", "P11"), ":")
	equations := strings.Split(text+"; P11="+p11, "; ")
	require.Len(t, equations, 11)
	for i, e := range equations {
		name, sum, ok := strings.Cut(e, "=")
		require.True(t, ok, e)
		require.Equal(t, fmt.Sprintf("P%d", i+1), name)
		inner, inverted := strings.CutPrefix(sum, "NOT(")
		for code := range dcsCodes {
			bit := 0
			if inverted {
				bit = 1
			}
			for _, c := range strings.Split(strings.TrimSuffix(inner, ")"), "+") {
				n, err := strconv.Atoi(strings.TrimPrefix(c, "C"))
				require.NoError(t, err, e)
				bit ^= code >> (n - 1) & 1
			}
			require.Equal(t, bit, int(dcsWord(code)>>(12+i)&1), "%s of code %03o", name, code)
		}
	}
	for code, want := range map[int]string{0o23: fact(t, "dcs_facts.csv", "example_word_023"), 0o25: fact(t, "dcs_facts.csv", "example_word_025")} {
		assert.Equal(t, want, fmt.Sprintf("0x%06X", dcsWord(code)))
	}
	_, byClass := dcsTables()
	assert.Equal(t, fact(t, "dcs_facts.csv", "rotation_classes_of_512"), strconv.Itoa(len(byClass)))
}

// Two receivers' views of all 512 codes: an alias is the same code, an inverse
// of an inverse is the code again, and each number stands in one class only.
func TestAll512(t *testing.T) {
	total := 0
	_, byClass := dcsTables()
	for _, same := range byClass {
		total += len(same)
	}
	assert.Equal(t, 512, total)
	for code := range dcsCodes {
		q := dcs(code, false)
		for _, alias := range dcsAliases(code) {
			require.NotEqual(t, code, alias)
			require.Contains(t, dcsAliases(alias), code)
			require.True(t, SameSquelch(q, dcs(alias, false)))
			require.Equal(t, dcsInverses(code), dcsInverses(alias))
		}
		for _, inverse := range dcsInverses(code) {
			require.Contains(t, dcsInverses(inverse), code)
			require.True(t, SameSquelch(dcs(code, true), dcs(inverse, false)))
			require.True(t, SameSquelch(q, dcs(inverse, true)))
			require.False(t, SameSquelch(q, dcs(inverse, false)), "no code is its own inverse")
		}
		written, ok := DCSWritten(q)
		if ok {
			require.True(t, DCSKnown(written.Value))
			require.True(t, SameSquelch(q, written))
		}
		require.Equal(t, DCSKnown(code) || ok, ok)
	}
}

// Inverse pairs that a public table prints too (dcs_facts.csv, secondary).
func TestInversePairs(t *testing.T) {
	_, pairs, ok := strings.Cut(sourceOf(t, "dcs_facts.csv", "inverse_pairs"), "inverse pairs ")
	require.True(t, ok)
	n := 0
	for _, pair := range strings.Fields(pairs) {
		a, b, ok := strings.Cut(pair, "-")
		if !ok {
			break
		}
		got, ok := dcsInverse(octal(t, a))
		assert.True(t, ok)
		assert.Equal(t, octal(t, b), got, pair)
		n++
	}
	assert.Equal(t, 11, n)
	assert.Equal(t, "340 766", codes(dcsAliases(0o23)), fact(t, "dcs_facts.csv", "alias_example"))
	assert.Contains(t, fact(t, "dcs_facts.csv", "inverted_023"), "047")
}

func TestDCSWritten(t *testing.T) {
	for in, want := range map[string]string{"D023": "D023", "D340": "D023", "D766": "D023", "D023I": "D047", "D047I": "D023", "D645": "D526"} {
		got, ok := DCSWritten(squelch(in))
		assert.True(t, ok, in)
		assert.Equal(t, want, got.String(), in)
	}
	_, ok := DCSWritten(squelch("D000"))
	assert.False(t, ok)
	_, ok = DCSWritten(radio.Tone(1567))
	assert.False(t, ok)
	assert.True(t, SameSquelch(squelch("156.7"), squelch("156.7")))
	assert.False(t, SameSquelch(squelch("156.7"), squelch("D023")))
	assert.True(t, SameSquelch(squelch("D023I"), squelch("D047")))
}

// nac.csv: encyclopedia copies (secondary).
func TestReservedNAC(t *testing.T) {
	for item, name := range map[string]string{"receive_any": "receive-any", "repeater_any": "repeater-any"} {
		code, ok := ReservedNAC(squelch("N" + fact(t, "nac.csv", item)).Value)
		assert.True(t, ok)
		assert.Equal(t, name, code.Name)
	}
	_, ok := ReservedNAC(squelch("N" + fact(t, "nac.csv", "default")).Value)
	assert.False(t, ok)
	_, ok = ReservedNAC(0xF00)
	assert.False(t, ok, "unconfirmed")
	assert.Equal(t, fact(t, "nac.csv", "decimal_of_F7E"), strconv.Itoa(0xF7E))
}

func TestInterop(t *testing.T) {
	table := reference(t, "interop_channels.csv")
	for _, row := range table {
		c, ok := Interop(row["name"])
		require.True(t, ok, row["name"])
		assert.Equal(t, row["name"], c.Name)
		assert.Equal(t, mhz(row["mobile_rx_mhz"]), c.Rx, c.Name)
		assert.Equal(t, mhz(row["mobile_tx_mhz"]), c.Tx, c.Name)
		assert.Equal(t, row["use"] == "simplex", c.Direct, c.Name)
		assert.Equal(t, c.Direct, c.Rx == c.Tx, c.Name)
		assert.Equal(t, Origin{row["source"], row["how"]}, c.Origin, c.Name)
		assert.Contains(t, InteropByFrequency(c.Rx, c.Tx), c)
		assert.Equal(t, strings.Contains(row["rx_tone"], "disagree"), c.RxUnsure, c.Name)
		differ := strings.Contains(row["note"], "tone column differs") || strings.Contains(row["tx_tone"], "memory") ||
			strings.Contains(row["rx_tone"]+row["tx_tone"], "see disagreement")
		assert.Equal(t, differ, c.TxUnsure, c.Name)
		if c.TxUnsure { // no tone, or the one that the row names: never a third
			require.Len(t, c.TxTones, 2, c.Name)
			assert.True(t, c.TxTones[0].IsZero(), c.Name)
			assert.True(t, strings.HasPrefix(row["tx_tone"], c.TxTones[1].String()), c.Name)
			continue
		}
		digital := strings.HasPrefix(row["tx_tone"], "$")
		assert.Equal(t, digital, c.Mode == radio.Digital, c.Name)
		for _, tone := range c.TxTones {
			assert.Equal(t, strings.Replace(row["tx_tone"], "$", "N", 1), strings.Replace(tone.String(), "-", "CSQ", 1), c.Name)
		}
	}
	assert.Greater(t, len(interopChannels()), len(table), "direct channels are added")

	for name, want := range map[string]string{
		"vfire 21": "VFIRE21", "V FIRE 21": "VFIRE21", "airguard": "AIR GUARD", "ir 1": "IR1", "UCALL 40 D": "UCALL40D", "VFIRE-23": "VFIRE23", "IR-1": "IR1", "VTAC17d": "VTAC17D",
	} {
		c, ok := Interop(name)
		require.True(t, ok, name)
		assert.Equal(t, want, c.Name)
	}
	d, ok := Interop("7TAC51D")
	require.True(t, ok)
	assert.Equal(t, Channel{Name: "7TAC51D", Rx: 769_143_750, Tx: 769_143_750, Mode: radio.Digital, Direct: true, Origin: d.Origin}, d)
	for _, name := range []string{"VFIRE21D", "QB TAC 4", "", "D", "VFIRE2"} {
		_, ok := Interop(name)
		assert.False(t, ok, name)
	}

	// 169.5375 direct is IR5, and what D behind NC1 would be.
	var names []string
	for _, c := range InteropByFrequency(169_537_500, 169_537_500) {
		names = append(names, c.Name)
	}
	assert.Equal(t, []string{"IR5", "NC1D"}, names)
	assert.Empty(t, InteropByFrequency(152_412_500, 157_672_500))
}

// The grids hold what emissions.csv gives as checks, and every published
// frequency; they are from memory, so a warning is all that follows.
func TestRaster(t *testing.T) {
	for _, row := range reference(t, "emissions.csv") {
		switch row["item"] {
		case "VHF raster check":
			list := strings.TrimPrefix(row["value"], "adjacent interop pairs ")
			list, _, _ = strings.Cut(list, " ")
			for _, f := range strings.Split(list, "/") {
				assertOn(t, f, "public safety")
			}
		case "federal raster check":
			for _, f := range strings.Fields(row["value"]) {
				if !strings.Contains(f, ".") || len(f) < 8 {
					break
				}
				assertOn(t, f, "federal")
			}
		}
	}
	for _, c := range interopChannels() {
		assert.True(t, OnRaster(c.Rx), c.Name)
		assert.True(t, OnRaster(c.Tx), c.Name)
	}
	for _, f := range []string{"154.2650", "151.1375", "155.3400", "156.8000", "162.0125", "173.9875", "769.14375", "145.1234", "174.1234"} {
		assert.True(t, OnRaster(mhz(f)), f)
	}
	for f, want := range map[string][2]string{
		"154.2560": {"154.2500", "154.2575"},
		"154.2700": {"154.2650", "154.2725"},
		"168.6200": {"168.6125", "168.6250"},
		"155.3450": {"155.3400", "155.3475"},
	} {
		assert.False(t, OnRaster(mhz(f)), f)
		near := NearestRaster(mhz(f))
		assert.Equal(t, want, [2]string{near[0].String(), near[1].String()}, f)
	}
	assert.Equal(t, [2]radio.Hertz{154_265_000, 154_265_000}, NearestRaster(154_265_000))
}

func assertOn(t *testing.T, f, service string) {
	t.Helper()
	h := mhz(f)
	assert.True(t, OnRaster(h), f)
	for _, r := range Rasters() {
		if r.Service == service && h >= r.Low && h <= r.High && r.floor(h) == h {
			return
		}
	}
	t.Errorf("%s is not on the %s grid", f, service)
}

// Between the nearest two there is nothing on a grid.
func TestNearestRaster(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		h := radio.Hertz(rapid.Int64Range(150_000_000/500, 174_000_000/500).Draw(t, "h") * 500)
		near := NearestRaster(h)
		if OnRaster(h) {
			require.Equal(t, [2]radio.Hertz{h, h}, near)
			return
		}
		require.Less(t, near[0], h)
		require.Greater(t, near[1], h)
		for f := near[0] + 500; f < near[1]; f += 500 {
			onGrid := false
			for _, r := range rasters() {
				onGrid = onGrid || h >= r.Low && h <= r.High && r.floor(f) == f
			}
			require.False(t, onGrid, "%s lies nearer to %s", f, h)
		}
	})
}

func dcs(code int, inverted bool) radio.Squelch {
	return radio.Squelch{Kind: radio.DCS, Value: code, Inverted: inverted}
}

func sourceOf(t *testing.T, file, item string) string {
	t.Helper()
	for _, row := range reference(t, file) {
		if row["item"] == item {
			return row["source"]
		}
	}
	t.Fatalf("%s has no %q", file, item)
	return ""
}

func octal(t *testing.T, s string) int {
	t.Helper()
	n, err := strconv.ParseUint(s, 8, 9)
	require.NoError(t, err)
	return int(n)
}

func codes(cs []int) string {
	var words []string
	for _, c := range cs {
		words = append(words, fmt.Sprintf("%03o", c))
	}
	return strings.Join(words, " ")
}

// Channel n of 700 MHz is 6.25 kHz wide and begins 769 MHz + (n - 1) x 6.25 kHz
// (47 CFR 90.531(b), rev. 1 Oct 2008, GPO copy); a pair of them makes a channel of
// 12.5 kHz, its mobile side 960 channels above. The pairs of the air-to-ground
// families are from memory: none of them may be anybody else's.
func TestAirToGroundOf700MHz(t *testing.T) {
	taken := map[radio.Hertz]string{}
	for _, c := range interopChannels() {
		if !c.Direct && strings.HasPrefix(c.Name, "7") {
			assert.Empty(t, taken[c.Rx], c.Name)
			taken[c.Rx] = c.Name
		}
	}
	for name, n := range map[string]int{
		"7AG58": 21, "7AG60": 101, "7AG67": 181, "7AG68": 261, "7AG78": 659, "7AG80": 739, "7AG85": 819, "7AG88": 899,
	} {
		c, ok := Interop(name)
		require.True(t, ok, name)
		assert.Equal(t, 769_000_000+radio.Hertz(n)*6250, c.Rx, name)
		assert.Equal(t, c.Rx+960*6250*5, c.Tx, name)
		assert.Equal(t, radio.Digital, c.Mode, name)
		assert.True(t, c.Remembered(), name)
	}
}

// 47 CFR 80.313 keeps 156.7625 to 156.8375 MHz for distress; weather is broadcast on
// 162.400 to 162.550; 121.5 and 243 MHz are the emergency frequencies of aviation.
// All secondary, as quoted.
func TestKeptClear(t *testing.T) {
	for f, want := range map[string]string{
		"156.8000": "maritime distress and calling", "156.7625": "maritime distress and calling", "156.8375": "maritime distress and calling",
		"162.4000": "weather broadcasts", "162.5500": "weather broadcasts",
		"121.5000": "aviation emergency", "243.0000": "aviation emergency",
		"156.7500": "", "156.8500": "", "162.3750": "", "162.5625": "", "168.6250": "",
	} {
		kept, ok := KeptClear(mhz(f))
		assert.Equal(t, want, kept.For, f)
		assert.Equal(t, want != "", ok, f)
	}
}

// The repeated channels of the guide stand the right way round in the band plans,
// and reversed the wrong way.
func TestPairReversed(t *testing.T) {
	n := 0
	for _, c := range interopChannels() {
		if _, reversed := PairReversed(c.Rx, c.Tx); assert.False(t, reversed, c.Name) && c.Rx > 450_000_000 && !c.Direct {
			_, reversed = PairReversed(c.Tx, c.Rx)
			assert.True(t, reversed, c.Name)
			n++
		}
	}
	assert.Greater(t, n, 40)
	_, reversed := PairReversed(157_672_500, 152_412_500)
	assert.False(t, reversed, "VHF has no plan of pairs")
}
