package spectrum

import (
	"encoding/csv"
	"fmt"
	"os"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"slotcard/plan/radio"
)

// reference reads a table of testdata: item, then value; source and how it is
// known stand beside each value there.
func reference(t *testing.T, name string) map[string]string {
	t.Helper()
	f, err := os.Open("../../testdata/" + name)
	require.NoError(t, err)
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	require.NoError(t, err)
	out := map[string]string{}
	for _, row := range rows[1:] {
		out[row[0]] = row[1]
	}
	return out
}

// All fifteen examples of 47 CFR 2.202(b)(3) (revisions of 2013 and 2015,
// republished; secondary).
func TestDesignatorExamples(t *testing.T) {
	example := regexp.MustCompile(`^2\.202\(b\)\(3\) example ([0-9.]+) ([kMG]?)Hz$`)
	n := 0
	for item, want := range reference(t, "emissions.csv") {
		m := example.FindStringSubmatch(item)
		if m == nil {
			continue
		}
		hz, err := strconv.ParseFloat(m[1], 64)
		require.NoError(t, err)
		hz *= map[string]float64{"": 1, "k": 1e3, "M": 1e6, "G": 1e9}[m[2]]
		assert.Equal(t, want, designator(hz), item)
		n++
	}
	assert.Equal(t, 15, n)
}

func TestDesignatorEdges(t *testing.T) {
	for hz, want := range map[float64]string{
		0.001: "H001", 0.999: "H999", 0.9999: "1H00", 999.4: "999H", 999.6: "1K00", 9.995: "10H0", 1: "1H00",
		999499999999: "999G", 999.5e9: "", 0: "", 0.0004: "", -5: "",
	} {
		assert.Equal(t, want, designator(hz), hz)
	}
}

// Read back, a designator is the bandwidth to three figures, and it never
// begins with 0, K, M or G (47 CFR 2.202(b)(1), read).
func TestDesignatorReadsBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		hz := float64(rapid.Int64Range(1, 999_000_000_000).Draw(t, "hz"))
		d := designator(hz)
		require.Len(t, d, 4)
		require.NotContains(t, "0KMG", d[:1])
		at := strings.IndexAny(d, "HKMG")
		v, err := strconv.ParseFloat(strings.Replace(d, d[at:at+1], ".", 1), 64)
		require.NoError(t, err)
		v *= map[byte]float64{'H': 1, 'K': 1e3, 'M': 1e6, 'G': 1e9}[d[at]]
		require.InEpsilon(t, hz, v, 0.0051)
	})
}

// emissions.csv: worked examples of ITU-R SM.1138 and the Radio Regulations
// (secondary), 11K0F3E and 11K2F3E (computed).
func TestNecessaryBandwidth(t *testing.T) {
	numbers := regexp.MustCompile(`M (\d+), D (\d+).*?-> (\d+),(\d+)`)
	table := reference(t, "emissions.csv")
	for _, item := range []string{"worked example 16K0F3E", "worked example 1947", "11K0F3E", "11K2F3E", "20K0F3E"} {
		m := numbers.FindStringSubmatch(table[item])
		require.NotNil(t, m, item)
		n := func(s string) radio.Hertz {
			v, err := strconv.ParseInt(s, 10, 64)
			require.NoError(t, err)
			return radio.Hertz(v)
		}
		assert.Equal(t, n(m[3]+m[4]), fm(n(m[1]), n(m[2])), item)
		if strings.HasSuffix(item, "F3E") && !strings.Contains(item, " ") {
			assert.Equal(t, item, designator(float64(fm(n(m[1]), n(m[2]))))+"F3E")
		}
	}
	assert.Contains(t, table, "8K10F1E")
	for _, c := range []struct {
		mode      radio.Mode
		width     radio.Width
		bandwidth radio.Hertz
		emissions []string
	}{
		{radio.Analog, radio.Narrow, 11_000, []string{"11K0F3E"}},
		{radio.Analog, radio.Wide, 16_000, []string{"16K0F3E"}},
		{radio.Digital, radio.Narrow, 8_100, []string{"8K10F1E"}},
		{radio.Digital, radio.Wide, 8_100, []string{"8K10F1E"}},
		{radio.Mixed, radio.Narrow, 11_000, []string{"11K0F3E", "8K10F1E"}},
		{radio.Mixed, radio.Wide, 16_000, []string{"16K0F3E", "8K10F1E"}},
	} {
		assert.Equal(t, c.bandwidth, Bandwidth(c.mode, c.width))
		assert.Equal(t, c.emissions, Emissions(c.mode, c.width))
	}
	// A narrow signal fits the 11.25 kHz that the rules authorize, a wide one 20 kHz.
	assert.Contains(t, table["90.209(b)(5) 150-174 MHz"], "20 / 11.25 / 6 kHz")
	assert.LessOrEqual(t, Bandwidth(radio.Mixed, radio.Narrow), radio.Hertz(11_250))
	assert.LessOrEqual(t, Bandwidth(radio.Mixed, radio.Wide), radio.Hertz(20_000))
}

