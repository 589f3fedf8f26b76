package sheet

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"strings"
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/encoding"
	"golang.org/x/text/encoding/charmap"
	utf "golang.org/x/text/encoding/unicode"
	"golang.org/x/text/transform"
	"golang.org/x/text/unicode/norm"
)

// Read reads a plan sheet: CSV with comma, semicolon or tab, in UTF-8 with or
// without byte order mark, UTF-16 or Windows-1252. The line of titles may stand
// below lines about the incident. An error completes the sentence that begins
// with the file's name.
func Read(data []byte) (*Sheet, error) {
	text, err := decode(data)
	if err != nil {
		return nil, err
	}
	var best table
	var broken error
	for _, comma := range []rune{',', ';', '\t'} {
		t, err := split(text, comma)
		switch {
		case len(t.columns) == 0:
		case err != nil:
			broken = err
		case len(t.columns) > len(best.columns):
			best = t
		}
	}
	switch {
	case len(best.columns) > 0:
		return best.sheet()
	case broken != nil:
		return nil, broken
	}
	return nil, errors.New("has no line with the titles of a plan sheet: it needs Channel Name or RX Freq and another one, such as " +
		"Function, Channel Name, Assignment, RX Freq N or W, RX Tone/NAC, TX Freq N or W, TX Tone/NAC")
}

// decode is the text of a file as UTF-8 in NFC, with LF at the ends of lines.
func decode(data []byte) (string, error) {
	switch {
	case bytes.HasPrefix(data, []byte("PK\x03\x04")), bytes.HasPrefix(data, []byte("\xd0\xcf\x11\xe0")):
		return "", errors.New("is a spreadsheet's own file; save the sheet as CSV and name that")
	case bytes.HasPrefix(data, []byte("%PDF-")):
		return "", errors.New("is a PDF; type the sheet into a spreadsheet, save it as CSV and name that")
	}
	var other transform.Transformer = encoding.Nop.NewDecoder()
	if order, ok := unmarked16(data); ok {
		other = utf.UTF16(order, utf.IgnoreBOM).NewDecoder()
	} else if !utf8.Valid(data) {
		other = charmap.Windows1252.NewDecoder()
	}
	out, _, err := transform.Bytes(utf.BOMOverride(other), data)
	if err != nil {
		return "", errors.New("is no text")
	}
	text := string(out)
	if strings.IndexByte(text, 0) >= 0 {
		return "", errors.New("is no text")
	}
	text = strings.ToValidUTF8(text, "\uFFFD")
	text = strings.ReplaceAll(strings.ReplaceAll(text, "\r\n", "\n"), "\r", "\n")
	return norm.NFC.String(text), nil
}

// unmarked16 recognises UTF-16 without a byte order mark: Latin letters have
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

// record is a line of CSV.
type record struct {
	line  int
	cells []string
}

// table is a file taken apart by one kind of comma.
type table struct {
	records []record
	titles  int            // index of the record that holds the titles
	columns map[int]column // by index of the cell; empty: no titles
}

// split takes a text apart. With an error the table holds what stands before
// the fault.
func split(text string, comma rune) (table, error) {
	r := csv.NewReader(strings.NewReader(text))
	r.Comma, r.FieldsPerRecord = comma, -1
	var t table
	for {
		cells, err := r.Read()
		if err == io.EOF {
			return t, nil
		}
		if err != nil {
			var at *csv.ParseError
			if errors.As(err, &at) {
				// Read leniently, a quote too many would swallow the channels behind it.
				return t, fmt.Errorf("line %d has a quotation mark that does not belong there, or lacks one; "+
					"delete it, or save the sheet as CSV again", at.StartLine)
			}
			return t, errors.New("is no CSV")
		}
		rec := record{cells: cells}
		rec.line, _ = r.FieldPos(0)
		for i, c := range cells {
			cells[i] = clean(c)
		}
		t.records = append(t.records, rec)
		if columns := columnsOf(cells); len(columns) > len(t.columns) {
			t.titles, t.columns = len(t.records)-1, columns
		}
	}
}

// clean is a cell on one line, without what nobody sees.
func clean(s string) string {
	s = strings.Map(func(r rune) rune {
		if unicode.Is(unicode.Cf, r) || unicode.IsControl(r) && !unicode.IsSpace(r) {
			return -1
		}
		return r
	}, s)
	return strings.Join(strings.Fields(s), " ")
}

// columnsOf are the columns that a record gives the titles of; nil where it
// holds no titles.
func columnsOf(cells []string) map[int]column {
	found := map[int]column{}
	has := map[column]bool{}
	last := none
	for i, cell := range cells {
		c := columnOf(cell)
		if c == width {
			c = rxWidth
			if last == tx || last == txTone || has[rxWidth] {
				c = txWidth
			}
		}
		if c == none || has[c] {
			continue
		}
		found[i], has[c], last = c, true, c
	}
	if len(found) < 2 || !has[name] && !has[rx] {
		return nil
	}
	return found
}

