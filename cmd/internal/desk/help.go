package desk

import (
	"cmp"
	"reflect"
	"strings"

	"slotcard/plan"
	"slotcard/plan/rules"
	"slotcard/plan/tomlfile"
)

// What the trade means by a field. The sentences are those of the file's keys, of the
// flags of the commands and of the rules: here stands only which of them belong to a
// field. Says is for what is nothing of the file and no flag.

// Help is what is said about a field.
type Help struct {
	Field string // its name in the form, without the number behind it
	Title string
	Says  string
	Rules []HelpRule
}

// HelpRule is a rule that the field may break, with its reason.
type HelpRule struct{ ID, Statement, Why string }

// source is where the help of a field comes from.
type source struct {
	title string // "": as the field is called
	key   string // of a plan, such as "incident.name"; behind "load:" of a load
	flag  string // of a command, such as "draft --keep"
	says  string
	rules []string
}

func ofKey(key string, rules ...string) source { return source{key: key, rules: rules} }

var helps = map[string]map[string]source{}

// help says where the help for the fields of a view comes from; to be called from init.
func help(view string, fields map[string]source) { helps[view] = fields }

// Fields of several views.
var (
	aboutOffset = source{title: "Offset from UTC", says: "how far the clock at the fire is from UTC, such as -06:00", rules: []string{tomlfile.RuleNoOffset, "offsets-differ"}}
	aboutLoad   = source{title: "Load in the radios", says: "the set of channels that is programmed into the radios of all who go; its edition stands on the label of the radio and on the cover of the book", rules: []string{"load-not-effective", "load-expired"}}
	aboutNew    = source{title: "Name of the new file", says: "what the new plan is called in this folder, a name that nothing there has yet; no file is written over"}
	aboutPhone  = source{says: "the text that a phone or scanner reads from a card’s code: the list as the card has it, slot by slot"}
)

