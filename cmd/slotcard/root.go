package main

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"maps"
	"os"
	"os/signal"
	"regexp"
	"runtime"
	"runtime/debug"
	"slices"
	"strings"
	"sync/atomic"
	"syscall"
	"time"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"slotcard/cmd/internal/files"
	"slotcard/cmd/internal/publish"
	"slotcard/cmd/internal/report"
	"slotcard/cmd/internal/voice"
)

// Exit status, as README.md promises it to scripts.
const (
	exitFine     = 0 // warnings allowed
	exitFindings = 1 // findings of severity error, or a list that differs
	exitUsage    = 2 // wrong usage, or a file that cannot be read or written
)

// errFindings ends a run whose findings are printed already.
var errFindings = errors.New("findings of severity error")

// errTold ends a run whose trouble has been told already.
var errTold = errors.New("told")

// usagef is a command line that cannot be meant.
func usagef(format string, args ...any) error { return voice.Usagef(format, args...) }

// run is the whole program but for the exit itself.
func run(args []string, stdin io.Reader, stdout, stderr io.Writer) int {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	context.AfterFunc(ctx, stop) // a second signal is obeyed at once
	return runContext(ctx, args, stdin, stdout, stderr)
}

// runContext is run with an interruption of the caller's.
func runContext(ctx context.Context, args []string, stdin io.Reader, stdout, stderr io.Writer) int {
	return runWith(ctx, files.NewReader(ctx, stdin), args, stdin, stdout, stderr)
}

// runWith is runContext with a reader of files, whose standard input is the same.
func runWith(ctx context.Context, reader *files.Reader, args []string, stdin io.Reader, stdout, stderr io.Writer) int {
	a := &app{voice: voice.New(stdout, stderr), reader: reader, stdout: stdout, stderr: stderr}
	root := a.root()
	if len(args) > 0 && args[0] == cobra.ShellCompRequestCmd {
		plainFlags(root)
	}
	root.SetArgs(withForms(args))
	root.SetIn(stdin)
	root.SetOut(a.voice.Out())
	root.SetErr(stderr)
	err := a.obeying(ctx, root)
	if errors.Is(err, errAbandoned) { // what it was at may still hold the voice
		a.voice.Tell("slotcard: interrupted; nothing was written")
		return exitUsage
	}
	if err != nil && !errors.Is(err, errTold) && !errors.Is(err, errFindings) && slices.Contains(args, "--json") && !a.voice.Answered() {
		// A script that asked for a document gets one, whatever happened.
		if e := a.voice.JSON(report.FailedDocument{Problems: report.Problems(err)}); e != nil {
			err = errors.Join(err, e)
		}
	}
	if e := a.voice.Flush(); e != nil && (err == nil || errors.Is(err, errFindings)) {
		err = e
	}
	switch {
	case err == nil:
		return exitFine
	case errors.Is(err, errFindings):
		return exitFindings
	case errors.Is(err, errTold):
	case errors.Is(err, context.Canceled):
		a.voice.Tell("slotcard: interrupted; nothing was written")
	default:
		a.voice.Complain(err)
	}
	return exitUsage
}

// errAbandoned ends a run that did not end by itself when it was interrupted: it reads
// a file that does not come, or is in the middle of work that does not ask.
var errAbandoned = errors.New("interrupted")

// grace is how long a command may take to end when it is interrupted, and graceToClose
// one that has a word to say then: who is missing at the check-in table.
var (
	grace        = 200 * time.Millisecond
	graceToClose = 5 * time.Second
)

// obeying runs the command, and leaves it alone where it does not hear that it is
// interrupted. Files that get their names at that moment are waited for.
func (a *app) obeying(ctx context.Context, root *cobra.Command) error {
	ended := make(chan error, 1)
	go func() { ended <- root.ExecuteContext(ctx) }()
	select {
	case err := <-ended:
		return err
	case <-ctx.Done():
	}
	wait := grace
	if a.closes.Load() {
		wait = graceToClose
	}
	for {
		select {
		case err := <-ended:
			return err
		case <-time.After(wait):
			if !publish.Placing() {
				return errAbandoned
			}
			wait = 10 * time.Millisecond
		}
	}
}

// app is what all commands share in one run.
type app struct {
	closes atomic.Bool // the command has a word to say when it is interrupted

	voice  *voice.Voice
	reader *files.Reader

	stdout, stderr io.Writer // only to be looked at: who speaks is the voice
}

// depth is how much of findings to show: all with --long, one line each in a
// pipe or with --long=false.
func (a *app) depth(cmd *cobra.Command) report.Depth {
	long, _ := cmd.Flags().GetBool("long")
	switch {
	case long:
		return report.WithAll
	case cmd.Flags().Changed("long") || !a.voice.Terminal():
		return report.Brief
	default:
		return report.WithHelp
	}
}

