package main

import (
	"bytes"
	"context"
	"errors"
	"io/fs"
	"path/filepath"
	"time"

	"github.com/spf13/cobra"

	"slotcard/cmd/internal/files"
	"slotcard/cmd/internal/papers"
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
	next, err := a.succeed(ctx, name, out, force, "periods", successor.Next)
	if err != nil || out == "" {
		return err
	}
	a.voice.Tell("%s: period %d, from %s to %s", voice.Name(out), next.Period, successor.Minute(next.From), successor.Minute(next.To))
	if !next.PreparedAt.IsZero() {
		a.voice.Tell("prepared_at is moved as well, to %s: write when it was prepared", next.PreparedAt.Format(time.RFC3339))
	}
	a.voice.Tell("change what is new, then type: slotcard check %s", voice.Typed(out))
	if name != files.Stdin {
		a.voice.Tell("print it with --since %s: so cards keep their numbers, and say what changes", voice.Typed(name))
	}
	return nil
}

// maker makes a plan of another one.
type maker func(name string, text []byte, paths successor.Paths) ([]byte, *plan.Incident, error)

// succeed writes the plan that follows another one to out, or to standard output
// where that is ""; parts are what a load does not have.
func (a *app) succeed(ctx context.Context, name, out string, force bool, parts string, make maker) (*plan.Incident, error) {
	name, err := papers.Attached(a.reader, name)
	if err != nil {
		return nil, err
	}
	if name != files.Stdin {
		name = filepath.Clean(name)
	}
	if out != "" {
		if err := draftTarget(out, force, name); err != nil {
			return nil, err
		}
	}
	data, err := a.reader.ReadFile(name)
	if err != nil {
		return nil, err
	}
	if plan.IsLoad(data) {
		return nil, files.Fail(name, "is a load; a load has no "+parts+": name a plan", nil)
	}
	paths, err := pathsFrom(out, name, data)
	if a.reader.Pack(name) != "" && err == nil && out != "" { // they are written beside the plan
		paths = successor.Paths{}
		for i, f := range beside(name, data) {
			if f != "" {
				*[]*string{&paths.Load, &paths.Base}[i] = filepath.Base(f)
			}
		}
	}
	if err != nil {
		return nil, err
	}
	text, next, err := make(name, data, paths)
	if err != nil {
		if usage := (*voice.UsageError)(nil); errors.As(err, &usage) || errors.Is(err, context.Canceled) {
			return nil, err
		}
		return nil, files.Fail(name, err.Error(), err)
	}
	if out == "" {
		a.voice.Raw("%s", text)
		return next, a.voice.Flush()
	}
	over := publish.Nothing
	if force {
		over = publish.Any
	}
	dir, base := filepath.Split(out)
	dir = filepath.Clean(dir + ".")
	if a.reader.Pack(name) == "" {
		return next, publish.All(ctx, dir, []publish.File{{Name: base, Data: text}}, over)
	}
	written := []publish.File{{Name: base, Data: text}}
	for _, f := range beside(name, data) {
		if f == "" {
			continue
		}
		file := publish.File{Name: filepath.Base(f), Data: a.reader.Held(f)}
		target := filepath.Join(dir, file.Name)
		switch there, err := files.ReadRegular(target, files.MaxTOML); {
		case errors.Is(err, fs.ErrNotExist) && !files.IsThere(target):
			written = append(written, file)
		case err != nil:
			return nil, err
		case !bytes.Equal(there, file.Data):
			return nil, files.Fail(target, "is another one than is attached to "+voice.Name(a.reader.Pack(name))+"; write the plan into another folder", nil)
		}
	}
	if err := publish.All(ctx, dir, written, over); err != nil {
		return nil, err
	}
	for _, f := range written[1:] {
		a.voice.Tell("%s: as attached to %s", voice.Name(filepath.Join(dir, f.Name)), voice.Name(a.reader.Pack(name)))
	}
	return next, nil
}

// beside are the load and the station file that a plan names; "" where it names none.
func beside(name string, data []byte) (all [2]string) {
	var p plan.Plan
	tomlfile.Decode(name, data, &p)
	for i, named := range []string{p.Load, p.Base} {
		if named != "" {
			all[i] = filepath.Join(filepath.Dir(name), filepath.FromSlash(named))
		}
	}
	return all
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
