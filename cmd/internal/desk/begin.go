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
}

// Begin is how a plan begins from a sheet.
type Begin struct {
	Loads []Choice
	Plans []string // whose units and settings can be kept
	Asked map[string]string
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
