//go:build unix

package main

import (
	"archive/zip"
	"bytes"
	"compress/zlib"
	"context"
	"encoding/binary"
	"fmt"
	"hash/crc32"
	"image"
	"image/jpeg"
	"image/png"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"syscall"
	"testing"
	"time"
	"unicode"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"slotcard/cmd/internal/files"
	"slotcard/cmd/internal/papers"
)

// hostile is something that is read, and what comes of it. Its file is one of
// testdata/hostile, or is made in the folder of the plan.
type hostile struct {
	name   string // of the file, also in the table
	make   func(t *testing.T, path string)
	args   []string // of the program; nil: check and the file, or verify plan.toml and it
	status int
	says   string // on standard output or standard error
}

const fitting = `Thimble Gulch` // in the sound plan, to be replaced

func text(s string) func(*testing.T, string) {
	return func(t *testing.T, path string) { require.NoError(t, os.WriteFile(path, []byte(s), 0o666)) }
}

// many repeats a text until a file of 1 MB is full.
func many(before, s, after string) func(*testing.T, string) {
	return text(before + strings.Repeat(s, (files.MaxTOML-len(before)-len(after))/len(s)) + after)
}

// numbered repeats a text with numbers from 1 in the place of %d.
func numbered(before, s string) func(*testing.T, string) {
	var b strings.Builder
	b.WriteString(before)
	for n := 1; b.Len() < files.MaxTOML-len(s)-20; n++ {
		fmt.Fprintf(&b, s, n)
	}
	return text(b.String())
}

// commas are so many of a text with numbers from 1 in the place of %d.
func commas(s string, n int) string {
	all := make([]string, n)
	for i := range all {
		all[i] = fmt.Sprintf(s, i+1)
	}
	return strings.Join(all, ", ")
}

