// Package voice owns how slotcard speaks to the person at the keyboard; nothing
// else writes to standard output or standard error. The rules for speaking:
//
//   - Findings and answers go to standard output; everything about running the
//     program goes to standard error, and begins with "slotcard: " where
//     something went wrong.
//   - A line says the thing and its place first, then what to type. It is lower
//     case, without a full stop, in the words of the trade and of the files.
//   - What can be typed is quoted so that it can be pasted into a shell.
//   - Text out of files and names of files reach a terminal only through
//     Printable: no control character gets through, neither as text nor as JSON.
//     A name that could be taken for something else stands in quotes: see Name.
//   - No color, no cursor movement: the same text on a terminal, in a file and
//     in an e-mail. A terminal only gets more of it.
//   - Reading on is never needed to know whether it went well: the last line
//     says so.
//
// Start with [Voice]. How findings and answers look is in package report.
package voice

import (
	"bufio"
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"sync"
	"time"

	"golang.org/x/term"
)

// Voice speaks on standard output and standard error. Its errors are sticky
// and come out of [Voice.Flush].
type Voice struct {
	out      *bufio.Writer
	err      io.Writer
	terminal bool             // standard output is one
	lost     bool             // it was closed: what is said there reaches nobody
	watching bool             // standard error is a terminal: somebody waits
	answered bool             // with a JSON document
	now      func() time.Time // for progress; nothing else depends on the clock
}

// New is a voice on these two.
func New(stdout, stderr io.Writer) *Voice {
	isTerminal := func(w io.Writer) bool {
		f, ok := w.(*os.File)
		return ok && term.IsTerminal(int(f.Fd()))
	}
	return &Voice{out: bufio.NewWriter(stdout), err: stderr, terminal: isTerminal(stdout), lost: closed(stdout, stderr), watching: isTerminal(stderr), now: time.Now}
}

// Terminal tells whether answers go to a terminal.
func (v *Voice) Terminal() bool { return v.terminal }

// Out is standard output, for documents that others write.
func (v *Voice) Out() io.Writer { return v.out }

// Err is standard error, for help that nobody asked for.
func (v *Voice) Err() io.Writer { return v.err }

// Flush brings all that was said to standard output, or says why it cannot.
func (v *Voice) Flush() error {
	said := v.out.Buffered() > 0
	err := v.out.Flush()
	if err == nil && said && v.lost {
		err = errClosed
	}
	if err != nil {
		return fmt.Errorf("cannot write to standard output: %s", Reason(err))
	}
	return nil
}

// Say puts a line into the answer.
func (v *Voice) Say(format string, args ...any) {
	fmt.Fprintln(v.out, Printable(fmt.Sprintf(format, args...)))
}

// Folded puts a text into the answer, in lines of at most 80 characters; see [Fold].
func (v *Voice) Folded(text, first, rest string) {
	fmt.Fprintln(v.out, Fold(Printable(text), first, rest))
}

// Gap puts an empty line into the answer.
func (v *Voice) Gap() { fmt.Fprintln(v.out) }

// Raw puts text into the answer as it is: this program's own, or what is
// printable already.
func (v *Voice) Raw(format string, args ...any) { fmt.Fprintf(v.out, format, args...) }

// JSON makes one document the answer.
func (v *Voice) JSON(document any) error {
	v.answered = true
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	if err := e.Encode(document); err != nil {
		return err
	}
	_, err := v.out.Write(PlainJSON(b.Bytes()))
	return err
}

// Answered tells whether a JSON document is the answer already.
func (v *Voice) Answered() bool { return v.answered }

// Tell says something about the run.
func (v *Voice) Tell(format string, args ...any) {
	fmt.Fprintf(v.err, "%s\n", Printable(fmt.Sprintf(format, args...)))
}

// Complain says what went wrong; each of several joined errors becomes a line of its
// own, and only these: a line end in the text of one comes from a file or its name.
func (v *Voice) Complain(err error) {
	if joined, ok := err.(interface{ Unwrap() []error }); ok {
		if all := joined.Unwrap(); err.Error() == errors.Join(all...).Error() {
			for _, e := range all {
				v.Complain(e)
			}
			return
		}
	}
	v.Tell("slotcard: %s", err)
}

// Progress says how far work on so many things has come, where it takes more
// than a second and somebody watches: a line after a second, then at longer and
// longer intervals. The function it returns takes how many more are done; it may
// be called from several goroutines.
func (v *Voice) Progress(what string, total int) func(more int) {
	if !v.watching {
		return func(int) {}
	}
	const longest = 10 * time.Second
	var mu sync.Mutex
	start, pause, done := v.now(), time.Second, 0
	next := start.Add(pause)
	return func(more int) {
		mu.Lock()
		defer mu.Unlock()
		done += more
		now := v.now()
		if done >= total || done == 0 || now.Before(next) {
			return
		}
		pause = min(2*pause, longest)
		next = now.Add(pause)
		passed := now.Sub(start)
		left := time.Duration(float64(passed) / float64(done) * float64(total-done))
		v.Tell("%d of %d %s done, about %s left", done, total, what, spoken(left))
	}
}

// spoken is a duration to the second, of minutes to the minute.
func spoken(d time.Duration) string {
	if d > 2*time.Minute {
		return fmt.Sprintf("%.0f min", d.Minutes())
	}
	return fmt.Sprintf("%.0f s", max(d.Seconds(), 1))
}
