package rules

import (
	"fmt"
	"time"

	"slotcard/plan"
	"slotcard/plan/finding"
)

// The period, and whether the load is valid in it.
func init() {
	register(
		Rule{
			ID:        "period-reversed",
			Severity:  finding.Error,
			Statement: "the operational period ends after it begins",
			Why:       "nobody can tell whether the card in hand is the one for now",
			Bad:       "from = 2027-08-14T18:00:00-06:00\nto   = 2027-08-14T06:00:00-06:00",
			Good:      "from = 2027-08-14T18:00:00-06:00\nto   = 2027-08-15T06:00:00-06:00",
			Fix:       "correct from and to; a night period ends on the next day",
			Check:     periodReversed,
		},
		Rule{
			ID:         "period-long",
			Severity:   finding.Warning,
			Statement:  "an operational period is no longer than 24 hours",
			Why:        "a plan that is carried longer than its incident stands still sends people to channels that have moved on",
			Bad:        "from = 2027-08-14T06:00:00-06:00\nto   = 2027-08-16T06:00:00-06:00",
			Good:       "from = 2027-08-14T06:00:00-06:00\nto   = 2027-08-14T18:00:00-06:00",
			Fix:        "make a plan for each period, or accept the long one",
			Acceptable: true,
			Check:      periodLong,
		},
		Rule{
			ID:         "prepared-late",
			Severity:   finding.Warning,
			Statement:  "a plan is prepared before its period begins",
			Why:        "crews already work by another plan, and two plans are in use at one time",
			Bad:        "from        = 2027-08-14T06:00:00-06:00\nprepared_at = 2027-08-14T09:15:00-06:00",
			Good:       "from        = 2027-08-14T06:00:00-06:00\nprepared_at = 2027-08-13T20:30:00-06:00",
			Fix:        "correct prepared_at, or let the period begin when the new cards are in everybody's hands",
			Acceptable: true,
			Check:      preparedLate,
		},
		Rule{
			ID:         "load-not-effective",
			Severity:   finding.Error,
			Statement:  "the load is in effect when the period begins",
			Why:        "the radios still carry the edition before this one",
			Bad:        "effective = 2027-03-01     # and the period begins on 2027-02-20",
			Good:       "effective = 2027-03-01     # and the period begins on 2027-08-14",
			Fix:        "name the load which the radios carry on that day; accept it where all radios have been changed early",
			Acceptable: true,
			Check:      loadNotEffective,
		},
		Rule{
			ID:         "load-expired",
			Severity:   finding.Error,
			Statement:  "the load is in effect until the period ends",
			Why:        "radios that are current carry the next edition, with other channels at the same places",
			Bad:        "expires = 2028-03-31     # and the period ends on 2028-04-02",
			Good:       "expires = 2028-03-31     # and the period ends on 2027-08-14",
			Fix:        "name the load of the new edition; accept it where no radio has been changed yet",
			Acceptable: true,
			Check:      loadExpired,
		},
	)
}

// longest is how long a period may be without a word about it (common practice:
// 12 hours, 24 at most).
const longest = 24 * time.Hour

func periodReversed(r *plan.Resolved, report func(finding.Finding)) {
	in := &r.Plan.Incident
	if in.From.IsZero() || in.To.IsZero() || in.To.After(in.From) {
		return
	}
	message := "the period ends before it begins"
	if in.To.Equal(in.From) {
		message = "the period ends when it begins"
	}
	report(finding.Finding{
		Place: in.At("to"), Subject: in.Name, Message: message,
		Help:    []string{"correct from and to; a night period ends on the next day"},
		Related: []finding.Related{related(in.At("from"), "it begins %s", clock(in.From))},
		Data:    facts{"from": in.From.Format(time.RFC3339), "to": in.To.Format(time.RFC3339)},
	})
}

// absurd is a period that no plan has: one of its ends is wrong, and what else
// seems to be wrong with them follows from that.
func absurd(in *plan.Incident) bool {
	const week = 7 * 24 * time.Hour
	return !in.From.IsZero() && !in.To.IsZero() && (!in.To.After(in.From) || in.To.Sub(in.From) > week)
}

func clock(t time.Time) string { return t.Format("2006-01-02 15:04") }

