package rules

import (
	"fmt"
	"slices"

	"slotcard/plan"
	"slotcard/plan/edit"
	"slotcard/plan/finding"
	"slotcard/plan/radio"
)

// What a slot's channel has to be for what it is used for.
func init() {
	register(
		Rule{
			ID:        "command-direct",
			Severity:  finding.Error,
			Statement: "a command channel is repeated: transmit differs from receive",
			Why:       "there is no line of sight across a fire; direct command reaches one side of it",
			Bad:       "[[group.channel]]\nname = \"QB CMD 1\"\nuse = \"command\"\nrx = 152.4125     # no tx",
			Good:      "[[group.channel]]\nname = \"QB CMD 1\"\nuse = \"command\"\nrx = 152.4125\ntx = 157.6725\ntx_tone = \"site\"",
			Fix:       "choose a repeated channel for command; accept it where the whole fire is in sight of everybody",
			// A small fire in one drainage can be commanded direct.
			Acceptable: true,
			Check:      commandDirect,
		},
		Rule{
			ID:        "command-without-tone",
			Severity:  finding.Error,
			Statement: "a command channel transmits a tone or code that opens its repeater",
			Why:       "without the tone the repeater stays shut: command is keyed and nothing comes back",
			Bad:       "[[group.channel]]\nname = \"QB CMD 1\"\nuse = \"command\"\nrx = 152.4125\ntx = 157.6725     # no tx_tone",
			Good:      "[[group.channel]]\nname = \"QB CMD 1\"\nuse = \"command\"\nrx = 152.4125\ntx = 157.6725\ntx_tone = \"site\"",
			Fix:       "give the channel its tx_tone in the load: a tone, a code, or \"site\"",
			Check:     commandWithoutTone,
		},
		Rule{
			ID:        "receive-only",
			Severity:  finding.Error,
			Statement: "no slot holds a channel on which the radio cannot transmit",
			Why:       "somebody will turn to it and call, and nobody hears",
			Bad:       "[[slot]]\nchannel = \"QB WX\"     # receive_only = true in the load",
			Good:      "[[also]]\nchannel = \"QB WX\"\nwhen = \"weather, listen only\"",
			Fix:       "take it out of the list; [[also]] puts it on the card",
			Check:     receiveOnly,
		},
		Rule{
			ID:        "no-air-to-ground",
			Severity:  finding.Error,
			Statement: "a list has an air-to-ground channel when aircraft work the fire",
			Why:       "aircraft that cannot be called drop on people, or not where they are needed",
			Bad:       "[incident]\naircraft = true     # and no slot of use air-to-ground",
			Good:      "[[slot]]\nchannel = \"QB AG 1\"\nuse = \"air-to-ground\"",
			Fix:       "add a slot with the air-to-ground channel, or write aircraft = false if none work the fire",
			Check:     noAirToGround,
		},
		Rule{
			ID:        "guard-misused",
			Severity:  finding.Error,
			Statement: "the guard channel is used as guard and as nothing else",
			Why:       "ordinary traffic on guard covers a call for help",
			Bad:       "[[slot]]\nchannel = \"AIRGUARD\"\nuse = \"tactical\"",
			Good:      "[[slot]]\nchannel = \"AIRGUARD\"\nuse = \"guard\"",
			Fix:       "choose another channel for the slot; guard is for calls for help",
			Check:     guardMisused,
		},
		Rule{
			ID:         "air-to-ground-misused",
			Severity:   finding.Warning,
			Statement:  "an air-to-ground channel is used between air and ground only",
			Why:        "an aircraft hears and covers a channel over a very large area: ground traffic on it interferes with fires far away",
			Bad:        "[[slot]]\nchannel = \"QB AG 1\"\nuse = \"tactical\"",
			Good:       "[[slot]]\nchannel = \"QB AG 1\"\nuse = \"air-to-ground\"",
			Fix:        "choose a channel that is meant for the use",
			Acceptable: true,
			Check:      airToGroundMisused,
		},
		Rule{
			ID:         "tone-without-site",
			Severity:   finding.Warning,
			Statement:  "the chosen tone opens a site that carries the channel",
			Why:        "a tone of another repeater opens nothing, or opens it on somebody else's traffic",
			Bad:        "[[slot]]\nchannel = \"QB CMD 1\"\ntone = 7     # no site of QB CMD 1 has tone 7",
			Good:       "[[slot]]\nchannel = \"QB CMD 1\"\nsite = \"Bellwether\"",
			Fix:        "write site = NAME in place of the tone; accept it for a portable repeater that the load does not know",
			Acceptable: true,
			Check:      toneWithoutSite,
		},
		Rule{
			ID:         "travel-repeated",
			Severity:   finding.Warning,
			Statement:  "a travel channel is direct",
			Why:        "convoy talk through a mountain-top repeater keeps everybody in its reach from being heard",
			Bad:        "[[also]]\nchannel = \"QB TRAV 27\"     # repeated\nwhen = \"on the road\"",
			Good:       "[[also]]\nchannel = \"QB TRAV D\"      # direct\nwhen = \"on the road\"",
			Fix:        "choose a direct travel channel",
			Acceptable: true,
			Check:      travelRepeated,
		},
		Rule{
			ID:         "no-travel",
			Severity:   finding.Warning,
			Statement:  "units that travel as a team have a travel channel",
			Why:        "on the road a team without one talks on a channel that belongs to somebody else, or not at all",
			Bad:        "[[unit]]\nname = \"Engine 611\"\nteam = \"Strike team 6100C\"     # and no travel channel",
			Good:       "[[also]]\nchannel = \"QB TRAV 27\"\nwhen = \"on the road\"",
			Fix:        "add an [[also]] with the travel channel",
			Acceptable: true,
			Check:      noTravel,
		},
		Rule{
			ID:         "also-in-list",
			Severity:   finding.Advice,
			Statement:  "what stands under [[also]] is not in the list as well",
			Why:        "it takes room on the card that the list could use for larger type",
			Bad:        "[[slot]]\nchannel = \"AIRGUARD\"\n[[also]]\nchannel = \"AIRGUARD\"\nwhen = \"emergency\"",
			Good:       "[[slot]]\nchannel = \"AIRGUARD\"",
			Fix:        "remove the [[also]]",
			Acceptable: true,
			Check:      alsoInList,
		},
	)
}

