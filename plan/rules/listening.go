package rules

import (
	"fmt"
	"regexp"
	"slices"
	"strings"

	"slotcard/plan"
	"slotcard/plan/edit"
	"slotcard/plan/finding"
	"slotcard/plan/radio"
)

// What seats and words of a plan point at.
func init() {
	register(
		Rule{
			ID:         "priority-guard",
			Severity:   finding.Warning,
			Statement:  "no position has guard for its priority",
			Why:        "guard is loud with far-off traffic on a busy day and stops every scan: the own tactical is missed",
			Bad:        "[[position]]\nname = \"Firefighter\"\npriority = \"guard\"",
			Good:       "[[position]]\nname = \"Firefighter\"\npriority = \"own\"",
			Fix:        "write priority = \"own\"",
			Acceptable: true,
			Check:      priorityGuard,
		},
		Rule{
			ID:         "priority-many",
			Severity:   finding.Warning,
			Statement:  "the priority of a position is one slot",
			Why:        "a radio has one priority channel: the card marks the first slot that is meant, and the others are scanned late or not at all",
			Bad:        "[[position]]\nname = \"Lookout\"\npriority = \"all\"",
			Good:       "[[position]]\nname = \"Lookout\"\npriority = \"own\"",
			Fix:        "write priority = \"own\", and the others in scan",
			Acceptable: true,
			Check:      priorityMany,
		},
		Rule{
			ID:         "group-beside-none",
			Severity:   finding.Warning,
			Statement:  "a functional group whose seats listen to neighbors names them",
			Why:        "a functional group has no place in the ring: without beside its seats hear no neighbor, and none hears it",
			Bad:        "[[division]]\nid = \"SP\"\nfunctional = true     # no beside\n[[position]]\nname = \"Engine boss\"\nscan = [\"neighbors\"]",
			Good:       "[[division]]\nid = \"SP\"\nfunctional = true\nbeside = [\"B\"]",
			Fix:        "name in beside the divisions that it works beside",
			Acceptable: true,
			Check:      groupBesideNone,
		},
		Rule{
			ID:         "unit-without-seats",
			Severity:   finding.Warning,
			Statement:  "every unit has a seat",
			Why:        "no card is printed for it, and its crew goes out without the list",
			Bad:        "[[unit]]\nname = \"Engine 611\"\nseats = {}",
			Good:       "[[unit]]\nname = \"Engine 611\"\nseats = { \"Engine boss\" = 1, \"Firefighter\" = 2 }",
			Fix:        "write its seats, or remove the unit",
			Acceptable: true,
			Check:      unitWithoutSeats,
		},
		Rule{
			ID:         "division-order",
			Severity:   finding.Warning,
			Statement:  "divisions that are lettered from A stand in the order of their letters",
			Why:        "the order around the fire says who is whose neighbor: seats listen to the wrong divisions",
			Bad:        "[[division]]\nid = \"A\"\n[[division]]\nid = \"Y\"\n[[division]]\nid = \"M\"\n[[division]]\nid = \"Z\"",
			Good:       "[[division]]\nid = \"A\"\n[[division]]\nid = \"M\"\n[[division]]\nid = \"Y\"\n[[division]]\nid = \"Z\"",
			Fix:        "put the [[division]] entries in order around the fire; accept it where the letters do not follow it",
			Acceptable: true,
			Check:      divisionOrder,
		},
		Rule{
			ID:         "units-alike",
			Severity:   finding.Warning,
			Statement:  "no two units, teams or divisions read alike",
			Why:        "on the air and at night they are one: a card lands in the wrong hands, or a team is on two pages",
			Bad:        "team = \"Strike team 6100C\"\n[[unit]]\nteam = \"Strike team 6l00C\"",
			Good:       "team = \"Strike team 6100C\"\n[[unit]]\nteam = \"Strike team 6100C\"",
			Fix:        "write one name the same everywhere, or choose two that differ",
			Acceptable: true,
			Check:      unitsAlike,
		},
		Rule{
			ID:         "instructions-channel",
			Severity:   finding.Warning,
			Statement:  "a channel that the instructions name is on the card",
			Why:        "whoever is sent to it cannot find it in the list",
			Bad:        "[incident]\ninstructions = \"Medical: move to QB MED.\"     # and no slot with QB MED",
			Good:       "[incident]\ninstructions = \"Medical: move to QB MED.\"\n[[slot]]\nchannel = \"QB MED\"",
			Fix:        "add the slot or an [[also]], or take it out of the instructions",
			Acceptable: true,
			Check:      instructionsChannel,
		},
	)
}

