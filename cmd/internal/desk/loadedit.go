package desk

import (
	"errors"
	"fmt"
	"path/filepath"
	"strconv"
	"strings"

	"slotcard/plan"
	"slotcard/plan/build"
	"slotcard/plan/finding"
	"slotcard/plan/radio"
)

// Changing a channel of a load: each post is one change of plan/build on the file.

// Editing is a channel that is being changed, or added.
type Editing struct {
	I, Group         int    // of the channel, or of the group that gets one; from 0
	Was, Of          string // place and name of the channel, name of the group: to be told from others there
	Add              bool
	Text             build.ChannelText
	Uses, Modes      []string
	Widths           []string
	Twins            int      // places that program the same
	Everywhere, Sure bool     // ticked
	Breaks           []string // plans that would not find their channel any more
	Escape           string
	Moves            bool
}

// nameOf tells a channel of a page from another that stands in its place later.
func nameOf(c *plan.Channel) string { return c.Place() + " " + c.Name }

// editing is the form that the page was asked for; nil: none.
func (p *Page) editing(l *plan.Load) *Editing {
	v := &Editing{Uses: radio.UseNames(), Modes: radio.ModeNames(), Widths: radio.WidthNames(), Escape: p.With("edit", "", "add", "", "at", p.Ask("edit")), Moves: p.Ask("by") == "" && p.Ask("q") == ""}
	which, add := p.Ask("edit"), p.Ask("add")
	if p.Failed != "" && p.Ask("i") != "" {
		which, add = p.Ask("i"), ""
	}
	switch w, err := p.loadWork(); {
	case err != nil:
		return nil
	case which != "":
		n, err := strconv.Atoi(which)
		all := l.Channels()
		if err != nil || n < 0 || n >= len(all) {
			return nil
		}
		c := w.Load().Channels()[n]
		v.I, v.Was, v.Twins, v.Text = n, nameOf(all[n]), w.Twins(n), build.TextOf(c)
		v.Everywhere = true
	case add != "":
		g, err := strconv.Atoi(add)
		if err != nil || g < 0 || g >= len(w.Load().Groups) {
			return nil
		}
		v.Add, v.Group, v.Of = true, g, w.Load().Groups[g].Name
		v.Text = build.ChannelText{Number: strconv.Itoa(w.FreeNumber(g)), Mode: radio.Analog.String(), Width: radio.Narrow.String()}
	default:
		return nil
	}
	if p.Failed != "" && p.Request.Form.Has("called") { // what was typed is not lost
		v.Text, v.Everywhere = p.channelText(), p.Ask("everywhere") != ""
	}
	v.Breaks = p.breaks
	return v
}

// channelText is what was typed.
func (p *Page) channelText() build.ChannelText {
	return build.ChannelText{
		Number: p.Ask("number"), Name: p.Ask("called"), Use: p.Ask("use"), Rx: p.Ask("rx"), Tx: p.Ask("tx"), RxTone: p.Ask("rx_tone"), TxTone: p.Ask("tx_tone"),
		Mode: p.Ask("mode"), Width: p.Ask("width"), Remarks: p.Ask("remarks"), System: p.Ask("system"), Talkgroup: p.Ask("talkgroup"),
		ReceiveOnly: p.Ask("receive_only") != "", EditionMark: p.Ask("edition_mark") != "",
	}
}

// loadWork is the load as it lies on the disk, to be changed.
func (p *Page) loadWork() (*build.LoadWork, error) {
	if p.State.Kind != "load" {
		return nil, errors.New("this file is no load")
	}
	return build.OpenLoad(filepath.FromSlash(p.File), p.State.Text)
}

// loadDo makes a change of the load and writes it; then the page shows channel at.
func (p *Page) loadDo(change func(w *build.LoadWork) (at int, err error)) (string, error) {
	at := 0
	told, err := p.rewrite(func() ([]byte, error) {
		w, err := p.loadWork()
		if err != nil {
			return nil, err
		}
		if at, err = change(w); err != nil {
			return nil, err
		}
		return w.Text(), nil
	})
	if err != nil {
		return "", err
	}
	return p.At("load", "by", p.Ask("by"), "in", p.Ask("in"), "q", p.Ask("q"), "at", at, "told", told), nil
}

// rewrite makes a new text of the file as it lies on the disk, and writes it. A change
// of a load by which a plan loses a channel is made only where somebody says so; what
// others do to plans is kept, to be told.
func (p *Page) rewrite(change func() ([]byte, error)) (told string, err error) {
	p.desk.building.Lock()
	defer p.desk.building.Unlock()
	p.State = p.desk.shelf.get(p.File)
	text, err := change()
	if err != nil {
		return "", err
	}
	var breaks, others []string
	if p.State.Kind == "load" {
		breaks, others = p.follows(text)
	}
	if len(breaks) > 0 && p.Ask("sure") == "" {
		p.breaks = breaks
		return "", fmt.Errorf("a plan would lose a channel by this: %s; nothing was written", strings.Join(breaks, "; "))
	}
	local := filepath.FromSlash(p.File)
	if err := p.write(map[string][]byte{local: p.State.Text}, map[string][]byte{local: text}); err != nil {
		return "", err
	}
	if all := append(breaks, others...); len(all) > 0 {
		told = p.desk.told.keep(&all)
	}
	return told, nil
}

