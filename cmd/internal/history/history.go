// Package history keeps the former versions of a file in the folder
// .slotcard/history beside it, so that nothing which was ever saved is lost: [Write]
// writes a file and keeps what it had, [List] tells what there is, [Undo] and [Redo]
// go back and forth.
//
// The file itself is the truth. A version is kept before the file changes, so that
// whatever stops the run leaves the file whole, the old one or the new one, and the
// old one in the folder. The newest versions are kept, bounded by count and size.
package history

import (
	"bytes"
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"

	"slotcard/cmd/internal/files"
	"slotcard/cmd/internal/publish"
	"slotcard/cmd/internal/voice"
)

// mostVersions and mostBytes bound what is kept of one file. Our choice: a few days
// of work, and less than one photograph.
const (
	mostVersions = 400
	mostBytes    = 8 << 20
)

// Version is a former text of a file.
type Version struct {
	ID     string    // names it among those of its file
	At     time.Time // when it was replaced
	Undone bool      // it was left by going back: redo brings it again
	Aside  bool      // it was left by going back, and then another way was taken
	Size   int64
}

// mostNotes bound the notes that are kept of sheets that became plans.
const mostNotes = 20

var noteName = regexp.MustCompile(`^[A-Z2-7]{16}$`)

const notes = "sheets" // in the folder .slotcard

// KeepNote keeps what is known of a sheet beside the history of its folder, under a name
// of sixteen letters and digits. The oldest of many are dropped.
func KeepNote(ctx context.Context, folder *os.Root, id string, data []byte) error {
	d, err := under(folder, ".", ".slotcard", notes)
	if err != nil {
		return err
	}
	if !noteName.MatchString(id) {
		return errors.New("there is no such sheet")
	}
	if err := publish.All(ctx, d, []publish.File{{Name: id + ".json", Data: data}}, publish.Any); err != nil {
		return err
	}
	entries, err := fs.ReadDir(folder.FS(), filepath.ToSlash(d))
	if err != nil {
		return nil // it is kept
	}
	type note struct {
		name string
		at   time.Time
	}
	var all []note
	for _, e := range entries {
		name, ok := strings.CutSuffix(e.Name(), ".json")
		if info, err := e.Info(); ok && err == nil && noteName.MatchString(name) && name != id {
			all = append(all, note{e.Name(), info.ModTime()})
		}
	}
	slices.SortFunc(all, func(a, b note) int { return b.at.Compare(a.at) })
	for i := mostNotes - 1; i < len(all); i++ {
		_ = folder.Remove(filepath.Join(d, all[i].name))
	}
	return nil
}

// Note is what was kept under a name.
func Note(folder *os.Root, id string) ([]byte, error) {
	d, err := under(folder, ".", ".slotcard", notes)
	if err != nil {
		return nil, err
	}
	if !noteName.MatchString(id) {
		return nil, errors.New("there is no such sheet")
	}
	return files.ReadWithin(folder, filepath.Join(d, id+".json"), mostBytes)
}

var versionName = regexp.MustCompile(`^([0-9]{19})-[0-9a-f]{12}(\.undone|\.aside)?\.toml$`)

// dir is the folder of a file's versions, which must not lead elsewhere.
func dir(folder *os.Root, name string) (string, error) {
	return under(folder, filepath.Dir(name), ".slotcard", "history", filepath.Base(name))
}

// under is a folder in the folder d, part by part, none of which leads elsewhere.
func under(folder *os.Root, d string, parts ...string) (string, error) {
	for _, part := range parts {
		d = filepath.Join(d, part)
		if info, err := folder.Lstat(d); err == nil && !info.IsDir() {
			return "", files.Fail(d, "is no folder, so that former versions cannot be kept there", nil)
		}
	}
	return d, nil
}

// List is the former versions of a file, the newest first.
func List(folder *os.Root, name string) ([]Version, error) {
	d, err := dir(folder, name)
	if err != nil {
		return nil, err
	}
	entries, err := fs.ReadDir(folder.FS(), filepath.ToSlash(d))
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, files.Fail(d, voice.Reason(err), err)
	}
	var all []Version
	for _, e := range entries {
		m := versionName.FindStringSubmatch(e.Name())
		info, err := e.Info()
		if m == nil || err != nil || !info.Mode().IsRegular() {
			continue
		}
		n, _ := strconv.ParseInt(m[1], 10, 64)
		all = append(all, Version{e.Name(), time.Unix(0, n), m[2] == ".undone", m[2] == ".aside", info.Size()})
	}
	slices.SortFunc(all, func(a, b Version) int { return b.At.Compare(a.At) })
	return all, nil
}

