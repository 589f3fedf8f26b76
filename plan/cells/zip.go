package cells

import (
	"archive/zip"
	"bytes"
	"errors"
	"fmt"
	"io"
)

var errDamaged = errors.New("is damaged, or no spreadsheet; save it again as XLSX or CSV")

// errTooLarge says that what is packed is more than a sheet needs.
var errTooLarge = fmt.Errorf("unpacks to more than %d MB; no list of channels needs as much", mostUnzip>>20)

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
	left := int64(mostUnzip)
	parts := map[string][]byte{}
	for _, f := range z.File {
		b, err := unpack(f, &left)
		if err != nil {
			return nil, err
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
