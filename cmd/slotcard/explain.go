package main

import (
	"strings"

	"github.com/spf13/cobra"

	"slotcard/cmd/internal/report"
	"slotcard/cmd/internal/voice"
	"slotcard/plan/rules"
)

func init() { registerCommand(90, (*app).explainCommand) }

func (a *app) explainCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "explain [RULE]",
		Short: "says why a rule exists, its source, and how to fix or accept",
		Long: `explain says what a rule asks for, why, where that comes from, how to fix it, and
whether an exception can be accepted. RULE is the name in square brackets at the end
of a finding. Without it, explain lists all rules.`,
		Example: `  slotcard explain guard-last
  slotcard explain | grep tactical`,
		Args: atMost(1, "one rule"),
		RunE: func(_ *cobra.Command, args []string) error {
			if len(args) == 0 {
				a.listRules()
				return nil
			}
			return a.runExplain(strings.ToLower(strings.Trim(args[0], "[]")))
		},
		ValidArgsFunction: func(_ *cobra.Command, args []string, _ string) ([]string, cobra.ShellCompDirective) {
			var ids []string
			if len(args) == 0 {
				for _, r := range rules.All() {
					ids = append(ids, cobra.CompletionWithDesc(r.ID, r.Statement))
				}
			}
			return ids, cobra.ShellCompDirectiveNoFileComp
		},
	}
}

func (a *app) listRules() {
	all := rules.All()
	longest := 0
	for _, r := range all {
		longest = max(longest, len(r.ID))
	}
	for _, r := range all {
		a.voice.Say("%-*s  %-7s  %s", longest, r.ID, r.Severity, r.Statement)
	}
}

func (a *app) runExplain(id string) error {
	r, ok := rules.Get(id)
	if !ok {
		return usagef("unknown rule %q; %sall rules: slotcard explain", id, voice.DidYouMean(rules.Closest(id)))
	}
	report.Rule(a.voice, r)
	return nil
}
