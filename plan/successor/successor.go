// Package successor makes the plan that follows another: the same text with the
// few keys changed that tell the two apart. Start with [Next], or with [Revise] for
// a change within the period.
//
// Everything else stays as it is written, comments too. Nothing here reads the
// clock: the period's own length says when the next one is.
package successor

import (
	"errors"
	"fmt"
	"strings"
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
	p, file, err := decode(name, text, "the next period")
	if err != nil {
		return nil, nil, err
	}
	i := &p.Incident
	length := i.To.Sub(i.From)
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
	return written(e, p, paths, &next)
}

// Revise is the next revision of the same period, made at a time within it: 2 where
// the plan is none yet. An error completes the sentence that begins with the file's
// name.
func Revise(name string, text []byte, paths Paths, at time.Time) ([]byte, *plan.Incident, error) {
	p, file, err := decode(name, text, "the next revision")
	if err != nil {
		return nil, nil, err
	}
	i := &p.Incident
	switch {
	case i.Has("revision") && !i.OK("revision"):
		return nil, nil, fmt.Errorf("has no revision that can be read; to see why, type: slotcard check %s", name)
	case at.Before(i.From) || at.After(i.To):
		return nil, nil, fmt.Errorf("has a period from %s to %s, and %s is not in it: another period is made with slotcard next",
			Minute(i.From), Minute(i.To), Minute(at))
	case i.OK("revised_at") && at.Before(i.RevisedAt):
		return nil, nil, fmt.Errorf("was revised at %s, and its next revision cannot be earlier, at %s", Minute(i.RevisedAt), Minute(at))
	}
	next := *i
	next.Revision, next.RevisedAt = max(i.Revision+1, plan.FirstRevision), at
	e := edit.Open(file)
	e.Set(i.Table, "revision", next.Revision)
	e.Set(i.Table, "revised_at", edit.Raw(at.Format(time.RFC3339Nano)))
	return written(e, p, paths, &next)
}

// Period is when the period of a plan begins and ends. An error completes the
// sentence that begins with the file's name.
func Period(name string, text []byte) (from, to time.Time, err error) {
	p, _, err := decode(name, text, "the next revision")
	if err != nil {
		return from, to, err
	}
	return p.Incident.From, p.Incident.To, nil
}

// At reads when a plan was revised: a time of day, "13:05", which is taken in the
// period, by the offset of its begin and past midnight where it goes past it, or a
// whole time with its offset, "2027-08-14T13:05-06:00".
func At(word string, from, to time.Time) (time.Time, error) {
	word = strings.TrimSpace(word)
	for _, form := range []string{time.RFC3339, "2006-01-02T15:04Z07:00", "2006-01-02 15:04:05Z07:00", "2006-01-02 15:04Z07:00", "2006-01-02 15:04 Z07:00"} {
		if at, err := time.Parse(form, word); err == nil {
			return at, nil
		}
	}
	day, err := time.Parse("15:04", word)
	if err != nil {
		return day, fmt.Errorf("%.40q is no time; write the time of day, such as %s, or all of it: %s",
			word, from.Format("15:04"), from.Format(time.RFC3339))
	}
	year, month, date := from.Date()
	first := time.Date(year, month, date, day.Hour(), day.Minute(), 0, 0, from.Location())
	if first.Before(from) && first.Add(time.Minute).After(from) {
		first = from // the period begins within this minute
	}
	var fit []time.Time
	for at := first; !at.After(to) && len(fit) < 2; at = at.AddDate(0, 0, 1) {
		if !at.Before(from) {
			fit = append(fit, at)
		}
	}
	switch len(fit) {
	case 0:
		return day, fmt.Errorf("%s is not within the period, from %s to %s", word, Minute(from), Minute(to))
	case 1:
		return fit[0], nil
	}
	return day, fmt.Errorf("%s comes more than once in the period, from %s to %s; write the day, too: %s",
		word, Minute(from), Minute(to), fit[0].Format(time.RFC3339))
}

// Minute is a time as it is said to people.
func Minute(at time.Time) string { return at.Format("2006-01-02 15:04 -07:00") }

// decode reads a plan of which another is made; what says which.
func decode(name string, text []byte, what string) (*plan.Plan, *tomlfile.File, error) {
	p := new(plan.Plan)
	file, _ := tomlfile.Decode(name, text, p)
	i := &p.Incident
	for _, key := range []string{"period", "from", "to"} {
		if !i.Has(key) || !i.OK(key) {
			return nil, nil, fmt.Errorf("has no %s that can be read, from which %s follows; to see why, type: slotcard check %s", key, what, name)
		}
	}
	if !i.To.After(i.From) {
		return nil, nil, errors.New("ends its period before it begins; correct from and to")
	}
	return p, file, nil
}

// written is the text of the new plan.
func written(e *edit.Editor, p *plan.Plan, paths Paths, next *plan.Incident) ([]byte, *plan.Incident, error) {
	for _, f := range []struct{ key, name string }{{"load", paths.Load}, {"base", paths.Base}} {
		if f.name != "" && p.Has(f.key) {
			e.Set(p.Table, f.key, f.name)
		}
	}
	out, err := e.Text()
	if err != nil {
		return nil, nil, fmt.Errorf("cannot be continued: %w", err)
	}
	return out, next, nil
}
