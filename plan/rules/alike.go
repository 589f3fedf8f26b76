package rules

import (
	"fmt"
	"strings"

	"slotcard/plan"
	"slotcard/plan/finding"
	"slotcard/plan/published"
	"slotcard/plan/radio"
)

// Two things that are one, or look like one.
func init() {
	register(
		Rule{
			ID:         "names-alike",
			Severity:   finding.Warning,
			Statement:  "no two display names of a list read alike",
			Why:        "at night 1 and I, 0 and O, 5 and S, 8 and B are one sign on a small display, and a space or hyphen is overlooked",
			Bad:        "[[slot]]\nchannel = \"CB TAC 1\"\n[[slot]]\nchannel = \"CB TAC I\"",
			Good:       "[[slot]]\nchannel = \"CB TAC 1\"\n[[slot]]\nchannel = \"CB TAC 2\"",
			Fix:        "choose another channel for one of the two",
			Acceptable: true,
			Check:      namesAlike,
		},
		Rule{
			ID:         "also-twice",
			Severity:   finding.Warning,
			Statement:  "a channel stands under [[also]] once",
			Why:        "two lines of the card are one channel: one of them was meant to be another",
			Bad:        "[[also]]\nchannel = \"QB TRAV 27\"\nwhen = \"on the road\"\n[[also]]\nchannel = \"QB TRAV 27\"\nwhen = \"to reach the dispatcher\"",
			Good:       "[[also]]\nchannel = \"QB TRAV 27\"\nwhen = \"on the road\"\n[[also]]\nchannel = \"QB DISP\"\nwhen = \"to reach the dispatcher\"",
			Fix:        "correct the channel of one, or remove it and say both in when",
			Acceptable: true,
			Check:      alsoTwice,
		},
		Rule{
			ID:         "channel-two-names",
			Severity:   finding.Warning,
			Statement:  "a channel of a load has one display name",
			Why:        "two crews that are sent to two channels are on one, or a frequency or tone of one of them is wrong",
			Bad:        "name = \"QB TAC 1\"\nrx = 151.2500\n[[group.channel]]\nname = \"QB TAC 2\"\nrx = 151.2500",
			Good:       "name = \"QB TAC 1\"\nrx = 151.2500\n[[group.channel]]\nname = \"QB TAC 2\"\nrx = 151.2650",
			Fix:        "correct the one that is wrong; if both are one channel, give it one name",
			Acceptable: true,
			CheckLoad:  channelTwoNames,
		},
		Rule{
			ID:         "tones-equal",
			Severity:   finding.Warning,
			Statement:  "every numbered tone of a load is a tone of its own",
			Why:        "who turns to one of the two numbers opens the repeater of the other: one of them is wrong",
			Bad:        "[[tone]]\nnumber = 4\nhz = 146.2\n[[tone]]\nnumber = 7\nhz = 146.2",
			Good:       "[[tone]]\nnumber = 4\nhz = 146.2\n[[tone]]\nnumber = 7\nhz = 162.2",
			Fix:        "correct the one that is wrong, or remove it",
			Acceptable: true,
			CheckLoad:  tonesEqual,
		},
	)
}

// alike turns what reads alike into the same signs, of capitals: a small l reads
// as a 1, a capital L does not.
var (
	alike  = strings.NewReplacer("O", "0", "I", "1", "S", "5", "B", "8", " ", "", "-", "", "_", "", ".", "", "/", "")
	smallL = strings.NewReplacer("l", "1")
)

func readsAs(name string) string { return alike.Replace(strings.ToUpper(smallL.Replace(name))) }

func namesAlike(r *plan.Resolved, report func(finding.Finding)) {
	type pairOfNames struct{ a, b string }
	said := map[pairOfNames]bool{}
	for _, l := range lists(r) {
		first := map[string]*plan.ResolvedSlot{}
		for _, s := range l.Slots {
			as := readsAs(s.Channel.Name)
			f := first[as]
			if f == nil {
				first[as] = s
				continue
			}
			names := pairOfNames{f.Channel.Name, s.Channel.Name}
			if names.a == names.b || said[names] || programmed(f) == programmed(s) && !unchosen(s) { // channel-twice says so
				continue
			}
			said[names] = true
			report(finding.Finding{
				Place: slotPlace(s), Subject: s.Channel.Name,
				Message: fmt.Sprintf("slots %d and %d: %s and %s read alike", number(r, f), number(r, s), f.Channel.Name, s.Channel.Name),
				Help:    []string{"choose another channel for one of the two"},
				Related: []finding.Related{related(slotPlace(f), "slot %d: %s", number(r, f), f.Channel)},
				Data:    facts{"channels": []string{f.Channel.Name, s.Channel.Name}},
			})
		}
	}
}

