// Package files reads what slotcard is given: bounded, and only regular files
// and standard input. Start with [Reader]; [Error] is what goes wrong with a file,
// in our words. What is written goes through package publish.
package files

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"

	"golang.org/x/text/unicode/norm"

	"slotcard/cmd/internal/voice"
)

// MaxTOML bounds a load or a plan: 1 MB is ten times the largest that a person
// keeps by hand, and small enough for any nesting to be read in no time.
const MaxTOML = 1 << 20

// Stdin is what stands for standard input on the command line.
const Stdin = "-"

// Error is a file that cannot be read or written, in our words.
type Error struct {
	Name    string // as it was given; [Stdin] for standard input
	Problem string // completes "NAME: ..."
	Cause   error  // for errors.Is; may be nil
}

// Fail is an [Error]; cause may be nil.
func Fail(name, problem string, cause error) error { return &Error{name, problem, cause} }

func (e *Error) Error() string {
	return Shown(e.Name) + ": " + e.Problem
}

func (e *Error) Unwrap() error { return e.Cause }

// Reader reads files once and keeps them: plans of one folder share a load.
type Reader struct {
	ctx    context.Context
	stdin  io.Reader
	within *os.Root // nil: everywhere
	mu     sync.Mutex
	kept   map[string]kept
	packs  []string // files that are read as folders
}

type kept struct {
	data []byte
	err  error
}

// NewReader is a reader of one run; ctx ends waiting for standard input.
func NewReader(ctx context.Context, stdin io.Reader) *Reader {
	return &Reader{ctx: ctx, stdin: stdin, kept: map[string]kept{}}
}

// NewReaderWithin is a reader of files in a folder and nowhere else: not by a name
// that leads out of it, nor by a symbolic link. Names are those in the folder.
func NewReaderWithin(ctx context.Context, stdin io.Reader, folder *os.Root) *Reader {
	r := NewReader(ctx, stdin)
	r.within = folder
	return r
}

// Read are the names of the files that were read, or could not be, in order.
func (r *Reader) Read() []string {
	r.mu.Lock()
	defer r.mu.Unlock()
	return slices.Sorted(maps.Keys(r.kept))
}

// Stdin is standard input, for those who read it line by line.
func (r *Reader) Stdin() io.Reader { return r.stdin }

// ReadFile reads a load or a plan; "-" is standard input.
func (r *Reader) ReadFile(name string) ([]byte, error) {
	r.mu.Lock()
	defer r.mu.Unlock()
	if k, ok := r.kept[name]; ok {
		return k.data, k.err
	}
	var k kept
	if name == Stdin {
		k.data, k.err = ReadStdin(r.ctx, r.stdin, MaxTOML)
	} else if pack := r.pack(name); pack != "" {
		k.err = Fail(name, "is not attached to "+voice.Name(pack), nil)
	} else if r.within != nil {
		k.data, k.err = ReadWithin(r.within, name, MaxTOML)
	} else {
		k.data, k.err = ReadRegular(name, MaxTOML)
	}
	r.kept[name] = k
	return k.data, k.err
}

// Forget makes a file be read again when it is next asked for.
func (r *Reader) Forget(name string) {
	r.mu.Lock()
	defer r.mu.Unlock()
	delete(r.kept, name)
}

// Replace makes a file read as data from now on; what lies on the disk stays.
func (r *Reader) Replace(name string, data []byte) {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.kept[name] = kept{data: data}
}

// Unpack makes a file read as a folder that holds these files, by their paths with
// "/" in it, and nothing else.
func (r *Reader) Unpack(pack string, held map[string][]byte) {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.packs = append(r.packs, pack)
	for path, data := range held {
		r.kept[filepath.Join(pack, filepath.FromSlash(path))] = kept{data: data}
	}
}

// Pack is the file that is read as a folder in which another one stands; "" where
// that stands on the disk.
func (r *Reader) Pack(name string) string {
	r.mu.Lock()
	defer r.mu.Unlock()
	return r.pack(name)
}

func (r *Reader) pack(name string) string {
	for _, p := range r.packs {
		if strings.HasPrefix(name, p+string(filepath.Separator)) {
			return p
		}
	}
	return ""
}

