package desk

import (
	"encoding/json"
	"maps"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/net/html"

	"slotcard/plan/schema"
)

// rigs is what a plan and a station file may both say.
const rigs = `[[position]]
name = "Engine boss"

[[unit]]
name = "Engine 611"
seats = { "Engine boss" = 1 }

[[also]]
channel = "QB TAC 1"
when = "on the road"

[[accept]]
rule = "no-guard"
subject = "Thimble Gulch"
because = "none is watched"
by = "R. Okafor"
`

// Files in which few keys stand.
var keyFiles = map[string]string{
	"load": `# What the radios carry.
[load]
name = "Quillback Range cooperators"
edition = "2027"
color = "orange"
effective = 2027-03-01
expires = 2028-03-31

[radio]
list_positions = 16
name_length = 10
bands = [[136.0, 174.0]]
modes = ["analog"]

[[tone]]
number = 4
hz = 146.2

[[site]]
name = "Bellwether"
tone = 4
channels = ["QB CMD 1"] # by its antenna

[[group]]
number = 1
name = "Quillback local"

[[group.channel]]
number = 1
name = "QB CMD 1"
use = "command"
rx = 152.4125
tx = 157.6725
rx_tone = 103.5
tx_tone = "site"

[[group.channel]]
number = 2
name = "QB TAC 1"
use = "tactical"
rx = 151.3550

[[accept]]
rule = "no-edition-mark"
subject = "2027"
because = "the label says it"
by = "R. Okafor"
`,
	"plan": `# A fire.
load = "load.toml"

[incident]
name = "Thimble Gulch"
period = 2
from = 2027-08-14T06:00:00-06:00
to = 2027-08-14T18:00:00-06:00
prepared_by = "R. Okafor"
prepared_at = 2027-08-13T20:30:00-06:00

[[slot]] # the first
channel = "QB CMD 1"
site = "Bellwether"

[[slot]]
channel = "QB TAC 1"

[[division]]
id = "A"

` + rigs,
	"station": `# Who is on the rigs.
` + rigs,
}

// keyEdit is how a person sets a key: what is typed into which field of which page, and
// what the file says then.
type keyEdit struct {
	page string // behind the name of its view, a question
	do   string
	typed,
	want string
	with map[string]string // what has to be filled in beside it
}

func on(page, do, typed, want string, with ...string) keyEdit {
	e := keyEdit{page: page, do: do, typed: typed, want: want, with: map[string]string{}}
	for i := 0; i+1 < len(with); i += 2 {
		e.with[with[i]] = with[i+1]
	}
	return e
}

// cut are all keys of a paper that is to be cut already.
var cut = []string{"width", "85", "height", "54", "columns", "2", "rows", "5", "left", "15", "top", "13.5"}

func detail(part, typed, want string) keyEdit {
	return on("details?table="+part+"&edit=0", "set", typed, want)
}

func newDetail(part, typed, want string, with ...string) keyEdit {
	return on("details?table="+part+"&add=1", "add", typed, want, with...)
}

