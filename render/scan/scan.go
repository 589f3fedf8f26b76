// Package scan reads QR codes back: out of photographs and scans with
// [Picture], and out of slotcard's own PDFs with [PDF]. It returns the texts
// that the codes hold, and knows nothing of what they mean.
//
// What is read comes from outside: sizes are bounded before anything is
// decoded, and whatever does not fit the bounds is an error that says so.
package scan

import (
	"bytes"
	"cmp"
	"errors"
	"fmt"
	"image"
	"image/color"
	_ "image/jpeg" // decoders of pictures
	_ "image/png"
	"math"
	"slices"

	"github.com/makiuchi-d/gozxing"
	multi "github.com/makiuchi-d/gozxing/multi/qrcode"
	"github.com/makiuchi-d/gozxing/qrcode"
	"github.com/makiuchi-d/gozxing/qrcode/detector"
	"golang.org/x/image/draw"
	_ "golang.org/x/image/webp" // decoder of pictures
)

const (
	// MaxFile bounds a file of any kind, in bytes.
	MaxFile = 64 << 20
	// MaxPixels bounds a picture before it is decoded: twice what the sensor of
	// a large camera has.
	MaxPixels = 100_000_000

	// leastSide is the side of the smallest symbol, version 1, in modules
	// (ISO/IEC 18004): in fewer pixels there is none.
	leastSide = 21

	// A picture may unpack to 48 MB, and to 200 times as much as its file holds
	// beyond: a page that is drawn at 600 dots per inch, of which little is ink,
	// unpacks to 200 times its size, a photograph to 50 times.
	minUnpacked = 48 << 20
	maxUnpacked = 200
)

// Code is a QR code that was read.
type Code struct {
	Text string
	// X, Y is its middle, from the top left of the upright picture or page, and
	// Side about how long it is: pixels in a picture, points on a page.
	X, Y, Side float64
}

// Kind is what a file holds, told by its first bytes.
type Kind uint8

const (
	Text    Kind = iota // none of the others
	Photo               // PNG, JPEG or WebP: for [Picture]
	Paper               // PDF: for [PDF]
	Unknown             // a picture of a kind that is not read
)

// KindOf tells what a file holds. Of a picture that is not read, name is what
// its kind is called.
func KindOf(data []byte) (kind Kind, name string) {
	has := func(at int, s string) bool {
		return len(data) >= at+len(s) && string(data[at:at+len(s)]) == s
	}
	switch {
	case has(0, "\x89PNG\r\n\x1a\n"):
		return Photo, "PNG"
	case has(0, "\xff\xd8\xff"):
		return Photo, "JPEG"
	case has(0, "RIFF") && has(8, "WEBP"):
		return Photo, "WebP"
	case has(0, "%PDF-"):
		return Paper, "PDF"
	case has(4, "ftypavif") || has(4, "ftypavis"):
		return Unknown, "AVIF"
	case has(4, "ftyp"): // ISO base media: HEIC under several brands, and films
		return Unknown, "HEIC"
	case has(0, "GIF8"):
		return Unknown, "GIF"
	case has(0, "II*\x00") || has(0, "MM\x00*"):
		return Unknown, "TIFF"
	case has(0, "BM") && bytes.IndexByte(data[:min(len(data), 64)], 0) >= 0:
		return Unknown, "BMP"
	}
	return Text, "text"
}

// ErrNoCode is a picture or a PDF in which no code was read.
var ErrNoCode = errors.New("no code is read in it")

// Picture reads the codes in a PNG, JPEG or WebP, upright as its orientation
// tag says: from the top down, and from left to right where they stand side by
// side. A picture that is too large, damaged or without a code is an error.
func Picture(data []byte) ([]Code, error) {
	codes, _, err := PictureOfMany(data)
	return codes, err
}

