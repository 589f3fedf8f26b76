//go:build unix

package main

import (
	"bytes"
	"errors"
	"flag"
	"fmt"
	"maps"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"slotcard/cmd/internal/publish"
)

var kills = flag.Int("kills", 60, "how often the program is killed while it writes")

// A killed run leaves every file whole, the old one or the new one, or absent
// where there was none. New files beside old ones are known as such, and the next
// run completes them first; what else is left is swept up.
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
	require.False(t, maps.Equal(commands[0].want, commands[1].want))

	rng := rand.New(rand.NewPCG(4, 12))
	over := filepath.Join(home, "over") // is written over again and again
	require.Equal(t, exitFine, run(commands[0].args(over), nil, new(bytes.Buffer), new(bytes.Buffer)))
	var before, amid, after, old, fresh, absent, broken, left, mixtures int
	for round := range *kills {
		// Two of three runs replace files, the others find an empty folder.
		which, dir := rng.IntN(2), over
		if round%3 == 2 {
			which, dir = rng.IntN(3), filepath.Join(home, fmt.Sprint("empty", round))
		}
		c := commands[which]
		there, owed := map[string]string{}, false // owed: an earlier run's files are not all in place
		if dir == over {
			there, owed = ls(t, over), publish.Look(over).BrokenOff
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
				assert.Regexp(t, `^\.slotcard-([1-9][0-9]*-[0-9a-f]{8}\.tmp|lock|commit\.json)$`, name, "only files of a run are left")
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
		assert.LessOrEqual(t, temps, 2*len(c.want)+3, "those of earlier runs are swept up")
		if news := placed; news > 0 && news < len(c.want) {
			mixtures++
			assert.True(t, publish.Look(dir).BrokenOff, "some are new and some are not, and nothing says so, in round %d", round)
			if dir == over && round%4 == 0 { // whatever the next run writes, it completes that first
				out, err := exec.Command("slotcard", "next", plans[0], "-o", filepath.Join(dir, "n.toml")).CombinedOutput()
				require.NoError(t, err, "%s", out)
				require.NoError(t, os.Remove(filepath.Join(dir, "n.toml")))
				is := ls(t, dir)
				whole := maps.Equal(is, c.want)
				if owed { // this one may have been killed before it completed the earlier one
					whole = whole || maps.Equal(is, commands[1-which].want)
				}
				assert.True(t, whole, "in round %d one set is whole: of %v there are %v", round, slices.Sorted(maps.Keys(c.want)), slices.Sorted(maps.Keys(is)))
			}
		}
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
	assert.True(t, maps.Equal(commands[1].want, ls(t, over)), "the next run that is left in peace tidies up")
	t.Logf("%d kills: %d before a file was there, %d while files were written and placed, %d when all were in place or nothing changed\n"+
		"files: %d whole and new, %d whole and old, %d absent, %d broken; temporary files left and swept up: %d; sets that were mixed, and known as such: %d",
		*kills, before, amid, after, fresh, old, absent, broken, left, mixtures)
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
