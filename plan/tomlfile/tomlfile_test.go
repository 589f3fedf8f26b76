package tomlfile_test

import (
	"errors"
	"fmt"
	"strings"
	"sync"
	"testing"
	"time"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"slotcard/plan/finding"
	"slotcard/plan/tomlfile"
)

// crew is a file with a key of every kind.
type crew struct {
	tomlfile.Table `toml:"-"`

	Name    string    `toml:"name,required" doc:"what the crew is called"`
	Size    int       `toml:"size" doc:"how many they are"`
	Height  *float64  `toml:"height" doc:"metres"`
	Ready   bool      `toml:"ready" doc:"can go"`
	Since   time.Time `toml:"since" doc:"with UTC offset"`
	Colour  colour    `toml:"colour" doc:"of the helmets"`
	Words   []string  `toml:"words" doc:"to say"`
	Meal    meal      `toml:"meal" doc:"what they eat"`
	Members []*member `toml:"member" doc:"who they are"`
}

type shared struct {
	Mark string `toml:"mark" doc:"on the helmet"`
}

type member struct {
	tomlfile.Table `toml:"-"`
	shared

	Name  string         `toml:"name,required" doc:"of the member"`
	Tools tomlTools      `toml:"tools" doc:"and how many"`
	Seen  []*observation `toml:"seen" doc:"what they saw"`
}

type observation struct {
	tomlfile.Table `toml:"-"`

	What string `toml:"what,required" doc:"was seen"`
}

type meal struct {
	tomlfile.Table `toml:"-"`

	Soup string `toml:"soup,required" doc:"of the day"`
}

type colour string

func (c *colour) UnmarshalTOML(v any) error {
	choices := []string{"orange", "yellow", "white"}
	s, _ := v.(string)
	for _, choice := range choices {
		if s == choice {
			*c = colour(s)
			return nil
		}
	}
	return &finding.ValueError{Reason: "is not a colour of helmets", Choices: choices}
}

// tomlTools keeps the order in which the tools are written.
type tomlTools []string

func (t *tomlTools) UnmarshalTOML(v any) error {
	pairs, ok := v.(tomlfile.Pairs)
	if !ok {
		return errors.New("is not a table of tools")
	}
	var faults []error
	for i, p := range pairs {
		n, ok := p.Value.(int64)
		if !ok {
			faults = append(faults, &tomlfile.ItemError{Index: i, Err: errors.New("has no number")})
			continue
		}
		*t = append(*t, fmt.Sprintf("%d %s", n, p.Key))
	}
	return errors.Join(faults...)
}

func decode(text string) (*crew, []string, finding.List) {
	var c crew
	_, found := tomlfile.Decode("c.toml", []byte(text), &c)
	said := []string{}
	for _, f := range found {
		said = append(said, strings.TrimPrefix(f.String(), "c.toml:"))
	}
	return &c, said, found
}

func TestDecodeFillsEveryKind(t *testing.T) {
	c, said, _ := decode(`
name = "Crew \"7\""
size = 1_2
height = 3
ready = true
since = 2027-08-14 06:00:00.5-06:00
colour = "orange"
words = ["one",
  'two', # a remark, with a comma
  """three""",
]
meal.soup = "lentil"

[[member]]
name = "A"
mark = "x"
tools = { rake = 2, "hand axe" = 1 }
[[member.seen]]
what = "smoke"
[[member.seen]]
what = "fire"
[[member]]
name = "B"
`)
	require.Empty(t, said)
	assert.Equal(t, `Crew "7"`, c.Name)
	assert.Equal(t, 12, c.Size)
	assert.Equal(t, 3.0, *c.Height)
	assert.True(t, c.Ready)
	assert.Equal(t, "2027-08-14T06:00:00.5-06:00", c.Since.Format(time.RFC3339Nano))
	assert.Empty(t, c.Since.Location().String(), "not the zone of this machine")
	assert.Equal(t, colour("orange"), c.Colour)
	assert.Equal(t, []string{"one", "two", "three"}, c.Words)
	assert.Equal(t, "lentil", c.Meal.Soup)
	require.Len(t, c.Members, 2)
	assert.Equal(t, "x", c.Members[0].Mark)
	assert.Equal(t, tomlTools{"2 rake", "1 hand axe"}, c.Members[0].Tools)
	require.Len(t, c.Members[0].Seen, 2)
	assert.Equal(t, "fire", c.Members[0].Seen[1].What)
	assert.Equal(t, "B", c.Members[1].Name)
	assert.False(t, c.Members[1].Has("mark"))
}

