package desk

import (
	"bytes"
	"cmp"
	"path/filepath"
	"slices"
	"strings"

	"slotcard/plan"
	"slotcard/plan/changes"
)

func init() {
	register(&View{Name: "compare", Title: "Compare", Place: 45, Kinds: []string{"plan"}, Last: true, Data: compareData})
}

// before is the plan to compare this one with: the one that the page is asked for, or
// the last one before it of the same incident in its folder; "": none.
func (p *Page) before() string {
	beside := p.PlansBeside()
	if since := p.Ask("since"); slices.Contains(beside, since) {
		return since
	}
	if p.State.Plan == nil {
		return ""
	}
	in := &p.State.Plan.Plan.Incident
	last, period, revision := "", 0, 0
	for _, name := range beside {
		st := p.desk.shelf.get(name)
		if st.Plan == nil || st.Broken() {
			continue
		}
		o := &st.Plan.Plan.Incident
		earlier := cmp.Or(cmp.Compare(o.Period, in.Period), cmp.Compare(o.Revision, in.Revision)) < 0
		later := cmp.Or(cmp.Compare(o.Period, period), cmp.Compare(o.Revision, revision)) > 0
		if earlier && later && changes.SameIncident(o, in) {
			last, period, revision = name, o.Period, o.Revision
		}
	}
	return last
}

// Compare is what changes between two plans: a picture of each list, and the words of
// diff.
type Compare struct {
	Plans []Choice // to compare with
	Old   string
	Lists []ComparedList
	Same  bool
	Text  string // as diff has it
	Not   string
}

// ComparedList is an old list at the left, the new one at the right, and what became
// of what between them.
type ComparedList struct {
	Name     string
	Old, New []ComparedSlot
	Threads  []Thread
	Height   int // rows of the longer one
}

// ComparedSlot is a row: how it is marked is one of "", "gone", "new", "moved",
// "changed".
type ComparedSlot struct {
	Position        int
	Name, Use, Mark string
	Said            string // for those who do not see the mark
}

// Thread leads from a row at the left to one at the right, both counted from 1 in
// halves of rows.
type Thread struct {
	From, To float64
	Mark     string
}

func compareData(p *Page) (any, error) {
	g, err := p.good()
	if err != nil {
		return nil, err
	}
	v := &Compare{Old: p.before()}
	for _, name := range p.PlansBeside() {
		v.Plans = append(v.Plans, Choice{Name: name, Address: p.With("since", name), Here: name == v.Old})
	}
	if v.Old == "" {
		v.Not = "there is no other plan of this incident beside this one"
		return v, nil
	}
	old := p.desk.shelf.get(v.Old)
	if old.Good == nil || old.Good.Plan == nil {
		v.Not = v.Old + " has errors: nothing can be compared with it"
		return v, nil
	}
	c := changes.Between(old.Good.Plan, g.Plan)
	v.Same = c.Empty()
	for _, l := range c.Lists {
		if l.Old != nil && l.New != nil {
			v.Lists = append(v.Lists, compared(c, l))
		}
	}
	if !p.State.Broken() && !old.Broken() {
		var out, said bytes.Buffer
		p.desk.Run(p.Ctx(), p.desk.Folder, []string{"diff", filepath.FromSlash(v.Old), filepath.FromSlash(p.File)}, strings.NewReader(""), &out, &said)
		v.Text = strings.TrimSpace(out.String())
	}
	return v, nil
}

// compared draws a list.
func compared(c *changes.Changes, l *changes.List) ComparedList {
	v := ComparedList{Name: c.Name(l), Height: max(len(l.Old.Slots), len(l.New.Slots))}
	row := func(i int, s *plan.ResolvedSlot) ComparedSlot {
		use := s.Use.String()
		if len(s.Users) > 0 {
			var ids []string
			for _, d := range s.Users {
				ids = append(ids, d.ID)
			}
			use = strings.Join(ids, ", ")
		}
		return ComparedSlot{Position: i + 1, Name: s.Channel.Name, Use: use}
	}
	for i, s := range l.Old.Slots {
		v.Old = append(v.Old, row(i, s))
	}
	for i, s := range l.New.Slots {
		v.New = append(v.New, row(i, s))
	}
	told := map[int]bool{} // positions of the old list that a change speaks of
	for _, s := range l.Slots {
		told[s.Was] = true
		mark, said := "changed", "is changed"
		switch {
		case s.Was == 0:
			v.New[s.Is-1].Mark, v.New[s.Is-1].Said = "new", "is new"
			continue
		case s.Is == 0:
			v.Old[s.Was-1].Mark, v.Old[s.Was-1].Said = "gone", "is gone"
			continue
		case len(s.Kinds) == 1 && s.Has(changes.Moved):
			mark, said = "moved", "has moved"
		}
		v.New[s.Is-1].Mark, v.New[s.Is-1].Said = mark, said
		v.Old[s.Was-1].Mark = mark
		v.Threads = append(v.Threads, Thread{float64(s.Was) - .5, float64(s.Is) - .5, mark})
	}
	for i := range l.Old.Slots {
		was := i + 1
		if told[was] {
			continue
		}
		is := was
		for _, sh := range l.Shifts {
			if sh.From <= was && was <= sh.To {
				is = was + sh.By
			}
		}
		mark := ""
		if is != was {
			mark = "moved"
		}
		v.Threads = append(v.Threads, Thread{float64(was) - .5, float64(is) - .5, mark})
	}
	return v
}
