// Package publish writes files so that they appear whole, all of them or none,
// whatever stops the run. Start with [All].
package publish

import (
	"bytes"
	"cmp"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"math/rand/v2"
	"os"
	"path/filepath"
	"regexp"
	"runtime"
	"slices"
	"sync"
	"sync/atomic"
	"syscall"

	"slotcard/cmd/internal/files"
	"slotcard/cmd/internal/voice"
)

// File is a file to be written: a plain name inside the folder, which has of what a
// plan says at most letters, figures and hyphens.
type File struct {
	Name string
	Data []byte
}

// Over says what may stand where a file goes.
type Over uint8

const (
	Nothing Over = iota // no file may be there
	Ours                // a file that slotcard wrote is replaced
	Any                 // every regular file is replaced
)

// Check tells whether the outputs may be written into dir: all that
// stands in the way at once.
func Check(dir string, names []string, over Over) error {
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
			errs = append(errs, files.Fail(path, voice.Reason(err), err))
		case over == Nothing:
			errs = append(errs, files.Fail(path, "is already there and is not overwritten", nil))
		case info.Mode()&fs.ModeSymlink != 0:
			errs = append(errs, files.Fail(path, "is a symbolic link; remove it, or choose another folder with -o", nil))
		case info.IsDir():
			errs = append(errs, files.Fail(path, "is a folder; choose another place with -o", nil))
		case !info.Mode().IsRegular():
			errs = append(errs, files.Fail(path, "is not a regular file; choose another place with -o", nil))
		case over == Ours:
			if problem, err := notOurs(path); problem != "" {
				errs = append(errs, files.Fail(path, problem, err))
			}
		}
	}
	return errors.Join(errs...)
}

// notOurs is why a file is not replaced; "" where slotcard wrote it. One that cannot
// be opened may well be ours.
func notOurs(path string) (problem string, err error) {
	switch ours, err := isOurs(path); {
	case err != nil:
		return "is there and cannot be read: " + voice.Reason(err) + "; so it is not replaced: see who may read it, or choose another folder with -o", err
	case !ours:
		return "was not written by slotcard; --force overwrites it, -o chooses another folder", nil
	}
	return "", nil
}

// Set are files that go into one folder.
type Set struct {
	Dir   string
	Files []File
	Over  Over

	// Of is what a print was made of; the folder then gets a manifest. Nil: no print.
	Of *Origin

	// Expect are files as they were when this run read them; nil: not there. Where
	// one is another by now, nothing is written: see [ErrChanged].
	Expect map[string][]byte
}

// ErrChanged marks a file that another run has changed since this one read it.
var ErrChanged = errors.New("changed since it was read")

// All writes the outputs into dir, which is made where it is missing. All
// are written to temporary files beside their targets first and then renamed;
// when anything fails or the run is interrupted, what was there before is there
// again and nothing else.
func All(ctx context.Context, dir string, outs []File, over Over) (err error) {
	return Sets(ctx, Set{Dir: dir, Files: outs, Over: over})
}

