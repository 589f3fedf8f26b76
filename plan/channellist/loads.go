package channellist

import (
	"fmt"
	"slices"
	"strings"

	"slotcard/plan"
)

// Changes is what is new in a load since another one.
type Changes struct {
	Pairs []Pair   // channels, in order of the new load; removed ones last
	Other []string // of the load itself, its tones and sites, one line each
}

// Empty tells whether the two loads say the same.
func (c Changes) Empty() bool {
	return len(c.Other) == 0 && !slices.ContainsFunc(c.Pairs, func(p Pair) bool { return p.Change != Same })
}

// Between compares two loads, in the words in which a list is compared with last
// year's: each channel is found again by name, frequency and place.
func Between(old, now *plan.Load) Changes {
	l := of(now)
	c := Changes{Pairs: l.pair(old), Other: append(aboutDifferences(old, now), tableDifferences(old, now)...)}
	for i := range c.Pairs {
		p := &c.Pairs[i]
		if p.Now == nil || p.Load == nil {
			continue
		}
		note := func(key, list, load string) {
			if list != load {
				p.Noted = append(p.Noted, Difference{key, list, load})
			}
		}
		note("use", said(p.Now.Use.String()), said(p.Load.Use.String()))
		note("edition_mark", fmt.Sprint(p.Now.Edition), fmt.Sprint(p.Load.EditionMark))
		note("remarks", quoted(p.Now.Remarks), quoted(p.Load.Remarks))
		if p.Change == Same && len(p.Noted) > 0 {
			p.Change = Described
		}
	}
	return c
}

func quoted(s string) string {
	if s == "" {
		return "none"
	}
	return fmt.Sprintf("%q", s)
}

// of is a load as a list.
func of(load *plan.Load) *List {
	l := &List{}
	for _, g := range load.Groups {
		x := &Group{Number: g.Number, Name: g.Name}
		for _, c := range g.Channels {
			x.Channels = append(x.Channels, &Channel{
				At: Place{Column: -1}, Number: c.Number, Name: c.Name, Use: c.Use, UseBy: ByColumn, Rx: c.Rx, Tx: c.Tx, RxTone: c.RxTone, TxTone: c.TxTone,
				Mode: c.Mode, Width: c.Width, ReceiveOnly: c.ReceiveOnly, Edition: c.EditionMark, Remarks: c.Remarks, System: c.System, Talkgroup: c.Talkgroup,
			})
		}
		l.Groups = append(l.Groups, x)
	}
	return l
}

// isNow says that a value has changed.
func isNow(what, was, is string) []string {
	if was == is {
		return nil
	}
	return []string{fmt.Sprintf("%s %s is now %s", what, said(was), said(is))}
}

func aboutDifferences(old, now *plan.Load) []string {
	a, b := old.About, now.About
	return slices.Concat(
		isNow("name", quoted(a.Name), quoted(b.Name)), isNow("edition", a.Edition, b.Edition), isNow("color", a.Colour, b.Colour),
		isNow("effective", a.Effective.String(), b.Effective.String()), isNow("expires", a.Expires.String(), b.Expires.String()),
		isNow("list_positions", fmt.Sprint(old.Radio.ListPositions), fmt.Sprint(now.Radio.ListPositions)),
		isNow("name_length", fmt.Sprint(old.Radio.NameLength), fmt.Sprint(now.Radio.NameLength)),
	)
}

// tableDifferences are those of numbered tones and sites.
func tableDifferences(old, now *plan.Load) (all []string) {
	for _, t := range now.Tones {
		i := slices.IndexFunc(old.Tones, func(o *plan.Tone) bool { return o.Number == t.Number })
		if i < 0 {
			all = append(all, fmt.Sprintf("tone %d is new: %s", t.Number, t.Hz))
			continue
		}
		all = append(all, isNow(fmt.Sprintf("tone %d:", t.Number), old.Tones[i].Hz.String(), t.Hz.String())...)
	}
	for _, t := range old.Tones {
		if !slices.ContainsFunc(now.Tones, func(o *plan.Tone) bool { return o.Number == t.Number }) {
			all = append(all, fmt.Sprintf("tone %d is gone; it was %s", t.Number, t.Hz))
		}
	}
	named := func(sites []*plan.Site, name string) *plan.Site {
		for _, s := range sites {
			if strings.EqualFold(s.Name, name) {
				return s
			}
		}
		return nil
	}
	for _, s := range now.Sites {
		o := named(old.Sites, s.Name)
		if o == nil {
			all = append(all, fmt.Sprintf("site %s is new, tone %s", s.Name, s.Squelch))
			continue
		}
		all = append(all, isNow("site "+s.Name+": tone", o.Squelch.String(), s.Squelch.String())...)
		for _, c := range s.Channels {
			if !slices.Contains(o.Channels, c) {
				all = append(all, fmt.Sprintf("site %s: it repeats %s now", s.Name, c))
			}
		}
		for _, c := range o.Channels {
			if !slices.Contains(s.Channels, c) {
				all = append(all, fmt.Sprintf("site %s: it repeats %s no more", s.Name, c))
			}
		}
	}
	for _, s := range old.Sites {
		if named(now.Sites, s.Name) == nil {
			all = append(all, fmt.Sprintf("site %s is gone", s.Name))
		}
	}
	return all
}
