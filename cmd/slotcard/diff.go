package main

import (
	"errors"
	"path/filepath"

	"github.com/spf13/cobra"

	"slotcard/cmd/internal/papers"
	"slotcard/cmd/internal/report"
	"slotcard/plan"
	"slotcard/plan/changes"
	"slotcard/plan/channellist"
	"slotcard/plan/finding"
)

func init() { registerCommand(40, (*app).diffCommand) }

func (a *app) diffCommand() *cobra.Command {
	var asJSON bool
	cmd := &cobra.Command{
		Use:   "diff OLD NEW",
		Short: "says what changes between two plans, or between two loads",
		Long: `diff compares two plans, such as those of two operational periods or revisions, and
says what changes: in each list slot by slot, in each division, and for each unit and
card. A radio's list must be rebuilt only if what is programmed differs at some slot.
If only uses or divisions differ, the list in the radio stays, but the read-back
code changes.

The old list of a card is the one that its unit carried. A seat that the old plan
does not have builds the list for the first time; so does every seat if the incident
or the load is another one. The period's number and hours do not count as a change.

Two loads, such as last year's and this year's, are compared channel by channel: what
is retuned, renamed, added, removed, moved, or described otherwise, and what is new in
tones, sites and dates.

Exit status: 0 the same, 1 something differs, 2 a file that cannot be read, or a
plan with errors.

--json prints one document:
  {"same": false, "other_incident": false, "other_load": false, "backwards": false,
   "also_changed": false,
   "old": {"file", "incident", "number", "period", "revision", "revised_at", "from",
          "to", "load", "edition"},
   "new": {...},
   "lists": [{"name", "old_code", "new_code", "old_length", "new_length",
     "slots":  [{"change": ["added"], "old_position", "new_position", "old": {"name",
                 "use", "divisions", "rx_hz", "tx_hz", "rx_tone", "tx_tone", "mode",
                 "width", "system", "talkgroup"}, "new": {...}}],
     "shifts": [{"from", "to", "by"}], "rebuild": [2], "clear": [9]}],
   "divisions": [{"id", "change": ["new"], "old_channels", "new_channels",
                 "old_neighbors", "new_neighbors", "old_name", "new_name",
                 "old_supervisor", "new_supervisor"}],
   "units":     [{"name", "change": ["rebuild"], "old_division", "new_division",
                 "old_code", "new_code", "rebuild": [2], "clear": [9],
     "cards":   [{"number", "old_number", "position", "nth", "of", "change": ["rebuild"],
                 "talk": {"now": [{"position", "name"}], "before": [...]},
                 "priority": {...}, "scan": {...}}],
     "cards_gone": [{"number", "position", "nth"}]}],
   "counts":    {"cards", "first", "rebuild", "listen", "code", "replace", "keep", "gone"},
   "findings":  [...]}
A slot changes by added, removed, moved, retuned, replaced, reassigned; a division
by new, gone, channels, neighbors, name, supervisor; a unit or card by first,
rebuild, code, listen, division, also, a unit by gone and seats as well; none
means unchanged. Positions count from 1. What is empty inside lists, divisions,
units and cards is left out. If a plan has errors or cannot be read, only "old"
and "new" with "file", "findings", and "problems" are there.

Of two loads it is
  {"same": false, "old": {"file", "name", "edition"}, "new": {...}, "load": ["..."],
   "channels": [{"change": "renamed", "name", "old_place", "new_place", "says"}],
   "counts": {"same": 60, "renamed": 1}}`,
		Example: `  slotcard diff period-2.toml period-3.toml
  slotcard diff load-2027.toml load-2028.toml`,
		Args: func(cmd *cobra.Command, args []string) error {
			if len(args) < 2 {
				return usagef("name the old plan and the new one, such as: slotcard diff period-2.toml period-3.toml")
			}
			return atMost(2, "two plans")(cmd, args)
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			return a.runDiff(args[0], args[1], asJSON, a.depth(cmd))
		},
		ValidArgsFunction: tomlArgs,
	}
	cmd.Flags().BoolVar(&asJSON, "json", false, "print one JSON document and nothing else")
	cmd.Flags().Bool("long", false, "show findings with their line, what to do, and details, as on a terminal")
	return cmd
}

func (a *app) runDiff(oldName, newName string, asJSON bool, d report.Depth) error {
	var err error
	for _, name := range []*string{&oldName, &newName} {
		if *name, err = papers.Attached(a.reader, *name); err != nil {
			return err
		}
	}
	isLoad := func(name string) bool { // what cannot be read is told below
		load, err := papers.IsLoad(a.reader, filepath.Clean(name))
		return err == nil && load
	}
	if isLoad(oldName) && isLoad(newName) {
		return a.diffLoads(filepath.Clean(oldName), filepath.Clean(newName), asJSON)
	}
	doc := report.DiffDocument{Old: report.DiffPlan{File: filepath.Clean(oldName)}, New: report.DiffPlan{File: filepath.Clean(newName)}}
	var plans [2]*plan.Resolved
	var errs []error
	for i, name := range []string{doc.Old.File, doc.New.File} {
		r, found, err := papers.Sound(a.reader, name)
		plans[i] = r
		doc.Findings.Add(found...)
		if err != nil {
			errs = append(errs, err)
		}
	}
	if len(errs) > 0 || plans[0] == nil || plans[1] == nil {
		return a.uncompared(doc, errs, asJSON, d)
	}
	c := changes.Between(plans[0], plans[1])
	if _, err := papers.NumberBoth(a.reader, doc.Old.File, doc.New.File, c); err != nil {
		return err
	}
	if asJSON {
		doc.Fill(c)
		if err := a.voice.JSON(doc); err != nil {
			return err
		}
	} else {
		report.Changes(a.voice, c)
	}
	if !c.Empty() {
		return errFindings
	}
	return nil
}

// diffLoads compares two loads. Faults in them are told, but do not keep from comparing
// what could be read.
func (a *app) diffLoads(oldName, newName string, asJSON bool) error {
	old, err := a.load(oldName)
	if err != nil {
		return err
	}
	now, err := a.load(newName)
	if err != nil {
		return err
	}
	c := channellist.Between(old, now)
	if asJSON {
		if err := a.voice.JSON(report.LoadDiff(report.LoadDiffFile{File: oldName}, report.LoadDiffFile{File: newName}, old, now, c)); err != nil {
			return err
		}
	} else {
		report.LoadChanges(a.voice, c)
	}
	if !c.Empty() {
		return errFindings
	}
	return nil
}

// uncompared says why two plans cannot be compared.
func (a *app) uncompared(doc report.DiffDocument, errs []error, asJSON bool, d report.Depth) error {
	doc.Findings.Sort()
	if asJSON {
		unread := report.DiffUnread{Old: doc.Old, New: doc.New, Findings: append(finding.List{}, doc.Findings...)}
		for _, err := range errs {
			unread.Problems = append(unread.Problems, report.Problems(err)...)
		}
		if err := a.voice.JSON(unread); err != nil {
			return err
		}
	} else {
		report.Findings(a.voice, doc.Findings, d)
	}
	if err := a.voice.Flush(); err != nil {
		return err
	}
	if len(errs) > 0 {
		return errors.Join(errs...)
	}
	a.voice.Tell("nothing compared: %s", report.Tally(doc.Findings))
	return errTold
}
