package scan

import (
	"cmp"
	"context"
	"image"
	"math"
	"slices"
)

const (
	// A picture is looked at in several sizes, each half of the next: modules are
	// found where they are about 2 to 6 pixels wide.
	leastLong = 240 // pixels of the long side, of the smallest
	// widest is how many pixels wide the modules of codes that were found may be at a
	// size that is still looked at: codes of one picture are about as large as each
	// other.
	widest = 7.0
	// settled is how wide they have to be at a size beyond which only parts are looked at
	// where only they look like codes, and mostUnlike at the last of these: a smaller code
	// beside a larger one, as a card's beside that of a wall sheet, shows there.
	settled    = 2.4
	mostUnlike = 16.0
	// A small picture is looked at enlarged, too.
	mostEnlarged = 2400 // pixels of its long side
	// And of a large one parts of so many pixels.
	mostParts = 1_500_000

	// And softened.
	mostSoftened = 2_000_000 // pixels

	// How many symbols are laid over what looks like three corners of one, at a size
	// and in all. A sheet of cards has some thirty.
	triesAtSize = 40
	triesInAll  = 170
)

// search collects codes over several sizes of a picture.
type search struct {
	found  []Code
	where  []corners // the corners of each symbol, a module beyond its edge, pixels of the picture
	unread []unread  // symbols that were not read, for [Join]
	least  float64   // module of the smallest that was found, pixels of the picture; 0: none
	tries  int
	more   []triple // at corners of which no code was read, pixels of the picture
	cut    bool
	rest   bool // at the last size more was seen than was read: see [search.remain]
}

// look reads the codes in a picture.
func look(ctx context.Context, p picture) (Seen, error) {
	var s search
	if err := s.sizes(ctx, p.shades, 1); err != nil {
		return Seen{}, err
	}
	if len(s.found) == 0 && p.colors != nil && !s.cut {
		// In red light the brightness of paper is little more than that of ink. Where
		// too much looked like corners in gray, it is no dim picture but noise.
		if err := s.sizes(ctx, p.colors(), 1); err != nil {
			return Seen{}, err
		}
	}
	out := Seen{Codes: s.found, Cut: s.cut}
	out.more = slices.DeleteFunc(s.more, func(t triple) bool { return s.covered(t, 1) })
	out.More = len(out.more) > 0
	for _, u := range s.unread {
		if x, y := u.at.middle(); !s.inside(x, y) {
			out.unread = append(out.unread, u)
		}
	}
	slices.SortStableFunc(out.Codes, func(a, b Code) int {
		if math.Abs(a.Y-b.Y) > (a.Side+b.Side)/4 {
			return cmp.Compare(a.Y, b.Y)
		}
		return cmp.Compare(a.X, b.X)
	})
	return out, nil
}

// sizes looks at a picture from small to large.
func (s *search) sizes(ctx context.Context, img *image.Gray, scale float64) error {
	all := []*image.Gray{img}
	for small := img; max(small.Rect.Dx(), small.Rect.Dy()) >= 2*leastLong; {
		small = halved(small)
		if min(small.Rect.Dx(), small.Rect.Dy()) < leastSide {
			break
		}
		all = append(all, small)
	}
	done := false
	for i, img := range slices.Backward(all) {
		at := scale * float64(int(1)<<i)
		done = done || s.least/at > widest
		if done {
			if s.least/at > mostUnlike {
				return nil
			}
			if err := s.size(ctx, img, at, s.busy(all[i+1], at)); err != nil {
				return err
			}
			continue
		}
		if err := s.size(ctx, img, at, whole(img)); err != nil {
			return err
		}
		if len(s.found) == 0 && img.Rect.Dx()*img.Rect.Dy() < mostSoftened {
			// What is grainy.
			if err := s.size(ctx, softened(img), at, whole(img)); err != nil {
				return err
			}
		}
		done = s.least/at >= settled && !s.rest
	}
	if done || s.least/(scale/2) > widest {
		return nil
	}
	if max(img.Rect.Dx(), img.Rect.Dy()) > mostEnlarged {
		if len(s.found) > 0 && !s.rest || len(all) == 1 { // the latter is a sliver
			return nil
		}
		return s.enlarged(ctx, img, all[1], scale)
	}
	img = doubled(img)
	return s.size(ctx, img, scale/2, whole(img))
}

