package desk

import (
	"errors"
	"fmt"
	"path"
	"path/filepath"
	"slices"

	"slotcard/plan"
	"slotcard/plan/build"
	"slotcard/plan/lookup"
	"slotcard/plan/suggest"
)

func init() {
	register(&View{Name: "list", Title: "List", Place: 3, Kinds: []string{"plan"}, Data: listData,
		Do: map[string]func(*Page) (string, error){"add": addSlot, "move": moveSlot, "delete": deleteSlot, "letter": letterSlot, "suggest": suggestSlots}})
}

// List is the incident's list, being built.
type List struct {
	Asked   string
	Choices []SlotChoice
	Not     string // why nothing is found
	Sites   []SiteChoice
	Of      *SlotChoice // whose repeater is asked for
	Rows    []SlotRow
	Letters []string // of the divisions
	Left    int      // slots that may be added
	Holds   int
	Propose []string // what suggest has to say; nil: nothing to propose
	Load    string   // address of the load; "": it lies elsewhere
}

// SlotChoice is a channel that was found.
type SlotChoice struct {
	Ref, Name, What, Use, Why string
	In                        bool // the list
}

// SiteChoice is a repeater to choose.
type SiteChoice struct {
	Name, Reach, Tone string
	Beyond            bool
}

// SlotRow is a slot of the list.
type SlotRow struct {
	I           int
	Name, Shown string
	What, Use   string
	Site        string
	Users       map[string]bool
	Found       []RowFinding
}

// mostChoices are the channels shown at once: more is no answer.
const mostChoices = 12

func choice(h lookup.Hit) SlotChoice {
	c := h.Channel
	return SlotChoice{Ref: c.Place(), Name: c.Name, What: c.String(), Use: c.Use.String(), Why: h.Why}
}

func listData(p *Page) (any, error) {
	w, err := p.work()
	if err != nil {
		return nil, err
	}
	v := &List{Asked: p.Ask("q"), Left: w.Left(), Holds: p.State.Load.Radio.ListPositions}
	if load := path.Join(path.Dir(p.File), filepath.ToSlash(w.Plan().Load)); p.desk.mayOpen(load) {
		v.Load = address("load", load)
	}
	if v.Asked != "" {
		v.find(p.State.Load)
	}
	for _, d := range w.Plan().Divisions {
		v.Letters = append(v.Letters, d.ID)
	}
	of := map[*plan.Slot]*plan.ResolvedSlot{}
	r := p.State.Plan
	if r != nil {
		for _, s := range r.Slots {
			of[s.Slot] = s
		}
	}
	for i, s := range w.Plan().Slots {
		row := SlotRow{I: i, Name: w.Name(i), Shown: w.Name(i), Site: s.Site, Users: map[string]bool{}, Found: p.findingsAt(s.At("").Line)}
		for _, id := range s.Division {
			row.Users[id] = true
		}
		if r != nil && i < len(r.Plan.Slots) {
			if rs := of[r.Plan.Slots[i]]; rs != nil {
				row.Shown, row.What, row.Use = rs.Channel.Name, rs.Channel.String(), rs.Use.String()
			}
		}
		v.Rows = append(v.Rows, row)
		for k := range v.Choices {
			v.Choices[k].In = v.Choices[k].In || v.Choices[k].Name == row.Shown
		}
	}
	if ref := p.Ask("ref"); ref != "" {
		if c := channelAt(p.State.Load, ref); c != nil {
			x := choice(lookup.Hit{Channel: c})
			v.Of = &x
			var in plan.Incident
			if r != nil {
				in = r.Plan.Incident
			}
			for _, reach := range p.State.Load.ReachesOf(c, &in) {
				v.Sites = append(v.Sites, SiteChoice{reach.Site.Name, reach.String(), reach.Site.Squelch.String(), reach.Beyond()})
			}
		}
	}
	if r != nil && !p.State.Broken() {
		proposal := suggest.Tacticals(r)
		for i, c := range proposal.Choices {
			if c.Channel != nil {
				say := fmt.Sprintf("%s %s: %s", c.Division.Title(), c.Why, c.Channel.Name)
				if s := proposal.Replaces(i); s != nil {
					say += " in place of " + s.Channel.Name
				}
				if c.Products > 0 {
					say += fmt.Sprintf(", in %d third-order products", c.Products)
				}
				v.Propose = append(v.Propose, say)
			}
		}
	}
	return v, nil
}

