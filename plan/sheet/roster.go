package sheet

import (
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"slotcard/plan"
	"slotcard/plan/cells"
)

// Roster is who sits where: units with their seats.
type Roster struct {
	Units   []*plan.Unit
	NotRead []Cell // what nothing was made of
	Word    string // what its lines are called: "line" or "row"
}

// rosterColumn is what a column of a roster is about.
type rosterColumn uint8

const (
	noColumn rosterColumn = iota
	unitColumn
	kindColumn
	teamColumn
	divisionColumn
	positionColumn // one person a row
	personColumn
	countColumn // how many of the position that its title names
	totalColumn
)

// rosterTitles are how the columns of rosters are called (common practice).
var rosterTitles = []struct {
	column rosterColumn
	title  pattern
}{
	{totalColumn, compiled(`(?i)^(total|sum|#? ?(of )?(persons|people|personnel|seats)|count)$`)},
	{teamColumn, compiled(`(?i)^(team|strike team|task force|st ?/ ?tf|st|group|leader'?s team)$`)},
	{kindColumn, compiled(`(?i)^(kind|type|kind ?(/|and|&) ?type|resource type|unit type)$`)},
	{divisionColumn, compiled(`(?i)^(division|div\.?|div ?/ ?gr(ou)?p|division ?/ ?group|assignment|assigned( to)?)$`)},
	{positionColumn, compiled(`(?i)^(position|seat|role|job|title)$`)},
	{personColumn, compiled(`(?i)^(person|who|name of person|crew ?member|last name|first name|firefighter name|member)$`)},
	{unitColumn, compiled(`(?i)^(unit|units|resource|resource identifier|resource id|unit id|engine|apparatus|unit name|call ?sign|identifier|rig)$`)},
}

// ReadRoster reads a roster: CSV, a workbook or text, with a row of titles. It has
// a column of units and, as they are there, of kind, team and division; and either
// a column for each position with how many, or a position in each row, one person
// a row. An error completes the sentence that begins with the file's name.
func ReadRoster(data []byte, fileName string) (*Roster, error) {
	book, err := cells.Read(data, fileName)
	if err != nil {
		return nil, err
	}
	for _, page := range book.Sheets {
		if page.Hidden {
			continue
		}
		g, err := gridOf(page)
		if err != nil {
			return nil, err
		}
		for i := range g.rows {
			columns, seats := rosterColumns(g.rows, i)
			if columns == nil {
				continue
			}
			if !seats {
				return nil, fmt.Errorf("has units on %s, but no seats: it needs a column for each position with how many, or one with the position, one person a row", page.RowPlace(g.lines[i]))
			}
			r := &Roster{Word: wordOf(page)}
			return r, r.read(g, i, columns)
		}
	}
	return nil, errors.New("has no row with the titles of a roster: it needs Unit, and a column for each position with how many, or Position, one person a row")
}

// rosterColumns are the columns that a row gives the titles of; nil where it is
// none of titles.
func rosterColumns(rows [][]string, at int) (columns []rosterColumn, seats bool) {
	columns = make([]rosterColumn, len(rows[at]))
	for k, text := range rows[at] {
		for _, t := range rosterTitles {
			if text != "" && t.title().MatchString(text) && !slices.Contains(columns[:k], t.column) {
				columns[k] = t.column
				break
			}
		}
	}
	if !slices.Contains(columns, unitColumn) {
		return nil, false
	}
	seats = slices.Contains(columns, positionColumn)
	for k, text := range rows[at] {
		if columns[k] != noColumn || text == "" || seats {
			continue
		}
		counts, others := 0, 0
		for _, row := range rows[at+1:] {
			switch {
			case k >= len(row) || row[k] == "":
			case seatCount(row[k]) >= 0:
				counts++
			default:
				others++
			}
		}
		if counts > 0 && counts > others {
			columns[k] = countColumn
		}
	}
	return columns, seats || slices.Contains(columns, countColumn)
}

// seatCount is how many seats a cell says; -1 where it says none.
func seatCount(text string) int {
	if strings.EqualFold(text, "x") || text == "✓" {
		return 1
	}
	if text == "-" || text == "–" {
		return 0
	}
	n, err := strconv.Atoi(strings.TrimSuffix(text, ".0"))
	if err != nil || n < 0 || n > 99 {
		return -1
	}
	return n
}

func (r *Roster) read(g grid, titles int, columns []rosterColumn) error {
	byName := map[string]*plan.Unit{}
	last := ""
	for i := titles + 1; i < len(g.rows); i++ {
		row := map[rosterColumn]string{}
		for k, text := range g.rows[i] {
			if k < len(columns) && columns[k] != countColumn && columns[k] != noColumn {
				row[columns[k]] = text
			}
		}
		personal := slices.Contains(columns, positionColumn)
		if row[unitColumn] == "" && personal && row[positionColumn] != "" {
			row[unitColumn] = last // written once, above its people
		}
		name := row[unitColumn]
		if again, _ := rosterColumns(g.rows, i); again != nil {
			continue
		}
		if name == "" || strings.EqualFold(strings.Trim(name, ": "), "total") || personal && row[positionColumn] == "" && row[kindColumn]+row[teamColumn]+row[divisionColumn] == "" {
			r.leave(g, i, func(int) bool { return true })
			continue
		}
		last = name
		u := byName[name]
		if u == nil || !personal {
			u = &plan.Unit{Name: name}
			byName[name] = u
			if r.Units = append(r.Units, u); len(r.Units) > MaxRows {
				return fmt.Errorf("has more than %d units", MaxRows)
			}
		}
		u.Kind, u.Team = either(u.Kind, row[kindColumn]), either(u.Team, row[teamColumn])
		u.Division = either(u.Division, bareDivision(row[divisionColumn]))
		if p := row[positionColumn]; p != "" {
			u.Seats = addSeat(u.Seats, p, 1)
		}
		for k, text := range g.rows[i] {
			if k < len(columns) && columns[k] == countColumn {
				if n := seatCount(text); n > 0 {
					u.Seats = addSeat(u.Seats, g.rows[titles][k], n)
				}
			}
		}
		r.leave(g, i, func(k int) bool {
			return k >= len(columns) || columns[k] == noColumn || columns[k] == countColumn && seatCount(g.rows[i][k]) < 0
		})
	}
	if len(r.Units) == 0 {
		return errors.New("has the titles of a roster, but no unit below them")
	}
	return nil
}

// leave shows cells of a row as not read.
func (r *Roster) leave(g grid, i int, which func(int) bool) {
	for k, text := range g.rows[i] {
		if text != "" && which(k) {
			r.NotRead = append(r.NotRead, Cell{Line: g.lines[i], Column: k + 1, Text: text})
		}
	}
}

func either(a, b string) string {
	if a != "" {
		return a
	}
	return b
}

func addSeat(seats plan.Seats, position string, n int) plan.Seats {
	for i := range seats {
		if seats[i].Position == position {
			seats[i].Count += n
			return seats
		}
	}
	return append(seats, plan.Seat{Position: position, Count: n})
}

var bareText = compiled(`(?i)^(?:division|div|functional group|group|grp)[-. ]+([A-Z0-9]{1,8})$`)

// bareDivision is the id in "Division A" or "Div. A"; other words stay as they
// are.
func bareDivision(text string) string {
	if m := bareText().FindStringSubmatch(text); m != nil {
		return m[1]
	}
	return text
}
