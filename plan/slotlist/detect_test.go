package slotlist_test

import (
	"flag"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"slotcard/plan"
	"slotcard/plan/radio"
	"slotcard/plan/slotlist"
)

// pairs is how many pairs of lists are compared. A million, by -pairs 1000000,
// take some seconds and share one code.
var pairs = flag.Int("pairs", 250_000, "pairs of random lists whose codes are compared")

// Every change of one character in the slot lines and the code of every example
// is refused by the parser or does not fit the code; one in the two head lines
// is refused, or shows as another incident, period or load.
func TestEverySingleChangeInTheExamplesShows(t *testing.T) {
	plans, err := filepath.Glob("../../examples/*/p*.toml")
	require.NoError(t, err)
	require.GreaterOrEqual(t, len(plans), 3)
	seen := map[string]bool{}
	for _, name := range plans {
		p, l, found, err := plan.Read(name, plan.Options{ReadFile: os.ReadFile})
		require.NoError(t, err)
		require.False(t, found.HasErrors(), name)
		r, found := plan.Resolve(p, l)
		require.False(t, found.HasErrors(), name)
		for _, list := range r.Lists {
			if !seen[list.Text] {
				seen[list.Text] = true
				everyChange(t, list.Text)
			}
		}
	}
}

func everyChange(t *testing.T, text string) {
	want, _, err := slotlist.Parse(text)
	require.NoError(t, err)
	headEnd := strings.Index(text, "\n1 ") + 1
	require.Positive(t, headEnd)
	changed := []byte(text)
	for i := range len(text) - 1 {
		for c := byte(0); c < 0x80; c++ {
			if c == text[i] {
				continue
			}
			changed[i] = c
			got, _, err := slotlist.Parse(string(changed))
			if err != nil {
				continue
			}
			if i >= headEnd {
				t.Fatalf("character %d of %q changed to %q is not noticed", i, text, c)
			}
			if got.Incident == want.Incident && got.Period == want.Period && got.Edition == want.Edition &&
				got.Revision == want.Revision && got.Exercise == want.Exercise &&
				got.From.Equal(want.From) && got.To.Equal(want.To) {
				t.Fatalf("character %d of %q changed to %q does not show", i, text, c)
			}
		}
		changed[i] = text[i]
	}
}

// random is a list of one to three slots.
func random(rng *rand.Rand) slotlist.List {
	const letters = "ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789"
	lines := make([]slotlist.Line, 1+rng.IntN(3))
	for i := range lines {
		name := make([]byte, 6)
		for k := range name {
			name[k] = letters[rng.IntN(len(letters))]
		}
		rx := radio.Hertz(136_000_000 + 2500*rng.IntN(15_200))
		lines[i] = slotlist.Line{Name: string(name), Use: radio.Use(1 + rng.IntN(7)), Rx: rx, Tx: rx, TxTone: radio.Tone(670 + rng.IntN(1871))}
	}
	return slotlist.List{Lines: lines}
}

// Two different lists share a code once in 2^20 pairs. Of n independent pairs
// the number that does is binomial, C(n,k) p^k (1-p)^(n-k) with p = 2^-20: about
// one is expected of a million. The bound is the least that chance passes less
// than once in a million runs of a sound code; seeds are fixed, so that a run
// that passes passes always.
func TestRandomListsCollideNoMoreThanChance(t *testing.T) {
	rng := rand.New(rand.NewPCG(20, 48))
	n := *pairs
	if testing.Short() {
		n = min(n, 100_000)
	}
	shared := 0
	var digits [4][128]int
	for range n {
		a, b := random(rng), random(rng)
		code := a.Code()
		for at := range digits {
			digits[at][code[at]]++
		}
		if code == b.Code() && a.Canonical() != b.Canonical() {
			shared++
		}
	}
	p := 1 / float64(1<<20)
	term := math.Pow(1-p, float64(n)) // of k = 0
	tail, bound := 1-term, 0
	for tail > 1e-6 {
		term *= float64(n-bound) / float64(bound+1) * p / (1 - p)
		bound++
		tail -= term
	}
	t.Logf("%d of %d pairs share a code; %.2f are expected, %d allowed", shared, n, float64(n)*p, bound)
	assert.LessOrEqual(t, shared, bound)

	// A digit that is not used evenly would show here long before it shows in
	// pairs: chi squared of 31 degrees of freedom passes 90.0 once in about seven
	// million (computed by the Wilson-Hilferty approximation).
	for at, counted := range digits {
		chi, used := 0.0, 0
		for _, c := range counted {
			if c > 0 {
				used++
				d := float64(c) - float64(n)/32
				chi += d * d / (float64(n) / 32)
			}
		}
		assert.Equal(t, 32, used, "digit %d", at)
		assert.Less(t, chi, 90.0, "digit %d", at)
	}
}
