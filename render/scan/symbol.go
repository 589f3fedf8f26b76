package scan

import (
	"cmp"
	"math"
	"slices"

	"github.com/makiuchi-d/gozxing"
	"github.com/makiuchi-d/gozxing/qrcode/decoder"
)

// triple is three patterns that may be the corners of one symbol.
type triple struct {
	tl, tr, bl finder
	version    int     // whose timing patterns fit best, 1 to 40
	score      float64 // share of the modules of the timing patterns that lie right
	sure       float64 // and how far from chance that is, in standard deviations
}

const (
	// Distances between the middles of two patterns of a symbol, in modules, with
	// room for what a slant does: from 14 in version 1 to 170 in version 40.
	leastApart, mostApart = 11.0, 190.0
	// neighbours is how many patterns around one are looked at with it, those first
	// that were met more often, and then those that are near: of a sheet of cards more
	// lie near than are its own.
	neighbours = 20
	// leastTiming is the share of modules of timing patterns that lie right below
	// which nothing is tried: chance gives a half.
	leastTiming = 0.64
)

// arm is from one pattern to another.
type arm struct {
	to      finder
	dx, dy  float64 // of length 1
	here    float64 // module of each in that direction, pixels
	there   float64
	modules float64 // between the middles
}

// triples are those that fit best, the best first.
func (p *plane) triples(found []finder) []triple {
	var out []triple
	var arms []arm
	for i, a := range found {
		arms = arms[:0]
		for j, b := range found {
			if i == j {
				continue
			}
			if to, ok := p.armed(a, b); ok {
				arms = append(arms, to)
			}
		}
		slices.SortStableFunc(arms, func(a, b arm) int {
			return cmp.Or(cmp.Compare(min(4, b.to.rows), min(4, a.to.rows)), cmp.Compare(a.modules, b.modules))
		})
		arms = arms[:min(len(arms), neighbours)]
		for j, b := range arms {
			for _, c := range arms[:j] {
				if t, ok := p.tripled(a, b, c); ok {
					out = append(out, t)
				}
			}
		}
	}
	slices.SortStableFunc(out, func(a, b triple) int { return cmp.Compare(b.sure, a.sure) })
	return out
}

// armed is from one pattern to another, where they may be two of a symbol.
func (p *plane) armed(a, b finder) (arm, bool) {
	dx, dy := b.x-a.x, b.y-a.y
	d := math.Hypot(dx, dy)
	if d < leastApart*min(a.module, b.module)*0.5 || d > mostApart*max(a.module, b.module) {
		return arm{}, false
	}
	dx, dy = dx/d, dy/d
	here, ok := p.toward(a, dx, dy)
	if !ok {
		return arm{}, false
	}
	there, ok := p.toward(b, -dx, -dy)
	if !ok || there > 2.2*here || here > 2.2*there {
		return arm{}, false
	}
	n := 2 * d / (here + there)
	return arm{b, dx, dy, here, there, n}, n > leastApart && n < mostApart
}

// tripled rates two arms as the upper and the left side of a symbol.
func (p *plane) tripled(a finder, b, c arm) (triple, bool) {
	if math.Abs(b.modules-c.modules) > 2+0.2*max(b.modules, c.modules) {
		return triple{}, false
	}
	turn := b.dx*c.dy - b.dy*c.dx
	if math.Abs(turn) < 0.3 {
		return triple{}, false
	}
	if turn < 0 { // rows grow downward: from the upper right to the lower left is clockwise
		b, c = c, b
	}
	t := triple{tl: a, tr: b.to, bl: c.to}
	about := ((b.modules+c.modules)/2 + 7 - 17) / 4
	for v := max(1, int(about-2)); v <= min(40, int(about+3)); v++ {
		size := 17 + 4*v
		right, of := p.timing(a, b, c, size)
		if of > 20 && float64(right) < 0.58*float64(of) {
			continue
		}
		r2, of2 := p.timing(a, c, b, size)
		// Of two that fit alike the one is right whose size is.
		score := float64(right+r2)/float64(of+of2) - 0.01*math.Abs(about-float64(v))
		if score > t.score {
			t.version, t.score = v, score
			t.sure = (2*score - 1) * math.Sqrt(float64(of+of2))
		}
	}
	return t, t.score > leastTiming && t.sure > 1.5
}

// timing counts the modules of the timing pattern along one side that lie right: it
// runs three modules from the middles of the patterns, toward the other side.
func (p *plane) timing(a finder, along, aside arm, size int) (right, of int) {
	// The other side's module at the far end is as much larger as that of this side.
	off := 3 * aside.here
	far := off * along.there / along.here
	// Both ends are brought into the picture, and then all between them is in it.
	in := func(v float64, n int) float64 { return min(max(v, 0), float64(n)-0.5) }
	x0, y0 := in(a.x+off*aside.dx, p.w), in(a.y+off*aside.dy, p.h)
	dx, dy := in(along.to.x+far*aside.dx, p.w)-x0, in(along.to.y+far*aside.dy, p.h)-y0
	n, ends := float64(size-7), size-8
	step := 1 / n
	for i, s := 8, 5*step; i < ends; i, s = i+1, s+step {
		right += int(p.dark[int(y0+s*dy)*p.w+int(x0+s*dx)]) ^ i&1
	}
	// Modules grow toward the camera: the line is seen in perspective, as far as the
	// patterns tell, or less. Where that moves no module by a tenth, it is left out.
	k, seen := math.Sqrt(along.here/along.there), 0
	if math.Abs(k-1)*n/4 < 0.1 {
		return right, size - 16
	}
	for i, s := 8, 5*step; i < ends; i, s = i+1, s+step {
		t := k * s / (1 + (k-1)*s)
		seen += int(p.dark[int(y0+t*dy)*p.w+int(x0+t*dx)]) ^ i&1
	}
	return max(right, seen), size - 16
}

