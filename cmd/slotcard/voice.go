package main

// This file owns everything that slotcard says to the person at the keyboard.
// The rules for saying it:
//
//   - Findings and answers go to standard output; everything about running the
//     program goes to standard error, and begins with "slotcard: " where
//     something went wrong.
//   - A line says the thing and its place first, then what to type. It is lower
//     case, without a full stop, in the words of the trade and of the files.
//   - What can be typed is quoted so that it can be pasted into a shell.
//   - Text out of files and names of files reach a terminal only through
//     printable or sourceLine: no control character gets through.
//   - No colour, no cursor movement: the same text on a terminal, in a file and
//     in an e-mail. A terminal only gets more of it.
//   - Reading on is never needed to know whether it went well: the last line
//     says so.

import (
	"bufio"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"sync"
	"time"
	"unicode"
	"unicode/utf8"

	"github.com/spf13/cobra"
	"golang.org/x/term"

	"slotcard/plan/finding"
	"slotcard/plan/rules"
)

// voice speaks on standard output and standard error. Its errors are sticky
// and come out of flush.
type voice struct {
	out      *bufio.Writer
	err      io.Writer
	watching bool             // standard error is a terminal: somebody waits
	now      func() time.Time // for progress; nothing else depends on the clock
}

func newVoice(stdout, stderr io.Writer) *voice {
	v := &voice{out: bufio.NewWriter(stdout), err: stderr, now: time.Now}
	if f, ok := stderr.(*os.File); ok {
		v.watching = term.IsTerminal(int(f.Fd()))
	}
	return v
}

// progress says how far work on so many things has come, where it takes more
// than a second and somebody watches: a line after a second, then at longer and
// longer intervals. The function it returns takes how many more are done; it may
// be called from several goroutines.
func (v *voice) progress(what string, total int) func(more int) {
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
		v.tell("%d of %d %s done, about %s left", done, total, what, spoken(left))
	}
}

// spoken is a duration to the second, of minutes to the minute.
func spoken(d time.Duration) string {
	if d > 2*time.Minute {
		return fmt.Sprintf("%.0f min", d.Minutes())
	}
	return fmt.Sprintf("%.0f s", max(d.Seconds(), 1))
}

func (v *voice) flush() error {
	if err := v.out.Flush(); err != nil {
		return fmt.Errorf("cannot write to standard output: %s", reason(err))
	}
	return nil
}

// tell says something about the run.
func (v *voice) tell(format string, args ...any) {
	fmt.Fprintf(v.err, "%s\n", printable(fmt.Sprintf(format, args...)))
}

// complain says what went wrong; each line of the error becomes one of its own.
func (v *voice) complain(err error) {
	for line := range strings.SplitSeq(err.Error(), "\n") {
		v.tell("slotcard: %s", line)
	}
}

// depth is how much of a finding is shown.
type depth uint8

const (
	brief    depth = iota // one line each: for programs and files
	withHelp              // source line, help and related places: for a terminal
	withAll               // details as well: --long
)

// findings prints a list in the format that README.md describes.
func (v *voice) findings(l finding.List, d depth) {
	for _, f := range l {
		v.finding(f, d)
		if d > brief {
			fmt.Fprintln(v.out)
		}
	}
}

func (v *voice) finding(f finding.Finding, d depth) {
	fmt.Fprintln(v.out, printable(f.String()))
	if d == brief {
		return
	}
	v.source(f.Place)
	for _, h := range f.Help {
		fmt.Fprintln(v.out, printable("help: "+h))
	}
	if h := rules.HowToAccept(f); h != "" {
		fmt.Fprintln(v.out, printable("help: "+h))
	}
	for _, r := range f.Related {
		fmt.Fprintln(v.out, printable("also "+r.Place.String()+": "+r.Message))
		v.source(r.Place)
	}
	switch {
	case len(f.Details) == 0:
	case d == withAll:
		for _, row := range f.Details {
			fmt.Fprintln(v.out, printable("  "+row))
		}
	default:
		fmt.Fprintf(v.out, "%s with --long\n", count(len(f.Details), "row more", "rows more"))
	}
}

