package history

import (
	"bufio"
	"context"
	"flag"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func in(t *testing.T, dir string) *os.Root {
	t.Chdir(dir)
	root, err := os.OpenRoot(".")
	require.NoError(t, err)
	t.Cleanup(func() { root.Close() })
	return root
}

func text(t require.TestingT, name string) string {
	data, err := os.ReadFile(name)
	require.NoError(t, err)
	return string(data)
}

func TestUndoRedo(t *testing.T) {
	root, ctx, at := in(t, t.TempDir()), context.Background(), time.Unix(1000, 0)
	require.NoError(t, os.WriteFile("plan.toml", []byte("0"), 0o600))
	assert.ErrorIs(t, Undo(ctx, root, "plan.toml", at), errNothing)
	for i := 1; i <= 3; i++ {
		require.NoError(t, Write(ctx, root, "plan.toml", fmt.Append(nil, i), at)) // a clock that stands still
	}
	for _, want := range []string{"2", "1", "0"} {
		require.NoError(t, Undo(ctx, root, "plan.toml", at))
		assert.Equal(t, want, text(t, "plan.toml"))
	}
	require.ErrorIs(t, Undo(ctx, root, "plan.toml", at), errNothing)
	require.NoError(t, Redo(ctx, root, "plan.toml", at))
	require.NoError(t, Redo(ctx, root, "plan.toml", at))
	assert.Equal(t, "2", text(t, "plan.toml"))
	// A change after going back leaves what was undone among the former versions.
	require.NoError(t, Write(ctx, root, "plan.toml", []byte("x"), at))
	require.ErrorIs(t, Redo(ctx, root, "plan.toml", at), errNothing)
	versions, err := List(root, "plan.toml")
	require.NoError(t, err)
	var texts []string
	for _, v := range versions {
		data, err := Read(root, "plan.toml", v.ID)
		require.NoError(t, err)
		texts = append(texts, string(data))
	}
	assert.ElementsMatch(t, []string{"0", "1", "2", "3"}, texts)
	info, err := os.Stat("plan.toml")
	require.NoError(t, err)
	assert.Equal(t, os.FileMode(0o600), info.Mode().Perm())
}

func TestBounded(t *testing.T) {
	root, ctx := in(t, t.TempDir()), context.Background()
	require.NoError(t, os.WriteFile("plan.toml", nil, 0o600))
	big := strings.Repeat("#", mostBytes/10)
	for i := range 15 {
		require.NoError(t, Write(ctx, root, "plan.toml", fmt.Append(nil, i, big), time.Unix(int64(i), 0)))
	}
	versions, err := List(root, "plan.toml")
	require.NoError(t, err)
	assert.Len(t, versions, 9, "of eight megabytes")
	assert.True(t, versions[0].At.Equal(time.Unix(14, 0)), "the newest are kept")
}

// What lies where versions go must not lead out of the folder, or be taken for one.
func TestElsewhere(t *testing.T) {
	outside := t.TempDir()
	root, ctx := in(t, t.TempDir()), context.Background()
	require.NoError(t, os.WriteFile("plan.toml", []byte("0"), 0o600))
	require.NoError(t, os.Symlink(outside, ".slotcard"))
	require.Error(t, Write(ctx, root, "plan.toml", []byte("1"), time.Unix(1, 0)))
	assert.Equal(t, "0", text(t, "plan.toml"), "what cannot be kept is not replaced")
	left, err := os.ReadDir(outside)
	require.NoError(t, err)
	assert.Empty(t, left)
	_, err = Read(root, "plan.toml", "../../../plan.toml")
	assert.Error(t, err)
}

// As a model: a list of texts, and a place in it.
func TestRandomSteps(t *testing.T) {
	root, ctx := in(t, t.TempDir()), context.Background()
	files := 0
	rapid.Check(t, func(r *rapid.T) {
		files++
		name := fmt.Sprintf("p%d.toml", files)
		require.NoError(r, os.WriteFile(name, []byte("0"), 0o600))
		all, seen, at := []string{"0"}, map[string]bool{"0": true}, 0
		for i := range rapid.IntRange(1, 12).Draw(r, "steps") {
			switch step := rapid.IntRange(0, 2).Draw(r, "step"); {
			case step == 0:
				s := fmt.Sprint("text ", i)
				require.NoError(r, Write(ctx, root, name, []byte(s), time.Unix(int64(i), 0)))
				all, seen[s] = append(all[:at+1:at+1], s), true
				at++
			case step == 1 && at > 0:
				require.NoError(r, Undo(ctx, root, name, time.Unix(int64(i), 0)))
				at--
			case step == 2 && at < len(all)-1:
				require.NoError(r, Redo(ctx, root, name, time.Unix(int64(i), 0)))
				at++
			}
			require.Equal(r, all[at], text(r, name))
			// Nothing that was ever there is lost.
			there := map[string]bool{text(r, name): true}
			versions, err := List(root, name)
			require.NoError(r, err)
			for _, v := range versions {
				data, err := Read(root, name, v.ID)
				require.NoError(r, err)
				there[string(data)] = true
			}
			require.Equal(r, seen, there)
		}
	})
}

// More of them: go test ./cmd/internal/history -run Killed -kills 200
var kills = flag.Int("kills", 12, "how often the program is killed")

const victimEnv = "SLOTCARD_TEST_HISTORY_VICTIM"

// The program is killed while it writes: the file is a whole one, and each text that
// was said to be written is the file or a former version.
func TestKilled(t *testing.T) {
	if dir := os.Getenv(victimEnv); dir != "" {
		root := in(t, dir)
		for i := 0; ; i++ {
			if err := Write(context.Background(), root, "plan.toml", whole(time.Now().UnixNano()), time.Now()); err != nil {
				fmt.Println("failed:", err)
				os.Exit(1)
			}
			fmt.Println("wrote", strings.SplitN(text(t, "plan.toml"), " ", 2)[0])
		}
	}
	dir := t.TempDir()
	file := filepath.Join(dir, "plan.toml")
	require.NoError(t, os.WriteFile(file, whole(1), 0o600))
	root, err := os.OpenRoot(dir)
	require.NoError(t, err)
	defer root.Close()
	for kill := range *kills {
		c := exec.Command(os.Args[0], "-test.run", "^TestKilled$")
		c.Env = append(os.Environ(), victimEnv+"="+dir)
		out, err := c.StdoutPipe()
		require.NoError(t, err)
		require.NoError(t, c.Start())
		lines, last := bufio.NewScanner(out), ""
		for n := 0; n < 2+kill%12 && lines.Scan(); n++ {
			require.NotContains(t, lines.Text(), "failed")
			if id, ok := strings.CutPrefix(lines.Text(), "wrote "); ok {
				last = id
			}
		}
		time.Sleep(time.Duration(kill*337%2000) * time.Microsecond)
		require.NoError(t, c.Process.Kill())
		for lines.Scan() {
			if id, ok := strings.CutPrefix(lines.Text(), "wrote "); ok {
				last = id
			}
		}
		_ = c.Wait()
		got := text(t, file)
		require.True(t, isWhole(got), "%.60q", got)
		found := strings.HasPrefix(got, last+" ")
		versions, err := List(root, "plan.toml")
		require.NoError(t, err)
		for _, v := range versions {
			data, err := os.ReadFile(filepath.Join(dir, ".slotcard", "history", "plan.toml", v.ID))
			require.NoError(t, err)
			require.True(t, isWhole(string(data)), "%.60q", data)
			found = found || strings.HasPrefix(string(data), last+" ")
		}
		require.True(t, found, "what was written last is there")
	}
}

func whole(id int64) []byte { return fmt.Appendf(nil, "%d %s end", id, strings.Repeat("x", 20_000)) }

func isWhole(s string) bool { return strings.HasSuffix(s, "x end") && len(s) > 20_000 }
