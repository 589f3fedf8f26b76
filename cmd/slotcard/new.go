package main

import (
	_ "embed"
	"path/filepath"

	"github.com/spf13/cobra"

	"slotcard/cmd/internal/publish"
	"slotcard/cmd/internal/voice"
)

var (
	//go:embed starter/load.toml
	starterLoad []byte
	//go:embed starter/station.toml
	starterStation []byte
	//go:embed starter/plan.toml
	starterPlan []byte
)

func init() { registerCommand(10, (*app).newCommand) }

func (a *app) newCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "new DIR",
		Short: "writes a commented load, station and plan to start from",
		Long: `new writes load.toml, station.toml and plan.toml into the folder DIR, which is
made where it is missing. Every line of them says what belongs there; the plan is an exercise
until you say otherwise. Files that are there are never overwritten.`,
		Example: `  slotcard new fire`,
		Args: func(cmd *cobra.Command, args []string) error {
			if len(args) == 0 {
				return usagef("name the folder for load, station and plan, such as: slotcard new fire")
			}
			return atMost(1, "one folder")(cmd, args)
		},
		RunE: func(cmd *cobra.Command, args []string) error { return a.runNew(cmd, args[0]) },
		ValidArgsFunction: func(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective) {
			return nil, cobra.ShellCompDirectiveFilterDirs
		},
	}
}

func (a *app) runNew(cmd *cobra.Command, dir string) error {
	if dir == "" {
		return usagef("the name of the folder is empty")
	}
	outs := []publish.File{{Name: "load.toml", Data: starterLoad}, {Name: "station.toml", Data: starterStation}, {Name: "plan.toml", Data: starterPlan}}
	if err := publish.All(cmd.Context(), dir, outs, publish.Nothing); err != nil {
		return err
	}
	load, station, plan := filepath.Join(dir, "load.toml"), filepath.Join(dir, "station.toml"), filepath.Join(dir, "plan.toml")
	a.voice.Tell("%s: the channels in your radios; put your own in", load)
	a.voice.Tell("%s: your units, who sits in them, and how to print", station)
	a.voice.Tell("%s: the incident's list and divisions", plan)
	a.voice.Tell("next, type: slotcard check %s", voice.Typed(plan))
	return nil
}
