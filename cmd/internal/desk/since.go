package desk

import (
	"errors"
	"slices"
	"strings"

	"slotcard/cmd/internal/report"
	"slotcard/plan"
	"slotcard/plan/channellist"
)

func init() {
	register(&View{Name: "since", Title: "Compare", Place: 45, Kinds: []string{"load"}, Data: sinceData})
}

// Since is what is new in a load since another one of the folder, in the words of diff.
type Since struct {
	Loads []Choice
	Old   string // the file
	Says  string // whose editions, and how many of each
	Same  bool
	Anew  bool // a radio has to be programmed
	Other []string
	Kinds []SinceKind
	Not   string
}

// SinceKind are the channels that changed in one way.
type SinceKind struct {
	Name string
	Rows []Choice // the sentence, and where the channel stands
}

// earlier is the load to compare with: the one that is asked for, or the latest of the
// folder that took effect before this one; "": none.
func (p *Page) earlier(all []string) string {
	if since := p.Ask("since"); slices.Contains(all, since) {
		return since
	}
	last, at := "", plan.Date{}
	for _, n := range all {
		if e := p.desk.shelf.get(n).Load.About.Effective; e.Before(p.State.Load.About.Effective) && (last == "" || at.Before(e)) {
			last, at = n, e
		}
	}
	return last
}

func sinceData(p *Page) (any, error) {
	if p.State.Load == nil {
		return nil, errors.New("the load cannot be read: see Findings")
	}
	v := &Since{}
	others := slices.DeleteFunc(p.loads(), func(n string) bool { return n == p.File })
	v.Old = p.earlier(others)
	for _, n := range others {
		about := p.desk.shelf.get(n).Load.About
		v.Loads = append(v.Loads, Choice{Name: strings.TrimSpace(about.Edition + " " + about.Colour + ", " + n), Address: p.With("since", n), Here: n == v.Old})
	}
	if v.Old == "" {
		v.Not = "no other load of this folder took effect before this one: choose one to compare it with"
		if len(others) == 0 {
			v.Not = "there is no other load without errors in this folder: put last year's here"
		}
		return v, nil
	}
	old := p.desk.shelf.get(v.Old).Load
	c := channellist.Between(old, p.State.Load)
	v.Same, v.Other, v.Says = c.Empty(), c.Other, report.PairTally(c.Pairs)
	for _, kind := range []channellist.Change{channellist.Retuned, channellist.Renamed, channellist.Added, channellist.Removed, channellist.Moved, channellist.Described} {
		k := SinceKind{Name: kind.String()}
		for i, pair := range c.Pairs {
			if pair.Change != kind {
				continue
			}
			row := Choice{Name: pair.What()}
			if pair.Now != nil { // pairs stand in the order of the load
				row.Address = p.At("load", "q", pair.Now.Name, "at", i)
			}
			k.Rows = append(k.Rows, row)
		}
		if len(k.Rows) > 0 {
			v.Kinds = append(v.Kinds, k)
			v.Anew = v.Anew || kind != channellist.Described
		}
	}
	return v, nil
}