func hostiles(plan, load string) []hostile {
	const (
		noCode  = "no QR code is read in it"
		tooMany = "too large or too closely packed to be read"
		damaged = "is a damaged picture"
	)
	swapped := func(old, new string) func(*testing.T, string) {
		return func(t *testing.T, path string) {
			require.Contains(t, plan, old)
			text(strings.Replace(plan, old, new, 1))(t, path)
		}
	}
	return []hostile{
		// Characters.
		{name: "bom.toml", status: exitFine, says: "nothing to report"},
		{name: "bom-utf16.toml", status: exitFindings, says: "bom-utf16.toml: error: the file is UTF-16 text [encoding]"},
		{name: "cr-only.toml", status: exitFindings, says: "error: the lines end with a carriage return alone [encoding]"},
		{name: "nul.toml", status: exitFindings, says: "nul.toml:4:23: error: the control character U+0000 cannot stand in a TOML file [encoding]"},
		{name: "not-utf8.toml", status: exitFindings, says: "not-utf8.toml:34:14: error: the byte 0xFF is not UTF-8 text [encoding]"},
		{name: "overlong.toml", status: exitFindings, says: "overlong.toml:34:14: error: the byte 0xC0 is not UTF-8 text [encoding]"},
		{name: "bidi.toml", status: exitFindings, says: "bidi.toml:35:18: error: supervisor has the character U+202E (right-to-left override), "},
		{name: "invisible.toml", status: exitFindings, says: "error: name has the character U+200B (zero width space), which cannot be seen on paper"},
		{name: "cyrillic-id.toml", status: exitFindings, says: "cyrillic-id.toml:33:8: error: id \"А\" has А (U+0410, Cyrillic capital letter a), which looks like the Latin A [look-alike]"},
		{name: "cyrillic-name.toml", status: exitFindings, says: "error: name \"Еngine 611\" has Е (U+0415, Cyrillic capital letter ie), which looks like the Latin E [look-alike]"},
		{name: "terminal.toml", status: exitFindings, says: "error: name has the character U+001B, which cannot be seen on paper"},
		{name: "separators.toml", status: exitFine, says: "nothing to report"},
		{name: "numbers.toml", status: exitFindings, says: "error: 9223372036854775808 is too large a number [out-of-range]"},

		// Files that are none, or not the ones that were meant.
		{name: "load-passwd.toml", args: []string{"check", "--long", "load-passwd.toml"}, status: exitFindings,
			says: "load-passwd.toml:1:8: error: ../../etc/passwd is no load: at most one of [load], [radio] and [[group]] is in it [wrong-file]"},
		{name: "load-passwd.toml, as JSON", args: []string{"check", "--json", "load-passwd.toml"}, status: exitFindings, says: `"wrong-file"`},
		{name: "load-passwd.toml, printed", args: []string{"print", "load-passwd.toml"}, status: exitFindings, says: "nothing printed: 1 error"},
		{name: "load-missing.toml", make: swapped(`"load.toml"`, `"../../etc/shadow"`), status: exitUsage, says: "its load cannot be read: ../../etc/shadow: no such file"},
		{name: "load-absolute.toml", status: exitFindings, says: "error: load is an absolute path, which no other machine has [load-path]"},
		{name: "load-itself.toml", status: exitFindings, says: "error: load-itself.toml is a plan, not a load [wrong-file]"},
		{name: "load-stdin.toml", status: exitUsage, says: "its load cannot be read: ./-: no such file"},
		{name: "load-nul.toml", status: exitUsage, says: `its load cannot be read: "load.toml\x00.txt": invalid argument`},
		{name: "folder.toml", make: func(t *testing.T, path string) { require.NoError(t, os.Mkdir(path, 0o777)) },
			args: []string{"print", "folder.toml"}, status: exitUsage, says: "folder.toml: is a folder, not a file"},
		{name: "pipe.toml", make: func(t *testing.T, path string) { require.NoError(t, syscall.Mkfifo(path, 0o666)) },
			status: exitUsage, says: "pipe.toml: is a pipe; to read from one, give - as the file and pipe into standard input"},
		{name: "pipe.toml as a picture", args: []string{"verify", "plan.toml", "pipe.toml"}, status: exitUsage, says: "pipe.toml: is a pipe"},
		{name: "link.toml", make: func(t *testing.T, path string) { require.NoError(t, os.Symlink("plan.toml", path)) },
			status: exitFine, says: "nothing to report"},
		{name: "link-to-passwd.toml", make: func(t *testing.T, path string) {
			require.NoError(t, os.Symlink("../../etc/passwd", filepath.Join(filepath.Dir(path), "linked.toml")))
			swapped(`"load.toml"`, `"linked.toml"`)(t, path)
		}, status: exitFindings, says: "error: linked.toml is no load"},
		{name: "loop.toml", make: func(t *testing.T, path string) { require.NoError(t, os.Symlink("loop.toml", path)) },
			status: exitUsage, says: "loop.toml: too many levels of symbolic links"},
		{name: "nowhere.toml", make: func(t *testing.T, path string) { require.NoError(t, os.Symlink("gone.toml", path)) },
			status: exitUsage, says: "nowhere.toml: no such file"},
		{name: "device", args: []string{"check", "/dev/zero"}, status: exitUsage, says: "/dev/zero: is a device, not a file"},
		{name: "1 GB of nothing.toml", make: sparse(1 << 30), status: exitUsage, says: "is larger than 1 MB: too large for a load or a plan"},
		{name: "1 GB of nothing.jpg", make: sparse(1 << 30), status: exitUsage, says: "is larger than 64 MB"},
		{name: "64 MB of nothing.txt", make: sparse(64 << 20), args: []string{"verify", "plan.toml", "64 MB of nothing.txt"}, status: exitUsage, says: "is larger than 1 MB, and neither a picture nor a PDF: that is no list"},
		{name: "endless input", args: []string{"-c", "yes '[[slot]]' | slotcard check -"}, status: exitUsage, says: "standard input: is larger than 1 MB"},

		// Much of one thing.
		{name: "brackets.toml", make: many("x = ", "[", ""), status: exitFindings, says: "[too-deep]"},
		{name: "braces.toml", make: many("x = ", "{a=", ""), status: exitFindings, says: "[too-deep]"},
		{name: "dots.toml", make: many("a", ".a", " = 1\n"), status: exitFindings, says: "error: "},
		{name: "dots in a header.toml", make: many("[a", ".a", "]\n"), status: exitFindings, says: "error: "},
		{name: "a long list.toml", make: many("load = [", "1,", "]\n"), status: exitFindings, says: "error: the file has 524283 commas, more than the 100000 that a load or a plan may have [too-large]"},
		{name: "a long scan list.toml", make: swapped(`["command", "air-to-ground"]`, `[`+strings.Repeat(`"QB CMD 9",`, 9999)+`"own"]`), status: exitFindings, says: "error: "},
		{name: "headers.toml", make: many(plan, "[[slot]]\n", ""), status: exitFindings, says: "[slot-channel]"},
		{name: "slots.toml", make: many(plan, "[[slot]]\nrx = 1\n", ""), status: exitFindings, says: "error: slot "},
		{name: "same slots.toml", make: many(plan, "[[slot]]\nchannel = \"VFIRE21\"\n", ""), status: exitFindings, says: "error: "},
		{name: "divisions.toml", make: numbered(plan, "[[division]]\nid = \"D%d\"\n"), status: exitFindings, says: "error: "},
		{name: "seats.toml", make: numbered(plan, "[[unit]]\nname = \"U%d\"\nseats = { \"Firefighter\" = 999 }\n"), status: exitFindings, says: "error: "},
		{name: "acceptances.toml", make: numbered(plan, "[[accept]]\nrule = \"r%d\"\nsubject = \"x\"\nbecause = \"x\"\nby = \"x\"\n"), status: exitFindings, says: "[accept-unknown-rule]"},
		{name: "keys.toml", make: numbered("", "k%d = 1\n"), status: exitFindings, says: "[unknown-key]"},
		{name: "lines.toml", make: many("", "a b\n", ""), status: exitFindings, says: "[syntax]"},
		{name: "same keys.toml", make: many("", "a=1\n", ""), status: exitFindings, says: "[duplicate-key]"},
		{name: "same keys in braces.toml", make: text(plan + "x={" + strings.Repeat("a=1,", 99_000) + "a=1}\n"), status: exitFindings, says: "[duplicate-key]"},
		{name: "keys in braces.toml", make: text(plan + "x = {" + commas("k%d = 1", 60_000) + "}\n"), status: exitFindings, says: "error: the table that begins here has more than 10000 values [too-large]"},
		{name: "seats in braces.toml", make: swapped(`"Firefighter" = 3`, commas(`"P%d" = 1`, 30_000)), status: exitFindings, says: "error: the table that begins here has more than 10000 values [too-large]"},
		{name: "lists of lists.toml", make: text(plan + "x = [" + strings.Repeat("["+strings.Repeat("1,", 9000)+"],", 10) + "]\n"), status: exitFindings, says: "error: the list that begins here has more than 10000 values [too-large]"},
		{name: "dotted keys.toml", make: numbered(plan, "a.b.c.d%d = 1\n"), status: exitFindings, says: "[unknown-key]"},
		{name: "control characters.toml", make: many(plan, "\x01", ""), status: exitFindings, says: "error: the control character U+0001 cannot stand in a TOML file [encoding]"},
		{name: "control lines.toml", make: many(plan, "#\x01\n", ""), status: exitFindings, says: "error: the control character U+0001 cannot stand in a TOML file [encoding]"},
		{name: "positions not there.toml", make: numbered(plan, "[[unit]]\nname = \"U%d\"\nseats = { \"Fireflghter %[1]d\" = 1 }\n"), status: exitFindings, says: "[unknown-position]"},
		{name: "channels.toml", make: numbered(load, "[[group.channel]]\nnumber = %d\nname = \"C %[1]d\"\nuse = \"tactical\"\nrx = 154.28\n"), status: exitFindings, says: "error: more than 5000 channels; those from here on are not read [out-of-range]"},
		{name: "channels of one name.toml", make: numbered(load, "[[group.channel]]\nnumber = %d\nname = \"C 1\"\nuse = \"command\"\nrx = \"154.28%[1]d\"\n"), status: exitFindings, says: "C 1 stands for"},
		{name: "tones.toml", make: numbered(load, "[[tone]]\nnumber = %d\nhz = 100.0\n"), status: exitFindings, says: "error: more than 1000 [[tone]] entries"},
		{name: "sites.toml", make: numbered(load, "[[site]]\nname = \"S%d\"\ntone = 4\nchannels = [\"QB CMD 1\"]\n"), status: exitFindings, says: "error: more than 1000 [[site]] entries"},
		{name: "groups.toml", make: numbered(load, "[[group]]\nnumber = %d\nname = \"G\"\n"), status: exitFindings, says: "error: more than 1000 [[group]] entries"},
		{name: "a long name.toml", make: swapped(fitting, strings.Repeat("W", files.MaxTOML-2000)), args: []string{"print", "a long name.toml"}, status: exitFindings, says: "error: name has 1046576 characters; up to 500 are possible [bad-value]"},

		// Sheets.
		{name: "commas.csv", make: text(strings.Repeat(",", 3<<20)), args: []string{"import", "commas.csv"}, status: exitUsage, says: "has more than 128 columns at line 1"},
		{name: "15 MB of text.csv", make: text(strings.Repeat("a,b\n", 15<<18)), args: []string{"import", "15 MB of text.csv"}, status: exitUsage, says: "holds more than 4 MB of text"},
		{name: "rows.csv", make: text("Name,RX\n" + strings.Repeat("C,154.28\n", 7000)), args: []string{"import", "rows.csv"}, status: exitUsage, says: "has more than 6000 rows"},
		{name: "frequencies.csv", make: text("Name,RX\n" + strings.Repeat(strings.Repeat("154.2800,", 120)+"b\n", 600)), args: []string{"import", "frequencies.csv"}, status: exitFine, says: "600 channels in 1 group"},
		{name: "rows.xlsx", make: workbook(strings.Repeat("<row/>", 390_000)), args: []string{"import", "rows.xlsx"}, status: exitUsage, says: "is empty"},
		{name: "many rows.xlsx", make: workbook(strings.Repeat("<row/>", 5<<20)), args: []string{"draft", "load.toml", "many rows.xlsx"}, status: exitUsage, says: "holds more cells and formats than any list of channels needs"},
		{name: "deep.xlsx", make: workbook(strings.Repeat("<a>", 1<<20) + strings.Repeat("</a>", 1<<20)), args: []string{"import", "deep.xlsx"}, status: exitUsage, says: "holds more cells and formats than any list of channels needs"},

		{name: "states.pdf", make: pdfOf(1, packed(strings.Repeat("q ", 1_000_000))), args: []string{"import", "states.pdf"}, status: exitUsage, says: "draws more than any plan sheet"},
		{name: "much text.pdf", make: pdfOf(1, packed("BT ("+strings.Repeat("x", 2_000_000)+") Tj ET")), args: []string{"draft", "load.toml", "much text.pdf"}, status: exitUsage, says: "holds more text than any plan sheet"},
		{name: "8 MB of drawing.pdf", make: pdfOf(1, packed(strings.Repeat("0 0 m 1 1 l S ", 600_000))), args: []string{"draft", "load.toml", "8 MB of drawing.pdf"}, status: exitUsage, says: "draws more than any plan sheet"},
		{name: "a ring of pages.pdf", make: func(t *testing.T, path string) {
			pdfOf(1, packed("n"))(t, path)
			data, err := os.ReadFile(path)
			require.NoError(t, err)
			text(strings.Replace(string(data), "/Kids [3 0 R]", "/Kids [2 0 R]", 1))(t, path)
		}, args: []string{"draft", "load.toml", "a ring of pages.pdf"}, status: exitUsage, says: "is a PDF whose pages do not end"},

		// Pictures, PDFs and lists.
		{name: "png-50000.png", status: exitUsage, says: "is a picture of 50000 by 50000 pixels, " + tooMany},
		{name: "jpeg-50000.jpg", status: exitUsage, says: "is a picture of 50000 by 50000 pixels, " + tooMany},
		{name: "webp-16383.webp", status: exitUsage, says: "is a picture of 16383 by 16383 pixels, " + tooMany},
		{name: "png-most.png", status: exitUsage, says: damaged},
		{name: "png-none.png", status: exitUsage, says: damaged},
		{name: "png-truncated.png", status: exitUsage, says: damaged + ": it breaks off"},
		{name: "jpeg-truncated.jpg", status: exitUsage, says: damaged + ": it breaks off"},
		{name: "100 million bits.png", make: blankPNG(10_000, 10_000, 1, 0), status: exitUsage, says: tooMany},
		{name: "100 million greys.png", make: blankPNG(10_000, 10_000, 8, 0), status: exitUsage, says: tooMany},
		{name: "90 million colors.png", make: blankPNG(10_000, 9000, 16, 6), status: exitUsage, says: tooMany},
		{name: "16 million colors.png", make: blankPNG(4000, 4000, 16, 6), status: exitUsage, says: tooMany},
		{name: "12 million colors.png", make: blankPNG(4000, 3000, 8, 6), status: exitUsage, says: noCode},
		{name: "12 million of noise.png", make: noisePNG, status: exitUsage, says: noCode},
		{name: "12 million of noise.jpg", make: noiseJPEG, status: exitUsage, says: noCode},
		{name: "6 million of corners.png", make: cornersPNG, status: exitUsage, says: noCode},
		{name: "text that unpacks.png", make: chunkBomb, status: exitUsage, says: noCode},
		{name: "pdf-truncated.pdf", status: exitUsage, says: "it breaks off before its end"},
		{name: "unpacks to 1 GB.pdf", make: pdfOf(1, zeros(1<<30)), status: exitUsage, says: "a drawing in it unpacks to more than 16 MB"},
		{name: "45 MB of drawing.pdf", make: pdfOf(3, packed(strings.Repeat("0 0 1 1 re f [1 2] 0 d\n", 15<<20/23))), status: exitUsage, says: "no QR code is drawn in it"},
		{name: "60 MB of drawing.pdf", make: pdfOf(4, packed(strings.Repeat("0 0 1 1 re f [1 2] 0 d\n", 15<<20/23))), status: exitUsage, says: "it unpacks to more than 48 MB"},
		{name: "list-bidi.txt", status: exitFindings, says: `list-bidi.txt: damaged: line 2: `},
		{name: "list-nul.txt", status: exitUsage, says: "is neither a text nor a picture or PDF that can be read"},
		{name: "1 MB of lists.txt", make: many("", "SLOTS 1 X/1\n=0000\n", ""), status: exitFindings, says: "damaged: "},
	}
}

