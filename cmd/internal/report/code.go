package report

import (
	"fmt"
	"slices"
	"strconv"
	"time"

	"slotcard/cmd/internal/voice"
	"slotcard/plan"
	"slotcard/plan/changes"
	"slotcard/plan/slotlist"
)

// CodeDocument is the JSON document of code.
type CodeDocument struct {
	Code  slotlist.Code `json:"code,omitempty"`  // that was asked for
	Words string        `json:"words,omitempty"` // to say it
	Found bool          `json:"found"`
	Lists []CodeList    `json:"lists"`          // whose code it is; all where none was asked for
	Near  []CodeNear    `json:"near,omitempty"` // off by one character
	Plans int           `json:"plans"`          // that were read

	Problems []Problem `json:"problems,omitempty"`
}

// CodeList is a list of a plan and its code.
type CodeList struct {
	Code     slotlist.Code `json:"code"`
	Words    string        `json:"words"`
	Incident string        `json:"incident"`
	Period   int           `json:"period"`
	File     string        `json:"file"`
	Of       string        `json:"of,omitempty"` // who carries it, where there are several

	Revision  int        `json:"revision,omitempty"` // from 2
	RevisedAt time.Time  `json:"revised_at,omitzero"`
	Newer     *CodeNewer `json:"newer,omitempty"` // what has replaced it, where that has other codes
}

// CodeNewer is the newest revision of the plan that a code is of.
type CodeNewer struct {
	File      string          `json:"file"`
	Revision  int             `json:"revision"`
	RevisedAt time.Time       `json:"revised_at"`
	Codes     []slotlist.Code `json:"codes"` // of its lists
}

// CodeNear is a list whose code differs in one character.
type CodeNear struct {
	CodeList
	Character int    `json:"character"` // from 1
	There     string `json:"there"`     // in words
	Here      string `json:"here"`
}

// Codes looks a code up in plans; "" gives all of theirs.
func Codes(code slotlist.Code, plans []*plan.Resolved) CodeDocument {
	d := CodeDocument{Code: code, Lists: []CodeList{}, Plans: len(plans)}
	if code != "" {
		d.Words = code.Words()
	}
	for _, r := range plans {
		newer := newerOf(r, plans)
		for _, l := range r.Lists {
			in := r.Plan.Incident
			c := CodeList{Code: l.Code, Words: l.Code.Words(), Incident: in.Name, Period: in.Period, File: r.Plan.Path, Of: l.Name(r),
				Revision: in.Revision, RevisedAt: in.RevisedAt}
			if newer != nil && !slices.Contains(newer.Codes, l.Code) {
				c.Newer = newer
			}
			if code == "" || l.Code == code {
				d.Found = true
				d.Lists = append(d.Lists, c)
			} else if at := offByOne(code, l.Code); at >= 0 {
				d.Near = append(d.Near, CodeNear{c, at + 1, l.Code[at : at+1].Words(), code[at : at+1].Words()})
			}
		}
	}
	if d.Found {
		d.Near = nil
	}
	return d
}

// newerOf is the newest of the revisions that have replaced a plan; nil: none has.
func newerOf(r *plan.Resolved, plans []*plan.Resolved) *CodeNewer {
	newest := r
	for _, other := range plans {
		in, is := &newest.Plan.Incident, &other.Plan.Incident
		if changes.SameIncident(in, is) && in.Period == is.Period && is.Revision > in.Revision {
			newest = other
		}
	}
	if newest == r {
		return nil
	}
	n := &CodeNewer{File: newest.Plan.Path, Revision: newest.Plan.Incident.Revision, RevisedAt: newest.Plan.Incident.RevisedAt}
	for _, l := range newest.Lists {
		n.Codes = append(n.Codes, l.Code)
	}
	return n
}

// CodesText prints the same. That a list is of an older revision comes before it.
func CodesText(v *voice.Voice, d CodeDocument) {
	for i, l := range d.Lists {
		if l.Newer != nil {
			v.Say("older revision: %s", l.Newer.says(l))
		} else if same := sameAs(d.Lists, i); same != "" {
			v.Say("%s", same)
		}
		v.Say("%s", l)
	}
	if d.Found || d.Code == "" || d.Plans == 0 {
		return
	}
	v.Say("%s  %s  %s", d.Code.Pairs(), d.Words, matchesNone(d.Plans))
	for _, n := range d.Near {
		v.Say("near: %s; character %d is %s there, %s here: ask again", n.CodeList, n.Character, n.There, n.Here)
	}
}

// matchesNone says that a code is of none of n plans, n > 0.
func matchesNone(n int) string {
	switch n {
	case 1:
		return "does not match the plan"
	case 2:
		return "matches neither plan"
	}
	return fmt.Sprintf("matches none of %d plans", n)
}

// says what has replaced a list.
func (n *CodeNewer) says(l CodeList) string {
	codes := make([]string, len(n.Codes))
	for i, c := range n.Codes {
		codes[i] = c.Pairs()
	}
	has := "its code is "
	if len(codes) > 1 {
		has = "its codes are "
	}
	return fmt.Sprintf("%s is revision %d of period %d, made at %s, and %s", n.File, n.Revision, l.Period, n.RevisedAt.Format("15:04"), has+voice.Join(codes, "and"))
}

// sameAs says, before the first of them, that several revisions of a period have one
// code: then it does not tell which of their cards somebody holds.
func sameAs(lists []CodeList, i int) string {
	l := lists[i]
	var revisions []int
	for k, other := range lists {
		if other.Code == l.Code && other.Incident == l.Incident && other.Period == l.Period {
			if k < i {
				return "" // said before that one
			}
			revisions = append(revisions, max(1, other.Revision))
		}
	}
	slices.Sort(revisions)
	if revisions = slices.Compact(revisions); len(revisions) < 2 {
		return ""
	}
	said := make([]string, len(revisions))
	for i, r := range revisions {
		said[i] = strconv.Itoa(r)
	}
	return fmt.Sprintf("same list: revisions %s of period %d have the code %s", voice.Join(said, "and"), l.Period, l.Code.Pairs())
}

// String is a list's code and whose it is.
func (l CodeList) String() string {
	line := fmt.Sprintf("%s  %s  %s, %s, %s", l.Code.Pairs(), l.Words, l.Incident, IssueOf(l.Period, l.Revision), l.File)
	if l.Of != "" {
		line += ", list of " + voice.LowerFirst(l.Of)
	}
	return line
}

// offByOne is where two codes differ, if they do so in one character; else -1.
func offByOne(a, b slotlist.Code) int {
	at := -1
	for i := range min(len(a), len(b)) {
		if a[i] != b[i] {
			if at >= 0 {
				return -1
			}
			at = i
		}
	}
	return at
}
