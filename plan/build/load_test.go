package build_test

import (
	"fmt"
	"os"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"slotcard/plan"
	"slotcard/plan/build"
)

// inBraces is a load as import writes it, a channel a line.
const inBraces = `# A load.
[load]
name = "Quillback Range cooperators" # whose
edition = "2027"
color = "orange"
effective = 2027-03-01
expires = 2028-03-31

[radio]
list_positions = 16
name_length = 10
bands = [[136.0, 174.0]]
modes = ["analog"]

[[tone]]
number = 4
hz = 146.2

[[site]]
name = "Bellwether"
tone = 4
channels = ["QB CMD 1", "QB CMD 2"]

[[group]]
number = 1
name = "Local"
channel = [
  # command
  {number = 1, name = "QB CMD 1", use = "command",  rx = 152.4125, tx = 157.6725, rx_tone = 103.5, tx_tone = "site"}, # north
  {number = 2, name = "QB CMD 2", use = "command",  rx = 152.5000, tx = 157.7725, rx_tone = 103.5, tx_tone = "site"},
  # tactical
  {number = 3, name = "QB TAC 1", use = "tactical", rx = 153.7400}, # the valley
  {number = 16, name = "AIRGUARD", use = "guard", rx = 168.6250, tx_tone = 110.9}
]

[[group]]
number = 2
name = "Other"
channel = [{number = 1, name = "QB TAC 1", use = "tactical", rx = 153.74}, {number = 16, name = "AIRGUARD", use = "guard", rx = 168.6250, tx_tone = 110.9}]
`

func openLoad(t require.TestingT, text string) *build.LoadWork {
	w, err := build.OpenLoad("load.toml", []byte(text))
	require.NoError(t, err)
	return w
}

func TestLoadInBraces(t *testing.T) {
	text := func(n int, change func(c *build.ChannelText)) build.ChannelText {
		c := build.TextOf(openLoad(t, inBraces).Load().Channels()[n])
		change(&c)
		return c
	}
	for name, c := range map[string]struct {
		do       func(w *build.LoadWork) error
		replaced []string
	}{
		"a name, at its site too": {func(w *build.LoadWork) error {
			return w.SetChannel(0, text(0, func(c *build.ChannelText) { c.Name = "QB CMD A" }), false)
		}, []string{`"QB CMD 1", use`, `"QB CMD A", use`, `["QB CMD 1"`, `["QB CMD A"`}},
		"a use, in both places": {func(w *build.LoadWork) error {
			return w.SetChannel(2, text(2, func(c *build.ChannelText) { c.Use, c.TxTone = "support", "tone 4" }), true)
		}, []string{`{number = 3, name = "QB TAC 1", use = "tactical", rx = 153.7400}`, `{number = 3, name = "QB TAC 1", use = "support", rx = 153.7400, tx_tone = 146.2}`,
			`{number = 1, name = "QB TAC 1", use = "tactical", rx = 153.74}`, `{number = 1, name = "QB TAC 1", use = "support", rx = 153.74, tx_tone = 146.2}`}},
		"moved, with its remark": {func(w *build.LoadWork) error { return w.MoveChannel(0, 1) }, []string{
			`  {number = 1, name = "QB CMD 1", use = "command",  rx = 152.4125, tx = 157.6725, rx_tone = 103.5, tx_tone = "site"}, # north
  {number = 2, name = "QB CMD 2", use = "command",  rx = 152.5000, tx = 157.7725, rx_tone = 103.5, tx_tone = "site"},
`, `  {number = 1, name = "QB CMD 2", use = "command",  rx = 152.5000, tx = 157.7725, rx_tone = 103.5, tx_tone = "site"},
  {number = 2, name = "QB CMD 1", use = "command",  rx = 152.4125, tx = 157.6725, rx_tone = 103.5, tx_tone = "site"}, # north
`}},
		"deleted, and from its site": {func(w *build.LoadWork) error { return w.DeleteChannel(1) }, []string{
			`  {number = 2, name = "QB CMD 2", use = "command",  rx = 152.5000, tx = 157.7725, rx_tone = 103.5, tx_tone = "site"},
`, "", `, "QB CMD 2"]`, `]`}},
		"added where its number belongs": {func(w *build.LoadWork) error {
			n, err := w.AddChannel(0, build.ChannelText{Number: strconv.Itoa(w.FreeNumber(0)), Name: "QB TAC 2", Use: "tactical", Rx: "154.95", Tx: "154.95"})
			assert.Equal(t, 3, n)
			return err
		}, []string{`# the valley
`, `# the valley
  { number = 4, name = "QB TAC 2", use = "tactical", rx = 154.9500 },
`, `tx_tone = 110.9}
]`, `tx_tone = 110.9},
]`}},
	} {
		w := openLoad(t, inBraces)
		require.NoError(t, c.do(w), name)
		want := inBraces
		for i := 0; i < len(c.replaced); i += 2 {
			require.Contains(t, want, c.replaced[i], name)
			want = strings.Replace(want, c.replaced[i], c.replaced[i+1], 1)
		}
		assert.Equal(t, want, string(w.Text()), name)
	}
}

