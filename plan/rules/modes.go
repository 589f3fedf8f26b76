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

// Tones and codes against the channel that they stand at.
func init() {
	register(
		Rule{
			ID:        "direct-tones-differ",
			Severity:  finding.Error,
			Statement: "a direct channel that listens for a tone transmits the same one",
			Why:       "on a direct channel everybody has the same tones: with two that differ every receiver stays shut, and nobody hears anyone",
			Bad:       "name    = \"QB TAC 3\"\nrx      = 154.9500\nrx_tone = 103.5\ntx_tone = 156.7",
			Good:      "name    = \"QB TAC 3\"\nrx      = 154.9500\nrx_tone = 156.7\ntx_tone = 156.7",
			Fix:       "remove rx_tone, so that the receiver hears everybody, or write the tone that is transmitted",
			CheckLoad: directTonesDiffer,
		},
		Rule{
			ID:        "squelch-mode",
			Severity:  finding.Error,
			Statement: "an analog channel has tones or DCS codes, a digital one network access codes",
			Why:       "the radio cannot be programmed so, or leaves the tone out, and then the receivers or the repeater stay shut",
			Bad:       "name    = \"QB TAC 7\"\nrx      = 154.9500\nmode    = \"digital\"\ntx_tone = 156.7",
			Good:      "name    = \"QB TAC 7\"\nrx      = 154.9500\nmode    = \"digital\"\nrx_tone = \"N293\"\ntx_tone = \"N293\"",
			Fix:       "correct the mode, or write the tone or code that belongs to the mode",
			CheckLoad: squelchMode,
			Check:     siteSquelchMode,
		},
		Rule{
			ID:         "interop-mode",
			Severity:   finding.Warning,
			Statement:  "a national interoperability channel has its published mode",
			Why:        "who comes from elsewhere has the national channel in that mode, and hears noise or nothing",
			Source:     "NIFOG 2.02 (CISA, January 2025), through an open-data transcription: emission 11K0F3E, analog, for VHF and UHF; digital for 700 MHz, from memory",
			Bad:        "name = \"VFIRE22\"\nrx   = 154.2650\nmode = \"digital\"",
			Good:       "name = \"VFIRE22\"\nrx   = 154.2650\nmode = \"analog\"",
			Fix:        "write the published mode, or give the channel another name",
			Acceptable: true,
			CheckLoad:  interopMode,
		},
		Rule{
			ID:         "digital-wide",
			Severity:   finding.Warning,
			Statement:  "a digital channel is narrow",
			Why:        "its signal has one width, of a 12.5 kHz channel: a radio refuses the wide one, or the mode is wrong",
			Source:     "8K10F1E, four-level FM of a 12.5 kHz channel: public list of emission designators, secondary",
			Bad:        "mode  = \"digital\"\nwidth = \"wide\"",
			Good:       "mode  = \"digital\"",
			Fix:        "remove width, or correct the mode",
			Acceptable: true,
			CheckLoad:  digitalWide,
		},
	)
}

// anyCode tells a network access code that a receiver passes all codes with.
func anyCode(q radio.Squelch) bool {
	_, any := published.ReservedNAC(q.Value)
	return q.Kind == radio.NAC && any
}

// deaf tells that nobody on a direct channel hears anybody: all have its two
// tones, and one does not open the other. A mixed channel may listen for a tone
// and transmit a code.
func deaf(c *plan.Channel) bool {
	if c.ReceiveOnly || c.Rx != c.Tx || c.RxTone.IsZero() || c.TxTone == radio.Site || anyCode(c.RxTone) || wrongSquelch(c) != nil {
		return false
	}
	if c.Mode == radio.Mixed && c.RxTone.Kind != c.TxTone.Kind {
		return false
	}
	return !published.SameSquelch(c.RxTone, c.TxTone)
}

func directTonesDiffer(l *plan.Load, report func(finding.Finding)) {
	for _, c := range conventional(l) {
		if !deaf(c) {
			continue
		}
		f := finding.Finding{
			Place: c.At("rx_tone"), Subject: c.Name,
			Message: fmt.Sprintf("%s %s is direct, transmits %s and listens for %s: nobody hears anybody", c.Place(), c.Name, toneText(c.TxTone), toneText(c.RxTone)),
			Data:    facts{"channel": c.Name, "rx_tone": c.RxTone.String(), "tx_tone": c.TxTone.String()},
		}
		if c.Has("tx_tone") {
			f.Related = []finding.Related{related(c.At("tx_tone"), "what it transmits")}
		}
		f.Offer(edit.In(c.Table).Delete(c.Table, "rx_tone").Edit("remove rx_tone: then everybody is heard"))
		report(f)
	}
}

