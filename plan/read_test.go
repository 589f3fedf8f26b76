package plan_test

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"slotcard/plan"
	"slotcard/plan/finding"
	"slotcard/plan/radio"
)

// sample is a file of testdata/read.
func sample(t testing.TB, name string) string {
	data, err := os.ReadFile(filepath.Join("..", "testdata", "read", name))
	require.NoError(t, err)
	return string(data)
}

// files serves texts in place of a folder. The typeface it stands for has Latin
// letters and a few Greek ones, but neither arrows nor Cyrillic.
type files map[string]string

func (f files) options() plan.Options {
	return plan.Options{
		ReadFile: func(name string) ([]byte, error) {
			text, ok := f[filepath.ToSlash(name)]
			if !ok {
				return nil, fmt.Errorf("open %s: %w", name, fs.ErrNotExist)
			}
			return []byte(text), nil
		},
		Prints: func(r rune) bool { return r < 0x180 || r == 'μ' || r == '–' },
	}
}

func said(found finding.List) []string {
	out := []string{}
	for _, f := range found {
		out = append(out, f.String())
	}
	return out
}

func TestReadLoadTakesEveryKey(t *testing.T) {
	load, found, err := plan.ReadLoad("load.toml", files{"load.toml": sample(t, "load.toml")}.options())
	require.NoError(t, err)
	require.Empty(t, said(found))

	assert.Equal(t, "Quillback Range cooperators", load.About.Name)
	assert.Equal(t, "2027", load.About.Edition)
	assert.Equal(t, "orange", load.About.Colour)
	assert.Equal(t, plan.Date{Year: 2027, Month: time.March, Day: 1}, load.About.Effective)
	assert.Equal(t, "2028-03-31", load.About.Expires.String())
	assert.Equal(t, 16, load.Radio.ListPositions)
	assert.Equal(t, 10, load.Radio.NameLength)
	assert.Equal(t, []plan.Band{{Low: 136_000_000, High: 174_000_000}}, load.Radio.Bands)
	assert.Equal(t, []radio.Mode{radio.Analog, radio.Digital}, load.Radio.Modes)
	require.Len(t, load.Tones, 2)
	assert.Equal(t, 4, load.Tones[1].Number)
	assert.Equal(t, radio.Tone(1462), load.Tones[1].Hz)

	require.Len(t, load.Sites, 2)
	s := load.Sites[0]
	assert.Equal(t, "Bellwether", s.Name)
	assert.Equal(t, radio.Tone(1462), s.Squelch, "by its number")
	assert.Equal(t, []float64{44, -114, 2500}, []float64{*s.Latitude, *s.Longitude, *s.Elevation})
	assert.Equal(t, []string{"QB CMD 1"}, s.Channels)
	assert.Equal(t, radio.Tone(1318), load.Sites[1].Squelch, "by its value")
	assert.Zero(t, load.Sites[1].Tone.Number)
	assert.Nil(t, load.Sites[1].Latitude)

	require.Len(t, load.Groups, 2)
	c := load.Groups[0].Channels
	require.Len(t, c, 4)
	assert.Same(t, load.Groups[0], c[0].Group)
	assert.Equal(t, plan.Programming{Name: "QB CMD 1", Rx: 152_412_500, Tx: 157_672_500, RxTone: radio.Tone(1035), TxTone: radio.Site}, c[0].Programming())
	assert.Equal(t, radio.Command, c[0].Use)
	assert.Equal(t, "two sites", c[0].Remarks)
	assert.Equal(t, plan.Programming{Name: "QB AG 1", Rx: 151_857_500, Tx: 151_857_500}, c[1].Programming(), "a string of digits; tx as rx")
	assert.Equal(t, radio.Squelch{Kind: radio.DCS, Value: 0o23, Inverted: true}, c[2].TxTone)
	assert.True(t, c[2].EditionMark)
	assert.Equal(t, plan.Programming{Name: "QB DISP", System: "Range trunked", Talkgroup: "Dispatch 1", Mode: radio.Digital}, c[3].Programming())
	assert.True(t, c[3].Trunked())
	assert.Equal(t, "load.toml:42:11", c[0].At("rx").String())
}

