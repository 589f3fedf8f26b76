package sheet_test

import (
	"fmt"
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
