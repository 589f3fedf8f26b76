package channellist_test

import (
	"bytes"
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"github.com/xuri/excelize/v2"

	"slotcard/plan/channellist"
)

// short is a list as one line a channel: group, number, name, receive and transmit
// frequency, tones, and what else is not usual.
func short(l *channellist.List) string {
	var b strings.Builder
	for _, g := range l.Groups {
		for _, c := range g.Channels {
			fmt.Fprintf(&b, "%d %s|%d %s|%s", g.Number, g.Name, c.Number, c.Name, c.Rx)
			if c.Tx != c.Rx {
				fmt.Fprintf(&b, "/%s", c.Tx)
			}
			fmt.Fprintf(&b, "|%s/%s|%s", c.RxTone, c.TxTone, c.Use)
			if c.Mode != 0 {
				fmt.Fprintf(&b, "|%s", c.Mode)
			}
			if c.Width != 0 {
				fmt.Fprintf(&b, "|%s", c.Width)
			}
			if c.ReceiveOnly {
				b.WriteString("|receive only")
			}
			if c.Talkgroup != "" {
				fmt.Fprintf(&b, "|%s/%s", c.System, c.Talkgroup)
			}
			for _, o := range c.Open {
				fmt.Fprintf(&b, "|DECIDE %s", o.Key)
			}
			b.WriteString("\n")
		}
	}
	return b.String()
}

