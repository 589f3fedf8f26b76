package desk

import (
	"errors"
	"path/filepath"
	"strconv"
	"strings"

	"slotcard/plan"
	"slotcard/plan/build"
	"slotcard/plan/finding"
)

// What the views share that build a plan. Each post is one change of plan/build; the
// page that follows shows the file as it is then.

// work is the plan as it lies on the disk, to be built on.
func (p *Page) work() (*build.Work, error) {
	if p.State.Kind == "load" || p.State.Kind == "station" {
		return nil, errors.New("this file is no plan")
	}
	var station *plan.Station
	if p.State.Plan != nil {
		station = p.State.Plan.Plan.Station
	}
	return build.Open(filepath.FromSlash(p.File), p.State.Text, p.State.Load, station)
}

// build makes a change of the plan and writes it. One follows the other: none is made
// of a text that another has replaced.
func (p *Page) build(change func(w *build.Work) error) error {
	p.desk.building.Lock()
	defer p.desk.building.Unlock()
	p.State = p.desk.shelf.get(p.File)
	w, err := p.work()
	if err != nil {
		return err
	}
	if err := change(w); err != nil {
		return err
	}
	local := filepath.FromSlash(p.File)
	if err := p.write(map[string][]byte{local: p.State.Text}, map[string][]byte{local: w.Text()}); err != nil {
		return err
	}
	p.State = p.desk.shelf.get(p.File)
	return nil
}

// item is which row a form is about: its number, from 0, and the name that it had on
// the page. Another there now is an error, and nothing is done.
func (p *Page) item(name func(i int) string) (int, error) {
	i, err := strconv.Atoi(p.Ask("i"))
	if err != nil || name(i) != p.Ask("name") {
		return 0, errChanged
	}
	return i, nil
}

// RowFinding is what the checks say at a row.
type RowFinding struct {
	Severity, Message, Address string
}

// findingsAt are those of the table with its header in a line of the plan.
func (p *Page) findingsAt(header int) (out []RowFinding) {
	for n, f := range p.State.Findings {
		at := []finding.Place{f.Place}
		for _, r := range f.Related {
			at = append(at, r.Place)
		}
		for _, place := range at {
			if filepath.ToSlash(place.File) != p.File || place.Line == 0 || headerOf(string(p.State.Text), place.Line) != header {
				continue
			}
			out = append(out, RowFinding{f.Severity.String(), f.Message, p.At("findings", "n", n+1)})
			break
		}
	}
	return out
}

// headerOf is the line of the header of the table that a line belongs to.
func headerOf(text string, line int) int {
	header, _ := tableOf(text, text, line)
	return header
}

// fields are the ids that somebody typed one behind the other.
func fields(s string) plan.Names {
	return strings.FieldsFunc(s, func(r rune) bool { return r == ',' || r == ' ' || r == ';' })
}