func commandDirect(r *plan.Resolved, report func(finding.Finding)) {
	for _, s := range r.Slots {
		c := s.Channel
		if s.Use != radio.Command || c.Trunked() || c.Rx == 0 || c.Rx != c.Tx || c.Use == radio.Guard || c.Use == radio.AirToGround { // the last two have a rule each
			continue
		}
		report(finding.Finding{
			Place: usePlace(s), Subject: c.Name,
			Message: fmt.Sprintf("slot %d: command %s is direct: it transmits and receives on %s", number(r, s), c.Name, c.Rx),
			Help:    []string{"choose a repeated channel for command" + repeatedCommand(r)},
			Related: []finding.Related{related(c.At("name"), "%s", c)},
			Data:    facts{"channel": c.Name, "rx_hz": c.Rx},
		})
	}
}

// repeatedCommand names the first repeated command channel of the load.
func repeatedCommand(r *plan.Resolved) string {
	for _, c := range spare(r, radio.Command) {
		if c.Rx != c.Tx {
			return "; the load has " + c.String()
		}
	}
	return ""
}

func commandWithoutTone(r *plan.Resolved, report func(finding.Finding)) {
	for _, s := range r.Slots {
		c := s.Channel
		if s.Use != radio.Command || c.Trunked() || c.Rx == c.Tx || !s.TxTone.IsZero() || unchosen(s) || unread(c) {
			continue
		}
		report(finding.Finding{
			Place: usePlace(s), Subject: c.Name,
			Message: fmt.Sprintf("slot %d: command %s transmits without a tone, so its repeater does not open", number(r, s), c.Name),
			Help:    []string{fmt.Sprintf("give %s its tx_tone in the load: a tone, a code, or \"site\"", c.Name)},
			Related: []finding.Related{related(c.At("name"), "%s", c)},
			Data:    facts{"channel": c.Name, "tx_hz": c.Tx},
		})
	}
}