// commandMakers are the commands by their place in help, which is the order of the
// work.
var commandMakers = map[int]func(*app) *cobra.Command{}

// registerCommand adds a command; to be called from init, in the command's file.
func registerCommand(place int, make func(*app) *cobra.Command) {
	if commandMakers[place] != nil {
		panic(fmt.Sprintf("two commands at place %d", place))
	}
	commandMakers[place] = make
}

func (a *app) root() *cobra.Command {
	cobra.EnableCommandSorting = false // the order of the work
	cobra.MousetrapHelpText = ""       // a double-click opens the desk
	root := &cobra.Command{
		Use:   "slotcard",
		Short: "turns an incident's channel plan into pocket cards and a wall sheet",
		Long: `slotcard turns an incident's channel plan into pocket cards, a wall sheet and
hand-out sheets. It reads two files: the load, which lists the channels in the
radios, and the plan, which says which of them this incident uses. It refuses
to print a list that is dangerous to carry, and says why.

The approved communications plan of the incident decides; the card repeats it.`,
		Example: `  slotcard new fire                  a load and a plan to start from
  slotcard check fire/plan.toml      what is wrong, where, and what to do
  slotcard print fire/plan.toml      cards, wall sheet and hand-out sheets as PDF`,
		Version:       version(),
		SilenceUsage:  true,
		SilenceErrors: true,
		Args:          a.anyCommand,
		RunE: func(cmd *cobra.Command, _ []string) error {
			if doubleClicked(cmd.InOrStdin(), a.stdout, a.stderr) {
				return a.besideProgram(cmd.Context())
			}
			cmd.SetOut(a.voice.Err())
			if err := cmd.Help(); err != nil {
				return err
			}
			return errTold
		},
		CompletionOptions: cobra.CompletionOptions{DisableDefaultCmd: true},
	}
	root.SetVersionTemplate("slotcard {{.Version}}\n")
	root.SetFlagErrorFunc(flagError)
	root.SetUsageFunc(usage)
	for _, place := range slices.Sorted(maps.Keys(commandMakers)) {
		root.AddCommand(commandMakers[place](a))
	}
	root.SetHelpCommand(a.helpCommand(root))
	root.InitDefaultVersionFlag()
	root.Flags().Lookup("version").Usage = "print the version of slotcard"
	for _, c := range append(root.Commands(), root) {
		c.InitDefaultHelpFlag()
		c.Flags().Lookup("help").Usage = "print this help"
	}
	return root
}

// released and committed are the version and commit that a release was built with.
var released, committed string

// version is what --version says of this build: version, commit and Go release.
func version() string {
	release, commit, dirty := "unreleased", "unknown", ""
	info, ok := debug.ReadBuildInfo()
	if !ok {
		info = new(debug.BuildInfo)
	}
	if v := cmp.Or(released, info.Main.Version); v != "" && v != "(devel)" {
		release = v
	}
	for _, s := range info.Settings {
		switch s.Key {
		case "vcs.revision":
			commit = s.Value[:min(len(s.Value), 12)]
		case "vcs.modified":
			if s.Value == "true" {
				dirty = " and changes"
			}
		}
	}
	return fmt.Sprintf("%s (commit %s%s, %s)", release, cmp.Or(committed, commit), dirty, runtime.Version())
}

// anyCommand refuses what is not a command: with the closest one, or, where a
// file is named, with the line that was probably meant.
func (a *app) anyCommand(cmd *cobra.Command, args []string) error {
	if len(args) == 0 {
		return nil
	}
	word := args[0]
	if strings.HasSuffix(word, ".toml") {
		return usagef("%s is not a command; to check that file, type: slotcard check %s", word, voice.Typed(word))
	}
	return unknown("command", word, commandNames(cmd))
}

func commandNames(root *cobra.Command) []string {
	var names []string
	for _, c := range root.Commands() {
		if !c.Hidden {
			names = append(names, c.Name())
		}
	}
	return names
}

func (a *app) helpCommand(root *cobra.Command) *cobra.Command {
	return &cobra.Command{
		Use:   "help [COMMAND]",
		Short: "says how to use a command",
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) > 0 && !slices.Contains(commandNames(root), args[0]) {
				return unknown("command", args[0], commandNames(root))
			}
			return atMost(1, "one command")(nil, args)
		},
		RunE: func(_ *cobra.Command, args []string) error {
			c, _, err := root.Find(args)
			if err != nil {
				return err
			}
			return c.Help()
		},
		ValidArgsFunction: func(_ *cobra.Command, args []string, _ string) ([]string, cobra.ShellCompDirective) {
			if len(args) > 0 {
				return nil, cobra.ShellCompDirectiveNoFileComp
			}
			return commandNames(root), cobra.ShellCompDirectiveNoFileComp
		},
	}
}

// shells are those that completions can be written for.
var shells = []string{"bash", "zsh", "fish", "powershell"}

func init() { registerCommand(110, (*app).completionCommand) }

