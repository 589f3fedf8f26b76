package channellist_test

import (
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"slotcard/plan"
	"slotcard/plan/cells"
	"slotcard/plan/channellist"
)

// titlesOf are words that a column may stand under.
var titlesOf = map[string][]string{
	"zone":    {"Zone", "Zone Name", "Group", "Bank"},
	"number":  {"Ch", "Ch #", "Channel No.", "No", "Position", "Chan", "Ch. No"},
	"name":    {"Name", "Display", "Channel Name", "Alias", "Label", "Display Name"},
	"rx":      {"RX", "RX Freq", "Receive", "Receive Frequency", "Rx MHz", "Rx Frequency (MHz)", "RXFREQ", "Freq RX", "Mobile RX Freq"},
	"tx":      {"TX", "TX Freq", "Transmit", "Transmit Frequency", "Tx MHz", "Tx Frequency (MHz)", "TXFREQ", "Freq TX", "Mobile TX Freq"},
	"rx tone": {"RX Tone", "RX CTCSS", "Receive PL", "Rx Tone/NAC", "Decode", "CTCSS Rx", "RX Squelch", "RXTONE"},
	"tx tone": {"TX Tone", "TX CTCSS", "Transmit PL", "Tx Tone/NAC", "Encode", "CTCSS Tx", "TX Squelch", "TXTONE"},
	"width":   {"N/W", "Width", "BW", "Bandwidth", "Narrow/Wide", "N or W"},
	"remarks": {"Remarks", "Notes", "Comments", "Description"},
	"use":     {"Use", "Function", "Usage"},
	"junk":    {"Svc", "Agency", "Radio ID", "Color", "Licensee", ""},
}

// A sheet of random titles, order, dialect and dirt, made from random channels:
// each value of a channel that is found is right, or to be decided. None is wrong,
// and each row is a channel, titles, or listed.
func TestNothingIsWrong(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		columns := []string{"name", "rx", "rx tone", "tx", "tx tone"}
		for _, c := range []string{"number", "width", "remarks", "use", "junk", "junk"} {
			if rapid.Bool().Draw(rt, c) {
				columns = append(columns, c)
			}
		}
		l := layout{opts: style{
			zones:      rapid.SampledFrom([]string{"column", "heading", "numbered", "titled"}).Draw(rt, "zones"),
			blankTx:    rapid.Bool().Draw(rt, "blank"),
			csq:        rapid.SampledFrom([]string{"", "-", "CSQ", "none", "0"}).Draw(rt, "csq"),
			units:      rapid.SampledFrom([]string{"", "", "kHz", "Hz", "MHz unit", "kHz unit"}).Draw(rt, "units"),
			tonePrefix: rapid.SampledFrom([]string{"", "", "PL ", "CTCSS "}).Draw(rt, "prefix"),
			suffix:     rapid.Bool().Draw(rt, "suffix"),
			footer:     rapid.Bool().Draw(rt, "footer"),
		}}
		if l.opts.units != "" {
			l.opts.suffix = false
		}
		if l.opts.zones == "column" {
			columns = append(columns, "zone")
		}
		columns = rapid.Permutation(columns).Draw(rt, "order")
		var titles []string
		for _, c := range columns {
			titles = append(titles, rapid.SampledFrom(titlesOf[c]).Draw(rt, "title"))
		}
		l.columns, l.titles = columns, [][]string{titles}
		all := invented(rand.New(rand.NewPCG(rapid.Uint64().Draw(rt, "seed"), 1)), rapid.IntRange(1, 3).Draw(rt, "zones"))
		names, rows := l.sheets(all)
		dirty := map[int]bool{}
		for i, row := range rows[names[0]] { // a digit that became a letter, an empty cell
			if len(row) < len(columns) || slices.Equal(row, titles) || !rapid.Bool().Draw(rt, "dirty") || rapid.IntRange(0, 9).Draw(rt, "few") > 0 {
				continue
			}
			k := rapid.IntRange(0, len(columns)-1).Draw(rt, "cell")
			if columns[k] != "name" && columns[k] != "zone" && columns[k] != "number" {
				row[k] = strings.Replace(row[k], "1", "l", 1) + "?"
				dirty[i] = true
			}
		}
		book, err := cells.Read(write(t, ",.csv", names, rows, false), "list.csv")
		require.NoError(rt, err)
		list, err := channellist.Read([]channellist.Source{{Name: "list.csv", Book: book}}, channellist.Options{})
		if err != nil {
			rt.Fatalf("%s\n%v", err, rows)
		}
		neverWrong(rt, l, all, list)
		accounted(rt, l, book, list)
		d := list.TOML(channellist.Answers{})
		_, found, err := plan.ReadLoad("load.toml", plan.Options{ReadFile: func(string) ([]byte, error) { return d.TOML, nil }})
		require.NoError(rt, err)
		for _, o := range d.Open {
			pointed := o.At.Row == 0 // edition_mark: advice, from the rules
			for _, f := range found {
				pointed = pointed || f.Place.Line == o.Line
			}
			if !pointed {
				rt.Fatalf("no check points at line %d: %s\n%s", o.Line, o.What, d.TOML)
			}
		}
	})
}

