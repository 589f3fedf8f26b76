package plan

import (
	"fmt"
	"time"

	"slotcard/plan/radio"
)

// Date is a day of the calendar, without zone.
type Date struct {
	Year  int
	Month time.Month
	Day   int
}

// DateOf is the day on which t falls, in t's own zone.
func DateOf(t time.Time) Date {
	y, m, d := t.Date()
	return Date{y, m, d}
}

func (d Date) String() string { return fmt.Sprintf("%04d-%02d-%02d", d.Year, d.Month, d.Day) }

// Before tells whether d is an earlier day than e.
func (d Date) Before(e Date) bool {
	return d.Year < e.Year || d.Year == e.Year && (d.Month < e.Month || d.Month == e.Month && d.Day < e.Day)
}

// Names is a list of names that may be written as a single one.
type Names []string

// ToneRef is a tone as a site names it: by the agency's number, or by value.
// Number is 0 where Squelch holds the value.
type ToneRef struct {
	Number  int
	Squelch radio.Squelch
}