func (a *app) completionCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "completion SHELL",
		Short: "prints completions for your shell, so that the Tab key works",
		Long: `completion prints what a shell needs to complete the commands, flags, sizes and
file names of slotcard with the Tab key. SHELL is bash, zsh, fish or powershell;
bash needs the package bash-completion as well.`,
		Example:   `  source <(slotcard completion bash)`,
		ValidArgs: shells,
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) != 1 {
				return usagef("name one shell: %s", strings.Join(shells, ", "))
			}
			if !slices.Contains(shells, args[0]) {
				return unknown("shell", args[0], shells)
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			switch root := cmd.Root(); args[0] {
			case "bash":
				return root.GenBashCompletionV2(a.voice.Out(), true)
			case "zsh":
				return root.GenZshCompletion(a.voice.Out())
			case "fish":
				return root.GenFishCompletion(a.voice.Out(), true)
			default:
				return root.GenPowerShellCompletionWithDesc(a.voice.Out())
			}
		},
	}
}

// atMost refuses more than n arguments.
func atMost(n int, what string) cobra.PositionalArgs {
	return func(_ *cobra.Command, args []string) error {
		if len(args) > n {
			return usagef("takes %s; %s is one too many", what, voice.Typed(args[n]))
		}
		return nil
	}
}

// flagError says in our words what is wrong with a flag.
func flagError(cmd *cobra.Command, err error) error {
	var notThere *pflag.NotExistError
	var noValue *pflag.ValueRequiredError
	var badValue *pflag.InvalidValueError
	var badSyntax *pflag.InvalidSyntaxError
	switch {
	case errors.As(err, &notThere):
		var known []string
		cmd.Flags().VisitAll(func(f *pflag.Flag) {
			if !f.Hidden {
				known = append(known, f.Name)
			}
		})
		name := notThere.GetSpecifiedName()
		if group := notThere.GetSpecifiedShortnames(); group != "" {
			if c := voice.Closest(group, known); len(group) > 2 && c != "" {
				return usagef("unknown flag -%s; did you mean --%s?", group, c)
			}
			return usagef("unknown flag -%s; for the flags, type: %s --help", name, cmd.CommandPath())
		}
		if c := voice.Closest(name, known); c != "" {
			return usagef("unknown flag --%s; did you mean --%s?", name, c)
		}
		return usagef("unknown flag --%s; for the flags, type: %s --help", name, cmd.CommandPath())
	case errors.As(err, &noValue):
		f := noValue.GetFlag()
		what, _ := pflag.UnquoteUsage(f)
		return usagef("flag --%s needs a value: --%s %s", f.Name, f.Name, what)
	case errors.As(err, &badValue):
		f := badValue.GetFlag()
		if f.Value.Type() == "bool" {
			return usagef("flag --%s takes no value other than true or false, not %q", f.Name, badValue.GetValue())
		}
		return usagef("flag --%s cannot be %q; write a number, such as --%s 2", f.Name, badValue.GetValue(), f.Name)
	case errors.As(err, &badSyntax):
		return usagef("%s is not a flag; for the flags, type: %s --help", badSyntax.GetSpecifiedFlag(), cmd.CommandPath())
	}
	return usagef("%s", err)
}

// plainFlags takes the marks out of what flags say, and all but the first line:
// completions show it as it is.
func plainFlags(cmd *cobra.Command) {
	cmd.Flags().VisitAll(func(f *pflag.Flag) {
		f.Usage, _, _ = strings.Cut(strings.ReplaceAll(f.Usage, "`", ""), "\n")
	})
	for _, c := range cmd.Commands() {
		plainFlags(c)
	}
}

// completeFlag completes a flag from a fixed set of words.
func completeFlag(cmd *cobra.Command, flag string, words []string) {
	err := cmd.RegisterFlagCompletionFunc(flag, cobra.FixedCompletions(words, cobra.ShellCompDirectiveNoFileComp))
	if err != nil {
		panic(err) // a flag that this program does not define
	}
}

// tomlArgs completes arguments with the names of .toml files.
func tomlArgs(_ *cobra.Command, _ []string, _ string) ([]string, cobra.ShellCompDirective) {
	return []string{"toml"}, cobra.ShellCompDirectiveFilterFileExt
}

// unknown says that a word is none of those known, and which was meant.
func unknown(what, word string, known []string) error { return voice.Unknown(what, word, known) }

// optional is the value of a flag that may be left out, as pflag shows it.
var optional = regexp.MustCompile(` ([A-Z]+)\[="[^"]*"\]`)

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
		fmt.Fprintf(w, "\nflags:\n%s", optional.ReplaceAllStringFunc(c.LocalFlags().FlagUsages(), func(s string) string {
			form := optional.FindStringSubmatch(s)
			return fmt.Sprintf("%-*s", len(s), "[="+form[1]+"]")
		}))
	}
	return nil
}
