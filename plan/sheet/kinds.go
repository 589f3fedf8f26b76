package sheet

import (
	"strings"

	"slotcard/plan"
	"slotcard/plan/published"
	"slotcard/plan/radio"
)

// kind is what a cell may be by what it holds, whatever its column is called.
type kind uint16

const (
	isFrequency    kind = 1 << iota // no doubt: its decimals, MHz, N or W behind it, or the load has it
	maybeFrequency                  // a number that could be one
	isTone                          // no doubt: a form that only tones have
	maybeTone                       // a published CTCSS tone, or one of the load's
	isCarrier                       // CSQ, none, a dash
	isWidth
	isMode
	isName     // of a channel of the load
	isFunction // a net function
	isAssigned // names a division, a branch or a group
	isInteger
	isEmpty
)

type channel = plan.Channel

// finder finds channels of a load.
type finder struct {
	load    *plan.Load
	all     []*plan.Channel
	named   map[string][]*plan.Channel // by squeezed display name, and talkgroups by theirs
	onRx    map[radio.Hertz][]*plan.Channel
	known   map[radio.Hertz]bool // receive and transmit
	tones   map[radio.Squelch]bool
	systems map[string]bool // in capitals
	kinds   map[string]kind // of the cells looked at so far
}

func newFinder(l *plan.Load) *finder {
	f := &finder{load: l, all: l.Channels(), named: map[string][]*plan.Channel{}, onRx: map[radio.Hertz][]*plan.Channel{},
		known: map[radio.Hertz]bool{}, tones: map[radio.Squelch]bool{}, systems: map[string]bool{}, kinds: map[string]kind{}}
	for _, c := range f.all {
		name := plan.Squeeze(c.Name)
		f.named[name] = append(f.named[name], c)
		if group := plan.Squeeze(c.Talkgroup); c.Trunked() && group != name {
			f.named[group] = append(f.named[group], c)
		}
		if c.Trunked() {
			f.systems[strings.ToUpper(c.System)] = true
			continue
		}
		f.onRx[c.Rx] = append(f.onRx[c.Rx], c)
		f.known[c.Rx], f.known[c.Tx] = true, true
		f.tones[c.RxTone], f.tones[c.TxTone] = true, true
	}
	for _, t := range l.Tones {
		f.tones[t.Hz] = true
	}
	for _, s := range l.Sites {
		f.tones[s.Squelch] = true
	}
	return f
}

// kindOf tells what a cell may be.
func (f *finder) kindOf(text string) kind {
	switch {
	case text == "":
		return isEmpty
	case len(text) > 60:
		return 0
	}
	k, seen := f.kinds[text]
	if !seen {
		k = f.kindOfText(text)
		f.kinds[text] = k
	}
	return k
}

func (f *finder) kindOfText(text string) (k kind) {
	upper := strings.ToUpper(text)
	name := plan.Squeeze(text)
	if carrierWords[upper] {
		k |= isCarrier
	}
	if strings.Trim(text, "0123456789") == "" {
		k |= isInteger
	} else if len(f.named[name]) > 0 && strings.Trim(name, "0123456789") != "" {
		k |= isName
	}
	if h, width, ok := frequency(text); ok && h >= leastFrequency && h <= mostFrequency {
		_, decimals, _ := strings.Cut(numberIn().FindString(strings.ReplaceAll(text, ",", ".")), ".")
		listed, _ := published.CTCSS(radio.Tone(int(h / 100_000)))
		tenths := len(decimals) == 2 && decimals[1] == '0' && listed && !f.known[h] // 103.50: a spreadsheet shows two decimals of a tone
		if len(decimals) >= 2 && !tenths || width != "" || strings.Contains(upper, "MHZ") || f.known[h] && decimals != "" && !listed {
			k |= isFrequency
		} else {
			k |= maybeFrequency
		}
	}
	if t := tone(text, radio.Analog); t.said && !t.unknown && k&isCarrier == 0 {
		plain := numberText().MatchString(text)
		switch {
		case (t.number == 0 || !t.value.IsZero()) && (!plain || t.value.Kind != radio.CTCSS) && k&isFrequency == 0:
			k |= isTone
		case plain && t.number == 0 && k&isInteger == 0:
			if listed, _ := published.CTCSS(t.value); listed || f.tones[t.value] {
				k |= maybeTone
			}
		}
	}
	if widthOf(text) != "" {
		k |= isWidth
	}
	if _, said, ok := modeOf(text); said && ok {
		k |= isMode
	}
	if useOf(text) != 0 {
		k |= isFunction
	}
	if namesDivision().MatchString(text) {
		k |= isAssigned
	}
	return k
}

// leastFrequency and mostFrequency are the ends of the land mobile bands in use
// (47 CFR 90: 25 to 50 MHz up to 896 to 940 MHz); a cell beyond is a frequency
// only where its column says so.
const leastFrequency, mostFrequency = radio.Hertz(25_000_000), radio.Hertz(940_000_000)

var numberIn = compiled(`\d+(\.\d+)?`)

// evidence tells whether a cell shows by itself that its row is a channel's.
func evidence(k kind) bool { return k&(isFrequency|isName) != 0 }

// profile counts what the cells of a column are.
type profile struct {
	filled int
	is     map[kind]int
}

func (f *finder) profileOf(cells []string) profile {
	p := profile{is: map[kind]int{}}
	for _, c := range cells {
		k := f.kindOf(c)
		if k == isEmpty {
			continue
		}
		p.filled++
		for bit := kind(1); bit < isEmpty; bit <<= 1 {
			if k&bit != 0 {
				p.is[bit]++
			}
		}
	}
	return p
}

// most tells whether more than half of the filled cells are of one of the kinds.
func (p profile) most(kinds ...kind) bool {
	n := 0
	for _, k := range kinds {
		n += p.is[k]
	}
	return p.filled > 0 && 2*n > p.filled
}

// what a column holds, by its cells alone; none where they do not say.
func (p profile) what() what {
	switch {
	case p.filled == 0:
		return none
	case p.most(isName):
		return name
	case p.most(isFrequency):
		return frequencies
	case p.is[isTone]+p.is[maybeTone] > 0 && p.most(isTone, maybeTone, isCarrier) && p.is[isFrequency] == 0:
		return tones
	case p.most(isFunction):
		return function
	case p.most(isAssigned):
		return assignment
	case p.most(isWidth):
		return widths
	case p.filled > 2 && p.is[isMode] == p.filled:
		return mode
	}
	return none
}

// widthText is the width of a channel as people write it: narrow is 12.5 kHz
// spacing, wide 25 kHz (47 CFR 90.209, 90.425 in common words).
var widthText = compiled(`(?i)^(?:(n|nb|narrow(?:band)?|nfm|12[.,]5 ?k(?:hz)?)|(w|wb|wide(?:band)?|wfm|25(?:[.,]0)? ?k(?:hz)?))$`)

// widthOf is N or W; "" where a cell is neither.
func widthOf(cell string) string {
	m := widthText().FindStringSubmatch(cell)
	switch {
	case m == nil:
		return ""
	case m[1] != "":
		return "N"
	}
	return "W"
}

// namesDivision tells whether a text names a division, a branch or a group.
var namesDivision = compiled(`(?i)\b(div(ision)?s?|div's|branch(es)?|br|gr(ou)?ps?|functional)\b|\bdiv[-.]?[a-z]\b`)