// vfire reads the six national fire tacticals from the reference table (NIFOG
// 2.02 through a transcription; secondary), in order of their names.
func vfire(t *testing.T) (names []string, list []Channel) {
	t.Helper()
	f, err := os.Open("../../testdata/interop_channels.csv")
	require.NoError(t, err)
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	require.NoError(t, err)
	for _, row := range rows {
		if strings.HasPrefix(row[0], "VFIRE") {
			h, err := radio.ParseMHz(row[1])
			require.NoError(t, err)
			names = append(names, row[0])
			list = append(list, Channel{Rx: h, Tx: h, Use: radio.Tactical})
		}
	}
	require.Len(t, names, 6)
	return names, list
}

// The six national fire tacticals, 7.5 kHz apart: overlaps and third-order
// products, once by the program, once by plain loops, and as a table for people
// to read.
func TestFireTacticals(t *testing.T) {
	names, list := vfire(t)

	var got, want, third []string
	for i := range list {
		for j := i + 1; j < len(list); j++ {
			if o := overlap(list[i].Receive(), list[j].Receive()); o > 0 {
				got = append(got, fmt.Sprintf("%s %s %d", names[i], names[j], o))
			}
			// Two signals of 11 kHz share what 11 kHz exceeds their distance by.
			d := int64(list[i].Rx - list[j].Rx)
			if d < 0 {
				d = -d
			}
			if d < 11000 {
				want = append(want, fmt.Sprintf("%s %s %d", names[i], names[j], 11000-d))
			}
		}
	}
	assert.Equal(t, want, got)
	assert.Equal(t, []string{
		"VFIRE21 VFIRE24 3500", "VFIRE21 VFIRE25 3500", "VFIRE22 VFIRE24 3500", "VFIRE23 VFIRE25 3500", "VFIRE23 VFIRE26 3500",
	}, got, "silent for VFIRE21 with VFIRE22")

	for _, h := range ThirdOrder(list) {
		third = append(third, describe(h))
	}
	var plain []string
	for v, victim := range list {
		for a, f1 := range list {
			for b, f2 := range list {
				if a != b && a != v && b != v && abs(2*f1.Tx-f2.Tx-victim.Rx) <= 6250 {
					plain = append(plain, describe(Hit{v, []int{a, b}, 2*f1.Tx - f2.Tx, 2*f1.Tx - f2.Tx - victim.Rx}))
				}
				for c, f3 := range list {
					if a < b && a != c && b != c && v != a && v != b && v != c && abs(f1.Tx+f2.Tx-f3.Tx-victim.Rx) <= 6250 {
						plain = append(plain, describe(Hit{v, []int{a, b, c}, f1.Tx + f2.Tx - f3.Tx, f1.Tx + f2.Tx - f3.Tx - victim.Rx}))
					}
				}
			}
		}
	}
	assert.ElementsMatch(t, plain, third)

	// By frequency the six stand 0 to 5 steps of 7.5 kHz up. Nothing but exact
	// hits can lie within 6.25 kHz, so the counts are those of whole numbers.
	two := 0
	for _, h := range ThirdOrder(list) {
		assert.Zero(t, h.Off)
		if h.Signals() == 2 {
			two++
		}
	}
	assert.Equal(t, 12, two, "2a - b = v with a, b, v of 0 to 5: 12 progressions")
	assert.Equal(t, 28, len(third)-two, "a + b = c + v: sums 3, 4, 6, 7 of two pairs, 5 of three: 2 x (4 x 2 + 6)")
}

