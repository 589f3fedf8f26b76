package voice

import (
	"bytes"
	"io"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
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
