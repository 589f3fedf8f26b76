package cells

import (
	"bytes"
	"encoding/xml"
	"io"
	"strconv"
	"strings"
)

// The namespaces of OpenDocument 1.3 (ISO/IEC 26300, part 3).
const (
	odsTable  = "urn:oasis:names:tc:opendocument:xmlns:table:1.0"
	odsText   = "urn:oasis:names:tc:opendocument:xmlns:text:1.0"
	odsOffice = "urn:oasis:names:tc:opendocument:xmlns:office:1.0"
	odsStyle  = "urn:oasis:names:tc:opendocument:xmlns:style:1.0"
)

// ods reads the content of an OpenDocument sheet as it streams by.
type ods struct {
	builder
	x         *xml.Decoder
	invisible map[string]bool // styles of tables that are not shown
	style     string          // the style that is being read

	sheet  *Sheet
	number int // of the row that is being read, from 1
	row    Row
	repeat int // how often the row stands there
	column int // of the next table:table-column
}

// readODS reads content.xml. Every cell carries the text that the program which
// wrote it has shown (text:p), so nothing has to be formatted here.
func readODS(content []byte) (*Book, error) {
	o := &ods{x: xml.NewDecoder(bytes.NewReader(content)), invisible: map[string]bool{}}
	o.book.Format = ODS
	for {
		t, err := o.x.Token()
		if err == io.EOF {
			break
		}
		if err != nil {
			return nil, errDamaged
		}
		if err := o.token(t); err != nil {
			return nil, err
		}
	}
	return o.done()
}

func (o *ods) token(t xml.Token) error {
	switch e := t.(type) {
	case xml.StartElement:
		switch e.Name {
		case xml.Name{Space: odsStyle, Local: "style"}:
			o.style = attribute(e, odsStyle, "name")
		case xml.Name{Space: odsStyle, Local: "table-properties"}:
			o.invisible[o.style] = attribute(e, odsTable, "display") == "false"
		case xml.Name{Space: odsTable, Local: "table"}:
			return o.table(e)
		case xml.Name{Space: odsTable, Local: "tracked-changes"}, xml.Name{Space: odsTable, Local: "shapes"}:
			return o.skip()
		case xml.Name{Space: odsTable, Local: "table-column"}:
			o.columns(e)
		case xml.Name{Space: odsTable, Local: "table-row"}:
			o.repeat = count(e, "number-rows-repeated", 1<<20)
			v := attribute(e, odsTable, "visibility")
			o.row = Row{Number: o.number + 1, Hidden: v == "collapse" || v == "filter"}
		case xml.Name{Space: odsTable, Local: "table-cell"}, xml.Name{Space: odsTable, Local: "covered-table-cell"}:
			return o.cell(e)
		}
	case xml.EndElement:
		if e.Name == (xml.Name{Space: odsTable, Local: "table-row"}) {
			return o.endRow()
		}
	}
	return nil
}

func (o *ods) skip() error {
	if o.x.Skip() != nil {
		return errDamaged
	}
	return nil
}

func (o *ods) table(e xml.StartElement) (err error) {
	o.sheet, err = o.builder.sheet(attribute(e, odsTable, "name"))
	if err == nil {
		o.sheet.Hidden = o.invisible[attribute(e, odsTable, "style-name")]
		o.number, o.column = 0, 0
	}
	return err
}

func (o *ods) columns(e xml.StartElement) {
	n := count(e, "number-columns-repeated", 1<<14)
	if v := attribute(e, odsTable, "visibility"); o.sheet != nil && (v == "collapse" || v == "filter") {
		for i := o.column; i < min(o.column+n, mostColumns); i++ {
			o.sheet.hidden[i] = true
		}
	}
	o.column = min(o.column+n, 1<<14)
}

func (o *ods) cell(e xml.StartElement) error {
	if o.sheet == nil {
		return o.skip()
	}
	text, err := o.text()
	if err != nil {
		return err
	}
	c := Cell{Text: text, Stored: stored(text, attribute(e, odsOffice, "value"))}
	at := len(o.row.Cells)
	n := count(e, "number-columns-repeated", 1<<14)
	if right, down := count(e, "number-columns-spanned", 1<<14), count(e, "number-rows-spanned", 1<<20); right > 1 || down > 1 {
		o.sheet.Merged = append(o.sheet.Merged, Range{o.row.Number, at, o.row.Number + down - 1, at + right - 1})
	}
	if text == "" {
		n = min(n, mostColumns+1-at) // the empty rest of a row is one cell, repeated thousands of times
	}
	for i := 0; i < n && len(o.row.Cells) <= mostColumns; i++ {
		o.row.Cells = append(o.row.Cells, c)
	}
	return nil
}

func (o *ods) endRow() error {
	if o.sheet == nil {
		return nil
	}
	defer func() { o.number += o.repeat }()
	for i := range o.repeat {
		r := o.row
		r.Number += i
		r.Cells = append([]Cell(nil), o.row.Cells...)
		before := len(o.sheet.Rows)
		if err := o.add(o.sheet, r); err != nil {
			return err
		}
		if len(o.sheet.Rows) == before { // the empty rest of a sheet, too
			break
		}
	}
	return nil
}

// text is what a cell shows: its paragraphs, without notes and drawings.
func (o *ods) text() (string, error) {
	var b strings.Builder
	paragraphs, inside := 0, 0
	for depth := 1; depth > 0; {
		t, err := o.x.Token()
		if err != nil {
			return "", errDamaged
		}
		switch e := t.(type) {
		case xml.StartElement:
			depth++
			switch {
			case e.Name.Space == odsText && (e.Name.Local == "p" || e.Name.Local == "h"):
				if paragraphs++; paragraphs > 1 {
					b.WriteByte('\n')
				}
				inside++
			case e.Name.Space == odsText && e.Name.Local == "s":
				b.WriteByte(' ')
			case e.Name.Space == odsText && e.Name.Local == "tab":
				b.WriteByte(' ')
			case e.Name.Space == odsText && e.Name.Local == "line-break":
				b.WriteByte('\n')
			case e.Name.Space == odsText:
			default: // office:annotation, draw:frame, a table in a cell
				if err := o.skip(); err != nil {
					return "", err
				}
				depth--
			}
		case xml.EndElement:
			depth--
			if e.Name.Space == odsText && (e.Name.Local == "p" || e.Name.Local == "h") {
				inside--
			}
		case xml.CharData:
			if inside > 0 {
				b.Write(e)
			}
		}
	}
	return b.String(), nil
}

func attribute(e xml.StartElement, space, local string) string {
	for _, a := range e.Attr {
		if a.Name.Space == space && a.Name.Local == local {
			return a.Value
		}
	}
	return ""
}

// count is a number of repetitions, at least 1.
func count(e xml.StartElement, local string, most int) int {
	n, err := strconv.Atoi(attribute(e, odsTable, local))
	if err != nil || n < 1 {
		return 1
	}
	return min(n, most)
}

// stored is the number behind a text, where the text shows another number.
func stored(text, value string) string {
	behind, err := strconv.ParseFloat(value, 64)
	if err != nil {
		return ""
	}
	shown, err := strconv.ParseFloat(strings.Replace(strings.TrimSpace(text), ",", ".", 1), 64)
	if err != nil || shown == behind {
		return ""
	}
	return strconv.FormatFloat(behind, 'f', -1, 64)
}
