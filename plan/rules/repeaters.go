package rules

import (
	"fmt"

	"slotcard/plan"
	"slotcard/plan/edit"
	"slotcard/plan/finding"
	"slotcard/plan/published"
	"slotcard/plan/radio"
	"slotcard/plan/spectrum"
)

// Repeaters that are keyed by those who do not mean to, or not at all.
func init() {
	register(
		Rule{
			ID:         "tactical-opens-repeater",
			Severity:   finding.Error,
			Statement:  "no tactical transmits on the input of the command repeater with the tone that opens it",
			Why:        "every word of the division goes out over the mountain top and covers orders to the whole fire",
			Bad:        "[[slot]]\nchannel = \"QB CMD 1\"     # transmits on 157.6725 with 146.2\n[[slot]]\nchannel = \"QB TAC 1\"     # 157.6725 with 146.2",
			Good:       "[[slot]]\nchannel = \"QB CMD 1\"\n[[slot]]\nchannel = \"QB TAC 3\"     # 154.9500",
			Fix:        "choose another tactical",
			Acceptable: true,
			Check: func(r *plan.Resolved, report func(finding.Finding)) {
				tacticalOnRepeater(r, true, report)
			},
		},
		Rule{
			ID:         "tactical-on-repeater",
			Severity:   finding.Warning,
			Statement:  "no tactical stands on the input or output of the command repeater",
			Why:        "on the output the repeater covers the division whenever command talks; on the input the division covers whoever calls command",
			Bad:        "[[slot]]\nchannel = \"QB CMD 1\"     # receives on 152.4125\n[[slot]]\nchannel = \"QB CMD 1D\"    # direct on 152.4125\nuse = \"tactical\"",
			Good:       "[[slot]]\nchannel = \"QB CMD 1\"\n[[slot]]\nchannel = \"QB TAC 3\"     # 154.9500",
			Fix:        "choose another tactical",
			Acceptable: true,
			Check: func(r *plan.Resolved, report func(finding.Finding)) {
				tacticalOnRepeater(r, false, report)
			},
		},
		Rule{
			ID:         "pair-reversed",
			Severity:   finding.Warning,
			Statement:  "a repeated channel receives where the repeater transmits, and transmits where it listens",
			Why:        "with rx and tx swapped the repeater is not heard, and whoever calls talks over everyone who hears it",
			Source:     "the load's other pairs; NIFOG 2.02 through an open-data transcription; 47 CFR 90.20, 90.531 and 90.613 for 450, 700 and 800 MHz, from memory",
			Bad:        "name = \"UCALL40\"\nrx   = 458.2125\ntx   = 453.2125",
			Good:       "name = \"UCALL40\"\nrx   = 453.2125\ntx   = 458.2125",
			Fix:        "swap rx and tx",
			Acceptable: true,
			CheckLoad:  pairReversed,
		},
		Rule{
			ID:         "site-tone-shared",
			Severity:   finding.Warning,
			Statement:  "of the sites in reach that repeat the channel, just one opens with the chosen tone",
			Why:        "both are keyed at once, and where both are heard their signals cover each other",
			Bad:        "[[site]]\nname = \"Bellwether\"\ntone = 4\nchannels = [\"QB CMD 1\"]\n[[site]]\nname = \"Lantern\"\ntone = 4\nchannels = [\"QB CMD 1\"]",
			Good:       "[[site]]\nname = \"Bellwether\"\ntone = 4\nchannels = [\"QB CMD 1\"]\n[[site]]\nname = \"Lantern\"\ntone = 12\nchannels = [\"QB CMD 1\"]",
			Fix:        "compare the tones of both sites with their owner; accept it where the sites are linked or voted",
			Acceptable: true,
			Check:      siteToneShared,
		},
	)
}

