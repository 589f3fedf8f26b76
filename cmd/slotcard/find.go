package main

import (
	"bufio"
	"context"
	"encoding/json"
	"errors"
	"io"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"slotcard/cmd/internal/files"
	"slotcard/cmd/internal/report"
	"slotcard/cmd/internal/voice"
	"slotcard/plan"
	"slotcard/plan/finding"
	"slotcard/plan/lookup"
	"slotcard/plan/tomlfile"
)

func init() { registerCommand(50, (*app).findCommand) }

func (a *app) findCommand() *cobra.Command {
	var asJSON, all bool
	cmd := &cobra.Command{
		Use:   "find LOAD WHAT...",
		Short: "looks channels up by name, frequency, tone, group or site",
		Long: `find looks channels up in a load. WHAT is one or several of these; each narrows
the search:
  QB CMD 1             a display name, or a part of one
  154.28               a frequency, receive or transmit, in MHz
  152.4125/157.6725    a pair, receive and transmit
  tone 4, 146.2, D023  a tone by number, in hertz, or a code
  group 3, 3-7         a group, or a group and a channel number
  Bellwether           a repeater site
  tactical, direct     a use, or what a channel is
The word edition by itself says how to tell whether a radio carries this load.

Exact matches come first. Close ones follow, each with the reason: within 12.5 kHz,
a mistyped digit, a similar name. Channels on one receive frequency that are not the
same are marked where they differ.

With - in place of WHAT, it answers standard input line by line, such as from a
keyboard scanner: one question a line, an empty line after each answer. A slot line
from a card's QR code works as a question too.

Exit status: 0 an exact match, 1 only close ones or none, 2 wrong usage, or a file
that cannot be read. Line by line, it is 0 at the end of the input.

--json prints one document, or line by line one for each question in one line:
  {"load": "load.toml", "query": "154.28",
   "edition": {"name": "...", "edition": "2027", "colour": "...", "effective":
               "2027-03-01", "expires": "2028-03-31", "shown_by": [CHANNEL]},
   "notes": ["..."], "exact": [CHANNEL], "near": [CHANNEL]}
"edition" is there if it was asked for. A CHANNEL is
  {"place": "2-01", "places": ["2-01"], "group": 2, "number": 1, "name": "...",
   "use": "...", "rx_hz": 0, "tx_hz": 0, "rx_tone": "-", "tx_tone": "156.7",
   "mode": "...", "width": "...", "repeated": false, "receive_only": false,
   "sites": [{"name": "...", "tone": "146.2", "tone_number": 4}], "system": "...",
   "talkgroup": "...", "remarks": "...", "why": "...", "differs": ["..."]}
where fields from "sites" on are left out if empty. "differs" says how it differs
from others on its receive frequency: transmit, receive tone, transmit tone, mode or
width.`,
		Example: `  slotcard find load.toml 154.28
  slotcard find load.toml VFIRE tactical
  slotcard find load.toml edition
  slotcard find load.toml -`,
		Args: func(_ *cobra.Command, args []string) error {
			args = loadFirst(args)
			switch {
			case len(args) == 0:
				return usagef("name the load and what to find, such as: slotcard find load.toml 154.28")
			case strings.TrimSpace(strings.Join(args[1:], " ")) == "":
				return usagef("say what to find: a name, a frequency, a tone, a site; such as: slotcard find %s 154.28", voice.Typed(args[0]))
			case slices.Contains(args[1:], files.Stdin) && len(args) > 2:
				return usagef("takes nothing else beside -: the questions then come on standard input")
			case args[0] == files.Stdin && args[1] == files.Stdin:
				return usagef("load and questions cannot both come on standard input")
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			args = loadFirst(args)
			return a.runFind(cmd.Context(), args[0], strings.Join(args[1:], " "), findFlags{asJSON, all})
		},
		ValidArgsFunction: func(cmd *cobra.Command, args []string, word string) ([]string, cobra.ShellCompDirective) {
			if len(args) == 0 {
				return tomlArgs(cmd, args, word)
			}
			return nil, cobra.ShellCompDirectiveNoFileComp
		},
	}
	cmd.Flags().BoolVar(&asJSON, "json", false, "print one JSON document and nothing else")
	cmd.Flags().BoolVar(&all, "all", false, "show all close matches, not only the likeliest")
	return cmd
}

// loadFirst puts the load in front of what is to be found, where somebody typed them
// the other way round.
func loadFirst(args []string) []string {
	n := len(args) - 1
	if n < 1 || args[0] == files.Stdin || strings.HasSuffix(args[0], ".toml") || files.IsThere(args[0]) || !strings.HasSuffix(args[n], ".toml") {
		return args
	}
	return slices.Concat(args[n:], args[:n])
}

// findFlags are the flags of find.
type findFlags struct{ json, all bool }

func (a *app) runFind(ctx context.Context, name, query string, f findFlags) error {
	if name != files.Stdin {
		name = filepath.Clean(name)
	}
	l, err := a.load(name)
	if err != nil {
		return err
	}
	x := lookup.New(l)
	if query == files.Stdin {
		return a.answerLines(ctx, x, name, f)
	}
	answer := x.Find(query)
	if f.json {
		if err := a.voice.JSON(report.Found(name, l, answer)); err != nil {
			return err
		}
	} else {
		report.Answer(a.voice, l, answer, f.all)
	}
	if !answer.Found() {
		return errFindings
	}
	return nil
}

// load reads a load to look channels up in. Faults in it are told, but do not
// keep from finding what could be read.
func (a *app) load(name string) (*plan.Load, error) {
	l, found, err := plan.ReadLoad(name, a.planOptions())
	if err != nil {
		var file *files.Error
		if inside := filepath.Join(name, "load.toml"); errors.As(err, &file) && files.IsRegular(inside) {
			return nil, files.Fail(name, "is a folder; name the load in it: "+voice.Typed(inside), err)
		}
		if file != nil {
			return nil, file
		}
		return nil, err
	}
	for _, f := range found {
		if isWrongFile(f) {
			problem := f.Message
			if data, err := a.reader.ReadFile(name); err == nil && name != files.Stdin {
				var p plan.Plan
				if tomlfile.Decode(name, data, &p); p.Load != "" {
					problem += "; its load is " + voice.Typed(filepath.Join(filepath.Dir(name), filepath.FromSlash(p.Load)))
				}
			}
			return nil, files.Fail(name, problem, nil)
		}
	}
	if len(l.Channels()) == 0 {
		return nil, files.Fail(name, "has no channels that could be read; to see why, type: slotcard check "+voice.Typed(name), nil)
	}
	if found.HasErrors() {
		a.voice.Tell("slotcard: %s has %s, so some channels may not be found; to see them, type: slotcard check %s", name, report.Tally(found), voice.Typed(name))
	}
	return l, nil
}

func isWrongFile(f finding.Finding) bool { return f.Rule == plan.RuleWrongFile }

// answerLines answers question after question.
func (a *app) answerLines(ctx context.Context, x *lookup.Index, name string, f findFlags) error {
	type question struct {
		line string
		err  error
	}
	questions := make(chan question)
	go func() {
		defer close(questions)
		in := bufio.NewReaderSize(a.reader.Stdin(), 4096)
		for {
			// Of a line that is too long the rest is passed over.
			line, more, err := in.ReadLine()
			text := string(line)
			for more && err == nil {
				_, more, err = in.ReadLine()
			}
			if err != nil && err != io.EOF {
				questions <- question{err: err}
				return
			}
			if text = strings.TrimSpace(text); text != "" {
				select {
				case questions <- question{line: text}:
				case <-ctx.Done():
					return
				}
			}
			if err == io.EOF {
				return
			}
		}
	}()
	l := x.Load()
	for {
		select {
		case <-ctx.Done():
			return nil // asked to end: all answers are given
		case q, more := <-questions:
			switch {
			case !more:
				return nil
			case q.err != nil:
				return files.Fail(files.Stdin, voice.Reason(q.err), q.err)
			}
			answer := x.Find(q.line)
			if f.json {
				line, err := json.Marshal(report.Found(name, l, answer))
				if err != nil {
					return err
				}
				a.voice.Raw("%s\n", voice.PlainJSON(line))
			} else {
				report.Answer(a.voice, l, answer, f.all)
				a.voice.Gap()
			}
			if err := a.voice.Flush(); err != nil {
				return err
			}
		}
	}
}
