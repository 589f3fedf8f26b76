package rules

import (
	"cmp"
	"fmt"
	"maps"
	"slices"

	"slotcard/plan"
	"slotcard/plan/edit"
	"slotcard/plan/finding"
	"slotcard/plan/radio"
)

// What a load must be by itself.
func init() {
	register(
		Rule{
			ID:        "name-too-long",
			Severity:  finding.Error,
			Statement: "a display name is no longer than the radio shows",
			Why:       "the card and the display say different things",
			Bad:       "[radio]\nname_length = 8\n[[group.channel]]\nname = \"QB CMD 11\"",
			Good:      "[radio]\nname_length = 8\n[[group.channel]]\nname = \"QB CMD11\"",
			Fix:       "write the name as the radio shows it, or correct name_length",
			CheckLoad: nameTooLong,
		},
		Rule{
			ID:        "out-of-band",
			Severity:  finding.Error,
			Statement: "every frequency of a load is in a band of its radio",
			Why:       "the radio cannot be programmed with it",
			Bad:       "[radio]\nbands = [[136.0, 174.0]]\n[[group.channel]]\nrx = 453.2125",
			Good:      "[radio]\nbands = [[136.0, 174.0], [450.0, 470.0]]\n[[group.channel]]\nrx = 453.2125",
			Fix:       "correct the frequency, or the bands of the radio",
			CheckLoad: outOfBand,
		},
		Rule{
			ID:        "mode-not-supported",
			Severity:  finding.Error,
			Statement: "every channel of a load has a mode that its radio can use",
			Why:       "the radio cannot be programmed with it, or hears noise",
			Bad:       "[radio]\nmodes = [\"analog\"]\n[[group.channel]]\nmode = \"digital\"",
			Good:      "[radio]\nmodes = [\"analog\", \"digital\"]\n[[group.channel]]\nmode = \"digital\"",
			Fix:       "correct the mode of the channel, or the modes of the radio",
			CheckLoad: modeNotSupported,
		},
		Rule{
			ID:         "channel-without-site",
			Severity:   finding.Warning,
			Statement:  "a channel whose tone is chosen by site is carried by at least one site",
			Why:        "no plan can choose its repeater by name, and nobody sees where it reaches",
			Bad:        "name = \"QB CMD 3\"\ntx_tone = \"site\"     # and no [[site]] carries it",
			Good:       "[[site]]\nname = \"Bellwether\"\nchannels = [\"QB CMD 1\", \"QB CMD 3\"]",
			Fix:        "add the channel to the channels of its sites",
			Acceptable: true,
			CheckLoad:  channelWithoutSite,
		},
		Rule{
			ID:         "site-direct-channel",
			Severity:   finding.Warning,
			Statement:  "a site carries repeated channels only",
			Why:        "a direct channel is not repeated anywhere: either the site's list or the channel's tx is wrong",
			Bad:        "[[site]]\nchannels = [\"QB CMD 1\", \"QB TAC 1\"]     # QB TAC 1 has no tx of its own",
			Good:       "[[site]]\nchannels = [\"QB CMD 1\"]",
			Fix:        "remove the channel from the site, or correct its tx",
			Acceptable: true,
			CheckLoad:  siteDirectChannel,
		},
		Rule{
			ID:         "site-tone-mismatch",
			Severity:   finding.Warning,
			Statement:  "a channel with a tone of its own has the tone of the sites that carry it",
			Why:        "its tone does not open that site",
			Bad:        "[[site]]\nname = \"Bellwether\"\ntone = 4     # 146.2 Hz\nchannels = [\"QB CMD 2\"]\n[[group.channel]]\nname = \"QB CMD 2\"\ntx_tone = 123.0",
			Good:       "name = \"QB CMD 2\"\ntx_tone = \"site\"",
			Fix:        "write tx_tone = \"site\" for the channel, or correct the tone",
			Acceptable: true,
			CheckLoad:  siteToneMismatch,
		},
		Rule{
			ID:        "names-differ",
			Severity:  finding.Advice,
			Statement: "a display name means one channel throughout the load",
			Why:       "who turns to the name in another group is on another channel; a plan cannot name it by name alone",
			Bad:       "[[group]]\nnumber = 1\n[[group.channel]]\nname = \"QB TAC 1\"\nrx = 151.2500\n[[group]]\nnumber = 2\n[[group.channel]]\nname = \"QB TAC 1\"\nrx = 151.2650",
			Good:      "[[group]]\nnumber = 2\n[[group.channel]]\nname = \"QB TAC 11\"\nrx = 151.2650",
			Fix:       "rename one of them in the load, or correct the one that is wrong",
			CheckLoad: namesDiffer,
		},
		Rule{
			ID:        "no-edition-mark",
			Severity:  finding.Advice,
			Statement: "a load has a channel whose display name carries the edition",
			Why:       "turning to it tells whether the radio is current",
			Bad:       "name = \"QB TRAVEL\"",
			Good:      "name = \"QB TRAV 27\"\nedition_mark = true",
			Fix:       "mark the channel that shows the edition with edition_mark = true; as a rule the travel channel",
			CheckLoad: noEditionMark,
		},
	)
}

