package main

import (
	"bytes"
	"context"
	"errors"
	"io"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"slotcard/plan/finding"
)

func TestFindingsOnATerminal(t *testing.T) {
	var out bytes.Buffer
	v := newVoice(&out, nil)
	v.findings(finding.List{
		{
			Rule: "r1", Severity: finding.Error, Message: "two slots",
			Place:   finding.Place{File: "plan.toml", Line: 3, Column: 12, Length: 4, Text: "\tsite\t= \"é\" QUÉB"},
			Help:    []string{"remove one"},
			Details: []string{"a", "b"},
			Related: []finding.Related{{Place: finding.Place{File: "plan.toml", Line: 1, Column: 1, Text: "[[slot]]"}, Message: "the first"}},
		},
		{Rule: "r2", Severity: finding.Warning, Message: "whole file", Place: finding.Place{File: "plan.toml"}},
	}, withHelp)
	require.NoError(t, v.flush())
	// The tab stays a tab under a tab, é is one column.
	assert.Equal(t, "plan.toml:3:12: error: two slots [r1]\n"+
		"\tsite\t= \"é\" QUÉB\n"+
		"\t    \t     ^^^^\n"+
		"help: remove one\n"+
		"also plan.toml:1:1: the first\n"+
		"[[slot]]\n"+
		"^\n"+
		"2 rows more with --long\n"+
		"\n"+
		"plan.toml: warning: whole file [r2]\n"+
		"\n", out.String())
}

// Whatever a file holds, a terminal gets no control character, and the mark
// stands under the line.
func TestSourceLineIsSafe(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.StringOf(rapid.Rune()).Draw(t, "text")
		p := finding.Place{Text: text, Line: 1, Column: rapid.IntRange(1, 400).Draw(t, "column"), Length: rapid.IntRange(0, 400).Draw(t, "length")}
		line, mark := sourceLine(p)
		if line == "" {
			return
		}
		assert.True(t, utf8.ValidString(line))
		assert.NotContains(t, line, "\x1b")
		assert.NotContains(t, line, "\u202e")
		assert.LessOrEqual(t, utf8.RuneCountInString(line), widest+2)
		assert.Regexp(t, `^[ \t]*\^+$`, mark)
		assert.LessOrEqual(t, utf8.RuneCountInString(mark), utf8.RuneCountInString(line)+1)
	})
}

func TestSourceLineTooLong(t *testing.T) {
	text := strings.Repeat("a", 500) + "HERE" + strings.Repeat("b", 500)
	line, mark := sourceLine(finding.Place{Text: text, Line: 1, Column: 501, Length: 4})
	at := strings.Index(mark, "^^^^")
	require.Positive(t, at)
	assert.Equal(t, "HERE", string([]rune(line)[at:at+4]))
	assert.Equal(t, widest+2, utf8.RuneCountInString(line))
}

func TestPrintable(t *testing.T) {
	for in, want := range map[string]string{
		"Übung 21 ½":       "Übung 21 ½",
		"\x1b[2Jgone":      `\x1b[2Jgone`,
		"a\u202eb":         `a\u202eb`,
		"a\xffb":           `a\xffb`,
		"line\nbreak\ttab": `line\x0abreak\x09tab`,
		"\ufffd":           "\ufffd",
	} {
		assert.Equal(t, want, printable(in))
	}
}

func TestClosest(t *testing.T) {
	sizes := []string{"business", "id-1", "a7", "index-3x5", "a6"}
	for in, want := range map[string]string{
		"busines": "business", "bussiness": "business", "A7": "a7", "id1": "id-1",
		"index3x5": "index-3x5", "poster": "", "": "",
	} {
		assert.Equal(t, want, closest(in, sizes), in)
	}
	assert.Equal(t, "check", closest("chekc", []string{"new", "check", "print"}))
	assert.Equal(t, "completion", closest("comp", []string{"new", "completion"}), "the beginning of a word")
}

func TestTyped(t *testing.T) {
	assert.Equal(t, "fire/plan.toml", typed("fire/plan.toml"))
	assert.Equal(t, `'my fire/plan.toml'`, typed("my fire/plan.toml"))
	assert.Equal(t, `'it'\''s.toml'`, typed("it's.toml"))
	assert.Equal(t, `'$(x).toml'`, typed("$(x).toml"))
}

type brokenWriter struct{}

func (brokenWriter) Write([]byte) (int, error) { return 0, errors.New("no space left") }

// Findings that nobody could read are not "fine".
func TestStandardOutputBroken(t *testing.T) {
	var stderr bytes.Buffer
	assert.Equal(t, exitUsage, run([]string{"help"}, nil, brokenWriter{}, &stderr))
	assert.Equal(t, "slotcard: cannot write to standard output: no space left\n", stderr.String())
}

func TestInterrupted(t *testing.T) {
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	var stdout, stderr bytes.Buffer
	dir := t.TempDir()
	assert.Equal(t, exitUsage, runContext(ctx, []string{"new", dir + "/fire"}, nil, &stdout, &stderr))
	assert.Equal(t, "slotcard: interrupted; nothing was written\n", stderr.String())
	assert.Empty(t, ls(t, dir))
}

func TestProgress(t *testing.T) {
	var stderr bytes.Buffer
	v := newVoice(io.Discard, &stderr)
	v.progress("cards", 1)(1)
	assert.Empty(t, stderr.String(), "nobody watches a pipe")

	now := time.Date(2027, 8, 14, 6, 0, 0, 0, time.UTC)
	v.watching, v.now = true, func() time.Time { return now }
	done := v.progress("cards", 1000)
	for range 1000 {
		now = now.Add(12 * time.Millisecond)
		done(1)
	}
	assert.Equal(t, "84 of 1000 cards done, about 11 s left\n"+
		"251 of 1000 cards done, about 9 s left\n"+
		"585 of 1000 cards done, about 5 s left\n", stderr.String())
	assert.Equal(t, "3 min", spoken(170*time.Second))
}
