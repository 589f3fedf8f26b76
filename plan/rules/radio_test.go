package rules_test

import (
	"fmt"
	"io/fs"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"slotcard/plan"
	"slotcard/plan/finding"
	"slotcard/plan/radio"
	"slotcard/plan/rules"
)

// radioRules are the rules of published values and radio arithmetic, about which
// the tests of this file ask.
var radioRules = map[string]bool{
	"interop-frequency": true, "interop-frequency-unsure": true, "interop-tone": true, "interop-other-name": true,
	"ctcss-unpublished": true, "dcs-unknown": true, "dcs-alias": true, "nac-reserved": true,
	"wideband": true, "off-raster": true, "overlap": true, "overlap-apart": true,
	"intermodulation": true, "repeater-input": true, "tactical-on-repeater": true, "desense": true, "site-beyond-horizon": true,
}

// loadWith is a load whose group holds the channels given, each a line of TOML
// keys joined by semicolon.
func loadWith(channels ...string) string {
	var b strings.Builder
	b.WriteString(`[load]
name = "Quillback Range cooperators"
edition = "2027"
colour = "orange"
effective = 2027-03-01
expires = 2028-03-31
[radio]
list_positions = 32
name_length = 10
bands = [[30.0, 50.0], [136.0, 174.0], [380.0, 520.0], [763.0, 870.0]]
modes = ["analog", "digital"]
[[site]]
name = "Bellwether"
tone = 146.2
latitude = 44.0
longitude = -114.0
elevation_m = 2500
channels = ["QB CMD 1"]
[[site]]
name = "Farpeak"
tone = 162.2
latitude = 47.5
longitude = -114.0
elevation_m = 900
channels = ["QB CMD 1"]
[[site]]
name = "Nowhere"
tone = 173.8
channels = ["QB CMD 1"]
[[group]]
number = 1
name = "Quillback local"
`)
	for i, c := range channels {
		fmt.Fprintf(&b, "[[group.channel]]\nnumber = %d\n%s\n", i+1, strings.ReplaceAll(c, "; ", "\n"))
	}
	return b.String()
}

// checkLoad gives what the radio rules find in a load, as "rule: message".
func checkLoad(t *testing.T, channels ...string) []string {
	t.Helper()
	_, found, err := rules.OpenLoad("load.toml", plan.Options{ReadFile: func(string) ([]byte, error) { return []byte(loadWith(channels...)), nil }})
	require.NoError(t, err)
	return said(t, found)
}

func said(t *testing.T, found finding.List) []string {
	t.Helper()
	var out []string
	for _, f := range found {
		if radioRules[f.Rule] {
			out = append(out, f.Rule+": "+f.Message)
			assert.NotEmpty(t, f.Help, f)
			assert.NotEmpty(t, f.Data, f)
		}
	}
	return out
}

const (
	command = `name = "QB CMD 1"; use = "command"; rx = 152.4125; tx = 157.6725; tx_tone = "site"`
	airway  = `name = "QB AG 1"; use = "air-to-ground"; rx = 151.8575`
	guard   = `name = "AIRGUARD"; use = "guard"; rx = 168.6250; tx_tone = 110.9`
)

// fires are the six national fire tacticals (NIFOG 2.02 through a transcription,
// secondary).
var fires = []string{
	`name = "VFIRE21"; use = "tactical"; rx = 154.2800`, `name = "VFIRE22"; use = "tactical"; rx = 154.2650`,
	`name = "VFIRE23"; use = "tactical"; rx = 154.2950`, `name = "VFIRE24"; use = "tactical"; rx = 154.2725`,
	`name = "VFIRE25"; use = "tactical"; rx = 154.2875`, `name = "VFIRE26"; use = "tactical"; rx = 154.3025`,
}

// checkPlan gives what the radio rules find in a plan of two divisions. Each slot
// is TOML keys joined by semicolon.
func checkPlan(t *testing.T, channels []string, incident string, slots ...string) finding.List {
	t.Helper()
	var b strings.Builder
	fmt.Fprintf(&b, `load = "load.toml"
[incident]
name = "Thimble Gulch"
exercise = true
period = 2
from = 2027-08-14T06:00:00-06:00
to = 2027-08-14T18:00:00-06:00
prepared_by = "R. Okafor, communications unit leader"
prepared_at = 2027-08-13T20:30:00-06:00
%s
[[division]]
id = "A"
[[division]]
id = "B"
[[division]]
id = "M"
[[division]]
id = "Z"
`, incident)
	for _, s := range slots {
		fmt.Fprintf(&b, "[[slot]]\n%s\n", strings.ReplaceAll(s, "; ", "\n"))
	}
	files := map[string]string{"plan.toml": b.String(), "load.toml": loadWith(channels...)}
	_, found, err := rules.Open("plan.toml", plan.Options{ReadFile: func(name string) ([]byte, error) {
		if text, ok := files[name]; ok {
			return []byte(text), nil
		}
		return nil, fs.ErrNotExist
	}})
	require.NoError(t, err)
	var out finding.List
	for _, f := range found {
		if radioRules[f.Rule] || f.Rule == "no-site" {
			out = append(out, f)
		}
	}
	return out
}

