// Package rendertest looks at a PDF with other eyes than those that wrote it.
// Start with [Open], which reads one with PDFium and answers with pictures and
// with text in its place; [DecodeQR] reads the codes in a picture; [Poppler],
// [Zbar], [Qpdf] and [Mutool] are second opinions that need a program.
//
// PDFium runs as WebAssembly inside of the test, so there is nothing to
// install. Compiling it takes about four seconds on two cores, half a minute
// under the race detector, once for a machine: the result is kept in the
// user's cache directory, so run without the race detector first. After that
// it starts in a third of a second. A page takes 0.1 to 0.4 s at 300 dpi; the
// race detector slows text down more than pictures. So look at few pages, and
// at 200 dpi where that will do. Pages count from 0; lengths are millimeters
// from the top left.
package rendertest

import (
	"context"
	"fmt"
	"image"
	"math"
	"os"
	"path/filepath"
	"runtime"
	"sync"
	"testing"
	"time"

	"github.com/klippa-app/go-pdfium"
	"github.com/klippa-app/go-pdfium/references"
	"github.com/klippa-app/go-pdfium/requests"
	"github.com/klippa-app/go-pdfium/responses"
	"github.com/klippa-app/go-pdfium/webassembly"
	"github.com/stretchr/testify/require"
	"github.com/tetratelabs/wazero"
	"github.com/tetratelabs/wazero/api"
	"github.com/tetratelabs/wazero/experimental"
)

// mm is the length of a PDF point.
const mm = 25.4 / 72

// engine is started by the first test that needs it and lives as long as the
// process.
var engine = sync.OnceValues(func() (pdfium.Pool, error) {
	config := wazero.NewRuntimeConfig().WithCoreFeatures(api.CoreFeaturesV2 | experimental.CoreFeaturesExceptionHandling)
	if dir, err := os.UserCacheDir(); err == nil {
		if cache, err := wazero.NewCompilationCacheWithDir(filepath.Join(dir, "slotcard-rendertest")); err == nil {
			config = config.WithCompilationCache(cache)
		}
	}
	return webassembly.Init(webassembly.Config{
		MinIdle: 1, MaxIdle: runtime.GOMAXPROCS(0), MaxTotal: 8,
		RuntimeConfig: config,
		FSConfig:      wazero.NewFSConfig(), // it reads from memory and needs no files
	})
})

// Doc is a PDF opened for one test. Its methods fail the test if they cannot
// answer. Use it from one goroutine.
type Doc struct {
	t   testing.TB
	eng pdfium.Pdfium
	doc references.FPDF_DOCUMENT
}

// Open reads a PDF. It is closed when the test ends.
func Open(t testing.TB, pdf []byte) *Doc {
	t.Helper()
	pool, err := engine()
	require.NoError(t, err, "the PDF engine does not start")
	ctx, cancel := context.WithTimeout(context.Background(), 2*time.Minute)
	defer cancel()
	eng, err := pool.GetInstanceWithContext(ctx)
	require.NoError(t, err, "no PDF engine is free: too many documents are open")
	t.Cleanup(func() { _ = eng.Close() })
	open, err := eng.OpenDocument(&requests.OpenDocument{File: &pdf})
	require.NoError(t, err, "the PDF cannot be opened")
	return &Doc{t: t, eng: eng, doc: open.Document}
}

func (d *Doc) page(i int) requests.Page {
	return requests.Page{ByIndex: &requests.PageByIndex{Document: d.doc, Index: i}}
}

// Pages is their number.
func (d *Doc) Pages() int {
	d.t.Helper()
	r, err := d.eng.FPDF_GetPageCount(&requests.FPDF_GetPageCount{Document: d.doc})
	require.NoError(d.t, err)
	return r.PageCount
}

// Size is the width and height of a page.
func (d *Doc) Size(page int) (w, h float64) {
	d.t.Helper()
	r, err := d.eng.GetPageSize(&requests.GetPageSize{Page: d.page(page)})
	require.NoError(d.t, err)
	return r.Width * mm, r.Height * mm
}

// TrimBox is the trim box of a page: left, bottom, right and top from the
// bottom left, as the file has it.
func (d *Doc) TrimBox(page int) (left, bottom, right, top float64) {
	d.t.Helper()
	r, err := d.eng.FPDFPage_GetTrimBox(&requests.FPDFPage_GetTrimBox{Page: d.page(page)})
	require.NoError(d.t, err)
	return float64(r.Left) * mm, float64(r.Bottom) * mm, float64(r.Right) * mm, float64(r.Top) * mm
}

