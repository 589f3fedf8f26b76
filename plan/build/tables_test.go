package build_test

import (
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"slotcard/plan/build"
)

func openTables(t require.TestingT, text string) *build.Tables {
	w, err := build.OpenTables("load.toml", []byte(text))
	require.NoError(t, err)
	return w
}

func kind(t require.TestingT, w *build.Tables, key string) build.Kind {
	k, err := w.Kind(key)
	require.NoError(t, err)
	return k
}

const twoTones = `[load]
name = "Quillback Range cooperators"
edition = "2027"
color = "orange"
effective = 2027-03-01
expires = 2028-03-31

[radio]
list_positions = 16
name_length = 10
bands = [[136.0, 174.0]]
modes = ["analog"]

[[tone]] # the old one
number = 4
hz = 146.2 # measured

# For the valley.
[[tone]]
number = 5
hz = 110.9

[[site]]
name = "Bellwether"
tone = 4
channels = [
  "QB CMD 1", # north
  "QB CMD 2",
  "QB CMD 3", # east
]

[[group]]
number = 1
name = "Local"

[[group.channel]]
number = 1
name = "QB CMD 1"
use = "command"
rx = 152.4125

[[group.channel]]
number = 2
name = "QB CMD 2"
use = "command"
rx = 152.5000

[[group]] # shared
number = 2
name = "Other"

[[group.channel]]
number = 1
name = "QB CMD 3"
use = "command"
rx = 152.5250
`

// Each change is of the text that it is about, and of what names it; comments stay.
func TestTables(t *testing.T) {
	for name, c := range map[string]struct {
		do       func(w *build.Tables) error
		replaced []string
	}{
		"a tone's number, at its site too": {func(w *build.Tables) error { return w.Set(kind(t, w, "tone"), 0, map[string]string{"number": "9"}) },
			[]string{"number = 4\n", "number = 9\n", "tone = 4\n", "tone = 9\n"}},
		"a tone is moved with its comment": {func(w *build.Tables) error { return w.Move(kind(t, w, "tone"), 1, 0) },
			[]string{"[[tone]] # the old one\nnumber = 4\nhz = 146.2 # measured\n\n# For the valley.\n[[tone]]\nnumber = 5\nhz = 110.9\n", "# For the valley.\n[[tone]]\nnumber = 5\nhz = 110.9\n\n[[tone]] # the old one\nnumber = 4\nhz = 146.2 # measured\n"}},
		"a tone is added behind the others": {func(w *build.Tables) error {
			_, err := w.Add(kind(t, w, "tone"), map[string]string{"number": "6", "hz": "d023"})
			return err
		}, []string{"hz = 110.9\n", "hz = 110.9\n\n[[tone]]\nnumber = 6\nhz     = \"D023\"\n"}},
		"channels of a site keep their remarks": {func(w *build.Tables) error {
			return w.Set(kind(t, w, "site"), 0, map[string]string{"channels": "QB CMD 3, QB CMD 1, QB TAC 1"})
		}, []string{"  \"QB CMD 1\", # north\n  \"QB CMD 2\",\n  \"QB CMD 3\", # east\n", "  \"QB CMD 3\", # east\n  \"QB CMD 1\", # north\n  \"QB TAC 1\",\n"}},
		"a site's own tone": {func(w *build.Tables) error { return w.Set(kind(t, w, "site"), 0, map[string]string{"tone": "100.0"}) },
			[]string{"tone = 4\n", "tone = 100.0\n"}},
		"a group goes with its channels, from its site too": {func(w *build.Tables) error { return w.Delete(kind(t, w, "group"), 1) },
			[]string{"\n[[group]] # shared\nnumber = 2\nname = \"Other\"\n\n[[group.channel]]\nnumber = 1\nname = \"QB CMD 3\"\nuse = \"command\"\nrx = 152.5250\n", "", "  \"QB CMD 3\", # east\n", ""}},
		"the first exception": {func(w *build.Tables) error {
			_, err := w.Add(kind(t, w, "accept"), map[string]string{"rule": "wideband", "subject": "QB CMD 1", "because": "licensed so", "by": "R. Okafor"})
			return err
		}, []string{"rx = 152.5250\n", "rx = 152.5250\n\n[[accept]]\nrule    = \"wideband\"\nsubject = \"QB CMD 1\"\nbecause = \"licensed so\"\nby      = \"R. Okafor\"\n"}},
		"a key is taken out": {func(w *build.Tables) error { return w.Set(kind(t, w, "site"), 0, map[string]string{"latitude": ""}) }, nil},
	} {
		w := openTables(t, twoTones)
		require.NoError(t, c.do(w), name)
		want := twoTones
		for i := 0; i < len(c.replaced); i += 2 {
			require.Contains(t, want, c.replaced[i], name)
			want = strings.Replace(want, c.replaced[i], c.replaced[i+1], 1)
		}
		assert.Equal(t, want, string(w.Text()), name)
	}
}

