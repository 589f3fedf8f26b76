package tomlfile

import (
	"bytes"
	"strconv"

	"github.com/BurntSushi/toml"
)

// Nearly all statements of a load are a bare key and a plain text, number,
// true or false in one line, which need no decoder: half of the time to read a
// large file was its. What is written in any other form the decoder reads, and a
// test holds both to the same values.

// readPlain gives every value of a file without faults, if each line outside of
// statements is blank, a comment or a plain header. Otherwise it may have given
// some, and the file must be decoded as a whole.
func (f *File) readPlain() bool {
	at := 0
	for _, s := range f.statements {
		if s.text.from < at || !plainGap(f.data[at:s.text.from]) {
			return false
		}
		at = s.text.to
		text := f.data[s.text.from:at]
		if v, ok := plainValue(text); ok && s.node.kind == scalar {
			s.node.raw = v
			continue
		}
		values := map[string]any{}
		if _, err := toml.Decode(string(text), &values); err != nil {
			return false
		}
		s.take(values)
	}
	return plainGap(f.data[at:])
}

// plainGap tells whether text between statements is blank lines, comments and
// headers of bare keys. It begins behind a statement, or at the first line.
func plainGap(b []byte) bool {
	for len(b) > 0 {
		line, rest, _ := bytes.Cut(b, []byte{'\n'})
		b = rest
		if line = trimLeft(line); len(line) > 0 && line[0] == '[' {
			var ok bool
			if line, ok = afterHeader(line); !ok {
				return false
			}
		}
		if line = trimLeft(line); len(line) > 0 && line[0] != '#' && string(line) != "\r" {
			return false
		}
	}
	return true
}

// afterHeader is what stands behind [a.b] or [[a.b]].
func afterHeader(line []byte) (rest []byte, ok bool) {
	brackets := 1
	if len(line) > 1 && line[1] == '[' {
		brackets = 2
	}
	rest = line[brackets:]
	for {
		rest = trimLeft(rest)
		n := bareKey(rest)
		if n == 0 {
			return nil, false
		}
		if rest = trimLeft(rest[n:]); len(rest) == 0 || rest[0] != '.' {
			break
		}
		rest = rest[1:]
	}
	for range brackets {
		if len(rest) == 0 || rest[0] != ']' {
			return nil, false
		}
		rest = rest[1:]
	}
	return rest, true
}

// plainValue is the value of a statement in its plain form.
func plainValue(text []byte) (any, bool) {
	n := bareKey(text)
	b := trimLeft(text[n:])
	for n > 0 && len(b) > 0 && b[0] == '.' { // a dotted key: the tree knows its parts
		b = trimLeft(b[1:])
		n = bareKey(b)
		b = trimLeft(b[n:])
	}
	if n == 0 || len(b) == 0 || b[0] != '=' {
		return nil, false
	}
	b = trimLeft(b[1:])
	if len(b) == 0 {
		return nil, false
	}
	switch b[0] {
	case '"', '\'':
		inner, last := b[1:], len(b)-2
		if last < 0 || b[len(b)-1] != b[0] || bytes.IndexByte(inner, b[0]) != last || bytes.IndexByte(inner, '\n') >= 0 ||
			b[0] == '"' && bytes.IndexByte(inner, '\\') >= 0 {
			return nil, false
		}
		return string(inner[:last]), true
	}
	switch string(b) {
	case "true":
		return true, true
	case "false":
		return false, true
	}
	return plainNumber(b)
}

// plainNumber is a decimal of few digits, without exponent and underscores.
func plainNumber(b []byte) (any, bool) {
	const most = 15 // digits that an int64 and a float64 both hold
	whole, fraction, isFloat := bytes.Cut(b, []byte{'.'})
	digits := whole
	if len(digits) > 0 && (digits[0] == '-' || digits[0] == '+') {
		digits = digits[1:]
	}
	if !allDigits(digits) || len(digits) > 1 && digits[0] == '0' || len(digits)+len(fraction) > most {
		return nil, false
	}
	if !isFloat {
		v, err := strconv.ParseInt(string(b), 10, 64)
		return v, err == nil
	}
	if !allDigits(fraction) {
		return nil, false
	}
	v, err := strconv.ParseFloat(string(b), 64)
	return v, err == nil
}

func allDigits(b []byte) bool {
	for _, c := range b {
		if c < '0' || c > '9' {
			return false
		}
	}
	return len(b) > 0
}

// bareKey is how many bytes of a bare key b begins with.
func bareKey(b []byte) int {
	for i, c := range b {
		if !('a' <= c && c <= 'z' || 'A' <= c && c <= 'Z' || '0' <= c && c <= '9' || c == '_' || c == '-') {
			return i
		}
	}
	return len(b)
}

func trimLeft(b []byte) []byte {
	for len(b) > 0 && (b[0] == ' ' || b[0] == '\t') {
		b = b[1:]
	}
	return b
}
