package compare_test

import (
	"os"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"slotcard/plan"
	"slotcard/plan/compare"
	"slotcard/plan/plantest"
	"slotcard/plan/radio"
	"slotcard/plan/slotlist"
)

// fire is a plan with the list of the format's description.
func fire(t *testing.T) *plan.Resolved {
	t.Helper()
	return read(t, "../../cmd/slotcard/testdata/fire/plan.toml")
}

func read(t *testing.T, name string) *plan.Resolved {
	t.Helper()
	p, l, found, err := plan.Read(name, plan.Options{ReadFile: os.ReadFile})
	require.NoError(t, err)
	require.Empty(t, found)
	r, found := plan.Resolve(p, l)
	require.Empty(t, found)
	return r
}

func listOf(t require.TestingT, text string) slotlist.List {
	l, _, err := slotlist.Parse(text)
	require.NoError(t, err)
	return l
}

func TestWords(t *testing.T) {
	r := fire(t)
	of := func(change func(l *slotlist.List)) []string {
		l := listOf(t, r.Lists[0].Text)
		change(&l)
		return compare.Of(r).With(l).Say()
	}
	extra := slotlist.Line{Name: "QB TAC 9", Use: radio.Tactical, Divisions: []string{"Z"}, Rx: 154_100_000, Tx: 154_100_000}
	for name, c := range map[string]struct {
		change func(l *slotlist.List)
		want   []string
	}{
		"same": {func(*slotlist.List) {}, nil},
		"another channel": {func(l *slotlist.List) {
			l.Lines[2].Name, l.Lines[2].Rx, l.Lines[2].Tx = "VFIRE25", 154_287_500, 154_287_500
		},
			[]string{"slot 3: card VFIRE25 154.2875, plan VFIRE23 154.2950, tactical of division Z"}},
		"another frequency": {func(l *slotlist.List) { l.Lines[2].Rx, l.Lines[2].Tx = 154_259_000, 154_259_000 },
			[]string{"slot 3, VFIRE23: card 154.2590, plan 154.2950, tactical of division Z"}},
		"another transmit frequency": {func(l *slotlist.List) { l.Lines[0].Tx = 157_762_500 },
			[]string{"slot 1, QB CMD 1: card transmit 157.7625, plan transmit 157.6725, command"}},
		"direct in place of repeated": {func(l *slotlist.List) { l.Lines[0].Tx = l.Lines[0].Rx },
			[]string{"slot 1, QB CMD 1: card transmit as receive, 152.4125, plan transmit 157.6725, command"}},
		"another tone": {func(l *slotlist.List) { l.Lines[0].TxTone = radio.Tone(1318) },
			[]string{"slot 1, QB CMD 1: card transmit tone 131.8, plan transmit tone 146.2, command"}},
		"no tone": {func(l *slotlist.List) { l.Lines[0].RxTone = radio.Squelch{} },
			[]string{"slot 1, QB CMD 1: card no receive tone, plan receive tone 103.5, command"}},
		"a code": {func(l *slotlist.List) { l.Lines[4].TxTone = radio.Squelch{Kind: radio.DCS, Value: 0o23} },
			[]string{"slot 5, AIRGUARD: card transmit code D023, plan transmit tone 110.9, guard"}},
		"mode and width": {func(l *slotlist.List) { l.Lines[3].Mode, l.Lines[3].Width = radio.Digital, radio.Wide },
			[]string{"slot 4, QB AG 1: card digital, wide; plan analog, narrow; air-to-ground"}},
		"another division": {func(l *slotlist.List) { l.Lines[2].Divisions = []string{"M", "Z"} },
			[]string{"slot 3, VFIRE23: card tactical of divisions M and Z; plan tactical of division Z"}},
		"another channel and use": {func(l *slotlist.List) { l.Lines[3] = extra },
			[]string{"slot 4: card QB TAC 9 154.1000, tactical of division Z; plan QB AG 1 151.8575, air-to-ground"}},
		"a talkgroup": {func(l *slotlist.List) {
			l.Lines[3] = slotlist.Line{Name: "QB AG 1", Use: radio.AirToGround, System: "QB", Talkgroup: "AIR", Mode: radio.Digital}
		}, []string{"slot 4, QB AG 1: card talkgroup QB/AIR, digital; plan 151.8575, analog; air-to-ground"}},

		"one skipped": {func(l *slotlist.List) { l.Lines = slices.Delete(l.Lines, 1, 2) },
			[]string{"slot 2 is missing: plan VFIRE21 154.2800, tactical of division A",
				"slots 3-5 are one too low: slot 2 is missing"}},
		"two skipped": {func(l *slotlist.List) { l.Lines = slices.Delete(slices.Delete(l.Lines, 3, 4), 1, 2) },
			[]string{"slot 2 is missing: plan VFIRE21 154.2800, tactical of division A",
				"slot 3 is one too low: slot 2 is missing",
				"slot 4 is missing: plan QB AG 1 151.8575, air-to-ground",
				"slot 5 is two too low: slots 2 and 4 are missing"}},
		"last one skipped": {func(l *slotlist.List) { l.Lines = l.Lines[:4] },
			[]string{"slot 5 is missing: plan AIRGUARD 168.6250, guard"}},
		"one too many": {func(l *slotlist.List) { l.Lines = slices.Insert(l.Lines, 2, extra) },
			[]string{"slot 3 of the card is not in the plan: QB TAC 9 154.1000, tactical of division Z",
				"slots 3-5 are one too high: slot 3 of the card is too many"}},
		"one too many at the end": {func(l *slotlist.List) { l.Lines = append(l.Lines, extra) },
			[]string{"slot 6 of the card is not in the plan: QB TAC 9 154.1000, tactical of division Z"}},
		"built twice": {func(l *slotlist.List) { l.Lines = slices.Insert(l.Lines, 1, l.Lines[1]) },
			[]string{"slot 3 of the card is not in the plan: VFIRE21 154.2800, tactical of division A",
				"slots 3-5 are one too high: slot 3 of the card is too many"}},
		"skipped, and the end filled": {func(l *slotlist.List) { l.Lines = append(slices.Delete(l.Lines, 0, 1), extra) },
			[]string{"slot 1 is missing: plan QB CMD 1 152.4125/157.6725, command",
				"slots 2-5 are one too low: slot 1 is missing",
				"slot 5 of the card is not in the plan: QB TAC 9 154.1000, tactical of division Z"}},
		"skipped, and one wrong behind it": {func(l *slotlist.List) {
			l.Lines[3].TxTone = radio.Tone(1000)
			l.Lines = slices.Delete(l.Lines, 1, 2)
		}, []string{"slot 2 is missing: plan VFIRE21 154.2800, tactical of division A",
			"slot 3 is one too low: slot 2 is missing",
			"slot 4 (slot 3 on the card), QB AG 1: card transmit tone 100.0, plan no transmit tone, air-to-ground",
			"slot 5 is one too low: slot 2 is missing"}},
		"swapped": {func(l *slotlist.List) { l.Lines[1], l.Lines[3] = l.Lines[3], l.Lines[1] },
			[]string{"slots 2 and 4 are swapped: the card has QB AG 1 in slot 2 and VFIRE21 in slot 4"}},
		"moved down": {func(l *slotlist.List) {
			guard := l.Lines[4]
			l.Lines = slices.Insert(l.Lines[:4], 0, guard)
		}, []string{"slots 1-4 are one too high: slot 5 stands elsewhere",
			"slot 5, AIRGUARD, is in the wrong place: the card has it in slot 1"}},

		"another period": {func(l *slotlist.List) {
			l.Period, l.From, l.To = 1, l.From.Add(-24*time.Hour), l.To.Add(-24*time.Hour)
			l.Lines[2].TxTone = radio.Tone(1000)
		}, []string{"another period: card 1, plan 2",
			"slot 3, VFIRE23: card transmit tone 100.0, plan transmit tone 156.7, tactical of division Z"}},
		"no exercise": {func(l *slotlist.List) { l.Exercise, l.Period = false, 1 },
			[]string{"the plan is an exercise, the card is of a real incident", "another period: card 1, plan 2"}},
		"a newer revision":             {func(l *slotlist.List) { l.Revision = 3 }, []string{"a newer revision of the plan: card 3, plan 1"}},
		"a revision of another period": {func(l *slotlist.List) { l.Revision, l.Period = 3, 1 }, []string{"another period: card 1, plan 2"}},
		"another incident and edition": {func(l *slotlist.List) { l.Incident, l.Edition = "ROCK CREEK", "2026" },
			[]string{"another incident: card ROCK CREEK, plan THIMBLE GULCH", "another load edition: card 2026, plan 2027"}},
		"another time": {func(l *slotlist.List) { l.To = l.To.Add(12 * time.Hour) },
			[]string{"other times of the period: card 2027-08-14 06:00 to 2027-08-15 06:00, plan 2027-08-14 06:00 to 18:00"}},
	} {
		t.Run(name, func(t *testing.T) { assert.Equal(t, c.want, of(c.change)) })
	}
}

