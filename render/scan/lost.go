package scan

import "math"

// A speck on one corner hides its pattern from [plane.finders], for which each row
// through it has to be sound. Where two corners are seen, the third is looked for where
// it has to be, as a pattern of which most modules lie right.

const (
	// How many corners are taken two by two: those met most often.
	mostLost = 10
	// leastAlong is the share of a timing pattern that lies right between two corners
	// that are taken for those of a side.
	leastAlong = 0.72
	// leastRinged is that of the modules of a corner with dirt on it.
	leastRinged = 0.76
)

// lost are triples of which one corner was not found.
func (p *plane) lost(found []finder) (out []triple) {
	var strong []finder
	for _, f := range found {
		if float64(f.rows) >= max(3, 1.2*f.module) && len(strong) < mostLost {
			strong = append(strong, f)
		}
	}
	for i, a := range strong {
		for _, b := range strong[:i] {
			if ab, ok := p.armed(a, b); ok {
				ba := arm{to: a, dx: -ab.dx, dy: -ab.dy, here: ab.there, there: ab.here, modules: ab.modules}
				out = append(out, p.besides(a, ab, ba)...)
				out = append(out, p.across(a, ab)...)
			}
		}
	}
	return out
}

// besides takes two corners for those of a side, if the timing pattern is seen between
// them, and looks for the third beside either.
func (p *plane) besides(a finder, ab, ba arm) (out []triple) {
	for _, way := range [...]float64{-1, 1} {
		aside := arm{dx: -way * ab.dy, dy: way * ab.dx, here: (ab.here + ab.there) / 2}
		about := (ab.modules + 7 - 17) / 4
		seen := false
		for v := max(1, int(about-1)); v <= min(40, int(about+2)) && !seen; v++ {
			right, of := p.timing(a, ab, aside, 17+4*v)
			seen = float64(right) > leastAlong*float64(of)
		}
		if !seen {
			continue
		}
		for _, end := range [...]struct {
			at    finder
			along arm
		}{{a, ab}, {ab.to, ba}} {
			n := end.along.modules
			c, ok := p.ringed(end.at.x+aside.dx*n*end.along.here, end.at.y+aside.dy*n*end.along.here, end.along.here, ab.dx, ab.dy, n)
			if !ok {
				continue
			}
			if t, ok := p.tripled(end.at, end.along, p.reached(end.at, c, end.along.here)); ok {
				out = append(out, t)
			}
		}
	}
	return out
}

// across takes two corners for those that face each other, and looks for the one
// between them.
func (p *plane) across(a finder, ab arm) (out []triple) {
	for _, way := range [...]float64{-1, 1} {
		d := math.Hypot(ab.to.x-a.x, ab.to.y-a.y)
		x, y := (a.x+ab.to.x-way*ab.dy*d)/2, (a.y+ab.to.y+way*ab.dx*d)/2
		// Sides of a square are by a half of the root of two shorter.
		const slant = math.Sqrt2 / 2
		module := (ab.here + ab.there) / 2 * slant
		dx, dy := (a.x-x)/(d*slant), (a.y-y)/(d*slant)
		c, ok := p.ringed(x, y, module, dx, dy, ab.modules)
		if !ok {
			continue
		}
		if t, ok := p.tripled(c, p.reached(c, a, module), p.reached(c, ab.to, module)); ok {
			out = append(out, t)
		}
	}
	return out
}

// reached is from a pattern to another, with modules of so many pixels where dirt hides
// how large they are.
func (p *plane) reached(a, b finder, module float64) arm {
	dx, dy := b.x-a.x, b.y-a.y
	d := math.Hypot(dx, dy)
	to := arm{to: b, dx: dx / d, dy: dy / d, here: module, there: module}
	if m, ok := p.toward(a, to.dx, to.dy); ok {
		to.here = m
	}
	if m, ok := p.toward(b, -to.dx, -to.dy); ok {
		to.there = m
	}
	to.modules = 2 * d / (to.here + to.there)
	return to
}

// ringed looks for a pattern with dirt on it near a place, with modules of so many
// pixels, along a direction and across it, of a symbol of so many modules.
func (p *plane) ringed(x, y, module, dx, dy, modules float64) (finder, bool) {
	best, f := 0, finder{module: module}
	rate := func(x, y float64) {
		right := 0
		for v := -3; v <= 3; v++ {
			for u := -3; u <= 3; u++ {
				s, t := float64(u)*module, float64(v)*module
				ring := max(u, -u, v, -v)
				if p.isDark(x+s*dx-t*dy, y+s*dy+t*dx) == (ring != 2) {
					right++
				}
			}
		}
		if right > best {
			best, f.x, f.y = right, x, y
		}
	}
	search := func(x, y, reach, step float64) {
		for v := -reach; v <= reach; v += step {
			for u := -reach; u <= reach; u += step {
				rate(x+(u*dx-v*dy)*module, y+(u*dy+v*dx)*module)
			}
		}
	}
	search(x, y, math.Ceil(2+0.12*modules), 1)
	search(f.x, f.y, 1, 0.25)
	f.rows = 1
	return f, float64(best) >= leastRinged*7*7
}
