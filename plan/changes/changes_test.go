package changes_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"slotcard/plan"
	"slotcard/plan/changes"
	"slotcard/plan/plantest"
	"slotcard/plan/radio"
)

// small is a plan of command, three tacticals for the divisions A, B and C, and
// guard, with two spare channels in its load; units 600 to 602 work in A, B, C
// with a position that scans neighbors and command, and one that does not.
func small() (*plan.Plan, *plan.Load) {
	return plantest.Written(plantest.Shape{Seed: 1, Slots: 5, NameLength: 5, Divisions: 3, WordLength: 3, Words: 1,
		Units: 3, Seats: 2, PerSeat: 2, Also: 1})
}

func resolved(t require.TestingT, p *plan.Plan, l *plan.Load) *plan.Resolved {
	r, findings := plan.Resolve(p, l)
	require.Empty(t, findings)
	return r
}

// after compares the small plan with what change makes of it.
func after(t *testing.T, change func(p *plan.Plan, l *plan.Load)) *changes.Changes {
	t.Helper()
	p, l := small()
	q, m := small()
	change(q, m)
	return changes.Between(resolved(t, p, l), resolved(t, q, m))
}

func channel(l *plan.Load, name string) *plan.Channel {
	for _, g := range l.Groups {
		for _, c := range g.Channels {
			if c.Name == name {
				return c
			}
		}
	}
	return nil
}

func slot(name string, divisions ...string) *plan.Slot {
	return &plan.Slot{Pick: plan.Pick{Channel: name}, Division: divisions}
}

// dump is a change in one line a thing, to compare with.
func dump(c *changes.Changes) string {
	var b strings.Builder
	say := func(format string, args ...any) { fmt.Fprintf(&b, format+"\n", args...) }
	for _, l := range c.Lists {
		if l.Same() {
			continue
		}
		say("list code=%t rebuild=%v clear=%v", l.CodeChanged(), l.Rebuild, l.Clear)
		for _, s := range l.Slots {
			name := func(s *plan.ResolvedSlot) string {
				if s == nil {
					return "-"
				}
				return strings.TrimLeft(s.Channel.Name, "W")
			}
			say("  %d %s > %d %s: %v", s.Was, name(s.Old), s.Is, name(s.New), s.Kinds)
		}
		for _, s := range l.Shifts {
			say("  %d-%d by %+d", s.From, s.To, s.By)
		}
	}
	on := func(places []changes.Place) string {
		var out []string
		for _, p := range places {
			out = append(out, fmt.Sprintf("%d %s", p.Position, strings.TrimLeft(p.Slot.Channel.Name, "W")))
		}
		return "[" + strings.Join(out, ", ") + "]"
	}
	for _, d := range c.Divisions {
		what := ""
		for _, k := range []struct {
			is   bool
			said string
		}{{d.Old == nil, "new"}, {d.New == nil, "gone"}, {d.Channels, "channels"}, {d.Neighbors, "neighbors"}, {d.Named, "named"}, {d.Commanded, "commanded"}} {
			if k.is {
				what += " " + k.said
			}
		}
		say("division %s:%s; %s > %s; %v > %v", d.ID(), what, on(d.WasOn), on(d.IsOn), d.WasNear, d.IsNear)
	}
	for _, u := range c.Units {
		if u.Same() {
			continue
		}
		say("unit %s first=%t rebuild=%v clear=%v code=%t elsewhere=%t gone=%d", u.Name()[len(u.Name())-3:], u.First, u.Rebuild, u.Clear, u.Code(), u.Elsewhere(), len(u.Gone))
		for _, card := range u.Cards {
			if card.First != u.First || card.Listen() {
				say("  card %d first=%t talk %s>%s priority %s>%s scan %s>%s", card.New.Number, card.First,
					on(card.Talk.Before), on(card.Talk.Now), on(card.Priority.Before), on(card.Priority.Now), on(card.Scan.Before), on(card.Scan.Now))
			}
		}
	}
	return b.String()
}

