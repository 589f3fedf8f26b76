package voice

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf16"
	"unicode/utf8"

	"slotcard/plan/finding"
)

// Shown tells whether a character may reach a terminal as it is. Format
// characters may not: some of them turn the direction of what follows.
func Shown(r rune) bool {
	return r != utf8.RuneError && (r == ' ' || unicode.IsGraphic(r)) && !unicode.Is(unicode.Cf, r)
}

// Printable is a line without the characters that a terminal would obey.
func Printable(s string) string {
	if strings.IndexFunc(s, func(r rune) bool { return !Shown(r) }) < 0 {
		return s
	}
	var b strings.Builder
	for i, r := range s {
		switch {
		case r == utf8.RuneError:
			if _, size := utf8.DecodeRuneInString(s[i:]); size == 1 {
				fmt.Fprintf(&b, `\x%02x`, s[i])
			} else {
				b.WriteRune(r)
			}
		case Shown(r):
			b.WriteRune(r)
		case r < 0x80:
			fmt.Fprintf(&b, `\x%02x`, r)
		default:
			fmt.Fprintf(&b, `\u%04x`, r)
		}
	}
	return b.String()
}

// PlainJSON is a JSON document in which every character that a terminal would obey is
// escaped, as \u009b: a document is looked at, too.
func PlainJSON(document []byte) []byte {
	odd := func(r rune) bool { return r >= 0x7f && !Shown(r) } // below, encoding/json sees to it
	if bytes.IndexFunc(document, odd) < 0 {
		return document
	}
	var b bytes.Buffer
	for _, r := range string(document) {
		switch {
		case !odd(r):
			b.WriteRune(r)
		case r > 0xffff:
			high, low := utf16.EncodeRune(r)
			fmt.Fprintf(&b, `\u%04x\u%04x`, high, low)
		default:
			fmt.Fprintf(&b, `\u%04x`, r)
		}
	}
	return b.Bytes()
}

// mostName bounds what is said of the name of a file, in characters: no system has
// longer ones than a few hundred in a row.
const mostName = 300

// Name is the name of a file within a sentence: in quotes where it holds something
// that is not seen, or that could be taken for the end of the name.
func Name(name string) string {
	if r := []rune(name); len(r) > mostName {
		name = string(r[:mostName/2]) + "…" + string(r[len(r)-mostName/2:])
	}
	if Printable(name) != name || name != strings.TrimSpace(name) || strings.Contains(name, ": ") || strings.HasPrefix(name, `"`) {
		return strconv.Quote(name)
	}
	return name
}

// Count is a number with the word for it: "1 card", "2 cards".
func Count(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}

// Join is "A, B or C", with the word before the last.
func Join(words []string, last string) string {
	if n := len(words); n > 1 {
		return strings.Join(words[:n-1], ", ") + " " + last + " " + words[n-1]
	}
	return strings.Join(words, "")
}

// Typed is a file name as one types it into a shell.
func Typed(name string) string {
	safe := func(r rune) bool {
		return unicode.IsLetter(r) || unicode.IsDigit(r) || strings.ContainsRune("-_./+@%:,~"+string(filepath.Separator), r)
	}
	if name != "" && strings.IndexFunc(name, func(r rune) bool { return !safe(r) }) < 0 {
		return name
	}
	if runtime.GOOS == "windows" {
		return `"` + name + `"`
	}
	if Printable(name) != name { // $'...' of POSIX.1-2024, 2.2.4: pasted, it is the same name
		var b strings.Builder
		for _, c := range []byte(name) {
			switch {
			case c == '\'' || c == '\\':
				b.WriteByte('\\')
				b.WriteByte(c)
			case c < ' ' || c >= 0x7f:
				fmt.Fprintf(&b, `\x%02x`, c)
			default:
				b.WriteByte(c)
			}
		}
		return "$'" + b.String() + "'"
	}
	return "'" + strings.ReplaceAll(name, "'", `'\''`) + "'"
}

// Closest is the known word that was probably meant, or "".
func Closest(word string, known []string) string {
	if near := finding.Closest(word, known, 1); len(near) > 0 {
		return near[0]
	}
	return ""
}

// DidYouMean is the question, with a space after it, or "" where nothing is near.
func DidYouMean(near []string) string {
	if len(near) == 0 {
		return ""
	}
	return "did you mean " + Join(near, "or") + "? "
}

// LowerFirst is a text that is to stand within a line.
func LowerFirst(s string) string {
	if s == "" {
		return ""
	}
	return strings.ToLower(s[:1]) + s[1:]
}

// Fold breaks a text into lines of at most 80 characters: the first begins with
// one indent, the rest with another. A no-break space keeps words together, and
// comes out as a space.
func Fold(text, first, rest string) string {
	var b strings.Builder
	column := 0
	for i, word := range strings.FieldsFunc(text, func(r rune) bool { return r == ' ' || r == '\t' || r == '\n' }) {
		n := utf8.RuneCountInString(word)
		switch {
		case i == 0:
			b.WriteString(first)
			column = len(first)
		case column+1+n > 80:
			b.WriteString("\n" + rest)
			column = len(rest)
		default:
			b.WriteByte(' ')
			column++
		}
		b.WriteString(strings.ReplaceAll(word, "\u00a0", " "))
		column += n
	}
	return b.String()
}

// Reason is an error of the operating system without the call and the path.
func Reason(err error) string {
	var path *fs.PathError
	var link *os.LinkError
	var call *os.SyscallError
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return "no such file or folder"
	case errors.Is(err, fs.ErrPermission):
		return "no permission"
	case errors.Is(err, fs.ErrExist):
		return "already exists"
	case errors.As(err, &path):
		err = path.Err
	case errors.As(err, &link):
		err = link.Err
	case errors.As(err, &call):
		err = call.Err
	}
	return err.Error()
}
