package desk

import (
	"encoding/json"
	"errors"
	"fmt"
	"path"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"sync"

	"slotcard/cmd/internal/history"
	"slotcard/plan"
	"slotcard/plan/build"
	"slotcard/plan/tomlfile"
)

func init() {
	register(&View{Name: "draft", Title: "Paste a sheet", Kinds: []string{"folder"}, Data: draftData,
		Do: map[string]func(*Page) (string, error){"make": makeDraft, "pick": pickChoice, "leave": leaveOut, "seen": seenCell, "go": goOn}})
}

// A communications plan sheet on its way to a plan, as draft makes it: each line of the
// sheet beside its slot. What must be decided and what was not read is gone through one
// by one; the first that is left is the current one, and keys are about it.

// Drafting is the page.
type Drafting struct {
	*Begin
	Drafted *Drafted
}

// Drafted is what came of a sheet.
type Drafted struct {
	File   string
	Slots  int
	Rows   []*SheetRow
	Around []*SheetCell // not read, outside of the table
	Others []string     // sheets of the workbook that were not read
	Decide []Decision   // about no slot
	Unseen int          // cells that were not read, nor looked at
	Left   int          // decisions about slots
	Made   string

	Current string // what the keys are about: "row 3" or "cell 2"; "": nothing is left

	cellsFirst bool // somebody wanted to go on
	mu         sync.Mutex
}

// SheetRow is a line of the sheet, and the slot that it became.
type SheetRow struct {
	Line   int `json:"sheet_line"`
	Cells  []*SheetCell
	Notes  []string
	Decide []SheetQuestion

	Slot    int           `json:"slot_of_plan"` // from 0; -1: left out
	Name    string        `json:"slot_name"`    // how it names its channel, to be told from others
	Found   string        `json:"-"`            // the channel; "": none yet
	Use     string        `json:"-"`
	Current bool          `json:"-"`
	Picks   []SheetChoice `json:"-"` // of the first question
}

// SheetCell is a cell of the sheet.
type SheetCell struct {
	Line   int `json:"sheet_line"`
	Column string
	Title  string
	Text   string
	Where  string
	Read   bool

	Made    string `json:"-"`
	N       int    `json:"-"`         // among those that were not read
	Seen    bool   `json:"looked_at"` // somebody looked at it
	Current bool   `json:"-"`
}

// SheetQuestion is what must be decided about a row.
type SheetQuestion struct {
	What    string
	Choices []SheetChoice
}

// SheetChoice is one way to decide.
type SheetChoice struct {
	Says, Place, Site string
	Division          bool

	ID string `json:"-"` // of the division
}

// Decision is what a person must decide in a draft.
type Decision struct {
	Line  int    `json:"line"`
	Row   int    `json:"sheet_line"`
	Where string `json:"where"`
	What  string `json:"what"`
}

// picks are the choices that a key can make: of channels, or of divisions.
func (q *SheetQuestion) picks(pl *plan.Plan) (all []SheetChoice) {
	for _, c := range q.Choices {
		switch {
		case c.Division:
			for _, d := range pl.Divisions {
				all = append(all, SheetChoice{Says: "for " + d.Title(), Division: true, ID: d.ID})
			}
			return append(all, SheetChoice{Says: "for everybody", Division: true})
		case c.Place == "":
		case c.Site == "" && slices.ContainsFunc(q.Choices, func(o SheetChoice) bool { return o.Place == c.Place && o.Site != "" }):
			// its repeaters are to choose from
		default:
			// The file wants a line; a person, the name of the site.
			if said, ok := strings.CutPrefix(c.Says, "site = "+tomlfile.Quote(c.Site)); ok {
				c.Says = c.Site + said
			}
			all = append(all, c)
		}
	}
	return all
}

// unread are the cells that were not read, in the order of the page.
func (d *Drafted) unread() (cells []*SheetCell) {
	for _, r := range d.Rows {
		for _, c := range r.Cells {
			if !c.Read {
				cells = append(cells, c)
			}
		}
	}
	return append(cells, d.Around...)
}

// look finds what each row is in the plan as it lies on the disk, and what is left.
func (d *Drafted) look(p *Page) {
	d.Made, d.Current, d.Unseen, d.Left = p.Ask("made"), "", 0, 0
	st := p.desk.shelf.get(d.File)
	var w *build.Work
	if st.Load != nil {
		w, _ = build.Open(filepath.FromSlash(d.File), st.Text, st.Load, nil)
	}
	for _, c := range d.unread() {
		c.Current = false
		if !c.Seen {
			d.Unseen++
		}
	}
	for n, r := range d.Rows {
		r.Found, r.Use, r.Current, r.Picks = "", "", false, nil
		if w == nil || r.Slot < 0 || r.Slot >= len(w.Plan().Slots) {
			continue
		}
		if r.Name == "" {
			r.Name = w.Name(r.Slot)
		}
		if st.Plan != nil && r.Slot < len(st.Plan.Plan.Slots) && len(r.Decide) == 0 {
			for _, s := range st.Plan.Slots {
				if s.Slot == st.Plan.Plan.Slots[r.Slot] {
					r.Found, r.Use = s.Channel.String(), s.Use.String()
					if s.Site != "" {
						r.Found += ", repeated by " + s.Site
					}
				}
			}
		}
		if len(r.Decide) > 0 {
			d.Left++
			r.Picks = r.Decide[0].picks(w.Plan())
			if d.Current == "" && !d.cellsFirst {
				d.Current, r.Current = fmt.Sprintf("row %d", n), true
			}
		}
		for _, c := range r.Cells {
			d.turn(c)
		}
	}
	for _, c := range d.Around {
		d.turn(c)
	}
	if d.Current == "" && d.cellsFirst { // all are seen: the decisions again
		d.cellsFirst = false
		for n, r := range d.Rows {
			if len(r.Decide) > 0 {
				d.Current, r.Current = fmt.Sprintf("row %d", n), true
				break
			}
		}
	}
	for n, c := range d.unread() {
		c.N, c.Made = n, d.Made
	}
}

