package channellist

import (
	"fmt"
	"strings"

	"slotcard/plan"
	"slotcard/plan/finding"
)

// Keep takes from last year's load what does not change with the year, where no
// answer was given: its name, and what the radios can do. Edition, color and dates
// are the new one's.
func (a *Answers) Keep(old *plan.Load) {
	if a.Name == "" {
		a.Name = old.About.Name
	}
	if a.ListPositions == 0 {
		a.ListPositions = old.Radio.ListPositions
	}
	a.NameLength, a.Bands, a.Modes = old.Radio.NameLength, old.Radio.Bands, old.Radio.Modes
}

// Said takes from lines around the tables what no answer was given for.
func (a *Answers) Said(l *List) {
	for _, v := range []struct {
		to   *string
		said string
	}{{&a.Edition, l.Edition}, {&a.Effective, l.Effective}, {&a.Expires, l.Expires}} {
		if *v.to == "" {
			*v.to = v.said
		}
	}
}

// HasName refuses a display name that the list does not have. The error completes
// a sentence that begins with what was named.
func (l *List) HasName(name string) error {
	var names []string
	for _, g := range l.Groups {
		for _, c := range g.Channels {
			if c.Name == name {
				return nil
			}
			names = append(names, c.Name)
		}
	}
	near := ""
	if close := finding.Closest(name, names, 3); len(close) > 0 {
		near = "; did you mean " + strings.Join(close, " or ") + "?"
	}
	return fmt.Errorf("cannot be %q: the list has no such display name%s", name, near)
}

// MarkEdition marks the channels of a display name: it carries the edition.
// Nothing is marked where no name is given.
func (l *List) MarkEdition(name string) error {
	if name == "" {
		return nil
	}
	if err := l.HasName(name); err != nil {
		return err
	}
	for _, g := range l.Groups {
		for _, c := range g.Channels {
			c.Edition = c.Name == name
		}
	}
	return nil
}

// Draft writes the load with what was answered. Since last year's load, if there is
// one, it says what changed, and keeps what was decided there. The error is about the
// channel that carries the edition, and completes a sentence.
func (l *List) Draft(a Answers, old *plan.Load) (*Draft, []Pair, error) {
	a.Said(l)
	var changes []Pair
	if old != nil {
		changes = l.Since(old)
		a.Keep(old)
	}
	if err := l.MarkEdition(a.EditionChannel); err != nil {
		return nil, nil, err
	}
	return l.TOML(a), changes, nil
}
