package cells

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strings"
	"time"

	"github.com/ledongthuc/pdf"
	"golang.org/x/text/unicode/norm"
)

// Bounds of a PDF: far more than any plan sheet needs. Our choice.
const (
	mostPages  = 40
	mostDrawn  = 3 << 20 // bytes of what is drawn on all pages, unpacked
	maxGlyphs  = 200_000
	maxSaved   = 200 // states of drawing that are kept at once
	maxPDFTime = 15 * time.Second
)

// readPDF reads the text of a PDF, and the filled fields of a form, by their
// places on the page. The library panics on files that it does not understand and
// may take long over hostile ones: whatever it does, nothing half read gets out.
func readPDF(data []byte) (*Book, error) {
	type result struct {
		book *Book
		err  error
	}
	done := make(chan result, 1)
	go func() {
		defer func() {
			if recover() != nil {
				done <- result{nil, errors.New("is a PDF that cannot be read here; copy its text into a text file, or type the sheet into a spreadsheet")}
			}
		}()
		book, err := pdfBook(data)
		done <- result{book, err}
	}()
	select {
	case r := <-done:
		return r.book, r.err
	case <-time.After(maxPDFTime):
		return nil, errors.New("is a PDF that takes too long to read; copy its text into a text file")
	}
}

func pdfBook(data []byte) (*Book, error) {
	r, err := pdf.NewReader(bytes.NewReader(data), int64(len(data)))
	switch {
	case errors.Is(err, pdf.ErrInvalidPassword):
		return nil, errors.New("is a PDF that is locked with a password; save it without one")
	case err != nil:
		return nil, errors.New("is a PDF that is damaged; save it again, or copy its text into a text file")
	}
	if left := 10 * mostPages; !isTree(r.Trailer().Key("Root").Key("Pages"), 0, &left) {
		return nil, errors.New("is a PDF whose pages do not end; save it again, or copy its text into a text file")
	}
	pages := r.NumPage()
	if pages > mostPages {
		return nil, fmt.Errorf("has %d pages; of a plan, save only those of the communications plan sheet", pages)
	}
	b := builder{book: Book{Format: PDF}}
	s, err := b.sheet("")
	if err != nil {
		return nil, err
	}
	var lines [][]part
	glyphs := 0
	var drawn drawing
	for n := 1; n <= pages; n++ {
		page := r.Page(n)
		if err := drawn.add(page.V.Key("Contents")); err != nil {
			return nil, err
		}
		texts := page.Content().Text
		if glyphs += len(texts); glyphs > maxGlyphs {
			return nil, errors.New("holds more text than any plan sheet; save only the page of the sheet")
		}
		lines = append(lines, linesOf(append(runsOf(texts), fieldsOf(page)...))...)
	}
	if len(lines) == 0 {
		return nil, errors.New("is a PDF without text: a scanned picture. Ask for the file it was printed from, " +
			"or let a program that reads text in pictures make text of it and compare every digit")
	}
	for i, cells := range alignedBy(lines, tableColumns(lines)) {
		if err := b.add(s, Row{Number: i + 1, Cells: cells}); err != nil {
			return nil, err
		}
	}
	return b.done()
}

// isTree tells whether the first pages stand in a tree (ISO 32000-1, 7.7.3) and not in a
// ring, in which the library would go round for ever.
func isTree(node pdf.Value, depth int, left *int) bool {
	const deepest = 20
	if depth > deepest {
		return false
	}
	kids := node.Key("Kids")
	for i := range kids.Len() {
		if *left--; *left < 0 {
			return true // more pages than are read
		}
		if kid := kids.Index(i); kid.Key("Type").Name() == "Pages" && !isTree(kid, depth+1, left) {
			return false
		}
	}
	return true
}

// drawing counts what is drawn on pages, before the library makes anything of it.
type drawing struct {
	bytes, letters int
}

var errDrawn = errors.New("draws more than any plan sheet; save only the page of the sheet")

