package publish

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"

	"slotcard/cmd/internal/files"
	"slotcard/cmd/internal/voice"
)

// maxJournal bounds a journal: a million lines.
const maxJournal = 256 << 20

// Journal is a text file that is only ever added to. A line is written with one
// call and is on the disk before its writer goes on, so that what was told to
// somebody is in it whatever happens to the computer.
type Journal struct {
	name string
	file *os.File
	size int64 // as far as this run knows it
}

// OpenJournal makes a journal, or takes one up again: with all that it holds, which
// may end in a line that broke off.
func OpenJournal(name string) (j *Journal, data []byte, err error) {
	if info, err := os.Stat(name); err == nil {
		if problem := files.NotReadable(name, info); problem != "" {
			return nil, nil, files.Fail(name, problem, nil)
		}
		if info.Size() > maxJournal {
			return nil, nil, files.Fail(name, files.TooLarge(maxJournal), nil)
		}
	} else if !errors.Is(err, fs.ErrNotExist) {
		return nil, nil, files.Fail(name, voice.Reason(err), err)
	}
	f, err := os.OpenFile(name, os.O_RDWR|os.O_CREATE|os.O_APPEND, 0o666)
	if err != nil {
		return nil, nil, files.Fail(name, "cannot be opened: "+voice.Reason(err), err)
	}
	if data, err = files.ReadAll(f, maxJournal); err != nil {
		f.Close()
		return nil, nil, files.Fail(name, voice.Reason(err), err)
	}
	return &Journal{name: name, file: f, size: int64(len(data))}, data, nil
}

// Add writes some text; when it returns, the text is on the disk.
func (j *Journal) Add(text []byte) error {
	info, err := j.file.Stat()
	if err != nil {
		return files.Fail(j.name, "cannot be written: "+voice.Reason(err), err)
	}
	if info.Size() != j.size {
		return files.Fail(j.name, "is in use by another program; each table needs a journal of its own", nil)
	}
	n, err := j.file.Write(text)
	j.size += int64(n)
	if err == nil {
		err = j.file.Sync()
	}
	if err != nil {
		return files.Fail(j.name, "cannot be written: "+voice.Reason(err), err)
	}
	return nil
}

// SyncName brings the name of a journal that was just made to the disk.
func (j *Journal) SyncName() { syncDir(filepath.Dir(j.name)) }

// Close ends the journal of this run.
func (j *Journal) Close() { j.file.Close() }
