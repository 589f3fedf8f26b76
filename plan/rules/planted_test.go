package rules_test

import (
	"fmt"
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"slotcard/plan/finding"
	"slotcard/plan/rules"
)

// planted are the slips that a communications unit leader has seen (common
// practice, no source), each put into the example, in which nothing is wrong; and
// the rule that must speak up, at least so gravely.
var planted = []struct {
	slip    string
	file    string   // plan or load
	all     bool     // every place, not the first alone
	changes []string // old and new in turn
	rule    string
	least   finding.Severity
}{
	{"a site that does not carry the channel", "plan", false, []string{`site    = "Bellwether"`, `site    = "Hobnail"`}, "site-not-carrying", finding.Error},
	{"the tone of another site", "plan", false, []string{`site    = "Bellwether"`, "tone    = 9"}, "tone-without-site", finding.Warning},
	{"a tone that the load has not", "plan", false, []string{`site    = "Bellwether"`, "tone    = 17"}, "unknown-tone", finding.Error},
	{"a fire out of reach of the site", "plan", false, []string{"latitude    = 44.1", "latitude    = 47.9"}, "site-beyond-horizon", finding.Warning},
	{"east for west", "plan", false, []string{"longitude   = -114.1", "longitude   = 114.1"}, "site-beyond-horizon", finding.Warning},
	{"rx and tx swapped in all places", "load", true, []string{"rx      = 152.4125\ntx      = 157.6725", "rx      = 157.6725\ntx      = 152.4125"}, "pair-reversed", finding.Warning},
	{"a division on its neighbor's tactical", "plan", false, []string{"division = \"A\"\n\n[[slot]]", "division = [\"A\", \"B\"]\n\n[[slot]]"}, "neighbours-share-tactical", finding.Error},
	{"a unit in a division that is not there", "plan", false, []string{"division = \"Z\"\nseats", "division = \"X\"\nseats"}, "unknown-division", finding.Error},
	{"two units with one name", "plan", false, []string{`"Engine 612"`, `"Engine 611"`}, "duplicate", finding.Error},
	{"two units that read alike", "plan", false, []string{`"Engine 612"`, `"Engine-611"`}, "units-alike", finding.Warning},
	{"a team written in two ways", "plan", false, []string{"team     = \"Strike team 6100C\"\ndivision = \"Z\"", "team     = \"Strike team 6l00C\"\ndivision = \"Z\""}, "units-alike", finding.Warning},
	{"two divisions of one name", "plan", false, []string{`name       = "Right flank, lower"`, `name       = "Left flank, lower"`}, "units-alike", finding.Warning},
	{"priority on guard", "plan", false, []string{"name     = \"Lookout\"\npriority = \"own\"", "name     = \"Lookout\"\npriority = \"guard\""}, "priority-guard", finding.Warning},
	{"priority on all", "plan", false, []string{"name     = \"Lookout\"\npriority = \"own\"", "name     = \"Lookout\"\npriority = \"all\""}, "priority-many", finding.Warning},
	{"an end before the start", "plan", false, []string{"to          = 2027-08-14T18", "to          = 2027-08-14T05"}, "period-reversed", finding.Error},
	{"an end of eighteen minutes", "plan", false, []string{"to          = 2027-08-14T18:00", "to          = 2027-08-14T06:18"}, "period-short", finding.Warning},
	{"two days", "plan", false, []string{"to          = 2027-08-14", "to          = 2027-08-16"}, "period-long", finding.Warning},
	{"an offset of another zone", "plan", false, []string{"18:00:00-06:00", "18:00:00-07:00"}, "offsets-differ", finding.Warning},
	{"prepared after the start", "plan", false, []string{"prepared_at = 2027-08-13", "prepared_at = 2027-08-14"}, "prepared-late", finding.Warning},
	{"prepared in another year", "plan", false, []string{"prepared_at = 2027", "prepared_at = 2026"}, "prepared-early", finding.Warning},
	{"an expired load", "load", false, []string{"expires   = 2028-03-31", "expires   = 2027-07-31"}, "load-expired", finding.Error},
	{"a load of the next season", "load", false, []string{"effective = 2027-03-01", "effective = 2027-09-01"}, "load-not-effective", finding.Error},
	{"guard off by 5 kHz", "load", true, []string{"rx      = 168.6250", "rx      = 168.6300"}, "interop-frequency", finding.Error},
	{"guard without its tone", "load", true, []string{"rx      = 168.6250\ntx_tone = 110.9", "rx      = 168.6250"}, "interop-tone", finding.Warning},
	{"a tactical on the frequency of guard, under a tone", "load", false, []string{"rx      = 153.7400", "rx      = 168.6250\ntx_tone = 100.0"}, "guard-misused", finding.Error},
	{"guard that listens for a tone", "load", true, []string{"tx_tone = 110.9", "tx_tone = 110.9\nrx_tone = 103.5"}, "direct-tones-differ", finding.Error},
	{"guard with a division", "plan", false, []string{`channel = "AIRGUARD"`, "division = \"Z\"\nchannel = \"AIRGUARD\""}, "guard-division", finding.Error},
	{"a tactical as guard", "plan", false, []string{`channel = "AIRGUARD"`, "use = \"guard\"\nchannel = \"QB TAC 5\""}, "use-differs", finding.Warning},
	{"guard before another slot", "plan", false, []string{"[[slot]]\nchannel = \"QB MED\"", "[[slot]]\nchannel = \"AIRGUARD\"\n[[slot]]\nchannel = \"QB MED\""}, "channel-twice", finding.Error},
	{"air-to-ground that listens for a tone", "load", false, []string{"rx      = 151.8575", "rx      = 151.8575\nrx_tone = 103.5\ntx_tone = 103.5"}, "air-to-ground-channel", finding.Warning},
	{"air-to-ground through a repeater", "load", false, []string{"rx      = 151.8575", "rx      = 151.8575\ntx      = 157.5500\ntx_tone = 100.0"}, "air-to-ground-channel", finding.Warning},
	{"digital air-to-ground", "load", false, []string{"rx      = 151.8575", "rx      = 151.8575\nmode = \"digital\"\nrx_tone = \"N293\"\ntx_tone = \"N293\""}, "air-to-ground-channel", finding.Warning},
	{"air-to-ground as tactical", "plan", false, []string{`channel  = "QB TAC 8"`, "channel  = \"QB AG 2\"\nuse = \"tactical\""}, "air-to-ground-misused", finding.Warning},
	{"aircraft without a channel", "plan", false, []string{"[[slot]]\nchannel = \"QB AG 1\"\n", ""}, "no-air-to-ground", finding.Error},
	{"a wide tactical", "load", false, []string{"rx      = 153.7400", "rx      = 153.7400\nwidth = \"wide\""}, "wideband", finding.Error},
	{"digital channels in analog radios", "load", false, []string{`modes          = ["analog", "digital"]`, `modes          = ["analog"]`, "rx      = 153.7400", "rx      = 153.7400\nmode = \"digital\""}, "mode-not-supported", finding.Error},
	{"a digital national tactical", "load", false, []string{"rx      = 154.2800\ntx_tone = 156.7", "rx      = 154.2800\nmode = \"digital\""}, "interop-mode", finding.Warning},
	{"an invented tone on a national tactical", "load", false, []string{"rx      = 154.2800\ntx_tone = 156.7", "rx      = 154.2800\ntx_tone = 151.4"}, "interop-tone", finding.Warning},
	{"a national channel 5 kHz off", "load", false, []string{"rx      = 154.2800", "rx      = 154.2850"}, "interop-frequency", finding.Error},
	{"no medical slot for those who scan it", "plan", false, []string{"[[slot]]\nchannel = \"QB MED\"\n", ""}, "scan-none", finding.Warning},
	{"a medical channel as tactical", "plan", false, []string{`channel  = "QB TAC 8"`, "channel  = \"VMED28\"\nuse = \"tactical\""}, "use-differs", finding.Warning},
	{"a calling channel as tactical", "plan", false, []string{`channel  = "QB TAC 8"`, "channel  = \"VCALL10\"\nuse = \"tactical\""}, "calling-misused", finding.Warning},
	{"a travel channel as tactical", "plan", false, []string{`channel  = "QB TAC 8"`, "channel  = \"QB TRAV B\"\nuse = \"tactical\""}, "use-differs", finding.Warning},
	{"a repeated travel channel", "load", false, []string{"rx      = 153.5375", "rx      = 153.5375\ntx      = 158.9775\ntx_tone = 100.0", "rx     = 153.5375", "rx     = 153.5375\ntx     = 158.9775\ntx_tone = 100.0"}, "travel-repeated", finding.Warning},
	{"no travel channel", "plan", false, []string{`channel = "QB TRAV 27"`, `channel = "QB LOG"`}, "no-travel", finding.Warning},
	{"one channel twice under [[also]]", "plan", false, []string{`channel = "QB DISP"`, `channel = "QB TRAV 27"`}, "also-twice", finding.Warning},
	{"a list longer than the radio", "load", false, []string{"list_positions = 16", "list_positions = 9"}, "list-too-long", finding.Error},
	{"a list that fills the radio", "load", false, []string{"list_positions = 16", "list_positions = 10"}, "no-empty-position", finding.Warning},
	{"names longer than the display", "load", false, []string{"name_length    = 10", "name_length    = 8"}, "name-too-long", finding.Error},
	{"divisions out of order", "plan", false, []string{`id         = "B"`, `id         = "?"`, `id         = "Y"`, `id         = "B"`, `id         = "?"`, `id         = "Y"`}, "division-order", finding.Warning},
	{"a division twice", "plan", false, []string{`id         = "B"`, `id         = "A"`}, "duplicate", finding.Error},
	{"a direct command channel", "load", true, []string{"rx      = 152.4125\ntx      = 157.6725", "rx      = 152.4125"}, "command-direct", finding.Error},
	{"command behind another slot", "plan", false, []string{"[[slot]]\nchannel = \"QB CMD 1\"", "[[slot]]\nchannel = \"QB SUP 2\"\n\n[[slot]]\nchannel = \"QB CMD 1\""}, "command-first", finding.Error},
	{"a talkgroup as tactical", "plan", false, []string{`channel  = "QB TAC 2"`, "channel  = \"QB DISP\"\nuse = \"tactical\""}, "tactical-repeated", finding.Error},
	{"a receive-only channel to talk on", "plan", false, []string{`channel  = "QB TAC 8"`, "channel  = \"QB WX\"\nuse = \"tactical\""}, "receive-only", finding.Error},
	{"tacticals that overlap", "plan", false, []string{`channel  = "QB TAC 2"`, `channel  = "VFIRE24"`}, "overlap", finding.Warning},
	{"neighbors on one frequency with two tones", "load", false, []string{"rx      = 153.7400", "rx      = 154.9500\ntx_tone = 100.0"}, "neighbours-share-tactical", finding.Error},
	{"a tactical on the output of command", "load", false, []string{"rx      = 153.7400", "rx      = 152.4125"}, "tactical-on-repeater", finding.Warning},
	{"a tactical on the input of command", "load", false, []string{"rx      = 153.7400", "rx      = 157.6725"}, "tactical-on-repeater", finding.Warning},
	{"a tactical that opens command", "load", false, []string{"rx      = 153.7400", "rx      = 157.6725\ntx_tone = 146.2"}, "tactical-opens-repeater", finding.Error},
	{"a tactical nobody hears", "load", false, []string{"rx      = 153.7400", "rx      = 153.7400\nrx_tone = 103.5\ntx_tone = 156.7"}, "direct-tones-differ", finding.Error},
	{"a code on an analog tactical", "load", false, []string{"rx      = 153.7400", "rx      = 153.7400\ntx_tone = \"N293\""}, "squelch-mode", finding.Error},
	{"a tone on a digital tactical", "load", false, []string{"rx      = 153.7400", "rx      = 153.7400\nmode = \"digital\"\ntx_tone = 156.7"}, "squelch-mode", finding.Error},
	{"a tactical on the distress channel", "load", false, []string{"rx      = 153.7400", "rx      = 156.8000"}, "never-transmit", finding.Error},
	{"a tactical on the weather channel", "load", false, []string{"rx      = 153.7400", "rx      = 162.4750"}, "never-transmit", finding.Error},
	{"a tactical off the raster", "load", false, []string{"rx      = 153.7400", "rx      = 153.7430"}, "off-raster", finding.Warning},
	{"a tactical out of band", "load", false, []string{"rx      = 153.7400", "rx      = 453.7400"}, "out-of-band", finding.Error},
	{"two sites on one tone", "load", false, []string{"name = \"Thornback\"\ntone = 2", "name = \"Thornback\"\ntone = 4"}, "site-tone-shared", finding.Warning},
	{"two numbers for one tone", "load", false, []string{"number = 7\nhz     = 162.2", "number = 7\nhz     = 146.2"}, "tones-equal", finding.Warning},
	{"a tone nobody makes", "load", false, []string{"hz     = 146.2", "hz     = 142.6"}, "ctcss-unpublished", finding.Warning},
	{"one channel under two names", "load", false, []string{"rx      = 154.9500", "rx      = 156.0300"}, "channel-two-names", finding.Warning},
	{"last year's name on the edition mark", "load", false, []string{`edition   = "2027"`, `edition   = "2028"`}, "edition-mark-differs", finding.Warning},
	{"nobody on command", "plan", true, []string{`, "command"`, "", "scan     = [\"command\"]\n", "scan     = [\"own\"]\n", `["command", `, "["}, "command-unheard", finding.Warning},
	{"nobody on air-to-ground", "plan", true, []string{`, "air-to-ground"`, ""}, "aircraft-unheard", finding.Warning},
	{"a division without anybody", "plan", true, []string{"supervisor = \"A. Brandvold\"\n", "", "division = \"Y\"\nseats", "division = \"Z\"\nseats"}, "division-empty", finding.Advice},
	{"a functional group beside nothing", "plan", false, []string{"beside     = [\"M\"]\n", ""}, "group-beside-none", finding.Warning},
	{"a unit without seats", "plan", false, []string{`seats    = { "Task force leader" = 1 }`, "seats    = { }"}, "unit-without-seats", finding.Warning},
	{"a digit too many in the seats", "plan", false, []string{`seats    = { "Task force leader" = 1 }`, `seats    = { "Task force leader" = 100 }`}, "many-seats", finding.Warning},
	{"a seat that no position explains", "plan", false, []string{`name     = "Squad boss"`, `name     = "Squad bos"`}, "unknown-position", finding.Error},
	{"a seat that scans everything", "plan", false, []string{`scan     = ["command", "medical"]`, `scan     = ["all"]`}, "scan-limit", finding.Warning},
	{"guard in some lists only", "plan", false, []string{`channel = "AIRGUARD"`, "carried_by = [\"A\", \"B\"]\nchannel = \"AIRGUARD\""}, "no-guard", finding.Error},
	{"a tactical its division does not carry", "plan", false, []string{"division = \"A\"\n\n[[slot]]", "division = \"A\"\ncarried_by = [\"B\"]\n\n[[slot]]"}, "user-not-carrying", finding.Error},
	{"a text of the example", "plan", false, []string{"R. Okafor, communications unit leader", "your name and position"}, "placeholder", finding.Warning},
	{"a text to fill in", "plan", false, []string{`prepared_by = "R. Okafor, communications unit leader"`, `prepared_by = "..."`}, "placeholder", finding.Warning},
	{"a channel in the instructions that no card has", "plan", false, []string{"Lookouts hear", "No answer: QB TAC 5. Lookouts hear"}, "instructions-channel", finding.Warning},
	{"a frequency in the instructions that no card has", "plan", false, []string{"Lookouts hear", "No answer: 155.3400. Lookouts hear"}, "instructions-channel", finding.Warning},
}

