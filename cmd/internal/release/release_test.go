package main

import (
	"bytes"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The program of this machine runs and says its version; another program agrees
// about its sum.
func TestRelease(t *testing.T) {
	if os.Getenv("SLOTCARD_SECOND_OPINIONS") == "" {
		t.Skip("compiles all packages anew: SLOTCARD_SECOND_OPINIONS=1 runs it")
	}
	dir := filepath.Join(t.TempDir(), "dist")
	here := runtime.GOOS + "/" + runtime.GOARCH
	require.NoError(t, release(dir, "1.2.3", []string{here}, new(bytes.Buffer)))
	name := "slotcard-1.2.3-" + strings.ReplaceAll(here, "/", "-")
	if runtime.GOOS == "windows" {
		name += ".exe"
	}
	out, err := exec.Command(filepath.Join(dir, name), "--version").Output()
	require.NoError(t, err)
	assert.Regexp(t, `^slotcard 1\.2\.3 \(commit \w+( and changes)?, go1\.\d+`, string(out))

	licenses, err := os.ReadFile(filepath.Join(dir, "LICENSES.txt"))
	require.NoError(t, err)
	assert.Contains(t, string(licenses), "SIL OPEN FONT LICENSE")
	assert.Contains(t, string(licenses), "github.com/go-pdf/fpdf")

	sums, err := os.ReadFile(filepath.Join(dir, "SHA256SUMS"))
	require.NoError(t, err)
	assert.Regexp(t, `^[0-9a-f]{64}  `+name+"\n$", string(sums))
	if tool, err := exec.LookPath("sha256sum"); err == nil {
		cmd := exec.Command(tool, "-c", "SHA256SUMS")
		cmd.Dir = dir
		out, err := cmd.CombinedOutput()
		assert.NoError(t, err, "%s", out)
	}
}

func TestReleaseRefuses(t *testing.T) {
	dir := t.TempDir()
	assert.ErrorContains(t, release(dir, "../1", nil, new(bytes.Buffer)), "version")
	assert.ErrorContains(t, release(dir, "1", []string{"linux"}, new(bytes.Buffer)), "not a system")
}