// Which other list a card has is told by what is in it, where two lists have one code.
func TestOtherListIsToldByItsText(t *testing.T) {
	r := plantest.Make(t, plantest.Shape{Seed: 3, Slots: 8, NameLength: 8, Divisions: 4, WordLength: 5, Words: 1, Units: 4, Seats: 1, PerSeat: 1, DistinctList: true})
	require.Greater(t, len(r.Lists), 2)
	for _, l := range r.Lists {
		l.Code = r.Lists[0].Code
	}
	card := listOf(t, r.Lists[1].Text)
	assert.Same(t, r.Lists[1], compare.Of(r).WithList(card, r.Lists[2]).Other)
	card.Lines[0].TxTone = radio.Tone(699)
	assert.Nil(t, compare.Of(r).WithList(card, r.Lists[2]).Other)
}

// A card of the wrong list of a plan with several is told as that.
func TestSeveralLists(t *testing.T) {
	r := plantest.Make(t, plantest.Shape{Seed: 3, Slots: 8, NameLength: 8, Divisions: 4, WordLength: 5, Words: 1, Units: 4, Seats: 1, PerSeat: 1, DistinctList: true})
	require.Greater(t, len(r.Lists), 1)
	for i, l := range r.Lists {
		card := listOf(t, l.Text)
		found := compare.Of(r).With(card)
		assert.Same(t, l, found.List, "the closest is the one that it is")
		assert.True(t, found.Same())

		wanted := r.Lists[(i+1)%len(r.Lists)]
		found = compare.Of(r).WithList(card, wanted)
		assert.False(t, found.SameSlots())
		assert.Same(t, wanted, found.List)
		assert.Same(t, l, found.Other)
		assert.Regexp(t, "^this is the list of .*, not of .*$", found.Say()[0])

		card.Lines[0].TxTone = radio.Tone(699)
		found = compare.Of(r).With(card)
		assert.Same(t, l, found.List, "one tone off is still closest to it")
		assert.Len(t, found.Differences, 1)
	}
}