func TestReadTakesEveryKey(t *testing.T) {
	in := files{"fire/plan.toml": sample(t, "plan.toml"), "fire/load.toml": sample(t, "load.toml")}
	p, load, found, err := plan.Read("fire/plan.toml", in.options())
	require.NoError(t, err)
	require.Empty(t, said(found))
	require.NotNil(t, load)
	assert.Equal(t, "fire/plan.toml", p.Path)
	i := p.Incident
	assert.Equal(t, []any{"Thimble Gulch", "QB-0412", true, 2, true}, []any{i.Name, i.Number, i.Exercise, i.Period, i.Aircraft})
	assert.Equal(t, "2027-08-14T06:00:00-06:00", i.From.Format(time.RFC3339))
	assert.Equal(t, "2027-08-14T18:00:00-06:00", i.To.Format(time.RFC3339))
	assert.Equal(t, "R. Okafor, communications unit leader", i.PreparedBy)
	assert.Equal(t, "2027-08-13T20:30:00-06:00", i.PreparedAt.Format(time.RFC3339))
	assert.Equal(t, "Say the slot number and the name.\nMonitor command on the road.", i.Instructions)
	assert.Equal(t, []float64{44.1, -114.1}, []float64{*i.Latitude, *i.Longitude})

	require.Len(t, p.Slots, 5)
	assert.Equal(t, "QB CMD 1", p.Slots[0].Channel)
	assert.Equal(t, "Bellwether", p.Slots[0].Site)
	assert.Equal(t, radio.Command, p.Slots[0].Use)
	assert.Equal(t, plan.Names{"A"}, p.Slots[1].Division)
	assert.Equal(t, plan.Names{"A", "Z"}, p.Slots[1].CarriedBy)
	assert.Equal(t, []int{2, 2}, []int{*p.Slots[2].Group, *p.Slots[2].Number})
	assert.Equal(t, plan.Names{"Z"}, p.Slots[2].Division)
	assert.Equal(t, radio.Hertz(151_857_500), p.Slots[3].Rx)
	assert.Equal(t, radio.Tone(1109), *p.Slots[4].TxTone)
	assert.Nil(t, p.Slots[4].RxTone)

	require.Len(t, p.Divisions, 3)
	assert.Equal(t, "L. Tamsin", p.Divisions[0].Supervisor)
	assert.True(t, p.Divisions[2].Functional)
	assert.Equal(t, plan.Names{"A"}, p.Divisions[2].Beside)
	assert.Equal(t, plan.Names{"command"}, p.Positions[1].Scan)
	assert.Equal(t, plan.Seats{{Position: "Firefighter", Count: 3}, {Position: "Engine boss", Count: 1}}, p.Units[0].Seats, "in the order written")
	assert.Equal(t, []string{"Engine 611", "engine type 3", "Strike team 6100C", "A"}, []string{p.Units[0].Name, p.Units[0].Kind, p.Units[0].Team, p.Units[0].Division})
	assert.Equal(t, 4, *p.Also[1].Tone)
	assert.Equal(t, "on the road", p.Also[0].When)
	assert.Equal(t, "tactical-repeated", p.Accepts[0].Rule)
	assert.Equal(t, []string{"business", "letter"}, []string{p.Card.Size, p.Card.Paper})
	assert.Equal(t, 3, *p.Card.ScanLimit)
	assert.Equal(t, "fire/plan.toml:28:20", p.Slots[1].AtItem("carried_by", 1).String())
	assert.Equal(t, "fire/plan.toml:66:33", p.Units[0].AtItem("seats", 1).String())
}

// faultCase changes one thing in a sound file, and says what is found.
type faultCase struct {
	name, old, new string
	want           string // findings, one a line, without the name of the file
	help           string // of the first
}

