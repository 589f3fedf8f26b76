package scan_test

import (
	"bytes"
	"compress/zlib"
	"fmt"
	"os"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"slotcard/layout"
	"slotcard/layout/cards"
	"slotcard/layout/impose"
	"slotcard/layout/wall"
	"slotcard/plan"
	"slotcard/plan/plantest"
	"slotcard/render"
	"slotcard/render/rendertest"
	"slotcard/render/scan"
)

var created = time.Date(2027, 8, 13, 20, 30, 0, 0, time.UTC)

func inked(t testing.TB, d *layout.Document) []byte {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, render.PDF(&b, d, created))
	return b.Bytes()
}

func cardsOf(t testing.TB, r *plan.Resolved, size string) []byte {
	t.Helper()
	s, ok := layout.CardSize(size)
	require.True(t, ok)
	deck, found := cards.Deal(r, cards.Options{Size: s})
	require.Empty(t, found)
	paper, _ := layout.PaperSize("letter")
	doc, err := impose.Cards(deck, impose.Options{Paper: paper})
	require.NoError(t, err)
	return inked(t, doc)
}

// What is read out of the drawing is what another engine draws and another
// decoder reads, page by page and in the same places.
func TestPDFAgainstAnotherEngine(t *testing.T) {
	r := example(t, "thimble-gulch/plan.toml")
	paper, _ := layout.PaperSize("letter")
	wall, found := wall.List(r, wall.Options{Paper: paper})
	require.Empty(t, found)
	for name, data := range map[string][]byte{"cards": cardsOf(t, r, "a7"), "wall": inked(t, wall.Document)} {
		pages, err := scan.PDF(t.Context(), data)
		require.NoError(t, err)
		doc := rendertest.Open(t, data)
		require.Equal(t, doc.Pages(), len(pages))
		for i, codes := range pages[:2] {
			img := doc.Image(i, 200)
			if len(codes) == 0 {
				_, err := rendertest.DecodeQR(img)
				assert.Error(t, err, "%s page %d", name, i)
			}
			for _, c := range codes {
				const mm = 25.4 / 72
				margin := c.Side * 0.55 // with the quiet zone
				read, err := rendertest.DecodeQR(img, rendertest.Pixels((c.X-margin)*mm, (c.Y-margin)*mm, 2*margin*mm, 2*margin*mm, 200))
				require.NoError(t, err, "%s page %d: %v", name, i, c)
				assert.Equal(t, []string{c.Text}, read)
				assert.Equal(t, r.Lists[0].Text, c.Text)
			}
		}
	}
}

// Every code of every card is found, for lists of any shape and sizes of cards.
func TestPDFOfManyLists(t *testing.T) {
	for seed := range uint64(4) {
		r := plantest.Make(t, plantest.Shape{Seed: seed, Slots: 8, NameLength: 8, Divisions: 4, Functional: seed%2 == 0, WordLength: 5, Words: 1,
			Units: 6, Seats: 1, PerSeat: 2, DistinctList: true, Digital: seed%2 == 1})
		want := map[string]int{}
		for _, c := range r.Cards {
			want[c.List.Text]++
		}
		require.Greater(t, len(want), 2)
		pages, err := scan.PDF(t.Context(), cardsOf(t, r, "a6"))
		require.NoError(t, err)
		got := map[string]int{}
		for _, p := range pages {
			for _, c := range p {
				got[c.Text]++
			}
		}
		assert.Equal(t, want, got)
	}
}

