package cells

import (
	"archive/zip"
	"bytes"
	"errors"
	"fmt"
	"io"
	"path"
)

var errDamaged = errors.New("is damaged, or no spreadsheet; save it again as XLSX or CSV")

// errTooLarge says that what is packed is more than a sheet needs.
var errTooLarge = fmt.Errorf("unpacks to more than %d MB; no list of channels needs as much", mostUnzip>>20)

// errXML says that a spreadsheet holds more than a list of channels.
var errXML = errors.New("holds more cells and formats than any list of channels needs; save the sheet with the channels alone, or as CSV")

// marks are the elements and attributes of an XML text, at most: what takes time to read.
func marks(part []byte) int { return bytes.Count(part, []byte{'<'}) + bytes.Count(part, []byte{'='}) }

// readZip reads a packed spreadsheet: XLSX or ODS. Every part is unpacked within
// the bounds before a reader sees it, so that what the packing declares need not
// be believed.
func readZip(data []byte) (*Book, error) {
	z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		return nil, errDamaged
	}
	const maxParts = 2000
	if len(z.File) > maxParts {
		return nil, fmt.Errorf("holds more than %d parts; save it again as XLSX or CSV", maxParts)
	}
	left, text, marked := int64(mostUnzip), 0, 0
	parts := map[string][]byte{}
	for _, f := range z.File {
		b, err := unpack(f, &left)
		if err != nil {
			return nil, err
		}
		if ending := path.Ext(f.Name); ending == ".xml" || ending == ".rels" {
			if text, marked = text+len(b), marked+marks(b); text > mostXML || marked > mostMarks {
				return nil, errXML
			}
		}
		parts[f.Name] = b
	}
	switch {
	case parts["content.xml"] != nil:
		return readODS(parts["content.xml"])
	case parts["xl/workbook.bin"] != nil:
		return nil, errors.New("is a binary workbook; save it as XLSX or CSV")
	case parts["[Content_Types].xml"] != nil:
		return readXLSX(data, parts)
	}
	return nil, errDamaged
}

// unpack reads a part, within what is left of the bound.
func unpack(f *zip.File, left *int64) ([]byte, error) {
	r, err := f.Open()
	if err != nil {
		return nil, errDamaged
	}
	defer func() { _ = r.Close() }()
	b, err := io.ReadAll(io.LimitReader(r, *left+1))
	if err != nil {
		return nil, errDamaged
	}
	if *left -= int64(len(b)); *left < 0 {
		return nil, errTooLarge
	}
	return b, nil
}
