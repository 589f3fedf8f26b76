package desk

import (
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"slotcard/cmd/internal/files"
	"slotcard/plan"
	"slotcard/plan/build"
	"slotcard/plan/cells"
	plansheet "slotcard/plan/sheet"
)

func init() {
	register(&View{Name: "roster", Title: "Roster", Place: 5, Kinds: []string{"plan"}, Data: rosterData,
		Do: map[string]func(*Page) (string, error){"set": setUnit, "add": addUnit, "delete": deleteUnit, "move": moveUnit, "letter": letterUnit, "paste": pasteUnits}})
}

// RosterTable is the units of the plan as a table.
type RosterTable struct {
	Positions []string
	Divisions []string
	Rows      []RosterRow
	Station   bool // the rows are the station's
}

// RosterRow is a unit; its seats are in the order of the positions, "" for none.
type RosterRow struct {
	I                          int
	Name, Kind, Team, Division string
	Seats                      []string
	Found                      []RowFinding
}

func positionsOf(w *build.Work) (names []string) {
	for _, p := range w.Positions() {
		names = append(names, p.Name)
	}
	for _, u := range w.Units() {
		for _, s := range u.Seats {
			if !slices.Contains(names, s.Position) {
				names = append(names, s.Position)
			}
		}
	}
	return names
}

func rosterData(p *Page) (any, error) {
	w, err := p.work()
	if err != nil {
		return nil, err
	}
	v := &RosterTable{Positions: positionsOf(w), Station: !w.Plan().Has("unit") && len(w.Units()) > 0}
	for _, d := range w.Plan().Divisions {
		v.Divisions = append(v.Divisions, d.ID)
	}
	for i, u := range w.Units() {
		row := RosterRow{I: i, Name: u.Name, Kind: u.Kind, Team: u.Team, Division: u.Division, Seats: make([]string, len(v.Positions))}
		for _, s := range u.Seats {
			if s.Count > 0 {
				row.Seats[slices.Index(v.Positions, s.Position)] = strconv.Itoa(s.Count)
			}
		}
		if !v.Station {
			row.Found = p.findingsAt(u.At("").Line)
		}
		v.Rows = append(v.Rows, row)
	}
	return v, nil
}

func (p *Page) unit(w *build.Work) (build.Row, error) {
	r := build.Row{Name: p.Ask("unit"), Kind: p.Ask("kind"), Team: p.Ask("team"), Division: p.Ask("division")}
	for i, name := range positionsOf(w) {
		n, err := seatCount(p.Ask(fmt.Sprintf("seat%d", i)), name)
		if err != nil {
			return r, err
		}
		if n > 0 {
			r.Seats = append(r.Seats, plan.Seat{Position: name, Count: n})
		}
	}
	return r, nil
}

// seatCount is how many seats of a position somebody typed; nothing is none.
func seatCount(text, position string) (int, error) {
	if text = strings.TrimSpace(text); text == "" {
		return 0, nil
	}
	n, err := strconv.Atoi(text)
	if err != nil || n < 0 || n > 99 {
		return 0, fmt.Errorf("%q is no number of seats, from 0 to 99, of %s", text, position)
	}
	return n, nil
}

func (p *Page) unitDo(change func(w *build.Work, i int) error) (string, error) {
	return "", p.build(func(w *build.Work) error {
		i, err := p.item(func(i int) string {
			if i < 0 || i >= len(w.Units()) {
				return ""
			}
			return w.Units()[i].Name
		})
		if err != nil {
			return err
		}
		return change(w, i)
	})
}

func setUnit(p *Page) (string, error) {
	return p.unitDo(func(w *build.Work, i int) error {
		r, err := p.unit(w)
		if err != nil {
			return err
		}
		// Seats stay in the order in which the file has them.
		order := func(s plan.Seat) int {
			k := slices.IndexFunc(w.Units()[i].Seats, func(o plan.Seat) bool { return o.Position == s.Position })
			if k < 0 {
				k = len(w.Units()[i].Seats)
			}
			return k
		}
		slices.SortStableFunc(r.Seats, func(a, b plan.Seat) int { return order(a) - order(b) })
		return w.SetUnit(i, r)
	})
}

func addUnit(p *Page) (string, error) {
	return "", p.build(func(w *build.Work) error {
		r, err := p.unit(w)
		if err != nil {
			return err
		}
		return w.AddUnit(r)
	})
}

