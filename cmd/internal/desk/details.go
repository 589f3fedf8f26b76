package desk

import (
	"cmp"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"slotcard/plan"
	"slotcard/plan/build"
	"slotcard/plan/rules"
	"slotcard/plan/tomlfile"
)

func init() {
	register(&View{Name: "details", Title: "Every field", Place: 22, Kinds: []string{"plan", "load", "station"}, Data: detailsData,
		Do: map[string]func(*Page) (string, error){"set": setDetail, "add": addDetail, "delete": deleteDetail, "up": detailUp, "down": detailDown}})
}

// Details are the tables of a file whose keys have no page of their own: the sites and
// tones of a load, the exceptions of a plan, how it prints, all of a station file.
type Details struct {
	Parts     []Choice
	Kind      build.Kind
	Title     string
	Says      string
	From      string   // where it comes from so far
	Inherited []string // titles of the station's
	Own       *OwnPage // where rows are added and moved
	Rows      []DetailRow
	Edit      *DetailForm // of a new row
	Add       string      // address of the form for a new row
	Change    string      // what the button for it says
	Told      []string    // what the last change does to plans
	Escape    string
}

// OwnPage is a page on which a kind of table is worked on.
type OwnPage struct{ Name, Address string }

// DetailRow is a table of the file.
type DetailRow struct {
	I       int
	Title   string
	Says    []string // keys and values
	Was     string   // tells it from another that stands in its place later
	Address string
	Here    bool
	Moves   bool
	Found   []RowFinding
	Edit    *DetailForm
}

// DetailForm is a row that is being changed, or added.
type DetailForm struct {
	I            int
	Part, Was    string
	Add          bool
	Fields       []DetailField
	Breaks       []string // plans that would lose a channel
	Escape       string
	Moves, Goes  bool // it can be moved, deleted
	First, Label string
}

// DetailField is a key.
type DetailField struct {
	build.TableKey
	Value   string
	Here    bool // of a box: ticked
	Options []string
}

// partTitles are what kinds of table are called; others are called by their key.
var partTitles = map[string]string{
	"": "Its other files", "radio": "What the radios can do", "tone": "Numbered tones", "site": "Repeater sites", "group": "Groups",
	"slot": "Slots of the list", "position": "Kinds of seat", "unit": "Units", "also": "Beside the list", "accept": "Exceptions", "card": "How it prints", "stock": "Pre-cut paper",
}

// partSays are what is said of kinds of table beside their titles.
var partSays = map[string]string{
	"": "Files are named as they lie beside this one", "tone": "A site names its tone by the number: where that changes here, it follows there",
	"site": "A plan chooses one of these for a channel whose transmit tone is “site”", "group": "Channels are added and changed on Channels; with a group, all of its channels are deleted",
	"also": "On the card, but not in the list: the way there, the dispatcher, a talkgroup", "accept": "What the checks find and somebody answers for; it is quickest to accept a finding where it stands, on Findings",
	"card": "What Print begins with", "stock": "Paper that comes with its cards cut or perforated, by its measures",
}

// partOnes are what one of them is called.
var partOnes = map[string]string{
	"tone": "a tone", "site": "a site", "group": "a group", "position": "a kind of seat", "unit": "a unit", "also": "a channel beside the list", "accept": "an exception", "card": "how it prints", "stock": "pre-cut paper",
}

// elsewhere are the kinds of table that a page of their own sets wholly, and which; in a
// station file there is none.
var elsewhere = map[string]string{"incident": "incident", "division": "divisions", "unit": "roster", "load": "load"}

// addedAt are the kinds of table whose rows a page of their own adds and moves.
var addedAt = map[string]string{"slot": "list"}

// shownHere tells whether a kind of table is set on this page.
func shownHere(state, kind string) bool { return state == "station" || elsewhere[kind] == "" }

func (p *Page) tables() (*build.Tables, error) {
	return build.OpenTables(filepath.FromSlash(p.File), p.State.Text)
}

// part is the kind of table that is asked for: the first one where none is.
func (p *Page) part(w *build.Tables) build.Kind {
	var first build.Kind
	for _, k := range slices.Backward(w.Kinds()) {
		if !shownHere(p.State.Kind, k.Key) {
			continue
		}
		if first = k; p.Request.Form.Has("table") && k.Key == p.Ask("table") {
			return k
		}
	}
	return first
}