// workbook is an XLSX with one sheet of these rows (ECMA-376, part 1).
func workbook(rows string) func(*testing.T, string) {
	return func(t *testing.T, path string) {
		const (
			office    = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
			main      = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
			relations = `<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Id="r1" Type="` + office + `/%s" Target="%s"/></Relationships>`
		)
		var b bytes.Buffer
		z := zip.NewWriter(&b)
		for _, part := range [][2]string{
			{"[Content_Types].xml", `<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types"><Default Extension="xml" ContentType="application/xml"/></Types>`},
			{"_rels/.rels", fmt.Sprintf(relations, "officeDocument", "xl/workbook.xml")},
			{"xl/workbook.xml", `<workbook xmlns="` + main + `" xmlns:r="` + office + `"><sheets><sheet name="S" sheetId="1" r:id="r1"/></sheets></workbook>`},
			{"xl/_rels/workbook.xml.rels", fmt.Sprintf(relations, "worksheet", "worksheets/sheet1.xml")},
			{"xl/worksheets/sheet1.xml", `<worksheet xmlns="` + main + `"><sheetData>` + rows + `</sheetData></worksheet>`},
		} {
			w, err := z.Create(part[0])
			require.NoError(t, err)
			_, err = w.Write([]byte(part[1]))
			require.NoError(t, err)
		}
		require.NoError(t, z.Close())
		text(b.String())(t, path)
	}
}

