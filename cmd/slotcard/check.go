package main

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"slices"

	"github.com/spf13/cobra"

	"slotcard/cmd/internal/files"
	"slotcard/cmd/internal/papers"
	"slotcard/cmd/internal/publish"
	"slotcard/cmd/internal/report"
	"slotcard/cmd/internal/voice"
	"slotcard/plan"
	"slotcard/plan/finding"
)

func init() { registerCommand(20, (*app).checkCommand) }

func (a *app) checkCommand() *cobra.Command {
	var as checkFlags
	cmd := &cobra.Command{
		Use:   "check FILE...",
		Short: "checks plans and loads, and says what is wrong, where, and what to do",
		Long: `check reads plans, loads and station files and prints everything that is wrong
with them, in the order of the file, with line and column. A folder stands for all
.toml files in it, - for standard input.

On a terminal each finding also shows the line it is about and what to do.
Severities: an error stops printing; look at each warning; advice you could
follow; a note is an exception that somebody answers for.

Exit status: 0 fine, 1 errors found, 2 a file that cannot be read.

--suggest proposes tacticals for divisions that lack one or clash with a
neighbor: direct channels of the load that are not in use and overlap with
nothing nearby, with the fewest third-order products in the list. It knows nothing
of licenses or other incidents: whoever answers for the plan decides.

--against compares a load with the agency's channel list, as import reads it,
row by row: places, names, frequencies, tones, modes, widths, and uses where a
column has them. Remarks are not compared. A row that differs is an error.

--fix goes through the findings that an edit can fix: it shows the lines before and
after, and asks. y makes the change, a number chooses one of several, n skips it, q
stops; then the files are written, whole. Each change has been tried: the finding
goes away, and no other takes its place. What a person must decide is never offered:
command, air-to-ground, medical and guard channels, one of several frequencies, the
name of a channel on a radio. Without a terminal, it prints the changes as a unified
diff and writes nothing.

--json prints one document:
  {"findings": [{"rule": "...", "severity": "error", "place": {"file": "...",
                 "line": 1, "column": 1}, "message": "...", "subject": "...",
                 "value": "...", "help": ["..."], "details": ["..."],
                 "related": [{"place": {}, "message": "..."}], "edits": [{"title": "...", "changes":
                 [{"file": "...", "from": {"line": 1, "column": 1, "offset": 0},
                 "to": {}, "old": "...", "new": "..."}], "choose": false,
                 "by_hand": false}], "data": {}}],
   "counts":   {"error": 1, "warning": 0, "advice": 0, "note": 0},
   "files":    [{"file": "...", "kind": "plan"}],
   "strict":   false,
   "suggestions": [{"file": "...", "divisions": [{"division": "M", "functional":
                 false, "why": "has no tactical", "channel": "...", "group": 1,
                 "number": 6, "rx_hz": 154950000, "replaces": "...", "in_plan":
                 false, "third_order": 0}], "third_order_before": 0,
                 "third_order_after": 0, "proven": true, "toml": "..."}]}
An edit is one way to fix the finding: all its changes together; columns count
characters, offsets bytes. "choose" says that there are several ways, "by_hand" that
a person must decide. A file that cannot be read has "problem" in place of "kind".
Fields that would be empty, from "subject" on and in "place", are left out.
"suggestions" is there with --suggest; "channel" and what follows from it only if one
fits, "problem" if the plan cannot be read.`,
		Example: `  slotcard check plan.toml
  slotcard check --strict plans/
  slotcard check --fix plan.toml
  slotcard check --suggest plan.toml
  slotcard check load.toml --against channels.xlsx`,
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) == 0 {
				return usagef("name the files to check, such as: slotcard check %s", likelyPlan())
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			if as.json && as.sarif {
				return usagef("--json and --sarif print different documents: choose one")
			}
			if as.suggest && as.sarif {
				return usagef("--sarif holds findings, not suggestions: with --suggest choose --json or neither")
			}
			if as.fix {
				if as.json || as.sarif || as.suggest || as.strict || len(as.against) > 0 {
					return usagef("--fix asks about one change after another and takes no other flags; --json has the edits of each finding")
				}
				return a.runFix(cmd.Context(), args)
			}
			return a.runCheck(cmd.Context(), args, as, a.depth(cmd))
		},
		ValidArgsFunction: tomlArgs,
	}
	cmd.Flags().BoolVar(&as.json, "json", false, "print one JSON document and nothing else")
	cmd.Flags().BoolVar(&as.sarif, "sarif", false, "print a SARIF 2.1.0 log, for a code host that shows findings at their lines")
	cmd.Flags().BoolVar(&as.suggest, "suggest", false, "propose tacticals for divisions that lack one or clash with a neighbor")
	cmd.Flags().StringArrayVar(&as.against, "against", nil, "compare a load row by row with the agency's channel list in `SHEET`;\nsites and tones may be in further sheets")
	cmd.Flags().BoolVar(&as.fix, "fix", false, "ask about each change that fixes a finding, and write the files")
	addFindingFlags(cmd, &as.strict)
	return cmd
}

// checkFlags are the flags of check but for --long.
type checkFlags struct {
	json, sarif, suggest, strict, fix bool
	against                           []string
}

// addFindingFlags adds the flags of commands that print findings.
func addFindingFlags(cmd *cobra.Command, strict *bool) {
	cmd.Flags().Bool("long", false, "show each finding with its line, what to do, and all details;\na terminal shows all but the details anyway; --long=false shows one line each")
	cmd.Flags().BoolVar(strict, "strict", false, "make every warning an error")
}

