package main

import (
	"fmt"
	"path/filepath"

	"github.com/spf13/cobra"

	"slotcard/cmd/internal/report"
	"slotcard/cmd/internal/voice"
	"slotcard/layout"
	"slotcard/layout/cards"
	"slotcard/layout/sheets"
	"slotcard/plan"
	"slotcard/plan/changes"
	"slotcard/plan/finding"
)

// sinceFlags compare the plan that is printed with an older one.
type sinceFlags struct {
	old         string
	changedOnly bool
}

func (f *sinceFlags) add(cmd *cobra.Command) {
	cmd.Flags().StringVar(&f.old, "since", "", "say on each card what changes since the plan `OLD`, and write a change sheet")
	cmd.Flags().BoolVar(&f.changedOnly, "changed-only", false, "with --since: print only the cards that must be replaced")
	if err := cmd.MarkFlagFilename("since", "toml"); err != nil {
		panic(err) // a flag that this command does not define
	}
}

func (f *sinceFlags) check() error {
	if f.changedOnly && f.old == "" {
		return usagef("--changed-only needs the plan to compare with: --since OLD")
	}
	return nil
}

// since is what changes since an older plan; nil: nobody asked.
type since struct {
	*changes.Changes
	changedOnly bool
}

// since reads the older plan. It must have no errors.
func (j *job) since() (*since, error) {
	f := j.flags.since
	if f.old == "" {
		return nil, nil
	}
	old, found, err := j.sound(filepath.Clean(f.old))
	if err != nil {
		report.Findings(j.voice, found, j.depth)
		return nil, err
	}
	if old == nil {
		j.found = found
		return nil, j.refuse()
	}
	return &since{changes.Between(old, j.plan), f.changedOnly}, nil
}

// cards is the plan with the cards that are printed.
func (s *since) cards(r *plan.Resolved) *plan.Resolved {
	if s == nil || !s.changedOnly {
		return r
	}
	some := *r
	some.Cards = nil
	for _, u := range s.Units {
		for _, c := range u.Cards {
			if c.Replace() {
				some.Cards = append(some.Cards, c.New)
			}
		}
	}
	return &some
}

// marks is what each card says of the list before.
func (s *since) marks() map[*plan.Card]cards.Change {
	if s == nil {
		return nil
	}
	return cards.CardChanges(s.Changes)
}

func init() { registerPaper(40, changesPaper) }

// changesPaper is the change sheet, where plans are compared.
func changesPaper() *paper {
	return &paper{name: "changes", what: "the change sheet, with --since", sheet: changeSheet, check: func(f *printFlags) error {
		if f.asks("changes") && f.since.old == "" {
			return usagef("--changes needs the plan to compare with: --since OLD")
		}
		return nil
	}}
}

func changeSheet(j *job) *sheet {
	if j.before == nil {
		return nil
	}
	paper := j.set.sheets.Paper
	return &sheet{
		name: "changes",
		lay: func() (*layout.Document, finding.List, error) {
			d, found := sheets.ChangeSheet(j.before.Changes, sheets.ChangeOptions{Paper: paper, Words: &j.set.words.Changes})
			return d, found, nil
		},
		say: func(d *layout.Document) string {
			return fmt.Sprintf("change sheet since %s, %s of %s: print at actual size, on one side",
				j.before.what(), voice.Count(len(d.Pages), "page", "pages"), paper.Name)
		},
		pictures: pagePictures,
	}
}

// what the plan before is: "period 2", or between revisions of a period
// "revision 1".
func (s *since) what() string {
	in := s.Old.Plan.Incident
	if s.Revision {
		return fmt.Sprintf("revision %d", max(1, in.Revision))
	}
	return report.Issue(in)
}

// tell says what becomes of the cards.
func (s *since) tell(v *voice.Voice) {
	if s == nil {
		return
	}
	n := s.Counts()
	v.Tell("since %s: %s", s.what(), report.CardTally(n))
	switch {
	case s.changedOnly && n.Replace == 0:
		v.Tell("no cards.pdf: every card can be kept")
	case s.changedOnly && n.Keep > 0:
		renumbered := 0
		for _, u := range s.Units {
			for _, c := range u.Cards {
				if !c.Replace() && c.Renumbered() {
					renumbered++
				}
			}
		}
		said := fmt.Sprintf("%s not printed: the old ones can be kept, though they say %s", voice.Count(n.Keep, "card", "cards"), s.what())
		if renumbered > 0 {
			said += fmt.Sprintf("; %d of them with another number than on the hand-out sheet", renumbered)
		}
		v.Tell("%s", said)
	}
	if s.Backwards && s.Revision {
		v.Tell("slotcard: the plan of --since is a newer revision than the one that was printed; are the two swapped?")
	} else if s.Backwards {
		v.Tell("slotcard: the plan of --since begins after the one that was printed; are the two swapped?")
	}
}