// source shows the source line of a place, with a mark under it.
func (v *voice) source(p finding.Place) {
	if p.Line == 0 || p.Column == 0 {
		return
	}
	line, mark := sourceLine(p)
	if line != "" {
		fmt.Fprintf(v.out, "%s\n%s\n", line, mark)
	}
}

// widest is the most characters of a source line that are shown.
const widest = 160

// sourceLine is the source line of a place as a terminal may show it, and the
// line that marks the place under it. Columns count characters; tabs stay tabs
// in both. Of a line that is too long, the part around the place is shown.
func sourceLine(p finding.Place) (line, mark string) {
	runes := []rune(p.Text)
	if strings.TrimSpace(p.Text) == "" {
		return "", ""
	}
	start := min(p.Column-1, len(runes))
	end := min(start+max(p.Length, 1), max(len(runes), start+1))
	from, to := 0, len(runes)
	if len(runes) > widest {
		from = min(max(0, start-widest/4), len(runes)-widest)
		to = from + widest
		end = min(end, to)
	}
	var l, m strings.Builder
	if from > 0 {
		l.WriteRune('…')
		m.WriteRune(' ')
	}
	for i := from; i < to; i++ {
		r := runes[i]
		switch {
		case r == '\t':
		case !shown(r):
			r = utf8.RuneError
		}
		l.WriteRune(r)
		if i < start {
			if r != '\t' {
				r = ' '
			}
			m.WriteRune(r)
		}
	}
	if to < len(runes) {
		l.WriteRune('…')
	}
	m.WriteString(strings.Repeat("^", max(1, end-start)))
	return l.String(), m.String()
}

// shown tells whether a character may reach a terminal as it is. Format
// characters may not: some of them turn the direction of what follows.
func shown(r rune) bool {
	return r != utf8.RuneError && (r == ' ' || unicode.IsGraphic(r)) && !unicode.Is(unicode.Cf, r)
}

// printable is a line without the characters that a terminal would obey.
func printable(s string) string {
	if strings.IndexFunc(s, func(r rune) bool { return !shown(r) }) < 0 {
		return s
	}
	var b strings.Builder
	for i, r := range s {
		switch {
		case r == utf8.RuneError:
			if _, size := utf8.DecodeRuneInString(s[i:]); size == 1 {
				fmt.Fprintf(&b, `\x%02x`, s[i])
			} else {
				b.WriteRune(r)
			}
		case shown(r):
			b.WriteRune(r)
		case r < 0x80:
			fmt.Fprintf(&b, `\x%02x`, r)
		default:
			fmt.Fprintf(&b, `\u%04x`, r)
		}
	}
	return b.String()
}

// count is a number with the word for it: "1 card", "2 cards".
func count(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}

// tally is what a list of findings adds up to, the gravest first.
func tally(l finding.List) string {
	if len(l) == 0 {
		return "nothing to report"
	}
	var parts []string
	for _, t := range []struct {
		severity  finding.Severity
		one, many string
	}{
		{finding.Error, "error", "errors"},
		{finding.Warning, "warning", "warnings"},
		{finding.Advice, "piece of advice", "pieces of advice"},
		{finding.Note, "accepted exception", "accepted exceptions"},
	} {
		if n := l.Count(t.severity); n > 0 {
			parts = append(parts, count(n, t.one, t.many))
		}
	}
	return strings.Join(parts, ", ")
}

