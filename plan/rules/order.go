package rules

import (
	"fmt"
	"slices"

	"slotcard/plan"
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
			Statement: "a channel that stands in several lists has the same position in all of them",
			Why:       "\"go to slot 3\" must mean one thing on the whole incident",
			Bad: "[[slot]]\nchannel = \"VFIRE21\"\ncarried_by = [\"A\"]\n[[slot]]\nchannel = \"VFIRE23\"" +
				"     # slot 3 for A, slot 2 for the others",
			Good: "[[slot]]\nchannel = \"VFIRE23\"     # slot 2 for everybody\n[[slot]]\nchannel = \"VFIRE21\"\n" +
				"carried_by = [\"A\"]\n[[slot]]\nchannel = \"VFIRE22\"\ncarried_by = [\"B\"]",
			Fix: "put the slots that everybody carries first, then give each list as many slots of its own as the " +
				"others have, then guard",
			Acceptable: true,
			Check:      positionDiffers,
		},
	)
}

func commandFirst(r *plan.Resolved, report func(finding.Finding)) {
	for _, l := range lists(r) {
		s := l.Slots[0]
		if s.Use == radio.Command || missing(r, radio.Command) {
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
				f.Help = []string{fmt.Sprintf("move the [[slot]] of %s to the top", c.Channel.Name)}
				f.Related = []finding.Related{related(slotPlace(c), "%s is command, in slot %d", c.Channel.Name, i+1)}
				break
			}
		}
		report(f)
	}
}

func noGuard(r *plan.Resolved, report func(finding.Finding)) {
	for _, l := range lists(r) {
		if count(l, radio.Guard) > 0 || missing(r, radio.Guard) {
			continue
		}
		help := []string{"add the guard channel as the last [[slot]]"}
		for _, c := range r.Load.Channels() {
			if c.Use == radio.Guard {
				help = []string{fmt.Sprintf("add a last [[slot]] with channel = %q", c.Name)}
				break
			}
		}
		report(finding.Finding{
			Place: listPlace(l), Subject: listSubject(r, l),
			Message: fmt.Sprintf("the list%s has no guard channel", ofList(r, l)), Help: help,
			Data: facts{"list": listSubject(r, l), "slots": len(l.Slots)},
		})
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
			report(finding.Finding{
				Place: slotPlace(s), Subject: s.Channel.Name,
				Message: fmt.Sprintf("%s: %s is guard, but %s it", slotName(r, l, i), s.Channel.Name,
					plural(len(l.Slots)-1-i, "slot follows", "slots follow")),
				Help:    []string{fmt.Sprintf("move the [[slot]] of %s to the bottom", s.Channel.Name)},
				Related: []finding.Related{related(slotPlace(last), "%s is last, in slot %d", last.Channel.Name, len(l.Slots))},
				Data:    facts{"channel": s.Channel.Name, "slot": i + 1, "slots": len(l.Slots)},
			})
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
			Message: fmt.Sprintf("%s: %s fills the last of %d positions, so nothing warns after it",
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
			Place: slotPlace(s), Subject: listSubject(r, l),
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
		names, contents := map[string]int{}, map[plan.Programming]int{}
		for i, s := range l.Slots {
			first, twice := names[s.Channel.Name]
			how := fmt.Sprintf("%s stands in slot %d already", s.Channel.Name, first+1)
			if !twice && !unchosen(s) {
				if first, twice = contents[programmed(s)]; twice {
					how = fmt.Sprintf("%s programs the same as %s in slot %d", s.Channel.Name, l.Slots[first].Channel.Name, first+1)
				}
			}
			if !twice {
				names[s.Channel.Name] = i
				if !unchosen(s) {
					contents[programmed(s)] = i
				}
				continue
			}
			report(finding.Finding{
				Place: slotPlace(s), Subject: s.Channel.Name,
				Message: fmt.Sprintf("%s: %s", slotName(r, l, i), how),
				Help:    []string{"remove one of the two slots, or choose another channel for it"},
				Related: []finding.Related{related(slotPlace(l.Slots[first]), "slot %d: %s", first+1, l.Slots[first].Channel.Name)},
				Data:    facts{"channel": s.Channel.Name, "slots": []int{first + 1, i + 1}},
			})
		}
	}
}

func positionDiffers(r *plan.Resolved, report func(finding.Finding)) {
	if len(r.Lists) < 2 || incomplete(r) {
		return
	}
	type standing struct {
		list     *plan.List
		position int
		differs  bool
	}
	first := map[string]*standing{} // by display name: a channel may have a slot for each list
	for _, l := range r.Lists {
		inThis := map[string]bool{}
		for i, s := range l.Slots {
			name := s.Channel.Name
			was := first[name]
			switch {
			case inThis[name]: // said by channel-twice
			case was == nil:
				first[name] = &standing{list: l, position: i}
			case was.position != i && !was.differs:
				was.differs = true
				f := finding.Finding{
					Place: slotPlace(s), Subject: name,
					Message: fmt.Sprintf("%s stands in %s, but in %s", name,
						slotName(r, was.list, was.position), slotName(r, l, i)),
					Help: []string{"put slots with carried_by behind those that everybody carries, as many in each list"},
					Data: facts{"channel": name, "positions": []int{was.position + 1, i + 1}},
				}
				if other := uncommon(was.list, l, was.position, i); other != nil {
					f.Related = []finding.Related{related(other.At("carried_by"), "%s is not carried by all", other.Channel.Name)}
				}
				report(f)
			}
			inThis[name] = true
		}
	}
}

// uncommon is the first slot before positions i of a and j of b that only one
// of the lists holds.
func uncommon(a, b *plan.List, i, j int) *plan.ResolvedSlot {
	for _, s := range a.Slots[:i] {
		if !slices.Contains(b.Slots, s) {
			return s
		}
	}
	for _, s := range b.Slots[:j] {
		if !slices.Contains(a.Slots, s) {
			return s
		}
	}
	return nil
}