// shared are keys of plans and station files alike.
var shared = map[string]keyEdit{
	"position.name":     detail("position", "Lookout", `"Lookout"`),
	"position.priority": detail("position", "own", `"own"`),
	"position.scan":     detail("position", "command, neighbors", `["command", "neighbors"]`),

	"also.channel":   detail("also", "QB CMD 1", `"QB CMD 1"`),
	"also.when":      detail("also", "at base", `"at base"`),
	"also.site":      detail("also", "Bellwether", `"Bellwether"`),
	"also.tone":      detail("also", "4", `4`),
	"also.group":     detail("also", "1", `1`),
	"also.number":    detail("also", "2", `2`),
	"also.rx":        detail("also", "151.355", `151.3550`),
	"also.tx":        detail("also", "151.355", `151.3550`),
	"also.rx_tone":   detail("also", "D023", `"D023"`),
	"also.tx_tone":   detail("also", "146.2", `146.2`),
	"accept.rule":    detail("accept", "no-air-to-ground", `"no-air-to-ground"`),
	"accept.subject": detail("accept", "all", `"all"`),
	"accept.because": detail("accept", "it is so", `"it is so"`),
	"accept.by":      detail("accept", "A. Ndiaye", `"A. Ndiaye"`),

	"card.size":       newDetail("card", "90x55", `"90x55"`),
	"card.paper":      newDetail("card", "a4", `"a4"`),
	"card.sides":      newDetail("card", "short", `"short"`),
	"card.order":      newDetail("card", "stack", `"stack"`),
	"card.language":   newDetail("card", "es", `"es"`),
	"card.edge":       newDetail("card", "5", `5.0`),
	"card.roll":       newDetail("card", "102x152", `"102x152"`),
	"card.gap":        newDetail("card", "2", `2.0`),
	"card.dpi":        newDetail("card", "203", `203`),
	"card.scan_limit": newDetail("card", "4", `4`),

	"stock.width":    newDetail("stock", "86", `86.0`, cut...),
	"stock.height":   newDetail("stock", "55", `55.0`, cut...),
	"stock.columns":  newDetail("stock", "3", `3`, cut...),
	"stock.rows":     newDetail("stock", "4", `4`, cut...),
	"stock.left":     newDetail("stock", "16", `16.0`, cut...),
	"stock.top":      newDetail("stock", "12", `12.0`, cut...),
	"stock.gutter_x": newDetail("stock", "5", `5.0`, cut...),
	"stock.gutter_y": newDetail("stock", "6", `6.0`, cut...),
}

