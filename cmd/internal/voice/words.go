package voice

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"unicode"
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
