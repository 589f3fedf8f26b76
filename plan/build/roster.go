package build

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"slotcard/plan"
	"slotcard/plan/edit"
	"slotcard/plan/radio"
	"slotcard/plan/tomlfile"
)

// Row is a unit of the roster.
type Row struct {
	Name, Kind, Team, Division string
	Seats                      plan.Seats
}

func rowOf(u *plan.Unit) Row { return Row{u.Name, u.Kind, u.Team, u.Division, u.Seats} }

// Units are the roster: the plan's own, or, where it has none, its base's.
func (w *Work) Units() []*plan.Unit {
	if !w.plan.Has("unit") && w.station != nil {
		return w.station.Units
	}
	return w.plan.Units
}

// Positions are the kinds of seat: the plan's own, or, where it has none, its base's.
func (w *Work) Positions() []*plan.Position {
	if !w.plan.Has("position") && w.station != nil {
		return w.station.Positions
	}
	return w.plan.Positions
}

// ownUnits writes the station's units into the plan: who goes to a fire is the plan's,
// and the station's file stays as it is.
func (w *Work) ownUnits() error {
	if w.plan.Has("unit") || w.station == nil {
		return baseUnread(!w.plan.Has("unit") && w.plan.Has("base"), w.station)
	}
	for _, u := range w.station.Units {
		if err := w.addUnit(rowOf(u)); err != nil {
			return err
		}
	}
	return nil
}

// baseUnread refuses a change by which what a plan has from its base would be lost
// unseen, because the base could not be read.
func baseUnread(needed bool, station *plan.Station) error {
	if needed && station == nil {
		return errors.New("what the plan has from its station file cannot be seen now: mend the findings of plan, load and station file first")
	}
	return nil
}

// KeepUnits makes those of the station's units the plan's that are named.
func (w *Work) KeepUnits(names []string) error {
	if w.station == nil || w.plan.Has("unit") {
		return errors.New("the roster is the plan's own already")
	}
	if !slices.ContainsFunc(w.station.Units, func(u *plan.Unit) bool { return slices.Contains(names, u.Name) }) {
		return errors.New("no unit is ticked: somebody must carry a card")
	}
	if !slices.ContainsFunc(w.station.Units, func(u *plan.Unit) bool { return !slices.Contains(names, u.Name) }) {
		return nil // all of them: the base says so
	}
	var steps []func() error
	for _, u := range w.station.Units {
		if slices.Contains(names, u.Name) {
			steps = append(steps, func() error { return w.addUnit(rowOf(u)) })
		}
	}
	return w.together(steps...)
}

func (w *Work) fitsUnit(r *Row, i int) error {
	r.Name, r.Kind, r.Team, r.Division = clean(r.Name), clean(r.Kind), clean(r.Team), clean(r.Division)
	r.Seats = slices.DeleteFunc(slices.Clone(r.Seats), func(s plan.Seat) bool { return s.Count <= 0 })
	other := slices.IndexFunc(w.plan.Units, func(u *plan.Unit) bool { return u.Name == r.Name })
	switch {
	case r.Name == "":
		return errors.New("a unit needs a name")
	case other >= 0 && other != i:
		return fmt.Errorf("%s is in the roster already", r.Name)
	case r.Division != "" && w.division(r.Division) < 0:
		return fmt.Errorf("there is no division %s for %s", r.Division, r.Name)
	}
	return nil
}

func seats(all plan.Seats) tomlfile.Pairs {
	pairs := make(tomlfile.Pairs, 0, len(all))
	for _, s := range all {
		pairs = append(pairs, tomlfile.Pair{Key: s.Position, Value: s.Count})
	}
	return pairs
}

func (w *Work) addUnit(r Row) error {
	if err := w.fitsUnit(&r, -1); err != nil {
		return err
	}
	keys := tomlfile.Pairs{{Key: "name", Value: r.Name}}
	for _, p := range (tomlfile.Pairs{{Key: "kind", Value: r.Kind}, {Key: "team", Value: r.Team}, {Key: "division", Value: r.Division}}) {
		if p.Value != "" {
			keys = append(keys, p)
		}
	}
	keys = append(keys, tomlfile.Pair{Key: "seats", Value: seats(r.Seats)})
	last := tomlfile.Table{}
	if n := len(w.plan.Units); n > 0 {
		last = w.plan.Units[n-1].Table
	}
	return w.change(func(e *edit.Editor) { w.near(e, last, edit.Table{Header: "[[unit]]", Keys: keys}) })
}