func receiveOnly(r *plan.Resolved, report func(finding.Finding)) {
	for _, s := range r.Slots {
		if !s.Channel.ReceiveOnly {
			continue
		}
		also := edit.Table{Header: "[[also]]", Keys: pairs("channel", s.Channel.Name, "when", "listen only")}
		report(offering(finding.Finding{
			Place: slotPlace(s), Subject: s.Channel.Name,
			Message: fmt.Sprintf("slot %d: %s is receive only: nobody can call on it", number(r, s), s.Channel.Name),
			Related: []finding.Related{related(s.Channel.At("receive_only"), "%s", s.Channel)},
			Data:    facts{"channel": s.Channel.Name},
		}, edit.In(s.Table).DeleteTable(s.Table).Append(also).Edit(
			fmt.Sprintf("move it to an [[also]] with channel = %q and when = \"listen only\"", s.Channel.Name))))
	}
}

func noAirToGround(r *plan.Resolved, report func(finding.Finding)) {
	if !r.Plan.Incident.Aircraft || missing(r, radio.AirToGround) {
		return
	}
	for _, l := range lists(r) {
		if count(l, radio.AirToGround) > 0 || misusedIn(l, radio.AirToGround) {
			continue
		}
		help := words("add a [[slot]] with the air-to-ground channel, or write aircraft = false")
		for _, c := range r.Load.Channels() {
			if c.Use == radio.AirToGround {
				last := r.Slots[len(r.Slots)-1]
				help = add(last, last.Use != radio.Guard, c, fmt.Sprintf("add a [[slot]] with channel = %q, or write aircraft = false", c.Name))
				break
			}
		}
		report(offering(finding.Finding{
			Place: listPlace(l), Subject: listSubject(r, l), Cause: finding.Cause{Name: "air-to-ground"},
			Message: fmt.Sprintf("aircraft work the fire, but the list%s has no air-to-ground channel", ofList(r, l)),
			Related: []finding.Related{related(r.Plan.Incident.At("aircraft"), "aircraft work the fire")},
			Data:    facts{"list": listSubject(r, l)},
		}, help))
	}
}

func guardMisused(r *plan.Resolved, report func(finding.Finding)) {
	misused(r, radio.Guard, "other traffic covers a call for help", report)
	for _, s := range r.Slots {
		g := onGuard(r, s)
		if g == nil {
			continue
		}
		report(offering(finding.Finding{
			Place: slotPlace(s), Subject: s.Channel.Name,
			Message: fmt.Sprintf("slot %d: %s transmits on %s, which is guard %s: other traffic covers a call for help", number(r, s), s.Channel.Name, s.Channel.Tx, g.Name),
			Related: []finding.Related{related(s.Channel.At("rx"), "%s", s.Channel), related(g.At("rx"), "%s", g)},
			Data:    facts{"channel": s.Channel.Name, "use": s.Use.String(), "guard": g.Name, "tx_hz": s.Channel.Tx},
		}, words("correct the frequency of "+s.Channel.Name+" in the load, or choose another channel")))
	}
}

func airToGroundMisused(r *plan.Resolved, report func(finding.Finding)) {
	misused(r, radio.AirToGround, "aircraft hear it from far away", report)
}

