package report

import (
	"fmt"

	"slotcard/cmd/internal/voice"
	"slotcard/plan"
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
		for _, l := range r.Lists {
			in := r.Plan.Incident
			c := CodeList{l.Code, l.Code.Words(), in.Name, in.Period, r.Plan.Path, l.Name(r)}
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

// CodesText prints the same.
func CodesText(v *voice.Voice, d CodeDocument) {
	for _, l := range d.Lists {
		v.Say("%s", l)
	}
	if d.Found || d.Code == "" || d.Plans == 0 {
		return
	}
	v.Say("%s  %s  belongs to none of %s", d.Code.Pairs(), d.Words, voice.Count(d.Plans, "plan", "plans"))
	for _, n := range d.Near {
		v.Say("near: %s; character %d is %s there, %s here: ask again", n.CodeList, n.Character, n.There, n.Here)
	}
}

// String is a list's code and whose it is.
func (l CodeList) String() string {
	line := fmt.Sprintf("%s  %s  %s, period %d, %s", l.Code.Pairs(), l.Words, l.Incident, l.Period, l.File)
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
