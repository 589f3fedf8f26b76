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

	"slotcard/plan"
)

// Read reads a plan sheet: CSV with comma, semicolon or tab, in UTF-8 with or
// without byte order mark, UTF-16 or Windows-1252. The load helps to tell what is
// what. An error completes the sentence that begins with the file's name.
func Read(data []byte, l *plan.Load) (*Sheet, error) {
	text, err := decode(data)
	if err != nil {
		return nil, err
	}
	f := newFinder(l)
	var best *Sheet
	var broken error
	most, titled := 0, false
	for _, comma := range []rune{',', ';', '\t'} {
		g, err := split(text, comma)
		s, score, hasTitles := readGrid(f, g)
		titled = titled || hasTitles
		switch {
		case score == 0 && !hasTitles:
		case err != nil:
			broken = err
		case score > most:
			best, most = s, score
		}
	}
	switch {
	case broken != nil && (best == nil || len(best.Rows) == 0):
		return nil, broken
	case titled && (best == nil || len(best.Rows) == 0):
		return nil, errors.New("has the titles of a plan sheet, but no channel below them")
	case best == nil || len(best.Rows) == 0:
		return nil, errors.New("has no line that names a channel of the load or a frequency: it needs a table with the names or the " +
			"frequencies of channels, such as Function, Channel Name, Assignment, RX Freq N or W, RX Tone/NAC, TX Freq N or W, TX Tone/NAC")
	case len(best.Rows) > MaxRows:
		return nil, fmt.Errorf("has more than %d channels; no list holds as many", MaxRows)
	}
	return best, nil
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

// split takes a text apart. With an error the grid holds what stands before the
// fault.
func split(text string, comma rune) (g grid, err error) {
	r := csv.NewReader(strings.NewReader(text))
	r.Comma, r.FieldsPerRecord = comma, -1
	for {
		cells, err := r.Read()
		if err == io.EOF {
			return g, nil
		}
		if err != nil {
			var at *csv.ParseError
			if errors.As(err, &at) {
				// Read leniently, a quote too many would swallow the channels behind it.
				return g, fmt.Errorf("line %d has a quotation mark that does not belong there, or lacks one; "+
					"delete it, or save the sheet as CSV again", at.StartLine)
			}
			return g, errors.New("is no CSV")
		}
		for i, c := range cells {
			cells[i] = clean(c)
		}
		line, _ := r.FieldPos(0)
		g.lines, g.rows = append(g.lines, line), append(g.rows, cells)
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