// sparse is a file without content that says it is so long.
func sparse(size int64) func(*testing.T, string) {
	return func(t *testing.T, path string) {
		text("")(t, path)
		require.NoError(t, os.Truncate(path, size))
	}
}

func chunk(kind string, data []byte) []byte {
	b := append(binary.BigEndian.AppendUint32(nil, uint32(len(data))), kind...)
	b = append(b, data...)
	return binary.BigEndian.AppendUint32(b, crc32.ChecksumIEEE(b[4:]))
}

// pngOf is a PNG of a color type as PNG numbers them, with more chunks in it.
func pngOf(w, h uint32, depth, colour byte, pixels, more []byte) []byte {
	head := binary.BigEndian.AppendUint32(binary.BigEndian.AppendUint32(nil, w), h)
	b := append([]byte("\x89PNG\r\n\x1a\n"), chunk("IHDR", append(head, depth, colour, 0, 0, 0))...)
	b = append(append(b, more...), chunk("IDAT", pixels)...)
	return append(b, chunk("IEND", nil)...)
}

// zeros are so many bytes, packed.
func zeros(n int) []byte {
	var b bytes.Buffer
	z, block := zlib.NewWriter(&b), make([]byte, 1<<16)
	for ; n > 0; n -= len(block) {
		_, _ = z.Write(block[:min(n, len(block))])
	}
	_ = z.Close()
	return b.Bytes()
}

