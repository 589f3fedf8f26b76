package edit

import (
	"bytes"
	"fmt"
	"regexp"
	"slices"
	"strings"

	"slotcard/plan/tomlfile"
)

// What belongs to a table that has a header: the comment lines right above the
// header; the lines down to the last of its keys, with the tables in it; and the
// comment lines right below that. A comment with blank lines above and below
// belongs to nobody and stays. A comment between two tables without a blank line
// belongs to the lower one, from the last line on that is no key commented out.

// block is the text of a table with a header; offsets of whole lines.
type block struct {
	from, to int // to is behind the last line end, or the end of the text
	keys     []string
	header   int // index of the entry
	last     int // index of the last entry
}

var keyInComment = regexp.MustCompile(`^[ \t]*#[ \t]*[A-Za-z0-9_-]+[ \t]*=`)

// block finds the text of a table. It fails where the table has no header, or
// where its tables stand in several places.
func (e *Editor) block(t tomlfile.Table) (block, bool) {
	header := slices.IndexFunc(e.entries, func(n tomlfile.Entry) bool { return n.Opens(t) })
	switch {
	case e.err != nil:
		return block{}, false
	case e.file.Broken():
		e.fail(t, "the file has lines that cannot be read; correct them first")
		return block{}, false
	case header < 0:
		e.fail(t, "the table has no header of its own, so it cannot be moved or removed as a whole")
		return block{}, false
	}
	last := e.lastOf(header)
	for i, other := range e.entries {
		if (i < header || i > last) && other.Below(t) {
			e.fail(t, "its tables do not all stand below it; the next is in line %d", 1+bytes.Count(e.text[:other.Span.From], []byte{'\n'}))
			return block{}, false
		}
	}
	return e.blockOf(header, last), true
}

// lastOf is the last entry of the table whose header is given, with the tables
// in it.
func (e *Editor) lastOf(header int) int {
	keys, last := e.entries[header].Keys, header
	for i := header + 1; i < len(e.entries); i++ {
		if other := e.entries[i]; other.Header && !(len(other.Keys) > len(keys) && slices.Equal(other.Keys[:len(keys)], keys)) {
			break
		}
		last = i
	}
	return last
}

func (e *Editor) blockOf(header, last int) block {
	b := block{from: e.lead(header), to: e.lineEnd(e.entries[last].Span.To), keys: e.entries[header].Keys, header: header, last: last}
	below := len(e.text)
	if last+1 < len(e.entries) {
		below = e.lead(last + 1)
	}
	for b.to < below && e.comment(b.to) {
		b.to = e.lineEnd(b.to)
	}
	return b
}

// lead is where the comment lines right above a header begin, or the header.
func (e *Editor) lead(header int) int {
	at := e.lineStart(e.entries[header].Span.From)
	above := 0
	if header > 0 {
		above = e.lineEnd(e.entries[header-1].Span.To)
	}
	from := at
	for from > above && e.comment(e.lineStart(from-1)) {
		from = e.lineStart(from - 1)
	}
	if from != above || header == 0 {
		return from
	}
	for line := from; line < at; line = e.lineEnd(line) {
		if keyInComment.Match(e.text[line:e.lineEnd(line)]) {
			from = e.lineEnd(line)
		}
	}
	return from
}

// comment tells whether the line that begins at from is a comment. One for
// editors, such as #:schema, belongs to the file.
func (e *Editor) comment(from int) bool {
	line := bytes.TrimLeft(e.text[from:e.lineEnd(from)], " \t")
	return len(line) > 0 && line[0] == '#' && !bytes.HasPrefix(line, []byte("#:"))
}

// blanks is where the blank lines end that begin at offset from.
func (e *Editor) blanks(from int) int {
	for from < len(e.text) && len(bytes.TrimSpace(e.text[from:e.lineEnd(from)])) == 0 {
		from = e.lineEnd(from)
	}
	return from
}

// blanksBefore is where the blank lines begin that end at offset to.
func (e *Editor) blanksBefore(to int) int {
	for to > 0 && len(bytes.TrimSpace(e.text[e.lineStart(to-1):to])) == 0 {
		to = e.lineStart(to - 1)
	}
	return to
}

// DeleteTable removes a table with its header, its keys, and the comments that
// belong to it. A table in braces that is an item of a list goes alone.
func (e *Editor) DeleteTable(t tomlfile.Table) *Editor {
	if e.failed(nil) {
		return e
	}
	if b, ok := e.block(t); ok {
		e.say("delete the %s in line %d", e.title(b), e.line(b))
		e.drop(b)
	}
	return e
}

// drop removes a block, and the blank lines on that side where fewer are.
func (e *Editor) drop(b block) {
	before, after := e.blanksBefore(b.from), e.blanks(b.to)
	s := tomlfile.Span{From: b.from, To: b.to}
	switch {
	case after == len(e.text) || bytes.Count(e.text[before:b.from], []byte{'\n'}) < bytes.Count(e.text[b.to:after], []byte{'\n'}):
		s.From = before
	default:
		s.To = after
	}
	e.put(s, "")
}