func TestBetween(t *testing.T) {
	for _, c := range []struct {
		name   string
		change func(p *plan.Plan, l *plan.Load)
		want   string
		counts changes.Counts
	}{
		{"nothing", func(*plan.Plan, *plan.Load) {}, "", changes.Counts{Cards: 12, Keep: 12}},
		{"the period alone", func(p *plan.Plan, _ *plan.Load) {
			p.Incident.Period++
			p.Incident.From, p.Incident.To = p.Incident.To, p.Incident.To.Add(12*3600e9)
		}, "", changes.Counts{Cards: 12, Keep: 12}},
		{"a slot inserted at position 2", func(p *plan.Plan, _ *plan.Load) {
			p.Slots = slices.Insert(p.Slots, 1, slot("TAC 4"))
		}, `
list code=true rebuild=[2 3 4 5 6] clear=[]
  0 - > 2 TAC 4: [added]
  2-5 by +1
unit 600 first=false rebuild=[2 3 4 5 6] clear=[] code=true elsewhere=false gone=0
unit 601 first=false rebuild=[2 3 4 5 6] clear=[] code=true elsewhere=false gone=0
unit 602 first=false rebuild=[2 3 4 5 6] clear=[] code=true elsewhere=false gone=0
`, changes.Counts{Cards: 12, Rebuild: 12, Code: 12, Replace: 12}},
		{"a slot removed", func(p *plan.Plan, _ *plan.Load) {
			p.Divisions = p.Divisions[:2]
			p.Units = p.Units[:2]
			p.Slots = slices.Delete(p.Slots, 3, 4)
		}, `
list code=true rebuild=[4] clear=[5]
  4 TAC 3 > 0 -: [removed]
  5-5 by -1
division A: neighbors; [2 TAC 1] > [2 TAC 1]; [B C] > [B]
division B: neighbors; [3 TAC 2] > [3 TAC 2]; [A C] > [A]
division C: gone; [4 TAC 3] > []; [A B] > []
unit 600 first=false rebuild=[4] clear=[5] code=true elsewhere=false gone=0
  card 1 first=false talk []>[] priority []>[] scan [4 TAC 3]>[]
  card 2 first=false talk []>[] priority []>[] scan [4 TAC 3]>[]
unit 601 first=false rebuild=[4] clear=[5] code=true elsewhere=false gone=0
  card 5 first=false talk []>[] priority []>[] scan [4 TAC 3]>[]
  card 6 first=false talk []>[] priority []>[] scan [4 TAC 3]>[]
unit 602 first=false rebuild=[] clear=[] code=false elsewhere=false gone=4
`, changes.Counts{Cards: 8, Rebuild: 8, Listen: 4, Code: 8, Replace: 8, Gone: 4}},
		{"two slots changed places", func(p *plan.Plan, _ *plan.Load) {
			p.Slots[1], p.Slots[2] = p.Slots[2], p.Slots[1]
		}, `
list code=true rebuild=[2 3] clear=[]
  2 TAC 1 > 3 TAC 1: [moved]
  3-3 by -1
unit 600 first=false rebuild=[2 3] clear=[] code=true elsewhere=false gone=0
unit 601 first=false rebuild=[2 3] clear=[] code=true elsewhere=false gone=0
unit 602 first=false rebuild=[2 3] clear=[] code=true elsewhere=false gone=0
`, changes.Counts{Cards: 12, Rebuild: 12, Code: 12, Replace: 12}},
		{"a slot moved far", func(p *plan.Plan, _ *plan.Load) {
			s := p.Slots[1]
			p.Slots = slices.Insert(slices.Delete(p.Slots, 1, 2), 3, s)
		}, `
list code=true rebuild=[2 3 4] clear=[]
  2 TAC 1 > 4 TAC 1: [moved]
  3-4 by -1
unit 600 first=false rebuild=[2 3 4] clear=[] code=true elsewhere=false gone=0
unit 601 first=false rebuild=[2 3 4] clear=[] code=true elsewhere=false gone=0
unit 602 first=false rebuild=[2 3 4] clear=[] code=true elsewhere=false gone=0
`, changes.Counts{Cards: 12, Rebuild: 12, Code: 12, Replace: 12}},
		{"another tone on command", func(_ *plan.Plan, l *plan.Load) {
			l.Tones[0].Hz = radio.Tone(1000)
		}, `
list code=true rebuild=[1] clear=[]
  1 CMD 1 > 1 CMD 1: [retuned]
unit 600 first=false rebuild=[1] clear=[] code=true elsewhere=false gone=0
unit 601 first=false rebuild=[1] clear=[] code=true elsewhere=false gone=0
unit 602 first=false rebuild=[1] clear=[] code=true elsewhere=false gone=0
`, changes.Counts{Cards: 12, Rebuild: 12, Code: 12, Replace: 12}},
		{"another tactical for B", func(p *plan.Plan, _ *plan.Load) {
			p.Slots[2].Channel = "TAC 4"
		}, `
list code=true rebuild=[3] clear=[]
  3 TAC 2 > 3 TAC 4: [replaced]
division B: channels; [3 TAC 2] > [3 TAC 4]; [A C] > [A C]
`, changes.Counts{Cards: 12, Rebuild: 12, Listen: 8, Code: 12, Replace: 12}},
		{"divisions alone: nothing to rebuild, another code", func(p *plan.Plan, _ *plan.Load) {
			p.Slots[1].Division, p.Slots[2].Division = plan.Names{"B"}, plan.Names{"A"}
		}, `
list code=true rebuild=[] clear=[]
  2 TAC 1 > 2 TAC 1: [reassigned]
  3 TAC 2 > 3 TAC 2: [reassigned]
division A: channels; [2 TAC 1] > [3 TAC 2]; [B C] > [B C]
division B: channels; [3 TAC 2] > [2 TAC 1]; [A C] > [A C]
unit 600 first=false rebuild=[] clear=[] code=true elsewhere=false gone=0
  card 1 first=false talk [2 TAC 1]>[3 TAC 2] priority [2 TAC 1]>[3 TAC 2] scan [3 TAC 2]>[2 TAC 1]
  card 2 first=false talk [2 TAC 1]>[3 TAC 2] priority [2 TAC 1]>[3 TAC 2] scan [3 TAC 2]>[2 TAC 1]
  card 3 first=false talk [2 TAC 1]>[3 TAC 2] priority [2 TAC 1]>[3 TAC 2] scan []>[]
  card 4 first=false talk [2 TAC 1]>[3 TAC 2] priority [2 TAC 1]>[3 TAC 2] scan []>[]
unit 601 first=false rebuild=[] clear=[] code=true elsewhere=false gone=0
  card 5 first=false talk [3 TAC 2]>[2 TAC 1] priority [3 TAC 2]>[2 TAC 1] scan [2 TAC 1]>[3 TAC 2]
  card 6 first=false talk [3 TAC 2]>[2 TAC 1] priority [3 TAC 2]>[2 TAC 1] scan [2 TAC 1]>[3 TAC 2]
  card 7 first=false talk [3 TAC 2]>[2 TAC 1] priority [3 TAC 2]>[2 TAC 1] scan []>[]
  card 8 first=false talk [3 TAC 2]>[2 TAC 1] priority [3 TAC 2]>[2 TAC 1] scan []>[]
unit 602 first=false rebuild=[] clear=[] code=true elsewhere=false gone=0
`, changes.Counts{Cards: 12, Listen: 8, Code: 12, Replace: 12}},
		{"another position of a scan list", func(p *plan.Plan, _ *plan.Load) {
			p.Positions[1].Scan = plan.Names{"guard"}
		}, `
unit 600 first=false rebuild=[] clear=[] code=false elsewhere=false gone=0
  card 3 first=false talk []>[] priority []>[] scan []>[5 GRD 1]
  card 4 first=false talk []>[] priority []>[] scan []>[5 GRD 1]
unit 601 first=false rebuild=[] clear=[] code=false elsewhere=false gone=0
  card 7 first=false talk []>[] priority []>[] scan []>[5 GRD 1]
  card 8 first=false talk []>[] priority []>[] scan []>[5 GRD 1]
unit 602 first=false rebuild=[] clear=[] code=false elsewhere=false gone=0
  card 11 first=false talk []>[] priority []>[] scan []>[5 GRD 1]
  card 12 first=false talk []>[] priority []>[] scan []>[5 GRD 1]
`, changes.Counts{Cards: 12, Listen: 6, Replace: 6, Keep: 6}},
		{"a unit works elsewhere", func(p *plan.Plan, _ *plan.Load) {
			p.Units[0].Division = "C"
		}, `
unit 600 first=false rebuild=[] clear=[] code=false elsewhere=true gone=0
  card 1 first=false talk [2 TAC 1]>[4 TAC 3] priority [2 TAC 1]>[4 TAC 3] scan [4 TAC 3]>[2 TAC 1]
  card 2 first=false talk [2 TAC 1]>[4 TAC 3] priority [2 TAC 1]>[4 TAC 3] scan [4 TAC 3]>[2 TAC 1]
  card 3 first=false talk [2 TAC 1]>[4 TAC 3] priority [2 TAC 1]>[4 TAC 3] scan []>[]
  card 4 first=false talk [2 TAC 1]>[4 TAC 3] priority [2 TAC 1]>[4 TAC 3] scan []>[]
`, changes.Counts{Cards: 12, Listen: 4, Replace: 4, Keep: 8}},
		{"a new unit, a new seat, a seat less", func(p *plan.Plan, _ *plan.Load) {
			p.Units[1].Seats[0].Count++
			p.Units[1].Seats[1].Count--
			seats := plan.Seats{{Position: p.Positions[0].Name, Count: 1}}
			p.Units = append(p.Units, &plan.Unit{Name: "Engine 700", Division: "A", Seats: seats})
		}, `
unit 601 first=false rebuild=[] clear=[] code=false elsewhere=false gone=1
  card 7 first=true talk []>[] priority []>[] scan []>[]
unit 700 first=true rebuild=[] clear=[] code=false elsewhere=false gone=0
`, changes.Counts{Cards: 13, First: 2, Replace: 2, Keep: 11, Gone: 1}},
		{"another supervisor, another name", func(p *plan.Plan, _ *plan.Load) {
			p.Divisions[0].Supervisor = "H. Soto-Lind"
			p.Divisions[1].Name = "Rim"
		}, `
division A: commanded; [2 TAC 1] > [2 TAC 1]; [B C] > [B C]
division B: named; [3 TAC 2] > [3 TAC 2]; [A C] > [A C]
`, changes.Counts{Cards: 12, Keep: 12}},
		{"another way there", func(_ *plan.Plan, l *plan.Load) {
			c := channel(l, "TRV 1")
			c.Rx, c.Tx = 156_100_000, 156_100_000
		}, `
unit 600 first=false rebuild=[] clear=[] code=false elsewhere=false gone=0
unit 601 first=false rebuild=[] clear=[] code=false elsewhere=false gone=0
unit 602 first=false rebuild=[] clear=[] code=false elsewhere=false gone=0
`, changes.Counts{Cards: 12, Replace: 12}},
		{"another edition of the load: every list is built fresh", func(_ *plan.Plan, l *plan.Load) {
			l.About.Edition = "2028"
		}, `
unit 600 first=true rebuild=[] clear=[] code=false elsewhere=false gone=0
unit 601 first=true rebuild=[] clear=[] code=false elsewhere=false gone=0
unit 602 first=true rebuild=[] clear=[] code=false elsewhere=false gone=0
`, changes.Counts{Cards: 12, First: 12, Replace: 12}},
	} {
		t.Run(c.name, func(t *testing.T) {
			got := after(t, c.change)
			said := dump(got)
			if c.name == "another tactical for B" { // its units are spelled out by other cases
				said, _, _ = strings.Cut(said, "unit ")
			}
			assert.Equal(t, strings.TrimPrefix(c.want, "\n"), said)
			assert.Equal(t, c.counts, got.Counts())
			assert.Equal(t, said == "" && !got.Fresh() && !got.Also, got.Empty())
		})
	}
}

