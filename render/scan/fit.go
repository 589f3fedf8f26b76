package scan

import (
	"math"

	"github.com/makiuchi-d/gozxing"
	"github.com/makiuchi-d/gozxing/common"
	"github.com/makiuchi-d/gozxing/qrcode/decoder"
	"github.com/makiuchi-d/gozxing/qrcode/detector"
)

// The decoder's own detector takes the corner of a symbol that has no finder
// pattern from one small alignment pattern, and in a photograph at an angle it
// often takes a speck for it. A symbol with fifteen slots has a dozen such
// patterns and two long timing patterns: here the grid is laid so that most of
// all of them lie right.

// fitted reads the symbol of the three best finder patterns of a picture.
func fitted(bits *gozxing.BinaryBitmap) (Code, bool) {
	matrix, err := bits.GetBlackMatrix()
	if err != nil {
		return Code{}, false
	}
	info, err := detector.NewFinderPatternFinder(matrix, nil).Find(map[gozxing.DecodeHintType]any{gozxing.DecodeHintType_TRY_HARDER: true})
	if err != nil {
		return Code{}, false
	}
	tl, tr, bl := info.GetTopLeft(), info.GetTopRight(), info.GetBottomLeft()
	c := corners{tl.GetX(), tl.GetY(), tr.GetX(), tr.GetY(), 0, 0, bl.GetX(), bl.GetY()}
	c[4], c[5] = c[2]+c[6]-c[0], c[3]+c[7]-c[1]
	width := (math.Hypot(c[2]-c[0], c[3]-c[1]) + math.Hypot(c[6]-c[0], c[7]-c[1])) / 2
	module := (tl.GetEstimatedModuleSize() + tr.GetEstimatedModuleSize() + bl.GetEstimatedModuleSize()) / 3
	if width == 0 || module == 0 {
		return Code{}, false
	}
	about := int(math.Round((width/module + 7 - 17) / 4)) // the version
	var best *grid
	for version := max(2, about-2); version <= min(40, about+2); version++ {
		g := newGrid(matrix, version, c)
		if g.lay(); best == nil || g.score > best.score {
			best = g
		}
	}
	if best == nil || best.score < leastScore {
		return Code{}, false
	}
	transform := best.transform()
	square, err := common.GridSampler_GetInstance().SampleGridWithTransform(matrix, best.size, best.size, transform)
	if err != nil {
		return Code{}, false
	}
	read, err := decoder.NewDecoder().Decode(square, nil)
	if err != nil {
		return Code{}, false
	}
	at := best.at
	return Code{
		Text: read.GetText(),
		X:    (at[2] + at[6]) / 2, Y: (at[3] + at[7]) / 2,
		Side: math.Hypot(at[2]-at[6], at[3]-at[7]) / math.Sqrt2,
	}, true
}

// leastScore is the share of known modules that lie right below which decoding
// is not tried: chance gives a half.
const leastScore = 0.7

// corners are the middles of the finder patterns, and where one would be at the
// lower right: x and y of the upper left, upper right, lower right, lower left.
type corners [8]float64

// grid is a symbol of one version laid over a picture.
type grid struct {
	matrix *gozxing.BitMatrix
	size   int       // modules on a side
	known  []float64 // middles of the modules that are the same in every symbol: x, y, x, y, ...
	dark   []bool
	at     corners
	score  float64 // share of known modules that lie right
	buf    []float64
}

func newGrid(matrix *gozxing.BitMatrix, version int, at corners) *grid {
	g := &grid{matrix: matrix, size: 17 + 4*version, at: at}
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

func (g *grid) transform() *common.PerspectiveTransform {
	return transformTo(g.size, g.at)
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
	w, h := g.matrix.GetWidth(), g.matrix.GetHeight()
	right := 0
	for i, dark := range g.dark {
		x, y := g.buf[2*i], g.buf[2*i+1]
		if x >= 0 && y >= 0 && x < float64(w) && y < float64(h) && g.matrix.Get(int(x), int(y)) == dark {
			right++
		}
	}
	return float64(right) / float64(len(g.dark))
}

// lay finds the lower right corner, at most a fifth of the side away from where
// it would be without perspective, and then moves all four a little.
func (g *grid) lay() {
	start, n := g.at, float64(g.size-7)
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

func (g *grid) better(c corners) {
	if s := g.rate(c); s > g.score {
		g.at, g.score = c, s
	}
}