func TestPlaces(t *testing.T) {
	c, said, _ := decode(`name = "é" # é
ready = true
"words" = [ "é", "b",
  # a remark
  "ccc" ]
meal . soup = "lentil"
member = [ { name = "É", tools = { é = 1 } }, { name = "B", tools.rake = 2 } ]
`)
	_ = said // é as a bare key is a fault; see below
	at := func(p finding.Place) string { return fmt.Sprintf("%d:%d+%d", p.Line, p.Column, p.Length) }
	assert.Equal(t, "1:8+3", at(c.At("name")))
	assert.Equal(t, `name = "é" # é`, c.At("name").Text)
	assert.Equal(t, "3:13+3", at(c.AtItem("words", 0)))
	assert.Equal(t, "3:18+3", at(c.AtItem("words", 1)), "columns count characters")
	assert.Equal(t, "5:3+5", at(c.AtItem("words", 2)))
	assert.Equal(t, "3:11+11", at(c.At("words")), "a value of several lines is marked in its first")
	assert.Equal(t, "3:11+11", at(c.AtItem("words", 3)), "no such item: the list")
	assert.Equal(t, "6:15+8", at(c.Meal.At("soup")))
	assert.Equal(t, "6:17+1", at(c.Meal.AtText("soup", "e")))
	assert.Equal(t, "6:15+8", at(c.Meal.AtText("soup", "z")), "not written so: the value")
	assert.Equal(t, "6:1+4", at(c.Meal.At("")))

	c, said, _ = decode(`name = "é"
member = [ { name = "É", tools = { "é" = 1, x = 2 } }, { name = "B", tools.rake = 2 } ]
[meal]
soup = "x"
`)
	require.Empty(t, said)
	assert.Equal(t, "2:21+3", at(c.Members[0].At("name")))
	assert.Equal(t, "2:12+42", at(c.Members[0].At("")))
	assert.Equal(t, "2:12+42", at(c.Members[0].At("mark")), "absent: the table")
	assert.Equal(t, "2:36+3", at(c.Members[0].AtItem("tools", 0)), "the key of a table's item")
	assert.Equal(t, "2:45+1", at(c.Members[0].AtItem("tools", 1)))
	assert.Equal(t, "2:65+3", at(c.Members[1].At("name")))
	assert.Equal(t, tomlTools{"2 rake"}, c.Members[1].Tools)
	assert.Equal(t, "3:1+6", at(c.Meal.At("")))
	assert.Equal(t, "2:10+78", at(c.At("member")))

	c, said, _ = decode("name = 'x'\r\n  [[ member ]]  # first\r\nname = 'y'\r\n[[member . seen]]\r\nwhat = 'z'\r\n")
	require.Empty(t, said)
	assert.Equal(t, "2:3+12", at(c.Members[0].At("")))
	assert.Equal(t, "  [[ member ]]  # first", c.Members[0].At("").Text, "without CR")
	assert.Equal(t, "4:1+17", at(c.Members[0].Seen[0].At("")))

	var nowhere tomlfile.Table
	assert.True(t, nowhere.At("name").IsZero())
	assert.True(t, nowhere.AtItem("name", 1).IsZero())
	assert.False(t, nowhere.Has("name") || nowhere.OK("name") || nowhere.Damaged())
}

