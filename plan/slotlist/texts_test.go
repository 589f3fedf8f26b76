package slotlist

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// What is spelled with the words of a code is the code; the words are those of the
// ICAO alphabet, which another test compares with the published table.
func TestUnspell(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		code := Code(rapid.StringMatching("[0-9A-HJKMNP-TV-Z]{4}").Draw(t, "code"))
		got, err := ParseCode(Unspell(strings.ToUpper(code.Words())))
		require.NoError(t, err)
		assert.Equal(t, code, got)
	})
	assert.Equal(t, "A J X 9", Unspell("alpha Juliet XRAY niner"), "as they are heard")
	assert.Equal(t, "7K 4Q", Unspell("7K 4Q"))
}

func TestTexts(t *testing.T) {
	one, two := "SLOTS 1 A/1\n1 CMD X 1.0\n=AAAA", "SLOTS 1 B/1\n1 CMD Y 1.0\n=BBBB"
	for in, want := range map[string][]string{
		one + "\n":                          {one},
		"\ufeff\n\n" + one + "\n\n" + two:   {one, two},
		"SLOTS 1 A/1\n1 CMD X 1.0\n" + two:  {"SLOTS 1 A/1\n1 CMD X 1.0", two},
		one + "\nSLOTS 1 C/1\n":             {one, "SLOTS 1 C/1\n"},
		"a note\n" + one + "\nanother note": {"a note", one, "another note"},
	} {
		got, err := Texts([]byte(in))
		require.NoError(t, err, "%q", in)
		assert.Equal(t, want, got, "%q", in)
	}
	for in, want := range map[string]string{
		" \n": "is empty", "hello": "holds no list", "SLOTS\x00": "neither a text", "SLOTS \xff": "neither a text",
	} {
		_, err := Texts([]byte(in))
		assert.ErrorContains(t, err, want, "%q", in)
	}
}
