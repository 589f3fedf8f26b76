package papers

import (
	"errors"
	"flag"
	"fmt"
	"io"
	"maps"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"slotcard/cmd/internal/files"
	"slotcard/cmd/internal/voice"
	"slotcard/layout"
	"slotcard/layout/cards"
	"slotcard/layout/impose"
	"slotcard/layout/words"
	"slotcard/plan"
	"slotcard/plan/plantest"
)

var everyWay = flag.Bool("every", false, "print the examples in all combinations of the flags of cards, not in some of them")

// way is a combination of the flags of cards.
type way map[string]string

func (w way) String() string {
	said := ""
	for _, name := range []string{"size", "paper", "sides", "order", "edge", "roll", "dpi", "copies", "language", "plain"} {
		if v := w[name]; v != "" {
			said += " --" + name + "=" + v
		}
	}
	return strings.TrimSpace(said)
}

// with is the combination with other flags.
func (w way) with(flags way) way {
	other := maps.Clone(w)
	maps.Copy(other, flags)
	return other
}

// print lays out the cards of a plan; a refusal comes with all that is said of it.
func (w way) print(t *testing.T, name string) (j *Job, refused string) {
	t.Helper()
	flags := w.with(way{"cards": "true"})
	maps.DeleteFunc(flags, func(_, value string) bool { return value == "" })
	request, err := Ask(flags)
	require.NoError(t, err, "%s", w)
	j = NewJob(files.NewReader(t.Context(), strings.NewReader("")), voice.New(io.Discard, io.Discard), name, request)
	if err = j.Open(); err == nil {
		err = j.LayOut(t.Context())
	}
	if err == nil {
		return j, ""
	}
	said := err.Error()
	var found *Refused
	if errors.As(err, &found) {
		for _, f := range found.Found {
			said += "\n" + f.Message + "\n" + strings.Join(f.Help, "\n")
		}
	}
	return nil, said
}

// remedies are the flags that a refusal names.
var remedies = regexp.MustCompile(`--(size|paper|roll|sides) ([0-9a-z.-]+)`)

// A refusal never ends at what cannot be had either: with the flags that it names, and
// the others as they were, the cards are printed. Where it names none, no size of card
// with a name goes with the other flags.
func TestRefusalsLeadOn(t *testing.T) {
	names := func(sizes []layout.Size) []string { return append(SizeNames(sizes), "") }
	n, followed, ends := 0, 0, 0
	try := func(name string, w way) {
		if n++; n%stride() != 0 {
			return
		}
		j, refused := w.print(t, name)
		if j != nil {
			return
		}
		flags := way{}
		for _, m := range remedies.FindAllStringSubmatch(refused, -1) {
			flags[m[1]] = m[2]
		}
		if len(flags) > 0 {
			followed++
			_, again := w.with(flags).print(t, name)
			assert.Empty(t, again, "%s %s: %s", name, w, refused)
			return
		}
		ends++
		for _, s := range layout.CardSizes() {
			j, _ := w.with(way{"size": s.Name}).print(t, name)
			assert.Nil(t, j, "%s %s: no size is named, and %s is one: %s", name, w, s.Name, refused)
		}
	}
	for _, example := range []string{"first-hour", "thimble-gulch"} {
		name := "../../../examples/" + example + "/plan.toml"
		for _, size := range names(layout.CardSizes()) {
			for _, language := range words.Languages() {
				for _, plain := range []string{"", "true"} {
					card := way{"size": size, "language": language, "plain": plain}
					for _, paper := range names(layout.PaperSizes()) {
						for _, sides := range append(impose.SidesNames(), "") {
							for _, order := range impose.OrderNames() {
								edge := []string{"", "3", "15"}[n%3] // mm that the printer does not reach
								try(name, card.with(way{"paper": paper, "sides": sides, "order": order, "edge": edge}))
							}
						}
					}
					for _, roll := range []string{"29", "62", "102", "38x90", "4x6in", "102x152", "105x148"} {
						for _, dpi := range []string{"180", "203", "300"} {
							try(name, card.with(way{"roll": roll, "dpi": dpi}))
						}
					}
				}
			}
		}
	}
	t.Logf("%d combinations, each %dth of them tried, %d refusals followed, %d end", n, stride(), followed, ends)
	assert.Positive(t, followed)
}

