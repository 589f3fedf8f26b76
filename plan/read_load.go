package plan

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"slotcard/plan/edit"
	"slotcard/plan/finding"
	"slotcard/plan/radio"
	"slotcard/plan/slotlist"
	"slotcard/plan/tomlfile"
)

// Bounds of numbers: beyond them it is a typing error. Our choice.
const (
	maxNumber        = 9999 // groups, channels, tones, periods
	maxListPositions = 1000 // of a list that a user can build
	maxNameLength    = 64   // characters of a display
	minElevation     = -500 // meters: below the deepest shore on Earth
	maxElevation     = 9000 // meters: above the highest summit
)

// Bounds of a load, beyond what any agency's radios hold: what is larger is a slip of a
// program. Our choice.
const (
	maxChannels = 5000 // of all groups
	maxGroups   = 1000
	maxTones    = 1000
	maxSites    = 1000
)

// bounds cuts what is beyond them.
func (r *reader) bounds(l *Load) {
	l.Accepts = atMost(r, l.Accepts, "accept", maxDivisions, func(a *Accept) tomlfile.Table { return a.Table })
	l.Tones = atMost(r, l.Tones, "tone", maxTones, func(t *Tone) tomlfile.Table { return t.Table })
	l.Sites = atMost(r, l.Sites, "site", maxSites, func(s *Site) tomlfile.Table { return s.Table })
	l.Groups = atMost(r, l.Groups, "group", maxGroups, func(g *Group) tomlfile.Table { return g.Table })
	left, said := maxChannels, false
	for _, g := range l.Groups {
		switch n := len(g.Channels); {
		case said:
			g.Channels = nil
		case n > left:
			r.fault(g.Channels[left].At(""), tomlfile.RuleOutOfRange, "", fmt.Sprintf("more than %d channels; those from here on are not read", maxChannels),
				"split the load, or look for the program that wrote it")
			g.Channels, said = g.Channels[:left], true
		default:
			left -= n
		}
	}
}

// load normalizes and checks a load, and fills in what follows from it.
func (r *reader) load(l *Load) {
	r.bounds(l)
	r.texts(l)
	if l.About.OK("effective") && l.About.OK("expires") && l.About.Expires.Before(l.About.Effective) {
		r.fault(l.About.At("expires"), RuleLoadDates, "", fmt.Sprintf("the load expires on %s, before it is effective on %s", l.About.Expires, l.About.Effective),
			"write the first day in effective, the last day in expires")
	}
	r.ascii(l.About.Table, "edition", l.About.Edition)

	r.within(l.Radio.Table, "list_positions", l.Radio.ListPositions, 1, maxListPositions)
	r.within(l.Radio.Table, "name_length", l.Radio.NameLength, 1, maxNameLength)
	if l.Radio.OK("bands") && len(l.Radio.Bands) == 0 {
		r.fault(l.Radio.At("bands"), RuleEmptyList, "", "bands is empty: the radio could use no frequency", "write bands = [[136.0, 174.0]], in MHz")
	}
	if l.Radio.OK("modes") && len(l.Radio.Modes) == 0 {
		r.fault(l.Radio.At("modes"), RuleEmptyList, "", "modes is empty: the radio could use no channel", `write modes = ["analog"]`)
	}

	tones := map[int]*Tone{}
	toneNumbers := newUnique("tone number")
	for _, t := range l.Tones {
		if r.within(t.Table, "number", t.Number, 1, maxNumber) {
			toneNumbers.add(r, strconv.Itoa(t.Number), strconv.Itoa(t.Number), t.At("number"))
			tones[t.Number] = t
		}
		r.definite(t.Table, "hz", t.Hz)
	}
	r.groups(l)
	r.sites(l, tones)
}

func (r *reader) groups(l *Load) {
	groupNumbers := newUnique("group number")
	for _, g := range l.Groups {
		if r.within(g.Table, "number", g.Number, 1, maxNumber) {
			groupNumbers.add(r, strconv.Itoa(g.Number), strconv.Itoa(g.Number), g.At("number"))
		}
		numbers := newUnique("channel number")
		for _, c := range g.Channels {
			c.Group = g
			if r.within(c.Table, "number", c.Number, 1, maxNumber) && !r.broken { // a header may be missing between them
				if f := numbers.add(r, strconv.Itoa(c.Number), strconv.Itoa(c.Number)+" in group "+strconv.Itoa(g.Number), c.At("number")); f != nil {
					f.Cause = finding.Cause{Name: fmt.Sprintf("group %d", g.Number), Message: fmt.Sprintf("%%d channel numbers stand twice in group %d", g.Number),
						Help: []string{"if another group begins here, write its [[group]] above this channel; else change or delete one of each two"}}
				}
			}
			r.channel(c)
		}
	}
}

