package notices

import (
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

var update = flag.Bool("update", false, "write the table of README.md anew")

const root = "../../.."

// The table in README.md holds every part of the program for this machine, at
// its version and under its license. Written anew it holds those of all systems
// (other systems' modules are not fetched for a test).
func TestReadme(t *testing.T) {
	systems := []string{runtime.GOOS}
	if *update {
		systems = Systems
	}
	parts, err := Collect(root, "./cmd/slotcard", systems...)
	require.NoError(t, err)
	table := table(parts)
	path := filepath.Join(root, "README.md")
	readme, err := os.ReadFile(path)
	require.NoError(t, err)
	const from, to = "<!-- notices -->\n", "<!-- /notices -->\n"
	head, rest, ok := strings.Cut(string(readme), from)
	require.True(t, ok, "README.md has no %s", from)
	stands, tail, ok := strings.Cut(rest, to)
	require.True(t, ok, "README.md has no %s", to)
	if *update {
		require.NoError(t, os.WriteFile(path, []byte(head+from+table+to+tail), 0o644))
		return
	}
	for line := range strings.Lines(table) {
		assert.Contains(t, stands, line, "go test ./cmd/internal/notices -update writes it anew")
	}
	text := Text(parts)
	for _, p := range parts {
		assert.Contains(t, text, p.Text, p.Name)
	}
}

// Phrases out of the texts of the SPDX License List (from memory).
func TestIdentify(t *testing.T) {
	for text, license := range map[string]string{
		"Permission is hereby granted, free of charge, to any person\nobtaining a copy": "MIT",
		"Apache License\n   Version 2.0, January 2004":                                  "Apache-2.0",
		"Licensed under the Apache License, Version 2.0 (the \"License\")":              "Apache-2.0",
		"Redistributions in binary form must reproduce the above":                       "BSD-2-Clause",
		"All rights reserved.": "",
	} {
		assert.Equal(t, license, identify(text), text)
	}
}

func TestUnknownLicenseIsAnError(t *testing.T) {
	folder := t.TempDir()
	_, err := read("example.com/part", "v1.0.0", folder)
	assert.ErrorContains(t, err, "example.com/part: no license that is known in 0 files")
	require.NoError(t, os.WriteFile(filepath.Join(folder, "LICENSE"), []byte("Ask us first."), 0o644))
	_, err = read("example.com/part", "v1.0.0", folder)
	assert.ErrorContains(t, err, "in 1 files: read it")
}

// table is the list for README.md, in Markdown.
func table(parts []Part) string {
	var b strings.Builder
	b.WriteString("| part | version | license |\n|---|---|---|\n")
	for _, p := range parts {
		fmt.Fprintf(&b, "| %s | %s | %s |\n", p.Name, p.Version, p.License)
	}
	return b.String()
}
