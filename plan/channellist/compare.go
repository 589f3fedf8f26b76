package channellist

import (
	"fmt"
	"slices"
	"strings"

	"slotcard/plan"
	"slotcard/plan/published"
	"slotcard/plan/radio"
)

// Change is how a channel of the list stands to one of a load.
type Change uint8

const (
	Same      Change = iota
	Moved            // programmed alike, at another place
	Renamed          // the same frequencies and tones under another name
	Retuned          // the same name, programmed otherwise
	Added            // only in the list
	Removed          // only in the load
	Described        // programmed alike, with another use or other remarks
)

func (c Change) String() string {
	return [...]string{"the same", "moved", "renamed", "retuned", "added", "removed", "described otherwise"}[c]
}

// Pair is a channel of the list and the one of the load that it is, or was.
type Pair struct {
	Change Change
	Now    *Channel // nil: removed
	Group  *Group   // of Now
	Load   *plan.Channel
	Fields []Difference // what differs in programming
	Noted  []Difference // what else differs; between two loads only
	Moved  bool         // also where Change says more
}

// Difference is a key that the list and the load have otherwise.
type Difference struct{ Key, List, Load string }

// What says in words what the pair is about, without the file.
func (p Pair) What() string {
	parts := []string{p.what()}
	for _, d := range p.Noted {
		parts = append(parts, fmt.Sprintf("%s %s is now %s", d.Key, d.Load, d.List))
	}
	return strings.Join(parts, "; ")
}

func (p Pair) what() string {
	at := func() string { return plan.PlaceOf(p.Group.Number, p.Now.Number) }
	moved := ""
	if p.Moved {
		moved = fmt.Sprintf("from %s to %s", p.Load.Place(), at())
	}
	switch p.Change {
	case Added:
		return fmt.Sprintf("%s, %s, %s", p.Now.called(), at(), p.Now.tuned())
	case Removed:
		return fmt.Sprintf("%s, %s", p.Load.Name, p.Load.Place())
	case Moved:
		return fmt.Sprintf("%s, %s", p.Now.called(), moved)
	case Renamed:
		return strings.TrimSuffix(fmt.Sprintf("%s is now %s, %s; %s", p.Load.Name, p.Now.called(), at(), moved), "; ")
	case Retuned:
		var parts []string
		for _, d := range p.Fields {
			parts = append(parts, fmt.Sprintf("%s %s is now %s", d.Key, d.Load, d.List))
		}
		return strings.TrimSuffix(fmt.Sprintf("%s, %s: %s; %s", p.Now.called(), at(), strings.Join(parts, ", "), moved), "; ")
	}
	return fmt.Sprintf("%s, %s", p.Now.called(), at())
}

func (c *Channel) tuned() string {
	if c.Talkgroup != "" {
		return c.System + " / " + c.Talkgroup
	}
	if c.Tx == c.Rx {
		return c.Rx.String()
	}
	return c.Rx.String() + "/" + c.Tx.String()
}

// differences are the keys of programming that a channel of the list has otherwise
// than one of the load. What a person has still to decide is not compared.
func (c *Channel) differences(p *plan.Channel) []Difference {
	var found []Difference
	undecided := func(key string) bool {
		return slices.ContainsFunc(c.Open, func(o Open) bool { return o.Key == key })
	}
	add := func(key, list, load string, same bool) {
		if !same && !undecided(key) {
			found = append(found, Difference{key, list, load})
		}
	}
	plain := func(key, list, load string) { add(key, list, load, list == load) }
	mhz := func(h radio.Hertz) string {
		if h == 0 {
			return "none"
		}
		return h.String()
	}
	if !undecided("rx") {
		plain("rx", mhz(c.Rx), mhz(p.Rx))
		plain("tx", mhz(c.Tx), mhz(p.Tx))
	}
	tone := func(key string, list, load radio.Squelch) {
		add(key, list.String(), load.String(), published.SameSquelch(list, load) || list == load)
	}
	tone("rx_tone", c.RxTone, p.RxTone)
	tone("tx_tone", c.TxTone, p.TxTone)
	plain("mode", c.Mode.String(), p.Mode.String())
	plain("width", c.Width.String(), p.Width.String())
	plain("receive_only", fmt.Sprint(c.ReceiveOnly), fmt.Sprint(p.ReceiveOnly))
	plain("system", said(c.System), said(p.System))
	plain("talkgroup", said(c.Talkgroup), said(p.Talkgroup))
	return found
}

// placed is a channel of the list with its group.
type placed struct {
	*Channel
	group *Group
}

