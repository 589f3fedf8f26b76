package plan

import "slices"

// Crew is a division, and who works in it.
type Crew struct {
	Division *Division // nil: units without one
	List     *List     // nil: nobody there carries a card
	Units    []*Unit
}

// Crews are all divisions in the order of the plan, then the units without one.
func (r *Resolved) Crews() []Crew {
	var crews []Crew
	for _, d := range append(slices.Clone(r.Plan.Divisions), nil) {
		crew := Crew{Division: d}
		for _, u := range r.Plan.Units {
			if d == nil && u.Division == "" || d != nil && u.Division == d.ID {
				crew.Units = append(crew.Units, u)
			}
		}
		for _, l := range r.Lists {
			if d == nil && l.Shared || d != nil && slices.Contains(l.Divisions, d) {
				crew.List = l
			}
		}
		if d != nil || len(crew.Units) > 0 {
			crews = append(crews, crew)
		}
	}
	return crews
}

// Holders are the positions of a division that carry a list, in the order of the
// plan, and what each of them does with its slots.
type Holders struct {
	Division  *Division // nil: none
	Positions []string
	Marks     [][]Mark // by position, then slot
}

// HoldersOf are those who carry a list, by division; every division of the list is
// there, those without a division only where somebody is.
func (r *Resolved) HoldersOf(l *List) []Holders {
	var all []Holders
	for _, d := range append(slices.Clone(l.Divisions), nil) {
		s := Holders{Division: d}
		for _, p := range r.Plan.Positions {
			i := slices.IndexFunc(r.Cards, func(c *Card) bool { return c.List == l && c.Division == d && c.Position == p })
			if i >= 0 {
				s.Positions = append(s.Positions, p.Name)
				s.Marks = append(s.Marks, r.Cards[i].Marks)
			}
		}
		if d != nil || len(s.Positions) > 0 {
			all = append(all, s)
		}
	}
	return all
}