// keyEdits say for every key of the three files how it is set in the desk.
var keyEdits = map[string]map[string]keyEdit{
	"plan": {
		"load": on("details?table=", "set", "other.toml", `"other.toml"`),
		"base": on("details?table=", "set", "station.toml", `"station.toml"`),

		"incident.name":         on("incident?", "set", "Copper Draw", `"Copper Draw"`),
		"incident.number":       on("incident?", "set", "QB-0412", `"QB-0412"`),
		"incident.exercise":     on("incident?", "set", "1", `true`),
		"incident.aircraft":     on("incident?", "set", "1", `true`),
		"incident.period":       on("incident?", "set", "3", `3`),
		"incident.revision":     on("incident?", "set", "2", `2`, "revised_at", "2027-08-14T13:05"),
		"incident.revised_at":   on("incident?", "set", "2027-08-14T13:05", `2027-08-14T13:05:00-06:00`, "revision", "2"),
		"incident.from":         on("incident?", "set", "2027-08-14T07:00", `2027-08-14T07:00:00-06:00`),
		"incident.to":           on("incident?", "set", "2027-08-14T19:00", `2027-08-14T19:00:00-06:00`),
		"incident.prepared_by":  on("incident?", "set", "A. Ndiaye", `"A. Ndiaye"`),
		"incident.prepared_at":  on("incident?", "set", "2027-08-13T21:00", `2027-08-13T21:00:00-06:00`),
		"incident.contact":      on("incident?", "set", "555 0100", `"555 0100"`),
		"incident.latitude":     on("incident?", "set", "44.1", `44.1`),
		"incident.longitude":    on("incident?", "set", "-114.1", `-114.1`),
		"incident.elevation_m":  on("incident?", "set", "1800", `1800.0`),
		"incident.elevation_ft": on("incident?", "set", "5900", `5900.0`),
		"incident.instructions": on("incident?", "set", "Step away from the rig.", `"Step away from the rig."`),

		"slot.channel":    detail("slot", "QB TAC 1", `"QB TAC 1"`),
		"slot.group":      detail("slot", "1", `1`),
		"slot.number":     detail("slot", "2", `2`),
		"slot.rx":         detail("slot", "152.4125", `152.4125`),
		"slot.tx":         detail("slot", "157.6725", `157.6725`),
		"slot.rx_tone":    detail("slot", "103.5", `103.5`),
		"slot.tx_tone":    detail("slot", "site", `"site"`),
		"slot.use":        detail("slot", "command", `"command"`),
		"slot.site":       detail("slot", "Ridge", `"Ridge"`),
		"slot.tone":       detail("slot", "4", `4`),
		"slot.division":   detail("slot", "A", `"A"`),
		"slot.carried_by": detail("slot", "A", `"A"`),

		"division.id":         on("divisions?", "set", "B", `"B"`),
		"division.name":       {"divisions?", "set", "Left flank", `"Left flank"`, map[string]string{"": "called"}},
		"division.supervisor": on("divisions?", "set", "A. Ndiaye", `"A. Ndiaye"`),
		"division.functional": on("divisions?", "set", "1", `true`),
		"division.beside":     on("divisions?", "add", "A", `["A"]`, "id", "SP", "functional", "1"),

		"unit.name":     {"roster?", "set", "Engine 612", `"Engine 612"`, map[string]string{"": "unit"}},
		"unit.kind":     on("roster?", "set", "engine type 3", `"engine type 3"`),
		"unit.team":     on("roster?", "set", "Strike team 6100C", `"Strike team 6100C"`),
		"unit.division": on("roster?", "set", "A", `"A"`),
		"unit.seats":    {"roster?", "set", "3", `{ "Engine boss" = 3 }`, map[string]string{"": "seat0"}},
	},
	"load": {
		"load.name":      on("load?", "about", "Copper Draw cooperators", `"Copper Draw cooperators"`),
		"load.edition":   on("load?", "about", "2028", `"2028"`),
		"load.color":     on("load?", "about", "blue", `"blue"`),
		"load.effective": on("load?", "about", "2027-04-01", `2027-04-01`),
		"load.expires":   on("load?", "about", "2028-04-01", `2028-04-01`),
		"load.exercise":  on("load?", "about", "1", `true`),

		"radio.raster":         on("details?table=radio", "set", "none", `"none"`),
		"radio.list_positions": on("details?table=radio", "set", "20", `20`),
		"radio.name_length":    on("details?table=radio", "set", "8", `8`),
		"radio.bands":          on("details?table=radio", "set", "136 - 174, 380 - 470", `[[136.0000, 174.0000], [380.0000, 470.0000]]`),
		"radio.modes":          on("details?table=radio", "set", "analog, digital", `["analog", "digital"]`),

		"tone.number": detail("tone", "7", `7`),
		"tone.hz":     detail("tone", "110.9", `110.9`),

		"site.name":         detail("site", "Ridge", `"Ridge"`),
		"site.tone":         detail("site", "110.9", `110.9`),
		"site.latitude":     detail("site", "44.0", `44.0`),
		"site.longitude":    detail("site", "-114,25", `-114.25`),
		"site.elevation_m":  detail("site", "2500", `2500.0`),
		"site.elevation_ft": detail("site", "8200", `8200.0`),
		"site.channels":     detail("site", "QB CMD 1, QB TAC 1", `["QB CMD 1", "QB TAC 1"] # by its antenna`),

		"group.number": detail("group", "3", `3`),
		"group.name":   detail("group", "Local", `"Local"`),

		"group.channel.number":       on("load?edit=1", "set", "5", `5`),
		"group.channel.name":         {"load?edit=1", "set", "QB TAC 9", `"QB TAC 9"`, map[string]string{"": "called"}},
		"group.channel.use":          on("load?edit=1", "set", "support", `"support"`),
		"group.channel.rx":           on("load?edit=1", "set", "151.37", `151.3700`),
		"group.channel.tx":           on("load?edit=1", "set", "151.37", `151.3700`),
		"group.channel.rx_tone":      on("load?edit=1", "set", "D023", `"D023"`),
		"group.channel.tx_tone":      on("load?edit=1", "set", "110.9", `110.9`),
		"group.channel.mode":         on("load?edit=1", "set", "digital", `"digital"`),
		"group.channel.width":        on("load?edit=1", "set", "wide", `"wide"`),
		"group.channel.receive_only": on("load?edit=1", "set", "1", `true`),
		"group.channel.edition_mark": on("load?edit=1", "set", "1", `true`),
		"group.channel.remarks":      on("load?edit=1", "set", "the valley", `"the valley"`),
		"group.channel.system":       on("load?edit=1", "set", "QB 700", `"QB 700"`, "talkgroup", "4", "rx", ""),
		"group.channel.talkgroup":    on("load?edit=1", "set", "FIRE 4", `"FIRE 4"`, "system", "QB 700", "rx", ""),

		"accept.rule": shared["accept.rule"], "accept.subject": shared["accept.subject"], "accept.because": shared["accept.because"], "accept.by": shared["accept.by"],
	},
	"station": {
		"unit.name":     detail("unit", "Engine 612", `"Engine 612"`),
		"unit.kind":     detail("unit", "engine type 3", `"engine type 3"`),
		"unit.team":     detail("unit", "Strike team 6100C", `"Strike team 6100C"`),
		"unit.division": detail("unit", "A", `"A"`),
		"unit.seats":    detail("unit", "Engine boss = 2, Firefighter = 3", `{ "Engine boss" = 2, Firefighter = 3 }`),
	},
}

