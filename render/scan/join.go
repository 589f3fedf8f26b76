package scan

import (
	"cmp"
	"context"
	"math"
	"slices"
)

// Several photographs of one symbol tell together what none of them tells: grain and
// glare fall on other modules in each. So the modules are voted on, and those of which
// little is known hardly count. What comes of it is taken only as the text of those
// photographs each of which shows, by itself, that very symbol and no other: two cards
// that differ in one slot differ in half of what repairs the block with that slot.

// unread is a symbol that was found and could not be read.
type unread struct {
	modules shades
	at      corners // a module beyond its edge, pixels of the picture
	score   float64 // share of known modules that lie right
}

const (
	// mostUnread is how many unread symbols of a picture are kept for [Join], those
	// whose known modules lie best where two lie at one place.
	mostUnread = 8
	// mostJoined is how many symbols are put together at once, and mostVotes how often
	// that is tried.
	mostJoined = 48
	mostVotes  = 60
	// leastAlike is how far the agreement of two symbols is from chance, in standard
	// deviations, below which they are not tried together.
	leastAlike = 8.0
	// leastShown is the same of a symbol and what was read of several, for the codewords
	// that repair each block by itself: of another list's block chance passes once in
	// some fifty million.
	leastShown = 5.5
)

// keep keeps a symbol that was not read.
func (s *search) keep(u unread) {
	x, y := u.at.middle()
	for i, v := range s.unread {
		if a, b := v.at.middle(); v.at.hold(x, y) || u.at.hold(a, b) {
			if u.score > v.score {
				s.unread[i] = u
			}
			return
		}
	}
	if len(s.unread) < mostUnread {
		s.unread = append(s.unread, u)
	}
}

// Joined is the text of a code that several unread symbols tell together.
type Joined struct {
	Text string
	// From numbers the pictures that show it, from 0 in order: a picture that shows it
	// twice, twice.
	From []int
}

// candidate is an unread symbol of a picture.
type candidate struct {
	picture int
	unread
	votes [len(sharpness)]shades // leveled, mostly from -1 to 1
	done  bool
}

// sharpness is how much the modules are sharpened before they are read: what serves
// most often comes first.
var sharpness = [...]float32{0.4, 0, 1}

// Join reads codes which no picture shows well enough, and several do together. Only
// plain ASCII is read, and only what sound accepts, which knows what the codes should
// hold: what is put together of many doubts needs a proof of its own. What was read counts no longer as More of the pictures. When ctx ends, so does
// the search, with its error.
func Join(ctx context.Context, pictures []Seen, sound func(text string) bool) ([]Joined, error) {
	var all []*candidate
	for i, p := range pictures {
		for _, u := range p.unread {
			if len(all) < mostJoined {
				all = append(all, &candidate{picture: i, unread: u})
			}
		}
	}
	if len(all) < 2 {
		return nil, nil
	}
	for _, c := range all {
		if ctx.Err() != nil {
			return nil, ctx.Err()
		}
		for i, k := range sharpness {
			c.votes[i] = c.modules.sharper(k).level().vote()
		}
	}
	var out []Joined
	votes := 0
	for _, c := range all {
		if c.done {
			continue
		}
		group := alike(c, all)
		for _, n := range sizesOf(len(group)) {
			if ctx.Err() != nil {
				return nil, ctx.Err()
			}
			if votes++; votes > mostVotes {
				return out, nil
			}
			if text, show := joined(group[:n], all, sound); text != "" {
				j := Joined{Text: text}
				for _, c := range show {
					c.done = true
					j.From = append(j.From, c.picture)
					pictures[c.picture].settle(c.at)
				}
				out = append(out, j)
				break
			}
		}
	}
	return out, nil
}

// sizesOf are the sizes in which a group of so many is tried: all, then from the
// smallest up.
func sizesOf(n int) (sizes []int) {
	if n > 1 {
		sizes = append(sizes, n)
	}
	for k := 2; k < n && k < 8; k++ {
		sizes = append(sizes, k)
	}
	return sizes
}

// alike is a symbol and those that may be the same, the most like it first.
func alike(c *candidate, all []*candidate) []*candidate {
	type other struct {
		*candidate
		z float64
	}
	var others []other
	for _, o := range all {
		if o == c || o.done || o.modules.size != c.modules.size {
			continue
		}
		agree, n := 0.0, 0.0
		for i, v := range c.votes[0].v {
			p := float64(v * o.votes[0].v[i])
			agree, n = agree+p, n+p*p
		}
		if z := agree / math.Sqrt(max(n, 1)); z > leastAlike {
			others = append(others, other{o, z})
		}
	}
	slices.SortStableFunc(others, func(a, b other) int { return cmp.Compare(b.z, a.z) })
	group := []*candidate{c}
	for _, o := range others {
		group = append(group, o.candidate)
	}
	return group
}

// joined reads some symbols as one, and tells which of all show it: two at least.
func joined(group, all []*candidate, sound func(string) bool) (text string, show []*candidate) {
	for k := range sharpness {
		sum := shades{group[0].modules.size, make([]float32, len(group[0].modules.v))}
		for _, c := range group {
			for i, v := range c.votes[k].v {
				sum.v[i] += v
			}
		}
		w, text, ok := sum.repaired()
		if !ok || !sound(text) {
			continue
		}
		show = show[:0]
		for _, c := range all {
			if !c.done && c.modules.size == sum.size && w.shownBy(c.votes[0]) {
				show = append(show, c)
			}
		}
		if len(show) > 1 {
			return text, show
		}
	}
	return "", nil
}

// settle forgets the corners of a symbol that was read after all.
func (s *Seen) settle(at corners) {
	s.more = slices.DeleteFunc(slices.Clone(s.more), func(t triple) bool { // others may hold it, too
		n := 0
		for _, f := range [...]finder{t.tl, t.tr, t.bl} {
			if at.hold(f.x, f.y) {
				n++
			}
		}
		return n > 1
	})
	s.More = len(s.more) > 0
}

// vote makes leveled modules those of a voter, who says no more than yes or no, and
// less where little is known.
func (s shades) vote() shades {
	out := shades{s.size, make([]float32, len(s.v))}
	typical := float32(max(s.typical(), 1e-3))
	for i, v := range s.v {
		out.v[i] = max(-1, min(1, v/typical))
	}
	return out
}

// shownBy tells whether modules are those of this symbol and of no other, each block by
// itself: of another text's, half of the bits that repair it are others.
func (w *worn) shownBy(s shades) bool {
	for _, b := range w.blocks {
		agree, n := 0, 0
		for i := b.data; i < len(b.at); i++ {
			for bit, m := range w.cells[b.at[i]] {
				dark := b.done[i]>>(7-bit)&1 == 1 != w.mask[m]
				if n++; (s.v[m] < 0) == dark {
					agree++
				}
			}
		}
		if float64(2*agree-n) < leastShown*math.Sqrt(float64(n)) {
			return false
		}
	}
	return true
}
