// Package geo answers how far away a repeater site is, in which direction, and
// whether it can be above the radio horizon. Start with [Between] and
// [RadioHorizon]. Terrain is not considered: a site inside the horizon may still
// be behind a ridge, one beyond it is out of reach.
package geo

import (
	"math"

	"github.com/tidwall/geodesic"
)

// Point is a place on the ellipsoid of WGS 84, in decimal degrees, north and
// east positive.
type Point struct{ Latitude, Longitude float64 }

// Path is the shortest way from one point to another.
type Path struct {
	Meters  float64 // along the ellipsoid
	Bearing float64 // from the first point, degrees clockwise from true north, 0 to below 360
}

// Between is the geodesic from a to b (C. F. F. Karney, Algorithms for
// geodesics, J. Geodesy 87, 2013). Both must be valid: see [Point.Valid].
func Between(a, b Point) Path {
	var meters, bearing, back float64
	geodesic.WGS84.Inverse(a.Latitude, a.Longitude, b.Latitude, b.Longitude, &meters, &bearing, &back)
	if bearing < 0 {
		bearing += 360
	}
	if meters == 0 || bearing == 360 {
		bearing = 0
	}
	return Path{meters, bearing}
}

// Valid tells whether a point lies on the earth: 90 degrees south to north,
// 180 degrees west to east.
func (p Point) Valid() bool {
	return p.Latitude >= -90 && p.Latitude <= 90 && p.Longitude >= -180 && p.Longitude <= 180
}

var directions = [...]string{"north", "north-east", "east", "south-east", "south", "south-west", "west", "north-west"}

// Direction is the bearing as one of eight points of the compass.
func (p Path) Direction() string {
	return directions[int(math.Round(p.Bearing/45))%len(directions)]
}

// HandheldHeight is the height of a handheld's antenna above ground in meters.
const HandheldHeight = 1.5

// horizonFactor is sqrt(2 x 4/3 x earth's radius) in km for heights in meters,
// as the handbooks of the ITU round it (from memory; 2.23 nautical miles in the
// ATIS Telecom Glossary, read, come to 4.13 km).
const horizonFactor = 4.12

// RadioHorizon is the distance in km at which two antennas at heights in meters
// just see each other over smooth earth, with the refraction of a standard
// atmosphere (4/3 of the earth's radius). A negative height counts as zero.
func RadioHorizon(h1, h2 float64) float64 {
	return horizonFactor * (math.Sqrt(max(0, h1)) + math.Sqrt(max(0, h2)))
}