// Sets writes files into several folders as [All] does into one: all of them or
// none.
func Sets(ctx context.Context, sets ...Set) (err error) {
	sets = slices.DeleteFunc(slices.Clone(sets), func(s Set) bool { return len(s.Files) == 0 })
	if len(sets) == 0 {
		return nil
	}
	for _, s := range sets {
		names := make([]string, len(s.Files))
		for i, f := range s.Files {
			names[i] = f.Name
		}
		if err := Check(s.Dir, names, s.Over); err != nil {
			return err
		}
	}
	var undo []func() // in reverse order, when it fails
	var tidy []func() // when it is done
	var locks []*lock
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
		for _, l := range locks {
			l.release()
		}
	}()
	var dirs []string
	for _, s := range sets {
		made, err := makeDir(s.Dir)
		for _, d := range made {
			undo = append(undo, func() { os.Remove(d) })
		}
		if err != nil {
			return err
		}
		if d := filepath.Clean(s.Dir); !slices.ContainsFunc(dirs, func(o string) bool { return really(o) == really(d) }) {
			dirs = append(dirs, d)
		}
	}
	// In one order, two runs never wait for each other.
	slices.SortFunc(dirs, func(a, b string) int { return cmp.Compare(really(a), really(b)) })
	for _, d := range dirs {
		l, err := lockDir(ctx, d)
		if err != nil {
			return cannotLock(err, d, sets)
		}
		locks = append(locks, l)
		undo = append(undo, l.release) // before the folder is removed
	}
	for _, d := range dirs {
		complete(d, dirs)
	}
	for _, d := range dirs {
		sweep(d)
	}
	for i := range sets {
		if err := sets[i].asExpected(); err != nil {
			return err
		}
		if sets[i].Of != nil {
			data, err := readManifest(sets[i].Dir).with(sets[i].Dir, sets[i].Files, *sets[i].Of)
			if err != nil {
				return err
			}
			sets[i].Files = append(slices.Clip(sets[i].Files), File{manifestName, data})
		}
	}
	temps := make([][]string, len(sets))
	var all []unnamed
	for i, s := range sets {
		for _, f := range s.Files {
			temps[i] = append(temps[i], beside(s.Dir))
			all = append(all, unnamed{temps[i][len(temps[i])-1], filepath.Join(s.Dir, f.Name), f.Data})
		}
	}
	record, err := recordOf(sets, temps)
	if err != nil {
		return err
	}
	if record != nil {
		all = append(all, *record)
	}
	for _, f := range all {
		undo = append(undo, func() { os.Remove(f.temp) })
	}
	if err := writeAll(ctx, all); err != nil {
		return err
	}
	for _, l := range locks {
		if !l.held() {
			return files.Fail(filepath.Dir(l.path), "was taken over by another slotcard, while this one slept; run it again", nil)
		}
	}
	// From here on the new files are complete: whoever comes next can give them their
	// names.
	forget, err := record.begin()
	undo, tidy = append(undo, forget), append(tidy, forget)
	if err != nil {
		return err
	}
	// Before a way back is taken, the record is forgotten: else the next run would go
	// forward from the middle of it.
	back := len(undo) - 1
	placing.Add(1)
	defer placing.Add(-1)
	for i, s := range sets {
		for k, f := range s.Files {
			un, then, err := s.put(temps[i][k], f)
			undo, tidy = slices.Insert(undo, back, un...), append(tidy, then...)
			back += len(un)
			if err != nil {
				return err
			}
		}
	}
	for _, s := range sets {
		syncDir(s.Dir)
	}
	return nil
}

// placing is how many runs of this process give files their names.
var placing atomic.Int32

// Placing tells whether files get their names at this moment: then it is better to
// wait than to end.
func Placing() bool { return placing.Load() > 0 }

// really is a folder under its own name.
func really(dir string) string {
	if abs, err := filepath.Abs(dir); err == nil {
		dir = abs
	}
	if real, err := filepath.EvalSymlinks(dir); err == nil {
		dir = real
	}
	return dir
}

// cannotLock says of the first file that it cannot be written.
func cannotLock(err error, dir string, sets []Set) error {
	var known *files.Error
	if errors.Is(err, context.Canceled) || errors.Is(err, context.DeadlineExceeded) || errors.As(err, &known) {
		return err
	}
	for _, s := range sets {
		if filepath.Clean(s.Dir) == dir && len(s.Files) > 0 {
			return cannotWrite(filepath.Join(s.Dir, s.Files[0].Name), err)
		}
	}
	return cannotWrite(dir, err)
}

func cannotWrite(path string, err error) error {
	return files.Fail(path, "cannot be written: "+voice.Reason(err), err)
}

// unnamed is a file under a name of its own, until all are complete.
type unnamed struct {
	temp   string
	target string // where it goes, or what a message names in its place
	data   []byte
}

// asExpected looks whether files are still what this run has read. One that holds
// already what is to be written is as good.
func (s Set) asExpected() error {
	for _, f := range s.Files {
		was, asked := s.Expect[f.Name]
		if !asked {
			continue
		}
		path := filepath.Join(s.Dir, f.Name)
		is, err := os.ReadFile(path)
		if errors.Is(err, fs.ErrNotExist) {
			is, err = nil, nil
		}
		if err != nil {
			return files.Fail(path, voice.Reason(err), err)
		}
		if !bytes.Equal(is, was) && !bytes.Equal(is, f.Data) {
			return files.Fail(path, "was changed by another run since this one read it: nothing was written; do it again", ErrChanged)
		}
	}
	return nil
}

// recordOf is the record of a run of several files, in the folder of the first set; of
// one file there is none.
func recordOf(sets []Set, temps [][]string) (*unnamed, error) {
	r := record{Version: manifestVersion}
	home := filepath.Clean(sets[0].Dir)
	for i, s := range sets {
		dir := ""
		if d := filepath.Clean(s.Dir); d != home {
			var err error
			if dir, err = filepath.Rel(home, d); err != nil {
				dir = "" // on another drive: that file is left as it is
			}
		}
		for k, f := range s.Files {
			r.Moves = append(r.Moves, move{dir, filepath.Base(temps[i][k]), f.Name, sum(f.Data), s.Over})
		}
	}
	if len(r.Moves) < 2 {
		return nil, nil
	}
	data, err := json.Marshal(r)
	return &unnamed{beside(home), filepath.Join(home, sets[0].Files[0].Name), data}, err
}

