package rules

import (
	"fmt"
	"slices"

	"slotcard/plan"
	"slotcard/plan/edit"
	"slotcard/plan/finding"
	"slotcard/plan/radio"
	"slotcard/plan/slotlist"
)

func init() {
	register(Rule{
		ID:        "code-twice",
		Severity:  finding.Error,
		Statement: "no two lists of a plan have one read-back code",
		Why: "the code has 20 bits: of 300 lists two have the same in 4 of 100 plans. " +
			"Who reads it back then confirms the other list as well",
		Bad:   "[[slot]]\nchannel    = \"QB TAC 2\"\ncarried_by = [\"A\"]\n\n[[slot]]\nchannel    = \"QB TAC 3\"\ncarried_by = [\"A\"]",
		Good:  "[[slot]]\nchannel    = \"QB TAC 3\"\ncarried_by = [\"A\"]\n\n[[slot]]\nchannel    = \"QB TAC 2\"\ncarried_by = [\"A\"]",
		Fix:   "put a slot of one of the two lists in front of its neighbor: another order is another code",
		Check: codeTwice,
	})
}

func codeTwice(r *plan.Resolved, report func(finding.Finding)) {
	if incomplete(r) {
		return
	}
	first := map[slotlist.Code]*plan.List{}
	for _, l := range lists(r) {
		o, twice := first[l.Code]
		if !twice {
			first[l.Code] = l
			continue
		}
		f := finding.Finding{
			Place: listPlace(l), Subject: listSubject(r, l),
			Message: fmt.Sprintf("read-back code %s is that of two lists:%s and%s", l.Code.Pairs(), ofList(r, o), ofList(r, l)),
			Data:    facts{"code": string(l.Code), "lists": []string{listSubject(r, o), listSubject(r, l)}},
			Related: []finding.Related{related(listPlace(o), "the last slot of the list%s", ofList(r, o))},
		}
		if a, b := parting(r, l, o); a != nil {
			f.Offer(edit.In(b.Table).MoveBefore(b.Table, a.Table).Edit(
				fmt.Sprintf("put the [[slot]] of %s right before that of %s: then the codes differ", entry(r, b), entry(r, a))))
		}
		if f.Help == nil {
			f.Help = []string{"put a slot that only one of the two lists has elsewhere in it: another order is another code"}
		}
		report(f)
	}
}

// parting are two slots of the plan, one right behind the other, in at least one of two lists
// and of one use, that in the other order leave no two lists with one code.
func parting(r *plan.Resolved, l, o *plan.List) (a, b *plan.ResolvedSlot) {
	var codes []slotlist.Code
	for i := range len(r.Slots) - 1 {
		a, b := r.Slots[i], r.Slots[i+1]
		both := func(l *plan.List) bool { return slices.Contains(l.Slots, a) && slices.Contains(l.Slots, b) }
		if a.Use != b.Use || a.Use == radio.Command || a.Use == radio.Guard || !both(l) && !both(o) || rank(r, a) != rank(r, b) {
			continue
		}
		codes = codes[:0]
		for _, l := range lists(r) {
			code := l.Code
			if both(l) {
				other := slices.Clone(l.Slots)
				k := slices.Index(other, a)
				other[k], other[k+1] = b, a
				code = plan.CodeOf(other)
			}
			if slices.Contains(codes, code) {
				break
			}
			codes = append(codes, code)
		}
		if len(codes) == len(lists(r)) {
			return a, b
		}
	}
	return nil, nil
}