func alsoTwice(r *plan.Resolved, report func(finding.Finding)) {
	type programmedAlso struct {
		c plan.Programming
		q radio.Squelch
	}
	first := map[programmedAlso]*plan.AlsoChannel{}
	for _, a := range r.Also {
		p := programmedAlso{a.Channel.Programming(), a.TxTone}
		f := first[p]
		if f == nil {
			first[p] = a
			continue
		}
		report(finding.Finding{
			Place: alsoPlace(a), Subject: a.Channel.Name,
			Message: fmt.Sprintf("[[also]] has %s twice: %q and %q", a.Channel.Name, f.When, a.When),
			Help:    []string{"correct the channel of one, or remove it and say both in when"},
			Related: []finding.Related{related(alsoPlace(f), "%s stands here already", a.Channel.Name)},
			Data:    facts{"channel": a.Channel.Name},
		})
	}
}

func channelTwoNames(l *plan.Load, report func(finding.Finding)) {
	first := map[plan.Programming]*plan.Channel{}
	said := map[string]bool{}
	unsure := wronglyNamed(l)
	for _, c := range l.Channels() {
		if unread(c) || !c.Trunked() && c.Rx == 0 || unsure[c.Name] {
			continue
		}
		p := nameless(c)
		f := first[p]
		if f == nil {
			first[p] = c
			continue
		}
		if f.Name == c.Name || said[c.Name] {
			continue
		}
		said[c.Name] = true
		// A plan that uses either of them depends on it.
		for _, o := range []*plan.Channel{c, f} {
			report(finding.Finding{
				Place: o.At("name"), Subject: o.Name, Cause: finding.Cause{
					Name: f.Name + " and " + c.Name, Place: c.At("name"),
					Message: fmt.Sprintf("%s %s and %s %s are one channel under two names", f.Place(), f.Name, c.Place(), c.Name),
				},
				Message: fmt.Sprintf("%s %s and %s %s are one channel under two names", f.Place(), f.Name, c.Place(), c.Name),
				Help:    []string{"correct the frequency or tone of the one that is wrong; if both are one channel, give it one name"},
				Data:    facts{"channels": []string{f.Name, c.Name}},
			})
		}
	}
}

// wronglyNamed are the display names of which another rule says that they are
// wrong: what they program proves nothing.
func wronglyNamed(l *plan.Load) map[string]bool {
	wrong, first := map[string]bool{}, map[string]plan.Programming{}
	for _, c := range l.Channels() {
		p := c.Programming()
		if f, ok := first[c.Name]; !ok {
			first[c.Name] = p
		} else if f != p {
			wrong[c.Name] = true // see names-differ
		}
		if n, national := published.Interop(c.Name); national && (n.Rx != c.Rx || n.Tx != c.Tx && !c.ReceiveOnly) {
			wrong[c.Name] = true // see interop-frequency
		}
	}
	return wrong
}

// twins tell, of each channel of a load without its name, whether it stands there under
// several names.
func twins(l *plan.Load) map[plan.Programming]bool {
	several, first := map[plan.Programming]bool{}, map[plan.Programming]string{}
	for _, c := range l.Channels() {
		p := nameless(c)
		if name, ok := first[p]; !ok {
			first[p] = c.Name
		} else if name != c.Name {
			several[p] = true
		}
	}
	return several
}

// nameless is what a channel programs but for its name.
func nameless(c *plan.Channel) plan.Programming {
	p := c.Programming()
	p.Name = ""
	return p
}

func tonesEqual(l *plan.Load, report func(finding.Finding)) {
	for i, t := range l.Tones {
		if t.Hz.IsZero() {
			continue
		}
		for _, f := range l.Tones[:i] {
			if !published.SameSquelch(f.Hz, t.Hz) || f.Number == t.Number {
				continue
			}
			report(finding.Finding{
				Place: t.At("hz"), Subject: t.Hz.String(),
				Message: fmt.Sprintf("tones %d and %d are both %s", f.Number, t.Number, toneText(t.Hz)),
				Help:    []string{"correct the one that is wrong, or remove it"},
				Related: []finding.Related{related(f.At("hz"), "tone %d", f.Number)},
				Data:    facts{"numbers": []int{f.Number, t.Number}, "tone": t.Hz.String()},
			})
			break
		}
	}
}