// sheet sorts the records into what is the table and what stands around it.
func (t table) sheet() (*Sheet, error) {
	s := &Sheet{}
	var open []*Head  // titles without a value, and where they stand
	var openAt []int  // their cells
	var running *Head // special instructions that go on
	heads := make([]*Head, 0, 16)
	for i, rec := range t.records {
		if i == t.titles || isTitles(rec.cells, t.columns) {
			open, openAt, running = nil, nil, nil
			continue
		}
		titled, at := headsOf(rec)
		if r, _ := t.row(rec); i > t.titles && strings.ContainsAny(r.Rx, "0123456789") {
			titled, running = nil, nil // a channel may be called AIRCRAFT
		}
		switch {
		case titled != nil:
			heads = append(heads, titled...)
			open, openAt, running = nil, nil, nil
			for k, h := range titled {
				if len(h.Values) == 0 {
					open, openAt = append(open, h), append(openAt, at[k])
				}
				if h.Is == Instructions {
					running = h
				}
			}
			continue
		case i < t.titles || running != nil:
			var values []string
			for _, c := range rec.cells {
				if c != "" {
					values = append(values, c)
				}
			}
			if running != nil && i > t.titles {
				running.Values = append(running.Values, values...)
			}
			// On the form a value stands below its title.
			for k, h := range open {
				if openAt[k] < len(rec.cells) && rec.cells[openAt[k]] != "" && h != running {
					h.Values = append(h.Values, rec.cells[openAt[k]])
				}
			}
			continue
		}
		open, openAt = nil, nil
		if row, ok := t.row(rec); ok {
			if len(s.Rows) == MaxRows {
				return nil, fmt.Errorf("has more than %d channels; no list holds as many", MaxRows)
			}
			s.Rows = append(s.Rows, row)
		}
	}
	for _, h := range heads {
		s.Heads = append(s.Heads, *h)
	}
	if len(s.Rows) == 0 {
		return nil, errors.New("has the titles of a plan sheet, but no channel below them")
	}
	return s, nil
}

// isTitles tells a repetition of the titles, on a further page.
func isTitles(cells []string, columns map[int]column) bool {
	same := 0
	for i, cell := range cells {
		if c := columnOf(cell); c != none && c == columns[i] {
			same++
		}
	}
	return same >= 2 && same >= len(columns)/2
}

// row is a record of the table; not ok where it names no channel at all.
func (t table) row(rec record) (Row, bool) {
	r := Row{Line: rec.line}
	for i, cell := range rec.cells {
		switch t.columns[i] {
		case zone:
			r.Zone = cell
		case number:
			r.Channel = cell
		case function:
			r.Function = cell
		case name:
			r.Name = cell
		case assignment:
			r.Assignment = cell
		case rx:
			r.Rx = cell
		case rxWidth:
			r.RxWidth = cell
		case rxTone:
			r.RxTone = cell
		case tx:
			r.Tx = cell
		case txWidth:
			r.TxWidth = cell
		case txTone:
			r.TxTone = cell
		case mode:
			r.Mode = cell
		case remarks:
			r.Remarks = cell
		case system:
			r.System = cell
		}
	}
	// Where no column has the names, one that says Channel may hold them.
	if r.Name == "" && !t.has(name) && namesChannel(r.Channel) {
		r.Name, r.Channel = r.Channel, ""
	}
	// A printed form numbers its empty lines, too.
	return r, r.Function+r.Name+r.Rx+r.Tx+r.System != "" || r.Zone != "" && r.Channel != ""
}

// has tells whether the table has a column.
func (t table) has(c column) bool {
	for _, k := range t.columns {
		if k == c {
			return true
		}
	}
	return false
}

// plainNumber is a channel number as people write it: 4, 04, Ch 4, 3-07, 12A.
var plainNumber = compiled(`(?i)^(?:ch(?:an(?:nel)?)?|no|nr)?[ .#]*[\d ./-]*[a-z]?$`)

// namesChannel tells a channel's name from its number.
func namesChannel(cell string) bool { return cell != "" && !plainNumber().MatchString(cell) }

// Title is what a line outside of the table is about.
type Title uint8

// The titles of blocks 1 to 3, 5 and 6 of form ICS 205 (ics_forms.csv,
// secondary), and those that [Write] adds to them.
const (
	IncidentName Title = iota + 1
	IncidentNumber
	Period
	Prepared
	PreparedBy
	Instructions
	Exercise
	Aircraft
	Division
	FunctionalGroup
	NotInList
)

var headPatterns = []struct {
	is      Title
	pattern pattern
}{
	{IncidentNumber, head(`incident (?:number|no\.?|#)`)},
	{IncidentName, head(`incident(?: name)?`)},
	{Period, head(`(?:operational|op\.?) period`)},
	{Prepared, head(`(?:date(?: ?/ ?time)?|date and time) prepared`)},
	{PreparedBy, head(`prepared by(?: \(.*?\))?`)},
	{Instructions, head(`(?:special )?instructions`)},
	{Exercise, head(`exercise`)},
	{Aircraft, head(`aircraft`)},
	{Division, head(`division`)},
	{FunctionalGroup, head(`functional group`)},
	{NotInList, head(`not in the list`)},
}

// head matches a title, with a block's number before it and a value behind it.
func head(title string) pattern {
	return compiled(`(?i)^(?:\d{1,2}\s*\.\s*)?` + title + `\s*(?:$|:\s*(.*)$)`)
}

// headsOf are the titles of a record with the cells behind each, and where they
// stand; nil where its first cell is no title.
func headsOf(rec record) (heads []*Head, at []int) {
	for i, cell := range rec.cells {
		if cell == "" {
			continue
		}
		var h *Head
		for _, p := range headPatterns {
			// A single word is a title only where a line begins with it.
			if m := p.pattern().FindStringSubmatch(cell); m != nil && (heads == nil || strings.ContainsAny(cell, " :")) {
				h = &Head{Line: rec.line, Is: p.is}
				if m[1] != "" {
					h.Values = []string{m[1]}
				}
				break
			}
		}
		switch {
		case h != nil:
			heads, at = append(heads, h), append(at, i)
		case heads == nil:
			return nil, nil
		default:
			last := heads[len(heads)-1]
			last.Values = append(last.Values, cell)
		}
	}
	return heads, at
}
