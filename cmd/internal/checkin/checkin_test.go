package checkin

import (
	"bytes"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"slotcard/cmd/internal/report"
	"slotcard/cmd/internal/voice"
	"slotcard/plan"
	"slotcard/plan/numbers"
	"slotcard/plan/rules"
)

const fireList = `SLOTS 1 THIMBLE GULCH/2 EXERCISE
2027-08-14T06:00/2027-08-14T18:00 LOAD 2027
1 CMD QB CMD 1 152.4125/157.6725 103.5/146.2
2 TAC:A VFIRE21 154.2800 -/156.7
3 TAC:Z VFIRE23 154.2950 -/156.7
4 A/G QB AG 1 151.8575 -/-
5 GUARD AIRGUARD 168.6250 -/110.9
=J2MX
`

var quiet = voice.New(io.Discard, io.Discard)

// fire is the plan of the command's scripts.
func fire(t *testing.T) *plan.Resolved {
	r, found, err := rules.Open(filepath.Join("..", "..", "slotcard", "testdata", "fire", "plan.toml"), plan.Options{ReadFile: os.ReadFile})
	require.NoError(t, err)
	require.False(t, found.HasErrors())
	return r
}

func table(t *testing.T) Table {
	r := fire(t)
	return Table{Plan: r, Held: numbers.Assign(r.Cards, nil, numbers.All)}
}

// A journal cut at any byte is taken up again, with all lines before the cut.
func TestJournalCutAnywhere(t *testing.T) {
	dir := t.TempDir()
	name := filepath.Join(dir, "whole")
	in := "card 1\n" + fireList + fireList
	same, err := Run(t.Context(), quiet, strings.NewReader(in), table(t), name)
	require.NoError(t, err)
	require.True(t, same)
	data, err := os.ReadFile(name)
	require.NoError(t, err)
	head := bytes.IndexByte(data, '\n') + 1
	plan := fire(t)

	for cut := range len(data) + 1 {
		atEnd := cut == len(data) || data[cut] == '\n' || data[max(0, cut-1)] == '\n'
		if cut%7 != 0 && !atEnd {
			continue // each is written to the disk
		}
		name := filepath.Join(dir, "cut")
		require.NoError(t, os.WriteFile(name, data[:cut], 0o600))
		want := 0
		if cut > head {
			want = bytes.Count(data[head:cut], []byte("\n"))
			if cut < len(data) && data[cut] == '\n' {
				want++ // the line is there, but for its end
			}
		}
		for range 2 {
			j, had, _, err := openJournal(name, headOf(plan))
			require.NoError(t, err, "cut at %d", cut)
			require.Len(t, had, want, "cut at %d", cut)
			want++
			require.NoError(t, j.add(answer{Answer: want, Result: report.Same}))
			j.close()
		}
		after, err := os.ReadFile(name)
		require.NoError(t, err)
		require.True(t, bytes.HasPrefix(after, data[:cut]), "nothing that stood there is touched")
	}
}

func TestJournalOfTwoPrograms(t *testing.T) {
	plan := fire(t)
	name := filepath.Join(t.TempDir(), "j")
	one, _, _, err := openJournal(name, headOf(plan))
	require.NoError(t, err)
	defer one.close()
	two, _, _, err := openJournal(name, headOf(plan))
	require.NoError(t, err)
	defer two.close()
	require.NoError(t, one.add(answer{Answer: 1, Result: report.Same}))
	assert.ErrorContains(t, two.add(answer{Answer: 1, Result: report.Same}), "is in use by another program")
}

// A keyboard scanner ends lines as its maker pleased; endless lines and lists
// are bounded.
func TestLinesOfAScanner(t *testing.T) {
	read := func(s string) (all []string) {
		lines, fault := readLines(strings.NewReader(s))
		for l := range lines {
			if l != "" {
				all = append(all, l)
			}
		}
		require.NoError(t, fault())
		return all
	}
	for _, end := range []string{"\n", "\r", "\r\n", "\n\n"} {
		assert.Equal(t, []string{"a", "b c", "d"}, read("a"+end+"b c"+end+"d"))
	}
	assert.Len(t, read(strings.Repeat("x", 3*maxLine))[0], maxLine)

	var stdout bytes.Buffer
	in := "SLOTS 1 X/1\n" + strings.Repeat("1 CMD\n", 3*maxLines) + fireList
	same, err := Run(t.Context(), voice.New(&stdout, io.Discard), strings.NewReader(in), table(t), "")
	require.NoError(t, err)
	assert.True(t, same)
	assert.Contains(t, stdout.String(), "DAMAGED")
	assert.Contains(t, stdout.String(), "\nSAME  J2 MX")
}

// answers runs a table and gives what it says to whoever sits there.
func answers(t *testing.T, at Table, in string) string {
	var stderr bytes.Buffer
	_, err := Run(t.Context(), voice.New(io.Discard, &stderr), strings.NewReader(in), at, "")
	require.NoError(t, err)
	return stderr.String()
}

// A number that two seats had answers for neither, until the unit is said.
func TestNumberOfTwoSeats(t *testing.T) {
	at := table(t)
	at.Held = append(at.Held, numbers.Held{Number: 8, Unit: "Crew 621", Seat: "Crew boss"})
	at.Others = []Others{{"period-1.cards.csv", []numbers.Held{
		{Number: 1, Unit: "Engine 611", Seat: "Engine boss"},     // as now
		{Number: 2, Unit: "Engine 612", Seat: "Engine boss"},     // now card 5
		{Number: 3, Unit: "Crew 622", Seat: "Crew boss"},         // gone
		{Number: 4, Unit: "Engine 611", Seat: "Firefighter (2)"}, // of the same unit
	}}}
	for in, want := range map[string]string{
		"card 1":                             "card 1: Engine 611, Engine boss; scan its list",
		"card 2":                             "card 2 was given to Engine 611, Firefighter and to Engine 612, Engine boss (by period-1.cards.csv): the next list counts for nobody; type what stands on the card, such as: card 2 Engine 611",
		"card 2 engine 611":                  "card 2: Engine 611, Firefighter 1 of 3; scan its list",
		"card 2 Engine 612":                  "card 2: Engine 612, Engine boss, whose number is 5 in this plan; scan its list",
		"card 3 Crew 622":                    "card 3 is Crew 622, Crew boss, a seat that this plan does not have; the next list counts for nobody",
		"card 4":                             "such as: card 4 Engine 611, Firefighter (3)",
		"card 4 Engine 611, Firefighter (3)": "card 4: Engine 611, Firefighter 3 of 3; scan its list",
		"card 8":                             "card 8 is Crew 621, Crew boss, a seat that this plan does not have; the next list counts for nobody",
		"card 9":                             "no card 9: the plan has 7 cards; the next list counts for nobody",
		"card 1 Crew 9":                      `no card 1 of "Crew 9"; the next list counts for nobody`,
	} {
		assert.Contains(t, answers(t, at, in+"\n"), want+"\n", in)
	}
}

func TestRuns(t *testing.T) {
	assert.Equal(t, "card 2, 3, 5, 53 to 68", runs(append([]int{2, 3, 5}, 53, 54, 55, 56, 57, 58, 59, 60, 61, 62, 63, 64, 65, 66, 67, 68)))
}
