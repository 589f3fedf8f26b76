package main

import (
	"bytes"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"slotcard/plan/rules"
)

// Every plan of testdata/broken breaks the rule that its file is called after:
// check says so, and print writes nothing where that is an error.
func TestBrokenPlans(t *testing.T) {
	names, err := filepath.Glob("../../testdata/broken/*.toml")
	require.NoError(t, err)
	require.NotEmpty(t, names)
	for _, name := range names {
		id := strings.TrimSuffix(filepath.Base(name), ".toml")
		t.Run(id, func(t *testing.T) {
			rule, ok := rules.Get(id)
			require.True(t, ok, "the file is called after a rule")
			var stdout, stderr bytes.Buffer
			status := run([]string{"check", name}, nil, &stdout, &stderr)
			require.Contains(t, []int{exitFine, exitFindings}, status, stderr.String())
			assert.Contains(t, stdout.String(), rule.Severity.String()+": ")
			assert.Contains(t, stdout.String(), " ["+id+"]\n")

			if status == exitFindings {
				dir := filepath.Join(t.TempDir(), "out")
				printed := run([]string{"print", name, "-o", dir}, nil, new(bytes.Buffer), new(bytes.Buffer))
				assert.Equal(t, exitFindings, printed)
				assert.NoDirExists(t, dir)
			}
		})
	}
}
