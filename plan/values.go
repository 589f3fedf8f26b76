package plan

import (
	"errors"
	"fmt"
	"math"
	"time"

	"slotcard/plan/finding"
	"slotcard/plan/radio"
	"slotcard/plan/tomlfile"
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

// UnmarshalTOML reads a day written without time.
func (d *Date) UnmarshalTOML(v any) error {
	t, ok := v.(time.Time)
	if ok && t.Location().String() == "date-local" {
		*d = DateOf(t)
		return nil
	}
	fault := &finding.ValueError{Rule: tomlfile.RuleWrongType, Reason: "is not a day"}
	if ok && t.Year() > 0 {
		day := DateOf(t).String()
		fault.Instead = []finding.Instead{{Value: day, Title: "write the day alone: " + day}}
		return fault
	}
	if s, text := v.(string); text {
		if _, err := time.Parse(time.DateOnly, s); err == nil {
			fault.Instead = []finding.Instead{{Value: s, Title: "write it without quotes: " + s}}
			return fault
		}
	}
	fault.Help = []string{"write it as 2027-03-01, without time and without quotes"}
	return fault
}

// MarshalTOML writes the day, without quotes.
func (d Date) MarshalTOML() ([]byte, error) { return []byte(d.String()), nil }

// UnmarshalTOML reads a name, or a list of names.
func (n *Names) UnmarshalTOML(v any) error {
	const help = `write a name in quotes, or several as ["...", "..."]`
	notName := &finding.ValueError{Rule: tomlfile.RuleWrongType, Reason: "is not a name in quotes", Help: []string{help}}
	switch v := v.(type) {
	case string:
		*n = Names{v}
	case []any:
		var faults []error
		*n = make(Names, 0, len(v))
		for i, item := range v {
			s, ok := item.(string)
			if !ok {
				faults = append(faults, &tomlfile.ItemError{Index: i, Err: notName})
				continue
			}
			*n = append(*n, s)
		}
		return errors.Join(faults...)
	default:
		return notName
	}
	return nil
}

// UnmarshalTOML reads a table of position and number of seats.
func (s *Seats) UnmarshalTOML(v any) error {
	pairs, ok := v.(tomlfile.Pairs)
	if !ok {
		return &finding.ValueError{Rule: tomlfile.RuleWrongType, Reason: "is not a table of positions and numbers",
			Help: []string{`write seats = { "Engine boss" = 1, "Firefighter" = 3 }`}}
	}
	var faults []error
	for i, p := range pairs {
		count, ok := p.Value.(int64)
		switch {
		case !ok:
			faults = append(faults, &tomlfile.ItemError{Index: i, Err: &finding.ValueError{Rule: tomlfile.RuleWrongType,
				Reason: "does not have a whole number of seats", Help: []string{fmt.Sprintf("write %q = 1", p.Key)}}})
		case count < 1 || count > maxSeats:
			faults = append(faults, &tomlfile.ItemError{Index: i, Err: &finding.ValueError{Rule: tomlfile.RuleOutOfRange,
				Reason: fmt.Sprintf("has %d seats; 1 to %d are possible", count, maxSeats), Help: []string{"leave out a position without seats"}}})
		default:
			*s = append(*s, Seat{p.Key, int(count)})
		}
	}
	return errors.Join(faults...)
}

// UnmarshalTOML reads the only raster that is named: "none".
func (r *Raster) UnmarshalTOML(v any) error {
	if s, ok := v.(string); !ok || s != NoRaster.String() {
		return &finding.ValueError{Reason: "is no raster", Help: []string{`write raster = "none" for a land with another raster; delete the key for those of the United States`}}
	}
	*r = NoRaster
	return nil
}

// maxSeats bounds the seats of one position in one unit: more is a typing error.
const maxSeats = 999

// UnmarshalTOML reads a whole number as the number of a tone, and anything else
// as a squelch value: 4 is tone 4, 146.2 a tone in hertz.
func (r *ToneRef) UnmarshalTOML(v any) error {
	if number, ok := v.(int64); ok {
		if number < 1 || number > math.MaxInt32 {
			return &finding.ValueError{Rule: tomlfile.RuleOutOfRange, Reason: "is not the number of a tone", Help: []string{"numbered tones count from 1; write hertz with a decimal point, such as 100.0"}}
		}
		r.Number = int(number)
		return nil
	}
	return r.Squelch.UnmarshalTOML(v)
}

// UnmarshalTOML reads a pair of frequencies in MHz, the lower one first.
func (b *Band) UnmarshalTOML(v any) error {
	const help = "write a band as [136.0, 174.0], in MHz"
	ends, ok := v.([]any)
	if !ok || len(ends) != 2 {
		return &finding.ValueError{Rule: tomlfile.RuleWrongType, Reason: "is not a pair of frequencies", Help: []string{help}}
	}
	var faults []error
	for i, h := range []*radio.Hertz{&b.Low, &b.High} {
		if err := h.UnmarshalTOML(ends[i]); err != nil {
			faults = append(faults, &tomlfile.ItemError{Index: i, Err: err})
		}
	}
	if len(faults) == 0 && b.Low >= b.High {
		return &finding.ValueError{Rule: tomlfile.RuleOutOfRange, Reason: "does not begin with its lower frequency", Help: []string{help}}
	}
	return errors.Join(faults...)
}
