package report

import (
	"slotcard/cmd/internal/voice"
	"slotcard/plan"
	"slotcard/plan/channellist"
)

// LoadChanges prints what changes between two loads. The last line counts it.
func LoadChanges(v *voice.Voice, c channellist.Changes) {
	for _, line := range c.Other {
		v.Folded(line, "", "  ")
	}
	for _, p := range c.Pairs {
		if p.Change != channellist.Same {
			v.Folded(p.Change.String()+": "+p.What(), "", "  ")
		}
	}
	if c.Empty() {
		v.Say("the same")
		return
	}
	v.Say("%s", PairTally(c.Pairs))
}

// LoadDiffDocument is the JSON document of diff of two loads. Field names stay.
type LoadDiffDocument struct {
	Same     bool           `json:"same"`
	Old      LoadDiffFile   `json:"old"`
	New      LoadDiffFile   `json:"new"`
	Load     []string       `json:"load"`
	Channels []LoadDiffPair `json:"channels"`
	Counts   map[string]int `json:"counts"`
}

// LoadDiffFile is one of the two loads.
type LoadDiffFile struct {
	File    string `json:"file"`
	Name    string `json:"name"`
	Edition string `json:"edition"`
}

// LoadDiffPair is a channel that changed, with where it stood and stands.
type LoadDiffPair struct {
	Change string `json:"change"`
	Name   string `json:"name"`
	Was    string `json:"old_place,omitempty"`
	Is     string `json:"new_place,omitempty"`
	Says   string `json:"says"`
}

// LoadDiff fills the document.
func LoadDiff(old, now LoadDiffFile, a, b *plan.Load, c channellist.Changes) LoadDiffDocument {
	old.Name, old.Edition, now.Name, now.Edition = a.About.Name, a.About.Edition, b.About.Name, b.About.Edition
	d := LoadDiffDocument{Same: c.Empty(), Old: old, New: now, Load: append([]string{}, c.Other...), Channels: []LoadDiffPair{}, Counts: map[string]int{}}
	all := b.Channels()
	for i, p := range c.Pairs {
		d.Counts[p.Change.String()]++
		if p.Change == channellist.Same {
			continue
		}
		x := LoadDiffPair{Change: p.Change.String(), Says: p.What()}
		if p.Load != nil {
			x.Name, x.Was = p.Load.Name, p.Load.Place()
		}
		if p.Now != nil { // pairs stand in the order of the new load
			x.Name, x.Is = p.Now.Name, all[i].Place()
		}
		d.Channels = append(d.Channels, x)
	}
	return d
}
