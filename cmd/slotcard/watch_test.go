package main

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

const firePlan = "testdata/fire/plan.toml"

const fireList = `SLOTS 1 THIMBLE GULCH/2 EXERCISE
2027-08-14T06:00/2027-08-14T18:00 LOAD 2027
1 CMD QB CMD 1 152.4125/157.6725 103.5/146.2
2 TAC:A VFIRE21 154.2800 -/156.7
3 TAC:Z VFIRE23 154.2950 -/156.7
4 A/G QB AG 1 151.8575 -/-
5 GUARD AIRGUARD 168.6250 -/110.9
=J2MX
`

// chanceList is another list with the read-back code of fireList: frequencies of two
// slots were tried until one had it, the 994,249th.
const chanceList = `SLOTS 1 THIMBLE GULCH/2 EXERCISE
2027-08-14T06:00/2027-08-14T18:00 LOAD 2027
1 CMD QB CMD 1 152.4125/157.6725 103.5/146.2
2 TAC:A VFIRE21 139.55625 -/156.7
3 TAC:Z VFIRE23 141.10625 -/156.7
4 A/G QB AG 1 151.8575 -/-
5 GUARD AIRGUARD 168.6250 -/110.9
=J2MX
`

// What is in a list decides, not its code.
func TestAnotherListWithTheSameCode(t *testing.T) {
	for _, args := range [][]string{{"verify", firePlan}, {"verify", firePlan, "--watch"}} {
		var stdout, stderr bytes.Buffer
		assert.Equal(t, exitFindings, run(args, strings.NewReader(chanceList), &stdout, &stderr), stderr.String())
		if len(args) == 2 {
			assert.Contains(t, stdout.String(), "differs: another list with the same code, by chance: J2 MX\n")
		} else {
			assert.Contains(t, stdout.String(), "DIFFERENT  J2 MX  ")
		}
		assert.Contains(t, stdout.String(), "139.55625")
	}
}

// The real program is killed again and again while lists come in. Whatever it
// had answered is in the journal, and the next run goes on behind it.
func TestKilledWhileWatching(t *testing.T) {
	journal := filepath.Join(t.TempDir(), "checkin.jsonl")
	rng := rand.New(rand.NewPCG(1, 2))
	kept, torn := 0, 0
	for round := range 12 {
		cmd := exec.Command("slotcard", "verify", firePlan, "--watch", "--journal", journal)
		stdin, err := cmd.StdinPipe()
		require.NoError(t, err)
		stdout, err := cmd.StdoutPipe()
		require.NoError(t, err)
		var stderr bytes.Buffer
		cmd.Stderr = &stderr
		require.NoError(t, cmd.Start())
		go func() {
			for card := 1; ; card = card%7 + 1 {
				if _, err := fmt.Fprintf(stdin, "card %d\n%s", card, fireList); err != nil {
					return
				}
			}
		}()
		var answered atomic.Int64
		read := make(chan struct{})
		go func() {
			defer close(read)
			for lines := bufio.NewScanner(stdout); lines.Scan(); {
				if strings.HasPrefix(lines.Text(), "SAME") {
					answered.Add(1)
				}
			}
		}()
		least := int64(rng.IntN(20)) // some are killed before the first
		assert.Eventually(t, func() bool { return answered.Load() >= least }, time.Minute, time.Millisecond)
		time.Sleep(time.Duration(rng.IntN(3000)) * time.Microsecond)
		require.NoError(t, cmd.Process.Kill())
		<-read
		_ = cmd.Wait() // killed

		data, err := os.ReadFile(journal)
		if os.IsNotExist(err) {
			require.Zero(t, answered.Load())
			continue
		}
		require.NoError(t, err)
		whole := 0
		for line := range bytes.Lines(data) {
			var c struct{ Answer int }
			if json.Unmarshal(line, &c) == nil && c.Answer > 0 {
				whole++
				require.Equal(t, whole, c.Answer, "round %d", round)
			}
		}
		require.GreaterOrEqual(t, whole-kept, int(answered.Load()), "round %d: every answer that was shown is kept", round)
		require.LessOrEqual(t, whole-kept, int(answered.Load())+1, "round %d: and at most the one that was about to be shown", round)
		if round%3 == 2 { // the power fails in the middle of a line, at any place of it
			line := fmt.Sprintf(`{"answer":%d,"card":3,"unit":"Engine 611","position":"Engine boss","result":"same","code":"J2MX"}`, whole+1)
			f, err := os.OpenFile(journal, os.O_APPEND|os.O_WRONLY, 0)
			require.NoError(t, err)
			_, err = f.WriteString(line[:1+rng.IntN(len(line)-1)])
			require.NoError(t, err)
			require.NoError(t, f.Close())
			torn++
		}
		kept = whole
	}
	require.Greater(t, kept, 50)

	var stdout, stderr bytes.Buffer
	require.Equal(t, exitFine, run([]string{"verify", firePlan, "--watch", "--journal", journal}, strings.NewReader(""), &stdout, &stderr), stderr.String())
	assert.Contains(t, stderr.String(), fmt.Sprintf("continued with %d answers", kept))
	assert.Contains(t, stderr.String(), fmt.Sprintf("%d lines cut off", torn))
	assert.Contains(t, stdout.String(), "7 of 7 cards seen: 7 same\neverybody has been seen\n")
}

// told is a writer that tells when something was written.
type told chan string

func (s told) Write(p []byte) (int, error) {
	s <- string(p)
	return len(p), nil
}

// Ctrl-C at the table still says who is missing.
func TestWatchInterrupted(t *testing.T) {
	in, out := io.Pipe()
	defer out.Close()
	ctx, cancel := context.WithCancel(t.Context())
	defer cancel()
	said := make(told, 10)
	status := make(chan int)
	go func() { status <- runContext(ctx, []string{"verify", firePlan, "--watch"}, in, said, io.Discard) }()
	_, err := io.WriteString(out, "card 7\n"+fireList)
	require.NoError(t, err)
	assert.Equal(t, "SAME  J2 MX  card 7, Engine 612, Firefighter 2 of 2 (1 of 3 seen)\n", <-said)
	cancel()
	assert.Equal(t, exitFine, <-status)
	end := <-said
	assert.Contains(t, end, "1 of 7 cards seen: same\n")
	assert.Contains(t, end, "not seen: Engine 611, all of 4: ")
}