// PictureOfMany is [Picture] of what may show many codes: more tells that corners
// of a code are seen where none was read.
func PictureOfMany(data []byte) (codes []Code, more bool, err error) {
	img, err := decoded(data)
	if err != nil {
		return nil, false, err
	}
	if codes = Codes(img); len(codes) == 0 {
		return nil, false, ErrNoCode
	}
	return codes, unread(img, codes), nil
}

// decoded is a picture in grey, upright.
func decoded(data []byte) (*image.Gray, error) {
	if len(data) > MaxFile {
		return nil, fmt.Errorf("is larger than %d MB", MaxFile>>20)
	}
	config, _, err := image.DecodeConfig(bytes.NewReader(data))
	if err != nil {
		return nil, errors.New("is a damaged picture: its size cannot be read")
	}
	if config.Width <= 0 || config.Height <= 0 || config.Width > MaxPixels/config.Height {
		return nil, fmt.Errorf("is a picture of %d by %d pixels: more than %d million are not read", config.Width, config.Height, MaxPixels/1_000_000)
	}
	if min(config.Width, config.Height) < leastSide {
		return nil, ErrNoCode
	}
	if unpacked(config) > minUnpacked+maxUnpacked*len(data) {
		return nil, fmt.Errorf("is a picture of %d by %d pixels in %d kB: no camera or scanner packs so much into so little, and it is not unpacked", config.Width, config.Height, (len(data)+999)/1000)
	}
	img, _, err := image.Decode(bytes.NewReader(data))
	if err != nil {
		return nil, errors.New("is a damaged picture: it breaks off, or holds what no picture holds")
	}
	shades := grey(img)
	if flat(shades) {
		return nil, ErrNoCode
	}
	return upright(shades, orientation(data)), nil
}

// unread tells whether finder patterns are left where the codes that were read
// are painted over: three at least, as large as each other.
func unread(img *image.Gray, codes []Code) bool {
	rest := image.NewGray(img.Rect)
	copy(rest.Pix, img.Pix)
	for _, c := range codes {
		// Half of the symbol's diagonal: the middles of its patterns are Side
		// apart, 7 modules less than it is long.
		r := int(c.Side*0.9) + 1
		at := image.Rect(int(c.X)-r, int(c.Y)-r, int(c.X)+r, int(c.Y)+r).Intersect(img.Rect)
		draw.Draw(rest, at, image.NewUniform(color.Gray{Y: 255}), image.Point{}, draw.Src)
	}
	small, _ := reduced(rest, rest.Rect, 2400)
	if w, h := small.Rect.Dx(), small.Rect.Dy(); max(w, h) <= 1200 { // the finder skips lines of pixels
		twice := image.NewGray(image.Rect(0, 0, 2*w, 2*h))
		draw.BiLinear.Scale(twice, twice.Rect, small, small.Rect, draw.Src, nil)
		small = twice
	}
	matrix, err := bitmap(small).GetBlackMatrix()
	if err != nil {
		return false
	}
	f := detector.NewFinderPatternFinder(matrix, nil)
	_, _ = f.Find(nil) // what it chooses is not wanted
	if len(f.GetPossibleCenters()) > maxFinders {
		return false // noise, and too many to look at in threes
	}
	centers := f.GetPossibleCenters()
	for i, p := range centers {
		for j, q := range centers[:i] {
			for _, r := range centers[:j] {
				if oneCode(p, q, r) {
					return true
				}
			}
		}
	}
	return false
}

// oneCode tells whether three finder patterns can be those of one code: as large
// as each other, the sides of half a square between them, no closer than in the
// smallest symbol, where their middles are 14 modules apart (ISO/IEC 18004), and no
// wider than in one of a long list.
func oneCode(p, q, r *detector.FinderPattern) bool {
	size := func(f *detector.FinderPattern) float64 { return f.GetEstimatedModuleSize() }
	least, most := min(size(p), size(q), size(r)), max(size(p), size(q), size(r))
	if most > least*1.35 || max(p.GetCount(), q.GetCount(), r.GetCount()) < 2 { // noise is crossed once
		return false
	}
	apart := func(a, b *detector.FinderPattern) float64 { return math.Hypot(a.GetX()-b.GetX(), a.GetY()-b.GetY()) }
	d := []float64{apart(p, q), apart(q, r), apart(r, p)}
	slices.Sort(d)
	return d[0] > 13*least && d[0] < 130*least && d[1] < d[0]*1.3 && math.Abs(d[2]-math.Hypot(d[0], d[1])) < d[2]*0.12
}

