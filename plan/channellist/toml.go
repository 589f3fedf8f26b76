package channellist

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"slotcard/plan"
	"slotcard/plan/cells"
	"slotcard/plan/radio"
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
	list  *List
	b     strings.Builder
	lines int
	open  []Undecided
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
	return &Draft{[]byte(w.b.String()), w.open}
}

func (w *writer) line(format string, args ...any) {
	w.b.WriteString(strings.TrimRight(fmt.Sprintf(format, args...), " "))
	w.b.WriteByte('\n')
	w.lines++
}

// comment writes a comment; nothing out of a sheet can end it.
func (w *writer) comment(format string, args ...any) {
	w.line("# %s", cells.OneLine(fmt.Sprintf(format, args...)))
}

// undecided notes that something on the line that is written next is for a person.
func (w *writer) undecided(at Place, format string, args ...any) {
	w.open = append(w.open, Undecided{w.lines + 1, at, fmt.Sprintf(format, args...)})
}

// top says where the load comes from.
func (w *writer) top() {
	w.comment("A load, made by \"slotcard import\" from")
	for _, s := range w.list.Sources {
		rows := 0
		for _, t := range w.list.Tables {
			if t.At.File == s.Name {
				rows += t.Rows
			}
		}
		w.comment("  %s: %s read; SHA-256 %s", s.Name, plural(rows, "row", "rows"), s.Sum)
	}
	w.comment("Proofread it against the sheet. Where it says DECIDE, a person must; slotcard check")
	w.comment("points there, too.")
}

func plural(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}

func (w *writer) about(a Answers) {
	w.line("")
	w.line("[load]")
	text := func(key, value, what string) {
		if value == "" {
			w.undecided(Place{Column: -1}, "%s: %s", key, what)
			w.line("%-9s = \"\"            # DECIDE: %s", key, what)
			return
		}
		w.line("%-9s = %s", key, quote(value))
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
			w.line("%-9s = \"DECIDE\"      # %s", d.key, d.what)
			continue
		}
		w.line("%-9s = %s", d.key, d.value)
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
	w.comment("DECIDE: write %s", what)
}

func (w *writer) radio(a Answers) {
	w.line("")
	w.line("[radio]")
	if a.ListPositions > 0 {
		w.line("list_positions = %d", a.ListPositions)
	} else {
		const what = "positions in a list that a user can build, a number without quotes"
		w.undecided(Place{Column: -1}, "list_positions: %s", what)
		w.line("list_positions = \"DECIDE\"  # %s", what)
	}
	if a.NameLength > 0 {
		w.line("name_length    = %d", a.NameLength)
	} else {
		w.line("name_length    = %-8d  # the longest display name of the list; write what the radio shows", max(w.list.longestName(), 1))
	}
	bands, note := a.Bands, ""
	if len(bands) == 0 {
		bands, note = w.list.bands(), "  # MHz, those that the list uses; write what the radio can do"
	}
	parts := make([]string, len(bands))
	for i, b := range bands {
		parts[i] = fmt.Sprintf("[%s, %s]", megahertz(b.Low), megahertz(b.High))
	}
	w.line("bands          = [%s]%s", strings.Join(parts, ", "), note)
	modes, note := a.Modes, ""
	if len(modes) == 0 {
		modes, note = w.list.modes(), "  # those that the list uses"
	}
	parts = nil
	for _, m := range modes {
		parts = append(parts, quote(m.String()))
	}
	w.line("modes          = [%s]%s", strings.Join(parts, ", "), note)
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
			w.line("")
			w.comment("Numbered transmit tones.")
		}
		w.line("[[tone]]")
		w.line("number = %d", t.Number)
		w.line("hz     = %s", squelch(t.Value))
	}
}

// squelch is a value as TOML has it.
func squelch(s radio.Squelch) string {
	if s.Kind == radio.CTCSS {
		return s.String()
	}
	return quote(s.String())
}

func (w *writer) sites() {
	for i, s := range w.list.Sites {
		w.line("")
		if i == 0 {
			w.comment("Repeater sites, and the tone that opens each.")
		}
		w.line("[[site]]")
		w.line("name        = %s", quote(s.Name))
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
				w.line("%-11s = %s   # %s", key, value, cells.OneLine(o.Why))
				return true
			}
			return false
		}
		switch {
		case open("tone"):
		case s.ToneNumber > 0:
			w.line("tone        = %d", s.ToneNumber)
		default:
			w.line("tone        = %s", squelch(s.Tone))
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
				w.line("%-11s = %s", k.key, v)
			}
		}
		if !open("channels") {
			quoted := make([]string, len(s.Channels))
			for i, c := range s.Channels {
				quoted[i] = quote(c)
			}
			w.line("channels    = [%s]", strings.Join(quoted, ", "))
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
	w.line("")
	w.line("")
	if g.From != "" {
		w.comment("Group %d, %s: %s.", g.Number, plural(len(g.Channels), "channel", "channels"), "its name is from "+g.From)
	}
	w.line("[[group]]")
	w.line("number = %d", g.Number)
	w.line("name   = %s", quote(g.Name))
	w.line("channel = [")
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
			w.line("  # %s", cells.OneLine(section))
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
			why = "  # DECIDE " + cells.OneLine(strings.TrimPrefix(why, "; "))
		}
		w.line("  {%s},%s", text, why)
	}
	w.line("]")
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
	v := map[string]string{"number": strconv.Itoa(c.Number), "name": quote(c.Name), "use": quote(c.Use.String())}
	if c.Talkgroup != "" {
		v["system"], v["talkgroup"] = quote(c.System), quote(c.Talkgroup)
	} else {
		v["rx"] = c.Rx.String()
		if c.Tx != c.Rx {
			v["tx"] = c.Tx.String()
		}
		for key, s := range map[string]radio.Squelch{"rx_tone": c.RxTone, "tx_tone": c.TxTone} {
			if !s.IsZero() {
				v[key] = squelch(s)
			}
		}
	}
	if c.Mode != radio.Analog {
		v["mode"] = quote(c.Mode.String())
	}
	if c.Width != radio.Narrow {
		v["width"] = quote(c.Width.String())
	}
	if c.ReceiveOnly {
		v["receive_only"] = "true"
	}
	if c.Edition {
		v["edition_mark"] = "true"
	}
	if c.Remarks != "" {
		v["remarks"] = quote(c.Remarks)
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

// quote is a TOML basic string.
func quote(s string) string {
	var b strings.Builder
	b.WriteByte('"')
	for _, r := range s {
		switch {
		case r == '"' || r == '\\':
			b.WriteByte('\\')
			b.WriteRune(r)
		case r < ' ' || r == 0x7f:
			fmt.Fprintf(&b, `\u%04X`, r)
		default:
			b.WriteRune(r)
		}
	}
	b.WriteByte('"')
	return b.String()
}
