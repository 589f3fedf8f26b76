//go:build unix

package voice

import (
	"errors"
	"io"
	"os"

	"golang.org/x/sys/unix"
)

var errClosed = errors.New("it is closed; to throw the answer away, send it to " + os.DevNull)

// closed tells whether standard output was closed when the program was started. The
// Go runtime then puts the null device in its place, opened by itself for reading
// and writing, where a shell opens it for writing only; one that it shares with
// standard error was put there by whoever started the program.
func closed(stdout, stderr io.Writer) bool {
	f, ok := stdout.(*os.File)
	if !ok || f != os.Stdout {
		return false
	}
	null, err := os.Stat(os.DevNull)
	if err != nil {
		return false
	}
	if is, err := f.Stat(); err != nil || !os.SameFile(is, null) {
		return err != nil
	}
	out := int(f.Fd())
	flags, err := unix.FcntlInt(uintptr(out), unix.F_GETFL, 0)
	if err != nil || flags&unix.O_ACCMODE != unix.O_RDWR {
		return false
	}
	e, ok := stderr.(*os.File)
	return !ok || !shared(out, int(e.Fd()), flags)
}

// shared tells whether two descriptors are of one open file: a flag that is set on
// one of them is then set on the other.
func shared(a, b, flags int) bool {
	before, err := unix.FcntlInt(uintptr(b), unix.F_GETFL, 0)
	if err != nil || before&unix.O_APPEND != 0 {
		return err == nil
	}
	if _, err := unix.FcntlInt(uintptr(a), unix.F_SETFL, flags|unix.O_APPEND); err != nil {
		return false
	}
	after, _ := unix.FcntlInt(uintptr(b), unix.F_GETFL, 0)
	_, _ = unix.FcntlInt(uintptr(a), unix.F_SETFL, flags)
	return after&unix.O_APPEND != 0
}
