package main

import (
	"context"
	"path/filepath"
	"time"

	"github.com/spf13/cobra"

	"slotcard/cmd/internal/files"
	"slotcard/cmd/internal/publish"
	"slotcard/cmd/internal/voice"
	"slotcard/plan"
	"slotcard/plan/successor"
	"slotcard/plan/tomlfile"
)

func init() { registerCommand(17, (*app).nextCommand) }

func (a *app) nextCommand() *cobra.Command {
	var out string
	var force bool
	cmd := &cobra.Command{
		Use:   "next PLAN",
		Short: "makes the same plan for the next operational period",
		Long: `next makes the plan of the next operational period: the period's number is one
higher, its start, end and time of preparation are later by the length of the
period, and it is no revision. Everything else stays as it is written, comments
too. In another folder it names the same load and station file.`,
		Example: `  slotcard next plan.toml -o period-3.toml`,
		Args: func(cmd *cobra.Command, args []string) error {
			if len(args) == 0 {
				return usagef("name the plan, such as: slotcard next %s -o next.toml", likelyPlan())
			}
			return atMost(1, "one plan")(cmd, args)
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			return a.runNext(cmd.Context(), args[0], out, force)
		},
		ValidArgsFunction: tomlArgs,
	}
	cmd.Flags().StringVarP(&out, "out", "o", "", "write the plan to `FILE`")
	cmd.Flags().BoolVar(&force, "force", false, "overwrite the file")
	return cmd
}

func (a *app) runNext(ctx context.Context, name, out string, force bool) error {
	if name != files.Stdin {
		name = filepath.Clean(name)
	}
	if out != "" {
		if err := draftTarget(out, force, name); err != nil {
			return err
		}
	}
	data, err := a.reader.ReadFile(name)
	if err != nil {
		return err
	}
	if plan.IsLoad(data) {
		return files.Fail(name, "is a load; a load has no periods", nil)
	}
	paths, err := pathsFrom(out, name, data)
	if err != nil {
		return err
	}
	text, next, err := successor.Next(name, data, paths)
	if err != nil {
		return files.Fail(name, err.Error(), err)
	}
	if out == "" {
		a.voice.Raw("%s", text)
		return a.voice.Flush()
	}
	over := publish.Nothing
	if force {
		over = publish.Any
	}
	dir, base := filepath.Split(out)
	if err := publish.All(ctx, filepath.Clean(dir+"."), []publish.File{{Name: base, Data: text}}, over); err != nil {
		return err
	}
	const form = "2006-01-02 15:04 -07:00"
	a.voice.Tell("%s: period %d, from %s to %s", out, next.Period, next.From.Format(form), next.To.Format(form))
	if !next.PreparedAt.IsZero() {
		a.voice.Tell("prepared_at is moved as well, to %s: write when it was prepared", next.PreparedAt.Format(time.RFC3339))
	}
	a.voice.Tell("change what is new, then type: slotcard check %s", voice.Typed(out))
	return nil
}

// pathsFrom are the load and the station file as a plan written to out names them:
// in the folder of the plan that they stand in, they keep their names.
func pathsFrom(out, name string, data []byte) (successor.Paths, error) {
	var paths successor.Paths
	if out == "" || name == files.Stdin || filepath.Dir(out) == filepath.Dir(name) {
		return paths, nil
	}
	var p plan.Plan
	tomlfile.Decode(name, data, &p)
	for _, f := range []struct {
		written string
		to      *string
	}{{p.Load, &paths.Load}, {p.Base, &paths.Base}} {
		if f.written == "" || filepath.IsAbs(f.written) {
			continue
		}
		path, err := pathFrom(out, filepath.Join(filepath.Dir(name), filepath.FromSlash(f.written)))
		if err != nil {
			return paths, err
		}
		*f.to = path
	}
	return paths, nil
}