// draw is a list of slots that all differ.
func draw(t *rapid.T, r *plan.Resolved) slotlist.List {
	card := listOf(t, r.Lists[0].Text)
	card.Lines = card.Lines[:rapid.IntRange(1, len(card.Lines)).Draw(t, "kept")]
	return card
}

// What is said of any two lists is true: every slot of the plan and of the card
// is accounted for by exactly one difference, or stands equal in its place.
func TestEverySlotIsAccountedFor(t *testing.T) {
	r := plantest.Make(t, plantest.Shape{Seed: 1, Slots: 14, NameLength: 8, Divisions: 5, WordLength: 5, Words: 1, Units: 1, Seats: 1, PerSeat: 1})
	rapid.Check(t, func(t *rapid.T) {
		card := draw(t, r)
		for range rapid.IntRange(0, 5).Draw(t, "changes") {
			n := len(card.Lines)
			i, j := rapid.IntRange(0, n-1).Draw(t, "i"), rapid.IntRange(0, n-1).Draw(t, "j")
			switch rapid.IntRange(0, 4).Draw(t, "change") {
			case 0:
				card.Lines[i], card.Lines[j] = card.Lines[j], card.Lines[i]
			case 1:
				if n > 1 {
					card.Lines = slices.Delete(card.Lines, i, i+1)
				}
			case 2:
				card.Lines = slices.Insert(card.Lines, i, card.Lines[j])
			case 3:
				card.Lines[i].RxTone = radio.Tone(rapid.IntRange(1, 3).Draw(t, "tone"))
			case 4:
				card.Lines[i].Name = "X" + card.Lines[j].Name
			}
		}
		found := compare.Of(r).With(card)
		want := found.Against.Lines
		require.Equal(t, card.Code() == found.Against.Code(), found.SameSlots())

		onCard, inPlan := make([]int, len(card.Lines)), make([]int, len(want))
		for _, d := range found.Differences {
			require.NotEmpty(t, found.SayDifference(d))
			if d.Slot > 0 {
				require.Equal(t, want[d.Slot-1], *d.Plan)
			}
			if d.CardSlot > 0 {
				require.Equal(t, card.Lines[d.CardSlot-1], *d.Card)
			}
			switch d.Kind {
			case compare.Changed:
				require.NotEqual(t, *d.Card, *d.Plan)
				require.NotEmpty(t, d.Fields)
				inPlan[d.Slot-1]++
				onCard[d.CardSlot-1]++
			case compare.Missing:
				inPlan[d.Slot-1]++
			case compare.Extra:
				onCard[d.CardSlot-1]++
			case compare.Moved:
				require.Equal(t, *d.Card, *d.Plan)
				inPlan[d.Slot-1]++
				onCard[d.CardSlot-1]++
			case compare.Swapped:
				require.Equal(t, want[d.To-1], *d.Card)
				require.Equal(t, card.Lines[d.To-1], *d.Plan)
				inPlan[d.Slot-1]++
				inPlan[d.To-1]++
				onCard[d.Slot-1]++
				onCard[d.To-1]++
			case compare.Shifted:
				require.NotEqual(t, d.Slot, d.CardSlot)
				require.NotEmpty(t, d.Causes)
				for i := d.Slot; i <= d.To; i++ {
					require.Equal(t, want[i-1], card.Lines[i-d.Slot+d.CardSlot-1])
					inPlan[i-1]++
					onCard[i-d.Slot+d.CardSlot-1]++
				}
			}
		}
		for i, n := range inPlan {
			if n == 0 {
				require.Less(t, i, len(card.Lines))
				require.Equal(t, want[i], card.Lines[i])
				require.Zero(t, onCard[i])
				onCard[i]++
			} else {
				require.Equal(t, 1, n, "slot %d of the plan in %s", i+1, strings.Join(found.Say(), "; "))
			}
		}
		for i, n := range onCard {
			require.Equal(t, 1, n, "slot %d of the card in %s", i+1, strings.Join(found.Say(), "; "))
		}
	})
}

