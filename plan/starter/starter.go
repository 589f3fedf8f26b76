// Package starter makes the plan and the station file that somebody begins with,
// from a load that is really in the radios: its command channel, its sites, two
// tacticals that go together, guard. Start with [Write].
package starter

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"slotcard/plan"
	"slotcard/plan/edit"
	"slotcard/plan/radio"
	"slotcard/plan/rules"
	"slotcard/plan/suggest"
	"slotcard/plan/tomlfile"
)

// Templates are the commented files of a start with an invented load. The slots
// of the plan stand between two lines that are named here.
type Templates struct{ Plan, Station []byte }

// The slots of the template stand from the first header on, up to this comment.
const (
	firstSlot = "[[slot]]\n"
	behind    = "# Only where the incident has more channels"
)

const planName, stationName = "plan.toml", "station.toml"

// Write fills the templates in for a load that is sound. The plan names the load
// by loadPath. The same load gets the same files.
func Write(t Templates, l *plan.Load, loadText []byte, loadPath string) (planText, station []byte, err error) {
	s := start{load: l}
	s.choose()
	if station, err = s.station(t.Station); err != nil {
		return nil, nil, err
	}
	first, err := s.plan(t.Plan, loadPath)
	if err != nil {
		return nil, nil, err
	}
	s.tacticals(first, station, loadText)
	planText, err = s.plan(t.Plan, loadPath)
	return planText, station, err
}

// start is what was chosen of the load.
type start struct {
	load                         *plan.Load
	command, air, medical, guard *plan.Channel
	tactical                     [2]*plan.Channel // of division A and Z
}

// usable tells whether a slot can hold a channel.
func usable(c *plan.Channel) bool { return !c.ReceiveOnly && !c.Trunked() }

func (s *start) choose() {
	first := func(u radio.Use, fits func(*plan.Channel) bool) *plan.Channel {
		for _, c := range s.load.Channels() {
			if c.Use == u && usable(c) && fits(c) && !(c.TxTone == radio.Site && len(s.load.SitesOf(c)) == 0) {
				return c
			}
		}
		return nil
	}
	anything := func(*plan.Channel) bool { return true }
	if s.command = first(radio.Command, (*plan.Channel).Repeated); s.command == nil {
		s.command = first(radio.Command, anything)
	}
	s.air, s.medical, s.guard = first(radio.AirToGround, anything), first(radio.Medical, anything), first(radio.Guard, anything)
}

// tacticals asks for channels that go together with what is chosen.
//
// The files need not be there yet: they are read from memory.
func (s *start) tacticals(planText, station, loadText []byte) {
	o := plan.Options{ReadFile: func(name string) ([]byte, error) {
		switch name {
		case planName:
			return planText, nil
		case stationName:
			return station, nil
		}
		return loadText, nil
	}}
	r, _, err := rules.Open(planName, o)
	if err != nil || r == nil {
		return
	}
	for i, c := range suggest.Tacticals(r).Choices {
		if i < len(s.tactical) && c.Channel != nil {
			s.tactical[i] = c.Channel
		}
	}
}

// named is how a slot names a channel: by name, or by its place where others
// have the name and are programmed otherwise.
func (s *start) named(c *plan.Channel) string {
	for _, o := range s.load.Channels() {
		if o.Name == c.Name && o.Programming() != c.Programming() {
			return fmt.Sprintf("group  = %d\nnumber = %d", c.Group.Number, c.Number)
		}
	}
	text, _ := edit.Value(c.Name)
	return "channel = " + text
}

// slots are the list, in order, and what else the load has, as comments.
func (s *start) slots() string {
	var b strings.Builder
	slot := func(c *plan.Channel, more ...string) {
		if c == nil {
			return
		}
		fmt.Fprintf(&b, "[[slot]]\n%s\n", s.named(c))
		if sites := s.load.SitesOf(c); c.TxTone == radio.Site && len(sites) > 0 {
			text, _ := edit.Value(sites[0].Name)
			fmt.Fprintf(&b, "site    = %s   # the repeater that covers the fire\n", text)
			var others []string
			for _, o := range sites[1:] {
				others = append(others, o.Name)
			}
			if len(others) > 0 {
				b.WriteString(wrapped("also at ", others))
			}
		}
		for _, m := range more {
			b.WriteString(m + "\n")
		}
		b.WriteString("\n")
	}
	slot(s.command)
	slot(s.tactical[0], `division = "A"                         # who talks on it; several: ["A", "B"]`)
	slot(s.tactical[1], `division = "Z"`)
	slot(s.air)
	slot(s.medical)
	slot(s.guard)
	return b.String() + s.others()
}

// others lists, for choosing, the command channels with their sites, and the
// tacticals that are not in the list.
func (s *start) others() string {
	var b strings.Builder
	var commands, tacticals []string
	for _, c := range s.load.Channels() {
		switch {
		case s.listed(c) || !usable(c):
		case c.Use == radio.Command:
			text := c.Name
			var sites []string
			for _, site := range s.load.SitesOf(c) {
				sites = append(sites, site.Name)
			}
			if len(sites) > 0 {
				text += " (" + strings.Join(sites, ", ") + ")"
			}
			commands = append(commands, text)
		case c.Use == radio.Tactical && c.Rx == c.Tx && c.TxTone != radio.Site:
			tacticals = append(tacticals, c.Name)
		}
	}
	if commands = unique(commands); len(commands) > 0 {
		b.WriteString(wrapped("Other command channels of this load, and their sites: ", commands))
	}
	if tacticals = unique(tacticals); len(tacticals) > 0 {
		b.WriteString(wrapped("Other direct tacticals of this load: ", tacticals))
	}
	if b.Len() > 0 {
		b.WriteString("\n")
	}
	return b.String()
}

