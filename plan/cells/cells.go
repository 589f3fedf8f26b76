// Package cells reads files that hold tables into cells: XLSX, ODS, CSV, PDF, and
// text as it is pasted. It knows nothing of channels. Start with [Read].
//
// What stands in a cell is what a person sees there: numbers and dates as the
// sheet shows them, results and not formulas. Rows and columns keep their place,
// so that a message can name it.
package cells

import (
	"bytes"
	"errors"
	"fmt"
	"path"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/unicode/norm"
)

// Bounds of a file: far more than any list of channels needs. Our choice.
const (
	MaxFile     = 16 << 20 // bytes of the file
	mostUnzip   = 32 << 20 // bytes of what is packed in it, all together
	mostXML     = 8 << 20  // bytes of the XML among that
	mostMarks   = 400_000  // elements and attributes of the XML: sixty thousand cells
	mostText    = 4 << 20  // bytes of a text file, and of all cells together
	mostSheets  = 200
	mostRows    = 6_000 // rows that hold something, over all sheets; a load has at most 5,000 channels
	mostColumns = 128
	mostCells   = 80_000 // cells that hold something, over all sheets
	mostCell    = 4_000  // characters of a cell
)

// Format is how a file holds its cells.
type Format uint8

const (
	CSV  Format = iota + 1 // text with commas, semicolons, tabs or bars between cells
	Text                   // text as it is pasted: columns by tabs or by two spaces and more
	XLSX                   // Office Open XML: ECMA-376
	ODS                    // OpenDocument: ISO/IEC 26300
	PDF                    // text with its places, and the filled fields of a form: ISO 32000
)

func (f Format) String() string {
	return [...]string{"no format", "CSV", "text", "XLSX", "ODS", "PDF"}[f]
}

// Book is what a file holds.
type Book struct {
	Format Format
	Sheets []*Sheet // in the order of the file; CSV and text have one
}

// Sheet is one sheet of a book.
type Sheet struct {
	Name   string  // "" for CSV and text
	Hidden bool    // the program that wrote the file does not show it
	Rows   []Row   // those that hold something, in order
	Merged []Range // cells that are shown as one, by row and column

	hidden map[int]bool // columns that are not shown
	merged [][]int32    // by index of the row, the ranges that cover some of it
}

// Row is one row of a sheet.
type Row struct {
	Number int    // from 1, as the sheet or the editor numbers it
	Hidden bool   // not shown, by hand or by a filter
	Cells  []Cell // by column, from A; the last one holds something
}

// Cell is one cell. The zero value is an empty one.
type Cell struct {
	Text   string // as shown, on one line, in NFC, without what nobody sees
	Stored string // the number behind it, where it is shown as another one: 151.1375 behind 151.14
	broken string // the text with its line breaks, where it has any
}

// Range is a rectangle of cells; rows from 1, columns from 0, all inclusive.
type Range struct{ Top, Left, Bottom, Right int }

// Lines of the cell's text, as it was broken by hand.
func (c Cell) Lines() []string {
	if c.broken == "" {
		return []string{c.Text}
	}
	return strings.Split(c.broken, "\n")
}

// Empty tells whether nobody sees anything in the cell.
func (c Cell) Empty() bool { return c.Text == "" }

// Cell of the row at a column, from 0; an empty one beyond the last.
func (r Row) Cell(column int) Cell {
	if column < 0 || column >= len(r.Cells) {
		return Cell{}
	}
	return r.Cells[column]
}

// Width is the number of columns, up to the last one that holds something.
func (s *Sheet) Width() int {
	width := 0
	for _, r := range s.Rows {
		width = max(width, len(r.Cells))
	}
	return width
}

// MergedAt is the rectangle that the cell at row index i and a column is part
// of; not ok where it is none's.
func (s *Sheet) MergedAt(i, column int) (Range, bool) {
	if i >= len(s.merged) {
		return Range{}, false
	}
	for _, k := range s.merged[i] {
		if m := s.Merged[k]; m.Left <= column && column <= m.Right {
			return m, true
		}
	}
	return Range{}, false
}

// Shown is what stands at row index i and a column to the eye of a reader: of
// merged cells what their first one holds.
func (s *Sheet) Shown(i, column int) Cell {
	if c := s.Rows[i].Cell(column); !c.Empty() {
		return c
	}
	m, ok := s.MergedAt(i, column)
	if !ok {
		return Cell{}
	}
	for k := i; k >= 0 && s.Rows[k].Number >= m.Top; k-- {
		if s.Rows[k].Number == m.Top {
			return s.Rows[k].Cell(m.Left)
		}
	}
	return Cell{}
}

// place says where a cell stands: "sheet Local, row 7, column D".
func (s *Sheet) place(row, column int) string {
	return s.RowPlace(row) + ", column " + ColumnName(column)
}

// RowPlace says where a row stands: "sheet Local, row 7", or "line 7".
func (s *Sheet) RowPlace(row int) string {
	if s.Name == "" {
		return fmt.Sprintf("line %d", row)
	}
	return fmt.Sprintf("sheet %s, row %d", s.Name, row)
}

// ColumnName is the letter of a column, from 0: A, B, ... Z, AA.
func ColumnName(column int) string {
	name := ""
	for column++; column > 0; column = (column - 1) / 26 {
		name = string(rune('A'+(column-1)%26)) + name
	}
	return name
}

