//go:build unix

package publish

import (
	"context"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"sync/atomic"
	"syscall"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// What killed runs have left is swept up, whoever ran them, and nothing else.
func TestSweep(t *testing.T) {
	dir := t.TempDir()
	name := func(pid int) string { return fmt.Sprintf(".slotcard-%d-0123abcd.tmp", pid) }
	write := func(names ...string) {
		for _, n := range names {
			require.NoError(t, os.WriteFile(filepath.Join(dir, n), []byte("x"), 0o666))
		}
	}
	write(name(4_000_000), name(os.Getpid()), name(os.Getppid()))
	stay := []string{
		"slotcard-1-0123abcd.tmp", name(7) + "~", ".slotcard--0123abcd.tmp",
		strings.Replace(name(7), "0123abcd", "notes", 1), ".slotcard-99999999999-0123abcd.tmp",
	}
	write(stay...)
	folder := strings.Replace(name(7), "0123", "4567", 1)
	require.NoError(t, os.Mkdir(filepath.Join(dir, folder), 0o777))
	link := strings.Replace(name(7), "0123", "89ab", 1)
	require.NoError(t, os.Symlink(stay[0], filepath.Join(dir, link)))

	require.NoError(t, All(t.Context(), dir, []File{{"a.pdf", []byte("a")}}, Ours))
	var names []string
	for n := range ls(t, dir) {
		names = append(names, n)
	}
	assert.ElementsMatch(t, append(stay, folder, link, "a.pdf"), names)
	assert.True(t, running(os.Getpid()))
	assert.True(t, running(1), "a process of somebody else")
}

// meddler is a context that does something when all files are written and none
// is in place yet: All asks each writer's turn, and once after them.
type meddler struct {
	context.Context
	asked *atomic.Int32
	when  int32
	do    func()
}

func (m meddler) Err() error {
	if m.asked.Add(1) == m.when {
		m.do()
	}
	return m.Context.Err()
}

// What takes the place of a target during the run is neither followed nor
// replaced, and nothing of the run stays.
func TestTargetChangesDuringTheRun(t *testing.T) {
	outs := []File{{"a.pdf", []byte("new a")}, {"b.pdf", []byte("new b")}}
	link := func(t *testing.T, target, victim string) { require.NoError(t, os.Symlink(victim, target)) }
	foreign := func(t *testing.T, target, _ string) {
		require.NoError(t, os.WriteFile(target, []byte("%PDF-1.3 theirs"), 0o666))
	}
	for name, c := range map[string]struct {
		over  Over
		had   bool // a file of an earlier run
		put   func(t *testing.T, target, victim string)
		wants string
	}{
		"a link":                       {Ours, false, link, "b.pdf: is a symbolic link"},
		"a link over anything":         {Any, false, link, "b.pdf: is a symbolic link"},
		"a link in place of ours":      {Ours, true, link, "b.pdf: is a symbolic link"},
		"a link over nothing":          {Nothing, false, link, "b.pdf: is already there"},
		"somebody's file":              {Ours, false, foreign, "b.pdf: was not written by slotcard"},
		"somebody's in place of ours":  {Ours, true, foreign, "b.pdf: was not written by slotcard"},
		"somebody's file over nothing": {Nothing, false, foreign, "b.pdf: is already there"},
		"a folder": {Any, true, func(t *testing.T, target, _ string) { require.NoError(t, os.Mkdir(target, 0o777)) },
			"b.pdf: is a folder"},
		"a pipe": {Ours, false, func(t *testing.T, target, _ string) { require.NoError(t, syscall.Mkfifo(target, 0o666)) },
			"b.pdf: is not a regular file"},
	} {
		t.Run(name, func(t *testing.T) {
			dir, victim := t.TempDir(), filepath.Join(t.TempDir(), "victim")
			require.NoError(t, os.WriteFile(victim, []byte(ourPDF+"victim"), 0o666))
			target := filepath.Join(dir, "b.pdf")
			if c.had {
				require.NoError(t, os.WriteFile(filepath.Join(dir, "a.pdf"), []byte(ourPDF), 0o666))
				require.NoError(t, os.WriteFile(target, []byte(ourPDF), 0o666))
			}
			var put fs.FileInfo
			ctx := meddler{t.Context(), new(atomic.Int32), int32(len(outs)) + 1, func() {
				if err := os.Remove(target); err != nil {
					assert.ErrorIs(t, err, fs.ErrNotExist)
				}
				c.put(t, target, victim)
				put, _ = os.Lstat(target)
			}}
			require.ErrorContains(t, All(ctx, dir, outs, c.over), c.wants)

			is, err := os.Lstat(target)
			require.NoError(t, err)
			assert.True(t, os.SameFile(put, is), "what was put there stays")
			data, err := os.ReadFile(victim)
			require.NoError(t, err)
			assert.Equal(t, ourPDF+"victim", string(data))
			entries, err := os.ReadDir(dir)
			require.NoError(t, err)
			var names []string
			for _, e := range entries {
				names = append(names, e.Name())
			}
			want := []string{"b.pdf"}
			if c.had {
				want = []string{"a.pdf", "b.pdf"}
				data, err := os.ReadFile(filepath.Join(dir, "a.pdf"))
				require.NoError(t, err)
				assert.Equal(t, ourPDF, string(data), "the other file is the old one")
			}
			assert.Equal(t, want, names)
		})
	}

	// Even one that comes after the last look is replaced, not followed.
	dir := t.TempDir()
	temp, target, victim := filepath.Join(dir, "temp"), filepath.Join(dir, "target"), filepath.Join(dir, "victim")
	for _, f := range []string{temp, victim} {
		require.NoError(t, os.WriteFile(f, []byte(f), 0o666))
	}
	link(t, target, victim)
	require.NoError(t, place(temp, target, Any))
	assert.Equal(t, map[string]string{"target": temp, "victim": victim}, ls(t, dir))
}
