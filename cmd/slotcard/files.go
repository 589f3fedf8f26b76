package main

// Every file that slotcard opens or writes goes through here. Reading is
// bounded, and only of regular files and of standard input. Outputs appear
// whole, all of them or none.

import (
	"bytes"
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"math/rand/v2"
	"os"
	"path/filepath"
	"regexp"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"sync"
	"syscall"

	plansheet "slotcard/plan/sheet"
)

// maxTOML bounds a load or a plan: 1 MB is ten times the largest that a person
// keeps by hand, and small enough for any nesting to be read in no time.
const maxTOML = 1 << 20

// stdinName is what stands for standard input on the command line.
const stdinName = "-"

// fileError is a file that cannot be read or written, in our words.
type fileError struct {
	name    string
	problem string
	cause   error // for errors.Is; may be nil
}

func (e *fileError) Error() string {
	name := e.name
	if name == stdinName {
		name = "standard input"
	}
	return name + ": " + e.problem
}

func (e *fileError) Unwrap() error { return e.cause }

// reason is an error of the operating system without the call and the path.
func reason(err error) string {
	var path *fs.PathError
	var link *os.LinkError
	var call *os.SyscallError
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return "no such file or folder"
	case errors.Is(err, fs.ErrPermission):
		return "no permission"
	case errors.Is(err, fs.ErrExist):
		return "already exists"
	case errors.As(err, &path):
		err = path.Err
	case errors.As(err, &link):
		err = link.Err
	case errors.As(err, &call):
		err = call.Err
	}
	return err.Error()
}

// reader reads files once and keeps them: plans of one folder share a load.
type reader struct {
	ctx   context.Context
	stdin io.Reader
	mu    sync.Mutex
	kept  map[string]kept
}

type kept struct {
	data []byte
	err  error
}

func newReader(ctx context.Context, stdin io.Reader) *reader {
	return &reader{ctx: ctx, stdin: stdin, kept: map[string]kept{}}
}

// ReadFile reads a load or a plan; "-" is standard input.
func (r *reader) ReadFile(name string) ([]byte, error) {
	r.mu.Lock()
	defer r.mu.Unlock()
	if k, ok := r.kept[name]; ok {
		return k.data, k.err
	}
	var k kept
	if name == stdinName {
		k.data, k.err = readStdin(r.ctx, r.stdin, maxTOML)
	} else {
		k.data, k.err = readRegular(name, maxTOML)
	}
	r.kept[name] = k
	return k.data, k.err
}

// readRegular reads a regular file of at most limit bytes. The kind is asked
// before the file is opened: opening a pipe would wait for its other end.
func readRegular(name string, limit int64) ([]byte, error) {
	info, err := os.Stat(name)
	if err != nil {
		return nil, &fileError{name, missing(name, err), err}
	}
	if problem := notReadable(name, info); problem != "" {
		return nil, &fileError{name, problem, nil}
	}
	if info.Size() > limit {
		return nil, &fileError{name, tooLarge(limit), nil}
	}
	f, err := os.Open(name)
	if err != nil {
		return nil, &fileError{name, reason(err), err}
	}
	defer f.Close()
	// The size is known: memory is taken once.
	data := bytes.NewBuffer(make([]byte, 0, info.Size()+bytes.MinRead))
	if _, err := data.ReadFrom(io.LimitReader(f, limit+1)); err != nil {
		return nil, &fileError{name, reason(err), err}
	}
	if int64(data.Len()) > limit { // it has grown
		return nil, &fileError{name, tooLarge(limit), nil}
	}
	return data.Bytes(), nil
}

// readStdin reads standard input, and gives up when the run is interrupted.
func readStdin(ctx context.Context, stdin io.Reader, limit int64) ([]byte, error) {
	if f, ok := stdin.(*os.File); ok {
		if info, err := f.Stat(); err == nil && info.IsDir() {
			return nil, &fileError{stdinName, "is a folder", nil}
		}
	}
	done := make(chan kept, 1)
	go func() {
		data, err := readAll(stdin, limit)
		done <- kept{data, err}
	}()
	select {
	case k := <-done:
		if k.err != nil {
			return nil, &fileError{stdinName, reason(k.err), k.err}
		}
		return k.data, nil
	case <-ctx.Done():
		return nil, ctx.Err()
	}
}

