package plan

import (
	"fmt"
	"strconv"
	"strings"

	"slotcard/plan/edit"
	"slotcard/plan/finding"
	"slotcard/plan/tomlfile"
)

// Rules that a plan can break where it is resolved, beside those of reading; all of
// them errors.
const (
	RuleAmbiguous       = "ambiguous-channel"   // what a slot names may be several channels
	RuleContradiction   = "channel-contradicts" // what is written beside rx is not true of any channel
	RuleUnknownSite     = "unknown-site"        // a site that the load does not have
	RuleSiteNotCarrying = "site-not-carrying"   // the site does not repeat the channel
	RuleSiteNotNeeded   = "site-not-needed"     // a site or tone for a channel with a tone of its own
	RuleNoSite          = "no-site"             // no repeater chosen
	RuleUnknownDivision = "unknown-division"    // a division that the plan does not have
	RuleBesideItself    = "beside-itself"       // a functional group beside itself
	RuleUnknownPosition = "unknown-position"    // a seat of a position that the plan does not have
	RuleUnknownSelector = "unknown-selector"    // neither a selector nor a slot
	RuleTooManyCards    = "too-many-cards"      // more than MaxCards
)

// MaxCards bounds the cards of one plan: more than incidents have people, and few enough
// to be printed within 200 MB of memory. Our choice.
const MaxCards = 12_000

// Resolve looks up every name of the plan in the load and in the plan itself,
// and derives the lists and the cards. It goes on past faults and reports all of
// them; what could not be resolved is left out of the result, and kept in
// [Resolved.Unresolved]. Both files may be incomplete, as a reading with
// findings leaves them; where one is missing altogether, or the load has no
// channel at all, the result is nil. What reading has reported is not reported
// again: names that stand twice, values that could not be read.
func Resolve(p *Plan, l *Load) (*Resolved, finding.List) {
	if p == nil || l == nil || len(l.Channels()) == 0 {
		return nil, nil
	}
	x := &resolver{
		plan: p, load: l, names: map[string][]*Channel{}, divisions: map[string]*Division{},
		planBroken: broken(p.Table) || p.Station != nil && broken(p.Station.Table),
		loadBroken: broken(l.Table),
	}
	l.link()
	for _, c := range l.Channels() {
		if _, seen := x.names[c.Name]; !seen {
			x.allNames = append(x.allNames, c.Name)
		}
		x.names[c.Name] = append(x.names[c.Name], c)
	}
	r := &Resolved{Plan: p, Load: l}
	if l.About.Exercise {
		if in := &p.Incident; in.OK("exercise") && !in.Exercise {
			f := x.fault("exercise-differs", in.At("exercise"), in.Name, "the plan says exercise = false, but its load is exercise data: everything prints the mark")
			f.Offer(edit.In(in.Table).Delete(in.Table, "exercise").Edit(""), unless("or name a load of real channels"))
			f.Severity = finding.Warning
			f.Related = []finding.Related{{Place: l.About.At("exercise"), Message: "the load is exercise data"}}
		}
		p.Incident.Exercise = true // a plan made of invented channels is no real one
	}
	x.resolveDivisions()
	for i, s := range p.Slots {
		if x.full() {
			r.Unresolved = append(r.Unresolved, s)
		} else if rs := x.slot(i, s); rs != nil {
			r.Slots = append(r.Slots, rs)
		} else {
			r.Unresolved = append(r.Unresolved, s)
		}
	}
	for i, a := range p.Also {
		if x.full() {
			break
		}
		if ac := x.also(i, a); ac != nil {
			r.Also = append(r.Also, ac)
		}
	}
	r.EditionMarks = editionMarks(l)
	x.makeLists(r)
	x.makeCards(r)
	x.checkTexts(r)
	if x.full() {
		last := &x.found[len(x.found)-1]
		last.Help = append(last.Help, "more faults are not listed")
	}
	x.found.Sort()
	return r, x.found
}

// broken tells whether lines of the file could not be read.
func broken(top tomlfile.Table) bool { return top.File() != nil && top.File().Doubtful() }

// resolver holds what the steps of [Resolve] share.
type resolver struct {
	plan      *Plan
	load      *Load
	names     map[string][]*Channel // by display name, in order of the load
	allNames  []string              // in order of the load
	divisions map[string]*Division  // by id; of two with one id the first
	found     finding.List

	// Lines of the file could not be read: what seems to be absent may not be.
	planBroken, loadBroken bool
	nameless               bool // a division has no id: it may be the one that is meant
}

// full tells whether there are more faults than anybody reads to the end. All
// of them are errors, so that leaving some out lets nothing pass.
func (x *resolver) full() bool { return len(x.found) >= 2*tomlfile.MaxTotal }

func (x *resolver) fault(rule string, at finding.Place, subject, message string, help ...string) *finding.Finding {
	if x.full() {
		return new(finding.Finding)
	}
	x.found.Add(finding.Finding{Rule: rule, Severity: finding.Error, Place: at, Subject: subject, Message: message, Help: help})
	return &x.found[len(x.found)-1]
}