// Each fault by itself: place, sentence and rule, and what the help says.
var faults = []struct {
	name, text, want, help string
}{
	{"unknown key", "name = 'x'\nsise = 3", `2:1: error: there is no key "sise" at the top of the file; the closest is size [unknown-key]`, "did you mean size?"},
	{"unknown key, none close", "name = 'x'\nhelicopter = 3", `2:1: error: there is no key "helicopter" at the top of the file [unknown-key]`, "keys at the top of the file are: name, size, height, ready, since, colour, words, meal, member"},
	{"unknown key, inline", "name = 'x'\nmeal = { soup = 'é', bred = 1 }", `2:22: error: there is no key "bred" in [meal] [unknown-key]`, "keys in [meal] are: soup"},
	{"unknown dotted key", "name = 'x'\nmeal.soup = 'y'\nmeal.soop = 'z'", `3:6: error: there is no key "soop" in [meal]; the closest is soup [unknown-key]`, "did you mean soup?"},
	{"unknown table", "name = 'x'\n[meel]\nsoup = 'z'", `2:1: error: there is no key "meel" at the top of the file; the closest is meal [unknown-key]`, "did you mean meal?"},
	{"wrong case", "Name = 'x'", `1:1: error: the key Name must be written name [key-case]`, "write name"},
	{"missing at the top", "size = 3", `0: error: name is missing in the file [missing-key]`, `add name = "...": what the crew is called`},
	{"missing in a table", "name = 'x'\n\n  [meal]\n", `3:3: error: soup is missing in [meal] [missing-key]`, `add soup = "...": of the day`},
	{"missing in an array of tables", "name = 'x'\n[[member]]\nname = 'y'\n[[member]]\n", `4:1: error: name is missing in [member] [missing-key]`, `add name = "...": of the member`},
	{"missing in an inline table", "name = 'x'\nmember = [{name='y'}, {mark='z'}]\n", `2:23: error: name is missing in [member] [missing-key]`, `add name = "...": of the member`},

	{"number for text", "name = 7", `1:8: error: name must be text in quotes, not the number 7 [wrong-type]`, `write it in quotes: name = "7"`},
	{"list for text", "name = [1, 2]", `1:8: error: name must be text in quotes, not a list [wrong-type]`, `write name = "..."`},
	{"text for a number", "name = 'x'\nsize = \"3\"", `2:8: error: size must be a whole number, not the text "3" [wrong-type]`, "write it without quotes: size = 3"},
	{"fraction for a whole number", "name = 'x'\nsize = 3.0", `2:8: error: size must be a whole number, not the number 3.0 [wrong-type]`, "write digits alone, such as size = 2"},
	{"table for a number", "name = 'x'\n[size]\n", `2:1: error: size must be a whole number, not a table [wrong-type]`, "write digits alone, such as size = 2"},
	{"too large", "name = 'x'\nsize = 3000000000", `2:8: error: size 3000000000 is too large [out-of-range]`, "check the number of digits"},
	{"far too large", "name = 'x'\nsize = 99999999999999999999", `2:8: error: 99999999999999999999 is too large a number [out-of-range]`, "check the number of digits"},
	{"text for a measure", "name = 'x'\nheight = '3.5'", `2:10: error: height must be a number, not the text '3.5' [wrong-type]`, "write it without quotes: height = 3.5"},
	{"not a number", "name = 'x'\nheight = nan", `2:10: error: height nan is not a number that can be measured [out-of-range]`, "write a number"},
	{"infinite", "name = 'x'\nheight = -inf", `2:10: error: height -inf is not a number that can be measured [out-of-range]`, "write a number"},
	{"text for yes or no", "name = 'x'\nready = 'yes'", `2:9: error: ready must be true or false, not the text 'yes' [wrong-type]`, "write ready = true or ready = false"},
	{"text for a list", "name = 'x'\nwords = 'y'", `2:9: error: words must be a list, not the text 'y' [wrong-type]`, "write words = [...]"},
	{"wrong item", "name = 'x'\nwords = ['é', 7]", `2:15: error: item 2 of words must be text in quotes, not the number 7 [wrong-type]`, `write it in quotes: "7"`},
	{"value for a table", "name = 'x'\nmeal = 3", `2:8: error: meal must be a table, not the number 3 [wrong-type]`, "write [meal] and its keys below it"},
	{"double brackets for one table", "name = 'x'\n[[meal]]\nsoup = 'y'", `2:1: error: meal must be written [meal], in single brackets: there is only one [wrong-type]`, "write [meal]"},
	{"single brackets for several", "name = 'x'\n[member]\nname = 'y'", `2:1: error: member must be written [[member]], in double brackets: there can be several [wrong-type]`, "write [[member]]"},
	{"single brackets several times", "name = 'x'\n[member]\nname = 'y'\n[member]\nname = 'z'\n[[member]]\nname = 'a'", `2:1: error: member must be written [[member]], in double brackets: there can be several [wrong-type]`, "write [[member]], here and wherever it stands again"},
	{"value among tables", "name = 'x'\nmember = [{name='y'}, 3]", `2:23: error: item 2 of member must be a table, not the number 3 [wrong-type]`, "write [[member]] for each"},
	{"a day for a moment", "name = 'x'\nsince = 2027-08-14", `2:9: error: since must be a date and time with its UTC offset, not the day 2027-08-14 [wrong-type]`, "write it as 2027-08-14T06:00:00-06:00, with the offset of the incident's local time"},
	{"a moment as text", "name = 'x'\nsince = '2027-08-14T06:00:00-06:00'", `2:9: error: since must be a date and time with its UTC offset, not the text '2027-08-14T06:00:00-06:00' [wrong-type]`, "write it without quotes: since = 2027-08-14T06:00:00-06:00"},
	{"no offset", "name = 'x'\nsince = 2027-08-14T06:00:00", `2:9: error: since has no UTC offset [no-offset]`, "put the offset of the incident's local time behind it, such as 2027-08-14T06:00:00-06:00"},
	{"no such day", "name = 'x'\nsince = 2027-02-30T06:00:00Z", `2:9: error: 2027-02-30T06:00:00Z is no date or time of the calendar [bad-value]`, "write a day as 2027-03-01, a date and time as 2027-08-14T06:00:00-06:00"},
	{"own rule", "name = 'x'\ncolour = 'ornage'", `2:10: error: colour 'ornage' is not a colour of helmets; the closest is orange [bad-value]`, `did you mean "orange"?`},
	{"own rule, none close", "name = 'x'\ncolour = 'blue'", `2:10: error: colour 'blue' is not a colour of helmets [bad-value]`, "write one of: orange, yellow, white"},
	{"own rule of an item", "name = 'x'\n[[member]]\nname = 'é'\ntools = { rake = 1, axe = 'two' }", `4:21: error: tools "axe" has no number [bad-value]`, ""},
	{"own rule of a table", "name = 'x'\n[[member]]\nname = 'é'\ntools = 3", `4:9: error: tools 3 is not a table of tools [bad-value]`, ""},

	{"key twice", "name = 'x'\nsize = 1\nsize = 2", `3:1: error: the key size stands here again; first in line 2 [duplicate-key]`, "delete line 3; delete line 2"},
	{"dotted key twice", "name = 'x'\nmeal.soup = 'x'\nmeal.soup = 'y'", `3:6: error: the key meal.soup stands here again; first in line 2 [duplicate-key]`, "delete line 3; delete line 2"},
	{"key twice in braces", "name = 'x'\nmeal = { soup = 'x', soup = 'y' }", `2:22: error: the key soup stands here again; first in line 2 [duplicate-key]`, "delete one of them"},
	{"table twice", "name = 'x'\n[meal]\nsoup = 'x'\n[meal]\nsoup = 3", `4:1: error: the table [meal] stands here again; first in line 2 [duplicate-key]`, "put its keys under the first one"},
	{"table after braces", "name = 'x'\nmeal = {soup = 'x'}\n[meal]\nsoup = 3", `3:1: error: the table meal stands here again, in another way; first in line 2 [duplicate-key]`, "write it in one way only"},
	{"key into braces", "name = 'x'\nmeal = {soup = 'x'}\nmeal.bread = 3", `3:1: error: the key meal stands here again; first in line 2 [duplicate-key]`, "delete line 3; delete line 2"},
	{"one bracket after two", "name = 'x'\n[[member]]\nname = 'x'\n[member]\nname = 'z'", `4:1: error: [member] stands here in single brackets, and in double ones before; first in line 2 [duplicate-key]`, "write [[member]]"},
	{"two brackets after one", "name = 'x'\n[meal]\nsoup = 'x'\n[[meal]]\nsoup = 'z'", `4:1: error: the table [meal] stands here again; first in line 2 [duplicate-key]`, "put its keys under the first one"},

	{"no quotes", "name = Crew 7 # seven", `1:8: error: the text Crew 7 must stand in quotes [syntax]`, `write "Crew 7"`},
	{"no quotes, like a keyword", `name = two`, `1:8: error: the text two must stand in quotes [syntax]`, `write "two"`},
	{"no quotes in a list", "name = 'x'\nwords = ['a', bé]", `2:15: error: the text bé must stand in quotes [syntax]`, `write "bé"`},
	{"yes for true", "name = 'x'\nready = yes # soon", `2:9: error: yes is neither true nor false, and no text in quotes [syntax]`, `write true; write "yes" where text belongs`},
	{"off for false", "name = 'x'\nready = Off", `2:9: error: Off is neither true nor false, and no text in quotes [syntax]`, `write false; write "Off" where text belongs`},
	{"date with strokes", "name = 'x'\nsince = 08/14/2027 06:00", `2:9: error: 08/14/2027 is not how a date is written [syntax]`, "write a day as 2027-03-01, a date and time as 2027-08-14T06:00:00-06:00"},
	{"date with strokes, short", "name = 'x'\nsince = 8/14/27", `2:9: error: 8/14/27 is not how a date is written [syntax]`, "write a day as 2027-03-01, a date and time as 2027-08-14T06:00:00-06:00"},
	{"date with points", "name = 'x'\nsince = 14.8.2027", `2:9: error: 14.8.2027 is not how a date is written [syntax]`, "write a day as 2027-03-01, a date and time as 2027-08-14T06:00:00-06:00"},
	{"capital truth", "name = 'x'\nready = TRUE", `2:9: error: TRUE must be written in small letters [syntax]`, "write true"},
	{"curly quotes", "name = “x”", `1:8: error: the typographic quotation mark “ cannot enclose text [syntax]`, `write "`},
	{"no closing quote", "name = \"x\nsize = 3", `1:8: error: the text that begins here is not closed in its line [syntax]`, `put " behind it; text of several lines stands between """ and """`},
	{"no closing quote at the end", "name = 'x", `1:8: error: the text that begins here is not closed in its line [syntax]`, `put ' behind it; text of several lines stands between """ and """`},
	{"no closing quotes", "size = 3\nname = \"\"\"x\ny\n", `2:8: error: the text that begins here is not closed [syntax]`, `put """ behind its last line`},
	{"backslash", `name = "a\d"`, `1:10: error: a backslash in text must be written twice [syntax]`, `write \\ for \, or put the text between ' and '`},
	{"no value", "name =\nsize = 3", `1:1: error: there is no value after name = [syntax]`, "write one; text stands in quotes, and a key without value is left out"},
	{"no equals sign", "name 'x'", `1:6: error: an equals sign is missing after name [syntax]`, "write KEY = VALUE; text of several words as a key stands in quotes"},
	{"colon", "name: 'x'", `1:5: error: a colon stands where an equals sign belongs [syntax]`, "write name = 'x'"},
	{"colon without a value", "name:", `1:5: error: a colon stands where an equals sign belongs [syntax]`, "write name = ..."},
	{"words as a key in braces", "name = 'x'\nmeal = { hot soup = 'x', soup = 'y' }", `2:14: error: a name of several words must stand in quotes [syntax]`, `write "hot soup" = 'x'`},
	{"letters for a zone", "name = 'x'\nsince = 2027-08-14T06:00:00 MDT", `2:9: error: MDT is not how a zone is written [syntax]`, "write 2027-08-14T06:00:00-06:00"},
	{"letters without a space", "name = 'x'\nsince = 2027-08-14 06:00pst # early", `2:9: error: pst is not how a zone is written [syntax]`, "write 2027-08-14T06:00:00-08:00"},
	{"unknown letters", "name = 'x'\nsince = 2027-08-14T06:00:00 XYZ", `2:9: error: XYZ is not how a zone is written [syntax]`, "write the offset from UTC in its place, such as -06:00"},
	{"octal look", "name = 'x'\nsize = 0250", `2:8: error: 0250 begins with a zero [syntax]`, `write 250; or "0250", in quotes, where text belongs`},
	{"nothing", " \n\n", `0: error: the file is empty [missing-key]`, "slotcard new DIR writes files to start from"},
	{"remarks alone", "# name = 'x'\n", `0: error: the file holds nothing but remarks [missing-key]`, "slotcard new DIR writes files to start from"},
	{"an entry without its header", "name = 'x'\n[[member]]\nname = 'a'\nmark = 'c'\n\nname = 'b'\nmark = 'd'", `6:1: error: the key name stands here again; first in line 3 [duplicate-key]`, "if another entry begins here, write [[member]] above it; delete line 6; delete line 3"},
	{"decimal comma", "name = 'x'\nheight = 3,5 # m", `2:11: error: a number is written with a decimal point, not with a comma [syntax]`, "write height = 3.5"},
	{"leading zero", "name = 'x'\nsize = 007", `2:8: error: 007 begins with a zero [syntax]`, `write 7; or "007", in quotes, where text belongs`},
	{"leading point", "name = 'x'\nheight = .5", `2:10: error: a number must begin with a digit [syntax]`, "write 0 before the point"},
	{"open number", "name = 'x'\nheight = 5.", `2:10: error: 5. is not a number [syntax]`, "write digits, with a decimal point where needed"},
	{"two on a line", "name = 'x' size = 3", `1:12: error: there is something behind the value of name [syntax]`, "put one key and its value on a line; text stands in quotes, a remark begins with #"},
	{"open list", "name = 'x'\nwords = ['a', 'b'\nsize = 3", `2:9: error: the list that begins here is not closed with ] [syntax]`, "put ] behind its last value"},
	{"open list at the end", "name = 'x'\nwords = ['a', 'b'", `2:9: error: the list that begins here is not closed with ] [syntax]`, "put ] behind its last value"},
	{"no comma", "name = 'x'\nwords = ['a' 'b']", `2:14: error: a comma is missing before ' [syntax]`, "put commas between the values"},
	{"two commas", "name = 'x'\nwords = ['a',, 'b']", `2:14: error: there is no value before this comma [syntax]`, "delete the comma"},
	{"open table", "name = 'x'\nmeal = { soup = 'y'\n", `2:8: error: the table that begins here is not closed with } [syntax]`, "put } behind its last value"},
	{"open header", "name = 'x'\n[[member]\nname = 'y'", `2:1: error: the header is not closed with ]] [syntax]`, "write [[member]]"},
	{"empty header", "name = 'x'\n[]", `2:1: error: the header has no name that can be read [syntax]`, "write a name of letters, digits, - and _ in brackets, or put it in quotes"},
	{"behind a header", "name = 'x'\n[meal] soup = 'y'", `2:8: error: there is something behind [meal] in its line [syntax]`, "write soup = 'y' in the next line"},
	{"words behind a header", "name = 'x'\n[meal] of the day\nsoup = 'y'", `2:8: error: there is something behind [meal] in its line [syntax]`, "write # before it, or delete it"},
	{"slashes for a remark", "// a crew\nname = 'x'", `1:1: error: a line must begin with a key or a [header], not with / [syntax]`, "a remark begins with #"},
	{"accent in a key", "name = 'x'\nsizé = 3", `2:4: error: an equals sign is missing after siz [syntax]`, "write KEY = VALUE; text of several words as a key stands in quotes"},

	{"not UTF-8", "name = 'caf\xe9'", `1:12: error: the byte 0xE9 is not UTF-8 text [encoding]`, "save the file as UTF-8"},
	{"NUL", "name = 'x\x00'", `1:10: error: the control character U+0000 cannot stand in a TOML file [encoding]`, "save the file as UTF-8 text"},
	{"escape character", "name = 'x' # \x1b[31m", `1:14: error: the control character U+001B cannot stand in a TOML file [encoding]`, "delete it"},
	{"UTF-16", "\xff\xfen\x00a\x00", `0: error: the file is UTF-16 text [encoding]`, "save it as UTF-8"},
	{"UTF-16 without mark", "n\x00a\x00m\x00e\x00", `0: error: the file is UTF-16 text [encoding]`, "save it as UTF-8"},
	{"CR only", "name = 'x'\rsize = 3\r", `0: error: the lines end with a carriage return alone [encoding]`, "save the file with the line ends LF or CR LF"},
	{"too deep", "name = " + strings.Repeat("[", 65) + strings.Repeat("]", 65), `1:72: error: lists, tables or dotted keys are nested too deep [too-deep]`, "no key of a load or a plan needs more than three levels"},
	{"too many parts", "name = 'x'\n" + strings.Repeat("a.", 20) + "b = 3", `2:1: error: lists, tables or dotted keys are nested too deep [too-deep]`, "no key of a load or a plan needs more than three levels"},
	{"too long", "name = 'x'\nwords = [" + strings.Repeat("'',", 10_001) + "]", `2:9: error: the list that begins here has more than 10000 values [too-large]`, "check that this is the file you meant"},
	{"too large", strings.Repeat("#", 1<<20+1), `0: error: the file has 1048577 bytes, more than the 1048576 that a load or a plan may have [too-large]`, "check that this is the file you meant"},
}

