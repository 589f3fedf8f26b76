// Package build changes an incident plan as a person does who builds it: a channel
// into the list, a tactical to a division, a unit to the roster. Start with [Open].
//
// Each change is an edit of the file's text: comments, order and all that it is not
// about stay byte for byte. After each the file can be read as before, or the change
// was not made: then the error says why, in words for that person.
package build

import (
	"errors"
	"fmt"
	"strings"

	"slotcard/plan"
	"slotcard/plan/edit"
	"slotcard/plan/tomlfile"
)

// Work is a plan that is being built.
type Work struct {
	name    string
	load    *plan.Load
	station *plan.Station // that the plan has as its base; nil: none
	text    []byte
	plan    *plan.Plan // what the file itself says, without its base
	file    *tomlfile.File
}

// Open begins to build at the text of a plan. The load is what its channels are of,
// the station the file that it has as its base, or nil. A text that cannot be read to
// its end is an error: what is wrong with it must be corrected first.
func Open(name string, text []byte, load *plan.Load, station *plan.Station) (*Work, error) {
	w := &Work{name: name, load: load, station: station}
	if load == nil {
		return nil, errors.New("the plan has no load that can be read: correct that first")
	}
	if err := w.read(text); err != nil {
		return nil, err
	}
	return w, nil
}

func (w *Work) read(text []byte) error {
	p := new(plan.Plan)
	file, _ := tomlfile.Decode(w.name, text, p)
	if file == nil || file.Broken() {
		return errors.New("the file has lines that cannot be read: correct them first, at the findings")
	}
	w.text, w.plan, w.file = text, p, file
	return nil
}

// Text is the file as it is now.
func (w *Work) Text() []byte { return w.text }

// Plan is what the file itself says now, without what it has from its base.
func (w *Work) Plan() *plan.Plan { return w.plan }

// change makes edits of the file as it is, whole or not at all.
func (w *Work) change(gather func(e *edit.Editor)) error {
	e := edit.Open(w.file)
	gather(e)
	text, err := e.Text()
	if err != nil {
		return err
	}
	return w.read(text)
}

// together makes several changes, all of them or none.
func (w *Work) together(changes ...func() error) error {
	before := *w
	for _, c := range changes {
		if err := c(); err != nil {
			*w = before
			return err
		}
	}
	return nil
}

// put gives a key a value, or removes it where the value is empty.
func put(e *edit.Editor, t tomlfile.Table, key string, value any) {
	empty := false
	switch v := value.(type) {
	case string:
		empty = v == ""
	case bool:
		empty = !v
	case plan.Names:
		switch len(v) {
		case 0:
			empty = true
		case 1:
			value = v[0]
		default:
			value = []string(v)
		}
	}
	switch {
	case !empty:
		e.Set(t, key, value)
	case t.Has(key):
		e.Delete(t, key)
	}
}

// resolved is the plan with its channels looked up; its faults are for the rules.
func (w *Work) resolved() *plan.Resolved {
	p := new(plan.Plan)
	tomlfile.Decode(w.name, w.text, p)
	r, _ := plan.Resolve(p, w.load)
	return r
}

// SetIncident gives keys of the incident values: text, a number, true or false, or a
// time; what is empty is removed. Times are written with their offset.
func (w *Work) SetIncident(values tomlfile.Pairs) error {
	return w.change(func(e *edit.Editor) {
		t := w.plan.Incident.Table
		for _, p := range values {
			if text, ok := p.Value.(string); ok && p.Key == "instructions" && text != "" {
				was := w.plan.Incident.Instructions // blanks around it are the file's form
				if at := strings.Index(was, strings.TrimSpace(was)); at >= 0 && text == strings.TrimSpace(text) {
					text = was[:at] + text + was[at+len(strings.TrimSpace(was)):]
				}
				e.SetText(t, p.Key, text)
				continue
			}
			put(e, t, p.Key, p.Value)
		}
	})
}

// clean is a text as people type it into a field: one line, without space at its ends.
func clean(s string) string { return strings.Join(strings.Fields(s), " ") }

// near puts a table behind the last of its kind; the first of its kind goes where its
// kind belongs in a plan.
func (w *Work) near(e *edit.Editor, last tomlfile.Table, t edit.Table) {
	if last.Form() == tomlfile.Headed {
		e.InsertAfter(last, t)
		return
	}
	// The order of a plan's tables: see the template of a new one.
	kinds := []string{"slot", "division", "position", "unit", "also", "accept"}
	own, after := strings.Trim(t.Header, "[]"), false
	for _, kind := range kinds {
		if tables := w.file.Root().TablesIn(kind); after && len(tables) > 0 && tables[0].Form() == tomlfile.Headed {
			e.InsertBefore(tables[0], t)
			return
		}
		after = after || kind == own
	}
	e.Append(t)
}

// place is item i of n things, which a person sees from 1.
func place(i, n int, what string) error {
	if i < 0 || i >= n {
		return fmt.Errorf("there is no %s %d any more", what, i+1)
	}
	return nil
}
