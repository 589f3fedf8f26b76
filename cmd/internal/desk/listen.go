package desk

import (
	"errors"
	"slices"
	"strings"

	"slotcard/plan"
	"slotcard/plan/build"
)

func init() {
	register(&View{Name: "listen", Title: "Who listens", Place: 6, Kinds: []string{"plan"}, Data: listenData,
		Do: map[string]func(*Page) (string, error){"toggle": toggleScan, "priority": setPriority, "add": addPosition, "column": toggleColumn, "row": toggleRow, "suggest": takeListening}})
}

// Listening is what each kind of seat listens to.
type Listening struct {
	Selectors []SelectorColumn
	Propose   []string
	Limit     int
	Rows      []ListenRow
	Station   bool
}

// SelectorColumn is a selector, with the key that marks it in a row; with Shift, in all.
type SelectorColumn struct{ Word, Key, All string }

// selectorKeys are letters that the pages do not use.
var selectorKeys = map[string]string{"own": "o", plan.Neighbors: "n", "command": "c", "tactical": "t", "air-to-ground": "a", "guard": "g", "support": "s", "medical": "m", "all": "l"}

func selectorColumns() (all []SelectorColumn) {
	for _, w := range plan.SelectorWords() {
		all = append(all, SelectorColumn{w, selectorKeys[w], strings.ToUpper(selectorKeys[w])})
	}
	return all
}

// ListenRow is a position.
type ListenRow struct {
	I              int
	Name, Priority string
	Scans          map[string]bool
	Others         []string // selectors that are display names
	Counts         []ScanCount
}

// ScanCount is how many slots a seat of a division scans besides its priority.
type ScanCount struct {
	Division string
	N        int
	Over     bool
}

func listenData(p *Page) (any, error) {
	w, err := p.work()
	if err != nil {
		return nil, err
	}
	v := &Listening{Selectors: selectorColumns(), Limit: plan.DefaultScanLimit, Station: !w.Plan().Has("position") && len(w.Positions()) > 0}
	r := p.State.Plan
	if r != nil && r.Plan.Card.ScanLimit != nil {
		v.Limit = *r.Plan.Card.ScanLimit
	}
	for _, now := range w.ProposeListening() {
		s := now.Name + " gives priority to " + now.Priority
		if len(now.Scan) > 0 {
			s += ", and scans " + strings.Join(now.Scan, ", ")
		}
		v.Propose = append(v.Propose, s)
	}
	words := plan.SelectorWords()
	for i, pos := range w.Positions() {
		row := ListenRow{I: i, Name: pos.Name, Priority: pos.Priority, Scans: map[string]bool{}}
		for _, s := range pos.Scan {
			if !slices.Contains(words, written(s)) {
				row.Others = append(row.Others, s)
			}
			row.Scans[written(s)] = true
		}
		if r != nil {
			row.count(r, pos, v.Limit)
		}
		v.Rows = append(v.Rows, row)
	}
	return v, nil
}

// written is a selector as the page spells it.
func written(s string) string {
	if s == "neighbours" {
		return plan.Neighbors
	}
	return s
}

func (row *ListenRow) count(r *plan.Resolved, pos *plan.Position, limit int) {
	for _, l := range r.Lists {
		divisions := l.Divisions
		if len(r.Plan.Divisions) == 0 {
			divisions = []*plan.Division{nil}
		}
		for _, d := range divisions {
			n := 0
			for _, m := range r.MarksFor(pos, l, d) {
				if m.Scan {
					n++
				}
			}
			name := "all"
			if d != nil {
				name = d.ID
			}
			row.Counts = append(row.Counts, ScanCount{name, n, n > limit})
		}
	}
}

func toggleScan(p *Page) (string, error) {
	position, selector, ok := strings.Cut(p.Ask("mark"), "\t")
	if !ok {
		return "", errors.New("say who listens to what")
	}
	return "", p.build(func(w *build.Work) error {
		for _, pos := range w.Positions() {
			for _, s := range pos.Scan {
				if pos.Name == position && written(s) == selector {
					return w.ToggleScan(position, s)
				}
			}
		}
		return w.ToggleScan(position, selector)
	})
}

func toggleColumn(p *Page) (string, error) {
	return "", p.build(func(w *build.Work) error { return w.ToggleColumn(p.Ask("selector")) })
}

func toggleRow(p *Page) (string, error) {
	return "", p.build(func(w *build.Work) error { return w.ToggleRow(p.Ask("row")) })
}

func takeListening(p *Page) (string, error) {
	return "", p.build(func(w *build.Work) error { return w.TakeListening() })
}

func setPriority(p *Page) (string, error) {
	return "", p.build(func(w *build.Work) error { return w.SetPriority(p.Ask("position"), p.Ask("priority")) })
}

func addPosition(p *Page) (string, error) {
	return "", p.build(func(w *build.Work) error { return w.AddPosition(p.Ask("position")) })
}