func TestEachFault(t *testing.T) {
	for _, c := range faults {
		t.Run(c.name, func(t *testing.T) {
			_, said, found := decode(c.text)
			for i, f := range found {
				if f.Place.Line == 0 {
					said[i] = "0:" + said[i]
				}
			}
			require.Equal(t, []string{c.want}, said)
			if c.help == "" {
				assert.Empty(t, found[0].Help)
			} else {
				assert.Equal(t, c.help, strings.Join(found[0].Help, "; "))
			}
		})
	}
}

func TestAllFaultsAtOnce(t *testing.T) {
	c, said, _ := decode(`name = Crew 7
sise = 3
height = 1,5
since = 2027-08-14T06:00:00
words = ["a", 2,
  "b"
colour = "white"
[[member]]
name = 3
tools = { rake = "x", axe = 1, saw = "y" }
[[member]
name = "lost"
[[member]]
mark = "y"
[meal]
Soup = "x"
[meal]
`)
	assert.Equal(t, []string{
		`1:8: error: the text Crew 7 must stand in quotes [syntax]`,
		`2:1: error: there is no key "sise" at the top of the file; the closest is size [unknown-key]`,
		`3:11: error: a number is written with a decimal point, not with a comma [syntax]`,
		`4:9: error: since has no UTC offset [no-offset]`,
		`5:9: error: the list that begins here is not closed with ] [syntax]`,
		`9:8: error: name must be text in quotes, not the number 3 [wrong-type]`,
		`10:11: error: tools "rake" has no number [bad-value]`,
		`10:32: error: tools "saw" has no number [bad-value]`,
		`11:1: error: the header is not closed with ]] [syntax]`,
		`13:1: error: name is missing in [member] [missing-key]`,
		`16:1: error: the key Soup must be written soup [key-case]`,
		`17:1: error: the table [meal] stands here again; first in line 15 [duplicate-key]`,
	}, said)
	assert.Equal(t, colour("white"), c.Colour, "what could be read is there")
	assert.Equal(t, "x", c.Meal.Soup)
	assert.True(t, c.Damaged())
	assert.False(t, c.Members[0].Damaged())
	assert.False(t, c.Members[0].OK("name"))
	assert.True(t, c.Members[0].Has("name"))
}