func slot(name, division string) string {
	s := fmt.Sprintf("channel = %q", name)
	if division != "" {
		s += fmt.Sprintf("; division = %q", division)
	}
	return s
}

func TestOverlapOfFireTacticals(t *testing.T) {
	all := append([]string{command, airway, guard}, fires...)
	list := func(a, b string) []string {
		return said(t, checkPlan(t, all, "", slot("QB CMD 1", "")+"; site = \"Bellwether\"", slot(a, "A"), slot(b, "B"), slot("QB AG 1", ""), slot("AIRGUARD", "")))
	}
	assert.Equal(t, []string{"overlap: slot 2 VFIRE21 and slot 3 VFIRE24 overlap by 3.5 kHz: division A and division B are neighbors"}, list("VFIRE21", "VFIRE24"))
	assert.Equal(t, []string{"overlap: slot 2 VFIRE21 and slot 3 VFIRE25 overlap by 3.5 kHz: division A and division B are neighbors"}, list("VFIRE21", "VFIRE25"))
	assert.Empty(t, list("VFIRE21", "VFIRE22"), "15 kHz apart, and a list of five slots")
	assert.Empty(t, list("VFIRE21", "VFIRE23"))
}

func TestOverlapSuggestsOfTheSameGroup(t *testing.T) {
	all := append([]string{command, airway, guard}, fires...)
	found := checkPlan(t, all, "", slot("QB CMD 1", "")+"; site = \"Bellwether\"", slot("VFIRE21", "A"), slot("VFIRE24", "M"), slot("QB AG 1", ""), slot("AIRGUARD", ""))
	require.Len(t, found, 1)
	f := found[0]
	assert.Equal(t, "overlap-apart", f.Rule)
	assert.Equal(t, finding.Advice, f.Severity)
	assert.Equal(t, `in slot 3 write channel = "VFIRE22" (1-05, 154.2650)`, f.Help[0])
	assert.Equal(t, "VFIRE22", f.Data["to_channel"])
	assert.Equal(t, radio.Hertz(3500), f.Data["overlap_hz"])
	assert.Len(t, f.Related, 2, "both slots with their lines")

	// Without another tactical in the load the neighbors' overlap is still
	// said, the advice about the others is not.
	few := []string{command, airway, guard, fires[0], fires[3]}
	assert.Empty(t, checkPlan(t, few, "", slot("VFIRE21", "A"), slot("VFIRE24", "M")))
	found = checkPlan(t, few, "", slot("VFIRE21", "A"), slot("VFIRE24", "B"))
	require.Len(t, found, 1)
	assert.Equal(t, "take channels at least 11 kHz apart; the load has none that fits", found[0].Help[0])
}

func TestOverlapOfSlotsForEverybody(t *testing.T) {
	channels := []string{`name = "A"; use = "support"; rx = 153.0050`, `name = "B"; use = "medical"; rx = 153.0050; tx_tone = 100.0`,
		`name = "R1"; use = "command"; rx = 154.9500; tx = 159.0000; tx_tone = 100.0`, `name = "R2"; use = "command"; rx = 155.9550; tx = 159.0075; tx_tone = 100.0`,
		`name = "D"; use = "support"; rx = 400.0000; mode = "digital"`, `name = "E"; use = "support"; rx = 400.0085; mode = "digital"`}
	assert.Equal(t, []string{"overlap: slot 1 A and slot 2 B are both on 153.0050: nothing keeps their users apart"},
		said(t, checkPlan(t, channels, "", slot("A", ""), slot("B", "")))[:1])
	assert.Contains(t, said(t, checkPlan(t, channels, "", slot("R1", ""), slot("R2", ""))),
		"overlap: slot 1 R1 and slot 2 R2 overlap by 3.5 kHz: nothing keeps their users apart", "two repeaters that listen on one another's input")
	for _, s := range said(t, checkPlan(t, channels, "", slot("D", ""), slot("E", ""))) {
		assert.NotContains(t, s, "overlap", "digital signals are 8.1 kHz wide")
	}
}