func detailsData(p *Page) (any, error) {
	w, err := p.tables()
	if err != nil {
		return nil, err
	}
	_ = p.Ask("table") // reads the form
	k := p.part(w)
	v := &Details{Kind: k, Title: cmp.Or(partTitles[k.Key], k.Key), Says: partSays[k.Key], Escape: p.At("details", "table", k.Key)}
	for _, o := range w.Kinds() {
		if shownHere(p.State.Kind, o.Key) {
			c := Choice{Name: cmp.Or(partTitles[o.Key], o.Key), Address: p.At("details", "table", o.Key), Here: o.Key == k.Key}
			if o.Several {
				c.Value = strconv.Itoa(len(w.Lines(o)))
			}
			v.Parts = append(v.Parts, c)
		}
	}
	if view := addedAt[k.Key]; view != "" && p.State.Kind == "plan" {
		v.Own = &OwnPage{registered[view].Title, p.At(view)}
	}
	if told := p.desk.told.get(p.Ask("told")); told != nil {
		v.Told = *told
	}
	failed := p.Failed != "" && p.Ask("do") != ""
	edit := p.Ask("edit")
	if failed && p.Ask("do") != "add" {
		edit = p.Ask("i")
	}
	lines := w.Lines(k)
	for i, l := range lines {
		row := DetailRow{I: i, Title: l.Title, Was: rowKey(k, l), Address: p.At("details", "table", k.Key, "edit", i), Here: p.Ask("at") == strconv.Itoa(i), Moves: k.Several && v.Own == nil, Found: p.findingsOfRow(l.Table, k)}
		for _, key := range k.Keys {
			if s := l.Values[key.Key]; s != "" && s != l.Title {
				if key.YesNo {
					s = "yes"
				}
				s = strings.ReplaceAll(strings.TrimSpace(s), "\n", ", ")
				if !strings.HasPrefix(s, key.Key+" ") {
					s = key.Title() + ": " + s
				}
				row.Says = append(row.Says, s)
			}
		}
		if edit == strconv.Itoa(i) || !k.Several && edit == "" && !failed {
			row.Edit = p.detailForm(k, l.Values, failed)
			row.Edit.I, row.Edit.Was = i, row.Was
			row.Edit.Label = cmp.Or(l.Title, v.Title)
			row.Edit.Moves, row.Edit.Goes = row.Moves, v.Own == nil && (k.Several || !k.Required)
			if k.Several {
				row.Edit.Escape = p.At("details", "table", k.Key, "at", i)
			}
		}
		v.Rows = append(v.Rows, row)
	}
	values := map[string]string{} // of a new row
	if inherited := w.Inherited(k, p.station()); len(inherited) > 0 {
		v.From = "The plan says nothing of its own here, so that the station’s file holds"
		if k.Several {
			v.From += ". What is added is added to that: the plan then has it all as its own, and the station’s file stays as it is"
			for _, l := range inherited {
				v.Inherited = append(v.Inherited, l.Title)
			}
		} else {
			v.From += ". What is saved here becomes the plan’s own, and the station’s file stays as it is"
			values = inherited[0].Values
		}
	}
	if one := partOnes[k.Key]; one != "" && v.Own == nil && (k.Several || len(lines) == 0) {
		v.Change = "Add " + one
		v.Add = p.At("details", "table", k.Key, "add", "1")
		if !k.Several {
			v.Change = "Say " + one
		}
		if p.Ask("add") != "" || failed && p.Ask("do") == "add" {
			v.Edit = p.detailForm(k, values, failed)
			v.Edit.Add, v.Edit.Escape, v.Edit.Label = true, v.Escape, v.Change
		}
	}
	return v, nil
}

// station is the base of the plan; nil: it has none.
func (p *Page) station() *plan.Station {
	if p.State.Plan == nil {
		return nil
	}
	return p.State.Plan.Plan.Station
}

// detailForm is the form for the keys of a row; what was typed and refused stays in it.
func (p *Page) detailForm(k build.Kind, values map[string]string, failed bool) *DetailForm {
	f := &DetailForm{Part: k.Key, Breaks: p.breaks}
	typed := failed && p.Ask("typed") != ""
	for _, key := range k.Keys {
		field := DetailField{TableKey: key, Value: values[key.Key]}
		if typed {
			field.Value = p.Ask(key.Key)
		}
		field.Here = key.YesNo && field.Value != ""
		field.Options = p.options(k.Key, key.Key)
		f.Fields = append(f.Fields, field)
	}
	return f
}

// options are values to choose from that a key may have beside others.
func (p *Page) options(part, key string) (all []string) {
	switch key {
	case "rule":
		for _, r := range rules.All() {
			all = append(all, r.ID)
		}
	case "priority":
		all = plan.SelectorWords()
	case "division":
		if p.State.Plan != nil {
			for _, d := range p.State.Plan.Plan.Divisions {
				all = append(all, d.ID)
			}
		}
	case "site":
		if p.State.Load != nil {
			for _, s := range p.State.Load.Sites {
				all = append(all, s.Name)
			}
		}
	case "channel":
		if p.State.Load != nil && part != "site" {
			for _, c := range p.State.Load.Channels() {
				if !slices.Contains(all, c.Name) {
					all = append(all, c.Name)
				}
			}
		}
	}
	return all
}

