// Package suggest proposes tactical channels for the divisions of a plan that
// lack one, or whose own clashes with a neighbor's. Start with [Tacticals].
//
// It is arithmetic over what the load has: it knows neither licenses nor what
// other incidents nearby use, and a communications unit leader decides.
package suggest

import (
	"fmt"
	"slices"

	"slotcard/plan"
	"slotcard/plan/finding"
	"slotcard/plan/radio"
	"slotcard/plan/rules"
	"slotcard/plan/spectrum"
)

// MostExact is up to how many divisions the best choice is searched for. For
// more, channels are chosen one division after the other.
const MostExact = 16

// mostOffers bounds how many channels of a large load are weighed: with more,
// what is proposed is not proven the best.
const mostOffers = 128

// Proposal is what is proposed for a plan.
type Proposal struct {
	// Incomplete tells that some slots could not be resolved: what seems to be
	// missing may be there, and nothing is proposed.
	Incomplete bool

	Choices []Choice // in order of the divisions

	// Before and After are the third-order products that fall into a slot, over
	// all slots of the plan as it is, and with all that is proposed.
	Before, After int

	// Proven tells that no other choice of the load's channels serves more of
	// the divisions, and that none which serves as many makes fewer third-order
	// products. Exact tells whether that was searched for at all.
	Proven, Exact bool

	r *plan.Resolved
}

// Choice is the channel proposed for a division.
type Choice struct {
	Division *plan.Division
	Why      string             // "has no tactical", completes a sentence about the division
	Leaves   *plan.ResolvedSlot // the slot of the tactical that clashes; nil: it has none
	Channel  *plan.Channel      // nil: the load has none that fits
	Slot     *plan.ResolvedSlot // the slot that holds the channel already, and no division uses; nil: none
	Products int                // third-order products in which the channel takes part
}

// Tacticals proposes a channel for each line division that has no tactical, for
// each functional group without a slot, and for one of two neighbors who work
// on one tactical or on two that overlap, unless the plan accepts that.
//
// What is proposed is of use tactical, direct, not receive only, neither by name
// nor by frequency in the plan, and free of any fault that a check of the load
// finds: so inside the radio's bands and modes, with a name that fits. It does
// not overlap with what is used by the division and its neighbors, or by
// everybody. Of such channels those are chosen which, together, make fewest
// third-order products in the list; then those with fewest neighbors on the
// dial ([spectrum.DesenseWidth], or an overlap elsewhere on the incident); then
// the first of the load. A tactical that stands in the plan without a division
// is given out before a new one. The same plan gets the same proposal each time.
func Tacticals(r *plan.Resolved) Proposal {
	p := Proposal{r: r}
	if len(r.Slots) == 0 || len(r.Unresolved) > 0 || r.Plan.File() != nil && r.Plan.File().Doubtful() {
		p.Incomplete = true
		return p
	}
	p.Choices = needs(r)
	p.Before = len(spectrum.ThirdOrder(air(r.Slots)))
	p.After, p.Exact, p.Proven = p.Before, len(p.Choices) <= MostExact, true
	if len(p.Choices) == 0 {
		return p
	}
	offers, cut := offersOf(r)
	q := p.problem(offers)
	budget := 0
	if p.Exact {
		budget = patient
	}
	a := choose(q, budget)
	unserved := false
	for i, o := range a.chosen {
		c := &p.Choices[i]
		if o < 0 {
			// Its old slot stays, which the search took for free.
			unserved = unserved || c.Leaves != nil
			continue
		}
		c.Channel, c.Slot = offers[o].channel, offers[o].slot
	}
	p.Proven = a.proven && !cut && !unserved
	p.count()
	return p
}

// user is a division on a slot.
type user struct {
	d *plan.Division
	s *plan.ResolvedSlot
}

// needs are the divisions that want a channel, in the order of the plan.
func needs(r *plan.Resolved) []Choice {
	moves := clashing(r)
	var out []Choice
	for _, d := range r.Plan.Divisions {
		if lacks(r, d) {
			why := "has no tactical"
			if d.Functional {
				why = "has no slot of its own"
			}
			out = append(out, Choice{Division: d, Why: why})
		}
		for _, s := range r.Slots {
			if why := moves[user{d, s}]; why != "" {
				out = append(out, Choice{Division: d, Why: why, Leaves: s})
			}
		}
	}
	return out
}

