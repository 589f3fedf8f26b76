package rules

import (
	"fmt"
	"slices"

	"slotcard/plan"
	"slotcard/plan/finding"
	"slotcard/plan/radio"
	"slotcard/plan/spectrum"
)

// Who works on which tactical.
func init() {
	register(
		Rule{
			ID:         "few-tacticals",
			Severity:   finding.Error,
			Statement:  "every list holds at least two tactical channels",
			Why:        "each flank needs one of its own; on a single one both flanks talk over each other",
			Bad:        "[[slot]]\nchannel = \"VFIRE21\"     # the only tactical",
			Good:       "[[slot]]\nchannel = \"VFIRE21\"\n[[slot]]\nchannel = \"VFIRE23\"",
			Fix:        "add a tactical channel: one for each flank, a third where something in the middle is protected",
			Acceptable: true,
			Check:      fewTacticals,
		},
		Rule{
			ID:         "division-without-tactical",
			Severity:   finding.Error,
			Statement:  "every line division has a tactical channel in its list",
			Why:        "a division without one talks on command, where the incident commander's orders go, or on a neighbor's",
			Bad:        "[[slot]]\nchannel = \"VFIRE21\"\ndivision = \"A\"\n[[division]]\nid = \"A\"\n[[division]]\nid = \"B\"",
			Good:       "[[slot]]\nchannel = \"VFIRE21\"\ndivision = \"A\"\n[[slot]]\nchannel = \"VFIRE23\"\ndivision = \"B\"",
			Fix:        "name the division in the slot of a tactical channel",
			Acceptable: true,
			Check:      divisionWithoutTactical,
		},
		Rule{
			ID:         "group-without-slot",
			Severity:   finding.Advice,
			Statement:  "every functional group has a slot of its own to talk on",
			Why:        "a functional group that no slot names talks on command, where the incident commander's orders go",
			Bad:        "[[division]]\nid = \"SP\"\nfunctional = true     # and no slot names SP",
			Good:       "[[slot]]\nchannel = \"QB TAC 4\"\ndivision = \"SP\"",
			Fix:        "name the functional group in the slot it is to talk on",
			Acceptable: true,
			Check:      groupWithoutSlot,
		},
		Rule{
			ID:         "neighbours-share-tactical",
			Severity:   finding.Error,
			Statement:  "neighboring divisions work on different tactical channels",
			Why:        "neighbors are in reach of each other: orders of one are taken for orders of the other",
			Bad:        "[[slot]]\nchannel = \"VFIRE21\"\ndivision = [\"A\", \"B\"]     # A and B are neighbors",
			Good:       "[[slot]]\nchannel = \"VFIRE21\"\ndivision = \"A\"\n[[slot]]\nchannel = \"VFIRE23\"\ndivision = \"B\"",
			Fix:        "give one of the two divisions another tactical channel",
			Acceptable: true,
			Check:      neighborsShare,
		},
		Rule{
			ID:         "tactical-repeated",
			Severity:   finding.Error,
			Statement:  "a tactical channel is direct",
			Why:        "through a repeater or a trunked system a division's talk is heard on the whole fire, and fails where it is out of reach",
			Bad:        "[[slot]]\nchannel = \"QB CMD 2\"     # repeated\nuse = \"tactical\"",
			Good:       "[[slot]]\nchannel = \"VFIRE21\"      # direct\nuse = \"tactical\"",
			Fix:        "choose a direct channel, best of the same group; or accept it where terrain leaves no other way",
			Acceptable: true,
			Check:      tacticalRepeated,
		},
		Rule{
			ID:        "user-not-carrying",
			Severity:  finding.Error,
			Statement: "a division carries every slot that it works on",
			Why:       "the channel is not in that division's radios",
			Bad:       "[[slot]]\nchannel = \"VFIRE21\"\ndivision = \"B\"\ncarried_by = [\"A\"]",
			Good:      "[[slot]]\nchannel = \"VFIRE21\"\ndivision = \"B\"\ncarried_by = [\"A\", \"B\"]",
			Fix:       "add the division to carried_by, or remove carried_by",
			Check:     userNotCarrying,
		},
		Rule{
			ID:         "neighbour-not-carried",
			Severity:   finding.Warning,
			Statement:  "who listens to the neighbors has their tactical channels in the list",
			Why:        "what a neighbor does is not heard, although the position is meant to listen to it",
			Bad:        "[[slot]]\nchannel = \"VFIRE23\"\ndivision = \"B\"\ncarried_by = [\"B\"]     # A is beside B and scans neighbors",
			Good:       "[[slot]]\nchannel = \"VFIRE23\"\ndivision = \"B\"\ncarried_by = [\"A\", \"B\"]",
			Fix:        "let the neighbors carry the slot as well",
			Acceptable: true,
			Check:      neighborNotCarried,
		},
	)
}

