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
	"slotcard/plan/rules"
)

const fireList = `SLOTS 1 THIMBLE GULCH/2
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

// A journal cut at any byte is taken up again, with all lines before the cut.
func TestJournalCutAnywhere(t *testing.T) {
	dir := t.TempDir()
	name := filepath.Join(dir, "whole")
	in := "card 1\n" + fireList + fireList
	same, err := Run(t.Context(), quiet, strings.NewReader(in), fire(t), name)
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
	assert.ErrorContains(t, two.add(answer{Answer: 1, Result: report.Same}), "is being written by another program as well")
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
	same, err := Run(t.Context(), voice.New(&stdout, io.Discard), strings.NewReader(in), fire(t), "")
	require.NoError(t, err)
	assert.True(t, same)
	assert.Contains(t, stdout.String(), "DAMAGED")
	assert.Contains(t, stdout.String(), "\nSAME  J2 MX")
}
