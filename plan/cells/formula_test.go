package cells

import (
	"bytes"
	"encoding/csv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// What a spreadsheet would compute is text, and comes back as it was. The openings
// are those of OWASP, CSV Injection (from memory).
func TestAsText(t *testing.T) {
	for _, s := range []string{"=1+1", "+1", "-1", "@SUM(A1)", "\t=1", "\r=1", "\n=1", " =1+1", "＝1+1", "'=1+1", "'tis"} {
		assert.Equal(t, "'"+s, AsText(s), "%q", s)
		assert.Equal(t, s, FromText(AsText(s)), "%q", s)
	}
	for _, s := range []string{"", "QB CMD 1", "152.4125 N", "A=B", "2-3"} {
		assert.Equal(t, s, AsText(s))
		assert.Equal(t, s, FromText(s))
	}
	assert.Equal(t, "'tis", FromText("'tis"), "an apostrophe of somebody's own")

	rapid.Check(t, func(t *rapid.T) {
		s := rapid.OneOf(rapid.String(), rapid.StringMatching(`[ '=+@\t-]{0,4}[A-Z]{0,2}`)).Draw(t, "text")
		if FromText(AsText(s)) != s {
			t.Fatalf("%q becomes %q", s, FromText(AsText(s)))
		}
	})
}

// Through a file: what was guarded reads as it was written.
func TestReadGuardedCSV(t *testing.T) {
	var b bytes.Buffer
	w := csv.NewWriter(&b)
	require.NoError(t, w.WriteAll([][]string{{"name", "remarks"}, {AsText("-X 1"), AsText("=1+1")}, {"A", AsText("'q'")}}))
	book, err := Read(b.Bytes(), "x.csv")
	require.NoError(t, err)
	var got []string
	for _, r := range book.Sheets[0].Rows {
		for _, c := range r.Cells {
			got = append(got, c.Text)
		}
	}
	assert.Equal(t, "name,remarks,-X 1,=1+1,A,'q'", strings.Join(got, ","))
}
