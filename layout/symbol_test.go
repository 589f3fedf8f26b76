package layout

import (
	"encoding/csv"
	"fmt"
	"image"
	"image/color"
	"math/rand/v2"
	"os"
	"strconv"
	"strings"
	"sync"
	"testing"

	"github.com/boombuler/barcode/qr"
	"github.com/makiuchi-d/gozxing"
	"github.com/makiuchi-d/gozxing/qrcode"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

var levels = []Level{LevelM, LevelQ, LevelH}

// ../testdata/qr_capacity.csv holds the tables of ISO/IEC 18004 as three
// independent encoders have them; its columns source and how say more.
func capacities(t *testing.T) []map[string]int {
	f, err := os.Open("../testdata/qr_capacity.csv")
	require.NoError(t, err)
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	require.NoError(t, err)
	var out []map[string]int
	for _, row := range rows[1:] {
		m := map[string]int{}
		for i, name := range rows[0][:11] {
			m[name], err = strconv.Atoi(row[i])
			require.NoError(t, err)
		}
		out = append(out, m)
	}
	require.Len(t, out, 40)
	return out
}

func TestCapacity(t *testing.T) {
	for i, row := range capacities(t) {
		for _, level := range levels {
			most := row["bytes_"+level.String()]
			size, ok := SymbolSize(strings.Repeat("x", most), level)
			require.True(t, ok)
			assert.Equal(t, row["modules"], size, "version %d at %s holds %d bytes", i+1, level, most)
			size, ok = SymbolSize(strings.Repeat("x", most+1), level)
			assert.Equal(t, i < 39, ok)
			if ok {
				assert.Equal(t, row["modules"]+4, size, "version %d at %s holds no more than %d bytes", i+1, level, most)
			}
		}
	}
}

// The encoder keeps to the table too: full symbols and those of one byte more.
func TestEncodeFullSymbols(t *testing.T) {
	for _, i := range []int{0, 6, 9, 26, 39} { // where the count grows, where version information begins, the last
		row := capacities(t)[i]
		for _, level := range levels {
			most := row["bytes_"+level.String()]
			s, err := EncodeSymbol(strings.Repeat("Q", most), level)
			require.NoError(t, err)
			assert.Equal(t, row["modules"], s.Size)
			assert.Equal(t, strings.Repeat("Q", most), read(t, s))
			s, err = EncodeSymbol(strings.Repeat("Q", most+1), level)
			if i == 39 {
				require.Error(t, err)
				assert.Contains(t, err.Error(), strconv.Itoa(most), "says how much it holds")
				assert.Contains(t, err.Error(), strconv.Itoa(most+1), "says how much it was")
				assert.NotContains(t, err.Error(), "QQ", "does not repeat the text")
			} else {
				require.NoError(t, err)
				assert.Equal(t, row["modules"]+4, s.Size)
			}
		}
	}
}

// read decodes a symbol, drawn at three pixels a module within its quiet zone,
// by an independent decoder, github.com/makiuchi-d/gozxing.
func read(t require.TestingT, s *Symbol) string {
	const scale = 3
	side := (s.Size + 2*QuietModules) * scale
	img := image.NewGray(image.Rect(0, 0, side, side))
	for y := range side {
		for x := range side {
			v := uint8(255)
			if s.Dark(x/scale-QuietModules, y/scale-QuietModules) {
				v = 0
			}
			img.SetGray(x, y, color.Gray{Y: v})
		}
	}
	bits, err := gozxing.NewBinaryBitmapFromImage(img)
	require.NoError(t, err)
	r, err := qrcode.NewQRCodeReader().Decode(bits, map[gozxing.DecodeHintType]any{gozxing.DecodeHintType_PURE_BARCODE: true})
	require.NoError(t, err)
	assert.Equal(t, s.Level.String(), r.GetResultMetadata()[gozxing.ResultMetadataType_ERROR_CORRECTION_LEVEL])
	return r.GetText()
}

func TestSymbolsAreRead(t *testing.T) {
	payload := rapid.StringMatching(`[ -~\n]{1,400}`)
	rapid.Check(t, func(r *rapid.T) {
		p := payload.Draw(r, "payload")
		s, err := EncodeSymbol(p, rapid.SampledFrom(levels).Draw(r, "level"))
		require.NoError(r, err)
		assert.Equal(r, p, s.Payload)
		assert.Equal(r, p, read(r, s))
	})
}

// Another encoder, github.com/boombuler/barcode, makes the same modules, with the same mask,
// of payloads that fill symbols of all kinds of sizes, and of such as repeat themselves.
func TestSymbolsAsAnotherEncoderMakesThem(t *testing.T) {
	other := [...]qr.ErrorCorrectionLevel{qr.M, qr.Q, qr.H}
	rng := rand.New(rand.NewPCG(1, 2))
	masks := map[string]bool{} // by the format information beside the finder pattern
	for i, length := range []int{1, 14, 20, 40, 62, 77, 90, 110, 130, 151, 170, 200, 213, 250, 280, 310, 340, 391, 450, 600, 900, 1273} {
		random := make([]byte, length)
		for i := range random {
			random[i] = byte(' ' + rng.IntN('~'-' '+1))
		}
		for _, payload := range []string{string(random), strings.Repeat("TAC:A ", length)[:length]} {
			level := levels[i%len(levels)]
			s, err := EncodeSymbol(payload, level)
			require.NoError(t, err)
			code, err := qr.Encode(payload, other[level], qr.Unicode)
			require.NoError(t, err)
			require.Equal(t, code.Bounds().Dx(), s.Size)
			var format strings.Builder
			for y := range s.Size {
				for x := range s.Size {
					r, _, _, _ := code.At(x, y).RGBA()
					if s.Dark(x, y) != (r == 0) {
						t.Fatalf("%d bytes at %s: another module in column %d of row %d", length, level, x, y)
					}
				}
				if y == 8 {
					for x := range 6 {
						fmt.Fprint(&format, s.Dark(x, y))
					}
				}
			}
			masks[level.String()+format.String()] = true
		}
	}
	assert.Greater(t, len(masks), 12, "different masks are best")
}

// Finder patterns stand in three corners, and around the symbol nothing is
// dark (ISO/IEC 18004; secondary).
func TestSymbolOutline(t *testing.T) {
	s, err := EncodeSymbol("SLOTS 1", LevelM)
	require.NoError(t, err)
	for _, corner := range [][2]int{{0, 0}, {s.Size - 7, 0}, {0, s.Size - 7}} {
		for i := range 7 {
			assert.True(t, s.Dark(corner[0]+i, corner[1]) && s.Dark(corner[0]+i, corner[1]+6) &&
				s.Dark(corner[0], corner[1]+i) && s.Dark(corner[0]+6, corner[1]+i), "ring of the finder at %v", corner)
		}
		assert.True(t, s.Dark(corner[0]+3, corner[1]+3))
		assert.False(t, s.Dark(corner[0]+1, corner[1]+1))
	}
	for i := -QuietModules; i < s.Size+QuietModules; i++ {
		for q := 1; q <= QuietModules; q++ {
			assert.False(t, s.Dark(i, -q) || s.Dark(-q, i) || s.Dark(i, s.Size-1+q) || s.Dark(s.Size-1+q, i))
		}
	}
	assert.False(t, (&Symbol{Size: 21}).Dark(3, 3), "a symbol of nothing is light")
}

func TestEncodeRefuses(t *testing.T) {
	for payload, says := range map[string]string{
		"":             "no text",
		"caf\u00e9":    "U+00E9",
		"a\tb":         "U+0009",
		"a\r\n":        "U+000D",
		"broken \xff.": "U+FFFD",
		"\x7f":         "U+007F",
	} {
		_, err := EncodeSymbol(payload, LevelM)
		require.ErrorContains(t, err, says)
		_, ok := SymbolSize(payload, LevelM)
		assert.False(t, ok)
	}
}

func TestSymbolsAreMadeOnce(t *testing.T) {
	var c Symbols
	var wg sync.WaitGroup
	got := make([]*Symbol, 8)
	for i := range got {
		wg.Go(func() { got[i], _ = c.Encode("one", LevelH) })
	}
	wg.Wait()
	for _, s := range got {
		require.NotNil(t, s)
		assert.Same(t, got[0], s)
	}
	other, err := c.Encode("one", LevelM)
	require.NoError(t, err)
	assert.NotSame(t, got[0], other, "another level is another symbol")
}

func BenchmarkEncodeSymbol(b *testing.B) {
	for _, n := range []int{150, 300, 600} {
		b.Run(strconv.Itoa(n)+" bytes", func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				_, err := EncodeSymbol(strings.Repeat("x", n), LevelM)
				require.NoError(b, err)
			}
		})
	}
}