// fit is a symbol that lies in a plane, as well as its known modules tell.
type fit struct {
	*grid
	version int
	warp    *warp
}

// fitted lays a symbol over three patterns.
func (p *plane) fitted(t triple) (fit, bool) {
	c := corners{t.tl.x, t.tl.y, t.tr.x, t.tr.y, 0, 0, t.bl.x, t.bl.y}
	c[4], c[5] = c[2]+c[6]-c[0], c[3]+c[7]-c[1]
	g := newGrid(p, t.version, c)
	if g.cornered() < leastScore {
		return fit{}, false
	}
	if g.lay(); g.score < leastScore {
		return fit{}, false
	}
	f := fit{grid: g, version: t.version}
	f.warp = f.bent()
	return f, true
}

// sample is how bright the picture is at a place, between the middles of pixels.
func (p *plane) sample(x, y float64) float64 {
	x, y = min(max(x-0.5, 0), float64(p.w)-1.001), min(max(y-0.5, 0), float64(p.h)-1.001)
	i, j := int(x), int(y)
	fx, fy := x-float64(i), y-float64(j)
	a := p.img.Pix[j*p.img.Stride+i:]
	b := p.img.Pix[(j+1)*p.img.Stride+i:]
	return (float64(a[0])*(1-fx)+float64(a[1])*fx)*(1-fy) + (float64(b[0])*(1-fx)+float64(b[1])*fx)*fy
}

// shades are the modules of a symbol, row by row: how much lighter each is than
// what is around it.
type shades struct {
	size int
	v    []float32
}

// modules samples a symbol.
func (f fit) modules() shades {
	s := shades{f.size, make([]float32, f.size*f.size)}
	m := f.warp
	const near = 0.2 // of a module: what lies closer to its edge may be its neighbor's
	for y := range f.size {
		for x := range f.size {
			u, v := float64(x)+0.5, float64(y)+0.5
			sum := 0.0
			for _, d := range [...][2]float64{{0, 0}, {-near, 0}, {near, 0}, {0, -near}, {0, near}} {
				sum += f.plane.sample(m.at(u+d[0], v+d[1]))
			}
			s.v[y*f.size+x] = float32(sum / 5)
		}
	}
	return s
}

// sharper takes from each module a share of what its neighbors have left in it.
func (s shades) sharper(k float32) shades {
	if k == 0 {
		return s
	}
	out := shades{s.size, make([]float32, len(s.v))}
	for y := range s.size {
		for x := range s.size {
			i := y*s.size + x
			up, down, left, right := s.v[i], s.v[i], s.v[i], s.v[i]
			if y > 0 {
				up = s.v[i-s.size]
			}
			if y < s.size-1 {
				down = s.v[i+s.size]
			}
			if x > 0 {
				left = s.v[i-1]
			}
			if x < s.size-1 {
				right = s.v[i+1]
			}
			out.v[i] = s.v[i] + k*(s.v[i]-(up+down+left+right)/4)
		}
	}
	return out
}

// level makes each module lighter, above 0, or darker than half way between the
// light and the dark ones around it.
func (s shades) level() shades {
	const r = 5 // modules to each side
	n := s.size
	out := shades{n, make([]float32, len(s.v))}
	for y := range n {
		for x := range n {
			x0, x1, y0, y1 := max(0, x-r), min(n-1, x+r), max(0, y-r), min(n-1, y+r)
			var sum float32
			for v := y0; v <= y1; v++ {
				for _, s := range s.v[v*n+x0 : v*n+x1+1] {
					sum += s
				}
			}
			mean := sum / float32((x1-x0+1)*(y1-y0+1))
			var light, dark, lights, darks float32
			for v := y0; v <= y1; v++ {
				for _, s := range s.v[v*n+x0 : v*n+x1+1] {
					if s > mean {
						light, lights = light+s, lights+1
					} else {
						dark, darks = dark+s, darks+1
					}
				}
			}
			middle := mean
			if lights > 0 && darks > 0 {
				middle = (light/lights + dark/darks) / 2
			}
			out.v[y*n+x] = s.v[y*n+x] - middle
		}
	}
	return out
}

// text decodes leveled modules.
func (s shades) text() (string, bool) { return decoded(s.bits()) }

// bits are set where leveled modules are dark.
func (s shades) bits() *gozxing.BitMatrix {
	bits, err := gozxing.NewSquareBitMatrix(s.size)
	if err != nil {
		panic("scan: " + err.Error()) // only for a size below 1
	}
	for y := range s.size {
		for x := range s.size {
			if s.v[y*s.size+x] < 0 {
				bits.Set(x, y)
			}
		}
	}
	return bits
}

// decoded is the text of a symbol whose modules are set where they are dark.
func decoded(bits *gozxing.BitMatrix) (string, bool) {
	read, err := decoder.NewDecoder().Decode(bits, nil)
	if err != nil {
		return "", false
	}
	return read.GetText(), true
}
