package scan

import (
	"cmp"
	"context"
	"image"
	"math"
	"slices"
)

// A symbol is found by the patterns in three of its corners: a dark square of three
// modules in a light ring in a dark one, so that any line through the middle is
// dark, light, dark, light, dark for 1, 1, 3, 1, 1 modules (ISO/IEC 18004;
// secondary).

// plane is a picture at one size, and which of its pixels are dark.
type plane struct {
	img   *image.Gray // from 0, 0
	dark  []uint8     // row by row, 1 for dark
	w, h  int
	scale float64           // how many pixels of the picture one of it is
	parts []image.Rectangle // what is looked at
}

const (
	// A pixel is dark that is darker than the mean of the square around it. The
	// square is as large as four symbols' corners at the sizes that are looked for,
	// see [searched].
	around = 20 // pixels to each side
	// bias is how much darker, of 255: paper without ink is light.
	bias = 1
)

// planed tells dark from light in parts of a picture, of which the rest is light.
func planed(ctx context.Context, img *image.Gray, scale float64, parts []image.Rectangle) (*plane, error) {
	w, h := img.Rect.Dx(), img.Rect.Dy()
	p := &plane{img: img, dark: make([]uint8, w*h), w: w, h: h, scale: scale, parts: parts}
	for _, part := range parts {
		if err := p.darken(ctx, part); err != nil {
			return nil, err
		}
	}
	return p, nil
}

// darken tells dark from light in a part of the picture.
func (p *plane) darken(ctx context.Context, part image.Rectangle) error {
	w, h := part.Dx(), part.Dy()
	columns := make([]int32, w) // sums over the rows around
	none := make([]uint8, w)
	// row is one of the part; beyond it there is nothing to sum.
	row := func(y int) []uint8 {
		if y < 0 || y >= h {
			return none
		}
		return p.img.Pix[(part.Min.Y+y)*p.img.Stride+part.Min.X:][:w]
	}
	add := func(come, gone []uint8) {
		gone, columns := gone[:len(come)], columns[:len(come)]
		for x, v := range come {
			columns[x] += int32(v) - int32(gone[x])
		}
	}
	for y := range min(around, h) {
		add(row(y), none)
	}
	for y := range h {
		if y%256 == 0 && ctx.Err() != nil {
			return ctx.Err()
		}
		add(row(y+around), row(y-around-1))
		rows := int32(min(h, y+around+1) - max(0, y-around))
		row, out := row(y), p.dark[(part.Min.Y+y)*p.w+part.Min.X:][:w]
		sum, n := int32(0), int32(0)
		for x := range min(around, w) {
			sum += columns[x]
			n += rows
		}
		near := func(from, to int) { // the edges of the part
			for x := from; x < to; x++ {
				if x+around < w {
					sum += columns[x+around]
					n += rows
				}
				if x-around-1 >= 0 {
					sum -= columns[x-around-1]
					n -= rows
				}
				if (int32(row[x])+bias)*n < sum {
					out[x] = 1
				}
			}
		}
		left, right := min(w, around+1), max(min(w, around+1), w-around)
		near(0, left)
		if right > left {
			in, out := row[left:right], out[left:right]
			gone, come := columns[left-around-1:][:len(in)], columns[left+around:][:len(in)]
			for i, v := range in {
				sum += come[i] - gone[i]
				// The sign says it, without a branch that nobody foresees in grain.
				out[i] = uint8(uint32((int32(v)+bias)*n-sum) >> 31)
			}
		}
		near(right, w)
	}
	return nil
}

// looked tells whether a row goes through a part that is looked at.
func (p *plane) looked(y int) bool {
	return slices.ContainsFunc(p.parts, func(r image.Rectangle) bool { return r.Min.Y <= y && y < r.Max.Y })
}

func (p *plane) isDark(x, y float64) bool {
	return x >= 0 && y >= 0 && x < float64(p.w) && y < float64(p.h) && p.dark[int(y)*p.w+int(x)] == 1
}

// finder is where such a pattern may stand.
type finder struct {
	x, y   float64 // its middle, pixels
	module float64 // about how large its modules are along a row and down a column
	rows   int     // on how many rows it was met
}

