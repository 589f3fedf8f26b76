package rules

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"slotcard/plan"
	"slotcard/plan/edit"
	"slotcard/plan/finding"
	"slotcard/plan/radio"
)

// The order of a list and how much of the radio it fills: by feel, in the dark,
// one end of the knob is command and the other end is guard.
func init() {
	register(
		Rule{
			ID:        "command-first",
			Severity:  finding.Error,
			Statement: "the first slot of every list is the incident's command channel",
			Why: "in the dark the knob is turned to its stop and that is command; " +
				"anywhere else it has to be looked for",
			Bad:   "[[slot]]\nchannel = \"VFIRE21\"\n[[slot]]\nchannel = \"QB CMD 1\"\nsite = \"Bellwether\"",
			Good:  "[[slot]]\nchannel = \"QB CMD 1\"\nsite = \"Bellwether\"\n[[slot]]\nchannel = \"VFIRE21\"",
			Fix:   "move the command slot to the top, before all other [[slot]] entries",
			Check: commandFirst,
		},
		Rule{
			ID:        "no-guard",
			Severity:  finding.Error,
			Statement: "every list holds the emergency guard channel",
			Why:       "guard is where everybody can be reached when nothing else works, and where aircraft listen",
			Bad:       "[[slot]]\nchannel = \"VFIRE23\"\n# end of the list",
			Good:      "[[slot]]\nchannel = \"VFIRE23\"\n[[slot]]\nchannel = \"AIRGUARD\"",
			Fix:       "add a last [[slot]] with the guard channel",
			Check:     noGuard,
		},
		Rule{
			ID:        "guard-last",
			Severity:  finding.Error,
			Statement: "the guard channel is the last slot of every list",
			Why: "past the last programmed position the radio warns; one click back from the warning " +
				"is guard, found without looking",
			Bad:   "[[slot]]\nchannel = \"AIRGUARD\"\n[[slot]]\nchannel = \"VFIRE23\"",
			Good:  "[[slot]]\nchannel = \"VFIRE23\"\n[[slot]]\nchannel = \"AIRGUARD\"",
			Fix:   "move the guard slot to the bottom, after all other [[slot]] entries",
			Check: guardLast,
		},
		Rule{
			ID:         "no-empty-position",
			Severity:   finding.Warning,
			Statement:  "at least one position of the radio's list stays empty after guard",
			Why:        "a list that fills every position loses the warning by which guard is found in the dark",
			Bad:        "list_positions = 8      # and eight [[slot]] entries",
			Good:       "list_positions = 8      # and seven [[slot]] entries",
			Fix:        "remove a slot, or let divisions carry different ones with carried_by",
			Acceptable: true,
			Check:      noEmptyPosition,
		},
		Rule{
			ID:        "list-too-long",
			Severity:  finding.Error,
			Statement: "a list has no more slots than the radio's list has positions",
			Why:       "the slots at the end, guard among them, could not be built",
			Bad:       "list_positions = 8      # and nine [[slot]] entries",
			Good:      "list_positions = 16     # and nine [[slot]] entries",
			Fix:       "remove slots, or let divisions carry different ones with carried_by",
			Check:     listTooLong,
		},
		Rule{
			ID:        "channel-twice",
			Severity:  finding.Error,
			Statement: "no channel stands twice in one list",
			Why: "two positions with one channel are two answers to \"which channel are you on\", " +
				"and a scan stops on it twice",
			Bad:   "[[slot]]\nchannel = \"VFIRE21\"\ndivision = \"A\"\n[[slot]]\nchannel = \"VFIRE21\"\ndivision = \"C\"",
			Good:  "[[slot]]\nchannel = \"VFIRE21\"\ndivision = [\"A\", \"C\"]",
			Fix:   "remove one of the two slots, or choose another channel for it",
			Check: channelTwice,
		},
		Rule{
			ID:        "position-differs",
			Severity:  finding.Warning,
			Statement: "a channel that stands in several lists has the same position in all of them, where the order of the slots can give it",
			Why:       "\"go to slot 3\" must mean one thing on the whole incident",
			Bad: "[[slot]]\nchannel = \"VFIRE21\"\ncarried_by = [\"A\"]\n[[slot]]\nchannel = \"VFIRE23\"" +
				"     # slot 3 for A, slot 2 for the others",
			Good: "[[slot]]\nchannel = \"VFIRE23\"     # slot 2 for everybody\n[[slot]]\nchannel = \"VFIRE21\"\n" +
				"carried_by = [\"A\"]\n[[slot]]\nchannel = \"VFIRE22\"\ncarried_by = [\"B\"]",
			Fix:        "put the slots that everybody carries first, then those that some carry, then guard",
			Acceptable: true,
			Check:      positionDiffers,
		},
	)
}

