// Package plantest makes resolved plans for tests and benchmarks, from a
// handful of measures and a seed: the same ones each time. Start with [Make].
package plantest

import (
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"slotcard/plan"
	"slotcard/plan/radio"
)

// Shape is how large a plan is and how long its words are.
type Shape struct {
	Seed         uint64
	Slots        int  // 3 to 99: command, tacticals, guard
	NameLength   int  // characters of display names
	Divisions    int  // line divisions; each tactical is used by some
	Functional   bool // one functional group
	WordLength   int  // letters of a word in names of divisions, units, seats
	Words        int  // words in such names
	Units        int
	Seats        int // positions of each unit
	PerSeat      int // cards of each position
	Also         int
	Exercise     bool
	Overnight    bool
	Digital      bool // some channels digital, with network access codes
	Mixed        bool // divisions carry different lists
	DistinctList bool // a list for each division, by a slot of its own
	Own          bool // that slot is the only one that its division uses
}

// Make builds and resolves a plan of that shape. A fault in it is a fault of
// the test.
func Make(t testing.TB, s Shape) *plan.Resolved {
	t.Helper()
	r, findings := plan.Resolve(Written(s))
	for _, f := range findings {
		t.Fatalf("plantest: %s", f)
	}
	return r
}

// Written is the plan of a shape before it is resolved, and its load.
func Written(s Shape) (*plan.Plan, *plan.Load) {
	g := &maker{Shape: s, rng: rand.New(rand.NewPCG(s.Seed, 7))}
	l := g.load()
	return g.plan(l), l
}

type maker struct {
	Shape
	rng *rand.Rand
}

const letters = "abcdefghijklmnopqrstuvwxyz"

// phrase is a name of the shape's length, capitalized.
func (g *maker) phrase() string {
	words := make([]string, max(g.Words, 1))
	for i := range words {
		b := make([]byte, max(g.WordLength, 1))
		for j := range b {
			b[j] = letters[g.rng.IntN(len(letters))]
		}
		words[i] = string(b)
	}
	s := strings.Join(words, " ")
	return strings.ToUpper(s[:1]) + s[1:]
}

// name is the display name of channel i: unique, of the shape's length.
func (g *maker) name(prefix string, i int) string {
	s := fmt.Sprintf("%s %d", prefix, i)
	for len(s) < g.NameLength {
		s = "W" + s
	}
	return s
}

func (g *maker) load() *plan.Load {
	l := &plan.Load{
		About: plan.About{Name: "Quillback Range cooperators", Edition: "2027", Colour: "orange",
			Effective: plan.Date{Year: 2027, Month: 3, Day: 1}, Expires: plan.Date{Year: 2028, Month: 3, Day: 31}},
		Radio: plan.Radio{ListPositions: 100, NameLength: 16, Bands: []plan.Band{{Low: 136e6, High: 174e6}},
			Modes: []radio.Mode{radio.Analog, radio.Digital, radio.Mixed}},
		Tones: []*plan.Tone{{Number: 4, Hz: radio.Tone(1462)}},
		Sites: []*plan.Site{{Name: g.phrase(), Tone: plan.ToneRef{Number: 4}, Channels: []string{g.name("CMD", 1)}}},
	}
	l.Sites[0].Squelch = radio.Tone(1462)
	group := &plan.Group{Number: 1, Name: "Quillback local"}
	add := func(c plan.Channel) {
		if len(group.Channels) == 16 {
			l.Groups = append(l.Groups, group)
			group = &plan.Group{Number: group.Number + 1, Name: "Quillback more"}
		}
		c.Number, c.Group = len(group.Channels)+1, group
		group.Channels = append(group.Channels, &c)
	}
	add(plan.Channel{Name: g.name("CMD", 1), Use: radio.Command, Rx: 152412500, Tx: 157672500, RxTone: radio.Tone(1035), TxTone: radio.Site})
	for i := range g.Slots - 2 + g.Divisions {
		f := radio.Hertz(154_000_000 + 15000*i)
		c := plan.Channel{Name: g.name("TAC", i+1), Use: radio.Tactical, Rx: f, Tx: f, TxTone: radio.Tone(1567)}
		if g.Digital && i%2 == 1 {
			c.Mode, c.RxTone, c.TxTone = radio.Digital, radio.Squelch{Kind: radio.NAC, Value: 0x293}, radio.Squelch{Kind: radio.NAC, Value: 0x293}
		}
		add(c)
	}
	add(plan.Channel{Name: g.name("GRD", 1), Use: radio.Guard, Rx: 168625000, Tx: 168625000, TxTone: radio.Tone(1109)})
	for i := range g.Also {
		f := radio.Hertz(156_000_000 + 15000*i)
		add(plan.Channel{Name: g.name("TRV", i+1), Use: radio.Travel, Rx: f, Tx: f, EditionMark: i == 0})
	}
	l.Groups = append(l.Groups, group)
	return l
}

