package plan

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"slotcard/plan/edit"
	"slotcard/plan/finding"
	"slotcard/plan/radio"
	"slotcard/plan/tomlfile"
)

// pick finds the one channel that p names, and everywhere that it stands in
// the load. It returns nil, with a finding, where there is none or more than
// one. Beside a receive frequency, what else is written narrows the choice.
func (x *resolver) pick(t tomlfile.Table, p *Pick, where string) (*Channel, []*Channel) {
	var found []*Channel
	switch p.Key() {
	case "channel":
		if found = x.names[p.Channel]; len(found) == 0 {
			x.unknownName(t, p.Channel, where)
		}
	case "group":
		if found = x.atPlace(*p.Group, *p.Number); len(found) == 0 {
			x.unknownPlace(t, *p.Group, *p.Number, where)
		}
	case "rx":
		var all []*Channel
		for _, c := range x.load.Channels() {
			if c.Rx == p.Rx {
				all = append(all, c)
			}
		}
		if found = slices.DeleteFunc(slices.Clone(all), func(c *Channel) bool { return x.misfit(c, p) != "" }); len(found) > 0 {
			break
		}
		if len(all) == 0 {
			x.unknownFrequency(t.At("rx"), p.Rx, where)
		} else {
			x.contradiction(t, p, all, where)
		}
	}
	if len(found) == 0 { // without a key the value was at fault, and reading has said so
		return nil, nil
	}
	if distinct := DistinctChannels(found); len(distinct) > 1 {
		x.ambiguous(t, p, distinct, where)
		return nil, nil
	}
	c := found[0]
	var places []*Channel
	for _, other := range x.names[c.Name] {
		if other.Programming() == c.Programming() {
			places = append(places, other)
		}
	}
	return c, places
}

func (x *resolver) atPlace(group, number int) []*Channel {
	for _, g := range x.load.Groups {
		if g.Number != group {
			continue
		}
		for _, c := range g.Channels {
			if c.Number == number {
				return []*Channel{c}
			}
		}
	}
	return nil
}

// misfit is the first key beside rx that is not true of c; "" where all are.
func (x *resolver) misfit(c *Channel, p *Pick) string {
	switch {
	case p.Tx != 0 && c.Tx != p.Tx:
		return "tx"
	case p.RxTone != nil && c.RxTone != *p.RxTone:
		return "rx_tone"
	case p.TxTone != nil && c.TxTone != *p.TxTone && !(c.TxTone == radio.Site && x.opensSite(c, *p.TxTone)):
		return "tx_tone"
	}
	return ""
}

// opensSite tells whether a plan sheet's transmit tone can be the one that the
// incident chose for a channel with tx_tone = "site".
func (x *resolver) opensSite(c *Channel, tone radio.Squelch) bool {
	sites := x.load.SitesOf(c)
	for _, s := range sites {
		if s.Squelch == tone {
			return true
		}
	}
	return len(sites) == 0 && x.load.ToneNumber(tone) != 0
}

// DistinctChannels keeps the first of the channels that program the same.
func DistinctChannels(channels []*Channel) []*Channel {
	var out []*Channel
	seen := map[Programming]bool{}
	for _, c := range channels {
		if p := c.Programming(); !seen[p] {
			seen[p] = true
			out = append(out, c)
		}
	}
	return out
}

func (x *resolver) unknownName(t tomlfile.Table, name, where string) {
	if x.loadBroken {
		return
	}
	closest := finding.Closest(name, x.allNames, 3)
	f := x.fault(RuleUnknownChannel, t.At("channel"), name, fmt.Sprintf("%s: no channel %q in the load", where, name))
	for _, n := range closest {
		c := x.names[n][0]
		f.Offer(edit.In(t).Set(t, "channel", n).Edit(fmt.Sprintf("did you mean %q (%s, %s)?", n, c.Place(), c.frequencies())))
	}
	if len(closest) == 0 {
		if mhz, err := radio.ParseMHz(strings.TrimSpace(name)); err == nil {
			asRx := edit.In(t).Rename(t, "channel", "rx").Write(t.At("channel"), mhz.String())
			f.Offer(asRx.Edit(fmt.Sprintf("for a frequency write rx = %s in place of channel", mhz)))
		} else {
			f.Help = []string{"write the display name just as the load has it"}
		}
	}
	f.Data = map[string]any{"channel": name, "closest": append([]string{}, closest...)}
}

