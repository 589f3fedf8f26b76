package suggest

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"slotcard/plan/radio"
	"slotcard/plan/spectrum"
)

// carrier is a direct narrow channel.
func carrier(hz radio.Hertz, use radio.Use) spectrum.Channel {
	return spectrum.Channel{Rx: hz, Tx: hz, Use: use}
}

// drawProblem draws a small problem in a narrow band, so that there are products
// and overlaps.
func drawProblem(t *rapid.T) *problem {
	raster := rapid.SliceOfNDistinct(rapid.IntRange(0, 40), 4, 10, rapid.ID[int]).Draw(t, "raster")
	hz := func(i int) radio.Hertz { return 154_000_000 + 7_500*radio.Hertz(raster[i]) }
	p := new(problem)
	fixed := rapid.IntRange(1, len(raster)-3).Draw(t, "fixed")
	uses := []radio.Use{radio.Command, radio.Tactical, radio.Guard}
	for i := range fixed {
		c := carrier(hz(i), uses[i%len(uses)])
		if i == 0 {
			c.Tx += 600_000
		}
		p.base = append(p.base, c)
	}
	for i := fixed; i < len(raster); i++ {
		p.offers = append(p.offers, offer{air: carrier(hz(i), radio.Tactical), minor: rapid.IntRange(0, 2).Draw(t, "minor")})
	}
	if fixed > 2 && rapid.Bool().Draw(t, "spare") {
		p.offers = slices.Insert(p.offers, 0, offer{air: p.base[1], inBase: true})
	}
	places := rapid.IntRange(1, 4).Draw(t, "places")
	for i := range places {
		fits := make([]bool, len(p.offers))
		for o := range fits {
			fits[o] = rapid.IntRange(0, 5).Draw(t, "fits") > 0
		}
		p.fits = append(p.fits, fits)
		p.beside = append(p.beside, make([]bool, places))
		for j := range i {
			near := rapid.Bool().Draw(t, "beside")
			p.beside[i][j], p.beside[j][i] = near, near
		}
	}
	return p
}

// weigh is the cost of a choice, counted afresh from the list that results.
func weigh(p *problem, at []int) (products, minor int, ok bool) {
	list := slices.Clone(p.base)
	for i, o := range at {
		if o < 0 {
			continue
		}
		if !p.fits[i][o] {
			return 0, 0, false
		}
		minor += p.offers[o].minor
		if !p.offers[o].inBase {
			list = append(list, p.offers[o].air)
		}
		for j, other := range at[:i] {
			if other == o {
				return 0, 0, false
			}
			if other >= 0 && spectrum.Clash(p.offers[o].air, p.offers[other].air) > 0 {
				if minor++; p.beside[i][j] {
					return 0, 0, false
				}
			}
		}
	}
	return len(spectrum.ThirdOrder(list)), minor, true
}

func serves(at []int) int {
	return len(at) - len(slices.DeleteFunc(slices.Clone(at), func(o int) bool { return o >= 0 }))
}

func sorted(at []int) []int {
	set := slices.DeleteFunc(slices.Clone(at), func(o int) bool { return o < 0 })
	slices.Sort(set)
	return set
}

// TestExactAgainstTryingAll compares the search with every choice there is.
func TestExactAgainstTryingAll(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawProblem(t)
		var best []int
		var products, minor int
		at := make([]int, len(p.fits))
		var try func(i int)
		try = func(i int) {
			if i < len(at) {
				for at[i] = -1; at[i] < len(p.offers); at[i]++ {
					try(i + 1)
				}
				return
			}
			h, m, ok := weigh(p, at)
			if !ok {
				return
			}
			better := best == nil
			if !better {
				switch {
				case serves(at) != serves(best):
					better = serves(at) > serves(best)
				case h != products:
					better = h < products
				case m != minor:
					better = m < minor
				default:
					better = slices.Compare(sorted(at), sorted(best)) < 0
				}
			}
			if better {
				best, products, minor = slices.Clone(at), h, m
			}
		}
		try(0)

		got := choose(p, patient)
		require.True(t, got.proven)
		h, m, ok := weigh(p, got.chosen)
		require.True(t, ok, "%v", got.chosen)
		assert.Equal(t, serves(best), serves(got.chosen))
		assert.Equal(t, [2]int{products, minor}, [2]int{h, m}, "%v, not %v", got.chosen, best)
		assert.Equal(t, sorted(best), sorted(got.chosen), "the first of equal ones")
		assert.Equal(t, got, choose(p, patient), "the same each time")

		plain := choose(p, 0)
		assert.False(t, plain.proven)
		gh, _, ok := weigh(p, plain.chosen)
		assert.True(t, ok)
		if serves(plain.chosen) == serves(best) {
			assert.GreaterOrEqual(t, gh, h)
		}
	})
}