const (
	// Patterns that are kept: in a square of so many pixels, as many as have room at
	// the least size; and those met most often.
	finderCell    = 32
	findersInCell = 4
	maxFinders    = 160
)

// finders looks for patterns; full tells that there were more than are kept.
func (p *plane) finders(ctx context.Context) (found []finder, full bool, err error) {
	across := p.w/finderCell + 1
	cells := make(map[int][]finder)
	edges := make([]int32, p.w+1)
	for y := 0; y < p.h; y += 2 {
		if y%256 == 0 && ctx.Err() != nil {
			return nil, false, ctx.Err()
		}
		if !p.looked(y) {
			continue
		}
		// Where the row becomes dark and light again, in turn. Beyond the picture it
		// is light.
		// No branch tells them: nobody foresees grain.
		n, last := 0, uint8(0)
		for x, d := range p.dark[y*p.w:][:p.w] {
			edges[n] = int32(x)
			n += int(d ^ last)
			last = d
		}
		edges[n] = int32(p.w)
		n += int(last)
		for i := 0; i+5 < n; i += 2 {
			e := edges[i : i+6 : i+6]
			if c := e[3] - e[2]; 31*c < 19*(e[4]-e[1]-c) { // see [patterned]; most end here
				continue
			}
			like := patterned(int(e[1]-e[0]), int(e[2]-e[1]), int(e[3]-e[2]), int(e[4]-e[3]), int(e[5]-e[4]))
			if like == 0 {
				continue
			}
			f, ok := p.confirmed(float64(e[2]+e[3])/2, float64(y)+0.5, float64(e[4]-e[1])/5, like)
			if !ok {
				continue
			}
			full = p.keep(cells, across, f) || full
		}
	}
	for _, c := range cells {
		found = append(found, c...)
	}
	slices.SortFunc(found, func(a, b finder) int {
		return cmp.Or(cmp.Compare(b.rows, a.rows), cmp.Compare(a.y, b.y), cmp.Compare(a.x, b.x))
	})
	if len(found) > maxFinders {
		// What was met once is noise.
		full = full || found[maxFinders].rows > 1
		weak := func(f finder) bool { return float64(f.rows) < max(3, 1.2*f.module) }
		if !weak(found[maxFinders]) {
			// So many are no noise: those of whole symbols stand beside each other.
			found = slices.DeleteFunc(found, weak)
			at := found[0]
			slices.SortStableFunc(found, func(a, b finder) int {
				return cmp.Compare(math.Hypot(a.x-at.x, a.y-at.y), math.Hypot(b.x-at.x, b.y-at.y))
			})
		}
		found = found[:min(len(found), maxFinders)]
	}
	return found, full, nil
}

// keep joins a pattern with one that is known at its place.
func (p *plane) keep(cells map[int][]finder, across int, f finder) (full bool) {
	cx, cy := int(f.x)/finderCell, int(f.y)/finderCell
	near := max(2, f.module)
	for dy := -1; dy <= 1; dy++ {
		for dx := -1; dx <= 1; dx++ {
			cell := cells[(cy+dy)*across+cx+dx]
			for i := range cell {
				g := &cell[i]
				if math.Abs(g.x-f.x) > near || math.Abs(g.y-f.y) > near || g.module > 1.5*f.module || f.module > 1.5*g.module {
					continue
				}
				n := float64(g.rows)
				g.x, g.y, g.module = (g.x*n+f.x)/(n+1), (g.y*n+f.y)/(n+1), (g.module*n+f.module)/(n+1)
				g.rows++
				return false
			}
		}
	}
	at := cy*across + cx
	cell := cells[at]
	if len(cell) == findersInCell {
		// One that was met once, and first, makes room: a pattern is met on the rows
		// that follow, too.
		once := slices.IndexFunc(cell, func(g finder) bool { return g.rows == 1 })
		if once < 0 {
			return true
		}
		cell = slices.Delete(cell, once, once+1)
	}
	cells[at] = append(cell, f)
	return false
}

