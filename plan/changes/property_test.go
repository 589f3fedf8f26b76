package changes_test

import (
	"fmt"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"slotcard/plan"
	"slotcard/plan/changes"
	"slotcard/plan/numbers"
	"slotcard/plan/plantest"
	"slotcard/plan/radio"
	"slotcard/plan/slotlist"
)

// shapes of plans, some with a list for each division.
var shapes = rapid.Custom(func(t *rapid.T) plantest.Shape {
	return plantest.Shape{
		Seed: rapid.Uint64Range(1, 9).Draw(t, "seed"), Slots: rapid.IntRange(3, 12).Draw(t, "slots"), NameLength: 6,
		Divisions: rapid.IntRange(1, 5).Draw(t, "divisions"), Functional: rapid.Bool().Draw(t, "functional"),
		WordLength: 4, Words: 1, Units: rapid.IntRange(1, 6).Draw(t, "units"), Seats: rapid.IntRange(1, 3).Draw(t, "seats"),
		PerSeat: rapid.IntRange(1, 3).Draw(t, "per seat"), Also: 1,
		Mixed: rapid.Bool().Draw(t, "mixed"), Digital: rapid.Bool().Draw(t, "digital"),
	}
})

// disturb changes a plan and its load at random, as a night between two periods
// does; the result still resolves.
func disturb(t *rapid.T, p *plan.Plan, l *plan.Load) {
	for range rapid.IntRange(0, 4).Draw(t, "changes") {
		at := rapid.IntRange(1, max(1, len(p.Slots)-2)).Draw(t, "at")
		switch rapid.IntRange(0, 8).Draw(t, "change") {
		case 0:
			if name := spare(p, l); name != "" {
				p.Slots = slices.Insert(p.Slots, at, slot(name))
			}
		case 1:
			if len(p.Slots) > 3 {
				p.Slots = slices.Delete(p.Slots, at, at+1)
			}
		case 2:
			to := rapid.IntRange(0, len(p.Slots)-1).Draw(t, "to")
			s := p.Slots[at]
			p.Slots = slices.Insert(slices.Delete(p.Slots, at, at+1), to, s)
		case 3: // another frequency under the same name
			c := channel(l, p.Slots[at].Channel)
			c.Rx += 7_500
			if c.Use != radio.Command {
				c.Tx = c.Rx
			}
		case 4:
			if n := len(p.Divisions); n > 0 && p.Slots[at].CarriedBy == nil {
				p.Slots[at].Division = plan.Names{p.Divisions[rapid.IntRange(0, n-1).Draw(t, "user")].ID}
			}
		case 5:
			if n := len(p.Divisions); n > 0 {
				p.Units[rapid.IntRange(0, len(p.Units)-1).Draw(t, "unit")].Division = p.Divisions[rapid.IntRange(0, n-1).Draw(t, "division")].ID
			}
		case 6:
			p.Positions[rapid.IntRange(0, len(p.Positions)-1).Draw(t, "position")].Scan = plan.Names{"guard", "own"}
		case 7:
			p.Units[rapid.IntRange(0, len(p.Units)-1).Draw(t, "unit")].Seats[0].Count++
		case 8:
			u := *p.Units[0]
			u.Name = fmt.Sprintf("Engine %d", 700+len(p.Units))
			p.Units = slices.Insert(p.Units, 1, &u)
		}
	}
}

// spare is a tactical of the load that no slot uses, or "".
func spare(p *plan.Plan, l *plan.Load) string {
	for _, g := range l.Groups {
		for _, c := range g.Channels {
			used := slices.ContainsFunc(p.Slots, func(s *plan.Slot) bool { return s.Channel == c.Name })
			if c.Use == radio.Tactical && !used {
				return c.Name
			}
		}
	}
	return ""
}

// pairs draws a plan and what became of it.
func pairs(t *rapid.T) (old, new *plan.Resolved) {
	shape := shapes.Draw(t, "shape")
	p, l := plantest.Written(shape)
	q, m := plantest.Written(shape)
	disturb(t, q, m)
	return resolved(t, p, l), resolved(t, q, m)
}

func TestSamePlanIsEmpty(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		_, r := pairs(t)
		c := changes.Between(r, r)
		require.True(t, c.Empty())
		n := c.Counts()
		require.Equal(t, changes.Counts{Cards: len(r.Cards), Keep: len(r.Cards)}, n)
	})
}

// Of any two plans, every seat that stays keeps its number, and no number of a seat
// that is gone is given to another.
func TestNumbersStay(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		old, new := pairs(t)
		held := numbers.Assign(old.Cards, nil, numbers.All)
		numbers.Assign(new.Cards, held, numbers.All)
		was := map[int]string{}
		for _, h := range held {
			was[h.Number] = h.Name()
		}
		for _, u := range changes.Between(old, new).Units {
			for _, c := range u.Cards {
				require.False(t, c.Renumbered(), "%s, %s", c.New.Unit.Name, numbers.Seat(c.New))
				if holder, given := was[c.New.Number]; given {
					require.Equal(t, holder, c.New.Unit.Name+", "+numbers.Seat(c.New))
				}
			}
		}
	})
}