// What would leave the file worse is refused, and then nothing is changed.
func TestTablesRefuse(t *testing.T) {
	for said, do := range map[string]func(w *build.Tables) error{
		"opens Bellwether: give that site another tone first": func(w *build.Tables) error { return w.Delete(kind(t, w, "tone"), 0) },
		"fill in “number”": func(w *build.Tables) error {
			_, err := w.Add(kind(t, w, "tone"), map[string]string{"hz": "100.0"})
			return err
		},
		"is no whole number":  func(w *build.Tables) error { return w.Set(kind(t, w, "tone"), 0, map[string]string{"number": "four"}) },
		`number: "four"`:      func(w *build.Tables) error { return w.Set(kind(t, w, "tone"), 0, map[string]string{"number": "four"}) },
		"is no list of bands": func(w *build.Tables) error { return w.Set(kind(t, w, "radio"), 0, map[string]string{"bands": "VHF"}) },
		"which is no mode": func(w *build.Tables) error {
			return w.Set(kind(t, w, "radio"), 0, map[string]string{"modes": "analog, fax"})
		},
		"already": func(w *build.Tables) error {
			_, err := w.Add(kind(t, w, "radio"), map[string]string{"modes": "analog"})
			return err
		},
		"it stays": func(w *build.Tables) error { return w.Move(kind(t, w, "tone"), 1, 2) },
	} {
		w := openTables(t, twoTones)
		assert.ErrorContains(t, do(w), said)
		assert.Equal(t, twoTones, string(w.Text()), said)
	}
	station := "[[position]]\nname = \"Engine boss\"\n\n[[unit]]\nname = \"Engine 611\"\nseats = { \"Engine boss\" = 1 }\n"
	w := openTables(t, station)
	assert.ErrorContains(t, w.Delete(kind(t, w, "position"), 0), "Engine 611 has seats for Engine boss")
	require.NoError(t, w.Set(kind(t, w, "position"), 0, map[string]string{"name": "Captain"}))
	assert.Equal(t, strings.NewReplacer(`"Engine boss"`, `"Captain"`, `{ "Engine boss" = 1 }`, `{ Captain = 1 }`).Replace(station), strings.Replace(string(w.Text()), `{ "Captain" = 1 }`, `{ Captain = 1 }`, 1))
}

// In whatever order tables are added, moved, deleted and changed, the file holds what a
// model says, and no comment is lost that does not belong to a table that was deleted.
func TestTablesAtRandom(t *testing.T) {
	text := "# The whole.\n" + twoTones
	rapid.Check(t, func(t *rapid.T) {
		w := openTables(t, text)
		k := kind(t, w, "tone")
		numbers := func() (all []string) {
			for _, l := range w.Lines(k) {
				all = append(all, l.Values["number"])
			}
			return all
		}
		model, deleted := numbers(), false
		for i := range rapid.IntRange(1, 10).Draw(t, "changes") {
			n := rapid.IntRange(0, len(model)-1).Draw(t, "row")
			switch rapid.IntRange(0, 3).Draw(t, "change") {
			case 0:
				number := strconv.Itoa(100 + i)
				at, err := w.Add(k, map[string]string{"number": number, "hz": "67.0"})
				require.NoError(t, err)
				require.Equal(t, len(model), at)
				model = append(model, number)
			case 1:
				to := rapid.IntRange(0, len(model)-1).Draw(t, "to")
				if err := w.Move(k, n, to); n != to {
					require.NoError(t, err)
					model = moved(model, n, to)
				}
			case 2:
				if err := w.Delete(k, n); err == nil {
					deleted = true
					model = slices.Delete(slices.Clone(model), n, n+1)
				} else {
					require.ErrorContains(t, err, "opens")
				}
			case 3:
				model[n] = strconv.Itoa(200 + i)
				require.NoError(t, w.Set(k, n, map[string]string{"number": model[n]}))
			}
			require.Equal(t, model, numbers())
		}
		if !deleted {
			for line := range strings.SplitSeq(text, "\n") {
				if strings.HasPrefix(line, "#") {
					require.Contains(t, string(w.Text()), line)
				}
			}
		}
	})
}
