package report

import (
	"fmt"

	"slotcard/cmd/internal/voice"
	"slotcard/plan"
	"slotcard/plan/radio"
	"slotcard/plan/suggest"
)

// Suggestion is what check --suggest has to say about a plan, in its JSON
// document. Field names stay.
type Suggestion struct {
	File      string               `json:"file"`
	Problem   string               `json:"problem,omitempty"` // why nothing is proposed
	Divisions []divisionSuggestion `json:"divisions"`
	Before    int                  `json:"third_order_before"`
	After     int                  `json:"third_order_after"`
	Proven    bool                 `json:"proven"`
	TOML      string               `json:"toml"`

	proposal suggest.Proposal
	load     *plan.Load
}

type divisionSuggestion struct {
	Division   string      `json:"division"`
	Functional bool        `json:"functional"`
	Why        string      `json:"why"`
	Channel    string      `json:"channel,omitempty"` // none: no channel of the load fits
	Group      int         `json:"group,omitempty"`
	Number     int         `json:"number,omitempty"`
	Rx         radio.Hertz `json:"rx_hz,omitempty"`
	Replaces   string      `json:"replaces,omitempty"`
	InPlan     bool        `json:"in_plan"`
	Products   int         `json:"third_order"`
}

// Suggest proposes tacticals for a plan.
func Suggest(name string, r *plan.Resolved) Suggestion {
	s := Suggestion{File: name, Divisions: []divisionSuggestion{}}
	if r == nil {
		s.Problem = unreadable
		return s
	}
	s.proposal, s.load = suggest.Tacticals(r), r.Load
	p := &s.proposal
	if p.Incomplete {
		s.Problem = unreadable
		return s
	}
	s.Before, s.After, s.Proven, s.TOML = p.Before, p.After, p.Proven, p.TOML()
	for i, c := range p.Choices {
		d := divisionSuggestion{Division: c.Division.ID, Functional: c.Division.Functional, Why: c.Why, Products: c.Products}
		if c.Channel != nil {
			d.Channel, d.Group, d.Number, d.Rx, d.InPlan = c.Channel.Name, c.Channel.Group.Number, c.Channel.Number, c.Channel.Rx, c.Slot != nil
			if s := p.Replaces(i); s != nil {
				d.Replaces = s.Channel.Name
			}
		}
		s.Divisions = append(s.Divisions, d)
	}
	return s
}

const unreadable = "some slots of the plan could not be read: fix the errors first, then ask again"

// SuggestionText prints a proposal: a line for each division, how good it is, and
// what to paste.
func SuggestionText(v *voice.Voice, s Suggestion) {
	p := &s.proposal
	switch {
	case s.Problem != "":
		v.Say("%s: no suggestion: %s", voice.Name(s.File), s.Problem)
		return
	case len(p.Choices) == 0:
		v.Say("%s: nothing to suggest: no division lacks a tactical or clashes with a neighbor", voice.Name(s.File))
		return
	}
	v.Say("%s: suggested tacticals", voice.Name(s.File))
	offered := 0
	for i, c := range p.Choices {
		if c.Channel == nil {
			v.Say("%s: %s, and no free tactical of the load fits", c.Division.Title(), c.Why)
			continue
		}
		offered++
		where := ""
		switch old := p.Replaces(i); {
		case c.Slot != nil:
			where = ", already in the plan"
		case old != nil:
			where = " in place of " + old.Channel.Name
		}
		v.Say("%s: %s (%s) %s%s, %s", c.Division.Title(), c.Channel.Name, c.Channel.Place(), c.Channel.Rx, where, products(c.Products))
	}
	if offered == 0 {
		return
	}
	v.Say("%s", verdict(p))
	if positions := s.load.Radio.ListPositions; positions > 0 && p.Longest() >= positions {
		v.Say("the list then has %d slots, and the radio has room for %d: %s", p.Longest(), positions, tooLong(p.Longest() > positions))
	}
	v.Say("to paste into %s:", s.File)
	v.Raw("\n%s", s.TOML)
}

func products(n int) string {
	if n == 0 {
		return "no third-order product"
	}
	return voice.Count(n, "third-order product", "third-order products")
}

// verdict is how good a proposal is, and what may be claimed of it.
func verdict(p *suggest.Proposal) string {
	list := "the list then has " + products(p.After)
	if p.After != p.Before {
		list += fmt.Sprintf(", now %d", p.Before)
	}
	switch {
	case p.After == 0:
		return list
	case p.Proven:
		return list + "; no other free tacticals of the load make fewer"
	case !p.Exact:
		return list + fmt.Sprintf("; with more than %d divisions they are chosen one by one, so others may make fewer", suggest.MostExact)
	}
	return list + "; there were too many choices to try them all, so others may make fewer"
}

func tooLong(over bool) string {
	if over {
		return "remove slots, or use carried_by to give divisions different ones"
	}
	return "no empty position is left after guard"
}
