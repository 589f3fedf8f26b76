package tomlfile

import (
	"cmp"
	"slices"
	"strconv"
	"unicode/utf8"

	"github.com/BurntSushi/toml"

	"slotcard/plan/finding"
)

// Span is a range of bytes of [File.Text].
type Span struct{ From, To int }

// Text is the file as it was given, without a byte order mark. It must not be
// changed.
func (f *File) Text() []byte { return f.given }

// Change is the edit of one span. The positions are those of the file as it was
// given, a byte order mark included.
func (f *File) Change(s Span, text string) finding.Change {
	return finding.Change{File: f.name, From: f.position(s.From), To: f.position(s.To), Old: string(f.given[s.From:s.To]), New: text}
}

func (f *File) position(at int) finding.Position {
	line := f.line(at)
	return finding.Position{Line: line + 1, Column: f.runes(f.lines[line], at) + 1, Offset: f.mark + at}
}

// SpanOf is the place of a finding as a span; false where it is of another file,
// or of the file as a whole.
func (f *File) SpanOf(p finding.Place) (Span, bool) {
	if p.File != f.name || p.Line < 1 || p.Line > len(f.lines) || p.Column < 1 {
		return Span{}, false
	}
	from := f.characters(f.lines[p.Line-1], p.Column-1)
	to := f.characters(from, p.Length)
	return Span{from, to}, to <= len(f.given)
}

// characters is the offset n characters behind another one.
func (f *File) characters(at, n int) int {
	for ; n > 0 && at < len(f.data); n-- {
		_, size := utf8.DecodeRune(f.data[at:])
		at += size
	}
	return at
}

// Form is how a table is written.
type Form uint8

const (
	Nowhere  Form = iota // the zero Table, or one that the text does not hold
	AtTop                // the keys before the first header
	Headed               // below a [header] or [[header]] of its own
	Implied              // only by the headers of tables in it
	Dotted               // by dotted keys
	InBraces             // { ... }
)

var formNames = [...]string{"nowhere", "top", "headed", "implied", "dotted", "in braces"}

func (f Form) String() string { return formNames[f] }

// Form is how the table is written.
func (t Table) Form() Form {
	switch n := t.node; {
	case n == nil || n.kind != table:
		return Nowhere
	case n == t.file.root:
		return AtTop
	case n.defined:
		return Headed
	case n.dotted:
		return Dotted
	case n.closed:
		return InBraces
	}
	return Implied
}

// TextSpan is where the table is written: its header, its braces, or the first of
// its dotted keys.
func (t Table) TextSpan() Span { return export(t.node.where()) }

// KeysWritten are the keys of the table, in the order written.
func (t Table) KeysWritten() []string {
	if t.node == nil {
		return nil
	}
	return slices.Clone(t.node.names)
}

// KeySpan is where the key itself is written.
func (t Table) KeySpan(key string) (Span, bool) {
	if n := t.child(key); n != nil {
		return export(n.key), true
	}
	return Span{}, false
}

// ValueSpan is where the value of key is written; not so for a table without braces.
func (t Table) ValueSpan(key string) (Span, bool) {
	n := t.child(key)
	if n == nil || n.tables || n.kind == table && !(n.closed && !n.dotted) {
		return Span{}, false
	}
	return export(n.value), true
}

// ItemSpans are where the values of the list in brackets under key are written.
func (t Table) ItemSpans(key string) ([]Span, bool) {
	n := t.child(key)
	if n == nil || n.kind != array || n.tables {
		return nil, false
	}
	spans := make([]Span, len(n.nodes))
	for i, item := range n.nodes {
		spans[i] = export(item.where())
	}
	return spans, true
}

// PairSpans are where the keys and values of a table in braces are written, from the
// beginning of the key to the end of the value.
func (t Table) PairSpans() []Span {
	spans := make([]Span, len(t.node.nodes))
	for i, n := range t.node.nodes {
		spans[i] = export(n.all())
	}
	return spans
}

// all is the key and the value of n, or of the dotted keys below it.
func (n *node) all() span {
	s := span{n.key.from, max(n.key.to, n.value.to)}
	if n.dotted {
		for _, child := range n.nodes {
			s.to = max(s.to, child.all().to)
		}
	}
	return s
}

func (t Table) child(key string) *node {
	if t.node == nil {
		return nil
	}
	return t.node.get(key)
}

// TableIn is the table under key.
func (t Table) TableIn(key string) (Table, bool) {
	n := t.child(key)
	return Table{t.file, n}, n != nil && n.kind == table
}

// TablesIn are the tables of the list under key, whether they have headers or
// stand in braces.
func (t Table) TablesIn(key string) []Table {
	n := t.child(key)
	if n == nil || n.kind != array {
		return nil
	}
	var tables []Table
	for _, item := range n.nodes {
		if item.kind == table {
			tables = append(tables, Table{t.file, item})
		}
	}
	return tables
}

// SameAs tells whether both are the same table of the same file.
func (t Table) SameAs(other Table) bool { return t.node == other.node }

