package rules_test

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"slotcard/plan"
	"slotcard/plan/finding"
	"slotcard/plan/rules"
)

// check checks the sound plan after replacing text in it, pairs of old and new.
func check(t testing.TB, edits ...string) (*plan.Resolved, finding.List) {
	t.Helper()
	text := soundPlan(t)
	for i := 0; i < len(edits); i += 2 {
		require.Contains(t, text, edits[i])
		text = strings.Replace(text, edits[i], edits[i+1], 1)
	}
	r, found, err := rules.Open("plan.toml", files(map[string]string{"plan.toml": text, "load.toml": soundLoad(t)}))
	require.NoError(t, err)
	require.NotNil(t, r)
	return r, found
}

func lines(found finding.List) []string {
	var out []string
	for _, f := range found {
		out = append(out, f.String())
	}
	return out
}

const accepted = `
[[accept]]
rule    = "tactical-repeated"
subject = "QB CMD 3"
because = "the ridge hides both flanks"
by      = "R. Okafor"
`

func TestAcceptLowersOneFindingToANote(t *testing.T) {
	r, found := check(t,
		`channel  = "QB TAC 2"`, "channel  = \"QB CMD 3\"\nuse      = \"tactical\"",
		"[[also]]", accepted+"[[also]]")
	require.Len(t, found, 1)
	assert.Equal(t, finding.Note, found[0].Severity)
	assert.False(t, found.HasErrors())
	assert.Equal(t, []string{"accepted by R. Okafor: the ridge hides both flanks"}, found[0].Help)
	require.Len(t, r.Exceptions, 1)
	assert.Equal(t, "R. Okafor", r.Exceptions[0].Accept.By)
	assert.Equal(t, found[0].Message, r.Exceptions[0].Message)

	again := rules.Check(r) // exceptions are filled anew, not added to
	assert.Len(t, again, 1)
	assert.Len(t, r.Exceptions, 1)
}

func TestAcceptOnlyItsOwnSubject(t *testing.T) {
	r, found := check(t,
		`channel  = "QB TAC 2"`, "channel  = \"QB ROAD\"\nuse      = \"tactical\"",
		"[[also]]", accepted+"[[also]]")
	assert.Empty(t, r.Exceptions)
	require.Len(t, found, 2)
	assert.Equal(t, "tactical-repeated", found[0].Rule)
	assert.Equal(t, finding.Error, found[0].Severity)
	assert.Equal(t, "accept-unused", found[1].Rule)
	assert.Equal(t, []string{`the rule is broken by "QB ROAD: 153.1550/141.5000": write one of these as subject, or remove it`}, found[1].Help)
}

