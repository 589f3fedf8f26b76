package rules

import (
	"fmt"
	"slices"
	"strings"

	"slotcard/plan"
	"slotcard/plan/finding"
	"slotcard/plan/published"
	"slotcard/plan/radio"
)

// Channels that serve for something else than they are made for.
func init() {
	register(
		Rule{
			ID:         "use-differs",
			Severity:   finding.Warning,
			Statement:  "guard and air-to-ground are the load's own channels for it, and medical or travel channels are no tacticals",
			Why:        "whoever comes from elsewhere calls on the channel that is meant for it, and nobody here listens",
			Bad:        "[[slot]]\nchannel = \"QB TAC 5\"\nuse = \"guard\"",
			Good:       "[[slot]]\nchannel = \"AIRGUARD\"\nuse = \"guard\"",
			Fix:        "choose the channel that the load has for the use, or remove use from the slot",
			Acceptable: true,
			Check:      useDiffers,
		},
		Rule{
			ID:         "calling-misused",
			Severity:   finding.Warning,
			Statement:  "a national calling channel is for calling, not for the talk of a division",
			Why:        "who arrives without a plan calls there for help and orders, and finds it busy",
			Source:     "use tag CALL of ANS 1.104, through a county page that summarizes the NPSTC report of 2009",
			Bad:        "[[slot]]\nchannel = \"VCALL10\"\nuse = \"tactical\"",
			Good:       "[[slot]]\nchannel = \"VTAC11\"\nuse = \"tactical\"",
			Fix:        "choose a tactical channel",
			Acceptable: true,
			Check:      callingMisused,
		},
		Rule{
			ID:         "air-to-ground-channel",
			Severity:   finding.Warning,
			Statement:  "an air-to-ground channel is direct, analog, and listens without a tone",
			Why:        "aircraft come from everywhere: one without the tone, the mode or the system is not heard on the ground",
			Bad:        "name    = \"QB AG 1\"\nuse     = \"air-to-ground\"\nrx      = 151.8575\nrx_tone = 103.5",
			Good:       "name    = \"QB AG 1\"\nuse     = \"air-to-ground\"\nrx      = 151.8575",
			Fix:        "remove rx_tone, tx or mode from the channel; accept it where all aircraft of the incident are known to have it",
			Acceptable: true,
			Check:      airToGroundChannel,
		},
		Rule{
			ID:         "edition-mark-differs",
			Severity:   finding.Warning,
			Statement:  "the display name with the edition mark shows the year of the edition",
			Why:        "turning to it is how a crew finds out that a radio carries last year's load",
			Bad:        "[load]\nedition = \"2027\"\n[[group.channel]]\nname = \"QB TRAV 26\"\nedition_mark = true",
			Good:       "[load]\nedition = \"2027\"\n[[group.channel]]\nname = \"QB TRAV 27\"\nedition_mark = true",
			Fix:        "correct the edition, or the name as the radios of this edition show it",
			Acceptable: true,
			CheckLoad:  editionMarkDiffers,
		},
	)
}

// loadHas tells whether the load has a channel of a use that one can talk on.
func loadHas(r *plan.Resolved, use radio.Use) bool {
	return slices.ContainsFunc(r.Load.Channels(), func(c *plan.Channel) bool { return c.Use == use && !c.ReceiveOnly })
}

// exchanged tells that a channel for this use serves for another in some slot, so
// that the two may be exchanged: guard-misused and air-to-ground-misused say so.
func exchanged(r *plan.Resolved, use radio.Use) bool {
	return slices.ContainsFunc(r.Slots, func(s *plan.ResolvedSlot) bool { return s.Channel.Use == use && s.Use != use })
}

// meantFor says which channel of the load to take for the use of a slot.
func meantFor(r *plan.Resolved, s *plan.ResolvedSlot) string {
	var names []string
	for _, c := range r.Load.Channels() {
		if c.Use == s.Use && !c.ReceiveOnly && !slices.Contains(names, c.Name) {
			names = append(names, c.Name)
		}
	}
	if len(names) == 1 && s.Key() == "channel" {
		return fmt.Sprintf("write channel = %q", names[0])
	}
	return fmt.Sprintf("choose a channel that the load has for %s", s.Use)
}