func BenchmarkWith(b *testing.B) {
	r := plantest.Make(b, plantest.Shape{Seed: 1, Slots: 40, NameLength: 8, Divisions: 6, WordLength: 5, Words: 1, Units: 6, Seats: 1, PerSeat: 1, DistinctList: true})
	card := listOf(b, r.Lists[0].Text)
	card.Lines = slices.Delete(card.Lines, 5, 6)
	for b.Loop() {
		_ = compare.Of(r).With(card)
	}
}

// A real card against an exercise, an old card against a revised plan.
func TestExerciseAndRevisionOfThePlan(t *testing.T) {
	p, l := plantest.Written(plantest.Shape{Seed: 1, Slots: 6, NameLength: 8, Divisions: 2, WordLength: 5, Units: 1})
	p.Incident.Revision = 2
	r, found := plan.Resolve(p, l)
	require.Empty(t, found)
	card := listOf(t, r.Lists[0].Text)
	assert.True(t, compare.Of(r).With(card).Same())
	card.Exercise, card.Revision = true, 0
	report := compare.Of(r).With(card)
	assert.False(t, report.Same())
	assert.True(t, report.SameSlots())
	assert.Equal(t, []string{"the card is of an exercise, the plan is for a real incident: do not use this card", "an older revision of the plan: card 1, plan 2"}, report.Say())
}
