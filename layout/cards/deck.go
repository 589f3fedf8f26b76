// Package cards lays out the cards of a plan, both sides of each. Start with
// [Deal]; package impose places what it returns on paper.
package cards

import (
	"cmp"
	"fmt"
	"runtime"
	"slices"
	"strings"
	"sync"
	"sync/atomic"

	"slotcard/layout"
	"slotcard/layout/set"
	"slotcard/layout/words"
	"slotcard/plan"
	"slotcard/plan/finding"
)

// Options say what cards are made.
type Options struct {
	Size  layout.Size      // zero: the size that serves best
	Sizes []layout.Size    // of them, the first that holds everything; nil: those that go by a name
	Dot   float64          // mm: of what dots the printer makes a code; 0: nobody knows
	Words *words.CardWords // nil: English
	Plain bool             // frames in place of fills, to save toner
	// FlagWins: the size under [card] does not count, because of flags or of [stock].
	FlagWins bool
	// FrontsOnly: no backs are printed. One that does not fit is blank then.
	FrontsOnly bool

	Changes map[*plan.Card]Change // what to say of the list before; nil: nothing

	// Sheets is how many sheets so many cards of a size take, 0 where no sheet holds
	// one. Nil: cards come on no sheets, and small ones are best.
	Sheets func(size layout.Size, cards int) int
	// Elsewhere is on what a size that no sheet holds can be printed, and the flag that asks
	// for it; "": on nothing. Nil: nobody knows.
	Elsewhere func(size layout.Size) (what, flag string)

	Symbols *layout.Symbols // made so far, shared with other sheets; nil: none

	// Done is told how many more cards have what takes the time, their code. It
	// is called from several goroutines. Nil: nobody wants to know.
	Done func(cards int)
}

// Deck is every card of a plan, laid out but not yet placed on sheets.
type Deck struct {
	Size  layout.Size
	Words *words.CardWords
	Title string
	Faces []Faces

	Omits []Omission // what the cards have no room for
	Next  *Choice    // the size that would have been next best, nil: no other was asked for
}

// Faces are the two sides of a card. Cards of one list share the same back.
type Faces struct {
	Card        *plan.Card
	Front, Back *layout.Panel
}

// Keep drops the cards that keep refuses.
func (d *Deck) Keep(keep func(*plan.Card) bool) {
	d.Faces = slices.DeleteFunc(d.Faces, func(f Faces) bool { return !keep(f.Card) })
}

// Copies repeats every card n times, copies of a card beside each other.
func (d *Deck) Copies(n int) {
	faces := make([]Faces, 0, n*len(d.Faces))
	for _, f := range d.Faces {
		for range n {
			faces = append(faces, f)
		}
	}
	d.Faces = faces
}

// Sort orders the cards by a key, otherwise as they were. Cards with an empty
// key come last.
func (d *Deck) Sort(key func(*plan.Card) string) {
	slices.SortStableFunc(d.Faces, func(a, b Faces) int {
		x, y := key(a.Card), key(b.Card)
		if (x == "") != (y == "") {
			return cmp.Compare(y, x)
		}
		return cmp.Compare(x, y)
	})
}

// Deal lays out the cards of a plan. Where they do not fit, findings name the
// text and the smallest size that holds it, and the deck is nil.
func Deal(r *plan.Resolved, o Options) (*Deck, finding.List) {
	choices, findings := o.choose(r, false)
	if len(choices) == 0 {
		return nil, findings
	}
	if o.Symbols == nil {
		o.Symbols = new(layout.Symbols)
	}
	d := deal(r, choices[0].Size, choices[0].lists, &o)
	d.Omits = choices[0].Omits
	if len(choices) > 1 {
		d.Next = &choices[1]
	}
	return d, nil
}

// Fits says what keeps the cards of a plan from being dealt, as [Deal] does,
// without laying them out.
func Fits(r *plan.Resolved, o Options) finding.List {
	_, findings := o.choose(r, true)
	return findings
}

// findings tells of what a size does not hold, and which one, verified, does.
func (o *Options) findings(r *plan.Resolved, size layout.Size, unfit []set.Misfit) finding.List {
	var sizes []set.Remedy
	larger := layout.Larger(slices.Concat(o.Sizes, layout.CardSizes()), size)
	ask := func(s layout.Size) string {
		if o.FlagWins {
			return "--size " + s.Name
		}
		return fmt.Sprintf("size = %q under [card], or --size %s", s.Name, s.Name)
	}
	for _, s := range larger {
		fits := sync.OnceValue(func() bool { return o.printable(s) && holds(r, s, o) })
		sizes = append(sizes, set.Remedy{Holds: func(set.Misfit) bool { return fits() }, Key: "fits", Value: s.Name,
			Help: fmt.Sprintf("the smallest size that holds it is %s: %s", s.Name, ask(s))})
	}
	for _, s := range larger {
		if o.printable(s) || o.Elsewhere == nil {
			continue
		}
		what, flag := o.Elsewhere(s)
		fits := sync.OnceValue(func() bool { return what != "" && holds(r, s, o) })
		sizes = append(sizes, set.Remedy{Holds: func(set.Misfit) bool { return fits() }, Key: "fits", Value: s.Name,
			Help: fmt.Sprintf("no card size that this paper takes in this way holds it; %s does, on %s: --size %s %s", s.Name, what, s.Name, flag)})
	}
	none := "no card size holds it: shorten the text, or carry fewer slots in a list (carried_by)"
	found := set.Faults{Misfits: unfit}.Findings(set.Notice{
		Message: func(m set.Misfit) string {
			return fmt.Sprintf("the %s does not fit on %s at its smallest legible type: no room for %q", m.What, size.Name, m.Text)
		},
		Data: func(m set.Misfit) map[string]any {
			side, _, _ := strings.Cut(m.What, " ")
			return map[string]any{"size": size.Name, "text": m.Text, "side": side}
		},
		Remedies: [][]set.Remedy{sizes},
		None:     none,
	})
	for i := range found { // one size is one cause, whatever it does not hold
		found[i].Cause.Name = "card size " + size.Name
	}
	return found
}

