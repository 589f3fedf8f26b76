package main

import (
	"github.com/spf13/cobra"
	"strings"

	"slotcard/plan/schema"
)

// schemas are the files that have one.
var schemas = map[string]func() []byte{"plan": schema.Plan, "load": schema.Load, "station": schema.Station}

func init() { registerCommand(100, (*app).schemaCommand) }

func (a *app) schemaCommand() *cobra.Command {
	names := []string{"load", "plan", "station"}
	return &cobra.Command{
		Use:   "schema plan|load|station",
		Short: "prints the JSON Schema of a file, for editors",
		Long: `schema prints the JSON Schema (2020-12) of plan.toml, load.toml or station.toml. An
editor that knows TOML then completes keys, shows what they mean, and underlines
what is wrong while you type. It does not replace check, which knows the rules.

Name the schema in the first line of the file, as the examples do:
  #:schema plan.schema.json`,
		Example: `  slotcard schema plan > plan.schema.json
  slotcard schema load > load.schema.json
  slotcard schema station > station.schema.json`,
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) == 0 {
				return usagef("say which schema: slotcard schema plan, slotcard schema load, or slotcard schema station")
			}
			return atMost(1, "one schema")(nil, args)
		},
		RunE: func(_ *cobra.Command, args []string) error {
			print, ok := schemas[strings.ToLower(args[0])]
			if !ok {
				return usagef("there is no schema for %q: there is one for plan, load and station", args[0])
			}
			a.voice.Raw("%s", print())
			return nil
		},
		ValidArgs: names,
	}
}
