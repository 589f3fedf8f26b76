package rules

import "slotcard/plan/finding"

// RuleAgainstSheet is what check --against says about a row that differs.
const RuleAgainstSheet = "sheet-differs"

func init() {
	register(Rule{
		ID: RuleAgainstSheet, Severity: finding.Error,
		Statement: "a load that is proved against the agency's channel list is the same, row by row",
		Why:       "typing is where digits swap; a channel with one wrong digit hears nobody",
		Bad:       "rx = 153.4700     # the sheet says 153.7400", Good: "rx = 153.7400",
		Fix: "correct the load, or have the sheet corrected",
	})
}
