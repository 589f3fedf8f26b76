package papers

import (
	"fmt"
	"path/filepath"

	"slotcard/cmd/internal/report"
	"slotcard/cmd/internal/voice"
	"slotcard/layout"
	"slotcard/layout/cards"
	"slotcard/layout/sheets"
	"slotcard/layout/strips"
	"slotcard/plan"
	"slotcard/plan/changes"
	"slotcard/plan/finding"
)

// Since is what changes since an older plan; nil: nobody asked.
type Since struct {
	*changes.Changes
	changedOnly bool
	strips      int // cards that are changed by strips, which are printed
}

// since reads the older plan. It must have no errors.
func (j *Job) since() (*Since, error) {
	if j.Request.Since == "" {
		return nil, nil
	}
	old, found, err := Sound(j.reader, filepath.Clean(j.Request.Since))
	if err != nil {
		return nil, &Refused{found, err}
	}
	if old == nil {
		j.Found = found
		return nil, j.refused()
	}
	s := &Since{Changes: changes.Between(old, j.Plan), changedOnly: j.Request.ChangedOnly}
	if j.Request.asks("strips") {
		s.strips = strips.Cards(s.Changes)
	}
	return s, nil
}

// cards is the plan with the cards that are printed.
func (s *Since) cards(r *plan.Resolved) *plan.Resolved {
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
func (s *Since) marks() map[*plan.Card]cards.Change {
	if s == nil {
		return nil
	}
	return cards.CardChanges(s.Changes)
}

func init() { register(40, changesPaper) }

// changesPaper is the change sheet, where plans are compared.
func changesPaper() *Paper {
	return &Paper{Name: "changes", What: "the change sheet, with --since", sheet: changeSheet, check: func(f *Request) error {
		if f.asks("changes") && f.Since == "" {
			return voice.Usagef("--changes needs the plan to compare with: --since OLD")
		}
		return nil
	}}
}

func changeSheet(j *Job) *Sheet {
	if j.Before == nil {
		return nil
	}
	paper := j.set.sheets.Paper
	return &Sheet{
		Name:  "changes",
		Paper: paper.Name,
		lay: func() (*layout.Document, finding.List, error) {
			d, found := sheets.ChangeSheet(j.Before.Changes, sheets.ChangeOptions{Paper: paper, Words: &j.set.words.Changes, Strips: j.Before.strips})
			return d, found, nil
		},
		say: func(d *layout.Document) string {
			return fmt.Sprintf("change sheet since %s, %s of %s: print at actual size, on one side",
				j.Before.what(), voice.Count(len(d.Pages), "page", "pages"), paper.Name)
		},
		pictures: pagePictures,
	}
}

// what the plan before is: "period 2", or between revisions of a period
// "revision 1".
func (s *Since) what() string {
	in := s.Old.Plan.Incident
	if s.Revision {
		return fmt.Sprintf("revision %d", max(1, in.Revision))
	}
	return report.Issue(in)
}

// Tell says what becomes of the cards.
func (s *Since) Tell(v *voice.Voice) {
	if s == nil {
		return
	}
	n := s.Counts()
	v.Tell("since %s: %s", s.what(), report.CardTally(n, s.strips))
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