// wrongSquelch are the keys of the tones that do not go with the channel's mode.
func wrongSquelch(c *plan.Channel) []string {
	var keys []string
	for _, t := range []struct {
		key string
		q   radio.Squelch
	}{{"rx_tone", c.RxTone}, {"tx_tone", c.TxTone}} {
		if c.Has(t.key) && c.OK(t.key) && !fits(t.q, c.Mode) {
			keys = append(keys, t.key)
		}
	}
	return keys
}

func fits(q radio.Squelch, m radio.Mode) bool {
	switch {
	case q.IsZero() || q == radio.Site || m == radio.Mixed:
		return true
	case m == radio.Digital:
		return q.Kind == radio.NAC
	}
	return q.Kind != radio.NAC
}

func squelchMode(l *plan.Load, report func(finding.Finding)) {
	for _, c := range l.Channels() {
		keys := wrongSquelch(c)
		if keys == nil || c.Trunked() || c.Has("mode") && !c.OK("mode") {
			continue
		}
		what, other := "a network access code", radio.Digital
		if c.Mode == radio.Digital {
			what, other = "a tone or DCS code", radio.Analog
		}
		help := edit.In(c.Table).Set(c.Table, "mode", other.String()).Edit("")
		if len(keys) == 1 && !c.RxTone.IsZero() && !c.TxTone.IsZero() && c.TxTone != radio.Site {
			help = finding.Edit{Title: fmt.Sprintf("write %s as the channel's owner publishes it for a channel that is %s", keys[0], c.Mode)}
		} else if len(l.Radio.Modes) > 0 && !slices.Contains(l.Radio.Modes, other) && !slices.Contains(l.Radio.Modes, radio.Mixed) {
			e := edit.In(c.Table)
			for _, key := range keys {
				e.Delete(c.Table, key)
			}
			help = e.Edit("remove " + strings.Join(keys, " and ") + fmt.Sprintf(": the radio of this load has no mode %q", other))
		}
		f := finding.Finding{
			Place: c.At(keys[0]), Subject: c.Name,
			Message: fmt.Sprintf("%s %s is %s, but %s is %s", c.Place(), c.Name, c.Mode, strings.Join(keys, " and "), what),
			Data:    facts{"channel": c.Name, "mode": c.Mode.String(), "keys": keys},
		}
		f.Offer(help)
		report(f)
	}
}

// siteSquelchMode looks at the tone that the incident chose.
func siteSquelchMode(r *plan.Resolved, report func(finding.Finding)) {
	for _, s := range r.Slots {
		c := s.Channel
		if c.TxTone != radio.Site || fits(s.TxTone, c.Mode) {
			continue
		}
		key := "site"
		if !s.Has(key) {
			if key = "tone"; !s.Has(key) {
				key = s.Key()
			}
		}
		f := finding.Finding{
			Place: s.At(key), Subject: c.Name,
			Message: fmt.Sprintf("slot %d: %s is %s, which %s does not open", number(r, s), c.Name, c.Mode, toneText(s.TxTone)),
			Help:    []string{"choose a site whose tone goes with the mode, or correct the mode of the channel in the load"},
			Related: []finding.Related{related(c.At("name"), "%s", c)},
			Data:    facts{"channel": c.Name, "mode": c.Mode.String(), "tone": s.TxTone.String()},
		}
		report(f)
	}
}

func interopMode(l *plan.Load, report func(finding.Finding)) {
	for _, c := range conventional(l) {
		p, ok := published.Interop(c.Name)
		if !ok || c.Rx != p.Rx || c.Mode == p.Mode || c.Mode == radio.Mixed || wrongSquelch(c) != nil {
			continue
		}
		f := finding.Finding{
			Place: c.At("mode"), Subject: c.Name,
			Message: fmt.Sprintf("%s %s is %s, but the national %s is %s", c.Place(), c.Name, c.Mode, p.Name, p.Mode),
			Data:    facts{"channel": c.Name, "mode": c.Mode.String(), "published": p.Mode.String(), "source": p.Source, "how": p.How},
		}
		f.Offer(edit.In(c.Table).Set(c.Table, "mode", p.Mode.String()).Edit(""))
		f.Help = append(f.Help, "published in "+p.Origin.String())
		report(f)
	}
}

func digitalWide(l *plan.Load, report func(finding.Finding)) {
	for _, c := range l.Channels() {
		if c.Mode != radio.Digital || c.Width != radio.Wide || c.Trunked() {
			continue
		}
		f := finding.Finding{
			Place: c.At("width"), Subject: c.Name,
			Message: fmt.Sprintf("%s %s is digital and wide, but digital signals are narrow", c.Place(), c.Name),
			Related: []finding.Related{related(c.At("mode"), "its mode")},
			Data:    facts{"channel": c.Name},
		}
		f.Offer(edit.In(c.Table).Delete(c.Table, "width").Edit("remove width"))
		report(f)
	}
}