func TestPlantedFaultsAreFound(t *testing.T) {
	const folder = "../../examples/thimble-gulch/"
	sound := map[string]string{}
	for _, name := range []string{"plan", "load"} {
		text, err := os.ReadFile(folder + name + ".toml")
		require.NoError(t, err)
		sound[name] = string(text)
	}
	slips := map[string]bool{}
	for _, c := range planted {
		assert.False(t, slips[c.slip], "%s is planted twice", c.slip)
		slips[c.slip] = true
		text, times := sound[c.file], 1
		if c.all {
			times = -1
		}
		for i := 0; i < len(c.changes); i += 2 {
			text = strings.Replace(text, c.changes[i], c.changes[i+1], times)
		}
		require.NotEqual(t, sound[c.file], text, "%s: the example has changed", c.slip)
		in := map[string]string{"plan.toml": sound["plan"], "load.toml": sound["load"]}
		in[c.file+".toml"] = text
		_, found, err := rules.Open("plan.toml", files(in))
		require.NoError(t, err)
		var said strings.Builder
		caught := false
		for _, f := range found {
			fmt.Fprintln(&said, f)
			caught = caught || f.Rule == c.rule && f.Severity >= c.least
		}
		assert.True(t, caught, "%s: %s does not say so, but\n%s", c.slip, c.rule, &said)
	}
	assert.Greater(t, len(planted), 60)
}

