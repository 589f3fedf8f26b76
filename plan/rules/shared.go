package rules

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"slotcard/plan"
	"slotcard/plan/finding"
	"slotcard/plan/published"
	"slotcard/plan/radio"
	"slotcard/plan/spectrum"
	"slotcard/plan/tomlfile"
)

// facts are the data of a finding, under names that do not change.
type facts = map[string]any

// slotPlace is where the plan names the channel of a slot.
func slotPlace(s *plan.ResolvedSlot) finding.Place { return s.At(s.Key()) }

// usePlace is where the use of a slot is written, else its channel.
func usePlace(s *plan.ResolvedSlot) finding.Place {
	if s.Has("use") {
		return s.At("use")
	}
	return slotPlace(s)
}

// alsoPlace is where the plan names the channel of an [[also]].
func alsoPlace(a *plan.AlsoChannel) finding.Place { return a.At(a.Key()) }

// number of a slot in the plan, from 1, counting those that could not be
// resolved.
func number(r *plan.Resolved, s *plan.ResolvedSlot) int {
	return slices.Index(r.Plan.Slots, s.Slot) + 1
}

// slotName says which slot of which list: "slot 3", or where lists differ
// "slot 3 of division A".
func slotName(r *plan.Resolved, l *plan.List, i int) string {
	if len(r.Unresolved) > 0 { // positions in the list are not known yet
		return fmt.Sprintf("slot %d", number(r, l.Slots[i]))
	}
	return fmt.Sprintf("slot %d", i+1) + ofList(r, l)
}

// ofList is empty where the plan has a single list.
func ofList(r *plan.Resolved, l *plan.List) string {
	name := l.Name(r)
	if name == "" {
		return ""
	}
	return " of " + strings.ToLower(name[:1]) + name[1:]
}

// listSubject is by what an [[accept]] names a list: who carries it, or the
// incident where there is only one.
func listSubject(r *plan.Resolved, l *plan.List) string {
	if name := l.Name(r); name != "" {
		return name
	}
	return r.Plan.Incident.Name
}

// listPlace stands for the list as a whole: its last slot.
func listPlace(l *plan.List) finding.Place { return l.Slots[len(l.Slots)-1].At("") }

// lists are the lists that hold anything at all.
func lists(r *plan.Resolved) []*plan.List {
	return slices.DeleteFunc(slices.Clone(r.Lists), func(l *plan.List) bool { return len(l.Slots) == 0 })
}

// onAir is what shares the air: all slots of the plan as one list, in order of
// the plan, whoever carries them; nothing where there are none. A radio does not
// know which list another was built from.
func onAir(r *plan.Resolved) []*plan.List {
	if len(r.Slots) == 0 {
		return nil
	}
	return []*plan.List{{Slots: r.Slots}}
}

// incomplete tells that some slot could not be resolved, or that some lines could
// not be read: then what is absent proves nothing.
func incomplete(r *plan.Resolved) bool {
	return len(r.Unresolved) > 0 || doubtful(r.Plan.File()) || r.Plan.Station != nil && doubtful(r.Plan.Station.File())
}

func doubtful(f *tomlfile.File) bool { return f != nil && f.Doubtful() }

// missing tells whether a slot that is not there may have been of this use.
func missing(r *plan.Resolved, use radio.Use) bool {
	return len(r.Unresolved) == 0 && incomplete(r) ||
		slices.ContainsFunc(r.Slots, func(s *plan.ResolvedSlot) bool { return s.Use == 0 }) || slices.ContainsFunc(r.Unresolved, func(s *plan.Slot) bool { return s.Use == 0 || s.Use == use })
}

// count is how many slots of a use the list holds.
func count(l *plan.List, use radio.Use) int {
	n := 0
	for _, s := range l.Slots {
		if s.Use == use {
			n++
		}
	}
	return n
}

// unchosen tells that the slot's repeater could not be settled: its transmit
// tone is not known, and another finding says why.
func unchosen(s *plan.ResolvedSlot) bool {
	return s.Channel.TxTone == radio.Site && s.TxTone.IsZero()
}

// unread tells that a value of the channel which decides how it transmits was
// written, but could not be read.
func unread(c *plan.Channel) bool {
	return slices.ContainsFunc([]string{"rx", "tx", "tx_tone"}, func(key string) bool { return c.Has(key) && !c.OK(key) })
}

func related(place finding.Place, format string, args ...any) finding.Related {
	return finding.Related{Place: place, Message: fmt.Sprintf(format, args...)}
}

var and = finding.And

func plural(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return strconv.Itoa(n) + " " + many
}

// few names three of many words, and says how many more there are: nobody reads
// forty.
func few(words []string) string {
	return fewOf(len(words), func(i int) string { return words[i] })
}

// fewOf is few of n words, of which only those are asked for that are said.
func fewOf(n int, word func(int) string) string {
	const most = 3
	said := n
	if n-most > 1 {
		said = most
	}
	words := make([]string, said)
	for i := range words {
		words[i] = word(i)
	}
	if said < n {
		return strings.Join(words, ", ") + fmt.Sprintf(" and %d more", n-said)
	}
	return and(words)
}

// spare are the channels of the load that a plan could take for a use, each
// once: meant for it, able to talk, not in the plan, and free of faults, so that
// taking one brings no other finding about the load. A national
// calling channel is none: it is for calling, whatever the load says.
func spare(r *plan.Resolved, use radio.Use) []*plan.Channel {
	not := map[string]bool{}
	for _, f := range CheckLoad(r.Load) {
		for _, p := range f.Parts() {
			if p.Severity >= finding.Warning || p.Rule == "names-differ" {
				not[p.Subject] = true
			}
		}
	}
	for _, s := range r.Slots {
		not[s.Channel.Name] = true
	}
	var out []*plan.Channel
	for _, c := range r.Load.Channels() {
		if c.Use != use || c.Trunked() || c.ReceiveOnly || unread(c) || not[c.Name] || calling(c) {
			continue
		}
		not[c.Name] = true
		out = append(out, c)
	}
	return out
}

// calling tells a national calling channel by its name: VCALL10, UCALL40D, 8CALL90.
func calling(c *plan.Channel) bool {
	p, national := published.Interop(c.Name)
	return national && strings.Contains(p.Name, "CALL")
}

// directTacticals are channels of the load that a tactical may be replaced by:
// spare, direct, and clear of every slot. Those of the same group come first.
func directTacticals(r *plan.Resolved, group *plan.Group, limit int) []*plan.Channel {
	var same, other []*plan.Channel
	for _, c := range spare(r, radio.Tactical) {
		mine := OnAir(c, radio.Tactical)
		if c.Repeated() || slices.ContainsFunc(r.Slots, func(s *plan.ResolvedSlot) bool { return spectrum.Clash(mine, OnAir(s.Channel, s.Use)) > 0 }) {
			continue
		}
		if c.Group != group {
			other = append(other, c)
		} else if same = append(same, c); len(same) == limit {
			break // a large load is asked for every list of a plan
		}
	}
	all := append(same, other...)
	return all[:min(limit, len(all))]
}

// inWords are channels inside a sentence.
func inWords(channels []*plan.Channel) string {
	var names []string
	for _, c := range channels {
		names = append(names, c.String())
	}
	return and(names)
}
