package finding

import (
	"encoding/json"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A name of a megabyte is not echoed, whichever part of a finding holds it.
func TestBounded(t *testing.T) {
	long := strings.Repeat("é", 1<<20)
	f := Finding{
		Rule: "r", Message: long, Subject: long, Help: []string{"a", long}, Details: []string{long},
		Related: []Related{{Message: "b"}, {Message: long}},
		Data:    map[string]any{"s": long, "all": []string{long}, "each": []map[string]any{{"x": long, "n": 3}}},
		Edits:   []Edit{{Title: "keep", Changes: []Change{{Old: "x"}}}, {Title: "drop", Changes: []Change{{Old: long}}}, {Title: "too"}},
	}
	data, err := json.Marshal(List{f})
	require.NoError(t, err)
	assert.Less(t, len(data), 20_000)
	assert.Contains(t, string(data), "(1048576 characters)")
	assert.Less(t, len(f.String()), 2000)
	assert.Len(t, f.Message, 2<<20, "the finding itself is as it was")
	b := f.Bounded()
	assert.Equal(t, []string{"keep", "too"}, []string{b.Edits[0].Title, b.Edits[1].Title})
	assert.Equal(t, "b", b.Related[0].Message)

	short := Finding{Rule: "r", Message: "m", Data: map[string]any{"n": 3}, Edits: f.Edits[:1]}
	assert.Equal(t, short, short.Bounded())
}
