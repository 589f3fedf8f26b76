package build

import (
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"slotcard/plan"
	"slotcard/plan/edit"
	"slotcard/plan/radio"
	"slotcard/plan/tomlfile"
)

// LoadWork is a load that is being changed, a channel at a time. Channels are counted
// from 0, in the order of the file.
type LoadWork struct {
	name string
	text []byte
	load *plan.Load // what the file itself says: an absent tx is 0
	file *tomlfile.File
}

// OpenLoad begins to change a load. A text that cannot be read to its end is an error:
// what is wrong with it must be corrected first.
func OpenLoad(name string, text []byte) (*LoadWork, error) {
	w := &LoadWork{name: name}
	if err := w.read(text); err != nil {
		return nil, err
	}
	return w, nil
}

func (w *LoadWork) read(text []byte) error {
	l := new(plan.Load)
	file, _ := tomlfile.Decode(w.name, text, l)
	if file == nil || file.Broken() {
		return errors.New("the file has lines that cannot be read: correct them first, at the findings")
	}
	for _, g := range l.Groups {
		for _, c := range g.Channels {
			c.Group = g
		}
	}
	w.text, w.load, w.file = text, l, file
	return nil
}

// Text is the file as it is now.
func (w *LoadWork) Text() []byte { return w.text }

// Load is what the file itself says now, without what follows from it.
func (w *LoadWork) Load() *plan.Load { return w.load }

func (w *LoadWork) change(gather func(e *edit.Editor)) error {
	e := edit.Open(w.file)
	gather(e)
	text, err := e.Text()
	if err != nil {
		return err
	}
	return w.read(decided(w.text, text))
}

// ChannelText is a channel as a person types it into fields. An empty tx is the
// receive frequency, an empty tone none; "tone 4" is a numbered tone of the load.
type ChannelText struct {
	Number, Name, Use        string
	Rx, Tx, RxTone, TxTone   string
	Mode, Width, Remarks     string
	System, Talkgroup        string
	ReceiveOnly, EditionMark bool
}

// TextOf is a channel as it would be typed.
func TextOf(c *plan.Channel) ChannelText {
	t := ChannelText{
		Number: strconv.Itoa(c.Number), Name: c.Name, Use: c.Use.String(), Mode: c.Mode.String(), Width: c.Width.String(),
		Remarks: c.Remarks, System: c.System, Talkgroup: c.Talkgroup, ReceiveOnly: c.ReceiveOnly, EditionMark: c.EditionMark,
	}
	mhz := func(key string, h radio.Hertz) string {
		if h == 0 || !c.Has(key) {
			return ""
		}
		return h.String()
	}
	tone := func(s radio.Squelch) string {
		if s.IsZero() {
			return ""
		}
		return s.String()
	}
	t.Rx, t.Tx, t.RxTone, t.TxTone = mhz("rx", c.Rx), mhz("tx", c.Tx), tone(c.RxTone), tone(c.TxTone)
	return t
}

// channelKeys are the keys of a channel, in the order in which a new one has them.
var channelKeys = []string{"number", "name", "use", "rx", "tx", "rx_tone", "tx_tone", "mode", "width", "receive_only", "edition_mark", "system", "talkgroup", "remarks"}

// typed are the values of keys; what is left out of the file is not there.
type typed map[string]any