// An acceptance answers for one thing as it stands, not for what becomes of it.
func TestAcceptNamesTheValue(t *testing.T) {
	accept := func(rule, subject string) string {
		return fmt.Sprintf("\n[[accept]]\nrule = %q\nsubject = %q\nbecause = \"no radio was changed\"\nby = \"R. Okafor\"\n[[also]]", rule, subject)
	}
	in2028 := func(from, to string) []string {
		return []string{
			"from        = 2027-08-14T06:00:00-06:00", "from        = " + from + "T06:00:00-06:00", "to          = 2027-08-14T18:00:00-06:00", "to          = " + to + "T18:00:00-06:00",
			"prepared_at = 2027-08-13T20:30:00-06:00", "prepared_at = " + from + "T05:00:00-06:00",
		}
	}
	repeated := []string{`channel  = "QB TAC 2"`, "channel  = \"QB ROAD\"\nuse      = \"tactical\""}
	for _, c := range []struct {
		what, rule, subject string
		edits               []string
		found               []string // severity, or the message of what is wrong with the acceptance
	}{
		{"the edition alone", "load-expired", "2027", in2028("2028-04-02", "2028-04-02"),
			[]string{"error", `"2027" does not say what is accepted of it; now that is "2027: 2028-04-02"`}},
		{"with the day", "load-expired", "2027: 2028-04-02", in2028("2028-04-02", "2028-04-02"), []string{"note"}},
		{"years later", "load-expired", "2027: 2028-04-02", in2028("2035-04-02", "2035-04-02"),
			[]string{"error", `"2027: 2028-04-02" was accepted, but now it is "2027: 2035-04-02"`}},
		{"the incident's name", "period-long", "Thimble Gulch", []string{"2027-08-14T18:00:00", "2027-08-15T06:30:00"},
			[]string{"warning", `"Thimble Gulch" does not say what is accepted of it; now that is "Thimble Gulch: 24 h 30 min"`}},
		{"with the length", "period-long", "Thimble Gulch: 24 h 30 min", []string{"2027-08-14T18:00:00", "2027-08-15T06:30:00"}, []string{"note"}},
		{"a channel, as plans have it", "tactical-repeated", "QB ROAD", repeated, []string{"note"}},
		{"with its frequencies", "tactical-repeated", "QB ROAD: 153.1550/141.5000", repeated, []string{"note"}},
		{"with others", "tactical-repeated", "QB ROAD: 153.1550/141.9000", repeated,
			[]string{"error", `"QB ROAD: 153.1550/141.9000" was accepted, but now it is "QB ROAD: 153.1550/141.5000"`}},
	} {
		t.Run(c.what, func(t *testing.T) {
			r, found := check(t, append(c.edits, "[[also]]", accept(c.rule, c.subject))...)
			var got []string
			for _, f := range found {
				switch f.Rule {
				case c.rule:
					got = append(got, f.Severity.String())
					if f.Severity == finding.Note {
						assert.Equal(t, "R. Okafor", f.Data["accepted_by"])
						assert.Len(t, r.Exceptions, 1)
					} else {
						assert.Contains(t, rules.HowToAccept(f), fmt.Sprintf("subject = %q", f.Subject+": "+f.Value))
					}
				case "accept-unused":
					got = append(got, f.Message)
				}
			}
			assert.Equal(t, c.found, got, lines(found))
		})
	}
}

// A fault that hides a slot may hide just what was accepted.
func TestAcceptIsNotCalledUnusedWhileSlotsAreUnresolved(t *testing.T) {
	_, found := check(t, `channel  = "QB TAC 2"`, `channel  = "QB CMD 33"`, "[[also]]", accepted+"[[also]]")
	require.Len(t, found, 1)
	assert.Equal(t, "unknown-channel", found[0].Rule)
}

func TestWhatSeveralListsShareIsSaidOnce(t *testing.T) {
	// VFIRE21 becomes a repeated tactical that three lists hold.
	_, found := check(t,
		`channel  = "QB TAC 1"`, "channel  = \"QB CMD 3\"\nuse      = \"tactical\"",
		"division = \"SP\"\n", "division = \"SP\"\ncarried_by = [\"SP\", \"B\"]\n[[slot]]\nchannel = \"QB TAC 3\"\ncarried_by = [\"A\", \"Z\"]\n")
	assert.Equal(t, []string{
		`plan.toml:20:12: error: slot 2: tactical QB CMD 3 is repeated: transmits on 145.2375, receives on 159.7575 [tactical-repeated]`,
	}, lines(found))
}

// Each list stands on its own: the guard that one of them lacks is missed,
// although another has it.
func TestEachListStandsOnItsOwn(t *testing.T) {
	_, found := check(t,
		"division = \"SP\"\n", "division = \"SP\"\ncarried_by = [\"SP\", \"B\"]\n",
		"channel = \"AIRGUARD\"\n", "channel = \"AIRGUARD\"\ncarried_by = [\"SP\", \"B\"]\n")
	assert.Equal(t, []string{
		`plan.toml:31:1: error: the list of divisions A, Z has no guard channel [no-guard]`,
		`plan.toml:32:11: warning: QB AG 1 is slot 5 in one list, 6 in another: QB TAC 2, not carried by all, stands before it [position-differs]`,
	}, lines(found))
}

