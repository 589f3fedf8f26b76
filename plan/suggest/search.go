package suggest

import (
	"math"
	"slices"

	"slotcard/plan/spectrum"
)

// problem is the choice without its words: places that each need a channel, and
// channels that each may be given to one of them.
type problem struct {
	base   []spectrum.Channel // stay in the list whatever is chosen
	offers []offer            // in the order in which equal ones are preferred
	fits   [][]bool           // place, offer
	beside [][]bool           // place, place: their channels must not overlap
}

// offer is a channel that may be chosen. No two have one frequency, nor has one
// the frequency of anything in the base.
type offer struct {
	air    spectrum.Channel
	inBase bool // stands in the list already: choosing it adds nothing
	minor  int  // what else speaks against it, after third-order products
}

// answer is what was chosen.
type answer struct {
	chosen []int // offer of each place; -1: none
	proven bool  // none serves more places, and none that serves as many costs less
}

// major is the weight of a third-order product: more than all minor reasons.
const major = 1 << 20

// patient is how many terms a search may look at: a few seconds at most.
const patient = 40_000_000

// term is a cost that comes with several offers together.
type term struct {
	offers  []int // ascending
	cost    int
	missing int // how many of them are not chosen
}

// search is a branch and bound over sets of offers. The cost of a set is a sum
// of terms, each of which counts when all its offers are chosen: it never falls
// when an offer is added, and what an offer adds never falls either. So what is
// still to be chosen adds at least the sum of the least additions.
//
// Which place gets which offer does not change the cost: sets are searched, in
// the order of the offers, and each need only be shared out somehow.
type search struct {
	*problem
	terms  [][]*term // by offer
	adds   []int     // what each offer would add to the cost
	cost   int
	taken  []int  // offers, in the order in which they were chosen
	chosen []bool // the same, by offer
	clash  [][]bool
	looked int // at terms
	budget int
	best   int
	found  []int // the best set; nil: none yet
	proven bool
	done   bool
}

// choose gives as many places as possible a channel, with the fewest third-order
// products, then the fewest minor reasons, then the first offers: exactly, unless
// the budget of terms looked at is used up. With none, one place after the other
// is given what then adds least.
func choose(p *problem, budget int) answer {
	s := newSearch(p)
	greedy := s.greedy()
	s.budget = budget
	if budget == 0 {
		return answer{greedy, false}
	}
	served, costs := s.costOf(greedy)
	places := 0
	for i := range p.fits {
		if slices.Contains(p.fits[i], true) {
			places++
		}
	}
	for k := min(places, len(p.offers)); k >= served && k > 0; k-- {
		s.best, s.found, s.done = math.MaxInt, nil, false
		if k == served {
			s.best = costs
		}
		s.descend(0, k)
		if s.found != nil {
			return answer{s.share(s.found), s.proven}
		}
		if !s.proven {
			break
		}
	}
	return answer{greedy, served == 0 && s.proven}
}

func newSearch(p *problem) *search {
	n := len(p.offers)
	s := &search{problem: p, terms: make([][]*term, n), adds: make([]int, n), chosen: make([]bool, n), proven: true, clash: make([][]bool, n)}
	air, of := slices.Clone(p.base), make([]int, len(p.base))
	for i := range of {
		of[i] = -1
	}
	for i, o := range p.offers {
		s.adds[i] = o.minor
		s.clash[i] = make([]bool, n)
		if !o.inBase {
			air, of = append(air, o.air), append(of, i)
		}
	}
	costs := map[[4]int]int{} // by the offers, from 1
	for _, h := range spectrum.ThirdOrder(air) {
		var key [4]int
		k := 0
		for _, c := range append(h.Transmitters, h.Victim) {
			if of[c] >= 0 {
				key[k] = of[c] + 1
				k++
			}
		}
		slices.Sort(key[:k])
		costs[key] += major
	}
	for j := range p.offers {
		for i := range j {
			if spectrum.Clash(p.offers[i].air, p.offers[j].air) > 0 {
				s.clash[i][j], s.clash[j][i] = true, true
				costs[[4]int{i + 1, j + 1}]++
			}
		}
	}
	for key, cost := range costs {
		t := &term{cost: cost}
		for _, o := range key {
			if o > 0 {
				t.offers = append(t.offers, o-1)
			}
		}
		t.missing = len(t.offers)
		switch t.missing {
		case 0:
		case 1:
			s.adds[t.offers[0]] += cost
		default:
			for _, o := range t.offers {
				s.terms[o] = append(s.terms[o], t)
			}
		}
	}
	return s
}

// take chooses an offer, and drop takes the last one back.
func (s *search) take(o int) {
	s.cost += s.adds[o]
	s.taken, s.chosen[o] = append(s.taken, o), true
	for _, t := range s.terms[o] {
		if t.missing--; t.missing == 1 {
			s.adds[s.lone(t)] += t.cost
		}
	}
}

