package publish

import (
	"bytes"
	"encoding/binary"
	"io"
	"os"
	"strings"
	"unicode/utf16"
)

// aboutTail bounds what is read of a PDF: its information stands near its end.
const aboutTail = 1 << 20

// About is what a PDF that slotcard wrote says of itself: the subject in its
// information (ISO 32000-1, 14.3.3), or the title; and what a picture is of. It is ""
// where the file says nothing, or is none of them.
func About(path string) string {
	f, err := os.Open(path)
	if err != nil {
		return ""
	}
	defer f.Close()
	head := make([]byte, aboutHead)
	n, _ := io.ReadFull(f, head)
	if head = head[:n]; bytes.HasPrefix(head, []byte("\x89PNG")) {
		return aboutPNG(head)
	}
	if _, err := f.Seek(0, io.SeekStart); err != nil {
		return ""
	}
	if info, err := f.Stat(); err == nil && info.Size() > aboutTail {
		if _, err := f.Seek(-aboutTail, io.SeekEnd); err != nil {
			return ""
		}
	}
	data := make([]byte, aboutTail)
	n, _ = io.ReadFull(f, data)
	data = data[:n]
	at := bytes.LastIndex(data, []byte("/Producer (slotcard)"))
	if at < 0 {
		return ""
	}
	data = data[at:]
	if end := bytes.Index(data, []byte("endobj")); end >= 0 {
		data = data[:end]
	}
	for _, key := range []string{"/Subject (", "/Title ("} {
		if at := bytes.Index(data, []byte(key)); at >= 0 {
			if s := pdfText(data[at+len(key):]); s != "" {
				return s
			}
		}
	}
	return ""
}

// aboutHead bounds what is read of a picture: what it is of stands behind its header.
const aboutHead = 4 << 10

// aboutPNG reads what [SignPNG] wrote.
func aboutPNG(data []byte) string {
	at := bytes.Index(data, []byte(pngAbout))
	if at < 4 {
		return ""
	}
	n := uint64(binary.BigEndian.Uint32(data[at-4:])) + uint64(len("iTXt"))
	if n < uint64(len(pngAbout)) || uint64(at)+n > uint64(len(data)) {
		return ""
	}
	return strings.TrimSpace(strings.ToValidUTF8(string(data[at+len(pngAbout):at+int(n)]), "?"))
}

// pdfText reads a literal string of a PDF behind its opening parenthesis, in UTF-16
// with a byte order mark (ISO 32000-1, 7.3.4.2 and 7.9.2.2).
func pdfText(data []byte) string {
	var raw []byte
	for i := 0; i < len(data) && data[i] != ')'; i++ {
		c := data[i]
		if c == '\\' && i+1 < len(data) {
			i++
			switch c = data[i]; c {
			case 'r':
				c = '\r'
			case 'n':
				c = '\n'
			}
		}
		raw = append(raw, c)
	}
	if !bytes.HasPrefix(raw, []byte{0xfe, 0xff}) {
		return ""
	}
	var units []uint16
	for i := 2; i+1 < len(raw); i += 2 {
		units = append(units, uint16(raw[i])<<8|uint16(raw[i+1]))
	}
	return strings.TrimSpace(string(utf16.Decode(units)))
}
