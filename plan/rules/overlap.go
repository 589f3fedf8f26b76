package rules

import (
	"fmt"
	"slices"

	"slotcard/plan"
	"slotcard/plan/finding"
	"slotcard/plan/spectrum"
)

// Signals that cover each other.
func init() {
	const source = "necessary bandwidth of 47 CFR 2.202(g) and ITU-R SM.1138: 11 kHz for narrow analog, 16 kHz for wide, 8.1 kHz for digital"
	register(
		Rule{
			ID:         "overlap",
			Severity:   finding.Warning,
			Statement:  "signals of slots that are used side by side do not overlap",
			Why:        "national fire tacticals stand 7.5 kHz apart, and a narrow signal is 11 kHz wide: a near radio on one breaks into the other",
			Source:     source,
			Bad:        "[[slot]]\nchannel = \"VFIRE21\"     # 154.2800\ndivision = \"A\"\n[[slot]]\nchannel = \"VFIRE24\"     # 154.2725\ndivision = \"B\"",
			Good:       "[[slot]]\nchannel = \"VFIRE21\"     # 154.2800\ndivision = \"A\"\n[[slot]]\nchannel = \"VFIRE22\"     # 154.2650\ndivision = \"B\"",
			Fix:        "use channels farther apart",
			Acceptable: true,
			Check:      func(r *plan.Resolved, report func(finding.Finding)) { overlap(r, true, report) },
		},
		Rule{
			ID:         "overlap-apart",
			Severity:   finding.Advice,
			Statement:  "signals of divisions that are not neighbors do not overlap if the load has another channel",
			Why:        "a radio on a ridge between them hears both, and crews move",
			Source:     source,
			Bad:        "[[slot]]\nchannel = \"VFIRE21\"\ndivision = \"A\"\n[[slot]]\nchannel = \"VFIRE24\"     # A and M are not neighbors\ndivision = \"M\"",
			Good:       "[[slot]]\nchannel = \"VFIRE21\"\ndivision = \"A\"\n[[slot]]\nchannel = \"VFIRE22\"\ndivision = \"M\"",
			Fix:        "use the channel that the finding names",
			Acceptable: true,
			Check:      func(r *plan.Resolved, report func(finding.Finding)) { overlap(r, false, report) },
		},
	)
}

// sideBySide tells whether two slots are used in one place or beside each other,
// and says by whom.
func sideBySide(r *plan.Resolved, a, b *plan.ResolvedSlot) (bool, string) {
	if len(a.Users) == 0 || len(b.Users) == 0 {
		return true, "nothing keeps their users apart"
	}
	for _, d := range a.Users {
		if slices.Contains(b.Users, d) {
			return true, d.Title() + " works on both"
		}
	}
	for _, d := range a.Users {
		for _, n := range r.Neighbors(d) {
			if slices.Contains(b.Users, n) {
				return true, d.Title() + " and " + n.Title() + " are neighbors"
			}
		}
	}
	return false, a.Users[0].Title() + " and " + b.Users[0].Title() + " are apart"
}

func overlap(r *plan.Resolved, near bool, report func(finding.Finding)) {
	for _, l := range onAir(r) {
		search := newBench(r, l)
		air := search.air
		for j := range air {
			for i := range j {
				a, b := l.Slots[i], l.Slots[j]
				shared := spectrum.Clash(air[i], air[j])
				if shared == 0 || neighborsOn(r, a, b) || saidOfRepeater(a, b) || onGuard(r, a) != nil || onGuard(r, b) != nil { // said by other rules
					continue
				}
				beside, who := sideBySide(r, a, b)
				if beside != near {
					continue
				}
				at, c := search.betterOf([]int{i, j}, nil)
				if c == nil && !near {
					continue // nothing that the reader could do
				}
				help := "take channels at least " + ((air[i].Receive().Bandwidth + air[j].Receive().Bandwidth) / 2).KHz() + " kHz apart; the load has none that fits"
				what := fmt.Sprintf("overlap by %s kHz", shared.KHz())
				if air[i].Rx == air[j].Rx {
					what = fmt.Sprintf("are both on %s", air[i].Rx)
				}
				data := facts{
					"slots": []int{i + 1, j + 1}, "channels": []string{a.Channel.Name, b.Channel.Name}, "overlap_hz": shared,
					"apart_hz": spectrum.Apart(air[i].Rx, air[j].Rx), "side_by_side": near,
				}
				suggest(data, at, c)
				report(offering(finding.Finding{
					Place: slotPlace(b), Subject: a.Channel.Name + " and " + b.Channel.Name, Cause: because(l, at),
					Message: fmt.Sprintf("slot %d %s and %s %s: %s", i+1, a.Channel.Name, named(r, l, j), what, who),
					Related: []finding.Related{related(slotPlace(a), "slot %d: %s", i+1, a.Channel), related(slotPlace(b), "slot %d: %s", j+1, b.Channel)},
					Data:    data,
				}, taking(r, l, at, c, help)))
			}
		}
	}
}

// suggest adds a better channel to the data of a finding.
func suggest(data facts, slot int, c *plan.Channel) {
	if c != nil {
		data["change_slot"], data["to_channel"], data["to_place"] = slot+1, c.Name, c.Place()
	}
}