// blankPNG is black all over, and packs into a thousandth of what it holds.
func blankPNG(w, h uint32, depth, colour byte) func(*testing.T, string) {
	return func(t *testing.T, path string) {
		channels := map[byte]int{0: 1, 6: 4}[colour]
		row := 1 + (int(w)*channels*int(depth)+7)/8
		text(string(pngOf(w, h, depth, colour, zeros(row*int(h)), nil)))(t, path)
	}
}

// chunkBomb is a small picture with a text that unpacks to 256 MB.
func chunkBomb(t *testing.T, path string) {
	note := chunk("zTXt", append([]byte("Comment\x00\x00"), zeros(1<<28)...))
	text(string(pngOf(8, 8, 8, 0, zeros(9*8), note)))(t, path)
}

// packed are bytes as they stand in a PDF.
func packed(s string) []byte {
	var b bytes.Buffer
	z := zlib.NewWriter(&b)
	_, _ = z.Write([]byte(s))
	_ = z.Close()
	return b.Bytes()
}

// noise are random bytes, the same each time.
func noise(n int) []byte {
	b := make([]byte, n)
	_, _ = rand.NewChaCha8([32]byte{1}).Read(b)
	return b
}

func noisePNG(t *testing.T, path string) {
	writePNG(t, path, &image.Gray{Pix: noise(4000 * 3000), Stride: 4000, Rect: image.Rect(0, 0, 4000, 3000)})
}

