package channellist

import (
	"fmt"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"slotcard/plan/radio"
)

// siteColumns finds what the columns of a table of sites hold.
func (m *mapper) siteColumns() {
	for i, t := range m.titles {
		w, c := t.words, m.contents[i]
		text := strings.ToLower(t.text)
		switch {
		case w["lat"] && w["lon"], w["latlong"]:
			m.fields[i] = LatLong
		case w["lat"]:
			m.fields[i] = Latitude
		case w["lon"]:
			m.fields[i] = Longitude
		case w["elev"] || (w["feet"] || w["meters"]) && c.most(c.ints):
			switch {
			case w["feet"] || strings.Contains(text, "'"):
				m.fields[i] = Feet
			case w["meters"]:
				m.fields[i] = Meters
			default:
				m.fields[i] = Elevation
			}
		case w["channels"], w["channel"] && !c.most(c.ints), w["site"] && !w["name"] && m.has(SiteName) && c.letters > 0, strings.Contains(text, "carries"):
			m.fields[i] = Carried
		case w["tone"] || w["hz"]:
			if !m.has(SiteTone) || w["tx"] || w["number"] && !w["hz"] {
				m.take(i, SiteTone, "")
			}
		case (w["site"] || w["name"] || w["display"]) && !m.has(SiteName) && 2*c.letters >= c.filled:
			m.fields[i] = SiteName
		case w["remarks"]:
			m.why[i] = "a site has no remarks in a load"
		case len(w) == 0 && c.filled > 0 && c.most(c.yes+c.tone-min(c.yes, c.tone)):
			m.fields[i] = Marked // the title may be a channel; that is known later
		}
	}
	for i, c := range m.contents {
		if !m.has(SiteName) && m.fields[i] == NotUsed && c.letters > 0 && 2*c.letters >= c.filled {
			m.fields[i], m.why[i] = SiteName, "by what it holds"
		}
	}
	for i, c := range m.contents {
		if !m.has(SiteTone) && m.fields[i] == NotUsed && c.most(c.tone) {
			m.fields[i], m.why[i] = SiteTone, "by what it holds"
		}
	}
}

// readSites reads the rows of a table of sites.
func (l *List) readSites(t *table) {
	r := &reading{list: l, t: t}
	for _, row := range t.above {
		if !l.headLine(r.joined(row)) {
			l.notRead(t.place(row, t.filled(row)[0]), r.joined(row), "a line above the table of sites")
		}
	}
	for _, row := range t.rows {
		name := r.text(row, SiteName)
		if filled := t.filled(row); name == "" || len(filled) < 2 {
			l.notRead(t.place(row, filled[0]), r.joined(row), "a line among the sites")
			continue
		}
		s := &Site{At: t.place(row, -1), Name: name}
		t.read++
		r.siteTone(s, row)
		r.coordinates(s, row)
		r.elevation(s, row)
		for _, c := range t.columns {
			cell := t.cell(row, c.Index)
			switch {
			case cell.Empty():
			case c.Field == Carried:
				s.carried = append(s.carried, cell.Lines()...)
			case c.Field == Marked && !noText().MatchString(cell.Text):
				s.carried = append(s.carried, c.Title)
			}
		}
		l.Sites = append(l.Sites, s)
	}
}

func (s *Site) open(key, why string) { s.Open = append(s.Open, Open{key, why}) }

func (r *reading) siteTone(s *Site, row int) {
	cell, _ := r.at(row, SiteTone)
	t, ok := toneOf(cell, r.title(SiteTone), false)
	switch {
	case !ok:
		s.open("tone", "the sheet says "+cell.Text)
	case t.number > 0:
		s.ToneNumber = t.number
	case t.none || t.site:
		s.open("tone", "the sheet says "+said(cell.Text))
	default:
		s.Tone = t.value
		for _, known := range r.list.Tones {
			if known.Value == t.value {
				s.ToneNumber = known.Number
			}
		}
	}
}

var angleText = compiled(`^([NSEW+−-])?\s*(\d{1,3}(?:[.,]\d+)?)\s*(?:[°º*d:\s]\s*(?:(\d{1,2}(?:[.,]\d+)?)\s*(?:['′’m:\s]\s*(?:(\d{1,2}(?:[.,]\d+)?)\s*(?:["″”s]|''|$)?)?)?)?)?\s*([NSEW])?$`)

