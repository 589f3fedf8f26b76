package cells

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"unicode/utf8"

	"golang.org/x/text/encoding"
	"golang.org/x/text/encoding/charmap"
	utf "golang.org/x/text/encoding/unicode"
	"golang.org/x/text/transform"
)

// decode is the text of a file as UTF-8, with LF at the ends of lines. It reads
// UTF-8 with or without byte order mark, UTF-16 and Windows-1252. An error
// completes the sentence that begins with the file's name.
func decode(data []byte) (string, error) {
	var other transform.Transformer = encoding.Nop.NewDecoder()
	if order, ok := unmarked16(data); ok {
		other = utf.UTF16(order, utf.IgnoreBOM).NewDecoder()
	} else if !utf8.Valid(data) {
		other = charmap.Windows1252.NewDecoder()
	}
	out, _, err := transform.Bytes(utf.BOMOverride(other), data)
	if err != nil || bytes.IndexByte(out, 0) >= 0 {
		return "", errors.New("is no text")
	}
	text := strings.ToValidUTF8(string(out), "\uFFFD")
	return strings.ReplaceAll(strings.ReplaceAll(text, "\r\n", "\n"), "\r", "\n"), nil
}

// unmarked16 recognizes UTF-16 without a byte order mark: Latin letters have
// every other byte zero.
func unmarked16(data []byte) (order utf.Endianness, ok bool) {
	zero := [2]int{}
	for i, b := range data {
		if b == 0 {
			zero[i%2]++
		}
	}
	switch half := len(data) / 2; {
	case half == 0 || len(data)%2 != 0:
		return order, false
	case zero[1] > half*3/4 && zero[0] < half/4:
		return utf.LittleEndian, true
	case zero[0] > half*3/4 && zero[1] < half/4:
		return utf.BigEndian, true
	}
	return order, false
}

// readText reads CSV or pasted text. The ending of the file's name decides where
// it names one of them, else what the lines look like.
func readText(text, ending string) (*Book, error) {
	if blank(text) {
		return nil, errors.New("is empty")
	}
	if err := narrow(text); err != nil {
		return nil, err
	}
	// A first line "sep=;" names the comma: common practice of spreadsheets.
	first, rest, _ := strings.Cut(text, "\n")
	if named, ok := strings.CutPrefix(strings.TrimSpace(strings.ToLower(first)), "sep="); ok && len(named) == 1 && strings.ContainsAny(named, ",;|") {
		return readCSV("\n"+rest, rune(named[0]))
	}
	comma := commaOf(text, ending == ".csv" || ending == ".tsv" || ending == ".tab")
	if comma == 0 {
		return readPasted(text)
	}
	book, err := readCSV(text, comma)
	if err != nil && comma == '\t' && ending != ".csv" && ending != ".tsv" {
		return readPasted(text) // a quotation mark in pasted text is one
	}
	return book, err
}

// narrow refuses a line with more columns than can be, whatever stands between them,
// before room is taken for each. A cell in quotation marks may hold some more commas.
func narrow(text string) error {
	number := 0
	for line := range strings.SplitSeq(text, "\n") {
		number++
		if len(line) <= mostColumns {
			continue
		}
		for _, comma := range [...]string{"\t", ";", "|", ","} {
			if strings.Count(line, comma) > 4*mostColumns {
				return fmt.Errorf("has more than %d columns at line %d; no list of channels needs as many", mostColumns, number)
			}
		}
	}
	return nil
}

// commaOf is what stands between the cells of CSV: the first of tab, semicolon,
// bar and comma that most lines have; 0 where none has most, which is no CSV.
// Where the file is said to be CSV, what some lines have will do.
func commaOf(text string, said bool) rune {
	commas := []rune{'\t', ';', '|', ','}
	with := make([]int, len(commas))
	lines := 0
	for line := range strings.SplitSeq(text, "\n") {
		if blank(line) {
			continue
		}
		lines++
		quoted := false
		var has [4]int
		for _, r := range line {
			if r == '"' {
				quoted = !quoted
			}
			if i := slices.Index(commas, r); i >= 0 && !quoted {
				has[i]++
			}
		}
		if !said && spaced(line) {
			has[3] -= decimals(line)
		}
		for i, n := range has {
			// One comma stands in any sentence; a table of two columns does not hold channels.
			if n > 1 || n == 1 && (commas[i] == '\t' || commas[i] == ';' || said) {
				with[i]++
			}
		}
	}
	for i, c := range commas {
		if 2*with[i] > lines {
			return c
		}
	}
	if !said {
		return 0
	}
	best := len(commas) - 1
	for i := range commas {
		if with[i] > with[best] {
			best = i
		}
	}
	return commas[best]
}

// spaced tells whether spaces set a line's columns apart.
func spaced(line string) bool { return strings.Count(strings.TrimSpace(line), "  ") > 1 }

// decimals counts commas between digits: decimal commas, in columns set apart by
// spaces.
func decimals(line string) int {
	n := 0
	for i := 1; i+1 < len(line); i++ {
		if digit := func(c byte) bool { return '0' <= c && c <= '9' }; line[i] == ',' && digit(line[i-1]) && digit(line[i+1]) {
			n++
		}
	}
	return n
}

