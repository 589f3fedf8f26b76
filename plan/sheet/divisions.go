package sheet

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"slotcard/plan/tomlfile"
)

// listDivisions takes the divisions that have a line of their own above the
// table, as [Write] makes them: id, name, supervisor.
func (d *drafter) listDivisions() {
	var order []*division
	for i := range d.sheet.Heads {
		h := &d.sheet.Heads[i]
		if h.Is != Division && h.Is != FunctionalGroup || len(h.Values) == 0 || !validID(h.Values[0]) {
			continue
		}
		v := d.division(h.Values[0])
		if v != nil && v.listed {
			continue
		}
		if v == nil {
			v = &division{id: h.Values[0]}
		} else { // of the old plan: the sheet's order and words win
			d.divisions = slices.DeleteFunc(d.divisions, func(o *division) bool { return o == v })
		}
		order = append(order, v)
		was := *v
		*v = division{id: v.id, old: v.old, functional: h.Is == FunctionalGroup, listed: true, seen: true}
		d.use(h, 0)
		for k, value := range h.Values[1:] {
			d.use(h, k+1)
			beside, isBeside := strings.CutPrefix(value, "beside ")
			supervisor, isSupervisor := strings.CutPrefix(value, "supervisor ")
			switch {
			case isBeside && v.functional:
				v.beside = beside
			case isSupervisor:
				v.supervisor = supervisor
			case v.name == "":
				v.name = value
			default:
				d.used[h][k+1] = false
			}
		}
		v.name, v.supervisor, v.beside = either(v.name, was.name), either(v.supervisor, was.supervisor), either(v.beside, was.beside)
	}
	d.divisions = append(order, d.divisions...)
}

var idText = compiled(`^[!-~]{1,8}$`)

// validID tells whether a text can be a division's id.
func validID(s string) bool { return idText().MatchString(s) && !strings.ContainsAny(s, ",:=") }

func (d *drafter) division(id string) *division {
	for _, v := range d.divisions {
		if strings.EqualFold(v.id, id) {
			return v
		}
	}
	return nil
}

// named is a division whose id or name a text is.
func (d *drafter) named(text string) *division {
	for _, v := range d.divisions {
		if strings.EqualFold(v.id, text) || v.name != "" && strings.EqualFold(v.name, text) {
			return v
		}
	}
	return nil
}

// writeDivisions writes the divisions. Those that only assignments name are put
// in the order of their letters.
func (d *drafter) writeDivisions() {
	all := d.present()
	var gone []string
	for _, v := range d.divisions {
		if v.old && !v.seen {
			gone = append(gone, v.id)
		}
	}
	if len(gone) > 0 {
		d.Line("")
		d.Comment("Of the old plan, but not read on the sheet: division %s", strings.Join(gone, ", "))
	}
	if len(all) == 0 {
		return
	}
	listed := slices.ContainsFunc(all, func(v *division) bool { return v.listed })
	old := slices.ContainsFunc(all, func(v *division) bool { return v.old })
	d.Line("")
	switch {
	case listed:
		d.Comment("Divisions in order around the fire, as the sheet lists them.")
	case old:
		d.Comment("Divisions in order around the fire, as in the old plan.")
	default:
		slices.SortStableFunc(all, func(a, b *division) int {
			return cmp.Or(cmp.Compare(b2i(a.functional), b2i(b.functional)), cmp.Compare(len(a.id), len(b.id)), cmp.Compare(a.id, b.id))
		})
		d.Comment("Divisions, in the order of their letters: nothing was read of how they lie.")
		d.Comment("Put them in order around the fire, so that each one's neighbors stand beside it.")
	}
	for _, v := range all {
		d.Line("")
		if v.from != "" {
			d.Comment("the id is made from the sheet's words: %s", v.from)
		}
		switch {
		case listed && !v.listed:
			d.Comment("only in the table: put it where it lies")
		case old && !v.old:
			d.Comment("new: put it where it lies")
		}
		d.Line("[[division]]")
		d.Line("%-10s = %s", "id", tomlfile.Quote(v.id))
		if name := cmp.Or(v.name, v.from); name != "" {
			d.Line("%-10s = %s", "name", tomlfile.Quote(name))
		}
		if v.supervisor != "" {
			d.Line("%-10s = %s", "supervisor", tomlfile.Quote(v.supervisor))
		}
		if v.functional {
			d.Line("%-10s = true", "functional")
			if v.beside != "" {
				var ids []string
				for _, id := range partsOf().Split(v.beside, -1) {
					if o := d.division(id); o != nil && slices.Contains(all, o) {
						ids = append(ids, tomlfile.Quote(o.id))
					}
				}
				if len(ids) > 0 {
					d.Line("%-10s = [%s]", "beside", strings.Join(ids, ", "))
				}
			} else {
				d.Comment("%-10s = [\"A\"]   # the divisions it works beside", "beside")
			}
		}
	}
}

// idList is one or several ids as TOML.
func idList(ids []string) string {
	if len(ids) == 1 {
		return tomlfile.Quote(ids[0])
	}
	quoted := make([]string, len(ids))
	for i, id := range ids {
		quoted[i] = tomlfile.Quote(id)
	}
	return fmt.Sprintf("[%s]", strings.Join(quoted, ", "))
}