func TestOddLists(t *testing.T) {
	for _, c := range []struct{ name, file, text, want string }{
		{"zones beside each other", "a.csv", `Zone 1 Local,,,,Zone 2 Fire,,
Ch,Name,RX,,Ch,Name,RX
1,QB TAC 1,153.7400,,1,VFIRE21,154.2800
2,QB TAC 2,153.8900,,2,VFIRE22,154.2650
`, `1 Local|1 QB TAC 1|153.7400|-/-|tactical
1 Local|2 QB TAC 2|153.8900|-/-|tactical
2 Fire|1 VFIRE21|154.2800|-/-|tactical
2 Fire|2 VFIRE22|154.2650|-/-|tactical
`},
		{"channels beside each other without a column between", "a.csv", `Zone,Ch,Name,RX,TX,TX Tone,Zone,Ch,Name,RX,TX,TX Tone
1 Local,1,QB CMD 1,152.4125,157.6725,103.5,2 Fire,1,VFIRE21,154.2800,154.2800,156.7
1 Local,2,QB TAC 2,153.8900,153.8900,,2 Fire,2,VFIRE22,154.2650,154.2650,156.7
1 Local,3,QB TAC 3,153.9800,153.9800,,,,,,,
`, `1 Local|1 QB CMD 1|152.4125/157.6725|-/103.5|command
1 Local|2 QB TAC 2|153.8900|-/-|tactical
1 Local|3 QB TAC 3|153.9800|-/-|tactical
2 Fire|1 VFIRE21|154.2800|-/156.7|tactical
2 Fire|2 VFIRE22|154.2650|-/156.7|tactical
`},
		{"three zones beside each other", "a.csv", `Zone 1,,,,Zone 2,,,,Zone 3,,
Ch,Name,RX,,Ch,Name,RX,,Ch,Name,RX
1,QB TAC 1,153.7400,,1,VFIRE21,154.2800,,1,QB TAC 8,153.9800
`, `1 Zone 1|1 QB TAC 1|153.7400|-/-|tactical
2 Zone 2|1 VFIRE21|154.2800|-/-|tactical
3 Zone 3|1 QB TAC 8|153.9800|-/-|tactical
`},
		{"an offset in place of the transmit frequency", "Local.csv", `Ch,Name,Freq,Offset,Tone
1,QB CMD 1,152.4125,+5.26,103.5
2,QB CMD 2,155.0000,-600 kHz,
3,QB CMD 3,155.1000,+,
4,QB CMD 4,155.2000,5.0,
5,QB TAC 1,153.7400,0,
6,QB TAC 2,153.8900,,
`, `1 Local|1 QB CMD 1|152.4125/157.6725|-/103.5|command
1 Local|2 QB CMD 2|155.0000/154.4000|-/-|command
1 Local|3 QB CMD 3|155.1000|-/-|command|DECIDE tx
1 Local|4 QB CMD 4|155.2000|-/-|command|DECIDE tx
1 Local|5 QB TAC 1|153.7400|-/-|tactical
1 Local|6 QB TAC 2|153.8900|-/-|tactical
`},
		{"lines that say receive and transmit", "Local.txt", `1  QB CMD 1   RX 152.4125 CSQ  TX 157.6725 PL 103.5   repeater
2  QB TAC 1   153.7400 simplex
3  QB TAC 2   153.8900 simplex PL 156.7
4  QB CMD 2   TX 158.2350 RX 152.9450
`, `1 Local|1 QB CMD 1|152.4125/157.6725|-/103.5|command
1 Local|2 QB TAC 1|153.7400|-/-|tactical
1 Local|3 QB TAC 2|153.8900|-/156.7|tactical
1 Local|4 QB CMD 2|152.9450/158.2350|-/-|command
`},
		{"a receive tone alone between the frequencies", "Local.txt", `1 QB CMD 1 152.4125 103.5 157.6725
2 QB CMD 2 152.9450 110.9 158.2350
`, `1 Local|1 QB CMD 1|152.4125/157.6725|103.5/-|command
1 Local|2 QB CMD 2|152.9450/158.2350|110.9/-|command
`},
		{"frequency and tone among the remarks", "Local.csv", `Ch,Name,Freq,Remarks
1,QB CMD 1,152.4125,"input 157.6725, PL 103.5"
2,QB TAC 1,153.7400,
`, `1 Local|1 QB CMD 1|152.4125|-/-|command|DECIDE tx|DECIDE tx_tone
1 Local|2 QB TAC 1|153.7400|-/-|tactical
`},
		{"numbers of zone and channel", "a.csv", `Ch,Name,RX
1-01,QB TAC 1,153.7400
1-02,QB TAC 2,153.8900
2-01,VFIRE21,154.2800
`, `1 Group 1|1 QB TAC 1|153.7400|-/-|tactical
1 Group 1|2 QB TAC 2|153.8900|-/-|tactical
2 Group 2|1 VFIRE21|154.2800|-/-|tactical
`},
		{"talkgroups", "Trunk.csv", `Ch,Name,System,Talkgroup,Mode
1,QB DISP,Quillback trunked,DISPATCH 1,D
2,QB SHOP,Quillback trunked,4211,D
`, `1 Trunk|1 QB DISP|0.0000|-/-|support|digital|Quillback trunked/DISPATCH 1
1 Trunk|2 QB SHOP|0.0000|-/-|support|digital|Quillback trunked/4211
`},
		{"zone only in its first row", "a.csv", `Zone,Ch,Name,RX
Local,1,QB TAC 1,153.7400
,2,QB TAC 2,153.8900
National,1,VFIRE21,154.2800
`, `1 Local|1 QB TAC 1|153.7400|-/-|tactical
1 Local|2 QB TAC 2|153.8900|-/-|tactical
2 National|1 VFIRE21|154.2800|-/-|tactical
`},
		{"zone in cells of its own", "a.csv", `Zone,1,Local,
Ch,Name,RX,TX
1,QB TAC 1,153.7400,153.7400
Zone,2,National,
1,VFIRE21,154.2800,154.2800
`, `1 Local|1 QB TAC 1|153.7400|-/-|tactical
2 National|1 VFIRE21|154.2800|-/-|tactical
`},
		{"single spaces", "Local.txt", `1 QB CMD 1 152.4125 103.5 157.6725 146.2
2 QB TAC 1 153.7400 CSQ 153.7400 CSQ
3 QB WX 162.5500 CSQ RX only
`, `1 Local|1 QB CMD 1|152.4125/157.6725|103.5/146.2|command
1 Local|2 QB TAC 1|153.7400|-/-|tactical
1 Local|3 QB WX|162.5500|-/-|support|receive only
`},
		{"titles again on each page", "a.csv", `Zone 1 Local,,,
Ch,Name,RX,TX
1,QB TAC 1,153.7400,
Page 1,,,
Ch,Name,RX,TX
2,QB TAC 2,153.8900,
Zone 2 National,,,
1,VFIRE21,154.2800,
`, `1 Local|1 QB TAC 1|153.7400|-/-|tactical
1 Local|2 QB TAC 2|153.8900|-/-|tactical
2 National|1 VFIRE21|154.2800|-/-|tactical
`},
		{"a pair in one cell", "Local.csv", `Ch,Name,Frequency,PL
1,QB CMD 1,152.4125/157.6725,146.2
2,QB TAC 1,153.74,
`, `1 Local|1 QB CMD 1|152.4125/157.6725|-/146.2|command
1 Local|2 QB TAC 1|153.7400|-/-|tactical
`},
		{"codes", "Local.csv", `Ch,Name,RX Freq,RX CTCSS/DCS/NAC,TX Freq,TX CTCSS/DCS/NAC,A/D
1,QB TAC 1,153.7400,D023N,153.7400,DPL 023,A
2,QB TAC 2,153.8900,NAC 293,153.8900,$2C4,D
3,QB TAC 3,154.9500,293,154.9500,293,D
4,QB TAC 4,154.9800,D023I,154.9800,100,A
5,QB TAC 5,155.5350,131,155.5350,PL 156.7,A
`, `1 Local|1 QB TAC 1|153.7400|D023/D023|tactical
1 Local|2 QB TAC 2|153.8900|N293/N2C4|tactical|digital
1 Local|3 QB TAC 3|154.9500|N293/N293|tactical|digital
1 Local|4 QB TAC 4|154.9800|D023I/100.0|tactical
1 Local|5 QB TAC 5|155.5350|D131/156.7|tactical
`},
		{"what the repeater does", "Local.csv", `Name,Repeater TX,Repeater RX,RX Tone,TX Tone
QB CMD 1,152.4125,157.6725,103.5,146.2
`, `1 Local|1 QB CMD 1|152.4125/157.6725|103.5/146.2|command
`},
		{"letters for receive and transmit", "Local.csv", `Ch,Name,R Freq,T Freq,R CTCSS,T CTCSS
1,QB CMD 1,152.4125,157.6725,103.5,146.2
`, `1 Local|1 QB CMD 1|152.4125/157.6725|103.5/146.2|command
`},
		{"emissions", "Local.csv", `Ch,Name,RX,TX,Emission
1,QB TAC 1,153.7400,153.7400,11K2F3E
2,QB TAC 2,153.8900,153.8900,8K10F1E
3,QB TAC 3,154.9500,154.9500,20K0F3E
`, `1 Local|1 QB TAC 1|153.7400|-/-|tactical
1 Local|2 QB TAC 2|153.8900|-/-|tactical|digital
1 Local|3 QB TAC 3|154.9500|-/-|tactical|wide
`},
		{"what cannot be read is to be decided", "Local.csv", `Ch,Name,RX,TX,TX Tone,Use
1,QB 1,153.74OO,,,work
2,QB 2,153.8900,N/A,both,
x,QB 3,,154.9500,CSQ,tactical
`, `1 Local|1 QB 1|0.0000|-/-||DECIDE rx|DECIDE use
1 Local|2 QB 2|153.8900|-/-||DECIDE tx|DECIDE tx_tone|DECIDE use
1 Local|0 QB 3|0.0000/154.9500|-/-|tactical|DECIDE number|DECIDE rx
`},
		{"use in words", "Local.csv", `Ch,Name,RX,Function
1,QB 1,153.7400,Command - primary
2,QB 2,153.8900,Air to ground
3,QB 3,154.9500,Tactical Div A
4,QB 4,154.9800,EMS
5,QB 5,155.5350,Dispatch
`, `1 Local|1 QB 1|153.7400|-/-|command
1 Local|2 QB 2|153.8900|-/-|air-to-ground
1 Local|3 QB 3|154.9500|-/-|tactical
1 Local|4 QB 4|154.9800|-/-|medical
1 Local|5 QB 5|155.5350|-/-|support
`},
		{"spare places", "Local.csv", `Ch,Name,RX,TX
1,QB TAC 1,153.7400,
2,SPARE,,
3,,,
4,QB TAC 2,153.8900,
`, `1 Local|1 QB TAC 1|153.7400|-/-|tactical
1 Local|4 QB TAC 2|153.8900|-/-|tactical
`},
		{"a column to receive only", "Local.csv", `Ch,Name,RX,TX,RX Only
1,QB TAC 1,153.7400,153.7400,No
2,QB WX,162.5500,,Yes
`, `1 Local|1 QB TAC 1|153.7400|-/-|tactical
1 Local|2 QB WX|162.5500|-/-|support|receive only
`},
		{"weather without transmit", "Local.csv", `Ch,Name,RX,TX
1,QB TAC 1,153.7400,153.7400
2,QB WX,162.5500,
`, `1 Local|1 QB TAC 1|153.7400|-/-|tactical
1 Local|2 QB WX|162.5500|-/-|support|DECIDE receive_only
`},
		{"sections that go on counting", "Local.csv", `Ch,Name,RX
Repeaters,,
1,QB 1,153.7400
Tactical channels,,
2,QB 2,153.8900
3,QB 3,154.9500
`, `1 Local|1 QB 1|153.7400|-/-||DECIDE use
1 Local|2 QB 2|153.8900|-/-|tactical
1 Local|3 QB 3|154.9500|-/-|tactical
`},
	} {
		t.Run(c.name, func(t *testing.T) {
			l, err := channellist.Read([]channellist.Source{source(t, c.file, []byte(c.text))}, channellist.Options{})
			require.NoError(t, err)
			assert.Equal(t, c.want, short(l), "%v\n%v", l.Tables, l.NotRead)
		})
	}
}