func fewTacticals(r *plan.Resolved, report func(finding.Finding)) {
	for _, l := range lists(r) {
		n := count(l, radio.Tactical)
		if n >= 2 || missing(r, radio.Tactical) || n+without(r, l) >= 2 {
			continue
		}
		f := finding.Finding{
			Place: listPlace(l), Subject: listSubject(r, l), Cause: finding.Cause{Name: "tactical"},
			Message: fmt.Sprintf("the list%s has %s; one for each flank is two at least", ofList(r, l), plural(n, "tactical", "tacticals")),
			Data:    facts{"list": listSubject(r, l), "tacticals": n},
		}
		var group *plan.Group
		last := l.Slots[0]
		for _, s := range l.Slots {
			if s.Use == radio.Tactical {
				f.Place, group, last = slotPlace(s), s.Channel.Group, s
			}
		}
		free := directTacticals(r, group, 3)
		for _, c := range free {
			f.Offer(add(last, true, c, fmt.Sprintf("add a [[slot]] with channel = %q (%s, %s)", c.Name, c.Place(), pair(c.Rx, c.Tx))))
		}
		if len(free) == 0 {
			f.Help = []string{"add a [[slot]] with a tactical channel"}
		}
		if n == 1 && single(r) {
			f.Severity = finding.Warning
		}
		report(f)
	}
}

// single tells of a small fire that one crew works on: fewer than three units, or
// one team that is not split over divisions.
func single(r *plan.Resolved) bool {
	if len(r.Plan.Units) == 0 {
		return false
	}
	first := r.Plan.Units[0]
	return len(r.Plan.Units) < 3 || first.Team != "" && !slices.ContainsFunc(r.Plan.Units, func(u *plan.Unit) bool {
		return u.Team != first.Team || u.Division != first.Division
	})
}

// lacking tells that a line division has no tactical.
func lacking(r *plan.Resolved, d *plan.Division) bool {
	return !d.Functional && d.ID != "" && !slices.ContainsFunc(r.Slots, func(s *plan.ResolvedSlot) bool {
		return s.Use == radio.Tactical && s.UsedBy(d)
	})
}

// onTwin tells that a division works on a slot whose channel the list has twice:
// another channel is wanted there anyway.
func onTwin(r *plan.Resolved, d *plan.Division) bool {
	return slices.ContainsFunc(r.Slots, func(s *plan.ResolvedSlot) bool {
		return s.UsedBy(d) && slices.ContainsFunc(r.Slots, func(o *plan.ResolvedSlot) bool { return o != s && twice(o, s) && inOneList(r, o, s) })
	})
}

// without is how many divisions with this list have no tactical. Each is told to
// get one, and with as many the list has enough.
func without(r *plan.Resolved, l *plan.List) (n int) {
	for _, d := range l.Divisions {
		if lacking(r, d) {
			n++
		}
	}
	return n
}

