package scan

import (
	"math"

	"github.com/makiuchi-d/gozxing/common"
	"github.com/makiuchi-d/gozxing/qrcode/decoder"
)

// The corner of a symbol that has no finder pattern is not told by one small
// alignment pattern, which in a photograph may be a speck: a symbol with fifteen
// slots has a dozen of them and two long timing patterns, and the grid is laid so
// that most of all of them lie right.

// leastScore is the share of known modules that lie right below which decoding
// is not tried: chance gives a half.
const leastScore = 0.7

// corners are the middles of the finder patterns, and where one would be at the
// lower right: x and y of the upper left, upper right, lower right, lower left.
type corners [8]float64

// grid is a symbol of one version laid over a picture.
type grid struct {
	plane   *plane
	size    int       // modules on a side
	known   []float64 // middles of the modules that are the same in every symbol: x, y, x, y, ...
	dark    []bool
	centers []int // of alignment patterns along a side, and of the timing patterns
	at      corners
	score   float64 // share of known modules that lie right
	buf     []float64
}

func newGrid(p *plane, version int, at corners) *grid {
	g := &grid{plane: p, size: 17 + 4*version, at: at}
	add := func(x, y int, dark bool) {
		g.known = append(g.known, float64(x)+0.5, float64(y)+0.5)
		g.dark = append(g.dark, dark)
	}
	ring := func(x, y int) int { return max(x, -x, y, -y) }
	// Timing patterns, alignment patterns and finder patterns: ISO/IEC 18004
	// (secondary); the middles of alignment patterns are the decoder's table.
	for i := 8; i < g.size-8; i++ {
		add(i, 6, i%2 == 0)
		add(6, i, i%2 == 0)
	}
	v, err := decoder.Version_GetVersionForNumber(version)
	if err != nil {
		panic("scan: " + err.Error()) // versions are 1 to 40
	}
	centers := v.GetAlignmentPatternCenters()
	g.centers = centers
	last := len(centers) - 1
	for i, cy := range centers {
		for j, cx := range centers {
			if i == 0 && (j == 0 || j == last) || i == last && j == 0 {
				continue // a finder pattern stands there
			}
			for y := -2; y <= 2; y++ {
				for x := -2; x <= 2; x++ {
					add(cx+x, cy+y, ring(x, y) != 1)
				}
			}
		}
	}
	for _, f := range [][2]int{{3, 3}, {g.size - 4, 3}, {3, g.size - 4}} {
		for y := -3; y <= 3; y++ {
			for x := -3; x <= 3; x++ {
				add(f[0]+x, f[1]+y, ring(x, y) != 2)
			}
		}
	}
	g.buf = make([]float64, len(g.known))
	return g
}

// transformTo maps modules to a picture.
func transformTo(size int, c corners) *common.PerspectiveTransform {
	const near = 3.5
	far := float64(size) - near
	return common.PerspectiveTransform_QuadrilateralToQuadrilateral(
		near, near, far, near, far, far, near, far, c[0], c[1], c[2], c[3], c[4], c[5], c[6], c[7])
}

// rate is the share of known modules that lie right.
func (g *grid) rate(c corners) float64 {
	copy(g.buf, g.known)
	transformTo(g.size, c).TransformPoints(g.buf)
	right := 0
	for i, dark := range g.dark {
		if g.plane.isDark(g.buf[2*i], g.buf[2*i+1]) == dark {
			right++
		}
	}
	return float64(right) / float64(len(g.dark))
}

// cornered is the share of the modules of the finder patterns that lie right: these
// do so wherever the fourth corner is.
func (g *grid) cornered() float64 {
	const n = 3 * 7 * 7 // they come last
	some := *g
	first := len(g.dark) - n
	some.known, some.dark, some.buf = g.known[2*first:], g.dark[first:], g.buf[2*first:]
	return some.rate(g.at)
}

// lay finds the lower right corner, at most a fifth of the side away from where
// it would be without perspective, and then moves all four a little.
func (g *grid) lay() {
	start, n := g.at, float64(g.size-7)
	// At first a share of the modules will do.
	all := *g
	defer func() { g.known, g.dark, g.buf = all.known, all.dark, all.buf }()
	g.thinned(200)
	ux, uy := (start[2]-start[0])/n, (start[3]-start[1])/n // a module along the top
	vx, vy := (start[6]-start[0])/n, (start[7]-start[1])/n // and along the left
	reach := math.Ceil(n / 5)
	g.score = g.rate(start)
	for i := -reach; i <= reach; i++ {
		for j := -reach; j <= reach; j++ {
			c := start
			c[4], c[5] = c[4]+i*ux+j*vx, c[5]+i*uy+j*vy
			g.better(c)
		}
	}
	g.known, g.dark, g.buf = all.known, all.dark, all.buf
	g.score = g.rate(g.at)
	module := (math.Hypot(ux, uy) + math.Hypot(vx, vy)) / 2
	for step := 0.5; step > 0.1; {
		before := g.score
		for k := range g.at {
			for _, way := range []float64{-1, 1} {
				c := g.at
				c[k] += way * step * module
				g.better(c)
			}
		}
		if g.score == before {
			step /= 2
		}
	}
}

// thinned leaves about so many of the known modules, and of each pattern some: the
// patterns of rings come in groups of 25 and 49.
func (g *grid) thinned(n int) {
	step := len(g.dark)/n | 1
	if step < 3 {
		return
	}
	var known []float64
	var dark []bool
	for i := 0; i < len(g.dark); i += step {
		known, dark = append(known, g.known[2*i], g.known[2*i+1]), append(dark, g.dark[i])
	}
	g.known, g.dark, g.buf = known, dark, make([]float64, len(known))
}