// The air has no lists, and a tone does not part two who talk on one frequency:
// slots that no radio holds together are judged together (the contract).
func TestTheAirHasNoLists(t *testing.T) {
	const (
		first  = "channel  = \"QB TAC 1\"\ndivision = \"A\"\n"
		second = "channel  = \"VFIRE22\"\ndivision = \"B\"\n"
		mine   = "rx      = 160.5675\n" // of QB TAC 1
		other  = "rx      = 151.3475\n" // of QB TAC 5
	)
	text := soundPlan(t)
	require.Contains(t, text, first)
	require.Contains(t, text, second)
	text = strings.Replace(text, first, first+"carried_by = [\"A\"]\n", 1)
	text = strings.Replace(text, second, strings.Replace(second, "VFIRE22", "QB TAC 5", 1)+"carried_by = [\"B\"]\n", 1)
	for now, want := range map[string]string{
		"rx      = 160.5675\ntx_tone = 100.0\n": "neighbours-share-tactical: slots 2 and 3: neighbors division A and division B both work on 160.5675, QB TAC 1 and QB TAC 5",
		"rx      = 160.5600\n":                  "overlap: slot 2 QB TAC 1 and slot 3 QB TAC 5 overlap by 3.5 kHz: division A and division B are neighbors",
		"rx      = 157.6725\n":                  "tactical-on-repeater: slot 3: tactical QB TAC 5 talks into the input of command QB CMD 1",
		other:                                   "",
	} {
		load := soundLoad(t)
		require.Contains(t, load, mine)
		require.Contains(t, load, other)
		load = strings.Replace(load, other, now, 1)
		r, found, err := rules.Open("plan.toml", files(map[string]string{"plan.toml": text, "load.toml": load}))
		require.NoError(t, err)
		require.Greater(t, len(r.Lists), 1)
		var said []string
		for _, f := range found {
			switch f.Rule {
			case "neighbours-share-tactical", "overlap", "tactical-on-repeater", "repeater-input", "channel-twice":
				said = append(said, f.Rule+": "+strings.ReplaceAll(f.Message, "neighbours", "neighbors"))
			}
		}
		if want == "" {
			assert.Empty(t, said)
		} else {
			assert.Equal(t, []string{want}, said)
		}
	}
}
