package sheet

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"unicode"

	"slotcard/plan"
	"slotcard/plan/finding"
	"slotcard/plan/radio"
	"slotcard/plan/tomlfile"
)

// slot is a row looked up, or what is to be decided about it.
type slot struct {
	row   Row
	use   radio.Use // 0: not known
	keys  []keyValue
	notes []string
	open  []question

	notRead []Cell
	byPlace bool // group and channel number led to the channel
}

type keyValue struct{ key, value string }

type question struct {
	what    string
	choices []Choice
}

// says is a choice that names no channel to take.
func says(text string) Choice { return Choice{Says: text} }

// take is a choice of a channel.
func take(c *plan.Channel, text string) Choice { return Choice{Says: text, Channel: c} }

func (s *slot) set(key, value string) { s.keys = append(s.keys, keyValue{key, value}) }

func (s *slot) note(format string, args ...any) {
	s.notes = append(s.notes, fmt.Sprintf(format, args...))
}

func (s *slot) ask(what string, choices ...Choice) {
	s.open = append(s.open, question{what, choices})
}

// numbers are what a row says about the programming of a channel.
type numbers struct {
	rx, tx         radio.Hertz // 0: not said
	rxTone, txTone toneCell
	rxSquelch      radio.Squelch
	txSquelch      radio.Squelch
	mode           radio.Mode
	modeSaid       bool
	width          radio.Width
	widthSaid      bool
}

// slot looks a row up. Where the row does not lead to just one channel of the
// load, the slot is written so that the checks object:
//
//	not in the load     rx or channel as on the sheet: unknown-channel
//	several matches     rx or channel as on the sheet: ambiguous-channel
//	another tone        rx and the sheet's tones: channel-contradicts
//	name and numbers    both, which a slot cannot have: slot-channel
//	that disagree
//	not readable        the cell in quotes: bad-value
//	no repeater chosen  neither site nor tone: no-site
func (d *drafter) slot(r Row) *slot {
	s := &slot{row: r, use: useOf(r.Function), notRead: slices.Clone(r.NotRead)}
	c := d.channel(s)
	switch {
	case c != nil && s.use == 0:
		s.use = c.Use
		if r.Function != "" {
			s.note("function %s is none of a plan's; the load says %s", r.Function, c.Use)
		}
	case c != nil && s.use != c.Use:
		s.set("use", tomlfile.Quote(s.use.String()))
		s.note("the load says %s", c.Use)
	case c == nil && s.use != 0:
		s.set("use", tomlfile.Quote(s.use.String()))
	case c == nil && r.Function != "":
		s.leave(function)
	}
	d.assign(s)
	if m := onlyIn().FindStringSubmatch(r.Remarks); m != nil {
		var carriers []string
		for _, id := range partsOf().Split(m[1], -1) {
			if v := d.division(id); v != nil {
				v.seen = true
				carriers = append(carriers, tomlfile.Quote(v.id))
			}
		}
		if carriers != nil {
			s.set("carried_by", "["+strings.Join(carriers, ", ")+"]")
		}
	}
	d.leftOver(s, c)
	return s
}

// assign sets the divisions of a slot.
func (d *drafter) assign(s *slot) {
	a := d.assigned(s.row.Assignment)
	s.notes = append(s.notes, a.notes...)
	switch {
	case len(a.ids) > 0:
		s.set("division", idList(a.ids))
	case a.unknown, a.other && slices.ContainsFunc(s.row.cells[assignment], func(c Cell) bool { return namesDivision().MatchString(c.Title) }):
		s.set("division", tomlfile.Quote(s.row.Assignment))
		s.ask("the assignment is not understood: "+s.row.Assignment, says(`write division = "A", or ["A", "B"], with a [[division]] for each, or delete the line for everybody`))
		s.open[len(s.open)-1].choices[0].Division = true
	case a.other:
		s.leave(assignment)
	}
}

// leave shows the cells of a column as not read.
func (s *slot) leave(w what) {
	s.notRead = append(s.notRead, s.row.cells[w]...)
}

