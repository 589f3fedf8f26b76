package plan

import (
	"cmp"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"slotcard/plan/slotlist"
)

// Neighbors are the divisions that work beside d, in plan order. The line
// divisions are a ring in the order of the file, its last one beside its first;
// a functional group stands beside the divisions it names, and they beside it.
func (r *Resolved) Neighbors(d *Division) []*Division {
	if d == nil {
		return nil
	}
	var line []*Division
	beside := map[*Division]bool{}
	for _, o := range r.Plan.Divisions {
		switch {
		case !o.Functional:
			line = append(line, o)
			if d.Functional && slices.Contains(d.Beside, o.ID) {
				beside[o] = true
			}
		case slices.Contains(o.Beside, d.ID) || d.Functional && slices.Contains(d.Beside, o.ID):
			beside[o] = true
		}
	}
	if i := slices.Index(line, d); i >= 0 {
		beside[line[(i+1)%len(line)]] = true
		beside[line[(i+len(line)-1)%len(line)]] = true
	}
	delete(beside, d)
	var out []*Division
	for _, o := range r.Plan.Divisions {
		if beside[o] {
			out = append(out, o)
		}
	}
	return out
}

// makeLists derives the lists of all divisions, and of the units without one.
func (x *resolver) makeLists(r *Resolved) {
	unassigned := len(r.Plan.Divisions) == 0
	for _, u := range r.Plan.Units {
		if u.Division == "" && !u.Has("division") {
			unassigned = true
		}
	}
	for _, d := range r.Plan.Divisions {
		l := r.listOf(slotsCarriedBy(r.Slots, d))
		l.Divisions = append(l.Divisions, d)
	}
	if unassigned {
		l := r.listOf(slotsCarriedBy(r.Slots, nil))
		l.Shared, l.undivided = true, len(r.Plan.Divisions) == 0
	}
	for _, l := range r.Lists {
		text := l.encoding(r)
		l.Text, l.Code = text.Encode(), text.Code()
	}
}

// listOf is the list of r with just these slots, made where there is none yet.
func (r *Resolved) listOf(slots []*ResolvedSlot) *List {
	for _, l := range r.Lists {
		if slices.Equal(l.Slots, slots) {
			return l
		}
	}
	l := &List{Slots: slots}
	r.Lists = append(r.Lists, l)
	return l
}

// slotsCarriedBy are the slots in the list of d; of units without a division
// where d is nil.
func slotsCarriedBy(slots []*ResolvedSlot, d *Division) []*ResolvedSlot {
	var out []*ResolvedSlot
	for _, s := range slots {
		if s.Carriers == nil || d != nil && slices.Contains(s.Carriers, d) {
			out = append(out, s)
		}
	}
	return out
}

// ListOf is the list that a division carries; with nil, the one of units
// without a division. It is nil where nobody carries such a list.
func (r *Resolved) ListOf(d *Division) *List {
	for _, l := range r.Lists {
		if d == nil && l.Shared || d != nil && slices.Contains(l.Divisions, d) {
			return l
		}
	}
	return nil
}

// CodeOf is the read-back code of slots in this order.
func CodeOf(slots []*ResolvedSlot) slotlist.Code {
	var l slotlist.List
	for _, s := range slots {
		l.Lines = append(l.Lines, s.line())
	}
	return l.Code()
}

// encoding is the list in the form in which it is written and hashed.
func (l *List) encoding(r *Resolved) slotlist.List {
	in := r.Plan.Incident
	out := slotlist.List{
		Incident: in.Name, Exercise: in.Exercise, Period: in.Period, Revision: in.Revision,
		From: in.From, To: in.To, Edition: r.Load.About.Edition,
	}
	for _, s := range l.Slots {
		out.Lines = append(out.Lines, s.line())
	}
	return out
}

// line is the slot as the list text writes it.
func (s *ResolvedSlot) line() slotlist.Line {
	c := s.Channel
	line := slotlist.Line{
		Name: c.Name, Use: s.Use, Rx: c.Rx, Tx: c.Tx, RxTone: c.RxTone, TxTone: s.TxTone,
		Mode: c.Mode, Width: c.Width, System: c.System, Talkgroup: c.Talkgroup,
	}
	for _, d := range s.Users {
		line.Divisions = append(line.Divisions, d.ID)
	}
	return line
}

// bestPlace chooses, of the places of slot i, the one in the group that holds
// most slots of the list; of equal groups the lowest number.
func bestPlace(l *List, i int) *Channel {
	held := map[*Group]int{}
	for _, s := range l.Slots {
		in := map[*Group]bool{}
		for _, c := range s.Places {
			if !in[c.Group] {
				in[c.Group] = true
				held[c.Group]++
			}
		}
	}
	return slices.MinFunc(l.Slots[i].Places, func(a, b *Channel) int {
		return cmp.Or(
			cmp.Compare(held[b.Group], held[a.Group]),
			cmp.Compare(groupNumber(a), groupNumber(b)),
			cmp.Compare(a.Number, b.Number),
		)
	})
}

func groupNumber(c *Channel) int {
	if c.Group == nil {
		return 0
	}
	return c.Group.Number
}

// listName says who carries the list, where there are several.
func listName(l *List, r *Resolved) string { return l.NameIn(r, EnglishLists) }

// ListWords are the words of which the name of a list is made.
type ListWords struct {
	Division, Divisions string // before one id, before several
	Group, Groups       string // functional groups
	Others              string // units without a division
	And                 string
}

// EnglishLists are the words of terminal and desk.
var EnglishLists = ListWords{"division", "divisions", "functional group", "functional groups", "units without a division", "and"}

// NameIn is [List.Name] in other words.
func (l *List) NameIn(r *Resolved, w ListWords) string {
	if len(r.Lists) < 2 {
		return ""
	}
	parts := w.Phrases(l.Divisions, WithCommas)
	if l.Shared {
		parts = append(parts, w.Others)
	}
	if parts == nil {
		return ""
	}
	first, size := utf8.DecodeRuneInString(parts[0])
	parts[0] = string(unicode.ToUpper(first)) + parts[0][size:]
	if n := len(parts); n > 1 {
		return strings.Join(parts[:n-1], ", ") + " " + w.And + " " + parts[n-1]
	}
	return strings.Join(parts, "")
}

// Phrases names divisions: those of the line in one phrase, functional groups in another,
// such as "divisions A, B" and "functional group SP". The ids of a phrase are joined by
// join: [WithCommas], or [finding.And] inside a sentence.
func (w ListWords) Phrases(divisions []*Division, join func([]string) string) (phrases []string) {
	var line, functional []string
	for _, d := range divisions {
		if d.Functional {
			functional = append(functional, d.ID)
		} else {
			line = append(line, d.ID)
		}
	}
	for _, p := range []struct {
		one, many string
		ids       []string
	}{{w.Division, w.Divisions, line}, {w.Group, w.Groups, functional}} {
		switch len(p.ids) {
		case 0:
		case 1:
			phrases = append(phrases, p.one+" "+p.ids[0])
		default:
			phrases = append(phrases, p.many+" "+join(p.ids))
		}
	}
	return phrases
}

// WithCommas joins ids in a table or a name.
func WithCommas(ids []string) string { return strings.Join(ids, ", ") }
