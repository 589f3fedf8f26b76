package render

import (
	"bytes"
	"embed"
	"fmt"
	"maps"
	"regexp"
	"slices"
	"strconv"
	"sync"
	"time"

	"github.com/go-pdf/fpdf"

	"slotcard/fonts"
)

// Rules of this file, all because of what fpdf does with its input:
//   - fpdf makes the subsets of faces and nothing else; it panics, or draws boxes,
//     at what check has not passed
//   - a face is subset in a document of its own, whose objects are taken over
//   - most documents need the same characters: these subsets are made beforehand, for
//     fpdf takes as long for them as all else takes to print a small plan

// usual are the characters that every subset holds: nearly all documents then share
// one, which is made once, for a few kilobytes more in the file.
var usual = func() (all []rune) {
	for r := ' '; r <= '~'; r++ {
		all = append(all, r)
	}
	return append(all, []rune("°±·½×–—‘’“”•…−≤≥")...)
}()

// accented are the further characters that a subset holds all of where a document
// has any: the letters of Western European languages (ISO/IEC 8859-1).
var accented = func() (all []rune) {
	for r := '\u00a1'; r <= '\u00ff'; r++ {
		all = append(all, r)
	}
	return all
}()

// subset is a face with the characters that a document needs, as objects of a PDF
// that name each other by their place, from 0; the first is the font.
type subset []piece

// piece is an object: what stands around the references in it.
type piece struct {
	text [][]byte
	refs []int // between the texts
}

// size is about how many bytes a subset takes in a file.
func (s subset) size() (n int) {
	for _, p := range s {
		n += 100
		for _, text := range p.text {
			n += len(text)
		}
	}
	return n
}

// data holds what fpdf writes for the subsets that many documents share. A test makes
// them anew: go test ./render -run UsualSubsets -update
//
//go:embed data/*.pdf
var data embed.FS

// subsets are those, of each face, without and with accents.
var subsets [faceCount][2]struct {
	once   sync.Once
	subset subset
	err    error
}

// subsetName is the file of one of them.
func subsetName(f fonts.Face, accents bool) string {
	if accents {
		return f.String() + "-accented.pdf"
	}
	return f.String() + ".pdf"
}

// usualIn are the characters of one of them.
func usualIn(f fonts.Face, accents bool) map[rune]bool {
	has := runesIn(f, usual)
	if accents {
		maps.Copy(has, runesIn(f, accented))
	}
	return has
}

// subsetOf is the subset of a face that holds some characters at least, in order.
func subsetOf(f fonts.Face, runes []rune) (subset, error) {
	for kind := range subsets[f] {
		if within(runes, kind == 1) {
			s := &subsets[f][kind]
			s.once.Do(func() {
				var written []byte
				if written, s.err = data.ReadFile("data/" + subsetName(f, kind == 1)); s.err == nil {
					s.subset, s.err = subsetIn(f, written)
				}
			})
			return s.subset, s.err
		}
	}
	want := usualIn(f, true)
	all := slices.Sorted(maps.Keys(want))
	for _, r := range runes {
		if !want[r] {
			all = append(all, r)
		}
	}
	written, err := writeSubset(f, all)
	if err != nil {
		return nil, err
	}
	return subsetIn(f, written)
}

// Ready reads the usual subset of each face, so that whoever makes a PDF need not wait.
func Ready() {
	for _, f := range fonts.All() {
		_, _ = subsetOf(f, nil) // what is wrong is said when it is needed
	}
}

// within tells whether characters that a face draws are in one of its subsets.
func within(runes []rune, accents bool) bool {
	return !slices.ContainsFunc(runes, func(r rune) bool {
		return !slices.Contains(usual, r) && !(accents && slices.Contains(accented, r))
	})
}

// runesIn are those of some characters that a face has.
func runesIn(f fonts.Face, all []rune) map[rune]bool {
	has := map[rune]bool{}
	for _, r := range all {
		if f.Has(r) {
			has[r] = true
		}
	}
	return has
}

// reference is one object's naming of another.
var reference = regexp.MustCompile(`(\d+) 0 R`)