func TestSuggestionsAreLeftOutWhileThingsAreMissing(t *testing.T) {
	for _, c := range []struct{ was, is, rule string }{
		{`channel = "AIRGUARD"`, `channel = "AIRGAURD"`, "unknown-channel"},
		{`channel = "QB CMD 1"`, `channel = "QB CMD 9"`, "unknown-channel"},
		{`channel  = "VFIRE22"`, `channel  = "VFIRE29"`, "unknown-channel"},
		{`channel = "QB AG 1"`, `channel = 7`, "wrong-type"},
		{`channel = "QB TRAV 27"`, `channel = "QB TRAV 26"`, "unknown-channel"},
	} {
		_, found := check(t, c.was, c.is)
		if assert.Len(t, found, 1, "%s: %s", c.is, lines(found)) {
			assert.Equal(t, c.rule, found[0].Rule)
		}
	}
}

func TestValidityOfTheLoadByDay(t *testing.T) {
	for _, c := range []struct {
		from, to string
		want     []string
	}{
		{"2027-03-01T00:00:00-06:00", "2027-03-01T12:00:00-06:00", nil},
		{"2027-02-28T23:59:00-06:00", "2027-03-01T11:00:00-06:00", []string{"load-not-effective"}},
		{"2028-03-31T12:00:00-06:00", "2028-04-01T00:00:00-06:00", nil}, // ends with the last day
		{"2028-03-31T12:00:00-06:00", "2028-04-01T00:00:01-06:00", []string{"load-expired"}},
	} {
		_, found := check(t,
			"from        = 2027-08-14T06:00:00-06:00", "from        = "+c.from,
			"to          = 2027-08-14T18:00:00-06:00", "to          = "+c.to,
			"prepared_at = 2027-08-13T20:30:00-06:00", "prepared_at = "+c.from)
		var got []string
		for _, f := range found {
			got = append(got, f.Rule)
		}
		assert.Equal(t, c.want, got, "%s to %s", c.from, c.to)
	}
}

func TestChannelTwiceUnderAnotherName(t *testing.T) {
	load := strings.Replace(soundLoad(t), `name    = "QB TAC 3"`, `name    = "QB TAC 2B"`, 1)
	load = strings.Replace(load, "rx      = 156.5100", "rx      = 154.9275", 1)
	text := strings.Replace(soundPlan(t), `channel  = "VFIRE22"`, `channel  = "QB TAC 2B"`, 1)
	_, found, err := rules.Open("plan.toml", files(map[string]string{"plan.toml": text, "load.toml": load}))
	require.NoError(t, err)
	assert.Equal(t, []string{
		`load.toml:75:11: warning: 1-06 QB TAC 2 and 1-07 QB TAC 2B are one channel under two names [channel-two-names]`,
		`plan.toml:28:12: error: slot 5: QB TAC 2 programs the same as QB TAC 2B in slot 3 [channel-twice]`,
	}, lines(found))
	require.Len(t, found, 2)
	assert.Equal(t, 22, found[1].Related[0].Place.Line)
}

func TestTwoSitesWithOneToneAreBothKeyed(t *testing.T) {
	load := strings.Replace(soundLoad(t), "name     = \"Hobnail\"\ntone     = 7\nchannels = [\"QB CMD 2\"]",
		"name     = \"Hobnail\"\ntone     = 4\nchannels = [\"QB CMD 1\", \"QB CMD 2\"]", 1)
	text := strings.Replace(soundPlan(t), `site    = "Bellwether"`, "tone    = 4", 1)
	r, found, err := rules.Open("plan.toml", files(map[string]string{"plan.toml": text, "load.toml": load}))
	require.NoError(t, err)
	assert.Equal(t, []string{
		`plan.toml:16:11: warning: slot 1: QB CMD 1 with 146.2 Hz keys Bellwether and Hobnail at once [site-tone-shared]`,
	}, lines(found))
	assert.Nil(t, r.Slots[0].Repeater)
	assert.Equal(t, 4, r.Slots[0].ToneNumber)
}

// Common practice, no source: a site's tone opens its analog channels; digital
// ones at the same site have a network access code.
func TestNetworkAccessCodeAtASiteWithATone(t *testing.T) {
	const analog = "    = 139.3000\nrx_tone = 103.5\ntx_tone = \"site\"\n"
	load := strings.Replace(soundLoad(t), `modes          = ["analog"]`, `modes          = ["analog", "digital"]`, 1)
	load = strings.Replace(load, "tx  "+analog, "tx      = 139.3000\nrx_tone = \"N293\"\ntx_tone = \"N293\"\nmode    = \"digital\"\n", 1)
	require.Contains(t, load, "N293")
	_, found, err := rules.OpenLoad("load.toml", files(map[string]string{"load.toml": load}))
	require.NoError(t, err)
	assert.Empty(t, lines(found))
}