func TestDuplicateNamesBothLines(t *testing.T) {
	_, _, found := decode("name = 'x'\nsize = 1\n\nsize = 2")
	require.Len(t, found, 1)
	require.Len(t, found[0].Related, 1)
	assert.Equal(t, "c.toml:2:1", found[0].Related[0].Place.String())
	assert.Equal(t, "size = 1", found[0].Related[0].Place.Text)
}

func TestByteOrderMarkIsNotAFault(t *testing.T) {
	c, said, _ := decode("\ufeffname = 'x'")
	assert.Empty(t, said)
	assert.Equal(t, 8, c.At("name").Column)
}

func TestFaultsOfOneKindAreBounded(t *testing.T) {
	_, said, found := decode(strings.Repeat("a = ?\n", 500))
	assert.Len(t, said, 20)
	assert.Contains(t, found[19].Help, "there may be more: the rest of the file was not read")
	_, said, _ = decode("name = 'x'\n" + strings.Repeat("# \xff\x01\n", 500))
	assert.Len(t, said, 40)
	_, said, found = decode("name = 'x'\n" + manyKeys(5000))
	require.Len(t, said, tomlfile.MaxTotal)
	assert.Contains(t, found[len(found)-1].Help, "4000 more faults are not listed")
}

// Hostile shapes get an answer, not a crash; how long they take stands in the
// benchmark.
func TestHostile(t *testing.T) {
	for name, text := range hostile(tomlfile.MaxSize / 8) {
		t.Run(name, func(t *testing.T) {
			_, said, _ := decode(text)
			assert.NotEmpty(t, said)
		})
	}
}