func readAll(r io.Reader, limit int64) ([]byte, error) {
	data, err := io.ReadAll(io.LimitReader(r, limit+1))
	if err == nil && int64(len(data)) > limit {
		err = errors.New(tooLarge(limit))
	}
	return data, err
}

func tooLarge(limit int64) string {
	if limit != maxTOML {
		return fmt.Sprintf("is larger than %d MB", limit>>20)
	}
	return fmt.Sprintf("is larger than %d MB: that is no load and no plan", limit>>20)
}

// notReadable is why something that is there is not read; "" if it is.
func notReadable(name string, info fs.FileInfo) string {
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
		return reason(err)
	}
	dir, base := filepath.Split(name)
	entries, _ := os.ReadDir(filepath.Clean(dir + "."))
	var names []string
	for _, e := range entries {
		if n := e.Name(); n != base && !strings.HasPrefix(n, ".") && (e.IsDir() || strings.HasSuffix(n, ".toml")) {
			names = append(names, n)
		}
	}
	if c := closest(base, names); c != "" {
		return "no such file; did you mean " + typed(dir+c) + "?"
	}
	return "no such file"
}

// tomlFiles are the load and plan files of a folder, in order of their names.
func tomlFiles(dir string) ([]string, error) {
	entries, err := os.ReadDir(dir)
	if err != nil {
		return nil, &fileError{dir, reason(err), err}
	}
	var names []string
	for _, e := range entries {
		if n := e.Name(); !e.IsDir() && strings.HasSuffix(n, ".toml") && !strings.HasPrefix(n, ".") {
			names = append(names, filepath.Join(dir, n))
		}
	}
	if len(names) == 0 {
		if inner, _ := filepath.Glob(filepath.Join(globSafe(dir), "*", "*.toml")); len(inner) > 0 {
			var dirs []string
			for _, n := range inner {
				if d := typed(filepath.Dir(n)); !slices.Contains(dirs, d) {
					dirs = append(dirs, d)
				}
			}
			return nil, &fileError{dir, "holds no .toml file, but its folders do; type: slotcard check " + strings.Join(dirs, " "), nil}
		}
		return nil, &fileError{dir, "holds no .toml file; slotcard new " + typed(dir) + " puts a load and a plan there", nil}
	}
	return names, nil
}

// output is a file to be written: a plain name inside the output folder, never
// one that came out of a plan.
type output struct {
	name string
	data []byte
}

// overwriting says what may stand where an output goes.
type overwriting uint8

const (
	overNothing overwriting = iota // no file may be there
	overOurs                       // a file that slotcard wrote is replaced
	overAny                        // every regular file is replaced
)

// checkTargets tells whether the outputs may be written into dir: all that
// stands in the way at once.
func checkTargets(dir string, names []string, over overwriting) error {
	if _, err := missingDirs(dir); err != nil {
		return err
	}
	var errs []error
	for _, name := range names {
		path := filepath.Join(dir, name)
		info, err := os.Lstat(path)
		switch {
		case errors.Is(err, fs.ErrNotExist):
		case err != nil:
			errs = append(errs, &fileError{path, reason(err), err})
		case over == overNothing:
			errs = append(errs, &fileError{path, "is already there and is not overwritten", nil})
		case info.Mode()&fs.ModeSymlink != 0:
			errs = append(errs, &fileError{path, "is a symbolic link; remove it, or choose another folder with -o", nil})
		case info.IsDir():
			errs = append(errs, &fileError{path, "is a folder; choose another place with -o", nil})
		case !info.Mode().IsRegular():
			errs = append(errs, &fileError{path, "is not a regular file; choose another place with -o", nil})
		case over == overOurs && !ours(path):
			errs = append(errs, &fileError{path, "was not written by slotcard; --force overwrites it, -o chooses another folder", nil})
		}
	}
	return errors.Join(errs...)
}

