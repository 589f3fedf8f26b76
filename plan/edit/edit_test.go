package edit_test

import (
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"slotcard/plan"
	"slotcard/plan/edit"
	"slotcard/plan/finding"
	"slotcard/plan/radio"
	"slotcard/plan/tomlfile"
)

// open reads a text that need not be a plan: what its keys mean is not asked.
func open(text string) *edit.Editor {
	file, _ := tomlfile.Decode("plan.toml", []byte(text), new(struct{}))
	return edit.Open(file)
}

const short = `#:schema plan.schema.json
# Thimble Gulch
load = "load.toml"   # beside this file

[incident]
name   = "Thimble Gulch" # as dispatch says it
period = 2

# command
[[slot]]
channel = "QB CMD 1"
# site = "Bellwether"
[[slot]]
channel  = "VFIRE21"
division = ["A", "Z"]

# last
[[slot]]
channel = "AIRGUARD"

# the crews

[[unit]]
name  = "Engine 611"
seats = { "Engine boss" = 1, Firefighter = 3 }
`

func table(e *edit.Editor, key string, i int) tomlfile.Table {
	return e.Root().TablesIn(key)[i]
}

func incident(e *edit.Editor) tomlfile.Table {
	t, _ := e.Root().TableIn("incident")
	return t
}

