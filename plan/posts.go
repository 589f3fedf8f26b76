package plan

import "slices"

// Post is a crew as it stands on the fire.
type Post struct {
	Crew
	Beside []*Division // its neighbors
	Talks  []int       // slots of its list, from 0, on which it works or somebody there talks
	Hears  []int       // further slots of its list that somebody there scans
}

// Posts are all divisions in the order of the plan, then the units without one.
func (r *Resolved) Posts() []Post {
	var posts []Post
	for _, crew := range r.Crews() {
		p := Post{Crew: crew, Beside: r.Neighbors(crew.Division)}
		if crew.List != nil {
			var marks [][]Mark
			for _, h := range r.HoldersOf(crew.List) {
				if h.Division == crew.Division {
					marks = h.Marks
				}
			}
			for i, s := range crew.List.Slots {
				does := func(what func(Mark) bool) bool {
					return slices.ContainsFunc(marks, func(m []Mark) bool { return what(m[i]) })
				}
				switch {
				case crew.Division != nil && s.UsedBy(crew.Division) || does(func(m Mark) bool { return m.Talk }):
					p.Talks = append(p.Talks, i)
				case does(func(m Mark) bool { return m.Priority || m.Scan }):
					p.Hears = append(p.Hears, i)
				}
			}
		}
		posts = append(posts, p)
	}
	return posts
}

// Common are the slots that no division has to itself, in the order of the plan.
func (r *Resolved) Common() (slots []*ResolvedSlot) {
	for _, s := range r.Slots {
		if len(s.Users) == 0 {
			slots = append(slots, s)
		}
	}
	return slots
}

// Position is the number of a slot in every list that holds it, from 1; 0 where
// they differ, or none does.
func (r *Resolved) Position(s *ResolvedSlot) (n int) {
	for _, l := range r.Lists {
		i := slices.Index(l.Slots, s) + 1
		if i > 0 && n > 0 && i != n {
			return 0
		}
		n = max(n, i)
	}
	return n
}

// Trouble is slots that disturb each other, as a rule has found.
type Trouble struct {
	Rule string
	// From are the slots of those who talk at once, the first one counted twice
	// where they are two and their product is of the third order; or one slot that
	// is too close to another.
	From []*ResolvedSlot
	Onto *ResolvedSlot
}

// ThirdOrder tells a product of several transmitters from two channels that are
// too close.
func (t Trouble) ThirdOrder() bool { return len(t.From) > 1 }