func TestHelpNamesEachFreeTacticalOnce(t *testing.T) {
	_, found := check(t, "channel  = \"QB TAC 1\"\ndivision = \"A\"", `channel  = "QB TAC 1"`,
		"channel  = \"VFIRE22\"\ndivision = \"B\"", `channel  = "VFIRE22"`)
	var help []string
	for _, f := range found {
		if f.Rule == "division-without-tactical" {
			help = append(help, f.Help[0])
		}
	}
	assert.Equal(t, []string{
		`write division = "A" in the [[slot]] of QB TAC 1, which no division works on`,
		`write division = "B" in the [[slot]] of VFIRE22, which no division works on`,
	}, help)
}

// Followed step by step, the help about positions leaves none that differs:
// whatever the order of what divisions carry.
func TestFollowingPositionDiffers(t *testing.T) {
	const head = "division = \"SP\"\n"
	slot := func(name, carried string) string {
		if carried == "" {
			return fmt.Sprintf("[[slot]]\nchannel = %q\n", name)
		}
		return fmt.Sprintf("[[slot]]\nchannel = %q\ncarried_by = [%s]\n", name, carried)
	}
	for _, entries := range [][]string{
		{slot("QB TAC 3", `"A"`), slot("QB TAC 5", ""), slot("QB AG 1", "")},
		{slot("QB TAC 3", `"A"`), slot("QB TAC 5", `"A", "B"`), slot("QB AG 1", "")},
		{slot("QB TAC 3", `"A"`), slot("QB AG 1", ""), slot("QB TAC 5", `"A", "B"`)},
		{slot("QB TAC 3", `"A"`), slot("QB TAC 5", `"B"`), slot("QB AG 1", "")},
		{slot("QB TAC 3", `"A"`), slot("QB TAC 5", `"B"`), slot("VFIRE21", `"A"`), slot("QB AG 1", "")},
		{slot("QB AG 1", ""), slot("QB TAC 3", `"A"`), slot("QB TAC 5", `"A", "B"`)},
	} {
		about := func() (out finding.List) {
			_, found := check(t, "[[slot]]\nchannel = \"QB AG 1\"\n", "", head, head+strings.Join(entries, ""))
			for _, f := range found {
				if f.Rule == "position-differs" {
					out = append(out, f)
				}
			}
			return out
		}
		found := about()
		require.Len(t, found, 1, entries)
		text := strings.Replace(strings.Replace(soundPlan(t), "[[slot]]\nchannel = \"QB AG 1\"\n", "", 1), head, head+strings.Join(entries, ""), 1)
		in := files(map[string]string{"plan.toml": text, "load.toml": soundLoad(t)})
		_, all, err := rules.Open("plan.toml", in)
		require.NoError(t, err)
		i := slices.IndexFunc(all, func(f finding.Finding) bool { return f.Rule == "position-differs" })
		require.GreaterOrEqual(t, i, 0)
		require.Len(t, all[i].Edits, 1, "%v %v", entries, all[i].Help)
		holdsPromise(t, in, "plan.toml", all, all[i], all[i].Edits[0])
		require.Len(t, found[0].Help, 1)
		for _, step := range strings.Split(found[0].Help[0], "; then ") {
			name, rest, _ := strings.Cut(strings.TrimPrefix(step, "put the [[slot]] of "), " right ")
			side, other, _ := strings.Cut(rest, " that of ")
			at := func(name string) int {
				return slices.IndexFunc(entries, func(e string) bool { return strings.Contains(e, strconv.Quote(name)) })
			}
			from := at(name)
			require.GreaterOrEqual(t, from, 0, step)
			moved := entries[from]
			entries = slices.Delete(entries, from, from+1)
			to := at(other) // what stands before all of these, or guard behind them, is not among them
			switch {
			case to < 0 && side == "before":
				to = len(entries)
			case side == "after":
				to++
			}
			entries = slices.Insert(entries, to, moved)
		}
		assert.Empty(t, about(), entries)
	}
}

