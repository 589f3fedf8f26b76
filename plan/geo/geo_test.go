package geo

import (
	"encoding/csv"
	"math"
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// The example in the documentation of GeographicLib for Python and Java:
// Wellington to Salamanca, 19959679.267 m, azimuth 161.06766998616 degrees (from
// memory; no copy could be opened here).
func TestKarneyExample(t *testing.T) {
	p := Between(Point{-41.32, 174.81}, Point{40.96, -5.50})
	assert.InDelta(t, 19959679.267, p.Meters, 0.001)
	assert.InDelta(t, 161.06766998616, p.Bearing, 1e-10)
}

// WGS 84 by its defining constants: a = 6378137 m, 1/f = 298.257223563 (from
// memory). A degree along the equator is a pi/180. From equator to pole is
// 10001965.729 m (published quarter meridian, from memory).
func TestWellKnownDistances(t *testing.T) {
	p := Between(Point{0, 0}, Point{0, 1})
	assert.InDelta(t, 6378137*math.Pi/180, p.Meters, 1e-6)
	assert.InDelta(t, 90, p.Bearing, 1e-9)
	p = Between(Point{0, 0}, Point{90, 0})
	assert.InDelta(t, 10001965.729, p.Meters, 0.001)
	assert.InDelta(t, 0, p.Bearing, 1e-9)
	assert.Equal(t, Path{}, Between(Point{44, -114}, Point{44, -114}))
}

// A second opinion on moderate distances: the spherical law of haversines stays
// within 0.56 % of the ellipsoid, the most that its flattening can do.
func TestAgainstHaversine(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		draw := func(name string) Point {
			return Point{rapid.Float64Range(-85, 85).Draw(t, name+" lat"), rapid.Float64Range(-180, 180).Draw(t, name+" lon")}
		}
		a, b := draw("a"), draw("b")
		p := Between(a, b)
		rad := math.Pi / 180
		dLat, dLon := (b.Latitude-a.Latitude)*rad, (b.Longitude-a.Longitude)*rad
		h := math.Pow(math.Sin(dLat/2), 2) + math.Cos(a.Latitude*rad)*math.Cos(b.Latitude*rad)*math.Pow(math.Sin(dLon/2), 2)
		sphere := 2 * 6371008.8 * math.Asin(math.Min(1, math.Sqrt(h)))
		require.InDelta(t, sphere, p.Meters, sphere*0.0056+0.001)
		require.GreaterOrEqual(t, p.Bearing, 0.0)
		require.Less(t, p.Bearing, 360.0)
		require.InDelta(t, p.Meters, Between(b, a).Meters, 1e-3)
	})
}

func TestDirection(t *testing.T) {
	for bearing, want := range map[float64]string{0: "north", 22: "north", 23: "north-east", 90: "east", 135: "south-east", 180: "south", 200: "south", 225: "south-west", 270: "west", 315: "north-west", 337: "north-west", 338: "north", 359.9: "north"} {
		assert.Equal(t, want, Path{Bearing: bearing}.Direction(), bearing)
	}
}

func TestValid(t *testing.T) {
	assert.True(t, Point{90, -180}.Valid())
	assert.False(t, Point{90.1, 0}.Valid())
	assert.False(t, Point{0, 181}.Valid())
	assert.False(t, Point{math.NaN(), 0}.Valid())
}

// radio_worked.csv: 30 m and 1.5 m give 27.6 km (computed from the ITU's
// factor); the glossary's 2.23 nautical miles (read) differ by its rounding.
func TestRadioHorizon(t *testing.T) {
	row := worked(t, "radio horizon example")
	require.Equal(t, "h1 30 m, h2 1.5 m -> 27.6 km", row)
	assert.InDelta(t, 27.6, RadioHorizon(30, HandheldHeight), 0.05)

	require.Contains(t, worked(t, "radio horizon (nmi, m)"), "2.23 (sqrt ht + sqrt hr)")
	for _, h := range []float64{1, 30, 2500} {
		glossary := 2.23 * 1.852 * (math.Sqrt(h) + math.Sqrt(1.5))
		assert.InEpsilon(t, glossary, RadioHorizon(h, 1.5), 0.003)
		exact := math.Sqrt(2*4.0/3*6371e3*h)/1000 + math.Sqrt(2*4.0/3*6371e3*1.5)/1000
		assert.InEpsilon(t, exact, RadioHorizon(h, 1.5), 0.001)
	}
	assert.Equal(t, RadioHorizon(0, 1.5), RadioHorizon(-100, 1.5))
}

func worked(t *testing.T, item string) string {
	t.Helper()
	f, err := os.Open("../../testdata/radio_worked.csv")
	require.NoError(t, err)
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	require.NoError(t, err)
	for _, row := range rows {
		if row[0] == item {
			return strings.TrimSpace(row[1])
		}
	}
	t.Fatalf("no row %q", item)
	return ""
}

func BenchmarkBetween(b *testing.B) {
	for b.Loop() {
		Between(Point{44.0, -114.0}, Point{44.1, -114.1})
	}
}
