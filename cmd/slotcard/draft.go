package main

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"time"

	"github.com/spf13/cobra"

	"slotcard/cmd/internal/files"
	"slotcard/cmd/internal/publish"
	"slotcard/cmd/internal/report"
	"slotcard/cmd/internal/voice"
	"slotcard/plan"
	"slotcard/plan/cells"
	plansheet "slotcard/plan/sheet"
	"slotcard/plan/tomlfile"
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
	asJSON               bool
	keep, roster         string
}

func init() { registerCommand(60, (*app).draftCommand) }

func (a *app) draftCommand() *cobra.Command {
	var f draftFlags
	cmd := &cobra.Command{
		Use:   "draft LOAD SHEET",
		Short: "turns a communications plan sheet into a plan",
		Long: `draft reads a communications plan sheet (form ICS 205) as CSV, XLSX, ODS, PDF with
text or filled fields, or text as it is pasted ("-" is standard input), looks every
row up in the load, and prints a plan, or writes it with -o. The table is found
by what its cells hold: frequencies, tones, names of the load. Titles help, over
one to three rows, in any order and many wordings; those of the form's block 4 are

  Zone Grp. | Ch # | Function | Channel Name | Assignment | RX Freq N or W |
  RX Tone/NAC | TX Freq N or W | TX Tone/NAC | Mode (A, D, or M) | Remarks

Lines above and below the table may say Incident Name, Operational Period, Date/Time Prepared, Prepared By
and, with id and name, Division; flags win.

Nothing is guessed in silence. What a person must decide says DECIDE in the
draft, with what there is to choose from, and slotcard check points at it: a
channel that is not in the load, several that fit, a tone that differs, a
repeater that is not chosen, an assignment that is not understood, what was not
found about the incident. Nothing is lost in silence either: a cell that did not
become part of the plan is shown as not read, beside its row and here.

With --keep, what does not stand on a sheet comes from the plan of an earlier
period: a unit whose division is gone, and a division without a unit, are left to
decide. With --roster, the units come from a sheet.

Exit status: 0 drafted, even where something is to be decided, 1 a load with
errors, 2 wrong usage or a file that cannot be read or written.`,
		Example: `  slotcard draft load.toml sheet.csv -o plan.toml
  slotcard draft load.toml sheet.xlsx --keep period-2.toml -o period-3.toml
  slotcard draft load.toml - < pasted.txt
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
			return [][]string{{"toml"}, {"csv", "xlsx", "ods", "pdf", "txt"}, {"none"}}[min(len(args), 2)], cobra.ShellCompDirectiveFilterFileExt
		},
	}
	flags := cmd.Flags()
	flags.SortFlags = false
	flags.StringVarP(&f.out, "out", "o", "", "write the plan to `FILE`")
	flags.BoolVar(&f.force, "force", false, "overwrite the file")
	flags.StringVar(&f.name, "incident", "", "`NAME` of the incident")
	flags.StringVar(&f.number, "number", "", "`NUMBER` of the incident")
	flags.IntVar(&f.period, "period", 0, "`NUMBER` of the operational period")
	flags.StringVar(&f.from, "from", "", "`TIME` of its start, such as \"08/14/2027 06:00\" or 2027-08-14T06:00-06:00")
	flags.StringVar(&f.to, "to", "", "`TIME` of its end")
	flags.StringVar(&f.offset, "offset", "", "`OFFSET` from UTC of times that have none, such as -06:00")
	flags.StringVar(&f.preparedBy, "prepared-by", "", "`NAME` and position of who prepared the plan")
	flags.StringVar(&f.preparedAt, "prepared-at", "", "`TIME` when it was prepared")
	flags.BoolVar(&f.aircraft, "aircraft", false, "aircraft work the fire; --aircraft=false: they do not")
	flags.StringVar(&f.keep, "keep", "", "take units, positions, supervisors, card, coordinates and instructions from `PLAN`, of an earlier period")
	flags.StringVar(&f.roster, "roster", "", "take the units from `FILE`: a sheet with unit, kind, team, division, and a column for each position or one person a row")
	flags.BoolVar(&f.asJSON, "json", false, "print one JSON document and nothing else")
	flags.BoolVar(&f.exercise, "exercise", false, "an exercise: prints its mark everywhere")
	return cmd
}

// options checks the flags.
func (f draftFlags) options(cmd *cobra.Command) (plansheet.Options, error) {
	o := plansheet.Options{Name: f.name, Number: f.number, Period: f.period, From: f.from, To: f.to, PreparedAt: f.preparedAt, PreparedBy: f.preparedBy}
	if cmd.Flags().Changed("period") && (f.period < 1 || f.period > 9999) {
		return o, usagef("flag --period cannot be %d; write 1 to 9999, such as --period 2", f.period)
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
	data, err := a.readSheet(ctx, sheetName)
	if err != nil {
		if _, unread := a.reader.ReadFile(loadName); unread != nil {
			err = errors.Join(unread, err)
		}
		return err
	}
	if err := a.onlyASheet(loadName, sheetName, data); err != nil {
		return err
	}
	l, err := a.soundLoad(loadName)
	if err != nil {
		return err
	}
	s, err := plansheet.Read(data, sheetName, l)
	if err != nil {
		return files.Fail(sheetName, err.Error(), err)
	}
	if o.LoadPath, err = pathFrom(f.out, loadName); err != nil {
		return err
	}
	if o.Source = filepath.Base(sheetName); sheetName == files.Stdin {
		o.Source = ""
	}
	o.Local = time.Local
	if f.keep != "" {
		if err := a.keepFrom(&o, f); err != nil {
			return err
		}
	}
	if f.roster != "" {
		rows, err := files.ReadRegular(f.roster, cells.MaxFile)
		if err != nil {
			return err
		}
		if o.Roster, err = plansheet.ReadRoster(rows, f.roster); err != nil {
			return files.Fail(f.roster, err.Error(), err)
		}
		a.tellRoster(o.Roster, f.asJSON)
	}
	d := s.Draft(o)
	if err := d.TooLarge(); err != nil {
		return files.Fail(sheetName, err.Error(), err)
	}

	if f.out == "" && !f.asJSON {
		a.voice.Raw("%s", d.TOML)
		if err := a.voice.Flush(); err != nil {
			return err
		}
	} else if f.out != "" {
		over := publish.Nothing
		if f.force {
			over = publish.Any
		}
		dir, base := filepath.Split(f.out)
		if err := publish.All(ctx, filepath.Clean(dir+"."), []publish.File{{Name: base, Data: d.TOML}}, over); err != nil {
			return err
		}
	}
	if f.asJSON {
		return a.draftJSON(f.out, d, o.Roster)
	}
	a.tellDraft(f.out, d)
	return nil
}

// onlyASheet refuses a file of slotcard's own in place of a plan sheet.
func (a *app) onlyASheet(loadName, sheetName string, data []byte) error {
	switch kind, own := plan.OwnFile(sheetName, data); {
	case !own:
		return nil
	case kind != plan.LoadFile:
		return usagef("%s is a %s, not a plan sheet; for the plan of the next period, type: slotcard next PLAN; units of a plan are taken over with --keep PLAN", sheetName, kind)
	}
	other, err := a.reader.ReadFile(loadName)
	if _, own := plan.OwnFile(loadName, other); err != nil || own {
		return usagef("%s is a load, and the load comes first, then the sheet, such as: slotcard draft %s sheet.csv", sheetName, voice.Typed(sheetName))
	}
	return usagef("%s is a load, and the load comes first; type: slotcard draft %s %s", sheetName, voice.Typed(sheetName), voice.Typed(loadName))
}

// keepFrom reads the plan of an earlier period. It must be without errors of its
// own: what cannot be read cannot be taken over.
func (a *app) keepFrom(o *plansheet.Options, f draftFlags) error {
	data, err := a.reader.ReadFile(f.keep)
	if err != nil {
		return err
	}
	if plan.IsLoad(data) {
		return usagef("flag --keep takes a plan; %s is a load", voice.Typed(f.keep))
	}
	var old plan.Plan
	_, found := tomlfile.Decode(f.keep, data, &old)
	if found.HasErrors() {
		report.Findings(a.voice, found, report.Brief)
		if err := a.voice.Flush(); err != nil {
			return err
		}
		a.voice.Tell("nothing drafted: the old plan has %s", report.Tally(found))
		return errFindings
	}
	if old.Base != "" {
		if o.Base, err = pathFrom(f.out, filepath.Join(filepath.Dir(f.keep), filepath.FromSlash(old.Base))); err != nil {
			return err
		}
	}
	o.Keep, o.KeepSource = &old, filepath.Base(f.keep)
	return nil
}

// readSheet reads a file that may be a workbook; "-" is standard input.
func (a *app) readSheet(ctx context.Context, name string) ([]byte, error) {
	if name == files.Stdin {
		return files.ReadStdin(ctx, a.reader.Stdin(), cells.MaxFile)
	}
	return files.ReadRegular(name, cells.MaxFile)
}

// draftDoc is a draft as JSON.
type draftDoc struct {
	File    string       `json:"file,omitempty"` // where the plan was written
	TOML    string       `json:"toml,omitempty"` // the plan, where it was not
	Slots   int          `json:"slots"`
	Decide  []draftOpen  `json:"decide"`
	NotRead []draftCell  `json:"not_read"`
	Taken   []draftTaken `json:"taken"`
	Others  []string     `json:"sheets_not_read"`
	Roster  []draftCell  `json:"roster_not_read"`
	Rows    []draftRow   `json:"rows"`
}

// draftRow is a slot beside the line of the sheet that it came from.
type draftRow struct {
	Line   int             `json:"sheet_line"`
	Cells  []draftRead     `json:"cells"`
	Notes  []string        `json:"notes"`
	Decide []draftQuestion `json:"decide"`
}

type draftRead struct {
	draftCell
	Read bool `json:"read"`
}

type draftQuestion struct {
	What    string        `json:"what"`
	Choices []draftChoice `json:"choices"`
}

type draftChoice struct {
	Says     string `json:"says"`
	Place    string `json:"place,omitempty"` // of a channel to take, in the load
	Site     string `json:"site,omitempty"`
	Division bool   `json:"division,omitempty"` // about who uses the slot
}

type draftOpen struct {
	Line  int    `json:"line"`                 // of the plan
	Row   int    `json:"sheet_line,omitempty"` // of the sheet
	Where string `json:"where"`
	What  string `json:"what"`
}

type draftCell struct {
	Line   int    `json:"sheet_line"`
	Column string `json:"column"`
	Title  string `json:"title,omitempty"`
	Text   string `json:"text"`
	Where  string `json:"where,omitempty"` // the slot
}

// draftTaken is what a column was taken for.
type draftTaken string

func (a *app) draftJSON(out string, d *plansheet.Draft, r *plansheet.Roster) error {
	doc := draftDoc{File: out, Slots: d.Slots, Decide: []draftOpen{}, NotRead: []draftCell{}, Taken: []draftTaken{}, Others: append([]string{}, d.Others...)}
	if out == "" {
		doc.TOML = string(d.TOML)
	}
	for _, o := range d.Open {
		doc.Decide = append(doc.Decide, draftOpen(o))
	}
	for _, n := range d.NotRead {
		doc.NotRead = append(doc.NotRead, draftCell{n.Line, n.Letter(), n.Title, n.Text, n.Where})
	}
	for _, t := range d.Taken {
		doc.Taken = append(doc.Taken, draftTaken(t))
	}
	doc.Rows = []draftRow{}
	for _, l := range d.Rows {
		row := draftRow{Line: l.Line, Cells: []draftRead{}, Notes: append([]string{}, l.Notes...), Decide: []draftQuestion{}}
		for _, c := range l.Cells {
			row.Cells = append(row.Cells, draftRead{draftCell{c.Line, c.Letter(), c.Title, c.Text, ""}, c.Read})
		}
		for _, q := range l.Decide {
			asked := draftQuestion{q.What, []draftChoice{}}
			for _, c := range q.Choices {
				choice := draftChoice{Says: c.Says, Site: c.Site, Division: c.Division}
				if c.Channel != nil {
					choice.Place = c.Channel.Place()
				}
				asked.Choices = append(asked.Choices, choice)
			}
			row.Decide = append(row.Decide, asked)
		}
		doc.Rows = append(doc.Rows, row)
	}
	doc.Roster = []draftCell{}
	if r != nil {
		for _, n := range r.NotRead {
			doc.Roster = append(doc.Roster, draftCell{n.Line, n.Letter(), n.Title, n.Text, ""})
		}
	}
	return a.voice.JSON(doc)
}

// mostTold is how many cells that were not read are told one by one.
const mostTold = 12

// tellRoster says what was not read of a roster.
func (a *app) tellRoster(r *plansheet.Roster, quiet bool) {
	for i, n := range r.NotRead {
		if quiet || i == mostTold {
			break
		}
		a.voice.Tell("not read, %s of the roster: %s", n.Place(r.Word), n.Text)
	}
	if more := len(r.NotRead) - mostTold; more > 0 && !quiet {
		a.voice.Tell("not read: %s more of the roster", voice.Count(more, "cell", "cells"))
	}
}

// tellDraft says what columns were taken for, what was not read, and what is
// left to decide.
func (a *app) tellDraft(out string, d *plansheet.Draft) {
	where := ""
	if out != "" {
		where = out + ": "
	}
	for _, t := range d.Taken {
		a.voice.Tell("%s", t)
	}
	for i, n := range d.NotRead {
		if i == mostTold && len(d.NotRead) > mostTold+1 {
			a.voice.Tell("not read: %s more; the draft shows them", voice.Count(len(d.NotRead)-i, "cell", "cells"))
			break
		}
		title := ""
		if n.Title != "" {
			title = fmt.Sprintf(" %q", n.Title)
		}
		a.voice.Tell("not read, %s%s: %s", n.Place(d.Word), title, n.Text)
	}
	for _, other := range d.Others {
		a.voice.Tell("not read: %s", other)
	}
	for _, o := range d.Open {
		at := o.Where
		if o.Row > 0 {
			at = fmt.Sprintf("%s, %s %d of the sheet", o.Where, d.Word, o.Row)
		}
		a.voice.Tell("to decide, line %d: %s: %s", o.Line, at, o.What)
	}
	unread := ""
	if n := len(d.NotRead); n > 0 {
		unread = ", " + voice.Count(n, "cell", "cells") + " of the sheet not read"
	}
	switch {
	case len(d.Open) == 0:
		a.voice.Tell("%s%s, nothing left to decide%s", where, voice.Count(d.Slots, "slot", "slots"), unread)
	default:
		a.voice.Tell("%s%s, %s to decide%s", where, voice.Count(d.Slots, "slot", "slots"), voice.Count(len(d.Open), "thing", "things"), unread)
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
			return files.Fail(out, "is what the new plan is made from; name another file with -o", nil)
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