// leftOver shows what cells say that did not become part of the slot.
func (d *drafter) leftOver(s *slot, c *plan.Channel) {
	r := s.row
	if _, _, ok := modeOf(r.Mode); !ok {
		s.leave(mode)
	}
	if r.RxWidth != "" && widthOf(r.RxWidth) == "" || r.TxWidth != "" && widthOf(r.TxWidth) == "" {
		s.leave(widths)
	}
	if d.systemOf(r) != "" { // the cells across the frequencies name a system
		for _, w := range []what{frequencies, tones, widths} {
			for _, cell := range r.cells[w] {
				if cell.Text != r.Rx && !carrierWords[strings.ToUpper(cell.Text)] {
					s.notRead = append(s.notRead, cell)
				}
			}
		}
	}
	group, channelNumber, ok := placeOf(r)
	switch {
	case s.byPlace, c != nil && ok && d.standsAt(c, group, channelNumber):
	default:
		if r.Channel != "" && r.Channel != strconv.Itoa(r.position) {
			s.leave(number)
		}
		if r.Zone != "" && !(c != nil && d.inGroup(c, r.Zone)) {
			s.leave(zone)
		}
	}
	if r.Site != "" && !(c != nil && d.namesSite(c, r.Site)) {
		s.leave(site)
	}
	if r.Remarks != "" && !d.remarksUsed(r, c) {
		s.leave(remarks)
	}
	slices.SortStableFunc(s.notRead, func(a, b Cell) int { return a.Column - b.Column })
	s.notRead = slices.Compact(s.notRead)
}

// inGroup tells whether a channel stands in a group of that number or name.
func (d *drafter) inGroup(c *plan.Channel, group string) bool {
	return slices.ContainsFunc(d.all, func(o *plan.Channel) bool {
		return o.Programming() == c.Programming() && (strconv.Itoa(o.Group.Number) == group || plan.Squeeze(o.Group.Name) == plan.Squeeze(group))
	})
}

// namesSite tells whether a text is the name of a site of a channel.
func (d *drafter) namesSite(c *plan.Channel, text string) bool {
	return slices.ContainsFunc(d.load.SitesOf(c), func(s *plan.Site) bool { return plan.Squeeze(s.Name) == plan.Squeeze(text) })
}

// remarksText are remarks as [Write] makes them.
var remarksText = compiled(`(?i)^(?:direct|simplex|repeated|tone \d+|` + onlyInText + `.*)$`)

// remarksUsed tells whether all of a row's remarks are part of the slot, or stand
// in the load.
func (d *drafter) remarksUsed(r Row, c *plan.Channel) bool {
	if c == nil {
		return false
	}
	text := r.Remarks
	if rest, ok := strings.CutSuffix(text, c.Remarks); ok {
		text = rest
	}
	for _, part := range strings.Split(text, ";") {
		part = strings.TrimSpace(part)
		repeated, _ := strings.CutPrefix(strings.ToLower(part), "repeated by ")
		switch {
		case part == "", part == "talkgroup "+c.Talkgroup:
		case remarksText().MatchString(part) && (strings.EqualFold(part, "repeated") == c.Repeated() || strings.Contains(part, " ")):
		case d.namesSite(c, repeated), d.namesSite(c, part):
		default:
			return false
		}
	}
	return true
}

// onlyIn are the divisions that carry a slot, as [Write] puts them.
var onlyIn = compiled(onlyInText + `([^;]+)`)

const onlyInText = "only in the list of "