func (s *search) drop() {
	o := s.taken[len(s.taken)-1]
	for _, t := range s.terms[o] {
		if t.missing == 1 {
			s.adds[s.lone(t)] -= t.cost
		}
		t.missing++
	}
	s.taken, s.chosen[o] = s.taken[:len(s.taken)-1], false
	s.cost -= s.adds[o]
}

// lone is the only offer of a term that is not chosen.
func (s *search) lone(t *term) int {
	for _, o := range t.offers {
		if !s.chosen[o] {
			return o
		}
	}
	panic("suggest: a term lacks nothing")
}

// least is the sum of the n least additions among the offers from the first on.
func (s *search) least(first, n int) int {
	var few [MostExact]int
	k := 0
	for _, a := range s.adds[first:] {
		if k == n && a >= few[k-1] {
			continue
		}
		if k < n {
			k++
		}
		i := k - 1
		for ; i > 0 && few[i-1] > a; i-- {
			few[i] = few[i-1]
		}
		few[i] = a
	}
	sum := 0
	for _, a := range few[:k] {
		sum += a
	}
	return sum
}

// worse tells that a set of this cost is of no use any more.
func (s *search) worse(cost int) bool { return cost > s.best || s.found != nil && cost == s.best }

// descend adds n more offers, from the first on.
func (s *search) descend(first, n int) {
	if n == 0 {
		s.best, s.found = s.cost, slices.Clone(s.taken)
		s.done = s.best == 0
		return
	}
	if s.worse(s.cost + s.least(first, n)) {
		return
	}
	for o := first; o <= len(s.offers)-n && !s.done; o++ {
		if s.worse(s.cost + s.adds[o]) {
			continue
		}
		if s.looked += len(s.offers) + len(s.terms[o]); s.looked > s.budget {
			s.proven, s.done = false, true
			return
		}
		s.take(o)
		if !s.worse(s.cost) && s.shareable() {
			s.descend(o+1, n-1)
		}
		s.drop()
	}
}

// patience bounds how often sharing out one set goes back.
const patience = 10_000

// shareable tells whether the offers chosen so far can be given to places. If
// not, no more of them can.
func (s *search) shareable() bool { return s.deal() != nil }

// deal gives each offer chosen so far to some place; nil if that cannot be done.
func (s *search) deal() []int {
	at := nowhere(len(s.fits))
	steps := patience
	var give func(k int) bool
	give = func(k int) bool {
		if k == len(s.taken) {
			return true
		}
		for i := range at {
			if steps--; steps < 0 {
				s.proven = false
				return false
			}
			if at[i] < 0 && s.allowed(at, i, s.taken[k]) {
				at[i] = s.taken[k]
				if give(k + 1) {
					return true
				}
				at[i] = -1
			}
		}
		return false
	}
	if !give(0) {
		return nil
	}
	return at
}

func nowhere(n int) []int {
	at := make([]int, n)
	for i := range at {
		at[i] = -1
	}
	return at
}

// allowed tells whether place i may have offer o beside what others have.
func (s *search) allowed(at []int, i, o int) bool {
	if !s.fits[i][o] {
		return false
	}
	for j, other := range at {
		if other >= 0 && j != i && s.beside[i][j] && s.clash[o][other] {
			return false
		}
	}
	return true
}

// share gives the offers of a set to places: the first places first, and to each
// the first offer that leaves the others theirs.
func (s *search) share(set []int) []int {
	at := nowhere(len(s.fits))
	used := make([]bool, len(set))
	steps := patience
	var give func(i, left int) bool
	give = func(i, left int) bool {
		if left == 0 {
			return true
		}
		if steps--; steps < 0 || len(at)-i < left {
			return false
		}
		for k, o := range set {
			if !used[k] && s.allowed(at, i, o) {
				at[i], used[k] = o, true
				if give(i+1, left-1) {
					return true
				}
				at[i], used[k] = -1, false
			}
		}
		return give(i+1, left)
	}
	if !give(0, len(set)) { // out of patience
		s.taken = set
		return s.deal()
	}
	return at
}

// greedy gives one place after the other the offer that adds least.
func (s *search) greedy() []int {
	at := nowhere(len(s.fits))
	for i := range at {
		best := -1
		for o := range s.offers {
			if slices.Contains(at, o) || !s.allowed(at, i, o) {
				continue
			}
			if best < 0 || s.adds[o] < s.adds[best] {
				best = o
			}
		}
		if at[i] = best; best >= 0 {
			s.take(best)
		}
	}
	for range len(s.taken) {
		s.drop()
	}
	return at
}

// costOf is how many places a choice serves, and what it costs.
func (s *search) costOf(at []int) (served, cost int) {
	for _, o := range at {
		if o >= 0 {
			s.take(o)
		}
	}
	served, cost = len(s.taken), s.cost
	for range served {
		s.drop()
	}
	return served, cost
}
