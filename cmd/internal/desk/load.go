package desk

import (
	"cmp"
	"errors"
	"fmt"
	"path"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"time"

	"slotcard/cmd/internal/files"
	"slotcard/cmd/internal/report"
	"slotcard/cmd/internal/voice"
	"slotcard/layout/book"
	"slotcard/plan"
	"slotcard/plan/build"
	"slotcard/plan/finding"
	"slotcard/plan/lookup"
	"slotcard/plan/radio"
	"slotcard/plan/tomlfile"
)

func init() {
	register(&View{Name: "load", Title: "Channels", Place: 5, Kinds: []string{"load"}, Data: loadData,
		Do: map[string]func(*Page) (string, error){"set": setChannel, "delete": deleteChannel, "up": moveUp, "down": moveDown, "about": setAbout, "add": addChannel}})
}

// LoadPage is a load, looked through as its book is: by groups, or by one of the
// indexes, a section at a time.
type LoadPage struct {
	Asked    string
	Stay     string // the section, as part of an address
	About    *plan.About
	Itself   build.AboutText // to be changed
	Lacks    bool            // some of that is still to be decided
	Age      string          // "" while the load is in effect
	Shown    string          // how to see the edition on a radio
	Ways     []Choice
	Sections []Choice // of the way chosen
	Title    string   // of the section, or of what was found
	Says     []string // about the section
	Before   string
	After    string
	Found    []RowFinding // of the section itself
	Rows     []ChannelRow
	Near     []ChannelRow
	Over     int // channels found that are not listed
	More     int // close matches that are not listed
	Empty    string
	Edit     *Editing
	Box      bool     // begins at the box
	Add      string   // address of the form for a new channel of the group
	In, By   string   // what is looked at
	Told     []string // what the last change does to plans
	Differ   bool     // some are not like another on their receive frequency
}

// ChannelRow is a channel.
type ChannelRow struct {
	I                        int // among the channels of the load, from 0
	Ref, Name, Use, Kind     string
	Receive, Transmit, Tones string
	Differs                  map[string]bool // "transmit" and others, from the same receive frequency
	Why                      string
	Further                  []string
	Edition                  bool
	Used                     []Choice // plans
	UsedMore                 int      // that are not listed
	Found                    []RowFinding
	Here                     bool
	Was, Address             string
	Edit                     *Editing // where it is being changed
	Moves                    bool
}

func (c ChannelRow) differs() bool { return len(c.Differs) > 0 }

// indexed is how many channels a page of an index holds.
const indexed = 60

// section is a part of a load that is shown at a time.
type section struct {
	name, title string
	says        []string
	hits        []lookup.Hit
	table       tomlfile.Table // of the file that it stands for; none for a page of an index
}

// ways are the orders in which a load is looked through, by the value of "by".
var ways = []Choice{
	{Value: "", Name: "Groups", Key: "g"}, {Value: "name", Name: "By name", Key: "n"}, {Value: "frequency", Name: "By frequency", Key: "f"},
	{Value: "tone", Name: "By tone", Key: "t"}, {Value: "site", Name: "By site", Key: "s"},
}

