package cells

import (
	"bytes"
	"encoding/xml"
	"fmt"
	"io"
	"path"
	"strings"

	"github.com/xuri/excelize/v2"
)

// readXLSX reads a workbook: what cells show by the library, which formats
// numbers and dates; what it has no quick word for (merged cells, columns not
// shown, the numbers behind) by a pass over the parts, which also refuses the
// damage that the library takes for the end of a sheet.
func readXLSX(data []byte, parts map[string][]byte) (*Book, error) {
	names, styles, err := sheetParts(parts)
	if err != nil {
		return nil, err
	}
	if err := checkStyles(styles); err != nil {
		return nil, err
	}
	b := &builder{book: Book{Format: XLSX}}
	f, err := openXLSX(data)
	if err != nil {
		return nil, errDamaged
	}
	defer func() { _ = f.Close() }()
	left := mostMarks // several sheets may be one part, in a hostile file
	for _, n := range names {
		if left -= marks(n.part); left < 0 {
			return nil, errXML
		}
		s, err := b.sheet(n.Name)
		if err != nil {
			return nil, err
		}
		s.Hidden = n.State == "hidden" || n.State == "veryHidden"
		behind, err := scanSheet(s, n.part)
		if err != nil {
			return nil, err
		}
		if err := shownRows(b, f, s, n.Name, behind); err != nil {
			return nil, err
		}
	}
	return b.done()
}

// openXLSX opens a workbook with the library. Hostile files can make it panic:
// that is the file's fault, too.
func openXLSX(data []byte) (f *excelize.File, err error) {
	defer func() {
		if recover() != nil {
			err = errDamaged
		}
	}()
	return excelize.OpenReader(bytes.NewReader(data), excelize.Options{
		// The same bound twice: nothing is unpacked into temporary files.
		UnzipSizeLimit: mostUnzip, UnzipXMLSizeLimit: mostUnzip,
		ShortDatePattern: "yyyy-mm-dd",
	})
}

// shownRows reads the rows of a sheet as they are shown.
func shownRows(b *builder, f *excelize.File, s *Sheet, name string, behind *behind) (err error) {
	defer func() {
		if recover() != nil {
			err = errDamaged
		}
	}()
	rows, err := f.Rows(name)
	if err != nil {
		return errDamaged
	}
	defer func() { _ = rows.Close() }()
	for number := 1; rows.Next(); number++ {
		shown, err := rows.Columns()
		if err != nil {
			return errDamaged
		}
		r := Row{Number: number, Hidden: rows.GetRowOpts().Hidden, Cells: make([]Cell, len(shown))}
		for i, text := range shown {
			r.Cells[i] = Cell{Text: text}
			if v := behind.numbers[[2]int{number, i}]; v != "" {
				r.Cells[i].Stored = stored(text, v)
			}
		}
		behind.showFormulas(&r)
		if err := b.add(s, r); err != nil {
			return err
		}
	}
	if rows.Error() != nil {
		return errDamaged
	}
	return nil
}

// sheetPart is a sheet of xl/workbook.xml and the part that holds its rows.
type sheetPart struct {
	Name  string `xml:"name,attr"`
	State string `xml:"state,attr"`
	ID    string `xml:"http://schemas.openxmlformats.org/officeDocument/2006/relationships id,attr"`
	// The strict flavor of the standard has a name of its own for it.
	StrictID string `xml:"http://purl.oclc.org/ooxml/officeDocument/relationships id,attr"`
	part     []byte
}

// related are the targets that a part points at, by identifier, and the one of
// a kind. The parts of a package find each other in this way (ECMA-376, part 2).
func related(parts map[string][]byte, part string) (byID map[string]string, kinds map[string]string, err error) {
	var rels struct {
		Relationships []struct {
			ID     string `xml:"Id,attr"`
			Type   string `xml:"Type,attr"`
			Target string `xml:"Target,attr"`
		} `xml:"Relationship"`
	}
	folder, file := path.Split(part)
	if xml.Unmarshal(parts[folder+"_rels/"+file+".rels"], &rels) != nil {
		return nil, nil, errDamaged
	}
	byID, kinds = map[string]string{}, map[string]string{}
	for _, r := range rels.Relationships {
		target := path.Join(folder, r.Target)
		if absolute, ok := strings.CutPrefix(r.Target, "/"); ok {
			target = path.Clean(absolute)
		}
		byID[r.ID], kinds[path.Base(r.Type)] = target, target
	}
	return byID, kinds, nil
}

// sheetParts are the sheets of a workbook in their order; charts are left out.
func sheetParts(parts map[string][]byte) (sheets []sheetPart, styles []byte, err error) {
	_, kinds, err := related(parts, "")
	if err != nil {
		return nil, nil, err
	}
	workbook := kinds["officeDocument"]
	targets, kinds, err := related(parts, workbook)
	if err != nil {
		return nil, nil, err
	}
	var book struct {
		Sheets []sheetPart `xml:"sheets>sheet"`
	}
	if xml.Unmarshal(parts[workbook], &book) != nil {
		return nil, nil, errDamaged
	}
	for _, s := range book.Sheets {
		target := targets[s.ID+s.StrictID]
		if folder := path.Base(path.Dir(target)); folder == "chartsheets" || folder == "dialogsheets" {
			continue
		}
		if s.part = parts[target]; s.part == nil {
			return nil, nil, errDamaged
		}
		sheets = append(sheets, s)
	}
	return sheets, parts[kinds["styles"]], nil
}