// typed is a file name as one types it into a shell.
func typed(name string) string {
	safe := func(r rune) bool {
		return unicode.IsLetter(r) || unicode.IsDigit(r) || strings.ContainsRune("-_./+@%:,~"+string(filepath.Separator), r)
	}
	if name != "" && strings.IndexFunc(name, func(r rune) bool { return !safe(r) }) < 0 {
		return name
	}
	if runtime.GOOS == "windows" {
		return `"` + name + `"`
	}
	return "'" + strings.ReplaceAll(name, "'", `'\''`) + "'"
}

// closest is the known word that was probably meant, or "".
func closest(word string, known []string) string {
	if near := finding.Closest(word, known, 1); len(near) > 0 {
		return near[0]
	}
	return ""
}

// unknown says that a word is none of those known, and which was meant.
func unknown(what, word string, known []string) error {
	return usagef("unknown %s %q; %sknown: %s", what, word, didYouMean(finding.Closest(word, known, 3)), strings.Join(known, ", "))
}

// didYouMean is the question, with a space after it, or "" where nothing is near.
func didYouMean(near []string) string {
	switch n := len(near); n {
	case 0:
		return ""
	case 1:
		return "did you mean " + near[0] + "? "
	default:
		return "did you mean " + strings.Join(near[:n-1], ", ") + " or " + near[n-1] + "? "
	}
}

// json prints one document on standard output.
func (v *voice) json(document any) error {
	e := json.NewEncoder(v.out)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	return e.Encode(document)
}

// usage is the lower part of every --help.
func usage(c *cobra.Command) error {
	w := c.OutOrStderr()
	if !c.HasAvailableSubCommands() {
		fmt.Fprintf(w, "usage:\n  %s\n", c.UseLine())
	} else {
		fmt.Fprintf(w, "usage:\n  %[1]s COMMAND ...\n  %[1]s COMMAND --help\n\ncommands:\n", c.CommandPath())
		for _, sub := range c.Commands() {
			if !sub.Hidden {
				fmt.Fprintf(w, "  %-11s %s\n", sub.Name(), sub.Short)
			}
		}
	}
	if c.HasExample() {
		fmt.Fprintf(w, "\nexample:\n%s\n", c.Example)
	}
	if c.HasAvailableLocalFlags() {
		fmt.Fprintf(w, "\nflags:\n%s", c.LocalFlags().FlagUsages())
	}
	return nil
}

// rule prints an entry of the catalogue of rules.
func (v *voice) rule(r rules.Rule) {
	fmt.Fprintf(v.out, "%s (%s)\n\n%s\n", r.ID, r.Severity, fold(r.Statement, ""))
	for _, part := range []struct{ head, text string }{
		{"why", r.Why}, {"source", r.SourceText()}, {"fix", r.Fix},
	} {
		if part.text != "" {
			fmt.Fprintf(v.out, "\n%s:\n%s\n", part.head, fold(part.text, "  "))
		}
	}
	for _, part := range []struct{ head, toml string }{{"bad", r.Bad}, {"good", r.Good}} {
		if text := strings.Trim(part.toml, "\n"); text != "" {
			fmt.Fprintf(v.out, "\n%s:\n  %s\n", part.head, strings.ReplaceAll(text, "\n", "\n  "))
		}
	}
	if r.Acceptable {
		fmt.Fprintf(v.out, `
accept, in the plan, where somebody answers for it:
  [[accept]]
  rule    = %q
  subject = "..."   # as the help of the finding says
  because = "..."
  by      = "..."
`, r.ID)
	} else {
		fmt.Fprint(v.out, "\naccept:\n  not possible\n")
	}
}

// fold breaks a text into lines of at most 80 characters.
func fold(text, indent string) string {
	var b strings.Builder
	column := 0
	for i, word := range strings.Fields(text) {
		n := utf8.RuneCountInString(word)
		switch {
		case i == 0:
			b.WriteString(indent)
			column = len(indent)
		case column+1+n > 80:
			b.WriteString("\n" + indent)
			column = len(indent)
		default:
			b.WriteByte(' ')
			column++
		}
		b.WriteString(word)
		column += n
	}
	return b.String()
}
