package layout_test

import (
	"flag"
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"slotcard/fonts"
	"slotcard/layout"
	"slotcard/layout/cards"
	"slotcard/layout/impose"
	"slotcard/layout/words"
	"slotcard/plan"
	"slotcard/plan/plantest"
	"slotcard/plan/radio"
)

// shapeOf draws the measures of a plan from a random source: from a handful of
// slots with short names to more than a small card can hold.
func shapeOf(seed uint64) plantest.Shape {
	r := rand.New(rand.NewPCG(seed, 11))
	n := func(lo, hi int) int { return lo + r.IntN(hi-lo+1) }
	return plantest.Shape{
		Seed: seed, Slots: n(4, 16), NameLength: n(5, 12), Divisions: n(0, 8), Functional: r.IntN(3) == 0,
		WordLength: n(3, 9), Words: n(1, 3), Units: n(1, 4), Seats: n(1, 2), PerSeat: n(1, 2), Also: n(0, 3),
		Exercise: r.IntN(2) == 0, Overnight: r.IntN(2) == 0, Digital: r.IntN(3) == 0, Mixed: r.IntN(4) == 0,
	}
}

// mustSay lists what a card has to say on either side.
func mustSay(r *plan.Resolved, c *plan.Card) (front, back []string) {
	in := &r.Plan.Incident
	front = append(front, in.Name, c.Unit.Name, c.Position.Name, fmt.Sprintf("Period %d", in.Period),
		in.From.Format("15:04"), in.To.Format("15:04"), fmt.Sprintf("%d Aug", in.From.Day()),
		r.Load.About.Edition+" "+r.Load.About.Colour, c.List.Code.Pairs(), fmt.Sprintf("Card %d", c.Number))
	back = append(back, c.List.Code.Words(), "fresh batteries", r.Load.About.Colour+" label", "edition "+r.Load.About.Edition,
		"old list cleared", "list built", "read back "+c.List.Code.Pairs(), "controls locked", "Radio check before you engage.")
	if c.Division != nil {
		front = append(front, c.Division.ID)
	}
	if in.Exercise {
		front, back = append(front, "EXERCISE"), append(back, "EXERCISE")
	}
	switch n := len(r.Exceptions); n {
	case 0:
	case 1:
		back = append(back, "1 exception accepted: see the wall sheet.")
	default:
		back = append(back, fmt.Sprintf("%d exceptions accepted: see the wall sheet.", n))
	}
	for _, a := range r.Also {
		front = append(front, a.When, a.Channel.Name)
	}
	for i, s := range c.List.Slots {
		place := c.List.Place(i)
		at := fmt.Sprintf("%d-%02d", place.Group.Number, place.Number)
		front = append(front, fmt.Sprint(i+1), s.Channel.Name, at)
		back = append(back, fmt.Sprint(i+1), s.Channel.Name, at, s.Channel.Rx.String())
		if s.Channel.Rx != s.Channel.Tx {
			back = append(back, s.Channel.Tx.String())
		}
		back = append(back, s.Channel.RxTone.String()+"/"+s.TxTone.String())
		for _, u := range s.Users {
			front = append(front, u.ID)
		}
		if s.Repeated() {
			front = append(front, "tone 4")
		}
		m := c.Marks[i]
		if m.Talk {
			front = append(front, "TALK")
		}
		if m.Priority {
			front = append(front, "PRIORITY")
		} else if m.Scan {
			front = append(front, "SCAN")
		}
	}
	return front, back
}

