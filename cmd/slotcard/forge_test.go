//go:build unix

package main

import (
	"bytes"
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"slotcard/cmd/internal/voice"
)

// Whatever a file is called, every line is one that slotcard meant, and holds no
// character that a terminal obeys: the same command with a plain name says as many.
func TestNamesForgeNothing(t *testing.T) {
	const forged = "slotcard: all is well"
	plain, odd := "plain.toml", "odd\n"+forged+"\n\x1b[2J\u202e\u009b.toml"
	dir := t.TempDir()
	require.NoError(t, os.CopyFS(dir, os.DirFS("testdata/fire")))
	sound, err := os.ReadFile(filepath.Join(dir, "plan.toml"))
	require.NoError(t, err)
	for _, name := range []string{plain, odd} {
		require.NoError(t, os.WriteFile(filepath.Join(dir, name), sound, 0o666))
		require.NoError(t, os.WriteFile(filepath.Join(dir, "bad"+name), bytes.Replace(sound, []byte(`"QB CMD 1"`), []byte(`"QB CMD 9"`), 1), 0o666))
	}
	t.Chdir(dir)
	for _, args := range [][]string{
		{"check", "%"}, {"check", "bad%"}, {"check", "--long", "bad%"}, {"check", "--json", "bad%"}, {"check", "--fix", "bad%"},
		{"check", "gone%"}, {"check", "--json", "gone%"}, {"print", "bad%"}, {"print", "gone%"}, {"print", "%", "-o", "out%"},
		{"print", "--json", "%"}, {"verify", "%", "gone%"}, {"verify", "gone%"}, {"code", "%", "gone%"}, {"diff", "%", "gone%"},
		{"diff", "%", "plan.toml"}, {"find", "%", "QB"}, {"draft", "load.toml", "gone%"}, {"draft", "%", "load.toml"},
		{"next", "%", "-o", "next%"}, {"next", "%", "-o", "next%"}, {"new", "%"}, {"new", "new%"}, {"%"}, {"explain", "%"}, {"help", "%"},
		{"schema", "%"}, {"import", "%"}, {"completion", "%"}, {"print", "plan.toml", "--size", "%"}, {"check", "--%"}, {"verify", "%", "%"},
	} {
		said := map[string]int{}
		for _, name := range []string{plain, odd} {
			var a []string
			for _, arg := range args {
				a = append(a, strings.ReplaceAll(arg, "%", name))
			}
			var stdout, stderr bytes.Buffer
			run(a, strings.NewReader(""), &stdout, &stderr)
			for line := range strings.Lines(stdout.String() + stderr.String()) {
				line = strings.TrimSuffix(line, "\n")
				assert.Equal(t, voice.Printable(line), line, "%q", args)
				assert.False(t, strings.HasPrefix(line, forged), "%q: %q", args, line)
				said[name]++
			}
			if strings.Contains(strings.Join(args, " "), "--json") {
				assert.True(t, json.Valid(stdout.Bytes()), "%q", args)
			}
		}
		assert.Equal(t, said[plain], said[odd], "%q: lines", args)
	}
}

// Answers that nobody can have read are not "fine": standard output was closed.
func TestStandardOutputClosed(t *testing.T) {
	dir := t.TempDir()
	require.NoError(t, os.CopyFS(dir, os.DirFS("testdata/fire")))
	sh := func(script string) (int, string) {
		cmd := exec.Command("sh", "-c", script)
		cmd.Dir = dir
		var stderr bytes.Buffer
		cmd.Stderr = &stderr
		_ = cmd.Run()
		return cmd.ProcessState.ExitCode(), stderr.String()
	}
	for _, script := range []string{"slotcard check --json plan.toml >&-", "slotcard code plan.toml >&-", "slotcard help >&-", "slotcard print --json plan.toml >&-"} {
		status, stderr := sh(script)
		assert.Equal(t, exitUsage, status, script)
		assert.Contains(t, stderr, "slotcard: cannot write to standard output: it is closed", script)
	}
	for _, script := range []string{
		"slotcard check --json plan.toml >/dev/null", "slotcard check --json plan.toml >/dev/null 2>&1",
		"slotcard check --json plan.toml 1<>/dev/null 2>&1", // as a service has it
		"slotcard check plan.toml >&-",                      // nothing to say there
	} {
		status, stderr := sh(script)
		assert.Equal(t, exitFine, status, "%s: %s", script, stderr)
	}
}