// angleOf reads decimal degrees, degrees and minutes, or degrees, minutes and
// seconds, with a sign or a letter. signed tells that the direction was said.
func angleOf(text string) (degrees float64, signed, ok bool) {
	m := angleText().FindStringSubmatch(strings.ToUpper(strings.TrimSpace(text)))
	if m == nil {
		return 0, false, false
	}
	for i, part := range m[2:5] {
		if part == "" {
			continue
		}
		v, err := strconv.ParseFloat(strings.Replace(part, ",", ".", 1), 64)
		if err != nil || i > 0 && v >= 60 {
			return 0, false, false
		}
		degrees += v / math.Pow(60, float64(i))
	}
	sign := m[1] + m[5]
	if strings.ContainsAny(sign, "SW-−") {
		degrees = -degrees
	}
	return math.Round(degrees*1e6) / 1e6, sign != "", len(sign) <= 3
}

var pairText = regexp.MustCompile(`^(.*\d\S*?)\s*[,;/]\s+(.*)$|^(.*?[NS])[\s,;/]+(.*[EW])$|^([+-]?\d+\.\d+)[\s,;/]+([+-]?\d+\.\d+)$`)

func (r *reading) coordinates(s *Site, row int) {
	lat, lon := r.text(row, Latitude), r.text(row, Longitude)
	if both := r.text(row, LatLong); both != "" {
		m := pairText.FindStringSubmatch(both)
		if m == nil {
			s.open("latitude", "the sheet says "+both)
			s.open("longitude", "the sheet says "+both)
			return
		}
		lat, lon = m[1]+m[3]+m[5], m[2]+m[4]+m[6]
	}
	if dashes[lat] && dashes[lon] {
		return
	}
	read := func(key, text, title string, limit float64) *float64 {
		v, signed, ok := angleOf(text)
		title = strings.ToUpper(title)
		switch {
		case !ok || v < -limit || v > limit:
			s.open(key, "the sheet says "+said(text))
			return nil
		case !signed && limit > 90 && strings.Contains(title, "W") && !strings.Contains(title, "WGS"):
			v = -v
		case !signed && limit > 90:
			s.open(key, fmt.Sprintf("the sheet says %s without a sign: write %s if it is west", text, strconv.FormatFloat(-v, 'f', -1, 64)))
			return nil
		}
		return &v
	}
	s.Latitude = read("latitude", lat, r.title(Latitude), 90)
	s.Longitude = read("longitude", lon, first(r.title(Longitude), r.title(LatLong)), 180)
}

var heightText = compiled(`(?i)^([+-]?\d{1,3}(?:[ ,]?\d{3})*(?:\.\d+)?)\s*(FT|FEET|'|’|M|METERS|METERS)?\.?(?:\s*(?:A?MSL|ASL))?$`)

const feet = 0.3048 // meters: the international foot, exact (NIST SP 811, appendix B)

// elevation is written in whole meters, as the maps of the trade are.
func (r *reading) elevation(s *Site, row int) {
	for _, f := range []Field{Meters, Feet, Elevation} {
		cell, at := r.at(row, f)
		if at < 0 || blank(cell) {
			continue
		}
		m := heightText().FindStringSubmatch(cell.Text)
		if m == nil {
			s.open("elevation_m", "the sheet says "+cell.Text)
			continue
		}
		v, _ := strconv.ParseFloat(strings.NewReplacer(",", "", " ", "").Replace(m[1]), 64)
		unit := strings.ToUpper(m[2])
		const highest = 6190 // meters: no site of a radio in North America stands higher
		switch {
		case unit == "" && f == Elevation && v > highest, strings.HasPrefix(unit, "F"), unit == "'", unit == "’", unit == "" && f == Feet:
			v = math.Round(v * feet)
		case unit == "" && f == Elevation:
			s.open("elevation_m", fmt.Sprintf("the sheet says %s and no unit: %.0f if that is feet", cell.Text, v*feet))
			continue
		}
		s.Elevation = &v
	}
}