func TestSiteTables(t *testing.T) {
	channels := "Ch,Name,RX,TX,TX Tone\n1,QB CMD 1,152.4125,157.6725,SITE\n2,QB CMD 2,153.1550,158.5725,SITE\n"
	for name, c := range map[string]struct{ text, want string }{
		"feet, list":          {"Site,Tone,Latitude,Longitude,Elevation (ft),Channels\nBellwether,5,44.0,-114.0,\"8,202\",QB CMD 1; QB CMD 2\n", "Bellwether 5 44 -114 2500 [QB CMD 1 QB CMD 2] []"},
		"minutes, unit":       {"Repeater,PL,Lat,Lon,Elev,Carries\nBellwether,146.2,44 30.5 N,114 15 30 W,2500 m,QB CMD 1-2\n", "Bellwether 5 44.508333 -114.258333 2500 [QB CMD 1 QB CMD 2] []"},
		"marks":               {"Site,Access Tone,QB CMD 1,QB CMD 2\nBellwether,Tone 5,X,\nHobnail,2,,x\n", "Bellwether 5 [QB CMD 1] []\nHobnail 2 [QB CMD 2] []"},
		"what is not said":    {"Site,Tone,Latitude,Longitude,Elevation\nBellwether,5,44.0,114.0,2500\n", "Bellwether 5 44 [] [longitude elevation_m channels]"},
		"west in the title":   {"Site,Tone,Lat N,Long W,Elev m,Channels\nBellwether,5,44.0,114.0,2500,QB CMD 1\n", "Bellwether 5 44 -114 2500 [QB CMD 1] []"},
		"degrees in one cell": {"Site,Tone,Lat/Long,Feet,Channels\nBellwether,5,\"44.0, -114.0\",8202,QB CMD 1\n", "Bellwether 5 44 -114 2500 [QB CMD 1] []"},
	} {
		t.Run(name, func(t *testing.T) {
			l, err := channellist.Read([]channellist.Source{source(t, "Local.csv", []byte(channels)), source(t, "sites.csv", []byte(c.text)),
				source(t, "tones.csv", []byte("Tone No,Frequency\n2,127.3\n5,146.2\n"))}, channellist.Options{})
			require.NoError(t, err)
			require.Len(t, l.Tones, 2)
			var got []string
			for _, s := range l.Sites {
				line := fmt.Sprintf("%s %d", s.Name, s.ToneNumber)
				for _, v := range []*float64{s.Latitude, s.Longitude, s.Elevation} {
					if v != nil {
						line += fmt.Sprintf(" %v", *v)
					}
				}
				open := []string{}
				for _, o := range s.Open {
					open = append(open, o.Key)
				}
				got = append(got, fmt.Sprintf("%s %v %v", line, s.Channels, open))
			}
			assert.Equal(t, c.want, strings.Join(got, "\n"), "%v %v", l.Tables, l.NotRead)
		})
	}
}