// TestOperationsLeadToNewList applies what is described to the old list.
func TestOperationsLeadToNewList(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		old, new := pairs(t)
		for _, l := range changes.Between(old, new).Lists {
			if l.Old == nil || l.New == nil {
				continue
			}
			was := l.Old.Slots
			type content struct {
				tuning changes.Tuning
				use    radio.Use
				users  string
			}
			contentOf := func(s *plan.ResolvedSlot) content {
				users := ""
				for _, d := range s.Users {
					users += d.ID + ","
				}
				return content{changes.TuningOf(s), s.Use, users}
			}
			got := make([]*content, len(l.New.Slots))
			put := func(position int, c content) {
				require.Nil(t, got[position-1], "position %d is described twice", position)
				got[position-1] = &c
			}
			gone := map[int]bool{} // old positions that need no further description
			for _, s := range l.Slots {
				if s.Has(changes.Added) || s.Has(changes.Retuned) || s.Has(changes.Replaced) {
					put(s.Is, contentOf(s.New))
					gone[s.Was] = true
				}
				if s.Has(changes.Removed) {
					gone[s.Was] = true
				}
				if s.Has(changes.Moved) && !gone[s.Was] {
					c := contentOf(was[s.Was-1])
					if s.Has(changes.Reassigned) {
						c = contentOf(s.New)
					}
					put(s.Is, c)
					gone[s.Was] = true
				}
			}
			for _, run := range l.Shifts {
				require.LessOrEqual(t, run.From, run.To)
				require.NotZero(t, run.By)
				for p := run.From; p <= run.To; p++ {
					put(p+run.By, contentOf(was[p-1]))
					gone[p] = true
				}
			}
			for i, s := range was {
				if !gone[i+1] {
					put(i+1, contentOf(s)) // not mentioned: stays where it is
				}
			}
			for _, s := range l.Slots {
				if s.Has(changes.Reassigned) {
					c := contentOf(s.New)
					require.Equal(t, got[s.Is-1].tuning, c.tuning)
					got[s.Is-1] = &c
				}
			}
			for i, s := range l.New.Slots {
				require.NotNil(t, got[i], "position %d", i+1)
				require.Equal(t, contentOf(s), *got[i], "position %d", i+1)
			}
		}
	})
}

// TestRebuild compares what each card is told with its old and its new list as
// an independent reader of the list text sees them.
func TestRebuild(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		old, new := pairs(t)
		programmed := func(l *plan.List) []slotlist.Line {
			read, _, err := slotlist.Parse(l.Text)
			require.NoError(t, err)
			for i := range read.Lines {
				read.Lines[i].Use, read.Lines[i].Divisions = 0, nil
			}
			return read.Lines
		}
		oldList := map[string]*plan.List{}
		seats := map[string]*plan.Card{}
		key := func(c *plan.Card) string { return fmt.Sprint(c.Unit.Name, "/", c.Position.Name, "/", c.Nth) }
		for _, c := range old.Cards {
			oldList[c.Unit.Name] = c.List
			seats[key(c)] = c
		}
		told := 0
		for _, u := range changes.Between(old, new).Units {
			for _, c := range u.Cards {
				told++
				require.Equal(t, seats[key(c.New)] == nil, c.First)
				if c.First {
					require.True(t, c.Replace())
					continue
				}
				was, is := programmed(oldList[u.Name()]), programmed(c.New.List)
				require.Equal(t, fmt.Sprint(was) != fmt.Sprint(is), c.Rebuild())
				for i := range max(len(was), len(is)) {
					position := i + 1
					switch {
					case i >= len(is):
						require.Contains(t, u.Clear, position)
					case i >= len(was) || fmt.Sprint(was[i]) != fmt.Sprint(is[i]):
						require.Contains(t, u.Rebuild, position)
					default:
						require.NotContains(t, u.Rebuild, position)
						require.NotContains(t, u.Clear, position)
					}
				}
				require.Equal(t, c.Old.List.Code != c.New.List.Code, c.Code())
				require.Equal(t, listens(c.Old) != listens(c.New), c.Listen())
			}
		}
		require.Equal(t, len(new.Cards), told)
	})
}

// listens is what a card's holder does on which channels, whatever their
// positions.
func listens(c *plan.Card) string {
	var all []string
	for i, m := range c.Marks {
		if m != (plan.Mark{}) {
			all = append(all, fmt.Sprint(c.List.Slots[i].Channel.Name, m))
		}
	}
	slices.Sort(all)
	return fmt.Sprint(all)
}
