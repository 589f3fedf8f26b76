package desk

import (
	"bytes"
	"encoding/json"
	"errors"
	"io"
	"path"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"slotcard/cmd/internal/files"
	"slotcard/cmd/internal/papers"
	"slotcard/cmd/internal/publish"
	"slotcard/cmd/internal/voice"
)

// A change within the period, once its revision is made: old and new side by side, what
// is read on the radio, and the boxes of who has acknowledged. They stand in a journal
// beside the plan, so that a second person, or this one after a restart, sees them.

// Change is what a revision changes, in the words of the strips.
type Change struct {
	Revision  int
	Old       string
	Not       string // why it cannot be shown
	Same      bool   // nothing that anybody carries
	Strips    bool   // a strip can say it to somebody
	Lists     []ComparedList
	Sentences []string
	Language  string // of what is read, BCP 47
	Groups    []TickGroup
	Journal   string
}

// TickGroup is a heading with boxes to tick under it.
type TickGroup struct {
	Heading string
	Ticked  int
	Boxes   []TickBox
}

// TickBox is a unit and whether it was ticked.
type TickBox struct {
	Unit, Says string
	At         string // when it was ticked; "": it is not
	Before     string // when it was ticked for other words than are read now; "": never
}

// Tick is a line of the journal.
type Tick struct {
	At      time.Time `json:"at"`
	Heading string    `json:"for"` // what it was ticked for
	Unit    string    `json:"unit"`
	Says    string    `json:"says"`
	Read    []string  `json:"read"` // the sentences
	Ticked  bool      `json:"ticked"`
}

// ticksName is where the boxes of a revision are kept, beside it.
func ticksName(file string) string {
	return strings.TrimSuffix(file, ".toml") + ".acknowledged.jsonl"
}

// change is nil where the plan is no revision, or its plan before is not there.
func (p *Page) change() (*Change, error) {
	in, old := p.incident(), p.before()
	if in == nil || in.Revision < 2 || old == "" || p.State.Broken() {
		return nil, nil
	}
	v := &Change{Revision: in.Revision, Old: old, Journal: ticksName(p.File)}
	if of := p.desk.shelf.get(old); of.Broken() {
		v.Not = old + " has errors: nothing can be compared with it"
		return v, nil
	}
	j, err := p.since(old)
	if err != nil {
		return nil, whyNot(err)
	}
	c, radio := j.Before.Changes, j.OnRadio()
	v.Same, v.Language = c.Empty(), j.Language()
	for _, l := range c.Lists {
		if l.Old != nil && l.New != nil && !l.Same() {
			v.Lists = append(v.Lists, compared(c, l))
		}
	}
	if radio == nil {
		v.Not = "no strip can change the cards: they are of another incident or load; print the cards"
		return v, nil
	}
	v.Sentences, v.Strips = radio.Sentences, radio.Strips
	ticks, err := p.ticks()
	if err != nil {
		return nil, err
	}
	for _, g := range radio.Groups {
		group := TickGroup{Heading: g.Heading}
		for _, b := range g.Boxes {
			box := TickBox{Unit: b.Unit, Says: b.Says}
			for _, t := range ticks { // the last one counts
				switch {
				case t.Heading != g.Heading || t.Unit != b.Unit:
				case t.Says != b.Says || !slices.Equal(t.Read, radio.Sentences):
					box.Before = ""
					if t.Ticked {
						box.Before = t.At.Format("15:04")
					}
				case t.Ticked:
					box.At = t.At.Format("15:04")
				default:
					box.At = ""
				}
			}
			if box.At != "" {
				box.Before = ""
				group.Ticked++
			}
			group.Boxes = append(group.Boxes, box)
		}
		v.Groups = append(v.Groups, group)
	}
	return v, nil
}

// since is this plan compared with an old one as print does, both as they lie on the
// disk.
func (p *Page) since(old string) (*papers.Job, error) {
	request, err := papers.Ask(map[string]string{"strips": "true", "since": filepath.FromSlash(old)})
	if err != nil {
		return nil, err
	}
	reader := files.NewReaderWithin(p.Ctx(), strings.NewReader(""), p.desk.Folder)
	j := papers.NewJob(reader, voice.New(io.Discard, io.Discard), filepath.FromSlash(p.File), request)
	return j, j.Open()
}

// ticks are the lines of the journal. A line that broke off is none.
func (p *Page) ticks() (all []Tick, err error) {
	name := ticksName(p.File)
	info, err := p.desk.Folder.Lstat(name)
	if err != nil {
		return nil, nil // nobody has ticked anything
	}
	if !info.Mode().IsRegular() {
		return nil, errors.New(path.Base(name) + " is no regular file: the boxes cannot be kept in it")
	}
	data, err := files.ReadWithin(p.desk.Folder, filepath.FromSlash(name), 64<<20)
	if err != nil {
		return nil, err
	}
	for line := range bytes.Lines(data) {
		var t Tick
		if json.Unmarshal(line, &t) == nil && t.Unit != "" {
			all = append(all, t)
		}
	}
	return all, nil
}

// tickBox ticks the box of a unit, or takes that back: for the words that the page
// showed, and only while they are what is read.
func tickBox(p *Page) (string, error) {
	p.desk.writing.Lock()
	defer p.desk.writing.Unlock()
	c, err := p.change()
	if err != nil {
		return "", err
	}
	t := Tick{At: time.Now().Truncate(time.Second), Heading: p.Ask("for"), Unit: p.Ask("unit"), Says: p.Ask("says"), Ticked: p.Ask("ticked") == "true"}
	there := func() bool {
		return c != nil && slices.Equal(c.Sentences, p.Request.Form["read"]) && slices.ContainsFunc(c.Groups, func(g TickGroup) bool {
			return g.Heading == t.Heading && slices.ContainsFunc(g.Boxes, func(b TickBox) bool { return b.Unit == t.Unit && b.Says == t.Says })
		})
	}
	if !there() {
		return "", errors.New("the change is another than this page showed: look at it and tick again; nothing was kept")
	}
	t.Read = c.Sentences
	if err := p.desk.mayWrite(path.Dir(p.File)); err != nil {
		return "", err
	}
	line, err := json.Marshal(t)
	if err != nil {
		return "", err
	}
	j, data, err := publish.OpenJournal(filepath.FromSlash(ticksName(p.File)))
	if err != nil {
		return "", err
	}
	defer j.Close()
	if len(data) > 0 && data[len(data)-1] != '\n' { // a line that broke off
		line = append([]byte("\n"), line...)
	}
	if err := j.Add(append(line, '\n')); err != nil {
		return "", err
	}
	j.SyncName()
	p.desk.pages.wake()
	return "", nil
}