// pair finds for each channel of the list the one of the load that it is: in
// passes from what is certain to what is less so. Removed ones come last.
func (l *List) pair(old *plan.Load) []Pair {
	var now []placed
	for _, g := range l.Groups {
		for _, c := range g.Channels {
			now = append(now, placed{c, g})
		}
	}
	before := old.Channels()
	match := make([]*plan.Channel, len(now))
	used := map[*plan.Channel]bool{}
	name := func(n placed, p *plan.Channel) bool { return n.Name == p.Name }
	spelled := func(n placed, p *plan.Channel) bool { return bare(n.Name) == bare(p.Name) }
	place := func(n placed, p *plan.Channel) bool {
		return n.Number == p.Number && (n.group.Number == p.Group.Number || strings.EqualFold(n.group.Name, p.Group.Name))
	}
	tuned := func(n placed, p *plan.Channel) bool { return len(n.differences(p)) == 0 && !n.unread() }
	index := map[string][]*plan.Channel{}
	keys := func(n string, rx radio.Hertz, tg string, group, number int) []string {
		return []string{"n" + bare(n), fmt.Sprintf("f%d%s", rx, tg), fmt.Sprintf("p%d/%d", group, number)}
	}
	for _, p := range before {
		for _, k := range keys(p.Name, p.Rx, p.Talkgroup, p.Group.Number, p.Number) {
			index[k] = append(index[k], p)
		}
	}
	for _, pass := range [][]func(placed, *plan.Channel) bool{
		{name, tuned, place}, {name, tuned}, {name, place}, {spelled, tuned, place}, {tuned, place}, {spelled, tuned}, {name}, {tuned}, {spelled},
	} {
		for i, n := range now {
			if match[i] != nil {
				continue
			}
			for _, k := range keys(n.Name, n.Rx, n.Talkgroup, n.group.Number, n.Number) {
				for _, p := range index[k] {
					if match[i] == nil && !used[p] && !slices.ContainsFunc(pass, func(same func(placed, *plan.Channel) bool) bool { return !same(n, p) }) {
						match[i], used[p] = p, true
					}
				}
			}
		}
	}
	var pairs []Pair
	for i, n := range now {
		p := Pair{Now: n.Channel, Group: n.group, Load: match[i]}
		switch {
		case p.Load == nil:
			p.Change = Added
		default:
			p.Fields, p.Moved = n.differences(p.Load), !place(n, p.Load)
			switch {
			case len(p.Fields) > 0:
				p.Change = Retuned
			case n.Name != p.Load.Name && n.Name != "":
				p.Change = Renamed
			case p.Moved:
				p.Change = Moved
			}
		}
		pairs = append(pairs, p)
	}
	for _, p := range before {
		if !used[p] {
			pairs = append(pairs, Pair{Change: Removed, Load: p})
		}
	}
	return pairs
}

func bare(s string) string { return strings.ToUpper(strings.Join(strings.Fields(s), "")) }

// unread tells whether the list does not say what a channel is tuned to.
func (c *Channel) unread() bool {
	return slices.ContainsFunc(c.Open, func(o Open) bool { return o.Key == "rx" || o.Key == "tx" })
}

// Since compares with last year's load, and keeps what was decided there: uses
// that the sheets do not say in a column, remarks where they have none, the channel
// that carries the edition, sites where no table has them.
func (l *List) Since(old *plan.Load) []Pair {
	pairs := l.pair(old)
	for _, p := range pairs {
		if p.Now == nil || p.Load == nil {
			continue
		}
		c := p.Now
		if c.UseBy != ByColumn && p.Load.Use != 0 && !c.saysOtherwise() {
			c.Use, c.UseBy = p.Load.Use, ByLast
			c.Open = slices.DeleteFunc(c.Open, func(o Open) bool { return o.Key == "use" })
		}
		if c.Remarks == "" {
			c.Remarks = p.Load.Remarks
		}
		c.Edition = c.Edition || p.Load.EditionMark
	}
	if len(l.Sites) == 0 {
		names := l.names()
		for _, s := range old.Sites {
			site := &Site{At: Place{Column: -1}, Name: s.Name, Tone: s.Squelch, ToneNumber: s.Tone.Number, Latitude: s.Latitude, Longitude: s.Longitude, Elevation: s.Elevation}
			for _, c := range s.Channels {
				if names[strings.ToLower(c)] != "" {
					site.Channels = append(site.Channels, c)
				}
			}
			l.Sites = append(l.Sites, site)
		}
	}
	return pairs
}