// One pair of command frequencies that opens two sites is a normal list.
func TestOneCommandPairAtTwoSites(t *testing.T) {
	load := strings.Replace(soundLoad(t), `channels = ["QB CMD 2"]`, `channels = ["QB CMD 2", "QB CMD 1"]`, 1)
	text := strings.Replace(soundPlan(t), `site    = "Bellwether"`, "site = \"Bellwether\"\n[[slot]]\nchannel = \"QB CMD 1\"\nsite = \"Hobnail\"", 1)
	text = strings.Replace(text, "[[slot]]\nchannel  = \"QB TAC 2\"\ndivision = \"SP\"\n", "", 1)
	_, found, err := rules.Open("plan.toml", files(map[string]string{"plan.toml": text, "load.toml": load}))
	require.NoError(t, err)
	for _, f := range found {
		assert.Equal(t, "group-without-slot", f.Rule, f)
	}
	text = strings.Replace(text, `site = "Hobnail"`, `site = "Bellwether"`, 1)
	_, found, err = rules.Open("plan.toml", files(map[string]string{"plan.toml": text, "load.toml": load}))
	require.NoError(t, err)
	assert.Contains(t, lines(found), "plan.toml:19:11: error: slot 2: QB CMD 1 stands in slot 1 already [channel-twice]")
}

// A load answers for its findings once, a station file for those of its plans.
func TestAcceptInLoadAndStation(t *testing.T) {
	wide := strings.Replace(soundLoad(t), `name    = "QB TAC 2"`, "name    = \"QB TAC 2\"\nwidth = \"wide\"", 1)
	accepted := wide + "\n[[accept]]\nrule = \"wideband\"\nsubject = \"QB TAC 2\"\nbecause = \"waiver\"\nby = \"R. Okafor\"\n"
	open := func(load string) (*plan.Resolved, []string) {
		r, found, err := rules.Open("plan.toml", files(map[string]string{"plan.toml": soundPlan(t), "load.toml": load}))
		require.NoError(t, err)
		return r, lines(found)
	}
	_, found := open(wide)
	require.Len(t, found, 1)
	assert.Contains(t, found[0], "[wideband]")
	r, found := open(accepted)
	require.Len(t, found, 1)
	assert.Contains(t, found[0], ": note: ")
	require.Len(t, r.Exceptions, 1, "the plan uses the channel: the sheet says who answers")

	_, of, err := rules.OpenLoad("load.toml", files(map[string]string{"load.toml": accepted}))
	require.NoError(t, err)
	require.Len(t, of, 1)
	assert.Equal(t, finding.Note, of[0].Severity)

	stale := soundLoad(t) + "\n[[accept]]\nrule = \"wideband\"\nsubject = \"QB TAC 2\"\nbecause = \"waiver\"\nby = \"R. Okafor\"\n"
	_, found = open(stale)
	assert.Empty(t, found, "for a plan it is no fault")
	_, of, err = rules.OpenLoad("load.toml", files(map[string]string{"load.toml": stale}))
	require.NoError(t, err)
	require.Len(t, of, 1)
	assert.Equal(t, "accept-unused", of[0].Rule)

	plans := soundLoad(t) + "\n[[accept]]\nrule = \"tactical-repeated\"\nsubject = \"QB TAC 2\"\nbecause = \"waiver\"\nby = \"R. Okafor\"\n"
	_, found = open(plans)
	require.Len(t, found, 1)
	assert.Contains(t, found[0], "tactical-repeated is a rule for plans, which a load cannot answer for [accept-not-possible]")

	station := strings.Replace(stale[strings.Index(stale, "[[accept]]"):], "QB TAC 2", "QB TAC 7", 1)
	_, ok, err := rules.Open("plan.toml", files(map[string]string{
		"plan.toml": "base = \"station.toml\"\n" + soundPlan(t), "load.toml": wide, "station.toml": strings.Replace(station, "QB TAC 7", "QB TAC 2", 1) + station}))
	require.NoError(t, err)
	require.Len(t, lines(ok), 1)
	assert.Contains(t, lines(ok)[0], ": note: ")
}