// TestOtherIncident: a number decides, a name may be corrected.
func TestOtherIncident(t *testing.T) {
	for _, c := range []struct {
		number, name string
		other        bool
	}{{"QB-0412", "", false}, {"QB-0412", "Thimble", false}, {"QB-0500", "", true}, {"", "", false}, {"", "Thimble", true}} {
		got := after(t, func(p *plan.Plan, _ *plan.Load) {
			p.Incident.Number = c.number
			if c.name != "" {
				p.Incident.Name = c.name
			}
		})
		assert.Equal(t, c.other, got.OtherIncident, c)
		assert.Equal(t, c.other, got.Fresh(), c)
	}
}

func TestBackwards(t *testing.T) {
	assert.True(t, after(t, func(p *plan.Plan, _ *plan.Load) { p.Incident.From = p.Incident.From.Add(-3600e9) }).Backwards)
	assert.False(t, after(t, func(p *plan.Plan, _ *plan.Load) { p.Incident.From = p.Incident.From.Add(3600e9) }).Backwards)
}

// TestExerciseAndReal: a copy with the mark switched off is another incident.
func TestExerciseAndReal(t *testing.T) {
	got := after(t, func(p *plan.Plan, _ *plan.Load) { p.Incident.Exercise = !p.Incident.Exercise })
	assert.True(t, got.Exercise)
	assert.True(t, got.OtherIncident)
	assert.True(t, got.Fresh())
	assert.False(t, got.Empty())
	for _, u := range got.Units {
		assert.False(t, u.Same())
	}
}