func priorityGuard(r *plan.Resolved, report func(finding.Finding)) {
	for _, p := range r.Plan.Positions {
		if p.Priority != "guard" {
			continue
		}
		f := finding.Finding{
			Place: p.At("priority"), Subject: p.Name,
			Message: fmt.Sprintf("position %q has guard for its priority", p.Name),
			Data:    facts{"position": p.Name},
		}
		f.Offer(edit.In(p.Table).Set(p.Table, "priority", "own").Edit(""))
		report(f)
	}
}

func priorityMany(r *plan.Resolved, report func(finding.Finding)) {
	said := map[*plan.Position]bool{}
	for _, c := range kinds(r) {
		p := c.Position
		switch p.Priority {
		case "all", "neighbours", "neighbors", "tactical":
		default:
			continue // one's own, of which the first is talked on, or a use that has one slot as a rule
		}
		m := r.Matches(p.Priority, c.List, c.Division)
		if len(m) < 2 || said[p] {
			continue
		}
		said[p] = true
		f := finding.Finding{
			Place: p.At("priority"), Subject: p.Name,
			Message: fmt.Sprintf("%s %s: priority %q means %d slots, and a radio has one priority", p.Name, in(c.Division), p.Priority, len(m)),
			Data:    facts{"position": p.Name, "priority": p.Priority, "slots": len(m)},
		}
		f.Offer(edit.In(p.Table).Set(p.Table, "priority", "own").Edit(""))
		report(f)
	}
}

func groupBesideNone(r *plan.Resolved, report func(finding.Finding)) {
	said := map[*plan.Division]bool{}
	for _, c := range kinds(r) {
		d := c.Division
		listens := slices.ContainsFunc(append([]string{c.Position.Priority}, c.Position.Scan...), func(s string) bool {
			return s == "neighbours" || s == "neighbors"
		})
		if d == nil || !d.Functional || !listens || said[d] || len(r.Neighbors(d)) > 0 || d.Has("beside") {
			continue
		}
		said[d] = true
		report(finding.Finding{
			Place: d.At("id"), Subject: d.ID,
			Message: fmt.Sprintf("%s of %s listens to neighbors, but the group has none", c.Position.Name, d.Title()),
			Help:    []string{"add beside = [ID] to this [[division]], with those that it works beside"},
			Related: []finding.Related{related(c.Position.At("name"), "position %q", c.Position.Name)},
			Data:    facts{"division": d.ID, "position": c.Position.Name},
		})
	}
}

func unitWithoutSeats(r *plan.Resolved, report func(finding.Finding)) {
	for _, u := range r.Plan.Units {
		if len(u.Seats) > 0 || !u.Has("seats") || !u.OK("seats") {
			continue
		}
		report(finding.Finding{
			Place: u.At("seats"), Subject: u.Name,
			Message: fmt.Sprintf("unit %q has no seats, so no card is printed for it", u.Name),
			Help:    []string{"write its seats, or remove the unit"},
			Data:    facts{"unit": u.Name},
		})
	}
}