// Held is what a file is read as that does not stand on the disk; nil where there is
// none.
func (r *Reader) Held(name string) []byte {
	r.mu.Lock()
	defer r.mu.Unlock()
	return r.kept[name].data
}

// ReadRegular reads a regular file of at most limit bytes. The kind is asked
// before the file is opened: opening a pipe would wait for its other end.
func ReadRegular(name string, limit int64) ([]byte, error) {
	return readRegular(disk{}, name, limit)
}

// ReadWithin reads as [ReadRegular], but only what lies in a folder.
func ReadWithin(folder *os.Root, name string, limit int64) ([]byte, error) {
	if !filepath.IsLocal(name) {
		return nil, Fail(name, outside, nil)
	}
	data, err := readRegular(folder, name, limit)
	if err != nil && leadsOut(folder, name) {
		return nil, Fail(name, outside, err)
	}
	return data, err
}

const outside = "lies outside of the folder that is open; open a folder that holds both"

// leadsOut tells whether a file that cannot be reached within a folder is there all
// the same.
func leadsOut(folder *os.Root, name string) bool {
	_, within := folder.Stat(name)
	_, err := os.Stat(filepath.Join(folder.Name(), name))
	return within != nil && err == nil
}

// opener is where files lie.
type opener interface {
	Stat(name string) (fs.FileInfo, error)
	Open(name string) (*os.File, error)
}

type disk struct{}

func (disk) Stat(name string) (fs.FileInfo, error) { return os.Stat(name) }
func (disk) Open(name string) (*os.File, error)    { return os.Open(name) }

func readRegular(in opener, name string, limit int64) ([]byte, error) {
	info, err := in.Stat(name)
	if err != nil {
		return nil, Fail(name, missing(name, err), err)
	}
	if problem := NotReadable(name, info); problem != "" {
		return nil, Fail(name, problem, nil)
	}
	if info.Size() > limit {
		return nil, Fail(name, TooLarge(limit), nil)
	}
	f, err := in.Open(name)
	if err != nil {
		return nil, Fail(name, voice.Reason(err), err)
	}
	defer f.Close()
	// The size is known: memory is taken once.
	data := bytes.NewBuffer(make([]byte, 0, info.Size()+bytes.MinRead))
	if _, err := data.ReadFrom(io.LimitReader(f, limit+1)); err != nil {
		return nil, Fail(name, voice.Reason(err), err)
	}
	if int64(data.Len()) > limit { // it has grown
		return nil, Fail(name, TooLarge(limit), nil)
	}
	return data.Bytes(), nil
}

// ReadStdin reads standard input, and gives up when the run is interrupted.
func ReadStdin(ctx context.Context, stdin io.Reader, limit int64) ([]byte, error) {
	if f, ok := stdin.(*os.File); ok {
		if info, err := f.Stat(); err == nil && info.IsDir() {
			return nil, Fail(Stdin, "is a folder", nil)
		}
	}
	done := make(chan kept, 1)
	go func() {
		data, err := ReadAll(stdin, limit)
		done <- kept{data, err}
	}()
	select {
	case k := <-done:
		if k.err != nil {
			return nil, Fail(Stdin, voice.Reason(k.err), k.err)
		}
		return k.data, nil
	case <-ctx.Done():
		return nil, ctx.Err()
	}
}

// ReadAll reads at most limit bytes; more is an error.
func ReadAll(r io.Reader, limit int64) ([]byte, error) {
	data, err := io.ReadAll(io.LimitReader(r, limit+1))
	if err == nil && int64(len(data)) > limit {
		err = errors.New(TooLarge(limit))
	}
	return data, err
}

// TooLarge is the problem of a file beyond a limit in bytes.
func TooLarge(limit int64) string {
	if limit != MaxTOML {
		return fmt.Sprintf("is larger than %d MB", limit>>20)
	}
	return fmt.Sprintf("is larger than %d MB: too large for a load or a plan", limit>>20)
}

// NotReadable is why something that is there is not read; "" if it is.
func NotReadable(name string, info fs.FileInfo) string {
	switch mode := info.Mode(); {
	case mode.IsRegular():
		return ""
	case mode.IsDir():
		return "is a folder, not a file"
	case mode&fs.ModeNamedPipe != 0:
		return "is a pipe; to read from one, give - as the file and pipe into standard input"
	case mode&fs.ModeDevice != 0:
		return "is a device, not a file"
	default:
		return "is not a regular file"
	}
}