func init() {
	help("incident", map[string]source{
		"name": ofKey("incident.name"), "number": ofKey("incident.number"),
		"exercise": ofKey("incident.exercise", "exercise-differs"), "aircraft": ofKey("incident.aircraft", "no-air-to-ground", "aircraft-unheard"),
		"period": ofKey("incident.period"), "from": ofKey("incident.from", "load-not-effective"), "to": ofKey("incident.to", "period-reversed", "period-long"),
		"revision": ofKey("incident.revision", plan.RuleRevision), "revised_at": ofKey("incident.revised_at"),
		"prepared_by": ofKey("incident.prepared_by"), "prepared_at": ofKey("incident.prepared_at", "prepared-late", "prepared-early"),
		"latitude": ofKey("incident.latitude", "site-beyond-horizon"), "longitude": ofKey("incident.longitude"),
		"elevation_m": ofKey("incident.elevation_m"), "elevation_ft": ofKey("incident.elevation_ft"),
		"contact": ofKey("incident.contact"), "instructions": ofKey("incident.instructions", "instructions-channel", "bare-slot-number"),
		"offset": aboutOffset,
	})
	help("newfire", map[string]source{
		"fire": {title: "Name", key: "incident.name"}, "number": ofKey("incident.number"), "by": {title: "Prepared by", key: "incident.prepared_by"},
		"aircraft": ofKey("incident.aircraft", "no-air-to-ground"), "exercise": ofKey("incident.exercise"),
		"latitude": ofKey("incident.latitude", "site-beyond-horizon"), "longitude": ofKey("incident.longitude"),
		"from": ofKey("incident.from"), "hours": {says: "how long the operational period is", rules: []string{"period-short", "period-long"}},
		"offset": aboutOffset, "sure": {title: "The computer’s offset", says: "whether the offset is right is what only you can tell: a computer that was set up in another time zone puts every time on the cards wrong"},
		"load": aboutLoad, "station": {title: "Who goes", says: "where the units come from: the station’s file, which stays as it is, or an example to fill in", rules: []string{"no-units"}}, "unit": ofKey("unit"),
	})
	help("list", map[string]source{"q": {title: "Add a channel", says: "any part of what you know of it: its display name, frequency, tone, site, use, or its group and channel number", rules: []string{"command-first", "guard-last", "no-empty-position", "channel-twice"}}})
	help("divisions", map[string]source{
		"id": {title: "Letter", key: "division.id", rules: []string{"division-order", "division-without-tactical"}}, "called": {title: "Name", key: "division.name"},
		"supervisor": ofKey("division.supervisor", "division-empty"), "functional": ofKey("division.functional", "group-without-slot"), "beside": ofKey("division.beside", "group-beside-none"),
	})
	help("roster", map[string]source{
		"unit": ofKey("unit.name", "units-alike"), "kind": ofKey("unit.kind"), "team": ofKey("unit.team", "team-without-division", "no-travel"), "division": ofKey("unit.division"),
		"seat":  {title: "Seats", key: "unit.seats", rules: []string{"unit-without-seats", "many-seats"}},
		"cells": {says: "cells as a spreadsheet copies them. With a row of titles, columns may be in any order; without one they are in the order of the table"},
		"file":  {title: "A roster", flag: "draft --roster"},
	})
	help("listen", map[string]source{
		"position": ofKey("position.name"), "priority": ofKey("position.priority", "no-priority", "priority-guard"), "mark": {title: "Scan", key: "position.scan", rules: []string{"scan-limit", "neighbour-not-carried"}},
	})
	help("next", map[string]source{"name": aboutNew})
	help("revise", map[string]source{"name": aboutNew, "at": {title: "Changed at", flag: "revise --at", rules: []string{plan.RuleRevision}}})
	help("new", map[string]source{"name": {title: "Name of its folder", says: "the folder that the exercise is put into, beside your fires"}})
	help("draft", map[string]source{
		"text": {title: "Paste it here", says: "the plan sheet as text: a table copied from a mail, a spreadsheet or a PDF"}, "file": {title: "Its file", says: "the plan sheet as a file; what it does not say can be given beside it"},
		"load": aboutLoad, "name": aboutNew, "keep": {title: "Units and settings from", flag: "draft --keep"}, "aircraft": ofKey("incident.aircraft", "no-air-to-ground"), "exercise": ofKey("incident.exercise"),
		"incident": ofKey("incident.name"), "number": ofKey("incident.number"), "period": ofKey("incident.period"), "from": ofKey("incident.from"), "to": ofKey("incident.to", "period-long"), "offset": aboutOffset, "prepared-by": ofKey("incident.prepared_by"),
	})
	help("load", map[string]source{
		"name": ofKey("load:load.name"), "edition": ofKey("load:load.edition", "edition-mark-differs"), "color": ofKey("load:load.color"), "exercise": ofKey("load:load.exercise", "exercise-differs"),
		"effective": ofKey("load:load.effective", "load-not-effective"), "expires": ofKey("load:load.expires", "load-expired"), "positions": ofKey("load:radio.list_positions", "no-empty-position"),
		"q":      {title: "Find", says: "any part of what you know of a channel: its display name, frequency, tone, site or use"},
		"number": ofKey("load:group.channel.number"), "called": {title: "Display name", key: "load:group.channel.name", rules: []string{"name-too-long", "names-differ"}}, "use": ofKey("load:group.channel.use"),
		"rx": ofKey("load:group.channel.rx", "out-of-band", "off-raster"), "tx": ofKey("load:group.channel.tx"), "rx_tone": ofKey("load:group.channel.rx_tone"), "tx_tone": ofKey("load:group.channel.tx_tone", "ctcss-unpublished"),
		"mode": ofKey("load:group.channel.mode", "mode-not-supported"), "width": ofKey("load:group.channel.width", "wideband"), "system": ofKey("load:group.channel.system"), "talkgroup": ofKey("load:group.channel.talkgroup"),
		"remarks": ofKey("load:group.channel.remarks"), "receive_only": ofKey("load:group.channel.receive_only", "receive-only"), "edition_mark": ofKey("load:group.channel.edition_mark", "no-edition-mark"),
		"everywhere": {title: "In all places", says: "a channel may stand in several groups of a load", rules: []string{"names-differ"}},
		"sure":       {title: "All the same", says: "plans of this folder name the channel as it was: change them, too, before they are printed"},
	})
	help("import", map[string]source{
		"file": {title: "File", says: "the agency’s channel list: a spreadsheet, CSV, or a PDF with text. Where a name is asked for, it is that of the load to be written"}, "text": {title: "Cells", says: "cells of the channel list as a spreadsheet copies them"},
		"map": {title: "What a column holds", flag: "import --map"}, "name": ofKey("load:load.name"), "edition": ofKey("load:load.edition"), "color": ofKey("load:load.color"), "effective": ofKey("load:load.effective"), "expires": ofKey("load:load.expires"),
		"positions": ofKey("load:radio.list_positions", "no-empty-position"), "edition-channel": ofKey("load:group.channel.edition_mark", "no-edition-mark"), "since": {title: "Last year’s load", flag: "import --since"},
	})
	help("prove", map[string]source{
		"file": {title: "A photograph", says: "a picture of a card’s code, or a PDF of cards: what it holds is compared with the plan, slot by slot"}, "code": {title: "Code", says: "the read-back code: four characters that stand for a whole list. Two lists with the same code are the same list", rules: []string{"code-twice"}}, "text": aboutPhone,
	})
	help("checkin", map[string]source{"text": {title: "Scan", says: "what a keyboard scanner types when it reads a card’s code; each list that is read is answered in a line, and kept"}})
	help("cards", map[string]source{"find": {says: "part of the name of a unit, a team or a division: only their cards are shown"}})
	help("findings", map[string]source{"because": ofKey("accept.because"), "by": ofKey("accept.by")})
	help("file", map[string]source{"text": {title: "The file", says: "the file as it is written. Saving checks it; a version from before stays in History"}})
	sheets := map[string]source{
		"cards":        {title: "Cards", says: "a card for the pocket of each seat: the list, who talks where, what the seat listens to, and a code to prove it by"},
		"wall":         {title: "Wall sheet", says: "the list, to hang up at base and read from some meters: as a list, as a grid of divisions and slots, or on one page for a clipboard"},
		"handout":      {title: "Hand-out sheets", says: "who gets which card, with room for initials, for whoever hands the cards out"},
		"changes":      {title: "Change sheet", says: "what each list has new since another plan, to brief it from"},
		"strips":       {title: "Strips", says: "paper strips that change the cards of another plan, with the sentence to read on the radio"},
		"fire":         {title: "The fire", says: "the divisions around the fire and what each talks on, for the briefing"},
		"bleed":        {title: "Paper beyond the card", says: "how much more paper there is around each card, up to 3 mm, so that a cut beside the line leaves no white edge"},
		"changed-only": {title: "Only cards that must be replaced", says: "leaves out cards that stay as they are since the other plan"},
		"since":        {title: "Say what changes since", says: "each card says what is new since that plan, and a change sheet is printed"},
		"wall-paper":   {title: "Paper of the wall sheet", says: "where the wall sheet goes onto other paper than the cards"},
		"format":       {title: "Size of the pages", says: "how large a page of the book is, once it is folded"},
		"pages":        {title: "Pages one by one", says: "pages in reading order, for a screen, and not arranged to be folded"},
		"only":         {title: "Only the cards of", flag: "print --only"},
	}
	for _, f := range []string{"size", "paper", "sides", "copies", "sort", "order", "language", "tile", "distance", "plain", "png", "csv", "no-attach"} {
		sheets[f] = source{flag: "print --" + f}
	}
	for _, k := range []string{"edge", "roll", "dpi", "gap"} {
		sheets[k] = ofKey("card." + k)
	}
	help("print", sheets)
}

