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
// A struct that embeds [Table] knows where it stands, so that later checks can
// point at its keys. Scalar types with rules of their own implement
// UnmarshalTOML(any) error; the error completes the sentence "KEY ...".
package tomlfile

import "slotcard/plan/finding"

// Table is the place of a TOML table in its file. The zero Table has no place.
type Table struct {
	file *File
	path string
}

// At is the place of the value of key; of the table itself where the key is
// absent or "".
func (t Table) At(key string) finding.Place { return t.file.at(t.path, key) }

// AtItem is the place of item i of the array under key; of the array where
// there is no such item.
func (t Table) AtItem(key string, i int) finding.Place { return t.file.atItem(t.path, key, i) }

// Has tells whether the key was written.
func (t Table) Has(key string) bool { return t.file.has(t.path, key) }

func (t *Table) setTable(f *File, path string) { t.file, t.path = f, path }
