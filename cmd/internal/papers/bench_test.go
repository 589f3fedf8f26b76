package papers

import (
	"fmt"
	"io"
	"os"
	"os/exec"
	"slices"
	"strconv"
	"strings"
	"testing"

	"slotcard/cmd/internal/voice"
	"slotcard/plan"
	"slotcard/plan/plantest"
)

// deckOf is a plan of so many cards with so many lists of 15 slots.
func deckOf(t testing.TB, cards, lists int) *plan.Resolved {
	s := plantest.Shape{
		Seed: 1, Slots: 14, NameLength: 8, Divisions: lists, WordLength: 6, Words: 2,
		Units: cards, Seats: 1, PerSeat: 1, Also: 2, Exercise: true, DistinctList: true, Own: true,
	}
	if lists < cards {
		s.Units, s.Seats, s.PerSeat = cards/10, 2, 5
	}
	return plantest.Make(t, s)
}

// decks are the measures of the benchmarks, cards and lists.
func decks() (of [][2]int) {
	for _, cards := range []int{10, 100, 1_000, 10_000} {
		of = append(of, [2]int{cards, 5}, [2]int{cards, cards})
	}
	return of
}

// sheetsOf are the named documents of a plan, or all, with the usual settings.
func sheetsOf(r *plan.Resolved, names ...string) (sheets []*Sheet) {
	request, err := Ask(nil)
	if err != nil {
		panic(err)
	}
	j := NewJob(nil, voice.New(io.Discard, io.Discard), "plan.toml", request)
	j.Plan = r
	j.set, _ = settingsOf(r, request)
	for _, p := range request.Papers {
		if p.Load || len(names) > 0 && !slices.Contains(names, p.Name) {
			continue
		}
		if s := p.sheet(j); s != nil {
			sheets = append(sheets, s)
		}
	}
	return sheets
}

// printed makes the named documents of a plan and tells how large they are.
func printed(t testing.TB, r *plan.Resolved, names ...string) (bytes int) {
	sheets := sheetsOf(r, names...)
	work := func(do func(*Sheet)) {
		if err := inParallel(t.Context(), sheets, do); err != nil {
			t.Fatal(err)
		}
	}
	work(func(s *Sheet) { s.Doc, s.Findings, s.err = s.lay() })
	for _, s := range sheets {
		if s.err != nil || s.Findings.HasErrors() {
			t.Fatal(s.err, s.Findings)
		}
	}
	work(func(s *Sheet) {
		s.Outs, s.err = s.ink(r.Plan.Incident.PreparedAt, nil, false, voice.New(io.Discard, io.Discard))
	})
	for _, s := range sheets {
		if s.err != nil {
			t.Fatal(s.err)
		}
		for _, o := range s.Outs {
			bytes += len(o.Data)
		}
	}
	return bytes
}

// From the resolved plan to the bytes of cards.pdf.
func BenchmarkPrint(b *testing.B) {
	for _, d := range decks() {
		b.Run(fmt.Sprintf("cards=%d/lists=%d", d[0], d[1]), func(b *testing.B) {
			r := deckOf(b, d[0], d[1])
			b.ReportAllocs()
			size := 0
			for b.Loop() {
				size = printed(b, r, "cards")
			}
			cards := float64(d[0])
			b.ReportMetric(float64(size)/cards, "B/card")
			b.ReportMetric(float64(b.Elapsed().Microseconds())/float64(b.N)/cards, "µs/card")
			b.ReportMetric(peak(b, d[0], d[1], "cards"), "peak-MB")
		})
	}
}

// BenchmarkGoal is the half of the goals that needs plans of any size.
func BenchmarkGoal(b *testing.B) {
	for _, g := range []struct {
		what         string
		cards, lists int
		papers       []string
	}{
		{"200 lists, cards and wall", 200, 200, []string{"cards", "wall"}},
		{"1000 cards, 5 lists, all papers", 1_000, 5, []string{"cards", "wall", "handout"}},
		{"10000 cards, 5 lists", 10_000, 5, []string{"cards"}},
	} {
		b.Run(g.what, func(b *testing.B) {
			r := deckOf(b, g.cards, g.lists)
			b.ReportAllocs()
			for b.Loop() {
				printed(b, r, g.papers...)
			}
			if len(g.papers) == 1 {
				b.ReportMetric(peak(b, g.cards, g.lists, g.papers[0]), "peak-MB")
			}
		})
	}
}

// peakEnv asks a copy of the test program to print a deck: cards, lists, documents.
const peakEnv = "SLOTCARD_TEST_PEAK"

// peak is the most memory that a process took that makes and prints a deck, in
// megabytes, the plan included.
func peak(b *testing.B, cards, lists int, document string) float64 {
	cmd := exec.Command(os.Args[0], "-test.run=^TestPeak$", "-test.v")
	cmd.Env = append(os.Environ(), fmt.Sprintf("%s=%d %d %s", peakEnv, cards, lists, document))
	out, err := cmd.CombinedOutput()
	_, after, ok := strings.Cut(string(out), "peak kB: ")
	if err != nil || !ok {
		b.Logf("no peak: %v\n%s", err, out)
		return 0
	}
	kb, err := strconv.Atoi(strings.Fields(after)[0])
	if err != nil {
		b.Fatal(err)
	}
	return float64(kb) / 1000
}

// TestPeak does nothing but for [peak].
func TestPeak(t *testing.T) {
	var cards, lists int
	var document string
	if n, _ := fmt.Sscan(os.Getenv(peakEnv), &cards, &lists, &document); n < 3 {
		t.Skip("only for benchmarks, in a process of its own")
	}
	r := deckOf(t, cards, lists)
	printed(t, r, document)
	status, err := os.ReadFile("/proc/self/status")
	if err != nil {
		t.Skip(err)
	}
	for line := range strings.Lines(string(status)) {
		if kb, ok := strings.CutPrefix(line, "VmHWM:"); ok {
			fmt.Println("peak kB:", strings.Fields(kb)[0])
		}
	}
}