func noiseJPEG(t *testing.T, path string) {
	img := image.NewYCbCr(image.Rect(0, 0, 4000, 3000), image.YCbCrSubsampleRatio420)
	img.Y, img.Cb, img.Cr = noise(len(img.Y)), noise(len(img.Cb)), noise(len(img.Cr))
	var b bytes.Buffer
	require.NoError(t, jpeg.Encode(&b, img, nil))
	text(b.String())(t, path)
}

// cornersPNG is full of what stands in the corners of a QR code.
func cornersPNG(t *testing.T, path string) {
	const module, apart = 3, 9 // pixels, modules
	img := image.NewGray(image.Rect(0, 0, 3000, 2000))
	for y := range 2000 {
		for x := range 3000 {
			u, v := x/module%apart-3, y/module%apart-3
			if r := max(u, -u, v, -v); r == 2 || r > 3 {
				img.Pix[y*img.Stride+x] = 255
			}
		}
	}
	writePNG(t, path, img)
}

func writePNG(t *testing.T, path string, img image.Image) {
	var b bytes.Buffer
	require.NoError(t, (&png.Encoder{CompressionLevel: png.BestSpeed}).Encode(&b, img))
	text(b.String())(t, path)
}

// pdfOf is a PDF as ours, with one drawing on so many pages.
func pdfOf(pages int, drawing []byte) func(*testing.T, string) {
	b := []byte("%PDF-1.3\n")
	var at []int
	kids := strings.TrimSpace(strings.Repeat("3 0 R ", pages))
	for i, o := range []string{
		"<< /Type /Catalog /Pages 2 0 R >>", fmt.Sprintf("<< /Type /Pages /Kids [%s] /Count %d >>", kids, pages),
		"<< /Type /Page /MediaBox [0 0 300 300] /Resources << >> /Contents 4 0 R >>",
		fmt.Sprintf("<< /Filter /FlateDecode /Length %d >>\nstream\n%s\nendstream", len(drawing), drawing),
		fmt.Sprintf("<< /Producer (slotcard) /Title (%s) >>", strings.Repeat("x", (pages-1)*250_000)), // more may unpack from a larger file
	} {
		at = append(at, len(b))
		b = fmt.Appendf(b, "%d 0 obj\n%s\nendobj\n", i+1, o)
	}
	xref := len(b)
	b = fmt.Appendf(b, "xref\n0 %d\n0000000000 65535 f \n", len(at)+1)
	for _, a := range at {
		b = fmt.Appendf(b, "%010d 00000 n \n", a)
	}
	b = fmt.Appendf(b, "trailer\n<< /Size %d /Root 1 0 R /Info 5 0 R >>\nstartxref\n%d\n%%%%EOF\n", len(at)+1, xref)
	return text(string(b))
}