func TestIntermodulation(t *testing.T) {
	spare := `name = "QB TAC 3"; use = "tactical"; rx = 156.5100`
	all := append([]string{command, airway, guard, spare}, fires...)
	slots := []string{slot("QB CMD 1", "") + "; site = \"Bellwether\"", slot("VFIRE21", "A"), slot("VFIRE22", "B"), slot("VFIRE23", "M"), slot("QB AG 1", ""), slot("AIRGUARD", "")}
	found := checkPlan(t, all, "", slots...)
	require.Len(t, found, 1, "one finding for the list")
	f := found[0]
	assert.Equal(t, "talking on slots 2 and 4 together interferes with slot 3 VFIRE22; 1 more in the list", f.Message)
	assert.Equal(t, []string{
		"2 x slot 2 VFIRE21 - slot 4 VFIRE23 = 154.2650, in slot 3 VFIRE22",
		"2 x slot 2 VFIRE21 - slot 3 VFIRE22 = 154.2950, in slot 4 VFIRE23",
	}, f.Details)
	assert.Equal(t, `in slot 4 write channel = "QB TAC 3" (1-04, 156.5100)`, f.Help[0])
	assert.Equal(t, "Thimble Gulch", f.Subject)
	assert.Equal(t, 2, f.Data["two_signal"])
	assert.Equal(t, f.String(), checkPlan(t, all, "", slots...)[0].String(), "the same each time")

	slots[3] = slot("QB TAC 3", "M")
	assert.Empty(t, checkPlan(t, all, "", slots...), "what it suggests is sound")
}

// Three transmitters at once are rare: a hit of theirs is worth a word only on
// command, air-to-ground or guard, and like any other only if one change helps.
func TestThreeSignalHits(t *testing.T) {
	three := []string{
		`name = "T1"; use = "tactical"; rx = 151.0000`, `name = "T2"; use = "tactical"; rx = 155.0000`,
		`name = "T3"; use = "tactical"; rx = 156.5000`, `name = "T4"; use = "tactical"; rx = 149.5000`,
		`name = "C"; use = "command"; rx = 149.5000; tx = 170.0000; tx_tone = 100.0`, `name = "T5"; use = "tactical"; rx = 158.1000`,
	}
	said := func(load []string, slots ...string) (out finding.List) {
		for _, f := range checkPlan(t, load, "", slots...) {
			if f.Rule == "intermodulation" {
				out = append(out, f)
			}
		}
		return out
	}
	assert.Empty(t, said(three, slot("T1", "A"), slot("T2", "B"), slot("T3", "M"), slot("T4", "Z")), "onto a tactical")
	assert.Empty(t, said(three[:5], slot("T1", "A"), slot("T2", "B"), slot("T3", "M"), slot("C", "")), "no way out")
	slots := []string{slot("T1", "A"), slot("T2", "B"), slot("T3", "M"), slot("C", "")}
	found := said(three, slots...)
	require.Len(t, found, 1)
	assert.Equal(t, "talking on slots 1, 2 and 3 together interferes with slot 4 C", found[0].Message)
	assert.Equal(t, `in slot 3 write channel = "T5" (1-06, 158.1000)`, found[0].Help[0])
	slots[2] = slot("T5", "M")
	assert.Empty(t, said(three, slots...), "what it suggests is sound")
}

// Signals mix where they are strong together: radios of divisions that are apart
// are not in reach of one place.
func TestIntermodulationNeedsOnePlace(t *testing.T) {
	spare := `name = "QB TAC 3"; use = "tactical"; rx = 156.5100`
	all := append([]string{spare}, fires...)
	assert.Len(t, checkPlan(t, all, "", slot("VFIRE21", "B"), slot("VFIRE22", "A"), slot("VFIRE23", "M")), 1, "B is beside A and M")
	four := []string{slot("VFIRE21", "A"), slot("VFIRE22", "M"), slot("VFIRE23", "E")}
	found := checkPlan(t, all, "[[division]]\nid = \"E\"\n[[division]]\nid = \"F\"", four...)
	assert.Empty(t, found, "E, F, A, B, M, Z: no two of A, M and E are neighbors")
}

