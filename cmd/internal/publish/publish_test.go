package publish

import (
	"bytes"
	"context"
	"errors"
	"image"
	"image/png"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"testing/iotest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// ls is what a folder holds: name to content.
func ls(t *testing.T, dir string) map[string]string {
	t.Helper()
	entries, err := os.ReadDir(dir)
	require.NoError(t, err)
	all := map[string]string{}
	for _, e := range entries {
		content := "(folder)"
		if !e.IsDir() {
			data, err := os.ReadFile(filepath.Join(dir, e.Name()))
			require.NoError(t, err)
			content = string(data)
		}
		all[e.Name()] = content
	}
	return all
}

const ourPDF = "%PDF-1.3\n/Producer (slotcard)\n"

func TestPublishAllOrNone(t *testing.T) {
	outs := []File{{"a.pdf", []byte("new a")}, {"b.pdf", []byte("new b")}}

	t.Run("makes folders", func(t *testing.T) {
		dir := filepath.Join(t.TempDir(), "x", "y")
		require.NoError(t, All(t.Context(), dir, outs, Ours))
		assert.Equal(t, map[string]string{"a.pdf": "new a", "b.pdf": "new b"}, ls(t, dir))
	})

	t.Run("replaces ours", func(t *testing.T) {
		dir := t.TempDir()
		require.NoError(t, os.WriteFile(filepath.Join(dir, "a.pdf"), []byte(ourPDF), 0o600))
		require.NoError(t, All(t.Context(), dir, outs, Ours))
		assert.Equal(t, map[string]string{"a.pdf": "new a", "b.pdf": "new b"}, ls(t, dir))
	})

	t.Run("leaves what is not ours", func(t *testing.T) {
		dir := t.TempDir()
		require.NoError(t, os.WriteFile(filepath.Join(dir, "b.pdf"), []byte("%PDF-1.3 a report"), 0o600))
		before := ls(t, dir)
		err := All(t.Context(), dir, outs, Ours)
		require.ErrorContains(t, err, "b.pdf: was not written by slotcard; --force overwrites it")
		assert.Equal(t, before, ls(t, dir))
		require.NoError(t, All(t.Context(), dir, outs, Any))
		assert.Equal(t, "new b", ls(t, dir)["b.pdf"])
	})

	t.Run("says all that is in the way", func(t *testing.T) {
		dir := t.TempDir()
		require.NoError(t, os.Symlink("/nowhere", filepath.Join(dir, "a.pdf")))
		require.NoError(t, os.Mkdir(filepath.Join(dir, "b.pdf"), 0o700))
		err := All(t.Context(), dir, outs, Any)
		assert.ErrorContains(t, err, "a.pdf: is a symbolic link")
		assert.ErrorContains(t, err, "b.pdf: is a folder")
	})

	t.Run("interrupted", func(t *testing.T) {
		ctx, cancel := context.WithCancel(t.Context())
		cancel()
		parent := t.TempDir()
		require.ErrorIs(t, All(ctx, filepath.Join(parent, "x", "y"), outs, Ours), context.Canceled)
		assert.Empty(t, ls(t, parent), "the folders that were made are gone again")
	})

	t.Run("fails at the last file", func(t *testing.T) {
		// A name that no file system takes fails after the first is written.
		dir := t.TempDir()
		require.NoError(t, os.WriteFile(filepath.Join(dir, "a.pdf"), []byte(ourPDF), 0o600))
		before := ls(t, dir)
		bad := append(outs[:1:1], File{"sub/b.pdf", []byte("x")})
		require.Error(t, All(t.Context(), dir, bad, Ours))
		assert.Equal(t, before, ls(t, dir), "the file of an earlier run is back, nothing else is there")

		dir = filepath.Join(t.TempDir(), "out")
		require.Error(t, All(t.Context(), dir, bad, Ours))
		assert.NoDirExists(t, dir)
	})

	t.Run("never over anything", func(t *testing.T) {
		dir := t.TempDir()
		require.NoError(t, os.WriteFile(filepath.Join(dir, "b.pdf"), []byte(ourPDF), 0o600))
		before := ls(t, dir)
		require.ErrorContains(t, All(t.Context(), dir, outs, Nothing), "b.pdf: is already there")
		assert.Equal(t, before, ls(t, dir))
	})
}

// Files of two folders appear together, or none of them does.
func TestSetsAllOrNone(t *testing.T) {
	cards, beside := filepath.Join(t.TempDir(), "out"), t.TempDir()
	set := Set{Dir: cards, Files: []File{{"a.pdf", []byte("new a")}}, Over: Ours}
	require.NoError(t, os.WriteFile(filepath.Join(beside, "n.csv"), []byte("before"), 0o600))
	before := ls(t, beside)
	require.Error(t, Sets(t.Context(), set, Set{Dir: beside, Files: []File{{"n.csv", []byte("after")}, {"sub/x.csv", nil}}, Over: Any}))
	assert.Equal(t, before, ls(t, beside))
	assert.NoDirExists(t, cards)
	require.NoError(t, Sets(t.Context(), set, Set{Dir: beside, Files: []File{{"n.csv", []byte("after")}}, Over: Any}))
	assert.Equal(t, map[string]string{"n.csv": "after"}, ls(t, beside))
	assert.Equal(t, map[string]string{"a.pdf": "new a"}, ls(t, cards))
}

func TestCanWrite(t *testing.T) {
	dir := t.TempDir()
	require.NoError(t, CanWrite(dir, "n.csv"))
	require.NoError(t, os.Mkdir(filepath.Join(dir, "x.csv"), 0o700))
	assert.ErrorContains(t, CanWrite(dir, "x.csv"), "x.csv: is not a regular file")
	assert.Len(t, ls(t, dir), 1, "nothing is left of the try")
}

// A name that is taken between the look and the write is not overwritten.
func TestPlaceOverNothing(t *testing.T) {
	dir := t.TempDir()
	temp, target := filepath.Join(dir, "temp"), filepath.Join(dir, "target")
	require.NoError(t, os.WriteFile(temp, []byte("new"), 0o600))
	require.NoError(t, os.WriteFile(target, []byte("theirs"), 0o600))
	require.ErrorIs(t, place(temp, target, Nothing), os.ErrExist)
	assert.Equal(t, "theirs", ls(t, dir)["target"])
}

func TestOurs(t *testing.T) {
	pad := strings.Repeat("x", 64<<10-12) // the mark straddles two reads
	for name, c := range map[string]struct {
		content string
		want    bool
	}{
		"our pdf":            {ourPDF, true},
		"mark far down":      {"%PDF-1.3\n" + pad + "/Producer (slotcard)" + pad, true},
		"png":                {"\x89PNG\r\n\x1a\n....tEXtSoftware\x00slotcard....", true},
		"other pdf":          {"%PDF-1.3\n/Producer (other)", false},
		"mark, but no pdf":   {"notes on /Producer (slotcard)", false},
		"empty":              {"", false},
		"shorter than magic": {"%PD", false},
	} {
		t.Run(name, func(t *testing.T) {
			path := filepath.Join(t.TempDir(), "f")
			require.NoError(t, os.WriteFile(path, []byte(c.content), 0o600))
			is, err := isOurs(path)
			require.NoError(t, err)
			assert.Equal(t, c.want, is)
		})
	}
	is, err := holds(iotest.OneByteReader(strings.NewReader("abcdef")), [][]byte{[]byte("cde")})
	require.NoError(t, err)
	assert.True(t, is)

	// What cannot be read may be ours: that is said, and nothing else.
	_, err = holds(iotest.ErrReader(errors.New("bad sector")), [][]byte{[]byte("cde")})
	require.ErrorContains(t, err, "bad sector")
	problem, err := notOurs(filepath.Join(t.TempDir(), "gone"))
	require.Error(t, err)
	assert.Contains(t, problem, "cannot be read: no such file or folder")
	if os.Geteuid() != 0 {
		path := filepath.Join(t.TempDir(), "cards.pdf")
		require.NoError(t, os.WriteFile(path, []byte(ourPDF), 0))
		problem, _ = notOurs(path)
		assert.Contains(t, problem, "cannot be read: no permission")
	}
}

// The mark in a picture leaves it a picture.
func TestSignPNG(t *testing.T) {
	img := image.NewGray(image.Rect(0, 0, 3, 2))
	img.Pix[4] = 200
	var b bytes.Buffer
	require.NoError(t, png.Encode(&b, img))
	signed := SignPNG(b.Bytes(), "Thimble Gulch, période 2")
	back, err := png.Decode(bytes.NewReader(signed))
	require.NoError(t, err)
	assert.Equal(t, img, back)

	path := filepath.Join(t.TempDir(), "f.png")
	require.NoError(t, os.WriteFile(path, b.Bytes(), 0o600))
	is, err := isOurs(path)
	require.NoError(t, err)
	assert.False(t, is)
	require.NoError(t, os.WriteFile(path, signed, 0o600))
	is, err = isOurs(path)
	require.NoError(t, err)
	assert.True(t, is)
	assert.Equal(t, "Thimble Gulch, période 2", About(path))
	for cut := range signed { // a file that broke off says nothing, or the same
		require.NoError(t, os.WriteFile(path, signed[:cut], 0o600))
		assert.Contains(t, []string{"", "Thimble Gulch, période 2"}, About(path))
	}
}
