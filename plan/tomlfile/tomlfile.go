// Package tomlfile reads a TOML file into Go structs and reports everything
// that is wrong with it at once, each fault with the line and column of the very
// key or value. Start with [Decode].
//
// The structs are the one description of a file: their tags name the keys,
// say which must be there, and carry the sentence that the JSON Schema shows.
//
//	type Site struct {
//		tomlfile.Table `toml:"-"`
//		Name string `toml:"name,required" doc:"name of the repeater site"`
//	}
//
// A tag alias names another spelling of the key. A struct that embeds [Table] knows where
// it stands, so that later checks can point at its keys. Scalar types with rules of their
// own implement UnmarshalTOML(any) error; the error completes the sentence "KEY ...", and a
// [finding.ValueError] also says what would do.
//
// Three readers share the work, because none has all that is needed at the speed
// that is needed: a parser that gives the place of every key (go-toml's unstable
// one) builds the tree; a decoder whose values are those of the standard
// (BurntSushi's) gives dates, escapes and every unusual form; and plain.go reads
// the plain text, number or truth that nearly all statements of a load are, which
// halves the time of a large file. A test holds the second and the third together.
package tomlfile

import (
	"bytes"
	"fmt"
	"strings"

	"slotcard/plan/finding"
)

// Bounds of what is read. A load of five thousand channels stays below the size,
// and no file of ours nests deeper than four.
const (
	MaxSize   = 1 << 20 // bytes
	maxDepth  = 64      // brackets and braces inside each other
	maxKeys   = 16      // parts of a dotted key
	maxItems  = 10_000  // values in the brackets and braces of one key
	maxCommas = 100_000 // of a file: the parser takes room for every value before it can be counted
)

// Rules that reading can break, all of them errors.
const (
	RuleTooLarge     = "too-large"     // the file is larger than MaxSize
	RuleTooDeep      = "too-deep"      // nested deeper than maxDepth
	RuleEncoding     = "encoding"      // not UTF-8 text
	RuleSyntax       = "syntax"        // not TOML
	RuleDuplicateKey = "duplicate-key" // one key, or one table, twice
	RuleUnknownKey   = "unknown-key"   // a key that means nothing there
	RuleKeyCase      = "key-case"      // a key that differs in case only
	RuleMissingKey   = "missing-key"   // a required key is absent
	RuleWrongType    = "wrong-type"    // text for a number, and the like
	RuleNoOffset     = "no-offset"     // a date and time without UTC offset
	RuleOutOfRange   = "out-of-range"  // a number beyond its limits
	RuleBadValue     = "bad-value"     // any other value that cannot be
)

// Pairs is a table as an UnmarshalTOML method gets it: in the order written.
type Pairs []Pair

// Pair is a key of a table and its value.
type Pair struct {
	Key   string
	Value any
}

// ItemError is what an UnmarshalTOML method says about a single item of a list,
// or a single pair of a table; several are joined with [errors.Join].
type ItemError struct {
	Index int // from 0
	Err   error
}

func (e *ItemError) Error() string { return fmt.Sprintf("item %d %s", e.Index+1, e.Err) }
func (e *ItemError) Unwrap() error { return e.Err }

// Table is the place of a TOML table in its file. The zero Table has no place.
type Table struct {
	file *File
	node *node
}

// At is the place of the value of key; of the table itself where the key is
// absent or "".
func (t Table) At(key string) finding.Place {
	if t.node == nil {
		return finding.Place{}
	}
	if n := t.node.get(key); n != nil {
		return t.file.place(n.value)
	}
	return t.file.place(t.node.where())
}

// AtItem is the place of item i, from 0, of the array under key; of the array
// where there is no such item. In a table under key it is the place of its key
// number i, in the order written.
func (t Table) AtItem(key string, i int) finding.Place {
	if t.node != nil {
		if n := t.node.get(key); n != nil {
			return t.file.place(n.item(i))
		}
	}
	return t.At(key)
}