// patterned tells how well runs of pixels are as 1, 1, 3, 1, 1: 2 for well, 1 where
// dirt may lie on one of the outer ones, 0 for not. Light eats into dark where a
// picture is bright or out of focus, and dark into light where it is dim.
func patterned(a, b, c, d, e int) int {
	inner := b + c + d
	if inner < 5 {
		return 0
	}
	m := float64(inner) / 5
	least, most := 0.4*m-0.3, 1.75*m+0.4
	like := func(r int) bool { return float64(r) >= least && float64(r) <= most }
	if !like(b) || !like(d) || float64(c) < 1.9*m || float64(c) > 4.2*m {
		return 0
	}
	switch first, last := like(a), like(e); {
	case first && last:
		return 2
	case first || last:
		return 1
	}
	return 0
}

// run is how the runs of a pattern lie on a line through its middle near the pixel of
// x, y, in steps of dx, dy: where its middle is, in steps from the begin of that
// pixel, how many a module is long, and how well they are those of a pattern.
func (p *plane) run(x, y, dx, dy float64, most int) (middle, module float64, like int) {
	var runs [2][3]int // away from the middle, each way: dark, light, dark
	for side, sign := range [...]float64{-1, 1} {
		k, want := 0, uint8(1)
		for i := side; ; i++ { // the middle itself counts once
			u, v := int(x+sign*float64(i)*dx), int(y+sign*float64(i)*dy)
			d := uint8(0) // beyond the picture it is light
			if u >= 0 && v >= 0 && u < p.w && v < p.h {
				d = p.dark[v*p.w+u]
			}
			if d != want {
				if k++; k == 3 {
					break
				}
				want = d
			}
			if runs[side][k]++; runs[side][k] > most {
				if k < 2 {
					return 0, 0, 0
				}
				break // of dirt
			}
		}
	}
	l, r := runs[0], runs[1]
	like = patterned(l[2], l[1], l[0]+r[0], r[1], r[2])
	// The edges of the square and those of the ring around it both tell where the
	// middle is.
	middle = 1 + (2*float64(r[0]-l[0])+float64(r[1]-l[1]))/4
	return middle, float64(l[0]+l[1]+r[0]+r[1]) / 5, like
}

// confirmed looks at a pattern of a row, with modules of so many pixels, also down,
// across again, and at a slant. One of them has to be clean.
func (p *plane) confirmed(x, y, module float64, like int) (finder, bool) {
	most := int(14*module) + 2
	down, tall, like2 := p.run(x, y, 0, 1, most)
	if like2 == 0 || like+like2 < 3 || tall > 3*module || module > 3*tall {
		return finder{}, false
	}
	y = math.Floor(y) + down
	right, wide, like3 := p.run(x, y, 1, 0, most)
	if like3 == 0 {
		return finder{}, false
	}
	x = math.Floor(x) + right
	_, _, like4 := p.run(x, y, 1, 1, most)
	_, _, like5 := p.run(x, y, 1, -1, most)
	if like4+like5 < 2 {
		return finder{}, false
	}
	return finder{x: x, y: y, module: (wide + tall) / 2, rows: 1}, true
}

// toward is how large a module of a pattern is in a direction, told by where its
// rings end; not ok where they are not those of a pattern.
func (p *plane) toward(f finder, dx, dy float64) (module float64, ok bool) {
	const step = 0.25
	var at [3]float64
	k, last := 0, true
	for t := 0.0; t < 9*f.module+3; t += step {
		d := p.isDark(f.x+t*dx, f.y+t*dy)
		if d == last {
			continue
		}
		at[k] = t
		if last, k = d, k+1; k == 3 {
			break
		}
	}
	if k < 2 {
		return 0, false
	}
	// 1.5 and 2.5 modules, and 3.5 where no dirt lies beside it.
	m := (at[0] + at[1]) / 4
	if at[0] < 0.9*m-0.5 || at[0] > 2.1*m+0.5 {
		return 0, false
	}
	if at[2] > 3*m-0.5 && at[2] < 4*m+0.5 {
		m = (at[0] + at[1] + at[2]) / 7.5
	}
	return m, true
}