func loadData(p *Page) (any, error) {
	l := p.State.Load
	if l == nil {
		return nil, errors.New("the load cannot be read: see Findings")
	}
	v := &LoadPage{Asked: strings.TrimSpace(p.Ask("q")), About: &l.About}
	today := plan.DateOf(time.Now())
	switch {
	case l.About.Expires != (plan.Date{}) && l.About.Expires.Before(today):
		v.Age = "this load expired on " + l.About.Expires.String() + ": use the one that is in the radios now"
	case today.Before(l.About.Effective):
		v.Age = "this load is not in effect before " + l.About.Effective.String()
	}
	x := lookup.New(l)
	if marks := x.Find("edition").Edition.Marks; len(marks) > 0 {
		v.Shown = "A radio carries this load where it shows " + marks[0].Channel.Name + ", " + marks[0].Channel.Place() + "."
	}
	v.Edit, v.By, v.In = p.editing(l), p.Ask("by"), p.Ask("in")
	if told := p.desk.told.get(p.Ask("told")); told != nil {
		v.Told = *told
	}
	if w, err := p.loadWork(); err == nil {
		v.Itself = w.About()
		a := v.Itself
		v.Lacks = slices.Contains([]string{a.Name, a.Edition, a.Color, a.Effective, a.Expires, a.Positions}, "")
		if p.Failed != "" && p.Request.Form.Has("positions") { // what was typed is not lost
			v.Itself, v.Lacks = p.aboutText(), true
		}
	}
	r := p.rowsOf(l)
	r.edit, v.Box = v.Edit, v.Edit == nil && p.Ask("at") == ""
	for _, w := range ways {
		w.Address, w.Here = p.At("load", "by", w.Value), v.Asked == "" && w.Value == p.Ask("by")
		v.Ways = append(v.Ways, w)
	}
	v.Stay = strings.TrimPrefix(p.At("load", "by", p.Ask("by"), "in", p.Ask("in")), p.At("load"))
	v.Stay = strings.TrimPrefix(v.Stay, "?")
	if v.Asked != "" {
		v.answer(l, x.Find(v.Asked), r)
		v.Differ = slices.ContainsFunc(slices.Concat(v.Rows, v.Near), ChannelRow.differs)
		return v, nil
	}
	sections := sectionsOf(p.Ask("by"), l, x)
	if len(sections) == 0 {
		v.Empty = "the load has none"
		return v, nil
	}
	in, _ := strconv.Atoi(p.Ask("in"))
	in = max(1, min(in, len(sections)))
	at := func(i int) string { return p.At("load", "by", p.Ask("by"), "in", i) }
	for i, s := range sections {
		v.Sections = append(v.Sections, Choice{Name: s.name, Value: strconv.Itoa(len(s.hits)), Address: at(i + 1), Here: i+1 == in})
	}
	if in > 1 {
		v.Before = at(in - 1)
	}
	if in < len(sections) {
		v.After = at(in + 1)
	}
	s := sections[in-1]
	if p.Ask("by") == "" {
		v.Add = p.With("add", in-1, "edit", "", "at", "", "told", "")
	}
	v.Title, v.Says, v.Found = s.title, s.says, r.found[s.table]
	for _, h := range s.hits {
		v.Rows = append(v.Rows, r.row(h))
	}
	v.Differ = slices.ContainsFunc(v.Rows, ChannelRow.differs)
	if len(v.Rows) == 0 {
		v.Empty = "no channel stands here"
	}
	return v, nil
}

// mostClose is how many close matches are shown, as by find; mostFound how many exact
// ones: of more, nobody looks through them all, and each key would wait for them.
const (
	mostClose = 8
	mostFound = 100
)

// answer fills in what find answers to what was typed.
func (v *LoadPage) answer(l *plan.Load, a lookup.Answer, r *rower) {
	exact, near := a.Exact, a.Near
	v.Title, v.Says = fmt.Sprintf("%s for “%s”", voice.Count(len(exact), "channel", "channels"), v.Asked), a.Notes
	if ed := a.Edition; ed != nil {
		v.Title, exact = "How to tell that a radio carries this load", ed.Marks
		if len(exact) == 0 {
			v.Says = append(v.Says, "no display name carries the edition: compare the color of the label with the book's cover")
		}
	}
	if n := len(exact) - mostFound; n > 0 {
		v.Over, exact = n, exact[:mostFound]
	}
	if len(near) > mostClose {
		v.More, near = len(near)-mostClose, near[:mostClose]
	}
	for _, h := range exact {
		v.Rows = append(v.Rows, r.row(h))
	}
	for _, h := range near {
		v.Near = append(v.Near, r.row(h))
	}
	if len(exact)+len(near) == 0 && a.Edition == nil {
		v.Empty = fmt.Sprintf("nothing like “%s” in the load", v.Asked)
	}
}

// sectionsOf are the parts of a load by groups, or by an index.
func sectionsOf(by string, l *plan.Load, x *lookup.Index) (all []section) {
	if by == "" {
		for _, g := range l.Groups {
			s := section{name: fmt.Sprintf("%d %s", g.Number, g.Name), title: fmt.Sprintf("Group %d, %s", g.Number, g.Name), table: g.Table}
			for _, c := range g.Channels {
				s.hits = append(s.hits, x.At(c))
			}
			all = append(all, s)
		}
		return all
	}
	hits := x.All()
	with := func(s section, has func(h lookup.Hit) bool) section {
		for _, h := range hits {
			if has(h) {
				s.hits = append(s.hits, h)
			}
		}
		return s
	}
	switch by {
	case "tone":
		for _, t := range tonesOf(l) {
			name := t.String()
			if n := l.ToneNumber(t); n > 0 {
				name = fmt.Sprintf("tone %d: %s", n, t)
			}
			s := section{name: name, title: upperFirst(name)}
			for _, site := range l.Sites {
				if site.Squelch == t {
					s.says = append(s.says, "it opens "+site.Name)
				}
			}
			all = append(all, parts(with(s, func(h lookup.Hit) bool {
				return h.Channel.RxTone == t || h.Channel.TxTone == t ||
					h.Channel.TxTone == radio.Site && slices.ContainsFunc(h.Sites, func(o *plan.Site) bool { return o.Squelch == t })
			}))...)
		}
	case "site":
		for _, site := range l.Sites {
			opens := site.Squelch.String()
			if n := l.ToneNumber(site.Squelch); n > 0 {
				opens = fmt.Sprintf("tone %d (%s)", n, site.Squelch)
			}
			s := section{name: site.Name, title: site.Name, says: []string{opens + " opens it"}, table: site.Table}
			all = append(all, parts(with(s, func(h lookup.Hit) bool { return slices.Contains(h.Sites, site) }))...)
		}
	case "frequency", "name":
		key := func(h lookup.Hit) string { return h.Channel.Name }
		order := func(a, b lookup.Hit) int { return book.Natural(a.Channel.Name, b.Channel.Name) }
		if by == "frequency" {
			byName := order
			key = func(h lookup.Hit) string {
				if h.Channel.Trunked() {
					return "talkgroups"
				}
				return h.Channel.Rx.String()
			}
			order = func(a, b lookup.Hit) int {
				x, y := a.Channel, b.Channel
				trunked := map[bool]int{true: 1}
				return cmp.Or(trunked[x.Trunked()]-trunked[y.Trunked()], cmp.Compare(x.Rx, y.Rx), cmp.Compare(x.Tx, y.Tx), byName(a, b))
			}
		}
		slices.SortStableFunc(hits, order)
		for part := range slices.Chunk(hits, indexed) {
			name := key(part[0])
			if last := key(part[len(part)-1]); last != name {
				name += " – " + last
			}
			all = append(all, section{name: name, title: upperFirst(name), hits: part})
		}
	}
	return all
}

