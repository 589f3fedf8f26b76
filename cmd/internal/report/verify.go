package report

import (
	"errors"
	"fmt"
	"strconv"
	"strings"

	"slotcard/cmd/internal/files"
	"slotcard/cmd/internal/voice"
	"slotcard/plan"
	"slotcard/plan/compare"
	"slotcard/plan/finding"
	"slotcard/plan/slotlist"
)

// The JSON document of verify.
type (
	// VerifyDocument is the whole.
	VerifyDocument struct {
		Plan     VerifyPlan     `json:"plan"`
		Files    []VerifiedFile `json:"files"`
		Lists    []VerifiedList `json:"lists"`
		Findings finding.List   `json:"findings,omitempty"` // of a plan with errors
		Same     bool           `json:"same"`
	}
	// VerifyPlan is the plan that was compared with.
	VerifyPlan struct {
		File     string     `json:"file"`
		Incident string     `json:"incident,omitempty"`
		Period   int        `json:"period,omitempty"`
		Revision int        `json:"revision,omitempty"` // from 2
		Edition  string     `json:"edition,omitempty"`
		Lists    []PlanList `json:"lists,omitempty"`
	}
	// PlanList is one of its lists.
	PlanList struct {
		Code  slotlist.Code `json:"code"`
		Words string        `json:"words"`
		Of    string        `json:"of,omitempty"` // who carries it, where there are several
	}
	// VerifiedFile is a file with lists in it.
	VerifiedFile struct {
		File    string `json:"file"`
		Kind    string `json:"kind,omitempty"` // text, picture or pdf
		Codes   int    `json:"codes,omitempty"`
		Pages   int    `json:"pages,omitempty"`
		More    bool   `json:"more,omitempty"`    // corners of a code are seen that was not read
		Problem string `json:"problem,omitempty"` // why it cannot be read
	}
	// VerifiedList is a list, and how it compares.
	VerifiedList struct {
		File        string         `json:"file"`
		Together    []string       `json:"together,omitempty"` // other pictures, where only all of them tell it
		Copies      int            `json:"copies"`
		Result      string         `json:"result"`
		Code        slotlist.Code  `json:"code,omitempty"`
		Incident    string         `json:"incident,omitempty"`
		Period      int            `json:"period,omitempty"`
		Revision    int            `json:"revision,omitempty"`
		Times       string         `json:"times,omitempty"` // ISO 8601 interval, local
		Edition     string         `json:"edition,omitempty"`
		Problem     string         `json:"problem,omitempty"` // of a damaged list
		With        *PlanList      `json:"compared_with,omitempty"`
		Head        []headDiffers  `json:"head,omitempty"`
		Differences []slotsDiffers `json:"differences,omitempty"`

		Said []string `json:"-"` // the same in sentences
	}
	// headDiffers is a difference before the slots.
	headDiffers struct {
		Field compare.Field `json:"field"`
		Card  string        `json:"card"`
		Plan  string        `json:"plan"`
	}
	slotsDiffers struct {
		Kind     compare.Kind    `json:"kind"`
		Slot     int             `json:"slot,omitempty"`
		To       int             `json:"to,omitempty"`
		CardSlot int             `json:"card_slot,omitempty"`
		Fields   []compare.Field `json:"fields,omitempty"`
		Card     string          `json:"card,omitempty"` // display names
		Plan     string          `json:"plan,omitempty"`
		Message  string          `json:"message"`
	}
)

// Results of comparing a list.
const (
	Same     = "same"
	SameList = "same-list" // the slots are the plan's, the head is not
	Differs  = "differs"
	Damaged  = "damaged"
)

// Issue is the period of a plan, and its revision: "period 2", "period 2, revision 3".
func Issue(in plan.Incident) string {
	return IssueOf(in.Period, in.Revision)
}

// IssueOf is the same of the two numbers.
func IssueOf(period, revision int) string {
	if revision < plan.FirstRevision {
		return fmt.Sprintf("period %d", period)
	}
	return fmt.Sprintf("period %d, revision %d", period, revision)
}

// AboutPlan is the plan in the document.
func AboutPlan(name string, r *plan.Resolved) VerifyPlan {
	p := VerifyPlan{File: name, Incident: r.Plan.Incident.Name, Period: r.Plan.Incident.Period, Revision: r.Plan.Incident.Revision, Edition: r.Load.About.Edition}
	for _, l := range r.Lists {
		p.Lists = append(p.Lists, *aboutList(r, l))
	}
	return p
}

func aboutList(r *plan.Resolved, l *plan.List) *PlanList {
	return &PlanList{Code: l.Code, Words: l.Code.Words(), Of: l.Name(r)}
}

