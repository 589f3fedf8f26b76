package main

import (
	"bytes"
	"context"
	"errors"
	"testing"

	"github.com/stretchr/testify/assert"
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
