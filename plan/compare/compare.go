// Package compare tells how a slot list that was read from a card differs from
// the lists of a plan. Start with [With]; [Report.Say] puts it in words.
//
// A list that was built with one slot skipped is told as that, and not as a
// difference in every slot behind it: the two lists are aligned first.
package compare

import (
	"cmp"
	"slices"

	"slotcard/plan"
	"slotcard/plan/slotlist"
)

// Field is a value of the head of a list, or of a slot. Names stay: they are in
// the JSON of verify.
type Field string

// Fields of the head, in the order in which they are said.
const (
	Exercise Field = "exercise" // one of the two is an exercise, the other is real
	Incident Field = "incident"
	Period   Field = "period"
	Revision Field = "revision" // of one period
	Times    Field = "times"    // of the period
	Edition  Field = "load edition"
)

// Fields of a slot.
const (
	Name      Field = "name"
	Receive   Field = "receive" // a frequency, or system and talkgroup
	Transmit  Field = "transmit"
	RxTone    Field = "receive tone"
	TxTone    Field = "transmit tone"
	Mode      Field = "mode"
	Width     Field = "width"
	Use       Field = "use"
	Divisions Field = "divisions"
)

// Head is a value of the head that differs.
type Head struct {
	Field      Field
	Card, Plan string
}

// Kind is what is the matter with a slot.
type Kind string

const (
	Changed Kind = "changed" // something else in its place
	Missing Kind = "missing" // in the plan, not on the card
	Extra   Kind = "extra"   // on the card, not in the plan
	Moved   Kind = "moved"   // on the card, in another place
	Swapped Kind = "swapped" // two slots stand in each other's place
	Shifted Kind = "shifted" // right by themselves, each as far off as the others
)

// Difference is one thing that is wrong with the slots of a card.
type Difference struct {
	Kind Kind
	// Slot and To are the first and the last slot of the plan that it is about,
	// the same for one slot; 0 for Extra. CardSlot is where the first of them
	// stands on the card; 0 for Missing.
	Slot, To, CardSlot int
	Card, Plan         *slotlist.Line // of the first slot; nil where there is none
	Fields             []Field        // of Changed: which differ
	Causes             []Difference   // of Shifted: what has pushed the slots
}

// Report is what comparing has found.
type Report struct {
	Card        slotlist.List // as it was read
	Against     slotlist.List // the plan's list, as reading it gives it
	List        *plan.List    // the list of the plan that it was compared with
	Other       *plan.List    // another list of the plan, where the card holds just that; else nil
	Head        []Head
	Differences []Difference

	plan *plan.Resolved
}

// Same tells whether the card is what the plan prints: slots and head.
func (r *Report) Same() bool { return r.SameSlots() && len(r.Head) == 0 }

// SameSlots tells whether the list is the plan's, whatever its head says: then
// the radio is right, though the card may be of another period.
func (r *Report) SameSlots() bool { return len(r.Differences) == 0 }

// Lists are the lists of a plan, as reading gives them: read once, compared with many.
// They may be used by several goroutines.
type Lists struct {
	plan    *plan.Resolved
	against []slotlist.List
	lines   []map[string]int // of each: how often it has a line
}

// Of takes the lists of a plan without errors, and so at least one.
func Of(r *plan.Resolved) *Lists {
	all := &Lists{plan: r}
	for _, l := range r.Lists {
		against, _, err := slotlist.Parse(l.Text)
		if err != nil {
			panic("compare: the plan's own list: " + err.Error())
		}
		all.against = append(all.against, against)
		all.lines = append(all.lines, linesOf(against))
	}
	return all
}

// linesOf counts the lines of a list, whatever their position.
func linesOf(l slotlist.List) map[string]int {
	n := make(map[string]int, len(l.Lines))
	for _, line := range l.Lines {
		n[slotlist.List{Lines: []slotlist.Line{line}}.Canonical()]++
	}
	return n
}