// lacks tells that a line division has no tactical, or a functional group no
// slot at all, and that nobody answers for it.
func lacks(r *plan.Resolved, d *plan.Division) bool {
	rule := "division-without-tactical"
	if d.Functional {
		rule = "group-without-slot"
	}
	return d.ID != "" && !accepted(r, rule, d.ID) && !slices.ContainsFunc(r.Slots, func(s *plan.ResolvedSlot) bool {
		return (d.Functional || s.Use == radio.Tactical) && s.UsedBy(d)
	})
}

func accepted(r *plan.Resolved, rule, subject string) bool {
	return slices.ContainsFunc(r.Exceptions, func(e plan.Exception) bool {
		return e.Accept.Rule == rule && e.Accept.Subject == subject
	})
}

// clashing are the divisions that should leave a slot, and why: of two
// neighbors that clash the one that clashes more often, else the later.
func clashing(r *plan.Resolved) map[user]string {
	type pair struct {
		a, b user
		why  [2]string // for a to leave, for b to leave
	}
	var open []pair
	var users []user
	for _, s := range r.Slots {
		if s.Use == radio.Tactical {
			for _, d := range s.Users {
				users = append(users, user{d, s})
			}
		}
	}
	slices.SortStableFunc(users, func(a, b user) int {
		return slices.Index(r.Plan.Divisions, a.d) - slices.Index(r.Plan.Divisions, b.d)
	})
	for j, b := range users {
		near := r.Neighbors(b.d)
		for _, a := range users[:j] {
			if !slices.Contains(near, a.d) {
				continue
			}
			x, y := a.s.Channel.Name, b.s.Channel.Name
			switch {
			case a.s == b.s:
				if !accepted(r, "neighbours-share-tactical", x) {
					open = append(open, pair{a, b, [2]string{"shares " + x + " with " + b.d.Title(), "shares " + x + " with " + a.d.Title()}})
				}
			case spectrum.Clash(rules.OnAir(a.s.Channel, a.s.Use), rules.OnAir(b.s.Channel, b.s.Use)) > 0:
				if !accepted(r, "overlap", x+" and "+y) && !accepted(r, "overlap", y+" and "+x) {
					open = append(open, pair{a, b, [2]string{
						fmt.Sprintf("is on %s, which overlaps with %s of %s", x, y, b.d.Title()),
						fmt.Sprintf("is on %s, which overlaps with %s of %s", y, x, a.d.Title())}})
				}
			}
		}
	}
	moves := map[user]string{}
	for len(open) > 0 {
		often := map[user]int{}
		for _, p := range open {
			often[p.a]++
			often[p.b]++
		}
		mover := open[0].b
		for _, u := range users {
			if often[u] >= often[mover] {
				mover = u
			}
		}
		open = slices.DeleteFunc(open, func(p pair) bool {
			switch mover {
			case p.a:
				if moves[mover] == "" {
					moves[mover] = p.why[0]
				}
			case p.b:
				if moves[mover] == "" {
					moves[mover] = p.why[1]
				}
			default:
				return false
			}
			return true
		})
	}
	return moves
}

// onOffer is a channel that may be proposed.
type onOffer struct {
	channel *plan.Channel
	slot    *plan.ResolvedSlot // holds it already; nil: new to the plan
	doubts  int                // warnings about it
}

// offersOf are the channels that may be proposed, and whether there were more
// than can be weighed: what stands in the plan without a division, then the load
// in its order.
func offersOf(r *plan.Resolved) (out []onOffer, cut bool) {
	names, frequencies := map[string]bool{}, map[radio.Hertz]bool{}
	use := func(c *plan.Channel) {
		names[c.Name], frequencies[c.Rx], frequencies[c.Tx] = true, true, true
	}
	doubts := map[string]int{}
	for _, found := range rules.CheckLoad(r.Load) {
		for _, f := range found.Parts() {
			switch {
			// Two channels with one name could not be told apart in the plan.
			case f.Severity == finding.Error, f.Rule == "names-differ":
				names[f.Subject] = true
			case f.Severity == finding.Warning:
				doubts[f.Subject]++
			}
		}
	}
	for _, s := range r.Slots {
		if c := s.Channel; s.Use == radio.Tactical && len(s.Users) == 0 && direct(c) && !names[c.Name] && !frequencies[c.Rx] {
			out = append(out, onOffer{c, s, 0})
		}
		use(s.Channel)
	}
	for _, a := range r.Also {
		use(a.Channel)
	}
	for _, c := range r.Load.Channels() {
		if c.Use != radio.Tactical || !direct(c) || names[c.Name] || frequencies[c.Rx] {
			continue
		}
		if len(out) == mostOffers {
			return out, true
		}
		use(c)
		out = append(out, onOffer{c, nil, doubts[c.Name]})
	}
	return out, false
}