func abs(h radio.Hertz) radio.Hertz {
	if h < 0 {
		return -h
	}
	return h
}

func describe(h Hit) string {
	return fmt.Sprintf("%v -> %d at %s (%d)", h.Transmitters, h.Victim, h.Product, h.Off)
}

// radio_worked.csv: an examination question (ISED A-005-006-004, secondary), and
// arithmetic on the channel table (computed).
func TestWorkedProducts(t *testing.T) {
	table := reference(t, "radio_worked.csv")
	require.Contains(t, table["worked example A"], "2x146.52-146.34=146.70")
	assert.Equal(t, radio.Hertz(146_700_000), twoSignal(146_520_000, 146_340_000))
	assert.Equal(t, radio.Hertz(146_700_000), twoSignal(146_610_000, 146_520_000))
	require.Contains(t, table["worked example B"], "100 and 101 MHz -> 99 and 102 MHz")
	assert.Equal(t, radio.Hertz(99_000_000), twoSignal(100_000_000, 101_000_000))
	assert.Equal(t, radio.Hertz(102_000_000), twoSignal(101_000_000, 100_000_000))
	require.Contains(t, table["three-signal worked example"], "154.2650 + 154.2950 - 154.2800 = 154.2800")
	assert.Equal(t, radio.Hertz(154_280_000), threeSignal(154_265_000, 154_295_000, 154_280_000))
	require.Contains(t, table["two-signal on evenly spaced"], "2 x 154.2725 - 154.2650 = 154.2800")
	assert.Equal(t, radio.Hertz(154_280_000), twoSignal(154_272_500, 154_265_000))
	require.Contains(t, table["three-signal"], "6 dB above")

	// The question as a list: receiver on 146.70, transmitters on the other two.
	hits := ThirdOrder([]Channel{{Rx: 146_700_000}, {Tx: 146_520_000}, {Tx: 146_340_000}})
	assert.Equal(t, []Hit{{Victim: 0, Transmitters: []int{1, 2}, Product: 146_700_000}}, hits)
}

func TestRanking(t *testing.T) {
	list := []Channel{
		{Rx: 154_280_000, Use: radio.Support}, // 0: 2f1 - f2
		{Tx: 154_270_000},                     // 1
		{Tx: 154_260_000},                     // 2
		{Rx: 154_250_000, Use: radio.Guard, Mode: radio.Digital}, // 3: 2f2 - f1
		{Tx: 154_200_000},                                         // 4
		{Rx: 154_330_000, Use: radio.Command},                     // 5: f1 + f2 - f4
		{Rx: 154_281_000, Use: radio.Tactical, Width: radio.Wide}, // 6: near 0
		{Rx: 154_251_000, Tx: 154_270_000, Use: radio.Command},    // 7: transmits with 1, so no victim of it
		{Use: radio.Support},                                      // 8: a talkgroup takes no part
	}
	hits := ThirdOrder(list)
	require.NotEmpty(t, hits)
	var two []int
	for i, h := range hits {
		if h.Signals() == 2 {
			two = append(two, h.Victim)
			require.Equal(t, len(two), i+1, "two-signal products first")
		}
	}
	assert.Equal(t, []int{3, 0, 6}, two, "guard first, then the nearest")
	assert.Equal(t, Hit{Victim: 5, Transmitters: []int{1, 2, 4}, Product: 154_330_000}, hits[3])
	assert.Equal(t, hits, ThirdOrder(list), "same each time")
}