// onRepeater tells how a direct tactical stands to a repeated command channel:
// whether they are on one frequency, or, on the input, near enough to overlap;
// and whether the tactical's tone opens the repeater.
func onRepeater(command, tactical *plan.ResolvedSlot) (input, output, opens bool) {
	if command.Use != radio.Command || tactical.Use != radio.Tactical {
		return false, false, false
	}
	c, t := OnAir(command.Channel, command.Use), OnAir(tactical.Channel, tactical.Use)
	if c.Rx == 0 || c.Rx == c.Tx || t.Tx == 0 || t.Rx != t.Tx {
		return false, false, false
	}
	input = spectrum.HearsInput(c, t)
	opens = c.Tx == t.Tx && !unchosen(command) && !unchosen(tactical) && published.SameSquelch(command.TxTone, tactical.TxTone)
	return input, c.Rx == t.Rx, opens
}

// saidOfRepeater tells that what two slots do to each other is told by the rules
// on tacticals and the command repeater.
func saidOfRepeater(a, b *plan.ResolvedSlot) bool {
	for _, p := range [][2]*plan.ResolvedSlot{{a, b}, {b, a}} {
		if input, output, _ := onRepeater(p[0], p[1]); input || output {
			return true
		}
	}
	return false
}

func tacticalOnRepeater(r *plan.Resolved, opening bool, report func(finding.Finding)) {
	for _, t := range r.Slots {
		for _, c := range r.Slots {
			input, output, opens := onRepeater(c, t)
			if !input && !output || opens != opening {
				continue
			}
			how := fmt.Sprintf("is on the output of command %s", c.Channel.Name)
			switch {
			case opens:
				how = fmt.Sprintf("opens the repeater of command %s: %s with %s", c.Channel.Name, c.Channel.Tx, toneText(c.TxTone))
			case input:
				how = fmt.Sprintf("talks into the input of command %s", c.Channel.Name)
			}
			report(offering(finding.Finding{
				Place: slotPlace(t), Subject: t.Channel.Name,
				Message: fmt.Sprintf("slot %d: tactical %s %s", number(r, t), t.Channel.Name, how),
				Related: []finding.Related{related(slotPlace(c), "slot %d: %s", number(r, c), c.Channel)},
				Data: facts{
					"channel": t.Channel.Name, "command": c.Channel.Name, "hz": t.Channel.Tx,
					"input": input, "output": output, "opens": opens,
				},
			}, tacticalInstead(r, t, t.Channel.Group, 2, "choose another tactical")...))
			break // one command channel is enough to choose another
		}
	}
}

// reversal is why a pair of frequencies is taken for reversed.
type reversal struct {
	why   string
	place finding.Place
	about string
}

func pairReversed(l *plan.Load, report func(finding.Finding)) {
	var pairs []*plan.Channel
	for _, c := range conventional(l) {
		if c.Rx != c.Tx && !c.ReceiveOnly {
			pairs = append(pairs, c)
		}
	}
	said := map[plan.Programming]bool{}
	for _, c := range pairs {
		why := reversedBy(c, pairs)
		if why == nil || said[c.Programming()] {
			continue
		}
		said[c.Programming()] = true
		f := finding.Finding{
			Place: c.At("rx"), Subject: c.Name,
			Message: fmt.Sprintf("%s %s has rx and tx swapped: %s", c.Place(), c.Name, why.why),
			Data:    facts{"channel": c.Name, "rx_hz": c.Rx, "tx_hz": c.Tx},
		}
		f.Offer(edit.In(c.Table).Set(c.Table, "rx", c.Tx).Set(c.Table, "tx", c.Rx).Edit(fmt.Sprintf("write rx = %s and tx = %s", c.Tx, c.Rx)))
		switch {
		case !why.place.IsZero():
			f.Related = []finding.Related{related(why.place, "%s", why.about)}
		case why.about != "":
			f.Help = append(f.Help, "published in "+why.about)
		}
		report(f)
	}
}