func commandFirst(r *plan.Resolved, report func(finding.Finding)) {
	for _, l := range lists(r) {
		s := l.Slots[0]
		if s.Use == radio.Command || s.Use == 0 || missing(r, radio.Command) {
			continue
		}
		f := finding.Finding{
			Place: usePlace(s), Subject: s.Channel.Name,
			Message: fmt.Sprintf("%s: %s is %s, but the list begins with command", slotName(r, l, 0), s.Channel.Name, s.Use),
			Help:    []string{"add the command channel as the first [[slot]]"},
			Data:    facts{"channel": s.Channel.Name, "use": s.Use.String(), "slot": 1},
		}
		for i, c := range l.Slots {
			if c.Use == radio.Command {
				f.Help = nil
				f.Offer(edit.In(c.Table).MoveBefore(c.Table, r.Slots[0].Table).Edit(fmt.Sprintf("move the [[slot]] of %s to the top", c.Channel.Name)))
				f.Related = []finding.Related{related(slotPlace(c), "%s is command, in slot %d", c.Channel.Name, i+1)}
				break
			}
		}
		report(f)
	}
}

func noGuard(r *plan.Resolved, report func(finding.Finding)) {
	for _, l := range lists(r) {
		if count(l, radio.Guard) > 0 || misusedIn(l, radio.Guard) || missing(r, radio.Guard) {
			continue
		}
		help := words("add the guard channel as the last [[slot]]")
		for _, c := range r.Load.Channels() {
			if c.Use == radio.Guard {
				help = add(r.Slots[len(r.Slots)-1], true, c, fmt.Sprintf("add a last [[slot]] with channel = %q", c.Name))
				break
			}
		}
		report(offering(finding.Finding{
			Place: listPlace(l), Subject: listSubject(r, l), Cause: finding.Cause{Name: "guard"},
			Message: fmt.Sprintf("the list%s has no guard channel", ofList(r, l)),
			Data:    facts{"list": listSubject(r, l), "slots": len(l.Slots)},
		}, help))
	}
}

func guardLast(r *plan.Resolved, report func(finding.Finding)) {
	for _, l := range lists(r) {
		for i, s := range l.Slots {
			if s.Use != radio.Guard {
				continue
			}
			j := i + 1
			for j < len(l.Slots) && l.Slots[j].Use == radio.Guard {
				j++
			}
			if j == len(l.Slots) {
				break
			}
			last := l.Slots[len(l.Slots)-1]
			if last.Channel.Name == s.Channel.Name {
				break // said by channel-twice
			}
			down := edit.In(s.Table).MoveAfter(s.Table, r.Slots[len(r.Slots)-1].Table)
			report(offering(finding.Finding{
				Place: slotPlace(s), Subject: s.Channel.Name,
				Message: fmt.Sprintf("%s: %s is guard, but %s it", slotName(r, l, i), s.Channel.Name,
					plural(len(l.Slots)-1-i, "slot follows", "slots follow")),
				Related: []finding.Related{related(slotPlace(last), "%s is last, in slot %d", last.Channel.Name, len(l.Slots))},
				Data:    facts{"channel": s.Channel.Name, "slot": i + 1, "slots": len(l.Slots)},
			}, down.Edit(fmt.Sprintf("move the [[slot]] of %s to the bottom", s.Channel.Name))))
			break
		}
	}
}