var loadFaults = []faultCase{
	{"dates swapped", "2028-03-31", "2026-03-31", `7:13: error: the load expires on 2026-03-31, before it is effective on 2027-03-01 [load-dates]`, "write the first day in effective, the last day in expires"},
	{"moment for a day", "2028-03-31", "2028-03-31T00:00:00Z", `7:13: error: expires 2028-03-31T00:00:00Z is not a day [wrong-type]`, "write the day alone: 2028-03-31"},
	{"day as text", "2028-03-31", `"2028-03-31"`, `7:13: error: expires "2028-03-31" is not a day [wrong-type]`, "write it without quotes: 2028-03-31"},
	{"edition as number", `"2027"`, "2027", `4:13: error: edition must be text in quotes, not the number 2027 [wrong-type]`, `write it in quotes: edition = "2027"`},
	{"edition beyond ASCII", `"2027"`, `"2027½"`, `4:13: error: edition has ½ (U+00BD, vulgar fraction one half), which a scanned list cannot hold [ascii-only]`, "write it in letters, digits and signs of plain ASCII"},
	{"empty name", `"Quillback Range cooperators"`, `" "`, `3:13: error: name is empty [empty-text]`, "write it"},
	{"no color", `colour    = "orange"`, ``, `2:1: error: color is missing in [load] [missing-key]`, `add color = "...": color of the label on the radio and of the cover of the book`},
	{"no positions", "list_positions = 16", "list_positions = 0", `10:18: error: list_positions 0 is not between 1 and 1000 [out-of-range]`, "write the right number, from 1 to 1000"},
	{"endless names", "name_length    = 10", "name_length    = 65", `11:18: error: name_length 65 is not between 1 and 64 [out-of-range]`, "write the right number, from 1 to 64"},
	{"no bands", "[[136.0, 174.0]]", "[]", `12:18: error: bands is empty: the radio could use no frequency [empty-list]`, "write bands = [[136.0, 174.0]], in MHz"},
	{"band backwards", "[[136.0, 174.0]]", "[[136, 174], [470.0, 450.0]]", `12:31: error: item 2 of bands does not begin with its lower frequency [out-of-range]`, "write a band as [136.0, 174.0], in MHz"},
	{"band in text", "[[136.0, 174.0]]", "[[136, 'x']]", `12:25: error: item 1 of bands 'x' is not a decimal number of MHz [bad-value]`, "write MHz, such as 154.2800"},
	{"band of three", "[[136.0, 174.0]]", "[[136, 174, 200]]", `12:19: error: item 1 of bands is not a pair of frequencies [wrong-type]`, "write a band as [136.0, 174.0], in MHz"},
	{"single band", "[[136.0, 174.0]]", "[136.0, 174.0]", `12:19: error: item 1 of bands 136.0 is not a pair of frequencies [wrong-type]
12:26: error: item 2 of bands 174.0 is not a pair of frequencies [wrong-type]`, "write a band as [136.0, 174.0], in MHz"},
	{"no modes", `["analog", "digital"]`, "[]", `13:18: error: modes is empty: the radio could use no channel [empty-list]`, `write modes = ["analog"]`},
	{"unknown mode", `["analog", "digital"]`, `["analog", "digitl"]`, `13:29: error: item 2 of modes "digitl" is not a mode; the closest is digital [bad-value]`, `did you mean "digital"?`},

	{"tone twice", "number = 4\nhz", "number = 1\nhz", `19:10: error: tone number 1 stands twice; first in line 16 [duplicate]
24:8: error: the load has no tone number 4 [unknown-tone]`, "change or delete one of them"},
	{"tone of a site", "hz     = 146.2", `hz     = "site"`, `20:10: error: hz cannot be "site": here stands the tone itself [site-tone]`, `write hertz, or a code such as "D023"`},
	{"tone of carrier", "hz     = 146.2", `hz     = "-"`, `20:10: error: hz "-" says nothing: a channel without tone has no such key [carrier-squelch]`, "delete the key"},
	{"tone zero", "number = 1\nhz", "number = 0\nhz", `16:10: error: number 0 is not between 1 and 9999 [out-of-range]`, "write the right number, from 1 to 9999"},

	{"site twice", `"Sawbuck"`, `"bellwether"`, `30:8: error: site bellwether stands twice; first in line 23 [duplicate]`, "change or delete one of them"},
	{"site with an unknown tone", "tone = 4", "tone = 7", `24:8: error: the load has no tone number 7 [unknown-tone]`, "add a [[tone]] with number = 7, or write the tone in hertz with a decimal point, such as 100.0"},
	{"site with tone zero", "tone = 4", "tone = 0", `24:8: error: tone 0 is not the number of a tone [out-of-range]`, "numbered tones count from 1; write hertz with a decimal point, such as 100.0"},
	{"site with a site's tone", "tone = 131.8", `tone = "site"`, `31:8: error: tone cannot be "site": here stands the tone itself [site-tone]`, `write hertz, or a code such as "D023"`},
	{"latitude alone", "longitude = -114.0", "", `25:12: error: latitude stands without longitude [coordinates]`, "add longitude; or delete latitude"},
	{"longitude alone", "latitude = 44.0", "", `26:13: error: longitude stands without latitude [coordinates]`, "add latitude; or delete longitude"},
	{"off the Earth", "latitude = 44.0\nlongitude = -114.0\nelevation_m = 2500", "latitude = 90.5\nlongitude = -181\nelevation_m = 25000", `25:12: error: latitude 90.5 is not between -90 and 90 degrees [out-of-range]
26:13: error: longitude -181 is not between -180 and 180 degrees [out-of-range]
27:15: error: elevation_m 25000 is not between -500 and 9000 meters [out-of-range]`, "write decimal degrees, north and east positive"},
	{"site's channel unknown", `elevation_m = 2500
channels = ["QB CMD 1"]`, `elevation_m = 2500
channels = ["QB CMD 1", "QB CDM 1"]`, `28:25: error: the load has no channel "QB CDM 1"; the closest is QB CMD 1 [unknown-channel]`, "did you mean QB CMD 1?; did you mean QB AG 1?"},
	{"site's channel twice", `elevation_m = 2500
channels = ["QB CMD 1"]`, `elevation_m = 2500
channels = ["QB CMD 1", "QB CMD 1"]`, `28:25: error: channel QB CMD 1 stands twice; first in line 28 [duplicate]`, "change or delete one of them"},

	{"group twice", "number = 2\nname   = \"Interop", "number = 1\nname   = \"Interop", `75:10: error: group number 1 stands twice; first in line 35 [duplicate]`, "change or delete one of them"},
	{"channel number twice", "number = 2\nname   = \"QB AG 1\"", "number = 1\nname   = \"QB AG 1\"", `53:10: error: channel number 1 in group 1 stands twice; first in line 39 [duplicate]`, "change or delete one of them"},
	{"unknown use", `"air-to-ground"`, `"air to ground"`, `55:10: error: use "air to ground" is not a use of a channel; the closest is air-to-ground [bad-value]`, `did you mean "air-to-ground"?`},
	{"no use", "use    = \"air-to-ground\"\n", "", `52:1: error: use is missing in [group.channel] [missing-key]`, "add use = ...: what the channel is for"},
	{"not whole hertz", "152.4125", "152.41251234", `42:11: error: rx 152.41251234 is not a whole number of hertz [bad-value]`, "a frequency in MHz has at most six decimals"},
	{"no frequency", "rx     = \"151.8575\"\n", "", `52:1: error: the channel has neither a frequency nor a talkgroup [missing-key]`, "add rx = ..., in MHz, or system and talkgroup of a trunked system"},
	{"transmit alone", "rx      = 152.4125\n", "", `42:11: error: the channel has a transmit frequency but no receive frequency [tx-without-rx]`, "add rx = ..., in MHz"},
	{"system alone", "talkgroup = \"Dispatch 1\"\n", "", `70:13: error: the channel has a system but no talkgroup [talkgroup]`, `add talkgroup = "..."`},
	{"talkgroup with frequency", "talkgroup = \"Dispatch 1\"\n", "talkgroup = \"Dispatch 1\"\nrx = 154.28\ntx_tone = 103.5\n", `72:6: error: a talkgroup has no rx: its system assigns the frequencies [talkgroup]
73:11: error: a talkgroup has no tx_tone: its system assigns the frequencies [talkgroup]`, "delete rx; or delete system and talkgroup, if it is a channel of its own"},
	{"talkgroup with a slash", `"Dispatch 1"`, `"Dispatch/1"`, `71:13: error: talkgroup "Dispatch/1" has / or _, which the scanned list uses between and inside of names [talkgroup]`, "write a space or - in its place"},
	{"talkgroup like frequencies", "system    = \"Range trunked\"\ntalkgroup = \"Dispatch 1\"", "system    = \"152.4\"\ntalkgroup = \"157.67\"", `71:13: error: in a scanned list 152.4/157.67 reads like a pair of frequencies [talkgroup]`, `put a word to one of them, such as talkgroup = "TG 157.67"`},
	{"receive tone of a site", "rx_tone = 103.5", `rx_tone = "site"`, `44:11: error: rx_tone cannot be "site": only the transmit tone is the incident's to choose [site-tone]`, "write the receive tone, or leave the key out for carrier squelch"},
	{"carrier written out", "rx_tone = 103.5", `rx_tone = "-"`, `44:11: error: rx_tone "-" says nothing: a channel without tone has no such key [carrier-squelch]`, "delete the key"},

	{"name ends with a space", `"VFIRE23"`, `"VFIRE23 "`, `87:11: error: display name "VFIRE23 " has a space at its end or beginning [display-name]`, `write "VFIRE23"`},
	{"name with two spaces", `"VFIRE23"`, `"VFIRE  23"`, `87:11: error: display name "VFIRE  23" has two spaces in a row [display-name]`, `write "VFIRE 23"`},
	{"name with an accent", `"VFIRE23"`, `"VFÍRE23"`, `87:11: error: display name "VFÍRE23" has Í (U+00CD, Latin capital letter i with acute), which a radio's display cannot show [display-name]`, "write it in letters, digits and signs of plain ASCII"},
	{"name with a twin", `"VFIRE23"`, `"VFIRЕ23"`, `87:11: error: display name "VFIRЕ23" has Е (U+0415, Cyrillic capital letter ie), which a radio's display cannot show [display-name]`, "write the Latin letter E"},
	{"name empty", `"VFIRE23"`, `""`, `87:11: error: name is empty [empty-text]`, "write it"},
	{"name of two lines", `"VFIRE23"`, `"V\nFIRE23"`, `87:11: error: display name "V\nFIRE23" has the character U+000A, which a radio's display cannot show [display-name]`, "write it in letters, digits and signs of plain ASCII"},
}