// unpacked is how many bytes a picture takes in memory.
func unpacked(c image.Config) int {
	pixel := 4.0
	switch c.ColorModel {
	case color.GrayModel:
		pixel = 1
	case color.YCbCrModel:
		pixel = 1.5 // as most are
	case color.Gray16Model:
		pixel = 2
	case color.RGBA64Model, color.NRGBA64Model:
		pixel = 8
	default:
		if _, ok := c.ColorModel.(color.Palette); ok {
			pixel = 1
		}
	}
	return int(pixel * float64(c.Width) * float64(c.Height))
}

// flat tells whether a picture is of one shade, more or less: no code is.
func flat(img *image.Gray) bool {
	const least = 16 // of 255, between dark and light
	dark, light := uint8(0xFF), uint8(0)
	for _, p := range img.Pix {
		dark, light = min(dark, p), max(light, p)
	}
	return int(light)-int(dark) < least
}

// grey is the brightness of a picture on white, from 0, 0.
func grey(img image.Image) *image.Gray {
	b := img.Bounds()
	out := image.NewGray(image.Rect(0, 0, b.Dx(), b.Dy()))
	switch m := img.(type) {
	case *image.Gray:
		for y := range b.Dy() {
			copy(out.Pix[y*out.Stride:][:b.Dx()], m.Pix[m.PixOffset(b.Min.X, b.Min.Y+y):])
		}
		return out
	case *image.YCbCr: // a photograph: its luma is what is wanted
		for y := range b.Dy() {
			copy(out.Pix[y*out.Stride:][:b.Dx()], m.Y[m.YOffset(b.Min.X, b.Min.Y+y):])
		}
		return out
	case *image.RGBA: // of a drawing or a screen: the general way takes ten times as long
		onWhite(out, m.Pix, m.Stride, true)
		return out
	case *image.NRGBA:
		onWhite(out, m.Pix, m.Stride, false)
		return out
	}
	for i := range out.Pix {
		out.Pix[i] = 0xFF
	}
	draw.Draw(out, out.Rect, img, b.Min, draw.Over)
	return out
}

// onWhite gives each pixel the luma of four bytes of red, green, blue and
// opacity (ITU-R BT.601, from memory), laid on white. Colors may have been
// multiplied by the opacity.
func onWhite(out *image.Gray, pix []byte, stride int, multiplied bool) {
	w, h := out.Rect.Dx(), out.Rect.Dy()
	for y := range h {
		row := pix[y*stride:][:4*w]
		for x := range w {
			p := row[4*x:][:4]
			luma, opacity := (299*uint32(p[0])+587*uint32(p[1])+114*uint32(p[2])+500)/1000, uint32(p[3])
			if !multiplied {
				luma = luma * opacity / 0xFF
			}
			out.Pix[y*out.Stride+x] = uint8(min(0xFF, luma+0xFF-opacity))
		}
	}
}

// Codes reads the codes in a picture, in the order of [Picture]; none is no
// error. A code that is read in one pass and missed in another counts once.
func Codes(img *image.Gray) []Code {
	var s search
	long := max(img.Rect.Dx(), img.Rect.Dy())
	for i, side := range []int{long, 1600, 1000} {
		if i == 0 || side < long {
			s.look(img, side, 0)
		}
	}
	if len(s.found) == 0 {
		s.clean(img)
	}
	// Among many codes, and where the background confuses, parts are read that
	// the whole is not.
	s.parts(img)
	if len(s.found) == 0 {
		s.look(img, min(long, 1600), 1)
	}
	slices.SortStableFunc(s.found, func(a, b Code) int {
		if math.Abs(a.Y-b.Y) > (a.Side+b.Side)/4 {
			return cmp.Compare(a.Y, b.Y)
		}
		return cmp.Compare(a.X, b.X)
	})
	return s.found
}

