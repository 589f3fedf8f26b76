package voice

import (
	"bufio"
	"context"
	"io"
	"os"
	"strings"

	"golang.org/x/term"
)

// Asker puts questions to the person at the keyboard and waits for the answers.
type Asker struct {
	voice *Voice
	ctx   context.Context
	lines chan string
}

// longestAnswer bounds, in bytes, what is read of an answer.
const longestAnswer = 1000

// Asker reads answers from in, a line each. Waiting ends with ctx.
func (v *Voice) Asker(ctx context.Context, in io.Reader) *Asker {
	a := &Asker{voice: v, ctx: ctx, lines: make(chan string)}
	go func() {
		defer close(a.lines)
		s := bufio.NewScanner(in)
		s.Buffer(nil, longestAnswer)
		for s.Scan() {
			select {
			case a.lines <- s.Text():
			case <-ctx.Done():
				return
			}
		}
	}()
	return a
}

// Ask puts a question and gives the answer in small letters, without spaces
// around it; false where there are no more answers. It fails where the run is
// interrupted.
func (a *Asker) Ask(question string) (answer string, more bool, err error) {
	a.voice.Raw("%s ", Printable(question))
	if err := a.voice.Flush(); err != nil {
		return "", false, err
	}
	select {
	case line, more := <-a.lines:
		return strings.ToLower(strings.TrimSpace(line)), more, nil
	case <-a.ctx.Done():
		return "", false, a.ctx.Err()
	}
}

// Talks tells whether somebody sits at both ends: answers can be read from in,
// and what is said is seen.
func (v *Voice) Talks(in io.Reader) bool {
	f, ok := in.(*os.File)
	return ok && v.terminal && term.IsTerminal(int(f.Fd()))
}