func periodLong(r *plan.Resolved, report func(finding.Finding)) {
	in := &r.Plan.Incident
	length := in.To.Sub(in.From)
	if in.From.IsZero() || in.To.IsZero() || length <= longest || oddOffset(in) && sameClock(in).Sub(in.From) <= longest { // offsets-differ says so
		return
	}
	report(finding.Finding{
		Place: in.At("to"), Subject: in.Name,
		Message: fmt.Sprintf("the period is %s long, more than 24 hours", hours(length)),
		Help:    []string{longHelp(in)},
		Related: []finding.Related{related(in.At("from"), "it begins %s", clock(in.From))},
		Data:    facts{"minutes": int(length.Minutes())},
	})
}

func longHelp(in *plan.Incident) string {
	if absurd(in) {
		return "correct the date of from or to"
	}
	return "make a plan for each period"
}

func hours(d time.Duration) string {
	if days := int(d.Hours()) / 24; days > 7 {
		return fmt.Sprintf("%d days", days)
	}
	if m := int(d.Minutes()) % 60; m != 0 {
		return fmt.Sprintf("%d h %02d min", int(d.Hours()), m)
	}
	return fmt.Sprintf("%d hours", int(d.Hours()))
}

func preparedLate(r *plan.Resolved, report func(finding.Finding)) {
	in := &r.Plan.Incident
	if in.From.IsZero() || in.PreparedAt.IsZero() || !in.PreparedAt.After(in.From) || absurd(in) {
		return
	}
	report(finding.Finding{
		Place: in.At("prepared_at"), Subject: in.Name,
		Message: fmt.Sprintf("prepared %s after the period begins", hours(in.PreparedAt.Sub(in.From))),
		Help:    []string{"correct prepared_at, or let the period begin later"},
		Related: []finding.Related{related(in.At("from"), "it begins %s", clock(in.From))},
		Data:    facts{"from": in.From.Format(time.RFC3339), "prepared_at": in.PreparedAt.Format(time.RFC3339)},
	})
}

// validity is the load's dates as facts, with the days of the period.
func validity(r *plan.Resolved) facts {
	return facts{
		"effective": r.Load.About.Effective.String(), "expires": r.Load.About.Expires.String(),
		"first_day": firstDay(r).String(), "last_day": lastDay(r).String(),
	}
}

// reversed tells that the load's dates are at fault themselves: see load-dates.
func reversed(a *plan.About) bool { return a.Expires.Before(a.Effective) && a.Expires != (plan.Date{}) }

func firstDay(r *plan.Resolved) plan.Date { return plan.DateOf(r.Plan.Incident.From) }

// lastDay is the last day on which the period has any time: one that ends at
// midnight has none on the day after.
func lastDay(r *plan.Resolved) plan.Date { return plan.DateOf(r.Plan.Incident.To.Add(-1)) }

func loadNotEffective(r *plan.Resolved, report func(finding.Finding)) {
	about, in := &r.Load.About, &r.Plan.Incident
	if in.From.IsZero() || absurd(in) || reversed(about) || about.Effective == (plan.Date{}) || !firstDay(r).Before(about.Effective) {
		return
	}
	report(finding.Finding{
		Place: in.At("from"), Subject: about.Edition,
		Message: fmt.Sprintf("load %s is in effect from %s, but the period begins on %s", about.Edition, about.Effective, firstDay(r)),
		Help:    []string{`write load = "..." with the load which the radios carry on that day`},
		Related: []finding.Related{related(about.At("effective"), "in effect from %s", about.Effective)},
		Data:    validity(r),
	})
}

func loadExpired(r *plan.Resolved, report func(finding.Finding)) {
	about, in := &r.Load.About, &r.Plan.Incident
	if in.To.IsZero() || absurd(in) || reversed(about) || about.Expires == (plan.Date{}) || !about.Expires.Before(lastDay(r)) {
		return
	}
	report(finding.Finding{
		Place: in.At("to"), Subject: about.Edition,
		Message: fmt.Sprintf("load %s expires on %s, but the period ends on %s", about.Edition, about.Expires, lastDay(r)),
		Help:    []string{`write load = "..." with the load of the new edition`},
		Related: []finding.Related{related(about.At("expires"), "expires on %s", about.Expires)},
		Data:    validity(r),
	})
}
