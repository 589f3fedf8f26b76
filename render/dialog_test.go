package render

import (
	"bytes"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"slotcard/layout"
	"slotcard/render/rendertest"
)

// catalog is the catalog of a PDF as qpdf shows it, with a way to follow references.
func catalog(t *testing.T, pdf []byte) (root map[string]any, object func(ref any) map[string]any) {
	objects := rendertest.Qpdf(t).Objects(t, pdf)
	object = func(ref any) map[string]any {
		if o, ok := ref.(string); ok {
			found := objects["obj:"+o].(map[string]any)
			if v, ok := found["value"]; ok {
				return v.(map[string]any)
			}
			return found["stream"].(map[string]any)["dict"].(map[string]any)
		}
		return ref.(map[string]any)
	}
	return object(object(objects["trailer"].(map[string]any)["value"])["/Root"]), object
}

// What a print dialog begins with (ISO 32000-1, table 150), read by qpdf.
func TestSecondOpinionPrintDialog(t *testing.T) {
	for duplex, want := range map[layout.Duplex]any{
		layout.DuplexUnsaid: nil, layout.Simplex: "/Simplex",
		layout.FlipLongEdge: "/DuplexFlipLongEdge", layout.FlipShortEdge: "/DuplexFlipShortEdge",
	} {
		for copies, wantCopies := range map[int]any{0: nil, 2: 2.0, 5: 5.0} {
			d := sample(t)
			d.Duplex, d.Copies = duplex, copies
			pdf := pdfOf(t, d)
			assert.True(t, bytes.HasPrefix(pdf, []byte("%PDF-1.7\n")))
			root, _ := catalog(t, pdf)
			want := map[string]any{"/PrintScaling": "/None", "/PickTrayByPDFSize": true, "/DisplayDocTitle": true,
				"/Duplex": want, "/NumCopies": wantCopies}
			for key, v := range want {
				if v == nil {
					delete(want, key)
				}
			}
			assert.Equal(t, want, root["/ViewerPreferences"])
			assert.Equal(t, "u:en-US", root["/Lang"])
			assert.Equal(t, "/UseOutlines", root["/PageMode"])
		}
	}
	for _, copies := range []int{-1, 1, 6} {
		d := sample(t)
		d.Copies = copies
		refused(t, d, "copies")
	}
}

// The structure has a section for each page, text stands in the order of reading, and
// codes are described: read by qpdf and poppler.
func TestSecondOpinionTags(t *testing.T) {
	d := sample(t)
	for i := range d.Pages[0].Items {
		if p, ok := d.Pages[0].Items[i].(layout.Placed); ok {
			for j := range p.Panel.Items {
				if m, ok := p.Panel.Items[j].(layout.Modules); ok {
					m.Alt = "Code QR : la liste (é)"
					p.Panel.Items[j] = m
				}
			}
		}
	}
	pdf := pdfOf(t, d)
	rendertest.Qpdf(t).Check(t, pdf)
	root, object := catalog(t, pdf)
	assert.Equal(t, map[string]any{"/Marked": true}, root["/MarkInfo"])
	tree := object(root["/StructTreeRoot"])
	document := object(tree["/K"])
	sections := document["/K"].([]any)
	require.Len(t, sections, len(d.Pages))
	nums := object(tree["/ParentTree"])["/Nums"].([]any)
	for i, s := range sections {
		section := object(s)
		page := object(section["/Pg"])
		assert.Equal(t, float64(i), page["/StructParents"])
		assert.Equal(t, float64(i), nums[2*i])
		assert.Equal(t, []any{s}, nums[2*i+1])
	}
	poppler := rendertest.Poppler(t)
	assert.Equal(t, len(d.Pages), strings.Count(poppler.Structure(t, pdf), "Sect"))
	read := strings.Join(strings.Fields(poppler.InOrder(t, pdf)), " ") // turned text comes word by word
	at := 0
	for _, p := range d.Pages {
		for _, w := range texts(p.Items) {
			found := strings.Index(read[at:], w.S)
			require.GreaterOrEqual(t, found, 0, "%q is not behind those before it in %s", w.S, read)
			at += found
		}
	}
	// Brackets are escaped; é is 00 E9.
	drawing := strings.ReplaceAll(rendertest.Qpdf(t).Unpacked(t, pdf), "\x00", "")
	assert.Equal(t, 1, strings.Count(drawing, "/Span<</Alt(\xfe\xffCode QR : la liste \\(\xe9\\))>>BDC"), "in the form that is placed four times")
}

// An outline of several levels, some entries without a page of their own.
func TestSecondOpinionOutline(t *testing.T) {
	d := sample(t)
	mark := func(title string, level int) layout.Bookmark {
		return layout.Bookmark{Title: title, Level: level, Y: 5}
	}
	d.Pages[0].Bookmarks = []layout.Bookmark{mark("a", 0), mark("b", 1), mark("c", 2), mark("d", 1), mark("e", 0)}
	d.Pages[1].Bookmarks = []layout.Bookmark{mark("f", 1), mark("g", 0)}
	pdf := pdfOf(t, d)
	rendertest.Qpdf(t).Check(t, pdf)
	root, object := catalog(t, pdf)
	var said strings.Builder
	var walk func(first any, depth int) int
	walk = func(first any, depth int) (n int) {
		for ref := first; ref != nil; {
			e := object(ref)
			said.WriteString(strings.Repeat(" ", depth) + strings.TrimPrefix(e["/Title"].(string), "u:") + "\n")
			below := walk(e["/First"], depth+1)
			if below > 0 {
				assert.Equal(t, float64(-below), e["/Count"], "closed, with all that is below")
			} else {
				assert.NotContains(t, e, "/Count")
			}
			if next := e["/Next"]; next != nil {
				assert.Equal(t, ref, object(next)["/Prev"])
			}
			n += 1 + below
			ref = e["/Next"]
		}
		return n
	}
	outlines := object(root["/Outlines"])
	assert.Equal(t, 7, walk(outlines["/First"], 0))
	assert.Equal(t, "a\n b\n  c\n d\ne\n f\ng\n", said.String())
	assert.Equal(t, 3.0, outlines["/Count"], "those that show at first")
}

// A subset that many documents share is the same whoever asks first, and a
// character that it lacks gets a subset of its own.
func TestSubsets(t *testing.T) {
	page := func(s string) *layout.Document {
		d := sample(t)
		d.Pages = d.Pages[1:]
		d.Pages[0].Items = []layout.Item{layout.Text{X: 5, Y: 10, Size: 9, S: s}}
		return d
	}
	plain, accents, beyond := pdfOf(t, page("Div Z")), pdfOf(t, page("División Z")), pdfOf(t, page("Divižion Z"))
	assert.Less(t, len(plain), len(accents))
	assert.Less(t, len(accents), len(beyond))
	for s, pdf := range map[string][]byte{"Div Z": plain, "División Z": accents, "Divižion Z": beyond} {
		assert.Equal(t, pdf, pdfOf(t, page(s)))
		doc := rendertest.Open(t, pdf)
		require.Len(t, doc.Text(0), 1)
		assert.Equal(t, s, doc.Text(0)[0].S)
	}
}
