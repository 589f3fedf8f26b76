package rules

import (
	"slices"

	"slotcard/plan"
	"slotcard/plan/finding"
)

// Troubles are the third-order products and the channels too close to each other
// that findings of a plan tell of, accepted ones too, each once: to be drawn. What
// the rules do not say is not there.
func Troubles(r *plan.Resolved, found finding.List) (all []plan.Trouble) {
	air := func(n int) *plan.ResolvedSlot { return r.Slots[n-1] } // judged over the slots of the plan
	seen := map[string]bool{}
	add := func(rule string, onto *plan.ResolvedSlot, from ...*plan.ResolvedSlot) {
		key := rule
		for _, s := range append(slices.Clone(from), onto) {
			key += "\x00" + s.Channel.Name + "\x00" + s.At("").String()
		}
		if !seen[key] {
			seen[key] = true
			all = append(all, plan.Trouble{Rule: rule, From: from, Onto: onto})
		}
	}
	for _, group := range found {
		for _, f := range group.Parts() {
			switch f.Rule {
			case "intermodulation":
				products, _ := f.Data["products"].([]facts)
				for _, p := range products {
					var from []*plan.ResolvedSlot
					for _, n := range p["transmit_slots"].([]int) {
						from = append(from, air(n))
					}
					add(f.Rule, air(p["victim_slot"].(int)), from...)
				}
			case "overlap", "overlap-apart":
				n := f.Data["slots"].([]int)
				add(f.Rule, air(n[1]), air(n[0]))
			case "repeater-input":
				add(f.Rule, air(f.Data["receive_slot"].(int)), air(f.Data["transmit_slot"].(int)))
			case "desense":
				i := slices.IndexFunc(r.Lists, func(l *plan.List) bool { return listSubject(r, l) == f.Data["list"] })
				pairs, _ := f.Data["pairs"].([]facts)
				for _, p := range pairs {
					if n := p["slots"].([]int); i >= 0 {
						add(f.Rule, r.Lists[i].Slots[n[1]-1], r.Lists[i].Slots[n[0]-1])
					}
				}
			}
		}
	}
	return all
}