// Verified compares a text with the list that its carrier should have, or,
// where that is nil, with the closest list of the plan.
func Verified(r *plan.Resolved, lists *compare.Lists, should *plan.List, text string) VerifiedList {
	l, code, err := slotlist.Parse(text)
	var v VerifiedList
	var wrongCode *slotlist.CodeError
	switch {
	case errors.As(err, &wrongCode):
		v.Result, v.Problem = Damaged, wrongCode.Error()
	case err != nil:
		v.Result, v.Problem = Damaged, err.Error()
		if errors.Is(err, slotlist.ErrVersion) {
			v.Problem += "; a newer slotcard wrote it"
		}
		return v
	}
	var c *compare.Report
	if should != nil {
		c = lists.WithList(l, should)
	} else {
		c = lists.With(l)
	}
	switch {
	case v.Result != "":
	case c.Same():
		v.Result = Same
	case c.SameSlots():
		v.Result = SameList
	default:
		v.Result = Differs
	}
	const minute = "2006-01-02T15:04"
	v.Code, v.Incident, v.Period, v.Revision, v.Edition = code, l.Incident, l.Period, l.Revision, l.Edition
	v.Times = l.From.Format(minute) + "/" + l.To.Format(minute)
	v.With = aboutList(r, c.List)
	for _, h := range c.Head {
		v.Head = append(v.Head, headDiffers{h.Field, h.Card, h.Plan})
	}
	for _, d := range c.Differences {
		s := slotsDiffers{Kind: d.Kind, Slot: d.Slot, To: d.To, CardSlot: d.CardSlot, Fields: d.Fields, Message: c.SayDifference(d)}
		if d.Card != nil {
			s.Card = d.Card.Name
		}
		if d.Plan != nil {
			s.Plan = d.Plan.Name
		}
		v.Differences = append(v.Differences, s)
	}
	v.Said = c.Say()
	return v
}

// Compared prints the answer about each list.
func Compared(v *voice.Voice, r *plan.Resolved, doc VerifyDocument) {
	for i := range doc.Lists {
		l := &doc.Lists[i]
		from := files.Shown(l.File)
		for _, f := range doc.Files {
			if f.File == l.File && l.Copies > 1 {
				from += ", " + voice.Count(l.Copies, "code", "codes")
				if f.Pages > 0 {
					from += " on " + voice.Count(f.Pages, "page", "pages")
				}
				break
			}
		}
		if len(l.Together) > 0 {
			for _, name := range l.Together {
				from += " and " + files.Shown(name)
			}
			from += " together"
		}
		v.Say("%s: %s", from, answer(r, l))
		for _, line := range l.Said {
			v.Say("  %s", line)
		}
	}
}

// answer is what a list is, in one line.
func answer(r *plan.Resolved, l *VerifiedList) string {
	in := r.Plan.Incident
	of := ""
	if l.With != nil && l.With.Of != "" {
		of = ", list of " + voice.LowerFirst(l.With.Of)
	}
	switch l.Result {
	case Same:
		return fmt.Sprintf("same: %s (%s), %s, %s%s", l.Code.Pairs(), l.Code.Words(), in.Name, Issue(in), of)
	case SameList:
		if age := l.age(); age != "" && len(l.Head) == 1 {
			return fmt.Sprintf("%s revision, with the same list: %s (%s)%s", age, l.Code.Pairs(), l.Code.Words(), of)
		}
		return fmt.Sprintf("same list, but not a card of this plan: %s (%s)%s", l.Code.Pairs(), l.Code.Words(), of)
	case Differs:
		if age := l.age(); age != "" {
			return fmt.Sprintf("%s revision, and differs: card %s, plan %s%s", age, l.Code.Pairs(), l.With.Code.Pairs(), of)
		}
		if l.Code == l.With.Code {
			return fmt.Sprintf("differs: another list with the same code, by chance: %s%s", l.Code.Pairs(), of)
		}
		return fmt.Sprintf("differs: card %s, plan %s%s", l.Code.Pairs(), l.With.Code.Pairs(), of)
	}
	return "damaged: " + l.Problem
}

// age tells whether a list is of an older or a newer revision of the plan; "" where
// it is of neither.
func (l *VerifiedList) age() string {
	for _, h := range l.Head {
		if h.Field != compare.Revision {
			continue
		}
		card, _ := strconv.Atoi(h.Card)
		plan, _ := strconv.Atoi(h.Plan)
		if card > plan {
			return "newer"
		}
		return "older"
	}
	return ""
}

// Sum is what results add up to.
func Sum(lists []VerifiedList) string {
	var parts []string
	for _, p := range []struct{ result, one, many string }{
		{Same, "same", "same"},
		{SameList, "same list on another card", "same list on other cards"},
		{Differs, "differs", "differ"},
		{Damaged, "damaged", "damaged"},
	} {
		n := 0
		for _, l := range lists {
			if l.Result == p.result {
				n++
			}
		}
		switch {
		case n == 0:
		case n == len(lists) && n == 1:
			return p.one
		default:
			parts = append(parts, voice.Count(n, p.one, p.many))
		}
	}
	return strings.Join(parts, ", ")
}