// channel finds the row's channel and writes the keys that name it. It is nil
// where a person must decide.
func (d *drafter) channel(s *slot) *plan.Channel {
	r := s.row
	n, unread := d.numbers(r)
	byName := d.byName(r)
	if len(unread) > 0 {
		d.unreadable(s, n, unread, byName)
		return nil
	}
	system := d.systemOf(r)
	hasNumbers := n.rx != 0 || n.tx != 0 || n.rxTone.said || n.txTone.said
	byNumbers := []*plan.Channel{}
	if n.rx != 0 {
		byNumbers = plan.DistinctChannels(filter(d.onRx[n.rx], func(c *plan.Channel) bool { return d.misfit(c, n) == "" }))
	}

	var found []*plan.Channel
	switch {
	case len(byName) > 0:
		found = byName
		if hasNumbers {
			found = filter(byName, func(c *plan.Channel) bool { return d.misfit(c, n) == "" })
			if len(found) == 0 {
				d.disagree(s, n, byName, byNumbers)
				return nil
			}
		}
	case n.rx != 0:
		found = byNumbers
		if len(found) == 0 {
			d.nothingOn(s, n)
			return nil
		}
	case r.Name != "" || system != "":
		d.noSuchName(s, system)
		return nil
	case n.tx != 0:
		s.ask("a transmit frequency was read, but no receive frequency and no name", d.onTransmit(n.tx)...)
		s.set("tx", n.tx.String())
		return nil
	default:
		if found = d.byPlace(s, n); found == nil {
			return nil
		}
	}
	c := d.only(s, n, byName, found)
	if c == nil {
		return nil
	}
	d.name(s, c)
	d.differences(s, n, c)
	if r.Name == "" && n.rx != 0 {
		s.note("no name was read on this line: found by its numbers")
	}
	if len(byName) == 0 && r.Name != "" && r.Name != c.Name {
		s.note("the sheet calls it %s: found by its numbers", r.Name)
	} else if r.Name != "" && r.Name != c.Name {
		s.note("the sheet writes %s", r.Name)
	}
	d.repeater(s, n, c)
	if len(s.open) == 0 {
		d.unheard(s, n, c)
	}
	return c
}

// byPlace looks a row up that has nothing but a group and a channel number; none where
// it is left to a person.
func (d *drafter) byPlace(s *slot, n numbers) []*plan.Channel {
	group, number, ok := placeOf(s.row)
	if !ok {
		s.ask("no name and no frequency was read on this line", says(`write channel = "DISPLAY NAME", or rx = 152.4125`))
		return nil
	}
	s.set("group", strconv.Itoa(group))
	s.set("number", strconv.Itoa(number))
	found := d.atPlace(group, number)
	if len(found) == 0 {
		s.ask(fmt.Sprintf("the load has no channel %d in group %d", number, group))
		return nil
	}
	if d.misfit(found[0], n) != "" {
		if n.rxTone.said {
			s.set("rx_tone", n.rxSquelch.TOML())
		}
		if n.txTone.said {
			s.set("tx_tone", n.txSquelch.TOML())
		}
		s.ask("the load's channel there has another tone than the sheet", take(found[0], "the load has "+found[0].String()))
		return nil
	}
	s.keys = nil
	s.byPlace = true
	s.note("%s by its group and channel number alone", found[0])
	return found
}

// only is the one channel of those found that mode, width and place leave; nil where
// that is left to a person.
func (d *drafter) only(s *slot, n numbers, byName, found []*plan.Channel) *plan.Channel {
	fits := filter(found, func(c *plan.Channel) bool {
		return (!n.modeSaid || c.Mode == n.mode) && (!n.widthSaid || c.Trunked() || c.Width == n.width)
	})
	if len(fits) == 0 {
		d.otherMode(s, n, found)
		return nil
	}
	if len(fits) > 1 {
		if group, number, ok := placeOf(s.row); ok {
			here := filter(fits, func(c *plan.Channel) bool { return d.standsAt(c, group, number) })
			if len(here) == 1 {
				s.byPlace = true
				s.note("one of %d that fit: %s, by its group and channel number", len(fits), here[0])
				fits = here
			}
		}
	}
	if len(fits) > 1 {
		d.several(s, n, byName, fits)
		return nil
	}
	return fits[0]
}

