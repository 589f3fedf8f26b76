package edit_test

import (
	"strings"
	"testing"

	"github.com/BurntSushi/toml"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"slotcard/plan/edit"
	"slotcard/plan/tomlfile"
)

type holds struct {
	tomlfile.Table `toml:"-"`
	Text           string `toml:"text"`
}

func setText(t require.TestingT, file, text string) string {
	var h holds
	f, _ := tomlfile.Decode("a.toml", []byte(file), &h)
	out, err := edit.Open(f).SetText(h.Table, "text", text).Text()
	require.NoError(t, err)
	return string(out)
}

// Lines that the change is not about stay as they are broken (TOML 1.0, string: a
// backslash before a line end takes the line end and the blanks that follow).
func TestSetText(t *testing.T) {
	const file = "text = \"\"\"\nStep away \\\n  from the rig.\nLock the \\\n  controls. \\u00e9\n\"\"\" # said by all\n"
	for text, want := range map[string]string{
		"Step away from the rig.\nLock the controls. é\n":        file,
		"Step away from the engine.\nLock the controls. é\n":     strings.Replace(file, "rig", "engine", 1),
		"Step away from the rig.\nLock all controls. é\n":        strings.Replace(file, "the \\\n  controls", "all \\\n  controls", 1),
		"Step away from the rig.\n\nLock the controls. é\n":      strings.Replace(file, "rig.\n", "rig.\n\n", 1),
		"Step away from the rig.\nLock the \"controls\". é\n":    strings.Replace(file, "controls", `\"controls\"`, 1),
		"Step away from the rig.\nLock the controls. é\nListen.": strings.Replace(file, "\\u00e9\n", "\\u00e9\nListen.", 1),
	} {
		assert.Equal(t, want, setText(t, file, text))
	}
	assert.Equal(t, "text = \"b\"\n", setText(t, "text = \"a\"\n", "b"))
	assert.Equal(t, "text = \"b\"\n", setText(t, "", "b"))
}

// Whatever is written in three quotes and is to be said, the file says it then.
func TestSetTextAtRandom(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		raw := strings.Join(rapid.SliceOfN(rapid.SampledFrom([]string{"a", " ", "\n", "\\\n  ", "\\t", "\\\"", "é", "\\u00e9", "\r\n", "\\\\"}), 0, 12).Draw(t, "raw"), "")
		text := strings.Join(rapid.SliceOfN(rapid.SampledFrom([]string{"a", " ", "\n", "\t", `"`, "é", `\`, `"""`}), 0, 12).Draw(t, "text"), "")
		out := setText(t, "text = \"\"\""+raw+"\"\"\"\n", text)
		var h struct{ Text string }
		_, err := toml.Decode(out, &h)
		require.NoError(t, err)
		require.Equal(t, text, h.Text)
	})
}
