package report

import (
	"fmt"
	"strings"
	"time"

	"slotcard/cmd/internal/voice"
	"slotcard/layout/words"
	"slotcard/plan"
	"slotcard/plan/changes"
	"slotcard/plan/finding"
	"slotcard/plan/radio"
)

// Changes prints what changes between two plans. The last line tells whether
// anything does.
func Changes(v *voice.Voice, c *changes.Changes) {
	w := &words.EnglishChanges
	for i, part := range w.Text(c) {
		indent := ""
		if i > 0 {
			v.Gap()
			v.Say("%s", part.Title)
			indent = "  "
		}
		for _, l := range part.Lines {
			v.Folded(l, indent, indent+"  ")
		}
	}
	if c.Empty() {
		v.Raw("\nthe same\n")
		return
	}
	v.Gap()
	v.Folded(CardTally(c.Counts(), 0), "", "  ")
}

// ChangeLines are what changes, sentence by sentence, without what stays, and without
// which plans are compared and how many cards that touches; nil where nothing does.
func ChangeLines(c *changes.Changes) (lines []string) {
	w := &words.EnglishChanges
	for i, part := range w.Text(c) {
		said := part.Lines
		switch {
		case i == 0:
			said = said[:len(said)-1]
		case part.Title == w.Units:
			said = said[1:]
		}
		for _, l := range said {
			if l != w.NothingElse && l != w.SameList {
				lines = append(lines, strings.ReplaceAll(l, "\u00a0", " "))
			}
		}
	}
	if c.Empty() {
		return nil
	}
	return lines
}

// CardTally says what becomes of the cards, in a line; so many of them are changed by
// strips.
func CardTally(n changes.Counts, strips int) string {
	var parts []string
	for _, p := range []struct {
		n    int
		said string
	}{
		{n.Rebuild, "rebuild the list"}, {n.First, "build it for the first time"}, {n.Listen, "listen elsewhere"},
		{n.Code, "have a new read-back code"}, {n.Gone, "of the old ones no longer have a seat"},
	} {
		if p.n > 0 {
			parts = append(parts, fmt.Sprintf("%d %s", p.n, p.said))
		}
	}
	said := fmt.Sprintf("%d of %s must be replaced", n.Replace-strips, voice.Count(n.Cards, "card", "cards"))
	switch {
	case strips > 0 && n.Replace == strips:
		said = fmt.Sprintf("a strip changes %d of %s", strips, voice.Count(n.Cards, "card", "cards"))
	case strips > 0:
		said = fmt.Sprintf("of %s a strip changes %d, %d must be replaced", voice.Count(n.Cards, "card", "cards"), strips, n.Replace-strips)
	}
	if len(parts) > 0 {
		said += ": " + strings.Join(parts, ", ")
	}
	return said
}

// DiffDocument is the JSON document of a diff. Field names stay.
type DiffDocument struct {
	Same          bool           `json:"same"`
	OtherIncident bool           `json:"other_incident"`
	OtherLoad     bool           `json:"other_load"`
	Backwards     bool           `json:"backwards"`
	AlsoChanged   bool           `json:"also_changed"`
	Old           DiffPlan       `json:"old"`
	New           DiffPlan       `json:"new"`
	Lists         []diffList     `json:"lists"`
	Divisions     []diffDivision `json:"divisions"`
	Units         []diffUnit     `json:"units"`
	Counts        diffCounts     `json:"counts"`
	Findings      finding.List   `json:"findings"`
}

// DiffUnread is the JSON document where a plan has errors or cannot be read.
type DiffUnread struct {
	Old      DiffPlan     `json:"old"`
	New      DiffPlan     `json:"new"`
	Findings finding.List `json:"findings"`
	Problems []Problem    `json:"problems,omitempty"`
}

// DiffPlan is one of the two plans.
type DiffPlan struct {
	File     string    `json:"file"`
	Incident string    `json:"incident,omitempty"`
	Number   string    `json:"number,omitempty"`
	Period   int       `json:"period,omitempty"`
	Revision int       `json:"revision,omitempty"` // from 2
	Revised  time.Time `json:"revised_at,omitzero"`
	From     time.Time `json:"from,omitzero"`
	To       time.Time `json:"to,omitzero"`
	Load     string    `json:"load,omitempty"`
	Edition  string    `json:"edition,omitempty"`
}

type diffList struct {
	Name      string      `json:"name,omitempty"`
	OldCode   string      `json:"old_code,omitempty"`
	NewCode   string      `json:"new_code,omitempty"`
	OldLength int         `json:"old_length,omitempty"`
	NewLength int         `json:"new_length,omitempty"`
	Slots     []diffSlot  `json:"slots,omitempty"`
	Shifts    []diffShift `json:"shifts,omitempty"`
	Rebuild   []int       `json:"rebuild,omitempty"`
	Clear     []int       `json:"clear,omitempty"`
}

