// Package scan reads QR codes back: out of photographs and scans with
// [Picture], and out of slotcard's own PDFs with [PDF]. It returns the texts
// that the codes hold, and knows nothing of what they mean.
//
// What is read comes from outside: sizes are bounded before anything is
// decoded, and whatever does not fit the bounds is an error that says so.
package scan

import (
	"bytes"
	"context"
	"errors"
	"fmt"
)

// MaxFile bounds a file of any kind, in bytes.
const MaxFile = 64 << 20

// Code is a QR code that was read.
type Code struct {
	Text string
	// X, Y is its middle, from the top left of the upright picture or page, and
	// Side about how long it is: pixels in a picture, points on a page.
	X, Y, Side float64
}

// Kind is what a file holds, told by its first bytes.
type Kind uint8

const (
	Text    Kind = iota // none of the others
	Photo               // PNG, JPEG or WebP: for [Picture]
	Paper               // PDF: for [PDF]
	Unknown             // a picture of a kind that is not read
)

// KindOf tells what a file holds. Of a picture that is not read, name is what
// its kind is called.
func KindOf(data []byte) (kind Kind, name string) {
	has := func(at int, s string) bool {
		return len(data) >= at+len(s) && string(data[at:at+len(s)]) == s
	}
	switch {
	case has(0, "\x89PNG\r\n\x1a\n"):
		return Photo, "PNG"
	case has(0, "\xff\xd8\xff"):
		return Photo, "JPEG"
	case has(0, "RIFF") && has(8, "WEBP"):
		return Photo, "WebP"
	case has(0, "%PDF-"):
		return Paper, "PDF"
	case has(4, "ftypavif") || has(4, "ftypavis"):
		return Unknown, "AVIF"
	case has(4, "ftyp"): // ISO base media: HEIC under several brands, and films
		return Unknown, "HEIC"
	case has(0, "GIF8"):
		return Unknown, "GIF"
	case has(0, "II*\x00") || has(0, "MM\x00*"):
		return Unknown, "TIFF"
	case has(0, "BM") && bytes.IndexByte(data[:min(len(data), 64)], 0) >= 0:
		return Unknown, "BMP"
	}
	return Text, "text"
}

// ErrNoCode is a picture or a PDF in which no code was read.
var ErrNoCode = errors.New("no code is read in it")

// Seen is what a picture shows.
type Seen struct {
	// Codes come from the top down, and from left to right where they stand side
	// by side.
	Codes []Code
	// More tells that corners of a code are seen where none was read.
	More bool
	// Cut tells that there is too much in the picture that looks like corners of
	// codes: not all of it was looked at.
	Cut bool

	more   []triple // where, pixels of the picture
	unread []unread // for [Join]
}

// Picture reads the codes in a PNG, JPEG or WebP, upright as its orientation tag
// says. A picture that is too large, damaged or without a code is an error. When ctx
// ends, so does the search, with its error.
func Picture(ctx context.Context, data []byte) (Seen, error) {
	if len(data) > MaxFile {
		return Seen{}, fmt.Errorf("is larger than %d MB", MaxFile>>20)
	}
	c, err := costOf(data)
	if err != nil {
		return Seen{}, err
	}
	if min(c.config.Width, c.config.Height) < leastSide {
		return Seen{}, ErrNoCode
	}
	if err := c.refused(); err != nil {
		return Seen{}, err
	}
	if c.memory > maxMemory/8 {
		select {
		case room <- struct{}{}:
			defer func() { <-room }()
		case <-ctx.Done():
			return Seen{}, ctx.Err()
		}
	}
	p, err := decode(data)
	if err != nil {
		return Seen{}, err
	}
	s, err := look(ctx, p)
	if err == nil && len(s.Codes) == 0 {
		err = ErrNoCode
	}
	return s, err
}

// room is the memory for one large picture: several at once would take a multiple of
// [maxMemory].
var room = make(chan struct{}, 1)