// The premise of the bound: what an offer adds never falls when others are added.
func TestAdditionsNeverFall(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawProblem(t)
		s := newSearch(p)
		start := slices.Clone(s.adds)
		before := slices.Clone(s.adds)
		for _, o := range rapid.Permutation(nowhereElse(len(p.offers))).Draw(t, "order") {
			s.take(o)
			for i, a := range s.adds {
				if !s.chosen[i] {
					assert.GreaterOrEqual(t, a, before[i])
				}
			}
			before = slices.Clone(s.adds)
		}
		for range p.offers {
			s.drop()
		}
		assert.Equal(t, start, s.adds)
		assert.Zero(t, s.cost)
	})
}

func nowhereElse(n int) []int {
	all := make([]int, n)
	for i := range all {
		all[i] = i
	}
	return all
}

// large is a problem with many places in a ring and many offers spread over the
// band.
func large(seed uint64, places, offers int) *problem {
	rng := rand.New(rand.NewPCG(seed, 3))
	p := &problem{base: []spectrum.Channel{
		{Rx: 152_412_500, Tx: 157_672_500, Use: radio.Command}, carrier(151_857_500, radio.AirToGround), carrier(168_625_000, radio.Guard),
	}}
	for _, i := range rng.Perm(1500)[:offers] {
		p.offers = append(p.offers, offer{air: carrier(150_000_000+7_500*radio.Hertz(i), radio.Tactical)})
	}
	for i := range places {
		fits := make([]bool, offers)
		for o := range fits {
			fits[o] = true
		}
		p.fits = append(p.fits, fits)
		p.beside = append(p.beside, make([]bool, places))
		p.beside[i][(i+1)%places], p.beside[i][(i+places-1)%places] = true, true
	}
	return p
}

// crowded is a large problem in which third-order products cannot be avoided.
func crowded(places, offers int) *problem {
	p := large(1, places, offers)
	for i, slot := range rand.New(rand.NewPCG(2, 3)).Perm(100)[:offers] {
		p.offers[i].air = carrier(154_000_000+7_500*radio.Hertz(slot), radio.Tactical)
	}
	return p
}

// A search that gives up says so, and what it then proposes is no worse than one
// division after the other.
func TestBudget(t *testing.T) {
	p := crowded(12, 30)
	greedy := choose(p, 0)
	g, _, ok := weigh(p, greedy.chosen)
	require.True(t, ok)
	for _, budget := range []int{1, 10_000, 1_000_000} {
		got := choose(p, budget)
		assert.False(t, got.proven)
		h, _, ok := weigh(p, got.chosen)
		require.True(t, ok)
		assert.LessOrEqual(t, h, g)
		assert.Equal(t, got, choose(p, budget))
	}
	few := crowded(12, 14)
	got := choose(few, patient)
	assert.True(t, got.proven)
	h, _, _ := weigh(few, got.chosen)
	assert.Positive(t, h, "they cannot be avoided")
}

func BenchmarkChoose(b *testing.B) {
	for _, places := range []int{2, 4, 8, 12, 16} {
		for _, offers := range []int{20, 60} {
			b.Run(fmt.Sprintf("%d-of-%d", places, offers), func(b *testing.B) {
				p := crowded(places, offers)
				for b.Loop() {
					a := choose(p, patient)
					h, _, _ := weigh(p, a.chosen)
					b.ReportMetric(float64(h), "products")
					proven := 0.0
					if a.proven {
						proven = 1
					}
					b.ReportMetric(proven, "proven")
				}
			})
		}
	}
}
