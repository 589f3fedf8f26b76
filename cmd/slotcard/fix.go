package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"maps"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"github.com/rogpeppe/go-internal/diff"

	"slotcard/cmd/internal/files"
	"slotcard/cmd/internal/papers"
	"slotcard/cmd/internal/publish"
	"slotcard/cmd/internal/report"
	"slotcard/cmd/internal/voice"
	"slotcard/plan/edit"
	"slotcard/plan/finding"
)

// fixing goes through the findings of files, one after another, and makes the
// edits that are wanted in memory. After each the file is checked again, so that
// the next one is offered for what stands there then.
type fixing struct {
	app    *app
	ask    func(question string) (answer string, more bool, err error) // nil: nobody is there
	before map[string][]byte                                           // of the files that were edited
	passed map[string]bool                                             // findings that were gone through
	edits  int
	left   int // findings whose edits a person must choose, where nobody is there
}

// errQuit ends the questions; what was answered before is done.
var errQuit = errors.New("quit")

// runFix is check --fix. On a terminal it asks for each edit and writes the files
// at the end; elsewhere it prints what would change and writes nothing.
func (a *app) runFix(ctx context.Context, args []string) error {
	names, unreadable := expand(args)
	if slices.Contains(names, files.Stdin) {
		return usagef("--fix changes files: name a file in place of -")
	}
	x := &fixing{app: a, before: map[string][]byte{}, passed: map[string]bool{}}
	asks := a.voice.Talks(a.reader.Stdin())
	if asks {
		x.ask = a.voice.Asker(ctx, a.reader.Stdin()).Ask
	}
	for _, name := range names {
		err := x.file(name)
		if errors.Is(err, errQuit) {
			break
		}
		if err != nil && (ctx.Err() != nil || errors.Is(err, context.Canceled)) {
			return context.Canceled
		}
		if err != nil {
			unreadable = append(unreadable, err)
		}
	}
	if asks {
		if err := x.write(ctx); err != nil {
			return err
		}
	} else {
		x.show()
	}
	if err := a.voice.Flush(); err != nil {
		return err
	}
	for _, err := range unreadable {
		a.voice.Complain(err)
	}
	return x.end(names, asks, len(unreadable) > 0)
}

// file goes through the findings of one file.
func (x *fixing) file(name string) error {
	for {
		_, _, found, err := papers.Check(x.app.reader, name)
		if err != nil {
			return err
		}
		f, ok := x.next(found)
		if !ok {
			return nil
		}
		e, ok, err := x.choose(f)
		if err != nil {
			return err
		}
		if ok {
			if err := x.make(e); err != nil {
				return err
			}
		}
	}
}

// next is the first finding that has edits to offer and was not gone through.
func (x *fixing) next(found finding.List) (finding.Finding, bool) {
	for _, f := range found {
		key := strings.Join([]string{f.Place.File, f.Rule, f.Subject, f.Message}, "\x00")
		byHand := slices.ContainsFunc(f.Edits, func(e finding.Edit) bool { return e.ByHand })
		if len(f.Edits) == 0 || byHand || x.passed[key] {
			continue
		}
		x.passed[key] = true
		return f, true
	}
	return finding.Finding{}, false
}

// choose asks which edit to make. Where nobody is there it is the only one.
func (x *fixing) choose(f finding.Finding) (finding.Edit, bool, error) {
	if x.ask == nil {
		if len(f.Edits) > 1 {
			x.left++
			return finding.Edit{}, false, nil
		}
		return f.Edits[0], true, nil
	}
	v := x.app.voice
	v.Gap()
	v.Say("%s", f.String())
	for i, e := range f.Edits {
		title := e.Title
		if len(f.Edits) > 1 {
			title = fmt.Sprintf("%d  %s", i+1, e.Title)
		}
		v.Say("%s", title)
		for _, line := range x.changes(e) {
			v.Say("   %s", line)
		}
	}
	question := "make this change? y yes, n no, q quit:"
	if len(f.Edits) > 1 {
		question = fmt.Sprintf("make which change? 1 to %d, n none, q quit:", len(f.Edits))
	}
	for {
		answer, more, err := x.ask(question)
		if err != nil {
			return finding.Edit{}, false, err
		}
		number, _ := strconv.Atoi(answer)
		switch {
		case answer == "q" || answer == "quit" || !more:
			return finding.Edit{}, false, errQuit
		case answer == "n" || answer == "no" || answer == "none":
			return finding.Edit{}, false, nil
		case (answer == "y" || answer == "yes") && len(f.Edits) == 1:
			return f.Edits[0], true, nil
		case 1 <= number && number <= len(f.Edits):
			return f.Edits[number-1], true, nil
		}
	}
}