// follows are the plans of the folder that the load in another text changes: those
// that lose a channel, and those whose lists are programmed otherwise.
func (p *Page) follows(text []byte) (breaks, others []string) {
	local := filepath.FromSlash(p.File)
	load, _, err := plan.ReadLoad(local, plan.Options{ReadFile: func(string) ([]byte, error) { return text, nil }})
	if err != nil || p.State.Load == nil {
		return nil, nil
	}
	for _, on := range p.plansOn(p.State.Load, load) {
		was, is := channelsOf(on.was), channelsOf(on.is)
		opened, opens := repeatersOf(on.was), repeatersOf(on.is)
		called := on.called() + " (" + on.file + ")"
		lost, other, says := "", false, false
		for at, c := range was {
			o := is[at]
			switch {
			case o == nil || o.Name != c.Name:
				if lost == "" || c.Name < lost { // the same each time
					lost = c.Name
				}
			case opened[at].site != "" && opens[at].site == "":
				if name := c.Name + " through " + opened[at].site; lost == "" || name < lost {
					lost = name
				}
			case o.Programming() != c.Programming() || opens[at].tone != opened[at].tone:
				other = true
			case opens[at] != opened[at]:
				says = true
			}
		}
		switch {
		case lost != "":
			breaks = append(breaks, fmt.Sprintf("%s has %s", called, lost))
		case other:
			others = append(others, called+": its list is programmed otherwise now, print it again")
		case says:
			others = append(others, called+": its cards name the repeater or tone otherwise now, print them again")
		}
	}
	return breaks, others
}

// channelsOf are the channels of a plan by the places that name them.
func channelsOf(r *plan.Resolved) map[finding.Place]*plan.Channel {
	of := map[finding.Place]*plan.Channel{}
	if r == nil {
		return of
	}
	for _, s := range r.Slots {
		of[s.Slot.At("")] = s.Channel
	}
	for _, a := range r.Also {
		of[a.At("")] = a.Channel
	}
	return of
}

// repeater is the site that a plan has chosen, and the tone that it transmits.
type repeater struct {
	site   string
	tone   radio.Squelch
	number int // of the tone
}

// repeatersOf are the repeaters of a plan by the places that name them.
func repeatersOf(r *plan.Resolved) map[finding.Place]repeater {
	of := map[finding.Place]repeater{}
	add := func(at finding.Place, s *plan.Site, tone radio.Squelch, number int) {
		o := repeater{tone: tone, number: number}
		if s != nil {
			o.site = s.Name
		}
		of[at] = o
	}
	if r == nil {
		return of
	}
	for _, s := range r.Slots {
		add(s.Slot.At(""), s.Repeater, s.TxTone, s.ToneNumber)
	}
	for _, a := range r.Also {
		add(a.At(""), a.Repeater, a.TxTone, a.ToneNumber)
	}
	return of
}

// onChannel does something to the channel that a form is about.
func (p *Page) onChannel(change func(w *build.LoadWork, n int) (int, error)) (string, error) {
	return p.loadDo(func(w *build.LoadWork) (int, error) {
		n, err := strconv.Atoi(p.Ask("i"))
		all := w.Load().Channels()
		if err != nil || n < 0 || n >= len(all) || nameOf(all[n]) != p.Ask("was") {
			return 0, errChanged
		}
		return change(w, n)
	})
}

func setChannel(p *Page) (string, error) {
	return p.onChannel(func(w *build.LoadWork, n int) (int, error) {
		return n, w.SetChannel(n, p.channelText(), p.Ask("everywhere") != "")
	})
}

func deleteChannel(p *Page) (string, error) {
	return p.onChannel(func(w *build.LoadWork, n int) (int, error) { return max(0, n-1), w.DeleteChannel(n) })
}

func moveUp(p *Page) (string, error)   { return p.moveChannel(-1) }
func moveDown(p *Page) (string, error) { return p.moveChannel(1) }

// moveChannel moves a channel in its group.
func (p *Page) moveChannel(by int) (string, error) {
	return p.onChannel(func(w *build.LoadWork, n int) (int, error) {
		text := string(w.Text())
		if err := w.MoveChannel(n, n+by); err != nil {
			return n, err
		}
		if string(w.Text()) == text {
			return n, errors.New("there is nothing above or below it in its group: it stays")
		}
		return n + by, nil
	})
}

func addChannel(p *Page) (string, error) {
	return p.loadDo(func(w *build.LoadWork) (int, error) {
		g, err := strconv.Atoi(p.Ask("group"))
		if err != nil || g < 0 || g >= len(w.Load().Groups) || w.Load().Groups[g].Name != p.Ask("was") {
			return 0, errChanged
		}
		return w.AddChannel(g, p.channelText())
	})
}

// aboutText is what was typed of the load itself.
func (p *Page) aboutText() build.AboutText {
	return build.AboutText{
		Name: p.Ask("name"), Edition: p.Ask("edition"), Color: p.Ask("color"), Effective: p.Ask("effective"), Expires: p.Ask("expires"),
		Positions: p.Ask("positions"), Exercise: p.Ask("exercise") != "",
	}
}

func setAbout(p *Page) (string, error) {
	if _, err := p.loadDo(func(w *build.LoadWork) (int, error) { return 0, w.SetAbout(p.aboutText()) }); err != nil {
		return "", err
	}
	return p.At("load", "by", p.Ask("by"), "in", p.Ask("in")), nil
}