func TestEdits(t *testing.T) {
	for _, c := range []struct {
		name     string
		do       func(e *edit.Editor)
		old, new string // what is put in place of what in the text above
		title    string
	}{
		{"a value", func(e *edit.Editor) { e.Set(incident(e), "period", 3) }, "period = 2", "period = 3", "write period = 3"},
		{"a value before a remark", func(e *edit.Editor) { e.Set(incident(e), "name", `A "quoted" name`) },
			`"Thimble Gulch" #`, `"A \"quoted\" name" #`, `write name = "A \"quoted\" name"`},
		{"a new key, in the column of the one above", func(e *edit.Editor) { e.Set(incident(e), "base", "x") },
			"period = 2\n", "period = 2\nbase   = \"x\"\n", `write base = "x"`},
		{"a new key of a slot", func(e *edit.Editor) { e.Set(table(e, "slot", 1), "use", "tactical") },
			"[\"A\", \"Z\"]\n", "[\"A\", \"Z\"]\nuse      = \"tactical\"\n", `write use = "tactical"`},
		{"a new key at the top", func(e *edit.Editor) { e.Set(e.Root(), "base", "station.toml") },
			"# beside this file\n", "# beside this file\nbase = \"station.toml\"\n", `write base = "station.toml"`},
		{"a new pair in braces", func(e *edit.Editor) {
			seats, _ := table(e, "unit", 0).TableIn("seats")
			e.Set(seats, "Crew boss", 1)
		}, "Firefighter = 3 }", `Firefighter = 3, "Crew boss" = 1 }`, `write "Crew boss" = 1`},
		{"a pair in braces", func(e *edit.Editor) {
			seats, _ := table(e, "unit", 0).TableIn("seats")
			e.Delete(seats, "Engine boss")
		}, `"Engine boss" = 1, Firefighter`, "Firefighter", `delete "Engine boss"`},
		{"the last pair in braces", func(e *edit.Editor) {
			seats, _ := table(e, "unit", 0).TableIn("seats")
			e.Delete(seats, "Firefighter")
		}, ", Firefighter = 3", "", "delete Firefighter"},
		{"a key", func(e *edit.Editor) { e.Delete(incident(e), "name") }, "name   = \"Thimble Gulch\" # as dispatch says it\n", "", "delete name"},
		{"an item", func(e *edit.Editor) { e.DeleteItem(table(e, "slot", 1), "division", 0) }, `["A", "Z"]`, `["Z"]`, `delete "A"`},
		{"the last item", func(e *edit.Editor) { e.DeleteItem(table(e, "slot", 1), "division", 1) }, `["A", "Z"]`, `["A"]`, `delete "Z"`},
		{"another item", func(e *edit.Editor) { e.SetItem(table(e, "slot", 1), "division", 1, "B") }, `["A", "Z"]`, `["A", "B"]`, `write "B"`},
		{"one item more", func(e *edit.Editor) { e.AddItem(table(e, "slot", 1), "division", "B") }, `["A", "Z"]`, `["A", "Z", "B"]`, `add "B" to division`},
		{"a list out of one", func(e *edit.Editor) { e.AddItem(table(e, "slot", 1), "channel", "B") }, `"VFIRE21"`, `["VFIRE21", "B"]`, `add "B" to channel`},
		{"a list where there is none", func(e *edit.Editor) { e.AddItem(incident(e), "beside", "B") }, "period = 2\n", "period = 2\nbeside = [\"B\"]\n", `add "B" to beside`},
		{"a key's name", func(e *edit.Editor) { e.Rename(incident(e), "period", "two words") }, "period", `"two words"`, `write "two words" in place of period`},
		{"all headers", func(e *edit.Editor) { e.Rename(e.Root(), "slot", "slots") }, "[[slot]]", "[[slots]]", "write slots in place of slot"},
		{"a table forward", func(e *edit.Editor) { e.MoveBefore(table(e, "slot", 2), table(e, "slot", 0)) }, "", "", "move the [[slot]] in line 18 in front of the one in line 10"},
		{"a table", func(e *edit.Editor) { e.DeleteTable(table(e, "slot", 2)) }, "# last\n[[slot]]\nchannel = \"AIRGUARD\"\n\n", "", "delete the [[slot]] in line 18"},
		{"the first table", func(e *edit.Editor) { e.DeleteTable(table(e, "slot", 0)) }, "# command\n[[slot]]\nchannel = \"QB CMD 1\"\n# site = \"Bellwether\"\n", "", "delete the [[slot]] in line 10"},
		{"the last table of the file", func(e *edit.Editor) { e.DeleteTable(table(e, "unit", 0)) },
			"\n[[unit]]\nname  = \"Engine 611\"\nseats = { \"Engine boss\" = 1, Firefighter = 3 }\n", "", "delete the [[unit]] in line 23"},
		{"a new table", func(e *edit.Editor) {
			e.InsertBefore(table(e, "slot", 2), edit.Table{Header: "[[slot]]", Keys: tomlfile.Pairs{{Key: "rx", Value: radio.Hertz(154_280_000)}, {Key: "division", Value: []string{"A"}}}})
		}, "# last\n", "[[slot]]\nrx       = 154.2800\ndivision = [\"A\"]\n\n# last\n", `add [[slot]] with rx = 154.2800, division = ["A"]`},
		{"a new table behind", func(e *edit.Editor) {
			e.InsertAfter(table(e, "slot", 0), edit.Table{Header: "[[slot]]", Comment: "two\n\nlines"})
		}, "# site = \"Bellwether\"\n", "# site = \"Bellwether\"\n# two\n#\n# lines\n[[slot]]\n", "add [[slot]]"},
		{"a table at the end", func(e *edit.Editor) {
			e.Append(edit.Table{Header: "[card]", Keys: tomlfile.Pairs{{Key: "size", Value: "90x55"}}})
		}, "Firefighter = 3 }\n", "Firefighter = 3 }\n\n[card]\nsize = \"90x55\"\n", `add [card] with size = "90x55"`},
		{"nothing", func(e *edit.Editor) { e.Set(incident(e), "period", 2) }, "", "", "write period = 2"},
	} {
		for _, end := range []string{"\n", "\r\n"} {
			for _, mark := range []string{"", "\xef\xbb\xbf"} {
				lines := strings.NewReplacer("\n", end)
				e := open(mark + lines.Replace(short))
				c.do(e)
				got, err := e.Text()
				require.NoError(t, err, c.name)
				want := strings.ReplaceAll(short, c.old, c.new)
				if c.old == "" {
					want = short
				}
				if c.name == "a table forward" {
					want = strings.Replace(short, "\n# last\n[[slot]]\nchannel = \"AIRGUARD\"\n", "", 1)
					want = strings.Replace(want, "# command\n", "# last\n[[slot]]\nchannel = \"AIRGUARD\"\n# command\n", 1)
				}
				assert.Equal(t, mark+lines.Replace(want), string(got), c.name)
				assert.Equal(t, c.title, e.Edit("").Title)
			}
		}
	}
}