func (r *reader) channel(c *Channel) {
	r.displayName(c.Table, "name", c.Name)
	if c.OK("rx_tone") {
		switch {
		case c.RxTone == radio.Site:
			r.fault(c.At("rx_tone"), RuleSiteTone, c.Name, `rx_tone cannot be "site": only the transmit tone is the incident's to choose`,
				"write the receive tone, or leave the key out for carrier squelch")
			c.RxTone = radio.Squelch{}
		case c.RxTone.IsZero():
			r.carrier(c.Table, "rx_tone", c.Name)
		}
	}
	if c.OK("tx_tone") && c.TxTone.IsZero() {
		r.carrier(c.Table, "tx_tone", c.Name)
	}
	switch {
	case c.Has("system") || c.Has("talkgroup"):
		r.talkgroup(c)
	case !c.Has("rx") && c.Has("tx"):
		r.fault(c.At("tx"), RuleReceiveTransmit, c.Name, "the channel has a transmit frequency but no receive frequency", "add rx = ..., in MHz")
	case !c.Has("rx") && !c.Doubtful():
		r.fault(c.At(""), tomlfile.RuleMissingKey, c.Name, "the channel has neither a frequency nor a talkgroup",
			"add rx = ..., in MHz, or system and talkgroup of a trunked system")
	}
	if !c.Has("tx") && !c.Doubtful() && !c.Trunked() {
		c.Tx = c.Rx
	}
}

func (r *reader) talkgroup(c *Channel) {
	for _, pair := range [][2]string{{"system", "talkgroup"}, {"talkgroup", "system"}} {
		if c.Has(pair[0]) && !c.Has(pair[1]) && !c.Doubtful() {
			r.fault(c.At(pair[0]), RuleTalkgroup, c.Name, fmt.Sprintf("the channel has a %s but no %s", pair[0], pair[1]), fmt.Sprintf(`add %s = "..."`, pair[1]))
		}
	}
	for _, key := range []string{"rx", "tx", "rx_tone", "tx_tone"} {
		if c.Has(key) {
			f := r.fault(c.At(key), RuleTalkgroup, c.Name, fmt.Sprintf("a talkgroup has no %s: its system assigns the frequencies", key))
			f.Offer(edit.In(c.Table).Delete(c.Table, key).Edit(""), unless("or delete system and talkgroup, if it is a channel of its own"))
		}
	}
	c.Rx, c.Tx, c.RxTone, c.TxTone = 0, 0, radio.Squelch{}, radio.Squelch{}
	before := len(r.findings)
	r.ascii(c.Table, "system", c.System)
	r.ascii(c.Table, "talkgroup", c.Talkgroup)
	for _, key := range []string{"system", "talkgroup"} {
		v := c.System
		if key == "talkgroup" {
			v = c.Talkgroup
		}
		if c.OK(key) && strings.ContainsAny(v, "/_") {
			r.fault(c.At(key), RuleTalkgroup, c.Name, fmt.Sprintf("%s %q has / or _, which the scanned list uses between and inside of names", key, v), "write a space or - in its place")
		}
	}
	if len(r.findings) > before || !c.OK("system") || !c.OK("talkgroup") || c.System == "" || c.Talkgroup == "" {
		return
	}
	if err := slotlist.ValidTalkgroup(c.System, c.Talkgroup); err != nil {
		f := r.fault(c.At("talkgroup"), RuleTalkgroup, c.Name, fmt.Sprintf("in a scanned list %s/%s %s", c.System, c.Talkgroup, err),
			fmt.Sprintf("put a word to one of them, such as talkgroup = %q", "TG "+c.Talkgroup))
		f.Related = []finding.Related{{Place: c.At("system"), Message: "system " + strconv.Quote(c.System)}}
	}
}