func TestRevisions(t *testing.T) {
	got := after(t, func(p *plan.Plan, _ *plan.Load) { p.Incident.Revision = 2 })
	assert.True(t, got.Revision)
	assert.False(t, got.Backwards)
	assert.True(t, got.Empty(), "the number of a revision is on the card, but nothing to build")
	p, l := small()
	q, m := small()
	p.Incident.Revision, q.Incident.Revision = 3, 2
	assert.True(t, changes.Between(resolved(t, p, l), resolved(t, q, m)).Backwards)
	q.Incident.Period++
	q.Incident.From = q.Incident.From.Add(12 * 3600e9)
	c := changes.Between(resolved(t, p, l), resolved(t, q, m))
	assert.False(t, c.Revision || c.Backwards)
}

// TestNumbersInTexts: a number in the instructions that means another channel.
func TestNumbersInTexts(t *testing.T) {
	said := func(p *plan.Plan) {
		p.Incident.Instructions = "Move to slot 2, then Slot 3. Group 1 channel 2 is not it; slot 99 is none."
	}
	p, l := small()
	q, m := small()
	said(p)
	said(q)
	p.Slots[1], p.Slots[3] = p.Slots[3], p.Slots[1]
	c := changes.Between(resolved(t, p, l), resolved(t, q, m))
	require.Len(t, c.Numbers, 1)
	assert.Equal(t, "slot 2", c.Numbers[0].Words)
	assert.NotEqual(t, c.Numbers[0].Was.Channel.Name, c.Numbers[0].Is.Channel.Name)
	q.Incident.Exercise = !q.Incident.Exercise
	assert.Empty(t, changes.Between(resolved(t, p, l), resolved(t, q, m)).Numbers, "another incident")
}