// Entry is a statement of the text: a header, or a key with its value.
type Entry struct {
	Span   Span
	Keys   []string // the parts of its name
	Parts  []Span   // of a header: where they are written
	Header bool
	node   *node // the table that a header opens; the value of a key
	owner  *node // the table that the last header before it has opened
}

// Opens tells whether the entry is the header of the table.
func (e Entry) Opens(t Table) bool { return e.Header && e.node == t.node }

// Below tells whether the entry is a header of a table somewhere in t.
func (e Entry) Below(t Table) bool {
	if !e.Header || e.node == t.node {
		return false
	}
	return t.node.holds(e.node)
}

func (n *node) holds(other *node) bool {
	for _, child := range n.nodes {
		if child == other || child.holds(other) {
			return true
		}
	}
	return false
}

// In tells whether the entry gives a key of t, or of a table in t by a dotted
// key, and how many parts of its name lead to t.
func (e Entry) In(t Table) (parts int, ok bool) {
	if e.Header {
		return 0, false
	}
	at := e.owner
	for i, key := range e.Keys {
		if at == t.node {
			return i, true
		}
		if at = at.get(key); at == nil {
			break
		}
	}
	return 0, false
}

// Entries are the statements of the text that could be read, in order.
// They must not be changed.
func (f *File) Entries() []Entry {
	f.once.Do(func() { f.entries = f.allEntries() })
	return f.entries
}

func (f *File) allEntries() []Entry {
	all := make([]Entry, 0, len(f.headers)+len(f.statements))
	for _, h := range f.headers {
		parts := make([]Span, len(h.parts))
		for i, p := range h.parts {
			parts[i] = export(p)
		}
		all = append(all, Entry{Span: export(h.text), Keys: h.names, Parts: parts, Header: true, node: h.node})
	}
	for _, s := range f.statements {
		all = append(all, Entry{Span: export(s.text), Keys: s.keys, node: s.node})
	}
	slices.SortFunc(all, func(a, b Entry) int { return cmp.Compare(a.Span.From, b.Span.From) })
	owner := f.root
	for i := range all {
		if all[i].Header {
			owner = all[i].node
		}
		all[i].owner = owner
	}
	return all
}

func export(s span) Span { return Span{s.from, s.to} }

// through tells whether a header opens a table in t, however deep, and how many
// parts of its name lead to t.
func (e Entry) through(t Table) (parts int, ok bool) {
	if !e.Header {
		return 0, false
	}
	at := t.file.root
	for i, key := range e.Keys {
		if at == t.node {
			return i, true
		}
		if at = at.get(key); at == nil {
			return 0, false
		}
		if at.tables && len(at.nodes) > 0 && i+1 < len(e.Keys) {
			for _, item := range at.nodes {
				if item.holds(e.node) {
					at = item
				}
			}
		}
	}
	return 0, false
}

// Given is the file as it was given, a byte order mark included.
func (f *File) Given() []byte { return f.whole }

// maxEdits bounds how many edits the findings of a file offer: with more faults a
// person had better look at the whole.
const maxEdits = 100

// MayOffer counts the edits that findings offer, and tells whether one more may be.
func (f *File) MayOffer() bool { return f.edits.Add(1) <= maxEdits }

// offer gives a finding an edit of the spans, each with its new text.
func (f *File) offer(to *finding.Finding, title string, changes ...finding.Change) {
	if len(changes) > 0 && !f.MayOffer() {
		changes = nil
	}
	to.Offer(finding.Edit{Title: title, Changes: changes})
}

// replace offers to write text at s.
func (f *File) replace(to *finding.Finding, title string, s span, text string) {
	f.offer(to, title, f.Change(export(s), text))
}

// Renamed are the changes that give a key of the table another name, in all
// headers where it stands in headers; false where it is written by several
// dotted keys, or not at all.
func (t Table) Renamed(key, name string) ([]finding.Change, bool) {
	n := t.child(key)
	if n == nil {
		return nil, false
	}
	change := func(at span) finding.Change {
		if t.file.data[at.from] == '"' {
			return t.file.Change(export(at), strconv.Quote(name))
		}
		return t.file.Change(export(at), toml.Key{name}.String())
	}
	var changes []finding.Change
	for _, h := range t.file.headers {
		e := Entry{Keys: h.names, Header: true, node: h.node}
		if i, ok := e.through(t); ok && i < len(h.names) && h.names[i] == key {
			changes = append(changes, change(h.parts[i]))
		}
	}
	switch {
	case len(changes) > 0:
		return changes, true
	case n.kind == table && n.dotted && len(n.nodes) > 1:
		return nil, false
	}
	return []finding.Change{change(n.key)}, true
}

// rename offers to write a key of n as name.
func (f *File) rename(to *finding.Finding, title string, n *node, key, name string) {
	var changes []finding.Change
	if f.edits.Load() < maxEdits && n.get(name) == nil {
		changes, _ = Table{f, n}.Renamed(key, name)
	}
	f.offer(to, title, changes...)
}