// ours tells whether slotcard wrote a file: a PDF, PNG or CSV that says so inside.
func ours(path string) bool {
	f, err := os.Open(path)
	if err != nil {
		return false
	}
	defer f.Close()
	head := make([]byte, 8)
	n, _ := io.ReadFull(f, head)
	head = head[:n]
	if !bytes.HasPrefix(head, []byte("%PDF-")) && !bytes.Equal(head, []byte("\x89PNG\r\n\x1a\n")) {
		more := make([]byte, 256)
		n, _ := io.ReadFull(f, more)
		return plansheet.IsWritten(append(head, more[:n]...))
	}
	return holds(f, ourMarks)
}

// holds looks for any of the marks in what r still has, with bounded memory.
func holds(r io.Reader, marks [][]byte) bool {
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
				return true
			}
		}
		if err != nil {
			return false
		}
		if keep := min(len(buf), longest-1); keep > 0 {
			copy(buf, buf[len(buf)-keep:])
			buf = buf[:keep]
		}
	}
}

// publish writes the outputs into dir, which is made where it is missing. All
// are written to temporary files beside their targets first and then renamed;
// when anything fails or the run is interrupted, what was there before is there
// again and nothing else.
func publish(ctx context.Context, dir string, outs []output, over overwriting) (err error) {
	names := make([]string, len(outs))
	for i, o := range outs {
		names[i] = o.name
	}
	if err := checkTargets(dir, names, over); err != nil {
		return err
	}
	var undo []func() // in reverse order, when it fails
	var tidy []func() // when it is done
	defer func() {
		if err != nil {
			for i := len(undo) - 1; i >= 0; i-- {
				undo[i]()
			}
			return
		}
		for _, f := range tidy {
			f()
		}
	}()

	made, err := makeDir(dir)
	for _, d := range made {
		undo = append(undo, func() { os.Remove(d) })
	}
	if err != nil {
		return err
	}
	sweep(dir)

	temps := make([]string, len(outs))
	errs := make([]error, len(outs))
	var writing sync.WaitGroup
	turns := make(chan struct{}, 8) // waiting for the disk is shared
	for i, o := range outs {
		temps[i] = beside(dir)
		undo = append(undo, func() { os.Remove(temps[i]) })
		turns <- struct{}{}
		writing.Go(func() {
			defer func() { <-turns }()
			if errs[i] = ctx.Err(); errs[i] != nil {
				return
			}
			if err := writeNew(temps[i], o.data); err != nil {
				errs[i] = &fileError{filepath.Join(dir, o.name), "cannot be written: " + reason(err), err}
			}
		})
	}
	writing.Wait()
	if err := cmp.Or(ctx.Err(), firstError(errs)); err != nil {
		return err
	}
	for i, o := range outs {
		target := filepath.Join(dir, o.name)
		// Somebody may have put another thing there since.
		if err := checkTargets(dir, names[i:i+1], over); err != nil {
			return err
		}
		if _, err := os.Lstat(target); err == nil && over != overNothing {
			// A second name keeps the old file until all the new ones are there.
			old := beside(dir)
			if os.Link(target, old) == nil {
				// Rename does nothing where both are still one file.
				undo = append(undo, func() { os.Rename(old, target); os.Remove(old) })
				tidy = append(tidy, func() { os.Remove(old) })
			}
		} else {
			undo = append(undo, func() { removeSame(target, temps[i], o.data) })
		}
		if err := place(temps[i], target, over); err != nil {
			return &fileError{target, "cannot be written: " + reason(err), err}
		}
	}
	syncDir(dir)
	return nil
}

func firstError(errs []error) error {
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}