func hostile(size int) map[string]string {
	return map[string]string{
		"open brackets":     "a=" + strings.Repeat("[", size-2),
		"balanced brackets": "a=" + strings.Repeat("[", size/2-1) + strings.Repeat("]", size/2-1),
		"open braces":       "a=" + strings.Repeat("{a=", size/3-1),
		"long dotted key":   strings.Repeat("a.", size/2-3) + "a=1",
		"long header":       "[" + strings.Repeat("a.", size/2-3) + "a]",
		"many headers":      strings.Repeat("[[a]]\n", size/6),
		"many dotted keys":  strings.Repeat("a.b.c.d.e.f.g.h.i.j.k.l.m.n.o.p=1\n", size/36),
		"wide list":         "a=[" + strings.Repeat("0,", size/2-4) + "]",
		"many unknown keys": manyKeys(size / 16),
		"one long line":     "name='" + strings.Repeat("é", size/2-8) + "'\na=",
		"newlines":          strings.Repeat("\n", size),
		"many open lists":   strings.Repeat("a=[\n", size/4),
	}
}

func manyKeys(n int) string {
	var b strings.Builder
	for i := range n {
		fmt.Fprintf(&b, "k%d=1\n", i)
	}
	return b.String()
}

func BenchmarkHostile(b *testing.B) {
	for name, text := range hostile(tomlfile.MaxSize) {
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				decode(text)
			}
		})
	}
}

