package layout

import (
	"fmt"
	"math"
	"sync"

	"rsc.io/qr/coding"
)

// How a QR symbol gets its modules (ISO/IEC 18004; secondary): the payload as bytes, and of
// the eight masks the one with the least penalty, the first of as good ones. The library
// makes the codewords and places them. Which mask is best it leaves to its user: they are
// weighed here.

// frame is what the symbols of a version and level have in common: for each mask the
// modules that are dark while all codewords are 0, row by row.
type frame struct {
	plan  *coding.Plan // of mask 0
	masks [masks][]byte
}

const masks = 8

type frameKey struct {
	version coding.Version
	level   coding.Level
}

var frames sync.Map // frameKey -> *frame

// frameFor is the frame of a version and level, made once.
func frameFor(version coding.Version, level coding.Level) (*frame, error) {
	key := frameKey{version, level}
	if f, ok := frames.Load(key); ok {
		return f.(*frame), nil
	}
	f := new(frame)
	for mask := range f.masks {
		p, err := coding.NewPlan(version, level, coding.Mask(mask))
		if err != nil {
			return nil, err
		}
		if mask == 0 {
			f.plan = p
		}
		f.masks[mask] = make([]byte, 0, len(p.Pixel)*len(p.Pixel))
		for _, row := range p.Pixel {
			for _, pixel := range row {
				f.masks[mask] = append(f.masks[mask], byte(pixel&coding.Black))
			}
		}
	}
	frames.Store(key, f)
	return f, nil
}

// modulesOf are the modules of a payload's symbol of so many modules on a side, 1 for a
// dark one, row by row.
func modulesOf(payload string, n int, level Level) ([]byte, error) {
	f, err := frameFor(coding.Version((n-17)/4), [...]coding.Level{coding.M, coding.Q, coding.H}[level])
	if err != nil {
		return nil, err
	}
	code, err := f.plan.Encode(coding.String(payload))
	if err != nil {
		return nil, err
	}
	if code.Size != n {
		return nil, fmt.Errorf("it came out %d modules wide, not %d", code.Size, n)
	}
	bare := make([]byte, n*n) // codewords alone
	for y := range n {
		for x := range n {
			bare[y*n+x] = code.Bitmap[y*code.Stride+x/8]>>(7-x%8)&1 ^ f.masks[0][y*n+x]
		}
	}
	best, try, least := make([]byte, n*n), make([]byte, n*n), math.MaxInt
	for _, mask := range f.masks {
		for i, m := range mask {
			try[i] = bare[i] ^ m
		}
		if p := penalty(try, n); p < least {
			best, try, least = try, best, p
		}
	}
	return best, nil
}

// penalty of n by n modules: 3 for five of a color in a row or column and 1 for each more;
// 3 for each square of four; 40 for what looks like a finder pattern with light at one
// side; 10 for each twentieth by which dark and light are not even.
func penalty(modules []byte, n int) (sum int) {
	const finderBefore, finderBehind = 0b10111010000, 0b00001011101
	line := func(from, step int) {
		run, last, seen := 0, byte(2), 0
		for j := range n {
			m := modules[from+j*step]
			if m != last {
				if run >= 5 {
					sum += run - 2
				}
				run, last = 0, m
			}
			run++
			if seen = seen<<1&0x7FF | int(m); j >= 10 && (seen == finderBefore || seen == finderBehind) {
				sum += 40
			}
		}
		if run >= 5 {
			sum += run - 2
		}
	}
	dark := 0
	for i := range n {
		line(i*n, 1)
		line(i, n)
		row := modules[i*n : (i+1)*n]
		for _, m := range row {
			dark += int(m)
		}
		if i == 0 {
			continue
		}
		above := modules[(i-1)*n : i*n]
		for j := range n - 1 {
			if four := row[j] + row[j+1] + above[j] + above[j+1]; four == 0 || four == 4 {
				sum += 3
			}
		}
	}
	twentieths := float64(dark) * 20 / float64(n*n)
	return sum + int(10*min(math.Abs(math.Floor(twentieths)-10), math.Abs(math.Ceil(twentieths)-10)))
}
