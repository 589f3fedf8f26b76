package plan

import (
	"fmt"
	"slices"
	"strings"
	"unicode"

	"slotcard/plan/radio"
)

// What is looked up in a load, and how its channels are called.

// Channels are all channels of the load, in order of the file.
func (l *Load) Channels() []*Channel {
	n := 0
	for _, g := range l.Groups {
		n += len(g.Channels)
	}
	all := make([]*Channel, 0, n)
	for _, g := range l.Groups {
		all = append(all, g.Channels...)
	}
	return all
}

// String describes the channel on one line as a list of candidates needs it:
// place, display name, frequencies, tones, and what is not analog and narrow.
func (c *Channel) String() string {
	var b strings.Builder
	fmt.Fprintf(&b, "%s %s %s", c.Place(), c.Name, c.frequencies())
	if !c.RxTone.IsZero() || !c.TxTone.IsZero() {
		fmt.Fprintf(&b, " %s/%s", c.RxTone, c.TxTone)
	}
	if c.Mode != radio.Analog {
		b.WriteString(" " + c.Mode.String())
	}
	if c.Width != radio.Narrow {
		b.WriteString(" " + c.Width.String())
	}
	if c.ReceiveOnly {
		b.WriteString(" receive only")
	}
	return b.String()
}

// frequencies are receive and, where it differs, transmit, or system and talkgroup.
func (c *Channel) frequencies() string {
	switch {
	case c.Trunked():
		return c.System + "/" + c.Talkgroup
	case c.Tx != c.Rx && c.Tx != 0:
		return c.Rx.String() + "/" + c.Tx.String()
	}
	return c.Rx.String()
}

// SitesOf are the sites of the load that repeat the channel, in order of the load.
func (l *Load) SitesOf(c *Channel) []*Site {
	var sites []*Site
	for _, s := range l.Sites {
		if slices.Contains(s.Channels, c.Name) {
			sites = append(sites, s)
		}
	}
	return sites
}

// ToneNumber is the agency's number of a tone, 0 where it has none.
func (l *Load) ToneNumber(s radio.Squelch) int {
	if s.IsZero() {
		return 0
	}
	for _, t := range l.Tones {
		if t.Hz == s {
			return t.Number
		}
	}
	return 0
}

func (l *Load) tone(number int) *Tone {
	for _, t := range l.Tones {
		if t.Number == number {
			return t
		}
	}
	return nil
}

func (l *Load) site(name string) *Site {
	for _, s := range l.Sites {
		if s.Name == name {
			return s
		}
	}
	return nil
}

// link completes a load: channels know their group, sites their tone. Reading
// has done so already, a load that was put together by a program may lack it.
func (l *Load) link() {
	for _, g := range l.Groups {
		for _, c := range g.Channels {
			if c.Group != g {
				c.Group = g
			}
		}
	}
	for _, s := range l.Sites {
		tone := s.Tone.Squelch
		if t := l.tone(s.Tone.Number); t != nil && s.Tone.Number != 0 {
			tone = t.Hz
		}
		if s.Squelch != tone {
			s.Squelch = tone
		}
	}
}

// Squeeze keeps the letters and digits of a name, in lower case: VFIRE 21 is VFIRE21.
func Squeeze(name string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsLetter(r) || unicode.IsDigit(r) {
			return unicode.ToLower(r)
		}
		return -1
	}, name)
}