// AtText is the place of text, as it is written, inside of the value of key; of
// the value where it is not written so.
func (t Table) AtText(key, text string) finding.Place {
	if t.node != nil && text != "" {
		if n := t.node.get(key); n != nil && n.value.to <= len(t.file.data) {
			if i := bytes.Index(t.file.data[n.value.from:n.value.to], []byte(text)); i >= 0 {
				from := n.value.from + i
				return t.file.place(span{from, from + len(text)})
			}
		}
	}
	return t.At(key)
}

// Has tells whether the key was written.
func (t Table) Has(key string) bool { return t.node != nil && t.node.get(key) != nil }

// Written is the key as the file spells it, which may be its other spelling.
func (t Table) Written(key string) string {
	if t.node != nil {
		if n := t.node.get(key); n != nil && n.key.to <= len(t.file.data) && t.file.data[n.key.from] != '[' {
			if text := strings.Trim(string(t.file.data[n.key.from:n.key.to]), `"'`); text != "" {
				return text
			}
		}
	}
	return key
}

// OK tells whether the key was written, and its value could be read.
func (t Table) OK(key string) bool {
	if t.node == nil {
		return false
	}
	n := t.node.get(key)
	return n != nil && !n.bad
}

// Damaged tells whether some line of the table could not be read at all, so that
// a key which seems to be absent may have been written.
func (t Table) Damaged() bool { return t.node != nil && t.node.spoiled }

// Doubtful tells whether the table is damaged, or a key in it means nothing: it
// may be one that seems to be absent.
func (t Table) Doubtful() bool { return t.node != nil && (t.node.spoiled || t.node.strange) }

// File of the table; nil for the zero Table.
func (t Table) File() *File { return t.file }

func (t *Table) setTable(f *File, n *node) { t.file, t.node = f, n }

// Decode reads the TOML text of the file called name into the struct that into
// points to. What could be read is filled in even where there are faults; a
// finding of severity error says that the struct is not to be trusted. The file
// is never nil.
func Decode(name string, data []byte, into any) (*File, finding.List) {
	f := &File{name: name, root: &node{kind: table}}
	if fault := tooLarge(data); fault != "" {
		f.addAt(finding.Place{File: name}, RuleTooLarge, fault, "check that this is the file you meant")
		return f, f.findings
	}
	f.setText(data)
	f.parse()
	if len(f.root.names) == 0 && len(f.findings) == 0 {
		f.addAt(finding.Place{File: name}, RuleMissingKey, emptyFile(data), "slotcard new DIR writes files to start from")
		f.empty = true // what is missing goes without saying
	}
	f.readValues()
	f.fill(into)
	f.findings.Sort()
	if f.dropped > 0 {
		last := &f.findings[len(f.findings)-1]
		last.Help = append(last.Help, fmt.Sprintf("%d more faults are not listed", f.dropped))
	}
	return f, f.findings
}

// tooLarge is why a file is not read at all; "" where it is.
func tooLarge(data []byte) string {
	if len(data) > MaxSize {
		return fmt.Sprintf("the file has %d bytes, more than the %d that a load or a plan may have", len(data), MaxSize)
	}
	if n := bytes.Count(data, []byte{','}); n > maxCommas {
		return fmt.Sprintf("the file has %d commas, more than the %d that a load or a plan may have", n, maxCommas)
	}
	return ""
}

func emptyFile(data []byte) string {
	if len(bytes.TrimSpace(data)) == 0 {
		return "the file is empty"
	}
	return "the file holds nothing but remarks"
}

// Top tells which keys stand at the top of a TOML text, and which of them are
// tables. What cannot be read is left out.
func Top(data []byte) map[string]bool {
	f := &File{root: &node{kind: table}}
	if tooLarge(data) == "" {
		f.setText(data)
		f.parse()
	}
	return f.Top()
}

// Top tells which keys stand at the top of the file, and which of them are tables.
func (f *File) Top() map[string]bool {
	top := map[string]bool{}
	for i, name := range f.root.names {
		n := f.root.nodes[i]
		top[name] = n.kind == table || n.tables
	}
	return top
}