// changes are the lines that an edit takes away and puts in.
func (x *fixing) changes(e finding.Edit) (lines []string) {
	texts, err := x.applied(e)
	if err != nil {
		return nil
	}
	for _, name := range slices.Sorted(maps.Keys(texts)) {
		before, _ := x.app.reader.ReadFile(name)
		for line := range strings.SplitSeq(unified(name, before, texts[name], false), "\n") {
			if strings.HasPrefix(line, "-") || strings.HasPrefix(line, "+") {
				lines = append(lines, strings.TrimSuffix(line, "\r"))
			}
		}
	}
	return lines
}

// applied are the files as an edit leaves them.
func (x *fixing) applied(e finding.Edit) (map[string][]byte, error) {
	byFile := map[string][]finding.Change{}
	for _, c := range e.Changes {
		byFile[c.File] = append(byFile[c.File], c)
	}
	texts := map[string][]byte{}
	for name, changes := range byFile {
		text, err := x.app.reader.ReadFile(name)
		if err != nil {
			return nil, err
		}
		if texts[name], err = edit.Apply(text, changes); err != nil {
			return nil, err
		}
	}
	return texts, nil
}

// make makes an edit in memory.
func (x *fixing) make(e finding.Edit) error {
	texts, err := x.applied(e)
	if err != nil {
		return err
	}
	for name, text := range texts {
		if _, edited := x.before[name]; !edited {
			x.before[name], _ = x.app.reader.ReadFile(name)
		}
		x.app.reader.Replace(name, text)
	}
	x.edits++
	return nil
}

// write writes the files that were edited, whole, those of one folder all or
// none. One that somebody else has changed meanwhile stops it.
func (x *fixing) write(ctx context.Context) error {
	folders := map[string][]publish.File{}
	for _, name := range slices.Sorted(maps.Keys(x.before)) {
		target, err := filepath.EvalSymlinks(name)
		if err != nil {
			return files.Fail(name, "cannot be written: "+voice.Reason(err), err)
		}
		now, err := files.ReadRegular(target, files.MaxTOML)
		if err != nil {
			return err
		}
		if !bytes.Equal(now, x.before[name]) {
			return files.Fail(name, "has changed since it was read: nothing was written; check it again", nil)
		}
		text, _ := x.app.reader.ReadFile(name)
		dir := filepath.Dir(target)
		folders[dir] = append(folders[dir], publish.File{Name: filepath.Base(target), Data: text})
	}
	for _, dir := range slices.Sorted(maps.Keys(folders)) {
		if err := publish.All(ctx, dir, folders[dir], publish.Any); err != nil {
			return err
		}
	}
	return nil
}

// show prints what would change as a unified diff.
func (x *fixing) show() {
	for _, name := range slices.Sorted(maps.Keys(x.before)) {
		after, _ := x.app.reader.ReadFile(name)
		text := unified(name, x.before[name], after, true)
		if x.app.voice.Terminal() {
			for line := range strings.Lines(text) {
				x.app.voice.Say("%s", strings.TrimRight(line, "\r\n"))
			}
			continue
		}
		x.app.voice.Raw("%s", text)
	}
}

// end says how it went. The files are as they were where nothing was written.
func (x *fixing) end(names []string, asks, unreadable bool) error {
	if !asks {
		for name, text := range x.before {
			x.app.reader.Replace(name, text)
		}
	}
	var all finding.List
	for _, name := range names {
		if _, _, found, err := papers.Check(x.app.reader, name); err == nil {
			all.Add(found...)
		}
	}
	changes := voice.Count(x.edits, "change", "changes")
	switch v := x.app.voice; {
	case asks && x.edits == 0:
		v.Tell("nothing was changed: %s", report.Tally(all))
	case asks:
		v.Tell("%s written to %s: %s", changes, voice.Join(named(slices.Sorted(maps.Keys(x.before))), "and"), report.Tally(all))
	case x.edits == 0:
		v.Tell("nothing to fix without a decision from you: %s", report.Tally(all))
	default:
		v.Tell("%s shown, nothing was written: on a terminal, --fix asks about each", changes)
	}
	if x.left > 0 {
		x.app.voice.Tell("%s a choice from you: on a terminal, --fix asks", voice.Count(x.left, "finding needs", "findings need"))
	}
	switch {
	case unreadable:
		return errTold
	case all.HasErrors():
		return errFindings
	}
	return nil
}

// named are the names of files within a sentence.
func named(names []string) []string {
	for i := range names {
		names[i] = voice.Name(names[i])
	}
	return names
}

// unified is what two texts of a file differ in, as diff -u and patch have it;
// without heads only the changed lines.
func unified(name string, before, after []byte, heads bool) string {
	name = voice.Name(name)
	text := string(diff.Diff(name, before, name, after))
	lines := 1 // of its own making
	if !heads {
		lines = 3
	}
	for range lines {
		_, text, _ = strings.Cut(text, "\n")
	}
	return text
}