// values reads what was typed. An error is a sentence for the person who typed it.
func (w *LoadWork) values(t ChannelText) (typed, error) {
	v := typed{}
	text := func(key, s string) {
		if s = clean(s); s != "" {
			v[key] = s
		}
	}
	n, err := strconv.Atoi(clean(t.Number))
	if err != nil || n < 1 {
		return nil, errors.New("the channel number is a whole number, such as 7")
	}
	v["number"] = n
	if text("name", t.Name); v["name"] == nil {
		return nil, errors.New("a channel needs a display name: what the radio shows")
	}
	use, ok := radio.ParseUse(clean(t.Use))
	if !ok {
		return nil, fmt.Errorf("say what %s is used for: %s", v["name"], strings.Join(radio.UseNames(), ", "))
	}
	v["use"] = use
	text("remarks", t.Remarks)
	text("system", t.System)
	text("talkgroup", t.Talkgroup)
	if mode, ok := radio.ParseMode(clean(t.Mode)); ok && mode != radio.Analog {
		v["mode"] = mode
	}
	if width, ok := radio.ParseWidth(clean(t.Width)); ok && width != radio.Narrow {
		v["width"] = width
	}
	if t.ReceiveOnly {
		v["receive_only"] = true
	}
	if t.EditionMark {
		v["edition_mark"] = true
	}
	for _, f := range []struct{ key, text, title string }{{"rx", t.Rx, "the receive frequency"}, {"tx", t.Tx, "the transmit frequency"}} {
		s := clean(f.text)
		if s == "" {
			continue
		}
		h, err := radio.ParseMHz(strings.Replace(s, ",", ".", 1))
		if err != nil {
			return nil, fmt.Errorf("%s %q %w: write MHz, such as 154.2800", f.title, s, err)
		}
		v[f.key] = h
	}
	for _, f := range []struct{ key, text, title string }{{"rx_tone", t.RxTone, "the receive tone"}, {"tx_tone", t.TxTone, "the transmit tone"}} {
		s, err := w.tone(clean(f.text))
		switch {
		case err != nil:
			return nil, fmt.Errorf("%s %q %w", f.title, clean(f.text), err)
		case s == radio.Site && f.key == "rx_tone":
			return nil, errors.New(`"site" is a transmit tone: the incident chooses the repeater that it opens`)
		case !s.IsZero():
			v[f.key] = s
		}
	}
	switch trunked := v["system"] != nil || v["talkgroup"] != nil; {
	case trunked && (v["system"] == nil || v["talkgroup"] == nil):
		return nil, errors.New("a talkgroup needs its system and its talkgroup")
	case trunked && (v["rx"] != nil || v["tx"] != nil || v["rx_tone"] != nil || v["tx_tone"] != nil):
		return nil, errors.New("a talkgroup has no frequencies and tones of its own: leave those empty, or system and talkgroup")
	case !trunked && v["rx"] == nil:
		return nil, fmt.Errorf("%s needs a receive frequency, such as 154.2800", v["name"])
	}
	return v, nil
}

// tone reads a tone as people say it.
func (w *LoadWork) tone(s string) (radio.Squelch, error) {
	switch low := strings.ToLower(s); {
	case s == "" || radio.NoTone(s):
		return radio.Squelch{}, nil
	case low == "site":
		return radio.Site, nil
	case strings.HasPrefix(low, "tone "):
		n, err := strconv.Atoi(strings.TrimSpace(low[len("tone "):]))
		i := slices.IndexFunc(w.load.Tones, func(t *plan.Tone) bool { return t.Number == n })
		if err != nil || i < 0 {
			return radio.Squelch{}, errors.New("is no numbered tone of this load")
		}
		return w.load.Tones[i].Hz, nil
	}
	return radio.ParseSquelch(strings.ToUpper(s))
}

// valuesOf are the values that a channel has in the file.
func valuesOf(c *plan.Channel) typed {
	v := typed{"number": c.Number, "name": c.Name, "use": c.Use}
	for _, p := range []struct {
		key  string
		is   bool
		what any
	}{
		{"rx", c.Rx != 0 && c.Has("rx"), c.Rx}, {"tx", c.Tx != 0 && c.Has("tx"), c.Tx},
		{"rx_tone", !c.RxTone.IsZero(), c.RxTone}, {"tx_tone", !c.TxTone.IsZero(), c.TxTone},
		{"mode", c.Mode != radio.Analog, c.Mode}, {"width", c.Width != radio.Narrow, c.Width},
		{"receive_only", c.ReceiveOnly, true}, {"edition_mark", c.EditionMark, true},
		{"system", c.System != "", c.System}, {"talkgroup", c.Talkgroup != "", c.Talkgroup}, {"remarks", c.Remarks != "", c.Remarks},
	} {
		if p.is {
			v[p.key] = p.what
		}
	}
	return v
}

