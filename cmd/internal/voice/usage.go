package voice

import (
	"fmt"
	"strings"

	"slotcard/plan/finding"
)

// UsageError is a command line that cannot be meant.
type UsageError struct{ problem string }

func (e *UsageError) Error() string { return e.problem }

// Usagef is a [UsageError].
func Usagef(format string, args ...any) error {
	return &UsageError{fmt.Sprintf(format, args...)}
}

// Unknown says that a word is none of those known, and which was meant.
func Unknown(what, word string, known []string) error {
	return Usagef("unknown %s %q; %sknown: %s", what, word, DidYouMean(finding.Closest(word, known, 3)), strings.Join(known, ", "))
}
