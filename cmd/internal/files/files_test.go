package files

import (
	"context"
	"errors"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"testing/iotest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A sparse file of 1 GB is refused by its size, not read.
func TestReadRegularIsBounded(t *testing.T) {
	path := filepath.Join(t.TempDir(), "big.toml")
	f, err := os.Create(path)
	require.NoError(t, err)
	require.NoError(t, f.Truncate(1<<30))
	require.NoError(t, f.Close())
	_, err = ReadRegular(path, MaxTOML)
	assert.ErrorContains(t, err, "is larger than 1 MB")

	require.NoError(t, os.Truncate(path, MaxTOML))
	data, err := ReadRegular(path, MaxTOML)
	require.NoError(t, err)
	assert.Len(t, data, MaxTOML)
}

func TestReadStdin(t *testing.T) {
	data, err := ReadStdin(t.Context(), strings.NewReader("abc"), 3)
	require.NoError(t, err)
	assert.Equal(t, "abc", string(data))

	_, err = ReadStdin(t.Context(), strings.NewReader("abcd"), 3)
	assert.ErrorContains(t, err, "standard input: is larger than")

	_, err = ReadStdin(t.Context(), iotest.ErrReader(errors.New("gone")), 3)
	assert.ErrorContains(t, err, "standard input: gone")

	// A person who gives up waiting gets the prompt back.
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	r, w := io.Pipe()
	defer w.Close()
	_, err = ReadStdin(ctx, r, 3)
	assert.ErrorIs(t, err, context.Canceled)
}
