package sheet_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"slotcard/plan/sheet"
)

// Text as it is copied out of a page, a message or a mail (invented).
func TestPasted(t *testing.T) {
	l := readLoad(t, examples+"thimble-gulch/load.toml")
	for _, text := range []string{
		`Incident Name: Thimble Gulch
1 Command QB CMD 1 152.4125 N 103.5 157.6725 N 146.2 A
2 Tactical VFIRE21 Div A 154.2800 N CSQ 154.2800 N 156.7 A
3 Tactical QB TAC 2 Div B 153.7400 N CSQ 153.7400 N CSQ A
4 Guard AIRGUARD 168.6250 N CSQ 168.6250 N 110.9 A
Special Instructions: VMED28 on 155.3400 only if command is silent.
Then QB MED on 155.1600.
`,
		`hi all, tonight:
CMD: QB CMD 1, RX 152.4125 TX 157.6725 PL 146.2
Div A tac is VFIRE21 154.280
Div B: QB TAC 2
AIRGUARD 168.625 tone 110.9
thanks, R.
`,
		`Function   Channel    Assignment  RX        Tone   TX        Tone
Command    QB CMD 1               152.4125  103.5  157.6725  146.2
Tactical   VFIRE21    Div A       154.2800  CSQ    154.2800  156.7
Tactical   QB TAC 2   Div B       153.7400  CSQ    153.7400  CSQ
Guard      AIRGUARD               168.6250  CSQ    168.6250  110.9
`,
	} {
		s, err := sheet.Read([]byte(text), "-", l)
		require.NoError(t, err, text)
		d := s.Draft(settled("load.toml"))
		p, _ := drafted(t, d, l)
		var got []string
		for _, s := range p.Slots {
			ids := ""
			for _, d := range s.Users {
				ids += d.ID
			}
			got = append(got, fmt.Sprint(s.Channel.Name, " ", s.TxTone, " ", ids))
		}
		assert.Equal(t, []string{"QB CMD 1 146.2 ", "VFIRE21 156.7 A", "QB TAC 2 - B", "AIRGUARD 110.9 "}, got, "%s\n%s", text, d.TOML)
	}
}

// A message says who wrote it, and which channel not to use: neither is a period,
// nor a slot that nobody has to look at (invented).
func TestPastedMessage(t *testing.T) {
	l := readLoad(t, examples+"thimble-gulch/load.toml")
	s, err := sheet.Read([]byte(`From: Rita Okafor
To: engine bosses
Tac for Div A: VFIRE21 (154.280, tone 156.7)
Do NOT use QB TAC 2 153.7400, it belongs to the neighbors
AIRGUARD 168.625 tone 110.9
`), "-", l)
	require.NoError(t, err)
	o := settled("load.toml")
	o.From, o.To = "", ""
	d := s.Draft(o)
	text := string(d.TOML)
	assert.NotContains(t, text, "the sheet says: Rita")
	assert.Contains(t, text, "From: Rita Okafor")
	assert.Contains(t, text, "To: engine bosses")
	var asked []string
	for _, q := range d.Open {
		asked = append(asked, q.What)
	}
	assert.Contains(t, asked, "the sheet may say that it is not used: Do NOT use QB TAC 2 153.7400, it belongs to the neighbors")
	_, said := asPlan(t, d.TOML)
	assert.Contains(t, strings.Join(said, "\n"), "[slot-channel]")
}

// A table may say the same of a row, and call its assignments "Who".
func TestUnusedRow(t *testing.T) {
	d := read(t, "Channel Name;Who;RX Freq;TX Tone;Remarks\nVFIRE21;A;154.28;156.7;\nVFIRE22;B;154.265;156.7;NOT IN USE\n").Draft(settled("load.toml"))
	if assert.Len(t, d.Open, 1) {
		assert.Equal(t, "the sheet may say that it is not used: NOT IN USE", d.Open[0].What)
	}
	assert.Contains(t, string(d.TOML), `division = "A"`)
	assert.Contains(t, string(d.TOML), `division = "B"`)
}