// What the spreadsheet hides: a sheet is not read, a row is, and both are said.
func TestHidden(t *testing.T) {
	f := excelize.NewFile()
	row := func(sheet string, n int, cells ...any) {
		at := fmt.Sprintf("A%d", n)
		require.NoError(t, f.SetSheetRow(sheet, at, &cells))
	}
	require.NoError(t, f.SetSheetName("Sheet1", "Local"))
	row("Local", 1, "Ch", "Name", "RX")
	row("Local", 2, 1, "QB TAC 1", 153.74)
	row("Local", 3, 2, "QB TAC 2", 153.89)
	require.NoError(t, f.SetRowVisible("Local", 3, false))
	_, err := f.NewSheet("2026")
	require.NoError(t, err)
	row("2026", 1, "Ch", "Name", "RX")
	row("2026", 2, 1, "QB TAC 1", 154.95)
	require.NoError(t, f.SetSheetVisible("2026", false))
	var b bytes.Buffer
	require.NoError(t, f.Write(&b))
	l, err := channellist.Read([]channellist.Source{source(t, "list.xlsx", b.Bytes())}, channellist.Options{})
	require.NoError(t, err)
	assert.Equal(t, "1 Local|1 QB TAC 1|153.7400|-/-|tactical\n1 Local|2 QB TAC 2|153.8900|-/-|tactical\n", short(l))
	assert.Equal(t, []string{"sheet Local, row 3 is hidden in the spreadsheet, and was read"}, l.Notes)
	require.Len(t, l.NotRead, 1)
	assert.Equal(t, "sheet 2026, row 1", l.NotRead[0].At.String())
}

