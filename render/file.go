package render

import (
	"bytes"
	"crypto/md5"
	"crypto/sha256"
	"fmt"
	"io"
	"slices"
	"strconv"
	"sync"
	"time"
	"unicode/utf16"

	"slotcard/fonts"
	"slotcard/layout"
)

// Attachment is a file inside of a PDF: what the paper was made from.
type Attachment struct {
	Name string // by which a reader shows and saves it, without folders
	Path string // where it stood beside the others, with "/" between folders
	Role string // what it is to the paper, such as plan
	Type string // of its content, such as application/toml
	Data []byte

	file func() attachedFile // where it is shared
}

// Shared makes attachments be compressed once that go into several documents. Their data
// do not change any more.
func Shared(all []Attachment) []Attachment {
	all = slices.Clone(all)
	for i, a := range all {
		all[i].file = sync.OnceValue(a.pack)
	}
	return all
}

func (a *Attachment) packed() attachedFile {
	if a.file != nil {
		return a.file()
	}
	return a.pack()
}

func (a *Attachment) pack() attachedFile {
	pack := packers.Get().(*packer)
	defer packers.Put(pack)
	return attachedFile{pack.pack(a.Data), md5.Sum(a.Data), sha256.Sum256(a.Data)}
}

// attachedFile is what a PDF holds of an attachment. Beside the checksum that the format
// knows stands a stronger one of ours.
type attachedFile struct {
	data   []byte // compressed
	md5    [md5.Size]byte
	sha256 [sha256.Size]byte
}

// file is a PDF being written: one table of objects, the catalog first, what
// says which program wrote it last.
type file struct {
	out     counter
	offsets []int // of objects, by their number; 0 is none
	buf     []byte
}

// The objects whose numbers are fixed.
const (
	catalogObject = 1 + iota
	pagesObject
	resourcesObject
	firstFree
)

func newFile(w io.Writer) *file {
	f := &file{out: counter{w: w}, offsets: make([]int, firstFree)}
	// Bytes beyond ASCII tell transfer programs that the file is binary
	// (ISO 32000-1, 7.5.2).
	f.out.Write([]byte("%PDF-1.7\n%\xe2\xe3\xcf\xd3\n"))
	return f
}

// reserve gives numbers to n objects that are written later, and returns the first.
func (f *file) reserve(n int) int {
	first := len(f.offsets)
	f.offsets = append(f.offsets, make([]int, n)...)
	return first
}

// object writes an object.
func (f *file) object(n int, format string, args ...any) {
	f.offsets[n] = f.out.n
	f.buf = strconv.AppendInt(f.buf[:0], int64(n), 10)
	f.buf = append(f.buf, " 0 obj\n"...)
	f.buf = fmt.Appendf(f.buf, format, args...)
	f.buf = append(f.buf, "\nendobj\n"...)
	f.out.Write(f.buf)
}

// stream writes an object with a stream that is compressed; dict is what else its
// dictionary holds.
func (f *file) stream(n int, contents []byte, format string, args ...any) {
	f.offsets[n] = f.out.n
	f.buf = strconv.AppendInt(f.buf[:0], int64(n), 10)
	f.buf = append(f.buf, " 0 obj\n<<"...)
	f.buf = fmt.Appendf(f.buf, format, args...)
	f.buf = fmt.Appendf(f.buf, "/Filter/FlateDecode/Length %d>>\nstream\n", len(contents))
	f.out.Write(f.buf)
	f.out.Write(contents)
	f.out.Write([]byte("\nendstream\nendobj\n"))
}

// subset writes the objects of a face from number n on.
func (f *file) subset(n int, s subset) {
	for i, p := range s {
		f.offsets[n+i] = f.out.n
		fmt.Fprintf(&f.out, "%d 0 obj\n", n+i)
		for j, text := range p.text {
			f.out.Write(text)
			if j < len(p.refs) {
				fmt.Fprintf(&f.out, "%d", n+p.refs[j])
			}
		}
		f.out.Write([]byte("endobj\n"))
	}
}

// end writes the table of objects.
func (f *file) end(info int) error {
	start := f.out.n
	f.buf = fmt.Appendf(f.buf[:0], "xref\n0 %d\n0000000000 65535 f \n", len(f.offsets))
	for _, at := range f.offsets[1:] {
		f.buf = fmt.Appendf(f.buf, "%010d 00000 n \n", at)
	}
	f.buf = fmt.Appendf(f.buf, "trailer\n<</Size %d/Root %d 0 R/Info %d 0 R>>\nstartxref\n%d\n%%%%EOF\n",
		len(f.offsets), catalogObject, info, start)
	f.out.Write(f.buf)
	return f.out.err
}