func useDiffers(r *plan.Resolved, report func(finding.Finding)) {
	for _, s := range r.Slots {
		own := s.Channel.Use
		switch {
		case s.Use == own || own == 0 || own == radio.Guard || own == radio.AirToGround: // the last two have a rule each
			continue
		case (s.Use == radio.Guard || s.Use == radio.AirToGround) && loadHas(r, s.Use) && !exchanged(r, s.Use):
		case s.Use == radio.Tactical && (own == radio.Medical || own == radio.Travel) && !s.Repeated():
		default:
			continue
		}
		report(finding.Finding{
			Place: usePlace(s), Subject: s.Channel.Name,
			Message: fmt.Sprintf("slot %d: %s is a %s channel, but serves as %s", number(r, s), s.Channel.Name, own, s.Use),
			Help:    []string{meantFor(r, s)},
			Related: []finding.Related{related(s.Channel.At("use"), "%s", s.Channel)},
			Data:    facts{"channel": s.Channel.Name, "use": s.Use.String(), "meant_for": own.String()},
		})
	}
}

func callingMisused(r *plan.Resolved, report func(finding.Finding)) {
	for _, s := range r.Slots {
		p, ok := published.Interop(s.Channel.Name)
		if !ok || s.Use != radio.Tactical || !strings.Contains(p.Name, "CALL") {
			continue
		}
		f := finding.Finding{
			Place: slotPlace(s), Subject: s.Channel.Name,
			Message: fmt.Sprintf("slot %d: %s is a national calling channel, but serves as tactical", number(r, s), s.Channel.Name),
			Data:    facts{"channel": s.Channel.Name},
		}
		report(offering(f, tacticalInstead(r, s, s.Channel.Group, 2, "choose a tactical channel")...))
	}
}

func airToGroundChannel(r *plan.Resolved, report func(finding.Finding)) {
	for _, s := range r.Slots {
		c := s.Channel
		if _, national := published.Interop(c.Name); s.Use != radio.AirToGround || national || unread(c) {
			continue
		}
		what, help, key := "", "", "name"
		switch {
		case c.Trunked():
			what, help = "a talkgroup, which aircraft do not have", "choose a channel with a frequency"
		case s.Repeated():
			what, help, key = "repeated", "choose a direct channel", "tx"
		case c.Mode == radio.Digital:
			what, help, key = "digital", "choose an analog channel", "mode"
		case !c.RxTone.IsZero():
			what, help, key = "opened by "+toneText(c.RxTone)+" alone", fmt.Sprintf("remove rx_tone of %s in the load", c.Name), "rx_tone"
		default:
			continue
		}
		report(finding.Finding{
			Place: slotPlace(s), Subject: c.Name,
			Message: fmt.Sprintf("slot %d: air-to-ground %s is %s", number(r, s), c.Name, what),
			Help:    []string{help + ", or have the aircraft confirm that they have it"},
			Related: []finding.Related{related(c.At(key), "%s", c)},
			Data:    facts{"channel": c.Name, "key": key},
		})
	}
}

func editionMarkDiffers(l *plan.Load, report func(finding.Finding)) {
	year := yearOf(l.About.Edition)
	if year == "" {
		return
	}
	said := map[string]bool{}
	for _, c := range l.Channels() {
		if !c.EditionMark || strings.Contains(c.Name, year) || said[c.Name] {
			continue
		}
		said[c.Name] = true
		report(finding.Finding{
			Place: c.At("name"), Subject: c.Name,
			Message: fmt.Sprintf("%s %s carries the edition mark, but does not show %s of edition %s", c.Place(), c.Name, year, l.About.Edition),
			Help:    []string{"write the name as the radios of this edition show it, or correct edition"},
			Related: []finding.Related{related(l.About.At("edition"), "edition %s", l.About.Edition)},
			Data:    facts{"channel": c.Name, "edition": l.About.Edition},
		})
	}
}

// yearOf is the last two digits of the year in an edition, "" where it names none.
func yearOf(edition string) string {
	for _, word := range strings.FieldsFunc(edition, func(c rune) bool { return c < '0' || c > '9' }) {
		if len(word) == 4 && (word[:2] == "19" || word[:2] == "20") {
			return word[2:]
		}
	}
	return ""
}
