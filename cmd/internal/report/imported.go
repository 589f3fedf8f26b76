package report

import (
	"fmt"
	"slices"
	"strings"
	"unicode/utf8"

	"slotcard/cmd/internal/voice"
	"slotcard/plan/cells"
	"slotcard/plan/channellist"
	"slotcard/plan/finding"
	"slotcard/plan/radio"
)

// Mapping says what the columns of a channel list were taken for.
func Mapping(v *voice.Voice, l *channellist.List) {
	for i, t := range l.Tables {
		if i > 0 && sameColumns(l.Tables[i-1], t) && l.Tables[i-1].At.File == t.At.File {
			v.Tell("%s: %s, columns as above", at(t.At), OfKind(t))
			continue
		}
		v.Tell("%s: %s", at(t.At), OfKind(t))
		for _, c := range t.Columns {
			name := fmt.Sprintf("column %s", cells.ColumnName(c.Index))
			switch {
			case c.Title != "" && c.Field == channellist.NotUsed:
				name += fmt.Sprintf(" %q", c.Title)
			case c.Title != "":
				name = c.Title
			}
			line := fmt.Sprintf("  %s -> %s", name, c.Field)
			switch {
			case c.Field == channellist.NotUsed:
				line += ", " + voice.Count(c.Filled, "cell", "cells")
				if c.Why != "" {
					line += "; " + c.Why
				}
			case c.Why != "":
				line += ", " + c.Why
			}
			v.Tell("%s", line)
		}
	}
}

// at is the place of a table, with its file.
func at(p channellist.Place) string { return p.File + ", " + p.String() }

// OfKind is how many of what a table holds.
func OfKind(t channellist.Table) string {
	switch t.Kind {
	case channellist.Sites:
		return voice.Count(t.Rows, "site", "sites")
	case channellist.Tones:
		return voice.Count(t.Rows, "numbered tone", "numbered tones")
	}
	return voice.Count(t.Rows, "channel", "channels")
}

func sameColumns(a, b channellist.Table) bool {
	return slices.EqualFunc(a.Columns, b.Columns, func(x, y channellist.Column) bool {
		return x.Index == y.Index && x.Title == y.Title && x.Field == y.Field && (x.Field != channellist.NotUsed || x.Filled == y.Filled)
	})
}

// NotRead lists the cells that nothing was made of. Columns stand in [Mapping].
func NotRead(v *voice.Voice, l *channellist.List) {
	for _, n := range l.NotRead {
		v.Tell("not read: %s", NotReadLine(n))
	}
}

// NotReadLine is a cell that nothing was made of, and why.
func NotReadLine(n channellist.NotRead) string {
	line := fmt.Sprintf("%s: %q", at(n.At), n.Text)
	if n.Why != "" {
		line += "; " + n.Why
	}
	return line
}

// Groups prints the channels of each group, for proofreading beside the sheet.
func Groups(v *voice.Voice, l *channellist.List) {
	for _, g := range l.Groups {
		v.Say("group %d %s, %s", g.Number, g.Name, voice.Count(len(g.Channels), "channel", "channels"))
		rows := [][]string{{"", "name", "use", "rx", "tx", "rx_tone", "tx_tone", ""}}
		for _, c := range g.Channels {
			rows = append(rows, RowOf(c).Cells())
		}
		table(v, rows)
		v.Gap()
	}
}

// ListRow is a channel of a list, in cells.
type ListRow struct{ Number, Name, Use, Rx, Tx, RxTone, TxTone, More string }

// Cells are the values of the row, in order.
func (r ListRow) Cells() []string {
	return []string{r.Number, r.Name, r.Use, r.Rx, r.Tx, r.RxTone, r.TxTone, r.More}
}

// RowOf is a channel in cells. What is to be decided says so.
func RowOf(c *channellist.Channel) ListRow {
	cells := map[string]string{
		"number": fmt.Sprint(c.Number), "name": c.Name, "use": c.Use.String(), "rx": c.Rx.String(), "tx": "",
		"rx_tone": c.RxTone.String(), "tx_tone": c.TxTone.String(),
	}
	if c.Tx != c.Rx {
		cells["tx"] = c.Tx.String()
	}
	if c.Talkgroup != "" {
		cells["rx"], cells["tx"] = c.System, c.Talkgroup
	}
	var more []string
	if c.Mode != radio.Analog {
		more = append(more, c.Mode.String())
	}
	if c.Width != radio.Narrow {
		more = append(more, c.Width.String())
	}
	if c.ReceiveOnly {
		more = append(more, "receive only")
	}
	if c.Edition {
		more = append(more, "carries the edition")
	}
	for _, o := range c.Open {
		if _, ok := cells[o.Key]; ok {
			cells[o.Key] = channellist.Decide
		} else {
			more = append(more, o.Key+" "+channellist.Decide)
		}
	}
	return ListRow{cells["number"], cells["name"], cells["use"], cells["rx"], cells["tx"], cells["rx_tone"], cells["tx_tone"], strings.Join(more, ", ")}
}