// enlarged looks at the parts of a large picture that may hold codes from afar, as of a
// wall sheet, as far as there is room for them. The picture is given in half its size, too.
func (s *search) enlarged(ctx context.Context, img, half *image.Gray, scale float64) error {
	left := mostParts
	for _, part := range s.busy(half, scale) {
		if left -= part.Dx() * part.Dy(); left < 0 {
			return nil
		}
		cut := &image.Gray{Pix: img.Pix[img.PixOffset(part.Min.X, part.Min.Y):], Stride: img.Stride, Rect: image.Rect(0, 0, part.Dx(), part.Dy())}
		x, y := float64(part.Min.X)*scale, float64(part.Min.Y)*scale
		in := search{tries: s.tries}
		for _, c := range s.where {
			in.where = append(in.where, c.moved(-x, -y))
		}
		large := doubled(cut)
		if err := in.size(ctx, large, scale/2, whole(large)); err != nil {
			return err
		}
		s.join(in, x, y)
	}
	return nil
}

// join adds what was found in a part of the picture that begins at x, y.
func (s *search) join(in search, x, y float64) {
	for _, c := range in.where[len(s.where):] {
		s.where = append(s.where, c.moved(x, y))
	}
	for _, c := range in.found {
		c.X, c.Y = c.X+x, c.Y+y
		s.found = append(s.found, c)
	}
	for _, t := range in.more {
		for _, f := range [...]*finder{&t.tl, &t.tr, &t.bl} {
			f.x, f.y = f.x+x, f.y+y
		}
		s.more = append(s.more, t)
	}
	for _, u := range in.unread {
		u.at = u.at.moved(x, y)
		s.keep(u)
	}
	if s.least == 0 || in.least > 0 && in.least < s.least {
		s.least = in.least
	}
	s.tries, s.cut = in.tries, s.cut || in.cut
}

// whole is all of a picture.
func whole(img *image.Gray) []image.Rectangle { return []image.Rectangle{img.Rect} }

// busy are the parts of a picture in which there is about as much light and dark as in
// the codes that were read, or as anywhere, and which are no such codes. The picture is
// given in half its size.
func (s *search) busy(half *image.Gray, scale float64) (parts []image.Rectangle) {
	const tile = 32 // pixels of the half
	w, h := half.Rect.Dx(), half.Rect.Dy()
	across, down := (w+tile-1)/tile, (h+tile-1)/tile
	contrast := make([]int, across*down)
	for j := range down {
		for i := range across {
			least, most := uint8(255), uint8(0)
			for y := j * tile; y < min(h, (j+1)*tile); y += 2 {
				for _, v := range half.Pix[y*half.Stride:][i*tile : min(w, (i+1)*tile)] {
					least, most = min(least, v), max(most, v)
				}
			}
			contrast[j*across+i] = int(most) - int(least)
		}
	}
	of := slices.Max(contrast)
	for _, c := range s.found {
		i, j := int(c.X/scale/2)/tile, int(c.Y/scale/2)/tile
		of = min(of, contrast[min(j, down-1)*across+min(i, across-1)])
	}
	open := func(i, j int) bool {
		return contrast[j*across+i]*3 >= of && !s.inside((float64(i)+0.5)*tile*2*scale, (float64(j)+0.5)*tile*2*scale)
	}
	for at := range contrast {
		if !open(at%across, at/across) {
			continue
		}
		// All that hang together.
		part, next := image.Rectangle{}, []int{at}
		for len(next) > 0 {
			i, j := next[0]%across, next[0]/across
			next = next[1:]
			if !open(i, j) {
				continue
			}
			contrast[j*across+i] = -1
			part = part.Union(image.Rect(i, j, i+1, j+1))
			for _, d := range [...][2]int{{-1, 0}, {1, 0}, {0, -1}, {0, 1}} {
				if x, y := i+d[0], j+d[1]; x >= 0 && y >= 0 && x < across && y < down {
					next = append(next, y*across+x)
				}
			}
		}
		part = image.Rect(part.Min.X*2*tile-around, part.Min.Y*2*tile-around, part.Max.X*2*tile+around, part.Max.Y*2*tile+around)
		parts = append(parts, part.Intersect(image.Rect(0, 0, 2*w, 2*h)))
	}
	return parts
}

