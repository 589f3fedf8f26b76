package desk

import (
	"slices"
	"strconv"
	"strings"

	"slotcard/cmd/internal/papers"
)

func init() {
	register(&View{Name: "sheets", Title: "Sheets", Place: 40, Kinds: []string{"plan"}, Last: true, Data: sheetsData})
	register(&View{Name: "book", Title: "Book", Place: 10, Kinds: []string{"load"}, Last: true, Data: sheetsData})
}

// Paper is what there is of one kind of paper.
type Paper struct {
	Pages, Sheets int
	Paper         string
}

// paperCount counts the pages and the sheets of paper of a document.
func paperCount(s *papers.Sheet) Paper {
	if s.Doc == nil {
		return Paper{}
	}
	n := len(s.Doc.Pages)
	return Paper{n, s.Leaves(), s.Paper}
}

// Sheets is a paper, page by page.
type Sheets struct {
	Kinds   []Choice
	Said    string // how to print it
	Page    int
	Pages   int
	Count   Paper
	Drawing Drawing
	Before  string
	After   string
	Zooms   []Choice
	Zoom    string
	Not     string // why there is none
}

// kind is a paper that can be shown, with the flags that make it.
type kind struct {
	choice Choice
	flags  map[string]string
	since  bool // needs a plan to compare with
}

// titles are what papers are called, with their form where they have several.
var titles = map[string]string{
	"cards": "Cards on paper", "wall list": "Wall sheet", "wall grid": "Wall grid", "wall clip": "Wall sheet for the clipboard", "handout": "Hand-out sheets",
	"changes": "Change sheet", "strips": "Strips", "compare": "Old list beside the new one", "fire ring": "The fire", "fire lines": "The fire, with what disturbs what",
}

// kinds are all papers of a plan, in all their forms, as they are registered.
func (p *Page) kinds() (all []kind) {
	for _, paper := range papers.All() {
		if paper.Load {
			continue
		}
		add := func(value, flag string) {
			name := titles[value]
			if name == "" {
				name = strings.ToUpper(paper.Name[:1]) + paper.Name[1:]
			}
			all = append(all, kind{Choice{Value: value, Name: name}, map[string]string{paper.Name: flag}, slices.Contains([]string{"changes", "compare", "strips"}, paper.Name)})
		}
		if paper.Forms == nil {
			add(paper.Name, "true")
		}
		for _, form := range paper.Forms {
			add(paper.Name+" "+form, form)
		}
	}
	return all
}

func sheetsData(p *Page) (any, error) {
	v := &Sheets{Zoom: p.Ask("zoom"), Zooms: chosen(p, "zoom", []Choice{{Value: "", Name: "Fit", Key: "0"}, {Value: "1", Name: "True size", Key: "+"}})}
	if p.State.Good == nil {
		return nil, errNothing
	}
	flags := map[string]string{}
	if p.State.Good.Plan == nil { // a load
		flags["pages"] = "true"
	} else {
		since := p.before()
		kind := p.Ask("paper")
		if kind == "" {
			kind = "wall list"
		}
		for _, k := range p.kinds() {
			if k.since && since == "" {
				continue
			}
			c := k.choice
			c.Address, c.Here = p.At("sheets", "paper", c.Value), c.Value == kind
			v.Kinds = append(v.Kinds, c)
			if c.Here {
				for name, value := range k.flags {
					flags[name] = value
				}
				if k.since {
					flags["since"] = since
				}
			}
		}
	}
	m, err := p.State.Good.make(p.Ctx(), flags, false)
	if err != nil {
		v.Not = whyNot(err).Error()
		return v, nil
	}
	if len(m.job.Sheets) == 0 || m.job.Sheets[0].Doc == nil {
		v.Not = "there is no such paper of this plan"
		return v, nil
	}
	s := m.job.Sheets[0]
	v.Said, v.Pages, v.Page, v.Count = s.Said(), len(s.Doc.Pages), 1, paperCount(s)
	if n, err := strconv.Atoi(p.Ask("page")); err == nil && 1 <= n && n <= v.Pages {
		v.Page = n
	}
	if v.Page > 1 {
		v.Before = p.With("page", v.Page-1)
	}
	if v.Page < v.Pages {
		v.After = p.With("page", v.Page+1)
	}
	label := strings.TrimSpace(s.Name) + ", page " + strconv.Itoa(v.Page) + " of " + strconv.Itoa(v.Pages)
	v.Drawing, err = draw(&s.Doc.Pages[v.Page-1], label, s.Doc.Language)
	return v, err
}