func deleteUnit(p *Page) (string, error) {
	return p.unitDo(func(w *build.Work, i int) error { return w.DeleteUnit(i) })
}

func moveUnit(p *Page) (string, error) {
	return p.unitDo(func(w *build.Work, i int) error {
		to, err := strconv.Atoi(p.Ask("to"))
		if err != nil {
			return errChanged
		}
		return w.MoveUnit(i, to)
	})
}

// letterUnit puts a unit into a division.
func letterUnit(p *Page) (string, error) {
	return p.unitDo(func(w *build.Work, i int) error {
		r := unitRow(w.Units()[i])
		r.Division = p.Ask("letter")
		return w.SetUnit(i, r)
	})
}

func unitRow(u *plan.Unit) build.Row {
	return build.Row{Name: u.Name, Kind: u.Kind, Team: u.Team, Division: u.Division, Seats: slices.Clone(u.Seats)}
}

// fillCells writes cells into the table from a row and a column on, both from 0: an
// empty cell empties what stands there, and what finds no place is an error.
func fillCells(w *build.Work, text string, row, column int) error {
	positions := positionsOf(w)
	lines := strings.Split(strings.TrimRight(strings.ReplaceAll(text, "\r\n", "\n"), "\n"), "\n")
	if row < 0 || row >= len(w.Units()) {
		return errChanged
	}
	if there := len(w.Units()) - row; len(lines) > there {
		return fmt.Errorf("%d rows were pasted, and from %s on the table has %d: nothing was taken over", len(lines), w.Units()[row].Name, there)
	}
	for k, line := range lines {
		r := unitRow(w.Units()[row+k])
		for c, cell := range strings.Split(line, "\t") {
			cell = strings.TrimSpace(cell)
			switch at := column + c - 4; {
			case at >= len(positions):
				return fmt.Errorf("the table has no column for %q: nothing was taken over", cell)
			case at >= 0:
				n, err := seatCount(cell, positions[at])
				if err != nil {
					return err
				}
				set := slices.IndexFunc(r.Seats, func(s plan.Seat) bool { return s.Position == positions[at] })
				if set < 0 {
					set = len(r.Seats)
					r.Seats = append(r.Seats, plan.Seat{Position: positions[at]})
				}
				r.Seats[set].Count = n
			default:
				*[]*string{&r.Name, &r.Kind, &r.Team, &r.Division}[column+c] = cell
			}
		}
		if err := w.SetUnit(row+k, r); err != nil {
			return err
		}
	}
	return nil
}

// pasteUnits takes over cells of a spreadsheet, or a file: with a row of titles as the
// command line reads a roster, without one in the order of the table's columns, or
// from the column and row on that they were pasted into.
func pasteUnits(p *Page) (string, error) {
	text, name := []byte(p.Ask("cells")), "pasted.tsv"
	if f, head, err := p.Request.FormFile("file"); err == nil {
		defer f.Close()
		if text, err = files.ReadAll(f, cells.MaxFile); err != nil {
			return "", err
		}
		name = head.Filename
	} else if len(strings.TrimSpace(string(text))) == 0 {
		return "", errors.New("there are no cells to paste")
	}
	return "", p.build(func(w *build.Work) error {
		roster, err := plansheet.ReadRoster(text, name)
		if err != nil && name == "pasted.tsv" {
			titles := append([]string{"Unit", "Kind", "Team", "Division"}, positionsOf(w)...)
			if from, _ := strconv.Atoi(p.Ask("from")); from > 0 {
				row, err := strconv.Atoi(p.Ask("row"))
				if err != nil {
					return errors.New("a new row begins with its unit: paste from the first column on")
				}
				return fillCells(w, string(text), row, from)
			}
			if r, again := plansheet.ReadRoster([]byte(strings.Join(titles, "\t")+"\n"+string(text)), name); again == nil {
				roster, err = r, nil
			}
		}
		if err != nil {
			return fmt.Errorf("what was pasted %w", err)
		}
		if len(roster.NotRead) > 0 {
			c := roster.NotRead[0]
			return fmt.Errorf("nothing was taken over: %s of what was pasted is no part of a roster: %q", c.Place(roster.Word), c.Text)
		}
		var rows []build.Row
		for _, u := range roster.Units {
			rows = append(rows, build.Row{Name: u.Name, Kind: u.Kind, Team: u.Team, Division: u.Division, Seats: u.Seats})
		}
		_, _, err = w.Merge(rows)
		return err
	})
}
