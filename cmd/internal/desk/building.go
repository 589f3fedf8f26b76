package desk

import (
	"errors"
	"fmt"
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
	if p.State.Problem != "" && (p.State.Load == nil || len(p.State.Text) == 0) {
		return nil, fmt.Errorf("%s: %s; mend that first, then the plan can be changed here", p.File, p.State.Problem)
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
// the page. Where another is there now, as when keys are faster than pages, the one of
// that name is meant; where there is none, or several, nothing is done.
func (p *Page) item(name func(i int) string) (int, error) {
	i, err := strconv.Atoi(p.Ask("i"))
	asked := p.Ask("name")
	if err != nil || asked == "" {
		return 0, errChanged
	}
	if name(i) == asked {
		return i, nil
	}
	at := -1
	for k := 0; name(k) != ""; k++ {
		if name(k) == asked && at >= 0 {
			return 0, errChanged
		} else if name(k) == asked {
			at = k
		}
	}
	if at < 0 {
		return 0, errChanged
	}
	return at, nil
}

// place is where a row is moved to, which is said of the rows as the page showed them:
// it must still stand where it stood there.
func (p *Page) place(i int) (int, error) {
	to, err := strconv.Atoi(p.Ask("to"))
	if err != nil || p.Ask("i") != strconv.Itoa(i) {
		return 0, errChanged
	}
	return to, nil
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