func TestRefused(t *testing.T) {
	const text = `slot = [{ channel = "A" }, { channel = "B" }]
a.b = 1
a.c = 2
seats = { x.y = 1 }
[group.one]
number = 1
[unit]
name = "x"
[unit.of]
[other]
[unit.apart]
`
	sub := func(e *edit.Editor, keys ...string) tomlfile.Table {
		at := e.Root()
		for _, key := range keys {
			at, _ = at.TableIn(key)
		}
		return at
	}
	for want, do := range map[string]func(e *edit.Editor){
		"plan.toml:1:28: the table has no header of its own, so it cannot be moved or removed as a whole": func(e *edit.Editor) {
			e.MoveBefore(table(e, "slot", 1), table(e, "slot", 0))
		},
		"plan.toml:2:1: the table has no header of its own, so it cannot be moved or removed as a whole": func(e *edit.Editor) { e.DeleteTable(sub(e, "a")) },
		"plan.toml:7:1: its tables do not all stand below it; the next is in line 11":                    func(e *edit.Editor) { e.DeleteTable(sub(e, "unit")) },
		"plan.toml:5:1: the table has no header of its own to put color under":                           func(e *edit.Editor) { e.Set(sub(e, "group"), "color", "red") },
		"plan.toml:4:11: z is a part of braces, which can only be changed by hand":                       func(e *edit.Editor) { e.Set(sub(e, "seats", "x"), "z", 1) },
		"plan.toml: a is a table of its own, not a value":                                                func(e *edit.Editor) { e.Set(e.Root(), "a", 1) },
		"plan.toml: a is written by several dotted keys":                                                 func(e *edit.Editor) { e.Rename(e.Root(), "a", "z") },
		"plan.toml: there is no key zz":                                                                  func(e *edit.Editor) { e.Delete(e.Root(), "zz") },
		"plan.toml:7:1: name has no item 2":                                                              func(e *edit.Editor) { e.SetItem(sub(e, "unit"), "name", 1, "x") },
		"map[string]int is no value that stands in one line of a TOML file":                              func(e *edit.Editor) { e.Set(e.Root(), "z", map[string]int{"a": 1}) },
	} {
		e := open(text)
		do(e)
		_, err := e.Text()
		assert.EqualError(t, err, want)
		assert.Empty(t, e.Edit("x").Changes)
		assert.EqualError(t, e.Set(e.Root(), "later", 1).Err(), want, "the first error stays")
	}
	e := open("[a]\n[[b]]\n")
	a, _ := e.Root().TableIn("a")
	assert.EqualError(t, e.MoveBefore(table(e, "b", 0), a).Err(), "plan.toml:2:1: it can be moved only among tables of the same name")
	e = open("a = 1\nb = = 2\n[[slot]]\nc = 1\n")
	assert.ErrorContains(t, e.DeleteTable(table(e, "slot", 0)).Err(), "lines that cannot be read")
	assert.Error(t, edit.Open(nil).Err())
}

func TestDottedKeysAndNoLineEnd(t *testing.T) {
	for _, c := range []struct {
		text string
		do   func(e *edit.Editor)
		want string
	}{
		{"a.b = 1\n[c]\n", func(e *edit.Editor) { a, _ := e.Root().TableIn("a"); e.Set(a, "x y", true) }, "a.b = 1\na.\"x y\" = true\n[c]\n"},
		{"a.b = 1\na.c = 2", func(e *edit.Editor) { a, _ := e.Root().TableIn("a"); e.Set(a, "c", "z") }, "a.b = 1\na.c = \"z\""},
		{"a.b = 1\na.c = 2", func(e *edit.Editor) { e.Delete(e.Root(), "a") }, ""},
		{"a = 1", func(e *edit.Editor) { e.Set(e.Root(), "b", 2) }, "a = 1\nb = 2"},
		{"", func(e *edit.Editor) { e.Set(e.Root(), "b", 2) }, "b = 2\n"},
		{"# only words", func(e *edit.Editor) { e.Set(e.Root(), "b", 2) }, "# only words\nb = 2"},
		{"#:schema x\n# t\n[t]\n", func(e *edit.Editor) { e.Set(e.Root(), "b", 2) }, "#:schema x\nb = 2\n\n# t\n[t]\n"},
		{"[[s]]\na = 1\n[[s]]\na = 2", func(e *edit.Editor) { e.MoveBefore(table(e, "s", 1), table(e, "s", 0)) }, "[[s]]\na = 2\n[[s]]\na = 1\n"},
		{"[[s]]\na = 1\n[[s]]\na = 2", func(e *edit.Editor) { e.MoveAfter(table(e, "s", 0), table(e, "s", 1)) }, "[[s]]\na = 2\n[[s]]\na = 1\n"},
		{"", func(e *edit.Editor) { e.Append(edit.Table{Header: "[t]"}) }, "[t]\n"},
		{"a = 1", func(e *edit.Editor) { e.Append(edit.Table{Header: "[t]"}) }, "a = 1\n\n[t]\n"},
		{"s = {}", func(e *edit.Editor) { s, _ := e.Root().TableIn("s"); e.Set(s, "b", []int{2}) }, "s = { b = [2] }"},
		{"a.b = 1\n", func(e *edit.Editor) { e.Rename(e.Root(), "a", "z") }, "z.b = 1\n"},
		{"[a.b]\n[a.c]\n", func(e *edit.Editor) { e.Rename(e.Root(), "a", "z") }, "[z.b]\n[z.c]\n"},
		{"a = [\n  1, # one\n  2,\n]\n", func(e *edit.Editor) { e.DeleteItem(e.Root(), "a", 0) }, "a = [\n  2,\n]\n"},
		{"a = [\n  1, # one\n  2, # two\n]\n", func(e *edit.Editor) { e.DeleteItem(e.Root(), "a", 1) }, "a = [\n  1, # one\n]\n"},
		{"a = [\n  1, # one\n  # between\n  2 # two\n]\n", func(e *edit.Editor) { e.AddItem(e.Root(), "a", 3) }, "a = [\n  1, # one\n  # between\n  2, # two\n  3,\n]\n"},
		{"a = [\n  1, # one\n  # between\n  2 # two\n]\n", func(e *edit.Editor) { e.MoveItem(e.Root(), "a", 1, 0) }, "a = [\n  2, # two\n  1, # one\n  # between\n]\n"},
		{"a = [\n  1, # one\n  2,\n  3 # three\n]\n", func(e *edit.Editor) { e.MoveItem(e.Root(), "a", 0, 2) }, "a = [\n  2,\n  3, # three\n  1, # one\n]\n"},
		{"a = [1, 2, 3]\n", func(e *edit.Editor) { e.MoveItem(e.Root(), "a", 2, 0) }, "a = [3, 1, 2]\n"},
		{"a = [1]\n", func(e *edit.Editor) { e.DeleteItem(e.Root(), "a", 0) }, "a = []\n"},
		{"a = \"\"\"\nx\ny\"\"\"\nb = 1\n", func(e *edit.Editor) { e.Delete(e.Root(), "a") }, "b = 1\n"},
	} {
		e := open(c.text)
		c.do(e)
		got, err := e.Text()
		require.NoError(t, err, c.text)
		assert.Equal(t, c.want, string(got), c.text)
	}
}

