package scan

import (
	"cmp"
	"math"
	"slices"
	"strings"

	"github.com/makiuchi-d/gozxing"
	"github.com/makiuchi-d/gozxing/common/reedsolomon"
	"github.com/makiuchi-d/gozxing/qrcode/decoder"
)

// What stands in a symbol with too much dirt on it is often known all the same: dirt
// comes in specks. A block of codewords that is read tells which of its modules were
// wrong, and so where specks lie; the codewords under them are left out of the blocks
// beside it, which then need half as many others to be right (erasures, of ISO/IEC
// 18004 and of any book on Reed-Solomon codes).

// repaired is the text of leveled modules of which too many are wrong to be read as
// they are. Only plain ASCII is taken, which everything is that is printed here: what
// was put right by chance hardly ever is.
func (s shades) repaired() (w *worn, text string, ok bool) {
	bits := s.bits()
	parser, err := decoder.NewBitMatrixParser(bits)
	if err != nil {
		return nil, "", false
	}
	format, err := parser.ReadFormatInformation()
	if err != nil {
		return nil, "", false
	}
	version, err := decoder.Version_GetVersionForNumber((s.size - 17) / 4)
	if err != nil {
		return nil, "", false
	}
	level := format.GetErrorCorrectionLevel()
	w = newWorn(s, version, format.GetDataMask(), level)
	data, ok := w.read()
	if !ok {
		return nil, "", false
	}
	read, err := decoder.DecodedBitStreamParser_Decode(data, version, level, nil)
	if err != nil || strings.ContainsFunc(read.GetText(), func(r rune) bool { return r != '\n' && (r < ' ' || r > '~') }) {
		return nil, "", false
	}
	return w, read.GetText(), true
}

// typical is how far from half way leveled modules mostly are.
func (s shades) typical() (mean float64) {
	for _, v := range s.v {
		mean += math.Abs(float64(v)) / float64(len(s.v))
	}
	return mean
}

// worn is a symbol that is read block by block.
type worn struct {
	shades
	usual  float64 // how far from half way a module mostly is
	dark   []bool  // as it was read
	state  []state
	cells  [][8]int // the modules of each codeword, as they are laid into the symbol
	mask   []bool   // modules that the mask turns round
	blocks []block
}

// state is what is known of how a module was read.
type state uint8

const (
	open state = iota
	right
	wrong
)

// block is codewords that are repaired together: the data, then what repairs them.
type block struct {
	at   []int // which codewords of the symbol
	data int
	done []byte // as they should be
}

func newWorn(s shades, v *decoder.Version, mask byte, level decoder.ErrorCorrectionLevel) *worn {
	n := s.size
	w := &worn{shades: s, usual: s.typical(), dark: make([]bool, n*n), state: make([]state, n*n), mask: make([]bool, n*n)}
	for i, v := range s.v {
		w.dark[i] = v < 0
	}
	turned, _ := gozxing.NewSquareBitMatrix(n)
	decoder.DataMaskValues[mask].UnmaskBitMatrix(turned, n)
	for y := range n {
		for x := range n {
			w.mask[y*n+x] = turned.Get(x, y)
		}
	}
	fixed := fixedModules(v)
	// Two columns at a time from the right, up and down in turn; the timing pattern's
	// column is none.
	var cell [8]int
	k, up := 0, true
	for x := n - 1; x > 0; x -= 2 {
		if x == 6 {
			x--
		}
		for i := range n {
			y := i
			if up {
				y = n - 1 - i
			}
			for _, x := range [...]int{x, x - 1} {
				if fixed[y*n+x] {
					continue
				}
				cell[k%8] = y*n + x
				if k++; k%8 == 0 {
					w.cells = append(w.cells, cell)
				}
			}
		}
		up = !up
	}
	w.known(v)
	// Codewords of the blocks lie in turn, first all data, and the longer blocks come
	// last.
	ecc := v.GetECBlocksForLevel(level)
	longest := 0
	for _, b := range ecc.GetECBlocks() {
		for range b.GetCount() {
			w.blocks = append(w.blocks, block{data: b.GetDataCodewords()})
			longest = max(longest, b.GetDataCodewords())
		}
	}
	at := 0
	for i := range longest {
		for b := range w.blocks {
			if i < w.blocks[b].data {
				w.blocks[b].at = append(w.blocks[b].at, at)
				at++
			}
		}
	}
	for range ecc.GetECCodewordsPerBlock() {
		for b := range w.blocks {
			w.blocks[b].at = append(w.blocks[b].at, at)
			at++
		}
	}
	return w
}

