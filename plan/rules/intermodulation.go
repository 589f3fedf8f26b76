package rules

import (
	"fmt"
	"slices"
	"strings"

	"slotcard/plan"
	"slotcard/plan/finding"
	"slotcard/plan/spectrum"
)

func init() {
	register(Rule{
		ID:        "intermodulation",
		Severity:  finding.Advice,
		Statement: "no third-order product of two transmitters falls into a channel of the plan, nor one of three into command, air-to-ground or guard",
		Why: "radios that transmit at once beside each other make signals at 2 x f1 - f2; " +
			"one in a channel of the list covers a weak call there, and nobody knows where it comes from",
		Source:     "arithmetic; examples of an amateur examination (ISED A-005-006-004), secondary",
		Bad:        "[[slot]]\nchannel = \"VFIRE22\"     # 154.2650\n[[slot]]\nchannel = \"VFIRE21\"     # 154.2800\n[[slot]]\nchannel = \"VFIRE23\"     # 154.2950: evenly spaced",
		Good:       "[[slot]]\nchannel = \"VFIRE22\"\n[[slot]]\nchannel = \"VFIRE21\"\n[[slot]]\nchannel = \"QB TAC 3\"    # 154.9500",
		Fix:        "use channels that are not evenly spaced; the finding names one if the load has it",
		Acceptable: true,
		Check:      intermodulation,
	})
}

// mostRows is how many products a finding lists.
const mostRows = 40

// serious are the products that are worth a word: two radios are enough to make
// them, or they fall where a call for help, orders or aircraft are heard; and all
// who take part are in reach of one place.
func (b *bench) serious(hits []spectrum.Hit, air []spectrum.Channel) []spectrum.Hit {
	return slices.DeleteFunc(hits, func(h spectrum.Hit) bool {
		return h.Signals() > 2 && !matters(air[h.Victim].Use) || !b.meet(h)
	})
}

func intermodulation(r *plan.Resolved, report func(finding.Finding)) {
	for _, l := range onAir(r) {
		search := newBench(r, l)
		air := search.air
		hits := search.serious(spectrum.ThirdOrder(air), air)
		if len(hits) == 0 {
			continue
		}
		hits, at, c := remedy(search, hits)
		if c == nil {
			continue // distance is the remedy, and the card says so
		}
		worst := hits[0]
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
		message := fmt.Sprintf("talking on slots %s together interferes with %s", and(from), named(r, l, worst.Victim))
		if more := len(hits) - 1; more > 0 {
			message += fmt.Sprintf("; %d more in the list", more)
		}
		f := finding.Finding{
			Place: slotPlace(l.Slots[at]), Subject: listSubject(r, l), Message: message, Help: []string{take(r, l, at, c)}, Details: rows,
			Data: facts{"list": listSubject(r, l), "two_signal": two, "three_signal": len(hits) - two, "products": data},
		}
		for _, t := range append(worst.Transmitters, worst.Victim) {
			f.Related = append(f.Related, related(slotPlace(l.Slots[t]), "slot %d: %s", t+1, l.Slots[t].Channel))
		}
		suggest(f.Data, at, c)
		report(f)
	}
}

// remedy is the one change that leaves none of the products, or at least none
// onto command, air-to-ground and guard: those are the products then. A long list
// has some whatever it holds, and one change out of several is no help.
func remedy(b *bench, all []spectrum.Hit) (hits []spectrum.Hit, at int, c *plan.Channel) {
	vital := slices.DeleteFunc(slices.Clone(all), func(h spectrum.Hit) bool { return !matters(b.air[h.Victim].Use) })
	for _, hits := range [][]spectrum.Hit{all, vital} {
		if len(hits) == 0 {
			continue
		}
		of := len(hits) == len(all)
		left := func(hits []spectrum.Hit, with []spectrum.Channel) bool {
			return slices.ContainsFunc(b.serious(hits, with), func(h spectrum.Hit) bool { return of || matters(with[h.Victim].Use) })
		}
		// A slot without which products are left is not the one to change; with any
		// other, what the channel tried brings of its own is all that there is.
		slots := slices.DeleteFunc(append([]int{hits[0].Victim}, hits[0].Transmitters...), func(i int) bool {
			without := slices.Clone(b.air)
			without[i] = spectrum.Channel{Use: b.air[i].Use}
			return left(spectrum.Products(without), without)
		})
		if len(slots) == 0 {
			continue
		}
		at, c := b.betterOf(slots, func(i int, with []spectrum.Channel) bool { return !left(spectrum.ThirdOrderOf(with, i), with) })
		if c != nil {
			return hits, at, c
		}
	}
	return nil, 0, nil
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
	names := make([]string, 0, len(from)+1)
	for _, t := range append(slices.Clone(h.Transmitters), h.Victim) {
		names = append(names, l.Slots[t].Channel.Name)
	}
	return facts{"transmit_slots": from, "channels": names, "victim_slot": h.Victim + 1, "product_hz": h.Product, "off_hz": h.Off}
}