func misused(r *plan.Resolved, use radio.Use, why string, report func(finding.Finding)) {
	for _, s := range r.Slots {
		if s.Channel.Use != use || s.Use == use {
			continue
		}
		report(offering(finding.Finding{
			Place: usePlace(s), Subject: s.Channel.Name,
			Message: fmt.Sprintf("slot %d: %s is for %s, not for %s: %s", number(r, s), s.Channel.Name, use, s.Use, why),
			Related: []finding.Related{related(s.Channel.At("use"), "%s", s.Channel)},
			Data:    facts{"channel": s.Channel.Name, "use": s.Use.String(), "meant_for": use.String()},
		}, otherChannel(r, s)))
	}
}

// onGuard is the guard channel of the load on whose frequency a slot transmits
// that is not guard, nor programmed as it: under another tone it is heard there
// all the same.
func onGuard(r *plan.Resolved, s *plan.ResolvedSlot) *plan.Channel {
	c := s.Channel
	if s.Use == 0 || c.Use == 0 || s.Use == radio.Guard || c.Use == radio.Guard || c.Trunked() || c.ReceiveOnly || unread(c) {
		return nil
	}
	for _, g := range r.Load.Channels() {
		if g.Use == radio.Guard && !unread(g) && g.Rx > 0 && g.Rx == c.Tx {
			return g
		}
	}
	return nil
}

// misusedIn tells that a list holds a channel that is meant for a use, and uses
// it for another: then that is what is wrong.
func misusedIn(l *plan.List, use radio.Use) bool {
	return slices.ContainsFunc(l.Slots, func(s *plan.ResolvedSlot) bool { return s.Channel.Use == use && s.Use != use })
}

// otherChannel says what to put into a slot whose channel is meant for another
// use. To remove the use would leave the slot's job undone, and two slots of what
// the channel is for.
func otherChannel(r *plan.Resolved, s *plan.ResolvedSlot) finding.Edit {
	use := s.Channel.Use
	wanted := use == radio.Guard || r.Plan.Incident.Aircraft
	if wanted && s.Has("use") && !slices.ContainsFunc(r.Slots, func(o *plan.ResolvedSlot) bool { return o.Use == use }) {
		help := "remove use"
		e := edit.In(s.Table).Delete(s.Table, "use")
		if s.Has("division") {
			help += " and division"
			e.Delete(s.Table, "division")
		}
		help += fmt.Sprintf(": it is the only %s of the plan", use)
		if use == radio.Guard && r.Slots[len(r.Slots)-1] != s {
			return words(help + "; and move the [[slot]] to the bottom")
		}
		return e.Edit(help)
	}
	help := fmt.Sprintf("choose a channel for %s in place of %s", s.Use, s.Channel.Name)
	if s.Use == radio.Tactical {
		if free := directTacticals(r, nil, 3); len(free) > 0 {
			help += "; the load has " + inWords(free)
		}
		return words(help)
	}
	for _, c := range spare(r, s.Use) {
		return words(help + "; the load has " + c.String())
	}
	return words(help)
}

func toneWithoutSite(r *plan.Resolved, report func(finding.Finding)) {
	for _, s := range r.Slots {
		sites := r.Load.SitesOf(s.Channel)
		if s.Channel.TxTone != radio.Site || s.TxTone.IsZero() || s.Repeater != nil || len(sites) == 0 {
			continue
		}
		opens := false
		var help []finding.Edit
		for _, site := range sites {
			opens = opens || site.Squelch == s.TxTone
			e := edit.In(s.Table)
			for _, key := range []string{"tone", "tx_tone"} {
				if s.Has(key) {
					e.Delete(s.Table, key)
				}
			}
			help = append(help, e.Set(s.Table, "site", site.Name).Edit(fmt.Sprintf("write site = %q", site.Name)))
		}
		if opens {
			continue // two sites with one tone
		}
		key := "tone"
		if !s.Has(key) {
			key = "tx_tone"
		}
		report(offering(finding.Finding{
			Place: s.At(key), Subject: s.Channel.Name,
			Message: fmt.Sprintf("slot %d: no site of %s opens with %s", number(r, s), s.Channel.Name, s.TxTone),
			Related: []finding.Related{related(sites[0].At("channels"), "%s carries it", sites[0].Name)},
			Data:    facts{"channel": s.Channel.Name, "tone": s.TxTone.String()},
		}, help...))
	}
}

