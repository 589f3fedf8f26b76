// Package finding holds what a check says: where, how grave, what, and what to
// do about it. Start with [Finding]; collect with [List].
//
// Findings carry facts. They become a sentence in one place, [Finding.String],
// and JSON through the same struct, so text and data cannot drift apart.
package finding

import (
	"cmp"
	"fmt"
	"slices"
)

// Severity orders findings by what they stop.
type Severity uint8

const (
	Note    Severity = iota // an accepted exception: printed on the wall sheet
	Advice                  // could be better
	Warning                 // should be looked at; nothing is stopped
	Error                   // nothing is printed
)

var severityNames = [...]string{"note", "advice", "warning", "error"}

func (s Severity) String() string { return severityNames[s] }

// MarshalText makes JSON say "error", not 3.
func (s Severity) MarshalText() ([]byte, error) { return []byte(s.String()), nil }

// Place is a position in a file. Line and Column count from 1, columns in
// characters; 0 means the file as a whole. Text is the source line without its
// line end, and Length how many characters of it the place covers (at least 1).
type Place struct {
	File   string `json:"file"`
	Line   int    `json:"line,omitempty"`
	Column int    `json:"column,omitempty"`
	Length int    `json:"-"`
	Text   string `json:"-"`
}

func (p Place) String() string {
	if p.Line == 0 {
		return p.File
	}
	return fmt.Sprintf("%s:%d:%d", p.File, p.Line, p.Column)
}

// IsZero tells whether the place says nothing.
func (p Place) IsZero() bool { return p == Place{} }

// Related is another place that takes part in a fault.
type Related struct {
	Place   Place  `json:"place"`
	Message string `json:"message"`
}

// Finding is one thing that a check has to say.
type Finding struct {
	Rule     string    `json:"rule"`
	Severity Severity  `json:"severity"`
	Place    Place     `json:"place"`
	Message  string    `json:"message"`           // one line, lower case, no full stop
	Subject  string    `json:"subject,omitempty"` // what it is about: a display name, a division id, a unit: the subject an [[accept]] names
	Value    string    `json:"value,omitempty"`   // what tells it from another fault of the subject: a frequency, a day; an [[accept]] names it behind the subject
	Help     []string  `json:"help,omitempty"`    // what to type or do
	Details  []string  `json:"details,omitempty"` // rows shown with --long
	Related  []Related `json:"related,omitempty"`
	// Edits are help that a program can carry out; where there are several, one
	// of them. Their titles stand in Help: see [Finding.Offer].
	Edits []Edit `json:"edits,omitempty"`
	// Data holds the facts of the rule under stable names, for scripts.
	Data map[string]any `json:"data,omitempty"`

	Cause Cause `json:"-"` // what it shares with others of its rule, see [List.Group]

	parts []Finding // of which it was put together
}

func (f Finding) String() string {
	return fmt.Sprintf("%s: %s: %s [%s]", f.Place, f.Severity, bounded(f.Message), f.Rule)
}

// List collects findings. The zero value is ready to use.
type List []Finding

// Add appends findings.
func (l *List) Add(f ...Finding) { *l = append(*l, f...) }

// Worst is the gravest severity in the list, and whether there is any finding.
func (l List) Worst() (Severity, bool) {
	worst := Note
	for _, f := range l {
		worst = max(worst, f.Severity)
	}
	return worst, len(l) > 0
}

// HasErrors tells whether printing must be refused.
func (l List) HasErrors() bool { return l.Count(Error) > 0 }

// Count tells how many findings have just this severity.
func (l List) Count(s Severity) int {
	n := 0
	for _, f := range l {
		if f.Severity == s {
			n++
		}
	}
	return n
}

// Sort orders findings by file, line, column, then the gravest first, rule and
// message, and drops exact repetitions: several lists can meet the same fault.
func (l *List) Sort() {
	slices.SortStableFunc(*l, func(a, b Finding) int {
		return cmp.Or(
			cmp.Compare(a.Place.File, b.Place.File),
			cmp.Compare(a.Place.Line, b.Place.Line),
			cmp.Compare(a.Place.Column, b.Place.Column),
			cmp.Compare(b.Severity, a.Severity),
			cmp.Compare(a.Rule, b.Rule),
			cmp.Compare(a.Message, b.Message),
		)
	})
	*l = slices.CompactFunc(*l, func(a, b Finding) bool {
		return a.Place == b.Place && a.Rule == b.Rule && a.Message == b.Message
	})
}