// reversedBy looks for a reason to take rx and tx of a channel for swapped.
func reversedBy(c *plan.Channel, pairs []*plan.Channel) *reversal {
	if _, national := published.Interop(c.Name); national || len(published.InteropByFrequency(c.Rx, c.Tx)) > 0 {
		return nil // interop-frequency says what is wrong with these
	}
	for _, p := range published.InteropByFrequency(c.Tx, c.Rx) {
		return &reversal{why: fmt.Sprintf("the national %s is %s", p.Name, pair(p.Rx, p.Tx)), about: p.Origin.String()}
	}
	if p, ok := published.PairReversed(c.Rx, c.Tx); ok {
		return &reversal{why: fmt.Sprintf("repeaters here transmit on %s, listen on %s", c.Tx, c.Rx), about: p.Origin.String()}
	}
	var others []*plan.Channel
	for _, o := range pairs {
		switch {
		case o.Rx == c.Tx && o.Tx == c.Rx:
			if swappedAmong(c, pairs) == nil {
				return nil // which of the two is right cannot be told
			}
			return &reversal{fmt.Sprintf("%s has %s", o.Name, pair(o.Rx, o.Tx)), o.At("rx"), o.String()}
		case o.Rx != c.Rx || o.Tx != c.Tx:
			others = append(others, o)
		}
	}
	if o := swappedAmong(c, others); o != nil {
		way := "above what they receive"
		if c.Rx < c.Tx {
			way = "below what they receive"
		}
		return &reversal{"the load's other pairs transmit " + way, o.At("rx"), o.String()}
	}
	return nil
}

// swappedAmong is one of the pairs near c that stand the other way round, where
// all of them do and there are two at least: a VHF load keeps one way or
// none. Near are those of which neither frequency is farther off than 5 MHz (our
// choice). National channels follow no load.
func swappedAmong(c *plan.Channel, others []*plan.Channel) *plan.Channel {
	const near = 5_000_000
	seen := map[[2]radio.Hertz]bool{{c.Rx, c.Tx}: true, {c.Tx, c.Rx}: true}
	n := 0
	var first *plan.Channel
	for _, o := range others {
		k := [2]radio.Hertz{o.Rx, o.Tx}
		low := spectrum.Apart(min(o.Rx, o.Tx), min(c.Rx, c.Tx))
		high := spectrum.Apart(max(o.Rx, o.Tx), max(c.Rx, c.Tx))
		if _, national := published.Interop(o.Name); seen[k] || national || low > near || high > near {
			continue
		}
		seen[k] = true
		if o.Rx < o.Tx == (c.Rx < c.Tx) {
			return nil
		}
		if n++; first == nil {
			first = o
		}
	}
	if n < 2 {
		return nil
	}
	return first
}

func siteToneShared(r *plan.Resolved, report func(finding.Finding)) {
	for _, s := range r.Slots {
		if !s.Repeated() || s.TxTone.IsZero() {
			continue
		}
		var sites []*plan.Site
		var names []string
		for _, site := range r.Load.SitesOf(s.Channel) {
			if published.SameSquelch(site.Squelch, s.TxTone) && !plan.ReachOf(site, &r.Plan.Incident).Beyond() {
				sites, names = append(sites, site), append(names, site.Name)
			}
		}
		if len(sites) < 2 {
			continue
		}
		f := finding.Finding{
			Place: slotPlace(s), Subject: s.Channel.Name,
			Message: fmt.Sprintf("slot %d: %s with %s keys %s at once", number(r, s), s.Channel.Name, toneText(s.TxTone), and(names)),
			Help:    []string{"compare the tones of these sites with their owner and correct them in the load, or choose another channel"},
			Data:    facts{"channel": s.Channel.Name, "tone": s.TxTone.String(), "sites": names},
		}
		for _, site := range sites {
			f.Related = append(f.Related, related(site.At("tone"), "site %s", site.Name))
		}
		report(f)
	}
}