// toneNumbers is the column of a table of tones that numbers them; -1: none.
func (m *mapper) toneNumbers() int {
	for i, c := range m.contents {
		if c.filled > 0 && c.most(c.ints) && len(c.distinct) == c.filled && c.sure == 0 && !m.titles[i].words["hz"] {
			return i
		}
	}
	for i, c := range m.contents {
		if c.filled > 0 && len(c.distinct) == c.filled && c.letters == c.filled && c.most(c.tone) { // Tone 1, Tone 2
			return i
		}
	}
	return -1
}

func (m *mapper) toneColumns() {
	number := m.toneNumbers()
	if number < 0 {
		return
	}
	m.fields[number] = ToneNumber
	for i, c := range m.contents {
		if i != number && c.most(c.tone) && !m.has(ToneValue) {
			m.fields[i] = ToneValue
		}
	}
}

// readTones reads the rows of a table of numbered tones.
func (l *List) readTones(t *table) {
	r := &reading{list: l, t: t}
	for _, row := range t.above {
		if !l.headLine(r.joined(row)) {
			l.notRead(t.place(row, t.filled(row)[0]), r.joined(row), "a line above the table of tones")
		}
	}
	for _, row := range t.rows {
		number, ok := integerOf(r.text(row, ToneNumber))
		if !ok {
			var label tone
			cell, _ := r.at(row, ToneNumber)
			label, ok = toneOf(cell, "", false)
			number, ok = label.number, ok && label.number > 0
		}
		cell, _ := r.at(row, ToneValue)
		v, read := toneOf(cell, r.title(ToneValue), false)
		if !ok || !read || v.value.IsZero() {
			l.notRead(t.place(row, t.filled(row)[0]), r.joined(row), "no tone with its number")
			continue
		}
		t.read++
		l.Tones = append(l.Tones, &Tone{At: t.place(row, -1), Number: number, Value: v.value})
	}
}

// settle decides what only the whole list can tell: uses, groups' numbers, which
// channels a site carries.
func (l *List) settle() {
	l.numberGroups()
	blanks, same := 0, 0
	for _, g := range l.Groups {
		for _, c := range g.Channels {
			c.deriveUse(g.Name)
			if c.txBlank && !c.ReceiveOnly && c.Rx == c.Tx && c.Talkgroup == "" {
				blanks++
			}
			if c.txSame {
				same++
			}
		}
	}
	if blanks > 0 && same > 0 {
		l.note("channels without a transmit frequency, where others repeat the receive frequency: %d; taken as direct, so write receive_only = true where the radio must not transmit", blanks)
	}
	l.sitesOfChannels()
	for _, s := range l.Sites {
		l.channelsOf(s)
	}
	l.Groups = slices.DeleteFunc(l.Groups, func(g *Group) bool { return len(g.Channels) == 0 })
}

// numberGroups gives numbers to groups that the sheets do not number: in their
// order, if none has one.
func (l *List) numberGroups() {
	taken := map[int]bool{}
	for _, g := range l.Groups {
		taken[g.Number] = true
	}
	next := 1
	for _, g := range l.Groups {
		if g.Number > 0 {
			continue
		}
		for taken[next] {
			next++
		}
		g.Number, taken[next] = next, true
		if len(l.Groups) > 1 {
			l.note("groups that have no number on the sheet are numbered in its order")
		}
	}
}

// sitesOfChannels puts channels whose rows name sites to these sites. A site that
// no table knows stays with the channel as a remark.
func (l *List) sitesOfChannels() {
	for _, g := range l.Groups {
		for _, c := range g.Channels {
			var known []*Site
			for _, name := range c.sites {
				for _, s := range l.Sites {
					if strings.EqualFold(s.Name, name) {
						known = append(known, s)
					}
				}
			}
			if len(known) > 0 && len(known) == len(c.sites) {
				for _, s := range known {
					if !slices.Contains(s.Channels, c.Name) {
						s.Channels = append(s.Channels, c.Name)
					}
				}
				continue
			}
			if c.siteText != "" {
				c.Remarks = strings.Trim(c.Remarks+"; "+c.siteText, "; ")
			}
		}
	}
}

// names of the list's channels.
func (l *List) names() map[string]string {
	names := map[string]string{}
	for _, g := range l.Groups {
		for _, c := range g.Channels {
			names[strings.ToLower(c.Name)] = c.Name
		}
	}
	return names
}

