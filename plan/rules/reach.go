package rules

import (
	"fmt"
	"math"

	"slotcard/plan"
	"slotcard/plan/edit"
	"slotcard/plan/finding"
)

func init() {
	register(Rule{
		ID:         "site-beyond-horizon",
		Severity:   finding.Warning,
		Statement:  "the chosen repeater site is within the radio horizon of the incident, or within 100 km where elevations are not known",
		Why:        "a handheld cannot reach a site below the horizon, and a repeater that does not answer is found out when it is needed",
		Source:     "horizon with 4/3 of the earth's radius: 4.12 km x (square root of each height in meters), ITU handbooks, from memory; terrain is not considered; 100 km is our choice",
		Bad:        "[incident]\nlatitude = 47.9\nlongitude = -114.1\n[[slot]]\nchannel = \"QB CMD 1\"\nsite = \"Bellwether\"     # 430 km away",
		Good:       "[[slot]]\nchannel = \"QB CMD 1\"\nsite = \"Thornback\"      # 29 km away",
		Fix:        "choose a nearer site of the channel, or correct the coordinates",
		Acceptable: true,
		Check:      siteBeyondHorizon,
	})
}

func siteBeyondHorizon(r *plan.Resolved, report func(finding.Finding)) {
	in := &r.Plan.Incident
	for i, s := range r.Slots {
		if s.Repeater == nil || !s.Repeated() {
			continue
		}
		reach := plan.ReachOf(s.Repeater, in)
		if !reach.Beyond() {
			continue
		}
		var help []finding.Edit
		for _, other := range r.Load.ReachesOf(s.Channel, in) {
			if other.Located && !other.Beyond() {
				title := fmt.Sprintf("write site = %q (%s, %s)", other.Site.Name, other.Site.Squelch, other)
				e := edit.In(s.Table)
				if s.Has("tone") {
					e.Delete(s.Table, "tone")
				}
				help = append(help, e.Set(s.Table, "site", other.Site.Name).Edit(title))
			}
		}
		if help == nil {
			help = []finding.Edit{words(fmt.Sprintf("no site in reach carries %s: choose another channel, or correct the coordinates", s.Channel.Name))}
		}
		far := fmt.Sprintf("beyond its radio horizon of %.0f km", reach.Horizon)
		if reach.Horizon == 0 {
			far = fmt.Sprintf("farther than %.0f km", reach.Limit())
		}
		if s.Repeater.Elevation != nil && in.Elevation == nil {
			help = append(help, words("with elevation_m or elevation_ft in [incident] the site is judged by its radio horizon"))
		}
		place := slotPlace(s)
		if s.Has("site") {
			place = s.At("site")
		}
		report(offering(finding.Finding{
			Place: place, Subject: s.Channel.Name,
			Message: fmt.Sprintf("slot %d %s: %s is %.0f km %s, %s",
				i+1, s.Channel.Name, s.Repeater.Name, reach.Km(), reach.Path.Direction(), far),
			Related: []finding.Related{related(s.Repeater.At("latitude"), "site %s", s.Repeater.Name), related(in.At("latitude"), "the incident")},
			Data: facts{
				"channel": s.Channel.Name, "site": s.Repeater.Name, "km": math.Round(reach.Km()*10) / 10,
				"bearing": math.Round(reach.Path.Bearing), "limit_km": math.Round(reach.Limit()*10) / 10,
			},
		}, append(help, words(plan.TerrainNotConsidered))...))
	}
}