// A PDF that anything was done to is not read.
func TestForeignPDF(t *testing.T) {
	data := cardsOf(t, example(t, "first-hour/plan.toml"), "a7")
	_, err := scan.PDF(t.Context(), data)
	require.NoError(t, err)
	text := string(data)
	for name, changed := range map[string]string{
		"empty":           "",
		"only a head":     "%PDF-1.3\n",
		"cut off":         text[:len(text)/2],
		"more behind it":  text + "1 0 obj\n<<>>\nendobj\n",
		"another program": strings.Replace(text, "(slotcard)", "(slotcarb)", 1),
		"a later change":  strings.Replace(text, "/Size ", "/Prev 9 /Size ", 1),
		"locked":          strings.Replace(text, "/Size ", "/Encrypt 9 0 R /Size ", 1),
		"notes on pages":  strings.Replace(text, "/Type/Page/", "/Type/Page/Annots []/", 1),
		"a moved object":  strings.Replace(text, "\n4 0 obj", "\n5 0 obj", 1),
		"a damaged table": strings.Replace(text, "\nxref\n0 ", "\nxref\n1 ", 1),
	} {
		t.Run(name, func(t *testing.T) {
			require.NotEqual(t, text, changed)
			_, err := scan.PDF(t.Context(), []byte(changed))
			require.ErrorIs(t, err, scan.ErrForeign)
			t.Log(err)
		})
	}
}

// small writes a PDF in our own way around a drawing.
func small(drawing string, packed bool) []byte {
	filter := ""
	if packed {
		var z bytes.Buffer
		w := zlib.NewWriter(&z)
		_, _ = w.Write([]byte(drawing))
		_ = w.Close()
		drawing, filter = z.String(), "/Filter /FlateDecode "
	}
	var b strings.Builder
	b.WriteString("%PDF-1.3\n")
	var at []int
	for i, o := range []string{
		"<</Type /Pages /Kids [3 0 R] /Count 1>>",
		"<</XObject <</A 4 0 R>>>>",
		"<</Type /Page /MediaBox [0 0 300 300] /Resources 2 0 R /Contents 4 0 R>>",
		fmt.Sprintf("<</Type /XObject /Subtype /Form %s/Length %d>>\nstream\n%s\nendstream", filter, len(drawing), drawing),
		"<</Producer (slotcard)>>",
		"<</Type /Catalog /Pages 1 0 R>>",
	} {
		at = append(at, b.Len())
		fmt.Fprintf(&b, "%d 0 obj\n%s\nendobj\n", i+1, o)
	}
	xref := b.Len()
	fmt.Fprintf(&b, "xref\n0 7\n0000000000 65535 f \n")
	for _, a := range at {
		fmt.Fprintf(&b, "%010d 00000 n \n", a)
	}
	fmt.Fprintf(&b, "trailer\n<<\n/Size 7\n/Root 6 0 R\n/Info 5 0 R\n>>\nstartxref\n%d\n%%%%EOF\n", xref)
	return []byte(b.String())
}

// symbolPath draws a code as render does.
func symbolPath(t testing.TB, text string) string {
	s, err := layout.EncodeSymbol(text, layout.LevelM)
	require.NoError(t, err)
	var b strings.Builder
	for y := range s.Size {
		for x := range s.Size {
			if s.Dark(x, y) {
				fmt.Fprintf(&b, "%d %d 1 1 re\n", x, y)
			}
		}
	}
	return b.String() + "f\n"
}