// MoveBefore puts a table in front of another one with the same header, and
// MoveAfter behind it.
func (e *Editor) MoveBefore(t, other tomlfile.Table) *Editor { return e.move(t, other, false) }

// MoveAfter puts a table behind another one with the same header.
func (e *Editor) MoveAfter(t, other tomlfile.Table) *Editor { return e.move(t, other, true) }

func (e *Editor) move(t, other tomlfile.Table, after bool) *Editor {
	if e.failed(nil) {
		return e
	}
	b, ok := e.block(t)
	target, found := e.block(other)
	if !ok || !found {
		return e
	}
	way := "in front of"
	if after {
		way = "behind"
	}
	e.say("move the %s in line %d %s the one in line %d", e.title(b), e.line(b), way, e.line(target))
	switch {
	case !slices.Equal(b.keys, target.keys):
		e.fail(t, "it can be moved only among tables of the same name")
	case t.SameAs(other), after && b.header == target.last+1, !after && target.header == b.last+1:
		// it stands there
	default:
		e.drop(b)
		e.insert(target, after, string(e.text[b.from:b.to]))
	}
	return e
}

// insert puts lines in front of a block or behind it, as many blank lines apart
// as its like stand from each other.
func (e *Editor) insert(b block, after bool, lines string) {
	newline := e.newline()
	if !strings.HasSuffix(lines, "\n") {
		lines += newline
	}
	apart := strings.Repeat(newline, e.apart(b))
	if !after {
		e.put(tomlfile.Span{From: b.from, To: b.from}, lines+apart)
		return
	}
	if b.to > 0 && e.text[b.to-1] != '\n' {
		apart = newline + apart
	}
	e.put(tomlfile.Span{From: b.to, To: b.to}, apart+lines)
}

// apart is how many blank lines stand between a table and the next or the one
// before of the same name; one where it is the only one.
func (e *Editor) apart(b block) int {
	if next := b.last + 1; next < len(e.entries) && slices.Equal(e.entries[next].Keys, b.keys) {
		return bytes.Count(e.text[b.to:e.blanks(b.to)], []byte{'\n'})
	}
	for i := b.header - 1; i >= 0; i-- {
		if n := e.entries[i]; n.Header {
			if slices.Equal(n.Keys, b.keys) {
				return bytes.Count(e.text[e.blanksBefore(b.from):b.from], []byte{'\n'})
			}
			if len(n.Keys) <= len(b.keys) {
				break
			}
		}
	}
	return 1
}

// Table is a table to add: its header as it is written, such as [[slot]], its
// keys in order, and a comment above it, without the mark.
type Table struct {
	Header  string
	Keys    tomlfile.Pairs
	Comment string
}

// String is the table as TOML, its equals signs below each other, with LF at the
// end of each line.
func (t Table) String() string {
	text, err := t.lines("\n")
	if err != nil {
		return "# " + err.Error() + "\n"
	}
	return text
}

func (t Table) lines(newline string) (string, error) {
	width := 0
	for _, p := range t.Keys {
		width = max(width, len(keyText(p.Key)))
	}
	var b strings.Builder
	if t.Comment != "" {
		for line := range strings.SplitSeq(t.Comment, "\n") {
			b.WriteString(strings.TrimRight("# "+line, " ") + newline)
		}
	}
	b.WriteString(t.Header + newline)
	for _, p := range t.Keys {
		text, err := Value(p.Value)
		if err != nil {
			return "", err
		}
		fmt.Fprintf(&b, "%-*s = %s%s", width, keyText(p.Key), text, newline)
	}
	return b.String(), nil
}

// InsertBefore adds a table in front of another one, InsertAfter behind it.
func (e *Editor) InsertBefore(other tomlfile.Table, t Table) *Editor {
	return e.addTable(other, t, false)
}

// InsertAfter adds a table behind another one.
func (e *Editor) InsertAfter(other tomlfile.Table, t Table) *Editor {
	return e.addTable(other, t, true)
}

func (e *Editor) addTable(other tomlfile.Table, t Table, after bool) *Editor {
	e.say("add %s", t.brief())
	lines, err := t.lines(e.newline())
	if e.failed(err) {
		return e
	}
	if b, ok := e.block(other); ok {
		e.insert(b, after, lines)
	}
	return e
}

// Append adds a table at the end of the file.
func (e *Editor) Append(t Table) *Editor {
	newline := e.newline()
	lines, err := t.lines(newline)
	e.say("add %s", t.brief())
	if e.failed(err) {
		return e
	}
	end := len(bytes.TrimRight(e.text, " \t\r\n"))
	if end > 0 {
		end = e.lineEnd(end)
		lines = newline + lines
		if e.text[end-1] != '\n' {
			lines = newline + lines
		}
	}
	e.put(tomlfile.Span{From: end, To: end}, lines)
	return e
}