// direct tells that radios talk to each other on the channel without a repeater.
func direct(c *plan.Channel) bool {
	return !c.Trunked() && !c.Repeated() && !c.ReceiveOnly && c.Rx > 0
}

// air is what slots put on the air. Travel channels are used on the road, not
// beside the others; a channel that stands twice counts once.
func air(slots []*plan.ResolvedSlot) []spectrum.Channel {
	out := make([]spectrum.Channel, len(slots))
	seen := map[spectrum.Channel]bool{}
	for i, s := range slots {
		c := rules.OnAir(s.Channel, s.Use)
		if key := (spectrum.Channel{Rx: c.Rx, Tx: c.Tx, Mode: c.Mode, Width: c.Width}); s.Use != radio.Travel && !seen[key] {
			seen[key] = true
			out[i] = c
		} else {
			out[i].Use = s.Use
		}
	}
	return out
}

// problem is the choice that the search has to make.
func (p *Proposal) problem(offers []onOffer) *problem {
	r := p.r
	moving := map[user]bool{}
	for _, c := range p.Choices {
		moving[user{c.Division, c.Leaves}] = true
	}
	// Who stays on each slot; a slot that everybody leaves is not in the list.
	var base []*plan.ResolvedSlot
	stay := map[*plan.ResolvedSlot][]*plan.Division{}
	for _, s := range r.Slots {
		for _, d := range s.Users {
			if !moving[user{d, s}] {
				stay[s] = append(stay[s], d)
			}
		}
		if len(s.Users) == 0 || len(stay[s]) > 0 {
			base = append(base, s)
		}
	}
	onAir := air(base)
	q := &problem{base: onAir}
	for _, o := range offers {
		it := offer{air: rules.OnAir(o.channel, radio.Tactical), inBase: o.slot != nil, minor: o.doubts}
		for _, other := range onAir {
			if it.inBase || other.Rx == 0 {
				continue
			}
			_, deaf := spectrum.Desense(it.air, other)
			if spectrum.Clash(it.air, other) > 0 || deaf && other.Use != radio.Tactical {
				it.minor++
			}
		}
		q.offers = append(q.offers, it)
	}
	for _, c := range p.Choices {
		d, near := c.Division, r.Neighbors(c.Division)
		fits := make([]bool, len(offers))
		for k, o := range offers {
			mine := q.offers[k].air
			fits[k] = o.slot == nil || o.slot.Carriers == nil || slices.Contains(o.slot.Carriers, d)
			for i, s := range base {
				beside := len(s.Users) == 0 || slices.ContainsFunc(stay[s], func(u *plan.Division) bool { return u == d || slices.Contains(near, u) })
				if s != o.slot && (beside && spectrum.Clash(mine, onAir[i]) > 0 || spectrum.HearsInput(onAir[i], mine)) {
					fits[k] = false
				}
			}
		}
		q.fits = append(q.fits, fits)
		beside := make([]bool, len(p.Choices))
		for j, other := range p.Choices {
			beside[j] = other.Division == d || slices.Contains(near, other.Division)
		}
		q.beside = append(q.beside, beside)
	}
	return q
}

// count fills in what follows from the choices.
func (p *Proposal) count() {
	var list []spectrum.Channel
	of := map[radio.Hertz]*Choice{}
	for i := range p.Choices {
		if c := &p.Choices[i]; c.Channel != nil {
			of[c.Channel.Rx] = c
		}
	}
	var stays []*plan.ResolvedSlot
	for _, s := range p.r.Slots {
		if len(s.Users) == 0 || len(p.stayers(s)) > 0 {
			stays = append(stays, s)
		}
	}
	list = air(stays)
	for _, c := range p.Choices {
		if c.Channel != nil && c.Slot == nil {
			list = append(list, rules.OnAir(c.Channel, radio.Tactical))
		}
	}
	hits := spectrum.ThirdOrder(list)
	p.After = len(hits)
	for _, h := range hits {
		for _, i := range append(h.Transmitters, h.Victim) {
			if c := of[list[i].Rx]; c != nil {
				c.Products++
			}
		}
	}
}

// stayers are the divisions that stay on a slot.
func (p *Proposal) stayers(s *plan.ResolvedSlot) []*plan.Division {
	return slices.DeleteFunc(slices.Clone(s.Users), func(d *plan.Division) bool {
		return slices.ContainsFunc(p.Choices, func(c Choice) bool { return c.Division == d && c.Leaves == s && c.Channel != nil })
	})
}