// begin gives a record that is written its name, and says how to remove it.
func (record *unnamed) begin() (forget func(), err error) {
	if record == nil {
		return func() {}, nil
	}
	home := filepath.Dir(record.temp)
	path := filepath.Join(home, recordName)
	forget = func() { os.Remove(path) }
	if err := os.Rename(record.temp, path); err != nil {
		return forget, cannotWrite(record.target, err)
	}
	syncDir(home)
	return forget, nil
}

// writeAll writes files under their own names, several at a time: waiting for the disk
// is shared.
func writeAll(ctx context.Context, all []unnamed) error {
	errs := make([]error, len(all))
	var writing sync.WaitGroup
	turns := make(chan struct{}, 8)
	for i, f := range all {
		turns <- struct{}{}
		writing.Go(func() {
			defer func() { <-turns }()
			if errs[i] = ctx.Err(); errs[i] != nil {
				return
			}
			if err := writeNew(f.temp, f.data); err != nil {
				errs[i] = cannotWrite(f.target, err)
			}
		})
	}
	writing.Wait()
	return cmp.Or(ctx.Err(), firstError(errs))
}

// put gives a finished file its name, and says how to take that back and what is
// left to do when all is done.
func (s Set) put(temp string, f File) (undo, tidy []func(), err error) {
	target := filepath.Join(s.Dir, f.Name)
	// Somebody may have put another thing there since.
	if f.Name == manifestName {
		s.Over = Any
	}
	if err := Check(s.Dir, []string{f.Name}, s.Over); err != nil {
		return nil, nil, err
	}
	if info, err := os.Lstat(target); err == nil && s.Over != Nothing {
		os.Chmod(temp, info.Mode().Perm()) // who may read it is not ours to change
		// A second name keeps the old file until all the new ones are there.
		// Where a file has one name only, it stands aside for a moment: the record
		// tells what was to stand there.
		old := beside(s.Dir)
		if link(target, old) != nil {
			if err := os.Rename(target, old); err != nil {
				return nil, nil, cannotWrite(target, err)
			}
		}
		// Rename does nothing where both are still one file.
		undo = append(undo, func() { os.Rename(old, target); os.Remove(old) })
		tidy = append(tidy, func() { os.Remove(old) })
	} else {
		undo = append(undo, func() { removeSame(target, temp, f.Data) })
	}
	if err := place(temp, target, s.Over); err != nil {
		return undo, tidy, cannotWrite(target, err)
	}
	return undo, tidy, nil
}

// link is a variable for the tests: not every file system has second names.
var link = os.Link

// CanWrite tells why a file cannot be written into a folder that is there; nil where
// it can, over any regular file of its name.
func CanWrite(dir, name string) error {
	if info, err := os.Lstat(filepath.Join(dir, name)); err == nil && !info.Mode().IsRegular() {
		return files.Fail(filepath.Join(dir, name), "is not a regular file", nil)
	}
	temp := beside(dir)
	defer os.Remove(temp)
	if err := writeNew(temp, nil); err != nil {
		return cannotWrite(filepath.Join(dir, name), err)
	}
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
func place(temp, target string, over Over) error {
	if over == Nothing {
		switch err := link(temp, target); {
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
			return nil, files.Fail(d, "is not a folder", nil)
		case errors.Is(err, syscall.ENOTDIR): // said of the one above
		case !errors.Is(err, fs.ErrNotExist) || filepath.Dir(d) == d:
			return nil, files.Fail(d, voice.Reason(err), err)
		default:
			switch info, err := os.Lstat(d); {
			case err == nil && info.IsDir(): // another print has just made it
				return dirs, nil
			case err == nil && info.Mode()&fs.ModeSymlink != 0:
				return nil, files.Fail(d, "is a symbolic link to something that is not there", nil)
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
			return made, files.Fail(d, "cannot be made: "+voice.Reason(err), err)
		}
	}
	return made, nil
}

// beside is the name of a temporary file in dir; temporary knows it again.
func beside(dir string) string {
	return filepath.Join(dir, fmt.Sprintf(".slotcard-%d-%08x.tmp", os.Getpid(), rand.Uint32()))
}

var temporary = regexp.MustCompile(`^\.slotcard-([1-9][0-9]{0,9})-[0-9a-f]{8}\.tmp$`)

// sweep removes what runs that were killed have left. Whoever has the lock of a folder
// is the only one that writes there, so that it is nobody's.
func sweep(dir string) {
	entries, _ := os.ReadDir(dir)
	for _, e := range entries {
		if temporary.MatchString(e.Name()) && e.Type().IsRegular() {
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
