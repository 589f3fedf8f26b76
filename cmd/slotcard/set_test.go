//go:build unix

package main

import (
	"bytes"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"slotcard/cmd/internal/publish"
)

// Prints of two plans into one folder at one moment: it ends with the papers of one of
// them, and no number of a card is given to two seats.
func TestTwoPrintsAtOnce(t *testing.T) {
	home := t.TempDir()
	require.NoError(t, os.CopyFS(home, os.DirFS("testdata/fire")))
	sound, err := os.ReadFile(filepath.Join(home, "plan.toml"))
	require.NoError(t, err)
	want := map[string]map[string]string{}
	plans := []string{"plan.toml", "other.toml"}
	require.NoError(t, os.WriteFile(filepath.Join(home, plans[1]), bytes.Replace(sound, []byte(`"Thimble Gulch"`), []byte(`"Osier Bench"`), 1), 0o666))
	for _, p := range plans {
		dir := filepath.Join(home, "whole "+p)
		require.Equal(t, exitFine, run([]string{"print", filepath.Join(home, p), "-o", dir}, nil, new(bytes.Buffer), new(bytes.Buffer)))
		want[p] = ls(t, dir)
	}
	over := filepath.Join(home, "over")
	for range 6 {
		var all sync.WaitGroup
		for i := range 4 {
			all.Go(func() {
				out, err := exec.Command("slotcard", "print", filepath.Join(home, plans[i%2]), "-o", over).CombinedOutput()
				assert.NoError(t, err, "%s", out)
			})
		}
		all.Wait()
		is := ls(t, over)
		assert.True(t, assert.ObjectsAreEqual(want[plans[0]], is) || assert.ObjectsAreEqual(want[plans[1]], is), "all are of one print")
		assert.Empty(t, publish.Look(over).Mixed())
	}

	// Two states of one plan, printed for the first time at one moment: both would
	// number the cards anew, each in its own way.
	turned := strings.Replace(string(sound), `name     = "Engine 611"`, `name     = "Engine 699"`, 1)
	for round := range 8 {
		dir := filepath.Join(home, fmt.Sprint("first", round))
		require.NoError(t, os.CopyFS(dir, os.DirFS("testdata/fire")))
		outs := make([]string, 2)
		var all sync.WaitGroup
		start := make(chan bool)
		for i := range outs {
			all.Go(func() {
				if <-start; i == 1 {
					assert.NoError(t, os.WriteFile(filepath.Join(dir, "tmp"), []byte(turned), 0o666))
					assert.NoError(t, os.Rename(filepath.Join(dir, "tmp"), filepath.Join(dir, "plan.toml")))
				}
				out, err := exec.Command("slotcard", "print", filepath.Join(dir, "plan.toml"), "-o", filepath.Join(dir, fmt.Sprint(i))).CombinedOutput()
				if outs[i] = string(out); err != nil {
					assert.Contains(t, outs[i], "was changed by another run since this one read it: nothing was written")
					assert.NoDirExists(t, filepath.Join(dir, fmt.Sprint(i)))
				}
			})
		}
		close(start)
		all.Wait()
		assert.False(t, strings.Contains(outs[0], "was changed by") && strings.Contains(outs[1], "was changed by"), "one of them comes through")
	}
}

// A mixture is said by print, check and verify, and the next print of all mends it; a
// print of an older revision says that a newer one was there.
func TestMixedSetIsSaid(t *testing.T) {
	dir := t.TempDir()
	require.NoError(t, os.CopyFS(dir, os.DirFS("testdata/fire")))
	sound, err := os.ReadFile(filepath.Join(dir, "plan.toml"))
	require.NoError(t, err)
	revised := bytes.Replace(sound, []byte("period      = 2\n"), []byte("period      = 2\nrevision    = 2\nrevised_at  = 2027-08-14T09:00:00-06:00\n"), 1)
	require.NoError(t, os.WriteFile(filepath.Join(dir, "plan-2.toml"), revised, 0o666))
	t.Chdir(dir)
	says := func(args ...string) string {
		var stdout, stderr bytes.Buffer
		require.Equal(t, exitFine, run(args, nil, &stdout, &stderr), "%s%s", &stdout, &stderr)
		return stderr.String()
	}
	assert.NotContains(t, says("print", "plan.toml"), "mixture")
	mixed := "out is a mixture: cards.pdf, handout.pdf of Thimble Gulch, period 2, exercise; wall.pdf of Thimble Gulch, period 2, revision 2, exercise"
	assert.Contains(t, says("print", "plan-2.toml", "--wall"), "slotcard: "+mixed+"; print all papers again before any is handed out\n")
	assert.Contains(t, says("check", "plan.toml"), "slotcard: "+mixed)
	assert.Contains(t, says("verify", "plan-2.toml", "out/wall.pdf"), "slotcard: "+mixed)
	again := says("print", "plan.toml")
	assert.Contains(t, again, "slotcard: out had a newer print: Thimble Gulch, period 2, revision 2, exercise; this one is of Thimble Gulch, period 2, exercise: ")
	assert.Contains(t, again, "; now all is of one print\n")
	assert.NotContains(t, says("check", "plan.toml"), "mixture")

	// An old file that somebody has put back among new ones.
	wall, err := os.ReadFile("out/wall.pdf")
	require.NoError(t, err)
	says("print", "plan-2.toml")
	require.NoError(t, os.WriteFile("out/wall.pdf", wall, 0o666))
	assert.Contains(t, says("check", "plan-2.toml"), "wall.pdf not as printed there")
	assert.Contains(t, says("print", "plan-2.toml"), "wall.pdf not as printed there; now all is of one print\n")
}