// AddUnit puts a unit at the end of the roster.
func (w *Work) AddUnit(r Row) error {
	return w.together(w.ownUnits, func() error { return w.addUnit(r) })
}

// SetUnit says what unit i, from 0, is; only what differs is written.
func (w *Work) SetUnit(i int, r Row) error {
	if err := place(i, len(w.Units()), "unit"); err != nil {
		return err
	}
	return w.together(w.ownUnits, func() error {
		if err := w.fitsUnit(&r, i); err != nil {
			return err
		}
		return w.change(func(e *edit.Editor) {
			u := w.plan.Units[i]
			for _, k := range []struct{ key, was, is string }{{"name", u.Name, r.Name}, {"kind", u.Kind, r.Kind}, {"team", u.Team, r.Team}, {"division", u.Division, r.Division}} {
				if k.was != k.is {
					put(e, u.Table, k.key, k.is)
				}
			}
			w.seat(e, u, r.Seats)
		})
	})
}

// seat writes the seats of a unit that differ, in braces or below a header.
func (w *Work) seat(e *edit.Editor, u *plan.Unit, now plan.Seats) {
	if slices.Equal(u.Seats, now) {
		return
	}
	t, ok := u.TableIn("seats")
	if !ok || t.Form() == tomlfile.InBraces {
		e.Set(u.Table, "seats", seats(now))
		return
	}
	for _, s := range u.Seats {
		if !slices.ContainsFunc(now, func(o plan.Seat) bool { return o.Position == s.Position }) {
			e.Delete(t, s.Position)
		}
	}
	for _, s := range now {
		if !slices.Contains(u.Seats, s) {
			e.Set(t, s.Position, s.Count)
		}
	}
}

// DeleteUnit takes unit i, from 0, out of the roster.
func (w *Work) DeleteUnit(i int) error {
	if err := place(i, len(w.Units()), "unit"); err != nil {
		return err
	}
	if len(w.Units()) == 1 && w.station != nil && len(w.station.Units) > 0 {
		return errors.New("the last unit stays: without one the plan would have all of the station's again")
	}
	return w.together(w.ownUnits, func() error {
		return w.change(func(e *edit.Editor) { e.DeleteTable(w.plan.Units[i].Table) })
	})
}

// MoveUnit puts unit i, from 0, where unit to stands in the roster.
func (w *Work) MoveUnit(i, to int) error {
	return w.together(w.ownUnits, func() error {
		return move(w, i, to, len(w.plan.Units), "unit", func(k int) tomlfile.Table { return w.plan.Units[k].Table })
	})
}

// Merge takes over rows that were pasted: a unit of the same name gets what they say,
// others are added. It tells how many of each.
func (w *Work) Merge(rows []Row) (changed, added int, err error) {
	steps := []func() error{w.ownUnits}
	for _, r := range rows {
		steps = append(steps, func() error {
			name := clean(r.Name)
			i := slices.IndexFunc(w.plan.Units, func(u *plan.Unit) bool { return u.Name == name })
			if i < 0 {
				added++
				return w.addUnit(r)
			}
			was := rowOf(w.plan.Units[i])
			if r.Kind == "" {
				r.Kind = was.Kind
			}
			if r.Team == "" {
				r.Team = was.Team
			}
			if r.Division == "" {
				r.Division = was.Division
			}
			if len(r.Seats) == 0 {
				r.Seats = was.Seats
			}
			changed++
			return w.SetUnit(i, r)
		})
	}
	if err := w.together(steps...); err != nil {
		return 0, 0, err
	}
	return changed, added, nil
}

