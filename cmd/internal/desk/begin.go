package desk

import (
	"errors"
	"fmt"
	"path"
	"path/filepath"
	"slices"
	"strings"
)

func init() {
	register(&View{Name: "new", Title: "Try it with an invented exercise", Kinds: []string{"folder"}, Data: beginData,
		Do: map[string]func(*Page) (string, error){"make": makeFire}})
	register(&View{Name: "draft", Title: "Paste a sheet", Kinds: []string{"folder"}, Data: draftData,
		Do: map[string]func(*Page) (string, error){"make": makeDraft}})
}

// Begin is how a plan begins from a sheet.
type Begin struct {
	Loads   []Choice
	Plans   []string // whose units and settings can be kept
	Asked   map[string]string
	Drafted *Drafted
}

// Drafted is what came of a sheet.
type Drafted struct {
	File    string
	Slots   int
	Address string
	Decide  []Decision
	NotRead []Cell
}

// Decision is what a person must decide in a draft.
type Decision struct {
	Line  int    `json:"line"`
	Row   int    `json:"sheet_line"`
	Where string `json:"where"`
	What  string `json:"what"`
}

// Cell is a cell of a sheet that did not become part of the plan.
type Cell struct {
	Line   int    `json:"sheet_line"`
	Column string `json:"column"`
	Title  string `json:"title"`
	Text   string `json:"text"`
	Where  string `json:"where"`
}

// loads are those of the folder without errors, the newest edition first.
func (p *Page) loads() (names []string) {
	all, _ := p.desk.shelf.list()
	for _, n := range all {
		if st := p.desk.shelf.get(n); st.Kind == "load" && st.Load != nil && !st.Broken() {
			names = append(names, n)
		}
	}
	slices.SortStableFunc(names, func(a, b string) int {
		return strings.Compare(p.edition(b), p.edition(a))
	})
	return names
}

func (p *Page) edition(load string) string { return p.desk.shelf.get(load).Load.About.Edition }

// begin is the page with the loads, and what was typed where it was refused.
func (p *Page) begin(fields ...string) *Begin {
	v := &Begin{Asked: map[string]string{}}
	for _, n := range p.loads() {
		about := p.desk.shelf.get(n).Load.About
		v.Loads = append(v.Loads, Choice{Name: strings.TrimSpace(about.Edition + " " + about.Colour + " " + about.Name), Address: n, Here: n == p.Ask("load")})
	}
	all, _ := p.desk.shelf.list()
	for _, n := range all {
		if st := p.desk.shelf.get(n); st.Kind == "plan" && !st.Broken() {
			v.Plans = append(v.Plans, n)
		}
	}
	if p.Failed != "" {
		for _, f := range fields {
			v.Asked[f] = p.Ask(f)
		}
	}
	return v
}

// Exercise is an invented fire to try the desk with.
type Exercise struct{ Name string }

func beginData(p *Page) (any, error) {
	if p.Failed != "" {
		return Exercise{p.Ask("name")}, nil
	}
	name := "exercise"
	for n := 2; ; n++ {
		if _, err := p.desk.Folder.Lstat(name); err != nil {
			return Exercise{name}, nil
		}
		name = fmt.Sprintf("exercise-%d", n)
	}
}

// makeFire is the command new: a folder with load, station and plan of the exercise.
func makeFire(p *Page) (string, error) {
	file, err := p.desk.newFile(".", p.Ask("name"))
	if err != nil {
		return "", err
	}
	dir := strings.TrimSuffix(file, ".toml")
	if _, err := p.desk.Folder.Lstat(dir); err == nil {
		return "", errors.New(dir + " is there already: give another name; nothing was written")
	}
	if err := p.command([]string{"new", filepath.FromSlash(dir)}, nil); err != nil {
		return "", err
	}
	return address("cards", path.Join(dir, "plan.toml")), nil
}

// draftFields are what a sheet may leave out: flags of draft, by the name of the field.
var draftFields = []string{"incident", "number", "period", "from", "to", "offset", "prepared-by", "keep"}

func draftData(p *Page) (any, error) {
	v := p.begin(append(draftFields, "name", "load", "text", "exercise", "aircraft")...)
	v.Drafted = p.desk.drafts.get(p.Ask("made"))
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
	load := p.Ask("load")
	if !slices.Contains(p.loads(), load) {
		return "", errors.New("choose the load that is in the radios: nothing was written")
	}
	name, err := p.desk.newFile(path.Dir(load), p.Ask("name"))
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
		Slots   int        `json:"slots"`
		Decide  []Decision `json:"decide"`
		NotRead []Cell     `json:"not_read"`
	}
	if err := p.desk.answer(p, args, data, &doc); err != nil {
		return "", err
	}
	if !p.desk.mayOpen(name) {
		return "", errors.New("no plan was written: see the findings of the load")
	}
	p.desk.pages.wake()
	id := p.desk.drafts.keep(&Drafted{File: name, Slots: doc.Slots, Address: address("file", name), Decide: doc.Decide, NotRead: doc.NotRead})
	return "/draft/?made=" + id, nil
}
