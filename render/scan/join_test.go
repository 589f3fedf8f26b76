package scan_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"slotcard/layout"
	"slotcard/render/scan"
)

// worn are photographs of a card under much dirt, none of which can be read: each with
// specks, grain, size and direction of its own.
func worn(t *testing.T, text string, numbers ...int) (seen []scan.Seen) {
	t.Helper()
	card := coded(t, text, layout.LevelM, 36)
	for _, n := range numbers {
		s, err := scan.Picture(t.Context(), levelShot(t, card, n, 0.001*float64(n)))
		require.ErrorIs(t, err, scan.ErrNoCode, "photograph %d", n)
		require.True(t, s.More, "photograph %d", n)
		seen = append(seen, s)
	}
	return seen
}

// Photographs of which none is read alone are read together; those of another list in
// the same size are not taken for them, though it differs in one digit.
func TestJoin(t *testing.T) {
	other := strings.Replace(list, "151.8575", "151.8675", 1)
	ours := worn(t, list, 56, 57, 62)
	theirs := worn(t, other, 56, 57, 62)
	anything := func(string) bool { return true }

	for name, c := range map[string]struct {
		pictures []scan.Seen
		want     []scan.Joined
	}{
		"three of one list": {ours, []scan.Joined{{Text: list, From: []int{0, 1, 2}}}},
		"two of each": {[]scan.Seen{ours[0], theirs[0], ours[2], theirs[2]},
			[]scan.Joined{{Text: list, From: []int{0, 2}}, {Text: other, From: []int{1, 3}}}},
		"one of each": {[]scan.Seen{ours[0], theirs[2]}, nil},
		"one":         {ours[:1], nil},
		"none":        {nil, nil},
	} {
		t.Run(name, func(t *testing.T) {
			got, err := scan.Join(t.Context(), append([]scan.Seen{}, c.pictures...), anything)
			require.NoError(t, err)
			assert.Equal(t, c.want, got)
		})
	}

	t.Run("what is read is not more", func(t *testing.T) {
		pictures := append([]scan.Seen{}, ours...)
		_, err := scan.Join(t.Context(), pictures, anything)
		require.NoError(t, err)
		for _, p := range pictures {
			assert.False(t, p.More)
		}
	})
	t.Run("what is no list is not read", func(t *testing.T) {
		asked := 0
		got, err := scan.Join(t.Context(), append([]scan.Seen{}, ours...), func(text string) bool {
			asked++
			assert.Equal(t, list, text)
			return false
		})
		require.NoError(t, err)
		assert.Empty(t, got)
		assert.NotZero(t, asked)
	})
}

// BenchmarkJoin tells how many of the pairs of unread photographs of a card with up to
// 8 % of dirt are read.
func BenchmarkJoin(b *testing.B) {
	card := coded(b, list, layout.LevelM, 36)
	var unread []scan.Seen
	for i := range 80 {
		if s, err := scan.Picture(b.Context(), levelShot(b, card, i, 0.001*float64(i))); err != nil {
			unread = append(unread, s)
		}
	}
	for b.Loop() {
		pairs, read := 0, 0
		for i := range unread {
			for _, other := range unread[:i] {
				got, err := scan.Join(b.Context(), []scan.Seen{unread[i], other}, func(string) bool { return true })
				require.NoError(b, err)
				for _, j := range got {
					require.Equal(b, list, j.Text)
				}
				pairs++
				read += len(got)
			}
		}
		b.ReportMetric(float64(pairs), "pairs")
		b.ReportMetric(float64(read), "read")
	}
	b.Logf("%d of 80 photographs are not read alone", len(unread))
}
