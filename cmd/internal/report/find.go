package report

import (
	"fmt"
	"slices"
	"strings"
	"unicode/utf8"

	"slotcard/cmd/internal/voice"
	"slotcard/plan"
	"slotcard/plan/lookup"
	"slotcard/plan/radio"
)

// mostNear is how many near channels are shown without --all: what the eye
// takes in at once.
const mostNear = 8

// fewNear is up to how many near channels sites, other places and remarks stand
// below each.
const fewNear = 2

// Answer prints what was found, in columns that line up.
func Answer(v *voice.Voice, l *plan.Load, a lookup.Answer, all bool) {
	if ed := a.Edition; ed != nil {
		about := ed.About
		v.Say("%s, edition %s: %s label", about.Name, about.Edition, about.Colour)
		v.Say("effective %s, expires %s", about.Effective, about.Expires)
		if len(ed.Marks) == 0 {
			v.Say("no display name carries the edition: compare the color of the label with the book's cover")
			return
		}
		v.Say("to see whether a radio is current, turn to this channel: its name carries the edition")
		hits(v, l, ed.Marks)
		return
	}
	for _, n := range a.Notes {
		v.Say("%s", n)
	}
	near := a.Near
	if !all && len(near) > mostNear {
		near = near[:mostNear]
	}
	hits(v, l, a.Exact, near...)
	if len(a.Exact) == 0 && len(a.Near) == 0 {
		v.Say("nothing like %q in the load", a.Query)
	}
	if n := len(a.Near) - len(near); n > 0 {
		v.Say("and %s; to see them, add --all", voice.Count(n, "more close match", "more close matches"))
	}
}

// columns are the titles of what is said about a channel in its line.
var columns = []string{"place", "name", "receive", "transmit", "tones", "use", ""}

// differs marks a value in which a channel is not like another on its receive
// frequency.
const differs = "*"

func hits(v *voice.Voice, l *plan.Load, exact []lookup.Hit, near ...lookup.Hit) {
	if len(exact)+len(near) == 0 {
		return
	}
	rows := [][]string{columns}
	for _, h := range slices.Concat(exact, near) {
		rows = append(rows, cellsOf(h))
	}
	width := make([]int, len(columns))
	for _, row := range rows {
		for i, cell := range row {
			width[i] = max(width[i], utf8.RuneCountInString(cell))
		}
	}
	line := func(row []string, why string) {
		var b strings.Builder
		for i, cell := range row {
			if b.WriteString(cell); i < len(row)-1 || why != "" {
				b.WriteString(strings.Repeat(" ", width[i]-utf8.RuneCountInString(cell)+2))
			}
		}
		v.Say("%s", strings.TrimRight(b.String()+why, " "))
	}
	block := func(hits []lookup.Hit, rows [][]string, further bool) {
		for i, h := range hits {
			why := h.Why
			if why != "" {
				why = "<- " + why
			}
			line(rows[i], why)
			if !further {
				continue
			}
			for _, more := range FurtherOf(l, h) {
				in := strings.Repeat(" ", width[0]+2)
				v.Folded(more, in, in)
			}
		}
	}
	if len(exact) == 0 {
		v.Raw("no exact match; close to it:\n")
	}
	line(rows[0], "")
	block(exact, rows[1:], true)
	if len(exact) > 0 && len(near) > 0 {
		v.Raw("close to it:\n")
	}
	block(near, rows[1+len(exact):], len(near) <= fewNear)
	marked := func(h lookup.Hit) bool { return len(h.Differs) > 0 }
	if slices.ContainsFunc(exact, marked) || slices.ContainsFunc(near, marked) {
		v.Raw("%s differs from another channel on this receive frequency: compare with the plan\n", differs)
	}
}

// KindOf is what a channel is: direct or repeated, and its mode and width where they
// are not the usual ones.
func KindOf(c *plan.Channel) string {
	kind := "direct"
	switch {
	case c.Trunked():
		kind = "talkgroup"
	case c.ReceiveOnly:
		kind = "receive only"
	case c.Repeated():
		kind = "repeated"
	}
	if c.Mode != radio.Analog {
		kind += ", " + c.Mode.String()
	}
	if c.Width != radio.Narrow {
		kind += ", " + c.Width.String()
	}
	return kind
}

// cellsOf is a channel's line, by columns.
func cellsOf(h lookup.Hit) []string {
	c := h.Channel
	marked := func(text string, names ...string) string {
		for _, n := range names {
			if slices.Contains(h.Differs, n) {
				return text + differs
			}
		}
		return text
	}
	kind := marked(KindOf(c), lookup.ModeOrWidth)
	if c.Trunked() {
		return []string{c.Place(), c.Name, "-", "-", "-", c.Use.String(), kind}
	}
	f := c.Figures(c.TxTone)
	return []string{c.Place(), c.Name, f.Rx, marked(f.Tx, lookup.Transmit),
		marked(f.Tones(), lookup.ReceiveTone, lookup.TransmitTone), c.Use.String(), kind}
}