func TestNearby(t *testing.T) {
	channels := []string{command, airway, guard, fires[0],
		`name = "QB TAC 8"; use = "tactical"; rx = 157.6725`, `name = "QB TAC 9"; use = "tactical"; rx = 151.8425`,
		`name = "VCALL10"; use = "tactical"; rx = 155.7525; tx_tone = 156.7`, `name = "QB LOG"; use = "support"; rx = 151.8725`,
		`name = "QB TRAV"; use = "travel"; rx = 151.8650`, `name = "QB TAC 10"; use = "tactical"; rx = 151.8275`}
	cmd := slot("QB CMD 1", "") + "; site = \"Bellwether\""
	assert.Equal(t, []string{"tactical-on-repeater: slot 2: tactical QB TAC 8 talks into the input of command QB CMD 1"},
		said(t, checkPlan(t, channels, "", cmd, slot("QB TAC 8", "A"))))
	found := checkPlan(t, channels, "", slot("QB TAC 9", "A"), slot("QB AG 1", ""))
	assert.Equal(t, []string{"desense: slot 1 QB TAC 9 and slot 2 QB AG 1 stand 15 kHz apart: side by side one deafens the other"}, said(t, found))
	assert.Equal(t, `in slot 1 write channel = "VFIRE21" (1-04, 154.2800)`, found[0].Help[0])
	assert.Empty(t, checkPlan(t, channels, "", slot("QB TAC 10", "A"), slot("QB AG 1", "")), "30 kHz apart")
	assert.Empty(t, checkPlan(t, channels, "", slot("QB LOG", "A"), slot("QB AG 1", "")), "only a tactical is moved")
	assert.Empty(t, checkPlan(t, []string{airway, channels[5], channels[6]}, "", slot("QB TAC 9", "A"), slot("QB AG 1", "")), "a calling channel is for calling")
	assert.Empty(t, checkPlan(t, channels, "", slot("QB AG 1", ""), slot("QB TRAV", "")), "a travel channel is used elsewhere")
	assert.Empty(t, checkPlan(t, []string{airway, channels[5]}, "", slot("QB TAC 9", "A"), slot("QB AG 1", "")), "nothing to do about it")
}

func TestSiteBeyondHorizon(t *testing.T) {
	here := "latitude = 44.1\nlongitude = -114.1"
	channels := []string{command}
	at := func(site string) string { return slot("QB CMD 1", "") + fmt.Sprintf("; site = %q", site) }
	assert.Empty(t, checkPlan(t, channels, here, at("Bellwether")))
	assert.Empty(t, checkPlan(t, channels, here, at("Nowhere")), "no coordinates")
	assert.Empty(t, checkPlan(t, channels, "", at("Farpeak")), "no incident coordinates")
	// 3.4 degrees of latitude at some 111.1 km are 378 km. Without the incident's
	// elevation nobody knows how high the site stands above it.
	found := checkPlan(t, channels, here, at("Farpeak"))
	assert.Equal(t, []string{"site-beyond-horizon: slot 1 QB CMD 1: Farpeak is 378 km north, farther than 100 km"}, said(t, found))
	assert.Equal(t, []string{
		`write site = "Bellwether" (146.2, 14 km south-east)`,
		"with elevation_m or elevation_ft in [incident] the site is judged by its radio horizon",
		"distances and horizons are over smooth earth: terrain is not considered",
	}, found[0].Help)
	// 900 m above the sea, and none above the incident: 4.12 x (sqrt 100 + sqrt 1.5) = 46 km.
	// From the valley, at 200 m, 4.12 x (sqrt 700 + sqrt 1.5) = 114 km.
	for elevation, horizon := range map[string]string{"elevation_m = 900": "46 km", "elevation_m = 200": "114 km", "elevation_ft = 656.168": "114 km"} {
		found = checkPlan(t, channels, here+"\n"+elevation, at("Farpeak"))
		assert.Equal(t, []string{"site-beyond-horizon: slot 1 QB CMD 1: Farpeak is 378 km north, beyond its radio horizon of " + horizon}, said(t, found), elevation)
		assert.Equal(t, `write site = "Bellwether" (146.2, 14 km south-east, inside the radio horizon)`, found[0].Help[0])
	}
	assert.Empty(t, checkPlan(t, channels, "latitude = 44.8\nlongitude = -114.1", at("Bellwether")), "89 km: unknown heights")
}

