package render

import (
	"bytes"
	"compress/zlib"
	"flag"
	"fmt"
	"io"
	"maps"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"slotcard/fonts"
)

// The subsets that were made beforehand are what fpdf makes of the faces now, but for how
// they are compressed, which may change with the Go release.
func TestUsualSubsets(t *testing.T) {
	for _, f := range fonts.All() {
		for _, accents := range []bool{false, true} {
			name := filepath.Join("data", subsetName(f, accents))
			written, err := writeSubset(f, slices.Sorted(maps.Keys(usualIn(f, accents))))
			require.NoError(t, err)
			if flag.Lookup("update").Value.String() == "true" {
				require.NoError(t, os.WriteFile(name, written, 0o644))
				continue
			}
			kept, err := os.ReadFile(name)
			require.NoError(t, err)
			assert.Equal(t, inflated(t, f, written), inflated(t, f, kept), "%s: renew it: go test ./render -run UsualSubsets -update", name)
		}
	}
}

// inflated is the subset in a document, with its streams as they are.
func inflated(t *testing.T, f fonts.Face, written []byte) string {
	s, err := subsetIn(f, written)
	require.NoError(t, err)
	require.Greater(t, len(s), 4, "the font, its description, its file and its tables")
	length := regexp.MustCompile(`/Length \d+`)
	var b strings.Builder
	for _, p := range s {
		for i, text := range p.text {
			head, rest, isStream := bytes.Cut(text, []byte("stream\n"))
			b.Write(length.ReplaceAll(head, nil))
			if isStream {
				packed, _, ends := bytes.Cut(rest, []byte("\nendstream"))
				require.True(t, ends)
				if bytes.Contains(head, []byte("/FlateDecode")) {
					z, err := zlib.NewReader(bytes.NewReader(packed))
					require.NoError(t, err)
					packed, err = io.ReadAll(z)
					require.NoError(t, err)
				}
				b.Write(packed)
			}
			if i < len(p.refs) {
				fmt.Fprintf(&b, "<%d>", p.refs[i])
			}
		}
		b.WriteByte('\n')
	}
	return b.String()
}