// TestCarriedBy: divisions that carry lists of their own are compared list by
// list; a unit that moves compares the list it had with the one it gets.
func TestCarriedBy(t *testing.T) {
	own := func(p *plan.Plan) {
		p.Slots = slices.Insert(p.Slots, 4, slot("TAC 4"), slot("TAC 5"))
		p.Slots[4].CarriedBy, p.Slots[5].CarriedBy = plan.Names{"A", "B"}, plan.Names{"C"}
	}
	p, l := small()
	own(p)
	q, m := small()
	own(q)
	q.Slots[4].CarriedBy = plan.Names{"A"}
	q.Units[0].Division = "C" // unit 600, was A
	c := changes.Between(resolved(t, p, l), resolved(t, q, m))
	var said []string
	for _, l := range c.Lists {
		said = append(said, fmt.Sprintf("%s: same=%t rebuild=%v clear=%v", c.Name(l), l.Same(), l.Rebuild, l.Clear))
	}
	assert.Equal(t, []string{
		"Division A: same=true rebuild=[] clear=[]",
		"Division B: same=false rebuild=[5] clear=[6]",
		"Division C: same=true rebuild=[] clear=[]",
	}, said)
	assert.Equal(t, []int{5}, c.Units[0].Rebuild, "from the list of A to that of C")
	assert.Equal(t, []int{5}, c.Units[1].Rebuild)
	assert.Equal(t, []int{6}, c.Units[1].Clear)
	assert.True(t, c.Units[2].Same())
}
