package cards

import (
	"cmp"
	"slices"
	"sync/atomic"

	"slotcard/layout"
	"slotcard/layout/words"
	"slotcard/plan"
	"slotcard/plan/finding"
)

// Choice is a size that holds every card of a plan.
type Choice struct {
	Size   layout.Size
	Sheets int        // that it takes; 0: on none
	Omits  []Omission // what it has no room for

	lists map[*plan.List]*sides
	lost  int // kinds of words that a smaller card must not lack: instructions stand where there is room
}

// choose takes the size asked for, or those that hold every card, the one that serves
// best first; and works out the geometry for each list, or only asks whether there is a
// size. There is none where a finding says what does not fit.
func (o *Options) choose(r *plan.Resolved, asks bool) (choices []Choice, findings finding.List) {
	if o.Words == nil {
		o.Words = &words.English
	}
	sizes, best := layout.CardSizes(), o.Sheets != nil && o.Sizes == nil
	if o.Size != (layout.Size{}) {
		sizes = []layout.Size{o.Size.Across()}
	} else if o.Sizes != nil {
		sizes = o.Sizes
	} else if some := slices.DeleteFunc(layout.CardSizes(), func(s layout.Size) bool { return !o.printable(s) }); len(some) > 0 {
		sizes = some
	}
	for i, size := range sizes {
		ends := new(atomic.Bool)
		if i == len(sizes)-1 && len(choices) == 0 {
			ends = nil // all that the last one does not hold is told
		}
		lists, bad := dealLists(r, size, o, asks, ends)
		if len(bad) > 0 {
			if ends == nil {
				findings = o.findings(r, size, bad)
			}
			continue
		}
		if asks {
			return []Choice{{Size: size}}, nil
		}
		c := Choice{Size: size, lists: lists, Omits: o.omissions(r, lists)}
		c.lost = len(c.Omits)
		c.Omits = append(c.Omits, o.uninstructed(r, lists)...)
		if o.Sheets != nil {
			c.Sheets = o.Sheets(size, len(r.Cards))
		}
		choices = append(choices, c)
		if c.lost == 0 && (!best || len(r.Lists) > listsCompared) {
			break // the others are larger
		}
	}
	if len(choices) == 0 {
		return nil, findings
	}
	// The fewest words lost, then the fewest sheets; of as many the largest card, or the
	// first where they come in an order.
	slices.SortStableFunc(choices, func(a, b Choice) int {
		larger := 0
		if best {
			larger = cmp.Compare(b.Size.Width*b.Size.Height, a.Size.Width*a.Size.Height)
		}
		return cmp.Or(cmp.Compare(a.lost, b.lost), cmp.Compare(a.Sheets, b.Sheets), larger)
	})
	// What is next best takes fewer sheets, or more, but not as many.
	first := choices[0]
	choices = slices.DeleteFunc(choices, func(c Choice) bool { return c.Size != first.Size && c.Sheets == first.Sheets })
	return choices, nil
}

// listsCompared are the most lists of a plan that is laid out in every size, to choose
// among them: of more, that takes too long, and the smallest that holds everything is
// taken.
const listsCompared = 20

// printable tells whether a sheet holds a card of a size.
func (o *Options) printable(s layout.Size) bool { return o.Sheets == nil || o.Sheets(s, 1) > 0 }

// omissions are what some list of a plan has no room for, each once.
func (o *Options) omissions(r *plan.Resolved, lists map[*plan.List]*sides) (kinds []Omission) {
	for _, l := range r.Lists {
		if s := lists[l]; s != nil {
			for _, k := range s.omits(o) {
				if !slices.Contains(kinds, k) {
					kinds = append(kinds, k)
				}
			}
		}
	}
	return kinds
}

// uninstructed says whether cards lack the special instructions of their plan.
func (o *Options) uninstructed(r *plan.Resolved, lists map[*plan.List]*sides) []Omission {
	if r.Plan.Incident.Instructions == "" {
		return nil
	}
	with, without := 0, 0
	for _, l := range r.Lists {
		switch s := lists[l]; {
		case s == nil:
		case s.front.block.shown[instructions], !o.FrontsOnly && s.back.instructed:
			with++
		default:
			without++
		}
	}
	switch {
	case without == 0:
		return nil
	case with == 0:
		return []Omission{Instructions}
	}
	return []Omission{SomeInstructions}
}