// Against a plain search in random lists.
func TestThirdOrderAgainstPlainLoops(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		frequency := rapid.Custom(func(t *rapid.T) radio.Hertz {
			return 154_000_000 + radio.Hertz(rapid.IntRange(0, 30).Draw(t, "step"))*2500
		})
		list := rapid.SliceOfN(rapid.Custom(func(t *rapid.T) Channel {
			c := Channel{Rx: frequency.Draw(t, "rx"), Use: radio.Use(rapid.IntRange(1, 7).Draw(t, "use")), Width: radio.Width(rapid.IntRange(0, 1).Draw(t, "width"))}
			if c.Tx = c.Rx; rapid.Bool().Draw(t, "repeated") {
				c.Tx = frequency.Draw(t, "tx")
			}
			return c
		}), 0, 8).Draw(t, "list")
		type key struct{ product, victim radio.Hertz }
		want := map[key]bool{}
		for _, f1 := range list {
			for _, f2 := range list {
				for _, f3 := range list {
					for _, v := range list {
						if f1.Tx == f3.Tx || f2.Tx == f3.Tx || v.Tx == f1.Tx || v.Tx == f2.Tx || v.Tx == f3.Tx {
							continue
						}
						p := f1.Tx + f2.Tx - f3.Tx
						if abs(p-v.Rx) <= spacing(v.Width)/2 {
							want[key{p, v.Rx}] = true
						}
					}
				}
			}
		}
		got := map[key]bool{}
		for _, h := range ThirdOrder(list) {
			got[key{h.Product, list[h.Victim].Rx}] = true
			require.Equal(t, h.Product, list[h.Victim].Rx+h.Off)
		}
		require.Equal(t, want, got)
	})
}

func TestOverlap(t *testing.T) {
	for _, c := range []struct {
		a, b Signal
		want radio.Hertz
	}{
		{Signal{154_280_000, 11_000}, Signal{154_287_500, 11_000}, 3_500},
		{Signal{154_280_000, 11_000}, Signal{154_291_000, 11_000}, 0},
		{Signal{154_280_000, 11_000}, Signal{154_280_000, 8_100}, 8_100},
		{Signal{154_280_000, 16_000}, Signal{154_281_000, 8_100}, 8_100},
		{Signal{0, 11_000}, Signal{0, 11_000}, 0},
	} {
		assert.Equal(t, c.want, overlap(c.a, c.b))
		assert.Equal(t, c.want, overlap(c.b, c.a))
	}
}

func TestNearby(t *testing.T) {
	command := Channel{Rx: 152_412_500, Tx: 157_672_500}
	input := Channel{Rx: 157_672_500, Tx: 157_672_500}
	beside := Channel{Rx: 157_680_000, Tx: 157_680_000}
	far := Channel{Rx: 158_172_500, Tx: 158_172_500}
	farther := Channel{Rx: 158_172_501, Tx: 158_172_501}
	second := Channel{Rx: 155_000_000, Tx: 157_672_500}

	assert.True(t, HearsInput(command, input))
	assert.True(t, HearsInput(command, beside), "next to it")
	assert.False(t, HearsInput(input, command), "a direct channel has no repeater")
	assert.False(t, HearsInput(command, far))

	assert.Zero(t, Clash(command, input))
	assert.Equal(t, radio.Hertz(3_500), Clash(input, beside))
	assert.Equal(t, radio.Hertz(11_000), Clash(command, second), "two repeaters that listen on one frequency")
	assert.Zero(t, Clash(Channel{}, Channel{}))

	for _, c := range []struct {
		a, b  Channel
		apart radio.Hertz
		deaf  bool
	}{
		{command, far, 500_000, true},
		{far, command, 500_000, true},
		{command, farther, 500_001, false},
		{input, beside, 7_500, true},
		{Channel{Rx: 157_672_500}, Channel{Rx: 157_672_500}, 500_001, false}, // nobody transmits
		{Channel{}, command, 500_001, false},
	} {
		apart, deaf := Desense(c.a, c.b)
		assert.Equal(t, c.apart, apart)
		assert.Equal(t, c.deaf, deaf)
	}
}

func BenchmarkThirdOrder(b *testing.B) {
	var list []Channel
	for i := range 16 {
		h := 151_000_000 + radio.Hertz(i*i*7500)
		list = append(list, Channel{Rx: h, Tx: h})
	}
	for b.Loop() {
		ThirdOrder(list)
	}
}