// size looks at parts of a picture as it is.
func (s *search) size(ctx context.Context, img *image.Gray, scale float64, parts []image.Rectangle) error {
	p, err := planed(ctx, img, scale, parts)
	if err != nil {
		return err
	}
	found, full, err := p.finders(ctx)
	if err != nil {
		return err
	}
	s.cut = s.cut || full
	found = slices.DeleteFunc(found, func(f finder) bool { return s.inside(f.x*scale, f.y*scale) })
	triples := p.triples(found)
	most := triesInAll
	if scale > 1 && len(s.found) == 0 {
		most -= triesAtSize // which are left for the picture as it is
	}
	for i, t := range triples {
		if err := ctx.Err(); err != nil {
			return err
		}
		if s.covered(t, scale) {
			continue
		}
		if i >= triesAtSize || s.tries >= most {
			s.cut = true
			break
		}
		s.tries++
		s.try(p, t)
	}
	// One of three corners may lie under dirt.
	open := slices.DeleteFunc(slices.Clone(found), func(f finder) bool { return s.inside(f.x*scale, f.y*scale) })
	for _, t := range p.lost(open) {
		if s.covered(t, scale) {
			continue
		}
		if s.tries++; s.tries > most {
			s.cut = true
			break
		}
		s.try(p, t)
	}
	s.rest = s.remain(found, triples, scale)
	return nil
}

// remain tells whether a size shows corners that may be those of a code that was not
// read there: three that fit well, or two by themselves, as of one with dirt on it.
func (s *search) remain(found []finder, triples []triple, scale float64) bool {
	for _, t := range triples {
		if t.sure > sureTriple && !s.covered(t, scale) {
			return true
		}
	}
	n := 0
	for _, f := range found {
		// Every second row goes through a square of three modules.
		if float64(f.rows) >= max(3, 1.2*f.module) && f.module > s.least/scale/2 && !s.inside(f.x*scale, f.y*scale) {
			n++
		}
	}
	return n > 1
}

// sureTriple is above what chance makes of texts and grain.
const sureTriple = 3

// try reads the symbol at three corners.
func (s *search) try(p *plane, t triple) {
	f, ok := p.fitted(t)
	if !ok {
		return
	}
	plain := f.modules()
	leveled := plain.sharper(0.4).level()
	text, ok := leveled.text()
	for _, k := range [...]float32{0, 1} {
		if !ok {
			text, ok = plain.sharper(k).level().text()
		}
	}
	if !ok && f.score > sureScore {
		_, text, ok = leveled.repaired()
	}
	if ok {
		c := f.place()
		c.Text = text
		s.found = append(s.found, c)
		s.where = append(s.where, f.edges())
		if m := c.Side / float64(f.size-7); s.least == 0 || m < s.least {
			s.least = m
		}
		return
	}
	s.keep(unread{modules: plain, at: f.edges(), score: f.score})
	if f.score > sureScore {
		for _, f := range [...]*finder{&t.tl, &t.tr, &t.bl} {
			f.x, f.y, f.module = f.x*p.scale, f.y*p.scale, f.module*p.scale
		}
		s.more = append(s.more, t)
	}
}

// place is where a symbol is in the picture, and how large.
func (f fit) place() Code {
	c, scale := f.at, f.plane.scale
	return Code{X: (c[2] + c[6]) / 2 * scale, Y: (c[3] + c[7]) / 2 * scale, Side: math.Hypot(c[2]-c[6], c[3]-c[7]) / math.Sqrt2 * scale}
}

// edges are where its corners are in the picture, and a module beyond.
func (f fit) edges() (at corners) {
	end := float64(f.size) + 1
	for i, v := range [...][2]float64{{-1, -1}, {end, -1}, {end, end}, {-1, end}} {
		x, y := f.warp.at(v[0], v[1])
		at[2*i], at[2*i+1] = x*f.plane.scale, y*f.plane.scale
	}
	return at
}

// sureScore is the share of known modules that lie right in what is a symbol for
// sure, whether it can be read or not.
const sureScore = 0.8

// covered tells whether two corners lie in codes that were read.
func (s *search) covered(t triple, scale float64) bool {
	n := 0
	for _, f := range [...]finder{t.tl, t.tr, t.bl} {
		if s.inside(f.x*scale, f.y*scale) {
			n++
		}
	}
	return n >= 2
}