var planFaults = []faultCase{
	{"no offset", "from        = 2027-08-14T06:00:00-06:00", "from        = 2027-08-14T06:00:00", `9:15: error: from has no UTC offset [no-offset]`, "write from = 2027-08-14T06:00:00-06:00, with the offset of the other times"},
	{"period zero", "period      = 2", "period      = 0", `8:15: error: period 0 is not between 1 and 9999 [out-of-range]`, "write the right number, from 1 to 9999"},
	{"longitude alone", "latitude    = 44.1\n", "", `14:15: error: longitude stands without latitude [coordinates]`, "add latitude; or delete longitude"},
	{"scan limit", "scan_limit = 3", "scan_limit = 0", `85:14: error: scan_limit 0 is not between 1 and 1000 [out-of-range]`, "write the right number, from 1 to 1000"},
	{"empty name", `"Thimble Gulch"`, `""`, `5:15: error: name is empty [empty-text]`, "write it"},
	{"arrow", `"Thimble Gulch"`, `"Thimble → Gulch"`, `5:24: error: name has → (U+2192, rightwards arrow), which the typeface of cards and sheets does not have [unprintable-character]`, "write it in other characters"},
	{"emoji", `"Thimble Gulch"`, `"Thimble Gulch 🔥"`, `5:30: error: name has 🔥 (U+1F525, fire), which the typeface of cards and sheets does not have [unprintable-character]`, "write it in other characters"},
	{"hidden direction", `"Thimble Gulch"`, `"Thimble \u202eGulch"`, `5:15: error: name has the character U+202E (right-to-left override), which can hide what is written [unprintable-character]`, "delete it"},
	{"hidden space", `"Thimble Gulch"`, `"Thimble\u200b Gulch"`, `5:15: error: name has the character U+200B (zero width space), which cannot be seen on paper [unprintable-character]`, "delete it"},
	{"left-over mark", `"Thimble Gulch"`, `"Thimble x\u0301 Gulch"`, `5:15: error: name has the character U+0301 (combining acute accent), a mark that cannot be joined with the letter before it [unprintable-character]`, "write the letter without it"},
	{"two lines", `"Thimble Gulch"`, `"Thimble\nGulch"`, `5:15: error: name has the character U+000A, a line break [unprintable-character]`, "write it in one line; only instructions may have several"},
	{"tab in instructions", "Monitor command", "Monitor\tcommand", `18:8: error: instructions has the character U+0009, which paper does not show [unprintable-character]`, "write spaces"},

	{"slot without channel", "[[slot]]\nrx = 151.8575\n", "[[slot]]\nuse = \"travel\"\n", `33:1: error: the slot names no channel [slot-channel]`, `write channel = "DISPLAY NAME", or group = 1 and number = 1, or rx = 152.4125`},
	{"slot in two ways", "rx = 151.8575\n", "rx = 151.8575\nchannel = \"QB AG 1\"\n", `33:1: error: the slot names its channel in 2 ways: by channel, by rx [slot-channel]`, "keep channel; keep rx"},
	{"group alone", "number   = 2\n", "", `30:12: error: group stands without number [slot-channel]`, "add number = ..., the channel number in the group"},
	{"number alone", "group    = 2\n", "", `30:12: error: number stands without group [slot-channel]`, "add group = ..., the number of the group"},
	{"group zero", "group    = 2\n", "group    = 0\n", `30:12: error: group 0 is not between 1 and 9999 [out-of-range]`, "write the right number, from 1 to 9999"},
	{"tone beside a name", "site    = \"Bellwether\"", "tx_tone = 146.2", `23:11: error: tx_tone says which channel is meant only beside rx: the load decides what a named channel transmits [slot-channel]`, "delete tx_tone; or name the channel by rx"},
	{"site for a tone", "tx_tone = 110.9", `tx_tone = "site"`, `38:11: error: tx_tone cannot be "site" in a plan: the plan is where the site is chosen [site-tone]`, `write site = "..." with the name of the site`},
	{"site and tone", "site    = \"Bellwether\"", "site    = \"Bellwether\"\ntone = 4", `24:8: error: site and tone both choose the repeater [site-or-tone]`, "delete tone: then the site decides; delete site: then the tone decides"},
	{"empty channel", `channel    = "VFIRE21"`, `channel    = ""`, `25:14: error: channel is empty [empty-text]`, "write the display name, or name the channel in another way: by group and number, or by rx"},
	{"carried by nobody", `["A", "Z"]`, `[]`, `28:14: error: carried_by is empty: nobody would have the slot in the list [empty-list]`, "name the divisions that carry it; or delete the key: then everybody does"},
	{"carried twice", `["A", "Z"]`, `["A", "A"]`, `28:20: error: carried_by "A" stands twice; first in line 28 [duplicate]`, "change or delete one of them"},
	{"also without channel", "channel = \"QB TRAV 27\"\n", "", `68:1: error: the entry names no channel [slot-channel]`, `write channel = "DISPLAY NAME", or group = 1 and number = 1, or rx = 152.4125`},

	{"division twice", `id   = "Z"`, `id   = "a"`, `45:8: error: division a stands twice; first in line 41 [duplicate]`, "change or delete one of them"},
	{"Cyrillic division", `id         = "A"`, `id         = "А"`, `41:14: error: id "А" has А (U+0410, Cyrillic capital letter a), which looks like the Latin A [look-alike]`, "write the Latin letter A"},
	{"Greek reference", `division   = "A"`, `division   = "Α"`, `27:14: error: division "Α" has Α (U+0391, Greek capital letter alpha), which looks like the Latin A [look-alike]`, "write the Latin letter A"},
	{"id with a space", `"STRUCT"`, `"STR PROT"`, `48:14: error: division id "STR PROT" has a space, which a scanned list cannot hold [division-id]`, "write a letter or a short word; name can say more"},
	{"id with a comma", `"STRUCT"`, `"S,T"`, `48:14: error: division id "S,T" has , (U+002C, comma), which a scanned list cannot hold [division-id]`, "write a letter or a short word; name can say more"},
	{"id too long", `"STRUCT"`, `"STRUCTUREPROTECTION"`, `48:14: error: division id "STRUCTUREPROTECTION" is longer than 12 characters [division-id]`, "write a letter or a short word; name can say more"},
	{"beside on the line", "functional = true\n", "", `49:14: error: beside is for functional groups, and division STRUCT is none [beside-functional-only]`, "delete beside; write functional = true"},
	{"position twice", `"Firefighter"
priority`, `"engine boss"
priority`, `57:12: error: position engine boss stands twice; first in line 53 [duplicate]`, "change or delete one of them"},
	{"mixed letters", `name     = "Engine 611"`, `name     = "Еngine 611"`, `62:12: error: name "Еngine 611" has Е (U+0415, Cyrillic capital letter ie), which looks like the Latin E [look-alike]`, "write the Latin letter E"},
	{"no seats", `"Firefighter" = 3,`, `"Firefighter" = 0,`, `66:14: error: seats "Firefighter" has 0 seats; 1 to 999 are possible [out-of-range]`, "leave out a position without seats"},
	{"seats as a list", `{ "Firefighter" = 3, "Engine boss" = 1 }`, `["Firefighter"]`, `66:12: error: seats is not a table of positions and numbers [wrong-type]`, `write seats = { "Engine boss" = 1, "Firefighter" = 3 }`},
	{"scanned twice", `["neighbours", "command"]`, `["command", "command"]`, `55:24: error: scan "command" stands twice; first in line 55 [duplicate]`, "change or delete one of them"},
	{"absolute path", `"load.toml"`, `"/srv/load.toml"`, `2:8: error: load is an absolute path, which no other machine has [load-path]`, "write the path relative to the plan, such as load.toml or ../load.toml"},
	{"no path", `"load.toml"`, `""`, `2:8: error: load is empty [empty-text]`, "write it"},
}