// add takes the streams of a page in, and refuses what is more than any plan draws.
func (d *drawing) add(contents pdf.Value) error {
	streams := []pdf.Value{contents}
	if contents.Kind() == pdf.Array {
		streams = nil
		for i := range min(contents.Len(), 1000) {
			streams = append(streams, contents.Index(i))
		}
	}
	for _, s := range streams {
		if s.Kind() != pdf.Stream {
			continue
		}
		data, err := io.ReadAll(io.LimitReader(s.Reader(), int64(mostDrawn-d.bytes)+1))
		if d.bytes += len(data); d.bytes > mostDrawn {
			return errDrawn
		}
		if err != nil {
			return errors.New("is a PDF that is damaged; save it again, or copy its text into a text file")
		}
		if err := d.count(data); err != nil {
			return err
		}
	}
	return nil
}

// count counts the letters of texts, in (...) and <...>, and the states of drawing
// that q keeps and Q gives back (ISO 32000-1, 7.3.4 and 8.4.2).
func (d *drawing) count(data []byte) error {
	text, hex, saved := 0, false, 0
	for i := 0; i < len(data); i++ {
		c := data[i]
		switch {
		case text > 0:
			d.letters++
			switch c {
			case '\\':
				i++
			case '(':
				text++
			case ')':
				text--
			}
		case hex:
			d.letters += i % 2 // two digits are a letter
			hex = c != '>'
		case c == '(':
			text++
		case c == '<':
			hex = true
			if i+1 < len(data) && data[i+1] == '<' {
				hex, i = false, i+1
			}
		case c == 'q' && alone(data, i):
			saved++
		case c == 'Q' && alone(data, i):
			saved--
		}
		if d.letters > 2*maxGlyphs { // some are spaces, and not shown
			return errors.New("holds more text than any plan sheet; save only the page of the sheet")
		}
		if saved > maxSaved {
			return errDrawn
		}
	}
	return nil
}

// alone tells whether a byte is a word by itself.
func alone(data []byte, i int) bool {
	blank := func(i int) bool { return i < 0 || i >= len(data) || data[i] <= ' ' }
	return blank(i-1) && blank(i+1)
}

// run is a text on a page: where its line begins and ends, in points from the
// lower left.
type run struct {
	x, end, y, size float64
	text            string
}

// runsOf joins glyphs to runs, in the order in which they are drawn. Fonts with
// two bytes a glyph come without widths: their glyphs all stand where the run
// begins, and its end is an estimate.
func runsOf(texts []pdf.Text) (runs []run) {
	open := false
	last := 0.0
	for _, t := range texts {
		size := math.Abs(t.FontSize)
		if t.S == "\n" || size == 0 || math.IsNaN(t.X+t.Y+t.W) || math.Abs(t.X) > 1e6 || math.Abs(t.Y) > 1e6 {
			open = false
			continue
		}
		if open {
			r := &runs[len(runs)-1]
			gap := t.X - r.end
			if t.W == 0 {
				gap = 0
				if math.Abs(t.X-last) > 2*size {
					gap = size
				}
			}
			if math.Abs(r.y-t.Y) < 0.1*size && gap > -size && gap < 0.5*size {
				if gap > 0.18*size && t.S != " " && !strings.HasSuffix(r.text, " ") {
					r.text += " "
				}
				r.text += t.S
				if last = t.X; t.W > 0 {
					r.end = t.X + t.W
				} else {
					r.end = r.x + 0.5*size*float64(len([]rune(r.text)))
				}
				continue
			}
		}
		width := t.W
		if width == 0 {
			width = 0.5 * size
		}
		runs = append(runs, run{t.X, t.X + width, t.Y, size, t.S})
		open, last = true, t.X
	}
	return runs
}