// rowKey tells a row from another of its kind, and from itself with other values.
func rowKey(k build.Kind, l build.Line) string {
	var b strings.Builder
	for _, key := range k.Keys {
		b.WriteString(key.Key + "=" + l.Values[key.Key] + "\x00")
	}
	return textKey(b.String())
}

// findingsOfRow are the findings at the keys of a table.
func (p *Page) findingsOfRow(t tomlfile.Table, k build.Kind) (out []RowFinding) {
	switch t.Form() {
	case tomlfile.Headed:
		return p.findingsAt(t.At("").Line)
	case tomlfile.AtTop:
		for _, key := range k.Keys {
			if t.Has(key.Key) {
				out = append(out, p.findingsOn(t.At(key.Key).Line)...)
			}
		}
		return out
	case tomlfile.Nowhere:
		return nil
	}
	return p.findingsOn(t.At("").Line)
}

// Helps are what the keys mean, as the files' own descriptions say it.
func (v *Details) Helps() (out []Help) {
	for _, k := range v.Kind.Keys {
		out = append(out, Help{Field: k.Key, Title: k.Title(), Says: k.Doc})
	}
	return append(out, Help{Field: "sure", Title: "All the same", Says: "plans of this folder name what is changed: change them, too, before they are printed"})
}

// detail makes a change of the tables of one kind, and shows row at of them.
func (p *Page) detail(change func(w *build.Tables, k build.Kind) (at int, err error)) (string, error) {
	at := 0
	part := p.Ask("table")
	told, err := p.rewrite(func() ([]byte, error) {
		w, err := p.tables()
		if err != nil {
			return nil, err
		}
		k, err := w.Kind(part)
		if err != nil {
			return nil, err
		}
		if !shownHere(p.State.Kind, part) {
			return nil, errChanged
		}
		if at, err = change(w, k); err != nil {
			return nil, err
		}
		return w.Text(), nil
	})
	if err != nil {
		return "", err
	}
	return p.At("details", "table", part, "at", at, "told", told), nil
}

// onRow does something to the row that a form is about.
func (p *Page) onRow(change func(w *build.Tables, k build.Kind, i int) (int, error)) (string, error) {
	return p.detail(func(w *build.Tables, k build.Kind) (int, error) {
		i, err := strconv.Atoi(p.Ask("i"))
		lines := w.Lines(k)
		if err != nil || i < 0 || i >= len(lines) || rowKey(k, lines[i]) != p.Ask("was") {
			return 0, errChanged
		}
		return change(w, k, i)
	})
}

// typedKeys are what stands in the fields of the form.
func (p *Page) typedKeys(k build.Kind) map[string]string {
	values := map[string]string{}
	for _, key := range k.Keys {
		values[key.Key] = p.Ask(key.Key)
	}
	return values
}

func setDetail(p *Page) (string, error) {
	return p.onRow(func(w *build.Tables, k build.Kind, i int) (int, error) { return i, w.Set(k, i, p.typedKeys(k)) })
}

func addDetail(p *Page) (string, error) {
	return p.detail(func(w *build.Tables, k build.Kind) (int, error) { return w.AddTo(k, p.station(), p.typedKeys(k)) })
}

func deleteDetail(p *Page) (string, error) {
	return p.onRow(func(w *build.Tables, k build.Kind, i int) (int, error) { return max(0, i-1), w.Delete(k, i) })
}

func detailUp(p *Page) (string, error)   { return p.moveDetail(-1) }
func detailDown(p *Page) (string, error) { return p.moveDetail(1) }

func (p *Page) moveDetail(by int) (string, error) {
	return p.onRow(func(w *build.Tables, k build.Kind, i int) (int, error) { return i + by, w.Move(k, i, i+by) })
}

// acceptFinding writes that somebody answers for a finding. Where a plan has those of its
// station so far, they become its own: else they would no longer hold.
func acceptFinding(p *Page) (string, error) {
	_, err := p.rewrite(func() ([]byte, error) {
		if p.Ask("key") != p.State.Key() {
			return nil, errChanged
		}
		n, _ := strconv.Atoi(p.Ask("n"))
		if n < 1 || n > len(p.State.Findings) || rules.HowToAccept(p.State.Findings[n-1]) == nil {
			return nil, errChanged
		}
		w, err := p.tables()
		if err != nil {
			return nil, err
		}
		k, err := w.Kind("accept")
		if err != nil {
			return nil, err
		}
		f := p.State.Findings[n-1]
		for _, subject := range rules.AcceptableAs(f) {
			if _, err := w.AddTo(k, p.station(), map[string]string{"rule": f.Rule, "subject": subject, "because": p.Ask("because"), "by": p.Ask("by")}); err != nil {
				return nil, err
			}
		}
		return w.Text(), nil
	})
	if err != nil {
		return "", err
	}
	return p.At("findings"), nil
}