// inside tells whether a place lies in a code that was read.
func (s *search) inside(x, y float64) bool {
	return slices.ContainsFunc(s.where, func(c corners) bool { return c.hold(x, y) })
}

// hold tells whether a place lies within corners that go round clockwise; rows grow
// downward.
func (c corners) hold(x, y float64) bool {
	for i := range 4 {
		j := (i + 1) % 4
		if (c[2*j]-c[2*i])*(y-c[2*i+1])-(c[2*j+1]-c[2*i+1])*(x-c[2*i]) < 0 {
			return false
		}
	}
	return true
}

// moved are corners so much further right and down.
func (c corners) moved(x, y float64) corners {
	for i := range 4 {
		c[2*i], c[2*i+1] = c[2*i]+x, c[2*i+1]+y
	}
	return c
}

// middle is the middle of two corners that face each other.
func (c corners) middle() (x, y float64) { return (c[2] + c[6]) / 2, (c[3] + c[7]) / 2 }

// softened gives each pixel the mean of itself and its eight neighbors.
func softened(m *image.Gray) *image.Gray {
	w, h := m.Rect.Dx(), m.Rect.Dy()
	out := image.NewGray(image.Rect(0, 0, w, h))
	for y := range h {
		up, on, down := m.Pix[max(0, y-1)*m.Stride:][:w], m.Pix[y*m.Stride:][:w], m.Pix[min(h-1, y+1)*m.Stride:][:w]
		column := func(x int) int { return int(up[x]) + int(on[x]) + int(down[x]) }
		a, b := column(0), column(0)
		for x := range w {
			c := column(min(w-1, x+1))
			out.Pix[y*w+x] = uint8((a + b + c + 4) / 9)
			a, b = b, c
		}
	}
	return out
}

// halved gives each pixel the mean of four.
func halved(m *image.Gray) *image.Gray {
	w, h := m.Rect.Dx()/2, m.Rect.Dy()/2
	out := image.NewGray(image.Rect(0, 0, w, h))
	for y := range h {
		a, b := m.Pix[2*y*m.Stride:][:2*w], m.Pix[(2*y+1)*m.Stride:][:2*w]
		for x := range w {
			out.Pix[y*w+x] = uint8((int(a[2*x]) + int(a[2*x+1]) + int(b[2*x]) + int(b[2*x+1]) + 2) / 4)
		}
	}
	return out
}

// doubled puts two pixels in place of each in both directions, by a cubic through
// the four nearest (Catmull and Rom).
func doubled(m *image.Gray) *image.Gray {
	w, h := m.Rect.Dx(), m.Rect.Dy()
	// Shares of the four, of 128, for what lies a quarter from the second.
	const a, b, c, d = -9, 111, 29, -3
	line := func(n int, at func(i int) int, set func(i, v int)) {
		for i := range n {
			p, q, r, s, t := at(max(0, i-2)), at(max(0, i-1)), at(i), at(min(n-1, i+1)), at(min(n-1, i+2))
			set(2*i, (d*p+c*q+b*r+a*s+64)>>7)
			set(2*i+1, (a*q+b*r+c*s+d*t+64)>>7)
		}
	}
	clamp := func(v int) uint8 { return uint8(min(255, max(0, v))) }
	wide := image.NewGray(image.Rect(0, 0, 2*w, h))
	for y := range h {
		in, out := m.Pix[y*m.Stride:], wide.Pix[y*wide.Stride:]
		line(w, func(i int) int { return int(in[i]) }, func(i, v int) { out[i] = clamp(v) })
	}
	out := image.NewGray(image.Rect(0, 0, 2*w, 2*h))
	for y := range h {
		rows := [5][]uint8{}
		for k := range rows {
			rows[k] = wide.Pix[min(h-1, max(0, y+k-2))*wide.Stride:][:2*w]
		}
		up, down := out.Pix[2*y*out.Stride:][:2*w], out.Pix[(2*y+1)*out.Stride:][:2*w]
		for x := range up {
			p, q, r, s, t := int(rows[0][x]), int(rows[1][x]), int(rows[2][x]), int(rows[3][x]), int(rows[4][x])
			up[x] = clamp((d*p + c*q + b*r + a*s + 64) >> 7)
			down[x] = clamp((a*q + b*r + c*s + d*t + 64) >> 7)
		}
	}
	return out
}