var rangeText = compiled(`^(.*?)(\d+)\s*(?:-|–|to|thru|through)\s*(\d+)$`)

// channelsOf finds the channels that a table of sites names for a site.
func (l *List) channelsOf(s *Site) {
	names := l.names()
	add := func(name string) {
		if !slices.Contains(s.Channels, name) {
			s.Channels = append(s.Channels, name)
		}
	}
	for _, line := range s.carried {
		for _, piece := range splitNames(line) {
			if known := names[strings.ToLower(piece)]; known != "" {
				add(known)
				continue
			}
			parts := strings.Split(piece, "/")
			if m := rangeText().FindStringSubmatch(piece); m != nil {
				from, _ := strconv.Atoi(m[2])
				to, _ := strconv.Atoi(m[3])
				parts = nil
				for n := from; n <= to && n-from < 100; n++ {
					parts = append(parts, m[1]+strconv.Itoa(n))
				}
			}
			if len(parts) > 1 && !slices.ContainsFunc(parts, func(p string) bool { return names[strings.ToLower(strings.TrimSpace(p))] == "" }) {
				for _, p := range parts {
					add(names[strings.ToLower(strings.TrimSpace(p))])
				}
				continue
			}
			add(piece) // check says that the load has no such channel, and which is close
		}
	}
	if len(s.Channels) > 0 {
		return
	}
	var by []string
	for _, g := range l.Groups {
		for _, c := range g.Channels {
			if c.TxTone == radio.Site && !slices.Contains(by, c.Name) {
				by = append(by, c.Name)
			}
		}
	}
	why := "the sheets do not say which channels are repeated there"
	if len(by) > 0 {
		why += "; by site are: " + strings.Join(by, ", ")
	}
	s.open("channels", why)
}

var (
	editionText   = compiled(`(?i)\bedition\s*[:=]?\s*(\S+)`)
	effectiveText = compiled(`(?i)\b(?:effective|valid from|in force from)\b(?: date)?\s*[:=]?\s*(\d[\d/.-]+)`)
	expiresText   = compiled(`(?i)\b(?:expires?|expiration|valid (?:to|until|through)|until)\b(?: date)?(?: on)?\s*[:=]?\s*(\d[\d/.-]+)`)
)

// headLine reads a line around the tables that says which edition it is, or when
// it is valid; false where it says neither, or more than that.
func (l *List) headLine(text string) bool {
	found, rest := false, text
	for _, p := range []struct {
		pattern pattern
		to      *string
		date    bool
	}{{editionText, &l.Edition, false}, {effectiveText, &l.Effective, true}, {expiresText, &l.Expires, true}} {
		m := p.pattern().FindStringSubmatch(text)
		if m == nil {
			continue
		}
		value := strings.Trim(m[1], ",.;")
		if p.date {
			if value = dateOf(value); value == "" {
				continue
			}
		}
		if *p.to == "" {
			*p.to = value
		}
		if *p.to == value {
			found, rest = true, strings.Replace(rest, m[0], "", 1)
		}
	}
	return found && strings.Trim(rest, " ,.;:()-–—|/") == ""
}

var (
	isoDate = compiled(`^(\d{4})-(\d{1,2})-(\d{1,2})$`)
	usDate  = compiled(`^(\d{1,2})/(\d{1,2})/(\d{4}|\d{2})$`) // month/day/year: ics_forms.csv, secondary
)

// dateOf is a day as TOML writes it; "" where it is none.
func dateOf(text string) string {
	year, month, day := "", "", ""
	if m := isoDate().FindStringSubmatch(text); m != nil {
		year, month, day = m[1], m[2], m[3]
	} else if m := usDate().FindStringSubmatch(text); m != nil {
		year, month, day = m[3], m[1], m[2]
	}
	if year == "" {
		return ""
	}
	if len(year) == 2 {
		year = "20" + year
	}
	mm, _ := strconv.Atoi(month)
	dd, _ := strconv.Atoi(day)
	if mm < 1 || mm > 12 || dd < 1 || dd > 31 {
		return ""
	}
	return fmt.Sprintf("%s-%02d-%02d", year, mm, dd)
}