func testFaults(t *testing.T, name string, cases []faultCase, read func(text string) finding.List) {
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			text := sample(t, name)
			require.Equal(t, 1, strings.Count(text, c.old), "%q", c.old)
			found := read(strings.Replace(text, c.old, c.new, 1))
			got := strings.ReplaceAll(strings.Join(said(found), "\n"), name+":", "")
			require.Equal(t, c.want, got)
			require.NotEmpty(t, found)
			assert.Equal(t, c.help, strings.Join(found[0].Help, "; "))
			assert.True(t, found.HasErrors())
		})
	}
}

func TestEachFaultOfALoad(t *testing.T) {
	testFaults(t, "load.toml", loadFaults, func(text string) finding.List {
		_, found, err := plan.ReadLoad("load.toml", files{"load.toml": text}.options())
		require.NoError(t, err)
		return found
	})
}

func TestEachFaultOfAPlan(t *testing.T) {
	testFaults(t, "plan.toml", planFaults, func(text string) finding.List {
		_, _, found, err := plan.Read("plan.toml", files{"plan.toml": text, "load.toml": sample(t, "load.toml")}.options())
		require.NoError(t, err)
		return found
	})
}

func TestDuplicateShowsBothPlaces(t *testing.T) {
	text := strings.Replace(sample(t, "load.toml"), `"Sawbuck"`, `"Bellwether"`, 1)
	_, found, err := plan.ReadLoad("load.toml", files{"load.toml": text}.options())
	require.NoError(t, err)
	require.Len(t, found, 1)
	assert.Equal(t, "Bellwether", found[0].Subject)
	require.Len(t, found[0].Related, 1)
	assert.Equal(t, "load.toml:23:8", found[0].Related[0].Place.String())
	assert.Equal(t, "site Bellwether stands here first", found[0].Related[0].Message)
}

