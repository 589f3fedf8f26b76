package tomlfile

import (
	"fmt"
	"strings"
)

// Writer writes a file for people line by line, with comments: what the encoder of a
// library has no words for. The zero value is ready.
type Writer struct {
	b     strings.Builder
	lines int
}

// Line writes a line; blanks at its end are left out. Values come from [Quote], or are
// TOML already.
func (w *Writer) Line(format string, args ...any) {
	w.b.WriteString(strings.TrimRight(fmt.Sprintf(format, args...), " "))
	w.b.WriteByte('\n')
	w.lines++
}

// Comment writes a comment; nothing in it can end it.
func (w *Writer) Comment(format string, args ...any) {
	w.Line("# %s", OneLine(fmt.Sprintf(format, args...)))
}

// Next is the number, from 1, of the line that is written next.
func (w *Writer) Next() int { return w.lines + 1 }

// Text is what was written so far.
func (w *Writer) Text() []byte { return []byte(w.b.String()) }

// Quote is a text as a basic string of TOML 1.0.
func Quote(s string) string {
	var b strings.Builder
	b.WriteByte('"')
	for _, r := range s {
		switch {
		case r == '"' || r == '\\':
			b.WriteByte('\\')
			b.WriteRune(r)
		case r < ' ' || r == 0x7f:
			fmt.Fprintf(&b, `\u%04X`, r)
		default:
			b.WriteRune(r)
		}
	}
	b.WriteByte('"')
	return b.String()
}

// QuoteList is texts as the items of a list.
func QuoteList(texts []string) string {
	quoted := make([]string, len(texts))
	for i, t := range texts {
		quoted[i] = Quote(t)
	}
	return strings.Join(quoted, ", ")
}

// OneLine keeps a text on one line of a file: what would end the line, and every
// other control character, becomes a space.
func OneLine(s string) string {
	return strings.Map(func(r rune) rune {
		if r < ' ' || r == 0x7f || r == 0x85 || r == 0x2028 || r == 0x2029 {
			return ' '
		}
		return r
	}, s)
}
