package scan_test

import (
	"bytes"
	"crypto/md5"
	"crypto/sha256"
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"slotcard/fonts"
	"slotcard/layout"
	"slotcard/render"
	"slotcard/render/rendertest"
	"slotcard/render/scan"
)

var onPaper = &layout.Document{Title: "t", Pages: []layout.Page{{Width: 100, Height: 100,
	Items: []layout.Item{layout.Text{X: 5, Y: 9, Face: fonts.Bold, Size: 9, S: "a"}}}}}

var sources = []render.Attachment{
	{Name: "plan.toml", Path: "fire/plan.toml", Role: "plan", Type: "application/toml", Data: []byte("name = \"(Großer) \\\\ \r\n\"")},
	{Name: "load.toml", Path: "load.toml", Role: "load", Type: "application/toml", Data: bytes.Repeat([]byte("rx = 152.4125\n"), 4000)},
	{Name: "empty.csv", Path: "fire/empty.csv", Role: "numbers", Type: "text/csv", Data: nil},
}

func attachedTo(t *testing.T, files ...render.Attachment) []byte {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, render.PDF(&b, onPaper, created, files...))
	return b.Bytes()
}

func TestAttached(t *testing.T) {
	pdf := attachedTo(t, sources...)
	assert.Equal(t, pdf, attachedTo(t, sources...), "the same files, the same bytes")
	shared := render.Shared(sources)
	for range 2 {
		assert.Equal(t, pdf, attachedTo(t, shared...), "compressed for several documents at once")
	}
	assert.Less(t, len(pdf), 12_000+len(attachedTo(t)), "compressed")
	got, err := scan.Attached(pdf)
	require.NoError(t, err)
	require.Len(t, got, len(sources))
	for i, f := range got {
		assert.Equal(t, sources[i].Path, f.Path)
		assert.Equal(t, sources[i].Role, f.Role)
		assert.Equal(t, string(sources[i].Data), string(f.Data))
		assert.Equal(t, sha256.Sum256(sources[i].Data), f.Sum)
	}
	_, err = scan.Attached(attachedTo(t))
	require.ErrorIs(t, err, scan.ErrNotAttached)
}

// qpdf takes the same files out, and finds them to be the source of the document.
func TestSecondOpinionAttached(t *testing.T) {
	qpdf, pdf := rendertest.Qpdf(t), attachedTo(t, sources...)
	qpdf.Check(t, pdf)
	for i, f := range sources {
		assert.Equal(t, string(f.Data), qpdf.Attached(t, pdf, fmt.Sprintf("%02d", i+1)))
	}
	said := fmt.Sprint(qpdf.Objects(t, pdf))
	assert.Equal(t, len(sources), strings.Count(said, "/AFRelationship:/Source"))
	assert.Contains(t, said, "/AF:[")
}

func TestHostileAttachments(t *testing.T) {
	text := string(attachedTo(t, sources...))
	sum := md5.Sum(sources[2].Data)
	for name, c := range map[string][2]string{
		"another program":    {strings.Replace(text, "(slotcard)", "(slotcarb)", 1), "another program"},
		"locked":             {strings.Replace(text, "trailer\n<<", "trailer\n<</Encrypt 9 0 R", 1), "encrypted"},
		"up and away":        {strings.Replace(text, "(fire/plan.toml)", "(../e/plan.toml)", 1), "leads elsewhere"},
		"from the root":      {strings.Replace(text, "(fire/plan.toml)", "(/ire/plan.toml)", 1), "leads elsewhere"},
		"a drive":            {strings.Replace(text, "(fire/plan.toml)", "(C:re/plan.toml)", 1), "leads elsewhere"},
		"a forged line":      {strings.Replace(text, "(fire/plan.toml)", "(fire\nplan.toml)", 1), "leads elsewhere"},
		"two of a name":      {strings.Replace(text, "(fire/empty.csv)", "(fire/plan.toml)", 1), "two of its name"},
		"one out of nowhere": {strings.Replace(text, "/XXPath", "/XXPatx", 1), "did not attach it"},
		"another length":     {strings.Replace(text, "/Size 56000", "/Size 56001", 1), "another length"},
		"another sum":        {strings.Replace(text, string(sum[5:9]), "abcd", 1), "checksum differs"},
	} {
		t.Run(name, func(t *testing.T) {
			require.NotEqual(t, text, c[0])
			_, err := scan.Attached([]byte(c[0]))
			require.ErrorIs(t, err, scan.ErrForeign)
			assert.ErrorContains(t, err, c[1])
		})
	}
	_, err := scan.Attached(attachedTo(t, append(sources, make([]render.Attachment, 6)...)...))
	require.ErrorIs(t, err, scan.ErrForeign, "too many")
	bomb := sources[0]
	bomb.Data = make([]byte, 17<<20)
	_, err = scan.Attached(attachedTo(t, bomb))
	require.ErrorContains(t, err, "unpacks to more than 16 MB")
}