// Faults of both files come in one pass, in order.
func TestFaultsOfPlanAndLoadTogether(t *testing.T) {
	in := files{
		"plan.toml": strings.NewReplacer("2027-08-14T06:00:00-06:00", "2027-08-14T06:00", "period      = 2", "period = two",
			"paper  ", "papper  ", `"own"`+"\nscan     = [", `"own"`+"\nscan     = [3, ").Replace(sample(t, "plan.toml")),
		"load.toml": strings.NewReplacer("152.4125", `"152,4125"`, "[radio]", "[radio", `"QB CMD 1"]`, `"QB CMD 7"]`).Replace(sample(t, "load.toml")),
	}
	p, load, found, err := plan.Read("plan.toml", in.options())
	require.NoError(t, err)
	assert.Equal(t, []string{
		`load.toml:9:1: error: the header is not closed with ] [syntax]`,
		`load.toml:42:11: error: rx "152,4125" is not a decimal number of MHz [bad-value]`,
		`plan.toml:8:10: error: the text two must stand in quotes [syntax]`,
		`plan.toml:9:15: error: from has no UTC offset [no-offset]`,
		`plan.toml:55:13: error: scan 3 is not a name in quotes [wrong-type]`,
		`plan.toml:84:1: error: there is no key "papper" in [card]; the closest is paper [unknown-key]`,
	}, said(found))
	assert.Equal(t, "QB AG 1", load.Groups[0].Channels[1].Name, "what could be read is there")
	assert.Equal(t, "Thimble Gulch", p.Incident.Name)
}