// likelyPlan is the plan that stands in the folder where somebody types.
func likelyPlan() string {
	names, err := filepath.Glob("*.toml")
	if err != nil || slices.Contains(names, "plan.toml") {
		return "plan.toml"
	}
	for _, n := range names {
		if data, err := files.ReadRegular(n, files.MaxTOML); err == nil && plan.KindOf(data) == plan.PlanFile {
			return voice.Typed(n)
		}
	}
	return "plan.toml"
}

func (a *app) runCheck(ctx context.Context, args []string, as checkFlags, d report.Depth) error {
	names, unreadable := expand(args)
	c := checked{names: names, unreadable: unreadable, looked: []report.CheckedFile{}}
	if as.suggest {
		c.suggestions = []report.Suggestion{}
	}
	for _, err := range unreadable {
		var f *files.Error
		if errors.As(err, &f) {
			c.looked = append(c.looked, report.CheckedFile{File: f.Name, Problem: f.Problem})
		}
	}
	for _, name := range names {
		if err := a.checkFile(ctx, &c, name, as); err != nil {
			return err
		}
	}
	c.found.Group()
	if as.strict {
		c.found = report.Strictly(c.found)
	}
	c.found.Sort()
	if err := a.tellChecked(&c, as, d); err != nil {
		return err
	}
	switch {
	case len(c.unreadable) > 0:
		return errTold
	case c.found.HasErrors():
		return errFindings
	}
	return nil
}

// checked is what came of the files that were checked.
type checked struct {
	names       []string
	found       finding.List
	looked      []report.CheckedFile
	suggestions []report.Suggestion // nil where none were asked for
	unreadable  []error
}

// checkFile checks one file. An error ends the run: the file is not what a flag takes.
func (a *app) checkFile(ctx context.Context, c *checked, name string, as checkFlags) error {
	kind, r, found, err := papers.Check(a.reader, name)
	if errors.Is(err, context.Canceled) {
		return err
	}
	if len(as.against) > 0 && err == nil {
		if kind != "load" {
			return usagef("--against is for a load, and %s is none", voice.Typed(name))
		}
		differ, err := a.against(ctx, name, as.against)
		if err != nil {
			return err
		}
		found.Add(differ...)
	}
	f := report.CheckedFile{File: name, Kind: kind}
	if err != nil {
		c.unreadable = append(c.unreadable, err)
		f.Kind, f.Problem = "", err.Error()
		var file *files.Error
		if errors.As(err, &file) {
			f.Problem = file.Problem
		}
	}
	c.looked = append(c.looked, f)
	c.found.Add(found...)
	if as.suggest && f.Kind == "plan" {
		c.suggestions = append(c.suggestions, report.Suggest(name, r))
	}
	return nil
}

// tellChecked says what was found, as a document or as text.
func (a *app) tellChecked(c *checked, as checkFlags, d report.Depth) error {
	switch {
	case as.sarif:
		if err := a.voice.JSON(report.SARIF(c.found, c.unreadable)); err != nil {
			return err
		}
	case as.json:
		r := report.CheckDocument{Findings: append(finding.List{}, c.found...), Counts: report.Counts(c.found), Files: c.looked, Strict: as.strict, Suggestions: c.suggestions}
		if err := a.voice.JSON(r); err != nil {
			return err
		}
	default:
		report.Findings(a.voice, c.found, d)
		for _, s := range c.suggestions {
			report.SuggestionText(a.voice, s)
		}
		if err := a.voice.Flush(); err != nil {
			return err
		}
	}
	for _, err := range c.unreadable {
		a.voice.Complain(err)
	}
	if read := len(c.looked) - countProblems(c.looked); read > 0 && !as.json && !as.sarif {
		report.HowToGetHelp(a.voice, c.found, d, c.names)
		report.Accepted(a.voice, c.found, d)
		if as.suggest && len(c.suggestions) == 0 {
			a.voice.Tell("nothing to suggest: --suggest is for plans, and none was checked")
		}
		for _, f := range c.looked {
			if f.Kind == "plan" {
				a.tellMixed(filepath.Join(filepath.Dir(f.File), "out"))
			}
		}
		a.voice.Tell("%s checked: %s", voice.Count(read, "file", "files"), report.Tally(c.found))
	}
	return nil
}

// tellMixed says where the papers in a folder are not of one print.
func (a *app) tellMixed(dir string) {
	if mixed := publish.Look(dir).Mixed(); mixed != "" {
		a.voice.Tell("slotcard: %s %s; print all papers again, and remove what is not written then", voice.Name(dir), mixed)
	}
}

// expand turns arguments into files: a folder stands for the .toml files in it.
// A file that is named twice is checked once.
func expand(args []string) (names []string, errs []error) {
	for _, arg := range args {
		more := []string{filepath.Clean(arg)}
		if info, err := os.Stat(arg); err == nil && info.IsDir() {
			if more, err = files.TOML(filepath.Clean(arg)); err != nil {
				errs = append(errs, err)
				continue
			}
		}
		for _, n := range more {
			if !slices.Contains(names, n) {
				names = append(names, n)
			}
		}
	}
	return names, errs
}

// open reads and checks a plan. An error is one about a file that it names.
func (a *app) open(name string) (*plan.Resolved, finding.List, error) {
	return papers.Open(a.reader, name)
}

func (a *app) planOptions() plan.Options {
	return papers.Options(a.reader)
}

func countProblems(looked []report.CheckedFile) (n int) {
	for _, f := range looked {
		if f.Problem != "" {
			n++
		}
	}
	return n
}
