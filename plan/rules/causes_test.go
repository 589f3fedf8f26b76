package rules_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"slotcard/plan/finding"
	"slotcard/plan/rules"
)

// change replaces text, pairs of old and new; an old that begins with * is
// replaced wherever it stands.
func change(t testing.TB, text string, edits ...string) string {
	t.Helper()
	for i := 0; i < len(edits); i += 2 {
		old, n := strings.CutPrefix(edits[i], "*")
		require.Contains(t, text, old)
		times := 1
		if n {
			times = -1
		}
		text = strings.Replace(text, old, edits[i+1], times)
	}
	return text
}

// opensTo is what is said about a plan and its load.
func opensTo(t testing.TB, plan, load string) finding.List {
	t.Helper()
	_, found, err := rules.Open("plan.toml", files(map[string]string{"plan.toml": plan, "load.toml": load}))
	require.NoError(t, err)
	return found
}

// units are as many more engines of a team in a division.
func units(n int, team, division string) string {
	var b strings.Builder
	for i := range n {
		fmt.Fprintf(&b, "[[unit]]\nname = \"Engine %d\"\nteam = %q\ndivision = %q\nseats = { \"Engine boss\" = 1, \"Firefighter\" = 2 }\n", 700+i, team, division)
	}
	return b.String()
}

