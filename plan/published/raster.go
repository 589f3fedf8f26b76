package published

import (
	"strconv"
	"sync"

	"slotcard/plan/radio"
)

// Raster is a grid of channel frequencies, Anchor being one of them, between two
// frequencies, both inclusive.
type Raster struct {
	Low, High, Step, Anchor radio.Hertz
	Service                 string
	Origin
}

var rasters = sync.OnceValue(func() (all []Raster) {
	for _, row := range rows("raster.csv") {
		step, err := strconv.ParseInt(row["step_hz"], 10, 64)
		if err != nil {
			panic(err)
		}
		all = append(all, Raster{mhz(row["low_mhz"]), mhz(row["high_mhz"]), radio.Hertz(step), mhz(row["anchor_mhz"]), row["service"], origin(row)})
	}
	return all
})

// Rasters are the grids of 150 to 174 MHz. They overlap: services share bands.
func Rasters() []Raster { return append([]Raster(nil), rasters()...) }

// floor is the highest frequency of the grid that is not above h.
func (r Raster) floor(h radio.Hertz) radio.Hertz {
	off := (h - r.Anchor) % r.Step
	if off < 0 {
		off += r.Step
	}
	return h - off
}

// OnRaster tells whether a frequency stands on a grid, which is also so outside
// of 150 to 174 MHz and on the frequencies of national interoperability
// channels. Older assignments may stand off it: a reason to look, not to reject.
func OnRaster(h radio.Hertz) bool {
	covered := false
	for _, r := range rasters() {
		if h < r.Low || h > r.High {
			continue
		}
		covered = true
		if r.floor(h) == h {
			return true
		}
	}
	return !covered || interopFrequencies()[h]
}

var interopFrequencies = sync.OnceValue(func() map[radio.Hertz]bool {
	all := map[radio.Hertz]bool{}
	for _, c := range interopChannels() {
		all[c.Rx], all[c.Tx] = true, true
	}
	return all
})

// NearestRaster are the nearest frequencies on a grid below and above h; h
// itself twice where it is on one.
func NearestRaster(h radio.Hertz) [2]radio.Hertz {
	if OnRaster(h) {
		return [2]radio.Hertz{h, h}
	}
	var near [2]radio.Hertz
	for _, r := range rasters() {
		if h < r.Low || h > r.High {
			continue
		}
		below := r.floor(h)
		if below > near[0] {
			near[0] = below
		}
		if above := below + r.Step; near[1] == 0 || above < near[1] {
			near[1] = above
		}
	}
	return near
}