// unheard leaves a slot open whose frequency was read, but whose tones may stand
// where they were not: in a table without a column of tones, or in a cell of
// which nothing was made.
func (d *drafter) unheard(s *slot, n numbers, c *plan.Channel) {
	what := ""
	for _, cell := range s.row.NotRead {
		k := d.kindOf(cell.Text)
		if k&(isTone|maybeTone) != 0 && !(n.rxTone.said && n.txTone.said) || k&isFrequency != 0 && n.rx != 0 {
			what = fmt.Sprintf("not known what this says: %s (%s)", cell.Text, cell.of())
		}
	}
	if what == "" && s.row.toneless && n.rx != 0 && !n.rxTone.said && !n.txTone.said && !c.Trunked() && !(c.RxTone.IsZero() && c.TxTone.IsZero()) {
		what = "no column of tones was recognized on the sheet"
		if s.row.byLine {
			what = "no tone was read on this line"
		}
	}
	choices := []Choice{take(c, "the load has "+c.String()+": where that is right, delete the line rx")}
	if said := unused(s.row); said != "" {
		what, choices = "the sheet may say that it is not used: "+said, []Choice{take(c, "where it is not, delete the slot; where it is, delete the line rx")}
	}
	if what == "" {
		return
	}
	s.ask(what, choices...)
	if c.Trunked() {
		s.set("rx", tomlfile.Quote(cmp.Or(s.row.Rx, s.row.Name)))
		return
	}
	s.set("rx", c.Rx.String())
}

var (
	turnedText = compiled(`(?i)\b(?:do not|don['’]?t|not|never|no longer|avoid|stay off|instead of|out of service|cancel\w*|was|formerly|old|dropped)\b`)
	unusedText = compiled(`(?i)^\W*(?:do not use|don['’]?t use|not (?:in use|used|active)|unused|inactive|out of service|cancel\w*|dropped)\W*$`)
)

// unused is what a row says about not using its channel: of a line of text any
// word that may turn its meaning around, of a table a cell that says no more.
func unused(r Row) string {
	if r.byLine {
		if text := r.Cells[0].Text; turnedText().MatchString(text) {
			return text
		}
		return ""
	}
	for _, c := range r.Cells {
		if unusedText().MatchString(c.Text) {
			return c.Text
		}
	}
	return ""
}

// name writes the keys that name a channel: its display name, or, where the load
// has others of that name, its place.
func (d *drafter) name(s *slot, c *plan.Channel) {
	if len(plan.DistinctChannels(d.where(func(o *plan.Channel) bool { return o.Name == c.Name }))) > 1 {
		s.set("group", strconv.Itoa(c.Group.Number))
		s.set("number", strconv.Itoa(c.Number))
		s.note("%s: the load has other channels of this name", c)
		return
	}
	s.set("channel", tomlfile.Quote(c.Name))
}

// numbers reads the cells of a row. Those that cannot be read are returned by
// their key.
func (f *finder) numbers(r Row) (n numbers, unread []keyValue) {
	bad := func(key, cell string) { unread = append(unread, keyValue{key, tomlfile.Quote(cell)}) }
	var ok bool
	n.mode, n.modeSaid, ok = modeOf(r.Mode)
	if !ok {
		n.modeSaid = false
	}
	if f.systemOf(r) != "" {
		return n, nil
	}
	var rxWidth, txWidth string
	if n.rx, rxWidth, ok = frequency(r.Rx); !ok {
		bad("rx", r.Rx)
	}
	if n.tx, txWidth, ok = frequency(r.Tx); !ok && !carrierWords[strings.ToUpper(r.Tx)] {
		bad("tx", r.Tx)
	}
	for _, w := range []string{rxWidth, txWidth, r.RxWidth, r.TxWidth} {
		switch w = strings.ToUpper(w); {
		case strings.HasPrefix(w, "W"):
			n.width, n.widthSaid = radio.Wide, true
		case strings.HasPrefix(w, "N") && !n.widthSaid:
			n.widthSaid = true
		}
	}
	n.rxTone, n.txTone = tone(r.RxTone, n.mode), tone(r.TxTone, n.mode)
	if n.rxSquelch, ok = n.rxTone.in(f.load); n.rxTone.unknown || !ok {
		bad("rx_tone", r.RxTone)
	}
	if n.txSquelch, ok = n.txTone.in(f.load); n.txTone.unknown || !ok {
		bad("tx_tone", r.TxTone)
	}
	return n, unread
}

// systemOf is the trunked system of a row: its own column, or what stands across
// the frequencies (instructions of form ICS 205, memory).
func (f *finder) systemOf(r Row) string {
	if r.System != "" {
		return r.System
	}
	if r.Rx != "" && (f.systems[strings.ToUpper(r.Rx)] || strings.IndexFunc(r.Rx, unicode.IsDigit) < 0 && !carrierWords[strings.ToUpper(r.Rx)]) {
		return r.Rx
	}
	return ""
}