func noEmptyPosition(r *plan.Resolved, report func(finding.Finding)) {
	for _, l := range lists(r) {
		n, positions := len(l.Slots), r.Load.Radio.ListPositions
		if positions == 0 || n != positions || incomplete(r) {
			continue
		}
		last := l.Slots[n-1]
		report(finding.Finding{
			Place: slotPlace(last), Subject: last.Channel.Name,
			Message: fmt.Sprintf("%s: %s fills the last of %d positions, so the radio gives no warning after it",
				slotName(r, l, n-1), last.Channel.Name, positions),
			Help:    []string{"remove a slot, or let divisions carry different ones with carried_by"},
			Related: []finding.Related{related(r.Load.Radio.At("list_positions"), "what the radio's list holds")},
			Data:    facts{"channel": last.Channel.Name, "slots": n, "list_positions": positions},
		})
	}
}

func listTooLong(r *plan.Resolved, report func(finding.Finding)) {
	for _, l := range lists(r) {
		n, positions := len(l.Slots), r.Load.Radio.ListPositions
		if positions <= 0 || n <= positions {
			continue
		}
		s := l.Slots[positions]
		report(finding.Finding{
			Place: slotPlace(s), Subject: listSubject(r, l), Cause: finding.Cause{Name: "list_positions"},
			Message: fmt.Sprintf("the list%s has %d slots, but the radio holds %d: %s and what follows cannot be built",
				ofList(r, l), n, positions, s.Channel.Name),
			Help: []string{fmt.Sprintf("remove %s; one less leaves an empty position after guard",
				plural(n-positions, "slot", "slots"))},
			Related: []finding.Related{related(r.Load.Radio.At("list_positions"), "what the radio's list holds")},
			Data:    facts{"list": listSubject(r, l), "slots": n, "list_positions": positions},
		})
	}
}

// programmed is what a slot puts into the radio, less the name on its display.
func programmed(s *plan.ResolvedSlot) plan.Programming {
	p := s.Channel.Programming()
	p.Name, p.TxTone = "", s.TxTone
	return p
}

func channelTwice(r *plan.Resolved, report func(finding.Finding)) {
	for _, l := range lists(r) {
		for i, s := range l.Slots {
			first := slices.IndexFunc(l.Slots[:i], func(o *plan.ResolvedSlot) bool { return twice(o, s) })
			if first < 0 || misusedAs(s) || misusedAs(l.Slots[first]) {
				continue // guard-misused, and its like, says what is wrong
			}
			o := l.Slots[first]
			how := fmt.Sprintf("%s stands in slot %d already", s.Channel.Name, first+1)
			if o.Channel.Name != s.Channel.Name {
				how = fmt.Sprintf("%s programs the same as %s in slot %d", s.Channel.Name, o.Channel.Name, first+1)
			}
			help := "remove one of the two slots, or choose another channel for it"
			if s.Use == radio.Guard && i == len(l.Slots)-1 {
				help = fmt.Sprintf("remove slot %d, or choose another channel for it: guard is the last slot", first+1)
			}
			report(finding.Finding{
				Place: slotPlace(s), Subject: s.Channel.Name,
				Message: fmt.Sprintf("%s: %s", slotName(r, l, i), how),
				Help:    []string{help},
				Related: []finding.Related{related(slotPlace(o), "slot %d: %s", first+1, o.Channel.Name)},
				Data:    facts{"channel": s.Channel.Name, "slots": []int{first + 1, i + 1}},
			})
		}
	}
}

// misusedAs tells that a slot has a channel for guard or aircraft and uses it for
// something else.
func misusedAs(s *plan.ResolvedSlot) bool {
	return s.Use != s.Channel.Use && (s.Channel.Use == radio.Guard || s.Channel.Use == radio.AirToGround)
}