func TestNoSiteListsSitesByDistance(t *testing.T) {
	found := checkPlan(t, []string{command}, "latitude = 44.1\nlongitude = -114.1", slot("QB CMD 1", ""))
	require.Len(t, found, 1)
	assert.Equal(t, "no-site", found[0].Rule)
	assert.Equal(t, []string{
		`write site = "Bellwether" (146.2; 14 km south-east)`,
		`write site = "Nowhere" (173.8)`,
		"distances and horizons are over smooth earth: terrain is not considered",
	}, found[0].Help, "Farpeak is beyond its radio horizon: to write it would be no help")
	found = checkPlan(t, []string{command}, "", slot("QB CMD 1", ""))
	require.Len(t, found, 1)
	assert.Equal(t, `write site = "Bellwether" (146.2)`, found[0].Help[0])
}

func TestInterop(t *testing.T) {
	for channel, want := range map[string][]string{
		`name = "VFIRE22"; use = "tactical"; rx = 154.2950`:                                                 {"interop-frequency: 1-01 VFIRE22 has 154.2950, but the national VFIRE22 is 154.2650"},
		`name = "vfire 22"; use = "tactical"; rx = 154.2950`:                                                {"interop-frequency: 1-01 vfire 22 has 154.2950, but the national VFIRE22 is 154.2650"},
		`name = "VFIRE22"; use = "tactical"; rx = 154.2650; tx_tone = 123.0`:                                {"interop-tone: 1-01 VFIRE22 transmits 123.0 Hz, but the national channel no tone or 156.7 Hz"},
		`name = "VFIRE22"; use = "tactical"; rx = 154.2650`:                                                 nil, // sources disagree
		`name = "VFIRE-22"; use = "tactical"; rx = 154.2950`:                                                {"interop-frequency: 1-01 VFIRE-22 has 154.2950, but the national VFIRE22 is 154.2650"},
		`name = "VTAC36"; use = "support"; rx = 151.1375; tx = 159.4725; tx_tone = 136.5; rx_tone = 156.7`:  nil,
		`name = "VTAC36"; use = "support"; rx = 151.1375; tx_tone = 136.5`:                                  {"interop-frequency: 1-01 VTAC36 has 151.1375, but the national VTAC36 is 151.1375/159.4725"},
		`name = "VTAC36"; use = "support"; rx = 151.1375; receive_only = true`:                              nil,
		`name = "VTAC36"; use = "support"; rx = 151.1375; tx = 159.4725`:                                    {"interop-tone: 1-01 VTAC36 transmits no tone, but the national channel 136.5 Hz"},
		`name = "VTAC36"; use = "support"; rx = 151.1375; tx = 159.4725; tx_tone = 136.5; rx_tone = 100.0`:  {"interop-tone: 1-01 VTAC36 is opened by 100.0 Hz, but the national channel no tone or 156.7 Hz"},
		`name = "UCALL40D"; use = "support"; rx = 453.2125; tx_tone = 156.7`:                                nil,
		`name = "UCALL40D"; use = "support"; rx = 453.2125; tx = 458.2125; tx_tone = 156.7`:                 {"interop-frequency: 1-01 UCALL40D has 453.2125/458.2125, but the national UCALL40D is 453.2125"},
		`name = "7TAC51D"; use = "support"; rx = 769.14375; mode = "digital"; tx_tone = "N293"`:             nil,
		`name = "7TAC51"; use = "support"; rx = 769.14375; mode = "digital"; tx_tone = "N293"`:              {"interop-frequency-unsure: 1-01 7TAC51 has 769.14375, but the national 7TAC51 is 769.14375/799.14375"},
		`name = "QB FIRE"; use = "tactical"; rx = 154.2650`:                                                 {"interop-other-name: 1-01 QB FIRE, on 154.2650, is the national channel VFIRE22"},
		`name = "QB FF"; use = "support"; rx = 168.6500`:                                                    nil, // the national name is longer than the display
		`name = "IR 1"; use = "support"; rx = 170.0125; tx = 165.2500; tx_tone = 167.9`:                     nil,
		`name = "QB IR"; use = "support"; rx = 169.5375`:                                                    {"interop-other-name: 1-01 QB IR, on 169.5375, is the national channel IR5 or NC1D"},
		`name = "VFIRE22"; use = "support"; mode = "digital"; system = "Quillback trunk"; talkgroup = "F2"`: nil,
	} {
		assert.Equal(t, want, checkLoad(t, channel), channel)
	}
}