// stray tells that a slot names a division which is not in the plan: it may be
// the one that another slot seems to lack, and resolving has said so.
func stray(r *plan.Resolved) bool {
	return slices.ContainsFunc(r.Slots, func(s *plan.ResolvedSlot) bool { return len(s.Users) < len(s.Division) })
}

// mayHave tells whether the slot of a tactical that nobody works on could be
// given to division d: the channel is a tactical in the load too, not guard or
// air-to-ground that was put to another use; direct; in the division's list; and
// clear of what the neighbors work on.
func mayHave(r *plan.Resolved, d *plan.Division, s *plan.ResolvedSlot) bool {
	c := s.Channel
	if s.Use != radio.Tactical || len(s.Users) > 0 || c.Use != radio.Tactical || c.Repeated() || c.Trunked() || c.ReceiveOnly ||
		s.Carriers != nil && !slices.Contains(s.Carriers, d) {
		return false
	}
	near := r.Neighbors(d)
	mine := OnAir(c, s.Use)
	return !slices.ContainsFunc(r.Slots, func(o *plan.ResolvedSlot) bool {
		return o != s && slices.ContainsFunc(near, o.UsedBy) && spectrum.Clash(mine, OnAir(o.Channel, o.Use)) > 0
	})
}

func divisionWithoutTactical(r *plan.Resolved, report func(finding.Finding)) {
	if len(r.Slots) == 0 || missing(r, radio.Tactical) || stray(r) {
		return
	}
	var cause finding.Cause
	if len(r.Plan.Divisions) >= severalFaults && !slices.ContainsFunc(r.Slots, func(s *plan.ResolvedSlot) bool { return len(s.Users) > 0 }) {
		cause = finding.Cause{Name: "division", Message: "%d divisions have no tactical: no [[slot]] names a division",
			Help: []string{`write division = "..." in the [[slot]] of each tactical`}}
	}
	named := map[*plan.ResolvedSlot]bool{} // in the help of a division before
	for _, d := range r.Plan.Divisions {
		if !lacking(r, d) || onTwin(r, d) {
			continue
		}
		f := finding.Finding{
			Place: d.At("id"), Subject: d.ID, Cause: cause,
			Message: fmt.Sprintf("%s has no tactical", d.Title()),
			Help:    []string{fmt.Sprintf("add a [[slot]] with a tactical and division = %q", d.ID)},
			Data:    facts{"division": d.ID},
		}
		if free := directTacticals(r, nil, 2); len(free) > 0 {
			f.Help[0] += "; the load has " + inWords(free)
		}
		for _, s := range r.Slots {
			if s.UsedBy(d) {
				f.Related = append(f.Related, related(s.At("division"), "slot %d: %s is %s, not a tactical", number(r, s), s.Channel.Name, s.Use))
			}
		}
		for _, s := range r.Slots {
			if mayHave(r, d, s) && !named[s] {
				named[s] = true
				f.Help = nil
				f.Offer(work(s, d, fmt.Sprintf("write division = %q in the [[slot]] of %s, which no division works on", d.ID, s.Channel.Name)))
				f.Related = append(f.Related, related(slotPlace(s), "slot %d: %s is a tactical without a division", number(r, s), s.Channel.Name))
				break
			}
		}
		report(f)
	}
}

func groupWithoutSlot(r *plan.Resolved, report func(finding.Finding)) {
	if len(r.Slots) == 0 || incomplete(r) || stray(r) {
		return
	}
	for _, d := range r.Plan.Divisions {
		if !d.Functional || slices.ContainsFunc(r.Slots, func(s *plan.ResolvedSlot) bool { return s.UsedBy(d) }) {
			continue
		}
		report(finding.Finding{
			Place: d.At("id"), Subject: d.ID,
			Message: fmt.Sprintf("%s has no slot of its own and talks on command", d.Title()),
			Help:    []string{fmt.Sprintf("write division = %q in the [[slot]] that it is to talk on", d.ID)},
			Data:    facts{"division": d.ID},
		})
	}
}