// mostTried is how many lists of a plan a list that is none of them is aligned with:
// those that have most lines with it in common. Our choice; few plans have as many.
const mostTried = 16

// With compares a list that was read with the list of the plan that it is
// closest to; of equally close ones with the first.
func (all *Lists) With(card slotlist.List) *Report {
	// A line that the other does not have costs at least 1: what cannot come below
	// the best so far is not aligned.
	have := linesOf(card)
	least := make([]int, len(all.against))
	order := make([]int, len(all.against))
	for i, l := range all.against {
		common := 0
		for line, n := range have {
			common += min(n, all.lines[i][line])
		}
		least[i], order[i] = max(len(card.Lines), len(l.Lines))-common, i
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(least[a], least[b]) })
	var closest *Report
	best, at := 0, 0
	for n, i := range order {
		if closest != nil && (least[i] > best || n == mostTried) {
			break
		}
		report, cost := all.compared(card, i)
		if closest == nil || cost < best || cost == best && i < at {
			closest, best, at = report, cost, i
		}
	}
	return closest
}

// WithList compares a list that was read with one list of the plan: the one that its
// carrier should have. Which other one it may be is told by what is in it: two lists
// may have one code by chance.
func (all *Lists) WithList(card slotlist.List, l *plan.List) *Report {
	report, _ := all.compared(card, slices.Index(all.plan.Lists, l))
	if !report.SameSlots() {
		for i, o := range all.plan.Lists {
			if slices.EqualFunc(all.against[i].Lines, card.Lines, same) {
				report.Other = o
			}
		}
	}
	return report
}

func (all *Lists) compared(card slotlist.List, i int) (*Report, int) {
	report := &Report{Card: card, Against: all.against[i], List: all.plan.Lists[i], plan: all.plan}
	report.head()
	steps, cost := align(card.Lines, report.Against.Lines)
	report.Differences = differences(steps, card.Lines, report.Against.Lines)
	return report, cost
}

func (r *Report) head() {
	add := func(f Field, card, plan string) {
		if card != plan {
			r.Head = append(r.Head, Head{f, card, plan})
		}
	}
	add(Exercise, reality(r.Card), reality(r.Against))
	add(Incident, r.Card.Incident, r.Against.Incident)
	add(Period, number(r.Card.Period), number(r.Against.Period))
	if r.Card.Period == r.Against.Period {
		add(Revision, number(max(1, r.Card.Revision)), number(max(1, r.Against.Revision)))
	}
	add(Times, interval(r.Card), interval(r.Against))
	add(Edition, r.Card.Edition, r.Against.Edition)
}

// reality tells what a list is for.
func reality(l slotlist.List) string {
	if l.Exercise {
		return "exercise"
	}
	return "real"
}

// fieldsOf are the fields of a slot, in the order in which they are named.
var fieldsOf = [...]Field{Name, Receive, Transmit, RxTone, TxTone, Mode, Width, Use, Divisions}

// differing tells which of them differ between two slots.
func differing(a, b *slotlist.Line) [len(fieldsOf)]bool {
	return [len(fieldsOf)]bool{
		a.Name != b.Name,
		a.Rx != b.Rx || a.System != b.System || a.Talkgroup != b.Talkgroup,
		a.Tx != b.Tx,
		a.RxTone != b.RxTone,
		a.TxTone != b.TxTone,
		a.Mode != b.Mode,
		a.Width != b.Width,
		a.Use != b.Use,
		!slices.Equal(a.Divisions, b.Divisions),
	}
}

// fields are those in which two slots differ.
func fields(a, b slotlist.Line) (differ []Field) {
	for i, d := range differing(&a, &b) {
		if d {
			differ = append(differ, fieldsOf[i])
		}
	}
	return differ
}

func same(a, b slotlist.Line) bool { return differing(&a, &b) == [len(fieldsOf)]bool{} }