// listed tells whether a slot has the channel's name.
func (s *start) listed(c *plan.Channel) bool {
	for _, o := range []*plan.Channel{s.command, s.tactical[0], s.tactical[1]} {
		if o != nil && o.Name == c.Name {
			return true
		}
	}
	return false
}

func unique(names []string) []string {
	var kept []string
	for _, n := range names {
		if !slices.Contains(kept, n) {
			kept = append(kept, n)
		}
	}
	return kept
}

// wrapped is a comment of several lines that names things.
func wrapped(head string, names []string) string {
	const width = 88
	var b strings.Builder
	line := "# " + head
	for i, n := range names {
		if i < len(names)-1 {
			n += ","
		}
		if len(line)+len(n) > width {
			b.WriteString(strings.TrimRight(line, " ") + "\n")
			line = "#   "
		}
		line += n + " "
	}
	return b.String() + strings.TrimRight(line, " ") + "\n"
}

// plan fills in the template of the plan.
func (s *start) plan(template []byte, loadPath string) (out []byte, err error) {
	text := string(template)
	from, to := strings.Index(text, firstSlot), strings.Index(text, behind)
	if from < 0 || to < from {
		return nil, fmt.Errorf("the template has no slots")
	}
	text = strings.Replace(text[:from], exampleInBraces, s.inBraces(), 1) + s.slots() + text[to:]
	var p plan.Plan
	file, _ := tomlfile.Decode("plan.toml", []byte(text), &p)
	i := p.Incident
	e := edit.Open(file)
	e.Set(p.Table, "load", loadPath)
	for _, key := range []string{"latitude", "longitude", "elevation_m"} { // of another land
		e.Delete(i.Table, key)
	}
	defer func() {
		out = []byte(strings.Replace(string(out), "# contact ", "# latitude, longitude and elevation_m (or elevation_ft) of the incident: with them\n"+
			"# slotcard tells how far the repeaters are\n# contact ", 1))
	}()
	if s.air == nil {
		e.Set(i.Table, "aircraft", false)
	}
	if s.medical != nil && i.Has("instructions") {
		e.Set(i.Table, "instructions", "Medical: call command and say MEDICAL, then move to {medical}.")
	} else {
		e.Set(i.Table, "instructions", "Medical: call command and say MEDICAL.")
	}
	// The period of the template, on a day on which the load is valid.
	if day := plan.DateOf(i.From); day.Before(s.load.About.Effective) || s.load.About.Expires.Before(day) {
		first := s.load.About.Effective
		later := time.Date(first.Year, first.Month, first.Day, 0, 0, 0, 0, i.From.Location()).Sub(
			time.Date(day.Year, day.Month, day.Day, 0, 0, 0, 0, i.From.Location()))
		for key, at := range map[string]time.Time{"from": i.From, "to": i.To, "prepared_at": i.PreparedAt} {
			e.Set(i.Table, key, edit.Raw(at.Add(later).Format(time.RFC3339)))
		}
	}
	return e.Text()
}

// exampleInBraces is what the template's comment shows of names in braces.
const exampleInBraces = `{EX MED} prints "EX MED, slot 5"`

// inBraces is the same with a channel of the load's list.
func (s *start) inBraces() string {
	slot := 0
	for _, c := range []*plan.Channel{s.command, s.tactical[0], s.tactical[1], s.air, s.medical} {
		if c == nil {
			continue
		}
		slot++
		if c == s.medical || s.medical == nil {
			return fmt.Sprintf(`{%s} prints "%s, slot %d"`, c.Name, c.Name, slot)
		}
	}
	return "the name of a channel prints its slot"
}

// station fills in the template of the station file: what stands on the card
// beside the list is of this load.
func (s *start) station(template []byte) ([]byte, error) {
	var st plan.Station
	file, _ := tomlfile.Decode("station.toml", template, &st)
	e := edit.Open(file)
	var names []string // of the template and of the load: comments speak of them, too
	for _, a := range st.Also {
		c := s.beside(a)
		switch {
		case c == nil:
			e.DeleteTable(a.Table)
		default:
			names = append(names, a.Channel, c.Name)
			e.Set(a.Table, "channel", c.Name)
			if sites := s.load.SitesOf(c); c.TxTone == radio.Site && len(sites) > 0 {
				e.Set(a.Table, "site", sites[0].Name)
			}
		}
	}
	text, err := e.Text()
	return []byte(strings.NewReplacer(names...).Replace(string(text))), err
}

// beside is the channel of the load in the place of one of the template's: the
// travel channel, direct, and a talkgroup that reaches the dispatcher.
func (s *start) beside(a *plan.Also) *plan.Channel {
	travel := strings.Contains(a.When, "road")
	var found *plan.Channel
	for _, c := range s.load.Channels() {
		switch {
		case c.ReceiveOnly || found != nil && (found.EditionMark || !c.EditionMark):
		case travel && c.Use == radio.Travel && !c.Repeated() && !c.Trunked():
			found = c
		case !travel && c.Use == radio.Support && strings.Contains(strings.ToUpper(c.Name+" "+c.Talkgroup), "DISP"):
			found = c
		}
	}
	if found == nil || strings.HasPrefix(s.named(found), "group") {
		return nil
	}
	return found
}
