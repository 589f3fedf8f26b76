//go:build unix

package main

import (
	"bytes"
	"context"
	"errors"
	"flag"
	"fmt"
	"io/fs"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync/atomic"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

var kills = flag.Int("kills", 60, "how often the program is killed while it writes")

// A killed run leaves every file whole, the old one or the new one, or absent
// where there was none. What else it leaves is swept up by the next run.
func TestKilledWhilePrinting(t *testing.T) {
	home := t.TempDir()
	plans := []string{filepath.Join(home, "plan.toml"), filepath.Join(home, "next.toml")}
	require.NoError(t, os.CopyFS(home, os.DirFS("testdata/fire")))
	first, err := os.ReadFile(plans[0])
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(plans[1], bytes.Replace(first, []byte("period      = 2"), []byte("period      = 3"), 1), 0o666))

	// What each command makes when nobody disturbs it.
	type command struct {
		args func(dir string) []string
		want map[string]string
	}
	var commands []command
	for _, p := range plans {
		commands = append(commands, command{args: func(dir string) []string { return []string{"print", p, "-o", dir} }})
	}
	commands = append(commands, command{args: func(dir string) []string { return []string{"new", dir} }})
	var takes [3]time.Duration
	for i := range commands {
		dir := filepath.Join(home, fmt.Sprint("whole", i))
		began := time.Now()
		out, err := exec.Command("slotcard", commands[i].args(dir)...).CombinedOutput()
		require.NoError(t, err, "%s", out)
		takes[i] = time.Since(began)
		commands[i].want = ls(t, dir)
	}
	require.NotEqual(t, commands[0].want, commands[1].want)

	rng := rand.New(rand.NewPCG(4, 12))
	over := filepath.Join(home, "over") // is written over again and again
	require.Equal(t, exitFine, run(commands[0].args(over), nil, new(bytes.Buffer), new(bytes.Buffer)))
	var before, amid, after, old, fresh, absent, broken, left int
	for round := range *kills {
		// Two of three runs replace files, the others find an empty folder.
		which, dir := rng.IntN(2), over
		if round%3 == 2 {
			which, dir = rng.IntN(3), filepath.Join(home, fmt.Sprint("empty", round))
		}
		c := commands[which]
		there := map[string]string{}
		if dir == over {
			there = ls(t, over)
		}
		cmd := exec.Command("slotcard", c.args(dir)...)
		require.NoError(t, cmd.Start())
		if round%2 == 0 {
			time.Sleep(time.Duration(rng.Int64N(int64(takes[which] * 5 / 4)))) // any moment
		} else {
			for deadline := time.Now().Add(20 * takes[which]); time.Now().Before(deadline); time.Sleep(100 * time.Microsecond) {
				if temps, _ := filepath.Glob(filepath.Join(dir, fmt.Sprintf(".slotcard-%d-*", cmd.Process.Pid))); temps != nil {
					break
				}
			}
			time.Sleep(time.Duration(rng.IntN(10_000)) * time.Microsecond)
		}
		require.NoError(t, cmd.Process.Kill())
		_ = cmd.Wait()

		is := map[string]string{}
		if _, err := os.Stat(dir); err == nil {
			is = ls(t, dir)
		}
		temps, placed := 0, 0
		for name := range is {
			if _, ok := c.want[name]; !ok {
				assert.Regexp(t, temporary, name, "only temporary files are left")
				temps++
			}
		}
		for name, want := range c.want {
			got, ok := is[name]
			was, had := there[name]
			switch {
			case !ok && !had:
				absent++
			case ok && got == want:
				fresh++
				placed++
			case ok && had && (got == was || got == commands[1-which].want[name]):
				old++
			default:
				broken++
				assert.Fail(t, "broken", "%s in round %d: there %t, %d bytes of %d", name, round, ok, len(got), len(want))
			}
		}
		assert.LessOrEqual(t, temps, 2*len(c.want), "those of earlier runs are swept up")
		left += temps
		switch {
		case temps > 0 || placed > 0 && placed < len(c.want):
			amid++
		case placed == len(c.want):
			after++
		default:
			before++
		}
		if dir != over {
			require.NoError(t, os.RemoveAll(dir))
		}
	}
	out, err := exec.Command("slotcard", commands[1].args(over)...).CombinedOutput()
	require.NoError(t, err, "%s", out)
	assert.Equal(t, commands[1].want, ls(t, over), "the next run that is left in peace tidies up")
	t.Logf("%d kills: %d before a file was there, %d while files were written and placed, %d when all were in place or nothing changed\n"+
		"files: %d whole and new, %d whole and old, %d absent, %d broken; temporary files left and swept up: %d",
		*kills, before, amid, after, fresh, old, absent, broken, left)
}

