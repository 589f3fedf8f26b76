package main

import (
	"context"
	"time"

	"github.com/spf13/cobra"

	"slotcard/cmd/internal/files"
	"slotcard/cmd/internal/voice"
	"slotcard/plan"
	"slotcard/plan/successor"
)

func init() { registerCommand(18, (*app).reviseCommand) }

func (a *app) reviseCommand() *cobra.Command {
	var out, at string
	var force bool
	cmd := &cobra.Command{
		Use:   "revise PLAN",
		Short: "makes the next revision of a plan, for a change within its period",
		Long: `revise makes the next revision of a plan whose period has begun: revision is one
higher, 2 where there is none, and revised_at is the time of --at. Everything else
stays as it is written, comments too, and the old plan stays as it is: print
compares the two. In another folder it names the same load and station file.

--at is a time of day, which is taken in the period, past midnight, too, or a whole
time with its offset. Without it revise asks, where somebody sits at the keyboard.`,
		Example: `  slotcard revise plan.toml --at 13:05 -o plan-2.toml
  slotcard revise plan.toml --at 2027-08-14T13:05-06:00 -o plan-2.toml`,
		Args: func(cmd *cobra.Command, args []string) error {
			if len(args) == 0 {
				return usagef("name the plan, such as: slotcard revise %s --at 13:05 -o revised.toml", likelyPlan())
			}
			return atMost(1, "one plan")(cmd, args)
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			return a.runRevise(cmd.Context(), args[0], out, at, force)
		},
		ValidArgsFunction: tomlArgs,
	}
	cmd.Flags().StringVarP(&out, "out", "o", "", "write the plan to `FILE`")
	cmd.Flags().StringVar(&at, "at", "", "when it was revised: the `TIME` of day, or all of it with its offset")
	cmd.Flags().BoolVar(&force, "force", false, "overwrite the file")
	return cmd
}

func (a *app) runRevise(ctx context.Context, name, out, at string, force bool) error {
	next, err := a.succeed(ctx, name, out, force, "revisions", func(name string, text []byte, paths successor.Paths) ([]byte, *plan.Incident, error) {
		when, err := a.revisedAt(ctx, name, text, at)
		if err != nil {
			return nil, nil, err
		}
		return successor.Revise(name, text, paths, when)
	})
	if err != nil || out == "" {
		return err
	}
	a.voice.Tell("%s: revision %d of period %d, made at %s", voice.Name(out), next.Revision, next.Period, successor.Minute(next.RevisedAt))
	if name == files.Stdin {
		a.voice.Tell("change what is new, then type: slotcard print %s", voice.Typed(out))
		return nil
	}
	a.voice.Tell("change what is new, then type: slotcard print %s --since %s", voice.Typed(out), voice.Typed(name))
	return nil
}

// revisedAt is when a plan was revised: as a flag says it, or somebody who is asked.
func (a *app) revisedAt(ctx context.Context, name string, text []byte, at string) (time.Time, error) {
	from, to, err := successor.Period(name, text)
	if err != nil {
		return from, err
	}
	if at != "" {
		when, err := successor.At(at, from, to)
		if err != nil {
			return when, usagef("--at: %s", err)
		}
		return when, nil
	}
	if keyboard := a.asker(ctx); keyboard != nil {
		return keyboard.revisedAt(time.Now(), from, to)
	}
	return from, needsAt(from, to)
}

func needsAt(from, to time.Time) error {
	return usagef("say when the plan was revised, such as: --at %s", within(from, to))
}

// within is a time of day in a period, as somebody types it.
func within(from, to time.Time) string {
	return from.Add(to.Sub(from) / 2).Truncate(time.Minute).Format("15:04")
}

// revisedAt asks when a plan was revised. The clock is proposed where it stands
// within the period, and is never taken unasked: that of a computer in a tent may be
// wrong.
func (k *asker) revisedAt(now, from, to time.Time) (time.Time, error) {
	now = now.In(from.Location()).Truncate(time.Minute)
	inPeriod := !now.Before(from) && !now.After(to)
	question := "when was the plan revised, such as " + within(from, to) + "?"
	if inPeriod {
		question = "when was the plan revised? " + now.Format("15:04") + " (or nothing):"
	}
	when := now
	word, err := k.until(question, func(word string) (err error) {
		when, err = successor.At(word, from, to)
		return err
	})
	if err == nil && word == "" {
		if when = now; !inPeriod {
			err = needsAt(from, to)
		}
	}
	return when, err
}
