package rendertest

import (
	"bytes"
	"encoding/json"
	"encoding/xml"
	"errors"
	"fmt"
	"image"
	"image/draw"
	"image/png"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// SecondOpinions is the environment variable that asks for the second opinions
// of programs. If it is set, a program that is not there fails the test;
// without it these tests say that they are skipped.
const SecondOpinions = "SLOTCARD_SECOND_OPINIONS"

func program(t testing.TB, name, from string) string {
	t.Helper()
	if os.Getenv(SecondOpinions) == "" {
		t.Skipf("second opinion of %s skipped: set %s to ask for it", name, SecondOpinions)
	}
	path, err := exec.LookPath(name)
	require.NoError(t, err, "%s is set, so %s of %s has to be installed", SecondOpinions, name, from)
	return path
}

// run returns what a program writes to standard output; it has to succeed.
func run(t testing.TB, path string, args ...string) string {
	t.Helper()
	var out, errs bytes.Buffer
	cmd := exec.Command(path, args...)
	cmd.Stdout, cmd.Stderr = &out, &errs
	require.NoError(t, cmd.Run(), "%s %s\n%s%s", filepath.Base(path), strings.Join(args, " "), out.String(), errs.String())
	return out.String()
}

func file(t testing.TB, name string, data []byte) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), name)
	require.NoError(t, os.WriteFile(path, data, 0o600))
	return path
}

// PopplerTools are pdftotext, pdftoppm and pdfinfo.
type PopplerTools struct{ text, ppm, info string }

// Poppler is a second engine for text and pictures.
func Poppler(t testing.TB) PopplerTools {
	t.Helper()
	const from = "poppler-utils"
	return PopplerTools{program(t, "pdftotext", from), program(t, "pdftoppm", from), program(t, "pdfinfo", from)}
}

// Text of a page, from 0, laid out as on paper.
func (p PopplerTools) Text(t testing.TB, pdf []byte, page int) string {
	t.Helper()
	n := strconv.Itoa(page + 1)
	return run(t, p.text, "-layout", "-f", n, "-l", n, file(t, "a.pdf", pdf), "-")
}

// Word is a word on a page and its box, in mm from the top left corner.
type Word struct {
	S              string
	X0, Y0, X1, Y1 float64
}

// Words are those of every page of a document.
func (p PopplerTools) Words(t testing.TB, pdf []byte) (pages [][]Word) {
	t.Helper()
	d := xml.NewDecoder(strings.NewReader(run(t, p.text, "-bbox", file(t, "a.pdf", pdf), "-")))
	d.Strict, d.Entity = false, xml.HTMLEntity
	for {
		token, err := d.Token()
		if errors.Is(err, io.EOF) {
			return pages
		}
		require.NoError(t, err)
		start, ok := token.(xml.StartElement)
		switch {
		case ok && start.Name.Local == "page":
			pages = append(pages, nil)
		case ok && start.Name.Local == "word":
			var w struct {
				XMin float64 `xml:"xMin,attr"`
				YMin float64 `xml:"yMin,attr"`
				XMax float64 `xml:"xMax,attr"`
				YMax float64 `xml:"yMax,attr"`
				S    string  `xml:",chardata"`
			}
			require.NoError(t, d.DecodeElement(&w, &start))
			const mm = 25.4 / 72
			pages[len(pages)-1] = append(pages[len(pages)-1], Word{w.S, w.XMin * mm, w.YMin * mm, w.XMax * mm, w.YMax * mm})
		}
	}
}

// Info is what pdfinfo says of a document.
func (p PopplerTools) Info(t testing.TB, pdf []byte) string {
	t.Helper()
	return run(t, p.info, "-box", file(t, "a.pdf", pdf))
}

// Image is a picture of a page, from 0. It comes as a PGM: to pack and unpack a PNG
// takes ten times as long as to draw it.
func (p PopplerTools) Image(t testing.TB, pdf []byte, page, dpi int) *image.Gray {
	t.Helper()
	n := strconv.Itoa(page + 1)
	in := file(t, "a.pdf", pdf)
	out := filepath.Join(filepath.Dir(in), "page")
	run(t, p.ppm, "-r", strconv.Itoa(dpi), "-gray", "-singlefile", "-f", n, "-l", n, in, out)
	data, err := os.ReadFile(out + ".pgm")
	require.NoError(t, err)
	var w, h int
	_, err = fmt.Sscanf(string(data[:min(len(data), 40)]), pgm, &w, &h)
	require.NoError(t, err)
	require.Greater(t, len(data), w*h)
	return &image.Gray{Pix: data[len(data)-w*h:], Stride: w, Rect: image.Rect(0, 0, w, h)}
}

// pgm is the head of a picture in grey, in the binary form of Netpbm's PGM (its manual,
// "pgm"): width, height, white. The pixels follow.
const pgm = "P5\n%d %d\n255\n"

// ZbarTool is zbarimg.
type ZbarTool struct{ path string }

// Zbar is a second decoder of QR codes.
func Zbar(t testing.TB) ZbarTool {
	t.Helper()
	return ZbarTool{program(t, "zbarimg", "zbar-tools")}
}

// Decode returns the text of the one code in a picture.
func (z ZbarTool) Decode(t testing.TB, img image.Image) string {
	t.Helper()
	r := img.Bounds()
	g, ok := img.(*image.Gray)
	if !ok {
		g = image.NewGray(r)
		draw.Draw(g, r, img, r.Min, draw.Src)
	}
	data := fmt.Appendf(nil, pgm, r.Dx(), r.Dy())
	for y := r.Min.Y; y < r.Max.Y; y++ {
		data = append(data, g.Pix[g.PixOffset(r.Min.X, y):][:r.Dx()]...)
	}
	return run(t, z.path, "--quiet", "--raw", "--oneshot", "-Sbinary", "-Sdisable", "-Sqrcode.enable", file(t, "a.pgm", data))
}