func (r *reader) sites(l *Load, tones map[int]*Tone) {
	known := map[string]bool{}
	var names []string
	for _, g := range l.Groups {
		for _, c := range g.Channels {
			if !known[c.Name] {
				known[c.Name] = true
				names = append(names, c.Name)
			}
		}
	}
	siteNames := newUnique("site")
	for _, s := range l.Sites {
		if s.OK("name") {
			siteNames.add(r, fold(s.Name), s.Name, s.At("name"))
		}
		switch {
		case !s.OK("tone"):
		case s.Tone.Number == 0:
			s.Squelch = s.Tone.Squelch
			r.definite(s.Table, "tone", s.Squelch)
		case tones[s.Tone.Number] != nil:
			s.Squelch = tones[s.Tone.Number].Hz
		case !r.broken:
			r.fault(s.At("tone"), RuleUnknownTone, s.Name, fmt.Sprintf("the load has no tone number %d", s.Tone.Number),
				fmt.Sprintf("add a [[tone]] with number = %d, or write the tone in hertz with a decimal point, such as 100.0", s.Tone.Number))
		}
		r.coordinates(s.Table, s.Name, s.Latitude, s.Longitude)
		s.Elevation = r.elevation(s.Table, s.Name, s.Elevation, s.ElevationFt)
		carried := newUnique("channel")
		for i, name := range s.Channels {
			at := s.AtItem("channels", i)
			carried.add(r, name, name, at)
			if known[name] || r.broken || name == "" {
				continue
			}
			message := fmt.Sprintf("the load has no channel %q", name)
			close := finding.Closest(name, names, 3)
			if len(close) > 0 {
				message += "; the closest is " + close[0]
			}
			f := r.fault(at, RuleUnknownChannel, s.Name, message)
			for _, other := range close {
				f.Offer(edit.In(s.Table).SetItem(s.Table, "channels", i, other).Edit("did you mean " + other + "?"))
			}
			if len(close) == 0 {
				f.Help = []string{"write the display name as in its [[group.channel]]"}
			}
		}
	}
}

// definite reports a tone that says nothing: "site", or carrier squelch.
func (r *reader) definite(t tomlfile.Table, key string, s radio.Squelch) {
	switch {
	case !t.OK(key):
	case s == radio.Site:
		r.fault(t.At(key), RuleSiteTone, "", key+` cannot be "site": here stands the tone itself`, `write hertz, or a code such as "D023"`)
	case s.IsZero():
		r.carrier(t, key, "")
	}
}

func (r *reader) carrier(t tomlfile.Table, key, subject string) {
	r.fault(t.At(key), RuleCarrierSquelch, subject, key+` "-" says nothing: a channel without tone has no such key`).
		Offer(edit.In(t).Delete(t, key).Edit("delete the key"))
}

// within reports a number that was written and is not between low and high.
func (r *reader) within(t tomlfile.Table, key string, n, low, high int) bool {
	if !t.OK(key) {
		return false
	}
	if n < low || n > high {
		r.fault(t.At(key), tomlfile.RuleOutOfRange, "", fmt.Sprintf("%s %d is not between %d and %d", key, n, low, high), fmt.Sprintf("write the right number, from %d to %d", low, high))
		return false
	}
	return true
}

// coordinates must be both there or both absent, and on Earth.
func (r *reader) coordinates(t tomlfile.Table, subject string, latitude, longitude *float64) {
	for _, c := range []struct {
		key, other string
		value      *float64
		limit      float64
	}{{"latitude", "longitude", latitude, 90}, {"longitude", "latitude", longitude, 180}} {
		if t.Has(c.key) && !t.Has(c.other) && !t.Doubtful() {
			r.fault(t.At(c.key), RuleCoordinates, subject, fmt.Sprintf("%s stands without %s", c.key, c.other)).
				Offer(unless("add "+c.other), edit.In(t).Delete(t, c.key).Edit("or delete "+c.key))
		}
		if c.value != nil && (*c.value < -c.limit || *c.value > c.limit) {
			help := "write decimal degrees, north and east positive"
			r.fault(t.At(c.key), tomlfile.RuleOutOfRange, subject, fmt.Sprintf("%s %s is not between -%g and %g degrees", c.key, number(*c.value), c.limit, c.limit), help)
		}
	}
}

// meters in a foot, the international foot of 1959 (NIST Special Publication 811,
// from memory).
const foot = 0.3048

// elevation is what was written in meters or in feet, in meters.
func (r *reader) elevation(t tomlfile.Table, subject string, meters, feet *float64) *float64 {
	if t.Has("elevation_m") && t.Has("elevation_ft") {
		r.fault(t.At("elevation_ft"), RuleElevation, subject, "elevation_m and elevation_ft both give the elevation", "keep one of them")
		return meters
	}
	key, unit, size := "elevation_m", "meters", 1.0
	if feet != nil {
		key, unit, size, meters = "elevation_ft", "feet", foot, feet
	}
	if meters == nil {
		return nil
	}
	least, most := math.Ceil(minElevation/size), math.Floor(maxElevation/size)
	if v := *meters; v < least || v > most {
		r.fault(t.At(key), tomlfile.RuleOutOfRange, subject, fmt.Sprintf("%s %s is not between %.0f and %.0f %s", key, number(v), least, most, unit), "write "+unit+" above sea level")
	}
	m := *meters * size
	return &m
}

func number(f float64) string { return strconv.FormatFloat(f, 'f', -1, 64) }

// fold makes names equal that nobody tells apart over the air.
func fold(s string) string { return strings.ToLower(s) }
