package main

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"strconv"
	"strings"
	"time"

	"golang.org/x/term"

	"slotcard/cmd/internal/voice"
	"slotcard/plan/channellist"
)

// asker asks the person at the keyboard, a line an answer. An empty line leaves
// a thing to be decided in the file.
type asker struct {
	ctx   context.Context
	lines *bufio.Reader
	voice *voice.Voice
}

// asker is nil where nobody sits at a keyboard.
func (a *app) asker(ctx context.Context) *asker {
	in, ok := a.reader.Stdin().(*os.File)
	if !ok || !term.IsTerminal(int(in.Fd())) {
		return nil
	}
	return &asker{ctx, bufio.NewReader(in), a.voice}
}

// line asks and waits, until the run is interrupted.
func (k *asker) line(question string) (string, error) {
	k.voice.Tell("%s", question)
	type read struct {
		text string
		err  error
	}
	done := make(chan read, 1)
	go func() {
		text, err := k.lines.ReadString('\n')
		if errors.Is(err, io.EOF) {
			err = nil
		}
		done <- read{strings.TrimSpace(text), err}
	}()
	select {
	case r := <-done:
		return r.text, r.err
	case <-k.ctx.Done():
		return "", k.ctx.Err()
	}
}

func (k *asker) yes(question string) (bool, error) {
	for {
		text, err := k.line(question + " yes (or nothing) or no:")
		if err != nil {
			return false, err
		}
		switch strings.ToLower(text) {
		case "", "y", "yes":
			return true, nil
		case "n", "no":
			return false, nil
		}
	}
}

// until asks again until an answer will do, or is empty.
func (k *asker) until(question string, valid func(string) error) (string, error) {
	for {
		text, err := k.line(question)
		if err != nil || text == "" {
			return "", err
		}
		if err := valid(text); err != nil {
			k.voice.Tell("%s", err)
			continue
		}
		return text, nil
	}
}

// answers asks for what no channel list says, and no flag has said. Since last
// year's load, the channel that carries the edition is known from there.
func (k *asker) answers(a *channellist.Answers, l *channellist.List, since bool) error {
	anything := func(string) error { return nil }
	day := func(s string) error {
		if _, err := time.Parse(time.DateOnly, s); err != nil {
			return fmt.Errorf("%q is no day; write it such as 2027-03-01", s)
		}
		return nil
	}
	k.voice.Tell("some things are on no sheet; an empty line leaves one to be decided in the file")
	for _, q := range []struct {
		question string
		to       *string
		valid    func(string) error
	}{
		{"whose load is it?", &a.Name, anything},
		{"which edition, usually the year?", &a.Edition, anything},
		{"which color has the label on the radio?", &a.Color, anything},
		{"first day on which it is valid, such as 2027-03-01?", &a.Effective, day},
		{"last day?", &a.Expires, day},
		{"which display name carries the edition?", &a.EditionChannel, l.HasName},
	} {
		if *q.to != "" || since && q.to == &a.EditionChannel {
			continue
		}
		text, err := k.until(q.question, q.valid)
		if err != nil {
			return err
		}
		*q.to = text
	}
	if a.ListPositions > 0 {
		return nil
	}
	text, err := k.until("how many positions has a list that a user can build?", func(s string) error {
		if n, err := strconv.Atoi(s); err != nil || n < 1 || n > 1000 {
			return fmt.Errorf("%q is no number from 1 to 1000", s)
		}
		return nil
	})
	if err == nil && text != "" {
		a.ListPositions, err = strconv.Atoi(text)
	}
	return err
}
