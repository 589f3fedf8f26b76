package rules

import (
	"fmt"
	"time"

	"slotcard/plan"
	"slotcard/plan/edit"
	"slotcard/plan/finding"
)

// Dates and hours that are possible, but hardly meant.
func init() {
	register(
		Rule{
			ID:         "offsets-differ",
			Severity:   finding.Warning,
			Statement:  "the period begins and ends with one UTC offset, but for a night in which clocks change",
			Why:        "one of the two is an hour or more off, and a crew that goes by the card is early or late",
			Source:     "clocks change on a Sunday: Uniform Time Act, 15 USC 260a, from memory",
			Bad:        "from = 2027-08-14T06:00:00-06:00\nto   = 2027-08-14T18:00:00-07:00",
			Good:       "from = 2027-08-14T06:00:00-06:00\nto   = 2027-08-14T18:00:00-06:00",
			Fix:        "write the offset of the incident's local time after both",
			Acceptable: true,
			Check:      offsetsDiffer,
		},
		Rule{
			ID:         "period-short",
			Severity:   finding.Warning,
			Statement:  "an operational period is an hour long at least",
			Why:        "before the cards are in everybody's hands the period is over: a digit is wrong",
			Bad:        "from = 2027-08-14T06:00:00-06:00\nto   = 2027-08-14T06:18:00-06:00",
			Good:       "from = 2027-08-14T06:00:00-06:00\nto   = 2027-08-14T18:00:00-06:00",
			Fix:        "correct from and to",
			Acceptable: true,
			Check:      periodShort,
		},
		Rule{
			ID:         "prepared-early",
			Severity:   finding.Warning,
			Statement:  "a plan is prepared no more than 90 days before its period begins",
			Why:        "a year or month is wrong, or the plan is an old one: its channels may have moved on (the number is our choice)",
			Bad:        "from        = 2027-08-14T06:00:00-06:00\nprepared_at = 2026-08-13T20:30:00-06:00",
			Good:       "from        = 2027-08-14T06:00:00-06:00\nprepared_at = 2027-08-13T20:30:00-06:00",
			Fix:        "correct prepared_at or the period; accept it for an event that is planned long ahead",
			Acceptable: true,
			Check:      preparedEarly,
		},
	)
}

// oddOffset tells that the period begins and ends with different offsets, and no
// change of clocks explains it: by one hour, on a Sunday morning that lies in the
// period, in spring or autumn of either half of the earth.
func oddOffset(in *plan.Incident) bool {
	if in.From.IsZero() || in.To.IsZero() || !in.To.After(in.From) {
		return false
	}
	_, a := in.From.Zone()
	_, b := in.To.Zone()
	switch {
	case a == b:
		return false
	case a-b != 3600 && b-a != 3600:
		return true
	}
	for day := in.From; ; day = day.AddDate(0, 0, 1) {
		y, m, d := day.Date()
		night := time.Date(y, m, d, 2, 0, 0, 0, in.From.Location())
		if night.After(in.To) || day.After(in.To.Add(24*time.Hour)) {
			return true
		}
		switch m {
		case time.March, time.April, time.September, time.October, time.November:
			if night.Weekday() == time.Sunday && !night.Before(in.From) {
				return false
			}
		}
	}
}

func offsetsDiffer(r *plan.Resolved, report func(finding.Finding)) {
	in := &r.Plan.Incident
	if !oddOffset(in) {
		return
	}
	f := finding.Finding{
		Place: in.At("to"), Subject: in.Name,
		Message: fmt.Sprintf("the period begins with offset %s and ends with %s: it is %s long",
			in.From.Format("-07:00"), in.To.Format("-07:00"), hours(in.To.Sub(in.From))),
		Related: []finding.Related{related(in.At("from"), "it begins with %s", in.From.Format("-07:00"))},
		Data:    facts{"from": in.From.Format(time.RFC3339), "to": in.To.Format(time.RFC3339)},
	}
	if to := sameClock(in); to.After(in.From) {
		f.Offer(edit.In(in.Table).Set(in.Table, "to", to).Edit(fmt.Sprintf("write to = %s, or correct the offset of from", to.Format(time.RFC3339))))
	} else {
		f.Help = []string{"write the offset of the incident's local time after both"}
	}
	report(f)
}

// sameClock is the end of the period as its clock shows it, with the offset of
// its beginning.
func sameClock(in *plan.Incident) time.Time {
	y, m, d := in.To.Date()
	return time.Date(y, m, d, in.To.Hour(), in.To.Minute(), in.To.Second(), 0, in.From.Location())
}

func periodShort(r *plan.Resolved, report func(finding.Finding)) {
	in := &r.Plan.Incident
	length := in.To.Sub(in.From)
	if in.From.IsZero() || in.To.IsZero() || length <= 0 || length >= time.Hour || oddOffset(in) {
		return
	}
	report(finding.Finding{
		Place: in.At("to"), Subject: in.Name,
		Message: fmt.Sprintf("the period is %d minutes long", int(length.Minutes())),
		Help:    []string{"correct from and to"},
		Related: []finding.Related{related(in.At("from"), "it begins %s", clock(in.From))},
		Data:    facts{"minutes": int(length.Minutes())},
	})
}

// earliest is how long before its period a plan is prepared at most.
const earliest = 90 * 24 * time.Hour

func preparedEarly(r *plan.Resolved, report func(finding.Finding)) {
	in := &r.Plan.Incident
	if in.From.IsZero() || in.PreparedAt.IsZero() || in.From.Sub(in.PreparedAt) <= earliest || !in.To.IsZero() && in.To.Before(in.From) {
		return
	}
	if about := &r.Load.About; firstDay(r).Before(about.Effective) || about.Expires.Before(lastDay(r)) {
		return // the period is what is wrong
	}
	report(finding.Finding{
		Place: in.At("prepared_at"), Subject: in.Name,
		Message: fmt.Sprintf("prepared %d days before the period begins", int(in.From.Sub(in.PreparedAt).Hours()/24)),
		Help:    []string{"correct prepared_at, or from and to"},
		Related: []finding.Related{related(in.At("from"), "it begins %s", clock(in.From))},
		Data:    facts{"from": in.From.Format(time.RFC3339), "prepared_at": in.PreparedAt.Format(time.RFC3339)},
	})
}