// search collects codes over several passes.
type search struct{ found []Code }

// look reads a picture with its long side reduced to so many pixels, and turned
// by quarter turns clockwise.
func (s *search) look(img *image.Gray, side, turns int) {
	s.lookAt(img, img.Rect, side, turns)
}

// parts reads quarters of a picture that overlap by half of themselves, so that
// each code stands whole in one of them; and ninths of a large one, where nothing
// is found yet, or so much that it may be a sheet of cards.
func (s *search) parts(img *image.Gray) {
	const least = 500 // pixels: a part that may hold a code
	w, h := img.Rect.Dx(), img.Rect.Dy()
	for _, n := range []int{2, 3} {
		pw, ph := w/n, h/n
		if max(pw, ph) < least || n == 3 && len(s.found) > 0 && len(s.found) < 3 {
			return
		}
		for y := 0; y+ph <= h; y += ph / 2 {
			for x := 0; x+pw <= w; x += pw / 2 {
				s.lookAt(img, image.Rect(x, y, x+pw, y+ph), min(max(pw, ph), 1600), 0)
			}
		}
	}
}

func (s *search) lookAt(img *image.Gray, part image.Rectangle, side, turns int) {
	small, scale := reduced(img, part, side)
	if min(small.Rect.Dx(), small.Rect.Dy()) < leastSide {
		return
	}
	for range turns {
		small = quarter(small)
	}
	codes := read(small)
	soft := small
	// What is grainy, and what is at an angle.
	for i := 0; i < 2 && len(codes) == 0 && (i == 0 || part == img.Rect); i++ {
		soft = softened(soft)
		if codes = read(soft); len(codes) == 0 && part == img.Rect {
			if c, ok := fitted(bitmap(soft)); ok {
				codes = []Code{c}
			}
		}
	}
	for _, c := range codes {
		if turns == 1 { // back to the picture's own corner
			c.X, c.Y = c.Y, float64(small.Rect.Dx())-c.X
		}
		c.X, c.Y, c.Side = c.X*scale+float64(part.Min.X), c.Y*scale+float64(part.Min.Y), c.Side*scale
		s.add(c)
	}
}

// clean reads a rendering without blur or perspective.
func (s *search) clean(img *image.Gray) {
	if c, ok := readOne(bitmap(img), gozxing.DecodeHintType_PURE_BARCODE); ok {
		b := img.Rect
		s.add(Code{Text: c.Text, X: float64(b.Dx()) / 2, Y: float64(b.Dy()) / 2, Side: float64(min(b.Dx(), b.Dy()))})
	}
}

func (s *search) add(c Code) {
	for i, f := range s.found {
		if f.Text == c.Text && math.Hypot(f.X-c.X, f.Y-c.Y) < max(f.Side, c.Side)/2 {
			s.found[i].Side = max(f.Side, c.Side)
			return
		}
	}
	s.found = append(s.found, c)
}

// maxFinders bounds the finder patterns that the reader of several codes is
// given: its work grows with their third power.
const maxFinders = 150

// read is every code that one pass finds.
func read(img *image.Gray) (codes []Code) {
	bits := bitmap(img)
	if finders(bits) <= maxFinders {
		found, err := multi.NewQRCodeMultiReader().DecodeMultiple(bits, nil)
		if err == nil {
			for _, f := range found {
				codes = append(codes, codeOf(f))
			}
		}
	}
	if len(codes) == 0 {
		if c, ok := readOne(bits, gozxing.DecodeHintType_TRY_HARDER); ok {
			codes = append(codes, c)
		}
	}
	return codes
}