func (g *grid) better(c corners) {
	if s := g.rate(c); s > g.score {
		g.at, g.score = c, s
	}
}

// warp maps modules to a picture: in perspective, and where paper is bent by what
// its alignment patterns are off their places.
type warp struct {
	flat    *common.PerspectiveTransform
	centers []float64    // along a side
	off     [][2]float64 // at each crossing of centers, row by row, pixels
	buf     [2]float64
}

// at is where a place of the symbol, in modules, is in the picture.
func (m *warp) at(u, v float64) (x, y float64) {
	m.buf = [2]float64{u, v}
	m.flat.TransformPoints(m.buf[:])
	x, y = m.buf[0], m.buf[1]
	n := len(m.centers)
	if n < 2 {
		return x, y
	}
	i, s := between(m.centers, u)
	j, t := between(m.centers, v)
	a, b := m.off[j*n+i], m.off[j*n+i+1]
	c, d := m.off[(j+1)*n+i], m.off[(j+1)*n+i+1]
	for k, p := range [...]*float64{&x, &y} {
		*p += (a[k]*(1-s)+b[k]*s)*(1-t) + (c[k]*(1-s)+d[k]*s)*t
	}
	return x, y
}

// between is which two of some places one lies between, and how far; beyond the
// last it is at the last.
func between(at []float64, x float64) (i int, share float64) {
	for i < len(at)-2 && x > at[i+1] {
		i++
	}
	return i, min(1, max(0, (x-at[i])/(at[i+1]-at[i])))
}

// bent looks for each alignment pattern near its place.
func (g *grid) bent() *warp {
	m := &warp{flat: transformTo(g.size, g.at), off: make([][2]float64, len(g.centers)*len(g.centers))}
	n := len(g.centers)
	if n < 2 {
		return m
	}
	for _, c := range g.centers {
		m.centers = append(m.centers, float64(c)+0.5)
	}
	for j := range n {
		for i := range n {
			u, v := m.centers[i], m.centers[j]
			// It is about as much off as those beside it.
			var guess [2]float64
			known := 0.0
			for _, d := range [...][2]int{{-1, 0}, {0, -1}, {-1, -1}} {
				if x, y := i+d[0], j+d[1]; x >= 0 && y >= 0 {
					known++
					guess[0], guess[1] = guess[0]+m.off[y*n+x][0], guess[1]+m.off[y*n+x][1]
				}
			}
			if known > 0 {
				guess[0], guess[1] = guess[0]/known, guess[1]/known
			}
			m.off[j*n+i] = guess
			corner := [2]float64{} // of a finder pattern, beside which there is no other
			switch {
			case i == 0 && j == 0:
				corner = [2]float64{3.5, 3.5}
			case i == n-1 && j == 0:
				corner = [2]float64{float64(g.size) - 3.5, 3.5}
			case i == 0 && j == n-1:
				corner = [2]float64{3.5, float64(g.size) - 3.5}
			}
			if corner != [2]float64{} {
				m.off[j*n+i] = g.match(m.flat, corner[0], corner[1], 3, guess)
			} else {
				m.off[j*n+i] = g.match(m.flat, u, v, 2, guess)
			}
		}
	}
	return m
}

// match looks for a pattern of rings, as many modules to each side of its middle, no
// more than two modules from where it should be, and returns how much it is off.
func (g *grid) match(flat *common.PerspectiveTransform, u, v float64, rings int, guess [2]float64) [2]float64 {
	side := 2*rings + 1
	points := make([]float64, 0, 2*side*side)
	for y := -rings; y <= rings; y++ {
		for x := -rings; x <= rings; x++ {
			points = append(points, u+float64(x), v+float64(y))
		}
	}
	points = append(points, u+1, v, u, v+1)
	flat.TransformPoints(points)
	n := side * side
	mid := n / 2
	// A module along the row and down the column, pixels.
	ux, uy := points[2*n]-points[2*mid], points[2*n+1]-points[2*mid+1]
	vx, vy := points[2*n+2]-points[2*mid], points[2*n+3]-points[2*mid+1]
	rate := func(dx, dy float64) float64 {
		var light, dark, lights, darks float64
		for i := range n {
			s := g.plane.sample(points[2*i]+dx, points[2*i+1]+dy)
			x, y := i%side-rings, i/side-rings
			if ring := max(x, -x, y, -y); ring == rings-1 {
				light, lights = light+s, lights+1
			} else {
				dark, darks = dark+s, darks+1
			}
		}
		return light/lights - dark/darks
	}
	best, at := rate(guess[0], guess[1])*1.1, guess
	if best < 0 {
		best = 0
	}
	for _, step := range [...]float64{0.5, 0.125} {
		from, reach := at, 4
		if step < 0.5 {
			reach = 3
		}
		for i := -reach; i <= reach; i++ {
			for j := -reach; j <= reach; j++ {
				a, b := float64(i)*step, float64(j)*step
				dx, dy := from[0]+a*ux+b*vx, from[1]+a*uy+b*vy
				// What is far is less likely.
				r := rate(dx, dy)
				if step == 0.5 {
					r *= 1 - 0.08*math.Hypot(a, b)
				}
				if r > best {
					best, at = r, [2]float64{dx, dy}
				}
			}
		}
	}
	return at
}