// turn makes a cell the current one, where it is the first that is left.
func (d *Drafted) turn(c *SheetCell) {
	if d.Current == "" && !c.Read && !c.Seen {
		d.Current, c.Current = "cell", true
	}
}

// draftFields are what a sheet may leave out: flags of draft, by the name of the field.
var draftFields = []string{"incident", "number", "period", "from", "to", "offset", "prepared-by", "keep"}

func draftData(p *Page) (any, error) {
	v := &Drafting{Begin: p.begin(append(draftFields, "name", "load", "text", "exercise", "aircraft")...)}
	if v.Drafted = p.desk.drafted(p.Ask("made")); v.Drafted != nil {
		v.Drafted.mu.Lock()
		defer v.Drafted.mu.Unlock()
		v.Drafted.look(p)
	}
	return v, nil
}

// makeDraft is the command draft: the plan is written, and the page shows what is left
// to decide and what of the sheet was not read.
func makeDraft(p *Page) (string, error) {
	data, err := uploaded(p.Request)
	if err != nil {
		return "", err
	}
	if data == nil {
		data = []byte(p.Ask("text"))
	}
	if strings.TrimSpace(string(data[:min(len(data), 4096)])) == "" {
		return "", errors.New("paste the sheet, or choose its file: nothing was written")
	}
	if kind, own := plan.OwnFile("", data); own {
		return "", fmt.Errorf("that is a %s, not a plan sheet: put it into the folder, and open it there; nothing was written", kind)
	}
	load := p.Ask("load")
	if !slices.Contains(p.loads(), load) {
		return "", errors.New("choose the load that is in the radios: nothing was written")
	}
	typed := strings.TrimSpace(p.Ask("name"))
	for i := 1; typed == ""; i++ { // the first name that is free
		name := "from-sheet"
		if i > 1 {
			name = fmt.Sprintf("from-sheet-%d", i)
		}
		if _, err := p.desk.Folder.Lstat(path.Join(path.Dir(load), name+".toml")); err != nil {
			typed = name
		}
	}
	name, err := p.desk.newFile(path.Dir(load), typed)
	if err != nil {
		return "", err
	}
	args := []string{"draft", filepath.FromSlash(load), "-", "-o", filepath.FromSlash(name), "--json"}
	for _, f := range draftFields {
		value := strings.TrimSpace(p.Ask(f))
		switch {
		case value == "":
			continue
		case f == "keep":
			if !p.desk.mayOpen(value) {
				return "", errors.New("that plan is not in the folder any more: nothing was written")
			}
			value = filepath.FromSlash(value)
		}
		args = append(args, "--"+f+"="+value)
	}
	for _, f := range []string{"exercise", "aircraft"} {
		if yes := p.Ask(f); yes == "true" || yes == "false" {
			args = append(args, "--"+f+"="+yes)
		}
	}
	var doc struct {
		Slots   int
		Decide  []Decision
		NotRead []SheetCell `json:"not_read"`
		Others  []string    `json:"sheets_not_read"`
		Rows    []*SheetRow
	}
	if err := p.desk.answer(p, args, data, &doc); err != nil {
		if first, _, _ := strings.Cut(err.Error(), " "); slices.Contains([]string{"has", "is", "holds", "cannot"}, first) {
			err = fmt.Errorf("the sheet %w", err) // the command says its file in front
		}
		return "", err
	}
	if !p.desk.mayOpen(name) {
		return "", errors.New("no plan was written: see the findings of the load")
	}
	p.desk.pages.wake()
	d := &Drafted{File: name, Slots: doc.Slots, Rows: doc.Rows, Others: doc.Others}
	for i, r := range d.Rows {
		r.Slot = i
	}
	for _, o := range doc.Decide {
		if !strings.HasPrefix(o.Where, "slot ") {
			d.Decide = append(d.Decide, o)
		}
	}
	for _, c := range doc.NotRead {
		if c.Where == "" {
			d.Around = append(d.Around, &c)
		}
	}
	id := p.desk.drafts.keep(d)
	return address("draft", "", "made", id), p.keepDraft(id, d)
}

