package report

import (
	"strings"

	"slotcard/cmd/internal/voice"
	"slotcard/plan/rules"
)

// Rule prints an entry of the catalogue of rules.
func Rule(v *voice.Voice, r rules.Rule) {
	v.Raw("%s (%s)\n\n%s\n", r.ID, r.Severity, voice.Fold(r.Statement, "", ""))
	for _, part := range []struct{ head, text string }{
		{"why", r.Why}, {"source", r.SourceText()}, {"fix", r.Fix},
	} {
		if part.text != "" {
			v.Raw("\n%s:\n%s\n", part.head, voice.Fold(part.text, "  ", "  "))
		}
	}
	for _, part := range []struct{ head, toml string }{{"bad", r.Bad}, {"good", r.Good}} {
		if text := strings.Trim(part.toml, "\n"); text != "" {
			v.Raw("\n%s:\n  %s\n", part.head, strings.ReplaceAll(text, "\n", "\n  "))
		}
	}
	if r.Acceptable {
		v.Raw(`
accept, in the plan, if somebody answers for it:
  [[accept]]
  rule    = %q
  subject = "..."   # as the help of the finding says, with the value it has now
  because = "..."
  by      = "..."
`, r.ID)
	} else {
		v.Raw("\naccept:\n  not possible\n")
	}
}