func TestTop(t *testing.T) {
	assert.Equal(t, map[string]bool{"a": false, "b": true, "c": true, "d": true},
		tomlfile.Top([]byte("a = 1\nb.x = 1\n[c]\n[[d]]\nx = \n")))
}

func TestFields(t *testing.T) {
	var keys []string
	for _, f := range tomlfile.Fields(reflectType[member]()) {
		keys = append(keys, fmt.Sprint(f.Key, " ", f.Required))
	}
	assert.Equal(t, []string{"mark false", "name true", "tools false", "seen false"}, keys)
}

// Places in one long line are right in whatever order they are asked for, also
// at the same time.
func TestPlacesInALongLine(t *testing.T) {
	type list struct {
		tomlfile.Table `toml:"-"`
		Items          []string `toml:"items" doc:"x"`
		Last           string   `toml:"last" doc:"x"`
	}
	var items []string
	for i := range 100 {
		items = append(items, fmt.Sprintf("%q", strings.Repeat("é", i%3)))
	}
	line := "items = [" + strings.Join(items, ", ") + "]"
	var l list
	_, found := tomlfile.Decode("f.toml", []byte(line+"\nlast = \"z\"\n"), &l)
	require.Empty(t, found)
	column := func(i int) int {
		return utf8.RuneCountInString("items = ["+strings.Join(items[:i], ", ")) + 1 + 2*min(i, 1)
	}
	var all sync.WaitGroup
	for n := range 4 {
		all.Go(func() {
			for i := range len(items) {
				i = i * (n + 1) * 7 % len(items)
				p := l.AtItem("items", i)
				assert.Equal(t, finding.Place{File: "f.toml", Line: 1, Column: column(i), Length: 2 + i%3, Text: line}, p)
				assert.Equal(t, "f.toml:2:8", l.At("last").String())
			}
		})
	}
	all.Wait()
}

