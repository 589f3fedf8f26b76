package tomlfile

import (
	"testing"

	"github.com/BurntSushi/toml"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// What is written is what another reader of TOML reads: texts come back, and a comment is
// nothing but a comment, whatever stands in it.
func TestWriter(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var w Writer
		text, list := rapid.String().Draw(t, "text"), rapid.SliceOfN(rapid.String(), 1, 4).Draw(t, "list")
		w.Comment("%s", rapid.String().Draw(t, "comment"))
		require.Equal(t, 2, w.Next())
		w.Line("text = %s", Quote(text))
		w.Line("list = [%s]   # %s", QuoteList(list), OneLine(rapid.String().Draw(t, "behind")))
		var got struct {
			Text string
			List []string
		}
		meta, err := toml.Decode(string(w.Text()), &got)
		require.NoError(t, err, "%s", w.Text())
		assert.Len(t, meta.Keys(), 2)
		assert.Equal(t, text, got.Text)
		assert.Equal(t, list, got.List)
	})
}