// holds tells whether a size holds every card. The first list that it does not hold
// answers that.
func holds(r *plan.Resolved, size layout.Size, o *Options) bool {
	var misfit atomic.Bool
	_, unfit := dealLists(r, size, o, true, &misfit)
	return len(unfit) == 0
}

// dealLists works out the geometry for each list at a size, or only asks whether there is
// one; where a misfit ends it, up to that.
func dealLists(r *plan.Resolved, size layout.Size, o *Options, asks bool, ends *atomic.Bool) (map[*plan.List]*sides, []set.Misfit) {
	by := map[*plan.List]*sides{}
	for _, c := range r.Cards {
		if by[c.List] == nil {
			by[c.List] = &sides{}
		}
		by[c.List].cards = append(by[c.List].cards, c)
	}
	var mu sync.Mutex
	var wg sync.WaitGroup
	slots := make(chan struct{}, runtime.GOMAXPROCS(0))
	bad := make([][]set.Misfit, len(r.Lists))
	for i, l := range r.Lists {
		s := by[l]
		if s == nil {
			continue
		}
		slots <- struct{}{}
		wg.Go(func() {
			defer func() { <-slots }()
			if ends != nil && ends.Load() {
				return
			}
			b := s.fit(r, size, l, o, asks)
			if ends != nil && len(b) > 0 {
				ends.Store(true)
			}
			mu.Lock()
			bad[i] = b
			mu.Unlock()
		})
	}
	wg.Wait()
	var all []set.Misfit
	for _, b := range bad {
		all = append(all, b...)
	}
	return by, all
}

// deal lays out every card at a size.
func deal(r *plan.Resolved, size layout.Size, by map[*plan.List]*sides, o *Options) *Deck {
	w := o.Words
	in := &r.Plan.Incident
	d := &Deck{
		Size:  size,
		Words: w,
		Title: in.Name + ", " + w.Numbered(strings.ToLower(w.Period), in),
		Faces: make([]Faces, len(r.Cards)),
	}
	backs := map[*plan.List]*layout.Panel{}
	var mu sync.Mutex
	parallel(len(r.Lists), func(i int) {
		l := r.Lists[i]
		s := by[l]
		if s == nil {
			return
		}
		if s.back == nil { // fronts only
			mu.Lock()
			backs[l] = &layout.Panel{Width: size.Width, Height: size.Height}
			mu.Unlock()
			return
		}
		symbol, err := o.Symbols.Encode(l.Text, s.back.form.Level)
		if err != nil {
			panic("layout: " + err.Error()) // its size was computed from the same text
		}
		c := &set.Canvas{}
		s.back.draw(c, symbol)
		mu.Lock()
		backs[l] = &layout.Panel{Width: size.Width, Height: size.Height, Items: c.Items, Areas: c.Areas}
		mu.Unlock()
		if o.Done != nil {
			o.Done(len(s.cards))
		}
	})
	// Cards with the same marks have the rows in common, and most of the ink.
	type kind struct {
		list  *plan.List
		marks string
	}
	kinds := map[kind]int{}
	of := make([]int, len(r.Cards)) // kind of each card
	var first []*plan.Card          // of each kind
	for i, card := range r.Cards {
		k := kind{card.List, marksOf(card, o.Changes[card])}
		n, known := kinds[k]
		if !known {
			n = len(first)
			kinds[k] = n
			first = append(first, card)
		}
		of[i] = n
	}
	x0, x1 := layout.Safe, size.Width-layout.Safe
	commons := make([]*layout.Panel, len(first))
	parallel(len(first), func(i int) {
		card := first[i]
		c := &set.Canvas{Items: make([]layout.Item, 0, 16+12*len(card.List.Slots))}
		if in.Exercise {
			c.Stripes(x0, exerciseTop, x1-x0, exerciseHigh) // seen before anything is read
		}
		by[card.List].front.draw(c, card, o.Changes[card])
		commons[i] = &layout.Panel{Width: size.Width, Height: size.Height, Items: slices.Clip(c.Items), Areas: c.Areas}
	})
	frame := newFrames(r, by, o, size)
	parallel(len(r.Cards), func(i int) {
		card, common := r.Cards[i], commons[of[i]]
		items, at := frame.of(card)
		front := &layout.Panel{Width: size.Width, Height: size.Height, Items: items, Areas: common.Areas, Common: common, CommonAt: at}
		d.Faces[i] = Faces{Card: card, Front: front, Back: backs[card.List]}
	})
	return d
}

// marksOf tells cards of a list apart whose rows look different.
func marksOf(c *plan.Card, change Change) string {
	b := make([]byte, len(c.Marks))
	for i, m := range c.Marks {
		for k, set := range []bool{m.Talk, m.Priority, m.Scan, change.has(i)} {
			if set {
				b[i] |= 1 << k
			}
		}
	}
	return string(b)
}

// parallel calls do for 0 to n-1 on all cores; each call owns its own result.
func parallel(n int, do func(i int)) {
	var wg sync.WaitGroup
	workers := min(runtime.GOMAXPROCS(0), n)
	for k := range workers {
		wg.Go(func() {
			for i := n * k / workers; i < n*(k+1)/workers; i++ {
				do(i)
			}
		})
	}
	wg.Wait()
}