// Meta is an entry of the document's information: Title, Subject, CreationDate.
func (d *Doc) Meta(tag string) string {
	d.t.Helper()
	r, err := d.eng.FPDF_GetMetaText(&requests.FPDF_GetMetaText{Document: d.doc, Tag: tag})
	require.NoError(d.t, err)
	return r.Value
}

// Bookmark is an entry of the outline.
type Bookmark struct {
	Title string
	Level int
	Page  int     // from 0
	Y     float64 // mm from the top of its page
}

// Bookmarks of the document, as a reader lists them.
func (d *Doc) Bookmarks() []Bookmark {
	d.t.Helper()
	r, err := d.eng.GetBookmarks(&requests.GetBookmarks{Document: d.doc})
	require.NoError(d.t, err)
	var out []Bookmark
	var walk func(list []responses.GetBookmarksBookmark, level int)
	walk = func(list []responses.GetBookmarksBookmark, level int) {
		for _, b := range list {
			e := Bookmark{Title: b.Title, Level: level, Page: -1, Y: math.NaN()}
			if b.DestInfo != nil {
				e.Page = b.DestInfo.PageIndex
				at, err := d.eng.FPDFDest_GetLocationInPage(&requests.FPDFDest_GetLocationInPage{Dest: b.DestInfo.Reference})
				require.NoError(d.t, err)
				if at.Y != nil {
					_, h := d.Size(e.Page)
					e.Y = h - float64(*at.Y)*mm
				}
			}
			out = append(out, e)
			walk(b.Children, level+1)
		}
	}
	walk(r.Bookmarks, 0)
	return out
}

// Image is a picture of a page. The engine rounds its size up, so it may be a
// pixel larger than the page.
func (d *Doc) Image(page, dpi int) *image.Gray {
	d.t.Helper()
	r, err := d.eng.RenderPageInDPI(&requests.RenderPageInDPI{Page: d.page(page), DPI: dpi, ImageFormat: requests.RenderImageFormatGrayscale})
	require.NoError(d.t, err)
	defer r.Cleanup()
	src, ok := r.Result.RenderedImage.(*image.Gray)
	require.True(d.t, ok, "the engine made a %T", r.Result.RenderedImage)
	out := image.NewGray(image.Rect(0, 0, src.Rect.Dx(), src.Rect.Dy()))
	for y := range out.Rect.Dy() {
		copy(out.Pix[y*out.Stride:(y+1)*out.Stride], src.Pix[y*src.Stride:])
	}
	return out
}

// Pixels is the rectangle of pixels at a resolution that holds a place on the
// page.
func Pixels(x, y, w, h float64, dpi int) image.Rectangle {
	s := float64(dpi) / 25.4
	return image.Rect(int(math.Floor(x*s)), int(math.Floor(y*s)), int(math.Ceil((x+w)*s)), int(math.Ceil((y+h)*s)))
}

// TextRun is a stretch of text that stands on one baseline in one face and size.
type TextRun struct {
	S          string
	X, Y, W, H float64 // the rectangle of its ink, from the top left of the page
	OriginX    float64 // where its first character stands
	Baseline   float64
	Advance    float64 // how long it is, along its direction
	Size       float64 // pt of the em, on the page
	Font       string
	Angle      float64 // degrees, counted as PDFium does
}

func (r TextRun) String() string {
	return fmt.Sprintf("%q at %.2f, %.2f in %s %.2f pt", r.S, r.OriginX, r.Baseline, r.Font, r.Size)
}

// Text of a page, in the order of the file, without what the engine adds
// between runs. Runs that touch, in the same face and size, come as one.
func (d *Doc) Text(page int) []TextRun {
	d.t.Helper()
	_, height := d.Size(page)
	load, err := d.eng.FPDFText_LoadPage(&requests.FPDFText_LoadPage{Page: d.page(page)})
	require.NoError(d.t, err)
	text := load.TextPage
	defer func() { _, _ = d.eng.FPDFText_ClosePage(&requests.FPDFText_ClosePage{TextPage: text}) }()
	count, err := d.eng.FPDFText_CountChars(&requests.FPDFText_CountChars{TextPage: text})
	require.NoError(d.t, err)

	var out []TextRun
	var endX, endY float64 // where the next character of the run would stand
	open := false
	for i := range count.Count {
		c := d.char(text, i, height)
		if c.generated {
			open = false
			continue
		}
		if last := len(out) - 1; open && c.font == out[last].Font && c.size == out[last].Size && c.angle == out[last].Angle &&
			math.Hypot(c.x-endX, c.y-endY) < 0.02*c.size*mm {
			out[last].S += c.s
			out[last].cover(c.box)
		} else {
			out = append(out, TextRun{S: c.s, OriginX: c.x, Baseline: c.y, Size: c.size, Font: c.font, Angle: c.angle,
				X: c.box[0], Y: c.box[1], W: c.box[2] - c.box[0], H: c.box[3] - c.box[1]})
			open = true
		}
		endX, endY = c.endX, c.endY
		last := &out[len(out)-1]
		last.Advance = math.Hypot(endX-last.OriginX, endY-last.Baseline)
	}
	return out
}