// missing says why a file cannot be found, and which one was probably meant.
func missing(name string, err error) string {
	if !errors.Is(err, fs.ErrNotExist) {
		return voice.Reason(err)
	}
	dir, base := filepath.Split(name)
	if txt := name + ".txt"; IsRegular(txt) {
		return "no such file, but " + voice.Typed(txt) + " is there: an editor added .txt to its name; rename it to " + voice.Typed(base)
	}
	entries, _ := os.ReadDir(filepath.Clean(dir + "."))
	// Alike by "toml" alone are no names; "tmol" is one typed wrongly.
	apart := func(name string) string {
		if kind := strings.TrimPrefix(filepath.Ext(name), "."); voice.Closest(kind, []string{"toml"}) != "" {
			return strings.TrimSuffix(name, kind)
		}
		return name
	}
	var names []string
	called := map[string]string{}
	for _, e := range entries {
		if n := e.Name(); n != base && !strings.HasPrefix(n, ".") && (e.IsDir() || strings.HasSuffix(n, ".toml")) {
			names = append(names, apart(n))
			called[apart(n)] = n
		}
	}
	if c := voice.Closest(apart(base), names); c != "" {
		return "no such file; did you mean " + voice.Typed(dir+called[c]) + "?"
	}
	return "no such file"
}

// TOML are the load and plan files of a folder, in order of their names.
func TOML(dir string) ([]string, error) {
	entries, err := os.ReadDir(dir)
	if err != nil {
		return nil, Fail(dir, voice.Reason(err), err)
	}
	var names []string
	for _, e := range entries {
		if n := e.Name(); !e.IsDir() && strings.HasSuffix(n, ".toml") && !strings.HasPrefix(n, ".") {
			names = append(names, filepath.Join(dir, n))
		}
	}
	if len(names) == 0 {
		if inner, _ := filepath.Glob(filepath.Join(GlobSafe(dir), "*", "*.toml")); len(inner) > 0 {
			var dirs []string
			for _, n := range inner {
				if d := voice.Typed(filepath.Dir(n)); !slices.Contains(dirs, d) {
					dirs = append(dirs, d)
				}
			}
			return nil, Fail(dir, "holds no .toml file, but its folders do; type: slotcard check "+strings.Join(dirs, " "), nil)
		}
		if txt, _ := filepath.Glob(filepath.Join(GlobSafe(dir), "*.toml.txt")); len(txt) > 0 {
			return nil, Fail(dir, "holds no .toml file, but "+filepath.Base(txt[0])+": an editor added .txt to its name; rename it to "+strings.TrimSuffix(filepath.Base(txt[0]), ".txt"), nil)
		}
		return nil, Fail(dir, "holds no .toml file; slotcard new "+voice.Typed(dir)+" puts a load and a plan there", nil)
	}
	return names, nil
}

// Shown is how one says the name of a file.
func Shown(name string) string {
	if name == Stdin {
		return "standard input"
	}
	return voice.Name(name)
}

// IsRegular tells whether there is a regular file of that name.
func IsRegular(name string) bool {
	info, err := os.Stat(name)
	return err == nil && info.Mode().IsRegular()
}

// IsThere tells whether there is a file or folder of that name.
func IsThere(name string) bool {
	_, err := os.Stat(name)
	return err == nil
}

// GlobSafe is a folder's name in which no character is a wildcard.
func GlobSafe(dir string) string {
	return strings.NewReplacer(`[`, `[[]`, `*`, `[*]`, `?`, `[?]`).Replace(dir)
}

// Slug is a text as part of a file's name: small letters, figures and hyphens, and nothing
// that a file system or shell could take amiss. It may be empty.
func Slug(text string) string {
	var b strings.Builder
	for _, r := range norm.NFKD.String(strings.ToLower(text)) {
		switch {
		case 'a' <= r && r <= 'z' || '0' <= r && r <= '9':
			b.WriteRune(r)
		case r < 0x300 || r > 0x36f: // a combining mark is left out
			b.WriteByte('-')
		}
	}
	return strings.Join(strings.FieldsFunc(b.String(), func(r rune) bool { return r == '-' }), "-")
}