// neverWrong holds what was found against what the sheet was made from.
func neverWrong(rt *rapid.T, l layout, all []known, list *channellist.List) {
	byName := map[string]known{}
	for _, k := range all {
		byName[k.name] = k
	}
	for _, g := range list.Groups {
		for _, c := range g.Channels {
			k, ok := byName[c.Name]
			if !ok {
				rt.Fatalf("%q is no name; columns %v %v", c.Name, l.titles, list.Tables)
			}
			delete(byName, c.Name)
			wrong := func(key string, same bool, got, want any) {
				open := slices.ContainsFunc(c.Open, func(o channellist.Open) bool { return o.Key == key })
				if !same && !open {
					rt.Fatalf("%s of %s is %v, not %v; titles %q, %v", key, c.Name, got, want, l.titles, list.Tables)
				}
			}
			unread := slices.ContainsFunc(c.Open, func(o channellist.Open) bool { return o.Key == "rx" || o.Key == "tx" })
			wrong("rx", c.Rx == k.rx, c.Rx, k.rx)
			wrong("tx", c.Tx == k.tx || c.ReceiveOnly || unread, c.Tx, k.tx)
			wrong("rx_tone", c.RxTone == k.rxTone, c.RxTone, k.rxTone)
			wrong("tx_tone", c.TxTone == k.txTone, c.TxTone, k.txTone)
			wrong("use", c.Use == k.use, c.Use, k.use)
			wrong("width", c.Width == k.width || unread && l.opts.suffix || !slices.Contains(l.columns, "width") && !l.opts.suffix, c.Width, k.width)
			if slices.Contains(l.columns, "number") {
				wrong("number", c.Number == k.number, c.Number, k.number)
			}
			wrong("group", g.Name == k.zoneName, g.Name, k.zoneName)
		}
	}
	for name := range byName {
		rt.Fatalf("%s is lost; titles %q, not read %v, %v", name, l.titles, list.NotRead, list.Tables)
	}
}

// accounted tells that each row of the sheet is a channel, titles, the heading of a
// group, or listed as not read.
func accounted(rt *rapid.T, l layout, book *cells.Book, list *channellist.List) {
	rows := map[int]bool{}
	for _, n := range list.NotRead {
		rows[n.At.Row] = true
	}
	for _, g := range list.Groups {
		for _, c := range g.Channels {
			rows[c.At.Row] = true
		}
	}
	for _, s := range book.Sheets {
		for _, r := range s.Rows {
			var texts []string
			for _, c := range r.Cells {
				texts = append(texts, c.Text)
			}
			line := strings.Join(texts, "")
			named := slices.ContainsFunc(list.Groups, func(g *channellist.Group) bool { return strings.Contains(line, g.Name) })
			if !rows[r.Number] && !named && line != strings.Join(l.titles[0], "") {
				rt.Fatalf("row %d %q is lost", r.Number, texts)
			}
		}
	}
}

// FuzzRead feeds any text. Nothing may panic, and what comes out is TOML that the
// reader of loads understands line by line.
func FuzzRead(f *testing.F) {
	f.Add([]byte("Zone,Ch,Name,RX,TX,TX Tone\n1 Local,1,QB CMD 1,152.4125,157.6725,SITE\n"), "a.csv")
	f.Add([]byte("Site,Tone,Lat,Long,Elev,Channels\nA,5,44 30 N,114 W,8200',X 1-3\n\nTone,Hz\n1,103.5\n"), "a.csv")
	f.Add([]byte("1 QB CMD 1 152.4125 103.5 157.6725 146.2\n2 QB TAC 1 153.7400 CSQ\n"), "a.txt")
	f.Fuzz(func(t *testing.T, data []byte, name string) {
		book, err := cells.Read(data, name)
		if err != nil {
			return
		}
		list, err := channellist.Read([]channellist.Source{{Name: name, Book: book}}, channellist.Options{})
		if err != nil {
			return
		}
		d := list.TOML(channellist.Answers{})
		l, found, err := plan.ReadLoad("load.toml", plan.Options{ReadFile: func(string) ([]byte, error) { return d.TOML, nil }})
		require.NoError(t, err)
		for _, f := range found {
			require.NotEqual(t, "syntax", f.Rule, "%s\n%s", f, d.TOML)
		}
		if l != nil {
			list.Against(l)
			list.Since(l)
		}
	})
}
