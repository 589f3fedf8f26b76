package papers

import (
	"slices"

	"slotcard/cmd/internal/voice"
	"slotcard/layout"
	"slotcard/layout/sheets"
	"slotcard/plan/finding"
	"slotcard/plan/rules"
)

func init() { register(48, firePaper) }

// fireForms are the forms of the sheet of the fire, the usual one first.
var fireForms = []string{"ring", "lines"}

// firePaper shows the divisions around the fire.
func firePaper() *Paper {
	p := &Paper{Name: "fire", What: "the divisions around the fire, for the briefing; its `FORM` is ring,\nor lines (with what disturbs what, as the rules say it)", Forms: fireForms, extra: true}
	p.check = func(*Request) error {
		if !slices.Contains(fireForms, p.form) {
			return voice.Unknown("form of the sheet of the fire", p.form, fireForms)
		}
		return nil
	}
	p.sheet = func(j *Job) *Sheet {
		o := sheets.FireOptions{Paper: j.set.sheets.Paper, Words: &j.set.words.Fire, Lines: p.form == "lines"}
		return &Sheet{
			Name:  "fire",
			Paper: o.Paper.Name,
			lay: func() (*layout.Document, finding.List, error) {
				if o.Lines {
					o.Troubles = rules.Troubles(j.Plan, j.Found)
				}
				d, found := sheets.Fire(j.Plan, o)
				return d, found, nil
			},
			say: func(*layout.Document) string {
				return "divisions around the fire, 1 page of " + o.Paper.Name + ": print at actual size, on one side"
			},
			pictures: pagePictures,
		}
	}
	return p
}