func divisionOrder(r *plan.Resolved, report func(finding.Finding)) {
	var line []*plan.Division
	for _, d := range r.Plan.Divisions {
		if d.Functional {
			continue
		}
		if len(d.ID) != 1 || d.ID < "A" || d.ID > "Z" {
			return // named by something else than the letters around the fire
		}
		line = append(line, d)
	}
	if len(line) < 3 || line[0].ID != "A" {
		return
	}
	for i, d := range line[1:] {
		if before := line[i]; d.ID < before.ID {
			report(finding.Finding{
				Place: d.At("id"), Subject: d.ID,
				Message: fmt.Sprintf("%s stands behind %s: the order of divisions is the order around the fire", d.Title(), before.Title()),
				Help:    []string{"put the [[division]] entries in order around the fire, each one beside its neighbors"},
				Related: []finding.Related{related(before.At("id"), "%s", before.Title())},
				Data:    facts{"division": d.ID, "after": before.ID},
			})
			return
		}
	}
}

// readsAsWords is readsAs for names of several words: what parts the words does
// not matter, but that they are parted does, as in Engine 1-11 and Engine 11-1.
func readsAsWords(name string) string {
	words := strings.FieldsFunc(strings.ToUpper(ell(name)), func(c rune) bool { return strings.ContainsRune(" -_./", c) })
	return alike.Replace(strings.Join(words, "\t"))
}

// ell is a name with a small l between digits as the 1 that it is read as.
func ell(name string) string {
	b := []byte(name)
	for i := 1; i < len(b)-1; i++ {
		if b[i] == 'l' && digit(b[i-1]) && digit(b[i+1]) {
			b[i] = '1'
		}
	}
	return string(b)
}

func digit(c byte) bool { return '0' <= c && c <= '9' }

func unitsAlike(r *plan.Resolved, report func(finding.Finding)) {
	first := map[string]finding.Related{}
	names := map[string]string{}
	look := func(kind, name string, place finding.Place) {
		key := kind + "\n" + readsAsWords(name)
		was, ok := names[key]
		switch {
		case name == "":
		case !ok:
			names[key], first[key] = name, related(place, "%s %s", kind, name)
		case was == name || kind == "unit" && strings.EqualFold(was, name): // reading says that a unit stands twice
		default:
			report(finding.Finding{
				Place: place, Subject: name,
				Message: fmt.Sprintf("%ss %q and %q read alike", kind, was, name),
				Help:    []string{"write one name the same everywhere, or choose two that differ"},
				Related: []finding.Related{first[key]},
				Data:    facts{"kind": kind, "names": []string{was, name}},
			})
			names[key] = name
		}
	}
	called := map[string]*plan.Division{}
	for _, d := range r.Plan.Divisions {
		look("division", d.ID, d.At("id"))
		as := readsAsWords(d.Name)
		first := called[as]
		if called[as] = d; d.Name == "" || first == nil {
			continue
		}
		report(finding.Finding{
			Place: d.At("name"), Subject: d.Name,
			Message: fmt.Sprintf("%s and %s have one name, %q", first.Title(), d.Title(), d.Name),
			Help:    []string{"write where each of them is, or what it does"},
			Related: []finding.Related{related(first.At("name"), "%s", first.Title())},
			Data:    facts{"kind": "division name", "names": []string{first.Name, d.Name}, "divisions": []string{first.ID, d.ID}},
		})
	}
	for _, u := range r.Plan.Units {
		look("unit", u.Name, u.At("name"))
		look("team", u.Team, u.At("team"))
	}
}

// shortestNamed is how long a display name is that cannot be a word of the text.
const shortestNamed = 4