// twice tells that two slots of a list put one thing into the radio, or show one
// name for two. One channel that opens two sites with two tones is two things.
func twice(a, b *plan.ResolvedSlot) bool {
	switch {
	case a.Channel.Name == b.Channel.Name && a.Channel.Programming() != b.Channel.Programming():
		return true
	case unchosen(a) || unchosen(b):
		return false // what they will program is not known, and another finding says so
	}
	return programmed(a) == programmed(b)
}

// standing is where a channel stands in one list.
type standing struct {
	list     *plan.List
	position int
}

// standings are where each channel stands, by display name, in order of the
// lists and slots: a channel may have a slot for each list. Of a channel that
// stands twice in a list the first counts.
func standings(lists []*plan.List) (names []string, by map[string][]standing) {
	by = map[string][]standing{}
	for _, l := range lists {
		for i, s := range l.Slots {
			name := s.Channel.Name
			all := by[name]
			switch {
			case all == nil:
				names = append(names, name)
			case all[len(all)-1].list == l:
				continue
			}
			by[name] = append(all, standing{l, i})
		}
	}
	return names, by
}

// differs is the first two lists in which a channel has different positions.
func differs(all []standing) (a, b standing, yes bool) {
	for _, s := range all {
		if s.position != all[0].position {
			return all[0], s, true
		}
	}
	return a, b, false
}

// rank orders slots so that most positions are alike in all lists: command where
// it stands first, what everybody carries, then what more divisions carry before
// what fewer do, of these first a channel that has a slot for each of several
// lists, then guard.
func rank(r *plan.Resolved, s *plan.ResolvedSlot) int {
	first := slices.IndexFunc(r.Slots, func(o *plan.ResolvedSlot) bool { return o == s || o.Use != radio.Command })
	switch {
	case s.Use == radio.Command && r.Slots[first] == s:
		return 0
	case s.Use == radio.Guard:
		return 2*len(r.Plan.Divisions) + 2
	case everybody(r, s):
		return 1
	case several(r, s):
		return 2 + 2*(len(r.Plan.Divisions)-len(s.Carriers))
	}
	return 3 + 2*(len(r.Plan.Divisions)-len(s.Carriers))
}

// everybody tells that all lists hold a slot: it has no carried_by, or one that
// names every division, and no unit is without one.
func everybody(r *plan.Resolved, s *plan.ResolvedSlot) bool {
	return !slices.ContainsFunc(r.Lists, func(l *plan.List) bool { return len(l.Slots) > 0 && !slices.Contains(l.Slots, s) })
}

// several tells that the channel of a slot has other slots in the plan.
func several(r *plan.Resolved, s *plan.ResolvedSlot) bool {
	return slices.ContainsFunc(r.Slots, func(o *plan.ResolvedSlot) bool { return o != s && o.Channel.Name == s.Channel.Name })
}

// inOrder are slots in order of their rank.
func inOrder(r *plan.Resolved, slots []*plan.ResolvedSlot) []*plan.ResolvedSlot {
	slots = slices.Clone(slots)
	slices.SortStableFunc(slots, func(a, b *plan.ResolvedSlot) int { return cmp.Compare(rank(r, a), rank(r, b)) })
	return slots
}