// Helps are what is said about the fields of the page.
func (p *Page) Helps() (out []Help) {
	if own, ok := p.Data.(interface{ Helps() []Help }); ok {
		return own.Helps()
	}
	view := helps[p.View.Name]
	for _, field := range sortedKeys(view) {
		out = append(out, p.desk.helpOf(field, view[field]))
	}
	return out
}

func (d *desk) helpOf(field string, s source) Help {
	h := Help{Field: field, Title: cmp.Or(s.title, strings.NewReplacer("_", " ", "-", " ").Replace(field)), Says: s.says}
	switch {
	case s.key != "":
		h.Says = docOf(s.key)
	case s.flag != "" && d.Usage != nil:
		command, flag, _ := strings.Cut(s.flag, " --")
		h.Says = d.Usage(command, flag)
	}
	for _, id := range s.rules {
		if r, ok := rules.Get(id); ok {
			h.Rules = append(h.Rules, HelpRule{r.ID, r.Statement, r.Why})
		}
	}
	return h
}

// docOf is what a key of a plan means, or behind "load:" of a load; "": there is none.
func docOf(path string) (doc string) {
	t := reflect.TypeFor[plan.Plan]()
	if in, ok := strings.CutPrefix(path, "load:"); ok {
		t, path = reflect.TypeFor[plan.Load](), in
	}
	for key := range strings.SplitSeq(path, ".") {
		for t.Kind() == reflect.Slice || t.Kind() == reflect.Pointer {
			t = t.Elem()
		}
		doc = ""
		for _, f := range tomlfile.Fields(t) {
			if f.Key == key {
				doc, t = f.Doc, f.Type
				break
			}
		}
		if doc == "" {
			return ""
		}
	}
	return doc
}