func neighborsShare(r *plan.Resolved, report func(finding.Finding)) {
	// By frequency: with carried_by, one channel may stand in a slot for each of two
	// neighbors, a load may give it two names, and a tone hides a neighbor's talk
	// but does not stop it.
	type work struct {
		d *plan.Division
		s *plan.ResolvedSlot
	}
	working := map[string][]work{}
	near := map[*plan.Division][]*plan.Division{}
	for _, s := range r.Slots {
		if s.Use != radio.Tactical {
			continue
		}
		on := onFrequency(s.Channel)
		for _, o := range s.Users {
			if near[o] == nil {
				near[o] = r.Neighbors(o)
			}
			for _, w := range working[on] {
				if slices.Contains(near[o], w.d) && (w.s == s || !saidTwice(r, w.s, s)) {
					report(shared(r, w.d, w.s, o, s))
				}
			}
			working[on] = append(working[on], work{o, s})
		}
	}
}

// onFrequency is where a channel is heard, or its name where that is not known.
func onFrequency(c *plan.Channel) string {
	switch {
	case c.Trunked():
		return c.System + "/" + c.Talkgroup
	case unread(c) || c.Rx == 0:
		return c.Name
	}
	return c.Rx.String()
}

// saidTwice tells that channel-twice reports the two slots.
func saidTwice(r *plan.Resolved, a, b *plan.ResolvedSlot) bool {
	return inOneList(r, a, b) && (a.Channel.Name == b.Channel.Name || programmed(a) == programmed(b))
}

// neighborsOn tells that two tacticals on one frequency belong to neighbors.
func neighborsOn(r *plan.Resolved, a, b *plan.ResolvedSlot) bool {
	if a.Use != radio.Tactical || b.Use != radio.Tactical || onFrequency(a.Channel) != onFrequency(b.Channel) {
		return false
	}
	return slices.ContainsFunc(a.Users, func(d *plan.Division) bool {
		return slices.ContainsFunc(r.Neighbors(d), b.UsedBy)
	})
}

// inOneList tells whether some list holds both slots.
func inOneList(r *plan.Resolved, a, b *plan.ResolvedSlot) bool {
	return slices.ContainsFunc(r.Lists, func(l *plan.List) bool {
		return slices.Contains(l.Slots, a) && slices.Contains(l.Slots, b)
	})
}

// shared says that neighbors d, in slot a, and o, in slot b, work on one channel.
func shared(r *plan.Resolved, d *plan.Division, a *plan.ResolvedSlot, o *plan.Division, b *plan.ResolvedSlot) finding.Finding {
	help := fmt.Sprintf("give %s or %s another tactical", d.Title(), o.Title())
	offers := []finding.Edit{words(help)}
	if free := directTacticals(r, b.Channel.Group, 2); a == b && len(free) > 0 {
		offers = []finding.Edit{words(help + "; the load has " + inWords(free))}
	} else if a != b {
		offers = tacticalInstead(r, b, b.Channel.Group, 2, help)
	}
	where, on := fmt.Sprintf("slot %d", number(r, b)), b.Channel.Name
	if a != b {
		where = fmt.Sprintf("slots %d and %d", number(r, a), number(r, b))
	}
	switch {
	case a.Channel.Name == b.Channel.Name:
	case programmed(a) == programmed(b):
		on = fmt.Sprintf("one channel, %s and %s", a.Channel.Name, b.Channel.Name)
	default:
		on = fmt.Sprintf("%s, %s and %s", onFrequency(a.Channel), a.Channel.Name, b.Channel.Name)
	}
	f := finding.Finding{
		Place: b.At("division"), Subject: b.Channel.Name,
		Message: fmt.Sprintf("%s: neighbors %s and %s both work on %s", where, d.Title(), o.Title(), on),
		Related: []finding.Related{related(d.At("id"), "%s", d.Title()), related(o.At("id"), "%s", o.Title())},
		Data:    facts{"channel": b.Channel.Name, "divisions": []string{d.ID, o.ID}},
	}
	if a != b {
		f.Related = append(f.Related, related(slotPlace(a), "slot %d: %s", number(r, a), a.Channel.Name))
	}
	return offering(f, offers...)
}

