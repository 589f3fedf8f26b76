package desk

import (
	"crypto/sha256"
	"maps"
	"path/filepath"
	"slices"
	"strings"
)

// isLocal tells whether a name with slashes stays in the folder.
func isLocal(name string) bool { return filepath.IsLocal(filepath.FromSlash(name)) }

func textKey(text string) string { return key(sha256.Sum256([]byte(text))).String() }

func sortedLines(text string) string {
	lines := strings.Split(text, "\n")
	slices.Sort(lines)
	return strings.Join(lines, "\n")
}

func sortedKeys[V any](m map[string]V) []string { return slices.Sorted(maps.Keys(m)) }
