package sheet_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"

	"slotcard/plan/sheet"
)

// Block 3 and its neighbors as people fill them in: what the draft makes of them.
// "?" is left to decide.
func TestHeads(t *testing.T) {
	const table = "\nChannel Name,RX Freq,TX Tone\nVFIRE21,154.28,156.7\n"
	for _, c := range []struct{ head, period, from, to string }{
		{"Operational Period: 2 From: 08/14/2027 0600 To: 08/15/2027 0600", "2", "2027-08-14T06:00:00-06:00", "2027-08-15T06:00:00-06:00"},
		{"Op Period: 08/14/27 0600-1800 hrs", "?", "2027-08-14T06:00:00-06:00", "2027-08-14T18:00:00-06:00"},
		{"Op Period: 08/14/27 0600-1200", "?", "2027-08-14T06:00:00-06:00", "2027-08-14T12:00:00-06:00"},
		{"3. Operational Period:,8/14/27 6:00 AM - 6:00 PM", "?", "2027-08-14T06:00:00-06:00", "2027-08-14T18:00:00-06:00"},
		{"Operational Period,3,14-Aug-2027 0600 to 15-Aug-2027 0600 MST", "3", "2027-08-14T06:00:00-07:00", "2027-08-15T06:00:00-07:00"},
		{"Operational Period #4,\"August 14, 2027 0600 to August 14, 2027 1800\"", "4", "2027-08-14T06:00:00-06:00", "2027-08-14T18:00:00-06:00"},
		{"Date From,Date To,Time From,Time To\n08/14/2027,08/15/2027,0600,0600", "?", "2027-08-14T06:00:00-06:00", "2027-08-15T06:00:00-06:00"},
		{"3. Operational Period:,,Date From:,08/14/2027,Date To:,08/15/2027\n,,Time From:,1800,Time To:,0600", "?", "2027-08-14T18:00:00-06:00", "2027-08-15T06:00:00-06:00"},
		{"Operational Period (Date/Time): 08/14/2027 0600 - 08/14/2027 1800", "?", "2027-08-14T06:00:00-06:00", "2027-08-14T18:00:00-06:00"},
		{"Operational Period: Day shift 0600 8/14 to 1800 8/14", "?", "?", "?"},
		{"Operational Period: 08/14/2027 18:00-06:00", "?", "?", "?"},
		{"Operational Period: 08/14/2027 0600 to 1800 or until relieved", "?", "2027-08-14T06:00:00-06:00", "2027-08-14T18:00:00-06:00"},
		{"Operational Period: 08/14/2027 6 AM to 6 PM", "?", "?", "?"},
		{"Operational Period: 08/14/2027 0600 to 2400", "?", "?", "?"},
		{"Incident: Thimble Gulch  Operational Period: 2", "2", "?", "?"},
	} {
		d := read(t, c.head+table).Draft(sheet.Options{LoadPath: "load.toml", Offset: "-06:00"})
		got := map[string]string{"period": "?", "from": "?", "to": "?"}
		for _, line := range strings.Split(string(d.TOML), "\n") {
			key, value, ok := strings.Cut(line, "=")
			if key = strings.TrimSpace(key); ok && got[key] != "" {
				got[key] = strings.TrimSpace(value)
			}
		}
		assert.Equal(t, []string{c.period, c.from, c.to}, []string{got["period"], got["from"], got["to"]}, "%s\n%s", c.head, d.TOML)
		if strings.Contains(c.head, "relieved") {
			assert.NotEmpty(t, d.NotRead, c.head)
		}
	}
}

// Who prepared it: with or without the titles of the form's line of signatures.
func TestPreparedBy(t *testing.T) {
	const table = "Channel Name,RX Freq,TX Tone\nVFIRE21,154.28,156.7\n"
	for foot, want := range map[string]string{
		"Prepared by: R. Okafor Signature: ______":                                         "R. Okafor",
		"6. Prepared by (Communications Unit Leader): Name: R. Okafor Signature: R. O.":    "R. Okafor",
		"Prepared by:,Name: R. Okafor,Position/Title: COML,Signature:":                     "R. Okafor, COML",
		"6. Prepared by (Communications Unit Leader),R. Okafor,Date/Time: 08/13/2027 2030": "R. Okafor",
		"Prepared By\nR. Okafor": "R. Okafor",
		"Prepared by (Communications Unit Leader): R. Okafor\nICS 205,IAP Page 3,Date/Time: 8/13": "R. Okafor",
	} {
		d := read(t, table+foot+"\n").Draft(sheet.Options{LoadPath: "load.toml", Offset: "-06:00"})
		assert.Contains(t, string(d.TOML), "\nprepared_by = \""+want+"\"\n", foot)
		assert.Equal(t, 1, d.Slots, foot)
	}
}