func readCSV(text string, comma rune) (*Book, error) {
	b := builder{book: Book{Format: CSV}}
	s, err := b.sheet("")
	if err != nil {
		return nil, err
	}
	r := csv.NewReader(strings.NewReader(text))
	r.Comma, r.FieldsPerRecord, r.LazyQuotes = comma, -1, comma == '|'
	for {
		fields, err := r.Read()
		if err == io.EOF {
			break
		}
		if err != nil {
			var at *csv.ParseError
			if errors.As(err, &at) {
				// Read leniently, a quote too many would swallow the rows behind it.
				return nil, fmt.Errorf("line %d has a quotation mark that does not belong there, or lacks one; "+
					"delete it, or save the sheet as CSV again", at.StartLine)
			}
			return nil, errors.New("is no CSV")
		}
		if comma == '|' {
			fields = barred(fields)
		}
		line, _ := r.FieldPos(0)
		row := Row{Number: line, Cells: make([]Cell, len(fields))}
		for i, f := range fields {
			row.Cells[i].Text = FromText(f)
		}
		if err := b.add(s, row); err != nil {
			return nil, err
		}
	}
	return b.done()
}

// barred drops the bars at both ends of a line, and a line that only draws.
func barred(fields []string) []string {
	if len(fields) > 0 && blank(fields[0]) {
		fields = fields[1:]
	}
	if strings.Trim(strings.Join(fields, ""), "-=:+ \t") == "" {
		return nil
	}
	return fields
}

// part is a piece of a pasted line, and where it stands, in characters.
type part struct {
	text       string
	start, end int
}

// readPasted reads lines whose columns are set apart by tabs or by two spaces
// and more. Where the pieces of the lines stand below each other, as in a table
// copied from a page, an empty cell stays empty; else cells are counted from the
// left.
func readPasted(text string) (*Book, error) {
	b := builder{book: Book{Format: Text}}
	s, err := b.sheet("")
	if err != nil {
		return nil, err
	}
	var block [][]part
	var numbers []int
	flush := func() error {
		for i, cells := range aligned(block) {
			if err := b.add(s, Row{Number: numbers[i], Cells: cells}); err != nil {
				return err
			}
		}
		block, numbers = nil, nil
		return nil
	}
	number := 0
	for line := range strings.SplitSeq(text, "\n") {
		number++
		if blank(line) {
			continue // tables are pasted with empty lines in them
		}
		if len(block) == mostRows {
			return nil, fmt.Errorf("has more than %d lines; no list of channels needs as many", mostRows)
		}
		block, numbers = append(block, parts(line)), append(numbers, number)
	}
	if err := flush(); err != nil {
		return nil, err
	}
	return b.done()
}

// parts takes a line apart at tabs and at two spaces and more.
func parts(line string) []part {
	var found []part
	runes := []rune(strings.ReplaceAll(line, "\u00a0", " "))
	if tabs := strings.Contains(line, "\t"); tabs {
		at := 0
		for piece := range strings.SplitSeq(line, "\t") {
			found = append(found, part{piece, at, at}) // a tab is a column, whatever stands there
			at++
		}
		return found
	}
	for i := 0; i < len(runes); {
		if runes[i] == ' ' {
			i++
			continue
		}
		start := i
		for i < len(runes) && !(runes[i] == ' ' && (i+1 == len(runes) || runes[i+1] == ' ')) {
			i++
		}
		found = append(found, part{string(runes[start:i]), start, i})
	}
	return found
}

// aligned gives each piece its column. Pieces that overlap from line to line are
// one column; where two pieces of one line would share a column, the lines do not
// stand below each other, and columns are counted.
func aligned(lines [][]part) [][]Cell { return alignedBy(lines, columnsOf(lines)) }

// alignedBy gives each piece the column of these that it stands in.
func alignedBy(lines [][]part, columns []part) [][]Cell {
	out := make([][]Cell, len(lines))
	for i, line := range lines {
		cells := make([]Cell, 0, len(line))
		for k, p := range line {
			at := k
			if p.start < p.end && columns != nil {
				at = max(len(cells), place(columns, p))
			}
			for len(cells) < at && at <= mostColumns {
				cells = append(cells, Cell{})
			}
			cells = append(cells, Cell{Text: p.text})
		}
		out[i] = cells
	}
	return out
}

// place is the first column that a piece overlaps, or else the one before which
// it stands.
func place(columns []part, p part) int {
	for i, c := range columns {
		if p.start < c.end {
			return i
		}
	}
	return len(columns)
}

// columnsOf are the columns of lines with at least three pieces, from their
// places; nil where the lines do not stand below each other.
func columnsOf(lines [][]part) []part {
	var all []part
	for _, line := range lines {
		if len(line) < 3 {
			continue
		}
		for _, p := range line {
			if p.start == p.end {
				return nil
			}
			all = append(all, p)
		}
	}
	slices.SortFunc(all, func(a, b part) int { return a.start - b.start })
	var columns []part
	for _, p := range all {
		if n := len(columns); n > 0 && p.start < columns[n-1].end {
			columns[n-1].end = max(columns[n-1].end, p.end)
			continue
		}
		columns = append(columns, part{start: p.start, end: p.end})
	}
	if len(columns) > mostColumns {
		return nil
	}
	for _, line := range lines {
		if len(line) < 3 {
			continue
		}
		last := -1
		for _, p := range line {
			at := place(columns, p)
			if at == last {
				return nil
			}
			last = at
		}
	}
	return columns
}
