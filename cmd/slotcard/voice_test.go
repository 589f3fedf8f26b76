package main

import (
	"bytes"
	"context"
	"errors"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

type brokenWriter struct{}

func (brokenWriter) Write([]byte) (int, error) { return 0, errors.New("no space left") }

// Findings that nobody could read are not "fine".
func TestStandardOutputBroken(t *testing.T) {
	var stderr bytes.Buffer
	assert.Equal(t, exitUsage, run([]string{"help"}, nil, brokenWriter{}, &stderr))
	assert.Equal(t, "slotcard: cannot write to standard output: no space left\n", stderr.String())
}

func TestInterrupted(t *testing.T) {
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	var stdout, stderr bytes.Buffer
	dir := t.TempDir()
	assert.Equal(t, exitUsage, runContext(ctx, []string{"new", dir + "/fire"}, nil, &stdout, &stderr))
	assert.Equal(t, "slotcard: interrupted; nothing was written\n", stderr.String())
	assert.Empty(t, ls(t, dir))
}

// Only package voice writes to standard output and standard error: what others say
// goes through it, so that no control character and no half sentence gets past.
func TestOnlyTheVoiceSpeaks(t *testing.T) {
	speaks := regexp.MustCompile(`os\.Std(out|err)|fmt\.Print|println\(`)
	looked := 0
	for _, pattern := range []string{"*.go", "../internal/*/*.go"} {
		names, err := filepath.Glob(pattern)
		require.NoError(t, err)
		for _, name := range names {
			// Programs of their own, for who builds slotcard, say things their way.
			data, err := os.ReadFile(name)
			require.NoError(t, err)
			if strings.HasSuffix(name, "_test.go") || name == "main.go" || bytes.HasPrefix(data, []byte("// Command ")) || strings.Contains(name, "/voice/") {
				continue
			}
			looked++
			assert.NotRegexp(t, speaks, string(data), name)
		}
	}
	assert.Greater(t, looked, 25)
}