// keepDraft keeps what was looked at and decided, so that a desk that starts anew shows
// it as it was.
func (p *Page) keepDraft(id string, d *Drafted) error {
	data, err := json.Marshal(d)
	if err == nil {
		err = history.KeepNote(p.whole(), p.desk.Folder, id, data)
	}
	if err != nil {
		return fmt.Errorf("the plan is written, but what was looked at cannot be kept: %w", err)
	}
	return nil
}

// drafted is a sheet that was drafted here, or before this desk was started; nil: there
// is none, or its plan is not there any more.
func (d *desk) drafted(id string) *Drafted {
	if made := d.drafts.get(id); made != nil || id == "" {
		return made
	}
	made := new(Drafted)
	data, err := history.Note(d.Folder, id)
	if err != nil || json.Unmarshal(data, made) != nil || !d.mayOpen(made.File) {
		return nil
	}
	return d.drafts.again(id, made)
}

// draft makes a change of the drafted sheet that a form is about, and shows it again.
func (p *Page) draft(change func(d *Drafted) error) (string, error) {
	id := p.Ask("made")
	d := p.desk.drafted(id)
	if d == nil {
		return "", errors.New("this sheet is not kept any more: the plan that was drafted from it is in the folder, if it was not moved, and Findings says what is left to decide")
	}
	d.mu.Lock()
	defer d.mu.Unlock()
	if err := change(d); err != nil {
		return "", err
	}
	return address("draft", "", "made", id), p.keepDraft(id, d)
}

// seenCell notes that a cell that was not read was looked at.
func seenCell(p *Page) (string, error) {
	return p.draft(func(d *Drafted) error {
		n, err := strconv.Atoi(p.Ask("n"))
		if cells := d.unread(); err == nil && 0 <= n && n < len(cells) {
			cells[n].Seen = true
			return nil
		}
		return errChanged
	})
}

// goOn leaves the page for the plan, but not before every cell that was not read was
// looked at: until then it leads to the next one.
func goOn(p *Page) (string, error) {
	next := ""
	again, err := p.draft(func(d *Drafted) error {
		for _, c := range d.unread() {
			if !c.Seen {
				d.cellsFirst = true
				return nil
			}
		}
		if d.look(p); d.Current != "" || len(d.Decide) > 0 {
			next = address("findings", d.File)
		} else {
			next = address("list", d.File)
		}
		return nil
	})
	if next != "" {
		return next, err
	}
	return again, err
}

// decide makes a change of the slot of a row, in the plan as it lies on the disk.
func (p *Page) decide(change func(w *build.Work, d *Drafted, r *SheetRow) error) (string, error) {
	return p.draft(func(d *Drafted) error {
		n, err := strconv.Atoi(p.Ask("row"))
		if err != nil || n < 0 || n >= len(d.Rows) || d.Rows[n].Slot < 0 {
			return errChanged
		}
		r := d.Rows[n]
		p.File = d.File // the plan is what is changed
		defer func() { p.File, p.State = "", nil }()
		return p.build(func(w *build.Work) error {
			if r.Name != "" && w.Name(r.Slot) != r.Name {
				return errors.New("the list of the plan has changed since: decide in List; nothing was changed")
			}
			if err := change(w, d, r); err != nil {
				return err
			}
			for _, r := range d.Rows {
				r.Name = w.Name(r.Slot)
			}
			return nil
		})
	})
}

// pickChoice takes a choice of the first question of a row.
func pickChoice(p *Page) (string, error) {
	return p.decide(func(w *build.Work, _ *Drafted, r *SheetRow) error {
		n, err := strconv.Atoi(p.Ask("choice"))
		if err != nil || len(r.Decide) == 0 || r.Decide[0].What != p.Ask("what") {
			return errChanged
		}
		if all := r.Decide[0].picks(w.Plan()); 0 <= n && n < len(all) {
			c := all[n]
			if err := w.Decided(r.Slot, r.Decide[0].What); err != nil {
				return err
			}
			switch {
			case c.Division:
				err = w.UseSlot(r.Slot, fields(c.ID))
			default:
				channel := channelAt(p.State.Load, c.Place)
				if channel == nil {
					return errChanged
				}
				if err = w.PickSlot(r.Slot, channel, c.Site); err == nil && c.Site == "" && build.NeedsSite(p.State.Load, channel) {
					asked := SheetQuestion{What: "no repeater chosen for " + channel.Name}
					for _, s := range p.State.Load.SitesOf(channel) {
						asked.Choices = append(asked.Choices, SheetChoice{Says: s.Name + ", " + s.Squelch.String(), Place: c.Place, Site: s.Name})
					}
					r.Decide[0] = asked
					return nil
				}
			}
			if err == nil {
				r.Decide = r.Decide[1:]
			}
			return err
		}
		return errChanged
	})
}

// leaveOut takes the slot of a row out of the list.
func leaveOut(p *Page) (string, error) {
	return p.decide(func(w *build.Work, d *Drafted, r *SheetRow) error {
		if err := w.DeleteSlot(r.Slot); err != nil {
			return err
		}
		for _, o := range d.Rows {
			if o.Slot > r.Slot {
				o.Slot--
			}
		}
		r.Slot, r.Name, r.Decide = -1, "", nil
		return nil
	})
}
