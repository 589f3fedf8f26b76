package plantest

import (
	"fmt"
	"math/rand/v2"
	"strings"

	"slotcard/plan"
	"slotcard/plan/radio"
)

// LoadShape is how large a load is and how long its words are.
type LoadShape struct {
	Seed       uint64
	Groups     int
	Channels   int // in each group
	NameLength int // characters of display names, at least
	WordLength int // letters of a word in names and remarks
	Words      int // words in names of groups and sites
	Remarks    int // words in the remarks of every third channel
	Sites      int
	Tones      int
	Digital    bool // every fifth channel, with network access codes
	Trunked    bool // every eleventh channel a talkgroup
	Exercise   bool
}

// Load makes a load of that shape. Some channels stand in several groups, some
// share a frequency with others and differ in their tones, some are repeated.
func Load(s LoadShape) *plan.Load {
	g := &maker{Shape: Shape{WordLength: s.WordLength, Words: s.Words, NameLength: s.NameLength}, rng: rand.New(rand.NewPCG(s.Seed, 9))}
	l := &plan.Load{
		About: plan.About{Name: g.phrase(), Edition: "2027", Colour: "green", Exercise: s.Exercise,
			Effective: plan.Date{Year: 2027, Month: 3, Day: 1}, Expires: plan.Date{Year: 2028, Month: 3, Day: 31}},
		Radio: plan.Radio{ListPositions: 16, NameLength: 64, Bands: []plan.Band{{Low: 136e6, High: 174e6}},
			Modes: []radio.Mode{radio.Analog, radio.Digital, radio.Mixed}},
	}
	for i := range s.Tones {
		l.Tones = append(l.Tones, &plan.Tone{Number: i + 1, Hz: radio.Tone(1000 + 37*i)})
	}
	for i := range s.Sites {
		latitude, longitude, elevation := 44+float64(i)/10, -114-float64(i)/10, 2500.0
		site := &plan.Site{Name: fmt.Sprintf("%s %d", g.phrase(), i+1), Latitude: &latitude, Longitude: &longitude, Elevation: &elevation}
		if s.Tones > 0 && i%2 == 0 {
			site.Tone = plan.ToneRef{Number: i%s.Tones + 1}
			site.Squelch = l.Tones[i%s.Tones].Hz
		} else {
			site.Tone.Squelch = radio.Tone(2000 + i)
			site.Squelch = site.Tone.Squelch
		}
		l.Sites = append(l.Sites, site)
	}
	uses := []radio.Use{radio.Command, radio.Tactical, radio.Tactical, radio.AirToGround, radio.Support, radio.Travel, radio.Medical}
	var before []*plan.Channel
	n := 0
	for i := range s.Groups {
		group := &plan.Group{Number: i + 1, Name: g.phrase()}
		for j := range s.Channels {
			var c plan.Channel
			if j == s.Channels-1 && i > 0 && len(before) > 0 {
				c = *before[g.rng.IntN(len(before))] // one channel in several places
			} else {
				n++
				c = g.channel(n, s, uses[n%len(uses)])
				if len(l.Sites) > 0 && c.TxTone == radio.Site {
					site := l.Sites[n%len(l.Sites)]
					site.Channels = append(site.Channels, c.Name)
				}
			}
			c.Number, c.Group = j+1, group
			group.Channels = append(group.Channels, &c)
			before = append(before, &c)
		}
		l.Groups = append(l.Groups, group)
	}
	return l
}

// channel n of a load.
func (g *maker) channel(n int, s LoadShape, use radio.Use) plan.Channel {
	c := plan.Channel{Name: g.name("CH", n), Use: use, EditionMark: n == 2}
	c.Rx = radio.Hertz(150_000_000 + 7500*(n-n%4)) // up to four share it
	c.Tx = c.Rx
	c.TxTone = radio.Tone(1000 + n%900)
	switch {
	case s.Trunked && n%11 == 0:
		c.Rx, c.Tx, c.TxTone = 0, 0, radio.Squelch{}
		c.System, c.Talkgroup, c.Mode = strings.ToUpper(g.phrase()), fmt.Sprintf("TG %d", n), radio.Digital
	case n%7 == 0:
		c.Tx, c.TxTone = c.Rx+5_125_000+radio.Hertz(n%3*250), radio.Site
	case s.Digital && n%5 == 0:
		c.Mode, c.RxTone, c.TxTone = radio.Digital, radio.Squelch{Kind: radio.NAC, Value: n % 4096}, radio.Squelch{Kind: radio.NAC, Value: n % 4096}
	case n%13 == 0:
		c.RxTone = radio.Squelch{Kind: radio.DCS, Value: n % 512, Inverted: true}
		c.TxTone = c.RxTone
	case n%17 == 0:
		c.ReceiveOnly, c.TxTone, c.Width = true, radio.Squelch{}, radio.Wide
	}
	if n%3 == 0 {
		words := make([]string, s.Remarks)
		for i := range words {
			words[i] = strings.ToLower(g.phrase())
		}
		c.Remarks = strings.Join(words, " ")
	}
	return c
}
