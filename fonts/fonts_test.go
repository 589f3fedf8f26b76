package fonts_test

import (
	"bytes"
	"math"
	"strings"
	"sync"
	"testing"

	"github.com/go-pdf/fpdf"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/image/font"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"
	"pgregory.net/rapid"

	"slotcard/fonts"
)

// The measures of the files, read by golang.org/x/image/font/sfnt.
func TestMeasures(t *testing.T) {
	for _, f := range fonts.All() {
		t.Run(f.String(), func(t *testing.T) {
			file, err := sfnt.Parse(f.Data())
			require.NoError(t, err)
			var buf sfnt.Buffer
			em := file.UnitsPerEm()
			require.EqualValues(t, 1000, em)
			m, err := file.Metrics(&buf, fixed.I(int(em)), font.HintingNone)
			require.NoError(t, err)
			units := func(v fixed.Int26_6) float64 { return float64(v) / 64 / float64(em) }
			capHeight := fonts.CapMM(1 / fonts.PointMM)
			assert.InDelta(t, capHeight, units(m.CapHeight), 1e-9)
			// And as drawn: a flat-topped capital is as high as the file says.
			index, err := file.GlyphIndex(&buf, 'H')
			require.NoError(t, err)
			bounds, _, err := file.GlyphBounds(&buf, index, fixed.I(int(em)), font.HintingNone)
			require.NoError(t, err)
			assert.InDelta(t, capHeight, -units(bounds.Min.Y), 0.002)
			assert.InDelta(t, 0, units(bounds.Max.Y), 0.002)
		})
	}
}

func TestMonoIsTabular(t *testing.T) {
	for _, f := range []fonts.Face{fonts.Mono, fonts.MonoBold} {
		for r := ' '; r <= '~'; r++ {
			assert.InDelta(t, 0.632, f.Width(string(r), 1)/fonts.PointMM, 1e-9, "%s %q", f, r)
		}
	}
	assert.NotEqual(t, fonts.Regular.Width("1", 1), fonts.Regular.Width("0", 1), "digits of Next are not tabular: numbers go in Mono")
}

// github.com/go-pdf/fpdf, which writes the paper, measures as we do.
func TestWidthsAreThoseOfThePaper(t *testing.T) {
	pdf := fpdf.NewCustom(&fpdf.InitType{OrientationStr: "P", UnitStr: "mm"})
	for _, f := range fonts.All() {
		pdf.AddUTF8FontFromBytes(f.String(), "", bytes.Clone(f.Data()))
	}
	pdf.AddPage()
	alphabet := []rune(drawn)
	rapid.Check(t, func(r *rapid.T) {
		f := rapid.SampledFrom(fonts.All()).Draw(r, "face")
		pt := rapid.Float64Range(4, 200).Draw(r, "pt")
		s := string(rapid.SliceOfN(rapid.SampledFrom(alphabet), 0, 40).Draw(r, "text"))
		pdf.SetFont(f.String(), "", pt)
		require.NoError(r, pdf.Error())
		assert.InDelta(r, pdf.GetStringWidth(s), f.Width(s, pt), 1e-6*pt, "%q in %s", s, f)
	})
}

// drawn is what texts may hold beside letters with marks.
var drawn = ascii() + "ÀÉÑÖØßàéñöøÿ×÷–—−°½…•±≤≥Ω"

func ascii() string {
	var b strings.Builder
	for r := ' '; r <= '~'; r++ {
		b.WriteRune(r)
	}
	return b.String()
}

func TestCoverage(t *testing.T) {
	for _, r := range drawn {
		assert.True(t, fonts.Prints(r), "%q", r)
	}
	for r := rune(0xA0); r <= 0xFF; r++ {
		assert.Equal(t, r != 0xAD && r != 0xB5, fonts.Prints(r), "Latin-1 %U %q", r, r)
	}
	for _, f := range fonts.All() {
		n := 0
		for r := rune(0x100); r < 0x180; r++ {
			if f.Has(r) {
				n++
			}
		}
		assert.Equal(t, 93, n, "Latin Extended-A in %s", f)
	}
	for _, r := range "→←↑↓✓✔▲●○■□′″\t\n\x00\x7f\u00ad\u200b\u2011\U0001F525" {
		assert.False(t, fonts.Prints(r), "%q", r)
	}
	for _, f := range fonts.All() {
		assert.False(t, f.Has(-1))
		assert.False(t, f.Has(math.MaxInt32))
	}
}

