package report

import (
	"fmt"
	"strings"
	"time"

	"slotcard/cmd/internal/voice"
	"slotcard/layout"
	"slotcard/plan"
	"slotcard/plan/changes"
	"slotcard/plan/finding"
)

// Changes prints what changes between two plans. The last line tells whether
// anything does.
func Changes(v *voice.Voice, c *changes.Changes) {
	w := &layout.EnglishChanges
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
	v.Folded(CardTally(c.Counts()), "", "  ")
}

// CardTally says what becomes of the cards, in a line.
func CardTally(n changes.Counts) string {
	var parts []string
	for _, p := range []struct {
		n    int
		said string
	}{
		{n.Rebuild, "rebuild the list"}, {n.First, "build it for the first time"}, {n.Listen, "listen elsewhere"},
		{n.Code, "have another read-back code"}, {n.Gone, "of the old ones have no seat any more"},
	} {
		if p.n > 0 {
			parts = append(parts, fmt.Sprintf("%d %s", p.n, p.said))
		}
	}
	said := fmt.Sprintf("%d of %s must be replaced", n.Replace, voice.Count(n.Cards, "card", "cards"))
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

type DiffPlan struct {
	File     string    `json:"file"`
	Incident string    `json:"incident"`
	Number   string    `json:"number"`
	Period   int       `json:"period"`
	From     time.Time `json:"from"`
	To       time.Time `json:"to"`
	Load     string    `json:"load"`
	Edition  string    `json:"edition"`
}

type diffList struct {
	Name      string      `json:"name"`
	OldCode   string      `json:"old_code"`
	NewCode   string      `json:"new_code"`
	OldLength int         `json:"old_length"`
	NewLength int         `json:"new_length"`
	Slots     []diffSlot  `json:"slots"`
	Shifts    []diffShift `json:"shifts"`
	Rebuild   []int       `json:"rebuild"`
	Clear     []int       `json:"clear"`
}

type diffSlot struct {
	Change      []string   `json:"change"`
	OldPosition int        `json:"old_position"`
	NewPosition int        `json:"new_position"`
	Old         *diffTuned `json:"old"`
	New         *diffTuned `json:"new"`
}

type diffTuned struct {
	Name      string   `json:"name"`
	Use       string   `json:"use"`
	Divisions []string `json:"divisions"`
	Rx        string   `json:"rx_mhz"`
	Tx        string   `json:"tx_mhz"`
	RxTone    string   `json:"rx_tone"`
	TxTone    string   `json:"tx_tone"`
	Mode      string   `json:"mode"`
	Width     string   `json:"width"`
	System    string   `json:"system"`
	Talkgroup string   `json:"talkgroup"`
}

type diffShift struct {
	From int `json:"from"`
	To   int `json:"to"`
	By   int `json:"by"`
}

type diffPlace struct {
	Position int    `json:"position"`
	Name     string `json:"name"`
}

type diffDivision struct {
	ID            string      `json:"id"`
	Change        []string    `json:"change"`
	OldChannels   []diffPlace `json:"old_channels"`
	NewChannels   []diffPlace `json:"new_channels"`
	OldNeighbours []string    `json:"old_neighbours"`
	NewNeighbours []string    `json:"new_neighbours"`
	OldName       string      `json:"old_name"`
	NewName       string      `json:"new_name"`
	OldSupervisor string      `json:"old_supervisor"`
	NewSupervisor string      `json:"new_supervisor"`
}

type diffUnit struct {
	Name        string     `json:"name"`
	Change      []string   `json:"change"`
	OldDivision string     `json:"old_division"`
	NewDivision string     `json:"new_division"`
	OldCode     string     `json:"old_code"`
	NewCode     string     `json:"new_code"`
	Rebuild     []int      `json:"rebuild"`
	Clear       []int      `json:"clear"`
	Cards       []diffCard `json:"cards"`
	CardsGone   []diffGone `json:"cards_gone"`
}

type diffCard struct {
	Number    int      `json:"number"`
	OldNumber int      `json:"old_number"`
	Position  string   `json:"position"`
	Nth       int      `json:"nth"`
	Of        int      `json:"of"`
	Change    []string `json:"change"`
	Talk      diffEar  `json:"talk"`
	Priority  diffEar  `json:"priority"`
	Scan      diffEar  `json:"scan"`
}

type diffEar struct {
	Now    []diffPlace `json:"now"`
	Before []diffPlace `json:"before"`
}

type diffGone struct {
	Number   int    `json:"number"`
	Position string `json:"position"`
	Nth      int    `json:"nth"`
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

// fill writes changes into the report. Lists that are empty are [], not null.
func (doc *DiffDocument) Fill(c *changes.Changes) {
	doc.Same = c.Empty()
	doc.OtherIncident, doc.OtherLoad, doc.Backwards, doc.AlsoChanged = c.OtherIncident, c.OtherLoad, c.Backwards, c.Also
	doc.Old.fill(c.Old)
	doc.New.fill(c.New)
	doc.Counts = diffCounts(c.Counts())
	doc.Lists, doc.Divisions, doc.Units, doc.Findings = []diffList{}, []diffDivision{}, []diffUnit{}, finding.List{}
	for _, l := range c.Lists {
		out := diffList{Name: c.Name(l), Slots: []diffSlot{}, Shifts: []diffShift{}, Rebuild: orEmpty(l.Rebuild), Clear: orEmpty(l.Clear)}
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
			OldNeighbours: orEmpty(d.WasNear), NewNeighbours: orEmpty(d.IsNear)}
		if d.Old != nil {
			out.OldName, out.OldSupervisor = d.Old.Name, d.Old.Supervisor
		}
		if d.New != nil {
			out.NewName, out.NewSupervisor = d.New.Name, d.New.Supervisor
		}
		out.Change = words(d.Old == nil, "new", d.New == nil, "gone", d.Channels, "channels", d.Neighbours, "neighbours",
			d.Named, "name", d.Commanded, "supervisor")
		doc.Divisions = append(doc.Divisions, out)
	}
	for _, u := range c.Units {
		doc.Units = append(doc.Units, unitOf(c, u))
	}
}

func unitOf(c *changes.Changes, u *changes.Unit) diffUnit {
	out := diffUnit{Name: u.Name(), Rebuild: orEmpty(u.Rebuild), Clear: orEmpty(u.Clear), Cards: []diffCard{}, CardsGone: []diffGone{}}
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
			Change: words(card.First, "first", card.Rebuild(), "rebuild", card.Code(), "code", listens, "listen",
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
	out.Change = words(u.New == nil, "gone", u.First, "first", !u.First && u.Changed(), "rebuild", !u.First && u.Code(), "code",
		listen, "listen", u.Elsewhere(), "division", c.Also && u.New != nil, "also", seats && u.New != nil, "seats")
	return out
}

// words are the words whose condition holds, out of pairs of both.
func words(pairs ...any) []string {
	out := []string{}
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
	t := &diffTuned{Name: s.Channel.Name, Use: s.Use.String(), Divisions: []string{}, System: s.Channel.System, Talkgroup: s.Channel.Talkgroup,
		RxTone: s.Channel.RxTone.String(), TxTone: s.TxTone.String(), Mode: s.Channel.Mode.String(), Width: s.Channel.Width.String()}
	if !s.Channel.Trunked() {
		t.Rx, t.Tx = s.Channel.Rx.String(), s.Channel.Tx.String()
	}
	for _, d := range s.Users {
		t.Divisions = append(t.Divisions, d.ID)
	}
	return t
}

func placesOf(places []changes.Place) []diffPlace {
	out := make([]diffPlace, len(places))
	for i, p := range places {
		out[i] = diffPlace{p.Position, p.Slot.Channel.Name}
	}
	return out
}

func earOf(e changes.Ear) diffEar { return diffEar{placesOf(e.Now), placesOf(e.Before)} }

func orEmpty[T any](s []T) []T {
	if s == nil {
		return []T{}
	}
	return s
}