type diffSlot struct {
	Change      []string   `json:"change,omitempty"`
	OldPosition int        `json:"old_position,omitempty"`
	NewPosition int        `json:"new_position,omitempty"`
	Old         *diffTuned `json:"old,omitempty"`
	New         *diffTuned `json:"new,omitempty"`
}

type diffTuned struct {
	Name      string      `json:"name,omitempty"`
	Use       string      `json:"use,omitempty"`
	Divisions []string    `json:"divisions,omitempty"`
	Rx        radio.Hertz `json:"rx_hz,omitempty"`
	Tx        radio.Hertz `json:"tx_hz,omitempty"`
	RxTone    string      `json:"rx_tone,omitempty"`
	TxTone    string      `json:"tx_tone,omitempty"`
	Mode      string      `json:"mode,omitempty"`
	Width     string      `json:"width,omitempty"`
	System    string      `json:"system,omitempty"`
	Talkgroup string      `json:"talkgroup,omitempty"`
}

type diffShift struct {
	From int `json:"from,omitzero"`
	To   int `json:"to,omitempty"`
	By   int `json:"by,omitempty"`
}

type diffPlace struct {
	Position int    `json:"position,omitempty"`
	Name     string `json:"name,omitempty"`
}

type diffDivision struct {
	ID            string      `json:"id,omitempty"`
	Change        []string    `json:"change,omitempty"`
	OldChannels   []diffPlace `json:"old_channels,omitempty"`
	NewChannels   []diffPlace `json:"new_channels,omitempty"`
	OldNeighbors  []string    `json:"old_neighbors,omitempty"`
	NewNeighbors  []string    `json:"new_neighbors,omitempty"`
	OldName       string      `json:"old_name,omitempty"`
	NewName       string      `json:"new_name,omitempty"`
	OldSupervisor string      `json:"old_supervisor,omitempty"`
	NewSupervisor string      `json:"new_supervisor,omitempty"`
}

type diffUnit struct {
	Name        string     `json:"name,omitempty"`
	Change      []string   `json:"change,omitempty"`
	OldDivision string     `json:"old_division,omitempty"`
	NewDivision string     `json:"new_division,omitempty"`
	OldCode     string     `json:"old_code,omitempty"`
	NewCode     string     `json:"new_code,omitempty"`
	Rebuild     []int      `json:"rebuild,omitempty"`
	Clear       []int      `json:"clear,omitempty"`
	Cards       []diffCard `json:"cards,omitempty"`
	CardsGone   []diffGone `json:"cards_gone,omitempty"`
}

type diffCard struct {
	Number    int      `json:"number,omitempty"`
	OldNumber int      `json:"old_number,omitempty"`
	Position  string   `json:"position,omitempty"`
	Nth       int      `json:"nth,omitempty"`
	Of        int      `json:"of,omitempty"`
	Change    []string `json:"change,omitempty"`
	Talk      diffEar  `json:"talk,omitzero"`
	Priority  diffEar  `json:"priority,omitzero"`
	Scan      diffEar  `json:"scan,omitzero"`
}

type diffEar struct {
	Now    []diffPlace `json:"now,omitempty"`
	Before []diffPlace `json:"before,omitempty"`
}

type diffGone struct {
	Number   int    `json:"number,omitempty"`
	Position string `json:"position,omitempty"`
	Nth      int    `json:"nth,omitempty"`
}

type diffCounts struct {
	Cards   int `json:"cards"`
	First   int `json:"first"`
	Rebuild int `json:"rebuild"`
	Listen  int `json:"listen"`
	Code    int `json:"code"`
	Replace int `json:"replace"`
	Keep    int `json:"keep"`
	Gone    int `json:"gone"`
}