// ownPositions writes the station's kinds of seat into the plan.
func (w *Work) ownPositions() error {
	if w.plan.Has("position") || w.station == nil {
		return baseUnread(!w.plan.Has("position") && w.plan.Has("base"), w.station)
	}
	for _, p := range w.station.Positions {
		keys := tomlfile.Pairs{{Key: "name", Value: p.Name}}
		if p.Priority != "" {
			keys = append(keys, tomlfile.Pair{Key: "priority", Value: p.Priority})
		}
		if len(p.Scan) > 0 {
			keys = append(keys, tomlfile.Pair{Key: "scan", Value: []string(p.Scan)})
		}
		if err := w.change(func(e *edit.Editor) {
			last := tomlfile.Table{}
			if n := len(w.plan.Positions); n > 0 {
				last = w.plan.Positions[n-1].Table
			}
			w.near(e, last, edit.Table{Header: "[[position]]", Keys: keys})
		}); err != nil {
			return err
		}
	}
	return nil
}

// ToggleScan lets a kind of seat listen to what a selector means, or not any more.
func (w *Work) ToggleScan(position, selector string) error {
	return w.seatKind(position, func(e *edit.Editor, p *plan.Position) {
		if i := slices.Index(p.Scan, selector); i >= 0 {
			if items, list := p.ItemSpans("scan"); list && len(items) > 1 {
				e.DeleteItem(p.Table, "scan", i)
			} else {
				e.Delete(p.Table, "scan")
			}
			return
		}
		e.AddItem(p.Table, "scan", selector)
	})
}

// SetPriority says which selector has priority for a kind of seat; "" is none.
func (w *Work) SetPriority(position, selector string) error {
	return w.seatKind(position, func(e *edit.Editor, p *plan.Position) { put(e, p.Table, "priority", selector) })
}

func (w *Work) seatKind(position string, gather func(*edit.Editor, *plan.Position)) error {
	return w.together(w.ownPositions, func() error {
		i := slices.IndexFunc(w.plan.Positions, func(p *plan.Position) bool { return p.Name == position })
		if i < 0 {
			return fmt.Errorf("there is no position %s any more", position)
		}
		return w.change(func(e *edit.Editor) { gather(e, w.plan.Positions[i]) })
	})
}

// ToggleColumn lets every kind of seat listen to what a selector means, or, where all do,
// none any more.
func (w *Work) ToggleColumn(selector string) error {
	hears := func(p *plan.Position) bool {
		return slices.ContainsFunc(p.Scan, func(s string) bool { return spelled(s) == selector })
	}
	all := !slices.ContainsFunc(w.Positions(), func(p *plan.Position) bool { return !hears(p) })
	var steps []func() error
	for _, p := range w.Positions() {
		if hears(p) != all {
			continue
		}
		written := selector
		for _, s := range p.Scan {
			if spelled(s) == selector {
				written = s
			}
		}
		steps = append(steps, func() error { return w.ToggleScan(p.Name, written) })
	}
	if len(steps) == 0 {
		return errors.New("there is no position yet")
	}
	return w.together(steps...)
}

// ToggleRow lets a kind of seat listen to what each selector means, or, where it does,
// to none of them any more. "all" is not marked besides: it is the same again.
func (w *Work) ToggleRow(position string) error {
	i := slices.IndexFunc(w.Positions(), func(p *plan.Position) bool { return p.Name == position })
	if i < 0 {
		return fmt.Errorf("there is no position %s any more", position)
	}
	words := slices.DeleteFunc(plan.SelectorWords(), func(s string) bool { return s == "all" })
	var marked, missing []string
	scan := w.Positions()[i].Scan
	for _, s := range scan {
		if slices.Contains(plan.SelectorWords(), spelled(s)) {
			marked = append(marked, s)
		}
	}
	for _, word := range words {
		if !slices.ContainsFunc(scan, func(s string) bool { return spelled(s) == word }) {
			missing = append(missing, word)
		}
	}
	if len(missing) == 0 {
		missing = marked
	}
	var steps []func() error
	for _, s := range missing {
		steps = append(steps, func() error { return w.ToggleScan(position, s) })
	}
	return w.together(steps...)
}

// spelled is a selector in the spelling of the rules.
func spelled(s string) string {
	if s == "neighbours" {
		return plan.Neighbors
	}
	return s
}

// leading are words in the names of positions that lead others. The list is ours.
var leading = []string{"boss", "captain", "chief", "commander", "foreman", "lead", "leader", "officer", "superintendent", "supervisor"}

