package rules

import (
	"fmt"
	"slices"
	"strings"

	"slotcard/plan"
	"slotcard/plan/edit"
	"slotcard/plan/finding"
	"slotcard/plan/published"
	"slotcard/plan/radio"
)

// National interoperability channels under their names, and under others.
func init() {
	const why = "who comes from elsewhere has the national channel under that name, and is on another frequency"
	const guide = "NIFOG 2.02 (CISA, January 2025), through an open-data transcription; names of ANS 1.104"
	register(
		Rule{
			ID:        "interop-frequency",
			Severity:  finding.Error,
			Statement: "a channel with the name of a national interoperability channel has its frequencies",
			Why:       why,
			Source:    guide,
			Bad:       "name = \"VFIRE22\"\nrx   = 154.2950",
			Good:      "name = \"VFIRE22\"\nrx   = 154.2650",
			Fix:       "write the published frequencies, or give the channel another name",
			CheckLoad: func(l *plan.Load, report func(finding.Finding)) { interopFrequency(l, false, report) },
		},
		Rule{
			ID:         "interop-frequency-unsure",
			Severity:   finding.Warning,
			Statement:  "a channel with the name of a national channel of 700 or 800 MHz has its frequencies",
			Why:        why + "; the published values are known from memory only, so look them up in the guide",
			Source:     "NIFOG tables of 700 and 800 MHz, from memory; channel numbers of 47 CFR 90.531(b)",
			Bad:        "name = \"8CALL90\"\nrx   = 851.0250\ntx   = 806.0250",
			Good:       "name = \"8CALL90\"\nrx   = 851.0125\ntx   = 806.0125",
			Fix:        "compare the channel with the guide, and correct it or accept it",
			Acceptable: true,
			CheckLoad:  func(l *plan.Load, report func(finding.Finding)) { interopFrequency(l, true, report) },
		},
		Rule{
			ID:         "interop-tone",
			Severity:   finding.Warning,
			Statement:  "a national interoperability channel has the published tones",
			Why:        "with another transmit tone others do not hear the call, with another receive tone they are not heard",
			Source:     guide + "; where sources disagree nothing is asked",
			Bad:        "name    = \"VTAC36\"\nrx      = 151.1375\ntx      = 159.4725\ntx_tone = 123.0",
			Good:       "name    = \"VTAC36\"\nrx      = 151.1375\ntx      = 159.4725\ntx_tone = 136.5",
			Fix:        "write the published tone; accept it where your region has agreed on another",
			Acceptable: true,
			CheckLoad:  interopTone,
		},
		Rule{
			ID:         "interop-other-name",
			Severity:   finding.Advice,
			Statement:  "a national interoperability channel has its national name",
			Why:        "who is sent to the national name does not find it in the radio",
			Source:     guide,
			Bad:        "name = \"QB FIRE 2\"\nrx   = 154.2650",
			Good:       "name = \"VFIRE22\"\nrx   = 154.2650",
			Fix:        "give the channel the national name in the radios and here; accept it while the radios show another: card and radio must agree",
			Acceptable: true,
			CheckLoad:  interopOtherName,
		},
	)
}

// conventional are the channels of a load that have frequencies of their own,
// all of them read without a fault.
func conventional(l *plan.Load) []*plan.Channel {
	return slices.DeleteFunc(l.Channels(), func(c *plan.Channel) bool {
		return c.Trunked() || c.Rx == 0 || c.Tx == 0 || unread(c)
	})
}

// pair writes the frequencies of a channel: 154.2800, or 151.1375/159.4725.
func pair(rx, tx radio.Hertz) string {
	if rx == tx {
		return rx.String()
	}
	return rx.String() + "/" + tx.String()
}

func interopFrequency(l *plan.Load, remembered bool, report func(finding.Finding)) {
	for _, c := range conventional(l) {
		p, ok := published.Interop(c.Name)
		if !ok || p.Remembered() != remembered {
			continue
		}
		key := ""
		switch {
		case c.Rx != p.Rx:
			key = "rx"
		case c.Tx != p.Tx && !c.ReceiveOnly:
			if key = "tx"; !c.Has("tx") {
				key = "rx"
			}
		default:
			continue
		}
		right := edit.In(c.Table).Set(c.Table, "rx", p.Rx)
		title := fmt.Sprintf("write rx = %s", p.Rx)
		if p.Tx != p.Rx {
			title += fmt.Sprintf(" and tx = %s", p.Tx)
			right.Set(c.Table, "tx", p.Tx)
		} else if c.Has("tx") {
			right.Delete(c.Table, "tx")
		}
		help := []string{"or give the channel another name"}
		var others []string
		for _, other := range published.InteropByFrequency(c.Rx, c.Tx) {
			others = append(others, other.Name)
		}
		if len(others) > 0 {
			help = append(help, fmt.Sprintf("%s is %s", pair(c.Rx, c.Tx), strings.Join(others, " or ")))
		}
		help = append(help, "published in "+p.Origin.String())
		f := finding.Finding{
			Place: c.At(key), Subject: c.Name,
			Message: fmt.Sprintf("%s %s has %s, but the national %s is %s", c.Place(), c.Name, pair(c.Rx, c.Tx), p.Name, pair(p.Rx, p.Tx)),
			Data: facts{
				"channel": c.Name, "rx_hz": c.Rx, "tx_hz": c.Tx, "published_rx_hz": p.Rx, "published_tx_hz": p.Tx,
				"source": p.Source, "how": p.How, "frequencies_of": append([]string{}, others...),
			},
		}
		f.Offer(right.Edit(title))
		f.Help = append(f.Help, help...)
		report(f)
	}
}

