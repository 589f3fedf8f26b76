package rendertest_test

import (
	"bytes"
	"image"
	"image/color"
	"image/draw"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"slotcard/fonts"
	"slotcard/layout"
	"slotcard/render"
	"slotcard/render/rendertest"
)

func open(t *testing.T, items ...layout.Item) *rendertest.Doc {
	var b bytes.Buffer
	d := &layout.Document{Pages: []layout.Page{{Width: 100, Height: 60, Items: items}}}
	require.NoError(t, render.PDF(&b, d, time.Unix(0, 0)))
	return rendertest.Open(t, b.Bytes())
}

// What is found must be able to be missing, or no test that uses it could fail.
func TestTextTellsRunsApart(t *testing.T) {
	text := func(x, y, size float64, face fonts.Face, s string) layout.Text {
		return layout.Text{X: x, Y: y, Face: face, Size: size, S: s}
	}
	var got []string
	for _, r := range open(t,
		text(10, 20, 10, fonts.Regular, "Division "),
		text(10+fonts.Regular.Width("Division ", 10), 20, 10, fonts.Bold, "D"),
		text(60, 20, 10, fonts.Regular, "apart"),
		text(10, 30, 10, fonts.Regular, "one "),
		text(10+fonts.Regular.Width("one ", 10), 30, 10, fonts.Regular, "run"),
		text(10, 40, 8, fonts.Regular, "HxH"),
	).Text(0) {
		got = append(got, r.S)
		if r.S == "HxH" {
			assert.InDelta(t, fonts.CapMM(8), r.H, 0.15, "ink, not the em")
			assert.InDelta(t, 40, r.Y+r.H, 0.1)
			assert.InDelta(t, fonts.Regular.Width("HxH", 8), r.Advance, 0.05)
		}
	}
	assert.Equal(t, []string{"Division ", "D", "apart", "one run", "HxH"}, got)
	assert.Empty(t, open(t).Text(0))
}

func TestImageIsOfThePage(t *testing.T) {
	img := open(t, layout.Box{X: 10, Y: 20, W: 30, H: 10, Fill: true}).Image(0, 127) // 5 pixels a mm
	assert.InDelta(t, 500, img.Rect.Dx(), 1)
	assert.InDelta(t, 300, img.Rect.Dy(), 1)
	assert.Equal(t, color.Gray{Y: 0}, img.GrayAt(51, 101))
	assert.Equal(t, color.Gray{Y: 255}, img.GrayAt(48, 101))
	assert.Equal(t, image.Rect(50, 100, 200, 150), rendertest.Pixels(10, 20, 30, 10, 127))
}

func TestDecodeQRFindsNothingWhereNothingIs(t *testing.T) {
	blank := image.NewGray(image.Rect(0, 0, 200, 200))
	draw.Draw(blank, blank.Rect, image.White, image.Point{}, draw.Src)
	_, err := rendertest.DecodeQR(blank)
	require.Error(t, err)
	_, err = rendertest.DecodeQR(blank, image.Rect(10, 10, 90, 90))
	require.Error(t, err)

	symbol, err := layout.EncodeSymbol("read me", layout.LevelM)
	require.NoError(t, err)
	page := layout.Page{Width: 60, Height: 30, Items: []layout.Item{layout.Modules{X: 5, Y: 5, Module: 0.5, Symbol: symbol}}}
	img, err := render.Image(&page, 254)
	require.NoError(t, err)
	side := 0.5 * float64(symbol.Size)
	place := rendertest.Pixels(3, 3, side+4, side+4, 254)
	for _, places := range [][]image.Rectangle{nil, {place}} {
		read, err := rendertest.DecodeQR(img, places...)
		require.NoError(t, err)
		assert.Equal(t, []string{"read me"}, read)
	}
	_, err = rendertest.DecodeQR(img, place, place.Add(image.Pt(300, 0)))
	require.Error(t, err, "one of two places is empty")
}
