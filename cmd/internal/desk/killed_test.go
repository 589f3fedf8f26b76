package desk

import (
	"bufio"
	"flag"
	"fmt"
	"math/rand/v2"
	"net/http"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"slotcard/plan"
	"slotcard/plan/tomlfile"
)

// More of them: go test ./cmd/internal/desk -run Killed -kills 200
var kills = flag.Int("kills", 5, "how often the desk is killed")

const victimEnv = "SLOTCARD_TEST_DESK_VICTIM"

// The desk is killed amid edits and undo, at random: plan.toml can be read to its end
// and is what it was before or after the edit that was under way, each text that the
// page had said to be written is the file or a former version, and the next desk goes
// on from there.
func TestKilled(t *testing.T) {
	if dir := os.Getenv(victimEnv); dir != "" {
		d := openedIn(t, dir)
		for n := time.Now().UnixNano(); ; n++ {
			form := url.Values{"do": {"set"}, "i": {"0"}, "name": {"A"}, "id": {"A"}, "called": {fmt.Sprintf("Edit %d", n)}}
			if r := answer(d, ask(d, http.MethodPost, "/divisions/fire/plan.toml", form)); r.StatusCode != http.StatusSeeOther {
				fmt.Println("failed", body(t, r))
				os.Exit(1)
			}
			fmt.Println("wrote", n)
			if n%5 == 0 {
				answer(d, ask(d, http.MethodPost, "/history/fire/plan.toml", url.Values{"do": {"undo"}}))
			}
		}
	}
	dir := t.TempDir()
	require.NoError(t, os.CopyFS(filepath.Join(dir, "fire"), os.DirFS(filepath.Join(examples, "thimble-gulch"))))
	file := filepath.Join(dir, "fire", "plan.toml")
	first, err := os.ReadFile(file)
	require.NoError(t, err)
	written := 0
	for range *kills {
		c := exec.Command(os.Args[0], "-test.run", "^TestKilled$")
		c.Env = append(os.Environ(), victimEnv+"="+dir)
		out, err := c.StdoutPipe()
		require.NoError(t, err)
		require.NoError(t, c.Start())
		lines, last := bufio.NewScanner(out), ""
		read := func() bool {
			more := lines.Scan()
			require.NotContains(t, lines.Text(), "failed")
			if n, ok := strings.CutPrefix(lines.Text(), "wrote "); ok {
				last = n
				written++
			}
			return more
		}
		for range 1 + rand.IntN(6) {
			read()
		}
		time.Sleep(time.Duration(rand.IntN(40_000)) * time.Microsecond)
		require.NoError(t, c.Process.Kill())
		for read() {
		}
		_ = c.Wait()

		found := false
		whole := func(text []byte) {
			f, _ := tomlfile.Decode("plan.toml", text, new(plan.Plan))
			require.NotNil(t, f)
			require.False(t, f.Broken())
			require.Equal(t, tail(first), tail(text), "nothing is cut off")
			found = found || strings.Contains(string(text), strconv.Quote("Edit "+last))
		}
		now, err := os.ReadFile(file)
		require.NoError(t, err)
		whole(now)
		versions, err := filepath.Glob(filepath.Join(dir, "fire", hidden, "history", "plan.toml", "*.toml"))
		require.NoError(t, err)
		for _, v := range versions {
			text, err := os.ReadFile(v)
			require.NoError(t, err)
			whole(text)
		}
		require.True(t, found, "what the page said to be written last is there: %s", last)
	}
	t.Logf("killed %d times amid %d edits", *kills, written)
	d := openedIn(t, dir)
	require.Equal(t, http.StatusSeeOther, answer(d, ask(d, http.MethodPost, "/history/fire/plan.toml", url.Values{"do": {"undo"}})).StatusCode)
	for _, name := range names(t, filepath.Join(dir, "fire")) {
		require.NotContains(t, name, ".tmp", "the next run sweeps up")
	}
}

// tail is the end of a plan, behind its divisions.
func tail(text []byte) string {
	_, after, _ := strings.Cut(string(text), "[[position]]")
	return after
}

// names are those of the files of a folder and below.
func names(t *testing.T, dir string) (all []string) {
	require.NoError(t, filepath.WalkDir(dir, func(p string, _ os.DirEntry, err error) error {
		all = append(all, p)
		return err
	}))
	return all
}
