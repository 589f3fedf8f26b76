package scan

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"image"
	"image/color"
)

// What a picture takes to unpack is told by its header, before anything of it is
// unpacked: a picture that takes more than a second or so, or more memory than a
// small computer spares, is refused with what to do about it.

const (
	maxMemory = 110 << 20 // bytes of a picture that is unpacked
	maxWork   = 850e6     // ns of work, on a slow processor of 2020

	// How long things take, in ns, measured there.
	perPixelJPEG = 12.0
	perScanJPEG  = 2.0 // a pixel, of a progressive one
	perPixelWebP = 40.0
	perBytePNG   = 10.0 // unpacked
	perByteFile  = 33.0 // of JPEG or WebP, as of noise
)

// leastSide is the side of the smallest symbol, version 1, in modules
// (ISO/IEC 18004): in fewer pixels there is none.
const leastSide = 21

// cost is what a picture takes.
type cost struct {
	config image.Config
	memory float64 // bytes
	work   float64 // ns
	remedy string  // what to do where it is too much
}

// costOf tells what a picture takes.
func costOf(data []byte) (cost, error) {
	config, format, err := image.DecodeConfig(bytes.NewReader(data))
	if err != nil || config.Width <= 0 || config.Height <= 0 {
		return cost{}, errors.New("is a damaged picture: its size cannot be read")
	}
	c := cost{config: config, remedy: "save it at half the width and height"}
	pixels := float64(config.Width) * float64(config.Height)
	switch format {
	case "jpeg":
		h, ok := headOf(data)
		if !ok {
			return cost{}, errors.New("is a damaged picture: its size cannot be read")
		}
		c.memory = pixels * h.samples
		if h.extra { // it is turned into another kind
			c.memory += pixels * 4
		}
		c.work = pixels * h.samples / 1.5 * perPixelJPEG
		if h.progressive {
			c.memory += pixels * h.samples * 4 // its coefficients, 32 bits each
			c.work += pixels * h.samples / 1.5 * perScanJPEG * float64(h.scans)
			c.remedy = "save it as a JPEG that is not progressive, or at half the width and height"
		} else {
			c.work *= float64(max(1, h.scans))
		}
		c.work += float64(len(data)) * perByteFile
	case "webp":
		c.memory = pixels * 4
		if config.ColorModel == color.YCbCrModel {
			c.memory = pixels * 1.5
		}
		c.work = pixels*perPixelWebP + float64(len(data))*perByteFile
	default:
		deep := bytesOf(config.ColorModel)
		c.memory = pixels * deep
		c.work = pixels * deep * perBytePNG
		if deep > 1 {
			c.remedy = "save it in shades of gray, or at half the width and height"
		}
	}
	return c, nil
}

// refused is why a picture is not unpacked, nil where it is.
func (c cost) refused() error {
	if c.memory <= maxMemory && c.work <= maxWork {
		return nil
	}
	return fmt.Errorf("is a picture of %d by %d pixels, too large or too closely packed to be read; %s", c.config.Width, c.config.Height, c.remedy)
}

// bytesOf is how many bytes a pixel of a PNG takes in memory.
func bytesOf(m color.Model) float64 {
	switch m {
	case color.GrayModel:
		return 1
	case color.Gray16Model:
		return 2
	case color.RGBA64Model, color.NRGBA64Model:
		return 8
	}
	if _, ok := m.(color.Palette); ok {
		return 1
	}
	return 4
}

// jpegHead is what a JPEG says of itself.
type jpegHead struct {
	samples     float64 // of brightness and color, for a pixel
	progressive bool
	scans       int  // how often it goes over the picture
	extra       bool // its colors are not of the usual kind
}

// headOf goes through the segments of a JPEG (ITU-T T.81, annex B; from memory) as its
// decoder does: up to the first end of an image.
func headOf(data []byte) (h jpegHead, ok bool) {
	for at := 2; at+4 <= len(data); {
		if data[at] != 0xFF { // of a scan, or between segments
			next := bytes.IndexByte(data[at:], 0xFF)
			if next < 0 {
				break
			}
			at += next
			continue
		}
		marker := data[at+1]
		switch {
		case marker == 0xFF:
			at++
			continue
		case marker == 0 || marker >= 0xD0 && marker <= 0xD7:
			at += 2
			continue
		case marker == 0xD9:
			return h, h.samples > 0
		}
		length := int(binary.BigEndian.Uint16(data[at+2:]))
		end := at + 2 + length
		if length < 2 || end > len(data) {
			break
		}
		switch segment := data[at+4 : end]; {
		case marker == 0xC0 || marker == 0xC1 || marker == 0xC2:
			h.progressive = marker == 0xC2
			if h.samples > 0 || len(segment) < 6 || len(segment) < 6+3*int(segment[5]) || segment[5] == 0 {
				return jpegHead{}, false
			}
			sum, across, down := 0, 1, 1
			for i := range int(segment[5]) {
				s := segment[6+3*i+1]
				sum += int(s>>4) * int(s&15)
				across, down = max(across, int(s>>4)), max(down, int(s&15))
			}
			h.samples = float64(sum) / float64(across*down)
			h.extra = h.extra || segment[5] == 4
		case marker == 0xDA:
			h.scans++
		case marker == 0xEE:
			h.extra = true
		}
		at = end
	}
	return h, h.samples > 0
}