func (g *maker) plan(l *plan.Load) *plan.Plan {
	zone := time.FixedZone("", -6*3600)
	from := time.Date(2027, 8, 14, 6, 0, 0, 0, zone)
	if g.Overnight {
		from = from.Add(12 * time.Hour)
	}
	p := &plan.Plan{
		Load: "load.toml", Path: "plan.toml",
		Incident: plan.Incident{Name: g.phrase(), Number: "QB-0412", Exercise: g.Exercise, Period: 2,
			From: from, To: from.Add(12 * time.Hour), PreparedBy: g.phrase(), PreparedAt: from.Add(-9 * time.Hour)},
	}
	for i := range g.Divisions {
		p.Divisions = append(p.Divisions, &plan.Division{ID: divisionID(i), Name: g.phrase(), Supervisor: g.phrase()})
	}
	if g.Functional && g.Divisions > 0 {
		p.Divisions = append(p.Divisions, &plan.Division{ID: "SP", Name: g.phrase(), Functional: true, Beside: plan.Names{divisionID(0)}})
	}
	command := &plan.Slot{Pick: plan.Pick{Channel: g.name("CMD", 1)}, Site: l.Sites[0].Name}
	p.Slots = append(p.Slots, command)
	tacticals := g.Slots - 2
	for i := range tacticals {
		s := &plan.Slot{Pick: plan.Pick{Channel: g.name("TAC", i+1)}}
		for d := i; d < len(p.Divisions) && !g.Own; d += max(tacticals, 1) {
			s.Division = append(s.Division, p.Divisions[d].ID)
		}
		if g.Mixed && i%3 == 2 && g.Divisions > 1 {
			s.CarriedBy = plan.Names{divisionID(i % g.Divisions)}
		}
		p.Slots = append(p.Slots, s)
	}
	if g.DistinctList {
		for i := range g.Divisions {
			s := &plan.Slot{Pick: plan.Pick{Channel: g.name("TAC", g.Slots-1+i)}, CarriedBy: plan.Names{divisionID(i)}}
			if g.Own {
				s.Division = plan.Names{divisionID(i)}
			}
			p.Slots = append(p.Slots, s)
		}
	}
	p.Slots = append(p.Slots, &plan.Slot{Pick: plan.Pick{Channel: g.name("GRD", 1)}})
	var positions []string
	for i := range max(g.Seats, 1) {
		name := fmt.Sprintf("%s %d", g.phrase(), i+1)
		positions = append(positions, name)
		pos := &plan.Position{Name: name, Priority: "own"}
		if i%2 == 0 {
			pos.Scan = plan.Names{plan.Neighbors, "command"}
		}
		p.Positions = append(p.Positions, pos)
	}
	for i := range g.Units {
		u := &plan.Unit{Name: fmt.Sprintf("%s %d", g.phrase(), 600+i), Kind: "engine type 3", Team: "Strike team 6100C"}
		if len(p.Divisions) > 0 {
			u.Division = p.Divisions[i%len(p.Divisions)].ID
		}
		for _, name := range positions {
			u.Seats = append(u.Seats, plan.Seat{Position: name, Count: max(g.PerSeat, 1)})
		}
		p.Units = append(p.Units, u)
	}
	for i := range g.Also {
		p.Also = append(p.Also, &plan.Also{Pick: plan.Pick{Channel: g.name("TRV", i+1)}, When: "on the road"})
	}
	return p
}

// divisionID is A to Z, then AA to ZZ and AAA to ZZZ (27th division AA: reported
// practice, secondary), here with every letter used; then numbers.
func divisionID(i int) string {
	if i >= 3*26 {
		return fmt.Sprintf("N%d", i+1)
	}
	id := string(rune('A' + i%26))
	return strings.Repeat(id, 1+i/26)
}