// Of a line as long as a file can be, each of a thousand faults has its column, as
// counting characters from the beginning of the line gives it.
func TestColumnsOfLongLines(t *testing.T) {
	text := `"é" = {` + strings.Repeat(`a=1,"é"=2, `, 2000) + "a=1}\n"
	_, found := tomlfile.Decode("f.toml", []byte(text), new(crew))
	n := 0
	for _, f := range found {
		if f.Rule != tomlfile.RuleDuplicateKey {
			continue
		}
		n++
		line := []rune(strings.TrimSuffix(text, "\n"))
		key := string(line[f.Place.Column-1 : f.Place.Column-1+f.Place.Length])
		require.Equal(t, map[string]int{"a": 8, `"é"`: 12}[key], f.Related[0].Place.Column, "column %d", f.Place.Column)
	}
	assert.Greater(t, n, 500)
}

// The values of one key are counted however they are nested, and commas before
// anything is parsed.
func TestValuesAreBounded(t *testing.T) {
	for text, says := range map[string]string{
		"x = [" + strings.Repeat("["+strings.Repeat("1,", 900)+"],", 12) + "]":    "the list that begins here has more than 10000 values",
		"x = {" + strings.Repeat(`a = {}, `, 10_000) + "b = 1}":                   "the key a stands here again",
		"x = {a = [" + strings.Repeat("1,", 9_999) + "], b = 1}":                  "the table that begins here has more than 10000 values",
		"x = [" + strings.Repeat("[],", 100_001) + "]":                            "the file has 100001 commas, more than the 100000 that a load or a plan may have",
		"x = \"\x01" + strings.Repeat("\x02", 500_000) + "\"\ny = \"\x01\x02\"\n": "the control character U+0001 cannot stand in a TOML file",
	} {
		_, found := tomlfile.Decode("f.toml", []byte(text), new(crew))
		require.NotEmpty(t, found)
		said := false
		for _, f := range found {
			said = said || strings.HasPrefix(f.Message, says)
			for _, e := range f.Edits {
				assert.LessOrEqual(t, len(e.Changes), 100)
			}
		}
		assert.True(t, said, "%s: %v", says, found[0])
	}
}