// table prints rows with their columns below each other.
func table(v *voice.Voice, rows [][]string) {
	widths := make([]int, len(rows[0]))
	for _, r := range rows {
		for i, c := range r {
			widths[i] = max(widths[i], utf8.RuneCountInString(c))
		}
	}
	for _, r := range rows {
		var line strings.Builder
		for i, c := range r {
			pad := strings.Repeat(" ", widths[i]-utf8.RuneCountInString(c))
			if i == 0 {
				line.WriteString("  " + pad + c)
				continue
			}
			line.WriteString("  " + c + pad)
		}
		v.Say("%s", strings.TrimRight(line.String(), " "))
	}
}

// mostOfRule bounds how many findings of one rule are shown together.
const mostOfRule = 6

// ByRule prints findings in groups by their rules, the gravest first.
func ByRule(v *voice.Voice, l finding.List) {
	groups := map[string]finding.List{}
	var order []string
	for s := finding.Error; ; s-- {
		for _, f := range l {
			if f.Severity != s {
				continue
			}
			key := s.String() + " " + f.Rule
			if groups[key] == nil {
				order = append(order, key)
			}
			groups[key] = append(groups[key], f)
		}
		if s == finding.Note {
			break
		}
	}
	for _, key := range order {
		g := groups[key]
		v.Say("%s [%s]: %s", g[0].Severity, g[0].Rule, voice.Count(len(g), "place", "places"))
		for _, f := range g[:min(len(g), mostOfRule)] {
			v.Say("  %s: %s", f.Place, f.Message)
		}
		if more := len(g) - mostOfRule; more > 0 {
			v.Say("  and %d more", more)
		}
	}
}

// Changed says what is new since last year's load.
func Changed(v *voice.Voice, pairs []channellist.Pair) {
	if pairs == nil {
		return
	}
	for _, p := range pairs {
		if p.Change != channellist.Same {
			v.Tell("%s: %s", p.Change, p.What())
		}
	}
	v.Tell("since last year's load: %s", PairTally(pairs))
}

// PairTally counts channels by how they changed.
func PairTally(pairs []channellist.Pair) string {
	n := map[channellist.Change]int{}
	for _, p := range pairs {
		n[p.Change]++
	}
	var parts []string
	for c := channellist.Same; c <= channellist.Described; c++ {
		if n[c] > 0 {
			parts = append(parts, fmt.Sprintf("%d %s", n[c], c))
		}
	}
	return strings.Join(parts, ", ")
}

// Imported says what came of a channel list: what was not read, what was taken
// for granted, how the uses were found, what is to be decided, and what to do next.
func Imported(v *voice.Voice, l *channellist.List, d *channellist.Draft, out string) {
	NotRead(v, l)
	for _, n := range l.Notes {
		v.Tell("note: %s", n)
	}
	for _, o := range d.Open {
		where := ""
		if o.At.Row > 0 {
			where = " (" + at(o.At) + ")"
		}
		v.Tell("to decide, line %d: %s%s", o.Line, o.What, where)
	}
	var uses []string
	n := l.UsesBy()
	for _, by := range []channellist.By{channellist.ByColumn, channellist.ByName, channellist.ByRemark, channellist.ByLast, channellist.ByNothing} {
		if n[by] > 0 {
			uses = append(uses, fmt.Sprintf("%d %s", n[by], by))
		}
	}
	v.Tell("uses: %s", strings.Join(uses, ", "))
	where := ""
	if out != "" {
		where = out + ": "
	}
	left := "nothing left to decide"
	if len(d.Open) > 0 {
		left = voice.Count(len(d.Open), "thing", "things") + " to decide"
	}
	v.Tell("%s%s in %s, %s", where, voice.Count(l.Len(), "channel", "channels"), voice.Count(len(l.Groups), "group", "groups"), left)
	if out == "" {
		return
	}
	if len(d.Open) > 0 {
		v.Tell("decide these in the file, then type: slotcard check %s", voice.Typed(out))
	}
	v.Tell("for a book to proofread against the sheet, type: slotcard print %s", voice.Typed(out))
}