// toneFault is a tone of a national channel that no source gives.
type toneFault struct {
	key, does string
	tone      radio.Squelch
	right     []radio.Squelch
	unsure    bool
}

// toneFaults are the tones of a channel that differ from the published ones. A
// receiver without tone hears everybody, which is no fault, and whether a direct
// channel hears itself at all is asked first.
func toneFaults(c *plan.Channel, p published.Channel) []toneFault {
	var faults []toneFault
	wrong := func(tone radio.Squelch, right []radio.Squelch) bool {
		return len(right) > 0 && tone != radio.Site && !slices.ContainsFunc(right, func(q radio.Squelch) bool { return published.SameSquelch(q, tone) })
	}
	if deaf(c) || wrongSquelch(c) != nil {
		return nil
	}
	if !c.RxTone.IsZero() && wrong(c.RxTone, p.RxTones) {
		faults = append(faults, toneFault{"rx_tone", "is opened by", c.RxTone, p.RxTones, p.RxUnsure})
	}
	if !c.ReceiveOnly && wrong(c.TxTone, p.TxTones) {
		faults = append(faults, toneFault{"tx_tone", "transmits", c.TxTone, p.TxTones, p.TxUnsure})
	}
	return faults
}

// cures are what to write in place of the tone.
func (t toneFault) cures(c *plan.Channel) []finding.Edit {
	last := t.right[len(t.right)-1] // the tone, where carrier squelch will do as well
	without := edit.In(c.Table).Delete(c.Table, t.key)
	if last.IsZero() {
		return []finding.Edit{without.Edit("remove " + t.key)}
	}
	title := fmt.Sprintf("write %s = %s", t.key, tomlSquelch(last))
	cures := []finding.Edit{edit.In(c.Table).Set(c.Table, t.key, edit.Raw(tomlSquelch(last))).Edit(title)}
	switch {
	case len(t.right) > 1 && t.unsure:
		cures = append(cures, without.Edit("or remove "+t.key+": sources disagree which of the two is right"))
	case len(t.right) > 1:
		cures = append(cures, without.Edit("or remove "+t.key+": no tone is the guide's default"))
	}
	return cures
}

func interopTone(l *plan.Load, report func(finding.Finding)) {
	for _, c := range conventional(l) {
		p, ok := published.Interop(c.Name)
		if !ok || c.Rx != p.Rx || c.Tx != p.Tx {
			continue
		}
		faults := toneFaults(c, p)
		if len(faults) == 0 {
			continue
		}
		t := faults[len(faults)-1] // what it transmits matters to the others
		f := finding.Finding{
			Place: c.At(t.key), Subject: c.Name,
			Message: fmt.Sprintf("%s %s %s %s, but the national channel %s", c.Place(), c.Name, t.does, toneText(t.tone), toneTexts(t.right)),
			Data: facts{
				"channel": c.Name, "key": t.key, "tone": t.tone.String(), "published": texts(t.right), "source": p.Source, "how": p.How,
			},
		}
		for _, t := range faults {
			cures := t.cures(c)
			if len(faults) == 1 {
				f.Offer(cures...)
				continue
			}
			for _, e := range cures { // each of the two keys must be put right
				f.Help = append(f.Help, e.Title)
			}
		}
		if len(faults) > 1 {
			f.Related = []finding.Related{related(c.At(faults[0].key), "%s %s", faults[0].does, toneText(faults[0].tone))}
		}
		f.Help = append(f.Help, "published in "+p.Origin.String())
		report(f)
	}
}

// tomlSquelch is a squelch value as a TOML file writes it.
func tomlSquelch(q radio.Squelch) string {
	if q.Kind == radio.CTCSS {
		return q.String()
	}
	return fmt.Sprintf("%q", q)
}

func toneText(q radio.Squelch) string {
	switch q.Kind {
	case radio.Carrier:
		return "no tone"
	case radio.CTCSS:
		return q.String() + " Hz"
	}
	return q.String()
}

func texts(qs []radio.Squelch) []string {
	out := make([]string, len(qs))
	for i, q := range qs {
		out[i] = q.String()
	}
	return out
}

func toneTexts(qs []radio.Squelch) string {
	out := make([]string, len(qs))
	for i, q := range qs {
		out[i] = toneText(q)
	}
	return strings.Join(out, " or ")
}

func interopOtherName(l *plan.Load, report func(finding.Finding)) {
	several := twins(l)
	for _, c := range conventional(l) {
		if _, national := published.Interop(c.Name); national || c.ReceiveOnly {
			continue
		}
		var names []string
		for _, p := range published.InteropByFrequency(c.Rx, c.Tx) {
			if name := strings.ReplaceAll(p.Name, " ", ""); l.Radio.NameLength == 0 || len(name) <= l.Radio.NameLength {
				names = append(names, name)
			}
		}
		if len(names) == 0 || several[nameless(c)] {
			continue // none, or none that the display shows; or channel-two-names says so
		}
		report(offering(finding.Finding{
			Place: c.At("name"), Subject: c.Name,
			Message: fmt.Sprintf("%s %s, on %s, is the national channel %s", c.Place(), c.Name, pair(c.Rx, c.Tx), strings.Join(names, " or ")),
			Data:    facts{"channel": c.Name, "rx_hz": c.Rx, "tx_hz": c.Tx, "national": names},
		}, edit.In(c.Table).Set(c.Table, "name", names[0]).Edit(fmt.Sprintf("if the radio shows %s, write name = %q", names[0], names[0])),
			words(fmt.Sprintf("if it shows %s, leave the name until the radios are changed: card and radio must agree", c.Name))))
	}
}