// keysOf are the keys of a schema, without other spellings of them.
func keysOf(t *testing.T, text []byte) (keys []string) {
	type node struct {
		Properties map[string]*node
		Items      *node
		Deprecated bool
	}
	root := new(node)
	require.NoError(t, json.Unmarshal(text, root))
	var walk func(n *node, at string)
	walk = func(n *node, at string) {
		for key, in := range n.Properties {
			switch {
			case in.Deprecated:
			case in.Items != nil && in.Items.Properties != nil:
				walk(in.Items, at+key+".")
			case in.Properties != nil:
				walk(in, at+key+".")
			default:
				keys = append(keys, at+key)
			}
		}
	}
	walk(root, "")
	slices.Sort(keys)
	return keys
}

// Every key that the schema of a file has can be set on a page of the desk, by the form
// that the page shows; nothing else of the file changes. A new key of the schema fails
// this test until a page sets it.
func TestEveryKeyCanBeSet(t *testing.T) {
	for kind, text := range map[string][]byte{"plan": schema.Plan(), "load": schema.Load(), "station": schema.Station()} {
		edits := maps.Clone(keyEdits[kind])
		if kind != "load" {
			maps.Copy(edits, shared)
		}
		known := keysOf(t, text)
		assert.Greater(t, len(known), 20, kind)
		for key := range edits {
			assert.Contains(t, known, key, "%s: the schema has no such key", kind)
		}
		d := keyDesk(t)
		for _, path := range known {
			e, ok := edits[path]
			if !assert.True(t, ok, "%s: no page sets %s: say in this table which does", kind, path) {
				continue
			}
			for name, text := range keyFiles {
				require.NoError(t, os.WriteFile(name+".toml", []byte(text), 0o644))
			}
			key := path[strings.LastIndexByte(path, '.')+1:]
			values := map[string]string{}
			field := key
			for name, value := range e.with {
				if name == "" {
					field = value
				} else {
					values[name] = value
				}
			}
			values[field] = e.typed
			if kind == "load" && strings.HasPrefix(path, "group.channel.") {
				values["sure"] = "1" // the plan has it in its list
			}
			if path == "site.name" {
				values["sure"] = "1"
			}
			view, query, _ := strings.Cut(e.page, "?")
			alert := submit(t, d, "/"+view+"/"+kind+".toml?"+query, e.do, values)
			require.Empty(t, alert, "%s %s", kind, path)
			got, err := os.ReadFile(kind + ".toml")
			require.NoError(t, err)
			assert.Regexp(t, `(?m)^"?`+regexp.QuoteMeta(key)+`"?\s*= `+regexp.QuoteMeta(e.want)+`$`, string(got), "%s %s", kind, path)
			assert.Contains(t, string(got), strings.SplitN(keyFiles[kind], "\n", 2)[0], "%s %s: comments stay", kind, path)
			lost := 0
			for line := range strings.SplitSeq(keyFiles[kind], "\n") {
				if !strings.Contains(string(got), line) {
					lost++
				}
			}
			most := 1
			if path == "division.id" || path == "position.name" || strings.HasSuffix(path, "system") || strings.HasSuffix(path, "talkgroup") || path == "tone.number" {
				most = 2 // what names it follows; a talkgroup has no frequency
			}
			assert.LessOrEqual(t, lost, most, "%s %s: %s", kind, path, got)
		}
	}
}