// place gives the finished file its name. Where nothing may be overwritten, a
// hard link is used: unlike a rename it fails when the name is taken.
func place(temp, target string, over overwriting) error {
	if over == overNothing {
		switch err := os.Link(temp, target); {
		case err == nil:
			return os.Remove(temp)
		case errors.Is(err, fs.ErrExist):
			return err
		}
	}
	return os.Rename(temp, target)
}

// removeSame takes back a target that this run has placed. One that the run
// has not come to is left alone.
func removeSame(target, temp string, data []byte) {
	if _, err := os.Lstat(temp); err == nil {
		return // not placed
	}
	if there, err := os.ReadFile(target); err == nil && bytes.Equal(there, data) {
		os.Remove(target)
	}
}

// missingDirs are the folder and those above it that have to be made, the
// outermost first. What stands in the way is an error.
func missingDirs(dir string) (dirs []string, err error) {
	for d := filepath.Clean(dir); ; d = filepath.Dir(d) {
		info, err := os.Stat(d)
		switch {
		case err == nil && info.IsDir():
			return dirs, nil
		case err == nil:
			return nil, &fileError{d, "is not a folder", nil}
		case errors.Is(err, syscall.ENOTDIR): // said of the one above
		case !errors.Is(err, fs.ErrNotExist) || filepath.Dir(d) == d:
			return nil, &fileError{d, reason(err), err}
		default:
			if _, err := os.Lstat(d); err == nil {
				return nil, &fileError{d, "is a symbolic link that leads nowhere", nil}
			}
			dirs = slices.Insert(dirs, 0, d)
		}
	}
}

// makeDir makes a folder and those above it, and tells which were missing, the
// outermost first, also when it fails.
func makeDir(dir string) (made []string, err error) {
	dirs, err := missingDirs(dir)
	if err != nil {
		return nil, err
	}
	for _, d := range dirs {
		switch err := os.Mkdir(d, 0o777); {
		case err == nil:
			made = append(made, d)
		case errors.Is(err, fs.ErrExist): // somebody else was faster
		default:
			return made, &fileError{d, "cannot be made: " + reason(err), err}
		}
	}
	return made, nil
}

// beside is the name of a temporary file in dir; temporary knows it again.
func beside(dir string) string {
	return filepath.Join(dir, fmt.Sprintf(".slotcard-%d-%08x.tmp", os.Getpid(), rand.Uint32()))
}

var temporary = regexp.MustCompile(`^\.slotcard-([1-9][0-9]{0,9})-[0-9a-f]{8}\.tmp$`)

// sweep removes the temporary files of runs that were killed. It comes before
// this run has any: those with its own number are of an earlier process.
func sweep(dir string) {
	entries, _ := os.ReadDir(dir)
	for _, e := range entries {
		m := temporary.FindStringSubmatch(e.Name())
		if m == nil || !e.Type().IsRegular() {
			continue
		}
		if pid, err := strconv.Atoi(m[1]); err == nil && (pid == os.Getpid() || !running(pid)) {
			os.Remove(filepath.Join(dir, e.Name()))
		}
	}
}

// running tells whether there is a process of that number; where the system
// does not say, there is.
func running(pid int) bool {
	p, err := os.FindProcess(pid)
	if err != nil { // Windows finds only those that run
		return errors.Is(err, fs.ErrPermission)
	}
	defer p.Release()
	return runtime.GOOS == "windows" || !errors.Is(p.Signal(syscall.Signal(0)), os.ErrProcessDone)
}

// writeNew writes a file that is not there yet, through to the disk.
func writeNew(name string, data []byte) (err error) {
	f, err := os.OpenFile(name, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o666)
	if err != nil {
		return err
	}
	defer func() {
		if e := f.Close(); err == nil {
			err = e
		}
	}()
	if _, err := f.Write(data); err != nil {
		return err
	}
	return f.Sync()
}

// syncDir makes new names durable where the system can; where it cannot, they
// become so on their own.
func syncDir(dir string) {
	if d, err := os.Open(dir); err == nil {
		d.Sync()
		d.Close()
	}
}
