package plan

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"slotcard/plan/geo"
)

// Reach is how a repeater site stands to an incident, over smooth earth: terrain
// is not considered.
type Reach struct {
	Site    *Site
	Located bool     // both have coordinates: Path is known
	Path    geo.Path // from the incident to the site

	// Horizon is the radio horizon of the site and a handheld in km; 0 where the
	// site's elevation is not known. Elevation above the sea counts as height, so
	// that it is the farthest the site can see.
	Horizon float64
}

// Km is the distance in kilometres.
func (r Reach) Km() float64 { return r.Path.Metres / 1000 }

// Beyond tells that the site is certainly below the incident's horizon.
func (r Reach) Beyond() bool { return r.Located && r.Horizon > 0 && r.Km() > r.Horizon }

// String is such as "14 km north-east, inside the radio horizon"; empty where
// the distance is not known.
func (r Reach) String() string {
	if !r.Located {
		return ""
	}
	s := fmt.Sprintf("%.0f km %s", math.Round(r.Km()), r.Path.Direction())
	switch {
	case r.Horizon == 0:
	case r.Beyond():
		s += ", beyond the radio horizon"
	default:
		s += ", inside the radio horizon"
	}
	return s
}

// ReachOf weighs a site for an incident.
func ReachOf(s *Site, in *Incident) Reach {
	r := Reach{Site: s}
	if s.Elevation != nil {
		r.Horizon = geo.RadioHorizon(*s.Elevation, geo.HandheldHeight)
	}
	if s.Latitude == nil || s.Longitude == nil || in.Latitude == nil || in.Longitude == nil {
		return r
	}
	from, to := geo.Point{Latitude: *in.Latitude, Longitude: *in.Longitude}, geo.Point{Latitude: *s.Latitude, Longitude: *s.Longitude}
	if from.Valid() && to.Valid() {
		r.Located, r.Path = true, geo.Between(from, to)
	}
	return r
}

// ReachesOf weighs all sites that repeat a channel: the nearest first, those
// whose distance is not known last, in order of the load.
func (l *Load) ReachesOf(c *Channel, in *Incident) []Reach {
	var all []Reach
	for _, s := range l.SitesOf(c) {
		all = append(all, ReachOf(s, in))
	}
	slices.SortStableFunc(all, func(a, b Reach) int {
		return cmp.Or(cmp.Compare(b2i(b.Located), b2i(a.Located)), cmp.Compare(a.Path.Metres, b.Path.Metres))
	})
	return all
}

// TerrainNotConsidered is what stands beside every word about distance.
const TerrainNotConsidered = "distances and horizons are over smooth earth: terrain is not considered"
