package finding_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"slotcard/plan/finding"
)

func at(line int) finding.Place { return finding.Place{File: "plan.toml", Line: line, Column: 1} }

func said(l finding.List) (out []string) {
	for _, f := range l {
		out = append(out, f.String())
	}
	return out
}

func TestGroup(t *testing.T) {
	seat := func(line int) finding.Finding {
		return finding.Finding{
			Rule: "unknown-position", Severity: finding.Error, Place: at(line), Subject: "Engine bos",
			Message: "no position \"Engine bos\"", Help: []string{"did you mean \"Engine boss\"?"},
			Related: []finding.Related{{Place: at(2), Message: "the positions"}}, Data: map[string]any{"line": line},
		}
	}
	raster := finding.Cause{Name: "raster", Message: "%d channels stand off the raster", Help: []string{"write raster"}}
	l := finding.List{
		seat(9), seat(5), seat(7), seat(7),
		{Rule: "off-raster", Severity: finding.Warning, Place: at(3), Subject: "T1", Message: "T1: off", Cause: raster, Help: []string{"a"}},
		{Rule: "off-raster", Severity: finding.Warning, Place: at(4), Subject: "T2", Message: "T2: off", Cause: raster, Help: []string{"b"}},
		{Rule: "off-raster", Severity: finding.Note, Place: at(6), Subject: "T3", Message: "T3: off", Cause: raster},
		{Rule: "syntax", Severity: finding.Error, Place: at(1), Message: "no"},
		{Rule: "syntax", Severity: finding.Error, Place: at(8), Message: "no"},
	}
	l.Group()
	want := []string{
		"plan.toml:1:1: error: no [syntax]",
		"plan.toml:3:1: warning: 2 channels stand off the raster [off-raster]",
		"plan.toml:5:1: error: no position \"Engine bos\" (and 2 more places) [unknown-position]",
		"plan.toml:6:1: note: T3: off [off-raster]",
		"plan.toml:8:1: error: no [syntax]",
	}
	require.Equal(t, want, said(l))
	assert.Equal(t, "raster", l[1].Subject, "of several subjects the cause is the one to accept")
	assert.Equal(t, []string{"write raster"}, l[1].Help)
	assert.Equal(t, []finding.Related{{Place: at(4), Message: "T2: off"}}, l[1].Related)
	f := l[2]
	assert.Equal(t, "Engine bos", f.Subject)
	assert.Equal(t, []string{"did you mean \"Engine boss\"?"}, f.Help, "what is the same is said once")
	assert.Equal(t, []finding.Related{
		{Place: at(2), Message: "the positions"}, {Place: at(7), Message: f.Parts()[1].Message}, {Place: at(9), Message: f.Parts()[2].Message},
	}, f.Related, "each place once")
	assert.Equal(t, []map[string]any{{"line": 5}, {"line": 7}, {"line": 9}}, f.Data["each"])

	// Again, with one more: as if all had been there at once.
	l.Add(seat(6))
	l[1].Severity = finding.Error
	l.Group()
	l.Group()
	want[1] = "plan.toml:3:1: error: 2 channels stand off the raster [off-raster]"
	want[2] = "plan.toml:5:1: error: no position \"Engine bos\" (and 3 more places) [unknown-position]"
	assert.Equal(t, want, said(l))
}

func TestGroupAtOnePlace(t *testing.T) {
	size := finding.Cause{Name: "card size"}
	l := finding.List{
		{Rule: "does-not-fit", Place: at(3), Subject: "T1", Message: "the back does not fit", Cause: size, Help: []string{"larger"}},
		{Rule: "does-not-fit", Place: at(3), Subject: "T2", Message: "the front does not fit", Cause: size, Help: []string{"larger"}},
	}
	l.Group()
	require.Len(t, l, 1)
	assert.Equal(t, "the back does not fit (and 1 more)", l[0].Message)
	assert.Equal(t, []string{"the back does not fit", "the front does not fit"}, l[0].Details)
	assert.Empty(t, l[0].Related)
	assert.Equal(t, []string{"larger"}, l[0].Help)
}

func TestGroupKeepsOtherHelpShort(t *testing.T) {
	var l finding.List
	for i := range 40 {
		l.Add(finding.Finding{Rule: "r", Place: at(i + 1), Subject: "s", Message: "m", Help: []string{string(rune('a' + i))}, Details: []string{"row"}})
	}
	l.Group()
	require.Len(t, l, 1)
	assert.Equal(t, []string{"a", "b", "c", "d", "e", "f", "and 34 more to do, one for each place"}, l[0].Help)
	assert.Len(t, l[0].Related, 39)
	assert.Equal(t, []string{"row"}, l[0].Details)
	assert.Equal(t, "m (and 39 more places)", l[0].Message)
}