// written is a value as it goes into the file.
func written(v any) any {
	switch v := v.(type) {
	case radio.Use:
		return v.String()
	case radio.Mode:
		return v.String()
	case radio.Width:
		return v.String()
	}
	return v
}

// channel is channel n with its group.
func (w *LoadWork) channel(n int) (c *plan.Channel, i int, err error) {
	all := w.load.Channels()
	if err := place(n, len(all), "channel"); err != nil {
		return nil, 0, err
	}
	c = all[n]
	return c, slices.Index(c.Group.Channels, c), nil
}

// programming is what a channel puts into a radio, with an absent tx as rx.
func programming(c *plan.Channel) plan.Programming {
	p := c.Programming()
	if p.Tx == 0 {
		p.Tx = p.Rx
	}
	return p
}

// Twins are how many places of the load hold what channel n programs, its own among
// them.
func (w *LoadWork) Twins(n int) int { return len(w.twins(n)) }

func (w *LoadWork) twins(n int) (all []*plan.Channel) {
	c, _, err := w.channel(n)
	if err != nil {
		return nil
	}
	for _, o := range w.load.Channels() {
		if o == c || programming(o) == programming(c) {
			all = append(all, o)
		}
	}
	return all
}

// SetChannel says what channel n is; only what differs is written. With everywhere, it
// is said of all places that program the same, but for the number. Sites that repeat
// the channel follow its name.
func (w *LoadWork) SetChannel(n int, t ChannelText, everywhere bool) error {
	c, _, err := w.channel(n)
	if err != nil {
		return err
	}
	now, err := w.values(t)
	if err != nil {
		return err
	}
	was, name := valuesOf(c), c.Name
	if now["tx"] == now["rx"] && !c.Has("tx") {
		delete(now, "tx") // a direct channel is written with rx alone
	}
	places := []*plan.Channel{c}
	if everywhere {
		places = w.twins(n)
	}
	return w.change(func(e *edit.Editor) {
		for _, key := range channelKeys {
			if was[key] == now[key] {
				continue
			}
			for _, o := range places {
				switch value, is := now[key]; {
				case key == "number" && o != c:
				case is:
					e.Set(o.Table, key, written(value))
				case o.Has(key):
					e.Delete(o.Table, key)
				}
			}
		}
		if to := now["name"].(string); to != name {
			w.renameAtSites(e, name, to, places)
		}
	})
}

// renameAtSites writes a new display name where sites name the old one. Where another
// channel keeps that, both stand there.
func (w *LoadWork) renameAtSites(e *edit.Editor, was, is string, places []*plan.Channel) {
	kept := w.named(was, places)
	for _, s := range w.load.Sites {
		i := slices.Index(s.Channels, was)
		switch {
		case i < 0 || slices.Contains(s.Channels, is):
		case kept:
			e.AddItem(s.Table, "channels", is)
		default:
			e.SetItem(s.Table, "channels", i, is)
		}
	}
}

// named tells whether a channel beside some has a display name.
func (w *LoadWork) named(name string, beside []*plan.Channel) bool {
	return slices.ContainsFunc(w.load.Channels(), func(o *plan.Channel) bool { return o.Name == name && !slices.Contains(beside, o) })
}

