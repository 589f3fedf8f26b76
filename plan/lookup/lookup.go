// Package lookup finds channels of a load by what people have in hand: a name
// or a part of one, a frequency, a tone, a site, a place in the load. Start
// with [New], which indexes a load once, then ask with [Index.Find].
//
// What is found comes in two parts: channels that are just what was asked for,
// and those that are near it, each with the reason why it may have been meant.
package lookup

import (
	"cmp"
	"slices"
	"strings"

	"slotcard/plan"
	"slotcard/plan/finding"
	"slotcard/plan/radio"
)

// Index is a load, prepared for any number of questions. It is safe for use by
// several goroutines.
type Index struct {
	load     *plan.Load
	entries  []*entry // in order of the load
	channels []*plan.Channel
	of       map[*plan.Channel]*entry // at every place in the load
	order    map[*plan.Channel]int    // of every place in the load
	byRx     map[radio.Hertz][]*entry
	tones    []radio.Squelch // every tone in use, in order of the load
	names    []string        // display names, each once
	words    []string        // of names and sites, each once, in lower case
	known    map[string]bool // the same
}

// entry is one channel, wherever it stands.
type entry struct {
	places   []*plan.Channel
	sites    []*plan.Site
	name     string   // in lower case
	squeezed string   // letters and digits of the name alone
	words    []string // of the name
	numbers  []string // runs of digits in the name
	other    string   // system, talkgroup and remarks, in lower case
}

func (e *entry) channel() *plan.Channel { return e.places[0] }

// Answer is what a load has to say to a question.
type Answer struct {
	Query   string
	Edition *Edition // where the edition was asked for
	Notes   []string // what a tone, group or site of the question is
	Exact   []Hit    // best first, then in order of the load
	Near    []Hit    // likeliest first
}

// Found tells whether the answer holds what was asked for, not only what is
// near it.
func (a Answer) Found() bool { return len(a.Exact) > 0 || a.Edition != nil }

// Hit is a channel that was found.
type Hit struct {
	Channel *plan.Channel   // at the place that was asked for, else its first
	Places  []*plan.Channel // wherever it stands in the load, in order of the load
	Sites   []*plan.Site    // that repeat it
	Why     string          // why it is near; of an exact one what it matches, where that is not plain
	Differs []string        // in what it differs from others on its receive frequency: see Differences
}

// Edition tells how to see whether a radio carries the load.
type Edition struct {
	About *plan.About
	Marks []Hit // channels whose display name carries the edition
}

// Names of what can differ between channels on one receive frequency.
const (
	Transmit     = "transmit"
	ReceiveTone  = "receive tone"
	TransmitTone = "transmit tone"
	ModeOrWidth  = "mode or width"
)

// New indexes a load.
func New(l *plan.Load) *Index {
	all := l.Channels()
	n := len(all) // growing the maps would take most of the time
	x := &Index{load: l, of: make(map[*plan.Channel]*entry, n), order: make(map[*plan.Channel]int, n), byRx: make(map[radio.Hertz][]*entry, n)}
	same := make(map[plan.Programming]*entry, n)
	tones := map[radio.Squelch]bool{}
	words := make(map[string]bool, 2*n)
	word := func(s string) {
		if s != "" && !words[s] {
			words[s] = true
			x.words = append(x.words, s)
		}
	}
	tone := func(s radio.Squelch) {
		if !s.IsZero() && s != radio.Site && !tones[s] {
			tones[s] = true
			x.tones = append(x.tones, s)
		}
	}
	sites := map[string][]*plan.Site{}
	for _, s := range l.Sites {
		for _, name := range s.Channels {
			if !slices.Contains(sites[name], s) {
				sites[name] = append(sites[name], s)
			}
		}
		tone(s.Squelch)
		word(fold(s.Name))
		for _, w := range strings.Fields(fold(s.Name)) {
			word(w)
		}
	}
	for _, t := range l.Tones {
		tone(t.Hz)
	}
	for _, c := range all {
		x.order[c] = len(x.order)
		p := c.Programming()
		if e := same[p]; e != nil {
			e.places = append(e.places, c)
			x.of[c] = e
			if remarks := fold(c.Remarks); !strings.Contains(e.other, remarks) {
				e.other += "\n" + remarks
			}
			continue
		}
		e := &entry{
			places: []*plan.Channel{c}, sites: sites[c.Name], name: fold(c.Name), squeezed: plan.Squeeze(c.Name),
			other: fold(c.System + "\n" + c.Talkgroup + "\n" + c.Remarks),
		}
		e.words = strings.Fields(e.name)
		e.numbers = numbers(c.Name)
		same[p] = e
		x.of[c] = e
		x.entries = append(x.entries, e)
		x.channels = append(x.channels, c)
		if c.Rx != 0 {
			x.byRx[c.Rx] = append(x.byRx[c.Rx], e)
		}
		tone(c.RxTone)
		tone(c.TxTone)
		if !words[e.name] || len(e.words) == 1 {
			x.names = append(x.names, c.Name)
		}
		word(e.name)
		for _, w := range e.words {
			if len(w) > 2 {
				word(w)
			}
		}
	}
	x.known = words
	return x
}