// offerClosest offers what a word may have been meant to be, under key or as an
// item of the list under it; false where nothing is close.
func offerClosest(f *finding.Finding, t tomlfile.Table, key, word string, known []string, item ...int) bool {
	close := finding.Closest(word, known, 3)
	for _, other := range close {
		e := edit.In(t)
		if len(item) > 0 {
			e.SetItem(t, key, item[0], other)
		} else {
			e.Set(t, key, other)
		}
		f.Offer(e.Edit(fmt.Sprintf("did you mean %q?", other)))
	}
	return len(close) > 0
}

func quoted(words []string) []string {
	out := make([]string, len(words))
	for i, w := range words {
		out[i] = strconv.Quote(w)
	}
	return out
}

// resolveDivisions indexes the divisions and looks up what they stand beside.
func (x *resolver) resolveDivisions() {
	for _, d := range x.plan.Divisions {
		x.nameless = x.nameless || d.ID == ""
		if x.divisions[d.ID] == nil && d.ID != "" {
			x.divisions[d.ID] = d
		}
	}
	for _, d := range x.plan.Divisions {
		if !d.Functional {
			continue // reading has said that beside is not for it
		}
		for i, id := range d.Beside {
			if x.division(d.Table, "beside", i, id, "functional group "+d.ID+": beside") == d {
				f := x.fault(RuleBesideItself, d.AtItem("beside", i), d.ID, fmt.Sprintf("functional group %s stands beside itself", d.ID))
				if len(d.Beside) > 1 {
					f.Offer(edit.In(d.Table).DeleteItem(d.Table, "beside", i).Edit(""))
				}
				f.Help = append(f.Help, "name the divisions that it works beside")
			}
		}
	}
}

// division looks an id up, item i of the list under key; nil, with a finding,
// where there is none.
func (x *resolver) division(t tomlfile.Table, key string, i int, id, where string) *Division {
	if d := x.divisions[id]; d != nil || id == "" || x.planBroken || x.nameless {
		return d
	}
	var ids []string
	for _, d := range x.plan.Divisions {
		ids = append(ids, d.ID)
	}
	f := x.fault(RuleUnknownDivision, t.AtItem(key, i), id, fmt.Sprintf("%s: no division %q in the plan", where, id))
	f.Data = map[string]any{"division": id}
	offered := false
	if close := finding.Closest(id, ids, 1); len(id) > 1 || len(close) > 0 && strings.EqualFold(close[0], id) {
		offered = offerClosest(f, t, key, id, ids, i) // of a single letter any other is close
	}
	switch {
	case offered:
	case len(ids) == 0:
		f.Help = []string{fmt.Sprintf("the plan has no divisions: add [[division]] with id = %q", id)}
	default:
		f.Help = []string{fmt.Sprintf("the plan has %s; or add [[division]] with id = %q", strings.Join(quoted(ids), ", "), id)}
	}
	return nil
}

// divisionsOf looks ids up and returns the divisions in plan order.
func (x *resolver) divisionsOf(t tomlfile.Table, key string, ids Names, where string) []*Division {
	named := map[*Division]bool{}
	for i, id := range ids {
		if d := x.division(t, key, i, id, where+": "+key); d != nil {
			named[d] = true
		}
	}
	var out []*Division
	for _, d := range x.plan.Divisions {
		if named[d] {
			out = append(out, d)
		}
	}
	return out
}

func (x *resolver) slot(i int, s *Slot) *ResolvedSlot {
	where := fmt.Sprintf("slot %d", i+1)
	users := x.divisionsOf(s.Table, "division", s.Division, where)
	carriers := x.divisionsOf(s.Table, "carried_by", s.CarriedBy, where)
	c, places := x.pick(s.Table, &s.Pick, where)
	if c == nil {
		return nil
	}
	rs := &ResolvedSlot{Slot: s, Channel: c, Places: places, Use: s.Use, Users: users, Carriers: carriers}
	if rs.Use == 0 {
		rs.Use = c.Use
	}
	rs.TxTone, rs.Repeater, rs.ToneNumber = x.txTone(s.Table, c, s.Site, s.Tone, s.TxTone, where)
	return rs
}

func (x *resolver) also(i int, a *Also) *AlsoChannel {
	where := fmt.Sprintf("[[also]] %d", i+1)
	c, _ := x.pick(a.Table, &a.Pick, where)
	if c == nil {
		return nil
	}
	ac := &AlsoChannel{Also: a, Channel: c}
	ac.TxTone, ac.Repeater, ac.ToneNumber = x.txTone(a.Table, c, a.Site, a.Tone, a.TxTone, where)
	return ac
}

// editionMarks are the channels whose name carries the edition, each once.
func editionMarks(l *Load) []*Channel {
	var marks []*Channel
	seen := map[Programming]bool{}
	for _, c := range l.Channels() {
		if p := c.Programming(); c.EditionMark && !seen[p] {
			seen[p] = true
			marks = append(marks, c)
		}
	}
	return marks
}