func (x *resolver) unknownPlace(t tomlfile.Table, group, number int, where string) {
	if x.loadBroken {
		return
	}
	var groups []string
	for _, g := range x.load.Groups {
		groups = append(groups, strconv.Itoa(g.Number))
		if g.Number != group {
			continue
		}
		var help []string
		if n := len(g.Channels); n == 0 {
			help = []string{fmt.Sprintf("group %d %q has no channels", group, g.Name)}
		} else {
			low, high := g.Channels[0].Number, g.Channels[0].Number
			for _, c := range g.Channels {
				low, high = min(low, c.Number), max(high, c.Number)
			}
			help = []string{fmt.Sprintf("group %d %q has channels %d to %d", group, g.Name, low, high)}
			if c := x.atPlace(number, group); c != nil {
				help = append(help, fmt.Sprintf("group and number exchanged is %s", c[0]))
			}
		}
		f := x.fault(RuleUnknownChannel, t.At("number"), PlaceOf(group, number),
			fmt.Sprintf("%s: no channel %d in group %d of the load", where, number, group), help...)
		f.Data = map[string]any{"group": group, "number": number}
		return
	}
	help := []string{"the load has groups " + strings.Join(groups, ", ")}
	if c := x.atPlace(number, group); c != nil {
		help = append(help, fmt.Sprintf("group and number exchanged is %s", c[0]))
	}
	f := x.fault(RuleUnknownChannel, t.At("group"), PlaceOf(group, number),
		fmt.Sprintf("%s: no group %d in the load", where, group), help...)
	f.Data = map[string]any{"group": group, "number": number}
}

func (x *resolver) unknownFrequency(at finding.Place, rx radio.Hertz, where string) {
	if x.loadBroken {
		return
	}
	near := x.load.NearFrequency(rx)
	var help []string
	for _, n := range near[:min(4, len(near))] {
		help = append(help, fmt.Sprintf("%s: %s", n.Why, n.Channel))
	}
	for _, c := range x.load.Channels() {
		if c.Tx == rx {
			help = append(help, fmt.Sprintf("it is the transmit frequency of %s: rx is what the radio receives", c))
			break
		}
	}
	if help == nil {
		help = []string{"no channel is within 12.5 kHz or one slip of a digit; compare it with the plan sheet"}
	}
	facts := make([]map[string]any, 0, len(near))
	for _, n := range near {
		facts = append(facts, map[string]any{"channel": n.Channel.Name, "place": n.Channel.Place(), "rx_hz": n.Channel.Rx, "off_hz": n.Off, "swapped": n.Slip == Swapped})
	}
	f := x.fault(RuleUnknownChannel, at, rx.String(), fmt.Sprintf("%s: no channel of the load receives on %s", where, rx), help...)
	f.Data = map[string]any{"rx_hz": rx, "near": facts}
}

func (x *resolver) contradiction(t tomlfile.Table, p *Pick, all []*Channel, where string) {
	key := x.misfit(all[0], p)
	value := map[string]fmt.Stringer{"tx": p.Tx, "rx_tone": p.RxTone, "tx_tone": p.TxTone}[key].String()
	distinct := DistinctChannels(all)
	help := make([]string, 0, len(distinct))
	places := make([]string, 0, len(distinct))
	for _, c := range distinct {
		help = append(help, "the load has "+c.String())
		places = append(places, c.Place())
	}
	f := x.fault(RuleContradiction, t.At(key), p.Rx.String(),
		fmt.Sprintf("%s: no channel on %s has %s %s", where, p.Rx, key, value), help...)
	if key == "tx_tone" && all[0].TxTone == radio.Site {
		x.offerSites(f, t, all[0])
	}
	for _, c := range distinct {
		f.Related = append(f.Related, finding.Related{Place: c.At("name"), Message: c.String()})
	}
	f.Data = map[string]any{"rx_hz": p.Rx, "key": key, "written": value, "candidates": places}
}