func tacticalRepeated(r *plan.Resolved, report func(finding.Finding)) {
	for _, s := range r.Slots {
		if s.Use != radio.Tactical || !s.Repeated() && !s.Channel.Trunked() || unread(s.Channel) {
			continue
		}
		how := fmt.Sprintf("is repeated: transmits on %s, receives on %s", s.Channel.Tx, s.Channel.Rx)
		switch {
		case s.Channel.Trunked():
			how = fmt.Sprintf("is a talkgroup: it fails where system %s is out of reach", s.Channel.System)
		case s.Channel.Rx == s.Channel.Tx:
			how = "is repeated: is opened by the tone of a site"
		}
		f := finding.Finding{
			Place: usePlace(s), Subject: s.Channel.Name,
			Message: fmt.Sprintf("slot %d: tactical %s %s", number(r, s), s.Channel.Name, how),
			Related: []finding.Related{related(s.Channel.At("name"), "%s", s.Channel)},
			Data:    facts{"channel": s.Channel.Name, "rx_hz": s.Channel.Rx, "tx_hz": s.Channel.Tx},
		}
		report(offering(f, tacticalInstead(r, s, s.Channel.Group, 3, "choose a direct channel")...))
	}
}

func userNotCarrying(r *plan.Resolved, report func(finding.Finding)) {
	for _, s := range r.Slots {
		if s.Carriers == nil {
			continue
		}
		for _, d := range s.Users {
			if slices.Contains(s.Carriers, d) {
				continue
			}
			report(offering(finding.Finding{
				Place: s.At("carried_by"), Subject: s.Channel.Name,
				Message: fmt.Sprintf("slot %d: %s works on %s, but does not carry it", number(r, s), d.Title(), s.Channel.Name),
				Related: []finding.Related{related(s.At("division"), "the divisions that work on it")},
				Data:    facts{"channel": s.Channel.Name, "division": d.ID},
			}, carry(s, d), words(fmt.Sprintf("let %s work on a slot that it carries", d.Title()))))
		}
	}
}

func neighborNotCarried(r *plan.Resolved, report func(finding.Finding)) {
	type pair struct{ d, n *plan.Division }
	done := map[pair]bool{}
	for _, c := range r.Cards {
		if c.Division == nil || c.Position.Priority != plan.Neighbors && !slices.Contains(c.Position.Scan, plan.Neighbors) {
			continue
		}
		for _, n := range r.Neighbors(c.Division) {
			if done[pair{c.Division, n}] {
				continue
			}
			done[pair{c.Division, n}] = true
			for _, s := range r.Slots {
				if s.Use != radio.Tactical || !s.UsedBy(n) || slices.Contains(c.List.Slots, s) {
					continue
				}
				report(offering(finding.Finding{
					Place: s.At("carried_by"), Subject: s.Channel.Name,
					Cause: finding.Cause{Name: "carried_by", Message: "%d tacticals are missing in lists of neighbors that scan them"},
					Message: fmt.Sprintf("%s of %s scans its neighbors, but lacks %s of %s",
						c.Position.Name, c.Division.Title(), s.Channel.Name, n.Title()),
					Related: []finding.Related{related(c.Division.At("id"), "%s is beside %s", c.Division.Title(), n.Title())},
					Data:    facts{"channel": s.Channel.Name, "division": c.Division.ID, "neighbour": n.ID},
				}, carry(s, c.Division), words("drop a slot that the division needs less, to make room for this one in its list")))
			}
		}
	}
}
