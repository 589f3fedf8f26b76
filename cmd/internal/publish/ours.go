package publish

import (
	"bytes"
	"encoding/binary"
	"errors"
	"hash/crc32"
	"io"
	"os"
	"slices"

	plansheet "slotcard/plan/sheet"
)

// ourMarks are what a PDF and a PNG of ours hold and others do not: the
// producer of the one (ISO 32000-1, 14.3.3), the software of the other (PNG
// specification, 11.3.3.2).
var ourMarks = [][]byte{[]byte("/Producer (slotcard)"), []byte(pngMark)}

const pngMark = "tEXtSoftware\x00slotcard"

// pngAbout begins the chunk that says what a PNG is of: text in UTF-8, not
// compressed, of no language (PNG specification, 11.3.3.4).
const pngAbout = "iTXtTitle\x00\x00\x00\x00\x00"

// SignPNG puts our mark and what the picture is of into a PNG, behind its header
// (length, type and 13 bytes of data, checksum, behind the 8 of the signature).
func SignPNG(png []byte, about string) []byte {
	const header = 8 + 4 + 4 + 13 + 4
	out := slices.Clone(png[:header])
	for _, data := range []string{pngMark, pngAbout + about} {
		out = binary.BigEndian.AppendUint32(out, uint32(len(data)-len("tEXt")))
		out = append(out, data...)
		out = binary.BigEndian.AppendUint32(out, crc32.ChecksumIEEE([]byte(data)))
	}
	return append(out, png[header:]...)
}

// IsOurs tells whether slotcard wrote a file: a PDF, PNG or CSV that says so inside.
// One that cannot be read does not say so.
func IsOurs(path string) bool {
	is, err := isOurs(path)
	return is && err == nil
}

// isOurs is IsOurs, or why that cannot be told.
func isOurs(path string) (bool, error) {
	f, err := os.Open(path)
	if err != nil {
		return false, err
	}
	defer f.Close()
	head := make([]byte, 8)
	n, err := io.ReadFull(f, head)
	if err != nil && !errors.Is(err, io.EOF) && !errors.Is(err, io.ErrUnexpectedEOF) {
		return false, err
	}
	head = head[:n]
	if !bytes.HasPrefix(head, []byte("%PDF-")) && !bytes.Equal(head, []byte("\x89PNG\r\n\x1a\n")) {
		more := make([]byte, 256)
		n, _ := io.ReadFull(f, more)
		return plansheet.IsWritten(append(head, more[:n]...)), nil
	}
	if info, err := f.Stat(); err == nil && info.Size() > oursTail {
		end := make([]byte, oursTail)
		if _, err := f.ReadAt(end, info.Size()-oursTail); err == nil && bytes.Contains(end, ourMarks[0]) {
			return true, nil
		}
	}
	return holds(f, ourMarks)
}

// oursTail is how much of a file is read before all of it: what a PDF of ours says of
// itself stands near its end.
const oursTail = 16 << 10

// holds looks for any of the marks in what r still has, with bounded memory.
func holds(r io.Reader, marks [][]byte) (bool, error) {
	longest := 0
	for _, m := range marks {
		longest = max(longest, len(m))
	}
	buf := make([]byte, 0, 64<<10)
	for {
		n, err := r.Read(buf[len(buf):cap(buf)])
		buf = buf[:len(buf)+n]
		for _, m := range marks {
			if bytes.Contains(buf, m) {
				return true, nil
			}
		}
		switch {
		case errors.Is(err, io.EOF):
			return false, nil
		case err != nil:
			return false, err
		}
		if keep := min(len(buf), longest-1); keep > 0 {
			copy(buf, buf[len(buf)-keep:])
			buf = buf[:keep]
		}
	}
}