// What the columns of sites and of tones hold can be said, too, and what no such table
// has is refused. A mapping by title leaves tables of another kind alone.
func TestMappedSitesAndTones(t *testing.T) {
	sources := []channellist.Source{
		source(t, "channels.csv", []byte("Ch,Name,RX,TX\n1,QB CMD 1,152.4125,157.6725\n2,QB TAC 1,153.7400,153.7400\n")),
		source(t, "sites.csv", []byte("Name,Called,Tone,Lat,Long\nBW,Bellwether,146.2,44.0,-114.0\nTB,Thornback,162.2,44.2,-114.2\n")),
		source(t, "tones.csv", []byte("Knob,Old,Hz\n1,100.0,118.8\n2,103.5,127.3\n")),
	}
	sources[1].Role, sources[2].Role = channellist.SiteTable, channellist.ToneTable
	read := func(maps ...string) (*channellist.List, error) {
		var o channellist.Options
		for _, m := range maps {
			mapping, err := channellist.ParseMapping(m)
			require.NoError(t, err)
			o.Map = append(o.Map, mapping)
		}
		return channellist.Read(sources, o)
	}
	l, err := read()
	require.NoError(t, err)
	assert.Equal(t, "BW", l.Sites[0].Name)
	assert.Equal(t, "100.0", l.Tones[0].Value.String())

	l, err = read("Called=site_name", "Hz=tone_hz", "Name=name")
	require.NoError(t, err)
	assert.Equal(t, "Bellwether", l.Sites[0].Name)
	assert.Equal(t, "QB CMD 1", l.Groups[0].Channels[0].Name)
	assert.Equal(t, "118.8", l.Tones[0].Value.String())

	_, err = read("Called=use")
	assert.ErrorContains(t, err, `column "Called" is of a table of sites, and there it holds one of: -, channels, elevation_ft`)
	_, err = read("Knob=rx")
	assert.ErrorContains(t, err, `is of a table of tones, and there it holds one of: -, tone_hz, tone_number`)
}
