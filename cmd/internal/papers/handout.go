package papers

import (
	"fmt"

	"slotcard/cmd/internal/voice"
	"slotcard/layout"
	"slotcard/layout/sheets"
	"slotcard/plan/finding"
)

func init() { register(30, handoutPaper) }

// handoutPaper is a sheet for each team, to tick off and initial.
func handoutPaper() *Paper {
	return &Paper{Name: "handout", What: "the hand-out sheets", ofSome: true, sheet: handoutSheets}
}

func handoutSheets(j *Job) *Sheet {
	if len(j.Plan.Cards) == 0 {
		return nil // nothing to hand out
	}
	paper := j.set.sheets.Paper
	return &Sheet{
		Name:  "handout" + j.some.suffix(),
		Paper: paper.Name,
		lay: func() (*layout.Document, finding.List, error) {
			d, found := sheets.Handout(j.some.of(j.Plan), sheets.HandoutOptions{Paper: paper, Words: &j.set.words.Handout, Reprint: j.some != nil})
			return d, found, nil
		},
		say: func(d *layout.Document) string {
			return fmt.Sprintf("hand-out sheets, %s of %s: print at actual size, on one side", voice.Count(len(d.Pages), "page", "pages"), paper.Name)
		},
		pictures: pagePictures,
	}
}
