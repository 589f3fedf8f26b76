package main

import (
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"slotcard/cmd/internal/files"
	"slotcard/cmd/internal/report"
	"slotcard/cmd/internal/voice"
	"slotcard/plan"
	"slotcard/plan/slotlist"
)

func init() { registerCommand(80, (*app).codeCommand) }

func (a *app) codeCommand() *cobra.Command {
	var asJSON bool
	cmd := &cobra.Command{
		Use:   "code [CODE] PLAN...",
		Short: "prints the read-back code of a plan, or tells which plan a code belongs to",
		Long: `code prints the read-back code of each list of a plan in letters and in the
words to say on the radio.

With a CODE that somebody read back, it says which of the plans it belongs to, and
which are off by one character: then ask for the code again before you look
further. If a code is of an older revision, and the newest has another, it says so
first; it also says if several revisions have the same code. CODE is four letters
and digits, in pairs or not, or the words themselves. A folder stands for all plans
in it.

Exit status: 0 found, 1 the code matches none of the plans, 2 wrong usage, or a
plan that cannot be read.

--json prints one document:
  {"code": "7K4Q", "words": "...", "found": false, "plans": 2,
   "lists": [{"code": "...", "words": "...", "incident": "...", "period": 2,
              "file": "...", "of": "...", "revision": 2, "revised_at": "...",
              "newer": {"file": "...", "revision": 3, "revised_at": "...",
                        "codes": ["..."]}}],
   "near":  [{...as in lists..., "character": 4, "there": "...", "here": "..."}],
   "problems": [{"file": "...", "problem": "..."}]}
"lists" are those with the code, or all of them if no code is given; fields that
would be empty are left out.`,
		Example: `  slotcard code plan.toml
  slotcard code "7K 4Q" plans/
  slotcard code seven kilo four quebec period-2.toml period-3.toml`,
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) == 0 {
				return usagef("name a plan, such as: slotcard code %s", likelyPlan())
			}
			return nil
		},
		RunE: func(_ *cobra.Command, args []string) error {
			code, names, err := codeAndPlans(args)
			if err != nil {
				return err
			}
			return a.runCode(code, names, asJSON)
		},
		ValidArgsFunction: tomlArgs,
	}
	cmd.Flags().BoolVar(&asJSON, "json", false, "print one JSON document and nothing else")
	return cmd
}

// codeAndPlans parts a code from the plans behind it, or before it: a plan is an
// argument that is a file or is called like one.
func codeAndPlans(args []string) (code slotlist.Code, names []string, err error) {
	isPlan := func(s string) bool {
		return s == files.Stdin || strings.HasSuffix(s, ".toml") || strings.ContainsAny(s, `/\`) || files.IsThere(s)
	}
	at := slices.IndexFunc(args, isPlan)
	if at == 0 {
		if last := slices.IndexFunc(args, func(s string) bool { return !isPlan(s) }); last > 0 {
			if code, err = slotlist.ParseCode(slotlist.Unspell(strings.Join(args[last:], " "))); err == nil {
				return code, args[:last], nil
			}
		}
		return "", args, nil
	}
	if at < 0 {
		at = len(args)
	}
	said := strings.Join(args[:at], " ")
	if code, err = slotlist.ParseCode(slotlist.Unspell(said)); err != nil {
		if at == len(args) && len(args) == 1 {
			return "", nil, files.Fail(args[0], "is neither a file nor a read-back code, which has four characters", nil)
		}
		return "", nil, usagef("%s", err)
	}
	if at == len(args) {
		return "", nil, usagef("name the plans that %s may belong to, such as: slotcard code %q %s", code.Pairs(), code.Pairs(), likelyPlan())
	}
	return code, args[at:], nil
}

func (a *app) runCode(code slotlist.Code, args []string, asJSON bool) error {
	names, errs := expand(args)
	var plans []*plan.Resolved
	for _, name := range names {
		data, err := a.reader.ReadFile(name)
		if err == nil && plan.KindOf(data) != plan.PlanFile && !slices.Contains(args, name) {
			continue // what stands in the folder of its plans
		}
		r, found, err := a.planFor("code", name)
		switch {
		case err != nil:
			errs = append(errs, err)
		case found.HasErrors():
			errs = append(errs, files.Fail(name, "has "+report.Tally(found)+", so nobody carries its list; to see them, type: slotcard check "+voice.Typed(name), nil))
		default:
			plans = append(plans, r)
		}
	}
	doc := report.Codes(code, plans)
	if asJSON {
		for _, err := range errs {
			doc.Problems = append(doc.Problems, report.Problems(err)...)
		}
		if err := a.voice.JSON(doc); err != nil {
			return err
		}
	} else {
		report.CodesText(a.voice, doc)
	}
	if err := a.voice.Flush(); err != nil {
		return err
	}
	for _, err := range errs {
		a.voice.Complain(err)
	}
	switch {
	case len(errs) > 0:
		return errTold
	case code != "" && !doc.Found:
		return errFindings
	}
	return nil
}
