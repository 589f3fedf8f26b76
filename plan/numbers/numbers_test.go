package numbers_test

import (
	"bytes"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"slotcard/plan"
	"slotcard/plan/numbers"
)

var positions = []*plan.Position{{Name: "Engine boss"}, {Name: "Firefighter"}, {Name: "=1+1"}}

// cards of units with so many seats of each position.
func cards(units map[string][]int, order []string) (out []*plan.Card) {
	list := &plan.List{Code: "J2MX"}
	for _, name := range order {
		u := &plan.Unit{Name: name}
		for p, count := range units[name] {
			for nth := 1; nth <= count; nth++ {
				out = append(out, &plan.Card{Number: len(out) + 1, Unit: u, Position: positions[p], Nth: nth, Of: count, List: list})
			}
		}
	}
	return out
}

func TestNumbersStay(t *testing.T) {
	old := cards(map[string][]int{"Engine 611": {1, 2}, "Engine 612": {1, 1}}, []string{"Engine 611", "Engine 612"})
	held := numbers.Assign(old, nil, numbers.All)

	now := cards(map[string][]int{"Crew 621": {0, 2}, "Engine 612": {1, 2}}, []string{"Crew 621", "Engine 612"})
	held = numbers.Assign(now, held, numbers.All)
	var said []int
	for _, c := range now {
		said = append(said, c.Number)
	}
	assert.Equal(t, []int{6, 7, 4, 5, 8}, said, "612 keeps 4 and 5, who is new goes on at the top, 1 to 3 are not used again")
	require.Len(t, held, 8)
	assert.Equal(t, numbers.Held{Number: 3, Unit: "Engine 611", Seat: "Firefighter (2)", Code: "J2MX"}, held[2])

	back := cards(map[string][]int{"Engine 611": {1}}, []string{"Engine 611"})
	numbers.Assign(back, held, numbers.None)
	assert.Equal(t, 1, back[0].Number, "a seat that comes back has its own number again")
}

// Over any row of rosters: a seat that stays keeps its number, no number has two
// seats, ever; and the file gives back what was written.
func TestNumbersOverManyPeriods(t *testing.T) {
	names := []string{"Engine 611", "Engine 612", "Crew 621", "=1+1", "'Quoted, unit'"}
	rapid.Check(t, func(t *rapid.T) {
		var held []numbers.Held
		owner, number := map[int]string{}, map[string]int{}
		for range rapid.IntRange(1, 6).Draw(t, "periods") {
			order := rapid.Permutation(names).Draw(t, "order")[:rapid.IntRange(0, len(names)).Draw(t, "units")]
			units := map[string][]int{}
			for _, u := range order {
				units[u] = rapid.SliceOfN(rapid.IntRange(0, 4), 3, 3).Draw(t, "seats")
			}
			now := cards(units, order)
			held = numbers.Assign(now, held, numbers.All)
			for _, c := range now {
				key := c.Unit.Name + "\t" + numbers.Seat(c)
				if was, ok := owner[c.Number]; ok {
					require.Equal(t, was, key, "card %d", c.Number)
				}
				if was, ok := number[key]; ok {
					require.Equal(t, was, c.Number, key)
				}
				owner[c.Number], number[key] = key, c.Number
			}
			var file bytes.Buffer
			require.NoError(t, numbers.Write(&file, held))
			again, err := numbers.Read(&file)
			require.NoError(t, err)
			require.Equal(t, len(held), len(again))
			for i := range held {
				require.Equal(t, held[i], again[i])
			}
		}
	})
}

func TestMergeHoldsToTheOwnFile(t *testing.T) {
	own := []numbers.Held{{Number: 1, Unit: "Engine 611", Seat: "Engine boss"}}
	before := []numbers.Held{
		{Number: 1, Unit: "Crew 621", Seat: "Crew boss"}, {Number: 2, Unit: "Engine 611", Seat: "Engine boss"},
		{Number: 3, Unit: "Crew 622", Seat: "Crew boss"},
	}
	assert.Equal(t, append(own, before[2]), numbers.Merge(own, before))
}

// What was printed leaves its code, and nothing else does.
func TestOnlyPrintedCardsLeaveACode(t *testing.T) {
	deck := cards(map[string][]int{"Engine 611": {1, 1}}, []string{"Engine 611"})
	held := numbers.Assign(deck, nil, func(c *plan.Card) bool { return c.Position == positions[0] })
	assert.Equal(t, []numbers.Held{{1, "Engine 611", "Engine boss", "J2MX"}, {2, "Engine 611", "Firefighter", ""}}, held)
}

func TestApart(t *testing.T) {
	own := []numbers.Held{{Number: 1, Unit: "Crew 621"}, {Number: 2, Unit: "Engine 611"}, {Number: 3, Unit: "Crew 622"}}
	before := []numbers.Held{{Number: 1, Unit: "Engine 611"}, {Number: 2, Unit: "Crew 629"}, {Number: 3, Unit: "Crew 622"}, {Number: 4, Unit: "Crew 623"}}
	moved, taken := numbers.Apart(own, before)
	assert.Equal(t, before[:1], moved)
	assert.Equal(t, before[:2], taken)
}

func TestReadSaysWhatIsWrong(t *testing.T) {
	for text, said := range map[string]string{
		"number,unit,seat,code\n1,A,B,C\n1,D,E,F\n": "line 3: card 1 stands on line 2 already: two people cannot hold one number",
		"1,A,B,C\n2,A,B,C\n":                        "line 2: B of A stands on line 1 already: a seat holds one number",
		"x,A,B,C\n":                                 `line 1: "x" is not a card number from 1 to 1000000`,
		"x,A,B,C\n1,\xe4,B,C\n":                     "line 1: \"x\" is not a card number from 1 to 1000000\nline 2: \"\\xe4\" is not UTF-8: save the file as CSV in UTF-8",
		"0,A,B,C\n":                                 `line 1: "0" is not a card number from 1 to 1000000`,
		"1,A,B\n":                                   "line 1: a row is number,unit,seat,code, with commas between them",
		"1,A\"x,B,C\n":                              "line 1: a quotation mark stands where none can: delete it, or double it within quotation marks",
	} {
		_, err := numbers.Read(strings.NewReader(text))
		assert.EqualError(t, err, said, text)
	}
	held, err := numbers.Read(strings.NewReader("\ufeffnumber,unit,seat,code\r\n7,Engine 611,Engine boss,J2MX\r\n"))
	require.NoError(t, err, "as a spreadsheet saves it")
	assert.Equal(t, []numbers.Held{{7, "Engine 611", "Engine boss", "J2MX"}}, held)
}

func FuzzRead(f *testing.F) {
	f.Add([]byte("number,unit,seat,code\n1,Engine 611,Engine boss,J2MX\n"))
	f.Fuzz(func(t *testing.T, data []byte) {
		held, err := numbers.Read(bytes.NewReader(data))
		if err != nil {
			return
		}
		var file bytes.Buffer
		require.NoError(t, numbers.Write(&file, held))
	})
}

// A file that Write wrote reads as CSV in another program's reader: the cells
// that a spreadsheet would run begin with an apostrophe (common practice).
func TestNoFormula(t *testing.T) {
	var file bytes.Buffer
	require.NoError(t, numbers.Write(&file, []numbers.Held{{1, "=1+1", "@x", "J2MX"}}))
	assert.Equal(t, "number,unit,seat,code\n1,'=1+1,'@x,J2MX\n", file.String())
}
