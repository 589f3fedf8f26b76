package plan

import (
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"slotcard/plan/finding"
	"slotcard/plan/radio"
	"slotcard/plan/tomlfile"
)

// Names in braces, in the texts of a plan: {QB MED}, {medical} and {A} become the
// slot that they mean, list by list, so that no text says a number which is
// another channel tomorrow. "{{" is a brace.

// FillWords are the words around a slot that was filled in.
type FillWords struct {
	Slot  string // such as "slot 9": %n%
	Of    string // a slot of some lists, where lists differ: %slot% and %list%
	Or    string // between two
	Lacks string // behind the name of a channel that is not in the list
	Own   string // {own}, where nobody's own is meant
	None  string // a use that the list has no slot for: %use%
}

// EnglishFill are the words of [Resolved.Fill] where it is given none.
var EnglishFill = FillWords{
	Slot: "slot %n%", Of: "%slot% (%list%)", Or: "or", Lacks: "not in this list",
	Own: "your own tactical", None: "no %use% channel",
}

// Fill puts slots in place of the names in braces: "QB MED, slot 9". List l is the
// reader's, d the reader's division (nil: of none, or of several). With l nil the
// text is for everybody: where lists differ, each says its own. What cannot be
// filled in is left as it is written; [Resolve] has reported it.
func (r *Resolved) Fill(text string, l *List, d *Division, w *FillWords) string {
	if w == nil {
		w = &EnglishFill
	}
	var b strings.Builder
	for _, p := range piecesOf(text) {
		switch {
		case !p.named:
			b.WriteString(p.text)
		case l != nil:
			b.WriteString(r.fill(p, l, d, w))
		default:
			b.WriteString(r.fillForAll(p, w))
		}
	}
	return b.String()
}

// Unbraced is a text without its braces, where there is no list to fill it in
// from, as in the book of a load: "{QB MED}" is "QB MED".
func Unbraced(text string) string {
	var b strings.Builder
	for _, p := range piecesOf(text) {
		b.WriteString(p.text)
	}
	return b.String()
}

// piece is a part of a text: as it is, or a name that stood in braces.
type piece struct {
	text  string
	named bool
	open  bool // the brace before it is not closed
}

func piecesOf(text string) (pieces []piece) {
	plain := ""
	flush := func() {
		if plain != "" {
			pieces = append(pieces, piece{text: plain})
		}
		plain = ""
	}
	for text != "" {
		before, after, brace := strings.Cut(text, "{")
		plain += before
		if !brace {
			break
		}
		if rest, double := strings.CutPrefix(after, "{"); double {
			plain += "{"
			text = rest
			continue
		}
		end := strings.IndexAny(after, "{}\n")
		if end < 0 || after[end] != '}' {
			flush()
			pieces = append(pieces, piece{text: "{", open: true})
			text = after
			continue
		}
		flush()
		pieces = append(pieces, piece{text: after[:end], named: true})
		text = after[end+1:]
	}
	flush()
	return pieces
}

// slotsNamed are the slots of list l that a name in braces means, from 0.
func (r *Resolved) slotsNamed(name string, l *List, d *Division) []int {
	for _, s := range r.Slots {
		if s.Channel.Name == name {
			return r.Matches(name, l, d)
		}
	}
	for _, o := range r.Plan.Divisions {
		if o.ID == name {
			return l.WorkingOn(o)
		}
	}
	return r.Matches(name, l, d)
}

// fill is what a name becomes on a list.
func (r *Resolved) fill(p piece, l *List, d *Division, w *FillWords) string {
	if p.text == "own" && d == nil && len(l.Divisions) > 0 {
		return w.Own
	}
	at := r.slotsNamed(p.text, l, d)
	if len(at) == 0 {
		return r.lacking(p, w)
	}
	said := make([]string, len(at))
	for i, k := range at {
		said[i] = l.Slots[k].Channel.Name + ", " + strings.ReplaceAll(w.Slot, "%n%", fmt.Sprint(k+1))
	}
	return strings.Join(said, " "+w.Or+" ")
}

// fillForAll is what a name becomes for readers of every list.
func (r *Resolved) fillForAll(p piece, w *FillWords) string {
	if p.text == "own" {
		return w.Own
	}
	var said []string
	var lists [][]*List
	for _, l := range r.Lists {
		if len(r.slotsNamed(p.text, l, nil)) == 0 {
			continue
		}
		text := r.fill(p, l, nil, w)
		i := slices.Index(said, text)
		if i < 0 {
			said, lists, i = append(said, text), append(lists, nil), len(said)
		}
		lists[i] = append(lists[i], l)
	}
	switch {
	case len(said) == 0:
		return r.lacking(p, w)
	case len(said) == 1:
		return said[0]
	}
	for i, text := range said {
		var names []string
		for _, l := range lists[i] {
			names = append(names, l.Name(r))
		}
		said[i] = strings.NewReplacer("%slot%", text, "%list%", strings.Join(names, "; ")).Replace(w.Of)
	}
	return strings.Join(said, " "+w.Or+" ")
}

