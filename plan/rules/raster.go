package rules

import (
	"fmt"
	"slices"
	"strings"

	"slotcard/plan"
	"slotcard/plan/edit"
	"slotcard/plan/finding"
	"slotcard/plan/published"
	"slotcard/plan/radio"
	"slotcard/plan/spectrum"
)

// Frequencies and widths against the rules of 150 to 174 MHz and below 470 MHz.
func init() {
	register(
		Rule{
			ID:         "wideband",
			Severity:   finding.Error,
			Statement:  "an analog channel from 136 to 470 MHz on which a radio transmits is narrow, but for maritime ones",
			Why:        "a wide signal covers the channels beside it, is against the rules since 2013, and sounds distorted in narrow receivers",
			Source:     "47 CFR 90.209(b)(5), from memory; FCC Public Notice DA 12-1914 for 150-174 and 421-470 MHz, read",
			Bad:        "rx    = 151.3475\nwidth = \"wide\"",
			Good:       "rx    = 151.3475",
			Fix:        "remove width, or write width = \"narrow\"; accept it where a service or a waiver allows wide signals",
			Acceptable: true,
			CheckLoad:  wideband,
		},
		Rule{
			ID:         "off-raster",
			Severity:   finding.Warning,
			Statement:  "a frequency from 150 to 174 MHz stands on a channel raster",
			Why:        "no channel is assigned there, so a digit is wrong; older assignments may stand off it, so it is no more than a warning",
			Source:     "47 CFR 90.20(c)(3), NTIA Manual 4.3.7 and 5.3.5, ITU Radio Regulations Appendix 18, all from memory",
			Bad:        "rx = 154.2560",
			Good:       "rx = 154.2650",
			Fix:        "compare the frequency with its source; the finding names the nearest on the raster; a load for a country with another raster has raster = \"none\" in [radio]",
			Acceptable: true,
			CheckLoad:  offRaster,
		},
	)
}

// Bounds of the rule on wide signals. Below 136 MHz the same table of 47 CFR
// 90.209 authorizes 20 kHz; in between, where no notice reaches, are government
// bands that went narrow earlier (NTIA, from memory).
const (
	narrowFrom  radio.Hertz = 136_000_000
	narrowBelow radio.Hertz = 470_000_000
)

// maritime tells a frequency of the maritime service, whose signals are wide by 47
// CFR Part 80 (80.205, from memory).
func maritime(h radio.Hertz) bool {
	return slices.ContainsFunc(published.Rasters(), func(r published.Raster) bool {
		return r.Service == "maritime" && r.Low <= h && h <= r.High && (h-r.Anchor)%r.Step == 0
	})
}

func wideband(l *plan.Load, report func(finding.Finding)) {
	for _, c := range conventional(l) {
		if c.Width != radio.Wide || c.Mode == radio.Digital || c.ReceiveOnly || c.Tx < narrowFrom || c.Tx >= narrowBelow || maritime(c.Tx) {
			continue
		}
		designator := spectrum.Emissions(radio.Analog, radio.Wide)[0]
		narrow := spectrum.Emissions(radio.Analog, radio.Narrow)[0]
		report(offering(finding.Finding{
			Place: c.At("width"), Subject: c.Name,
			Message: fmt.Sprintf("%s %s is wide (%s) on %s, where analog signals are narrow (%s)", c.Place(), c.Name, designator, c.Tx, narrow),
			Data: facts{
				"channel": c.Name, "tx_hz": c.Tx, "emission": designator,
				"bandwidth_hz": spectrum.Bandwidth(radio.Analog, radio.Wide), "rule": "47 CFR 90.209(b)(5)",
			},
		}, edit.In(c.Table).Delete(c.Table, "width").Edit("remove width from the channel: 47 CFR 90.209(b)(5) leaves 11.25 kHz since 1 January 2013")))
	}
}

func offRaster(l *plan.Load, report func(finding.Finding)) {
	if l.Radio.Raster == plan.NoRaster {
		return
	}
	inLoad := map[radio.Hertz]*plan.Channel{}
	for _, c := range conventional(l) {
		if inLoad[c.Rx] == nil {
			inLoad[c.Rx] = c
		}
	}
	judged := map[string]bool{} // by name, those between 150 and 174 MHz
	var found []finding.Finding
	for _, c := range conventional(l) {
		if p, national := published.Interop(c.Name); national && (p.Rx != c.Rx || p.Tx != c.Tx && !c.ReceiveOnly) {
			continue // interop-frequency says what is right
		}
		say := func(key string, f radio.Hertz) {
			if f >= rasterFrom && f <= rasterTo {
				judged[c.Name] = true
			}
			if published.OnRaster(f) {
				return
			}
			near := published.NearestRaster(f)
			write := func(f radio.Hertz, why string) finding.Edit {
				return edit.In(c.Table).Set(c.Table, key, f).Edit(fmt.Sprintf("write %s = %s%s", key, f, why))
			}
			help := []finding.Edit{write(near[0], ", the next below on the raster"), write(near[1], ", the next above")}
			swapped := []string{}
			for _, s := range plan.SwappedDigits(f) {
				if s < rasterFrom || s > rasterTo || !published.OnRaster(s) {
					continue
				}
				text := s.String()
				if known := published.InteropByFrequency(s, s); len(known) > 0 {
					text += " (" + known[0].Name + ")"
				} else if other := inLoad[s]; other != nil {
					text += " (" + other.Name + ")"
				}
				swapped = append(swapped, text)
				help = append(help, write(s, ", two digits swapped"+strings.TrimPrefix(text, s.String())))
			}
			found = append(found, offering(finding.Finding{
				Place: c.At(key), Subject: c.Name,
				Message: fmt.Sprintf("%s %s: %s is off the channel raster", c.Place(), c.Name, f),
				Data:    facts{"channel": c.Name, "key": key, "hz": f, "nearest_hz": near, "swapped": swapped},
			}, help...))
		}
		say("rx", c.Rx)
		if c.Tx != c.Rx && !c.ReceiveOnly {
			say("tx", c.Tx)
		}
	}
	// A digit is wrong in few channels of a load. Where a quarter of them is off
	// the raster, the load is of a land with another one.
	off := map[string]bool{}
	for _, f := range found {
		off[f.Subject] = true
	}
	if many := len(off) >= severalFaults && 4*len(off) >= len(judged); !many {
		for _, f := range found {
			report(f)
		}
		return
	}
	commonCause(found, finding.Cause{
		Name: "raster", Place: l.Radio.At(""),
		Message: fmt.Sprintf("%%d of %d channels from 150 to 174 MHz are off the channel raster", len(judged)),
		Help: []string{`if this load is for a country with another raster, write raster = "none" in [radio]`,
			"else compare the load with its source: the frequencies were copied wrong"},
	}, report)
}

// What the rule on the raster looks at.
const (
	rasterFrom radio.Hertz = 150_000_000
	rasterTo   radio.Hertz = 174_000_000
)