// Read reads a file. What it is, is found from what it holds; the ending of its
// name only tells CSV from pasted text. An error completes the sentence that
// begins with the file's name; data is not kept.
func Read(data []byte, name string) (*Book, error) {
	if len(data) > MaxFile {
		return nil, fmt.Errorf("is larger than %d MB; no list of channels needs as much", MaxFile>>20)
	}
	switch {
	case bytes.HasPrefix(data, []byte("PK\x03\x04")), bytes.HasPrefix(data, []byte("PK\x05\x06")):
		return readZip(data)
	case bytes.HasPrefix(data, []byte("\xd0\xcf\x11\xe0")):
		return nil, errors.New("is locked with a password, or of a kind older than XLSX; save it without password as XLSX or CSV")
	case bytes.HasPrefix(data, []byte("%PDF-")):
		return readPDF(data)
	}
	if len(data) > 2*mostText { // in UTF-16 a letter has two bytes
		return nil, errText
	}
	text, err := decode(data)
	if err != nil {
		return nil, err
	}
	if len(text) > mostText {
		return nil, errText
	}
	return readText(text, strings.ToLower(path.Ext(name)))
}

var errText = fmt.Errorf("holds more than %d MB of text; no list of channels needs as much", mostText>>20)

// builder gathers the cells of a book within its bounds.
type builder struct {
	book              Book
	rows, cells, text int
}

func (b *builder) sheet(name string) (*Sheet, error) {
	if len(b.book.Sheets) == mostSheets {
		return nil, fmt.Errorf("has more than %d sheets; no list of channels needs as many", mostSheets)
	}
	s := &Sheet{Name: clean(name), hidden: map[int]bool{}}
	b.book.Sheets = append(b.book.Sheets, s)
	return s, nil
}

// add takes a row in; one that holds nothing is left out. The cells are cleaned
// in place and kept.
func (b *builder) add(s *Sheet, r Row) error {
	for len(r.Cells) > 0 && blank(r.Cells[len(r.Cells)-1].Text) {
		r.Cells = r.Cells[:len(r.Cells)-1]
	}
	if len(r.Cells) == 0 {
		return nil
	}
	if len(r.Cells) > mostColumns {
		return fmt.Errorf("has more than %d columns at %s; no list of channels needs as many", mostColumns, s.RowPlace(r.Number))
	}
	if b.rows++; b.rows > mostRows {
		return fmt.Errorf("has more than %d rows; no list of channels needs as many", mostRows)
	}
	for i, c := range r.Cells {
		if c.Text == "" {
			continue
		}
		if b.cells++; b.cells > mostCells {
			return fmt.Errorf("has more than %d cells; no list of channels needs as many", mostCells)
		}
		if len(c.Text) > mostCell && utf8.RuneCountInString(c.Text) > mostCell {
			return fmt.Errorf("has more than %d characters in one cell, at %s", mostCell, s.place(r.Number, i))
		}
		if b.text += len(c.Text); b.text > mostText {
			return errText
		}
		text := norm.NFC.String(strings.ToValidUTF8(c.Text, "\uFFFD"))
		r.Cells[i].Text = clean(text)
		if strings.ContainsAny(strings.TrimSpace(text), "\r\n") {
			r.Cells[i].broken = lines(text)
		}
	}
	s.Rows = append(s.Rows, r)
	return nil
}

// done is the book, once all is read.
func (b *builder) done() (*Book, error) {
	if b.rows == 0 {
		return nil, errors.New("is empty")
	}
	left := mostCells // ranges may overlap in a hostile file, not in one that a person made
	for _, s := range b.book.Sheets {
		if len(s.Merged) == 0 {
			continue
		}
		s.merged = make([][]int32, len(s.Rows))
		for k, m := range s.Merged {
			i, _ := slices.BinarySearchFunc(s.Rows, m.Top, func(r Row, top int) int { return r.Number - top })
			for ; i < len(s.Rows) && s.Rows[i].Number <= m.Bottom; i++ {
				if left--; left < 0 {
					return nil, errors.New("has more merged cells than any sheet needs; save it as CSV")
				}
				s.merged[i] = append(s.merged[i], int32(k))
			}
		}
	}
	return &b.book, nil
}

// blank tells whether nobody sees anything in a text.
func blank(s string) bool { return s == "" || clean(s) == "" }

// clean is a text on one line, without what nobody sees.
func clean(s string) string {
	plain := true
	for i := 0; i < len(s) && plain; i++ {
		plain = s[i] > ' ' && s[i] < 0x7f || s[i] == ' ' && i > 0 && i < len(s)-1 && s[i-1] != ' '
	}
	if plain {
		return s
	}
	s = strings.Map(func(r rune) rune {
		if unicode.Is(unicode.Cf, r) || unicode.IsControl(r) && !unicode.IsSpace(r) {
			return -1
		}
		return r
	}, s)
	return strings.Join(strings.Fields(s), " ")
}

// lines is a text with LF between its lines, each of them clean.
func lines(s string) string {
	s = strings.ReplaceAll(strings.ReplaceAll(s, "\r\n", "\n"), "\r", "\n")
	var kept []string
	for line := range strings.SplitSeq(s, "\n") {
		if line = clean(line); line != "" {
			kept = append(kept, line)
		}
	}
	return strings.Join(kept, "\n")
}
