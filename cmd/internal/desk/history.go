package desk

import (
	"errors"
	"path/filepath"
	"strings"
	"time"

	"github.com/rogpeppe/go-internal/diff"

	"slotcard/cmd/internal/files"
	"slotcard/cmd/internal/history"
	"slotcard/cmd/internal/report"
	"slotcard/plan"
	"slotcard/plan/changes"
)

func init() {
	register(&View{Name: "history", Title: "History", Place: 90, Kinds: []string{"plan", "load", "station"}, Data: historyData,
		Do: map[string]func(*Page) (string, error){"undo": undo, "redo": redo, "back": bringBack}})
}

// Former are the former versions of a file.
type Former struct {
	Rows []FormerRow
	More int
	Redo bool
}

// FormerRow is a version, and what changed when it was replaced.
type FormerRow struct {
	ID, Until  string
	Said       []string // what that means to those who carry the cards
	Gone, Come []string // lines of the file
	More       int
	Undone     bool
}

// mostFormer and mostDiffering bound what the page shows.
const (
	mostFormer    = 40
	mostDiffering = 8
)

func historyData(p *Page) (any, error) {
	name := filepath.FromSlash(p.File)
	all, err := history.List(p.desk.Folder, name)
	if err != nil {
		return nil, err
	}
	v := new(Former)
	next := p.State.Text
	is := p.resolvedOf(next)
	for i, f := range all {
		v.Redo = v.Redo || f.Undone
		if i >= mostFormer {
			v.More = len(all) - i
			break
		}
		text, err := history.Read(p.desk.Folder, name, f.ID)
		if err != nil {
			continue
		}
		row := FormerRow{ID: f.ID, Until: f.At.Format("2 Jan 15:04:05"), Undone: f.Undone || f.Aside}
		for i, line := range strings.Split(string(diff.Diff("a", text, "b", next)), "\n") {
			if i < 3 || line == "" || strings.TrimSpace(line[1:]) == "" {
				continue
			}
			to := &row.Gone
			switch line[0] {
			case '+':
				to = &row.Come
			case '-':
			default:
				continue
			}
			if len(row.Gone)+len(row.Come) == mostDiffering {
				row.More++
				continue
			}
			*to = append(*to, line[1:])
		}
		was := p.resolvedOf(text)
		if was != nil && is != nil {
			row.Said = report.ChangeLines(changes.Between(was, is))
		}
		next, is = text, was
		v.Rows = append(v.Rows, row)
	}
	return v, nil
}

// resolvedOf is a former text of a plan beside the load and station that are there now;
// nil where it has errors.
func (p *Page) resolvedOf(text []byte) *plan.Resolved {
	if p.State.Kind != "plan" {
		return nil
	}
	name := filepath.FromSlash(p.File)
	reader := files.NewReaderWithin(p.Ctx(), strings.NewReader(""), p.desk.Folder)
	read, load, found, err := plan.Read(name, plan.Options{ReadFile: func(n string) ([]byte, error) {
		if n == name {
			return text, nil
		}
		return reader.ReadFile(n)
	}})
	if err != nil || found.HasErrors() {
		return nil
	}
	r, found := plan.Resolve(read, load)
	if found.HasErrors() {
		return nil
	}
	return r
}

// turn goes to another version, and back to the page that asked.
func (p *Page) turn(to func(name string) error) (string, error) {
	p.desk.building.Lock()
	defer p.desk.building.Unlock()
	p.desk.writing.Lock() // the page of the file writes without building
	defer p.desk.writing.Unlock()
	target, err := p.desk.target(p.File)
	if err != nil {
		return "", err
	}
	if err := to(filepath.FromSlash(target)); err != nil {
		return "", err
	}
	p.desk.pages.wake()
	if back := p.Ask("back"); registered[back] != nil {
		return p.At(back, "by", p.Ask("by"), "in", p.Ask("in"), "q", p.Ask("q"), "table", p.Ask("table")), nil // the part of a file that is looked at
	}
	return "", nil
}

func undo(p *Page) (string, error) {
	return p.turn(func(name string) error { return history.Undo(p.whole(), p.desk.Folder, name, time.Now()) })
}

func redo(p *Page) (string, error) {
	return p.turn(func(name string) error { return history.Redo(p.whole(), p.desk.Folder, name, time.Now()) })
}

// bringBack makes a former version the file again.
func bringBack(p *Page) (string, error) {
	return p.turn(func(name string) error {
		text, err := history.Read(p.desk.Folder, name, p.Ask("id"))
		if err != nil {
			return errors.New("that version is not there any more")
		}
		return history.Write(p.whole(), p.desk.Folder, name, text, time.Now())
	})
}