// notAccepted says that fpdf, or what it has written, is of no use.
func notAccepted(f fonts.Face, err error) error {
	return fmt.Errorf("the PDF cannot be made: face %s is not accepted: %w", f, err)
}

// writeSubset lets fpdf write a document in a face, with some characters.
func writeSubset(f fonts.Face, runes []rune) ([]byte, error) {
	p := fpdf.NewCustom(&fpdf.InitType{OrientationStr: "P", UnitStr: "mm"})
	p.SetCatalogSort(true)
	p.SetCreationDate(time.Unix(0, 0).UTC()) // the same file each time
	p.SetModificationDate(time.Unix(0, 0).UTC())
	// Making the subset, fpdf writes into the bytes it was given.
	p.AddUTF8FontFromBytes(f.String(), "", bytes.Clone(f.Data()))
	p.AddPage()
	p.SetFont(f.String(), "", 1)
	p.Text(0, 0, string(runes))
	var out bytes.Buffer
	if err := p.Output(&out); err != nil {
		return nil, notAccepted(f, err)
	}
	return out.Bytes(), nil
}

// subsetIn takes the font out of a document that fpdf has written: the object of the
// font, and those behind it, which it names.
func subsetIn(f fonts.Face, written []byte) (subset, error) {
	bad := func(err error) (subset, error) { return nil, notAccepted(f, err) }
	offsets, table, err := objects(written)
	if err != nil {
		return bad(err)
	}
	object := func(n int) []byte { // up to its end mark
		end := table
		for _, at := range offsets[1:] {
			if at > offsets[n] && at < end {
				end = at
			}
		}
		_, body, _ := bytes.Cut(written[offsets[n]:end], []byte(" obj\n"))
		return bytes.TrimSuffix(bytes.TrimRight(body, "\n"), []byte("endobj"))
	}
	first := slices.IndexFunc(offsets, func(at int) bool {
		return at > 0 && bytes.Contains(written[at:min(at+80, table)], []byte("/Subtype /Type0"))
	})
	if first < 0 {
		return bad(fmt.Errorf("there is no font in it"))
	}
	var s subset
	place := map[int]int{first: 0}
	order := []int{first}
	for i := 0; i < len(order); i++ {
		body := object(order[i])
		head, _, _ := bytes.Cut(body, []byte("stream\n"))
		var p piece
		at := 0
		for _, m := range reference.FindAllSubmatchIndex(head, -1) {
			n, err := strconv.Atoi(string(head[m[2]:m[3]]))
			if err != nil || n <= 0 || n >= len(offsets) {
				return bad(fmt.Errorf("it names object %s", head[m[2]:m[3]]))
			}
			if _, known := place[n]; !known {
				place[n] = len(order)
				order = append(order, n)
			}
			p.text = append(p.text, body[at:m[2]])
			p.refs = append(p.refs, place[n])
			at = m[3]
		}
		p.text = append(p.text, body[at:])
		s = append(s, p)
	}
	return s, nil
}

// objects reads from the table at the end of a PDF where each object begins, and
// where the table does. Number 0 is none.
func objects(data []byte) (offsets []int, table int, err error) {
	bad := fmt.Errorf("its table of objects is damaged")
	i := bytes.LastIndex(data, []byte("startxref\n"))
	if i < 0 {
		return nil, 0, bad
	}
	count, first := 0, 0
	if _, err := fmt.Sscanf(string(data[i:]), "startxref\n%d", &table); err != nil || table > i {
		return nil, 0, bad
	}
	if _, err := fmt.Sscanf(string(data[table:min(table+64, i)]), "xref\n%d %d", &first, &count); err != nil || first != 0 || count < 2 {
		return nil, 0, bad
	}
	const width = 20 // of a line (ISO 32000-1, 7.5.4)
	lines := data[table:i]
	lines = lines[bytes.Index(lines, []byte("0000000000 65535 f")):]
	offsets = make([]int, count)
	for n := 1; n < count; n++ {
		if len(lines) < (n+1)*width {
			return nil, 0, bad
		}
		if offsets[n], err = strconv.Atoi(string(lines[n*width : n*width+10])); err != nil || offsets[n] >= table {
			return nil, 0, bad
		}
	}
	return offsets, table, nil
}
