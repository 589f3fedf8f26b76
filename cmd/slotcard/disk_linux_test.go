package main

import (
	"bytes"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"syscall"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A real disk that is full, and one that cannot be written to, where the test
// may make one.
func TestFullDisk(t *testing.T) {
	home := t.TempDir()
	require.NoError(t, os.CopyFS(home, os.DirFS("testdata/fire")))
	disk := filepath.Join(home, "out")
	require.NoError(t, os.Mkdir(disk, 0o777))
	mount := func(flags uintptr, options string) error {
		return syscall.Mount("slotcard-test", disk, "tmpfs", flags, options)
	}
	elsewhere := filepath.Join(home, "elsewhere")
	require.Equal(t, exitFine, run([]string{"print", filepath.Join(home, "plan.toml"), "-o", elsewhere}, nil, new(bytes.Buffer), new(bytes.Buffer)))
	total := 0
	for _, content := range ls(t, elsewhere) {
		total += len(content)
	}
	// The files of one run find room, and not those of a second beside them.
	if err := mount(0, fmt.Sprintf("size=%d", total*3/2)); errors.Is(err, syscall.EPERM) || errors.Is(err, syscall.EACCES) {
		t.Skip("only root can make a small disk here")
	} else {
		require.NoError(t, err)
	}
	defer func() { require.NoError(t, syscall.Unmount(disk, 0)) }()

	print := func() (string, int) {
		cmd := exec.Command("slotcard", "print", "plan.toml")
		cmd.Dir = home
		out, _ := cmd.CombinedOutput()
		return string(out), cmd.ProcessState.ExitCode()
	}
	out, status := print()
	require.Equal(t, exitFine, status, out)
	whole := ls(t, disk)
	require.Len(t, whole, 4, "with the manifest")

	out, status = print()
	assert.Equal(t, exitUsage, status, out)
	assert.Regexp(t, `(?m)^slotcard: out/\w+\.pdf: cannot be written: no space left on device$`, out)
	assert.Equal(t, whole, ls(t, disk), "the files of the first run are whole, and nothing else is there")

	require.NoError(t, mount(syscall.MS_REMOUNT|syscall.MS_RDONLY, ""))
	out, status = print()
	assert.Equal(t, exitUsage, status, out)
	assert.Regexp(t, `(?m)^slotcard: out/\w+\.pdf: cannot be written: read-only file system$`, out)
	assert.Equal(t, whole, ls(t, disk))
}
