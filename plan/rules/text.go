package rules

import (
	"bytes"
	"fmt"
	"regexp"
	"strings"

	"slotcard/plan"
	"slotcard/plan/finding"
	"slotcard/plan/tomlfile"
)

func init() {
	register(Rule{
		ID:         "bare-slot-number",
		Severity:   finding.Warning,
		Statement:  "a text names a slot by its channel, in braces, and not by its number alone",
		Why:        "the number stays in the text when the list changes, and sends people to another channel",
		Bad:        "instructions = \"Medical: move to slot 9.\"",
		Good:       "instructions = \"Medical: move to {QB MED}.\"",
		Fix:        "write the channel's name in braces: it becomes \"QB MED, slot 9\" on paper, by the list of each card",
		Acceptable: true,
		Check:      bareSlotNumber,
	})
}

func bareSlotNumber(r *plan.Resolved, report func(finding.Finding)) {
	if len(r.Lists) == 0 || incomplete(r) {
		return
	}
	in := &r.Plan.Incident
	sayNumbers(r, in.Table, "instructions", in.Instructions, report)
	for _, a := range r.Plan.Also {
		sayNumbers(r, a.Table, "when", a.When, report)
	}
}

func sayNumbers(r *plan.Resolved, t tomlfile.Table, key, text string, report func(finding.Finding)) {
	for _, bare := range plan.BareNumbers(text) {
		words, n := bare.Words, bare.N
		f := finding.Finding{
			Place: t.AtText(key, words), Subject: words,
			Message: fmt.Sprintf("%s has %q, which becomes another channel when the list changes", key, words),
			Data:    facts{"key": key, "number": n},
		}
		switch name := nameOf(r, n); {
		case n < 1 || n > len(longestList(r).Slots):
			f.Message = fmt.Sprintf("%s has %q, and the list has %d slots", key, words, len(longestList(r).Slots))
			f.Help = []string{"write the channel's name in braces, such as {" + r.Slots[0].Channel.Name + "}"}
		case name == "":
			f.Message = fmt.Sprintf("%s has %q, which is not the same channel in every list", key, words)
			f.Help = []string{"write the channel's name in braces: it becomes the slot of each list"}
		default:
			f.Offer(inBraces(t, key, words, name))
		}
		report(f)
	}
}

// inBraces puts the channel's name in place of words, wherever they stand.
func inBraces(t tomlfile.Table, key, words, name string) finding.Edit {
	e := finding.Edit{Title: fmt.Sprintf("write {%s} in place of %q", name, words)}
	span, ok := t.ValueSpan(key)
	if !ok {
		return e
	}
	whole := regexp.MustCompile(`\b` + regexp.QuoteMeta(words) + `\b`)
	value := t.File().Text()[span.From:span.To]
	if bytes.HasPrefix(value, []byte(`"`)) && strings.ContainsAny(name, `"\`) {
		return e
	}
	for _, at := range whole.FindAllIndex(value, -1) {
		e.Changes = append(e.Changes, t.File().Change(tomlfile.Span{From: span.From + at[0], To: span.From + at[1]}, "{"+name+"}"))
	}
	return e
}

// nameOf is the channel in position n of every list that is so long; "" where
// lists differ.
func nameOf(r *plan.Resolved, n int) (name string) {
	for _, l := range r.Lists {
		if n < 1 || n > len(l.Slots) {
			continue
		}
		switch other := l.Slots[n-1].Channel.Name; name {
		case "", other:
			name = other
		default:
			return ""
		}
	}
	return name
}

func longestList(r *plan.Resolved) *plan.List {
	long := r.Lists[0]
	for _, l := range r.Lists {
		if len(l.Slots) > len(long.Slots) {
			long = l
		}
	}
	return long
}