// Fill writes changes into the document. Its own lists are there even where they
// are empty; what is empty further in is left out.
func (doc *DiffDocument) Fill(c *changes.Changes) {
	doc.Same = c.Empty()
	doc.OtherIncident, doc.OtherLoad, doc.Backwards, doc.AlsoChanged = c.OtherIncident, c.OtherLoad, c.Backwards, c.Also
	doc.Old.fill(c.Old)
	doc.New.fill(c.New)
	doc.Counts = diffCounts(c.Counts())
	doc.Lists, doc.Divisions, doc.Units, doc.Findings = []diffList{}, []diffDivision{}, []diffUnit{}, finding.List{}
	for _, l := range c.Lists {
		out := diffList{Name: c.Name(l), Rebuild: l.Rebuild, Clear: l.Clear}
		out.OldCode, out.OldLength = codeOf(l.Old)
		out.NewCode, out.NewLength = codeOf(l.New)
		for _, s := range l.Slots {
			slot := diffSlot{OldPosition: s.Was, NewPosition: s.Is, Old: tunedOf(s.Old), New: tunedOf(s.New)}
			for _, k := range s.Kinds {
				slot.Change = append(slot.Change, k.String())
			}
			out.Slots = append(out.Slots, slot)
		}
		for _, s := range l.Shifts {
			out.Shifts = append(out.Shifts, diffShift(s))
		}
		doc.Lists = append(doc.Lists, out)
	}
	for _, d := range c.Divisions {
		out := diffDivision{ID: d.ID(), OldChannels: placesOf(d.WasOn), NewChannels: placesOf(d.IsOn),
			OldNeighbors: d.WasNear, NewNeighbors: d.IsNear}
		if d.Old != nil {
			out.OldName, out.OldSupervisor = d.Old.Name, d.Old.Supervisor
		}
		if d.New != nil {
			out.NewName, out.NewSupervisor = d.New.Name, d.New.Supervisor
		}
		out.Change = holding(d.Old == nil, "new", d.New == nil, "gone", d.Channels, "channels", d.Neighbors, "neighbors",
			d.Named, "name", d.Commanded, "supervisor")
		doc.Divisions = append(doc.Divisions, out)
	}
	for _, u := range c.Units {
		doc.Units = append(doc.Units, unitOf(c, u))
	}
}

func unitOf(c *changes.Changes, u *changes.Unit) diffUnit {
	out := diffUnit{Name: u.Name(), Rebuild: u.Rebuild, Clear: u.Clear}
	out.OldCode, _ = codeOf(u.OldList)
	out.NewCode, _ = codeOf(u.List)
	if u.Old != nil {
		out.OldDivision = u.Old.Division
	}
	if u.New != nil {
		out.NewDivision = u.New.Division
	}
	listen, seats := false, len(u.Gone) > 0
	for _, card := range u.Cards {
		listens := !card.First && card.Listen()
		listen = listen || listens
		seats = seats || card.First && !u.First
		k := diffCard{Number: card.New.Number, Position: card.New.Position.Name, Nth: card.New.Nth, Of: card.New.Of,
			Change: holding(card.First, "first", card.Rebuild(), "rebuild", card.Code(), "code", listens, "listen",
				u.Elsewhere(), "division", c.Also, "also"),
			Talk: earOf(card.Talk), Priority: earOf(card.Priority), Scan: earOf(card.Scan)}
		if card.Old != nil {
			k.OldNumber = card.Old.Number
		}
		out.Cards = append(out.Cards, k)
	}
	for _, card := range u.Gone {
		out.CardsGone = append(out.CardsGone, diffGone{card.Number, card.Position.Name, card.Nth})
	}
	out.Change = holding(u.New == nil, "gone", u.First, "first", !u.First && u.Changed(), "rebuild", !u.First && u.Code(), "code",
		listen, "listen", u.Elsewhere(), "division", c.Also && u.New != nil, "also", seats && u.New != nil, "seats")
	return out
}

// holding are the words whose condition holds, out of pairs of both.
func holding(pairs ...any) []string {
	var out []string
	for i := 0; i < len(pairs); i += 2 {
		if pairs[i].(bool) {
			out = append(out, pairs[i+1].(string))
		}
	}
	return out
}

func (p *DiffPlan) fill(r *plan.Resolved) {
	in := r.Plan.Incident
	p.Incident, p.Number, p.Period, p.From, p.To = in.Name, in.Number, in.Period, in.From, in.To
	p.Revision, p.Revised = in.Revision, in.RevisedAt
	p.Load, p.Edition = r.Load.About.Name, r.Load.About.Edition
}

func codeOf(l *plan.List) (code string, length int) {
	if l == nil {
		return "", 0
	}
	return string(l.Code), len(l.Slots)
}

func tunedOf(s *plan.ResolvedSlot) *diffTuned {
	if s == nil {
		return nil
	}
	t := &diffTuned{Name: s.Channel.Name, Use: s.Use.String(), System: s.Channel.System, Talkgroup: s.Channel.Talkgroup,
		RxTone: s.Channel.RxTone.String(), TxTone: s.TxTone.String(), Mode: s.Channel.Mode.String(), Width: s.Channel.Width.String()}
	if !s.Channel.Trunked() {
		t.Rx, t.Tx = s.Channel.Rx, s.Channel.Tx
	}
	for _, d := range s.Users {
		t.Divisions = append(t.Divisions, d.ID)
	}
	return t
}

func placesOf(places []changes.Place) []diffPlace {
	var out []diffPlace
	for _, p := range places {
		out = append(out, diffPlace{p.Position, p.Slot.Channel.Name})
	}
	return out
}

func earOf(e changes.Ear) diffEar { return diffEar{placesOf(e.Now), placesOf(e.Before)} }
