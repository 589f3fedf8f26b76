// Package sheet reads a radio communications plan sheet (form ICS 205 and its
// many dialects), drafts a plan from it, and writes the list of a plan as such a
// sheet. Start with [Read], then [Sheet.Draft]; the other way is [Write].
//
// What a person must decide stays open in a draft: it is written so that the
// checks point at just that place, with what there is to choose from beside it.
// Nothing is guessed in silence, and nothing on a sheet is lost in silence: each
// cell that is not empty is used, or is shown as not read.
//
// A table is found by what its cells hold, frequencies, tones and names of the
// load; titles help (titles.go: what titles say; kinds.go: what a cell may be;
// table.go: how the two make columns; heads.go: what stands around the table).
package sheet

// Sheet is a plan sheet as it was read: text, not yet looked up.
type Sheet struct {
	Heads   []Head   // what stands above and below the table, in order
	Rows    []Row    // of the table, without empty ones
	NotRead []Cell   // outside of the rows: what nothing was made of
	Taken   []string // what columns were taken for where their titles do not say it
	Name    string   // of the sheet in its workbook; "" where the file is one
	Others  []string // the other sheets of the workbook: nothing of them was read

	find   *finder
	word   string // what its lines are called: "row" of a workbook, else "line"
	lines  int    // that hold something
	hidden bool
}

// Cell is a cell of the sheet that is not empty.
type Cell struct {
	Line   int    // of the file, from 1
	Column int    // from 1; 0 where the line has no columns
	Title  string // of its column; "" where it has none, or outside of the table
	Text   string
}

// Letter is the column as spreadsheets name it: A, B, ... Z, AA.
func (c Cell) Letter() string { return letterOf(c.Column) }

// of names the column of a cell; "this line" where the line has none.
func (c Cell) of() string {
	if c.Column == 0 {
		return "this line"
	}
	return "column " + titled(c.Column-1, c.Title)
}

// letterOf is a column as spreadsheets name it: A, B, ... Z, AA.
func letterOf(column int) string {
	s := ""
	for ; column > 0; column = (column - 1) / 26 {
		s = string(rune('A'+(column-1)%26)) + s
	}
	return s
}

// Head is something that stands outside of the table: what it is, and the cells
// behind its title that are not empty.
type Head struct {
	Line   int // of the file, from 1
	Is     Title
	Values []string

	cells []Cell // of the values, one for each
}

// Row is a line of the table: the text of its cells, without space at the ends,
// line breaks as spaces.
type Row struct {
	Line           int // of the file, from 1
	Zone, Channel  string
	Function, Name string
	Assignment     string
	Rx, RxWidth    string
	RxTone         string
	Tx, TxWidth    string
	TxTone         string
	Mode, Remarks  string
	System, Site   string

	Cells   []Cell // all that are not empty
	NotRead []Cell // those that nothing was made of

	position int             // from 1, in the table
	cells    map[what][]Cell // by what their column was taken for
	byLine   bool            // of a line without columns
	toneless bool            // the table has no column that was recognized as one of tones
}

// MaxRows bounds what is taken for a plan sheet: as many slots as reading a plan
// takes. A radio's list holds a few dozen.
const MaxRows = 300

// titles are the columns' titles on the form, in its order, as [Write] sets
// them.
var titles = []string{
	"Zone Grp.", "Ch #", "Function", "Channel Name/Trunked Radio System Talkgroup", "Assignment",
	"RX Freq N or W", "RX Tone/NAC", "TX Freq N or W", "TX Tone/NAC", "Mode (A, D, or M)", "Remarks",
}