// scanSheet reads what stands around the cells of a sheet, and what stands behind
// what they show.
func scanSheet(s *Sheet, part []byte) (*behind, error) {
	x := xml.NewDecoder(bytes.NewReader(part))
	is := &behind{numbers: map[[2]int]string{}, formulas: map[int]map[int]string{}}
	number, column, cells := 0, 0, 0
	typ, inside, formula := "", false, false
	for {
		t, err := x.Token()
		if err == io.EOF {
			return is, nil
		}
		if err != nil {
			return nil, errDamaged
		}
		switch e := t.(type) {
		case xml.StartElement:
			switch e.Name.Local {
			case "row":
				number, column = number+1, -1
				if n := integer(e, "r"); n > 0 {
					number = n
				}
			case "c":
				if cells++; cells > 4*mostCells { // empty ones with a color count, too
					return nil, fmt.Errorf("has more than %d cells; no list of channels needs as many", mostCells)
				}
				column++
				if c, r, err := excelize.CellNameToCoordinates(raw(e, "r")); err == nil && r == number {
					column = c - 1
				}
				typ = raw(e, "t")
			case "f":
				formula = true
				is.formula(number, column, "")
			case "v":
				delete(is.formulas[number], column) // it has a result, if an empty one
				inside = typ == "" || typ == "n"
			case "col":
				if raw(e, "hidden") == "1" || raw(e, "hidden") == "true" {
					for i := max(integer(e, "min"), 1); i <= min(integer(e, "max"), mostColumns); i++ {
						s.hidden[i-1] = true
					}
				}
			case "mergeCell":
				if m, ok := mergedRange(raw(e, "ref")); ok {
					s.Merged = append(s.Merged, m)
				}
			}
		case xml.EndElement:
			inside, formula = false, false
		case xml.CharData:
			switch {
			case formula:
				is.formula(number, column, string(e[:min(len(e), 64)]))
			case inside && len(e) < 64:
				is.numbers[[2]int{number, column}] = string(e)
			}
		}
	}
}

// behind is what stands behind the cells of a sheet, by row from 1 and column
// from 0: numbers as they are stored, and formulas without a stored result.
type behind struct {
	numbers  map[[2]int]string
	formulas map[int]map[int]string
}

func (b *behind) formula(row, column int, text string) {
	if column < 0 || column >= mostColumns {
		return
	}
	if b.formulas[row] == nil {
		b.formulas[row] = map[int]string{}
	}
	b.formulas[row][column] = "=" + text
}

// showFormulas puts formulas into the cells that show no result: a program that
// writes a workbook without computing it leaves them so, and a cell that is not
// empty must not look so.
func (b *behind) showFormulas(r *Row) {
	for column, text := range b.formulas[r.Number] {
		if column >= len(r.Cells) {
			r.Cells = append(r.Cells, make([]Cell, column+1-len(r.Cells))...)
		}
		if r.Cells[column].Text == "" {
			r.Cells[column].Text = text
		}
	}
}

// mergedRange reads "A1:C1".
func mergedRange(ref string) (Range, bool) {
	from, to, ok := strings.Cut(ref, ":")
	left, top, err := excelize.CellNameToCoordinates(from)
	right, bottom, err2 := excelize.CellNameToCoordinates(to)
	if !ok || err != nil || err2 != nil || right < left || bottom < top {
		return Range{}, false
	}
	return Range{top, left - 1, bottom, right - 1}, true
}

// checkStyles refuses formats of numbers longer than any program writes: 255
// characters are the bound of those that write XLSX (common practice).
func checkStyles(part []byte) error {
	x := xml.NewDecoder(bytes.NewReader(part))
	for {
		t, err := x.Token()
		if err == io.EOF {
			return nil
		}
		if err != nil {
			return errDamaged
		}
		if e, ok := t.(xml.StartElement); ok && e.Name.Local == "numFmt" && len(raw(e, "formatCode")) > 1024 {
			return errDamaged
		}
	}
}

// raw is an attribute by its name without namespace.
func raw(e xml.StartElement, local string) string {
	for _, a := range e.Attr {
		if a.Name.Local == local && a.Name.Space == "" {
			return a.Value
		}
	}
	return ""
}

// integer is an attribute as a number; 0 where it is none.
func integer(e xml.StartElement, local string) int {
	n := 0
	for _, d := range raw(e, local) {
		if d < '0' || d > '9' || n > 1<<24 {
			return 0
		}
		n = 10*n + int(d-'0')
	}
	return n
}