func (x *resolver) ambiguous(t tomlfile.Table, p *Pick, distinct []*Channel, where string) {
	key, what := "channel", fmt.Sprintf("%q", p.Channel)
	subject := p.Channel
	if p.Channel == "" {
		key, what, subject = "rx", p.Rx.String(), p.Rx.String()
	}
	places := make([]string, 0, len(distinct))
	f := x.fault(RuleAmbiguous, t.At(key), subject,
		fmt.Sprintf("%s: %s may be %d different channels of the load", where, what, len(distinct)))
	for _, c := range distinct {
		if c.Group != nil {
			f.Offer(byPlace(t, c))
		}
		places = append(places, c.Place())
		f.Related = append(f.Related, finding.Related{Place: c.At("name"), Message: c.String()})
	}
	f.Data = map[string]any{"candidates": places}
}

// byPlace names the channel of a slot by group and number, whatever names it now.
func byPlace(t tomlfile.Table, c *Channel) finding.Edit {
	e := edit.In(t)
	place := tomlfile.Pairs{{Key: "group", Value: c.Group.Number}, {Key: "number", Value: c.Number}}
	var was []string
	for _, key := range []string{"channel", "rx", "tx", "rx_tone", "tx_tone"} {
		if t.Has(key) {
			was = append(was, key)
		}
	}
	for i, key := range was {
		if i < len(place) { // in its line
			e.Rename(t, key, place[i].Key).Write(t.At(key), fmt.Sprint(place[i].Value))
		} else {
			e.Delete(t, key)
		}
	}
	for _, p := range place[min(len(was), len(place)):] {
		e.Set(t, p.Key, p.Value)
	}
	return e.Edit(fmt.Sprintf("write group = %d and number = %d for %s", c.Group.Number, c.Number, c))
}

// txTone settles what a radio transmits to open the repeater, and which it is.
func (x *resolver) txTone(t tomlfile.Table, c *Channel, siteName string, toneNumber *int, picked *radio.Squelch, where string) (radio.Squelch, *Site, int) {
	var site *Site
	var tone radio.Squelch
	chosen, failed := false, false
	if siteName != "" {
		if site = x.load.site(siteName); site == nil {
			x.unknownSite(t, siteName, where, c)
			failed = true
		} else if !slices.Contains(site.Channels, c.Name) && slices.ContainsFunc(site.Channels, func(name string) bool { return len(x.names[name]) == 0 }) {
			site, failed = nil, true // it may be meant by the name that the load does not have, which is said
		} else if !slices.Contains(site.Channels, c.Name) {
			f := x.fault(RuleSiteNotCarrying, t.At("site"), c.Name,
				fmt.Sprintf("%s: %s is not repeated at %s", where, c.Name, site.Name))
			x.offerSites(f, t, c)
			f.Related = []finding.Related{{Place: site.At("channels"), Message: "the channels repeated at " + site.Name}}
			f.Data = map[string]any{"channel": c.Name, "site": site.Name}
			site, failed = nil, true
		} else {
			tone, chosen = site.Squelch, true
		}
	}
	if toneNumber != nil && siteName == "" { // reading has refused both together
		if numbered := x.load.tone(*toneNumber); numbered == nil {
			x.unknownTone(t.At("tone"), c.Name, where, *toneNumber)
			failed = true
		} else {
			tone, chosen = numbered.Hz, true
		}
	}
	// A choice that was written and could not be read is not a missing one.
	failed = failed || t.Has("site") && siteName == "" || t.Has("tone") && toneNumber == nil
	if failed {
		if c.TxTone != radio.Site {
			return c.TxTone, nil, x.load.ToneNumber(c.TxTone)
		}
		return tone, site, x.load.ToneNumber(tone)
	}
	if c.TxTone != radio.Site {
		if chosen && tone != c.TxTone {
			key := "site"
			if siteName == "" {
				key = "tone"
			}
			f := x.fault(RuleSiteNotNeeded, t.At(key), c.Name,
				fmt.Sprintf("%s: %s always transmits %s, so no %s can be chosen", where, c.Name, toneWords(c.TxTone), key))
			f.Offer(edit.In(t).Delete(t, key).Edit(""), unless("or correct tx_tone of the channel in the load, if its repeater is chosen by site"))
			f.Related = []finding.Related{{Place: c.At("tx_tone"), Message: c.String()}}
			f.Data = map[string]any{"channel": c.Name, "tx_tone": c.TxTone.String()}
		}
		tone = c.TxTone
		if site == nil && c.Repeated() {
			site = x.onlySite(c, tone)
		}
		return tone, site, x.load.ToneNumber(tone)
	}
	if !chosen && picked != nil && *picked != radio.Site {
		tone, chosen = *picked, true
	}
	if !chosen {
		f := x.fault(RuleNoSite, t.At(""), c.Name,
			fmt.Sprintf("%s: no repeater chosen for %s", where, c.Name))
		x.offerSites(f, t, c)
		f.Related = []finding.Related{{Place: c.At("tx_tone"), Message: c.Name + " is opened by the tone of its site"}}
		sites := []map[string]any{}
		for _, r := range x.load.ReachesOf(c, &x.plan.Incident) {
			site := map[string]any{"site": r.Site.Name, "tone": r.Site.Squelch.String()}
			if r.Located {
				site["km"], site["bearing"] = math.Round(r.Km()*10)/10, math.Round(r.Path.Bearing)
				if r.Horizon > 0 {
					site["beyond_horizon"] = r.Beyond()
				}
			}
			sites = append(sites, site)
		}
		f.Data = map[string]any{"channel": c.Name, "sites": sites}
		return radio.Squelch{}, nil, 0
	}
	if site == nil {
		site = x.onlySite(c, tone)
	}
	return tone, site, x.load.ToneNumber(tone)
}

