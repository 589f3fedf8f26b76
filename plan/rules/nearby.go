package rules

import (
	"cmp"
	"fmt"
	"slices"

	"slotcard/plan"
	"slotcard/plan/finding"
	"slotcard/plan/radio"
	"slotcard/plan/spectrum"
)

// Transmitters beside receivers.
func init() {
	register(
		Rule{
			ID:         "repeater-input",
			Severity:   finding.Advice,
			Statement:  "no slot receives what another slot sends to its repeater",
			Why:        "who listens there hears half of somebody else's talk, and who talks there goes into the repeater",
			Bad:        "[[slot]]\nchannel = \"VTAC36\"     # transmits on 159.4725\n[[slot]]\nchannel = \"VTAC14\"     # receives on 159.4725",
			Good:       "[[slot]]\nchannel = \"VTAC36\"\n[[slot]]\nchannel = \"VTAC13\"",
			Fix:        "use another channel for the direct slot",
			Acceptable: true,
			Check:      repeaterInput,
		},
		Rule{
			ID:        "desense",
			Severity:  finding.Advice,
			Statement: "no slot transmits within 30 kHz of what command, air-to-ground or guard receives, if the load has another channel",
			Why: "a near radio spills over into the channels beside its own: the crew's own tactical keeps " +
				"command or aircraft from being heard, and some paces do not help",
			Source:     "common practice; 30 kHz is our choice: farther off, distance between the radios is the remedy",
			Bad:        "[[slot]]\nchannel = \"QB TAC 9\"     # 151.8425\n[[slot]]\nchannel = \"QB AG 1\"      # 151.8575",
			Good:       "[[slot]]\nchannel = \"QB TAC 3\"     # 154.9500\n[[slot]]\nchannel = \"QB AG 1\"      # 151.8575",
			Fix:        "use the channel that the finding names",
			Acceptable: true,
			Check:      desense,
		},
	)
}

func repeaterInput(r *plan.Resolved, report func(finding.Finding)) {
	for _, l := range onAir(r) {
		search := newBench(r, l)
		air := search.air
		for t := range air {
			for v := range air {
				if t == v || saidOfRepeater(l.Slots[t], l.Slots[v]) || !spectrum.HearsInput(air[t], air[v]) || spectrum.Clash(air[t], air[v]) > 0 {
					continue
				}
				at, c := search.betterOf([]int{t, v}, nil)
				help := "keep these two apart; the load has no channel of the same use in place of either"
				from, to := l.Slots[t], l.Slots[v]
				data := facts{
					"transmit_slot": t + 1, "receive_slot": v + 1, "channels": []string{from.Channel.Name, to.Channel.Name},
					"tx_hz": air[t].Tx, "rx_hz": air[v].Rx,
				}
				suggest(data, at, c)
				report(offering(finding.Finding{
					Place: slotPlace(to), Subject: from.Channel.Name + " and " + to.Channel.Name, Cause: because(l, at),
					Message: fmt.Sprintf("%s receives on %s what slot %d %s sends to its repeater", named(r, l, v), air[v].Rx, t+1, from.Channel.Name),
					Related: []finding.Related{related(slotPlace(from), "slot %d: %s", t+1, from.Channel), related(slotPlace(to), "slot %d: %s", v+1, to.Channel)},
					Data:    data,
				}, taking(r, l, at, c, help)))
			}
		}
	}
}

// desense says one thing about a list: its nearest pair, and that there are
// others.
func desense(r *plan.Resolved, report func(finding.Finding)) {
	for _, l := range lists(r) {
		search := newBench(r, l)
		air := search.air
		var pairs []nearPair
		for j := range air {
			for i := range j {
				a, b := air[i], air[j]
				apart, deaf := deafens(a, b)
				if !deaf || spectrum.Clash(a, b) > 0 || spectrum.HearsInput(a, b) || spectrum.HearsInput(b, a) {
					continue
				}
				at, c := search.betterOf([]int{i, j}, nil)
				if c == nil {
					continue // nothing that the reader could do
				}
				pairs = append(pairs, nearPair{i, j, apart, at, c})
			}
		}
		if len(pairs) == 0 {
			continue
		}
		slices.SortStableFunc(pairs, func(a, b nearPair) int { return cmp.Compare(a.apart, b.apart) })
		first := pairs[0]
		a, b := l.Slots[first.i], l.Slots[first.j]
		message := fmt.Sprintf("slot %d %s and %s stand %s kHz apart: side by side one deafens the other",
			first.i+1, a.Channel.Name, named(r, l, first.j), first.apart.KHz())
		if more := len(pairs) - 1; more > 0 {
			message += fmt.Sprintf("; the list has %s", plural(more, "more such pair", "more such pairs"))
		}
		var rows []string
		var data []facts
		for _, p := range pairs {
			rows = append(rows, fmt.Sprintf("slot %d %s and slot %d %s: %s kHz; %s",
				p.i+1, l.Slots[p.i].Channel.Name, p.j+1, l.Slots[p.j].Channel.Name, p.apart.KHz(), take(r, l, p.at, p.to)))
			f := facts{"slots": []int{p.i + 1, p.j + 1}, "channels": []string{l.Slots[p.i].Channel.Name, l.Slots[p.j].Channel.Name}, "apart_hz": p.apart}
			suggest(f, p.at, p.to)
			data = append(data, f)
		}
		report(finding.Finding{
			Place: slotPlace(l.Slots[first.at]), Subject: listSubject(r, l), Message: message,
			Help: []string{take(r, l, first.at, first.to)}, Details: rows,
			Related: []finding.Related{related(slotPlace(a), "slot %d: %s", first.i+1, a.Channel), related(slotPlace(b), "slot %d: %s", first.j+1, b.Channel)},
			Data:    facts{"list": listSubject(r, l), "pairs": data},
		})
	}
}

// nearPair is a pair of slots too near for two radios side by side, and what to
// take for one of them.
type nearPair struct {
	i, j  int
	apart radio.Hertz
	at    int
	to    *plan.Channel
}
