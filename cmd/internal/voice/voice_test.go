package voice

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os/exec"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestPrintable(t *testing.T) {
	for in, want := range map[string]string{
		"Übung 21 ½":       "Übung 21 ½",
		"\x1b[2Jgone":      `\x1b[2Jgone`,
		"a\u202eb":         `a\u202eb`,
		"a\xffb":           `a\xffb`,
		"line\nbreak\ttab": `line\x0abreak\x09tab`,
		"\ufffd":           "\ufffd",
	} {
		assert.Equal(t, want, Printable(in))
	}
}

// A line end in a name forges no line, and a document holds no character that a
// terminal obeys.
func TestNothingForgesALine(t *testing.T) {
	var stdout, stderr bytes.Buffer
	v := New(&stdout, &stderr)
	v.Complain(errors.Join(errors.New("a\nslotcard: all is well"), errors.New("b")))
	v.Complain(fmt.Errorf("c\nd: %w", fs.ErrNotExist))
	assert.Equal(t, "slotcard: a\\x0aslotcard: all is well\nslotcard: b\nslotcard: c\\x0ad: file does not exist\n", stderr.String())

	odd := "\x1b\u009b\x7f\u202e\u200b\u2028\U000e0041 é½"
	require.NoError(t, v.JSON(map[string]string{"x": odd}))
	require.NoError(t, v.Flush())
	assert.Equal(t, "{\n  \"x\": \"\\u001b\\u009b\\u007f\\u202e\\u200b\\u2028\\udb40\\udc41 é½\"\n}\n", stdout.String())
	var back map[string]string
	require.NoError(t, json.Unmarshal(stdout.Bytes(), &back))
	assert.Equal(t, odd, back["x"])
}

func TestName(t *testing.T) {
	for in, want := range map[string]string{
		"fire/plan.toml":      "fire/plan.toml",
		"my fire/plan.toml":   "my fire/plan.toml",
		"a\nb.toml":           `"a\nb.toml"`,
		"a.toml: all fine":    `"a.toml: all fine"`,
		" plan.toml":          `" plan.toml"`,
		"a\u202eb":            `"a\u202eb"`,
		`"quoted".toml`:       `"\"quoted\".toml"`,
		"période 3/plan.toml": "période 3/plan.toml",
	} {
		assert.Equal(t, want, Name(in))
	}
	assert.Equal(t, 301, utf8.RuneCountInString(Name(strings.Repeat("x", 1000))))
}

func TestClosest(t *testing.T) {
	sizes := []string{"business", "id-1", "a7", "index-3x5", "a6"}
	for in, want := range map[string]string{
		"busines": "business", "bussiness": "business", "A7": "a7", "id1": "id-1",
		"index3x5": "index-3x5", "poster": "", "": "",
	} {
		assert.Equal(t, want, Closest(in, sizes), in)
	}
	assert.Equal(t, "check", Closest("chekc", []string{"new", "check", "print"}))
	assert.Equal(t, "completion", Closest("comp", []string{"new", "completion"}), "the beginning of a word")
}

func TestTyped(t *testing.T) {
	assert.Equal(t, "fire/plan.toml", Typed("fire/plan.toml"))
	assert.Equal(t, `'my fire/plan.toml'`, Typed("my fire/plan.toml"))
	assert.Equal(t, `'it'\''s.toml'`, Typed("it's.toml"))
	assert.Equal(t, `'$(x).toml'`, Typed("$(x).toml"))
	odd := "it's\n\x1b[2J\u202e\xff\\.toml"
	if bash, err := exec.LookPath("bash"); err == nil { // another reader
		out, err := exec.Command(bash, "-c", "printf %s "+Typed(odd)).Output()
		require.NoError(t, err)
		assert.Equal(t, odd, string(out))
	}
	assert.Equal(t, Typed(odd), Printable(Typed(odd)))
}

func TestProgress(t *testing.T) {
	var stderr bytes.Buffer
	v := New(io.Discard, &stderr)
	v.Progress("cards", 1)(1)
	assert.Empty(t, stderr.String(), "nobody watches a pipe")

	now := time.Date(2027, 8, 14, 6, 0, 0, 0, time.UTC)
	v.watching, v.now = true, func() time.Time { return now }
	done := v.Progress("cards", 1000)
	for range 1000 {
		now = now.Add(12 * time.Millisecond)
		done(1)
	}
	assert.Equal(t, "84 of 1000 cards done, about 11 s left\n"+
		"251 of 1000 cards done, about 9 s left\n"+
		"585 of 1000 cards done, about 5 s left\n", stderr.String())
	assert.Equal(t, "3 min", spoken(170*time.Second))
}