// Only temporary files of processes that are gone are swept up.
func TestSweep(t *testing.T) {
	gone := exec.Command("slotcard", "--version")
	require.NoError(t, gone.Run())
	dir := t.TempDir()
	name := func(pid int) string { return fmt.Sprintf(".slotcard-%d-0123abcd.tmp", pid) }
	write := func(names ...string) {
		for _, n := range names {
			require.NoError(t, os.WriteFile(filepath.Join(dir, n), []byte("x"), 0o666))
		}
	}
	write(name(gone.Process.Pid), name(os.Getpid()))
	stay := []string{
		name(os.Getppid()), "slotcard-1-0123abcd.tmp", name(gone.Process.Pid) + "~", ".slotcard--0123abcd.tmp",
		strings.Replace(name(gone.Process.Pid), "0123abcd", "notes", 1), ".slotcard-99999999999-0123abcd.tmp",
	}
	write(stay...)
	folder := strings.Replace(name(gone.Process.Pid), "0123", "4567", 1)
	require.NoError(t, os.Mkdir(filepath.Join(dir, folder), 0o777))
	link := strings.Replace(name(gone.Process.Pid), "0123", "89ab", 1)
	require.NoError(t, os.Symlink(stay[0], filepath.Join(dir, link)))

	require.NoError(t, publish(t.Context(), dir, []output{{"a.pdf", []byte("a")}}, overOurs))
	var names []string
	for n := range ls(t, dir) {
		names = append(names, n)
	}
	assert.ElementsMatch(t, append(stay, folder, link, "a.pdf"), names)
	assert.True(t, running(os.Getpid()))
	assert.True(t, running(1), "a process of somebody else")
}

// meddler is a context that does something when all files are written and none
// is in place yet: publish asks each writer's turn, and once after them.
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
	outs := []output{{"a.pdf", []byte("new a")}, {"b.pdf", []byte("new b")}}
	link := func(t *testing.T, target, victim string) { require.NoError(t, os.Symlink(victim, target)) }
	foreign := func(t *testing.T, target, _ string) {
		require.NoError(t, os.WriteFile(target, []byte("%PDF-1.3 theirs"), 0o666))
	}
	for name, c := range map[string]struct {
		over  overwriting
		had   bool // a file of an earlier run
		put   func(t *testing.T, target, victim string)
		wants string
	}{
		"a link":                       {overOurs, false, link, "b.pdf: is a symbolic link"},
		"a link over anything":         {overAny, false, link, "b.pdf: is a symbolic link"},
		"a link in place of ours":      {overOurs, true, link, "b.pdf: is a symbolic link"},
		"a link over nothing":          {overNothing, false, link, "b.pdf: is already there"},
		"somebody's file":              {overOurs, false, foreign, "b.pdf: was not written by slotcard"},
		"somebody's in place of ours":  {overOurs, true, foreign, "b.pdf: was not written by slotcard"},
		"somebody's file over nothing": {overNothing, false, foreign, "b.pdf: is already there"},
		"a folder": {overAny, true, func(t *testing.T, target, _ string) { require.NoError(t, os.Mkdir(target, 0o777)) },
			"b.pdf: is a folder"},
		"a pipe": {overOurs, false, func(t *testing.T, target, _ string) { require.NoError(t, syscall.Mkfifo(target, 0o666)) },
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
			require.ErrorContains(t, publish(ctx, dir, outs, c.over), c.wants)

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
	require.NoError(t, place(temp, target, overAny))
	assert.Equal(t, map[string]string{"target": temp, "victim": victim}, ls(t, dir))
}

// A disk on which no more can be written: the run ends with a clear line, and
// what was there before is there again.
func TestNoRoomForFiles(t *testing.T) {
	if _, err := exec.LookPath("sh"); err != nil {
		t.Skip("no shell to set a limit with")
	}
	home := t.TempDir()
	require.NoError(t, os.CopyFS(home, os.DirFS("testdata/fire")))
	limited := func() (string, error) { // no file beyond a few thousand bytes
		cmd := exec.Command("sh", "-c", "ulimit -f 4 && exec slotcard print plan.toml")
		cmd.Dir = home
		out, err := cmd.CombinedOutput()
		return string(out), err
	}
	check := func(out string, err error) {
		var exit *exec.ExitError
		require.True(t, errors.As(err, &exit), "%v: %s", err, out)
		assert.Equal(t, exitUsage, exit.ExitCode(), out)
		assert.Regexp(t, `(?m)^slotcard: out/\w+\.pdf: cannot be written: file too large$`, out)
	}
	before := tree(t, home)
	check(limited())
	assert.Equal(t, before, tree(t, home), "not even the folder stays")

	require.Equal(t, exitFine, run([]string{"print", filepath.Join(home, "plan.toml")}, nil, new(bytes.Buffer), new(bytes.Buffer)))
	before, whole := tree(t, home), ls(t, filepath.Join(home, "out"))
	check(limited())
	assert.Equal(t, before, tree(t, home))
	assert.Equal(t, whole, ls(t, filepath.Join(home, "out")))
}
