//go:build unix

package main

import (
	"bufio"
	"context"
	"io"
	"os"
	"os/exec"
	"syscall"
	"testing"
	"time"

	"github.com/spf13/cobra"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// hang is a command of the tests that hears of nothing: a read of a network share that
// does not answer, or work that does not ask. With --close it may take its time, all of
// it: what ends it then is a second signal.
func init() {
	registerCommand(1000, func(a *app) *cobra.Command {
		cmd := &cobra.Command{Use: "hang", Hidden: true, RunE: func(cmd *cobra.Command, _ []string) error {
			if closes, _ := cmd.Flags().GetBool("close"); closes {
				graceToClose = time.Hour
				a.closes.Store(true)
			}
			a.voice.Tell("hangs")
			time.Sleep(time.Hour)
			return nil
		}}
		cmd.Flags().Bool("close", false, "")
		return cmd
	})
}

// Whatever the program is at, it ends when it is told to: the tests would not, else.
func TestObeysWhatNeverEnds(t *testing.T) {
	ctx, cancel := context.WithCancel(t.Context())
	said := make(told, 10)
	status := make(chan int)
	go func() { status <- runContext(ctx, []string{"hang"}, nil, io.Discard, said) }()
	assert.Equal(t, "hangs\n", <-said)
	cancel()
	assert.Equal(t, exitUsage, <-status)
	assert.Equal(t, "slotcard: interrupted; nothing was written\n", <-said)
}

// Both signals end the real program, and the second one at once.
func TestSignals(t *testing.T) {
	hang := func(args ...string) (*exec.Cmd, *bufio.Reader) {
		cmd := exec.Command("slotcard", append([]string{"hang"}, args...)...)
		stderr, err := cmd.StderrPipe()
		require.NoError(t, err)
		require.NoError(t, cmd.Start())
		said := bufio.NewReader(stderr)
		line, err := said.ReadString('\n')
		require.NoError(t, err)
		require.Equal(t, "hangs\n", line)
		return cmd, said
	}
	for _, s := range []os.Signal{os.Interrupt, syscall.SIGTERM} {
		cmd, said := hang()
		require.NoError(t, cmd.Process.Signal(s))
		rest, err := io.ReadAll(said)
		require.NoError(t, err)
		assert.Equal(t, "slotcard: interrupted; nothing was written\n", string(rest))
		assert.Equal(t, exitUsage, func() int { _ = cmd.Wait(); return cmd.ProcessState.ExitCode() }())

		cmd, _ = hang("--close")
		for pid, status := 0, syscall.WaitStatus(0); pid == 0; {
			require.NoError(t, cmd.Process.Signal(s))
			time.Sleep(20 * time.Millisecond) // the first is heard when it is heard
			var err error
			pid, err = syscall.Wait4(cmd.Process.Pid, &status, syscall.WNOHANG, nil)
			require.NoError(t, err)
			if pid != 0 {
				assert.True(t, status.Signaled() && status.Signal() == s, "ended by the signal itself, not after its grace: %v", status)
			}
		}
	}
}