func finders(bits *gozxing.BinaryBitmap) int {
	matrix, err := bits.GetBlackMatrix()
	if err != nil {
		return 0
	}
	f := detector.NewFinderPatternFinder(matrix, nil)
	_, _ = f.Find(nil) // what it chooses is not wanted
	return len(f.GetPossibleCenters())
}

func readOne(bits *gozxing.BinaryBitmap, hint gozxing.DecodeHintType) (Code, bool) {
	r, err := qrcode.NewQRCodeReader().Decode(bits, map[gozxing.DecodeHintType]any{hint: true})
	if err != nil {
		return Code{}, false
	}
	return codeOf(r), true
}

// codeOf takes the first three points of a result: the middles of the finder
// patterns at the lower left, the upper left and the upper right.
func codeOf(r *gozxing.Result) Code {
	c := Code{Text: r.GetText()}
	if p := r.GetResultPoints(); len(p) >= 3 {
		c.X, c.Y = (p[0].GetX()+p[2].GetX())/2, (p[0].GetY()+p[2].GetY())/2
		c.Side = math.Hypot(p[0].GetX()-p[2].GetX(), p[0].GetY()-p[2].GetY()) / math.Sqrt2
	}
	return c
}

func bitmap(img *image.Gray) *gozxing.BinaryBitmap {
	bits, err := gozxing.NewBinaryBitmap(gozxing.NewHybridBinarizer(gozxing.NewLuminanceSourceFromImage(img)))
	if err != nil {
		panic("scan: " + err.Error()) // only without a binarizer
	}
	return bits
}

// reduced is a part of a picture with its long side made so many pixels at
// most, and how many pixels of the picture one of it is.
func reduced(img *image.Gray, part image.Rectangle, side int) (small *image.Gray, scale float64) {
	w, h := part.Dx(), part.Dy()
	if max(w, h) <= side {
		small = image.NewGray(image.Rect(0, 0, w, h))
		for y := range h {
			copy(small.Pix[y*small.Stride:][:w], img.Pix[img.PixOffset(part.Min.X, part.Min.Y+y):])
		}
		return small, 1
	}
	scale = float64(max(w, h)) / float64(side)
	small = image.NewGray(image.Rect(0, 0, max(1, int(float64(w)/scale)), max(1, int(float64(h)/scale))))
	average(small, img, part)
	return small, scale
}

// softened gives each pixel the mean of itself and its eight neighbors.
func softened(img *image.Gray) *image.Gray {
	w, h := img.Rect.Dx(), img.Rect.Dy()
	out := image.NewGray(img.Rect)
	copy(out.Pix, img.Pix)
	for y := 1; y < h-1; y++ {
		up, on, down := img.Pix[(y-1)*img.Stride:], img.Pix[y*img.Stride:], img.Pix[(y+1)*img.Stride:]
		column := func(x int) int { return int(up[x]) + int(on[x]) + int(down[x]) }
		for x, a, b := 1, column(0), column(min(1, w-1)); x < w-1; x++ {
			c := column(x + 1)
			out.Pix[y*out.Stride+x] = uint8((a + b + c + 4) / 9)
			a, b = b, c
		}
	}
	return out
}

// average gives each pixel the mean of those it stands for: what a coarser
// sensor sees.
func average(small, img *image.Gray, part image.Rectangle) {
	w, h := small.Rect.Dx(), small.Rect.Dy()
	edge := func(i, n, length int) int { return i * length / n }
	for y := range h {
		y0, y1 := edge(y, h, part.Dy()), edge(y+1, h, part.Dy())
		for x := range w {
			x0, x1 := edge(x, w, part.Dx()), edge(x+1, w, part.Dx())
			sum := 0
			for v := y0; v < y1; v++ {
				row := img.Pix[img.PixOffset(part.Min.X+x0, part.Min.Y+v):][:x1-x0]
				for _, p := range row {
					sum += int(p)
				}
			}
			small.Pix[y*small.Stride+x] = uint8(sum / ((y1 - y0) * (x1 - x0)))
		}
	}
}