func TestTextIsNormalised(t *testing.T) {
	text := strings.NewReplacer(
		`"Left flank"`, "\" Le\u0301on\u2011flank, 5 \u00b5V \"",
		"Say the slot number and the name.\n", "Say it.\r\n",
	).Replace(sample(t, "plan.toml"))
	p, _, found, err := plan.Read("plan.toml", files{"plan.toml": text, "load.toml": sample(t, "load.toml")}.options())
	require.NoError(t, err)
	require.Empty(t, said(found))
	assert.Equal(t, "L\u00e9on-flank, 5 \u03bcV", p.Divisions[0].Name)
	assert.Equal(t, "Say it.\nMonitor command on the road.", p.Incident.Instructions)
}

func TestWrongFiles(t *testing.T) {
	load, p := sample(t, "load.toml"), sample(t, "plan.toml")
	assert.True(t, plan.IsLoad([]byte(load)))
	assert.False(t, plan.IsLoad([]byte(p)))
	assert.True(t, plan.IsLoad([]byte("[[group]]\nnumber = ")), "even a broken one")
	assert.False(t, plan.IsLoad([]byte("[[slot]]\n")))
	assert.False(t, plan.IsLoad(nil))

	_, found, err := plan.ReadLoad("x.toml", files{"x.toml": p}.options())
	require.NoError(t, err)
	assert.Equal(t, []string{"x.toml: error: this file is a plan, not a load [wrong-file]"}, said(found))
	_, _, found, err = plan.Read("x.toml", files{"x.toml": load}.options())
	require.NoError(t, err)
	assert.Equal(t, []string{"x.toml: error: this file is a load, not a plan [wrong-file]"}, said(found))
	assert.Equal(t, []string{"name the file that holds [incident] and [[slot]]"}, found[0].Help)
	_, _, found, err = plan.Read("x.toml", files{"x.toml": "load = \"y.toml\"\n" + p[strings.Index(p, "\n[incident]"):], "y.toml": p}.options())
	require.NoError(t, err)
	assert.Equal(t, []string{"x.toml:1:8: error: y.toml is a plan, not a load [wrong-file]"}, said(found))
	assert.Equal(t, []string{"name the file that holds [load], [radio] and [[group]]"}, found[0].Help)

	in := files{"a/plan.toml": strings.Replace(p, `"load.toml"`, `"../b/load.toml"`, 1), "b/load.toml": load}
	_, l, found, err := plan.Read("a/plan.toml", in.options())
	require.NoError(t, err)
	require.Empty(t, said(found))
	assert.Equal(t, "2027", l.About.Edition)

	delete(in, "b/load.toml")
	in["a/plan.toml"] = strings.Replace(in["a/plan.toml"], "period      = 2", "period = 0", 1)
	got, l, found, err := plan.Read("a/plan.toml", in.options())
	assert.True(t, errors.Is(err, fs.ErrNotExist))
	assert.ErrorContains(t, err, "the load b/load.toml cannot be read")
	assert.Nil(t, l)
	assert.NotNil(t, got)
	assert.Equal(t, []string{"a/plan.toml:8:10: error: period 0 is not between 1 and 9999 [out-of-range]"}, said(found))
	_, _, _, err = plan.Read("none.toml", in.options())
	assert.ErrorIs(t, err, fs.ErrNotExist)
}

func TestDates(t *testing.T) {
	d := plan.DateOf(time.Date(2027, 8, 14, 23, 30, 0, 0, time.FixedZone("", -6*3600)))
	assert.Equal(t, "2027-08-14", d.String(), "in the time's own zone")
	assert.True(t, plan.Date{Year: 2026, Month: 12, Day: 31}.Before(d))
	assert.True(t, plan.Date{Year: 2027, Month: 7, Day: 31}.Before(d))
	assert.True(t, plan.Date{Year: 2027, Month: 8, Day: 13}.Before(d))
	assert.False(t, d.Before(d))
}