func instructionsChannel(r *plan.Resolved, report func(finding.Finding)) {
	in := &r.Plan.Incident
	if in.Instructions == "" || incomplete(r) || len(r.Also) < len(r.Plan.Also) {
		return
	}
	onCard := map[string]bool{} // by display name
	for _, s := range r.Slots {
		onCard[s.Channel.Name] = true
	}
	for _, a := range r.Also {
		onCard[a.Channel.Name] = true
	}
	var absent []string
	text := braced.ReplaceAllString(in.Instructions, "\x00") // what stands in braces is looked up elsewhere
	for _, name := range longestFirst(r.Load) {              // QB TAC 1 D does not name QB TAC 1
		rest := withoutWord(text, name)
		if rest != text && !onCard[name] && len(name) >= shortestNamed {
			absent = append(absent, name)
		}
		text = rest
	}
	data := facts{"channels": absent}
	if unheard := frequenciesNotOnCard(r, text); unheard != nil {
		data["frequencies_hz"] = unheard
		for _, f := range unheard {
			absent = append(absent, f.String())
		}
	}
	if absent == nil {
		return
	}
	report(finding.Finding{
		Place: in.At("instructions"), Subject: absent[0],
		Message: fmt.Sprintf("the instructions name %s, which no slot and no [[also]] has", and(absent[:min(3, len(absent))])),
		Help:    []string{"add the slot or an [[also]], or take it out of the instructions"},
		Data:    data,
	})
}

// frequencyIn is what may be a frequency in a text: not a part of a longer number, of a
// position in degrees, or of a telephone number.
var frequencyIn = regexp.MustCompile(`(?:^|[^\w.+−-])(\d{2,3}\.\d{2,6})(?:$|[^\w.°]|\.(?:$|\D)| ?MHz)`)

// frequenciesNotOnCard are those of a text that the radios can tune to, and nobody has on
// a card. With two decimals a number is one only where the load has it.
func frequenciesNotOnCard(r *plan.Resolved, text string) []radio.Hertz {
	known, onCard := map[radio.Hertz]bool{}, map[radio.Hertz]bool{}
	for _, c := range r.Load.Channels() {
		known[c.Rx], known[c.Tx] = true, true
	}
	for _, s := range r.Slots {
		onCard[s.Channel.Rx], onCard[s.Channel.Tx] = true, true
	}
	for _, a := range r.Also {
		onCard[a.Channel.Rx], onCard[a.Channel.Tx] = true, true
	}
	var found []radio.Hertz
	for from := 0; ; {
		m := frequencyIn.FindStringSubmatchIndex(text[from:])
		if m == nil {
			return found
		}
		said := text[from+m[2] : from+m[3]]
		from += m[3]
		f, err := radio.ParseMHz(said)
		_, decimals, _ := strings.Cut(said, ".")
		tunable := slices.ContainsFunc(r.Load.Radio.Bands, func(b plan.Band) bool { return b.Low <= f && f <= b.High })
		if err == nil && tunable && !onCard[f] && (known[f] || len(decimals) > 2) && !slices.Contains(found, f) {
			found = append(found, f)
		}
	}
}

// braced is a name in braces, of which the rule unknown-name-in-text has its say.
var braced = regexp.MustCompile(`\{[^{}\n]*\}`)

// longestFirst are the display names of a load, so that a name stands before
// those that it begins with.
func longestFirst(l *plan.Load) []string {
	var names []string
	for _, c := range l.Channels() {
		names = append(names, c.Name)
	}
	slices.SortFunc(names, func(a, b string) int {
		if d := len(b) - len(a); d != 0 {
			return d
		}
		return strings.Compare(a, b)
	})
	return slices.Compact(names)
}

// withoutWord blanks every place at which a name stands by itself in a text.
func withoutWord(text, name string) string {
	letter := func(i int) bool {
		return i >= 0 && i < len(text) && (text[i] >= '0' && text[i] <= '9' || text[i] >= 'A' && text[i] <= 'Z' || text[i] >= 'a' && text[i] <= 'z')
	}
	if name == "" {
		return text
	}
	for from := 0; ; {
		i := strings.Index(text[from:], name)
		if i < 0 {
			return text
		}
		i += from
		from = i + len(name)
		if letter(i-1) || letter(from) {
			continue
		}
		text = text[:i] + strings.Repeat("\x00", len(name)) + text[from:]
	}
}