func TestDrawings(t *testing.T) {
	code := symbolPath(t, "SLOTS")
	const at = "q\n0 g\n2 0 0 -2 100 200 cm\n"
	for name, c := range map[string]struct{ drawing, want string }{
		"as we draw":                {at + code + "Q", ""},
		"turned":                    {"q\n0 1 -1 0 300 0 cm\n" + at + code + "Q\nQ", ""},
		"grey":                      {strings.Replace(at, "0 g", "0.5 g", 1) + code + "Q", "no code is read in it"},
		"beside the paper":          {strings.Replace(at, "100 200", "400 200", 1) + code + "Q", "a code stands beside the paper"},
		"a module too many":         {at + "0 0 20 1 re\n0 1 20 1 re\n0 2 21 1 re\n0 20 1 1 re\nf\nQ", "page 1: a code is drawn on it that cannot be read"},
		"a picture":                 {"BI /W 1 ID x EI", `it is drawn with "BI"`},
		"within a clip":             {"90 150 100 100 re W n\n" + at + code + "Q", ""},
		"beside a clip":             {"0 0 9 9 re W n\n" + at + code + "Q", "no code is read in it"},
		"beyond a clip that ends":   {"q\n0 0 9 9 re W n\nQ\n" + at + code + "Q", ""},
		"a clip of no rectangle":    {"0 0 m 9 9 l W n\n" + at + code + "Q", "its drawing is damaged"},
		"a state we do not set":     {"/G gs\n" + at + code + "Q", `it is drawn with "gs"`},
		"a form that places itself": {"/A Do", "its drawing is damaged"},
		"a form that is missing":    {"/B Do", "an object is missing"},
		"no end":                    {at + code, "its drawing breaks off"},
		"an end too many":           {at + code + "Q\nQ", "its drawing is damaged"},
		"operands missing":          {"0 0 1 re f", "its drawing is damaged"},
		"a text without end":        {"BT (abc Tj ET", "its drawing is damaged"},
		"no number":                 {"1.2.3 w", "its drawing is damaged"},
	} {
		for _, packed := range []bool{false, true} {
			pages, err := scan.PDF(t.Context(), small(c.drawing, packed))
			if c.want == "" {
				require.NoError(t, err, name)
				require.Len(t, pages, 1)
				require.Len(t, pages[0], 1, name)
				assert.Equal(t, "SLOTS", pages[0][0].Text)
				continue
			}
			assert.ErrorContains(t, err, c.want, name)
		}
	}
}

// A small file that unpacks to much is refused on the way.
func TestPDFBomb(t *testing.T) {
	var z bytes.Buffer
	w := zlib.NewWriter(&z)
	for range 20 {
		_, _ = w.Write(make([]byte, 1<<20))
	}
	require.NoError(t, w.Close())
	packed := small("", true)
	i := bytes.Index(packed, []byte("stream\n")) + len("stream\n")
	j := bytes.Index(packed, []byte("\nendstream"))
	data := rebuilt(packed[:i], z.Bytes(), packed[j:], j-i)
	_, err := scan.PDF(t.Context(), data)
	assert.ErrorIs(t, err, scan.ErrForeign)
	assert.ErrorContains(t, err, "page 1: ")
	assert.ErrorContains(t, err, "it unpacks to more than 16 MB")
}

// rebuilt puts another stream into a small PDF and its places in order again.
func rebuilt(before, stream, after []byte, was int) []byte {
	before = bytes.Replace(before, fmt.Appendf(nil, "/Length %d", was), fmt.Appendf(nil, "/Length %d", len(stream)), 1)
	out := append(append(bytes.Clone(before), stream...), after...)
	xref := bytes.Index(out, []byte("\nxref\n")) + 1
	table := "xref\n0 7\n0000000000 65535 f \n"
	for n := 1; n <= 6; n++ {
		at := bytes.Index(out, fmt.Appendf(nil, "\n%d 0 obj\n", n)) + 1
		table += fmt.Sprintf("%010d 00000 n \n", at)
	}
	end := fmt.Sprintf("trailer\n<<\n/Size 7\n/Root 6 0 R\n/Info 5 0 R\n>>\nstartxref\n%d\n%%%%EOF\n", xref)
	return append(bytes.Clone(out[:xref]), table+end...)
}

func FuzzPDF(f *testing.F) {
	f.Add([]byte("%PDF-1.3\n"))
	f.Add(small("q\n0 g\n2 0 0 -2 100 200 cm\n0 0 7 1 re f Q", false))
	f.Add(small("(a\\)b) Tj [1 2] 0 d /A Do", true))
	f.Fuzz(func(t *testing.T, data []byte) {
		pages, err := scan.PDF(t.Context(), data)
		require.Equal(t, err != nil, pages == nil)
	})
}

func BenchmarkPDF(b *testing.B) {
	p, l, _, err := plan.Read("../../examples/thimble-gulch/plan.toml", plan.Options{ReadFile: os.ReadFile})
	require.NoError(b, err)
	r, _ := plan.Resolve(p, l)
	data := cardsOf(b, r, "a7")
	b.ReportAllocs()
	for b.Loop() {
		_, err := scan.PDF(b.Context(), data)
		require.NoError(b, err)
	}
}