// where are the different channels of the load for which something is true.
func (f *finder) where(is func(*plan.Channel) bool) []*plan.Channel {
	return plan.DistinctChannels(filter(f.all, is))
}

func filter(all []*plan.Channel, is func(*plan.Channel) bool) (some []*plan.Channel) {
	for _, c := range all {
		if is(c) {
			some = append(some, c)
		}
	}
	return some
}

// byName are the channels of a row's name: the display name as it is, else
// without regard to case, spaces and punctuation; of a talkgroup also its name
// in its system.
func (f *finder) byName(r Row) []*plan.Channel {
	if r.Name == "" {
		return nil
	}
	system := f.systemOf(r)
	inSystem := func(c *plan.Channel) bool {
		return system == "" || c.Trunked() && plan.Squeeze(c.System) == plan.Squeeze(system)
	}
	name := plan.Squeeze(r.Name)
	if name == "" {
		return nil
	}
	found := plan.DistinctChannels(filter(f.named[name], inSystem))
	if exact := filter(found, func(c *plan.Channel) bool { return c.Name == r.Name }); len(exact) > 0 {
		return exact
	}
	return found
}

// misfit is the first key in which a channel is not what the row says; "" where
// all is right. It decides as the resolving of a slot does.
func (f *finder) misfit(c *plan.Channel, n numbers) string {
	switch {
	case n.rx != 0 && c.Rx != n.rx:
		return "rx"
	case n.tx != 0 && c.Tx != n.tx:
		return "tx"
	case n.rxTone.said && c.RxTone != n.rxSquelch:
		return "rx_tone"
	case n.txTone.said && c.TxTone != n.txSquelch && !(c.TxTone == radio.Site && f.opens(c, n.txSquelch)):
		return "tx_tone"
	}
	return ""
}

// opens tells whether a tone can be the one that an incident chose.
func (f *finder) opens(c *plan.Channel, tone radio.Squelch) bool {
	sites := f.load.SitesOf(c)
	for _, s := range sites {
		if s.Squelch == tone {
			return true
		}
	}
	return len(sites) == 0 && f.load.ToneNumber(tone) != 0
}

// asWritten writes rx and what stands beside it as on the sheet.
func (s *slot) asWritten(n numbers) {
	s.set("rx", n.rx.String())
	if n.tx != 0 {
		s.set("tx", n.tx.String())
	}
	if n.rxTone.said {
		s.set("rx_tone", n.rxSquelch.TOML())
	}
	if n.txTone.said {
		s.set("tx_tone", n.txSquelch.TOML())
	}
}

func (d *drafter) unreadable(s *slot, n numbers, unread []keyValue, byName []*plan.Channel) {
	var cells []string
	for _, u := range unread {
		cells = append(cells, u.key+" "+u.value)
	}
	isBad := func(key string) bool {
		return slices.ContainsFunc(unread, func(u keyValue) bool { return u.key == key })
	}
	if n.rx == 0 && !isBad("rx") && s.row.Name != "" {
		s.set("channel", tomlfile.Quote(s.row.Name))
	}
	for _, k := range []struct {
		key   string
		said  bool
		value string
	}{{"rx", n.rx != 0, n.rx.String()}, {"tx", n.tx != 0, n.tx.String()},
		{"rx_tone", n.rxTone.said, n.rxSquelch.TOML()}, {"tx_tone", n.txTone.said, n.txSquelch.TOML()}} {
		switch {
		case isBad(k.key):
			s.keys = append(s.keys, unread[slices.IndexFunc(unread, func(u keyValue) bool { return u.key == k.key })])
		case k.said:
			s.set(k.key, k.value)
		}
	}
	var lines []string
	var choices []Choice
	for _, k := range s.keys {
		if k.key != "channel" {
			lines = append(lines, k.key)
		}
	}
	for _, c := range byName {
		choice := fmt.Sprintf("the load has %s: for it write channel = %s", c, tomlfile.Quote(c.Name))
		if len(lines) > 0 {
			choice += " in place of " + strings.Join(lines, ", ")
		}
		choices = append(choices, take(c, choice))
	}
	for _, t := range []toneCell{n.rxTone, n.txTone} {
		if known, ok := t.in(d.load); !ok && !t.value.IsZero() {
			s.note("tone %d of the load is %s, not %s", t.number, known, t.value)
		}
	}
	s.ask("cannot be read: "+strings.Join(cells, ", "), choices...)
}