// lacking is what a name becomes that the list has no slot for.
func (r *Resolved) lacking(p piece, w *FillWords) string {
	for _, a := range r.Also {
		if a.Channel.Name == p.text {
			return p.text // it is on the card, beside the list
		}
	}
	for _, s := range r.Slots {
		if s.Channel.Name == p.text || slices.ContainsFunc(s.Users, func(d *Division) bool { return d.ID == p.text }) {
			return s.Channel.Name + " (" + w.Lacks + ")"
		}
	}
	if _, isUse := radio.ParseUse(p.text); isUse {
		return strings.ReplaceAll(w.None, "%use%", p.text)
	}
	return "{" + p.text + "}"
}

// FillNames are the names that texts of the plan may hold in braces: selectors,
// ids of divisions, and channels of the list and beside it.
func (r *Resolved) FillNames() []string {
	var names []string
	add := func(name string) {
		if name != "" && !slices.Contains(names, name) {
			names = append(names, name)
		}
	}
	for _, s := range r.Slots {
		add(s.Channel.Name)
	}
	for _, a := range r.Also {
		add(a.Channel.Name)
	}
	for _, d := range r.Plan.Divisions {
		add(d.ID)
	}
	for _, w := range SelectorWords() {
		if w != "all" && w != Neighbors {
			add(w)
		}
	}
	return names
}

// BareNumber is a slot or channel that a text names by its number alone.
type BareNumber struct {
	Words string // as written, such as "slot 9"
	N     int
}

// bareNumber is such a place in a text. A channel of a group of the load is none.
var bareNumber = regexp.MustCompile(`(?i)\b(group\s+\d+,?\s+)?((?:slot|channel|ch)\s*#?\s*(\d{1,3}))\b`)

// BareNumbers are the slots and channels that a text names by their numbers
// alone, each once, in order.
func BareNumbers(text string) (found []BareNumber) {
	for _, m := range bareNumber.FindAllStringSubmatch(text, -1) {
		n, _ := strconv.Atoi(m[3])
		if b := (BareNumber{m[2], n}); m[1] == "" && !slices.Contains(found, b) {
			found = append(found, b)
		}
	}
	return found
}

// checkTexts reports names in braces that mean nothing, where a text may hold them.
func (x *resolver) checkTexts(r *Resolved) {
	if x.planBroken || x.loadBroken || len(r.Unresolved) > 0 {
		return // what is meant may be just what is missing
	}
	names := r.FillNames()
	x.checkText(r, names, r.Plan.Incident.Table, "instructions", r.Plan.Incident.Instructions)
	for _, a := range r.Plan.Also {
		x.checkText(r, names, a.Table, "when", a.When)
	}
	said := map[*Channel]bool{}
	for _, s := range r.Slots {
		if c := s.Channel; !said[c] {
			said[c] = true
			x.checkText(r, names, c.Table, "remarks", c.Remarks)
		}
	}
}

func (x *resolver) checkText(r *Resolved, names []string, t tomlfile.Table, key, text string) {
	for _, p := range piecesOf(text) {
		switch {
		case p.open:
			x.fault(RuleBrace, t.AtText(key, "{"), "", key+" has a brace that is not closed in its line", "write {{ for a brace, or } behind the name of a channel")
		case !p.named:
		case slices.Contains(names, p.text):
			use, isUse := radio.ParseUse(p.text)
			if isUse && !slices.ContainsFunc(r.Slots, func(s *ResolvedSlot) bool { return s.Use == use || s.Channel.Name == p.text }) {
				x.fault(RuleBrace, t.AtText(key, "{"+p.text+"}"), p.text, fmt.Sprintf("%s has {%s}, but no slot of the plan is for %s", key, p.text, p.text),
					"add the slot, or take the name out of the text")
			}
		default:
			message := fmt.Sprintf("%s has {%s}, which names no slot, division or use", key, p.text)
			var help []string
			if close := finding.Closest(p.text, names, 1); len(close) > 0 {
				message += "; the closest is " + close[0]
				help = append(help, fmt.Sprintf("did you mean {%s}?", close[0]))
			}
			if x.names[p.text] != nil {
				message = fmt.Sprintf("%s has {%s}, which is in the load, but in no slot of this plan", key, p.text)
			}
			x.fault(RuleBrace, t.AtText(key, "{"+p.text+"}"), p.text, message, append(help, "write {{ where a brace is meant")...)
		}
	}
}