// positionDiffers speaks of what another order of the slots would put right.
// Where lists differ in length guard, which is last, stands elsewhere in each,
// and so does what few carry behind what others carry: nothing can be done.
func positionDiffers(r *plan.Resolved, report func(finding.Finding)) {
	if len(r.Lists) < 2 || incomplete(r) {
		return
	}
	var better []*plan.List
	for _, l := range lists(r) {
		better = append(better, &plan.List{Slots: inOrder(r, l.Slots)})
	}
	_, then := standings(better)
	names, now := standings(lists(r))
	var cause finding.Cause
	early, moves := moves(r)
	for _, s := range early {
		if !everybody(r, s) && cause.Place.IsZero() {
			cause.Place = s.At("carried_by")
		}
	}
	cause.Name = few(slotNames(early))
	stand := "stand"
	if len(slotNames(early)) == 1 {
		stand = "stands"
	}
	cause.Message = fmt.Sprintf("%%d channels are not in the same slot of every list: %s, not carried by all, %s before them", cause.Name, stand)
	cause.Help = []string{moves.Title}
	cause.Edits = []finding.Edit{moves}
	for _, name := range names {
		a, b, yes := differs(now[name])
		if _, _, still := differs(then[name]); !yes || still || len(early) == 0 {
			continue
		}
		s := b.list.Slots[b.position]
		report(offering(finding.Finding{
			Place: slotPlace(s), Subject: name,
			Message: fmt.Sprintf("%s is slot %d in one list, %d in another: %s, not carried by all, %s before it",
				name, a.position+1, b.position+1, cause.Name, stand),
			Details: []string{fmt.Sprintf("%s: %s, %s", name, slotName(r, a.list, a.position), slotName(r, b.list, b.position))},
			Related: []finding.Related{related(cause.Place, "%s is not carried by all", early[0].Channel.Name)},
			Data:    facts{"channel": name, "positions": []int{a.position + 1, b.position + 1}, "not_carried_by_all": slotNames(early)},
			Cause:   cause,
		}, moves))
	}
}

// slotNames are the channels of slots, each once.
func slotNames(slots []*plan.ResolvedSlot) []string {
	var names []string
	for _, s := range slots {
		if !slices.Contains(names, s.Channel.Name) {
			names = append(names, s.Channel.Name)
		}
	}
	return names
}

// entry is the [[slot]] of a slot, with its line where the name is not enough.
func entry(r *plan.Resolved, s *plan.ResolvedSlot) string {
	if several(r, s) {
		return fmt.Sprintf("%s in line %d", s.Channel.Name, s.At("").Line)
	}
	return s.Channel.Name
}

// moves are the slots that stand before others which more divisions carry, and
// what to do about it, one step after the other: they move down, or, where that
// is less work, what they stand before moves up.
func moves(r *plan.Resolved) (early []*plan.ResolvedSlot, all finding.Edit) {
	var late []*plan.ResolvedSlot
	lowest, highest := 2*len(r.Plan.Divisions)+2, 0
	for i, s := range r.Slots {
		if last := r.Slots[len(r.Slots)-1-i]; rank(r, last) > lowest && last.Use != radio.Guard {
			early = append(early, last)
		} else {
			lowest = min(lowest, rank(r, last))
		}
		if s.Use != radio.Guard && rank(r, s) < highest {
			late = append(late, s)
		} else if s.Use != radio.Guard {
			highest = rank(r, s)
		}
	}
	slices.Reverse(early)
	if len(early) == 0 {
		return nil, finding.Edit{}
	}
	sorted := inOrder(r, r.Slots)
	e := edit.In(r.Slots[0].Table)
	var steps []string
	if len(late) < len(early) {
		// All moves are of the text as it was: each goes before the next that stays.
		for i, s := range slices.Backward(sorted) {
			if slices.Contains(late, s) {
				steps = append(steps, fmt.Sprintf("put the [[slot]] of %s right before that of %s", entry(r, s), entry(r, sorted[i+1])))
			}
		}
		for i, s := range sorted {
			if slices.Contains(late, s) {
				e.MoveBefore(s.Table, staying(sorted[i+1:], late).Table)
			}
		}
		return early, e.Edit(strings.Join(steps, "; then "))
	}
	for i, s := range sorted {
		if slices.Contains(early, s) {
			steps = append(steps, fmt.Sprintf("put the [[slot]] of %s right after that of %s", entry(r, s), entry(r, sorted[i-1])))
			before := slices.Clone(sorted[:i])
			slices.Reverse(before)
			e.MoveAfter(s.Table, staying(before, early).Table)
		}
	}
	return early, e.Edit(strings.Join(steps, "; then "))
}

// staying is the first of the slots that does not move.
func staying(slots, moving []*plan.ResolvedSlot) *plan.ResolvedSlot {
	return slots[slices.IndexFunc(slots, func(s *plan.ResolvedSlot) bool { return !slices.Contains(moving, s) })]
}