func leads(position string) bool {
	return slices.ContainsFunc(strings.Fields(strings.ToLower(position)), func(word string) bool { return slices.Contains(leading, word) })
}

// ProposeListening are positions as they might listen, where nothing is said yet: every
// seat gives priority to its own division's tactical; whoever leads hears the neighbors
// and command, too, and aircraft while they work the fire (common practice), as far as
// no seat then scans more slots than the plan allows.
func (w *Work) ProposeListening() (all []plan.Position) {
	for _, p := range w.Positions() {
		now := plan.Position{Name: p.Name, Priority: p.Priority, Scan: slices.Clone(p.Scan)}
		w.fillListening(&now)
		if now.Priority != p.Priority || len(now.Scan) != len(p.Scan) {
			all = append(all, now)
		}
	}
	return all
}

func (w *Work) fillListening(p *plan.Position) {
	if p.Priority == "" {
		p.Priority = "own"
	}
	if len(p.Scan) > 0 || !leads(p.Name) {
		return
	}
	p.Scan = plan.Names{plan.Neighbors, radio.Command.String()}
	if w.plan.Incident.Aircraft {
		p.Scan = append(p.Scan, radio.AirToGround.String())
	}
	r := w.resolved()
	limit := plan.DefaultScanLimit
	for _, c := range []*plan.CardOptions{w.stationCard(), &w.plan.Card} {
		if c != nil && c.ScanLimit != nil {
			limit = *c.ScanLimit
		}
	}
	for r != nil && len(p.Scan) > 0 && scans(r, p) > limit {
		p.Scan = p.Scan[1:] // the neighbors are the most
	}
}

// stationCard are the settings of the base, where the plan has none of its own.
func (w *Work) stationCard() *plan.CardOptions {
	if w.station == nil || w.plan.Has("card") {
		return nil
	}
	return &w.station.Card
}

// scans is how many slots a seat scans at most, in whatever division.
func scans(r *plan.Resolved, p *plan.Position) (most int) {
	for _, l := range r.Lists {
		divisions := l.Divisions
		if len(r.Plan.Divisions) == 0 {
			divisions = []*plan.Division{nil}
		}
		for _, d := range divisions {
			n := 0
			for _, m := range r.MarksFor(p, l, d) {
				if m.Scan {
					n++
				}
			}
			most = max(most, n)
		}
	}
	return most
}

// TakeListening takes over what [Work.ProposeListening] proposes.
func (w *Work) TakeListening() error {
	var steps []func() error
	for _, now := range w.ProposeListening() {
		steps = append(steps, func() error {
			return w.seatKind(now.Name, func(e *edit.Editor, p *plan.Position) {
				if p.Priority != now.Priority {
					put(e, p.Table, "priority", now.Priority)
				}
				if len(p.Scan) != len(now.Scan) {
					put(e, p.Table, "scan", now.Scan)
				}
			})
		})
	}
	if len(steps) == 0 {
		return errors.New("nothing is proposed: each seat has its priority, and whoever leads listens to others")
	}
	return w.together(steps...)
}

// AddPosition adds a kind of seat, which listens as is proposed for it.
func (w *Work) AddPosition(name string) error {
	name = clean(name)
	if name == "" {
		return errors.New("a position needs a name")
	}
	if slices.ContainsFunc(w.Positions(), func(p *plan.Position) bool { return p.Name == name }) {
		return fmt.Errorf("there is a position %s already", name)
	}
	now := plan.Position{Name: name}
	w.fillListening(&now)
	keys := tomlfile.Pairs{{Key: "name", Value: name}, {Key: "priority", Value: now.Priority}}
	if len(now.Scan) > 0 {
		keys = append(keys, tomlfile.Pair{Key: "scan", Value: []string(now.Scan)})
	}
	return w.together(w.ownPositions, func() error {
		return w.change(func(e *edit.Editor) {
			last := tomlfile.Table{}
			if n := len(w.plan.Positions); n > 0 {
				last = w.plan.Positions[n-1].Table
			}
			w.near(e, last, edit.Table{Header: "[[position]]", Keys: keys})
		})
	})
}