// write writes a document whose contents are drawn.
func (p *pdf) write(w io.Writer, d *layout.Document, created time.Time, attached []Attachment) error {
	formStreams, pageStreams := p.contents(d)
	if b, ok := w.(interface{ Grow(n int) }); ok { // it need not be moved while it is written
		n := 1000 * (1 + len(d.Pages) + len(p.list) + len(attached))
		for _, s := range slices.Concat(formStreams, pageStreams) {
			n += len(s)
		}
		for _, s := range p.faces {
			n += s.size()
		}
		for _, a := range attached {
			n += len(a.Data) / 2
		}
		b.Grow(n)
	}
	f := newFile(w)
	forms, pages := f.reserve(len(p.list)), f.reserve(2*len(d.Pages)) // each page, then what is drawn on it
	var faces [faceCount]int
	for _, face := range fonts.All() {
		if p.faces[face] != nil {
			faces[face] = f.reserve(len(p.faces[face]))
		}
	}
	catalog := "/Type/Catalog" + ref("Pages", pagesObject)

	for i, form := range p.list {
		f.stream(forms+i, formStreams[i], "/Type/XObject/Subtype/Form/BBox[0 0 %s %s]/Resources %d 0 R",
			points(form.width), points(form.height), resourcesObject)
	}
	var kids []byte
	for i := range d.Pages {
		pg := &d.Pages[i]
		kids = fmt.Appendf(kids, "%d 0 R ", pages+2*i)
		trim := fmt.Appendf(nil, "%s %s %s %s", points(pg.Trim), points(pg.Trim), points(pg.Width-pg.Trim), points(pg.Height-pg.Trim))
		f.object(pages+2*i, "<</Type/Page/Parent %d 0 R/MediaBox[0 0 %s %s]/TrimBox[%s]/Resources %d 0 R/StructParents %d/Contents %d 0 R>>",
			pagesObject, points(pg.Width), points(pg.Height), trim, resourcesObject, i, pages+2*i+1)
		f.stream(pages+2*i+1, pageStreams[i], "")
	}
	f.object(pagesObject, "<</Type/Pages/Count %d/Kids[%s]>>", len(d.Pages), bytes.TrimSpace(kids))
	f.object(resourcesObject, "<</Font<<%s>>/XObject<<%s>>>>", p.fontNames(faces), p.formNames(forms))
	for face, n := range faces {
		if n > 0 {
			f.subset(n, p.faces[face])
		}
	}
	catalog += f.outline(d, pages) + f.structure(d, pages) + f.attach(attached) + preferences(d)
	if d.Language != "" {
		catalog += "/Lang(" + d.Language + ")"
	}
	f.object(catalogObject, "<<%s>>", catalog)
	info := f.reserve(1)
	f.object(info, "%s", about(d, created))
	return f.end(info)
}

func ref(key string, n int) string { return fmt.Sprintf("/%s %d 0 R", key, n) }

// points is a length in millimeters as points.
func points(mm float64) []byte { return appendNumber(nil, mm/fonts.PointMM) }

// preferences are what a viewer's print dialog begins with, and what its window is
// called (ISO 32000-1, 12.2).
func preferences(d *layout.Document) string {
	s := "/ViewerPreferences<</DisplayDocTitle true/PrintScaling/None/PickTrayByPDFSize true"
	switch d.Duplex {
	case layout.Simplex:
		s += "/Duplex/Simplex"
	case layout.FlipLongEdge:
		s += "/Duplex/DuplexFlipLongEdge"
	case layout.FlipShortEdge:
		s += "/Duplex/DuplexFlipShortEdge"
	}
	if d.Copies > 0 {
		s += fmt.Sprintf("/NumCopies %d", d.Copies)
	}
	return s + ">>"
}

// about is what a file says of itself. Its producer tells other commands that the
// file is ours.
func about(d *layout.Document, created time.Time) string {
	s := "<<\n/Producer (slotcard)\n"
	if d.Title != "" {
		s += "/Title " + wide(d.Title) + "\n"
	}
	if d.Subject != "" {
		s += "/Subject " + wide(d.Subject) + "\n"
	}
	date := created.UTC().Format("20060102150405")
	return s + "/CreationDate (D:" + date + "Z)\n/ModDate (D:" + date + "Z)\n>>"
}

// wide is a text in UTF-16 behind a mark that says so (ISO 32000-1, 7.9.2.2).
func wide(s string) string {
	b := []byte("(\xfe\xff")
	for _, u := range utf16.Encode([]rune(s)) {
		b = appendEscaped(appendEscaped(b, byte(u>>8)), byte(u))
	}
	return string(append(b, ')'))
}

// literal is a string of bytes.
func literal(s string) string {
	b := []byte("(")
	for i := range len(s) {
		b = appendEscaped(b, s[i])
	}
	return string(append(b, ')'))
}

// entry is a line of the outline while it is being written: numbers of entries,
// from 0; -1 is none.
type entry struct {
	layout.Bookmark
	page                            int
	parent, prev, next, first, last int
	below                           int // entries
}

