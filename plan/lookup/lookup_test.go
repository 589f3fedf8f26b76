package lookup_test

import (
	"fmt"
	"os"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"slotcard/plan"
	"slotcard/plan/lookup"
	"slotcard/plan/radio"
)

func load(t testing.TB, name string) *plan.Load {
	t.Helper()
	l, found, err := plan.ReadLoad(name, plan.Options{ReadFile: os.ReadFile})
	require.NoError(t, err)
	require.False(t, found.HasErrors(), found)
	return l
}

func example(t testing.TB) *lookup.Index {
	return lookup.New(load(t, "../../examples/thimble-gulch/load.toml"))
}

func said(hits []lookup.Hit) string {
	var out []string
	for _, h := range hits {
		s := h.Channel.Place() + " " + h.Channel.Name
		if h.Why != "" {
			s += ": " + h.Why
		}
		out = append(out, s)
	}
	return strings.Join(out, "\n")
}

// What people type, and what they meant. The channels are those of the example.
func TestFind(t *testing.T) {
	x := example(t)
	for _, c := range []struct{ query, exact, near string }{
		{"QB CMD 1", "1-01 QB CMD 1", ""},
		{"  qb   cmd 1 ", "1-01 QB CMD 1", ""},
		{"qbcmd1", "1-01 QB CMD 1", ""},
		{"VFIRE 21", "2-01 VFIRE21", ""},
		{"VMED", "2-12 VMED28\n2-13 VMED29", ""},
		{"QB TRAV", "3-04 QB TRAV 27\n3-05 QB TRAV B", ""},
		{"QB TRAV B", "3-05 QB TRAV B", ""},
		{"1 VFIRE", "", "2-01 VFIRE21: all but 1\n2-02 VFIRE22: all but 1\n2-03 VFIRE23: all but 1\n2-04 VFIRE24: all but 1\n2-05 VFIRE25: all but 1\n2-06 VFIRE26: all but 1"},
		{"154.2800", "2-01 VFIRE21", "2-04 VFIRE24: 7.5 kHz below\n2-05 VFIRE25: 7.5 kHz above"},
		{"154,28 MHz tactical", "2-01 VFIRE21", "2-04 VFIRE24: 7.5 kHz below\n2-05 VFIRE25: 7.5 kHz above"},
		{"154.256", "", "2-02 VFIRE22: two digits swapped"},
		{"155.3344", "", "2-12 VMED28: 5.6 kHz above"},
		{"VFIRE21 154.2950", "", "2-01 VFIRE21: all but 154.2950\n2-03 VFIRE23: all but VFIRE21"},
		{"155.3400", "2-12 VMED28", "2-13 VMED29: 7.5 kHz above"},
		{"155.5334", "", "1-07 QB TAC 4: 1.6 kHz above"},
		{"1533.5375", "", "3-04 QB TRAV 27: a digit doubled"},
		{"168.25", "", "1-16 AIRGUARD: a digit left out"},
		{"1686250", "", "1-16 AIRGUARD: with a decimal point it is 168.6250"},
		{"151.9", "", "6-01 CL CMD 1: begins with 151.9"},
		{"158.3700", "6-01 CL CMD 1: 158.3700 is its transmit frequency", ""},
		{"158.3070", "", "1-09 QB TAC 6: 4.5 kHz below\n6-01 CL CMD 1: transmit: two digits swapped"},
		{"151.1375", "2-08 VTAC11\n2-14 VTAC36", ""},
		{"VTAC11", "2-08 VTAC11", "2-14 VTAC36: also receives on 151.1375; transmit and transmit tone differ"},
		{"152.4125/157.6725", "1-01 QB CMD 1", ""},
		{"157.6725/152.4125", "", "1-01 QB CMD 1: receive and transmit exchanged"},
		{"152.4215/157.6725", "", "1-01 QB CMD 1: receive: two digits swapped"},
		{"152.4125/157.6000", "", "1-01 QB CMD 1: receive fits, transmit is another"},
		{"153.9999/158.1075", "", "1-03 QB CMD 3: transmit fits, receive is another"},
		{"tone 4", "1-01 QB CMD 1\n3-02 QB CAMP", ""},
		{"146.2", "1-01 QB CMD 1\n3-02 QB CAMP", ""},
		{"146.2 command", "1-01 QB CMD 1", ""},
		{"tone 164.2", "", "1-01 QB CMD 1: tone 146.2: two digits swapped\n3-02 QB CAMP: tone 146.2: two digits swapped"},
		{"tone 99", "", ""},
		{"103.5/146.2", "1-01 QB CMD 1\n3-02 QB CAMP", ""},
		{"D131", "3-03 QB LOG", ""},
		{"d131/D131", "3-03 QB LOG", ""},
		{"$2C1", "4-01 OF CMD 1\n4-02 OF CMD 2", ""},
		{"N2C1 OF CMD 2", "4-02 OF CMD 2", ""},
		{"3-7", "3-07 QB SUP 2", ""},
		{"5-12", "5-12 QB CMD 1", ""},
		{"9-12", "", ""},
		{"group 5 command", "5-01 HM CMD 1\n5-02 HM CMD 2\n5-03 HM CMD 3\n5-12 QB CMD 1", ""},
		{"group 3 channel 16", "3-16 AIRGUARD", ""},
		{"group highmark guard", "5-16 AIRGUARD", ""},
		{"Hobnail", "1-02 QB CMD 2\n5-01 HM CMD 1", ""},
		{"site hobnail QB", "1-02 QB CMD 2", ""},
		{"guard", "1-16 AIRGUARD", ""},
		{"A/G group 1", "1-12 QB AG 1\n1-13 QB AG 2", ""},
		{"repeated digital", "4-01 OF CMD 1\n4-02 OF CMD 2", ""},
		{"weather", "3-11 QB WX", ""},
		{"dispatch", "3-10 QB DISP", ""},
		{"AIRGAURD", "", "1-16 AIRGUARD: the name is close"},
		{"154.2650 command", "", "2-02 VFIRE22: all but command"},
		{"1 CMD QB CMD 1 152.4125/157.6725 103.5/146.2", "1-01 QB CMD 1", ""},
		{"5 GUARD AIRGUARD 168.6250 -/110.9", "1-16 AIRGUARD", ""},
		{"=J2MX", "", ""},
		{"frobnicate", "", ""},
		{strings.Repeat("x", 10_000), "", ""},
	} {
		a := x.Find(c.query)
		assert.Equal(t, c.exact, said(a.Exact), "%q exact", c.query)
		assert.Equal(t, c.near, said(a.Near), "%q near", c.query)
		assert.Equal(t, c.exact != "", a.Found(), c.query)
	}
	assert.Empty(t, x.Find(" ").Query)
}

