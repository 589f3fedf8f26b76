package rules

import (
	"fmt"
	"strings"

	"slotcard/plan"
	"slotcard/plan/finding"
	"slotcard/plan/radio"
	"slotcard/plan/spectrum"
)

func init() {
	register(Rule{
		ID:        "intermodulation",
		Severity:  finding.Advice,
		Statement: "no third-order product of two transmitters of a list falls into a channel of the list",
		Why: "radios that transmit at once beside each other make signals at 2 x f1 - f2; " +
			"one in a channel of the list covers a weak call there, and nobody knows where it comes from",
		Source:     "arithmetic; examples of an amateur examination (ISED A-005-006-004), secondary",
		Bad:        "[[slot]]\nchannel = \"VFIRE22\"     # 154.2650\n[[slot]]\nchannel = \"VFIRE21\"     # 154.2800\n[[slot]]\nchannel = \"VFIRE23\"     # 154.2950: evenly spaced",
		Good:       "[[slot]]\nchannel = \"VFIRE22\"\n[[slot]]\nchannel = \"VFIRE21\"\n[[slot]]\nchannel = \"QB TAC 3\"    # 154.9500",
		Fix:        "take channels that are not evenly spaced; the finding names one if the load has it",
		Acceptable: true,
		Check:      intermodulation,
	})
}

// mostRows is how many products a finding lists.
const mostRows = 40

// serious hits have a reader who can act: two radios are enough to make them, or
// they fall where a call for help, orders or aircraft are heard.
func serious(air []spectrum.Channel, hits []spectrum.Hit) int {
	n := 0
	for _, h := range hits {
		switch air[h.Victim].Use {
		case radio.Guard, radio.Command, radio.AirToGround:
			n++
		default:
			if h.Signals() == 2 {
				n++
			}
		}
	}
	return n
}

func intermodulation(r *plan.Resolved, report func(finding.Finding)) {
	for _, l := range onAir(r) {
		search := newBench(r, l)
		air := search.air
		hits := spectrum.ThirdOrder(air)
		if len(hits) == 0 {
			continue
		}
		now := serious(air, hits)
		worst := hits[0]
		// A change is worth its trouble if it removes serious hits, or, where
		// there are only three-signal ones, all of them.
		at, c := search.betterOf(append([]int{worst.Victim}, worst.Transmitters...), func(with []spectrum.Channel) bool {
			left := spectrum.ThirdOrder(with)
			if now == 0 {
				return len(left) == 0
			}
			return serious(with, left) < now
		})
		if now == 0 && c == nil {
			continue
		}
		help := "the load has no channel of the same use that would do better; keep radios on these slots some paces apart"
		place := slotPlace(l.Slots[worst.Victim])
		if c != nil {
			help, place = take(r, l, at, c), slotPlace(l.Slots[at])
		}
		two := 0
		var rows []string
		var data []facts
		for _, h := range hits {
			if h.Signals() == 2 {
				two++
			}
			if len(rows) < mostRows {
				rows = append(rows, formula(l, h))
				data = append(data, hitFacts(l, h))
			}
		}
		if more := len(hits) - len(rows); more > 0 {
			rows = append(rows, fmt.Sprintf("and %d more", more))
		}
		from := make([]string, len(worst.Transmitters))
		for i, t := range worst.Transmitters {
			from[i] = fmt.Sprint(t + 1)
		}
		message := fmt.Sprintf("talk on slots %s at once disturbs %s (third-order product)", and(from), named(r, l, worst.Victim))
		if more := len(hits) - 1; more > 0 {
			message += fmt.Sprintf("; %d more in the list", more)
		}
		f := finding.Finding{
			Place: place, Subject: listSubject(r, l), Message: message, Help: []string{help}, Details: rows,
			Data: facts{"list": listSubject(r, l), "two_signal": two, "three_signal": len(hits) - two, "products": data},
		}
		for _, t := range append(worst.Transmitters, worst.Victim) {
			f.Related = append(f.Related, related(slotPlace(l.Slots[t]), "slot %d: %s", t+1, l.Slots[t].Channel))
		}
		suggest(f.Data, at, c)
		report(f)
	}
}

// formula is one row of the details: 2 x slot 2 VFIRE21 - slot 3 VFIRE22 =
// 154.2950, in slot 4 VFIRE23.
func formula(l *plan.List, h spectrum.Hit) string {
	slot := func(i int) string { return fmt.Sprintf("slot %d %s", i+1, l.Slots[i].Channel.Name) }
	var b strings.Builder
	if h.Signals() == 2 {
		fmt.Fprintf(&b, "2 x %s - %s", slot(h.Transmitters[0]), slot(h.Transmitters[1]))
	} else {
		fmt.Fprintf(&b, "%s + %s - %s", slot(h.Transmitters[0]), slot(h.Transmitters[1]), slot(h.Transmitters[2]))
	}
	fmt.Fprintf(&b, " = %s, in %s", h.Product, slot(h.Victim))
	switch {
	case h.Off > 0:
		fmt.Fprintf(&b, ", %s kHz above", h.Off.KHz())
	case h.Off < 0:
		fmt.Fprintf(&b, ", %s kHz below", (-h.Off).KHz())
	}
	return b.String()
}

func hitFacts(l *plan.List, h spectrum.Hit) facts {
	from := make([]int, len(h.Transmitters))
	for i, t := range h.Transmitters {
		from[i] = t + 1
	}
	return facts{"transmit_slots": from, "victim_slot": h.Victim + 1, "product_hz": h.Product, "off_hz": h.Off}
}
