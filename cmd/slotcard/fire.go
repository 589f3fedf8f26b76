package main

import (
	"path/filepath"

	"github.com/spf13/cobra"

	"slotcard/cmd/internal/files"
	"slotcard/cmd/internal/report"
	"slotcard/cmd/internal/voice"
	"slotcard/plan/rules"
)

func init() { registerCommand(45, (*app).fireCommand) }

func (a *app) fireCommand() *cobra.Command {
	var asJSON bool
	cmd := &cobra.Command{
		Use:   "fire PLAN",
		Short: "says who works where around the fire, and what each division talks on and hears",
		Long: `fire says what the sheet of print --fire shows, as text: the slots that are for
everybody, then each division in order around the fire, with its supervisor, what it
talks on, what at least one of its seats hears, what it stands beside, and its units;
then the third-order products and the channels too close to each other that the rules
name.

Exit status: 0 fine, 2 a file that cannot be read, or a plan with errors.

--json prints one document:
  {"file", "incident", "number", "period", "revision", "exercise",
   "common":    [{"position": 1, "name": "...", "use": "command"}],
   "divisions": [{"id", "name", "functional", "supervisor", "beside": ["B"],
                  "talks": [{"position", "name", "use"}], "hears": [...],
                  "units": ["..."]}],
   "disturbs":  [{"rule": "intermodulation", "from": ["..."], "onto": "..."}]}
Units that have no division come last, without "id". A position that differs
between lists is left out, as are fields that would be empty.`,
		Example: `  slotcard fire plan.toml
  slotcard print plan.toml --fire=lines`,
		Args: func(cmd *cobra.Command, args []string) error {
			if len(args) == 0 {
				return usagef("name a plan, such as: slotcard fire %s", likelyPlan())
			}
			return atMost(1, "one plan")(cmd, args)
		},
		RunE:              func(_ *cobra.Command, args []string) error { return a.runFire(filepath.Clean(args[0]), asJSON) },
		ValidArgsFunction: tomlArgs,
	}
	cmd.Flags().BoolVar(&asJSON, "json", false, "print one JSON document and nothing else")
	return cmd
}

func (a *app) runFire(name string, asJSON bool) error {
	r, found, err := a.planFor("fire", name)
	if err != nil {
		return err
	}
	if r == nil || found.HasErrors() {
		return files.Fail(name, "has "+report.Tally(found)+"; to see them, type: slotcard check "+voice.Typed(name), nil)
	}
	troubles := rules.Troubles(r, found)
	if asJSON {
		doc := report.FireDocument{File: name}
		doc.Fill(r, troubles)
		return a.voice.JSON(doc)
	}
	report.Fire(a.voice, r, troubles)
	return nil
}
