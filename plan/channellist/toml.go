package channellist

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"slotcard/plan"
	"slotcard/plan/radio"
	"slotcard/plan/tomlfile"
)

// Answers are what no list of channels says about a load. What is empty, or 0, is
// for a person to decide.
type Answers struct {
	Name, Edition, Color string
	Effective, Expires   string // days, such as 2027-03-01
	ListPositions        int
	EditionChannel       string // display name that carries the edition

	// What last year's load says of the radio; else it is taken from the list.
	NameLength int
	Bands      []plan.Band
	Modes      []radio.Mode
}

// Draft is a load as TOML, and what is left to decide in it.
type Draft struct {
	TOML []byte
	Open []Undecided // in order of the draft
}

// Undecided is something that a person must decide.
type Undecided struct {
	Line int // of the draft, from 1
	At   Place
	What string // such as "QB 7: use: the sheet says WORK"
}

// Decide is what stands where a person must decide. No key of a load that needs
// one takes it: the checks point at it.
const Decide = "DECIDE"

// writer writes a load.
type writer struct {
	tomlfile.Writer
	list *List
	open []Undecided
}

// TOML writes the load for reading: a channel a line, groups under headings, in
// the order of the sheets. What a person must decide says DECIDE; it is written so
// that the checks object to it.
func (l *List) TOML(a Answers) *Draft {
	w := &writer{list: l}
	w.top()
	w.about(a)
	w.radio(a)
	w.tones()
	w.sites()
	for _, g := range l.Groups {
		w.group(g)
	}
	return &Draft{w.Text(), w.open}
}

// undecided notes that something on the line that is written next is for a person.
func (w *writer) undecided(at Place, format string, args ...any) {
	w.open = append(w.open, Undecided{w.Next(), at, fmt.Sprintf(format, args...)})
}

// top says where the load comes from.
func (w *writer) top() {
	w.Comment("A load, made by \"slotcard import\" from")
	for _, s := range w.list.Sources {
		rows := 0
		for _, t := range w.list.Tables {
			if t.At.File == s.Name {
				rows += t.Rows
			}
		}
		w.Comment("  %s: %s read; SHA-256 %s", s.Name, plural(rows, "row", "rows"), s.Sum)
	}
	w.Comment("Proofread it against the sheet. Where it says DECIDE, a person must; slotcard check")
	w.Comment("points there, too.")
}

func plural(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}

func (w *writer) about(a Answers) {
	w.Line("")
	w.Line("[load]")
	text := func(key, value, what string) {
		if value == "" {
			w.undecided(Place{Column: -1}, "%s: %s", key, what)
			w.Line("%-9s = \"\"            # DECIDE: %s", key, what)
			return
		}
		w.Line("%-9s = %s", key, tomlfile.Quote(value))
	}
	text("name", a.Name, "whose load it is")
	text("edition", a.Edition, "usually the year; it stands on every card")
	text("color", a.Color, "of the label on the radio and of the book's cover")
	for _, d := range []struct{ key, value, what string }{
		{"effective", a.Effective, "the first day on which it is valid, such as 2027-03-01 without quotes"},
		{"expires", a.Expires, "the last day, such as 2028-02-29 without quotes"},
	} {
		if d.value == "" {
			w.undecided(Place{Column: -1}, "%s: %s", d.key, d.what)
			w.Line("%-9s = \"DECIDE\"      # %s", d.key, d.what)
			continue
		}
		w.Line("%-9s = %s", d.key, d.value)
	}
	w.editionChannel()
}

// editionChannel says where no display name is known to carry the edition.
func (w *writer) editionChannel() {
	for _, g := range w.list.Groups {
		if slices.ContainsFunc(g.Channels, func(c *Channel) bool { return c.Edition }) {
			return
		}
	}
	const what = "edition_mark = true at the channel whose display name carries the edition"
	w.undecided(Place{Column: -1}, "%s", what)
	w.Comment("DECIDE: write %s", what)
}

