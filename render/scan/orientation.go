package scan

import (
	"encoding/binary"
	"image"
)

// orientation is the value of the tag 0x0112 that a camera writes into a JPEG,
// 1 to 8, and 1 where there is none (Exif 2.32, section 4.6.4; TIFF 6.0, page 36;
// from memory): which edge of the scene the first row and the first column are.
func orientation(jpeg []byte) int {
	const exif = "Exif\x00\x00"
	for at := 2; at+4 <= len(jpeg) && jpeg[at] == 0xFF; {
		marker, length := jpeg[at+1], int(binary.BigEndian.Uint16(jpeg[at+2:]))
		end := at + 2 + length
		switch {
		case marker == 0xFF: // padding
			at++
			continue
		case marker == 0xDA || length < 2 || end > len(jpeg): // the picture itself
			return 1
		case marker == 0xE1 && length >= 2+len(exif) && string(jpeg[at+4:at+4+len(exif)]) == exif:
			return tiffOrientation(jpeg[at+4+len(exif) : end])
		}
		at = end
	}
	return 1
}

// tiffOrientation looks for the tag in the first directory of a TIFF header.
func tiffOrientation(tiff []byte) int {
	if len(tiff) < 8 {
		return 1
	}
	var order binary.ByteOrder = binary.LittleEndian
	switch string(tiff[:4]) {
	case "II*\x00":
	case "MM\x00*":
		order = binary.BigEndian
	default:
		return 1
	}
	at := uint64(order.Uint32(tiff[4:]))
	if at+2 > uint64(len(tiff)) {
		return 1
	}
	const entry, tag, short = 12, 0x0112, 3
	entries := uint64(order.Uint16(tiff[at:]))
	for i := range entries {
		e := at + 2 + entry*i
		if e+entry > uint64(len(tiff)) {
			return 1
		}
		if order.Uint16(tiff[e:]) == tag && order.Uint16(tiff[e+2:]) == short {
			if v := int(order.Uint16(tiff[e+8:])); v >= 1 && v <= 8 {
				return v
			}
			return 1
		}
	}
	return 1
}

// upright turns and mirrors a picture so that its orientation becomes 1.
func upright(img *image.Gray, orientation int) *image.Gray {
	switch orientation {
	case 2:
		return mirrored(img)
	case 3:
		return quarter(quarter(img))
	case 4:
		return mirrored(quarter(quarter(img)))
	case 5:
		return mirrored(quarter(img))
	case 6:
		return quarter(img)
	case 7:
		return quarter(mirrored(img))
	case 8:
		return quarter(quarter(quarter(img)))
	}
	return img
}

// quarter turns a picture clockwise.
func quarter(img *image.Gray) *image.Gray {
	w, h := img.Rect.Dx(), img.Rect.Dy()
	out := image.NewGray(image.Rect(0, 0, h, w))
	for y := range h {
		for x := range w {
			out.Pix[x*out.Stride+h-1-y] = img.Pix[y*img.Stride+x]
		}
	}
	return out
}

// mirrored swaps left and right.
func mirrored(img *image.Gray) *image.Gray {
	w, h := img.Rect.Dx(), img.Rect.Dy()
	out := image.NewGray(image.Rect(0, 0, w, h))
	for y := range h {
		for x := range w {
			out.Pix[y*out.Stride+w-1-x] = img.Pix[y*img.Stride+x]
		}
	}
	return out
}
