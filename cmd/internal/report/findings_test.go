package report

import (
	"bytes"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"slotcard/cmd/internal/voice"
	"slotcard/plan/finding"
)

func TestFindingsOnATerminal(t *testing.T) {
	var out bytes.Buffer
	v := voice.New(&out, nil)
	Findings(v, finding.List{
		{
			Rule: "r1", Severity: finding.Error, Message: "two slots",
			Place:   finding.Place{File: "plan.toml", Line: 3, Column: 12, Length: 4, Text: "\tsite\t= \"é\" QUÉB"},
			Help:    []string{"remove one"},
			Details: []string{"a", "b"},
			Related: []finding.Related{{Place: finding.Place{File: "plan.toml", Line: 1, Column: 1, Text: "[[slot]]"}, Message: "the first"}},
		},
		{Rule: "r2", Severity: finding.Warning, Message: "whole file", Place: finding.Place{File: "plan.toml"}},
	}, WithHelp)
	require.NoError(t, v.Flush())
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