// TestHostileInput runs the real program on each. With -v it prints a table of
// what came of it, how long all its processors worked, and how much memory: time
// and memory are shown and not asserted. They should stay under a second and 200 MB.
// Memory is the most the process had in RAM.
func TestHostileInput(t *testing.T) {
	home := t.TempDir()
	dir := filepath.Join(home, "deep", "fire")
	require.NoError(t, os.CopyFS(dir, os.DirFS("testdata/fire")))
	require.NoError(t, os.CopyFS(dir, os.DirFS("../../testdata/hostile")))
	const secret = "root:x:0:0:canary"
	require.NoError(t, os.Mkdir(filepath.Join(home, "etc"), 0o777))
	text(secret+":/root:/bin/sh\n")(t, filepath.Join(home, "etc", "passwd"))
	plan, err := os.ReadFile(filepath.Join(dir, "plan.toml"))
	require.NoError(t, err)

	took := filepath.Join(t.TempDir(), "took")
	load, err := os.ReadFile(filepath.Join(dir, "load.toml"))
	require.NoError(t, err)
	all := hostiles(string(plan), string(load))
	tried := map[string]bool{"README.md": true}
	table := fmt.Sprintf("%-26s %-6s %7s %7s  %s\n", "input", "status", "ms", "MB", "what it got")
	for _, h := range all {
		tried[h.name] = true
		path := filepath.Join(dir, h.name)
		if h.make != nil {
			h.make(t, path)
		}
		program, args := "slotcard", h.args
		switch {
		case args == nil && filepath.Ext(h.name) == ".toml":
			args = []string{"check", h.name}
		case args == nil:
			args = []string{"verify", "plan.toml", h.name}
		case args[0] == "-c":
			program = "sh"
		}
		before := tree(t, home)
		ctx, cancel := context.WithTimeout(t.Context(), time.Minute) // it hangs
		cmd := exec.CommandContext(ctx, "measured", append([]string{program}, args...)...)
		cmd.Dir, cmd.Env = dir, append(os.Environ(), measuredIn+"="+took)
		var out bytes.Buffer
		cmd.Stdout, cmd.Stderr = &out, &out
		_ = cmd.Run()
		require.NoError(t, ctx.Err(), "%s: hangs", h.name)
		cancel()

		assert.Equal(t, h.status, cmd.ProcessState.ExitCode(), "%s: %s", h.name, cmd.ProcessState)
		said := out.String()
		line := firstLine(said, h.says)
		if len(said) > 2000 {
			said = said[:2000] + "..."
		}
		assert.NotEmpty(t, line, "%s: says %q, not %q", h.name, said, h.says)
		for _, never := range []string{"panic", "goroutine ", "runtime error", secret} {
			assert.NotContains(t, out.String(), never, h.name)
		}
		assert.True(t, utf8.Valid(out.Bytes()), "%s: says what is no UTF-8", h.name)
		assert.Equal(t, -1, strings.IndexFunc(out.String(), func(r rune) bool {
			return r != '\n' && (unicode.IsControl(r) || unicode.Is(unicode.Cf, r))
		}), "%s: says what a terminal obeys: %q", h.name, said)
		assert.Equal(t, before, tree(t, home), "%s: leaves something behind", h.name)

		measures, err := os.ReadFile(took)
		require.NoError(t, err)
		table += fmt.Sprintf("%-26s %6d %s  %.120s\n", h.name, cmd.ProcessState.ExitCode(), measures, line)
		if h.make != nil && strings.Contains(h.name, "MB") || strings.Contains(h.name, "GB") {
			require.NoError(t, os.Remove(path)) // large
		}
	}
	t.Log("\n" + table)

	files, err := os.ReadDir("../../testdata/hostile")
	require.NoError(t, err)
	for _, f := range files {
		assert.True(t, tried[f.Name()], "%s is not tried", f.Name())
	}
}