func TestApplyRefuses(t *testing.T) {
	e := open("a = 1\nb = 2\n")
	e.Set(e.Root(), "a", 3)
	changes, err := e.Changes()
	require.NoError(t, err)
	_, err = edit.Apply([]byte("a = 7\nb = 2\n"), changes)
	assert.EqualError(t, err, "plan.toml:1:5: the file has changed since it was read: check it again")
	_, err = edit.Apply([]byte("a"), changes)
	assert.Error(t, err)
	e.Delete(e.Root(), "a")
	_, err = e.Changes()
	assert.EqualError(t, err, "plan.toml:1: two edits change the same place")
	_, err = edit.Apply([]byte("a = 1\nb = 2\n"), append(changes, changes...))
	assert.Error(t, err)
}

func TestValue(t *testing.T) {
	local := time.FixedZone("", -6*3600)
	for want, v := range map[string]any{
		`"a \"b\" \\ c"`:            `a "b" \ c`,
		`"two\nlines"`:              "two\nlines",
		"2027-08-14T06:00:00-06:00": time.Date(2027, 8, 14, 6, 0, 0, 0, local),
		"2027-03-01":                plan.Date{Year: 2027, Month: 3, Day: 1},
		"769.14375":                 radio.Hertz(769_143_750),
		"146.2":                     radio.Tone(1462),
		`"D023"`:                    radio.Squelch{Kind: radio.DCS, Value: 0o23},
		"true":                      true,
		"[1, 2]":                    []int{1, 2},
		`["A", "Z"]`:                plan.Names{"A", "Z"},
		"44.0":                      44.0,
		`{ "Engine boss" = 1 }`:     tomlfile.Pairs{{Key: "Engine boss", Value: 1}},
		"{}":                        tomlfile.Pairs{},
		"0x10":                      edit.Raw("0x10"),
	} {
		got, err := edit.Value(v)
		require.NoError(t, err)
		assert.Equal(t, want, got)
	}
	for _, v := range []any{nil, radio.Squelch{}, map[string]any{"a": 1}, make(chan int), tomlfile.Pairs{{Key: "a", Value: nil}}} {
		_, err := edit.Value(v)
		assert.Error(t, err, "%v", v)
	}
}

func TestOffer(t *testing.T) {
	var f finding.Finding
	e := open(short)
	one := e.Set(incident(e), "period", 3).Edit("")
	f.Offer(one, finding.Edit{Title: "or ask the communications unit leader"})
	assert.Equal(t, []string{"write period = 3", "or ask the communications unit leader"}, f.Help)
	assert.Len(t, f.Edits, 1)
	assert.False(t, f.Edits[0].Choose)
	e = open(short)
	f.Offer(e.Delete(incident(e), "period").Edit(""))
	assert.True(t, f.Edits[0].Choose && f.Edits[1].Choose)
	f.Keep(func(e finding.Edit) bool { return e.Title == "delete period" })
	assert.Equal(t, []string{"or ask the communications unit leader", "delete period"}, f.Help)
	assert.False(t, f.Edits[0].Choose)
	assert.Equal(t, finding.Position{Line: 7, Column: 1, Offset: strings.Index(short, "period")}, f.Edits[0].Changes[0].From)
}