func keyDesk(t *testing.T) *desk {
	t.Helper()
	dir := t.TempDir()
	for name, text := range keyFiles {
		require.NoError(t, os.WriteFile(filepath.Join(dir, name+".toml"), []byte(text), 0o644))
	}
	return openedIn(t, dir)
}

// submit fills in the form of a page that has a button and all fields of the names, and
// sends it as a browser does; it gives what the page says against it.
func submit(t *testing.T, d *desk, page, do string, values map[string]string) string {
	t.Helper()
	text := body(t, answer(d, ask(d, http.MethodGet, page, nil)))
	root, err := html.Parse(strings.NewReader(text))
	require.NoError(t, err)
	attr := func(n *html.Node, key string) (string, bool) {
		for _, a := range n.Attr {
			if a.Key == key {
				return a.Val, true
			}
		}
		return "", false
	}
	for form := range root.Descendants() {
		if form.Data != "form" || form.Type != html.ElementNode {
			continue
		}
		id, _ := attr(form, "id")
		sent, has, button := url.Values{}, map[string]bool{"sure": true}, false
		take := func(n *html.Node) {
			name, _ := attr(n, "name")
			value, _ := attr(n, "value")
			kind, _ := attr(n, "type")
			_, checked := attr(n, "checked")
			if n.Type == html.ElementNode && name != "" {
				has[name] = true
			}
			switch {
			case n.Data == "button":
				button = button || name == "do" && value == do
			case n.Data == "input" && (kind != "checkbox" || checked):
				sent.Set(name, value)
			case n.Data == "textarea" && n.FirstChild != nil:
				sent.Set(name, n.FirstChild.Data)
			case n.Data == "select":
				for o := range n.Descendants() {
					if _, selected := attr(o, "selected"); o.Data == "option" && (selected || !sent.Has(name)) {
						v, ok := attr(o, "value")
						if !ok && o.FirstChild != nil {
							v = o.FirstChild.Data
						}
						sent.Set(name, v)
					}
				}
			}
		}
		for n := range root.Descendants() {
			of, other := attr(n, "form")
			inside := false
			for p := n.Parent; p != nil; p = p.Parent {
				inside = inside || p == form
			}
			if other && of == id && id != "" || !other && inside {
				take(n)
			}
		}
		all := button
		for name := range values {
			all = all && has[name]
		}
		if !all {
			continue
		}
		for name, value := range values {
			sent.Set(name, value)
		}
		sent.Set("do", do)
		at, _, _ := strings.Cut(page, "?")
		if action, ok := attr(form, "action"); ok {
			at = action
		}
		r := answer(d, ask(d, http.MethodPost, at, sent))
		if r.StatusCode == http.StatusSeeOther {
			return ""
		}
		said := body(t, r)
		_, said, _ = strings.Cut(said, `role="alert"><b>`)
		said, _, _ = strings.Cut(said, "</b>")
		return "refused: " + html.UnescapeString(said)
	}
	if _, main, ok := strings.Cut(text, "<main"); ok {
		text = main
	}
	require.Failf(t, "no form", "%s: %s has none with %s and %v", text, page, do, slices.Sorted(maps.Keys(values)))
	return ""
}