// Photographs returns the texts of the codes in each of some JPEGs; none where it
// reads none. The texts are ASCII.
func (z ZbarTool) Photographs(t testing.TB, photos [][]byte) [][]string {
	t.Helper()
	dir := t.TempDir()
	args := []string{"--quiet", "--xml", "-Sdisable", "-Sqrcode.enable"}
	for i, p := range photos {
		name := filepath.Join(dir, strconv.Itoa(i)+".jpg")
		require.NoError(t, os.WriteFile(name, p, 0o600))
		args = append(args, name)
	}
	var errs bytes.Buffer
	cmd := exec.Command(z.path, args...)
	cmd.Stderr = &errs
	out, err := cmd.Output()
	var exit *exec.ExitError
	if !errors.As(err, &exit) || exit.ExitCode() != 4 { // it reads nothing in one of them
		require.NoError(t, err, "%s", errs.String())
	}
	var doc struct {
		Sources []struct {
			File  string   `xml:"href,attr"`
			Texts []string `xml:"index>symbol>data"`
		} `xml:"source"`
	}
	require.NoError(t, xml.Unmarshal(out, &doc))
	texts := make([][]string, len(photos))
	for _, s := range doc.Sources {
		i, err := strconv.Atoi(strings.TrimSuffix(filepath.Base(s.File), ".jpg"))
		require.NoError(t, err)
		texts[i] = s.Texts
	}
	return texts
}

// QpdfTool is qpdf.
type QpdfTool struct{ path string }

// Qpdf checks the structure of a PDF.
func Qpdf(t testing.TB) QpdfTool {
	t.Helper()
	return QpdfTool{program(t, "qpdf", "qpdf")}
}

// Check fails the test if the file has a fault, or a warning.
func (q QpdfTool) Check(t testing.TB, pdf []byte) {
	t.Helper()
	run(t, q.path, "--check", file(t, "a.pdf", pdf))
}

// MutoolTool is mutool.
type MutoolTool struct{ path string }

// Mutool is a third engine.
func Mutool(t testing.TB) MutoolTool {
	t.Helper()
	return MutoolTool{program(t, "mutool", "mupdf-tools")}
}

// Text of a page, from 0.
func (m MutoolTool) Text(t testing.TB, pdf []byte, page int) string {
	t.Helper()
	return run(t, m.path, "draw", "-q", "-F", "text", file(t, "a.pdf", pdf), strconv.Itoa(page+1))
}

// ChromiumTool is a browser.
type ChromiumTool struct{ path string }

// Chromium is an engine for SVG.
func Chromium(t testing.TB) ChromiumTool {
	t.Helper()
	return ChromiumTool{program(t, "chromium", "chromium")}
}

// Image is a picture of a page, an HTML or SVG file, width by height pixels at
// dpi pixels an inch, from its top left corner.
func (c ChromiumTool) Image(t testing.TB, name string, page []byte, width, height, dpi int) image.Image {
	t.Helper()
	in := file(t, name, page)
	dir := filepath.Dir(in)
	out := filepath.Join(dir, "page.png")
	scale := float64(dpi) / 96 // the pixels of CSS are 96 an inch
	run(t, c.path, "--headless", "--no-sandbox", "--disable-gpu", "--hide-scrollbars", "--user-data-dir="+filepath.Join(dir, "profile"),
		"--force-device-scale-factor="+strconv.FormatFloat(scale, 'g', -1, 64),
		"--window-size="+strconv.Itoa(int(float64(width)/scale)+1)+","+strconv.Itoa(int(float64(height)/scale)+1),
		"--screenshot="+out, "file://"+in)
	data, err := os.ReadFile(out)
	require.NoError(t, err)
	img, err := png.Decode(bytes.NewReader(data))
	require.NoError(t, err)
	return img
}

// Objects of a PDF as qpdf shows them: by "obj:N 0 R", and "trailer" (qpdf manual,
// "qpdf JSON", version 2).
func (q QpdfTool) Objects(t testing.TB, pdf []byte) map[string]any {
	t.Helper()
	var out struct {
		Qpdf []json.RawMessage `json:"qpdf"`
	}
	require.NoError(t, json.Unmarshal([]byte(run(t, q.path, "--json=2", "--json-key=qpdf", file(t, "a.pdf", pdf))), &out))
	require.Len(t, out.Qpdf, 2)
	var objects map[string]any
	require.NoError(t, json.Unmarshal(out.Qpdf[1], &objects))
	return objects
}

// Attached is the content of a file that is attached to a PDF, by its key, as qpdf
// takes it out.
func (q QpdfTool) Attached(t testing.TB, pdf []byte, key string) string {
	t.Helper()
	return run(t, q.path, "--show-attachment="+key, file(t, "a.pdf", pdf))
}

// Unpacked is a PDF with nothing in it compressed.
func (q QpdfTool) Unpacked(t testing.TB, pdf []byte) string {
	t.Helper()
	return run(t, q.path, "--stream-data=uncompress", file(t, "a.pdf", pdf), "-")
}

// Structure is what pdfinfo finds of the tags of a document.
func (p PopplerTools) Structure(t testing.TB, pdf []byte) string {
	t.Helper()
	return run(t, p.info, "-struct", file(t, "a.pdf", pdf))
}

// InOrder is the text of a document in the order in which it is drawn.
func (p PopplerTools) InOrder(t testing.TB, pdf []byte) string {
	t.Helper()
	return run(t, p.text, "-raw", file(t, "a.pdf", pdf), "-")
}
