package rules

import (
	"fmt"

	"slotcard/plan"
	"slotcard/plan/edit"
	"slotcard/plan/finding"
	"slotcard/plan/published"
	"slotcard/plan/radio"
)

// Tones and codes against the published tables.
func init() {
	const dcsSource = "list of 83 codes (encyclopedia copies), 106 (open-source constants) and 112 (public table), secondary; " +
		"words recomputed from the Golay code"
	register(
		Rule{
			ID:         "ctcss-unpublished",
			Severity:   finding.Warning,
			Statement:  "a CTCSS tone is one of the published tones",
			Why:        "most radios offer the published tones only, so a digit is wrong, or some radios cannot be programmed",
			Source:     "six published sets of 32 to 50 tones (data sheets, MPT 1306, public lists), secondary",
			Bad:        "tx_tone = 146.0",
			Good:       "tx_tone = 146.2",
			Fix:        "write the tone that the repeater's owner publishes; the finding names the nearest",
			Acceptable: true,
			CheckLoad:  ctcssUnpublished,
		},
		Rule{
			ID:         "dcs-unknown",
			Severity:   finding.Warning,
			Statement:  "a DCS code is one of the published codes",
			Why:        "most radios offer the published codes only, so a digit is wrong, or some radios cannot be programmed",
			Source:     dcsSource,
			Bad:        "tx_tone = \"D040\"",
			Good:       "tx_tone = \"D047\"",
			Fix:        "write the code that the channel's owner publishes",
			Acceptable: true,
			CheckLoad:  dcsUnknown,
		},
		Rule{
			ID:        "dcs-alias",
			Severity:  finding.Advice,
			Statement: "a DCS code is written as the published lists write it, and two codes that differ are two codes",
			Why:       "340 and 023 are one code on the air, and so are 023 inverted and 047: radios offer one of them, and who compares two cards takes them for different",
			Source:    dcsSource,
			Bad:       "tx_tone = \"D340\"",
			Good:      "tx_tone = \"D023\"",
			Fix:       "write the code which the finding names",
			CheckLoad: dcsAlias,
		},
		Rule{
			ID:        "nac-reserved",
			Severity:  finding.Error,
			Statement: "a network access code that stands for any code is never transmitted",
			Why:       "F7E and F7F tell a receiver or a repeater to take every code: nobody's radio is set to a transmitted one",
			Source:    "encyclopedia article copies (three), secondary; the standard, TIA-102.BAAC, could not be read",
			Bad:       "rx_tone = \"NF7E\"\ntx_tone = \"NF7E\"",
			Good:      "rx_tone = \"NF7E\"\ntx_tone = \"N293\"",
			Fix:       "write the code that the repeater, or the others, listen for",
			CheckLoad: nacReserved,
		},
	)
}

// written is a squelch value of a load, and where it is written.
type written struct {
	squelch radio.Squelch
	place   finding.Place
	what    string // such as "tone 4", "site Bellwether", "2-01 VFIRE21 rx_tone"
	subject string
	sent    bool // a radio transmits it
}

// squelches are all tones and codes that a load holds, in order of the file's
// parts.
func squelches(l *plan.Load) []written {
	var all []written
	add := func(w written) {
		if !w.squelch.IsZero() && w.squelch != radio.Site {
			all = append(all, w)
		}
	}
	for _, t := range l.Tones {
		add(written{t.Hz, t.At("hz"), fmt.Sprintf("tone %d", t.Number), t.Hz.String(), true})
	}
	for _, s := range l.Sites {
		add(written{s.Tone.Squelch, s.At("tone"), "site " + s.Name, s.Tone.Squelch.String(), true})
	}
	for _, c := range l.Channels() {
		add(written{c.RxTone, c.At("rx_tone"), c.Place() + " " + c.Name, c.RxTone.String(), false})
		if !c.ReceiveOnly {
			add(written{c.TxTone, c.At("tx_tone"), c.Place() + " " + c.Name, c.TxTone.String(), true})
		}
	}
	return all
}

// slipOfTone is how far off, in tenths of a hertz, a tone is a slip of one digit,
// so that the nearest is what was meant: the tones stand 2 Hz apart and more.
const slipOfTone = 5