// severalFaults is from how many on faults of one kind have one cause; one or two
// are slips.
const severalFaults = 3

// commonCause gives findings that are about several subjects one cause; else each
// subject is one by itself.
func commonCause(found []finding.Finding, cause finding.Cause, report func(finding.Finding)) {
	subjects := map[string]bool{}
	for _, f := range found {
		subjects[f.Subject] = true
	}
	for _, f := range found {
		if len(subjects) >= severalFaults {
			f.Cause = cause
		}
		report(f)
	}
}

func nameTooLong(l *plan.Load, report func(finding.Finding)) {
	most := l.Radio.NameLength
	longest := 0
	var found []finding.Finding
	for _, c := range l.Channels() {
		n := len([]rune(c.Name))
		if most <= 0 || n <= most {
			continue
		}
		longest = max(longest, n)
		found = append(found, finding.Finding{
			Place: c.At("name"), Subject: c.Name,
			Message: fmt.Sprintf("%s %q has %d characters, but the radio shows %d", c.Place(), c.Name, n, most),
			Help:    []string{"write the name as the radio shows it"},
			Related: []finding.Related{related(l.Radio.At("name_length"), "what the radio shows")},
			Data:    facts{"channel": c.Name, "length": n, "name_length": most},
		})
	}
	commonCause(found, finding.Cause{
		Name: "name_length", Place: l.Radio.At("name_length"),
		Message: fmt.Sprintf("%%d display names are longer than the %s that the radio shows", plural(most, "character", "characters")),
		Help:    []string{fmt.Sprintf("write name_length = %d if the radio shows as many, else shorten the names as the radio does", longest)},
	}, report)
}

func outOfBand(l *plan.Load, report func(finding.Finding)) {
	if len(l.Radio.Bands) == 0 || slices.ContainsFunc(l.Radio.Bands, func(b plan.Band) bool { return b.Low <= 0 || b.High < b.Low }) {
		return // none, or one that could not be read, which reading has said
	}
	inside := func(f radio.Hertz) bool {
		return f == 0 || slices.ContainsFunc(l.Radio.Bands, func(b plan.Band) bool { return b.Low <= f && f <= b.High })
	}
	bands := make([]string, len(l.Radio.Bands))
	for i, b := range l.Radio.Bands {
		bands[i] = fmt.Sprintf("%s to %s", b.Low, b.High)
	}
	var found []finding.Finding
	var low, high radio.Hertz
	for _, c := range l.Channels() {
		say := func(key string, f radio.Hertz) {
			if low == 0 || f < low {
				low = f
			}
			high = max(high, f)
			found = append(found, finding.Finding{
				Place: c.At(key), Subject: c.Name,
				Message: fmt.Sprintf("%s %s: %s is outside the radio's bands, %s MHz", c.Place(), c.Name, f, and(bands)),
				Help:    []string{"correct the frequency, or widen bands in [radio]"},
				Related: []finding.Related{related(l.Radio.At("bands"), "the radio's bands")},
				Data:    facts{"channel": c.Name, "key": key, "hz": f},
			})
		}
		if !inside(c.Rx) {
			say("rx", c.Rx)
		}
		if c.Tx != c.Rx && !c.ReceiveOnly && !inside(c.Tx) {
			say("tx", c.Tx)
		}
	}
	commonCause(found, finding.Cause{
		Name: "bands", Place: l.Radio.At("bands"),
		Message: fmt.Sprintf("%%d channels are outside the radio's bands, %s MHz", few(bands)),
		Help:    []string{fmt.Sprintf("correct bands: these channels lie between %s and %s MHz; or take them out of the load", low, high)},
	}, report)
}

