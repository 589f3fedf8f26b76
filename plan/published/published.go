// Package published holds values that standards and government publications
// fix: CTCSS tones, DCS codes, network access codes, national interoperability
// channels and the channel raster of 150 to 174 MHz. Start with [Interop] and
// [CTCSS].
//
// Each value carries its source and how it is known, because a finding has to
// say both. Where sources disagree the value is left open, and nothing is called
// wrong for it. The tables are the CSV files in data.
package published

import (
	"embed"
	"encoding/csv"
	"fmt"
	"strings"

	"slotcard/plan/radio"
)

//go:embed data/*.csv
var data embed.FS

// Origin is where a value comes from and how it is known.
type Origin struct {
	Source string
	How    string // read, secondary, computed or memory
}

// Remembered tells a value that nobody could look up: good for a warning, not
// for stopping anything.
func (o Origin) Remembered() bool { return o.How == "memory" }

// String is the source, with a word about a value from memory.
func (o Origin) String() string {
	if o.Remembered() {
		return o.Source + ", from memory"
	}
	return o.Source
}

// Ready reads all tables, so that whoever asks for a value need not wait.
func Ready() {
	interopFrequencies()
	dcsTables()
	clears()
	pairings()
	rasters()
	tones()
	networkCodes()
}

// rows reads a table of ours: a fault in it is our own bug.
func rows(name string) []map[string]string {
	f, err := data.Open("data/" + name)
	if err != nil {
		panic(err)
	}
	defer f.Close()
	all, err := csv.NewReader(f).ReadAll()
	if err != nil {
		panic(fmt.Sprintf("%s: %v", name, err))
	}
	var out []map[string]string
	for _, record := range all[1:] {
		row := map[string]string{}
		for i, key := range all[0] {
			row[key] = record[i]
		}
		out = append(out, row)
	}
	return out
}

func origin(row map[string]string) Origin { return Origin{row["source"], row["how"]} }

func mhz(s string) radio.Hertz {
	h, err := radio.ParseMHz(s)
	if err != nil {
		panic(fmt.Sprintf("%q %v", s, err))
	}
	return h
}

func squelch(s string) radio.Squelch {
	q, err := radio.ParseSquelch(s)
	if err != nil {
		panic(fmt.Sprintf("%q %v", s, err))
	}
	return q
}

// squelches reads a field of squelch values. A "?" before them says that sources
// disagree which of them it is; alone it is nil: nothing is known.
func squelches(s string) []radio.Squelch {
	var out []radio.Squelch
	for _, word := range strings.Fields(strings.TrimPrefix(s, "?")) {
		out = append(out, squelch(word))
	}
	return out
}
