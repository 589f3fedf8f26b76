package rendertest

import (
	"fmt"
	"image"
	"image/draw"

	"github.com/makiuchi-d/gozxing"
	multi "github.com/makiuchi-d/gozxing/multi/qrcode"
	"github.com/makiuchi-d/gozxing/qrcode"
)

// DecodeQR reads QR codes in a picture with an independent decoder: the one in
// each of the places, in their order, or, where no place is given, all that the
// decoder finds. A place should hold the quiet zone of its code and nothing
// else dark. A place without a code, and a picture without any, is an error.
func DecodeQR(img image.Image, places ...image.Rectangle) ([]string, error) {
	if len(places) == 0 {
		found, err := multi.NewQRCodeMultiReader().DecodeMultipleWithoutHint(bitmap(img, img.Bounds()))
		if err != nil {
			return nil, fmt.Errorf("no code is read in a picture of %v: %w", img.Bounds().Size(), err)
		}
		var out []string
		for _, f := range found {
			out = append(out, f.GetText())
		}
		return out, nil
	}
	var out []string
	for _, place := range places {
		bits := bitmap(img, place)
		read, err := qrcode.NewQRCodeReader().Decode(bits, map[gozxing.DecodeHintType]any{gozxing.DecodeHintType_TRY_HARDER: true})
		if err != nil { // a clean rendering needs no search
			read, err = qrcode.NewQRCodeReader().Decode(bits, map[gozxing.DecodeHintType]any{gozxing.DecodeHintType_PURE_BARCODE: true})
		}
		if err != nil {
			return nil, fmt.Errorf("no code is read at %v: %w", place, err)
		}
		out = append(out, read.GetText())
	}
	return out, nil
}

// bitmap is a part of a picture as the decoder takes it: grey, so that it need
// not ask every pixel for its color.
func bitmap(img image.Image, place image.Rectangle) *gozxing.BinaryBitmap {
	grey := image.NewGray(image.Rect(0, 0, place.Dx(), place.Dy()))
	for i := range grey.Pix {
		grey.Pix[i] = 0xFF // what lies outside of the picture is light
	}
	draw.Draw(grey, place.Intersect(img.Bounds()).Sub(place.Min), img, place.Intersect(img.Bounds()).Min, draw.Src)
	source := gozxing.NewLuminanceSourceFromImage(grey)
	bits, err := gozxing.NewBinaryBitmap(gozxing.NewHybridBinarizer(source))
	if err != nil {
		panic("rendertest: " + err.Error()) // only without a binarizer
	}
	return bits
}