func (v *List) find(l *plan.Load) {
	a := lookup.New(l).Find(v.Asked)
	for _, h := range append(a.Exact, a.Near...) {
		if len(v.Choices) < mostChoices {
			v.Choices = append(v.Choices, choice(h))
		}
	}
	if len(v.Choices) == 0 {
		v.Not = "the load has no channel like that"
	}
}

func channelAt(l *plan.Load, ref string) *plan.Channel {
	for _, c := range l.Channels() {
		if c.Place() == ref {
			return c
		}
	}
	return nil
}

// addSlot adds the channel that was chosen, or the one that was typed: where that may
// be several, the page asks which.
func addSlot(p *Page) (string, error) {
	l := p.State.Load
	if l == nil {
		_, err := p.work()
		return "", err
	}
	c := channelAt(l, p.Ask("ref"))
	if c == nil {
		a := lookup.New(l).Find(p.Ask("q"))
		if len(a.Exact) != 1 {
			return p.At("list", "q", p.Ask("q")), nil
		}
		c = a.Exact[0].Channel
	}
	site := p.Ask("site")
	if site == "" && build.NeedsSite(l, c) {
		sites := l.SitesOf(c)
		if len(sites) > 1 {
			return p.At("list", "ref", c.Place()), nil
		}
		site = sites[0].Name
	}
	return "", p.build(func(w *build.Work) error {
		_, err := w.AddSlot(c, site)
		return err
	})
}

// slotDo makes a change of the slot that a form is about.
func (p *Page) slotDo(change func(w *build.Work, i int) error) (string, error) {
	return "", p.build(func(w *build.Work) error {
		i, err := p.item(w.Name)
		if err != nil {
			return err
		}
		return change(w, i)
	})
}

func moveSlot(p *Page) (string, error) {
	return p.slotDo(func(w *build.Work, i int) error {
		to, err := p.place(i)
		if err != nil {
			return err
		}
		return w.MoveSlot(i, to)
	})
}

func deleteSlot(p *Page) (string, error) {
	return p.slotDo(func(w *build.Work, i int) error { return w.DeleteSlot(i) })
}

func letterSlot(p *Page) (string, error) {
	return p.slotDo(func(w *build.Work, i int) error { return w.ToggleUse(i, p.Ask("letter")) })
}

// suggestSlots takes over what suggest proposes.
func suggestSlots(p *Page) (string, error) {
	return "", p.build(func(w *build.Work) error {
		if p.State.Plan == nil || p.State.Broken() {
			return errors.New("correct the errors of the plan first")
		}
		proposal := suggest.Tacticals(p.State.Plan)
		done := 0
		for i, c := range proposal.Choices {
			if c.Channel == nil {
				continue
			}
			done++
			id := c.Division.ID
			if c.Leaves != nil { // it works there no more
				if k := slotOf(w, p.State.Plan, c.Leaves); k >= 0 {
					if err := w.ToggleUse(k, id); err != nil {
						return err
					}
					if proposal.Replaces(i) != nil {
						if err := w.DeleteSlot(k); err != nil {
							return err
						}
					}
				}
			}
			if c.Slot != nil {
				if err := w.ToggleUse(slotOf(w, p.State.Plan, c.Slot), id); err != nil {
					return err
				}
				continue
			}
			if _, err := w.AddSlot(c.Channel, "", id); err != nil {
				return err
			}
		}
		if done == 0 {
			return errors.New("there is nothing to propose")
		}
		return nil
	})
}

// slotOf is where a slot of the plan on the disk stands now.
func slotOf(w *build.Work, r *plan.Resolved, s *plan.ResolvedSlot) int {
	for i := range w.Plan().Slots {
		if n := w.Plan().Slots[i]; n.Channel != "" && n.Channel == s.Slot.Channel && n.Site == s.Slot.Site || n.Group != nil && s.Slot.Group != nil && *n.Group == *s.Slot.Group && *n.Number == *s.Slot.Number {
			return i
		}
	}
	return slices.Index(r.Plan.Slots, s.Slot)
}