// Load is the load that was indexed.
func (x *Index) Load() *plan.Load { return x.load }

// fold makes alike what nobody tells apart when it is said.
func fold(s string) string { return strings.Join(strings.Fields(strings.ToLower(s)), " ") }

// numbers are the runs of digits in a text.
func numbers(s string) []string {
	return strings.FieldsFunc(s, func(r rune) bool { return r < '0' || r > '9' })
}

// maxQuery is how many characters of a question are read: more is no question.
const maxQuery = 200

// Find answers a question of several words, all of which have to be true of a
// channel. See the package for what can be asked.
func (x *Index) Find(query string) Answer {
	query = strings.Join(strings.Fields(query), " ")
	if runes := []rune(query); len(runes) > maxQuery {
		query = string(runes[:maxQuery])
	}
	a := Answer{Query: query}
	if query == "" {
		return a
	}
	if fold(query) == "edition" {
		a.Edition = x.edition()
		return a
	}
	terms, notes := x.parse(query)
	a.Notes = notes
	if len(terms) == 0 {
		return a
	}

	exact, near := x.matches(terms)
	exact, near = longerNames(query, exact, near)
	seen := map[*entry]bool{}
	add := func(to *[]Hit, s scored) {
		if !seen[s.e] {
			seen[s.e] = true
			*to = append(*to, x.hit(s.e, s.place, strings.Join(s.why, "; ")))
		}
	}
	for _, s := range exact {
		add(&a.Exact, s)
	}
	x.twins(&a, seen)
	for _, s := range near {
		add(&a.Near, s)
	}
	if len(a.Exact) == 0 {
		for i, e := range x.closest(query, terms) {
			add(&a.Near, scored{e, e.places[0], i, []string{"the name is close"}})
		}
	}
	if len(a.Exact)+len(a.Near) == 0 {
		for _, l := range x.allButOne(terms) {
			add(&a.Near, scored{l.e, l.e.places[0], 0, []string{"all but " + l.without}})
		}
	}
	return a
}

// scored is a channel of which all terms are true, or nearly so.
type scored struct {
	e     *entry
	place *plan.Channel
	rank  int // the lower, the better
	why   []string
}

// matches are the channels of which all terms are true, and those of which some are
// only nearly so, the best first.
func (x *Index) matches(terms []term) (exact, near []scored) {
	for _, e := range x.entries {
		switch s, isNear, ok := scoreOf(e, terms); {
		case !ok:
		case isNear:
			near = append(near, s)
		default:
			exact = append(exact, s)
		}
	}
	byRank := func(a, b scored) int {
		return cmp.Or(cmp.Compare(a.rank, b.rank), cmp.Compare(x.order[a.place], x.order[b.place]))
	}
	slices.SortFunc(exact, byRank)
	slices.SortFunc(near, byRank)
	return exact, near
}

// scoreOf asks all terms of a channel; not ok: one of them is not true of it.
func scoreOf(e *entry, terms []term) (s scored, near, ok bool) {
	i := slices.IndexFunc(e.places, func(c *plan.Channel) bool { return atAll(c, terms) })
	if i < 0 {
		return s, false, false
	}
	s = scored{e: e, place: e.places[i]}
	for _, t := range terms {
		if t.here != nil {
			continue
		}
		m := t.match(e)
		if !m.ok {
			return s, false, false
		}
		near = near || m.near
		s.rank += m.rank
		if m.why != "" && !slices.Contains(s.why, m.why) {
			s.why = append(s.why, m.why)
		}
		if m.place != nil && atAll(m.place, terms) {
			s.place = m.place
		}
	}
	return s, near, true
}

// longerNames puts what was hardly meant among what is near: where the question is a
// whole name, the longer ones that hold it.
func longerNames(query string, exact, near []scored) (_, _ []scored) {
	whole := plan.Squeeze(query)
	if !slices.ContainsFunc(exact, func(s scored) bool { return s.e.squeezed == whole }) {
		return exact, near
	}
	var longer []scored
	exact = slices.DeleteFunc(exact, func(s scored) bool {
		if s.e.squeezed == whole {
			return false
		}
		if s.why == nil {
			s.why = []string{"holds all the words"}
		}
		longer = append(longer, s)
		return true
	})
	return exact, append(longer, near...)
}

