// Package report is how findings and answers look: as text for people, and as
// JSON and SARIF for programs. Start with [Findings]; each answer has a document
// of its own, and text that says the same. Field names stay: scripts read them.
//
// All documents are in one style: keys in snake_case, frequencies as whole hertz
// in keys that end in _hz, and what would be empty is left out.
package report

import (
	"slices"
	"strings"
	"unicode/utf8"

	"slotcard/cmd/internal/voice"
	"slotcard/plan/finding"
	"slotcard/plan/rules"
)

// Depth is how much of a finding is shown.
type Depth uint8

const (
	Brief    Depth = iota // one line each: for programs and files
	WithHelp              // source line, help and related places: for a terminal
	WithAll               // details as well: --long
)

// Findings prints a list in the format that README.md describes.
func Findings(v *voice.Voice, l finding.List, d Depth) {
	for _, f := range l {
		one(v, f, d)
		if d > Brief {
			v.Gap()
		}
	}
}

// mostAlso is how many related places are shown without --long: one cause may
// show in hundreds.
const mostAlso = 3

// HowToGetHelp says, below findings of one line each, how to see what to do.
func HowToGetHelp(v *voice.Voice, l finding.List, d Depth, names []string) {
	if len(l) == 0 || d > Brief {
		return
	}
	words := make([]string, len(names))
	for i, n := range names {
		words[i] = voice.Typed(n)
	}
	if len(words) > mostAlso {
		words = append(words[:mostAlso], "...")
	}
	v.Tell("to see what to do about each, type: slotcard check --long %s", strings.Join(words, " "))
}

// mostAccepted is how many accepted exceptions are listed without --long.
const mostAccepted = 20

// Accepted says, below findings of one line each, what was accepted and who answers
// for it: what help says where it is shown.
func Accepted(v *voice.Voice, l finding.List, d Depth) {
	if d > Brief {
		return
	}
	n := 0
	for _, f := range l {
		by, _ := f.Data["accepted_by"].(string)
		if f.Severity != finding.Note || by == "" {
			continue
		}
		if n++; n > mostAccepted {
			continue
		}
		f = f.Bounded()
		for _, said := range f.Help {
			v.Tell("%s: %s [%s]", said, f.Message, f.Rule)
		}
	}
	if more := n - mostAccepted; more > 0 {
		v.Tell("and %s; --long shows all", voice.Count(more, "more accepted exception", "more accepted exceptions"))
	}
}

func one(v *voice.Voice, f finding.Finding, d Depth) {
	f = f.Bounded()
	v.Say("%s", f.String())
	if d == Brief {
		return
	}
	source(v, f.Place)
	for _, h := range f.Help {
		v.Say("help: %s", h)
	}
	for i, h := range rules.HowToAccept(f) {
		if i == 0 {
			v.Say("help: %s", h)
		} else {
			v.Say("  %s", h)
		}
	}
	for i, r := range f.Related {
		if i == mostAlso && d < WithAll && len(f.Related) > mostAlso+1 {
			v.Say("%d more places with --long", len(f.Related)-i)
			break
		}
		v.Say("also %s", r.Place.String()+": "+r.Message)
		source(v, r.Place)
	}
	switch {
	case len(f.Details) == 0:
	case d == WithAll:
		for _, row := range f.Details {
			v.Say("  %s", row)
		}
	default:
		v.Say("%s with --long", voice.Count(len(f.Details), "row more", "rows more"))
	}
}

// source shows the source line of a place, with a mark under it.
func source(v *voice.Voice, p finding.Place) {
	if p.Line == 0 || p.Column == 0 {
		return
	}
	line, mark := sourceLine(p)
	if line != "" {
		v.Raw("%s\n%s\n", line, mark)
	}
}

// widest is the most characters of a source line that are shown.
const widest = 160

// sourceLine is the source line of a place as a terminal may show it, and the
// line that marks the place under it. Columns count characters; tabs stay tabs
// in both. Of a line that is too long, the part around the place is shown.
func sourceLine(p finding.Place) (line, mark string) {
	runes := []rune(p.Text)
	if strings.TrimSpace(p.Text) == "" {
		return "", ""
	}
	start := min(p.Column-1, len(runes))
	end := min(start+max(p.Length, 1), max(len(runes), start+1))
	from, to := 0, len(runes)
	if len(runes) > widest {
		from = min(max(0, start-widest/4), len(runes)-widest)
		to = from + widest
		end = min(end, to)
	}
	var l, m strings.Builder
	if from > 0 {
		l.WriteRune('…')
		m.WriteRune(' ')
	}
	for i := from; i < to; i++ {
		r := runes[i]
		switch {
		case r == '\t':
		case !voice.Shown(r):
			r = utf8.RuneError
		}
		l.WriteRune(r)
		if i < start {
			if r != '\t' {
				r = ' '
			}
			m.WriteRune(r)
		}
	}
	if to < len(runes) {
		l.WriteRune('…')
	}
	m.WriteString(strings.Repeat("^", max(1, end-start)))
	return l.String(), m.String()
}

// Tally is what a list of findings adds up to, the gravest first.
func Tally(l finding.List) string {
	if len(l) == 0 {
		return "nothing to report"
	}
	var parts []string
	for _, t := range []struct {
		severity  finding.Severity
		one, many string
	}{
		{finding.Error, "error", "errors"},
		{finding.Warning, "warning", "warnings"},
		{finding.Advice, "piece of advice", "pieces of advice"},
		{finding.Note, "accepted exception", "accepted exceptions"},
	} {
		if n := l.Count(t.severity); n > 0 {
			parts = append(parts, voice.Count(n, t.one, t.many))
		}
	}
	return strings.Join(parts, ", ")
}

// Strictly makes warnings errors.
func Strictly(l finding.List) finding.List {
	l = slices.Clone(l)
	for i := range l {
		if l[i].Severity == finding.Warning {
			l[i].Severity = finding.Error
		}
	}
	return l
}

// Counts is how many findings there are of each severity.
func Counts(l finding.List) map[string]int {
	c := map[string]int{}
	for s := finding.Note; s <= finding.Error; s++ {
		c[s.String()] = l.Count(s)
	}
	return c
}
