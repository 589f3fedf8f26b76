package rules

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"slotcard/plan/finding"
)

// What an [[accept]] answers for is one thing as it stands: "2027: 2028-04-02" is the
// load of 2027 used until that day, and not whenever. The value behind the subject
// comes from the facts of the finding.
//
// Where the subject is the name of the thing, a channel or a seat, an [[accept]] may
// leave the value out, and then answers for any: plans have been written so. Where it
// is no more than an edition or the incident's name, it may not: see byValue.

// byValue are the rules whose subject says nothing without its value.
var byValue = map[string]bool{
	"load-expired": true, "load-not-effective": true,
	"period-long": true, "period-short": true, "prepared-late": true, "prepared-early": true, "offsets-differ": true,
	"aircraft-unheard": true, "command-unheard": true, "no-divisions": true, "no-travel": true, "placeholder": true,
	"few-tacticals": true, "desense": true, "intermodulation": true,
}

// values give the value of a finding out of its facts.
var values = map[string]func(facts) string{
	"load-expired":       fact("last_day"),
	"load-not-effective": fact("first_day"),
	"period-long":        func(d facts) string { return hours(minutesOf(d)) },
	"period-short":       func(d facts) string { return hours(minutesOf(d)) },
	"prepared-late":      fact("prepared_at"),
	"prepared-early":     fact("prepared_at"),
	"offsets-differ":     fact("from", "to"),
	"aircraft-unheard":   fact("channel"),
	"command-unheard":    fact("channel"),
	"no-divisions":       func(d facts) string { return plural(whole(d["tacticals"]), "tactical", "tacticals") },
	"no-travel":          fact("teams"),
	"placeholder":        fact("texts"),
	"few-tacticals":      func(d facts) string { return plural(whole(d["tacticals"]), "tactical", "tacticals") },
	"desense":            func(d facts) string { return each(d["pairs"], "channels") },
	"intermodulation":    func(d facts) string { return each(d["products"], "channels") },

	"tactical-repeated":         pairOf,
	"command-direct":            pairOf,
	"travel-repeated":           pairOf,
	"pair-reversed":             pairOf,
	"interop-frequency-unsure":  pairOf,
	"wideband":                  pairOf,
	"never-transmit":            pairOf,
	"off-raster":                func(d facts) string { return megahertz(d["hz"]) },
	"interop-mode":              fact("mode"),
	"interop-tone":              fact("tone"),
	"use-differs":               fact("use"),
	"air-to-ground-misused":     fact("use"),
	"site-direct-channel":       fact("site"),
	"site-tone-mismatch":        fact("site", "tx_tone"),
	"tone-without-site":         fact("tone"),
	"site-tone-shared":          fact("sites"),
	"site-beyond-horizon":       fact("site"),
	"tactical-on-repeater":      fact("command"),
	"tactical-opens-repeater":   fact("command"),
	"edition-mark-differs":      fact("edition"),
	"position-differs":          fact("positions"),
	"neighbours-share-tactical": fact("divisions"),
	"neighbour-not-carried":     fact("division", "neighbour"),
	"scan-limit":                func(d facts) string { return plural(whole(d["scanned"]), "slot", "slots") },
	"scan-none":                 fact("selector"),
	"priority-none":             fact("priority"),
	"priority-many":             fact("priority", "slots"),
}

// valueOf is what tells a finding from others with its subject; "" where nothing does.
func valueOf(f finding.Finding) string {
	if of := values[f.Rule]; of != nil && f.Data != nil {
		return of(f.Data)
	}
	return ""
}

// withValue is the subject of an [[accept]] that answers for this and nothing else.
func withValue(subject, value string) string {
	if value == "" {
		return subject
	}
	return subject + ": " + value
}

// fact is what stands under some keys, as one says it.
func fact(keys ...string) func(facts) string {
	return func(d facts) string {
		var said []string
		for _, key := range keys {
			switch v := d[key].(type) {
			case nil:
			case []string:
				said = append(said, v...)
			case []int:
				for _, n := range v {
					said = append(said, fmt.Sprint(n))
				}
			default:
				said = append(said, fmt.Sprint(v))
			}
		}
		return strings.Join(said, ", ")
	}
}

// pairOf is what a channel receives and transmits on, as far as a finding has it.
func pairOf(d facts) string {
	var said []string
	for _, key := range []string{"rx_hz", "tx_hz"} {
		if mhz := megahertz(d[key]); mhz != "" && !slices.Contains(said, mhz) {
			said = append(said, mhz)
		}
	}
	return strings.Join(said, "/")
}

// megahertz is a frequency as it is printed; "" where there is none.
func megahertz(v any) string {
	if f, ok := v.(fmt.Stringer); ok {
		return f.String()
	}
	return ""
}

// each are the names under key of several facts, three of many.
func each(v any, key string) string {
	var said []string
	all, _ := v.([]facts)
	for _, d := range all {
		names, _ := d[key].([]string)
		said = append(said, strings.Join(names, " and "))
	}
	return few(said)
}

func minutesOf(d facts) time.Duration { return time.Duration(whole(d["minutes"])) * time.Minute }

func whole(v any) int {
	n, _ := v.(int)
	return n
}
