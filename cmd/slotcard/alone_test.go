package main

import (
	"bytes"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// program is the program as a file of its own: the test program under its name,
// which [testscript.Main] takes for it.
func program(t *testing.T) string {
	if runtime.GOOS == "windows" {
		t.Skip("a link needs rights that a user may not have")
	}
	self, err := os.Executable()
	require.NoError(t, err)
	name := filepath.Join(t.TempDir(), "slotcard")
	require.NoError(t, os.Symlink(self, name))
	return name
}

// filesOf is what a folder holds, by name.
func filesOf(t *testing.T, dir string) map[string]string {
	entries, err := os.ReadDir(dir)
	require.NoError(t, err)
	files := map[string]string{}
	for _, e := range entries {
		data, err := os.ReadFile(filepath.Join(dir, e.Name()))
		require.NoError(t, err)
		files[e.Name()] = string(data)
	}
	return files
}

// The same plan gives the same bytes, whatever the machine, the user and the
// folder are like.
func TestSameBytes(t *testing.T) {
	t.Parallel()
	slotcard := program(t)
	fire, err := filepath.Abs("testdata/fire")
	require.NoError(t, err)
	zones := []string{"UTC", "America/Boise", "Asia/Kathmandu", "Pacific/Chatham"}
	locales := []string{"C", "en_US.UTF-8", "de_DE.UTF-8", "tr_TR.UTF-8", "ja_JP.SJIS"}
	cores := []string{"1", "2", "8"}
	modes := []os.FileMode{0o444, 0o600, 0o777}
	var want map[string]string
	for i := range 20 {
		home := t.TempDir()
		plan := filepath.Join(home, fmt.Sprintf("fire %d", i))
		require.NoError(t, os.CopyFS(plan, os.DirFS(fire)))
		for name := range filesOf(t, plan) {
			name = filepath.Join(plan, name)
			require.NoError(t, os.Chmod(name, modes[i%len(modes)]))
			require.NoError(t, os.Chtimes(name, time.Time{}, time.Unix(1e9, 0).AddDate(0, i, 0)))
		}
		dir, named := plan, "plan.toml"
		switch i % 3 {
		case 1:
			dir, named = home, filepath.Join(filepath.Base(plan), "plan.toml")
		case 2:
			dir, named = "/", filepath.Join(plan, "plan.toml")
		}
		out := filepath.Join(home, "out")
		args := []string{"print", named, "-o", out, "--csv"}
		if i%10 == 0 { // pictures take their time
			args = append(args, "--png")
		}
		cmd := exec.Command(slotcard, args...)
		cmd.Dir = dir
		cmd.Env = []string{"HOME=" + home, "TZ=" + zones[i%len(zones)], "LC_ALL=" + locales[i%len(locales)],
			"LANG=" + locales[(i+1)%len(locales)], "GOMAXPROCS=" + cores[i%len(cores)]}
		said, err := cmd.CombinedOutput()
		require.NoError(t, err, "%s", said)
		got := filesOf(t, out)
		if want == nil {
			want = got
			require.Contains(t, got, "cards.pdf")
			require.Greater(t, len(got), 5)
			continue
		}
		require.GreaterOrEqual(t, len(got), 4)
		for name := range got {
			if name == ".slotcard-print.json" && i%10 != 0 {
				continue // it names the pictures, too, where there are some
			}
			require.True(t, want[name] == got[name], "%s differs in run %d, with %q in %s", name, i, cmd.Env, dir)
		}
	}
}

// A station without network, in a user's account without a home, prints as well
// as any: no variable of the environment is needed.
func TestNothingAround(t *testing.T) {
	slotcard := program(t)
	root := t.TempDir()
	fire, out := filepath.Join(root, "fire"), filepath.Join(root, "out")
	// Where the system lets us, in a network of its own that has no interface.
	var without []string
	if exec.Command("unshare", "-rn", "true").Run() == nil {
		unshare, err := exec.LookPath("unshare")
		require.NoError(t, err)
		without = []string{unshare, "-rn"}
	}
	for _, args := range [][]string{
		{"new", fire},
		{"check", filepath.Join(fire, "plan.toml")},
		{"print", filepath.Join(fire, "plan.toml"), "-o", out},
		{"print", filepath.Join(fire, "load.toml"), "-o", out},
		{"code", filepath.Join(fire, "plan.toml")},
		{"verify", filepath.Join(fire, "plan.toml"), filepath.Join(out, "cards.pdf")},
		{"explain", "guard-last"},
		{"schema", "plan"},
		{"help"},
	} {
		args = append(append(append([]string{}, without...), slotcard), args...)
		cmd := exec.Command(args[0], args[1:]...)
		cmd.Dir = "/"
		cmd.Env = []string{}
		var stderr bytes.Buffer
		cmd.Stderr = &stderr
		said, err := cmd.Output()
		require.NoError(t, err, "%q: %s%s", args, said, &stderr)
	}
	for name := range filesOf(t, out) {
		if name != ".slotcard-print.json" { // which papers belong together
			assert.False(t, strings.HasPrefix(name, "."), "%s is left", name)
		}
	}
	entries, err := os.ReadDir(root)
	require.NoError(t, err)
	assert.Len(t, entries, 2, "nothing but what was asked for is written")
}

// Nothing of slotcard's own knows the network but the desk, which serves pages on
// this machine. (The spreadsheet library brings net/http along, for the names of its
// character sets.)
func TestNoHTTP(t *testing.T) {
	out, err := exec.Command("go", "list", "-deps", "-f", "{{.ImportPath}}: {{join .Imports \" \"}}", ".").Output()
	if err != nil {
		t.Skipf("go cannot tell: %v", err)
	}
	own := 0
	for line := range strings.Lines(string(out)) {
		path, imports, _ := strings.Cut(strings.TrimSpace(line), ": ")
		assert.NotEqual(t, "testing", path)
		assert.NotEqual(t, "github.com/stretchr/testify/assert", path)
		if !strings.HasPrefix(path, "slotcard/") {
			continue
		}
		own++
		for _, never := range []string{"net", "net/http", "crypto/tls"} {
			if path == "slotcard/cmd/internal/desk" && never != "crypto/tls" {
				continue
			}
			assert.NotContains(t, strings.Fields(imports), never, path)
		}
	}
	assert.Greater(t, own, 20)
}