// checkDeck inspects every card of a deck. A symbol decodes to its payload in
// another package's tests; here it must carry the list text.
func checkDeck(t *testing.T, r *plan.Resolved, d *cards.Deck, about string) {
	t.Helper()
	backs := map[*layout.Panel]*plan.List{}
	for _, f := range d.Faces {
		front := inspect(f.Front)
		require.Empty(t, front.faults(d.Size), "%s: front of card %d on %s", about, f.Card.Number, d.Size.Name)
		wantFront, wantBack := mustSay(r, f.Card)
		for _, s := range wantFront {
			require.True(t, front.says(s), "%s: the front of card %d on %s does not say %q", about, f.Card.Number, d.Size.Name, s)
		}
		if backs[f.Back] != f.Card.List { // cards of a list share theirs
			backs[f.Back] = f.Card.List
			back := inspect(f.Back)
			require.Empty(t, back.faults(d.Size), "%s: back of card %d on %s", about, f.Card.Number, d.Size.Name)
			for _, s := range wantBack {
				require.True(t, back.says(s), "%s: the back of card %d on %s does not say %q", about, f.Card.Number, d.Size.Name, s)
			}
			require.Len(t, back.symbols, 1)
			require.Equal(t, f.Card.List.Text, back.symbols[0].Symbol.Payload)
			require.GreaterOrEqual(t, back.symbols[0].Symbol.Level, layout.LevelM)
		}
		keys := map[string]bool{}
		for i, s := range f.Card.List.Slots {
			keys[s.Channel.Name], keys[fmt.Sprint(i+1)] = true, true
		}
		for _, text := range front.texts {
			if text.Face == fonts.MonoBold && keys[text.S] {
				require.GreaterOrEqual(t, fonts.CapMM(text.Size), layout.CapKey-1e-9, "%s: %q on %s", about, text.S, d.Size.Name)
			}
		}
	}
}

var plans = flag.Int("plans", 60, "random plans of the property test of cards")

// Whatever the plan, on every size: nothing outside of the safe area, nothing
// over anything else, nothing below its smallest height, everything said that
// must be; or a finding that names a text and a size on which, verified, it fits.
func TestCardsOfRandomPlans(t *testing.T) {
	t.Parallel()
	fits, unfit := map[string]int{}, map[string]int{}
	for seed := range uint64(*plans) {
		shape := shapeOf(seed)
		r := plantest.Make(t, shape)
		r.Exceptions = make([]plan.Exception, seed%3)
		about := fmt.Sprintf("plan %d %+v", seed, shape)
		symbols := new(layout.Symbols)
		for _, size := range layout.CardSizes() {
			d, findings := cards.Deal(r, cards.Options{Size: size, Symbols: symbols})
			if d != nil {
				require.Empty(t, findings)
				fits[size.Name]++
				checkDeck(t, r, d, about)
				continue
			}
			unfit[size.Name]++
			require.NotEmpty(t, findings, about)
			for _, f := range findings {
				require.Equal(t, "does-not-fit", f.Rule)
				require.NotEmpty(t, f.Subject, about)
				require.NotEmpty(t, f.Help, about)
				name, ok := f.Data["fits"].(string)
				if !ok {
					continue // no size holds it, and the finding says so
				}
				larger, ok := layout.CardSize(name)
				require.True(t, ok)
				d, _ := cards.Deal(r, cards.Options{Size: larger, Symbols: symbols})
				require.NotNil(t, d, "%s: %s", about, f)
				checkDeck(t, r, d, about)
			}
		}
	}
	for _, size := range layout.CardSizes() {
		t.Logf("%-10s fits %5d, does not fit %5d", size.Name, fits[size.Name], unfit[size.Name])
		assert.Positive(t, fits[size.Name], "no random plan fits on %s", size.Name)
	}
}

// Where the paper does not take what would hold the cards, the finding names what does:
// followed, size and paper, there are cards on sheets.
func TestHelpOfPaperThatIsTooSmallWorks(t *testing.T) {
	small := layout.Size{Name: "small", Width: 110, Height: 100} // takes no card larger than id-1
	o := impose.Options{Paper: small}
	followed := 0
	for seed := range uint64(*plans / 3) {
		r := plantest.Make(t, shapeOf(seed))
		business, _ := layout.CardSize("business")
		d, findings := cards.Deal(r, cards.Options{Size: business,
			Sheets:    func(s layout.Size, n int) int { return impose.Sheets(s, n, o) },
			Elsewhere: func(s layout.Size) (what, flag string) { return impose.Elsewhere(s, o) }})
		if d != nil {
			continue
		}
		for _, f := range findings {
			name, ok := f.Data["fits"].(string)
			if !ok {
				continue
			}
			on := o
			for _, help := range f.Help {
				if _, paper, named := strings.Cut(help, "--paper "); named {
					on.Paper, ok = layout.PaperSize(paper)
					require.True(t, ok, help)
					followed++
				}
			}
			size, _ := layout.CardSize(name)
			d, _ := cards.Deal(r, cards.Options{Size: size})
			require.NotNil(t, d, "%s", f)
			_, err := impose.Cards(d, on)
			require.NoError(t, err, "%s", f)
		}
	}
	assert.Positive(t, followed)
}