// DeleteChannel takes channel n out of the load, and its name out of the sites that
// repeat it where no other channel has it.
func (w *LoadWork) DeleteChannel(n int) error {
	c, i, err := w.channel(n)
	if err != nil {
		return err
	}
	if len(c.Group.Channels) == 1 {
		return fmt.Errorf("%s is the only channel of its group: a group holds at least one; change it instead", c.Name)
	}
	return w.change(func(e *edit.Editor) {
		if c.Form() == tomlfile.InBraces {
			e.DeleteItem(c.Group.Table, "channel", i)
		} else {
			e.DeleteTable(c.Table)
		}
		if w.named(c.Name, []*plan.Channel{c}) {
			return
		}
		for _, s := range w.load.Sites {
			if k := slices.Index(s.Channels, c.Name); k >= 0 {
				e.DeleteItem(s.Table, "channels", k)
			}
		}
	})
}

// MoveChannel puts channel n where channel to stands in its group, in the file and on
// the radio: the numbers stay where they were, and the channels between move up or
// down.
func (w *LoadWork) MoveChannel(n, to int) error {
	c, i, err := w.channel(n)
	if err != nil {
		return err
	}
	g := slices.Index(w.load.Groups, c.Group)
	all := c.Group.Channels
	k := i + to - n
	if k < 0 || k >= len(all) || k == i {
		return nil // it is the first or last of its group
	}
	numbers := make([]int, len(all))
	for j, o := range all {
		numbers[j] = o.Number
	}
	before := *w
	err = w.change(func(e *edit.Editor) {
		switch {
		case c.Form() == tomlfile.InBraces:
			e.MoveItem(c.Group.Table, "channel", i, k)
		case k < i:
			e.MoveBefore(c.Table, all[k].Table)
		default:
			e.MoveAfter(c.Table, all[k].Table)
		}
	})
	if err == nil {
		err = w.change(func(e *edit.Editor) {
			for j, o := range w.load.Groups[g].Channels {
				if o.Number != numbers[j] {
					e.Set(o.Table, "number", numbers[j])
				}
			}
		})
	}
	if err != nil {
		*w = before
	}
	return err
}

// FreeNumber is the lowest channel number of group g, from 0, that no channel has.
func (w *LoadWork) FreeNumber(g int) int {
	n := 1
	for g >= 0 && g < len(w.load.Groups) && slices.ContainsFunc(w.load.Groups[g].Channels, func(c *plan.Channel) bool { return c.Number == n }) {
		n++
	}
	return n
}

// AddChannel adds a channel to group g, from 0, where its number belongs, and tells
// which it is then.
func (w *LoadWork) AddChannel(g int, t ChannelText) (int, error) {
	if err := place(g, len(w.load.Groups), "group"); err != nil {
		return 0, err
	}
	now, err := w.values(t)
	if err != nil {
		return 0, err
	}
	group := w.load.Groups[g]
	if now["tx"] == now["rx"] {
		delete(now, "tx")
	}
	var keys tomlfile.Pairs
	for _, key := range channelKeys {
		if value, is := now[key]; is {
			keys = append(keys, tomlfile.Pair{Key: key, Value: written(value)})
		}
	}
	at := 0 // in the group
	for i, c := range group.Channels {
		if c.Number == now["number"] {
			return 0, fmt.Errorf("channel %d of group %d is %s already: give another number", c.Number, group.Number, c.Name)
		}
		if c.Number < now["number"].(int) {
			at = i + 1
		}
	}
	before := *w
	err = w.change(func(e *edit.Editor) {
		table := edit.Table{Header: "[[group.channel]]", Keys: keys}
		switch braces := len(group.Channels) > 0 && group.Channels[0].Form() == tomlfile.InBraces; {
		case braces || len(group.Channels) == 0 && group.Has("channel"):
			e.AddItem(group.Table, "channel", keys)
		case at > 0:
			e.InsertAfter(group.Channels[at-1].Table, table)
		case len(group.Channels) > 0:
			e.InsertBefore(group.Channels[0].Table, table)
		default:
			e.InsertAfter(group.Table, table)
		}
	})
	if last := len(group.Channels); err == nil && last > 0 && at < last && group.Channels[0].Form() == tomlfile.InBraces {
		err = w.change(func(e *edit.Editor) { e.MoveItem(w.load.Groups[g].Table, "channel", last, at) })
	}
	if err != nil {
		*w = before
		return 0, err
	}
	n := at
	for _, o := range w.load.Groups[:g] {
		n += len(o.Channels)
	}
	return n, nil
}

