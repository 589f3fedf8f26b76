package scan

import (
	"bytes"
	"errors"
	"image"
	"image/color"
	_ "image/jpeg" // decoders of pictures
	_ "image/png"

	"golang.org/x/image/draw"
	_ "golang.org/x/image/webp" // decoder of pictures
)

// picture is one that was decoded.
type picture struct {
	shades *image.Gray        // its brightness, upright
	colors func() *image.Gray // the largest of red, green and blue; nil where it has no colors
}

// large is the most pixels that are looked at; a larger picture is halved.
const large = 16_000_000

// decode is a picture from a file.
func decode(data []byte) (picture, error) {
	img, _, err := image.Decode(bytes.NewReader(data))
	if err != nil {
		return picture{}, errors.New("is a damaged picture: it breaks off, or holds what no picture holds")
	}
	turned := orientation(data)
	ready := func(shades *image.Gray) *image.Gray {
		for shades.Rect.Dx()*shades.Rect.Dy() > large {
			shades = halved(shades)
		}
		return upright(shades, turned)
	}
	p := picture{shades: ready(grey(img))}
	if colored(img) {
		p.colors = func() *image.Gray { return ready(largest(img)) }
	}
	return p, nil
}

// colored tells whether pixels of a photograph are far from grey: each seventh of
// each seventh row is asked.
func colored(img image.Image) bool {
	m, ok := img.(*image.YCbCr)
	if !ok {
		return false
	}
	far, n := 0, 0
	for y := m.Rect.Min.Y; y < m.Rect.Max.Y; y += 7 {
		for x := m.Rect.Min.X; x < m.Rect.Max.X; x += 7 {
			i := m.COffset(x, y)
			if b, r := int(m.Cb[i])-128, int(m.Cr[i])-128; max(b, -b, r, -r) > 8 {
				far++
			}
			n++
		}
	}
	return far*4 > n
}

// largest is the largest of red, green and blue of each pixel of a photograph: in
// red light, of what its brightness is a third.
func largest(img image.Image) *image.Gray {
	m := img.(*image.YCbCr)
	b := m.Rect
	out := image.NewGray(image.Rect(0, 0, b.Dx(), b.Dy()))
	for y := range b.Dy() {
		for x := range b.Dx() {
			i := m.COffset(b.Min.X+x, b.Min.Y+y)
			red, green, blue := color.YCbCrToRGB(m.Y[m.YOffset(b.Min.X+x, b.Min.Y+y)], m.Cb[i], m.Cr[i])
			out.Pix[y*out.Stride+x] = max(red, green, blue)
		}
	}
	return out
}

// grey is the brightness of a picture on white, from 0, 0. It may share the picture's
// memory.
func grey(img image.Image) *image.Gray {
	b := img.Bounds()
	at0 := image.Rect(0, 0, b.Dx(), b.Dy())
	switch m := img.(type) {
	case *image.Gray:
		return &image.Gray{Pix: m.Pix[m.PixOffset(b.Min.X, b.Min.Y):], Stride: m.Stride, Rect: at0}
	case *image.YCbCr: // a photograph: its luma is what is wanted
		return &image.Gray{Pix: m.Y[m.YOffset(b.Min.X, b.Min.Y):], Stride: m.YStride, Rect: at0}
	}
	out := image.NewGray(at0)
	switch m := img.(type) {
	case *image.RGBA: // of a drawing or a screen: the general way takes ten times as long
		onWhite(out, m.Pix, m.Stride, true)
		return out
	case *image.NRGBA:
		onWhite(out, m.Pix, m.Stride, false)
		return out
	case *image.Paletted: // a drawing, or a scan of two shades
		var shades [256]uint8
		for i, c := range m.Palette {
			one := image.NewNRGBA(image.Rect(0, 0, 1, 1))
			one.Set(0, 0, c)
			shades[i] = grey(one).Pix[0]
		}
		for y := range b.Dy() {
			row := m.Pix[m.PixOffset(b.Min.X, b.Min.Y+y):]
			for x := range b.Dx() {
				out.Pix[y*out.Stride+x] = shades[row[x]]
			}
		}
		return out
	case *image.Gray16:
		for y := range b.Dy() {
			row := m.Pix[m.PixOffset(b.Min.X, b.Min.Y+y):]
			for x := range b.Dx() {
				out.Pix[y*out.Stride+x] = row[2*x]
			}
		}
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
