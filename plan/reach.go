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
	// elevation of site or incident is not known. What counts is how high one
	// stands above the ground at the other, not above the sea.
	Horizon float64
}

const (
	// farthest is how far in km a handheld is trusted to reach a site of which the
	// height is not known. Our choice: some 550 m above the ground around it.
	farthest = 100

	// leastHeight is how high in meters a repeater site stands above the ground
	// around it at least: it was built where it can be seen. Our choice.
	leastHeight = 100
)

// Km is the distance in kilometers.
func (r Reach) Km() float64 { return r.Path.Meters / 1000 }

// Limit is how far the site is trusted to reach, in km: its horizon, or 100 km
// where that is not known.
func (r Reach) Limit() float64 {
	if r.Horizon > 0 {
		return r.Horizon
	}
	return farthest
}

// Beyond tells that the site is known to be farther than its limit.
func (r Reach) Beyond() bool { return r.Located && r.Km() > r.Limit() }

// String is such as "14 km north-east, inside the radio horizon"; empty where
// the distance is not known.
func (r Reach) String() string {
	if !r.Located {
		return ""
	}
	s := fmt.Sprintf("%.0f km %s", math.Round(r.Km()), r.Path.Direction())
	switch {
	case r.Horizon == 0 && r.Beyond():
		s += fmt.Sprintf(", farther than %d km", farthest)
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
	if s.Elevation != nil && in.Elevation != nil {
		r.Horizon = geo.RadioHorizon(max(leastHeight, math.Abs(*s.Elevation-*in.Elevation)), geo.HandheldHeight)
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
		return cmp.Or(cmp.Compare(b2i(b.Located), b2i(a.Located)), cmp.Compare(a.Path.Meters, b.Path.Meters))
	})
	return all
}

// TerrainNotConsidered is what stands beside every word about distance.
const TerrainNotConsidered = "distances and horizons are over smooth earth: terrain is not considered"