// fixedModules are those that hold no codeword.
func fixedModules(v *decoder.Version) []bool {
	n := v.GetDimensionForVersion()
	fixed := make([]bool, n*n)
	fill := func(x, y, w, h int) {
		for v := y; v < y+h; v++ {
			for u := x; u < x+w; u++ {
				fixed[v*n+u] = true
			}
		}
	}
	// The corners with what says which level and mask, the timing patterns, the
	// alignment patterns, and from version 7 on what says which version.
	fill(0, 0, 9, 9)
	fill(n-8, 0, 8, 9)
	fill(0, n-8, 9, 8)
	fill(0, 6, n, 1)
	fill(6, 0, 1, n)
	centers := v.GetAlignmentPatternCenters()
	last := len(centers) - 1
	for i, y := range centers {
		for j, x := range centers {
			if !(i == 0 && (j == 0 || j == last) || i == last && j == 0) {
				fill(x-2, y-2, 5, 5)
			}
		}
	}
	if v.GetVersionNumber() >= 7 {
		fill(n-11, 0, 3, 6)
		fill(0, n-11, 6, 3)
	}
	return fixed
}

// known compares the modules that are the same in every symbol.
func (w *worn) known(v *decoder.Version) {
	g := newGrid(nil, v.GetVersionNumber(), corners{})
	for i, dark := range g.dark {
		at := int(g.known[2*i+1])*w.size + int(g.known[2*i])
		w.state[at] = right
		if w.dark[at] != dark {
			w.state[at] = wrong
		}
	}
}

// codeword is as it was read.
func (w *worn) codeword(i int) (c byte) {
	for _, at := range w.cells[i] {
		c <<= 1
		if w.dark[at] != w.mask[at] {
			c |= 1
		}
	}
	return c
}

// read repairs one block after the other, each with what the others have told.
func (w *worn) read() ([]byte, bool) {
	left := len(w.blocks)
	for more := true; more && left > 0; {
		more = false
		for i := range w.blocks {
			b := &w.blocks[i]
			if b.done == nil && w.repair(b) {
				left--
				more = true
			}
		}
	}
	if left > 0 {
		return nil, false
	}
	var data []byte
	for _, b := range w.blocks {
		data = append(data, b.done[:b.data]...)
	}
	return data, true
}

// spare is how many of a block's codewords for repair are left to tell a right repair
// from a wrong one, and two thirds of them is the most that are left out: of a block
// that holds anything else chance passes about once in a million.
const spare = 2

// repair leaves out more and more of the codewords that are likely to be wrong.
func (w *worn) repair(b *block) bool {
	n, checks := len(b.at), len(b.at)-b.data
	received := make([]byte, n)
	doubt := make([]float64, n)
	order := make([]int, n)
	for i, at := range b.at {
		received[i], order[i] = w.codeword(at), i
		doubt[i] = w.doubt(at)
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(doubt[b], doubt[a]) })
	for left := 0; left <= checks*2/3; left += 2 {
		fixed, ok := solved(received, checks, order[:left], (checks-left-min(left, spare))/2)
		if !ok {
			continue
		}
		b.done = fixed
		for i, at := range b.at {
			for bit, m := range w.cells[at] {
				w.state[m] = right
				if (received[i]^fixed[i])>>(7-bit)&1 == 1 {
					w.state[m] = wrong
				}
			}
		}
		return true
	}
	return false
}

// doubt is how likely a codeword was read wrong, for putting them in order.
func (w *worn) doubt(i int) float64 {
	sound := 1.0
	for _, m := range w.cells[i] {
		sound *= 1 - w.doubted(m)
	}
	return 1 - sound
}

