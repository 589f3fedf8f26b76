package build

import (
	"errors"
	"fmt"
	"slices"

	"slotcard/plan"
	"slotcard/plan/edit"
	"slotcard/plan/tomlfile"
)

// division is the place of a division in the plan, from 0; -1: there is none.
func (w *Work) division(id string) int {
	return slices.IndexFunc(w.plan.Divisions, func(d *plan.Division) bool { return d.ID == id })
}

// Division is what a person says of a division or functional group.
type Division struct {
	ID, Name, Supervisor string
	Functional           bool
	Beside               plan.Names // whom a functional group works beside
}

func (w *Work) fits(d *Division, i int) error {
	d.ID, d.Name, d.Supervisor = clean(d.ID), clean(d.Name), clean(d.Supervisor)
	if !d.Functional {
		d.Beside = nil
	}
	other := w.division(d.ID)
	switch {
	case d.ID == "":
		return errors.New("a division needs a letter, a functional group a short name")
	case other >= 0 && other != i:
		return fmt.Errorf("there is a %s already", w.plan.Divisions[other].Title())
	case slices.Contains(d.Beside, d.ID):
		return errors.New("a functional group does not stand beside itself")
	}
	return nil
}

// AddDivision puts a division in place i, from 0, of the order around the fire: at
// the end where there are fewer.
func (w *Work) AddDivision(i int, d Division) error {
	if err := w.fits(&d, -1); err != nil {
		return err
	}
	keys := tomlfile.Pairs{{Key: "id", Value: d.ID}}
	for _, p := range (tomlfile.Pairs{{Key: "name", Value: d.Name}, {Key: "supervisor", Value: d.Supervisor}}) {
		if p.Value != "" {
			keys = append(keys, p)
		}
	}
	if d.Functional {
		keys = append(keys, tomlfile.Pair{Key: "functional", Value: true})
	}
	if len(d.Beside) > 0 {
		keys = append(keys, tomlfile.Pair{Key: "beside", Value: []string(d.Beside)})
	}
	t, all := edit.Table{Header: "[[division]]", Keys: keys}, w.plan.Divisions
	return w.change(func(e *edit.Editor) {
		switch {
		case i >= 0 && i < len(all):
			e.InsertBefore(all[i].Table, t)
		case len(all) > 0:
			e.InsertAfter(all[len(all)-1].Table, t)
		default:
			w.near(e, tomlfile.Table{}, t)
		}
	})
}

// SetDivision says what division i, from 0, is. Where its letter changes, all that
// names it follows: slots, units, functional groups beside it.
func (w *Work) SetDivision(i int, d Division) error {
	if err := place(i, len(w.plan.Divisions), "division"); err != nil {
		return err
	}
	if err := w.fits(&d, i); err != nil {
		return err
	}
	old := w.plan.Divisions[i]
	write := func() error {
		return w.change(func(e *edit.Editor) {
			now := w.plan.Divisions[i]
			if now.ID != d.ID {
				e.Set(now.Table, "id", d.ID)
			}
			for _, k := range []struct{ key, was, is string }{{"name", now.Name, d.Name}, {"supervisor", now.Supervisor, d.Supervisor}} {
				if k.was != k.is {
					put(e, now.Table, k.key, k.is)
				}
			}
			if now.Functional != d.Functional {
				put(e, now.Table, "functional", d.Functional)
			}
			if !slices.Equal(now.Beside, d.Beside) {
				put(e, now.Table, "beside", d.Beside)
			}
		})
	}
	if old.ID == d.ID {
		return write()
	}
	var own func() error = func() error { return nil }
	if !w.plan.Has("unit") && w.station != nil && slices.ContainsFunc(w.station.Units, func(u *plan.Unit) bool { return u.Division == old.ID }) {
		own = w.ownUnits
	}
	return w.together(own, func() error { return w.replaceDivision(old.ID, d.ID) }, write)
}

// DeleteDivision takes division i, from 0, out of the plan, and from all that names it.
func (w *Work) DeleteDivision(i int) error {
	if err := place(i, len(w.plan.Divisions), "division"); err != nil {
		return err
	}
	id := w.plan.Divisions[i].ID
	return w.together(
		func() error { return w.replaceDivision(id, "") },
		func() error {
			return w.change(func(e *edit.Editor) { e.DeleteTable(w.plan.Divisions[w.division(id)].Table) })
		})
}

// replaceDivision puts another id in place of one wherever it is named, or takes it
// out.
func (w *Work) replaceDivision(old, id string) error {
	return w.change(func(e *edit.Editor) {
		names := func(t tomlfile.Table, key string, ids plan.Names) {
			if !slices.Contains(ids, old) {
				return
			}
			var now plan.Names
			for _, n := range ids {
				if n == old {
					n = id
				}
				if n != "" {
					now = append(now, n)
				}
			}
			put(e, t, key, now)
		}
		for _, s := range w.plan.Slots {
			names(s.Table, "division", s.Division)
			names(s.Table, "carried_by", s.CarriedBy)
		}
		for _, d := range w.plan.Divisions {
			names(d.Table, "beside", d.Beside)
		}
		for _, u := range w.plan.Units {
			if u.Division == old {
				put(e, u.Table, "division", id)
			}
		}
	})
}

// MoveDivision puts division i, from 0, where division to stands in the order around
// the fire.
func (w *Work) MoveDivision(i, to int) error {
	return move(w, i, to, len(w.plan.Divisions), "division", func(k int) tomlfile.Table { return w.plan.Divisions[k].Table })
}