// atAll tells whether all conditions on a channel's place are true of one.
func atAll(c *plan.Channel, terms []term) bool {
	for _, t := range terms {
		if t.here != nil && !t.here(c) {
			return false
		}
	}
	return true
}

// manyTwins is from how many exact hits on it was a listing that was asked for,
// in which channels on the same frequencies would only be in the way.
const manyTwins = 8

// twins adds what shares a receive frequency with an exact hit but programs
// something else: nobody may take one for the other.
func (x *Index) twins(a *Answer, seen map[*entry]bool) {
	if len(a.Exact) > manyTwins {
		return
	}
	for _, h := range a.Exact {
		for _, e := range x.byRx[h.Channel.Rx] {
			if d := differences(h.Channel, e.channel()); !seen[e] && len(d) > 0 {
				seen[e] = true
				a.Near = append(a.Near, x.hit(e, e.channel(), "also receives on "+h.Channel.Rx.String()+"; "+differ(d)))
			}
		}
	}
}

func differ(what []string) string {
	if len(what) == 1 {
		return what[0] + " differs"
	}
	return finding.And(what) + " differ"
}

// differences is what differs between two channels on one receive frequency,
// beside the name.
func differences(a, b *plan.Channel) []string {
	var d []string
	if a.Tx != b.Tx {
		d = append(d, Transmit)
	}
	if a.RxTone != b.RxTone {
		d = append(d, ReceiveTone)
	}
	if a.TxTone != b.TxTone {
		d = append(d, TransmitTone)
	}
	if a.Mode != b.Mode || a.Width != b.Width {
		d = append(d, ModeOrWidth)
	}
	return d
}

func (x *Index) hit(e *entry, place *plan.Channel, why string) Hit {
	h := Hit{Channel: place, Places: e.places, Sites: e.sites, Why: why}
	if place.Rx == 0 {
		return h
	}
	found := map[string]bool{}
	for _, other := range x.byRx[place.Rx] {
		for _, d := range differences(place, other.channel()) {
			found[d] = true
		}
	}
	for _, d := range []string{Transmit, ReceiveTone, TransmitTone, ModeOrWidth} {
		if found[d] {
			h.Differs = append(h.Differs, d)
		}
	}
	return h
}

func (x *Index) edition() *Edition {
	ed := &Edition{About: &x.load.About}
	for _, e := range x.entries {
		if i := slices.IndexFunc(e.places, func(c *plan.Channel) bool { return c.EditionMark }); i >= 0 {
			ed.Marks = append(ed.Marks, x.hit(e, e.places[i], ""))
		}
	}
	return ed
}

// closest are the channels whose name is close to all that was asked, where it
// can be a name.
func (x *Index) closest(query string, terms []term) []*entry {
	const most = 20
	for _, t := range terms {
		if !t.word {
			return nil
		}
	}
	var found []*entry
	for _, name := range finding.Closest(query, x.names, most) {
		for _, e := range x.entries {
			if e.channel().Name == name {
				found = append(found, e)
			}
		}
	}
	return found
}

// lacking is a channel of which all terms are true but one.
type lacking struct {
	e       *entry
	without string
}

// allButOne are the channels of which all terms are true but one, where leaving
// that one out leaves few.
func (x *Index) allButOne(terms []term) (found []lacking) {
	const few = 6
	if len(terms) < 2 {
		return nil
	}
	left := map[int]int{}
	var which []int
	for _, e := range x.entries {
		without := -1
		for i, t := range terms {
			if m := t.match(e); m.ok && !m.near {
				continue
			}
			if without >= 0 {
				without = len(terms)
				break
			}
			without = i
		}
		if without >= 0 && without < len(terms) {
			left[without]++
			which = append(which, without)
			found = append(found, lacking{e, terms[without].said})
		}
	}
	var out []lacking
	for i, l := range found {
		if left[which[i]] <= few {
			out = append(out, l)
		}
	}
	return out
}

// At is a channel at its place in the load.
func (x *Index) At(c *plan.Channel) Hit {
	return x.hit(x.of[c], c, "")
}

// All are the channels of the load, each once, in order of the load.
func (x *Index) All() []Hit {
	all := make([]Hit, len(x.entries))
	for i, e := range x.entries {
		all[i] = x.hit(e, e.places[0], "")
	}
	return all
}