// AboutText is what a load says of itself, as a person types it into fields. Days are
// such as 2027-03-01.
type AboutText struct {
	Name, Edition, Color, Effective, Expires, Positions string
	Exercise                                            bool
}

// About is what the load says of itself now; what is still to be decided is "".
func (w *LoadWork) About() AboutText {
	a := w.load.About
	day := func(d plan.Date) string {
		if d == (plan.Date{}) {
			return ""
		}
		return d.String()
	}
	t := AboutText{Name: a.Name, Edition: a.Edition, Color: a.Colour, Effective: day(a.Effective), Expires: day(a.Expires), Exercise: a.Exercise}
	if n := w.load.Radio.ListPositions; n > 0 {
		t.Positions = strconv.Itoa(n)
	}
	return t
}

// SetAbout says which load it is, and how many positions a list has; only what differs
// is written.
func (w *LoadWork) SetAbout(t AboutText) error {
	was := w.About()
	color := "color"
	if w.load.About.Has("colour") {
		color = "colour"
	}
	for _, d := range []struct{ title, is string }{{"the first day", t.Effective}, {"the last day", t.Expires}} {
		if _, err := time.Parse(time.DateOnly, clean(d.is)); err != nil {
			return fmt.Errorf("%s %q is no day: write it such as 2027-03-01", d.title, clean(d.is))
		}
	}
	n, err := strconv.Atoi(clean(t.Positions))
	if err != nil || n < 1 || n > 1000 {
		return errors.New("the positions of a list are a number from 1 to 1000, such as 16")
	}
	for _, s := range []struct{ title, is string }{{"whose load it is", t.Name}, {"the edition", t.Edition}, {"the color of the label", t.Color}} {
		if clean(s.is) == "" {
			return fmt.Errorf("say %s", s.title)
		}
	}
	return w.change(func(e *edit.Editor) {
		for _, f := range []struct {
			key, was, is string
			value        any
		}{
			{"name", was.Name, clean(t.Name), clean(t.Name)}, {"edition", was.Edition, clean(t.Edition), clean(t.Edition)}, {color, was.Color, clean(t.Color), clean(t.Color)},
			{"effective", was.Effective, clean(t.Effective), edit.Raw(clean(t.Effective))}, {"expires", was.Expires, clean(t.Expires), edit.Raw(clean(t.Expires))},
		} {
			if f.was != f.is {
				e.Set(w.load.About.Table, f.key, f.value)
			}
		}
		if was.Exercise != t.Exercise {
			put(e, w.load.About.Table, "exercise", t.Exercise)
		}
		if was.Positions != clean(t.Positions) {
			e.Set(w.load.Radio.Table, "list_positions", n)
		}
	})
}

// decided takes the remark "DECIDE" of a draft off lines in which somebody has decided.
func decided(before, after []byte) []byte {
	known := map[string]bool{}
	for line := range strings.SplitSeq(string(before), "\n") {
		known[line] = true
	}
	lines := strings.Split(string(after), "\n")
	for i, line := range lines {
		code, remark, found := strings.Cut(line, "  # DECIDE")
		if found && !known[line] && strings.TrimSpace(code) != "" && !strings.Contains(code, `"DECIDE"`) && !strings.Contains(code, `""`) {
			lines[i] = strings.TrimRight(code, " ")
			if strings.HasSuffix(remark, "\r") {
				lines[i] += "\r"
			}
		}
	}
	return []byte(strings.Join(lines, "\n"))
}
