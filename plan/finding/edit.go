package finding

import (
	"cmp"
	"slices"
)

// Position is a place in the text of a file. Line and Column count from 1, and
// columns count characters; Offset counts bytes from 0, over the file as it lies
// on the disk.
type Position struct {
	Line   int `json:"line"`
	Column int `json:"column"`
	Offset int `json:"offset"`
}

// Change puts New in place of Old, which stands between From and To.
type Change struct {
	File string   `json:"file"`
	From Position `json:"from"`
	To   Position `json:"to"`
	Old  string   `json:"old"` // what stands there: whoever applies the change can see whether the file is still the same
	New  string   `json:"new"`
}

// Edit is help that a program can carry out: changes that belong together, and
// what they do in the words of a help. Package plan/edit makes them.
type Edit struct {
	Title   string   `json:"title"` // what to type or do, lower case, no full stop
	Changes []Change `json:"changes"`
	// Choose tells that the finding offers several edits, and a person must
	// choose one.
	Choose bool `json:"choose"`
	// ByHand tells that the edit touches what only a person who knows the plan
	// may change: a command, air-to-ground, medical or guard channel, what a
	// channel is called, or one of several frequencies. Nothing asks to apply it.
	ByHand bool `json:"by_hand"`
}

// Offer adds edits to the finding, and their titles to its help, so that words
// and changes cannot disagree. An edit without changes gives its words alone.
func (f *Finding) Offer(edits ...Edit) {
	for _, e := range edits {
		if e.Title == "" {
			continue
		}
		f.Help = append(f.Help, e.Title)
		if len(e.Changes) > 0 {
			f.Edits = append(f.Edits, e)
		}
	}
	f.settle()
}

// Keep drops the edits that keep does not want, and their words.
func (f *Finding) Keep(keep func(Edit) bool) {
	var kept []Edit
	help := slices.Clone(f.Help)
	for _, e := range f.Edits {
		if keep(e) {
			kept = append(kept, e)
		} else if i := slices.Index(help, e.Title); i >= 0 {
			help = slices.Delete(help, i, i+1)
		}
	}
	f.Edits, f.Help = kept, help
	f.settle()
}

func (f *Finding) settle() {
	for i := range f.Edits {
		f.Edits[i].Choose = len(f.Edits) > 1
	}
}

// Sort orders the changes of an edit by file, and then as they stand in it.
func (e *Edit) Sort() {
	slices.SortStableFunc(e.Changes, func(a, b Change) int {
		return cmp.Or(cmp.Compare(a.File, b.File), cmp.Compare(a.From.Offset, b.From.Offset), cmp.Compare(a.To.Offset, b.To.Offset))
	})
}