func (w *writer) radio(a Answers) {
	w.Line("")
	w.Line("[radio]")
	if a.ListPositions > 0 {
		w.Line("list_positions = %d", a.ListPositions)
	} else {
		const what = "positions in a list that a user can build, a number without quotes"
		w.undecided(Place{Column: -1}, "list_positions: %s", what)
		w.Line("list_positions = \"DECIDE\"  # %s", what)
	}
	if a.NameLength > 0 {
		w.Line("name_length    = %d", a.NameLength)
	} else {
		w.Line("name_length    = %-8d  # the longest display name of the list; write what the radio shows", max(w.list.longestName(), 1))
	}
	bands, note := a.Bands, ""
	if len(bands) == 0 {
		bands, note = w.list.bands(), "  # MHz, those that the list uses; write what the radio can do"
	}
	parts := make([]string, len(bands))
	for i, b := range bands {
		parts[i] = fmt.Sprintf("[%s, %s]", megahertz(b.Low), megahertz(b.High))
	}
	w.Line("bands          = [%s]%s", strings.Join(parts, ", "), note)
	modes, note := a.Modes, ""
	if len(modes) == 0 {
		modes, note = w.list.modes(), "  # those that the list uses"
	}
	parts = nil
	for _, m := range modes {
		parts = append(parts, tomlfile.Quote(m.String()))
	}
	w.Line("modes          = [%s]%s", strings.Join(parts, ", "), note)
}

// megahertz is the end of a band: with one decimal where that is exact.
func megahertz(h radio.Hertz) string {
	if h%100_000 == 0 {
		return fmt.Sprintf("%d.%d", h/1_000_000, h/100_000%10)
	}
	return h.String()
}

func (l *List) longestName() int {
	n := 0
	for _, g := range l.Groups {
		for _, c := range g.Channels {
			n = max(n, utf8.RuneCountInString(c.Name))
		}
	}
	return n
}

// landMobile are the bands in which radios of the trade are made, in MHz; common
// practice.
var landMobile = []plan.Band{
	{Low: 29_700_000, High: 50_000_000}, {Low: 136_000_000, High: 174_000_000}, {Low: 216_000_000, High: 225_000_000},
	{Low: 380_000_000, High: 520_000_000}, {Low: 762_000_000, High: 870_000_000},
}

// bands are those that hold all frequencies of the list.
func (l *List) bands() []plan.Band {
	used := map[int]bool{}
	var others []plan.Band
	for _, g := range l.Groups {
		for _, c := range g.Channels {
			for _, f := range []radio.Hertz{c.Rx, c.Tx} {
				if f == 0 {
					continue
				}
				i := slices.IndexFunc(landMobile, func(b plan.Band) bool { return b.Low <= f && f <= b.High })
				if i >= 0 {
					used[i] = true
					continue
				}
				at := f / 1_000_000 * 1_000_000
				if b := (plan.Band{Low: at, High: at + 1_000_000}); !slices.Contains(others, b) {
					others = append(others, b)
				}
			}
		}
	}
	var bands []plan.Band
	for i, b := range landMobile {
		if used[i] {
			bands = append(bands, b)
		}
	}
	if bands = append(bands, others...); len(bands) == 0 {
		bands = landMobile[1:2]
	}
	slices.SortFunc(bands, func(a, b plan.Band) int { return int(a.Low - b.Low) })
	return bands
}

func (l *List) modes() []radio.Mode {
	var modes []radio.Mode
	for _, m := range []radio.Mode{radio.Analog, radio.Digital, radio.Mixed} {
		for _, g := range l.Groups {
			if !slices.Contains(modes, m) && slices.ContainsFunc(g.Channels, func(c *Channel) bool { return c.Mode == m }) {
				modes = append(modes, m)
			}
		}
	}
	return modes
}

func (w *writer) tones() {
	for i, t := range w.list.Tones {
		if i == 0 {
			w.Line("")
			w.Comment("Numbered transmit tones.")
		}
		w.Line("[[tone]]")
		w.Line("number = %d", t.Number)
		w.Line("hz     = %s", t.Value.TOML())
	}
}

func (w *writer) sites() {
	for i, s := range w.list.Sites {
		w.Line("")
		if i == 0 {
			w.Comment("Repeater sites, and the tone that opens each.")
		}
		w.Line("[[site]]")
		w.Line("name        = %s", tomlfile.Quote(s.Name))
		open := func(key string) bool {
			for _, o := range s.Open {
				if o.Key != key {
					continue
				}
				value := `"DECIDE"`
				if key == "channels" {
					value = `["DECIDE"]`
				}
				w.undecided(s.At, "site %s: %s: %s", s.Name, key, o.Why)
				w.Line("%-11s = %s   # %s", key, value, tomlfile.OneLine(o.Why))
				return true
			}
			return false
		}
		switch {
		case open("tone"):
		case s.ToneNumber > 0:
			w.Line("tone        = %d", s.ToneNumber)
		default:
			w.Line("tone        = %s", s.Tone.TOML())
		}
		for _, k := range []struct {
			key   string
			value *float64
		}{{"latitude", s.Latitude}, {"longitude", s.Longitude}, {"elevation_m", s.Elevation}} {
			if !open(k.key) && k.value != nil {
				v := strconv.FormatFloat(*k.value, 'f', -1, 64)
				if k.key != "elevation_m" && !strings.Contains(v, ".") {
					v += ".0"
				}
				w.Line("%-11s = %s", k.key, v)
			}
		}
		if !open("channels") {
			w.Line("channels    = [%s]", tomlfile.QuoteList(s.Channels))
		}
	}
}