func modeNotSupported(l *plan.Load, report func(finding.Finding)) {
	can := func(m radio.Mode) bool {
		return slices.Contains(l.Radio.Modes, m) ||
			m == radio.Mixed && slices.Contains(l.Radio.Modes, radio.Analog) && slices.Contains(l.Radio.Modes, radio.Digital) ||
			m != radio.Mixed && slices.Contains(l.Radio.Modes, radio.Mixed)
	}
	if len(l.Radio.Modes) == 0 {
		return
	}
	found := map[radio.Mode][]finding.Finding{}
	for _, c := range l.Channels() {
		if can(c.Mode) {
			continue
		}
		found[c.Mode] = append(found[c.Mode], finding.Finding{
			Place: c.At("mode"), Subject: c.Name,
			Message: fmt.Sprintf("%s %s is %s, but the radio cannot use that mode", c.Place(), c.Name, c.Mode),
			Help:    []string{fmt.Sprintf("correct the channel's mode, or add %q to modes in [radio] if the radio can use it", c.Mode)},
			Related: []finding.Related{related(l.Radio.At("modes"), "the radio's modes")},
			Data:    facts{"channel": c.Name, "mode": c.Mode.String()},
		})
	}
	for _, m := range slices.Sorted(maps.Keys(found)) {
		commonCause(found[m], finding.Cause{
			Name: "modes", Place: l.Radio.At("modes"), Message: fmt.Sprintf("%%d channels are %s, but the radio cannot use that mode", m),
			Help: []string{fmt.Sprintf("add %q to modes if the radio can use it, or correct the channels", m)},
		}, report)
	}
}

func channelWithoutSite(l *plan.Load, report func(finding.Finding)) {
	seen := map[string]bool{}
	for _, c := range l.Channels() {
		seen[c.Name] = true
	}
	// A site may carry it under a name that the load does not have, which is said.
	misspelt := slices.ContainsFunc(l.Sites, func(s *plan.Site) bool {
		return slices.ContainsFunc(s.Channels, func(name string) bool { return !seen[name] })
	})
	clear(seen)
	var found []finding.Finding
	for _, c := range l.Channels() {
		if c.TxTone != radio.Site || seen[c.Name] || len(l.SitesOf(c)) > 0 || misspelt {
			continue
		}
		seen[c.Name] = true
		found = append(found, finding.Finding{
			Place: c.At("tx_tone"), Subject: c.Name,
			Message: fmt.Sprintf("%s %s takes its tone from a site, but no site carries it", c.Place(), c.Name),
			Help:    []string{fmt.Sprintf("add %q to the channels of its sites", c.Name)},
			Data:    facts{"channel": c.Name},
		})
	}
	commonCause(found, finding.Cause{
		Name: "site", Message: "%d channels take their tone from a site, but no site carries them",
		Help: []string{"add a [[site]] for each repeater, with its tone and its channels"},
	}, report)
}

// carried calls visit for each channel that a site carries, with its place in
// the site's channels.
func carried(l *plan.Load, visit func(s *plan.Site, i int, c *plan.Channel)) {
	byName := map[string]*plan.Channel{}
	for _, c := range l.Channels() {
		if byName[c.Name] == nil {
			byName[c.Name] = c
		}
	}
	for _, s := range l.Sites {
		for i, name := range s.Channels {
			if c := byName[name]; c != nil {
				visit(s, i, c)
			}
		}
	}
}