// FurtherOf is what else is to be said about a channel, in lines below its own.
func FurtherOf(l *plan.Load, h lookup.Hit) (lines []string) {
	c := h.Channel
	if c.Trunked() {
		lines = append(lines, fmt.Sprintf("system %s, talkgroup %s", c.System, c.Talkgroup))
	}
	if len(h.Sites) > 0 {
		var sites []string
		for _, s := range h.Sites {
			sites = append(sites, fmt.Sprintf("%s %s", s.Name, toneOf(l, s.Squelch)))
		}
		lines = append(lines, "repeated by "+strings.Join(sites, ", "))
	} else if n := l.ToneNumber(c.TxTone); n != 0 && c.Repeated() {
		lines = append(lines, fmt.Sprintf("transmits tone %d", n))
	}
	var rest []string
	if len(h.Places) > 1 {
		var refs []string
		for _, p := range h.Places {
			if p != c {
				refs = append(refs, p.Place())
			}
		}
		rest = append(rest, "also at "+strings.Join(refs, ", "))
	}
	if c.EditionMark {
		rest = append(rest, "its name carries the edition")
	}
	if c.Remarks != "" {
		rest = append(rest, plan.Unbraced(c.Remarks))
	}
	if rest != nil {
		lines = append(lines, strings.Join(rest, "; "))
	}
	return lines
}

// toneOf is a tone with the agency's number for it.
func toneOf(l *plan.Load, s radio.Squelch) string {
	if n := l.ToneNumber(s); n != 0 {
		return fmt.Sprintf("tone %d (%s)", n, s)
	}
	return s.String()
}

// FindDocument is the JSON document of an answer. Field names stay.
type FindDocument struct {
	Load    string         `json:"load"`
	Query   string         `json:"query"`
	Edition *foundEdition  `json:"edition,omitempty"`
	Notes   []string       `json:"notes"`
	Exact   []foundChannel `json:"exact"`
	Near    []foundChannel `json:"near"`
}

type foundEdition struct {
	Name      string         `json:"name"`
	Edition   string         `json:"edition"`
	Colour    string         `json:"colour"`
	Effective string         `json:"effective"`
	Expires   string         `json:"expires"`
	ShownBy   []foundChannel `json:"shown_by"`
}

type foundChannel struct {
	Place       string      `json:"place"`
	Places      []string    `json:"places"`
	Group       int         `json:"group"`
	Number      int         `json:"number"`
	Name        string      `json:"name"`
	Use         string      `json:"use"`
	Rx          radio.Hertz `json:"rx_hz"`
	Tx          radio.Hertz `json:"tx_hz"`
	RxTone      string      `json:"rx_tone"`
	TxTone      string      `json:"tx_tone"`
	Mode        string      `json:"mode"`
	Width       string      `json:"width"`
	Repeated    bool        `json:"repeated"`
	ReceiveOnly bool        `json:"receive_only"`
	Sites       []foundSite `json:"sites,omitempty"`
	System      string      `json:"system,omitempty"`
	Talkgroup   string      `json:"talkgroup,omitempty"`
	Remarks     string      `json:"remarks,omitempty"`
	Why         string      `json:"why,omitempty"`
	Differs     []string    `json:"differs,omitempty"`
}

type foundSite struct {
	Name       string `json:"name"`
	Tone       string `json:"tone"`
	ToneNumber int    `json:"tone_number,omitempty"`
}

func Found(name string, l *plan.Load, a lookup.Answer) FindDocument {
	d := FindDocument{Load: name, Query: a.Query, Notes: append([]string{}, a.Notes...), Exact: channelsOf(l, a.Exact), Near: channelsOf(l, a.Near)}
	if ed := a.Edition; ed != nil {
		d.Edition = &foundEdition{Name: ed.About.Name, Edition: ed.About.Edition, Colour: ed.About.Colour,
			Effective: ed.About.Effective.String(), Expires: ed.About.Expires.String(), ShownBy: channelsOf(l, ed.Marks)}
	}
	return d
}

func channelsOf(l *plan.Load, hits []lookup.Hit) []foundChannel {
	out := make([]foundChannel, 0, len(hits))
	for _, h := range hits {
		c := h.Channel
		f := foundChannel{Place: c.Place(), Group: c.Group.Number, Number: c.Number, Name: c.Name, Use: c.Use.String(),
			Rx: c.Rx, Tx: c.Tx, RxTone: c.RxTone.String(), TxTone: c.TxTone.String(), Mode: c.Mode.String(), Width: c.Width.String(),
			Repeated: c.Repeated(), ReceiveOnly: c.ReceiveOnly, System: c.System, Talkgroup: c.Talkgroup, Remarks: c.Remarks, Why: h.Why, Differs: h.Differs}
		for _, p := range h.Places {
			f.Places = append(f.Places, p.Place())
		}
		for _, s := range h.Sites {
			f.Sites = append(f.Sites, foundSite{s.Name, s.Squelch.String(), l.ToneNumber(s.Squelch)})
		}
		out = append(out, f)
	}
	return out
}