// nothingOn is a row without a known name whose numbers no channel has.
func (d *drafter) nothingOn(s *slot, n numbers) {
	s.asWritten(n)
	onRx := d.where(func(c *plan.Channel) bool { return c.Rx == n.rx })
	if len(onRx) > 0 {
		d.otherTone(s, n, onRx)
		return
	}
	var choices []Choice
	near := d.load.NearFrequency(n.rx)
	for _, m := range near[:min(4, len(near))] {
		choices = append(choices, take(m.Channel, m.Why+": "+m.Channel.String()))
	}
	choices = append(choices, d.onTransmit(n.rx)...)
	what := "not in the load: " + n.rx.String()
	if name := s.row.Name; name != "" {
		what += ", nor a channel " + tomlfile.Quote(name)
		choices = append(choices, d.closeNames(name)...)
	}
	s.ask(what, choices...)
}

// closeNames are the channels whose name is close to one.
func (f *finder) closeNames(name string) (choices []Choice) {
	var names []string
	for _, c := range f.all {
		if !slices.Contains(names, c.Name) {
			names = append(names, c.Name)
		}
	}
	for _, close := range finding.Closest(name, names, 3) {
		for _, c := range f.where(func(c *plan.Channel) bool { return c.Name == close }) {
			choices = append(choices, take(c, "the name is close: "+c.String()))
		}
	}
	return choices
}

func (f *finder) onTransmit(tx radio.Hertz) (choices []Choice) {
	for _, c := range f.where(func(c *plan.Channel) bool { return c.Tx == tx && c.Rx != tx }) {
		choices = append(choices, take(c, "it is the transmit frequency of "+c.String()))
	}
	return choices
}

// otherTone is a row on whose receive frequency channels stand, but none with
// its transmit frequency and tones.
func (d *drafter) otherTone(s *slot, n numbers, onRx []*plan.Channel) {
	key := d.misfit(onRx[0], n)
	what := map[string]string{"tx": "transmit frequency differs from the load's", "rx_tone": "receive tone differs from the load's",
		"tx_tone": "transmit tone differs from the load's"}[key]
	var choices []Choice
	for _, c := range onRx {
		choices = append(choices, take(c, "the load has "+c.String()))
		choices = append(choices, d.siteChoices(c)...)
	}
	s.ask(what, choices...)
}

// disagree is a row whose name the load has, but with other numbers.
func (d *drafter) disagree(s *slot, n numbers, byName, byNumbers []*plan.Channel) {
	sameRx := filter(byName, func(c *plan.Channel) bool { return n.rx != 0 && c.Rx == n.rx && (n.tx == 0 || c.Tx == n.tx) })
	if len(sameRx) > 0 && len(byNumbers) == 0 {
		s.asWritten(n)
		d.otherTone(s, n, sameRx)
		return
	}
	onRx := d.where(func(c *plan.Channel) bool { return n.rx != 0 && c.Rx == n.rx })
	var choices []Choice
	for _, c := range byName {
		choices = append(choices, take(c, "by its name: "+c.String()))
	}
	if len(onRx) == 0 && n.rx != 0 {
		s.asWritten(n)
		for _, m := range d.load.NearFrequency(n.rx) {
			if slices.ContainsFunc(byName, func(c *plan.Channel) bool { return c.Programming() == m.Channel.Programming() }) {
				choices = append(choices, says("from the sheet's frequency to it: "+m.Why))
				break
			}
		}
		s.ask(fmt.Sprintf("not in the load: %s; %s has another frequency", n.rx, s.row.Name), choices...)
		return
	}
	for _, c := range onRx {
		if !slices.Contains(byName, c) {
			choices = append(choices, take(c, "by its frequency: "+c.String()))
		}
	}
	s.set("channel", tomlfile.Quote(byName[0].Name))
	what := "name and frequency do not belong together"
	if n.rx == 0 {
		what = "the load's channel has another tone or transmit frequency than the sheet"
		if n.tx != 0 {
			s.set("tx", n.tx.String())
		}
		if n.rxTone.said {
			s.set("rx_tone", n.rxSquelch.TOML())
		}
		if n.txTone.said {
			s.set("tx_tone", n.txSquelch.TOML())
		}
	} else {
		s.asWritten(n)
	}
	s.ask(what, choices...)
}

