package finding

import "strings"

// And joins words as a sentence lists them: "A", "A and B", "A, B and C".
func And(words []string) string {
	if n := len(words); n > 1 {
		return strings.Join(words[:n-1], ", ") + " and " + words[n-1]
	}
	return strings.Join(words, "")
}