func TestOneCauseOneFinding(t *testing.T) {
	sound, load := soundPlan(t)+units(5, "Strike team 6100C", "A"), soundLoad(t)
	for _, c := range []struct {
		name       string
		plan, load []string // what is changed
		want       string
	}{
		{name: "misspelled seat", plan: []string{`*"Engine boss" = 1`, `"Engine bos" = 1`}, want: `plan.toml:66:14: error: unit "Engine 611": no position "Engine bos" in the plan (and 6 more places) [unknown-position]`},
		{name: "misspelled position", plan: []string{"name     = \"Engine boss\"\n", "name     = \"Engine bos\"\n"}, want: `plan.toml:66:14: error: unit "Engine 611": no position "Engine boss" in the plan (and 6 more places) [unknown-position]`},
		{name: "misspelled division id", plan: []string{`id   = "A"`, `id   = "C"`}, want: `plan.toml:20:12: error: slot 2: division: no division "A" in the plan (and 6 more places) [unknown-division]`},
		{name: "misspelled slot division", plan: []string{`division = "B"`, `division = "8"`}, want: `plan.toml:23:12: error: slot 3: division: no division "8" in the plan [unknown-division]`},
		{name: "misspelled unit division", plan: []string{`*division = "A"
seats`, `division = "8"
seats`}, want: `plan.toml:65:12: error: unit "Engine 611": no division "8" in the plan (and 5 more places) [unknown-division]`},
		{name: "bands", load: []string{"[136.0, 174.0]", "[403.0, 470.0]"}, want: `load.toml:13:18: error: 17 channels are outside the radio's bands, 403.0000 to 470.0000 MHz [out-of-band]`},
		{name: "name_length", load: []string{"name_length    = 10", "name_length    = 5"}, want: `load.toml:12:18: error: 17 display names are longer than the 5 characters that the radio shows [name-too-long]`},
		{name: "modes", load: []string{`modes          = ["analog"]`, `modes          = ["digital"]`}, want: `load.toml:14:18: error: 17 channels are analog, but the radio cannot use that mode [mode-not-supported]`},
		{name: "team without division", plan: []string{`*division = "A"
seats`, `seats`}, want: `plan.toml:62:12: advice: Engine 611 of Strike team 6100C has no division: its cards talk on command (and 5 more places) [team-without-division]`},
		{name: "raster", load: []string{"rx      = 160.5675", "rx = 160.5690", "rx      = 154.9275", "rx = 154.9290", "rx      = 156.5100", "rx = 156.5120", "rx      = 159.1425", "rx = 159.1440", "rx      = 151.3475", "rx = 151.3490", "rx      = 151.8575", "rx = 151.8590"}, want: `load.toml:10:1: warning: 6 of 17 channels from 150 to 174 MHz are off the channel raster [off-raster]`},
		{name: "key in slot", plan: []string{`channel  = "VFIRE22"`, `chanel  = "VFIRE22"`}, want: `plan.toml:22:1: error: there is no key "chanel" in [slot]; the closest is channel [unknown-key]`},
		{name: "slot header", plan: []string{"[[slot]]\nchannel  = \"VFIRE22\"", "[[slot]\nchannel  = \"VFIRE22\""}, want: `plan.toml:21:1: error: the header is not closed with ]] [syntax]`},
		{name: "slot header single", plan: []string{"[[slot]]\nchannel  = \"VFIRE22\"", "[slot]\nchannel  = \"VFIRE22\""}, want: `plan.toml:21:1: error: [slot] stands here in single brackets, and in double ones before; first in line 15 [duplicate-key]`},
		{name: "slot header misspelled", plan: []string{"[[slot]]\nchannel  = \"VFIRE22\"", "[[slt]]\nchannel  = \"VFIRE22\""}, want: `plan.toml:21:1: error: there is no key "slt" at the top of the file; the closest is slot [unknown-key]`},
		{name: "slot header missing", plan: []string{"[[slot]]\nchannel  = \"VFIRE22\"", "channel  = \"VFIRE22\""}, want: `plan.toml:21:1: error: the key channel stands here again; first in line 19 [duplicate-key]`},
		{name: "command slot header missing", plan: []string{"[[slot]]\nchannel = \"QB CMD 1\"", "channel = \"QB CMD 1\""}, want: `plan.toml:15:1: error: there is no key "channel" in [incident] (and 1 more place) [unknown-key]`},
		{name: "unquoted", plan: []string{`channel  = "VFIRE22"`, `channel  = VFIRE22`}, want: `plan.toml:22:12: error: the text VFIRE22 must stand in quotes [syntax]`},
		{name: "open quote", plan: []string{`channel  = "VFIRE22"`, `channel  = "VFIRE22`}, want: `plan.toml:22:12: error: the text that begins here is not closed in its line [syntax]`},
		{name: "incident header", plan: []string{"[incident]", "[incident"}, want: `plan.toml:4:1: error: the header is not closed with ] [syntax]`},
		{name: "incident misspelled", plan: []string{"[incident]", "[incidnt]"}, want: `plan.toml:4:1: error: there is no key "incidnt" at the top of the file; the closest is incident [unknown-key]`},
		{name: "from no offset", plan: []string{"2027-08-14T06:00:00-06:00", "2027-08-14T06:00:00"}, want: `plan.toml:9:15: error: from has no UTC offset [no-offset]`},
		{name: "from year", plan: []string{"2027-08-14T06:00:00-06:00", "2026-08-14T06:00:00-06:00"}, want: `plan.toml:10:15: warning: the period is 365 days long, more than 24 hours [period-long]`},
		{name: "division key", plan: []string{"id   = \"B\"", "ID   = \"B\""}, want: `plan.toml:39:1: error: the key ID must be written id [key-case]`},
		{name: "division header", plan: []string{"[[division]]\nid   = \"B\"", "[[divison]]\nid   = \"B\""}, want: `plan.toml:38:1: error: there is no key "divison" at the top of the file; the closest is division [unknown-key]`},
		{name: "division broken header", plan: []string{"[[division]]\nid   = \"B\"", "[[division\nid   = \"B\""}, want: `plan.toml:38:1: error: the header is not closed with ]] [syntax]`},
		{name: "division id missing", plan: []string{"id   = \"B\"\n", ""}, want: `plan.toml:38:1: error: id is missing in [division] [missing-key]`},
		{name: "position header", plan: []string{"[[position]]\nname     = \"Engine boss\"", "[[postion]]\nname     = \"Engine boss\""}, want: `plan.toml:52:1: error: there is no key "postion" at the top of the file; the closest is position [unknown-key]`},
		{name: "position key", plan: []string{"name     = \"Engine boss\"\n", "nme     = \"Engine boss\"\n"}, want: `plan.toml:53:1: error: there is no key "nme" in [position]; the closest is name [unknown-key]`},
		{name: "unit header", plan: []string{"[[unit]]\nname     = \"Engine 611\"", "[[unt]]\nname     = \"Engine 611\""}, want: `plan.toml:61:1: error: there is no key "unt" at the top of the file; the closest is unit [unknown-key]`},
		{name: "seats", plan: []string{`seats    = { "Engine boss" = 1, "Firefighter" = 3 }`, `seats    = { Engine boss = 1, Firefighter = 3 }`}, want: `plan.toml:66:21: error: a name of several words must stand in quotes [syntax]`},
		{name: "tone hz", plan: []string{"site    = \"Bellwether\"", "tone = 146.2"}, want: `plan.toml:17:8: error: tone must be a whole number, not the number 146.2 [wrong-type]`},
		{name: "site empty", plan: []string{"site    = \"Bellwether\"", "site = 5"}, want: `plan.toml:17:8: error: site must be text in quotes, not the number 5 [wrong-type]`},
		{name: "guard division Z", plan: []string{"channel = \"AIRGUARD\"\n", "channel = \"AIRGUARD\"\nuse = \"tactical\"\n"}, want: `plan.toml:34:7: error: slot 7: AIRGUARD is for guard, not for tactical: other traffic covers a call for help [guard-misused]`},
		{name: "guard div", plan: []string{"channel  = \"QB TAC 4\"\ndivision = \"Z\"\n[[slot]]\n", ""}, want: `plan.toml:39:8: error: division Z has no tactical [division-without-tactical]`},
		{name: "ag as tactical", plan: []string{"channel  = \"QB TAC 4\"\ndivision = \"Z\"\n", "channel  = \"AIRGUARD\"\ndivision = \"Z\"\n"}, want: `plan.toml:33:11: error: slot 7: AIRGUARD stands in slot 4 already [channel-twice]`},
		{name: "also key", plan: []string{"when    = \"on the road\"", "wen    = \"on the road\""}, want: `plan.toml:76:1: error: there is no key "wen" in [also]; the closest is when [unknown-key]`},
		{name: "slot use", plan: []string{"channel  = \"VFIRE22\"", "channel  = \"VFIRE22\"\nuse = \"tac\""}, want: `plan.toml:23:7: error: use "tac" is not a use of a channel; the closest is tactical [bad-value]`},
		{name: "load key", load: []string{"rx      = 154.2650", "rxx     = 154.2650"}, want: `load.toml:132:1: error: there is no key "rxx" in [group.channel]; the closest is rx [unknown-key]`},
		{name: "load header", load: []string{"[[group.channel]]\nnumber  = 2\nname    = \"VFIRE22\"", "[[group.chanel]]\nnumber  = 2\nname    = \"VFIRE22\""}, want: `load.toml:128:1: error: there is no key "chanel" in [group]; the closest is channel [unknown-key]`},
		{name: "radio header", load: []string{"[radio]", "[rdio]"}, want: `load.toml:10:1: error: there is no key "rdio" at the top of the file; the closest is radio [unknown-key]`},
		{name: "group header", load: []string{"[[group]]\nnumber = 2", "[[grup]]\nnumber = 2"}, want: `load.toml:119:1: error: there is no key "grup" at the top of the file; the closest is group [unknown-key]`},
		{name: "group header missing", load: []string{"[[group]]\nnumber = 2\nname   = \"National fire\"\n", ""}, want: `load.toml:120:11: error: 4 channel numbers stand twice in group 1 [duplicate]`},
		{name: "site name", load: []string{"name     = \"Bellwether\"", "name     = \"Bellwther\""}, want: `plan.toml:17:11: error: slot 1: no site "Bellwether" in the load [unknown-site]`},
		{name: "tone number", load: []string{"number = 4\nhz", "number = 44\nhz"}, want: `load.toml:25:12: error: the load has no tone number 4 [unknown-tone]`},
		{name: "use", load: []string{"use     = \"tactical\"\nrx      = 154.2650", "use     = \"tctical\"\nrx      = 154.2650"}, want: `load.toml:131:11: error: use "tctical" is not a use of a channel; the closest is tactical [bad-value]`},
	} {
		found := opensTo(t, change(t, sound, c.plan...), change(t, load, c.load...))
		assert.Equal(t, c.want, strings.Join(lines(found), "\n"), c.name)
	}
}