func (d *drafter) noSuchName(s *slot, system string) {
	name := s.row.Name
	what := "not in the load: " + tomlfile.Quote(name)
	if system != "" {
		what += " of system " + tomlfile.Quote(system)
	}
	if name == "" {
		name, what = system, "a system was read, but no talkgroup"
	}
	choices := d.closeNames(name)
	if system != "" {
		for _, c := range d.where(func(c *plan.Channel) bool { return c.Trunked() && plan.Squeeze(c.System) == plan.Squeeze(system) }) {
			choices = append(choices, take(c, "of this system: "+c.String()))
		}
		// A channel of that name which is no talkgroup must not slip in.
		if len(d.where(func(c *plan.Channel) bool { return c.Name == name })) > 0 {
			name = system + " " + name
		}
	}
	s.ask(what, choices...)
	s.set("channel", tomlfile.Quote(name))
}

// otherMode is a row that fits channels but for their mode or width.
func (d *drafter) otherMode(s *slot, n numbers, found []*plan.Channel) {
	sheet := []string{}
	if n.modeSaid {
		sheet = append(sheet, n.mode.String())
	}
	if n.widthSaid {
		sheet = append(sheet, n.width.String())
	}
	var choices []Choice
	for _, c := range found {
		choices = append(choices, take(c, fmt.Sprintf("the load has %s, %s and %s", c, c.Mode, c.Width)))
	}
	s.ask("mode or width differs from the load's: the sheet says "+strings.Join(sheet, " and "), choices...)
	// Named in two ways, so that nobody overlooks it.
	s.set("channel", tomlfile.Quote(found[0].Name))
	if found[0].Trunked() {
		s.set("group", strconv.Itoa(found[0].Group.Number))
		s.set("number", strconv.Itoa(found[0].Number))
	} else {
		s.set("rx", found[0].Rx.String())
	}
}

// several is a row that fits several channels.
func (d *drafter) several(s *slot, n numbers, byName, found []*plan.Channel) {
	choices := make([]Choice, 0, len(found))
	for _, c := range found {
		choices = append(choices, take(c, fmt.Sprintf("group = %d and number = %d: %s", c.Group.Number, c.Number, c)))
	}
	what := fmt.Sprintf("%d channels of the load fit", len(found))
	sameName := !slices.ContainsFunc(found, func(c *plan.Channel) bool { return c.Name != found[0].Name })
	switch {
	case len(byName) > 0 && sameName:
		s.set("channel", tomlfile.Quote(found[0].Name))
	case n.rx != 0:
		s.asWritten(n)
	default: // names alike but for case or spaces
		s.set("channel", tomlfile.Quote(s.row.Name))
	}
	s.ask(what, choices...)
}

// placeOf is the group and channel number of a row, where both are numbers.
func placeOf(r Row) (group, number int, ok bool) {
	group, err1 := strconv.Atoi(r.Zone)
	number, err2 := strconv.Atoi(r.Channel)
	return group, number, err1 == nil && err2 == nil && group > 0 && number > 0
}

func (f *finder) atPlace(group, number int) []*plan.Channel {
	return filter(f.all, func(c *plan.Channel) bool { return c.Group.Number == group && c.Number == number })
}

// standsAt tells whether a channel stands there, among its places.
func (f *finder) standsAt(c *plan.Channel, group, number int) bool {
	return slices.ContainsFunc(f.atPlace(group, number), func(o *plan.Channel) bool { return o.Programming() == c.Programming() })
}