func TestNotes(t *testing.T) {
	x := example(t)
	for query, want := range map[string]string{
		"tone 4":     "tone 4 is 146.2 and opens Bellwether",
		"tone 99":    "the load has no tone 99; it has 1 to 16",
		"tone 67.0":  "no channel or site of the load has tone 67.0",
		"group 3":    "group 3 is Road and camp",
		"group 9":    "the load has no group 9; it has 1 to 6",
		"1-99":       "group 1 has no channel 99; it has 1 to 16",
		"5-14":       "group 5 has no channel 14; it has 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 16",
		"Lantern":    "Lantern is opened by tone 12, 203.5",
		"site zzz":   "",
		"site thorn": "Thornback is opened by tone 2, 127.3",
	} {
		assert.Equal(t, want, strings.Join(x.Find(query).Notes, "\n"), query)
	}
}

func TestEdition(t *testing.T) {
	a := example(t).Find("Edition")
	require.NotNil(t, a.Edition)
	assert.True(t, a.Found())
	assert.Equal(t, "3-04 QB TRAV 27", said(a.Edition.Marks))
	assert.Equal(t, "orange 2027 2027-03-01 2028-03-31", fmt.Sprint(a.Edition.About.Colour, " ", a.Edition.About.Edition, " ", a.Edition.About.Effective, " ", a.Edition.About.Expires))
}

