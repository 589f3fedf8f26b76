package edit

import "slotcard/plan/tomlfile"

// Root is the top level of the file, from which tables are found by
// [tomlfile.Table.TableIn] and [tomlfile.Table.TablesIn].
func (e *Editor) Root() tomlfile.Table { return e.file.Root() }

// Err is why something could not be done, nil where all could.
func (e *Editor) Err() error { return e.err }
