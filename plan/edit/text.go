package edit

import (
	"fmt"
	"strings"
	"unicode/utf8"

	"github.com/BurntSushi/toml"

	"slotcard/plan/tomlfile"
)

// SetText gives a key of the table a text. Where one stands there in three quotes, only
// what differs is written anew: how its other lines are broken stays.
func (e *Editor) SetText(t tomlfile.Table, key, text string) *Editor {
	if e.failed(nil) {
		return e
	}
	if at, ok := t.ValueSpan(key); ok {
		if raw, ok := rewritten(string(e.text[at.From:at.To]), text); ok {
			return e.Set(t, key, Raw(raw))
		}
	}
	return e.Set(t, key, text)
}

// part is a piece of a text in three quotes: what is written, and what it means. A line
// end behind a backslash, with the blanks that follow, means nothing.
type part struct{ raw, means string }

const quotes = `"""`

// rewritten is a text in three quotes, as it is written, changed to mean another.
func rewritten(raw, text string) (string, bool) {
	body, ok := strings.CutPrefix(raw, quotes)
	if !ok || !strings.HasSuffix(body, quotes) || len(body) < len(quotes) {
		return "", false
	}
	parts, ok := partsOf(strings.TrimSuffix(body, quotes))
	if !ok {
		return "", false
	}
	from, rest := 0, text
	for from < len(parts) && strings.HasPrefix(rest, parts[from].means) {
		rest = rest[len(parts[from].means):]
		from++
	}
	to := len(parts)
	for to > from && strings.HasSuffix(rest, parts[to-1].means) {
		rest = rest[:len(rest)-len(parts[to-1].means)]
		to--
	}
	if rest != "" && strings.ContainsRune(" \t\n", rune(rest[0])) { // behind a line end that means nothing, blanks would mean nothing, too
		for from > 1 && parts[from-1].means == "" {
			from--
		}
	}
	var b strings.Builder
	b.WriteString(quotes)
	for _, p := range parts[:from] {
		b.WriteString(p.raw)
	}
	b.WriteString(escaped(rest))
	for _, p := range parts[to:] {
		b.WriteString(p.raw)
	}
	b.WriteString(quotes)
	var back struct{ V string }
	if _, err := toml.Decode("v = "+b.String(), &back); err != nil || back.V != text {
		return "", false
	}
	return b.String(), true
}

func partsOf(body string) (all []part, ok bool) {
	if s, first := strings.CutPrefix(strings.TrimPrefix(body, "\r"), "\n"); first { // the first line end means nothing
		all, body = append(all, part{body[:len(body)-len(s)], ""}), s
	}
	for body != "" {
		n, means := 1, ""
		switch blank := strings.TrimLeft(body[1:], " \t"); {
		case body[0] == '\\' && (strings.HasPrefix(blank, "\n") || strings.HasPrefix(blank, "\r\n")):
			n = len(body) - len(strings.TrimLeft(body[1:], " \t\r\n"))
		case body[0] == '\\':
			n = min(len(body), map[byte]int{'u': 6, 'U': 10, 'x': 4}[(body + "\\")[1]])
			if n == 0 {
				n = min(len(body), 2)
			}
			var v struct{ V string }
			if _, err := toml.Decode(`v = "`+body[:n]+`"`, &v); err != nil {
				return nil, false
			}
			means = v.V
		case strings.HasPrefix(body, "\r\n"):
			n, means = 2, "\n"
		default:
			_, n = utf8.DecodeRuneInString(body)
			means = body[:n]
		}
		all, body = append(all, part{body[:n], means}), body[n:]
	}
	return all, true
}

// escaped is a text as it stands between three quotes.
func escaped(s string) string {
	var b strings.Builder
	for _, r := range s {
		switch {
		case r == '"' || r == '\\':
			b.WriteString(`\` + string(r))
		case r < ' ' && r != '\n' && r != '\t' || r == 0x7f:
			fmt.Fprintf(&b, `\u%04X`, r)
		default:
			b.WriteRune(r)
		}
	}
	return b.String()
}