// Where fronts alone are printed, a back that does not fit is in nobody's way.
func TestFrontsAloneNeedNoRoomForBacks(t *testing.T) {
	size, _ := layout.CardSize("96x62")
	blank := 0
	for seed := range uint64(*plans / 2) {
		r := plantest.Make(t, shapeOf(seed))
		_, found := cards.Deal(r, cards.Options{Size: size})
		sides := map[any]bool{}
		for _, f := range found {
			sides[f.Data["side"]] = true
		}
		d, alone := cards.Deal(r, cards.Options{Size: size, FrontsOnly: true})
		require.Equal(t, sides["front"], d == nil, "%v, %v", found, alone)
		require.Equal(t, d == nil, len(cards.Fits(r, cards.Options{Size: size, FrontsOnly: true})) > 0)
		if d != nil && sides["back"] {
			blank++
			require.NotContains(t, d.Omits, cards.FirstChecks)
			_, err := impose.Cards(d, impose.Options{Paper: layout.PaperSizes()[0], Sides: impose.FrontOnly})
			require.NoError(t, err)
		}
	}
	assert.Positive(t, blank)
}

// What is said to be missing of the special instructions is missing, and nothing else:
// a crew that counts on "say MEDICAL" must not learn at the fire that its card lacks it.
func TestMissingInstructionsAreSaid(t *testing.T) {
	tried := map[string]int{}
	for _, r := range []*plan.Resolved{fourLists(t), example(t, "thimble-gulch")} {
		for _, size := range layout.CardSizes() {
			d, _ := cards.Deal(r, cards.Options{Size: size})
			if d == nil {
				continue
			}
			with := 0
			for _, f := range d.Faces {
				all := strings.Join(slices.Concat(textsOf(inspect(f.Front)), textsOf(inspect(f.Back))), " ")
				if strings.Contains(all, "MEDICAL") {
					with++
				}
			}
			none, some := slices.Contains(d.Omits, cards.Instructions), slices.Contains(d.Omits, cards.SomeInstructions)
			assert.Equal(t, with == 0, none, size.Name)
			assert.Equal(t, with > 0 && with < len(d.Faces), some, size.Name)
			tried[fmt.Sprint(none, some)]++
		}
	}
	assert.Len(t, tried, 3, "%v: a way of it is not tried", tried)
}

// The sketch of the trade: eight slots fit on a business card, and one size up
// the type is larger.
func TestTypeGrowsWithTheCard(t *testing.T) {
	r := plantest.Make(t, plantest.Shape{Slots: 8, NameLength: 8, Divisions: 4, WordLength: 5, Words: 2, Units: 2, Also: 1})
	key := func(size string) float64 {
		s, ok := layout.CardSize(size)
		require.True(t, ok)
		d, findings := cards.Deal(r, cards.Options{Size: s})
		require.NotNil(t, d, "%v", findings)
		for _, text := range inspect(d.Faces[0].Front).texts {
			if text.S == r.Slots[0].Channel.Name {
				return fonts.CapMM(text.Size)
			}
		}
		t.Fatal("no name on the card")
		return 0
	}
	assert.Greater(t, key("a7"), key("business"))
	assert.Greater(t, key("a6"), key("a7"))
}

// Cap heights against the published formula H = D tan(MA): computed values of
// NUREG-0700 and MIL-STD-1472 distances (testdata/legibility.csv, computed).
func TestCapAt(t *testing.T) {
	for _, c := range []struct{ distance, arcmin, want float64 }{
		{350, 16, 1.629}, {350, 20, 2.036}, {400, 20, 2.327}, {500, 16, 2.327}, {1000, 20, 5.818},
	} {
		assert.InDelta(t, c.want, layout.CapAt(c.distance, c.arcmin), 0.0006)
	}
	assert.InDelta(t, layout.CapKey, layout.CapAt(400, 20), 0.03)
	assert.InDelta(t, layout.CapLeast, layout.CapAt(350, 16), 0.002)
}

