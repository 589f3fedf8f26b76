package desk

import (
	"cmp"
	"slices"

	"slotcard/plan/changes"
)

// before is the plan to compare this one with: the one that the page is asked for, or
// the last one before it of the same incident in its folder; "": none.
func (p *Page) before() string {
	beside := p.PlansBeside()
	if since := p.Ask("since"); slices.Contains(beside, since) {
		return since
	}
	if p.State.Plan == nil {
		return ""
	}
	in := &p.State.Plan.Plan.Incident
	last, period, revision := "", 0, 0
	for _, name := range beside {
		st := p.desk.shelf.get(name)
		if st.Plan == nil || st.Broken() {
			continue
		}
		o := &st.Plan.Plan.Incident
		earlier := cmp.Or(cmp.Compare(o.Period, in.Period), cmp.Compare(o.Revision, in.Revision)) < 0
		later := cmp.Or(cmp.Compare(o.Period, period), cmp.Compare(o.Revision, revision)) > 0
		if earlier && later && changes.SameIncident(o, in) {
			last, period, revision = name, o.Period, o.Revision
		}
	}
	return last
}