// differences notes what the sheet leaves out and the load decides.
func (d *drafter) differences(s *slot, n numbers, c *plan.Channel) {
	if c.Trunked() {
		return
	}
	if !n.rxTone.said && !c.RxTone.IsZero() {
		s.note("no receive tone was read on this line; the load has %s", c.RxTone)
	}
	if !n.txTone.said && !c.TxTone.IsZero() && c.TxTone != radio.Site {
		s.note("no transmit tone was read on this line; the load has %s", c.TxTone)
	}
	if n.rx != 0 && n.tx == 0 && c.Tx != c.Rx {
		s.note("no transmit frequency was read on this line; the load has %s", c.Tx)
	}
}

// repeater chooses the site of a channel that needs one: by the sheet's transmit
// tone, else by the remarks where they name just one. Otherwise it stays open.
func (d *drafter) repeater(s *slot, n numbers, c *plan.Channel) {
	if c.TxTone != radio.Site {
		return
	}
	sites := d.load.SitesOf(c)
	var named []*plan.Site
	for _, site := range sites {
		if word(s.row.Remarks, site.Name) || word(s.row.Name, site.Name) || word(s.row.Site, site.Name) {
			named = append(named, site)
		}
	}
	var byTone []*plan.Site
	for _, site := range sites {
		if n.txTone.said && site.Squelch == n.txSquelch {
			byTone = append(byTone, site)
		}
	}
	number := d.load.ToneNumber(n.txSquelch)
	switch {
	case n.txTone.said && len(byTone) > 1 && len(named) == 1 && slices.Contains(byTone, named[0]):
		s.set("site", tomlfile.Quote(named[0].Name))
	case n.txTone.said && len(named) == 1 && len(byTone) > 0 && !slices.Contains(byTone, named[0]):
		s.ask(fmt.Sprintf("the sheet's transmit tone %s opens %s, but its remarks name %s", n.txSquelch, siteNames(byTone), named[0].Name), d.siteChoices(c)...)
	case len(byTone) == 1:
		s.set("site", tomlfile.Quote(byTone[0].Name))
	case len(byTone) > 1 && number != 0:
		s.set("tone", strconv.Itoa(number))
		s.note("the tone opens %s", siteNames(byTone))
	case n.txTone.said && len(sites) == 0: // then it is a numbered tone
		s.set("tone", strconv.Itoa(number))
	case !n.txTone.said && len(named) == 1:
		s.set("site", tomlfile.Quote(named[0].Name))
		s.note("no transmit tone was read on this line; the repeater is the one it names")
	default:
		s.ask("no repeater chosen for "+c.Name, d.siteChoices(c)...)
	}
}

func siteNames(sites []*plan.Site) string {
	names := make([]string, len(sites))
	for i, s := range sites {
		names[i] = s.Name
	}
	return strings.Join(names, " and ")
}

// word tells whether a text holds a name as a word of its own.
func word(text, name string) bool {
	text, name = strings.ToLower(text), strings.ToLower(name)
	for at := 0; ; {
		i := strings.Index(text[at:], name)
		if i < 0 || name == "" {
			return false
		}
		i += at
		isLetter := func(s string, first bool) bool {
			r := []rune(s)
			if len(r) == 0 {
				return false
			}
			c := r[len(r)-1]
			if first {
				c = r[0]
			}
			return unicode.IsLetter(c) || unicode.IsDigit(c)
		}
		if !isLetter(text[:i], false) && !isLetter(text[i+len(name):], true) {
			return true
		}
		at = i + len(name)
	}
}

// siteChoices are the sites that carry a channel whose site must be chosen.
func (f *finder) siteChoices(c *plan.Channel) (choices []Choice) {
	if c.TxTone != radio.Site {
		return nil
	}
	for _, site := range f.load.SitesOf(c) {
		what := site.Squelch.String()
		if n := f.load.ToneNumber(site.Squelch); n != 0 {
			what = fmt.Sprintf("tone %d, %s", n, site.Squelch)
		}
		choices = append(choices, Choice{fmt.Sprintf("site = %s (%s)", tomlfile.Quote(site.Name), what), c, site.Name, false})
	}
	if choices == nil {
		choices = []Choice{says("no site of the load carries it: write tone = NUMBER")}
	}
	return choices
}