// Ten things wrong at once, most of them showing in many places, are ten findings.
func TestTenCausesAreTenFindings(t *testing.T) {
	sound := soundPlan(t) + units(5, "Strike team 6100C", "A")
	found := opensTo(t, change(t, sound,
		"2027-08-14T18:00:00-06:00", "2027-08-15T07:00:00-06:00", // a period of 25 hours
		"prepared_at = 2027-08-13T20:30:00-06:00", "prepared_at = 2027-08-14T06:30:00-06:00",
		"channel  = \"QB TAC 1\"", "channel  = \"QB CMD 3\"\nuse = \"tactical\"",
		"channel  = \"QB TAC 2\"\ndivision = \"SP\"\n", "channel = \"QB TAC 5\"\ncarried_by = [\"A\"]\n[[slot]]\nchannel  = \"QB TAC 2\"\ndivision = \"SP\"\n",
		"[[slot]]\nchannel = \"AIRGUARD\"\n", "",
		"*\"Engine boss\" = 1", "\"Engine bos\" = 1",
		"when    = \"on the road\"", "when    = \"on the road\"\n[[accept]]\nrule = \"tactical-repeatet\"\nsubject = \"QB CMD 3\"\nbecause = \"the ridge hides it\"\nby = \"R. Okafor\"",
	), change(t, soundLoad(t),
		"name_length    = 10", "name_length    = 6",
		"[136.0, 174.0]", "[136.0, 150.0]",
		"modes          = [\"analog\"]", "modes          = [\"digital\"]",
	))
	var got []string
	for _, f := range found {
		got = append(got, f.Rule)
	}
	assert.ElementsMatch(t, []string{
		"name-too-long", "out-of-band", "mode-not-supported", "period-long", "prepared-late",
		"tactical-repeated", "position-differs", "no-guard", "unknown-position", "accept-unknown-rule",
	}, got, lines(found))
}