// Zero is slashed, so it is not the O, and other pairs that are taken for each
// other differ in their outline.
func TestLookalikesDiffer(t *testing.T) {
	for _, f := range fonts.All() {
		file, err := sfnt.Parse(f.Data())
		require.NoError(t, err)
		shape := func(r rune) (int, fixed.Rectangle26_6) {
			var buf sfnt.Buffer
			index, err := file.GlyphIndex(&buf, r)
			require.NoError(t, err)
			s, err := file.LoadGlyph(&buf, index, fixed.I(1000), nil)
			require.NoError(t, err)
			contours := 0
			for _, seg := range s {
				if seg.Op == sfnt.SegmentOpMoveTo {
					contours++
				}
			}
			return contours, s.Bounds()
		}
		zero, _ := shape('0')
		o, _ := shape('O')
		assert.Greater(t, zero, o, "%s: zero has a slash", f)
		for _, pair := range []string{"1l", "1I", "lI", "B8", "5S", "2Z"} {
			a, b := rune(pair[0]), rune(pair[1])
			ca, ba := shape(a)
			cb, bb := shape(b)
			assert.False(t, ca == cb && ba == bb, "%s: %q and %q", f, a, b)
		}
	}
}

func TestWidth(t *testing.T) {
	assert.InDelta(t, 0, fonts.Regular.Width("", 12), 0)
	assert.InDelta(t, 10*0.632*12*25.4/72, fonts.Mono.Width("0123456789", 12), 1e-9, "ten advances of 632 at 12 pt")
	assert.InDelta(t, 12*25.4/72, fonts.Regular.Width("→", 12), 1e-9, "what is lacking counts an em")
	rapid.Check(t, func(r *rapid.T) {
		f := rapid.SampledFrom(fonts.All()).Draw(r, "face")
		a, b := rapid.StringMatching(`[ -~]*`).Draw(r, "a"), rapid.StringMatching(`[ -~]*`).Draw(r, "b")
		assert.InDelta(r, f.Width(a, 9)+f.Width(b, 9), f.Width(a+b, 9), 1e-9, "no kerning: runs can be set piece by piece")
		assert.InDelta(r, 2*f.Width(a, 9), f.Width(a, 18), 1e-9)
	})
}

func TestSizeForCap(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		mm := rapid.Float64Range(0.5, 100).Draw(r, "mm")
		pt := fonts.SizeForCap(mm)
		assert.GreaterOrEqual(r, fonts.CapMM(pt), mm-1e-9)
		assert.Less(r, fonts.CapMM(pt-0.01), mm, "no larger than it must be")
		assert.InDelta(r, math.Round(pt*100), pt*100, 1e-6, "a PDF says sizes with two decimals")
	})
	// 2.3 mm are 2.3 / 25.4 x 72 / 0.668 = 9.76001 pt: up to the next hundredth.
	assert.InDelta(t, 9.77, fonts.SizeForCap(2.3), 1e-9)
}

func TestFromManyGoroutines(t *testing.T) {
	var wg sync.WaitGroup
	widths := make([]float64, 8)
	for i := range widths {
		wg.Go(func() { widths[i] = fonts.Bold.Width("Ω QB TAC 4 →", 10) })
	}
	wg.Wait()
	for _, w := range widths {
		assert.InDelta(t, widths[0], w, 0)
	}
}

func TestLicenseComesAlong(t *testing.T) {
	for _, f := range fonts.All() {
		file, err := sfnt.Parse(f.Data())
		require.NoError(t, err)
		family, err := file.Name(nil, sfnt.NameIDFamily)
		require.NoError(t, err)
		assert.Contains(t, family, "Atkinson Hyperlegible")
		license, err := file.Name(nil, sfnt.NameIDLicense)
		require.NoError(t, err)
		assert.Contains(t, license, "SIL Open Font License, Version 1.1")
	}
}

func BenchmarkWidth(b *testing.B) {
	b.ReportAllocs()
	for b.Loop() {
		fonts.Regular.Width("Bellwether, tone 5, Division A left flank", 9.5)
	}
}
