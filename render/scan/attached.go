package scan

import (
	"crypto/md5"
	"crypto/sha256"
	"errors"
	"fmt"
	"io/fs"
	"strings"
)

// ErrNotAttached is a PDF of slotcard's to which the files it was made from are not
// attached.
var ErrNotAttached = errors.New("does not hold the plan that it was printed from: it was printed with --no-attach, or by an older slotcard")

const (
	maxAttached = 8   // files
	maxPath     = 255 // bytes of the path of one
)

// File is a file that is attached to a PDF: what the paper was made from.
type File struct {
	Path string // where it stood beside the others, with "/" between folders
	Role string // plan, load, station or numbers
	Data []byte
	Sum  [sha256.Size]byte
}

// Attached are the files that are attached to a PDF that slotcard wrote, each as
// its checksums say that it was. The error is [ErrForeign], perhaps with what is
// foreign in it, for any other PDF.
func Attached(data []byte) ([]File, error) {
	if len(data) > MaxFile {
		return nil, fmt.Errorf("is larger than %d MB", MaxFile>>20)
	}
	d, err := openPDF(data)
	if err != nil {
		return nil, err
	}
	list, ok := d.root["AF"].([]any)
	switch {
	case d.root["AF"] == nil:
		return nil, ErrNotAttached
	case !ok || len(list) == 0 || len(list) > maxAttached:
		return nil, foreign("it has more than %d files attached, or in another way", maxAttached)
	}
	files := make([]File, 0, len(list))
	known := map[string]bool{}
	for i, ref := range list {
		f, err := d.attached(ref)
		if err != nil {
			return nil, fmt.Errorf("attached file %d: %w", i+1, err)
		}
		if known[f.Path] {
			return nil, fmt.Errorf("attached file %d: %w", i+1, foreign("there are two of its name"))
		}
		known[f.Path] = true
		files = append(files, f)
	}
	return files, nil
}

func (d *pdf) attached(ref any) (f File, err error) {
	spec, err := d.dict(ref)
	if err != nil {
		return f, err
	}
	path, ok1 := spec["XXPath"].(text)
	role, ok2 := spec["XXRole"].(name)
	held, ok3 := spec["EF"].(dict)
	if f.Path, f.Role = string(unescaped(path)), string(role); !ok1 || !ok2 || !ok3 {
		return f, foreign("slotcard did not attach it")
	}
	if !fs.ValidPath(f.Path) || f.Path == "." || len(f.Path) > maxPath || strings.ContainsFunc(f.Path, func(r rune) bool { return r < ' ' || r == '\\' || r == ':' || r == 0x7f }) {
		return f, foreign("its path leads elsewhere")
	}
	content, head, err := d.stream(held["F"])
	if err != nil {
		return f, err
	}
	f.Data, f.Sum = content, sha256.Sum256(content)
	params, ok := head["Params"].(dict)
	if !ok || params["Size"] != float64(len(content)) {
		return f, foreign("it has another length than it says")
	}
	short, _ := params["CheckSum"].(text)
	long, _ := params["XXSHA256"].(text)
	if sum := md5.Sum(content); string(unescaped(short)) != string(sum[:]) || string(unescaped(long)) != string(f.Sum[:]) {
		return f, foreign("%s is not as it was printed from: its checksum differs", f.Path)
	}
	return f, nil
}

// unescaped are the bytes of a text (ISO 32000-1, 7.3.4.2) as render writes it.
func unescaped(t text) []byte {
	out := make([]byte, 0, len(t))
	for i := 0; i < len(t); i++ {
		c := t[i]
		if c == '\\' && i+1 < len(t) {
			i++
			if c = t[i]; c == 'r' {
				c = '\r'
			}
		}
		out = append(out, c)
	}
	return out
}