func siteDirectChannel(l *plan.Load, report func(finding.Finding)) {
	carried(l, func(s *plan.Site, i int, c *plan.Channel) {
		if c.Repeated() || c.Trunked() || c.Rx == 0 {
			return
		}
		report(offering(finding.Finding{
			Place: s.AtItem("channels", i), Subject: c.Name,
			Message: fmt.Sprintf("site %s carries %s, which is direct", s.Name, c.Name),
			Related: []finding.Related{related(c.At("rx"), "%s", c)},
			Data:    facts{"site": s.Name, "channel": c.Name},
		}, edit.In(s.Table).DeleteItem(s.Table, "channels", i).Edit("remove it from the site"), words("or correct tx of the channel")))
	})
}

func siteToneMismatch(l *plan.Load, report func(finding.Finding)) {
	at := map[string][]string{} // the channels that a site does not fit
	var found []finding.Finding
	carried(l, func(s *plan.Site, i int, c *plan.Channel) {
		if c.TxTone == radio.Site || !c.Repeated() || s.Squelch.IsZero() || c.TxTone == s.Squelch {
			return
		}
		if !c.TxTone.IsZero() && (c.TxTone.Kind == radio.NAC) != (s.Squelch.Kind == radio.NAC) {
			return // the tone of a site opens analog channels, a network access code digital ones
		}
		has := "no tone"
		if !c.TxTone.IsZero() {
			has = c.TxTone.String()
		}
		at[s.Name] = append(at[s.Name], c.Name)
		found = append(found, finding.Finding{
			Place: s.AtItem("channels", i), Subject: c.Name,
			Message: fmt.Sprintf("site %s opens with %s, but %s transmits %s", s.Name, s.Squelch, c.Name, has),
			Help:    []string{"write tx_tone = \"site\" for the channel, or correct the tone"},
			Related: []finding.Related{related(c.At("tx_tone"), "%s", c)},
			Data:    facts{"site": s.Name, "channel": c.Name, "site_tone": s.Squelch.String(), "tx_tone": c.TxTone.String()},
		})
	})
	for _, f := range found {
		if name := f.Data["site"].(string); len(at[name]) > 1 { // the site is wrong, not each of its channels
			f.Cause = finding.Cause{Name: name}
		}
		report(f)
	}
}

// namesDiffer speaks of each channel that is not what most of its name are, once.
func namesDiffer(l *plan.Load, report func(finding.Finding)) {
	var names []string
	by := map[string]map[plan.Programming][]*plan.Channel{}
	for _, c := range l.Channels() {
		if by[c.Name] == nil {
			by[c.Name] = map[plan.Programming][]*plan.Channel{}
			names = append(names, c.Name)
		}
		by[c.Name][c.Programming()] = append(by[c.Name][c.Programming()], c)
	}
	order := map[*plan.Channel]int{}
	for i, c := range l.Channels() {
		order[c] = i
	}
	for _, name := range names {
		kinds := slices.Collect(maps.Values(by[name]))
		slices.SortFunc(kinds, func(a, b []*plan.Channel) int {
			return cmp.Or(cmp.Compare(len(b), len(a)), cmp.Compare(order[a[0]], order[b[0]]))
		})
		most := kinds[0]
		for _, other := range kinds[1:] {
			c, f := other[0], most[0]
			report(finding.Finding{
				Place: c.At("name"), Subject: name,
				Message: fmt.Sprintf("%s stands for %s: at %s it is not what it is at %s", name, plural(len(kinds), "channel", "channels"), refs(other), refs(most)),
				Help:    []string{"rename one of them, or correct the one that is wrong"},
				Related: []finding.Related{related(f.At("name"), "%s", f), related(c.At("name"), "%s", c)},
				Data:    facts{"channel": name, "places": []string{f.Place(), c.Place()}},
			})
		}
	}
}

// refs are the places of channels in a load, three of many.
func refs(channels []*plan.Channel) string {
	return fewOf(len(channels), func(i int) string { return channels[i].Place() })
}

func noEditionMark(l *plan.Load, report func(finding.Finding)) {
	all := l.Channels()
	if len(all) == 0 || slices.ContainsFunc(all, func(c *plan.Channel) bool { return c.EditionMark }) {
		return
	}
	report(finding.Finding{
		Place: l.About.At("edition"), Subject: l.About.Edition,
		Message: "no channel's display name carries the edition",
		Help:    []string{"write edition_mark = true at the channel that shows it; as a rule the travel channel"},
		Data:    facts{"edition": l.About.Edition},
	})
}