// Two channels on one frequency are both found, and marked where they differ.
func TestSameFrequencyOtherTones(t *testing.T) {
	l := &plan.Load{Groups: []*plan.Group{{Number: 1, Name: "Local"}}}
	add := func(name string, rxTone, txTone radio.Squelch) {
		g := l.Groups[0]
		g.Channels = append(g.Channels, &plan.Channel{Number: len(g.Channels) + 1, Name: name, Use: radio.Support,
			Rx: 155_535_000, Tx: 155_535_000, RxTone: rxTone, TxTone: txTone, Group: g})
	}
	add("QB LOCAL", radio.Squelch{}, radio.Squelch{})
	add("QB LOCAL", radio.Tone(1188), radio.Squelch{})
	add("QB RESCUE", radio.Squelch{}, radio.Tone(1799))
	x := lookup.New(l)
	a := x.Find("155.535")
	require.Equal(t, "1-01 QB LOCAL\n1-02 QB LOCAL\n1-03 QB RESCUE", said(a.Exact))
	for _, h := range a.Exact {
		assert.Equal(t, []string{lookup.ReceiveTone, lookup.TransmitTone}, h.Differs)
	}
	a = x.Find("rescue")
	assert.Equal(t, "1-03 QB RESCUE", said(a.Exact))
	assert.Equal(t, "1-01 QB LOCAL: also receives on 155.5350; transmit tone differs\n"+
		"1-02 QB LOCAL: also receives on 155.5350; receive tone and transmit tone differ", said(a.Near))
}

// Whatever is asked, nothing panics, nothing is found twice, and what is exact
// is not near as well.
func TestFindAnything(t *testing.T) {
	x := example(t)
	word := rapid.OneOf(
		rapid.SampledFrom([]string{"QB", "VFIRE21", "tone", "group", "channel", "site", "5", "3-7", "154.28", "/", "-/", "154.28/", "$", "$293", "D", "Bellwether", "tactical", "edition", "MHz"}),
		rapid.StringMatching(`[0-9.,/-]{0,9}`), rapid.String(),
	)
	rapid.Check(t, func(rt *rapid.T) {
		query := strings.Join(rapid.SliceOfN(word, 0, 4).Draw(rt, "words"), " ")
		a := x.Find(query)
		seen := map[*plan.Channel]bool{}
		for i, h := range append(append([]lookup.Hit{}, a.Exact...), a.Near...) {
			require.False(rt, seen[h.Places[0]])
			seen[h.Places[0]] = true
			require.Contains(rt, h.Places, h.Channel)
			if i >= len(a.Exact) {
				require.NotEmpty(rt, h.Why)
			}
		}
	})
}

// Every channel of the example is found by each of its own properties.
func TestEveryChannelIsFound(t *testing.T) {
	x := example(t)
	for _, c := range x.Load().Channels() {
		queries := []string{c.Name, strings.ToLower(c.Name), c.Place(), fmt.Sprintf("group %d channel %d", c.Group.Number, c.Number)}
		if !c.Trunked() {
			queries = append(queries, c.Rx.String(), c.Tx.String(), c.Rx.String()+"/"+c.Tx.String(), c.Name+" "+c.Rx.String())
		}
		for _, q := range queries {
			found := false
			for _, h := range x.Find(q).Exact {
				for _, p := range h.Places {
					found = found || p == c
				}
			}
			assert.True(t, found, "%s by %q", c, q)
		}
	}
}

// large is a load of 2,000 channels in 50 groups.
func large() *plan.Load {
	l := &plan.Load{}
	for g := 1; g <= 50; g++ {
		group := &plan.Group{Number: g, Name: fmt.Sprintf("Region %d", g)}
		for n := 1; n <= 40; n++ {
			f := radio.Hertz(150_000_000 + (g*40+n)*7_500)
			group.Channels = append(group.Channels, &plan.Channel{Number: n, Name: fmt.Sprintf("QB %c%c %d", 'A'+g%26, 'A'+n%26, g*40+n),
				Use: radio.Tactical, Rx: f, Tx: f, TxTone: radio.Tone(1567), Group: group})
		}
		l.Groups = append(l.Groups, group)
	}
	return l
}

func BenchmarkNew(b *testing.B) {
	l := large()
	for b.Loop() {
		lookup.New(l)
	}
}

func BenchmarkFind(b *testing.B) {
	x := lookup.New(large())
	for _, query := range []string{"QB NC 1200", "159.256", "159.265/159.265", "156.7", "QC NB 1021", "group 17 tactical"} {
		b.Run(strings.ReplaceAll(query, " ", "_"), func(b *testing.B) {
			for b.Loop() {
				x.Find(query)
			}
		})
	}
}

// Not a limit that a slow machine could break: only that nothing is quadratic.
func TestFindInALargeLoadEnds(t *testing.T) {
	x := lookup.New(large())
	start := time.Now()
	for range 20 {
		x.Find("QB XX 9999999")
	}
	t.Logf("%v a question", time.Since(start)/20)
	assert.True(t, x.Find("50-40").Found())
}