// The same slot stands at the same place on every card of a list, so that a
// finger that knows one card knows all.
func TestSlotsStandAtTheSamePlaceOnAllCardsOfAList(t *testing.T) {
	r := plantest.Make(t, plantest.Shape{Slots: 9, NameLength: 8, Divisions: 5, WordLength: 6, Words: 2, Units: 5, Seats: 2, Also: 1, Exercise: true})
	d, findings := cards.Deal(r, cards.Options{})
	require.NotNil(t, d, "%v", findings)
	type spot struct{ x, y, size float64 }
	first := map[string]spot{}
	for _, f := range d.Faces {
		for _, text := range inspect(f.Front).texts {
			if text.Face != fonts.MonoBold {
				continue
			}
			at := spot{text.X, text.Y, text.Size}
			if was, ok := first[text.S]; ok {
				require.Equal(t, was, at, "%q on card %d", text.S, f.Card.Number)
			}
			first[text.S] = at
		}
	}
}

func BenchmarkDeal(b *testing.B) {
	for _, units := range []int{10, 100, 1000} {
		r := plantest.Make(b, plantest.Shape{Slots: 8, NameLength: 8, Divisions: 5, WordLength: 6, Words: 1, Units: units, Seats: 2, PerSeat: 5, Also: 1})
		b.Run(fmt.Sprintf("cards=%d", len(r.Cards)), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if d, findings := cards.Deal(r, cards.Options{}); d == nil {
					b.Fatal(findings)
				}
			}
		})
	}
}

// A repeater that carrier alone opens has neither site nor tone to name.
func TestRepeaterWithoutTone(t *testing.T) {
	r := plantest.Make(t, plantest.Shape{Slots: 5, NameLength: 8, Divisions: 2, WordLength: 6, Words: 1, Units: 2, Seats: 1})
	var changed int
	for _, l := range r.Lists {
		for _, s := range l.Slots {
			if s.Repeated() {
				s.Repeater, s.ToneNumber, s.TxTone = nil, 0, radio.Squelch{}
				changed++
			}
		}
	}
	require.Positive(t, changed)
	size, ok := layout.CardSize("a7")
	require.True(t, ok)
	d, found := cards.Deal(r, cards.Options{Size: size})
	require.Empty(t, found)
	require.NotNil(t, d)
}

// A card that is larger in both directions never has a smaller symbol, nor smaller
// modules, nor less error correction in as many; and none less than M.
func TestSymbolGrowsWithTheCard(t *testing.T) {
	var plans []*plan.Resolved
	for _, name := range []string{"first-hour", "thimble-gulch"} {
		plans = append(plans, example(t, name))
	}
	for seed := range uint64(8) {
		plans = append(plans, plantest.Make(t, shapeOf(seed)))
	}
	for slots := 3; slots <= 27; slots += 3 {
		plans = append(plans, plantest.Make(t, plantest.Shape{Slots: slots, NameLength: 8, Divisions: slots / 3, WordLength: 6, Words: 1, Units: 1, Also: 1}))
	}
	sizes := layout.CardSizes()
	for _, own := range []string{"90x60", "100x70", "110x80", "130x90", "160x110", "200x150"} {
		s, ok := layout.CardSize(own)
		require.True(t, ok)
		sizes = append(sizes, s)
	}
	for i, r := range plans {
		made, symbols := new(layout.Symbols), map[layout.Size]layout.Modules{}
		language := words.Languages()[i%3]
		l, _ := words.Speak(language)
		for _, size := range sizes {
			if d, _ := cards.Deal(r, cards.Options{Size: size, Symbols: made, Words: &l.Card}); d != nil {
				symbols[size.Across()] = inspect(d.Faces[0].Back).symbols[0]
			}
		}
		for small, a := range symbols {
			for large, b := range symbols {
				if small.Width > large.Width || small.Height > large.Height {
					continue
				}
				about := fmt.Sprintf("plan %d in %s: %s, and the larger %s", i, language, small.Name, large.Name)
				require.LessOrEqual(t, a.Module, b.Module, about)
				require.LessOrEqual(t, float64(a.Symbol.Size)*a.Module, float64(b.Symbol.Size)*b.Module+1e-9, about)
				require.LessOrEqual(t, a.Symbol.Level, b.Symbol.Level, about)
			}
		}
	}
}
