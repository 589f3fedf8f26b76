package desk

import (
	"strconv"

	"slotcard/plan/build"
	"slotcard/plan/radio"
)

func init() {
	register(&View{Name: "divisions", Title: "Divisions", Place: 4, Kinds: []string{"plan"}, Data: divisionsData,
		Do: map[string]func(*Page) (string, error){"add": addDivision, "set": setDivision, "move": moveDivision, "delete": deleteDivision, "tactical": giveTactical}})
}

// Divisions are those of the plan, being built, and the ring that they make.
type Divisions struct {
	Rows      []DivisionRow
	Tacticals []TacticalChoice
	Ring      *Ring
}

// DivisionRow is a division or functional group.
type DivisionRow struct {
	I, Line int
	build.Division
	BesideText string
	Talks      map[int]bool // slots, from 0
	Found      []RowFinding
}

// TacticalChoice is a slot that divisions may work on.
type TacticalChoice struct {
	I          int
	Name, Slot string
}

func divisionsData(p *Page) (any, error) {
	w, err := p.work()
	if err != nil {
		return nil, err
	}
	v := new(Divisions)
	if r := p.State.Plan; r != nil {
		for _, s := range r.Slots {
			for i, own := range r.Plan.Slots {
				if own == s.Slot && (s.Use == radio.Tactical || len(s.Users) > 0) {
					v.Tacticals = append(v.Tacticals, TacticalChoice{i, s.Channel.Name, w.Name(i)})
				}
			}
		}
	}
	for i, d := range w.Plan().Divisions {
		row := DivisionRow{I: i, Line: d.At("").Line, Division: build.Division{ID: d.ID, Name: d.Name, Supervisor: d.Supervisor, Functional: d.Functional, Beside: d.Beside}, Talks: map[int]bool{}, Found: p.findingsAt(d.At("").Line)}
		for k, id := range d.Beside {
			if k > 0 {
				row.BesideText += ", "
			}
			row.BesideText += id
		}
		for k, s := range w.Plan().Slots {
			for _, id := range s.Division {
				row.Talks[k] = row.Talks[k] || id == d.ID
			}
		}
		v.Rows = append(v.Rows, row)
	}
	if ring, err := fireData(p); err == nil {
		v.Ring, _ = ring.(*Ring)
	}
	return v, nil
}

func askedDivision(p *Page) build.Division {
	return build.Division{ID: p.Ask("id"), Name: p.Ask("called"), Supervisor: p.Ask("supervisor"), Functional: p.Ask("functional") != "", Beside: fields(p.Ask("beside"))}
}

func addDivision(p *Page) (string, error) {
	return "", p.build(func(w *build.Work) error { return w.AddDivision(-1, askedDivision(p)) })
}

func (p *Page) divisionDo(change func(w *build.Work, i int) error) (string, error) {
	return "", p.build(func(w *build.Work) error {
		i, err := p.item(func(i int) string {
			if i < 0 || i >= len(w.Plan().Divisions) {
				return ""
			}
			return w.Plan().Divisions[i].ID
		})
		if err != nil {
			return err
		}
		return change(w, i)
	})
}

func setDivision(p *Page) (string, error) {
	return p.divisionDo(func(w *build.Work, i int) error { return w.SetDivision(i, askedDivision(p)) })
}

func deleteDivision(p *Page) (string, error) {
	return p.divisionDo(func(w *build.Work, i int) error { return w.DeleteDivision(i) })
}

func moveDivision(p *Page) (string, error) {
	return p.divisionDo(func(w *build.Work, i int) error {
		to, err := p.place(i)
		if err != nil {
			return err
		}
		return w.MoveDivision(i, to)
	})
}

// giveTactical lets a division work on a slot, or not any more.
func giveTactical(p *Page) (string, error) {
	return p.divisionDo(func(w *build.Work, i int) error {
		slot, err := strconv.Atoi(p.Ask("slot"))
		if err != nil || w.Name(slot) == "" {
			return errChanged
		}
		return w.ToggleUse(slot, w.Plan().Divisions[i].ID)
	})
}