// The forms of a symbol begin with level M, have modules of 0.55 mm before the level
// rises, and each is larger than the one before.
func TestSymbolForms(t *testing.T) {
	for _, n := range []int{20, 150, 391, 800, 2000} {
		forms := SymbolForms(strings.Repeat("X", n), 0.7, 0)
		require.NotEmpty(t, forms)
		assert.InDelta(t, LeastModule, forms[0].Module, 1e-9)
		for i, f := range forms {
			size, ok := SymbolSize(strings.Repeat("X", n), f.Level)
			require.True(t, ok)
			require.Equal(t, size, f.Count)
			if i == 0 {
				continue
			}
			before := forms[i-1]
			assert.Greater(t, f.Side(), before.Side())
			assert.GreaterOrEqual(t, f.Module, before.Module)
			if f.Count > before.Count {
				assert.InDelta(t, EnoughModule, f.Module, 1e-9, "the level rises at enough")
			}
			if q, ok := SymbolSize(strings.Repeat("X", n), LevelQ); ok {
				assert.LessOrEqual(t, f.Count, q, "no more modules than level Q takes")
			}
		}
		assert.InDelta(t, 0.7, forms[len(forms)-1].Module, 1e-9)
	}
	assert.Empty(t, SymbolForms(strings.Repeat("X", 2400), 0.7, 0), "no symbol holds it")
	assert.Empty(t, SymbolForms("é", 0.7, 0))
}