// bigLoad is a load of groups × channels.
func bigLoad(groups, channels int) string {
	var b strings.Builder
	b.WriteString("[load]\nname = \"Big\"\nedition = \"2027\"\ncolor = \"orange\"\neffective = 2027-03-01\nexpires = 2028-03-31\n" +
		"[radio]\nlist_positions = 16\nname_length = 10\nbands = [[136.0, 174.0]]\nmodes = [\"analog\"]\n")
	for g := range groups {
		fmt.Fprintf(&b, "[[group]]\nnumber = %d\nname = \"Group %d\"\n", g+1, g+1)
		for c := range channels {
			n := g*channels + c
			fmt.Fprintf(&b, "[[group.channel]]\nnumber = %d\nname = \"QB %d\"\nuse = \"tactical\"\nrx = %s\nrx_tone = 103.5\ntx_tone = 146.2\nmode = \"analog\"\nwidth = \"narrow\"\n",
				c+1, n, radio.Hertz(150_000_000+2500*n))
		}
	}
	return b.String()
}

func BenchmarkReadLoad2000(b *testing.B) {
	in := files{"load.toml": bigLoad(50, 40)}
	o := in.options()
	b.SetBytes(int64(len(in["load.toml"])))
	b.ReportAllocs()
	for b.Loop() {
		load, found, err := plan.ReadLoad("load.toml", o)
		if err != nil || len(found) > 0 || len(load.Groups) != 50 {
			b.Fatal(err, found)
		}
	}
}

// A plan from somebody else may name any file as its load: nothing of what it
// holds is shown.
func TestReadShowsNothingOfWhatIsNoLoad(t *testing.T) {
	const secret = "root:x:0:0:root:/root:/bin/sh"
	for name, text := range map[string]string{
		"passwords": secret + "\ndaemon:x:1:1:daemon:/usr/sbin:/usr/sbin/nologin\n",
		"a [load]":  "[load]\nname = \"" + secret + "\"\npassword = \"x\"\n",
		"toml":      "[server]\npassword = \"" + secret + "\"\n",
		"no text":   "\x7fELF\x00" + secret,
		"empty":     "",
	} {
		f := files{"plan.toml": strings.Replace(sample(t, "plan.toml"), `"load.toml"`, `"../etc/passwd"`, 1), "../etc/passwd": text}
		_, load, found, err := plan.Read("plan.toml", f.options())
		require.NoError(t, err, name)
		assert.Nil(t, load)
		require.Equal(t, []string{"plan.toml:2:8: error: ../etc/passwd is no load: at most one of [load], [radio] and [[group]] is in it [wrong-file]"}, said(found), name)
		assert.NotContains(t, fmt.Sprintf("%+v", found), "root:x")
	}
}

// A load is never standard input.
func TestReadLoadCalledLikeStandardInput(t *testing.T) {
	var asked []string
	o := files{"plan.toml": strings.Replace(sample(t, "plan.toml"), `"load.toml"`, `"-"`, 1)}.options()
	read := o.ReadFile
	o.ReadFile = func(name string) ([]byte, error) {
		asked = append(asked, filepath.ToSlash(name))
		return read(name)
	}
	_, _, _, err := plan.Read("plan.toml", o)
	require.ErrorIs(t, err, fs.ErrNotExist)
	assert.Equal(t, []string{"plan.toml", "./-"}, asked)
}

// What nobody reads to the end is cut, and said to be.
func TestResolveBoundsItsFaults(t *testing.T) {
	p, l, found, err := plan.Read("plan.toml", files{"plan.toml": sample(t, "plan.toml"), "load.toml": sample(t, "load.toml")}.options())
	require.NoError(t, err)
	require.Empty(t, said(found))
	for range 9000 { // more than reading lets through
		p.Slots = append(p.Slots, &plan.Slot{Pick: plan.Pick{Rx: 138_000_000}})
	}
	r, found := plan.Resolve(p, l)
	require.NotNil(t, r)
	assert.Len(t, found, 2000)
	assert.True(t, slices.ContainsFunc(found, func(f finding.Finding) bool { return slices.Contains(f.Help, "more faults are not listed") }))
	assert.GreaterOrEqual(t, len(r.Unresolved), 9000)
}

// A text that no paper has room for is refused before anything is laid out.
func TestTextsAreBounded(t *testing.T) {
	for key, most := range map[string]int{"name": 500, "instructions": 10_000} {
		for _, n := range []int{most, most + 1} {
			value := fmt.Sprintf("%s = %q", key, strings.Repeat("é", n))
			text := regexp.MustCompile(`(?m)^`+key+` +=.*$`).ReplaceAllLiteralString(sample(t, "plan.toml"), "")
			text = strings.Replace(text, "[incident]", "[incident]\n"+value, 1)
			_, _, found, err := plan.Read("plan.toml", files{"plan.toml": text, "load.toml": sample(t, "load.toml")}.options())
			require.NoError(t, err)
			want := fmt.Sprintf("%s has %d characters; up to %d are possible [bad-value]", key, n, most)
			assert.Equal(t, n > most, strings.Contains(strings.Join(said(found), "\n"), want), "%v", said(found)[:min(len(found), 3)])
		}
	}
}
