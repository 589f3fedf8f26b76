package build

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"slotcard/plan"
	"slotcard/plan/edit"
	"slotcard/plan/radio"
	"slotcard/plan/tomlfile"
)

// order is where uses stand in a list: command first and guard last, so that both are
// found in the dark (common practice); what is between is ours.
var order = []radio.Use{radio.Command, radio.Tactical, radio.AirToGround, radio.Support, radio.Medical, radio.Travel, radio.Guard}

func rank(u radio.Use) int { return slices.Index(order, u) }

// Left is how many slots may still be added: the longest list leaves one position of
// the radio empty behind guard, where it warns.
func (w *Work) Left() int {
	longest := 0
	if r := w.resolved(); r != nil {
		for _, l := range r.Lists {
			longest = max(longest, len(l.Slots))
		}
		longest = max(longest, b2i(len(r.Lists) == 0)*len(w.plan.Slots))
		longest += len(r.Unresolved)
	}
	return w.load.Radio.ListPositions - 1 - longest
}

func b2i(b bool) int {
	if b {
		return 1
	}
	return 0
}

// pick is how a slot names a channel of a load: by display name, or by its place
// where the name alone is ambiguous.
func pick(l *plan.Load, c *plan.Channel) tomlfile.Pairs {
	for _, o := range l.Channels() {
		if o.Name == c.Name && o.Programming() != c.Programming() {
			return tomlfile.Pairs{{Key: "group", Value: c.Group.Number}, {Key: "number", Value: c.Number}}
		}
	}
	return tomlfile.Pairs{{Key: "channel", Value: c.Name}}
}

// NeedsSite tells whether a repeater has to be chosen for a channel, which then is
// one of the sites that repeat it.
func NeedsSite(l *plan.Load, c *plan.Channel) bool {
	return c.TxTone == radio.Site && len(l.SitesOf(c)) > 0
}

// AddSlot puts a channel into the list where its use belongs: command before all else
// and guard behind it, others behind their like. Site names the repeater of a channel
// that needs one. It tells at which place, from 0.
func (w *Work) AddSlot(c *plan.Channel, site string, divisions ...string) (int, error) {
	switch {
	case c.Trunked():
		return 0, fmt.Errorf("%s is a talkgroup, which a list cannot hold; it can stand beside the list", c.Name)
	case c.ReceiveOnly:
		return 0, fmt.Errorf("%s can only be received: nobody could answer on it", c.Name)
	case NeedsSite(w.load, c) && site == "":
		return 0, fmt.Errorf("choose the repeater of %s", c.Name)
	case w.Left() <= 0:
		return 0, fmt.Errorf("the list is full: the radio holds %d, and one position stays empty behind guard; delete a slot first", w.load.Radio.ListPositions)
	}
	at, use := len(w.plan.Slots), c.Use
	if r := w.resolved(); r != nil {
		uses := map[*plan.Slot]int{}
		for _, s := range r.Slots {
			if s.Channel.Programming() == c.Programming() && (site == "" || s.Site == site) {
				return 0, fmt.Errorf("%s is in the list already", c.Name)
			}
			uses[s.Slot] = rank(s.Use)
		}
		at = 0
		for i, s := range r.Plan.Slots {
			if before, known := uses[s]; before <= rank(use) || !known && use != radio.Guard {
				at = i + 1
			}
		}
		if use == radio.Guard {
			at = len(w.plan.Slots)
		}
	}
	keys := pick(w.load, c)
	if NeedsSite(w.load, c) {
		keys = append(keys, tomlfile.Pair{Key: "site", Value: site})
	}
	switch len(divisions) {
	case 0:
	case 1:
		keys = append(keys, tomlfile.Pair{Key: "division", Value: divisions[0]})
	default:
		keys = append(keys, tomlfile.Pair{Key: "division", Value: divisions})
	}
	return at, w.change(func(e *edit.Editor) {
		t := edit.Table{Header: "[[slot]]", Keys: keys}
		switch {
		case at > 0:
			e.InsertAfter(w.plan.Slots[at-1].Table, t)
		case len(w.plan.Slots) > 0:
			e.InsertBefore(w.plan.Slots[0].Table, t)
		default:
			w.near(e, tomlfile.Table{}, t)
		}
	})
}

