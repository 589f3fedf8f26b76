package tomlfile

import (
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/BurntSushi/toml"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// parsed is a file without values, nil where it has faults.
func parsed(text string) *File {
	f := &File{name: "f.toml", root: &node{kind: table}}
	f.setText([]byte(text))
	f.parse()
	if f.broken || f.duplicates > 0 || len(f.findings) > 0 {
		return nil
	}
	return f
}

// values are all values below n, as a plain tree.
func (n *node) values() any {
	switch n.kind {
	case table:
		all := map[string]any{}
		for i, name := range n.names {
			all[name] = n.nodes[i].values()
		}
		return all
	case array:
		all := []any{}
		for _, item := range n.nodes {
			all = append(all, item.values())
		}
		return all
	}
	if v, ok := n.raw.(float64); ok && math.IsNaN(v) {
		return "nan" // which equals itself
	}
	return n.raw
}

// agrees tells whether a text is read as plain, and fails where BurntSushi/toml
// does not read the same values out of it.
func agrees(t require.TestingT, text string) bool {
	f := parsed(text)
	if f == nil || !f.readPlain() {
		return false
	}
	var values map[string]any
	_, err := toml.Decode(string(f.data), &values)
	require.NoError(t, err, "%q", text)
	whole := parsed(text)
	whole.root.take(values)
	require.Equal(t, whole.root.values(), f.root.values(), "%q", text)
	return true
}

func TestPlainForms(t *testing.T) {
	for text, plain := range map[string]bool{
		"":                                   true,
		"# only this":                        true,
		"a = 1\nb=\"x\" # y\r\n[t]\nc = 'z'": true,
		"[ a . b ] # c\n[[ d-e ]]\nf=true":   true,
		"a = -0\nb = +1.50\nc = 0.0":         true,
		"a = 1_000\nb = 1e3\nc = 0x1F":       true, // by the decoder
		"a = \"x\\ty\"\nb = ''\nc = \"\"":    true,
		"a = '''x\ny'''\nb = [1, 2]":         true,
		"a = 2027-03-01\nb = {c = 1}":        true,
		"a.b = 1\n'c d' = 2":                 true,
		"a = 1 \t\n \t\n":                    true,
		"['a b']\nc = 1":                     false,
		"a = 01":                             false,
		"a = 1.":                             false,
		"a = 99999999999999999999":           false,
		"a = 1 b = 2":                        false,
	} {
		assert.Equal(t, plain, agrees(t, text), "%q", text)
	}
}

func TestPlainExamples(t *testing.T) {
	files, err := filepath.Glob("../../examples/*/*.toml")
	require.NoError(t, err)
	require.NotEmpty(t, files)
	for _, name := range files {
		data, err := os.ReadFile(name)
		require.NoError(t, err)
		assert.True(t, agrees(t, string(data)), name)
	}
}

// Pieces of TOML in any order: whatever is taken as plain is what the decoder
// reads, and much of it is.
func TestPlainIsWhatTheDecoderReads(t *testing.T) {
	values := []string{"1", "-1", "+0", "0", "00", "1.5", "-0.0", "1.", ".5", "1e5", "1_0", "0x1", "inf", "nan", "true", "True", `"x"`, `"x\u00e9"`,
		`'x'`, `"x"y"`, `""`, `"""x"""`, "'''x'''", `"é"`, "2027-03-01", "06:00:00", "[1, 'a']", "{a = 1}", "152.4125", "123456789012345", "1234567890123456", "\"a\tb\"", `'\'`, "1 # c"}
	keys := []string{"a", "b", "c-1", "1", "a.b", `"q"`, "c . d", "ü"}
	heads := []string{"[t]", "[[t]]", "[t.u]", "[[t.u]]", "[ t ]", "['t']", "[[u]] # c", "[u] x", "[]"}
	plain := 0
	rapid.Check(t, func(t *rapid.T) {
		var b strings.Builder
		for range rapid.IntRange(0, 8).Draw(t, "lines") {
			switch rapid.IntRange(0, 5).Draw(t, "kind") {
			case 0:
				b.WriteString(rapid.SampledFrom(heads).Draw(t, "head"))
			case 1:
				b.WriteString(rapid.SampledFrom([]string{"", " ", "# c", "\t# é", "x", "\r"}).Draw(t, "filler"))
			default:
				b.WriteString(rapid.SampledFrom(keys).Draw(t, "key") + rapid.SampledFrom([]string{"=", " = ", "\t= "}).Draw(t, "is") + rapid.SampledFrom(values).Draw(t, "value"))
			}
			b.WriteString(rapid.SampledFrom([]string{"\n", "\r\n", "\n\n", " \n", "\n"}).Draw(t, "end"))
		}
		if agrees(t, b.String()) {
			plain++
		}
	})
	assert.Positive(t, plain)
}

func FuzzPlain(f *testing.F) {
	for _, text := range []string{"a = 1\n[b]\nc = 'x'\n", "[[a]]\nb = 1.5 # c\n[[a]]\nb = \"é\"\n", "a.b = 2027-03-01\n"} {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		if len(text) <= MaxSize {
			agrees(t, text)
		}
	})
}