// parts are a section in pages.
func parts(s section) (all []section) {
	if len(s.hits) <= indexed {
		return []section{s}
	}
	n := 0
	for part := range slices.Chunk(s.hits, indexed) {
		n++
		one := s
		one.hits = part
		if n > 1 {
			one.name, one.title = fmt.Sprintf("%s (%d)", s.name, n), fmt.Sprintf("%s, part %d", s.title, n)
		}
		all = append(all, one)
	}
	return all
}

// tonesOf are the tones of a load: the numbered ones, then the others in use.
func tonesOf(l *plan.Load) (all []radio.Squelch) {
	seen := map[radio.Squelch]bool{radio.Site: true, {}: true}
	add := func(s radio.Squelch) {
		if !seen[s] {
			seen[s] = true
			all = append(all, s)
		}
	}
	numbered := slices.Clone(l.Tones)
	slices.SortStableFunc(numbered, func(a, b *plan.Tone) int { return cmp.Compare(a.Number, b.Number) })
	for _, t := range numbered {
		add(t.Hz)
	}
	n := len(all)
	for _, s := range l.Sites {
		add(s.Squelch)
	}
	for _, c := range l.Channels() {
		add(c.RxTone)
		add(c.TxTone)
	}
	slices.SortFunc(all[n:], func(a, b radio.Squelch) int {
		return cmp.Or(cmp.Compare(a.Kind, b.Kind), cmp.Compare(a.Value, b.Value))
	})
	return all
}

// rower makes rows of channels.
type rower struct {
	p     *Page
	load  *plan.Load
	edit  *Editing
	order map[*plan.Channel]int
	used  map[plan.Programming][]Choice
	found map[tomlfile.Table][]RowFinding
}

func (p *Page) rowsOf(l *plan.Load) *rower {
	r := &rower{p: p, load: l, order: map[*plan.Channel]int{}, used: p.usedBy(l), found: p.findingsByTable(l)}
	for i, c := range l.Channels() {
		r.order[c] = i
	}
	return r
}

// mostUsed are the plans that are named at a channel.
const mostUsed = 6

func (r *rower) row(h lookup.Hit) ChannelRow {
	c := h.Channel
	w := ChannelRow{
		I: r.order[c], Ref: c.Place(), Name: c.Name, Use: c.Use.String(), Kind: report.KindOf(c), Why: h.Why, Edition: c.EditionMark,
		Differs: map[string]bool{}, Further: report.FurtherOf(r.load, h), Used: r.used[c.Programming()], Found: r.found[c.Table],
	}
	w.Here = r.p.Ask("at") == strconv.Itoa(w.I)
	if n := len(w.Used) - mostUsed; n > 0 {
		w.Used, w.UsedMore = w.Used[:mostUsed], n
	}
	w.Was, w.Moves = nameOf(c), r.p.Ask("by") == "" && r.p.Ask("q") == ""
	w.Address = r.p.With("edit", w.I, "add", "", "at", "", "told", "")
	if r.edit != nil && !r.edit.Add && r.edit.I == w.I {
		w.Edit = r.edit
	}
	if !c.Trunked() {
		f := c.Figures(c.TxTone)
		w.Receive, w.Transmit, w.Tones = f.Rx, f.Tx, f.Tones()
	}
	for _, d := range h.Differs {
		w.Differs[d] = true
	}
	return w
}

// planOn is a plan of the folder on a load.
type planOn struct {
	file     string
	incident plan.Incident
	was, is  *plan.Resolved // with the load as it lies there, and with another text of it; either may be nil
}

