// Package rules holds what a communications unit leader would check in a plan
// and its load before anybody carries it. Start with [Open], which reads,
// resolves and checks a plan; the rules themselves are entries of a catalogue,
// see [All].
//
// A rule is data: one file, or a small family in one file, registers it with
// everything that is to be said about it. Rules that reading, resolving or
// laying out apply have an entry without a check: see raised.go.
package rules

import (
	"fmt"
	"slices"
	"strings"

	"slotcard/plan"
	"slotcard/plan/finding"
)

// Rule is an entry of the catalogue.
type Rule struct {
	ID        string
	Severity  finding.Severity
	Statement string // what must be so, one sentence without full stop
	Why       string // what goes wrong otherwise
	Source    string // empty: common practice
	Bad, Good string // TOML
	Fix       string // what to do

	// Acceptable tells whether an [[accept]] may lower it to a note: one of the
	// plan, or for a rule about loads one of the load.
	Acceptable bool

	// Check looks at a plan, CheckLoad at a load by itself. Both are nil for
	// a rule that is applied elsewhere. Rule and severity of what they report
	// are filled in.
	Check     func(r *plan.Resolved, report func(finding.Finding))
	CheckLoad func(l *plan.Load, report func(finding.Finding))
}

// SourceText is the source, or "common practice".
func (r Rule) SourceText() string {
	if r.Source == "" {
		return "common practice"
	}
	return r.Source
}

var catalogue = map[string]Rule{}

// register enters a rule, from the init of the file that holds it.
func register(entries ...Rule) {
	for _, r := range entries {
		if _, twice := catalogue[r.ID]; twice {
			panic(fmt.Sprintf("rule %q is registered twice", r.ID))
		}
		catalogue[r.ID] = r
	}
}

// All are the rules of the catalogue, sorted by identifier.
func All() []Rule {
	all := make([]Rule, 0, len(catalogue))
	for _, r := range catalogue {
		all = append(all, r)
	}
	slices.SortFunc(all, func(a, b Rule) int { return strings.Compare(a.ID, b.ID) })
	return all
}

// Get is the rule with this identifier.
func Get(id string) (Rule, bool) {
	r, ok := catalogue[id]
	return r, ok
}

// Closest are the identifiers that id may have been meant to be, the closest
// first; none where nothing is close.
func Closest(id string) []string {
	ids := make([]string, 0, len(catalogue))
	for _, r := range All() {
		ids = append(ids, r.ID)
	}
	return finding.Closest(id, ids, 3)
}