// doubted is that of a module: it is little lighter or darker than what is around it,
// or looks like a wrong one near it.
func (w *worn) doubted(m int) float64 {
	n := w.size
	p := 0.02
	if v := math.Abs(float64(w.v[m])) / w.usual; v < 0.7 {
		p += 0.5 * (1 - v/0.7)
	}
	x, y := m%n, m/n
	const reach = 2
	for v := max(0, y-reach); v <= min(n-1, y+reach); v++ {
		for u := max(0, x-reach); u <= min(n-1, x+reach); u++ {
			at := v*n + u
			if w.state[at] == open || w.dark[at] != w.dark[m] || at == m {
				continue
			}
			d := math.Hypot(float64(u-x), float64(v-y))
			if w.state[at] == wrong {
				p += 0.5 / (d * d)
			} else if d == 1 {
				p *= 0.8
			}
		}
	}
	return min(p, 0.9)
}

var field = reedsolomon.GenericGF_QR_CODE_FIELD_256

// solved repairs a block whose last codewords are checks: those left out, and at most
// so many others. Syndromes, the polynomial of what is left out, Berlekamp and Massey's
// search for that of the others, and Forney's values (Blahut, Algebraic Codes for Data
// Transmission, 2003, sections 7.2 to 7.5; from memory).
func solved(received []byte, checks int, out []int, most int) ([]byte, bool) {
	n := len(received)
	mul := field.Multiply
	power := func(i int) int { return field.Exp(((i % 255) + 255) % 255) }
	syndromes := func(c []byte) (s []int, clean bool) {
		s, clean = make([]int, checks), true
		for k := range s {
			x, sum := power(k), 0
			for _, c := range c {
				sum = mul(sum, x) ^ int(c)
			}
			s[k] = sum
			clean = clean && sum == 0
		}
		return s, clean
	}
	s, clean := syndromes(received)
	if clean {
		return slices.Clone(received), true
	}
	// Polynomials from the lowest power up. A codeword's place is counted from the end.
	locator := []int{1}
	for _, i := range out {
		locator = times(locator, []int{1, power(n - 1 - i)})
	}
	// Berlekamp and Massey begin with what is left out.
	before, gap, length := slices.Clone(locator), 1, len(out)
	last := 1
	for k := len(out); k < checks; k++ {
		d := 0
		for i := 0; i < len(locator) && i <= k; i++ {
			d ^= mul(locator[i], s[k-i])
		}
		if d == 0 {
			gap++
			continue
		}
		inverse, _ := field.Inverse(last)
		next := slices.Clone(locator)
		factor := mul(d, inverse)
		for len(next) < len(before)+gap {
			next = append(next, 0)
		}
		for i, c := range before {
			next[i+gap] ^= mul(factor, c)
		}
		if 2*length <= k+len(out) {
			before, last, length, gap = locator, d, k+1+len(out)-length, 1
		} else {
			gap++
		}
		locator = next
	}
	for len(locator) > 1 && locator[len(locator)-1] == 0 {
		locator = locator[:len(locator)-1]
	}
	if len(locator)-1 != length || length-len(out) > most {
		return nil, false
	}
	value := times(s, locator)[:checks]
	fixed := slices.Clone(received)
	roots := 0
	for i := range n {
		x := power(n - 1 - i)
		inverse := power(-(n - 1 - i))
		if at(locator, inverse) != 0 {
			continue
		}
		roots++
		// The derivative has the odd powers alone.
		slope := 0
		for k := 1; k < len(locator); k += 2 {
			slope ^= mul(locator[k], power((k-1)*-(n-1-i)))
		}
		under, err := field.Inverse(slope)
		if err != nil {
			return nil, false
		}
		fixed[i] ^= byte(mul(mul(x, at(value, inverse)), under))
	}
	if roots != length {
		return nil, false
	}
	if _, clean := syndromes(fixed); !clean {
		return nil, false
	}
	return fixed, true
}

// times is the product of two polynomials.
func times(a, b []int) []int {
	out := make([]int, len(a)+len(b)-1)
	for i, x := range a {
		for j, y := range b {
			out[i+j] ^= field.Multiply(x, y)
		}
	}
	return out
}

// at is the value of a polynomial.
func at(p []int, x int) (sum int) {
	for _, c := range slices.Backward(p) {
		sum = field.Multiply(sum, x) ^ c
	}
	return sum
}
