// Package successor makes the plan that follows another: the same text with the
// few keys changed that tell the two apart. Start with [Next].
//
// Everything else stays as it is written, comments too. Nothing here reads the
// clock: the period's own length says when the next one is.
package successor

import (
	"fmt"
	"time"

	"slotcard/plan"
	"slotcard/plan/edit"
	"slotcard/plan/tomlfile"
)

// Paths are the load and the station file as the new plan is to name them; ""
// leaves a name as it is.
type Paths struct{ Load, Base string }

// Next is the plan of the next operational period: its number is one higher, its
// times are later by the length of the period, and it is no revision. An error
// completes the sentence that begins with the file's name.
func Next(name string, text []byte, paths Paths) ([]byte, *plan.Incident, error) {
	var p plan.Plan
	file, _ := tomlfile.Decode(name, text, &p)
	i := &p.Incident
	for _, key := range []string{"period", "from", "to"} {
		if !i.Has(key) || !i.OK(key) {
			return nil, nil, fmt.Errorf("has no %s that can be read, from which the next period follows; to see why, type: slotcard check %s", key, name)
		}
	}
	length := i.To.Sub(i.From)
	if length <= 0 {
		return nil, nil, fmt.Errorf("ends its period before it begins; correct from and to")
	}
	next := *i
	next.Period++
	next.Revision, next.RevisedAt = 0, time.Time{}
	e := edit.Open(file)
	e.Set(i.Table, "period", next.Period)
	for _, t := range []struct {
		key string
		at  *time.Time
	}{{"from", &next.From}, {"to", &next.To}, {"prepared_at", &next.PreparedAt}} {
		if i.Has(t.key) && i.OK(t.key) {
			*t.at = t.at.Add(length)
			e.Set(i.Table, t.key, edit.Raw(t.at.Format(time.RFC3339Nano)))
		}
	}
	for _, key := range []string{"revision", "revised_at"} {
		if i.Has(key) {
			e.Delete(i.Table, key)
		}
	}
	for _, f := range []struct{ key, name string }{{"load", paths.Load}, {"base", paths.Base}} {
		if f.name != "" && p.Has(f.key) {
			e.Set(p.Table, f.key, f.name)
		}
	}
	out, err := e.Text()
	if err != nil {
		return nil, nil, fmt.Errorf("cannot be continued: %w", err)
	}
	return out, &next, nil
}