// saysOtherwise tells whether the sheet has a word for the use that is not
// understood: that is for a person, whatever last year's load had.
func (c *Channel) saysOtherwise() bool {
	return slices.ContainsFunc(c.Open, func(o Open) bool { return o.Key == "use" && strings.HasPrefix(o.Why, "the sheet says") })
}

// Proof is one row, or one channel of the load, that the other does not bear out.
type Proof struct {
	At      Place         // of the row; Row 0: the sheet has none
	Channel *plan.Channel // of the load; nil: it has none
	Key     string        // of the channel; "": as a whole
	Message string        // one line, lower case, no full stop
}

// Against proves a load row by row against the list: names, places, frequencies,
// tones, modes, widths, and uses where a column says them. Remarks are not
// compared.
func (l *List) Against(load *plan.Load) []Proof {
	var found []Proof
	for _, p := range l.pair(load) {
		add := func(key, format string, args ...any) {
			f := Proof{Channel: p.Load, Key: key, Message: fmt.Sprintf(format, args...)}
			if p.Now != nil {
				f.At = p.Now.At
			}
			found = append(found, f)
		}
		switch p.Change {
		case Added:
			add("", "%s, %s, is on the sheet and not in the load", p.Now.called(), p.Now.tuned())
			continue
		case Removed:
			add("name", "%s %s is in the load and not on the sheet", p.Load.Place(), p.Load.Name)
			continue
		}
		if p.Now.Name != p.Load.Name {
			add("name", "name: the load has %q, the sheet has %q", p.Load.Name, p.Now.Name)
		}
		if p.Now.Number != p.Load.Number && p.Now.Number > 0 {
			add("number", "%s: number: the load has %d, the sheet has %d", p.Load.Name, p.Load.Number, p.Now.Number)
		}
		if p.Group.Number != p.Load.Group.Number && !strings.EqualFold(p.Group.Name, p.Load.Group.Name) {
			add("name", "%s: group: the load has %d %s, the sheet has %s", p.Load.Name, p.Load.Group.Number, p.Load.Group.Name, p.Group.Name)
		}
		for _, d := range p.Fields {
			add(d.Key, "%s: %s: the load has %s, the sheet has %s", p.Load.Name, d.Key, d.Load, d.List)
		}
		if p.Now.UseBy == ByColumn && p.Now.Use != p.Load.Use {
			add("use", "%s: use: the load has %s, the sheet has %s", p.Load.Name, p.Load.Use, p.Now.Use)
		}
		for _, o := range p.Now.Open {
			if o.Key != "use" && o.Key != "receive_only" {
				add(o.Key, "%s: %s is not proved: %s", p.Load.Name, o.Key, o.Why)
			}
		}
	}
	return append(found, l.tablesAgainst(load)...)
}

// tablesAgainst proves numbered tones and sites, where the sheets have them.
func (l *List) tablesAgainst(load *plan.Load) []Proof {
	var found []Proof
	add := func(at Place, format string, args ...any) {
		found = append(found, Proof{At: at, Message: fmt.Sprintf(format, args...)})
	}
	for _, t := range l.Tones {
		i := slices.IndexFunc(load.Tones, func(o *plan.Tone) bool { return o.Number == t.Number })
		switch {
		case i < 0:
			add(t.At, "tone %d, %s, is on the sheet and not in the load", t.Number, t.Value)
		case load.Tones[i].Hz != t.Value:
			add(t.At, "tone %d: the load has %s, the sheet has %s", t.Number, load.Tones[i].Hz, t.Value)
		}
	}
	for _, s := range l.Sites {
		i := slices.IndexFunc(load.Sites, func(o *plan.Site) bool { return strings.EqualFold(o.Name, s.Name) })
		if i < 0 {
			add(s.At, "site %s is on the sheet and not in the load", s.Name)
			continue
		}
		value := s.Tone
		if s.ToneNumber > 0 && value.IsZero() {
			value, _ = l.toneValue(s.ToneNumber)
			if value.IsZero() {
				for _, t := range load.Tones {
					if t.Number == s.ToneNumber {
						value = t.Hz
					}
				}
			}
		}
		if o := load.Sites[i]; !value.IsZero() && o.Squelch != value {
			add(s.At, "site %s: tone: the load has %s, the sheet has %s", s.Name, o.Squelch, value)
		}
		for _, c := range s.Channels {
			if !slices.Contains(load.Sites[i].Channels, c) {
				add(s.At, "site %s: the sheet has %s repeated there, the load has not", s.Name, c)
			}
		}
	}
	return found
}