func ctcssUnpublished(l *plan.Load, report func(finding.Finding)) {
	for _, w := range squelches(l) {
		if w.squelch.Kind != radio.CTCSS {
			continue
		}
		if known, nearest := published.CTCSS(w.squelch); !known {
			f := finding.Finding{
				Place: w.place, Subject: w.subject,
				Message: fmt.Sprintf("%s: %s Hz is no published CTCSS tone; the nearest is %s", w.what, w.squelch, nearest),
				Data:    facts{"tone": w.squelch.String(), "nearest": nearest.String()},
			}
			if off := w.squelch.Value - nearest.Value; off >= -slipOfTone && off <= slipOfTone {
				f.Offer(edit.In(l.Table).Write(w.place, nearest.String()).Edit(fmt.Sprintf("write %s", nearest)))
			}
			f.Help = append(f.Help, "ask the owner of the channel for its tone")
			report(f)
		}
	}
}

func dcsUnknown(l *plan.Load, report func(finding.Finding)) {
	for _, w := range squelches(l) {
		if w.squelch.Kind != radio.DCS || published.DCSKnown(w.squelch.Value) {
			continue
		}
		if _, ok := published.DCSWritten(w.squelch); ok {
			continue // another writing of a code that is listed
		}
		help := "ask the owner of the channel for its code"
		close := closeCodes(w.squelch)
		if len(close) > 0 {
			help = "one digit away are " + and(close) + "; " + help
		}
		report(finding.Finding{
			Place: w.place, Subject: w.subject,
			Message: fmt.Sprintf("%s: %s is no published DCS code", w.what, w.squelch),
			Help:    []string{help},
			Data:    facts{"code": w.squelch.String(), "close": close},
		})
	}
}

// closeCodes are the published codes that differ from q in one digit, or by two
// neighboring digits swapped.
func closeCodes(q radio.Squelch) []string {
	digits := func(code int) [3]int { return [3]int{code >> 6 & 7, code >> 3 & 7, code & 7} }
	a := digits(q.Value)
	close := []string{}
	for code := range 0o1000 {
		b := digits(code)
		wrong := 0
		for i := range a {
			if a[i] != b[i] {
				wrong++
			}
		}
		swapped := b == [3]int{a[1], a[0], a[2]} || b == [3]int{a[0], a[2], a[1]}
		if (wrong == 1 || swapped) && published.DCSKnown(code) {
			close = append(close, radio.Squelch{Kind: radio.DCS, Value: code, Inverted: q.Inverted}.String())
		}
	}
	return close
}

func dcsAlias(l *plan.Load, report func(finding.Finding)) {
	for _, w := range squelches(l) {
		if w.squelch.Kind != radio.DCS || published.DCSKnown(w.squelch.Value) {
			continue
		}
		if listed, ok := published.DCSWritten(w.squelch); ok {
			report(offering(finding.Finding{
				Place: w.place, Subject: w.subject,
				Message: fmt.Sprintf("%s: %s is the code that radios and lists call %s", w.what, w.squelch, listed),
				Data:    facts{"code": w.squelch.String(), "listed": listed.String()},
			}, edit.In(l.Table).Write(w.place, fmt.Sprintf("%q", listed)).Edit("")))
		}
	}
	// Two channels on one frequency, told apart by codes that are the same.
	onFrequency := map[radio.Hertz][]*plan.Channel{}
	for _, c := range conventional(l) {
		if c.RxTone.Kind != radio.DCS {
			continue
		}
		for _, first := range onFrequency[c.Rx] {
			if first.RxTone == c.RxTone || !published.SameSquelch(first.RxTone, c.RxTone) {
				continue
			}
			report(finding.Finding{
				Place: c.At("rx_tone"), Subject: c.Name,
				Message: fmt.Sprintf("%s %s: %s is the same code as %s of %s on the same frequency", c.Place(), c.Name, c.RxTone, first.RxTone, first.Name),
				Help:    []string{fmt.Sprintf("write %q for both if they are to hear each other, else choose another code", first.RxTone)},
				Related: []finding.Related{related(first.At("rx_tone"), "%s", first)},
				Data:    facts{"channel": c.Name, "code": c.RxTone.String(), "other": first.Name, "other_code": first.RxTone.String()},
			})
			break
		}
		onFrequency[c.Rx] = append(onFrequency[c.Rx], c)
	}
}

func nacReserved(l *plan.Load, report func(finding.Finding)) {
	for _, w := range squelches(l) {
		if w.squelch.Kind != radio.NAC || !w.sent {
			continue
		}
		code, reserved := published.ReservedNAC(w.squelch.Value)
		if !reserved {
			continue
		}
		report(finding.Finding{
			Place: w.place, Subject: w.subject,
			Message: fmt.Sprintf("%s transmits %s, which stands for any code (%s)", w.what, w.squelch, code.Name),
			Help:    []string{"write the code that the repeater, or the others, listen for"},
			Data:    facts{"code": w.squelch.String(), "meaning": code.Name, "source": code.Source, "how": code.How},
		})
	}
}