// fieldsOf are the values of the fields of a form that stand on a page.
func fieldsOf(page pdf.Page) (runs []run) {
	annotations := page.V.Key("Annots")
	for i := range min(annotations.Len(), 5000) {
		a := annotations.Index(i)
		if a.Key("Subtype").Name() != "Widget" {
			continue
		}
		value, kind := a.Key("V"), a.Key("FT")
		for up, n := a.Key("Parent"), 0; n < 8 && (value.IsNull() || kind.IsNull()); up, n = up.Key("Parent"), n+1 {
			if value.IsNull() {
				value = up.Key("V")
			}
			if kind.IsNull() {
				kind = up.Key("FT")
			}
		}
		rect := a.Key("Rect")
		if kind.Name() != "Tx" && kind.Name() != "Ch" || value.Kind() != pdf.String || rect.Len() != 4 {
			continue
		}
		left, bottom := math.Min(rect.Index(0).Float64(), rect.Index(2).Float64()), math.Min(rect.Index(1).Float64(), rect.Index(3).Float64())
		top := math.Max(rect.Index(1).Float64(), rect.Index(3).Float64())
		lines := strings.FieldsFunc(value.Text(), func(c rune) bool { return c == '\n' || c == '\r' })
		size := math.Min(10, (top-bottom)/float64(max(1, len(lines))))
		for k, line := range lines {
			// The middle of the field, and further lines below each other.
			y := (top+bottom)/2 - 0.35*size + size*(float64(len(lines)-1)/2-float64(k))
			if line = strings.TrimSpace(line); line != "" && !math.IsNaN(left+y) && math.Abs(left) < 1e6 && math.Abs(y) < 1e6 {
				runs = append(runs, run{left, left + 0.5*size*float64(len([]rune(line))), y, size, line})
			}
		}
	}
	return runs
}

// linesOf puts runs that stand on one line together, from the top of the page,
// and joins those that are words of one text.
func linesOf(runs []run) (lines [][]part) {
	runs = slices.DeleteFunc(runs, func(r run) bool { return strings.TrimSpace(r.text) == "" })
	slices.SortStableFunc(runs, func(a, b run) int {
		switch {
		case a.y > b.y:
			return -1
		case a.y < b.y:
			return 1
		}
		return 0
	})
	for i := 0; i < len(runs); {
		k := i + 1
		for k < len(runs) && runs[i].y-runs[k].y < 0.4*math.Max(runs[i].size, runs[k].size) {
			k++
		}
		lines = append(lines, pieces(runs[i:k]))
		i = k
	}
	return lines
}

func pieces(line []run) (parts []part) {
	slices.SortStableFunc(line, func(a, b run) int {
		switch {
		case a.x < b.x:
			return -1
		case a.x > b.x:
			return 1
		}
		return 0
	})
	end := math.Inf(-1)
	for _, r := range line {
		text := norm.NFC.String(r.text)
		if gap := r.x - end; len(parts) > 0 && gap < 0.5*r.size {
			p := &parts[len(parts)-1]
			if gap > 0.12*r.size {
				p.text += " "
			}
			p.text += text
			p.end = max(p.end, int(math.Ceil(r.end)))
		} else {
			parts = append(parts, part{text, int(math.Floor(r.x)), max(int(math.Floor(r.x))+1, int(math.Ceil(r.end)))})
		}
		end = math.Max(end, r.end)
	}
	return parts
}

// tableColumns are the columns of a table among other lines: those of the lines
// with most pieces, and of further ones as long as they stand below each other.
func tableColumns(lines [][]part) (columns []part) {
	const mostTried = 300 // a table has fewer
	order := slices.Clone(lines)
	slices.SortStableFunc(order, func(a, b []part) int { return len(b) - len(a) })
	var kept [][]part
	for _, l := range order[:min(mostTried, len(order))] {
		if len(l) < 3 || 2*len(l) < len(order[0]) {
			break
		}
		if with := columnsOf(append(kept, l)); with != nil {
			kept, columns = append(kept, l), with
		}
	}
	return columns
}