// onlySite is the site that repeats c and opens with tone, where just one does.
func (x *resolver) onlySite(c *Channel, tone radio.Squelch) *Site {
	var only *Site
	for _, s := range x.load.SitesOf(c) {
		if s.Squelch != tone {
			continue
		}
		if only != nil {
			return nil
		}
		only = s
	}
	return only
}

func toneWords(s radio.Squelch) string {
	switch s.Kind {
	case radio.Carrier:
		return "without a tone"
	case radio.CTCSS:
		return s.String() + " Hz"
	}
	return s.String()
}

// offerSites says what to write for a channel whose repeater must be chosen: the
// sites that carry it, the nearest first.
func (x *resolver) offerSites(f *finding.Finding, t tomlfile.Table, c *Channel) {
	none, located := true, false
	for _, r := range x.load.ReachesOf(c, &x.plan.Incident) {
		s := r.Site
		what := s.Squelch.String()
		if n := x.load.ToneNumber(s.Squelch); n != 0 {
			what = fmt.Sprintf("tone %d, %s", n, s.Squelch)
		}
		if r.Located {
			what += "; " + r.String()
			located = true
		}
		none = false
		e := edit.In(t)
		if t.Has("tone") {
			e.Delete(t, "tone")
		}
		f.Offer(e.Set(t, "site", s.Name).Edit(fmt.Sprintf("write site = %q (%s)", s.Name, what)))
	}
	switch {
	case none:
		f.Help = append(f.Help, fmt.Sprintf("no site of the load carries %s; add it to the channels of a [[site]], or write tone = NUMBER", c.Name))
	case located:
		f.Help = append(f.Help, TerrainNotConsidered)
	}
}

func (x *resolver) unknownSite(t tomlfile.Table, name, where string, c *Channel) {
	if x.loadBroken {
		return
	}
	var names []string
	for _, s := range x.load.Sites {
		names = append(names, s.Name)
	}
	f := x.fault(RuleUnknownSite, t.At("site"), name, fmt.Sprintf("%s: no site %q in the load", where, name))
	if !offerClosest(f, t, "site", name, names) {
		x.offerSites(f, t, c)
	}
	f.Data = map[string]any{"site": name, "channel": c.Name}
}

func (x *resolver) unknownTone(at finding.Place, subject, where string, number int) {
	if x.loadBroken {
		return
	}
	var known []string
	for _, t := range x.load.Tones {
		known = append(known, fmt.Sprintf("%d (%s)", t.Number, t.Hz))
	}
	help := "the load has no numbered tones"
	if len(known) > 0 {
		help = "the load has tones " + strings.Join(known, ", ")
	}
	f := x.fault(RuleUnknownTone, at, subject, fmt.Sprintf("%s: no tone %d in the load", where, number), help)
	f.Data = map[string]any{"tone": number}
	f.Cause.Name = fmt.Sprintf("tone %d", number)
}

// Key is the key by which the channel is named: channel, group or rx; empty
// where none is.
func (p *Pick) Key() string {
	switch {
	case p.Channel != "":
		return "channel"
	case p.Group != nil && p.Number != nil:
		return "group"
	case p.Rx != 0:
		return "rx"
	}
	return ""
}
