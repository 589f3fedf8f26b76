package scan_test

import (
	"bytes"
	"context"
	"encoding/binary"
	"fmt"
	"hash/crc32"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/image/draw"

	"slotcard/layout"
	"slotcard/layout/cards"
	"slotcard/layout/impose"
	"slotcard/render"
	"slotcard/render/scan"
)

// read is the codes in a picture.
func read(data []byte) ([]scan.Code, error) {
	seen, err := scan.Picture(context.Background(), data)
	return seen.Codes, err
}

func photo(t testing.TB, name string) []byte {
	t.Helper()
	data, err := os.ReadFile("../../testdata/photos/" + name)
	require.NoError(t, err)
	return data
}

// Two codes of a picture that is stored on its side come in the order in which
// they stand when it is upright.
func TestPictureIsReadUpright(t *testing.T) {
	codes, err := read(photo(t, "two-cards.jpg"))
	require.NoError(t, err)
	require.Len(t, codes, 2)
	assert.True(t, strings.HasPrefix(codes[0].Text, "SLOTS 1 THIMBLE GULCH/2\n"), codes[0].Text)
	assert.True(t, strings.HasPrefix(codes[1].Text, "SLOTS 1 THIMBLE GULCH/1\n"), codes[1].Text)
	assert.Less(t, codes[0].Y, codes[1].Y)
	assert.InDelta(t, codes[0].X, codes[1].X, codes[0].Side/4)
}

func TestKindsOfPictures(t *testing.T) {
	codes, err := read(photo(t, "card.webp"))
	require.NoError(t, err)
	require.Len(t, codes, 1)
	want := codes[0].Text
	assert.True(t, strings.HasSuffix(want, "\n=J2MX\n"), want)

	webp, _, err := image.Decode(bytes.NewReader(photo(t, "card.webp")))
	require.NoError(t, err)
	b := webp.Bounds()
	inked := func(m draw.Image, paper, ink color.Color) image.Image {
		draw.Draw(m, b, image.NewUniform(paper), image.Point{}, draw.Src)
		for y := b.Min.Y; y < b.Max.Y; y++ {
			for x := b.Min.X; x < b.Max.X; x++ {
				if color.GrayModel.Convert(webp.At(x, y)).(color.Gray).Y < 128 {
					m.Set(x, y, ink)
				}
			}
		}
		return m
	}
	for name, m := range map[string]image.Image{
		"grey":        inked(image.NewGray(b), color.White, color.Black),
		"colours":     inked(image.NewRGBA(b), color.RGBA{255, 240, 120, 255}, color.RGBA{0, 0, 90, 255}),
		"see-through": inked(image.NewNRGBA(b), color.Transparent, color.Black),
		"palette":     inked(image.NewPaletted(b, color.Palette{color.White, color.Black}), color.White, color.Black),
		"deep grey":   inked(image.NewGray16(b), color.White, color.Black),
	} {
		t.Run(name, func(t *testing.T) {
			var file bytes.Buffer
			require.NoError(t, png.Encode(&file, m))
			codes, err := read(file.Bytes())
			require.NoError(t, err)
			require.Len(t, codes, 1)
			assert.Equal(t, want, codes[0].Text)
		})
	}
	t.Run("color jpeg", func(t *testing.T) {
		var file bytes.Buffer
		require.NoError(t, jpeg.Encode(&file, inked(image.NewRGBA(b), color.White, color.Black), nil))
		codes, err := read(file.Bytes())
		require.NoError(t, err)
		require.Len(t, codes, 1)
		assert.Equal(t, want, codes[0].Text)
	})
}

// A sheet with many codes, as an office scanner sees it.
func TestSheetOfManyCodes(t *testing.T) {
	r := example(t, "thimble-gulch/plan.toml")
	size, _ := layout.CardSize("a7")
	deck, found := cards.Deal(r, cards.Options{Size: size})
	require.Empty(t, found)
	paper, _ := layout.PaperSize("letter")
	doc, err := impose.Cards(deck, impose.Options{Paper: paper})
	require.NoError(t, err)
	img, err := render.Image(&doc.Pages[1], 200)
	require.NoError(t, err)
	var file bytes.Buffer
	require.NoError(t, png.Encode(&file, img))
	codes, err := read(file.Bytes())
	require.NoError(t, err)
	assert.Len(t, codes, 4)
	for i, c := range codes {
		assert.Equal(t, r.Lists[0].Text, c.Text)
		if i%2 == 1 {
			assert.Greater(t, c.X, codes[i-1].X)
		}
	}
}

// claiming is a PNG that says it is so large, and holds nothing.
func claiming(w, h uint32) []byte {
	head := binary.BigEndian.AppendUint32([]byte("IHDR"), w)
	head = append(binary.BigEndian.AppendUint32(head, h), 8, 0, 0, 0, 0)
	out := binary.BigEndian.AppendUint32([]byte("\x89PNG\r\n\x1a\n"), 13)
	return binary.BigEndian.AppendUint32(append(out, head...), crc32.ChecksumIEEE(head))
}

func TestWhatCannotBeRead(t *testing.T) {
	webp := photo(t, "card.webp")
	blank := image.NewGray(image.Rect(0, 0, 300, 200))
	var white bytes.Buffer
	require.NoError(t, png.Encode(&white, blank))
	for name, c := range map[string]struct {
		data []byte
		want string
	}{
		"larger than memory":  {claiming(1<<20, 1<<20), "is a picture of 1048576 by 1048576 pixels, too large or too closely packed to be read; save it at half the width and height"},
		"nothing but a claim": {claiming(100, 100), "is a damaged picture: it breaks off, or holds what no picture holds"},
		"half":                {webp[:len(webp)/2], "is a damaged picture: it breaks off, or holds what no picture holds"},
		"no picture":          {[]byte("SLOTS 1"), "is a damaged picture: its size cannot be read"},
		"too long a file":     {make([]byte, scan.MaxFile+1), "is larger than 64 MB"},
		"no code":             {white.Bytes(), "no code is read in it"},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := read(c.data)
			assert.EqualError(t, err, c.want)
		})
	}
}

func TestKindOf(t *testing.T) {
	for begin, want := range map[string]string{
		"\x89PNG\r\n\x1a\n....":                 "1 PNG",
		"\xff\xd8\xff\xe1":                      "1 JPEG",
		"RIFF....WEBPVP8 ":                      "1 WebP",
		"%PDF-1.3":                              "2 PDF",
		"....ftypheic":                          "3 HEIC",
		"....ftypmif1":                          "3 HEIC",
		"....ftypavif":                          "3 AVIF",
		"GIF89a":                                "3 GIF",
		"II*\x00":                               "3 TIFF",
		"BM\x36\x00\x00\x00":                    "3 BMP",
		"BMX is no picture":                     "0 text",
		"SLOTS 1 X/1":                           "0 text",
		"":                                      "0 text",
		"RIFF....WAVE":                          "0 text",
		"\xef\xbb\xbfSLOTS 1 THIMBLE GULCH/2\n": "0 text",
	} {
		kind, name := scan.KindOf([]byte(begin))
		assert.Equal(t, want, fmt.Sprintf("%d %s", kind, name), "%q", begin)
	}
}

func FuzzPicture(f *testing.F) {
	f.Add([]byte("\x89PNG\r\n\x1a\n"))
	for _, n := range []string{"orientation-6.jpg", "orientation-3.jpg"} {
		data, err := os.ReadFile("../../testdata/photos/" + n)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(data)
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		codes, err := read(data)
		require.Equal(t, err != nil, len(codes) == 0)
	})
}