// Whatever is done to a load, in either way of writing it, the file holds what a model
// says, and can be read.
func TestLoadEdits(t *testing.T) {
	example, err := os.ReadFile("../../examples/thimble-gulch/load.toml")
	require.NoError(t, err)
	headed, _, _ := strings.Cut(string(example), "\n# Group 2") // fewer groups are as good
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.SampledFrom([]string{inBraces, headed}).Draw(t, "load")
		w := openLoad(t, text)
		var model [][]build.ChannelText
		for _, g := range w.Load().Groups {
			var all []build.ChannelText
			for _, c := range g.Channels {
				all = append(all, build.TextOf(c))
			}
			model = append(model, all)
		}
		find := func(n int) (g, i int) {
			for g = range model {
				if n < len(model[g]) {
					return g, n
				}
				n -= len(model[g])
			}
			return -1, -1
		}
		total := func() (n int) {
			for _, g := range model {
				n += len(g)
			}
			return n
		}
		any := func(t *rapid.T) int { return rapid.IntRange(0, total()-1).Draw(t, "channel") }
		channel := func(t *rapid.T, number string) build.ChannelText {
			c := build.ChannelText{
				Number: number, Name: rapid.StringMatching(`[A-Z]{2} [A-Z]{3} [0-9]`).Draw(t, "name"), Use: rapid.SampledFrom([]string{"command", "tactical", "support"}).Draw(t, "use"),
				Rx: rapid.SampledFrom([]string{"154.2800", "151.1375"}).Draw(t, "rx"), Tx: rapid.SampledFrom([]string{"", "159.4725"}).Draw(t, "tx"),
				RxTone: rapid.SampledFrom([]string{"", "146.2", "D023"}).Draw(t, "rx_tone"), TxTone: rapid.SampledFrom([]string{"", "site", "156.7"}).Draw(t, "tx_tone"),
				Mode: rapid.SampledFrom([]string{"analog", "digital"}).Draw(t, "mode"), Width: rapid.SampledFrom([]string{"narrow", "wide"}).Draw(t, "width"),
				ReceiveOnly: rapid.Bool().Draw(t, "receive only"), Remarks: rapid.SampledFrom([]string{"", `a "remark" # here`}).Draw(t, "remarks"),
			}
			return c
		}
		t.Repeat(map[string]func(*rapid.T){
			"": func(t *rapid.T) {
				for g, all := range model {
					for i, want := range all {
						require.Equal(t, want, build.TextOf(w.Load().Groups[g].Channels[i]), "%d, %d", g, i)
					}
					require.Len(t, w.Load().Groups[g].Channels, len(all))
				}
				assert.Contains(t, string(w.Text()), text[:strings.Index(text, "\n[load]")])
				_, _, err := plan.ReadLoad("load.toml", plan.Options{ReadFile: func(string) ([]byte, error) { return w.Text(), nil }})
				require.NoError(t, err)
			},
			"set": func(t *rapid.T) {
				n := any(t)
				g, i := find(n)
				c := channel(t, model[g][i].Number)
				require.NoError(t, w.SetChannel(n, c, false))
				model[g][i] = c
			},
			"add": func(t *rapid.T) {
				g := rapid.IntRange(0, len(model)-1).Draw(t, "group")
				c := channel(t, fmt.Sprint(w.FreeNumber(g)))
				n, err := w.AddChannel(g, c)
				require.NoError(t, err)
				for _, before := range model[:g] {
					n -= len(before)
				}
				model[g] = slices.Insert(model[g], n, c)
			},
			"delete": func(t *rapid.T) {
				n := any(t)
				g, i := find(n)
				err := w.DeleteChannel(n)
				if len(model[g]) == 1 {
					require.Error(t, err)
					return
				}
				require.NoError(t, err)
				model[g] = slices.Delete(model[g], i, i+1)
			},
			"move": func(t *rapid.T) {
				n := any(t)
				g, i := find(n)
				by := rapid.IntRange(-2, 2).Draw(t, "by")
				require.NoError(t, w.MoveChannel(n, n+by))
				if k := i + by; k >= 0 && k < len(model[g]) {
					var numbers []string
					for _, c := range model[g] {
						numbers = append(numbers, c.Number)
					}
					c := model[g][i]
					model[g] = slices.Insert(slices.Delete(model[g], i, i+1), k, c)
					for j := range model[g] {
						model[g][j].Number = numbers[j]
					}
				}
			},
		})
	})
}

// What a draft leaves to decide is decided in fields, and no remark says otherwise then.
func TestLoadIsDecided(t *testing.T) {
	draft := strings.NewReplacer(`name = "Quillback Range cooperators" # whose`, `name      = ""            # DECIDE: whose load it is`,
		"effective = 2027-03-01", `effective = "DECIDE"      # the first day`, "list_positions = 16", `list_positions = "DECIDE"  # positions`,
		`{number = 3, name = "QB TAC 1", use = "tactical", rx = 153.7400}, # the valley`, `{number = 3, name = "QB TAC 1", use = "DECIDE", rx = 153.7400},  # DECIDE use: nothing tells`).Replace(inBraces)
	w := openLoad(t, draft)
	a := w.About()
	assert.Equal(t, build.AboutText{Edition: "2027", Color: "orange", Expires: "2028-03-31"}, a)
	require.ErrorContains(t, w.SetAbout(a), "no day")
	a.Name, a.Effective, a.Positions = "Hobnail", "2027-03-02", "16"
	require.NoError(t, w.SetAbout(a))
	c := build.TextOf(w.Load().Channels()[2])
	assert.Empty(t, c.Use)
	c.Use = "tactical"
	require.NoError(t, w.SetChannel(2, c, false))
	want := strings.NewReplacer(`""            # DECIDE: whose load it is`, `"Hobnail"`, `"DECIDE"      # the first day`, `2027-03-02      # the first day`, `"DECIDE"  # positions`, "16  # positions",
		`use = "DECIDE", rx = 153.7400},  # DECIDE use: nothing tells`, `use = "tactical", rx = 153.7400},`).Replace(draft)
	assert.Equal(t, want, string(w.Text()))
}