func TestSquelchValues(t *testing.T) {
	base := `name = "QB LOG"; use = "support"; rx = 155.6100; `
	for keys, want := range map[string][]string{
		`rx_tone = 146.0`:  {"ctcss-unpublished: 1-01 QB LOG: 146.0 Hz is no published CTCSS tone; the nearest is 146.2"},
		`rx_tone = 146.2`:  nil,
		`rx_tone = 165.5`:  nil, // only in the set of 50
		`tx_tone = "D023"`: nil, `tx_tone = "D023I"`: nil, `tx_tone = "D017"`: nil,
		`tx_tone = "D006"`: nil, // only in a longer list: sources disagree
		`tx_tone = "D040"`: {"dcs-unknown: 1-01 QB LOG: D040 is no published DCS code"},
		`tx_tone = "D340"`: {"dcs-alias: 1-01 QB LOG: D340 is the code that radios and lists call D023"},
		// 340 is 023, and 023 inverted is 047.
		`tx_tone = "D340I"`: {"dcs-alias: 1-01 QB LOG: D340I is the code that radios and lists call D047"},
		`mode = "digital"; rx_tone = "NF7E"; tx_tone = "N293"`: nil,
		`mode = "digital"; tx_tone = "NF7F"`:                   {"nac-reserved: 1-01 QB LOG transmits NF7F, which stands for any code (repeater-any)"},
		`mode = "digital"; tx_tone = "NF7E"`:                   {"nac-reserved: 1-01 QB LOG transmits NF7E, which stands for any code (receive-any)"},
	} {
		assert.Equal(t, want, checkLoad(t, base+keys), keys)
	}
	assert.Equal(t, []string{"dcs-alias: 1-02 QB LOG 2: D047 is the same code as D023I of QB LOG on the same frequency"},
		checkLoad(t, base+`rx_tone = "D023I"`, `name = "QB LOG 2"; use = "support"; rx = 155.6100; rx_tone = "D047"`))
}

func TestRasterAndWidth(t *testing.T) {
	for channel, want := range map[string][]string{
		`rx = 154.2560`:                                      {"off-raster: 1-01 QB X: 154.2560 is off the channel raster"},
		`rx = 154.9500; tx = 159.0010`:                       {"off-raster: 1-01 QB X: 159.0010 is off the channel raster"},
		`rx = 154.9500; tx = 159.0010; receive_only = true`:  nil,
		`rx = 145.1230`:                                      nil, // no raster is known there
		`rx = 154.9500; width = "wide"`:                      {"wideband: 1-01 QB X is wide (16K0F3E) on 154.9500, where analog signals are narrow (11K0F3E)"},
		`rx = 469.9875; width = "wide"; mode = "mixed"`:      {"wideband: 1-01 QB X is wide (16K0F3E) on 469.9875, where analog signals are narrow (11K0F3E)"},
		`rx = 470.0125; width = "wide"`:                      nil,
		`rx = 851.0375; width = "wide"`:                      nil,
		`rx = 39.4600; width = "wide"`:                       nil, // the same table leaves 20 kHz there
		`rx = 154.9500; width = "wide"; mode = "digital"`:    nil, // one width
		`rx = 162.5500; width = "wide"; receive_only = true`: nil, // weather is broadcast wide
	} {
		assert.Equal(t, want, checkLoad(t, `name = "QB X"; use = "support"; `+channel), channel)
	}
}

// What radio arithmetic costs on a long list with a load of 200 channels.
func BenchmarkRadioRules(b *testing.B) {
	var channels []string
	for i := range 200 {
		channels = append(channels, fmt.Sprintf(`name = "T%d"; use = "tactical"; rx = %.4f`, i, 150.8150+float64(i*7)*0.0075))
	}
	var p strings.Builder
	p.WriteString("load = \"load.toml\"\n[incident]\nname = \"Thimble Gulch\"\nperiod = 2\nfrom = 2027-08-14T06:00:00-06:00\nto = 2027-08-14T18:00:00-06:00\nprepared_by = \"R. Okafor\"\nprepared_at = 2027-08-13T20:30:00-06:00\n")
	for i := range 40 {
		fmt.Fprintf(&p, "[[division]]\nid = \"D%d\"\n", i)
	}
	for i := range 16 {
		fmt.Fprintf(&p, "[[slot]]\nchannel = \"T%d\"\ndivision = \"D%d\"\n", i*i, i)
	}
	files := map[string]string{"plan.toml": p.String(), "load.toml": loadWith(channels...)}
	r, _, err := rules.Open("plan.toml", plan.Options{ReadFile: func(name string) ([]byte, error) { return []byte(files[name]), nil }})
	require.NoError(b, err)
	require.NotNil(b, r)
	b.ReportAllocs()
	for b.Loop() {
		rules.Check(r)
	}
}