// cover grows the rectangle of ink.
func (r *TextRun) cover(box [4]float64) {
	if box[0] == box[2] || box[1] == box[3] { // a space
		return
	}
	x1, y1 := math.Max(r.X+r.W, box[2]), math.Max(r.Y+r.H, box[3])
	r.X, r.Y = math.Min(r.X, box[0]), math.Min(r.Y, box[1])
	r.W, r.H = x1-r.X, y1-r.Y
}

type char struct {
	s          string
	generated  bool
	x, y       float64
	endX, endY float64
	box        [4]float64 // left, top, right, bottom
	size       float64
	font       string
	angle      float64
}

func (d *Doc) char(text references.FPDF_TEXTPAGE, i int, height float64) char {
	d.t.Helper()
	var c char
	generated, err := d.eng.FPDFText_IsGenerated(&requests.FPDFText_IsGenerated{TextPage: text, Index: i})
	require.NoError(d.t, err)
	if c.generated = generated.IsGenerated; c.generated {
		return c
	}
	unicode, err := d.eng.FPDFText_GetUnicode(&requests.FPDFText_GetUnicode{TextPage: text, Index: i})
	require.NoError(d.t, err)
	c.s = string(rune(unicode.Unicode))
	origin, err := d.eng.FPDFText_GetCharOrigin(&requests.FPDFText_GetCharOrigin{TextPage: text, Index: i})
	require.NoError(d.t, err)
	c.x, c.y = origin.X*mm, height-origin.Y*mm
	box, err := d.eng.FPDFText_GetCharBox(&requests.FPDFText_GetCharBox{TextPage: text, Index: i})
	require.NoError(d.t, err)
	c.box = [4]float64{box.Left * mm, height - box.Top*mm, box.Right * mm, height - box.Bottom*mm}
	size, err := d.eng.FPDFText_GetFontSize(&requests.FPDFText_GetFontSize{TextPage: text, Index: i})
	require.NoError(d.t, err)
	matrix, err := d.eng.FPDFText_GetMatrix(&requests.FPDFText_GetMatrix{TextPage: text, Index: i})
	require.NoError(d.t, err)
	m := matrix.Matrix
	c.size = math.Round(size.FontSize*math.Hypot(float64(m.C), float64(m.D))*1000) / 1000
	font, err := d.eng.FPDFText_GetFontInfo(&requests.FPDFText_GetFontInfo{TextPage: text, Index: i})
	require.NoError(d.t, err)
	c.font = font.FontName
	angle, err := d.eng.FPDFText_GetCharAngle(&requests.FPDFText_GetCharAngle{TextPage: text, Index: i})
	require.NoError(d.t, err)
	c.angle = math.Round(float64(angle.CharAngle)*180/math.Pi*10) / 10
	loose, err := d.eng.FPDFText_GetLooseCharBox(&requests.FPDFText_GetLooseCharBox{TextPage: text, Index: i})
	require.NoError(d.t, err)
	// The loose box is as long as the advance, along the direction of the text.
	ux, uy := float64(m.A), float64(m.B)
	l := math.Hypot(ux, uy)
	advance := float64(loose.Rect.Right-loose.Rect.Left) * mm
	if math.Abs(uy) > math.Abs(ux) {
		advance = math.Abs(float64(loose.Rect.Top-loose.Rect.Bottom)) * mm
	}
	c.endX, c.endY = c.x+ux/l*advance, c.y-uy/l*advance
	return c
}

// Language of the document, as its catalog names it.
func (d *Doc) Language() string {
	d.t.Helper()
	r, err := d.eng.FPDFCatalog_GetLanguage(&requests.FPDFCatalog_GetLanguage{Document: d.doc})
	require.NoError(d.t, err)
	return r.Language
}