// called is the plan in a sentence.
func (o planOn) called() string {
	return fmt.Sprintf("%s, %s", cmp.Or(o.incident.Name, o.file), report.Issue(o.incident))
}

// plansOn are the plans of the folder on this load, with their channels looked up in
// it, and in another text of it where there is one. They are not checked: that would
// take the time of a check for each.
func (p *Page) plansOn(l, other *plan.Load) (all []planOn) {
	names, _ := p.desk.shelf.list()
	reader := files.NewReaderWithin(p.Ctx(), strings.NewReader(""), p.desk.Folder)
	for _, n := range names {
		local := filepath.FromSlash(n)
		text, err := reader.ReadFile(local)
		if err != nil || n == p.File || plan.KindOf(text) != plan.PlanFile {
			continue
		}
		read := func(l *plan.Load) (*plan.Plan, *plan.Resolved) {
			pl := new(plan.Plan)
			tomlfile.Decode(local, text, pl)
			if path.Join(path.Dir(n), filepath.ToSlash(pl.Load)) != p.File {
				return nil, nil
			}
			if pl.Base != "" && !pl.Has("also") {
				base := path.Join(path.Dir(n), filepath.ToSlash(pl.Base))
				if s, _, err := plan.ReadStation(filepath.FromSlash(base), plan.Options{ReadFile: reader.ReadFile}); err == nil && isLocal(base) {
					pl.Also = s.Also
				}
			}
			r, _ := plan.Resolve(pl, l)
			return pl, r
		}
		pl, r := read(l)
		if pl == nil {
			continue
		}
		o := planOn{file: n, incident: pl.Incident, was: r}
		if other != nil {
			_, o.is = read(other)
		}
		all = append(all, o)
	}
	return all
}

// usedBy are the plans of the folder on this load that have a channel in their list or
// beside it.
func (p *Page) usedBy(l *plan.Load) map[plan.Programming][]Choice {
	used := map[plan.Programming][]Choice{}
	plans := p.plansOn(l, nil)
	count := map[string]int{}
	for _, o := range plans {
		count[o.called()]++
	}
	for _, o := range plans {
		c := Choice{Name: o.called(), Value: o.file, Address: address("list", o.file)}
		if count[c.Name] > 1 {
			c.Name += " (" + o.file + ")"
		}
		for _, ch := range channelsOf(o.was) {
			k := ch.Programming()
			if all := used[k]; len(all) == 0 || all[len(all)-1].Value != o.file {
				used[k] = append(all, c)
			}
		}
	}
	return used
}

// findingsByTable are the findings of the load at the tables that they are about, or
// that take part in them.
func (p *Page) findingsByTable(l *plan.Load) map[tomlfile.Table][]RowFinding {
	tables := []tomlfile.Table{l.About.Table, l.Radio.Table}
	for _, t := range l.Tones {
		tables = append(tables, t.Table)
	}
	for _, s := range l.Sites {
		tables = append(tables, s.Table)
	}
	for _, g := range l.Groups {
		tables = append(tables, g.Table)
		for _, c := range g.Channels {
			tables = append(tables, c.Table)
		}
	}
	type start struct {
		at, end int // end where the table is in braces; else 0
		table   tomlfile.Table
	}
	var starts []start
	for _, t := range tables {
		if t.File() == nil {
			continue
		}
		s := start{at: t.TextSpan().From, table: t}
		if t.Form() == tomlfile.InBraces {
			s.end = t.TextSpan().To
		}
		starts = append(starts, s)
	}
	found := map[tomlfile.Table][]RowFinding{}
	if len(starts) == 0 {
		return found
	}
	slices.SortStableFunc(starts, func(a, b start) int { return cmp.Compare(a.at, b.at) })
	file := starts[0].table.File()
	of := func(place finding.Place) (tomlfile.Table, bool) {
		span, ok := file.SpanOf(place)
		i, exact := slices.BinarySearchFunc(starts, span.From, func(s start, at int) int { return cmp.Compare(s.at, at) })
		if !exact {
			i--
		}
		for ; ok && i >= 0; i-- { // out of braces that ended before it
			if s := starts[i]; s.end == 0 || span.From < s.end {
				return s.table, true
			}
		}
		return tomlfile.Table{}, false
	}
	for n, f := range p.State.Findings {
		at := []finding.Place{f.Place}
		for _, r := range f.Related {
			at = append(at, r.Place)
		}
		told := map[tomlfile.Table]bool{}
		for _, place := range at {
			if t, ok := of(place); ok && filepath.ToSlash(place.File) == p.File && !told[t] {
				told[t] = true
				found[t] = append(found[t], RowFinding{f.Severity.String(), f.Message, p.At("findings", "n", n+1)})
			}
		}
	}
	return found
}