// stride is how many combinations there are for each that is tried.
func stride() int {
	if *everyWay {
		return 1
	}
	return 97
}

// oddPlans are plans of unusual shapes.
func oddPlans(t *testing.T) map[string]*plan.Resolved {
	one, load := plantest.Written(plantest.Shape{Slots: 3, NameLength: 6, WordLength: 4, Words: 1, Units: 2})
	one.Slots = one.Slots[:1]
	single, found := plan.Resolve(one, load)
	require.Empty(t, found)
	all := map[string]*plan.Resolved{"one slot": single}
	for name, shape := range map[string]plantest.Shape{
		"three slots":   {Slots: 3, NameLength: 5, WordLength: 4, Words: 1, Units: 1, Exercise: true},
		"24 slots":      {Slots: 24, NameLength: 8, Divisions: 6, WordLength: 5, Words: 1, Units: 9, Seats: 2, Also: 1},
		"long names":    {Slots: 8, NameLength: 12, Divisions: 4, WordLength: 9, Words: 3, Units: 5, Seats: 2, Also: 2, Exercise: true},
		"longest names": {Slots: 12, NameLength: 16, Divisions: 5, WordLength: 12, Words: 4, Units: 3, Seats: 2, Also: 3, Overnight: true},
		"no units":      {Slots: 8, NameLength: 8, Divisions: 3, WordLength: 6, Words: 1},
		"200 units":     {Slots: 8, NameLength: 8, Divisions: 5, WordLength: 6, Words: 2, Units: 200, Seats: 1, Also: 1},
		"6 lists":       {Slots: 14, NameLength: 8, Divisions: 6, WordLength: 6, Words: 2, Units: 12, Seats: 2, DistinctList: true, Own: true},
		"digital":       {Slots: 10, NameLength: 10, Divisions: 3, WordLength: 7, Words: 2, Units: 4, Digital: true, Mixed: true, Overnight: true},
		"21 lists":      {Slots: 28, NameLength: 8, Divisions: 21, WordLength: 6, Words: 1, Units: 21, Seats: 1, DistinctList: true, Own: true},
	} {
		all[name] = plantest.Make(t, shape)
	}
	return all
}

// said are the numbers of a summary, such as "7 cards of size 96x62, without sites of
// repeaters, on 2 pages of letter (a7: 4): ...".
var said = regexp.MustCompile(`^(\d+) cards? of size (\S+?)(?:, (without [^:(]+),)? on (\d+) pages?(?: of \S+)?(?: \((\S+?)(?:, (without [^:(]+))?: (\d+)\))?: `)

// Without a size the cards take the one that leaves out the fewest kinds of words, and of
// these the one on the fewest sheets; and what the summary says of it and of the next
// best is so: counted on the cards of each size, in every language.
func TestSummaryOfTheSizeIsTrue(t *testing.T) {
	ways := []way{
		{"paper": "letter"}, {"paper": "a4", "sides": "fold"}, {"paper": "a4", "plain": "true"},
		{"paper": "legal", "sides": "front"}, {"paper": "letter", "sides": "short", "copies": "3"},
	}
	plans := oddPlans(t)
	compared := 0
	for k, name := range slices.Sorted(maps.Keys(plans)) {
		for i, language := range words.Languages() {
			for n, flags := range ways {
				if !*everyWay && (n != k%len(ways) || i != k%3) {
					continue // each way and language with several plans, not all with all
				}
				flags = flags.with(way{"language": language})
				if trueSummary(t, name+": "+flags.String(), plans[name], flags) {
					compared++
				}
			}
		}
	}
	assert.Greater(t, compared, 3)
}