// measuredIn names the file in which measured writes.
const measuredIn = "SLOTCARD_TEST_MEASURED"

// measured is a program of the tests that runs another one, ends as it ended, and
// writes what it took: milliseconds of all processors, and megabytes of RAM. The
// system counts as memory of a process at least what the one had that started it: this
// one is small.
func measured() {
	cmd := exec.Command(os.Args[1], os.Args[2:]...)
	cmd.Stdin, cmd.Stdout, cmd.Stderr = os.Stdin, os.Stdout, os.Stderr
	_ = cmd.Run()
	if cmd.ProcessState == nil {
		panic(cmd.Err)
	}
	usage := cmd.ProcessState.SysUsage().(*syscall.Rusage)
	memory := int64(usage.Maxrss)
	if runtime.GOOS != "darwin" { // which counts bytes, the others kilobytes
		memory <<= 10
	}
	work := cmd.ProcessState.UserTime() + cmd.ProcessState.SystemTime()
	if err := os.WriteFile(os.Getenv(measuredIn), fmt.Appendf(nil, "%7d %7d", work.Milliseconds(), memory>>20), 0o666); err != nil {
		panic(err)
	}
	os.Exit(cmd.ProcessState.ExitCode())
}

// firstLine is the line of a text that holds a piece of it; "" where none does.
func firstLine(s, piece string) string {
	for line := range strings.SplitSeq(s, "\n") {
		if strings.Contains(line, piece) {
			return line
		}
	}
	return ""
}

// tree is what a folder and those in it hold: name to kind and size.
func tree(t *testing.T, dir string) map[string]string {
	t.Helper()
	all := map[string]string{}
	require.NoError(t, filepath.Walk(dir, func(path string, info os.FileInfo, err error) error {
		if err != nil {
			return err
		}
		size := info.Size()
		if info.IsDir() {
			size = 0
		}
		all[path] = fmt.Sprintf("%s %d", info.Mode(), size)
		return nil
	}))
	return all
}

// Names of outputs come out of the program and the command line; of what a plan says
// they have at most letters, figures and hyphens.
func TestNamesOfOutputsNeverComeFromAPlan(t *testing.T) {
	home := t.TempDir()
	dir := filepath.Join(home, "deep", "fire")
	require.NoError(t, os.CopyFS(dir, os.DirFS("testdata/fire")))
	data, err := os.ReadFile("../../testdata/hostile/separators.toml")
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(filepath.Join(dir, "separators.toml"), data, 0o666))
	load, err := os.ReadFile(filepath.Join(dir, "load.toml"))
	require.NoError(t, err)
	renamed := strings.Replace(string(load), `"Quillback Range cooperators"`, `"../../Quillback/load"`, 1)
	require.NotEqual(t, string(load), renamed)
	require.NoError(t, os.WriteFile(filepath.Join(dir, "load.toml"), []byte(renamed), 0o666))
	before := tree(t, home)

	var stdout, stderr bytes.Buffer
	for _, args := range [][]string{
		{"print", filepath.Join(dir, "separators.toml"), "--png"},
		{"print", filepath.Join(dir, "separators.toml"), "--since", filepath.Join(dir, "plan.toml")},
		{"print", filepath.Join(dir, "load.toml")},
	} {
		require.Equal(t, exitFine, run(args, nil, &stdout, &stderr), "%s%s", &stdout, &stderr)
	}
	out := filepath.Join(dir, "out")
	made := 0
	for name := range tree(t, home) {
		if _, was := before[name]; was || name == out {
			continue
		}
		if made++; strings.HasSuffix(name, papers.NumbersEnd) {
			assert.Equal(t, dir, filepath.Dir(name))
			assert.Equal(t, "separators"+papers.NumbersEnd, filepath.Base(name))
			continue
		}
		assert.Equal(t, out, filepath.Dir(name))
		assert.Regexp(t, `^(\.slotcard-print\.json|(cards|wall|handout|changes|book)\.pdf|(cards-\d+-[a-z0-9-]+-(front|phone)|cards-back-[0-9a-z]{4}|(wall|handout)-\d+)\.png)$`, filepath.Base(name))
	}
	assert.Greater(t, made, 15)
}
