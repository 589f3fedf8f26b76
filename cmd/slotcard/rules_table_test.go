package main

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"slotcard/plan/rules"
)

// rulesTable is the catalogue as a table of README.md.
func rulesTable() string {
	var b strings.Builder
	b.WriteString("| rule | severity | what must be so | can be accepted |\n|---|---|---|---|\n")
	for _, r := range rules.All() {
		accept := "no"
		if r.Acceptable {
			accept = "yes"
		}
		fmt.Fprintf(&b, "| `%s` | %s | %s | %s |\n", r.ID, r.Severity, strings.ReplaceAll(r.Statement, "|", `\|`), accept)
	}
	return b.String()
}

// The table of rules in README.md is the catalogue's; -update writes it anew.
func TestReadmeRulesTable(t *testing.T) {
	const begin, end = "<!-- rules -->\n", "<!-- /rules -->"
	path := filepath.Join("..", "..", "README.md")
	text, err := os.ReadFile(path)
	require.NoError(t, err)
	head, rest, ok := bytes.Cut(text, []byte(begin))
	require.True(t, ok, "README.md has no %q", begin)
	got, tail, ok := bytes.Cut(rest, []byte(end))
	require.True(t, ok, "README.md has no %q", end)
	if *update {
		fresh := string(head) + begin + rulesTable() + end + string(tail)
		require.NoError(t, os.WriteFile(path, []byte(fresh), 0o644))
		return
	}
	assert.Equal(t, rulesTable(), string(got), "renew it: go test ./cmd/slotcard -run Readme -update")
}