// pairs are the keys of a channel in their order, and which of them stand below
// each other in all lines of a group.
var pairs = []struct {
	key     string
	aligned bool
}{
	{"number", true}, {"name", true}, {"use", true}, {"rx", true}, {"tx", true}, {"rx_tone", true}, {"tx_tone", true},
	{"system", false}, {"talkgroup", false}, {"mode", false}, {"width", false}, {"receive_only", false}, {"edition_mark", false}, {"remarks", false},
}

// group writes a channel a line, its keys below each other where most have them.
func (w *writer) group(g *Group) {
	w.Line("")
	w.Line("")
	if g.From != "" {
		w.Comment("Group %d, %s: %s.", g.Number, plural(len(g.Channels), "channel", "channels"), "its name is from "+g.From)
	}
	w.Line("[[group]]")
	w.Line("number = %d", g.Number)
	w.Line("name   = %s", tomlfile.Quote(g.Name))
	w.Line("channel = [")
	rows := make([]map[string]string, len(g.Channels))
	widths := map[string]int{}
	for i, c := range g.Channels {
		rows[i] = c.values()
		for k, v := range rows[i] {
			widths[k] = max(widths[k], utf8.RuneCountInString(v))
		}
	}
	section := ""
	for i, c := range g.Channels {
		if c.section != section {
			section = c.section
			w.Line("  # %s", tomlfile.OneLine(section))
		}
		var line strings.Builder
		for _, p := range pairs {
			v, ok := rows[i][p.key]
			size := widths[p.key]
			switch {
			case !ok && p.aligned && size > 0:
				line.WriteString(strings.Repeat(" ", len(p.key)+len(" = , ")+size))
			case !ok:
			case p.aligned && p.key == "number":
				fmt.Fprintf(&line, "%s = %*s, ", p.key, size, v)
			case p.aligned:
				fmt.Fprintf(&line, "%s = %s,%s ", p.key, v, strings.Repeat(" ", size-utf8.RuneCountInString(v)))
			default:
				fmt.Fprintf(&line, "%s = %s, ", p.key, v)
			}
		}
		text := strings.TrimRight(line.String(), " ")
		text = strings.TrimSuffix(text, ",")
		why := ""
		for _, o := range c.Open {
			w.undecided(c.At, "%s: %s: %s", c.called(), o.Key, o.Why)
			why += "; " + o.Key + ": " + o.Why
		}
		if why != "" {
			why = "  # DECIDE " + tomlfile.OneLine(strings.TrimPrefix(why, "; "))
		}
		w.Line("  {%s},%s", text, why)
	}
	w.Line("]")
}

// called is a channel in a message.
func (c *Channel) called() string {
	if c.Name != "" {
		return c.Name
	}
	return c.At.String()
}

// values are the keys of a channel as TOML has them.
func (c *Channel) values() map[string]string {
	v := map[string]string{"number": strconv.Itoa(c.Number), "name": tomlfile.Quote(c.Name), "use": tomlfile.Quote(c.Use.String())}
	if c.Talkgroup != "" {
		v["system"], v["talkgroup"] = tomlfile.Quote(c.System), tomlfile.Quote(c.Talkgroup)
	} else {
		v["rx"] = c.Rx.String()
		if c.Tx != c.Rx {
			v["tx"] = c.Tx.String()
		}
		for key, s := range map[string]radio.Squelch{"rx_tone": c.RxTone, "tx_tone": c.TxTone} {
			if !s.IsZero() {
				v[key] = s.TOML()
			}
		}
	}
	if c.Mode != radio.Analog {
		v["mode"] = tomlfile.Quote(c.Mode.String())
	}
	if c.Width != radio.Narrow {
		v["width"] = tomlfile.Quote(c.Width.String())
	}
	if c.ReceiveOnly {
		v["receive_only"] = "true"
	}
	if c.Edition {
		v["edition_mark"] = "true"
	}
	if c.Remarks != "" {
		v["remarks"] = tomlfile.Quote(c.Remarks)
	}
	for _, o := range c.Open {
		v[o.Key] = `"` + Decide + `"`
		switch o.Key { // a text of any kind would be taken there
		case "name", "system":
			v[o.Key] = `""`
		case "use":
		}
	}
	return v
}