// Read is the text of a version.
func Read(folder *os.Root, name, id string) ([]byte, error) {
	if !versionName.MatchString(id) {
		return nil, errors.New("there is no such version")
	}
	d, err := dir(folder, name)
	if err != nil {
		return nil, err
	}
	return files.ReadWithin(folder, filepath.Join(d, id), files.MaxTOML)
}

// Write writes a file that is there, whole, and keeps what it had.
func Write(ctx context.Context, folder *os.Root, name string, text []byte, at time.Time) error {
	old, err := files.ReadWithin(folder, name, files.MaxTOML)
	if err != nil || bytes.Equal(old, text) {
		return err
	}
	if err := Keep(ctx, folder, name, old, at); err != nil {
		return err
	}
	return put(ctx, name, text)
}

// Keep keeps what a file has, before somebody changes it. What was undone before stands
// aside: it can be read and brought back, but neither undo nor redo leads to it, as
// nobody who goes back expects to meet what he has taken back already.
func Keep(ctx context.Context, folder *os.Root, name string, old []byte, at time.Time) error {
	versions, err := List(folder, name)
	if err != nil {
		return err
	}
	d, _ := dir(folder, name)
	for _, v := range versions {
		if plain, undone := strings.CutSuffix(v.ID, ".undone.toml"); undone {
			_ = folder.Rename(filepath.Join(d, v.ID), filepath.Join(d, plain+".aside.toml"))
		}
	}
	return keep(ctx, folder, name, old, at, false)
}

func put(ctx context.Context, name string, text []byte) error {
	return publish.All(ctx, filepath.Dir(name), []publish.File{{Name: filepath.Base(name), Data: text}}, publish.Any)
}

func keep(ctx context.Context, folder *os.Root, name string, old []byte, at time.Time, undone bool) error {
	d, err := dir(folder, name)
	if err != nil {
		return err
	}
	versions, err := List(folder, name)
	if err != nil {
		return err
	}
	if len(versions) > 0 && !at.After(versions[0].At) {
		at = versions[0].At.Add(1) // a clock that was set back does not change their order
	}
	mark := ""
	if undone {
		mark = ".undone"
	}
	sum := sha256.Sum256(old)
	id := fmt.Sprintf("%019d-%x%s.toml", at.UnixNano(), sum[:6], mark)
	if err := publish.All(ctx, d, []publish.File{{Name: id, Data: old}}, publish.Nothing); err != nil {
		return err
	}
	size, n := int64(len(old)), 1
	for _, v := range versions {
		if size, n = size+v.Size, n+1; size > mostBytes || n > mostVersions {
			_ = folder.Remove(filepath.Join(d, v.ID))
		}
	}
	return nil
}

// Undo brings the newest former version back, and [Redo] what that left. A version
// that says what the file says already is of a run that was stopped: it is passed over.
func Undo(ctx context.Context, folder *os.Root, name string, at time.Time) error {
	return step(ctx, folder, name, at, true)
}

// Redo brings back what the last [Undo] left.
func Redo(ctx context.Context, folder *os.Root, name string, at time.Time) error {
	return step(ctx, folder, name, at, false)
}

// errNothing is where there is nothing to go back to, or forth.
var errNothing = errors.New("there is no other version to go to")

func step(ctx context.Context, folder *os.Root, name string, at time.Time, back bool) error {
	versions, err := List(folder, name)
	if err != nil {
		return err
	}
	d, err := dir(folder, name)
	if err != nil {
		return err
	}
	now, err := files.ReadWithin(folder, name, files.MaxTOML)
	if err != nil {
		return err
	}
	for _, v := range versions {
		if v.Aside || v.Undone == back {
			continue
		}
		text, err := Read(folder, name, v.ID)
		if err != nil {
			return err
		}
		if bytes.Equal(text, now) {
			_ = folder.Remove(filepath.Join(d, v.ID))
			continue
		}
		if err := keep(ctx, folder, name, now, at, back); err != nil {
			return err
		}
		if err := put(ctx, name, text); err != nil {
			return err
		}
		_ = folder.Remove(filepath.Join(d, v.ID)) // it is the file now
		return nil
	}
	return errNothing
}