// trueSummary counts what the summary of a print says, and tells whether it names a next
// best size.
func trueSummary(t *testing.T, about string, r *plan.Resolved, flags way) (next bool) {
	t.Helper()
	symbols := new(layout.Symbols)
	summary := summaryOf(t, r, symbols, flags)
	type count struct{ omits, pages, without string }
	counts := map[string]count{} // of the sizes that hold the cards
	for _, s := range layout.CardSizes() {
		if m := said.FindStringSubmatch(summaryOf(t, r, symbols, flags.with(way{"size": s.Name}))); m != nil {
			require.Equal(t, s.Name, m[2])
			lost := 0
			if m[3] != "" {
				lost = 1 + strings.Count(m[3], ", ")
			}
			counts[s.Name] = count{fmt.Sprintf("%02d", lost), fmt.Sprintf("%05s", m[4]), m[3]}
		}
	}
	if summary == "" {
		assert.Empty(t, counts, "%s: these hold the cards", about)
		return false
	}
	m := said.FindStringSubmatch(summary)
	require.NotNil(t, m, summary)
	t.Logf("%s: %s", about, summary)
	copies := 1
	if flags["copies"] != "" {
		copies = 3
	}
	assert.Equal(t, strconv.Itoa(len(r.Cards)*copies), m[1], about)
	first := counts[m[2]]
	assert.Equal(t, first.without, m[3], about)
	assert.Equal(t, first.pages, fmt.Sprintf("%05s", m[4]), about)
	if len(r.Lists) > 20 {
		return false // too many lists to try every size
	}
	second := count{omits: "none"}
	for name, c := range counts {
		assert.LessOrEqual(t, first.omits+first.pages, c.omits+c.pages, "%s: %s is better", about, name)
		if c.pages != first.pages && c.omits+c.pages < second.omits+second.pages {
			second = c
		}
	}
	if m[5] == "" {
		assert.Equal(t, count{omits: "none"}, second, "%s: no other size is named", about)
		return false
	}
	assert.Equal(t, counts[m[5]].without, m[6], about)
	assert.Equal(t, counts[m[5]].pages, fmt.Sprintf("%05s", m[7]), about)
	assert.Equal(t, second.omits+second.pages, counts[m[5]].omits+counts[m[5]].pages, "%s: another size is next", about)
	return true
}

// summaryOf is what print says of the cards of a plan; "" where there are none.
func summaryOf(t *testing.T, r *plan.Resolved, symbols *layout.Symbols, flags way) string {
	t.Helper()
	request, err := Ask(flags)
	require.NoError(t, err)
	j := NewJob(nil, voice.New(io.Discard, io.Discard), "plan.toml", request)
	j.Plan, j.symbols = r, symbols
	j.set, _ = settingsOf(r, request)
	s := cardSheets(j)
	if s == nil {
		return ""
	}
	if s.Doc, _, err = s.lay(); err != nil || s.Doc == nil {
		return ""
	}
	said := s.Said()
	assert.Contains(t, said, fmt.Sprintf(" on %s", voice.Count(len(s.Doc.Pages), "page", "pages")))
	return said
}

// A refusal names the size under [card] only where that counts: not beside --size, nor
// where [stock] or a roll that is asked for has its own.
func TestRefusalsNameWhatCounts(t *testing.T) {
	r := plantest.Make(t, plantest.Shape{Slots: 12, NameLength: 10, Divisions: 5, WordLength: 6, Words: 2, Units: 2})
	help := func(flags way, size string, stock bool) string {
		request, err := Ask(flags)
		require.NoError(t, err)
		for name := range flags {
			require.Contains(t, request.Given, name)
		}
		some, p := *r, *r.Plan
		some.Plan = &p
		p.Card.Size = size
		if stock {
			p.Stock = plan.Stock{Width: 88.9, Height: 50.8, Columns: 2, Rows: 5, Left: 19, Top: 12}
		}
		set, found := settingsOf(&some, request)
		require.Empty(t, found)
		all := cards.Fits(&some, set.cards())
		require.NotEmpty(t, all, "%s", flags)
		return strings.Join(all[0].Help, "\n")
	}
	const counts = "under [card]"
	assert.Contains(t, help(way{}, "business", false), counts)
	assert.NotContains(t, help(way{"size": "business"}, "", false), counts)
	assert.NotContains(t, help(way{}, "business", true), counts)
	assert.NotContains(t, help(way{"roll": "40", "dpi": "300"}, "business", false), counts)
	assert.Contains(t, help(way{"roll": "40", "dpi": "300"}, "", false), "--roll ")
}
