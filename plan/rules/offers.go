package rules

import (
	"fmt"

	"slotcard/plan"
	"slotcard/plan/edit"
	"slotcard/plan/finding"
	"slotcard/plan/tomlfile"
)

// offering is a finding with its help: edits, and words where there is no edit.
func offering(f finding.Finding, edits ...finding.Edit) finding.Finding {
	f.Offer(edits...)
	return f
}

// words are help that is no edit.
func words(text string) finding.Edit { return finding.Edit{Title: text} }

// carry adds a division to those that have a slot in their list.
func carry(s *plan.ResolvedSlot, d *plan.Division) finding.Edit {
	return edit.In(s.Table).AddItem(s.Table, "carried_by", d.ID).Edit("")
}

// work makes a division work on a slot that has none.
func work(s *plan.ResolvedSlot, d *plan.Division, title string) finding.Edit {
	return edit.In(s.Table).Set(s.Table, "division", d.ID).Edit(title)
}

// add puts a new [[slot]] of a channel behind another one of the plan, or in
// front of it.
func add(s *plan.ResolvedSlot, after bool, c *plan.Channel, title string) finding.Edit {
	slot := edit.Table{Header: "[[slot]]", Keys: pairs("channel", c.Name)}
	if after {
		return edit.In(s.Table).InsertAfter(s.Table, slot).Edit(title)
	}
	return edit.In(s.Table).InsertBefore(s.Table, slot).Edit(title)
}

// put gives a slot another channel, and takes out what the plan said of the one
// that it had.
func put(s *plan.ResolvedSlot, c *plan.Channel, title string) finding.Edit {
	e := edit.In(s.Table)
	for _, key := range []string{"group", "number", "rx", "tx", "rx_tone", "tx_tone", "site", "tone"} {
		if s.Has(key) {
			e.Delete(s.Table, key)
		}
	}
	return e.Set(s.Table, "channel", c.Name).Edit(title)
}

// tacticalInstead offers the channels of the load that may stand in place of a
// tactical, or the words alone where the load has none. Those of the group come
// first.
func tacticalInstead(r *plan.Resolved, s *plan.ResolvedSlot, group *plan.Group, limit int, otherwise string) []finding.Edit {
	var offers []finding.Edit
	for _, c := range directTacticals(r, group, limit) {
		offers = append(offers, put(s, c, fmt.Sprintf("in slot %d write channel = %q (%s, %s)", number(r, s), c.Name, c.Place(), pair(c.Rx, c.Tx))))
	}
	if offers == nil {
		return []finding.Edit{words(otherwise)}
	}
	return offers
}

// remove takes a table out of its file.
func remove(t tomlfile.Table, title string) finding.Edit {
	return edit.In(t).DeleteTable(t).Edit(title)
}

// pairs are the keys of a new table, a name before each value.
func pairs(keysAndValues ...any) tomlfile.Pairs {
	var p tomlfile.Pairs
	for i := 0; i+1 < len(keysAndValues); i += 2 {
		p = append(p, tomlfile.Pair{Key: keysAndValues[i].(string), Value: keysAndValues[i+1]})
	}
	return p
}
