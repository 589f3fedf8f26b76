package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strconv"

	"github.com/spf13/cobra"

	"slotcard/cmd/internal/files"
	"slotcard/cmd/internal/publish"
	"slotcard/cmd/internal/report"
	"slotcard/cmd/internal/voice"
	"slotcard/plan"
	plansheet "slotcard/plan/sheet"
)

// draftFlags are the flags of draft.
type draftFlags struct {
	out   string
	force bool

	name, number         string
	period               int
	from, to, preparedAt string
	preparedBy, offset   string
	exercise, aircraft   bool
}

func init() { registerCommand(60, (*app).draftCommand) }

func (a *app) draftCommand() *cobra.Command {
	var f draftFlags
	cmd := &cobra.Command{
		Use:   "draft LOAD SHEET.csv",
		Short: "turns a communications plan sheet into a plan",
		Long: `draft reads a communications plan sheet (form ICS 205) saved as CSV, looks every
row up in the load, and prints a plan, or writes it with -o. Titles are those of
the form's block 4, in any order, case and spelling of spaces; of the columns

  Zone Grp. | Ch # | Function | Channel Name | Assignment | RX Freq N or W |
  RX Tone/NAC | TX Freq N or W | TX Tone/NAC | Mode (A, D, or M) | Remarks

Channel Name or RX Freq, and one more, is enough. Comma, semicolon or tab;
UTF-8, UTF-16 or Windows-1252. Lines above the titles may say Incident Name,
Operational Period, Date/Time Prepared, Prepared By and, with id and name,
Division; flags win.

Nothing is guessed in silence. What a person must decide says DECIDE in the
draft, with what there is to choose from, and slotcard check points at it: a
channel that is not in the load, several that fit, a tone that differs, a
repeater that is not chosen, what the sheet does not say about the incident.

Exit status: 0 drafted, even where something is to be decided, 1 a load with
errors, 2 wrong usage or a file that cannot be read or written.`,
		Example: `  slotcard draft load.toml sheet.csv -o plan.toml
  slotcard draft load.toml sheet.csv --incident "Thimble Gulch" --period 2 --offset -06:00 \
    --from "08/14/2027 06:00" --to "08/14/2027 18:00"`,
		Args: func(_ *cobra.Command, args []string) error {
			switch {
			case len(args) < 2:
				return usagef("name the load and the sheet, such as: slotcard draft load.toml sheet.csv -o plan.toml")
			case len(args) > 2:
				return usagef("takes one load and one sheet; %s is one too many", voice.Typed(args[2]))
			case args[0] == files.Stdin && args[1] == files.Stdin:
				return usagef("load and sheet cannot both come on standard input")
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			o, err := f.options(cmd)
			if err != nil {
				return err
			}
			return a.runDraft(cmd.Context(), args[0], args[1], f, o)
		},
		ValidArgsFunction: func(_ *cobra.Command, args []string, _ string) ([]string, cobra.ShellCompDirective) {
			return []string{[]string{"toml", "csv", "none"}[min(len(args), 2)]}, cobra.ShellCompDirectiveFilterFileExt
		},
	}
	flags := cmd.Flags()
	flags.SortFlags = false
	flags.StringVarP(&f.out, "out", "o", "", "write the plan to `FILE`")
	flags.BoolVar(&f.force, "force", false, "overwrite the file")
	flags.StringVar(&f.name, "incident", "", "`NAME` of the incident")
	flags.StringVar(&f.number, "number", "", "`NUMBER` of the incident")
	flags.IntVar(&f.period, "period", 0, "`NUMBER` of the operational period")
	flags.StringVar(&f.from, "from", "", "its start, such as \"08/14/2027 06:00\" or 2027-08-14T06:00-06:00 (`TIME`)")
	flags.StringVar(&f.to, "to", "", "its end (`TIME`)")
	flags.StringVar(&f.offset, "offset", "", "`OFFSET` from UTC of times that have none, such as -06:00")
	flags.StringVar(&f.preparedBy, "prepared-by", "", "`NAME` and position of who prepared the plan")
	flags.StringVar(&f.preparedAt, "prepared-at", "", "when (`TIME`)")
	flags.BoolVar(&f.aircraft, "aircraft", false, "aircraft work the fire; --aircraft=false: they do not")
	flags.BoolVar(&f.exercise, "exercise", false, "an exercise: prints its mark everywhere")
	return cmd
}

// options checks the flags.
func (f draftFlags) options(cmd *cobra.Command) (plansheet.Options, error) {
	o := plansheet.Options{Name: f.name, Number: f.number, Period: f.period, From: f.from, To: f.to, PreparedAt: f.preparedAt, PreparedBy: f.preparedBy}
	if cmd.Flags().Changed("period") && (f.period < 1 || f.period > 9999) {
		return o, usagef("flag --period cannot be %s", strconv.Itoa(f.period))
	}
	if f.offset != "" {
		offset, ok := plansheet.ParseOffset(f.offset)
		if !ok {
			return o, usagef("flag --offset cannot be %q; write it such as -06:00", f.offset)
		}
		o.Offset = offset
	}
	for _, t := range []struct{ flag, value string }{{"from", f.from}, {"to", f.to}, {"prepared-at", f.preparedAt}} {
		if t.value != "" && !plansheet.ValidMoment(t.value) {
			return o, usagef("flag --%s cannot be %q; write date and time, such as \"08/14/2027 06:00\" or 2027-08-14T06:00-06:00", t.flag, t.value)
		}
	}
	if cmd.Flags().Changed("exercise") {
		o.Exercise = &f.exercise
	}
	if cmd.Flags().Changed("aircraft") {
		o.Aircraft = &f.aircraft
	}
	return o, nil
}

func (a *app) runDraft(ctx context.Context, loadName, sheetName string, f draftFlags, o plansheet.Options) error {
	for _, name := range []*string{&loadName, &sheetName} {
		if *name != files.Stdin {
			*name = filepath.Clean(*name)
		}
	}
	if f.out != "" {
		if err := draftTarget(f.out, f.force, loadName, sheetName); err != nil {
			return err
		}
	}
	data, err := a.reader.ReadFile(sheetName)
	if err != nil {
		return err
	}
	if plan.IsLoad(data) {
		return usagef("%s is a load, and the load comes first; type: slotcard draft %s %s", sheetName, voice.Typed(sheetName), voice.Typed(loadName))
	}
	l, err := a.soundLoad(loadName)
	if err != nil {
		return err
	}
	s, err := plansheet.Read(data)
	if err != nil {
		return files.Fail(sheetName, err.Error(), err)
	}
	if o.LoadPath, err = pathFrom(f.out, loadName); err != nil {
		return err
	}
	if o.Source = filepath.Base(sheetName); sheetName == files.Stdin {
		o.Source = ""
	}
	d := s.Draft(l, o)

	if f.out == "" {
		a.voice.Raw("%s", d.TOML)
		if err := a.voice.Flush(); err != nil {
			return err
		}
	} else {
		over := publish.Nothing
		if f.force {
			over = publish.Any
		}
		dir, base := filepath.Split(f.out)
		if err := publish.All(ctx, filepath.Clean(dir+"."), []publish.File{{Name: base, Data: d.TOML}}, over); err != nil {
			return err
		}
	}
	a.tellDraft(f.out, d)
	return nil
}

// tellDraft says what is left to decide.
func (a *app) tellDraft(out string, d *plansheet.Draft) {
	where := ""
	if out != "" {
		where = out + ": "
	}
	rows := map[int]bool{}
	for _, o := range d.Open {
		if o.Row > 0 {
			rows[o.Row] = true
		}
	}
	for _, o := range d.Open {
		at := o.Where
		if o.Row > 0 {
			at = fmt.Sprintf("%s, line %d of the sheet", o.Where, o.Row)
		}
		a.voice.Tell("to decide, line %d: %s: %s", o.Line, at, o.What)
	}
	switch {
	case len(d.Open) == 0:
		a.voice.Tell("%s%s, nothing left to decide", where, voice.Count(d.Slots, "slot", "slots"))
	default:
		a.voice.Tell("%s%s, %s to decide", where, voice.Count(d.Slots, "slot", "slots"), voice.Count(len(d.Open), "thing", "things"))
	}
	if out != "" {
		a.voice.Tell("compare it with the sheet, then type: slotcard check %s", voice.Typed(out))
	}
}

// soundLoad reads a load without errors: in one with errors a channel may seem
// not to be there.
func (a *app) soundLoad(name string) (*plan.Load, error) {
	l, found, err := plan.ReadLoad(name, a.planOptions())
	if err != nil || slices.ContainsFunc(found, isWrongFile) {
		_, err = a.load(name)
		return nil, err
	}
	if found.HasErrors() {
		report.Findings(a.voice, found, report.Brief)
		if err := a.voice.Flush(); err != nil {
			return nil, err
		}
		a.voice.Tell("nothing drafted: the load has %s", report.Tally(found))
		return nil, errFindings
	}
	return l, nil
}

// draftTarget tells whether the plan may be written.
func draftTarget(out string, force bool, inputs ...string) error {
	info, err := os.Lstat(out)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil
	case err != nil:
		return files.Fail(out, voice.Reason(err), err)
	case info.IsDir():
		return files.Fail(out, "is a folder; name the file, such as: -o "+voice.Typed(filepath.Join(out, "plan.toml")), nil)
	case !info.Mode().IsRegular():
		return files.Fail(out, "is not a regular file", nil)
	}
	for _, in := range inputs {
		if other, err := os.Stat(in); err == nil && os.SameFile(info, other) {
			return files.Fail(out, "is what the draft is made from; name another file with -o", nil)
		}
	}
	if !force {
		return files.Fail(out, "is already there; --force overwrites it, -o names another file", nil)
	}
	return nil
}

// pathFrom is how a plan that is written to out, or into this folder, names the
// load.
func pathFrom(out, load string) (string, error) {
	if load == files.Stdin {
		return "load.toml", nil
	}
	dir, err := filepath.Abs(filepath.Dir(out))
	if err != nil {
		return "", err
	}
	target, err := filepath.Abs(load)
	if err != nil {
		return "", err
	}
	rel, err := filepath.Rel(dir, target)
	if err != nil {
		return "", files.Fail(load, "stands on another drive than the plan would; copy it beside the plan", err)
	}
	return filepath.ToSlash(rel), nil
}

// wallCSV is the file of print --csv.
const wallCSV = "wall.csv"

// sheetOf is the list of a plan as a plan sheet.
func sheetOf(r *plan.Resolved) ([]byte, error) {
	var b bytes.Buffer
	err := plansheet.Write(&b, r)
	return b.Bytes(), err
}