// outline writes the bookmarks, and returns what the catalog says of them.
func (f *file) outline(d *layout.Document, pages int) string {
	var all []entry
	above := []int{-1} // the last entry of each level, -1 standing for the outline itself
	root := entry{first: -1, last: -1}
	at := func(i int) *entry {
		if i < 0 {
			return &root
		}
		return &all[i]
	}
	for i := range d.Pages {
		for _, b := range d.Pages[i].Bookmarks {
			n := len(all)
			above = above[:b.Level+1]
			e := entry{Bookmark: b, page: i, parent: above[b.Level], prev: -1, next: -1, first: -1, last: -1}
			all = append(all, e)
			up := at(e.parent)
			if up.first < 0 {
				up.first = n
			} else {
				all[n].prev, all[up.last].next = up.last, n
			}
			up.last = n
			for _, a := range above {
				at(a).below++
			}
			above = append(above, n)
		}
	}
	if len(all) == 0 {
		return ""
	}
	self, first := f.reserve(1), f.reserve(len(all))
	link := func(key string, n int) string {
		if n < 0 {
			return ""
		}
		return ref(key, first+n)
	}
	open := 0
	for i, e := range all {
		pg := &d.Pages[e.page]
		parent := self
		if e.parent >= 0 {
			parent = first + e.parent
		} else {
			open++
		}
		count := ""
		if e.below > 0 { // closed: the sign says so
			count = fmt.Sprintf("/Count -%d", e.below)
		}
		f.object(first+i, "<</Title %s%s%s%s%s%s%s/Dest[%d 0 R/XYZ 0 %s null]>>", wide(e.Title), ref("Parent", parent),
			link("Prev", e.prev), link("Next", e.next), link("First", e.first), link("Last", e.last), count,
			pages+2*e.page, points(pg.Height-e.Y))
	}
	f.object(self, "<</Type/Outlines%s%s/Count %d>>", link("First", root.first), link("Last", root.last), open)
	return ref("Outlines", self) + "/PageMode/UseOutlines"
}

// structure tags the document, coarsely: a section for each page, in which text
// stands in the order of reading (ISO 32000-1, 14.7 and 14.8), and QR codes bear
// their description where they are drawn. It returns what the catalog says of it.
func (f *file) structure(d *layout.Document, pages int) string {
	root, document, parents, first := f.reserve(1), f.reserve(1), f.reserve(1), f.reserve(len(d.Pages))
	var kids, nums []byte
	for i := range d.Pages {
		f.object(first+i, "<</Type/StructElem/S/Sect/P %d 0 R/Pg %d 0 R/K %d>>", document, pages+2*i, pageContent)
		kids = fmt.Appendf(kids, "%d 0 R ", first+i)
		nums = fmt.Appendf(nums, "%d[%d 0 R]", i, first+i)
	}
	f.object(document, "<</Type/StructElem/S/Document/P %d 0 R/K[%s]>>", root, bytes.TrimSpace(kids))
	f.object(parents, "<</Nums[%s]>>", nums)
	f.object(root, "<</Type/StructTreeRoot/K %d 0 R/ParentTree %d 0 R/ParentTreeNextKey %d>>", document, parents, len(d.Pages))
	return "/MarkInfo<</Marked true>>" + ref("StructTreeRoot", root)
}

// attach writes the files that the paper was made from, and returns what the
// catalog says of them: they are its source (ISO 32000-2, 14.13).
func (f *file) attach(attached []Attachment) string {
	if len(attached) == 0 {
		return ""
	}
	var names, list []byte
	for i, a := range attached {
		data, spec := f.reserve(1), f.reserve(1)
		is := a.packed()
		f.stream(data, is.data, "/Type/EmbeddedFile/Subtype/%s/Params<</Size %d/CheckSum %s/XXSHA256 %s>>",
			escapedName(a.Type), len(a.Data), literal(string(is.md5[:])), literal(string(is.sha256[:])))
		f.object(spec, "<</Type/Filespec/F %s/UF %s/Desc %s/AFRelationship/Source/XXRole/%s/XXPath %s/EF<</F %d 0 R/UF %d 0 R>>>>",
			wide(a.Name), wide(a.Name), wide(a.Role), escapedName(a.Role), literal(a.Path), data, data)
		// Names of a tree stand in order (ISO 32000-1, 7.9.6).
		names = fmt.Appendf(names, "(%02d)%d 0 R", i+1, spec)
		list = fmt.Appendf(list, "%d 0 R ", spec)
	}
	return fmt.Sprintf("/Names<</EmbeddedFiles<</Names[%s]>>>>/AF[%s]", names, bytes.TrimSpace(list))
}

// escapedName is a name with what cannot stand in one as its number (ISO 32000-1,
// 7.3.5).
func escapedName(s string) string {
	var b []byte
	for i := range len(s) {
		if c := s[i]; c >= 'a' && c <= 'z' || c >= 'A' && c <= 'Z' || c >= '0' && c <= '9' || c == '-' || c == '.' {
			b = append(b, c)
		} else {
			b = fmt.Appendf(b, "#%02X", c)
		}
	}
	return string(b)
}

// counter counts what is written; its error is sticky.
type counter struct {
	w   io.Writer
	n   int
	err error
}

func (c *counter) Write(b []byte) (int, error) {
	if c.err == nil {
		_, c.err = c.w.Write(b)
	}
	c.n += len(b)
	return len(b), c.err
}