// DeleteSlot takes slot i, from 0, out of the list.
func (w *Work) DeleteSlot(i int) error {
	if err := place(i, len(w.plan.Slots), "slot"); err != nil {
		return err
	}
	return w.change(func(e *edit.Editor) { e.DeleteTable(w.plan.Slots[i].Table) })
}

// MoveSlot puts slot i, from 0, where slot to stands; those between move up or down.
func (w *Work) MoveSlot(i, to int) error {
	return move(w, i, to, len(w.plan.Slots), "slot", func(k int) tomlfile.Table { return w.plan.Slots[k].Table })
}

func move(w *Work, i, to, n int, what string, table func(int) tomlfile.Table) error {
	if err := place(i, n, what); err != nil {
		return err
	}
	to = max(0, min(n-1, to))
	return w.change(func(e *edit.Editor) {
		switch {
		case to < i:
			e.MoveBefore(table(i), table(to))
		case to > i:
			e.MoveAfter(table(i), table(to))
		}
	})
}

// PickSlot makes slot i, from 0, that of a channel, which is not known yet or is another
// one; who uses it stays as it is. Site names the repeater of a channel that needs one;
// "" leaves it to be chosen.
func (w *Work) PickSlot(i int, c *plan.Channel, site string) error {
	if err := place(i, len(w.plan.Slots), "slot"); err != nil {
		return err
	}
	switch {
	case c.Trunked():
		return fmt.Errorf("%s is a talkgroup, which a list cannot hold; it can stand beside the list", c.Name)
	case c.ReceiveOnly:
		return fmt.Errorf("%s can only be received: nobody could answer on it", c.Name)
	}
	keys := pick(w.load, c)
	if site != "" {
		keys = append(keys, tomlfile.Pair{Key: "site", Value: site})
	}
	return w.change(func(e *edit.Editor) {
		t := w.plan.Slots[i].Table
		for _, key := range []string{"channel", "group", "number", "rx", "tx", "rx_tone", "tx_tone", "site", "tone"} {
			k := slices.IndexFunc(keys, func(p tomlfile.Pair) bool { return p.Key == key })
			switch {
			case k >= 0:
				put(e, t, key, keys[k].Value)
			case t.Has(key):
				e.Delete(t, key)
			}
		}
	})
}

// Decided notes above slot i, from 0, that what a draft left open there was decided: its
// comment says DECIDE no more. Without such a comment nothing changes.
func (w *Work) Decided(i int, what string) error {
	if err := place(i, len(w.plan.Slots), "slot"); err != nil {
		return err
	}
	lines := strings.Split(string(w.text), "\n")
	for n := w.plan.Slots[i].At("").Line - 2; n >= 0 && strings.HasPrefix(lines[n], "#"); n-- {
		if lines[n] == "# DECIDE: "+what {
			lines[n] = "# decided: " + what
			return w.read([]byte(strings.Join(lines, "\n")))
		}
	}
	return nil
}

// UseSlot says which divisions work on slot i, from 0: none is everybody.
func (w *Work) UseSlot(i int, ids plan.Names) error {
	if err := place(i, len(w.plan.Slots), "slot"); err != nil {
		return err
	}
	for _, id := range ids {
		if w.division(id) < 0 {
			return fmt.Errorf("there is no division %s", id)
		}
	}
	return w.change(func(e *edit.Editor) { put(e, w.plan.Slots[i].Table, "division", ids) })
}

// ToggleUse gives slot i, from 0, to a division, or takes it away from it.
func (w *Work) ToggleUse(i int, id string) error {
	if err := place(i, len(w.plan.Slots), "slot"); err != nil {
		return err
	}
	ids := slices.Clone(w.plan.Slots[i].Division)
	if k := slices.Index(ids, id); k >= 0 {
		return w.UseSlot(i, slices.Delete(ids, k, k+1))
	}
	ids = append(ids, id)
	slices.SortStableFunc(ids, func(a, b string) int { return w.division(a) - w.division(b) })
	return w.UseSlot(i, ids)
}

// Name is how slot i, from 0, names its channel, to be told from others.
func (w *Work) Name(i int) string {
	if place(i, len(w.plan.Slots), "slot") != nil {
		return ""
	}
	s := w.plan.Slots[i]
	switch {
	case s.Channel != "":
		return s.Channel
	case s.Group != nil && s.Number != nil:
		return strconv.Itoa(*s.Group) + "-" + strconv.Itoa(*s.Number)
	}
	return s.Rx.String() + "/" + s.Tx.String()
}
