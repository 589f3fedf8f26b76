package report

import (
	"slotcard/cmd/internal/voice"
	"slotcard/layout/words"
	"slotcard/plan"
)

// Fire prints who works where around the fire, and what disturbs what.
func Fire(v *voice.Voice, r *plan.Resolved, troubles []plan.Trouble) {
	w := &words.EnglishFire
	in := &r.Plan.Incident
	v.Say("%s, %s: divisions in order around the fire", in.Name, w.Numbered("period", in))
	if in.Exercise {
		v.Say("%s, %s", w.Exercise, w.ExerciseNote)
	}
	for _, part := range w.Text(r, troubles) {
		v.Gap()
		v.Say("%s", part.Title)
		for _, l := range part.Lines {
			v.Folded(l, "  ", "    ")
		}
	}
}

// FireDocument is the JSON document of fire. Field names stay.
type FireDocument struct {
	File      string         `json:"file"`
	Incident  string         `json:"incident"`
	Number    string         `json:"number,omitempty"`
	Period    int            `json:"period"`
	Revision  int            `json:"revision,omitempty"`
	Exercise  bool           `json:"exercise"`
	Common    []FireSlot     `json:"common"`
	Divisions []FireDivision `json:"divisions"`
	Disturbs  []FireTrouble  `json:"disturbs"`
}

// FireSlot is a slot; Position is 0 where lists differ in it.
type FireSlot struct {
	Position int    `json:"position,omitempty"`
	Name     string `json:"name"`
	Use      string `json:"use"`
}

// FireDivision is a division, a functional group, or, without id, the units that
// have none.
type FireDivision struct {
	ID         string     `json:"id,omitempty"`
	Name       string     `json:"name,omitempty"`
	Functional bool       `json:"functional,omitempty"`
	Supervisor string     `json:"supervisor,omitempty"`
	Beside     []string   `json:"beside,omitempty"`
	Talks      []FireSlot `json:"talks,omitempty"`
	Hears      []FireSlot `json:"hears,omitempty"`
	Units      []string   `json:"units,omitempty"`
}

// FireTrouble is what disturbs a channel, as a rule says it.
type FireTrouble struct {
	Rule string   `json:"rule"`
	From []string `json:"from"`
	Onto string   `json:"onto"`
}

// Fill takes what Fire prints.
func (d *FireDocument) Fill(r *plan.Resolved, troubles []plan.Trouble) {
	in := &r.Plan.Incident
	d.Incident, d.Number, d.Period, d.Revision, d.Exercise = in.Name, in.Number, in.Period, in.Revision, in.Exercise
	d.Common, d.Divisions, d.Disturbs = []FireSlot{}, []FireDivision{}, []FireTrouble{}
	for _, s := range r.Common() {
		d.Common = append(d.Common, FireSlot{r.Position(s), s.Channel.Name, s.Use.String()})
	}
	for _, p := range r.Posts() {
		var one FireDivision
		if v := p.Division; v != nil {
			one = FireDivision{ID: v.ID, Name: v.Name, Functional: v.Functional, Supervisor: v.Supervisor}
		}
		for _, b := range p.Beside {
			one.Beside = append(one.Beside, b.ID)
		}
		slots := func(which []int) (all []FireSlot) {
			for _, i := range which {
				s := p.List.Slots[i]
				all = append(all, FireSlot{i + 1, s.Channel.Name, s.Use.String()})
			}
			return all
		}
		one.Talks, one.Hears = slots(p.Talks), slots(p.Hears)
		for _, u := range p.Units {
			one.Units = append(one.Units, u.Name)
		}
		d.Divisions = append(d.Divisions, one)
	}
	for _, t := range troubles {
		one := FireTrouble{Rule: t.Rule, Onto: t.Onto.Channel.Name}
		for _, s := range t.From {
			one.From = append(one.From, s.Channel.Name)
		}
		d.Disturbs = append(d.Disturbs, one)
	}
}
