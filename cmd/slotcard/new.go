package main

import (
	_ "embed"
	"path/filepath"
	"slices"

	"github.com/spf13/cobra"

	"slotcard/cmd/internal/files"
	"slotcard/cmd/internal/publish"
	"slotcard/cmd/internal/report"
	"slotcard/cmd/internal/voice"
	"slotcard/plan/rules"
	"slotcard/plan/schema"
	"slotcard/plan/starter"
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
	load := ""
	cmd := &cobra.Command{
		Use:   "new DIR",
		Short: "writes a commented load, station and plan to start from",
		Long: `new writes load.toml, station.toml and plan.toml into the folder DIR, which is
made where it is missing. Every line of them says what belongs there; the plan is
an exercise until you say otherwise. Files that are there are never overwritten. The
schemas of all three are written beside them: an editor that knows TOML then
completes keys, explains them, and underlines what is wrong.

--load names the load that is really in your radios: then the station and the plan
are of its command channels, sites and tacticals, and no load is written.`,
		Example: `  slotcard new fire
  slotcard new --load load.toml fire`,
		Args: func(cmd *cobra.Command, args []string) error {
			if len(args) == 0 {
				return usagef("name the folder for load, station and plan, such as: slotcard new fire")
			}
			return atMost(1, "one folder")(cmd, args)
		},
		RunE: func(cmd *cobra.Command, args []string) error { return a.runNew(cmd, args[0], load) },
		ValidArgsFunction: func(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective) {
			return nil, cobra.ShellCompDirectiveFilterDirs
		},
	}
	cmd.Flags().StringVar(&load, "load", "", "the `LOAD` that is in your radios")
	return cmd
}

func (a *app) runNew(cmd *cobra.Command, dir, load string) error {
	if dir == "" {
		return usagef("the name of the folder is empty")
	}
	if load != "" {
		return a.newFrom(cmd, dir, load)
	}
	outs := []publish.File{
		{Name: "load.toml", Data: starterLoad}, {Name: "station.toml", Data: starterStation}, {Name: "plan.toml", Data: starterPlan},
		// Named in the first lines of the others, so that editors find them.
		{Name: "load.schema.json", Data: schema.Load()}, stationSchema(), planSchema(),
	}
	if err := publish.All(cmd.Context(), dir, outs, publish.Nothing); err != nil {
		return err
	}
	station, plan := filepath.Join(dir, "station.toml"), filepath.Join(dir, "plan.toml")
	a.voice.Tell("%s: the channels in your radios; put your own in", voice.Name(filepath.Join(dir, "load.toml")))
	a.voice.Tell("%s: your units, who sits in them, and how to print", voice.Name(station))
	a.voice.Tell("%s: the incident's list and divisions", voice.Name(plan))
	a.voice.Tell("%s: for editors that know TOML, to complete keys and explain them", voice.Name(filepath.Join(dir, "*.schema.json")))
	a.voice.Tell("next, type: slotcard check %s", voice.Typed(plan))
	return nil
}

func stationSchema() publish.File {
	return publish.File{Name: "station.schema.json", Data: schema.Station()}
}

func planSchema() publish.File { return publish.File{Name: "plan.schema.json", Data: schema.Plan()} }

// newFrom writes a station and a plan of a load that is there.
func (a *app) newFrom(cmd *cobra.Command, dir, load string) error {
	if load == files.Stdin {
		return usagef("the plan has to name its load: give --load a file")
	}
	load = filepath.Clean(load)
	l, found, err := rules.OpenLoad(load, a.planOptions())
	if err != nil {
		return err
	}
	if slices.ContainsFunc(found, isWrongFile) {
		_, err = a.load(load)
		return err
	}
	if found.HasErrors() {
		return files.Fail(load, "has "+report.Tally(found)+"; to see them, type: slotcard check "+voice.Typed(load), nil)
	}
	data, err := a.reader.ReadFile(load)
	if err != nil {
		return err
	}
	name, err := pathFrom(filepath.Join(dir, "plan.toml"), load)
	if err != nil {
		return err
	}
	planText, stationText, err := starter.Write(starter.Templates{Plan: starterPlan, Station: starterStation}, l, data, name)
	if err != nil {
		return err
	}
	outs := []publish.File{{Name: "station.toml", Data: stationText}, {Name: "plan.toml", Data: planText}, stationSchema(), planSchema()}
	if err := publish.All(cmd.Context(), dir, outs, publish.Nothing); err != nil {
		return err
	}
	station, plan := filepath.Join(dir, "station.toml"), filepath.Join(dir, "plan.toml")
	a.voice.Tell("%s: your units, who sits in them, and how to print", voice.Name(station))
	a.voice.Tell("%s: the incident's list and divisions, of the channels of %s", voice.Name(plan), voice.Name(load))
	a.voice.Tell("next, type: slotcard check %s", voice.Typed(plan))
	return nil
}
