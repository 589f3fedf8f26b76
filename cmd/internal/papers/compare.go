package papers

import (
	"fmt"

	"slotcard/cmd/internal/voice"
	"slotcard/layout"
	"slotcard/layout/sheets"
	"slotcard/plan/finding"
)

func init() { register(42, comparePaper) }

// comparePaper shows the old list and the new one side by side.
func comparePaper() *Paper {
	return &Paper{Name: "compare", What: "the old list beside the new one, with lines between\nwhat is the same, with --since", extra: true, sheet: compareSheet,
		check: func(f *Request) error {
			if f.asks("compare") && f.Since == "" {
				return voice.Usagef("--compare needs the plan to compare with: --since OLD")
			}
			return nil
		}}
}

func compareSheet(j *Job) *Sheet {
	if j.Before == nil {
		return nil
	}
	paper := j.set.sheets.Paper
	return &Sheet{
		Name:  "compare",
		Paper: paper.Name,
		lay: func() (*layout.Document, finding.List, error) {
			d, found := sheets.Comparison(j.Before.Changes, sheets.ChangeOptions{Paper: paper, Words: &j.set.words.Changes})
			return d, found, nil
		},
		say: func(d *layout.Document) string {
			return fmt.Sprintf("the old list beside the new one, since %s, %s of %s: print at actual size, on one side",
				j.Before.what(), voice.Count(len(d.Pages), "page", "pages"), paper.Name)
		},
		pictures: pagePictures,
	}
}
