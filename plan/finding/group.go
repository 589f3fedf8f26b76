package finding

import (
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"
)

// Cause is what several findings of one rule have in common: correct it, and all
// of them are gone. [List.Group] makes one finding of them.
type Cause struct {
	// Name is what a person would call it, in the words of the file: the channel,
	// the seat, the key that is wrong. An [[accept]] may name it for all of them.
	// Without one the subject of a finding is its cause.
	Name string

	// Message is said of several, in place of what the first of them says; a %d in
	// it is how many subjects they are about. Without one the first speaks, and
	// tells of how many more places.
	Message string

	// Help is what to do about several, in place of what each of them says, and
	// Edits do it: their titles stand in Help.
	Help  []string
	Edits []Edit

	// Place is where several are corrected. Without one it is the first one's.
	Place Place
}

// mostHelp is how many lines of help one finding keeps of many.
const mostHelp = 6

// Group sorts the list, and makes one finding of those that have one cause: of
// one file, rule and severity, with the same name of their cause or, where none
// is named, the same subject. The places of the others are listed as related,
// each once, and their data under "each". A finding about nothing in particular
// stays by itself. Grouping again, with more findings added, is the same as
// grouping all of them at once.
func (l *List) Group() {
	type key struct {
		file, rule, cause string
		severity          Severity
	}
	l.Sort()
	at := map[key]int{}
	var groups []List
	for _, f := range *l {
		k := key{f.Place.File, f.Rule, f.cause(), f.Severity}
		if i, ok := at[k]; ok && k.cause != "" {
			groups[i].Add(f)
			continue
		}
		at[k] = len(groups)
		groups = append(groups, List{f})
	}
	*l = nil
	for _, g := range groups {
		if len(g) == 1 {
			l.Add(g[0])
			continue
		}
		var parts List
		for _, f := range g {
			for _, p := range f.Parts() {
				p.Severity = f.Severity // it may have been lowered, or raised, meanwhile
				parts.Add(p)
			}
		}
		parts.Sort()
		l.Add(together(parts))
	}
	l.Sort()
}

func (f *Finding) cause() string {
	if f.Cause.Name != "" {
		return f.Cause.Name
	}
	return f.Subject
}

// Parts are the findings of which this one was put together, itself where it
// stands alone.
func (f Finding) Parts() []Finding {
	if f.parts == nil {
		return []Finding{f}
	}
	return f.parts
}

// together makes one finding of those with one cause, in order of the file.
func together(parts []Finding) Finding {
	f := parts[0]
	if len(parts) == 1 {
		return f
	}
	f.parts = parts
	subjects := distinct(parts, func(p Finding) string { return p.Subject })
	if len(subjects) > 1 {
		f.Subject = f.cause()
	}
	if len(distinct(parts, func(p Finding) string { return p.Value })) > 1 {
		f.Value = ""
	}
	places := distinct(parts, func(p Finding) Place { return p.Place })
	switch {
	case f.Cause.Message != "":
		f.Message = strings.Replace(f.Cause.Message, "%d", strconv.Itoa(len(subjects)), 1)
	case len(places) == 1:
		f.Message += fmt.Sprintf(" (and %d more)", len(parts)-1)
	case len(places) == 2:
		f.Message += " (and 1 more place)"
	case len(places) > 2:
		f.Message += fmt.Sprintf(" (and %d more places)", len(places)-1)
	}
	f.Help, f.Edits = helpOf(parts), editsOf(parts)
	for _, e := range f.Edits {
		if !slices.Contains(f.Help, e.Title) {
			f.Help = append(f.Help, e.Title)
		}
	}
	f.settle()
	f.Details = nil
	f.Related = slices.Clone(f.Related)
	others := parts[1:]
	if !f.Cause.Place.IsZero() {
		f.Place, others = f.Cause.Place, parts
	}
	for _, p := range others {
		f.Related = append(f.Related, Related{p.Place, p.Message})
	}
	data := make([]map[string]any, 0, len(parts))
	for i, p := range parts {
		if len(places) == 1 { // of one place the words tell them apart
			f.Details = append(f.Details, p.Message)
		}
		if i > 0 {
			f.Related = append(f.Related, p.Related...)
		}
		for _, row := range p.Details {
			if !slices.Contains(f.Details, row) {
				f.Details = append(f.Details, row)
			}
		}
		if p.Data != nil {
			data = append(data, p.Data)
		}
	}
	f.Related = onePlaceEach(f.Place, f.Related)
	if len(data) > 0 {
		f.Data = maps.Clone(parts[0].Data)
		if f.Data == nil {
			f.Data = map[string]any{}
		}
		f.Data["each"] = data
	}
	return f
}

// onePlaceEach keeps the first word about each place but the finding's own.
func onePlaceEach(own Place, all []Related) []Related {
	seen := map[Place]bool{own: true}
	var out []Related
	for _, r := range all {
		if !seen[r.Place] {
			seen[r.Place] = true
			out = append(out, r)
		}
	}
	return out
}

// helpOf is what to do about all the parts, each line once.
func helpOf(parts []Finding) []string {
	if h := parts[0].Cause.Help; h != nil {
		return h
	}
	var all []string
	for _, p := range parts {
		for _, h := range p.Help {
			if !slices.Contains(all, h) {
				all = append(all, h)
			}
		}
	}
	if more := len(all) - mostHelp; more > 0 {
		all = append(all[:mostHelp:mostHelp], fmt.Sprintf("and %d more to do, one for each place", more))
	}
	return all
}

// editsOf are the edits of all parts made one. Where all offer the same, what is
// chosen is done at each place; where each has one of its own, all are made.
func editsOf(parts []Finding) []Edit {
	edits := slices.Clone(parts[0].Edits)
	if parts[0].Cause.Help != nil {
		return slices.Clone(parts[0].Cause.Edits)
	}
	for i := range edits {
		edits[i].Changes = slices.Clone(edits[i].Changes)
	}
	for _, p := range parts[1:] {
		if !alike(p.Edits, edits) {
			return inOne(parts)
		}
		for i, e := range p.Edits {
			edits[i].add(e.Changes)
		}
	}
	for i := range edits {
		edits[i].Sort()
	}
	return edits
}

// alike tells that two findings offer the same, each at its place.
func alike(a, b []Edit) bool {
	return slices.EqualFunc(a, b, func(a, b Edit) bool { return a.Title == b.Title })
}

// inOne is the one edit of each part, all of them together; nothing where a part
// has none, or leaves a choice.
func inOne(parts []Finding) []Edit {
	e := Edit{Title: fmt.Sprintf("do this at all %d places at once", len(parts))}
	for _, p := range parts {
		if len(p.Edits) != 1 {
			return nil
		}
		e.add(p.Edits[0].Changes)
	}
	e.Sort()
	return []Edit{e}
}

// add puts further changes to those of an edit, each once.
func (e *Edit) add(changes []Change) {
	for _, c := range changes {
		if !slices.Contains(e.Changes, c) {
			e.Changes = append(e.Changes, c)
		}
	}
}

func distinct[T comparable](parts []Finding, of func(Finding) T) []T {
	seen := map[T]bool{}
	var out []T
	for _, p := range parts {
		if v := of(p); !seen[v] {
			seen[v] = true
			out = append(out, v)
		}
	}
	return out
}