// brief is the table in one line of words.
func (t Table) brief() string {
	var keys []string
	for _, p := range t.Keys {
		if text, err := Value(p.Value); err == nil {
			keys = append(keys, keyText(p.Key)+" = "+text)
		}
	}
	if len(keys) == 0 {
		return t.Header
	}
	return t.Header + " with " + strings.Join(keys, ", ")
}

// add writes a key that a table does not have yet.
func (e *Editor) add(t tomlfile.Table, key, value string) {
	if t.Damaged() {
		e.fail(t, "the table has lines that cannot be read; correct them first")
		return
	}
	switch t.Form() {
	case tomlfile.InBraces:
		e.addInBraces(t, keyText(key)+" = "+value)
	case tomlfile.AtTop, tomlfile.Headed, tomlfile.Dotted:
		e.addLine(t, key, value)
	default:
		e.fail(t, "the table has no header of its own to put %s under", key)
	}
}

func (e *Editor) addInBraces(t tomlfile.Table, pair string) {
	at := t.TextSpan()
	end := at.From
	for _, p := range t.PairSpans() {
		end = max(end, p.To)
	}
	if end == at.From {
		e.put(at, "{ "+pair+" }")
		return
	}
	e.put(tomlfile.Span{From: end, To: end}, ", "+pair)
}

// addLine writes the key below the last one of its table, in its column.
func (e *Editor) addLine(t tomlfile.Table, key, value string) {
	var near *tomlfile.Entry
	prefix := ""
	for i := range e.entries {
		if n := &e.entries[i]; n.Opens(t) {
			near = n
		} else if parts, ok := n.In(t); ok {
			near, prefix = n, dotted(n.Keys[:parts])
		}
	}
	switch {
	case near != nil:
	case t.Form() == tomlfile.AtTop:
		e.addFirst(keyText(key) + " = " + value)
		return
	default:
		e.fail(t, "%s is a part of braces, which can only be changed by hand", key)
		return
	}
	name := prefix + keyText(key)
	start := e.lineStart(near.Span.From)
	indent := string(e.text[start:near.Span.From])
	if !near.Header {
		name = fmt.Sprintf("%-*s", e.equals(*near), name)
	}
	e.below(near.Span.To, indent+name+" = "+value)
}

// below writes a line below the one that holds offset at.
func (e *Editor) below(at int, line string) {
	end := e.lineEnd(at)
	if end > 0 && e.text[end-1] != '\n' {
		e.put(tomlfile.Span{From: end, To: end}, e.newline()+line)
		return
	}
	e.put(tomlfile.Span{From: end, To: end}, line+e.newline())
}

// addFirst writes the first key of a file that has none at its top.
func (e *Editor) addFirst(line string) {
	newline := e.newline()
	if len(e.entries) > 0 {
		at := e.lead(0)
		e.put(tomlfile.Span{From: at, To: at}, line+newline+newline)
		return
	}
	if end := len(e.text); end > 0 {
		e.below(end, line)
		return
	}
	e.put(tomlfile.Span{}, line+newline)
}

// dotted is the beginning of a dotted key.
func dotted(keys []string) string {
	var b strings.Builder
	for _, k := range keys {
		b.WriteString(keyText(k) + ".")
	}
	return b.String()
}

// equals is how many characters a key may have without moving the equals sign
// out of the column in which it stands in the entry.
func (e *Editor) equals(n tomlfile.Entry) int {
	key := e.text[n.Span.From:n.Span.To]
	if i := bytes.IndexByte(key, '='); i > 0 && bytes.IndexByte(key[:i], '"') < 0 {
		return len(bytes.TrimSuffix(key[:i], []byte{' '}))
	}
	return 0
}

func (e *Editor) title(b block) string {
	s := e.entries[b.header].Span
	return string(e.text[s.From:s.To])
}

func (e *Editor) line(b block) int {
	return 1 + bytes.Count(e.text[:e.entries[b.header].Span.From], []byte{'\n'})
}

// lineStart is where the line begins that holds offset at.
func (e *Editor) lineStart(at int) int { return bytes.LastIndexByte(e.text[:at], '\n') + 1 }

// lineEnd is behind the line end of the line that holds offset at.
func (e *Editor) lineEnd(at int) int {
	if i := bytes.IndexByte(e.text[at:], '\n'); i >= 0 {
		return at + i + 1
	}
	return len(e.text)
}

// newline is how the first line of the file ends.
func (e *Editor) newline() string {
	if i := bytes.IndexByte(e.text, '\n'); i > 0 && e.text[i-1] == '\r' {
		return "\r\n"
	}
	return "\n"
}