func travelRepeated(r *plan.Resolved, report func(finding.Finding)) {
	say := func(place finding.Place, c *plan.Channel) {
		report(finding.Finding{
			Place: place, Subject: c.Name,
			Message: fmt.Sprintf("travel channel %s is repeated: it transmits on %s, receives on %s", c.Name, c.Tx, c.Rx),
			Help:    []string{"choose a direct travel channel" + directTravel(r)},
			Related: []finding.Related{related(c.At("name"), "%s", c)},
			Data:    facts{"channel": c.Name, "rx_hz": c.Rx, "tx_hz": c.Tx},
		})
	}
	for _, s := range r.Slots {
		if s.Use == radio.Travel && s.Repeated() {
			say(usePlace(s), s.Channel)
		}
	}
	for _, a := range r.Also {
		if a.Channel.Use == radio.Travel && a.Channel.Repeated() {
			say(alsoPlace(a), a.Channel)
		}
	}
}

// directTravel names the first direct travel channel of the load.
func directTravel(r *plan.Resolved) string {
	for _, c := range spare(r, radio.Travel) {
		if !c.Repeated() {
			return "; the load has " + c.String()
		}
	}
	return ""
}

func noTravel(r *plan.Resolved, report func(finding.Finding)) {
	if missing(r, radio.Travel) || len(r.Also) < len(r.Plan.Also) || len(r.Slots) == 0 {
		return
	}
	for _, s := range r.Slots {
		if s.Use == radio.Travel || s.Channel.Use == radio.Travel {
			return
		}
	}
	for _, a := range r.Also {
		if a.Channel.Use == radio.Travel {
			return
		}
	}
	var teams []string
	var first *plan.Unit
	seen := map[string]bool{}
	for _, u := range r.Plan.Units {
		if u.Team == "" || seen[u.Team] {
			continue
		}
		if first == nil {
			first = u
		}
		seen[u.Team] = true
		teams = append(teams, u.Team)
	}
	if first == nil {
		return
	}
	help := words("add an [[also]] with the travel channel and when = \"on the road\"")
	for _, c := range r.Load.Channels() {
		if c.Use == radio.Travel {
			also := edit.Table{Header: "[[also]]", Keys: pairs("channel", c.Name, "when", "on the road")}
			help = edit.In(r.Plan.Table).Append(also).Edit(fmt.Sprintf("add an [[also]] with channel = %q and when = \"on the road\"", c.Name))
			if !c.Repeated() {
				break
			}
		}
	}
	report(offering(finding.Finding{
		Place: first.At("team"), Subject: r.Plan.Incident.Name,
		Message: "no travel channel for " + few(teams),
		Data:    facts{"teams": teams},
	}, help))
}

func alsoInList(r *plan.Resolved, report func(finding.Finding)) {
	for _, a := range r.Also {
		for _, s := range r.Slots {
			if s.Carriers != nil || s.Channel.Programming() != a.Channel.Programming() || s.TxTone != a.TxTone {
				continue
			}
			report(offering(finding.Finding{
				Place: alsoPlace(a), Subject: a.Channel.Name,
				Message: fmt.Sprintf("%s is on every card already, in slot %d", a.Channel.Name, number(r, s)),
				Related: []finding.Related{related(slotPlace(s), "slot %d: %s", number(r, s), s.Channel.Name)},
				Data:    facts{"channel": a.Channel.Name, "slot": number(r, s)},
			}, remove(a.Table, "remove this [[also]]")))
		}
	}
}
