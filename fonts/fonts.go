// Package fonts embeds the typefaces of the paper and measures text with their
// real metrics. Start with [Face].
//
// Atkinson Hyperlegible is made for low vision: zero is slashed, and 1 l I,
// O 0, B 8 differ without any feature switched on. License: SIL Open Font
// License 1.1, data/OFL-Next.txt and data/OFL-Mono.txt.
package fonts

import (
	_ "embed"
	"math"
	"sync"
	"sync/atomic"

	"golang.org/x/image/font"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"
)

// Face is one of the embedded typefaces.
type Face uint8

const (
	Regular  Face = iota // Atkinson Hyperlegible Next
	Bold                 // Atkinson Hyperlegible Next Bold
	Mono                 // Atkinson Hyperlegible Mono: tabular, for names, frequencies and codes
	MonoBold             // Atkinson Hyperlegible Mono Bold
	faceCount
)

var (
	//go:embed data/AtkinsonHyperlegibleNext-Regular.ttf
	nextRegular []byte
	//go:embed data/AtkinsonHyperlegibleNext-Bold.ttf
	nextBold []byte
	//go:embed data/AtkinsonHyperlegibleMono-Regular.ttf
	monoRegular []byte
	//go:embed data/AtkinsonHyperlegibleMono-Bold.ttf
	monoBold []byte
)

var faceNames = [...]string{"AtkinsonNext", "AtkinsonNext-Bold", "AtkinsonMono", "AtkinsonMono-Bold"}

// All faces.
func All() []Face { return []Face{Regular, Bold, Mono, MonoBold} }

func (f Face) String() string { return faceNames[f] }

// Data is the TrueType file of the face. Do not change it.
func (f Face) Data() []byte { return [...][]byte{nextRegular, nextBold, monoRegular, monoBold}[f] }

// capHeight is that of capitals in all faces, as a part of the em (read from the files
// by the package's test).
const capHeight = 0.668

// PointMM is a point in millimeters: 1/72 inch.
const PointMM = 25.4 / 72

// SizeForCap is the smallest size in points, rounded up to 0.01 pt, whose
// capitals are at least mm millimeters high.
func SizeForCap(mm float64) float64 {
	return math.Ceil(mm/capHeight/PointMM*100-1e-9) / 100
}

// CapMM is the height of capitals at a size in points, in millimeters.
func CapMM(pt float64) float64 { return pt * capHeight * PointMM }

// latin bounds the runes whose advances are kept in a table: all of Latin
// Extended-B and below. What lies beyond is looked up when it is asked for.
const latin = 0x250

type metrics struct {
	font *sfnt.Font

	measuring sync.Mutex
	buf       sfnt.Buffer // of what is measured

	advance [latin]int16 // 1/1000 em; -1: no glyph
	beyond  sync.Map     // rune -> int16
	ink     sync.Map     // rune -> [2]int16, of those beyond: above and below the baseline, 1/1000 em

	// Of those in the table: 1, then both in 16 bits each; 0
	// is not known yet.
	common [latin]atomic.Uint64
}

var loaded [faceCount]struct {
	once sync.Once
	m    *metrics
}

func (f Face) metrics() *metrics {
	l := &loaded[f]
	l.once.Do(func() {
		font, err := sfnt.Parse(f.Data())
		if err != nil {
			panic("fonts: embedded face " + f.String() + ": " + err.Error()) // our own file
		}
		l.m = &metrics{font: font}
		for r := range l.m.advance {
			l.m.advance[r] = l.m.measure(rune(r))
		}
	})
	return l.m
}

func (m *metrics) measure(r rune) int16 {
	m.measuring.Lock()
	defer m.measuring.Unlock()
	units := m.font.UnitsPerEm()
	g, err := m.font.GlyphIndex(&m.buf, r)
	if err != nil || g == 0 {
		return -1
	}
	a, err := m.font.GlyphAdvance(&m.buf, g, fixed.I(int(units)), font.HintingNone)
	if err != nil {
		return -1
	}
	return int16(math.Round(float64(a) / 64 * 1000 / float64(units)))
}

func (m *metrics) of(r rune) int16 {
	if r >= 0 && r < latin {
		return m.advance[r]
	}
	if a, ok := m.beyond.Load(r); ok {
		return a.(int16)
	}
	a := m.measure(r)
	m.beyond.Store(r, a)
	return a
}

// Ready measures the usual characters of all faces, so that whoever sets type need not
// wait.
func Ready() {
	for _, f := range All() {
		m := f.metrics()
		for r := ' '; r <= '~'; r++ {
			m.inkOf(r)
		}
	}
}

// Has tells whether the face draws a character: control characters and what
// lies above U+FFFF it never does.
func (f Face) Has(r rune) bool { return r >= ' ' && r != 0x7F && r <= 0xFFFD && f.metrics().of(r) >= 0 }

// Prints tells whether every face draws a character.
func Prints(r rune) bool {
	for _, f := range All() {
		if !f.Has(r) {
			return false
		}
	}
	return true
}

// Width of a text in millimeters at a size in points. Characters that the face
// lacks count an em: callers check with [Prints] before anything reaches paper.
func (f Face) Width(s string, pt float64) float64 {
	m, sum := f.metrics(), 0
	for _, r := range s {
		var a int16
		if r < latin { // no text has a negative one
			a = m.advance[r]
		} else {
			a = m.of(r)
		}
		if a < 0 {
			a = 1000
		}
		sum += int(a)
	}
	return float64(sum) / 1000 * pt * PointMM
}

// Rise is how far the ink of a text reaches above and below its baseline, in
// millimeters at a size in points: accents on capitals and the tails of letters.
// Neither is negative.
func (f Face) Rise(s string, pt float64) (up, down float64) {
	m := f.metrics()
	var most [2]int16
	for _, r := range s {
		ink := m.inkOf(r)
		most[0], most[1] = max(most[0], ink[0]), max(most[1], ink[1])
	}
	mm := pt * PointMM / 1000
	return float64(most[0]) * mm, float64(most[1]) * mm
}

func (m *metrics) inkOf(r rune) [2]int16 {
	if r < 0 || int(r) >= len(m.common) {
		if ink, ok := m.ink.Load(r); ok {
			return ink.([2]int16)
		}
		ink := m.measureInk(r)
		m.ink.Store(r, ink)
		return ink
	}
	if ink := m.common[r].Load(); ink != 0 {
		return [2]int16{int16(ink >> 16), int16(ink)}
	}
	ink := m.measureInk(r)
	m.common[r].Store(1<<32 | uint64(uint16(ink[0]))<<16 | uint64(uint16(ink[1])))
	return ink
}

func (m *metrics) measureInk(r rune) (ink [2]int16) {
	m.measuring.Lock()
	defer m.measuring.Unlock()
	units := m.font.UnitsPerEm()
	if g, err := m.font.GlyphIndex(&m.buf, r); err == nil && g != 0 {
		if b, _, err := m.font.GlyphBounds(&m.buf, g, fixed.I(int(units)), font.HintingNone); err == nil {
			of := func(v fixed.Int26_6) int16 { return int16(math.Ceil(float64(v) / 64 * 1000 / float64(units))) }
			ink = [2]int16{max(0, of(-b.Min.Y)), max(0, of(b.Max.Y))}
		}
	}
	return ink
}
